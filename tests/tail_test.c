/*
 * Bounds on how far one life counts in the scatter of all. Expected values: GSL's chi-square,
 * by hand, the equation that the bound solves, and a seeded simulation.
 */
#include "draw.h"
#include "suite.h"
#include "valvebook/fleet.h"
#include "valvebook/tail.h"

#include <check.h>
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define MOST 512

static struct vb_tail tail;
static struct vb_pool pool;
static struct vb_wear life[MOST];
static size_t n;

static void
clear(void)
{
    free(tail.class);
    tail = (struct vb_tail){0};
    pool = (struct vb_pool){0};
}

static void
put(double sse, long df)
{
    life[n++] = (struct vb_wear){.n = 1, .df = df, .sse = sse};
}

/* The s2 of all lives, in this order or from the last to the first. */
static double
settle(int backwards, double *bound)
{
    clear();
    for (size_t i = 0; i < n; i++) {
        const struct vb_wear *w = &life[backwards ? n - 1 - i : i];
        vb_pool_add(&pool, w);
        ck_assert_int_eq(vb_tail_add(&tail, w), VB_OK);
    }
    *bound = vb_tail_cut(&tail, &pool);
    return vb_pool_s2(&pool, 0);
}

static void
setup(void)
{
    n = 0;
    state = 20;
}

/* Sum of as many squared normals: pairs are exponential (Box & Muller 1958). */
static double
chi_square(long df)
{
    double x = 0;
    for (long k = 0; k < df / 2; k++)
        x -= 2 * log(draw_unit());
    if (df % 2)
        x -= 2 * log(draw_unit()) * pow(cos(6.283185307179586 * draw_unit()), 2);
    return x;
}

START_TEST(points_are_those_of_chi_square)
{
    const double df[] = {1, 2, 3, 5, 10, 20, 100, 1000};
    const double within[] = {0.08, 0.05, 0.04, 0.025, 0.015, 0.01, 0.002, 0.0005};
    for (size_t i = 0; i < sizeof df / sizeof *df; i++) {
        double want = gsl_cdf_chisq_Qinv(1e-4, df[i]);
        ck_assert_double_eq_tol(vb_tail_point(df[i]), want, within[i] * want);
    }
}
END_TEST

START_TEST(what_stays_within_is_the_plain_mean)
{
    double bound, sse = 0;
    for (int i = 0; i < 50; i++) {
        put(0.001 * (1 + i % 7), 3);
        sse += life[i].sse;
    }
    ck_assert(settle(0, &bound) == sse / 150);
    ck_assert(isinf(bound));
    ck_assert(pool.df == 150 && pool.valves == 50);
}
END_TEST

START_TEST(without_df_nothing_counts)
{
    double bound;
    put(5, 0);
    put(5, -1);
    ck_assert(isnan(settle(0, &bound)) && isinf(bound));
    put(0, 3);
    ck_assert(settle(0, &bound) == 0 && isinf(bound));
}
END_TEST

/* By hand: s = SSE of the others / (all df - the point of the one). */
START_TEST(one_life_counts_up_to_its_bound)
{
    double bound, want = 79 * 0.004 / (320 - vb_tail_point(4));
    for (int i = 0; i < 79; i++)
        put(0.004, 4);
    put(10, 4);
    ck_assert_double_eq_tol(settle(0, &bound), want, 1e-12);
    ck_assert_double_eq_tol(bound, want, 1e-12);
    life[79].sse = 1000; // beyond is beyond
    ck_assert_double_eq_tol(settle(0, &bound), want, 1e-12);
}
END_TEST

START_TEST(two_lives_of_other_df_too)
{
    double bound, want = 60 * 0.01 / (320 - vb_tail_point(6) - vb_tail_point(14));
    for (int i = 0; i < 60; i++)
        put(0.01, 5);
    put(1e6, 6);
    put(3, 14);
    ck_assert_double_eq_tol(settle(0, &bound), want, 1e-12);
}
END_TEST

