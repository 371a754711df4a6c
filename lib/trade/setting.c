#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "setting_impl.h"
#include "valvebook/forecast.h"
#include "valvebook/life.h"

#define AT_TARGET 0.0005 // mm; nobody reads finer
#define EARLY     0.95   // one-sided, as in valve-due

enum vb_err
vb_screw(double found, double target, double pitch, double k, double *turns)
{
    double t = (found - target) / (pitch * k);
    if (!(pitch > 0) || !isfinite(t))
        return VB_EDOM;
    *turns = t;
    return VB_OK;
}

double
vb_screw_k(enum vb_screw_on on, double ratio)
{
    switch (on) {
    case VB_SCREW_PUSHROD: return ratio;
    case VB_SCREW_STUD: return 1 + ratio;
    case VB_SCREW_PIVOT: return 1 - ratio;
    default: return 1;
    }
}

int
vb_screw_assumed(const struct vb_family *f, int side)
{
    return f->screw_on[side] == VB_SCREW_UNKNOWN && f->ratio[side] != 1;
}

double
vb_gauge_shows(const struct vb_family *f, int side, double lash, double temp_c)
{
    double tip = lash - vb_growth_taken_out(0, f->lash_growth[side], temp_c);
    return f->read_at_lobe[side] ? tip / f->ratio[side] : tip;
}

/* What a row is made from. */
struct maker {
    const struct vb_fleet *f;
    const struct vb_set_readings *r;
    struct vb_sheet *s;
    double meter; // running, of a plan
    size_t size;
};

/* --- which valves, and where ------------------------------------------------------- */

static enum vb_err
add_valve(struct maker *k, struct vb_valve v)
{
    struct vb_sheet *s = k->s;
    for (size_t i = 0; i < s->n; i++)
        if (vb_valve_same(s->row[i].valve, v))
            return VB_OK;
    if (s->n == k->size) {
        size_t size = k->size ? 2 * k->size : 32;
        struct vb_sheet_row *p = realloc(s->row, size * sizeof *p);
        if (!p)
            return VB_EMEM;
        s->row = p;
        k->size = size;
    }
    s->row[s->n++] = (struct vb_sheet_row){.valve = v};
    return VB_OK;
}

/* All that the family has, and all that were read. */
static enum vb_err
list_valves(struct maker *k)
{
    const struct vb_family *f = k->s->unit->family;
    enum vb_err e = VB_OK;
    for (int cyl = 1; cyl <= f->cylinders; cyl++)
        for (int s = 0; s < 2; s++)
            for (int i = 1; !e && i <= f->valves[s]; i++)
                e = add_valve(
                    k, (struct vb_valve){cyl, s ? 'E' : 'I', f->valves[s] == 1 ? 0 : i});
    for (size_t i = 0; !e && i < k->r->n; i++)
        e = add_valve(k, k->r->r[i].valve);
    return e;
}

/* One cylinder after another by number; nothing is known of the crank. */
static void
stops_by_number(struct vb_sheet *s)
{
    struct vb_crank_order *o = &s->crank;
    memset(o, 0, sizeof *o);
    for (int cyl = 1; cyl <= VB_CYL_MAX; cyl++) {
        int has = 0;
        for (size_t i = 0; i < s->n; i++)
            has |= s->row[i].valve.cyl == cyl;
        if (has)
            o->stop[o->n++] = (struct vb_crank_stop){NAN, cyl, 0};
        for (int side = 0; side < 2; side++) {
            o->at[cyl][side] = has ? o->n - 1 : -1;
            o->by[cyl][side] = NAN;
        }
    }
}

