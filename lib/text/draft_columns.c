/*
 * From words and cells to the meaning of each column.
 */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "draft.h"
#include "plain.h"
#include "valvebook/valve.h"

void
draft_say(struct draft_col *c, const char *fmt, ...)
{
    va_list ap;
    size_t n = strlen(c->why);
    if (n && n + 2 < sizeof c->why) {
        memcpy(c->why + n, "; ", 3);
        n += 2;
    }
    va_start(ap, fmt);
    vsnprintf(c->why + n, sizeof c->why - n, fmt, ap);
    va_end(ap);
}

void
draft_say_words(struct draft_col *c, const char *what)
{
    const struct draft_stats *s = &c->stats;
    char q[40];
    draft_say(c,
              "CHECK: %zu of %zu cells, as '%s', are no numbers and %swill be refused, "
              "unless the recipe teaches them as words of the shop",
              s->filled - s->numbers - s->dates, s->filled,
              vb_quote(s->odd_number.s, s->odd_number.n, q, sizeof q), what);
}

/* The first rule of which a heading has all the words. */
static const struct rule {
    unsigned all;
    int numbered; // only with a number in the heading
    enum vb_means means;
    int strength;
} rules[] = {
    {D_OTHER, 0, VB_MEANS_IGNORE, 9},
    {D_BY, 0, VB_MEANS_BY, 3},
    {D_NOTE, 0, VB_MEANS_NOTE, 3},
    {D_DATE, 0, VB_MEANS_DATE, 3},
    {D_METER | D_UNIT, 0, VB_MEANS_METER_UNIT, 3},
    {D_TEMP, 0, VB_MEANS_TEMP, 3},
    {D_STATECOL, 0, VB_MEANS_STATE, 3},
    {D_QUANTCOL, 0, VB_MEANS_QUANTITY, 3},
    {D_GO, 0, VB_MEANS_READING, 3},
    {D_QUANTITY | D_UNIT, 0, VB_MEANS_UNIT, 3},
    {D_QUANTITY | D_GAUGE, 0, VB_MEANS_GAUGE, 3},
    {D_QUANTITY, 0, VB_MEANS_READING, 3},
    {D_U, 0, VB_MEANS_U, 3},
    {D_GAUGE, 0, VB_MEANS_GAUGE, 3},
    {D_UNIT, 0, VB_MEANS_UNIT, 3},
    {D_METER, 0, VB_MEANS_METER, 3},
    {D_FOUND, 0, VB_MEANS_READING, 3},
    {D_LEFT, 0, VB_MEANS_READING, 3},
    {D_VALUE, 0, VB_MEANS_READING, 3},
    {D_SIDECOL, 0, VB_MEANS_SIDE, 3},
    {D_SIDE, 0, VB_MEANS_READING, 3},
    {D_VALVE, 1, VB_MEANS_READING, 3},
    {D_CYL, 1, VB_MEANS_READING, 3},
    {D_LETTER_C, 1, VB_MEANS_READING, 3},
    {D_VALVE, 0, VB_MEANS_VALVE, 3},
    {D_CYL, 0, VB_MEANS_CYLINDER, 3},
    {D_PLACE, 0, VB_MEANS_VALVE, 1},
    {D_BANK, 0, VB_MEANS_BANK, 3},
    {D_ENGINE, 0, VB_MEANS_ENGINE, 3},
    {D_VEHICLE, 0, VB_MEANS_ENGINE, 2},
};

static void
by_rules(struct draft_col *c)
{
    for (size_t i = 0; i < sizeof rules / sizeof *rules; i++) {
        const struct rule *r = &rules[i];
        if ((c->words.flags & r->all) != r->all || (r->numbered && !c->words.n_num))
            continue;
        c->means = r->means;
        c->strength = r->strength;
        draft_say(c, "heading word '%s'%s", c->words.word,
                  r->all == D_OTHER ? ": no reading of its own" : "");
        return;
    }
}

