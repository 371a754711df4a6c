#ifndef VALVEBOOK_CAM_FIT_H
#define VALVEBOOK_CAM_FIT_H

#include <stddef.h>

#include "valvebook/err.h"
#include "valvebook/timing.h"

/*
 * Is this the cam that should be here? Measured events against the nominal events of every
 * cam it could be. A hint, never a verdict.
 */

/*
 * vb_cam_seen - the events of a cam as measured, means of its valves, brought to the
 * nominal lash where a profile allows it (vb_lobe_relash).
 *   centre, duration       crank degrees
 *   u_centre, u_duration   standard uncertainties, > 0
 */
struct vb_cam_seen {
    double centre, u_centre;
    double duration, u_duration;
};

/*
 * vb_cam_nominal - what a cam would show in this place.
 *   e           its nominal events here, crank degrees
 *   any_phase   nonzero if it is not known where it would stand here: then only the
 *               duration is compared
 */
struct vb_cam_nominal {
    struct vb_events e;
    int any_phase;
};

/*
 * vb_cam_fit - the outcome.
 *   best        index of the candidate that fits best
 *   swapped     nonzero: another cam than its own fits and its own does not
 *   unlike      nonzero: none fits, its own neither. A drive that has moved does that too.
 *   alike       nonzero: swapped, but the durations of the two cams agree within the error,
 *               so that a drive that has moved would look the same
 *   own, other  chi-squared of its own and of the best other one; other +inf if there is
 *               none
 */
struct vb_cam_fit {
    size_t best;
    int swapped, unlike, alike;
    double own, other;
};

/*
 * vb_cam_fit_find - compare with every candidate.
 *     chi2 = (dc / s_c)^2 + (dd / s_d)^2,  s^2 = u^2 + (tolerance / 2)^2
 *   nominal     [n] n >= 1;  own   index of the cam that should be here
 *   tolerance   deg, how far a right cam may stand from its nominal (k = 2), >= 0
 * A candidate fits where chi2 lies within the 95 % point of its degrees of freedom, and is
 * rejected beyond the 0.27 % point. swapped needs its own rejected, another that fits, and
 * none else that fits as well; alike compares their durations with 2 s_d. With any_phase
 * the degrees of freedom are 1, else 2; the candidates are put in order by p, so that the
 * two can be compared.
 * Errors: VB_EDOM  n = 0, own >= n, a number not finite, u not above 0, tolerance below
 *                  0; VB_ERANGE nominal events out of order         (out untouched)
 * Cost:   O(n) time, no allocation.   Owns: nothing.
 * Source: docs/methods.md, Cam timing; chi-squared quantiles from GSL.
 */
enum vb_err vb_cam_fit_find(const struct vb_cam_seen *seen,
                            const struct vb_cam_nominal *nominal, size_t n, size_t own,
                            double tolerance, struct vb_cam_fit *out);

#endif
