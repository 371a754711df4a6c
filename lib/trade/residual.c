#include "valvebook/residual.h"

#include <math.h>

static void
begin_interval(struct vb_run *r, const struct vb_obs *o)
{
    r->interval = o->interval;
    r->w = o->w;
    r->mbar = o->meter;
    r->ybar = o->lash;
}

/* Means and sums of squares brought up to date (Welford), so nothing is read twice. */
static void
grow(struct vb_run *r, const struct vb_obs *o)
{
    double dm = o->meter - r->mbar, dy = o->lash - r->ybar, w = r->w + o->w;
    double half = r->w * o->w / w;
    r->sxx += half * dm * dm;
    r->sxy += half * dm * dy;
    r->mbar += dm * o->w / w;
    r->ybar += dy * o->w / w;
    r->w = w;
}

int
vb_run_next(struct vb_run *r, const struct vb_obs *o, double *residual)
{
    int known = 0;
    if (r->n == 0 || o->interval != r->interval) {
        begin_interval(r, o);
    } else {
        if (r->sxx > 0) {
            double dm = o->meter - r->mbar;
            double e = o->lash - r->ybar - r->sxy / r->sxx * dm;
            *residual = e / sqrt(1 / o->w + 1 / r->w + dm * dm / r->sxx);
            known = 1;
        }
        grow(r, o);
    }
    r->n++;
    return known;
}
