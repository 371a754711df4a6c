/* valve-book: keep tables in a book, or give one back. */
#include <getopt.h>
#include <stddef.h>

#include "valvebook/book.h"
#include "valvebook/book_check.h"
#include "valvebook/date.h"
#include "valvebook/start.h"
#include "valvebook/tool.h"

static const struct option options[] = {
    {"as-of", required_argument, NULL, 'a'},   {"check", no_argument, NULL, 'k'},
    {"correct", no_argument, NULL, 'c'},       {"dump", required_argument, NULL, 'd'},
    {"help", no_argument, NULL, 'h'},          {"no-end", no_argument, NULL, 'n'},
    {"rejects", required_argument, NULL, 'x'}, {"version", no_argument, NULL, 'V'},
    {"withdraw", no_argument, NULL, 'w'},      {NULL, 0, NULL, 0}};

static void
close_out(struct vb_tool *tool, struct vb_out *o)
{
    struct vb_msg m = {0};
    enum vb_err e = vb_out_close(o, &m);
    if (e)
        vb_tool_fail(tool, e, &m);
}

static void
close_book(struct vb_tool *tool, struct vb_book *b)
{
    struct vb_msg m = {0};
    enum vb_err e = vb_book_close(b, &m);
    if (e)
        vb_tool_fail(tool, e, &m);
}

static void
run_dump(struct vb_tool *tool, const char *path, const char *table)
{
    struct vb_msg m = {0};
    struct vb_book *b = NULL;
    struct vb_out *out = NULL;
    enum vb_err e = vb_book_open(path, VB_BOOK_READ, &b, &m);
    if (!e)
        e = vb_out_open("-", &out, &m);
    if (!e)
        e = vb_book_dump(b, table, out, &m);
    if (e)
        vb_tool_fail(tool, e, &m);
    close_out(tool, out);
    close_book(tool, b);
}

/* A zone or a clock may be a day ahead of ours: without --as-of that is let go. */
static const char *
tomorrow(const char *today, char *iso)
{
    double day;
    return vb_date_days(today, &day) || vb_date_iso(day + 1, iso) ? today : iso;
}

static void
run_check(struct vb_tool *tool, const char *path, const char *as_of)
{
    struct vb_msg m = {0};
    struct vb_book *b = NULL;
    struct vb_check check = {.as_of = as_of};
    enum vb_err e = vb_book_open(path, VB_BOOK_CHECK, &b, &m);
    if (!e)
        e = vb_out_open("-", &check.out, &m);
    if (!e)
        e = vb_book_check(b, &check, &m);
    if (e)
        vb_tool_fail(tool, e, &m);
    if (check.found)
        vb_tool_raise(tool, VB_EXIT_SOME);
    close_out(tool, check.out);
    close_book(tool, b);
}

static void
run_load(struct vb_tool *tool, const char *path, struct vb_load *l, const char *rejects,
         int by_clock, char **table, size_t n)
{
    struct vb_msg m = {0};
    struct vb_book *b = NULL;
    enum vb_err e =
        vb_book_open(path, l->withdraw ? VB_BOOK_UPDATE : VB_BOOK_WRITE, &b, &m);
    if (!e && by_clock)
        e = vb_book_clock(b, l->as_of, &m);
    if (!e && rejects && (e = vb_out_apart(rejects, path, table, n, &l->rejects, &m)))
        vb_book_give_up(b);
    if (!e)
        e = vb_book_load(b, l, table, n, &m);
    if (e)
        vb_tool_fail(tool, e, &m);
    if (l->refused)
        vb_tool_raise(tool, VB_EXIT_SOME);
    close_out(tool, l->rejects);
    close_book(tool, b);
}

int
main(int argc, char **argv)
{
    vb_start();
    struct vb_tool tool = {.name = "valve-book",
                           .about = "keep tables of readings in a book, give one back, "
                                    "or look whether the book is whole",
                           .usage = "valve-book [--as-of date] [--correct] [--no-end] "
                                    "[--rejects file] book [table ...]\n"
                                    "       valve-book --check [--as-of date] book\n"
                                    "       valve-book --dump table book\n"
                                    "       valve-book --withdraw [--no-end] "
                                    "[--rejects file] book [table ...]"};
    char today[VB_DATE_MAX], next[VB_DATE_MAX];
    const char *dump = NULL, *rejects = NULL;
    char dash[] = "-", *standard_input[] = {dash};
    struct vb_load l = {.tell = vb_tool_tell, .arg = &tool};
    int c, check = 0, stated;
    opterr = 0;
    while ((c = getopt_long(argc, argv, "a:cd:hknwx:V", options, NULL)) != -1) {
        switch (c) {
        case 'a': l.as_of = optarg; break;
        case 'c': l.correct = 1; break;
        case 'd': dump = optarg; break;
        case 'k': check = 1; break;
        case 'h': return vb_tool_help(&tool);
        case 'n': l.no_end = 1; break;
        case 'w': l.withdraw = 1; break;
        case 'x': rejects = optarg; break;
        case 'V': return vb_tool_version(&tool);
        default: return vb_tool_option(&tool, argv[optind - 1], optopt);
        }
    }
    if (optind >= argc || ((dump || check) && optind + 1 < argc))
        return vb_tool_wrong(&tool, "a book is needed", NULL);
    if (check && (dump || rejects || l.correct || l.no_end || l.withdraw))
        return vb_tool_wrong(&tool, "--check goes with --as-of alone", NULL);
    if (dump && (rejects || l.correct || l.no_end || l.withdraw || l.as_of))
        return vb_tool_wrong(&tool, "--dump goes with no other option", NULL);
    if (l.withdraw && (l.correct || l.as_of))
        return vb_tool_wrong(&tool, "--withdraw goes with neither --as-of nor --correct",
                             NULL);
    stated = l.as_of != NULL;
    if (!stated && (dump || l.withdraw))
        l.as_of = "2199-12-31"; // no day is asked for: whatever the clock says will do
    if (!vb_tool_as_of(&tool, &l.as_of, today))
        return tool.status;
    if (check)
        run_check(&tool, argv[optind], stated ? today : tomorrow(today, next));
    else if (dump)
        run_dump(&tool, argv[optind], dump);
    else
        run_load(&tool, argv[optind], &l, rejects, !stated && !l.withdraw,
                 optind + 1 < argc ? argv + optind + 1 : standard_input,
                 optind + 1 < argc ? (size_t)(argc - optind - 1) : 1);
    return tool.status;
}
