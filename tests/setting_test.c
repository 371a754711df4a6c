#include "suite.h"
#include "valvebook/setting.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "valvebook/life.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))

/* --- screws ------------------------------------------------------------------------ */

struct screw_case {
    double found, target, pitch, k, degrees;
};

/* Common practice: M8x1 moves 1 mm a turn, 0.04 mm are 0.04 turn and 14.4 degrees; 0.004
 * in is 0.1016 mm. The others by hand. */
static const struct screw_case screws[] = {
    {0.24, 0.20, 1, 1, 14.4},
    {0.20, 0.24, 1, 1, -14.4},
    {0.30, 0.1984, 1, 1, 36.576},
    {0.26, 0.20, 1, 1.5, 14.4},   // 0.06 mm at the tip are 0.04 at the screw
    {0.20, 0.35, 0.75, 1.6, -45}, // 0.15 / 1.2
    {0.25, 0.25, 1, 1, 0},
    {0.30, 0.20, 1, 2.5, 14.4}, // 0.1 mm at the tip, a stud under a rocker of 1.5
    {0.30, 0.20, 1, -0.5, -72}, // a pivot's screw comes out by 0.2 mm
};

START_TEST(turns_by_hand)
{
    const struct screw_case *c = &screws[_i];
    double turns;
    ck_assert_int_eq(vb_screw(c->found, c->target, c->pitch, c->k, &turns), VB_OK);
    ck_assert_double_eq_tol(360 * turns, c->degrees, 1e-9);
}
END_TEST

/* Height at x of a straight lever, one point of which goes down by 1 while another is held. */
static double
lever(double moved, double held, double x)
{
    return -(x - held) / (moved - held);
}

/*
 * A rocker turns on a pivot at 0, push-rod at -1, tip at the ratio; a follower has its cam at 1
 * and its tip at the ratio. In closes by as much as the tip goes down, the rest of the train
 * held. A screw in the push-rod's end lifts that end by 1.
 */
START_TEST(screws_move_a_lever)
{
    const double ratio[] = {0.8, 1, 1.3, 1.6};
    for (size_t i = 0; i < sizeof ratio / sizeof *ratio; i++) {
        double r = ratio[i];
        ck_assert_double_eq(vb_screw_k(VB_SCREW_UNKNOWN, r), 1);
        ck_assert_double_eq(vb_screw_k(VB_SCREW_VALVE, r), 1);
        ck_assert_double_eq_tol(vb_screw_k(VB_SCREW_PUSHROD, r), lever(-1, 0, r), 1e-12);
        ck_assert_double_eq_tol(vb_screw_k(VB_SCREW_STUD, r), -lever(0, -1, r), 1e-12);
        ck_assert_double_eq_tol(vb_screw_k(VB_SCREW_PIVOT, r), -lever(0, 1, r), 1e-12);
    }
}
END_TEST

START_TEST(where_a_screw_is_matters_with_a_ratio)
{
    struct vb_family f;
    vb_family_init(&f);
    ck_assert(!vb_screw_assumed(&f, 0) && !vb_screw_assumed(&f, 1));
    f.ratio[1] = 1.6;
    ck_assert(!vb_screw_assumed(&f, 0) && vb_screw_assumed(&f, 1));
    f.screw_on[1] = VB_SCREW_VALVE;
    ck_assert(!vb_screw_assumed(&f, 1));
}
END_TEST

START_TEST(no_screw_no_turns)
{
    double turns = 77;
    ck_assert_int_eq(vb_screw(0.2, 0.3, 0, 1, &turns), VB_EDOM);
    ck_assert_int_eq(vb_screw(0.2, 0.3, NAN, 1, &turns), VB_EDOM);
    ck_assert_int_eq(vb_screw(0.2, 0.3, -1, 1, &turns), VB_EDOM);
    ck_assert_int_eq(vb_screw(0.2, 0.3, 1, 0, &turns), VB_EDOM);
    ck_assert_int_eq(vb_screw(0.2, 0.2, 1, 0, &turns), VB_EDOM);
    ck_assert_int_eq(vb_screw(NAN, 0.3, 1, 1, &turns), VB_EDOM);
    ck_assert_int_eq(vb_screw(0.2, NAN, 1, 1, &turns), VB_EDOM);
    ck_assert_double_eq(turns, 77);
}
END_TEST

