#ifndef VALVEBOOK_TRIALS_H
#define VALVEBOOK_TRIALS_H

#include <stddef.h>

#include "valvebook/err.h"
#include "valvebook/number.h"
#include "valvebook/tidy.h"
#include "valvebook/unit.h"

/*
 * vb_trial - one reading: trial so and so of a part by a person with a gauge.
 *   gauge, part, person   indices into the names of vb_trials
 *   mm                    exact, the middle of two blades;   unit   as it was written
 *   width                 mm from the blade that goes to the one that does not, 0 of a
 *                         plain number
 */
struct vb_trial {
    size_t gauge, part, person, trial;
    struct vb_dec mm, width;
    const struct vb_unit *unit;
};

/*
 * vb_trials - the table trials.
 *   gauge, part, person   [n_...] names, in the order of their bytes; no name twice
 *   trial                 [n] in order of gauge, part, person and trial, none there twice
 *   refused               rows that were not taken
 */
struct vb_trials {
    char **gauge, **part, **person;
    size_t n_gauges, n_parts, n_people;
    struct vb_trial *trial;
    size_t n;
    unsigned long long refused;
};

/*
 * vb_trials_read - read the table from files.
 *   path, n   [n] file names, "-" for standard input; n >= 1
 *   tell      is called for every row that is refused; arg is its first argument
 *   out       what was read, whatever the order of rows and files; free with
 *             vb_trials_clear
 * The same row twice is one row. Of two that differ in their value the later is refused.
 * Errors: VB_EIO, VB_ESYNTAX (a heading that is not that of trials), VB_EMEM; m says
 *         which file (out untouched)
 * Cost:   O(n log n) time, memory for all rows.
 */
enum vb_err vb_trials_read(char *const *path, size_t n, vb_tell *tell, void *arg,
                           struct vb_trials *out, struct vb_msg *m);

/* vb_trials_clear - free what vb_trials_read filled; zeros are allowed. */
void vb_trials_clear(struct vb_trials *t);

#endif
