/*
 * The engines of a book a block at a time: first those of which nothing is kept are
 * computed, then what families share is summed up over all, then each engine is taken from
 * what was kept or computed and judged. One thread reads, a second judges.
 */
#include <stdlib.h>
#include <string.h>

#include "kept_impl.h"
#include "valvebook/date.h"

#define BLOCK 32 // engines

/* An engine as it was kept, on its way into a block. */
struct kept_read {
    struct engine_read r; // name, family and plan
    struct bytes kept;
};

struct block_job {
    struct vb_block block; // first: it is handed out
    struct kept_read in[BLOCK];
    size_t n;
    struct vb_blocks *s;
    enum vb_err err;
};

struct vb_blocks {
    struct vb_book *b;
    struct vb_msg *m;
    const char *as_of;
    struct vb_scope scope;
    double day;
    int judged, failed;
    struct vb_fleet whole;
    struct query *q;
    struct afresh *afresh;
    sqlite3_stmt *rows; // of the last pass
    int at_end;
    struct block_job job[RELAY];
    struct relay relay;
};

#define IS_KEPT                                                                          \
    " ON f.engine = e.engine AND f.version = '" KEPT_VERSION                             \
    "' AND f.newest <= :as_of || '~'"
#define KEPT      " LEFT JOIN main.fresh f" IS_KEPT
#define SUMS_KEPT " LEFT JOIN main.fresh f INDEXED BY fresh_sums" IS_KEPT
#define OF_FAMILY " e.family IN (SELECT family FROM engines WHERE " IN_SCOPE("") ")"
#define COMPUTED  " LEFT JOIN temp.computed c ON c.engine = e.engine"

static enum vb_err
prepare(struct vb_blocks *s, const char *sql, sqlite3_stmt **out)
{
    enum vb_err e = db_prepare(s->b, sql, out, s->m);
    if (e)
        return e;
    db_text(*out, sqlite3_bind_parameter_index(*out, ":as_of"), s->as_of);
    scope_bind(*out, &s->scope);
    return VB_OK;
}

/* The facts of a row's family: its name is in column 1. */
static enum vb_err
family_of(struct vb_blocks *s, sqlite3_stmt *row, struct vb_family_kept **k)
{
    int made;
    *k = vb_fleet_family(&s->whole, db_word(row, 1), &made);
    if (!*k)
        return VB_EMEM;
    return made ? facts_family(s->b, (*k)->name, &(*k)->facts, s->m) : VB_OK;
}

typedef enum vb_err each_engine(struct vb_blocks *s, sqlite3_stmt *row,
                                struct vb_family_kept *k);

static enum vb_err
pass(struct vb_blocks *s, const char *sql, each_engine *each)
{
    sqlite3_stmt *rows = NULL;
    struct vb_family_kept *k;
    int rc = SQLITE_DONE;
    enum vb_err e = prepare(s, sql, &rows);
    while (!e && (rc = sqlite3_step(rows)) == SQLITE_ROW) {
        e = family_of(s, rows, &k);
        if (!e)
            e = each(s, rows, k);
    }
    if (!e && rc != SQLITE_DONE)
        e = db_fail(s->b, s->m);
    sqlite3_finalize(rows);
    return e;
}

static enum vb_err
compute_one(struct vb_blocks *s, sqlite3_stmt *row, struct vb_family_kept *k)
{
    return afresh_give(s->afresh, db_word(row, 0), k);
}

static enum vb_err
count_one(struct vb_blocks *s, sqlite3_stmt *row, struct vb_family_kept *k)
{
    const void *bytes = sqlite3_column_blob(row, 2);
    size_t n = (size_t)sqlite3_column_bytes(row, 2);
    const struct bytes *sums, *kept;
    if (!kept_whole(bytes, n)) {
        enum vb_err e = afresh_now(s->afresh, db_word(row, 0), k, &sums, &kept);
        if (e)
            return e;
        bytes = sums->at;
        n = sums->n;
    }
    enum vb_err e = kept_count(bytes, n, k->name, &s->whole);
    if (!e)
        e = vb_fleet_mark(&s->whole, sqlite3_column_int(row, 3));
    return e == VB_EDB ? db_damaged(s->b, s->m) : e;
}

static enum vb_err
sum_up(struct vb_blocks *s)
{
    enum vb_err e = pass(s,
                         "SELECT e.engine, e.family FROM engines e" SUMS_KEPT
                         " WHERE f.engine IS NULL AND" OF_FAMILY " ORDER BY e.engine",
                         compute_one);
    if (!e)
        e = afresh_wait(s->afresh);
    if (!e)
        e = pass(s,
                 "SELECT e.engine, e.family, coalesce(c.sums, f.sums), " IN_SCOPE(
                     "e.") " FROM engines e" COMPUTED SUMS_KEPT " WHERE" OF_FAMILY
                           " ORDER BY e.engine",
                 count_one);
    return e ? e : vb_fleet_settle(&s->whole);
}

static enum vb_err
judge(struct vb_block *b)
{
    const struct vb_lives *l = &b->fleet.lives;
    if (l->n > b->state_size) {
        struct vb_state *st = realloc(b->state, 2 * l->n * sizeof *st);
        if (!st)
            return VB_EMEM;
        b->state = st;
        b->state_size = 2 * l->n;
    }
    for (size_t i = 0; i < l->n; i++)
        vb_fleet_state(&b->fleet, i, &b->state[i]);
    return VB_OK;
}

