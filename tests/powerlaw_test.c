#include "suite.h"
#include "valvebook/powerlaw.h"

#include <check.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MANY 50

static struct data {
    struct vb_watch watch[MANY];
    struct vb_replaced r[MANY];
    size_t n, engines, k;
} data[3];

static void
read_seats(struct data *d)
{
    FILE *f = fopen("fixtures/reference/valveseat_data.csv", "r");
    char line[80];
    int last = 0;
    ck_assert_msg(f != NULL, "run from the root of the repository");
    ck_assert_ptr_nonnull(fgets(line, sizeof line, f));
    while (fgets(line, sizeof line, f)) {
        int id, days, status;
        ck_assert_int_eq(sscanf(line, "%d,%d,%d", &id, &days, &status), 3);
        d->n += id != last;
        last = id;
        ck_assert(d->n < MANY && d->k < MANY);
        if (status)
            d->r[d->k++] = (struct vb_replaced){d->n - 1, days, 1};
        else
            d->watch[d->n - 1] = (struct vb_watch){d->n - 1, 0, days};
    }
    fclose(f);
    d->engines = d->n;
}

/* The cases of tests/r/powerlaw.R: nist, seats, late. */
static void
fill(void)
{
    static const double nist[] = {5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478};
    static const struct vb_watch late[] = {
        {0, 9000, 12000}, {1, 500, 2000}, {1, 0, 1600}, {2, 4000, 9500}, {3, 0, 3000}};
    static const struct vb_replaced r[] = {
        {0, 9500, 1}, {0, 11000, 2}, {0, 11800, 1}, {3, 5200, 1}, {3, 7000, 1},
        {3, 7100, 3}, {3, 9500, 1},  {1, 1900, 1},  {2, 1200, 1}, {4, 2900, 1}};
    memset(data, 0, sizeof data);
    data[0] = (struct data){.watch = {{0, 0, 1500}}, .n = 1, .engines = 1, .k = 10};
    for (size_t i = 0; i < 10; i++)
        data[0].r[i] = (struct vb_replaced){0, nist[i], 1};
    read_seats(&data[1]);
    data[2].n = 5;
    data[2].engines = 4;
    data[2].k = 10;
    memcpy(data[2].watch, late, sizeof late);
    memcpy(data[2].r, r, sizeof r);
}

/* R 4.2.2, tests/r/powerlaw.R: shape, scale, variances of their logarithms, robust variance
 * of ln shape, Laplace's test and its p, the handbook's and its p. */
static const struct {
    const char *name;
    double shape, scale, var_shape, var_scale, robust, laplace, p_laplace, chi2, p_chi2;
} want[] = {
    {"nist", 0.537228866, 20.63893033, 0.09999999896, 2.183497467, NAN, -1.326949183,
     0.1845254934, 37.22808148, 0.02197271423},
    {"seats", 1.399579267, 553.6430212, 0.02052312101, 0.01092322538, 0.01660720399,
     2.378692775, 0.01737414967, 66.14835373, 0.01730480109},
    {"late", 1.623321844, 2593.876016, 0.04797457958, 0.1289633703, 0.01113684557,
     1.423552329, 0.154576104, 13.82171867, 0.0494497531},
};

#define NEAR(got, want, tol) ck_assert_double_eq_tol((got), (want), (tol)*fabs(want))

static void
fit(const struct data *d, struct vb_power *p)
{
    struct vb_msg m = {0};
    enum vb_err e = vb_power_fit(d->watch, d->n, d->engines, d->r, d->k, p, &m);
    ck_assert_msg(e == VB_OK, "%s", m.text);
}

START_TEST(r_is_met)
{
    struct vb_power p;
    fit(&data[_i], &p);
    NEAR(p.shape, want[_i].shape, 1e-8);
    NEAR(p.scale, want[_i].scale, 1e-8);
    NEAR(p.var_shape, want[_i].var_shape, 1e-6); // numerical derivatives
    NEAR(p.var_scale, want[_i].var_scale, 1e-6);
    if (isnan(want[_i].robust))
        ck_assert(isnan(p.robust_shape));
    else
        NEAR(p.robust_shape, want[_i].robust, 1e-6);
    NEAR(p.laplace, want[_i].laplace, 1e-9);
    NEAR(p.p_laplace, want[_i].p_laplace, 1e-8);
    NEAR(p.chi2, want[_i].chi2, 1e-9);
    NEAR(p.p_chi2, want[_i].p_chi2, 1e-8);
    ck_assert_uint_eq(p.engines, data[_i].engines);
}
END_TEST

/*
 * NIST/SEMATECH e-Handbook 8.2.3.4: 37.23 with 20 degrees of freedom. Its estimates for the
 * same data divide by N - 1 where the likelihood has N: b 0.483506, a = N / T^b 0.2913003.
 */
