#include "suite.h"
#include "valvebook/weibull.h"

#include <check.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define INF  INFINITY
#define MANY 20

static const struct {
    const char *name;
    size_t n;
    struct vb_span span[MANY];
} cases[] = {
    {"nist", 20, {{54, 54},   {187, 187}, {216, 216}, {240, 240}, {244, 244},
                  {335, 335}, {361, 361}, {373, 373}, {375, 375}, {386, 386},
                  {500, INF}, {500, INF}, {500, INF}, {500, INF}, {500, INF},
                  {500, INF}, {500, INF}, {500, INF}, {500, INF}, {500, INF}}},
    {"mixed",
     10,
     {{100, 200},
      {150, INF},
      {0, 120},
      {300, 300},
      {250, 260},
      {400, INF},
      {200, 400},
      {330.5, 330.5},
      {0, 410},
      {90, INF}}},
    {"visits",
     12,
     {{500, 750},
      {750, 1000},
      {750, 1000},
      {1000, 1250},
      {250, 500},
      {1250, INF},
      {1500, INF},
      {1500, 1750},
      {1000, INF},
      {0, 250},
      {1750, INF},
      {1250, INF}}},
    {"once",
     7,
     {{200, INF}, {400, INF}, {350, INF}, {900, INF}, {0, 800}, {0, 600}, {0, 1100}}},
    {"narrow",
     5,
     {{1000, 1001}, {2001, 2003}, {1503, 1504.5}, {800.4, 801.2}, {2500, INF}}},
    {"steep",
     6,
     {{98123, 98123},
      {99456, 99456},
      {101010, 101010},
      {100200, 100200},
      {97900, INF},
      {100900, INF}}},
};

/* R 4.2.2, survreg of survival 3.5.3: tests/r/weibull.R. Shape, scale, log likelihood,
 * variances of ln shape and ln scale, their covariance; B1 and B10, each with the standard
 * error of its logarithm. */
static const struct {
    const char *name;
    double shape, scale, loglik, var_shape, var_scale, cov, b1[2], b10[2];
} want[] = {
    {"nist",
     1.7207972608,
     606.527558004,
     -75.1346181645,
     0.085154688737,
     0.0424128936491,
     -0.0271278424006,
     {41.8664136949, 0.711279422835},
     {164.02243866, 0.342186951033}},
    {"mixed",
     2.58399440327,
     303.847475741,
     -21.8161712805,
     0.126846590579,
     0.0235978994562,
     0.0075264995327,
     {51.2276018943, 0.672613120709},
     {127.18449847, 0.364572948829}},
    {"visits",
     1.47009767145,
     1567.12047106,
     -20.2080312167,
     0.133255729622,
     0.0729897656904,
     -0.0299449076449,
     {68.5696360994, 1.0910389618},
     {339.079536433, 0.541812967542}},
    {"once",
     2.41864340209,
     806.618073835,
     -3.20247580741,
     0.534716747665,
     0.0662422921043,
     -0.0167368800065,
     {120.409205346, 1.39171736592},
     {318.118787829, 0.705689157917}},
    {"narrow",
     2.19505982986,
     1887.25972777,
     -32.1350651066,
     0.1704814462,
     0.0521661046877,
     0.00691449995901,
     {232.106967582, 0.91097885741},
     {677.009175296, 0.495504029209}},
    {"steep",
     106.794123236,
     100597.908814,
     -35.2217928708,
     0.168197427325,
     2.19367758981e-05,
     5.27384209554e-05,
     {96356.6625356, 0.0184000546325},
     {98500.2863897, 0.00994203478017}},
};

static void
fit(const struct vb_span *p, size_t n, struct vb_weibull *w)
{
    struct vb_msg m = {0};
    enum vb_err e = vb_weibull_fit(p, n, w, &m);
    ck_assert_msg(e == VB_OK, "%s", m.text);
}

#define NEAR(got, want) ck_assert_double_eq_tol((got), (want), 1e-6 * fabs(want))

