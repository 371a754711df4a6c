#include "valvebook/due.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/alert.h"
#include "valvebook/course.h"
#include "valvebook/digits.h"
#include "valvebook/forecast.h"
#include "valvebook/number.h"
#include "valvebook/unit.h"

#include "due_impl.h"

const char *
vb_due_kind_name(enum vb_due_kind k)
{
    static const char *const names[] = {"lash",   "seat",     "check",
                                        "timing", "interval", "unread"};
    return names[k];
}

int
vb_due_span(const char *s, struct vb_due_wish *w)
{
    struct vb_dec d;
    size_t used;
    if (vb_dec_prefix(s, strlen(s), '.', 0, &d, &used) || d.mant < 0)
        return 0;
    const struct vb_unit *u = vb_unit_find(s + used, strlen(s + used));
    if (!u || vb_unit_convert(u, d, &d))
        return 0;
    if (u->dim == VB_DIM_DAYS)
        w->within_days = vb_dec_double(d);
    else if (u->dim == VB_DIM_TIME)
        w->within_h = vb_dec_double(d);
    else if (u->dim == VB_DIM_DISTANCE)
        w->within_km = vb_dec_double(d);
    else
        return 0;
    return 1;
}

int
vb_due_within(const struct vb_due_wish *w)
{
    return !isnan(w->within_days) || !isnan(w->within_h) || !isnan(w->within_km);
}

double
vb_due_within_meter(const struct vb_due_wish *w, const char *meter_unit)
{
    return strcmp(meter_unit, "h") == 0    ? w->within_h
           : strcmp(meter_unit, "km") == 0 ? w->within_km
                                           : NAN;
}

void
vb_due_at(const struct vb_due *d, char *out)
{
    if (d->cam[0])
        snprintf(out, VB_AT_MAX, "%s", d->cam);
    else
        vb_valve_format(d->at, out);
}

struct vb_due
due_new(const struct listing *ls, enum vb_due_kind kind, size_t unit)
{
    struct vb_due d = {.kind = kind,
                       .unit = unit,
                       .engine = ls->first + unit,
                       .due_running = NAN,
                       .expected_running = NAN,
                       .due_day = NAN,
                       .expected_day = NAN};
    memcpy(d.life, ls->f->unit[unit].build, sizeof d.life);
    return d;
}

/* A line about one valve. */
static struct vb_due
new_life_due(const struct listing *ls, enum vb_due_kind kind, const struct vb_life *l)
{
    struct vb_due d = due_new(ls, kind, l->engine);
    d.at = l->valve;
    snprintf(d.life, sizeof d.life, "%s", l->since);
    return d;
}

/* When the meter will stand there, at its pace of late. */
static double
day_of(const struct vb_unit_now *u, double running)
{
    if (!(u->pace > 0) || !isfinite(running))
        return NAN;
    return u->last_day + (running - u->last_running) / u->pace;
}

static void
set_crossing(struct vb_due *d, const struct vb_unit_now *u, const struct vb_crossing *c)
{
    d->now = c->out_now;
    d->due_running = c->early;
    d->expected_running = isfinite(c->expected) ? c->expected : NAN;
    d->due_day = day_of(u, d->due_running);
    d->expected_day = day_of(u, d->expected_running);
}

static struct vb_due_unit
unit_said(const struct vb_unit_now *u)
{
    struct vb_due_unit said = {.name = u->name,
                               .read_day = u->read_day,
                               .last_running = u->last_running,
                               .offset = u->offset,
                               .set_day = u->set_day};
    memcpy(said.meter_unit, u->meter_unit, sizeof said.meter_unit);
    return said;
}

/* For alerts: a little beyond the bounds, and whatever is remembered. */
static int
alert_wanted(const struct listing *ls, const struct vb_due *d)
{
    const struct vb_due_unit u = unit_said(&ls->f->unit[d->unit]);
    struct vb_alert name;
    if (vb_alert_level(&u, d, ls->w, VB_ALERT_SLACK) != VB_ALERT_NONE)
        return 1;
    vb_alert_name(&u, d, &name);
    return vb_alerts_has(ls->w->alerts, &name);
}

