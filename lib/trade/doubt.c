#include "valvebook/doubt.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The list that is being made. */
struct listing {
    const struct vb_fleet *f;
    struct vb_doubts *out;
};

static enum vb_err
add(struct listing *ls, const struct vb_family_kept *k, const char *text)
{
    struct vb_doubts *o = ls->out;
    if (o->n == o->size) {
        size_t size = o->size ? 2 * o->size : 8;
        struct vb_doubt *p = realloc(o->doubt, size * sizeof *p);
        if (!p)
            return VB_EMEM;
        o->doubt = p;
        o->size = size;
    }
    struct vb_doubt *d = &o->doubt[o->n++];
    d->family = k->name;
    snprintf(d->text, sizeof d->text, "%s", text);
    return VB_OK;
}

static int
listed(const struct vb_unit_now *u, const struct vb_family_kept *k)
{
    return !u->ended && u->family == &k->facts;
}

/* A side whose valves are read, and of which nothing is stated that they could reach. */
static int
endless(const struct vb_fleet *f, const struct vb_family_kept *k, int side)
{
    if (!isnan(k->facts.lash_min[side]) || !isnan(k->facts.lash_max[side]) ||
        !isnan(k->facts.seat_limit[side]))
        return 0;
    for (size_t i = 0; i < f->lives.n; i++) {
        const struct vb_life *l = &f->lives.life[i];
        if (l->current && l->wear.n && (l->valve.side == 'E') == side &&
            listed(&f->unit[l->engine], k))
            return 1;
    }
    return 0;
}

static enum vb_err
no_limits(struct listing *ls, const struct vb_family_kept *k)
{
    char text[sizeof ls->out->doubt->text];
    int inlet = endless(ls->f, k, 0), exhaust = endless(ls->f, k, 1);
    if (!inlet && !exhaust)
        return VB_OK;
    snprintf(text, sizeof text,
             "no lash_min, lash_max or seat_limit is stated for %s: by lash and seats "
             "nothing of %s is ever due",
             inlet && exhaust ? "sides I and E"
             : inlet          ? "side I"
                              : "side E",
             inlet && exhaust ? "them" : "it");
    return add(ls, k, text);
}

/* An interval in h says nothing of an engine whose meter runs in km. */
static enum vb_err
no_interval(struct listing *ls, const struct vb_family_kept *k)
{
    char text[sizeof ls->out->doubt->text], more[40] = "";
    const char *unit = k->facts.relash_dim == VB_DIM_DISTANCE ? "km" : "h";
    const struct vb_unit_now *first = NULL;
    size_t n = 0;
    for (size_t i = 0; !isnan(k->facts.relash) && i < ls->f->n_units; i++) {
        const struct vb_unit_now *u = &ls->f->unit[i];
        if (!listed(u, k) || !u->meter_unit[0] || strcmp(u->meter_unit, unit) == 0)
            continue;
        first = first ? first : u;
        n++;
    }
    if (!first)
        return VB_OK;
    if (n > 1)
        snprintf(more, sizeof more, " and of %zu more", n - 1);
    snprintf(text, sizeof text,
             "relash_interval is in %s, the meter of %.40s%s runs in %s: no interval by "
             "meter is due there",
             unit, first->name, more, first->meter_unit);
    return add(ls, k, text);
}

static enum vb_err
doubts_of(struct listing *ls, const struct vb_family_kept *k)
{
    struct vb_msg m = {0};
    size_t i = 0;
    while (i < ls->f->n_units && !listed(&ls->f->unit[i], k))
        i++;
    if (i == ls->f->n_units)
        return VB_OK;
    enum vb_err e = vb_family_clashes(&k->facts, &m) ? add(ls, k, m.text) : VB_OK;
    if (!e)
        e = no_limits(ls, k);
    return e ? e : no_interval(ls, k);
}

enum vb_err
vb_fleet_doubts(const struct vb_fleet *f, struct vb_doubts *out)
{
    struct vb_doubts o = {NULL, 0, 0};
    struct listing ls = {f, &o};
    enum vb_err e = VB_OK;
    for (size_t i = 0; !e && i < f->n_families; i++)
        e = doubts_of(&ls, f->family[i]);
    if (e)
        free(o.doubt);
    else
        *out = o;
    return e;
}
