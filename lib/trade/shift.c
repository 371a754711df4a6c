#include "valvebook/shift.h"

#include <math.h>

static int
uncertain(double u)
{
    return u >= 0 && isfinite(u);
}

static enum vb_err
check_read(const struct vb_timing_read *r, struct vb_msg *m)
{
    enum vb_err e = vb_events_check(r->e, m);
    if (e)
        return e;
    int lash_known = !isnan(r->lash);
    if (!uncertain(r->u) || !uncertain(r->u_tdc) ||
        (lash_known && !uncertain(r->u_lash))) {
        vb_msg_set(m, "uncertainties %g, %g of TDC, %g of lash", r->u, r->u_tdc,
                   r->u_lash);
        return VB_EDOM;
    }
    return VB_OK;
}

static double
square(double x)
{
    return x * x;
}

/*
 * What one reading adds to the squares of u. An error of lash moves the flanks by opposite
 * ways; errors of the profile, u_level at the valve, are each flank's own.
 */
static void
add_u(const struct vb_lobe_events *v, double u_lash, double u_level, double *phase2,
      double *duration2)
{
    double opens = 1 / v->up_slope, closes = 1 / v->down_slope;
    double own = (square(opens) + square(closes)) * square(u_level);
    *phase2 += square((opens + closes) / 2 * u_lash) + own / 4;
    *duration2 += square((closes - opens) * u_lash) + own;
}

static enum vb_err
lash_part(const struct vb_timing_read *from, const struct vb_timing_read *to,
          const struct vb_train *t, struct vb_shift *s, struct vb_msg *m)
{
    struct vb_lobe_events a, b;
    enum vb_err e = vb_lobe_solve(t, from->lash, &a, m);
    if (!e)
        e = vb_lobe_solve(t, to->lash, &b, m);
    if (e)
        return e;
    double phase2 = 0, duration2 = 0;
    double u_level = from->lash == to->lash ? 0 : t->ratio * t->u_lift;
    add_u(&a, from->u_lash, u_level, &phase2, &duration2);
    add_u(&b, to->u_lash, u_level, &phase2, &duration2);
    s->how = VB_SPLIT_PROFILE;
    s->lash_phase = (b.up - a.up) + (b.down - a.down);
    s->lash_duration = 2 * ((b.down - a.down) - (b.up - a.up));
    s->u_lash_phase = sqrt(phase2);
    s->u_lash_duration = sqrt(duration2);
    s->not_lash = 0;
    s->drive = s->phase - s->lash_phase;
    s->rest = s->duration - s->lash_duration;
    s->u_own = hypot(s->u_own, s->u_lash_phase);
    s->u_rest = hypot(s->u_rest, s->u_lash_duration);
    return VB_OK;
}

/* More lash opens later and closes earlier, by 1 / slope for each mm, the slope at the
 * checking lift not known but for its least. */
static int
beyond_lash(const struct vb_timing_read *from, const struct vb_timing_read *to,
            double duration)
{
    double more = to->lash - from->lash;
    double error = VB_SHIFT_K * hypot(from->u_lash, to->u_lash);
    double most = error + (duration > 0 ? -more : more);
    if (isnan(more))
        return 0;
    return fabs(duration) > 2 * fmax(0, most) / VB_LOBE_SLOPE_MIN;
}

/* The whole shift, all of it given to the drive so far. */
static struct vb_shift
plain(const struct vb_timing_read *from, const struct vb_timing_read *to)
{
    struct vb_shift s = {
        .how = VB_SPLIT_PLAIN,
        .opens = to->e.opens - from->e.opens,
        .closes = to->e.closes - from->e.closes,
        .lash_phase = NAN,
        .u_lash_phase = NAN,
        .lash_duration = NAN,
        .u_lash_duration = NAN,
        .tdc = {from->tdc, to->tdc},
        .u_tdc = {from->u_tdc, to->u_tdc},
    };
    double both = hypot(from->u, to->u);
    s.drive = s.phase = (s.opens + s.closes) / 2;
    s.rest = s.duration = s.closes - s.opens;
    s.u_own = both / sqrt(2);
    s.u_rest = s.u_duration = both * sqrt(2);
    s.not_lash = beyond_lash(from, to, s.duration);
    return s;
}

enum vb_err
vb_shift_split(const struct vb_timing_read *from, const struct vb_timing_read *to,
               const struct vb_train *t, struct vb_shift *out, struct vb_msg *m)
{
    enum vb_err e = check_read(from, m);
    if (!e)
        e = check_read(to, m);
    if (e)
        return e;
    if (from->u == 0 && to->u == 0) {
        vb_msg_set(m, "neither reading has an uncertainty");
        return VB_EDOM;
    }
    struct vb_shift s = plain(from, to);
    int shared = from->tdc != 0 && from->tdc == to->tdc;
    double tdc = shared ? 0 : hypot(from->u_tdc, to->u_tdc);
    s.u_phase = hypot(s.u_own, tdc);
    if (t && t->lobe && !isnan(from->lash) && !isnan(to->lash))
        e = lash_part(from, to, t, &s, m);
    if (e)
        return e;
    s.u_drive = hypot(s.u_own, tdc);
    *out = s;
    return VB_OK;
}
