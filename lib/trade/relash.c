#include "valvebook/relash.h"

#include <float.h>
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_integration.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_roots.h>
#include <math.h>

#include "finite.h"

#define SCAN   200  // points among which the likeliest tau is looked for
#define FAINT  16.0 // exp(-16) of the likeliest: nothing
#define REACH  7.0  // standard deviations that integrals go to
#define U_STEP 0.25
#define Z_STEP 0.125
#define ROUNDS 200
#define NARROW 1e-8 // of the gap
#define GOLDEN 0.6180339887498949
#define SHRUNK 40 // times by that: to 5e-9 of a step of the scan

/* --- what is thought of mu and tau2 -------------------------------------------------- */

void
vb_belief_sure(double mu, double tau2, struct vb_belief *out)
{
    out->n = 1;
    out->node[0] = (struct vb_belief_node){1, tau2, mu, 0};
}

struct rates {
    const double *rate, *var;
    size_t n;
    double v; // harmonic mean of the variances
};

/* Logarithm of the restricted likelihood at tau = sqrt(v) sinh(x), and mu there. The prior
 * is flat in x. */
static double
log_weight(const struct rates *r, double x, struct vb_belief_node *node)
{
    double tau2 = r->v * sinh(x) * sinh(x), sw = 0, swr = 0, l = 0, q = 0;
    for (size_t i = 0; i < r->n; i++) {
        double w = 1 / (r->var[i] + tau2);
        sw += w;
        swr += w * r->rate[i];
        l += log(w) / 2;
    }
    double mu = swr / sw;
    for (size_t i = 0; i < r->n; i++)
        q += (r->rate[i] - mu) * (r->rate[i] - mu) / (r->var[i] + tau2);
    *node = (struct vb_belief_node){0, tau2, mu, 1 / sw};
    return l - log(sw) / 2 - q / 2;
}

/* At SCAN points from 0 on. Returns the step between them; *top: where it is greatest. */
static double
scan(const struct rates *r, double *l, int *top)
{
    struct vb_belief_node node;
    double scatter = 0, mean = 0, freedom = (double)(r->n - 1);
    for (size_t i = 0; i < r->n; i++)
        mean += r->rate[i] / (double)r->n;
    for (size_t i = 0; i < r->n; i++)
        scatter += (r->rate[i] - mean) * (r->rate[i] - mean) / freedom;
    double step = (asinh(sqrt(scatter / r->v)) + 2 * FAINT / freedom) / (SCAN - 1);
    *top = 0;
    for (int i = 0; i < SCAN; i++)
        if ((l[i] = log_weight(r, i * step, &node)) > l[*top])
            *top = i;
    return step;
}

/* Where the weight is more than nothing. */
static void
range_of(const struct rates *r, double *lo, double *hi)
{
    double l[SCAN];
    int top, a = 0, b = SCAN - 1;
    double step = scan(r, l, &top);
    while (l[a] < l[top] - FAINT)
        a++;
    while (l[b] < l[top] - FAINT)
        b--;
    *lo = (a > 0 ? a - 1 : 0) * step;
    *hi = (b < SCAN - 1 ? b + 1 : b) * step;
}

static enum vb_err
weigh(const struct rates *r, double lo, double hi, struct vb_belief *b)
{
    gsl_integration_glfixed_table *rule =
        gsl_integration_glfixed_table_alloc(VB_BELIEF_NODES);
    double l[VB_BELIEF_NODES], x, w[VB_BELIEF_NODES], best = -INFINITY, sum = 0;
    if (!rule)
        return VB_EMEM;
    for (size_t i = 0; i < VB_BELIEF_NODES; i++) {
        gsl_integration_glfixed_point(lo, hi, i, &x, &w[i], rule);
        best = fmax(best, l[i] = log_weight(r, x, &b->node[i]));
    }
    gsl_integration_glfixed_table_free(rule);
    for (size_t i = 0; i < VB_BELIEF_NODES; i++)
        sum += b->node[i].weight = w[i] * exp(l[i] - best);
    for (size_t i = 0; i < VB_BELIEF_NODES; i++)
        b->node[i].weight /= sum;
    b->n = VB_BELIEF_NODES;
    return isfinite(sum) ? VB_OK : VB_EDOM;
}

static enum vb_err
take_rates(const double *rate, const double *var, size_t n, struct rates *r)
{
    double sum = 0;
    if (n < VB_FEW_RATES)
        return VB_EDOM;
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(rate[i]) || !isfinite(var[i]) || !(var[i] > 0))
            return VB_EDOM;
        sum += 1 / var[i];
    }
    *r = (struct rates){rate, var, n, (double)n / sum};
    return VB_OK;
}

