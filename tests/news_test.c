/*
 * What is said of alerts, and when: runs night after night on a list made by hand. Wanted
 * values follow from the rules in news.h; horizon 20 days or 40 h, so that the slack, a
 * quarter, is 5 days or 10 h; a level settles in 3 days.
 */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "suite.h"
#include "valvebook/news.h"

#define DAY 1000 // the first night

static char name_a[] = "A", name_b[] = "B", name_slash[] = "HC/1";
static struct vb_unit_now unit[2];
static struct vb_life life[4];
static struct vb_fleet fleet;
static struct vb_due due[4];
static struct vb_due_unit said_of[2];
static struct vb_dues dues;
static struct vb_alerts book; // what is remembered
static struct vb_alert_wish wish;
static struct vb_news news;

static void
setup(void)
{
    unit[0] = (struct vb_unit_now){
        .name = name_a, .meter_unit = "h", .last_running = 100, .set_day = 900};
    unit[1] = (struct vb_unit_now){
        .name = name_b, .meter_unit = "km", .last_running = 5000, .set_day = NAN};
    life[0] = (struct vb_life){.valve = {1, 'E', 0}, .engine = 0};
    life[1] = (struct vb_life){.valve = {1, 'E', 0}, .engine = 0, .current = 1};
    life[2] = (struct vb_life){.valve = {2, 'E', 0}, .engine = 0, .current = 1};
    life[3] = (struct vb_life){.valve = {2, 'I', 0}, .engine = 1, .current = 1};
    strcpy(life[1].since, "2026-03-05");
    strcpy(life[2].since, "2026-03-05");
    fleet = (struct vb_fleet){.unit = unit, .n_units = 2};
    fleet.lives.life = life;
    fleet.lives.n = 4;
    memset(due, 0, sizeof due);
    dues = (struct vb_dues){.due = due, .unit = said_of};
    memset(&book, 0, sizeof book);
    memset(&news, 0, sizeof news);
    wish = (struct vb_alert_wish){
        .due = {DAY, 20, 40, NAN, 0, 0.95, NULL, NULL}, .remind = NAN, .settle = 3};
}

static void
teardown(void)
{
    vb_news_clear(&news);
    vb_alerts_clear(&book);
}

/* A line of 1E of engine A in its second life, due in so many days. */
static struct vb_due *
line(enum vb_due_kind kind, double days)
{
    struct vb_due *d = &due[dues.n++];
    *d = (struct vb_due){.kind = kind,
                         .at = life[1].valve,
                         .due_day = wish.due.as_of + days,
                         .due_running = NAN,
                         .expected_day = NAN,
                         .expected_running = NAN};
    return d;
}

static struct vb_due *
engine_line(enum vb_due_kind kind, size_t of, int now, double days)
{
    struct vb_due *d = line(kind, days);
    d->unit = of;
    d->at = (struct vb_valve){0};
    d->now = now;
    return d;
}

/* What the list says of the engines and lives as they are now. */
static void
describe(void)
{
    for (size_t i = 0; i < 2; i++) {
        said_of[i] = (struct vb_due_unit){.name = unit[i].name,
                                          .last_running = unit[i].last_running,
                                          .offset = unit[i].offset,
                                          .set_day = unit[i].set_day};
        strcpy(said_of[i].meter_unit, unit[i].meter_unit);
    }
    for (size_t i = 0; i < dues.n; i++)
        snprintf(due[i].life, sizeof due[i].life, "%s",
                 due[i].at.cyl ? life[1].since : unit[due[i].unit].build);
}

static enum vb_alert_level
level(const struct vb_due *d, double slack)
{
    describe();
    return vb_alert_level(&said_of[d->unit], d, &wish.due, slack);
}

static int
by_name(const void *a, const void *b)
{
    return vb_alert_order(a, b);
}

