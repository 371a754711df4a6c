/* From readings as they were taken to timed valves: TDC, checking lift and lash found. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cams_impl.h"
#include "valvebook/life.h"
#include "valvebook/stop.h"

static const char *const what_names[VB_CAM_WHATS] = {
    [VB_CAM_OPENS] = "opens",
    [VB_CAM_CLOSES] = "closes",
    [VB_CAM_LIFT_TDC] = "lift_tdc",
    [VB_CAM_CHECKING_LIFT] = "checking_lift",
    [VB_CAM_STOP_BEFORE] = "stop_before",
    [VB_CAM_STOP_AFTER] = "stop_after",
    [VB_CAM_LASH] = "lash",
    [VB_CAM_STEP] = "sprocket_step",
};

enum vb_cam_what
vb_cam_what_find(const char *quantity)
{
    int i = 0;
    while (i < VB_CAM_WHATS && strcmp(what_names[i], quantity) != 0)
        i++;
    return (enum vb_cam_what)i;
}

/* occasion - one visit as found or as left: what its readings are looked up by. */
struct occasion {
    struct cams *c;
    size_t visit, first, end; // of its readings
    int left;
};

/* How many of its parts a place states of this valve; -1 if it states another one. */
static int
closeness(struct vb_valve at, struct vb_valve v)
{
    if ((at.cyl && at.cyl != v.cyl) || (at.side && at.side != v.side) ||
        (at.index && at.index != v.index))
        return -1;
    return (at.cyl != 0) + (at.side != 0) + (at.index != 0);
}

/* The reading of a quantity that is stated of this valve most closely; NULL if none is. */
static const struct vb_cam_reading *
look(const struct occasion *o, enum vb_cam_what what, struct vb_valve v)
{
    const struct vb_cam_reading *best = NULL;
    int most = -1;
    for (size_t i = o->first; i < o->end; i++) {
        const struct vb_cam_reading *r = &o->c->e->reading[i];
        int k = r->what == what ? closeness(r->at, v) : -1;
        if (k > most)
            best = r, most = k;
    }
    return best;
}

/* A value in this state and no other; NaN without a reading. */
static double
in_state(const struct occasion *o, const struct vb_cam_reading *r)
{
    return r ? r->value[o->left] : NAN;
}

/* A value that holds in this state: as left, what was found and not set holds on. */
static double
holding(const struct occasion *o, const struct vb_cam_reading *r)
{
    double x = in_state(o, r);
    return isnan(x) && r && o->left ? r->value[0] : x;
}

/* A thing of the whole visit, in whichever column it was written. */
static double
either(const struct occasion *o, const struct vb_cam_reading *r)
{
    double x = in_state(o, r);
    return isnan(x) && r ? r->value[!o->left] : x;
}

static double
u_of(const struct vb_cam_reading *r, double otherwise)
{
    return r && !isnan(r->u) ? r->u : otherwise;
}

static const char *
date_of(const struct occasion *o)
{
    return o->c->e->visit[o->visit].date;
}

static void
refuse(const struct occasion *o, struct vb_valve v, const struct vb_cam_reading *r,
       const char *why)
{
    char valve[VB_VALVE_MAX], at[VB_VALVE_MAX + 12];
    int from = r->from[0] != 0;
    vb_valve_format(v, valve);
    snprintf(at, sizeof at, "%s%s", valve, o->left ? " as left" : "");
    cams_refuse(o->c, date_of(o), at, "%s%s%s%s", why, from ? " (" : "",
                from ? r->from : "", from ? ")" : "");
}

/* --- top dead centre ---------------------------------------------------------------- */

