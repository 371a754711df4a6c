/*
 * What can be told from bytes and from the look of numbers, before any word is read:
 * encoding, delimiter, decimal mark and group mark.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "draft.h"
#include "plain.h"
#include "valvebook/input.h"

void
draft_sample_clear(struct draft_sample *s)
{
    for (size_t i = 0; i < s->n; i++)
        free(s->row[i].cell);
    free(s->row);
    memset(s, 0, sizeof *s);
}

/* Bytes that begin with n bytes of valid UTF-8, but for a sequence cut off at the end. */
static int
is_utf8(const unsigned char *s, size_t n, int cut)
{
    for (size_t i = 0; i < n;) {
        size_t len = s[i] < 0x80   ? 1
                     : s[i] < 0xc2 ? 0
                     : s[i] < 0xe0 ? 2
                     : s[i] < 0xf0 ? 3
                                   : 4;
        if (len == 0 || s[i] > 0xf4)
            return 0;
        for (size_t k = 1; k < len; k++) {
            if (i + k == n)
                return cut;
            if ((s[i + k] & 0xc0) != 0x80)
                return 0;
        }
        i += len;
    }
    return 1;
}

/* A byte order mark never arrives here: vb_input has decoded such a file already. */
static void
guess_encoding(const char *raw, size_t n, int cut, struct draft_shape *s)
{
    size_t zero[2] = {0, 0}, high = 0;
    for (size_t i = 0; i < n; i++) {
        zero[i & 1] += raw[i] == 0;
        high += (unsigned char)raw[i] >= 0x80;
    }
    const char *why = "plain ASCII";
    s->encoding = "UTF-8";
    if (zero[1] > n / 8 && zero[0] < zero[1] / 8) {
        s->encoding = "UTF-16LE";
        why = "every other byte is zero, the second of each pair";
    } else if (zero[0] > n / 8 && zero[1] < zero[0] / 8) {
        s->encoding = "UTF-16BE";
        why = "every other byte is zero, the first of each pair";
    } else if (high && is_utf8((const unsigned char *)raw, n, cut)) {
        why = "valid UTF-8, or a byte order mark says so";
    } else if (high) {
        s->encoding = "WINDOWS-1252";
        why = "not UTF-8: taken for the usual western encoding; check umlauts and degree "
              "signs";
    }
    snprintf(s->why_encoding, sizeof s->why_encoding, "%s", why);
}

static enum vb_err
keep_row(struct draft_sample *s, const struct vb_row *row, size_t record)
{
    if (s->n == s->size) {
        size_t size = s->size ? 2 * s->size : 64;
        struct draft_row *p = realloc(s->row, size * sizeof *p);
        if (!p)
            return VB_EMEM;
        s->row = p;
        s->size = size;
    }
    size_t bytes = 1;
    for (size_t i = 0; i < row->n; i++)
        bytes += row->cell[i].n;
    struct vb_text *cell = malloc(row->n * sizeof *cell + bytes);
    if (!cell)
        return VB_EMEM;
    char *to = (char *)(cell + row->n);
    for (size_t i = 0; i < row->n; i++) {
        char buf[PLAIN_MAX];
        struct vb_text t = plain_number(row->cell[i], buf);
        if (!t.n || !strchr("0123456789-+", *t.s)) // a word stays as it is
            t = row->cell[i];
        cell[i] = (struct vb_text){to, t.n};
        if (t.n)
            memcpy(to, t.s, t.n);
        to += t.n;
    }
    s->row[s->n++] = (struct draft_row){cell, row->n, row->line, record, 0};
    return VB_OK;
}

static enum vb_err
read_sample(const char *raw, size_t n, const char *encoding, char delim,
            struct draft_sample *s)
{
    struct vb_input *in = NULL;
    struct vb_csv *c = NULL;
    struct vb_row row = {0};
    struct plain_row plain = {0};
    enum vb_err e = vb_input_memory(raw, n, DRAFT_BYTES, encoding, &in, NULL);
    if (!e)
        e = vb_csv_new(in, delim, &c);
    for (size_t i = 0; !e && i < DRAFT_ROWS; i++) {
        e = vb_csv_next(c, &row, NULL);
        if (!e && row.n <= DRAFT_COLS)
            e = plain_cells(&plain, &row) ? VB_EMEM : keep_row(s, &row, i);
        else if (e == VB_ESYNTAX)
            e = VB_OK;
    }
    vb_csv_free(c);
    plain_free(&plain);
    if (e && e != VB_EEND)
        draft_sample_clear(s);
    return e == VB_EEND ? VB_OK : e;
}

