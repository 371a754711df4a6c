#include "valvebook/gauge.h"

#include <float.h>
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "finite.h"

/* Beyond this t and normal agree to ten digits; far beyond, GSL's t quantile is lost. */
#define NORMAL_DF 1e10

/* --- crossed study ----------------------------------------------------------------- */

enum axis { PART, PERSON, TRIAL, AXES };

/* The design as it should be: every combination of the numbers that occur. */
struct design {
    size_t *level[AXES]; // ascending, each number once
    size_t n[AXES];
};

static size_t
level_of(const struct vb_study_reading *r, int axis)
{
    return axis == PART ? r->part : axis == PERSON ? r->person : r->trial;
}

static int
by_place(const void *pa, const void *pb)
{
    for (int axis = PART; axis < AXES; axis++) {
        size_t a = level_of(pa, axis), b = level_of(pb, axis);
        if (a != b)
            return a < b ? -1 : 1;
    }
    return 0;
}

static int
by_number(const void *pa, const void *pb)
{
    size_t a = *(const size_t *)pa, b = *(const size_t *)pb;
    return (a > b) - (a < b);
}

static size_t
levels(const struct vb_study_reading *r, size_t n, int axis, size_t *out)
{
    for (size_t i = 0; i < n; i++)
        out[i] = level_of(&r[i], axis);
    qsort(out, n, sizeof *out, by_number);
    size_t k = 1;
    for (size_t i = 1; i < n; i++)
        if (out[i] != out[k - 1])
            out[k++] = out[i];
    return k;
}

static enum vb_err
values_usable(const struct vb_study_reading *r, size_t n, struct vb_msg *m)
{
    for (size_t i = 0; i < n; i++) {
        if (isfinite(r[i].value))
            continue;
        vb_msg_set(m, "part %zu, person %zu, trial %zu has no number", r[i].part,
                   r[i].person, r[i].trial);
        return VB_EDOM;
    }
    for (size_t i = 1; i < n; i++) {
        if (by_place(&r[i - 1], &r[i]) != 0)
            continue;
        vb_msg_set(m, "part %zu, person %zu, trial %zu is there twice", r[i].part,
                   r[i].person, r[i].trial);
        return VB_EDOM;
    }
    return VB_OK;
}

static enum vb_err
two_of_each(const struct design *d, struct vb_msg *m)
{
    static const char *const one[AXES] = {"part", "person", "trial"};
    for (int axis = PART; axis < AXES; axis++) {
        if (d->n[axis] >= 2)
            continue;
        vb_msg_set(m, "only one %s, at least two are needed", one[axis]);
        return VB_EDOM;
    }
    return VB_OK;
}

/*
 * The readings are in order and none is there twice, so the first that is not where a
 * complete design has it marks the first gap. That is never past the first n places.
 * Returns 0 and the gap.
 */
static int
complete(const struct vb_study_reading *r, size_t n, const struct design *d,
         struct vb_study_reading *gap)
{
    size_t at = 0;
    for (size_t i = 0; i < d->n[PART]; i++)
        for (size_t j = 0; j < d->n[PERSON]; j++)
            for (size_t k = 0; k < d->n[TRIAL]; k++, at++) {
                const struct vb_study_reading want = {
                    d->level[PART][i], d->level[PERSON][j], d->level[TRIAL][k], 0};
                if (at < n && by_place(&r[at], &want) == 0)
                    continue;
                *gap = want;
                return 0;
            }
    return 1;
}

static enum vb_err
no_gap(const struct vb_study_reading *r, size_t n, const struct design *d,
       struct vb_msg *m)
{
    struct vb_study_reading gap;
    if (complete(r, n, d, &gap))
        return VB_OK;
    vb_msg_set(m, "part %zu, person %zu, trial %zu is missing", gap.part, gap.person,
               gap.trial);
    return VB_EDOM;
}

static struct vb_study_sum
sum_row(double ss, double df)
{
    return (struct vb_study_sum){ss, df, df > 0 ? ss / df : NAN};
}

/* The square of what four roundings of the largest reading come to, n times. */
static double
grain(const struct vb_study_reading *r, size_t n)
{
    double largest = 0;
    for (size_t i = 0; i < n; i++)
        largest = fmax(largest, fabs(r[i].value));
    double g = 4 * DBL_EPSILON * largest;
    return (double)n * g * g;
}

/*
 * Sums of squares of the sorted readings, by way of the means of cells, parts and people.
 * Everything is taken about the first reading, so that a constant costs no digits.
 *   mean   [parts x people + parts + people] zeros, to work in
 */
