/*
 * Readings and events that a change of a family would leave at a place which is no longer
 * there: a fact of it, or another family of an engine. Expected sizes: some dozen places,
 * of the visits each costs one look by its number; some dozen events an engine.
 */
#include "load_impl.h"

#include <stdio.h>
#include <string.h>

#include "valvebook/quantity.h"
#include "valvebook/valve.h"

/* name: of an engine, or of a family with all its engines. */
struct shift {
    struct vb_family before, now;
    int of_family;
    const char *name, *with; // "with" or "without" what changes
};

/* The first reading at a place, if there is one: whose, and of which day. */
static enum vb_err
read_there(struct vb_book *b, const struct shift *c, sqlite3_int64 place, const char *at,
           char *why, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e = db_prepare(
        b,
        c->of_family ? "SELECT engine, date FROM engines JOIN visits USING(engine) JOIN"
                       " reading ON reading = visit << 16 | ?2 WHERE family = ?1 LIMIT 1"
                     : "SELECT engine, date FROM visits JOIN reading ON reading ="
                       " visit << 16 | ?2 WHERE engine = ?1 LIMIT 1",
        &s, m);
    if (e)
        return e;
    db_text(s, 1, c->name);
    sqlite3_bind_int64(s, 2, place);
    int rc = sqlite3_step(s);
    if (rc == SQLITE_ROW)
        snprintf(why, WHY_MAX, "%s this %.120s has no valve '%.20s', read on %.10s",
                 c->with, db_word(s, 0), at, db_word(s, 1));
    else if (rc != SQLITE_DONE)
        e = db_fail(b, m);
    sqlite3_finalize(s);
    return e;
}

static enum vb_err
look_at_places(struct vb_book *b, const struct shift *c, char *why, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    struct vb_valve v;
    int rc = SQLITE_DONE;
    enum vb_err e = db_prepare(
        b, "SELECT place, quantity, at FROM places ORDER BY at, quantity", &s, m);
    while (!e && !why[0] && (rc = sqlite3_step(s)) == SQLITE_ROW) {
        const char *quantity = db_word(s, 1), *at = db_word(s, 2);
        const struct vb_quantity *q = vb_quantity_find(quantity, strlen(quantity));
        if (q && q->at == VB_AT_VALVE && !vb_valve_parse(at, strlen(at), &v) &&
            vb_family_has(&c->before, v) && !vb_family_has(&c->now, v))
            e = read_there(b, c, sqlite3_column_int64(s, 0), at, why, m);
    }
    if (!e && rc != SQLITE_DONE && rc != SQLITE_ROW)
        e = db_fail(b, m);
    sqlite3_finalize(s);
    return e;
}

/* row: engine, date, event, part, at */
static void
look_at_event(const struct shift *c, sqlite3_stmt *row, char *why)
{
    char lacks[LACKS_MAX];
    const char *event = db_word(row, 2), *part = db_word(row, 3), *at = db_word(row, 4);
    if (facts_lacks(&c->now, event, part, at, lacks) &&
        !facts_lacks(&c->before, event, part, at, lacks))
        snprintf(why, WHY_MAX,
                 "%s this %.120s has no %.31s, which an event of %.10s names", c->with,
                 db_word(row, 0), lacks, db_word(row, 1));
}

static enum vb_err
look_at_events(struct vb_book *b, const struct shift *c, char *why, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    int rc = SQLITE_DONE;
    enum vb_err e = db_prepare(
        b,
        c->of_family ? "SELECT engine, date, event, part, at FROM engines JOIN events"
                       " USING(engine) WHERE family = ? ORDER BY engine, date"
                     : "SELECT engine, date, event, part, at FROM events"
                       " WHERE engine = ? ORDER BY date",
        &s, m);
    if (e)
        return e;
    db_text(s, 1, c->name);
    while (!why[0] && (rc = sqlite3_step(s)) == SQLITE_ROW)
        look_at_event(c, s, why);
    if (rc != SQLITE_DONE && rc != SQLITE_ROW)
        e = db_fail(b, m);
    sqlite3_finalize(s);
    return e;
}

static enum vb_err
look(struct vb_book *b, const struct shift *c, char *why, struct vb_msg *m)
{
    enum vb_err e = look_at_places(b, c, why, m);
    return e || why[0] ? e : look_at_events(b, c, why, m);
}

/* value: of the fact, "" if it goes. */
static enum vb_err
other_fact(struct vb_book *b, char cell[][MAX_CELL], const char *value, char *why,
           struct vb_msg *m)
{
    struct shift c = {
        .of_family = 1, .name = cell[0], .with = *value ? "with" : "without"};
    enum vb_err e = facts_family(b, cell[0], &c.before, m);
    if (!e)
        e = facts_family_with(b, cell, value, &c.now, m);
    return e ? e : look(b, &c, why, m);
}

static enum vb_err
other_family(struct vb_book *b, char cell[][MAX_CELL], char *why, struct vb_msg *m)
{
    struct shift c = {.name = cell[0], .with = "with"};
    char family[MAX_CELL];
    enum vb_err e = facts_engine(b, cell[0], family, sizeof family, m);
    if (e == VB_EUNKNOWN) { // it is new, and has no readings
        vb_msg_clear(m);
        return VB_OK;
    }
    if (e || strcmp(family, cell[1]) == 0)
        return e;
    e = facts_family(b, family, &c.before, m);
    if (!e)
        e = facts_family(b, cell[1], &c.now, m);
    return e ? e : look(b, &c, why, m);
}

enum vb_err
fact_strands(struct vb_book *b, char cell[][MAX_CELL], char *why, struct vb_msg *m)
{
    why[0] = 0;
    return other_fact(b, cell, "", why, m);
}

enum vb_err
row_strands(struct vb_book *b, const struct table_def *def, char cell[][MAX_CELL],
            char *why, struct vb_msg *m)
{
    why[0] = 0;
    if (strcmp(def->name, "families") == 0)
        return other_fact(b, cell, cell[3], why, m);
    return strcmp(def->name, "engines") == 0 ? other_family(b, cell, why, m) : VB_OK;
}
