#ifndef VALVEBOOK_DUE_IMPL_H
#define VALVEBOOK_DUE_IMPL_H

#include "valvebook/due.h"

/* listing - the list that is being made, and what it is made from. */
struct listing {
    const struct vb_fleet *f;
    const struct vb_due_wish *w;
    struct vb_dues *out;
};

/* due.c: one more line; NULL when out of memory */
struct vb_due *due_new(struct listing *ls, enum vb_due_kind kind, size_t unit);

/* due_cam.c: lines of cams, and of readings of them that could not be used */
enum vb_err due_cams(struct listing *ls);

#endif
