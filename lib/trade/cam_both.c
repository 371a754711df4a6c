/* One cam that works inlet and exhaust: its drive moves both by the same angle. */
#include <math.h>
#include <stdlib.h>

#include "cams_impl.h"

/* sides - shifts of one cam's valves, inlets first. */
struct sides {
    struct vb_shift s[2][VB_CAM_VALVES];
    size_t n[2];
};

static void
add(struct sides *k, int side, const struct vb_shift *s, size_t n)
{
    for (size_t i = 0; i < n && k->n[0] + k->n[1] < VB_CAM_VALVES; i++)
        k->s[side][k->n[side]++] = s[i];
}

/* What one cam works besides the row's own place, as far as it was read along with it. */
static void
gather(struct cams *c, const struct set *from, const struct set *to, int both_banks,
       struct sides *k)
{
    struct vb_shift s[VB_CAM_VALVES];
    const struct timed *of[VB_CAM_VALVES];
    struct set other, before;
    for (const struct timed *t = c->t; t < c->t + c->n; t += other.n) {
        other = cams_set(c, t);
        int own = cams_same(t->cam, to->t->cam);
        if (own || t->visit != to->t->visit || t->left != to->t->left ||
            !vb_cam_is_one(c->e->family->cam_for, to->t->cam, t->cam) ||
            (!both_banks && t->cam.side == to->t->cam.side))
            continue;
        if (from)
            before = cams_beside(c, from, t->cam);
        add(k, t->cam.side == 'E', s,
            cams_shifts(c, from ? &before : NULL, &other, s, of));
    }
}

/* Against nominal both lobes of a right cam may stand off by the tolerance (k = 2). */
static enum vb_err
part(const struct cams *c, const struct sides *k, struct vb_cam_row *r)
{
    double tolerance = c->e->family->timing_tolerance;
    int nominal = r->against == VB_AGAINST_NOMINAL && !isnan(tolerance);
    struct vb_bank b;
    enum vb_err e = vb_bank_compare(k->s[0], k->n[0], k->s[1], k->n[1], &b);
    if (e)
        return e;
    r->apart = b.drive;
    r->parted = fabs(b.drive) > b.k * hypot(b.u_drive, nominal ? tolerance / 2 : 0);
    return VB_OK;
}

static enum vb_err
pool(struct sides *k, struct vb_cam_row *r)
{
    size_t n = k->n[0];
    for (size_t i = 0; i < k->n[1]; i++)
        k->s[0][n++] = k->s[1][i]; // inlets and exhausts have room for both
    enum vb_err e = vb_cam_pool(k->s[0], n, &r->both);
    r->n_both = e ? 0 : n;
    return e;
}

enum vb_err
cams_both(struct cams *c, const struct set *from, const struct set *to,
          const struct vb_shift *own, size_t n, struct vb_cam_row *r)
{
    struct sides *k;
    enum vb_err e = VB_OK;
    int of_cam = r->valve.cyl == 0;
    if (c->e->family->cam_for == VB_CAM_FOR_SIDE)
        return VB_OK;
    if (!(k = calloc(1, sizeof *k)))
        return VB_EMEM;
    add(k, to->t->cam.side == 'E', own, n);
    gather(c, from, to, of_cam, k);
    if (k->n[0] && k->n[1])
        e = part(c, k, r);
    if (!e && k->n[0] && k->n[1] && of_cam)
        e = pool(k, r);
    free(k);
    return e == VB_EDOM ? VB_OK : e; // refused by name where each side was pooled
}
