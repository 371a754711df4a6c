/* Expected sizes: from none to a million rows of some hundred bytes. */
#include "alerts_impl.h"

#include <stdlib.h>

struct spool {
    sqlite3 *db; // without a name: SQLite's own temporary file, once it is too much
    sqlite3_stmt *put, *get;
};

static enum vb_err
fail(struct spool *s, struct vb_msg *m)
{
    if (sqlite3_errcode(s->db) == SQLITE_NOMEM)
        return VB_EMEM;
    vb_msg_at(m, "a temporary file", 0, NULL);
    vb_msg_set(m, "%s", sqlite3_errmsg(s->db));
    return VB_EIO;
}

enum vb_err
spool_open(struct spool **out, struct vb_msg *m)
{
    struct spool *s = calloc(1, sizeof *s);
    enum vb_err e = VB_OK;
    if (!s)
        return VB_EMEM;
    if (sqlite3_open_v2("", &s->db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, NULL) ||
        sqlite3_exec(s->db,
                     "PRAGMA journal_mode=OFF; PRAGMA cache_size=-512;"
                     " CREATE TABLE spool(row INTEGER PRIMARY KEY, bytes BLOB); BEGIN",
                     NULL, NULL, NULL) ||
        sqlite3_prepare_v2(s->db, "INSERT INTO spool(bytes) VALUES(?)", -1, &s->put,
                           NULL) ||
        sqlite3_prepare_v2(s->db, "SELECT bytes FROM spool ORDER BY row", -1, &s->get,
                           NULL))
        e = fail(s, m);
    if (e)
        spool_close(s);
    else
        *out = s;
    return e;
}

enum vb_err
spool_put(struct spool *s, const void *bytes, size_t n, struct vb_msg *m)
{
    sqlite3_bind_blob64(s->put, 1, bytes, n, SQLITE_STATIC);
    sqlite3_step(s->put);
    return sqlite3_reset(s->put) ? fail(s, m) : VB_OK;
}

enum vb_err
spool_next(struct spool *s, const void **bytes, size_t *n, struct vb_msg *m)
{
    *bytes = NULL;
    if (sqlite3_step(s->get) != SQLITE_ROW)
        return sqlite3_reset(s->get) ? fail(s, m) : VB_OK;
    *bytes = sqlite3_column_blob(s->get, 0);
    *n = (size_t)sqlite3_column_bytes(s->get, 0);
    return *bytes ? VB_OK : VB_EMEM;
}

void
spool_close(struct spool *s)
{
    if (!s)
        return;
    sqlite3_finalize(s->put);
    sqlite3_finalize(s->get);
    sqlite3_close(s->db);
    free(s);
}
