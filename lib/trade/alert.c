#include "valvebook/alert.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const level_names[] = {"none", "soon", "due", "over"};

const char *
vb_alert_level_name(enum vb_alert_level l)
{
    return level_names[l];
}

enum vb_alert_level
vb_alert_level_parse(const char *s)
{
    for (int i = VB_ALERT_SOON; i <= VB_ALERT_OVER; i++)
        if (strcmp(s, level_names[i]) == 0)
            return (enum vb_alert_level)i;
    return VB_ALERT_NONE;
}

enum vb_err
vb_alerts_add(struct vb_alerts *l, const struct vb_alert *a)
{
    if (l->n == l->size) {
        size_t size = l->size ? 2 * l->size : 64;
        struct vb_alert *p = realloc(l->alert, size * sizeof *p);
        if (!p)
            return VB_EMEM;
        l->alert = p;
        l->size = size;
    }
    char *engine = strdup(a->engine);
    if (!engine)
        return VB_EMEM;
    l->alert[l->n] = *a;
    l->alert[l->n++].engine = engine;
    return VB_OK;
}

void
vb_alerts_clear(struct vb_alerts *l)
{
    for (size_t i = 0; i < l->n; i++)
        free(l->alert[i].engine);
    free(l->alert);
    *l = (struct vb_alerts){0};
}

int
vb_alert_order(const struct vb_alert *a, const struct vb_alert *b)
{
    int c = strcmp(a->engine, b->engine);
    if (!c)
        c = strcmp(a->kind, b->kind);
    if (!c)
        c = strcmp(a->at, b->at);
    return c ? c : strcmp(a->life, b->life);
}

void
vb_alert_name(const struct vb_due_unit *u, const struct vb_due *d, struct vb_alert *out)
{
    *out = (struct vb_alert){.engine = u->name};
    snprintf(out->kind, sizeof out->kind, "%s", vb_due_kind_name(d->kind));
    vb_due_at(d, out->at);
    memcpy(out->life, d->life, sizeof out->life);
}

static int
by_name(const void *a, const void *b)
{
    return vb_alert_order(a, b);
}

int
vb_alerts_has(const struct vb_alerts *l, const struct vb_alert *name)
{
    return l->n && bsearch(name, l->alert, l->n, sizeof *l->alert, by_name);
}

int
vb_alert_matches(const struct vb_alert *a, const char *s)
{
    const char *part[] = {a->engine, a->kind, a->at};
    for (size_t i = 0; i < 3; i++) {
        size_t n = strlen(part[i]);
        if (strncmp(s, part[i], n) != 0)
            return 0;
        s += n;
        if (*s == 0)
            return 1;
        if (*s++ != '/')
            return 0;
    }
    return 0;
}

double
vb_alert_day(double day)
{
    return floor(day + 1e-6);
}

/* A line that says only that somebody must look, with no limit that is passed. */
static int
only_look(const struct vb_due *d)
{
    return d->kind == VB_DUE_CHECK || d->kind == VB_DUE_TIMING ||
           d->kind == VB_DUE_UNREAD || d->look;
}

static double
part_of(double horizon, double slack)
{
    return isnan(horizon) ? 0 : slack * horizon;
}

enum vb_alert_level
vb_alert_level(const struct vb_due_unit *u, const struct vb_due *d,
               const struct vb_due_wish *w, double slack)
{
    double by_meter = vb_due_within_meter(w, u->meter_unit);
    double days = vb_alert_day(d->due_day) - vb_alert_day(w->as_of);
    double meter = d->due_running - u->last_running;
    if (d->now)
        return only_look(d) ? VB_ALERT_DUE : VB_ALERT_OVER;
    if (days <= part_of(w->within_days, slack) || meter <= part_of(by_meter, slack))
        return VB_ALERT_DUE;
    if (days <= w->within_days * (1 + slack) || meter <= by_meter * (1 + slack))
        return VB_ALERT_SOON;
    return VB_ALERT_NONE;
}
