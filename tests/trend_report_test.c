/* The report of trends: what cannot be provoked from outside. */
#include "suite.h"
#include "valvebook/trend_report.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <check.h>

#include "valvebook/quantity.h"
#include "valvebook/report.h"

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
                                  .within = {130, 90, NAN, NAN, 0, 0.95}};
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

/* Without a pace a meter has no date. */
START_TEST(no_pace)
{
    struct vb_event later = {.day = 125, .kind = VB_EVENT_METER, .date = "1970-05-06"};
    fleet.unit[0].pace = NAN;
    wish.all = 1;
    engine.event = &later; // at a meter that nobody knows
    engine.n_events = 1;
    write_page();
    ck_assert_uint_eq(count("due by <time>"), 0);
    ck_assert_uint_gt(count("</strong> (no date: the meter's pace is not known)"), 0);
    ck_assert_uint_eq(count(" a day of late"), 0);
    ck_assert_uint_eq(count("new meter"), 0);
    fleet.unit[0].pace = 0.031; // of 11 h a year
    ck_assert_int_eq(vb_out_open(path, &out, NULL), VB_OK);
    write_page();
    ck_assert_uint_eq(count(", 0.031 h a day of late"), 1);
}
END_TEST

START_TEST(no_meter)
{
    fleet.unit[0].last_running = NAN;
    fleet.unit[0].meter_unit[0] = 0;
    wish.all = 1;
    write_page();
    ck_assert_uint_eq(count("Family many; last set"), 0);
    ck_assert_uint_eq(count("; 200 h on"), 0);
    ck_assert_uint_eq(count("Family many"), 1);
}
END_TEST

START_TEST(no_unit)
{
    fleet.unit[0].meter_unit[0] = 0;
    wish.html = 0;
    struct vb_trend_report *t = begin();
    ck_assert_int_eq(vb_trend_report_take(t, 0, &engine), VB_OK);
    ck_assert_int_eq(vb_trend_report_end(t), VB_OK);
    vb_trend_report_free(t);
    read_page();
    ck_assert_uint_eq(count("HC-1 "), VALVES);
    ck_assert_uint_eq(count("1000 h"), 0);
}
END_TEST

/* A life that is over, one without a reading that counts, an engine out of the fleet. */
START_TEST(what_is_not_in_use)
{
    struct vb_trend_report *t;
    size_t n;
    wish.all = 1;
    fleet.lives.life[0].current = 0;
    write_page();
    ck_assert_uint_eq(count("<th scope=\"row\">"), VALVES - 1);
    ck_assert_int_eq(vb_out_open(path, &out, NULL), VB_OK);
    fleet.lives.life[0].current = 1;
    fleet.unit[0].ended = 1;
    ck_assert_int_eq(vb_trend_report_new(&fleet, &wish, out, &t), VB_OK);
    vb_trend_report_units(t, &n);
    ck_assert_uint_eq(n, 0);
    vb_trend_report_free(t);
    fleet.unit[0].ended = 0;
    for (size_t i = 0; i < fleet.lives.n; i++)
        fleet.lives.life[i].wear.n = 0;
    ck_assert_int_eq(vb_trend_report_new(&fleet, &wish, out, &t), VB_OK);
    vb_trend_report_units(t, &n);
    ck_assert_uint_eq(n, 0);
    vb_trend_report_free(t);
}
END_TEST

/* The fleet, made anew of what has been changed. */
static void
again(void)
{
    vb_fleet_clear(&fleet);
    ck_assert_int_eq(vb_fleet_add(&fleet, &engine, 130), VB_OK);
    ck_assert_int_eq(vb_fleet_pool(&fleet), VB_OK);
    wish.all = 1;
}

/* Valves that are due alike, here not at all, stay in order. */
START_TEST(valves_alike_stay_in_order)
{
    for (size_t i = 0; i < engine.n_lash; i++)
        lash[i].found = 0.3 + (i % 3 == 1 ? 0.001 : 0);
    again();
    write_page();
    const char *a = strstr(page, "<th scope=\"row\">1E1<");
    const char *b = strstr(page, "<th scope=\"row\">1E2<");
    const char *c = strstr(page, "<th scope=\"row\">65E2<");
    ck_assert(a && b && c && a < b && b < c);
}
END_TEST