enum vb_err
vb_belief_fit(const double *rate, const double *var, size_t n, struct vb_belief *out)
{
    struct rates r;
    struct vb_belief b;
    double lo, hi;
    enum vb_err e = take_rates(rate, var, n, &r);
    if (e)
        return e;
    range_of(&r, &lo, &hi);
    e = weigh(&r, lo, hi, &b);
    if (!e)
        *out = b;
    return e;
}

/* Where it is greatest between two points, by golden sections. */
static double
top_between(const struct rates *r, double lo, double hi)
{
    struct vb_belief_node node;
    for (int i = 0; i < SHRUNK; i++) {
        double width = GOLDEN * (hi - lo);
        if (log_weight(r, hi - width, &node) < log_weight(r, lo + width, &node))
            lo = hi - width;
        else
            hi = lo + width;
    }
    return (lo + hi) / 2;
}

enum vb_err
vb_belief_likeliest(const double *rate, const double *var, size_t n,
                    struct vb_belief *out)
{
    struct rates r;
    struct vb_belief_node none, some;
    double l[SCAN];
    int top;
    enum vb_err e = take_rates(rate, var, n, &r);
    if (e)
        return e;
    double step = scan(&r, l, &top);
    double x = top_between(&r, fmax(0, top - 1) * step, (top + 1) * step);
    double alike = log_weight(&r, 0, &none), differ = log_weight(&r, x, &some);
    if (!isfinite(fmax(alike, differ)))
        return VB_EDOM;
    const struct vb_belief_node *best = differ > alike ? &some : &none;
    vb_belief_sure(best->mu, best->tau2, out);
    return VB_OK;
}

/* --- how lash is set ----------------------------------------------------------------- */

/* Sums of two series about their means, by Welford (1962). */
struct scatter {
    double n, x, y, xx, xy;
};

static void
scatter_add(struct scatter *s, double x, double y)
{
    double d = x - s->x;
    s->n++;
    s->x += d / s->n;
    s->y += (y - s->y) / s->n;
    s->xx += d * (x - s->x);
    s->xy += d * (y - s->y);
}

enum vb_err
vb_setting_fit(const struct vb_set *set, size_t n, double mu, struct vb_setting *out)
{
    struct scatter left = {0}, moved = {0}, s2 = {0};
    struct vb_setting s = {.n = n};
    if (n < VB_FEW_SETTINGS || !isfinite(mu))
        return VB_EDOM;
    for (size_t i = 0; i < n; i++) {
        scatter_add(&left, set[i].left, 0);
        scatter_add(&s2, set[i].s2, 0);
        s.longest = fmax(s.longest, set[i].seen);
        if (!isnan(set[i].found))
            scatter_add(&moved, set[i].left,
                        set[i].found - mu * set[i].gap - set[i].left);
    }
    double a = left.xx / (left.n - 1) * (1 + 1 / left.n), c = 0;
    if (moved.n >= VB_FEW_SETTINGS)
        c = fmin(s2.x, fmax(0, -moved.xy / (moved.n - 1)));
    s.mean = left.x;
    s.stays = s2.x - c;
    s.var = fmax(0, a + s2.x - 2 * c);
    const double x[] = {s.mean, s.var, s.longest, moved.xy};
    if (!all_finite(x, sizeof x / sizeof *x))
        return VB_EDOM;
    *out = s;
    return VB_OK;
}

/* --- risk ---------------------------------------------------------------------------- */

/* That the least of k normals is above z. */
static double
all_above(double z, int k)
{
    return pow(gsl_cdf_ugaussian_Q(z), k);
}

/* P(a U + s Z_min >= x), a and s >= 0, U normal, Z_min the least of k normals. */
static double
above(double a, double s, int k, double x)
{
    double sum = 0;
    if (a == 0 && s == 0)
        return x <= 0;
    if (a <= s) {
        for (double u = -REACH; u <= REACH; u += U_STEP)
            sum += gsl_ran_ugaussian_pdf(u) * all_above((x - a * u) / s, k);
        return sum * U_STEP;
    }
    for (double z = -REACH; z <= REACH; z += Z_STEP)
        sum += k * gsl_ran_ugaussian_pdf(z) * all_above(z, k - 1) *
               gsl_cdf_ugaussian_Q((x - s * z) / a);
    return sum * Z_STEP;
}

