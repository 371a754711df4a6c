/* valve-due: what must be done, by which meter and date, and why; most urgent first. */
#include <getopt.h>
#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/book.h"
#include "valvebook/date.h"
#include "valvebook/doubt.h"
#include "valvebook/due.h"
#include "valvebook/ical.h"
#include "valvebook/openmetrics.h"
#include "valvebook/report.h"
#include "valvebook/start.h"
#include "valvebook/tool.h"

/* A form that is none of a table's. */
typedef void writer(const struct vb_dues *, double as_of, struct vb_out *);

struct wish {
    const char *as_of;
    struct vb_scope scope;
    enum vb_format format;
    writer *write; // NULL: format
    struct vb_due_wish due;
    int exit_code, today;
};

static const struct option options[] = {{"as-of", required_argument, NULL, 'a'},
                                        {"before-plan", no_argument, NULL, 'b'},
                                        {"engine", required_argument, NULL, 'e'},
                                        {"exit-code", no_argument, NULL, 'x'},
                                        {"family", required_argument, NULL, 'f'},
                                        {"format", required_argument, NULL, 'F'},
                                        {"help", no_argument, NULL, 'h'},
                                        {"site", required_argument, NULL, 's'},
                                        {"version", no_argument, NULL, 'V'},
                                        {"within", required_argument, NULL, 'w'},
                                        {NULL, 0, NULL, 0}};

/* An empty list is no all-clear where nothing could be on it. */
static void
tell_doubts(struct vb_tool *tool, const char *path, const struct vb_doubts *d)
{
    for (size_t i = 0; i < d->n; i++) {
        struct vb_msg m = {0};
        const char *family = d->doubt[i].family;
        char q[64];
        vb_msg_at(&m, path, 0, NULL);
        vb_msg_set(&m, "family '%s': %s", vb_quote(family, strlen(family), q, sizeof q),
                   d->doubt[i].text);
        vb_tool_tell(tool, &m);
    }
}

/* So it is where the clock has lost its time: what was read since is not looked at. */
static enum vb_err
doubt_clock(struct vb_tool *tool, struct vb_book *b, const struct wish *w,
            struct vb_msg *m)
{
    enum vb_err e = w->today ? vb_book_clock(b, w->as_of, m) : VB_OK;
    if (e != VB_ECONFLICT)
        return e;
    vb_tool_tell(tool, m);
    vb_msg_clear(m);
    return VB_OK;
}

/* Everything that is due, and why that may not be all. */
static enum vb_err
find(struct vb_book *b, const struct wish *w, struct vb_dues *dues,
     struct vb_doubts *doubts, struct vb_msg *m)
{
    struct vb_blocks *blocks = NULL;
    struct vb_block *block = NULL;
    struct vb_cam_list cams = {0};
    const struct vb_cam_wish by_cam = {0};
    struct vb_due_wish due = w->due;
    enum vb_err e = vb_blocks_open(b, &w->scope, w->as_of, &blocks, m);
    due.cams = &cams;
    if (!e)
        e = vb_book_cams(b, &w->scope, w->as_of, &by_cam, &cams, m);
    while (!e && !(e = vb_blocks_next(blocks, &block)) && block) {
        vb_fleet_see(&block->fleet);
        e = vb_due_add(&block->fleet, block->state, &due, dues);
    }
    if (!e)
        e = vb_due_sort(dues);
    if (!e)
        e = vb_fleet_doubts(vb_blocks_whole(blocks), doubts);
    vb_blocks_close(blocks);
    vb_cam_list_clear(&cams);
    return e;
}

/* Returns how many lines the list has, through *n. */
static enum vb_err
report(struct vb_tool *tool, struct vb_book *b, const char *path, const struct wish *w,
       size_t *n, struct vb_msg *m)
{
    struct vb_dues dues = {0};
    struct vb_doubts doubts = {0};
    struct vb_out *out = NULL;
    enum vb_err e = find(b, w, &dues, &doubts, m);
    tell_doubts(tool, path, &doubts); // the book has been let go
    free(doubts.doubt);
    if (!e)
        e = vb_out_open("-", &out, m);
    if (!e && w->write)
        w->write(&dues, w->due.as_of, out);
    else if (!e)
        e = vb_report_due(&dues, w->format, out);
    enum vb_err closed = vb_out_close(out, m);
    *n = dues.n;
    vb_dues_clear(&dues);
    return e ? e : closed;
}

static void
run(struct vb_tool *tool, const char *path, const struct wish *w)
{
    struct vb_msg m = {0};
    struct vb_book *b = NULL;
    size_t n = 0;
    enum vb_err e = vb_book_open(path, VB_BOOK_READ, &b, &m);
    if (!e)
        e = doubt_clock(tool, b, w, &m);
    if (!e)
        e = report(tool, b, path, w, &n, &m);
    if (e)
        vb_tool_fail(tool, e, &m);
    else if (w->exit_code && n > 0)
        vb_tool_raise(tool, VB_EXIT_SOME);
    if (vb_book_close(b, &m))
        vb_tool_fail(tool, VB_EDB, &m);
}

static int
format_parse(const char *s, struct wish *w)
{
    w->write = strcmp(s, "ical") == 0          ? vb_ical_due
               : strcmp(s, "openmetrics") == 0 ? vb_openmetrics_due
                                               : NULL;
    return w->write || vb_format_parse(s, &w->format);
}

int
main(int argc, char **argv)
{
    vb_start();
    struct vb_tool tool = {.name = "valve-due",
                           .about = "what must be done, by which meter and date, and why",
                           .usage =
                               "valve-due [--as-of date] [--before-plan] [--engine name] "
                               "[--exit-code]\n"
                               "                 [--family name] "
                               "[--format csv|ical|json|openmetrics|table]\n"
                               "                 [--site name] [--within span] book"};
    char today[VB_DATE_MAX];
    struct wish w = {.format = VB_FORMAT_AUTO,
                     .due = {NAN, NAN, NAN, NAN, 0, 0.95, NULL, NULL}};
    int c;
    opterr = 0;
    while ((c = getopt_long(argc, argv, "a:be:f:F:hs:Vw:x", options, NULL)) != -1) {
        switch (c) {
        case 'a': w.as_of = optarg; break;
        case 'b': w.due.before_plan = 1; break;
        case 'e': w.scope.engine = optarg; break;
        case 'f': w.scope.family = optarg; break;
        case 'F':
            if (!format_parse(optarg, &w))
                return vb_tool_wrong(&tool, "csv, ical, json, openmetrics or table, not",
                                     optarg);
            break;
        case 'h': return vb_tool_help(&tool);
        case 's': w.scope.site = optarg; break;
        case 'V': return vb_tool_version(&tool);
        case 'w':
            if (!vb_due_span(optarg, &w.due))
                return vb_tool_wrong(&tool, "a span is like 30d, 6wk, 50h or 5000km, not",
                                     optarg);
            break;
        case 'x': w.exit_code = 1; break;
        default: return vb_tool_option(&tool, argv[optind - 1], optopt);
        }
    }
    if (optind + 1 != argc)
        return vb_tool_wrong(&tool, "one book is needed", NULL);
    w.today = !w.as_of;
    if (!vb_tool_as_of(&tool, &w.as_of, today) || vb_date_days(w.as_of, &w.due.as_of))
        return tool.status;
    run(&tool, argv[optind], &w);
    return tool.status;
}
