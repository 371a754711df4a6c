#ifndef VALVEBOOK_QUANTITY_H
#define VALVEBOOK_QUANTITY_H

#include <stddef.h>

#include "valvebook/err.h"
#include "valvebook/unit.h"
#include "valvebook/valve.h"

/* What a quantity is read at. */
enum vb_at {
    VB_AT_VALVE,    // a valve name, 3E2
    VB_AT_CYLINDER, // a cylinder number
    VB_AT_CAM,      // a short word: I, E, or the bank and the side
    VB_AT_PART,     // a valve, a side, a cylinder, or blank for all of them
};

/* vb_quantity - one row of the table of everything that can be read. */
struct vb_quantity {
    const char *name;
    enum vb_dim dim;
    enum vb_at at;
    int is_signed; // negative values make sense
    double most;   // |value| beyond this, in the book's unit, is a slip of the pen
    const char *says;
};

/* vb_quantity_find - by exact name; NULL if there is none of that name. */
const struct vb_quantity *vb_quantity_find(const char *s, size_t n);

/*
 * vb_quantity_words, vb_part_words - all names, "lash, opens, ...", for messages.
 *   out   [size]; VB_WORDS_MAX is enough.  Returns out.
 */
#define VB_WORDS_MAX 200
const char *vb_quantity_words(char *out, size_t size);
const char *vb_part_words(char *out, size_t size);

/* vb_quantity_credible - can this be a value, in the book's unit? NaN, nothing, can. */
static inline int
vb_quantity_credible(const struct vb_quantity *q, double x)
{
    return !(x > q->most || x < (q->is_signed ? -q->most : 0));
}

/* vb_quantity_all - the whole table; *n receives its length. */
const struct vb_quantity *vb_quantity_all(size_t *n);

/*
 * vb_quantity_at - check and normalise the place a quantity was read at.
 *   s, n    the place as written
 *   out     [VB_AT_MAX] receives the normal form and a NUL
 * Errors: VB_ESYNTAX  not a place of this kind
 */
#define VB_AT_MAX 24
enum vb_err vb_quantity_at(const struct vb_quantity *q, const char *s, size_t n,
                           char *out);

/*
 * vb_part_renews - what replacing a part does to a valve's lash and seat.
 *   part    "" for a whole rebuild
 * Returns a sum of the VB_RENEWS bits, or -1 for a part nobody knows.
 */
enum {
    VB_RENEWS_LASH = 1,   // a new lash life begins
    VB_RENEWS_SEAT = 2,   // the seat and the valve on it start anew
    VB_RENEWS_DRIVE = 4,  // the drive of the cam starts anew
    VB_RENEWS_TIMING = 8, // the cam is placed anew
};
int vb_part_renews(const char *s, size_t n);

/*
 * vb_quantity_place - is this a place where the quantity is read, in its normal form?
 *   at  ends in a NUL;  v  receives the valve of a quantity that is read at one
 */
int vb_quantity_place(const struct vb_quantity *q, const char *at, struct vb_valve *v);

#endif
