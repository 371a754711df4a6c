/*
 * One-step residuals against a fit of the readings before, done anew for each: the
 * prediction error and its variance come from vb_wear_fit, which R has checked.
 */
#include "draw.h"
#include "suite.h"
#include "valvebook/change.h"
#include "valvebook/residual.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include <check.h>

#define CASES   200
#define MAX_OBS 48 // 8 intervals of 6

static double
uniform(double lo, double hi)
{
    return lo + (hi - lo) * (double)(draw() >> 11) / 9007199254740992.0;
}

/* At most tol apart: exactly alike where that is 0. */
static void
near(double got, double want, double tol)
{
    ck_assert_msg(fabs(got - want) <= tol, "%.17g is not %.17g", got, want);
}

/*
 * 1 to 8 intervals of 1 to 6 readings, weighted in every other case, some numbers left
 * out. Now and then a reading is repeated at its meter, once there is a rate.
 */
static size_t
draw_obs(int seed, struct vb_obs *o)
{
    state = (uint64_t)seed;
    size_t n = 0, interval = 0, intervals = 1 + draw() % 8;
    int sloped = 0;
    double m = uniform(0, 20000), rate = uniform(-6e-5, 3e-5);
    for (size_t j = 0; j < intervals; j++, interval += 1 + draw() % 2) {
        size_t k = draw() % 4 ? 1 + draw() % 6 : 1;
        double set = uniform(0.2, 0.4), begin = m;
        for (size_t i = 0; i < k; i++, n++) {
            if (i > 0 && !(sloped && draw() % 8 == 0))
                m += uniform(40, 1000);
            sloped |= m > begin;
            o[n].meter = m;
            o[n].lash = set + rate * (m - begin) + uniform(-0.01, 0.01);
            o[n].w = seed % 2 ? uniform(0.2, 8) : 1;
            o[n].interval = interval;
        }
    }
    return n;
}

/* What a fit of the first i readings says of the next. */
static int
by_refit(const struct vb_obs *o, size_t i, double *q)
{
    struct vb_wear f;
    if (i == 0 || o[i].interval != o[i - 1].interval)
        return 0;
    ck_assert_int_eq(vb_wear_fit(o, i, &f), VB_OK);
    if (isnan(f.rate))
        return 0;
    double dm = o[i].meter - f.last_mbar;
    double e = o[i].lash - (f.last_ybar + f.rate * dm);
    *q = e / sqrt(1 / o[i].w + 1 / f.last_w + dm * dm / f.sxx);
    return 1;
}

/*
 * A residual may be nearly 0, so it is held against 0.01 mm, of which they are made. The
 * rounding is that of lash about 0.4 mm, times what the meters' leverage makes of it.
 */
START_TEST(each_equals_a_refit)
{
    struct vb_obs o[MAX_OBS];
    size_t n = draw_obs(_i, o);
    struct vb_run run = {0};
    for (size_t i = 0; i < n; i++) {
        double got = 77, want = 77;
        int known = vb_run_next(&run, &o[i], &got);
        ck_assert_int_eq(known, by_refit(o, i, &want));
        near(got, want, 1e-9 * 0.01);
    }
}
END_TEST

/* Brown, Durbin & Evans (1975), lemma 2; as many as there are degrees of freedom. */
START_TEST(squares_add_up_to_the_sse)
{
    struct vb_obs o[MAX_OBS];
    struct vb_wear f;
    size_t n = draw_obs(_i, o);
    struct vb_run run = {0};
    double sum = 0, q;
    long known = 0;
    for (size_t i = 0; i < n; i++) {
        if (!vb_run_next(&run, &o[i], &q))
            continue;
        sum += q * q;
        known++;
    }
    ck_assert_int_eq(vb_wear_fit(o, n, &f), VB_OK);
    ck_assert_int_eq(known, f.df > 0 ? f.df : 0);
    near(sum, f.sse, 1e-9 * f.sse);
}
END_TEST

/* The sums on the way are those of the fit of the readings so far. */
START_TEST(sums_are_those_of_the_fit)
{
    struct vb_obs o[MAX_OBS];
    size_t n = draw_obs(_i, o);
    struct vb_run run = {0};
    for (size_t i = 0; i < n; i++) {
        struct vb_wear f;
        double q;
        vb_run_next(&run, &o[i], &q);
        ck_assert_int_eq(vb_wear_fit(o, i + 1, &f), VB_OK);
        ck_assert_uint_eq(run.n, i + 1);
        ck_assert_uint_eq(run.interval, o[i].interval);
        near(run.sxx, f.sxx, 1e-12 * f.sxx);
        // Not relative to sxy itself, which may cancel: 1 mm over the spread of meters.
        near(run.sxy, f.sxy, 1e-12 * sqrt(f.sxx));
        near(run.w, f.last_w, 1e-14 * f.last_w);
        near(run.mbar, f.last_mbar, 1e-14 * f.last_mbar);
        near(run.ybar, f.last_ybar, 1e-14);
    }
}
END_TEST

/* --- by hand ----------------------------------------------------------------------- */

/*
 * Rate 1 from two readings, then 3 where 2 was expected: 1 / sqrt(1 + 1/2 + 1.5^2 / 0.5)
 * = 1 / sqrt(6). The new interval's first gives none; its second, at the rate 1.5 that
 * three readings gave, is 1 off, with 1 / 1 + 1 / 1 + 2^2 / 2 = 4.
 */