/* A life and the standard error of its logarithm, from the 95 % interval. */
static void
life_is(const struct vb_weibull *w, double p, const double want_life[2])
{
    struct vb_bounds b;
    ck_assert_int_eq(vb_weibull_life(w, p, 0.95, &b), VB_OK);
    NEAR(b.value, want_life[0]);
    NEAR(log(b.hi / b.lo) / 2 / 1.959963984540054, want_life[1]);
    NEAR(b.hi * b.lo, b.value * b.value);
}

START_TEST(survreg_is_met)
{
    struct vb_weibull w;
    fit(cases[_i].span, cases[_i].n, &w);
    ck_assert_str_eq(cases[_i].name, want[_i].name);
    NEAR(w.shape, want[_i].shape);
    NEAR(w.scale, want[_i].scale);
    NEAR(w.loglik, want[_i].loglik);
    NEAR(w.var_shape, want[_i].var_shape);
    NEAR(w.var_scale, want[_i].var_scale);
    // may come close to 0 by cancelling: held against the variances
    ck_assert_double_eq_tol(w.cov, want[_i].cov, 1e-6 * sqrt(w.var_shape * w.var_scale));
    life_is(&w, 0.01, want[_i].b1);
    life_is(&w, 0.1, want[_i].b10);
    ck_assert_int_lt(w.steps, 30);
}
END_TEST

/* NIST/SEMATECH e-Handbook 8.4.1.3: shape 1.7208, scale 606.5280, log likelihood -75.135;
 * SOURCES has -75.134618. */
START_TEST(nist_is_met)
{
    struct vb_weibull w;
    fit(cases[0].span, cases[0].n, &w);
    ck_assert_double_eq_tol(w.shape, 1.7208, 5.001e-5);
    ck_assert_double_eq_tol(w.scale, 606.5280, 5.001e-4);
    ck_assert_double_eq_tol(w.loglik, -75.134618, 5.001e-7);
    ck_assert(w.n[VB_SPAN_EXACT] == 10 && w.n[VB_SPAN_RIGHT] == 10);
    ck_assert(w.n[VB_SPAN_INTERVAL] == 0 && w.n[VB_SPAN_LEFT] == 0);
}
END_TEST

/* The log likelihood by its definition, worked out plainly. */
static double
plain(const struct vb_span *p, size_t n, double shape, double scale)
{
    double l = 0;
    for (size_t i = 0; i < n; i++) {
        double a = exp(-pow(p[i].lo / scale, shape));
        double b = isinf(p[i].hi) ? 0 : exp(-pow(p[i].hi / scale, shape));
        l += p[i].lo == p[i].hi ? log(shape / scale * pow(p[i].lo / scale, shape - 1) * a)
                                : log(a - b);
    }
    return l;
}

/* The likelihood is what it says it is, and nowhere near is it greater. */
START_TEST(it_is_the_maximum)
{
    const struct vb_span *p = cases[_i].span;
    size_t n = cases[_i].n;
    struct vb_weibull w;
    fit(p, n, &w);
    double best = plain(p, n, w.shape, w.scale);
    ck_assert_double_eq_tol(w.loglik, best, 1e-8 * fabs(best));
    const double step[] = {0.03 * sqrt(w.var_shape), 0.03 * sqrt(w.var_scale)};
    for (int i = -1; i <= 1; i++)
        for (int j = -1; j <= 1; j++)
            if (i || j)
                ck_assert_double_lt(
                    plain(p, n, w.shape * exp(i * step[0]), w.scale * exp(j * step[1])),
                    best);
}
END_TEST

