#include <math.h>
#include <stdio.h>
#include <string.h>

#include "draft.h"
#include "tidy_impl.h"

int
cell_bad(struct vb_tidy *t, size_t col, const char *what, struct vb_text s)
{
    char q[80];
    tidy_refuse(t, col, "%s '%s'", what, vb_quote(s.s, s.n, q, sizeof q));
    return 0;
}

/* 0.25/0.30, 0.30-0.35, 0.45->0.50: what it means only the recipe can say. */
static int
is_two(const struct vb_tidy *t, struct vb_text s)
{
    struct vb_dec d;
    size_t used, n, at = vb_bar_find(s, &n);
    if (!n && s.n > 1) {
        const char *dash = memchr(s.s + 1, '-', s.n - 1);
        at = dash ? (size_t)(dash - s.s) : s.n;
        n = dash ? 1 : 0;
    }
    struct vb_text a = vb_text_trim((struct vb_text){s.s, at});
    struct vb_text b = vb_text_trim((struct vb_text){s.s + at + n, s.n - at - n});
    return n && !vb_dec_prefix(a.s, a.n, t->r->decimal, t->r->group, &d, &used) &&
           used == a.n && !vb_dec_prefix(b.s, b.n, t->r->decimal, t->r->group, &d, &used);
}

/* 0,15 where the recipe says that decimals stand behind a point, or the other way round. */
static int
bad_number(struct vb_tidy *t, size_t col, struct vb_text s)
{
    struct vb_dec d;
    size_t used;
    int comma = t->r->decimal == ',';
    char q[80];
    const struct vb_recipe_col *rc = col == NO_COL ? NULL : t->plan.rc[col];
    if (rc && rc->means == VB_MEANS_READING && !rc->pair && is_two(t, s))
        return cell_bad(
            t, col,
            "two numbers, of which the recipe's format has to say go/no-go or "
            "found/left:",
            s);
    if (!memchr(s.s, comma ? '.' : ',', s.n) ||
        vb_dec_prefix(s.s, s.n, comma ? '.' : ',', 0, &d, &used) || used < s.n)
        return cell_bad(t, col, "bad number", s);
    tidy_refuse(t, col, "bad number '%s': the decimal mark of the recipe is a %s",
                vb_quote(s.s, s.n, q, sizeof q), comma ? "comma" : "point");
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
        return bad_number(t, col, s);
    rest = vb_text_trim((struct vb_text){s.s + used, s.n - used});
    int ok = cell_unit(t, col, rest, dim, &unit);
    if (ok < 0)
        return 0;
    if (ok == 0) { // "0,1O" is a bad number, "4 furlongs" a bad unit
        char c = rest.s[0];
        int digits = memchr(rest.s, '0', rest.n) || (c >= '0' && c <= '9') ||
                     strchr(".,;:'", c) || rest.s == s.s + used;
        return digits ? bad_number(t, col, s) : cell_bad(t, col, "unknown unit", rest);
    }
    if (vb_unit_convert(unit, d, &v->dec))
        return cell_bad(t, col, "number out of range", s);
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
    struct vb_centre bare = t->plan.centre[col];
    bare.cam &= !t->cx.unit || unit != t->cx.unit;
    switch (vb_angle_parse_from(s.s, s.n, t->r->decimal, side, cam, &bare, &v->dec)) {
    case VB_OK: break;
    case VB_EUNKNOWN:
        return cell_bad(t, col, "bottom dead centre needs a valve's side:", s);
    case VB_ERANGE: return cell_bad(t, col, "angle outside -360..360:", s);
    case VB_EDOM:
        return cell_bad(t, col,
                        "from which dead centre? (BTDC, ATDC, BBDC, ABDC as the "
                        "recipe's unit say it)",
                        s);
    default: return cell_bad(t, col, "bad angle", s);
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

/* The row's unit is that of its lengths, and of what the row itself names. Of a column of another
 * quantity that has a unit of its own it says nothing where it cannot be that. */
static const struct vb_unit *
unit_of_row(const struct vb_tidy *t, size_t col, const struct vb_quantity *q)
{
    const struct vb_unit *unit = t->cx.unit;
    int own = t->plan.unit[col] || t->plan.centre[col].sign;
    int passed = unit && own && t->plan.rc[col]->quantity && q->dim != VB_DIM_LENGTH &&
                 q->dim != unit->dim;
    return unit && !passed ? unit : t->plan.unit[col];
}

static int
cell_part(struct vb_tidy *t, size_t col, int half, const struct vb_quantity *q, char side,
          struct value *v)
{
    char buf[PLAIN_MAX];
    struct vb_text s = vb_text_trim(t->row.cell[col]);
    const struct vb_unit *unit = unit_of_row(t, col, q);
    int between = t->plan.taught[col] == 2 && s.n && memchr(s.s, '/', s.n);
    if (half && !between && cell_torn(t, s, q, unit) == half)
        return cell_bad(t, col,
                        "the two numbers do not say the same unit or dead centre:", s);
    if (half && between && half == 2)
        s.n = 0; // what is good between two blades was not touched
    else if (half && !between)
        s = cell_half(t, s, half, &unit);
    if (!t->plain.ascii)
        s = plain_number(s, buf);
    v->present = 0;
    if (vb_missing(s.s, s.n))
        return 1;
    int blades = t->plan.rc[col]->pair == VB_PAIR_BOTH || between;
    int ok = blades                   ? cell_blades(t, col, s, unit, q, v)
             : q->dim == VB_DIM_ANGLE ? cell_angle(t, col, s, unit, side, v)
                                      : cell_number(t, col, s, unit, q->dim, v);
    if (ok && !in_reason(t, col, q, v))
        ok = 0;
    return ok;
}

int
cell_one(struct vb_tidy *t, size_t col, const struct vb_quantity *q, char side,
         struct value *v)
{
    return cell_part(t, col, 0, q, side, v);
}

/*
 * A value given twice must be the same value: the coarser one, converted, has to round to
 * the finer one. The finer one is kept.
 */
static int
cell_twice(struct vb_tidy *t, const struct slot *s, const struct vb_quantity *q,
           const struct value *a, struct value *b)
{
    char x[VB_NUM_MAX], y[VB_NUM_MAX];
    if (!a->present || !b->present) {
        if (a->present)
            *b = *a;
        return 1;
    }
    double half = a->half < b->half ? a->half : b->half;
    double gap = fabs(vb_dec_double(a->dec) - vb_dec_double(b->dec));
    double more = q->dim == VB_DIM_LENGTH ? t->r->agree : 0;
    if (gap > half * (1 + 1e-9) + more) {
        const char *unit = vb_unit_of(q->dim)->name;
        vb_dec_format(a->dec, x);
        vb_dec_format(b->dec, y);
        tidy_refuse(t, s->col[1], "column '%s' says %s %s, this one %s %s",
                    t->plan.name[s->col[0]], x, unit, y, unit);
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
        return cell_part(t, s->col[0], s->half[0], q, side, v);
    int ok = cell_part(t, s->col[0], s->half[0], q, side, &first);
    return cell_part(t, s->col[1], s->half[1], q, side, v) && ok &&
           cell_twice(t, s, q, &first, v);
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
    struct vb_text s = cell_field(t, means, &col);
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
    struct vb_text s = cell_field(t, VB_MEANS_DATE, &col);
    if (memo_hit(&t->date_memo, s, col))
        return 1;
    t->date_memo.set = 0;
    t->head.n = 0;
    const char *order = col == NO_COL ? "" : t->plan.rc[col]->format;
    struct vb_text d = plain_number(s, buf);
    if (vb_date_parse(d.s, d.n, order, t->cx.date)) {
        char what[96];
        snprintf(what, sizeof what, "bad date%s%.40s%s", *order ? " (" : "", order,
                 *order ? ")" : "");
        if (has_zone(s))
            return cell_bad(
                t, t->plan.field[VB_MEANS_DATE],
                "dates have no zone: write the time of the place, without it, for", s);
        if (!*order && col != NO_COL && draft_is_date(d))
            snprintf(what, sizeof what,
                     "how its parts stand the format of the recipe has to say, "
                     "as in D.M.Y:");
        return cell_bad(t, t->plan.field[VB_MEANS_DATE], s.n ? what : "no date", s);
    }
    memo_keep(&t->date_memo, s, col);
    return 1;
}

static int
meter_unit(struct vb_tidy *t, size_t col, struct vb_text s, size_t ucol,
           const struct vb_unit **unit)
{
    if (s.n && !(*unit = vb_unit_find(s.s, s.n)))
        return cell_bad(t, ucol, "unknown unit", s);
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
    struct vb_text s = cell_field(t, VB_MEANS_METER, &col);
    struct vb_text u = cell_field(t, VB_MEANS_METER_UNIT, &ucol);
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
        return cell_bad(t, col, "no credible temperature:", s);
    vb_dec_format(v.dec, t->cx.temp);
    return 1;
}

static int
take_temp(struct vb_tidy *t)
{
    size_t col;
    char buf[PLAIN_MAX];
    struct vb_text s = cell_field(t, VB_MEANS_TEMP, &col);
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
    struct vb_text s = plain_number(cell_field(t, VB_MEANS_U, &col), buf);
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
    return t->cx.u > 0 ? 1 : cell_bad(t, col, "an uncertainty is above zero, not", s);
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
take_state(struct vb_tidy *t)
{
    size_t col;
    struct vb_text s = cell_field(t, VB_MEANS_STATE, &col);
    t->cx.state = 'f';
    if (!s.n && col == NO_COL)
        return 1;
    t->cx.state = vb_state_find(t->r, s);
    return t->cx.state ? 1 : cell_bad(t, col, "neither found nor left:", s);
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
    struct vb_text s = cell_field(t, VB_MEANS_QUANTITY, &col);
    t->cx.quantity = NULL;
    t->cx.unit = NULL;
    if (s.n && !(t->cx.quantity = vb_quantity_find(s.s, s.n)))
        return bad_quantity(t, col, s);
    s = cell_field(t, VB_MEANS_UNIT, &col);
    if (s.n && !(t->cx.unit = vb_unit_find(s.s, s.n)))
        return cell_bad(t, col, "unknown unit", s);
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
           cell_take_valve(t) && take_state(t);
}