/* The stop readings of a cylinder; VB_EUNKNOWN if there are none. */
static enum vb_err
stop_of(const struct occasion *o, int cyl, struct vb_tdc *t, struct vb_msg *m)
{
    struct vb_valve at = {cyl, 0, 0};
    const struct vb_cam_reading *b = look(o, VB_CAM_STOP_BEFORE, at);
    const struct vb_cam_reading *a = look(o, VB_CAM_STOP_AFTER, at);
    if (!b && !a)
        return VB_EUNKNOWN;
    if (!b || !a) {
        vb_msg_set(m, "%s without %s", b ? "stop_before" : "stop_after",
                   b ? "stop_after" : "stop_before");
        return VB_EDOM;
    }
    double ub = u_of(b, VB_U_WHEEL), ua = u_of(a, VB_U_WHEEL);
    return vb_tdc_from_stop(either(o, b), either(o, a), sqrt((ub * ub + ua * ua) / 2), t,
                            m);
}

/*
 * The determination of TDC that a cylinder's angles are counted from: its own, else that
 * of the lowest cylinder that has one, since one wheel serves them all. 0: none.
 */
static int
find_stop(const struct occasion *o, int cyl, struct vb_tdc *t)
{
    int lowest = 0;
    if (!stop_of(o, cyl, t, NULL))
        return cyl;
    for (size_t i = o->first; i < o->end; i++) {
        const struct vb_cam_reading *r = &o->c->e->reading[i];
        int wanted = r->what == VB_CAM_STOP_BEFORE && (!lowest || r->at.cyl < lowest);
        if (wanted && !stop_of(o, r->at.cyl, t, NULL))
            lowest = r->at.cyl;
    }
    return lowest;
}

static void
take_tdc(const struct occasion *o, int cyl, struct vb_timing_read *r)
{
    struct vb_tdc t = {0, VB_U_TDC, 0};
    int of = find_stop(o, cyl, &t);
    r->e.opens = vb_tdc_taken_out(r->e.opens, &t);
    r->e.closes = vb_tdc_taken_out(r->e.closes, &t);
    r->u_tdc = t.u;
    r->tdc = (long)(o->visit + 1) * (VB_CYL_MAX + 1) + of; // found and left share it
}

/* Stop readings that are no stop are told once a visit. */
static void
check_stops(const struct occasion *o)
{
    struct vb_msg m = {0};
    struct vb_tdc t;
    for (size_t i = o->first; i < o->end; i++) {
        const struct vb_cam_reading *r = &o->c->e->reading[i];
        int first = r->what == VB_CAM_STOP_BEFORE ||
                    (r->what == VB_CAM_STOP_AFTER && !look(o, VB_CAM_STOP_BEFORE, r->at));
        if (first && stop_of(o, r->at.cyl, &t, &m))
            refuse(o, r->at, r, m.text);
    }
}

/* --- one valve ---------------------------------------------------------------------- */

/* Lash at the tip as it was, whatever the temperature; NaN if nobody read it. Lift of the
 * lobe knows nothing of it. */
static void
take_lash(const struct occasion *o, struct vb_valve v, double u_lift,
          struct vb_timing_read *r)
{
    const struct vb_family *f = o->c->e->family;
    const struct vb_cam_reading *lash = look(o, VB_CAM_LASH, v);
    int side = v.side == 'E';
    if (f->lift_at_lobe[side]) {
        r->lash = 0;
        r->u_lash = u_lift;
        return;
    }
    r->lash = vb_lash_reference(f, side, holding(o, lash), NAN);
    double u = u_of(lash, VB_U_REFERENCE) * (f->read_at_lobe[side] ? f->ratio[side] : 1);
    r->u_lash = hypot(u, u_lift); // lash and checking lift act as their sum
}

/* The checking lift that is stated for this valve; 0 after it has been refused. */
static int
take_checking_lift(const struct occasion *o, const struct vb_cam_reading *of,
                   struct timed *t, double *u)
{
    const struct vb_cam_reading *r = look(o, VB_CAM_CHECKING_LIFT, t->v);
    t->lift = either(o, r);
    if (isnan(t->lift))
        t->lift = o->c->e->family->checking_lift[t->v.side == 'E'];
    *u = u_of(r, VB_U_REFERENCE);
    if (t->lift > 0)
        return 1;
    refuse(o, t->v, of, "no checking lift stated, at this visit or by the family");
    return 0;
}