START_TEST(nist_is_met)
{
    struct vb_power p;
    fit(&data[0], &p);
    ck_assert_double_eq_tol(p.chi2, 37.23, 5.001e-3);
    ck_assert(p.df == 20);
    double b = 0.9 * p.shape;
    ck_assert_double_eq_tol(b, 0.483506, 5.001e-7);
    ck_assert_double_eq_tol(10 / pow(1500, b), 0.2913003, 5.001e-8);
    // one watch from 0: N / sum ln(T / t), and variance 1 / N of its logarithm
    double sum = 0;
    for (size_t i = 0; i < 10; i++)
        sum += log(1500 / data[0].r[i].age);
    ck_assert_double_eq_tol(p.shape, 10 / sum, 1e-13);
    ck_assert_double_eq_tol(p.var_shape, 0.1, 1e-13);
    ck_assert_double_eq_tol(p.scale, 1500 * pow(10, -1 / p.shape), 1e-9);
}
END_TEST

/* As many as were replaced are expected; the rate is the derivative of that. */
START_TEST(expected_is_observed)
{
    struct vb_power p;
    double sum = 0;
    const struct data *d = &data[_i];
    fit(d, &p);
    for (size_t i = 0; i < d->n; i++)
        sum += pow(d->watch[i].to / p.scale, p.shape) -
               pow(d->watch[i].from / p.scale, p.shape);
    ck_assert_double_eq_tol(sum, p.count, 1e-10 * p.count);
    double h = 1e-4 * p.scale, up = pow((700 + h) / p.scale, p.shape),
           down = pow((700 - h) / p.scale, p.shape);
    NEAR(vb_power_rate(&p, 700), (up - down) / (2 * h), 1e-6);
}
END_TEST

/* A unit scales the scale; rows of two are two rows; engines may come in any order. */
START_TEST(unit_and_rows)
{
    struct vb_power a, b;
    struct data d = data[_i];
    fit(&d, &a);
    for (size_t i = 0; i < d.n; i++)
        d.watch[i].from /= 24, d.watch[i].to /= 24;
    for (size_t i = 0; i < d.k; i++)
        d.r[i].age /= 24;
    for (size_t i = 0, k = d.k; i < k; i++)
        if (d.r[i].count == 2) {
            d.r[i].count = 1;
            d.r[d.k++] = d.r[i];
        }
    struct vb_replaced first = d.r[0];
    memmove(d.r, d.r + 1, (d.k - 1) * sizeof *d.r);
    d.r[d.k - 1] = first;
    fit(&d, &b);
    NEAR(b.shape, a.shape, 1e-11);
    NEAR(b.scale, a.scale / 24, 1e-10);
    NEAR(b.var_shape, a.var_shape, 1e-9);
    NEAR(b.var_scale, a.var_scale, 1e-9);
    NEAR(b.laplace, a.laplace, 1e-11);
    NEAR(b.chi2, a.chi2, 1e-11);
}
END_TEST

START_TEST(no_fit)
{
    static const struct vb_watch w = {0, 0, 10}, late = {0, 5, 10}, below = {0, -1, 10};
    static const struct vb_replaced end[] = {{0, 10, 1}, {0, 10, 1}},
                                    early[] = {{0, 5.01, 3}};
    static const struct vb_replaced out = {0, 11, 1};
    struct vb_power p = {.shape = 7};
    struct vb_msg m = {0};
    ck_assert_int_eq(vb_power_fit(&w, 1, 1, NULL, 0, &p, &m), VB_EDOM);
    ck_assert_str_eq(m.text, "nothing was replaced");
    ck_assert_int_eq(vb_power_fit(&w, 1, 1, end, 2, &p, &m), VB_EDOM);
    ck_assert_str_eq(m.text, "all were replaced at the greatest age there is");
    ck_assert_int_eq(vb_power_fit(&late, 1, 1, early, 1, &p, &m), VB_EDOM);
    ck_assert_str_eq(m.text, "replacements come so early that no power of age fits");
    ck_assert_int_eq(vb_power_fit(&w, 1, 1, &out, 1, &p, &m), VB_EDOM);
    ck_assert_str_eq(m.text, "a replacement that nobody watched");
    ck_assert_int_eq(vb_power_fit(&below, 1, 1, end, 1, &p, &m), VB_EDOM);
    ck_assert_str_eq(m.text, "an age below 0");
    ck_assert_int_eq(vb_power_fit(&w, 1, 1, NULL, 0, &p, NULL), VB_EDOM);
    ck_assert(p.shape == 7);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("powerlaw");
    TCase *c = tcase_create("powerlaw");
    tcase_add_checked_fixture(c, fill, NULL);
    tcase_add_loop_test(c, r_is_met, 0, 3);
    tcase_add_test(c, nist_is_met);
    tcase_add_loop_test(c, expected_is_observed, 0, 3);
    tcase_add_loop_test(c, unit_and_rows, 0, 3);
    tcase_add_test(c, no_fit);
    suite_add_tcase(s, c);
    return run_suite(s);
}
