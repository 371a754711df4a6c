/* Two timings of one valve, or one and what it should be. */
#include <math.h>

#include "cams_impl.h"

/* Lift over lobe lift where the lift is read. */
static double
ratio_there(const struct vb_family *f, int side)
{
    return f->lift_at_lobe[side] ? 1 : f->ratio[side];
}

/* Lash that should be, as far as the lift has any in it. */
static double
nominal_lash(const struct vb_family *f, int side)
{
    return f->lift_at_lobe[side] ? 0 : f->lash_target[side];
}

struct vb_train
cams_train(const struct cams *c, const struct timed *t)
{
    return (struct vb_train){.lobe = t->lobe,
                             .ratio = ratio_there(c->e->family, t->v.side == 'E'),
                             .checking_lift = t->lift,
                             .u_lift = t->u_lobe};
}

int
cams_events(struct cams *c, int side, const struct vb_lobe *own, struct vb_events *out)
{
    const struct vb_family *f = c->e->family;
    struct vb_events e = {f->opens[side], f->closes[side]};
    if (isnan(f->checking_lift[side]) || vb_events_check(e, NULL))
        return 0;
    const struct vb_train t = {own, ratio_there(f, side), f->checking_lift[side], 0};
    struct vb_lobe_events v;
    double lash = nominal_lash(f, side);
    if (own && !isnan(lash)) {
        enum vb_err err = vb_lobe_solve(&t, lash, &v, NULL);
        c->oom |= err == VB_EMEM;
        if (err)
            return 0;
        double centre = vb_centre(e), half = v.down - v.up; // crank degrees
        e = (struct vb_events){centre - half, centre + half};
    }
    *out = e;
    return 1;
}

int
cams_nominal(struct cams *c, const struct timed *to, struct timed *out)
{
    const struct vb_family *f = c->e->family;
    int s = to->v.side == 'E';
    struct vb_events e;
    if (!cams_events(c, s, to->own_profile ? to->lobe : NULL, &e))
        return 0;
    *out = *to;
    out->lift = f->checking_lift[s];
    out->by_lift = 0;
    out->r = (struct vb_timing_read){.e = e, .lash = nominal_lash(f, s)};
    return 1;
}

/*
 * Lash and checking lift act as their sum, so a reading at another checking lift is one at
 * the lower of the two under that much more lash.
 */
static void
level(struct timed *a, struct timed *b)
{
    double low = fmin(a->lift, b->lift);
    a->r.lash += a->lift - low;
    b->r.lash += b->lift - low;
    a->lift = b->lift = low;
}

int
cams_shift(struct cams *c, const struct timed *from, const struct timed *to,
           struct vb_shift *out)
{
    struct timed a = *from, b = *to;
    struct vb_msg m = {0};
    char at[VB_VALVE_MAX];
    int same_lift = a.lift == b.lift;
    int split = a.lobe && a.lobe == b.lobe && !isnan(a.r.lash) && !isnan(b.r.lash);
    if (!split && !same_lift)
        return 0;
    level(&a, &b);
    struct vb_train t = cams_train(c, &b);
    enum vb_err e = vb_shift_split(&a.r, &b.r, split ? &t : NULL, out, &m);
    c->oom |= e == VB_EMEM;
    if (!e || e == VB_EMEM)
        return !e;
    vb_valve_format(to->v, at);
    cams_refuse(c, c->e->visit[to->visit].date, at, "%s", m.text);
    return split && same_lift && !vb_shift_split(&a.r, &b.r, NULL, out, &m);
}
