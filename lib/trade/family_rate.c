#include "valvebook/family_rate.h"

#include <math.h>

#include "finite.h"

/* The valves that take part: all with a rate, but one. */
struct set {
    const double *rate, *var;
    size_t n, skip;
};

static int
takes_part(const struct set *s, size_t i)
{
    return i != s->skip && !isnan(s->rate[i]);
}

static int
usable(double rate, double var)
{
    return isfinite(rate) && isfinite(var) && var > 0;
}

/* Sum of the weights 1 / (v + tau2), and the mean by them; the number of rates. */
static size_t
weighted(const struct set *s, double tau2, double *sum_w, double *mean)
{
    size_t k = 0;
    double sw = 0, swr = 0;
    for (size_t i = 0; i < s->n; i++) {
        if (!takes_part(s, i))
            continue;
        double w = 1 / (s->var[i] + tau2);
        sw += w;
        swr += w * s->rate[i];
        k++;
    }
    *sum_w = sw;
    *mean = swr / sw;
    return k;
}

/*
 * Cochran's Q, and sum w - sum w^2 / sum w. The latter is summed over pairs of weights,
 * 2 sum w_i w_j / sum w, which subtracts nothing: one weight may outweigh all others.
 */
static double
cochran(const struct set *s, double sum_w, double mean, double *c)
{
    double q = 0, pairs = 0, before = 0;
    for (size_t i = 0; i < s->n; i++) {
        if (!takes_part(s, i))
            continue;
        double w = 1 / s->var[i], e = s->rate[i] - mean;
        q += w * e * e;
        pairs += w / sum_w * before;
        before += w;
    }
    *c = 2 * pairs;
    return q;
}

static int
in_range(const struct vb_family_rate *f)
{
    const double x[] = {f->q, f->tau2, f->mu, log(f->var_mu)}; // nor may that be 0
    return all_finite(x, sizeof x / sizeof *x);
}

static enum vb_err
fit(const struct set *s, struct vb_family_rate *out)
{
    struct vb_family_rate f = {.tau2 = NAN, .mu = NAN, .var_mu = INFINITY};
    double sum_w, mean, c;
    f.k = weighted(s, 0, &sum_w, &mean);
    if (f.k == 0) {
        *out = f;
        return VB_OK;
    }
    f.tau2 = 0;
    if (f.k > 1) {
        f.df = (double)(f.k - 1);
        f.q = cochran(s, sum_w, mean, &c);
        f.i2 = f.q > f.df ? (f.q - f.df) / f.q : 0;
        f.tau2 = fmax(0, (f.q - f.df) / c);
        weighted(s, f.tau2, &sum_w, &mean);
    }
    f.mu = mean;
    f.var_mu = 1 / sum_w;
    if (!in_range(&f))
        return VB_EDOM;
    *out = f;
    return VB_OK;
}

enum vb_err
vb_family_rate_without(const double *rate, const double *var, size_t n, size_t skip,
                       struct vb_family_rate *out)
{
    const struct set s = {rate, var, n, skip};
    for (size_t i = 0; i < n; i++)
        if (takes_part(&s, i) && !usable(rate[i], var[i]))
            return VB_EDOM;
    return fit(&s, out);
}

enum vb_err
vb_family_rate_fit(const double *rate, const double *var, size_t n,
                   struct vb_family_rate *out)
{
    return vb_family_rate_without(rate, var, n, n, out);
}

enum vb_err
vb_family_rate_posterior(const struct vb_family_rate *f, double rate, double var,
                         double *post, double *post_var)
{
    int own = !isnan(rate);
    if (own && !usable(rate, var))
        return VB_EDOM;
    double prior = f->tau2 + f->var_mu;
    if (f->k > 0 && !usable(f->mu, prior))
        return VB_EDOM;
    if (f->k == 0) {
        *post = rate;
        *post_var = own ? var : INFINITY;
    } else if (!own) {
        *post = f->mu;
        *post_var = prior;
    } else {
        // As a step from mu: it cannot leave the interval, whatever the precisions.
        double towards_own = prior / (prior + var);
        *post = f->mu + towards_own * (rate - f->mu);
        *post_var = towards_own * var;
    }
    return VB_OK;
}