/* That all valves of a side are inside at the end of the gap. */
static double
inside(const struct vb_relash_side *side, double gap)
{
    double sum = 0;
    for (size_t i = 0; i < side->rates.n; i++) {
        const struct vb_belief_node *b = &side->rates.node[i];
        double sd = sqrt(side->var + b->tau2 * gap * gap);
        sum += b->weight * above(gap * sqrt(b->var_mu), sd, side->valves,
                                 side->tight - side->level - b->mu * gap);
    }
    return sum;
}

static int
usable(const struct vb_relash_side *s)
{
    const double x[] = {s->tight, s->level, s->var};
    if (!all_finite(x, 3) || s->var < 0 || s->valves < 1 || s->rates.n < 1 ||
        s->rates.n > VB_BELIEF_NODES)
        return 0;
    for (size_t i = 0; i < s->rates.n; i++) {
        const struct vb_belief_node *b = &s->rates.node[i];
        const double y[] = {b->mu, b->weight, b->tau2, b->var_mu};
        if (!all_finite(y, 4) || b->weight < 0 || b->tau2 < 0 || b->var_mu < 0)
            return 0;
    }
    return 1;
}

enum vb_err
vb_relash_risk(const struct vb_relash_side *side, size_t n, double gap, double *risk)
{
    double all = 1;
    if (n < 1 || !isfinite(gap) || !(gap >= 0))
        return VB_EDOM;
    for (size_t i = 0; i < n; i++) {
        if (!usable(&side[i]))
            return VB_EDOM;
        all *= inside(&side[i], gap);
    }
    *risk = fmin(1, fmax(0, 1 - all));
    return VB_OK;
}

struct sides {
    const struct vb_relash_side *side;
    size_t n;
    double risk;
};

static double
beyond(double gap, void *data)
{
    const struct sides *s = data;
    double risk = 1;
    vb_relash_risk(s->side, s->n, gap, &risk);
    return risk - s->risk;
}

static enum vb_err
solve(struct sides *s, double lo, double hi, double *gap)
{
    gsl_root_fsolver *solver = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
    gsl_function f = {beyond, s};
    if (!solver)
        return VB_EMEM;
    // a sign changes between lo and hi: neither this nor a step can fail
    int rc = gsl_root_fsolver_set(solver, &f, lo, hi), more = 1;
    for (int i = 0; !rc && more && i < ROUNDS; i++) { // GCOVR_EXCL_BR_LINE: above
        rc = gsl_root_fsolver_iterate(solver);
        lo = gsl_root_fsolver_x_lower(solver);
        hi = gsl_root_fsolver_x_upper(solver);
        more = hi - lo > NARROW * hi;
    }
    *gap = lo;
    gsl_root_fsolver_free(solver);
    return rc ? VB_EDOM : VB_OK; // GCOVR_EXCL_BR_LINE: above
}

/* A gap of the right size: where a valve of the family is on its way to the limit. */
static double
guess(const struct sides *s, double most)
{
    double gap = most;
    for (size_t i = 0; i < s->n; i++) {
        const struct vb_belief *b = &s->side[i].rates;
        double rate = 0;
        for (size_t k = 0; k < b->n; k++)
            rate += b->node[k].weight * (fabs(b->node[k].mu) + 3 * sqrt(b->node[k].tau2));
        double h = s->side[i].level - s->side[i].tight;
        if (h > 0 && rate > 0)
            gap = fmin(gap, h / rate);
    }
    return gap;
}

/* From the guess by halves, up or down, to two gaps with the risk between them. */
enum vb_err
vb_relash_gap(const struct vb_relash_side *side, size_t n, double risk, double most,
              double *gap)
{
    struct sides s = {side, n, risk};
    double now, lo, hi;
    if (!(risk > 0 && risk < 1) || !(most > 0) || isinf(most))
        return VB_EDOM;
    enum vb_err e = vb_relash_risk(side, n, 0, &now);
    if (e)
        return e;
    if (now >= risk) {
        *gap = 0;
        return VB_OK;
    }
    lo = hi = guess(&s, most);
    while (beyond(lo, &s) >= 0) { // not at 0, where it is `now` that is below the risk
        hi = lo;
        lo = lo > DBL_MIN ? lo / 1.5 : 0;
    }
    for (; hi < most && beyond(hi, &s) < 0; hi = fmin(1.5 * hi, most))
        lo = hi;
    if (beyond(hi, &s) < 0) {
        *gap = most;
        return VB_OK;
    }
    return solve(&s, lo, hi, gap);
}
