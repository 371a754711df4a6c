/*
 * What other books have corrected, withdrawn or taken in again is done to this one: when the
 * history is in, and for what has come in since.
 */
#include "load_impl.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A key of the history. */
struct key_of_past {
    char *table, *key;
};

struct keys {
    struct key_of_past *list;
    size_t n, size;
};

static void
keys_free(struct keys *k)
{
    for (size_t i = 0; i < k->n; i++) {
        free(k->list[i].table);
        free(k->list[i].key);
    }
    free(k->list);
}

static enum vb_err
keys_add(struct keys *k, const char *table, const char *key)
{
    if (!table || !key)
        return VB_EMEM;
    if (k->n == k->size) {
        size_t size = k->size ? 2 * k->size : 64;
        struct key_of_past *p = realloc(k->list, size * sizeof *p);
        if (!p)
            return VB_EMEM;
        k->list = p;
        k->size = size;
    }
    struct key_of_past *p = &k->list[k->n++];
    *p = (struct key_of_past){strdup(table), strdup(key)};
    return p->table && p->key ? VB_OK : VB_EMEM;
}

/* What was withdrawn or taken in again; of small tables also what was corrected, for readings are
 * corrected as they come in. */
#define KEYS          "SELECT DISTINCT \"table\", key FROM history"
#define KEYS_PAST     KEYS " WHERE (old = '' OR new = '')"
#define KEYS_READINGS KEYS_PAST " AND \"table\" = 'readings'"
#define KEYS_SMALL    KEYS " WHERE \"table\" <> 'readings'"

static enum vb_err
keys_read(struct vb_book *b, const char *sql, struct keys *k, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    int rc = SQLITE_DONE;
    enum vb_err e = db_prepare(b, sql, &s, m);
    while (!e && (rc = sqlite3_step(s)) == SQLITE_ROW)
        e = keys_add(k, (const char *)sqlite3_column_text(s, 0),
                     (const char *)sqlite3_column_text(s, 1));
    if (!e && rc != SQLITE_DONE)
        e = db_fail(b, m);
    sqlite3_finalize(s);
    return e;
}

static enum vb_err
remove_elsewhere(struct loader *ld, const struct table_def *def, const char *key,
                 char cell[][MAX_CELL])
{
    const struct refused at = {.file = ld->b->path};
    char why[WHY_MAX], old[JOINED_MAX];
    small_join(def, cell, 0, old, sizeof old);
    enum vb_err e = row_needed(ld->b, def, cell, why, ld->m);
    if (!e && why[0])
        load_refuse_at(ld, &at, NULL, "%s '%.100s' was withdrawn elsewhere, but %s",
                       def->name, key, why);
    if (e || why[0])
        return e;
    const struct past p = {def->name, key, old, "", 1};
    e = row_take_away(ld, def, cell, &at, &p);
    return e ? e : history_widen(ld->b, &p, ld->m);
}

static enum vb_err
parent_known(struct loader *ld, const struct table_def *def, char cell[][MAX_CELL],
             int *known)
{
    *known = 1;
    if (strcmp(def->name, "events") == 0 || strcmp(def->name, "plan") == 0)
        return row_is_there(ld->b, "SELECT 1 FROM engines WHERE engine = ?", cell[0],
                            known, ld->m);
    if (strcmp(def->name, "engines") == 0)
        return row_is_there(ld->b, "SELECT 1 FROM families WHERE family = ? LIMIT 1",
                            cell[1], known, ld->m);
    return VB_OK;
}

/* Could a row be loaded as the history would have it? *fits = 0 after it was told. */
static enum vb_err
look_at(struct loader *ld, const struct table_def *def, const char *key,
        char cell[][MAX_CELL], const char *what, int *fits)
{
    const struct refused at = {.file = ld->b->path};
    char why[WHY_MAX];
    enum vb_err e = past_fits(ld, def, cell, why);
    if (!e && why[0])
        load_refuse_at(ld, &at, NULL, "%s '%.60s', %s elsewhere: %s", def->name, key,
                       what, why);
    *fits = !e && !why[0];
    return e;
}

/* A row that another book took in again is here once more, if its engine is. */
static enum vb_err
restore(struct loader *ld, const struct table_def *def, const char *key,
        char cell[][MAX_CELL])
{
    const struct refused at = {.file = ld->b->path};
    char why[WHY_MAX];
    int known, fits = 0;
    enum vb_err e = parent_known(ld, def, cell, &known);
    if (!e && known)
        e = look_at(ld, def, key, cell, "taken in again", &fits);
    if (e || !fits)
        return e;
    e = small_write(ld->b, def, cell, small_insert, why, ld->m);
    if (!e && why[0])
        load_refuse_at(ld, &at, NULL, "event '%.60s', taken in again elsewhere: %s", key,
                       why);
    return e;
}

