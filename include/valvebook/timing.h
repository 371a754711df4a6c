#ifndef VALVEBOOK_TIMING_H
#define VALVEBOOK_TIMING_H

#include <stddef.h>

#include "valvebook/err.h"

/*
 * Opening and closing of one valve and what follows from them. Crank degrees relative to
 * the valve's own cylinder's gas-exchange (overlap) TDC, positive after it. Cam degrees
 * x 2 = crank degrees. Shifts and centres: positive is later, retarded.
 */

/* vb_events - crank angles at which the valve passes the checking lift. */
struct vb_events {
    double opens, closes;
};

/* Durations outside are no valve's; crank degrees (common practice, set wide). */
#define VB_DURATION_MIN 20.0
#define VB_DURATION_MAX 440.0

/*
 * vb_events_check - can a valve have these events?
 *   m   may be NULL; says why not, with the numbers
 * Errors: VB_EDOM    an angle missing (NaN) or not finite
 *         VB_ERANGE  an angle outside -360..360; closing before opening or with it; a
 *                    duration outside VB_DURATION_MIN..MAX
 * It does not ask on which side of TDC the centre lies: a cam in the wrong place must
 * still be seen (cam_fit.h).
 */
enum vb_err vb_events_check(struct vb_events e, struct vb_msg *m);

/* closes - opens, and (opens + closes) / 2; crank degrees. */
double vb_duration(struct vb_events e);
double vb_centre(struct vb_events e);

/*
 * vb_timing - one cylinder's inlet and exhaust together; u_: standard uncertainties.
 *   overlap      crank degrees, exhaust closes - inlet opens; below 0: both shut for
 *                so long
 *   separation   cam degrees, (inlet centre - exhaust centre) / 2
 *   advance      crank degrees, separation - inlet centre: how far both cams together
 *                stand before the symmetrical placement about overlap TDC. Positive is
 *                advanced, as practitioners say it (not a shift).
 */
struct vb_timing {
    double inlet_duration, exhaust_duration, u_duration;
    double inlet_centre, exhaust_centre, u_centre;
    double overlap, u_overlap;
    double separation, u_separation;
    double advance, u_advance;
};

/*
 * vb_timing_of - figures of a cylinder from its events.
 *   u_read   standard uncertainty of each of the four angles, >= 0, independent
 *   u_tdc    of the TDC they are counted from, >= 0, common to all four: it goes out of
 *            durations, overlap and separation, and fully into centres and advance
 *     u_duration = u_overlap = u sqrt(2),  u_centre^2 = u^2 / 2 + u_tdc^2,
 *     u_separation = u / 2,  u_advance^2 = u^2 / 4 + u_tdc^2
 * Errors: those of vb_events_check, m naming inlet or exhaust; VB_EDOM an uncertainty
 *         below 0 or not finite                                    (out untouched)
 * Cost:   O(1) time, no allocation.   Owns: nothing.
 * Source: definitions; 40 CFR 94 App. I names the events and the overlap as what a record
 *         holds. JCGM 100:2008 (13) for errors in common.
 */
enum vb_err vb_timing_of(struct vb_events inlet, struct vb_events exhaust, double u_read,
                         double u_tdc, struct vb_timing *out, struct vb_msg *m);

/*
 * vb_angle_said - a crank angle as it is spoken: "104.5 ATDC", "45 ABDC".
 *   deg    >= 0
 *   from   "BTDC", "ATDC", "BBDC" or "ABDC"; constant
 */
struct vb_angle_said {
    double deg;
    const char *from;
};

/* vb_centre_said - counted from TDC, as lobe centres are: 104.5 ATDC, 106.5 BTDC. */
struct vb_angle_said vb_centre_said(double angle);

/*
 * vb_event_said - counted from the nearer dead centre, as events are: -12 is 12 BTDC,
 * 225 is 45 ABDC, -230 is 50 BBDC. Within 90 of TDC from TDC, beyond from the bottom.
 */
struct vb_angle_said vb_event_said(double angle);

#endif