/* Times in another unit scale the scale and nothing else; the order means nothing. */
START_TEST(unit_and_order)
{
    struct vb_weibull a, b;
    struct vb_span p[MANY];
    size_t n = cases[_i].n;
    fit(cases[_i].span, n, &a);
    for (size_t i = 0; i < n; i++)
        p[n - 1 - i] =
            (struct vb_span){cases[_i].span[i].lo / 24, cases[_i].span[i].hi / 24};
    fit(p, n, &b);
    ck_assert_double_eq_tol(b.shape, a.shape, 1e-10 * a.shape);
    ck_assert_double_eq_tol(b.scale, a.scale / 24, 1e-10 * a.scale);
    ck_assert_double_eq_tol(b.var_shape, a.var_shape, 1e-8 * a.var_shape);
    ck_assert_double_eq_tol(b.var_scale, a.var_scale, 1e-8 * a.var_scale);
    ck_assert_double_eq_tol(b.loglik, a.loglik + (double)a.n[VB_SPAN_EXACT] * log(24),
                            1e-9);
}
END_TEST

/*
 * With the shape of an exponential life the scale is total time over failures; and with
 * nothing but exact lives the shape solves sum t^b ln t / sum t^b - 1/b = mean ln t.
 */
START_TEST(closed_forms)
{
    struct vb_span p[7];
    struct vb_weibull w;
    double t[] = {3, 9, 17, 30, 52, 88, 140}, top = 0, bottom = 0, logs = 0;
    for (size_t i = 0; i < 7; i++)
        p[i] = (struct vb_span){t[i], t[i]};
    fit(p, 7, &w);
    for (size_t i = 0; i < 7; i++) {
        double x = pow(t[i], w.shape);
        top += x * log(t[i]);
        bottom += x;
        logs += log(t[i]) / 7;
    }
    ck_assert_double_eq_tol(top / bottom - 1 / w.shape, logs, 1e-12);
    ck_assert_double_eq_tol(w.scale, pow(bottom / 7, 1 / w.shape), 1e-10);
}
END_TEST

/* A span that narrows comes to an exact life: the likelihood per width to the density. */
START_TEST(narrow_spans_come_to_exact_ones)
{
    struct vb_span exact[] = {{100, 100}, {230, 230}, {310, 310}, {450, 450}, {600, INF}};
    for (double width = 1e-3; width > 1e-9; width /= 100) {
        struct vb_span p[5];
        struct vb_weibull a, b;
        memcpy(p, exact, sizeof p);
        for (size_t i = 0; i < 4; i++)
            p[i].hi *= 1 + width, p[i].lo *= 1 - width;
        fit(exact, 5, &a);
        fit(p, 5, &b);
        ck_assert_double_eq_tol(b.shape, a.shape, 3 * width * width + 1e-8);
        ck_assert_double_eq_tol(b.scale / a.scale, 1, 3 * width * width + 1e-8);
        ck_assert_double_eq_tol(b.var_shape, a.var_shape, 1e-5 + 3 * width);
    }
}
END_TEST

/* What says nothing changes nothing. */
START_TEST(spans_that_say_nothing)
{
    struct vb_weibull a, b;
    struct vb_span p[MANY + 1];
    memcpy(p, cases[1].span, sizeof cases[1].span);
    fit(p, 10, &a);
    p[10] = (struct vb_span){0, INF};
    fit(p, 11, &b);
    ck_assert(a.shape == b.shape && a.scale == b.scale && a.n[1] == b.n[1]);
}
END_TEST

/*
 * One of a thousand and one ended by 1e-300, or between that and twice that, the others at 1:
 * with L = ln 1e300 the chance of the first is exp(-b L) up to exp(-1000), so that b = 1000 / L
 * and scale^b = 1000 / 1001. The second's has the factor 2^b - 1 and b by bisection.
 */
START_TEST(a_chance_below_all_numbers)
{
    static struct vb_span p[1001];
    struct vb_weibull w;
    for (int i = 0; i < 1000; i++)
        p[i] = (struct vb_span){1, 1};
    p[1000] = (struct vb_span){0, 1e-300};
    fit(p, 1001, &w);
    double b = 1000 / log(1e300);
    ck_assert_double_eq_tol(w.shape, b, 1e-9);
    ck_assert_double_eq_tol(w.scale, pow(1000.0 / 1001, 1 / b), 1e-9);
    p[1000] = (struct vb_span){1e-300, 2e-300};
    fit(p, 1001, &w);
    ck_assert_double_eq_tol(w.shape, 1.4499432313230705, 1e-9);
    ck_assert_double_eq_tol(w.scale, 0.9993108999758877, 1e-9);
}
END_TEST

