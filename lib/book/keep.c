/* Keeping what was computed: best effort, a list needs none of it. */
#include "book_impl.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct keeper {
    struct vb_book *b;
    sqlite3_stmt *newest, *keep;
    struct bytes bytes; // of an engine
};

static enum vb_err
prepare(struct keeper *k)
{
    enum vb_err e = db_prepare(
        k->b,
        "SELECT max(coalesce((SELECT max(date) FROM visits WHERE engine = ?1), ''),"
        " coalesce((SELECT max(date) FROM events WHERE engine = ?1), ''))",
        &k->newest, NULL);
    return e ? e
             : db_prepare(k->b,
                          "INSERT OR REPLACE INTO fresh(engine, version, newest, kept)"
                          " VALUES(?, ?, ?, ?)",
                          &k->keep, NULL);
}

static void
put_life(struct bytes *to, const struct vb_lives *l, const struct vb_life *life)
{
    bytes_put(to, (uint64_t)life->valve.cyl);
    bytes_put(to, (uint64_t)life->valve.side);
    bytes_put(to, (uint64_t)life->valve.index);
    members_put(life_members, n_life_members, life, to);
    bytes_put(to, life->n_res);
    for (size_t i = 0; i < life->n_res; i++)
        bytes_put_real(to, l->res[life->res_at + i]);
}

/* The newest date of an engine; 0 if that is later than as_of: then not all was seen. */
static int
all_seen(struct keeper *k, const char *engine, const char *as_of, char *newest,
         size_t size)
{
    newest[0] = 0;
    db_text(k->newest, 1, engine);
    int ok = sqlite3_step(k->newest) == SQLITE_ROW;
    if (ok)
        snprintf(newest, size, "%s", (const char *)sqlite3_column_text(k->newest, 0));
    sqlite3_reset(k->newest);
    return ok && strncmp(newest, as_of, strlen(as_of)) <= 0;
}

static enum vb_err
keep_unit(struct keeper *k, const struct vb_unit_now *u, const char *newest,
          const struct vb_lives *l, size_t from, size_t to)
{
    struct bytes *bytes = &k->bytes;
    bytes->n = 0;
    bytes_put(bytes, to - from);
    members_put(unit_members, n_unit_members, u, bytes);
    for (size_t i = from; i < to; i++)
        put_life(bytes, l, &l->life[i]);
    bytes_put_sum(bytes);
    if (bytes->failed)
        return VB_EMEM;
    db_text(k->keep, 1, u->name);
    db_text(k->keep, 2, KEPT_VERSION);
    db_text(k->keep, 3, newest);
    sqlite3_bind_blob64(k->keep, 4, bytes->at, bytes->n, SQLITE_STATIC);
    return db_run(k->b, k->keep, NULL);
}

static enum vb_err
keep_all(struct keeper *k, const struct vb_fleet *f, const unsigned char *computed,
         const char *as_of)
{
    char newest[VB_DAY_TEXT];
    size_t from = 0, to = 0;
    enum vb_err e = prepare(k);
    for (size_t i = 0; !e && i < f->n_units; i++, from = to) {
        while (to < f->lives.n && f->lives.life[to].engine == i)
            to++;
        if (computed[i] && all_seen(k, f->unit[i].name, as_of, newest, sizeof newest))
            e = keep_unit(k, &f->unit[i], newest, &f->lives, from, to);
    }
    return e;
}

/*
 * Within the transaction that read the readings, nobody else can have changed them
 * before this is written. Whoever else holds the lock is not waited for.
 */
void
keep_computed(struct vb_book *b, const struct vb_fleet *f, const unsigned char *computed,
              const char *as_of)
{
    struct keeper k = {.b = b};
    if (sqlite3_db_readonly(b->db, "main"))
        return;
    sqlite3_busy_timeout(b->db, 0);
    enum vb_err e = db_exec(b, "PRAGMA query_only=0", NULL);
    if (!e)
        e = keep_all(&k, f, computed, as_of);
    sqlite3_finalize(k.newest);
    sqlite3_finalize(k.keep);
    free(k.bytes.at);
    if (!e)
        db_exec(b, "COMMIT", NULL);
    if (!sqlite3_get_autocommit(b->db))
        db_exec(b, "ROLLBACK", NULL);
    if (b->mode == VB_BOOK_READ)
        db_exec(b, "PRAGMA query_only=1", NULL);
    sqlite3_busy_timeout(b->db, BUSY_MS);
}
