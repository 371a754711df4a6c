/* The lash and shims of one engine, visit by visit, for its setting sheet. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "book_impl.h"
#include "valvebook/date.h"

struct asking {
    struct vb_book *b;
    struct vb_msg *m;
    const char *engine, *as_of;
    sqlite3_stmt *s;
    struct gauges *gauges; // NULL where none states anything
    struct vb_set_readings *out;
};

enum { DATE, METER, METER_UNIT, AT, QUANTITY, FOUND, LEFT, U, TEMP, ORIGIN };

static const char sql[] =
    "SELECT v.date, v.meter, v.meter_unit, p.at, p.quantity, r.found, r.left, r.u,"
    " r.temp_c, r.origin FROM visits v"
    " JOIN reading r ON r.reading BETWEEN v.visit << 16 AND (v.visit << 16) + 65535"
    " JOIN places p ON p.place = (r.reading & 65535)"
    " WHERE v.engine = ?1 AND v.date <= ?2 || '~' AND p.quantity IN ('lash', 'shim')"
    " ORDER BY v.date, p.at";

static const char *
text(const struct asking *a, int i)
{
    return db_word(a->s, i);
}

static double
number(const struct asking *a, int i)
{
    return db_number(a->s, i);
}

/* The visit's own reading of that valve, made if there is none: lash and shim are two
 * rows behind each other. */
static struct vb_set_reading *
reading_for(struct vb_set_readings *o, struct vb_valve v, const char *date)
{
    if (o->n && vb_valve_same(o->r[o->n - 1].valve, v) &&
        strcmp(o->r[o->n - 1].date, date) == 0)
        return &o->r[o->n - 1];
    if (o->n == o->size) {
        size_t size = o->size ? 2 * o->size : 64;
        struct vb_set_reading *p = realloc(o->r, size * sizeof *p);
        if (!p)
            return NULL;
        o->r = p;
        o->size = size;
    }
    struct vb_set_reading *r = &o->r[o->n++];
    *r = (struct vb_set_reading){.valve = v,
                                 .found = NAN,
                                 .left = NAN,
                                 .u = NAN,
                                 .temp_c = NAN,
                                 .shim_found = NAN,
                                 .shim_left = NAN};
    snprintf(r->date, sizeof r->date, "%s", date);
    vb_date_days(r->date, &r->day);
    return r;
}

static enum vb_err
take_lash(struct asking *a, struct vb_set_reading *r)
{
    r->found = number(a, FOUND);
    r->left = number(a, LEFT);
    r->temp_c = number(a, TEMP);
    r->u = number(a, U);
    if (!isnan(r->u) || !a->gauges)
        return VB_OK;
    return gauges_u(a->gauges, sqlite3_column_int64(a->s, ORIGIN), VB_DIM_LENGTH, &r->u,
                    a->m);
}

static enum vb_err
take_row(struct asking *a)
{
    struct vb_set_readings *o = a->out;
    struct vb_valve v;
    const char *at = text(a, AT), *date = text(a, DATE), *quantity = text(a, QUANTITY);
    if (!*at || !*date || !*quantity)
        return VB_EMEM; // they cannot be blank: SQLite had no room for one
    if (vb_valve_parse(at, strlen(at), &v))
        return VB_OK; // the loader lets no other names in
    struct vb_set_reading *r = reading_for(o, v, date);
    if (!r)
        return VB_EMEM;
    snprintf(o->date, sizeof o->date, "%s", r->date);
    o->meter = number(a, METER);
    snprintf(o->meter_unit, sizeof o->meter_unit, "%s", text(a, METER_UNIT));
    if (strcmp(quantity, "lash") == 0)
        return take_lash(a, r);
    r->shim_found = number(a, FOUND);
    r->shim_left = number(a, LEFT);
    return VB_OK;
}

static int
by_valve(const void *a, const void *b)
{
    const struct vb_set_reading *x = a, *y = b;
    int order = vb_valve_order(x->valve, y->valve);
    if (order)
        return order;
    return x->day < y->day ? -1 : x->day > y->day;
}

static enum vb_err
take_rows(void *arg)
{
    struct asking *a = arg;
    int rc = SQLITE_DONE;
    enum vb_err e = gauges_read(a->b, &a->gauges, a->m);
    if (!e)
        e = db_prepare(a->b, sql, &a->s, a->m);
    if (!e) {
        db_text(a->s, 1, a->engine);
        db_text(a->s, 2, a->as_of);
    }
    while (!e && (rc = sqlite3_step(a->s)) == SQLITE_ROW)
        e = take_row(a);
    if (!e && rc != SQLITE_DONE)
        e = db_fail(a->b, a->m);
    sqlite3_finalize(a->s);
    gauges_free(a->gauges);
    return e;
}

enum vb_err
vb_book_setting(struct vb_book *b, const char *engine, const char *as_of,
                struct vb_fleet *fleet, struct vb_set_readings *out, struct vb_msg *m)
{
    const struct vb_scope scope = {.engine = engine};
    struct vb_set_readings r = {.meter = NAN};
    struct asking a = {.b = b, .m = m, .engine = engine, .as_of = as_of, .out = &r};
    enum vb_err e = fleet_and(b, &scope, as_of, take_rows, &a, fleet, m);
    if (e) {
        free(r.r);
        return e;
    }
    if (r.n)
        qsort(r.r, r.n, sizeof *r.r, by_valve);
    *out = r;
    return VB_OK;
}
