#include "suite.h"
#include "valvebook/teeth.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

/* TM 5-4210-229-14&P p. 6-6: one tooth is about 11 crank degrees; 33 teeth, 360/33. */
START_TEST(tooth_of_the_manual)
{
    ck_assert_double_eq_tol(vb_tooth_crank(33), 10.909090909090909, 1e-12);
    ck_assert_double_eq_tol(vb_tooth_crank(33), 11, 0.1);
    ck_assert(vb_tooth_cam(66) == vb_tooth_crank(33)); // twice the teeth, half the turns
    ck_assert(vb_tooth_crank(1) == 360 && vb_tooth_cam(2) == 360);
    ck_assert(vb_tooth_cam(1) == 720);
    ck_assert(isnan(vb_tooth_crank(0)) && isnan(vb_tooth_cam(0)));
    ck_assert(isnan(vb_tooth_crank(-3)) && isnan(vb_tooth_cam(-3)));
}
END_TEST

#define TOOTH (360.0 / 33)

struct cause {
    double phase, drive, u; // u of both; k = 2
    int crank, cam;
    double limit;
    enum vb_cause is;
    int teeth;
    const char *says;
};

/* By hand. k = 2: 2 u about 0, and 3 u about whole teeth. */
static const struct cause causes[] = {
    // inside the band
    {0, 0, 0.5, 33, 66, NAN, VB_CAUSE_NONE, 0, "nothing beyond the measuring error"},
    {1, 1, 0.5, 33, 66, NAN, VB_CAUSE_NONE, 0, "nothing beyond"},
    {-1, -0.99, 0.5, 33, 66, NAN, VB_CAUSE_NONE, 0, "nothing beyond"},
    {1.01, 0.3, 0.5, 33, 66, NAN, VB_CAUSE_LASH, 0, "lash explains it"},
    {-3, -1, 0.5, 0, 0, NAN, VB_CAUSE_LASH, 0, "lash explains it"},
    // a little: wear late, not early
    {1.01, 1.01, 0.5, 33, 66, NAN, VB_CAUSE_WEAR, 0, "wear or stretch"},
    {-1.01, -1.01, 0.5, 33, 66, NAN, VB_CAUSE_EARLY, 0, "a new drive, or set so"},
    {0.2, 1.5, 0.5, 33, 66, NAN, VB_CAUSE_WEAR, 0, "late"}, // lash hid it
    {5.4, 5.4, 0.5, 33, 66, NAN, VB_CAUSE_WEAR, 0, "late"}, // half a tooth is 5.4545
    {5.5, 5.5, 0.5, 33, 66, NAN, VB_CAUSE_SLIP, 0, "late by no whole tooth"},
    {-5.5, -5.5, 0.5, 33, 66, NAN, VB_CAUSE_SLIP, 0, "early by no whole tooth"},
    {2.5, 2.5, 0.5, 33, 66, 2, VB_CAUSE_SLIP, 0, "key and sprocket"},
    {7, 7, 0.5, 33, 66, 8, VB_CAUSE_WEAR, 0, "late"},
    {8, 8, 0.5, 33, 66, 8, VB_CAUSE_WEAR, 0, "late"},
    // no teeth known: 5 degrees
    {4.9, 4.9, 0.5, 0, 0, NAN, VB_CAUSE_WEAR, 0, "late"},
    {5.1, 5.1, 0.5, 0, 0, NAN, VB_CAUSE_SLIP, 0, "late"},
    {-5.1, -5.1, 0.5, 0, 0, NAN, VB_CAUSE_SLIP, 0, "early"},
    // whole teeth, within the band and just out of it
    {TOOTH, TOOTH, 0.5, 33, 66, NAN, VB_CAUSE_TEETH, 1, "one tooth retarded"},
    {-TOOTH, -TOOTH, 0.5, 33, 66, NAN, VB_CAUSE_TEETH, -1, "one tooth advanced"},
    {TOOTH, TOOTH + 1.49, 0.5, 33, 66, NAN, VB_CAUSE_TEETH, 1, "one tooth retarded"},
    {TOOTH, TOOTH - 1.49, 0.5, 33, 66, NAN, VB_CAUSE_TEETH, 1, "one tooth retarded"},
    {TOOTH, TOOTH + 1.51, 0.5, 33, 66, NAN, VB_CAUSE_SLIP, 0, "no whole tooth"},
    {TOOTH, TOOTH - 1.51, 0.5, 33, 66, NAN, VB_CAUSE_SLIP, 0, "no whole tooth"},
    {0, -2 * TOOTH, 0.5, 33, 66, NAN, VB_CAUSE_TEETH, -2, "two teeth advanced"},
    {0, 3 * TOOTH, 0.5, 0, 66, NAN, VB_CAUSE_TEETH, 3, "three teeth retarded"},
    {0, 5 * TOOTH, 0.5, 33, 0, NAN, VB_CAUSE_TEETH, 5, "5 teeth retarded"},
    // teeth go before wear where a limit is wide
    {TOOTH, TOOTH, 0.5, 33, 66, 20, VB_CAUSE_TEETH, 1, "one tooth"},
    // a band of half a tooth or more counts no teeth
    {TOOTH, TOOTH, 1.81, 33, 66, NAN, VB_CAUSE_TEETH, 1, "one tooth"},
    {TOOTH, TOOTH, 1.82, 33, 66, NAN, VB_CAUSE_UNSURE, 0, "late; the readings are too"},
    {-TOOTH, -TOOTH, 1.82, 33, 66, NAN, VB_CAUSE_UNSURE, 0, "early; the readings"},
    {TOOTH, TOOTH, 1.82, 0, 0, NAN, VB_CAUSE_SLIP, 0, "late"},
    {7, 7, 3, 33, 66, 8, VB_CAUSE_WEAR, 0, "late"},
};

