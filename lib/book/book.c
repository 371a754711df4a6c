#include "book_impl.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum vb_err
db_fail(struct vb_book *b, struct vb_msg *m)
{
    vb_msg_at(m, b->path, 0, NULL);
    vb_msg_set(m, "%s", sqlite3_errmsg(b->db));
    return sqlite3_errcode(b->db) == SQLITE_NOMEM ? VB_EMEM : VB_EDB;
}

enum vb_err
db_exec(struct vb_book *b, const char *sql, struct vb_msg *m)
{
    return sqlite3_exec(b->db, sql, NULL, NULL, NULL) == SQLITE_OK ? VB_OK
                                                                   : db_fail(b, m);
}

enum vb_err
db_prepare(struct vb_book *b, const char *sql, sqlite3_stmt **s, struct vb_msg *m)
{
    return sqlite3_prepare_v2(b->db, sql, -1, s, NULL) == SQLITE_OK ? VB_OK
                                                                    : db_fail(b, m);
}

enum vb_err
db_run(struct vb_book *b, sqlite3_stmt *s, struct vb_msg *m)
{
    int rc = sqlite3_step(s);
    enum vb_err e = rc == SQLITE_DONE || rc == SQLITE_ROW ? VB_OK : db_fail(b, m);
    sqlite3_reset(s);
    return e;
}

void
db_text(sqlite3_stmt *s, int i, const char *text)
{
    sqlite3_bind_text(s, i, text, -1, SQLITE_STATIC);
}

/*
 * One connection, used by one thread at a time: SQLite needs no mutex around it and no
 * count of its memory. References are checked by the loader itself, which can name the
 * row that is wrong; SQLite's own check of each of millions of readings would take a
 * third of the loading time (docs/performance.md) to find what cannot be there.
 */
static enum vb_err
open_db(struct vb_book *b, enum vb_book_mode mode, struct vb_msg *m)
{
    /* A reader may have to roll back what a killed loader left, so it may write too. */
    int flags = SQLITE_OPEN_READWRITE | (mode == VB_BOOK_WRITE ? SQLITE_OPEN_CREATE : 0);
    sqlite3_config(SQLITE_CONFIG_MULTITHREAD);
    sqlite3_config(SQLITE_CONFIG_MEMSTATUS, 0);
    if (sqlite3_libversion_number() < 3037000) {
        vb_msg_at(m, b->path, 0, NULL);
        vb_msg_set(m, "SQLite %s is too old, 3.37 is needed", sqlite3_libversion());
        return VB_EDB;
    }
    if (sqlite3_open_v2(b->path, &b->db, flags, NULL) != SQLITE_OK)
        return b->db ? db_fail(b, m) : VB_EMEM;
    sqlite3_busy_timeout(b->db, BUSY_MS);
    return db_exec(b,
                   mode == VB_BOOK_READ
                       ? "PRAGMA query_only=1; PRAGMA cache_size=-12000"
                       : "PRAGMA page_size=16384; PRAGMA cache_size=-12000",
                   m);
}

enum vb_err
vb_book_open(const char *path, enum vb_book_mode mode, struct vb_book **out,
             struct vb_msg *m)
{
    if (mode != VB_BOOK_WRITE && access(path, R_OK)) {
        vb_msg_at(m, path, 0, NULL);
        vb_msg_set(m, "%s", strerror(errno));
        return VB_EIO;
    }
    struct vb_book *b = calloc(1, sizeof *b);
    if (!b || !(b->path = strdup(path))) {
        free(b);
        return VB_EMEM;
    }
    b->mode = mode;
    enum vb_err e = open_db(b, mode, m);
    if (!e)
        e = schema_open(b, mode, m);
    if (e) {
        vb_book_close(b, NULL);
        return e;
    }
    *out = b;
    return VB_OK;
}

enum vb_err
vb_book_close(struct vb_book *b, struct vb_msg *m)
{
    enum vb_err e = VB_OK;
    if (!b)
        return VB_OK;
    for (size_t i = 0; i < STALE_COUNT; i++)
        sqlite3_finalize(b->stale[i]);
    if (sqlite3_close(b->db) != SQLITE_OK) {
        e = db_fail(b, m);
        sqlite3_close_v2(b->db);
    }
    free(b->path);
    free(b);
    return e;
}
