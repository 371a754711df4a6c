#include "suite.h"
#include "valvebook/guard.h"

#include <math.h>
#include <stdlib.h>

#include <check.h>

/* --- verdicts ---------------------------------------------------------------------- */

struct k_case {
    double risk, df, k;
};

/* R 4.2.2: sprintf("%.15g", qt(1 - risk, df)), and qnorm where df is infinite. */
static const struct k_case k_cases[] = {
    {0.05, INFINITY, 1.64485362695147}, {0.01, INFINITY, 2.32634787404084},
    {0.05, 1, 6.31375151467504},        {0.05, 5, 2.01504837333302},
    {0.05, 12.5, 1.77636622124703},     {0.01, 40, 2.42325677933486},
    {0.05, 7040, 1.64507010009079},     {0.05, 1e8, 1.64485364218916},
    {0.05, 1e300, 1.64485362695147},
};

#define K_CASES (int)(sizeof k_cases / sizeof *k_cases)

START_TEST(qt_is_met)
{
    const struct k_case *c = &k_cases[_i];
    struct vb_guard g;
    ck_assert_int_eq(vb_guard_judge(0.25, 0.01, c->df, 0.2, 0.3, c->risk, &g), VB_OK);
    ck_assert_double_eq_tol(g.band, 0.01 * c->k, 1e-12 * 0.01 * c->k);
}
END_TEST

/* ISO 14253-1:2017 rounds the factor to 1.65. */
START_TEST(iso_factor_is_met)
{
    struct vb_guard g;
    ck_assert_int_eq(vb_guard_judge(0.25, 1, INFINITY, 0.2, 0.3, VB_GUARD_RISK, &g),
                     VB_OK);
    ck_assert_double_eq_tol(g.band, 1.65, 0.0052);
}
END_TEST

struct verdict_case {
    double value, lower, upper;
    enum vb_verdict verdict;
    int at;
};

/* u = 1 with infinite df at 5 %: the band is 1.645 wide. Limits 10 and 20. */
static const struct verdict_case verdict_cases[] = {
    {15, 10, 20, VB_VERDICT_IN, 0},
    {11.65, 10, 20, VB_VERDICT_IN, 0},
    {11.64, 10, 20, VB_VERDICT_CLOSE, -1},
    {10, 10, 20, VB_VERDICT_CLOSE, -1},
    {8.36, 10, 20, VB_VERDICT_CLOSE, -1},
    {8.35, 10, 20, VB_VERDICT_OUT, -1},
    {18.35, 10, 20, VB_VERDICT_IN, 0},
    {18.36, 10, 20, VB_VERDICT_CLOSE, 1},
    {20, 10, 20, VB_VERDICT_CLOSE, 1},
    {21.64, 10, 20, VB_VERDICT_CLOSE, 1},
    {21.65, 10, 20, VB_VERDICT_OUT, 1},
    {-99, 10, 20, VB_VERDICT_OUT, -1},
    // one limit only
    {11.65, 10, NAN, VB_VERDICT_IN, 0},
    {11.64, 10, NAN, VB_VERDICT_CLOSE, -1},
    {8.35, 10, NAN, VB_VERDICT_OUT, -1},
    {999, 10, NAN, VB_VERDICT_IN, 0},
    {18.35, NAN, 20, VB_VERDICT_IN, 0},
    {18.36, NAN, 20, VB_VERDICT_CLOSE, 1},
    {21.65, NAN, 20, VB_VERDICT_OUT, 1},
    {-999, NAN, 20, VB_VERDICT_IN, 0},
    // a window narrower than two bands has no inside
    {11, 10, 13, VB_VERDICT_CLOSE, -1},
    {12, 10, 13, VB_VERDICT_CLOSE, 1},
    {11.5, 10, 13, VB_VERDICT_CLOSE, -1},
    {8.35, 10, 13, VB_VERDICT_OUT, -1},
    {10, 10, 10, VB_VERDICT_CLOSE, -1},
};

#define VERDICT_CASES (int)(sizeof verdict_cases / sizeof *verdict_cases)

START_TEST(verdicts)
{
    const struct verdict_case *c = &verdict_cases[_i];
    struct vb_guard g;
    ck_assert_int_eq(
        vb_guard_judge(c->value, 1, INFINITY, c->lower, c->upper, VB_GUARD_RISK, &g),
        VB_OK);
    ck_assert_int_eq(g.verdict, c->verdict);
    ck_assert_int_eq(g.at, c->at);
}
END_TEST

/* Without uncertainty nothing is too close, and a limit belongs to the inside. */
START_TEST(exact_values_are_in_or_out)
{
    const double x[] = {9.999, 10, 15, 20, 20.001};
    const int in[] = {0, 1, 1, 1, 0};
    struct vb_guard g;
    for (size_t i = 0; i < 5; i++) {
        ck_assert_int_eq(vb_guard_judge(x[i], 0, 5, 10, 20, VB_GUARD_RISK, &g), VB_OK);
        ck_assert_int_eq(g.verdict, in[i] ? VB_VERDICT_IN : VB_VERDICT_OUT);
        ck_assert(g.band == 0);
    }
}
END_TEST