#define CAUSES (int)(sizeof causes / sizeof *causes)

START_TEST(causes_by_hand)
{
    const struct cause *c = &causes[_i];
    const struct vb_drive d = {c->crank, c->cam, c->limit};
    struct vb_cause_found f;
    char says[80];
    ck_assert_int_eq(vb_cause_find(c->phase, c->u, c->drive, c->u, 2, &d, &f), VB_OK);
    vb_cause_says(&f, says, sizeof says);
    ck_assert_msg(f.cause == c->is && f.teeth == c->teeth, "%s, %d teeth",
                  vb_cause_name(f.cause), f.teeth);
    ck_assert_msg(strstr(says, c->says) != NULL, "%s", says);
    ck_assert_double_eq_tol(f.off, c->drive - c->teeth * TOOTH, 1e-12);
    int known = c->crank || c->cam;
    ck_assert(known ? f.tooth == TOOTH : isnan(f.tooth));
    ck_assert(!isnan(c->limit) ? f.limit == c->limit
              : known          ? f.limit == TOOTH / 2
                               : f.limit == VB_WEAR_LIMIT);
    ck_assert(!f.at_cam || !c->crank);
    // about 0 it is k u that counts, not its parts
    struct vb_cause_found g;
    ck_assert_int_eq(vb_cause_find(c->phase, 2 * c->u, c->drive, 2 * c->u, 1, &d, &g),
                     VB_OK);
    ck_assert(g.cause == f.cause || known);
    ck_assert((f.cause <= VB_CAUSE_LASH) == (g.cause <= VB_CAUSE_LASH));
    // the mirror: early for late
    ck_assert_int_eq(vb_cause_find(-c->phase, c->u, -c->drive, c->u, 2, &d, &g), VB_OK);
    int wear = f.cause == VB_CAUSE_WEAR || f.cause == VB_CAUSE_EARLY;
    ck_assert(wear ? g.cause == VB_CAUSE_WEAR + VB_CAUSE_EARLY - f.cause
                   : g.cause == f.cause);
    ck_assert(g.teeth == -f.teeth);
}
END_TEST

