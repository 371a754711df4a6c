/* What is thought of one life when its family, its neighbours and its past are
 * considered. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/due.h"
#include "valvebook/fleet.h"
#include "valvebook/quantile.h"

#define TWO_ALPHA  0.006 // of the newest two together
#define STANDS_OUT 3.0   // standard deviations from the rest of the family
#define MANY       200   // rates from which on one more or less decides nothing
#define CUSUM_K    0.5   // NIST/SEMATECH e-Handbook 6.3.2.3: half of the shift looked for
#define CUSUM_H    5.0
#define TOGETHER   3 // valves that step at once
#define FEW_OTHERS 3 // rates below which nothing is said of what is usual

/* The family without this valve: its readings must not count twice. */
static int
rest_of_family(const struct vb_group *g, size_t member, struct vb_family_rate *out)
{
    if (g->n > MANY || member == VB_NO_MEMBER)
        *out = g->all;
    else if (vb_family_rate_without(g->rate, g->var, g->n, member, out))
        return 0;
    return out->k >= FEW_OTHERS;
}

/*
 * Borrow, unless the valve stands out: a seat that sinks faster than any other must not
 * be talked down by the others.
 */
static void
borrow(const struct vb_fleet *f, const struct vb_life *l, struct vb_state *st)
{
    const struct vb_group *g = vb_fleet_group(f, l);
    struct vb_family_rate rest;
    st->rate = st->own;
    st->var = st->own_var;
    if (!rest_of_family(g, l->member, &rest))
        return;
    double spread = rest.tau2 + rest.var_mu;
    if (l->member != VB_NO_MEMBER) {
        double z = (st->own - rest.mu) / sqrt(st->own_var + spread);
        st->lead = st->own - rest.mu;
        st->stands_out = fabs(z) > STANDS_OUT;
    }
    if (!st->stands_out)
        vb_family_rate_posterior(&rest, st->own, st->own_var, &st->rate, &st->var);
}

/* The weight of the very last reading: the one that is tested, or one that was left. */
static double
weight_now(const struct vb_life *l)
{
    int tested = l->newest.meter == l->wear.now_meter && l->newest.lash == l->wear.now;
    return tested ? l->newest.w : l->wear.last_w;
}

double
vb_fleet_lash_u(const struct vb_fleet *f, const struct vb_life *l)
{
    return l->wear.n ? sqrt(vb_fleet_group(f, l)->s2 / weight_now(l)) : NAN;
}

static void
judge_lash(const struct vb_fleet *f, const struct vb_life *l, struct vb_state *st)
{
    const struct vb_group *g = vb_fleet_group(f, l);
    const struct vb_family *fam = f->unit[l->engine].family;
    if (!l->wear.n || isnan(g->s2))
        return;
    st->has_verdict = !vb_guard_judge(l->wear.now, vb_fleet_lash_u(f, l), g->pool.df,
                                      fam->lash_min[g->side], fam->lash_max[g->side],
                                      VB_GUARD_RISK, &st->verdict);
}

/* Did the valve stand out from its family by these readings already? */
static int
stood_out(const struct vb_group *g, const struct vb_life *l, const struct vb_wear *w)
{
    struct vb_family_rate rest;
    if (!w->n || !(w->sxx > 0) || !rest_of_family(g, l->member, &rest))
        return 0;
    double var = g->s2 / w->sxx + rest.tau2 + rest.var_mu;
    return fabs(w->rate - rest.mu) > STANDS_OUT * sqrt(var);
}

/*
 * The rate that earlier readings give, with the family's help. A valve that stood out is
 * judged by its own; the readings that decide that are those before the newest two, or a
 * step that came with the first of them would pass for a habit at the second.
 */
static int
rate_before(const struct vb_group *g, const struct vb_life *l, const struct vb_wear *w,
            double *rate, double *var)
{
    struct vb_family_rate rest;
    int own = w->sxx > 0;
    *rate = own ? w->rate : NAN;
    *var = own ? g->s2 / w->sxx : INFINITY;
    int alone = own && stood_out(g, l, &l->before2);
    if (!alone && rest_of_family(g, l->member, &rest))
        vb_family_rate_posterior(&rest, *rate, *var, rate, var);
    return isfinite(*rate);
}

