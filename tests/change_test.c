#include "suite.h"
#include "valvebook/change.h"
#include "valvebook/start.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

/* A published figure: half a unit of its last digit. */
#define PRINTED(got, want, last) ck_assert_double_eq_tol((got), (want), 0.5001 * (last))

static FILE *
open_reference(const char *name)
{
    char line[80];
    FILE *f = fopen(name, "r");
    ck_assert_msg(f != NULL, "run from the root of the repository");
    ck_assert_ptr_nonnull(fgets(line, sizeof line, f));
    return f;
}

static const double no_number[] = {NAN, INFINITY, -INFINITY};

/* --- step -------------------------------------------------------------------------- */

struct step_case {
    double t, df, p;
};

/* R 4.2.2: sprintf("%.15g", 2 * pt(-abs(t), df)), and pnorm where df is infinite. */
static const struct step_case step_cases[] = {
    {3, 1, 0.204832764699133},           {-3, 5, 0.0300992478974626},
    {3, 12.5, 0.0106328115098966},       {3, 31, 0.00528874668899135},
    {-3, 40, 0.00463013978415614},       {1.5, 100, 0.136765058124689},
    {2.5, 7040, 0.0124419024250137},     {3, INFINITY, 0.00269979606326019},
    {-3, INFINITY, 0.00269979606326019}, {3, 1e8, 0.00269979672803749},
    {3, 1e300, 0.00269979606326019},
};

#define STEP_CASES (int)(sizeof step_cases / sizeof *step_cases)

/* The variances are a forecast's and a reading's in the proportion 1 to 3; 0.25 mm. */
START_TEST(pt_is_met)
{
    const struct step_case *c = &step_cases[_i];
    double v = 1e-4;
    struct vb_step s;
    ck_assert_int_eq(
        vb_step_test(0.25 + c->t * 0.02, 0.25, v, 3 * v, c->df, VB_STEP_ALPHA, &s),
        VB_OK);
    ck_assert_double_eq_tol(s.t, c->t, 1e-14 * 3);
    // t is rounded to 1e-14, and p falls by less than ten times as much, relatively.
    ck_assert_double_eq_tol(vb_step_p(&s), c->p, 1e-12 * c->p);
    ck_assert_int_eq(s.step, c->p < 0.0027);
}
END_TEST

START_TEST(alpha_is_the_bar)
{
    struct vb_step s;
    // Normal, two-sided: 0.0027 is at 2.99998, 0.05 at 1.95996.
    ck_assert_int_eq(vb_step_test(2.9999, 0, 1, 0, INFINITY, VB_STEP_ALPHA, &s), VB_OK);
    ck_assert_int_eq(s.step, 0);
    ck_assert_int_eq(vb_step_test(-3, 0, 0, 1, INFINITY, VB_STEP_ALPHA, &s), VB_OK);
    ck_assert_int_eq(s.step, 1);
    ck_assert_int_eq(vb_step_test(1.959, 0, 0.5, 0.5, INFINITY, 0.05, &s), VB_OK);
    ck_assert_int_eq(s.step, 0);
    ck_assert_int_eq(vb_step_test(1.961, 0, 0.5, 0.5, INFINITY, 0.05, &s), VB_OK);
    ck_assert_int_eq(s.step, 1);
    ck_assert_int_eq(vb_step_test(0.3, 0.3, 0.5, 0.5, 4, 0.05, &s), VB_OK);
    ck_assert(s.t == 0 && !s.step);
    ck_assert_double_eq_tol(vb_step_p(&s), 1, 1e-15);
}
END_TEST

/* What decides that a reading is no step, without its p, is only quicker. */
START_TEST(a_step_is_what_its_p_says)
{
    int steps = 0;
    for (double df = 1; df < 1e12; df *= 1.7)
        for (double t = -6; t <= 6; t += 0.01)
            for (double alpha = 0.00027; alpha < 0.5; alpha *= 10) {
                struct vb_step s;
                ck_assert_int_eq(vb_step_test(t, 0, 1, 0, df, alpha, &s), VB_OK);
                ck_assert_msg(s.step == (vb_step_p(&s) < alpha), "t %g, df %g, alpha %g",
                              t, df, alpha);
                steps += s.step;
            }
    ck_assert_int_gt(steps, 10000);
    struct vb_step none = {NAN, NAN, 0};
    ck_assert_double_nan(vb_step_p(&none));
}
END_TEST

