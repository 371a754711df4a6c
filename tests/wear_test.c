#include "suite.h"
#include "valvebook/wear.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <check.h>

/* Agreement to 12 significant digits: half a unit of the twelfth, relative. */
#define DIGITS12(got, want) ck_assert_double_eq_tol((got), (want), 5e-13 * fabs(want))

/* --- NIST StRD ------------------------------------------------------------------- */

static size_t
read_norris(struct vb_obs *obs, size_t max)
{
    FILE *f = fopen("fixtures/reference/strd_norris.csv", "r");
    ck_assert_msg(f != NULL, "run from the root of the repository");
    char line[80];
    ck_assert_ptr_nonnull(fgets(line, sizeof line, f)); // "y","x"
    size_t n = 0;
    while (n < max && fgets(line, sizeof line, f)) {
        char *end = NULL;
        obs[n].lash = strtod(line, &end);
        ck_assert_int_eq(*end, ',');
        obs[n].meter = strtod(end + 1, NULL);
        obs[n].w = 1;
        obs[n++].interval = 0;
    }
    fclose(f);
    return n;
}

/* Certified values of the data set Norris. */
START_TEST(norris_is_met)
{
    struct vb_obs obs[50];
    struct vb_wear f;
    size_t n = read_norris(obs, 50);
    ck_assert_uint_eq(n, 36);
    ck_assert_int_eq(vb_wear_fit(obs, n, &f), VB_OK);
    ck_assert_int_eq(f.df, 34);
    double s2 = f.sse / (double)f.df;
    DIGITS12(f.rate, 1.00211681802045);
    DIGITS12(sqrt(s2 / f.sxx), 4.29796848199937e-4);
    DIGITS12(sqrt(s2), 0.884796396144373);
    // The intercept is what is left of two numbers near 430: three digits cancel.
    double b0 = f.last_ybar - f.rate * f.last_mbar;
    ck_assert_double_eq_tol(b0, -0.262323073774029, 5e-13);
}
END_TEST

/* Certified values of the data set NoInt1: x = 60..70, y = 130..140. */
START_TEST(noint1_is_met)
{
    double x[11], y[11], b, se, s;
    for (int i = 0; i < 11; i++) {
        x[i] = 60 + i;
        y[i] = 130 + i;
    }
    ck_assert_int_eq(vb_wear_through_origin(x, y, 11, &b, &se, &s), VB_OK);
    DIGITS12(b, 2.07438016528926);
    DIGITS12(se, 0.0165289256198347);
    DIGITS12(s, 3.56753034006338);
}
END_TEST

/* --- many intervals, against R ----------------------------------------------------- */

struct lm_case {
    const char *name;
    size_t n, intervals;
    struct vb_obs obs[12];
    double rate, se, sse, sxx, movement, last_w, last_mbar, last_ybar;
    long df;
    double level7000, se7000;
};

