#ifndef VALVEBOOK_ALERTS_H
#define VALVEBOOK_ALERTS_H

#include <stddef.h>

#include "valvebook/book.h"
#include "valvebook/date.h"
#include "valvebook/err.h"
#include "valvebook/news.h"

/*
 * What a book remembers of alerts. Whoever says something holds VB_ALERTS_LOCK (lock.h)
 * from before vb_alerts_read until after vb_alerts_keep, and the book itself, SQLite's
 * lock, only within each of them: nobody who loads waits for a mailer.
 */
#define VB_ALERTS_LOCK "-alert" // behind the name of the book

/*
 * vb_told - how far the telling has come.
 *   runs    how often what is remembered was changed
 *   as_of   day of the last such run, "" if there was none
 */
struct vb_told {
    long long runs;
    char as_of[VB_DATE_MAX];
};

/*
 * vb_alerts_read - what is remembered, in order of name.
 *   out    free with vb_alerts_clear
 * Errors: VB_EDB, VB_EMEM
 */
enum vb_err vb_alerts_read(struct vb_book *b, struct vb_alerts *out, struct vb_told *told,
                           struct vb_msg *m);

/*
 * vb_alerts_keep - remember what a run has said, all or nothing. Acknowledgements that
 * came in meanwhile stay. It waits as long as VB_ALERTS_WAIT_MS for a load to end.
 *   told    as it was read
 *   as_of   ISO date of the run
 * Errors: VB_ECONFLICT  somebody else has changed what is remembered since; VB_EDB
 */
#define VB_ALERTS_WAIT_MS 600000
enum vb_err vb_alerts_keep(struct vb_book *b, const struct vb_news *news,
                           const struct vb_told *told, const char *as_of,
                           struct vb_msg *m);

/*
 * vb_alerts_ack - acknowledge all alerts that a selection means (vb_alert_matches), at the
 * level at which they stand.
 *   until   ISO date, the last day of it; NULL: as long as they stand
 *   n       out: how many there were
 * Errors: VB_EDB, VB_EMEM
 */
enum vb_err vb_alerts_ack(struct vb_book *b, const char *selection, const char *until,
                          size_t *n, struct vb_msg *m);

#endif
