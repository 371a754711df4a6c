/* valve-life: how often parts are replaced, how long settings last, and how long to wait. */
#include <getopt.h>
#include <stddef.h>
#include <string.h>

#include "valvebook/book.h"
#include "valvebook/book_life.h"
#include "valvebook/date.h"
#include "valvebook/family_life.h"
#include "valvebook/life_report.h"
#include "valvebook/number.h"
#include "valvebook/quantity.h"
#include "valvebook/start.h"
#include "valvebook/tool.h"
#include "valvebook/valve.h"

struct wish {
    struct vb_lives_wish lives;
    enum vb_life_what what;
    enum vb_format format;
};

static const struct option options[] = {{"as-of", required_argument, NULL, 'a'},
                                        {"family", required_argument, NULL, 'f'},
                                        {"format", required_argument, NULL, 'F'},
                                        {"help", no_argument, NULL, 'h'},
                                        {"part", required_argument, NULL, 'p'},
                                        {"risk", required_argument, NULL, 'r'},
                                        {"side", required_argument, NULL, 's'},
                                        {"time", required_argument, NULL, 't'},
                                        {"version", no_argument, NULL, 'V'},
                                        {"what", required_argument, NULL, 'w'},
                                        {NULL, 0, NULL, 0}};

static enum vb_err
print(const struct vb_family_life *l, size_t n, const struct wish *w, struct vb_msg *m)
{
    struct vb_out *out = NULL;
    enum vb_err e = vb_out_open("-", &out, m);
    if (!e)
        e = vb_report_life(l, n, w->what, w->format, out);
    enum vb_err closed = vb_out_close(out, m);
    return e ? e : closed;
}

static enum vb_err
report(struct vb_book *b, const struct wish *w, struct vb_msg *m)
{
    struct vb_fleet fleet = {0};
    struct vb_family_lives lives = {0};
    enum vb_err e = vb_book_fleet(b, &w->lives.scope, w->lives.as_of, &fleet, m);
    if (!e)
        e = vb_book_family_lives(b, &fleet, &w->lives, &lives, m);
    if (!e)
        e = print(lives.life, lives.n, w, m);
    vb_family_lives_clear(&lives);
    vb_fleet_clear(&fleet);
    return e;
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

/* One option into the wish; what it should have been where it is not that, else NULL. */
static const char *
take(int c, const char *arg, struct wish *w)
{
    switch (c) {
    case 'a': w->lives.as_of = arg; return NULL;
    case 'f': w->lives.scope.family = arg; return NULL;
    case 'F': return vb_format_parse(arg, &w->format) ? NULL : "csv, json or table, not";
    case 'p':
        w->lives.part = arg;
        return *arg && strcmp(arg, "engine") != 0 && vb_part_renews(arg, strlen(arg)) >= 0
                   ? NULL
                   : "unknown part";
    case 'r':
        return !vb_double_parse(arg, strlen(arg), &w->lives.risk) && w->lives.risk > 0 &&
                       w->lives.risk < 1
                   ? NULL
                   : "a risk is above 0 and below 1, not";
    case 's':
        w->lives.side = vb_side_parse(arg, strlen(arg));
        return w->lives.side ? NULL : "I or E, not";
    case 't':
        w->lives.days = strcmp(arg, "days") == 0;
        return w->lives.days || strcmp(arg, "meter") == 0 ? NULL : "meter or days, not";
    default:
        return vb_life_what_parse(arg, &w->what) ? NULL
                                                 : "mcf, weibull, trend or interval, not";
    }
}

int
main(int argc, char **argv)
{
    vb_start();
    struct vb_tool tool = {
        .name = "valve-life",
        .about =
            "how often parts are replaced, how long settings last, and how long to wait",
        .usage = "valve-life [--as-of date] [--family name] [--format csv|json|table]\n"
                 "                  [--part name] [--risk share] [--side I|E] "
                 "[--time meter|days]\n"
                 "                  [--what mcf|weibull|trend|interval] book"};
    char today[VB_DATE_MAX];
    struct wish w = {.lives = {.part = "seat", .risk = VB_RELASH_RISK},
                     .format = VB_FORMAT_AUTO};
    int c;
    opterr = 0;
    while ((c = getopt_long(argc, argv, "a:f:F:hp:r:s:t:Vw:", options, NULL)) != -1) {
        const char *wrong;
        if (c == 'h')
            return vb_tool_help(&tool);
        if (c == 'V')
            return vb_tool_version(&tool);
        if (c == '?')
            return vb_tool_option(&tool, argv[optind - 1], optopt);
        if ((wrong = take(c, optarg, &w)))
            return vb_tool_wrong(&tool, wrong, optarg);
    }
    if (optind + 1 != argc)
        return vb_tool_wrong(&tool, "one book is needed", NULL);
    if (!vb_tool_as_of(&tool, &w.lives.as_of, today))
        return tool.status;
    run(&tool, argv[optind], &w);
    return tool.status;
}
