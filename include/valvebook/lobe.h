#ifndef VALVEBOOK_LOBE_H
#define VALVEBOOK_LOBE_H

#include <stddef.h>

#include "valvebook/err.h"
#include "valvebook/timing.h"

/*
 * The profile of a lobe: lift against cam angle, and what follows from it for a valve
 * under lash. Cam angles in cam degrees from any origin, lifts in mm.
 */

/* vb_lobe_point - one row of a profile. */
struct vb_lobe_point {
    double cam_deg; // cam degrees, growing as the cam turns
    double lift;    // mm at the lobe
};

#define VB_LOBE_POINTS_MIN 9

/*
 * Lift may run back by as much as this on its way up or down, or on the base circle: mm,
 * two steps of a dial indicator that reads to 0.01 mm (common practice). More is not a
 * lobe that rises once and falls once.
 */
#define VB_LOBE_WOBBLE 0.02

/* Where a valve's lift changes by less, mm per crank degree, lift says nothing of angle:
 * one step of a dial indicator would be more than a degree (common practice). */
#define VB_LOBE_SLOPE_MIN 0.01

struct vb_lobe; // opaque

/*
 * vb_lobe_new - a profile ready for questions: Steffen's monotone spline through it.
 *   point      [n] strictly rising in cam_deg, over less than 360
 *   reversed   nonzero if the cam turns the other way (it faces the other way in its
 *              bank): angles are then counted as -cam_deg and the flanks change places
 *   out        free with vb_lobe_free
 *   m          may be NULL; names the point by its cam_deg and says why
 * Errors: VB_EDOM  fewer than VB_LOBE_POINTS_MIN points, a number not finite, angles not
 *                  strictly rising or over 360 and more, lift that does not rise and then
 *                  fall (beyond VB_LOBE_WOBBLE), that begins or ends at the top, or is the
 *                  same throughout
 *         VB_EMEM
 * Cost:   O(n) time and memory.   Owns: copies the points.
 * Source: Steffen, Astron. Astrophys. 239 (1990) 443-450; GSL gsl_interp_steffen.
 *         How close it comes on profiles of 0.1 to 10 degrees a step: docs/methods.md.
 */
enum vb_err vb_lobe_new(const struct vb_lobe_point *point, size_t n, int reversed,
                        struct vb_lobe **out, struct vb_msg *m);
void vb_lobe_free(struct vb_lobe *l);

/*
 * vb_lobe_lift - lift (mm) and slope (mm per cam degree) at an angle; slope may be NULL.
 * Errors: VB_EDOM  outside the profile (untouched)
 */
enum vb_err vb_lobe_lift(const struct vb_lobe *l, double cam_deg, double *lift,
                         double *slope);

/* vb_lobe_top - greatest lift of the profile's points, mm, and the cam angle of the (first)
 * point that has it; cam_deg may be NULL. */
double vb_lobe_top(const struct vb_lobe *l, double *cam_deg);

/*
 * vb_train - what lies between a lobe and the dial indicator.
 *   lobe           NULL if nobody knows the profile
 *   ratio          valve lift over lobe lift, > 0; 1 for a direct drive
 *   checking_lift  mm at the valve, > 0: the lift at which events are read
 *   u_lift         standard uncertainty of the profile's lifts, mm at the lobe; 0 if
 *                  unknown. vb_u_resolution of its last digit at least: where both flanks
 *                  are alike, lash nearly goes out of a phase and this is what is left.
 */
struct vb_train {
    const struct vb_lobe *lobe;
    double ratio, checking_lift, u_lift;
};

/*
 * vb_lobe_events - both flanks at a level, cam degrees in the profile's own count.
 *   up, down             where the valve passes the level, going up / coming down
 *   up_slope, down_slope mm at the valve per crank degree there; up_slope > 0 > down_slope
 * From these: duration = 2 (down - up) crank degrees; a little more lash, dg, moves the
 * opening by dg / up_slope crank degrees (later) and the closing by dg / down_slope
 * (earlier).
 */
struct vb_lobe_events {
    double up, down;
    double up_slope, down_slope;
};

/*
 * vb_lobe_solve - events under lash.
 *     ratio lift(theta) - lash = checking_lift on both flanks
 *   t      lobe not NULL
 *   lash   mm at the valve tip, >= 0
 *   m      may be NULL
 * Errors: VB_EDOM  lash or a member of t not as above; the level is not passed: above the
 *                  top, or below where the profile begins or ends; the lift wobbles about
 *                  the level, so that it is passed more than twice; a slope of 0 there
 *                  (out untouched)
 * Cost:   O(n) time, no allocation but Brent's solver's.   Owns: nothing.
 * Source: Brent's root finding, GSL gsl_root_fsolver_brent, to 1e-10 cam degrees.
 */
enum vb_err vb_lobe_solve(const struct vb_train *t, double lash,
                          struct vb_lobe_events *out, struct vb_msg *m);

/*
 * vb_lobe_relash - events that were read under one lash, as they would be under another,
 * the cam standing where it stands.
 *   e      crank degrees, read under lash `from`;   to   mm
 * Errors: as vb_lobe_solve (out untouched)
 */
enum vb_err vb_lobe_relash(const struct vb_train *t, struct vb_events e, double from,
                           double to, struct vb_events *out, struct vb_msg *m);

/*
 * vb_lift_timing - where a cam stands, from the valve's lift at overlap TDC.
 *   cam_deg   the angle of the profile that overlap TDC falls on
 *   slope     mm at the valve per crank degree there; inlet > 0 > exhaust
 *   u         standard uncertainty of the cam's place, crank degrees, TDC not included
 *   events    at the checking lift and under the lash that was asked for
 */
struct vb_lift_timing {
    double cam_deg, slope, u;
    struct vb_events events;
};

/*
 * vb_lobe_at_tdc - time a cam by lift at overlap TDC.
 *     ratio lift(theta) - lash = lift,
 *     u = sqrt(u_lift^2 + u_lash^2 + (ratio t->u_lift)^2) / |slope|
 *   side      'I': overlap TDC falls on the opening flank;  'E': on the closing one
 *   lash      mm at the tip when the lift was read;   u_lash   its standard uncertainty
 *   lift      mm at the valve, > 0;   u_lift   its standard uncertainty
 *   to_lash   mm, under which `events` are wanted: lash itself, or the nominal one
 * The shift between two such readings is the difference of their events.
 * Errors: VB_EDOM  as vb_lobe_solve; an uncertainty below 0; |slope| below
 *                  VB_LOBE_SLOPE_MIN: there lift says nothing of the angle
 *                  (out untouched)
 * Source: definition; JCGM 100:2008 (10) for u.
 */
enum vb_err vb_lobe_at_tdc(const struct vb_train *t, char side, double lash,
                           double u_lash, double lift, double u_lift, double to_lash,
                           struct vb_lift_timing *out, struct vb_msg *m);

#endif
