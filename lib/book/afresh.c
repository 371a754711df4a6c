/*
 * Engines of which nothing is kept, computed by two threads that read the book through a
 * connection each. Both see one state of it: nobody can write while the first one reads. Where
 * somebody can, since the book has a write-ahead log, there is no second one.
 */
#include "kept_impl.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/date.h"

#define TOGETHER 4 // engines of a job: to wake a thread takes a part of what one takes

/* Of one of the threads. */
struct side {
    struct query *q;
    struct vb_msg m;
    struct vb_fleet one; // of the engine being computed
    double as_of;
    int failed; // nothing more is computed, so that m stays
};

struct computed {
    struct engine_read r;
    struct bytes sums, kept;
};

struct job {
    struct computed c[TOGETHER];
    size_t n;
    struct side *side;
    enum vb_err err;
};

struct afresh {
    struct vb_book *b, *second; // NULL: one thread does it all
    int asked;                  // for the second
    struct vb_msg *m;
    const char *as_of;
    sqlite3_stmt *newest, *put;
    struct side here, there;
    struct job batch, job[RELAY]; // what is being put together here, and what is there
    struct relay relay;
    size_t n; // computed so far
};

static enum vb_err
compute_one(struct side *s, struct computed *c)
{
    enum vb_err e = query_read(s->q, &c->r);
    vb_fleet_empty(&s->one);
    if (!e)
        e = vb_fleet_add(&s->one, &c->r.e, s->as_of);
    return e ? e : kept_put(&s->one, &c->sums, &c->kept);
}

static void
compute(void *arg)
{
    struct job *j = arg;
    j->err = j->side->failed ? VB_EDB : VB_OK;
    for (size_t i = 0; !j->err && i < j->n; i++)
        j->err = compute_one(j->side, &j->c[i]);
    j->side->failed |= j->err != VB_OK;
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
    a->as_of = as_of;
    a->here.q = q;
    vb_date_days(as_of, &a->here.as_of);
    a->there.as_of = a->here.as_of;
    a->batch.side = &a->here;
    a->relay.work = compute;
    for (size_t i = 0; i < RELAY; i++) {
        a->job[i].side = &a->there;
        a->relay.job[i] = &a->job[i];
    }
    enum vb_err e = prepare(a);
    if (e)
        afresh_close(a);
    else
        *out = a;
    return e;
}

/* Where there is no second connection to be had, one will do. */
static void
ask_second(struct afresh *a)
{
    a->asked = 1;
    a->second = book_again(a->b);
    if (a->second && query_open(a->second, a->as_of, &a->there.q, &a->there.m)) {
        vb_book_close(a->second, NULL);
        a->second = NULL;
    }
}

/* The newest date of an engine; *seen = 0 if that is later than as_of: then not all was. */
static enum vb_err
find_newest(struct afresh *a, const char *engine, char *out, size_t size, int *seen)
{
    enum vb_err e = VB_OK;
    const char *date = NULL; // which is never NULL: SQLite had no room for one that is
    db_text(a->newest, 1, engine);
    int rc = sqlite3_step(a->newest);
    if (rc == SQLITE_ROW && !(date = (const char *)sqlite3_column_text(a->newest, 0)))
        e = VB_EMEM;
    else if (rc != SQLITE_ROW)
        e = db_fail(a->b, a->m);
    snprintf(out, size, "%s", date ? date : "");
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
    e = db_run(a->b, a->put, a->m);
    if (e) // no fault of the book, which is only read
        vb_msg_at(a->m, "a temporary file", 0, NULL);
    return e;
}

static enum vb_err
put_all(struct afresh *a, struct job *j)
{
    enum vb_err e = j->err;
    if (e && j->side == &a->there && a->m)
        *a->m = a->there.m;
    for (size_t i = 0; !e && i < j->n; i++)
        e = put(a, &j->c[i]);
    j->n = 0;
    return e;
}

/* The other thread has enough to do: this one computes too. */
static enum vb_err
compute_here(struct afresh *a)
{
    compute(&a->batch);
    return put_all(a, &a->batch);
}

static enum vb_err
hand_on(struct afresh *a)
{
    enum vb_err e = VB_OK;
    struct job *j;
    if (!a->asked)
        ask_second(a);
    while (!e && (j = relay_ready(&a->relay)))
        e = put_all(a, j);
    j = a->second ? relay_room(&a->relay) : NULL;
    if (e || !j)
        return e ? e : compute_here(a);
    struct job filled = a->batch;
    a->batch = *j;
    *j = filled;
    a->batch.side = &a->here;
    j->side = &a->there;
    relay_give(&a->relay);
    return VB_OK;
}

enum vb_err
afresh_give(struct afresh *a, const char *name, const struct vb_family_kept *k)
{
    enum vb_err e = query_name(&a->batch.c[a->batch.n].r, name, k);
    return e || ++a->batch.n < TOGETHER ? e : hand_on(a);
}

/* Its connection would keep the first from writing. */
static void
dismiss_second(struct afresh *a)
{
    relay_stop(&a->relay);
    query_close(a->there.q);
    vb_book_close(a->second, NULL);
    a->there.q = NULL;
    a->second = NULL;
}

enum vb_err
afresh_wait(struct afresh *a)
{
    struct job *j;
    enum vb_err e = compute_here(a);
    while (!e && (j = relay_take(&a->relay)))
        e = put_all(a, j);
    dismiss_second(a);
    return e;
}

enum vb_err
afresh_now(struct afresh *a, const char *name, const struct vb_family_kept *k,
           const struct bytes **sums, const struct bytes **kept)
{
    struct computed *c = &a->batch.c[0];
    enum vb_err e = query_name(&c->r, name, k);
    a->batch.n = 1;
    *sums = &c->sums;
    *kept = &c->kept;
    return e ? e : compute_here(a);
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
}

void
afresh_close(struct afresh *a)
{
    if (!a)
        return;
    dismiss_second(a);
    sqlite3_finalize(a->newest);
    sqlite3_finalize(a->put);
    for (size_t i = 0; i < RELAY; i++)
        free_job(&a->job[i]);
    free_job(&a->batch);
    vb_fleet_clear(&a->here.one);
    vb_fleet_clear(&a->there.one);
    free(a);
}
