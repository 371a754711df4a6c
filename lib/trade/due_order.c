/* Which line comes first, and a list put into that order. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "due_impl.h"
#include "valvebook/alert.h"

int
due_order(const char *name_a, const struct vb_due *a, const char *name_b,
          const struct vb_due *b)
{
    double da = vb_alert_day(a->due_day), db = vb_alert_day(b->due_day);
    int worn_a = a->now && a->kind <= VB_DUE_SEAT;
    int worn_b = b->now && b->kind <= VB_DUE_SEAT;
    if (worn_a != worn_b)
        return worn_b - worn_a;
    if (isnan(da) != isnan(db))
        return isnan(da) - isnan(db);
    if (da != db && !isnan(da))
        return da < db ? -1 : 1;
    int c = strcmp(name_a, name_b);
    if (c)
        return c;
    if (a->kind != b->kind)
        return (int)a->kind - (int)b->kind;
    if (a->at.cyl != b->at.cyl)
        return a->at.cyl - b->at.cyl;
    if (a->at.side != b->at.side)
        return b->at.side - a->at.side;
    if (a->at.index != b->at.index)
        return a->at.index - b->at.index;
    return strcmp(a->cam, b->cam);
}

/* qsort has no argument for the list, so a line goes with the name of its engine. */
struct keyed {
    const char *name;
    const struct vb_due *due;
};

static int
urgency(const void *a, const void *b)
{
    const struct keyed *x = a, *y = b;
    return due_order(x->name, x->due, y->name, y->due);
}

/* Each line to where its key stands, round by round: a second list takes as much again. */
static void
follow(struct vb_due *due, struct keyed *k, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        struct vb_due first = due[i];
        size_t at = i, from = (size_t)(k[i].due - due);
        for (; from != i; at = from, from = (size_t)(k[at].due - due)) {
            due[at] = due[from];
            k[at].due = &due[at];
        }
        due[at] = first;
        k[at].due = &due[at];
    }
}

enum vb_err
vb_due_sort(struct vb_dues *o)
{
    struct keyed *k = malloc((o->n + 1) * sizeof *k);
    if (!k)
        return VB_EMEM;
    for (size_t i = 0; i < o->n; i++)
        k[i] = (struct keyed){o->unit[o->due[i].unit].name, &o->due[i]};
    qsort(k, o->n, sizeof *k, urgency);
    follow(o->due, k, o->n);
    free(k);
    return VB_OK;
}