/* The bands of phase and of drive are their own. */
START_TEST(two_uncertainties)
{
    const struct vb_drive d = {33, 66, NAN};
    struct vb_cause_found f;
    ck_assert_int_eq(vb_cause_find(1, 0.2, 1, 1, 2, &d, &f), VB_OK);
    ck_assert_int_eq(f.cause, VB_CAUSE_LASH);
    ck_assert_int_eq(vb_cause_find(1, 1, 1, 0.2, 2, &d, &f), VB_OK);
    ck_assert_int_eq(f.cause, VB_CAUSE_WEAR);
}
END_TEST

/*
 * A drive in two stages: 24 teeth on the crank, 30 on the cam's own wheel. A tooth is 15
 * degrees at the crank and 24 at the cam; 120 is both, and is said of the crank.
 */
START_TEST(two_kinds_of_teeth)
{
    const struct vb_drive d = {24, 30, NAN};
    const struct {
        double drive;
        int teeth, at_cam;
        const char *says;
    } x[] = {{15, 1, 0, "one tooth retarded"},
             {-24, -1, 1, "one tooth advanced at the cam"},
             {48, 2, 1, "two teeth retarded at the cam"},
             {120, 8, 0, "8 teeth retarded"},
             {46.2, 3, 0, "three teeth retarded"},             // 45 is nearer than 48
             {46.8, 2, 1, "two teeth retarded at the cam"},    // and now 48
             {73.2, 3, 1, "three teeth retarded at the cam"}}; // 72, not 75
    for (size_t i = 0; i < sizeof x / sizeof *x; i++) {
        struct vb_cause_found f;
        char says[80];
        ck_assert_int_eq(vb_cause_find(x[i].drive, 1, x[i].drive, 1, 2, &d, &f), VB_OK);
        ck_assert(f.cause == VB_CAUSE_TEETH && f.teeth == x[i].teeth);
        ck_assert_int_eq(f.at_cam, x[i].at_cam);
        ck_assert(f.tooth == (x[i].at_cam ? 24 : 15));
        ck_assert_str_eq(vb_cause_says(&f, says, sizeof says), x[i].says);
    }
    // wear: half of the finer tooth
    struct vb_cause_found f;
    ck_assert_int_eq(vb_cause_find(7, 1, 7, 1, 2, &d, &f), VB_OK);
    ck_assert(f.cause == VB_CAUSE_WEAR && f.limit == 7.5 && f.tooth == 15);
    // 9 degrees of error are too many for the crank's teeth, not for the cam's
    ck_assert_int_eq(vb_cause_find(24, 3, 24, 3, 2, &d, &f), VB_OK);
    ck_assert(f.cause == VB_CAUSE_TEETH && f.at_cam && f.teeth == 1);
}
END_TEST

/* On the very edges, with a tooth of 12 degrees: 3 u = 3, 4.5 and 6 are exact. */
START_TEST(edges)
{
    const struct vb_drive d = {30, 60, NAN};
    const struct {
        double drive, u;
        enum vb_cause is;
    } x[] = {{15, 1, VB_CAUSE_TEETH},     {15.1, 1, VB_CAUSE_SLIP},
             {9, 1, VB_CAUSE_TEETH},      {8.9, 1, VB_CAUSE_SLIP},
             {6.5, 1.5, VB_CAUSE_SLIP},   {12, 2, VB_CAUSE_UNSURE},
             {12, 1.999, VB_CAUSE_TEETH}, {2, 1, VB_CAUSE_NONE},
             {6, 1, VB_CAUSE_WEAR},       {-6, 1, VB_CAUSE_EARLY}};
    for (size_t i = 0; i < sizeof x / sizeof *x; i++) {
        struct vb_cause_found f;
        ck_assert_int_eq(vb_cause_find(x[i].drive, x[i].u, x[i].drive, x[i].u, 2, &d, &f),
                         VB_OK);
        ck_assert_msg(f.cause == x[i].is, "%g: %s", x[i].drive, vb_cause_name(f.cause));
    }
}
END_TEST

/* A number of teeth that no wheel has, and that no int would hold, is no count: a tooth of
 * 12 degrees, and shifts that are whole teeth to the last bit. */
