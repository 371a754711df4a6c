#ifndef VALVEBOOK_GAUGE_H
#define VALVEBOOK_GAUGE_H

#include <stddef.h>

#include "valvebook/err.h"

/*
 * How well lash is measured: a crossed study of parts, people and trials, two gauges on
 * the same valves, and standard uncertainties from what is known of a gauge. Values are
 * in mm as a rule; any unit will do, as long as it is the same throughout.
 */

/*
 * vb_study_reading - one reading of a crossed study.
 *   part, person, trial   numbers, any; trials are numbered alike for every part and
 *                         person (1, 2, 3 as a rule)
 */
struct vb_study_reading {
    size_t part, person, trial;
    double value;
};

/*
 * vb_study_shape - how many parts, people and trials there are.
 *   complete   every combination of them is there
 *   gap        the first that is not, in order of part, person, trial; no value
 */
struct vb_study_shape {
    size_t parts, people, trials;
    int complete;
    struct vb_study_reading gap;
};

/*
 * vb_study_shape - look at the design of a study before it is analysed.
 *   reading   [n] in any order, none there twice; n >= 1
 *   out       filled whole
 * Errors: VB_EDOM  n = 0;  VB_EMEM                                (out untouched)
 * Cost:   O(n log n) time, O(n) memory, freed on return.   Owns: nothing.
 */
enum vb_err vb_study_shape(const struct vb_study_reading *reading, size_t n,
                           struct vb_study_shape *out);

/* Where variance comes from, as an index. */
enum vb_component {
    VB_VAR_REPEAT,      // repeatability: the same person, the same part, again
    VB_VAR_PEOPLE,      // reproducibility: person to person
    VB_VAR_INTERACTION, // persons who differ on some parts and not on others
    VB_VAR_GAUGE,       // the sum of the three
    VB_VAR_PART,        // part to part: what is to be measured
    VB_VAR_TOTAL,       // gauge and part
    VB_VAR_COUNT
};

/* vb_study_sum - a row of the analysis of variance; ms = ss / df, NaN where df = 0. */
struct vb_study_sum {
    double ss, df, ms;
};

/*
 * vb_study_model - a study read in one of two ways.
 *   part ... repeat   sums of squares; without the interaction term its row is all 0 (ms
 *                     NaN) and has gone into repeat
 *   var         components of variance, floored at 0
 *   share_pct   var in per cent of the total variance
 *   study_pct   their square roots in per cent of the total standard deviation; these do
 *               not add up. Both NaN where nothing varies at all.
 *   categories  floor(sqrt(2) sd_part / sd_gauge), and 1 where that is 0 or nothing
 *               varies; +inf where the parts differ and the gauge shows no scatter. The
 *               AIAG manual prints the factor as 1.41.
 */
struct vb_study_model {
    struct vb_study_sum part, people, interaction, repeat;
    double var[VB_VAR_COUNT];
    double share_pct[VB_VAR_COUNT];
    double study_pct[VB_VAR_COUNT];
    double categories;
};

#define VB_STUDY_POOL_P 0.25

/*
 * vb_study - what a crossed study says.
 *   f, p      interaction against repeatability: ratio of mean squares and its p-value.
 *             Where repeatability is 0: f is +inf and p 0; f NaN and p 1 if both are 0.
 *   pooled    1: p > VB_STUDY_POOL_P, so `without` is the reading to use; 0: `with` is.
 *             Both are filled always.
 */
struct vb_study {
    size_t parts, people, trials;
    double f, p;
    int pooled;
    struct vb_study_model with, without;
};

/*
 * vb_study_crossed - analysis of variance of parts x people x trials, all random.
 *   reading   [n] in any order; the result does not depend on it, to the last bit
 *   n         parts x people x trials, each at least 2
 *   out       filled whole
 *   m         may be NULL
 * With a, b, r the numbers of parts, people, trials and MS the mean squares:
 *     interaction (MSab - MSe) / r,  people (MSb - MSab) / (a r),
 *     part (MSa - MSab) / (b r);  without the term MSe, pooled, stands for MSab.
 * A sum of squares smaller than what the rounding of the readings alone can give counts
 * as 0: a coarse gauge that repeats itself exactly has no interaction to be tested.
 * Errors: VB_EDOM  a part, person and trial missing or there twice, fewer than two of
 *                  one of them, n = 0, a value not finite, sums too large, p not found (of
 *                  millions of readings); m names the first culprit in order of part,
 *                  person, trial
 *         VB_EMEM  no memory                                      (out untouched)
 * Cost:   O(n log n) time, O(n) memory, freed on return.   Owns: nothing.
 * Source: AIAG, Measurement Systems Analysis, appendix A (the p > 0.25 rule is its); R
 *         aov(value ~ part * person).
 */
