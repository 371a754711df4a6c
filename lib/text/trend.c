/* What is shown of a fleet, and in which order. */
#include "trend_impl.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/date.h"
#include "valvebook/valve.h"

int
trend_in_use(const struct vb_trend_report *t, size_t life)
{
    const struct vb_life *l = &t->f->lives.life[life];
    return l->current && l->wear.n > 0 && !t->f->unit[l->engine].ended;
}

void
trend_valve_words(struct vb_valve v, char *out)
{
    char index[16] = "";
    if (v.index)
        snprintf(index, sizeof index, " %d", v.index);
    snprintf(out, VALVE_WORDS, "Cylinder %d, %s valve%s", v.cyl,
             v.side == 'E' ? "exhaust" : "inlet", index);
}

void
words_add(struct words *w, const char *fmt, ...)
{
    va_list ap;
    va_start(ap, fmt);
    int k = vsnprintf(w->text + w->n, sizeof w->text - w->n, fmt, ap);
    va_end(ap);
    if (k > 0) // GCOVR_EXCL_BR_LINE: of bytes and numbers it cannot fail
        w->n += (size_t)k;
    if (w->n >= sizeof w->text)
        w->n = sizeof w->text - 1;
}

void
trend_date(double day, char *out)
{
    if (isnan(day) || vb_date_iso(day + 1e-6, out))
        out[0] = 0;
}

/* Lives are in order of engine. */
static void
find_lives(struct vb_trend_report *t)
{
    size_t i = 0;
    for (size_t u = 0; u < t->f->n_units; u++) {
        t->first_life[u] = i;
        while (i < t->f->lives.n && t->f->lives.life[i].engine == u)
            i++;
    }
    t->first_life[t->f->n_units] = i;
}

/* The life in use that a line of a list speaks of; NO_DUE if it speaks of an engine. */
static size_t
life_of(const struct vb_trend_report *t, const struct vb_due *d)
{
    for (size_t i = t->first_life[d->engine]; i < t->first_life[d->engine + 1]; i++)
        if (vb_valve_same(t->f->lives.life[i].valve, d->at) && trend_in_use(t, i))
            return i;
    return NO_DUE;
}

static void
find_dues(struct vb_trend_report *t)
{
    for (size_t i = 0; i < t->f->lives.n; i++)
        t->due_of[i] = NO_DUE;
    for (size_t u = 0; u < t->f->n_units; u++)
        t->due_of_unit[u] = t->due_of_its_valves[u] = t->due_of_its_parts[u] = NO_DUE;
    for (size_t i = t->all.n; i > 0; i--) { // the first that is met is left standing
        const struct vb_due *d = &t->all.due[i - 1];
        size_t life = life_of(t, d);
        t->due_of_unit[d->engine] = i - 1;
        if (life != NO_DUE || d->cam[0])
            t->due_of_its_parts[d->engine] = i - 1;
        if (life == NO_DUE)
            continue;
        t->due_of_its_valves[d->engine] = i - 1;
        t->due_of[life] = i - 1;
    }
}

/* The most urgent ones, as many as a page can carry. */
static void
choose_charts(struct vb_trend_report *t)
{
    for (size_t i = 0; i < t->f->lives.n; i++)
        t->charted[i] = t->w->all && trend_in_use(t, i) ? CHARTED : UNCHARTED;
    for (size_t i = 0; i < t->soon.n; i++)
        if (t->soon.due[i].cam[0])
            t->cams_due[t->soon.due[i].engine] = 1;
    for (size_t i = 0; !t->w->all && i < t->soon.n; i++) {
        size_t life = life_of(t, &t->soon.due[i]);
        if (life == NO_DUE || t->charted[life] != UNCHARTED)
            continue;
        if (t->n_charted < VB_TREND_CHARTS) {
            t->charted[life] = CHARTED;
            t->n_charted++;
        } else {
            t->charted[life] = LEFT_OUT;
            t->n_left_out++;
        }
    }
}

static int
has_any(const struct vb_trend_report *t, size_t unit)
{
    if (t->w->html && (t->cams_due[unit] || (t->w->all && cams_has(t, unit))))
        return 1;
    for (size_t i = t->first_life[unit]; i < t->first_life[unit + 1]; i++)
        if (t->w->html ? t->charted[i] == CHARTED : trend_in_use(t, i))
            return 1;
    return 0;
}

/* Units in the order of their first line in the list; those without one behind, as they
 * come. */
static void
order_units(struct vb_trend_report *t)
{
    for (size_t i = 0; i < t->all.n; i++)
        if (t->due_of_unit[t->all.due[i].engine] == i)
            t->order[t->n_order++] = t->all.due[i].engine;
    for (size_t u = 0; u < t->f->n_units; u++)
        if (t->due_of_unit[u] == NO_DUE && !t->f->unit[u].ended)
            t->order[t->n_order++] = u;
}

/* Those with a valve or cams to show, in the order of the worst of these. */
static void
choose_units(struct vb_trend_report *t)
{
    for (size_t i = 0; i < t->all.n; i++) {
        size_t u = t->all.due[i].engine;
        if (t->due_of_its_parts[u] == i && has_any(t, u))
            t->shown[t->n_shown++] = u;
    }
    for (size_t i = 0; i < t->n_order; i++)
        if (t->due_of_its_parts[t->order[i]] == NO_DUE && has_any(t, t->order[i]))
            t->shown[t->n_shown++] = t->order[i];
}