/* What the gauge shows is what vb_lash_reference makes that lash of. */
START_TEST(the_gauge_is_the_other_way_round)
{
    struct vb_family f;
    vb_family_init(&f);
    f.lash_growth[0] = 0.0014;
    f.lash_growth[1] = -0.0002;
    f.ratio[0] = f.ratio[1] = 1.6;
    f.read_at_lobe[1] = 1;
    for (int side = 0; side < 2; side++)
        for (double temp = -20; temp < 100; temp += 17) {
            double shown = vb_gauge_shows(&f, side, 0.25, temp);
            ck_assert_double_eq_tol(vb_lash_reference(&f, side, shown, temp), 0.25,
                                    1e-15);
        }
    ck_assert_double_eq(vb_gauge_shows(&f, 0, 0.25, NAN), 0.25);
    ck_assert_double_eq_tol(vb_gauge_shows(&f, 0, 0.25, 30), 0.264, 1e-15);
    ck_assert_double_eq_tol(vb_gauge_shows(&f, 1, 0.24, 20), 0.15, 1e-15);
}
END_TEST

/* --- which shim is in it ----------------------------------------------------------- */

struct seen {
    const char *date;
    double found, left, shim_found, shim_left;
};

struct shim_case {
    const char *since;
    struct seen seen[4];
    enum vb_shim_known known;
    double mm;
};

#define X NAN

/* By the rules of the header, one by one. */
static const struct shim_case shim_cases[] = {
    {"", {{0}}, VB_SHIM_NEVER, X},
    {"", {{"2026-01-01", 0.2, X, X, X}}, VB_SHIM_NEVER, X},
    {"", {{"2026-01-01", X, X, 2.5, X}}, VB_SHIM_KNOWN, 2.5},
    {"",
     {{"2026-01-01", X, X, 2.5, X}, {"2026-02-01", 0.1, X, X, X}},
     VB_SHIM_KNOWN,
     2.5},
    // set since, and with what
    {"",
     {{"2026-01-01", X, X, 2.5, X}, {"2026-02-01", 0.1, 0.2, X, X}},
     VB_SHIM_CHANGED,
     X},
    {"",
     {{"2026-01-01", X, X, 2.5, X}, {"2026-02-01", X, 0.2, X, X}},
     VB_SHIM_CHANGED,
     X},
    {"",
     {{"2026-01-01", X, X, 2.5, X}, {"2026-02-01", 0.2, 0.2, X, X}},
     VB_SHIM_KNOWN,
     2.5},
    {"",
     {{"2026-01-01", X, X, 2.5, X}, {"2026-02-01", 0.1, 0.2, X, 2.4}},
     VB_SHIM_KNOWN,
     2.4},
    {"", {{"2026-01-01", 0.1, 0.2, 2.5, 2.4}}, VB_SHIM_KNOWN, 2.4},
    {"", {{"2026-01-01", 0.1, 0.2, 2.5, X}}, VB_SHIM_CHANGED, X},
    // changed, and read again
    {"",
     {{"2026-01-01", X, X, 2.5, X},
      {"2026-02-01", 0.1, 0.2, X, X},
      {"2026-03-01", X, X, 2.4, X}},
     VB_SHIM_KNOWN,
     2.4},
    // a sheet that was not carried out
    {"",
     {{"2026-01-01", X, X, 2.5, X}, {"2026-02-01", 0.1, X, X, 2.4}},
     VB_SHIM_KNOWN,
     2.5},
    {"", {{"2026-02-01", X, X, X, 2.4}}, VB_SHIM_NEVER, X},
    // a life before
    {"2026-02-01", {{"2026-01-31", 0.1, 0.2, X, 2.4}}, VB_SHIM_NEVER, X},
    {"2026-02-01", {{"2026-02-01", X, X, 2.4, X}}, VB_SHIM_NEVER, X},
    {"2026-02-01", {{"2026-02-01T10:00", X, 0.2, 2.4, 2.6}}, VB_SHIM_KNOWN, 2.6},
    {"2026-02-01", {{"2026-02-02", X, X, 2.4, X}}, VB_SHIM_KNOWN, 2.4},
};

