/* The charts of a valve and their words. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "trend_impl.h"
#include "valvebook/date.h"
#include "valvebook/digits.h"
#include "valvebook/html.h"
#include "valvebook/quantity.h"
#include "valvebook/valve.h"

#define REACH 0.6  // a forecast is drawn no further than this part of what was read
#define LEAST 0.15 // and, where no limit is met, as far as this

/* What a chart is made of, while it is put together. */
struct parts {
    struct shown_valve *v;
    struct vb_chart c;
    struct vb_chart_point *point;
    struct vb_segment *segment;
    struct vb_chart_event *event;
    double *closed, *closed_v;
    struct vb_line line;
    char title[200];
    struct words desc;
};

/* Behind what is there already; too long a text is cut. */
static double
day_at(const void *arg, double running)
{
    const struct shown_valve *v = arg;
    return vb_course_day(v->e, v->u, running);
}

static const struct vb_due *
find_due(const struct vb_dues *l, const struct shown_valve *v, enum vb_due_kind kind)
{
    for (size_t i = 0; i < l->n; i++)
        if (l->due[i].kind == kind && l->due[i].engine == v->life->engine &&
            vb_valve_same(l->due[i].at, v->life->valve))
            return &l->due[i];
    return NULL;
}

/* Does this event renew something of this valve, as far as lash goes? */
static int
renews(const struct shown_valve *v, const struct vb_event *ev)
{
    int mask = ev->renews & (VB_RENEWS_LASH | VB_RENEWS_SEAT);
    return mask && vb_life_number(v->e, v->life->valve, ev->day, 0, mask) !=
                       vb_life_number(v->e, v->life->valve, ev->day, 1, mask);
}

static const char *
event_name(const struct shown_valve *v, const struct vb_event *ev)
{
    if (ev->kind == VB_EVENT_BUILD)
        return ev->build[0] ? ev->build : "build";
    if (ev->kind == VB_EVENT_METER)
        return "new meter";
    return !renews(v, ev) ? NULL : ev->renews & VB_RENEWS_SEAT ? "new seat" : "new part";
}

static void
put_event(struct parts *p, double x, const char *name, int planned)
{
    struct vb_chart_event *ev = &p->event[p->c.n_events];
    if (!isfinite(x) || !name)
        return;
    *ev = (struct vb_chart_event){.x = x, .planned = planned};
    vb_quote(name, strlen(name), ev->label, sizeof ev->label);
    p->c.n_events++;
}

static void
find_events(struct parts *p)
{
    const struct shown_valve *v = p->v;
    for (size_t i = 0; i < v->e->n_events; i++) {
        const struct vb_event *ev = &v->e->event[i];
        put_event(p, vb_course_meter(v->e, v->u, ev->day), event_name(v, ev), 0);
    }
    if (v->u->plan_running <= p->c.until)
        put_event(p, v->u->plan_running, v->u->plan_label, 1);
}

/* The limit that is met, as far as it lies near enough to be drawn. */
static void
find_reach(struct parts *p, const struct vb_due *d, double at)
{
    struct vb_chart *c = &p->c;
    double history = c->now - c->point[0].x, want = LEAST * history;
    char date[VB_DATE_MAX];
    c->early = c->expected = NAN;
    c->at = at;
    if (d && !isnan(d->due_running)) {
        c->early = d->due_running;
        c->expected = d->expected_running;
        want = fmax(want, fmax(c->early, isnan(c->expected) ? 0 : c->expected) - c->now);
        trend_date(d->due_day, date);
        snprintf(c->due, sizeof c->due, "%s%.10s", "due ", date);
    }
    if (history > 0)
        want = fmin(want, REACH * history);
    c->until = c->now + (c->line ? want : 0);
}

static enum vb_err
allocate(struct parts *p, size_t n)
{
    p->point = calloc(n + 1, sizeof *p->point);
    p->segment = calloc(n + 1, sizeof *p->segment);
    p->event = calloc(p->v->e->n_events + 2, sizeof *p->event);
    p->closed = calloc(n + 1, sizeof *p->closed);
    p->closed_v = calloc(n + 1, sizeof *p->closed_v);
    return p->point && p->segment && p->event && p->closed && p->closed_v ? VB_OK
                                                                          : VB_EMEM;
}

static void
release(struct parts *p)
{
    free(p->point);
    free(p->segment);
    free(p->event);
    free(p->closed);
    free(p->closed_v);
}

static void
begin_chart(struct parts *p)
{
    struct shown_valve *v = p->v;
    p->c.title = p->title;
    p->c.desc = p->desc.text;
    p->c.unit = v->u->meter_unit;
    p->c.offset = v->u->offset;
    p->c.day = day_at;
    p->c.day_arg = v;
    p->c.point = p->point;
    p->c.segment = p->segment;
    p->c.event = p->event;
    p->c.lower = p->c.upper = NAN;
    p->c.sign = 1;
    p->c.confidence = v->t->w->within.confidence;
    p->c.now = v->life->wear.now_meter;
}

