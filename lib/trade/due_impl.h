#ifndef VALVEBOOK_DUE_IMPL_H
#define VALVEBOOK_DUE_IMPL_H

#include "valvebook/due.h"

/*
 * listing - the list that is being made, and what it is made from.
 *   first     place of the block's first engine in the fleet
 *   unit      [units of the block] its place in out->unit, NO_UNIT before its first line
 */
struct listing {
    const struct vb_fleet *f;
    const struct vb_state *st;
    const struct vb_due_wish *w;
    struct vb_dues *out;
    size_t first, *unit;
};

#define NO_UNIT    ((size_t)-1)
#define REASON_MAX 400

/* due.c: a line, not yet in the list: unit is that of the block */
struct vb_due due_new(const struct listing *ls, enum vb_due_kind kind, size_t unit);
/* into the list, if it is wanted */
enum vb_err due_add(struct listing *ls, const struct vb_due *d, const char *reason);

/* due_order.c: <0, 0 or >0 by what is more urgent; names are those of the engines */
int due_order(const char *name_a, const struct vb_due *a, const char *name_b,
              const struct vb_due *b);

/* due_cam.c: lines of cams, and of readings of them that could not be used */
enum vb_err due_cams(struct listing *ls);

#endif
