/*
 * What a message says of a large fleet. Every line has a day of its own, so that which ones
 * are the most urgent can be counted off by hand: line i of n is the i-th of the list.
 */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "suite.h"
#include "valvebook/digest.h"

#define AS_OF 1000
#define MOST  20000

static char reason[] = "closing", name[MOST][8];
static struct vb_alert_wish wish;
static struct vb_digest digest;

/* One engine with one line, and what is said of it. */
struct said {
    double day;
    int line, alert; // is there one?
    enum vb_news_kind kind;
    int quiet;
};

static void
setup(void)
{
    for (int i = 0; i < MOST; i++)
        snprintf(name[i], sizeof name[i], "K%05d", i);
    wish = (struct vb_alert_wish){.due = {AS_OF, 30, NAN, NAN, 0, 0.95, NULL, NULL},
                                  .remind = NAN};
    memset(&digest, 0, sizeof digest);
}

static void
teardown(void)
{
    vb_digest_clear(&digest);
    ck_assert_ptr_null(digest.dues.due);
}

/* Engine i goes in as a block of its own. */
static void
add(size_t i, const struct said *s)
{
    struct vb_due due = {.kind = VB_DUE_LASH,
                         .at = {1, 'E', 0},
                         .due_day = s->day,
                         .due_running = NAN,
                         .reason = reason};
    struct vb_due_unit unit = {.name = name[i], .meter_unit = "h"};
    struct vb_news_item item = {.kind = s->kind,
                                .due = s->line ? 0 : VB_NEWS_NO_DUE,
                                .now = {.engine = name[i], .kind = "lash", .at = "1E"},
                                .quiet = s->quiet};
    const struct vb_dues d = {.due = &due,
                              .n = (size_t)s->line,
                              .unit = &unit,
                              .n_units = 1,
                              .engines = 2,
                              .in_service = 1,
                              .lives = 3};
    struct vb_news news = {.item = &item, .n = (size_t)s->alert};
    if (s->alert && s->quiet)
        news.quiet = 1;
    else if (s->alert)
        news.count[s->kind] = 1;
    news.say = s->alert && !s->quiet;
    ck_assert_int_eq(vb_digest_add(&digest, &d, &news, &wish), VB_OK);
}

static const struct said new_line = {AS_OF, 1, 1, VB_NEWS_NEW, 0};

/* Engines come in order of name, and line (7919 i) mod n in that order is the i-th most
 * urgent: 7919 is prime, and no divisor of the n used here. */
static void
add_new(size_t n)
{
    for (size_t i = 0; i < n; i++) {
        struct said s = new_line;
        s.day = AS_OF - (double)MOST + (double)(7919 * i % n);
        add(i, &s);
    }
    ck_assert_int_eq(vb_digest_end(&digest), VB_OK);
}

START_TEST(nothing)
{
    ck_assert_int_eq(vb_digest_end(&digest), VB_OK);
    ck_assert_uint_eq(digest.news.n, 0);
    ck_assert_uint_eq(digest.dues.n, 0);
    ck_assert_uint_eq(digest.sheet, 0);
    ck_assert_int_eq(digest.news.say, 0);
}
END_TEST

START_TEST(few)
{
    add_new(40);
    ck_assert_uint_eq(digest.news.n, 40);
    ck_assert_uint_eq(digest.dues.n, 40);
    ck_assert_uint_eq(digest.sheet, 40);
    ck_assert_uint_eq(digest.news.count[VB_NEWS_NEW], 40);
    ck_assert_uint_eq(digest.dues.engines, 80);
    ck_assert_uint_eq(digest.dues.in_service, 40);
    ck_assert_uint_eq(digest.dues.lives, 120);
    ck_assert_int_eq(digest.news.say, 1);
    ck_assert_int_eq(digest.news.changed, 0);
}
END_TEST

/* In order, each with its own engine and words, and none missing among the most urgent. */
static void
in_order(size_t lines, size_t items)
{
    ck_assert_uint_eq(digest.dues.n, lines);
    ck_assert_uint_eq(digest.news.n, items);
    for (size_t i = 0; i < lines; i++) {
        const struct vb_due *d = &digest.dues.due[i];
        ck_assert_double_eq(d->due_day, AS_OF - (double)MOST + (double)i);
        ck_assert_str_eq(d->reason, "closing");
        ck_assert_ptr_ne(d->reason, reason);
        if (i >= items)
            continue;
        const struct vb_news_item *it = &digest.news.item[i];
        ck_assert_uint_eq(it->due, i);
        ck_assert_str_eq(it->now.engine, digest.dues.unit[d->unit].name);
        ck_assert_ptr_eq(it->told.engine, it->now.engine);
    }
}

static const struct {
    size_t n, items, lines;
} sizes[] = {{1000, 1000, 1000},
             {1001, 1000, 1001},
             {5000, 1000, 5000},
             {5001, 1000, 5000},
             {MOST, 1000, 5000}};

START_TEST(the_most_urgent_stay)
{
    add_new(sizes[_i].n);
    ck_assert_uint_eq(digest.news.count[VB_NEWS_NEW], sizes[_i].n);
    ck_assert_uint_eq(digest.sheet, sizes[_i].n);
    in_order(sizes[_i].lines, sizes[_i].items);
}
END_TEST

START_TEST(no_more_room_than_for_some_thousands)
{
    for (size_t i = 0; i < MOST; i++) {
        add(i, &new_line);
        ck_assert_uint_lt(digest.n, 8000);
    }
    ck_assert_uint_lt(digest.size, 16000);
}
END_TEST