START_TEST(step_refuses)
{
    struct vb_step s = {.t = 77};
    for (int k = 0; k < 3; k++) {
        double x = no_number[k];
        ck_assert_int_eq(vb_step_test(x, 0, 1, 1, 5, 0.05, &s), VB_EDOM);
        ck_assert_int_eq(vb_step_test(0, x, 1, 1, 5, 0.05, &s), VB_EDOM);
        ck_assert_int_eq(vb_step_test(0, 0, x, 1, 5, 0.05, &s), VB_EDOM);
        ck_assert_int_eq(vb_step_test(0, 0, 1, x, 5, 0.05, &s), VB_EDOM);
    }
    const double df[] = {NAN, 0, -1, -INFINITY}, alpha[] = {NAN, 0, 1, -0.1};
    for (int k = 0; k < 4; k++) {
        ck_assert_int_eq(vb_step_test(0, 0, 1, 1, df[k], 0.05, &s), VB_EDOM);
        ck_assert_int_eq(vb_step_test(0, 0, 1, 1, 5, alpha[k], &s), VB_EDOM);
    }
    ck_assert_int_eq(vb_step_test(1, 0, -1, 2, 5, 0.05, &s), VB_EDOM);
    ck_assert_int_eq(vb_step_test(1, 0, 2, -1, 5, 0.05, &s), VB_EDOM);
    ck_assert_int_eq(vb_step_test(1, 0, 0, 0, 5, 0.05, &s), VB_EDOM);
    ck_assert_int_eq(vb_step_test(1, 0, 1e308, 1e308, 5, 0.05, &s), VB_EDOM);
    ck_assert_int_eq(vb_step_test(1e308, -1e308, 1, 1, 5, 0.05, &s), VB_EDOM);
    ck_assert(s.t == 77);
    // where GSL has no t distribution, of the least number above 0, nothing is a step
    ck_assert_int_eq(vb_step_test(1, 0, 1, 0, 5e-324, 0.05, &s), VB_OK);
    ck_assert(vb_step_p(&s) == 1 && !s.step);
}
END_TEST

/* --- CUSUM ------------------------------------------------------------------------- */

#define GROUPS 20

static double group[GROUPS], hi[GROUPS], lo[GROUPS];
static const struct vb_cusum_plan handbook = {325, 1, 0.3175, 4.1959};

/* NIST/SEMATECH e-Handbook 6.3.2.3: 20 group means and both sums, four decimals. */
static void
read_cusum(double *upper, double *lower)
{
    FILE *f = open_reference("fixtures/reference/nist_cusum_6323.csv");
    char line[80];
    for (size_t i = 0; i < GROUPS; i++) {
        ck_assert_ptr_nonnull(fgets(line, sizeof line, f));
        ck_assert_int_eq(
            sscanf(line, "%*d,%lf,%*f,%lf,%lf", &group[i], &upper[i], &lower[i]), 3);
    }
    fclose(f);
}

START_TEST(handbook_cusum_is_met)
{
    double upper[GROUPS], lower[GROUPS];
    size_t first;
    read_cusum(upper, lower);
    ck_assert_int_eq(vb_cusum(group, GROUPS, &handbook, hi, lo, &first), VB_OK);
    // All figures are exact decimals; the means are rounded to 6e-14.
    for (size_t i = 0; i < GROUPS; i++) {
        ck_assert_double_eq_tol(hi[i], upper[i], 1e-11);
        ck_assert_double_eq_tol(lo[i], lower[i], 1e-11);
    }
    ck_assert_uint_eq(first + 1, 14);
}
END_TEST

