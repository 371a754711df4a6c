/*
 * What a row of the history must satisfy: that it speaks of what its table could hold. Of
 * other rows it need know nothing, for what it names may be gone.
 */
#include "load_impl.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/date.h"
#include "valvebook/quantity.h"
#include "valvebook/valve.h"

typedef char cell_text[MAX_CELL];

/* Of events a dump by an older version has four cells beside the key, six are meant; there
 * is room for them but in the longest. */
static enum vb_err
widen(const char *table, char *joined, int *full)
{
    cell_text *part = NULL;
    size_t n = strlen(joined);
    *full = strcmp(table, "events") == 0 && n + 3 >= MAX_CELL;
    if (strcmp(table, "events") != 0 || *full)
        return VB_OK;
    if (!(part = malloc(4 * sizeof *part)))
        return VB_EMEM;
    enum vb_err e = cells_split(joined, part, 4);
    if (!e)
        memcpy(joined + n, ",,", 3);
    free(part);
    return e == VB_EMEM ? e : VB_OK;
}

/* The key of a row, or (key = 0) its other cells, as the book would write them. */
static enum vb_err
check_cells(const struct table_def *def, const char *joined, int key)
{
    size_t n = small_others(def), k = 0;
    cell_text own, *part = malloc(MAX_COLS * sizeof *part);
    if (key)
        n = def->n_cols - n;
    enum vb_err e = part ? cells_split(joined, part, n) : VB_EMEM;
    for (size_t i = 0; !e && i < def->n_cols; i++) {
        const struct column *c = &def->col[i];
        if (!c->key != !key)
            continue;
        struct vb_text t = {part[k], strlen(part[k])};
        if (small_cell(c, t, own) || strcmp(own, part[k]) != 0)
            e = VB_ESYNTAX;
        k++;
    }
    free(part);
    return e;
}

/* key: of a cell of a reading, of a visit's meter, or of what is known of a reading beside. */
static enum vb_err
check_reading_key(cell_text *key)
{
    char date[VB_DATE_MAX];
    const char *column = key[N_KEY - 1];
    int meter = strcmp(column, "meter") == 0, known = meter || !strcmp(column, "from");
    const struct vb_quantity *q = vb_quantity_find(key[2], strlen(key[2]));
    struct vb_valve v;
    for (size_t i = 0; i < N_VALUES; i++)
        known |= strcmp(column, reading_columns[i]) == 0;
    if (!known || !*key[0] || vb_date_parse(key[1], strlen(key[1]), "", date) ||
        strcmp(date, key[1]) != 0)
        return VB_ESYNTAX;
    if (meter)
        return *key[2] || *key[3] ? VB_ESYNTAX : VB_OK;
    return q && strcmp(q->name, key[2]) == 0 && vb_quantity_place(q, key[3], &v)
               ? VB_OK
               : VB_ESYNTAX;
}

/* A number of that column of a reading, as the book would write it. */
static enum vb_err
check_number(cell_text *key, const char *text)
{
    char own[VB_NUM_MAX];
    double x;
    const char *column = key[N_KEY - 1];
    const struct vb_quantity *q = vb_quantity_find(key[2], strlen(key[2]));
    if (vb_double_parse(text, strlen(text), &x))
        return VB_ESYNTAX;
    vb_double_format(x, own);
    if (strcmp(own, text) != 0)
        return VB_ESYNTAX;
    if (strcmp(column, "found") == 0 || strcmp(column, "left") == 0)
        return vb_quantity_credible(q, x) ? VB_OK : VB_ESYNTAX;
    return (strcmp(column, "u") == 0 && x <= 0) || (strcmp(column, "meter") == 0 && x < 0)
               ? VB_ESYNTAX
               : VB_OK;
}

static enum vb_err
check_reading(const char *joined, const char *const *text, size_t *bad)
{
    enum vb_err e = VB_EMEM;
    cell_text *part = malloc((N_KEY + FROM_CELLS) * sizeof *part);
    *bad = 0;
    if (!part || (e = cells_split(joined, part, N_KEY)) || (e = check_reading_key(part)))
        goto out;
    for (size_t i = 0; !e && i < 2; i++) {
        *bad = i + 1;
        if (!*text[i]) // the meter of a visit goes with its readings
            e = strcmp(part[N_KEY - 1], "meter") == 0 ? VB_ESYNTAX : VB_OK;
        else
            e = strcmp(part[N_KEY - 1], "from") == 0
                    ? cells_split(text[i], part + N_KEY, FROM_CELLS)
                    : check_number(part, text[i]);
    }
out:
    free(part);
    return e;
}

