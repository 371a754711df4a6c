/*
 * A reading whose place in the book may be taken: the same reading again, the other half
 * of one (found here, left there), an old value that has been corrected since, or a
 * contradiction.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "reading_impl.h"

const char *const reading_columns[N_VALUES] = {"found", "left", "u", "temp_c"};

static void
bind_values(sqlite3_stmt *s, int from, const double *v)
{
    for (int i = 0; i < N_VALUES; i++)
        if (isnan(v[i]))
            sqlite3_bind_null(s, from + i);
        else
            sqlite3_bind_double(s, from + i, v[i]);
}

static sqlite3_int64
row_id(const struct reader *r)
{
    return r->now.in.visit << 16 | r->now.in.place;
}

/* find_row: found, left, u, temp_c, origin, line, source, gauge, by, note */
enum { F_ORIGIN = N_VALUES, F_LINE, F_SOURCE };

static enum vb_err
find_row(struct reader *r, int *has)
{
    sqlite3_bind_int64(r->find_row, 1, row_id(r));
    int rc = sqlite3_step(r->find_row);
    *has = rc == SQLITE_ROW;
    return rc == SQLITE_ROW || rc == SQLITE_DONE ? VB_OK : db_fail(r->b, r->m);
}

/* None of these columns is NULL: SQLite had no room for one that is. */
static struct vb_text
found_text(struct reader *r, int i, enum vb_err *e)
{
    const char *s = (const char *)sqlite3_column_text(r->find_row, i);
    *e = s ? *e : VB_EMEM;
    return (struct vb_text){s, s ? strlen(s) : 0};
}

static sqlite3_int64
found_line(struct reader *r)
{
    return sqlite3_column_type(r->find_row, F_LINE) == SQLITE_NULL
               ? -1
               : sqlite3_column_int64(r->find_row, F_LINE);
}

static void
bind_line(sqlite3_stmt *s, int i, sqlite3_int64 line)
{
    if (line < 0)
        sqlite3_bind_null(s, i);
    else
        sqlite3_bind_int64(s, i, line);
}

/* Neither is blank. */
static int
text_less(struct vb_text a, struct vb_text b)
{
    int c = memcmp(a.s, b.s, a.n < b.n ? a.n : b.n);
    return c < 0 || (c == 0 && a.n < b.n);
}

sqlite3_int64
line_of_two(sqlite3_int64 a, sqlite3_int64 b)
{
    return a >= 0 && (b < 0 || a < b) ? a : b;
}

/*
 * Where the same reading came from twice, one of the two is kept, and it must not depend
 * on which came first: the smaller source and line, and the smaller of what is not blank.
 */
static enum vb_err
choose_origin(struct reader *r, const struct vb_text *mine, sqlite3_int64 *origin,
              sqlite3_int64 *line)
{
    struct vb_text part[4];
    enum vb_err e = VB_OK;
    sqlite3_int64 has_line = found_line(r);
    part[0] = found_text(r, F_SOURCE, &e);
    int same_source = vb_text_eq(mine[0], part[0]);
    if (same_source)
        *line = line_of_two(*line, has_line);
    else if (mine[0].n && (!part[0].n || text_less(mine[0], part[0])))
        part[0] = mine[0];
    else
        *line = has_line;
    for (int i = 1; i < 4; i++) {
        part[i] = found_text(r, F_SOURCE + i, &e);
        if (mine[i].n && (!part[i].n || text_less(mine[i], part[i])))
            part[i] = mine[i];
    }
    return e ? e : origin_id(r, part, origin);
}

void
reading_key(const struct reader *r, const char *column, char *out, size_t size)
{
    char date[VB_DATE_MAX] = "";
    struct vb_text d = feed_cell(r->f, R_DATE);
    vb_date_parse(d.s, d.n, "", date);
    const char *key[N_KEY] = {r->engine->name, date, r->now.quantity->name, r->now.at,
                              column};
    cells_join(key, N_KEY, out, size);
}

/* A cell says *v and the book has: *v becomes what shall stand; *ok = 0 if refused. */
static enum vb_err
decide(struct reader *r, int i, double has, double *v, int *ok)
{
    char mine[VB_NUM_MAX], book[VB_NUM_MAX], key[KEY_MAX];
    const char *cell = mine, *now = book;
    int seen = 0;
    vb_double_format(*v, mine);
    vb_double_format(has, book);
    reading_key(r, reading_columns[i], key, sizeof key);
    const struct past p = {"readings", key, book, mine, 0};
    if (r->ld->l->correct)
        return history_correct(r->b, &p, r->m);
    enum vb_err e = history_has(r->b, "readings", key, &cell, &now, 1, &seen, r->m);
    if (!e && seen)
        *v = has;
    if (e || seen)
        return e;
    load_refuse(r->ld, r->f, reading_columns[i], "%s %s of %s: %s here, %s in the book",
                r->now.quantity->name, r->now.at, r->engine->name, mine, book);
    *ok = 0;
    return VB_OK;
}

static enum vb_err
update_row(struct reader *r, const double *v, sqlite3_int64 origin, sqlite3_int64 line)
{
    r->engine->changed = 1;
    bind_values(r->update_row, 1, v);
    sqlite3_bind_int64(r->update_row, 5, origin);
    bind_line(r->update_row, 6, line);
    sqlite3_bind_int64(r->update_row, 7, row_id(r));
    return db_run(r->b, r->update_row, r->m);
}