/* One run; "2 new, 1 cleared" or so through `said`, "" for silence. */
static const char *
look(void)
{
    static const char *const word[] = {"new", "worse", "still", "cleared"};
    static char said[80];
    size_t n = 0;
    struct vb_alert_fate fate[8] = {{0}};
    ck_assert_uint_le(book.n, 8);
    vb_news_clear(&news);
    describe();
    if (book.n)
        qsort(book.alert, book.n, sizeof *book.alert, by_name);
    vb_alert_fates(&fleet, &book, fate);
    ck_assert_int_eq(vb_alert_news(&dues, &book, fate, &wish, &news), VB_OK);
    ck_assert(!news.say || news.changed);
    ck_assert(!news.say || news.count[0] + news.count[1] + news.count[2] + news.count[3]);
    said[0] = 0;
    for (size_t i = 0; news.say && i < VB_NEWS_COUNT; i++)
        if (news.count[i])
            n += (size_t)snprintf(said + n, sizeof said - n, "%s%zu %s", n ? ", " : "",
                                  news.count[i], word[i]);
    return said;
}

/* Remember the run as the book does: an acknowledgement is not the run's to change. */
static void
mark(void)
{
    struct vb_alerts next = {0};
    for (size_t i = 0; i < news.n; i++)
        if (news.item[i].kind != VB_NEWS_CLEARED)
            ck_assert_int_eq(
                vb_alerts_add(&next, news.say ? &news.item[i].told : &news.item[i].now),
                VB_OK);
    vb_news_clear(&news);
    vb_alerts_clear(&book);
    book = next;
}

static const char *
night(void)
{
    const char *said = look();
    mark();
    return said;
}

/* The next night has a list of its own. */
static void
later(double days)
{
    wish.due.as_of += days;
    dues.n = 0;
}

#define IS(want) ck_assert_str_eq(night(), want)
#define LEVEL(want)                                                                      \
    ck_assert_str_eq(book.n ? vb_alert_level_name(book.alert[0].level) : "", want)

START_TEST(levels)
{
    struct vb_due *d = line(VB_DUE_LASH, _i);
    enum vb_alert_level want = _i <= 0    ? VB_ALERT_DUE
                               : _i <= 20 ? VB_ALERT_SOON
                                          : VB_ALERT_NONE;
    enum vb_alert_level kept = _i <= 5    ? VB_ALERT_DUE
                               : _i <= 25 ? VB_ALERT_SOON
                                          : VB_ALERT_NONE;
    d->due_day -= 1e-9;           // as rounding may have it
    for (int k = 0; k < 2; k++) { // by the date of the day, whatever the hour
        ck_assert_int_eq(level(d, 0), want);
        ck_assert_int_eq(level(d, VB_ALERT_SLACK), kept);
        d->due_day += 0.9;
    }
    d->due_day = NAN; // by a meter that stands at 100 h, horizon 40 h, slack 10 h
    d->due_running = 100 + 2 * _i;
    ck_assert_int_eq(level(d, 0), want);
    ck_assert_int_eq(level(d, VB_ALERT_SLACK), kept);
    d->unit = 1; // in km: the horizon in h says nothing, the bound itself does
    d->due_running = 5000 + 2 * _i;
    want = _i <= 0 ? VB_ALERT_DUE : VB_ALERT_NONE;
    ck_assert_int_eq(level(d, 0), want);
    ck_assert_int_eq(level(d, VB_ALERT_SLACK), want);
    d->now = 1;
    ck_assert_int_eq(level(d, 0), VB_ALERT_OVER);
}
END_TEST

START_TEST(levels_without_a_horizon)
{
    struct vb_due *d = line(VB_DUE_LASH, 0);
    wish.due.within_days = wish.due.within_h = wish.due.within_km = NAN;
    ck_assert_int_eq(level(d, VB_ALERT_SLACK), VB_ALERT_DUE);
    d->due_day += 1;
    ck_assert_int_eq(level(d, VB_ALERT_SLACK), VB_ALERT_NONE);
    d->due_day = NAN;
    ck_assert_int_eq(level(d, 0), VB_ALERT_NONE);
}
END_TEST

