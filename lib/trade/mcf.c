#include "valvebook/mcf.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int
vb_watched(const struct vb_watch *w, size_t n, size_t engines,
           const struct vb_replaced *r, size_t k)
{
    for (size_t i = 0; i < n; i++)
        if (!isfinite(w[i].from) || !isfinite(w[i].to) || !(w[i].from < w[i].to) ||
            w[i].engine >= engines)
            return 0;
    for (size_t i = 0; i < k; i++)
        if (r[i].watch >= n || !isfinite(r[i].count) || !(r[i].count > 0) ||
            !(r[i].age > w[r[i].watch].from) || !(r[i].age <= w[r[i].watch].to))
            return 0;
    return 1;
}

static int
by_age(const void *a, const void *b)
{
    const struct vb_replaced *x = a, *y = b;
    return (x->age > y->age) - (x->age < y->age);
}

/* What is carried from age to age. */
struct fit {
    const struct vb_watch *watch;
    size_t n, engines;
    double *off;  // [engines] replacements of each beyond what was expected, over n_l
    double *here; // [engines] replacements at this age
    double mcf, poisson;
};

/*
 * One age: `r` are its [k] replacements. An engine's term of the sum grows by
 * (k_il - Y_il d_l) / n_l, also where it had no replacement.
 */
static void
step_at(struct fit *f, const struct vb_replaced *r, size_t k, struct vb_mcf_step *s)
{
    *s = (struct vb_mcf_step){.age = r->age};
    memset(f->here, 0, f->engines * sizeof *f->here);
    for (size_t i = 0; i < k; i++) {
        s->count += r[i].count;
        f->here[f->watch[r[i].watch].engine] += r[i].count;
    }
    for (size_t i = 0; i < f->n; i++)
        s->at_risk += f->watch[i].from < s->age && s->age <= f->watch[i].to;
    double at_risk = (double)s->at_risk, mean = s->count / at_risk, sum = 0;
    for (size_t i = 0; i < f->n; i++)
        if (f->watch[i].from < s->age && s->age <= f->watch[i].to)
            f->here[f->watch[i].engine] -= mean;
    for (size_t i = 0; i < f->engines; i++) {
        f->off[i] += f->here[i] / at_risk;
        sum += f->off[i] * f->off[i];
    }
    s->mcf = f->mcf += mean;
    s->se = sqrt(sum);
    f->poisson += s->count / (at_risk * at_risk);
    s->se_poisson = sqrt(f->poisson);
}

static size_t
steps_of(struct fit *f, const struct vb_replaced *r, size_t k, double z,
         struct vb_mcf_step *s)
{
    size_t n = 0;
    for (size_t i = 0, j; i < k; i = j) {
        for (j = i; j < k && r[j].age == r[i].age;)
            j++;
        step_at(f, r + i, j - i, &s[n]);
        double wide = exp(z * fmax(s[n].se, s[n].se_poisson) / s[n].mcf);
        s[n].lo = s[n].mcf / wide;
        s[n].hi = s[n].mcf * wide;
        n++;
    }
    return n;
}

enum vb_err
vb_mcf_fit(const struct vb_watch *watch, size_t n, size_t engines,
           const struct vb_replaced *replaced, size_t k, double confidence,
           struct vb_mcf_step **step, size_t *steps)
{
    if (!(confidence > 0 && confidence < 1) ||
        !vb_watched(watch, n, engines, replaced, k))
        return VB_EDOM;
    if (k == 0) {
        *step = NULL;
        *steps = 0;
        return VB_OK;
    }
    struct fit f = {.watch = watch, .n = n, .engines = engines};
    struct vb_replaced *r = malloc(k * sizeof *r);
    struct vb_mcf_step *s = calloc(k, sizeof *s);
    f.off = calloc(engines, sizeof *f.off);
    f.here = calloc(engines, sizeof *f.here);
    enum vb_err e = r && s && f.off && f.here ? VB_OK : VB_EMEM;
    if (!e) {
        memcpy(r, replaced, k * sizeof *r);
        qsort(r, k, sizeof *r, by_age);
        *steps = steps_of(&f, r, k, gsl_cdf_ugaussian_Pinv(0.5 + confidence / 2), s);
        *step = s;
        s = NULL;
    }
    free(f.here);
    free(f.off);
    free(s);
    free(r);
    return e;
}
