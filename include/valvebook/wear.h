#ifndef VALVEBOOK_WEAR_H
#define VALVEBOOK_WEAR_H

#include <stddef.h>

#include "valvebook/err.h"

/*
 * vb_obs - one lash value of one valve.
 *   meter     running meter, h or km, swaps of the meter already taken out
 *   lash      mm at reference temperature, at the valve tip
 *   w         weight > 0; 1 where nothing is known, else proportional to 1/u^2
 *   interval  number of the interval between two settings, 0, 1, 2 ... never falling;
 *             numbers may be left out
 */
struct vb_obs {
    double meter;
    double lash;
    double w;
    size_t interval;
};

/*
 * vb_wear - what the readings of one valve within one life say.
 * Everything here can be added up over valves or kept in a table, so that nothing has
 * to be read twice.
 */
struct vb_wear {
    size_t n;         // readings
    size_t intervals; // J, settings that have at least one reading
    long df;          // n - J, less 1 for a rate; below 1 there is no residual variance
    double sxx;       // weighted sum of squares of the meter within intervals
    double sxy;       // the same of meter and lash
    double sse;       // weighted residual sum of squares; 0 where df < 1
    double rate;      // mm per unit of meter, NaN where sxx = 0
    double movement;  // mm, sum over intervals of (last - first)
    double now;       // mm, the newest value
    double now_meter;
    double last_w;    // sum of the weights of the last interval
    double last_mbar; // weighted mean meter of the last interval
    double last_ybar; // weighted mean lash of the last interval
};

/*
 * vb_wear_fit - analysis of covariance: one slope, one intercept an interval.
 *     y_ij = a_j + r m_ij + e,  e ~ (0, s2 / w)
 *   obs     [n] in order of interval, then of meter. The order within an interval decides
 *           only which reading is first and last (movement, now); it is not checked.
 *   n       >= 1
 *   out     filled whole
 * An interval with one reading, or with all its readings at one meter, adds nothing to
 * sxx and sxy, exactly; its readings still count in n and the interval in J. Where all are
 * so there is no rate, and what differs within an interval is scatter.
 * Errors: VB_EDOM  n = 0, a weight not above 0, a number not finite, numbers so large
 *                  that their sums are not, or intervals out of order (out untouched)
 * Cost:   O(n) time, four passes, no allocation.  Owns: nothing.
 * Source: R lm(lash ~ 0 + factor(interval) + meter, weights = w); with one interval the
 *         straight line of NIST StRD Norris.
 */
enum vb_err vb_wear_fit(const struct vb_obs *obs, size_t n, struct vb_wear *out);

/*
 * vb_wear_through_origin - slope of a line through 0 (NIST StRD NoInt1); a stack of
 * shims of known thickness against the gauge is such a line.
 *   x, y    [n]; n >= 2
 *   slope, se, s   out: slope, its standard error, residual standard deviation
 * Errors: VB_EDOM  n < 2, all x = 0, or a number or a sum not finite (out untouched)
 */
enum vb_err vb_wear_through_origin(const double *x, const double *y, size_t n,
                                   double *slope, double *se, double *s);

/*
 * vb_pool - residual variance shared by the valves of a family and side.
 *     s2 = sum SSE / sum df
 * Add every valve, in any order (df < 1 adds nothing); exact to rounding, so sort before
 * adding where identical bytes matter.
 */
struct vb_pool {
    double sse;
    double df;
    size_t valves; // with df >= 1
};
void vb_pool_add(struct vb_pool *p, const struct vb_wear *w);

/*
 * vb_pool_s2 - the variance, mm2, never below floor_u^2 (NaN or 0: no floor).
 * NaN while no valve with df >= 1 has been added: a floor alone is not a scatter.
 */
double vb_pool_s2(const struct vb_pool *p, double floor_u);

#endif
