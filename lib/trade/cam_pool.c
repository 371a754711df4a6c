#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_cdf.h>

#include "gls.h"
#include "valvebook/shift.h"

#define RAISE_P 0.05 // below, the valves scatter more than they may
#define ODD_P   0.0027

/* cam - what pooling one cam's shifts works on; too large for the stack. */
struct cam {
    struct vb_gls_item x[VB_CAM_VALVES];
    struct vb_gls g;
    struct vb_cam_shift c;
};

static int
usable(const struct vb_shift *s)
{
    if (!isfinite(s->drive) || !(s->u_own > 0) || !(s->u_rest > 0))
        return 0;
    return isfinite(s->u_own) && isfinite(s->u_rest) && isfinite(s->u_tdc[0]) &&
           isfinite(s->u_tdc[1]);
}

static enum vb_err
take(const struct vb_shift *s, size_t n, struct vb_gls_item *x)
{
    if (n == 0 || n > VB_CAM_VALVES)
        return VB_EDOM;
    for (size_t i = 0; i < n; i++) {
        if (!usable(&s[i]))
            return VB_EDOM;
        x[i] = (struct vb_gls_item){.y = s[i].drive,
                                    .own2 = s[i].u_own * s[i].u_own,
                                    .tdc = {s[i].tdc[0], s[i].tdc[1]},
                                    .u_tdc = {-s[i].u_tdc[0], s[i].u_tdc[1]}};
    }
    return VB_OK;
}

/* Phase and its two parts, with the weights of drive so that they add up. */
static void
pool_phase(const struct vb_shift *s, const struct vb_gls *g, struct vb_cam_shift *c)
{
    double lash2 = 0;
    for (size_t i = 0; i < g->n; i++) {
        c->phase += g->w[i] * s[i].phase;
        c->lash_phase += g->w[i] * s[i].lash_phase;
        if (s[i].how == VB_SPLIT_PROFILE) {
            lash2 += g->w[i] * g->w[i] * s[i].u_lash_phase * s[i].u_lash_phase;
            c->n_profile++;
        }
    }
    c->drive = g->y;
    c->u_lash_phase = c->n_profile < g->n ? NAN : sqrt(lash2);
    c->u_drive = sqrt(g->var);
    c->u_phase = sqrt(fmax(0, g->var - lash2));
}

/* TDC goes out of a duration, so nothing is in common: plain weights, those of rest. */
static void
pool_duration(const struct vb_shift *s, size_t n, struct vb_cam_shift *c)
{
    double sum = 0, total2 = 0, lash2 = 0;
    for (size_t i = 0; i < n; i++)
        sum += 1 / (s[i].u_rest * s[i].u_rest);
    for (size_t i = 0; i < n; i++) {
        double w = 1 / (s[i].u_rest * s[i].u_rest) / sum;
        c->duration += w * s[i].duration;
        c->lash_duration += w * s[i].lash_duration;
        c->rest += w * s[i].rest;
        total2 += w * w * s[i].u_duration * s[i].u_duration;
        lash2 += w * w * s[i].u_lash_duration * s[i].u_lash_duration;
    }
    c->not_lash = 1;
    for (size_t i = 0; i < n; i++)
        c->not_lash &= s[i].not_lash;
    c->u_duration = sqrt(total2);
    c->u_lash_duration = sqrt(lash2);
    c->u_rest = sqrt(1 / sum);
}

static void
judge(const struct vb_gls *g, const struct vb_gls_item *x, struct vb_cam_shift *c)
{
    double df = (double)g->n - 1;
    c->k = VB_SHIFT_K;
    c->chi2 = g->chi2;
    c->p = g->n > 1 ? gsl_cdf_chisq_Q(g->chi2, df) : NAN;
    c->raised = c->p < RAISE_P ? sqrt(g->chi2 / df) : 1;
    // of two that differ nobody can say which is odd
    c->odd = c->p < ODD_P && g->n > 2 ? vb_gls_farthest(g, x) : g->n;
    c->u_drive *= c->raised;
    c->u_phase *= c->raised;
    c->beyond = fabs(c->drive) > c->k * c->u_drive;
    c->phase_beyond = fabs(c->phase) > c->k * c->u_phase;
    c->rest_beyond = fabs(c->rest) > c->k * c->u_rest;
}

