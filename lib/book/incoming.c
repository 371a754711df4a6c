/*
 * The batch in memory as two tables of SQLite. "INSERT INTO reading SELECT * FROM
 * incoming" runs one statement for thousands of rows and keeps its cursor at the end of
 * the table, where a statement a row would be bound, stepped, reset and have to find its
 * place anew.
 */
#include "reading_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct table {
    sqlite3_vtab base;
    sqlite3 *db;
    const struct incoming_now *now;
    int visits; // which of the two
};

struct cursor {
    sqlite3_vtab_cursor base;
    size_t at;
    sqlite3_int64 top; // greatest number in the table before this row
};

static const struct table *
table_of(sqlite3_vtab_cursor *c)
{
    return (const struct table *)c->pVtab;
}

static int
on_connect(sqlite3 *db, void *aux, int argc, const char *const *argv, sqlite3_vtab **out,
           char **err)
{
    (void)argc, (void)err;
    struct table *t = calloc(1, sizeof *t);
    if (!t)
        return SQLITE_NOMEM;
    t->db = db;
    t->now = aux;
    t->visits = strcmp(argv[0], "incoming_visits") == 0;
    *out = &t->base;
    return sqlite3_declare_vtab(
        db, t->visits ? "CREATE TABLE x(visit, engine, date, meter, meter_unit)"
                      : "CREATE TABLE x(reading, found, left, u, temp_c, origin, line)");
}

static int
on_disconnect(sqlite3_vtab *t)
{
    free(t);
    return SQLITE_OK;
}

static int
on_best_index(sqlite3_vtab *t, sqlite3_index_info *info)
{
    (void)t;
    info->estimatedCost = BATCH;
    return SQLITE_OK;
}

static int
on_open(sqlite3_vtab *t, sqlite3_vtab_cursor **out)
{
    (void)t;
    struct cursor *c = calloc(1, sizeof *c);
    if (!c)
        return SQLITE_NOMEM;
    *out = &c->base;
    return SQLITE_OK;
}

static int
on_close(sqlite3_vtab_cursor *c)
{
    free(c);
    return SQLITE_OK;
}

static int
on_filter(sqlite3_vtab_cursor *c, int n, const char *s, int argc, sqlite3_value **argv)
{
    (void)n, (void)s, (void)argc, (void)argv;
    ((struct cursor *)c)->at = 0;
    ((struct cursor *)c)->top = table_of(c)->now->top;
    return SQLITE_OK;
}

static int
on_next(sqlite3_vtab_cursor *c)
{
    ((struct cursor *)c)->at++;
    return SQLITE_OK;
}

static int
on_eof(sqlite3_vtab_cursor *c)
{
    const struct table *t = table_of(c);
    return ((struct cursor *)c)->at >=
           (t->visits ? t->now->batch->n_visits : t->now->batch->n);
}

static sqlite3_int64
rowid_of(const struct incoming *r)
{
    return r->visit << 16 | r->place;
}

/*
 * A row whose number is the next one behind all that are in the table is numbered by SQLite,
 * which then need not look whether the number is free. Where SQLite reads all rows before it
 * writes the first, as it does for triggers, every row has its number from here.
 */
static void
number_column(const struct table *t, struct cursor *c, sqlite3_context *x)
{
    const struct incoming *r = &t->now->batch->row[c->at];
    sqlite3_int64 id = rowid_of(r);
    int follows =
        c->at && id == c->top + 1 && sqlite3_last_insert_rowid(t->db) == rowid_of(r - 1);
    if (!follows)
        sqlite3_result_int64(x, id);
    c->top = id > c->top ? id : c->top;
}

int
incoming_in(sqlite3 *db, const struct batch *b)
{
    return sqlite3_last_insert_rowid(db) == rowid_of(&b->row[b->n - 1]);
}

static void
reading_column(const struct incoming *r, sqlite3_context *x, int col)
{
    switch (col) {
    case 5: sqlite3_result_int64(x, r->origin); break;
    case 6:
        if (r->line >= 0)
            sqlite3_result_int64(x, r->line);
        break;
    default:
        if (!isnan(r->v[col - 1]))
            sqlite3_result_double(x, r->v[col - 1]);
    }
}

static void
visit_column(const struct incoming_visit *v, sqlite3_context *x, int col)
{
    switch (col) {
    case 0: sqlite3_result_int64(x, v->visit); break;
    case 1: sqlite3_result_text(x, v->engine, (int)v->engine_n, SQLITE_STATIC); break;
    case 2: sqlite3_result_text(x, v->date, -1, SQLITE_STATIC); break;
    case 3:
        if (!isnan(v->meter))
            sqlite3_result_double(x, v->meter);
        break;
    default: sqlite3_result_text(x, v->meter_unit, -1, SQLITE_STATIC);
    }
}

static int
on_column(sqlite3_vtab_cursor *c, sqlite3_context *x, int col)
{
    const struct table *t = table_of(c);
    size_t at = ((struct cursor *)c)->at;
    if (t->visits)
        visit_column(&t->now->batch->visit[at], x, col);
    else if (col == 0)
        number_column(t, (struct cursor *)c, x);
    else
        reading_column(&t->now->batch->row[at], x, col);
    return SQLITE_OK;
}

static int
on_rowid(sqlite3_vtab_cursor *c, sqlite3_int64 *id)
{
    *id = (sqlite3_int64)((struct cursor *)c)->at;
    return SQLITE_OK;
}

int
incoming_register(sqlite3 *db, const struct incoming_now *now)
{
    static const sqlite3_module module = {.xConnect = on_connect,
                                          .xBestIndex = on_best_index,
                                          .xDisconnect = on_disconnect,
                                          .xOpen = on_open,
                                          .xClose = on_close,
                                          .xFilter = on_filter,
                                          .xNext = on_next,
                                          .xEof = on_eof,
                                          .xColumn = on_column,
                                          .xRowid = on_rowid};
    int rc = sqlite3_create_module(db, "incoming", &module, (void *)now);
    return rc ? rc : sqlite3_create_module(db, "incoming_visits", &module, (void *)now);
}