/* Opening and closing; 0 if there are none that can be used. */
static int
take_events(const struct occasion *o, struct timed *t, const struct vb_cam_reading *opens,
            const struct vb_cam_reading *closes)
{
    struct vb_msg m = {0};
    const struct vb_cam_reading *r = opens ? opens : closes;
    double u_lift, uo = u_of(opens, VB_U_WHEEL), uc = u_of(closes, VB_U_WHEEL);
    t->r.e = (struct vb_events){in_state(o, opens), in_state(o, closes)};
    if (isnan(t->r.e.opens) || isnan(t->r.e.closes)) {
        refuse(o, t->v, r,
               isnan(t->r.e.opens) ? "closes without opens" : "opens without closes");
        return 0;
    }
    if (!take_checking_lift(o, r, t, &u_lift))
        return 0;
    t->r.u = sqrt((uo * uo + uc * uc) / 2);
    take_lash(o, t->v, u_lift, &t->r);
    take_tdc(o, t->v.cyl, &t->r);
    if (!vb_events_check(t->r.e, &m))
        return 1;
    refuse(o, t->v, r, m.text);
    return 0;
}

/* Lift at overlap TDC, made events by the profile; 0 if it cannot be. */
static int
take_lift(const struct occasion *o, struct timed *t, const struct vb_cam_reading *lift)
{
    struct vb_msg m = {0};
    struct vb_lift_timing lt;
    double u_lift;
    if (!take_checking_lift(o, lift, t, &u_lift))
        return 0;
    // the place of TDC in the profile hangs on no checking lift, so its u is no part of this
    take_lash(o, t->v, 0, &t->r);
    if (!t->lobe || isnan(t->r.lash)) {
        refuse(o, t->v, lift,
               t->lobe ? "lift_tdc without the lash it was read with"
                       : "lift_tdc, and no profile to make degrees of it");
        return 0;
    }
    struct vb_train train = cams_train(o->c, t);
    enum vb_err e =
        vb_lobe_at_tdc(&train, t->v.side, t->r.lash, t->r.u_lash, in_state(o, lift),
                       u_of(lift, VB_U_REFERENCE), t->r.lash, &lt, &m);
    o->c->oom |= e == VB_EMEM;
    if (e) {
        refuse(o, t->v, lift, m.text);
        return 0;
    }
    t->by_lift = 1;
    take_tdc(o, t->v.cyl, &t->r); // the crank was put where TDC was known to be
    t->r.e = lt.events;
    t->r.u = lt.u * sqrt(2); // of both angles, so that their mean has lt.u
    t->r.u_lash = 0;         // it is in there already
    if (!vb_events_check(t->r.e, &m))
        return 1;
    refuse(o, t->v, lift, m.text);
    return 0;
}

static enum vb_err
keep(struct cams *c, const struct timed *t)
{
    if (c->n == c->size) {
        size_t size = c->size ? 2 * c->size : 64;
        struct timed *p = realloc(c->t, size * sizeof *p);
        if (!p)
            return VB_EMEM;
        c->t = p;
        c->size = size;
    }
    c->t[c->n++] = *t;
    return VB_OK;
}

/* Did a visit before, on the same day, leave this cam as it was timed? Then what it left is
 * what is found. Of this visit itself nothing as left is gathered yet. */
static int
left_that_day(const struct occasion *o, struct vb_cam_place cam)
{
    const struct vb_visit *visit = o->c->e->visit;
    double day = floor(visit[o->visit].day);
    for (size_t i = o->c->n; i > 0; i--) { // the newest stand last
        const struct timed *t = &o->c->t[i - 1];
        if (floor(visit[t->visit].day) != day)
            break;
        if (t->left && cams_same(t->cam, cam))
            return 1;
    }
    return 0;
}

