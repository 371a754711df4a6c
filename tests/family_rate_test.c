#include "suite.h"
#include "valvebook/family_rate.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

/* A published figure: half a unit of its last digit. */
#define PRINTED(got, want, last) ck_assert_double_eq_tol((got), (want), 0.5001 * (last))

#define BCG 13

static double yi[BCG], vi[BCG];

/* The last two columns of the BCG trials (R metadat dat.bcg): log risk ratio, variance.
 */
static void
read_bcg(void)
{
    FILE *f = fopen("fixtures/reference/bcg.csv", "r");
    ck_assert_msg(f != NULL, "run from the root of the repository");
    char line[160];
    size_t n = 0;
    ck_assert_ptr_nonnull(fgets(line, sizeof line, f));
    while (n < BCG && fgets(line, sizeof line, f)) {
        char *v = strrchr(line, ',');
        *v = 0;
        yi[n] = strtod(strrchr(line, ',') + 1, NULL);
        vi[n++] = strtod(v + 1, NULL);
    }
    fclose(f);
    ck_assert_uint_eq(n, BCG);
}

/* --- against a reference program --------------------------------------------------- */

/* R metafor 3.8-1, rma(yi, vi, method = "DL"), nine decimals (SOURCES). */
START_TEST(metafor_is_met)
{
    struct vb_family_rate f;
    ck_assert_int_eq(vb_family_rate_fit(yi, vi, BCG, &f), VB_OK);
    ck_assert_uint_eq(f.k, 13);
    PRINTED(f.mu, -0.714117222, 1e-9);
    PRINTED(sqrt(f.var_mu), 0.178742090, 1e-9);
    PRINTED(f.tau2, 0.308760263, 1e-9);
    PRINTED(f.q, 152.233008, 1e-6);
    ck_assert(f.df == 12);
    PRINTED(f.i2, 1 - 12 / 152.233008, 1e-8);
}
END_TEST

/*
 * By hand: rates 1, 3, 8 with variance 1 each. Mean 4, Q = 9 + 1 + 16 = 26, tau2 =
 * (26 - 2) / (3 - 1) = 12, var(mu) = 13 / 3, I2 = 24 / 26. For equal variances v + tau2
 * is the variance of the rates. Then 0 and 10: Q = 50, tau2 = 49, var(mu) = 25.
 */
START_TEST(by_hand)
{
    const double r[] = {1, 3, 8}, v[] = {1, 1, 1};
    struct vb_family_rate f;
    ck_assert_int_eq(vb_family_rate_fit(r, v, 3, &f), VB_OK);
    ck_assert_double_eq_tol(f.q, 26, 1e-13);
    ck_assert_double_eq_tol(f.tau2, 12, 1e-13);
    ck_assert_double_eq_tol(f.mu, 4, 1e-14);
    ck_assert_double_eq_tol(f.var_mu, 13.0 / 3, 1e-14);
    ck_assert_double_eq_tol(f.i2, 12.0 / 13, 1e-15);
    const double two[] = {0, 10};
    ck_assert_int_eq(vb_family_rate_fit(two, v, 2, &f), VB_OK);
    ck_assert(f.q == 50 && f.tau2 == 49 && f.i2 == 0.98);
    ck_assert_double_eq_tol(f.mu, 5, 1e-14);
    ck_assert_double_eq_tol(f.var_mu, 25, 1e-13);
}
END_TEST

/* --- properties -------------------------------------------------------------------- */

static void
near(const struct vb_family_rate *a, const struct vb_family_rate *b, double unit)
{
    ck_assert_uint_eq(a->k, b->k);
    ck_assert_double_eq_tol(a->q, b->q, 1e-12 * b->q);
    ck_assert_double_eq_tol(a->tau2, unit * unit * b->tau2, 1e-12 * unit * unit);
    ck_assert_double_eq_tol(a->mu, unit * b->mu, 1e-12 * unit);
    ck_assert_double_eq_tol(a->var_mu, unit * unit * b->var_mu, 1e-12 * unit * unit);
    ck_assert_double_eq_tol(a->i2, b->i2, 1e-12);
}

