#include <math.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_roots.h>

#include "lobe_impl.h"
#include "valvebook/lobe.h"

#define ROOT_DEG   1e-11 // cam degrees; Steffen's spline is exact to far less
#define ROOT_STEPS 200

/* What Brent's solver looks at: lift above a level. */
struct above {
    const struct vb_lobe *lobe;
    double level;
};

static double
height(double cam_deg, void *p)
{
    const struct above *a = p;
    double lift = NAN;
    vb_lobe_lift(a->lobe, cam_deg, &lift, NULL); // the flank lies within the profile
    return lift - a->level;
}

/* The level is passed between two points. At the last one of a profile rounding may hide
 * that, where the level is next to its lift: then the point is the root. */
static enum vb_err
brent(const struct above *a, double lo, double hi, double *root)
{
    if (height(lo, (void *)a) * height(hi, (void *)a) > 0) {
        *root = hi;
        return VB_OK;
    }
    gsl_root_fsolver *s = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
    if (!s)
        return VB_EMEM;
    gsl_function f = {height, (void *)a};
    // a sign changes between lo and hi: neither this nor a step can fail
    int rc = gsl_root_fsolver_set(s, &f, lo, hi), more = 1;
    for (int i = 0; !rc && more && i < ROOT_STEPS; i++) { // GCOVR_EXCL_BR_LINE: above
        rc = gsl_root_fsolver_iterate(s);
        more = gsl_root_test_interval(gsl_root_fsolver_x_lower(s),
                                      gsl_root_fsolver_x_upper(s), ROOT_DEG, 0);
    }
    *root = gsl_root_fsolver_root(s);
    gsl_root_fsolver_free(s);
    return rc || more ? VB_EDOM : VB_OK; // GCOVR_EXCL_BR_LINE: above
}

/* Between which points is the level passed, upwards and downwards? How often? */
struct passes {
    size_t up, down;
    int n_up, n_down;
};

static struct passes
passes_of(const struct vb_lobe *l, double level)
{
    struct passes p = {0};
    for (size_t i = 0; i + 1 < l->n; i++) {
        int below = l->y[i] < level, next_below = l->y[i + 1] < level;
        if (below && !next_below) {
            p.up = i;
            p.n_up++;
        } else if (!below && next_below) {
            p.down = i;
            p.n_down++;
        }
    }
    return p;
}

static enum vb_err
check_train(const struct vb_train *t, double lash, struct vb_msg *m)
{
    if (!(t->ratio > 0) || isinf(t->ratio))
        vb_msg_set(m, "ratio %g", t->ratio);
    else if (!(t->checking_lift > 0) || isinf(t->checking_lift))
        vb_msg_set(m, "checking lift %g: it has to be stated", t->checking_lift);
    else if (!(t->u_lift >= 0) || isinf(t->u_lift))
        vb_msg_set(m, "uncertainty %g of the profile", t->u_lift);
    else if (!(lash >= 0) || isinf(lash))
        vb_msg_set(m, "lash %g", lash);
    else
        return VB_OK;
    return VB_EDOM;
}

static enum vb_err
check_passes(const struct passes *p, const struct vb_lobe *l, double level,
             struct vb_msg *m)
{
    double top = vb_lobe_top(l, NULL);
    if (p->n_up == 1 && p->n_down == 1 && p->up < p->down)
        return VB_OK;
    if (level > top)
        vb_msg_set(m, "lobe lift %g is not reached: %g at most", level, top);
    else if (p->n_up > 1 || p->n_down > 1)
        vb_msg_set(m, "the profile passes lobe lift %g more than twice", level);
    else
        vb_msg_set(m, "the profile begins or ends above lobe lift %g", level);
    return VB_EDOM;
}

/* One flank: the root between points i and i + 1, and the valve's slope there. */
static enum vb_err
flank(const struct vb_train *t, double level, size_t i, double *at, double *slope)
{
    const struct above a = {t->lobe, level};
    double x, y, d;
    enum vb_err e = brent(&a, t->lobe->x[i], t->lobe->x[i + 1], &x);
    if (!e)
        e = vb_lobe_lift(t->lobe, x, &y, &d);
    if (e)
        return e;
    *at = x;
    *slope = t->ratio * d / 2;
    return VB_OK;
}

enum vb_err
vb_lobe_solve(const struct vb_train *t, double lash, struct vb_lobe_events *out,
              struct vb_msg *m)
{
    enum vb_err e = check_train(t, lash, m);
    if (e)
        return e;
    double level = (t->checking_lift + lash) / t->ratio;
    struct passes p = passes_of(t->lobe, level);
    e = check_passes(&p, t->lobe, level, m);
    if (e)
        return e;
    struct vb_lobe_events v;
    e = flank(t, level, p.up, &v.up, &v.up_slope);
    if (!e)
        e = flank(t, level, p.down, &v.down, &v.down_slope);
    if (e)
        return e;
    if (!(v.up_slope > 0 && v.down_slope < 0)) {
        vb_msg_set(m, "the profile is flat at lobe lift %g", level);
        return VB_EDOM;
    }
    *out = v;
    return VB_OK;
}

enum vb_err
vb_lobe_relash(const struct vb_train *t, struct vb_events e, double from, double to,
               struct vb_events *out, struct vb_msg *m)
{
    struct vb_lobe_events a, b;
    enum vb_err err = vb_lobe_solve(t, from, &a, m);
    if (!err)
        err = vb_lobe_solve(t, to, &b, m);
    if (err)
        return err;
    *out =
        (struct vb_events){e.opens + 2 * (b.up - a.up), e.closes + 2 * (b.down - a.down)};
    return VB_OK;
}

enum vb_err
vb_lobe_at_tdc(const struct vb_train *t, char side, double lash, double u_lash,
               double lift, double u_lift, double to_lash, struct vb_lift_timing *out,
               struct vb_msg *m)
{
    struct vb_train at_lift = *t;
    at_lift.checking_lift = lift;
    struct vb_lobe_events here, e;
    if (!(u_lash >= 0) || !(u_lift >= 0) || isinf(u_lash) || isinf(u_lift)) {
        vb_msg_set(m, "uncertainties %g and %g", u_lash, u_lift);
        return VB_EDOM;
    }
    if (!(lift > 0)) {
        vb_msg_set(m, "lift %g at TDC: the valve is shut there", lift);
        return VB_EDOM;
    }
    enum vb_err err = vb_lobe_solve(&at_lift, lash, &here, m);
    if (!err)
        err = vb_lobe_solve(t, to_lash, &e, m);
    if (err)
        return err;
    struct vb_lift_timing r = {here.up, here.up_slope, 0, {0, 0}};
    if (side == 'E') {
        r.cam_deg = here.down;
        r.slope = here.down_slope;
    }
    if (fabs(r.slope) < VB_LOBE_SLOPE_MIN) {
        vb_msg_set(m, "lift %g at TDC: it changes by only %.2g mm a degree there", lift,
                   fabs(r.slope));
        return VB_EDOM;
    }
    r.u = hypot(hypot(u_lift, u_lash), t->ratio * t->u_lift) / fabs(r.slope);
    r.events = (struct vb_events){2 * (e.up - r.cam_deg), 2 * (e.down - r.cam_deg)};
    *out = r;
    return VB_OK;
}