START_TEST(the_present_shim)
{
    const struct shim_case *c = &shim_cases[_i];
    struct vb_set_reading r[4];
    size_t n = 0;
    double mm = 77;
    for (; n < 4 && c->seen[n].date; n++) {
        const struct seen *s = &c->seen[n];
        r[n] = (struct vb_set_reading){.found = s->found,
                                       .left = s->left,
                                       .shim_found = s->shim_found,
                                       .shim_left = s->shim_left};
        memcpy(r[n].date, s->date, strlen(s->date) + 1);
    }
    ck_assert_int_eq(vb_shim_present(r, n, c->since, &mm), c->known);
    if (c->known == VB_SHIM_KNOWN)
        ck_assert_double_eq(mm, c->mm);
    else
        ck_assert(isnan(mm));
}
END_TEST

/* --- a sheet ----------------------------------------------------------------------- */

/* An engine of one cylinder, one inlet, whose lash was read at these meters on these
 * days, and what vb_book_setting would give of it. */
struct world {
    struct vb_family family;
    struct vb_visit visit[8];
    struct vb_lash lash[8];
    struct vb_set_reading r[8];
    size_t n;
    struct vb_fleet fleet;
    struct vb_set_readings readings;
};

static void
begin(struct world *w, const char *firing)
{
    memset(w, 0, sizeof *w);
    vb_family_init(&w->family);
    memcpy(w->family.firing_order, firing, strlen(firing) + 1);
    w->family.adjuster = VB_ADJUSTER_SCREW;
    w->family.screw_pitch[0] = 1;
    w->family.lash_min[0] = 0.2;
    w->family.lash_max[0] = 0.4;
    w->family.lash_target[0] = 0.3;
}

static void
read_lash(struct world *w, const char *date, double day, double meter, double found)
{
    size_t n = w->n++;
    const struct vb_valve v = {1, 'I', 0};
    w->visit[n] = (struct vb_visit){.day = day, .meter = meter, .running = meter};
    w->lash[n] = (struct vb_lash){n, v, found, NAN, NAN, NAN};
    w->r[n] = (struct vb_set_reading){.valve = v,
                                      .day = day,
                                      .found = found,
                                      .left = NAN,
                                      .u = NAN,
                                      .temp_c = NAN,
                                      .shim_found = NAN,
                                      .shim_left = NAN};
    memcpy(w->r[n].date, date, strlen(date) + 1);
    memcpy(w->visit[n].date, date, strlen(date) + 1);
    memcpy(w->readings.date, date, strlen(date) + 1);
    w->readings.meter = meter;
}

static enum vb_err
make(struct world *w, const struct vb_sheet_wish *wish, struct vb_sheet *s)
{
    const struct vb_engine e = {.name = "T-1",
                                .family = &w->family,
                                .family_name = "test",
                                .meter_unit = "h",
                                .in_service = NAN,
                                .visit = w->visit,
                                .n_visits = w->n,
                                .lash = w->lash,
                                .n_lash = w->n};
    struct vb_msg m = {0};
    ck_assert_int_eq(vb_fleet_add(&w->fleet, &e, wish->as_of), VB_OK);
    ck_assert_int_eq(vb_fleet_pool(&w->fleet), VB_OK);
    w->readings.r = w->r;
    w->readings.n = w->n;
    enum vb_err err = vb_sheet_make(&w->fleet, &w->readings, wish, s, &m);
    ck_assert(!err == !m.text[0]);
    return err;
}

/*
 * Readings 0.330, 0.314, 0.286, 0.270 at 0, 10, 20, 30 h. By hand: mean 0.3 at 15 h, Sxx 500,
 * Sxy -1.04, rate -0.00208; residuals -0.0012, 0.0036, -0.0036, 0.0012; SSE 2.88e-5, df 2, s2
 * 1.44e-5. u of a reading is its root, 0.0037947. Level at 40 h 0.3 - 0.00208 x 25 = 0.248,
 * variance s2 (1/4 + 25^2/500) = 2.16e-5, root 0.0046476.
 */
static void
four_readings(struct world *w)
{
    read_lash(w, "2026-01-01", 20454, 0, 0.330);
    read_lash(w, "2026-01-11", 20464, 10, 0.314);
    read_lash(w, "2026-01-21", 20474, 20, 0.286);
    read_lash(w, "2026-01-31", 20484, 30, 0.270);
}

