/* Cams on the list of what is due. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "due_impl.h"

/* The unit of a name; n_units if the fleet was asked for without it. */
static size_t
unit_of(const struct vb_fleet *f, const char *name)
{
    size_t i = 0;
    while (i < f->n_units && strcmp(f->unit[i].name, name) != 0)
        i++;
    return i;
}

/* "11.00 +- 0.50 deg later than nominal (8 valves), tolerance 2.0" */
static void
say_shift(const struct vb_cam_row *r, char *out, size_t size)
{
    const struct vb_cam_shift *s = &r->shift;
    char than[80] = "", limit[40] = "";
    int n = snprintf(out, size, "%.2f \xc2\xb1 %.2f deg %s", fabs(s->drive), s->u_drive,
                     s->drive < 0 ? "earlier" : "later");
    if (r->against == VB_AGAINST_NOMINAL)
        snprintf(than, sizeof than, " than nominal");
    else if (r->against == VB_AGAINST_MARK)
        snprintf(than, sizeof than, " than its mark");
    else
        snprintf(than, sizeof than, " than %s %.10s",
                 r->against == VB_AGAINST_TIMED ? "as timed" : "in the build before",
                 r->reference_date);
    if (!isnan(r->limit))
        snprintf(limit, sizeof limit, ", limit %.1f", r->limit);
    if (n < 0 || (size_t)n >= size)
        return;
    if (r->against == VB_AGAINST_MARK)
        snprintf(out + n, size - (size_t)n, "%s%s", than, limit);
    else
        snprintf(out + n, size - (size_t)n, "%s (%zu valve%s)%s", than, r->n_shift,
                 r->n_shift == 1 ? "" : "s", limit);
}

/* All rows of one cam that are alarms, the most suspicious one's hint first. */
static enum vb_err
cam_due(struct listing *ls, size_t unit, const struct vb_cam_row *r, size_t n)
{
    const struct vb_cam_row *worst = NULL;
    for (size_t i = 0; i < n; i++)
        if (r[i].alarm && (!worst || vb_cam_rank(&r[i]) > vb_cam_rank(worst)))
            worst = &r[i];
    if (!worst)
        return VB_OK;
    struct vb_due *d = due_new(ls, VB_DUE_TIMING, unit);
    if (!d)
        return VB_EMEM;
    d->now = 1;
    d->due_day = ls->w->as_of;
    snprintf(d->cam, sizeof d->cam, "%s", worst->at);
    size_t k = (size_t)snprintf(d->reason, sizeof d->reason, "%.120s%s", worst->hint,
                                worst->hint[0] ? "; " : "");
    for (size_t i = 0; i < n && k < sizeof d->reason; i++) {
        char shift[120];
        if (!r[i].alarm)
            continue;
        say_shift(&r[i], shift, sizeof shift);
        k += (size_t)snprintf(d->reason + k, sizeof d->reason - k, "%s%s",
                              d->reason[0] && d->reason[k - 1] != ' ' ? "; " : "", shift);
    }
    return VB_OK;
}

static enum vb_err
refused_due(struct listing *ls, size_t unit, size_t refused)
{
    struct vb_due *d = due_new(ls, VB_DUE_TIMING, unit);
    if (!d)
        return VB_EMEM;
    d->now = 1;
    d->due_day = ls->w->as_of;
    snprintf(d->reason, sizeof d->reason,
             "%zu thing%s about its cams cannot be used: valve-timing says what", refused,
             refused == 1 ? "" : "s");
    return VB_OK;
}

enum vb_err
due_cams(struct listing *ls)
{
    const struct vb_cam_list *l = ls->w->cams;
    enum vb_err e = VB_OK;
    for (size_t i = 0; l && !e && i < l->n_engines; i++) {
        size_t unit = unit_of(ls->f, l->engine[i].name);
        if (l->engine[i].refused && unit < ls->f->n_units && !ls->f->unit[unit].ended)
            e = refused_due(ls, unit, l->engine[i].refused);
    }
    for (size_t i = 0, end; l && !e && i < l->n; i = end) {
        for (end = i + 1; end < l->n && l->row[end].engine == l->row[i].engine &&
                          strcmp(l->row[end].at, l->row[i].at) == 0;
             end++)
            ;
        size_t unit = unit_of(ls->f, l->engine[l->row[i].engine].name);
        if (unit < ls->f->n_units && !ls->f->unit[unit].ended)
            e = cam_due(ls, unit, &l->row[i], end - i);
    }
    return e;
}
