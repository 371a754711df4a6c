/*
 * Laying a recipe on an export: find the heading, give every column its meaning and
 * gather the columns that speak of the same quantity at the same valve.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tidy_impl.h"

#define HEADING_WITHIN 64

void
plan_clear(struct plan *p)
{
    for (size_t i = 0; i < p->n_cols; i++) {
        free(p->name[i]);
        free(p->norm[i]);
    }
    free(p->rc);
    free(p->unit);
    free(p->centre);
    free(p->name);
    free(p->norm);
    free(p->place);
    free(p->cell);
    free(p->said);
    free(p->taught);
    memset(p, 0, sizeof *p);
}

static char *
dup_text(struct vb_text t)
{
    char *s = malloc(t.n + 1);
    if (s) {
        if (t.n)
            memcpy(s, t.s, t.n);
        s[t.n] = 0;
    }
    return s;
}

static enum vb_err
plan_alloc(struct plan *p, const struct vb_row *row)
{
    char norm[256];
    size_t n = row->n;
    p->rc = calloc(n, sizeof *p->rc);
    p->unit = calloc(n, sizeof *p->unit);
    p->centre = calloc(n, sizeof *p->centre);
    p->name = calloc(n, sizeof *p->name);
    p->norm = calloc(n, sizeof *p->norm);
    p->cell = calloc(n, sizeof *p->cell);
    p->said = calloc(n, sizeof *p->said);
    p->taught = calloc(n, sizeof *p->taught);
    if (!p->rc || !p->unit || !p->centre || !p->name || !p->norm || !p->cell ||
        !p->said || !p->taught)
        return VB_EMEM;
    p->n_cols = n;
    for (size_t i = 0; i < n; i++) {
        vb_heading_norm(row->cell[i], norm, sizeof norm);
        p->name[i] = dup_text(vb_text_trim(row->cell[i]));
        p->norm[i] = strdup(norm);
        if (!p->name[i] || !p->norm[i])
            return VB_EMEM;
    }
    for (size_t i = 0; i < VB_MEANS_COUNT; i++)
        p->field[i] = NO_COL;
    return VB_OK;
}

static int
has_heading(const struct vb_row *row, const struct vb_recipe_col *c)
{
    char norm[256];
    if (c->number)
        return c->number <= row->n;
    for (size_t i = 0; i < row->n; i++) {
        vb_heading_norm(row->cell[i], norm, sizeof norm);
        if (strcmp(norm, c->name) == 0)
            return 1;
    }
    return 0;
}

/* How many of the recipe's columns this row lacks, and the first of them. */
static size_t
lacks(const struct vb_recipe *r, const struct vb_row *row,
      const struct vb_recipe_col **first)
{
    size_t n = 0;
    for (size_t i = 0; i < r->n_cols; i++)
        if (!has_heading(row, &r->col[i]) && n++ == 0)
            *first = &r->col[i];
    return n;
}

int
plan_is_heading(const struct plan *p, const struct vb_row *row)
{
    char norm[256];
    size_t words = 0;
    if (row->n != p->n_cols || vb_text_trim(row->cell[0]).n != strlen(p->name[0]))
        return 0; // nearly every row ends here
    for (size_t i = 0; i < row->n; i++) {
        vb_heading_norm(row->cell[i], norm, sizeof norm);
        if (strcmp(norm, p->norm[i]) != 0)
            return 0;
        words += norm[0] != 0;
    }
    return words > 0;
}

static enum vb_err
fail(struct vb_tidy *t, unsigned long long line, struct vb_msg *m, const char *what,
     const char *name)
{
    char q[80];
    vb_msg_at(m, t->file, line, NULL);
    if (name)
        vb_msg_set(m, "%s '%s'", what, vb_quote(name, strlen(name), q, sizeof q));
    else
        vb_msg_set(m, "%s", what);
    return VB_ESYNTAX;
}

/* What the recipe calls a column. */
static const char *
col_name(const struct vb_recipe_col *c, char *buf, size_t size)
{
    if (!c->number)
        return c->name;
    snprintf(buf, size, "#%zu", c->number);
    return buf;
}

