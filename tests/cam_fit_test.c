#include "suite.h"
#include "valvebook/cam_fit.h"

#include <math.h>
#include <stdlib.h>

#include <check.h>

/* Points of chi-squared for 1 and 2 degrees of freedom, from tests/r/timing.R. */
static const double point_5[] = {3.84145882069413, 5.99146454710798};
static const double point_027[] = {8.9998619567497, 11.8290070119437};

/* Invented: the cams of one engine, in the places of inlet and exhaust, left and right. */
static const struct vb_cam_nominal places[] = {
    {{-12, 225}, 0}, // inlet left: duration 237, centre 106.5
    {{-16, 221}, 0}, // inlet right: 237, 102.5
    {{-230, 8}, 0},  // exhaust left: 238, -111
    {{-226, 22}, 0}, // exhaust right: 248, -102
};

#define PLACES (sizeof places / sizeof *places)

static struct vb_cam_seen
seen_as(struct vb_events e, double u)
{
    return (struct vb_cam_seen){vb_centre(e), u, vb_duration(e), u};
}

/* Every cam in every place of its bank or side is found out, and none in its own. */
START_TEST(every_swap_is_named)
{
    for (size_t is = 0; is < PLACES; is++)
        for (size_t own = 0; own < PLACES; own++) {
            struct vb_cam_seen s = seen_as(places[is].e, 0.3);
            struct vb_cam_fit f;
            ck_assert_int_eq(vb_cam_fit_find(&s, places, PLACES, own, 1, &f), VB_OK);
            ck_assert_uint_eq(f.best, is);
            ck_assert_int_eq(f.swapped, is != own);
            ck_assert_int_eq(f.unlike, 0);
            // 237, 237, 238 and 248 degrees; 2 s is 1.17
            ck_assert_int_eq(f.alike, is != own && is < 3 && own < 3);
            ck_assert(is == own ? f.own == 0 : f.other == 0);
        }
}
END_TEST

/* chi2 by hand: dc = 0.6, dd = 1.5; s_c^2 = .16 + .25, s_d^2 = .36 + .25. */
START_TEST(chi2_by_hand)
{
    const struct vb_cam_seen s = {107.1, 0.4, 238.5, 0.6};
    struct vb_cam_fit f;
    ck_assert_int_eq(vb_cam_fit_find(&s, places, 1, 0, 1, &f), VB_OK);
    ck_assert_double_eq_tol(f.own, 0.36 / 0.41 + 2.25 / 0.61, 1e-10);
    ck_assert(isinf(f.other) && f.best == 0 && !f.swapped && !f.unlike);
    const struct vb_cam_nominal any = {places[0].e, 1};
    ck_assert_int_eq(vb_cam_fit_find(&s, &any, 1, 0, 1, &f), VB_OK);
    ck_assert_double_eq_tol(f.own, 2.25 / 0.61, 1e-10);
    ck_assert_int_eq(vb_cam_fit_find(&s, places, 1, 0, 0, &f), VB_OK);
    ck_assert_double_eq_tol(f.own, 0.36 / 0.16 + 2.25 / 0.36, 1e-10);
    ck_assert_int_eq(vb_cam_fit_find(&s, places, 2, 1, 1, &f), VB_OK);
    ck_assert_double_eq_tol(f.other, 0.36 / 0.41 + 2.25 / 0.61, 1e-10);
    ck_assert_double_eq_tol(f.own, 4.6 * 4.6 / 0.41 + 2.25 / 0.61, 1e-9);
}
END_TEST

/*
 * Just inside and just beyond the two points: its own is rejected at 0.27 %, the other
 * fits up to 5 %. Durations are seen d above that of the one and below that of the other.
 */
START_TEST(points_of_decision)
{
    int any = _i; // 1: duration only, one degree of freedom
    double fits = sqrt(point_5[!any]), rejected = sqrt(point_027[!any]);
    const double eps = 1e-6;
    const struct {
        double from_own, from_other;
        int swapped, unlike;
    } x[] = {{rejected + eps, fits - eps, 1, 0},
             {rejected - eps, fits - eps, 0, 0},
             {rejected + eps, fits + eps, 0, 1},
             {rejected - eps, fits + eps, 0, 0}};
    for (size_t i = 0; i < sizeof x / sizeof *x; i++) {
        const struct vb_cam_nominal c[] = {{{0, 230}, any},
                                           {{-(x[i].from_own + x[i].from_other) / 2,
                                             230 + (x[i].from_own + x[i].from_other) / 2},
                                            any}};
        struct vb_cam_seen s = {115, 1, 230 + x[i].from_own, 1};
        struct vb_cam_fit f;
        ck_assert_int_eq(vb_cam_fit_find(&s, c, 2, 0, 0, &f), VB_OK);
        ck_assert_int_eq(f.swapped, x[i].swapped);
        ck_assert_int_eq(f.unlike, x[i].unlike);
        ck_assert_uint_eq(f.best, 1);
        ck_assert_double_eq_tol(f.own, x[i].from_own * x[i].from_own, 1e-9);
        ck_assert_double_eq_tol(f.other, x[i].from_other * x[i].from_other, 1e-9);
    }
}
END_TEST

