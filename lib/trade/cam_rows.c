/* Rows of cams and valves: each build's newest timing against what there is. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "cams_impl.h"

struct set
cams_set(const struct cams *c, const struct timed *t)
{
    struct set s = {t, 0};
    while (t + s.n < c->t + c->n && cams_same(t->cam, t[s.n].cam) &&
           t[s.n].visit == t->visit && t[s.n].left == t->left)
        s.n++;
    return s;
}

struct set
cams_beside(const struct cams *c, const struct set *s, struct vb_cam_place cam)
{
    for (const struct timed *t = c->t; t < c->t + c->n; t++)
        if (cams_same(t->cam, cam) && t->visit == s->t->visit && t->left == s->t->left)
            return cams_set(c, t);
    return (struct set){NULL, 0};
}

/* The other side's cam of that bank. */
static struct set
fellow_of(const struct cams *c, const struct set *s)
{
    struct vb_cam_place other = s->t->cam;
    other.side = other.side == 'I' ? 'E' : 'I';
    return cams_beside(c, s, other);
}

struct vb_cam_row *
cams_row(struct cams *c, const struct set *s, struct vb_valve v)
{
    const struct timed *t = s->t;
    const struct vb_cam_event *placed = cams_placing(c, t->cam, t->build);
    struct vb_cam_row *r = cams_new_row(c);
    if (!r)
        return NULL;
    r->cam = t->cam;
    r->valve = v;
    vb_cam_place_format(t->cam, r->at);
    if (v.cyl)
        vb_valve_format(v, r->at);
    snprintf(r->build, sizeof r->build, "%s", cams_build_name(c, t->cam, t->build));
    if (placed)
        snprintf(r->since, sizeof r->since, "%s", placed->date);
    snprintf(r->date, sizeof r->date, "%s", c->e->visit[t->visit].date);
    r->number = t->build;
    r->current = !c->earlier && t->build == cams_build(c, t->cam, HUGE_VAL, 1);
    r->left = t->left;
    r->by_lift = t->by_lift;
    r->n = s->n;
    return r;
}

/* The same valve in another set; NULL if it was not read then. */
static const struct timed *
find(const struct set *s, struct vb_valve v)
{
    for (size_t i = 0; i < s->n; i++)
        if (vb_valve_same(s->t[i].v, v))
            return &s->t[i];
    return NULL;
}

size_t
cams_shifts(struct cams *c, const struct set *from, const struct set *to,
            struct vb_shift *out, const struct timed **of)
{
    size_t n = 0;
    for (size_t i = 0; i < to->n && n < VB_CAM_VALVES; i++) {
        struct timed nominal;
        const struct timed *a = &nominal;
        if (from ? !(a = find(from, to->t[i].v)) : !cams_nominal(c, &to->t[i], &nominal))
            continue;
        of[n] = &to->t[i];
        n += cams_shift(c, a, &to->t[i], &out[n]) != 0;
    }
    return n;
}

/* What the row is held against, in words. */
static void
refer(const struct cams *c, const struct set *from, enum vb_cam_against against,
      struct vb_cam_row *r)
{
    r->against = against;
    if (!from)
        return;
    snprintf(r->reference_date, sizeof r->reference_date, "%s",
             c->e->visit[from->t->visit].date);
    if (against == VB_AGAINST_LAST)
        snprintf(r->reference, sizeof r->reference, "%s",
                 cams_build_name(c, from->t->cam, from->t->build));
}

static void
unpooled(struct cams *c, const struct set *s, const char *at)
{
    cams_refuse(c, c->e->visit[s->t->visit].date, at,
                "the uncertainties of its valves are too unlike for one mean");
}

/* The shifts of a row's valves as one; r->n_shift = 0 after that has been refused. */
static enum vb_err
pool(struct cams *c, const struct set *from, const struct set *to,
     const struct vb_shift *s, const struct timed *const *of, struct vb_cam_row *r)
{
    enum vb_err e = vb_cam_pool(s, r->n_shift, &r->shift);
    if (e == VB_EDOM) { // uncertainties that do not go together
        unpooled(c, to, r->at);
        r->n_shift = 0;
        return VB_OK;
    }
    if (e)
        return e;
    r->plain = r->shift.n_profile < r->n_shift;
    r->by_lift |= from && from->t->by_lift;
    if (r->shift.odd < r->n_shift)
        vb_valve_format(of[r->shift.odd]->v, r->odd);
    if (from && strcmp(from->t->item, to->t->item) != 0)
        snprintf(r->hint, sizeof r->hint, "another cam: %s, before %s",
                 to->t->item, // a cam that was named once stays so
                 from->t->item[0] ? from->t->item : "not named");
    if (r->against == VB_AGAINST_NOMINAL)
        cams_mix(c, to, r);
    return cams_both(c, from, to, s, r->n_shift, r);
}

/* One row: a set against another, or against nominal (from NULL). */
static enum vb_err
compare(struct cams *c, const struct set *from, const struct set *to, struct vb_valve v,
        enum vb_cam_against against, const struct vb_cam_figures *fig)
{
    struct timed nominal;
    struct vb_shift s[VB_CAM_VALVES];
    const struct timed *of[VB_CAM_VALVES];
    size_t n = against == VB_AGAINST_NOTHING ? 0 : cams_shifts(c, from, to, s, of);
    if (against == VB_AGAINST_NOMINAL && !n && !cams_nominal(c, to->t, &nominal))
        return VB_EUNKNOWN;
    struct vb_cam_row *r = cams_row(c, to, v);
    if (!r)
        return VB_EMEM;
    r->fig = *fig;
    r->n_shift = n;
    refer(c, from, against, r);
    if (!n && against != VB_AGAINST_NOTHING)
        snprintf(r->hint, sizeof r->hint, "%s",
                 "not comparable: other valves, or another checking lift and no profile");
    enum vb_err e = n ? pool(c, from, to, s, of, r) : VB_OK;
    if (!e)
        cams_judge(c, r);
    return e;
}

