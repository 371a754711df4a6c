/* Courses of valves: small cases worked out by hand, and what must hold of any. */
#include "suite.h"
#include "valvebook/course.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "valvebook/quantity.h"

#define VISITS 12

static struct vb_family family;
static struct vb_visit visit[VISITS];
static struct vb_event event[2];
static struct vb_lash lash[64];
static struct vb_engine engine;
static struct vb_fleet fleet;
static struct vb_lives lives;
static struct vb_points points;
static struct vb_segment segment[64];
static double closed[64], v[64];

static void
setup(void)
{
    vb_family_init(&family);
    memset(&fleet, 0, sizeof fleet);
    memset(&lives, 0, sizeof lives);
    memset(&points, 0, sizeof points);
    for (int i = 0; i < VISITS; i++)
        visit[i] =
            (struct vb_visit){.day = 100 + 10 * i, .meter = 100 * i, .running = 100 * i};
    engine = (struct vb_engine){.name = "HC-1",
                                .family = &family,
                                .family_name = "hill16",
                                .meter_unit = "h",
                                .visit = visit,
                                .n_visits = VISITS,
                                .event = event,
                                .lash = lash};
}

static void
teardown(void)
{
    vb_lives_clear(&lives);
    vb_points_clear(&points);
    vb_fleet_clear(&fleet);
}

static void
put(int cyl, size_t at, double found, double left, double u)
{
    lash[engine.n_lash++] = (struct vb_lash){at, {cyl, 'E', 0}, found, left, u, NAN};
}

static void
renew(double day, int renews)
{
    event[engine.n_events] = (struct vb_event){.day = day, .renews = renews};
    engine.n_events++;
}

static void
gather(void)
{
    ck_assert_int_eq(vb_lives_points(&engine, 0, &lives, &points), VB_OK);
}

static void
near(double got, double want)
{
    ck_assert_double_eq_tol(got, want, 1e-12);
}

/* 0.40 0.38 0.35 at 0 100 200, set; 0.40 0.37 at 200 300: the rate of tests/life_test.c,
 * -6.5 / 25000; means (100, 0.3766667) and (250, 0.385). */
START_TEST(segments_share_a_slope)
{
    size_t n = 99;
    const double r = -6.5 / 25000;
    put(1, 0, NAN, 0.40, NAN);
    put(1, 1, 0.38, NAN, NAN);
    put(1, 2, 0.35, 0.40, NAN);
    put(1, 3, 0.37, NAN, NAN);
    gather();
    ck_assert_int_eq(vb_course_segments(points.point, points.n, r, segment, &n), VB_OK);
    ck_assert_uint_eq(n, 2);
    near(segment[0].from, 0), near(segment[0].to, 200);
    near(segment[0].at_from, 1.13 / 3 - 100 * r);
    near(segment[0].at_to, 1.13 / 3 + 100 * r);
    ck_assert(segment[0].first == 0 && segment[0].n == 3);
    near(segment[1].from, 200), near(segment[1].to, 300);
    near(segment[1].at_from, 0.385 - 50 * r);
    near(segment[1].at_to, 0.385 + 50 * r);
    ck_assert(segment[1].first == 3 && segment[1].n == 2);
}
END_TEST

/* The second reading weighs a quarter: its interval's means are 0.8 of the first, 0.2 of
 * the second. Without a rate the line is level there. */
START_TEST(segments_go_through_weighted_means)
{
    size_t n;
    put(1, 0, NAN, 0.40, NAN);
    put(1, 5, 0.30, NAN, 0.02);
    gather();
    ck_assert_int_eq(vb_course_segments(points.point, 2, -1e-4, segment, &n), VB_OK);
    near(segment[0].at_from, 0.38 + 1e-4 * 100);
    near(segment[0].at_to, 0.38 - 1e-4 * 400);
    ck_assert_int_eq(vb_course_segments(points.point, 2, NAN, segment, &n), VB_OK);
    near(segment[0].at_from, 0.38), near(segment[0].at_to, 0.38);
    ck_assert_int_eq(vb_course_segments(points.point, 0, NAN, segment, &n), VB_OK);
    ck_assert_uint_eq(n, 0);
    points.point[1].obs.w = -1;
    n = 7;
    ck_assert_int_eq(vb_course_segments(points.point, 2, 0, segment, &n), VB_EDOM);
    ck_assert_uint_eq(n, 7);
}
END_TEST

