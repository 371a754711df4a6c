/*
 * The due list of a fleet put together by hand: what its lines say where something is
 * missing, out of reason or more than there is room for. Wanted values by hand.
 */
#include "suite.h"
#include "valvebook/due.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/alert.h"
#include "valvebook/doubt.h"
#include "valvebook/life.h"

#define AS_OF 1000

static char name_a[] = "A-1", name_b[] = "B-2";
static struct vb_family family;
static struct vb_unit_now unit[2];
static struct vb_life life[2];
static struct vb_group group;
static double rate[2], var[2];
static struct vb_fleet fleet;
static struct vb_due_wish wish;
static struct vb_dues dues;

/* Two engines that run 10 h a day and stand at 500 h; the first has a valve that closes by
 * 0.1 mm in 1000 h, known to 0.01, and reads 0.25 mm. */
static void
setup(void)
{
    vb_family_init(&family);
    unit[0] = (struct vb_unit_now){.name = name_a,
                                   .family = &family,
                                   .family_name = "six",
                                   .meter_unit = "h",
                                   .n_visits = 3,
                                   .read_day = AS_OF,
                                   .last_day = AS_OF,
                                   .last_running = 500,
                                   .pace = 10,
                                   .set_day = NAN,
                                   .round_day = NAN,
                                   .round_running = NAN,
                                   .plan_day = NAN,
                                   .plan_running = NAN};
    unit[1] = unit[0];
    unit[1].name = name_b;
    life[0] = (struct vb_life){.valve = {1, 'E', 0}, .current = 1, .member = 0};
    life[0].wear = (struct vb_wear){.n = 3,
                                    .df = 1,
                                    .rate = -1e-4,
                                    .sxx = 1e4,
                                    .last_w = 3,
                                    .last_mbar = 400,
                                    .last_ybar = 0.26,
                                    .now = 0.25,
                                    .now_meter = 500};
    life[0].newest = (struct vb_obs){500, 0.25, 1, 0};
    life[0].read_meter = 500;
    rate[0] = -1e-4;
    var[0] = 1e-10;
    group = (struct vb_group){.family = "six",
                              .side = 1,
                              .pool = {.sse = 1e-5, .df = 10},
                              .s2 = 1e-6,
                              .rate = rate,
                              .var = var,
                              .n = 1,
                              .size = 2};
    fleet = (struct vb_fleet){.unit = unit, .n_units = 2, .group = &group, .n_groups = 1};
    fleet.lives.life = life;
    fleet.lives.n = 1;
    wish = (struct vb_due_wish){AS_OF, NAN, NAN, NAN, 0, 0.95, NULL, NULL};
}

static void
teardown(void)
{
    vb_dues_clear(&dues);
}

static size_t
list(void)
{
    teardown();
    ck_assert_int_eq(vb_due_list(&fleet, &wish, &dues), VB_OK);
    return dues.n;
}

#define near(got, want) ck_assert_double_eq_tol(got, want, 1e-9)

/* --- spans --------------------------------------------------------------------------- */