/* *bad: 0 for the key, 1 for the text before, 2 for the one after. */
static enum vb_err
check_small(const struct table_def *def, const char *key, const char *const *text,
            size_t *bad)
{
    enum vb_err e = check_cells(def, key, 1);
    *bad = 0;
    for (size_t i = 0; !e && i < 2; i++) {
        *bad = i + 1;
        e = *text[i] ? check_cells(def, text[i], 0) : VB_OK;
    }
    return e;
}

/* --- a row as the history would have it ------------------------------------------------ */

static void
keep_why(void *arg, const struct vb_msg *m)
{
    snprintf(arg, WHY_MAX, "%s%s%.150s", m->column, *m->column ? ": " : "", m->text);
}

enum vb_err
past_fits(struct loader *ld, const struct table_def *def, cell_text *cell, char *why)
{
    enum vb_err e = VB_OK;
    struct vb_load l = {.as_of = ld->l->as_of, .tell = keep_why, .arg = why};
    struct loader probe = {.b = ld->b, .l = &l, .m = ld->m};
    const struct feed f = {.def = def};
    cell_text *own = malloc(MAX_COLS * sizeof *own);
    why[0] = 0;
    if (!own)
        return VB_EMEM;
    memcpy(own, cell, MAX_COLS * sizeof *own);
    if (small_check(&probe, &f, own, &e) && !e)
        for (size_t i = 0; i < def->n_cols; i++)
            if (!*why && strcmp(own[i], cell[i]) != 0)
                snprintf(why, WHY_MAX, "%s: the book would write '%.60s'",
                         def->col[i].name, own[i]);
    free(own);
    return e;
}

static void
tell_facts(void *arg, const char *const *key, size_t n, const char *column,
           const char *text)
{
    struct loader *ld = arg;
    const struct refused at = {.file = ld->b->path};
    (void)n;
    (void)column;
    load_refuse_at(ld, &at, NULL, "facts of family '%.60s' from several books: %s",
                   key[0], text);
}

/* Facts that no longer agree, though each was corrected, or taken in again, where it did. */
enum vb_err
past_agrees(struct loader *ld)
{
    return facts_disagree(ld->b, tell_facts, ld, ld->m);
}

/* Is this the last of its key? */
static enum vb_err
is_last(struct loader *ld, const struct past *there, int *last)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e = db_prepare(ld->b,
                               "SELECT max(seq) FROM history WHERE \"table\" = ? AND"
                               " key = ?",
                               &s, ld->m);
    if (e)
        return e;
    db_text(s, 1, there->table);
    db_text(s, 2, there->key);
    if (sqlite3_step(s) == SQLITE_ROW)
        *last = !(sqlite3_column_double(s, 0) > there->seq);
    else
        e = db_fail(ld->b, ld->m);
    sqlite3_finalize(s);
    return e;
}

/* Does the row that stands say something else than text? */
static enum vb_err
stands_otherwise(struct loader *ld, const struct past *p, const char *text, int *yes)
{
    const struct table_def *def = table_find(p->table);
    int has = 0;
    if (strcmp(p->table, "readings") == 0)
        return VB_OK;
    cell_text *cell = calloc(2 * MAX_COLS, sizeof *cell);
    enum vb_err e = cell ? small_by_key(ld->b, def, p->key, cell, &has, ld->m) : VB_EMEM;
    if (!e && has)
        e = cells_split(text, cell + MAX_COLS, small_others(def));
    *yes = !e && has && !small_compatible(def, cell, cell + MAX_COLS);
    free(cell);
    return e == VB_ESYNTAX ? VB_OK : e; // which is told where they are united
}

/*
 * Behind the row one may be blank where the other is not, if they agree otherwise: that is a
 * withdrawal of what the other book has corrected. Not before it: a blank says that the row was
 * taken in again. But what followed it here must not lose its ground, nor
 * a row that was taken in again here say what it never said.
 */
