/* Lives, intervals and reference lash: small cases worked out by hand. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "suite.h"
#include "valvebook/life.h"
#include "valvebook/quantity.h"

static struct vb_family family;
static struct vb_visit visit[8];
static struct vb_event event[5];
static struct vb_lash lash[8];
static struct vb_engine engine;
static struct vb_lives lives;

static void
setup(void)
{
    vb_family_init(&family);
    memset(event, 0, sizeof event);
    memset(&lives, 0, sizeof lives);
    for (int i = 0; i < 8; i++)
        visit[i] =
            (struct vb_visit){.day = 100 + 10 * i, .meter = 100 * i, .running = 100 * i};
    engine = (struct vb_engine){.name = "HC-1",
                                .family = &family,
                                .visit = visit,
                                .n_visits = 8,
                                .event = event,
                                .lash = lash};
}

static void
teardown(void)
{
    vb_lives_clear(&lives);
}

static void
read_lash(double found, double left)
{
    size_t i = engine.n_lash++;
    lash[i] = (struct vb_lash){i, {1, 'E', 0}, found, left, NAN, NAN};
}

static void
happens(int i, double day, int renews, const char *build)
{
    event[i] = (struct vb_event){.day = day, .kind = VB_EVENT_BUILD, .renews = renews};
    strcpy(event[i].build, build);
    engine.n_events = (size_t)i + 1;
}

static void
compute(size_t want)
{
    ck_assert_int_eq(vb_lives_add(&engine, 0, &lives), VB_OK);
    ck_assert_uint_eq(lives.n, want);
}

/* ISO 1: 20 Cel. 0.30 mm read at 45 Cel with 0.002 mm/Cel is 0.25 mm. */
START_TEST(temperature_is_taken_out)
{
    family.lash_growth[1] = 0.002;
    ck_assert_double_eq_tol(vb_lash_reference(&family, 1, 0.30, 45), 0.25, 1e-15);
    ck_assert_double_eq_tol(vb_lash_reference(&family, 0, 0.30, 45), 0.30, 1e-15);
    ck_assert_double_eq_tol(vb_lash_reference(&family, 1, 0.30, NAN), 0.30, 1e-15);
}
END_TEST

START_TEST(lobe_readings_are_scaled)
{
    family.ratio[0] = 1.5;
    ck_assert_double_eq_tol(vb_lash_reference(&family, 0, 0.20, 20), 0.20, 1e-15);
    family.read_at_lobe[0] = 1;
    ck_assert_double_eq_tol(vb_lash_reference(&family, 0, 0.20, 20), 0.30, 1e-15);
}
END_TEST

/* 0.40 left, 0.38, 0.35 found; set to 0.40; 0.37 found: 0.05 + 0.03 closed, 2 settings.
 */
START_TEST(settings_open_intervals)
{
    read_lash(NAN, 0.40);
    read_lash(0.38, NAN);
    read_lash(0.35, 0.40);
    read_lash(0.37, NAN);
    compute(1);
    const struct vb_wear *w = &lives.life[0].wear;
    ck_assert_uint_eq(w->n, 5);
    ck_assert_uint_eq(w->intervals, 2);
    ck_assert_double_eq_tol(w->movement, -0.08, 1e-12);
    ck_assert_double_eq_tol(lives.life[0].closed, 0.08, 1e-12);
    ck_assert_double_eq(lives.life[0].closed_v, 4);      // two intervals of two readings
    ck_assert_double_eq(lives.life[0].closed_over, 300); // 0 to 200, 200 to 300
    ck_assert_double_eq_tol(w->now, 0.37, 1e-15);
    // interval 1: meters 0 100 200, mean 100; interval 2: 200 300, mean 250
    // Sxx = 20000 + 5000; Sxy = (-100)(.40) + 100(.35) + (-50)(.40) + 50(.37) = -5 - 1.5
    ck_assert_double_eq_tol(w->rate, -6.5 / 25000, 1e-15);
}
END_TEST

