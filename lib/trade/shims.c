#include "valvebook/shims.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/assign.h"

int64_t
vb_shim_units(double mm)
{
    double x = mm * VB_SHIM_PER_MM;
    return fabs(x) <= VB_SHIM_MOST ? (int64_t)llround(x) : VB_SHIM_NONE;
}

double
vb_shim_mm(int64_t units)
{
    return units == VB_SHIM_NONE ? NAN : (double)units / VB_SHIM_PER_MM;
}

/* A shim of the pool: a column of the matrix. Behind them stands one column a valve, for
 * what is bought for it. */
struct shim {
    enum vb_shim_source source; // SWAP or SHELF
    size_t from;
    int64_t thickness;
    char side; // that it fits, 0: either
};

struct pool {
    const struct vb_shim_valve *valve;
    size_t n;
    struct shim *shim;
    size_t n_shims, cols;
    int64_t *order; // [n] the shim to buy for a valve, VB_SHIM_NONE for none
    int64_t *cost;
    int64_t off, buy, close, unserved; // what one unit of each costs
};

static int
is_length(int64_t x)
{
    return x >= -VB_SHIM_MOST && x <= VB_SHIM_MOST;
}

static enum vb_err
check(const struct vb_shim_valve *v)
{
    const int64_t may[] = {v->lo, v->hi, v->order_min, v->order_max, v->order_step};
    const int64_t must[] = {v->present, v->found, v->target, v->band};
    for (size_t i = 0; i < sizeof must / sizeof *must; i++)
        if (!is_length(must[i]))
            return must[i] == VB_SHIM_NONE ? VB_EDOM : VB_ERANGE;
    for (size_t i = 0; i < sizeof may / sizeof *may; i++)
        if (may[i] != VB_SHIM_NONE && !is_length(may[i]))
            return VB_ERANGE;
    int crossed = v->lo != VB_SHIM_NONE && v->hi != VB_SHIM_NONE && v->lo > v->hi;
    int orders = v->order_step != VB_SHIM_NONE;
    if (v->present < 0 || v->band < 0 || crossed || (orders && v->order_step <= 0))
        return VB_EDOM;
    return orders && (v->order_min < 0 || v->order_max < 0) ? VB_EDOM : VB_OK;
}

static int
lands(const struct vb_shim_valve *v, int64_t thickness)
{
    int64_t after = v->present + v->found - thickness;
    return (v->lo == VB_SHIM_NONE || after >= v->lo) &&
           (v->hi == VB_SHIM_NONE || after <= v->hi);
}

/* Does it go in, and land? */
static int
serves(const struct vb_shim_valve *v, const struct shim *s)
{
    return (!s->side || !v->side || s->side == v->side) && lands(v, s->thickness);
}

/* Limits with the band taken off, but never past the target: who sets to a limit means it. */
static struct vb_shim_valve
guarded(const struct vb_shim_valve *v)
{
    struct vb_shim_valve g = *v;
    if (v->lo != VB_SHIM_NONE && v->lo < v->target)
        g.lo = v->lo + v->band < v->target ? v->lo + v->band : v->target;
    if (v->hi != VB_SHIM_NONE && v->hi > v->target)
        g.hi = v->hi - v->band > v->target ? v->hi - v->band : v->target;
    return g;
}

static int
lands_close(const struct vb_shim_valve *v, int64_t thickness)
{
    struct vb_shim_valve g = guarded(v);
    return !lands(&g, thickness);
}

static int64_t
wanted(const struct vb_shim_valve *v)
{
    return v->present + v->found - v->target;
}

static int64_t
off_target(const struct vb_shim_valve *v, int64_t thickness)
{
    return llabs(wanted(v) - thickness);
}

/* Towards minus infinity; b > 0. */
static int64_t
floor_div(int64_t a, int64_t b)
{
    return a / b - (a % b < 0);
}

