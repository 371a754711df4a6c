/* valve-set: tonight's setting sheet of one engine: order, screw turns, shims. */
#include <getopt.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/book.h"
#include "valvebook/date.h"
#include "valvebook/length.h"
#include "valvebook/sheet.h"
#include "valvebook/start.h"
#include "valvebook/stock.h"
#include "valvebook/tool.h"

struct wish {
    const char *engine, *shims;
    enum vb_format format;
    enum vb_length length;
    int html, recipe;
    struct vb_sheet_wish sheet;
};

static const struct option options[] = {
    {"all", no_argument, NULL, 'A'},          {"as-of", required_argument, NULL, 'a'},
    {"engine", required_argument, NULL, 'e'}, {"format", required_argument, NULL, 'F'},
    {"help", no_argument, NULL, 'h'},         {"length", required_argument, NULL, 'l'},
    {"order", required_argument, NULL, 'o'},  {"plan", no_argument, NULL, 'p'},
    {"recipe", no_argument, NULL, 'r'},       {"shims", required_argument, NULL, 's'},
    {"version", no_argument, NULL, 'V'},      {NULL, 0, NULL, 0}};

static enum vb_err
print(const struct vb_sheet *s, const struct wish *w, struct vb_msg *m)
{
    struct vb_out *out = NULL;
    enum vb_err e = vb_out_open("-", &out, m);
    if (!e && w->recipe)
        vb_out_text(out, vb_sheet_recipe);
    else if (!e && w->html)
        vb_report_sheet_html(s, w->length, out);
    else if (!e)
        e = vb_report_sheet(s, w->length, w->format, out);
    enum vb_err closed = vb_out_close(out, m);
    return e ? e : closed;
}

static enum vb_err
report(struct vb_book *b, const struct wish *w, struct vb_msg *m)
{
    struct vb_fleet fleet = {0};
    struct vb_set_readings r = {0};
    struct vb_sheet s = {0};
    enum vb_err e = vb_book_setting(b, w->engine, w->sheet.date, &fleet, &r, m);
    if (!e)
        e = vb_sheet_make(&fleet, &r, &w->sheet, &s, m);
    if (!e)
        e = print(&s, w, m);
    vb_sheet_clear(&s);
    free(r.r);
    vb_fleet_clear(&fleet);
    return e;
}

static void
run(struct vb_tool *tool, const char *path, struct wish *w)
{
    struct vb_msg m = {0};
    struct vb_book *b = NULL;
    struct vb_stock stock = {0};
    enum vb_err e = vb_book_open(path, VB_BOOK_READ, &b, &m);
    if (!e && w->shims)
        e = vb_stock_read(w->shims, vb_tool_tell, tool, &stock, &m);
    w->sheet.stock = stock.shim;
    w->sheet.n_stock = stock.n;
    if (stock.refused)
        vb_tool_raise(tool, VB_EXIT_SOME);
    if (!e)
        e = report(b, w, &m);
    if (e)
        vb_tool_fail(tool, e, &m);
    vb_stock_clear(&stock);
    if (vb_book_close(b, &m))
        vb_tool_fail(tool, VB_EDB, &m);
}

static int
parse_format(const char *s, struct wish *w)
{
    w->html = strcmp(s, "html") == 0;
    return w->html || vb_format_parse(s, &w->format);
}

static int
parse_order(const char *s, enum vb_order *out)
{
    static const char *const names[] = {[VB_ORDER_CYLINDERS] = "cylinders",
                                        [VB_ORDER_TWO] = "two",
                                        [VB_ORDER_OPPOSITE] = "opposite"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (strcmp(s, names[i]) == 0) {
            *out = (enum vb_order)i;
            return 1;
        }
    return 0;
}

/* What is wrong with the command line as a whole; NULL if nothing is. */
static const char *
complaint(const struct wish *w, int operands)
{
    if (w->recipe)
        return "--recipe goes with nothing else";
    if (!w->engine)
        return "one engine is needed";
    if (operands != 1)
        return "one book is needed";
    int read = w->html || vb_format_auto(w->format) == VB_FORMAT_TABLE;
    if (w->length != VB_LENGTH_MM && !read)
        return "--length in or thou goes with --format table or html: CSV and JSON are "
               "in mm";
    return NULL;
}

static int
print_recipe(struct vb_tool *tool)
{
    struct vb_msg m = {0};
    const struct wish w = {.recipe = 1};
    enum vb_err e = print(NULL, &w, &m);
    if (e)
        vb_tool_fail(tool, e, &m);
    return tool->status;
}

int
main(int argc, char **argv)
{
    vb_start();
    struct vb_tool tool = {.name = "valve-set",
                           .about = "tonight's setting sheet: order, screw turns, shims",
                           .usage = "valve-set --engine name [--all] [--as-of date]\n"
                                    "                 [--format csv|html|json|table] "
                                    "[--length mm|in|thou]\n"
                                    "                 [--order cylinders|opposite|two] "
                                    "[--plan] [--shims file] book\n"
                                    "       valve-set --recipe"};
    char today[VB_DATE_MAX];
    struct wish w = {.format = VB_FORMAT_AUTO};
    int c;
    opterr = 0;
    while ((c = getopt_long(argc, argv, "Aa:e:F:hl:o:prs:V", options, NULL)) != -1) {
        switch (c) {
        case 'A': w.sheet.all = 1; break;
        case 'a': w.sheet.date = optarg; break;
        case 'e': w.engine = optarg; break;
        case 'F':
            if (!parse_format(optarg, &w))
                return vb_tool_wrong(&tool, "csv, html, json or table, not", optarg);
            break;
        case 'h': return vb_tool_help(&tool);
        case 'l':
            if (!vb_length_parse(optarg, &w.length))
                return vb_tool_wrong(&tool, "mm, in or thou, not", optarg);
            break;
        case 'o':
            if (!parse_order(optarg, &w.sheet.order))
                return vb_tool_wrong(&tool, "cylinders, opposite or two, not", optarg);
            break;
        case 'p': w.sheet.plan = 1; break;
        case 'r': w.recipe = 1; break;
        case 's': w.shims = optarg; break;
        case 'V': return vb_tool_version(&tool);
        default: return vb_tool_option(&tool, argv[optind - 1], optopt);
        }
    }
    if (w.recipe && argc == 2)
        return print_recipe(&tool);
    const char *wrong = complaint(&w, argc - optind);
    if (wrong)
        return vb_tool_wrong(&tool, wrong, NULL);
    if (!vb_tool_as_of(&tool, &w.sheet.date, today) ||
        vb_date_days(w.sheet.date, &w.sheet.as_of))
        return tool.status;
    run(&tool, argv[optind], &w);
    return tool.status;
}
