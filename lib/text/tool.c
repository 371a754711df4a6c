#include "valvebook/tool.h"

#include <stdio.h>
#include <string.h>

#include "valvebook/date.h"
#include "valvebook/out.h"

#ifndef VB_VERSION
#define VB_VERSION "unknown"
#endif

static const char *
in_words(enum vb_err e)
{
    switch (e) {
    case VB_EMEM: return "out of memory";
    case VB_EIO: return "read or write error";
    case VB_EDB: return "the book cannot be read or written";
    case VB_ERANGE: return "number out of range";
    default: return "cannot go on";
    }
}

/* One write a message, so that messages of two commands in a pipe do not mix. */
void
vb_tool_tell(void *arg, const struct vb_msg *m)
{
    const struct vb_tool *t = arg;
    char line[1024];
    size_t n = 0;
    n += (size_t)snprintf(line + n, sizeof line - n, "%s: ", t->name);
    if (m->file[0])
        n += (size_t)snprintf(line + n, sizeof line - n, "%s:", m->file);
    if (m->file[0] && m->line)
        n += (size_t)snprintf(line + n, sizeof line - n, "%llu:", m->line);
    if (m->file[0])
        n += (size_t)snprintf(line + n, sizeof line - n, " ");
    if (m->column[0])
        n += (size_t)snprintf(line + n, sizeof line - n, "column '%s': ", m->column);
    n += (size_t)snprintf(line + n, sizeof line - n, "%s", m->text);
    if (m->there[0])
        n += (size_t)snprintf(line + n, sizeof line - n, " (%s)", m->there);
    snprintf(line + n, sizeof line - n, "\n");
    fputs(line, stderr);
}

void
vb_tool_fail(struct vb_tool *t, enum vb_err err, const struct vb_msg *m)
{
    struct vb_msg copy = *m;
    if (!copy.text[0])
        vb_msg_set(&copy, "%s", in_words(err));
    vb_tool_tell(t, &copy);
    vb_tool_raise(t, VB_EXIT_FAIL);
}

void
vb_tool_raise(struct vb_tool *t, int status)
{
    if (status > t->status)
        t->status = status;
}

int
vb_tool_wrong(struct vb_tool *t, const char *what, const char *arg)
{
    char q[80];
    if (what && arg)
        fprintf(stderr, "%s: %s '%s'\n", t->name, what,
                vb_quote(arg, strlen(arg), q, sizeof q));
    else if (what)
        fprintf(stderr, "%s: %s\n", t->name, what);
    fprintf(stderr, "usage: %s\n", t->usage);
    return VB_EXIT_FAIL;
}

int
vb_tool_option(struct vb_tool *t, const char *option, int known)
{
    int lacks = known && strncmp(option, "--", 2) == 0 && !strchr(option, '=');
    return vb_tool_wrong(t, lacks ? "a value is needed behind" : "cannot use option",
                         option);
}

static int
print(struct vb_tool *t, const char *const *word, size_t n)
{
    struct vb_out *o;
    struct vb_msg m = {0};
    enum vb_err e = vb_out_open("-", &o, &m);
    if (!e) {
        for (size_t i = 0; i < n; i++)
            vb_out_text(o, word[i]);
        e = vb_out_close(o, &m);
    }
    if (e)
        vb_tool_fail(t, e, &m);
    return t->status;
}

int
vb_tool_help(struct vb_tool *t)
{
    const char *const word[] = {
        "usage: ",
        t->usage,
        "\n\n",
        t->about,
        "\n\nman ",
        t->name,
        ": every option, and examples.  man valvebook: tables, units, names.\n"};
    return print(t, word, sizeof word / sizeof *word);
}

int
vb_tool_version(struct vb_tool *t)
{
    const char *const word[] = {t->name, " (valvebook) " VB_VERSION "\n"};
    return print(t, word, sizeof word / sizeof *word);
}

int
vb_tool_as_of(struct vb_tool *t, const char **as_of, char *iso)
{
    enum vb_err e = *as_of ? VB_OK : vb_date_today(iso);
    if (e) {
        const char *why = e == VB_ERANGE ? "the clock says no year from 1900 to 2199"
                                         : "the clock cannot be read";
        struct vb_msg m = {0};
        vb_msg_set(&m, "%s: --as-of is needed", why);
        vb_tool_fail(t, e, &m);
        return 0;
    }
    if (*as_of && vb_date_parse(*as_of, strlen(*as_of), "", iso)) {
        t->status = vb_tool_wrong(t, "bad date (YYYY-MM-DD)", *as_of);
        return 0;
    }
    *as_of = iso;
    return 1;
}