/* The nearest shim that can be bought and lands; VB_SHIM_NONE if none does. */
static int64_t
order_within(const struct vb_shim_valve *v)
{
    if (v->order_step == VB_SHIM_NONE)
        return VB_SHIM_NONE;
    int64_t sum = v->present + v->found, lo = v->order_min, hi = v->order_max;
    if (v->hi != VB_SHIM_NONE && sum - v->hi > lo)
        lo = sum - v->hi;
    if (v->lo != VB_SHIM_NONE && sum - v->lo < hi)
        hi = sum - v->lo;
    int64_t first = -floor_div(v->order_min - lo, v->order_step); // rounded up
    int64_t last = floor_div(hi - v->order_min, v->order_step);
    if (first > last)
        return VB_SHIM_NONE;
    // half a step from both: the thinner
    int64_t k =
        -floor_div(v->order_step - 2 * (wanted(v) - v->order_min), 2 * v->order_step);
    k = k < first ? first : k > last ? last : k;
    return v->order_min + k * v->order_step;
}

static int64_t
best_order(const struct vb_shim_valve *v)
{
    struct vb_shim_valve g = guarded(v);
    int64_t best = order_within(&g);
    return best == VB_SHIM_NONE ? order_within(v) : best;
}

static int
serves_some(const struct pool *p, const struct shim *s)
{
    for (size_t i = 0; i < p->n; i++)
        if (serves(&p->valve[i], s))
            return 1;
    return 0;
}

/* More of a thickness than there are valves help nobody, nor do shims that fit none. */
static enum vb_err
gather(struct pool *p, const struct vb_shim_stock *stock, size_t n_stock)
{
    size_t most = p->n;
    for (size_t k = 0; k < n_stock; k++) {
        if (!is_length(stock[k].thickness) || stock[k].thickness < 0)
            return VB_ERANGE;
        most += stock[k].count < p->n ? stock[k].count : p->n;
    }
    p->shim = calloc(most, sizeof *p->shim);
    p->order = calloc(p->n, sizeof *p->order);
    if (!p->shim || !p->order)
        return VB_EMEM;
    for (size_t i = 0; i < p->n; i++) {
        const struct vb_shim_valve *v = &p->valve[i];
        p->shim[p->n_shims++] =
            (struct shim){VB_SHIM_SWAP, i, v->present, v->own_side ? v->side : 0};
        p->order[i] = best_order(&p->valve[i]);
    }
    for (size_t k = 0; k < n_stock; k++) {
        const struct shim s = {VB_SHIM_SHELF, k, stock[k].thickness, stock[k].side};
        if (!serves_some(p, &s))
            continue;
        for (size_t c = 0; c < stock[k].count && c < p->n; c++)
            p->shim[p->n_shims++] = s;
    }
    p->cols = p->n_shims + p->n;
    return VB_OK;
}

/*
 * One number a pair in which each thing weighs more than all of the next can: with n
 * valves at most n shims are moved, n are bought, n land close, and the deviations sum to
 * n times the largest. Without what is close 999 valves and 80 mm give 8e14, within what
 * vb_assign takes; with it engines do, 96 valves and 5 mm give 4e13.
 */
static void
weigh(struct pool *p)
{
    int64_t n = (int64_t)p->n, largest = 0;
    for (size_t i = 0; i < p->n; i++) {
        const struct vb_shim_valve *v = &p->valve[i];
        for (size_t j = 0; j < p->n_shims; j++)
            if (serves(v, &p->shim[j]) && off_target(v, p->shim[j].thickness) > largest)
                largest = off_target(v, p->shim[j].thickness);
        if (p->order[i] != VB_SHIM_NONE && off_target(v, p->order[i]) > largest)
            largest = off_target(v, p->order[i]);
    }
    p->off = n + 1;
    p->buy = p->off * (n * largest + 1);
    p->close = p->buy * (n + 1);
    p->unserved =
        p->close <= INT64_MAX / 16 / (n * (n + 1)) ? p->close * (n + 1) : p->close;
    if (p->unserved == p->close)
        p->close = 0;
}

static int64_t
pool_cost(const struct pool *p, size_t i, size_t j)
{
    const struct shim *s = &p->shim[j];
    if (!serves(&p->valve[i], s))
        return VB_ASSIGN_NEVER;
    int own = s->source == VB_SHIM_SWAP && s->from == i;
    return p->off * off_target(&p->valve[i], s->thickness) + !own +
           (lands_close(&p->valve[i], s->thickness) ? p->close : 0);
}

