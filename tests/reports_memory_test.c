/* Memory runs out at one place of a report or a reader: it says VB_EMEM and nothing else
 * happens, or it comes out as if there had been enough. Places are told apart by their
 * callers, and each is the one that fails once. The linker puts __wrap_malloc and its like
 * where lib/ calls malloc (--wrap), so what other libraries ask for is not counted. */
#define _GNU_SOURCE
#include <errno.h>
#include <execinfo.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <check.h>

#include "suite.h"
#include "valvebook/alerts.h"
#include "valvebook/book.h"
#include "valvebook/book_life.h"
#include "valvebook/csv.h"
#include "valvebook/date.h"
#include "valvebook/gauge_report.h"
#include "valvebook/letter.h"
#include "valvebook/life_report.h"
#include "valvebook/lock.h"
#include "valvebook/news.h"
#include "valvebook/report.h"
#include "valvebook/sheet.h"
#include "valvebook/stock.h"
#include "valvebook/tidy.h"
#include "valvebook/timing_report.h"
#include "valvebook/trend_report.h"

#define AS_OF  "2026-11-01"
#define PLACES 4096
#define FRAMES 24

static struct {
    int on;
    uint64_t seen[PLACES];
    size_t n, nth; // places so far; the one that fails, 0: none
} ask;

/* Is this call made from the place that fails? */
static int
fails(void)
{
    void *frame[FRAMES];
    uint64_t h = 0xcbf29ce484222325;
    size_t i = 0;
    if (!ask.on)
        return 0;
    ask.on = 0;
    int n = backtrace(frame, FRAMES);
    ask.on = 1;
    for (int k = 0; k < n; k++)
        h = (h ^ (uintptr_t)frame[k]) * 0x100000001b3;
    while (i < ask.n && ask.seen[i] != h)
        i++;
    if (i == ask.n && ask.n < PLACES)
        ask.seen[ask.n++] = h;
    if (i + 1 == ask.nth)
        errno = ENOMEM;
    return i + 1 == ask.nth;
}

void *__real_malloc(size_t n);
void *__real_calloc(size_t n, size_t size);
void *__real_realloc(void *p, size_t n);
char *__real_strdup(const char *s);
void *__wrap_malloc(size_t n);
void *__wrap_calloc(size_t n, size_t size);
void *__wrap_realloc(void *p, size_t n);
char *__wrap_strdup(const char *s);

void *
__wrap_malloc(size_t n)
{
    return fails() ? NULL : __real_malloc(n);
}

void *
__wrap_calloc(size_t n, size_t size)
{
    return fails() ? NULL : __real_calloc(n, size);
}

void *
__wrap_realloc(void *p, size_t n)
{
    return fails() ? NULL : __real_realloc(p, n);
}

char *
__wrap_strdup(const char *s)
{
    return fails() ? NULL : __real_strdup(s);
}

/* What the demo's shop knows on a day. */
static char dir[64], top[512];
static struct vb_book *book;
static struct vb_fleet fleet, one;
static struct vb_cam_list cams, movements;
static struct vb_dues dues;
static struct vb_alerts alerts;
static struct vb_news news;
static struct vb_family_lives lives;
static struct vb_set_readings setting;
static struct vb_alert_wish wish = {
    .due = {.within_days = NAN, .within_h = NAN, .within_km = NAN, .confidence = 0.95},
    .remind = NAN,
};

static const char make[] =
    "set -e; top=$PWD; B=$(cd %s && pwd); cd %s; \"$B/fixtures/demo-data\" .\n"
    "tidy() { \"$B/bin/valve-tidy\" --recipe \"$top/fixtures/demo/recipes/$1.csv\" $3 "
    "$2 2>no || test $? = 1; }\n"
    "tidy team-hc1 team-hc1.csv >1.csv; tidy team-hc2 team-hc2.txt >2.csv\n"
    "tidy depot-a depot-a.csv >3.csv; tidy depot-b depot-b.csv >4.csv\n"
    "tidy wheel-hc2 wheel-hc2.csv >5.csv; gzip -n depot-b.csv\n"
    "for i in depot-a depot-b team-hc2; do cp \"$top/fixtures/demo/recipes/$i.csv\" "
    "$i.r; done\n"
    "tidy shim-map shim-map-hc1.csv '--set date=2026-10-19 --set meter=278.2' >6.csv\n"
    "\"$B/bin/valve-book\" --as-of " AS_OF " s.db families.csv engines.csv events.csv "
    "gauges.csv lobes.csv plan.csv [1-6].csv\n"
    "{ echo gauge,part,by,trial,value,unit; sed '1d; s/\"//g; s/^/dti-1,/; s/$/,mm/' "
    "\"$top/fixtures/reference/aiag_grr.csv\"; echo dti-2,1,A,1,0.3,mm; "
    "echo dti-2,2,A,1,-0.5,mm; echo fan,3,A,1,0.25-0.30,mm; } >trials.csv\n";