START_TEST(untouched_closes_nothing)
{
    read_lash(NAN, 0.40);
    read_lash(0.38, 0.38); // left as found
    read_lash(0.36, NAN);
    compute(1);
    ck_assert_uint_eq(lives.life[0].wear.n, 3);
    ck_assert_uint_eq(lives.life[0].wear.intervals, 1);
}
END_TEST

/* On the day of a build the found reading is the old valve's, the left one the new one's.
 */
START_TEST(a_build_ends_a_life_within_its_day)
{
    read_lash(NAN, 0.40);
    read_lash(0.38, NAN);
    read_lash(0.30, 0.41);
    read_lash(0.40, NAN);
    happens(0, visit[2].day, VB_RENEWS_LASH | VB_RENEWS_SEAT, "B2");
    compute(2);
    ck_assert_uint_eq(lives.life[0].wear.n, 3);
    ck_assert_int_eq(lives.life[0].current, 0);
    ck_assert_str_eq(lives.life[0].build, "");
    ck_assert_double_eq_tol(lives.life[0].closed, 0.10, 1e-12);
    ck_assert_uint_eq(lives.life[1].wear.n, 2);
    ck_assert_int_eq(lives.life[1].current, 1);
    ck_assert_str_eq(lives.life[1].build, "B2");
    ck_assert_double_eq_tol(lives.life[1].closed, 0.01, 1e-12);
}
END_TEST

/* A new cam begins a new lash life, but the old seat goes on sinking. */
/* A part at no known time stands before a build at ten o'clock: the life is of that build. */
START_TEST(a_build_of_the_day_of_a_part)
{
    happens(0, 105, VB_RENEWS_LASH | VB_RENEWS_SEAT, "");
    happens(1, 115, VB_RENEWS_LASH | VB_RENEWS_SEAT, "");
    happens(2, 115.25, 0, "B1"); // renews nothing here
    happens(3, 115 + 10.0 / 24, VB_RENEWS_LASH, "B2");
    happens(4, 116, VB_RENEWS_SEAT, "B3");
    read_lash(0.30, NAN);
    read_lash(0.31, NAN);
    read_lash(0.32, NAN);
    compute(3);
    ck_assert_str_eq(lives.life[1].build, "");
    ck_assert_str_eq(lives.life[2].build, "B2");
    ck_assert_str_eq(vb_life_build(&engine, (struct vb_valve){1, 'E', 0}, 130), "B2");
    ck_assert_str_eq(vb_life_build(&engine, (struct vb_valve){1, 'E', 0}, 110), "");
    ck_assert_str_eq(vb_life_build(&engine, (struct vb_valve){1, 'E', 0}, 100), "");
}
END_TEST

/* 0.1 mm a visit, and then no gap three times: how fast it closes is known from the first of
 * these. Set, it is read anew; so it is where nobody knows at which meter it was set. */
START_TEST(no_gap_says_little)
{
    read_lash(NAN, 0.30);
    read_lash(0.20, NAN);
    read_lash(0.10, NAN);
    for (int i = 0; i < 3; i++)
        read_lash(0, NAN);
    compute(1);
    const struct vb_life *l = lives.life;
    ck_assert_uint_eq(l->wear.n, 4);
    ck_assert_int_eq(l->wear.df, 2);
    ck_assert_double_eq_tol(l->wear.rate, -1e-3, 1e-15);
    ck_assert(l->wear.now == 0 && l->wear.now_meter == 300 && l->read_meter == 500);
    ck_assert(l->newest.meter == 300 && l->no_gap);
    ck_assert(l->n_looser == 0 || lives.corner[l->corner_at].sum < 1e-12); // rounding
    vb_lives_clear(&lives);
    lash[4].left = 0.10; // at 400 h; from there 0.1 mm again, and no gap
    compute(1);
    l = lives.life;
    ck_assert_uint_eq(l->wear.n, 6);
    ck_assert_uint_eq(l->wear.intervals, 2);
    ck_assert_double_eq_tol(l->wear.rate, -1e-3, 1e-15);
    vb_lives_clear(&lives);
    visit[4].running = NAN;
    compute(1);
    l = lives.life;
    ck_assert_uint_eq(l->wear.n, 5); // that at 500 h is behind a setting
    ck_assert_uint_eq(l->wear.intervals, 2);
    ck_assert(l->wear.now_meter == 500 && l->no_gap);
}
END_TEST

