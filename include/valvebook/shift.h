#ifndef VALVEBOOK_SHIFT_H
#define VALVEBOOK_SHIFT_H

#include <stddef.h>

#include "valvebook/err.h"
#include "valvebook/lobe.h"
#include "valvebook/timing.h"

/*
 * How far a valve's, a cam's timing has moved from one build to the next, or from its
 * nominal events, and what of it lash explains. Crank degrees; positive is later
 * (retarded).
 */

/* What k u of a shift is: 95 % of a normal distribution, GUM 6.3.3. */
#define VB_SHIFT_K 2.0

/*
 * vb_timing_read - events of one valve at one visit; or nominal ones, with all u = 0.
 *   e        crank degrees, the piston stop's offset taken out
 *   u        standard uncertainty of each of the two angles, independent; 0: exact
 *   lash     mm at the tip while they were read; NaN if unknown
 *   u_lash   its standard uncertainty; the checking lift's, where that was set by the
 *            same dial, may be added in squares: lash and checking lift act as their sum
 *   tdc      number of the determination of TDC these are counted from: readings with
 *            one number share its error. One for each visit and cylinder as a rule, one
 *            for the whole visit if the wheel was set once. 0: none (nominal
 *            events), or one that no other reading shares
 *   u_tdc    standard uncertainty of that TDC, deg; the same wherever tdc is the same
 */
struct vb_timing_read {
    struct vb_events e;
    double u;
    double lash, u_lash;
    long tdc;
    double u_tdc;
};

/* How a shift was split. */
enum vb_split {
    VB_SPLIT_PLAIN,   // no profile, or a lash unknown: all of the phase is the drive's
    VB_SPLIT_PROFILE, // the profile says what the lash change does
};

/*
 * vb_shift - one valve, from one reading to another; u_: standard uncertainties.
 *   opens, closes   change of the two angles
 *   phase           (opens + closes) / 2;   duration   closes - opens
 *   lash_phase, lash_duration   what the change of lash does, by the profile
 *   drive           phase - lash_phase: what is left for the drive
 *   rest            duration - lash_duration: what lash does not explain: lobe, follower,
 *                   checking lift, a misreading
 * Without a profile: lash_phase and lash_duration NaN, drive = phase, rest = duration,
 * and their uncertainties know nothing of lash: duration is then mostly lash.
 *   not_lash        without a profile: both lashes are known, and no change of lash between
 *                   them can have changed the duration so, on flanks of VB_LOBE_SLOPE_MIN
 *                   or steeper:
 *                   |duration| > 2 max(0, k u_lash -+ (lash_to - lash_from)) / slope, with
 *                   - where it grew; k = VB_SHIFT_K
 *   u_own           of drive, without the two TDCs
 *   tdc, u_tdc      of both readings, as given
 */
struct vb_shift {
    enum vb_split how;
    double opens, closes;
    double phase, u_phase;
    double duration, u_duration;
    double lash_phase, u_lash_phase;
    double lash_duration, u_lash_duration;
    double drive, u_drive;
    double rest, u_rest;
    int not_lash;
    double u_own;
    long tdc[2];
    double u_tdc[2];
};

/*
 * vb_shift_split - compare two readings of one valve.
 *   from, to   to - from is taken
 *   t          train; NULL or lobe NULL: no profile known
 *   m          may be NULL; says why in words, events of `from` first
 * With up(g), down(g) of the profile in cam degrees,
 *     lash_phase = [up + down](g_to) - [up + down](g_from)
 *     lash_duration = 2 ([down - up](g_to) - [down - up](g_from))
 *     u_own^2 = (u_from^2 + u_to^2) / 2 + u_lash_phase^2
 *     u_lash_phase^2 = sum over both of ((1/s_up + 1/s_down) / 2 u_lash)^2
 *                      + ((1/s_up)^2 + (1/s_down)^2) / 4 (ratio u_lift)^2
 * with s the slopes of vb_lobe_events; the profile's errors are taken as independent, and
 * as none where both lashes are the same;
 *     u_drive^2 = u_own^2 + sum of u_tdc^2 (0 where both readings share one TDC)
 * A lash change opens and closes by opposite ways, so it nearly goes out of the phase; TDC
 * goes out of the duration wholly.
 * Errors: those of vb_events_check and vb_lobe_solve; VB_EDOM an uncertainty below 0 or
 *         not finite, both u = 0                                   (out untouched)
 * Cost:   four Brent roots.   Owns: nothing.
 * Source: docs/methods.md, Cam timing; JCGM 100:2008 (10).
 */