/* A full band inside the limit is in; a full band outside is not yet out. */
START_TEST(edges_of_the_band)
{
    struct vb_guard g;
    ck_assert_int_eq(vb_guard_judge(0, 1, 7, 0, NAN, VB_GUARD_RISK, &g), VB_OK);
    double band = g.band;
    ck_assert_int_eq(vb_guard_judge(band, 1, 7, 0, NAN, VB_GUARD_RISK, &g), VB_OK);
    ck_assert_int_eq(g.verdict, VB_VERDICT_IN);
    ck_assert_int_eq(vb_guard_judge(-band, 1, 7, 0, NAN, VB_GUARD_RISK, &g), VB_OK);
    ck_assert_int_eq(g.verdict, VB_VERDICT_CLOSE);
}
END_TEST

/* More uncertainty, fewer degrees of freedom or less risk never turn a doubt into more.
 */
START_TEST(doubt_only_spreads)
{
    const double df[] = {INFINITY, 20, 3, 1}, risk[] = {0.5, 0.1, 0.05, 0.001};
    for (double x = 8; x <= 22; x += 0.125) {
        for (int d = 1; d < 4; d++) {
            struct vb_guard a, b, c, e;
            ck_assert_int_eq(vb_guard_judge(x, 0.5, df[d - 1], 10, 20, 0.05, &a), VB_OK);
            ck_assert_int_eq(vb_guard_judge(x, 0.5, df[d], 10, 20, 0.05, &b), VB_OK);
            ck_assert_int_eq(vb_guard_judge(x, 0.5, 9, 10, 20, risk[d - 1], &c), VB_OK);
            ck_assert_int_eq(vb_guard_judge(x, 0.5, 9, 10, 20, risk[d], &e), VB_OK);
            ck_assert(a.band < b.band && c.band < e.band);
            ck_assert(b.verdict == a.verdict || b.verdict == VB_VERDICT_CLOSE);
            ck_assert(e.verdict == c.verdict || e.verdict == VB_VERDICT_CLOSE);
        }
    }
}
END_TEST

static void
refused(double value, double u, double df, double lower, double upper, double risk)
{
    struct vb_guard g = {VB_VERDICT_OUT, 77, 5};
    ck_assert_int_eq(vb_guard_judge(value, u, df, lower, upper, risk, &g), VB_EDOM);
    ck_assert(g.verdict == VB_VERDICT_OUT && g.band == 77 && g.at == 5);
}

START_TEST(judge_refuses)
{
    const double bad[] = {NAN, INFINITY, -INFINITY};
    for (int k = 0; k < 3; k++) {
        refused(bad[k], 1, 5, 10, 20, 0.05);
        refused(15, bad[k], 5, 10, 20, 0.05);
        refused(15, 1, 5, 10, 20, bad[k]);
        if (k > 0) {
            refused(15, 1, 5, bad[k], 20, 0.05);
            refused(15, 1, 5, 10, bad[k], 0.05);
        }
    }
    refused(15, -1, 5, 10, 20, 0.05);
    refused(15, 1, 0, 10, 20, 0.05);
    refused(15, 1, -INFINITY, 10, 20, 0.05);
    refused(15, 1, NAN, 10, 20, 0.05);
    refused(15, 1, 5, NAN, NAN, 0.05);
    refused(15, 1, 5, 20, 10, 0.05);
    refused(15, 1, 5, 10, 20, 0);
    refused(15, 1, 5, 10, 20, 0.51);
    refused(15, 1e308, 1, 10, 20, 0.05);
}
END_TEST

/* --- growth ------------------------------------------------------------------------ */

/*
 * By hand, with Callister's coefficients (table B.6), cam over bucket: a cast aluminium
 * head, 120 mm from seat to cam axis, opens the gap; 80.7 mm of stainless 304 valve, 20
 * mm of steel 1020 bucket and shim and 19 mm of grey iron base circle close it. At 20 Cel
 * the loop leaves 120 - 119.7 = 0.3 mm of lash. 120 x 21.5 - 80.7 x 17.2 - 20 x 11.7 - 19
 * x 11.4 = 2580 - 1388.04 - 234 - 216.6 = 741.36 nm/Cel
 */
static const struct vb_link stack[] = {
    {120, 21.5e-6, 1}, {80.7, 17.2e-6, -1}, {20, 11.7e-6, -1}, {19, 11.4e-6, -1}};

START_TEST(stack_by_hand)
{
    double g, loop = 0;
    ck_assert_int_eq(vb_growth(stack, 4, &g), VB_OK);
    ck_assert_double_eq_tol(g, 741.36e-6, 1e-17);
    for (int i = 0; i < 4; i++)
        loop += stack[i].sign * stack[i].length;
    ck_assert_double_eq_tol(loop, 0.3, 1e-12);
    // At 80 Cel, 60 above reference, the gap is 0.0444816 mm wider.
    ck_assert_double_eq_tol(vb_growth_taken_out(0.3444816, g, 80), 0.3, 1e-15);
    ck_assert_double_eq_tol(vb_growth_taken_out(0.3, g, 0), 0.3148272, 1e-15);
    ck_assert(vb_growth_taken_out(0.3, g, 20) == 0.3);
    ck_assert(vb_growth_taken_out(0.3, g, NAN) == 0.3);
}
END_TEST