static enum vb_err
match_column(struct vb_tidy *t, size_t i, unsigned long long line, struct vb_msg *m)
{
    struct plan *p = &t->plan;
    const struct vb_recipe *r = t->r;
    for (size_t k = 0; k < r->n_cols; k++) {
        const struct vb_recipe_col *c = &r->col[k];
        int same = c->number ? c->number == i + 1 : strcmp(c->name, p->norm[i]) == 0;
        if (!same)
            continue;
        if (p->rc[i] && (p->rc[i]->number != 0) == (c->number != 0))
            return fail(t, line, m, "the recipe names twice column", p->name[i]);
        if (!p->rc[i] || c->number)
            p->rc[i] = c;
    }
    if (p->rc[i] && !p->rc[i]->number)
        for (size_t k = 0; k < i; k++)
            if (p->rc[k] == p->rc[i])
                return fail(
                    t, line, m,
                    "the recipe has to number columns (#1, #2 ...) that share heading",
                    p->name[i]);
    if (!p->rc[i] && p->norm[i][0])
        return fail(t, line, m,
                    "the recipe gives no meaning (it may be ignore) to column",
                    p->name[i]);
    return VB_OK;
}

static int
same_place(const struct vb_recipe_col *a, const struct vb_recipe_col *b)
{
    return a->quantity == b->quantity && a->at.cyl == b->at.cyl &&
           a->at.side == b->at.side && a->at.index == b->at.index &&
           strcmp(a->place, b->place) == 0;
}

static struct place *
place_for(struct plan *p, const struct vb_recipe_col *rc)
{
    for (size_t i = 0; i < p->n_places; i++)
        if (same_place(p->place[i].rc, rc))
            return &p->place[i];
    struct place *q = realloc(p->place, (p->n_places + 1) * sizeof *q);
    if (!q)
        return NULL;
    p->place = q;
    q += p->n_places++;
    memset(q, 0, sizeof *q);
    q->rc = rc;
    for (int i = 0; i < N_SLOTS; i++)
        q->slot[i].go = q->slot[i].nogo = NO_COL;
    return q;
}

static enum vb_err
add_to(struct vb_tidy *t, struct slot *s, size_t i, int part, unsigned long long line,
       struct vb_msg *m)
{
    enum vb_pair pair = t->plan.rc[i]->pair;
    size_t *half = pair == VB_PAIR_GO ? &s->go : &s->nogo;
    int whole = pair != VB_PAIR_GO && pair != VB_PAIR_NOGO;
    if (!whole && *half == NO_COL) {
        *half = i;
    } else if (whole && s->n < 2) {
        s->half[s->n] = part;
        s->col[s->n++] = i;
    } else {
        return fail(t, line, m,
                    "one column too many for the same reading:", t->plan.name[i]);
    }
    if (s->n && (s->go != NO_COL || s->nogo != NO_COL))
        return fail(t, line, m,
                    "a go/no-go pair and a value for the same reading:", t->plan.name[i]);
    return VB_OK;
}

static enum vb_err
add_reading(struct vb_tidy *t, size_t i, unsigned long long line, struct vb_msg *m)
{
    const struct vb_recipe_col *rc = t->plan.rc[i];
    struct place *q = place_for(&t->plan, rc);
    if (!q)
        return VB_EMEM;
    if (rc->pair == VB_PAIR_STATES) {
        enum vb_err e = add_to(t, &q->slot[SLOT_FOUND], i, 1, line, m);
        return e ? e : add_to(t, &q->slot[SLOT_LEFT], i, 2, line, m);
    }
    enum { F = SLOT_FOUND, L = SLOT_LEFT, R = SLOT_ROW };
    struct slot *s = &q->slot[rc->state == 'f' ? F : rc->state == 'l' ? L : R];
    return add_to(t, s, i, 0, line, m);
}

/* What the recipe says is stronger than a heading or its units row. "Stop before TDC"
 * names the reading, whose numbers are below 0 there. */
static struct vb_centre
column_centre(const struct vb_recipe_col *rc, struct vb_text heading)
{
    int event = !rc->quantity || rc->quantity->at == VB_AT_VALVE;
    if (rc->centre.sign || rc->means != VB_MEANS_READING || !event)
        return rc->centre;
    return vb_heading_centre(heading);
}

