#include "valvebook/powerlaw.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_roots.h>
#include <math.h>
#include <stdlib.h>

#define SHAPE_LEAST 1e-4
#define SHAPE_MOST  1e6
#define MAX_ROOT    200

struct data {
    const struct vb_watch *watch;
    size_t n, engines;
    const struct vb_replaced *r;
    size_t k;
    double longest, count, logs; // greatest `to`; N; sum of count ln(age / longest)
};

/* G and its first two derivatives, one watch. */
struct power_sums {
    double g, g1, g2;
};

static struct power_sums
powers(const struct data *d, const struct vb_watch *w, double b)
{
    double to = log(w->to / d->longest), x = exp(b * to);
    struct power_sums s = {x, x * to, x * to * to};
    if (w->from > 0) {
        double from = log(w->from / d->longest), y = exp(b * from);
        s.g = x * -expm1(b * (from - to));
        s.g1 -= y * from;
        s.g2 -= y * from * from;
    }
    return s;
}

static struct power_sums
all_powers(const struct data *d, double b)
{
    struct power_sums all = {0, 0, 0};
    for (size_t i = 0; i < d->n; i++) {
        struct power_sums s = powers(d, &d->watch[i], b);
        all.g += s.g;
        all.g1 += s.g1;
        all.g2 += s.g2;
    }
    return all;
}

static double
score(double b, void *data)
{
    const struct data *d = data;
    struct power_sums s = all_powers(d, b);
    return d->count / b + d->logs - d->count * s.g1 / s.g;
}

/* Both ends of an interval with the root in it; 0 if there is none. */
static int
bracket(struct data *d, double *lo, double *hi, struct vb_msg *m)
{
    *lo = *hi = 1;
    while (*lo > SHAPE_LEAST && !(score(*lo, d) > 0))
        *lo /= 2;
    while (*hi < SHAPE_MOST && !(score(*hi, d) < 0))
        *hi *= 2;
    if (!(score(*lo, d) > 0))
        vb_msg_set(m, "replacements come so early that no power of age fits");
    else if (!(score(*hi, d) < 0))
        vb_msg_set(m, "all were replaced at the greatest age there is");
    else
        return 1;
    return 0;
}

/* The root between two shapes of which the score has different signs. */
static enum vb_err
solve(struct data *d, double lo, double hi, double *b)
{
    gsl_root_fsolver *s = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
    gsl_function f = {score, d};
    if (!s)
        return VB_EMEM;
    // a sign changes between lo and hi: neither this nor a step can fail
    int rc = gsl_root_fsolver_set(s, &f, lo, hi), more = 1;
    for (int i = 0; !rc && more && i < MAX_ROOT; i++) { // GCOVR_EXCL_BR_LINE: above
        rc = gsl_root_fsolver_iterate(s);
        more = gsl_root_test_interval(gsl_root_fsolver_x_lower(s),
                                      gsl_root_fsolver_x_upper(s), 0, 1e-14);
    }
    *b = gsl_root_fsolver_root(s);
    gsl_root_fsolver_free(s);
    return rc ? VB_EDOM : VB_OK; // GCOVR_EXCL_BR_LINE: above
}

/*
 * The information about b and a = ln(N / G), whose inverse is the covariance: of a a N, of a
 * and b N G'/G, of b N / b^2 + N G''/G. ln scale = ln longest - a / b.
 */
static void
variances(const struct data *d, double b, struct vb_power *p)
{
    struct power_sums s = all_powers(d, b);
    double n = d->count, a = log(n / s.g);
    double ab = n * s.g1 / s.g, bb = n / (b * b) + n * s.g2 / s.g, det = n * bb - ab * ab;
    double va = bb / det, vb = n / det, vab = -ab / det, by_b = a / (b * b);
    p->shape = b;
    p->scale = d->longest * exp(-a / b);
    p->var_shape = vb / (b * b);
    p->var_scale = va / (b * b) - 2 * by_b / b * vab + by_b * by_b * vb;
}

/*
 * The scores of each engine instead of the information: the sandwich. Its part for b is
 * I^-1 U with U the engine's derivatives by a and b.
 */
