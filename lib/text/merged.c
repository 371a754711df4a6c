/*
 * Cells that were merged in a spreadsheet: in the export the topmost of them has what they
 * say and the others are blank. They are filled before the row is read, so that whatever is
 * filled in is judged like any other cell. A value goes down from a row that was taken
 * whole, to the next row that has one of its own, and not beyond what parts the rows.
 */
#include <stdlib.h>
#include <string.h>

#include "tidy_impl.h"

/* What stands above in one column. */
struct above {
    char *s;
    size_t n, size;
    unsigned long long line; // it was read from
    enum { NOTHING, VALUE, LOST } is;
};

struct merged {
    struct above above[VB_MEANS_COUNT];
    struct above visit[2];   // engine and date of the last row that was taken
    unsigned long long next; // the line behind the last row
    unsigned long own;       // bit by meaning: the row itself says it
    int began;
};

/* These are of one engine on one day, and are not taken over to another. */
#define OF_A_VISIT                                                                       \
    (1UL << VB_MEANS_METER | 1UL << VB_MEANS_METER_UNIT | 1UL << VB_MEANS_TEMP |         \
     1UL << VB_MEANS_NOTE | VALVE_PARTS)
#define VALVE_PARTS                                                                      \
    (1UL << VB_MEANS_VALVE | 1UL << VB_MEANS_BANK | 1UL << VB_MEANS_CYLINDER |           \
     1UL << VB_MEANS_SIDE | 1UL << VB_MEANS_INDEX)

/* What no remark has: a reading, or words of which all are known. */
#define TOLD                                                                             \
    (1UL << VB_MEANS_READING | 1UL << VB_MEANS_QUANTITY | 1UL << VB_MEANS_STATE |        \
     VALVE_PARTS)

static const enum vb_means visit_means[2] = {VB_MEANS_ENGINE, VB_MEANS_DATE};

enum vb_err
merged_new(struct vb_tidy *t)
{
    if (t->r->merged && !(t->merged = calloc(1, sizeof *t->merged)))
        return VB_EMEM;
    return VB_OK;
}

void
merged_free(struct vb_tidy *t)
{
    struct merged *g = t->merged;
    for (int i = 0; g && i < VB_MEANS_COUNT; i++)
        free(g->above[i].s);
    for (int i = 0; g && i < 2; i++)
        free(g->visit[i].s);
    free(g);
    t->merged = NULL;
}

void
merged_gap(struct vb_tidy *t)
{
    for (int i = 0; t->merged && i < VB_MEANS_COUNT; i++)
        t->merged->above[i].is = NOTHING;
}

void
merged_forget(struct vb_tidy *t)
{
    merged_gap(t);
    if (t->merged)
        t->merged->began = 0;
}

/* The reader passes over empty lines; only the numbers of the lines tell. */
void
merged_begin(struct vb_tidy *t)
{
    struct merged *g = t->merged;
    if (g->began && t->row.line != g->next)
        merged_gap(t);
}

void
merged_end(struct vb_tidy *t)
{
    t->merged->began = 1;
    t->merged->next = t->row.line + t->row.lines;
}

static struct vb_text
cell_of(const struct vb_tidy *t, size_t col)
{
    return col < t->row.n ? vb_text_trim(t->row.cell[col]) : (struct vb_text){NULL, 0};
}

static enum vb_err
keep_text(struct above *a, struct vb_text s)
{
    if (s.n > a->size) {
        char *p = realloc(a->s, s.n);
        if (!p)
            return VB_EMEM;
        a->s = p;
        a->size = s.n;
    }
    if (s.n)
        memcpy(a->s, s.s, s.n);
    a->n = s.n;
    return VB_OK;
}

/* Is this row of the same engine and date as the last one that was taken? That one is of the
 * engine and date of all that stands above: if it had been of another than a value, it would
 * have had to say its own. */
