#include "valvebook/change.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_sort.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "finite.h"

/* Beyond this t and normal agree to ten digits. */
#define NORMAL_DF 1e10

/* --- step -------------------------------------------------------------------------- */

static double
two_sided(double t, double df)
{
    if (df > NORMAL_DF)
        return fmin(1, 2 * gsl_cdf_ugaussian_Q(fabs(t)));
    return fmin(1, 2 * gsl_cdf_tdist_Q(fabs(t), df));
}

double
vb_step_p(const struct vb_step *s)
{
    return isnan(s->t) ? NAN : two_sided(s->t, s->df);
}

/*
 * The tails of t shrink towards those of the normal as df grows: where those are not below
 * alpha no t is. The margin is far beyond rounding.
 */
static int
surely_none(double t, double alpha)
{
    if (fabs(t) <= 2 && alpha < 0.045) // erfc(sqrt(2)) is 0.0455
        return 1;
    return erfc(fabs(t) / sqrt(2)) > alpha * (1 + 1e-9);
}

enum vb_err
vb_step_test(double y, double level, double var, double s2, double df, double alpha,
             struct vb_step *out)
{
    if (!(var >= 0) || !(s2 >= 0) || !(df > 0) || !(alpha > 0 && alpha < 1))
        return VB_EDOM;
    double t = (y - level) / sqrt(var + s2);
    if (!isfinite(t) || !isfinite(var + s2))
        return VB_EDOM;
    *out = (struct vb_step){t, df, !surely_none(t, alpha) && two_sided(t, df) < alpha};
    return VB_OK;
}

/* --- CUSUM ------------------------------------------------------------------------- */

/* One step of both sums; z in standard deviations. */
static void
cusum_step(const struct vb_cusum_plan *plan, double x, double *hi, double *lo)
{
    double z = (x - plan->target) / plan->sd;
    *hi = fmax(0, *hi + (z - plan->k));
    *lo = fmax(0, *lo + (-z - plan->k));
}

static int
cusum_usable(const struct vb_cusum_plan *p)
{
    return isfinite(p->target) && isfinite(p->sd) && p->sd > 0 && isfinite(p->k) &&
           p->k >= 0 && isfinite(p->h) && p->h > 0;
}

/* Can the sums be formed? A pass of its own: nothing may be written if they cannot. */
static int
cusum_in_range(const double *x, size_t n, const struct vb_cusum_plan *plan)
{
    double hi = 0, lo = 0;
    for (size_t i = 0; i < n; i++) {
        cusum_step(plan, x[i], &hi, &lo);
        if (!isfinite(hi) || !isfinite(lo))
            return 0;
    }
    return 1;
}

enum vb_err
vb_cusum(const double *x, size_t n, const struct vb_cusum_plan *plan, double *hi,
         double *lo, size_t *first)
{
    // fmax drops a NaN, so the values are looked at by themselves.
    if (n == 0 || !cusum_usable(plan) || !all_finite(x, n))
        return VB_EDOM;
    if (!cusum_in_range(x, n, plan))
        return VB_EDOM;

    double up = 0, down = 0;
    size_t at = n;
    for (size_t i = 0; i < n; i++) {
        cusum_step(plan, x[i], &up, &down);
        hi[i] = up;
        lo[i] = down;
        if (at == n && (up > plan->h || down > plan->h))
            at = i;
    }
    *first = at;
    return VB_OK;
}

/* --- EWMA -------------------------------------------------------------------------- */

enum vb_err
vb_ewma_limits(const struct vb_ewma_plan *plan, size_t i, double *lo, double *hi)
{
    double lambda = plan->lambda;
    if (i == 0 || !(lambda > 0 && lambda <= 1) || !(plan->sd > 0) || !(plan->width > 0))
        return VB_EDOM;
    double share = lambda / (2 - lambda);
    if (plan->exact)
        share *= -expm1(2 * (double)i * log1p(-lambda)); // 1 - (1 - lambda)^(2 i)
    double half = plan->width * plan->sd * sqrt(share);
    if (!isfinite(plan->target - half) || !isfinite(plan->target + half))
        return VB_EDOM;
    *lo = plan->target - half;
    *hi = plan->target + half;
    return VB_OK;
}

enum vb_err
vb_ewma(const double *x, size_t n, const struct vb_ewma_plan *plan, double *z,
        size_t *first)
{
    double lo, hi;
    // The limits of the last step are the widest: where they are finite, all are.
    if (n == 0 || !all_finite(x, n) || vb_ewma_limits(plan, n, &lo, &hi) != VB_OK)
        return VB_EDOM;

    double average = plan->target;
    size_t at = n;
    for (size_t i = 0; i < n; i++) {
        average = plan->lambda * x[i] + (1 - plan->lambda) * average;
        z[i] = average;
        vb_ewma_limits(plan, i + 1, &lo, &hi);
        if (at == n && (average < lo || average > hi))
            at = i;
    }
    *first = at;
    return VB_OK;
}

/* --- Mann-Kendall ------------------------------------------------------------------ */

static long long
rises_less_falls(const double *x, size_t n)
{
    long long s = 0;
    for (size_t i = 0; i < n; i++)
        for (size_t j = i + 1; j < n; j++)
            s += (x[j] > x[i]) - (x[j] < x[i]);
    return s;
}

/* 18 times what t values that cannot be told apart take from the variance. */
static double
tie_term(size_t t)
{
    double d = (double)t;
    return d * (d - 1) * (2 * d + 5);
}

static double
tied(const double *sorted, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n;) {
        size_t j = i;
        while (j < n && sorted[j] == sorted[i])
            j++;
        sum += tie_term(j - i);
        i = j;
    }
    return sum;
}

enum vb_err
vb_mann_kendall(const double *x, size_t n, struct vb_trend *out)
{
    if (n < 2)
        return VB_EDOM;
    if (n > SIZE_MAX / sizeof *x)
        return VB_EMEM;
    if (!all_finite(x, n))
        return VB_EDOM;
    double *sorted = malloc(n * sizeof *sorted);
    if (!sorted)
        return VB_EMEM;
    memcpy(sorted, x, n * sizeof *sorted);
    gsl_sort(sorted, 1, n);

    struct vb_trend r = {.s = rises_less_falls(x, n)};
    r.var = (tie_term(n) - tied(sorted, n)) / 18;
    free(sorted);
    // Where all are alike var is 0, but then s is as well.
    if (r.s != 0)
        r.z = (double)(r.s > 0 ? r.s - 1 : r.s + 1) / sqrt(r.var);
    r.p = two_sided(r.z, INFINITY);
    *out = r;
    return VB_OK;
}