/* 0.30 mm with a u of 0.02 is too near to 0.29 or 0.31 to be told from it. */
START_TEST(too_close)
{
    for (size_t i = 0; i < engine.n_lash; i++)
        lash[i].u = 0.02;
    family.lash_min[1] = 0.29;
    engine.n_lash = 3;
    again();
    write_page();
    ck_assert_uint_eq(count("Tight limit 0.290 mm: too close to tight to say."), 2);
    ck_assert_uint_eq(count("<td>close to tight</td>"), 1);
    family.lash_min[1] = NAN;
    family.lash_max[1] = 0.31;
    ck_assert_int_eq(vb_out_open(path, &out, NULL), VB_OK);
    again();
    write_page();
    ck_assert_uint_eq(count("Loose limit 0.310 mm: too close to loose to say."), 2);
    ck_assert_uint_eq(count("<td>close to loose</td>"), 1);
    family.lash_max[1] = NAN;
    ck_assert_int_eq(vb_out_open(path, &out, NULL), VB_OK);
    again();
    write_page();
    ck_assert_uint_eq(count("No limit is stated."), 2);
}
END_TEST

START_TEST(some_state_their_u)
{
    engine.n_lash = 3;
    lash[1].u = 0.01;
    again();
    write_page();
    ck_assert_uint_eq(count("2 of the 3 readings shown state no u."), 2);
}
END_TEST

/* A valve that was read once has a chart of one reading. */
START_TEST(read_once)
{
    engine.lash = lash + 2;
    engine.n_lash = 4;
    again();
    write_page();
    ck_assert_uint_eq(count("<figure>"), 2);
    ck_assert_uint_eq(count(">Lash, engine HC-1, valve 1E1<"), 1);
}
END_TEST

/* Each by its name; the build is behind the two lives of 1E2 that are shown. What renews
 * nothing of a valve is not marked at it. */
START_TEST(events)
{
    struct vb_event event[] = {
        {.day = 102, .kind = VB_EVENT_REPLACE, .renews = VB_RENEWS_DRIVE},
        {.day = 105, .kind = VB_EVENT_BUILD, .renews = VB_RENEWS_LASH | VB_RENEWS_SEAT},
        {.day = 106,
         .kind = VB_EVENT_REPLACE,
         .renews = VB_RENEWS_LASH,
         .at = {1, 'E', 1}},
        {.day = 115,
         .kind = VB_EVENT_REPLACE,
         .renews = VB_RENEWS_LASH | VB_RENEWS_SEAT,
         .at = {1, 'E', 2}}};
    engine.n_lash = 6; // 1E1 and 1E2
    engine.event = event;
    engine.n_events = 4;
    again();
    write_page();
    ck_assert_uint_eq(count(">build</text>"), 1);
    ck_assert_uint_eq(count(">new part</text>"), 1);
    ck_assert_uint_eq(count(">new seat</text>"), 1);
    strcpy(event[1].build, "B2");
    ck_assert_int_eq(vb_out_open(path, &out, NULL), VB_OK);
    again();
    write_page();
    ck_assert_uint_eq(count(">build</text>"), 0);
    ck_assert_uint_eq(count(">B2</text>"), 1);
}
END_TEST

/* What is replaced in two families, one of them in one engine alone; a scale that tells no
 * ages apart leaves the words. */
