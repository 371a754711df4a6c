#ifndef VALVEBOOK_GAUGE_U_H
#define VALVEBOOK_GAUGE_U_H

#include <stddef.h>

#include "valvebook/err.h"
#include "valvebook/gauge.h"
#include "valvebook/number.h"

/*
 * What one reading by one person is worth: the standard uncertainty that a rate weighs a
 * reading by, from a crossed study, or from less.
 */

/*
 * vb_gauge_step - the step of a display, from what it has shown: the largest length of
 * which all readings are whole multiples apart.
 *   value   [n] as written, in one unit
 *   step    out, same unit; 0 if all are alike
 * Errors: VB_ERANGE  more digits between the readings than an integer holds (step
 *                    untouched)
 * Cost:   O(n) time, no allocation.   Owns: nothing.
 * Source: greatest common divisor of the differences (Euclid).
 */
enum vb_err vb_gauge_step(const struct vb_dec *value, size_t n, double *step);

/*
 * vb_study_within - repeatability of any design, complete or not: the variance of
 * readings of the same part by the same person about their mean, all cells pooled.
 *   reading   [n] in any order, values finite
 *   var, df   out: sum of squares / df, and df = n - number of cells; NaN and 0 where no
 *             cell has two readings
 * Errors: VB_EDOM  n = 0, a value not finite, sums too large
 *         VB_EMEM                                              (var, df untouched)
 * Cost:   O(n log n) time, O(n) memory, freed on return.   Owns: nothing.
 * Source: definition; the residual line of R aov(value ~ part : person).
 */
enum vb_err vb_study_within(const struct vb_study_reading *reading, size_t n, double *var,
                            double *df);

/*
 * vb_study_u - one reading of one part by one person, any of those the study drew from.
 *     u^2 = repeatability + people + interaction,
 * which is a sum of mean squares with factors of at least 0: without the interaction term
 *     u^2 = MSb / (a r) + MSe (1 - 1 / (a r)),  with it
 *     u^2 = MSb / (a r) + MSab (a - 1) / (a r) + MSe (r - 1) / r
 * where people differ, the first term less and its share back where they do not.
 *   step         of the display or width of the blades, 0 if not known: repeatability
 *                counts as step^2 / 12 at least, since a coarse display hides it
 *   confidence   of out->expanded, two-sided, 0.95 as a rule
 *   out          df by Satterthwaite; the resolution has any number of them
 * Errors: VB_EDOM  step below 0 or not finite, confidence outside 0..1 or at its ends
 *                  (out untouched)
 * Cost:   O(1) time, no allocation.   Owns: nothing.
 * Source: Satterthwaite, Biometrics 2 (1946) 110-114; Burdick, Borror & Montgomery, J.
 *         Quality Technology 35 (2003) 342-354, gauge variance as a sum of mean squares.
 */
enum vb_err vb_study_u(const struct vb_study *s, double step, double confidence,
                       struct vb_u *out);

/* vb_repeat_u - the same from repeatability alone, var and df of vb_study_within. */
enum vb_err vb_repeat_u(double var, double df, double step, double confidence,
                        struct vb_u *out);

/*
 * vb_tolerance_pct - how much of a tolerance six standard uncertainties take, per cent.
 *   u >= 0, tolerance > 0, in one unit.  Source: AIAG, Measurement Systems Analysis.
 */
double vb_tolerance_pct(double u, double tolerance);

/*
 * vb_tolerance_parse - a width such as 0.1mm or 4thou.
 *   mm   out: above 0
 * Returns 0 if it is none (mm untouched).
 */
int vb_tolerance_parse(const char *s, double *mm);

#endif