enum vb_err
withdrawn_returns(struct loader *ld, const struct past *p)
{
    const struct table_def *def = table_find(p->table);
    int has = 0;
    if (strcmp(p->table, "readings") == 0) // which come with their table
        return VB_OK;
    char(*cell)[MAX_CELL] = calloc(2 * MAX_COLS, sizeof *cell);
    enum vb_err e = cell ? small_by_key(ld->b, def, p->key, cell, &has, ld->m) : VB_EMEM;
    if (!e && !has)
        e = cells_split(p->old, cell + MAX_COLS, small_others(def));
    if (!e && !has) {
        small_put_parts(def, cell + MAX_COLS, cell);
        e = restore(ld, def, p->key, cell);
    }
    free(cell);
    return e == VB_ESYNTAX ? VB_OK : e; // no key or row of this table
}

/* A row says something else now, by what another book made of it. */
static enum vb_err
change(struct loader *ld, const struct table_def *def, const char *key,
       char cell[][MAX_CELL])
{
    const struct refused at = {.file = ld->b->path};
    char why[WHY_MAX], old[JOINED_MAX], now[JOINED_MAX];
    int has, fits;
    enum vb_err e = look_at(ld, def, key, cell, "corrected", &fits);
    if (e || !fits)
        return e;
    small_join(def, cell, 0, now, sizeof now);
    const struct past p = {def->name, key, old, now, PAST_KNOWN};
    e = small_write(ld->b, def, cell, small_set, why, ld->m);
    if (e || !why[0])
        return e ? e : history_hold(ld->b, &p, ld->m);
    e = small_get(ld->b, def, cell, &has, ld->m);
    small_join(def, cell, 0, old, sizeof old);
    return e ? e : pending_add(ld, &at, "meter", cell[0], &p);
}

/* One key: a row goes, or changes, or, where restoring, comes back. */
static enum vb_err
settle_row(struct loader *ld, const struct table_def *def, const char *key, int restoring,
           char cell[][MAX_CELL])
{
    enum fate fate = FATE_NONE;
    int has = 0;
    enum vb_err e = small_by_key(ld->b, def, key, cell, &has, ld->m);
    if (!e && has != restoring)
        e = small_fate(ld->b, def, cell, has, &fate, ld->m);
    if (!e && has && fate == FATE_WITHDRAWN)
        return remove_elsewhere(ld, def, key, cell);
    if (e || fate != FATE_CHANGED)
        return e;
    return has ? change(ld, def, key, cell) : restore(ld, def, key, cell);
}

/* Blanks of a row are filled. A figure of the meter that does not go with what has come in
 * since stays in the history. */
static enum vb_err
fill(struct loader *ld, const struct table_def *def, const char *key,
     char cell[][MAX_CELL], char part[][MAX_CELL])
{
    char why[WHY_MAX];
    int has, fits;
    small_put_parts(def, part, cell);
    enum vb_err e = look_at(ld, def, key, cell, "corrected", &fits);
    if (e || !fits)
        return e;
    e = small_write(ld->b, def, cell, small_set, why, ld->m);
    if (e || !why[0])
        return e;
    e = small_get(ld->b, def, cell, &has, ld->m);
    part[0][0] = part[1][0] = 0; // the meter of an event and its unit
    small_put_parts(def, part, cell);
    return e ? e : small_set(ld->b, def, cell, ld->m);
}

/* A row that stands again knows what the one that was withdrawn knew, and the other way
 * round. */
static enum vb_err
rejoin_row(struct loader *ld, const struct table_def *def, const char *key,
           char cell[][MAX_CELL])
{
    char(*part)[MAX_CELL] = cell + MAX_COLS;
    char old[JOINED_MAX], now[JOINED_MAX];
    int has = 0;
    enum vb_err e = small_by_key(ld->b, def, key, cell, &has, ld->m);
    if (e || !has)
        return e;
    small_join(def, cell, 0, now, sizeof now);
    e = history_last(ld->b, def->name, key, old, sizeof old, ld->m);
    if (e || !old[0]) // it was never withdrawn here
        return e;
    e = cells_split(old, part, small_others(def));
    if (e || !small_compatible(def, cell, part))
        return e;
    const struct past p = {def->name, key, now, "", 0};
    e = history_widen(ld->b, &p, ld->m);
    return e || small_says_all(def, cell, part) ? e : fill(ld, def, key, cell, part);
}