/* The newest reading counts where it can be no point: at the tip, and until one can be. */
START_TEST(the_newest_has_no_meter)
{
    family.read_at_lobe[1] = 1;
    family.ratio[1] = 2;
    read_lash(NAN, 0.15);
    read_lash(0.10, 0.15);
    read_lash(0.14, NAN);
    visit[1].running = NAN;
    for (engine.n_lash = 1; engine.n_lash < 4; engine.n_lash++) {
        compute(1);
        ck_assert_int_eq(lives.life[0].unplaced, engine.n_lash == 2);
        ck_assert_double_eq(lives.life[0].unplaced_lash, engine.n_lash == 2 ? 0.3 : 0);
        vb_lives_clear(&lives);
    }
    engine.n_lash = 2;
    lash[1].left = NAN;
    compute(1);
    ck_assert_double_eq(lives.life[0].unplaced_lash, 0.2);
}
END_TEST

/* Nothing lies before the first reading, nor before one as left, be they 0. */
START_TEST(no_gap_to_begin_with)
{
    read_lash(0, NAN);
    read_lash(0, NAN);
    read_lash(0.1, 0);
    read_lash(0, NAN);
    compute(1);
    ck_assert_uint_eq(lives.life[0].wear.n, 3); // 0 and 0.1, and 0 as left
    ck_assert_uint_eq(lives.life[0].wear.intervals, 2);
    ck_assert(lives.life[0].wear.now_meter == 200 && lives.life[0].read_meter == 300);
}
END_TEST

/* 0.1 mm a visit, two visits left out, and no gap: what it should read cannot be read. */
START_TEST(no_gap_where_less_was_expected)
{
    read_lash(NAN, 0.30);
    read_lash(0.20, NAN);
    read_lash(0.11, NAN);
    read_lash(0, NAN);
    lash[3].visit = 6;
    compute(1);
    ck_assert_uint_eq(lives.life[0].n_looser, 1); // by hand: 0.11 where 0.10 was expected
    ck_assert_double_eq_tol(lives.corner[0].sum, 0.01 / sqrt(1.0 + 0.5 + 4.5), 1e-12);
    vb_lives_clear(&lives);
    lash[3].found = 0.001; // that little is a gap: -0.27 was expected
    compute(1);
    ck_assert_uint_eq(lives.life[0].n_looser, 2); // the newest, and both
    ck_assert_uint_eq(lives.corner[0].n, 1);
    // meters 0 100 200 600: slope -0.19 / 200, mean 0.61 / 3 at 100; off by 0.273 in 3.72 sd
    double off = 0.001 - (0.61 / 3 - 500 * 0.19 / 200);
    ck_assert_double_eq_tol(lives.corner[0].sum, off / sqrt(1 + 1.0 / 3 + 12.5), 1e-12);
    ck_assert(!lives.life[0].no_gap);
}
END_TEST

START_TEST(a_seat_outlives_a_cam)
{
    read_lash(NAN, 0.40);
    read_lash(0.30, NAN);
    read_lash(NAN, 0.40);
    read_lash(0.35, NAN);
    happens(0, visit[2].day, VB_RENEWS_LASH, "");
    compute(2);
    ck_assert_double_eq_tol(lives.life[1].wear.movement, -0.05, 1e-12);
    ck_assert_double_eq_tol(lives.life[1].closed, 0.15, 1e-12);
    ck_assert_double_eq(lives.life[1].closed_v, 4);
    ck_assert_double_eq(lives.life[1].closed_over, 100); // the rate is of this life alone
}
END_TEST

/* The seat was renewed in a life in which nothing was read: what the old one had closed is
 * not carried into the life after that. */