/* Printed by tests/r/wear_lm.R, R version 4.2.2 Patched (2022-11-10 r83330). */
static const struct lm_case lm_cases[] = {
    {
        .name = "balanced",
        .n = 12,
        .intervals = 3,
        .obs = {{0, 0.302, 1, 0},
                {480, 0.271, 1, 0},
                {1010, 0.243, 1, 0},
                {1495, 0.207, 1, 0},
                {1495, 0.298, 1, 1},
                {2003, 0.275, 1, 1},
                {2490, 0.238, 1, 1},
                {3020, 0.211, 1, 1},
                {3020, 0.305, 1, 2},
                {3515, 0.268, 1, 2},
                {4040, 0.246, 1, 2},
                {4490, 0.214, 1, 2}},
        .rate = -6.02737094377963e-05,
        .se = 1.9899473720141e-06,
        .sse = 0.000119058243312622,
        .df = 8,
        .sxx = 3758255.5,
        .movement = -0.273,
        .last_w = 4,
        .last_mbar = 3766.25,
        .last_ybar = 0.25825,
        .level7000 = 0.063339892105526,
        .se7000 = 0.00671786396021709,
    },
    {
        .name = "unbalanced",
        .n = 12,
        .intervals = 5,
        .obs = {{12000, 0.412, 1, 0},
                {12350, 0.405, 1, 0},
                {12910, 0.391, 1, 0},
                {13480, 0.384, 1, 0},
                {14020, 0.366, 1, 0},
                {14020, 0.45, 1, 1},
                {15100, 0.401, 1, 3},
                {15640, 0.397, 1, 3},
                {16220, 0.378, 1, 3},
                {16220, 0.455, 1, 4},
                {17005, 0.431, 1, 4},
                {17005, 0.447, 1, 6}},
        .rate = -2.24015762601105e-05,
        .se = 1.91573606376614e-06,
        .sse = 7.98335824588633e-05,
        .df = 6,
        .sxx = 3625459.16666667,
        .movement = -0.093,
        .last_w = 1,
        .last_mbar = 17005,
        .last_ybar = 0.447,
        .level7000 = 0.671127770482406,
        .se7000 = 0.0195109497435572,
    },
    {
        .name = "weighted",
        .n = 11,
        .intervals = 4,
        .obs = {{250, 0.2, 1, 0},
                {900, 0.213, 4, 0},
                {1500, 0.221, 0.25, 0},
                {2300, 0.242, 9, 0},
                {2300, 0.198, 2.5, 1},
                {3100, 0.217, 1, 1},
                {3900, 0.226, 16, 1},
                {3900, 0.205, 3, 2},
                {4700, 0.199, 0.5, 3},
                {5600, 0.224, 6.25, 3},
                {6100, 0.23, 1, 3}},
        .rate = 1.92349533442168e-05,
        .se = 1.11581844361024e-06,
        .sse = 0.00010750704623326,
        .df = 6,
        .sxx = 14391252.9929041,
        .movement = 0.101,
        .last_w = 7.75,
        .last_mbar = 5606.45161290323,
        .last_ybar = 0.223161290322581,
        .level7000 = 0.249966128531296,
        .se7000 = 0.00217481944952155,
    },
};

#define LM_CASES (int)(sizeof lm_cases / sizeof *lm_cases)

/* R works by QR on the whole design, so the two agree to rounding, not to the bit. */
static void
near_r(double got, double want, const char *name, const char *what)
{
    double rel = fabs(got - want) / fabs(want);
    ck_assert_msg(rel <= 1e-12, "%s %s: %.15g, R has %.15g", name, what, got, want);
}

START_TEST(lm_is_met)
{
    const struct lm_case *c = &lm_cases[_i];
    struct vb_wear f;
    ck_assert_int_eq(vb_wear_fit(c->obs, c->n, &f), VB_OK);
    ck_assert_uint_eq(f.n, c->n);
    ck_assert_uint_eq(f.intervals, c->intervals);
    ck_assert_int_eq(f.df, c->df);
    double s2 = f.sse / (double)f.df;
    double x = 7000 - f.last_mbar;
    near_r(f.rate, c->rate, c->name, "rate");
    near_r(sqrt(s2 / f.sxx), c->se, c->name, "se");
    near_r(f.sse, c->sse, c->name, "sse");
    near_r(f.sxx, c->sxx, c->name, "sxx");
    near_r(f.sxy, c->rate * c->sxx, c->name, "sxy");
    near_r(f.movement, c->movement, c->name, "movement");
    near_r(f.last_w, c->last_w, c->name, "last_w");
    near_r(f.last_mbar, c->last_mbar, c->name, "last_mbar");
    near_r(f.last_ybar, c->last_ybar, c->name, "last_ybar");
    near_r(f.last_ybar + f.rate * x, c->level7000, c->name, "level");
    near_r(sqrt(s2 / f.last_w + s2 / f.sxx * x * x), c->se7000, c->name, "se of level");
    ck_assert(f.now == c->obs[c->n - 1].lash);
    ck_assert(f.now_meter == c->obs[c->n - 1].meter);
}
END_TEST

