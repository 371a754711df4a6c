#include "valvebook/timing.h"

#include <math.h>

double
vb_duration(struct vb_events e)
{
    return e.closes - e.opens;
}

double
vb_centre(struct vb_events e)
{
    return (e.opens + e.closes) / 2;
}

enum vb_err
vb_events_check(struct vb_events e, struct vb_msg *m)
{
    const double angle[] = {e.opens, e.closes};
    const char *name[] = {"opens", "closes"};
    for (int i = 0; i < 2; i++) {
        if (!isfinite(angle[i])) {
            vb_msg_set(m, "no angle for %s", name[i]);
            return VB_EDOM;
        }
        if (fabs(angle[i]) > 360) {
            vb_msg_set(m, "%s at %g, not within -360 to 360", name[i], angle[i]);
            return VB_ERANGE;
        }
    }
    double d = vb_duration(e);
    if (d <= 0)
        vb_msg_set(m, "closes at %g, not after it opens at %g", e.closes, e.opens);
    else if (d < VB_DURATION_MIN || d > VB_DURATION_MAX)
        vb_msg_set(m, "opens at %g and closes at %g: open for %g degrees", e.opens,
                   e.closes, d);
    else
        return VB_OK;
    return VB_ERANGE;
}

/* The same with the valve's name before the reason. */
static enum vb_err
check_side(const char *side, struct vb_events e, struct vb_msg *m)
{
    struct vb_msg why = {0};
    enum vb_err err = vb_events_check(e, &why);
    if (err)
        vb_msg_set(m, "%s %s", side, why.text);
    return err;
}

enum vb_err
vb_timing_of(struct vb_events inlet, struct vb_events exhaust, double u_read,
             double u_tdc, struct vb_timing *out, struct vb_msg *m)
{
    enum vb_err e = check_side("inlet", inlet, m);
    if (!e)
        e = check_side("exhaust", exhaust, m);
    if (e)
        return e;
    if (!(u_read >= 0) || !(u_tdc >= 0) || isinf(u_read) || isinf(u_tdc)) {
        vb_msg_set(m, "uncertainties %g and %g", u_read, u_tdc);
        return VB_EDOM;
    }
    struct vb_timing t = {
        .inlet_duration = vb_duration(inlet),
        .exhaust_duration = vb_duration(exhaust),
        .u_duration = u_read * sqrt(2),
        .inlet_centre = vb_centre(inlet),
        .exhaust_centre = vb_centre(exhaust),
        .u_centre = hypot(u_read / sqrt(2), u_tdc),
        .overlap = exhaust.closes - inlet.opens,
        .u_overlap = u_read * sqrt(2),
        .u_separation = u_read / 2,
        .u_advance = hypot(u_read / 2, u_tdc),
    };
    t.separation = (t.inlet_centre - t.exhaust_centre) / 2;
    t.advance = t.separation - t.inlet_centre;
    *out = t;
    return VB_OK;
}

struct vb_angle_said
vb_centre_said(double angle)
{
    return (struct vb_angle_said){fabs(angle), angle < 0 ? "BTDC" : "ATDC"};
}

struct vb_angle_said
vb_event_said(double angle)
{
    if (fabs(angle) <= 90)
        return vb_centre_said(angle);
    // the bottom after TDC for an inlet's closing, the one before for an exhaust's opening
    double from = angle - copysign(180, angle);
    return (struct vb_angle_said){fabs(from), from < 0 ? "BBDC" : "ABDC"};
}