static void
learn(void)
{
    const struct vb_cam_wish now = {0}, all = {.all = 1};
    const struct vb_lives_wish parts = {.as_of = AS_OF, .part = "seat", .risk = 0.1};
    ck_assert_int_eq(vb_date_days(AS_OF, &wish.due.as_of), VB_OK);
    ck_assert_int_eq(vb_book_fleet(book, NULL, AS_OF, &fleet, NULL), VB_OK);
    ck_assert_int_eq(vb_book_cams(book, NULL, AS_OF, &now, &cams, NULL), VB_OK);
    ck_assert_int_eq(vb_book_cams(book, NULL, AS_OF, &all, &movements, NULL), VB_OK);
    wish.due.cams = &cams;
    ck_assert_int_eq(vb_due_list(&fleet, &wish.due, &dues), VB_OK);
    ck_assert_int_eq(vb_alerts_read(book, NULL, &alerts, NULL), VB_OK);
    ck_assert_uint_eq(alerts.n, 0); // so that none has a fate
    ck_assert_int_eq(vb_alert_news(&dues, &alerts, NULL, &wish, &news), VB_OK);
    ck_assert_int_eq(vb_book_family_lives(book, &fleet, &parts, &lives, NULL), VB_OK);
    ck_assert_int_eq(vb_book_setting(book, "HC-1", AS_OF, &one, &setting, NULL), VB_OK);
}

static void
setup(void)
{
    char command[2048];
    strcpy(dir, "/tmp/valvebook-memory-test.XXXXXX");
    ck_assert_ptr_nonnull(mkdtemp(dir));
    snprintf(command, sizeof command, make, top, dir);
    ck_assert_int_eq(system(command), 0);
    ck_assert_int_eq(chdir(dir), 0);
    ck_assert_int_eq(vb_book_open("s.db", VB_BOOK_READ, &book, NULL), VB_OK);
    learn();
}

static void
teardown(void)
{
    char command[128];
    vb_news_clear(&news);
    vb_alerts_clear(&alerts);
    vb_dues_clear(&dues);
    free(setting.r);
    vb_family_lives_clear(&lives);
    vb_cam_list_clear(&cams);
    vb_cam_list_clear(&movements);
    vb_fleet_clear(&one);
    vb_fleet_clear(&fleet);
    ck_assert_int_eq(vb_book_close(book, NULL), VB_OK);
    snprintf(command, sizeof command, "rm -rf %s", dir);
    ck_assert_int_eq(system(command), 0);
}

typedef enum vb_err job(struct vb_out *o, struct vb_msg *m);

/* What it says, and what it writes into *s where it says VB_OK. */
static enum vb_err
run(job *f, size_t nth, char **s, struct vb_msg *m)
{
    struct vb_out *o;
    size_t n;
    *s = NULL;
    vb_msg_clear(m);
    ask.n = 0;
    ask.nth = nth;
    ask.on = 1;
    enum vb_err e = vb_out_memory(&o);
    if (!e && (e = f(o, m)))
        vb_out_close(o, NULL);
    else if (!e)
        e = vb_out_take(o, s, &n);
    ask.on = 0;
    return e;
}

static void
walk(job *f, const char *name)
{
    struct vb_msg m;
    char *want, *got;
    size_t stopped = 0, all;
    ck_assert_int_eq(run(f, 0, &want, &m), VB_OK);
    ck_assert_uint_gt(strlen(want), 0);
    all = ask.n;
    ck_assert_uint_lt(all, PLACES);
    for (size_t i = 1; i <= all; i++) {
        enum vb_err e = run(f, i, &got, &m);
        ck_assert_msg(e == VB_EMEM || (e == VB_OK && strcmp(got, want) == 0),
                      "%s: place %zu: %d %s", name, i, e, m.text);
        stopped += e != VB_OK;
        free(got);
    }
    free(want);
    ck_assert_msg(2 * stopped > all, "%s: %zu of %zu", name, stopped, all);
}

/* A report in each of its formats. */
static enum vb_format format;

static enum vb_err
drift(struct vb_out *o, struct vb_msg *m)
{
    (void)m;
    return vb_report_drift(&fleet, 1, format, o);
}

static enum vb_err
due(struct vb_out *o, struct vb_msg *m)
{
    (void)m;
    return vb_report_due(&dues, format, o);
}

static enum vb_err
stand(struct vb_out *o, struct vb_msg *m)
{
    struct vb_alerts l = {0};
    enum vb_err e = VB_OK;
    (void)m;
    for (size_t i = 0; !e && i < news.n; i++)
        e = vb_alerts_add(&l, &news.item[i].now);
    if (!e)
        e = vb_report_alerts(&l, format, o);
    vb_alerts_clear(&l);
    return e;
}

