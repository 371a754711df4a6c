#include <math.h>
#include <stdio.h>
#include <string.h>

#include "tidy_impl.h"

/* The constant of a field; blank if there is none. */
static struct vb_text
constant(const struct vb_tidy *t, enum vb_means means)
{
    const char *c = t->r->constant[means];
    return (struct vb_text){c, c ? strlen(c) : 0};
}

/* The cell of a field, or its constant (*col = NO_COL); blank if there is neither. */
static inline struct vb_text
field(const struct vb_tidy *t, enum vb_means means, size_t *col)
{
    *col = t->plan.field[means];
    if (*col < t->row.n) {
        struct vb_text s = vb_text_trim(t->row.cell[*col]);
        if (s.n || !t->r->constant[means])
            return s;
        *col = NO_COL;
    }
    return constant(t, means);
}

static int
bad(struct vb_tidy *t, size_t col, const char *what, struct vb_text s)
{
    char q[80];
    tidy_refuse(t, col, "%s '%s'", what, vb_quote(s.s, s.n, q, sizeof q));
    return 0;
}

/* A unit behind the number is stronger than one that a heading states for all rows. */
static int
cell_unit(struct vb_tidy *t, size_t col, struct vb_text rest, enum vb_dim dim,
          const struct vb_unit **unit)
{
    const struct vb_unit *own = NULL;
    if (rest.n && !(own = vb_unit_find(rest.s, rest.n)))
        return 0;
    *unit = own ? own : *unit;
    if (!*unit) {
        tidy_refuse(t, col, "no unit stated");
        return -1;
    }
    if ((*unit)->dim != dim) {
        tidy_refuse(t, col, "unit '%s' does not fit here", (*unit)->name);
        return -1;
    }
    return 1;
}

int
cell_number(struct vb_tidy *t, size_t col, struct vb_text s, const struct vb_unit *unit,
            enum vb_dim dim, struct value *v)
{
    struct vb_dec d;
    size_t used;
    struct vb_text rest = {NULL, 0};
    if (vb_dec_prefix(s.s, s.n, t->r->decimal, t->r->group, &d, &used))
        return bad(t, col, "bad number", s);
    rest = vb_text_trim((struct vb_text){s.s + used, s.n - used});
    int ok = cell_unit(t, col, rest, dim, &unit);
    if (ok < 0)
        return 0;
    if (ok == 0) { // "0,1O" is a bad number, "4 furlongs" a bad unit
        char c = rest.s[0];
        int digits = memchr(rest.s, '0', rest.n) || (c >= '0' && c <= '9') ||
                     strchr(".,;:'", c) || rest.s == s.s + used;
        return bad(t, col, digits ? "bad number" : "unknown unit", digits ? s : rest);
    }
    if (vb_unit_convert(unit, d, &v->dec))
        return bad(t, col, "number out of range", s);
    v->present = 1;
    v->half = vb_dec_half(d) * vb_dec_double(unit->factor);
    v->u = 0;
    return 1;
}

static int
cell_angle(struct vb_tidy *t, size_t col, struct vb_text s, const struct vb_unit *unit,
           char side, struct value *v)
{
    if (unit && unit->dim != VB_DIM_ANGLE) {
        tidy_refuse(t, col, "unit '%s' does not fit here", unit->name);
        return 0;
    }
    int cam = unit && unit->factor.mant == 2;
    switch (vb_angle_parse_from(s.s, s.n, t->r->decimal, side, cam, &t->plan.centre[col],
                                &v->dec)) {
    case VB_OK: break;
    case VB_EUNKNOWN: return bad(t, col, "bottom dead centre needs a valve's side:", s);
    case VB_ERANGE: return bad(t, col, "angle outside -360..360:", s);
    case VB_EDOM:
        return bad(t, col,
                   "from which dead centre? (BTDC, ATDC, BBDC, ABDC as the "
                   "recipe's unit say it)",
                   s);
    default: return bad(t, col, "bad angle", s);
    }
    v->present = 1;
    v->half = vb_dec_half(v->dec);
    v->u = 0;
    return 1;
}

static int
in_reason(struct vb_tidy *t, size_t col, const struct vb_quantity *q,
          const struct value *v)
{
    char num[VB_NUM_MAX];
    double x = vb_dec_double(v->dec);
    if (x < 0 && !q->is_signed)
        tidy_refuse(t, col, "%s cannot be negative", q->name);
    else if (fabs(x) <= q->most)
        return 1;
    else {
        vb_dec_format(v->dec, num);
        tidy_refuse(t, col, "%s %s is no credible %s", num, vb_unit_of(q->dim)->name,
                    q->name);
    }
    return 0;
}

