/* What renews a part, at which places, and how long it lasted there. */
#include "service_impl.h"

#include <math.h>
#include <string.h>

/* --- places ------------------------------------------------------------------------- */

/* Parts of which every valve has one (common practice). */
static int
one_a_valve(const char *part)
{
    static const char *const parts[] = {"seat",   "valve",    "guide",
                                        "spring", "follower", "tip",
                                        "rocker", "adjuster", "pushrod"};
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        if (strcmp(part, parts[i]) == 0)
            return 1;
    return 0;
}

/* What comes new with a head (common practice). */
static int
in_head(const char *part)
{
    return strcmp(part, "seat") == 0 || strcmp(part, "valve") == 0 ||
           strcmp(part, "guide") == 0 || strcmp(part, "spring") == 0;
}

/* Does an event with this part renew the wished one among others? */
static int
comes_with(const char *part, const char *wished)
{
    return !*part || strcmp(part, "engine") == 0 ||
           (strcmp(part, "head") == 0 && in_head(wished));
}

int
service_replaces(const struct vb_service *s, const struct vb_event *ev,
                 const struct vb_renewed *r)
{
    return ev->kind == VB_EVENT_REPLACE && strcmp(r->part, s->wish.part) == 0 &&
           (!s->wish.side || !ev->at.side || ev->at.side == s->wish.side);
}

static int
renews(const struct vb_service *s, const struct vb_event *ev, const struct vb_renewed *r)
{
    return (ev->kind == VB_EVENT_BUILD || ev->kind == VB_EVENT_REPLACE) &&
           (comes_with(r->part, s->wish.part) ||
            (ev->kind == VB_EVENT_BUILD && strcmp(r->part, s->wish.part) == 0));
}

/* A renewal of all there is: the engine begins anew, as far as this part goes. */
int
service_begins_anew(const struct vb_service *s, const struct vb_event *ev,
                    const struct vb_renewed *r)
{
    return renews(s, ev, r) && !ev->at.cyl && !ev->at.index && !ev->bank &&
           (!ev->at.side || ev->at.side == s->wish.side);
}

/* How many parts an event replaced; a number that nobody has stated counts as one. */
double
service_count(const struct vb_service *s, const struct vb_family *f,
              const struct vb_event *ev)
{
    double n = 0;
    if (!one_a_valve(s->wish.part))
        return 1;
    for (int side = 0; side < 2; side++) {
        char name = side ? 'E' : 'I';
        int valves = f->valves[side] ? f->valves[side] : 1;
        if ((s->wish.side && s->wish.side != name) ||
            (ev->at.side && ev->at.side != name))
            continue;
        n += (ev->at.cyl || !f->cylinders ? 1 : f->cylinders) *
             (ev->at.index ? 1 : valves);
    }
    int unsaid = !ev->at.side && (!f->cylinders || (!f->valves[0] && !f->valves[1]));
    return unsaid ? 1 : n;
}

/* --- lives of parts ------------------------------------------------------------------- */

static int
concerns(const struct vb_engine *e, const struct vb_event *ev, struct vb_valve at)
{
    return (!ev->bank || !at.cyl || ev->bank == e->family->banks.of[at.cyl]) &&
           (!ev->at.cyl || !at.cyl || ev->at.cyl == at.cyl) &&
           (!ev->at.side || !at.side || ev->at.side == at.side) &&
           (!ev->at.index || !at.index || ev->at.index == at.index);
}

/* What a day did at a place. */
struct day {
    int replaced, renewed;
    double where; // NaN if it cannot be placed
};

/* From event i on; returns the first event of a later day. */
static size_t
look_at_day(const struct service_view *v, size_t i, struct vb_valve at, struct day *d)
{
    const struct vb_event *ev = v->e->event;
    size_t j = i;
    *d = (struct day){0, 0, NAN};
    for (; j < v->e->n_events && floor(ev[j].day) == floor(ev[i].day); j++) {
        int is = service_replaces(v->s, &ev[j], &v->r[j]);
        if (!concerns(v->e, &ev[j], at) || (!is && !renews(v->s, &ev[j], &v->r[j])))
            continue;
        d->where = isnan(d->where) ? service_position(v, j) : d->where;
        d->replaced |= is;
        d->renewed = 1;
    }
    return j;
}

/* What was renewed on a day ends one life and begins the next. */
static enum vb_err
lives_at(struct service_view *v, struct vb_valve at, int side)
{
    struct vb_spans *out = &v->s->part[side];
    const struct vb_engine *e = v->e;
    double born = v->is_new ? v->start : NAN;
    enum vb_err err = VB_OK;
    struct day d;
    for (size_t i = 0, next; !err && i < e->n_events; i = next) {
        next = look_at_day(v, i, at, &d);
        if (!d.renewed || floor(e->event[i].day) > v->end_day || d.where <= born)
            continue;
        int after = v->n_marks && e->event[i].day > v->mark[v->n_marks - 1].day;
        if (!isnan(born) && isnan(d.where) && after) // it was still running at the end
            err = born < v->end ? vb_spans_add(out, v->end - born, INFINITY) : VB_OK;
        else if (isnan(born) || isnan(d.where))
            v->s->unborn[side]++;
        else
            err =
                vb_spans_add(out, d.where - born, d.replaced ? d.where - born : INFINITY);
        born = d.where;
    }
    if (!err && born < v->end)
        err = vb_spans_add(out, v->end - born, INFINITY);
    v->s->unborn[side] += isnan(born) ? 1u : 0u;
    return err;
}

enum vb_err
service_part_lives(struct service_view *v)
{
    const struct vb_family *f = v->e->family;
    enum vb_err err = VB_OK;
    v->s->one_a_valve = one_a_valve(v->s->wish.part);
    if (!v->s->one_a_valve)
        return lives_at(v, (struct vb_valve){0, v->s->wish.side, 0}, 0);
    for (int side = 0; side < 2; side++) {
        char name = side ? 'E' : 'I';
        if (v->s->wish.side && v->s->wish.side != name)
            continue;
        if (!f->cylinders || !f->valves[side]) {
            v->s->unknown_places++;
            continue;
        }
        for (int cyl = 1; !err && cyl <= f->cylinders; cyl++)
            for (int k = 1; !err && k <= f->valves[side]; k++) {
                struct vb_valve at = {cyl, name, f->valves[side] > 1 ? k : 0};
                err = lives_at(v, at, side);
            }
    }
    return err;
}
