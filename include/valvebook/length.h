#ifndef VALVEBOOK_LENGTH_H
#define VALVEBOOK_LENGTH_H

#include <stddef.h>

/*
 * The unit in which a person is shown lengths. All else keeps mm, and so do CSV and JSON.
 * Source: 1 in = 25.4 mm, exact by definition (NIST SP 811 appendix B.8).
 */
enum vb_length { VB_LENGTH_MM, VB_LENGTH_IN, VB_LENGTH_THOU };

#define VB_LENGTH_TEXT 64 // bytes that hold a figure with its unit and a NUL

/* vb_length_parse - mm, in or thou. Returns 0 for anything else (out untouched). */
int vb_length_parse(const char *s, enum vb_length *out);

/*
 * vb_length_name - what stands at a figure or in its heading: "mm", "inch", "thou". Not
 *                  "in", which is a verdict and a turn of a screw as well.
 * vb_length_decimals - of a figure whose uncertainty is not shown: 3 of a mm, 4 of an inch,
 *                  1 of a thousandth.
 * vb_length_of   - mm in that unit; NaN stays NaN
 */
const char *vb_length_name(enum vb_length l);
int vb_length_decimals(enum vb_length l);
double vb_length_of(enum vb_length l, double mm);

/*
 * vb_length_print - a figure without its unit: "0.0080". As many decimals as above; where they
 *                   would be zeros, though it is not nothing, two digits of it.
 * vb_length_with_unit - "0.0080 inch"
 *   mm      finite
 *   out     [VB_LENGTH_TEXT]
 * Return out.
 */
const char *vb_length_print(enum vb_length l, double mm, char *out);
const char *vb_length_with_unit(enum vb_length l, double mm, char *out);

#endif
