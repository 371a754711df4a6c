/*
 * The batch in memory as two tables of SQLite. "INSERT INTO reading SELECT * FROM
 * incoming" runs one statement for two thousand rows and keeps its cursor at the end of
 * the table, where a statement a row would be bound, stepped, reset and have to find its
 * place anew.
 */
#include "book_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct table {
    sqlite3_vtab base;
    const struct batch *const *batch; // the one that is being written
    int visits;                       // which of the two
};

struct cursor {
    sqlite3_vtab_cursor base;
    size_t at;
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
    t->batch = aux;
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
           (t->visits ? (*t->batch)->n_visits : (*t->batch)->n);
}

static void
reading_column(const struct incoming *r, sqlite3_context *x, int col)
{
    switch (col) {
    case 0: sqlite3_result_int64(x, r->visit << 16 | r->place); break;
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
        visit_column(&(*t->batch)->visit[at], x, col);
    else
        reading_column(&(*t->batch)->row[at], x, col);
    return SQLITE_OK;
}

static int
on_rowid(sqlite3_vtab_cursor *c, sqlite3_int64 *id)
{
    *id = (sqlite3_int64)((struct cursor *)c)->at;
    return SQLITE_OK;
}

int
incoming_register(sqlite3 *db, const struct batch **b)
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
    int rc = sqlite3_create_module(db, "incoming", &module, b);
    return rc ? rc : sqlite3_create_module(db, "incoming_visits", &module, b);
}
