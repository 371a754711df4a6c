/* The table trials: columns in any order, rows checked one by one, names numbered. */
#include "valvebook/trials.h"

#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/blades.h"
#include "valvebook/csv.h"
#include "valvebook/input.h"

enum { GAUGE, PART, BY, TRIAL, VALUE, UNIT, COLUMNS };
#define NAMES 3 // GAUGE, PART and BY are names, and rows are in their order

static const char *const columns[COLUMNS] = {"gauge", "part",  "by",
                                             "trial", "value", "unit"};

#define TRIAL_MAX 1000000

/* A row on its way: where it stood, for messages, and its names. */
struct item {
    struct vb_trial t;
    char *name[NAMES];
    size_t file, seq;
    unsigned long long line;
};

struct reader {
    vb_tell *tell;
    void *arg;
    struct vb_msg *m;
    struct item *item;
    size_t n, size;
    char **file; // names for messages
    size_t n_files;
    unsigned long long refused;
    struct vb_csv *csv;
    size_t at[COLUMNS]; // the file's column for each of ours
    size_t n_cols;      // of the file
};

static int refuse(struct reader *r, const char *file, unsigned long long line,
                  const char *column, const char *fmt, ...)
    __attribute__((format(printf, 5, 6)));

/* Always returns 0. */
static int
refuse(struct reader *r, const char *file, unsigned long long line, const char *column,
       const char *fmt, ...)
{
    struct vb_msg m = {0};
    char text[sizeof m.text];
    va_list ap;
    va_start(ap, fmt);
    vsnprintf(text, sizeof text, fmt, ap);
    va_end(ap);
    vb_msg_at(&m, file, line, column);
    vb_msg_set(&m, "%s", text);
    r->tell(r->arg, &m);
    r->refused++;
    return 0;
}

/* --- one row ----------------------------------------------------------------------- */

static int
quote_refuse(struct reader *r, const struct vb_row *row, int column, const char *what)
{
    struct vb_text t = vb_text_trim(row->cell[r->at[column]]);
    char q[80];
    return refuse(r, vb_csv_name(r->csv), row->line, columns[column], "%s '%s'", what,
                  vb_quote(t.s, t.n, q, sizeof q));
}

static int
take_trial(struct reader *r, const struct vb_row *row, struct vb_text s, size_t *out)
{
    struct vb_dec d;
    double x;
    if (vb_dec_parse(s.s, s.n, '.', 0, &d) || (x = vb_dec_double(d)) < 0 ||
        x > TRIAL_MAX || x != (double)(size_t)x)
        return quote_refuse(r, row, TRIAL, "a trial is a whole number, not");
    *out = (size_t)x;
    return 1;
}

static int
take_value(struct reader *r, const struct vb_row *row, const struct vb_text *c,
           struct vb_trial *t)
{
    struct vb_blades b;
    enum vb_err e = vb_blades_parse(c[VALUE].s, c[VALUE].n, &b);
    t->unit = vb_unit_find(c[UNIT].s, c[UNIT].n);
    if (e == VB_EDOM)
        return quote_refuse(r, row, VALUE, VB_BLADES_ARE);
    if (e)
        return quote_refuse(r, row, VALUE, "bad number");
    if (!t->unit || t->unit->dim != VB_DIM_LENGTH)
        return quote_refuse(r, row, UNIT, "not a unit of length:");
    if (vb_blades_convert(t->unit, b, &b) || vb_blades_middle(b, &t->mm, &t->width))
        return quote_refuse(r, row, VALUE, "too many digits:");
    return 1;
}

/* The names of a row are one piece of memory, which the first of them owns. */
static enum vb_err
take_names(const struct vb_text *c, struct item *it)
{
    size_t size = 0;
    for (int i = 0; i < NAMES; i++)
        size += c[i].n + 1;
    char *p = malloc(size);
    if (!p)
        return VB_EMEM;
    for (int i = 0; i < NAMES; i++) {
        it->name[i] = p;
        memcpy(p, c[i].s, c[i].n);
        p[c[i].n] = 0;
        p += c[i].n + 1;
    }
    return VB_OK;
}

