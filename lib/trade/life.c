#include "valvebook/life.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/guard.h"
#include "valvebook/quantity.h"
#include "valvebook/residual.h"

double
vb_lash_reference(const struct vb_family *f, int side, double reading, double temp_c)
{
    double tip = f->read_at_lobe[side] ? reading * f->ratio[side] : reading;
    return vb_growth_taken_out(tip, f->lash_growth[side], temp_c);
}

static int
concerns(const struct vb_engine *e, const struct vb_event *ev, struct vb_valve v,
         int renews)
{
    return (ev->renews & renews) &&
           (!ev->bank || ev->bank == e->family->banks.of[v.cyl]) &&
           (!ev->at.cyl || ev->at.cyl == v.cyl) &&
           (!ev->at.side || ev->at.side == v.side) &&
           (!ev->at.index || ev->at.index == v.index);
}

int
vb_life_number(const struct vb_engine *e, struct vb_valve v, double day, int inclusive,
               int renews)
{
    int n = 0;
    double last = -HUGE_VAL; // several parts renewed on one day begin one life
    for (size_t i = 0; i < e->n_events; i++) {
        double d = floor(e->event[i].day);
        if (!concerns(e, &e->event[i], v, renews))
            continue;
        if (inclusive ? d > floor(day) : d >= floor(day))
            break;
        n += d != last;
        last = d;
    }
    return n;
}

/* The event that began a life, NULL for the first. */
static const struct vb_event *
beginning(const struct vb_engine *e, struct vb_valve v, int number, int renews)
{
    int n = 0;
    double last = -HUGE_VAL;
    for (size_t i = 0; i < e->n_events && number > 0; i++) {
        double d = floor(e->event[i].day);
        if (!concerns(e, &e->event[i], v, renews))
            continue;
        n += d != last;
        last = d;
        if (n == number)
            return &e->event[i];
    }
    return NULL;
}

/* The build that a life is of: one event of the day that began it may say so, if not the
 * first. */
static const char *
build_of(const struct vb_engine *e, struct vb_valve v, const struct vb_event *begun)
{
    if (!begun)
        return "";
    const struct vb_event *end = e->event + e->n_events;
    for (const struct vb_event *ev = begun;
         ev < end && floor(ev->day) == floor(begun->day); ev++)
        if (ev->build[0] && concerns(e, ev, v, VB_RENEWS_LASH))
            return ev->build;
    return "";
}

const char *
vb_life_build(const struct vb_engine *e, struct vb_valve v, double day)
{
    int now = vb_life_number(e, v, day, 1, VB_RENEWS_LASH);
    return build_of(e, v, beginning(e, v, now, VB_RENEWS_LASH));
}

double
vb_lash_u(const struct vb_family *f, int side, double u)
{
    return f->read_at_lobe[side] ? f->ratio[side] * u : u;
}

/* What is gathered while one valve's readings go by. */
struct gather {
    const struct vb_engine *e;
    struct vb_lives *out;
    size_t index;
    struct vb_obs *obs;
    size_t n_obs;
    unsigned char *no_gap; // of each: it was read as 0
    double *residual;      // room for as many
    struct vb_life life;
    struct vb_points *points; // NULL: nobody wants them
    int started;              // a life is being gathered
    int set_unseen;           // it was set where the meter was not written down
};

static enum vb_err
add_point(struct gather *g, const struct vb_lash *r, int left)
{
    struct vb_points *l = g->points;
    if (!l)
        return VB_OK;
    if (l->n == l->size) {
        size_t size = l->size ? 2 * l->size : 256;
        struct vb_point *p = realloc(l->point, size * sizeof *p);
        if (!p)
            return VB_EMEM;
        l->point = p;
        l->size = size;
    }
    l->point[l->n++] = (struct vb_point){.life = g->out->n,
                                         .visit = r->visit,
                                         .left = left,
                                         .u = r->u,
                                         .obs = g->obs[g->n_obs - 1]};
    return VB_OK;
}

/* The newest point is as found, and was left so. */
static void
mark_untouched(struct gather *g, const struct vb_lash *r)
{
    struct vb_points *l = g->points;
    struct vb_point *p = l && l->n ? &l->point[l->n - 1] : NULL;
    if (p && p->visit == r->visit)
        p->untouched = 1;
}

/* It was 0 before, and nobody has set it: how far the valve is held open cannot be read. */
static int
still_no_gap(const struct gather *g, double reading, int new_interval)
{
    return reading == 0 && !new_interval && !g->set_unseen && g->n_obs &&
           g->no_gap[g->n_obs - 1];
}

