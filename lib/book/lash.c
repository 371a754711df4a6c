/*
 * The readings of lash of one engine, by valve and then by visit. Visits that were loaded
 * one behind the other are neighbours on disk: one query reads them all. Places are few
 * (some hundred in a book), so they are read once and not joined row by row.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "book_impl.h"

/* A place where lash is read, and where its valve stands among all of them. */
struct spot {
    struct vb_valve valve;
    size_t rank; // from 1; 0: no lash is read here
};

struct lash_reader {
    struct vb_book *b;
    sqlite3_stmt *rows;
    struct gauges *gauges; // the caller's, NULL where none states anything
    struct spot *spot;     // [n_spots] by place
    size_t n_spots, n_ranks;
    struct unsorted {
        struct vb_lash lash;
        size_t rank;
    } * row; // of the engine, as they come
    size_t n, row_size;
    size_t *first; // [n_ranks + 2] where the readings of each rank begin
};

static int
by_valve(const void *a, const void *b)
{
    const struct spot *const *x = a, *const *y = b;
    return vb_valve_order((*x)->valve, (*y)->valve);
}

static enum vb_err
rank_spots(struct lash_reader *r)
{
    struct spot **sorted = malloc((r->n_spots + 1) * sizeof *sorted);
    if (!sorted)
        return VB_EMEM;
    for (size_t i = 0; i < r->n_spots; i++)
        if (r->spot[i].rank)
            sorted[r->n_ranks++] = &r->spot[i];
    qsort(sorted, r->n_ranks, sizeof *sorted, by_valve);
    for (size_t i = 0; i < r->n_ranks; i++)
        sorted[i]->rank = i + 1;
    free(sorted);
    r->first = malloc((r->n_ranks + 2) * sizeof *r->first);
    return r->first ? VB_OK : VB_EMEM;
}

static enum vb_err
take_spot(struct lash_reader *r, sqlite3_stmt *s, size_t *size, struct vb_msg *m)
{
    sqlite3_int64 number = sqlite3_column_int64(s, 0);
    size_t place = (size_t)number;
    const char *at = db_word(s, 1);
    struct vb_valve v;
    if (number <= 0 || number >= PLACE_MAX)
        return db_damaged(r->b, m);
    if (vb_valve_parse(at, strlen(at), &v))
        return VB_OK; // the loader lets no other names in
    while (r->n_spots <= place) {
        if (!list_room(&r->spot, r->n_spots, size, sizeof *r->spot))
            return VB_EMEM;
        r->spot[r->n_spots++] = (struct spot){.rank = 0};
    }
    r->spot[place] = (struct spot){v, 1};
    return VB_OK;
}

static enum vb_err
read_spots(struct lash_reader *r, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    size_t size = 0;
    int rc = SQLITE_DONE;
    enum vb_err e =
        db_prepare(r->b, "SELECT place, at FROM places WHERE quantity = 'lash'", &s, m);
    while (!e && (rc = sqlite3_step(s)) == SQLITE_ROW)
        e = take_spot(r, s, &size, m);
    if (!e && rc != SQLITE_DONE)
        e = db_fail(r->b, m);
    sqlite3_finalize(s);
    return e ? e : rank_spots(r);
}

enum vb_err
lash_open(struct vb_book *b, struct gauges *gauges, struct lash_reader **out,
          struct vb_msg *m)
{
    struct lash_reader *r = calloc(1, sizeof *r);
    if (!r)
        return VB_EMEM;
    r->b = b;
    r->gauges = gauges;
    enum vb_err e = read_spots(r, m);
    if (!e)
        e = db_prepare(b,
                       "SELECT reading, found, left, u, temp_c, origin FROM reading"
                       " WHERE reading BETWEEN ?1 << 16 AND (?2 << 16) + 65535",
                       &r->rows, m);
    if (e)
        lash_close(r);
    else
        *out = r;
    return e;
}

void
lash_close(struct lash_reader *r)
{
    if (!r)
        return;
    sqlite3_finalize(r->rows);
    free(r->spot);
    free(r->row);
    free(r->first);
    free(r);
}

/* A reading without an uncertainty of its own has that of its gauge. */
static enum vb_err
take_u(struct lash_reader *r, double *u, struct vb_msg *m)
{
    *u = db_number(r->rows, 3);
    if (!r->gauges || !isnan(*u))
        return VB_OK;
    return gauges_u(r->gauges, sqlite3_column_int64(r->rows, 5), VB_DIM_LENGTH, u, m);
}

/* first: number of the visit whose index is `index`; those behind it follow. */
static enum vb_err
take_row(struct lash_reader *r, sqlite3_int64 first, size_t index, struct vb_msg *m)
{
    sqlite3_int64 id = sqlite3_column_int64(r->rows, 0);
    size_t place = (size_t)(id & 65535);
    if (place >= r->n_spots || !r->spot[place].rank)
        return VB_OK;
    if (!list_room(&r->row, r->n, &r->row_size, sizeof *r->row))
        return VB_EMEM;
    struct unsorted *u = &r->row[r->n++];
    u->rank = r->spot[place].rank;
    u->lash = (struct vb_lash){.visit = index + (size_t)((id >> 16) - first),
                               .valve = r->spot[place].valve,
                               .found = db_number(r->rows, 1),
                               .left = db_number(r->rows, 2),
                               .temp_c = db_number(r->rows, 4)};
    return take_u(r, &u->lash.u, m);
}

static enum vb_err
read_run(struct lash_reader *r, const sqlite3_int64 *visit, size_t from, size_t to,
         struct vb_msg *m)
{
    int rc = SQLITE_DONE;
    enum vb_err e = VB_OK;
    sqlite3_bind_int64(r->rows, 1, visit[from]);
    sqlite3_bind_int64(r->rows, 2, visit[to - 1]);
    while (!e && (rc = sqlite3_step(r->rows)) == SQLITE_ROW)
        e = take_row(r, visit[from], from, m);
    if (!e && rc != SQLITE_DONE)
        e = db_fail(r->b, m);
    sqlite3_reset(r->rows);
    return e;
}

/* By valve; those of one valve stay in the order of visits in which they came. */
static void
sort(struct lash_reader *r, struct vb_lash *out)
{
    memset(r->first, 0, (r->n_ranks + 2) * sizeof *r->first);
    for (size_t i = 0; i < r->n; i++)
        r->first[r->row[i].rank + 1]++;
    for (size_t k = 1; k <= r->n_ranks; k++)
        r->first[k + 1] += r->first[k];
    for (size_t i = 0; i < r->n; i++)
        out[r->first[r->row[i].rank]++] = r->row[i].lash;
}

enum vb_err
lash_read(struct lash_reader *r, const sqlite3_int64 *visit, size_t n,
          struct vb_lash **lash, size_t *n_lash, size_t *size, struct vb_msg *m)
{
    enum vb_err e = VB_OK;
    r->n = *n_lash = 0;
    for (size_t from = 0, to; !e && from < n; from = to) {
        for (to = from + 1; to < n && visit[to] == visit[to - 1] + 1; to++)
            ;
        e = read_run(r, visit, from, to, m);
    }
    while (!e && *size < r->n)
        if (!list_room(lash, *size, size, sizeof **lash))
            e = VB_EMEM;
    if (e)
        return e;
    if (r->n)
        sort(r, *lash);
    *n_lash = r->n;
    return VB_OK;
}
