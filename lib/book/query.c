/* Reading engines out of the book, one at a time, for the methods of lib/trade. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "book_impl.h"
#include "valvebook/date.h"
#include "valvebook/quantity.h"
#include "valvebook/utf8.h"

struct query {
    struct vb_book *b;
    struct vb_msg *m;
    const char *as_of;
    double day; // as_of
    struct swaps swaps;
    sqlite3_int64 *id; // of the engine's visits
    size_t id_size;
    sqlite3_stmt *visits, *events, *plan;
    struct lash_reader *lash;
    struct gauges *gauges; // NULL where none states anything
    struct engine_read own;
};

static enum vb_err
read_visits(struct query *q, struct engine_read *r)
{
    int rc = SQLITE_DONE;
    enum vb_err e = VB_OK;
    db_text(q->visits, 1, r->e.name);
    db_text(q->visits, 2, q->as_of);
    r->e.n_visits = 0;
    r->e.meter_unit[0] = 0;
    while ((rc = sqlite3_step(q->visits)) == SQLITE_ROW) {
        size_t n = r->e.n_visits;
        if (!list_room(&r->e.visit, n, &r->visits_size, sizeof *r->e.visit) ||
            !list_room(&q->id, n, &q->id_size, sizeof *q->id)) {
            e = VB_EMEM;
            break;
        }
        struct vb_visit *v = r->e.visit;
        q->id[n] = sqlite3_column_int64(q->visits, 0);
        vb_utf8_copy(v[n].date, sizeof v[n].date, db_word(q->visits, 1));
        v[n].day = NAN;
        vb_date_days(v[n].date, &v[n].day);
        v[n].meter = db_number(q->visits, 2);
        v[n].running = isnan(v[n].meter) ? NAN
                                         : vb_meter_running(q->swaps.swap, q->swaps.n,
                                                            v[n].day, v[n].meter);
        if (*db_word(q->visits, 3))
            vb_utf8_copy(r->e.meter_unit, sizeof r->e.meter_unit, db_word(q->visits, 3));
        r->e.n_visits++;
    }
    return db_ended(q->b, q->visits, rc, e, q->m);
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
take_event(sqlite3_stmt *s, const struct vb_family *f, struct vb_event *ev)
{
    const char *part = db_word(s, 2), *at = db_word(s, 3);
    memset(ev, 0, sizeof *ev);
    vb_utf8_copy(ev->date, sizeof ev->date, db_word(s, 0));
    vb_date_days(ev->date, &ev->day);
    ev->kind = kind_of(db_word(s, 1));
    if (ev->kind == VB_EVENT_BUILD || ev->kind == VB_EVENT_REPLACE)
        ev->renews = vb_part_renews(part, strlen(part));
    if (ev->renews && *at)
        facts_place(at, ev);
    facts_one_cam(f, part, ev);
    vb_utf8_copy(ev->build, sizeof ev->build, db_word(s, 4));
}

static enum vb_err
read_events(struct query *q, struct engine_read *r)
{
    int rc = SQLITE_DONE;
    enum vb_err e = VB_OK;
    db_text(q->events, 1, r->e.name);
    db_text(q->events, 2, q->as_of);
    r->e.n_events = 0;
    while ((rc = sqlite3_step(q->events)) == SQLITE_ROW) {
        if (!list_room(&r->e.event, r->e.n_events, &r->events_size, sizeof *r->e.event)) {
            e = VB_EMEM;
            break;
        }
        take_event(q->events, r->e.family, &r->e.event[r->e.n_events++]);
    }
    return db_ended(q->b, q->events, rc, e, q->m);
}

enum vb_err
query_plan(struct query *q, struct engine_read *r)
{
    int rc = SQLITE_DONE;
    enum vb_err e = VB_OK;
    db_text(q->plan, 1, r->e.name);
    r->e.n_plan = 0;
    while ((rc = sqlite3_step(q->plan)) == SQLITE_ROW) {
        if (!list_room(&r->e.plan, r->e.n_plan, &r->plan_size, sizeof *r->e.plan)) {
            e = VB_EMEM;
            break;
        }
        struct vb_plan *p = &r->e.plan[r->e.n_plan++];
        memset(p, 0, sizeof *p);
        vb_utf8_copy(p->date, sizeof p->date, db_word(q->plan, 0));
        vb_date_days(p->date, &p->day);
        p->gain = db_number(q->plan, 1);
        vb_utf8_copy(p->label, sizeof p->label, db_word(q->plan, 2));
    }
    return db_ended(q->b, q->plan, rc, e, q->m);
}

/* Visits, events and lash. */
static enum vb_err
read_readings(struct query *q, struct engine_read *r)
{
    enum vb_err e = facts_swaps(q->b, r->e.name, &q->swaps, q->m);
    r->e.offset = vb_meter_offset(q->swaps.swap, q->swaps.n, q->day);
    if (!e)
        e = read_visits(q, r);
    if (!e)
        e = read_events(q, r);
    return e ? e
             : lash_read(q->lash, q->id, r->e.n_visits, &r->e.lash, &r->e.n_lash,
                         &r->lash_size, q->m);
}

enum vb_err
query_read(struct query *q, struct engine_read *r)
{
    enum vb_err e = query_plan(q, r);
    return e ? e : read_readings(q, r);
}

enum vb_err
query_name(struct engine_read *r, const char *name, const struct vb_family_kept *k)
{
    while (strlen(name) >= r->name_size)
        if (!list_room(&r->name, r->name_size, &r->name_size, 1))
            return VB_EMEM;
    memcpy(r->name, name, strlen(name) + 1);
    r->e.name = r->name;
    r->e.family = &k->facts;
    r->e.family_name = k->name;
    return VB_OK;
}

void
query_free(struct engine_read *r)
{
    free(r->e.visit);
    free(r->e.event);
    free(r->e.lash);
    free(r->e.plan);
    free(r->name);
}

/* Dates with a time of day sort behind the bare date: '~' is behind them all. */
static enum vb_err
prepare(struct query *q)
{
    const struct {
        sqlite3_stmt **s;
        const char *sql;
    } all[] = {
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

enum vb_err
query_open(struct vb_book *b, const char *as_of, struct query **out, struct vb_msg *m)
{
    struct query *q = calloc(1, sizeof *q);
    if (!q)
        return VB_EMEM;
    q->b = b;
    q->m = m;
    q->as_of = as_of;
    vb_date_days(as_of, &q->day);
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
    q->own.e.name = u->name;
    q->own.e.family = u->family;
    q->own.e.family_name = u->family_name;
    enum vb_err e = query_read(q, &q->own);
    if (!e)
        *out = &q->own.e;
    return e;
}

void
query_close(struct query *q)
{
    if (!q)
        return;
    sqlite3_finalize(q->visits);
    sqlite3_finalize(q->events);
    sqlite3_finalize(q->plan);
    lash_close(q->lash);
    gauges_free(q->gauges);
    query_free(&q->own);
    free(q->id);
    free(q->swaps.swap);
    free(q);
}
