#include "suite.h"
#include "valvebook/stop.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

struct by_hand {
    double before, after, offset, arc;
};

/*
 * By hand: half way from the first reading forwards to the second. 325 and -35 are one
 * place of the wheel, so are 41 and -319.
 */
static const struct by_hand cases[] = {
    {-35, 35, 0, 70},       // wheel set right
    {-35, 41, 3, 76},       // it shows 3 at TDC
    {325, 41, 3, 76},       // counted round: straddles 0/360
    {-35, -319, 3, 76},     // the other reading counted round
    {325, -319, 3, 76},     // both
    {-41, 35, -3, 76},      // it shows -3, or 357
    {319, 35, -3, 76},      //
    {350, 50, 20, 60},      // far off, straddling
    {10, 70, 40, 60},       // both on one side: wheel never zeroed
    {290, 350, -40, 60},    // 320, said as -40
    {150, 215, -177.5, 65}, // about the bottom mark: 182.5
    {145, 215, 180, 70},    // at the bottom mark: 180 and not -180
    {-215, -145, 180, 70},  //
    {-20.25, 20.5, 0.125, 40.75},
    {360, 60, 30, 60},   // 360 is 0
    {-360, 60, 30, 60},  //
    {300, 360, -30, 60}, //
    {-89, 90, 0.5, 179}, // widest
    {-5, 5, 0, 10},      // narrowest
};

#define CASES (int)(sizeof cases / sizeof *cases)

START_TEST(stop_by_hand)
{
    const struct by_hand *c = &cases[_i];
    struct vb_tdc t;
    struct vb_msg m = {0};
    ck_assert_int_eq(vb_tdc_from_stop(c->before, c->after, 0.5, &t, &m), VB_OK);
    ck_assert_double_eq_tol(t.offset, c->offset, 1e-12);
    ck_assert_double_eq_tol(t.arc, c->arc, 1e-12);
    ck_assert_str_eq(m.text, "");
}
END_TEST

/* GUM (10): each reading moves the midpoint by half of itself. */
START_TEST(stop_uncertainty)
{
    const double u = 0.25;
    struct vb_tdc t, a, b;
    ck_assert_int_eq(vb_tdc_from_stop(-40, 44, u, &t, NULL), VB_OK);
    ck_assert_int_eq(vb_tdc_from_stop(-40 + u, 44, u, &a, NULL), VB_OK);
    ck_assert_int_eq(vb_tdc_from_stop(-40, 44 + u, u, &b, NULL), VB_OK);
    ck_assert_double_eq_tol(t.u, hypot(a.offset - t.offset, b.offset - t.offset), 1e-12);
    ck_assert_int_eq(vb_tdc_from_stop(-40, 44, 0, &t, NULL), VB_OK);
    ck_assert(t.u == 0);
}
END_TEST

/*
 * Wherever the wheel is clamped, true angles come out the same; whole turns change
 * nothing. Steps of 1/8 are exact.
 */
START_TEST(stop_follows_the_wheel)
{
    for (double turn = -300; turn <= 300; turn += 0.125) {
        double before = remainder(-35 + turn, 360), after = remainder(41 + turn, 360);
        double event = remainder(12 + turn, 360);
        struct vb_tdc t, same;
        ck_assert_int_eq(vb_tdc_from_stop(before, after, 0.5, &t, NULL), VB_OK);
        ck_assert(t.offset > -180 && t.offset <= 180);
        double angle = remainder(vb_tdc_taken_out(event, &t), 360);
        ck_assert_double_eq_tol(angle, 9, 1e-12);
        double round_b = before < 0 ? before + 360 : before - 360;
        ck_assert_int_eq(vb_tdc_from_stop(round_b, after, 0.5, &same, NULL), VB_OK);
        ck_assert_double_eq_tol(same.offset, t.offset, 1e-12);
    }
}
END_TEST

/* An inlet that closes at 225 on a wheel that is 3 off closes at 222: no folding. */
START_TEST(taken_out_is_not_folded)
{
    const struct vb_tdc t = {3, 0.1, 70};
    ck_assert_double_eq_tol(vb_tdc_taken_out(225, &t), 222, 1e-12);
    ck_assert_double_eq_tol(vb_tdc_taken_out(-230, &t), -233, 1e-12);
}
END_TEST

struct refusal {
    double before, after, u;
    const char *says;
};

static const struct refusal refusals[] = {
    {35, 35, 0.5, "hardly apart"},   // the sign of the first was lost
    {35, 41, 0.5, "hardly apart"},   //
    {41, 35, 0.5, "hardly apart"},   // arc 354
    {-35, 325, 0.5, "hardly apart"}, // one place
    {-4.9, 5, 0.5, "hardly apart"},     {5, -5, 0.5, "hardly apart"}, // 350
    {5, -4.5, 0.5, "hardly apart"},                                   // 350.5
    {5.5, -5, 0.5, "exchanged"}, // 349.5     {35, -35, 0.5, "exchanged"}, // arc 290
    {-90, 90, 0.5, "exchanged"}, // 180: which way round?
    {NAN, 35, 0.5, "before TDC"},       {-35, NAN, 0.5, "after TDC"},
    {-361, 35, 0.5, "before TDC"},      {-35, 361, 0.5, "after TDC"},
    {-INFINITY, 35, 0.5, "before TDC"}, {-35, 35, -0.1, "uncertainty"},
    {-35, 35, NAN, "uncertainty"},      {-35, 35, INFINITY, "uncertainty"},
};

#define REFUSALS (int)(sizeof refusals / sizeof *refusals)

START_TEST(stop_refuses)
{
    const struct refusal *c = &refusals[_i];
    struct vb_tdc t = {7, 8, 9};
    struct vb_msg m = {0};
    ck_assert_int_eq(vb_tdc_from_stop(c->before, c->after, c->u, &t, &m), VB_EDOM);
    ck_assert(t.offset == 7 && t.u == 8 && t.arc == 9);
    ck_assert_msg(strstr(m.text, c->says) != NULL, "%s", m.text);
    ck_assert_int_eq(vb_tdc_from_stop(c->before, c->after, c->u, &t, NULL), VB_EDOM);
}
END_TEST

static Suite *
stop_suite(void)
{
    Suite *s = suite_create("stop");
    TCase *t = tcase_create("stop");
    tcase_add_loop_test(t, stop_by_hand, 0, CASES);
    tcase_add_test(t, stop_uncertainty);
    tcase_add_test(t, stop_follows_the_wheel);
    tcase_add_test(t, taken_out_is_not_folded);
    tcase_add_loop_test(t, stop_refuses, 0, REFUSALS);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(stop_suite());
}