static enum vb_err
find_stops(struct vb_sheet *s, struct vb_msg *m)
{
    const struct vb_family *f = s->unit->family;
    struct vb_opening o[2];
    s->has_firing = f->firing_order[0] && !vb_firing_parse(f->firing_order, &s->firing);
    if (!s->has_firing && s->wish.order == VB_ORDER_CYLINDERS) {
        stops_by_number(s);
        return VB_OK;
    }
    if (!s->has_firing) {
        vb_msg_set(m, "family '%.40s' states no firing_order", s->unit->family_name);
        return VB_EUNKNOWN;
    }
    if (f->cylinders && f->cylinders != s->firing.n) {
        vb_msg_set(m, "family '%.40s' has %d cylinders, its firing_order %d",
                   s->unit->family_name, f->cylinders, s->firing.n);
        return VB_EDOM;
    }
    for (int side = 0; side < 2; side++) {
        o[side] = (struct vb_opening){f->opens[side], f->closes[side]};
        s->assumed[side] = isnan(o[side].opens) || isnan(o[side].closes);
        o[side] = vb_opening_wide(o[side], side);
    }
    enum vb_err e =
        vb_crank_order_make(&s->firing, o, VB_SET_MARGIN, s->wish.order, &s->crank);
    if (e && s->firing.stated)
        vb_msg_set(m,
                   "in the order %.60s some cylinder fires while no other's valves rock",
                   f->firing_order);
    else if (e)
        vb_msg_set(m, "with %d cylinders no valves rock while another cylinder fires",
                   s->firing.n);
    for (int cyl = s->firing.n + 1; cyl <= VB_CYL_MAX; cyl++)
        s->crank.at[cyl][0] = s->crank.at[cyl][1] = -1;
    return e;
}

/* --- what it reads ----------------------------------------------------------------- */

/* The valve's readings: *n of them from here on. */
static const struct vb_set_reading *
readings_of(const struct maker *k, struct vb_valve v, size_t *n)
{
    size_t i = 0, end;
    while (i < k->r->n && !vb_valve_same(k->r->r[i].valve, v))
        i++;
    for (end = i; end < k->r->n && vb_valve_same(k->r->r[end].valve, v);)
        end++;
    *n = end - i;
    return k->r->r + i;
}

static const struct vb_life *
present_life(const struct vb_fleet *f, struct vb_valve v)
{
    for (size_t i = 0; i < f->lives.n; i++)
        if (f->lives.life[i].current && vb_valve_same(f->lives.life[i].valve, v))
            return &f->lives.life[i];
    return NULL;
}

/* Its scatter, or where nothing is known of that, what it states or a dial indicator's. */
static void
uncertainty(const struct maker *k, const struct vb_life *l, double stated, double *u,
            double *df)
{
    const struct vb_group *g = vb_fleet_group(k->f, l);
    double weight = isnan(stated) ? 1 : VB_U_REFERENCE / stated;
    int known = g->s2 > 0;
    *u = (known ? sqrt(g->s2) : VB_U_REFERENCE) / weight;
    *df = known ? g->pool.df : INFINITY;
}

/* As it is expected when the head is opened, if that can be said. */
static void
expect(const struct maker *k, const struct vb_life *l, struct vb_sheet_row *row)
{
    struct vb_state st;
    struct vb_line line;
    vb_fleet_state(k->f, (size_t)(l - k->f->lives.life), &st);
    if (!isfinite(k->meter) || !vb_fleet_line(k->f, l, &st, &line) ||
        vb_line_level(&line, k->meter, &row->found, &row->u))
        return;
    row->date[0] = 0;
}

/* Fills found, u and what goes with them; returns the degrees of freedom, NaN if it was
 * not read in its present life. */
static double
read_valve(const struct maker *k, struct vb_sheet_row *row)
{
    size_t n;
    double df;
    const struct vb_set_reading *r = readings_of(k, row->valve, &n), *newest = NULL;
    const struct vb_life *l = present_life(k->f, row->valve);
    int side = row->valve.side == 'E';
    for (size_t i = 0; i < n; i++)
        if (!isnan(r[i].found) || !isnan(r[i].left))
            newest = &r[i];
    row->found = row->u = row->temp_c = NAN;
    if (!l || !newest)
        return NAN;
    double raw = isnan(newest->left) ? newest->found : newest->left;
    row->found = vb_lash_reference(k->s->unit->family, side, raw, newest->temp_c);
    uncertainty(k, l, vb_lash_u(k->s->unit->family, side, newest->u), &row->u, &df);
    k->s->df[side] = df;
    memcpy(row->date, newest->date, sizeof row->date);
    row->no_gap = raw == 0;
    if (!k->s->wish.plan && strcmp(newest->date, k->s->date) == 0)
        row->temp_c = newest->temp_c;
    if (k->s->wish.plan)
        expect(k, l, row);
    return df;
}

