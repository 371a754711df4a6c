/*
 * What is advised, and when nothing is: one side of a family put together by hand. What an
 * interval comes to is in relash_test.c.
 */
#include "suite.h"
#include "valvebook/family_life.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static char name_a[] = "A-1", name_b[] = "B-2";
static struct vb_family family;
static struct vb_unit_now unit[2];
static struct vb_group group;
static double rate[3], var[3];
static struct vb_set set[5];
static struct vb_fleet fleet;
static struct vb_service service;
static struct vb_relash_advice advice;

/* Six exhaust valves that close by 0.1 mm in 1000 h, from 0.4 mm to no less than 0.2. Two
 * engines that run 10 and 20 h a day. */
static void
setup(void)
{
    vb_family_init(&family);
    family.cylinders = 6;
    family.valves[0] = family.valves[1] = 1;
    family.lash_min[1] = 0.2;
    for (int i = 0; i < 2; i++)
        unit[i] = (struct vb_unit_now){.name = i ? name_b : name_a,
                                       .family = &family,
                                       .family_name = "six",
                                       .meter_unit = "h",
                                       .pace = i ? 20 : 10};
    for (int i = 0; i < 3; i++) {
        rate[i] = -1e-4 + 1e-6 * (i - 1);
        var[i] = 1e-12;
    }
    for (int i = 0; i < 5; i++)
        set[i] = (struct vb_set){0.4 + 0.001 * (i - 2), NAN, NAN, 1e5, 1};
    group = (struct vb_group){.family = "six",
                              .meter_unit = "h",
                              .side = 1,
                              .pool = {.sse = 1e-5, .df = 10},
                              .s2 = 1e-6,
                              .rate = rate,
                              .var = var,
                              .n = 3,
                              .size = 3,
                              .all = {.k = 3, .tau2 = 1e-12, .mu = -1e-4}};
    fleet = (struct vb_fleet){.unit = unit, .n_units = 2, .group = &group, .n_groups = 1};
    service = (struct vb_service){.wish = {"seat", 'E', 0, 1000}};
    service.set[1].set = set;
    service.set[1].n = 5;
}

static void
advise(const char *meter_unit)
{
    ck_assert_int_eq(
        vb_relash_advise(&fleet, "six", &family, meter_unit, &service, 0.01, &advice),
        VB_OK);
}

START_TEST(an_interval)
{
    family.relash = 1000;
    family.relash_dim = VB_DIM_TIME;
    advise("h");
    ck_assert_str_eq(advice.why, "");
    // 0.2 mm at 0.1 mm in 1000 h, less a little
    ck_assert(advice.gap > 1500 && advice.gap < advice.sure_gap &&
              advice.sure_gap < 2000);
    ck_assert(advice.present == 1000 && advice.engines == 2 && advice.valves == 6);
    ck_assert_double_eq_tol(advice.per_1000, 1000 / advice.gap - 1, 1e-9);
    ck_assert_double_eq_tol(advice.per_year, 365.25 * 30 * advice.per_1000 / 1000, 1e-9);
}
END_TEST

/* What rates are worth known is told by the same likelihood as what they are worth in doubt:
 * lists' estimate by moments (here wide, as when odd valves are read often) plays no part. */
START_TEST(doubt_makes_it_shorter)
{
    advise("h");
    double sure = advice.sure_gap;
    group.all.tau2 = 1e-9;
    advise("h");
    ck_assert(advice.gap < sure);
    ck_assert_double_eq(advice.sure_gap, sure);
}
END_TEST

/* An interval in km says something of meters in km only. */
START_TEST(meters_in_km)
{
    family.relash = 1000;
    family.relash_dim = VB_DIM_DISTANCE;
    advise("h");
    ck_assert_str_eq(advice.why, "");
    ck_assert(isnan(advice.present) && isnan(advice.present_risk));
    strcpy(group.meter_unit, "km"); // rates per km say nothing of hours
    advise("h");
    ck_assert_str_eq(advice.why, "side E: fewer than three valves have a rate");
    strcpy(unit[0].meter_unit, "km");
    strcpy(unit[1].meter_unit, "km");
    strcpy(group.meter_unit, "km");
    advise("km");
    ck_assert_double_eq(advice.present, 1000);
    ck_assert_double_lt(advice.present_risk, 0.01);
}
END_TEST

/* Meters that stand still, or run backwards, say nothing of a year. */
START_TEST(no_pace)
{
    unit[0].pace = 0;
    unit[1].pace = -10;
    family.relash_days = 100;
    advise("h");
    ck_assert_str_eq(advice.why, "");
    ck_assert(advice.engines == 0 && isnan(advice.per_year) && isnan(advice.present));
    ck_assert_double_gt(advice.gap, 1500);
}
END_TEST

START_TEST(valves_that_open)
{
    for (int i = 0; i < 3; i++)
        rate[i] = -rate[i];
    group.all.mu = 1e-4;
    advise("h");
    ck_assert_str_eq(advice.why, "no valve comes near its tight limit");
    ck_assert(isnan(advice.gap) && isnan(advice.sure_gap));
}
END_TEST

START_TEST(settings_that_scatter)
{
    for (int i = 0; i < 5; i++)
        set[i].left = 0.4 + 0.1 * (i - 2);
    advise("h");
    ck_assert_str_eq(advice.why, "settings scatter too much for any interval");
    ck_assert(isnan(advice.gap));
}
END_TEST

/* What is lacking, one by one. */
START_TEST(nothing_to_go_by)
{
    group.n = 2;
    advise("h");
    ck_assert_str_eq(advice.why, "side E: fewer than three valves have a rate");
    group.n = 3;
    group.s2 = NAN;
    advise("h");
    ck_assert_str_eq(advice.why, "side E: fewer than three valves have a rate");
    fleet.n_groups = 0;
    advise("h");
    ck_assert_str_eq(advice.why, "side E: fewer than three valves have a rate");
    family.lash_min[1] = NAN;
    advise("h");
    ck_assert_str_eq(advice.why, "side E: the family states no tight limit");
    family.valves[1] = 0;
    advise("h");
    ck_assert_str_eq(advice.why,
                     "side E: the family does not say how many valves there are");
    advise("");
    ck_assert_str_eq(advice.why, "no meter was read");
}
END_TEST

START_TEST(no_such_risk)
{
    const double bad[] = {0, 1, -0.1, NAN};
    advice.risk = 77;
    for (int i = 0; i < 4; i++)
        ck_assert_int_eq(
            vb_relash_advise(&fleet, "six", &family, "h", &service, bad[i], &advice),
            VB_EDOM);
    ck_assert_double_eq(advice.risk, 77);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("relash_advice");
    TCase *t = tcase_create("advice");
    tcase_add_checked_fixture(t, setup, NULL);
    tcase_add_test(t, an_interval);
    tcase_add_test(t, doubt_makes_it_shorter);
    tcase_add_test(t, meters_in_km);
    tcase_add_test(t, no_pace);
    tcase_add_test(t, valves_that_open);
    tcase_add_test(t, settings_that_scatter);
    tcase_add_test(t, nothing_to_go_by);
    tcase_add_test(t, no_such_risk);
    suite_add_tcase(s, t);
    return run_suite(s);
}
