#include "reading_impl.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A cell of a row that may be too short. */
static struct vb_text
cell_there(const struct feed *f, size_t col)
{
    return f->from[col] < f->row.n ? feed_cell(f, col) : (struct vb_text){NULL, 0};
}

struct refused
feed_at(const struct feed *f)
{
    struct refused at = {.file = f->csv ? vb_csv_name(f->csv) : "",
                         .line = f->row.line,
                         .raw = f->row.raw};
    if (f->csv && strcmp(f->def->name, "readings") == 0) {
        at.engine = vb_text_trim(cell_there(f, R_ENGINE));
        at.source = cell_there(f, R_SOURCE);
        at.line_there = cell_there(f, R_LINE);
    }
    return at;
}

/* "D-07 in export.csv:12": where a row that came over a pipe stood at first. */
static void
there(const struct refused *at, char *out, size_t size)
{
    char engine[44], source[64], line[24];
    out[0] = 0;
    if (at->source.n)
        snprintf(out, size, "%s%s%s%s%s",
                 vb_quote(at->engine.s, at->engine.n, engine, sizeof engine),
                 at->engine.n ? " in " : "",
                 vb_quote(at->source.s, at->source.n, source, sizeof source),
                 at->line_there.n ? ":" : "",
                 vb_quote(at->line_there.s, at->line_there.n, line, sizeof line));
}

static void
reject(struct loader *ld, const struct refused *at, const char *column, const char *why)
{
    char num[24];
    ld->l->refused++;
    if (!ld->l->rejects)
        return;
    snprintf(num, sizeof num, "%llu", at->line);
    vb_out_cell(ld->l->rejects, at->file, strlen(at->file));
    vb_out_cell(ld->l->rejects, num, strlen(num));
    vb_out_cell(ld->l->rejects, column, strlen(column));
    vb_out_cell(ld->l->rejects, why, strlen(why));
    vb_out_cell(ld->l->rejects, at->raw.s, at->raw.n);
    vb_out_end(ld->l->rejects);
}

void
load_reject(struct loader *ld, const struct refused *at, const char *column,
            const char *why, struct vb_msg *m)
{
    vb_msg_at(m, at->file, at->line, column);
    vb_msg_set(m, "%s", why);
    reject(ld, at, m->column, m->text);
    there(at, m->there, sizeof m->there);
}

static void
refuse(struct loader *ld, const struct refused *at, const char *column, const char *fmt,
       va_list ap)
{
    struct vb_msg m = {0};
    char why[WHY_MAX + 32];
    vsnprintf(why, sizeof why, fmt, ap);
    load_reject(ld, at, column, why, &m);
    ld->l->tell(ld->l->arg, &m);
}

void
load_refuse_at(struct loader *ld, const struct refused *at, const char *column,
               const char *fmt, ...)
{
    va_list ap;
    va_start(ap, fmt);
    refuse(ld, at, column, fmt, ap);
    va_end(ap);
}

void
load_refuse(struct loader *ld, const struct feed *f, const char *column, const char *fmt,
            ...)
{
    const struct refused at = feed_at(f);
    va_list ap;
    va_start(ap, fmt);
    refuse(ld, &at, column, fmt, ap);
    va_end(ap);
}

/* A row that is too long or too short; blank cells too many do no harm. */
static int
fits(const struct feed *f)
{
    if (f->row.n < f->n_cols)
        return 0;
    for (size_t i = f->n_cols; i < f->row.n; i++)
        if (f->row.cell[i].n)
            return 0;
    return 1;
}

enum vb_err
load_next(struct loader *ld, struct feed *f)
{
    for (;;) {
        enum vb_err e = vb_csv_next(f->csv, &f->row, ld->m);
        if (e && e != VB_ESYNTAX)
            return e;
        if (!e && fits(f))
            return VB_OK;
        if (!e && f->row.lines > 1) {
            vb_csv_split(f->csv, &f->row);
            load_refuse(ld, f, NULL, "unclosed quote");
        } else if (!e) {
            load_refuse(ld, f, NULL, VB_CELLS_WANTED, VB_CELLS(f->row.n), f->n_cols);
        } else {
            load_refuse(ld, f, NULL, "%s", ld->m->text);
        }
        vb_msg_clear(ld->m);
    }
}

static enum vb_err
feed_open(struct loader *ld, const char *path, struct feed *f)
{
    struct vb_input *in;
    enum vb_err e = vb_input_open(path, "", &in, ld->m);
    if (!e)
        e = vb_csv_new(in, ',', &f->csv);
    if (e)
        return e;
    vb_csv_sum(f->csv);
    e = vb_csv_next(f->csv, &f->row, ld->m);
    if (e && e != VB_EEND)
        return e;
    vb_msg_at(ld->m, vb_csv_name(f->csv), 0, NULL);
    vb_msg_set(ld->m, "empty: a table begins with its heading");
    if (e)
        return VB_ESYNTAX;
    vb_msg_at(ld->m, vb_csv_name(f->csv), f->row.line, NULL);
    f->def = table_recognise(&f->row, f->from, ld->m);
    f->n_cols = f->row.n;
    if (!f->def)
        return VB_ESYNTAX;
    if (ld->l->withdraw && strcmp(f->def->name, "history") == 0) {
        vb_msg_set(ld->m, "the history is never withdrawn");
        return VB_ESYNTAX;
    }
    vb_msg_clear(ld->m);
    return VB_OK;
}