/* --- properties ----------------------------------------------------------------------
 */

/*
 * The intercept of an interval is its own: shifting all its lashes leaves rate and
 * scatter alone. So does shifting all its meters.
 */
START_TEST(shifting_an_interval_changes_nothing)
{
    const struct lm_case *c = &lm_cases[_i];
    struct vb_wear f0, f;
    ck_assert_int_eq(vb_wear_fit(c->obs, c->n, &f0), VB_OK);
    for (size_t k = 0; k <= 6; k++) {
        for (int meters = 0; meters < 2; meters++) {
            struct vb_obs obs[12];
            for (size_t i = 0; i < c->n; i++) {
                obs[i] = c->obs[i];
                obs[i].meter += meters && obs[i].interval == k ? 4096 : 0;
                obs[i].lash += !meters && obs[i].interval == k ? 0.75 : 0;
            }
            ck_assert_int_eq(vb_wear_fit(obs, c->n, &f), VB_OK);
            // Adding 0.75 rounds a lash of 0.3 to 1e-16 mm, 1e-14 of what it moved.
            ck_assert_double_eq_tol(f.rate, f0.rate, 1e-12 * fabs(f0.rate));
            ck_assert_double_eq_tol(f.sse, f0.sse, 1e-11 * f0.sse);
            ck_assert_double_eq_tol(f.sxx, f0.sxx, 1e-12 * f0.sxx);
            ck_assert_double_eq_tol(f.movement, f0.movement, 1e-14);
        }
    }
}
END_TEST

/* All weights times k: the same rate, sums k times as large. */
START_TEST(only_ratios_of_weights_matter)
{
    const struct lm_case *c = &lm_cases[_i];
    struct vb_obs obs[12];
    struct vb_wear f0, f;
    for (size_t i = 0; i < c->n; i++) {
        obs[i] = c->obs[i];
        obs[i].w *= 1024; // a power of two: nothing rounds
    }
    ck_assert_int_eq(vb_wear_fit(c->obs, c->n, &f0), VB_OK);
    ck_assert_int_eq(vb_wear_fit(obs, c->n, &f), VB_OK);
    ck_assert(f.rate == f0.rate);
    ck_assert(f.sse == 1024 * f0.sse);
    ck_assert(f.sxx == 1024 * f0.sxx);
    ck_assert(f.last_w == 1024 * f0.last_w);
}
END_TEST

/* A weight of 3 is three equal readings, but for the degrees of freedom. */
START_TEST(a_weight_counts_as_repeats)
{
    const struct vb_obs once[] = {{0, 0.31, 1, 0}, {700, 0.27, 3, 0}, {1500, 0.26, 1, 0}};
    const struct vb_obs thrice[] = {{0, 0.31, 1, 0},
                                    {700, 0.27, 1, 0},
                                    {700, 0.27, 1, 0},
                                    {700, 0.27, 1, 0},
                                    {1500, 0.26, 1, 0}};
    struct vb_wear a, b;
    ck_assert_int_eq(vb_wear_fit(once, 3, &a), VB_OK);
    ck_assert_int_eq(vb_wear_fit(thrice, 5, &b), VB_OK);
    ck_assert_double_eq_tol(a.rate, b.rate, 1e-13 * fabs(b.rate));
    ck_assert_double_eq_tol(a.sse, b.sse, 1e-12 * b.sse);
    ck_assert_double_eq_tol(a.sxx, b.sxx, 1e-12 * b.sxx);
    ck_assert_int_eq(a.df, 1);
    ck_assert_int_eq(b.df, 3);
}
END_TEST

/* --- few readings ------------------------------------------------------------------ */

