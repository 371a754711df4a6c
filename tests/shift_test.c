#include "suite.h"
#include "valvebook/shift.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "closed_cams.h"

#define RATIO    1.5
#define CHECKING 1.0

static const struct closed_cam cams[CURVES] = {
    {HARMONIC, 8.5, 62, 4, 55}, {CYCLOIDAL, 8.5, 70, 2, 64}, {POLY_345, 8.5, 72, 0, 66}};

/* What an exact cam whose profile's origin stands at `place` shows under lash. */
static struct vb_timing_read
exact_read(const struct closed_cam *c, double place, double lash)
{
    struct vb_lobe_events v = closed_events(c, RATIO, lash, CHECKING);
    return (struct vb_timing_read){.e = {2 * v.up + place, 2 * v.down + place},
                                   .u = 0.25,
                                   .lash = lash,
                                   .u_lash = 0.01};
}

/* --- without a profile ------------------------------------------------------------- */

START_TEST(plain_by_hand)
{
    struct vb_timing_read from = {{-12, 225}, 0.3, 0.2, 0.01, 1, 0.2};
    struct vb_timing_read to = {{-8, 227}, 0.4, 0.3, 0.01, 2, 0.1};
    const struct vb_train no_lobe = {NULL, 1.5, 1, 0};
    const struct vb_train *train[] = {NULL, &no_lobe};
    for (int i = 0; i < 2; i++) {
        struct vb_shift s;
        ck_assert_int_eq(vb_shift_split(&from, &to, train[i], &s, NULL), VB_OK);
        ck_assert_int_eq(s.how, VB_SPLIT_PLAIN);
        ck_assert(s.opens == 4 && s.closes == 2);
        ck_assert(s.phase == 3 && s.duration == -2 && s.drive == 3 && s.rest == -2);
        ck_assert(isnan(s.lash_phase) && isnan(s.u_lash_phase));
        ck_assert(isnan(s.lash_duration) && isnan(s.u_lash_duration));
        // by hand: sqrt(.09 + .16) = .5; / sqrt 2; with .04 + .01 of TDC; x sqrt 2
        ck_assert_double_eq_tol(s.u_own, sqrt(0.125), 1e-12);
        ck_assert_double_eq_tol(s.u_phase, sqrt(0.175), 1e-12);
        ck_assert(s.u_drive == s.u_phase && s.u_rest == s.u_duration);
        ck_assert_double_eq_tol(s.u_duration, sqrt(0.5), 1e-12);
        ck_assert(s.tdc[0] == 1 && s.tdc[1] == 2);
        ck_assert(s.u_tdc[0] == 0.2 && s.u_tdc[1] == 0.1);
    }
}
END_TEST

/* A lash that was not read leaves the plain split even where the profile is known. */
START_TEST(plain_where_lash_is_unknown)
{
    struct vb_lobe *l = closed_lobe(&cams[0], 1, 0);
    const struct vb_train t = {l, RATIO, CHECKING, 0};
    for (int i = 0; i < 2; i++) {
        struct vb_timing_read r[2] = {exact_read(&cams[0], 105, 0.2),
                                      exact_read(&cams[0], 107, 0.3)};
        struct vb_shift s;
        r[i].lash = r[i].u_lash = NAN;
        ck_assert_int_eq(vb_shift_split(&r[0], &r[1], &t, &s, NULL), VB_OK);
        ck_assert(s.how == VB_SPLIT_PLAIN && s.drive == s.phase && isnan(s.lash_phase));
    }
    vb_lobe_free(l);
}
END_TEST

/*
 * Lashes known to 0.01 mm differ by 0.0283 at most (k = 2) where they read alike: 5.66 degrees of
 * duration on two flanks of 0.01 mm a degree. 0.05 more than that shortens by 15.66 at most, and
 * lengthens nothing.
 */
