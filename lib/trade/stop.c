#include "valvebook/stop.h"

#include <math.h>

/* Forwards from one place of the wheel to another: 0 to below 360. */
static double
forwards(double from, double to)
{
    double d = fmod(to - from, 360);
    return d < 0 ? d + 360 : d;
}

/* Above -180 to 180, as the middle of two readings may lie beyond the wheel's end. */
static double
on_wheel(double a)
{
    double r = remainder(a, 360);
    return r <= -180 ? r + 360 : r;
}

static enum vb_err
check_readings(double before, double after, double u_read, struct vb_msg *m)
{
    const double reading[] = {before, after};
    const char *name[] = {"before", "after"};
    for (int i = 0; i < 2; i++)
        if (!(fabs(reading[i]) <= 360)) {
            vb_msg_set(m, "stop reading %s TDC is %g, not an angle of -360 to 360",
                       name[i], reading[i]);
            return VB_EDOM;
        }
    if (!(u_read >= 0) || isinf(u_read)) {
        vb_msg_set(m, "uncertainty of a stop reading is %g", u_read);
        return VB_EDOM;
    }
    return VB_OK;
}

enum vb_err
vb_tdc_from_stop(double before, double after, double u_read, struct vb_tdc *out,
                 struct vb_msg *m)
{
    enum vb_err e = check_readings(before, after, u_read, m);
    if (e)
        return e;
    double arc = forwards(before, after);
    if (arc < VB_STOP_ARC_MIN || arc >= 360 - VB_STOP_ARC_MIN) {
        vb_msg_set(m,
                   "stop readings %g and %g are hardly apart: is the one before TDC "
                   "negative or counted round?",
                   before, after);
        return VB_EDOM;
    }
    if (arc >= VB_STOP_ARC_MAX) {
        vb_msg_set(m, "stop readings %g and %g lie %g apart through TDC: exchanged?",
                   before, after, arc);
        return VB_EDOM;
    }
    *out = (struct vb_tdc){on_wheel(before + arc / 2), u_read / sqrt(2), arc};
    return VB_OK;
}

double
vb_tdc_taken_out(double angle, const struct vb_tdc *t)
{
    return angle - t->offset;
}
