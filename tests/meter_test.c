#include "valvebook/meter.h"

#include <stdlib.h>

#include <check.h>

/* Sums of a few numbers with at most one decimal: far below 1e-9 even when rounded. */
#define NEAR(got, want) ck_assert_double_eq_tol((got), (want), 1e-9)

START_TEST(without_a_swap_it_is_what_it_shows)
{
    NEAR(vb_meter_running(NULL, 0, 20000, 123.5), 123.5);
    NEAR(vb_meter_running(NULL, 0, 0, 0), 0);
}
END_TEST

/* One swap on day 100: the old meter showed 1000 last, the new one began with 0. */
struct reading {
    const char *when;
    double day, meter, running;
};

static const struct reading one_swap[] = {
    {"the day before", 99, 950, 950},
    {"late the day before", 99.99, 990, 990},
    {"the day after", 101, 3, 1003},
    {"long after", 400, 950, 1950}, // near the old figure, but another day
    {"that day, still the old meter", 100, 999, 999},
    {"that day, the old meter's last figure", 100, 1000, 1000},
    {"that day, the new meter", 100, 2, 1002},
    {"that day, the new meter's first figure", 100, 0, 1000},
    {"in the evening, the old meter", 100.75, 999, 999},
    {"in the evening, the new meter", 100.75, 4, 1004},
    {"half way between the two counts as the new meter", 100, 500, 1500},
    {"a little nearer to the old one", 100, 500.1, 500.1},
};

START_TEST(one_swap_is_met)
{
    const struct reading *r = &one_swap[_i];
    const struct vb_swap swap = {100, 1000, 0};
    double got = vb_meter_running(&swap, 1, r->day, r->meter);
    ck_assert_msg(got > r->running - 1e-9 && got < r->running + 1e-9, "%s: %g, not %g",
                  r->when, got, r->running);
}
END_TEST

/* The swap carries a time of day: a reading of that date without one may be of either
 * meter. */
START_TEST(a_swap_at_noon_rules_its_whole_day)
{
    const struct vb_swap swap = {100.5, 1000, 0};
    NEAR(vb_meter_running(&swap, 1, 100, 998), 998);
    NEAR(vb_meter_running(&swap, 1, 100, 2), 1002);
    NEAR(vb_meter_running(&swap, 1, 100.25, 2), 1002);
    NEAR(vb_meter_running(&swap, 1, 99.9, 2), 2);
    NEAR(vb_meter_running(&swap, 1, 101, 998), 1998);
}
END_TEST

START_TEST(a_used_meter_begins_with_its_own_figure)
{
    const struct vb_swap swap = {100, 250, 4000};
    NEAR(vb_meter_running(&swap, 1, 99, 240), 240);
    NEAR(vb_meter_running(&swap, 1, 100, 250), 250);
    NEAR(vb_meter_running(&swap, 1, 100, 4000), 250);
    NEAR(vb_meter_running(&swap, 1, 150, 4010), 260);
}
END_TEST

START_TEST(swaps_add_up)
{
    const struct vb_swap swap[] = {{100, 1000, 0}, {200, 300, 50}, {300, 80, 0}};
    NEAR(vb_meter_running(swap, 3, 50, 700), 700);
    NEAR(vb_meter_running(swap, 3, 150, 200), 1200);
    NEAR(vb_meter_running(swap, 3, 200, 299), 1299); // the second meter's last day
    NEAR(vb_meter_running(swap, 3, 200, 51), 1301);
    NEAR(vb_meter_running(swap, 3, 250, 60), 1310);
    NEAR(vb_meter_running(swap, 3, 300, 80), 1330);
    NEAR(vb_meter_running(swap, 3, 350, 5), 1335);
}
END_TEST

/* Twice on one day: 1000 -> 0, and after 5 more 5 -> 0. */
START_TEST(two_swaps_on_one_day)
{
    const struct vb_swap swap[] = {{100, 1000, 0}, {100, 5, 0}};
    NEAR(vb_meter_running(swap, 2, 100, 998), 998);
    NEAR(vb_meter_running(swap, 2, 100, 4), 1004);
    NEAR(vb_meter_running(swap, 2, 100, 1), 1006);
    NEAR(vb_meter_running(swap, 2, 101, 1), 1006);
}
END_TEST

static Suite *
meter_suite(void)
{
    Suite *s = suite_create("meter");
    TCase *t = tcase_create("running");
    tcase_add_test(t, without_a_swap_it_is_what_it_shows);
    tcase_add_loop_test(t, one_swap_is_met, 0, sizeof one_swap / sizeof *one_swap);
    tcase_add_test(t, a_swap_at_noon_rules_its_whole_day);
    tcase_add_test(t, a_used_meter_begins_with_its_own_figure);
    tcase_add_test(t, swaps_add_up);
    tcase_add_test(t, two_swaps_on_one_day);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    SRunner *sr = srunner_create(meter_suite());
    srunner_run_all(sr, CK_NORMAL);
    int failed = srunner_ntests_failed(sr);
    srunner_free(sr);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
