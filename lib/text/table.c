#include "valvebook/table.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "valvebook/digits.h"
#include "valvebook/number.h"
#include "valvebook/utf8.h"

const char vb_cautions[] =
    "\nBefore working on an engine: turn it by hand only, with ignition, fuel and "
    "starting\n"
    "disabled; hot parts burn; valve springs store energy. The engine maker's manual, "
    "the\n"
    "rules of your class or fleet, local codes and a qualified mechanic come before "
    "anything\n"
    "printed here. A forecast is an estimate from past readings, not a promise that an\n"
    "engine is safe to run.\n";

struct vb_table {
    struct vb_out *out;
    enum vb_format format;
    const struct vb_field *field;
    size_t n, at; // columns; of the next cell
    char **cell;  // tables only: all cells, row by row
    size_t n_cells, size;
    int *decimals; // tables only, by column: one more than vb_table_figures wants
    int oom;
};

int
vb_format_parse(const char *s, enum vb_format *out)
{
    static const struct {
        const char *name;
        enum vb_format f;
    } known[] = {
        {"csv", VB_FORMAT_CSV}, {"json", VB_FORMAT_JSON}, {"table", VB_FORMAT_TABLE}};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        if (strcmp(s, known[i].name) == 0) {
            *out = known[i].f;
            return 1;
        }
    return 0;
}

enum vb_format
vb_format_auto(enum vb_format f)
{
    if (f != VB_FORMAT_AUTO)
        return f;
    return isatty(STDOUT_FILENO) ? VB_FORMAT_TABLE : VB_FORMAT_CSV;
}

static void
end_row(struct vb_table *t)
{
    if (t->format == VB_FORMAT_SHEET)
        vb_out_text(t->out, "\r");
    vb_out_end(t->out);
}

enum vb_err
vb_table_new(struct vb_out *out, enum vb_format format, const struct vb_field *field,
             size_t n, struct vb_table **t)
{
    struct vb_table *p = calloc(1, sizeof *p);
    if (!p)
        return VB_EMEM;
    *p = (struct vb_table){
        .out = out, .format = vb_format_auto(format), .field = field, .n = n};
    if (!(p->decimals = calloc(n, sizeof *p->decimals))) {
        free(p);
        return VB_EMEM;
    }
    int csv = p->format == VB_FORMAT_CSV || p->format == VB_FORMAT_SHEET;
    if (p->format == VB_FORMAT_SHEET)
        vb_out_text(out, "\xef\xbb\xbf");
    for (size_t i = 0; csv && i < n; i++)
        vb_out_cell(out, field[i].name, strlen(field[i].name));
    if (csv)
        end_row(p);
    *t = p;
    return VB_OK;
}

static void
json_string(struct vb_out *o, const char *s)
{
    char esc[8];
    vb_out_bytes(o, "\"", 1);
    for (; *s; s++) {
        unsigned char c = (unsigned char)*s;
        if (c == '"' || c == '\\' || c < 0x20) {
            snprintf(esc, sizeof esc, c < 0x20 ? "\\u%04x" : "\\%c", c);
            vb_out_text(o, esc);
        } else {
            vb_out_bytes(o, s, 1);
        }
    }
    vb_out_bytes(o, "\"", 1);
}

static void
json_cell(struct vb_table *t, const char *s)
{
    vb_out_text(t->out, t->at == 0 ? "{" : ",");
    json_string(t->out, t->field[t->at].name);
    vb_out_text(t->out, ":");
    if (!t->field[t->at].number)
        json_string(t->out, s);
    else
        vb_out_text(t->out, *s ? s : "null");
    if (t->at + 1 == t->n)
        vb_out_text(t->out, "}\n");
}

/* 2026-11-01: what is meant as a date may become one. */
static int
is_date(const char *s)
{
    return strlen(s) == 10 && strspn(s, "0123456789") == 4 && s[4] == '-' &&
           strspn(s + 5, "0123456789") == 2 && s[7] == '-' &&
           strspn(s + 8, "0123456789") == 2;
}

