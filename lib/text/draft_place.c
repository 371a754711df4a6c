/*
 * Which quantity, valve and state each column of readings speaks of, and what to do with
 * two columns that speak of the same.
 */
#include <stdio.h>
#include <string.h>

#include "draft.h"

/* What the columns beside the readings say of the valve. */
struct beside {
    int cyl, side;
};

void
draft_ignore(struct draft_col *c, const char *why)
{
    c->means = VB_MEANS_IGNORE;
    c->strength = 9;
    c->unit = NULL;
    c->why[0] = 0;
    if (*why)
        draft_say(c, "%s", why);
}

static struct beside
look_beside(const struct draft *d)
{
    struct beside b = {d->has[VB_MEANS_CYLINDER], d->has[VB_MEANS_SIDE]};
    for (size_t i = 0; i < d->n_cols; i++) {
        const struct draft_stats *s = &d->col[i].stats;
        if (d->col[i].means != VB_MEANS_VALVE)
            continue;
        b.cyl |= s->valves + s->cyls > 0;
        b.side |= s->valves + s->sides > 0;
    }
    return b;
}

/* One number is the cylinder unless a column says that; of two, see what stood before. */
static struct vb_valve
valve_of(const struct draft_head *h, struct beside b)
{
    struct vb_valve v = {0, h->side, 0};
    int cyl = 0, index = 0;
    if (h->n_num == 2) {
        int swap = h->before[1] == 'C' && h->before[0] != 'C';
        cyl = h->num[swap];
        index = h->num[!swap];
    } else if (h->n_num == 1 && b.cyl) {
        index = h->side ? h->num[0] : 0;
    } else if (h->n_num == 1) {
        cyl = h->num[0];
    }
    if (!b.cyl && cyl >= 1 && cyl <= 99)
        v.cyl = cyl;
    if (v.side && index >= 1 && index <= 9)
        v.index = index;
    return v;
}

static void
name_quantity(struct draft *d, struct draft_col *c)
{
    c->quantity = c->words.quantity;
    if (c->quantity)
        return;
    if (d->has[VB_MEANS_QUANTITY]) {
        draft_say(c, "the row says which quantity");
        return;
    }
    c->quantity = vb_quantity_find("lash", 4);
    draft_say(c, "no quantity named: taken for lash");
}

/* "Soll" may be what a valve was set to; beside "nachher" it is what it should have been. */
static void
settle_targets(struct draft *d)
{
    int left = 0;
    for (size_t i = 0; i < d->n_cols; i++)
        left |= d->col[i].means == VB_MEANS_READING && d->col[i].words.state == 'l' &&
                !(d->col[i].words.flags & D_SOLL);
    for (size_t i = 0; left && i < d->n_cols; i++)
        if (d->col[i].means == VB_MEANS_READING && (d->col[i].words.flags & D_SOLL))
            draft_ignore(&d->col[i], "CHECK: 'Soll' beside a column of what was left is "
                                     "taken for a target");
}

/* Two numbers in a cell: two blades, the thinner first, or found and left. */
static void
name_pair(struct draft_col *c)
{
    const struct draft_stats *s = &c->stats;
    size_t two = s->pairs + s->falling + s->arrows;
    c->pair = c->words.pair;
    if (!two)
        return;
    if (c->words.both || (s->arrows && s->arrows == two)) {
        c->pair = VB_PAIR_STATES;
        draft_say(c, "found and left in one cell");
    } else if (s->pairs == s->numbers) {
        c->pair = VB_PAIR_BOTH;
        draft_say(
            c, c->words.flags & D_GO
                   ? "two blades in each cell"
                   : "CHECK: two numbers in each cell are taken for two blades; what was "
                     "found and left needs the format found/left");
    } else {
        draft_say(
            c,
            "CHECK: %zu of %zu cells hold two numbers and will be refused; what was "
            "found and left needs the format found/left",
            two, s->filled);
    }
}

