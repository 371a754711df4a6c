#ifndef VALVEBOOK_WEIBULL_H
#define VALVEBOOK_WEIBULL_H

#include <stddef.h>

#include "valvebook/err.h"

/*
 * How long a part or a setting lasts, where many have not ended yet and the end of others
 * was only seen at a visit. Lives are in one unit, h, km or days.
 */

/*
 * vb_span - what is known of one life.
 *   lo, hi   it ended after lo and not later than hi. Ended at hi exactly: lo = hi. Still
 *            running at lo (right-censored): hi = INFINITY. Had ended when it was first
 *            looked at (left-censored): lo = 0. 0 to INFINITY says nothing.
 */
struct vb_span {
    double lo, hi;
};

/* Which of the four kinds a span is. */
enum vb_span_kind { VB_SPAN_EXACT, VB_SPAN_RIGHT, VB_SPAN_INTERVAL, VB_SPAN_LEFT };
enum vb_span_kind vb_span_kind(const struct vb_span *s);

/*
 * vb_weibull - a life with F(t) = 1 - exp(-(t / scale)^shape).
 *   n            lives of each kind, by enum vb_span_kind
 *   shape        above 1: the older, the likelier to end
 *   scale        unit of the lives: 63.2 % have ended by then
 *   loglik       its logarithm, densities in 1 / unit
 *   var_shape, var_scale, cov   variances and covariance of ln shape and ln scale, from
 *                the observed information
 *   steps        of Newton's method
 */
struct vb_weibull {
    size_t n[4];
    double shape, scale, loglik;
    double var_shape, var_scale, cov;
    int steps;
};

/*
 * vb_weibull_fit - by maximum likelihood.
 *   span   [n] n >= 0; 0 <= lo <= hi, hi > 0, lo finite
 *   m      says in words why there is no fit; may be NULL
 * With z = shape ln t - shape ln scale the log likelihood is concave in the shape and in
 * shape ln scale, so that Newton's method with halved steps finds the one maximum, if there
 * is one. There is none, and VB_EDOM tells so, exactly where
 *   - no life has ended, or none is known to have lasted at all;
 *   - one age lies in all spans: the shape grows without bound;
 *   - lives are left- and right-censored only, and the mean of ln hi of those ended is not
 *     above the mean of ln lo of those running: the shape falls to 0.
 * Errors: VB_EDOM  no maximum, or a span not as above; or Newton's method did not come to
 *                  an end, which is a fault of this program (out untouched)
 * Cost:   O(n) a step, fewer than 20 steps as a rule, no allocation.   Owns: nothing.
 * Source: NIST/SEMATECH e-Handbook 8.4.1.3; concavity: Burridge, J. R. Statist. Soc. B 43
 *         (1981) 41-45; R survival survreg(Surv(lo, hi, type = "interval2") ~ 1).
 */
enum vb_err vb_weibull_fit(const struct vb_span *span, size_t n, struct vb_weibull *out,
                           struct vb_msg *m);

/* vb_bounds - an estimate and its two-sided interval. */
struct vb_bounds {
    double value, lo, hi;
};

/*
 * vb_weibull_life - the age by which a share p of lives has ended: B10 for p = 0.1.
 *     t_p = scale (-ln(1 - p))^(1 / shape)
 * with an interval by the delta method on ln t_p.
 *   p, confidence   above 0, below 1
 * vb_weibull_shape, vb_weibull_scale - the same for the parameters.
 * Errors: VB_EDOM  p or confidence not as above, a bound not finite (out untouched)
 */
enum vb_err vb_weibull_life(const struct vb_weibull *w, double p, double confidence,
                            struct vb_bounds *out);
enum vb_err vb_weibull_shape(const struct vb_weibull *w, double confidence,
                             struct vb_bounds *out);
enum vb_err vb_weibull_scale(const struct vb_weibull *w, double confidence,
                             struct vb_bounds *out);

/* vb_log_bounds - an estimate with a variance of its logarithm: value exp(-+ z sd). */
enum vb_err vb_log_bounds(double value, double var_log, double confidence,
                          struct vb_bounds *out);

#endif
