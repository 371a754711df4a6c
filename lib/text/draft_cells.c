/*
 * Columns whose headings say nothing: what their cells look like is all there is.
 */
#include "draft.h"

void
draft_mean(struct draft_col *c, enum vb_means means, int strength, const char *why)
{
    c->means = means;
    c->strength = strength;
    c->why[0] = 0;
    draft_say(c, "%s", why);
}

static int
want(struct draft *d, struct draft_col *c, enum vb_means means, size_t count,
     const char *why)
{
    if (d->has[means] || count < c->stats.filled || !c->stats.filled)
        return 0;
    draft_mean(c, means, 1, why);
    d->has[means] = 1;
    return 1;
}

static int
lacks_cylinder(const struct draft *d)
{
    for (size_t i = 0; i < d->n_cols; i++)
        if (d->col[i].means == VB_MEANS_READING && d->col[i].words.side &&
            !d->col[i].words.n_num)
            return !d->has[VB_MEANS_VALVE];
    return 0;
}

/* A heading that says nothing, over cells that do. */
static void
from_cells(struct draft *d, struct draft_col *c)
{
    const struct draft_stats *s = &c->stats;
    if (c->means != VB_MEANS_IGNORE || c->strength)
        return;
    c->why[0] = 0;
    c->silent = s->filled == 0 && c->head.n == 0;
    if (want(d, c, VB_MEANS_DATE, s->dates, "every cell is a date") ||
        (!d->has[VB_MEANS_CYLINDER] &&
         want(d, c, VB_MEANS_VALVE, s->valves, "every cell names a valve")) ||
        want(d, c, VB_MEANS_STATE, s->states, "every cell is a word for found or left") ||
        (lacks_cylinder(d) && want(d, c, VB_MEANS_CYLINDER, s->cyls,
                                   "UNCERTAIN: cells look like cylinders: check")))
        return;
    if (s->numbers)
        draft_say(c,
                  "CHECK: NOT UNDERSTOOD, AND IT HOLDS NUMBERS THAT MIGHT BE READINGS");
    else
        draft_say(c, "CHECK: not understood");
}

/* A sheet whose numbered headings are cylinders, each row being one side of the engine.
 */
static void
bare_cylinders(struct draft *d)
{
    for (size_t i = 0; i < d->n_cols; i++) {
        struct draft_col *c = &d->col[i];
        if (c->means == VB_MEANS_IGNORE && !c->strength && c->words.n_num == 1 &&
            !c->words.flags && !c->words.unknown && c->stats.numbers &&
            d->has[VB_MEANS_SIDE] && !d->has[VB_MEANS_CYLINDER])
            draft_mean(c, VB_MEANS_READING, 1,
                       "UNCERTAIN: a number taken for a cylinder: check");
    }
}

/* Nothing but numbers: the last thing that a sheet without headings can be. */
static void
bare_numbers(struct draft *d)
{
    size_t numbers = 0, rows = 0;
    struct vb_text rest;
    double x;
    for (size_t r = d->first; r < d->sample.n; r++, rows++)
        numbers += d->sample.row[r].n &&
                   draft_number(&d->shape, d->sample.row[r].cell[0], &x, &rest);
    if (d->heading != NO_ROW || d->n_cols != 1 || numbers * 5 < rows * 4)
        return;
    d->col[0].words.flags = D_VALUE;
    d->col[0].means = VB_MEANS_READING;
}

static int
might_be_reading(const struct draft_col *c)
{
    const struct vb_unit *u = c->words.unit ? c->words.unit : c->row_unit;
    return c->means == VB_MEANS_IGNORE && !c->strength && c->stats.numbers &&
           (c->stats.fractions * 2 > c->stats.filled || (u && u->dim == VB_DIM_LENGTH));
}

/* Where no heading speaks of a reading, decimals or a unit beside the valves do. */
static void
last_resort(struct draft *d)
{
    size_t best = d->n_cols, count = 0;
    for (size_t i = 0; i < d->n_cols; i++) {
        if (d->col[i].means == VB_MEANS_READING)
            return;
        if (might_be_reading(&d->col[i]) && count++ == 0)
            best = i;
    }
    if (count == 0 ||
        (d->heading != NO_ROW && !d->has[VB_MEANS_VALVE] && !d->has[VB_MEANS_CYLINDER]))
        return;
    if (count == 1 || d->col[best].words.unit)
        draft_mean(&d->col[best], VB_MEANS_READING, 1,
                   count == 1
                       ? "UNCERTAIN: the only column that may be a reading: check"
                       : "UNCERTAIN: the first column that may be a reading: check");
}

/* Without a heading, a single column of names is most likely the engines'. */
static void
lone_names(struct draft *d)
{
    size_t best = d->n_cols, count = 0;
    for (size_t i = 0; i < d->n_cols; i++) {
        const struct draft_col *c = &d->col[i];
        if (c->means == VB_MEANS_IGNORE && c->stats.filled && !c->stats.numbers &&
            count++ == 0)
            best = i;
    }
    if (d->heading == NO_ROW && count == 1)
        want(d, &d->col[best], VB_MEANS_ENGINE, d->col[best].stats.filled,
             "UNCERTAIN: the only column of names: check");
}

void
draft_from_cells(struct draft *d)
{
    bare_cylinders(d);
    bare_numbers(d);
    last_resort(d);
    for (size_t i = 0; i < d->n_cols; i++)
        from_cells(d, &d->col[i]);
    lone_names(d);
}
