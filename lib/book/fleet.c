/* Reading engines out of the book, one at a time, for the methods of lib/trade. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "book_impl.h"
#include "valvebook/date.h"
#include "valvebook/quantity.h"

struct query {
    struct vb_book *b;
    struct vb_msg *m;
    const char *as_of;
    struct vb_fleet *fleet;
    struct engine_read *r, pair[2]; // being filled, while the adder may have the other
    struct adder adder;
    struct swaps swaps;
    sqlite3_int64 *id; // of the engine's visits
    size_t id_size;
    sqlite3_stmt *engines, *visits, *events, *plan;
    struct lash_reader *lash;
    struct gauges *gauges;   // NULL where none states anything
    struct vb_lives kept;    // of one engine, as they come back
    unsigned char *computed; // [unit] computed now, not taken from what was kept
    size_t n_units, computed_size, n_computed;
};

static enum vb_err
ended(struct query *q, sqlite3_stmt *s, int rc, enum vb_err e)
{
    if (!e && rc != SQLITE_DONE)
        e = db_fail(q->b, q->m);
    sqlite3_reset(s);
    return e;
}

/* A word of a row into [size] bytes, cut to fit. */
static void
copy(char *to, size_t size, const char *word)
{
    size_t n = strlen(word);
    n = n < size ? n : size - 1;
    memcpy(to, word, n);
    to[n] = 0;
}

static enum vb_err
read_visits(struct query *q)
{
    int rc = SQLITE_DONE;
    enum vb_err e = VB_OK;
    db_text(q->visits, 1, q->r->e.name);
    db_text(q->visits, 2, q->as_of);
    q->r->e.n_visits = 0;
    q->r->e.meter_unit[0] = 0;
    while (!e && (rc = sqlite3_step(q->visits)) == SQLITE_ROW) {
        size_t n = q->r->e.n_visits;
        if (!list_room(&q->r->e.visit, n, &q->r->visits_size, sizeof *q->r->e.visit) ||
            !list_room(&q->id, n, &q->id_size, sizeof *q->id)) {
            e = VB_EMEM;
            break;
        }
        struct vb_visit *v = q->r->e.visit;
        q->id[n] = sqlite3_column_int64(q->visits, 0);
        copy(v[n].date, sizeof v[n].date, db_word(q->visits, 1));
        v[n].day = NAN;
        vb_date_days(v[n].date, &v[n].day);
        v[n].meter = db_number(q->visits, 2);
        v[n].running = isnan(v[n].meter) ? NAN
                                         : vb_meter_running(q->swaps.swap, q->swaps.n,
                                                            v[n].day, v[n].meter);
        if (*db_word(q->visits, 3))
            copy(q->r->e.meter_unit, sizeof q->r->e.meter_unit, db_word(q->visits, 3));
        q->r->e.n_visits++;
    }
    return ended(q, q->visits, rc, e);
}

static enum vb_event_kind
kind_of(const char *event)
{
    return strcmp(event, "build") == 0     ? VB_EVENT_BUILD
           : strcmp(event, "replace") == 0 ? VB_EVENT_REPLACE
           : strcmp(event, "fit") == 0     ? VB_EVENT_FIT
           : strcmp(event, "meter") == 0   ? VB_EVENT_METER
                                           : VB_EVENT_END;
}

static void
take_event(sqlite3_stmt *s, struct vb_event *ev)
{
    const char *part = db_word(s, 2), *at = db_word(s, 3);
    memset(ev, 0, sizeof *ev);
    copy(ev->date, sizeof ev->date, db_word(s, 0));
    vb_date_days(ev->date, &ev->day);
    ev->kind = kind_of(db_word(s, 1));
    if (ev->kind == VB_EVENT_BUILD || ev->kind == VB_EVENT_REPLACE)
        ev->renews = vb_part_renews(part, strlen(part));
    if (ev->renews && *at)
        facts_place(at, ev);
    copy(ev->build, sizeof ev->build, db_word(s, 4));
}

static enum vb_err
read_events(struct query *q)
{
    int rc = SQLITE_DONE;
    enum vb_err e = VB_OK;
    db_text(q->events, 1, q->r->e.name);
    db_text(q->events, 2, q->as_of);
    q->r->e.n_events = 0;
    while (!e && (rc = sqlite3_step(q->events)) == SQLITE_ROW) {
        if (!list_room(&q->r->e.event, q->r->e.n_events, &q->r->events_size,
                       sizeof *q->r->e.event)) {
            e = VB_EMEM;
            break;
        }
        take_event(q->events, &q->r->e.event[q->r->e.n_events++]);
    }
    return ended(q, q->events, rc, e);
}