/* All of one metal, a loop grows by alpha times its lash; the lengths themselves agree.
 */
START_TEST(one_metal_grows_as_its_lash)
{
    const struct vb_link iron[] = {{350, 11.4e-6, 1}, {349.7, 11.4e-6, -1}};
    double g, back;
    ck_assert_int_eq(vb_growth(iron, 2, &g), VB_OK);
    ck_assert_double_eq_tol(g, 11.4e-6 * 0.3, 1e-17);

    // By the lengths at 120 Cel, worked out one by one.
    double warm = 0;
    ck_assert_int_eq(vb_growth(stack, 4, &g), VB_OK);
    for (int i = 0; i < 4; i++)
        warm += stack[i].sign * stack[i].length * (1 + 100 * stack[i].alpha);
    ck_assert_double_eq_tol(vb_growth_taken_out(warm, g, 120), 0.3, 1e-12);

    const struct vb_link turned[] = {stack[3], stack[1], stack[0], stack[2]};
    ck_assert_int_eq(vb_growth(turned, 4, &back), VB_OK);
    ck_assert_double_eq_tol(back, g, 1e-17);
}
END_TEST

START_TEST(growth_refuses)
{
    const struct vb_link bad[] = {{0, 1e-5, 1},      {-1, 1e-5, 1},       {NAN, 1e-5, 1},
                                  {10, 11.7, 1},     {10, -11.7, 1},      {10, NAN, 1},
                                  {10, INFINITY, 1}, {INFINITY, 1e-5, 1}, {10, 1e-5, 0},
                                  {10, 1e-5, 2},     {10, 1e-5, -2}};
    double g = 7;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        const struct vb_link l[] = {stack[0], bad[i]};
        ck_assert_int_eq(vb_growth(l, 2, &g), VB_EDOM);
        ck_assert_int_eq(vb_growth(&bad[i], 1, &g), VB_EDOM);
    }
    ck_assert_int_eq(vb_growth(stack, 0, &g), VB_EDOM);
    ck_assert(g == 7);
    // Some alloys shrink a little.
    ck_assert_int_eq(vb_growth(&(struct vb_link){10, -1e-7, 1}, 1, &g), VB_OK);
    ck_assert_double_eq_tol(g, -1e-6, 1e-20);
}
END_TEST

/* 120 mm of 21.5e-6/Cel less 98 mm of 11.7e-6/Cel: 0.00258 - 0.0011466 mm/Cel. */
START_TEST(a_stack_is_read)
{
    double g;
    ck_assert_int_eq(vb_stack_growth("+120x21.5 -98x11.7", &g), VB_OK);
    ck_assert_double_eq_tol(g, 0.0014334, 1e-15);
    ck_assert_int_eq(vb_stack_growth("  -98x11.7+120x21.5 ", &g), VB_OK);
    ck_assert_double_eq_tol(g, 0.0014334, 1e-15);
    // 16 links
    ck_assert_int_eq(vb_stack_growth("+1x1+1x1+1x1+1x1+1x1+1x1+1x1+1x1"
                                     "+1x1+1x1+1x1+1x1+1x1+1x1+1x1+1x1",
                                     &g),
                     VB_OK);
    ck_assert_double_eq_tol(g, 16e-6, 1e-18);
}
END_TEST

START_TEST(no_stack)
{
    static const char *const bad[] = {
        "",
        " ",
        "120x21.5",
        "+",
        "+x21.5",
        "+120",
        "+120y21.5",
        "+120x",
        "+120x21.5 98x1",
        "+1x1+1x1+1x1+1x1+1x1+1x1+1x1+1x1+1x1+1x1+1x1+1x1+1x1+1x1+1x1+1x1+1x1"};
    double g = 7;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        ck_assert_msg(vb_stack_growth(bad[i], &g) == VB_ESYNTAX, "'%s'", bad[i]);
    ck_assert_int_eq(vb_stack_growth("+0x21.5", &g), VB_EDOM);
    ck_assert(g == 7);
}
END_TEST

static Suite *
guard_suite(void)
{
    Suite *s = suite_create("guard");
    TCase *t = tcase_create("verdict");
    tcase_add_loop_test(t, qt_is_met, 0, K_CASES);
    tcase_add_test(t, iso_factor_is_met);
    tcase_add_loop_test(t, verdicts, 0, VERDICT_CASES);
    tcase_add_test(t, exact_values_are_in_or_out);
    tcase_add_test(t, edges_of_the_band);
    tcase_add_test(t, doubt_only_spreads);
    tcase_add_test(t, judge_refuses);
    suite_add_tcase(s, t);

    t = tcase_create("growth");
    tcase_add_test(t, stack_by_hand);
    tcase_add_test(t, one_metal_grows_as_its_lash);
    tcase_add_test(t, growth_refuses);
    tcase_add_test(t, a_stack_is_read);
    tcase_add_test(t, no_stack);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(guard_suite());
}
