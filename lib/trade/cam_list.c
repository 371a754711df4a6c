/* What is worked out of cams, as growing lists. */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cams_impl.h"

/* Room for one more member; NULL when out of memory. */
static void *
room(void *list, size_t n, size_t *size, size_t member)
{
    if (n < *size)
        return list;
    size_t more = *size ? 2 * *size : 16;
    void *p = realloc(list, more * member);
    if (p)
        *size = more;
    return p;
}

struct vb_cam_row *
cams_new_row(struct cams *c)
{
    struct vb_cam_list *l = c->out;
    struct vb_cam_row *r = room(l->row, l->n, &l->size, sizeof *r);
    if (!r)
        return NULL;
    l->row = r;
    r += l->n++;
    memset(r, 0, sizeof *r);
    r->engine = c->engine;
    r->limit = NAN;
    r->fig = (struct vb_cam_figures){NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN};
    return r;
}

void
cams_refuse(struct cams *c, const char *date, const char *place, const char *fmt, ...)
{
    struct vb_cam_list *l = c->out;
    struct vb_msg m = {0}, *list;
    char why[200];
    va_list ap;
    va_start(ap, fmt);
    vsnprintf(why, sizeof why, fmt, ap);
    va_end(ap);
    vb_msg_set(&m, "%s%s%s%s%s: %s", c->e->name, date ? " " : "", date ? date : "",
               place ? " " : "", place ? place : "", why);
    for (size_t i = 0; i < l->engine[c->engine].refused; i++)
        if (strcmp(l->refused[l->n_refused - 1 - i].text, m.text) == 0)
            return; // one reading may be wanted for several comparisons
    list = room(l->refused, l->n_refused, &l->refused_size, sizeof m);
    if (!list) {
        c->oom = 1;
        return;
    }
    l->refused = list;
    list[l->n_refused++] = m;
    l->engine[c->engine].refused++;
}

static enum vb_err
new_engine(struct cams *c)
{
    struct vb_cam_list *l = c->out;
    struct vb_cam_unit *u = room(l->engine, l->n_engines, &l->engines_size, sizeof *u);
    if (!u)
        return VB_EMEM;
    l->engine = u;
    u += l->n_engines;
    *u = (struct vb_cam_unit){strdup(c->e->name), strdup(c->e->family_name), 0};
    c->engine = l->n_engines++;
    return u->name && u->family ? VB_OK : VB_EMEM;
}

/* Timings of one build; with banks and marks, which come last, the date is no such thing. */
static int
timing_order(const struct vb_cam_row *x, const struct vb_cam_row *y)
{
    int a = x->against >= VB_AGAINST_BANK, b = y->against >= VB_AGAINST_BANK;
    if (a || b)
        return a - b;
    int d = strcmp(x->date, y->date);
    return d ? d : x->left - y->left;
}

static int
in_order(const void *a, const void *b)
{
    const struct vb_cam_row *x = a, *y = b;
    if (x->cam.bank != y->cam.bank)
        return x->cam.bank - y->cam.bank;
    if (x->cam.side != y->cam.side)
        return y->cam.side - x->cam.side; // inlet before exhaust
    if (x->valve.cyl != y->valve.cyl)
        return x->valve.cyl - y->valve.cyl;
    if (x->valve.index != y->valve.index)
        return x->valve.index - y->valve.index;
    if (x->number != y->number)
        return x->number - y->number;
    int d = timing_order(x, y);
    if (d)
        return d;
    if (x->against != y->against)
        return (int)x->against - (int)y->against;
    d = strcmp(x->at, y->at);
    if (!d)
        d = strcmp(x->reference, y->reference);
    return d ? d : strcmp(x->date, y->date);
}

enum vb_err
vb_cams_add(struct vb_cam_list *out, const struct vb_cam_engine *e, struct vb_profiles *p,
            const struct vb_cam_wish *w)
{
    struct cams c = {.e = e, .p = p, .w = w, .out = out};
    size_t before = out->n;
    enum vb_err err = new_engine(&c);
    if (!err)
        err = cams_gather(&c);
    if (!err)
        err = cams_rows(&c);
    if (!err && !w->each_valve)
        err = cams_banks(&c);
    if (!err)
        err = cams_marks(&c);
    if (!err && out->n > before)
        qsort(out->row + before, out->n - before, sizeof *out->row, in_order);
    free(c.t);
    return !err && c.oom ? VB_EMEM : err;
}

void
vb_cam_list_clear(struct vb_cam_list *l)
{
    for (size_t i = 0; i < l->n_engines; i++) {
        free(l->engine[i].name);
        free(l->engine[i].family);
    }
    free(l->engine);
    free(l->row);
    free(l->refused);
    memset(l, 0, sizeof *l);
}
