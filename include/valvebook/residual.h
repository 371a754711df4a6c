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

#endif