static enum vb_err
time_valve(const struct occasion *o, struct vb_valve v)
{
    struct cams *c = o->c;
    double day = c->e->visit[o->visit].day;
    struct timed t = {.visit = o->visit, .left = o->left, .v = v};
    const struct vb_cam_reading *opens = look(o, VB_CAM_OPENS, v);
    const struct vb_cam_reading *closes = look(o, VB_CAM_CLOSES, v);
    const struct vb_cam_reading *lift = look(o, VB_CAM_LIFT_TDC, v);
    t.cam = vb_cam_place_of(&c->e->family->banks, v);
    t.anew = o->left || left_that_day(o, t.cam);
    t.build = cams_build(c, t.cam, day, t.anew);
    t.item = cams_item(c, t.cam, day, t.anew);
    const char *lobe = cams_lobe_name(c, t.cam, day, t.anew, &t.own_profile);
    t.lobe = cams_lobe(c, lobe, cams_reversed(c, t.cam, day, t.anew), &t.u_lobe);
    int events = !isnan(in_state(o, opens)) || !isnan(in_state(o, closes));
    if (!events && isnan(in_state(o, lift)))
        return VB_OK;
    int ok = events ? take_events(o, &t, opens, closes) : take_lift(o, &t, lift);
    return ok ? keep(c, &t) : VB_OK;
}

/* Is this the first reading of its valve that times it? */
static int
names_valve(const struct occasion *o, size_t i)
{
    const struct vb_cam_reading *r = &o->c->e->reading[i];
    if (r->what > VB_CAM_LIFT_TDC)
        return 0;
    for (size_t k = o->first; k < i; k++)
        if (o->c->e->reading[k].what <= VB_CAM_LIFT_TDC &&
            vb_valve_same(o->c->e->reading[k].at, r->at))
            return 0;
    return 1;
}

static enum vb_err
gather_visit(struct cams *c, size_t visit, size_t first, size_t end)
{
    enum vb_err e = VB_OK;
    for (int left = 0; left < 2; left++) {
        struct occasion o = {c, visit, first, end, left};
        if (!left)
            check_stops(&o);
        for (size_t i = first; !e && i < end; i++)
            if (names_valve(&o, i))
                e = time_valve(&o, c->e->reading[i].at);
    }
    return e;
}

static int
in_order(const void *a, const void *b)
{
    const struct timed *x = a, *y = b;
    if (x->cam.bank != y->cam.bank)
        return x->cam.bank - y->cam.bank;
    if (x->cam.side != y->cam.side)
        return y->cam.side - x->cam.side;
    if (x->visit != y->visit)
        return (x->visit > y->visit) - (x->visit < y->visit);
    if (x->left != y->left)
        return x->left - y->left;
    if (x->by_lift != y->by_lift)
        return x->by_lift - y->by_lift;
    return x->v.cyl != y->v.cyl ? x->v.cyl - y->v.cyl : x->v.index - y->v.index;
}

/* Where a cam was timed by events, lifts at TDC say nothing more. */
static void
drop_lifts(struct cams *c)
{
    size_t n = 0;
    for (size_t i = 0; i < c->n; i++) {
        const struct timed *t = &c->t[i], *last = n ? &c->t[n - 1] : NULL;
        if (t->by_lift && last && !last->by_lift && last->visit == t->visit &&
            last->left == t->left && cams_same(last->cam, t->cam))
            continue;
        c->t[n++] = *t;
    }
    c->n = n;
}

enum vb_err
cams_gather(struct cams *c)
{
    enum vb_err e = VB_OK;
    for (size_t i = 0, end; !e && i < c->e->n_readings; i = end) {
        size_t visit = c->e->reading[i].visit;
        for (end = i + 1; end < c->e->n_readings && c->e->reading[end].visit == visit;
             end++)
            ;
        e = gather_visit(c, visit, i, end);
    }
    if (!e && c->n)
        qsort(c->t, c->n, sizeof *c->t, in_order);
    drop_lifts(c);
    return e;
}