static void
name_state(struct draft *d, struct draft_col *c)
{
    name_pair(c);
    if (c->pair == VB_PAIR_STATES)
        return;
    c->state = c->words.state;
    if (c->words.flags & D_SOLL)
        draft_say(c, "UNCERTAIN: 'Soll' is taken for as left, it may be a target: check");
    if (c->state || d->has[VB_MEANS_STATE] || d->ordered)
        return;
    c->state = 'f';
    draft_say(c, "neither found nor left said: taken as found");
}

static int
complete(const struct draft_col *c, struct beside b)
{
    const struct vb_quantity *q = c->quantity;
    int cyl = b.cyl || c->at.cyl, side = b.side || c->at.side;
    if (!q || q->at == VB_AT_VALVE)
        return cyl && side;
    return q->at == VB_AT_CYLINDER ? cyl : q->at == VB_AT_CAM ? side : 1;
}

static void
name_place(struct draft_col *c, struct beside b)
{
    const struct vb_quantity *q = c->quantity;
    c->at = valve_of(&c->words, b);
    if (c->bank) {
        c->at.cyl = 0;
        draft_say(c,
                  "CHECK: '%s' is taken for a bank: say in 'at' which cylinder this is, "
                  "or, where it is another engine, ignore it here and read that by a "
                  "recipe of its own",
                  c->bank);
    }
    if (q && q->at == VB_AT_CYLINDER)
        c->at.side = 0, c->at.index = 0;
    if (q && q->at == VB_AT_CAM)
        c->at.cyl = 0, c->at.index = 0;
    if (q && q->at == VB_AT_VALVE && q->dim == VB_DIM_ANGLE && c->at.side && !c->at.cyl &&
        !b.cyl) {
        c->at.cyl = 1;
        draft_say(c, "UNCERTAIN: no cylinder named, taken for cylinder 1: check");
    }
}

/*
 * A bare angle is read as degrees after gas-exchange TDC. Where the sheet counts from
 * another dead centre, and its heading does not say so plainly, the number alone would be
 * read wrongly: better not at all.
 */
static void
check_angle(struct draft_col *c)
{
    const struct draft_stats *s = &c->stats;
    if (!c->quantity || c->quantity->dim != VB_DIM_ANGLE ||
        c->quantity->at != VB_AT_VALVE || s->numbers == 0)
        return;
    int inlet = c->at.side == 'I', opens = strcmp(c->quantity->name, "opens") == 0;
    double mean = s->summed ? s->sum / (double)s->summed : 0;
    int far = c->at.side && (inlet != opens) && s->summed && mean < 110;
    int bottom = (c->words.flags & D_AFTER_DC) && (inlet != opens);
    struct vb_centre from = vb_heading_centre(c->head);
    if (from.sign && !(from.no_minus && s->below))
        draft_say(c, "heading says the dead centre");
    else if (from.sign || from.unclear || (c->words.flags & D_BEFORE_DC) || bottom || far)
        draft_ignore(c, "CHECK: an angle that does not count from overlap TDC; call the "
                        "column by its quantity and state the dead centre it counts from "
                        "as its unit (BTDC, ABDC, BBDC)");
    else if (s->summed)
        draft_say(c, "CHECK: a bare angle is read as degrees after overlap TDC");
}

/* A wheel may be read upwards both ways from TDC. */
static void
check_stop(struct draft_col *c)
{
    const struct draft_stats *s = &c->stats;
    if (c->quantity && strcmp(c->quantity->name, "stop_before") == 0 && s->summed &&
        !s->below && s->sum / (double)s->summed < 180)
        draft_say(c, "CHECK: no number is below 0: if they count from TDC, state BTDC as "
                     "the unit");
}

static int
same_reading(const struct draft_col *a, const struct draft_col *b)
{
    return b->means == VB_MEANS_READING && a->quantity == b->quantity &&
           a->state == b->state && a->at.cyl == b->at.cyl && a->at.side == b->at.side &&
           a->at.index == b->at.index;
}

