/*
 * Bare numbers, one a line, as a gauge's data output sends them. Their names come from
 * the order in which the valves were measured, so a number too many or too few makes
 * every name doubtful: then none is taken.
 */
#include <stdlib.h>
#include <string.h>

#include "tidy_impl.h"

struct heard {
    struct value v;
    unsigned long long line;
};

/*
 * A number alone in its line. Without this a decimal comma that is also the delimiter
 * would make two cells of 0,15 and a reading of the first.
 */
static int
alone(const struct vb_row *row)
{
    for (size_t i = 1; i < row->n; i++)
        if (vb_text_trim(row->cell[i]).n)
            return 0;
    return row->n > 0;
}

/* Read every line; n counts them all, `heard` keeps as many as the order names. */
static enum vb_err
listen(struct vb_tidy *t, struct heard *heard, size_t most, size_t *n, struct vb_msg *m)
{
    const struct place *p = &t->plan.place[0];
    const struct slot *s = &p->slot[SLOT_ROW];
    enum vb_err e;
    while ((e = tidy_next(t, &t->row, m)) != VB_EEND) {
        struct value v = {0};
        if (e && e != VB_ESYNTAX)
            return e;
        if (e)
            tidy_refuse(t, NO_COL, "%s", m->text);
        else if (!alone(&t->row))
            tidy_refuse(t, NO_COL, "%zu cells, a number was expected", t->row.n);
        else if (words_put(t))
            cell_slot(t, s, p->rc->quantity, 0, &v);
        if (*n < most)
            heard[*n] = (struct heard){v, t->row.line};
        ++*n;
        tidy_settle(t);
    }
    return VB_OK;
}

static void
emit_order(struct vb_tidy *t, const struct heard *heard)
{
    const struct vb_recipe *r = t->r;
    const struct value none = {0};
    char at[VB_VALVE_MAX];
    for (size_t i = 0; i < r->n_order; i++) {
        const struct value *found = &none, *left = &none;
        for (size_t k = 0; k < r->n_passes; k++) {
            const struct heard *h = &heard[k * r->n_order + i];
            *(r->passes[k] == 'f' ? &found : &left) = &h->v;
            t->row.line = h->line;
        }
        vb_valve_format(r->order[i], at);
        tidy_emit(t, t->plan.place[0].rc->quantity, at, found, left);
    }
    tidy_lift(t);
}

enum vb_err
tidy_order(struct vb_tidy *t, struct vb_msg *m)
{
    size_t most = t->r->n_order * t->r->n_passes, n = 0;
    struct heard *heard = calloc(most, sizeof *heard);
    if (!heard)
        return VB_EMEM;
    enum vb_err e = VB_OK;
    const struct vb_quantity *q = t->plan.place[0].rc->quantity;
    vb_msg_at(m, t->file, 0, NULL);
    if (t->plan.n_places != 1 || t->plan.n_cols != 1 ||
        t->plan.place[0].slot[SLOT_ROW].n != 1 || !q || q->at != VB_AT_VALVE) {
        vb_msg_set(m, "an order names one column of readings");
        e = VB_ESYNTAX;
    } else if (cell_context(t)) {
        e = listen(t, heard, most, &n, m);
    } else {
        vb_msg_set(m, "no number of it can be used");
        e = VB_ESYNTAX;
    }
    if (!e && n != most) {
        vb_msg_at(m, t->file, 0, NULL);
        vb_msg_set(m, "%zu numbers where the order names %zu: none can be told apart", n,
                   most);
        e = VB_ESYNTAX;
    }
    if (!e)
        emit_order(t, heard);
    free(heard);
    return e;
}
