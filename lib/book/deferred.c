/*
 * Rows of small tables that do not go with the book yet, and may when others are in: a figure
 * of a meter with the event that explains it, a fact with another that is corrected too; and
 * while a history is still to come in the same load, whatever contradicts the book, since it
 * may say what another book has corrected or withdrawn. They are looked at once more, and
 * refused if nothing has made room for them. Expected sizes: a few rows a load; beyond
 * WAIT_MOST none waits.
 */
#include "load_impl.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define WAIT_MOST 20000 // of some hundred bytes
#define ROUNDS    16    // in which each row that fits may make room for another

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

int
deferred_room(const struct loader *ld)
{
    return ld->n_deferred < WAIT_MOST;
}

static void
append(struct loader *ld, struct deferred *d)
{
    d->next = NULL;
    *(ld->deferred ? &ld->deferred_last->next : &ld->deferred) = d;
    ld->deferred_last = d;
    ld->n_deferred++;
}

enum vb_err
deferred_add(struct loader *ld, const struct feed *f, char cell[][MAX_CELL])
{
    struct deferred *d = calloc(1, sizeof *d);
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
    append(ld, d);
    return VB_OK;
}

/* Something may have made room for it. Else it waits on, or is refused. */
static enum vb_err
look_again(struct loader *ld, const struct deferred *d, char cell[][MAX_CELL],
           char stands[][MAX_CELL])
{
    for (size_t i = 0; i < d->f.def->n_cols; i++)
        memcpy(cell[i], d->cell[i], strlen(d->cell[i]) + 1);
    return small_put(ld, &d->f, cell, stands);
}

/* All that wait, once; those that still do are a new list. */
static enum vb_err
look_at_all(struct loader *ld, char cell[][MAX_CELL])
{
    enum vb_err e = VB_OK;
    struct deferred *list = ld->deferred;
    ld->deferred = NULL;
    ld->n_deferred = 0;
    while (list) {
        struct deferred *d = list;
        list = d->next;
        if (!e)
            e = look_again(ld, d, cell, cell + MAX_COLS);
        drop(d);
    }
    return e;
}

enum vb_err
deferred_settle(struct loader *ld)
{
    if (!ld->deferred)
        return VB_OK;
    char(*cell)[MAX_CELL] = calloc(2 * MAX_COLS, sizeof *cell);
    enum vb_err e = cell ? VB_OK : VB_EMEM;
    size_t n = SIZE_MAX;
    for (int i = 0; !e && i < ROUNDS && ld->deferred && ld->n_deferred < n; i++) {
        n = ld->n_deferred;
        e = look_at_all(ld, cell);
    }
    ld->waits = 0;
    if (!e)
        e = look_at_all(ld, cell);
    ld->waits = 1;
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