START_TEST(a_seat_renewed_between_readings)
{
    read_lash(NAN, 0.40);
    read_lash(0.30, NAN);
    read_lash(NAN, 0.40);
    read_lash(0.35, NAN);
    happens(0, visit[1].day + 3, VB_RENEWS_LASH | VB_RENEWS_SEAT, "");
    happens(1, visit[1].day + 6, VB_RENEWS_LASH, "");
    compute(2);
    ck_assert_int_eq(lives.life[1].number, 2);
    ck_assert_double_eq_tol(lives.life[1].closed, 0.05, 1e-12);
    ck_assert_double_eq(lives.life[1].closed_v, 2);
    vb_lives_clear(&lives);
    event[0].renews = VB_RENEWS_LASH; // the same with two adjusters: it is the old seat
    compute(2);
    ck_assert_double_eq_tol(lives.life[1].closed, 0.15, 1e-12);
}
END_TEST

/* Two visits on the day of a build, at 8 and at 18 o'clock: what the second finds was left by
 * the first, in the new life, and no life comes twice. */
START_TEST(two_visits_on_the_day_of_a_build)
{
    visit[2].day = visit[1].day + 10.0 / 24;
    visit[1].day += 8.0 / 24;
    read_lash(0.40, NAN);
    read_lash(0.31, 0.50);
    read_lash(0.49, 0.49);
    read_lash(0.48, NAN);
    happens(0, floor(visit[1].day), VB_RENEWS_LASH | VB_RENEWS_SEAT, "B2");
    compute(2);
    ck_assert_uint_eq(lives.life[0].wear.n, 2);
    ck_assert_uint_eq(lives.life[1].wear.n, 3);
    ck_assert_uint_eq(lives.life[1].wear.intervals, 1);
    ck_assert_double_eq_tol(lives.life[1].closed, 0.02, 1e-12);
}
END_TEST

START_TEST(an_event_elsewhere_concerns_nobody_here)
{
    read_lash(NAN, 0.40);
    read_lash(0.38, NAN);
    read_lash(0.36, NAN);
    happens(0, visit[1].day, VB_RENEWS_LASH, "");
    event[0].at.cyl = 2;
    compute(1);
    event[0].at = (struct vb_valve){1, 'I', 0};
    vb_lives_clear(&lives);
    compute(1);
}
END_TEST

START_TEST(what_cannot_be_used_is_counted)
{
    family.lash_growth[1] = 0.001;
    visit[1].running = NAN;
    read_lash(NAN, 0.40);
    read_lash(0.38, NAN);
    read_lash(0.36, NAN);
    lash[2].temp_c = 30;
    compute(1);
    ck_assert_uint_eq(lives.life[0].wear.n, 2);
    ck_assert_uint_eq(lives.life[0].no_meter, 1);
    ck_assert_uint_eq(lives.life[0].no_temp, 1);
    ck_assert_double_eq_tol(lives.life[0].wear.now, 0.35, 1e-12);
}
END_TEST

/* u = 0.02 mm is twice the reference 0.01: a quarter of the weight. */
START_TEST(a_cam_of_one_bank_leaves_the_other_alone)
{
    ck_assert_int_eq(vb_banks_parse("A:1-3 B:2-4", &family.banks), VB_OK);
    read_lash(NAN, 0.40);
    read_lash(0.38, 0.38);
    happens(0, 105, VB_RENEWS_LASH, "");
    event[0].at.side = 'E';
    event[0].bank = 'B';
    compute(1); // 1E is in bank A
    vb_lives_clear(&lives);
    event[0].bank = 'A';
    compute(2);
}
END_TEST

START_TEST(stated_uncertainty_is_weight)
{
    read_lash(NAN, 0.40);
    read_lash(0.38, NAN);
    lash[1].u = 0.02;
    compute(1);
    ck_assert_double_eq_tol(lives.life[0].wear.last_w, 1.25, 1e-12);
    // of what it closed, in units of s2: 1 for the first, 4 for the last
    ck_assert_double_eq_tol(lives.life[0].closed_v, 5, 1e-12);
    vb_lives_clear(&lives);
    family.read_at_lobe[1] = 1;
    family.ratio[1] = 2; // 0.02 mm at the lobe is 0.04 mm at the tip
    compute(1);
    ck_assert_double_eq_tol(lives.life[0].wear.last_w, 1 + 1.0 / 16, 1e-12);
}
END_TEST

static struct vb_points points;

