#include "valvebook/family.h"

#include <stdio.h>

#include "valvebook/number.h"

static const char sides[2] = {'I', 'E'};

static void
two_limits(const char *low, double lo, const char *high, double hi, int side,
           struct vb_msg *m, size_t *n)
{
    char a[VB_NUM_MAX], b[VB_NUM_MAX];
    if (!(lo > hi)) // NaN where one is not stated
        return;
    vb_double_format(lo, a);
    vb_double_format(hi, b);
    if (!(*n)++)
        vb_msg_set(m, "%s of side %c is above %s: %s and %s mm", low, sides[side], high,
                   a, b);
}

static void
target(const struct vb_family *f, int side, struct vb_msg *m, size_t *n)
{
    char t[VB_NUM_MAX], limit[VB_NUM_MAX];
    double x = f->lash_target[side], lo = f->lash_min[side], hi = f->lash_max[side];
    int below = x < lo;
    int above = x > hi;
    if (!below && !above)
        return;
    vb_double_format(x, t);
    vb_double_format(below ? lo : hi, limit);
    if (!(*n)++)
        vb_msg_set(m, "lash_target of side %c is %s %s: %s and %s mm", sides[side],
                   below ? "below" : "above", below ? "lash_min" : "lash_max", t, limit);
}

size_t
vb_family_clashes(const struct vb_family *f, struct vb_msg *m)
{
    size_t n = 0;
    for (int s = 0; s < 2; s++) {
        two_limits("lash_min", f->lash_min[s], "lash_max", f->lash_max[s], s, m, &n);
        target(f, s, m, &n);
        two_limits("shim_min", f->shim_min[s], "shim_max", f->shim_max[s], s, m, &n);
    }
    return n;
}

int
vb_family_has_part(const struct vb_family *f, struct vb_valve v)
{
    int most = v.side ? f->valves[v.side == 'E'] : 0;
    if (f->cylinders && v.cyl > f->cylinders)
        return 0;
    return !v.index || !most || (most > 1 && v.index <= most);
}
