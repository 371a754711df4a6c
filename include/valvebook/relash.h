#ifndef VALVEBOOK_RELASH_H
#define VALVEBOOK_RELASH_H

#include <stddef.h>

#include "valvebook/err.h"

/*
 * How long may lash go unset? Lengths in mm, rates in mm per unit of the meter (h or km),
 * below 0 for a valve that closes.
 */

#define VB_BELIEF_NODES 32
#define VB_FEW_RATES    3 // with fewer nobody can tell how much valves differ
#define VB_FEW_SETTINGS 5 // with fewer nobody can tell how well they are set

/*
 * vb_belief - what is thought of the rates of a family and side, r_v ~ N(mu, tau2): some
 * values of tau2, each with its weight, and mu as far as it is known with that tau2.
 */
struct vb_belief {
    struct vb_belief_node {
        double weight, tau2, mu, var_mu;
    } node[VB_BELIEF_NODES];
    size_t n;
};

/* vb_belief_sure - mu and tau2 as if they were known; tau2 >= 0. */
void vb_belief_sure(double mu, double tau2, struct vb_belief *out);

/*
 * vb_belief_fit - from rates that are each known with a variance: how well they tell mu and
 * tau2 is carried along, since an interval rests on the tails.
 *   rate, var   [n] n >= VB_FEW_RATES; finite, var > 0
 * The weights are the restricted likelihood of tau times a prior 1 / sqrt(v + tau2), v the
 * harmonic mean of the variances,
 *     prod (v_i + tau2)^(-1/2) (sum w)^(-1/2) exp(-sum w (r - mu)^2 / 2),
 * w = 1 / (v_i + tau2), at the nodes of a Gauss-Legendre rule in asinh(tau / sqrt(v)); mu and
 * var_mu = 1 / sum w are those at each tau. The prior is flat in tau where rates cannot tell
 * it, and that of Jeffreys, 1 / tau, where they can: with small v_i the rate of a further valve
 * comes out as Student's t with n - 1 degrees of freedom, as it must. What comes of it is
 * checked by simulation.
 * Errors: VB_EDOM  fewer rates, or not as above; VB_EMEM (out untouched)
 * Cost:   O(100 n) time, no allocation.   Owns: nothing.
 * Source: restricted likelihood, e.g. Viechtbauer, J. Educ. Behav. Stat. 30 (2005) 261-293;
 *         priors: Gelman, Bayesian Analysis 1 (2006) 515-534; Tiao & Tan, Biometrika 52
 *         (1965) 37-53; joined by the simulation in tests/relash_sim_test.c.
 */
enum vb_err vb_belief_fit(const double *rate, const double *var, size_t n,
                          struct vb_belief *out);

/*
 * vb_belief_likeliest - the same as if mu and tau2 were known to be what is likeliest: tau2
 * where the restricted likelihood is greatest, mu there. Beside vb_belief_fit it shows what the
 * doubt costs; an estimate by moments, as lists use it (family_rate.h), may differ by more than
 * the doubt comes to.
 *   rate, var   as there
 * Errors: VB_EDOM  as there (out untouched)
 * Cost:   O(300 n) time, no allocation.   Owns: nothing.
 * Source: as there; golden sections: Kiefer, Proc. Am. Math. Soc. 4 (1953) 502-506.
 */
enum vb_err vb_belief_likeliest(const double *rate, const double *var, size_t n,
                                struct vb_belief *out);

/*
 * vb_set - one valve that was set once.
 *   left    lash as left, mm, at 20 Cel and the valve tip
 *   found   of the next visit, before anything renewed it; NaN if there was none
 *   gap     meter from one to the other, > 0; not looked at where found is NaN
 *   seen    longest gap after which it was found, before it was set again; 0 if never
 *   s2      variance of one reading, mm2
 */
struct vb_set {
    double left, found, gap, seen, s2;
};

/*
 * vb_setting - how lash is set.
 *   n, mean   settings, and their mean
 *   var       variance of the true lash, for a further setting
 *   stays     variance that the error of a reading leaves in the valve: 0 where a valve is
 *             set and then read, s2 where the screw is turned until the reading is right
 *   longest   longest gap after which one was found, not set again before
 */
struct vb_setting {
    size_t n;
    double mean, var, stays, longest;
};

/*
 * vb_setting_fit - from settings and the family's mu.
 *   set    [n] n >= VB_FEW_SETTINGS
 * With A the variance of readings as left, s2 that of a reading, and c the part of s2 that is
 * in the reading only, A + s2 - 2 c is the variance of the true lash. c shows in what is found
 * next: where a reading as left errs the valve has not moved by as much,
 *     c = -Cov(found - mu gap - left, left),   0 <= c <= s2;  stays = s2 - c.
 * With fewer than VB_FEW_SETTINGS found again c is 0, the cautious end. The doubt about the
 * mean, A / n, is added.
 * Errors: VB_EDOM  fewer settings, or a number not finite (out untouched)
 * Cost:   O(n) time, no allocation.   Owns: nothing.
 * Source: errors of measurement and of control, e.g. Carroll et al., Measurement Error in
 *         Nonlinear Models (2006), 1.4.
 */
enum vb_err vb_setting_fit(const struct vb_set *set, size_t n, double mu,
                           struct vb_setting *out);

/*
 * vb_relash_side - the valves of one side of an engine.
 *   tight       the limit;  level  as set, on average;  var  of a setting
 *   valves      of this side, in the whole engine, >= 1
 */
struct vb_relash_side {
    double tight, level, var;
    int valves;
    struct vb_belief rates;
};

/*
 * vb_relash_risk - the chance that any valve of an engine is beyond its tight limit when
 * the gap ends. Lash moves one way, so that what was inside at first and is inside at the
 * end never was outside.
 *   side   [n] n >= 1;  gap  >= 0
 *   risk   out: 0..1
 *     1 - prod_sides E[prod_valves P(level + r gap >= tight)]
 * Valves are independent given mu and tau2. With mu ~ N(m, v) and s2 = var + tau2 gap^2 the
 * chance is that of  gap sqrt(v) U + sqrt(s2) Z_min < tight - level - m gap,  U normal and
 * Z_min the least of as many normals as there are valves. Of the two the wider is integrated
 * in closed form and the other by the trapezoidal rule.
 * Errors: VB_EDOM  a number not finite or not as above (risk untouched)
 * Cost:   O(nodes x 100) time, no allocation.   Owns: nothing.
 * Source: the normal distribution; order statistics. R integrate, tests/r/relash.R.
 */
enum vb_err vb_relash_risk(const struct vb_relash_side *side, size_t n, double gap,
                           double *risk);

/*
 * vb_relash_gap - the longest gap whose risk stays within `risk`.
 *   risk   above 0, below 1
 *   most   no longer gap is of interest, > 0
 *   gap    out: 0 where the scatter of the settings alone is too much; most where no gap up
 *          to it is too long
 * Errors: VB_EDOM  as vb_relash_risk, risk or most not as above;  VB_EMEM (gap untouched)
 * Cost:   some 30 times that of vb_relash_risk.
 * Source: Brent (1973), by GSL.
 */
enum vb_err vb_relash_gap(const struct vb_relash_side *side, size_t n, double risk,
                          double most, double *gap);

#endif