/* look - the digits and marks of one number. */
struct look {
    size_t points, commas, spaces, apostrophes;
    size_t lead, tail; // digits before the first mark and behind the last
    char last;
    int zero; // begins with 0
};

static int
is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static int
three_digits(const char *s, size_t n)
{
    return n >= 3 && is_digit(s[0]) && is_digit(s[1]) && is_digit(s[2]) &&
           (n == 3 || !is_digit(s[3]));
}

/* What may follow a number: nothing, a unit, or a dead centre. */
static int
good_rest(struct vb_text rest)
{
    size_t n = rest.n;
    return n == 0 || vb_unit_find(rest.s, n) ||
           (n >= 4 && (rest.s[n - 2] | 32) == 'd' && (rest.s[n - 1] | 32) == 'c');
}

static int
look_at(struct vb_text t, struct look *k)
{
    size_t i = 0, digits = 0;
    memset(k, 0, sizeof *k);
    t = vb_text_trim(t);
    i = t.n && (*t.s == '-' || *t.s == '+');
    k->zero = i < t.n && t.s[i] == '0';
    for (; i < t.n; i++) {
        char c = t.s[i];
        int mark =
            c == '.' || c == ',' ||
            ((c == ' ' || c == '\'') && digits && three_digits(t.s + i + 1, t.n - i - 1));
        if (is_digit(c)) {
            digits++;
            k->tail++;
        } else if (mark) {
            if (!k->last)
                k->lead = k->tail;
            k->points += c == '.';
            k->commas += c == ',';
            k->spaces += c == ' ';
            k->apostrophes += c == '\'';
            k->last = c;
            k->tail = 0;
        } else {
            break;
        }
    }
    return digits && good_rest(vb_text_trim((struct vb_text){t.s + i, t.n - i}));
}

/* tally - what all numbers together say of the marks. */
struct tally {
    size_t decimal[2], group[2], either[2]; // point, comma
    size_t meter[2];                        // either, in a column headed as a meter
    size_t spaces, apostrophes;
};

static void
count_cell(struct tally *y, struct vb_text t, int meter)
{
    struct look k;
    if (!look_at(t, &k))
        return;
    y->spaces += k.spaces > 0;
    y->apostrophes += k.apostrophes > 0;
    if (k.points && k.commas) {
        int comma = k.last == ',';
        if ((comma ? k.commas : k.points) == 1) {
            y->decimal[comma]++;
            y->group[!comma]++;
        }
    } else if (k.points + k.commas > 0) {
        int comma = k.commas > 0;
        if (k.points + k.commas > 1)
            y->group[comma] += k.tail == 3 && k.lead >= 1 && k.lead <= 3;
        else if (k.tail == 3 && k.lead >= 1 && k.lead <= 3 && !k.zero)
            y->either[comma]++, y->meter[comma] += meter != 0;
        else
            y->decimal[comma]++;
    }
}

static void
guess_group(struct draft_shape *s, const struct tally *y)
{
    int comma = s->decimal == ',';
    size_t other = y->group[!comma] + y->either[!comma];
    if (other)
        s->group = comma ? '.' : ',';
    else if (y->spaces || y->apostrophes)
        s->group = y->spaces >= y->apostrophes ? ' ' : '\'';
    if (other)
        snprintf(s->why_group, sizeof s->why_group,
                 "%zu numbers have it between groups of three digits%s", other,
                 y->group[!comma] ? ""
                                  : "; UNCERTAIN, it might be a decimal mark: check");
    else
        snprintf(s->why_group, sizeof s->why_group,
                 "%zu numbers have it before three digits", y->spaces + y->apostrophes);
}

static void
count_all(const struct draft_sample *s, struct tally *y)
{
    int score;
    size_t heading = draft_heading(s, &score);
    unsigned char meter[DRAFT_COLS] = {0};
    struct draft_head h;
    for (size_t k = 0; heading != NO_ROW && k < s->row[heading].n; k++) {
        draft_words(s->row[heading].cell[k], &h);
        meter[k] = (h.flags & D_METER) && !(h.flags & D_QUANTITY);
    }
    for (size_t i = 0; i < s->n; i++)
        for (size_t k = 0; k < s->row[i].n; k++)
            count_cell(y, s->row[i].cell[k], meter[k]);
}