static enum vb_err
read_plan(struct query *q)
{
    int rc = SQLITE_DONE;
    enum vb_err e = VB_OK;
    db_text(q->plan, 1, q->r->e.name);
    q->r->e.n_plan = 0;
    while (!e && (rc = sqlite3_step(q->plan)) == SQLITE_ROW) {
        if (!list_room(&q->r->e.plan, q->r->e.n_plan, &q->r->plan_size,
                       sizeof *q->r->e.plan)) {
            e = VB_EMEM;
            break;
        }
        struct vb_plan *p = &q->r->e.plan[q->r->e.n_plan++];
        memset(p, 0, sizeof *p);
        copy(p->date, sizeof p->date, db_word(q->plan, 0));
        vb_date_days(p->date, &p->day);
        p->gain = db_number(q->plan, 1);
        copy(p->label, sizeof p->label, db_word(q->plan, 2));
    }
    return ended(q, q->plan, rc, e);
}

/* Visits, events and lash of the engine whose name is in q->r->e. */
static enum vb_err
read_readings(struct query *q)
{
    enum vb_err e = facts_swaps(q->b, q->r->e.name, &q->swaps, q->m);
    if (!e)
        e = read_visits(q);
    if (!e)
        e = read_events(q);
    return e ? e
             : lash_read(q->lash, q->id, q->r->e.n_visits, &q->r->e.lash, &q->r->e.n_lash,
                         &q->r->lash_size, q->m);
}

/* Handed on to be computed; the next engine is read into the other one. */
static enum vb_err
compute_engine(struct query *q, double as_of)
{
    enum vb_err e = read_readings(q);
    if (!e)
        e = adder_give(&q->adder, q->fleet, &q->r->e, as_of);
    q->r = q->r == q->pair ? q->pair + 1 : q->pair;
    return e;
}

/* As the next unit of the fleet: what was kept, or computed now. */
static enum vb_err
add_engine(struct query *q, double as_of)
{
    size_t unit = q->n_units++;
    int has = 0;
    enum vb_err e = VB_OK;
    if (!list_room(&q->computed, unit, &q->computed_size, sizeof *q->computed))
        return VB_EMEM;
    const void *bytes = sqlite3_column_blob(q->engines, 2);
    if (bytes && !(e = adder_wait(&q->adder)))
        e = kept_take(bytes, (size_t)sqlite3_column_bytes(q->engines, 2), &q->r->e, as_of,
                      &q->kept, q->fleet, &has);
    q->computed[unit] = !has;
    q->n_computed += !has;
    return e || has ? e : compute_engine(q, as_of);
}

static enum vb_err
name_engine(struct engine_read *r, const char *name)
{
    while (strlen(name) >= r->name_size)
        if (!list_room(&r->name, r->name_size, &r->name_size, 1))
            return VB_EMEM;
    memcpy(r->name, name, strlen(name) + 1);
    r->e.name = r->name;
    return VB_OK;
}

static enum vb_err
read_engine(struct query *q)
{
    int made;
    double as_of;
    struct vb_family_kept *k = vb_fleet_family(q->fleet, db_word(q->engines, 1), &made);
    enum vb_err e = k ? VB_OK : VB_EMEM;
    if (!e && made)
        e = facts_family(q->b, k->name, &k->facts, q->m);
    if (!e)
        e = name_engine(q->r, db_word(q->engines, 0));
    if (!e)
        e = read_plan(q);
    if (e)
        return e;
    q->r->e.family = &k->facts;
    q->r->e.family_name = k->name;
    vb_date_days(q->as_of, &as_of);
    return add_engine(q, as_of);
}