int
cell_one(struct vb_tidy *t, size_t col, const struct vb_quantity *q, char side,
         struct value *v)
{
    char buf[PLAIN_MAX];
    struct vb_text s = plain_number(vb_text_trim(t->row.cell[col]), buf);
    v->present = 0;
    if (vb_missing(s.s, s.n))
        return 1;
    const struct vb_unit *unit = t->cx.unit ? t->cx.unit : t->plan.unit[col];
    int ok = t->plan.rc[col]->pair == VB_PAIR_BOTH ? cell_blades(t, col, s, unit, q, v)
             : q->dim == VB_DIM_ANGLE              ? cell_angle(t, col, s, unit, side, v)
                                      : cell_number(t, col, s, unit, q->dim, v);
    if (ok && !in_reason(t, col, q, v))
        ok = 0;
    return ok;
}

/*
 * A value given twice must be the same value: the coarser one, converted, has to round to
 * the finer one. The finer one is kept.
 */
static int
cell_twice(struct vb_tidy *t, const struct slot *s, const struct value *a,
           struct value *b)
{
    char x[VB_NUM_MAX], y[VB_NUM_MAX];
    if (!a->present || !b->present) {
        if (a->present)
            *b = *a;
        return 1;
    }
    double half = a->half < b->half ? a->half : b->half;
    double gap = fabs(vb_dec_double(a->dec) - vb_dec_double(b->dec));
    if (gap > half * (1 + 1e-9) + t->r->agree) {
        vb_dec_format(a->dec, x);
        vb_dec_format(b->dec, y);
        tidy_refuse(t, s->col[1], "column '%s' says %s mm, this one %s mm",
                    t->plan.name[s->col[0]], x, y);
        return 0;
    }
    if (a->half <= b->half)
        *b = *a;
    return 1;
}

int
cell_slot(struct vb_tidy *t, const struct slot *s, const struct vb_quantity *q, char side,
          struct value *v)
{
    struct value first = {0};
    v->present = 0;
    if (s->go != NO_COL || s->nogo != NO_COL)
        return cell_pair(t, s, q, side, v);
    if (s->n == 0)
        return 1;
    if (s->n == 1)
        return cell_one(t, s->col[0], q, side, v);
    int ok = cell_one(t, s->col[0], q, side, &first);
    return cell_one(t, s->col[1], q, side, v) && ok && cell_twice(t, s, &first, v);
}

static int
memo_hit(const struct memo *k, struct vb_text s, size_t col)
{
    return k->set && k->n == s.n && k->col == col &&
           (!s.n || memcmp(k->key, s.s, s.n) == 0);
}

static void
memo_keep(struct memo *k, struct vb_text s, size_t col)
{
    k->col = col;
    k->set = s.n <= sizeof k->key;
    k->n = s.n;
    if (k->set && s.n)
        memcpy(k->key, s.s, s.n);
}

/* A cell of a piece that is passed on as it is. */
static struct vb_text
piece_field(struct vb_tidy *t, enum vb_means means, struct memo *k, struct piece *p)
{
    size_t col;
    struct vb_text s = field(t, means, &col);
    if (!memo_hit(k, s, col)) {
        p->n = 0;
        memo_keep(k, s, col);
    }
    return s;
}

/* A time of day with a zone behind it, as in 07:30Z or 07:30:00+02:00. */
static int
has_zone(struct vb_text s)
{
    const char *colon = s.n ? memchr(s.s, ':', s.n) : NULL;
    size_t at = colon ? (size_t)(colon - s.s) : s.n;
    if (!colon)
        return 0;
    for (size_t i = at; i < s.n; i++)
        if (s.s[i] == '+' || s.s[i] == '-')
            return 1;
    return s.s[s.n - 1] == 'Z' || s.s[s.n - 1] == 'z';
}