START_TEST(somebody_must_look)
{
    const struct {
        enum vb_due_kind kind;
        size_t unit;
        enum vb_alert_level want;
    } c[] = {{VB_DUE_LASH, 0, VB_ALERT_OVER},   {VB_DUE_SEAT, 0, VB_ALERT_OVER},
             {VB_DUE_CHECK, 0, VB_ALERT_DUE},   {VB_DUE_UNREAD, 0, VB_ALERT_DUE},
             {VB_DUE_TIMING, 0, VB_ALERT_DUE},  {VB_DUE_INTERVAL, 0, VB_ALERT_OVER},
             {VB_DUE_INTERVAL, 1, VB_ALERT_DUE}}; // began nobody knows when
    struct vb_due *d = engine_line(c[_i].kind, c[_i].unit, 1, 0);
    d->look = c[_i].unit == 1;
    ck_assert_int_eq(level(d, 0), c[_i].want);
}
END_TEST

START_TEST(words)
{
    for (int i = VB_ALERT_SOON; i <= VB_ALERT_OVER; i++) {
        const char *s = vb_alert_level_name((enum vb_alert_level)i);
        ck_assert_int_eq(vb_alert_level_parse(s), i);
    }
    ck_assert_int_eq(vb_alert_level_parse("none"), VB_ALERT_NONE);
    ck_assert_int_eq(vb_alert_level_parse(""), VB_ALERT_NONE);
}
END_TEST

START_TEST(selections)
{
    struct vb_alert a = {.engine = name_slash, .kind = "seat", .at = "3E1"};
    const char *yes[] = {"HC/1", "HC/1/seat", "HC/1/seat/3E1"};
    const char *no[] = {"",          "HC",         "HC/",          "HC/1/",
                        "HC/1/sea",  "HC/1/seat/", "HC/1/seat/3E", "HC/1/seat/3E1/",
                        "HC/1 seat", "HC/11",      "/seat",        "HC/1/seats"};
    for (size_t i = 0; i < sizeof yes / sizeof *yes; i++)
        ck_assert_msg(vb_alert_matches(&a, yes[i]), "%s", yes[i]);
    for (size_t i = 0; i < sizeof no / sizeof *no; i++)
        ck_assert_msg(!vb_alert_matches(&a, no[i]), "%s", no[i]);
}
END_TEST

START_TEST(names)
{
    const struct vb_alert a[] = {
        {.engine = name_a, .kind = "lash", .at = "1E", .life = ""},
        {.engine = name_a, .kind = "lash", .at = "1E", .life = "2026-03-05"},
        {.engine = name_a, .kind = "lash", .at = "2E", .life = ""},
        {.engine = name_a, .kind = "seat", .at = "1E", .life = ""},
        {.engine = name_b, .kind = "check", .at = "1E", .life = ""}};
    for (int i = 0; i < 5; i++)
        for (int j = 0; j < 5; j++) {
            int c = vb_alert_order(&a[i], &a[j]);
            ck_assert_int_eq((c > 0) - (c < 0), (i > j) - (i < j));
        }
}
END_TEST

START_TEST(said_once_then_silence)
{
    line(VB_DUE_LASH, 10);
    line(VB_DUE_SEAT, 40);
    IS("1 new");
    ck_assert_uint_eq(book.n, 1);
    const struct vb_alert *a = &book.alert[0];
    ck_assert_str_eq(a->engine, "A");
    ck_assert_str_eq(a->kind, "lash");
    ck_assert_str_eq(a->at, "1E");
    ck_assert_str_eq(a->life, "2026-03-05");
    ck_assert_double_eq(a->first_day, DAY);
    ck_assert_double_eq(a->said_day, DAY);
    ck_assert_double_eq(a->due_day, DAY + 10);
    ck_assert_double_eq(a->set_day, 900);
    ck_assert_double_nan(a->gone_day);
    LEVEL("soon");
    ck_assert_str_eq(look(), "");
    ck_assert_int_eq(news.changed, 0);
}
END_TEST

