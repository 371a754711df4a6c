/* What a row of a small table must satisfy beyond its columns' kinds. */
#include "load_impl.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/cam_place.h"
#include "valvebook/quantity.h"
#include "valvebook/unit.h"

#define ENGINE_NAME_MAX 120

typedef char cell_text[MAX_CELL];

static int
exists(struct loader *ld, const char *sql, const char *name, enum vb_err *e)
{
    sqlite3_stmt *s = NULL;
    if ((*e = db_prepare(ld->b, sql, &s, ld->m)))
        return 0;
    db_text(s, 1, name);
    int rc = sqlite3_step(s);
    if (rc != SQLITE_ROW && rc != SQLITE_DONE)
        *e = db_fail(ld->b, ld->m);
    sqlite3_finalize(s);
    return rc == SQLITE_ROW;
}

static int
engine_known(struct loader *ld, const struct feed *f, const char *engine, enum vb_err *e)
{
    if (exists(ld, "SELECT 1 FROM engines WHERE engine = ?", engine, e))
        return 1;
    if (!*e)
        load_refuse(ld, f, "engine", "unknown engine '%.60s'", engine);
    return 0;
}

/* "0.20" and "0.2" are one value: numbers are kept without trailing zeros. */
static int
plain_value(const struct vb_fact *fact, char *value)
{
    struct vb_dec d;
    if (!fact->words && !vb_dec_parse(value, strlen(value), '.', 0, &d))
        vb_dec_format(d, value);
    return 1;
}

static int
check_family(struct loader *ld, const struct feed *f, cell_text *c, enum vb_err *e)
{
    (void)e;
    struct vb_msg m = {0};
    double x;
    char side = *c[1] ? vb_side_parse(c[1], strlen(c[1])) : 0;
    const struct vb_fact *fact = vb_fact_find(c[2], strlen(c[2]));
    if (*c[1] && !side) {
        load_refuse(ld, f, "side", "neither inlet nor exhaust: '%.20s'", c[1]);
        return 0;
    }
    if (side)
        c[1][0] = side, c[1][1] = 0;
    if (!fact)
        load_refuse(ld, f, "key", "unknown fact '%.40s'", c[2]);
    else if (vb_fact_check(fact, c[1], c[3], c[4], &x, NULL, &m))
        load_refuse(ld, f, "value", "%s", m.text);
    else
        return plain_value(fact, c[3]);
    return 0;
}

static int
check_engine(struct loader *ld, const struct feed *f, cell_text *c, enum vb_err *e)
{
    if (strlen(c[0]) > ENGINE_NAME_MAX) {
        load_refuse(ld, f, "engine", "a name of more than %d bytes", ENGINE_NAME_MAX);
        return 0;
    }
    if (exists(ld, "SELECT 1 FROM families WHERE family = ? LIMIT 1", c[1], e))
        return 1;
    if (!*e)
        load_refuse(ld, f, "family", "unknown family '%.60s'", c[1]);
    return 0;
}

/* A date is in the future of --as-of; a time of day on that date is not. */
static int
in_future(const struct loader *ld, const char *date)
{
    return strncmp(date, ld->l->as_of, 10) > 0;
}

static int
known_event(const char *event)
{
    return strcmp(event, "build") == 0 || strcmp(event, "replace") == 0 ||
           strcmp(event, "fit") == 0 || strcmp(event, "meter") == 0 ||
           strcmp(event, "end") == 0;
}

/* Both words that an event needs are known; 0 after one has been refused. */
static int
check_words(struct loader *ld, const struct feed *f, cell_text *c)
{
    char words[VB_WORDS_MAX];
    if (!known_event(c[4]))
        load_refuse(ld, f, "event",
                    "unknown event '%.40s'; known are build, replace, fit, meter, end",
                    c[4]);
    else if (vb_part_renews(c[5], strlen(c[5])) < 0)
        load_refuse(ld, f, "part", "unknown part '%.40s'; known are %s", c[5],
                    vb_part_words(words, sizeof words));
    else
        return 1;
    return 0;
}

