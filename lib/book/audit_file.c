/*
 * The file as SQLite sees it: pages, order of rows, indices, kinds of cells. Where all is well
 * one statement says so; where not, each table is asked for what is wrong with it, since
 * SQLite names pages and no tables.
 */
#include "audit_impl.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct lines {
    char **line;
    size_t n, size;
};

static void
lines_free(struct lines *l)
{
    for (size_t i = 0; i < l->n; i++)
        free(l->line[i]);
    free(l->line);
}

static int
lines_have(const struct lines *l, const char *text)
{
    for (size_t i = 0; i < l->n; i++)
        if (strcmp(l->line[i], text) == 0)
            return 1;
    return 0;
}

static enum vb_err
lines_add(struct lines *l, const char *s, size_t n)
{
    if (!list_room(&l->line, l->n, &l->size, sizeof *l->line))
        return VB_EMEM;
    return (l->line[l->n] = strndup(s, n)) ? l->n++, VB_OK : VB_EMEM;
}

/* The pragma tells of a page that there was no room for as of one that is damaged. */
static int
no_memory(const char *s)
{
    int code;
    while ((s = strstr(s, "error code=")) && sscanf(s, "error code=%d", &code) == 1) {
        if ((code & 0xff) == SQLITE_NOMEM)
            return 1;
        s++;
    }
    return 0;
}

/* A row of the pragma may hold many lines. */
static enum vb_err
take_lines(struct audit *a, void *arg, sqlite3_stmt *row)
{
    enum vb_err e = VB_OK;
    const char *s = (const char *)sqlite3_column_text(row, 0);
    (void)a;
    if (!s || no_memory(s))
        return VB_EMEM;
    while (!e && *s) {
        size_t n = strcspn(s, "\n");
        if (n && strncmp(s, "***", 3) != 0 && strncmp(s, "ok", n) != 0)
            e = lines_add(arg, s, n);
        s += n + (s[n] != 0);
    }
    return e;
}

/* Damage may end the pragma itself. */
static enum vb_err
ask(struct audit *a, const char *sql, struct lines *out)
{
    a->b->code = SQLITE_OK;
    enum vb_err e = audit_each(a, sql, take_lines, out);
    if (e != VB_EDB || (a->b->code & 0xff) != SQLITE_CORRUPT)
        return e;
    const char *why = sqlite3_errstr(SQLITE_CORRUPT);
    return out->n ? VB_OK : lines_add(out, why, strlen(why));
}

static enum vb_err
see_name(struct audit *a, void *arg, sqlite3_stmt *row)
{
    (void)a, (void)row;
    *(int *)arg = 1;
    return VB_OK;
}

static enum vb_err
ask_table(struct audit *a, size_t i, struct lines *seen)
{
    char sql[128];
    int there = 0, page = 0;
    size_t from = seen->n;
    snprintf(sql, sizeof sql,
             "SELECT 1 FROM sqlite_schema WHERE type = 'table' AND name = '%s'",
             audit_tables[i]);
    enum vb_err e = audit_each(a, sql, see_name, &there);
    snprintf(sql, sizeof sql, "PRAGMA integrity_check(%s)", audit_tables[i]);
    if (!e && there)
        e = ask(a, sql, seen);
    for (size_t k = from; !e && k < seen->n; k++)
        audit_words(a, audit_tables[i], seen->line[k], &page);
    if (seen->n > from)
        a->damaged |= BIT(i);
    return e;
}

/* Of no table: a page that nobody uses, or that two tables use. */
static void
tell_rest(struct audit *a, const struct lines *all, const struct lines *seen)
{
    int page = 0;
    for (size_t k = 0; k < all->n; k++) {
        const char *line = all->line[k];
        if (lines_have(seen, line))
            continue;
        audit_words(a, "", line, &page);
        if (!strstr(line, "never used") && !strstr(line, "reelist"))
            a->damaged = ALL_TABLES;
    }
}

enum vb_err
audit_file(struct audit *a, enum audit_table table)
{
    struct lines all = {NULL, 0, 0}, seen = {NULL, 0, 0};
    (void)table;
    enum vb_err e = ask(a, "PRAGMA integrity_check", &all);
    for (size_t i = 0; !e && all.n && i < A_TABLES; i++)
        e = ask_table(a, i, &seen);
    if (!e)
        tell_rest(a, &all, &seen);
    lines_free(&all);
    lines_free(&seen);
    return e;
}
