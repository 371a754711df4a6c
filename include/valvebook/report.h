#ifndef VALVEBOOK_REPORT_H
#define VALVEBOOK_REPORT_H

#include "valvebook/alert.h"
#include "valvebook/due.h"
#include "valvebook/err.h"
#include "valvebook/fleet.h"
#include "valvebook/out.h"
#include "valvebook/table.h"

/*
 * vb_report_drift - one row a valve and life: what its readings say.
 *   all   past lives too, not only the present one
 * CSV and JSON come in order of engine, valve and life; a table has the fastest of each
 * family first. Columns: valve-drift(1). Errors: VB_EMEM
 */
enum vb_err vb_report_drift(const struct vb_fleet *f, int all, enum vb_format format,
                            struct vb_out *out);

/*
 * vb_drift_rows - the same a block at a time, for CSV and JSON: between vb_drift_begin and
 * vb_drift_end, which frees the table.
 *   st   [lives] what is thought of each
 */
enum vb_err vb_drift_begin(enum vb_format format, struct vb_out *out,
                           struct vb_table **t);
void vb_drift_rows(struct vb_table *t, const struct vb_fleet *f,
                   const struct vb_state *st, int all);
enum vb_err vb_drift_end(struct vb_table *t);

/* vb_report_due - the list as it is. Columns: valve-due(1). Errors: VB_EMEM */
enum vb_err vb_report_due(const struct vb_dues *d, enum vb_format format,
                          struct vb_out *out);

/* vb_report_alerts - what was said and still stands. Columns: valve-alert(1). */
enum vb_err vb_report_alerts(const struct vb_alerts *l, enum vb_format format,
                             struct vb_out *out);

#endif
