/* Which engines were changed since what is kept of them was computed (kept.c). */
#include "book_impl.h"

#include <string.h>

enum vb_err
stale(struct vb_book *b, enum stale_scope scope, const char *name, struct vb_msg *m)
{
    static const char *const sql[STALE_COUNT] = {
        "DELETE FROM fresh WHERE engine = ?1",
        "DELETE FROM fresh WHERE"
        " (SELECT family FROM engines WHERE engines.engine = fresh.engine) = ?1",
        "DELETE FROM fresh"};
    sqlite3_stmt **s = &b->stale[scope];
    enum vb_err e = *s ? VB_OK : db_prepare(b, sql[scope], s, m);
    if (e)
        return e;
    if (scope != STALE_ALL)
        db_text(*s, 1, name);
    return db_run(b, *s, m);
}

/* The plan is read anew by every list; shims, lobes and trials have no part in it. */
enum vb_err
stale_row(struct vb_book *b, const struct table_def *def, char cell[][MAX_CELL],
          struct vb_msg *m)
{
    if (strcmp(def->name, "engines") == 0 || strcmp(def->name, "events") == 0)
        return stale(b, STALE_ENGINE, cell[0], m);
    if (strcmp(def->name, "families") == 0)
        return stale(b, STALE_FAMILY, cell[0], m);
    if (strcmp(def->name, "gauges") == 0)
        return stale(b, STALE_ALL, NULL, m);
    return VB_OK;
}

enum vb_err
stale_possible(struct vb_book *b, int *possible, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e = db_prepare(b, "SELECT EXISTS(SELECT 1 FROM fresh)", &s, m);
    if (e)
        return e;
    if (sqlite3_step(s) == SQLITE_ROW)
        *possible = sqlite3_column_int(s, 0);
    else
        e = db_fail(b, m);
    sqlite3_finalize(s);
    return e;
}
