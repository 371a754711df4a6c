/* Engines out of a book, with their readings, one at a time: what was written below. */
#include "suite.h"
#include "valvebook/book.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <check.h>

static const char *const tables[] = {
    "family,side,key,value,unit\nsix,,cylinders,2,\nsix,I,valves,1,\nsix,E,valves,1,\n",
    "engine,family\nK-1,six\nK-2,six\nK-3,six\n",
    "engine,date,meter,meter_unit,event,part,at,build\nK-1,2025-03-02,,,build,,,B2\n"
    "K-1,2026-02-01,,,build,,,B3\n",
    "engine,date,meter_gain,label\nK-2,2025-09-01,40,sprint\n",
    "gauge,kind,resolution,unit,u\ndial,dial,,mm,0.005\n",
    "engine,date,meter,meter_unit,quantity,at,found,left,unit,u,temp_c,gauge\n"
    "K-1,2025-03-01,10,h,lash,1I,0.20,,mm,0.01,25,\n"
    "K-1,2025-03-01,10,h,lash,2E,,0.30,mm,,,dial\n"
    "K-1,2025-04-01,20,h,lash,1I,0.19,0.25,mm,,,\n"
    "K-1,2026-01-01,90,h,lash,1I,0.24,,mm,,,\n"
    "K-2,2025-03-05,700,h,lash,1E,0.31,,mm,,,\n",
};
#define TABLES ((int)(sizeof tables / sizeof *tables))
#define AS_OF  "2025-12-31"

static char dir[64];
static struct vb_book *book;
static struct vb_fleet fleet;
static char seen[256];

static void
tell(void *arg, const struct vb_msg *m)
{
    (void)arg;
    ck_abort_msg("refused: %s", m->text);
}

static void
setup(void)
{
    char path[TABLES][80], db[80];
    char *paths[TABLES];
    struct vb_load l = {.as_of = "2026-12-31", .no_end = 1, .tell = tell};
    strcpy(dir, "/tmp/valvebook-engines-test.XXXXXX");
    ck_assert_ptr_nonnull(mkdtemp(dir));
    for (int i = 0; i < TABLES; i++) {
        snprintf(path[i], sizeof path[i], "%s/%d.csv", dir, i);
        paths[i] = path[i];
        FILE *f = fopen(path[i], "w");
        ck_assert_ptr_nonnull(f);
        fputs(tables[i], f);
        ck_assert_int_eq(fclose(f), 0);
    }
    snprintf(db, sizeof db, "%s/s.db", dir);
    ck_assert_int_eq(vb_book_open(db, VB_BOOK_WRITE, &book, NULL), VB_OK);
    ck_assert_int_eq(vb_book_load(book, &l, paths, TABLES, NULL), VB_OK);
    ck_assert_int_eq(vb_book_fleet(book, NULL, AS_OF, &fleet, NULL), VB_OK);
    ck_assert_uint_eq(fleet.n_units, 3);
    for (int i = 0; i < TABLES; i++)
        unlink(path[i]);
    seen[0] = 0;
}

static void
teardown(void)
{
    char db[80];
    snprintf(db, sizeof db, "%s/s.db", dir);
    vb_fleet_clear(&fleet);
    ck_assert_int_eq(vb_book_close(book, NULL), VB_OK);
    unlink(db);
    rmdir(dir);
}

/* arg: the number of the unit at which it says no, or NULL */
static enum vb_err
note(void *arg, size_t unit, const struct vb_engine *e)
{
    size_t k = strlen(seen);
    snprintf(seen + k, sizeof seen - k,
             "%s: %zu visits, %zu lash, %zu events, %zu plan\n", e->name, e->n_visits,
             e->n_lash, e->n_events, e->n_plan);
    ck_assert_ptr_eq(e->family, fleet.unit[unit].family);
    ck_assert_str_eq(e->family_name, "six");
    return arg && *(const size_t *)arg == unit ? VB_ECONFLICT : VB_OK;
}

START_TEST(engines_come_in_the_order_wanted)
{
    const size_t order[] = {2, 0, 1, 0};
    ck_assert_int_eq(vb_book_engines(book, &fleet, order, 4, AS_OF, note, NULL, NULL),
                     VB_OK);
    ck_assert_str_eq(seen, "K-3: 0 visits, 0 lash, 0 events, 0 plan\n"
                           "K-1: 2 visits, 3 lash, 1 events, 0 plan\n"
                           "K-2: 1 visits, 1 lash, 0 events, 1 plan\n"
                           "K-1: 2 visits, 3 lash, 1 events, 0 plan\n");
}
END_TEST

START_TEST(none_is_none)
{
    ck_assert_int_eq(vb_book_engines(book, &fleet, NULL, 0, AS_OF, note, NULL, NULL),
                     VB_OK);
    ck_assert_str_eq(seen, "");
}
END_TEST

/* Its error comes back, nothing more is read, and the book can be used again. */
START_TEST(whoever_takes_can_end_it)
{
    const size_t order[] = {1, 0, 2};
    size_t last = 0;
    struct vb_fleet again;
    ck_assert_int_eq(vb_book_engines(book, &fleet, order, 3, AS_OF, note, &last, NULL),
                     VB_ECONFLICT);
    ck_assert_str_eq(seen, "K-2: 1 visits, 1 lash, 0 events, 1 plan\n"
                           "K-1: 2 visits, 3 lash, 1 events, 0 plan\n");
    ck_assert_int_eq(vb_book_fleet(book, NULL, AS_OF, &again, NULL), VB_OK);
    vb_fleet_clear(&again);
}
END_TEST

static enum vb_err
look(void *arg, size_t unit, const struct vb_engine *e)
{
    (void)arg, (void)unit;
    const struct vb_lash *l = e->lash;
    ck_assert_str_eq(e->meter_unit, "h");
    ck_assert_str_eq(e->visit[0].date, "2025-03-01");
    ck_assert_double_eq(e->visit[1].running, 20);
    ck_assert_str_eq(e->event[0].build, "B2");
    ck_assert(l[0].valve.cyl == 1 && l[0].valve.side == 'I' && l[0].visit == 0);
    ck_assert(l[0].found == 0.20 && isnan(l[0].left) && l[0].u == 0.01 &&
              l[0].temp_c == 25);
    ck_assert(l[1].visit == 1 && l[1].found == 0.19 && l[1].left == 0.25);
    ck_assert(l[2].valve.cyl == 2 && l[2].valve.side == 'E' && l[2].left == 0.30);
    ck_assert(isnan(l[1].u) && l[2].u == 0.005); // that of its gauge
    return VB_OK;
}

START_TEST(readings_are_those_of_the_book)
{
    const size_t first = 0;
    ck_assert_int_eq(vb_book_engines(book, &fleet, &first, 1, AS_OF, look, NULL, NULL),
                     VB_OK);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("engines");
    TCase *c = tcase_create("engines");
    tcase_add_checked_fixture(c, setup, teardown);
    tcase_add_test(c, engines_come_in_the_order_wanted);
    tcase_add_test(c, none_is_none);
    tcase_add_test(c, whoever_takes_can_end_it);
    tcase_add_test(c, readings_are_those_of_the_book);
    suite_add_tcase(s, c);
    return run_suite(s);
}