static int
take_date(struct vb_tidy *t)
{
    size_t col;
    char buf[PLAIN_MAX];
    struct vb_text s = field(t, VB_MEANS_DATE, &col);
    if (memo_hit(&t->date_memo, s, col))
        return 1;
    t->date_memo.set = 0;
    t->head.n = 0;
    const char *order = col == NO_COL ? "" : t->plan.rc[col]->format;
    struct vb_text d = plain_number(s, buf);
    if (vb_date_parse(d.s, d.n, order, t->cx.date)) {
        char what[64];
        snprintf(what, sizeof what, "bad date%s%.40s%s", *order ? " (" : "", order,
                 *order ? ")" : "");
        if (has_zone(s))
            return bad(t, t->plan.field[VB_MEANS_DATE],
                       "dates have no zone: write the time of the place, without it, for",
                       s);
        return bad(t, t->plan.field[VB_MEANS_DATE], s.n ? what : "no date", s);
    }
    memo_keep(&t->date_memo, s, col);
    return 1;
}

static int
meter_unit(struct vb_tidy *t, size_t col, struct vb_text s, size_t ucol,
           const struct vb_unit **unit)
{
    if (s.n && !(*unit = vb_unit_find(s.s, s.n)))
        return bad(t, ucol, "unknown unit", s);
    if (*unit && (*unit)->dim != VB_DIM_TIME && (*unit)->dim != VB_DIM_DISTANCE) {
        tidy_refuse(t, col, "a meter runs in h or km, not in '%s'", (*unit)->name);
        return 0;
    }
    return 1;
}

/* A meter that is not blank. */
static int
read_meter(struct vb_tidy *t, struct vb_text s, size_t col, const struct vb_unit *unit)
{
    struct value v;
    struct vb_dec d; // a unit in the cell itself decides what the meter counts
    size_t used;
    if (!vb_dec_prefix(s.s, s.n, t->r->decimal, t->r->group, &d, &used)) {
        struct vb_text rest = vb_text_trim((struct vb_text){s.s + used, s.n - used});
        const struct vb_unit *own = rest.n ? vb_unit_find(rest.s, rest.n) : NULL;
        unit = own ? own : unit;
    }
    enum vb_dim dim =
        unit && unit->dim == VB_DIM_DISTANCE ? VB_DIM_DISTANCE : VB_DIM_TIME;
    if (!cell_number(t, col, s, unit, dim, &v))
        return 0;
    if (v.dec.mant < 0) {
        tidy_refuse(t, col, "a meter cannot be negative");
        return 0;
    }
    vb_dec_format(v.dec, t->cx.meter);
    t->cx.meter_unit = vb_unit_of(dim)->name;
    return 1;
}

static int
take_meter(struct vb_tidy *t)
{
    size_t col, ucol;
    char buf[PLAIN_MAX];
    struct vb_text s = field(t, VB_MEANS_METER, &col);
    struct vb_text u = field(t, VB_MEANS_METER_UNIT, &ucol);
    if (memo_hit(&t->meter_memo, s, col) && memo_hit(&t->meter_unit_memo, u, ucol))
        return 1;
    t->meter_memo.set = 0;
    t->head.n = 0;
    t->cx.meter[0] = 0;
    t->cx.meter_unit = "";
    struct vb_text number = plain_number(s, buf);
    if (!vb_missing(number.s, number.n)) {
        const struct vb_unit *unit = col == NO_COL ? NULL : t->plan.unit[col];
        if (!meter_unit(t, col, u, ucol, &unit) || !read_meter(t, number, col, unit))
            return 0;
    }
    memo_keep(&t->meter_memo, s, col);
    memo_keep(&t->meter_unit_memo, u, ucol);
    return 1;
}

/* A temperature that is not blank. */
static int
read_temp(struct vb_tidy *t, struct vb_text s, size_t col)
{
    struct value v;
    if (!cell_number(t, col, s, col == NO_COL ? NULL : t->plan.unit[col], VB_DIM_TEMP,
                     &v))
        return 0;
    if (vb_dec_double(v.dec) < -60 || vb_dec_double(v.dec) > 400)
        return bad(t, col, "no credible temperature:", s);
    vb_dec_format(v.dec, t->cx.temp);
    return 1;
}

static int
take_temp(struct vb_tidy *t)
{
    size_t col;
    char buf[PLAIN_MAX];
    struct vb_text s = field(t, VB_MEANS_TEMP, &col);
    if (memo_hit(&t->temp_memo, s, col))
        return 1;
    t->temp_memo.set = 0;
    t->cx.temp[0] = 0;
    struct vb_text number = plain_number(s, buf);
    if (!vb_missing(number.s, number.n) && !read_temp(t, number, col))
        return 0;
    memo_keep(&t->temp_memo, s, col);
    return 1;
}

