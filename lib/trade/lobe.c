#include "valvebook/lobe.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_interp.h>

#include "lobe_impl.h"

static enum vb_err
check_angles(const struct vb_lobe_point *p, size_t n, struct vb_msg *m)
{
    if (n < VB_LOBE_POINTS_MIN) {
        vb_msg_set(m, "a profile of %zu points, fewer than %d", n, VB_LOBE_POINTS_MIN);
        return VB_EDOM;
    }
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(p[i].cam_deg) || !isfinite(p[i].lift)) {
            vb_msg_set(m, "profile point %zu has no angle or no lift", i + 1);
            return VB_EDOM;
        }
        if (i > 0 && !(p[i].cam_deg > p[i - 1].cam_deg)) {
            vb_msg_set(m, "cam_deg %g after %g: not rising", p[i].cam_deg,
                       p[i - 1].cam_deg);
            return VB_EDOM;
        }
    }
    if (!(p[n - 1].cam_deg - p[0].cam_deg < 360)) {
        vb_msg_set(m, "profile from %g to %g: a turn and more", p[0].cam_deg,
                   p[n - 1].cam_deg);
        return VB_EDOM;
    }
    return VB_OK;
}

/* Index of the greatest lift, the first of them. */
static size_t
top_of(const struct vb_lobe_point *p, size_t n)
{
    size_t top = 0;
    for (size_t i = 1; i < n; i++)
        if (p[i].lift > p[top].lift)
            top = i;
    return top;
}

/*
 * Walking up from one end to the top, no lift may lie further below an earlier one than a
 * dial indicator wobbles. Index of the first that does, or n.
 */
static size_t
first_fall(const struct vb_lobe_point *p, size_t n, size_t top)
{
    double high = p[0].lift;
    for (size_t i = 1; i < top; i++) {
        if (high - p[i].lift > VB_LOBE_WOBBLE)
            return i;
        high = fmax(high, p[i].lift);
    }
    return n;
}

static size_t
last_rise(const struct vb_lobe_point *p, size_t n, size_t top)
{
    double high = p[n - 1].lift;
    for (size_t i = n - 1; i-- > top + 1;) {
        if (high - p[i].lift > VB_LOBE_WOBBLE)
            return i;
        high = fmax(high, p[i].lift);
    }
    return n;
}

static enum vb_err
check_shape(const struct vb_lobe_point *p, size_t n, struct vb_msg *m)
{
    size_t top = top_of(p, n);
    double most = p[top].lift;
    if (most - p[0].lift <= VB_LOBE_WOBBLE) {
        vb_msg_set(m, "profile does not rise: lift %g at its first point, %g at most",
                   p[0].lift, most);
        return VB_EDOM;
    }
    if (most - p[n - 1].lift <= VB_LOBE_WOBBLE) {
        vb_msg_set(m, "profile does not fall: lift %g at its last point, %g at most",
                   p[n - 1].lift, most);
        return VB_EDOM;
    }
    size_t bad = first_fall(p, n, top);
    if (bad < n) {
        vb_msg_set(m, "lift falls at cam_deg %g, before the top at %g", p[bad].cam_deg,
                   p[top].cam_deg);
        return VB_EDOM;
    }
    bad = last_rise(p, n, top);
    if (bad < n) {
        vb_msg_set(m, "lift rises after cam_deg %g, behind the top at %g", p[bad].cam_deg,
                   p[top].cam_deg);
        return VB_EDOM;
    }
    return VB_OK;
}

static enum vb_err
fill(struct vb_lobe *l, const struct vb_lobe_point *p, size_t n, int reversed)
{
    l->n = n;
    l->x = malloc(n * sizeof *l->x);
    l->y = malloc(n * sizeof *l->y);
    l->spline = gsl_interp_alloc(gsl_interp_steffen, n);
    if (!l->x || !l->y || !l->spline)
        return VB_EMEM;
    for (size_t i = 0; i < n; i++) {
        const struct vb_lobe_point *q = &p[reversed ? n - 1 - i : i];
        l->x[i] = reversed ? -q->cam_deg : q->cam_deg;
        l->y[i] = q->lift;
        if (l->y[i] > l->y[l->top])
            l->top = i;
    }
    return gsl_interp_init(l->spline, l->x, l->y, n) == GSL_SUCCESS ? VB_OK : VB_EDOM;
}

enum vb_err
vb_lobe_new(const struct vb_lobe_point *point, size_t n, int reversed,
            struct vb_lobe **out, struct vb_msg *m)
{
    enum vb_err e = check_angles(point, n, m);
    if (!e)
        e = check_shape(point, n, m);
    if (e)
        return e;
    struct vb_lobe *l = calloc(1, sizeof *l);
    e = l ? fill(l, point, n, reversed) : VB_EMEM;
    if (e) {
        vb_lobe_free(l);
        return e;
    }
    *out = l;
    return VB_OK;
}

void
vb_lobe_free(struct vb_lobe *l)
{
    if (!l)
        return;
    if (l->spline)
        gsl_interp_free(l->spline);
    free(l->x);
    free(l->y);
    free(l);
}

enum vb_err
vb_lobe_lift(const struct vb_lobe *l, double cam_deg, double *lift, double *slope)
{
    if (!(cam_deg >= l->x[0] && cam_deg <= l->x[l->n - 1]))
        return VB_EDOM;
    // without an accelerator GSL searches by bisection and keeps nothing
    int rc = gsl_interp_eval_e(l->spline, l->x, l->y, cam_deg, NULL, lift);
    if (slope)
        rc |= gsl_interp_eval_deriv_e(l->spline, l->x, l->y, cam_deg, NULL, slope);
    return rc ? VB_EDOM : VB_OK; // GCOVR_EXCL_BR_LINE: the angle is on the profile
}

double
vb_lobe_top(const struct vb_lobe *l, double *cam_deg)
{
    if (cam_deg)
        *cam_deg = l->x[l->top];
    return l->y[l->top];
}