static int
by_rank(const void *a, const void *b)
{
    const struct feed *x = *(struct feed *const *)a, *y = *(struct feed *const *)b;
    if (x->def->rank != y->def->rank)
        return x->def->rank - y->def->rank;
    return x < y ? -1 : x > y; // GCOVR_EXCL_BR_LINE: which of two is asked for is qsort's
}

static void
turn(struct feed **f, size_t n)
{
    for (size_t i = 0; i < n / 2; i++) {
        struct feed *x = f[i];
        f[i] = f[n - 1 - i];
        f[n - 1 - i] = x;
    }
}

/* A table is in, or the whole history where one comes, and readings are not yet. */
static enum vb_err
settle(struct loader *ld)
{
    enum vb_err e = ld->history_came ? withdraw_settle(ld) : VB_OK;
    ld->history_came = ld->past_came = 0;
    return e ? e : deferred_settle(ld);
}

static int
is_table(const struct feed *f, const char *name)
{
    return strcmp(f->def->name, name) == 0;
}

static enum vb_err
load_table(struct loader *ld, struct feed *f)
{
    if (is_table(f, "history")) {
        ld->history_comes = 0;
        ld->history_came = 1;
    }
    if (!is_table(f, "readings"))
        return small_load(ld, f);
    enum vb_err e = reading_load(ld, f);
    return e ? e : history_replay(ld->b, ld->m);
}

/*
 * Rows that stay out are told of a sheet, by their number. Books that are merged bring what
 * another of them has withdrawn every night, and there it is as it should be.
 */
static void
tell_passed(const struct loader *ld, const struct feed *f)
{
    struct vb_msg m = {0};
    if (!f->passed || ld->merges)
        return;
    vb_msg_at(&m, vb_csv_name(f->csv), 0, NULL);
    if (f->passed == 1)
        vb_msg_set(&m, "1 row that was withdrawn is passed over (--correct takes it in "
                       "again)");
    else
        vb_msg_set(&m,
                   "%llu rows that were withdrawn are passed over (--correct takes them"
                   " in again)",
                   f->passed);
    ld->l->tell(ld->l->arg, &m);
}

static enum vb_err
load_tables(struct loader *ld, struct feed **f, size_t n)
{
    enum vb_err e = VB_OK;
    for (size_t i = 0; i < n; i++)
        ld->history_comes |= is_table(f[i], "history");
    ld->merges = ld->history_comes;
    ld->waits = 1;
    for (size_t i = 0; !e && i < n; i++) {
        ld->passed = 0;
        e = load_table(ld, f[i]);
        if (!e && !ld->history_comes && (i + 1 == n || f[i + 1]->def != f[i]->def))
            e = settle(ld);
        f[i]->passed = ld->passed;
    }
    return e;
}

static enum vb_err
load_all(struct loader *ld, struct feed **f, size_t n)
{
    enum vb_err e = db_exec(ld->b, "BEGIN IMMEDIATE", ld->m);
    if (!e)
        e = book_stands(ld->b, ld->m);
    if (!e)
        e = load_tables(ld, f, n);
    if (!e)
        e = pending_settle(ld);
    if (!e && !ld->l->withdraw)
        e = withdraw_rejoin(ld);
    if (!e && ld->merges)
        e = past_agrees(ld);
    if (!e)
        e = db_exec(ld->b, "COMMIT", ld->m);
    if (e && !sqlite3_get_autocommit(ld->b->db))
        sqlite3_exec(ld->b->db, "ROLLBACK", NULL, NULL, NULL);
    return e;
}

enum vb_err
vb_book_load(struct vb_book *b, struct vb_load *l, char *const *path, size_t n,
             struct vb_msg *m)
{
    static const char *const heading[] = {"source", "line", "column", "reason", "row"};
    struct loader ld = {.b = b, .l = l, .m = m};
    struct feed *f = calloc(n, sizeof *f), **order = calloc(n, sizeof *order);
    enum vb_err e = f && order ? VB_OK : VB_EMEM;
    for (size_t i = 0; !e && i < n; i++) {
        order[i] = &f[i];
        e = feed_open(&ld, path[i], &f[i]);
    }
    if (!e) {
        if (l->rejects)
            vb_out_words(l->rejects, heading, 5);
        qsort(order, n, sizeof *order, by_rank);
        if (l->withdraw) // what depends on something else goes before it
            turn(order, n);
        e = load_all(&ld, order, n);
    }
    for (size_t i = 0; !e && i < n; i++)
        tell_passed(&ld, &f[i]);
    for (size_t i = 0; f && i < n; i++)
        vb_csv_free(f[i].csv);
    if (e)
        book_discard(b);
    pending_free(&ld);
    deferred_free(&ld);
    free(order);
    free(f);
    return e;
}
