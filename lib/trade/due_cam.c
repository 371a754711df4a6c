/* Cams on the list of what is due. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "due_impl.h"
#include "search.h"
#include "valvebook/digits.h"
#include "valvebook/utf8.h"

/* "11.00 +- 0.50 deg later than nominal (8 valves), tolerance 2.0" */
static void
say_shift(const struct vb_cam_row *r, char *out, size_t size)
{
    const struct vb_cam_shift *s = &r->shift;
    char than[80] = "", limit[VB_DIGITS_PAIR + 8] = "", figure[VB_DIGITS_PAIR];
    size_t n = (size_t)snprintf(out, size, "%s deg %s",
                                vb_digits_pair(fabs(s->drive), s->u_drive, 2, figure),
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
        snprintf(limit, sizeof limit, ", limit %s",
                 vb_digits_pair(r->limit, NAN, 1, figure));
    if (r->against == VB_AGAINST_MARK)
        snprintf(out + n, size - n, "%s%s", than, limit);
    else
        snprintf(out + n, size - n, "%s (%zu valve%s)%s", than, r->n_shift,
                 r->n_shift == 1 ? "" : "s", limit);
}

static unsigned
found_of(const struct vb_cam_row *r)
{
    int teeth = r->has_cause ? abs(r->cause.teeth) : 0;
    return vb_found_so_many(VB_FOUND_RANK, (size_t)vb_cam_rank(r)) |
           vb_found_so_many(VB_FOUND_TOOTH, (size_t)teeth);
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
    struct vb_due d = due_new(ls, VB_DUE_TIMING, unit);
    char reason[REASON_MAX];
    d.found = found_of(worst);
    d.now = 1;
    d.due_day = ls->w->as_of;
    snprintf(d.cam, sizeof d.cam, "%s", worst->at);
    size_t k =
        (size_t)snprintf(reason, sizeof reason, "%.*s%s", vb_utf8_fit(worst->hint, 120),
                         worst->hint, worst->hint[0] ? "; " : "");
    // what a cam is held against, nominal, as timed and the build before, has room
    for (size_t i = 0; i < n && k < sizeof reason; i++) { // GCOVR_EXCL_BR_LINE: above
        char shift[120];
        if (!r[i].alarm)
            continue;
        say_shift(&r[i], shift, sizeof shift);
        k += (size_t)snprintf(reason + k, sizeof reason - k, "%s%s",
                              reason[0] && reason[k - 1] != ' ' ? "; " : "", shift);
    }
    return due_add(ls, &d, reason);
}

static enum vb_err
refused_due(struct listing *ls, size_t unit, size_t refused)
{
    struct vb_due d = due_new(ls, VB_DUE_TIMING, unit);
    char reason[REASON_MAX];
    d.now = 1;
    d.due_day = ls->w->as_of;
    snprintf(reason, sizeof reason,
             "%zu thing%s about its cams cannot be used: valve-timing says what", refused,
             refused == 1 ? "" : "s");
    return due_add(ls, &d, reason);
}

static int
engine_before(const void *thing, const void *name)
{
    const struct vb_cam_unit *u = thing;
    return strcmp(u->name, name) < 0;
}

static int
row_before(const void *thing, const void *engine)
{
    const struct vb_cam_row *r = thing;
    return r->engine < *(const size_t *)engine;
}

static enum vb_err
engine_cams(struct listing *ls, size_t unit)
{
    const struct vb_cam_list *l = ls->w->cams;
    size_t engine = first_not_before(ls->f->unit[unit].name, l->engine, l->n_engines,
                                     sizeof *l->engine, engine_before);
    enum vb_err e = VB_OK;
    if (engine == l->n_engines ||
        strcmp(l->engine[engine].name, ls->f->unit[unit].name) != 0)
        return VB_OK;
    if (l->engine[engine].refused)
        e = refused_due(ls, unit, l->engine[engine].refused);
    size_t i = first_not_before(&engine, l->row, l->n, sizeof *l->row, row_before);
    for (size_t end; !e && i < l->n; i = end) {
        if (l->row[i].engine != engine)
            break;
        for (end = i + 1; end < l->n && l->row[end].engine == engine &&
                          strcmp(l->row[end].at, l->row[i].at) == 0;
             end++)
            ;
        e = cam_due(ls, unit, &l->row[i], end - i);
    }
    return e;
}

enum vb_err
due_cams(struct listing *ls)
{
    enum vb_err e = VB_OK;
    for (size_t i = 0; ls->w->cams && !e && i < ls->f->n_units; i++)
        if (!ls->f->unit[i].ended)
            e = engine_cams(ls, i);
    return e;
}
