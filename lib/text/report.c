#include "valvebook/report.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/date.h"
#include "valvebook/valve.h"

static const struct vb_field drift_fields[] = {
    {"engine", "engine", 0, 0},
    {"family", "family", 0, 0},
    {"at", "valve", 0, 0},
    {"build", "build", 0, 0},
    {"since", NULL, 0, 0},
    {"n", "readings", 1, 0},
    {"settings", "settings", 1, 0},
    {"now", "lash mm", 1, 3},
    {"verdict", "is", 0, 0},
    {"moved", "moved mm", 1, 3},
    {"rate", "own rate", 1, 2},
    {"rate_se", "\xc2\xb1 se", 1, 2},
    {"est", "with family", 1, 2},
    {"est_se", "\xc2\xb1 se", 1, 2},
    {"per", "mm per", 0, 0},
    {"df", NULL, 1, 0},
    {"step_p", NULL, 1, 0},
    {"vs_last", "vs last build", 1, 2},
    {"vs_last_se", "\xc2\xb1 se", 1, 2},
    {"no_temp", NULL, 1, 0},
    {"no_meter", NULL, 1, 0},
    {"way", "way", 0, 0},
    {"hint", "hint", 0, 0},
};

static const struct vb_field due_fields[] = {
    {"engine", "engine", 0, 0},
    {"kind", "kind", 0, 0},
    {"at", "valve", 0, 0},
    {"due_date", "due by", 0, 0},
    {"due_meter", "at meter", 1, 0},
    {"meter_left", "to run", 1, 0},
    {"meter_unit", "unit", 0, 0},
    {"expected_date", "expected", 0, 0},
    {"expected_meter", "at meter", 1, 0},
    {"last_visit", "last visit", 0, 0},
    {"reason", "why", 0, 0},
};

static const struct vb_field alert_fields[] = {
    {"engine", "engine", 0, 0},
    {"kind", "kind", 0, 0},
    {"at", "valve", 0, 0},
    {"life", "life", 0, 0},
    {"level", "level", 0, 0},
    {"first_said", "first said", 0, 0},
    {"last_said", "last said", 0, 0},
    {"better_since", "better since", 0, 0},
    {"acked", "acknowledged", 0, 0},
    {"acked_until", "until", 0, 0},
};

#define COUNT(a) (sizeof(a) / sizeof *(a))

/* A life and what a table is sorted by. */
struct ranked {
    const char *family;
    double speed; // |rate|, -1 without one
    size_t index; // of the life
};

static int
by_speed(const void *a, const void *b)
{
    const struct ranked *x = a, *y = b;
    int c = strcmp(x->family, y->family);
    if (c)
        return c;
    if (x->speed != y->speed)
        return x->speed > y->speed ? -1 : 1;
    return (x->index > y->index) - (x->index < y->index);
}

static const char *
way_name(const struct vb_state *st)
{
    if (!isfinite(st->rate) || !isfinite(st->var))
        return "";
    return st->way < 0 ? "closing" : st->way > 0 ? "opening" : "still";
}

static const char *
verdict_name(const struct vb_state *st)
{
    static const char *const names[] = {
        [VB_VERDICT_CLOSE] = "close", [VB_VERDICT_IN] = "in", [VB_VERDICT_OUT] = "out"};
    return st->has_verdict ? names[st->verdict.verdict] : "";
}

static void
drift_row(struct vb_table *t, const struct vb_fleet *f, const struct vb_life *l,
          const struct vb_state *st)
{
    const struct vb_unit_now *u = &f->unit[l->engine];
    char at[VB_VALVE_MAX], per[24];
    vb_valve_format(l->valve, at);
    snprintf(per, sizeof per, "1000 %s", u->meter_unit);
    vb_table_text(t, u->name);
    vb_table_text(t, u->family_name);
    vb_table_text(t, at);
    vb_table_text(t, l->build);
    vb_table_text(t, l->since);
    vb_table_number(t, (double)l->wear.n);
    vb_table_number(t, (double)l->wear.intervals);
    vb_table_number(t, l->wear.n ? l->wear.now : NAN);
    vb_table_text(t, verdict_name(st));
    vb_table_number(t, l->wear.n > l->wear.intervals ? l->wear.movement : NAN);
    vb_table_pair(t, 1000 * st->own, 1000 * sqrt(st->own_var));
    vb_table_pair(t, 1000 * st->rate, 1000 * sqrt(st->var));
    vb_table_text(t, u->meter_unit[0] ? per : "");
    vb_table_number(t, isfinite(st->var) ? vb_fleet_group(f, l)->pool.df : NAN);
    vb_table_number(t, vb_step_p(&st->step));
    vb_table_pair(t, 1000 * st->vs_last, 1000 * st->vs_last_se);
    vb_table_number(t, (double)l->no_temp);
    vb_table_number(t, (double)l->no_meter);
    vb_table_text(t, way_name(st));
    vb_table_text(t, st->hint);
}