static enum vb_err
add_obs(struct gather *g, const struct vb_lash *r, double reading, int new_interval)
{
    const struct vb_visit *v = &g->e->visit[r->visit];
    int side = r->valve.side == 'E';
    double tip = vb_lash_reference(g->e->family, side, reading, r->temp_c);
    g->life.unplaced = isnan(v->running) ? 1 : 0;
    g->life.unplaced_lash = g->life.unplaced ? tip : 0;
    if (g->life.unplaced) {
        g->life.no_meter++;
        g->set_unseen |= new_interval;
        return VB_OK;
    }
    g->life.read_meter = v->running;
    if (still_no_gap(g, reading, new_interval))
        return VB_OK;
    if (isnan(r->temp_c) && g->e->family->lash_growth[side] != 0)
        g->life.no_temp++;
    size_t interval = g->n_obs ? g->obs[g->n_obs - 1].interval : 0;
    if (g->n_obs && (new_interval || g->set_unseen))
        interval++;
    g->set_unseen = 0;
    g->life.with_u += isnan(r->u) ? 0u : 1u;
    double q = isnan(r->u) ? 1 : VB_U_REFERENCE / vb_lash_u(g->e->family, side, r->u);
    g->no_gap[g->n_obs] = reading == 0;
    g->obs[g->n_obs++] = (struct vb_obs){v->running, tip, q * q, interval};
    return add_point(g, r, new_interval);
}

static enum vb_err
append(struct vb_lives *l, const struct vb_life *life)
{
    if (l->n == l->size) {
        size_t size = l->size ? 2 * l->size : 64;
        struct vb_life *p = realloc(l->life, size * sizeof *p);
        if (!p)
            return VB_EMEM;
        l->life = p;
        l->size = size;
    }
    l->life[l->n++] = *life;
    return VB_OK;
}

/* Room for n more corners. */
static enum vb_err
corners_room(struct vb_lives *l, size_t n)
{
    if (l->n_corners + n <= l->corners_size)
        return VB_OK;
    size_t size = 2 * (l->n_corners + n) + 64;
    struct vb_corner *p = realloc(l->corner, size * sizeof *p);
    if (!p)
        return VB_EMEM;
    l->corner = p;
    l->corners_size = size;
    return VB_OK;
}

/* What each reading was to those before it. A 0 where less was expected contradicts nothing. */
static enum vb_err
keep_residuals(struct gather *g)
{
    struct vb_run run = {0};
    struct vb_lives *l = g->out;
    size_t n = 0;
    for (size_t i = 0; i < g->n_obs; i++)
        n += vb_run_next(&run, &g->obs[i], &g->residual[n]) &&
             !(g->no_gap[i] && g->residual[n] > 0);
    if (corners_room(l, 2 * n))
        return VB_EMEM;
    struct vb_corner *c = l->corner ? l->corner + l->n_corners : NULL;
    g->life.corner_at = l->n_corners;
    g->life.n_looser = vb_cusum_corners(g->residual, n, 1, c);
    l->n_corners += g->life.n_looser;
    c = l->corner ? l->corner + l->n_corners : NULL;
    g->life.n_tighter = vb_cusum_corners(g->residual, n, -1, c);
    l->n_corners += g->life.n_tighter;
    return VB_OK;
}

/*
 * The newest reading that something before it could predict is the one that is tested:
 * not an as-left reading, which opens an interval, but the as-found one of that visit.
 */
static enum vb_err
fit(struct gather *g)
{
    size_t n = g->n_obs;
    const struct vb_obs *o = g->obs;
    enum vb_err e = vb_wear_fit(o, n, &g->life.wear);
    g->life.first_meter = o[0].meter;
    while (n > 1 && o[n - 2].interval != o[n - 1].interval)
        n--;
    size_t newest = n > 1 ? n - 1 : g->n_obs - 1;
    g->life.newest = o[newest];
    g->life.no_gap = g->no_gap[newest];
    if (!e && n > 1)
        e = vb_wear_fit(o, n - 1, &g->life.before);
    if (!e && n > 2 && o[n - 3].interval == o[n - 1].interval) {
        e = vb_wear_fit(o, n - 2, &g->life.before2);
        g->life.second = o[n - 2];
    }
    return e ? e : keep_residuals(g);
}

/* How well the sum over intervals of last less first is known, and over how much of the meter
 * it goes. */
static void
add_closed(const struct vb_obs *o, size_t n, struct vb_life *l)
{
    for (size_t i = 0, end; i < n; i = end) {
        for (end = i + 1; end < n && o[end].interval == o[i].interval; end++)
            ;
        if (end - i > 1)
            l->closed_v += 1 / o[i].w + 1 / o[end - 1].w;
        l->closed_over += o[end - 1].meter - o[i].meter;
    }
}