/* A fit as it counts in the pool of its group. */
static struct vb_wear
as_counted(const struct vb_group *g, struct vb_wear w)
{
    if (w.df >= 1 && isfinite(g->bound))
        w.sse = fmin(w.sse, vb_tail_point((double)w.df) * g->bound);
    return w;
}

/*
 * The scatter of the group without the readings that are tested: a step must not be
 * measured by itself. w is the fit without them.
 */
static struct vb_group
without_tested(const struct vb_group *g, const struct vb_life *l, const struct vb_wear *w)
{
    struct vb_group rest = *g;
    const struct vb_wear all = as_counted(g, l->wear), before = as_counted(g, *w);
    if (all.df >= 1) {
        rest.pool.df -= (double)all.df;
        rest.pool.sse = fmax(0, rest.pool.sse - all.sse);
    }
    vb_pool_add(&rest.pool, &before);
    rest.s2 = vb_pool_s2(&rest.pool, g->floor_u);
    return rest;
}

/*
 * One reading, or the mean of two, against the line of those before. own is the variance
 * that it would have were the line known, in units of s2. Where no gap was read less would have
 * been read as 0 too: it cannot be held against a line that lies below.
 */
static int
off_line(const struct vb_group *group, const struct vb_life *l, const struct vb_wear *w,
         double meter, double lash, double own, double alpha, struct vb_step *step,
         double *off, double *sd)
{
    double rate, rate_var;
    const struct vb_group rest = without_tested(group, l, w), *g = &rest;
    if (!w->n || !(g->s2 > 0) || !rate_before(g, l, w, &rate, &rate_var))
        return 0;
    double dm = meter - w->last_mbar, level = w->last_ybar + rate * dm;
    if (l->no_gap && lash > level)
        return 0;
    double var = g->s2 / w->last_w + rate_var * dm * dm, own_var = own * g->s2;
    if (vb_step_test(lash, level, var, own_var, g->pool.df, alpha, step))
        return 0;
    *off = lash - level;
    *sd = sqrt(var + own_var);
    return 1;
}

/*
 * The newest reading; and, since one reading often leaves a step in doubt, the newest two
 * together, so that a step is seen at the second visit at the latest.
 */
static void
judge_step(const struct vb_fleet *f, const struct vb_life *l, struct vb_state *st)
{
    const struct vb_group *g = vb_fleet_group(f, l);
    const struct vb_obs *a = &l->newest, *b = &l->second;
    struct vb_step both;
    double off, sd;
    st->off = st->off_sd = NAN;
    st->step = (struct vb_step){NAN, NAN, 0};
    if (!off_line(g, l, &l->before, a->meter, a->lash, 1 / a->w, VB_STEP_ALPHA, &st->step,
                  &st->off, &st->off_sd))
        return;
    if (!st->step.step && l->before2.n &&
        off_line(g, l, &l->before2, (a->meter + b->meter) / 2, (a->lash + b->lash) / 2,
                 (1 / a->w + 1 / b->w) / 4, TWO_ALPHA, &both, &off, &sd) &&
        both.step) {
        st->step = both;
        st->off = off;
        st->off_sd = sd;
    }
}

/* A slow change shows in residuals that lean one way. Only what holds to the end counts.
 */
static void
judge_slow(const struct vb_fleet *f, const struct vb_life *l, struct vb_state *st)
{
    double sd = sqrt(vb_fleet_group(f, l)->s2);
    if (!(l->n_looser + l->n_tighter) || !(sd > 0))
        return;
    const struct vb_corner *c = f->lives.corner + l->corner_at;
    if (vb_cusum_end(c, l->n_looser, sd, CUSUM_K) > CUSUM_H)
        st->slow = 1;
    else if (vb_cusum_end(c + l->n_looser, l->n_tighter, sd, CUSUM_K) > CUSUM_H)
        st->slow = -1;
}

