#ifndef VALVEBOOK_GUARD_H
#define VALVEBOOK_GUARD_H

#include <stddef.h>

#include "valvebook/err.h"

/*
 * Is a lash inside its limits, and what would it be at 20 Cel? Lengths in mm.
 */

#define VB_GUARD_RISK 0.05

enum vb_verdict {
    VB_VERDICT_CLOSE = 0, // too close to a limit to say
    VB_VERDICT_IN,
    VB_VERDICT_OUT,
};

/*
 * vb_guard - a verdict.
 *   band   width of the guard band, k u
 *   at     which limit stands in the way of VB_VERDICT_IN: -1 the lower, +1 the upper; 0
 *          if the verdict is IN. Where both do, the nearer; the lower if they are equally
 *          near.
 */
struct vb_guard {
    enum vb_verdict verdict;
    double band;
    int at;
};

/*
 * vb_guard_judge - value against limits, with a guard band on both sides of each.
 *     in:   lower + g <= value <= upper - g
 *     out:  value < lower - g  or  value > upper + g;   else too close to say
 *     g = k u, k the one-sided quantile of t at `risk`, of the normal where df = +inf:
 *     1.645 at 5 %, which the standard rounds to 1.65
 *   value          mm;   u   its standard uncertainty, mm, >= 0;   df  of u, > 0, or +inf
 *   lower, upper   mm, lower <= upper; NaN for a limit nobody has stated, but not both
 *   risk           of a wrong IN or OUT at one limit, above 0, at most 0.5; VB_GUARD_RISK
 * With u = 0 nothing is too close, and a value on a limit is in. A window narrower than
 * 2 g has no IN.
 * Errors: VB_EDOM  an argument not as above, or g not finite (out untouched)
 * Cost:   O(1) time, no allocation.   Owns: nothing.
 * Source: ISO 14253-1:2017 (its 1.65 through secondary sources); R qnorm, qt.
 */
enum vb_err vb_guard_judge(double value, double u, double df, double lower, double upper,
                           double risk, struct vb_guard *out);

/*
 * vb_link - one length in the loop from cam to valve tip and back.
 *   length   mm, at 20 Cel, > 0. With a rocker of ratio R, times the lever it works by: R
 *            for cam, follower and push-rod, 1 + R for the height of the pivot.
 *   alpha    1/Cel, linear expansion, 11.7e-6 for a mild steel
 *   sign     +1 if the lash grows with this length (block, head), -1 if it shrinks
 *            (valve, push-rod, follower)
 */
struct vb_link {
    double length, alpha;
    int sign;
};

#define VB_ALPHA_MAX 1e-3 // 1/Cel; no solid comes near, 11.7 for 11.7e-6 does not pass

/*
 * vb_growth - how fast lash grows with temperature, all parts at the same temperature.
 *     g = sum(sign_i L_i alpha_i)
 *   link   [n] a closed loop: its signed lengths add up to the lash; n >= 1
 *   g      out: mm/Cel, below 0 if the lash closes as the engine warms
 * Errors: VB_EDOM  n = 0, a length not above 0, |alpha| above VB_ALPHA_MAX, a sign other
 *                  than -1 and +1, a number or g not finite (g untouched)
 * Cost:   O(n) time, no allocation.   Owns: nothing.
 * Source: definition; coefficients e.g. Callister, Fundamentals of Materials Science and
 *         Engineering, table B.6.
 */
enum vb_err vb_growth(const struct vb_link *link, size_t n, double *g);

/*
 * vb_stack_growth - vb_growth of a stack written in one line, as a family states it:
 * "+120x21.5 -98x11.7" is 120 mm that expands by 21.5e-6/Cel and adds to the lash, less
 * 98 mm by 11.7e-6/Cel.
 *   g      out: mm/Cel
 * Errors: VB_ESYNTAX  not a stack, or more than 16 lengths;  VB_EDOM  as vb_growth
 */
enum vb_err vb_stack_growth(const char *text, double *g);

/*
 * vb_growth_taken_out - lash at 20 Cel (ISO 1) from lash at another temperature.
 *     lash_20 = lash - g (T - 20)
 *   lash     mm at the valve tip;  g  mm/Cel
 *   temp_c   Cel, NaN if not written down: taken as 20
 * Returns mm.
 */
double vb_growth_taken_out(double lash, double g, double temp_c);

#endif
