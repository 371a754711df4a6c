/* From what a family's engines did to how long they may go without being set. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics.h>

#include "valvebook/digits.h"
#include "valvebook/family_life.h"

struct ask {
    const struct vb_fleet *f;
    const char *family;
    const struct vb_family *facts;
    const char *unit;
    const struct vb_service *s;
    struct vb_relash_side side[2],
        sure[2]; // with and without the doubt about mu and tau2
    size_t n;
    double pace, median; // of engines in the fleet: the sum of all, and that of one
    struct vb_relash_advice *out;
};

static const struct vb_group *
group_of(const struct ask *a, int side)
{
    for (size_t i = 0; i < a->f->n_groups; i++)
        if (a->f->group[i].side == side &&
            strcmp(a->f->group[i].family, a->family) == 0 &&
            strcmp(a->f->group[i].meter_unit, a->unit) == 0)
            return &a->f->group[i];
    return NULL;
}

/* What is lacking before anything can be said; NULL if nothing. */
static const char *
lacks(const struct ask *a, int side, const struct vb_group *g)
{
    if (!a->facts->cylinders || !a->facts->valves[side])
        return "the family does not say how many valves there are";
    if (isnan(a->facts->lash_min[side]))
        return "the family states no tight limit";
    if (!g || !(g->s2 > 0) || g->n < VB_FEW_RATES)
        return "fewer than three valves have a rate";
    return a->s->set[side].n < VB_FEW_SETTINGS ? "fewer than five settings" : NULL;
}

static enum vb_err
fit_setting(const struct ask *a, int side, const struct vb_group *g,
            struct vb_setting *out)
{
    const struct vb_sets *sets = &a->s->set[side];
    struct vb_set *p = malloc(sets->n * sizeof *p);
    if (!p)
        return VB_EMEM;
    for (size_t i = 0; i < sets->n; i++) {
        p[i] = sets->set[i];
        p[i].s2 *= g->s2;
    }
    enum vb_err e = vb_setting_fit(p, sets->n, g->all.mu, out);
    free(p);
    return e;
}

static enum vb_err
add_side(struct ask *a, int side)
{
    const struct vb_group *g = group_of(a, side);
    const char *lack = lacks(a, side, g);
    struct vb_setting how;
    if (lack) {
        snprintf(a->out->why, sizeof a->out->why, "side %c: %s", side ? 'E' : 'I', lack);
        return VB_OK;
    }
    enum vb_err e = fit_setting(a, side, g, &how);
    if (e)
        return e;
    struct vb_relash_side *s = &a->side[a->n], *sure = &a->sure[a->n];
    s->tight = a->facts->lash_min[side];
    s->level = how.mean;
    s->var = how.var;
    s->valves = a->facts->cylinders * a->facts->valves[side];
    *sure = *s;
    e = vb_belief_likeliest(g->rate, g->var, g->n, &sure->rates);
    if (!e) // GCOVR_EXCL_BR_LINE: lacks() has looked at the rates
        e = vb_belief_fit(g->rate, g->var, g->n, &s->rates);
    a->n++;
    a->out->valves += s->valves;
    a->out->rates += g->n;
    a->out->settings += how.n;
    // what is extrapolated on either side is extrapolated
    a->out->longest =
        isnan(a->out->longest) ? how.longest : fmin(a->out->longest, how.longest);
    return e;
}

/* Paces of the engines that are still there. */
static enum vb_err
find_pace(struct ask *a)
{
    size_t n = 0;
    double *pace = malloc((a->f->n_units + 1) * sizeof *pace);
    if (!pace)
        return VB_EMEM;
    a->pace = 0;
    a->median = NAN;
    for (size_t i = 0; i < a->f->n_units; i++) {
        const struct vb_unit_now *u = &a->f->unit[i];
        if (strcmp(u->family_name, a->family) != 0)
            continue;
        if (*u->meter_unit && strcmp(u->meter_unit, a->unit) != 0)
            snprintf(a->out->why, sizeof a->out->why, "meters in %s and in %s", a->unit,
                     u->meter_unit);
        if (!u->ended && isfinite(u->pace) && u->pace > 0)
            a->pace += pace[n++] = u->pace;
    }
    if (n) {
        gsl_sort(pace, 1, n);
        a->median = gsl_stats_median_from_sorted_data(pace, 1, n);
    }
    a->out->engines = n;
    free(pace);
    return VB_OK;
}

/* The gap that the family states. */
static double
present(const struct ask *a)
{
    const struct vb_family *f = a->facts;
    enum vb_dim dim = strcmp(a->unit, "km") == 0 ? VB_DIM_DISTANCE : VB_DIM_TIME;
    double meter = f->relash > 0 && f->relash_dim == dim ? f->relash : NAN;
    return fmin(meter, f->relash_days * a->median); // fmin passes over NaN
}

static enum vb_err
advise(struct ask *a)
{
    struct vb_relash_advice *o = a->out;
    char longest[VB_DIGITS_PAIR];
    enum vb_err e = vb_relash_gap(a->side, a->n, o->risk, VB_RELASH_MOST, &o->gap);
    if (!e)
        e = vb_relash_gap(a->sure, a->n, o->risk, VB_RELASH_MOST, &o->sure_gap);
    o->present = present(a);
    if (!e && isfinite(o->present))
        e = vb_relash_risk(a->side, a->n, o->present, &o->present_risk);
    if (e)
        return e;
    if (o->gap <= 0)
        snprintf(o->why, sizeof o->why, "settings scatter too much for any interval");
    else if (o->gap >= VB_RELASH_MOST)
        snprintf(o->why, sizeof o->why, "no valve comes near its tight limit");
    else if (o->gap > o->longest)
        snprintf(o->why, sizeof o->why,
                 "beyond the longest gap seen (%s %s): lengthen in steps",
                 vb_digits_pair(o->longest, NAN, 0, longest), a->unit);
    if (o->gap <= 0 || o->gap >= VB_RELASH_MOST)
        o->gap = o->sure_gap = NAN;
    o->per_1000 = 1000 / o->gap - 1000 / o->present;
    if (a->pace > 0)
        o->per_year = VB_YEAR_DAYS * a->pace * o->per_1000 / 1000;
    return VB_OK;
}

enum vb_err
vb_relash_advise(const struct vb_fleet *f, const char *family,
                 const struct vb_family *facts, const char *meter_unit,
                 const struct vb_service *s, double risk, struct vb_relash_advice *out)
{
    struct vb_relash_advice r = {risk, NAN, NAN, NAN, NAN, 0, 0, 0, NAN, NAN, NAN, 0, ""};
    struct ask a = {
        .f = f, .family = family, .facts = facts, .unit = meter_unit, .s = s, .out = &r};
    if (!(risk > 0 && risk < 1))
        return VB_EDOM;
    enum vb_err e = find_pace(&a);
    if (!e && !*meter_unit)
        snprintf(r.why, sizeof r.why, "no meter was read");
    for (int side = 0; !e && !*r.why && side < 2; side++)
        if (!s->wish.side || s->wish.side == (side ? 'E' : 'I'))
            e = add_side(&a, side);
    if (!e && !*r.why)
        e = advise(&a);
    if (!e)
        *out = r;
    return e;
}