/* No maximum: every way in which the likelihood can rise for ever, and the words for it. */
static const struct {
    size_t n;
    struct vb_span span[5];
    const char *says;
} none[] = {
    {0, {{0, 0}}, "none of 0 has ended yet"},
    {3, {{5, INF}, {7, INF}, {9, INF}}, "none of 3 has ended yet"},
    {2, {{0, 5}, {0, 9}}, "all of 2 had ended when they were first looked at"},
    {3, {{5, 5}, {5, 5}, {5, 5}}, "all 3 may end at one age: they show no scatter"},
    {3, {{5, 5}, {3, INF}, {5, INF}}, "all 3 may end at one age: they show no scatter"},
    {1, {{8, 8}}, "all 1 may end at one age: they show no scatter"},
    {3, {{2, 9}, {4, 7}, {5, 8}}, "all 3 may end at one age: they show no scatter"},
    {2, {{3, 5}, {5, 8}}, "all 2 may end at one age: they show no scatter"},
    {4,
     {{0, 5}, {0, 8}, {6, INF}, {9, INF}},
     "those looked at late were running, those looked at early had ended"},
    {3,
     {{0, 4}, {2, INF}, {8, INF}}, // the means of ln t are the same: at the edge
     "those looked at late were running, those looked at early had ended"},
    {3, // so near that edge that the scale is beyond all numbers
     {{0.068293749304, INF}, {0, 1.835733758303}, {48.243638752393, INF}},
     "the fit did not converge"},
    {2, {{1e282, INF}, {1e-107, 1e-107}}, "the fit did not converge"}, // likewise
    {2, // 4e-9 apart: no curvature is left
     {{0.99999909246965824, 0.99999909246965824},
      {0.99999909601948767, 1.7308097260560968}},
     "the fit did not converge"},
    {2, // 8e-6 apart: the last steps are rounding
     {{0.99999449558245024, 0.99999449558245024},
      {1.0000022780354676, 1.6474534831458842}},
     "the fit did not converge"},
    {3, // one at 90.77, one just before 90.69: the climb gives up on its way to them
     {{0, 288.96880945540926},
      {90.765791846642216, 90.765791846642216},
      {54.624152894929132, 90.689082467862974}},
     "the fit did not converge"},
    {5,
     {{0, 21394.467699494966},
      {0, 33.148701216051727},
      {0, 13865908.558146475},
      {10.484447935955496, INF},
      {10.358277531520022, 10.358277531520022}},
     "the fit did not converge"},
    {4,
     {{0, 23154505.33550936},
      {0, 4.2409586889369706},
      {3501131.2827538569, INF},
      {27.632562688318298, INF}},
     "the fit did not converge"},
    {2, {{5, 4}, {3, 9}}, "a life that ends before it begins"},
    {2, {{-1, 4}, {3, 9}}, "a life that ends before it begins"},
    {2, {{0, 0}, {3, 9}}, "a life that ends before it begins"},
    {2, {{NAN, 4}, {3, 9}}, "a life that ends before it begins"},
    {2, {{INF, INF}, {3, 9}}, "a life that ends before it begins"},
};

START_TEST(no_maximum)
{
    struct vb_weibull w = {.shape = 77};
    struct vb_msg m = {0};
    ck_assert_int_eq(vb_weibull_fit(none[_i].span, none[_i].n, &w, &m), VB_EDOM);
    ck_assert_str_eq(m.text, none[_i].says);
    ck_assert(w.shape == 77);
    ck_assert_int_eq(vb_weibull_fit(none[_i].span, none[_i].n, &w, NULL), VB_EDOM);
}
END_TEST