static int
same_visit(const struct vb_tidy *t)
{
    for (int i = 0; i < 2; i++) {
        const struct above *a = &t->merged->visit[i];
        if (!vb_text_eq(cell_of(t, t->plan.field[visit_means[i]]),
                        (struct vb_text){a->s, a->n}))
            return 0;
    }
    return 1;
}

static int
fill_one(struct vb_tidy *t, int means, int same)
{
    struct merged *g = t->merged;
    const struct above *a = &g->above[means];
    size_t col = t->plan.field[means];
    if (cell_of(t, col).n) {
        g->own |= 1UL << means;
        return 1;
    }
    if (a->is == NOTHING)
        return 1;
    if (a->is == LOST) {
        tidy_refuse(t, col, "blank, and line %llu above it was not taken", a->line);
        return 0;
    }
    if ((OF_A_VISIT >> means & 1) && !same) {
        tidy_refuse(t, col, "blank, and what line %llu says is of another engine or date",
                    a->line);
        return 0;
    }
    t->plan.cell[col] = (struct vb_text){a->s, a->n};
    return 1;
}

static int
is_remark(const struct vb_tidy *t)
{
    for (size_t i = 0; i < t->plan.n_cols; i++) {
        const struct vb_recipe_col *rc = t->plan.rc[i];
        if (rc && (TOLD >> rc->means & 1) && cell_of(t, i).n)
            return 0;
    }
    return 1;
}

int
merged_fill(struct vb_tidy *t)
{
    struct merged *g = t->merged;
    int same = 0;
    if (is_remark(t)) {
        tidy_refuse(t, NO_COL, "no reading, and no valve of its own: it may be a remark");
        return 0;
    }
    // a row that was short stands there already
    memmove(t->plan.cell, t->row.cell, t->plan.n_cols * sizeof *t->plan.cell);
    t->row.cell = t->plan.cell;
    t->row.n = t->plan.n_cols;
    g->own = 0;
    for (int i = VB_MEANS_ENGINE; i < VB_MEANS_READING; i++) {
        if (i == VB_MEANS_DATE + 1)
            same = same_visit(t);
        if ((t->r->merged >> i & 1) && !fill_one(t, i, same))
            return 0;
    }
    return 1;
}

static enum vb_err
keep_visit(struct vb_tidy *t)
{
    struct merged *g = t->merged;
    enum vb_err e = VB_OK;
    if (same_visit(t))
        return VB_OK;
    for (int i = 0; !e && i < 2; i++)
        e = keep_text(&g->visit[i], cell_of(t, t->plan.field[visit_means[i]]));
    return e;
}

enum vb_err
merged_keep(struct vb_tidy *t)
{
    struct merged *g = t->merged;
    enum vb_err e = keep_visit(t);
    for (int i = VB_MEANS_ENGINE; !e && i < VB_MEANS_READING; i++) {
        struct above *a = &g->above[i];
        if (!(g->own >> i & 1))
            continue;
        e = keep_text(a, cell_of(t, t->plan.field[i]));
        a->line = t->row.line;
        a->is = VALUE;
    }
    return e;
}

/* A row in which something was filled in already has its own cells in `raw` alone. */
void
merged_lose(struct vb_tidy *t, int all)
{
    struct merged *g = t->merged;
    for (int i = VB_MEANS_ENGINE; g && i < VB_MEANS_READING; i++) {
        struct above *a = &g->above[i];
        struct vb_text s = cell_of(t, t->plan.field[i]);
        int filled = s.n && a->n && s.s == a->s;
        if (!(t->r->merged >> i & 1) || (!all && (!s.n || filled)))
            continue;
        a->line = t->row.line;
        a->is = LOST;
    }
}

/* Where a mark has put a whole row out of use, what it said is not that of the row above. */
void
merged_pass(struct vb_tidy *t, const struct vb_row *row)
{
    if (!t->merged || row != &t->row)
        return;
    merged_begin(t);
    merged_lose(t, row->n == 0);
    merged_end(t);
}