static int64_t
order_cost(const struct pool *p, size_t i)
{
    const struct vb_shim_valve *v = &p->valve[i];
    int64_t order = p->order[i];
    if (order == VB_SHIM_NONE)
        return p->unserved;
    return p->buy + p->off * off_target(v, order) + 1 +
           (lands_close(v, order) ? p->close : 0);
}

static enum vb_err
fill(struct pool *p)
{
    if (p->cols > SIZE_MAX / p->n / sizeof *p->cost) // GCOVR_EXCL_BR_LINE: no such memory
        return VB_EMEM;                              // GCOVR_EXCL_LINE
    p->cost = malloc(p->n * p->cols * sizeof *p->cost);
    if (!p->cost)
        return VB_EMEM;
    weigh(p);
    for (size_t i = 0; i < p->n; i++) {
        int64_t *row = p->cost + i * p->cols;
        for (size_t j = 0; j < p->n_shims; j++)
            row[j] = pool_cost(p, i, j);
        for (size_t j = p->n_shims; j < p->cols; j++)
            row[j] = VB_ASSIGN_NEVER;
        row[p->n_shims + i] = order_cost(p, i);
    }
    return VB_OK;
}

static struct vb_shim_choice
chosen(const struct pool *p, size_t i, size_t j)
{
    const struct vb_shim_valve *v = &p->valve[i];
    struct vb_shim_choice c = {.source = VB_SHIM_UNSERVED,
                               .thickness = VB_SHIM_NONE,
                               .after = VB_SHIM_NONE,
                               .wanted = wanted(v)};
    for (size_t k = 0; k < p->n_shims; k++)
        c.fits += serves(v, &p->shim[k]) ? 1u : 0u;
    if (j < p->n_shims) {
        const struct shim *s = &p->shim[j];
        int own = s->source == VB_SHIM_SWAP && s->from == i;
        c.source = own ? VB_SHIM_OWN : s->source;
        c.from = s->from;
        c.thickness = s->thickness;
    } else if (p->order[i] != VB_SHIM_NONE) {
        c.source = VB_SHIM_BUY;
        c.thickness = p->order[i];
    }
    if (c.thickness != VB_SHIM_NONE)
        c.after = v->present + v->found - c.thickness;
    return c;
}

static void
add_up(const struct vb_shim_valve *v, const struct vb_shim_choice *c,
       struct vb_shim_total *t)
{
    t->unserved += c->source == VB_SHIM_UNSERVED;
    t->bought += c->source == VB_SHIM_BUY;
    if (c->source == VB_SHIM_UNSERVED)
        return;
    t->close += lands_close(v, c->thickness);
    t->off += llabs(c->wanted - c->thickness);
    t->moved += c->source != VB_SHIM_OWN;
}

static enum vb_err
choose(struct pool *p, struct vb_shim_choice *choice, struct vb_shim_total *total)
{
    size_t *column = malloc(p->n * sizeof *column);
    enum vb_err e = column ? vb_assign(p->cost, p->n, p->cols, column, NULL) : VB_EMEM;
    struct vb_shim_total t = {0};
    for (size_t i = 0; !e && i < p->n; i++) {
        choice[i] = chosen(p, i, column[i]);
        add_up(&p->valve[i], &choice[i], &t);
    }
    if (!e)
        *total = t;
    free(column);
    return e;
}

enum vb_err
vb_shims_choose(const struct vb_shim_valve *valve, size_t n,
                const struct vb_shim_stock *stock, size_t n_stock,
                struct vb_shim_choice *choice, struct vb_shim_total *total)
{
    struct pool p = {.valve = valve, .n = n};
    enum vb_err e = n == 0 ? VB_EDOM : n > VB_SHIM_VALVES ? VB_ERANGE : VB_OK;
    for (size_t i = 0; !e && i < n; i++)
        e = check(&valve[i]);
    if (!e)
        e = gather(&p, stock, n_stock);
    if (!e)
        e = fill(&p);
    if (!e)
        e = choose(&p, choice, total);
    free(p.shim);
    free(p.order);
    free(p.cost);
    return e;
}
