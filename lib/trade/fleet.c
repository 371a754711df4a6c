#include "valvebook/fleet.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_cdf.h>

#include "valvebook/quantity.h"

#define YEAR_DAYS 365.0

/* Pace over the year before the last visit; with too few visits then, over all of them.
 */
static double
pace_of(const struct vb_engine *e)
{
    double slope = NAN;
    size_t n = 0, from = 0;
    double *day = malloc((2 * e->n_visits + 1) * sizeof *day);
    if (!day)
        return NAN;
    double *meter = day + e->n_visits;
    for (size_t i = 0; i < e->n_visits; i++) {
        if (isnan(e->visit[i].running))
            continue;
        day[n] = e->visit[i].day;
        meter[n++] = e->visit[i].running;
    }
    while (n > 0 && from + 2 < n && day[from] < day[n - 1] - YEAR_DAYS)
        from++;
    if (n < 2 || vb_pace(day + from, meter + from, n - from, &slope))
        slope = NAN;
    free(day);
    return slope;
}

/* Was the valve read in the life it is in now? */
static int
was_read(const struct vb_engine *e, struct vb_valve v, double as_of)
{
    int now = vb_life_number(e, v, as_of, 1, VB_RENEWS_LASH);
    for (size_t i = e->n_lash; i > 0; i--) {
        const struct vb_lash *r = &e->lash[i - 1];
        double day = e->visit[r->visit].day;
        if (!vb_valve_same(r->valve, v))
            continue;
        if (!isnan(r->left) && vb_life_number(e, v, day, 1, VB_RENEWS_LASH) == now)
            return 1;
        if (!isnan(r->found) && vb_life_number(e, v, day, 0, VB_RENEWS_LASH) == now)
            return 1;
    }
    return 0;
}

static void
note_unread(struct vb_unit_now *u, struct vb_valve v)
{
    char name[VB_VALVE_MAX];
    size_t k = strlen(u->unread);
    vb_valve_format(v, name);
    u->n_unread++;
    if (k + strlen(name) + 6 < sizeof u->unread)
        snprintf(u->unread + k, sizeof u->unread - k, "%s%s", k ? " " : "", name);
    else if (k < 3 || strcmp(u->unread + k - 3, "...") != 0)
        snprintf(u->unread + k, sizeof u->unread - k, " ...");
}

static void
find_unread(const struct vb_engine *e, double as_of, struct vb_unit_now *u)
{
    for (int cyl = 1; cyl <= e->family->cylinders; cyl++)
        for (int s = 0; s < 2; s++)
            for (int i = 1; i <= e->family->valves[s]; i++) {
                struct vb_valve v = {cyl, s ? 'E' : 'I',
                                     e->family->valves[s] == 1 ? 0 : i};
                if (!was_read(e, v, as_of))
                    note_unread(u, v);
            }
}

/* The last visit with an as-left reading: set, or looked at and left as it was. */
static void
find_setting(const struct vb_engine *e, struct vb_unit_now *u)
{
    const struct vb_visit *last = NULL;
    for (size_t i = 0; i < e->n_lash; i++) {
        const struct vb_visit *v = &e->visit[e->lash[i].visit];
        if (!isnan(e->lash[i].left) && !isnan(v->running) &&
            (!last || v->day > last->day))
            last = v;
    }
    u->set_day = u->set_running = NAN;
    if (!last)
        return;
    u->set_day = last->day;
    u->set_running = last->running;
    memcpy(u->set_date, last->date, sizeof u->set_date);
}

/* The meter behind the next planned date: the last visit's plus all that is planned. */
static void
find_plan(const struct vb_engine *e, double as_of, struct vb_unit_now *u)
{
    double meter = u->last_running;
    u->plan_day = u->plan_running = NAN;
    for (size_t i = 0; i < e->n_plan; i++) {
        const struct vb_plan *p = &e->plan[i];
        if (p->day <= u->last_day)
            continue;
        meter += isnan(p->gain) ? 0 : p->gain;
        if (p->day < as_of)
            continue;
        u->plan_day = p->day;
        u->plan_running = meter;
        memcpy(u->plan_label, p->label, sizeof u->plan_label);
        return;
    }
}

struct vb_family_kept *
vb_fleet_family(struct vb_fleet *f, const char *name, int *made)
{
    *made = 0;
    for (size_t i = 0; i < f->n_families; i++)
        if (strcmp(f->family[i]->name, name) == 0)
            return f->family[i];
    struct vb_family_kept **p = realloc(f->family, (f->n_families + 1) * sizeof *p);
    struct vb_family_kept *k = calloc(1, sizeof *k);
    if (p)
        f->family = p;
    if (!p || !k || !(k->name = strdup(name))) {
        free(k);
        return NULL;
    }
    *made = 1;
    return f->family[f->n_families++] = k;
}