/* The engine's family must have what the event happened to. */
static int
check_lacks(struct loader *ld, const struct feed *f, cell_text *c, enum vb_err *e)
{
    char name[MAX_CELL], lacks[LACKS_MAX];
    struct vb_family family;
    *e = facts_engine(ld->b, c[0], name, sizeof name, ld->m);
    if (!*e)
        *e = facts_family(ld->b, name, &family, ld->m);
    if (*e)
        return 0;
    if (!facts_lacks(&family, c[4], c[5], c[6], lacks))
        return 1;
    load_refuse(ld, f, "at", "this family has no %s", lacks);
    return 0;
}

/* What is said of a cam that was fitted; of no other event. */
static int
check_fit(struct loader *ld, const struct feed *f, cell_text *c)
{
    int fit = strcmp(c[4], "fit") == 0;
    if (fit && strcmp(c[5], "cam") != 0)
        load_refuse(ld, f, "part", "a cam is fitted, not '%.40s'", c[5]);
    else if (fit && !*c[9] && !*c[10])
        load_refuse(ld, f, "item", "which cam was fitted, and which way does it face?");
    else if (strlen(c[9]) >= VB_LOBE_NAME)
        load_refuse(ld, f, "item", "a name of more than %d bytes", VB_LOBE_NAME - 1);
    else if (*c[10] && strcmp(c[10], "normal") != 0 && strcmp(c[10], "reversed") != 0)
        load_refuse(ld, f, "faces", "a cam faces normal or reversed, not '%.40s'", c[10]);
    else if (!fit && (*c[9] || *c[10]))
        load_refuse(ld, f, *c[9] ? "item" : "faces", "said of event fit only");
    else
        return 1;
    return 0;
}

/* The figures of a meter: what it showed, and what a new one began with. */
static int
check_figure(struct loader *ld, const struct feed *f, const char *column, const char *s)
{
    double x = 0; // of a blank; others are numbers, or they would not have come so far
    (void)vb_double_parse(s, strlen(s), &x);
    if (x >= 0)
        return 1;
    load_refuse(ld, f, column, "a meter is not below 0, as '%.40s' is", s);
    return 0;
}

/* A valve, or all of a cylinder or side. */
static int
check_valve(struct loader *ld, const struct feed *f, cell_text *c, enum vb_err *e)
{
    struct vb_valve v;
    size_t n = strlen(c[6]);
    if (vb_valve_parse(c[6], n, &v) && vb_valve_part(c[6], n, &v)) {
        load_refuse(ld, f, "at", "neither a valve, a side nor a cylinder: '%.40s'", c[6]);
        return 0;
    }
    if (!check_lacks(ld, f, c, e))
        return 0;
    vb_valve_format(v, c[6]);
    return 1;
}

static int
check_place(struct loader *ld, const struct feed *f, cell_text *c, enum vb_err *e)
{
    struct vb_cam_place cam;
    size_t n = strlen(c[6]);
    int fit = strcmp(c[4], "fit") == 0;
    if (strcmp(c[4], "meter") == 0) {
        double x = 0;
        if (!*c[2])
            load_refuse(ld, f, "meter", "what did the old meter show last?");
        else if (n && vb_double_parse(c[6], n, &x))
            load_refuse(ld, f, "at",
                        "what the new meter began with is a number, not '%.40s'", c[6]);
        else if (check_figure(ld, f, "at", c[6])) {
            if (n)
                vb_double_format(x, c[6]);
            return 1;
        }
        return 0;
    }
    if (!n)
        return 1;
    if (facts_of_cams(c[4], c[5], c[6], &cam)) {
        if (!check_lacks(ld, f, c, e))
            return 0;
        vb_cam_place_format(cam, c[6]);
        return 1;
    }
    if (fit) {
        load_refuse(ld, f, "at", "no place of a cam: '%.40s'", c[6]);
        return 0;
    }
    return check_valve(ld, f, c, e);
}

