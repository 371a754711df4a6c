#include "suite.h"
#include "valvebook/forecast.h"
#include "valvebook/start.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <check.h>

#include "valvebook/wear.h"

/* --- against R --------------------------------------------------------------------- */

struct r_case {
    const char *name;
    double p, tight, loose, from, at;
    size_t n;
    struct vb_obs obs[11];
    enum vb_way way;
    double level, se, expected, early, lower, upper;
};

/* Printed by tests/r/forecast.R, R version 4.2.2 Patched (2022-11-10 r83330). */
static const struct r_case r_cases[] = {
    {
        .name = "closing",
        .p = 0.95,
        .tight = 0.15,
        .loose = 0.4,
        .from = 2500,
        .at = 4000,
        .n = 6,
        .obs = {{0, 0.305, 1, 0},
                {500, 0.289, 1, 0},
                {1000, 0.282, 1, 0},
                {1500, 0.262, 1, 0},
                {2000, 0.255, 1, 0},
                {2500, 0.236, 1, 0}},
        .way = VB_WAY_TIGHT,
        .level = 0.198114285714286,
        .se = 0.00466563642660957,
        .expected = 5802.99785867238,
        .early = 5270.92403516322,
        .lower = 0.18816786369205,
        .upper = 0.208060707736522,
    },
    {
        .name = "opening",
        .p = 0.95,
        .tight = 0.2,
        .loose = 0.5,
        .from = 42000,
        .at = 39000,
        .n = 5,
        .obs = {{2000, 0.3, 1, 0},
                {11000, 0.318, 1, 0},
                {19000, 0.333, 1, 0},
                {33000, 0.351, 1, 0},
                {42000, 0.378, 1, 0}},
        .way = VB_WAY_LOOSE,
        .level = 0.368408692337019,
        .se = 0.00315789191291889,
        .expected = 110462.525879917,
        .early = 96858.4426907478,
        .lower = 0.360977024978099,
        .upper = 0.375840359695938,
    },
    {
        .name = "settings",
        .p = 0.99,
        .tight = 0.1,
        .loose = NAN,
        .from = 6100,
        .at = 9000,
        .n = 11,
        .obs = {{250, 0.25, 1, 0},
                {900, 0.237, 4, 0},
                {1500, 0.229, 0.25, 0},
                {2300, 0.208, 9, 0},
                {2300, 0.252, 2.5, 1},
                {3100, 0.233, 1, 1},
                {3900, 0.224, 16, 1},
                {3900, 0.245, 3, 2},
                {4700, 0.251, 0.5, 3},
                {5600, 0.226, 6.25, 3},
                {6100, 0.22, 1, 3}},
        .way = VB_WAY_TIGHT,
        .level = 0.161563964780271,
        .se = 0.00408046528795211,
        .expected = 12200.6297950694,
        .early = 11158.4293891953,
        .lower = 0.148740415449098,
        .upper = 0.174387514111443,
    },
    {
        .name = "single_last",
        .p = 0.95,
        .tight = 0.2,
        .loose = 0.4,
        .from = 3000,
        .at = 3000,
        .n = 5,
        .obs = {{0, 0.301, 1, 0},
                {1000, 0.282, 1, 0},
                {2000, 0.257, 1, 0},
                {3000, 0.242, 1, 0},
                {3000, 0.3, 1, 1}},
        .way = VB_WAY_TIGHT,
        .level = 0.3,
        .se = 0.00289827534923788,
        .expected = 7950.49504950495,
        .early = 7078.94823990136,
        .lower = 0.291537077772331,
        .upper = 0.308462922227669,
    },
    {
        .name = "horizontal",
        .p = 0.95,
        .tight = 0.25,
        .loose = 0.35,
        .from = 5000,
        .at = 60000,
        .n = 6,
        .obs = {{0, 0.301, 1, 0},
                {1000, 0.298135, 1, 0},
                {2000, 0.30047, 1, 0},
                {3000, 0.296605, 1, 0},
                {4000, 0.29854, 1, 0},
                {5000, 0.295925, 1, 0}},
        .way = VB_WAY_TIGHT,
        .level = 0.25240476190476,
        .se = 0.0209110373350134,
        .expected = 63003.270889085,
        .early = 33223.0140108543,
        .lower = 0.207825634163355,
        .upper = 0.296983889646165,
    },
    {
        .name = "before_mean",
        .p = 0.95,
        .tight = 0.28,
        .loose = NAN,
        .from = 100,
        .at = 100,
        .n = 6,
        .obs = {{0, 0.305, 1, 0},
                {500, 0.289, 1, 0},
                {1000, 0.282, 1, 0},
                {1500, 0.262, 1, 0},
                {2000, 0.255, 1, 0},
                {2500, 0.236, 1, 0}},
        .way = VB_WAY_TIGHT,
        .level = 0.302188571428572,
        .se = 0.00232083025256577,
        .expected = 931.477516059962,
        .early = 806.95590702877,
        .lower = 0.29724091691303,
        .upper = 0.307136225944114,
    },
};