enum vb_err vb_shift_split(const struct vb_timing_read *from,
                           const struct vb_timing_read *to, const struct vb_train *t,
                           struct vb_shift *out, struct vb_msg *m);

#define VB_CAM_VALVES 64 // most valves a cam is pooled over

/*
 * vb_cam_shift - the valves of a cam together. phase, drive, lash_ as in vb_shift, and
 * phase = lash_phase + drive here too; all pooled with the weights of drive.
 *   n, n_profile    valves, and those of them split by a profile; lash_phase and
 *                   lash_duration are NaN where n_profile < n
 *   k               coverage factor, VB_SHIFT_K
 *   chi2, p         valves about the mean in units of their u, n - 1 degrees of freedom;
 *                   p NaN for one valve
 *   raised          factor by which u_drive and u_phase were raised since the valves
 *                   scatter more than their uncertainties allow (p < 5 %; Birge ratio);
 *                   else 1
 *   odd             index of the valve the others contradict most, where p < 0.27 % and
 *                   there are more than two; else n
 *   not_lash        so said of every valve, none of which has a profile
 *   beyond          |drive| > k u_drive: the drive has moved
 *   phase_beyond, rest_beyond   the same of phase and of rest
 */
struct vb_cam_shift {
    size_t n, n_profile;
    double phase, u_phase;
    double lash_phase, u_lash_phase;
    double drive, u_drive;
    double duration, u_duration;
    double lash_duration, u_lash_duration;
    double rest, u_rest;
    double k, chi2, p, raised;
    size_t odd;
    int not_lash, beyond, phase_beyond, rest_beyond;
};

/*
 * vb_cam_pool - weighted mean of the shifts of one cam's valves, errors of TDC in common.
 *     w = V^-1 1 / (1' V^-1 1),  var = 1 / (1' V^-1 1),
 *     V_ij = u_own,i^2 [i = j] + sum of u_tdc^2 of the determinations both share
 *   s     [n] valves of one cam, any order; n 1..VB_CAM_VALVES
 *   out   filled whole
 * Errors: VB_EDOM  n out of range, a shift without uncertainty, or with one that is
 *                  1e-5 of another's or less;  VB_EMEM              (out untouched)
 * Cost:   O(n^3) time, O(n^2) memory, freed on return.   Owns: nothing.
 * Source: generalised least squares (Aitken 1935); JCGM 100:2008 F.1.2.3 for errors in
 *         common; Birge, Phys. Rev. 40 (1932) 207 for the ratio. R: solve(V).
 */
enum vb_err vb_cam_pool(const struct vb_shift *s, size_t n, struct vb_cam_shift *out);

/*
 * vb_cam_mean - the cam itself at one visit: mean centre and duration of its valves.
 *   centre     crank degrees, pooled like a shift;   duration   likewise
 */
struct vb_cam_mean {
    size_t n;
    double centre, u_centre;
    double duration, u_duration;
};

/*
 * vb_cam_mean_of - pool the events of one cam's valves at one visit.
 *   r     [n] of cylinders each counted from its own overlap TDC; n 1..VB_CAM_VALVES; u > 0
 * Errors, cost, source: as vb_cam_pool; those of vb_events_check
 */
enum vb_err vb_cam_mean_of(const struct vb_timing_read *r, size_t n,
                           struct vb_cam_mean *out, struct vb_msg *m);

/*
 * vb_bank - the same cam of two banks: how much later the first stands.
 *   phase, drive   mean of the first less that of the second; drive has lash taken out
 *   u_             as of the cams, raised where their valves scatter; what both share goes
 *                  out, raised by both factors
 *   k              VB_SHIFT_K
 *   beyond         |drive| > k u_drive
 */
struct vb_bank {
    double phase, u_phase;
    double drive, u_drive;
    double k;
    int beyond;
};

/*
 * vb_bank_compare - compare two cams by the shifts of their valves from one reference
 * (nominal events as a rule).
 *   a, b    [na], [nb] shifts, each against its own nominal. A TDC that valves of both
 *           banks were counted from goes out of the difference as far as both share it.
 * Errors, cost: as vb_cam_pool
 */
enum vb_err vb_bank_compare(const struct vb_shift *a, size_t na, const struct vb_shift *b,
                            size_t nb, struct vb_bank *out);

#endif