/* sd is the unit of k and h; mirrored, the sums change places. */
START_TEST(cusum_unit_and_mirror)
{
    const struct vb_cusum_plan half = {325, 0.5, 2 * 0.3175, 2 * 4.1959};
    struct vb_cusum_plan mirror = {-325, 1, 0.3175, 4.1959};
    double upper[GROUPS], lower[GROUPS];
    size_t first;
    read_cusum(upper, lower);
    ck_assert_int_eq(vb_cusum(group, GROUPS, &half, hi, lo, &first), VB_OK);
    ck_assert_uint_eq(first, 13);
    for (size_t i = 0; i < GROUPS; i++) {
        ck_assert_double_eq_tol(hi[i], 2 * upper[i], 1e-11);
        ck_assert_double_eq_tol(lo[i], 2 * lower[i], 1e-11);
        group[i] = -group[i];
    }
    ck_assert_int_eq(vb_cusum(group, GROUPS, &mirror, hi, lo, &first), VB_OK);
    ck_assert_uint_eq(first, 13);
    for (size_t i = 0; i < GROUPS; i++) {
        ck_assert_double_eq_tol(hi[i], lower[i], 1e-11);
        ck_assert_double_eq_tol(lo[i], upper[i], 1e-11);
    }
    mirror.h = 20;
    ck_assert_int_eq(vb_cusum(group, GROUPS, &mirror, hi, lo, &first), VB_OK);
    ck_assert_uint_eq(first, GROUPS);
}
END_TEST

/* k = 0.5, h = 5: a sum of exactly 5 is no signal yet, and none resets the sums. */
START_TEST(cusum_signal_and_reset)
{
    const double x[] = {3, 3, 0.5, 0.75, -9, -1, -1};
    const double up[] = {2.5, 5, 5, 5.25, 0, 0, 0};
    const double down[] = {0, 0, 0, 0, 8.5, 9, 9.5};
    const struct vb_cusum_plan plan = {0, 1, 0.5, 5};
    size_t first;
    ck_assert_int_eq(vb_cusum(x, 7, &plan, hi, lo, &first), VB_OK);
    ck_assert_uint_eq(first, 3);
    ck_assert_mem_eq(hi, up, sizeof up);
    ck_assert_mem_eq(lo, down, sizeof down);
    ck_assert_int_eq(vb_cusum(x, 3, &plan, hi, lo, &first), VB_OK);
    ck_assert_uint_eq(first, 3);
    ck_assert_int_eq(vb_cusum(x + 4, 3, &plan, hi, lo, &first), VB_OK);
    ck_assert_uint_eq(first, 0);
}
END_TEST

static void
cusum_refused(const double *x, size_t n, struct vb_cusum_plan plan)
{
    size_t first = 77;
    hi[0] = lo[0] = 5;
    ck_assert_int_eq(vb_cusum(x, n, &plan, hi, lo, &first), VB_EDOM);
    ck_assert(first == 77 && hi[0] == 5 && lo[0] == 5);
}

START_TEST(cusum_refuses)
{
    const struct vb_cusum_plan good = {0, 1, 0.5, 5};
    const double x[] = {1, 2, 3}, far[] = {1, 1e308, 1e308};
    cusum_refused(x, 0, good);
    cusum_refused(far, 3, good);
    cusum_refused((const double[]){-1e308, -1e308}, 2, good); // the other way
    for (int k = 0; k < 3; k++) {
        double bad[] = {1, no_number[k], 3};
        cusum_refused(bad, 3, good);
        for (int member = 0; member < 4; member++) {
            struct vb_cusum_plan p = good;
            double *all[] = {&p.target, &p.sd, &p.k, &p.h};
            *all[member] = no_number[k];
            cusum_refused(x, 3, p);
        }
    }
    cusum_refused(x, 3, (struct vb_cusum_plan){0, 0, 0.5, 5});
    cusum_refused(x, 3, (struct vb_cusum_plan){0, -1, 0.5, 5});
    cusum_refused(x, 3, (struct vb_cusum_plan){0, 1, -0.5, 5});
    cusum_refused(x, 3, (struct vb_cusum_plan){0, 1, 0.5, 0});
}
END_TEST

