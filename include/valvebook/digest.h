#ifndef VALVEBOOK_DIGEST_H
#define VALVEBOOK_DIGEST_H

#include <stddef.h>

#include "valvebook/due.h"
#include "valvebook/err.h"
#include "valvebook/news.h"

#define VB_DIGEST_STILL 50   // alerts that still stand
#define VB_DIGEST_MOST  1000 // of each other kind
#define VB_DIGEST_SHEET 5000 // lines of the list that goes with a message

/*
 * vb_digest - what a message says of a fleet, however large: the news of some engines after
 * others go in, and the most urgent of each kind stay.
 *   news    item: those that are written out, none of them quiet; the counts are of all
 *   dues    lines of these, and the most urgent of the sheet: all lines that have a level
 *           (vb_alert_level) and those of alerts that stand. Each has a unit of its own
 *   sheet   how many lines the sheet would have with no end to it
 * news.item and dues are there after vb_digest_end. Free with vb_digest_clear.
 */
struct vb_digest {
    struct vb_news news;
    struct vb_dues dues;
    size_t sheet;
    struct vb_digest_entry *entry; // [n] on the way
    size_t n, size, full;
};

/*
 * vb_digest_add - the news of a block of engines.
 *   d      its lines, sorted;  news  of these
 * Errors: VB_EMEM
 * Cost:   memory does not grow with what went in before.
 */
enum vb_err vb_digest_add(struct vb_digest *g, const struct vb_dues *d,
                          const struct vb_news *news, const struct vb_alert_wish *w);

/* vb_digest_end - all have come: put them in order. Errors: VB_EMEM */
enum vb_err vb_digest_end(struct vb_digest *g);

void vb_digest_clear(struct vb_digest *g);

#endif