/* A recipe's "deg ABDC" is a unit as well. */
static const struct vb_unit *
column_unit(const struct vb_recipe_col *rc, struct vb_text heading)
{
    if (rc->centre.crank)
        return vb_unit_of(VB_DIM_ANGLE);
    if (rc->unit)
        return rc->unit;
    const struct vb_unit *u = vb_heading_unit(heading);
    int angle = rc->quantity && rc->quantity->dim == VB_DIM_ANGLE; // "IVO @ 1 mm"
    return angle && u && u->dim == VB_DIM_LENGTH && vb_heading_lift(heading).n ? NULL : u;
}

/* A recipe that says deg where the heading says degrees of the cam is believed only if it says the
 * dead centre as well: what halves or doubles an angle must be meant. */
static int
is_torn(const struct vb_recipe_col *rc, struct vb_text heading)
{
    return rc->means == VB_MEANS_READING && rc->unit && !rc->centre.sign &&
           rc->unit->dim == VB_DIM_ANGLE && rc->unit->factor.mant != 2 &&
           vb_heading_centre(heading).cam;
}

static enum vb_err
bind_columns(struct vb_tidy *t, const struct vb_row *row, struct vb_msg *m)
{
    struct plan *p = &t->plan;
    enum vb_err e = VB_OK;
    for (size_t i = 0; !e && i < p->n_cols; i++) {
        if ((e = match_column(t, i, row->line, m)) || !p->rc[i])
            continue;
        enum vb_means means = p->rc[i]->means;
        p->unit[i] = column_unit(p->rc[i], row->cell[i]);
        p->centre[i] = column_centre(p->rc[i], row->cell[i]);
        if (is_torn(p->rc[i], row->cell[i]))
            e = fail(t, row->line, m, "the recipe says deg (deg_cam? deg BTDC?), not so",
                     p->name[i]);
        else if (means == VB_MEANS_READING)
            e = add_reading(t, i, row->line, m);
        else if (means != VB_MEANS_IGNORE && p->field[means] != NO_COL)
            e = fail(t, row->line, m, "a second column for the same field:", p->name[i]);
        else
            p->field[means] = i;
    }
    const char *lost = e ? NULL : words_bind(t);
    if (lost)
        e = fail(t, row->line, m, "the recipe names no column of the word", lost);
    if (!e && p->n_places == 0)
        e = fail(t, 0, m, "the recipe names no column with readings", NULL);
    return e;
}

/* What every reading needs must come from somewhere. */
static enum vb_err
check_fields(struct vb_tidy *t, struct vb_msg *m)
{
    static const enum vb_means needed[] = {VB_MEANS_ENGINE, VB_MEANS_DATE};
    for (size_t i = 0; i < 2; i++)
        if (t->plan.field[needed[i]] == NO_COL && !t->r->constant[needed[i]])
            return fail(t, 0, m, "neither a column nor a constant says",
                        vb_means_name(needed[i]));
    int banks = t->plan.field[VB_MEANS_BANK] != NO_COL || t->r->constant[VB_MEANS_BANK];
    if (banks && words_bank(t) == NO_COL)
        return fail(t, 0, m, "a bank needs a column that says", "cylinder");
    for (int i = VB_MEANS_ENGINE; i < VB_MEANS_READING; i++)
        if ((t->r->merged >> i & 1) && t->plan.field[i] == NO_COL)
            return fail(t, 0, m,
                        "merged cells in no column:", vb_means_name((enum vb_means)i));
    return VB_OK;
}

static enum vb_err
read_units(struct vb_tidy *t, struct vb_msg *m)
{
    struct vb_row row = {0};
    if (!t->r->units_row)
        return VB_OK;
    enum vb_err e = tidy_next(t, &row, m);
    if (e)
        return e == VB_EEND ? VB_OK : e;
    for (size_t i = 0; i < row.n && i < t->plan.n_cols; i++) {
        struct vb_text c = vb_text_trim(row.cell[i]);
        const struct vb_unit *u = vb_unit_find(c.s, c.n);
        if (!u)
            u = vb_heading_unit(c);
        if (u && t->plan.rc[i] && !t->plan.rc[i]->unit && !t->plan.rc[i]->centre.crank)
            t->plan.unit[i] = u;
        struct vb_centre from = {0};
        if (t->plan.rc[i])
            from = column_centre(t->plan.rc[i], c);
        if (from.sign || from.unclear)
            t->plan.centre[i] = from;
    }
    return VB_OK;
}

