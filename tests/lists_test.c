/* Lists of what is due, as tables, calendar, metrics and letter, where little is known: no
 * date, no meter, no end of a name, the last day that there is. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "suite.h"
#include "valvebook/date.h"
#include "valvebook/ical.h"
#include "valvebook/letter.h"
#include "valvebook/openmetrics.h"
#include "valvebook/report.h"
#include "valvebook/timing_report.h"

#define AS_OF 20454.0 // 2026-01-01

static char name[2200];
static struct vb_due_unit unit;
static struct vb_due due;
static char reason[] = "closing";
static struct vb_dues dues;
static struct vb_alert_wish wish;
static struct vb_news_item item;
static struct vb_news news;
static struct vb_letter letter;
static struct vb_out *out;
static char *text;

static void
setup(void)
{
    strcpy(name, "K-1");
    unit = (struct vb_due_unit){.name = name,
                                .meter_unit = "h",
                                .read_day = AS_OF,
                                .last_running = 1100,
                                .offset = 1000};
    due = (struct vb_due){.kind = VB_DUE_LASH,
                          .at = {1, 'E', 0},
                          .due_running = 1150,
                          .expected_running = 1180,
                          .due_day = AS_OF + 10,
                          .expected_day = AS_OF + 20,
                          .reason = reason};
    dues = (struct vb_dues){.due = &due, .n = 1, .unit = &unit, .n_units = 1};
    wish = (struct vb_alert_wish){.due = {AS_OF, 30, NAN, NAN, 0, 0.95, NULL, NULL},
                                  .remind = NAN};
    item = (struct vb_news_item){.kind = VB_NEWS_NEW,
                                 .now = {.engine = name,
                                         .kind = "lash",
                                         .at = "1E",
                                         .level = VB_ALERT_SOON,
                                         .first_day = AS_OF,
                                         .gone_day = NAN}};
    news = (struct vb_news){.item = &item, .n = 1, .count = {1}};
    letter = (struct vb_letter){
        .book = "shop.db", .as_of = "2026-01-01", .d = &dues, .news = &news, .w = &wish};
    ck_assert_int_eq(vb_out_memory(&out), VB_OK);
    text = NULL;
}

static void
teardown(void)
{
    vb_out_close(out, NULL);
    free(text);
}

/* What was written since. */
static const char *
written(void)
{
    size_t n;
    free(text);
    ck_assert_int_eq(vb_out_take(out, &text, &n), VB_OK);
    ck_assert_int_eq(vb_out_memory(&out), VB_OK);
    return text;
}

static void
has(const char *what)
{
    ck_assert_msg(strstr(text, what) != NULL, "no %s in: %s", what, text);
}

static void
lacks(const char *what)
{
    ck_assert_msg(strstr(text, what) == NULL, "%s in: %s", what, text);
}

/* --- tables ------------------------------------------------------------------------- */

START_TEST(days_that_are_no_dates)
{
    due.due_day = NAN;
    due.expected_day = 1e9;
    ck_assert_int_eq(vb_report_due(&dues, VB_FORMAT_CSV, out), VB_OK);
    written();
    has("\nK-1,lash,1E,,150,50,h,,180,2026-01-01,closing\n");
}
END_TEST

static const struct {
    size_t units, in_service, lives;
    const char *says;
} none[] = {{0, 0, 0, "there is no engine in this book\n"},
            {2, 0, 1, "no engine here is in service any more\n"},
            {1, 1, 0, "no valve has been read yet\n"},
            {1, 1, 1, "nothing is due\n"}};

START_TEST(nothing_due)
{
    dues.n = 0;
    dues.engines = none[_i].units;
    dues.in_service = none[_i].in_service;
    dues.lives = none[_i].lives;
    ck_assert_int_eq(vb_report_due(&dues, VB_FORMAT_TABLE, out), VB_OK);
    written();
    ck_assert_int_eq(strncmp(text, none[_i].says, strlen(none[_i].says)), 0);
}
END_TEST

