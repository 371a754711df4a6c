/* Which valve a row and its columns speak of. */
#include <string.h>

#include "tidy_impl.h"

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
    struct vb_text s = cell_field(t, VB_MEANS_INDEX, &col);
    if (!s.n)
        return 1;
    if (s.n != 1 || *s.s < '1' || *s.s > '9')
        return cell_bad(t, col, "bad index", s);
    v.index = *s.s - '0';
    return merge(&t->cx.valve, v)
               ? 1
               : cell_bad(t, col, "the row names another valve too:", s);
}

static int
is_number(const struct vb_tidy *t, struct vb_text s)
{
    struct vb_dec d;
    size_t used;
    return s.n && !vb_dec_prefix(s.s, s.n, t->r->decimal, 0, &d, &used) && used == s.n;
}

/* 3E1 is a number to a spreadsheet, which may have made 3.00E+01 of it, or 30 or 100. */
static int
unknown_valve(struct vb_tidy *t, size_t col, struct vb_text s)
{
    return cell_bad(
        t, col,
        is_number(t, s)
            ? "no valve but a number, as spreadsheets make of 3E1 unless the column "
              "is imported as text:"
            : "unknown valve",
        s);
}

int
cell_take_valve(struct vb_tidy *t)
{
    static const enum vb_means parts[] = {VB_MEANS_VALVE, VB_MEANS_CYLINDER,
                                          VB_MEANS_SIDE};
    size_t col;
    struct vb_valve v;
    t->cx.valve = (struct vb_valve){0, 0, 0};
    t->cx.place = (struct vb_text){NULL, 0};
    for (int i = 0; i < 3; i++) {
        struct vb_text s = cell_field(t, parts[i], &col);
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
                          : cell_bad(t, col, i == 1 ? "bad cylinder" : "bad side", s);
        if (fits && !merge(&t->cx.valve, v))
            return cell_bad(t, col, "the row names another valve too:", s);
    }
    return take_index(t);
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
        if (!whole && is_number(t, t->cx.place) && t->cx.valve.cyl % 10 == 0 &&
            t->plan.field[VB_MEANS_VALVE] != NO_COL && !rc->at.cyl)
            return unknown_valve(t, t->plan.field[VB_MEANS_VALVE], t->cx.place);
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
    return cell_is_silent(t, p) ? 0 : cell_bad(t, NO_COL, "bad place", s);
}