/* Any order, any unit; a valve without a rate is as if it were not there. */
START_TEST(order_unit_and_gaps_change_nothing)
{
    double r[BCG + 2], v[BCG + 2];
    struct vb_family_rate a, b;
    ck_assert_int_eq(vb_family_rate_fit(yi, vi, BCG, &a), VB_OK);
    for (size_t turn = 0; turn < BCG; turn++) {
        for (size_t i = 0; i < BCG; i++) {
            r[i + (i > 4)] = 1e-5 * yi[(5 * i + turn) % BCG];
            v[i + (i > 4)] = 1e-10 * vi[(5 * i + turn) % BCG];
        }
        r[5] = r[BCG + 1] = NAN;
        v[5] = -1;
        v[BCG + 1] = NAN;
        ck_assert_int_eq(vb_family_rate_fit(r, v, BCG + 2, &b), VB_OK);
        near(&b, &a, 1e-5);
    }
}
END_TEST

START_TEST(constant_moves_the_mean_only)
{
    double r[BCG];
    struct vb_family_rate a, b;
    ck_assert_int_eq(vb_family_rate_fit(yi, vi, BCG, &a), VB_OK);
    for (size_t i = 0; i < BCG; i++)
        r[i] = yi[i] + 3;
    ck_assert_int_eq(vb_family_rate_fit(r, vi, BCG, &b), VB_OK);
    ck_assert_double_eq_tol(b.mu, a.mu + 3, 1e-14 * 3);
    b.mu = a.mu;
    near(&b, &a, 1);
}
END_TEST

/* Rates that scatter less than their variances allow: tau2 = 0, the fixed-effect mean. */
START_TEST(no_scatter_gives_the_fixed_effect)
{
    const double r[] = {1.0, 1.5, 0.8}, v[] = {1, 4, 2};
    struct vb_family_rate f;
    ck_assert_int_eq(vb_family_rate_fit(r, v, 3, &f), VB_OK);
    ck_assert(f.tau2 == 0 && f.i2 == 0 && f.q > 0 && f.q < 2);
    ck_assert_double_eq_tol(f.mu, (1.0 + 1.5 / 4 + 0.8 / 2) / 1.75, 1e-15);
    ck_assert_double_eq_tol(f.var_mu, 1 / 1.75, 1e-15);
}
END_TEST

/* One rate may be known ever so much better than the rest: nothing cancels. */
START_TEST(one_weight_outweighs_all)
{
    const double r[] = {0, 3, -3, 4}, v[] = {1e-18, 1, 1, 1};
    struct vb_family_rate f;
    ck_assert_int_eq(vb_family_rate_fit(r, v, 4, &f), VB_OK);
    // Q = 34 and sum w - sum w^2 / sum w = 6, both to 1e-18.
    ck_assert_double_eq_tol(f.q, 34, 1e-12);
    ck_assert_double_eq_tol(f.tau2, 31.0 / 6, 1e-12);
}
END_TEST

/* --- one or none ------------------------------------------------------------------- */

START_TEST(one_rate_stands_for_itself)
{
    const double r[] = {NAN, -4e-5}, v[] = {NAN, 1e-12};
    struct vb_family_rate f;
    ck_assert_int_eq(vb_family_rate_fit(r, v, 2, &f), VB_OK);
    ck_assert_uint_eq(f.k, 1);
    ck_assert(f.q == 0 && f.df == 0 && f.tau2 == 0 && f.i2 == 0);
    ck_assert_double_eq_tol(f.mu, -4e-5, 1e-19);
    ck_assert_double_eq_tol(f.var_mu, 1e-12, 1e-26);
}
END_TEST