enum vb_err
past_contradicts(struct loader *ld, const struct past *there, const struct past *p,
                 int *yes)
{
    int old = strcmp(there->old, p->old) != 0, now = strcmp(there->now, p->now) != 0;
    int last = 1;
    *yes = old && (now || !*there->old || !*p->old);
    if (*yes || (!old && !now))
        return VB_OK;
    if (now && !*p->old)
        return stands_otherwise(ld, there, p->now, yes);
    if (now && !*there->now) {
        enum vb_err e = is_last(ld, there, &last);
        *yes = !last;
        return e;
    }
    return VB_OK;
}

static enum vb_err
reading_settled(struct loader *ld, const struct past *p, const char *text, int *yes)
{
    char stands[VB_NUM_MAX];
    cell_text *key = malloc(N_KEY * sizeof *key);
    enum vb_err e = key ? cells_split(p->key, key, N_KEY) : VB_EMEM;
    if (!e && strcmp(key[N_KEY - 1], "from") != 0) { // not of a cell
        e = reading_get(ld->b, key, stands, ld->m);
        *yes = !e && strcmp(stands, text) == 0;
    }
    free(key);
    return e;
}

static enum vb_err
small_settled(struct loader *ld, const struct past *p, const char *text, int *yes)
{
    const struct table_def *def = table_find(p->table);
    int has = 0;
    cell_text *cell = calloc(2 * MAX_COLS, sizeof *cell);
    enum vb_err e = cell ? small_by_key(ld->b, def, p->key, cell, &has, ld->m) : VB_EMEM;
    if (!e && has && *text)
        e = cells_split(text, cell + MAX_COLS, small_others(def));
    *yes = !e && (has ? *text && small_compatible(def, cell, cell + MAX_COLS) : !*text);
    free(cell);
    return e == VB_ESYNTAX ? VB_OK : e; // as an older version may have left it
}

enum vb_err
past_settled(struct loader *ld, const struct past *p, int *yes)
{
    char text[JOINED_MAX];
    *yes = 0;
    snprintf(text, sizeof text, "%s", p->now);
    // the row of this number here was written without knowing of that one
    enum vb_err e = history_since(ld->b, p, text, sizeof text, ld->m);
    if (e)
        return e;
    return strcmp(p->table, "readings") == 0 ? reading_settled(ld, p, text, yes)
                                             : small_settled(ld, p, text, yes);
}

/* Rows of one key are numbered from 1 on. */
static int
check_seq(struct loader *ld, const struct feed *f, const char *seq)
{
    double x = 0; // take_cells has seen to it that it is a number
    (void)vb_double_parse(seq, strlen(seq), &x);
    if (x >= 1 && x < 1e15 && x == floor(x))
        return 1;
    load_refuse(ld, f, "seq", "no number of a row of the history: '%.40s'", seq);
    return 0;
}

int
past_check(struct loader *ld, const struct feed *f, cell_text *c, enum vb_err *e)
{
    static const char *const column[] = {"key", "old", "new"};
    const struct table_def *def = table_find(c[0]);
    const char *text[] = {c[3], c[4]};
    int full[2] = {0};
    size_t bad;
    if (!def || strcmp(c[0], "history") == 0) {
        load_refuse(ld, f, "table", "unknown table '%.40s'", c[0]);
        return 0;
    }
    if (!*c[3] && !*c[4]) {
        load_refuse(ld, f, "old", "neither old nor new");
        return 0;
    }
    if (!check_seq(ld, f, c[2]))
        return 0;
    if ((*e = widen(c[0], c[3], &full[0])) || (*e = widen(c[0], c[4], &full[1])))
        return 0;
    for (size_t i = 0; i < 2; i++)
        text[i] = full[i] ? "" : text[i];
    *e = strcmp(c[0], "readings") == 0 ? check_reading(c[1], text, &bad)
                                       : check_small(def, c[1], text, &bad);
    if (*e != VB_ESYNTAX)
        return !*e;
    *e = VB_OK;
    if (bad)
        load_refuse(ld, f, column[bad], "no cells of a row of %s: '%.60s'", c[0],
                    text[bad - 1]);
    else
        load_refuse(ld, f, column[bad], "names no row of %s", c[0]);
    return 0;
}