static enum vb_err
timing(struct vb_out *o, struct vb_msg *m)
{
    (void)m;
    return vb_report_timing(&movements, format, o);
}

static enum vb_err
life(struct vb_out *o, struct vb_msg *m)
{
    enum vb_err e = VB_OK;
    (void)m;
    for (int what = VB_LIFE_SUMMARY; !e && what <= VB_LIFE_INTERVAL; what++)
        e = vb_report_life(lives.life, lives.n, (enum vb_life_what)what, format, o);
    return e;
}

static void
no_tell(void *arg, const struct vb_msg *m)
{
    (void)arg, (void)m;
}

static enum vb_err
sheet(struct vb_out *o, struct vb_msg *m)
{
    struct vb_stock stock = {0};
    struct vb_sheet s = {0};
    struct vb_sheet_wish w = {.date = AS_OF, .as_of = wish.due.as_of, .all = 1};
    enum vb_err e = vb_stock_read("shims.csv", no_tell, NULL, &stock, NULL);
    w.stock = stock.shim;
    w.n_stock = stock.n;
    if (!e)
        e = vb_sheet_make(&one, &setting, &w, &s, m);
    if (!e)
        e = vb_report_sheet(&s, VB_LENGTH_MM, format, o);
    vb_sheet_clear(&s);
    vb_stock_clear(&stock);
    return e;
}

static enum vb_err
gauges(struct vb_out *o, struct vb_msg *m)
{
    char name[] = "trials.csv", *path[] = {name, name};
    struct vb_trials t = {0};
    (void)m;
    struct vb_gauge_said *said = NULL;
    struct vb_gauge_pair *pair = NULL;
    struct vb_gauge_result g = {.trials = &t, .tolerance = 0.3};
    enum vb_err e = vb_trials_read(path, 2, no_tell, NULL, &t, NULL);
    if (!e)
        e = vb_gauge_study(&t, &said);
    if (!e)
        e = vb_gauge_pairs(&t, &pair, &g.n_pairs);
    g.said = said;
    g.pair = pair;
    if (!e)
        e = vb_report_gauges(&g, format, o);
    if (!e)
        e = vb_report_gauge_pairs(&g, format, o);
    if (!e)
        e = vb_report_gauge_rows(&g, o);
    free(pair);
    free(said);
    vb_trials_clear(&t);
    return e;
}

static const struct {
    const char *name;
    job *f;
} tables[] = {{"drift", drift},   {"due", due},   {"alerts", stand},
              {"timing", timing}, {"life", life}, {"setting sheet", sheet},
              {"gauges", gauges}};

START_TEST(a_table_in_each_form)
{
    static const enum vb_format forms[] = {VB_FORMAT_CSV, VB_FORMAT_JSON, VB_FORMAT_TABLE,
                                           VB_FORMAT_SHEET};
    for (size_t i = 0; i < sizeof forms / sizeof *forms; i++) {
        format = forms[i];
        walk(tables[_i].f, tables[_i].name);
    }
}
END_TEST

/* The engine is read out of the book: nothing fails meanwhile. */
static enum vb_err
take(void *trend, size_t unit, const struct vb_engine *engine)
{
    ask.on = 1;
    enum vb_err e = vb_trend_report_take(trend, unit, engine);
    ask.on = 0;
    return e;
}

static enum vb_err
trend(struct vb_out *o, const struct vb_fleet *f, int html)
{
    struct vb_trend_wish w = {.book = "s.db",
                              .as_of = AS_OF,
                              .html = html,
                              .all = f == &one,
                              .within = wish.due,
                              .lives = f == &fleet ? lives.life : NULL,
                              .n_lives = f == &fleet ? lives.n : 0};
    struct vb_trend_report *t = NULL;
    size_t n;
    w.within.within_days = 90;
    enum vb_err e = vb_trend_report_new(f, &w, o, &t);
    if (!e) {
        const size_t *unit = vb_trend_report_units(t, &n);
        ask.on = 0;
        e = vb_book_engines(book, f, unit, n, AS_OF, take, t, NULL);
        ask.on = 1;
    }
    if (!e)
        e = vb_trend_report_end(t);
    vb_trend_report_free(t);
    return e;
}

static enum vb_err
trend_page(struct vb_out *o, struct vb_msg *m)
{
    (void)m;
    return trend(o, &fleet, 1);
}

static enum vb_err
trend_one(struct vb_out *o, struct vb_msg *m)
{
    (void)m;
    return trend(o, &one, 1);
}

static enum vb_err
trend_table(struct vb_out *o, struct vb_msg *m)
{
    (void)m;
    return trend(o, &one, 0);
}