static int
check_event(struct loader *ld, const struct feed *f, cell_text *c, enum vb_err *e)
{
    const struct vb_unit *u = *c[3] ? vb_unit_find(c[3], strlen(c[3])) : NULL;
    if (!engine_known(ld, f, c[0], e))
        return 0;
    if (in_future(ld, c[1])) {
        load_refuse(ld, f, "date", "%s is later than %s", c[1], ld->l->as_of);
        return 0;
    }
    if (!check_words(ld, f, c))
        return 0;
    if (strcmp(c[4], "replace") == 0 && !*c[5])
        load_refuse(ld, f, "part", "which part was replaced?");
    else if ((*c[2] || *c[3]) &&
             (!u || (u != vb_unit_of(VB_DIM_TIME) && u != vb_unit_of(VB_DIM_DISTANCE))))
        load_refuse(ld, f, "meter_unit", "a meter runs in h or km, not '%.20s'", c[3]);
    else if (check_fit(ld, f, c)) {
        snprintf(c[3], MAX_CELL, "%s", u ? u->name : "");
        return check_figure(ld, f, "meter", c[2]) && check_place(ld, f, c, e);
    }
    return 0;
}

/* The growth of lash is stated, or what it is made of. */
static enum vb_err
stated_otherwise(struct vb_book *b, cell_text *c, char *why, struct vb_msg *m)
{
    static const char *const both[2] = {"lash_growth", "lash_stack"};
    sqlite3_stmt *s = NULL;
    int k = strcmp(c[2], both[1]) == 0;
    if (!k && strcmp(c[2], both[0]) != 0)
        return VB_OK;
    enum vb_err e = db_prepare(
        b, "SELECT 1 FROM families WHERE family = ? AND side = ? AND key = ?", &s, m);
    if (e)
        return e;
    db_text(s, 1, c[0]);
    db_text(s, 2, c[1]);
    db_text(s, 3, both[!k]);
    int rc = sqlite3_step(s);
    if (rc == SQLITE_ROW)
        snprintf(why, WHY_MAX, "%s is stated already, which says the same", both[!k]);
    else if (rc != SQLITE_DONE)
        e = db_fail(b, m);
    sqlite3_finalize(s);
    return e;
}

enum vb_err
family_fits(struct vb_book *b, char c[][MAX_CELL], const char **column, char *why,
            struct vb_msg *m)
{
    struct vb_family before, now;
    struct vb_msg clash = {0};
    why[0] = 0;
    *column = "key";
    enum vb_err e = stated_otherwise(b, c, why, m);
    if (e || why[0])
        return e;
    *column = "value";
    e = facts_family(b, c[0], &before, m);
    if (!e)
        e = facts_family_with(b, c, c[3], &now, m);
    if (!e && vb_family_clashes(&now, &clash) > vb_family_clashes(&before, NULL))
        snprintf(why, WHY_MAX, "with this %.200s", clash.text);
    return e;
}

static int
check_length(struct loader *ld, const struct feed *f, const char *unit)
{
    const struct vb_unit *u = vb_unit_find(unit, strlen(unit));
    if (u && u->dim == VB_DIM_LENGTH)
        return 1;
    load_refuse(ld, f, "unit", "not a unit of length: '%.20s'", unit);
    return 0;
}

/* A gauge reads lengths, or it is a degree wheel. */
static int
check_gauge(struct loader *ld, const struct feed *f, cell_text *c)
{
    const struct vb_unit *u = vb_unit_find(c[3], strlen(c[3]));
    if ((!*c[2] && !*c[3] && !*c[4]) ||
        (u && (u->dim == VB_DIM_LENGTH || u->dim == VB_DIM_ANGLE)))
        return 1;
    load_refuse(ld, f, "unit", "neither a unit of length nor of angle: '%.20s'", c[3]);
    return 0;
}

int
small_check(struct loader *ld, const struct feed *f, char c[][MAX_CELL], enum vb_err *e)
{
    const char *name = f->def->name;
    if (strcmp(name, "families") == 0)
        return check_family(ld, f, c, e);
    if (strcmp(name, "engines") == 0)
        return check_engine(ld, f, c, e);
    if (strcmp(name, "events") == 0)
        return check_event(ld, f, c, e);
    if (strcmp(name, "plan") == 0)
        return engine_known(ld, f, c[0], e);
    if (strcmp(name, "gauges") == 0)
        return check_gauge(ld, f, c);
    if (strcmp(name, "lobes") == 0)
        return check_length(ld, f, c[3]);
    if (strcmp(name, "shims") == 0)
        return check_length(ld, f, c[1]);
    if (strcmp(name, "trials") == 0)
        return check_length(ld, f, c[5]);
    return past_check(ld, f, c, e);
}