static enum vb_err
robust(const struct data *d, struct vb_power *p)
{
    double *u = calloc(2 * d->engines, sizeof *u), b = p->shape, sum = 0;
    struct power_sums s = all_powers(d, b);
    double n = d->count, times = n / s.g;
    if (!u)
        return VB_EMEM;
    for (size_t i = 0; i < d->n; i++) {
        struct power_sums w = powers(d, &d->watch[i], b);
        u[2 * d->watch[i].engine] -= times * w.g;
        u[2 * d->watch[i].engine + 1] -= times * w.g1;
    }
    for (size_t i = 0; i < d->k; i++) {
        double *of = &u[2 * d->watch[d->r[i].watch].engine];
        of[0] += d->r[i].count;
        of[1] += d->r[i].count * (1 / b + log(d->r[i].age / d->longest));
    }
    double ab = n * s.g1 / s.g, det = n * (n / (b * b) + n * s.g2 / s.g) - ab * ab;
    for (size_t i = 0; i < d->engines; i++)
        sum += pow((n * u[2 * i + 1] - ab * u[2 * i]) / det, 2);
    free(u);
    p->robust_shape = p->engines > 1 ? sum / (b * b) : NAN;
    return VB_OK;
}

static void
trend_tests(const struct data *d, struct vb_power *p)
{
    double late = 0, var = 0, logs = 0;
    for (size_t i = 0; i < d->k; i++) {
        const struct vb_watch *w = &d->watch[d->r[i].watch];
        double wide = w->to - w->from, count = d->r[i].count, x = d->r[i].age;
        late += count * (x - (w->from + w->to) / 2);
        var += count * wide * wide / 12;
        logs += count * log(wide / (x - w->from));
    }
    p->laplace = late / sqrt(var);
    p->p_laplace = 2 * gsl_cdf_ugaussian_Q(fabs(p->laplace));
    p->chi2 = 2 * logs;
    p->df = 2 * d->count;
    p->p_chi2 = fmin(
        1, 2 * fmin(gsl_cdf_chisq_P(p->chi2, p->df), gsl_cdf_chisq_Q(p->chi2, p->df)));
}

static size_t
engines_watched(const struct data *d, unsigned char *seen)
{
    size_t n = 0;
    for (size_t i = 0; i < d->n; i++) {
        n += !seen[d->watch[i].engine];
        seen[d->watch[i].engine] = 1;
    }
    return n;
}

static enum vb_err
summarise(struct data *d, struct vb_msg *m)
{
    if (!vb_watched(d->watch, d->n, d->engines, d->r, d->k)) {
        vb_msg_set(m, "a replacement that nobody watched");
        return VB_EDOM;
    }
    for (size_t i = 0; i < d->n; i++) {
        d->longest = fmax(d->longest, d->watch[i].to);
        if (d->watch[i].from < 0) {
            vb_msg_set(m, "an age below 0");
            return VB_EDOM;
        }
    }
    for (size_t i = 0; i < d->k; i++) {
        d->count += d->r[i].count;
        d->logs += d->r[i].count * log(d->r[i].age / d->longest);
    }
    if (d->k == 0)
        vb_msg_set(m, "nothing was replaced");
    return d->k ? VB_OK : VB_EDOM;
}

enum vb_err
vb_power_fit(const struct vb_watch *watch, size_t n, size_t engines,
             const struct vb_replaced *replaced, size_t k, struct vb_power *out,
             struct vb_msg *m)
{
    struct data d = {.watch = watch, .n = n, .engines = engines, .r = replaced, .k = k};
    struct vb_power p = {0};
    double lo, hi, b;
    enum vb_err e = summarise(&d, m);
    if (!e && !bracket(&d, &lo, &hi, m))
        e = VB_EDOM;
    if (e)
        return e;
    unsigned char *seen = calloc(engines, 1);
    e = seen ? solve(&d, lo, hi, &b) : VB_EMEM;
    if (e) {
        free(seen);
        return e;
    }
    p.count = d.count;
    p.engines = engines_watched(&d, seen);
    free(seen);
    variances(&d, b, &p);
    trend_tests(&d, &p);
    e = robust(&d, &p);
    if (!e)
        *out = p;
    return e;
}

double
vb_power_rate(const struct vb_power *p, double age)
{
    return p->shape / p->scale * pow(age / p->scale, p->shape - 1);
}