/* Would a spreadsheet make a formula, a number, or a date or time of day such as 12-3 of this
 * text? */
static int
misread(const char *s)
{
    size_t n = strlen(s), mark = *s == '.' || *s == ',';
    if (*s && strchr("=+-@", *s))
        return 1;
    return s[mark] >= '0' && s[mark] <= '9' && strspn(s, "0123456789.,eE%-/:") == n &&
           !is_date(s);
}

static void
sheet_cell(struct vb_table *t, const char *s)
{
    const char *end = s + strlen(s), *ch;
    size_t n, k = 0, guard = !t->field[t->at].number && misread(s);
    char *plain = malloc(3 * (size_t)(end - s) + 2); // a byte becomes three at most
    if (!plain) {
        t->oom = 1;
        return;
    }
    if (guard)
        plain[k++] = '\'';
    while ((n = vb_utf8_next(&s, end, &ch))) {
        memcpy(plain + k, ch, n);
        k += n;
    }
    vb_out_cell(t->out, plain, k);
    free(plain);
}

static void
keep(struct vb_table *t, const char *s)
{
    if (t->n_cells == t->size) {
        size_t size = t->size ? 2 * t->size : 256;
        char **p = realloc(t->cell, size * sizeof *p);
        if (!p) {
            t->oom = 1;
            return;
        }
        t->cell = p;
        t->size = size;
    }
    if ((t->cell[t->n_cells] = strdup(s)))
        t->n_cells++;
    else
        t->oom = 1;
}

static void
put(struct vb_table *t, const char *s)
{
    if (t->format == VB_FORMAT_CSV && t->field[t->at].number)
        vb_out_plain(t->out, s, strlen(s));
    else if (t->format == VB_FORMAT_CSV)
        vb_out_cell(t->out, s, strlen(s));
    else if (t->format == VB_FORMAT_JSON)
        json_cell(t, s);
    else if (t->format == VB_FORMAT_SHEET)
        sheet_cell(t, s);
    else
        keep(t, s);
    t->at = (t->at + 1) % t->n;
    if (t->at == 0 && (t->format == VB_FORMAT_CSV || t->format == VB_FORMAT_SHEET))
        end_row(t);
}

void
vb_table_text(struct vb_table *t, const char *s)
{
    put(t, s);
}

/* Below 10^9 a number of six decimals has 15 digits at most, which a double tells apart;
 * from 10^15 on a double has no decimals to round. Likewise with up to nine. */
static void
machine_number(double x, int decimals, char *text)
{
    static const double scale[] = {1e6, 1e7, 1e8, 1e9};
    double by = scale[decimals - 6];
    if (fabs(x) * by < 1e15)
        vb_dec_format((struct vb_dec){(int64_t)round(x * by), decimals}, text);
    else
        vb_double_format(fabs(x) < 1e15 ? round(x * 1e6) / 1e6 : x, text);
}

void
vb_table_number(struct vb_table *t, double x)
{
    char text[64] = "";
    if (isfinite(x) && t->format == VB_FORMAT_TABLE)
        vb_digits_print(x, t->field[t->at].decimals, text, sizeof text);
    else if (isfinite(x))
        machine_number(x, 6, text);
    put(t, text);
}

/* Six decimals, more for an uncertainty of which they would leave less than two digits. */
static void
machine_figures(struct vb_table *t, const double *x, size_t n, double u)
{
    int decimals = u > 0 ? vb_digits(0, u, 6) : 6; // not for the figure itself
    for (size_t i = 0; i < n; i++) {
        char text[VB_NUM_MAX] = "";
        if (isfinite(x[i]))
            machine_number(x[i], decimals, text);
        put(t, text);
    }
}