/* 0.1 + 0.2 and its kind leave a rest when means are taken carelessly. */
START_TEST(single_readings_give_no_rate)
{
    const struct vb_obs obs[] = {
        {0.1, 0.3, 0.7, 0}, {1234.7, 0.1, 0.3, 1}, {98765.4, 0.2, 1.1, 5}};
    struct vb_wear f;
    ck_assert_int_eq(vb_wear_fit(obs, 3, &f), VB_OK);
    ck_assert_uint_eq(f.n, 3);
    ck_assert_uint_eq(f.intervals, 3);
    ck_assert_int_eq(f.df, 0);
    ck_assert(f.sxx == 0 && f.sxy == 0 && f.sse == 0 && f.movement == 0);
    ck_assert(isnan(f.rate));
    ck_assert(f.now == 0.2 && f.now_meter == 98765.4);
    ck_assert(f.last_w == 1.1 && f.last_mbar == 98765.4 && f.last_ybar == 0.2);
}
END_TEST

START_TEST(readings_at_one_meter_give_no_rate)
{
    const struct vb_obs obs[] = {
        {1234.7, 0.31, 0.7, 0}, {1234.7, 0.30, 0.3, 0}, {1234.7, 0.32, 0.1, 0}};
    struct vb_wear f;
    ck_assert_int_eq(vb_wear_fit(obs, 3, &f), VB_OK);
    ck_assert(f.sxx == 0);
    ck_assert(isnan(f.rate));
    ck_assert_int_eq(f.df, 2); // a mean and no slope: R lm(y ~ m) has 2 as well
    // By hand, about 0.31: sum w d^2 - (sum w d)^2 / sum w, d = 0, -0.01, 0.01.
    ck_assert_double_eq_tol(f.sse, (4e-5 - 0.002 * 0.002 / 1.1), 1e-15);
}
END_TEST

/* Two readings lie on their line: a rate, but no scatter. */
START_TEST(two_readings_give_a_rate_without_scatter)
{
    const struct vb_obs obs[] = {{100, 0.3, 1, 2}, {1100, 0.25, 1, 2}, {1100, 0.4, 1, 3}};
    struct vb_wear f;
    for (size_t n = 2; n <= 3; n++) {
        ck_assert_int_eq(vb_wear_fit(obs, n, &f), VB_OK);
        ck_assert_int_eq(f.df, 0);
        ck_assert(f.sse == 0);
        ck_assert_double_eq_tol(f.rate, -5e-5, 1e-18);
        ck_assert_double_eq_tol(f.movement, -0.05, 1e-15);
    }
}
END_TEST

/* Readings that lie on their lines: what the decimals leave in binary is no scatter, neither far
 * along a meter nor in a second interval. A thousandth of a micron is one. */
START_TEST(rounding_is_no_scatter)
{
    struct vb_obs obs[] = {{123400.1, 0.40, 1, 0}, {123500.1, 0.39, 1, 0},
                           {123600.1, 0.38, 1, 0}, {123600.1, 0.51, 1, 1},
                           {123700.1, 0.50, 1, 1}, {123900.1, 0.48, 1, 1}};
    struct vb_wear f;
    ck_assert_int_eq(vb_wear_fit(obs, 6, &f), VB_OK);
    ck_assert_double_eq_tol(f.rate, -1e-4, 1e-15);
    ck_assert(f.sse == 0);
    ck_assert_int_eq(f.df, 3);
    obs[1].lash += 1e-6;
    ck_assert_int_eq(vb_wear_fit(obs, 6, &f), VB_OK);
    // by hand: at the mean of its interval's meters it moves no slope, and a mean by a third
    ck_assert_double_eq_tol(f.sse, 1e-12 * 2 / 3, 1e-17);
}
END_TEST

/* --- pool -------------------------------------------------------------------------- */