#define R_CASES (int)(sizeof r_cases / sizeof *r_cases)

static struct vb_line
line_of(const struct r_case *c)
{
    struct vb_wear f;
    ck_assert_int_eq(vb_wear_fit(c->obs, c->n, &f), VB_OK);
    double s2 = f.sse / (double)f.df;
    return (struct vb_line){.ybar = f.last_ybar,
                            .mbar = f.last_mbar,
                            .w = f.last_w,
                            .rate = f.rate,
                            .var_rate = s2 / f.sxx,
                            .s2 = s2,
                            .df = (double)f.df};
}

static void
near_r(double got, double want, double tol, const char *name, const char *what)
{
    ck_assert_msg(fabs(got - want) <= tol * fabs(want), "%s %s: %.15g, R has %.15g", name,
                  what, got, want);
}

/* R solves by QR and finds roots by iteration: the two agree to rounding, 4e-14. */
START_TEST(predict_and_uniroot_are_met)
{
    const struct r_case *c = &r_cases[_i];
    struct vb_line l = line_of(c);
    double level, se;
    struct vb_crossing x;
    ck_assert_int_eq(vb_line_level(&l, c->at, &level, &se), VB_OK);
    near_r(level, c->level, 1e-12, c->name, "level");
    near_r(se, c->se, 1e-12, c->name, "se");
    ck_assert_int_eq(vb_line_cross(&l, c->from, c->tight, c->loose, c->p, &x), VB_OK);
    ck_assert_int_eq(x.way, c->way);
    ck_assert_int_eq(x.out_now, 0);
    near_r(x.expected, c->expected, 1e-12, c->name, "expected");
    near_r(x.early, c->early, 1e-12, c->name, "early");
}
END_TEST

START_TEST(bounds_are_those_of_predict)
{
    const struct r_case *c = &r_cases[_i];
    struct vb_line l = line_of(c);
    double lower, upper;
    ck_assert_int_eq(vb_line_bounds(&l, c->at, c->p, &lower, &upper), VB_OK);
    near_r(lower, c->lower, 1e-12, c->name, "lower");
    near_r(upper, c->upper, 1e-12, c->name, "upper");
}
END_TEST

/* The early crossing is where the bound of that side meets the limit. */
START_TEST(bounds_meet_the_limit_at_the_early_crossing)
{
    const struct r_case *c = &r_cases[_i];
    struct vb_line l = line_of(c);
    struct vb_crossing x;
    double lower, upper;
    ck_assert_int_eq(vb_line_cross(&l, c->from, c->tight, c->loose, c->p, &x), VB_OK);
    ck_assert_int_eq(vb_line_bounds(&l, x.early, c->p, &lower, &upper), VB_OK);
    if (x.way == VB_WAY_TIGHT)
        near_r(lower, c->tight, 1e-12, c->name, "tight");
    else
        near_r(upper, c->loose, 1e-12, c->name, "loose");
}
END_TEST

