#ifndef VALVEBOOK_MCF_H
#define VALVEBOOK_MCF_H

#include <stddef.h>

#include "valvebook/err.h"

/*
 * How often parts are replaced as engines age. Ages are in one unit, h, km or days.
 * Expected sizes: up to some thousand engines and replacements.
 */

/*
 * vb_watch - a stretch of age over which one engine was under observation.
 *   engine   index, from 0; one engine may have several, one for each of its builds
 *   from, to   at risk where from < age <= to: an engine is still at risk at its own end
 */
struct vb_watch {
    size_t engine;
    double from, to;
};

/* vb_replaced - `count` parts replaced at one age of a watch (an index). */
struct vb_replaced {
    size_t watch;
    double age;
    double count; // > 0
};

/*
 * vb_mcf_step - the mean cumulative function from this age to the next.
 *   at_risk     watches at risk at this age
 *   count       parts replaced at this age
 *   mcf         parts replaced for one engine, on average, up to and with this age
 *   se          robust standard error: holds whatever makes one engine's replacements
 *               depend on each other, be it pairs in one visit or a bad engine
 *   se_poisson  the same if they did not depend on each other
 *   lo, hi      bounds of the mcf at the confidence asked for, on the log scale, from the
 *               larger of both errors: where few are at risk, the robust one comes out small
 */
struct vb_mcf_step {
    double age;
    size_t at_risk;
    double count, mcf, se, se_poisson, lo, hi;
};

/*
 * vb_mcf_fit - mean cumulative function of recurrent replacements, one step an age.
 *   watch      [n] n >= 0;  engines  their indices are below this
 *   replaced   [k] in any order, each inside its watch; ties are one step
 *   confidence above 0, below 1: two-sided
 *   step       out: [*steps], in order of age, at most k; to be freed with free(). NULL
 *              where nothing was replaced.
 *     d_l = sum_i k_il / n_l,   MCF_j = sum_{l<=j} d_l
 *     se_j^2 = sum_i (sum_{l<=j} (k_il - Y_il d_l) / n_l)^2,   se_poisson^2 = sum k_l / n_l^2
 * with k_il replacements of engine i at the age l, Y_il its watches at risk, n_l = sum_i Y_il.
 * Errors: VB_EDOM  a watch with from >= to, a number not finite, an index out of range,
 *                  a count not above 0, an age outside its watch (out untouched)
 *         VB_EMEM
 * Cost:   O(steps x (n + engines) + k log k) time, O(k + engines) memory.
 * Source: Nelson, Technometrics 37 (1995) 147-157; Lawless & Nadeau, Technometrics 37 (1995)
 *         158-168, robust variance; R survival survfit(Surv(from, to, status) ~ 1, id = id).
 */
enum vb_err vb_mcf_fit(const struct vb_watch *watch, size_t n, size_t engines,
                       const struct vb_replaced *replaced, size_t k, double confidence,
                       struct vb_mcf_step **step, size_t *steps);

/* vb_watched - are these watches and replacements as vb_mcf_fit wants them? */
int vb_watched(const struct vb_watch *watch, size_t n, size_t engines,
               const struct vb_replaced *replaced, size_t k);

#endif
