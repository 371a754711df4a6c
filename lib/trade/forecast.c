#include "valvebook/forecast.h"

#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "finite.h"
#include "valvebook/quantile.h"

static int
usable(const struct vb_line *l)
{
    return isfinite(l->ybar) && isfinite(l->mbar) && isfinite(l->rate) &&
           isfinite(l->w) && l->w > 0 && isfinite(l->df) && l->df > 0 &&
           isfinite(l->s2) && l->s2 >= 0 && isfinite(l->var_rate) && l->var_rate >= 0;
}

static double
level_at(const struct vb_line *l, double meter)
{
    return l->ybar + l->rate * (meter - l->mbar);
}

enum vb_err
vb_line_level(const struct vb_line *l, double meter, double *level, double *se)
{
    if (!usable(l) || !isfinite(meter))
        return VB_EDOM;
    double x = meter - l->mbar;
    double y = level_at(l, meter);
    double v = l->s2 / l->w + l->var_rate * x * x;
    if (!isfinite(y) || !isfinite(v))
        return VB_EDOM;
    *level = y;
    *se = sqrt(v);
    return VB_OK;
}

enum vb_err
vb_line_bounds(const struct vb_line *l, double meter, double p, double *lower,
               double *upper)
{
    double level, se;
    enum vb_err e = vb_line_level(l, meter, &level, &se);
    if (e || !(p >= 0.5 && p < 1))
        return VB_EDOM;
    double reach = vb_t_quantile(p, l->df) * se;
    if (!isfinite(reach))
        return VB_EDOM;
    *lower = level - reach;
    *upper = level + reach;
    return VB_OK;
}

/* Written so that a limit nobody has stated, NaN, lets every level pass. */
static enum vb_way
way_outside(double level, double tight, double loose)
{
    if (level < tight)
        return VB_WAY_TIGHT;
    if (level > loose)
        return VB_WAY_LOOSE;
    return VB_WAY_NONE;
}

/*
 * Distance from mbar to where the bound meets a limit. Both directions are folded into
 * one: h is the way still to go at mbar, q = |rate| > 0, and the bound meets the limit
 * where
 *     h - q x = t sqrt(A + V x^2),   A = s2 / w,  V = var_rate.
 * Squared, with a = q^2 - t^2 V and c = h^2 - t^2 A:
 *     a x^2 - 2 h q x + c = 0,
 * whose discriminant is t^2 (A a + V h^2), never negative where the rate is significant
 * (a > 0). The roots lie on either side of h / q; only the smaller satisfies the equation
 * before squaring, the larger belongs to the other bound. It is taken in the form that
 * subtracts nothing, so it holds as a goes to 0 as well.
 */
static double
bound_meets(double h, double q, double t, double A, double V)
{
    double tA = t * sqrt(A), tV = t * sqrt(V);
    double a = (q - tV) * (q + tV);
    double root = t * sqrt(A * a + V * h * h);
    if (h > 0)
        return (h - tA) * (h + tA) / (h * q + root);
    return (h * q - root) / a;
}

/* The limit towards which a significant rate moves; NaN if nobody has stated it. */
static enum vb_err
cross_limit(const struct vb_line *l, double from, double limit, double t,
            struct vb_crossing *c)
{
    if (isnan(limit))
        return VB_OK;
    double h = l->rate < 0 ? l->ybar - limit : limit - l->ybar;
    double q = fabs(l->rate);
    double expected = l->mbar + h / q;
    double early = l->mbar + bound_meets(h, q, t, l->s2 / l->w, l->var_rate);
    if (isnan(early)) // squares too large; what is expected has none
        return VB_EDOM;
    // The level is inside at `from`, so only rounding can put the crossing before it.
    c->expected = fmax(from, expected);
    c->early = fmin(c->expected, fmax(from, early));
    c->way = l->rate < 0 ? VB_WAY_TIGHT : VB_WAY_LOOSE;
    return VB_OK;
}

enum vb_err
vb_line_cross(const struct vb_line *l, double from, double tight, double loose, double p,
              struct vb_crossing *out)
{
    if (!usable(l) || !isfinite(from) || !(p >= 0.5 && p < 1))
        return VB_EDOM;
    if (isinf(tight) || isinf(loose) || tight > loose)
        return VB_EDOM;
    double t = vb_t_quantile(p, l->df);
    double now = level_at(l, from);
    if (!isfinite(t) || !isfinite(now))
        return VB_EDOM;

    struct vb_crossing c = {VB_WAY_NONE, INFINITY, INFINITY, 0};
    enum vb_err err = VB_OK;
    c.way = way_outside(now, tight, loose);
    if (c.way != VB_WAY_NONE) {
        c.expected = c.early = from;
        c.out_now = 1;
    } else if (fabs(l->rate) > t * sqrt(l->var_rate)) {
        err = cross_limit(l, from, l->rate < 0 ? tight : loose, t, &c);
    }
    if (!err)
        *out = c;
    return err;
}

/* Two meters read on one day say nothing about days: such pairs have no slope. */
static size_t
pair_slopes(const double *day, const double *meter, size_t n, double *slopes)
{
    size_t k = 0;
    for (size_t i = 0; i < n; i++)
        for (size_t j = i + 1; j < n; j++)
            if (day[i] != day[j])
                slopes[k++] = (meter[j] - meter[i]) / (day[j] - day[i]);
    return k;
}

enum vb_err
vb_pace(const double *day, const double *meter, size_t n, double *slope)
{
    if (n < 2)
        return VB_EDOM;
    if (n > SIZE_MAX / sizeof *day / n)
        return VB_EMEM;
    if (!all_finite(day, n) || !all_finite(meter, n))
        return VB_EDOM;
    double *slopes = malloc(n * (n - 1) / 2 * sizeof *slopes);
    if (!slopes)
        return VB_EMEM;

    enum vb_err err = VB_EDOM;
    size_t k = pair_slopes(day, meter, n, slopes);
    if (k > 0) {
        gsl_sort(slopes, 1, k);
        double median = gsl_stats_median_from_sorted_data(slopes, 1, k);
        if (isfinite(median)) {
            *slope = median;
            err = VB_OK;
        }
    }
    free(slopes);
    return err;
}