static enum vb_err
take_row(struct reader *r, const struct vb_row *row)
{
    struct vb_text c[COLUMNS];
    struct item it = {.file = r->n_files - 1, .seq = r->n, .line = row->line};
    for (int i = 0; i < COLUMNS; i++) {
        c[i] = vb_text_trim(row->cell[r->at[i]]);
        if (c[i].n == 0) {
            refuse(r, vb_csv_name(r->csv), row->line, columns[i], "blank");
            return VB_OK;
        }
    }
    if (!take_trial(r, row, c[TRIAL], &it.t.trial) || !take_value(r, row, c, &it.t))
        return VB_OK;
    if (r->n == r->size) {
        size_t size = r->size ? 2 * r->size : 256;
        struct item *p = NULL;
        if (size <= SIZE_MAX / sizeof *p) // GCOVR_EXCL_BR_LINE: no file is so long
            p = realloc(r->item, size * sizeof *p);
        if (!p)
            return VB_EMEM;
        r->item = p;
        r->size = size;
    }
    enum vb_err e = take_names(c, &it);
    if (!e)
        r->item[r->n++] = it;
    return e;
}

/* --- one file ---------------------------------------------------------------------- */

static enum vb_err
heading_wrong(struct reader *r, const char *what, const char *name, size_t n)
{
    char q[64];
    vb_msg_set(r->m, "%s '%s' in table trials", what, vb_quote(name, n, q, sizeof q));
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
                                 name.s, name.n);
        has[k] = 1;
        r->at[k] = i;
    }
    for (int k = 0; k < COLUMNS; k++)
        if (!has[k])
            return heading_wrong(r, "no column", columns[k], strlen(columns[k]));
    r->n_cols = h->n;
    return VB_OK;
}

/* Cells too many do no harm if they are blank. */
static int
fits(const struct reader *r, const struct vb_row *row)
{
    if (row->n < r->n_cols)
        return 0;
    for (size_t i = r->n_cols; i < row->n; i++)
        if (row->cell[i].n)
            return 0;
    return 1;
}

static enum vb_err
take_rows(struct reader *r)
{
    struct vb_row row = {0};
    for (;;) {
        enum vb_err e = vb_csv_next(r->csv, &row, r->m);
        const char *name = vb_csv_name(r->csv);
        if (e == VB_EEND)
            return VB_OK;
        if (e && e != VB_ESYNTAX)
            return e;
        if (e) {
            refuse(r, name, row.line, NULL, "%s", r->m->text);
            vb_msg_clear(r->m);
        } else if (fits(r, &row)) {
            if ((e = take_row(r, &row)))
                return e;
        } else if (row.lines > 1) {
            vb_csv_split(r->csv, &row);
            refuse(r, name, row.line, NULL, "unclosed quote");
        } else {
            refuse(r, name, row.line, NULL, VB_CELLS_WANTED, VB_CELLS(row.n), r->n_cols);
        }
    }
}

static enum vb_err
take_file(struct reader *r, const char *path)
{
    struct vb_input *in;
    struct vb_row row = {0};
    enum vb_err e = vb_input_open(path, "", &in, r->m);
    if (!e)
        e = vb_csv_new(in, ',', &r->csv);
    if (e)
        return e;
    e = VB_EMEM;
    if (!(r->file[r->n_files] = strdup(vb_csv_name(r->csv))))
        goto out;
    r->n_files++;
    e = vb_csv_next(r->csv, &row, r->m);
    if (e == VB_EEND) {
        vb_msg_at(r->m, vb_csv_name(r->csv), 0, NULL);
        vb_msg_set(r->m, "empty: a table begins with its heading");
        e = VB_ESYNTAX;
    } else if (!e) {
        e = take_heading(r, &row);
    }
    if (!e) {
        vb_msg_clear(r->m);
        e = take_rows(r);
    }
out:
    vb_csv_free(r->csv);
    r->csv = NULL;
    return e;
}

/* --- all of them ------------------------------------------------------------------- */

static int
by_name(const struct item *a, const struct item *b, int axis)
{
    return strcmp(a->name[axis], b->name[axis]);
}

static int
by_gauge_name(const void *a, const void *b)
{
    return by_name(a, b, GAUGE);
}

static int
by_part_name(const void *a, const void *b)
{
    return by_name(a, b, PART);
}

static int
by_person_name(const void *a, const void *b)
{
    return by_name(a, b, BY);
}

static int
order(size_t a, size_t b)
{
    return (a > b) - (a < b);
}

static int
by_place(const void *pa, const void *pb)
{
    const struct vb_trial *a = &((const struct item *)pa)->t;
    const struct vb_trial *b = &((const struct item *)pb)->t;
    int c = order(a->gauge, b->gauge);
    c = c ? c : order(a->part, b->part);
    c = c ? c : order(a->person, b->person);
    return c ? c : order(a->trial, b->trial);
}

static int
by_place_and_seq(const void *pa, const void *pb)
{
    int c = by_place(pa, pb);
    return c ? c : order(((const struct item *)pa)->seq, ((const struct item *)pb)->seq);
}