/* A cam is renewed at 300 h: the seat had closed 0.05 + 0.02 (variance 4 s2) and goes on. */
START_TEST(closing_goes_on_through_settings_and_cams)
{
    put(1, 0, NAN, 0.40, NAN);
    put(1, 1, 0.37, NAN, NAN);
    put(1, 2, 0.35, 0.40, NAN);
    put(1, 3, 0.38, 0.41, NAN);
    put(1, 4, 0.40, NAN, 0.02); // a quarter of the weight
    put(1, 5, 0.38, 0.42, NAN);
    put(1, 6, 0.41, NAN, NAN);
    renew(visit[3].day, VB_RENEWS_LASH);
    gather();
    ck_assert_uint_eq(lives.n, 2);
    static const double want[] = {0, 0.03, 0.05, 0.05, 0.07};
    static const double want_v[] = {0, 2, 2, 2, 4};
    vb_course_closing(&lives.life[0], points.point, 5, closed, v);
    for (int i = 0; i < 5; i++)
        near(closed[i], want[i]), near(v[i], want_v[i]);
    static const double then[] = {0.07, 0.08, 0.10, 0.10, 0.11};
    static const double then_v[] = {4, 9, 6, 6, 8};
    vb_course_closing(&lives.life[1], points.point + 5, 5, closed, v);
    for (int i = 0; i < 5; i++)
        near(closed[i], then[i]), near(v[i], then_v[i]);
}
END_TEST

static unsigned long long lcg = 1;

/* Knuth's MMIX generator. */
static double
uniform(void)
{
    lcg = lcg * 6364136223846793005ULL + 1442695040888963407ULL;
    return (double)(lcg >> 11) / 9007199254740992.0;
}

/* Whatever was read, the last reading's closing is the life's, and its variance. */
START_TEST(closing_ends_where_the_life_does)
{
    for (int round = 0; round < 200; round++) {
        setup();
        engine.n_events = 0;
        for (size_t i = 0; i < VISITS; i++)
            put(1, i, uniform() < 0.2 ? NAN : uniform(),
                uniform() < 0.5 ? NAN : uniform(), uniform() < 0.5 ? NAN : 0.02);
        renew(visit[4].day, VB_RENEWS_LASH);
        renew(visit[8].day, VB_RENEWS_LASH | VB_RENEWS_SEAT);
        gather();
        for (size_t i = 0, at = 0; i < lives.n; i++) {
            const struct vb_life *l = &lives.life[i];
            vb_course_closing(l, points.point + at, l->wear.n, closed, v);
            at += l->wear.n;
            if (l->wear.n && (fabs(closed[l->wear.n - 1] - l->closed) > 1e-12 ||
                              fabs(v[l->wear.n - 1] - l->closed_v) > 1e-9))
                ck_abort_msg("round %d, life %zu", round, i);
        }
        teardown();
    }
}
END_TEST

static void
base(void)
{
    static const double y[][4] = {{0.40, 0.385, 0.372, 0.361},
                                  {0.40, 0.391, 0.374, 0.369},
                                  {0.40, 0.379, 0.365, 0.342},
                                  {0.40, 0.388, 0.381, 0.366},
                                  {0.40, 0.383, 0.359, 0.350}};
    for (int c = 0; c < 5; c++)
        for (size_t i = 0; i < 4; i++)
            put(c + 1, i, i ? y[c][i] : NAN, i ? NAN : y[c][0], NAN);
}