static enum vb_err
mail(struct vb_out *o, struct vb_msg *m)
{
    struct vb_letter l = {
        .book = "s.db", .as_of = AS_OF, .d = &dues, .news = &news, .w = &wish};
    struct vb_mailbox who = {"", "yard@depot.example"};
    struct vb_mail head = {
        .from = &who, .to = &who, .n_to = 1, .date = wish.due.as_of, .eol = "\n"};
    (void)m;
    return vb_letter_mail(&l, &head, 7, o);
}

static enum vb_err
lock(struct vb_out *o, struct vb_msg *m)
{
    struct vb_lock *l = NULL;
    enum vb_err e = vb_lock_take("s.db", ".lock", 0, &l, m);
    vb_lock_drop(l);
    vb_out_text(o, "taken\n");
    return e;
}

static enum vb_err
tidy(struct vb_out *o, const char *recipe, const char *path, struct vb_msg *m)
{
    struct vb_input *in;
    struct vb_recipe *r = NULL;
    struct vb_out *rejects = NULL;
    struct vb_tidy *t = NULL;
    enum vb_err e = vb_input_open(recipe, "", &in, m);
    if (!e)
        e = vb_recipe_read(in, &r, m);
    if (!e)
        e = vb_recipe_set(r, "note", "by lamp", m);
    if (!e && strcmp(recipe, "depot-a.r") == 0)
        e = vb_recipe_set(r, "merged", "engine date", m);
    if (!e)
        e = vb_out_open("rejects.csv", &rejects, m);
    if (!e)
        e = vb_tidy_new(r, o, rejects, no_tell, NULL, &t);
    if (!e)
        e = vb_tidy_file(t, path, m);
    if (!e)
        vb_tidy_end(t);
    vb_tidy_free(t);
    enum vb_err closed = vb_out_close(rejects, NULL);
    vb_recipe_free(r);
    return e ? e : closed;
}

static enum vb_err
depot_a(struct vb_out *o, struct vb_msg *m)
{
    return tidy(o, "depot-a.r", "depot-a.csv", m);
}

static enum vb_err
depot_b(struct vb_out *o, struct vb_msg *m)
{
    return tidy(o, "depot-b.r", "depot-b.csv.gz", m);
}

static enum vb_err
team(struct vb_out *o, struct vb_msg *m)
{
    return tidy(o, "team-hc2.r", "team-hc2.txt", m);
}

static enum vb_err
draft(struct vb_out *o, struct vb_msg *m)
{
    enum vb_err e = vb_draft("depot-a.csv", o, m);
    return e ? e : vb_draft("team-hc2.txt", o, m);
}

/* A record of many cells, and one longer than what is read at a time. */
static enum vb_err
records(struct vb_out *o, struct vb_msg *m)
{
    static char text[400000];
    struct vb_input *in;
    struct vb_csv *csv = NULL;
    struct vb_row row;
    size_t n = 0;
    for (int i = 0; i < 300; i++)
        n += (size_t)sprintf(text + n, "\"%d\",", i);
    for (int i = 0; i < 5; i++) {
        n += (size_t)sprintf(text + n, "%s\"", i ? "," : "\n");
        memset(text + n, 'a' + i, 60000);
        n += 60000;
        text[n++] = '"';
    }
    enum vb_err e = vb_input_memory(text, n, 65536, "", &in, m);
    if (!e)
        e = vb_csv_new(in, ',', &csv);
    while (!e && !(e = vb_csv_next(csv, &row, m)))
        vb_out_bytes(o, row.cell[row.n - 1].s, row.cell[row.n - 1].n);
    vb_out_text(o, "\n");
    vb_csv_free(csv);
    return e == VB_EEND ? VB_OK : e;
}

static const struct {
    const char *name;
    job *f;
} others[] = {
    {"trends, a page", trend_page},
    {"trends of an engine", trend_one},
    {"trends, a table", trend_table},
    {"mail", mail},
    {"lock", lock},
    {"tidy depot-a", depot_a},
    {"tidy depot-b, packed", depot_b},
    {"tidy team-hc2", team},
    {"draft", draft},
    {"records", records},
};

START_TEST(what_is_no_table)
{
    walk(others[_i].f, others[_i].name);
}
END_TEST

int
main(int argc, char **argv)
{
    (void)argc;
    void *frame[4];
    backtrace(frame, 4); // loads what it needs
    snprintf(top, sizeof top, "%s", argv[0]);
    for (int i = 0; i < 2; i++)
        *strrchr(top, '/') = 0;
    Suite *s = suite_create("memory");
    TCase *t = tcase_create("memory");
    tcase_set_timeout(t, 120);
    tcase_add_unchecked_fixture(t, setup, teardown);
    tcase_add_loop_test(t, a_table_in_each_form, 0, sizeof tables / sizeof *tables);
    tcase_add_loop_test(t, what_is_no_table, 0, sizeof others / sizeof *others);
    suite_add_tcase(s, t);
    return run_suite(s);
}
