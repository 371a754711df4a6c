#ifndef VALVEBOOK_PLAIN_H
#define VALVEBOOK_PLAIN_H

#include "valvebook/csv.h"

#define PLAIN_MAX 80 // bytes of a number

/* plain_row - where the plain cells of one record are kept; begins as all zero.
 *   ascii   the record has no sign that another could stand for */
struct plain_row {
    struct vb_text *cell;
    char *text;
    size_t cells_size, text_size;
    int ascii;
};

/* plain_cells - give a record cells with plain blanks and without =""; its raw bytes stay as they
 * are. They are valid until the next call.
 * Errors: VB_EMEM */
enum vb_err plain_cells(struct plain_row *p, struct vb_row *row);
void plain_free(struct plain_row *p);

/* plain_number - a number, a date or a dash with plain signs: buf [PLAIN_MAX] is used if there
 * are others in it. Longer texts stay as they are. */
struct vb_text plain_number(struct vb_text t, char *buf);

/* vb_bar_find - where what parts two numbers of one cell begins, a bar or an arrow, and how long
 * it is: t.n and 0 without one. */
size_t vb_bar_find(struct vb_text t, size_t *n);

#endif