START_TEST(bounds_of_nothing_are_refused)
{
    struct vb_line l = line_of(&r_cases[0]), bad;
    const double p[] = {0.49, 1, 1.5, NAN, -1};
    double lower = 7, upper = 8;
    for (size_t i = 0; i < sizeof p / sizeof *p; i++)
        ck_assert_int_eq(vb_line_bounds(&l, 100, p[i], &lower, &upper), VB_EDOM);
    ck_assert_int_eq(vb_line_bounds(&l, NAN, 0.95, &lower, &upper), VB_EDOM);
    bad = l, bad.df = 0;
    ck_assert_int_eq(vb_line_bounds(&bad, 100, 0.95, &lower, &upper), VB_EDOM);
    bad = l, bad.df = 1e-3; // the quantile is beyond all numbers
    ck_assert_int_eq(vb_line_bounds(&bad, 100, 0.95, &lower, &upper), VB_EDOM);
    bad = l, bad.s2 = 1e308, bad.w = 1e-10; // the variance is
    ck_assert_int_eq(vb_line_bounds(&bad, 100, 0.95, &lower, &upper), VB_EDOM);
    ck_assert(lower == 7 && upper == 8);
    ck_assert_int_eq(vb_line_bounds(&l, 100, 0.5, &lower, &upper), VB_OK);
    ck_assert_double_eq_tol(lower, upper, 1e-15); // half: the level itself
}
END_TEST

/* Upside down, a closing valve opens: same meters, the other limit. */
START_TEST(mirror_image_crosses_the_other_limit)
{
    const struct r_case *c = &r_cases[_i];
    struct vb_line l = line_of(c);
    struct vb_crossing a, b;
    ck_assert_int_eq(vb_line_cross(&l, c->from, c->tight, c->loose, c->p, &a), VB_OK);
    l.ybar = -l.ybar;
    l.rate = -l.rate;
    ck_assert_int_eq(vb_line_cross(&l, c->from, -c->loose, -c->tight, c->p, &b), VB_OK);
    ck_assert(a.way == VB_WAY_TIGHT ? b.way == VB_WAY_LOOSE : b.way == VB_WAY_TIGHT);
    ck_assert(a.expected == b.expected && a.early == b.early);
    ck_assert_int_eq(a.out_now, b.out_now);
}
END_TEST

/* --- the window -------------------------------------------------------------------- */

/*
 * A line without any scatter but that of the rate: easy to follow by hand. With df = 1,
 * t at 0.75 is exactly 1 (Cauchy), so the bound is that of rate -+ its standard error.
 */
static struct vb_line
plain(double rate)
{
    return (struct vb_line){.ybar = 0.3,
                            .mbar = 1000,
                            .w = 2,
                            .rate = rate,
                            .var_rate = 1e-10, // se 1e-5
                            .s2 = 0,
                            .df = 1};
}

static struct vb_crossing
cross(struct vb_line l, double from, double tight, double loose)
{
    struct vb_crossing x = {
        .way = VB_WAY_NONE, .expected = -1, .early = -1, .out_now = 9};
    ck_assert_int_eq(vb_line_cross(&l, from, tight, loose, 0.75, &x), VB_OK);
    return x;
}

static void
is(struct vb_crossing x, enum vb_way way, double expected, double early, int out_now)
{
    ck_assert_int_eq(x.way, way);
    ck_assert_int_eq(x.out_now, out_now);
    if (isinf(expected)) {
        ck_assert(x.expected == INFINITY && x.early == INFINITY);
        return;
    }
    ck_assert_double_eq_tol(x.expected, expected, 1e-7);
    ck_assert_double_eq_tol(x.early, early, 1e-7);
}

