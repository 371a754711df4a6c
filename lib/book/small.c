/* Loading the small tables: families, engines, events, gauges, plan, history ... */
#include "load_impl.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/blades.h"
#include "valvebook/date.h"

#define PAST_MAX (4 * MAX_CELL + MAX_COLS) // a row of the history holds two rows

static const char *
take_number(struct vb_text t, char *out)
{
    double x;
    if (vb_double_parse(t.s, t.n, &x))
        return "bad number";
    vb_double_format(x, out);
    return NULL;
}

/* A pair of blades is kept as it was written; one number is a number. */
static const char *
take_blades(struct vb_text t, char *out)
{
    struct vb_blades b;
    enum vb_err e = vb_blades_parse(t.s, t.n, &b);
    if (e == VB_ERANGE && !memchr(t.s, '/', t.n))
        return take_number(t, out);
    if (e)
        return e == VB_EDOM ? VB_BLADES_ARE : "bad number";
    if (vb_blades_is_pair(b))
        vb_blades_format(b, out);
    else
        vb_double_format(vb_dec_double(b.go), out);
    return NULL;
}

const char *
small_cell(const struct column *c, struct vb_text t, char *out)
{
    t = vb_text_trim(t);
    if (t.n >= MAX_CELL)
        return "too long a cell";
    if (t.n)
        memcpy(out, t.s, t.n);
    out[t.n] = 0;
    if (!t.n)
        return c->needed ? "blank" : NULL;
    if (c->kind == CELL_NUMBER)
        return take_number(t, out);
    if (c->kind == CELL_BLADES)
        return take_blades(t, out);
    return c->kind == CELL_DATE && vb_date_parse(t.s, t.n, "", out) ? "bad date" : NULL;
}

/* How long a cell is at most in a row that is joined: quotes are doubled. */
static size_t
joined_size(struct vb_text t)
{
    size_t n = t.n + 3;
    for (size_t i = 0; i < t.n; i++)
        n += t.s[i] == '"';
    return n;
}

static int
take_cells(struct loader *ld, const struct feed *f, char cell[][MAX_CELL])
{
    char q[64];
    size_t total = 0;
    for (size_t i = 0; i < f->def->n_cols; i++)
        total += joined_size(feed_cell(f, i));
    if (total > (strcmp(f->def->name, "history") == 0 ? 4 : 1) * (size_t)MAX_CELL) {
        load_refuse(ld, f, NULL, "too long a row");
        return 0;
    }
    for (size_t i = 0; i < f->def->n_cols; i++) {
        struct vb_text t = feed_cell(f, i);
        const char *why = small_cell(&f->def->col[i], t, cell[i]);
        if (!why)
            continue;
        load_refuse(ld, f, f->def->col[i].name, "%s '%s'", why,
                    vb_quote(t.s, t.n, q, sizeof q));
        return 0;
    }
    return 1;
}

/* A row that does not go with the book waits for one that may make room for it, if any can
 * still come; else it is refused. */
static enum vb_err
wait_or_refuse(struct loader *ld, const struct feed *f, char cell[][MAX_CELL],
               const char *column, const char *what, const char *why)
{
    if (ld->waits && deferred_room(ld))
        return deferred_add(ld, f, cell);
    load_refuse(ld, f, column, "%s%s", what, why);
    return VB_OK;
}

/* Does a fact go with the others, and with what was read? *fit = 0: no, and that was seen to. */
static enum vb_err
facts_fit(struct loader *ld, const struct feed *f, char cell[][MAX_CELL], int *fit)
{
    char why[WHY_MAX] = "";
    const char *column = "family";
    enum vb_err e = VB_OK;
    if (strcmp(f->def->name, "families") == 0)
        e = family_fits(ld->b, cell, &column, why, ld->m);
    if (!e && !why[0])
        e = row_strands(ld->b, f->def, cell, why, ld->m);
    *fit = !why[0];
    return e || *fit ? e : wait_or_refuse(ld, f, cell, column, "", why);
}

/* A row that is there is filled, or, where it contradicts `old`, corrected. */
static enum vb_err
change_row(struct loader *ld, const struct feed *f, char cell[][MAX_CELL],
           const char *key, const char *old)
{
    char why[WHY_MAX], now[PAST_MAX];
    const struct table_def *def = f->def;
    enum vb_err e = small_write(ld->b, def, cell, small_set, why, ld->m);
    if (e || (!old && !why[0]))
        return e;
    if (!old)
        return wait_or_refuse(ld, f, cell, "meter", "with this event: ", why);
    small_join(def, cell, 0, now, sizeof now);
    const struct past p = {def->name, key, old, now, 0};
    const struct refused at = feed_at(f);
    if (why[0])
        return pending_add(ld, &at, "meter", cell[0], &p);
    e = history_correct(ld->b, &p, ld->m);
    return e ? e : row_fill(ld, def, key);
}

