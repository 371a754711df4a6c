/*
 * Visits and readings, both in order of their numbers, beside each other: a reading's number
 * is its visit's and its place's. Places are few and are kept; of the origins, of which there
 * may be as many as readings, those seen lately.
 */
#include "audit_impl.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/quantity.h"
#include "valvebook/unit.h"
#include "valvebook/valve.h"

#define SLOTS 1024 // origins

struct spot {
    const struct vb_quantity *quantity; // NULL: no such place, or told already
    char *at;
    struct vb_valve valve;
};

struct of_family {
    char *name;
    struct vb_family facts;
};

struct of_engine {
    char *name;
    size_t family;
};

struct walk {
    struct audit *a;
    struct spot *spot; // [PLACE_MAX]
    struct of_family *family;
    struct of_engine *engine; // [n_engines] by name
    size_t n_families, families_size, n_engines, engines_size;
    sqlite3_stmt *visits, *origins;
    sqlite3_int64 good_origin[SLOTS];
    /* of the visit */
    int at_end;
    sqlite3_int64 visit;
    unsigned long long readings;
    const struct of_engine *of; // NULL: no such engine
};

enum { V_VISIT, V_ENGINE, V_DATE, V_METER, V_UNIT };
enum { R_READING, R_FOUND, R_LEFT, R_U, R_TEMP, R_ORIGIN, R_LINE };

/* --- places ----------------------------------------------------------------------- */

static enum vb_err
check_place(struct audit *a, void *arg, sqlite3_stmt *row)
{
    sqlite3_int64 place = sqlite3_column_int64(row, 0);
    const char *quantity = db_word(row, 1), *at = db_word(row, 2),
               *cell[] = {quantity, at};
    const struct vb_quantity *q = vb_quantity_find(quantity, strlen(quantity));
    char key[KEY_TEXT];
    struct vb_valve v;
    (void)arg;
    cells_join(cell, 2, key, sizeof key);
    if (place <= 0 || place >= PLACE_MAX) {
        audit_tell(a, "places", key, "place", "no place has the number %lld",
                   (long long)place);
        a->damaged |= BIT(A_PLACES); // no list reads such a book
    }
    if (!q)
        audit_tell(a, "places", key, "quantity", "unknown quantity '%.40s'", quantity);
    else if (!vb_quantity_place(q, at, &v))
        audit_tell(a, "places", key, "at", "%s is not read at '%.40s'", quantity, at);
    return VB_OK;
}

enum vb_err
audit_places(struct audit *a, enum audit_table table)
{
    (void)table;
    return audit_each(a, "SELECT place, quantity, at FROM places ORDER BY quantity, at",
                      check_place, NULL);
}

static enum vb_err
keep_place(struct audit *a, void *arg, sqlite3_stmt *row)
{
    struct walk *w = arg;
    sqlite3_int64 place = sqlite3_column_int64(row, 0);
    const char *quantity = db_word(row, 1), *at = db_word(row, 2);
    (void)a;
    if (place <= 0 || place >= PLACE_MAX)
        return VB_OK;
    struct spot *p = &w->spot[place];
    if (!(p->at = strdup(at)))
        return VB_EMEM;
    p->quantity = vb_quantity_find(quantity, strlen(quantity));
    if (p->quantity && !vb_quantity_place(p->quantity, at, &p->valve))
        p->quantity = NULL;
    return VB_OK;
}

/* --- engines ---------------------------------------------------------------------- */

static enum vb_err
family_number(struct walk *w, const char *name, size_t *number)
{
    for (*number = 0; *number < w->n_families; ++*number)
        if (strcmp(w->family[*number].name, name) == 0)
            return VB_OK;
    if (!list_room(&w->family, w->n_families, &w->families_size, sizeof *w->family))
        return VB_EMEM;
    struct of_family *f = &w->family[*number];
    if (!(f->name = strdup(name)))
        return VB_EMEM;
    w->n_families++;
    return facts_family(w->a->b, name, &f->facts, w->a->m);
}

static enum vb_err
keep_engine(struct audit *a, void *arg, sqlite3_stmt *row)
{
    struct walk *w = arg;
    size_t family;
    (void)a;
    enum vb_err e = family_number(w, db_word(row, 1), &family);
    if (!e && !list_room(&w->engine, w->n_engines, &w->engines_size, sizeof *w->engine))
        e = VB_EMEM;
    if (e)
        return e;
    w->engine[w->n_engines] = (struct of_engine){strdup(db_word(row, 0)), family};
    return w->engine[w->n_engines].name ? w->n_engines++, VB_OK : VB_EMEM;
}