START_TEST(each_limit_alone_and_both)
{
    // 0.1 mm at 4e-5 a unit: 2500 units; at the bound, 5e-5: 2000 units.
    is(cross(plain(-4e-5), 1000, 0.2, NAN), VB_WAY_TIGHT, 3500, 3000, 0);
    is(cross(plain(-4e-5), 1000, 0.2, 0.4), VB_WAY_TIGHT, 3500, 3000, 0);
    is(cross(plain(4e-5), 1000, NAN, 0.4), VB_WAY_LOOSE, 3500, 3000, 0);
    is(cross(plain(4e-5), 1000, 0.2, 0.4), VB_WAY_LOOSE, 3500, 3000, 0);
    // The limit it runs towards is not stated.
    is(cross(plain(-4e-5), 1000, NAN, 0.4), VB_WAY_NONE, INFINITY, INFINITY, 0);
    is(cross(plain(4e-5), 1000, 0.2, NAN), VB_WAY_NONE, INFINITY, INFINITY, 0);
    is(cross(plain(4e-5), 1000, NAN, NAN), VB_WAY_NONE, INFINITY, INFINITY, 0);
}
END_TEST

START_TEST(level_outside_already)
{
    const double rates[] = {-4e-5, 0, 5e-6, 4e-5}; // whichever way it moves, or not
    for (size_t i = 0; i < sizeof rates / sizeof *rates; i++) {
        is(cross(plain(rates[i]), 1000, 0.31, 0.4), VB_WAY_TIGHT, 1000, 1000, 1);
        is(cross(plain(rates[i]), 1000, 0.31, NAN), VB_WAY_TIGHT, 1000, 1000, 1);
        is(cross(plain(rates[i]), 1000, 0.1, 0.29), VB_WAY_LOOSE, 1000, 1000, 1);
        is(cross(plain(rates[i]), 1000, NAN, 0.29), VB_WAY_LOOSE, 1000, 1000, 1);
    }
    // Crossed long ago: never before `from`. On the limit is still inside.
    is(cross(plain(-4e-5), 9000, 0.2, 0.4), VB_WAY_TIGHT, 9000, 9000, 1);
    is(cross(plain(-4e-5), 1000, 0.3, 0.4), VB_WAY_TIGHT, 1000, 1000, 0);
    is(cross(plain(0), 1000, 0.3, 0.3), VB_WAY_NONE, INFINITY, INFINITY, 0);
}
END_TEST

/* At 3200 the line is inside, the bound has been outside since 3000. */
START_TEST(bound_outside_is_early_but_not_out)
{
    is(cross(plain(-4e-5), 3200, 0.2, 0.4), VB_WAY_TIGHT, 3500, 3200, 0);
    is(cross(plain(4e-5), 3200, 0.2, 0.4), VB_WAY_LOOSE, 3500, 3200, 0);
    struct vb_line l = plain(-4e-5);
    l.s2 = 1; // at mbar itself the bound is already far out, its root long past
    is(cross(l, 1000, 0.2, 0.4), VB_WAY_TIGHT, 3500, 1000, 0);
}
END_TEST

/* t is 1 here: a rate counts when it exceeds its standard error, 1e-5. */
START_TEST(rate_must_differ_from_zero)
{
    is(cross(plain(0), 1000, 0.2, 0.4), VB_WAY_NONE, INFINITY, INFINITY, 0);
    is(cross(plain(-0.99e-5), 1000, 0.2, 0.4), VB_WAY_NONE, INFINITY, INFINITY, 0);
    is(cross(plain(0.99e-5), 1000, 0.2, 0.4), VB_WAY_NONE, INFINITY, INFINITY, 0);
    is(cross(plain(-1.01e-5), 1000, 0.2, 0.4), VB_WAY_TIGHT, 1000 + 0.1 / 1.01e-5,
       1000 + 0.1 / 2.01e-5, 0);
    is(cross(plain(1.01e-5), 1000, 0.2, 0.4), VB_WAY_LOOSE, 1000 + 0.1 / 1.01e-5,
       1000 + 0.1 / 2.01e-5, 0);
    struct vb_line exact = plain(0);
    exact.var_rate = 0;
    is(cross(exact, 1000, 0.2, 0.4), VB_WAY_NONE, INFINITY, INFINITY, 0);
}
END_TEST

