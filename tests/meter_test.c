#include "suite.h"
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

START_TEST(what_an_engine_shows_on_a_day)
{
    const struct vb_swap swap[] = {{100, 1000, 0}, {200.5, 300, 50}};
    NEAR(vb_meter_offset(swap, 2, 99.9), 0);
    NEAR(vb_meter_offset(swap, 2, 100), 1000);
    NEAR(vb_meter_offset(swap, 2, 199), 1000);
    NEAR(vb_meter_offset(swap, 2, 200), 1250); // whatever the time
    NEAR(vb_meter_offset(NULL, 0, 200), 0);
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

/* 24 h x (days between + 1) and 1 more; 3000 km likewise. By hand. */
START_TEST(a_meter_cannot_run_faster_than_the_clock)
{
    NEAR(vb_meter_most(100, 100, 0), 25);
    NEAR(vb_meter_most(100.9, 100.95, 0), 25);
    NEAR(vb_meter_most(100, 101, 0), 49);
    NEAR(vb_meter_most(100.9, 101.1, 0), 49); // whole days at both ends
    NEAR(vb_meter_most(100, 110, 0), 265);
    NEAR(vb_meter_most(100, 110, 1), 33001);
}
END_TEST

#define VISIT(day, meter)                                                                \
    {                                                                                    \
        VB_MARK_VISIT, day, meter, 0, meter, 0                                           \
    }
#define EVENT(day, meter)                                                                \
    {                                                                                    \
        VB_MARK_EVENT, day, meter, 0, meter, 0                                           \
    }
#define SWAP(day, last, first)                                                           \
    {                                                                                    \
        VB_MARK_SWAP, day, last, first, last, 0                                          \
    }
#define KM(day, meter)                                                                   \
    {                                                                                    \
        VB_MARK_VISIT, day, meter, 0, meter, 1                                           \
    }
/* behind a swap on day 100 from 1000 to 0 */
#define BEHIND(day, meter)                                                               \
    {                                                                                    \
        VB_MARK_VISIT, day, meter, 0, 1000 + meter, 0                                    \
    }

static const struct {
    const char *what;
    struct vb_mark a, b;
    enum vb_clash c;
} pairs[] = {
    {"standing still", VISIT(100, 50), VISIT(110, 50), VB_CLASH_NONE},
    {"backwards", VISIT(100, 50), VISIT(110, 49.9), VB_CLASH_BACK},
    {"a rounding", VISIT(100, 0.3), VISIT(110, 0.1 + 0.2), VB_CLASH_NONE},
    {"a rounding the other way", VISIT(100, 0.1 + 0.2), VISIT(110, 0.3), VB_CLASH_NONE},
    {"day and night", VISIT(100, 50), VISIT(110, 315), VB_CLASH_NONE},
    {"and more", VISIT(100, 50), VISIT(110, 315.1), VB_CLASH_FAST},
    {"a lorry", KM(100, 50), KM(110, 33051), VB_CLASH_NONE},
    {"a faster one", KM(100, 50), KM(110, 33052), VB_CLASH_FAST},
    {"h and km", VISIT(100, 50), KM(110, 60), VB_CLASH_UNIT},
    {"backwards within a day", VISIT(100.3, 50), VISIT(100.7, 49), VB_CLASH_BACK},
    {"an event of that day before it", VISIT(100, 50), EVENT(100, 49), VB_CLASH_NONE},
    {"an event of that day behind it", VISIT(100, 50), EVENT(100, 75), VB_CLASH_NONE},
    {"an event of that day, too far", VISIT(100, 50), EVENT(100, 76), VB_CLASH_FAST},
    {"and below", VISIT(100, 50), EVENT(100, 24), VB_CLASH_FAST},
    {"an event backwards", EVENT(99, 50), VISIT(100, 49), VB_CLASH_BACK},
    {"the old meter's last below a visit", VISIT(99, 1001), SWAP(100, 1000, 0),
     VB_CLASH_BACK},
    {"the new meter's first above a visit",
     SWAP(100, 1000, 5),
     {VB_MARK_VISIT, 101, 4, 0, 999, 0},
     VB_CLASH_BACK},
    {"the new meter's pace", SWAP(100, 1000, 0), BEHIND(101, 49), VB_CLASH_NONE},
    {"the new meter too fast", SWAP(100, 1000, 0), BEHIND(101, 50), VB_CLASH_FAST},
    {"that day, the old meter", SWAP(100, 1000, 0), VISIT(100, 975), VB_CLASH_NONE},
    {"that day, the old meter's last", SWAP(100, 1000, 0), VISIT(100, 1000),
     VB_CLASH_NONE},
    {"that day, beyond it", SWAP(100, 1000, 0), VISIT(100, 1000.1), VB_CLASH_SWAP},
    {"that day, far below it", SWAP(100, 1000, 0), VISIT(100, 974), VB_CLASH_SWAP},
    {"that day, the new meter", SWAP(100, 1000, 0), BEHIND(100, 25), VB_CLASH_NONE},
    {"that day, too much for it", SWAP(100, 1000, 0), BEHIND(100, 26), VB_CLASH_SWAP},
    {"that day, between the two", SWAP(100, 1000, 4000), VISIT(100, 2000), VB_CLASH_SWAP},
    {"the other way round", BEHIND(100, 26), SWAP(100, 1000, 0), VB_CLASH_SWAP},
    {"a meter set to what it showed", SWAP(100, 1000, 1000), VISIT(100, 999),
     VB_CLASH_NONE},
    {"two swaps",
     SWAP(100, 1000, 0),
     {VB_MARK_SWAP, 120, 300, 0, 1300, 0},
     VB_CLASH_NONE},
    {"one swap twice",
     SWAP(100, 1000.5, 0),
     {VB_MARK_SWAP, 101, 1000.5, 0, 2001, 0},
     VB_CLASH_TWICE},
    {"long after",
     SWAP(100, 300, 0),
     {VB_MARK_SWAP, 900, 300, 0, 600, 0},
     VB_CLASH_TWICE},
    {"a counter's end",
     SWAP(100, 99999, 0),
     {VB_MARK_SWAP, 9000, 99999, 0, 199998, 0},
     VB_CLASH_NONE},
    {"with a decimal",
     SWAP(100, 9999.9, 0),
     {VB_MARK_SWAP, 900, 9999.9, 0, 19999.8, 0},
     VB_CLASH_NONE},
    {"written round",
     SWAP(100, 10000, 0),
     {VB_MARK_SWAP, 900, 10000, 0, 20000, 0},
     VB_CLASH_NONE},
    {"but not within days",
     SWAP(100, 10000, 0),
     {VB_MARK_SWAP, 101, 10000, 0, 20000, 0},
     VB_CLASH_FAST},
};

START_TEST(pairs_of_figures)
{
    enum vb_clash c = vb_meter_pair(&pairs[_i].a, &pairs[_i].b);
    ck_assert_msg(c == pairs[_i].c, "%s: %d, not %d", pairs[_i].what, c, pairs[_i].c);
}
END_TEST

/* Events on days 100, 200, 200 and 300, and who is blamed for what. */
START_TEST(neighbours_are_looked_at)
{
    const struct vb_mark e[] = {EVENT(100, 1000), EVENT(200, 2000), EVENT(200, 2010),
                                EVENT(300, 3000)};
    const struct vb_mark before = VISIT(150, 1500), day_before = VISIT(180, 1800);
    const struct {
        struct vb_mark v;
        const struct vb_mark *before, *with;
        enum vb_clash c;
    } t[] = {
        {VISIT(180, 1800), &before, NULL, VB_CLASH_NONE},
        {VISIT(180, 900), NULL, &e[0], VB_CLASH_BACK},
        {VISIT(190, 1799), &day_before, &day_before, VB_CLASH_BACK},
        {VISIT(190, 1799), NULL, NULL, VB_CLASH_NONE},
        {VISIT(180, 2001), &before, &e[1], VB_CLASH_BACK},
        {VISIT(199, 1940), NULL, &e[1], VB_CLASH_FAST},
        {VISIT(200, 2005), &day_before, NULL, VB_CLASH_NONE},
        {VISIT(200, 2030), &day_before, &e[1], VB_CLASH_FAST},
        {VISIT(200, 1980), &day_before, &e[2], VB_CLASH_FAST},
        {VISIT(250, 2005), &day_before, &e[2], VB_CLASH_BACK},
        {VISIT(260, 3001), &day_before, &e[3], VB_CLASH_BACK},
        {VISIT(310, 2999), &day_before, &e[3], VB_CLASH_BACK},
        {VISIT(310, 3100), &day_before, NULL, VB_CLASH_NONE},
        {VISIT(90, 1001), NULL, &e[0], VB_CLASH_BACK},
        {VISIT(99, 940), NULL, &e[0], VB_CLASH_FAST},
    };
    for (size_t i = 0; i < sizeof t / sizeof *t; i++) {
        const struct vb_mark *with = NULL;
        enum vb_clash c = vb_meter_check(&t[i].v, t[i].before, e, 4, &with);
        ck_assert_msg(c == t[i].c && with == t[i].with, "case %zu: %d", i, c);
    }
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
    tcase_add_test(t, what_an_engine_shows_on_a_day);
    tcase_add_test(t, two_swaps_on_one_day);
    suite_add_tcase(s, t);
    t = tcase_create("figures");
    tcase_add_test(t, a_meter_cannot_run_faster_than_the_clock);
    tcase_add_loop_test(t, pairs_of_figures, 0, sizeof pairs / sizeof *pairs);
    tcase_add_test(t, neighbours_are_looked_at);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(meter_suite());
}