static enum vb_err
allocate(struct vb_trend_report *t)
{
    size_t units = t->f->n_units + 1, lives = t->f->lives.n + 1;
    t->first_life = calloc(units, sizeof *t->first_life);
    t->order = calloc(units, sizeof *t->order);
    t->shown = calloc(units, sizeof *t->shown);
    t->due_of_unit = calloc(units, sizeof *t->due_of_unit);
    t->due_of_its_valves = calloc(units, sizeof *t->due_of_its_valves);
    t->due_of_its_parts = calloc(units, sizeof *t->due_of_its_parts);
    t->cams_due = calloc(units, sizeof *t->cams_due);
    t->due_of = calloc(lives, sizeof *t->due_of);
    t->charted = calloc(lives, sizeof *t->charted);
    t->course = calloc(lives, sizeof *t->course);
    return t->first_life && t->order && t->shown && t->due_of_unit &&
                   t->due_of_its_valves && t->due_of_its_parts && t->cams_due &&
                   t->due_of && t->charted && t->course
               ? VB_OK
               : VB_EMEM;
}

enum vb_err
vb_trend_report_new(const struct vb_fleet *f, const struct vb_trend_wish *w,
                    struct vb_out *o, struct vb_trend_report **out)
{
    struct vb_due_wish everything = w->within;
    everything.within_days = everything.within_h = everything.within_km = NAN;
    struct vb_trend_report *t = calloc(1, sizeof *t);
    if (!t)
        return VB_EMEM;
    t->f = f;
    t->w = w;
    t->o = o;
    enum vb_err e = allocate(t);
    if (!e)
        e = vb_due_list(f, &everything, &t->all);
    if (!e)
        e = vb_due_list(f, &w->within, &t->soon);
    if (!e) {
        find_lives(t);
        find_dues(t);
        choose_charts(t);
        order_units(t);
        choose_units(t);
        if (w->html)
            e = page_begin(t);
    }
    if (e)
        vb_trend_report_free(t);
    else
        *out = t;
    return e;
}

const size_t *
vb_trend_report_units(const struct vb_trend_report *t, size_t *n)
{
    *n = t->n_shown;
    return t->shown;
}

/* The fleet was made from these readings, as far as counts and the newest can tell. */
static int
same_lives(const struct vb_trend_report *t, size_t unit, const struct vb_lives *l)
{
    const struct vb_life *had = &t->f->lives.life[t->first_life[unit]];
    if (l->n != t->first_life[unit + 1] - t->first_life[unit])
        return 0;
    for (size_t i = 0; i < l->n; i++)
        if (!vb_valve_same(l->life[i].valve, had[i].valve) ||
            l->life[i].wear.n != had[i].wear.n || l->life[i].wear.now != had[i].wear.now)
            return 0;
    return 1;
}

struct shown_valve
trend_valve(struct vb_trend_report *t, size_t life, const struct vb_engine *e,
            const struct vb_points *points)
{
    size_t unit = t->f->lives.life[life].engine, at = 0;
    const struct vb_life *l = &t->f->lives.life[life];
    struct shown_valve v = {.t = t, .e = e, .u = &t->f->unit[unit], .life = l};
    if (life > t->first_life[unit] && vb_valve_same(l[-1].valve, l->valve)) {
        v.last = l - 1;
        v.n_last = v.last->wear.n;
    }
    for (size_t i = t->first_life[unit]; i < life - (v.last ? 1 : 0); i++)
        at += t->f->lives.life[i].wear.n;
    v.point = points->point + at;
    v.n_points = v.n_last + l->wear.n;
    vb_fleet_state(t->f, life, &v.st);
    return v;
}

enum vb_err
vb_trend_report_take(void *trend, size_t unit, const struct vb_engine *e)
{
    struct vb_trend_report *t = trend;
    struct vb_lives lives = {0};
    struct vb_points points = {0};
    enum vb_err err = vb_lives_points(e, 0, &lives, &points);
    if (!err && !same_lives(t, unit, &lives))
        err = VB_ECONFLICT;
    if (!err && t->w->html)
        err = page_engine(t, unit, e, &points);
    for (size_t i = t->first_life[unit]; !err && i < t->first_life[unit + 1]; i++)
        if (!t->w->html && trend_in_use(t, i)) {
            struct shown_valve v = trend_valve(t, i, e, &points);
            text_take(t, &v);
        }
    vb_lives_clear(&lives);
    vb_points_clear(&points);
    return err;
}

enum vb_err
vb_trend_report_end(struct vb_trend_report *t)
{
    if (!t->w->html)
        return text_end(t);
    enum vb_err e = page_lives(t);
    page_end(t);
    return e;
}

void
vb_trend_report_free(struct vb_trend_report *t)
{
    if (!t)
        return;
    vb_dues_clear(&t->all);
    vb_dues_clear(&t->soon);
    free(t->first_life);
    free(t->order);
    free(t->shown);
    free(t->due_of_unit);
    free(t->due_of_its_valves);
    free(t->due_of_its_parts);
    free(t->cams_due);
    free(t->due_of);
    free(t->charted);
    free(t->course);
    free(t);
}