/* Days are whole ones, as they are printed: a rounding error decides nothing. */
static int
wanted(const struct listing *ls, const struct vb_due *d)
{
    const struct vb_due_wish *w = ls->w;
    const struct vb_unit_now *u = &ls->f->unit[d->unit];
    double day = vb_alert_day(d->due_day);
    if (w->alerts)
        return alert_wanted(ls, d);
    if (w->before_plan &&
        (isnan(u->plan_day) || !(d->now || d->due_running <= u->plan_running ||
                                 day <= vb_alert_day(u->plan_day))))
        return 0;
    if (!vb_due_within(w))
        return 1;
    return d->now || day <= vb_alert_day(w->as_of) + w->within_days ||
           d->due_running - u->last_running <= vb_due_within_meter(w, u->meter_unit);
}

static enum vb_err
add_unit(struct listing *ls, size_t unit)
{
    struct vb_dues *o = ls->out;
    if (ls->unit[unit] != NO_UNIT)
        return VB_OK;
    if (o->n_units == o->units_size) {
        size_t size = o->units_size ? 2 * o->units_size : 16;
        struct vb_due_unit *p = realloc(o->unit, size * sizeof *p);
        if (!p)
            return VB_EMEM;
        o->unit = p;
        o->units_size = size;
    }
    struct vb_due_unit *u = &o->unit[o->n_units];
    *u = unit_said(&ls->f->unit[unit]);
    if (!(u->name = strdup(u->name)))
        return VB_EMEM;
    ls->unit[unit] = o->n_units++;
    return VB_OK;
}

static enum vb_err
put(struct listing *ls, const struct vb_due *d, const char *reason)
{
    struct vb_dues *o = ls->out;
    if (o->n == o->size) {
        size_t size = o->size ? 2 * o->size : 64;
        struct vb_due *p = realloc(o->due, size * sizeof *p);
        if (!p)
            return VB_EMEM;
        o->due = p;
        o->size = size;
    }
    enum vb_err e = add_unit(ls, d->unit);
    if (e)
        return e;
    struct vb_due *own = &o->due[o->n];
    *own = *d;
    own->unit = ls->unit[d->unit];
    if (!(own->reason = strdup(reason)))
        return VB_EMEM;
    o->n++;
    return VB_OK;
}

enum vb_err
due_add(struct listing *ls, const struct vb_due *d, const char *reason)
{
    return wanted(ls, d) ? put(ls, d, reason) : VB_OK;
}

void
vb_dues_clear(struct vb_dues *d)
{
    for (size_t i = 0; i < d->n; i++)
        free(d->due[i].reason);
    for (size_t i = 0; i < d->n_units; i++)
        free(d->unit[i].name);
    free(d->due);
    free(d->unit);
    *d = (struct vb_dues){0};
}

double
vb_due_meter_u(const struct vb_due *d)
{
    double apart = d->expected_running - d->due_running;
    return apart > 1e-3 ? 20 * apart : NAN; // two digits of 10 are whole: of 0.5 apart
}

/* How much of a rate is the valve's own: nothing without own readings, all without
 * others. */
static const char *
whose(const struct vb_state *st)
{
    if (isnan(st->own))
        return ", the family's rate";
    return st->var < 0.5 * st->own_var ? ", more the family's rate than its own" : "";
}