/* --- EWMA -------------------------------------------------------------------------- */

static double z[GROUPS];
static const struct vb_ewma_plan ewma_handbook = {50, 2.0539, 0.3, 3, 0};

/*
 * NIST/SEMATECH e-Handbook 6.3.2.4: lambda 0.3, standard deviation 2.0539, averages to
 * two decimals, no signal. The file has them with all digits beside the print. The limits
 * are printed as 52.5884 and 47.4115, which are not alike far from 50: the second is cut.
 */
START_TEST(handbook_ewma_is_met)
{
    FILE *f = open_reference("fixtures/reference/nist_ewma_6324.csv");
    double want[GROUPS], printed[GROUPS], lower, upper;
    char line[80];
    size_t first;
    for (size_t i = 0; i < GROUPS; i++) {
        ck_assert_ptr_nonnull(fgets(line, sizeof line, f));
        ck_assert_int_eq(
            sscanf(line, "%*d,%lf,%lf,%lf", &group[i], &want[i], &printed[i]), 3);
    }
    fclose(f);
    ck_assert_int_eq(vb_ewma(group, GROUPS, &ewma_handbook, z, &first), VB_OK);
    for (size_t i = 0; i < GROUPS; i++) {
        PRINTED(z[i], printed[i], 1e-2);
        PRINTED(z[i], want[i], 1e-10); // the file's last digit
    }
    ck_assert_uint_eq(first, GROUPS);
    ck_assert_int_eq(vb_ewma_limits(&ewma_handbook, 1, &lower, &upper), VB_OK);
    PRINTED(upper, 52.5884, 1e-4);
    ck_assert(lower >= 47.4115 && lower < 47.4116);
    ck_assert_double_eq_tol(upper - 50, 3 * 2.0539 * sqrt(0.3 / 1.7), 1e-14 * 50);
}
END_TEST

/* The first average is lambda x + ..., so its own limits are L sd lambda. */
START_TEST(exact_limits_grow_to_the_long_run)
{
    struct vb_ewma_plan plan = ewma_handbook;
    double lower, upper, last = 0, share = 0;
    plan.exact = 1;
    for (size_t i = 1; i <= 60; i++) {
        // Variance of the average in units of sd^2, step by step.
        share = 0.3 * 0.3 + 0.7 * 0.7 * share;
        ck_assert_int_eq(vb_ewma_limits(&plan, i, &lower, &upper), VB_OK);
        ck_assert_double_eq_tol(upper, 50 + 3 * 2.0539 * sqrt(share), 1e-13);
        ck_assert_double_eq_tol(lower, 50 - 3 * 2.0539 * sqrt(share), 1e-13);
        ck_assert(upper >= last);
        last = upper;
    }
    plan.exact = 0;
    ck_assert_int_eq(vb_ewma_limits(&plan, 1, &lower, &upper), VB_OK);
    ck_assert_double_eq_tol(upper, last, 1e-13);
}
END_TEST

/*
 * 42 puts the first average at 47.6: inside the limits of the long run (47.41), outside
 * those of its own step (50 - 3 x 2.0539 x 0.3 = 48.15).
 */
START_TEST(ewma_signals)
{
    const double x[] = {50, 50, 61, 50}, low[] = {42, 50, 50, 50, 50, 50};
    struct vb_ewma_plan plan = ewma_handbook;
    size_t first;
    ck_assert_int_eq(vb_ewma(x, 4, &plan, z, &first), VB_OK);
    ck_assert_uint_eq(first, 2);
    ck_assert_double_eq_tol(z[2], 53.3, 1e-13);
    ck_assert_double_eq_tol(z[3], 52.31, 1e-13);
    ck_assert_int_eq(vb_ewma(low, 6, &plan, z, &first), VB_OK);
    ck_assert_uint_eq(first, 6);
    plan.exact = 1;
    ck_assert_int_eq(vb_ewma(low, 6, &plan, z, &first), VB_OK);
    ck_assert_uint_eq(first, 0);
    // lambda = 1 is the value itself, against L sd, from the first step.
    plan.lambda = 1;
    ck_assert_int_eq(vb_ewma(x, 4, &plan, z, &first), VB_OK);
    ck_assert_uint_eq(first, 2);
    ck_assert_mem_eq(z, x, sizeof x);
}
END_TEST

