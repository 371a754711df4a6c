/*
 * The engines a load may meet, in memory: some hundreds of bytes each. So the rows of a
 * new visit need no query, and SQLite is left alone with its inserts.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "reading_impl.h"

static struct named_family *
family_of(struct reader *r, const char *name, enum vb_err *e)
{
    for (struct named_family *p = r->families; p; p = p->next)
        if (strcmp(p->name, name) == 0)
            return p;
    struct named_family *p = calloc(1, sizeof *p);
    if (!p || !(p->name = strdup(name))) {
        free(p);
        *e = VB_EMEM;
        return NULL;
    }
    p->next = r->families;
    r->families = p;
    *e = facts_family(r->b, name, &p->facts, r->m);
    return p;
}

void
engine_mark(const struct engine_known *en, double day, double meter, const char *unit,
            struct vb_mark *out)
{
    *out = (struct vb_mark){.kind = VB_MARK_VISIT,
                            .day = day,
                            .meter = meter,
                            .running =
                                vb_meter_running(en->swaps.swap, en->swaps.n, day, meter),
                            .km = unit[0] == 'k'};
}

/* newest: date, meter, unit of the newest visit, and the unit of any that has one */
static void
take_newest(sqlite3_stmt *s, int from, struct engine_known *en)
{
    double day;
    snprintf(en->newest, sizeof en->newest, "%s", db_word(s, from));
    snprintf(en->meter_unit, sizeof en->meter_unit, "%s", db_word(s, from + 2));
    en->last = (struct vb_mark){.km = -1};
    en->unknown = en->newest[0] != 0;
    if (sqlite3_column_type(s, from + 1) == SQLITE_NULL || vb_date_days(en->newest, &day))
        return;
    en->unknown = 0;
    engine_mark(en, day, sqlite3_column_double(s, from + 1), en->meter_unit, &en->last);
}

#define NEWEST                                                                           \
    "v.date, v.meter, (SELECT meter_unit FROM visits w WHERE w.engine = e.engine AND"    \
    " w.meter_unit <> '' LIMIT 1) FROM engines e LEFT JOIN visits v ON v.visit ="        \
    " (SELECT visit FROM visits x WHERE x.engine = e.engine ORDER BY date DESC LIMIT 1)"

enum vb_err
engine_refresh(struct reader *r, struct engine_known *en)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e = db_prepare(r->b, "SELECT " NEWEST " WHERE e.engine = ?", &s, r->m);
    if (e)
        return e;
    db_text(s, 1, en->name);
    int rc;
    while ((rc = sqlite3_step(s)) == SQLITE_ROW) // one, as engines have one name
        take_newest(s, 0, en);
    if (rc != SQLITE_DONE)
        e = db_fail(r->b, r->m);
    sqlite3_finalize(s);
    return e;
}

enum vb_err
engine_reread(struct reader *r, struct engine_known *en)
{
    enum vb_err e = facts_swaps(r->b, en->name, &en->swaps, r->m);
    if (!e)
        e = facts_marks(r->b, en->name, &en->swaps, &en->marks, r->m);
    return e ? e : engine_refresh(r, en);
}

static enum vb_err
take_engine(struct reader *r, sqlite3_stmt *s, struct engine_known *en)
{
    enum vb_err e = VB_OK;
    memset(en, 0, sizeof *en);
    if (!(en->name = strdup(db_word(s, 0))))
        return VB_EMEM;
    en->n = strlen(en->name);
    const struct named_family *f = family_of(r, db_word(s, 1), &e);
    en->family = f ? &f->facts : NULL;
    int events = sqlite3_column_int(s, 2); // an engine has few, or none
    if (!e && events)
        e = facts_swaps(r->b, en->name, &en->swaps, r->m);
    if (!e && events)
        e = facts_marks(r->b, en->name, &en->swaps, &en->marks, r->m);
    take_newest(s, 3, en);
    return e;
}

enum vb_err
engines_read(struct reader *r)
{
    sqlite3_stmt *s = NULL;
    size_t size = 0;
    int rc = SQLITE_DONE;
    enum vb_err e = db_prepare(
        r->b,
        "SELECT e.engine, e.family, (SELECT count(*) FROM events WHERE"
        " events.engine = e.engine AND meter NOT NULL), " NEWEST " ORDER BY e.engine",
        &s, r->m);
    while (!e && (rc = sqlite3_step(s)) == SQLITE_ROW) {
        if (r->n_engines == size) {
            size_t more = size ? 2 * size : 64;
            struct engine_known *p = realloc(r->engines, more * sizeof *p);
            if (!p) {
                e = VB_EMEM;
                break;
            }
            r->engines = p;
            size = more;
        }
        e = take_engine(r, s, &r->engines[r->n_engines++]);
    }
    if (!e && rc != SQLITE_DONE)
        e = db_fail(r->b, r->m);
    sqlite3_finalize(s);
    return e;
}

struct engine_known *
engine_find(struct reader *r, struct vb_text name)
{
    size_t lo = 0, hi = r->n_engines;
    while (lo < hi) {
        size_t mid = lo + (hi - lo) / 2;
        struct engine_known *en = &r->engines[mid];
        size_t n = name.n < en->n ? name.n : en->n;
        int c = n ? memcmp(name.s, en->name, n) : 0;
        if (c == 0 && name.n == en->n)
            return en;
        if (c < 0 || (c == 0 && name.n < en->n))
            hi = mid;
        else
            lo = mid + 1;
    }
    return NULL;
}

enum vb_err
engines_stale(struct reader *r)
{
    int possible = 0;
    enum vb_err e = stale_possible(r->b, &possible, r->m);
    for (size_t i = 0; !e && possible && i < r->n_engines; i++)
        if (r->engines[i].changed)
            e = stale(r->b, STALE_ENGINE, r->engines[i].name, r->m);
    return e;
}

void
engines_free(struct reader *r)
{
    for (size_t i = 0; i < r->n_engines; i++) {
        free(r->engines[i].name);
        free(r->engines[i].swaps.swap);
        free(r->engines[i].marks.mark);
    }
    free(r->engines);
    while (r->families) {
        struct named_family *next = r->families->next;
        free(r->families->name);
        free(r->families);
        r->families = next;
    }
}