/* --- a seeded source of lines --------------------------------------------------------
 */

static unsigned long long lcg;

/* Knuth's MMIX generator; the upper 53 bits, never 0. */
static double
uniform(void)
{
    lcg = lcg * 6364136223846793005ULL + 1442695040888963407ULL;
    return ((double)(lcg >> 11) + 0.5) / 9007199254740992.0;
}

/* Box-Muller. */
static double
normal(void)
{
    return sqrt(-2 * log(uniform())) * cos(6.283185307179586 * uniform());
}

/* Quantiles of t, printed by tests/r/forecast.R. */
static const struct {
    double df, t95, t99;
} quantiles[] = {
    {1, 6.31375151467504, 31.8205159537739},    {3, 2.35336343480182, 4.54070285856813},
    {12.5, 1.77636622124703, 2.66496200134814}, {40, 1.68385101333565, 2.42325677933486},
    {7040, 1.64507010009079, 2.32687768751301},
};

/*
 * By definition: at `early` the level lies t standard errors inside the limit, and
 * nowhere before. Down to rates only 1e-9 beyond what counts as different from zero.
 */
START_TEST(early_solves_the_bound)
{
    lcg = 7;
    double df = quantiles[_i].df;
    for (int k = 0; k < 2000; k++) {
        double p = k % 2 ? 0.95 : 0.99;
        double t = k % 2 ? quantiles[_i].t95 : quantiles[_i].t99;
        double beyond = k % 3 ? uniform() * 20 : pow(10, -9 * uniform());
        struct vb_line l = {.ybar = 0.2 + 0.2 * uniform(),
                            .mbar = 1e4 * uniform(),
                            .w = 1 + 5 * uniform(),
                            .var_rate = 1e-10 * uniform(),
                            .s2 = 1e-4 * uniform(),
                            .df = df};
        l.rate = -t * sqrt(l.var_rate) * (1 + beyond);
        double from = l.mbar - 1e7, tight = 0.3, level, se;
        struct vb_crossing x;
        ck_assert_int_eq(vb_line_cross(&l, from, tight, NAN, p, &x), VB_OK);
        ck_assert_int_eq(x.way, VB_WAY_TIGHT);
        ck_assert(from <= x.early && x.early <= x.expected);
        if (x.early > from) {
            ck_assert_int_eq(vb_line_level(&l, x.early, &level, &se), VB_OK);
            // Both sides are sums of products with the meter: rounding grows with it.
            double scale = fabs(l.rate * (x.early - l.mbar)) + t * se + 1;
            ck_assert_double_eq_tol(level - t * se, tight, 1e-11 * scale);
            ck_assert_int_eq(vb_line_level(&l, x.early - 50, &level, &se), VB_OK);
            ck_assert(level - t * se > tight);
        }
    }
}
END_TEST

/* Nothing is in doubt: the two crossings are one, and rounding does not swap them. */
START_TEST(exact_line_is_never_early)
{
    lcg = 11;
    for (int k = 0; k < 2000; k++) {
        struct vb_line l = {.ybar = 0.2 + 0.2 * uniform(),
                            .mbar = 1e4 * uniform(),
                            .w = 1,
                            .rate = (k % 2 ? 1e-4 : -1e-4) * uniform(),
                            .df = 10};
        struct vb_crossing x;
        ck_assert_int_eq(vb_line_cross(&l, l.mbar, 0.1, 0.5, 0.95, &x), VB_OK);
        ck_assert(x.early <= x.expected);
        ck_assert_double_eq_tol(x.early, x.expected, 1e-13 * x.expected);
    }
}
END_TEST