static void
pool(void)
{
    ck_assert_int_eq(vb_fleet_add(&fleet, &engine, 1000), VB_OK);
    ck_assert_int_eq(vb_fleet_pool(&fleet), VB_OK);
}

/* The lash line and the seat's are one rate, seen from the last interval's mean and from
 * the sum of what was closed. */
START_TEST(lines_are_of_one_rate)
{
    struct vb_state st;
    struct vb_line a, b;
    base();
    pool();
    const struct vb_life *l = &fleet.lives.life[2];
    vb_fleet_state(&fleet, 2, &st);
    ck_assert_int_eq(vb_fleet_line(&fleet, l, &st, &a), 1);
    near(a.ybar, 0.3715), near(a.mbar, 150), near(a.w, 4);
    ck_assert(a.rate == st.rate && a.var_rate == st.var);
    ck_assert(a.s2 == fleet.group[0].s2 && a.df == fleet.group[0].pool.df);
    near(a.df, 10); // 5 valves of 4 readings, 2 parameters each
    ck_assert_int_eq(vb_seat_line(&fleet, l, &st, &b), 1);
    double level, se;
    ck_assert_int_eq(vb_line_level(&b, 300, &level, &se), VB_OK);
    near(level, -0.058), near(se, sqrt(2 * b.s2));
    ck_assert(b.rate == a.rate && b.var_rate == a.var_rate && b.s2 == a.s2);
}
END_TEST

/*
 * Closed so far and the rate are sums over the same readings, of unlike weights. Four readings
 * 100 h apart: closed (1 0 0 -1), rate (-150 -50 50 150) / 50000, so that 300 h on closed less
 * rate x 300 is (1.9 0.3 -0.3 -1.9), of variance 7.4 s2. Two intervals of two readings: rate is
 * minus closed / 200, and 200 h on all is doubled. Two valves: neither has help of a family.
 */
START_TEST(a_seat_and_its_rate_err_alike)
{
    static const double y[2][4] = {{0.40, 0.388, 0.381, 0.366},
                                   {0.40, 0.383, 0.359, 0.350}};
    struct vb_state st;
    struct vb_line b;
    double level, se;
    for (int c = 0; c < 2; c++)
        for (size_t i = 0; i < 4; i++)
            put(c + 1, i, i ? y[c][i] : NAN, i ? NAN : y[c][0], NAN);
    put(3, 0, NAN, 0.40, NAN);
    put(3, 1, 0.39, 0.41, NAN);
    put(3, 2, 0.38, NAN, NAN);
    pool();
    const struct vb_life *l = fleet.lives.life;
    double s2 = fleet.group[0].s2;
    vb_fleet_state(&fleet, 0, &st);
    ck_assert_int_eq(vb_seat_line(&fleet, l, &st, &b), 1);
    ck_assert_int_eq(vb_line_level(&b, 600, &level, &se), VB_OK);
    near(level, -0.034 + 300 * l->wear.rate), near(se, sqrt(7.4 * s2));
    vb_fleet_state(&fleet, 2, &st);
    ck_assert_int_eq(vb_seat_line(&fleet, l + 2, &st, &b), 1);
    ck_assert_int_eq(vb_line_level(&b, 200, &level, &se), VB_OK);
    near(level, -0.04);
    ck_assert_double_eq_tol(se, 2 * sqrt(s2), 1e-8);
    ck_assert_int_eq(vb_line_level(&b, 400, &level, &se), VB_OK);
    near(level, -0.08);
    ck_assert_double_eq_tol(se, 4 * sqrt(s2), 1e-8);
}
END_TEST

