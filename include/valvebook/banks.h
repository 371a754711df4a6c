#ifndef VALVEBOOK_BANKS_H
#define VALVEBOOK_BANKS_H

#include "valvebook/err.h"

#define VB_CYL_MAX 99 // highest cylinder number

/*
 * vb_banks - which bank a cylinder stands in: a capital letter other than I and E, which
 * name sides; 0 where nobody said. [0] is not used.
 */
struct vb_banks {
    char of[VB_CYL_MAX + 1];
};

/*
 * vb_banks_parse - read "A:1-2-3 B:4-5-6": banks parted by single blanks, each a letter, a
 * colon and its cylinders from 1 to VB_CYL_MAX, parted by '-'. No bank and no cylinder is
 * named twice.
 *   out     untouched on failure
 * Errors: VB_ESYNTAX
 */
enum vb_err vb_banks_parse(const char *s, struct vb_banks *out);

/* vb_banks_list - the letters in use in alphabetical order; out [27] receives a NUL too.
 * Returns their number. */
int vb_banks_list(const struct vb_banks *b, char *out);

#endif
