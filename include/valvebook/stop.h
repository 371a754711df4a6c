#ifndef VALVEBOOK_STOP_H
#define VALVEBOOK_STOP_H

#include "valvebook/err.h"

/*
 * True top dead centre by a piston stop. The piston touches the stop once before and once
 * after TDC; it stands equally far down both times, so TDC lies midway between.
 */

/* Readings nearer together or farther apart than this are not of a stop; deg. */
#define VB_STOP_ARC_MIN 10.0
#define VB_STOP_ARC_MAX 180.0

/*
 * vb_tdc - where true TDC stands on the degree wheel.
 *   offset   deg, what the wheel shows at true TDC, above -180 to 180: what is read on
 *            the wheel less offset is the true angle
 *   u        standard uncertainty of offset, deg; all angles read on this wheel, as it
 *            was then mounted, share this error
 *   arc      deg, from the one reading forwards to the other, through TDC
 */
struct vb_tdc {
    double offset, u, arc;
};

/*
 * vb_tdc_from_stop - midpoint of two readings, on the circle.
 *     arc = (after - before) mod 360,  offset = before + arc / 2,  u = u_read / sqrt(2)
 *   before   deg as the wheel shows it when the piston meets the stop turning forwards;
 *            before TDC negative ("35 BTDC" = -35) or counted round (325): both mean the
 *            same, so the readings may straddle 0/360
 *   after    deg, when it meets the stop turning backwards
 *   u_read   standard uncertainty of one reading of the wheel, deg, >= 0
 *            (vb_u_resolution for its graduation)
 *   m        may be NULL; says why in words
 * Errors: VB_EDOM  a number not finite, a reading beyond -360..360, u_read below 0; an
 *                  arc below VB_STOP_ARC_MIN (so near TDC the piston hardly moves; or the
 *                  reading before TDC lost its sign), or not below VB_STOP_ARC_MAX
 *                  (before and after exchanged)                    (out untouched)
 * Cost:   O(1) time, no allocation.   Owns: nothing.
 * Source: definition of the midpoint; JCGM 100:2008 (10) for u. The arc's limits are
 *         common practice.
 */
enum vb_err vb_tdc_from_stop(double before, double after, double u_read,
                             struct vb_tdc *out, struct vb_msg *m);

/*
 * vb_tdc_taken_out - true angle of what the wheel showed: angle - offset, not reduced to
 * a circle, since 360 crank degrees on is another stroke. Returns deg.
 */
double vb_tdc_taken_out(double angle, const struct vb_tdc *t);

#endif
