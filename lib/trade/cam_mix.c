/* Is it the right cam? Its events against those of every cam that the engine has. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "cams_impl.h"
#include "valvebook/cam_fit.h"

#define MOST 52 // places of cams: two sides of 26 banks

struct candidates {
    struct vb_cam_nominal nominal[MOST];
    struct vb_cam_place place[MOST];
    size_t n;
};

/* Lift of the lobe knows nothing of lash: events at the nominal one are what they would be. */
static int
without_lash(const struct cams *c, const struct timed *t)
{
    const struct vb_family *f = c->e->family;
    int side = t->v.side == 'E';
    return f->lift_at_lobe[side] && t->lift == f->checking_lift[side];
}

/* Events as they would be under nominal lash; 1 if that could be worked out. */
static int
relash(struct cams *c, const struct timed *t, struct vb_timing_read *r)
{
    struct timed nominal;
    struct vb_shift s;
    *r = t->r;
    if (without_lash(c, t))
        return 1;
    if (!t->lobe || isnan(r->lash) || !cams_nominal(c, t, &nominal) ||
        isnan(nominal.r.lash))
        return 0;
    struct vb_train train = cams_train(c, t);
    train.checking_lift = fmin(t->lift, nominal.lift);
    struct vb_timing_read a = nominal.r;
    a.lash += nominal.lift - train.checking_lift;
    r->lash += t->lift - train.checking_lift;
    enum vb_err e = vb_shift_split(&a, r, &train, &s, NULL);
    c->oom |= e == VB_EMEM;
    if (e)
        return 0;
    r->e.opens -= s.lash_phase - s.lash_duration / 2;
    r->e.closes -= s.lash_phase + s.lash_duration / 2;
    return 1;
}

/* The cam as measured. Returns 0 without anything to go by; *relashed: lash is out. */
static int
seen_of(struct cams *c, const struct set *s, struct vb_cam_seen *seen, int *relashed)
{
    struct vb_timing_read r[VB_CAM_VALVES];
    struct vb_cam_mean mean;
    size_t n = s->n < VB_CAM_VALVES ? s->n : VB_CAM_VALVES;
    *relashed = 1;
    for (size_t i = 0; i < n; i++)
        if (!relash(c, &s->t[i], &r[i]))
            *relashed = 0;
    enum vb_err e = vb_cam_mean_of(r, n, &mean, NULL);
    c->oom |= e == VB_EMEM;
    if (e)
        return 0;
    *seen =
        (struct vb_cam_seen){mean.centre, mean.u_centre, mean.duration, mean.u_duration};
    return 1;
}

/* The lobe that stands in another place as the records have it, if it is one of its own. */
static const struct vb_lobe *
own_lobe(struct cams *c, struct vb_cam_place p, const struct timed *t)
{
    double u, day = c->e->visit[t->visit].day;
    int own;
    const char *name = cams_lobe_name(c, p, day, t->anew, &own);
    return own ? cams_lobe(c, name, cams_reversed(c, p, day, t->anew), &u) : NULL;
}

static void
add(struct cams *c, struct candidates *k, struct vb_cam_place p, const struct timed *t)
{
    struct vb_events e;
    const struct vb_lobe *lobe = own_lobe(c, p, t);
    if (!cams_events(c, p.side == 'E', lobe, &e) || vb_events_check(e, NULL))
        return;
    k->place[k->n] = p;
    k->nominal[k->n] = (struct vb_cam_nominal){e, k->n > 0}; // where it would stand here
    k->n++;
}

/* First its own, then the other side's of its bank, then those of other banks that have a
 * profile of their own: without one they are no other cams. What one cam works cannot be
 * exchanged with itself. */
static void
gather(struct cams *c, const struct timed *t, struct candidates *k)
{
    char banks[27];
    struct vb_cam_place p = t->cam;
    enum vb_cam_for one = c->e->family->cam_for;
    vb_banks_list(&c->e->family->banks, banks);
    k->n = 0;
    add(c, k, p, t);
    p.side = t->cam.side == 'I' ? 'E' : 'I';
    if (k->n && one == VB_CAM_FOR_SIDE)
        add(c, k, p, t);
    p.side = t->cam.side;
    for (const char *b = banks; k->n && one != VB_CAM_FOR_ENGINE && *b; b++) {
        p.bank = *b;
        const struct vb_lobe *lobe = own_lobe(c, p, t);
        if (*b != t->cam.bank && lobe && lobe != t->lobe)
            add(c, k, p, t);
    }
}

/* Not another's cam; is its duration that of any of them at all? */
static void
stranger(struct candidates *k, const struct vb_cam_seen *seen, double tolerance,
         struct vb_cam_row *r)
{
    struct vb_cam_fit f = {0};
    k->nominal[0].any_phase = 1;
    vb_cam_fit_find(seen, k->nominal, k->n, 0, tolerance, &f);
    if (f.unlike)
        r->mix = VB_CAM_STRANGER;
}

/* What cannot be fitted says nothing of any cam. */
void
cams_mix(struct cams *c, const struct set *s, struct vb_cam_row *r)
{
    struct candidates k;
    struct vb_cam_seen seen;
    struct vb_cam_fit f = {0};
    int relashed;
    double tolerance = c->e->family->timing_tolerance;
    if (isnan(tolerance))
        tolerance = VB_WEAR_LIMIT;
    gather(c, s->t, &k);
    if (!k.n || s->t->by_lift || !seen_of(c, s, &seen, &relashed))
        return;
    vb_cam_fit_find(&seen, k.nominal, k.n, 0, tolerance, &f);
    if (f.swapped && !f.alike) {
        r->mix = k.place[f.best].side != s->t->cam.side ? VB_CAM_SIDES : VB_CAM_BANKS;
        vb_cam_place_format(k.place[f.best], r->other);
    } else if (f.unlike && relashed) {
        stranger(&k, &seen, tolerance, r);
    }
}