static int
by_name(const void *name, const void *engine)
{
    return strcmp(name, ((const struct of_engine *)engine)->name);
}

static const struct of_engine *
engine_of(const struct walk *w, const char *name)
{
    if (w->of && strcmp(w->of->name, name) == 0)
        return w->of;
    return w->n_engines
               ? bsearch(name, w->engine, w->n_engines, sizeof *w->engine, by_name)
               : NULL;
}

/* --- visits ----------------------------------------------------------------------- */

/* The key of a reading of the visit, or with NULL that of its meter. */
static void
key_of(const struct walk *w, const struct spot *p, char *key)
{
    const char *cell[] = {db_word(w->visits, V_ENGINE), db_word(w->visits, V_DATE),
                          p && p->quantity ? p->quantity->name : "",
                          p && p->at ? p->at : ""};
    cells_join(cell, 4, key, KEY_TEXT);
}

static void
check_meter(struct walk *w, const char *key)
{
    const char *unit = db_word(w->visits, V_UNIT);
    double meter = db_number(w->visits, V_METER);
    int is_unit = strcmp(unit, "h") == 0 || strcmp(unit, "km") == 0;
    if (*unit && !is_unit)
        audit_tell(w->a, "readings", key, "meter_unit",
                   "a meter runs in h or km, not '%.20s'", unit);
    else if (is_unit == isnan(meter))
        audit_tell(w->a, "readings", key, "meter_unit",
                   is_unit ? "a unit without a meter" : "a meter without a unit");
    if (!isnan(meter) && !(meter >= 0 && meter < HUGE_VAL))
        audit_tell(w->a, "readings", key, "meter", "no meter shows %g", meter);
}

static void
check_visit(struct walk *w)
{
    char key[KEY_TEXT];
    const char *engine = db_word(w->visits, V_ENGINE);
    key_of(w, NULL, key);
    w->a->rows[A_VISITS]++;
    if (w->visit <= 0 || w->visit > VISIT_TOP)
        audit_tell(w->a, "readings", key, "visit", "no visit has the number %lld",
                   (long long)w->visit);
    if (!(w->of = engine_of(w, engine)))
        audit_tell(w->a, "readings", key, "engine", "unknown engine '%.60s'", engine);
    audit_date(w->a, "readings", key, "date", db_word(w->visits, V_DATE));
    check_meter(w, key);
}

static enum vb_err
next_visit(struct walk *w)
{
    int rc = sqlite3_step(w->visits);
    w->at_end = rc != SQLITE_ROW;
    w->readings = 0;
    if (rc == SQLITE_ROW) {
        w->visit = sqlite3_column_int64(w->visits, V_VISIT);
        check_visit(w);
    }
    return rc == SQLITE_ROW || rc == SQLITE_DONE ? VB_OK : db_fail(w->a->b, w->a->m);
}

static enum vb_err
leave_visit(struct walk *w)
{
    char key[KEY_TEXT];
    key_of(w, NULL, key);
    if (!w->readings && w->visit > 0 && w->visit <= VISIT_TOP)
        audit_tell(w->a, "readings", key, "visit", "a visit without a reading");
    return next_visit(w);
}

/* --- readings --------------------------------------------------------------------- */

static void
check_value(struct walk *w, sqlite3_stmt *row, int i, const char *column,
            const struct spot *p)
{
    char num[VB_NUM_MAX], key[KEY_TEXT];
    double x = db_number(row, i);
    int is_value = i == R_FOUND || i == R_LEFT;
    if (isnan(x) || (is_value ? vb_quantity_credible(p->quantity, x)
                              : isfinite(x) && (i == R_TEMP || x > 0)))
        return;
    if (isinf(x))
        snprintf(num, sizeof num, "%g", x);
    else
        vb_double_format(x, num);
    key_of(w, p, key);
    audit_tell(w->a, "readings", key, column, "%s '%s'",
               is_value || isinf(x) ? "no credible value"
                                    : "an uncertainty is above zero, not",
               num);
}

static void
check_values(struct walk *w, sqlite3_stmt *row, const struct spot *p)
{
    char key[KEY_TEXT];
    for (int i = 0; i < N_VALUES; i++)
        check_value(w, row, R_FOUND + i, reading_columns[i], p);
    int none = sqlite3_column_type(row, R_FOUND) == SQLITE_NULL &&
               sqlite3_column_type(row, R_LEFT) == SQLITE_NULL;
    int line = sqlite3_column_int64(row, R_LINE) < 0;
    if (!none && !line)
        return;
    key_of(w, p, key);
    if (none)
        audit_tell(w->a, "readings", key, "found", "neither found nor left");
    if (line)
        audit_tell(w->a, "readings", key, "line", "bad number '%lld'",
                   (long long)sqlite3_column_int64(row, R_LINE));
}