START_TEST(what_was_not_marked_is_said_again)
{
    line(VB_DUE_LASH, 10);
    ck_assert_str_eq(look(), "1 new");
    ck_assert_str_eq(look(), "1 new");
    mark();
    IS("");
}
END_TEST

START_TEST(from_soon_to_over)
{
    for (double d = 30; d >= -3; d--) {
        const char *want = d == 20 ? "1 new" : d == 0 || d == -3 ? "1 worse" : "";
        line(VB_DUE_LASH, d)->now = d == -3;
        IS(want);
        if (d == -3)
            LEVEL("over");
        later(1);
    }
}
END_TEST

START_TEST(the_edge_of_the_horizon)
{
    for (int i = 0; i < 100; i++) { // 20, 25, 20 ... days: within the slack
        line(VB_DUE_LASH, i % 2 ? 25 : 20);
        IS(i ? "" : "1 new");
        later(1);
    }
    line(VB_DUE_LASH, 26);
    IS("1 cleared");
    ck_assert_uint_eq(book.n, 0);
}
END_TEST

START_TEST(the_edge_of_due)
{
    for (int i = 0; i < 100; i++) {
        line(VB_DUE_LASH, i % 2 ? 5 : 0);
        IS(i ? "" : "1 new");
        LEVEL("due");
        later(1);
    }
    line(VB_DUE_LASH, 6);
    IS("");
    LEVEL("soon");
    later(6);
    line(VB_DUE_LASH, 0);
    IS("1 worse");
}
END_TEST

START_TEST(the_edge_of_a_limit)
{
    for (int i = 0; i < 100; i++) { // over every third night, due in between
        line(VB_DUE_LASH, 0)->now = i % 3 == 0;
        IS(i ? "" : "1 new");
        LEVEL("over");
        later(1);
    }
    // night 99 was over: 100, 101 and 102 are better, and 103 settles it
    for (int i = 0; i < 4; i++) {
        line(VB_DUE_LASH, 0);
        IS("");
        LEVEL(i < 3 ? "over" : "due");
        later(1);
    }
    line(VB_DUE_LASH, 0)->now = 1;
    IS("1 worse");
}
END_TEST

START_TEST(a_hint_that_comes_and_goes)
{
    for (int i = 0; i < 100; i++) {
        if (i % 3 == 0)
            line(VB_DUE_CHECK, 0)->now = 1;
        IS(i ? "" : "1 new");
        later(1);
    }
    for (int i = 0; i < 4; i++) {
        IS(i < 3 ? "" : "1 cleared");
        later(1);
    }
    ck_assert_uint_eq(book.n, 0);
}
END_TEST

/* A cam has a place of its own, be it named like a valve, and lives as long as the build. */
START_TEST(cams)
{
    strcpy(engine_line(VB_DUE_TIMING, 0, 1, 0)->cam, "A-I");
    strcpy(engine_line(VB_DUE_TIMING, 0, 1, 0)->cam, "1E");
    strcpy(unit[0].build, "B1");
    IS("2 new");
    ck_assert_str_eq(book.alert[0].at, "A-I");
    ck_assert_str_eq(book.alert[1].at, "1E");
    ck_assert_str_eq(book.alert[1].life, "B1");
    later(1);
    IS("");
    strcpy(unit[0].build, "B2");
    later(1);
    IS("2 cleared");
}
END_TEST

START_TEST(settling_in_no_time)
{
    wish.settle = 0;
    line(VB_DUE_CHECK, 0)->now = 1;
    IS("1 new");
    later(1);
    IS("1 cleared");
}
END_TEST

START_TEST(a_run_that_was_left_out_settles_nothing)
{
    line(VB_DUE_CHECK, 0)->now = 1;
    IS("1 new");
    later(30);
    IS(""); // gone since today, as far as anybody knows
    ck_assert_double_eq(book.alert[0].gone_day, DAY + 30);
    later(3);
    IS("1 cleared");
}
END_TEST