static void
count_words(struct draft_stats *s, struct vb_text t)
{
    static const struct vb_recipe none = {0};
    struct vb_valve v;
    struct draft_head h;
    int part = !vb_valve_part(t.s, t.n, &v);
    s->valves += part && v.cyl && v.side ? 1 : 0;
    s->cyls += part && v.cyl && !v.side;
    s->sides += part && v.side && !v.cyl;
    s->parts += part ? 1 : 0;
    if (!part && !s->odd.n)
        s->odd = t;
    s->units += vb_unit_find(t.s, t.n) != NULL;
    if (t.n > 24 || (t.s[0] >= '0' && t.s[0] <= '9' && part))
        return;
    draft_words(t, &h);
    s->auslass +=
        (h.side == 'a' || h.side == 'v') && !h.unknown && !(h.flags & D_SIDECOL);
    if (vb_state_find(&none, t) || (h.state && !h.unknown && !h.n_num))
        s->states++;
    else if (!s->odd_state.n)
        s->odd_state = t;
}

/* Half of a cell: a number, or a dash. */
static int
is_half(const struct draft_shape *shape, struct vb_text t, double *x)
{
    struct vb_text rest;
    *x = NAN;
    t = vb_text_trim(t);
    return (t.n && vb_missing(t.s, t.n)) ||
           (draft_number(shape, t, x, &rest) && !rest.n && *x >= 0);
}

/* "9/10" may be two blades, the thinner first; "10/9", "9/-" and "9 -> 10" are not. *x is the
 * middle. Returns the count that it belongs to, NULL for a cell that has no two numbers. */
static size_t *
two_numbers(struct draft_stats *s, const struct draft_shape *shape, struct vb_text t,
            double *x)
{
    size_t n, at = vb_bar_find(t, &n);
    double a, b;
    if (!n || !is_half(shape, (struct vb_text){t.s, at}, &a) ||
        !is_half(shape, (struct vb_text){t.s + at + n, t.n - at - n}, &b) ||
        (isnan(a) && isnan(b)))
        return NULL;
    *x = isnan(a) ? b : isnan(b) ? a : (a + b) / 2;
    return n > 1 ? &s->arrows : a < b ? &s->pairs : &s->falling;
}

static void
count_cell(struct draft_stats *s, const struct draft_shape *shape, struct vb_text t)
{
    struct vb_text rest;
    double x;
    size_t *two;
    t = vb_text_trim(t);
    if (vb_missing(t.s, t.n))
        return;
    s->filled++;
    if (draft_is_date(t)) {
        s->dates++;
    } else if ((two = two_numbers(s, shape, t, &x))) {
        s->numbers++;
        ++*two;
        s->sum += x;
        s->summed++;
    } else if (draft_number(shape, t, &x, &rest)) {
        s->numbers++;
        s->fractions += x != floor(x);
        s->own_unit += rest.n > 0;
        s->sum += rest.n ? 0 : fabs(x);
        s->summed += rest.n == 0;
        s->below += rest.n == 0 && x < 0;
    } else if (!s->odd_number.n) {
        s->odd_number = t;
    }
    count_words(s, t);
}

static void
count_column(const struct draft *d, size_t i)
{
    struct draft_stats *s = &d->col[i].stats;
    for (size_t r = d->first; r < d->sample.n; r++)
        if (draft_is_data(d, r) && i < d->sample.row[r].n)
            count_cell(s, &d->shape, d->sample.row[r].cell[i]);
}

/* Where the cells speak against the heading, the cells are right. */
static void
by_cells(struct draft_col *c)
{
    const struct draft_stats *s = &c->stats;
    if (s->filled == 0)
        return;
    if (c->means == VB_MEANS_UNIT && s->units == 0 && !c->words.quantity)
        draft_mean(c, VB_MEANS_ENGINE, 2,
                   "heading word 'unit' over cells that are no units");
    if ((c->means == VB_MEANS_CYLINDER || c->means == VB_MEANS_SIDE) &&
        s->valves == s->filled)
        draft_mean(c, VB_MEANS_VALVE, 2, "every cell names a whole valve");
    if (c->means == VB_MEANS_STATE && c->words.both && s->pairs + s->falling + s->arrows)
        draft_mean(c, VB_MEANS_READING, 2, "heading says found and left");
    if (c->means == VB_MEANS_VALVE && c->strength == 1 && s->parts == 0)
        draft_mean(c, VB_MEANS_IGNORE, 0, "");
    if (c->means == VB_MEANS_READING && !c->words.quantity && s->numbers == 0) {
        int in_ex = s->sides == s->filled && !c->words.n_num;
        draft_mean(c, in_ex ? VB_MEANS_SIDE : VB_MEANS_IGNORE, in_ex ? 2 : 9,
                   in_ex ? "every cell names a side"
                         : "the heading may mean a reading, but "
                           "the cells hold no numbers");
    }
}

