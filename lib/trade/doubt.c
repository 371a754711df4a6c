#include "valvebook/doubt.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/utf8.h"

static struct vb_family_kept *
family_of(const struct vb_fleet *f, const struct vb_unit_now *u)
{
    for (size_t i = 0; i < f->n_families; i++)
        if (u->family == &f->family[i]->facts)
            return f->family[i];
    return NULL;
}

static const char *
interval_unit(const struct vb_family *f)
{
    return f->relash_dim == VB_DIM_DISTANCE ? "km" : "h";
}

/* An interval in h says nothing of an engine whose meter runs in km. */
static void
see_engine(struct vb_family_kept *k, const struct vb_unit_now *u)
{
    struct vb_family_seen *s = &k->seen;
    s->engines++;
    if (isnan(k->facts.relash) || !u->meter_unit[0] ||
        strcmp(u->meter_unit, interval_unit(&k->facts)) == 0)
        return;
    if (!s->other++) {
        vb_utf8_copy(s->other_name, sizeof s->other_name, u->name);
        snprintf(s->other_unit, sizeof s->other_unit, "%s", u->meter_unit);
    }
}

static void
see_late(struct vb_family_seen *s, const struct vb_unit_now *u)
{
    if (u->ended > 1 && !s->late++)
        vb_utf8_copy(s->late_name, sizeof s->late_name, u->name);
}

void
vb_fleet_see(struct vb_fleet *f)
{
    size_t life = 0;
    for (size_t i = 0; i < f->n_units; i++) {
        struct vb_family_kept *k = family_of(f, &f->unit[i]);
        if (k && f->unit[i].ended) {
            see_late(&k->seen, &f->unit[i]);
            k = NULL;
        }
        if (k)
            see_engine(k, &f->unit[i]);
        for (; life < f->lives.n && f->lives.life[life].engine == i; life++) {
            const struct vb_life *l = &f->lives.life[life];
            if (k && l->current && l->wear.n)
                k->seen.read[l->valve.side == 'E'] = 1;
        }
    }
}

static enum vb_err
add(struct vb_doubts *o, const struct vb_family_kept *k, const char *text)
{
    if (o->n == o->size) {
        size_t size = o->size ? 2 * o->size : 8;
        struct vb_doubt *p = realloc(o->doubt, size * sizeof *p);
        if (!p)
            return VB_EMEM;
        o->doubt = p;
        o->size = size;
    }
    struct vb_doubt *d = &o->doubt[o->n++];
    vb_utf8_copy(d->family, sizeof d->family, k->name);
    snprintf(d->text, sizeof d->text, "%s", text);
    return VB_OK;
}

/* A side whose valves are read, and of which nothing is stated that they could reach. */
static int
endless(const struct vb_family_kept *k, int side)
{
    return isnan(k->facts.lash_min[side]) && isnan(k->facts.lash_max[side]) &&
           isnan(k->facts.seat_limit[side]) && k->seen.read[side];
}

static enum vb_err
no_limits(struct vb_doubts *o, const struct vb_family_kept *k)
{
    char text[sizeof o->doubt->text];
    int inlet = endless(k, 0), exhaust = endless(k, 1);
    if (!inlet && !exhaust)
        return VB_OK;
    snprintf(text, sizeof text,
             "no lash_min, lash_max or seat_limit is stated for %s: by lash and seats "
             "nothing of %s is ever due",
             inlet && exhaust ? "sides I and E"
             : inlet          ? "side I"
                              : "side E",
             inlet && exhaust ? "them" : "it");
    return add(o, k, text);
}

static enum vb_err
no_interval(struct vb_doubts *o, const struct vb_family_kept *k)
{
    char text[sizeof o->doubt->text], more[40] = "";
    const struct vb_family_seen *s = &k->seen;
    if (!s->other)
        return VB_OK;
    if (s->other > 1)
        snprintf(more, sizeof more, " and of %zu more", s->other - 1);
    snprintf(text, sizeof text,
             "relash_interval is in %s, the meter of %s%s runs in %s: no interval by "
             "meter is due there",
             interval_unit(&k->facts), s->other_name, more, s->other_unit);
    return add(o, k, text);
}

/* Most often another engine has come under the old name. */
static enum vb_err
read_late(struct vb_doubts *o, const struct vb_family_kept *k)
{
    char text[sizeof o->doubt->text], more[40] = "";
    const struct vb_family_seen *s = &k->seen;
    if (!s->late)
        return VB_OK;
    if (s->late > 1)
        snprintf(more, sizeof more, " and %zu more", s->late - 1);
    snprintf(
        text, sizeof text,
        "%s%s left the fleet by an event end and %s read after it: nothing of %s is "
        "ever due; a new engine wants a name of its own, a rebuilt one the event build",
        s->late_name, more, s->late > 1 ? "were" : "was", s->late > 1 ? "them" : "it");
    return add(o, k, text);
}

static enum vb_err
doubts_of(struct vb_doubts *o, const struct vb_family_kept *k)
{
    struct vb_msg m = {0};
    if (!k->seen.engines)
        return read_late(o, k);
    enum vb_err e = vb_family_clashes(&k->facts, &m) ? add(o, k, m.text) : VB_OK;
    if (!e)
        e = no_limits(o, k);
    if (!e)
        e = no_interval(o, k);
    return e ? e : read_late(o, k);
}

enum vb_err
vb_fleet_doubts(const struct vb_fleet *f, struct vb_doubts *out)
{
    struct vb_doubts o = {NULL, 0, 0};
    enum vb_err e = VB_OK;
    for (size_t i = 0; !e && i < f->n_families; i++)
        e = doubts_of(&o, f->family[i]);
    if (e)
        free(o.doubt);
    else
        *out = o;
    return e;
}
