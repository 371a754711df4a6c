/* A fleet's valves for a terminal: a line a valve, the worst first. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "trend_impl.h"
#include "valvebook/date.h"
#include "valvebook/table.h"
#include "valvebook/valve.h"

static const struct vb_field fields[] = {
    {"engine", "engine", 0, 0},   {"at", "valve", 0, 0},
    {"due_date", "due by", 0, 0}, {"due_meter", "at meter", 1, 0},
    {"meter_unit", "unit", 0, 0}, {"now", "lash mm", 1, 3},
    {"u", "\xc2\xb1 u", 1, 3},    {"verdict", "is", 0, 0},
    {"rate", "rate", 1, 2},       {"rate_se", "\xc2\xb1 se", 1, 2},
    {"per", "mm per", 0, 0},      {"n", "readings", 1, 0},
    {"course", "course", 0, 0},   {"at_0", "0 from mm", 1, 3},
    {"at_9", "9 to mm", 1, 3},    {"reason", "why", 0, 0},
};

/* What the digits stand for: from limit to limit, or as far as was read. */
static void
find_scale(const struct shown_valve *v, struct course *c)
{
    int side = v->life->valve.side == 'E';
    c->at_0 = v->u->family->lash_min[side];
    c->at_9 = v->u->family->lash_max[side];
    for (size_t i = 0; i < v->n_points; i++) {
        double y = v->point[i].obs.lash;
        if (isnan(v->u->family->lash_min[side]))
            c->at_0 = fmin(c->at_0, y);
        if (isnan(v->u->family->lash_max[side]))
            c->at_9 = fmax(c->at_9, y);
    }
}

/* Tenths of the scale; what lies outside it shows that. Rounding decides nothing. */
static char
digit_of(const struct course *c, double y)
{
    double tenth = 10 * (y - c->at_0) / (c->at_9 - c->at_0) + 1e-9;
    return y < c->at_0 ? '<' : y > c->at_9 ? '>' : "0123456789"[(int)fmin(9, tenth)];
}

/* From the newest reading backwards, as far as there is room: "876/9875#98". */
static void
draw_course(const struct shown_valve *v, struct course *c)
{
    char back[2 * COURSE + 1];
    size_t k = 0, from = v->n_points > COURSE ? v->n_points - COURSE : 0;
    find_scale(v, c);
    if (!(c->at_0 < c->at_9)) {
        c->at_0 = c->at_9 = NAN;
        return;
    }
    for (size_t i = v->n_points - 1;; i--) {
        const struct vb_point *p = &v->point[i], *before = p - 1;
        back[k++] = digit_of(c, p->obs.lash);
        if (i == from)
            break;
        if (before->life != p->life)
            back[k++] = '#';
        else if (before->obs.interval != p->obs.interval)
            back[k++] = '/';
    }
    for (size_t i = 0; i < k; i++)
        c->text[i] = back[k - 1 - i];
    c->text[k] = 0;
}

void
text_take(struct vb_trend_report *t, const struct shown_valve *v)
{
    struct course *c = &t->course[t->n_courses];
    c->life = (size_t)(v->life - t->f->lives.life);
    c->index = t->n_courses++;
    c->rank = t->due_of[c->life];
    draw_course(v, c);
}

static int
by_rank(const void *a, const void *b)
{
    const struct course *x = a, *y = b;
    if (x->rank != y->rank)
        return x->rank < y->rank ? -1 : 1;
    return (x->index > y->index) - (x->index < y->index);
}

static const char *
verdict_of(const struct vb_state *st)
{
    static const char *const names[] = {
        [VB_VERDICT_CLOSE] = "close", [VB_VERDICT_IN] = "in", [VB_VERDICT_OUT] = "out"};
    return st->has_verdict ? names[st->verdict.verdict] : "";
}

static void
put_line(struct vb_table *table, const struct vb_trend_report *t, const struct course *c)
{
    const struct vb_life *l = &t->f->lives.life[c->life];
    const struct vb_unit_now *u = &t->f->unit[l->engine];
    const struct vb_due *d = c->rank == NO_DUE ? NULL : &t->all.due[c->rank];
    double due = d ? d->due_running - u->offset : NAN;
    struct vb_state st;
    char at[VB_VALVE_MAX], date[VB_DATE_MAX], per[24];
    snprintf(per, sizeof per, "1000 %s", u->meter_unit);
    vb_fleet_state(t->f, c->life, &st);
    vb_valve_format(l->valve, at);
    trend_date(d ? d->due_day : NAN, date);
    vb_table_text(table, u->name);
    vb_table_text(table, at);
    vb_table_text(table, date);
    vb_table_figures(table, &due, 1, d ? vb_due_meter_u(d) : NAN);
    vb_table_text(table, u->meter_unit);
    vb_table_pair(table, l->wear.now, vb_fleet_lash_u(t->f, l));
    vb_table_text(table, verdict_of(&st));
    vb_table_pair(table, 1000 * st.rate, 1000 * sqrt(st.var));
    vb_table_text(table, u->meter_unit[0] ? per : "");
    vb_table_number(table, (double)l->wear.n);
    vb_table_text(table, c->text);
    vb_table_number(table, c->at_0);
    vb_table_number(table, c->at_9);
    vb_table_text(table, d ? d->reason : "");
}

enum vb_err
text_end(struct vb_trend_report *t)
{
    struct vb_table *table;
    enum vb_err e = vb_table_new(t->o, VB_FORMAT_TABLE, fields,
                                 sizeof fields / sizeof *fields, &table);
    if (e)
        return e;
    qsort(t->course, t->n_courses, sizeof *t->course, by_rank);
    for (size_t i = 0; i < t->n_courses; i++)
        put_line(table, t, &t->course[i]);
    return vb_table_end(table, "no valve in use has been read in its present life");
}
