/* Engines of which nothing is kept: read by one thread, computed by another. */
#include "book_impl.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/date.h"

#define TOGETHER 4 // engines of a job: to wake a thread takes a part of what one takes

struct computed {
    struct engine_read r;
    struct bytes sums, kept;
};

struct job {
    struct computed c[TOGETHER];
    size_t n;
    double as_of;
    struct vb_fleet one; // of the engine being computed
    enum vb_err err;
};

struct afresh {
    struct vb_book *b;
    struct vb_msg *m;
    struct query *q;
    const char *as_of;
    sqlite3_stmt *newest, *put;
    struct job job[RELAY], now;
    struct relay relay;
    size_t n; // computed so far
};

static void
compute(void *arg)
{
    struct job *j = arg;
    for (size_t i = 0; !j->err && i < j->n; i++) {
        struct computed *c = &j->c[i];
        vb_fleet_empty(&j->one);
        j->err = vb_fleet_add(&j->one, &c->r.e, j->as_of);
        if (!j->err)
            j->err = kept_put(&j->one, &c->sums, &c->kept);
    }
}

static enum vb_err
prepare(struct afresh *a)
{
    enum vb_err e = db_exec(a->b,
                            "CREATE TEMP TABLE computed(engine TEXT PRIMARY KEY NOT NULL,"
                            " newest TEXT, sums BLOB NOT NULL, kept BLOB NOT NULL)",
                            a->m);
    if (!e)
        e = db_prepare(
            a->b,
            "SELECT max(coalesce((SELECT max(date) FROM visits WHERE engine = ?1), ''),"
            " coalesce((SELECT max(date) FROM events WHERE engine = ?1), ''))",
            &a->newest, a->m);
    return e ? e
             : db_prepare(
                   a->b,
                   "INSERT OR REPLACE INTO temp.computed(engine, newest, sums, kept)"
                   " VALUES(?, ?, ?, ?)",
                   &a->put, a->m);
}

enum vb_err
afresh_open(struct vb_book *b, const char *as_of, struct query *q, struct afresh **out,
            struct vb_msg *m)
{
    struct afresh *a = calloc(1, sizeof *a);
    if (!a)
        return VB_EMEM;
    a->b = b;
    a->m = m;
    a->q = q;
    a->as_of = as_of;
    a->relay.work = compute;
    vb_date_days(as_of, &a->now.as_of);
    for (size_t i = 0; i < RELAY; i++) {
        a->job[i].as_of = a->now.as_of;
        a->relay.job[i] = &a->job[i];
    }
    enum vb_err e = prepare(a);
    if (e)
        afresh_close(a);
    else
        *out = a;
    return e;
}

/* The newest date of an engine; *seen = 0 if that is later than as_of: then not all was. */
static enum vb_err
find_newest(struct afresh *a, const char *engine, char *out, size_t size, int *seen)
{
    enum vb_err e = VB_OK;
    db_text(a->newest, 1, engine);
    if (sqlite3_step(a->newest) == SQLITE_ROW)
        snprintf(out, size, "%s", db_word(a->newest, 0));
    else
        e = db_fail(a->b, a->m);
    *seen = strncmp(out, a->as_of, strlen(a->as_of)) <= 0;
    sqlite3_reset(a->newest);
    return e;
}

static enum vb_err
put(struct afresh *a, const struct computed *c)
{
    char newest[VB_DAY_TEXT] = "";
    int seen;
    enum vb_err e = find_newest(a, c->r.name, newest, sizeof newest, &seen);
    if (e)
        return e;
    db_text(a->put, 1, c->r.name);
    if (seen)
        db_text(a->put, 2, newest);
    else
        sqlite3_bind_null(a->put, 2);
    sqlite3_bind_blob64(a->put, 3, c->sums.at, c->sums.n, SQLITE_STATIC);
    sqlite3_bind_blob64(a->put, 4, c->kept.at, c->kept.n, SQLITE_STATIC);
    a->n++;
    return db_run(a->b, a->put, a->m);
}

static enum vb_err
put_all(struct afresh *a, struct job *j)
{
    enum vb_err e = j->err;
    for (size_t i = 0; !e && i < j->n; i++)
        e = put(a, &j->c[i]);
    j->n = 0;
    return e;
}

enum vb_err
afresh_give(struct afresh *a, const char *name, const struct vb_family_kept *k)
{
    struct job *j = relay_room(&a->relay);
    if (!j) {
        enum vb_err e = put_all(a, relay_take(&a->relay));
        if (e)
            return e;
        j = relay_room(&a->relay);
    }
    struct engine_read *r = &j->c[j->n].r;
    enum vb_err e = query_name(r, name, k);
    if (!e)
        e = query_read(a->q, r);
    if (!e && ++j->n == TOGETHER)
        relay_give(&a->relay);
    return e;
}

enum vb_err
afresh_wait(struct afresh *a)
{
    enum vb_err e = VB_OK;
    struct job *j = relay_room(&a->relay);
    if (j && j->n)
        relay_give(&a->relay);
    while (!e && (j = relay_take(&a->relay)))
        e = put_all(a, j);
    relay_stop(&a->relay);
    return e;
}

enum vb_err
afresh_now(struct afresh *a, const char *name, const struct vb_family_kept *k,
           const struct bytes **sums, const struct bytes **kept)
{
    struct computed *c = &a->now.c[0];
    enum vb_err e = query_name(&c->r, name, k);
    if (!e)
        e = query_read(a->q, &c->r);
    a->now.n = 1;
    if (!e)
        compute(&a->now);
    *sums = &c->sums;
    *kept = &c->kept;
    return e ? e : put_all(a, &a->now);
}

/*
 * Within the transaction that read the readings, nobody else can have changed them before
 * this is written. Whoever else holds the lock is not waited for.
 */
void
afresh_keep(struct afresh *a)
{
    if (!a->n || sqlite3_db_readonly(a->b->db, "main"))
        return;
    sqlite3_reset(a->put);
    sqlite3_busy_timeout(a->b->db, 0);
    enum vb_err e = db_exec(
        a->b,
        "INSERT OR REPLACE INTO main.fresh(engine, version, newest, sums, kept)"
        " SELECT engine, '" KEPT_VERSION "', newest, sums, kept FROM temp.computed"
        " WHERE newest IS NOT NULL; DROP TABLE temp.computed",
        NULL);
    if (!e)
        db_exec(a->b, "COMMIT", NULL);
    sqlite3_busy_timeout(a->b->db, BUSY_MS);
}

static void
free_job(struct job *j)
{
    for (size_t i = 0; i < TOGETHER; i++) {
        query_free(&j->c[i].r);
        free(j->c[i].sums.at);
        free(j->c[i].kept.at);
    }
    vb_fleet_clear(&j->one);
}

void
afresh_close(struct afresh *a)
{
    if (!a)
        return;
    relay_stop(&a->relay);
    sqlite3_finalize(a->newest);
    sqlite3_finalize(a->put);
    for (size_t i = 0; i < RELAY; i++)
        free_job(&a->job[i]);
    free_job(&a->now);
    free(a);
}
