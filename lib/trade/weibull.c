/*
 * Maximum likelihood in b = shape and c = shape ln scale, in which the log likelihood is
 * concave: a life that ended at t adds ln b + z - e^z - ln t with z = b ln t - c, one that
 * runs adds -e^z, one that ended between two ages the logarithm of a difference.
 */
#include "valvebook/weibull.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

#include "finite.h"

#define MAX_STEPS 200
#define LEAST     1e-18 // part of a step that is still tried
#define SMALL     1e-22 // of the Newton decrement: rounding, not distance

enum vb_span_kind
vb_span_kind(const struct vb_span *s)
{
    return isinf(s->hi)     ? VB_SPAN_RIGHT
           : s->lo == s->hi ? VB_SPAN_EXACT
           : s->lo > 0      ? VB_SPAN_INTERVAL
                            : VB_SPAN_LEFT;
}

/* What is summed over lives: the log likelihood, its gradient and its curvature. */
struct sums {
    double l, b, c, bb, bc, cc;
};

/* v = d / (e^d - 1) and d dv/dd, for d >= 0; both fall to 0 as d grows. */
static void
thinning(double d, double *v, double *dv)
{
    double grown = expm1(d);
    if (!(grown < 1e300)) {
        *v = *dv = 0;
        return;
    }
    *v = d > 0 ? d / grown : 1;
    *dv = *v - *v * *v * exp(d);
}

/* Adds a term whose derivatives by z are l1 and l11: dz/db = x, dz/dc = -1. */
static void
add_by_z(struct sums *s, double x, double l1, double l11)
{
    s->b += x * l1;
    s->c -= l1;
    s->bb += x * x * l11;
    s->bc -= x * l11;
    s->cc += l11;
}

/* ln(1 - exp(-e^z)) */
static void
add_left(struct sums *s, double b, double c, double x)
{
    double z = b * x - c, v, dv;
    thinning(exp(z), &v, &dv);
    s->l += z < -30 ? z : log(-expm1(-exp(z)));
    add_by_z(s, x, v, dv);
}

/*
 * ln(exp(-a) - exp(-a e^D)) with a = e^z at x and D = b w up to x + w: written in z and D,
 * so that nothing cancels however narrow the span. d = a (e^D - 1), k = dd/dD / d.
 */
static void
add_between(struct sums *s, double b, double c, double x, double w)
{
    double z = b * x - c, a = exp(z), wide = expm1(b * w), d = a * wide, v, dv;
    double k = 1 + 1 / wide;
    thinning(d, &v, &dv);
    s->l += -a + (d < 1e-300 ? z + log(wide) : log(-expm1(-d)));
    double lz = -a + v, lzz = -a + dv, ld = v * k, lzd = dv * k;
    double ldd = dv * k * k - v * k / wide;
    add_by_z(s, x, lz, lzz);
    s->b += w * ld;
    s->bb += 2 * x * w * lzd + w * w * ldd;
    s->bc -= w * lzd;
}

/* Ages as logarithms from a middle one, so that b and c are far from collinear. */
static void
add_span(struct sums *s, const struct vb_span *p, double middle, double b, double c)
{
    double lo = log(p->lo) - middle, hi = log(p->hi) - middle, z;
    switch (vb_span_kind(p)) {
    case VB_SPAN_EXACT:
        z = b * hi - c;
        s->l += log(b) + z - exp(z) - log(p->hi);
        s->b += 1 / b;
        s->bb -= 1 / (b * b);
        add_by_z(s, hi, 1 - exp(z), -exp(z));
        break;
    case VB_SPAN_RIGHT:
        if (p->lo > 0) {
            z = b * lo - c;
            s->l -= exp(z);
            add_by_z(s, lo, -exp(z), -exp(z));
        }
        break;
    case VB_SPAN_INTERVAL: add_between(s, b, c, lo, log(p->hi / p->lo)); break;
    default: add_left(s, b, c, hi); break; // VB_SPAN_LEFT
    }
}

static struct sums
sums_at(const struct vb_span *p, size_t n, double middle, double b, double c)
{
    struct sums s = {0};
    for (size_t i = 0; i < n; i++)
        add_span(&s, &p[i], middle, b, c);
    return s;
}

/* What decides whether there is a maximum, and where to look for it. */
struct overview {
    size_t n[4];
    double latest_lo, first_hi; // the largest lo and the smallest hi
    double left, right;         // sums of ln hi of those ended, of ln lo of those running
    double first, last;         // of all ages above 0 and finite, as logarithms
};

static int
look_over(const struct vb_span *p, size_t n, struct overview *o)
{
    *o = (struct overview){.first_hi = INFINITY, .first = INFINITY, .last = -INFINITY};
    for (size_t i = 0; i < n; i++) {
        if (!(p[i].lo >= 0) || !(p[i].hi > 0) || !(p[i].lo <= p[i].hi) || isinf(p[i].lo))
            return 0;
        enum vb_span_kind k = vb_span_kind(&p[i]);
        if (k == VB_SPAN_RIGHT && p[i].lo == 0)
            continue;
        o->n[k]++;
        o->latest_lo = fmax(o->latest_lo, p[i].lo);
        o->first_hi = fmin(o->first_hi, p[i].hi);
        o->left += k == VB_SPAN_LEFT ? log(p[i].hi) : 0;
        o->right += k == VB_SPAN_RIGHT ? log(p[i].lo) : 0;
        o->first = fmin(o->first, log(p[i].lo > 0 ? p[i].lo : p[i].hi));
        o->last = fmax(o->last, log(isinf(p[i].hi) ? p[i].lo : p[i].hi));
    }
    return 1;
}