static enum vb_err
check_origin(struct walk *w, sqlite3_int64 origin, const struct spot *p)
{
    char key[KEY_TEXT];
    sqlite3_int64 *slot = &w->good_origin[(size_t)origin % SLOTS];
    if (*slot == origin && origin)
        return VB_OK;
    sqlite3_bind_int64(w->origins, 1, origin);
    int rc = sqlite3_step(w->origins);
    sqlite3_reset(w->origins);
    if (rc == SQLITE_ROW)
        *slot = origin;
    else if (rc != SQLITE_DONE)
        return db_fail(w->a->b, w->a->m);
    if (rc == SQLITE_ROW)
        return VB_OK;
    key_of(w, p, key);
    audit_tell(w->a, "readings", key, "source",
               "its origin, row %lld of origins, is missing", (long long)origin);
    return VB_OK;
}

/* Of the visit that is looked at. */
static enum vb_err
check_reading(struct walk *w, sqlite3_stmt *row, size_t place)
{
    const struct spot *p = &w->spot[place];
    char key[KEY_TEXT];
    if (!p->at) {
        key_of(w, NULL, key);
        audit_tell(w->a, "readings", key, "at",
                   "its place, row %zu of places, is missing", place);
    }
    if (p->quantity) {
        check_values(w, row, p);
        if (w->of && p->quantity->at == VB_AT_VALVE &&
            !vb_family_has(&w->family[w->of->family].facts, p->valve)) {
            key_of(w, p, key);
            audit_tell(w->a, "readings", key, "at", "this family has no valve '%s'",
                       p->at);
        }
    }
    return check_origin(w, sqlite3_column_int64(row, R_ORIGIN), p);
}

static enum vb_err
take_reading(struct audit *a, void *arg, sqlite3_stmt *row)
{
    struct walk *w = arg;
    sqlite3_int64 id = sqlite3_column_int64(row, R_READING);
    sqlite3_int64 place = id & 65535, visit = (id - place) / 65536;
    enum vb_err e = VB_OK;
    a->rows[A_READING]++;
    while (!e && !w->at_end && w->visit < visit)
        e = leave_visit(w);
    if (e)
        return e;
    if (w->at_end || w->visit != visit) {
        audit_tell(a, "readings", "", "visit", "row %lld of reading belongs to no visit",
                   (long long)id);
        return VB_OK;
    }
    w->readings++;
    return check_reading(w, row, (size_t)place);
}

static enum vb_err
walk_all(struct walk *w)
{
    struct audit *a = w->a;
    enum vb_err e =
        audit_each(a, "SELECT place, quantity, at FROM places", keep_place, w);
    if (!e)
        e = audit_each(a, "SELECT engine, family FROM engines ORDER BY engine",
                       keep_engine, w);
    if (!e)
        e = db_prepare(
            a->b,
            "SELECT visit, engine, date, meter, meter_unit FROM visits ORDER BY visit",
            &w->visits, a->m);
    if (!e)
        e = db_prepare(a->b, "SELECT 1 FROM origins WHERE origin = ?", &w->origins, a->m);
    if (!e)
        e = next_visit(w);
    if (!e)
        e = audit_each(a,
                       "SELECT reading, found, left, u, temp_c, origin, line FROM reading"
                       " ORDER BY reading",
                       take_reading, w);
    while (!e && !w->at_end)
        e = leave_visit(w);
    return e;
}

enum vb_err
audit_readings(struct audit *a, enum audit_table table)
{
    struct walk *w = calloc(1, sizeof *w);
    (void)table;
    if (!w || !(w->spot = calloc(PLACE_MAX, sizeof *w->spot))) {
        free(w);
        return VB_EMEM;
    }
    w->a = a;
    enum vb_err e = walk_all(w);
    sqlite3_finalize(w->visits);
    sqlite3_finalize(w->origins);
    for (size_t i = 0; i < PLACE_MAX; i++)
        free(w->spot[i].at);
    for (size_t i = 0; i < w->n_families; i++)
        free(w->family[i].name);
    for (size_t i = 0; i < w->n_engines; i++)
        free(w->engine[i].name);
    free(w->spot);
    free(w->family);
    free(w->engine);
    free(w);
    return e;
}