START_TEST(pool_adds_what_has_scatter)
{
    struct vb_pool p = {0};
    ck_assert(isnan(vb_pool_s2(&p, 0.01)));
    vb_pool_add(&p, &(struct vb_wear){.df = 0, .sse = 0});
    vb_pool_add(&p, &(struct vb_wear){.df = -2, .sse = 0});
    ck_assert(isnan(vb_pool_s2(&p, 0)));
    vb_pool_add(&p, &(struct vb_wear){.df = 1, .sse = 2e-4});
    vb_pool_add(&p, &(struct vb_wear){.df = 4, .sse = 3e-4});
    ck_assert_uint_eq(p.valves, 2);
    ck_assert(p.df == 5);
    ck_assert_double_eq_tol(vb_pool_s2(&p, 0), 1e-4, 1e-18);
    ck_assert_double_eq_tol(vb_pool_s2(&p, 0.009), 1e-4, 1e-18);
    ck_assert_double_eq_tol(vb_pool_s2(&p, 0.02), 4e-4, 1e-18);
    ck_assert_double_eq_tol(vb_pool_s2(&p, NAN), 1e-4, 1e-18);
}
END_TEST

/* --- errors ------------------------------------------------------------------------ */

static void
refused(const struct vb_obs *obs, size_t n)
{
    struct vb_wear f = {.n = 77, .rate = 5};
    ck_assert_int_eq(vb_wear_fit(obs, n, &f), VB_EDOM);
    ck_assert_uint_eq(f.n, 77);
    ck_assert(f.rate == 5);
}

START_TEST(fit_refuses)
{
    const double bad[] = {NAN, INFINITY, -INFINITY};
    const struct vb_obs good[] = {{0, 0.3, 1, 0}, {500, 0.2, 1, 1}, {900, 0.1, 1, 1}};
    struct vb_wear f;
    ck_assert_int_eq(vb_wear_fit(good, 3, &f), VB_OK);
    refused(good, 0);
    for (size_t i = 0; i < 3; i++) {
        for (size_t k = 0; k < 3; k++) {
            struct vb_obs o[3] = {good[0], good[1], good[2]};
            o[i].meter = bad[k];
            refused(o, 3);
            o[i] = good[i];
            o[i].lash = bad[k];
            refused(o, 3);
            o[i] = good[i];
            o[i].w = bad[k];
            refused(o, 3);
        }
        struct vb_obs o[3] = {good[0], good[1], good[2]};
        o[i].w = 0;
        refused(o, 3);
        o[i].w = -1;
        refused(o, 3);
    }
    struct vb_obs o[3] = {good[0], good[1], good[2]};
    o[0].interval = 2;
    refused(o, 3);
}
END_TEST

/* Finite, but their squares are not. */
START_TEST(fit_refuses_overflow)
{
    const struct vb_obs far[] = {{0, 0.3, 1, 0}, {1e200, 0.2, 1, 0}, {2e200, 0.3, 1, 0}};
    const struct vb_obs high[] = {{0, 1e308, 1, 0}, {5, -1e308, 1, 0}, {9, 0.3, 1, 0}};
    const struct vb_obs heavy[] = {{0, 0.3, 1e308, 0}, {5, 0.2, 1e308, 0}};
    refused(far, 3);
    refused(high, 3);
    refused(heavy, 2);
}
END_TEST

START_TEST(origin_refuses)
{
    const double zero[] = {0, 0, 0}, x[] = {1, 2, 3}, y[] = {1, NAN, 3};
    const double huge[] = {1, 1e200, 3};
    double b = 7, se = 8, s = 9;
    ck_assert_int_eq(vb_wear_through_origin(x, x, 1, &b, &se, &s), VB_EDOM);
    ck_assert_int_eq(vb_wear_through_origin(x, x, 0, &b, &se, &s), VB_EDOM);
    ck_assert_int_eq(vb_wear_through_origin(zero, x, 3, &b, &se, &s), VB_EDOM);
    ck_assert_int_eq(vb_wear_through_origin(x, y, 3, &b, &se, &s), VB_EDOM);
    ck_assert_int_eq(vb_wear_through_origin(y, x, 3, &b, &se, &s), VB_EDOM);
    ck_assert_int_eq(vb_wear_through_origin(huge, x, 3, &b, &se, &s), VB_EDOM);
    ck_assert(b == 7 && se == 8 && s == 9);
    ck_assert_int_eq(vb_wear_through_origin(x, x, 2, &b, &se, &s), VB_OK);
    ck_assert(b == 1 && se == 0 && s == 0);
}
END_TEST

