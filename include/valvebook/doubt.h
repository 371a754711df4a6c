#ifndef VALVEBOOK_DOUBT_H
#define VALVEBOOK_DOUBT_H

#include <stddef.h>

#include "valvebook/err.h"
#include "valvebook/fleet.h"

/*
 * vb_doubt - why a list may say less than it seems to.
 *   family   its name, cut to fit
 *   text     one sentence
 */
struct vb_doubt {
    char family[80];
    char text[256];
};

struct vb_doubts {
    struct vb_doubt *doubt;
    size_t n, size;
};

/* vb_fleet_see - note of the families what the doubts need. To be called once for a fleet,
 * or for each of its blocks. */
void vb_fleet_see(struct vb_fleet *f);

/*
 * vb_fleet_doubts - what is stated of a family with engines in service, or is not, so
 * that something can never be due: limits that contradict each other; no limit at all for
 * a side whose valves are read; a relash_interval in another unit than an engine's meter.
 * And engines that have left the fleet and were read after that.
 *   f     only its families are looked at, which have been seen
 *   out   in order of the families in the fleet; free out->doubt with free()
 * Errors: VB_EMEM (out untouched)
 */
enum vb_err vb_fleet_doubts(const struct vb_fleet *f, struct vb_doubts *out);

#endif
