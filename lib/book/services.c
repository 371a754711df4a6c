/* Reading what happened to parts and settings out of the book, one engine at a time. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "book_impl.h"
#include "valvebook/book_life.h"
#include "valvebook/date.h"
#include "valvebook/quantity.h"

struct query {
    struct vb_book *b;
    struct vb_msg *m;
    const char *as_of;
    int with_lash;
    struct vb_service_wish wish;
    struct vb_services *out;
    struct vb_engine e;
    struct vb_renewed *renewed;
    struct swaps swaps;
    struct gauges *gauges; // NULL where none states anything
    sqlite3_int64 *id;     // of the engine's visits
    size_t id_size, visits_size, events_size, renewed_size, lash_size;
    sqlite3_stmt *engines, *visits, *events, *lash;
};

static double
running_of(const struct query *q, double day, double meter)
{
    return isnan(meter) ? NAN : vb_meter_running(q->swaps.swap, q->swaps.n, day, meter);
}

static enum vb_err
read_visits(struct query *q)
{
    int rc = SQLITE_DONE;
    struct vb_engine *en = &q->e;
    db_text(q->visits, 1, en->name);
    db_text(q->visits, 2, q->as_of);
    for (en->n_visits = 0; (rc = sqlite3_step(q->visits)) == SQLITE_ROW; en->n_visits++) {
        size_t n = en->n_visits;
        if (!list_room(&en->visit, n, &q->visits_size, sizeof *en->visit) ||
            !list_room(&q->id, n, &q->id_size, sizeof *q->id))
            return db_ended(q->b, q->visits, rc, VB_EMEM, q->m);
        struct vb_visit *v = &en->visit[n];
        memset(v, 0, sizeof *v);
        q->id[n] = sqlite3_column_int64(q->visits, 0);
        snprintf(v->date, sizeof v->date, "%s", db_word(q->visits, 1));
        vb_date_days(v->date, &v->day);
        v->meter = db_number(q->visits, 2);
        v->running = running_of(q, v->day, v->meter);
        if (*db_word(q->visits, 3))
            snprintf(en->meter_unit, sizeof en->meter_unit, "%s", db_word(q->visits, 3));
    }
    return db_ended(q->b, q->visits, rc, VB_OK, q->m);
}

static void
take_event(struct query *q, struct vb_event *ev, struct vb_renewed *r)
{
    static const char *const kinds[] = {[VB_EVENT_BUILD] = "build",
                                        [VB_EVENT_REPLACE] = "replace",
                                        [VB_EVENT_FIT] = "fit",
                                        [VB_EVENT_METER] = "meter"};
    const char *kind = db_word(q->events, 1), *part = db_word(q->events, 2);
    const char *at = db_word(q->events, 3);
    memset(ev, 0, sizeof *ev);
    memset(r, 0, sizeof *r);
    snprintf(ev->date, sizeof ev->date, "%s", db_word(q->events, 0));
    vb_date_days(ev->date, &ev->day);
    for (ev->kind = VB_EVENT_BUILD; ev->kind < VB_EVENT_END; ev->kind++)
        if (strcmp(kind, kinds[ev->kind]) == 0)
            break;
    if (ev->kind == VB_EVENT_BUILD || ev->kind == VB_EVENT_REPLACE) {
        ev->renews = vb_part_renews(part, strlen(part));
        if (*at)
            facts_place(at, ev);
    }
    snprintf(r->part, sizeof r->part, "%s", part);
    r->running = running_of(q, ev->day, db_number(q->events, 4));
    if (!*q->e.meter_unit)
        snprintf(q->e.meter_unit, sizeof q->e.meter_unit, "%s", db_word(q->events, 5));
}

static enum vb_err
read_events(struct query *q)
{
    int rc = SQLITE_DONE;
    struct vb_engine *en = &q->e;
    db_text(q->events, 1, en->name);
    db_text(q->events, 2, q->as_of);
    for (en->n_events = 0; (rc = sqlite3_step(q->events)) == SQLITE_ROW; en->n_events++) {
        if (!list_room(&en->event, en->n_events, &q->events_size, sizeof *en->event) ||
            !list_room(&q->renewed, en->n_events, &q->renewed_size, sizeof *q->renewed))
            return db_ended(q->b, q->events, rc, VB_EMEM, q->m);
        take_event(q, &en->event[en->n_events], &q->renewed[en->n_events]);
    }
    return db_ended(q->b, q->events, rc, VB_OK, q->m);
}

static int
by_valve(const void *a, const void *b)
{
    const struct vb_lash *x = a, *y = b;
    int order = vb_valve_order(x->valve, y->valve);
    if (order)
        return order;
    return x->visit < y->visit ? -1 : x->visit > y->visit;
}

/* A reading without an uncertainty of its own has that of its gauge. */
static enum vb_err
read_u(struct query *q, double *u)
{
    *u = db_number(q->lash, 4);
    if (!q->gauges || !isnan(*u))
        return VB_OK;
    return gauges_u(q->gauges, sqlite3_column_int64(q->lash, 6), VB_DIM_LENGTH, u, q->m);
}

