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

/* Does the newest corner lie below the line from the one before it to the new point? */
static int
hidden(const struct vb_corner *c, size_t n, size_t at, double sum)
{
    double n0 = n > 1 ? (double)c[n - 2].n : 0, s0 = n > 1 ? c[n - 2].sum : 0;
    double n1 = (double)c[n - 1].n, s1 = c[n - 1].sum;
    return (s1 - s0) * ((double)at - n1) <= (sum - s1) * (n1 - n0);
}

size_t
vb_cusum_corners(const double *q, size_t n, int side, struct vb_corner *out)
{
    size_t k = 0;
    double sum = 0, top = 0;
    for (size_t i = 1; i <= n; i++) {
        sum += side * q[n - i];
        if (!(sum > top))
            continue;
        top = sum;
        while (k && hidden(out, k, i, sum))
            k--;
        out[k++] = (struct vb_corner){i, sum};
    }
    return k;
}

double
vb_cusum_end(const struct vb_corner *c, size_t n, double sd, double k)
{
    double end = 0;
    for (size_t i = 0; i < n; i++)
        end = fmax(end, c[i].sum / sd - k * (double)c[i].n);
    return end;
}
