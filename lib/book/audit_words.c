/* What SQLite's integrity_check says, in plain words and with the row where it can be had. */
#include "audit_impl.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

/* The words differ from version to version: the first number behind "page" is taken. */
static int
page_of(const char *line)
{
    int page = 0;
    const char *p = strstr(line, "page ");
    if (!p)
        p = strncmp(line, "Page ", 5) == 0 ? line : NULL;
    return p && sscanf(p + 5, "%d", &page) == 1 ? page : 0;
}

static const char *
what_is(const char *type)
{
    return strcmp(type, "text") == 0   ? "a text"
           : strcmp(type, "blob") == 0 ? "bytes"
           : strcmp(type, "null") == 0 ? "nothing"
                                       : "a number";
}

struct typed {
    const char *table, *column, *want;
    int n_key;
};

/* Columns of the key, then the kind of what stands there. */
static enum vb_err
tell_typed(struct audit *a, void *arg, sqlite3_stmt *row)
{
    const struct typed *t = arg;
    const char *cell[MAX_COLS];
    char key[KEY_TEXT];
    for (int i = 0; i < t->n_key; i++)
        cell[i] = db_word(row, i);
    cells_join(cell, (size_t)t->n_key, key, sizeof key);
    audit_tell(a, t->table, key, t->column, "%s where %s belongs",
               what_is(db_word(row, t->n_key)), t->want);
    return VB_OK;
}

static enum vb_err
add_key(struct audit *a, void *arg, sqlite3_stmt *row)
{
    char *list = arg;
    size_t n = strlen(list);
    (void)a;
    snprintf(list + n, 256 - n, "\"%s\", ", db_word(row, 0));
    return VB_OK;
}

static int
commas(const char *s)
{
    int n = 0;
    for (; *s; s++)
        n += *s == ',';
    return n;
}

/* All rows of a column that hold something else than they may. */
static enum vb_err
tell_all_typed(struct audit *a, const char *table, const char *column, const char *type,
               int null)
{
    char sql[640], keys[256] = "", test[160];
    struct typed t = {table, column, what_is(type), 0};
    snprintf(sql, sizeof sql,
             "SELECT name FROM pragma_table_info('%s') WHERE pk ORDER BY pk", table);
    enum vb_err e = audit_each(a, sql, add_key, keys);
    t.n_key = commas(keys);
    /* SQLite takes IS NULL for false where a column says that it never is */
    if (null)
        snprintf(test, sizeof test, "typeof(\"%s\") = 'null'", column);
    else
        snprintf(test, sizeof test, "typeof(\"%s\") NOT IN ('%s', 'null')", column, type);
    snprintf(sql, sizeof sql, "SELECT %stypeof(\"%s\") FROM \"%s\" NOT INDEXED WHERE %s",
             keys, column, table, test);
    if (null)
        t.want = "something";
    return e ? e : audit_each(a, sql, tell_typed, &t);
}

/* "non-REAL value in reading.found", "NULL value in visits.engine": once a column. */
static int
typed_line(struct audit *a, const char *line)
{
    char type[16] = "", table[32], column[32];
    int null = sscanf(line, "NULL value in %31[^.].%31s", table, column) == 2;
    if (!null &&
        sscanf(line, "non-%15[A-Z] value in %31[^.].%31s", type, table, column) != 3)
        return 0;
    for (size_t i = 0; i < a->n_kinds; i++)
        if (strcmp(a->kind[i].table, table) == 0 &&
            strcmp(a->kind[i].column, column) == 0)
            return 1;
    for (char *p = type; *p; p++)
        *p = (char)tolower((unsigned char)*p);
    unsigned long long before = a->c->found;
    if (tell_all_typed(a, table, column, type, null) || a->c->found == before)
        audit_tell(a, table, "", column, "%s", line);
    return 1;
}

static int
index_line(struct audit *a, const char *table, const char *line)
{
    long long row;
    char name[64];
    if (sscanf(line, "row %lld missing from index %63s", &row, name) == 2)
        audit_tell(a, table, "", "", "row %lld is missing from the index %s", row, name);
    else if (sscanf(line, "wrong # of entries in index %63s", name) == 1)
        audit_tell(a, table, "", "", "the index %s has not as many rows as the table",
                   name);
    else if (sscanf(line, "non-unique entry in index %63s", name) == 1)
        audit_tell(a, table, "", "", "two rows have the same key in the index %s", name);
    else
        return 0;
    return 1;
}

void
audit_words(struct audit *a, const char *table, const char *line, int *last)
{
    int page = page_of(line);
    const char *why = strstr(line, ": ");
    /* SQLite 3.54 counts a damaged table too; older ones do not */
    if (*last && strncmp(line, "wrong # of entries", 18) == 0)
        return;
    if (typed_line(a, line) || index_line(a, table, line))
        return;
    if (page && page == *last) // one of many slips on it
        return;
    *last = page;
    if (page && strstr(line, "never used"))
        audit_tell(a, table, "", "",
                   "page %d of the file is used by nothing: rows may be lost", page);
    else if (page && strstr(line, "nd reference"))
        audit_tell(a, table, "", "", "page %d of the file is used twice", page);
    else if (page && (strstr(line, "unable to get") || strstr(line, "failed to get")))
        audit_tell(a, table, "", "", "page %d of the file cannot be read from the disk",
                   page);
    else if (page)
        audit_tell(a, table, "", "", "page %d of the file is damaged (%s)", page,
                   why ? why + 2 : line);
    else if (strcmp(line, sqlite3_errstr(SQLITE_CORRUPT)) == 0)
        audit_tell(a, table, "", "", "cannot be read to its end: %s", line);
    else
        audit_tell(a, table, "", "", "damaged (%s)", line);
}