enum vb_err vb_study_crossed(const struct vb_study_reading *reading, size_t n,
                             struct vb_study *out, struct vb_msg *m);

/* vb_study_used - the model that the study goes by; lives as long as s. */
const struct vb_study_model *vb_study_used(const struct vb_study *s);

/*
 * vb_agree - two gauges on the same valves. Differences are first less second.
 *   mean, sd          of the n differences
 *   lo, hi            limits of agreement, mean -+ 1.96 sd: where 95 % of differences lie
 *   mean_ci ... hi_ci confidence limits of mean, lo and hi: [0] below, [1] above
 *   t, df, p          paired t = mean / (sd / sqrt(n)), n - 1, two-sided p. Where sd = 0:
 *                     t is +-inf and p 0, or t 0 and p 1 if mean = 0 as well
 */
struct vb_agree {
    size_t n;
    double mean, sd, lo, hi;
    double mean_ci[2], lo_ci[2], hi_ci[2];
    double t, df, p;
};

/*
 * vb_gauges_agree - do two gauges agree?
 *   first, second   [n] the same valves in the same order; n >= 2
 *   confidence      of the confidence limits, two-sided, 0.95 as a rule
 *   out             filled whole
 * The limits of agreement have the variance sd^2 (1/n + 1.96^2 / (2 (n - 1))) and the t
 * quantile of n - 1 degrees of freedom.
 * Errors: VB_EDOM  n < 2, a number or a result not finite, confidence outside 0..1 or
 *                  at its ends (out untouched)
 * Cost:   O(n) time, no allocation.   Owns: nothing.
 * Source: Bland & Altman, Lancet (1986) 307-310 and Stat. Methods Med. Res. 8 (1999)
 *         135-160; R t.test(first, second, paired = TRUE).
 */
enum vb_err vb_gauges_agree(const double *first, const double *second, size_t n,
                            double confidence, struct vb_agree *out);

/*
 * vb_u_resolution - standard uncertainty of a reading for the step of the display.
 *     u = d / sqrt(12):  the true value lies anywhere within half a step
 *   d   step, >= 0;   u   out, same unit
 * Errors: VB_EDOM  d below 0 or not finite (u untouched)
 * Source: JCGM 100:2008, 4.3.7 and F.2.2.1.
 */
enum vb_err vb_u_resolution(double d, double *u);

/*
 * vb_u_go_nogo - reading and uncertainty from two blades: one passes, one does not.
 *     reading = (go + nogo) / 2,  u = (nogo - go) / sqrt(12)
 *   go < nogo;   reading, u   out, same unit
 * Errors: VB_EDOM  nogo not above go, or a number not finite (reading, u untouched)
 * Source: JCGM 100:2008, 4.3.7.
 */
enum vb_err vb_u_go_nogo(double go, double nogo, double *reading, double *u);

/*
 * vb_u - a combined standard uncertainty.
 *   u          root of the sum of squares
 *   df         effective degrees of freedom, +inf if nothing limits them
 *   k          coverage factor;   expanded   k u
 */
struct vb_u {
    double u, df, k, expanded;
};

/*
 * vb_u_combine - add up independent standard uncertainties, already in the unit of the
 * result (times their sensitivities).
 *   u            [n] each >= 0; n >= 1
 *   df           [n] each >= 1, +inf where u is known exactly; NULL: all +inf
 *   confidence   two-sided, 0.95 or 0.99 as a rule
 *     df_eff = u^4 / sum(u_i^4 / df_i)                          (Welch-Satterthwaite)
 * k is the t quantile at df_eff cut to a whole number, as G.6.4 says; df is not cut.
 * Errors: VB_EDOM  n = 0, a u below 0 or not finite, a df below 1 or NaN, confidence
 *                  outside 0..1 or at its ends, a result not finite (out untouched)
 * Cost:   O(n) time, no allocation.   Owns: nothing.
 * Source: JCGM 100:2008, (10), (G.2b), G.6.4; example H.1.
 */
enum vb_err vb_u_combine(const double *u, const double *df, size_t n, double confidence,
                         struct vb_u *out);

#endif