START_TEST(no_rate_says_nothing)
{
    const double r[] = {NAN}, v[] = {1};
    for (size_t n = 0; n < 2; n++) {
        struct vb_family_rate f = {.k = 9, .q = 9, .df = 9, .i2 = 9};
        double post = 1, post_var = 1;
        ck_assert_int_eq(vb_family_rate_fit(r, v, n, &f), VB_OK);
        ck_assert(f.k == 0 && f.q == 0 && f.df == 0 && f.i2 == 0);
        ck_assert(isnan(f.mu) && isnan(f.tau2) && isinf(f.var_mu));
        ck_assert_int_eq(vb_family_rate_posterior(&f, 3, 0.5, &post, &post_var), VB_OK);
        ck_assert(post == 3 && post_var == 0.5);
        ck_assert_int_eq(vb_family_rate_posterior(&f, NAN, 0, &post, &post_var), VB_OK);
        ck_assert(isnan(post) && isinf(post_var));
    }
}
END_TEST

/* Leaving one out is fitting the others; the index of nobody leaves out nobody. */
START_TEST(without_one)
{
    struct vb_family_rate a, b;
    for (size_t skip = 0; skip < BCG; skip++) {
        double r[BCG], v[BCG];
        size_t n = 0;
        for (size_t i = 0; i < BCG; i++) {
            if (i == skip)
                continue;
            r[n] = yi[i];
            v[n++] = vi[i];
        }
        ck_assert_int_eq(vb_family_rate_fit(r, v, n, &a), VB_OK);
        ck_assert_int_eq(vb_family_rate_without(yi, vi, BCG, skip, &b), VB_OK);
        near(&b, &a, 1);
    }
    ck_assert_int_eq(vb_family_rate_fit(yi, vi, BCG, &a), VB_OK);
    ck_assert_int_eq(vb_family_rate_without(yi, vi, BCG, SIZE_MAX, &b), VB_OK);
    near(&b, &a, 1);
}
END_TEST

/* --- posterior --------------------------------------------------------------------- */

/* By hand: mu 4, 12 + 13/3 = 49/3; rate 10 with variance 49/3: halfway. */
START_TEST(posterior_by_hand)
{
    const struct vb_family_rate f = {.k = 3, .tau2 = 12, .mu = 4, .var_mu = 13.0 / 3};
    double post, post_var;
    ck_assert_int_eq(vb_family_rate_posterior(&f, 10, 49.0 / 3, &post, &post_var), VB_OK);
    ck_assert_double_eq_tol(post, 7, 1e-14);
    ck_assert_double_eq_tol(post_var, 49.0 / 6, 1e-14);
    // A third of the variance: three quarters of the way.
    ck_assert_int_eq(vb_family_rate_posterior(&f, 10, 49.0 / 9, &post, &post_var), VB_OK);
    ck_assert_double_eq_tol(post, 8.5, 1e-14);
    ck_assert_double_eq_tol(post_var, 49.0 / 12, 1e-14);
    ck_assert_int_eq(vb_family_rate_posterior(&f, NAN, -1, &post, &post_var), VB_OK);
    ck_assert(post == 4);
    ck_assert_double_eq_tol(post_var, 49.0 / 3, 1e-14);
}
END_TEST

/* Between the valve's own and the family's, surer than both, by the precisions. */
START_TEST(posterior_lies_between)
{
    for (size_t i = 0; i < BCG; i++) {
        struct vb_family_rate f;
        double post, post_var;
        ck_assert_int_eq(vb_family_rate_without(yi, vi, BCG, i, &f), VB_OK);
        ck_assert_int_eq(vb_family_rate_posterior(&f, yi[i], vi[i], &post, &post_var),
                         VB_OK);
        double prior = f.tau2 + f.var_mu, w = 1 / vi[i] + 1 / prior;
        ck_assert(post > fmin(yi[i], f.mu) && post < fmax(yi[i], f.mu));
        ck_assert(post_var < vi[i] && post_var < prior);
        ck_assert_double_eq_tol(post, (yi[i] / vi[i] + f.mu / prior) / w, 1e-14);
        ck_assert_double_eq_tol(post_var, 1 / w, 1e-15);
        // Known exactly it stays, not known at all it becomes the family's.
        ck_assert_int_eq(vb_family_rate_posterior(&f, yi[i], 1e-20, &post, &post_var),
                         VB_OK);
        ck_assert_double_eq_tol(post, yi[i], 1e-15);
        ck_assert_int_eq(vb_family_rate_posterior(&f, yi[i], 1e20, &post, &post_var),
                         VB_OK);
        ck_assert_double_eq_tol(post, f.mu, 1e-15);
        ck_assert_double_eq_tol(post_var, prior, 1e-15);
    }
}
END_TEST

