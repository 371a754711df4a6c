#ifndef VALVEBOOK_RESIDUAL_H
#define VALVEBOOK_RESIDUAL_H

#include <stddef.h>

#include "valvebook/wear.h"

/*
 * vb_run - a fit that grows reading by reading, so that each can be held against what the
 * ones before it predicted. Zero it to begin.
 */
struct vb_run {
    size_t n, interval;
    double sxx, sxy;      // as in vb_wear, so far
    double w, mbar, ybar; // of the present interval, so far
};

/*
 * vb_run_next - take the next reading; what did those before it predict?
 *     e = y - (ybar + r (m - mbar)),  q = e / sqrt(1 / w + 1 / W + (m - mbar)^2 / Sxx)
 *   o          readings in the order of vb_wear_fit
 *   residual   out: q, mm; its variance is s2 of a reading of weight 1
 *
 * Returns 1 if a prediction was possible: the interval had a reading and there was a
 * rate. The squares of all residuals add up to the SSE of the whole fit, unless a meter
 * was read twice in an interval before there was a rate: that reading has no residual.
 * Source: recursive residuals, Brown, Durbin & Evans (1975), J. R. Stat. Soc. B 37.
 */
int vb_run_next(struct vb_run *r, const struct vb_obs *o, double *residual);

/*
 * vb_corner - what the newest n residuals add up to.
 *
 * The one-sided CUSUM of residuals q_1 .. q_N in units of sd,
 *     C_i = max(0, C_i-1 + q_i / sd - k),
 * ends at the largest of  S_n / sd - k n  over n = 0 .. N, where S_n is the sum of the
 * newest n. Whatever sd and k > 0 are, only corners of the upper hull of the points
 * (n, S_n) that rise can be that largest: four or five, where there may be hundreds of
 * residuals.
 */
struct vb_corner {
    size_t n;
    double sum;
};

/*
 * vb_cusum_corners - those of q, or of -q where side is -1.
 *   q      [n], oldest first;  out  [n]
 * Returns how many there are; 0 where no sum is above 0.
 * vb_cusum_end - where the CUSUM ends: sd and k > 0, corners [n] of one side.
 */
size_t vb_cusum_corners(const double *q, size_t n, int side, struct vb_corner *out);
double vb_cusum_end(const struct vb_corner *c, size_t n, double sd, double k);

#endif
