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
    {"since", "since", 0, 0},
    {"n", "readings", 1, 0},
    {"settings", "settings", 1, 0},
    {"now", "lash mm", 1, 3},
    {"moved", "moved mm", 1, 3},
    {"rate", "rate mm/1000", 1, 2},
    {"rate_se", "\xc2\xb1 se", 1, 2},
    {"per", "per", 0, 0},
    {"df", "df", 1, 0},
    {"no_temp", "no temp", 1, 0},
    {"no_meter", "no meter", 1, 0},
    {"way", "way", 0, 0},
};

static const struct vb_field due_fields[] = {
    {"engine", "engine", 0, 0},
    {"kind", "kind", 0, 0},
    {"at", "valve", 0, 0},
    {"due_date", "due by", 0, 0},
    {"due_meter", "at meter", 1, 0},
    {"left", "left", 1, 0},
    {"meter_unit", "unit", 0, 0},
    {"expected_date", "expected", 0, 0},
    {"expected_meter", "at meter", 1, 0},
    {"reason", "why", 0, 0},
};

#define COUNT(a) (sizeof(a) / sizeof *(a))

/* A life and what a table is sorted by. */
struct ranked {
    const struct vb_life *life;
    const char *family;
    double speed; // |rate|, -1 without one
    size_t index;
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
    return x->index < y->index ? -1 : x->index > y->index;
}

static const char *
way_name(const struct vb_rate *r)
{
    return isnan(r->se) ? "" : r->way < 0 ? "closing" : r->way > 0 ? "opening" : "still";
}

/* In a table that a person reads, "none" is best said by a blank. */
static void
count(struct vb_table *t, size_t n, int blank_zero)
{
    vb_table_number(t, n == 0 && blank_zero ? NAN : (double)n);
}

static void
drift_row(struct vb_table *t, const struct vb_fleet *f, const struct vb_life *l, int tidy)
{
    const struct vb_unit_now *u = &f->unit[l->engine];
    struct vb_rate r = {NAN, NAN, NAN, 0};
    char at[VB_VALVE_MAX], per[24];
    int has = vb_fleet_rate(f, l, &r);
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
    vb_table_number(t, l->wear.n > l->wear.intervals ? l->wear.movement : NAN);
    vb_table_number(t, r.rate);
    vb_table_number(t, r.se);
    vb_table_text(t, per);
    vb_table_number(t, has && !isnan(r.se) ? r.df : NAN);
    count(t, l->no_temp, tidy);
    count(t, l->no_meter, tidy);
    vb_table_text(t, has ? way_name(&r) : "");
}

enum vb_err
vb_report_drift(const struct vb_fleet *f, int all, enum vb_format format,
                struct vb_out *out)
{
    struct vb_table *t;
    struct ranked *k = malloc((f->lives.n + 1) * sizeof *k);
    size_t n = 0;
    enum vb_err e =
        k ? vb_table_new(out, format, drift_fields, COUNT(drift_fields), &t) : VB_EMEM;
    for (size_t i = 0; !e && i < f->lives.n; i++) {
        const struct vb_life *l = &f->lives.life[i];
        struct vb_rate r;
        if (l->current || all)
            k[n++] = (struct ranked){l, f->unit[l->engine].family_name,
                                     vb_fleet_rate(f, l, &r) ? fabs(r.rate) : -1, i};
    }
    int sorted = vb_format_auto(format) == VB_FORMAT_TABLE;
    if (!e && sorted)
        qsort(k, n, sizeof *k, by_speed);
    for (size_t i = 0; !e && i < n; i++)
        drift_row(t, f, k[i].life, sorted);
    free(k);
    return e ? e : vb_table_end(t, "no valve has been read yet");
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
due_row(struct vb_table *t, const struct vb_fleet *f, const struct vb_due *d)
{
    const struct vb_unit_now *u = &f->unit[d->unit];
    char at[VB_VALVE_MAX];
    vb_valve_format(d->at, at);
    vb_table_text(t, u->name);
    vb_table_text(t, vb_due_kind_name(d->kind));
    vb_table_text(t, at);
    date_cell(t, d->due_day);
    vb_table_number(t, d->due_running - u->offset);
    vb_table_number(t, d->due_running - u->last_running);
    vb_table_text(t, u->meter_unit);
    date_cell(t, d->expected_day);
    vb_table_number(t, d->expected_running - u->offset);
    vb_table_text(t, d->reason);
}

enum vb_err
vb_report_due(const struct vb_fleet *f, const struct vb_dues *d, enum vb_format format,
              struct vb_out *out)
{
    struct vb_table *t;
    enum vb_err e = vb_table_new(out, format, due_fields, COUNT(due_fields), &t);
    for (size_t i = 0; !e && i < d->n; i++)
        due_row(t, f, &d->due[i]);
    return e ? e : vb_table_end(t, "nothing is due");
}