/* Fitted lines of both lives, each at its own rate. */
static enum vb_err
find_segments(struct parts *p)
{
    const struct shown_valve *v = p->v;
    size_t n = 0, more = 0;
    enum vb_err e = VB_OK;
    if (v->n_last)
        e = vb_course_segments(v->point, v->n_last, v->last->wear.rate, p->segment, &n);
    if (!e)
        e = vb_course_segments(v->point + v->n_last, v->n_points - v->n_last,
                               v->life->wear.rate, p->segment + n, &more);
    p->c.n_segments = n + more;
    return e;
}

static void
find_points(struct parts *p)
{
    const struct shown_valve *v = p->v;
    for (size_t i = 0; i < v->n_points; i++) {
        const struct vb_point *q = &v->point[i];
        p->point[i] = (struct vb_chart_point){q->obs.meter, q->obs.lash, q->u, q->left};
    }
    p->c.n_points = v->n_points;
}

/* "without u: 3 of 12" */
static void
say_u(const struct shown_valve *v, struct words *out)
{
    size_t without = 0;
    for (size_t i = 0; i < v->n_points; i++)
        without += isnan(v->point[i].u) ? 1u : 0u;
    if (without == v->n_points)
        words_add(out, " None of the %zu readings shown states its u.", v->n_points);
    else if (without)
        words_add(out, " %zu of the %zu readings shown state no u.", without,
                  v->n_points);
}

static void
say_crossing(const struct shown_valve *v, const struct vb_due *d, const char *limit,
             struct words *out)
{
    char date[VB_DATE_MAX];
    const char *unit = v->u->meter_unit;
    if (!d) {
        words_add(out, " No forecast meets the %s.", limit);
        return;
    }
    if (d->now) {
        words_add(out, " Beyond the %s already.", limit);
        return;
    }
    trend_date(d->due_day, date);
    double due = d->due_running - v->u->offset;
    double expected = d->expected_running - v->u->offset, u = vb_due_meter_u(d);
    words_add(out, " Due, early bound (95 %%) at the %s: %.*f %s%s%s.", limit,
              vb_digits(due, u, 0), due, unit, date[0] ? ", " : "", date);
    trend_date(d->expected_day, date);
    if (!isnan(d->expected_running))
        words_add(out, " Expected: %.*f %s%s%s.", vb_digits(expected, u, 0), expected,
                  unit, date[0] ? ", " : "", date);
}

static void
say_limits(const struct parts *p, struct words *out)
{
    if (!isnan(p->c.lower) && !isnan(p->c.upper))
        words_add(out, " Window %.3f to %.3f mm", p->c.lower, p->c.upper);
    else if (!isnan(p->c.lower))
        words_add(out, " Tight limit %.3f mm", p->c.lower);
    else if (!isnan(p->c.upper))
        words_add(out, " Loose limit %.3f mm", p->c.upper);
    else
        words_add(out, " No limit is stated");
    const struct vb_state *st = &p->v->st;
    if (st->has_verdict)
        words_add(out, ": %s",
                  st->verdict.verdict == VB_VERDICT_IN    ? "inside"
                  : st->verdict.verdict == VB_VERDICT_OUT ? "outside"
                  : st->verdict.at < 0                    ? "too close to tight to say"
                                                          : "too close to loose to say");
    words_add(out, ".");
}

/* Is it the tight limit that is met, or would be? As lib/trade/due.c has it: what was read
 * counts, then the line, wherever it goes from there. */
static int
meets_tight(const struct parts *p)
{
    const struct vb_chart *c = &p->c;
    struct vb_crossing cross;
    double now = p->v->life->wear.now;
    if (now < c->lower || now > c->upper)
        return now < c->lower;
    if (c->line &&
        !vb_line_cross(c->line, c->now, c->lower, c->upper, c->confidence, &cross) &&
        cross.way != VB_WAY_NONE)
        return cross.way == VB_WAY_TIGHT;
    return !(p->v->st.rate > 0);
}

static void
say_lash(struct parts *p, const struct vb_due *d)
{
    const struct shown_valve *v = p->v;
    const struct vb_life *l = v->life;
    char date[VB_DATE_MAX], rate[128], lash[VB_DIGITS_PAIR], meter[VB_DIGITS_PAIR];
    trend_date(vb_course_day(v->e, v->u, l->read_meter), date);
    vb_digits_pair(l->wear.now, vb_fleet_lash_u(v->t->f, l), 3, lash);
    words_add(&p->desc, "%s mm at %s %s, %s.", lash,
              vb_digits_pair(vb_course_shown(v->e, l->read_meter), NAN, 0, meter),
              v->u->meter_unit, date);
    say_limits(p, &p->desc);
    vb_due_rate(v->t->f, l, &v->st, rate, sizeof rate);
    words_add(&p->desc, " %c%s.", rate[0] - 'a' + 'A', rate + 1);
    say_crossing(v, d, meets_tight(p) ? "tight limit" : "loose limit", &p->desc);
    say_u(v, &p->desc);
    size_t n = strlen(v->st.hint);
    if (n)
        words_add(&p->desc, " Look again: %s%s", v->st.hint,
                  v->st.hint[n - 1] == '?' ? "" : ".");
}