START_TEST(parts_replaced)
{
    struct vb_watch watch = {0, 0, 200};
    struct vb_mcf_step step = {.age = 120, .mcf = 0.5, .lo = 0.25, .hi = 1.25};
    struct vb_service service[3];
    struct vb_family_life lives[3];
    for (int i = 0; i < 3; i++) {
        service[i] = (struct vb_service){.wish = {.part = "seat"},
                                         .watch = &watch,
                                         .n_watches = 1,
                                         .engines = i == 0 ? 1 : 2,
                                         .count = 1};
        lives[i] = (struct vb_family_life){.family = i == 0 ? "single" : "pair",
                                           .unit = "h",
                                           .service = &service[i],
                                           .step = &step,
                                           .n_steps = i < 2};
    }
    wish.lives = lives;
    wish.n_lives = 3;
    write_page();
    ck_assert_uint_eq(count("Parts replaced</h2>"), 1);
    ck_assert_uint_eq(count("<h3>single: seats replaced an engine</h3>"), 1);
    ck_assert_uint_eq(count("an engine has had 0.50 on average.</figcaption>"), 1);
    ck_assert_uint_eq(
        count("had 0.50 on average, between 0.25 and 1.25 (95 %).</figcaption>"), 1);
    struct vb_mcf_step had = step;
    step.age = 2.5; // h, and in each of 250 engines one: 0.0040 is known to 0.0012
    step.mcf = 0.004, step.lo = 0.0028, step.hi = 0.0057;
    ck_assert_int_eq(vb_out_open(path, &out, NULL), VB_OK);
    write_page();
    ck_assert_uint_eq(count("by the age of 2.5 h an engine has had 0.0040 on average, "
                            "between 0.0028 and 0.0057 (95 %)"),
                      1);
    step = had;
    ck_assert_int_eq(vb_out_open(path, &out, NULL), VB_OK);
    write_page();
    size_t drawn = count("<svg");
    lives[0].first_age = lives[1].first_age = 200;
    ck_assert_int_eq(vb_out_open(path, &out, NULL), VB_OK);
    write_page();
    ck_assert_uint_eq(count("<h3>single: seats replaced an engine</h3>"), 1);
    ck_assert_uint_eq(count("<svg"), drawn - 2);
}
END_TEST

/* --- cams --------------------------------------------------------------------------- */

#define CAMS 60
static struct vb_cam_unit unit[2];
static struct vb_cam_row row[CAMS];
static struct vb_cam_list cams;

/* So many cams of the engine, and one of another. */
static void
set_cams(size_t n)
{
    static char name[2][8] = {"HC-1", "HC-2"};
    unit[0].name = name[0];
    unit[1].name = name[1];
    memset(row, 0, sizeof row);
    for (size_t i = 0; i <= n; i++) {
        row[i].engine = i == n;
        snprintf(row[i].at, sizeof row[i].at, "C%zu", i);
        strcpy(row[i].date, "1970-04-11");
        row[i].fig = (struct vb_cam_figures){
            .centre = -110, .u_centre = 0.5, .duration = 240, .u_duration = 0.5};
        row[i].limit = NAN;
    }
    cams = (struct vb_cam_list){
        .engine = unit, .n_engines = 2, .row = row, .n = n + 1, .size = n + 1};
    wish.within.cams = &cams;
    wish.all = 1;
    engine.n_lash = 3;
    again();
}

/* -110 less and more half of 240: 50 before bottom, 10 behind top. */
START_TEST(cams_in_words)
{
    set_cams(5);
    row[1].left = 1;
    row[1].n = 1;
    row[2].by_lift = 1;
    row[2].n = 2;
    row[3].fig.duration = NAN;
    row[4].fig.centre = row[4].fig.duration = NAN;
    row[4].against = VB_AGAINST_MARK;
    row[4].shift.drive = 3;
    row[4].shift.u_drive = 0.5;
    write_page();
    ck_assert_uint_eq(
        count("<li>Cam C0, as found <time>1970-04-11</time>: opens 50.0 BBDC, "
              "closes 10.0 ATDC, centre 110.00 \xc2\xb1 0.50 BTDC, duration "
              "240.00 \xc2\xb1 0.50 deg.</li>"),
        1);
    ck_assert_uint_eq(count("<li>Cam C1, as left <time>1970-04-11</time> (1 valve): "),
                      1);
    ck_assert_uint_eq(count("<time>1970-04-11</time> (2 valves): opens 50.0 BBDC, closes "
                            "10.0 ATDC, centre 110.00 \xc2\xb1 0.50 BTDC.</li>"),
                      1);
    ck_assert_uint_eq(count("<li>Cam C3, as found <time>1970-04-11</time>: centre 110.00 "
                            "\xc2\xb1 0.50 BTDC.</li>"),
                      1);
    ck_assert_uint_eq(count("<li>Cam C4, as found <time>1970-04-11</time>. 3.00 \xc2\xb1 "
                            "0.50 deg later than its mark.</li>"),
                      1);
    ck_assert_uint_eq(count("Cam C5"), 0); // of another engine
}
END_TEST