static void
ewma_refused(const double *x, size_t n, struct vb_ewma_plan plan)
{
    size_t first = 77;
    z[0] = 5;
    ck_assert_int_eq(vb_ewma(x, n, &plan, z, &first), VB_EDOM);
    ck_assert(first == 77 && z[0] == 5);
}

START_TEST(ewma_refuses)
{
    const double x[] = {1, 2, 3};
    double lower = 7, upper = 8;
    for (int exact = 0; exact < 2; exact++) {
        const struct vb_ewma_plan good = {0, 1, 0.3, 3, exact};
        ewma_refused(x, 0, good);
        for (int k = 0; k < 3; k++) {
            double bad[] = {1, no_number[k], 3};
            ewma_refused(bad, 3, good);
            for (int member = 0; member < 4; member++) {
                struct vb_ewma_plan p = good;
                double *all[] = {&p.target, &p.sd, &p.lambda, &p.width};
                *all[member] = no_number[k];
                ewma_refused(x, 3, p);
            }
        }
        ewma_refused(x, 3, (struct vb_ewma_plan){0, 0, 0.3, 3, exact});
        ewma_refused(x, 3, (struct vb_ewma_plan){0, 1, 0, 3, exact});
        ewma_refused(x, 3, (struct vb_ewma_plan){0, 1, 1.01, 3, exact});
        ewma_refused(x, 3, (struct vb_ewma_plan){0, 1, 0.3, 0, exact});
        ewma_refused(x, 3, (struct vb_ewma_plan){0, 1e200, 0.3, 1e200, exact});
        // only the upper limit is beyond all numbers
        ewma_refused(x, 3, (struct vb_ewma_plan){1.7e308, 1e308, 1, 1, exact});
        ck_assert_int_eq(vb_ewma_limits(&good, 0, &lower, &upper), VB_EDOM);
    }
    ck_assert(lower == 7 && upper == 8);
}
END_TEST

/* --- Mann-Kendall ------------------------------------------------------------------ */

/*
 * EPA 530/R-09-007 example 17-6: S 194, z 5.107322; three ties, of 2, 3 and 2. R 4.2.2
 * has the same with all digits: cor.test(1:n, x, method = "kendall", exact = FALSE,
 * continuity = TRUE).
 */
START_TEST(epa_example_17_6)
{
    FILE *f = open_reference("fixtures/reference/epa_ug_ex17_6.csv");
    char line[100];
    double x[30], turned[30];
    size_t n = 0;
    struct vb_trend r;
    while (n < 30 && fgets(line, sizeof line, f))
        x[n++] = strtod(strrchr(line, ',') + 1, NULL);
    fclose(f);
    ck_assert_uint_eq(n, 23);
    ck_assert_int_eq(vb_mann_kendall(x, n, &r), VB_OK);
    ck_assert_int_eq(r.s, 194);
    ck_assert(r.var == 1428);
    PRINTED(r.z, 5.107322, 1e-6);
    ck_assert_double_eq_tol(r.z, 5.10732159684089, 1e-13);
    ck_assert_double_eq_tol(r.p, 3.26757357071794e-07, 1e-12 * 3.3e-7);
    for (size_t i = 0; i < n; i++)
        turned[i] = 4 - x[n - 1 - i] * x[n - 1 - i]; // turned twice, bent once: rises
    ck_assert_int_eq(vb_mann_kendall(turned, n, &r), VB_OK);
    ck_assert_int_eq(r.s, 194);
    for (size_t i = 0; i < n; i++)
        turned[i] = -x[i];
    ck_assert_int_eq(vb_mann_kendall(turned, n, &r), VB_OK);
    ck_assert_int_eq(r.s, -194);
    ck_assert_double_eq_tol(r.z, -5.10732159684089, 1e-13);
    ck_assert_double_eq_tol(r.p, 3.26757357071794e-07, 1e-12 * 3.3e-7);
}
END_TEST