/* --- coverage ---------------------------------------------------------------------- */

static unsigned long long lcg = 20240229;

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

/*
 * A valve's life: 3 to 8 visits, about every third sets it anew, readings by a good gauge
 * (w = 4) or a plain one. Returns how many readings were made.
 */
static size_t
live(struct vb_obs *obs, double rate, double sigma)
{
    size_t visits = 3 + (size_t)(6 * uniform()), n = 0, interval = 0;
    double meter = 1000 * uniform(), lash = 0.3;
    for (size_t v = 0; v < visits; v++) {
        for (int reading = 0; reading < 2; reading++) {
            double w = uniform() < 0.4 ? 4 : 1;
            obs[n++] =
                (struct vb_obs){meter, lash + sigma / sqrt(w) * normal(), w, interval};
            if (reading || v == 0 || v == visits - 1 || uniform() > 1.0 / 3)
                break;
            lash = 0.2 + 0.2 * uniform();
            interval++;
        }
        double step = 300 + 400 * uniform();
        meter += step;
        lash += rate * step;
    }
    return n;
}

/*
 * 2 se either side of a normal hold 95.45 %; of 2000, by chance, 0.47 % more or less.
 * s2 must come out as sigma^2: the pooled df is 7040, so one sd is 1.7 %.
 */
START_TEST(standard_errors_cover_the_truth)
{
    enum { VALVES = 2000 };
    static struct vb_wear fit[VALVES];
    static double truth[VALVES];
    const double sigma = 0.012;
    struct vb_pool pool = {0};
    size_t held = 0;

    for (size_t i = 0; i < VALVES; i++) {
        struct vb_obs obs[16];
        truth[i] = -1e-4 * uniform();
        size_t n = live(obs, truth[i], sigma);
        ck_assert_int_eq(vb_wear_fit(obs, n, &fit[i]), VB_OK);
        vb_pool_add(&pool, &fit[i]);
    }
    double s2 = vb_pool_s2(&pool, 0);
    ck_assert_double_eq_tol(s2, sigma * sigma, 0.04 * sigma * sigma);
    for (size_t i = 0; i < VALVES; i++) {
        ck_assert(!isnan(fit[i].rate));
        held += fabs(fit[i].rate - truth[i]) <= 2 * sqrt(s2 / fit[i].sxx);
    }
    double share = (double)held / VALVES;
    ck_assert_msg(share >= 0.945 && share <= 0.965, "covered %.4f", share);
}
END_TEST

static Suite *
wear_suite(void)
{
    Suite *s = suite_create("wear");
    TCase *t = tcase_create("reference");
    tcase_add_test(t, norris_is_met);
    tcase_add_test(t, noint1_is_met);
    tcase_add_loop_test(t, lm_is_met, 0, LM_CASES);
    suite_add_tcase(s, t);

    t = tcase_create("properties");
    tcase_add_loop_test(t, shifting_an_interval_changes_nothing, 0, LM_CASES);
    tcase_add_loop_test(t, only_ratios_of_weights_matter, 0, LM_CASES);
    tcase_add_test(t, a_weight_counts_as_repeats);
    tcase_add_test(t, standard_errors_cover_the_truth);
    suite_add_tcase(s, t);

    t = tcase_create("edges");
    tcase_add_test(t, single_readings_give_no_rate);
    tcase_add_test(t, readings_at_one_meter_give_no_rate);
    tcase_add_test(t, two_readings_give_a_rate_without_scatter);
    tcase_add_test(t, rounding_is_no_scatter);
    tcase_add_test(t, pool_adds_what_has_scatter);
    tcase_add_test(t, fit_refuses);
    tcase_add_test(t, fit_refuses_overflow);
    tcase_add_test(t, origin_refuses);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(wear_suite());
}