/* EV and AV are German; beside IV or IN, EV is English. E and A may be German, or French or
 * Spanish, where A is admission. */
static void
settle_sides(struct draft *d)
{
    int auslass = 0;
    for (size_t i = 0; i < d->n_cols; i++) {
        char side = d->col[i].words.side;
        auslass |= d->col[i].means == VB_MEANS_READING && (side == 'a' || side == 'v');
    }
    for (size_t i = 0; i < d->n_cols; i++) {
        struct draft_col *c = &d->col[i];
        char side = c->words.side;
        if (side == 'a' || side == 'v')
            c->words.side = 'E';
        else if (side == 'e' || side == 'w')
            c->words.side = auslass ? 'I' : 'E';
        if (auslass && (side == 'v' || side == 'w'))
            draft_say(c, "EV and AV are taken for Einlass and Auslass");
        else if (auslass && (side == 'a' || side == 'e'))
            draft_say(c,
                      "UNCERTAIN: E and A are taken for Einlass and Auslass; where A is "
                      "admission they are the other way round: check");
    }
}

/* "found in" beside a column of valves is an inch; "IN" over numbers is an inlet valve.
 */
static void
settle_in(struct draft *d)
{
    int sides = 0;
    for (size_t i = 0; i < d->n_cols; i++) {
        const struct draft_col *c = &d->col[i];
        sides |= c->means == VB_MEANS_SIDE ||
                 (c->means == VB_MEANS_VALVE && c->stats.valves + c->stats.sides > 0);
    }
    for (size_t i = 0; i < d->n_cols; i++) {
        struct draft_head *h = &d->col[i].words;
        if (!(h->flags & D_IN))
            continue;
        int only = strcmp(h->word, "in") == 0;
        if ((sides && !only) || h->side == 'E') {
            h->side = h->side == 'E' ? 'E' : 0;
            h->unit = h->unit ? h->unit : vb_unit_find("in", 2);
        }
    }
}

static void
only_one(struct draft *d, enum vb_means means)
{
    size_t best = d->n_cols;
    for (size_t i = 0; i < d->n_cols; i++)
        if (d->col[i].means == means &&
            (best == d->n_cols || d->col[i].strength > d->col[best].strength))
            best = i;
    d->has[means] = best < d->n_cols;
    for (size_t i = 0; i < d->n_cols; i++) {
        struct draft_col *c = &d->col[i];
        char q[40];
        if (c->means != means || i == best)
            continue;
        draft_ignore(c, "");
        draft_say(c, "CHECK: it could be the %s as well, but column '%s' is taken",
                  vb_means_name(means),
                  vb_quote(d->col[best].head.s, d->col[best].head.n, q, sizeof q));
    }
}

/* Is the side of every reading in its heading? */
static int
sides_in_headings(const struct draft *d)
{
    for (size_t i = 0; i < d->n_cols; i++)
        if (d->col[i].means == VB_MEANS_READING && !d->col[i].words.side)
            return 0;
    return 1;
}

/* Beside a cylinder and a side, a column of single digits says which valve of the side. */
static void
settle_index(struct draft *d)
{
    size_t i = 0;
    while (i < d->n_cols && d->col[i].means != VB_MEANS_VALVE)
        i++;
    if (i == d->n_cols || !d->col[i].stats.filled || !d->has[VB_MEANS_CYLINDER] ||
        !(d->has[VB_MEANS_SIDE] || sides_in_headings(d)))
        return;
    for (size_t r = d->first; r < d->sample.n; r++) {
        if (!draft_is_data(d, r) || i >= d->sample.row[r].n)
            continue;
        struct vb_text t = vb_text_trim(d->sample.row[r].cell[i]);
        if (t.n > 1 || (t.n && (*t.s < '1' || *t.s > '9')))
            return;
    }
    draft_mean(&d->col[i], VB_MEANS_INDEX, 2,
               "one digit beside a cylinder and a side: which valve of that side");
    d->has[VB_MEANS_VALVE] = 0;
    d->has[VB_MEANS_INDEX] = 1;
}