void
vb_due_rate(const struct vb_fleet *f, const struct vb_life *l, const struct vb_state *st,
            char *out, size_t size)
{
    const char *unit = f->unit[l->engine].meter_unit;
    const char *plural = l->wear.n == 1 ? "" : "s";
    const char *way = st->rate < 0 ? "closing" : "opening";
    char figure[VB_DIGITS_PAIR];
    vb_digits_pair(1000 * fabs(st->rate), 1000 * sqrt(st->var), 2, figure);
    if (isnan(st->rate))
        snprintf(out, size, "no rate yet (%zu reading%s)", l->wear.n, plural);
    else if (!isfinite(st->var))
        snprintf(out, size, "%s %s mm/1000 %s, scatter unknown (%zu reading%s)", way,
                 figure, unit, l->wear.n, plural);
    else
        snprintf(out, size, "%s %s mm/1000 %s (%zu reading%s%s)", way, figure, unit,
                 l->wear.n, plural, whose(st));
}

static double
newest_lash(const struct vb_life *l)
{
    return l->unplaced ? l->unplaced_lash : l->wear.now;
}

/* What was read: how long before the engine's last visit, if it was not there, or that nobody
 * knows at which meter; and that the line of the readings is past the limit, if the reading is
 * not. */
static void
say_read(const struct vb_unit_now *u, const struct vb_life *l, int line_past, char *out,
         size_t size)
{
    char ago[VB_DIGITS_PAIR];
    double run = l->unplaced ? NAN : u->last_running - l->read_meter;
    size_t k = (size_t)snprintf(out, size, "%.3f mm%s", newest_lash(l),
                                l->unplaced            ? " read at no known meter"
                                : run > 0 || line_past ? " read"
                                                       : "");
    if (run > 0)
        k += (size_t)snprintf(out + k, size - k, " %s %s before the last visit",
                              vb_digits_pair(run, NAN, 0, ago), u->meter_unit);
    if (line_past)
        snprintf(out + k, size - k, ", its line is past the limit");
}

static enum vb_err
lash_due(struct listing *ls, const struct vb_life *l, const struct vb_state *st)
{
    const struct vb_unit_now *u = &ls->f->unit[l->engine];
    int side = l->valve.side == 'E';
    double tight = u->family->lash_min[side], loose = u->family->lash_max[side];
    double now = newest_lash(l);
    struct vb_crossing c = {VB_WAY_NONE, INFINITY, INFINITY, 0};
    struct vb_line line;
    if (vb_fleet_line(ls->f, l, st, &line) &&
        vb_line_cross(&line, l->wear.now_meter, tight, loose, ls->w->confidence, &c))
        c.way = VB_WAY_NONE;
    if (now < tight || now > loose) { // what was read counts, whatever the line says
        double at = l->unplaced ? u->last_running : l->wear.now_meter;
        c = (struct vb_crossing){now < tight ? VB_WAY_TIGHT : VB_WAY_LOOSE, at, at, 1};
    }
    if (c.way == VB_WAY_NONE)
        return VB_OK;
    struct vb_due d = new_life_due(ls, VB_DUE_LASH, l);
    char read[128], rate[128], reason[REASON_MAX];
    set_crossing(&d, u, &c);
    if (!wanted(ls, &d)) // before anything is put in words
        return VB_OK;
    vb_due_rate(ls->f, l, st, rate, sizeof rate);
    say_read(u, l, c.out_now && !(now < tight) && !(now > loose), read, sizeof read);
    snprintf(reason, sizeof reason, "%s, %s limit %.3f mm; %s", read,
             c.way == VB_WAY_TIGHT ? "tight" : "loose",
             c.way == VB_WAY_TIGHT ? tight : loose, rate);
    return put(ls, &d, reason);
}