/* What ends the waiting: the engine was set, the life or the engine is over. */
START_TEST(done)
{
    line(VB_DUE_LASH, 0)->now = 1;
    engine_line(VB_DUE_INTERVAL, 0, 1, 0);
    engine_line(VB_DUE_INTERVAL, 1, 1, 0);
    IS("3 new");
    later(1);
    switch (_i) {
    case 0: unit[0].set_day = 1001; break;
    case 1: unit[0].ended = unit[1].ended = 1; break;
    case 2: fleet.n_units = 0, fleet.lives.n = 0; break;
    case 3: life[1].current = 0; break;
    case 4: strcpy(life[1].since, "2026-10-01"); break;
    case 5: strcpy(unit[0].build, "B2"); break;
    case 6: unit[1].set_day = 1001; break; // the first on record
    default: break;
    }
    static const char *const want[] = {"1 still, 2 cleared", "3 cleared",
                                       "3 cleared",          "2 still, 1 cleared",
                                       "2 still, 1 cleared", "2 still, 1 cleared",
                                       "2 still, 1 cleared", ""};
    ck_assert_str_eq(look(), want[_i]);
    for (size_t i = 0; i < news.n; i++)
        ck_assert_uint_eq(news.item[i].due, VB_NEWS_NO_DUE);
}
END_TEST

START_TEST(set_again_and_better_at_once)
{
    line(VB_DUE_LASH, 0)->now = 1;
    IS("1 new");
    later(1);
    unit[0].set_day = 1001;
    line(VB_DUE_LASH, 15);
    IS("");
    LEVEL("soon");
    ck_assert_double_nan(book.alert[0].gone_day);
    ck_assert_double_eq(book.alert[0].set_day, 1001);
    later(1);
    line(VB_DUE_LASH, 0)->now = 1;
    IS("1 worse");
}
END_TEST

START_TEST(a_setting_that_did_not_help)
{
    line(VB_DUE_CHECK, 0)->now = 1;
    IS("1 new");
    later(1);
    unit[0].set_day = 1001;
    line(VB_DUE_CHECK, 0)->now = 1;
    ck_assert_str_eq(look(), "");
    ck_assert_int_eq(news.changed, 1);
    mark();
    later(1); // gone, and nobody did anything since that look
    IS("");
    ck_assert_uint_eq(book.n, 1);
}
END_TEST

START_TEST(a_bound_that_moves_up)
{
    line(VB_DUE_LASH, 19);
    IS("1 new");
    dues.n = 0;
    line(VB_DUE_LASH, 14);
    IS("");
    dues.n = 0;
    line(VB_DUE_LASH, 13);
    IS("1 worse");
    dues.n = 0;
    line(VB_DUE_LASH, 8);
    IS("");
    dues.n = 0;
    line(VB_DUE_LASH, NAN)->due_running = 100;
    IS("1 worse");
    dues.n = 0; // once it is due, how far back the bound lies does not matter
    line(VB_DUE_LASH, -30)->due_running = 10;
    IS("");
}
END_TEST

START_TEST(a_meter_that_moves_up)
{
    line(VB_DUE_LASH, NAN)->due_running = 130;
    IS("1 new");
    dues.n = 0;
    line(VB_DUE_LASH, NAN)->due_running = 120;
    IS("");
    dues.n = 0;
    line(VB_DUE_LASH, NAN)->due_running = 119;
    IS("1 worse");
}
END_TEST

START_TEST(reminders)
{
    wish.remind = 7;
    for (int i = 0; i < 15; i++) {
        line(VB_DUE_LASH, 0)->now = 1;
        IS(i == 0 ? "1 new" : i % 7 == 0 ? "1 still" : "");
        later(1);
    }
    line(VB_DUE_LASH, 0)->now = 1; // said with something else: counted from there
    line(VB_DUE_SEAT, 0);
    IS("1 new, 1 still");
    ck_assert_str_eq(book.alert[1].kind, "lash");
    ck_assert_double_eq(book.alert[1].said_day, DAY + 15);
    ck_assert_double_eq(book.alert[1].first_day, DAY);
}
END_TEST