/* Rows as suspicious as each other stay in order; a reference is a name, a day or both. A
 * cam stands where it stands once, however many things it is held against. */
START_TEST(rows_of_cams)
{
    struct vb_cam_unit engine = {.name = name};
    struct vb_cam_row row[5];
    const struct vb_cam_list l = {.engine = &engine, .n_engines = 1, .row = row, .n = 5};
    memset(row, 0, sizeof row);
    for (int i = 0; i < 5; i++) {
        row[i].fig.centre = 100 + (i > 1);
        row[i].against = VB_AGAINST_TIMED;
        row[i].number = i > 1;
        strcpy(row[i].at, i > 2 ? "I" : "E");
        strcpy(row[i].hint, i & 1 ? "odd" : "even");
    }
    strcpy(row[0].reference, "B1");
    strcpy(row[0].reference_date, "2025-01-02");
    strcpy(row[1].reference, "B1");
    strcpy(row[2].reference_date, "2025-01-02");
    row[3].has_verdict = 1;
    row[3].verdict.verdict = VB_VERDICT_OUT; // which comes first
    ck_assert_int_eq(vb_report_timing(&l, VB_FORMAT_TABLE, out), VB_OK);
    written();
    const char *moved = strchr(text, '\n') + 1, *stands = strstr(moved, "\n\n") + 2;
    static const char *const want[] = {"K-1 I out odd", "K-1 E B1 2025-01-02 even",
                                       "K-1 E B1 odd", "K-1 E 2025-01-02 even",
                                       "K-1 I even"};
    for (int i = 0; i < 5; i++, moved = strchr(moved, '\n') + 1) {
        char words[32];
        strcpy(words, want[i]);
        const char *at = moved;
        for (char *w = strtok(words, " "); w; w = strtok(NULL, " ")) {
            at = strstr(at, w);
            ck_assert_msg(at && at < strchr(moved, '\n'), "%s in: %s", want[i], moved);
            at += strlen(w);
        }
    }
    int lines = 0; // a heading, E twice, I once, the cautions
    for (const char *p = stands; *p != '\n'; p = strchr(p, '\n') + 1)
        lines++;
    ck_assert_int_eq(lines, 4);
}
END_TEST

/* --- a calendar --------------------------------------------------------------------- */

START_TEST(without_a_forecast)
{
    due.expected_day = due.expected_running = NAN;
    vb_ical_due(&dues, AS_OF, out);
    written();
    has("DTSTART;VALUE=DATE:20260111\r\nDTEND;VALUE=DATE:20260112\r\n");
    has("DESCRIPTION:due 2026-01-11 or at 150 h\\nclosing\\n");
}
END_TEST

START_TEST(by_its_date_alone)
{
    due.due_running = NAN;
    due.expected_day = NAN;
    vb_ical_due(&dues, AS_OF, out);
    written();
    has("DESCRIPTION:due 2026-01-11\\nexpected at 180 h\\nclosing\\n");
}
END_TEST

START_TEST(no_date_no_event)
{
    due.due_day = NAN;
    vb_ical_due(&dues, AS_OF, out);
    written();
    lacks("VEVENT");
    has("SUMMARY:nothing is due\r\n");
    due.due_day = 1e9;
    vb_ical_due(&dues, AS_OF, out);
    written();
    lacks("VEVENT");
}
END_TEST

/* An event of one day needs no end (RFC 5545, 3.6.1), and behind the last day there is none. */
START_TEST(the_last_day)
{
    double last;
    ck_assert_int_eq(vb_date_days("2199-12-31", &last), VB_OK);
    vb_ical_due(&dues, last, out);
    written();
    has("DTSTART;VALUE=DATE:21991231\r\nSUMMARY:K-1 lash 1E due\r\n");
    lacks("DTEND");
}
END_TEST

