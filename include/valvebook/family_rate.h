#ifndef VALVEBOOK_FAMILY_RATE_H
#define VALVEBOOK_FAMILY_RATE_H

#include <stddef.h>

#include "valvebook/err.h"

/*
 * vb_family_rate - the rates of a family and side, r_v ~ N(mu, tau2), each known with its
 * own variance.
 *   k        rates that went in
 *   q, df    Cochran's Q about the fixed-effect mean, and k - 1
 *   tau2     variance between valves, floored at 0
 *   mu       mean rate;  var_mu  its variance
 *   i2       share of the scatter that is between valves, max(0, (Q - df) / Q), 0..1
 * At tau2 = 0, mu is the fixed-effect mean (weights 1 / v) and var_mu its variance.
 * With one rate, mu and var_mu are that rate's; Q, tau2 and i2 are 0: one valve shows
 * nothing of the scatter between valves, so tau2 = 0 is then a convention, not a finding.
 * With none, k = 0, mu and tau2 are NaN, var_mu is +inf, Q, df and i2 are 0.
 */
struct vb_family_rate {
    size_t k;
    double q, df, tau2, mu, var_mu, i2;
};

/*
 * vb_family_rate_fit - random effects by DerSimonian and Laird.
 *   rate   [n] mm per unit of meter; NaN for a valve without a rate, which is passed over
 *   var    [n] its variance, > 0; not looked at where rate is NaN
 *   n      >= 0;  out  filled whole
 *     w = 1 / v,  Q = sum w (r - mu_F)^2,  mu_F = sum w r / sum w
 *     tau2 = max(0, (Q - (k - 1)) / (sum w - sum w^2 / sum w))
 *     mu = sum w* r / sum w*,  var(mu) = 1 / sum w*,  w* = 1 / (v + tau2)
 * Errors: VB_EDOM  a rate infinite, a variance not above 0 or not finite, a result not
 *                  finite (out untouched)
 * Cost:   O(n) time, four passes, no allocation.   Owns: nothing.
 * Source: DerSimonian & Laird, Control. Clin. Trials 7 (1986) 177-188; I2: Higgins &
 *         Thompson (2002); R metafor rma(yi, vi, method = "DL").
 */
enum vb_err vb_family_rate_fit(const double *rate, const double *var, size_t n,
                               struct vb_family_rate *out);

/*
 * vb_family_rate_without - the same from all valves but one, which is what that valve's
 * posterior asks for: with the valve itself in the family its readings count twice, and
 * the posterior variance comes out too small, by half where it is the only one.
 *   skip   index of the valve to leave out; n or more leaves out none
 */
enum vb_err vb_family_rate_without(const double *rate, const double *var, size_t n,
                                   size_t skip, struct vb_family_rate *out);

/*
 * vb_family_rate_posterior - one valve's rate, borrowing from its family.
 *     precision-weighted mean of rate (variance var) and mu (variance tau2 + var_mu)
 *   f           the family, without this valve (vb_family_rate_without)
 *   rate, var   of the valve; rate NaN if it has none (var is then not looked at)
 *   post        out: the mean, between rate and mu
 *   post_var    out: 1 / (1 / var + 1 / (tau2 + var_mu)), below both
 * A valve without a rate gets mu and tau2 + var_mu. A family without rates (k = 0) leaves
 * a valve its own; with neither, post is NaN and post_var +inf.
 * Errors: VB_EDOM  rate infinite, var not above 0 or not finite, f not as fitted (post,
 *                  post_var untouched)
 * Cost:   O(1) time, no allocation.   Owns: nothing.
 * Source: normal prior and normal likelihood, e.g. Gelman et al., Bayesian Data Analysis,
 *         section 2.5.
 */
enum vb_err vb_family_rate_posterior(const struct vb_family_rate *f, double rate,
                                     double var, double *post, double *post_var);

#endif
