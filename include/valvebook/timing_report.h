#ifndef VALVEBOOK_TIMING_REPORT_H
#define VALVEBOOK_TIMING_REPORT_H

#include "valvebook/cams.h"
#include "valvebook/err.h"
#include "valvebook/out.h"
#include "valvebook/table.h"

/*
 * vb_report_timing - where cams stand, and what has moved.
 * CSV and JSON have one row for each thing that a cam is held against, in order. For a
 * person there are two tables: what has moved, most suspicious first, and where the cams
 * stand. Columns: valve-timing(1). Errors: VB_EMEM
 */
enum vb_err vb_report_timing(const struct vb_cam_list *l, enum vb_format format,
                             struct vb_out *out);

#endif
