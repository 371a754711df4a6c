#include "valvebook/fleet.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/quantity.h"

#define YEAR_DAYS  365.0
#define ROUND_DAYS 7.0 // in which an engine is set as a whole

/* Pace over the year before the last visit, or from the last day before that if there was no
 * other. Days are whole ones: what runs from a morning to its evening says nothing of days. */
static enum vb_err
pace_of(const struct vb_engine *e, double *pace)
{
    enum vb_err err = VB_OK;
    size_t n = 0, from = 0;
    double *day = malloc((2 * e->n_visits + 1) * sizeof *day);
    if (!day)
        return VB_EMEM;
    double *meter = day + e->n_visits;
    for (size_t i = 0; i < e->n_visits; i++) {
        if (isnan(e->visit[i].running))
            continue;
        day[n] = floor(e->visit[i].day);
        meter[n++] = e->visit[i].running;
    }
    while (n > 0 && day[from] < day[n - 1] - YEAR_DAYS && day[from + 1] < day[n - 1])
        from++;
    *pace = NAN;
    if (n >= 2)
        err = vb_pace(day + from, meter + from, n - from, pace);
    free(day);
    return err == VB_EMEM ? err : VB_OK; // otherwise these visits give no pace
}

/* Is a reading, as found or as left, of the life that its valve is in now? */
static int
of_now(const struct vb_engine *e, const struct vb_lash *r, int left, double as_of)
{
    if (isnan(left ? r->left : r->found))
        return 0;
    int now = vb_life_number(e, r->valve, as_of, 1, VB_RENEWS_LASH);
    double day = e->visit[r->visit].day;
    return vb_life_number(e, r->valve, day, left, VB_RENEWS_LASH) == now;
}

