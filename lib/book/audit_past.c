/*
 * What the history says of rows that stand: one that was withdrawn is gone, one that was
 * corrected says what it became. The loader's own reading of the history is asked.
 */
#include "audit_impl.h"

#include <stdlib.h>
#include <string.h>

static enum vb_err
reading_past(struct audit *a, const char *key, char k[][MAX_CELL])
{
    char stands[VB_NUM_MAX], now[VB_NUM_MAX];
    enum vb_err e = cells_split(key, k, N_KEY);
    if (!e)
        e = reading_get(a->b, k, stands, a->m);
    if (e || !stands[0])
        return e;
    memcpy(now, stands, sizeof now);
    e = history_latest(a->b, "readings", key, now, VB_NUM_MAX, a->m);
    if (!e && !now[0])
        audit_tell(a, "readings", key, k[4], "%s stands, which was withdrawn", stands);
    else if (!e && strcmp(now, stands) != 0)
        audit_tell(a, "readings", key, k[4], "%s stands, which was corrected to %s",
                   stands, now);
    return e;
}

/* A row may have become another and then itself again. */
static enum vb_err
small_past(struct audit *a, const struct table_def *def, const char *key,
           char cell[][MAX_CELL])
{
    char was[KEY_TEXT], now[KEY_TEXT];
    enum fate fate = FATE_NONE;
    int has = 0;
    enum vb_err e = small_by_key(a->b, def, key, cell, &has, a->m);
    if (e || !has)
        return e;
    small_join(def, cell, 0, was, sizeof was);
    e = small_fate(a->b, def, cell, 1, &fate, a->m);
    small_join(def, cell, 0, now, sizeof now);
    if (!e && fate == FATE_WITHDRAWN)
        audit_tell(a, def->name, key, "", "stands, but was withdrawn");
    else if (!e && strcmp(was, now) != 0)
        audit_tell(a, def->name, key, "",
                   "stands as '%.100s', which was corrected to '%.100s'", was, now);
    return e;
}

static enum vb_err
check_past(struct audit *a, void *arg, sqlite3_stmt *row)
{
    char(*cell)[MAX_CELL] = arg;
    const char *table = db_word(row, 0), *key = db_word(row, 1);
    const struct table_def *def = table_find(table);
    if (!def) // told already
        return VB_OK;
    enum vb_err e = strcmp(table, "readings") == 0 ? reading_past(a, key, cell)
                                                   : small_past(a, def, key, cell);
    return e == VB_ESYNTAX ? VB_OK : e; // no key of this table: told already
}

enum vb_err
audit_past(struct audit *a, enum audit_table table)
{
    char(*cell)[MAX_CELL] = calloc(2 * MAX_COLS, sizeof *cell);
    (void)table;
    if (!cell)
        return VB_EMEM;
    enum vb_err e =
        audit_each(a, "SELECT DISTINCT \"table\", key FROM history", check_past, cell);
    free(cell);
    return e;
}
