#ifndef VALVEBOOK_POWERLAW_H
#define VALVEBOOK_POWERLAW_H

#include <stddef.h>

#include "valvebook/err.h"
#include "valvebook/mcf.h"
#include "valvebook/weibull.h"

/*
 * vb_power - replacements whose rate follows a power of age: by an age t an engine has had
 * (t / scale)^shape of them, on average.
 *   count       parts replaced;  engines  that were watched
 *   shape       above 1: more often as engines age; below 1: less often
 *   scale       age by which an engine has had one
 *   var_shape, var_scale   of ln shape and ln scale, from the information, as if no
 *               replacement depended on another
 *   robust_shape   of ln shape, from the scatter between engines; NaN with one engine
 *   laplace, p_laplace   Laplace's test of a constant rate: standard normal, above 0 if
 *               replacements come late; p two-sided
 *   chi2, df, p_chi2     the military handbook's: large if replacements come early
 */
struct vb_power {
    double count;
    size_t engines;
    double shape, scale;
    double var_shape, var_scale, robust_shape;
    double laplace, p_laplace;
    double chi2, df, p_chi2;
};

/*
 * vb_power_fit - by maximum likelihood, from engines that came late and left early.
 *   watch, n, engines, replaced, k   as vb_mcf_fit has them; from >= 0
 *   m          says in words why there is no fit; may be NULL
 * The shape b solves, with all ages in units of the greatest `to`,
 *     N / b + sum count ln age = N G' / G,   G(b) = sum_w (to^b - from^b);
 * its left side less its right falls all the way, so there is one root at most. The scale is
 * (G / N)^(1/b). Both tests take how many were replaced in each watch as given, so that
 * engines may differ in their rates:
 *     Laplace   sum count (age - (from + to) / 2) / sqrt(sum count (to - from)^2 / 12)
 *     handbook  2 sum count ln((to - from) / (age - from)) ~ chi2 with 2 N
 * Errors: VB_EDOM  nothing replaced; all replaced at the end of the longest watch; so early
 *                  that no shape above 0 fits; or arguments not as above (out untouched)
 *         VB_EMEM
 * Cost:   O((n + k) x 40) time, O(engines) memory.   Owns: nothing.
 * Source: Crow, Reliability analysis for complex, repairable systems (1974), with watches
 *         that begin late: the Poisson likelihood; MIL-HDBK-189 (1981); NIST/SEMATECH
 *         e-Handbook 8.2.3.4, and 8.4.5 with its shape of (N - 1) / N times this one.
 */
enum vb_err vb_power_fit(const struct vb_watch *watch, size_t n, size_t engines,
                         const struct vb_replaced *replaced, size_t k,
                         struct vb_power *out, struct vb_msg *m);

/* vb_power_rate - replacements an engine and unit of age, at an age > 0. */
double vb_power_rate(const struct vb_power *p, double age);

#endif
