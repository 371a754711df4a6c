/* valve-timing: where the cams stand, what has moved, and what explains it. */
#include <getopt.h>
#include <stddef.h>

#include "valvebook/book.h"
#include "valvebook/date.h"
#include "valvebook/start.h"
#include "valvebook/timing_report.h"
#include "valvebook/tool.h"

struct wish {
    const char *as_of;
    struct vb_scope scope;
    enum vb_format format;
    struct vb_cam_wish cams;
};

static const struct option options[] = {
    {"all", no_argument, NULL, 'A'},          {"as-of", required_argument, NULL, 'a'},
    {"each-valve", no_argument, NULL, 'v'},   {"engine", required_argument, NULL, 'e'},
    {"family", required_argument, NULL, 'f'}, {"format", required_argument, NULL, 'F'},
    {"help", no_argument, NULL, 'h'},         {"site", required_argument, NULL, 's'},
    {"version", no_argument, NULL, 'V'},      {NULL, 0, NULL, 0}};

static enum vb_err
report(struct vb_tool *tool, struct vb_book *b, const struct wish *w, const char *path,
       struct vb_msg *m)
{
    struct vb_cam_list list = {0};
    struct vb_out *out = NULL;
    enum vb_err e = vb_book_cams(b, &w->scope, w->as_of, &w->cams, &list, m);
    for (size_t i = 0; !e && i < list.n_refused; i++) {
        vb_msg_at(&list.refused[i], path, 0, NULL);
        vb_tool_tell(tool, &list.refused[i]);
        vb_tool_raise(tool, VB_EXIT_SOME);
    }
    if (!e)
        e = vb_out_open("-", &out, m);
    if (!e)
        e = vb_report_timing(&list, w->format, out);
    enum vb_err closed = vb_out_close(out, m);
    vb_cam_list_clear(&list);
    return e ? e : closed;
}

static void
run(struct vb_tool *tool, const char *path, const struct wish *w)
{
    struct vb_msg m = {0};
    struct vb_book *b = NULL;
    enum vb_err e = vb_book_open(path, VB_BOOK_READ, &b, &m);
    if (!e)
        e = report(tool, b, w, path, &m);
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
        .name = "valve-timing",
        .about = "where the cams stand, what has moved, and what explains it",
        .usage = "valve-timing [--all] [--as-of date] [--each-valve] [--engine name]\n"
                 "                    [--family name] [--format csv|json|table]\n"
                 "                    [--site name] book"};
    char today[VB_DATE_MAX];
    struct wish w = {.format = VB_FORMAT_AUTO};
    int c;
    opterr = 0;
    while ((c = getopt_long(argc, argv, "Aa:ve:f:F:hs:V", options, NULL)) != -1) {
        switch (c) {
        case 'A': w.cams.all = 1; break;
        case 'a': w.as_of = optarg; break;
        case 'v': w.cams.each_valve = 1; break;
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
