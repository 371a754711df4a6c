/*
 * A setting sheet of one engine put together by hand: what is to be done where something is
 * not stated, not known or cannot be. By hand.
 */
#include "suite.h"
#include "valvebook/setting.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/life.h"

#define TONIGHT 1000

static char name[] = "A-1";
static struct vb_family family;
static struct vb_unit_now unit;
static struct vb_life life;
static struct vb_group group;
static double rate[1], var[1];
static struct vb_fleet fleet;
static struct vb_set_reading reading;
static struct vb_set_readings readings;
static struct vb_sheet_wish wish;
static struct vb_sheet sheet;
static struct vb_msg msg;

/* One exhaust valve, read 0.26 mm with a scatter of 0.001 at 500 h; it closes by 0.1 mm in
 * 1000 h. */
static void
setup(void)
{
    vb_family_init(&family);
    family.cylinders = 1;
    family.valves[1] = 1;
    family.lash_min[1] = 0.2;
    family.lash_max[1] = 0.4;
    family.lash_target[1] = 0.3;
    family.adjuster = VB_ADJUSTER_SCREW;
    family.screw_pitch[1] = 1;
    unit = (struct vb_unit_now){.name = name,
                                .family = &family,
                                .family_name = "one",
                                .meter_unit = "h",
                                .n_visits = 3,
                                .last_day = TONIGHT - 10,
                                .last_running = 500,
                                .offset = 0,
                                .pace = 10,
                                .plan_day = NAN,
                                .plan_running = NAN};
    life = (struct vb_life){.valve = {1, 'E', 0}, .current = 1, .member = 0};
    life.wear = (struct vb_wear){.n = 3,
                                 .df = 1,
                                 .rate = -1e-4,
                                 .sxx = 1e4,
                                 .last_w = 3,
                                 .last_mbar = 500,
                                 .last_ybar = 0.26,
                                 .now = 0.26,
                                 .now_meter = 500};
    life.newest = (struct vb_obs){500, 0.26, 1, 0};
    rate[0] = -1e-4;
    var[0] = 1e-10;
    group = (struct vb_group){.family = "one",
                              .side = 1,
                              .pool = {.sse = 1e-5, .df = 10},
                              .s2 = 1e-6,
                              .rate = rate,
                              .var = var,
                              .n = 1,
                              .size = 1};
    fleet =
        (struct vb_fleet){.unit = &unit, .n_units = 1, .group = &group, .n_groups = 1};
    fleet.lives.life = &life;
    fleet.lives.n = 1;
    reading = (struct vb_set_reading){{1, 'E', 0}, TONIGHT - 10, "2026-10-22", 0.26, NAN,
                                      NAN,         NAN,          NAN,          NAN};
    readings = (struct vb_set_readings){
        .r = &reading, .n = 1, .date = "2026-10-22", .meter_unit = "h", .meter = 500};
    wish = (struct vb_sheet_wish){
        .date = "2026-11-01", .as_of = TONIGHT, .order = VB_ORDER_CYLINDERS, .all = 1};
}

static void
teardown(void)
{
    vb_sheet_clear(&sheet);
}

/* The one row of the sheet. */
static const struct vb_sheet_row *
make(void)
{
    vb_sheet_clear(&sheet);
    ck_assert_int_eq(vb_sheet_make(&fleet, &readings, &wish, &sheet, &msg), VB_OK);
    ck_assert_uint_eq(sheet.n, 1);
    return &sheet.row[0];
}

#define near(got, want) ck_assert_double_eq_tol(got, want, 1e-9)

/* --- what is done -------------------------------------------------------------------- */

START_TEST(a_screw_of_unknown_pitch)
{
    const struct vb_sheet_row *r = make();
    ck_assert_int_eq(r->todo, VB_TODO_SCREW);
    near(r->turns, -0.04);
    family.screw_pitch[1] = NAN;
    r = make();
    ck_assert_int_eq(r->todo, VB_TODO_BY);
    near(r->by, -0.04);
    ck_assert(isnan(r->turns));
}
END_TEST

/* What is inside its window is left, unless all are to be set; the rest has no target. */
START_TEST(no_target)
{
    family.lash_target[1] = NAN;
    wish.all = 0;
    ck_assert_int_eq(make()->todo, VB_TODO_LEAVE);
    wish.all = 1;
    ck_assert_int_eq(make()->todo, VB_TODO_NO_TARGET);
    wish.all = 0;
    reading.found = 0.45;
    ck_assert_int_eq(make()->todo, VB_TODO_NO_TARGET);
}
END_TEST

/* Grades from 2 mm on without an end are none: its shim stays where it would do. */
START_TEST(grades_without_an_end)
{
    family.adjuster = VB_ADJUSTER_SHIM;
    family.shim_min[1] = 2;
    family.shim_step[1] = 0.05;
    reading.shim_found = 2.5;
    reading.found = 0.15;
    ck_assert_int_eq(make()->todo, VB_TODO_UNSERVED);
    family.shim_max[1] = 3; // wants 2.5 + 0.15 - 0.3
    const struct vb_sheet_row *r = make();
    ck_assert_int_eq(r->todo, VB_TODO_SHIM);
    ck_assert_int_eq(r->choice.thickness, vb_shim_units(2.35));
}
END_TEST