/* With p = 0.5 the bound is the line; the more confidence, the earlier. */
START_TEST(more_confidence_is_earlier)
{
    struct vb_line l = line_of(&r_cases[_i]);
    const struct r_case *c = &r_cases[_i];
    struct vb_crossing x;
    ck_assert_int_eq(vb_line_cross(&l, c->from, c->tight, c->loose, 0.5, &x), VB_OK);
    ck_assert_double_eq_tol(x.early, x.expected, 1e-9 * x.expected);
    double before = x.early;
    for (double p = 0.55; p < 0.951; p += 0.05) {
        ck_assert_int_eq(vb_line_cross(&l, c->from, c->tight, c->loose, p, &x), VB_OK);
        ck_assert(x.early < before);
        before = x.early;
    }
}
END_TEST

/* --- coverage ---------------------------------------------------------------------- */

struct life {
    struct vb_obs obs[16];
    size_t n;
    double from, true_now, rate; // where the last setting really stands at `from`
};

/* 3 to 8 visits, about every third sets the valve anew; a good gauge has w = 4. */
static void
live(struct life *v, double sigma)
{
    size_t visits = 3 + (size_t)(6 * uniform()), interval = 0;
    double meter = 1000 * uniform(), lash = 0.6;
    v->n = 0;
    v->rate = -2e-4 - 2e-4 * uniform();
    for (size_t i = 0; i < visits; i++) {
        double step = i ? 300 + 400 * uniform() : 0;
        meter += step;
        lash += v->rate * step;
        for (int reading = 0; reading < 2; reading++) {
            double w = uniform() < 0.4 ? 4 : 1;
            double y = lash + sigma / sqrt(w) * normal();
            v->obs[v->n++] = (struct vb_obs){meter, y, w, interval};
            if (reading || i == 0 || uniform() > 1.0 / 3)
                break;
            lash = 0.55 + 0.1 * uniform();
            interval++;
        }
    }
    v->from = meter;
    v->true_now = lash;
}

/*
 * The one-sided bound must keep its word: of 2000 valves, 95 % (by chance 0.49 % more or
 * less) are called in before they really reach the limit. The rates are many standard
 * errors from zero and the limit is far off, so nothing is left out or cut at `from`.
 */
START_TEST(early_comes_before_the_truth)
{
    enum { VALVES = 2000 };
    static struct vb_wear fit[VALVES];
    static struct life life[VALVES];
    struct vb_pool pool = {0};
    size_t in_time = 0, late = 0;

    lcg = 20240302;
    for (size_t i = 0; i < VALVES; i++) {
        live(&life[i], 0.012);
        ck_assert_int_eq(vb_wear_fit(life[i].obs, life[i].n, &fit[i]), VB_OK);
        vb_pool_add(&pool, &fit[i]);
    }
    double s2 = vb_pool_s2(&pool, 0);
    for (size_t i = 0; i < VALVES; i++) {
        struct vb_line l = {.ybar = fit[i].last_ybar,
                            .mbar = fit[i].last_mbar,
                            .w = fit[i].last_w,
                            .rate = fit[i].rate,
                            .var_rate = s2 / fit[i].sxx,
                            .s2 = s2,
                            .df = pool.df};
        struct vb_crossing x;
        double tight = life[i].true_now - 0.2;
        double truth = life[i].from + 0.2 / -life[i].rate;
        ck_assert_int_eq(vb_line_cross(&l, life[i].from, tight, NAN, 0.95, &x), VB_OK);
        ck_assert_int_eq(x.way, VB_WAY_TIGHT);
        in_time += x.early <= truth;
        late += x.expected > truth;
    }
    double share = (double)in_time / VALVES, half = (double)late / VALVES;
    ck_assert_msg(share >= 0.94 && share <= 0.96, "in time %.4f", share);
    // The expected crossing, on the other hand, is as often late as not.
    ck_assert_msg(half >= 0.47 && half <= 0.53, "late %.4f", half);
}
END_TEST

/* --- pace -------------------------------------------------------------------------- */

