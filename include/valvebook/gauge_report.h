#ifndef VALVEBOOK_GAUGE_REPORT_H
#define VALVEBOOK_GAUGE_REPORT_H

#include <stddef.h>

#include "valvebook/err.h"
#include "valvebook/gauge_study.h"
#include "valvebook/out.h"
#include "valvebook/table.h"
#include "valvebook/trials.h"

/*
 * vb_gauge_result - what there is to report, names of gauges among it.
 *   said         [trials->n_gauges]
 *   pair         [n_pairs]
 *   tolerance    mm, NaN if nobody has stated one
 */
struct vb_gauge_result {
    const struct vb_trials *trials;
    const struct vb_gauge_said *said;
    const struct vb_gauge_pair *pair;
    size_t n_pairs;
    double tolerance;
};

/*
 * vb_report_gauges - one row a gauge, a section each in a table. A table goes on with the
 * pair of gauges if there is exactly one. Columns: valve-gauge(1). Errors: VB_EMEM
 */
enum vb_err vb_report_gauges(const struct vb_gauge_result *g, enum vb_format format,
                             struct vb_out *out);

/* vb_report_gauge_pairs - one row a pair of gauges, a section each in a table. */
enum vb_err vb_report_gauge_pairs(const struct vb_gauge_result *g, enum vb_format format,
                                  struct vb_out *out);

/* vb_report_gauge_rows - rows of the table gauges of valvebook(7), as CSV. */
enum vb_err vb_report_gauge_rows(const struct vb_gauge_result *g, struct vb_out *out);

#endif
