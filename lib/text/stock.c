/* The table shims: columns in any order, rows checked one by one. */
#include "valvebook/stock.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/csv.h"
#include "valvebook/input.h"
#include "valvebook/number.h"
#include "valvebook/unit.h"
#include "valvebook/valve.h"

enum { THICKNESS, UNIT, COUNT, SIDE, COLUMNS };

#define MUST SIDE // the columns before it must be there, and filled

static const char *const columns[COLUMNS] = {"thickness", "unit", "count", "side"};

struct reader {
    vb_tell *tell;
    void *arg;
    struct vb_csv *csv;
    struct vb_msg *m;
    struct vb_stock s;
    size_t at[COLUMNS]; // the file's column for each of ours
    int has_side;
    size_t n_cols; // of the file
};

static int refuse(struct reader *r, const struct vb_row *row, const char *column,
                  const char *fmt, ...) __attribute__((format(printf, 4, 5)));

/* Always returns 0. */
static int
refuse(struct reader *r, const struct vb_row *row, const char *column, const char *fmt,
       ...)
{
    struct vb_msg m = {0};
    char text[sizeof m.text];
    va_list ap;
    va_start(ap, fmt);
    vsnprintf(text, sizeof text, fmt, ap);
    va_end(ap);
    vb_msg_at(&m, vb_csv_name(r->csv), row->line, column);
    vb_msg_set(&m, "%s", text);
    r->tell(r->arg, &m);
    r->s.refused++;
    return 0;
}

static int
refuse_cell(struct reader *r, const struct vb_row *row, int column, const char *what)
{
    struct vb_text t = vb_text_trim(row->cell[r->at[column]]);
    char q[80];
    return refuse(r, row, columns[column], "%s '%s'", what,
                  vb_quote(t.s, t.n, q, sizeof q));
}

static int
take_thickness(struct reader *r, const struct vb_row *row, const struct vb_text *c,
               int64_t *out)
{
    const struct vb_unit *u = vb_unit_find(c[UNIT].s, c[UNIT].n);
    struct vb_dec d;
    if (vb_dec_parse(c[THICKNESS].s, c[THICKNESS].n, '.', 0, &d))
        return refuse_cell(r, row, THICKNESS, "bad number");
    if (!u || u->dim != VB_DIM_LENGTH)
        return refuse_cell(r, row, UNIT, "not a unit of length:");
    double mm = vb_unit_convert(u, d, &d) ? 0 : vb_dec_double(d);
    if (!(mm > 0) || mm > 10)
        return refuse_cell(r, row, THICKNESS, "no credible shim:");
    *out = vb_shim_units(mm);
    return 1;
}

static int
take_count(struct reader *r, const struct vb_row *row, struct vb_text s, size_t *out)
{
    struct vb_dec d;
    double x;
    if (vb_dec_parse(s.s, s.n, '.', 0, &d) || (x = vb_dec_double(d)) < 0 ||
        x > VB_STOCK_MOST || x != (double)(size_t)x)
        return refuse_cell(r, row, COUNT, "a count is a whole number up to 10000, not");
    *out = (size_t)x;
    return 1;
}

/* Blank, or a table without the column: it fits either. */
static int
take_side(struct reader *r, const struct vb_row *row, struct vb_text s, char *out)
{
    *out = s.n ? vb_side_parse(s.s, s.n) : 0;
    return !s.n || *out ? 1 : refuse_cell(r, row, SIDE, "neither inlet nor exhaust:");
}

static int
before(struct vb_shim_stock a, struct vb_shim_stock b)
{
    return a.thickness != b.thickness ? a.thickness < b.thickness : a.side < b.side;
}

/* By thickness and side; what is there already stands. */
static enum vb_err
keep(struct reader *r, const struct vb_row *row, struct vb_shim_stock shim)
{
    struct vb_stock *s = &r->s;
    size_t i = s->n;
    while (i > 0 && !before(s->shim[i - 1], shim))
        i--;
    if (i < s->n && !before(shim, s->shim[i])) {
        if (s->shim[i].count != shim.count)
            refuse(r, row, columns[COUNT], "%zu here, %zu before", shim.count,
                   s->shim[i].count);
        return VB_OK;
    }
    if (s->n == s->size) {
        size_t size = s->size ? 2 * s->size : 32;
        struct vb_shim_stock *p = realloc(s->shim, size * sizeof *p);
        if (!p)
            return VB_EMEM;
        s->shim = p;
        s->size = size;
    }
    memmove(s->shim + i + 1, s->shim + i, (s->n - i) * sizeof *s->shim);
    s->shim[i] = shim;
    s->n++;
    return VB_OK;
}

