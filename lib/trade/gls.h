#ifndef VALVEBOOK_GLS_H
#define VALVEBOOK_GLS_H

#include <stddef.h>

#include "valvebook/err.h"
#include "valvebook/shift.h"

/*
 * Mean of values that share errors of TDC: generalised least squares with one unknown.
 */

/*
 * vb_gls_item - a value.
 *   own2    square of its own standard uncertainty, > 0
 *   tdc     the determinations of TDC it rests on; 0: none, or one it shares with nobody
 *   u_tdc   their standard uncertainties with the sign they enter with: a shift is `to`
 *           less `from`, so its first is negative
 */
struct vb_gls_item {
    double y, own2;
    long tdc[2];
    double u_tdc[2];
};

/*
 * vb_gls - the mean of n items.
 *   p      [n x n] inverse of the covariance, row by row
 *   w      [n] weights, sum 1
 *   chi2   of the items about the mean, n - 1 degrees of freedom
 */
struct vb_gls {
    size_t n;
    double p[VB_CAM_VALVES * VB_CAM_VALVES];
    double w[VB_CAM_VALVES];
    double y, var, chi2;
};

/*
 * vb_gls_mean - the mean.  n 1..VB_CAM_VALVES.
 * Errors: VB_EDOM  own2 below 1e-10 of the greatest variance, so that there is no inverse
 *                  to the covariance, or too small to have a weight (out filled in part)
 */
enum vb_err vb_gls_mean(const struct vb_gls_item *x, size_t n, struct vb_gls *out);

/*
 * vb_gls_farthest - index of the item that the others contradict most: the greatest
 * deletion residual |(P r)_i| / sqrt(P_ii - (P 1)_i^2 / 1'P1); the first of equals.
 */
size_t vb_gls_farthest(const struct vb_gls *g, const struct vb_gls_item *x);

/* vb_gls_shared - covariance of two means by the determinations their items share. */
double vb_gls_shared(const struct vb_gls *a, const struct vb_gls_item *xa,
                     const struct vb_gls *b, const struct vb_gls_item *xb);

#endif
