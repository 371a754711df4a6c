/*
 * A heading of two rows: the cells above it were merged over several columns, as in
 * "Inlet" over "1 found" and "1 left". A spreadsheet saves what they say above the first.
 */
#include <stdio.h>
#include <string.h>

#include "draft.h"

#define READS (D_FOUND | D_LEFT | D_GO | D_QUANTITY | D_VALUE | D_SIDE)
/* What may stand above several columns of readings. */
#define ABOVE (D_SIDE | D_IN | D_CYL | D_VALVE | D_FOUND | D_LEFT | D_QUANTITY)

/* A side, a state, or a cylinder, and nothing else. */
static int
is_group(struct vb_text t)
{
    struct draft_head h;
    draft_words(t, &h);
    if (h.unknown || h.n_num > 1 || (h.flags & ~(unsigned)ABOVE))
        return 0;
    return (h.flags & D_SIDE) || h.state || ((h.flags & D_CYL) && h.n_num);
}

/* "1 found", or a number alone, that leaves open what stands above. */
static int
is_part(const struct draft_head *h, const struct draft_head *above)
{
    int number = !h->flags && h->n_num == 1;
    int reads = (h->flags & READS) && !(h->flags & ~(unsigned)(READS | D_IN | D_NO));
    if (h->unknown || !(number || reads))
        return 0;
    return !((h->flags & D_SIDE) && (above->flags & D_SIDE)) &&
           !(h->state && above->state);
}

/* Whether the cells were merged, and how far, is not in the file. */
static void
join(struct draft_col *c, struct vb_text above, int just_below)
{
    char text[256], q[40];
    struct draft_head h;
    draft_words(above, &h);
    if (!is_part(&c->words, &h))
        return;
    snprintf(text, sizeof text, "%.*s %.*s", (int)above.n, above.s, (int)c->head.n,
             c->head.s);
    draft_words((struct vb_text){text, strlen(text)}, &c->words);
    draft_say(c, just_below ? "below '%s'" : "CHECK: taken to stand below '%s' too",
              vb_quote(above.s, above.n, q, sizeof q));
}

void
draft_groups(struct draft *d)
{
    if (d->heading == NO_ROW || d->heading == 0)
        return;
    const struct draft_row *r = &d->sample.row[d->heading - 1];
    struct vb_text above = {NULL, 0};
    for (size_t i = 0; i < d->n_cols && i < r->n; i++) {
        struct vb_text t = vb_text_trim(r->cell[i]);
        if (t.n)
            above = t.n < 100 && is_group(t) ? t : (struct vb_text){NULL, 0};
        if (above.n && d->col[i].head.n && d->col[i].head.n < 100)
            join(&d->col[i], above, t.n > 0);
    }
}