START_TEST(spans)
{
    struct vb_due_wish w = {.within_days = NAN, .within_h = NAN, .within_km = NAN};
    ck_assert_int_eq(vb_due_span("6wk", &w), 1);
    ck_assert_double_eq(w.within_days, 42);
    ck_assert_int_eq(vb_due_span("50 h", &w), 1);
    ck_assert_double_eq(w.within_h, 50);
    ck_assert_int_eq(vb_due_span("5000km", &w), 1);
    ck_assert_double_eq(w.within_km, 5000);
    static const char *const bad[] = {
        "", "d", "-3d", "30", "30 x", "5 mm", "12345678901234567 mi"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        ck_assert_msg(!vb_due_span(bad[i], &w), "'%s'", bad[i]);
    ck_assert(w.within_days == 42 && w.within_h == 50 && w.within_km == 5000);
}
END_TEST

/* --- lash ---------------------------------------------------------------------------- */

/* At 500 h its line is at 0.26 - 0.0001 x 100 = 0.25: past a limit of 0.255 that 0.256, as
 * read, is not. One limit is enough for that to be said. */
START_TEST(a_line_past_its_limit)
{
    for (int loose = 0; loose < 2; loose++) {
        family.lash_min[1] = 0.255;
        family.lash_max[1] = loose ? 0.4 : NAN;
        life[0].wear.now = 0.256;
        ck_assert_uint_eq(list(), 1);
        ck_assert(dues.due[0].now);
        ck_assert_int_eq(strncmp(dues.due[0].reason,
                                 "0.256 mm read, its line is past the limit, tight limit "
                                 "0.255 mm; closing",
                                 72),
                         0);
    }
}
END_TEST

START_TEST(a_reading_past_its_limit)
{
    family.lash_min[1] = 0.1;
    family.lash_max[1] = 0.2;
    ck_assert_uint_eq(list(), 1);
    ck_assert(dues.due[0].now);
    ck_assert_int_eq(
        strncmp(dues.due[0].reason, "0.250 mm, loose limit 0.200 mm; closing", 39), 0);
}
END_TEST

/* The newest reading has no meter, and is no point of any line: it counts all the same. */
START_TEST(read_at_no_known_meter)
{
    family.lash_min[1] = 0.24;
    family.lash_max[1] = 0.4;
    unit[0].last_running = 520;
    life[0].unplaced = 1;
    life[0].unplaced_lash = 0.1;
    ck_assert_uint_eq(list(), 1);
    ck_assert(dues.due[0].now && dues.due[0].due_running == 520);
    ck_assert_int_eq(
        strncmp(dues.due[0].reason,
                "0.100 mm read at no known meter, tight limit 0.240 mm; closing", 62),
        0);
    life[0].unplaced_lash = 0.3; // it was set: what the line says is the cautious end
    ck_assert_uint_eq(list(), 1);
    ck_assert(!dues.due[0].now);
    family.lash_min[1] = 0.255;
    ck_assert_uint_eq(list(), 1);
    ck_assert_int_eq(
        strncmp(dues.due[0].reason,
                "0.300 mm read at no known meter, its line is past the limit", 59),
        0);
    life[0].wear = (struct vb_wear){.n = 0}; // nothing else was read
    ck_assert_uint_eq(list(), 0);
    life[0].unplaced_lash = 0.1;
    unit[0].last_running = NAN;
    ck_assert_uint_eq(list(), 1);
    ck_assert(dues.due[0].now && isnan(dues.due[0].due_running));
    ck_assert(isnan(dues.due[0].due_day));
}
END_TEST

/* The engine has run 20 h since the valve was read. */
START_TEST(not_read_at_the_last_visit)
{
    unit[0].last_running = 520;
    family.lash_max[1] = 0.2;
    ck_assert_uint_eq(list(), 1);
    ck_assert_int_eq(strncmp(dues.due[0].reason,
                             "0.250 mm read 20 h before the last visit, loose limit", 53),
                     0);
    life[0].read_meter = 520; // no gap there too: it is no point of the fit (life.h)
    ck_assert_uint_eq(list(), 1);
    ck_assert_int_eq(strncmp(dues.due[0].reason, "0.250 mm, loose limit", 21), 0);
    life[0].read_meter = 500;
    family.lash_max[1] = NAN;
    family.lash_min[1] = 0.255;
    life[0].wear.now = 0.256;
    ck_assert_uint_eq(list(), 1);
    ck_assert_int_eq(strncmp(dues.due[0].reason,
                             "0.256 mm read 20 h before the last visit, its line is past "
                             "the limit, tight limit",
                             81),
                     0);
}
END_TEST

/* From 0.25 mm at 1e-310 mm/h the limit is never reached in numbers that a double has. */
START_TEST(no_day_is_that_far_off)
{
    family.lash_min[1] = 0.2;
    life[0].wear.rate = -1e-310;
    life[0].wear.sxx = 1e300;
    group.s2 = 1e-30;
    ck_assert_uint_eq(list(), 1);
    ck_assert(!dues.due[0].now);
    ck_assert(isnan(dues.due[0].expected_running) && isnan(dues.due[0].expected_day));
}
END_TEST

/* Limits by which nothing can be foreseen: a chance below one half has no bound. */
START_TEST(no_such_confidence)
{
    family.lash_min[1] = 0.2;
    family.seat_limit[1] = 0.2;
    life[0].closed = 0.1;
    life[0].closed_v = 2;
    ck_assert_uint_eq(list(), 2);
    wish.confidence = 0.4;
    ck_assert_uint_eq(list(), 0);
}
END_TEST

/* 50 h are 0.05 mm / 0.0001 mm/h = 500 h ahead less what is not known; only of engines
 * whose meter runs in h. */
START_TEST(within_meter_of_one_unit)
{
    family.lash_min[1] = 0.2;
    wish.within_h = 1000;
    ck_assert_uint_eq(list(), 1);
    near(dues.due[0].expected_running, 1000);
    wish.within_h = 50;
    ck_assert_uint_eq(list(), 0);
    wish.within_h = 1000;
    strcpy(unit[0].meter_unit, "km");
    ck_assert_uint_eq(list(), 0);
    wish.within_km = 1000; // in a fleet of both each has its own
    ck_assert_uint_eq(list(), 1);
    strcpy(unit[0].meter_unit, "h");
    ck_assert_uint_eq(list(), 1);
    unit[0].meter_unit[0] = 0;
    ck_assert_uint_eq(list(), 0);
}
END_TEST

/* --- intervals ----------------------------------------------------------------------- */

/* The first engine alone, without a valve's line: set ten days ago as a whole, at this meter,
 * to be set every so many hours. */
static void
set_ten_days_ago(double running, double relash)
{
    unit[1].ended = 1;
    life[0].current = 0;
    unit[0].set_day = unit[0].round_day = AS_OF - 10;
    unit[0].round_running = running;
    strcpy(unit[0].round_date, "2026-10-22");
    family.relash = relash;
    family.relash_dim = VB_DIM_TIME;
}

/* Set at 400 h, ten days ago. Every 250 h: at 650 h, in 15 days. Every 20 days: in 10. */
START_TEST(whichever_interval_ends_first)
{
    set_ten_days_ago(400, 250);
    ck_assert_uint_eq(list(), 1);
    near(dues.due[0].due_day, AS_OF + 15);
    near(dues.due[0].due_running, 650);
    family.relash_days = 20;
    ck_assert_uint_eq(list(), 1);
    near(dues.due[0].due_day, AS_OF + 10);
    ck_assert_str_eq(
        dues.due[0].reason,
        "last set 2026-10-22, 100 h ago; the plan says every 250 h; the plan "
        "says every 20 days");
    family.relash_days = 30; // in 20 days: the meter comes first
    ck_assert_uint_eq(list(), 1);
    near(dues.due[0].due_day, AS_OF + 15);
    family.relash = NAN;
    ck_assert_uint_eq(list(), 1);
    near(dues.due[0].due_day, AS_OF + 20);
    ck_assert(isnan(dues.due[0].due_running));
}
END_TEST

/* One valve was set since: the others wait no longer for that. */
START_TEST(some_valves_since)
{
    set_ten_days_ago(400, 250);
    unit[0].set_day = AS_OF - 3;
    strcpy(unit[0].set_date, "2026-10-29");
    ck_assert_uint_eq(list(), 1);
    near(dues.due[0].due_running, 650);
    near(dues.due[0].due_day, AS_OF + 15);
    ck_assert_str_eq(dues.due[0].reason, "last set 2026-10-22, 100 h ago (some valves "
                                         "2026-10-29); the plan says every 250 h");
    family.relash = NAN;
    family.relash_days = 10;
    ck_assert_uint_eq(list(), 1);
    ck_assert_int_eq(dues.due[0].now, 1);
    ck_assert_str_eq(dues.due[0].reason, "last set 2026-10-22 (some valves 2026-10-29); "
                                         "the plan says every 10 days");
}
END_TEST

/* Set at 400 h, every 255 h: in 15 days and a half, which is printed as the 15th day and so is
 * within 15 days, and not later than a plan of that day. */
START_TEST(days_are_whole)
{
    set_ten_days_ago(400, 255);
    wish.within_days = 15;
    ck_assert_uint_eq(list(), 1);
    near(dues.due[0].due_day, AS_OF + 15.5);
    wish.within_days = 14;
    ck_assert_uint_eq(list(), 0);
    wish.within_days = NAN;
    wish.before_plan = 1;
    unit[0].plan_day = AS_OF + 15;
    ck_assert_uint_eq(list(), 1);
    unit[0].plan_day = AS_OF + 14;
    ck_assert_uint_eq(list(), 0);
}
END_TEST

/* Set ten days ago where nobody wrote the meter down, which had shown 380 h before: by the meter
 * it is counted from there. Where it had shown nothing, only days can be counted. */
START_TEST(set_at_no_known_meter)
{
    set_ten_days_ago(380, 250);
    unit[0].round_unread = 1;
    ck_assert_uint_eq(list(), 1);
    near(dues.due[0].due_running, 630);
    ck_assert_str_eq(dues.due[0].reason,
                     "last set 2026-10-22, at most 120 h ago; the plan says every 250 h");
    unit[0].round_running = NAN;
    ck_assert_uint_eq(list(), 1);
    ck_assert(dues.due[0].now && dues.due[0].due_day == AS_OF);
    ck_assert_str_eq(dues.due[0].reason, "last set 2026-10-22, at no known meter");
    ck_assert_int_eq(vb_alert_level(&dues.unit[dues.due[0].unit], &dues.due[0], &wish, 0),
                     VB_ALERT_DUE);
    family.relash_days = 30;
    ck_assert_uint_eq(list(), 1);
    near(dues.due[0].due_day, AS_OF + 20);
    ck_assert_int_eq(dues.due[0].now, 0);
    ck_assert_str_eq(dues.due[0].reason,
                     "last set 2026-10-22; the plan says every 30 days");
    family.relash = NAN; // no meter at all was ever written down
    unit[0].last_day = unit[0].last_running = unit[0].pace = NAN;
    ck_assert_uint_eq(list(), 1);
    near(dues.due[0].due_day, AS_OF + 20);
    unit[0].n_visits = 0; // it was never read
    ck_assert_uint_eq(list(), 0);
}
END_TEST

START_TEST(an_interval_in_km)
{
    struct vb_family_kept kept = {.name = name_b, .facts = family}, *one = &kept;
    struct vb_doubts d;
    life[0].current = 0;
    for (int i = 0; i < 2; i++) {
        unit[i].family = &kept.facts;
        unit[i].set_day = unit[i].round_day = AS_OF - 10;
        unit[i].round_running = 400;
    }
    strcpy(unit[0].meter_unit, "km");
    kept.facts.relash = 250;
    kept.facts.relash_dim = VB_DIM_DISTANCE;
    ck_assert_uint_eq(list(), 1); // only of the engine whose meter runs in km
    ck_assert_str_eq(dues.unit[dues.due[0].unit].name, name_a);
    ck_assert_ptr_nonnull(
        strstr(dues.due[0].reason, "100 km ago; the plan says every 250 km"));
    fleet.family = &one;
    fleet.n_families = 1;
    vb_fleet_see(&fleet);
    ck_assert_int_eq(vb_fleet_doubts(&fleet, &d), VB_OK);
    ck_assert_uint_eq(d.n, 1);
    ck_assert_ptr_nonnull(strstr(d.doubt[0].text, name_b)); // the one that runs in h
    free(d.doubt);
}
END_TEST

/* --- cams ---------------------------------------------------------------------------- */

static struct vb_cam_unit cam_unit[3];
static struct vb_cam_row row[6];
static struct vb_cam_list cams;

static void
add_cams(void)
{
    char *names[] = {name_a, name_b, family.lobe[0]};
    strcpy(family.lobe[0], "Z-9"); // an engine that the list was asked for without
    life[0].current = 0;
    memset(row, 0, sizeof row);
    for (int i = 0; i < 3; i++)
        cam_unit[i] = (struct vb_cam_unit){names[i], NULL, 0};
    for (int i = 0; i < 6; i++) {
        row[i] = (struct vb_cam_row){.at = "AI",
                                     .alarm = 1,
                                     .n_shift = 4,
                                     .against = VB_AGAINST_NOMINAL,
                                     .limit = NAN,
                                     .shift = {.drive = -2.5, .u_drive = 0.25}};
    }
    cams = (struct vb_cam_list){.engine = cam_unit, .n_engines = 3, .row = row, .n = 1};
    wish.cams = &cams;
}

START_TEST(a_cam_without_a_hint)
{
    add_cams();
    ck_assert_uint_eq(list(), 1);
    ck_assert_str_eq(dues.due[0].cam, "AI");
    ck_assert_str_eq(dues.due[0].reason,
                     "2.50 \xc2\xb1 0.25 deg earlier than nominal (4 valves)");
    strcpy(row[0].hint, "one tooth advanced");
    row[0].n_shift = 1;
    ck_assert_uint_eq(list(), 1);
    ck_assert_str_eq(dues.due[0].reason, "one tooth advanced; 2.50 \xc2\xb1 0.25 deg "
                                         "earlier than nominal (1 valve)");
}
END_TEST

/* What is remembered of a line is the more the worse its cam: rank 2 is an alarm, 5 teeth. */
START_TEST(what_a_cam_has_found)
{
    add_cams();
    ck_assert_uint_eq(list(), 1);
    ck_assert_uint_eq(dues.due[0].found, 0x300);
    row[0].has_cause = 1;
    row[0].cause = (struct vb_cause_found){.cause = VB_CAUSE_TEETH, .teeth = -2};
    ck_assert_uint_eq(list(), 1);
    ck_assert_uint_eq(dues.due[0].found, 0x31f00);
    row[0].cause.teeth = 11;
    ck_assert_uint_eq(list(), 1);
    ck_assert_uint_eq(dues.due[0].found, 0xff1f00);
}
END_TEST

/* A shift of 10^200 degrees is told in few digits; what does not fit the line is cut. */
START_TEST(a_shift_without_end)
{
    add_cams();
    row[0].shift.drive = 1e200;
    ck_assert_uint_eq(list(), 1);
    ck_assert_str_eq(dues.due[0].reason,
                     "1e+200 \xc2\xb1 0.25 deg later than nominal (4 valves)");
    cams.n = 6; // a hint of 100 bytes and six shifts of 47 and more: over 400
    memset(row[0].hint, 'x', 100);
    ck_assert_uint_eq(list(), 1);
    ck_assert_uint_eq(strlen(dues.due[0].reason), 399);
    ck_assert_uint_eq(strspn(dues.due[0].reason, "x"), 100);
}
END_TEST

START_TEST(cams_of_engines_that_are_not_there)
{
    add_cams();
    row[0].engine = 2;
    cam_unit[2].refused = 1;
    ck_assert_uint_eq(list(), 0);
    unit[1].ended = 1;
    row[0].engine = 1;
    cam_unit[1].refused = 1;
    ck_assert_uint_eq(list(), 0);
    unit[1].ended = 0;
    ck_assert_uint_eq(list(), 2);
    ck_assert_str_eq(dues.due[0].reason,
                     "1 thing about its cams cannot be used: valve-timing says what");
    cam_unit[1].refused = 2;
    ck_assert_uint_eq(list(), 2);
    ck_assert_str_eq(dues.due[0].reason,
                     "2 things about its cams cannot be used: valve-timing says what");
}
END_TEST

/* In hours, of the one family. */
static struct vb_engine
engine_of(struct vb_visit *visit, size_t n)
{
    return (struct vb_engine){.name = name_a,
                              .family = &family,
                              .family_name = "six",
                              .meter_unit = "h",
                              .in_service = NAN,
                              .visit = visit,
                              .n_visits = n};
}

/* --- what is unread, what is planned -------------------------------------------------- */

/* 100 valves, none of them read: there is room for some of their names. */
START_TEST(more_unread_than_there_is_room_for)
{
    struct vb_visit v = {.day = 100, .meter = 5, .running = 5};
    struct vb_fleet f = {0};
    struct vb_engine e = engine_of(&v, 1);
    family.cylinders = 50;
    family.valves[0] = family.valves[1] = 1;
    ck_assert_int_eq(vb_fleet_add(&f, &e, AS_OF), VB_OK);
    ck_assert_uint_eq(f.unit[0].n_unread, 100);
    ck_assert_int_eq(strncmp(f.unit[0].unread, "1I 1E 2I 2E", 11), 0);
    const char *dots = strstr(f.unit[0].unread, "...");
    ck_assert_ptr_nonnull(dots);
    ck_assert_str_eq(dots, "..."); // once, at the end
    for (size_t n = 1; n <= 100; n *= 10) {
        f.unit[0].n_unread = n;
        vb_dues_clear(&dues);
        ck_assert_int_eq(vb_due_list(&f, &wish, &dues), VB_OK);
        ck_assert_uint_eq(dues.n, 1);
        ck_assert_uint_eq(dues.due[0].found, n == 1 ? 0x1000000U : 0xff000000U);
    }
    vb_fleet_clear(&f);
}
END_TEST

/* 5 h on day 100. What was planned for a day before has been run; 20 h until day 120, which
 * is over, and 30 h until day 150. */
START_TEST(the_next_plan)
{
    struct vb_visit v = {.day = 100, .meter = 5, .running = 5};
    struct vb_plan plan[] = {{.day = 90, .gain = 7},
                             {.day = 100, .gain = 8},
                             {.day = 120, .gain = 20},
                             {.day = 150, .gain = 30, .label = "final"}};
    struct vb_fleet f = {0};
    struct vb_engine e = engine_of(&v, 1);
    e.plan = plan;
    e.n_plan = 4;
    ck_assert_int_eq(vb_fleet_add(&f, &e, 130), VB_OK);
    ck_assert_double_eq(f.unit[0].plan_running, 55);
    ck_assert_double_eq(f.unit[0].plan_day, 150);
    ck_assert_str_eq(f.unit[0].plan_label, "final");
    vb_fleet_clear(&f);
}
END_TEST

/* Day 100 at 50 h, 10 h in 10 days. Until day 120, of which nothing is said, 20 h by that pace,
 * then 30 h, and by the pace no more than these. Without a pace nobody knows; 0 is 0. */
static const struct {
    size_t visits, plans;
    double gain, running;
} gains[] = {{2, 1, NAN, 70},  {2, 2, NAN, 100}, {2, 3, NAN, 100},
             {2, 4, NAN, 150}, {1, 1, NAN, NAN}, {1, 2, NAN, NAN},
             {1, 1, 0, 50},    {2, 1, 0, 50},    {2, 2, 0, 80}};

START_TEST(a_plan_without_a_gain)
{
    struct vb_visit v[] = {{.day = 90, .meter = 40, .running = 40},
                           {.day = 100, .meter = 50, .running = 50}};
    struct vb_plan plan[] = {{.day = 120, .gain = gains[_i].gain},
                             {.day = 121, .gain = 30},
                             {.day = 122, .gain = gains[_i].gain},
                             {.day = 200, .gain = gains[_i].gain}};
    struct vb_fleet f = {0};
    struct vb_engine e = engine_of(v + 2 - gains[_i].visits, gains[_i].visits);
    e.plan = plan;
    e.n_plan = gains[_i].plans;
    ck_assert_int_eq(vb_fleet_add(&f, &e, plan[gains[_i].plans - 1].day), VB_OK);
    if (isnan(gains[_i].running))
        ck_assert_double_nan(f.unit[0].plan_running);
    else
        ck_assert_double_eq_tol(f.unit[0].plan_running, gains[_i].running, 1e-9);
    ck_assert_double_eq(f.unit[0].plan_day, plan[gains[_i].plans - 1].day);
    vb_fleet_clear(&f);
}
END_TEST

/* Found in the morning and left in the evening of one day, every 400 days and 800 h; of such a
 * pair alone the pace would be 0, or that of a test run. Visits within the year are enough. */
static const struct {
    double day[4], running[4];
    size_t n;
    double pace;
} paces[] = {
    {{100.3, 100.8, 500.3, 500.8}, {0, 0, 800, 800}, 4, 2},
    {{100.3, 100.8, 500.3, 500.8}, {0, 0, 800, 802}, 4, 2.0025}, // of 2 and 2.005
    {{100.3, 500.3, 500.8}, {0, 800, 800}, 3, 2},
    {{500.3, 500.8}, {800, 802}, 2, NAN},
    {{100, 500, 600, 700}, {0, 800, 1100, 1400}, 4, 3},
    {{100, 500}, {0, 800}, 2, 2},
    {{500.8}, {800}, 1, NAN}};

START_TEST(two_visits_of_one_day_are_no_pace)
{
    struct vb_visit v[4];
    struct vb_fleet f = {0};
    struct vb_engine e = engine_of(v, paces[_i].n);
    for (size_t i = 0; i < e.n_visits; i++)
        v[i] = (struct vb_visit){.day = paces[_i].day[i],
                                 .meter = paces[_i].running[i],
                                 .running = paces[_i].running[i]};
    ck_assert_int_eq(vb_fleet_add(&f, &e, 701), VB_OK);
    if (isnan(paces[_i].pace))
        ck_assert_double_nan(f.unit[0].pace);
    else
        ck_assert_double_eq_tol(f.unit[0].pace, paces[_i].pace, 1e-12);
    vb_fleet_clear(&f);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("due");
    TCase *t = tcase_create("lines");
    tcase_add_checked_fixture(t, setup, teardown);
    tcase_add_test(t, spans);
    tcase_add_test(t, a_line_past_its_limit);
    tcase_add_test(t, a_reading_past_its_limit);
    tcase_add_test(t, read_at_no_known_meter);
    tcase_add_test(t, not_read_at_the_last_visit);
    tcase_add_test(t, no_day_is_that_far_off);
    tcase_add_test(t, no_such_confidence);
    tcase_add_test(t, within_meter_of_one_unit);
    tcase_add_test(t, whichever_interval_ends_first);
    tcase_add_test(t, some_valves_since);
    tcase_add_test(t, days_are_whole);
    tcase_add_test(t, set_at_no_known_meter);
    tcase_add_test(t, an_interval_in_km);
    tcase_add_test(t, a_cam_without_a_hint);
    tcase_add_test(t, what_a_cam_has_found);
    tcase_add_test(t, a_shift_without_end);
    tcase_add_test(t, cams_of_engines_that_are_not_there);
    tcase_add_test(t, more_unread_than_there_is_room_for);
    tcase_add_test(t, the_next_plan);
    tcase_add_loop_test(t, a_plan_without_a_gain, 0, sizeof gains / sizeof *gains);
    tcase_add_loop_test(t, two_visits_of_one_day_are_no_pace, 0,
                        sizeof paces / sizeof *paces);
    suite_add_tcase(s, t);
    return run_suite(s);
}