START_TEST(by_hand)
{
    const struct vb_obs o[] = {
        {0, 0, 1, 0}, {1, 1, 1, 0}, {2, 3, 1, 0}, {5, 10, 1, 2}, {7, 14, 1, 2}};
    const double want[] = {0, 0, 1 / sqrt(6), 0, 0.5};
    const int known[] = {0, 0, 1, 0, 1};
    struct vb_run run = {0};
    for (size_t i = 0; i < 5; i++) {
        double q = 77;
        ck_assert_int_eq(vb_run_next(&run, &o[i], &q), known[i]);
        near(q, known[i] ? want[i] : 77, 1e-14);
    }
}
END_TEST

/* Single readings never give a rate, however many; nor a first pair its own residual. */
START_TEST(first_readings_give_none)
{
    struct vb_run run = {0};
    double q = 77;
    for (size_t i = 0; i < 9; i++) {
        const struct vb_obs o = {100.0 * (double)i, 0.3 + 0.01 * (double)(i % 3), 1, i};
        ck_assert_int_eq(vb_run_next(&run, &o, &q), 0);
    }
    const struct vb_obs second = {900, 0.31, 2, 8};
    ck_assert_int_eq(vb_run_next(&run, &second, &q), 0);
    ck_assert(q == 77);
    const struct vb_obs third = {1000, 0.31, 1, 8};
    ck_assert_int_eq(vb_run_next(&run, &third, &q), 1);
}
END_TEST

/* A number of 0 is an interval like any other: the first reading begins it. */
START_TEST(interval_numbers_do_not_matter)
{
    struct vb_obs o[MAX_OBS];
    for (int seed = 0; seed < 20; seed++) {
        size_t n = draw_obs(seed, o);
        struct vb_run a = {0}, b = {0};
        for (size_t i = 0; i < n; i++) {
            struct vb_obs moved = o[i];
            moved.interval = 3 * o[i].interval + 5;
            double qa = 77, qb = 77;
            ck_assert_int_eq(vb_run_next(&a, &o[i], &qa), vb_run_next(&b, &moved, &qb));
            ck_assert(qa == qb);
        }
    }
}
END_TEST

/* 1, 1, 2 newest first: (1, 1) lies below the line to (3, 4), (2, 2) too. */
START_TEST(corners_by_hand)
{
    const double q[] = {-9, 2, 1, 1};
    struct vb_corner c[4];
    ck_assert_uint_eq(vb_cusum_corners(q, 4, 1, c), 1);
    ck_assert_uint_eq(c[0].n, 3);
    ck_assert_double_eq(c[0].sum, 4);
    ck_assert_double_eq(vb_cusum_end(c, 1, 1, 0.5), 2.5);
    ck_assert_uint_eq(vb_cusum_corners(q, 4, -1, c), 1); // 9 - 4
    ck_assert_uint_eq(c[0].n, 4);
    ck_assert_double_eq(c[0].sum, 5);
    ck_assert_double_eq(vb_cusum_end(c, 1, 0.5, 0.5), 8);
    ck_assert_double_eq(vb_cusum_end(c, 1, 10, 0.5), 0);
    const double r[] = {1, 2, 3}; // each newer one is larger: all are corners
    ck_assert_uint_eq(vb_cusum_corners(r, 3, 1, c), 3);
    ck_assert_uint_eq(vb_cusum_corners(r, 3, -1, c), 0);
    ck_assert_uint_eq(vb_cusum_corners(r, 0, 1, c), 0);
    ck_assert_double_eq(vb_cusum_end(c, 0, 1, 0.5), 0);
}
END_TEST

/* The recursion ends where the corners say, at every scale; with steps and long leanings. */
START_TEST(corners_stand_for_all)
{
    static const double scale[] = {0.01, 0.3, 1, 1.7, 40};
    double q[300], hi[300], lo[300];
    struct vb_corner c[300];
    size_t first, most = 0;
    state = (uint64_t)_i;
    size_t n = 1 + draw() % 300;
    double lean = uniform(-0.6, 0.6);
    for (size_t i = 0; i < n; i++)
        q[i] = lean + uniform(-1, 1) * (draw() % 10 ? 1 : 8);
    for (size_t k = 0; k < 5; k++) {
        const struct vb_cusum_plan plan = {0, scale[k], 0.5, 5};
        ck_assert_int_eq(vb_cusum(q, n, &plan, hi, lo, &first), VB_OK);
        for (int side = 1; side >= -1; side -= 2) {
            size_t corners = vb_cusum_corners(q, n, side, c);
            double want = side > 0 ? hi[n - 1] : lo[n - 1];
            most = corners > most ? corners : most;
            near(vb_cusum_end(c, corners, scale[k], 0.5), want, 1e-10 * (1 + want));
        }
    }
    ck_assert_uint_le(most, 40);
}
END_TEST

static Suite *
residual_suite(void)
{
    Suite *s = suite_create("residual");
    TCase *t = tcase_create("random");
    tcase_add_loop_test(t, each_equals_a_refit, 0, CASES);
    tcase_add_loop_test(t, squares_add_up_to_the_sse, 0, CASES);
    tcase_add_loop_test(t, sums_are_those_of_the_fit, 0, CASES);
    tcase_add_test(t, interval_numbers_do_not_matter);
    suite_add_tcase(s, t);

    t = tcase_create("small");
    tcase_add_test(t, corners_by_hand);
    tcase_add_loop_test(t, corners_stand_for_all, 0, CASES);
    tcase_add_test(t, by_hand);
    tcase_add_test(t, first_readings_give_none);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(residual_suite());
}
