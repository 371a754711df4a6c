#include "valvebook/wear.h"

#include <float.h>
#include <math.h>

#include "finite.h"

#define ROUNDING (8 * DBL_EPSILON)

/* Readings first..end-1 belong to one interval: they share the unknown true setting. */
struct group {
    size_t first, end;
    double w, mbar, ybar;
};

static int
usable(const struct vb_obs *obs, size_t n)
{
    if (n == 0)
        return 0;
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(obs[i].meter) || !isfinite(obs[i].lash))
            return 0;
        if (!isfinite(obs[i].w) || obs[i].w <= 0)
            return 0;
        if (i > 0 && obs[i].interval < obs[i - 1].interval)
            return 0;
    }
    return 1;
}

/*
 * Means are taken about the first reading. So the deviations of a single reading, or of
 * several at one meter, are exactly zero, and such an interval adds nothing to sxx, not
 * even rounding that would later pass for a slope.
 */
static struct group
group_at(const struct vb_obs *obs, size_t n, size_t first)
{
    double w = 0, wm = 0, wy = 0;
    size_t i = first;
    for (; i < n && obs[i].interval == obs[first].interval; i++) {
        w += obs[i].w;
        wm += obs[i].w * (obs[i].meter - obs[first].meter);
        wy += obs[i].w * (obs[i].lash - obs[first].lash);
    }
    return (struct group){.first = first,
                          .end = i,
                          .w = w,
                          .mbar = obs[first].meter + wm / w,
                          .ybar = obs[first].lash + wy / w};
}

static void
add_slope_sums(const struct vb_obs *obs, struct group g, struct vb_wear *f)
{
    for (size_t i = g.first; i < g.end; i++) {
        double d = obs[i].meter - g.mbar;
        f->sxx += obs[i].w * d * d;
        f->sxy += obs[i].w * d * (obs[i].lash - g.ybar);
    }
}

/*
 * The residuals are formed one by one: syy - sxy^2 / sxx would lose as many digits as
 * the wear exceeds the scatter, five of them on Norris.
 */
static double
group_sse(const struct vb_obs *obs, struct group g, double slope, double *rounding)
{
    double sse = 0;
    for (size_t i = g.first; i < g.end; i++) {
        double e = obs[i].lash - g.ybar - slope * (obs[i].meter - g.mbar);
        double r = ROUNDING * (fabs(obs[i].lash) + fabs(slope * obs[i].meter));
        sse += obs[i].w * e * e;
        *rounding += obs[i].w * r * r;
    }
    return sse;
}

/* Readings that lie on their lines leave rounding, which must not pass for a scatter. */
static double
total_sse(const struct vb_obs *obs, size_t n, double rate)
{
    double slope = isnan(rate) ? 0 : rate;
    double sse = 0, rounding = 0;
    for (size_t i = 0; i < n;) {
        struct group g = group_at(obs, n, i);
        sse += group_sse(obs, g, slope, &rounding);
        i = g.end;
    }
    return sse > rounding || isinf(sse) ? sse : 0;
}

/* Finite readings can still be too large, or a weight too small, for their squares. */
static int
in_range(const struct vb_wear *f)
{
    const double x[] = {f->sxx,    f->sxy,       f->sse,       f->movement,
                        f->last_w, f->last_mbar, f->last_ybar, f->sxx > 0 ? f->rate : 0};
    return all_finite(x, sizeof x / sizeof *x);
}

enum vb_err
vb_wear_fit(const struct vb_obs *obs, size_t n, struct vb_wear *out)
{
    if (!usable(obs, n))
        return VB_EDOM;

    struct vb_wear f = {.n = n};
    for (size_t i = 0; i < n;) {
        struct group g = group_at(obs, n, i);
        add_slope_sums(obs, g, &f);
        f.intervals++;
        f.movement += obs[g.end - 1].lash - obs[g.first].lash;
        f.last_w = g.w;
        f.last_mbar = g.mbar;
        f.last_ybar = g.ybar;
        i = g.end;
    }
    f.df = (long)n - (long)f.intervals - (f.sxx > 0);
    f.rate = f.sxx > 0 ? f.sxy / f.sxx : NAN;
    f.sse = f.df < 1 ? 0 : total_sse(obs, n, f.rate);
    f.now = obs[n - 1].lash;
    f.now_meter = obs[n - 1].meter;
    if (!in_range(&f))
        return VB_EDOM;
    *out = f;
    return VB_OK;
}

enum vb_err
vb_wear_through_origin(const double *x, const double *y, size_t n, double *slope,
                       double *se, double *s)
{
    if (n < 2)
        return VB_EDOM;

    double sxx = 0, sxy = 0, sse = 0;
    for (size_t i = 0; i < n; i++) {
        sxx += x[i] * x[i];
        sxy += x[i] * y[i];
    }
    double b = sxy / sxx; // NaN where all x = 0
    for (size_t i = 0; i < n; i++) {
        double e = y[i] - b * x[i];
        sse += e * e;
    }
    // A NaN or an infinity anywhere, or an overflow, ends up in one of the two.
    if (!isfinite(sxx) || !isfinite(sse))
        return VB_EDOM;
    *slope = b;
    *s = sqrt(sse / (double)(n - 1));
    *se = *s / sqrt(sxx);
    return VB_OK;
}

void
vb_pool_add(struct vb_pool *p, const struct vb_wear *w)
{
    if (w->df < 1)
        return;
    p->sse += w->sse;
    p->df += (double)w->df;
    p->valves++;
}

double
vb_pool_s2(const struct vb_pool *p, double floor_u)
{
    if (!(p->df > 0))
        return NAN;
    // fmax passes over a NaN, so an unknown gauge is no floor.
    return fmax(p->sse / p->df, floor_u * floor_u);
}