/* In a table they wait for the row of their column that needs most decimals. */
void
vb_table_figures(struct vb_table *t, const double *x, size_t n, double u)
{
    char text[VB_NUM_MAX];
    if (t->format != VB_FORMAT_TABLE) {
        machine_figures(t, x, n, u);
        return;
    }
    for (size_t i = 0; i < n; i++) {
        int need = vb_digits(x[0], u, t->field[t->at].decimals);
        if (t->decimals[t->at] <= need)
            t->decimals[t->at] = need + 1;
        snprintf(text, sizeof text, isfinite(x[i]) ? "%.17g" : "", x[i]);
        put(t, text);
    }
}

void
vb_table_pair(struct vb_table *t, double x, double u)
{
    const double cell[] = {x, u};
    vb_table_figures(t, cell, 2, u);
}

/* What waited gets the decimals of its column. */
static void
settle(struct vb_table *t)
{
    char text[64];
    for (size_t i = 0; i < t->n_cells; i++) {
        int decimals = t->decimals[i % t->n] - 1;
        if (decimals < 0 || !*t->cell[i])
            continue;
        vb_digits_print(strtod(t->cell[i], NULL), decimals, text, sizeof text);
        char *s = strdup(text);
        if (!s) {
            t->oom = 1;
            return;
        }
        free(t->cell[i]);
        t->cell[i] = s;
    }
}

static void
spaces(struct vb_out *o, size_t n)
{
    while (n-- > 0)
        vb_out_bytes(o, " ", 1);
}

static size_t
width_of(const char *s)
{
    return vb_utf8_width(s, strlen(s));
}

static void
line(struct vb_table *t, const char *(*get)(struct vb_table *, size_t, size_t),
     size_t row, const size_t *width)
{
    size_t end = t->n;
    while (end > 0 && !t->field[end - 1].heading)
        end--;
    for (size_t i = 0; i < end; i++) {
        if (!t->field[i].heading)
            continue;
        const char *s = get(t, row, i);
        size_t pad = width[i] - width_of(s);
        int last = i + 1 == end;
        if (t->field[i].number)
            spaces(t->out, pad);
        vb_out_shown(t->out, s, strlen(s));
        if (!last)
            spaces(t->out, (t->field[i].number ? 0 : pad) + 2);
    }
    vb_out_text(t->out, "\n");
}

static const char *
get_heading(struct vb_table *t, size_t row, size_t col)
{
    (void)row;
    return t->field[col].heading;
}

static const char *
get_cell(struct vb_table *t, size_t row, size_t col)
{
    return t->cell[row * t->n + col];
}

static enum vb_err
print(struct vb_table *t, const char *none)
{
    size_t rows = t->n_cells / t->n, *width = calloc(t->n, sizeof *width);
    settle(t);
    if (!width || t->oom) {
        free(width);
        return VB_EMEM;
    }
    if (rows == 0 && *none) {
        vb_out_text(t->out, none);
        vb_out_text(t->out, "\n");
    }
    for (size_t i = 0; i < t->n; i++) {
        if (!t->field[i].heading)
            continue;
        width[i] = width_of(t->field[i].heading);
        for (size_t r = 0; r < rows; r++)
            if (width_of(get_cell(t, r, i)) > width[i])
                width[i] = width_of(get_cell(t, r, i));
    }
    if (rows)
        line(t, get_heading, 0, width);
    for (size_t r = 0; r < rows; r++)
        line(t, get_cell, r, width);
    free(width);
    return VB_OK;
}

enum vb_err
vb_table_end(struct vb_table *t, const char *none)
{
    struct vb_out *out = t && t->format == VB_FORMAT_TABLE ? t->out : NULL;
    enum vb_err e = vb_table_part(t, none);
    if (!e && out)
        vb_out_text(out, vb_cautions);
    return e;
}

enum vb_err
vb_table_part(struct vb_table *t, const char *none)
{
    enum vb_err e = VB_OK;
    if (!t)
        return VB_OK;
    if (t->format == VB_FORMAT_TABLE)
        e = print(t, none);
    else if (t->oom)
        e = VB_EMEM;
    for (size_t i = 0; i < t->n_cells; i++)
        free(t->cell[i]);
    free(t->cell);
    free(t->decimals);
    free(t);
    return e;
}