/* --- until when it lasts ------------------------------------------------------------- */

/* It is at 0.2 mm at 1100 h, and may be somewhat before. */
START_TEST(due_before_the_plan_is_over)
{
    wish.all = 0;
    unit.plan_running = 1200;
    double due = make()->due;
    ck_assert(due > 600 && due <= 1100);
    unit.plan_running = 550;
    ck_assert(isnan(make()->due));
    unit.plan_running = NAN;
    ck_assert(isnan(make()->due));
    wish.as_of = unit.last_day + 40; // where its pace has brought it by now
    unit.pace = (due - unit.last_running - 1) / 40;
    ck_assert(isnan(make()->due));
    unit.pace = (due - unit.last_running + 1) / 40;
    ck_assert_double_eq(make()->due, due);
    wish.as_of = unit.last_day - 1;
    ck_assert(isnan(make()->due));
    unit.last_running = due; // no pace is needed
    unit.pace = NAN;
    ck_assert_double_eq(make()->due, due);
}
END_TEST

START_TEST(nothing_says_when_it_is_due)
{
    wish.all = 0;
    unit.plan_running = 1200;
    life.wear.rate = 0; // it stands still
    ck_assert(isnan(make()->due));
    life.wear.sxx = 0; // nobody knows how it moves
    life.member = VB_NO_MEMBER;
    ck_assert(isnan(make()->due));
    setup();
    unit.plan_running = 1200;
    wish.all = 0;
    family.lash_min[1] = 0.4; // limits that clash; it is at its target
    family.lash_max[1] = 0.2;
    reading.found = 0.3;
    ck_assert_int_eq(make()->todo, VB_TODO_LEAVE);
    ck_assert(isnan(make()->due));
}
END_TEST

/* --- planned ------------------------------------------------------------------------- */

/* Planned for 700 h: 0.26 - 0.02. Without a plan on the day, at 10 h a day: 600 h, 0.25; a
 * meter that stands still, and a day that is over, leave it at 500 h. */
START_TEST(as_it_is_expected)
{
    wish.plan = 1;
    unit.plan_running = 700;
    near(make()->found, 0.24);
    ck_assert_double_eq(sheet.meter, 700);
    unit.plan_running = NAN;
    near(make()->found, 0.25);
    ck_assert_double_eq(sheet.meter, 600);
    ck_assert_str_eq(sheet.row[0].date, "");
    wish.as_of = TONIGHT - 20;
    near(make()->found, 0.26);
    wish.as_of = TONIGHT;
    unit.pace = NAN;
    near(make()->found, 0.26);
    ck_assert_double_eq(sheet.meter, 500);
}
END_TEST

/* Where nothing can be expected it is as it was read. */
START_TEST(as_it_was_read)
{
    wish.plan = 1;
    unit.last_running = NAN;
    near(make()->found, 0.26);
    ck_assert_str_eq(sheet.row[0].date, "2026-10-22");
    unit.last_running = 500;
    life.wear.last_w = 1e-200; // a variance beyond all numbers
    group.s2 = 1e200;
    near(make()->found, 0.26);
    ck_assert_str_eq(sheet.row[0].date, "2026-10-22");
}
END_TEST

/* --- date and order ------------------------------------------------------------------ */

START_TEST(a_date_that_is_too_long)
{
    wish.date = "2026-11-01T12:00:00.000000000000000000000000000000000000000000";
    make();
    ck_assert_uint_eq(strlen(sheet.date), VB_DAY_TEXT - 1);
    ck_assert_int_eq(strncmp(sheet.date, wish.date, VB_DAY_TEXT - 1), 0);
}
END_TEST

/* An order that cannot be read is none; half of the events are assumed like all. */
START_TEST(orders_and_events)
{
    strcpy(family.firing_order, "1-x");
    make();
    ck_assert_int_eq(sheet.has_firing, 0);
    wish.order = VB_ORDER_TWO;
    ck_assert_int_eq(vb_sheet_make(&fleet, &readings, &wish, &sheet, &msg), VB_EUNKNOWN);
    ck_assert_str_eq(msg.text, "family 'one' states no firing_order");
    strcpy(family.firing_order, "1");
    family.opens[0] = -12;
    family.closes[0] = 225;
    family.opens[1] = -225;
    make();
    ck_assert(sheet.has_firing && !sheet.assumed[0] && sheet.assumed[1]);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("setting_sheet");
    TCase *t = tcase_create("sheet");
    tcase_add_checked_fixture(t, setup, teardown);
    tcase_add_test(t, a_screw_of_unknown_pitch);
    tcase_add_test(t, no_target);
    tcase_add_test(t, grades_without_an_end);
    tcase_add_test(t, due_before_the_plan_is_over);
    tcase_add_test(t, nothing_says_when_it_is_due);
    tcase_add_test(t, as_it_is_expected);
    tcase_add_test(t, as_it_was_read);
    tcase_add_test(t, a_date_that_is_too_long);
    tcase_add_test(t, orders_and_events);
    suite_add_tcase(s, t);
    return run_suite(s);
}