static enum vb_err
seat_due(struct listing *ls, const struct vb_life *l, const struct vb_state *st)
{
    const struct vb_unit_now *u = &ls->f->unit[l->engine];
    double limit = u->family->seat_limit[l->valve.side == 'E'];
    struct vb_crossing c = {VB_WAY_NONE, INFINITY, INFINITY, 0};
    struct vb_line line;
    if (isnan(limit) || !vb_seat_line(ls->f, l, st, &line))
        return VB_OK;
    if (vb_line_cross(&line, l->wear.now_meter, -limit, NAN, ls->w->confidence, &c) ||
        c.way != VB_WAY_TIGHT)
        return VB_OK;
    struct vb_due d = new_life_due(ls, VB_DUE_SEAT, l);
    char rate[128], closed[VB_DIGITS_PAIR], reason[REASON_MAX];
    set_crossing(&d, u, &c);
    if (!wanted(ls, &d))
        return VB_OK;
    vb_due_rate(ls->f, l, st, rate, sizeof rate);
    vb_digits_pair(l->closed, sqrt(line.s2 * l->closed_v), 3, closed);
    snprintf(reason, sizeof reason, "closed %s of %.3f mm; %s", closed, limit, rate);
    return put(ls, &d, reason);
}

/* Something changed at the newest reading, or this valve is not like the others. */
static enum vb_err
check_due(struct listing *ls, const struct vb_life *l, const struct vb_state *st)
{
    if (!st->hint[0])
        return VB_OK;
    struct vb_due d = new_life_due(ls, VB_DUE_CHECK, l);
    char rate[128], reason[REASON_MAX];
    d.found = st->found;
    d.now = 1;
    d.due_day = ls->w->as_of;
    vb_due_rate(ls->f, l, st, rate, sizeof rate);
    snprintf(reason, sizeof reason, "%s; %s", st->hint, rate);
    return due_add(ls, &d, reason);
}

static double
earlier(double a, double b)
{
    return isnan(a) || b < a ? b : a;
}

/* The words behind "last set": how long ago by meter, and what the plan says. */
static void
say_interval(const struct vb_unit_now *u, int by_meter, char *out, size_t size)
{
    const struct vb_family *fam = u->family;
    char figure[VB_DIGITS_PAIR];
    size_t k = (size_t)snprintf(out, size, "last set %.10s", u->round_date);
    if (by_meter)
        k += (size_t)snprintf(
            out + k, size - k, ", %s%s %s ago", u->round_unread ? "at most " : "",
            vb_digits_pair(u->last_running - u->round_running, NAN, 0, figure),
            u->meter_unit);
    if (u->set_day > u->round_day)
        k += (size_t)snprintf(out + k, size - k, " (some valves %.10s)", u->set_date);
    if (by_meter)
        k += (size_t)snprintf(out + k, size - k, "; the plan says every %s %s",
                              vb_digits_pair(fam->relash, NAN, 0, figure), u->meter_unit);
    if (!isnan(fam->relash_days))
        snprintf(out + k, size - k, "; the plan says every %.0f days", fam->relash_days);
}

/* Nothing says when the planned time began. */
static enum vb_err
never_set(struct listing *ls, struct vb_due *d)
{
    const struct vb_unit_now *u = &ls->f->unit[d->unit];
    char reason[REASON_MAX] = "no setting on record";
    d->now = d->look = 1;
    d->due_day = ls->w->as_of;
    if (!isnan(u->round_day))
        snprintf(reason, sizeof reason, "last set %.10s, at no known meter",
                 u->round_date);
    else if (!isnan(u->set_day))
        snprintf(reason, sizeof reason, "renewed since it was set %.10s", u->set_date);
    return due_add(ls, d, reason);
}

static enum vb_err
interval_due(struct listing *ls, size_t i)
{
    const struct vb_unit_now *u = &ls->f->unit[i];
    double meter = u->family->relash, days = u->family->relash_days;
    const char *unit = u->family->relash_dim == VB_DIM_DISTANCE ? "km" : "h";
    int by_meter = !isnan(meter) && strcmp(unit, u->meter_unit) == 0;
    if ((!by_meter && isnan(days)) || !u->n_visits)
        return VB_OK;
    struct vb_due d = due_new(ls, VB_DUE_INTERVAL, i);
    char reason[REASON_MAX];
    by_meter = by_meter && !isnan(u->round_running);
    if (isnan(u->round_day) || (!by_meter && isnan(days)))
        return never_set(ls, &d);
    if (by_meter) {
        d.due_running = d.expected_running = u->round_running + meter;
        d.due_day = d.expected_day = day_of(u, d.due_running);
        d.now = u->last_running >= d.due_running;
    }
    if (!isnan(days)) {
        d.due_day = earlier(d.due_day, u->round_day + days);
        d.now |= floor(u->round_day) + days <= ls->w->as_of;
    }
    say_interval(u, by_meter, reason, sizeof reason);
    return due_add(ls, &d, reason);
}