/* 8 df are fewer than the point of 2: the far one may be right, and the others lucky. */
START_TEST(few_lives_are_not_bounded)
{
    double bound;
    put(0.002, 2), put(0.002, 2), put(0.002, 2), put(4, 2);
    ck_assert_double_eq_tol(settle(0, &bound), 4.006 / 8, 1e-15);
    ck_assert(isinf(bound));
}
END_TEST

/* Where the others agree to the last digit, the step of a dial indicator is still no slip. */
START_TEST(no_bound_below_a_dial_indicator)
{
    double bound;
    for (int i = 0; i < 79; i++)
        put(0, 3);
    put(0.0015, 3); // below 21 x 0.0001
    ck_assert_double_eq_tol(settle(0, &bound), 0.0015 / 240, 1e-18);
    ck_assert(isinf(bound));
    life[79].sse = 9;
    ck_assert_double_eq_tol(settle(0, &bound), vb_tail_point(3) * 1e-4 / 240, 1e-18);
    ck_assert_double_eq(bound, 1e-4);
}
END_TEST

static void
draw_lives(size_t lives, long most_df, size_t slips)
{
    n = 0;
    for (size_t i = 0; i < lives; i++) {
        long df = 1 + (long)((double)most_df * draw_unit());
        put(0.0009 * chi_square(df) + (i < slips ? 50 * draw_unit() : 0), df);
    }
}

/* sum min(SSE, point s) / sum df - s falls through 0 once: bisected, life by life. */
static double
root(void)
{
    double lo = 1e-4, hi = 1e4;
    while (hi - lo > 1e-12 * hi) {
        double s = (lo + hi) / 2, sse = 0, df = 0;
        for (size_t i = 0; i < n; i++) {
            sse += fmin(life[i].sse, s * vb_tail_point((double)life[i].df));
            df += (double)life[i].df;
        }
        *(sse > s * df ? &lo : &hi) = s;
    }
    return hi;
}

/* But for lives in the class that the bound falls into. */
START_TEST(random_sets_solve_the_equation)
{
    for (int k = 0; k < 300; k++) {
        double bound, back, want, got;
        draw_lives(20 + (size_t)(300 * draw_unit()), 1 + k % 20, (size_t)k % 4);
        want = root();
        got = settle(0, &bound);
        ck_assert_double_eq_tol(got, want, 0.002 * want);
        ck_assert_double_eq_tol(settle(1, &back), got, 1e-12 * got);
        ck_assert(back == bound || fabs(back - bound) < 1e-12 * bound);
    }
}
END_TEST

/* As many draws as make three standard errors of the mean less than 1 %. */
START_TEST(true_scatter_is_not_made_less)
{
    const size_t lives[] = {5, 20, 100, 500};
    const long df[] = {1, 3, 20};
    for (size_t i = 0; i < 12; i++) {
        size_t each = lives[i % 4] * (size_t)df[i / 4], times = 1 + 200000 / each;
        double sum = 0, bound;
        for (size_t k = 0; k < times; k++) {
            n = 0;
            while (n < lives[i % 4])
                put(0.0009 * chi_square(df[i / 4]), df[i / 4]);
            sum += settle(0, &bound);
        }
        ck_assert_double_eq_tol(sum / (double)times, 0.0009, 0.01 * 0.0009);
    }
}
END_TEST

/* --- a family ------------------------------------------------------------------------ */

START_TEST(a_group_bounds_its_lives)
{
    struct vb_fleet f = {0};
    struct vb_life_sum sum = {
        .meter_unit = "h", .side = 1, .n = 6, .df = 4, .sse = 0.004, .sxx = 1, .rate = 1};
    for (int i = 0; i < 79; i++)
        ck_assert_int_eq(vb_fleet_count(&f, "depot6", &sum), VB_OK);
    sum.sse = 10;
    ck_assert_int_eq(vb_fleet_count(&f, "depot6", &sum), VB_OK);
    ck_assert_int_eq(vb_fleet_settle(&f), VB_OK);
    double want = 79 * 0.004 / (320 - vb_tail_point(4));
    ck_assert_double_eq_tol(f.group[0].s2, want, 1e-12);
    ck_assert_double_eq_tol(f.group[0].bound, want, 1e-12);
    ck_assert_double_eq_tol(f.group[0].var[79], want, 1e-12);
    vb_fleet_clear(&f);
}
END_TEST