/* Two rows of the history under one number contradict each other, as each of two books has
 * corrected a row. Once what stands is agreed upon, that is past and needs nobody any more. */
static enum vb_err
refuse_past(struct loader *ld, const struct feed *f, char cell[][MAX_CELL],
            char stands[][MAX_CELL])
{
    struct past p = {cell[0], cell[1], cell[3], cell[4], 0};
    size_t i = strcmp(stands[3], cell[3]) != 0 ? 3 : 4;
    int settled = *cell[3] && *cell[4] && *stands[3] && *stands[4]; // nothing withdrawn
    (void)vb_double_parse(cell[2], strlen(cell[2]), &p.seq); // as in insert_history
    enum vb_err e = settled ? past_settled(ld, &p, &settled) : VB_OK;
    if (e || settled)
        return e;
    if (ld->waits && deferred_room(ld)) // what agrees upon it may come behind
        return deferred_add(ld, f, cell);
    load_refuse(ld, f, f->def->col[i].name,
                "%.10s %.80s: '%.60s' here, '%.60s' in the book", cell[0], cell[1],
                cell[i], stands[i]);
    return VB_OK;
}

static enum vb_err
contradict(struct loader *ld, const struct feed *f, const char *key, const char *column,
           const char *here, const char *there)
{
    load_refuse(ld, f, column, "%s %.80s: '%.60s' here, '%.60s' in the book",
                f->def->name, key, here, there);
    return VB_OK;
}

/*
 * There is a row of this key. Blank cells say nothing and are filled from it; blanks in
 * the book are filled from here; anything else that differs is a contradiction.
 */
static enum vb_err
meet(struct loader *ld, const struct feed *f, char cell[][MAX_CELL],
     char stands[][MAX_CELL])
{
    const struct table_def *def = f->def;
    const char *mine[MAX_COLS], *book[MAX_COLS];
    char key[PAST_MAX], old[PAST_MAX];
    size_t n = 0, clash = NO_CELL;
    int fill = 0, seen = 0, fit, past = strcmp(def->name, "history") == 0;
    small_join(def, cell, 1, key, sizeof key);
    small_join(def, stands, 0, old, sizeof old);
    for (size_t i = 0; i < def->n_cols; i++) {
        if (def->col[i].key)
            continue;
        mine[n] = cell[i];
        book[n++] = stands[i];
        if (*cell[i] && *stands[i] && strcmp(cell[i], stands[i]) != 0 && clash == NO_CELL)
            clash = i;
        fill |= *cell[i] && !*stands[i];
    }
    if (clash == NO_CELL && !fill)
        return VB_OK;
    enum vb_err e = VB_OK;
    if (clash != NO_CELL && (past || !ld->l->correct)) {
        if (!past && ld->history_comes &&
            deferred_room(ld)) // it may take away what stands
            return deferred_add(ld, f, cell);
        e = history_has(ld->b, def->name, key, mine, book, n, &seen, ld->m);
        if (e || seen)
            return e;
        return past ? refuse_past(ld, f, cell, stands)
                    : contradict(ld, f, key, def->col[clash].name, cell[clash],
                                 stands[clash]);
    }
    for (size_t i = 0; i < def->n_cols; i++)
        if (!def->col[i].key && !*cell[i])
            memcpy(cell[i], stands[i], MAX_CELL);
    e = facts_fit(ld, f, cell, &fit);
    return e || !fit ? e : change_row(ld, f, cell, key, clash == NO_CELL ? NULL : old);
}

/* A row that was corrected or withdrawn since comes in as what became of it. */
static enum vb_err
insert_row(struct loader *ld, const struct feed *f, char cell[][MAX_CELL])
{
    char key[PAST_MAX], now[PAST_MAX], why[WHY_MAX];
    const struct table_def *def = f->def;
    enum fate fate;
    int fit;
    enum vb_err e = small_fate(ld->b, def, cell, 1, &fate, ld->m);
    if (!e && fate == FATE_WITHDRAWN && !ld->l->correct) {
        ld->passed++;
        return withdrawn_arrives(ld, def, cell);
    }
    if (!e)
        e = facts_fit(ld, f, cell, &fit);
    if (e || !fit)
        return e;
    e = small_write(ld->b, def, cell, small_insert, why, ld->m);
    if (!e && why[0])
        return wait_or_refuse(ld, f, cell, "meter", "with this event: ", why);
    if (e || fate == FATE_STANDS)
        return e;
    small_join(def, cell, 1, key, sizeof key);
    small_join(def, cell, 0, now, sizeof now);
    const struct past p = {def->name, key, "", now, 0};
    if (fate == FATE_CHANGED)
        return history_hold(ld->b, &p, ld->m);
    e = history_add(ld->b, def->name, key, "", now, ld->m);
    return e ? e : row_rejoin(ld, def, key);
}