enum vb_err
vb_drift_begin(enum vb_format format, struct vb_out *out, struct vb_table **t)
{
    return vb_table_new(out, format, drift_fields, COUNT(drift_fields), t);
}

void
vb_drift_rows(struct vb_table *t, const struct vb_fleet *f, const struct vb_state *st,
              int all)
{
    for (size_t i = 0; i < f->lives.n; i++)
        if (f->lives.life[i].current || all)
            drift_row(t, f, &f->lives.life[i], &st[i]);
}

enum vb_err
vb_drift_end(struct vb_table *t)
{
    return vb_table_end(t, "no valve has been read in its present life");
}

/* The fastest of each family first. */
static enum vb_err
ranked_rows(struct vb_table *t, const struct vb_fleet *f, const struct vb_state *st,
            int all)
{
    struct ranked *k = malloc((f->lives.n + 1) * sizeof *k);
    size_t n = 0;
    if (!k)
        return VB_EMEM;
    for (size_t i = 0; i < f->lives.n; i++) {
        const struct vb_life *l = &f->lives.life[i];
        double speed = l->wear.n && l->wear.sxx > 0 ? fabs(l->wear.rate) : -1;
        if (l->current || all)
            k[n++] = (struct ranked){f->unit[l->engine].family_name, speed, i};
    }
    qsort(k, n, sizeof *k, by_speed);
    for (size_t i = 0; i < n; i++)
        drift_row(t, f, &f->lives.life[k[i].index], &st[k[i].index]);
    free(k);
    return VB_OK;
}

enum vb_err
vb_report_drift(const struct vb_fleet *f, int all, enum vb_format format,
                struct vb_out *out)
{
    struct vb_table *t = NULL;
    struct vb_state *st = vb_fleet_states(f);
    enum vb_err e = st ? vb_drift_begin(format, out, &t) : VB_EMEM;
    if (!e && vb_format_auto(format) == VB_FORMAT_TABLE)
        e = ranked_rows(t, f, st, all);
    else if (!e)
        vb_drift_rows(t, f, st, all);
    free(st);
    enum vb_err ended = t ? vb_drift_end(t) : VB_OK;
    return e ? e : ended;
}

static void
date_cell(struct vb_table *t, double day)
{
    char date[VB_DATE_MAX] = "";
    if (!isnan(day) && vb_date_iso(day + 1e-6, date))
        date[0] = 0;
    vb_table_text(t, date);
}

static void
due_row(struct vb_table *t, const struct vb_due_unit *u, const struct vb_due *d)
{
    const double due[] = {d->due_running - u->offset, d->due_running - u->last_running};
    double expected = d->expected_running - u->offset;
    char at[VB_VALVE_MAX];
    vb_valve_format(d->at, at);
    vb_table_text(t, u->name);
    vb_table_text(t, vb_due_kind_name(d->kind));
    vb_table_text(t, d->cam[0] ? d->cam : at);
    date_cell(t, d->due_day);
    vb_table_figures(t, due, 2, vb_due_meter_u(d));
    vb_table_text(t, u->meter_unit);
    date_cell(t, d->expected_day);
    vb_table_figures(t, &expected, 1, vb_due_meter_u(d));
    date_cell(t, u->read_day);
    vb_table_text(t, d->reason);
}

enum vb_err
vb_report_due(const struct vb_dues *d, enum vb_format format, struct vb_out *out)
{
    struct vb_table *t;
    enum vb_err e = vb_table_new(out, format, due_fields, COUNT(due_fields), &t);
    for (size_t i = 0; !e && i < d->n; i++)
        due_row(t, &d->unit[d->due[i].unit], &d->due[i]);
    return e ? e
             : vb_table_end(t, d->engines == 0 ? "there is no engine in this book"
                               : d->in_service == 0
                                   ? "no engine here is in service any more"
                               : d->lives == 0 ? "no valve has been read yet"
                                               : "nothing is due");
}

enum vb_err
vb_report_alerts(const struct vb_alerts *l, enum vb_format format, struct vb_out *out)
{
    struct vb_table *t;
    enum vb_err e = vb_table_new(out, format, alert_fields, COUNT(alert_fields), &t);
    for (size_t i = 0; !e && i < l->n; i++) {
        const struct vb_alert *a = &l->alert[i];
        const char *words[] = {a->engine, a->kind, a->at, a->life,
                               vb_alert_level_name(a->level)};
        for (size_t k = 0; k < COUNT(words); k++)
            vb_table_text(t, words[k]);
        date_cell(t, a->first_day);
        date_cell(t, a->said_day);
        date_cell(t, a->gone_day);
        vb_table_text(t, a->acked ? vb_alert_level_name(a->acked) : "");
        date_cell(t, a->acked_until);
    }
    return e ? e : vb_table_end(t, "no alert stands");
}
