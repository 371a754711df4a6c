/* The report of trends: what cannot be provoked from outside. */
#include "valvebook/trend_report.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <check.h>

#include "valvebook/quantity.h"

#define VALVES 130 // more valves than a page has charts

static struct vb_family family;
static struct vb_visit visit[3];
static struct vb_lash lash[3 * VALVES];
static struct vb_engine engine;
static struct vb_fleet fleet;
static struct vb_trend_wish wish;
static struct vb_out *out;
static char path[64];
static char page[4 << 20];

/* Each valve closes by 0.05 mm in 100 h, one a little more than the next. */
static void
setup(void)
{
    vb_family_init(&family);
    family.lash_min[1] = 0.20;
    for (int i = 0; i < 3; i++) {
        visit[i] = (struct vb_visit){100 + 10 * i, 100 * i, 100 * i, "1970-04-11"};
        for (int c = 0; c < VALVES; c++)
            lash[3 * c + i] =
                (struct vb_lash){(size_t)i,
                                 {c / 2 + 1, 'E', c % 2 + 1},
                                 0.40 - 0.05 * i - 1e-4 * c * i + 1e-3 * (i == 1),
                                 NAN,
                                 NAN,
                                 NAN};
    }
    engine = (struct vb_engine){.name = "HC-1",
                                .family = &family,
                                .family_name = "many",
                                .meter_unit = "h",
                                .visit = visit,
                                .n_visits = 3,
                                .lash = lash,
                                .n_lash = 3 * VALVES};
    memset(&fleet, 0, sizeof fleet);
    ck_assert_int_eq(vb_fleet_add(&fleet, &engine, 130), VB_OK);
    ck_assert_int_eq(vb_fleet_pool(&fleet), VB_OK);
    wish = (struct vb_trend_wish){.book = "b",
                                  .as_of = "1970-05-11",
                                  .html = 1,
                                  .within = {130, 90, NAN, NULL, 0, 0.95}};
    strcpy(path, "/tmp/valvebook-trend-test.XXXXXX");
    int fd = mkstemp(path);
    ck_assert_int_ge(fd, 0);
    close(fd);
    ck_assert_int_eq(vb_out_open(path, &out, NULL), VB_OK);
}

static void
teardown(void)
{
    vb_fleet_clear(&fleet);
    vb_out_close(out, NULL);
    unlink(path);
}

static void
read_page(void)
{
    ck_assert_int_eq(vb_out_close(out, NULL), VB_OK);
    out = NULL;
    FILE *f = fopen(path, "r");
    ck_assert_ptr_nonnull(f);
    page[fread(page, 1, sizeof page - 1, f)] = 0;
    fclose(f);
}

static size_t
count(const char *what)
{
    size_t n = 0;
    for (const char *p = page; (p = strstr(p, what)); p++)
        n++;
    return n;
}

static struct vb_trend_report *
begin(void)
{
    struct vb_trend_report *t;
    size_t n;
    ck_assert_int_eq(vb_trend_report_new(&fleet, &wish, out, &t), VB_OK);
    const size_t *unit = vb_trend_report_units(t, &n);
    ck_assert_uint_eq(n, 1);
    ck_assert_uint_eq(unit[0], 0);
    return t;
}

static void
write_page(void)
{
    struct vb_trend_report *t = begin();
    ck_assert_int_eq(vb_trend_report_take(t, 0, &engine), VB_OK);
    ck_assert_int_eq(vb_trend_report_end(t), VB_OK);
    vb_trend_report_free(t);
    read_page();
}

START_TEST(a_page_has_so_many_charts_at_most)
{
    write_page();
    ck_assert_uint_eq(count("<figure>"), VB_TREND_CHARTS);
    ck_assert_uint_eq(count("<p>70 more valves need attention"), 1);
    ck_assert_uint_eq(count("<th scope=\"row\">"), VALVES); // the table has them all
    ck_assert_uint_lt(strlen(page), 1000000);
    // the last valve is the fastest and due first, the first one is due last
    ck_assert_uint_eq(count(">Lash, engine HC-1, valve 65E2<"), 1);
    ck_assert_uint_eq(count(">Lash, engine HC-1, valve 1E1<"), 0);
}
END_TEST