/* Dates with a time of day sort behind the bare date: '~' is behind them all. */
static enum vb_err
prepare(struct query *q)
{
    const struct {
        sqlite3_stmt **s;
        const char *sql;
    } all[] = {
        {&q->engines, "SELECT e.engine, e.family, f.kept FROM engines e"
                      " LEFT JOIN fresh f ON f.engine = e.engine AND f.version = ?3"
                      " AND f.newest <= ?2 || '~' WHERE ?1 IS NULL OR e.family = ?1"
                      " ORDER BY e.engine"},
        {&q->visits, "SELECT visit, date, meter, meter_unit FROM visits WHERE engine = ?1"
                     " AND date <= ?2 || '~' ORDER BY date"},
        {&q->events, "SELECT date, event, part, at, build FROM events WHERE engine = ?1"
                     " AND date <= ?2 || '~' ORDER BY date, event, part, at"},
        {&q->plan,
         "SELECT date, meter_gain, label FROM plan WHERE engine = ? ORDER BY date"},
    };
    enum vb_err e = lash_open(q->b, q->gauges, &q->lash, q->m);
    for (size_t i = 0; !e && i < sizeof all / sizeof *all; i++)
        e = db_prepare(q->b, all[i].sql, all[i].s, q->m);
    return e;
}

static enum vb_err
read_all(struct query *q, const char *family)
{
    int rc = SQLITE_DONE;
    enum vb_err e = gauges_read(q->b, &q->gauges, q->m);
    if (!e)
        e = prepare(q);
    if (e)
        return e;
    if (family)
        db_text(q->engines, 1, family);
    db_text(q->engines, 2, q->as_of);
    db_text(q->engines, 3, KEPT_VERSION);
    while (!e && (rc = sqlite3_step(q->engines)) == SQLITE_ROW)
        e = read_engine(q);
    e = ended(q, q->engines, rc, e);
    enum vb_err added = adder_stop(&q->adder);
    e = e ? e : added;
    if (!e && family && q->n_units == 0) {
        vb_msg_at(q->m, q->b->path, 0, NULL);
        vb_msg_set(q->m, "no engine of family '%.60s'", family);
        e = VB_EUNKNOWN;
    }
    return e;
}

static void
finish(struct query *q)
{
    sqlite3_stmt *all[] = {q->engines, q->visits, q->events, q->plan};
    for (size_t i = 0; i < sizeof all / sizeof *all; i++)
        sqlite3_finalize(all[i]);
    lash_close(q->lash);
    vb_lives_clear(&q->kept);
    gauges_free(q->gauges);
    for (int i = 0; i < 2; i++) {
        struct engine_read *r = &q->pair[i];
        free(r->e.visit);
        free(r->e.event);
        free(r->e.lash);
        free(r->e.plan);
        free(r->name);
    }
    free(q->id);
    free(q->swaps.swap);
}

enum vb_err
vb_book_fleet(struct vb_book *b, const char *engine, const char *family,
              const char *as_of, struct vb_fleet *out, struct vb_msg *m)
{
    struct query q = {.b = b, .m = m, .as_of = as_of, .fleet = out};
    q.r = q.pair;
    char own[512];
    memset(out, 0, sizeof *out);
    enum vb_err e = db_exec(b, "BEGIN", m); // one state of the book, whoever loads
    if (!e && engine && !(e = facts_engine(b, engine, own, sizeof own, m)))
        family = own;
    if (!e)
        e = read_all(&q, family);
    finish(&q);
    if (!e && q.n_computed)
        keep_computed(b, out, q.computed, as_of);
    free(q.computed);
    if (!sqlite3_get_autocommit(b->db))
        sqlite3_exec(b->db, "ROLLBACK", NULL, NULL, NULL);
    if (!e)
        e = vb_fleet_pool(out);
    if (e)
        vb_fleet_clear(out);
    else if (engine)
        vb_fleet_keep(out, engine);
    return e;
}

enum vb_err
query_open(struct vb_book *b, const char *as_of, struct query **out, struct vb_msg *m)
{
    struct query *q = calloc(1, sizeof *q);
    if (!q)
        return VB_EMEM;
    q->b = b;
    q->m = m;
    q->as_of = as_of;
    q->r = q->pair;
    enum vb_err e = gauges_read(b, &q->gauges, m);
    if (!e)
        e = prepare(q);
    if (e)
        query_close(q);
    else
        *out = q;
    return e;
}

enum vb_err
query_engine(struct query *q, const struct vb_unit_now *u, const struct vb_engine **out)
{
    q->r->e.name = u->name;
    q->r->e.family = u->family;
    q->r->e.family_name = u->family_name;
    enum vb_err e = read_plan(q);
    if (!e)
        e = read_readings(q);
    if (!e)
        *out = &q->r->e;
    return e;
}

void
query_close(struct query *q)
{
    if (!q)
        return;
    finish(q);
    free(q);
}