static int
was_read(const struct vb_engine *e, struct vb_valve v, double as_of)
{
    for (size_t i = e->n_lash; i > 0; i--) {
        const struct vb_lash *r = &e->lash[i - 1];
        if (vb_valve_same(r->valve, v) &&
            (of_now(e, r, 1, as_of) || of_now(e, r, 0, as_of)))
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
    else if (strcmp(u->unread + k - 3, "...") != 0)
        snprintf(u->unread + k, sizeof u->unread - k, " ...");
}

static void
find_unread(const struct vb_engine *e, double as_of, struct vb_unit_now *u)
{
    int elsewhere = !u->build[0]; // some of them are not of that build
    for (int cyl = 1; cyl <= e->family->cylinders; cyl++)
        for (int s = 0; s < 2; s++)
            for (int i = 1; i <= e->family->valves[s]; i++) {
                struct vb_valve v = {cyl, s ? 'E' : 'I',
                                     e->family->valves[s] == 1 ? 0 : i};
                if (was_read(e, v, as_of))
                    continue;
                note_unread(u, v);
                u->renewed |= vb_life_number(e, v, as_of, 1, VB_RENEWS_LASH) > 0;
                elsewhere |= strcmp(vb_life_build(e, v, as_of), u->build) != 0;
            }
    if (u->n_unread && !elsewhere)
        u->renewed = VB_RENEWED_BUILD;
}

/* The last visit with an as-left reading: set, or looked at and left as it was. */
static void
find_setting(const struct vb_engine *e, struct vb_unit_now *u)
{
    size_t end = 0;
    for (size_t i = 0; i < e->n_lash; i++)
        if (!isnan(e->lash[i].left) && e->lash[i].visit >= end)
            end = e->lash[i].visit + 1;
    u->set_day = NAN;
    if (!end)
        return;
    u->set_day = e->visit[end - 1].day;
    memcpy(u->set_date, e->visit[end - 1].date, sizeof u->set_date);
}

/* The running meter that was written down last, up to and with a visit; NaN for none. */
static double
running_up_to(const struct vb_engine *e, size_t visit)
{
    double running = NAN;
    for (size_t i = 0; i <= visit; i++)
        if (!isnan(e->visit[i].running))
            running = e->visit[i].running;
    return running;
}

/*
 * How many valves were read in the days up to a visit, of how many ever; 0 where none was
 * written down as left at it. What was read or left before the valve's lash train was renewed
 * is of a train that is gone.
 */
static size_t
read_around(const struct vb_engine *e, const struct vb_visit *at, double as_of,
            size_t *ever)
{
    size_t n = 0, counted = e->n_lash; // of the valve that was counted last
    int left = 0;
    *ever = 0;
    for (size_t i = 0; i < e->n_lash; i++) {
        const struct vb_lash *r = &e->lash[i];
        const struct vb_visit *v = &e->visit[r->visit];
        *ever += !i || !vb_valve_same(r->valve, r[-1].valve);
        if (v->day > at->day || v->day < at->day - ROUND_DAYS)
            continue;
        int set = of_now(e, r, 1, as_of);
        left |= v == at && set;
        if (!set && !of_now(e, r, 0, as_of))
            continue;
        n += counted == e->n_lash || !vb_valve_same(r->valve, e->lash[counted].valve);
        counted = i;
    }
    return left ? n : 0;
}

/* The last visit at which the engine was set as a whole; where there is none, at all. Without
 * a meter it was not before the figure that is known: counted from there it is no later. */
static void
find_round(const struct vb_engine *e, double as_of, struct vb_unit_now *u)
{
    size_t found = e->n_visits, ever;
    u->round_day = u->round_running = NAN;
    if (isnan(u->set_day)) // no visit left any
        return;
    for (size_t i = e->n_visits; i > 0; i--) {
        size_t n = read_around(e, &e->visit[i - 1], as_of, &ever);
        if (n && found == e->n_visits)
            found = i - 1;
        if (n && 2 * n >= ever) {
            found = i - 1;
            break;
        }
    }
    if (found == e->n_visits)
        return;
    u->round_day = e->visit[found].day;
    u->round_running = running_up_to(e, found);
    u->round_unread = isnan(e->visit[found].running);
    memcpy(u->round_date, e->visit[found].date, sizeof u->round_date);
}

/*
 * The meter behind an event of which nobody says how far it runs, until then it runs at the
 * engine's pace. NaN if that is not known: a blank is never 0.
 */
static double
by_pace(const struct vb_unit_now *u, double day, double meter)
{
    double then = u->last_running + u->pace * (day - u->last_day);
    return isnan(then) ? NAN : fmax(then, meter);
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
        meter = isnan(p->gain) ? by_pace(u, p->day, meter) : meter + p->gain;
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
    size_t at = 0;
    *made = 0;
    while (at < f->n_families && strcmp(f->family[at]->name, name) < 0)
        at++;
    if (at < f->n_families && strcmp(f->family[at]->name, name) == 0)
        return f->family[at];
    struct vb_family_kept **p = realloc(f->family, (f->n_families + 1) * sizeof *p);
    struct vb_family_kept *k = calloc(1, sizeof *k);
    if (p)
        f->family = p;
    if (!p || !k || !(k->name = strdup(name))) {
        free(k);
        return NULL;
    }
    *made = 1;
    memmove(f->family + at + 1, f->family + at,
            (f->n_families++ - at) * sizeof *f->family);
    return f->family[at] = k;
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

/* On the day itself it may be read once more. */
static int
has_ended(const struct vb_engine *e)
{
    double end = -INFINITY;
    for (size_t i = 0; i < e->n_events; i++)
        if (e->event[i].kind == VB_EVENT_END)
            end = fmax(end, floor(e->event[i].day));
    if (!isfinite(end))
        return 0;
    return e->n_visits && floor(e->visit[e->n_visits - 1].day) > end ? 2 : 1;
}

enum vb_err
vb_fleet_add(struct vb_fleet *f, const struct vb_engine *e, double as_of)
{
    double pace;
    struct vb_unit_now *u = new_unit(f);
    enum vb_err err = u ? pace_of(e, &pace) : VB_EMEM;
    if (err || !(u->name = strdup(e->name)))
        return err ? err : VB_EMEM;
    u->pace = pace;
    u->family_name = e->family_name;
    u->family = e->family;
    memcpy(u->meter_unit, e->meter_unit, sizeof u->meter_unit);
    u->n_visits = e->n_visits;
    u->last_day = u->last_running = u->last_meter = NAN;
    u->read_day = e->n_visits ? e->visit[e->n_visits - 1].day : NAN;
    u->offset = e->offset;
    for (size_t i = 0; i < e->n_visits; i++) {
        if (isnan(e->visit[i].running))
            continue;
        u->last_day = e->visit[i].day;
        u->last_running = e->visit[i].running;
        u->last_meter = e->visit[i].meter;
    }
    u->ended = has_ended(e);
    for (size_t i = 0; i < e->n_events; i++)
        if (e->event[i].build[0])
            memcpy(u->build, e->event[i].build, sizeof u->build);
    find_unread(e, as_of, u);
    find_setting(e, u);
    find_round(e, as_of, u);
    find_plan(e, as_of, u);
    return vb_lives_add(e, f->n_units++, &f->lives);
}

static enum vb_err
take_lives(struct vb_lives *l, const struct vb_lives *kept)
{
    size_t n = l->n + kept->n, n_corners = l->n_corners + kept->n_corners;
    if (n > l->size) {
        struct vb_life *p = realloc(l->life, 2 * n * sizeof *p);
        if (!p)
            return VB_EMEM;
        l->life = p;
        l->size = 2 * n;
    }
    if (n_corners > l->corners_size) {
        struct vb_corner *p = realloc(l->corner, 2 * n_corners * sizeof *p);
        if (!p)
            return VB_EMEM;
        l->corner = p;
        l->corners_size = 2 * n_corners;
    }
    for (size_t i = 0; i < kept->n; i++) {
        l->life[l->n] = kept->life[i];
        l->life[l->n++].corner_at += l->n_corners;
    }
    if (kept->n_corners)
        memcpy(l->corner + l->n_corners, kept->corner,
               kept->n_corners * sizeof *kept->corner);
    l->n_corners = n_corners;
    return VB_OK;
}

enum vb_err
vb_fleet_take(struct vb_fleet *f, const struct vb_engine *e, double as_of,
              const struct vb_unit_now *unit)
{
    struct vb_unit_now *u = new_unit(f);
    if (!u)
        return VB_EMEM;
    *u = *unit;
    if (!(u->name = strdup(e->name)))
        return VB_EMEM;
    u->family_name = e->family_name;
    u->family = e->family;
    find_plan(e, as_of, u);
    f->n_units++;
    return VB_OK;
}

enum vb_err
vb_fleet_join(struct vb_fleet *f, struct vb_fleet *block)
{
    size_t n = f->n_units + block->n_units, first = f->lives.n;
    if (n > f->units_size) {
        struct vb_unit_now *p = realloc(f->unit, 2 * n * sizeof *p);
        if (!p)
            return VB_EMEM;
        f->unit = p;
        f->units_size = 2 * n;
    }
    enum vb_err e = take_lives(&f->lives, &block->lives);
    if (e || !block->n_units)
        return e;
    for (size_t i = first; i < f->lives.n; i++)
        f->lives.life[i].engine += f->n_units;
    memcpy(f->unit + f->n_units, block->unit, block->n_units * sizeof *f->unit);
    f->n_units = n;
    block->n_units = block->lives.n = block->lives.n_corners = 0;
    return VB_OK;
}

void
vb_fleet_empty(struct vb_fleet *f)
{
    for (size_t i = 0; i < f->n_units; i++)
        free(f->unit[i].name);
    f->n_units = f->lives.n = f->lives.n_corners = 0;
}

void
vb_fleet_clear(struct vb_fleet *f)
{
    vb_fleet_empty(f);
    for (size_t i = 0; i < f->n_families; i++) {
        free(f->family[i]->name);
        free(f->family[i]);
    }
    free(f->family);
    free(f->unit);
    vb_lives_clear(&f->lives);
    for (size_t i = 0; i < f->n_groups; i++) {
        free(f->group[i].rate);
        free(f->group[i].var);
        free(f->group[i].over);
        free(f->group[i].tail.class);
    }
    free(f->group);
    memset(f, 0, sizeof *f);
}
