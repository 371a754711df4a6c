#include "valvebook/cam_fit.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

#define FITS_P     0.05
#define REJECTED_P 0.0027

struct match {
    double chi2, p;
};

static double
square(double x)
{
    return x * x;
}

static struct match
match_of(const struct vb_cam_seen *s, const struct vb_cam_nominal *c, double tolerance)
{
    double t2 = square(tolerance / 2);
    double dd = square(s->duration - vb_duration(c->e)) / (square(s->u_duration) + t2);
    double dc = square(s->centre - vb_centre(c->e)) / (square(s->u_centre) + t2);
    struct match m = {c->any_phase ? dd : dd + dc, 0};
    m.p = gsl_cdf_chisq_Q(m.chi2, c->any_phase ? 1 : 2);
    return m;
}

/* By p, and where that has gone to 0 on both sides by chi-squared. */
static int
better(struct match a, struct match b)
{
    return a.p != b.p ? a.p > b.p : a.chi2 < b.chi2;
}

static int
same_duration(const struct vb_cam_seen *s, const struct vb_cam_nominal *a,
              const struct vb_cam_nominal *b, double tolerance)
{
    double apart = fabs(vb_duration(a->e) - vb_duration(b->e));
    return apart <= 2 * hypot(s->u_duration, tolerance / 2);
}

static enum vb_err
check(const struct vb_cam_seen *s, const struct vb_cam_nominal *c, size_t n, size_t own,
      double tolerance)
{
    if (own >= n || !(tolerance >= 0) || isinf(tolerance))
        return VB_EDOM;
    if (!isfinite(s->centre) || !isfinite(s->duration))
        return VB_EDOM;
    if (!(s->u_centre > 0) || !(s->u_duration > 0) || isinf(s->u_centre) ||
        isinf(s->u_duration))
        return VB_EDOM;
    for (size_t i = 0; i < n; i++) {
        enum vb_err e = vb_events_check(c[i].e, NULL);
        if (e)
            return e;
    }
    return VB_OK;
}

enum vb_err
vb_cam_fit_find(const struct vb_cam_seen *seen, const struct vb_cam_nominal *nominal,
                size_t n, size_t own, double tolerance, struct vb_cam_fit *out)
{
    enum vb_err e = check(seen, nominal, n, own, tolerance);
    if (e)
        return e;
    struct match mine = match_of(seen, &nominal[own], tolerance);
    struct match other = {INFINITY, -1};
    size_t at = own, fitting = 0;
    for (size_t i = 0; i < n; i++) {
        if (i == own)
            continue;
        struct match m = match_of(seen, &nominal[i], tolerance);
        fitting += m.p >= FITS_P;
        if (better(m, other)) {
            other = m;
            at = i;
        }
    }
    struct vb_cam_fit f = {.own = mine.chi2, .other = other.chi2};
    f.best = better(other, mine) ? at : own;
    f.swapped = mine.p < REJECTED_P && fitting == 1;
    f.unlike = mine.p < REJECTED_P && fitting == 0;
    f.alike = f.swapped && same_duration(seen, &nominal[own], &nominal[at], tolerance);
    *out = f;
    return VB_OK;
}
