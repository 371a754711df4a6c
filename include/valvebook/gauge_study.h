#ifndef VALVEBOOK_GAUGE_STUDY_H
#define VALVEBOOK_GAUGE_STUDY_H

#include <stddef.h>

#include "valvebook/err.h"
#include "valvebook/gauge.h"
#include "valvebook/gauge_u.h"
#include "valvebook/trials.h"

/* What a standard uncertainty was made from; each says more than the one before. */
enum vb_basis {
    VB_BASIS_NONE,    // all readings alike, or one reading only
    VB_BASIS_STEP,    // the step or the blades: a lower bound, nothing was repeated
    VB_BASIS_REPEAT,  // repeatability and step: people may differ, nobody knows
    VB_BASIS_CROSSED, // a crossed study and the step
};

/* vb_basis_name - none, step, repeat or crossed. */
const char *vb_basis_name(enum vb_basis b);

#define VB_GAUGE_CONFIDENCE 0.95

/*
 * vb_gauge_said - what trials say of one gauge. Lengths in mm.
 *   gauge, readings   index into the names, and how many readings it has
 *   shape             parts, people, trials
 *   crossed           study is filled; else why says what keeps it from being one
 *   step, u_step      of the display, or the widest pair of blades if that is coarser,
 *                     and step / sqrt(12); NaN where not known
 *   blades            readings that are a pair;  by_blades   step is the width of one
 *   within, within_df variance of repeated readings, NaN and 0 where there are none
 *   u                 of one reading by one person; all NaN where basis is NONE, k and
 *                     expanded where it is STEP
 *   coarse            the step is wider than the scatter shows: it counts instead
 */
struct vb_gauge_said {
    size_t gauge, readings, blades;
    struct vb_study_shape shape;
    int crossed, coarse, by_blades;
    struct vb_study study;
    char why[256];
    double step, u_step;
    double within, within_df;
    enum vb_basis basis;
    struct vb_u u;
};

/*
 * vb_gauge_pair - two gauges on the same parts, first less second.
 *   first, second             indices into the names
 *   n_first, n_second         readings; of each part their mean counts, whoever read it
 *   agree                     over the parts that both have read, two at least
 */
struct vb_gauge_pair {
    size_t first, second;
    size_t n_first, n_second;
    struct vb_agree agree;
};

/*
 * vb_gauge_study - look at every gauge of the trials.
 *   out   [t->n_gauges] in the order of the names; *out is the caller's to free
 * Errors: VB_EMEM  (out untouched)
 */
enum vb_err vb_gauge_study(const struct vb_trials *t, struct vb_gauge_said **out);

/*
 * vb_gauge_incomplete - is there no crossed study of this gauge? Then m names the gauge,
 * says what is missing and what could be said all the same.
 */
int vb_gauge_incomplete(const struct vb_trials *t, const struct vb_gauge_said *s,
                        struct vb_msg *m);

/*
 * vb_gauge_pairs - compare every two gauges that have read two or more of the same parts.
 *   out, n   [*n] in the order of the names; *out is the caller's to free
 * Errors: VB_EMEM, VB_EDOM (readings too large)  (out, n untouched)
 */
enum vb_err vb_gauge_pairs(const struct vb_trials *t, struct vb_gauge_pair **out,
                           size_t *n);

#endif
