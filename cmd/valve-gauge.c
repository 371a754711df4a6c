/* valve-gauge: how far a gauge and the people who read it can be trusted. */
#include <getopt.h>
#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/gauge_report.h"
#include "valvebook/gauge_study.h"
#include "valvebook/start.h"
#include "valvebook/tool.h"
#include "valvebook/trials.h"

struct wish {
    int agree, emit;
    enum vb_format format;
    double tolerance;
};

static const struct option options[] = {{"agree", no_argument, NULL, 'a'},
                                        {"emit", required_argument, NULL, 'e'},
                                        {"format", required_argument, NULL, 'F'},
                                        {"help", no_argument, NULL, 'h'},
                                        {"tolerance", required_argument, NULL, 't'},
                                        {"version", no_argument, NULL, 'V'},
                                        {NULL, 0, NULL, 0}};

static void
tell_incomplete(struct vb_tool *tool, const struct vb_trials *t,
                const struct vb_gauge_said *said)
{
    for (size_t i = 0; i < t->n_gauges; i++) {
        struct vb_msg m = {0};
        if (!vb_gauge_incomplete(t, &said[i], &m))
            continue;
        vb_tool_tell(tool, &m);
        vb_tool_raise(tool, VB_EXIT_SOME);
    }
}

static enum vb_err
print(const struct vb_gauge_result *g, const struct wish *w, struct vb_msg *m)
{
    struct vb_out *out = NULL;
    enum vb_err e = vb_out_open("-", &out, m);
    if (!e && w->emit)
        e = vb_report_gauge_rows(g, out);
    else if (!e && w->agree)
        e = vb_report_gauge_pairs(g, w->format, out);
    else if (!e)
        e = vb_report_gauges(g, w->format, out);
    enum vb_err closed = vb_out_close(out, m);
    return e ? e : closed;
}

static enum vb_err
report(struct vb_tool *tool, const struct vb_trials *t, const struct wish *w,
       struct vb_msg *m)
{
    struct vb_gauge_said *said = NULL;
    struct vb_gauge_pair *pair = NULL;
    struct vb_gauge_result g = {.trials = t, .tolerance = w->tolerance};
    int people = !w->emit && vb_format_auto(w->format) == VB_FORMAT_TABLE;
    enum vb_err e = VB_OK;
    if (!w->agree)
        e = vb_gauge_study(t, &said);
    if (!e && (w->agree || people))
        e = vb_gauge_pairs(t, &pair, &g.n_pairs);
    g.said = said;
    g.pair = pair;
    if (!e && !w->agree)
        tell_incomplete(tool, t, said);
    if (!e)
        e = print(&g, w, m);
    free(pair);
    free(said);
    return e;
}

static void
run(struct vb_tool *tool, char **path, int n, const struct wish *w)
{
    char dash[] = "-", *standard_input[] = {dash};
    struct vb_msg m = {0};
    struct vb_trials t = {0};
    enum vb_err e = vb_trials_read(n ? path : standard_input, n ? (size_t)n : 1,
                                   vb_tool_tell, tool, &t, &m);
    if (t.refused)
        vb_tool_raise(tool, VB_EXIT_SOME);
    if (!e)
        e = report(tool, &t, w, &m);
    if (e)
        vb_tool_fail(tool, e, &m);
    vb_trials_clear(&t);
}

int
main(int argc, char **argv)
{
    vb_start();
    struct vb_tool tool = {
        .name = "valve-gauge",
        .about = "how far a gauge and the people who read it can be trusted",
        .usage = "valve-gauge [--agree] [--format csv|json|table] [--tolerance width] "
                 "[trials ...]\n"
                 "       valve-gauge --emit gauges [trials ...]"};
    struct wish w = {.format = VB_FORMAT_AUTO, .tolerance = NAN};
    int c;
    opterr = 0;
    while ((c = getopt_long(argc, argv, "ae:F:ht:V", options, NULL)) != -1) {
        switch (c) {
        case 'a': w.agree = 1; break;
        case 'e':
            w.emit = 1;
            if (strcmp(optarg, "gauges") != 0)
                return vb_tool_wrong(&tool, "gauges can be emitted, not", optarg);
            break;
        case 'F':
            if (!vb_format_parse(optarg, &w.format))
                return vb_tool_wrong(&tool, "csv, json or table, not", optarg);
            break;
        case 'h': return vb_tool_help(&tool);
        case 't':
            if (!vb_tolerance_parse(optarg, &w.tolerance))
                return vb_tool_wrong(&tool, "a width is like 0.1mm or 4thou, not",
                                     optarg);
            break;
        case 'V': return vb_tool_version(&tool);
        default: return vb_tool_option(&tool, argv[optind - 1], optopt);
        }
    }
    if (w.emit && (w.agree || w.format != VB_FORMAT_AUTO || !isnan(w.tolerance)))
        return vb_tool_wrong(&tool, "--emit goes with no other option", NULL);
    if (w.agree && !isnan(w.tolerance))
        return vb_tool_wrong(&tool, "--tolerance does not go with --agree", NULL);
    run(&tool, argv + optind, argc - optind, &w);
    return tool.status;
}