/* Against what it is held, and what the eye is to fall on. */
START_TEST(cams_against)
{
    set_cams(2);
    row[0].against = VB_AGAINST_NOMINAL;
    row[0].n_shift = 1;
    row[0].shift.drive = -2.5;
    row[0].shift.u_drive = 0.25;
    row[0].limit = 2;
    row[0].has_verdict = 1;
    row[0].verdict.verdict = VB_VERDICT_OUT;
    row[1].against = VB_AGAINST_TIMED;
    row[1].shift.drive = NAN;
    write_page();
    ck_assert_uint_eq(
        count(" 2.50 \xc2\xb1 0.25 deg earlier than nominal, limit 2.0: out."), 2);
    ck_assert_uint_eq(count(" than as timed"), 0);
}
END_TEST

/* Spans that no cam has are not drawn; a mark alone is no picture. */
START_TEST(cams_that_cannot_be)
{
    static const double odd[][2] = {{0, -10}, {0, 800}, {-1000, 200}, {1000, 200}};
    set_cams(1);
    write_page();
    size_t drawn = count("<rect class=\"cam"), marks = count("<rect");
    ck_assert_uint_gt(marks + drawn, 0);
    for (size_t i = 0; i < sizeof odd / sizeof *odd; i++) {
        row[0].fig.centre = odd[i][0];
        row[0].fig.duration = odd[i][1];
        ck_assert_int_eq(vb_out_open(path, &out, NULL), VB_OK);
        write_page();
        ck_assert_uint_lt(count("<rect"), marks);
    }
    row[0].against = VB_AGAINST_MARK;
    ck_assert_int_eq(vb_out_open(path, &out, NULL), VB_OK);
    write_page();
    ck_assert_uint_eq(count("Cams over two turns"), 0);
}
END_TEST

/* What is read out of the drawing has an end; what stands below has not. */
START_TEST(many_cams)
{
    set_cams(CAMS - 1);
    write_page();
    ck_assert_uint_eq(count("<li>Cam C"), CAMS - 1);
    const char *p = strstr(page, "Cams over two turns"),
               *desc = p ? strstr(p, "<desc") : NULL;
    ck_assert_ptr_nonnull(desc);
    desc = strchr(desc, '>') + 1;
    size_t n = (size_t)(strchr(desc, '<') - desc);
    ck_assert_uint_gt(n, 800);
    ck_assert_uint_lt(n, 1100);
}
END_TEST

/* --- the fleet as a table ----------------------------------------------------------- */

START_TEST(drift_of_what_was_not_read)
{
    fleet.unit[0].meter_unit[0] = 0;
    fleet.lives.life[0].wear.n = 0;
    fleet.lives.n = 1;
    ck_assert_int_eq(vb_report_drift(&fleet, 0, VB_FORMAT_CSV, out), VB_OK);
    read_page();
    ck_assert_uint_eq(count("\nHC-1,many,1E1,"), 1);
    ck_assert_uint_eq(count("1000 "), 0);
}
END_TEST

/* The fastest of a family first; as fast as each other, as they are. */
START_TEST(drift_in_order)
{
    for (int i = 0; i < 3; i++)
        lash[3 + i].found = lash[i].found; // 1E2 as 1E1
    engine.n_lash = 9;                     // and 2E1, faster
    again();
    ck_assert_int_eq(vb_report_drift(&fleet, 0, VB_FORMAT_TABLE, out), VB_OK);
    read_page();
    const char *a = strstr(page, " 2E1 "), *b = strstr(page, " 1E1 "),
               *c = strstr(page, " 1E2 ");
    ck_assert(a && b && c && a < b && b < c);
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
    tcase_add_test(c, no_pace);
    tcase_add_test(c, no_meter);
    tcase_add_test(c, no_unit);
    tcase_add_test(c, what_is_not_in_use);
    tcase_add_test(c, valves_alike_stay_in_order);
    tcase_add_test(c, too_close);
    tcase_add_test(c, some_state_their_u);
    tcase_add_test(c, read_once);
    tcase_add_test(c, events);
    tcase_add_test(c, parts_replaced);
    tcase_add_test(c, cams_in_words);
    tcase_add_test(c, cams_against);
    tcase_add_test(c, cams_that_cannot_be);
    tcase_add_test(c, many_cams);
    tcase_add_test(c, drift_of_what_was_not_read);
    tcase_add_test(c, drift_in_order);
    suite_add_tcase(s, c);
    return run_suite(s);
}