START_TEST(acknowledged_until_worse)
{
    wish.remind = 1;
    line(VB_DUE_LASH, 2);
    IS("1 new");
    book.alert[0].acked = VB_ALERT_SOON;
    book.alert[0].acked_until = INFINITY;
    later(1);
    line(VB_DUE_LASH, 1);
    IS("");
    dues.n = 0;
    book.alert[0].due_day += 10; // as if it had moved up
    line(VB_DUE_LASH, 1);
    IS("");
    later(1);
    line(VB_DUE_LASH, 0);
    IS("1 worse");
    book.alert[0].acked = VB_ALERT_OVER;
    later(1);
    line(VB_DUE_LASH, 0)->now = 1;
    ck_assert_str_eq(look(), "");
    ck_assert_uint_eq(news.quiet, 1);
    ck_assert_int_eq(news.item[0].quiet, 1);
    ck_assert_int_eq(news.changed, 1);
    mark();
    ck_assert_double_eq(book.alert[0].said_day, DAY + 2);
    later(1);
    unit[0].set_day = DAY + 3;
    IS("1 cleared");
}
END_TEST

/* What a check had found, and what more or less it finds at a later visit. */
static void
finds(unsigned found)
{
    struct vb_due *d = line(VB_DUE_CHECK, 0);
    d->now = 1;
    d->found = found;
}

START_TEST(more_is_found)
{
    finds(VB_FOUND_LATELY_TIGHTER);
    IS("1 new");
    ck_assert_uint_eq(book.alert[0].found, VB_FOUND_LATELY_TIGHTER);
    later(1);
    finds(VB_FOUND_LATELY_TIGHTER | VB_FOUND_STEP_TIGHTER);
    ck_assert_str_eq(look(), "1 worse");
    ck_assert_int_eq(news.item[0].more, 1);
    ck_assert_str_eq(look(), "1 worse"); // as nobody heard of it
    mark();
    later(1);
    finds(VB_FOUND_STEP_TIGHTER); // what comes and goes is said once
    IS("");
    later(1);
    finds(VB_FOUND_LATELY_TIGHTER | VB_FOUND_STEP_TIGHTER);
    IS("");
    later(1);
    unit[0].set_day = DAY + 4; // somebody has set it: what it finds now is new
    finds(VB_FOUND_STEP_TIGHTER);
    IS("");
    ck_assert_uint_eq(book.alert[0].found, VB_FOUND_STEP_TIGHTER);
    later(1);
    finds(VB_FOUND_LATELY_TIGHTER | VB_FOUND_STEP_TIGHTER);
    IS("1 worse");
    later(1);
    finds(VB_FOUND_STEP_LOOSER);
    IS("1 worse");
    later(1);
    IS(""); // gone, for a day
    later(1);
    finds(VB_FOUND_STEP_LOOSER);
    IS("");
    later(1);
    finds(VB_FOUND_STEP_LOOSER);
    ck_assert_str_eq(look(), "");
    ck_assert_int_eq(news.changed, 0);
}
END_TEST

/* A cam was timed again each time: less is nothing to say, and more is news again. */
START_TEST(a_cam_finds_what_was_timed)
{
    static const unsigned found[] = {1, 3, 1, 3, 3};
    static const char *const want[] = {"1 new", "1 worse", "", "1 worse", ""};
    for (size_t i = 0; i < 5; i++) {
        struct vb_due *d = line(VB_DUE_TIMING, 0);
        d->now = 1;
        d->found = found[i] * VB_FOUND_TOOTH;
        IS(want[i]);
        later(1);
    }
}
END_TEST

/* An alert that an older version remembers: nobody knows what was found, and nothing is said. */
START_TEST(found_before_anybody_kept_it)
{
    finds(VB_FOUND_STEP_LOOSER);
    IS("1 new");
    book.alert[0].found = 0;
    later(1);
    finds(VB_FOUND_STEP_LOOSER);
    IS("");
    ck_assert_uint_eq(book.alert[0].found, VB_FOUND_STEP_LOOSER);
}
END_TEST

