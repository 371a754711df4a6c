/* Keeping what was computed: best effort, a list needs none of it. */
#include "book_impl.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SQL_MAX 2048

struct keeper {
    struct vb_book *b;
    sqlite3_stmt *newest, *forget, *unit, *life, *fresh;
    unsigned char *bytes; // residuals of a life
    size_t size;
};

/* INSERT OR REPLACE INTO table(first, members) VALUES(?...) */
static enum vb_err
prepare_insert(struct keeper *k, const char *table, const char *first, size_t n_first,
               const struct member *m, size_t n, sqlite3_stmt **s)
{
    char sql[SQL_MAX];
    snprintf(sql, sizeof sql, "INSERT OR REPLACE INTO %s(%s, ", table, first);
    members_names(m, n, sql, sizeof sql);
    size_t at = strlen(sql);
    at += (size_t)snprintf(sql + at, sizeof sql - at, ") VALUES(?");
    for (size_t i = 1; i < n_first + n; i++)
        at += (size_t)snprintf(sql + at, sizeof sql - at, ",?");
    snprintf(sql + at, sizeof sql - at, ")");
    return db_prepare(k->b, sql, s, NULL);
}

static enum vb_err
prepare(struct keeper *k)
{
    const struct {
        sqlite3_stmt **s;
        const char *sql;
    } all[] = {
        {&k->newest,
         "SELECT max(coalesce((SELECT max(date) FROM visits WHERE engine = ?1), ''),"
         " coalesce((SELECT max(date) FROM events WHERE engine = ?1), ''))"},
        {&k->forget, "DELETE FROM lives WHERE engine = ?"},
        {&k->fresh, "INSERT OR REPLACE INTO fresh(engine, version, newest)"
                    " VALUES(?, ?, ?)"},
    };
    enum vb_err e = VB_OK;
    for (size_t i = 0; !e && i < sizeof all / sizeof *all; i++)
        e = db_prepare(k->b, all[i].sql, all[i].s, NULL);
    if (!e)
        e = prepare_insert(k, "units", "engine, lives", 2, unit_members, n_unit_members,
                           &k->unit);
    return e ? e
             : prepare_insert(k, "lives", "engine, line, at, residuals", 4, life_members,
                              n_life_members, &k->life);
}

static enum vb_err
bind_residuals(struct keeper *k, int i, const double *q, size_t n)
{
    size_t need = n * REAL_BYTES;
    if (need > k->size) {
        unsigned char *p = realloc(k->bytes, 2 * need);
        if (!p)
            return VB_EMEM;
        k->bytes = p;
        k->size = 2 * need;
    }
    reals_write(q, n, k->bytes);
    if (n)
        sqlite3_bind_blob64(k->life, i, k->bytes, need, SQLITE_STATIC);
    else
        sqlite3_bind_zeroblob(k->life, i, 0);
    return VB_OK;
}

static enum vb_err
keep_life(struct keeper *k, const char *engine, const struct vb_lives *l, size_t i,
          int line)
{
    const struct vb_life *life = &l->life[i];
    char at[VB_VALVE_MAX];
    enum vb_err e = bind_residuals(k, 4, l->res + life->res_at, life->n_res);
    if (e)
        return e;
    vb_valve_format(life->valve, at);
    db_text(k->life, 1, engine);
    sqlite3_bind_int(k->life, 2, line);
    db_text(k->life, 3, at);
    members_bind(life_members, n_life_members, k->life, 5, life);
    return db_run(k->b, k->life, NULL);
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
    db_text(k->forget, 1, u->name);
    enum vb_err e = db_run(k->b, k->forget, NULL);
    db_text(k->unit, 1, u->name);
    sqlite3_bind_int64(k->unit, 2, (sqlite3_int64)(to - from));
    members_bind(unit_members, n_unit_members, k->unit, 3, u);
    if (!e)
        e = db_run(k->b, k->unit, NULL);
    for (size_t i = from; !e && i < to; i++)
        e = keep_life(k, u->name, l, i, (int)(i - from));
    db_text(k->fresh, 1, u->name);
    db_text(k->fresh, 2, KEPT_VERSION);
    db_text(k->fresh, 3, newest);
    return e ? e : db_run(k->b, k->fresh, NULL);
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
    sqlite3_stmt *all[] = {k.newest, k.forget, k.unit, k.life, k.fresh};
    for (size_t i = 0; i < sizeof all / sizeof *all; i++)
        sqlite3_finalize(all[i]);
    free(k.bytes);
    if (!e)
        db_exec(b, "COMMIT", NULL);
    if (!sqlite3_get_autocommit(b->db))
        db_exec(b, "ROLLBACK", NULL);
    if (b->mode == VB_BOOK_READ)
        db_exec(b, "PRAGMA query_only=1", NULL);
    sqlite3_busy_timeout(b->db, BUSY_MS);
}
