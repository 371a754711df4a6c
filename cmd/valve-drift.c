/* valve-drift: how every valve moves, and how well that is known. */
#include <getopt.h>
#include <stddef.h>
#include <stdlib.h>

#include "valvebook/book.h"
#include "valvebook/date.h"
#include "valvebook/report.h"
#include "valvebook/start.h"
#include "valvebook/tool.h"

struct wish {
    const char *as_of;
    struct vb_scope scope;
    enum vb_format format;
    int all;
};

static const struct option options[] = {{"all", no_argument, NULL, 'A'},
                                        {"as-of", required_argument, NULL, 'a'},
                                        {"engine", required_argument, NULL, 'e'},
                                        {"family", required_argument, NULL, 'f'},
                                        {"format", required_argument, NULL, 'F'},
                                        {"help", no_argument, NULL, 'h'},
                                        {"site", required_argument, NULL, 's'},
                                        {"version", no_argument, NULL, 'V'},
                                        {NULL, 0, NULL, 0}};

/* In a table the fastest come first, so that all must be known. */
static enum vb_err
whole(struct vb_book *b, const struct wish *w, struct vb_msg *m)
{
    struct vb_fleet fleet = {0};
    struct vb_out *out = NULL;
    enum vb_err e = vb_book_fleet(b, &w->scope, w->as_of, &fleet, m);
    if (!e)
        e = vb_out_open("-", &out, m);
    if (!e)
        e = vb_report_drift(&fleet, w->all, w->format, out);
    enum vb_err closed = vb_out_close(out, m);
    vb_fleet_clear(&fleet);
    return e ? e : closed;
}

static enum vb_err
rows(struct vb_blocks *blocks, const struct wish *w, struct vb_out *out)
{
    struct vb_block *block = NULL;
    struct vb_table *t = NULL;
    enum vb_err e = vb_drift_begin(w->format, out, &t);
    while (!e && !(e = vb_blocks_next(blocks, &block)) && block)
        vb_drift_rows(t, &block->fleet, block->state, w->all);
    enum vb_err ended = t ? vb_drift_end(t) : VB_OK;
    return e ? e : ended;
}

static enum vb_err
by_blocks(struct vb_book *b, const struct wish *w, struct vb_msg *m)
{
    struct vb_blocks *blocks = NULL;
    struct vb_out *out = NULL;
    enum vb_err e = vb_blocks_open(b, &w->scope, w->as_of, &blocks, m);
    if (!e)
        e = vb_out_later(getenv("TMPDIR"), &out);
    if (!e)
        e = rows(blocks, w, out);
    vb_blocks_close(blocks);
    if (!e)
        return vb_out_close(out, m);
    vb_out_drop(out);
    return e;
}

static void
run(struct vb_tool *tool, const char *path, const struct wish *w)
{
    struct vb_msg m = {0};
    struct vb_book *b = NULL;
    enum vb_err e = vb_book_open(path, VB_BOOK_READ, &b, &m);
    if (!e)
        e = vb_format_auto(w->format) == VB_FORMAT_TABLE ? whole(b, w, &m)
                                                         : by_blocks(b, w, &m);
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
        .name = "valve-drift",
        .about = "how every valve moves, and how well that is known",
        .usage = "valve-drift [--all] [--as-of date] [--engine name] "
                 "[--family name]\n"
                 "                   [--format csv|json|table] [--site name] book"};
    char today[VB_DATE_MAX];
    struct wish w = {.format = VB_FORMAT_AUTO};
    int c;
    opterr = 0;
    while ((c = getopt_long(argc, argv, "Aa:e:f:F:hs:V", options, NULL)) != -1) {
        switch (c) {
        case 'A': w.all = 1; break;
        case 'a': w.as_of = optarg; break;
        case 'e': w.scope.engine = optarg; break;
        case 'f': w.scope.family = optarg; break;
        case 'F':
            if (!vb_format_parse(optarg, &w.format))
                return vb_tool_wrong(&tool, "csv, json or table, not", optarg);
            break;
        case 'h': return vb_tool_help(&tool);
        case 's': w.scope.site = optarg; break;
        case 'V': return vb_tool_version(&tool);
        default: return vb_tool_option(&tool, argv[optind - 1], optopt);
        }
    }
    if (optind + 1 != argc)
        return vb_tool_wrong(&tool, "one book is needed", NULL);
    if (!vb_tool_as_of(&tool, &w.as_of, today))
        return tool.status;
    run(&tool, argv[optind], &w);
    return tool.status;
}
