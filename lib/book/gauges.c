/*
 * How well gauges read: tens of gauges in memory, and of the origins, of which there may
 * be very many, those asked for lately.
 */
#include "book_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/gauge.h"
#include "valvebook/unit.h"

#define SLOTS 1024

struct gauge_u {
    char *name;
    double u; // mm or deg
    enum vb_dim dim;
};

struct gauges {
    struct vb_book *b;
    struct gauge_u *gauge; // [n] by name
    size_t n, size;
    sqlite3_stmt *origin;
    struct {
        sqlite3_int64 origin; // 0: none, which is no origin's number
        double u;
        enum vb_dim dim;
    } slot[SLOTS];
};

/* In mm or deg by the very steps that a reading takes; NaN if it is none above 0. */
static double
in_own(sqlite3_stmt *s, int i, const struct vb_unit *u)
{
    char text[VB_NUM_MAX];
    struct vb_dec d;
    if (sqlite3_column_type(s, i) == SQLITE_NULL)
        return NAN;
    size_t n = vb_double_format(sqlite3_column_double(s, i), text);
    if (vb_dec_parse(text, n, '.', 0, &d) || vb_unit_convert(u, d, &d))
        return NAN;
    double x = vb_dec_double(d);
    return x > 0 ? x : NAN;
}

/* gauge, unit, u, resolution. A stated u counts, a resolution where there is none. */
static enum vb_err
take_gauge(struct gauges *g, sqlite3_stmt *s)
{
    const char *name = (const char *)sqlite3_column_text(s, 0);
    const char *unit = (const char *)sqlite3_column_text(s, 1);
    if (!name || !unit)
        return VB_EMEM;
    const struct vb_unit *own = vb_unit_find(unit, strlen(unit));
    if (!own || (own->dim != VB_DIM_LENGTH && own->dim != VB_DIM_ANGLE))
        return VB_OK;
    double u = in_own(s, 2, own), d = in_own(s, 3, own);
    if (isnan(u) && (isnan(d) || vb_u_resolution(d, &u)))
        return VB_OK;
    if (g->n == g->size) {
        size_t size = g->size ? 2 * g->size : 16;
        struct gauge_u *p = realloc(g->gauge, size * sizeof *p);
        if (!p)
            return VB_EMEM;
        g->gauge = p;
        g->size = size;
    }
    g->gauge[g->n] = (struct gauge_u){strdup(name), u, own->dim};
    return g->gauge[g->n++].name ? VB_OK : VB_EMEM;
}

enum vb_err
gauges_read(struct vb_book *b, struct gauges **out, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    struct gauges *g = calloc(1, sizeof *g);
    if (!g)
        return VB_EMEM;
    g->b = b;
    enum vb_err e = db_prepare(b,
                               "SELECT gauge, unit, u, resolution FROM gauges"
                               " WHERE u > 0 OR resolution > 0 ORDER BY gauge",
                               &s, m);
    int rc = SQLITE_DONE;
    while (!e && (rc = sqlite3_step(s)) == SQLITE_ROW)
        e = take_gauge(g, s);
    if (!e && rc != SQLITE_DONE)
        e = db_fail(b, m);
    sqlite3_finalize(s);
    if (!e && g->n)
        e = db_prepare(b, "SELECT gauge FROM origins WHERE origin = ?", &g->origin, m);
    if (!e && g->n) {
        *out = g;
        return VB_OK;
    }
    gauges_free(g);
    if (!e)
        *out = NULL;
    return e;
}

static int
by_name(const void *name, const void *gauge)
{
    return strcmp(name, ((const struct gauge_u *)gauge)->name);
}

static enum vb_err
ask(struct gauges *g, sqlite3_int64 origin, double *u, enum vb_dim *dim, struct vb_msg *m)
{
    *u = NAN;
    sqlite3_bind_int64(g->origin, 1, origin);
    int rc = sqlite3_step(g->origin);
    const char *name =
        rc == SQLITE_ROW ? (const char *)sqlite3_column_text(g->origin, 0) : NULL;
    enum vb_err e = VB_OK;
    if (rc == SQLITE_ROW && !name)
        e = VB_EMEM; // "" where there is no gauge
    else if (rc != SQLITE_ROW && rc != SQLITE_DONE)
        e = db_fail(g->b, m);
    const struct gauge_u *p =
        name ? bsearch(name, g->gauge, g->n, sizeof *g->gauge, by_name) : NULL;
    if (p)
        *u = p->u, *dim = p->dim;
    sqlite3_reset(g->origin);
    return e;
}

enum vb_err
gauges_u(struct gauges *g, sqlite3_int64 origin, enum vb_dim dim, double *u,
         struct vb_msg *m)
{
    size_t k = (size_t)origin % SLOTS;
    enum vb_err e = VB_OK;
    if (g->slot[k].origin != origin) {
        e = ask(g, origin, &g->slot[k].u, &g->slot[k].dim, m);
        g->slot[k].origin = e ? 0 : origin;
    }
    if (!e)
        *u = g->slot[k].dim == dim ? g->slot[k].u : NAN;
    return e;
}

void
gauges_free(struct gauges *g)
{
    if (!g)
        return;
    for (size_t i = 0; i < g->n; i++)
        free(g->gauge[i].name);
    free(g->gauge);
    sqlite3_finalize(g->origin);
    free(g);
}