/* A name may be as long as a cell; 1600 bytes of it are a title still. */
START_TEST(a_title_has_an_end)
{
    memset(name, 'x', sizeof name - 1);
    vb_ical_due(&dues, AS_OF, out);
    const char *p = strstr(written(), "SUMMARY:");
    ck_assert_ptr_nonnull(p);
    int n = 0;
    for (p += strlen("SUMMARY:"); strncmp(p, "DESCRIPTION", 11) != 0; p++)
        n += *p == 'x';
    ck_assert_int_ge(n, 1500);
    ck_assert_int_lt(n, 1600);
}
END_TEST

/* --- metrics ------------------------------------------------------------------------ */

/* A byte that is no UTF-8 becomes U+FFFD, the others stay. */
START_TEST(labels)
{
    strcpy(name, "K\xff\"\\\n\xc3\xa4");
    vb_openmetrics_due(&dues, AS_OF, out);
    written();
    has("engine=\"K\xef\xbf\xbd\\\"\\\\\\n\xc3\xa4\"");
}
END_TEST

/* --- a letter ----------------------------------------------------------------------- */

static const struct {
    const char *book, *file;
} books[] = {{"shop.db", "shop-due-2026-01-01.csv"},
             {"/a/b.c/shop", "shop-due-2026-01-01.csv"},
             {"/a/.shop", ".shop-due-2026-01-01.csv"},
             {"a/shop.v2.db", "shop.v2-due-2026-01-01.csv"},
             {"shop/", "shop/-due-2026-01-01.csv"}};

START_TEST(names_of_books)
{
    letter.book = books[_i].book;
    vb_letter_file(&letter, out);
    ck_assert_str_eq(written(), books[_i].file);
    letter.as_of = "2026-01-01T12:00"; // the day of it
    vb_letter_file(&letter, out);
    ck_assert_str_eq(written(), books[_i].file);
}
END_TEST

static const char *
letter_text(void)
{
    vb_letter_text(&letter, out);
    return written();
}

START_TEST(when_it_is_due)
{
    letter_text();
    has("  due 2026-01-11 or at 150 h, 50 h left\n        closing\n");
    due.due_day = 1e9;
    letter_text();
    has("  due at 150 h, 50 h left\n");
    due.due_day = AS_OF + 10;
    due.due_running = NAN;
    letter_text();
    has("  due 2026-01-11\n");
}
END_TEST

/* A figure that no meter shows, of 301 digits, is cut, and what stands behind it left out. */
START_TEST(a_figure_too_long)
{
    due.due_running = 1e300;
    item.now.gone_day = AS_OF - 1;
    letter_text();
    has("  due 2026-01-11 or at 100000000000000005250");
    lacks("better since");
    const char *p = strstr(text, "  due ");
    ck_assert_uint_eq(strcspn(p, "\n"), 2 + 199);
}
END_TEST

/* What is remembered and has no line any more has no due date either. */
START_TEST(what_is_no_longer_listed)
{
    item.kind = VB_NEWS_STILL;
    item.due = VB_NEWS_NO_DUE;
    item.now.gone_day = AS_OF - 1;
    news.count[VB_NEWS_NEW] = 0;
    news.count[VB_NEWS_STILL] = 1;
    letter_text();
    has("  better since 2025-12-31; said first 2026-01-01\n");
    lacks("closing");
    item.due = 0; // it is there, and farther away
    letter_text();
    has("50 h left; better since 2025-12-31; said first 2026-01-01\n");
    item.due = VB_NEWS_NO_DUE;
    item.now.gone_day = NAN;
    letter_text();
    has("  said first 2026-01-01\n");
}
END_TEST

START_TEST(worse)
{
    item.kind = VB_NEWS_WORSE;
    item.was = VB_ALERT_SOON;
    item.now.level = VB_ALERT_DUE;
    news.count[VB_NEWS_NEW] = 0;
    news.count[VB_NEWS_WORSE] = 1;
    letter_text();
    has("50 h left; was soon; said first 2026-01-01\n");
    news.quiet = 2;          // others
    item.was = VB_ALERT_DUE; // earlier than was said, at the same level
    letter_text();
    has("shop as of 2026-01-01: 1 worse; 2 acknowledged, not listed\n");
    has("50 h left; said first 2026-01-01\n");
}
END_TEST