unsigned
vb_found_so_many(enum vb_found from, size_t n)
{
    return ((1U << (n < 8 ? n : 8)) - 1) * (unsigned)from;
}

static enum vb_err
unread_due(struct listing *ls, size_t i)
{
    const struct vb_unit_now *u = &ls->f->unit[i];
    if (!u->n_unread || u->family->adjuster == VB_ADJUSTER_HYDRAULIC) // no lash to read
        return VB_OK;
    struct vb_due d = due_new(ls, VB_DUE_UNREAD, i);
    char reason[REASON_MAX];
    d.found = vb_found_so_many(VB_FOUND_UNREAD, u->n_unread);
    d.now = 1;
    d.due_day = ls->w->as_of;
    if (!u->n_visits)
        snprintf(reason, sizeof reason, "never read at all");
    else
        snprintf(reason, sizeof reason, "%.180s never read%s%s", u->unread,
                 u->renewed == VB_RENEWED_BUILD ? " in build "
                 : u->renewed                   ? " in the present life"
                                                : "",
                 u->renewed == VB_RENEWED_BUILD ? u->build : "");
    return due_add(ls, &d, reason);
}

static enum vb_err
valve_due(struct listing *ls, size_t i)
{
    const struct vb_life *l = &ls->f->lives.life[i];
    if (!l->current || !(l->wear.n || l->unplaced) || ls->f->unit[l->engine].ended)
        return VB_OK;
    enum vb_err e = lash_due(ls, l, &ls->st[i]);
    if (!e)
        e = seat_due(ls, l, &ls->st[i]);
    return e ? e : check_due(ls, l, &ls->st[i]);
}

static enum vb_err
engine_due(struct listing *ls, size_t i)
{
    const struct vb_unit_now *u = &ls->f->unit[i];
    struct vb_dues *out = ls->out;
    if (u->ended)
        return VB_OK;
    out->in_service++;
    if (!isnan(u->read_day) && (!out->visited++ || u->read_day > out->newest))
        out->newest = u->read_day;
    enum vb_err e = interval_due(ls, i);
    return e ? e : unread_due(ls, i);
}

enum vb_err
vb_due_add(const struct vb_fleet *f, const struct vb_state *st,
           const struct vb_due_wish *w, struct vb_dues *out)
{
    struct listing ls = {f, st, w, out, out->engines, NULL};
    enum vb_err e = VB_OK;
    ls.unit = malloc((f->n_units + 1) * sizeof *ls.unit);
    if (!ls.unit)
        return VB_EMEM;
    for (size_t i = 0; i < f->n_units; i++)
        ls.unit[i] = NO_UNIT;
    for (size_t i = 0; !e && i < f->lives.n; i++)
        e = valve_due(&ls, i);
    for (size_t i = 0; !e && i < f->n_units; i++)
        e = engine_due(&ls, i);
    if (!e)
        e = due_cams(&ls);
    out->engines += f->n_units;
    out->lives += f->lives.n;
    free(ls.unit);
    return e;
}

enum vb_err
vb_due_list(const struct vb_fleet *f, const struct vb_due_wish *w, struct vb_dues *out)
{
    struct vb_state *st = vb_fleet_states(f);
    enum vb_err e = st ? vb_due_add(f, st, w, out) : VB_EMEM;
    free(st);
    return e ? e : vb_due_sort(out);
}
