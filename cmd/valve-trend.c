/* valve-trend: what every valve did and will do, as a table or a page with charts. */
#include <getopt.h>
#include <math.h>
#include <stddef.h>
#include <string.h>

#include "valvebook/book.h"
#include "valvebook/book_life.h"
#include "valvebook/date.h"
#include "valvebook/due.h"
#include "valvebook/start.h"
#include "valvebook/tool.h"
#include "valvebook/trend_report.h"

#define ATTENTION_DAYS 90 // what needs attention where nobody says

struct wish {
    const char *as_of;
    struct vb_scope scope;
    struct vb_trend_wish trend;
};

static const struct option options[] = {{"as-of", required_argument, NULL, 'a'},
                                        {"engine", required_argument, NULL, 'e'},
                                        {"family", required_argument, NULL, 'f'},
                                        {"format", required_argument, NULL, 'F'},
                                        {"help", no_argument, NULL, 'h'},
                                        {"site", required_argument, NULL, 's'},
                                        {"version", no_argument, NULL, 'V'},
                                        {"within", required_argument, NULL, 'w'},
                                        {NULL, 0, NULL, 0}};

static enum vb_err
show(struct vb_book *b, const struct wish *w, const struct vb_fleet *fleet,
     struct vb_out *out, struct vb_msg *m)
{
    struct vb_trend_report *trend = NULL;
    enum vb_err e = vb_trend_report_new(fleet, &w->trend, out, &trend);
    if (!e) {
        size_t n;
        const size_t *unit = vb_trend_report_units(trend, &n);
        e = vb_book_engines(b, fleet, unit, n, w->as_of, vb_trend_report_take, trend, m);
    }
    if (!e)
        e = vb_trend_report_end(trend);
    vb_trend_report_free(trend);
    if (e == VB_ECONFLICT)
        vb_msg_set(m, "the book was changed while it was read: run this again");
    return e;
}

static enum vb_err
report(struct vb_book *b, const struct wish *w, struct vb_msg *m)
{
    struct vb_fleet fleet = {0};
    struct vb_cam_list cams = {0};
    const struct vb_cam_wish by_cam = {0};
    const struct vb_lives_wish seats = {
        .scope = w->scope, .as_of = w->as_of, .part = "seat", .replaced_only = 1};
    struct vb_family_lives lives = {0};
    struct vb_out *out = NULL;
    struct wish with = *w;
    with.trend.within.cams = &cams;
    enum vb_err e = vb_book_fleet(b, &w->scope, w->as_of, &fleet, m);
    if (!e)
        e = vb_book_cams(b, &w->scope, w->as_of, &by_cam, &cams, m);
    if (!e && w->trend.html && !w->scope.engine)
        e = vb_book_family_lives(b, &fleet, &seats, &lives, m);
    with.trend.lives = lives.life;
    with.trend.n_lives = lives.n;
    if (!e)
        e = vb_out_open("-", &out, m);
    if (!e)
        e = show(b, &with, &fleet, out, m);
    enum vb_err closed = vb_out_close(out, m);
    vb_family_lives_clear(&lives);
    vb_cam_list_clear(&cams);
    vb_fleet_clear(&fleet);
    return e ? e : closed;
}

static void
run(struct vb_tool *tool, const char *path, const struct wish *w)
{
    struct vb_msg m = {0};
    struct vb_book *b = NULL;
    enum vb_err e = vb_book_open(path, VB_BOOK_READ, &b, &m);
    if (!e)
        e = report(b, w, &m);
    if (e)
        vb_tool_fail(tool, e, &m);
    if (vb_book_close(b, &m))
        vb_tool_fail(tool, VB_EDB, &m);
}

int
main(int argc, char **argv)
{
    vb_start();
    struct vb_tool tool = {
        .name = "valve-trend",
        .about = "what every valve did and will do, as a table or a page with charts",
        .usage = "valve-trend [--as-of date] [--engine name] "
                 "[--family name]\n"
                 "                   [--format html|table] [--site name] "
                 "[--within span] book"};
    char today[VB_DATE_MAX];
    struct wish w = {.trend.within = {NAN, NAN, NAN, NAN, 0, 0.95, NULL}};
    struct vb_due_wish *within = &w.trend.within;
    int c;
    opterr = 0;
    while ((c = getopt_long(argc, argv, "a:e:f:F:hs:Vw:", options, NULL)) != -1) {
        switch (c) {
        case 'a': w.as_of = optarg; break;
        case 'e': w.scope.engine = optarg; break;
        case 'f': w.scope.family = optarg; break;
        case 'F':
            w.trend.html = strcmp(optarg, "html") == 0;
            if (!w.trend.html && strcmp(optarg, "table") != 0)
                return vb_tool_wrong(&tool, "html or table, not", optarg);
            break;
        case 'h': return vb_tool_help(&tool);
        case 's': w.scope.site = optarg; break;
        case 'V': return vb_tool_version(&tool);
        case 'w':
            if (!vb_due_span(optarg, within))
                return vb_tool_wrong(&tool, "a span is like 30d, 6wk, 50h or 5000km, not",
                                     optarg);
            break;
        default: return vb_tool_option(&tool, argv[optind - 1], optopt);
        }
    }
    if (optind + 1 != argc)
        return vb_tool_wrong(&tool, "one book is needed", NULL);
    if (!vb_tool_as_of(&tool, &w.as_of, today) || vb_date_days(w.as_of, &within->as_of))
        return tool.status;
    if (!vb_due_within(within))
        within->within_days = ATTENTION_DAYS;
    w.trend.book = argv[optind];
    w.trend.as_of = w.as_of;
    w.trend.all = w.scope.engine != NULL;
    run(&tool, argv[optind], &w);
    return tool.status;
}
