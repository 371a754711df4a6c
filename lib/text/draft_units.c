/*
 * The unit of each column: its heading says it, or the units row, or the cells. Where
 * nothing does, the size of the numbers decides and the recipe says so.
 */
#include <string.h>

#include "draft.h"

static int
of_dim(const struct vb_unit *u, enum vb_dim a, enum vb_dim b)
{
    return u && (u->dim == a || u->dim == b);
}

/* Nonzero when the unit is known; what remains has to be guessed. */
static int
stated(struct draft *d, struct draft_col *c, enum vb_dim a, enum vb_dim b)
{
    const struct draft_stats *s = &c->stats;
    if (c->words.doubt && a == VB_DIM_LENGTH) {
        draft_say(c, "CHECK THE UNIT: the heading names a part or a multiple of one, or "
                     "two: state it in the recipe");
        return 1;
    }
    if (of_dim(c->words.unit, a, b)) {
        c->unit = c->words.unit;
        draft_say(c, "heading says the unit");
        return 1;
    }
    if (d->units_row && of_dim(c->row_unit, a, b)) {
        draft_say(c, "the units row says the unit");
        return 1;
    }
    if (a == VB_DIM_LENGTH &&
        (d->has[VB_MEANS_UNIT] || d->constant[VB_MEANS_UNIT].value[0])) {
        draft_say(c, d->has[VB_MEANS_UNIT] ? "the row says the unit"
                                           : "the unit stands above the heading");
        return 1;
    }
    if (s->own_unit && s->own_unit == s->numbers) {
        draft_say(c, "each cell has its own unit");
        return 1;
    }
    return s->numbers == 0;
}

static void
guess(struct draft_col *c, const char *unit, const char *why)
{
    c->unit = vb_unit_find(unit, strlen(unit));
    draft_say(c, "CHECK THE UNIT: nothing states it, %s %s", unit, why);
}

static void
guess_length(struct draft_col *c, double mean)
{
    const char *name = c->quantity ? c->quantity->name : "lash";
    const char *why = "is guessed from the size of the numbers";
    int shim = strcmp(name, "shim") == 0;
    if (strcmp(name, "lash") != 0 && !shim)
        draft_ignore(c, "CHECK: IT MIGHT BE A READING, but nothing states its unit");
    else if (mean < (shim ? 0.3 : 0.045))
        guess(c, "in", why);
    else if (mean < (shim ? 10 : 2))
        guess(c, "mm", why);
    else
        guess(c, mean < 80 ? "thou" : "um", why);
}

static void
reading_unit(struct draft *d, struct draft_col *c)
{
    enum vb_dim dim = c->quantity ? c->quantity->dim : VB_DIM_LENGTH;
    double mean = c->stats.summed ? c->stats.sum / (double)c->stats.summed : 0;
    if (stated(d, c, dim, dim))
        return;
    if (dim == VB_DIM_LENGTH)
        guess_length(c, mean);
    else if (dim == VB_DIM_PERCENT)
        c->unit = vb_unit_of(dim);
    else if (dim != VB_DIM_ANGLE)
        draft_ignore(c, "CHECK: IT MIGHT BE A READING, but nothing states its unit");
}

/* An angle needs no unit, but where the row has one for its lengths that would be refused. */
static void
angle_unit(const struct draft *d, struct draft_col *c)
{
    int by_row = d->has[VB_MEANS_UNIT] || d->constant[VB_MEANS_UNIT].value[0];
    int angle = c->quantity && c->quantity->dim == VB_DIM_ANGLE;
    if (by_row && angle && !c->unit && !of_dim(c->row_unit, VB_DIM_ANGLE, VB_DIM_ANGLE))
        c->unit = vb_unit_of(VB_DIM_ANGLE);
}

/* 120.500 km beside a lash of 0.15: a meter seldom has three decimals and never fewer. */
static void
doubt_thousands(const struct draft *d, struct draft_col *c)
{
    size_t i = (size_t)(c - d->col), n = 0;
    char q[40] = "";
    for (size_t r = d->first; r < d->sample.n; r++) {
        if (!draft_is_data(d, r) || i >= d->sample.row[r].n)
            continue;
        struct vb_text t = vb_text_trim(d->sample.row[r].cell[i]);
        int is = draft_thousands(&d->shape, t);
        if (is < 0)
            return;
        if (is > 0 && n++ == 0)
            vb_quote(t.s, t.n, q, sizeof q);
    }
    if (n)
        draft_say(
            c,
            "CHECK: every mark stands before three digits; '%s' is read as a decimal "
            "and not as thousands",
            q);
}

