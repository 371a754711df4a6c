/* The same cam of two banks, and sprockets against their marks. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "cams_impl.h"
#include "valvebook/life.h"

/* The newest timing of a cam; n = 0 if it was never timed. */
static struct set
newest(const struct cams *c, struct vb_cam_place cam)
{
    struct set s, best = {NULL, 0};
    for (const struct timed *t = c->t; t < c->t + c->n; t += s.n) {
        s = cams_set(c, t);
        if (cams_same(t->cam, cam))
            best = s;
    }
    return best;
}

static size_t
from_nominal(struct cams *c, const struct set *s, struct vb_shift *out)
{
    size_t n = 0;
    for (size_t i = 0; i < s->n && n < VB_CAM_VALVES; i++) {
        struct timed nominal;
        if (cams_nominal(c, &s->t[i], &nominal))
            n += cams_shift(c, &nominal, &s->t[i], &out[n]) != 0;
    }
    return n;
}

/* How much later the first stands. */
static enum vb_err
compare(struct cams *c, const struct set *a, const struct set *b)
{
    struct vb_shift sa[VB_CAM_VALVES], sb[VB_CAM_VALVES];
    struct vb_bank bank;
    size_t na = from_nominal(c, a, sa), nb = from_nominal(c, b, sb);
    if (!na || !nb)
        return VB_OK;
    enum vb_err e = vb_bank_compare(sa, na, sb, nb, &bank);
    if (e == VB_EDOM) // refused by name where each cam was pooled
        return VB_OK;
    struct vb_cam_row *r = e ? NULL : cams_row(c, a, (struct vb_valve){0, 0, 0});
    if (e || !r)
        return e ? e : VB_EMEM;
    r->against = VB_AGAINST_BANK;
    snprintf(r->reference, sizeof r->reference, "bank %c", b->t->cam.bank);
    snprintf(r->reference_date, sizeof r->reference_date, "%s",
             c->e->visit[b->t->visit].date);
    r->n_shift = na + nb;
    r->plain = 1;
    r->shift = (struct vb_cam_shift){.n = na + nb,
                                     .phase = bank.phase,
                                     .u_phase = bank.u_phase,
                                     .drive = bank.drive,
                                     .u_drive = bank.u_drive,
                                     .lash_phase = NAN,
                                     .u_lash_phase = NAN,
                                     .duration = NAN,
                                     .u_duration = NAN,
                                     .rest = NAN,
                                     .u_rest = NAN,
                                     .k = bank.k,
                                     .beyond = bank.beyond};
    cams_judge(c, r);
    return VB_OK;
}

enum vb_err
cams_banks(struct cams *c)
{
    static const char sides[] = "IE";
    char banks[27];
    int one = c->e->family->cam_for == VB_CAM_FOR_ENGINE; // it stands alike in all
    int n = one ? 0 : vb_banks_list(&c->e->family->banks, banks);
    enum vb_err e = VB_OK;
    for (int s = 0; s < 2; s++)
        for (int i = 0; !e && i < n; i++)
            for (int k = i + 1; !e && k < n; k++) {
                struct set a = newest(c, (struct vb_cam_place){banks[i], sides[s]});
                struct set b = newest(c, (struct vb_cam_place){banks[k], sides[s]});
                if (a.n && b.n)
                    e = compare(c, &a, &b);
            }
    return e;
}

/* Is there a later reading of that sprocket? */
static int
is_newest(const struct cams *c, size_t i)
{
    const struct vb_cam_reading *r = &c->e->reading[i];
    for (size_t k = i + 1; k < c->e->n_readings; k++)
        if (c->e->reading[k].what == VB_CAM_STEP &&
            strcmp(c->e->reading[k].place, r->place) == 0)
            return 0;
    return 1;
}

static enum vb_err
mark(struct cams *c, const struct vb_cam_reading *r)
{
    struct timed t = {.visit = r->visit, .left = !isnan(r->value[1])};
    struct set s = {&t, 0};
    double day = c->e->visit[r->visit].day, u = isnan(r->u) ? VB_U_WHEEL : r->u;
    if (vb_cam_place_parse(r->place, strlen(r->place), &t.cam))
        t.cam = (struct vb_cam_place){0, 0};
    t.build = cams_build(c, t.cam, day, t.left);
    struct vb_cam_row *row = cams_row(c, &s, (struct vb_valve){0, 0, 0});
    if (!row)
        return VB_EMEM;
    snprintf(row->at, sizeof row->at, "%s", r->place);
    row->against = VB_AGAINST_MARK;
    row->n_shift = 1;
    row->plain = 1;
    row->shift = (struct vb_cam_shift){.n = 1,
                                       .phase = r->value[t.left],
                                       .u_phase = u,
                                       .drive = r->value[t.left],
                                       .u_drive = u,
                                       .lash_phase = NAN,
                                       .u_lash_phase = NAN,
                                       .duration = NAN,
                                       .u_duration = NAN,
                                       .rest = NAN,
                                       .u_rest = NAN,
                                       .k = VB_SHIFT_K};
    row->shift.beyond = fabs(row->shift.drive) > VB_SHIFT_K * u;
    cams_judge(c, row);
    return VB_OK;
}

enum vb_err
cams_marks(struct cams *c)
{
    enum vb_err e = VB_OK;
    for (size_t i = 0; !e && i < c->e->n_readings; i++)
        if (c->e->reading[i].what == VB_CAM_STEP && (c->w->all || is_newest(c, i)))
            e = mark(c, &c->e->reading[i]);
    return e;
}