static void
date_column(struct draft *d, size_t i)
{
    char why[DRAFT_WHY];
    size_t n = 0;
    for (size_t r = d->first; r < d->sample.n; r++)
        if (draft_is_data(d, r) && i < d->sample.row[r].n)
            d->scratch[n++] = vb_text_trim(d->sample.row[r].cell[i]);
    d->col[i].format = draft_date_order(d->scratch, n, why, sizeof why);
    draft_say(&d->col[i], "%s", why);
}

/* What valve-tidy will not be able to read in these cells is said here already. */
static void
warn_of_cells(struct draft_col *c)
{
    const struct draft_stats *s = &c->stats;
    char q[40];
    int place = c->means == VB_MEANS_VALVE || c->means == VB_MEANS_CYLINDER ||
                c->means == VB_MEANS_SIDE;
    if (place && s->auslass && c->means != VB_MEANS_CYLINDER) {
        draft_ignore(
            c, "CHECK: A beside E is Auslass beside Einlass, but E would be read as "
               "exhaust: write I and E into the cells first");
    } else if (place && s->parts < s->filled) {
        draft_say(
            c,
            "CHECK: %zu of %zu cells, as '%s', name no valve and will be refused, unless "
            "the recipe teaches them as words of the shop",
            s->filled - s->parts, s->filled, vb_quote(s->odd.s, s->odd.n, q, sizeof q));
    } else if ((c->means == VB_MEANS_TEMP || c->means == VB_MEANS_METER) &&
               s->odd_number.n) {
        draft_say_words(c, "their rows ");
    } else if (c->means == VB_MEANS_STATE && s->states < s->filled) {
        draft_say(c, "CHECK: %zu of %zu cells, as '%s', are neither found nor left",
                  s->filled - s->states, s->filled,
                  vb_quote(s->odd_state.s, s->odd_state.n, q, sizeof q));
    }
}

/* A column of quantities whose words are not those of valve-tidy says nothing usable. */
static void
quantity_column(struct draft *d, size_t i)
{
    size_t known = 0;
    for (size_t r = d->first; r < d->sample.n; r++) {
        if (!draft_is_data(d, r) || i >= d->sample.row[r].n)
            continue;
        struct vb_text t = vb_text_trim(d->sample.row[r].cell[i]);
        known += t.n && vb_quantity_find(t.s, t.n);
    }
    if (known)
        return;
    draft_ignore(&d->col[i], "CHECK: the cells are no names of quantities: readings are "
                             "taken for lash");
    d->has[VB_MEANS_QUANTITY] = 0;
}

enum vb_err
draft_columns(struct draft *d, struct vb_msg *m)
{
    size_t readings = 0;
    for (size_t i = 0; i < d->n_cols; i++) {
        count_column(d, i);
        draft_words(d->col[i].head, &d->col[i].words);
    }
    draft_banks(d);
    draft_groups(d);
    for (size_t i = 0; i < d->n_cols; i++) {
        by_rules(&d->col[i]);
        by_cells(&d->col[i]);
    }
    settle_sides(d);
    settle_in(d);
    for (int k = VB_MEANS_ENGINE; k < VB_MEANS_READING; k++)
        only_one(d, (enum vb_means)k);
    settle_index(d);
    draft_from_cells(d);
    for (size_t i = 0; i < d->n_cols; i++) {
        warn_of_cells(&d->col[i]);
        if (d->col[i].means == VB_MEANS_DATE)
            date_column(d, i);
        if (d->col[i].means == VB_MEANS_QUANTITY)
            quantity_column(d, i);
    }
    draft_bank_column(d);
    draft_places(d);
    draft_units(d);
    draft_lift(d);
    for (size_t i = 0; i < d->n_cols; i++)
        readings += d->col[i].means == VB_MEANS_READING;
    vb_msg_set(m, "nothing in it looks like a table of readings");
    if (!readings)
        return VB_ESYNTAX;
    vb_msg_clear(m);
    return VB_OK;
}
