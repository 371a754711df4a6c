/* Rows of the small tables as SQLite has them: read, written, taken away, cell by cell. */
#include "load_impl.h"

#include <stdio.h>
#include <string.h>

#define SQL_MAX 1024

/* "a" = ? AND "b" = ?   or   "a" = ?, "b" = ?   over the columns of one kind. */
static void
add_columns(char *sql, const struct table_def *def, int key, const char *between,
            const char *tail)
{
    int first = 1;
    for (size_t i = 0; i < def->n_cols; i++) {
        if (def->col[i].key != key)
            continue;
        size_t k = strlen(sql);
        snprintf(sql + k, SQL_MAX - k, "%s\"%s\"%s", first ? "" : between,
                 def->col[i].name, tail);
        first = 0;
    }
}

static void
bind_cell(sqlite3_stmt *s, int i, const struct column *c, const char *cell)
{
    double x;
    int number = c->kind == CELL_NUMBER || c->kind == CELL_BLADES;
    if (number && *cell && !vb_double_parse(cell, strlen(cell), &x))
        sqlite3_bind_double(s, i, x);
    else if (c->kind == CELL_NUMBER)
        sqlite3_bind_null(s, i);
    else
        db_text(s, i, cell);
}

static int
bind_kind(sqlite3_stmt *s, int i, const struct table_def *def, char cell[][MAX_CELL],
          int key)
{
    for (size_t k = 0; k < def->n_cols; k++)
        if (def->col[k].key == key)
            bind_cell(s, i++, &def->col[k], cell[k]);
    return i;
}

int
small_read(sqlite3_stmt *s, int i, const struct column *c, char *out)
{
    int pair = c->kind == CELL_BLADES && sqlite3_column_type(s, i) == SQLITE_TEXT;
    if (c->kind == CELL_NUMBER || (c->kind == CELL_BLADES && !pair)) {
        out[0] = 0;
        if (sqlite3_column_type(s, i) != SQLITE_NULL)
            vb_double_format(sqlite3_column_double(s, i), out);
        return 1;
    }
    const char *t = (const char *)sqlite3_column_text(s, i);
    snprintf(out, MAX_CELL, "%s", t ? t : "");
    return t != NULL;
}

size_t
small_join(const struct table_def *def, char cell[][MAX_CELL], int key, char *out,
           size_t size)
{
    const char *p[MAX_COLS];
    size_t n = 0;
    for (size_t i = 0; i < def->n_cols; i++)
        if (def->col[i].key == key)
            p[n++] = cell[i];
    return cells_join(p, n, out, size);
}

enum vb_err
small_get(struct vb_book *b, const struct table_def *def, char cell[][MAX_CELL], int *has,
          struct vb_msg *m)
{
    char sql[SQL_MAX] = "SELECT 1";
    sqlite3_stmt *s = NULL;
    for (size_t i = 0; i < def->n_cols; i++)
        if (!def->col[i].key) {
            snprintf(sql + strlen(sql), SQL_MAX - strlen(sql), ", \"%s\"",
                     def->col[i].name);
        }
    snprintf(sql + strlen(sql), SQL_MAX - strlen(sql), " FROM %s WHERE ", def->name);
    add_columns(sql, def, 1, " AND ", " = ?");
    enum vb_err e = db_prepare(b, sql, &s, m);
    if (e)
        return e;
    bind_kind(s, 1, def, cell, 1);
    int rc = sqlite3_step(s), k = 1;
    *has = rc == SQLITE_ROW;
    for (size_t i = 0; *has && i < def->n_cols; i++)
        if (!def->col[i].key && !small_read(s, k++, &def->col[i], cell[i]))
            e = VB_EMEM;
    if (rc != SQLITE_ROW && rc != SQLITE_DONE)
        e = db_fail(b, m);
    sqlite3_finalize(s);
    return e;
}

enum vb_err
small_set(struct vb_book *b, const struct table_def *def, char cell[][MAX_CELL],
          struct vb_msg *m)
{
    char sql[SQL_MAX];
    sqlite3_stmt *s = NULL;
    snprintf(sql, sizeof sql, "UPDATE %s SET ", def->name);
    add_columns(sql, def, 0, ", ", " = ?");
    snprintf(sql + strlen(sql), SQL_MAX - strlen(sql), " WHERE ");
    add_columns(sql, def, 1, " AND ", " = ?");
    enum vb_err e = db_prepare(b, sql, &s, m);
    if (e)
        return e;
    bind_kind(s, bind_kind(s, 1, def, cell, 0), def, cell, 1);
    e = db_run(b, s, m);
    sqlite3_finalize(s);
    return e ? e : stale_row(b, def, cell, m);
}

enum vb_err
small_remove(struct vb_book *b, const struct table_def *def, char cell[][MAX_CELL],
             struct vb_msg *m)
{
    char sql[SQL_MAX];
    sqlite3_stmt *s = NULL;
    /* before the row: a family's engines are found through it */
    enum vb_err e = stale_row(b, def, cell, m);
    snprintf(sql, sizeof sql, "DELETE FROM %s WHERE ", def->name);
    add_columns(sql, def, 1, " AND ", " = ?");
    if (!e)
        e = db_prepare(b, sql, &s, m);
    if (e)
        return e;
    bind_kind(s, 1, def, cell, 1);
    e = db_run(b, s, m);
    sqlite3_finalize(s);
    return e;
}

enum vb_err
small_insert(struct vb_book *b, const struct table_def *def, char cell[][MAX_CELL],
             struct vb_msg *m)
{
    char sql[SQL_MAX];
    sqlite3_stmt *s = NULL;
    snprintf(sql, sizeof sql, "INSERT INTO %s VALUES(?", def->name);
    for (size_t i = 1; i < def->n_cols; i++)
        snprintf(sql + strlen(sql), SQL_MAX - strlen(sql), ",?");
    snprintf(sql + strlen(sql), SQL_MAX - strlen(sql), ")");
    enum vb_err e = db_prepare(b, sql, &s, m);
    if (e)
        return e;
    for (size_t i = 0; i < def->n_cols; i++)
        bind_cell(s, (int)i + 1, &def->col[i], cell[i]);
    e = db_run(b, s, m);
    sqlite3_finalize(s);
    return e ? e : stale_row(b, def, cell, m);
}

enum vb_err
small_by_key(struct vb_book *b, const struct table_def *def, const char *key,
             char cell[][MAX_CELL], int *has, struct vb_msg *m)
{
    char(*part)[MAX_CELL] = cell + MAX_COLS;
    size_t k = 0;
    enum vb_err e = cells_split(key, part, def->n_cols - small_others(def));
    if (e)
        return e;
    for (size_t i = 0; i < def->n_cols; i++)
        if (def->col[i].key)
            memcpy(cell[i], part[k++], MAX_CELL);
        else
            cell[i][0] = 0;
    return small_get(b, def, cell, has, m);
}
