/*
 * Rows of small tables that say something else than the book, or do not go with it, while a
 * history is still to come in the same load: it may say what another book has corrected or
 * withdrawn. They are looked at once more when it is in, and refused if it did not.
 * Expected sizes: a few rows a load.
 */
#include "book_impl.h"

#include <stdlib.h>
#include <string.h>

struct deferred {
    struct deferred *next;
    struct feed f; // at that row: its csv is open as long as the load
    char *raw;
    char *cell[MAX_COLS];
};

static void
drop(struct deferred *d)
{
    for (size_t i = 0; i < MAX_COLS; i++)
        free(d->cell[i]);
    free(d->raw);
    free(d);
}

enum vb_err
deferred_add(struct loader *ld, const struct feed *f, char cell[][MAX_CELL])
{
    struct deferred *d = calloc(1, sizeof *d), **end = &ld->deferred;
    if (!d)
        return VB_EMEM;
    int whole =
        (d->raw = strndup(f->row.raw.n ? f->row.raw.s : "", f->row.raw.n)) != NULL;
    for (size_t i = 0; whole && i < f->def->n_cols; i++)
        whole = (d->cell[i] = strdup(cell[i])) != NULL;
    if (!whole) {
        drop(d);
        return VB_EMEM;
    }
    d->f = *f;
    d->f.row = (struct vb_row){.line = f->row.line, .raw = {d->raw, f->row.raw.n}};
    while (*end)
        end = &(*end)->next;
    *end = d;
    return VB_OK;
}

/* It may have been corrected, or withdrawn, which makes room for this one. */
static enum vb_err
look_again(struct loader *ld, const struct deferred *d, char cell[][MAX_CELL],
           char stands[][MAX_CELL])
{
    for (size_t i = 0; i < d->f.def->n_cols; i++)
        memcpy(cell[i], d->cell[i], strlen(d->cell[i]) + 1);
    return small_put(ld, &d->f, cell, stands);
}

enum vb_err
deferred_settle(struct loader *ld)
{
    if (!ld->deferred)
        return VB_OK;
    char(*cell)[MAX_CELL] = calloc(2 * MAX_COLS, sizeof *cell);
    enum vb_err e = cell ? VB_OK : VB_EMEM;
    while (!e && ld->deferred) {
        struct deferred *d = ld->deferred;
        e = look_again(ld, d, cell, cell + MAX_COLS);
        ld->deferred = d->next;
        drop(d);
    }
    free(cell);
    return e;
}

void
deferred_free(struct loader *ld)
{
    while (ld->deferred) {
        struct deferred *next = ld->deferred->next;
        drop(ld->deferred);
        ld->deferred = next;
    }
}
