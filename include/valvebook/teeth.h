#ifndef VALVEBOOK_TEETH_H
#define VALVEBOOK_TEETH_H

#include <stddef.h>

#include "valvebook/err.h"

/*
 * What may explain that a cam stands elsewhere than it did. Hints, never verdicts. Crank
 * degrees, positive is later (retarded).
 */

enum vb_cause {
    VB_CAUSE_NONE,   // nothing beyond the measuring error
    VB_CAUSE_LASH,   // it has moved, but lash explains it: the drive has not
    VB_CAUSE_WEAR,   // a little late: the drive has worn or stretched
    VB_CAUSE_EARLY,  // a little early: a new drive, or it was set so
    VB_CAUSE_TEETH,  // whole teeth
    VB_CAUSE_SLIP,   // too far for wear, and no whole number of teeth: key, sprocket
    VB_CAUSE_UNSURE, // too far for wear; the measuring error is too wide to count teeth
    VB_CAUSE_APART, // one cam, and its two sides have not moved alike: no drive does that
    VB_CAUSE_COUNT
};

/*
 * vb_drive - the drive of a cam.
 *   crank_teeth   teeth of the crank's sprocket, gear or pulley; 0 unknown
 *   cam_teeth     of the cam's; 0 unknown. Twice crank_teeth unless there is an
 *                 intermediate reduction.
 *   wear_limit    how far wear or stretch may go, deg > 0; NaN: half a tooth, or
 *                 VB_WEAR_LIMIT where no teeth are known
 */
struct vb_drive {
    int crank_teeth, cam_teeth;
    double wear_limit;
};

/*
 * Whole teeth are looked for within so many standard uncertainties: 99.7 % of jumped teeth
 * are found. With 2 one in twenty would pass for a slip, which is the rarer thing.
 */
#define VB_TEETH_K 3.0

#define VB_WEAR_LIMIT 5.0 // deg, common practice

/*
 * vb_tooth_crank, vb_tooth_cam - crank degrees of one tooth: 360 / crank teeth, 720 / cam
 * teeth; NaN where teeth is below 1.
 * Source: definition; TM 5-4210-229-14&P p. 6-6, "one tooth about 11 crank degrees" (33).
 */
double vb_tooth_crank(int crank_teeth);
double vb_tooth_cam(int cam_teeth);

/*
 * vb_cause_found - what explains a shift.
 *   teeth    signed: +1 one tooth retarded, -2 two advanced; 0 unless cause is TEETH
 *   tooth    deg of one tooth, NaN if unknown
 *   at_cam   nonzero: counted on the cam's teeth, which differ from the crank's
 *   off      deg, drive less the whole teeth
 *   limit    deg, the wear limit that was used
 */
struct vb_cause_found {
    enum vb_cause cause;
    int teeth;
    double tooth;
    int at_cam;
    double off, limit;
};

/*
 * vb_cause_find - explain a shift.
 *   phase, u_phase   the whole shift and its standard uncertainty, u > 0
 *   drive, u_drive   the part left for the drive; the same numbers where there was no split
 *   k                coverage factor, > 0
 *   d                not NULL
 * In this order:
 *   |drive| <= k u_drive: LASH if |phase| > k u_phase, else NONE.
 *   A tooth is known, K u_drive < tooth / 2, and |drive - j tooth| <= K u_drive for a
 *   whole j other than 0 and within 1000, K = VB_TEETH_K: TEETH.
 *   |drive| <= limit: WEAR if retarded, EARLY if advanced.
 *   Otherwise SLIP, or UNSURE where a tooth is known but K u_drive >= tooth / 2.
 * Errors: VB_EDOM  a number not finite, u or k not above 0, teeth below 0, a wear_limit
 *                  not above 0                                     (out untouched)
 * Cost:   O(1) time, no allocation.   Owns: nothing.
 * Source: docs/methods.md, Cam timing; common practice for what the causes are.
 */
enum vb_err vb_cause_find(double phase, double u_phase, double drive, double u_drive,
                          double k, const struct vb_drive *d, struct vb_cause_found *out);

/* vb_cause_name - one word for tables: "none", "lash", "wear", "early", "teeth", "slip",
 * "unsure", "apart"; constant. */
const char *vb_cause_name(enum vb_cause c);

/*
 * vb_cause_says - a hint in words: "one tooth retarded", "late by no whole tooth: look at
 * key and sprocket"; cut to fit.
 *   out   [size] receives a NUL-terminated text; size >= 1
 * Returns out.
 */
const char *vb_cause_says(const struct vb_cause_found *f, char *out, size_t size);

/* vb_rest_says - where to look when a duration has changed beyond its error by more (rest
 * > 0) or less than lash explains; constant. */
const char *vb_rest_says(double rest);

#endif