static void
meter_unit(struct draft *d, struct draft_col *c)
{
    doubt_thousands(d, c);
    double mean = c->stats.summed ? c->stats.sum / (double)c->stats.summed : 0;
    if (d->has[VB_MEANS_METER_UNIT])
        draft_say(c, "another column says its unit");
    else if (!stated(d, c, VB_DIM_TIME, VB_DIM_DISTANCE))
        guess(c, mean > 50000 ? "km" : "h",
              mean > 50000 ? "since few engines run so many hours"
                           : "since most meters of engines count hours");
}

/* 18 may be either scale of a cold engine's day; 70 may be a warm one. */
static void
temp_unit(struct draft *d, struct draft_col *c)
{
    const char *letter = c->words.flags & D_LETTER_C   ? "Cel"
                         : c->words.flags & D_LETTER_F ? "[degF]"
                                                       : NULL;
    double mean = c->stats.summed ? c->stats.sum / (double)c->stats.summed : 0;
    if (letter && !c->words.unit)
        c->words.unit = vb_unit_find(letter, strlen(letter));
    if (stated(d, c, VB_DIM_TEMP, VB_DIM_TEMP))
        return;
    if (mean <= 45)
        guess(c, "Cel", "is guessed from the size of the numbers");
    else
        draft_ignore(c, "CHECK: a temperature, but nothing states its scale");
}

/* Half of the finest digit in a column of lengths, in mm. */
static double
half_digit(const struct draft *d, size_t i)
{
    const struct draft_col *c = &d->col[i];
    const struct vb_unit *u = c->unit ? c->unit : c->row_unit;
    double best = 0;
    for (size_t r = d->first; u && r < d->sample.n; r++) {
        struct vb_dec v;
        size_t used;
        if (!draft_is_data(d, r) || i >= d->sample.row[r].n ||
            vb_dec_prefix(d->sample.row[r].cell[i].s, d->sample.row[r].cell[i].n,
                          d->shape.decimal, d->shape.group, &v, &used))
            continue;
        double half = vb_dec_half(v) * vb_dec_double(u->factor);
        best = best > 0 && best < half ? best : half;
    }
    return best;
}

/* A sheet that gives a reading in inch and in mm has rounded one of them. */
static void
agree(struct draft *d)
{
    for (size_t i = 0; i < d->n_cols; i++)
        for (size_t k = 0; k < i; k++) {
            const struct draft_col *a = &d->col[i], *b = &d->col[k];
            if (a->means != VB_MEANS_READING || b->means != VB_MEANS_READING || a->pair ||
                a->quantity != b->quantity || a->state != b->state ||
                a->at.cyl != b->at.cyl || a->at.side != b->at.side ||
                a->at.index != b->at.index || !a->quantity ||
                a->quantity->dim != VB_DIM_LENGTH)
                continue;
            double x = half_digit(d, i), y = half_digit(d, k), more = x > y ? x : y;
            d->agree = more > d->agree ? more : d->agree;
        }
}

/* A unit for all rows is stronger than a heading's: it must not contradict one. */
static void
check_constant(struct draft *d)
{
    struct draft_const *k = &d->constant[VB_MEANS_UNIT];
    const struct vb_unit *all = vb_unit_find(k->value, strlen(k->value));
    for (size_t i = 0; i < d->n_cols; i++) {
        const struct draft_col *c = &d->col[i];
        const struct vb_unit *u = c->words.unit ? c->words.unit : c->row_unit;
        if (c->means == VB_MEANS_READING && u && u != all && u->dim == VB_DIM_LENGTH)
            k->value[0] = 0;
    }
}

/* valve-tidy takes the unit of the row for an uncertainty that has none of its own. */
static void
u_unit(struct draft *d, struct draft_col *c)
{
    if (!stated(d, c, VB_DIM_LENGTH, VB_DIM_LENGTH))
        draft_ignore(c, "CHECK: an uncertainty, but nothing states its unit");
}

void
draft_units(struct draft *d)
{
    check_constant(d);
    for (size_t i = 0; i < d->n_cols; i++) {
        struct draft_col *c = &d->col[i];
        if (c->means == VB_MEANS_READING)
            reading_unit(d, c);
        else if (c->means == VB_MEANS_METER)
            meter_unit(d, c);
        else if (c->means == VB_MEANS_TEMP)
            temp_unit(d, c);
        else if (c->means == VB_MEANS_U)
            u_unit(d, c);
        if (c->means == VB_MEANS_READING)
            angle_unit(d, c);
    }
    agree(d);
}
