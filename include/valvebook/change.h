#ifndef VALVEBOOK_CHANGE_H
#define VALVEBOOK_CHANGE_H

#include <stddef.h>

#include "valvebook/err.h"

/*
 * Something changed: at once (step), slowly (CUSUM, EWMA), or all along (Mann-Kendall).
 * These are hints, never verdicts.
 */

#define VB_STEP_ALPHA 0.0027 // beyond three standard deviations of a normal, two-sided

/*
 * vb_step - the newest reading against what was expected of it.
 *   t      (y - level) / sqrt(var + s2), positive if the reading lies above
 *   df     of the scatter
 *   step   vb_step_p < alpha
 */
struct vb_step {
    double t, df;
    int step;
};

/* vb_step_p - the two-sided p-value, NaN where t is. It takes most of the test's time, and
 * few look at it. */
double vb_step_p(const struct vb_step *s);

/*
 * vb_step_test - is one reading too far from its forecast?
 *   y            the reading, mm
 *   level, var   forecast without it, mm, and its variance, mm2
 *   s2           variance of a single reading, mm2
 *   df           of s2, > 0, whole or not; +inf: normal instead of t
 *   alpha        0..1, VB_STEP_ALPHA as a rule
 * Errors: VB_EDOM  a number not finite (but df), a variance below 0 or both 0, df not
 *                  above 0, alpha outside 0..1 or at its ends, t not finite (out
 *                  untouched)
 * Cost:   O(1) time, no allocation.   Owns: nothing.
 * Source: prediction interval of a regression; R 2 * pt(-abs(t), df).
 */
enum vb_err vb_step_test(double y, double level, double var, double s2, double df,
                         double alpha, struct vb_step *out);

/*
 * vb_cusum_plan - a tabular CUSUM.
 *   target   expected value, unit u;  sd  standard deviation of one value, unit u, > 0
 *   k, h     allowance >= 0 and decision limit > 0, in units of sd; 0.5 and 5 as a rule.
 *            With sd = 1 they are absolute.
 */
struct vb_cusum_plan {
    double target, sd, k, h;
};

/*
 * vb_cusum - upper and lower sums, in units of sd.
 *     hi_i = max(0, hi_{i-1} + z_i - k),  lo_i = max(0, lo_{i-1} - z_i - k),
 *     z_i = (x_i - target) / sd,  both 0 before the first
 *   x        [n] in order of time; n >= 1
 *   hi, lo   out: [n];  first  out: index of the first i with hi_i or lo_i > h; n if none
 * Reset: a sum that would fall below 0 starts again at 0; a signal does not reset, the
 * sums run on to the end.
 * Errors: VB_EDOM  n = 0, a number or a sum not finite, the plan not as above (hi, lo,
 *                  first untouched)
 * Cost:   O(n) time, two passes, no allocation.   Owns: nothing.
 * Source: NIST/SEMATECH e-Handbook 6.3.2.3.
 */
enum vb_err vb_cusum(const double *x, size_t n, const struct vb_cusum_plan *plan,
                     double *hi, double *lo, size_t *first);

/*
 * vb_ewma_plan - an exponentially weighted moving average.
 *   target, sd   as above
 *   lambda       weight of the newest value, above 0, at most 1; 0.3 in the handbook
 *   width        L, limits at target -+ L standard deviations of the average, > 0; 3
 *   exact        1: limits of each step, narrower at the start; 0: those of the long run,
 *                as the handbook's example has them
 */
struct vb_ewma_plan {
    double target, sd, lambda, width;
    int exact;
};

/*
 * vb_ewma_limits - control limits at a step.
 *     target -+ L sd sqrt(lambda / (2 - lambda) (1 - (1 - lambda)^(2 i)))
 *   i        step, counted from 1; the last factor is left out unless plan->exact
 *   lo, hi   out, unit u
 * Errors: VB_EDOM  i = 0, the plan not as above, a limit not finite (lo, hi untouched)
 */
enum vb_err vb_ewma_limits(const struct vb_ewma_plan *plan, size_t i, double *lo,
                           double *hi);

/*
 * vb_ewma - the averages and the first signal.
 *     z_i = lambda x_i + (1 - lambda) z_{i-1},  z_0 = target
 *   x       [n] in order of time; n >= 1
 *   z       out: [n];  first  out: index of the first z outside its limits; n if none
 * Errors: VB_EDOM  n = 0, a number not finite, the plan not as above (z, first untouched)
 * Cost:   O(n) time, no allocation.   Owns: nothing.
 * Source: NIST/SEMATECH e-Handbook 6.3.2.4; limits of each step: Lucas & Saccucci (1990).
 */
enum vb_err vb_ewma(const double *x, size_t n, const struct vb_ewma_plan *plan, double *z,
                    size_t *first);

/*
 * vb_trend - Mann-Kendall test for a trend in one direction.
 *   s     pairs that rise less pairs that fall
 *   var   of s without a trend, ties taken out
 *   z     (|s| - 1) / sqrt(var) with the sign of s; 0 where s = 0
 *   p     two-sided, normal
 */
struct vb_trend {
    long long s;
    double var, z, p;
};

/*
 * vb_mann_kendall - does a series rise or fall?
 *   x     [n] in order of time; n >= 2.  The normal is good from n = 10 on.
 *     var = (n (n - 1)(2 n + 5) - sum t (t - 1)(2 t + 5)) / 18,  t readings to a tie
 * Errors: VB_EDOM  n < 2, a number not finite
 *         VB_EMEM  no memory                              (out untouched)
 * Cost:   O(n^2) time, O(n) memory, freed on return.   Owns: nothing.
 * Source: EPA 530/R-09-007, section 17.3.2, example 17-6.
 */
enum vb_err vb_mann_kendall(const double *x, size_t n, struct vb_trend *out);

#endif