static void
compute_points(size_t want)
{
    memset(&points, 0, sizeof points);
    ck_assert_int_eq(vb_lives_points(&engine, 0, &lives, &points), VB_OK);
    ck_assert_uint_eq(points.n, want);
}

static void
is_point(size_t i, size_t life, size_t visit_at, double value, size_t interval, int left,
         int untouched)
{
    const struct vb_point *p = &points.point[i];
    ck_assert_uint_eq(p->life, life);
    ck_assert_uint_eq(p->visit, visit_at);
    ck_assert_double_eq_tol(p->obs.lash, value, 1e-12);
    ck_assert_double_eq(p->obs.meter, 100.0 * (double)visit_at);
    ck_assert_uint_eq(p->obs.interval, interval);
    ck_assert_int_eq(p->left, left);
    ck_assert_int_eq(p->untouched, untouched);
}

/* Set, found, found and left alone, found and set, and on the day of a build found by the
 * old life and left by the new one; the last was left as it was found, by the new valve. */
START_TEST(points_are_what_was_fitted)
{
    read_lash(NAN, 0.40);
    read_lash(0.38, NAN);
    read_lash(0.37, 0.37);
    read_lash(0.35, 0.40);
    read_lash(0.39, 0.39);
    read_lash(0.36, 0.36);
    lash[1].u = 0.02;
    happens(0, visit[4].day, VB_RENEWS_LASH | VB_RENEWS_SEAT, "B2");
    compute_points(8);
    is_point(0, 0, 0, 0.40, 0, 1, 0);
    is_point(1, 0, 1, 0.38, 0, 0, 0);
    is_point(2, 0, 2, 0.37, 0, 0, 1);
    is_point(3, 0, 3, 0.35, 0, 0, 0);
    is_point(4, 0, 3, 0.40, 1, 1, 0);
    is_point(5, 0, 4, 0.39, 1, 0, 0); // the build took the valve away
    is_point(6, 1, 4, 0.39, 0, 1, 0);
    is_point(7, 1, 5, 0.36, 0, 0, 1);
    ck_assert_double_eq(points.point[1].u, 0.02);
    ck_assert_double_eq(points.point[1].obs.w, 0.25);
    ck_assert(isnan(points.point[0].u));
    vb_points_clear(&points);
    ck_assert_uint_eq(points.n, 0);
}
END_TEST

/* Each life's points fitted by themselves give the life's wear, to the last bit. */
START_TEST(points_of_a_life_stand_together)
{
    struct vb_obs obs[8];
    struct vb_wear w;
    size_t at = 0;
    visit[1].running = NAN;
    read_lash(NAN, 0.40);
    read_lash(0.38, 0.38); // no meter: no point, and none to be marked
    read_lash(0.35, 0.40);
    read_lash(0.37, NAN);
    read_lash(0.36, NAN);
    happens(0, visit[3].day, VB_RENEWS_LASH, "");
    compute_points(5);
    ck_assert_int_eq(points.point[0].untouched, 0);
    for (size_t i = 0; i < lives.n; i++) {
        size_t n = 0;
        for (; at < points.n && points.point[at].life == i; at++)
            obs[n++] = points.point[at].obs;
        ck_assert_uint_eq(n, lives.life[i].wear.n);
        ck_assert_int_eq(vb_wear_fit(obs, n, &w), VB_OK);
        ck_assert_mem_eq(&w, &lives.life[i].wear, sizeof w);
    }
    ck_assert_uint_eq(at, points.n);
    vb_points_clear(&points);
}
END_TEST

/* 2E1 gets a seat: only what was read at the first exhaust valve of cylinder 2 begins anew. */
START_TEST(an_event_of_one_of_two_valves)
{
    happens(0, 115, VB_RENEWS_LASH, "");
    event[0].at = (struct vb_valve){2, 'E', 1};
    for (int k = 1; k <= 2; k++)
        for (size_t i = 0; i < 3; i++)
            lash[engine.n_lash++] = (struct vb_lash){i, {2, 'E', k}, 0.3, NAN, NAN, NAN};
    compute(3); // two of 2E1, one of 2E2
    ck_assert(lives.life[0].valve.index == 1 && lives.life[0].wear.n == 2);
    ck_assert(lives.life[1].valve.index == 1 && lives.life[1].wear.n == 1);
    ck_assert(lives.life[2].valve.index == 2 && lives.life[2].wear.n == 3);
}
END_TEST