/* On the second thread, which alone looks at the whole meanwhile. */
static void
make_block(void *arg)
{
    struct block_job *j = arg;
    struct vb_fleet *f = &j->block.fleet, *whole = &j->s->whole;
    vb_fleet_empty(f);
    f->group = whole->group;
    f->n_groups = whole->n_groups;
    f->family = whole->family;
    f->n_families = whole->n_families;
    for (size_t i = 0; !j->err && i < j->n; i++)
        j->err =
            kept_take(j->in[i].kept.at, j->in[i].kept.n, &j->in[i].r.e, j->s->day, f);
    for (size_t i = 0; !j->err && i < f->lives.n; i++) {
        struct vb_life *l = &f->lives.life[i];
        j->err = vb_fleet_place(whole, &f->unit[l->engine], l);
    }
    if (!j->err && j->s->judged)
        j->err = judge(&j->block);
}

static enum vb_err
fill_one(struct vb_blocks *s, struct kept_read *in)
{
    const char *name = db_word(s->rows, 0);
    const void *bytes = sqlite3_column_blob(s->rows, 2);
    size_t n = (size_t)sqlite3_column_bytes(s->rows, 2);
    struct vb_family_kept *k;
    const struct bytes *sums, *kept;
    enum vb_err e = family_of(s, s->rows, &k);
    if (!e)
        e = query_name(&in->r, name, k);
    if (!e)
        e = query_plan(s->q, &in->r);
    if (!e && !kept_whole(bytes, n)) {
        e = afresh_now(s->afresh, name, k, &sums, &kept);
        bytes = kept->at;
        n = kept->n;
    }
    in->kept.n = 0;
    return e ? e : bytes_put_all(&in->kept, bytes, n);
}

static enum vb_err
fill(struct vb_blocks *s, struct block_job *j)
{
    enum vb_err e = VB_OK;
    for (j->n = 0; !e && !s->at_end && j->n < BLOCK;) {
        int rc = sqlite3_step(s->rows);
        s->at_end = rc != SQLITE_ROW;
        if (rc == SQLITE_ROW)
            e = fill_one(s, &j->in[j->n++]);
        else if (rc != SQLITE_DONE)
            e = db_fail(s->b, s->m);
    }
    return e;
}

enum vb_err
vb_blocks_next(struct vb_blocks *s, struct vb_block **out)
{
    struct block_job *j;
    enum vb_err e = VB_OK;
    *out = NULL;
    while (!e && !s->at_end && (j = relay_room(&s->relay))) {
        e = fill(s, j);
        if (!e && j->n)
            relay_give(&s->relay);
    }
    j = e ? NULL : relay_take(&s->relay);
    if (j && !(e = j->err))
        *out = &j->block;
    if (j && e == VB_EDB)
        db_damaged(s->b, s->m);
    s->failed |= e != VB_OK;
    return e;
}

struct vb_fleet *
vb_blocks_whole(struct vb_blocks *s)
{
    return &s->whole;
}

static enum vb_err
begin(struct vb_blocks *s)
{
    enum vb_err e =
        db_exec(s->b, "PRAGMA query_only=0; BEGIN", s->m); // one state of the book
    if (!e)
        e = scope_check(s->b, &s->scope, s->m);
    if (!e)
        e = query_open(s->b, s->as_of, &s->q, s->m);
    if (!e)
        e = afresh_open(s->b, s->as_of, s->q, &s->afresh, s->m);
    if (!e)
        e = sum_up(s);
    if (!e)
        e = prepare(
            s,
            "SELECT e.engine, e.family, coalesce(c.kept, f.kept) FROM engines e" COMPUTED
                KEPT " WHERE " IN_SCOPE("e.") " ORDER BY e.engine",
            &s->rows);
    return e;
}

enum vb_err
blocks_open(struct vb_book *b, const struct vb_scope *scope, const char *as_of,
            int judged, struct vb_blocks **out, struct vb_msg *m)
{
    struct vb_blocks *s = calloc(1, sizeof *s);
    if (!s)
        return VB_EMEM;
    *s = (struct vb_blocks){.b = b, .m = m, .as_of = as_of, .judged = judged};
    if (scope)
        s->scope = *scope;
    vb_date_days(as_of, &s->day);
    s->relay.work = make_block;
    for (size_t i = 0; i < RELAY; i++) {
        s->job[i].s = s;
        s->relay.job[i] = &s->job[i];
    }
    enum vb_err e = begin(s);
    s->failed = e != VB_OK;
    if (e)
        vb_blocks_close(s);
    else
        *out = s;
    return e;
}

enum vb_err
vb_blocks_open(struct vb_book *b, const struct vb_scope *scope, const char *as_of,
               struct vb_blocks **out, struct vb_msg *m)
{
    return blocks_open(b, scope, as_of, 1, out, m);
}

static void
free_job(struct block_job *j)
{
    for (size_t i = 0; i < BLOCK; i++) {
        query_free(&j->in[i].r);
        free(j->in[i].kept.at);
    }
    j->block.fleet.group = NULL; // the whole's
    j->block.fleet.n_groups = 0;
    j->block.fleet.family = NULL;
    j->block.fleet.n_families = 0;
    vb_fleet_clear(&j->block.fleet);
    free(j->block.state);
}

void
vb_blocks_close(struct vb_blocks *s)
{
    if (!s)
        return;
    relay_stop(&s->relay);
    sqlite3_finalize(s->rows);
    if (!s->failed)
        afresh_keep(s->afresh);
    afresh_close(s->afresh);
    query_close(s->q);
    if (!sqlite3_get_autocommit(s->b->db))
        sqlite3_exec(s->b->db, "ROLLBACK", NULL, NULL, NULL);
    if (s->b->mode == VB_BOOK_READ)
        db_exec(s->b, "PRAGMA query_only=1", NULL);
    for (size_t i = 0; i < RELAY; i++)
        free_job(&s->job[i]);
    vb_fleet_clear(&s->whole);
    free(s);
}