/* On the near side of each of those edges there is one. */
static const struct {
    size_t n;
    struct vb_span span[4];
} just[] = {
    {2, {{5, 5}, {5.01, INF}}},
    {3, {{5, 5}, {5.001, 5.001}, {5, 5}}},
    {2, {{3, 5}, {5.01, 8}}},
    {3, {{0, 4.2}, {2, INF}, {8, INF}}},
    {2, {{1e-3, 1e-3}, {1e3, 1e3}}},
    // whole steps of Newton's method do not get there
    {4,
     {{0, 0.0797246034},
      {0.075093654, 0.0807295936},
      {0, 28.9057689},
      {0, 0.0659558858}}},
};

START_TEST(just_a_maximum)
{
    struct vb_weibull w;
    const struct vb_span *p = just[_i].span;
    size_t n = just[_i].n;
    fit(p, n, &w);
    double best = plain(p, n, w.shape, w.scale);
    for (int i = -1; i <= 1; i++)
        for (int j = -1; j <= 1; j++)
            if (i || j)
                ck_assert_double_le(plain(p, n, w.shape * exp(0.01 * i),
                                          w.scale * exp(0.01 * j / w.shape)),
                                    best + 1e-12);
}
END_TEST

/* At p = 1 - 1/e the life is the scale; bounds of the parameters; what is refused. */
START_TEST(lives_and_bounds)
{
    struct vb_weibull w;
    struct vb_bounds a, b;
    fit(cases[1].span, cases[1].n, &w);
    ck_assert_int_eq(vb_weibull_life(&w, 1 - exp(-1), 0.9, &a), VB_OK);
    ck_assert_int_eq(vb_weibull_scale(&w, 0.9, &b), VB_OK);
    ck_assert_double_eq_tol(a.value, w.scale, 1e-10);
    ck_assert_double_eq_tol(a.lo, b.lo, 1e-10);
    ck_assert_double_eq_tol(a.hi, b.hi, 1e-10);
    ck_assert_int_eq(vb_weibull_shape(&w, 0.9, &b), VB_OK);
    ck_assert_double_eq_tol(log(b.hi / w.shape), 1.644853626951473 * sqrt(w.var_shape),
                            1e-12);
    a.value = 5;
    ck_assert_int_eq(vb_weibull_life(&w, 0, 0.9, &a), VB_EDOM);
    ck_assert_int_eq(vb_weibull_life(&w, 1, 0.9, &a), VB_EDOM);
    ck_assert_int_eq(vb_weibull_life(&w, 0.1, 1, &a), VB_EDOM);
    ck_assert_int_eq(vb_weibull_shape(&w, 0, &a), VB_EDOM);
    ck_assert_int_eq(vb_log_bounds(1, -1, 0.9, &a), VB_EDOM);
    ck_assert_int_eq(vb_log_bounds(1, 1e9, 0.9, &a), VB_EDOM);
    ck_assert(a.value == 5);
}
END_TEST

#define COUNT(a) (int)(sizeof(a) / sizeof *(a))

int
main(void)
{
    Suite *s = suite_create("weibull");
    TCase *c = tcase_create("weibull");
    tcase_add_loop_test(c, survreg_is_met, 0, COUNT(cases));
    tcase_add_test(c, nist_is_met);
    tcase_add_loop_test(c, it_is_the_maximum, 0, COUNT(cases));
    tcase_add_loop_test(c, unit_and_order, 0, COUNT(cases));
    tcase_add_test(c, closed_forms);
    tcase_add_test(c, narrow_spans_come_to_exact_ones);
    tcase_add_test(c, spans_that_say_nothing);
    tcase_add_test(c, a_chance_below_all_numbers);
    tcase_add_loop_test(c, no_maximum, 0, COUNT(none));
    tcase_add_loop_test(c, just_a_maximum, 0, COUNT(just));
    tcase_add_test(c, lives_and_bounds);
    suite_add_tcase(s, c);
    return run_suite(s);
}