/* Both go by date, so that visits are found by going on. */
static enum vb_err
read_lash(struct query *q)
{
    int rc = SQLITE_DONE;
    size_t visit = 0;
    struct vb_engine *en = &q->e;
    db_text(q->lash, 1, en->name);
    db_text(q->lash, 2, q->as_of);
    en->n_lash = 0;
    while ((rc = sqlite3_step(q->lash)) == SQLITE_ROW) {
        if (!list_room(&en->lash, en->n_lash, &q->lash_size, sizeof *en->lash))
            return db_ended(q->b, q->lash, rc, VB_EMEM, q->m);
        struct vb_lash *p = &en->lash[en->n_lash];
        const char *at = db_word(q->lash, 1);
        while (visit < en->n_visits && q->id[visit] != sqlite3_column_int64(q->lash, 0))
            visit++;
        if (visit == en->n_visits || vb_valve_parse(at, strlen(at), &p->valve))
            continue; // the loader lets no other names in
        p->visit = visit;
        p->found = db_number(q->lash, 2);
        p->left = db_number(q->lash, 3);
        p->temp_c = db_number(q->lash, 5);
        en->n_lash++;
        enum vb_err e = read_u(q, &p->u);
        if (e)
            return db_ended(q->b, q->lash, rc, e, q->m);
    }
    if (en->n_lash)
        qsort(en->lash, en->n_lash, sizeof *en->lash, by_valve);
    return db_ended(q->b, q->lash, rc, VB_OK, q->m);
}

/* The family's member for this unit; one without a unit takes the first that comes. */
static enum vb_err
find_service(struct query *q, const char *family, struct vb_family_service **of)
{
    struct vb_services *all = q->out;
    const char *unit = q->e.meter_unit;
    for (size_t i = 0; i < all->n; i++) {
        *of = &all->of[i];
        int same = strcmp((*of)->meter_unit, unit) == 0 || !*unit || !*(*of)->meter_unit;
        if (strcmp((*of)->family, family) != 0 || !same)
            continue;
        if (*unit)
            memcpy((*of)->meter_unit, unit, sizeof(*of)->meter_unit);
        return VB_OK;
    }
    if (!list_room(&all->of, all->n, &all->size, sizeof *all->of))
        return VB_EMEM;
    *of = &all->of[all->n];
    memset(*of, 0, sizeof **of);
    if (!((*of)->family = strdup(family)))
        return VB_EMEM;
    all->n++;
    memcpy((*of)->meter_unit, unit, sizeof(*of)->meter_unit);
    (*of)->service.wish = q->wish;
    return facts_family(q->b, family, &(*of)->facts, q->m);
}

static enum vb_err
read_engine(struct query *q)
{
    struct vb_family_service *of;
    const char *in_service = db_word(q->engines, 2);
    q->e.name = db_word(q->engines, 0); // valid until engines is stepped again
    q->e.in_service = NAN;
    if (*in_service)
        vb_date_days(in_service, &q->e.in_service);
    q->e.meter_unit[0] = 0;
    enum vb_err e = facts_swaps(q->b, q->e.name, &q->swaps, q->m);
    if (!e)
        e = read_visits(q);
    if (!e)
        e = read_events(q);
    if (!e && q->with_lash)
        e = read_lash(q);
    if (!e)
        e = find_service(q, db_word(q->engines, 1), &of);
    if (e)
        return e;
    for (size_t i = 0; i < q->e.n_events; i++)
        facts_one_cam(&of->facts, q->renewed[i].part, &q->e.event[i]);
    q->e.family = &of->facts;
    q->e.family_name = of->family;
    return vb_service_add(&of->service, &q->e, q->renewed);
}

