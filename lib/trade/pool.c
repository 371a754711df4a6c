/* What the lives of one family, side and unit of the meter share: their scatter and their rates. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/fleet.h"

/* n_groups if nothing of that kind was counted. */
static size_t
find_group(const struct vb_fleet *f, const char *family, const char *meter_unit, int side)
{
    size_t i = 0;
    while (i < f->n_groups &&
           (f->group[i].side != side || strcmp(f->group[i].family, family) != 0 ||
            strcmp(f->group[i].meter_unit, meter_unit) != 0))
        i++;
    return i;
}

static struct vb_group *
get_group(struct vb_fleet *f, const char *family, const struct vb_life_sum *l)
{
    size_t at = find_group(f, family, l->meter_unit, l->side);
    if (at < f->n_groups)
        return &f->group[at];
    struct vb_group *g = realloc(f->group, (f->n_groups + 1) * sizeof *g);
    if (!g)
        return NULL;
    f->group = g;
    g[f->n_groups] = (struct vb_group){.family = family, .side = l->side, .s2 = NAN};
    memcpy(g[f->n_groups].meter_unit, l->meter_unit, sizeof l->meter_unit);
    return &g[f->n_groups++];
}

/* Until the scatter is known, sxx stands where the variance of the rate will. */
static enum vb_err
add_member(struct vb_group *g, const struct vb_life_sum *l)
{
    if (g->n == g->size) {
        size_t size = g->size ? 2 * g->size : 32;
        double *r = realloc(g->rate, size * sizeof *r);
        g->rate = r ? r : g->rate;
        double *v = realloc(g->var, size * sizeof *v);
        g->var = v ? v : g->var;
        if (!r || !v)
            return VB_EMEM;
        g->size = size;
    }
    g->rate[g->n] = l->rate;
    g->var[g->n++] = l->sxx;
    return VB_OK;
}

void
vb_life_sum_of(const struct vb_unit_now *u, const struct vb_life *l,
               struct vb_life_sum *out)
{
    *out = (struct vb_life_sum){.side = l->valve.side == 'E',
                                .n = l->wear.n,
                                .with_u = l->with_u,
                                .df = l->wear.df,
                                .sse = l->wear.sse,
                                .sxx = l->wear.sxx,
                                .rate = l->wear.rate};
    memcpy(out->meter_unit, u->meter_unit, sizeof out->meter_unit);
}

enum vb_err
vb_fleet_count(struct vb_fleet *f, const char *family, const struct vb_life_sum *l)
{
    struct vb_group *g = get_group(f, family, l);
    if (!g || !l->n)
        return g ? VB_OK : VB_EMEM;
    const struct vb_wear wear = {.n = l->n, .df = l->df, .sse = l->sse};
    g->readings += l->n;
    g->with_u += l->with_u;
    vb_pool_add(&g->pool, &wear);
    enum vb_err e = vb_tail_add(&g->tail, &wear);
    return !e && l->sxx > 0 ? add_member(g, l) : e;
}

/* Passed over: from marked to n. */
static enum vb_err
pass_over(struct vb_group *g)
{
    if (g->n_over && g->over[g->n_over - 1].to == g->marked) {
        g->over[g->n_over - 1].to = g->n;
        return VB_OK;
    }
    if (g->n_over == g->over_size) {
        size_t size = g->over_size ? 2 * g->over_size : 16;
        struct vb_passed *p = realloc(g->over, size * sizeof *p);
        if (!p)
            return VB_EMEM;
        g->over = p;
        g->over_size = size;
    }
    g->over[g->n_over++] = (struct vb_passed){g->marked, g->n};
    return VB_OK;
}

enum vb_err
vb_fleet_mark(struct vb_fleet *f, int wanted)
{
    enum vb_err e = VB_OK;
    for (size_t i = 0; !e && i < f->n_groups; i++) {
        struct vb_group *g = &f->group[i];
        if (!wanted && g->marked < g->n)
            e = pass_over(g);
        g->marked = g->n;
    }
    return e;
}

/* Where the next life is placed. */
static size_t
next_member(struct vb_group *g)
{
    if (g->over_next < g->n_over && g->next == g->over[g->over_next].from)
        g->next = g->over[g->over_next++].to;
    return g->next;
}

/* Scatter, with what the gauge, or the rounding of a reading, leaves at least. */
static enum vb_err
settle(struct vb_group *g)
{
    g->floor_u = 2 * g->with_u > g->readings ? VB_U_REFERENCE : VB_U_ROUNDED;
    g->bound = vb_tail_cut(&g->tail, &g->pool);
    g->s2 = vb_pool_s2(&g->pool, g->floor_u);
    if (!(g->s2 > 0))
        g->n = 0;
    for (size_t i = 0; i < g->n; i++)
        g->var[i] = g->s2 / g->var[i];
    return vb_family_rate_fit(g->rate, g->var, g->n, &g->all);
}

enum vb_err
vb_fleet_settle(struct vb_fleet *f)
{
    enum vb_err e = VB_OK;
    for (size_t i = 0; !e && i < f->n_groups; i++)
        e = settle(&f->group[i]);
    return e;
}

enum vb_err
vb_fleet_place(struct vb_fleet *f, const struct vb_unit_now *u, struct vb_life *l)
{
    l->group = find_group(f, u->family_name, u->meter_unit, l->valve.side == 'E');
    if (l->group == f->n_groups)
        return VB_EDOM;
    struct vb_group *g = &f->group[l->group];
    int takes_part = l->wear.n && l->wear.sxx > 0 && next_member(g) < g->n;
    l->member = takes_part ? g->next++ : VB_NO_MEMBER;
    return VB_OK;
}

const struct vb_group *
vb_fleet_group(const struct vb_fleet *f, const struct vb_life *l)
{
    return &f->group[l->group];
}

enum vb_err
vb_fleet_pool(struct vb_fleet *f)
{
    enum vb_err e = VB_OK;
    for (size_t i = 0; !e && i < f->lives.n; i++) {
        const struct vb_life *l = &f->lives.life[i];
        const struct vb_unit_now *u = &f->unit[l->engine];
        struct vb_life_sum sum;
        vb_life_sum_of(u, l, &sum);
        e = vb_fleet_count(f, u->family_name, &sum);
    }
    if (!e)
        e = vb_fleet_settle(f);
    for (size_t i = 0; !e && i < f->lives.n; i++) {
        struct vb_life *l = &f->lives.life[i];
        e = vb_fleet_place(f, &f->unit[l->engine], l);
    }
    return e;
}