/* EPA 530/R-09-007 example 17-6: sulfate against the date as printed, 89.6 = 1989-06. */
START_TEST(epa_example_17_6)
{
    FILE *f = fopen("fixtures/reference/epa_ug_ex17_6.csv", "r");
    ck_assert_msg(f != NULL, "run from the root of the repository");
    char line[100];
    double x[30], y[30], slope;
    size_t n = 0;
    ck_assert_ptr_nonnull(fgets(line, sizeof line, f));
    while (n < 30 && fgets(line, sizeof line, f)) {
        ck_assert_int_eq(sscanf(line, "%*d,%*d,%*d,%lf,%*[^,],%lf", &x[n], &y[n]), 2);
        n++;
    }
    fclose(f);
    ck_assert_uint_eq(n, 23);
    ck_assert_int_eq(vb_pace(x, y, n, &slope), VB_OK);
    // The dates have one decimal, rounded to 1e-14: 1e-12 of the slope at the very most.
    ck_assert_double_eq_tol(slope, 80.0 / 3, 1e-10);
}
END_TEST

/* Two readings on one day; 14 pairs, so the median is a mean of two. tests/r/forecast.R
 */
START_TEST(pace_leaves_out_pairs_of_one_day)
{
    const double day[] = {10, 10, 31, 55, 90, 121};
    const double meter[] = {1000, 1004, 1190, 1420, 1805, 2010};
    double slope;
    ck_assert_int_eq(vb_pace(day, meter, 6, &slope), VB_OK);
    ck_assert_double_eq_tol(slope, 9.17777777777778, 1e-13);
}
END_TEST

/* In any order, from any epoch, and one slip of the pen does not move it. */
START_TEST(pace_is_robust)
{
    const double day[] = {40, 10, 20, 50, 30};
    const double meter[] = {5400, 5100, 9999, 5500, 5300};
    double slope;
    ck_assert_int_eq(vb_pace(day, meter, 5, &slope), VB_OK);
    ck_assert_double_eq_tol(slope, 10, 1e-12);
    ck_assert_int_eq(vb_pace(day, meter, 2, &slope), VB_OK);
    ck_assert_double_eq_tol(slope, 10, 1e-12);
}
END_TEST

START_TEST(pace_refuses)
{
    const double day[] = {5, 5, 5}, meter[] = {1, 2, 3}, nan[] = {1, NAN, 3};
    const double inf[] = {1, 2, INFINITY}, far[] = {-1e308, 1e308, 1e308};
    double slope = 7;

    ck_assert_int_eq(vb_pace(day, meter, 3, &slope), VB_EDOM);
    ck_assert_int_eq(vb_pace(meter, meter, 0, &slope), VB_EDOM);
    ck_assert_int_eq(vb_pace(meter, meter, 1, &slope), VB_EDOM);
    ck_assert_int_eq(vb_pace(nan, meter, 3, &slope), VB_EDOM);
    ck_assert_int_eq(vb_pace(meter, nan, 3, &slope), VB_EDOM);
    ck_assert_int_eq(vb_pace(meter, inf, 3, &slope), VB_EDOM);
    ck_assert_int_eq(vb_pace(meter, far, 3, &slope), VB_EDOM);
    ck_assert_int_eq(vb_pace(meter, meter, (size_t)-1, &slope), VB_EMEM);
    ck_assert(slope == 7);
}
END_TEST

/* --- errors ------------------------------------------------------------------------ */

static void
refused(struct vb_line l, double from, double tight, double loose, double p)
{
    struct vb_crossing x = {VB_WAY_LOOSE, 1, 2, 3};
    ck_assert_int_eq(vb_line_cross(&l, from, tight, loose, p, &x), VB_EDOM);
    ck_assert(x.way == VB_WAY_LOOSE && x.expected == 1 && x.early == 2 && x.out_now == 3);
}

static void
line_refused(struct vb_line l)
{
    double level = 5, se = 6;
    ck_assert_int_eq(vb_line_level(&l, 2000, &level, &se), VB_EDOM);
    ck_assert(level == 5 && se == 6);
    refused(l, 2000, 0.1, 0.4, 0.95);
}

