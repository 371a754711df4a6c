#ifndef VALVEBOOK_ALERTS_H
#define VALVEBOOK_ALERTS_H

#include <stddef.h>

#include "valvebook/book.h"
#include "valvebook/date.h"
#include "valvebook/digest.h"
#include "valvebook/doubt.h"
#include "valvebook/err.h"

/*
 * What a book remembers of alerts. Whoever says something holds VB_ALERTS_LOCK (lock.h)
 * from before vb_alerts_told until after vb_night_keep, and the book itself, SQLite's
 * lock, only within each call: nobody who loads waits for a mailer.
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

/* vb_alerts_told - read it. Errors: VB_EDB, VB_EMEM */
enum vb_err vb_alerts_told(struct vb_book *b, struct vb_told *told, struct vb_msg *m);

/*
 * vb_night - one look at a fleet, some engines at a time. What is to be remembered
 * of each alert is put aside, at most 2 MiB of it in memory and the rest in a temporary
 * file.
 *
 * vb_night_look - find what is due as of a day, and what of it is new, worse or cleared.
 *   scope   which engines; NULL: all. What is remembered of others stays as it is, but of
 *           those that have left the book
 *   w       as_of in it is that day
 *   digest  zeros at first; free with vb_digest_clear
 *   doubts  why that may not be all: as vb_fleet_doubts gives them
 *   out     free with vb_night_close, NULL allowed
 * Errors: VB_EUNKNOWN  no engine is meant;  VB_EDB, VB_EMEM, VB_EIO (what is put aside)
 *
 * vb_night_keep - remember it, all or nothing. Acknowledgements that came in meanwhile
 * stay. It waits as long as VB_ALERTS_WAIT_MS for a load to end.
 *   said    something was
 *   told    as it was read before vb_night_look
 *   as_of   ISO date of the run
 * Errors: VB_ECONFLICT  somebody else has changed what is remembered since; VB_EDB, VB_EIO
 */
#define VB_ALERTS_WAIT_MS 600000
struct vb_night;
enum vb_err vb_night_look(struct vb_book *b, const struct vb_scope *scope,
                          const struct vb_alert_wish *w, const char *as_of,
                          struct vb_digest *digest, struct vb_doubts *doubts,
                          struct vb_night **out, struct vb_msg *m);
enum vb_err vb_night_keep(struct vb_night *night, int said, const struct vb_told *told,
                          const char *as_of, struct vb_msg *m);
void vb_night_close(struct vb_night *night);

/*
 * vb_alerts_read - what is remembered, in order of name.
 *   scope  of which engines; NULL: all. Those that have left the book are with any.
 *   out    free with vb_alerts_clear
 * Errors: VB_EUNKNOWN  no engine is meant;  VB_EDB, VB_EMEM
 */
enum vb_err vb_alerts_read(struct vb_book *b, const struct vb_scope *scope,
                           struct vb_alerts *out, struct vb_msg *m);

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