static int
take_u(struct vb_tidy *t)
{
    size_t col;
    struct value v;
    char buf[PLAIN_MAX];
    struct vb_text s = plain_number(field(t, VB_MEANS_U, &col), buf);
    t->cx.u = 0;
    if (vb_missing(s.s, s.n))
        return 1;
    const struct vb_unit *unit = col == NO_COL ? NULL : t->plan.unit[col];
    unit = unit ? unit : t->cx.unit;
    struct vb_dec d; // a unit in the cell itself decides what it is the uncertainty of
    size_t used;
    const struct vb_unit *own = unit;
    if (!vb_dec_prefix(s.s, s.n, t->r->decimal, t->r->group, &d, &used) &&
        vb_text_trim((struct vb_text){s.s + used, s.n - used}).n)
        own = vb_unit_find(s.s + used, s.n - used);
    t->cx.u_dim = own && own->dim == VB_DIM_ANGLE ? VB_DIM_ANGLE : VB_DIM_LENGTH;
    if (!cell_number(t, col, s, unit, t->cx.u_dim, &v))
        return 0;
    t->cx.u = vb_dec_double(v.dec);
    return t->cx.u > 0 ? 1 : bad(t, col, "an uncertainty is above zero, not", s);
}

/* The checking lift that the recipe states for all readings of events. */
static int
take_lift(struct vb_tidy *t)
{
    const struct vb_quantity *q = vb_quantity_find("checking_lift", 13);
    struct vb_text s = {t->r->checking_lift, strlen(t->r->checking_lift)};
    return cell_number(t, NO_COL, s, NULL, q->dim, &t->cx.lift) &&
           in_reason(t, NO_COL, q, &t->cx.lift);
}

static int
merge(struct vb_valve *to, struct vb_valve from)
{
    int clash = (to->cyl && from.cyl && to->cyl != from.cyl) ||
                (to->side && from.side && to->side != from.side) ||
                (to->index && from.index && to->index != from.index);
    to->cyl = from.cyl ? from.cyl : to->cyl;
    to->side = from.side ? from.side : to->side;
    to->index = from.index ? from.index : to->index;
    return !clash;
}

/* Which of the valves of a side: one digit. */
static int
take_index(struct vb_tidy *t)
{
    size_t col;
    struct vb_valve v = {0, 0, 0};
    struct vb_text s = field(t, VB_MEANS_INDEX, &col);
    if (!s.n)
        return 1;
    if (s.n != 1 || *s.s < '1' || *s.s > '9')
        return bad(t, col, "bad index", s);
    v.index = *s.s - '0';
    return merge(&t->cx.valve, v) ? 1
                                  : bad(t, col, "the row names another valve too:", s);
}

/* 3E1 is a number to a spreadsheet, which may have made 3.00E+01 of it, or 30 or 100. */
static int
unknown_valve(struct vb_tidy *t, size_t col, struct vb_text s)
{
    struct vb_dec d;
    size_t used;
    int number = !vb_dec_prefix(s.s, s.n, t->r->decimal, 0, &d, &used) && used == s.n;
    return bad(
        t, col,
        number ? "no valve but a number, as spreadsheets make of 3E1 unless the column "
                 "is imported as text:"
               : "unknown valve",
        s);
}

static int
take_valve(struct vb_tidy *t)
{
    static const enum vb_means parts[] = {VB_MEANS_VALVE, VB_MEANS_CYLINDER,
                                          VB_MEANS_SIDE};
    size_t col;
    struct vb_valve v;
    t->cx.valve = (struct vb_valve){0, 0, 0};
    t->cx.place = (struct vb_text){NULL, 0};
    for (int i = 0; i < 3; i++) {
        struct vb_text s = field(t, parts[i], &col);
        if (!s.n)
            continue;
        t->cx.place = s;
        int whole = i == 0 && t->plan.field[VB_MEANS_CYLINDER] == NO_COL;
        int fits = whole && !vb_valve_parse(s.s, s.n, &v);
        if (!fits)
            fits = !vb_valve_part(s.s, s.n, &v) && (i != 1 || (v.cyl && !v.side)) &&
                   (i != 2 || (v.side && !v.cyl));
        if (!fits && (i > 0 || !t->cx.quantity || t->cx.quantity->at == VB_AT_VALVE ||
                      t->cx.quantity->at == VB_AT_PART))
            return i == 0 ? unknown_valve(t, col, s)
                          : bad(t, col, i == 1 ? "bad cylinder" : "bad side", s);
        if (fits && !merge(&t->cx.valve, v))
            return bad(t, col, "the row names another valve too:", s);
    }
    return take_index(t);
}

