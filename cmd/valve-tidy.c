/* valve-tidy: gauge and spreadsheet exports in, one stream of readings out. */
#include <getopt.h>
#include <stddef.h>
#include <string.h>

#include "valvebook/start.h"
#include "valvebook/tidy.h"
#include "valvebook/tool.h"

#define MAX_SETS 64

/* What the command line asks for. */
struct wish {
    const char *recipe, *rejects, *draft;
    const char *set[MAX_SETS];
    size_t n_sets;
};

static const struct option options[] = {{"draft", required_argument, NULL, 'd'},
                                        {"help", no_argument, NULL, 'h'},
                                        {"recipe", required_argument, NULL, 'r'},
                                        {"set", required_argument, NULL, 's'},
                                        {"rejects", required_argument, NULL, 'x'},
                                        {"version", no_argument, NULL, 'V'},
                                        {NULL, 0, NULL, 0}};

static enum vb_err
apply_sets(struct vb_recipe *r, const struct wish *w, struct vb_msg *m)
{
    enum vb_err e = VB_OK;
    for (size_t i = 0; !e && i < w->n_sets; i++) {
        char name[64];
        const char *eq = strchr(w->set[i], '=');
        size_t n = eq ? (size_t)(eq - w->set[i]) : sizeof name;
        vb_msg_at(m, "--set", 0, w->set[i]);
        vb_msg_set(m, "NAME=VALUE was expected");
        if (n >= sizeof name)
            return VB_ESYNTAX;
        memcpy(name, w->set[i], n);
        name[n] = 0;
        e = vb_recipe_set(r, name, eq + 1, m);
    }
    if (!e)
        vb_msg_clear(m);
    return e;
}

static enum vb_err
read_recipe(const struct wish *w, struct vb_recipe **r, struct vb_msg *m)
{
    struct vb_input *in;
    enum vb_err e = vb_input_open(w->recipe, "", &in, m);
    if (!e)
        e = vb_recipe_read(in, r, m);
    return e ? e : apply_sets(*r, w, m);
}

static void
run_draft(struct vb_tool *tool, const char *path)
{
    struct vb_msg m = {0};
    struct vb_out *out;
    enum vb_err e = vb_out_open("-", &out, &m);
    if (!e) {
        if ((e = vb_draft(path, out, &m)))
            vb_tool_fail(tool, e, &m);
        e = vb_out_close(out, &m);
    }
    if (e)
        vb_tool_fail(tool, e, &m);
}

/* Every export is tried, but a stream with a hole in it gets no end row. */
static void
run_files(struct vb_tool *tool, struct vb_tidy *t, char **path, int n)
{
    for (int i = 0; i < n; i++) {
        struct vb_msg m = {0};
        enum vb_err e = vb_tidy_file(t, path[i], &m);
        if (e)
            vb_tool_fail(tool, e, &m);
    }
    if (vb_tidy_refused(t))
        vb_tool_raise(tool, VB_EXIT_SOME);
    if (tool->status < VB_EXIT_FAIL)
        vb_tidy_end(t);
}

static void
close_out(struct vb_tool *tool, struct vb_out *o)
{
    struct vb_msg m = {0};
    enum vb_err e = vb_out_close(o, &m);
    if (e)
        vb_tool_fail(tool, e, &m);
}

static void
run(struct vb_tool *tool, const struct wish *w, char **path, int n)
{
    struct vb_msg m = {0};
    struct vb_recipe *r = NULL;
    struct vb_out *out = NULL, *rejects = NULL;
    struct vb_tidy *t = NULL;
    enum vb_err e = read_recipe(w, &r, &m);
    if (!e)
        e = vb_out_open("-", &out, &m);
    if (!e && w->rejects)
        e = vb_out_apart(w->rejects, w->recipe, path, (size_t)n, &rejects, &m);
    if (!e && rejects && vb_out_is_stdout(rejects)) {
        vb_msg_at(&m, w->rejects, 0, NULL);
        vb_msg_set(&m, "the readings go to this file: the rejects need one of their own");
        e = VB_ECONFLICT;
    }
    if (!e)
        e = vb_tidy_new(r, out, rejects, vb_tool_tell, tool, &t);
    if (e)
        vb_tool_fail(tool, e, &m);
    else
        run_files(tool, t, path, n);
    vb_tidy_free(t);
    close_out(tool, rejects);
    close_out(tool, out);
    vb_recipe_free(r);
}

int
main(int argc, char **argv)
{
    vb_start();
    struct vb_tool tool = {
        .name = "valve-tidy",
        .about = "turn gauge and spreadsheet exports into one stream of readings",
        .usage = "valve-tidy --recipe file [--rejects file] "
                 "[--set name=value] [export ...]\n"
                 "       valve-tidy --draft export"};
    struct wish w = {0};
    char dash[] = "-", *standard_input[] = {dash};
    int c;
    opterr = 0;
    while ((c = getopt_long(argc, argv, "d:hr:s:x:V", options, NULL)) != -1) {
        switch (c) {
        case 'd': w.draft = optarg; break;
        case 'h': return vb_tool_help(&tool);
        case 'r': w.recipe = optarg; break;
        case 's':
            if (w.n_sets == MAX_SETS)
                return vb_tool_wrong(&tool, "too many", "--set");
            w.set[w.n_sets++] = optarg;
            break;
        case 'x': w.rejects = optarg; break;
        case 'V': return vb_tool_version(&tool);
        default: return vb_tool_option(&tool, argv[optind - 1], optopt);
        }
    }
    if (!w.draft == !w.recipe || (w.draft && optind < argc))
        return vb_tool_wrong(&tool, "one of --recipe and --draft is needed", NULL);
    if (w.draft && (w.rejects || w.n_sets))
        return vb_tool_wrong(&tool, "--draft goes with one export alone", NULL);
    if (w.rejects && strcmp(w.rejects, "-") == 0)
        return vb_tool_wrong(&tool, "the readings go to standard output: no file", "-");
    if (w.draft)
        run_draft(&tool, w.draft);
    else
        run(&tool, &w, optind < argc ? argv + optind : standard_input,
            optind < argc ? argc - optind : 1);
    return tool.status;
}