static struct vb_unit_now *
new_unit(struct vb_fleet *f)
{
    if (f->n_units == f->units_size) {
        size_t size = f->units_size ? 2 * f->units_size : 16;
        struct vb_unit_now *p = realloc(f->unit, size * sizeof *p);
        if (!p)
            return NULL;
        f->unit = p;
        f->units_size = size;
    }
    return memset(&f->unit[f->n_units], 0, sizeof *f->unit);
}

enum vb_err
vb_fleet_add(struct vb_fleet *f, const struct vb_engine *e, double as_of)
{
    struct vb_unit_now *u = new_unit(f);
    if (!u || !(u->name = strdup(e->name)))
        return VB_EMEM;
    u->family_name = e->family_name;
    u->family = e->family;
    memcpy(u->meter_unit, e->meter_unit, sizeof u->meter_unit);
    u->n_visits = e->n_visits;
    u->last_day = u->last_running = u->offset = NAN;
    for (size_t i = 0; i < e->n_visits; i++) {
        if (isnan(e->visit[i].running))
            continue;
        u->last_day = e->visit[i].day;
        u->last_running = e->visit[i].running;
        u->offset = e->visit[i].running - e->visit[i].meter;
    }
    for (size_t i = 0; i < e->n_events; i++)
        u->ended |= e->event[i].kind == VB_EVENT_END;
    for (size_t i = 0; i < e->n_events; i++)
        if (e->event[i].build[0])
            memcpy(u->build, e->event[i].build, sizeof u->build);
    u->pace = pace_of(e);
    find_unread(e, as_of, u);
    find_setting(e, u);
    find_plan(e, as_of, u);
    return vb_lives_add(e, f->n_units++, &f->lives);
}

static const char *
family_of(const struct vb_fleet *f, const struct vb_life *l)
{
    return f->unit[l->engine].family_name;
}

const struct vb_group *
vb_fleet_group(const struct vb_fleet *f, const struct vb_life *l)
{
    int side = l->valve.side == 'E';
    for (size_t i = 0; i < f->n_groups; i++)
        if (f->group[i].side == side && strcmp(f->group[i].family, family_of(f, l)) == 0)
            return &f->group[i];
    return NULL;
}

enum vb_err
vb_fleet_pool(struct vb_fleet *f)
{
    for (size_t i = 0; i < f->lives.n; i++) {
        const struct vb_life *l = &f->lives.life[i];
        struct vb_group *g = (struct vb_group *)vb_fleet_group(f, l);
        if (!g) {
            g = realloc(f->group, (f->n_groups + 1) * sizeof *g);
            if (!g)
                return VB_EMEM;
            f->group = g;
            g += f->n_groups++;
            *g = (struct vb_group){family_of(f, l), l->valve.side == 'E', {0, 0, 0}, NAN};
        }
        if (l->wear.n)
            vb_pool_add(&g->pool, &l->wear);
    }
    for (size_t i = 0; i < f->n_groups; i++)
        f->group[i].s2 = vb_pool_s2(&f->group[i].pool, 0);
    return VB_OK;
}

int
vb_fleet_rate(const struct vb_fleet *f, const struct vb_life *l, struct vb_rate *out)
{
    const struct vb_group *g = vb_fleet_group(f, l);
    if (!l->wear.n || !(l->wear.sxx > 0))
        return 0;
    *out = (struct vb_rate){1000 * l->wear.rate, NAN, g->pool.df, 0};
    if (isnan(g->s2))
        return 1;
    out->se = 1000 * sqrt(g->s2 / l->wear.sxx);
    double t = gsl_cdf_tdist_Pinv(0.975, g->pool.df);
    if (fabs(out->rate) > t * out->se)
        out->way = out->rate < 0 ? -1 : 1;
    return 1;
}

void
vb_fleet_keep(struct vb_fleet *f, const char *engine)
{
    size_t n = 0, kept = 0;
    for (size_t i = 0; i < f->n_units; i++)
        if (strcmp(f->unit[i].name, engine) == 0)
            kept = i;
        else
            free(f->unit[i].name);
    for (size_t i = 0; i < f->lives.n; i++)
        if (f->lives.life[i].engine == kept) {
            f->lives.life[n] = f->lives.life[i];
            f->lives.life[n++].engine = 0;
        }
    f->lives.n = n;
    f->unit[0] = f->unit[kept];
    f->n_units = 1;
}

void
vb_fleet_clear(struct vb_fleet *f)
{
    for (size_t i = 0; i < f->n_units; i++)
        free(f->unit[i].name);
    for (size_t i = 0; i < f->n_families; i++) {
        free(f->family[i]->name);
        free(f->family[i]);
    }
    free(f->family);
    free(f->unit);
    free(f->lives.life);
    free(f->group);
    memset(f, 0, sizeof *f);
}