/* What is not written out is counted, and where the list ends too soon it says so. */
START_TEST(more_than_is_written)
{
    news.count[VB_NEWS_NEW] = 38;
    letter_text();
    has("\n  and 37 more: valve-alert --list BOOK\n");
    lacks("Attached");
    letter.sheet = VB_DIGEST_SHEET;
    letter_text();
    lacks("Attached");
    letter.sheet++;
    letter_text();
    has("\nAttached are the 5000 most urgent of 5001 lines; all: valve-due BOOK\n");
    vb_letter_html(&letter, out);
    written();
    has("<p>Attached are the 5000 most urgent of 5001 lines; all: valve-due BOOK</p>\n");
    has("<p>and 37 more: valve-alert --list BOOK</p>\n");
    news.count[VB_NEWS_NEW] = 1;
    letter_text();
    lacks(" more: ");
}
END_TEST

START_TEST(what_can_never_be_due)
{
    struct vb_doubt d[] = {{"six", "no limits & no end"}, {"two", "no meter"}};
    const struct vb_doubts doubts = {d, 2, 2}, no_doubts = {d, 0, 2};
    letter.doubts = &no_doubts;
    letter_text();
    lacks("missing");
    vb_letter_html(&letter, out);
    written();
    lacks("missing");
    letter.doubts = &doubts;
    letter_text();
    has("\n\nWhat may be missing\nfamily six: no limits & no end\nfamily two: no "
        "meter\n\n");
    vb_letter_html(&letter, out);
    written();
    has("<h2>What may be missing</h2>\n<ul>\n<li>family six: no limits &amp; no "
        "end</li>\n"
        "<li>family two: no meter</li>\n</ul>\n");
}
END_TEST

START_TEST(horizons)
{
    letter_text();
    has("within 30 days.");
    wish.due.within_days = NAN;
    wish.due.within_h = 50;
    letter_text();
    has("within 50 h.");
    wish.due.within_days = 7;
    letter_text();
    has("within 7 days or 50 h.");
    wish.due.within_km = 5000;
    letter_text();
    has("within 7 days or 50 h or 5000\nkm.");
}
END_TEST

/* A title is cut where it gets too long for anybody. */
START_TEST(a_long_title)
{
    static char book[400];
    memset(book, 'b', sizeof book - 1);
    letter.book = book;
    vb_letter_html(&letter, out);
    const char *p = strstr(written(), "<title>");
    ck_assert_ptr_nonnull(p);
    ck_assert_uint_eq(strspn(p + strlen("<title>"), "b"), 256);
    has("b as of 2026-01-01</title>");
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("lists");
    TCase *t = tcase_create("lists");
    tcase_add_checked_fixture(t, setup, teardown);
    tcase_add_test(t, days_that_are_no_dates);
    tcase_add_loop_test(t, nothing_due, 0, sizeof none / sizeof *none);
    tcase_add_test(t, rows_of_cams);
    tcase_add_test(t, without_a_forecast);
    tcase_add_test(t, by_its_date_alone);
    tcase_add_test(t, no_date_no_event);
    tcase_add_test(t, the_last_day);
    tcase_add_test(t, a_title_has_an_end);
    tcase_add_test(t, labels);
    tcase_add_loop_test(t, names_of_books, 0, sizeof books / sizeof *books);
    tcase_add_test(t, when_it_is_due);
    tcase_add_test(t, a_figure_too_long);
    tcase_add_test(t, what_is_no_longer_listed);
    tcase_add_test(t, worse);
    tcase_add_test(t, more_than_is_written);
    tcase_add_test(t, what_can_never_be_due);
    tcase_add_test(t, horizons);
    tcase_add_test(t, a_long_title);
    suite_add_tcase(s, t);
    return run_suite(s);
}