START_TEST(lash_does_not_do_everything)
{
    const struct {
        double from, to, duration;
        int not_lash;
    } cases[] = {
        {0.2, 0.2, 5.6, 0},    {0.2, 0.2, 5.7, 1},   {0.2, 0.2, -5.6, 0},
        {0.2, 0.2, -5.7, 1},   {0.2, 0.25, 0.1, 1},  {0.2, 0.25, -15.6, 0},
        {0.2, 0.25, -15.7, 1}, {0.25, 0.2, 15.6, 0}, {0.25, 0.2, 15.7, 1},
        {0.25, 0.2, -0.1, 1},  {NAN, 0.2, 40, 0},    {0.2, NAN, 40, 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double d = cases[i].duration / 2;
        struct vb_timing_read a = {{-12, 225}, 0.2, cases[i].from, 0.01, 0, 0};
        struct vb_timing_read b = {{-12 - d, 225 + d}, 0.2, cases[i].to, 0.01, 0, 0};
        struct vb_shift s;
        ck_assert_int_eq(vb_shift_split(&a, &b, NULL, &s, NULL), VB_OK);
        ck_assert_int_eq(s.not_lash, cases[i].not_lash);
    }
}
END_TEST

/* --- with a profile ---------------------------------------------------------------- */

struct mix {
    double before, after, drive;
};

static const struct mix mixes[] = {
    {0.2, 0.2, 0},   {0.1, 0.4, 0},          {0.4, 0.1, 0},     {0.2, 0.2, 4},
    {0.2, 0.2, -11}, {0.15, 0.35, 2.5},      {0.35, 0.15, 2.5}, {0.2, 0.6, -1.25},
    {0, 0.25, 0.5},  {0.25, 0, -720 / 66.0},
};

#define MIXES (int)(sizeof mixes / sizeof *mixes)

/* No error in the readings: the parts come out as they went in, whatever the cam. */
START_TEST(parts_of_exact_cams)
{
    const struct mix *x = &mixes[_i];
    for (int c = 0; c < CURVES; c++) {
        struct vb_lobe *l = closed_lobe(&cams[c], 0.1, 0.2);
        const struct vb_train t = {l, RATIO, CHECKING, 0};
        struct vb_timing_read from = exact_read(&cams[c], 105, x->before);
        struct vb_timing_read to = exact_read(&cams[c], 105 + x->drive, x->after);
        struct vb_timing_read still = exact_read(&cams[c], 105, x->after);
        struct vb_shift s;
        ck_assert_int_eq(vb_shift_split(&from, &to, &t, &s, NULL), VB_OK);
        ck_assert_int_eq(s.how, VB_SPLIT_PROFILE);
        ck_assert_double_eq_tol(s.drive, x->drive, 2e-6);
        ck_assert_double_eq_tol(s.rest, 0, 4e-6);
        double lash_phase = vb_centre(still.e) - vb_centre(from.e);
        double lash_duration = vb_duration(still.e) - vb_duration(from.e);
        ck_assert_double_eq_tol(s.lash_phase, lash_phase, 2e-6);
        ck_assert_double_eq_tol(s.lash_duration, lash_duration, 4e-6);
        ck_assert_double_eq_tol(s.phase, s.lash_phase + s.drive, 1e-12);
        ck_assert_double_eq_tol(s.duration, s.lash_duration + s.rest, 1e-12);
        if (x->before == x->after)
            ck_assert(s.lash_phase == 0 && s.lash_duration == 0);
        // more lash opens later and closes earlier
        if (x->after > x->before)
            ck_assert(s.lash_duration < 0);
        vb_lobe_free(l);
    }
}
END_TEST

/* A table every degree, as profiles are measured: a thousandth of a degree. */
START_TEST(parts_from_a_table_in_degrees)
{
    const struct mix *x = &mixes[_i];
    for (int c = 0; c < CURVES; c++) {
        struct vb_lobe *l = closed_lobe(&cams[c], 1, 0.3);
        const struct vb_train t = {l, RATIO, CHECKING, 0};
        struct vb_timing_read from = exact_read(&cams[c], 105, x->before);
        struct vb_timing_read to = exact_read(&cams[c], 105 + x->drive, x->after);
        struct vb_shift s;
        ck_assert_int_eq(vb_shift_split(&from, &to, &t, &s, NULL), VB_OK);
        ck_assert_double_eq_tol(s.drive, x->drive, 1e-3);
        ck_assert_double_eq_tol(s.rest, 0, 1e-3);
        vb_lobe_free(l);
    }
}
END_TEST

/* inputs of a comparison, each with its own error: 0..3 angles, 4..5 lashes, 6..7 TDCs */
static void
move(struct vb_timing_read r[2], int input, double by)
{
    struct vb_timing_read *one = &r[input % 2];
    if (input < 4)
        *(input < 2 ? &one->e.opens : &one->e.closes) += by;
    else if (input < 6)
        one->lash += by;
    else {
        one->e.opens += by;
        one->e.closes += by;
    }
}

/*
 * JCGM 100:2008 (10), numerically: move every input a little, scale to its u, add the
 * squares. With one TDC for both readings it moves both.
 */
START_TEST(uncertainties)
{
    const double h = 1e-4;
    int shared = _i / CURVES;
    struct vb_lobe *l = closed_lobe(&cams[_i % CURVES], 0.1, 0);
    const struct vb_train t = {l, RATIO, CHECKING, 0};
    struct vb_timing_read at[2] = {exact_read(&cams[_i % CURVES], 105, 0.2),
                                   exact_read(&cams[_i % CURVES], 108, 0.35)};
    at[0].u = 0.3;
    at[1].u_lash = 0.03;
    at[0].tdc = 4;
    at[1].tdc = shared ? 4 : 5;
    at[0].u_tdc = 0.2;
    at[1].u_tdc = shared ? 0.2 : 0.15;
    const double u[8] = {at[0].u,      at[1].u,      at[0].u,     at[1].u,
                         at[0].u_lash, at[1].u_lash, at[0].u_tdc, at[1].u_tdc};
    struct vb_shift s, d;
    ck_assert_int_eq(vb_shift_split(&at[0], &at[1], &t, &s, NULL), VB_OK);
    double phase = 0, drive = 0, own = 0, lash = 0, duration = 0, lash_dur = 0, rest = 0;
    for (int i = 0; i < (shared ? 7 : 8); i++) {
        struct vb_timing_read r[2] = {at[0], at[1]};
        move(r, i, h);
        if (shared && i == 6)
            move(r, 7, h);
        ck_assert_int_eq(vb_shift_split(&r[0], &r[1], &t, &d, NULL), VB_OK);
        double k2 = pow(u[i] / h, 2);
        phase += k2 * pow(d.phase - s.phase, 2);
        drive += k2 * pow(d.drive - s.drive, 2);
        own += i < 6 ? k2 * pow(d.drive - s.drive, 2) : 0;
        lash += k2 * pow(d.lash_phase - s.lash_phase, 2);
        duration += k2 * pow(d.duration - s.duration, 2);
        lash_dur += k2 * pow(d.lash_duration - s.lash_duration, 2);
        rest += k2 * pow(d.rest - s.rest, 2);
    }
    const double is[] = {s.u_phase,    s.u_drive,         s.u_own, s.u_lash_phase,
                         s.u_duration, s.u_lash_duration, s.u_rest};
    const double be[] = {phase, drive, own, lash, duration, lash_dur, rest};
    for (int i = 0; i < 7; i++)
        ck_assert_double_eq_tol(is[i], sqrt(be[i]), 1e-3 * sqrt(be[i]));
    vb_lobe_free(l);
}
END_TEST

/*
 * The profile's own error moves either flank of either reading by itself: slopes of the
 * exact cam by a small step. Under one lash it goes out.
 */
START_TEST(uncertain_profile)
{
    const double dg = 1e-5, u_lift = 0.01, lash[] = {0.2, 0.35};
    const struct closed_cam *c = &cams[_i];
    struct vb_lobe *l = closed_lobe(c, 0.1, 0);
    const struct vb_train t = {l, RATIO, CHECKING, u_lift};
    struct vb_timing_read r[2] = {exact_read(c, 105, lash[0]),
                                  exact_read(c, 108, lash[1])};
    double sum = 0;
    for (int i = 0; i < 2; i++) {
        struct vb_timing_read more = exact_read(c, 105 + 3 * i, lash[i] + dg);
        sum += pow((more.e.opens - r[i].e.opens) / dg * RATIO * u_lift, 2);
        sum += pow((more.e.closes - r[i].e.closes) / dg * RATIO * u_lift, 2);
        r[i].u_lash = 0;
    }
    struct vb_shift s;
    ck_assert_int_eq(vb_shift_split(&r[0], &r[1], &t, &s, NULL), VB_OK);
    ck_assert_double_eq_tol(s.u_lash_phase, sqrt(sum) / 2, 1e-3 * sqrt(sum));
    ck_assert_double_eq_tol(s.u_lash_duration, sqrt(sum), 1e-3 * sqrt(sum));
    ck_assert_double_eq_tol(s.u_own, hypot(0.25, s.u_lash_phase), 1e-12);
    ck_assert_double_eq_tol(s.u_rest, hypot(0.5, s.u_lash_duration), 1e-12);
    ck_assert_double_eq_tol(s.u_duration, 0.5, 1e-12);
    r[1].lash = lash[0];
    ck_assert_int_eq(vb_shift_split(&r[0], &r[1], &t, &s, NULL), VB_OK);
    ck_assert(s.u_lash_phase == 0 && s.u_lash_duration == 0);
    vb_lobe_free(l);
}
END_TEST

/* Number 0 is shared by nobody: two nominal-like readings keep both their TDCs' errors. */
START_TEST(number_0_is_not_shared)
{
    struct vb_timing_read from = {{-12, 225}, 0.3, NAN, NAN, 0, 0.3};
    struct vb_timing_read to = {{-8, 227}, 0.3, NAN, NAN, 0, 0.4};
    struct vb_shift s;
    ck_assert_int_eq(vb_shift_split(&from, &to, NULL, &s, NULL), VB_OK);
    ck_assert_double_eq_tol(s.u_drive, sqrt(0.09 + 0.25), 1e-12);
}
END_TEST

/* From nominal events, which have no error of their own. */
START_TEST(against_nominal)
{
    const struct closed_cam *c = &cams[_i];
    struct vb_lobe *l = closed_lobe(c, 0.1, 0);
    const struct vb_train t = {l, RATIO, CHECKING, 0};
    struct vb_timing_read nominal = exact_read(c, 105, 0.25);
    nominal.u = nominal.u_lash = 0;
    struct vb_timing_read seen = exact_read(c, 103.5, 0.3);
    seen.tdc = 3;
    seen.u_tdc = 0.2;
    struct vb_shift s;
    ck_assert_int_eq(vb_shift_split(&nominal, &seen, &t, &s, NULL), VB_OK);
    ck_assert_double_eq_tol(s.drive, -1.5, 1e-5);
    ck_assert(s.u_own >= 0.25 / sqrt(2) && s.u_own < 0.3);
    ck_assert_double_eq_tol(s.u_drive, hypot(s.u_own, 0.2), 1e-12);
    vb_lobe_free(l);
}
END_TEST

/* --- refusals ---------------------------------------------------------------------- */

static void
refused(struct vb_timing_read from, struct vb_timing_read to, const struct vb_train *t,
        enum vb_err err, const char *says)
{
    struct vb_shift s = {.drive = 77};
    struct vb_msg m = {0};
    ck_assert_int_eq(vb_shift_split(&from, &to, t, &s, &m), err);
    ck_assert_msg(strstr(m.text, says) != NULL, "%s", m.text);
    ck_assert_int_eq(vb_shift_split(&from, &to, t, &s, NULL), err);
    ck_assert(s.drive == 77);
}

START_TEST(shift_refuses)
{
    struct vb_lobe *l = closed_lobe(&cams[1], 1, 0);
    const struct vb_train t = {l, RATIO, CHECKING, 0}, no_lift = {l, RATIO, NAN, 0};
    const struct vb_timing_read good = exact_read(&cams[1], 105, 0.2);
    struct vb_timing_read bad = good;
    const double no_u[] = {-0.1, NAN, INFINITY};
    for (int i = 0; i < 3; i++) {
        double *u[] = {&bad.u, &bad.u_tdc, &bad.u_lash};
        for (int k = 0; k < 3; k++) {
            bad = good;
            *u[k] = no_u[i];
            refused(bad, good, &t, VB_EDOM, "uncertainties");
            refused(good, bad, &t, VB_EDOM, "uncertainties");
        }
    }
    bad = good;
    bad.e = (struct vb_events){225, -12};
    refused(bad, good, &t, VB_ERANGE, "not after it opens");
    refused(good, bad, NULL, VB_ERANGE, "not after it opens");
    bad.e = (struct vb_events){NAN, 225};
    refused(good, bad, &t, VB_EDOM, "no angle");
    bad = good;
    bad.lash = 50;
    refused(good, bad, &t, VB_EDOM, "not reached");
    refused(bad, good, &t, VB_EDOM, "not reached");
    bad.lash = -0.1;
    refused(good, bad, &t, VB_EDOM, "lash");
    refused(good, good, &no_lift, VB_EDOM, "checking lift");
    bad = good;
    bad.u = 0;
    refused(bad, bad, &t, VB_EDOM, "neither");
    struct vb_shift s;
    ck_assert_int_eq(vb_shift_split(&bad, &good, &t, &s, NULL), VB_OK);
    ck_assert_int_eq(vb_shift_split(&good, &bad, &t, &s, NULL), VB_OK);
    vb_lobe_free(l);
}
END_TEST

static Suite *
shift_suite(void)
{
    Suite *s = suite_create("shift");
    TCase *t = tcase_create("shift");
    tcase_add_test(t, plain_by_hand);
    tcase_add_test(t, plain_where_lash_is_unknown);
    tcase_add_test(t, lash_does_not_do_everything);
    tcase_add_loop_test(t, parts_of_exact_cams, 0, MIXES);
    tcase_add_loop_test(t, parts_from_a_table_in_degrees, 0, MIXES);
    tcase_add_loop_test(t, uncertainties, 0, 2 * CURVES);
    tcase_add_loop_test(t, uncertain_profile, 0, CURVES);
    tcase_add_test(t, number_0_is_not_shared);
    tcase_add_loop_test(t, against_nominal, 0, CURVES);
    tcase_add_test(t, shift_refuses);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(shift_suite());
}