/* The same side of the same engine, present lives only. */
static void
judge_neighbours(const struct vb_fleet *f, const struct vb_life *l, struct vb_state *st)
{
    const struct vb_group *g = vb_fleet_group(f, l);
    double rate[128], var[128];
    struct vb_family_rate rest;
    struct vb_step test;
    size_t n = 0;
    st->neighbours = NAN;
    if (l->member == VB_NO_MEMBER || !l->current)
        return;
    for (const struct vb_life *o = l; o >= f->lives.life && o->engine == l->engine; o--)
        if (o != l && o->group == l->group && o->current && o->member != VB_NO_MEMBER &&
            n < 128)
            rate[n] = g->rate[o->member], var[n++] = g->var[o->member];
    const struct vb_life *end = f->lives.life + f->lives.n;
    for (const struct vb_life *o = l + 1; o < end && o->engine == l->engine; o++)
        if (o->group == l->group && o->current && o->member != VB_NO_MEMBER && n < 128)
            rate[n] = g->rate[o->member], var[n++] = g->var[o->member];
    if (n < FEW_OTHERS || vb_family_rate_fit(rate, var, n, &rest))
        return;
    if (vb_step_test(st->own, rest.mu, st->own_var, rest.tau2 + rest.var_mu, g->pool.df,
                     VB_STEP_ALPHA, &test))
        return;
    st->neighbours = test.t;
    st->odd = test.step;
}

/* Lives of a valve stand behind each other: the one before is the last build's. */
static void
compare_builds(const struct vb_fleet *f, size_t i, struct vb_state *st)
{
    const struct vb_life *l = &f->lives.life[i], *last = i ? l - 1 : NULL;
    st->vs_last = st->vs_last_se = NAN;
    if (!last || last->engine != l->engine || !vb_valve_same(last->valve, l->valve) ||
        l->member == VB_NO_MEMBER || last->member == VB_NO_MEMBER)
        return;
    const struct vb_group *g = vb_fleet_group(f, l);
    st->vs_last = st->own - g->rate[last->member];
    st->vs_last_se = sqrt(st->own_var + g->var[last->member]);
}

static void
hint(struct vb_state *st, enum vb_found found, const char *what)
{
    size_t k = strlen(st->hint);
    st->found |= (unsigned)found;
    snprintf(st->hint + k, sizeof st->hint - k, "%s%s", k ? "; " : "", what);
}

/* Of the valves of this engine that were read with this one, and could be held against a line:
 * how many, and how many of them step. */
static size_t
step_together(const struct vb_fleet *f, const struct vb_life *l, size_t *of)
{
    const struct vb_life *o = l, *end = f->lives.life + f->lives.n;
    size_t n = 0;
    *of = 0;
    while (o > f->lives.life && (o - 1)->engine == l->engine)
        o--;
    for (; o < end && o->engine == l->engine; o++) {
        struct vb_state st = {0};
        if (!o->current || o->newest.meter != l->newest.meter)
            continue;
        judge_step(f, o, &st);
        *of += isfinite(st.step.t);
        n += st.step.step ? 1 : 0;
    }
    return n;
}

/* Most valves do not change at once by themselves. */
static void
step_in_words(const struct vb_fleet *f, const struct vb_life *l, struct vb_state *st)
{
    int tighter = st->step.t < 0;
    const char *way = tighter ? "tighter" : "looser";
    char what[160];
    size_t of, n = l->current ? step_together(f, l, &of) : 0;
    if (n >= TOGETHER && 2 * n > of)
        snprintf(what, sizeof what,
                 "step, %s, with %zu of %zu valves: a setting not written down, another "
                 "engine or gauge?",
                 way, n, of);
    else
        snprintf(what, sizeof what, "step, %s: %s", way,
                 tighter ? "bent valve, lock nut or misreading?"
                         : "lock nut, carbon under the seat or misreading?");
    hint(st, tighter ? VB_FOUND_STEP_TIGHTER : VB_FOUND_STEP_LOOSER, what);
}