static enum vb_err
use_heading(struct vb_tidy *t, const struct vb_row *row, struct vb_msg *m)
{
    enum vb_err e = plan_alloc(&t->plan, row);
    if (!e)
        e = bind_columns(t, row, m);
    if (!e)
        e = check_fields(t, m);
    if (!e)
        e = sections_agree(t, m);
    return e ? e : read_units(t, m);
}

/* Without a heading the columns are the numbers that the recipe names. */
static enum vb_err
use_numbers(struct vb_tidy *t, struct vb_msg *m)
{
    struct vb_text blank[64] = {{NULL, 0}};
    char name[24];
    struct vb_row row = {.cell = blank};
    for (size_t i = 0; i < t->r->n_cols; i++) {
        if (!t->r->col[i].number || t->r->col[i].number > 64)
            return fail(t, 0, m, "without a heading columns are #1 to #64, not",
                        col_name(&t->r->col[i], name, sizeof name));
        if (t->r->col[i].number > row.n)
            row.n = t->r->col[i].number;
    }
    enum vb_err e = plan_alloc(&t->plan, &row);
    if (!e)
        e = bind_columns(t, &row, m);
    return e ? e : check_fields(t, m);
}

/* The mark that parts the cells of a row which is one cell to the recipe; NULL if it has none. */
static const char *
other_mark(const struct vb_tidy *t, const struct vb_row *row)
{
    static const struct {
        char mark;
        const char *word;
    } marks[] = {{';', "semicolon"}, {'\t', "tab"}, {'|', "pipe"}, {',', "comma"}};
    for (size_t i = 0; row->n == 1 && i < sizeof marks / sizeof *marks; i++)
        if (marks[i].mark != t->r->delim && row->cell[0].n &&
            memchr(row->cell[0].s, marks[i].mark, row->cell[0].n))
            return marks[i].word;
    return NULL;
}

enum vb_err
plan_find(struct vb_tidy *t, struct vb_msg *m)
{
    struct vb_row row = {0};
    size_t best = (size_t)-1;
    int unreadable = 0;
    unsigned long long best_line = 0;
    const struct vb_recipe_col *lacking = NULL;
    const char *mark = NULL;
    char name[24];
    enum vb_err e = t->r->has_skip ? vb_csv_skip(t->csv, t->r->skip, m) : VB_OK;
    if (e)
        return e;
    if (t->r->remark[0] && t->r->delim == t->r->remark[0])
        return fail(t, 0, m, "remarks and cells have the same mark:", t->r->remark);
    if (!t->r->heading)
        return use_numbers(t, m);
    for (int i = 0; i < (t->r->has_skip ? 1 : HEADING_WITHIN); i++) {
        const struct vb_recipe_col *first = NULL;
        e = tidy_next(t, &row, m);
        if (e == VB_EEND)
            break;
        if (e == VB_ESYNTAX) { // lines above the heading may be anything
            unreadable = 1;
            continue;
        }
        if (e)
            return e;
        if (row.n > VB_COLS_MAX) {
            vb_msg_at(m, t->file, row.line, NULL);
            vb_msg_set(m, "%zu columns; more than %d are not read", row.n, VB_COLS_MAX);
            return VB_ESYNTAX;
        }
        size_t n = lacks(t->r, &row, &first);
        if (n == 0)
            return use_heading(t, &row, m);
        sections_above(t, &row);
        if (i == 0)
            mark = other_mark(t, &row);
        if (n < best) {
            best = n;
            best_line = row.line;
            lacking = first;
        }
    }
    if (!lacking && unreadable)
        return VB_ESYNTAX; // as m has it
    if (!lacking)
        return fail(t, 0, m, "empty", NULL);
    e = fail(t, best_line, m,
             "no heading as the recipe has it; the nearest row lacks column",
             col_name(lacking, name, sizeof name));
    if (mark)
        vb_msg_set(
            m,
            "no heading as the recipe has it; the cells seem to be parted by a %s, "
            "as --set delimiter=%s would say",
            mark, mark);
    return e;
}