/* --- errors ------------------------------------------------------------------------ */

static void
refused(const double *r, const double *v, size_t n)
{
    struct vb_family_rate f = {.k = 77};
    ck_assert_int_eq(vb_family_rate_fit(r, v, n, &f), VB_EDOM);
    ck_assert_uint_eq(f.k, 77);
}

START_TEST(fit_refuses)
{
    const double good[] = {1, 2, 3}, bad[] = {0, -1, NAN, INFINITY};
    const double far[] = {1e200, -1e200, 1}, sure[] = {1e-320, 1, 1};
    struct vb_family_rate f;
    for (size_t i = 0; i < 3; i++) {
        double r[] = {1, 2, 3}, v[] = {1, 1, 1};
        for (size_t k = 0; k < 4; k++) {
            v[i] = bad[k];
            refused(good, v, 3);
        }
        // Left out, it does not matter.
        ck_assert_int_eq(vb_family_rate_without(good, v, 3, i, &f), VB_OK);
        r[i] = INFINITY;
        refused(r, good, 3);
        r[i] = -INFINITY;
        refused(r, good, 3);
    }
    // weights that are finite, and their sum is not: it would pass for certainty about 0
    const double near[] = {1e-160, 1e-160}, surest[] = {1e-308, 1e-308};
    refused(near, surest, 2);
    refused(far, good, 3);
    refused(good, sure, 3);
}
END_TEST

START_TEST(posterior_refuses)
{
    const struct vb_family_rate f = {.k = 3, .tau2 = 12, .mu = 4, .var_mu = 1};
    const struct vb_family_rate bad[] = {
        {.k = 1, .tau2 = NAN, .mu = 4, .var_mu = 1},
        {.k = 1, .tau2 = 0, .mu = 4, .var_mu = 0},
        {.k = 1, .tau2 = 0, .mu = NAN, .var_mu = 1},
        {.k = 1, .tau2 = 0, .mu = 4, .var_mu = INFINITY}};
    const double v[] = {0, -1, NAN, INFINITY};
    double post = 7, post_var = 8;
    for (size_t i = 0; i < 4; i++) {
        ck_assert_int_eq(vb_family_rate_posterior(&f, 1, v[i], &post, &post_var),
                         VB_EDOM);
        ck_assert_int_eq(vb_family_rate_posterior(&bad[i], 1, 1, &post, &post_var),
                         VB_EDOM);
        ck_assert_int_eq(vb_family_rate_posterior(&bad[i], NAN, 1, &post, &post_var),
                         VB_EDOM);
    }
    ck_assert_int_eq(vb_family_rate_posterior(&f, INFINITY, 1, &post, &post_var),
                     VB_EDOM);
    ck_assert(post == 7 && post_var == 8);
}
END_TEST

static Suite *
family_rate_suite(void)
{
    Suite *s = suite_create("family_rate");
    TCase *t = tcase_create("family");
    tcase_add_checked_fixture(t, read_bcg, NULL);
    tcase_add_test(t, metafor_is_met);
    tcase_add_test(t, by_hand);
    tcase_add_test(t, order_unit_and_gaps_change_nothing);
    tcase_add_test(t, constant_moves_the_mean_only);
    tcase_add_test(t, no_scatter_gives_the_fixed_effect);
    tcase_add_test(t, one_weight_outweighs_all);
    tcase_add_test(t, one_rate_stands_for_itself);
    tcase_add_test(t, no_rate_says_nothing);
    tcase_add_test(t, without_one);
    suite_add_tcase(s, t);

    t = tcase_create("posterior");
    tcase_add_checked_fixture(t, read_bcg, NULL);
    tcase_add_test(t, posterior_by_hand);
    tcase_add_test(t, posterior_lies_between);
    suite_add_tcase(s, t);

    t = tcase_create("errors");
    tcase_add_test(t, fit_refuses);
    tcase_add_test(t, posterior_refuses);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(family_rate_suite());
}