static int
take_state(struct vb_tidy *t)
{
    size_t col;
    struct vb_text s = field(t, VB_MEANS_STATE, &col);
    t->cx.state = 'f';
    if (!s.n && col == NO_COL)
        return 1;
    t->cx.state = vb_state_find(t->r, s);
    return t->cx.state ? 1 : bad(t, col, "neither found nor left:", s);
}

static int
bad_quantity(struct vb_tidy *t, size_t col, struct vb_text s)
{
    char q[40], words[VB_WORDS_MAX];
    tidy_refuse(t, col, "unknown quantity '%s'; known are %s",
                vb_quote(s.s, s.n, q, sizeof q), vb_quantity_words(words, sizeof words));
    return 0;
}

static int
take_kind(struct vb_tidy *t)
{
    size_t col;
    struct vb_text s = field(t, VB_MEANS_QUANTITY, &col);
    t->cx.quantity = NULL;
    t->cx.unit = NULL;
    if (s.n && !(t->cx.quantity = vb_quantity_find(s.s, s.n)))
        return bad_quantity(t, col, s);
    s = field(t, VB_MEANS_UNIT, &col);
    if (s.n && !(t->cx.unit = vb_unit_find(s.s, s.n)))
        return bad(t, col, "unknown unit", s);
    return 1;
}

int
cell_context(struct vb_tidy *t)
{
    t->cx.engine = piece_field(t, VB_MEANS_ENGINE, &t->engine_memo, &t->head);
    if (!t->cx.engine.n) {
        tidy_refuse(t, t->plan.field[VB_MEANS_ENGINE], "no engine");
        return 0;
    }
    t->cx.timed = 0;
    if (t->r->checking_lift && !take_lift(t))
        return 0;
    t->cx.gauge = piece_field(t, VB_MEANS_GAUGE, &t->gauge_memo, &t->tail);
    t->cx.by = piece_field(t, VB_MEANS_BY, &t->by_memo, &t->tail);
    t->cx.note = piece_field(t, VB_MEANS_NOTE, &t->note_memo, &t->tail);
    return take_date(t) && take_kind(t) && take_meter(t) && take_temp(t) && take_u(t) &&
           take_valve(t) && take_state(t);
}

static int
is_missing(struct vb_text s)
{
    char buf[PLAIN_MAX];
    s = plain_number(s, buf);
    return vb_missing(s.s, s.n);
}

/* No cell of a place holds a value: then nothing is lost if it cannot be named. */
int
cell_is_silent(const struct vb_tidy *t, const struct place *p)
{
    for (int i = 0; i < N_SLOTS; i++) {
        const struct slot *s = &p->slot[i];
        size_t col[4] = {s->n > 0 ? s->col[0] : NO_COL, s->n > 1 ? s->col[1] : NO_COL,
                         s->go, s->nogo};
        for (int k = 0; k < 4; k++)
            if (col[k] != NO_COL && !is_missing(t->row.cell[col[k]]))
                return 0;
    }
    return 1;
}

int
cell_valve(struct vb_tidy *t, const struct place *p, const struct vb_quantity *q,
           char *at, char *side)
{
    const struct vb_recipe_col *rc = p->rc;
    struct vb_valve v = rc->at;
    *side = 0;
    if (q->at == VB_AT_VALVE || q->at == VB_AT_PART) {
        int fits = merge(&v, t->cx.valve);
        int whole = q->at == VB_AT_PART ? v.side || !v.index : v.cyl && v.side;
        if ((!fits || !whole) && cell_is_silent(t, p))
            return 0;
        if (!fits) {
            tidy_refuse(t, NO_COL, "the row names another valve than the recipe");
            return 0;
        }
        if (!whole) {
            tidy_refuse(t, t->plan.field[VB_MEANS_VALVE], "no %s named",
                        v.cyl ? "side" : "valve");
            return 0;
        }
        *side = v.side;
        vb_valve_format(v, at);
        return 1;
    }
    struct vb_text s = {rc->place, strlen(rc->place)};
    if (!s.n)
        s = t->cx.place;
    if (!vb_quantity_at(q, s.s, s.n, at))
        return 1;
    return cell_is_silent(t, p) ? 0 : bad(t, NO_COL, "bad place", s);
}