/* Who acknowledged a cam that is a little late has not seen the tooth that it has jumped. */
START_TEST(more_than_was_acknowledged)
{
    finds(VB_FOUND_RANK);
    IS("1 new");
    book.alert[0].acked = VB_ALERT_OVER;
    book.alert[0].acked_until = INFINITY;
    later(1);
    finds(VB_FOUND_RANK | VB_FOUND_TOOTH);
    ck_assert_str_eq(look(), "1 worse");
    ck_assert_uint_eq(news.quiet, 0);
    mark();
    later(1);
    finds(VB_FOUND_RANK | VB_FOUND_TOOTH);
    IS("");
    ck_assert_double_eq(book.alert[0].said_day, DAY + 1);
}
END_TEST

START_TEST(acknowledged_until_a_day)
{
    line(VB_DUE_LASH, 0)->now = 1;
    IS("1 new");
    for (int i = 1; i < 9; i++) {
        book.alert[0].acked = VB_ALERT_OVER;
        book.alert[0].acked_until = DAY + 5;
        later(1);
        line(VB_DUE_LASH, 0)->now = 1;
        IS(i == 6 ? "1 still" : "");
    }
}
END_TEST

START_TEST(the_quiet_ones_are_not_said_with_others)
{
    line(VB_DUE_LASH, 0)->now = 1;
    IS("1 new");
    book.alert[0].acked = VB_ALERT_OVER;
    book.alert[0].acked_until = INFINITY;
    later(1);
    line(VB_DUE_LASH, 0)->now = 1;
    line(VB_DUE_SEAT, 0);
    ck_assert_str_eq(look(), "1 new");
    ck_assert_uint_eq(news.quiet, 1);
    mark();
    ck_assert_double_eq(book.alert[0].said_day + book.alert[1].said_day, 2 * DAY + 1);
}
END_TEST

START_TEST(a_clock_that_went_ahead)
{
    line(VB_DUE_CHECK, 0)->now = 1;
    IS("1 new");
    later(1);
    IS("");
    if (_i < 2)
        book.alert[0].said_day = book.alert[0].first_day = DAY + 9999;
    if (_i)
        book.alert[0].gone_day = DAY + 9999;
    later(1);
    ck_assert_str_eq(look(), "");
    ck_assert_int_eq(news.changed, 1);
    mark();
    ck_assert_double_eq(book.alert[0].said_day, _i < 2 ? DAY + 2 : DAY);
    ck_assert_double_eq(book.alert[0].gone_day, _i ? DAY + 2 : DAY + 1);
    later(_i ? 3 : 2);
    IS("1 cleared");
}
END_TEST

START_TEST(most_urgent_first)
{
    engine_line(VB_DUE_UNREAD, 1, 1, 0);
    line(VB_DUE_CHECK, 0)->now = 1;
    IS("2 new");
    later(1);
    line(VB_DUE_LASH, 0)->now = 1;
    engine_line(VB_DUE_UNREAD, 1, 1, 0);
    line(VB_DUE_SEAT, 3);
    line(VB_DUE_SEAT, 4); // the same name: the more urgent is taken
    ck_assert_str_eq(look(), "2 new, 2 still");
    ck_assert_uint_eq(news.n, 4);
    ck_assert_uint_eq(news.item[0].due, 0);
    ck_assert_uint_eq(news.item[1].due, 2);
    ck_assert_uint_eq(news.item[2].due, 1);
    ck_assert_uint_eq(news.item[3].due, VB_NEWS_NO_DUE);
    ck_assert_str_eq(news.item[3].now.kind, "check");
    ck_assert_double_eq(news.item[3].now.gone_day, DAY + 1);
}
END_TEST

/* xorshift32 */
static unsigned
draw(unsigned *s, unsigned below)
{
    *s ^= *s << 13;
    *s ^= *s >> 17;
    *s ^= *s << 5;
    return *s % below;
}

