/*
 * Every value that was replaced stays, as the joined cells of its row: so a book can tell
 * an old sheet that is loaded again from a new contradiction, and two books that are
 * merged agree on what was corrected.
 */
#include "load_impl.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

size_t
cells_join(const char *const *cell, size_t n, char *out, size_t size)
{
    size_t k = 0;
    for (size_t i = 0; i < n; i++) {
        if (i && k + 1 < size)
            out[k++] = ',';
        int alone = n == 1 && !*cell[i]; // one blank cell is no empty text
        int quote = alone || strpbrk(cell[i], ",\"\n\r") != NULL;
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

static enum vb_err
copy_cells(const struct vb_row *row, char cell[][MAX_CELL], size_t n)
{
    if (row->n != n)
        return VB_ESYNTAX;
    for (size_t i = 0; i < n; i++) {
        if (row->cell[i].n >= MAX_CELL)
            return VB_ESYNTAX;
        if (row->cell[i].n)
            memcpy(cell[i], row->cell[i].s, row->cell[i].n);
        cell[i][row->cell[i].n] = 0;
    }
    return VB_OK;
}

enum vb_err
cells_split(const char *joined, char cell[][MAX_CELL], size_t n)
{
    struct vb_input *in;
    struct vb_csv *c;
    struct vb_row row = {0};
    size_t len = strlen(joined);
    if (n == 1 && !len) {
        cell[0][0] = 0;
        return VB_OK;
    }
    enum vb_err e = vb_input_memory(joined, len, len, "", &in, NULL);
    if (!e)
        e = vb_csv_new(in, ',', &c);
    if (e)
        return e;
    e = vb_csv_next(c, &row, NULL);
    if (!e)
        e = copy_cells(&row, cell, n);
    vb_csv_free(c);
    return e == VB_EMEM ? e : e ? VB_ESYNTAX : VB_OK;
}

/* Does every cell that says something say what once stood there, or stands there now? */
static enum vb_err
was_once(const char *old, const char *const *cell, const char *const *now, size_t n,
         int *same)
{
    char(*before)[MAX_CELL] = malloc(n * sizeof *before);
    enum vb_err e = old && before ? cells_split(old, before, n) : VB_EMEM;
    *same = !e;
    for (size_t i = 0; *same && i < n; i++)
        *same =
            !*cell[i] || strcmp(cell[i], before[i]) == 0 || strcmp(cell[i], now[i]) == 0;
    free(before);
    return e == VB_EMEM ? e : VB_OK;
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
    while (!e && !*has && (rc = sqlite3_step(s)) == SQLITE_ROW)
        e = was_once((const char *)sqlite3_column_text(s, 0), cell, now, n, has);
    if (!e && rc != SQLITE_DONE && rc != SQLITE_ROW)
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

/* What the history makes of the row that stands, "" if it was withdrawn. Blanks that it fills
 * lead nowhere else. */
static enum vb_err
becomes(struct vb_book *b, const struct past *p, char *text, size_t size,
        struct vb_msg *m)
{
    const struct table_def *def = table_find(p->table);
    enum fate fate = FATE_NONE;
    int has;
    char(*cell)[MAX_CELL] = calloc(2 * MAX_COLS, sizeof *cell);
    char(*part)[MAX_CELL] = cell ? cell + MAX_COLS : NULL;
    enum vb_err e = cell ? small_by_key(b, def, p->key, cell, &has, m) : VB_EMEM;
    if (!e)
        e = small_fate(b, def, cell, 1, &fate, m);
    if (!e)
        e = cells_split(p->now, part, small_others(def));
    text[0] = 0;
    if (!e && fate != FATE_WITHDRAWN && small_says_all(def, cell, part))
        snprintf(text, size, "%s", p->now);
    else if (!e && fate != FATE_WITHDRAWN)
        small_join(def, cell, 0, text, size);
    free(cell);
    return e;
}

enum vb_err
history_hold(struct vb_book *b, const struct past *p, struct vb_msg *m)
{
    char text[JOINED_MAX];
    snprintf(text, sizeof text, "%s", p->now);
    enum vb_err e = strcmp(p->table, "readings") == 0
                        ? history_latest(b, p->table, p->key, text, VB_NUM_MAX, m)
                        : becomes(b, p, text, sizeof text, m);
    return e || strcmp(text, p->now) == 0
               ? e
               : history_add(b, p->table, p->key, text, p->now, m);
}

enum vb_err
history_correct(struct vb_book *b, const struct past *p, struct vb_msg *m)
{
    enum vb_err e = history_add(b, p->table, p->key, p->old, p->now, m);
    return e ? e : history_hold(b, p, m);
}

enum vb_err
history_insert(struct vb_book *b, const struct past *p, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e =
        db_prepare(b, "INSERT OR IGNORE INTO history VALUES(?, ?, ?, ?, ?)", &s, m);
    if (e)
        return e;
    db_text(s, 1, p->table);
    db_text(s, 2, p->key);
    sqlite3_bind_double(s, 3, p->seq);
    db_text(s, 4, p->old);
    db_text(s, 5, p->now);
    e = db_run(b, s, m);
    sqlite3_finalize(s);
    return e;
}

static int
ends_in(const char *s, const char *end)
{
    size_t n = strlen(s), k = strlen(end);
    return n >= k && strcmp(s + n - k, end) == 0;
}

/* How many cells there are behind a key of this table, and whether of two that differ the
 * lesser counts: where a reading came from is no contradiction. */
static size_t
cells_behind(const struct past *p, int *lesser)
{
    *lesser = ends_in(p->key, ",from") && strcmp(p->table, "readings") == 0;
    if (*lesser)
        return FROM_CELLS;
    return strcmp(p->table, "readings") == 0 ? 1 : small_others(table_find(p->table));
}

/* As strcmp, of the figures first. A figure with its unit goes before the same without,
 * as an older version has kept it: the lesser of two is the one that knows more. */
static int
compare_meters(const char *a, const char *b)
{
    size_t n = strcspn(a, " "), k = strcspn(b, " ");
    int c = memcmp(a, b, n < k ? n : k);
    if (c || n != k)
        return c ? c : (n > k) - (n < k);
    return !a[n] != !b[k] ? !a[n] - !b[k] : strcmp(a + n, b + k);
}

/* What either of two rows knows, cell by cell; VB_ECONFLICT if they contradict. */
static enum vb_err
unite(char a[][MAX_CELL], char b[][MAX_CELL], size_t n, int lesser)
{
    for (size_t i = 0; i < n; i++) {
        int c =
            lesser && i == FROM_METER ? compare_meters(a[i], b[i]) : strcmp(a[i], b[i]);
        if (c && *a[i] && *b[i] && !lesser)
            return VB_ECONFLICT;
        if (*b[i] && (!*a[i] || c > 0))
            memcpy(a[i], b[i], MAX_CELL);
    }
    return VB_OK;
}

static enum vb_err
rewrite(struct vb_book *b, const struct past *there, const char *column, const char *text,
        struct vb_msg *m)
{
    char sql[128];
    sqlite3_stmt *s = NULL;
    snprintf(sql, sizeof sql,
             "UPDATE history SET %s = ? WHERE \"table\" = ? AND key = ? AND seq = ?",
             column);
    enum vb_err e = db_prepare(b, sql, &s, m);
    if (e)
        return e;
    db_text(s, 1, text);
    db_text(s, 2, there->table);
    db_text(s, 3, there->key);
    sqlite3_bind_double(s, 4, there->seq);
    e = db_run(b, s, m);
    sqlite3_finalize(s);
    return e;
}

enum vb_err
history_unite(struct vb_book *b, const struct past *there, const struct past *p,
              int *done, struct vb_msg *m)
{
    int gone = !*there->now && !*p->now, back = !*there->old && !*p->old, lesser;
    size_t n = cells_behind(p, &lesser);
    const char *cell[MAX_COLS];
    char text[JOINED_MAX];
    *done = 0;
    if (gone == back)
        return VB_OK;
    *done = strcmp(gone ? there->old : there->now, gone ? p->old : p->now) == 0;
    if (*done)
        return VB_OK;
    char(*part)[MAX_CELL] = malloc(2 * n * sizeof *part);
    enum vb_err e = part ? cells_split(gone ? there->old : there->now, part, n) : VB_EMEM;
    if (!e)
        e = cells_split(gone ? p->old : p->now, part + n, n);
    if (!e)
        e = unite(part, part + n, n, lesser);
    for (size_t i = 0; !e && i < n; i++)
        cell[i] = part[i];
    if (!e) {
        cells_join(cell, n, text, sizeof text);
        e = rewrite(b, there, gone ? "old" : "new", text, m);
        *done = 1;
    }
    free(part);
    return e == VB_ECONFLICT || e == VB_ESYNTAX ? VB_OK : e;
}

enum vb_err
history_knows(struct vb_book *b, const struct past *p, int *yes, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e = db_prepare(b,
                               "SELECT 1 FROM history WHERE \"table\" = ? AND key = ? AND"
                               " old = ? AND new = '' LIMIT 1",
                               &s, m);
    if (e)
        return e;
    db_text(s, 1, p->table);
    db_text(s, 2, p->key);
    db_text(s, 3, p->old);
    int rc = sqlite3_step(s);
    *yes = rc == SQLITE_ROW;
    if (rc != SQLITE_ROW && rc != SQLITE_DONE)
        e = db_fail(b, m);
    sqlite3_finalize(s);
    return e;
}

enum vb_err
history_last(struct vb_book *b, const char *table, const char *key, char *out,
             size_t size, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e = db_prepare(b,
                               "SELECT old FROM history WHERE \"table\" = ? AND key = ?"
                               " AND new = '' ORDER BY seq DESC LIMIT 1",
                               &s, m);
    if (e)
        return e;
    db_text(s, 1, table);
    db_text(s, 2, key);
    int rc = sqlite3_step(s);
    const char *old = rc == SQLITE_ROW ? (const char *)sqlite3_column_text(s, 0) : "";
    if (rc != SQLITE_ROW && rc != SQLITE_DONE)
        e = db_fail(b, m);
    else if (!old)
        e = VB_EMEM;
    else
        snprintf(out, size, "%s", old);
    sqlite3_finalize(s);
    return e;
}

enum vb_err
history_widen(struct vb_book *b, const struct past *p, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    int done = 0;
    enum vb_err e = db_prepare(b,
                               "SELECT old, seq FROM history WHERE \"table\" = ? AND"
                               " key = ? AND new = '' ORDER BY seq DESC LIMIT 1",
                               &s, m);
    if (e)
        return e;
    db_text(s, 1, p->table);
    db_text(s, 2, p->key);
    int rc = sqlite3_step(s);
    if (rc == SQLITE_ROW) {
        const char *old = (const char *)sqlite3_column_text(s, 0);
        const struct past there = {p->table, p->key, old, "",
                                   sqlite3_column_double(s, 1)};
        e = old ? history_unite(b, &there, p, &done, m) : VB_EMEM;
    } else if (rc != SQLITE_DONE) {
        e = db_fail(b, m);
    }
    sqlite3_finalize(s);
    return e || done || rc == SQLITE_ROW
               ? e
               : history_add(b, p->table, p->key, p->old, "", m);
}

enum vb_err
history_since(struct vb_book *b, const struct past *row, char *text, size_t size,
              struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    int rc = SQLITE_DONE;
    enum vb_err e = db_prepare(b,
                               "SELECT old, new FROM history WHERE \"table\" = ? AND"
                               " key = ? AND seq > ? ORDER BY seq",
                               &s, m);
    if (e)
        return e;
    db_text(s, 1, row->table);
    db_text(s, 2, row->key);
    sqlite3_bind_double(s, 3, row->seq);
    while (!e && (rc = sqlite3_step(s)) == SQLITE_ROW) {
        const char *old = (const char *)sqlite3_column_text(s, 0);
        const char *now = (const char *)sqlite3_column_text(s, 1);
        if (!old || !now)
            e = VB_EMEM;
        else if (strcmp(old, text) == 0)
            snprintf(text, size, "%s", now);
    }
    if (!e && rc != SQLITE_DONE)
        e = db_fail(b, m);
    sqlite3_finalize(s);
    return e;
}

enum vb_err
history_latest(struct vb_book *b, const char *table, const char *key, char *text,
               size_t size, struct vb_msg *m)
{
    const struct past all = {.table = table, .key = key, .seq = 0};
    return history_since(b, &all, text, size, m);
}

enum vb_err
history_meter(const struct past *p, char *engine)
{
    int readings = strcmp(p->table, "readings") == 0;
    engine[0] = 0;
    if (!readings && strcmp(p->table, "events") != 0)
        return VB_OK;
    if (readings && !ends_in(p->key, ",meter"))
        return VB_OK;
    char(*k)[MAX_CELL] = malloc(N_KEY * sizeof *k);
    enum vb_err e = k ? cells_split(p->key, k, N_KEY) : VB_EMEM; // as of an event
    if (!e)
        memcpy(engine, k[0], MAX_CELL);
    free(k);
    return e == VB_EMEM ? e : VB_OK;
}

static enum vb_err
apply_reading(struct vb_book *b, const struct past *p, int *done, struct vb_msg *m)
{
    char k[N_KEY][MAX_CELL], stands[VB_NUM_MAX];
    enum vb_err e = cells_split(p->key, k, N_KEY);
    if (e)
        return e == VB_EMEM ? e : VB_OK; // no key of a reading: nothing to correct
    e = reading_get(b, k, stands, m);
    if (e || strcmp(stands, p->old) != 0)
        return e;
    *done = 1;
    return reading_set(b, k, p->now, m);
}

/* Only a row that says all of old, and nothing else, is looked for here: of others the whole
 * history is asked, when it is in (withdraw.c). */
enum vb_err
history_becomes(struct vb_book *b, const struct past *p, char cell[][MAX_CELL], int *does,
                struct vb_msg *m)
{
    const struct table_def *def = table_find(p->table);
    char stands[JOINED_MAX];
    enum vb_err e = small_by_key(b, def, p->key, cell, does, m);
    if (!e && *does) {
        small_join(def, cell, 0, stands, sizeof stands);
        *does = strcmp(stands, p->old) == 0;
    }
    if (!e && *does && *p->now)
        e = small_become(def, p->old, p->now, cell + MAX_COLS, cell, does);
    *does &= !e;
    return e == VB_ESYNTAX ? VB_OK : e; // no key or row of this table
}

static enum vb_err
apply_small(struct vb_book *b, const struct table_def *def, const struct past *p,
            int *done, struct vb_msg *m)
{
    char(*cell)[MAX_CELL] = malloc(3 * MAX_COLS * sizeof *cell);
    enum vb_err e = cell ? history_becomes(b, p, cell, done, m) : VB_EMEM;
    if (!e && *done)
        e = *p->now ? small_set(b, def, cell, m) : small_remove(b, def, cell, m);
    free(cell);
    return e;
}

enum vb_err
history_apply(struct vb_book *b, const struct past *p, int *done, struct vb_msg *m)
{
    const struct table_def *def = table_find(p->table);
    *done = 0;
    if (strcmp(p->table, "readings") == 0)
        return apply_reading(b, p, done, m);
    return apply_small(b, def, p, done, m);
}

/* Meters are not among them: a visit that comes in has its figure corrected at once. */
enum vb_err
history_replay(struct vb_book *b, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    int rc = SQLITE_DONE, done;
    enum vb_err e =
        db_prepare(b,
                   "SELECT key, old, new FROM history WHERE \"table\" = 'readings'"
                   " AND key NOT LIKE '%,meter' AND old <> '' AND new <> ''"
                   " ORDER BY key, seq",
                   &s, m);
    while (!e && (rc = sqlite3_step(s)) == SQLITE_ROW) {
        const struct past p = {"readings", (const char *)sqlite3_column_text(s, 0),
                               (const char *)sqlite3_column_text(s, 1),
                               (const char *)sqlite3_column_text(s, 2), 0};
        e = p.key && p.old && p.now ? history_apply(b, &p, &done, m) : VB_EMEM;
    }
    if (!e && rc != SQLITE_DONE)
        e = db_fail(b, m);
    sqlite3_finalize(s);
    return e;
}