static void
sums(const struct vb_study_reading *r, const struct design *d, double *mean,
     struct vb_study_model *out)
{
    size_t a = d->n[PART], b = d->n[PERSON], k = d->n[TRIAL], n = a * b * k;
    double *cell = mean, *part = cell + a * b, *person = part + a;
    double grand = 0, base = r[0].value, least = grain(r, n);
    for (size_t i = 0; i < n; i++) {
        double x = (r[i].value - base) / (double)k;
        cell[i / k] += x;
        part[i / k / b] += x / (double)b;
        person[i / k % b] += x / (double)a;
        grand += x / (double)(a * b);
    }
    double ss[4] = {0};
    for (size_t i = 0; i < n; i++) {
        double p = part[i / k / b] - grand, q = person[i / k % b] - grand;
        double both = cell[i / k] - grand - p - q;
        double e = r[i].value - base - cell[i / k];
        ss[0] += p * p;
        ss[1] += q * q;
        ss[2] += both * both;
        ss[3] += e * e;
    }
    for (int i = 0; i < 4; i++)
        ss[i] = ss[i] < least ? 0 : ss[i];
    out->part = sum_row(ss[0], (double)(a - 1));
    out->people = sum_row(ss[1], (double)(b - 1));
    out->interaction = sum_row(ss[2], (double)((a - 1) * (b - 1)));
    out->repeat = sum_row(ss[3], (double)(a * b * (k - 1)));
}

static double
categories(double part, double gauge)
{
    if (!(part > 0))
        return 1;
    return fmax(1, floor(sqrt(2 * part / gauge)));
}

/* against: the mean square that parts and people are judged by. */
static void
components(const struct design *d, double against, struct vb_study_model *m)
{
    double a = (double)d->n[PART], b = (double)d->n[PERSON], k = (double)d->n[TRIAL];
    double *v = m->var;
    v[VB_VAR_REPEAT] = m->repeat.ms;
    v[VB_VAR_PEOPLE] = fmax(0, (m->people.ms - against) / (a * k));
    v[VB_VAR_INTERACTION] = fmax(0, (against - m->repeat.ms) / k);
    v[VB_VAR_GAUGE] = v[VB_VAR_REPEAT] + v[VB_VAR_PEOPLE] + v[VB_VAR_INTERACTION];
    v[VB_VAR_PART] = fmax(0, (m->part.ms - against) / (b * k));
    v[VB_VAR_TOTAL] = v[VB_VAR_GAUGE] + v[VB_VAR_PART];
    for (int i = 0; i < VB_VAR_COUNT; i++) {
        m->share_pct[i] = 100 * v[i] / v[VB_VAR_TOTAL];
        m->study_pct[i] = 100 * sqrt(v[i] / v[VB_VAR_TOTAL]);
    }
    m->categories = categories(v[VB_VAR_PART], v[VB_VAR_GAUGE]);
}

static void
test_interaction(struct vb_study *s)
{
    const struct vb_study_sum *i = &s->with.interaction, *e = &s->with.repeat;
    s->f = i->ms / e->ms;
    if (e->ms > 0)
        s->p = gsl_cdf_fdist_Q(s->f, i->df, e->df);
    else
        s->p = i->ms > 0 ? 0 : 1;
    s->pooled = s->p > VB_STUDY_POOL_P;
}

static enum vb_err
analyse(const struct vb_study_reading *r, const struct design *d, struct vb_study *out,
        struct vb_msg *m)
{
    size_t a = d->n[PART], b = d->n[PERSON];
    double *mean = calloc(a * b + a + b, sizeof *mean); // n at most
    if (!mean)
        return VB_EMEM;
    struct vb_study s = {.parts = a, .people = b, .trials = d->n[TRIAL]};
    sums(r, d, mean, &s.with);
    free(mean);

    s.without = s.with;
    const struct vb_study_sum *i = &s.with.interaction, *e = &s.with.repeat;
    s.without.interaction = sum_row(0, 0);
    s.without.repeat = sum_row(i->ss + e->ss, i->df + e->df);
    test_interaction(&s);
    components(d, s.with.interaction.ms, &s.with);
    components(d, s.without.repeat.ms, &s.without);
    // of millions of readings GSL does not find p
    const double x[] = {s.with.var[VB_VAR_TOTAL], s.without.var[VB_VAR_TOTAL], s.p};
    if (!all_finite(x, sizeof x / sizeof *x)) {
        vb_msg_set(m, "values too large for their squares, or too many");
        return VB_EDOM;
    }
    *out = s;
    return VB_OK;
}

/* A sorted copy of the readings, and their design; both to be freed, level[PART] too. */
static enum vb_err
arrange(const struct vb_study_reading *reading, size_t n, struct vb_study_reading **out,
        struct design *d)
{
    if (n > SIZE_MAX / AXES / sizeof *reading)
        return VB_EMEM;
    struct vb_study_reading *r = malloc(n * sizeof *r);
    size_t *level = malloc(AXES * n * sizeof *level);
    if (!r || !level) {
        free(level);
        free(r);
        return VB_EMEM;
    }
    memcpy(r, reading, n * sizeof *r);
    qsort(r, n, sizeof *r, by_place);
    for (int axis = PART; axis < AXES; axis++) {
        d->level[axis] = level + (size_t)axis * n;
        d->n[axis] = levels(r, n, axis, d->level[axis]);
    }
    *out = r;
    return VB_OK;
}