/* Would a correction from another book leave a row that could not come in? */
static enum vb_err
would_not_fit(struct loader *ld, const struct past *p, char *why)
{
    const struct table_def *def = table_find(p->table);
    int does = 0;
    why[0] = 0;
    if (strcmp(p->table, "readings") == 0)
        return VB_OK;
    char(*cell)[MAX_CELL] = malloc(3 * MAX_COLS * sizeof *cell);
    enum vb_err e = cell ? history_becomes(ld->b, p, cell, &does, ld->m) : VB_EMEM;
    if (!e && does)
        e = past_fits(ld, def, cell, why);
    free(cell);
    return e;
}

/* What another book corrected is corrected here too, now or when all is loaded; what it
 * withdrew, when the whole history is in. */
static enum vb_err
insert_history(struct loader *ld, const struct feed *f, char cell[][MAX_CELL])
{
    struct past p = {cell[0], cell[1], cell[3], cell[4], 0};
    struct meter_faults before;
    char engine[MAX_CELL], why[WHY_MAX] = "";
    int done, corrects = *p.old && *p.now;
    enum vb_err e = history_meter(&p, engine);
    if (e)
        return e;
    (void)vb_double_parse(cell[2], strlen(cell[2]), &p.seq); // take_cells has seen to it
    ld->past_came = 1;
    if (!corrects)
        return history_insert(ld->b, &p, ld->m);
    e = would_not_fit(ld, &p, why);
    if (!e && why[0])
        load_refuse(ld, f, "new", "%s", why);
    if (e || why[0])
        return e;
    const struct refused at = feed_at(f);
    if (pending_waits(ld, p.table, p.key)) // it corrects what that one says
        return pending_add(ld, &at, "new", engine, &p);
    if (*engine)
        e = meter_begin(ld->b, engine, &before, ld->m);
    if (!e)
        e = history_insert(ld->b, &p, ld->m);
    if (!e)
        e = history_apply(ld->b, &p, &done, ld->m);
    if (!e && *engine)
        e = meter_end(ld->b, engine, &before, why, ld->m);
    return e || !why[0] ? e : pending_add(ld, &at, "new", engine, &p);
}

/* Two rows of the history under one number: of one withdrawal each may know more. Where one
 * book has withdrawn what another has corrected, the correction stays. */
static enum vb_err
meet_history(struct loader *ld, const struct feed *f, char cell[][MAX_CELL],
             char stands[][MAX_CELL])
{
    int done = 0, clash = 0, other = strcmp(stands[3], cell[3]) != 0;
    int returns = !*stands[4] && *cell[4] && !other;
    const struct past p = {cell[0], cell[1], cell[3], cell[4], 0};
    struct past there = {stands[0], stands[1], stands[3], stands[4], 0};
    (void)vb_double_parse(cell[2], strlen(cell[2]), &there.seq); // as in insert_history
    enum vb_err e = past_contradicts(ld, &there, &p, &clash);
    if (e || clash)
        return e ? e : refuse_past(ld, f, cell, stands);
    e = history_unite(ld->b, &there, &p, &done, ld->m);
    if (!e && !done)
        e = meet(ld, f, cell, stands);
    if (e || !returns)
        return e;
    ld->past_came = 1;
    return withdrawn_returns(ld, &p);
}

enum vb_err
small_put(struct loader *ld, const struct feed *f, char cell[][MAX_CELL],
          char stands[][MAX_CELL])
{
    int has = 0, history = strcmp(f->def->name, "history") == 0;
    memcpy(stands, cell, MAX_COLS * sizeof *cell);
    enum vb_err e = small_get(ld->b, f->def, stands, &has, ld->m);
    if (e)
        return e;
    if (history)
        return has ? meet_history(ld, f, cell, stands) : insert_history(ld, f, cell);
    return has ? meet(ld, f, cell, stands) : insert_row(ld, f, cell);
}

static enum vb_err
take_row(struct loader *ld, struct feed *f, char cell[][MAX_CELL],
         char stands[][MAX_CELL])
{
    enum vb_err e = VB_OK;
    if (!take_cells(ld, f, cell))
        return VB_OK;
    if (ld->l->withdraw)
        return withdraw_row(ld, f, cell, stands);
    if (!small_check(ld, f, cell, &e))
        return e;
    return small_put(ld, f, cell, stands);
}

enum vb_err
small_load(struct loader *ld, struct feed *f)
{
    enum vb_err e = VB_OK;
    char(*cell)[MAX_CELL] = calloc(2 * MAX_COLS, sizeof *cell);
    if (!cell)
        return VB_EMEM;
    while (!e && !(e = load_next(ld, f)))
        e = take_row(ld, f, cell, cell + MAX_COLS);
    free(cell);
    return e == VB_EEND ? VB_OK : e;
}
