#ifndef VALVEBOOK_NUMBER_H
#define VALVEBOOK_NUMBER_H

#include <stddef.h>
#include <stdint.h>

#include "valvebook/err.h"

/*
 * Decimal numbers. A reading is written down in decimals and every unit of the trade
 * is a decimal multiple of another (1 in = 25.4 mm), so a reading is kept as an exact
 * decimal until it is stored: 0.004 in is 0.1016 mm, not 0.10159999999999999.
 */
#define VB_NUM_MAX 32 // bytes that hold any formatted number and its NUL

/* vb_dec - the number mant * 10^-scale; |mant| < 10^18, -18 <= scale <= 18. */
struct vb_dec {
    int64_t mant;
    int scale;
};

/*
 * vb_dec_parse - read a whole text as a decimal number, blanks around it allowed.
 *   s, n    [n] bytes
 *   mark    decimal mark, '.' or ','
 *   group   mark between groups of three digits before the decimal mark, 0 for none
 *   out     the number as written: trailing zeros keep their place in the scale
 * Takes "12", "-0,10", "+.004", "1e-2"; no hexadecimal, no NaN, no infinity.
 * Errors: VB_ESYNTAX  not a number, or anything left over
 *         VB_ERANGE   more than 17 digits, or an exponent that does not fit
 */
enum vb_err vb_dec_parse(const char *s, size_t n, char mark, char group,
                         struct vb_dec *out);

/*
 * vb_dec_prefix - the same for the longest number at the start of a text.
 *   used    how many bytes the number takes, blanks before it included
 */
enum vb_err vb_dec_prefix(const char *s, size_t n, char mark, char group,
                          struct vb_dec *out, size_t *used);

/*
 * vb_dec_mul - exact product.  vb_dec_add - exact sum.
 * Errors: VB_ERANGE  the result needs more than 18 digits (out untouched)
 */
enum vb_err vb_dec_mul(struct vb_dec a, struct vb_dec b, struct vb_dec *out);
enum vb_err vb_dec_add(struct vb_dec a, struct vb_dec b, struct vb_dec *out);

/* vb_dec_double - nearest double; exact rounding for up to 15 digits. */
double vb_dec_double(struct vb_dec a);

/* vb_dec_half - half a unit of the last written digit, e.g. 0.005 for 0.28. */
double vb_dec_half(struct vb_dec a);

/*
 * vb_dec_format - write without exponent and without trailing zeros ("0.1016").
 *   out     [VB_NUM_MAX] receives the text and a NUL
 * Returns the length.
 */
size_t vb_dec_format(struct vb_dec a, char *out);

/*
 * vb_double_format - write the shortest of 15, 16 or 17 digits that reads back as the
 * same double, in plain decimals where that fits, "" for NaN.
 *   out     [VB_NUM_MAX]
 * Returns the length.
 */
size_t vb_double_format(double x, char *out);

/*
 * vb_double_parse - strtod over a whole text in the C locale; infinities and NaN are
 * refused.  Errors: VB_ESYNTAX, VB_ERANGE.
 */
enum vb_err vb_double_parse(const char *s, size_t n, double *out);

#endif
