/* From the table trials to what can be said of each gauge: arrays filled, formulas
 * called. */
#include "valvebook/gauge_study.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const char *
vb_basis_name(enum vb_basis b)
{
    static const char *const names[] = {"none", "step", "repeat", "crossed"};
    return names[b];
}

/* The readings of one gauge, which stand together. */
static size_t
readings_of(const struct vb_trials *t, size_t from)
{
    size_t k = from;
    while (k < t->n && t->trial[k].gauge == t->trial[from].gauge)
        k++;
    return k - from;
}

/* --- one gauge --------------------------------------------------------------------- */

#define UNITS 16 // of length, more than there are

static int
has_unit(const struct vb_unit *const *seen, size_t n, const struct vb_unit *unit)
{
    for (size_t i = 0; i < n; i++)
        if (seen[i] == unit)
            return 1;
    return 0;
}

/*
 * A gauge that shows both mm and inches has two steps, and mixing them would give a third
 * that it does not have: the coarser counts. Blades have none.
 */
static double
step_of(const struct vb_trial *t, size_t n, struct vb_dec *value)
{
    const struct vb_unit *seen[UNITS];
    size_t n_seen = 0;
    double widest = NAN, step;
    for (size_t i = 0; i < n; i++) {
        size_t k = 0;
        if (t[i].width.mant || has_unit(seen, n_seen, t[i].unit))
            continue;
        if (n_seen == UNITS) // GCOVR_EXCL_BR_LINE: there are not so many
            break;
        seen[n_seen++] = t[i].unit;
        for (size_t j = i; j < n; j++)
            if (!t[j].width.mant && t[j].unit == t[i].unit)
                value[k++] = t[j].mm;
        if (!vb_gauge_step(value, k, &step) && step > 0)
            widest = fmax(step, widest);
    }
    return widest;
}

/* A pair of blades shows nothing between them: the widest counts, if it is coarser. */
static void
take_blades(const struct vb_trial *t, size_t n, struct vb_gauge_said *s)
{
    for (size_t i = 0; i < n; i++) {
        double width = vb_dec_double(t[i].width);
        s->blades += width > 0;
        if (width > 0 && !(s->step >= width)) {
            s->step = width;
            s->by_blades = 1;
        }
    }
}

/* "one part, one trial only": two at least are needed of each. */
static int
too_few(struct vb_gauge_said *s)
{
    const struct vb_study_shape *h = &s->shape;
    const char *part = h->parts < 2 ? "one part" : "";
    const char *person = h->people < 2 ? "one person" : "";
    const char *trial = h->trials < 2 ? "one trial" : "";
    if (!*part && !*person && !*trial)
        return 0;
    snprintf(s->why, sizeof s->why, "%s%s%s%s%s only", part,
             *part && (*person || *trial) ? ", " : "", person,
             *person && *trial ? ", " : "", trial);
    return 1;
}

static void
name_gap(const struct vb_trials *t, struct vb_gauge_said *s)
{
    const struct vb_study_reading *gap = &s->shape.gap;
    const char *part = t->part[gap->part], *person = t->person[gap->person];
    char p[64], q[64];
    snprintf(s->why, sizeof s->why, "part '%s' by '%s' has no trial %zu",
             vb_quote(part, strlen(part), p, sizeof p),
             vb_quote(person, strlen(person), q, sizeof q), gap->trial);
}

static enum vb_err
cross(const struct vb_trials *t, const struct vb_study_reading *r,
      struct vb_gauge_said *s)
{
    const struct vb_study_shape *h = &s->shape;
    struct vb_msg m = {0};
    if (too_few(s))
        return VB_OK;
    if (!h->complete) {
        name_gap(t, s);
        return VB_OK;
    }
    enum vb_err e = vb_study_crossed(r, s->readings, &s->study, &m);
    s->crossed = !e;
    snprintf(s->why, sizeof s->why, "%s", m.text);
    return e == VB_EMEM ? e : VB_OK;
}

/* Where nothing was ever seen to differ nothing is known, least of all that u is 0. */
static void
judge(struct vb_gauge_said *s)
{
    double step = isnan(s->step) ? 0 : s->step, repeat = s->within;
    enum vb_err e = VB_EDOM;
    if (s->crossed) {
        s->basis = VB_BASIS_CROSSED;
        repeat = vb_study_used(&s->study)->var[VB_VAR_REPEAT];
        e = vb_study_u(&s->study, step, VB_GAUGE_CONFIDENCE, &s->u);
    } else if (s->within_df > 0) {
        s->basis = VB_BASIS_REPEAT;
        e = vb_repeat_u(repeat, s->within_df, step, VB_GAUGE_CONFIDENCE, &s->u);
    } else if (step > 0) {
        s->basis = VB_BASIS_STEP;
        e = vb_repeat_u(0, INFINITY, step, VB_GAUGE_CONFIDENCE, &s->u);
        s->u.k = s->u.expanded = NAN; // a rectangle has no tails to cover
    }
    s->coarse = s->basis >= VB_BASIS_REPEAT && s->u_step * s->u_step > repeat;
    if (!e && s->u.u > 0)
        return;
    s->basis = VB_BASIS_NONE;
    s->u = (struct vb_u){NAN, NAN, NAN, NAN};
}