/* Is there a maximum? All directions in which the log likelihood may rise for ever. */
static enum vb_err
exists(const struct overview *o, struct vb_msg *m)
{
    double left = (double)o->n[VB_SPAN_LEFT], right = (double)o->n[VB_SPAN_RIGHT];
    size_t known = o->n[VB_SPAN_EXACT] + o->n[VB_SPAN_INTERVAL];
    if (known == 0 && left == 0)
        vb_msg_set(m, "none of %zu has ended yet", o->n[VB_SPAN_RIGHT]);
    else if (known == 0 && right == 0)
        vb_msg_set(m, "all of %zu had ended when they were first looked at",
                   o->n[VB_SPAN_LEFT]);
    else if (o->latest_lo <= o->first_hi)
        vb_msg_set(m, "all %zu may end at one age: they show no scatter",
                   o->n[0] + o->n[1] + o->n[2] + o->n[3]);
    else if (known == 0 && o->left * right <= o->right * left)
        vb_msg_set(m,
                   "those looked at late were running, those looked at early had ended");
    else
        return VB_OK;
    return VB_EDOM;
}

/* A step of Newton's method, halved until the log likelihood does not fall. Where rounding
 * has left no curvature there is none. */
static int
step(const struct vb_span *p, size_t n, double middle, double *b, double *c,
     struct sums *s, double *decrement)
{
    double det = s->bb * s->cc - s->bc * s->bc;
    double db = -(s->cc * s->b - s->bc * s->c) / det;
    double dc = -(s->bb * s->c - s->bc * s->b) / det;
    *decrement = db * s->b + dc * s->c;
    for (double part = det > 0; part > LEAST; part /= 2) {
        struct sums t;
        if (!(*b + part * db > 0))
            continue;
        t = sums_at(p, n, middle, *b + part * db, *c + part * dc);
        if (!(t.l >= s->l - 1e-14 * fabs(s->l)))
            continue;
        *b += part * db;
        *c += part * dc;
        *s = t;
        return 1;
    }
    return 0;
}

/* The shape that would spread the lives as widely as the ages there are. */
static int
climb(const struct vb_span *p, size_t n, const struct overview *o, double *b, double *c,
      struct sums *s)
{
    double middle = (o->first + o->last) / 2, decrement = INFINITY;
    int steps = 0;
    *b = 4 / (o->last - o->first);
    *c = 0;
    *s = sums_at(p, n, middle, *b, *c); // every age within e^2 of the scale: finite
    while (steps < MAX_STEPS && decrement > SMALL) {
        if (!step(p, n, middle, b, c, s, &decrement))
            break;
        steps++;
    }
    return decrement < 1e-10 ? steps : MAX_STEPS;
}

/*
 * From b and c to ln shape = ln b and ln scale = c / b + middle: the inverse of the
 * curvature, turned.
 */
static void
take_result(const struct sums *s, double b, double c, double middle, struct vb_weibull *w)
{
    double det = s->bb * s->cc - s->bc * s->bc;
    double vb = -s->cc / det, vc = -s->bb / det, vbc = s->bc / det;
    double by_b = -c / (b * b), by_c = 1 / b;
    w->shape = b;
    w->scale = exp(c / b + middle);
    w->loglik = s->l;
    w->var_shape = vb / (b * b);
    w->var_scale = by_b * by_b * vb + 2 * by_b * by_c * vbc + by_c * by_c * vc;
    w->cov = (by_b * vb + by_c * vbc) / b;
}

enum vb_err
vb_weibull_fit(const struct vb_span *p, size_t n, struct vb_weibull *out,
               struct vb_msg *m)
{
    struct overview o;
    struct vb_weibull w = {0};
    struct sums s;
    double b, c;
    if (!look_over(p, n, &o)) {
        vb_msg_set(m, "a life that ends before it begins");
        return VB_EDOM;
    }
    enum vb_err e = exists(&o, m);
    if (e)
        return e;
    w.steps = climb(p, n, &o, &b, &c, &s);
    take_result(&s, b, c, (o.first + o.last) / 2, &w);
    const double x[] = {log(w.scale), log(w.var_shape), log(w.var_scale)};
    if (w.steps == MAX_STEPS || !all_finite(x, 3)) {
        vb_msg_set(m, "the fit did not converge");
        return VB_EDOM;
    }
    for (int i = 0; i < 4; i++)
        w.n[i] = o.n[i];
    *out = w;
    return VB_OK;
}

enum vb_err
vb_log_bounds(double value, double var_log, double confidence, struct vb_bounds *out)
{
    if (!(confidence > 0 && confidence < 1) || !(var_log >= 0))
        return VB_EDOM;
    double wide = exp(gsl_cdf_ugaussian_Pinv(0.5 + confidence / 2) * sqrt(var_log));
    struct vb_bounds b = {value, value / wide, value * wide};
    if (!isfinite(b.hi)) // nor is it where the value is not
        return VB_EDOM;
    *out = b;
    return VB_OK;
}

enum vb_err
vb_weibull_life(const struct vb_weibull *w, double p, double confidence,
                struct vb_bounds *out)
{
    if (!(p > 0 && p < 1))
        return VB_EDOM;
    double u = log(-log1p(-p)) / w->shape; // ln t_p = ln scale + u, du / d ln shape = -u
    double var = w->var_scale - 2 * u * w->cov + u * u * w->var_shape;
    return vb_log_bounds(w->scale * exp(u), var, confidence, out);
}

enum vb_err
vb_weibull_shape(const struct vb_weibull *w, double confidence, struct vb_bounds *out)
{
    return vb_log_bounds(w->shape, w->var_shape, confidence, out);
}

enum vb_err
vb_weibull_scale(const struct vb_weibull *w, double confidence, struct vb_bounds *out)
{
    return vb_log_bounds(w->scale, w->var_scale, confidence, out);
}
