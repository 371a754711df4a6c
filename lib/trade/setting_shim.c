#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "setting_impl.h"

#define DATE_BYTES 10 // without a time of day

/* On the day of the event the found reading belongs to the old life, the left to the new.
 */
enum vb_shim_known
vb_shim_present(const struct vb_set_reading *r, size_t n, const char *since, double *mm)
{
    enum vb_shim_known known = VB_SHIM_NEVER;
    double shim = NAN;
    for (size_t i = 0; i < n; i++) {
        int day = *since ? strncmp(r[i].date, since, DATE_BYTES) : 1;
        if (day > 0 && !isnan(r[i].shim_found)) {
            shim = r[i].shim_found;
            known = VB_SHIM_KNOWN;
        }
        if (day < 0 || isnan(r[i].left))
            continue;
        if (!isnan(r[i].shim_left)) {
            shim = r[i].shim_left;
            known = VB_SHIM_KNOWN;
        } else if (r[i].left != r[i].found && known == VB_SHIM_KNOWN) {
            shim = NAN;
            known = VB_SHIM_CHANGED;
        }
    }
    *mm = shim;
    return known;
}

static void
to_units(const struct vb_sheet *s, const struct vb_sheet_row *r, struct vb_shim_valve *v)
{
    const struct vb_family *f = s->unit->family;
    int side = r->valve.side == 'E';
    double most = vb_shim_mm(VB_SHIM_MOST);
    *v = (struct vb_shim_valve){
        .present = vb_shim_units(r->shim),
        .found = vb_shim_units(r->found),
        .target = vb_shim_units(r->target),
        .lo = vb_shim_units(r->lo),
        .hi = vb_shim_units(r->hi),
        .band = r->has_verdict ? vb_shim_units(fmin(r->verdict.band, most)) : 0,
        .order_min = vb_shim_units(f->shim_min[side]),
        .order_max = vb_shim_units(f->shim_max[side]),
        .order_step = vb_shim_units(f->shim_step[side]),
        .side = r->valve.side,
        .own_side = f->shim_fits == VB_SHIM_FITS_SIDE,
    };
    if (v->order_min == VB_SHIM_NONE || v->order_max == VB_SHIM_NONE)
        v->order_step = VB_SHIM_NONE;
}

/* To which valve did its shim go? */
static void
find_taker(struct vb_sheet *s, struct vb_sheet_row *r)
{
    for (size_t i = 0; i < s->n; i++)
        if (s->row[i].todo == VB_TODO_SHIM && s->row[i].choice.source == VB_SHIM_SWAP &&
            vb_valve_same(s->row[i].from, r->valve))
            r->to = s->row[i].valve;
}

static void
take_choice(const struct vb_sheet *s, struct vb_sheet_row *r,
            const struct vb_shim_choice *c, const size_t *row)
{
    r->choice = *c;
    if (c->source == VB_SHIM_SWAP)
        r->from = s->row[row[c->from]].valve;
    r->todo = c->source == VB_SHIM_UNSERVED ? VB_TODO_UNSERVED
              : c->source == VB_SHIM_OWN    ? VB_TODO_KEEP
                                            : VB_TODO_SHIM;
    r->after = vb_shim_mm(c->after);
}

enum vb_err
sheet_choose_shims(struct vb_sheet *s)
{
    struct vb_shim_valve *v = calloc(s->n + 1, sizeof *v);
    struct vb_shim_choice *c = calloc(s->n + 1, sizeof *c);
    size_t *row = calloc(s->n + 1, sizeof *row), n = 0;
    enum vb_err e = v && c && row ? VB_OK : VB_EMEM;
    for (size_t i = 0; !e && i < s->n; i++) {
        if (s->row[i].todo != VB_TODO_SHIM)
            continue;
        to_units(s, &s->row[i], &v[n]);
        row[n++] = i;
    }
    if (!e && n)
        e = vb_shims_choose(v, n, s->wish.stock, s->wish.n_stock, c, &s->total);
    for (size_t k = 0; !e && k < n; k++)
        take_choice(s, &s->row[row[k]], &c[k], row);
    for (size_t k = 0; !e && k < n; k++)
        find_taker(s, &s->row[row[k]]);
    free(v);
    free(c);
    free(row);
    return e;
}