static void
put_title(struct parts *p, const char *what, const char *at)
{
    char name[80];
    vb_quote(p->v->u->name, strlen(p->v->u->name), name, sizeof name);
    snprintf(p->title, sizeof p->title, "%s, engine %s, valve %s", what, name, at);
}

static enum vb_err
write_figure(struct parts *p, const char *heading)
{
    struct vb_trend_report *t = p->v->t;
    vb_html_put(t->o, "<figure>\n<h3>%s</h3>\n", heading);
    enum vb_err e = vb_chart_write(t->o, ++t->n_drawings, &p->c);
    vb_out_text(t->o, "<figcaption>");
    page_words(t->o, p->desc.text);
    vb_out_text(t->o, "</figcaption>\n</figure>\n");
    return e;
}

static enum vb_err
lash_chart(struct shown_valve *v)
{
    struct parts p = {.v = v};
    char at[VB_VALVE_MAX], words[VALVE_WORDS], heading[48];
    int side = v->life->valve.side == 'E';
    const struct vb_due *d = find_due(&v->t->all, v, VB_DUE_LASH);
    enum vb_err e = allocate(&p, v->n_points);
    if (!e) {
        begin_chart(&p);
        find_points(&p);
        e = find_segments(&p);
    }
    if (!e) {
        vb_valve_format(v->life->valve, at);
        trend_valve_words(v->life->valve, words);
        p.c.lower = v->u->family->lash_min[side];
        p.c.upper = v->u->family->lash_max[side];
        p.c.lower_name = "tight", p.c.upper_name = "loose";
        if (vb_fleet_line(v->t->f, v->life, &v->st, &p.line)) {
            p.c.line = &p.line;
            p.c.way = p.line.rate < 0 ? -1 : 1;
        }
        find_reach(&p, d, meets_tight(&p) ? p.c.lower : p.c.upper);
        find_events(&p);
        put_title(&p, "Lash", at);
        snprintf(heading, sizeof heading, "%s lash", at);
        words_add(&p.desc, "%s. ", words);
        say_lash(&p, d);
        e = write_figure(&p, heading);
    }
    release(&p);
    return e;
}

/* How far the seat has closed, at each reading of the present life. */
static void
find_closing(struct parts *p)
{
    const struct shown_valve *v = p->v;
    const struct vb_point *point = v->point + v->n_last;
    size_t n = v->life->wear.n;
    double s2 = vb_fleet_group(v->t->f, v->life)->s2;
    vb_course_closing(v->life, point, n, p->closed, p->closed_v);
    for (size_t i = 0; i < n; i++)
        p->point[i] = (struct vb_chart_point){point[i].obs.meter, p->closed[i],
                                              sqrt(s2 * p->closed_v[i]), point[i].left};
    p->c.n_points = n;
}

static void
say_seat(struct parts *p, const struct vb_due *d, double limit)
{
    const struct shown_valve *v = p->v;
    char rate[128], closed[VB_DIGITS_PAIR];
    vb_due_rate(v->t->f, v->life, &v->st, rate, sizeof rate);
    vb_digits_pair(v->life->closed, sqrt(p->line.s2 * v->life->closed_v), 3, closed);
    words_add(&p->desc, "Closed %s of %.3f mm since the seat was new or first read.",
              closed, limit);
    words_add(&p->desc, " %c%s.", rate[0] - 'a' + 'A', rate + 1);
    say_crossing(v, d, "seat limit", &p->desc);
    words_add(&p->desc, " Bars are the standard error of the sum so far.");
}

static enum vb_err
seat_chart(struct shown_valve *v, const struct vb_due *d)
{
    struct parts p = {.v = v};
    char at[VB_VALVE_MAX], heading[48];
    double limit = v->u->family->seat_limit[v->life->valve.side == 'E'];
    if (!vb_seat_line(v->t->f, v->life, &v->st, &p.line))
        return VB_OK;
    enum vb_err e = allocate(&p, v->n_points);
    if (!e) {
        begin_chart(&p);
        find_closing(&p);
        p.c.line = &p.line;
        p.c.from = p.c.now;
        p.c.sign = -1;
        p.c.way = 1;
        p.c.upper = limit, p.c.upper_name = "limit";
        find_reach(&p, d, limit);
        find_events(&p);
        vb_valve_format(v->life->valve, at);
        put_title(&p, "Closing of the seat", at);
        snprintf(heading, sizeof heading, "%s seat, closed so far", at);
        say_seat(&p, d, limit);
        e = write_figure(&p, heading);
    }
    release(&p);
    return e;
}

/* A seat is shown where it needs attention, and, of a chosen engine, where it has used up
 * a good part of what it may. */
enum vb_err
page_valve(struct shown_valve *v)
{
    double limit = v->u->family->seat_limit[v->life->valve.side == 'E'];
    int worn = v->t->w->all && v->life->closed > limit / 2;
    enum vb_err e = lash_chart(v);
    if (!e && (worn || find_due(&v->t->soon, v, VB_DUE_SEAT)))
        e = seat_chart(v, find_due(&v->t->all, v, VB_DUE_SEAT));
    return e;
}