static enum vb_err
take_row(struct reader *r, const struct vb_row *row)
{
    struct vb_text c[COLUMNS] = {{NULL, 0}};
    struct vb_shim_stock shim = {0};
    if (r->has_side)
        c[SIDE] = vb_text_trim(row->cell[r->at[SIDE]]);
    for (int i = 0; i < MUST; i++) {
        c[i] = vb_text_trim(row->cell[r->at[i]]);
        if (c[i].n == 0) {
            refuse(r, row, columns[i], "blank");
            return VB_OK;
        }
    }
    if (!take_thickness(r, row, c, &shim.thickness) ||
        !take_count(r, row, c[COUNT], &shim.count) ||
        !take_side(r, row, c[SIDE], &shim.side))
        return VB_OK;
    return keep(r, row, shim);
}

static enum vb_err
heading_wrong(struct reader *r, const char *what, struct vb_text name)
{
    char q[64];
    vb_msg_set(r->m, "%s '%s' in table shims", what,
               vb_quote(name.s, name.n, q, sizeof q));
    return VB_ESYNTAX;
}

static enum vb_err
take_heading(struct reader *r, const struct vb_row *h)
{
    int has[COLUMNS] = {0};
    vb_msg_at(r->m, vb_csv_name(r->csv), h->line, NULL);
    if (vb_csv_other_mark(h, r->m))
        return VB_ESYNTAX;
    for (size_t i = 0; i < h->n; i++) {
        struct vb_text name = vb_text_trim(h->cell[i]);
        int k = 0;
        while (k < COLUMNS && !vb_text_is(name, columns[k]))
            k++;
        if (k == COLUMNS || has[k])
            return heading_wrong(r, k == COLUMNS ? "unknown column" : "repeated column",
                                 name);
        has[k] = 1;
        r->at[k] = i;
    }
    for (int k = 0; k < MUST; k++)
        if (!has[k])
            return heading_wrong(r, "no column",
                                 (struct vb_text){columns[k], strlen(columns[k])});
    r->has_side = has[SIDE];
    r->n_cols = h->n;
    return VB_OK;
}

static enum vb_err
take_rows(struct reader *r)
{
    struct vb_row row = {0};
    for (;;) {
        enum vb_err e = vb_csv_next(r->csv, &row, r->m);
        if (e == VB_EEND)
            return VB_OK;
        if (e && e != VB_ESYNTAX)
            return e;
        if (e) {
            refuse(r, &row, NULL, "%s", r->m->text);
            vb_msg_clear(r->m);
        } else if (row.n == r->n_cols) {
            if ((e = take_row(r, &row)))
                return e;
        } else if (row.lines > 1) {
            vb_csv_split(r->csv, &row);
            refuse(r, &row, NULL, "unclosed quote");
        } else {
            refuse(r, &row, NULL, VB_CELLS_WANTED, VB_CELLS(row.n), r->n_cols);
        }
    }
}

static enum vb_err
take_file(struct reader *r)
{
    struct vb_row row = {0};
    enum vb_err e = vb_csv_next(r->csv, &row, r->m);
    if (e == VB_EEND) {
        vb_msg_at(r->m, vb_csv_name(r->csv), 0, NULL);
        vb_msg_set(r->m, "empty: a table begins with its heading");
        return VB_ESYNTAX;
    }
    if (!e)
        e = take_heading(r, &row);
    if (e)
        return e;
    vb_msg_clear(r->m);
    return take_rows(r);
}

enum vb_err
vb_stock_read(const char *path, vb_tell *tell, void *arg, struct vb_stock *out,
              struct vb_msg *m)
{
    struct vb_msg unheard = {0};
    struct reader r = {.tell = tell, .arg = arg, .m = m ? m : &unheard};
    struct vb_input *in;
    enum vb_err e = vb_input_open(path, "", &in, r.m);
    if (!e)
        e = vb_csv_new(in, ',', &r.csv);
    if (e)
        return e;
    e = take_file(&r);
    vb_csv_free(r.csv);
    if (e)
        vb_stock_clear(&r.s);
    else
        *out = r.s;
    return e;
}

void
vb_stock_clear(struct vb_stock *s)
{
    free(s->shim);
    memset(s, 0, sizeof *s);
}