/* Does it move further from standing still than the others do, the same way? */
static int
runs_ahead(const struct vb_state *st)
{
    return (st->odd || st->stands_out) && st->way != 0 && st->way * st->lead > 0;
}

/* Hints, never verdicts (common practice). */
static void
put_in_words(const struct vb_fleet *f, const struct vb_life *l, struct vb_state *st)
{
    if (st->step.step)
        step_in_words(f, l, st);
    if (st->slow < 0)
        hint(st, VB_FOUND_LATELY_TIGHTER, "reads tighter of late than its rate says");
    if (st->slow > 0)
        hint(st, VB_FOUND_LATELY_LOOSER, "reads looser of late than its rate says");
    if (runs_ahead(st) && st->way < 0)
        hint(st, VB_FOUND_AHEAD_CLOSING, "closes faster than the others: seat or stem?");
    else if (runs_ahead(st))
        hint(st, VB_FOUND_AHEAD_OPENING,
             "opens faster than the others: lobe, follower or tip?");
    if (!(fabs(st->vs_last) > STANDS_OUT * st->vs_last_se))
        return;
    if (fabs(st->own) > fabs(st->own - st->vs_last))
        hint(st, VB_FOUND_FASTER, "faster than in the last build");
    else
        hint(st, VB_FOUND_SLOWER, "slower than in the last build");
}

void
vb_fleet_state(const struct vb_fleet *f, size_t i, struct vb_state *st)
{
    const struct vb_life *l = &f->lives.life[i];
    const struct vb_group *g = vb_fleet_group(f, l);
    *st = (struct vb_state){.own = NAN, .own_var = NAN, .lead = NAN};
    if (l->wear.n && l->wear.sxx > 0) {
        st->own = l->wear.rate;
        st->own_var = g->s2 / l->wear.sxx;
    }
    borrow(f, l, st);
    if (isfinite(st->rate) && isfinite(st->var) &&
        fabs(st->rate) > vb_t_quantile(0.975, g->pool.df) * sqrt(st->var))
        st->way = st->rate < 0 ? -1 : 1;
    judge_lash(f, l, st);
    judge_step(f, l, st);
    judge_slow(f, l, st);
    judge_neighbours(f, l, st);
    compare_builds(f, i, st);
    put_in_words(f, l, st);
}

struct vb_state *
vb_fleet_states(const struct vb_fleet *f)
{
    struct vb_state *st = malloc((f->lives.n + 1) * sizeof *st);
    for (size_t i = 0; st && i < f->lives.n; i++)
        vb_fleet_state(f, i, &st[i]);
    return st;
}

/*
 * Has the newest reading left the line, towards the limit that the valve moves to? It then
 * stands where it was read and not where the readings before it lay; away from the limit
 * the line, which says the earlier, stands. Of a valve that was set the line is that one value.
 */
static int
left_line(const struct vb_life *l, const struct vb_state *st)
{
    const struct vb_wear *w = &l->wear;
    int way = st->rate < 0 ? -1 : 1;
    int leans = !st->step.step ? st->slow : st->step.t < 0 ? -1 : 1;
    double level = w->last_ybar + st->rate * (w->now_meter - w->last_mbar);
    return leans == way && way * (w->now - level) > 0;
}

int
vb_fleet_line(const struct vb_fleet *f, const struct vb_life *l,
              const struct vb_state *st, struct vb_line *line)
{
    const struct vb_group *g = vb_fleet_group(f, l);
    const struct vb_wear *w = &l->wear;
    if (!w->n || !isfinite(st->rate) || !isfinite(st->var))
        return 0;
    *line = (struct vb_line){.ybar = w->last_ybar,
                             .mbar = w->last_mbar,
                             .w = w->last_w,
                             .rate = st->rate,
                             .var_rate = st->var,
                             .s2 = g->s2,
                             .df = g->pool.df};
    if (left_line(l, st)) {
        line->ybar = w->now;
        line->mbar = w->now_meter;
        line->w = l->newest.w;
    }
    return 1;
}
