#ifndef VALVEBOOK_LIFE_REPORT_H
#define VALVEBOOK_LIFE_REPORT_H

#include <stddef.h>

#include "valvebook/err.h"
#include "valvebook/family_life.h"
#include "valvebook/out.h"
#include "valvebook/table.h"

/* What of it is wanted. */
enum vb_life_what {
    VB_LIFE_SUMMARY, // one row a figure
    VB_LIFE_MCF,     // one row an age
    VB_LIFE_WEIBULL, // one row a kind of life and side
    VB_LIFE_TREND,   // one row a family
    VB_LIFE_INTERVAL // one row a family
};

/* vb_life_what_parse - mcf, weibull, trend or interval; 0 for anything else. */
int vb_life_what_parse(const char *s, enum vb_life_what *out);

/*
 * vb_report_life - the life of families.
 *   l   [n] CSV and JSON keep their order; a table has those first whose present interval
 *       runs the highest risk
 * CSV and JSON carry 12 significant digits. Columns: valve-life(1). Errors: VB_EMEM
 */
enum vb_err vb_report_life(const struct vb_family_life *l, size_t n,
                           enum vb_life_what what, enum vb_format format,
                           struct vb_out *out);

#endif