/* h, then km, then engines without a unit: which of the two those join is no matter of
 * names. */
#define UNIT_IN(table)                                                                   \
    "(SELECT meter_unit FROM " table " WHERE engine = e.engine AND meter_unit > '' AND"  \
    " date <= :as_of || '~' LIMIT 1)"

/* Dates with a time of day sort behind the bare date: '~' is behind them all. */
static enum vb_err
prepare(struct query *q)
{
    const struct {
        sqlite3_stmt **s;
        const char *sql;
    } all[] = {
        {&q->engines, "SELECT engine, family, in_service FROM engines AS e "
                      "WHERE " IN_SCOPE("") " ORDER BY family, coalesce(" UNIT_IN(
                          "visits") ", " UNIT_IN("events") ", 'none'), engine"},
        {&q->visits, "SELECT visit, date, meter, meter_unit FROM visits WHERE engine = ?1"
                     " AND date <= ?2 || '~' ORDER BY date"},
        {&q->events, "SELECT date, event, part, at, meter, meter_unit FROM events WHERE"
                     " engine = ?1 AND date <= ?2 || '~' ORDER BY date, event, part, at"},
        {&q->lash,
         "SELECT visit, at, found, left, u, temp_c, origin FROM visits JOIN reading ON"
         " reading BETWEEN visit << 16 AND (visit << 16) + 65535 JOIN places ON"
         " places.place = (reading & 65535) WHERE engine = ?1 AND"
         " date <= ?2 || '~' AND quantity = 'lash' ORDER BY date"},
    };
    enum vb_err e = VB_OK;
    for (size_t i = 0; !e && i < sizeof all / sizeof *all; i++)
        e = db_prepare(q->b, all[i].sql, all[i].s, q->m);
    return e;
}

static enum vb_err
read_all(struct query *q, const struct vb_scope *scope)
{
    int rc = SQLITE_DONE;
    enum vb_err e = scope_check(q->b, scope, q->m);
    if (!e)
        e = prepare(q);
    if (e)
        return e;
    scope_bind(q->engines, scope);
    db_text(q->engines, sqlite3_bind_parameter_index(q->engines, ":as_of"), q->as_of);
    while (!e && (rc = sqlite3_step(q->engines)) == SQLITE_ROW)
        e = read_engine(q);
    return db_ended(q->b, q->engines, rc, e, q->m);
}

enum vb_err
vb_book_services(struct vb_book *b, const struct vb_lives_wish *w,
                 struct vb_services *out, struct vb_msg *m)
{
    struct query q = {
        .b = b, .m = m, .as_of = w->as_of, .with_lash = !w->replaced_only, .out = out};
    memset(out, 0, sizeof *out);
    q.wish = (struct vb_service_wish){w->part, w->side, w->days, NAN};
    enum vb_err e = db_exec(b, "BEGIN", m); // one state of the book, whoever loads
    if (!e)
        e = vb_date_days(w->as_of, &q.wish.as_of);
    if (!e)
        e = gauges_read(b, &q.gauges, m);
    if (!e)
        e = read_all(&q, &w->scope);
    sqlite3_stmt *all[] = {q.engines, q.visits, q.events, q.lash};
    for (size_t i = 0; i < sizeof all / sizeof *all; i++)
        sqlite3_finalize(all[i]);
    gauges_free(q.gauges);
    free(q.e.visit);
    free(q.e.event);
    free(q.e.lash);
    free(q.renewed);
    free(q.id);
    free(q.swaps.swap);
    if (!sqlite3_get_autocommit(b->db))
        sqlite3_exec(b->db, "ROLLBACK", NULL, NULL, NULL);
    if (e)
        vb_services_clear(out);
    return e;
}

void
vb_services_clear(struct vb_services *s)
{
    for (size_t i = 0; i < s->n; i++) {
        free(s->of[i].family);
        vb_service_clear(&s->of[i].service);
    }
    free(s->of);
    memset(s, 0, sizeof *s);
}