START_TEST(lines_refused)
{
    const double bad[] = {NAN, INFINITY, -INFINITY};
    struct vb_line good = plain(-4e-5);
    for (size_t member = 0; member < 7; member++) {
        for (size_t k = 0; k < 3; k++) {
            struct vb_line l = good;
            double *all[] = {&l.ybar, &l.mbar, &l.w, &l.rate, &l.var_rate, &l.s2, &l.df};
            *all[member] = bad[k];
            line_refused(l);
        }
    }
    struct vb_line l = good;
    l.w = 0;
    line_refused(l);
    l.w = -1;
    line_refused(l);
    l = good;
    l.df = 0;
    line_refused(l);
    l = good;
    l.s2 = -1e-9;
    line_refused(l);
    l = good;
    l.var_rate = -1e-20;
    line_refused(l);
}
END_TEST

START_TEST(arguments_refused)
{
    struct vb_line l = plain(-4e-5), far = plain(-1e300);
    double level = 5, se = 6;
    const double p[] = {0.4999, 1, 1.01, 0, -1, NAN, INFINITY};
    for (size_t i = 0; i < sizeof p / sizeof *p; i++)
        refused(l, 1000, 0.1, 0.4, p[i]);
    refused(l, NAN, 0.1, 0.4, 0.95);
    refused(l, INFINITY, 0.1, 0.4, 0.95);
    refused(l, 1000, -INFINITY, 0.4, 0.95);
    refused(l, 1000, 0.1, INFINITY, 0.95);
    refused(l, 1000, 0.4, 0.1, 0.95);
    refused(far, 1e10, 0.1, 0.4, 0.95);
    l.df = 1e-3;
    refused(l, 1000, 0.1, 0.4, 0.95);
    // 1e200 above the limit: the square of that is no number, nor is the bound
    refused(
        (struct vb_line){
            .ybar = 1e200, .w = 1, .rate = -1, .var_rate = 0.01, .s2 = 1, .df = 10},
        0, 0, NAN, 0.95);
    l = plain(-4e-5);
    ck_assert_int_eq(vb_line_level(&l, NAN, &level, &se), VB_EDOM);
    ck_assert_int_eq(vb_line_level(&l, INFINITY, &level, &se), VB_EDOM);
    ck_assert_int_eq(vb_line_level(&far, 1e10, &level, &se), VB_EDOM);
    ck_assert(level == 5 && se == 6);
}
END_TEST

static Suite *
forecast_suite(void)
{
    Suite *s = suite_create("forecast");
    TCase *t = tcase_create("reference");
    tcase_add_loop_test(t, predict_and_uniroot_are_met, 0, R_CASES);
    tcase_add_test(t, epa_example_17_6);
    tcase_add_test(t, pace_leaves_out_pairs_of_one_day);
    suite_add_tcase(s, t);

    t = tcase_create("properties");
    tcase_add_loop_test(t, bounds_are_those_of_predict, 0, R_CASES);
    tcase_add_loop_test(t, bounds_meet_the_limit_at_the_early_crossing, 0, R_CASES);
    tcase_add_test(t, bounds_of_nothing_are_refused);
    tcase_add_loop_test(t, mirror_image_crosses_the_other_limit, 0, R_CASES);
    tcase_add_loop_test(t, early_solves_the_bound, 0, 5);
    tcase_add_test(t, exact_line_is_never_early);
    tcase_add_loop_test(t, more_confidence_is_earlier, 0, R_CASES);
    tcase_add_test(t, early_comes_before_the_truth);
    tcase_add_test(t, pace_is_robust);
    suite_add_tcase(s, t);

    t = tcase_create("window");
    tcase_add_test(t, each_limit_alone_and_both);
    tcase_add_test(t, level_outside_already);
    tcase_add_test(t, bound_outside_is_early_but_not_out);
    tcase_add_test(t, rate_must_differ_from_zero);
    suite_add_tcase(s, t);

    t = tcase_create("errors");
    tcase_add_test(t, lines_refused);
    tcase_add_test(t, arguments_refused);
    tcase_add_test(t, pace_refuses);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    vb_start(); // no GSL error ends the program
    return run_suite(forecast_suite());
}