static void
guess_decimal(struct draft *d)
{
    struct tally y = {0};
    struct draft_shape *s = &d->shape;
    count_all(&d->sample, &y);
    size_t group[2] = {y.group[0] + y.meter[0], y.group[1] + y.meter[1]};
    int sure = y.decimal[0] != y.decimal[1] || group[0] != group[1];
    int comma = y.decimal[1] != y.decimal[0] ? y.decimal[1] > y.decimal[0]
                : group[0] != group[1]       ? group[0] > group[1]
                                             : y.either[1] > y.either[0];
    s->decimal = comma ? ',' : '.';
    size_t other = y.decimal[!comma], own = y.decimal[comma];
    if (!sure && y.either[0] + y.either[1])
        snprintf(s->why_decimal, sizeof s->why_decimal,
                 "UNCERTAIN: every mark stands before three digits and might separate "
                 "thousands: check");
    else if (other)
        snprintf(s->why_decimal, sizeof s->why_decimal,
                 "%zu numbers have it, but %zu have the other mark and may be refused",
                 own, other);
    else
        snprintf(s->why_decimal, sizeof s->why_decimal,
                 own ? "%zu numbers have it" : "%zu numbers have any decimals", own);
    guess_group(s, &y);
}

int
draft_number(const struct draft_shape *s, struct vb_text t, double *x,
             struct vb_text *rest)
{
    struct vb_dec v;
    size_t used;
    t = vb_text_trim(t);
    if (vb_dec_prefix(t.s, t.n, s->decimal, s->group, &v, &used))
        return 0;
    *rest = vb_text_trim((struct vb_text){t.s + used, t.n - used});
    *x = vb_dec_double(v);
    return good_rest(*rest);
}

int
draft_thousands(const struct draft_shape *s, struct vb_text t)
{
    struct look k;
    if (!look_at(t, &k) || !(s->decimal == ',' ? k.commas : k.points))
        return 0;
    return k.last == s->decimal && k.tail == 3 && k.lead <= 3 && !k.zero ? 1 : -1;
}

/* The number of cells that most records have, of those with more than one. */
static size_t
usual_width(const struct draft_sample *s, size_t *how_many)
{
    size_t count[DRAFT_COLS + 1] = {0}, best = 1;
    for (size_t i = 0; i < s->n; i++)
        count[s->row[i].n]++;
    count[1] = 0;
    for (size_t w = 2; w <= DRAFT_COLS; w++)
        if (count[w] > 0 && count[w] >= count[best])
            best = w;
    *how_many = count[best];
    return best;
}

/* One number a line, "0,15": the comma is no delimiter, though it cuts every line alike.
 */
static int
is_one_column(const struct draft_sample *s)
{
    size_t commas = 0, numbers = 0;
    struct look k;
    for (size_t i = 0; i < s->n; i++)
        if (s->row[i].n == 1 && look_at(s->row[i].cell[0], &k)) {
            numbers++;
            commas += k.commas == 1 && !k.points;
        }
    return commas && numbers * 5 >= s->n * 4;
}

static int
rate(const struct draft_sample *s, size_t *width)
{
    size_t alike;
    int score = 0;
    *width = usual_width(s, &alike);
    if (*width < 2)
        return 0;
    draft_heading(s, &score);
    score = score < 0 ? 0 : score > 15 ? 15 : score;
    return (int)(alike * 100 / s->n) + 10 * score;
}

static enum vb_err
guess_delimiter(const char *raw, size_t n, struct draft *d)
{
    static const struct {
        char mark;
        const char *word;
    } marks[] = {{';', "semicolon"}, {'\t', "tab"}, {'|', "pipe"}, {',', "comma"}};
    struct draft_shape *s = &d->shape;
    int best = -1, one = 0;
    for (size_t i = 0; i < sizeof marks / sizeof *marks && !one; i++) {
        struct draft_sample t = {0};
        size_t width;
        enum vb_err e = read_sample(raw, n, s->encoding, marks[i].mark, &t);
        if (e)
            return e;
        one = marks[i].mark == ';' && is_one_column(&t);
        int score = rate(&t, &width);
        if (score > best || (score == 0 && best == 0)) {
            best = score;
            s->delim = marks[i].mark;
            s->delim_word = marks[i].word;
            snprintf(s->why_delim, sizeof s->why_delim, "%s%zu column%s in most lines",
                     one ? "numbers with a decimal comma, one a line; " : "", width,
                     width == 1 ? "" : "s");
            draft_sample_clear(&d->sample);
            d->sample = t;
        } else {
            draft_sample_clear(&t);
        }
    }
    return VB_OK;
}

enum vb_err
draft_shape(const char *raw, size_t n, int cut, struct draft *d)
{
    guess_encoding(raw, n, cut, &d->shape);
    enum vb_err e = guess_delimiter(raw, n, d);
    if (e)
        return e;
    if (cut && d->sample.n > 1 && d->sample.n < DRAFT_ROWS)
        free(d->sample.row[--d->sample.n].cell);
    guess_decimal(d);
    return VB_OK;
}