/* The row is there: find_row stands on it. */
static enum vb_err
meet_found(struct reader *r)
{
    const struct incoming *in = &r->now.in;
    double v[N_VALUES];
    int differs = 0, ok = 1;
    enum vb_err e = VB_OK;
    for (int i = 0; !e && ok && i < N_VALUES; i++) {
        int blank = sqlite3_column_type(r->find_row, i) == SQLITE_NULL;
        double has = blank ? NAN : sqlite3_column_double(r->find_row, i);
        v[i] = isnan(in->v[i]) ? has : in->v[i];
        if (!blank && v[i] != has)
            e = decide(r, i, has, &v[i], &ok);
        differs |= blank ? !isnan(v[i]) : v[i] != has;
    }
    if (e || !ok)
        return e;
    sqlite3_int64 origin = sqlite3_column_int64(r->find_row, F_ORIGIN), line = in->line;
    if (in->origin != origin || line != found_line(r)) {
        struct vb_text mine[] = {feed_cell(r->f, R_SOURCE), feed_cell(r->f, R_GAUGE),
                                 feed_cell(r->f, R_BY), feed_cell(r->f, R_NOTE)};
        e = choose_origin(r, mine, &origin, &line);
    }
    if (e || (!differs && origin == sqlite3_column_int64(r->find_row, F_ORIGIN) &&
              line == found_line(r)))
        return e;
    return update_row(r, v, origin, line);
}

enum vb_err
row_meet(struct reader *r)
{
    int has;
    const struct incoming *in = &r->now.in;
    enum vb_err e = reader_sync(r);
    if (!e)
        e = find_row(r, &has);
    if (!e && has)
        e = meet_found(r);
    sqlite3_reset(r->find_row);
    if (e || has)
        return e;
    r->engine->changed = 1;
    sqlite3_bind_int64(r->add_row, 1, row_id(r));
    bind_values(r->add_row, 2, in->v);
    sqlite3_bind_int64(r->add_row, 6, in->origin);
    bind_line(r->add_row, 7, in->line);
    return db_run(r->b, r->add_row, r->m);
}

/* The statement for the cell that a key names, or NULL. */
static const char *
cell_sql(const char *column, const char *const *sql)
{
    for (int i = 0; i < N_VALUES; i++)
        if (strcmp(column, reading_columns[i]) == 0)
            return sql[i];
    return strcmp(column, "meter") == 0 ? sql[N_VALUES] : NULL;
}

#define THE_VISIT " WHERE engine = ?1 AND date = ?2"
#define THE_READING                                                                      \
    " WHERE reading = (SELECT visit FROM visits" THE_VISIT ") << 16 |"                   \
    " (SELECT place FROM places WHERE quantity = ?3 AND at = ?4)"

static enum vb_err
prepare_cell(struct vb_book *b, const char *const *sql, char key[][MAX_CELL],
             sqlite3_stmt **s, struct vb_msg *m)
{
    const char *text = cell_sql(key[4], sql);
    enum vb_err e = text ? db_prepare(b, text, s, m) : VB_OK;
    for (int k = 0; !e && text && k < (strcmp(key[4], "meter") == 0 ? 2 : 4); k++)
        db_text(*s, k + 1, key[k]);
    return e;
}

enum vb_err
reading_get(struct vb_book *b, char key[][MAX_CELL], char *text, struct vb_msg *m)
{
    static const char *const sql[] = {
        "SELECT found FROM reading" THE_READING, "SELECT left FROM reading" THE_READING,
        "SELECT u FROM reading" THE_READING, "SELECT temp_c FROM reading" THE_READING,
        "SELECT meter FROM visits" THE_VISIT};
    sqlite3_stmt *s = NULL;
    text[0] = 0;
    enum vb_err e = prepare_cell(b, sql, key, &s, m);
    if (e || !s)
        return e;
    int rc = sqlite3_step(s);
    if (rc == SQLITE_ROW && sqlite3_column_type(s, 0) != SQLITE_NULL)
        vb_double_format(sqlite3_column_double(s, 0), text);
    if (rc != SQLITE_ROW && rc != SQLITE_DONE)
        e = db_fail(b, m);
    sqlite3_finalize(s);
    return e;
}

enum vb_err
reading_set(struct vb_book *b, char key[][MAX_CELL], const char *text, struct vb_msg *m)
{
    static const char *const sql[] = {"UPDATE reading SET found = ?5" THE_READING,
                                      "UPDATE reading SET left = ?5" THE_READING,
                                      "UPDATE reading SET u = ?5" THE_READING,
                                      "UPDATE reading SET temp_c = ?5" THE_READING,
                                      "UPDATE visits SET meter = ?5" THE_VISIT};
    sqlite3_stmt *s = NULL;
    double x;
    if (vb_double_parse(text, strlen(text), &x))
        return VB_OK;
    enum vb_err e = prepare_cell(b, sql, key, &s, m);
    if (e || !s)
        return e;
    sqlite3_bind_double(s, 5, x);
    e = db_run(b, s, m);
    sqlite3_finalize(s);
    return e ? e : stale(b, STALE_ENGINE, key[0], m);
}

enum vb_err
reading_unset(struct vb_book *b, char key[][MAX_CELL], struct vb_msg *m)
{
    static const char *const sql[] = {"UPDATE reading SET found = NULL" THE_READING,
                                      "UPDATE reading SET left = NULL" THE_READING,
                                      "UPDATE reading SET u = NULL" THE_READING,
                                      "UPDATE reading SET temp_c = NULL" THE_READING,
                                      NULL};
    sqlite3_stmt *s = NULL;
    enum vb_err e = prepare_cell(b, sql, key, &s, m);
    if (e || !s)
        return e;
    e = db_run(b, s, m);
    sqlite3_finalize(s);
    return e ? e : stale(b, STALE_ENGINE, key[0], m);
}