enum vb_err
vb_study_shape(const struct vb_study_reading *reading, size_t n,
               struct vb_study_shape *out)
{
    struct design d = {0};
    struct vb_study_reading *r = NULL;
    enum vb_err err = n ? arrange(reading, n, &r, &d) : VB_EDOM;
    if (err)
        return err;
    *out = (struct vb_study_shape){
        .parts = d.n[PART], .people = d.n[PERSON], .trials = d.n[TRIAL]};
    out->complete = complete(r, n, &d, &out->gap);
    free(d.level[PART]);
    free(r);
    return VB_OK;
}

enum vb_err
vb_study_crossed(const struct vb_study_reading *reading, size_t n, struct vb_study *out,
                 struct vb_msg *m)
{
    if (n == 0) {
        vb_msg_set(m, "no readings");
        return VB_EDOM;
    }
    struct design d = {0};
    struct vb_study_reading *r = NULL;
    enum vb_err err = arrange(reading, n, &r, &d);
    if (err)
        return err;
    err = values_usable(r, n, m);
    if (!err)
        err = two_of_each(&d, m);
    if (!err)
        err = no_gap(r, n, &d, m);
    if (!err)
        err = analyse(r, &d, out, m);
    free(d.level[PART]);
    free(r);
    return err;
}

const struct vb_study_model *
vb_study_used(const struct vb_study *s)
{
    return s->pooled ? &s->without : &s->with;
}

/* --- two gauges -------------------------------------------------------------------- */

static int
inside_0_1(double p)
{
    return p > 0 && p < 1;
}

static void
interval(double centre, double half, double out[2])
{
    out[0] = centre - half;
    out[1] = centre + half;
}

static void
paired_t(struct vb_agree *g)
{
    g->df = (double)(g->n - 1);
    g->t = g->sd > 0 || g->mean != 0 ? g->mean / (g->sd / sqrt((double)g->n)) : 0;
    g->p = isinf(g->t) ? 0 : fmin(1, 2 * gsl_cdf_tdist_Q(fabs(g->t), g->df));
}

enum vb_err
vb_gauges_agree(const double *first, const double *second, size_t n, double confidence,
                struct vb_agree *out)
{
    if (n < 2 || !inside_0_1(confidence))
        return VB_EDOM;
    struct vb_agree g = {.n = n};
    // About the first difference: where all are alike, sd is 0 and not nearly 0.
    double base = first[0] - second[0], sum = 0, ss = 0, nn = (double)n;
    for (size_t i = 0; i < n; i++)
        sum += first[i] - second[i] - base;
    for (size_t i = 0; i < n; i++) {
        double e = first[i] - second[i] - base - sum / nn;
        ss += e * e;
    }
    g.mean = base + sum / nn;
    g.sd = sqrt(ss / (nn - 1));
    double t = gsl_cdf_tdist_Qinv((1 - confidence) / 2, nn - 1);
    double se = g.sd * sqrt(1 / nn + 1.96 * 1.96 / (2 * (nn - 1)));
    g.lo = g.mean - 1.96 * g.sd;
    g.hi = g.mean + 1.96 * g.sd;
    interval(g.mean, t * g.sd / sqrt(nn), g.mean_ci);
    interval(g.lo, t * se, g.lo_ci);
    interval(g.hi, t * se, g.hi_ci);
    if (!isfinite(g.hi_ci[1] - g.lo_ci[0])) // where mean, sd or t is not, neither is this
        return VB_EDOM;
    paired_t(&g);
    *out = g;
    return VB_OK;
}

/* --- standard uncertainties -------------------------------------------------------- */

enum vb_err
vb_u_resolution(double d, double *u)
{
    if (!isfinite(d) || d < 0)
        return VB_EDOM;
    *u = d / sqrt(12);
    return VB_OK;
}

enum vb_err
vb_u_go_nogo(double go, double nogo, double *reading, double *u)
{
    double width = nogo - go;
    if (!isfinite(go) || !isfinite(width) || !(width > 0))
        return VB_EDOM;
    *reading = go + width / 2;
    *u = width / sqrt(12);
    return VB_OK;
}

/* Effective degrees of freedom are 1 or more, as each df is, but for rounding. */
static double
coverage(double df, double confidence)
{
    double tail = (1 - confidence) / 2;
    if (df > NORMAL_DF)
        return gsl_cdf_ugaussian_Qinv(tail);
    return gsl_cdf_tdist_Qinv(tail, fmax(1, floor(df * (1 + 4 * DBL_EPSILON))));
}

enum vb_err
vb_u_combine(const double *u, const double *df, size_t n, double confidence,
             struct vb_u *out)
{
    if (n == 0 || !inside_0_1(confidence))
        return VB_EDOM;
    double sum = 0, spent = 0;
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(u[i]) || u[i] < 0 || (df && !(df[i] >= 1)))
            return VB_EDOM;
        sum += u[i] * u[i];
    }
    for (size_t i = 0; df && sum > 0 && i < n; i++) {
        double share = u[i] * u[i] / sum;
        spent += share * share / df[i];
    }
    struct vb_u c = {.u = sqrt(sum), .df = 1 / spent};
    c.k = coverage(c.df, confidence);
    c.expanded = c.k * c.u;
    if (!isfinite(c.expanded)) // nor is it where u is not
        return VB_EDOM;
    *out = c;
    return VB_OK;
}