/* Number the names of one kind and keep one of each. */
static enum vb_err
number_names(struct reader *r, int axis, char ***names, size_t *n)
{
    static int (*const by[NAMES])(const void *, const void *) = {
        by_gauge_name, by_part_name, by_person_name};
    char **p = malloc((r->n + 1) * sizeof *p);
    if (!p)
        return VB_EMEM;
    *names = p;
    if (r->n > 0)
        qsort(r->item, r->n, sizeof *r->item, by[axis]);
    for (size_t i = 0; i < r->n; i++) {
        struct item *it = &r->item[i];
        if (i == 0 || by_name(it - 1, it, axis) != 0) {
            if (!(p[*n] = strdup(it->name[axis])))
                return VB_EMEM;
            ++*n;
        }
        size_t k = *n - 1;
        *(axis == GAUGE ? &it->t.gauge : axis == PART ? &it->t.part : &it->t.person) = k;
    }
    return VB_OK;
}

/* As it may have been written, in mm; VB_BLADES_MAX bytes. The width can be halved, since
 * the sum of the two blades could: both are even or both are not. */
static void
value_text(const struct vb_trial *t, char *out)
{
    const struct vb_dec half = {5, 1}, minus_half = {-5, 1};
    struct vb_dec up = {0, 0}, down = {0, 0};
    struct vb_blades b = {t->mm, t->mm};
    if (t->width.mant) {
        (void)vb_dec_mul(t->width, half, &up);
        (void)vb_dec_mul(t->width, minus_half, &down);
        (void)vb_dec_add(t->mm, down, &b.go);
        (void)vb_dec_add(t->mm, up, &b.nogo);
    }
    vb_blades_format(b, out);
}

/* first stands; it says the same, or is refused. */
static void
meet(struct reader *r, const struct item *first, const struct item *it)
{
    char here[VB_BLADES_MAX], there[VB_BLADES_MAX];
    value_text(&it->t, here);
    value_text(&first->t, there);
    if (strcmp(here, there) != 0)
        refuse(r, r->file[it->file], it->line, columns[VALUE],
               "%s mm here, %s mm in line %llu of %s", here, there, first->line,
               r->file[first->file]);
}

static enum vb_err
finish(struct reader *r, struct vb_trials *t)
{
    enum vb_err e = number_names(r, GAUGE, &t->gauge, &t->n_gauges);
    if (!e)
        e = number_names(r, PART, &t->part, &t->n_parts);
    if (!e)
        e = number_names(r, BY, &t->person, &t->n_people);
    if (!e && !(t->trial = malloc((r->n + 1) * sizeof *t->trial)))
        e = VB_EMEM;
    if (e)
        return e;
    if (r->n > 0)
        qsort(r->item, r->n, sizeof *r->item, by_place_and_seq);
    for (size_t i = 0, first = 0; i < r->n; i++) {
        if (i > 0 && by_place(&r->item[first], &r->item[i]) == 0) {
            meet(r, &r->item[first], &r->item[i]);
            continue;
        }
        first = i;
        t->trial[t->n++] = r->item[i].t;
    }
    t->refused = r->refused;
    return VB_OK;
}

enum vb_err
vb_trials_read(char *const *path, size_t n, vb_tell *tell, void *arg,
               struct vb_trials *out, struct vb_msg *m)
{
    struct vb_msg unheard = {0};
    struct vb_trials t = {0};
    struct reader r = {.tell = tell, .arg = arg, .m = m ? m : &unheard};
    enum vb_err e = (r.file = calloc(n, sizeof *r.file)) ? VB_OK : VB_EMEM;
    for (size_t i = 0; !e && i < n; i++)
        e = take_file(&r, path[i]);
    if (!e)
        e = finish(&r, &t);
    for (size_t i = 0; i < r.n; i++)
        free(r.item[i].name[0]);
    for (size_t i = 0; i < r.n_files; i++)
        free(r.file[i]);
    free(r.item);
    free(r.file);
    if (e)
        vb_trials_clear(&t);
    else
        *out = t;
    return e;
}

static void
free_names(char **name, size_t n)
{
    for (size_t i = 0; name && i < n; i++)
        free(name[i]);
    free(name);
}

void
vb_trials_clear(struct vb_trials *t)
{
    free_names(t->gauge, t->n_gauges);
    free_names(t->part, t->n_parts);
    free_names(t->person, t->n_people);
    free(t->trial);
    memset(t, 0, sizeof *t);
}
