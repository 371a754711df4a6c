/*
 * Taking rows of the small tables back. A row that was withdrawn stays in the history,
 * with nothing behind it; one that was taken in again, with nothing before it. So an old
 * sheet does not bring it back, and books that are merged agree on what is gone.
 */
#include "load_impl.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* --- what became of a row ---------------------------------------------------------- */

/* How far a row's history has been followed. */
struct life_of_row {
    const struct table_def *def;
    char (*cell)[MAX_CELL], (*part)[MAX_CELL];
    int here, gone, changed;
    int of_past; // nothing stands: there is none but what the history takes in again
};

static void
blank_others(const struct table_def *def, char cell[][MAX_CELL])
{
    for (size_t i = 0; i < def->n_cols; i++)
        if (!def->col[i].key)
            cell[i][0] = 0;
}

static enum vb_err
follow(struct life_of_row *l, const char *old, const char *now)
{
    enum vb_err e = VB_OK;
    size_t n = small_others(l->def);
    if (l->here && *old && *now) {
        int does;
        e = small_become(l->def, old, now, l->part, l->cell, &does);
        l->changed |= !e && does;
    } else if (l->here && *old) {
        e = cells_split(old, l->part, n);
        if (!e && (l->of_past || small_compatible(l->def, l->cell, l->part)))
            l->gone = 1, l->here = 0; // one row of a key at a time
    } else if (!l->here && *old) {
        l->gone |= !*now;
    } else if (!l->here && l->gone && !(e = cells_split(now, l->part, n))) {
        if (!small_compatible(l->def, l->cell, l->part)) // another row of the key
            blank_others(l->def, l->cell);
        small_put_parts(l->def, l->part, l->cell);
        l->here = l->changed = 1;
        l->gone = 0;
    }
    return e;
}

/* s: old and new of its history, in order. */
static enum vb_err
follow_all(struct vb_book *b, struct life_of_row *l, sqlite3_stmt *s, struct vb_msg *m)
{
    int rc = SQLITE_DONE;
    enum vb_err e = VB_OK;
    while (!e && (rc = sqlite3_step(s)) == SQLITE_ROW) {
        const char *old = (const char *)sqlite3_column_text(s, 0);
        const char *now = (const char *)sqlite3_column_text(s, 1);
        e = old && now ? follow(l, old, now) : VB_EMEM;
        e = e == VB_ESYNTAX ? VB_OK : e; // no row of this table: nothing became of it
    }
    return !e && rc != SQLITE_DONE ? db_fail(b, m) : e;
}

enum vb_err
small_fate(struct vb_book *b, const struct table_def *def, char cell[][MAX_CELL],
           int here, enum fate *out, struct vb_msg *m)
{
    char key[JOINED_MAX];
    sqlite3_stmt *s = NULL;
    struct life_of_row l = {.def = def,
                            .cell = cell,
                            .part = malloc(2 * MAX_COLS * sizeof *l.part),
                            .here = here,
                            .of_past = !here};
    enum vb_err e = l.part ? db_prepare(b,
                                        "SELECT old, new FROM history WHERE \"table\" = ?"
                                        " AND key = ? ORDER BY seq",
                                        &s, m)
                           : VB_EMEM;
    small_join(def, cell, 1, key, sizeof key);
    if (!e) {
        db_text(s, 1, def->name);
        db_text(s, 2, key);
        e = follow_all(b, &l, s, m);
    }
    sqlite3_finalize(s);
    free(l.part);
    if (!e)
        *out = l.here ? (l.changed ? FATE_CHANGED : FATE_STANDS)
                      : (l.gone ? FATE_WITHDRAWN : FATE_NONE);
    return e;
}

/* --- a row of a table that was given to be withdrawn --------------------------------- */

enum vb_err
row_is_there(struct vb_book *b, const char *sql, const char *name, int *yes,
             struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e = db_prepare(b, sql, &s, m);
    if (e)
        return e;
    db_text(s, 1, name);
    int rc = sqlite3_step(s);
    *yes = rc == SQLITE_ROW;
    if (rc != SQLITE_ROW && rc != SQLITE_DONE)
        e = db_fail(b, m);
    sqlite3_finalize(s);
    return e;
}