static enum vb_err
pool(const struct vb_shift *s, size_t n, struct cam *cam)
{
    enum vb_err e = take(s, n, cam->x);
    if (!e)
        e = vb_gls_mean(cam->x, n, &cam->g);
    if (e)
        return e;
    cam->c = (struct vb_cam_shift){.n = n};
    pool_phase(s, &cam->g, &cam->c);
    pool_duration(s, n, &cam->c);
    judge(&cam->g, cam->x, &cam->c);
    return VB_OK;
}

enum vb_err
vb_cam_pool(const struct vb_shift *s, size_t n, struct vb_cam_shift *out)
{
    struct cam *cam = malloc(sizeof *cam);
    enum vb_err e = cam ? pool(s, n, cam) : VB_EMEM;
    if (!e)
        *out = cam->c;
    free(cam);
    return e;
}

static struct vb_bank
difference(const struct cam *a, const struct cam *b)
{
    const struct vb_cam_shift *ca = &a->c, *cb = &b->c;
    double both = 2 * vb_gls_shared(&a->g, a->x, &b->g, b->x) * ca->raised * cb->raised;
    struct vb_bank r = {
        .phase = ca->phase - cb->phase, .drive = ca->drive - cb->drive, .k = VB_SHIFT_K};
    r.u_phase = sqrt(ca->u_phase * ca->u_phase + cb->u_phase * cb->u_phase - both);
    r.u_drive = sqrt(ca->u_drive * ca->u_drive + cb->u_drive * cb->u_drive - both);
    r.beyond = fabs(r.drive) > r.k * r.u_drive;
    return r;
}

enum vb_err
vb_bank_compare(const struct vb_shift *a, size_t na, const struct vb_shift *b, size_t nb,
                struct vb_bank *out)
{
    struct cam *ca = malloc(sizeof *ca), *cb = malloc(sizeof *cb);
    enum vb_err e = ca && cb ? pool(a, na, ca) : VB_EMEM;
    if (!e)
        e = pool(b, nb, cb);
    if (!e)
        *out = difference(ca, cb);
    free(ca);
    free(cb);
    return e;
}

static enum vb_err
take_reads(const struct vb_timing_read *r, size_t n, struct vb_gls_item *x,
           struct vb_msg *m)
{
    if (n == 0 || n > VB_CAM_VALVES)
        return VB_EDOM;
    for (size_t i = 0; i < n; i++) {
        enum vb_err e = vb_events_check(r[i].e, m);
        if (e)
            return e;
        if (!(r[i].u > 0) || !isfinite(r[i].u) || !(r[i].u_tdc >= 0) ||
            isinf(r[i].u_tdc)) {
            vb_msg_set(m, "uncertainties %g, %g of TDC", r[i].u, r[i].u_tdc);
            return VB_EDOM;
        }
        x[i] = (struct vb_gls_item){.y = vb_centre(r[i].e),
                                    .own2 = r[i].u * r[i].u / 2,
                                    .tdc = {0, r[i].tdc},
                                    .u_tdc = {0, r[i].u_tdc}};
    }
    return VB_OK;
}

static struct vb_cam_mean
mean_of(const struct vb_timing_read *r, const struct vb_gls *g)
{
    struct vb_cam_mean c = {.n = g->n, .centre = g->y, .u_centre = sqrt(g->var)};
    double sum = 0;
    for (size_t i = 0; i < g->n; i++)
        sum += 1 / (2 * r[i].u * r[i].u);
    for (size_t i = 0; i < g->n; i++)
        c.duration += vb_duration(r[i].e) / (2 * r[i].u * r[i].u) / sum;
    c.u_duration = sqrt(1 / sum);
    return c;
}

enum vb_err
vb_cam_mean_of(const struct vb_timing_read *r, size_t n, struct vb_cam_mean *out,
               struct vb_msg *m)
{
    struct cam *cam = malloc(sizeof *cam);
    enum vb_err e = cam ? take_reads(r, n, cam->x, m) : VB_EMEM;
    if (!e)
        e = vb_gls_mean(cam->x, n, &cam->g);
    if (!e)
        *out = mean_of(r, &cam->g);
    free(cam);
    return e;
}