/* --- what is done ------------------------------------------------------------------ */

static void
judge(struct vb_sheet_row *row, double df)
{
    row->has_verdict = !vb_guard_judge(row->found, row->u, df, row->lo, row->hi,
                                       VB_GUARD_RISK, &row->verdict);
}

/* Up to which meter it must hold: to the end of the next planned event; without one, now. */
static double
holds_to(const struct maker *k)
{
    const struct vb_unit_now *u = k->s->unit;
    double days = k->s->wish.as_of - u->last_day;
    if (isfinite(u->plan_running))
        return u->plan_running;
    return u->pace > 0 && days > 0 ? u->last_running + u->pace * days : u->last_running;
}

/* The early bound of a valve that is left or keeps its shim, if it is not beyond that. */
static double
due_too_soon(const struct maker *k, struct vb_valve v)
{
    const struct vb_unit_now *u = k->s->unit;
    const struct vb_life *l = present_life(k->f, v);
    int side = v.side == 'E';
    struct vb_crossing c;
    struct vb_state st;
    struct vb_line line;
    vb_fleet_state(k->f, (size_t)(l - k->f->lives.life), &st);
    if (!vb_fleet_line(k->f, l, &st, &line) ||
        vb_line_cross(&line, l->wear.now_meter, u->family->lash_min[side],
                      u->family->lash_max[side], EARLY, &c))
        return NAN;
    return c.way != VB_WAY_NONE && c.early <= holds_to(k) ? c.early : NAN;
}

static enum vb_todo
screw(const struct vb_family *f, int side, struct vb_sheet_row *row)
{
    double k = vb_screw_k(f->screw_on[side], f->ratio[side]);
    if (vb_screw(row->found, row->target, f->screw_pitch[side], k, &row->turns))
        return VB_TODO_BY;
    return VB_TODO_SCREW;
}

static enum vb_todo
shim(const struct maker *k, struct vb_sheet_row *row)
{
    size_t n;
    const struct vb_set_reading *r = readings_of(k, row->valve, &n);
    const struct vb_life *l = present_life(k->f, row->valve);
    row->shim_known = vb_shim_present(r, n, l->since, &row->shim);
    return row->shim_known == VB_SHIM_KNOWN ? VB_TODO_SHIM : VB_TODO_MEASURE;
}

static enum vb_todo
decide(const struct maker *k, struct vb_sheet_row *row)
{
    const struct vb_family *f = k->s->unit->family;
    int side = row->valve.side == 'E', in;
    in = row->has_verdict && row->verdict.verdict == VB_VERDICT_IN;
    row->by = row->found - row->target;
    if (isnan(row->found))
        return VB_TODO_READ;
    if (isnan(row->target))
        return in && !k->s->wish.all ? VB_TODO_LEAVE : VB_TODO_NO_TARGET;
    if ((in && !k->s->wish.all) || fabs(row->by) < AT_TARGET)
        return VB_TODO_LEAVE;
    switch (f->adjuster) {
    case VB_ADJUSTER_SCREW: return screw(f, side, row);
    case VB_ADJUSTER_SHIM: return shim(k, row);
    default: return VB_TODO_BY;
    }
}

static void
fill_row(const struct maker *k, struct vb_sheet_row *row)
{
    const struct vb_family *f = k->s->unit->family;
    int side = row->valve.side == 'E';
    row->stop = k->s->crank.at[row->valve.cyl][side];
    row->target = f->lash_target[side];
    row->lo = f->lash_min[side];
    row->hi = f->lash_max[side];
    row->due = row->turns = row->shim = row->after = NAN;
    double df = read_valve(k, row);
    judge(row, df);
    row->todo = decide(k, row);
    row->no_gap &= row->todo != VB_TODO_LEAVE && row->todo != VB_TODO_NO_TARGET;
    if (row->todo == VB_TODO_LEAVE)
        row->after = row->found;
    else if (row->todo == VB_TODO_SCREW || row->todo == VB_TODO_BY ||
             row->todo == VB_TODO_MEASURE)
        row->after = row->target;
}