enum vb_err
row_needed(struct vb_book *b, const struct table_def *def, char cell[][MAX_CELL],
           char *why, struct vb_msg *m)
{
    int yes = 0;
    const char *name = cell[0];
    why[0] = 0;
    if (strcmp(def->name, "engines") == 0) {
        enum vb_err e =
            row_is_there(b,
                         "SELECT engine FROM visits WHERE engine = ?1 UNION ALL"
                         " SELECT engine FROM events WHERE engine = ?1 UNION ALL"
                         " SELECT engine FROM plan WHERE engine = ?1 LIMIT 1",
                         name, &yes, m);
        snprintf(why, WHY_MAX, "%s",
                 yes ? "this engine has readings, events or plans" : "");
        return e;
    }
    if (strcmp(def->name, "families") != 0)
        return VB_OK;
    enum vb_err e = row_is_there(b,
                                 "SELECT 1 FROM engines WHERE family = ?1 AND (SELECT"
                                 " count(*) FROM families WHERE family = ?1) < 2 LIMIT 1",
                                 name, &yes, m);
    snprintf(why, WHY_MAX, "%s",
             yes ? "this is the last fact of a family that has engines" : "");
    return e || yes ? e : fact_strands(b, cell, why, m);
}

enum vb_err
row_take_away(struct loader *ld, const struct table_def *def, char cell[][MAX_CELL],
              const struct refused *at, const struct past *p)
{
    char why[WHY_MAX];
    enum vb_err e = small_write(ld->b, def, cell, small_remove, why, ld->m);
    if (!e && why[0])
        return pending_add(ld, at, "meter", cell[0], p);
    return e || p->seq > 0 ? e : history_add(ld->b, p->table, p->key, p->old, "", ld->m);
}

/* The first cell that says something else than the book, NO_CELL if there is none. */
static size_t
mismatch(const struct table_def *def, char cell[][MAX_CELL], char stands[][MAX_CELL])
{
    for (size_t i = 0; i < def->n_cols; i++)
        if (*cell[i] && strcmp(cell[i], stands[i]) != 0)
            return i;
    return NO_CELL;
}

static enum vb_err
withdraw_known(struct loader *ld, const struct feed *f, char cell[][MAX_CELL],
               char stands[][MAX_CELL])
{
    const struct table_def *def = f->def;
    const struct refused at = feed_at(f);
    char why[WHY_MAX], key[JOINED_MAX], old[JOINED_MAX];
    size_t i = mismatch(def, cell, stands);
    if (i != NO_CELL) {
        load_refuse(ld, f, def->col[i].name, "'%.60s' here, '%.60s' in the book", cell[i],
                    stands[i]);
        return VB_OK;
    }
    enum vb_err e = row_needed(ld->b, def, stands, why, ld->m);
    if (!e && why[0])
        load_refuse(ld, f, def->col[0].name, "%s", why);
    if (e || why[0])
        return e;
    small_join(def, stands, 1, key, sizeof key);
    small_join(def, stands, 0, old, sizeof old);
    const struct past p = {def->name, key, old, "", 0};
    return row_take_away(ld, def, stands, &at, &p);
}

/* A row that is as it stands there needs no check, and may have been let in before there
 * was one. Other cells are put into the words of the book first. */
enum vb_err
withdraw_row(struct loader *ld, const struct feed *f, char cell[][MAX_CELL],
             char stands[][MAX_CELL])
{
    int has = 0;
    enum fate fate;
    memcpy(stands, cell, MAX_COLS * sizeof *cell);
    enum vb_err e = small_get(ld->b, f->def, stands, &has, ld->m);
    if (e || (has && mismatch(f->def, cell, stands) == NO_CELL))
        return e ? e : withdraw_known(ld, f, cell, stands);
    if (!small_check(ld, f, cell, &e))
        return e;
    memcpy(stands, cell, MAX_COLS * sizeof *cell);
    e = small_get(ld->b, f->def, stands, &has, ld->m);
    if (!e && has)
        return withdraw_known(ld, f, cell, stands);
    if (!e)
        e = small_fate(ld->b, f->def, stands, 1, &fate, ld->m);
    if (!e && fate != FATE_WITHDRAWN)
        load_refuse(ld, f, NULL, "not in the book");
    return e;
}

enum vb_err
withdrawn_arrives(struct loader *ld, const struct table_def *def, char cell[][MAX_CELL])
{
    char key[JOINED_MAX], old[JOINED_MAX];
    small_join(def, cell, 1, key, sizeof key);
    small_join(def, cell, 0, old, sizeof old);
    const struct past p = {def->name, key, old, "", 0};
    return history_widen(ld->b, &p, ld->m);
}