enum vb_err
row_fill(struct loader *ld, const struct table_def *def, const char *key)
{
    char joined[JOINED_MAX];
    enum fate fate = FATE_NONE;
    int has = 0;
    char(*cell)[MAX_CELL] = calloc(2 * MAX_COLS, sizeof *cell);
    enum vb_err e = cell ? small_by_key(ld->b, def, key, cell, &has, ld->m) : VB_EMEM;
    if (!e)
        e = small_fate(ld->b, def, cell, 1, &fate, ld->m);
    if (!e && fate == FATE_CHANGED) {
        small_join(def, cell, 0, joined, sizeof joined);
        e = small_by_key(ld->b, def, key, cell, &has, ld->m);
        if (!e)
            e = cells_split(joined, cell + MAX_COLS, small_others(def));
        if (!e && !small_says_all(def, cell, cell + MAX_COLS))
            e = fill(ld, def, key, cell, cell + MAX_COLS);
    }
    free(cell);
    return e;
}

enum vb_err
row_rejoin(struct loader *ld, const struct table_def *def, const char *key)
{
    char(*cell)[MAX_CELL] = calloc(2 * MAX_COLS, sizeof *cell);
    enum vb_err e = cell ? rejoin_row(ld, def, key, cell) : VB_EMEM;
    free(cell);
    return e;
}

enum pass { PASS_REMOVE, PASS_RESTORE, PASS_REJOIN };

static enum vb_err
pass_table(struct loader *ld, const struct keys *k, const char *table, enum pass pass)
{
    const struct table_def *def = table_find(table);
    char(*cell)[MAX_CELL] = calloc(2 * MAX_COLS, sizeof *cell);
    enum vb_err e = cell ? VB_OK : VB_EMEM;
    for (size_t i = 0; !e && i < k->n; i++) {
        const char *key = k->list[i].key;
        if (strcmp(k->list[i].table, table) != 0)
            continue;
        e = pass == PASS_REJOIN ? rejoin_row(ld, def, key, cell)
                                : settle_row(ld, def, key, pass == PASS_RESTORE, cell);
        e = e == VB_ESYNTAX ? VB_OK : e; // no key or row of this table
    }
    free(cell);
    return e;
}

static enum vb_err
settle_readings(struct loader *ld, const struct keys *k)
{
    enum vb_err e = VB_OK;
    for (size_t i = 0; !e && i < k->n; i++)
        if (strcmp(k->list[i].table, "readings") == 0)
            e = reading_settle(ld->b, k->list[i].key, ld->m);
    for (size_t i = 0; !e && i < k->n; i++)
        if (strcmp(k->list[i].table, "readings") == 0)
            e = reading_tidy(ld->b, k->list[i].key, 0, ld->m);
    return e;
}

static const char *const order[] = {"trials", "shims",  "lobes",   "plan",
                                    "gauges", "events", "engines", "families"};
#define N_ORDER (sizeof order / sizeof *order)

/* What depends on something else goes before it and comes back behind it. Of small tables what
 * did not fit last time may fit now; nothing is against what is said of readings. */
enum vb_err
withdraw_settle(struct loader *ld)
{
    struct keys k = {NULL, 0, 0};
    enum vb_err e = keys_read(ld->b, KEYS_SMALL, &k, ld->m);
    if (!e && ld->past_came)
        e = keys_read(ld->b, KEYS_READINGS, &k, ld->m);
    if (!e)
        e = settle_readings(ld, &k);
    for (size_t i = 0; !e && i < N_ORDER; i++)
        e = pass_table(ld, &k, order[i], PASS_REMOVE);
    for (size_t i = N_ORDER; !e && i-- > 0;)
        e = pass_table(ld, &k, order[i], PASS_RESTORE);
    keys_free(&k);
    return e;
}

enum vb_err
withdraw_rejoin(struct loader *ld)
{
    struct keys k = {NULL, 0, 0};
    enum vb_err e = keys_read(ld->b, KEYS_PAST, &k, ld->m);
    for (size_t i = 0; !e && i < k.n; i++)
        if (strcmp(k.list[i].table, "readings") == 0)
            e = reading_rejoin(ld->b, k.list[i].key, ld->m);
    for (size_t i = 0; !e && k.n && i < N_ORDER; i++)
        e = pass_table(ld, &k, order[i], PASS_REJOIN);
    keys_free(&k);
    return e;
}