/* The same reading in inch and mm is one reading given twice; anything else is too many.
 */
static void
settle_twins(struct draft *d, size_t i)
{
    struct draft_col *c = &d->col[i];
    char q[40];
    size_t same = 0;
    for (size_t k = 0; k < i; k++) {
        const struct draft_col *o = &d->col[k];
        if (!same_reading(c, o) || (c->pair && o->pair && c->pair != o->pair))
            continue;
        const struct vb_unit *u = c->words.unit ? c->words.unit : c->row_unit;
        const struct vb_unit *v = o->words.unit ? o->words.unit : o->row_unit;
        vb_quote(o->head.s, o->head.n, q, sizeof q);
        if (same++ == 0 && !c->pair && !o->pair && u && v && u != v) {
            draft_say(c, "the same reading as '%s' in another unit: the two must agree",
                      q);
            continue;
        }
        draft_ignore(c, "");
        draft_say(
            c,
            "CHECK: A SECOND COLUMN FOR THE SAME READING AS '%s'; numbers in it are lost",
            q);
        return;
    }
}

static void
settle_half(struct draft *d, struct draft_col *c)
{
    if (c->means != VB_MEANS_READING ||
        (c->pair != VB_PAIR_GO && c->pair != VB_PAIR_NOGO))
        return;
    for (size_t k = 0; k < d->n_cols; k++)
        if (same_reading(c, &d->col[k]) && d->col[k].pair && d->col[k].pair != c->pair)
            return;
    draft_ignore(
        c, "CHECK: one half of a pair of go and no-go blades; the other was not found");
}

/* Bare numbers need the order in which they were measured. */
static int
needs_order(const struct draft *d, struct beside b)
{
    return d->n_cols == 1 && d->col[0].means == VB_MEANS_READING &&
           !d->col[0].words.side && !b.cyl &&
           (!d->col[0].words.quantity || d->col[0].words.quantity->at == VB_AT_VALVE);
}

/* "ok", a tick, "> 0.60": angles may have words, lengths none. */
static void
check_words(struct draft_col *c)
{
    if (c->quantity && c->quantity->dim == VB_DIM_LENGTH && c->stats.odd_number.n)
        draft_say_words(c, "");
}

/* A lash that was read hot and has no temperature would be taken for one at 20 Cel. */
static void
check_hot(const struct draft *d, struct draft_col *c)
{
    if (c->words.hot && !d->has[VB_MEANS_TEMP])
        draft_say(c,
                  "CHECK: read hot, and nothing says how hot: it is taken as at 20 Cel, "
                  "unless a row as ',temp,,,,,80 Cel' states it");
}

void
draft_places(struct draft *d)
{
    struct beside b = look_beside(d);
    int any = 0;
    settle_targets(d);
    d->ordered = needs_order(d, b);
    for (size_t i = 0; i < d->n_cols; i++) {
        struct draft_col *c = &d->col[i];
        if (c->means != VB_MEANS_READING)
            continue;
        name_quantity(d, c);
        name_place(c, b);
        name_state(d, c);
        check_angle(c);
        check_stop(c);
        check_words(c);
        check_hot(d, c);
        any |= c->means == VB_MEANS_READING && complete(c, b);
    }
    for (size_t i = 0; i < d->n_cols; i++)
        settle_half(d, &d->col[i]);
    for (size_t i = 0; i < d->n_cols; i++) {
        struct draft_col *c = &d->col[i];
        if (c->means != VB_MEANS_READING || d->ordered)
            continue;
        if (!complete(c, b) && any)
            draft_ignore(c,
                         "CHECK: IT MIGHT BE A READING, but nothing says at which valve");
        else if (!complete(c, b))
            draft_say(c, "CHECK: nothing says at which valve: the rows will be refused");
        if (c->means == VB_MEANS_READING)
            settle_twins(d, i);
    }
}