START_TEST(no_line_from_nothing)
{
    struct vb_state st;
    struct vb_line a = {.w = 7};
    put(1, 0, NAN, 0.40, NAN);
    put(1, 1, 0.385, NAN, NAN);
    pool();
    vb_fleet_state(&fleet, 0, &st); // a rate, but nobody's scatter is known
    ck_assert_int_eq(vb_fleet_line(&fleet, fleet.lives.life, &st, &a), 0);
    ck_assert_int_eq(vb_seat_line(&fleet, fleet.lives.life, &st, &a), 0);
    near(a.w, 7);
    vb_fleet_clear(&fleet);
    engine.n_lash = 0;
    base();
    put(6, 3, 0.40, NAN, NAN);
    pool();
    vb_fleet_state(&fleet, 5, &st); // read once: the family's rate, but nothing closed
    ck_assert_int_eq(vb_fleet_line(&fleet, &fleet.lives.life[5], &st, &a), 1);
    ck_assert_int_eq(vb_seat_line(&fleet, &fleet.lives.life[5], &st, &a), 0);
    struct vb_life unread = fleet.lives.life[5];
    unread.wear.n = 0;
    ck_assert_int_eq(vb_fleet_line(&fleet, &unread, &st, &a), 0);
}
END_TEST

/* Visits every 10 days and 100 h from day 100 on; the third has no meter. */
START_TEST(days_lie_between_visits)
{
    struct vb_unit_now u = {.last_day = 210, .last_running = 1100, .pace = 20};
    visit[2].running = NAN;
    near(vb_course_day(&engine, &u, 0), 100);
    near(vb_course_day(&engine, &u, 100), 110);
    near(vb_course_day(&engine, &u, 25), 102.5);
    near(vb_course_day(&engine, &u, 200), 120); // straight from 100 h to 300 h
    near(vb_course_day(&engine, &u, 1100), 210);
    near(vb_course_day(&engine, &u, 1140), 212);
    ck_assert(isnan(vb_course_day(&engine, &u, -1)));
    visit[1].meter = 7; // swapped since
    near(vb_course_shown(&engine, 100), 7);
    ck_assert(isnan(vb_course_shown(&engine, 150)));
    u.pace = NAN;
    ck_assert(isnan(vb_course_day(&engine, &u, 1140)));
    u.pace = 0;
    ck_assert(isnan(vb_course_day(&engine, &u, 1140)));
    near(vb_course_day(&engine, &u, 1050), 205);
    visit[5].running = 450; // slower for ten days
    near(vb_course_day(&engine, &u, 425), 145);
    near(vb_course_day(&engine, &u, 510), 154);
}
END_TEST

START_TEST(meters_are_days_the_other_way_round)
{
    struct vb_unit_now u = {.last_day = 210, .last_running = 1100, .pace = 20};
    visit[2].running = NAN;
    visit[5].running = 450;
    near(vb_course_meter(&engine, &u, 100), 0);
    near(vb_course_meter(&engine, &u, 110), 100);
    near(vb_course_meter(&engine, &u, 115), 150);
    near(vb_course_meter(&engine, &u, 145), 425);
    near(vb_course_meter(&engine, &u, 210), 1100);
    near(vb_course_meter(&engine, &u, 212), 1140);
    ck_assert(isnan(vb_course_meter(&engine, &u, 99)));
    for (double m = 0; m < 1300; m += 7)
        near(vb_course_meter(&engine, &u, vb_course_day(&engine, &u, m)), m);
    u.pace = NAN;
    ck_assert(isnan(vb_course_meter(&engine, &u, 212)));
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("course");
    TCase *c = tcase_create("course");
    tcase_add_checked_fixture(c, setup, teardown);
    tcase_add_test(c, segments_share_a_slope);
    tcase_add_test(c, segments_go_through_weighted_means);
    tcase_add_test(c, closing_goes_on_through_settings_and_cams);
    tcase_add_test(c, closing_ends_where_the_life_does);
    tcase_add_test(c, lines_are_of_one_rate);
    tcase_add_test(c, a_seat_and_its_rate_err_alike);
    tcase_add_test(c, no_line_from_nothing);
    tcase_add_test(c, days_lie_between_visits);
    tcase_add_test(c, meters_are_days_the_other_way_round);
    suite_add_tcase(s, c);
    return run_suite(s);
}