/* Found and left alike at a visit without a meter: there is no point to mark. */
START_TEST(untouched_without_a_meter)
{
    struct vb_points p = {0};
    visit[0].running = NAN;
    read_lash(0.3, 0.3);
    read_lash(0.3, 0.3);
    ck_assert_int_eq(vb_lives_points(&engine, 0, &lives, &p), VB_OK);
    ck_assert_uint_eq(p.n, 1);
    ck_assert(p.point[0].untouched && lives.life[0].no_meter == 1);
    vb_points_clear(&p);
}
END_TEST

/* Set to 0.50 where nobody wrote the meter down: what is found afterwards has moved from a
 * setting that is not known, and the valve closes by 0.02 in 100 before and after it. */
START_TEST(set_without_a_meter)
{
    struct vb_points p = {0};
    visit[2].running = NAN;
    read_lash(0.40, NAN);
    read_lash(0.38, NAN);
    read_lash(0.37, 0.50);
    read_lash(0.47, NAN);
    read_lash(0.45, NAN);
    ck_assert_int_eq(vb_lives_points(&engine, 0, &lives, &p), VB_OK);
    ck_assert_uint_eq(lives.n, 1);
    ck_assert_uint_eq(lives.life[0].wear.intervals, 2);
    ck_assert_double_eq_tol(lives.life[0].wear.rate, -0.0002, 1e-15);
    ck_assert_double_eq_tol(lives.life[0].wear.movement, -0.04, 1e-12);
    ck_assert_uint_eq(lives.life[0].no_meter, 2);
    ck_assert(p.point[2].obs.interval == 1 && !p.point[2].left);
    vb_points_clear(&p);
}
END_TEST

/* Readings whose squares are no numbers: at the end, before the newest, and of the valve
 * before another. */
START_TEST(readings_out_of_reason)
{
    read_lash(1e200, NAN);
    read_lash(-1e200, NAN);
    read_lash(1e200, NAN);
    ck_assert_int_eq(vb_lives_add(&engine, 0, &lives), VB_EDOM);
    lash[engine.n_lash++] = (struct vb_lash){0, {2, 'E', 0}, 0.3, NAN, NAN, NAN};
    ck_assert_int_eq(vb_lives_add(&engine, 0, &lives), VB_EDOM);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("life");
    TCase *c = tcase_create("life");
    tcase_add_checked_fixture(c, setup, teardown);
    tcase_add_test(c, temperature_is_taken_out);
    tcase_add_test(c, an_event_of_one_of_two_valves);
    tcase_add_test(c, untouched_without_a_meter);
    tcase_add_test(c, set_without_a_meter);
    tcase_add_test(c, readings_out_of_reason);
    tcase_add_test(c, lobe_readings_are_scaled);
    tcase_add_test(c, settings_open_intervals);
    tcase_add_test(c, no_gap_says_little);
    tcase_add_test(c, no_gap_to_begin_with);
    tcase_add_test(c, the_newest_has_no_meter);
    tcase_add_test(c, no_gap_where_less_was_expected);
    tcase_add_test(c, untouched_closes_nothing);
    tcase_add_test(c, a_build_ends_a_life_within_its_day);
    tcase_add_test(c, a_build_of_the_day_of_a_part);
    tcase_add_test(c, a_seat_outlives_a_cam);
    tcase_add_test(c, two_visits_on_the_day_of_a_build);
    tcase_add_test(c, a_seat_renewed_between_readings);
    tcase_add_test(c, an_event_elsewhere_concerns_nobody_here);
    tcase_add_test(c, what_cannot_be_used_is_counted);
    tcase_add_test(c, a_cam_of_one_bank_leaves_the_other_alone);
    tcase_add_test(c, stated_uncertainty_is_weight);
    tcase_add_test(c, points_are_what_was_fitted);
    tcase_add_test(c, points_of_a_life_stand_together);
    suite_add_tcase(s, c);
    return run_suite(s);
}
