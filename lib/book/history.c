/*
 * Every value that was replaced stays, as the joined cells of its row: so a book can tell
 * an old sheet that is loaded again from a new contradiction, and two books that are
 * merged agree on what was corrected.
 */
#include "book_impl.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/date.h"

size_t
cells_join(const char *const *cell, size_t n, char *out, size_t size)
{
    size_t k = 0;
    for (size_t i = 0; i < n; i++) {
        if (i && k + 1 < size)
            out[k++] = ',';
        int quote = strpbrk(cell[i], ",\"\n\r") != NULL;
        if (quote && k + 1 < size)
            out[k++] = '"';
        for (const char *p = cell[i]; *p && k + 2 < size; p++) {
            if (*p == '"')
                out[k++] = '"';
            out[k++] = *p;
        }
        if (quote && k + 1 < size)
            out[k++] = '"';
    }
    out[k] = 0;
    return k;
}

/* 0 if it is not one record of n cells. An empty text is one blank cell. */
int
cells_split(const char *joined, char cell[][MAX_CELL], size_t n)
{
    struct vb_input *in;
    struct vb_csv *c;
    struct vb_row row = {0};
    size_t len = strlen(joined);
    if (n == 1 && !len) {
        cell[0][0] = 0;
        return 1;
    }
    if (vb_input_memory(joined, len, len, "", &in, NULL) || vb_csv_new(in, ',', &c))
        return 0;
    int ok = !vb_csv_next(c, &row, NULL) && row.n == n;
    for (size_t i = 0; ok && i < n; i++) {
        if ((ok = row.cell[i].n < MAX_CELL)) {
            if (row.cell[i].n)
                memcpy(cell[i], row.cell[i].s, row.cell[i].n);
            cell[i][row.cell[i].n] = 0;
        }
    }
    vb_csv_free(c);
    return ok;
}

/* Does every cell that says something say what once stood there, or stands there now? */
static int
was_once(const char *old, const char *const *cell, const char *const *now, size_t n)
{
    char(*before)[MAX_CELL] = malloc(n * sizeof *before);
    int same = before && cells_split(old, before, n);
    for (size_t i = 0; same && i < n; i++)
        same =
            !*cell[i] || strcmp(cell[i], before[i]) == 0 || strcmp(cell[i], now[i]) == 0;
    free(before);
    return same;
}

enum vb_err
history_has(struct vb_book *b, const char *table, const char *key,
            const char *const *cell, const char *const *now, size_t n, int *has,
            struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e =
        db_prepare(b, "SELECT old FROM history WHERE \"table\" = ? AND key = ?", &s, m);
    if (e)
        return e;
    db_text(s, 1, table);
    db_text(s, 2, key);
    *has = 0;
    int rc = SQLITE_DONE;
    while (!*has && (rc = sqlite3_step(s)) == SQLITE_ROW)
        *has = was_once((const char *)sqlite3_column_text(s, 0), cell, now, n);
    if (rc != SQLITE_DONE && rc != SQLITE_ROW)
        e = db_fail(b, m);
    sqlite3_finalize(s);
    return e;
}

enum vb_err
history_add(struct vb_book *b, const char *table, const char *key, const char *old,
            const char *now, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e =
        db_prepare(b,
                   "INSERT INTO history SELECT ?1, ?2, coalesce(max(seq), 0) + 1,"
                   " ?3, ?4 FROM history WHERE \"table\" = ?1 AND key = ?2",
                   &s, m);
    if (e)
        return e;
    db_text(s, 1, table);
    db_text(s, 2, key);
    db_text(s, 3, old);
    db_text(s, 4, now);
    e = db_run(b, s, m);
    sqlite3_finalize(s);
    return e;
}

static enum vb_err
apply_meter(struct vb_book *b, char key[][MAX_CELL], const char *now, struct vb_msg *m)
{
    char wrong[VB_DATE_MAX] = "";
    enum vb_err e = db_exec(b, "SAVEPOINT apply", m);
    if (!e)
        e = reading_set(b, key, now, m);
    if (!e)
        e = facts_backwards(b, key[0], wrong, m);
    if (!e && wrong[0])
        e = db_exec(b, "ROLLBACK TO apply", m);
    if (!e)
        e = db_exec(b, "RELEASE apply", m);
    if (e || !wrong[0])
        return e;
    vb_msg_set(m, "with this correction the meter runs backwards at %s", wrong);
    return VB_ECONFLICT;
}

static enum vb_err
apply_reading(struct vb_book *b, const char *key, const char *old, const char *now,
              struct vb_msg *m)
{
    char k[N_KEY][MAX_CELL], stands[VB_NUM_MAX];
    if (!cells_split(key, k, N_KEY))
        return VB_OK;
    enum vb_err e = reading_get(b, k, stands, m);
    if (e || strcmp(stands, old) != 0)
        return e;
    return strcmp(k[4], "meter") == 0 ? apply_meter(b, k, now, m)
                                      : reading_set(b, k, now, m);
}

static enum vb_err
apply_small(struct vb_book *b, const struct table_def *def, const char *key,
            const char *old, const char *now, struct vb_msg *m)
{
    enum vb_err e = VB_EMEM;
    size_t n_key = 0, k = 0;
    int has = 0;
    char stands[2 * MAX_CELL + MAX_COLS];
    char(*part)[MAX_CELL] = malloc(2 * MAX_COLS * sizeof *part);
    if (!part)
        return e;
    char(*cell)[MAX_CELL] = part + MAX_COLS;
    for (size_t i = 0; i < def->n_cols; i++)
        n_key += (size_t)def->col[i].key;
    e = VB_OK;
    if (!cells_split(key, part, n_key))
        goto out;
    for (size_t i = 0; i < def->n_cols; i++)
        if (def->col[i].key)
            memcpy(cell[i], part[k++], MAX_CELL);
    if ((e = small_get(b, def, cell, &has, m)) || !has)
        goto out;
    small_join(def, cell, 0, stands, sizeof stands);
    if (strcmp(stands, old) != 0 || !cells_split(now, part, def->n_cols - n_key))
        goto out;
    k = 0;
    for (size_t i = 0; i < def->n_cols; i++)
        if (!def->col[i].key)
            memcpy(cell[i], part[k++], MAX_CELL);
    e = small_set(b, def, cell, m);
out:
    free(part);
    return e;
}

enum vb_err
history_apply(struct vb_book *b, const char *table, const char *key, const char *old,
              const char *now, struct vb_msg *m)
{
    const struct table_def *def = table_find(table);
    if (strcmp(table, "readings") == 0)
        return apply_reading(b, key, old, now, m);
    return def ? apply_small(b, def, key, old, now, m) : VB_OK;
}

enum vb_err
history_replay(struct vb_book *b, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e =
        db_prepare(b,
                   "SELECT key, old, new FROM history WHERE \"table\" = 'readings'"
                   " ORDER BY key, seq",
                   &s, m);
    int rc = SQLITE_DONE;
    while (!e && (rc = sqlite3_step(s)) == SQLITE_ROW) {
        e = apply_reading(b, (const char *)sqlite3_column_text(s, 0),
                          (const char *)sqlite3_column_text(s, 1),
                          (const char *)sqlite3_column_text(s, 2), m);
        if (e == VB_ECONFLICT) { // it was refused by name when it came in
            vb_msg_clear(m);
            e = VB_OK;
        }
    }
    if (!e && rc != SQLITE_DONE)
        e = db_fail(b, m);
    sqlite3_finalize(s);
    return e;
}
