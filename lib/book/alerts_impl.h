#ifndef VALVEBOOK_ALERTS_IMPL_H
#define VALVEBOOK_ALERTS_IMPL_H

#include "book_impl.h"
#include "valvebook/alerts.h"

/* alerts.c: within a transaction of the caller's */
/* a statement for alerts_between, of engines in scope and of those that are in the book no
 * more */
enum vb_err alerts_reader(struct vb_book *b, const struct vb_scope *scope,
                          sqlite3_stmt **s, struct vb_msg *m);
/* those of engines behind one name up to another, NULL: up to the last; in order of name */
enum vb_err alerts_between(struct vb_book *b, sqlite3_stmt *s, const char *after,
                           const char *upto, struct vb_alerts *out, struct vb_msg *m);
/* run a statement whose twelve parameters are an alert, all but the acknowledgement, which
 * is not a run's to change; and one whose first four name it */
enum vb_err alerts_write(struct vb_book *b, sqlite3_stmt *s, const struct vb_alert *a,
                         struct vb_msg *m);
enum vb_err alerts_run_on(struct vb_book *b, sqlite3_stmt *s, const struct vb_alert *a,
                          struct vb_msg *m);
/* commit, or take back after e */
enum vb_err alerts_end(struct vb_book *b, enum vb_err e, struct vb_msg *m);

/* spool.c: rows of bytes put aside, read again in the order in which they came. They are in
 * memory or, where there are many, in a temporary file. Errors: VB_EMEM, VB_EIO */
struct spool;
enum vb_err spool_open(struct spool **out, struct vb_msg *m);
enum vb_err spool_put(struct spool *s, const void *bytes, size_t n, struct vb_msg *m);
/* *bytes is valid until the next call; NULL behind the last, and the next is the first */
enum vb_err spool_next(struct spool *s, const void **bytes, size_t *n, struct vb_msg *m);
void spool_close(struct spool *s);

#endif