/* story - the timings of a cam that matter to one build; n = 0 for one there is not. */
struct story {
    struct set timed, newest, before;
};

/* All rows of one set of valves: of the cam, or of one valve. */
static enum vb_err
hold(struct cams *c, const struct story *s, struct vb_valve v)
{
    struct set fellow = fellow_of(c, &s->newest);
    struct vb_cam_figures f = {NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN};
    enum vb_err e = cams_figures(&s->newest, &fellow, &f);
    if (e == VB_EDOM) {
        char at[VB_CAM_PLACE_MAX];
        vb_cam_place_format(s->newest.t->cam, at);
        unpooled(c, &s->newest, at);
        e = VB_OK;
    }
    size_t before = c->out->n;
    if (!e)
        e = compare(c, NULL, &s->newest, v, VB_AGAINST_NOMINAL, &f);
    if (e == VB_EUNKNOWN)
        e = VB_OK; // nobody stated nominal events
    if (!e && s->timed.n)
        e = compare(c, &s->timed, &s->newest, v, VB_AGAINST_TIMED, &f);
    if (!e && s->before.n)
        e = compare(c, &s->before, &s->newest, v, VB_AGAINST_LAST, &f);
    if (!e && c->out->n == before)
        e = compare(c, NULL, &s->newest, v, VB_AGAINST_NOTHING, &f);
    return e;
}

static enum vb_err
hold_valves(struct cams *c, const struct story *s)
{
    enum vb_err e = VB_OK;
    for (size_t i = 0; !e && i < s->newest.n; i++) {
        struct story one = *s;
        one.newest = (struct set){s->newest.t + i, 1};
        e = hold(c, &one, s->newest.t[i].v);
    }
    return e;
}

/* Where the next build of this cam, or the next cam, begins. */
static const struct timed *
after_build(const struct cams *c, const struct timed *t)
{
    const struct timed *n = t;
    while (n < c->t + c->n && cams_same(t->cam, n->cam) && n->build == t->build)
        n++;
    return n;
}

/*
 * The newest timing of a build, and where it stood when it was timed: the latest one as
 * left, else the first. What was just left so has not moved from anywhere.
 */
static void
tell(const struct cams *c, const struct timed *from, const struct timed *end,
     struct story *s)
{
    s->newest = s->timed = cams_set(c, from);
    while (s->newest.t + s->newest.n < end) {
        s->newest = cams_set(c, s->newest.t + s->newest.n);
        if (s->newest.t->left)
            s->timed = s->newest;
    }
    if (s->timed.t == s->newest.t)
        s->timed.n = 0;
}

/* Nominal events that cannot be are told once an engine. */
static void
check_nominal(struct cams *c)
{
    const struct vb_family *f = c->e->family;
    for (int s = 0; s < 2; s++) {
        struct vb_msg m = {0};
        const char *side = s ? "exhaust" : "inlet";
        int some = !isnan(f->opens[s]) || !isnan(f->closes[s]);
        if (some && isnan(f->checking_lift[s]))
            cams_refuse(c, NULL, NULL,
                        "family '%s' states %s events and no checking lift",
                        c->e->family_name, side);
        else if (some &&
                 vb_events_check((struct vb_events){f->opens[s], f->closes[s]}, &m))
            cams_refuse(c, NULL, NULL, "%s events of family '%s': %s", side,
                        c->e->family_name, m.text);
    }
}

static enum vb_err
hold_all(struct cams *c, const struct story *s)
{
    return c->w->each_valve ? hold_valves(c, s) : hold(c, s, (struct vb_valve){0});
}

/* The timings of a build before its newest one, each as if it were that: what was found
 * before a cam was set once more is seen nowhere else. */
static enum vb_err
hold_earlier(struct cams *c, const struct timed *from, const struct timed *newest)
{
    enum vb_err e = VB_OK;
    c->earlier = 1;
    for (struct set k = {from, 0}; !e && k.t + k.n < newest;) {
        struct story s = {0};
        k = cams_set(c, k.t + k.n);
        tell(c, from, k.t + k.n, &s);
        e = hold_all(c, &s);
    }
    c->earlier = 0;
    return e;
}

enum vb_err
cams_rows(struct cams *c)
{
    enum vb_err e = VB_OK;
    if (c->n)
        check_nominal(c);
    struct set before = {NULL, 0};
    const struct timed *end = c->t + c->n;
    for (const struct timed *t = c->t, *next; !e && t < end; t = next) {
        next = after_build(c, t);
        int newest_build = next == end || !cams_same(t->cam, next->cam);
        struct story s = {.before = before};
        tell(c, t, next, &s);
        if (c->w->all)
            e = hold_earlier(c, t, s.newest.t);
        if (!e && (c->w->all || newest_build))
            e = hold_all(c, &s);
        before = newest_build ? (struct set){NULL, 0} : s.newest;
    }
    return e;
}