/* By position, those without one last; then as people name valves. */
static int
by_position(const void *a, const void *b)
{
    const struct vb_sheet_row *x = a, *y = b;
    if (x->stop != y->stop)
        return (unsigned)x->stop < (unsigned)y->stop ? -1 : 1;
    return vb_valve_order(x->valve, y->valve);
}

static enum vb_err
fill_rows(struct maker *k)
{
    struct vb_sheet *s = k->s;
    size_t read = 0;
    for (size_t i = 0; i < s->n; i++) {
        fill_row(k, &s->row[i]);
        read += s->row[i].todo != VB_TODO_READ;
    }
    if (!read)
        return VB_EUNKNOWN;
    qsort(s->row, s->n, sizeof *s->row, by_position);
    enum vb_err e = sheet_choose_shims(s);
    for (size_t i = 0; i < s->n; i++) {
        struct vb_sheet_row *r = &s->row[i];
        if (!s->wish.plan && (r->todo == VB_TODO_LEAVE || r->todo == VB_TODO_KEEP))
            r->due = due_too_soon(k, r->valve);
        r->reads =
            vb_gauge_shows(s->unit->family, r->valve.side == 'E', r->after, r->temp_c);
    }
    return e;
}

/* --- the sheet --------------------------------------------------------------------- */

/* The settings belong to the newest visit if that is the day's, else to a new one. */
static void
date_and_meter(struct maker *k)
{
    struct vb_sheet *s = k->s;
    int tonight = !s->wish.plan && strncmp(k->r->date, s->wish.date, 10) == 0;
    const char *date = tonight ? k->r->date : s->wish.date;
    size_t n = strlen(date);
    memcpy(s->date, date, n < sizeof s->date ? n + 1 : sizeof s->date);
    s->date[sizeof s->date - 1] = 0;
    s->meter = tonight ? k->r->meter : NAN; // an old figure under a new date is none
    k->meter = NAN;
    if (!s->wish.plan)
        return;
    k->meter = holds_to(k);
    s->meter = k->meter - s->unit->offset;
}

/* Engines for which there is no sheet at all. */
static enum vb_err
refuse(const struct vb_unit_now *u, struct vb_msg *m)
{
    if (u->ended)
        vb_msg_set(m, "engine '%.60s' has left the fleet", u->name);
    else if (u->family->adjuster == VB_ADJUSTER_HYDRAULIC)
        vb_msg_set(m, "engine '%.60s' has hydraulic adjusters: there is no lash to set",
                   u->name);
    else
        return VB_OK;
    return VB_EUNKNOWN;
}

static enum vb_err
make(struct maker *k, struct vb_msg *m)
{
    enum vb_err e = list_valves(k);
    if (!e)
        e = find_stops(k->s, m);
    if (e)
        return e;
    date_and_meter(k);
    e = fill_rows(k);
    if (e == VB_EUNKNOWN)
        vb_msg_set(m, "no lash of engine '%.60s' was read in its present life",
                   k->s->unit->name);
    return e;
}

enum vb_err
vb_sheet_make(const struct vb_fleet *f, const struct vb_set_readings *r,
              const struct vb_sheet_wish *w, struct vb_sheet *out, struct vb_msg *m)
{
    struct vb_sheet s = {.unit = f->unit, .wish = *w};
    struct maker k = {.f = f, .r = r, .s = &s};
    s.df[0] = s.df[1] = NAN;
    enum vb_err e = refuse(f->unit, m);
    if (!e)
        e = make(&k, m);
    if (e)
        vb_sheet_clear(&s);
    else
        *out = s;
    return e;
}

void
vb_sheet_clear(struct vb_sheet *s)
{
    free(s->row);
    s->row = NULL;
    s->n = 0;
}
