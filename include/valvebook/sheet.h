#ifndef VALVEBOOK_SHEET_H
#define VALVEBOOK_SHEET_H

#include "valvebook/err.h"
#include "valvebook/length.h"
#include "valvebook/out.h"
#include "valvebook/setting.h"
#include "valvebook/table.h"

/*
 * vb_report_sheet - a setting sheet, one row a valve. Columns: valve-set(1). A table has
 * what to fetch and to buy above it and the cautions below.
 *   length   of a table; CSV and JSON are in mm, and so are shims, since that is what is
 *            stamped on most: nobody has kept what is on these
 * Errors: VB_EMEM
 */
enum vb_err vb_report_sheet(const struct vb_sheet *s, enum vb_length length,
                            enum vb_format format, struct vb_out *out);

/*
 * vb_report_sheet_html - the same as one page that needs nothing else and prints on one
 * A4 sheet for 24 valves.
 */
void vb_report_sheet_html(const struct vb_sheet *s, enum vb_length length,
                          struct vb_out *out);

/* vb_sheet_recipe - the recipe by which valve-tidy reads a sheet's CSV back in, when the
 * column left has been filled. */
extern const char vb_sheet_recipe[];

#endif
