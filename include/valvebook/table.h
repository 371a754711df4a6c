#ifndef VALVEBOOK_TABLE_H
#define VALVEBOOK_TABLE_H

#include <stddef.h>

#include "valvebook/err.h"
#include "valvebook/out.h"

enum vb_format {
    VB_FORMAT_AUTO,
    VB_FORMAT_CSV,
    VB_FORMAT_JSON,
    VB_FORMAT_TABLE,
    VB_FORMAT_SHEET,
};

/*
 * VB_FORMAT_SHEET is CSV that a person opens in a spreadsheet: with a byte order mark and
 * lines that end in CR LF, and a text that a spreadsheet would run as a formula (= + - @
 * in front), or turn into a number (3E1) or a date (12-3), has a ' before it, as is common
 * practice; dates are dates; a control character is "?". Nobody asks for it by name.
 *
 * vb_format_parse - csv, json or table. Returns 0 for anything else.
 * vb_format_auto - table where standard output is a terminal, else csv.
 */
int vb_format_parse(const char *s, enum vb_format *out);
enum vb_format vb_format_auto(enum vb_format f);

/*
 * vb_field - a column of a result.
 *   name      in CSV and JSON
 *   heading   in a table, with the unit; NULL: not in a table
 *   number    right aligned, null where there is none
 *   decimals  of a number in a table, at least; CSV and JSON carry six at most, without
 *             zeros behind, and nine of a figure whose uncertainty asks for them
 */
struct vb_field {
    const char *name, *heading;
    int number, decimals;
};

/* vb_table - rows of a result on their way out in one of three forms. */
struct vb_table;

/* vb_table_new - begin; the fields are the caller's and must live as long as the table.
 */
enum vb_err vb_table_new(struct vb_out *out, enum vb_format format,
                         const struct vb_field *field, size_t n, struct vb_table **t);

/* vb_table_text, vb_table_number - the next cell of the row; NaN is none. */
void vb_table_text(struct vb_table *t, const char *s);
void vb_table_number(struct vb_table *t, double x);

/*
 * vb_table_figures - the next n cells, numbers of which a table shows as many decimals as mean
 * something (digits.h): a column has as many as its neediest row, never fewer than its field
 * says. All rows give these columns that way.
 *   x     [n] a figure and what goes with it: its uncertainty, its bounds; NaN is none
 *   u     how well the figure is known; NaN where that is not known
 * vb_table_pair - a figure and its uncertainty.
 */
void vb_table_figures(struct vb_table *t, const double *x, size_t n, double u);
void vb_table_pair(struct vb_table *t, double x, double u);

/*
 * vb_table_end - write what is left, and in a table the closing cautions; frees t.
 * vb_table_part - the same without the cautions, where another table follows.
 *   none    what a table says where it has no rows, "" for nothing
 * Errors: VB_EMEM if a cell could not be kept
 */
enum vb_err vb_table_end(struct vb_table *t, const char *none);
enum vb_err vb_table_part(struct vb_table *t, const char *none);

/* vb_cautions - what every report a person reads ends with. */
extern const char vb_cautions[];

#endif
