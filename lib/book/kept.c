/*
 * What vb_fleet_add made of an engine, kept in the tables units and lives, so that lists
 * over a large book do not read every reading again. Expected sizes: some thousand
 * engines, 8 to 48 lives each, tens of residuals a life.
 */
#include "book_impl.h"

#include <stdlib.h>
#include <string.h>

#define SQL_MAX 2048

struct kept {
    struct vb_book *b;
    sqlite3_stmt *unit, *life;
    struct vb_lives lives; // of the engine being read
};

/* SELECT what + the columns of all members + from */
static enum vb_err
prepare(struct vb_book *b, const char *what, const struct member *m, size_t n,
        const char *from, sqlite3_stmt **s, struct vb_msg *msg)
{
    char sql[SQL_MAX] = "SELECT ";
    memcpy(sql + 7, what, strlen(what) + 1);
    members_names(m, n, sql, sizeof sql);
    memcpy(sql + strlen(sql), from, strlen(from) + 1);
    return db_prepare(b, sql, s, msg);
}

enum vb_err
kept_open(struct vb_book *b, struct kept **out, struct vb_msg *m)
{
    struct kept *k = calloc(1, sizeof *k);
    if (!k)
        return VB_EMEM;
    k->b = b;
    enum vb_err e = prepare(b, "lives, ", unit_members, n_unit_members,
                            " FROM units WHERE engine = ?", &k->unit, m);
    if (!e)
        e = prepare(b, "at, residuals, ", life_members, n_life_members,
                    " FROM lives WHERE engine = ? ORDER BY line", &k->life, m);
    if (e)
        kept_close(k);
    else
        *out = k;
    return e;
}

void
kept_close(struct kept *k)
{
    if (!k)
        return;
    sqlite3_finalize(k->unit);
    sqlite3_finalize(k->life);
    vb_lives_clear(&k->lives);
    free(k);
}

/* 8 bytes a number, in the order that reals_write writes. */
static enum vb_err
read_residuals(struct vb_lives *l, struct vb_life *life, sqlite3_stmt *s, int i)
{
    const void *bytes = sqlite3_column_blob(s, i);
    size_t n = (size_t)sqlite3_column_bytes(s, i) / REAL_BYTES;
    if (n && !bytes)
        return VB_EMEM;
    if (l->n_res + n > l->res_size) {
        size_t size = 2 * (l->n_res + n);
        double *p = realloc(l->res, size * sizeof *p);
        if (!p)
            return VB_EMEM;
        l->res = p;
        l->res_size = size;
    }
    reals_read(bytes, n, l->res + l->n_res);
    life->res_at = l->n_res;
    life->n_res = n;
    l->n_res += n;
    return VB_OK;
}

static enum vb_err
read_life(struct kept *k)
{
    struct vb_lives *l = &k->lives;
    if (l->n == l->size) {
        size_t size = l->size ? 2 * l->size : 64;
        struct vb_life *p = realloc(l->life, size * sizeof *p);
        if (!p)
            return VB_EMEM;
        l->life = p;
        l->size = size;
    }
    struct vb_life *life = memset(&l->life[l->n++], 0, sizeof *life);
    const char *at = (const char *)sqlite3_column_text(k->life, 0);
    if (!at)
        return VB_EMEM;
    if (vb_valve_parse(at, strlen(at), &life->valve)) {
        l->n--; // not ours: one row is missing then, and the engine is computed afresh
        return VB_OK;
    }
    members_read(life_members, n_life_members, k->life, 2, life);
    return read_residuals(l, life, k->life, 1);
}

static enum vb_err
read_lives(struct kept *k, const char *engine, struct vb_msg *m)
{
    int rc = SQLITE_DONE;
    enum vb_err e = VB_OK;
    k->lives.n = k->lives.n_res = 0;
    db_text(k->life, 1, engine);
    while (!e && (rc = sqlite3_step(k->life)) == SQLITE_ROW)
        e = read_life(k);
    if (!e && rc != SQLITE_DONE)
        e = db_fail(k->b, m);
    sqlite3_reset(k->life);
    return e;
}

enum vb_err
kept_take(struct kept *k, const struct vb_engine *en, double as_of, struct vb_fleet *f,
          int *has, struct vb_msg *m)
{
    struct vb_unit_now unit = {0};
    size_t want = 0;
    db_text(k->unit, 1, en->name);
    int rc = sqlite3_step(k->unit);
    *has = rc == SQLITE_ROW;
    if (*has) {
        want = (size_t)sqlite3_column_int64(k->unit, 0);
        members_read(unit_members, n_unit_members, k->unit, 1, &unit);
    }
    enum vb_err e = *has || rc == SQLITE_DONE ? VB_OK : db_fail(k->b, m);
    sqlite3_reset(k->unit);
    if (!e && *has)
        e = read_lives(k, en->name, m);
    *has = *has && k->lives.n == want;
    return e || !*has ? e : vb_fleet_take(f, en, as_of, &unit, &k->lives);
}

void
kept_one_zero(struct vb_fleet *f)
{
    size_t last = f->n_units - 1;
    members_one_zero(unit_members, n_unit_members, &f->unit[last]);
    for (size_t i = f->lives.n; i > 0 && f->lives.life[i - 1].engine == last; i--)
        members_one_zero(life_members, n_life_members, &f->lives.life[i - 1]);
}