/* Two others that fit alike: it is not its own, but nobody can say whose. */
START_TEST(two_that_fit)
{
    const struct vb_cam_nominal c[] = {{{-12, 225}, 0}, {{-2, 215}, 0}, {{-2, 215}, 0}};
    struct vb_cam_seen s = seen_as(c[1].e, 0.3);
    struct vb_cam_fit f;
    ck_assert_int_eq(vb_cam_fit_find(&s, c, 3, 0, 0, &f), VB_OK);
    ck_assert(!f.swapped && !f.unlike && f.best == 1);
    ck_assert_int_eq(vb_cam_fit_find(&s, c, 2, 0, 0, &f), VB_OK);
    ck_assert(f.swapped);
}
END_TEST

/* s = hypot(3, 8 / 2) = 5: durations 10 apart are alike, 10.25 are not. */
START_TEST(alike_or_not)
{
    for (int i = 0; i < 2; i++) {
        double half = i ? 5.125 : 5;
        const struct vb_cam_nominal c[] = {{{0, 230}, 0}, {{40 - half, 270 + half}, 0}};
        struct vb_cam_seen s = {vb_centre(c[1].e), 3, vb_duration(c[1].e), 3};
        struct vb_cam_fit f;
        ck_assert_int_eq(vb_cam_fit_find(&s, c, 2, 0, 8, &f), VB_OK);
        ck_assert(f.swapped && f.alike == !i);
    }
}
END_TEST

/* A jumped tooth is no swap: the duration is its own and no other cam stands there. */
START_TEST(a_tooth_is_no_swap)
{
    struct vb_cam_seen s = seen_as(places[0].e, 0.3);
    s.centre += 360.0 / 33;
    struct vb_cam_fit f;
    ck_assert_int_eq(vb_cam_fit_find(&s, places, PLACES, 0, 1, &f), VB_OK);
    ck_assert(!f.swapped && f.unlike && f.best == 0);
}
END_TEST

/* Far from all, where every p is 0, chi-squared still puts them in order. */
START_TEST(far_from_all)
{
    const struct vb_cam_seen s = {300, 0.01, 400, 0.01};
    struct vb_cam_fit f;
    for (size_t own = 0; own < PLACES; own++) {
        ck_assert_int_eq(vb_cam_fit_find(&s, places, PLACES, own, 0, &f), VB_OK);
        ck_assert(f.unlike && !f.swapped && f.best == 0);
    }
}
END_TEST

START_TEST(fit_refuses)
{
    const struct vb_cam_seen good = {106, 0.3, 237, 0.3};
    struct vb_cam_fit f = {.best = 77};
    ck_assert_int_eq(vb_cam_fit_find(&good, places, 0, 0, 1, &f), VB_EDOM);
    ck_assert_int_eq(vb_cam_fit_find(&good, places, PLACES, PLACES, 1, &f), VB_EDOM);
    const double bad[] = {NAN, INFINITY, -1, 0};
    for (int i = 0; i < 4; i++) {
        struct vb_cam_seen s[4] = {good, good, good, good};
        s[0].u_centre = s[1].u_duration = s[2].centre = s[3].duration = bad[i];
        for (int k = 0; k < (i < 2 ? 4 : 2); k++)
            ck_assert_int_eq(vb_cam_fit_find(&s[k], places, PLACES, 0, 1, &f), VB_EDOM);
        if (i < 3)
            ck_assert_int_eq(vb_cam_fit_find(&good, places, PLACES, 0, bad[i], &f),
                             VB_EDOM);
    }
    const struct vb_cam_nominal c[] = {places[0], {{225, -12}, 0}};
    ck_assert_int_eq(vb_cam_fit_find(&good, c, 2, 0, 1, &f), VB_ERANGE);
    ck_assert_int_eq(vb_cam_fit_find(&good, &c[1], 1, 0, 1, &f), VB_ERANGE);
    ck_assert_uint_eq(f.best, 77);
}
END_TEST

static Suite *
cam_fit_suite(void)
{
    Suite *s = suite_create("cam_fit");
    TCase *t = tcase_create("cam_fit");
    tcase_add_test(t, every_swap_is_named);
    tcase_add_test(t, chi2_by_hand);
    tcase_add_loop_test(t, points_of_decision, 0, 2);
    tcase_add_test(t, two_that_fit);
    tcase_add_test(t, alike_or_not);
    tcase_add_test(t, a_tooth_is_no_swap);
    tcase_add_test(t, far_from_all);
    tcase_add_test(t, fit_refuses);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(cam_fit_suite());
}
