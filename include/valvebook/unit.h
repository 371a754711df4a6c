#ifndef VALVEBOOK_UNIT_H
#define VALVEBOOK_UNIT_H

#include <stddef.h>

#include "valvebook/err.h"
#include "valvebook/number.h"

/* What a number measures. The unit the book keeps it in stands behind it. */
enum vb_dim {
    VB_DIM_NONE,     // a count or a word: no unit
    VB_DIM_LENGTH,   // mm
    VB_DIM_ANGLE,    // deg, of the crank
    VB_DIM_TEMP,     // Cel
    VB_DIM_TIME,     // h
    VB_DIM_DISTANCE, // km
    VB_DIM_DAYS,     // d
    VB_DIM_PRESSURE, // kPa
    VB_DIM_FORCE,    // N
    VB_DIM_PERCENT,  // %
    VB_DIM_GROWTH,   // mm/Cel
    VB_DIM_STIFF,    // reserved for spring rates, N/mm
};

/* vb_unit - value in the book's unit = (value + offset) * factor. */
struct vb_unit {
    const char *name; // canonical spelling
    enum vb_dim dim;
    struct vb_dec factor;
    struct vb_dec offset;
};

/*
 * vb_unit_find - look a unit up by any spelling people write: UCUM codes ([in_i],
 * [mil_i], [degF], [mi_i], Cel, um, deg ...), symbols and everyday words, letter case
 * and blanks around it ignored.
 *   s, n    [n] bytes
 * Returns a pointer to constant data, or NULL if nobody writes it so.
 */
const struct vb_unit *vb_unit_find(const char *s, size_t n);

/* vb_unit_of - the unit the book keeps a dimension in; never NULL but for NONE. */
const struct vb_unit *vb_unit_of(enum vb_dim dim);

/*
 * vb_unit_convert - express a value in the book's unit of the same dimension.
 * Exact for every unit but [degF], which is rounded to 0.0001 Cel.
 * Errors: VB_ERANGE  the exact result needs more than 18 digits
 * Source: 1 in = 25.4 mm, 1 mi = 1.609344 km, 1 lbf = 4.4482216152605 N (exact by
 *         definition, NIST SP 811 appendix B.8); Cel = (degF - 32) / 1.8.
 */
enum vb_err vb_unit_convert(const struct vb_unit *from, struct vb_dec value,
                            struct vb_dec *out);

/*
 * vb_missing - is this cell one of the spellings of "not measured"?
 * "", a dash or more of them, "?", "n/a", "n.a.", "na", "nan", "null", "none", "nil", ".", "*"
 * in any case, blanks around it ignored. valvebook(7) lists them.
 */
int vb_missing(const char *s, size_t n);

#endif