START_TEST(found_and_its_uncertainty)
{
    struct world w;
    struct vb_sheet s;
    const struct vb_sheet_wish wish = {.date = "2026-01-31", .as_of = 20484};
    begin(&w, "1");
    four_readings(&w);
    ck_assert_int_eq(make(&w, &wish, &s), VB_OK);
    ck_assert_uint_eq(s.n, 1);
    ck_assert_double_eq(s.row[0].found, 0.27);
    ck_assert_double_eq_tol(s.row[0].u, sqrt(1.44e-5), 1e-12);
    ck_assert_double_eq(s.df[0], 2);
    ck_assert(isnan(s.df[1]));
    ck_assert_int_eq(s.row[0].todo, VB_TODO_LEAVE);
    ck_assert_double_eq(s.row[0].after, 0.27);
    ck_assert_str_eq(s.date, "2026-01-31");
    vb_sheet_clear(&s);
    vb_fleet_clear(&w.fleet);
}
END_TEST

/* A gauge of u 0.02 counts a quarter: R's lm with weights is in wear_test.c; here only
 * that the newest reading has the u of its own weight, twice that of the others. */
START_TEST(a_coarse_reading_is_less_sure)
{
    struct world w;
    struct vb_sheet s;
    const struct vb_sheet_wish wish = {.date = "2026-01-31", .as_of = 20484};
    begin(&w, "1");
    four_readings(&w);
    w.r[3].u = 0.02;
    ck_assert_int_eq(make(&w, &wish, &s), VB_OK);
    ck_assert_double_eq_tol(s.row[0].u, 2 * sqrt(1.44e-5), 1e-12);
    vb_sheet_clear(&s);
    vb_fleet_clear(&w.fleet);
}
END_TEST

START_TEST(expected_by_the_pace)
{
    struct world w;
    struct vb_sheet s;
    const struct vb_sheet_wish wish = {.date = "2026-02-10", .as_of = 20494, .plan = 1};
    begin(&w, "1");
    four_readings(&w); // 1 h a day: 40 h ten days later
    ck_assert_int_eq(make(&w, &wish, &s), VB_OK);
    ck_assert_double_eq_tol(s.row[0].found, 0.248, 1e-12);
    ck_assert_double_eq_tol(s.row[0].u, sqrt(2.16e-5), 1e-12);
    ck_assert_str_eq(s.row[0].date, "");
    ck_assert_double_eq_tol(s.meter, 40, 1e-9);
    vb_sheet_clear(&s);
    vb_fleet_clear(&w.fleet);
}
END_TEST

/* Closed nowhere: inlet open for 700 of 720 degrees, so that no TDC is 30 from it. */
START_TEST(a_valve_that_is_closed_nowhere)
{
    struct world w;
    struct vb_sheet s;
    const struct vb_sheet_wish wish = {.date = "2026-01-31", .as_of = 20484};
    begin(&w, "1");
    four_readings(&w);
    w.family.opens[0] = -350;
    w.family.closes[0] = 350;
    ck_assert_int_eq(make(&w, &wish, &s), VB_OK);
    ck_assert_int_eq(s.row[0].stop, -1);
    ck_assert(!s.assumed[0] && s.assumed[1]);
    vb_sheet_clear(&s);
    vb_fleet_clear(&w.fleet);
}
END_TEST

START_TEST(an_order_of_other_cylinders)
{
    struct world w;
    struct vb_sheet s;
    const struct vb_sheet_wish wish = {.date = "2026-01-31", .as_of = 20484};
    begin(&w, "1-3-4-2");
    four_readings(&w);
    w.family.cylinders = 6;
    ck_assert_int_eq(make(&w, &wish, &s), VB_EDOM);
    vb_fleet_clear(&w.fleet);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("setting");
    TCase *t = tcase_create("setting");
    tcase_add_loop_test(t, turns_by_hand, 0, COUNT(screws));
    tcase_add_test(t, no_screw_no_turns);
    tcase_add_test(t, screws_move_a_lever);
    tcase_add_test(t, where_a_screw_is_matters_with_a_ratio);
    tcase_add_test(t, the_gauge_is_the_other_way_round);
    tcase_add_loop_test(t, the_present_shim, 0, COUNT(shim_cases));
    tcase_add_test(t, found_and_its_uncertainty);
    tcase_add_test(t, a_coarse_reading_is_less_sure);
    tcase_add_test(t, expected_by_the_pace);
    tcase_add_test(t, a_valve_that_is_closed_nowhere);
    tcase_add_test(t, an_order_of_other_cylinders);
    suite_add_tcase(s, t);
    return run_suite(s);
}