/* Which of its seats a valve has in one of its lives. */
static int
seat_in(const struct gather *g, int number)
{
    const struct vb_event *ev = beginning(g->e, g->life.valve, number, VB_RENEWS_LASH);
    return ev ? vb_life_number(g->e, g->life.valve, ev->day, 1, VB_RENEWS_SEAT) : 0;
}

/*
 * Fit what was gathered. A seat's closing goes on through lives that spared the seat. There
 * may be lives in between in which nobody read anything.
 */
static enum vb_err
settle(struct gather *g)
{
    const struct vb_lives *l = g->out;
    enum vb_err e = VB_OK;
    if (!g->started)
        return VB_OK;
    const struct vb_event *ev =
        beginning(g->e, g->life.valve, g->life.number, VB_RENEWS_LASH);
    const struct vb_life *before = l->n ? &l->life[l->n - 1] : NULL;
    int goes_on = before && before->engine == g->index &&
                  vb_valve_same(before->valve, g->life.valve) &&
                  seat_in(g, before->number) == seat_in(g, g->life.number);
    if (g->n_obs)
        e = fit(g);
    if (e)
        return e;
    g->life.closed = -g->life.wear.movement;
    add_closed(g->obs, g->n_obs, &g->life);
    if (goes_on) {
        g->life.closed += before->closed;
        g->life.closed_v += before->closed_v;
    }
    g->life.current = vb_life_number(g->e, g->life.valve, HUGE_VAL, 1, VB_RENEWS_LASH) ==
                      g->life.number;
    snprintf(g->life.build, sizeof g->life.build, "%s",
             build_of(g->e, g->life.valve, ev));
    if (ev)
        memcpy(g->life.since, ev->date, sizeof g->life.since);
    g->started = 0;
    return append(g->out, &g->life);
}

static enum vb_err
enter(struct gather *g, struct vb_valve v, int number)
{
    if (g->started && g->life.number == number && vb_valve_same(g->life.valve, v))
        return VB_OK;
    enum vb_err e = settle(g);
    g->life = (struct vb_life){.valve = v, .number = number, .engine = g->index};
    g->n_obs = 0;
    g->started = 1;
    g->set_unseen = 0;
    return e;
}

/* The life of a reading. What was left on the day of an event is the new valve's, and so is
 * what another visit finds on that day. */
static int
number_of(const struct gather *g, const struct vb_lash *r, int left)
{
    int n =
        vb_life_number(g->e, r->valve, g->e->visit[r->visit].day, left, VB_RENEWS_LASH);
    int begun = g->started && vb_valve_same(g->life.valve, r->valve);
    return begun && g->life.number > n ? g->life.number : n;
}

static enum vb_err
take(struct gather *g, const struct vb_lash *r)
{
    enum vb_err e = VB_OK;
    if (!isnan(r->found)) {
        e = enter(g, r->valve, number_of(g, r, 0));
        if (!e)
            e = add_obs(g, r, r->found, 0);
    }
    int number = number_of(g, r, 1);
    int untouched = r->left == r->found && g->life.number == number;
    if (untouched)
        mark_untouched(g, r);
    if (e || isnan(r->left) || untouched)
        return e;
    e = enter(g, r->valve, number);
    return e ? e : add_obs(g, r, r->left, 1);
}

enum vb_err
vb_lives_points(const struct vb_engine *e, size_t index, struct vb_lives *out,
                struct vb_points *points)
{
    struct gather g = {.e = e, .out = out, .index = index, .points = points};
    enum vb_err err = VB_OK;
    g.obs = malloc((2 * e->n_lash + 1) * sizeof *g.obs);
    g.residual = malloc((2 * e->n_lash + 1) * sizeof *g.residual);
    g.no_gap = malloc(2 * e->n_lash + 1);
    if (!g.obs || !g.residual || !g.no_gap)
        err = VB_EMEM;
    for (size_t i = 0; !err && i < e->n_lash; i++)
        err = take(&g, &e->lash[i]);
    if (!err)
        err = settle(&g);
    free(g.no_gap);
    free(g.residual);
    free(g.obs);
    return err;
}

enum vb_err
vb_lives_add(const struct vb_engine *e, size_t index, struct vb_lives *out)
{
    return vb_lives_points(e, index, out, NULL);
}

void
vb_points_clear(struct vb_points *p)
{
    free(p->point);
    memset(p, 0, sizeof *p);
}

void
vb_lives_clear(struct vb_lives *l)
{
    free(l->life);
    free(l->corner);
    memset(l, 0, sizeof *l);
}
