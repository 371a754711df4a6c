#include "valvebook/gauge_u.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/unit.h"

/* --- the step of a display --------------------------------------------------------- */

/* mant * 10^(scale - from.scale), if an int64_t holds it. */
static int
at_scale(struct vb_dec from, int scale, int64_t *mant)
{
    int64_t x = from.mant;
    for (int k = from.scale; k < scale && x != 0; k++)
        if (__builtin_mul_overflow(x, 10, &x))
            return 0;
    *mant = x;
    return 1;
}

static struct vb_dec
without_zeros(struct vb_dec d)
{
    for (; d.mant != 0 && d.mant % 10 == 0; d.scale--)
        d.mant /= 10;
    return d;
}

static uint64_t
common_divisor(uint64_t a, uint64_t b)
{
    while (b != 0) {
        uint64_t rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

enum vb_err
vb_gauge_step(const struct vb_dec *value, size_t n, double *step)
{
    int scale = 0;
    uint64_t g = 0;
    int64_t first = 0, x, gap;
    for (size_t i = 0; i < n; i++)
        if (value[i].mant != 0 && without_zeros(value[i]).scale > scale)
            scale = without_zeros(value[i]).scale;
    for (size_t i = 0; i < n; i++) {
        if (!at_scale(without_zeros(value[i]), scale, &x))
            return VB_ERANGE;
        if (i == 0)
            first = x;
        if (__builtin_sub_overflow(x, first, &gap) || gap == INT64_MIN)
            return VB_ERANGE;
        g = common_divisor((uint64_t)(gap < 0 ? -gap : gap), g);
    }
    *step = vb_dec_double((struct vb_dec){(int64_t)g, scale});
    return VB_OK;
}

/* --- repeatability ----------------------------------------------------------------- */

static int
by_cell(const void *pa, const void *pb)
{
    const struct vb_study_reading *a = pa, *b = pb;
    if (a->part != b->part)
        return a->part < b->part ? -1 : 1;
    if (a->person != b->person)
        return a->person < b->person ? -1 : 1;
    return (a->trial > b->trial) - (a->trial < b->trial);
}

/* About the first of the cell, so that readings that are all alike give 0. */
static double
cell_squares(const struct vb_study_reading *r, size_t n)
{
    double sum = 0, ss = 0;
    for (size_t i = 0; i < n; i++)
        sum += r[i].value - r[0].value;
    for (size_t i = 0; i < n; i++) {
        double e = r[i].value - r[0].value - sum / (double)n;
        ss += e * e;
    }
    return ss;
}

enum vb_err
vb_study_within(const struct vb_study_reading *reading, size_t n, double *var, double *df)
{
    if (n == 0)
        return VB_EDOM;
    if (n > SIZE_MAX / sizeof *reading)
        return VB_EMEM;
    for (size_t i = 0; i < n; i++)
        if (!isfinite(reading[i].value))
            return VB_EDOM;
    struct vb_study_reading *r = malloc(n * sizeof *r);
    if (!r)
        return VB_EMEM;
    memcpy(r, reading, n * sizeof *r);
    qsort(r, n, sizeof *r, by_cell);
    double ss = 0;
    size_t free_n = 0;
    for (size_t i = 0, k; i < n; i = k) {
        for (k = i + 1; k < n && r[k].part == r[i].part && r[k].person == r[i].person;)
            k++;
        ss += cell_squares(r + i, k - i);
        free_n += k - i - 1;
    }
    free(r);
    if (!isfinite(ss))
        return VB_EDOM;
    *var = free_n ? ss / (double)free_n : NAN;
    *df = (double)free_n;
    return VB_OK;
}

/* --- one reading by one person ----------------------------------------------------- */

#define TERMS 4

/*
 * The term that lifts a repeatability of `var` to that of the step. It is known, so its
 * degrees of freedom are without limit.
 */
static enum vb_err
lift(double step, double var, double *u, double *df)
{
    double least;
    enum vb_err e = vb_u_resolution(step, &least);
    if (e)
        return e;
    *u = sqrt(fmax(0, least * least - var));
    *df = INFINITY;
    return VB_OK;
}

enum vb_err
vb_study_u(const struct vb_study *s, double step, double confidence, struct vb_u *out)
{
    const struct vb_study_model *m = vb_study_used(s);
    double a = (double)s->parts, r = (double)s->trials;
    double of_e = 1, of_ab = 0, of_b = 0;
    double *against = s->pooled ? &of_e : &of_ab;
    if (m->var[VB_VAR_PEOPLE] > 0) {
        of_b = 1 / (a * r);
        *against -= 1 / (a * r);
    }
    if (m->var[VB_VAR_INTERACTION] > 0) {
        of_ab += 1 / r;
        of_e -= 1 / r;
    }
    // A factor below 0 needs people above an interaction of 0, which is never unpooled.
    double u[TERMS] = {
        sqrt(of_e * m->repeat.ms),
        s->pooled ? 0 : sqrt(fmax(0, of_ab) * m->interaction.ms),
        sqrt(of_b * m->people.ms),
    };
    double df[TERMS] = {m->repeat.df, s->pooled ? INFINITY : m->interaction.df,
                        m->people.df};
    enum vb_err e = lift(step, m->var[VB_VAR_REPEAT], &u[3], &df[3]);
    return e ? e : vb_u_combine(u, df, TERMS, confidence, out);
}

enum vb_err
vb_repeat_u(double var, double df, double step, double confidence, struct vb_u *out)
{
    if (!(var >= 0))
        return VB_EDOM;
    double u[2] = {sqrt(var)}, n[2] = {df};
    enum vb_err e = lift(step, var, &u[1], &n[1]);
    return e ? e : vb_u_combine(u, n, 2, confidence, out);
}

double
vb_tolerance_pct(double u, double tolerance)
{
    return 100 * 6 * u / tolerance;
}

int
vb_tolerance_parse(const char *s, double *mm)
{
    struct vb_dec d;
    size_t used;
    if (vb_dec_prefix(s, strlen(s), '.', 0, &d, &used) || d.mant <= 0)
        return 0;
    const struct vb_unit *u = vb_unit_find(s + used, strlen(s + used));
    if (!u || u->dim != VB_DIM_LENGTH || vb_unit_convert(u, d, &d))
        return 0;
    *mm = vb_dec_double(d);
    return 1;
}