static size_t
items_of(enum vb_news_kind k)
{
    size_t n = 0;
    for (size_t i = 0; i < digest.news.n; i++) {
        n += digest.news.item[i].kind == k;
        ck_assert(i == 0 || digest.news.item[i - 1].kind <= digest.news.item[i].kind);
    }
    return n;
}

START_TEST(each_kind_has_its_own_end)
{
    for (size_t i = 0; i < 4400; i++) {
        struct said s = {AS_OF, 1, 1, (enum vb_news_kind)(i % 4), 0};
        add(i, &s);
    }
    ck_assert_int_eq(vb_digest_end(&digest), VB_OK);
    ck_assert_uint_eq(items_of(VB_NEWS_NEW), 1000);
    ck_assert_uint_eq(items_of(VB_NEWS_WORSE), 1000);
    ck_assert_uint_eq(items_of(VB_NEWS_STILL), 50);
    ck_assert_uint_eq(items_of(VB_NEWS_CLEARED), 1000);
    for (int k = 0; k < VB_NEWS_COUNT; k++)
        ck_assert_uint_eq(digest.news.count[k], 1100);
}
END_TEST

/* New ones are written out, and in the list, behind thousands that are more urgent. */
START_TEST(new_behind_old)
{
    for (size_t i = 0; i < 9000; i++) {
        struct said s = {AS_OF - 10, 1, 1, VB_NEWS_STILL, 0};
        if (i == 8999)
            s.kind = VB_NEWS_NEW, s.day = AS_OF + 20;
        add(i, &s);
    }
    ck_assert_int_eq(vb_digest_end(&digest), VB_OK);
    ck_assert_uint_eq(items_of(VB_NEWS_NEW), 1);
    ck_assert_str_eq(digest.news.item[0].now.engine, "K08999");
    ck_assert_uint_eq(digest.news.item[0].due, 5000);
    ck_assert_uint_eq(digest.dues.n, 5001);
}
END_TEST

/* What is in the list, and what is written out, of one line in each state. */
static const struct {
    struct said s;
    size_t lines, items, sheet;
} states[] = {
    {{AS_OF + 30, 1, 1, VB_NEWS_NEW, 0}, 1, 1, 1},
    {{AS_OF + 30, 1, 1, VB_NEWS_STILL, 1}, 1, 0, 1},   // acknowledged: it stands
    {{AS_OF + 35, 1, 1, VB_NEWS_STILL, 0}, 1, 1, 1},   // within the slack
    {{AS_OF + 35, 1, 1, VB_NEWS_CLEARED, 0}, 1, 1, 0}, // far enough
    {{AS_OF + 5, 1, 1, VB_NEWS_CLEARED, 0}, 1, 1, 1},
    {{AS_OF + 30, 1, 0, VB_NEWS_NEW, 0}, 1, 0, 1}, // of two with one name the second
    {{AS_OF + 31, 1, 0, VB_NEWS_NEW, 0}, 0, 0, 0}, // within nothing
    {{NAN, 0, 1, VB_NEWS_STILL, 0}, 0, 1, 0},      // its line is gone
    {{NAN, 0, 1, VB_NEWS_CLEARED, 0}, 0, 1, 0},
    {{NAN, 0, 1, VB_NEWS_STILL, 1}, 0, 0, 0},
};

START_TEST(one_line)
{
    add(7, &states[_i].s);
    ck_assert_int_eq(vb_digest_end(&digest), VB_OK);
    ck_assert_uint_eq(digest.dues.n, states[_i].lines);
    ck_assert_uint_eq(digest.news.n, states[_i].items);
    ck_assert_uint_eq(digest.sheet, states[_i].sheet);
    if (!states[_i].items)
        return;
    ck_assert_str_eq(digest.news.item[0].now.engine, "K00007");
    ck_assert_int_eq(digest.news.item[0].due == VB_NEWS_NO_DUE, !states[_i].s.line);
}
END_TEST

/* Behind all lines come those without one, by name, whatever order they came in. */
START_TEST(those_that_are_gone)
{
    const struct said gone = {NAN, 0, 1, VB_NEWS_CLEARED, 0};
    const struct said line = {AS_OF, 1, 1, VB_NEWS_CLEARED, 0};
    add(5, &gone);
    add(9, &line);
    add(3, &gone);
    add(4, &gone);
    ck_assert_int_eq(vb_digest_end(&digest), VB_OK);
    const char *want[] = {"K00009", "K00003", "K00004", "K00005"};
    ck_assert_uint_eq(digest.news.n, 4);
    for (int i = 0; i < 4; i++)
        ck_assert_str_eq(digest.news.item[i].now.engine, want[i]);
}
END_TEST

START_TEST(given_up_half_way) // what went in is freed
{
    const struct said gone = {NAN, 0, 1, VB_NEWS_CLEARED, 0};
    add(0, &new_line);
    add(1, &gone);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("digest");
    TCase *t = tcase_create("digest");
    tcase_add_checked_fixture(t, setup, teardown);
    tcase_add_test(t, nothing);
    tcase_add_test(t, few);
    tcase_add_loop_test(t, the_most_urgent_stay, 0, sizeof sizes / sizeof *sizes);
    tcase_add_test(t, no_more_room_than_for_some_thousands);
    tcase_add_test(t, each_kind_has_its_own_end);
    tcase_add_test(t, new_behind_old);
    tcase_add_loop_test(t, one_line, 0, sizeof states / sizeof *states);
    tcase_add_test(t, those_that_are_gone);
    tcase_add_test(t, given_up_half_way);
    suite_add_tcase(s, t);
    return run_suite(s);
}