static enum vb_err
look(const struct vb_trials *t, const struct vb_trial *first, struct vb_gauge_said *s,
     struct vb_study_reading *r, struct vb_dec *value)
{
    for (size_t i = 0; i < s->readings; i++)
        r[i] = (struct vb_study_reading){first[i].part, first[i].person, first[i].trial,
                                         vb_dec_double(first[i].mm)};
    s->gauge = first->gauge;
    s->step = step_of(first, s->readings, value);
    take_blades(first, s->readings, s);
    s->u_step = NAN;
    if (!isnan(s->step))
        (void)vb_u_resolution(s->step, &s->u_step);
    s->within = NAN;
    enum vb_err e = vb_study_shape(r, s->readings, &s->shape);
    if (!e)
        e = vb_study_within(r, s->readings, &s->within, &s->within_df);
    if (!e)
        e = cross(t, r, s);
    if (!e)
        judge(s);
    return e;
}

enum vb_err
vb_gauge_study(const struct vb_trials *t, struct vb_gauge_said **out)
{
    struct vb_gauge_said *said = calloc(t->n_gauges + 1, sizeof *said);
    struct vb_study_reading *r = calloc(t->n + 1, sizeof *r);
    struct vb_dec *value = calloc(t->n + 1, sizeof *value);
    enum vb_err e = said && r && value ? VB_OK : VB_EMEM;
    for (size_t i = 0, g = 0; !e && i < t->n; i += said[g++].readings) {
        said[g].readings = readings_of(t, i);
        e = look(t, t->trial + i, &said[g], r, value);
    }
    free(value);
    free(r);
    if (e)
        free(said);
    else
        *out = said;
    return e;
}

int
vb_gauge_incomplete(const struct vb_trials *t, const struct vb_gauge_said *s,
                    struct vb_msg *m)
{
    static const char *const left[] = {
        [VB_BASIS_NONE] = "nothing can be said",
        [VB_BASIS_STEP] = "resolution alone",
        [VB_BASIS_REPEAT] = "repeatability alone",
        [VB_BASIS_CROSSED] = "",
    };
    const char *name = t->gauge[s->gauge];
    char q[64];
    if (!s->crossed)
        vb_msg_set(m, "gauge '%s': %s: %s", vb_quote(name, strlen(name), q, sizeof q),
                   s->why, left[s->basis]);
    return !s->crossed;
}

/* --- two gauges -------------------------------------------------------------------- */

/* The mean reading of a part by one gauge. */
struct mean {
    size_t part, n;
    double value;
};

/* Means of the readings of each part, gauge by gauge. from[g] is where gauge g begins. */
static void
means_of(const struct vb_trials *t, struct mean *mean, size_t *from)
{
    size_t k = 0;
    for (size_t i = 0, next; i < t->n; i = next) {
        const struct vb_trial *a = &t->trial[i];
        double base = vb_dec_double(a->mm), sum = 0;
        for (next = i; next < t->n && t->trial[next].gauge == a->gauge &&
                       t->trial[next].part == a->part;
             next++)
            sum += vb_dec_double(t->trial[next].mm) - base;
        if (i == 0 || a->gauge != a[-1].gauge)
            from[a->gauge] = k;
        mean[k++] = (struct mean){a->part, next - i, base + sum / (double)(next - i)};
    }
    from[t->n_gauges] = k;
}

/* Parts that both have read, in the order of their numbers. x, y: means of each. */
static size_t
match(const struct mean *mean, const size_t *from, struct vb_gauge_pair *p, double *x,
      double *y)
{
    size_t i = from[p->first], j = from[p->second], n = 0;
    while (i < from[p->first + 1] && j < from[p->second + 1]) {
        if (mean[i].part == mean[j].part) {
            x[n] = mean[i].value;
            y[n++] = mean[j].value;
            p->n_first += mean[i].n;
            p->n_second += mean[j].n;
        }
        size_t a = mean[i].part, b = mean[j].part;
        i += a <= b;
        j += b <= a;
    }
    return n;
}

struct pairs {
    struct vb_gauge_pair *pair;
    size_t n, size;
};

static enum vb_err
add_pair(struct pairs *all, const struct vb_gauge_pair *p)
{
    if (all->n == all->size) {
        size_t size = all->size ? 2 * all->size : 16;
        struct vb_gauge_pair *q = realloc(all->pair, size * sizeof *q);
        if (!q)
            return VB_EMEM;
        all->pair = q;
        all->size = size;
    }
    all->pair[all->n++] = *p;
    return VB_OK;
}

static enum vb_err
compare(const struct vb_trials *t, const struct mean *mean, const size_t *from, double *x,
        struct pairs *all)
{
    enum vb_err e = VB_OK;
    for (size_t i = 0; !e && i < t->n_gauges; i++)
        for (size_t j = i + 1; !e && j < t->n_gauges; j++) {
            struct vb_gauge_pair p = {.first = i, .second = j};
            size_t n = match(mean, from, &p, x, x + t->n_parts);
            if (n < 2)
                continue;
            e = vb_gauges_agree(x, x + t->n_parts, n, VB_GAUGE_CONFIDENCE, &p.agree);
            if (!e) // GCOVR_EXCL_BR_LINE: a vb_dec is never too large for VB_EDOM
                e = add_pair(all, &p);
        }
    return e;
}

enum vb_err
vb_gauge_pairs(const struct vb_trials *t, struct vb_gauge_pair **out, size_t *n)
{
    struct pairs all = {0};
    struct mean *mean = calloc(t->n + 1, sizeof *mean);
    size_t *from = calloc(t->n_gauges + 1, sizeof *from);
    double *x = calloc(t->n_parts + 1, 2 * sizeof *x);
    enum vb_err e = mean && from && x ? VB_OK : VB_EMEM;
    if (!e) {
        means_of(t, mean, from);
        e = compare(t, mean, from, x, &all);
    }
    free(x);
    free(from);
    free(mean);
    if (e) {
        free(all.pair);
        return e;
    }
    *out = all.pair;
    *n = all.n;
    return VB_OK;
}