START_TEST(no_wheel_has_so_many)
{
    const struct vb_drive d = {30, 0, NAN};
    const double most[] = {1000, 1001, 1e12, -1e12};
    char says[80];
    for (size_t i = 0; i < sizeof most / sizeof *most; i++) {
        struct vb_cause_found f;
        ck_assert_int_eq(vb_cause_find(12 * most[i], 1, 12 * most[i], 1, 2, &d, &f),
                         VB_OK);
        ck_assert_int_eq(f.cause, i ? VB_CAUSE_SLIP : VB_CAUSE_TEETH);
        ck_assert_int_eq(f.teeth, i ? 0 : 1000);
        vb_cause_says(&f, says, sizeof says);
        ck_assert(strstr(says, i ? "no whole tooth" : "1000 teeth retarded"));
    }
}
END_TEST

START_TEST(names_and_words)
{
    const char *name[VB_CAUSE_COUNT] = {"none",  "lash", "wear",   "early",
                                        "teeth", "slip", "unsure", "apart"};
    for (int c = 0; c < VB_CAUSE_COUNT; c++)
        ck_assert_str_eq(vb_cause_name((enum vb_cause)c), name[c]);
    const struct vb_cause_found f = {VB_CAUSE_TEETH, -1, TOOTH, 0, 0, 5};
    char cut[8];
    ck_assert_str_eq(vb_cause_says(&f, cut, sizeof cut), "one too");
    ck_assert(strstr(vb_rest_says(0.5), "open longer"));
    ck_assert(strstr(vb_rest_says(-0.5), "lobe or follower worn"));
    const struct vb_cause_found many = {VB_CAUSE_TEETH, 1000, TOOTH, 0, 0, 5};
    const struct vb_cause_found zero = {VB_CAUSE_TEETH, 0, TOOTH, 0, 0, 5};
    char whole[80];
    ck_assert_str_eq(vb_cause_says(&many, whole, sizeof whole), "1000 teeth retarded");
    ck_assert_str_eq(vb_cause_says(&zero, whole, sizeof whole), "0 teeth advanced");
    char none[1];
    ck_assert_str_eq(vb_cause_says(&f, none, 1), "");
}
END_TEST

START_TEST(cause_refuses)
{
    const struct vb_drive good = {33, 66, NAN};
    struct vb_cause_found f = {.teeth = 77};
    for (int i = 0; i < 5; i++) {
        const double bad[] = {NAN, INFINITY, -INFINITY, 0, -1};
        for (int b = 0; b < 5; b++) {
            double x[5] = {1, 0.5, 1, 0.5, 2};
            x[i] = bad[b];
            int fine = b >= 3 && i % 2 == 0 && i != 4; // phase and drive may be so
            enum vb_err e = vb_cause_find(x[0], x[1], x[2], x[3], x[4], &good, &f);
            ck_assert_int_eq(e, fine ? VB_OK : VB_EDOM);
            ck_assert(fine || f.teeth == 77);
            f.teeth = 77;
        }
    }
    const struct vb_drive bad[] = {
        {-1, 0, NAN}, {0, -1, NAN}, {33, 66, 0}, {33, 66, -1}, {33, 66, INFINITY}};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        ck_assert_int_eq(vb_cause_find(1, 1, 1, 1, 2, &bad[i], &f), VB_EDOM);
    ck_assert(f.teeth == 77);
}
END_TEST

static Suite *
teeth_suite(void)
{
    Suite *s = suite_create("teeth");
    TCase *t = tcase_create("teeth");
    tcase_add_test(t, tooth_of_the_manual);
    tcase_add_loop_test(t, causes_by_hand, 0, CAUSES);
    tcase_add_test(t, two_uncertainties);
    tcase_add_test(t, two_kinds_of_teeth);
    tcase_add_test(t, edges);
    tcase_add_test(t, no_wheel_has_so_many);
    tcase_add_test(t, names_and_words);
    tcase_add_test(t, cause_refuses);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(teeth_suite());
}