/*
 * The variance is that over all orders of the same values: every one of 5! orders, the
 * tied values told apart, has its S, and the mean of S^2 is var.
 */
START_TEST(variance_by_brute_force)
{
    const double values[][5] = {{1, 2, 3, 4, 5},
                                {1, 2, 2, 4, 5},
                                {1, 2, 2, 4, 4},
                                {1, 1, 1, 4, 5},
                                {3, 3, 3, 3, 4}};
    const double *v = values[_i];
    struct vb_trend r;
    double sum = 0, ss = 0;
    int orders = 0;
    for (int code = 0; code < 3125; code++) {
        double x[5];
        int used = 0;
        for (int i = 0, c = code; i < 5; i++, c /= 5) {
            used |= 1 << c % 5;
            x[i] = v[c % 5];
        }
        if (used != 31)
            continue;
        ck_assert_int_eq(vb_mann_kendall(x, 5, &r), VB_OK);
        sum += (double)r.s;
        ss += (double)(r.s * r.s);
        orders++;
    }
    ck_assert_int_eq(orders, 120);
    ck_assert(sum == 0);
    ck_assert_double_eq_tol(r.var, ss / 120, 1e-13);
}
END_TEST

START_TEST(trend_of_nothing)
{
    const double same[] = {2, 2, 2}, two[] = {1, 2}, vee[] = {2, 1, 2};
    struct vb_trend r;
    ck_assert_int_eq(vb_mann_kendall(same, 3, &r), VB_OK);
    ck_assert(r.s == 0 && r.var == 0 && r.z == 0 && r.p == 1);
    ck_assert_int_eq(vb_mann_kendall(vee, 3, &r), VB_OK);
    ck_assert(r.s == 0 && r.var > 0 && r.z == 0 && r.p == 1);
    ck_assert_int_eq(vb_mann_kendall(two, 2, &r), VB_OK);
    ck_assert(r.s == 1 && r.var == 1 && r.z == 0 && r.p == 1);
}
END_TEST

START_TEST(trend_refuses)
{
    struct vb_trend r = {.s = 77};
    for (int k = 0; k < 3; k++) {
        double bad[] = {1, 2, no_number[k]};
        ck_assert_int_eq(vb_mann_kendall(bad, 3, &r), VB_EDOM);
        ck_assert_int_eq(vb_mann_kendall(bad, (size_t)k % 2, &r), VB_EDOM);
        ck_assert_int_eq(vb_mann_kendall(bad, SIZE_MAX, &r), VB_EMEM);
    }
    ck_assert(r.s == 77);
}
END_TEST

static Suite *
change_suite(void)
{
    Suite *s = suite_create("change");
    TCase *t = tcase_create("step");
    tcase_add_loop_test(t, pt_is_met, 0, STEP_CASES);
    tcase_add_test(t, alpha_is_the_bar);
    tcase_add_test(t, a_step_is_what_its_p_says);
    tcase_add_test(t, step_refuses);
    suite_add_tcase(s, t);

    t = tcase_create("cusum");
    tcase_add_test(t, handbook_cusum_is_met);
    tcase_add_test(t, cusum_unit_and_mirror);
    tcase_add_test(t, cusum_signal_and_reset);
    tcase_add_test(t, cusum_refuses);
    suite_add_tcase(s, t);

    t = tcase_create("ewma");
    tcase_add_test(t, handbook_ewma_is_met);
    tcase_add_test(t, exact_limits_grow_to_the_long_run);
    tcase_add_test(t, ewma_signals);
    tcase_add_test(t, ewma_refuses);
    suite_add_tcase(s, t);

    t = tcase_create("trend");
    tcase_add_test(t, epa_example_17_6);
    tcase_add_loop_test(t, variance_by_brute_force, 0, 5);
    tcase_add_test(t, trend_of_nothing);
    tcase_add_test(t, trend_refuses);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    vb_start(); // no GSL error ends the program
    return run_suite(change_suite());
}
