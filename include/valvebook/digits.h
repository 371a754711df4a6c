#ifndef VALVEBOOK_DIGITS_H
#define VALVEBOOK_DIGITS_H

#include <stddef.h>

/*
 * How many decimals a person is shown. A wear of 0.003 +- 0.0002 mm/1000 km says nothing as
 * "0.00 +- 0.00"; programs get CSV and JSON, which do not come here.
 */
#define VB_DIGITS_MOST 9  // decimals: a picometre, where a figure is in mm
#define VB_DIGITS_PAIR 80 // bytes that hold any figure with its uncertainty and a NUL

/*
 * vb_digits - decimals for a figure and its uncertainty: the uncertainty to two significant
 * digits, the figure to the same place. Where the uncertainty is not known, or nothing, it
 * is the figure that gets two.
 *   x       the figure
 *   u       its uncertainty >= 0, in the same unit; NaN or infinite: not known
 *   usual   decimals that are shown in any case, 0..VB_DIGITS_MOST
 * Returns usual..VB_DIGITS_MOST. What would be zeros at VB_DIGITS_MOST counts as nothing:
 * it is what rounding left of a zero.
 * Source: JCGM 100:2008 (GUM) 7.2.6.
 */
int vb_digits(double x, double u, int usual);

/*
 * vb_digits_print - a number with these decimals; no minus before a zero.
 * vb_digits_pair - a figure and its uncertainty in words: "0.0030 +- 0.0002", the sign as
 * U+00B1; an uncertainty that is nothing is "0", one that is not known is left out.
 *   x       finite
 *   out     [VB_DIGITS_PAIR]
 * Returns out.
 */
const char *vb_digits_print(double x, int decimals, char *out, size_t size);
const char *vb_digits_pair(double x, double u, int usual, char *out);

#endif