START_TEST(a_chosen_engine_has_all)
{
    wish.all = 1;
    wish.within.within_days = 0;
    write_page();
    ck_assert_uint_eq(count("<figure>"), VALVES);
    ck_assert_uint_eq(count("more valves need attention"), 0);
}
END_TEST

/* Valve c has closed by 0.1 + 2e-4 c: 79 of 130 by more than half of 0.2202 mm. Their seats
 * are due later than today, so that is what decides. */
START_TEST(seats_are_shown_from_half_of_their_limit_on)
{
    family.seat_limit[1] = 0.2202;
    wish.all = 1;
    wish.within.within_days = 0;
    write_page();
    ck_assert_uint_eq(count(">Closing of the seat, engine"), 79);
    ck_assert_uint_eq(count(">Closing of the seat, engine HC-1, valve 26E2<"),
                      1); // c = 51
    ck_assert_uint_eq(count(">Closing of the seat, engine HC-1, valve 26E1<"), 0);
}
END_TEST

static void
is_refused(struct vb_trend_report *t)
{
    ck_assert_int_eq(vb_trend_report_take(t, 0, &engine), VB_ECONFLICT);
}

/* Another newest reading, fewer valves, a valve that the fleet has not, one reading less. */
START_TEST(a_book_that_has_changed_is_noticed)
{
    struct vb_trend_report *t = begin();
    lash[2].found += 0.01;
    is_refused(t);
    lash[2].found -= 0.01;
    engine.n_lash = 3;
    is_refused(t);
    engine.n_lash = 3 * VALVES;
    for (int i = 0; i < 3; i++)
        lash[i].valve.side = 'I';
    is_refused(t);
    for (int i = 0; i < 3; i++)
        lash[i].valve.side = 'E';
    lash[1] = lash[0];
    engine.lash++;
    engine.n_lash--;
    is_refused(t);
    vb_trend_report_free(t);
}
END_TEST

/* What is due within nothing, in a fleet in which nothing moves. */
START_TEST(nothing_to_show_is_said)
{
    for (size_t i = 0; i < engine.n_lash; i++)
        lash[i].found = 0.3 + (i % 3 == 1 ? 0.001 : 0);
    vb_fleet_clear(&fleet);
    ck_assert_int_eq(vb_fleet_add(&fleet, &engine, 130), VB_OK);
    ck_assert_int_eq(vb_fleet_pool(&fleet), VB_OK);
    struct vb_trend_report *t;
    size_t n;
    ck_assert_int_eq(vb_trend_report_new(&fleet, &wish, out, &t), VB_OK);
    vb_trend_report_units(t, &n);
    ck_assert_uint_eq(n, 0);
    ck_assert_int_eq(vb_trend_report_end(t), VB_OK);
    vb_trend_report_free(t);
    read_page();
    ck_assert_uint_eq(count("No valve moves towards a limit"), 1);
    ck_assert_uint_eq(count("nothing is due"), 1);
    ck_assert_uint_eq(count("<figure>"), 0);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("trend_report");
    TCase *c = tcase_create("trend_report");
    tcase_set_timeout(c, 60);
    tcase_add_checked_fixture(c, setup, teardown);
    tcase_add_test(c, a_page_has_so_many_charts_at_most);
    tcase_add_test(c, a_chosen_engine_has_all);
    tcase_add_test(c, seats_are_shown_from_half_of_their_limit_on);
    tcase_add_test(c, a_book_that_has_changed_is_noticed);
    tcase_add_test(c, nothing_to_show_is_said);
    suite_add_tcase(s, c);
    SRunner *r = srunner_create(s);
    srunner_run_all(r, CK_NORMAL);
    int failed = srunner_ntests_failed(r);
    srunner_free(r);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