/*
 * Nights at random, with mailers that fail in a third of them: what lies within the
 * horizon has been said at its level or above by the next mail that goes out; asking
 * again at once says nothing; and the order in which the book keeps alerts decides
 * nothing.
 */
START_TEST(random_nights)
{
    unsigned s = 2463534242u + (unsigned)_i;
    int said = 0;
    for (int k = 0; k < 400; k++) {
        enum vb_due_kind kinds[] = {VB_DUE_LASH, VB_DUE_SEAT, VB_DUE_CHECK};
        for (size_t i = 0; i < 3; i++)
            if (draw(&s, 4))
                line(kinds[i], (double)draw(&s, 40) - 5)->now = i == 2 || !draw(&s, 5);
        if (!draw(&s, 20))
            unit[0].set_day = wish.due.as_of;
        char first[80];
        snprintf(first, sizeof first, "%s", look());
        for (size_t i = 1; i < book.n; i++) {
            struct vb_alert a = book.alert[i];
            book.alert[i] = book.alert[0];
            book.alert[0] = a;
        }
        ck_assert_str_eq(look(), first);
        if (!news.say || draw(&s, 3)) {
            said += news.say;
            mark();
            for (size_t i = 0; i < dues.n; i++) {
                enum vb_alert_level got = VB_ALERT_NONE;
                for (size_t j = 0; j < book.n; j++)
                    if (strcmp(book.alert[j].kind, vb_due_kind_name(due[i].kind)) == 0)
                        got = book.alert[j].level;
                ck_assert_int_ge(got, level(&due[i], 0));
            }
            ck_assert_str_eq(look(), "");
            ck_assert_int_eq(news.changed, 0);
        }
        later(1);
    }
    ck_assert_int_gt(said, 50);
}
END_TEST

static Suite *
news_suite(void)
{
    Suite *s = suite_create("news");
    TCase *t = tcase_create("levels");
    tcase_add_checked_fixture(t, setup, teardown);
    tcase_add_loop_test(t, levels, -2, 30);
    tcase_add_test(t, levels_without_a_horizon);
    tcase_add_loop_test(t, somebody_must_look, 0, 7);
    tcase_add_test(t, words);
    tcase_add_test(t, selections);
    tcase_add_test(t, names);
    suite_add_tcase(s, t);
    t = tcase_create("nights");
    tcase_add_checked_fixture(t, setup, teardown);
    tcase_add_test(t, said_once_then_silence);
    tcase_add_test(t, what_was_not_marked_is_said_again);
    tcase_add_test(t, from_soon_to_over);
    tcase_add_test(t, the_edge_of_the_horizon);
    tcase_add_test(t, the_edge_of_due);
    tcase_add_test(t, the_edge_of_a_limit);
    tcase_add_test(t, a_hint_that_comes_and_goes);
    tcase_add_test(t, cams);
    tcase_add_test(t, settling_in_no_time);
    tcase_add_test(t, a_run_that_was_left_out_settles_nothing);
    tcase_add_loop_test(t, done, 0, 8);
    tcase_add_test(t, set_again_and_better_at_once);
    tcase_add_test(t, a_setting_that_did_not_help);
    tcase_add_test(t, a_bound_that_moves_up);
    tcase_add_test(t, a_meter_that_moves_up);
    tcase_add_test(t, reminders);
    tcase_add_test(t, acknowledged_until_worse);
    tcase_add_test(t, more_is_found);
    tcase_add_test(t, a_cam_finds_what_was_timed);
    tcase_add_test(t, found_before_anybody_kept_it);
    tcase_add_test(t, more_than_was_acknowledged);
    tcase_add_test(t, acknowledged_until_a_day);
    tcase_add_test(t, the_quiet_ones_are_not_said_with_others);
    tcase_add_loop_test(t, a_clock_that_went_ahead, 0, 3);
    tcase_add_test(t, most_urgent_first);
    tcase_add_loop_test(t, random_nights, 0, 20);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(news_suite());
}