#define VALVES 40
#define VISITS 8

/* Valve 1 closes far faster than the others; the slip is its newest reading. */
static enum vb_err
add_engine(struct vb_fleet *f, const struct vb_family *family, double slip)
{
    static struct vb_visit visit[VISITS];
    static struct vb_lash lash[VALVES * VISITS];
    struct vb_engine e = {.name = "D-1",
                          .family = family,
                          .family_name = "depot6",
                          .meter_unit = "h",
                          .visit = visit,
                          .n_visits = VISITS,
                          .lash = lash};
    state = 5;
    for (int i = 0; i < VISITS; i++)
        visit[i] = (struct vb_visit){.day = 10 * i, .meter = 100 * i, .running = 100 * i};
    for (size_t k = 0; k < (size_t)VALVES * VISITS; k++) {
        int cyl = 1 + (int)(k / VISITS), last = k == VISITS - 1;
        double y = (cyl == 1 ? -0.1 : -0.01) * (double)(k % VISITS) + 0.1 * draw_unit();
        if (!last || !isnan(slip))
            lash[e.n_lash++] = (struct vb_lash){
                k % VISITS, {cyl, 'E', 0}, last ? slip : 2 + y, NAN, NAN, NAN};
    }
    return vb_fleet_add(f, &e, 1000);
}

/* By hand: the prediction from the readings before it, with the scatter of all but it. */
START_TEST(a_slip_is_tested_by_the_scatter_without_it)
{
    struct vb_fleet with = {0}, without = {0};
    struct vb_family family;
    struct vb_state st;
    vb_family_init(&family);
    ck_assert_int_eq(add_engine(&with, &family, 20), VB_OK);
    ck_assert_int_eq(add_engine(&without, &family, NAN), VB_OK);
    for (size_t i = 0; i < VALVES; i++)
        vb_pool_add(&pool, &without.lives.life[i].wear);
    ck_assert_int_eq(vb_fleet_pool(&with), VB_OK);
    vb_fleet_state(&with, 0, &st);
    const struct vb_wear *w = &without.lives.life[0].wear;
    double dm = 700 - w->last_mbar, s2 = pool.sse / pool.df;
    ck_assert_double_eq_tol(st.off_sd, sqrt(s2 * (1 / w->last_w + dm * dm / w->sxx + 1)),
                            1e-9);
    ck_assert(st.step.step && st.off > 10);
    // it is one life of 40 with 6 df each
    double bounded = 240 - vb_tail_point(6);
    double others = pool.sse - w->sse;
    ck_assert_double_eq_tol(with.group[0].s2, others / bounded, 1e-9);
    vb_fleet_clear(&with);
    vb_fleet_clear(&without);
}
END_TEST

static Suite *
tail_suite(void)
{
    Suite *s = suite_create("tail");
    TCase *t = tcase_create("tail");
    tcase_add_checked_fixture(t, setup, clear);
    tcase_set_timeout(t, 60);
    tcase_add_test(t, points_are_those_of_chi_square);
    tcase_add_test(t, what_stays_within_is_the_plain_mean);
    tcase_add_test(t, without_df_nothing_counts);
    tcase_add_test(t, one_life_counts_up_to_its_bound);
    tcase_add_test(t, two_lives_of_other_df_too);
    tcase_add_test(t, few_lives_are_not_bounded);
    tcase_add_test(t, no_bound_below_a_dial_indicator);
    tcase_add_test(t, random_sets_solve_the_equation);
    tcase_add_test(t, true_scatter_is_not_made_less);
    tcase_add_test(t, a_group_bounds_its_lives);
    tcase_add_test(t, a_slip_is_tested_by_the_scatter_without_it);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(tail_suite());
}
