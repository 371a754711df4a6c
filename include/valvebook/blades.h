#ifndef VALVEBOOK_BLADES_H
#define VALVEBOOK_BLADES_H

#include <stddef.h>

#include "valvebook/err.h"
#include "valvebook/number.h"
#include "valvebook/unit.h"

/*
 * vb_blades - what two feeler blades say: one goes, the other does not, so that the gap
 * lies between them, everywhere as likely. A plain number has both alike.
 */
struct vb_blades {
    struct vb_dec go, nogo;
};

#define VB_BLADES_ARE                                                                    \
    "the blade that goes comes first and is thinner, as in 0.25/0.30, not"
#define VB_BLADES_MAX (2 * VB_NUM_MAX) // bytes that hold a formatted pair and its NUL

/*
 * vb_blades_parse - read "0.25/0.30", the blade that goes first, or a plain number.
 *   s, n   [n] bytes, blanks around either number allowed, decimal mark a point or comma
 * Errors: VB_ESYNTAX  not a number, or not two
 *         VB_ERANGE   too many digits
 *         VB_EDOM     a pair whose no-go is not above its go, or whose go is below 0
 *                     (out untouched)
 */
enum vb_err vb_blades_parse(const char *s, size_t n, struct vb_blades *out);

/* vb_blades_is_pair - are there two blades? */
int vb_blades_is_pair(struct vb_blades b);

/* vb_blades_format - "0.25/0.3", or the number: out [VB_BLADES_MAX]. Returns the length.
 */
size_t vb_blades_format(struct vb_blades b, char *out);

/*
 * vb_blades_convert - both in the unit of the book, exactly.
 * Errors: VB_ERANGE  more digits than are kept (out untouched)
 */
enum vb_err vb_blades_convert(const struct vb_unit *u, struct vb_blades b,
                              struct vb_blades *out);

/*
 * vb_blades_middle - the reading, and how far apart the blades are, both exact.
 *     middle = (go + nogo) / 2,  width = nogo - go, 0 of a plain number
 * The standard uncertainty of the reading is that of the width: vb_u_resolution(width).
 * Errors: VB_ERANGE  more digits than are kept (middle, width untouched)
 * Source: JCGM 100:2008, 4.3.7 and F.2.2.1: rectangular distribution.
 */
enum vb_err vb_blades_middle(struct vb_blades b, struct vb_dec *middle,
                             struct vb_dec *width);

#endif
