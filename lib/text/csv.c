/*
 * Records are cut here, because only so can a quote that is never closed cost one line
 * instead of the rest of the file, and a rejected record be kept as it stood. A record
 * without quotes, which is nearly every record of nearly every file, is taken apart in
 * place; one with quotes goes to libcsv.
 */
#include "valvebook/csv.h"

#include <stdlib.h>
#include <string.h>

#include <csv.h>
#include <zlib.h>

#include "valvebook/utf8.h"

#define FIRST_SIZE (128 * 1024)
#define FILL       65536

struct vb_csv {
    struct vb_input *in;
    char delim;
    char eol; // 0 until the first line is seen, then '\n' or '\r'
    char *buf;
    size_t at, end, size;
    int ended;
    int midline; // the rest of a line too long to be held is still to come
    int crc_wanted;
    uint32_t crc; // of all bytes before buf[crc_at]
    size_t crc_at;
    unsigned long long line; // of buf[at]
    struct vb_text *cell;
    size_t n_cells, cells_size;
    char *store; // unquoted cells
    size_t store_n, store_size;
    struct csv_parser parser;
    size_t rows; // that libcsv sees in one record: more than one is a stray CR
    int oom;
};

static int
no_space(unsigned char c)
{
    (void)c;
    return 0;
}

enum vb_err
vb_csv_new(struct vb_input *in, char delim, struct vb_csv **out)
{
    struct vb_csv *c = calloc(1, sizeof *c);
    if (!c) {
        vb_input_close(in);
        return VB_EMEM;
    }
    c->in = in;
    c->delim = delim;
    c->line = 1;
    c->size = FIRST_SIZE;
    c->buf = malloc(c->size);
    if (!c->buf || csv_init(&c->parser, 0)) { // GCOVR_EXCL_BR_LINE: it fails on NULL only
        free(c->buf);
        free(c);
        vb_input_close(in);
        return VB_EMEM;
    }
    csv_set_delim(&c->parser, (unsigned char)delim);
    csv_set_space_func(&c->parser, no_space);
    *out = c;
    return VB_OK;
}

void
vb_csv_free(struct vb_csv *c)
{
    if (!c)
        return;
    vb_input_close(c->in);
    csv_free(&c->parser);
    free(c->buf);
    free(c->cell);
    free(c->store);
    free(c);
}

int
vb_csv_other_mark(const struct vb_row *heading, struct vb_msg *m)
{
    static const char marks[] = ";\t|";
    const struct vb_text *c = heading->cell;
    if (heading->n != 1 || !c->n)
        return 0;
    for (const char *p = marks; *p; p++) {
        if (!memchr(c->s, *p, c->n))
            continue;
        if (*p == '\t')
            vb_msg_set(m, "cells separated by tabs: a tidy table has commas; valve-tidy "
                          "reads exports");
        else
            vb_msg_set(m,
                       "cells separated by '%c': a tidy table has commas; valve-tidy "
                       "reads exports",
                       *p);
        return 1;
    }
    return 0;
}

const char *
vb_csv_name(const struct vb_csv *c)
{
    return vb_input_name(c->in);
}

static enum vb_err
more_cells(struct vb_csv *c)
{
    size_t size = c->cells_size ? 2 * c->cells_size : 64;
    struct vb_text *p = realloc(c->cell, size * sizeof *p);
    if (!p)
        return VB_EMEM;
    c->cell = p;
    c->cells_size = size;
    return VB_OK;
}

static inline enum vb_err
add_cell(struct vb_csv *c, const char *s, size_t n)
{
    if (c->n_cells == c->cells_size && more_cells(c))
        return VB_EMEM;
    c->cell[c->n_cells++] = (struct vb_text){s, n};
    return VB_OK;
}

static void
sum_up(struct vb_csv *c, size_t upto)
{
    if (c->crc_wanted && upto > c->crc_at)
        c->crc = (uint32_t)crc32(c->crc, (unsigned char *)c->buf + c->crc_at,
                                 (unsigned)(upto - c->crc_at));
    c->crc_at = upto;
}

void
vb_csv_sum(struct vb_csv *c)
{
    c->crc_wanted = 1;
}

uint32_t
vb_csv_crc(struct vb_csv *c, const struct vb_row *row)
{
    sum_up(c, (size_t)(row->raw.s - c->buf));
    return c->crc;
}

/* More bytes behind buf[end]; makes room first. *more = 0 at the end of the stream. */
static enum vb_err
fill(struct vb_csv *c, int *more, struct vb_msg *m)
{
    size_t got = 0;
    if (c->at > 0 && c->size - c->end < FILL) {
        sum_up(c, c->at);
        c->crc_at = 0;
        memmove(c->buf, c->buf + c->at, c->end - c->at);
        c->end -= c->at;
        c->at = 0;
    }
    if (c->size - c->end < FILL) {
        char *p = realloc(c->buf, 2 * c->size);
        if (!p)
            return VB_EMEM;
        c->buf = p;
        c->size *= 2;
    }
    enum vb_err e = vb_input_read(c->in, c->buf + c->end, FILL, &got, m);
    if (e)
        return e;
    c->end += got;
    c->ended = got == 0;
    *more = got > 0;
    return VB_OK;
}

/* Files whose lines end in CR alone are told by their first line, not by a guess. */
static enum vb_err
find_eol(struct vb_csv *c, struct vb_msg *m)
{
    int more = 1;
    while (more && c->end - c->at < FILL &&
           !memchr(c->buf + c->at, '\n', c->end - c->at)) {
        enum vb_err e = fill(c, &more, m);
        if (e)
            return e;
    }
    const char *lf = memchr(c->buf + c->at, '\n', c->end - c->at);
    const char *cr = memchr(c->buf + c->at, '\r', c->end - c->at);
    c->eol = cr && !lf ? '\r' : '\n';
    return VB_OK;
}

/* What a look at a record's bytes has found. */
struct look {
    size_t len;      // of the record, without its end of line
    size_t took;     // with it
    size_t lines;    // ends of line inside or behind it
    int quoted;      // a cell begins with a quote
    int nul, high;   // bytes that ask for a closer look
    const char *why; // not a record
};

/* Eight bytes at a time: the top bit of each byte of the result that is 0 in w. */
static inline uint64_t
zero_bytes(uint64_t w)
{
    const uint64_t low = UINT64_C(0x7f7f7f7f7f7f7f7f);
    return ~(((w & low) + low) | w | low);
}

/* Position of the first byte in memory whose top bit is set; w is not 0. */
static inline unsigned
first_byte(uint64_t w)
{
#if __BYTE_ORDER__ == __ORDER_LITTLE_ENDIAN__
    return (unsigned)__builtin_ctzll(w) / 8;
#else
    return (unsigned)__builtin_clzll(w) / 8;
#endif
}

static inline uint64_t
without_first(uint64_t w)
{
#if __BYTE_ORDER__ == __ORDER_LITTLE_ENDIAN__
    return w & (w - 1);
#else
    return w & ~(UINT64_C(0x8000000000000000) >> __builtin_clzll(w));
#endif
}

/* A cell ends at `end`; 0 if it begins with a quote, which asks for another reader. */
static inline int
plain_cell(struct vb_csv *c, const char **start, const char *end)
{
    if (end > *start && **start == '"')
        return 0;
    if (add_cell(c, *start, (size_t)(end - *start)))
        return 0;
    *start = end + 1;
    return 1;
}

/* Cut a line at its delimiters and note whether it has bytes that need a closer look. */
static int
cut_plain(struct vb_csv *c, const char *s, const char *stop, struct look *k)
{
    const uint64_t delims = UINT64_C(0x0101010101010101) * (unsigned char)c->delim;
    const uint64_t tops = UINT64_C(0x8080808080808080);
    uint64_t high = 0, zero = 0, w;
    const char *start = s;
    for (; stop - s >= 8; s += 8) {
        memcpy(&w, s, 8);
        high |= w;
        zero |= zero_bytes(w);
        for (uint64_t d = zero_bytes(w ^ delims); d; d = without_first(d))
            if (!plain_cell(c, &start, s + first_byte(d)))
                return 0;
    }
    for (; s < stop; s++) {
        high |= (unsigned char)*s;
        zero |= *s ? 0 : tops;
        if (*s == c->delim && !plain_cell(c, &start, s))
            return 0;
    }
    k->nul = zero != 0;
    k->high = (high & tops) != 0;
    return plain_cell(c, &start, stop);
}

/*
 * The plain case: one line without a cell that begins with a quote. Returns 0 when the
 * line is not whole yet or needs look_quoted.
 */
static int
look_plain(struct vb_csv *c, struct look *k)
{
    const char *s = c->buf + c->at;
    size_t left = c->end - c->at;
    const char *nl = memchr(s, c->eol, left);
    if (!nl && !c->ended)
        return 0;
    const char *stop = nl ? nl : s + left;
    if ((size_t)(stop - s) >= VB_RECORD_MAX)
        return 0;
    c->n_cells = 0;
    *k = (struct look){.lines = 1, .len = (size_t)(stop - s)};
    k->took = k->len + (nl ? 1 : 0);
    return cut_plain(c, s, stop, k);
}

static size_t
line_length(const struct vb_csv *c, size_t from)
{
    const char *s = c->buf + c->at + from;
    size_t left = c->end - c->at - from;
    const char *nl = memchr(s, c->eol, left);
    return nl ? (size_t)(nl - s) : left;
}

/*
 * Fall back to the first physical line as a record that cannot be read. Returns 0 when
 * that line is not whole yet.
 */
static int
look_give_up(struct vb_csv *c, struct look *k, const char *why)
{
    size_t line = line_length(c, 0), have = c->end - c->at;
    if (line == have && !c->ended && have < VB_RECORD_MAX)
        return 0;
    c->midline = line == have && !c->ended;
    k->len = line < VB_RECORD_MAX ? line : VB_RECORD_MAX;
    k->took = line + (line < have ? 1 : 0);
    k->lines = 1;
    k->why = why;
    return 1;
}

/* Walk over quotes. Returns 0 when the record is not whole yet. */
static int
look_quoted(struct vb_csv *c, struct look *k)
{
    const char *s = c->buf + c->at;
    size_t have = c->end - c->at, n = have < VB_RECORD_MAX ? have : VB_RECORD_MAX, i = 0;
    int inside = 0, first = 1, last = c->ended || n == VB_RECORD_MAX;
    *k = (struct look){.lines = 1, .quoted = 1};
    for (; i < n; i++) {
        char ch = s[i];
        k->nul |= !ch;
        k->high |= (unsigned char)ch >> 7;
        if (inside) {
            k->lines += ch == c->eol;
            if (ch != '"')
                continue;
            if (i + 1 < n && s[i + 1] == '"') {
                i++;
                continue;
            }
            inside = 0;
            if (i + 1 < n && s[i + 1] != c->delim && s[i + 1] != c->eol &&
                s[i + 1] != '\r')
                return look_give_up(c, k, "text behind a closing quote");
        } else if (ch == c->eol) {
            k->len = i;
            k->took = i + 1;
            return 1;
        } else if (ch == '"' && first) {
            inside = 1;
        }
        first = ch == c->delim;
    }
    if (!last)
        return 0;
    if (inside)
        return look_give_up(c, k, "unclosed quote");
    if (n == VB_RECORD_MAX)
        return look_give_up(c, k, "record longer than 4194303 bytes");
    k->len = k->took = n;
    return 1;
}

static void
on_cell(void *s, size_t n, void *data)
{
    struct vb_csv *c = data;
    if (c->oom)
        return;
    if (c->store_n + n > c->store_size) { // GCOVR_EXCL_BR_LINE: as long as the record
        c->oom = 1;
        return;
    }
    if (n)
        memcpy(c->store + c->store_n, s, n);
    if (add_cell(c, c->store + c->store_n, n))
        c->oom = 1;
    c->store_n += n;
}

static void
on_row(int ch, void *data)
{
    struct vb_csv *c = data;
    (void)ch;
    c->rows++;
}

static enum vb_err
parse_quoted(struct vb_csv *c, const char *s, size_t n)
{
    if (n + 1 > c->store_size) {
        char *p = realloc(c->store, n + 1);
        if (!p)
            return VB_EMEM;
        c->store = p;
        c->store_size = n + 1;
    }
    c->n_cells = c->store_n = c->rows = 0;
    c->oom = 0;
    if (csv_parse(&c->parser, s, n, on_cell, on_row, c) != n ||
        csv_fini(&c->parser, on_cell, on_row, c) || c->oom)
        return VB_EMEM;
    return VB_OK;
}

static const char *
check_cell(struct vb_text t, const struct look *k)
{
    if (k->nul && t.n && memchr(t.s, 0, t.n))
        return "NUL byte";
    if (k->high && !vb_utf8_ok(t.s, t.n))
        return "not UTF-8; state the encoding of the file";
    if (t.n > VB_CELL_MAX)
        return "cell longer than 65536 bytes";
    return NULL;
}

/* Fill in the row and move on behind it. */
static enum vb_err
finish(struct vb_csv *c, const struct look *k, struct vb_row *row, struct vb_msg *m)
{
    const char *why = k->why;
    struct vb_text raw = {c->buf + c->at, k->len};
    while (c->eol == '\n' && raw.n && raw.s[raw.n - 1] == '\r')
        raw.n--;
    row->bad = 0;
    if (why) {
        c->n_cells = 0;
    } else if (k->quoted) {
        enum vb_err e = parse_quoted(c, raw.s, raw.n);
        if (e)
            return e;
        if (c->rows > 1)
            why = "carriage return outside quotes";
    } else {
        c->cell[c->n_cells - 1].n -= k->len - raw.n;
    }
    for (size_t i = 0;
         !why && (k->nul | k->high | (raw.n > VB_CELL_MAX)) && i < c->n_cells; i++)
        if ((why = check_cell(c->cell[i], k)))
            row->bad = i;
    row->cell = c->cell;
    row->n = c->n_cells;
    row->raw = raw;
    row->line = c->line;
    row->lines = k->lines;
    c->at += k->took;
    c->line += k->lines;
    if (!why)
        return VB_OK;
    vb_msg_at(m, vb_csv_name(c), row->line, NULL);
    vb_msg_set(m, "%s", why);
    return VB_ESYNTAX;
}

static int
is_empty_line(struct vb_csv *c)
{
    if (c->at == c->end)
        return 0;
    size_t cr = c->eol == '\n' && c->buf[c->at] == '\r';
    size_t eol = c->at + cr < c->end;
    if (eol ? c->buf[c->at + cr] != c->eol : !c->ended)
        return 0;
    c->at += eol + cr;
    c->line++;
    return 1;
}

/* Go on behind the next end of line, or to the end of the stream. */
static enum vb_err
drop_line(struct vb_csv *c, struct vb_msg *m)
{
    const char *nl;
    int more = 1;
    while (!(nl = memchr(c->buf + c->at, c->eol, c->end - c->at))) {
        c->at = c->end;
        enum vb_err e = c->ended ? VB_OK : fill(c, &more, m);
        if (e || c->ended)
            return e;
    }
    c->at = (size_t)(nl - c->buf) + 1;
    return VB_OK;
}

/* A record that is not whole is looked at again once there is twice as much of it. */
static enum vb_err
fill_twice(struct vb_csv *c, struct vb_msg *m)
{
    size_t want = 2 * (c->end - c->at);
    int more = 1;
    enum vb_err e;
    do
        e = fill(c, &more, m);
    while (!e && more && c->end - c->at < want);
    return e;
}

enum vb_err
vb_csv_next(struct vb_csv *c, struct vb_row *row, struct vb_msg *m)
{
    struct look k;
    enum vb_err e = c->eol ? VB_OK : find_eol(c, m);
    if (!e && c->midline)
        e = drop_line(c, m);
    c->midline = 0;
    while (!e) {
        while (is_empty_line(c))
            continue;
        if (c->at < c->end || !c->ended) {
            if (c->at < c->end && (look_plain(c, &k) || look_quoted(c, &k)))
                return finish(c, &k, row, m);
            e = fill_twice(c, m);
        } else {
            return VB_EEND;
        }
    }
    return e;
}

void
vb_csv_split(struct vb_csv *c, struct vb_row *row)
{
    size_t start = (size_t)(row->raw.s - c->buf);
    size_t len = 0;
    while (row->raw.s[len] != c->eol) // the first line has an end and a quote
        len++;
    c->at = start + len + 1;
    c->line = row->line + 1;
    row->lines = 1;
    row->raw.n = len - (c->eol == '\n' && row->raw.s[len - 1] == '\r');
    row->n = 0;
}

enum vb_err
vb_csv_skip(struct vb_csv *c, unsigned long long lines, struct vb_msg *m)
{
    enum vb_err e = c->eol ? VB_OK : find_eol(c, m);
    for (; !e && lines > 0 && !(c->ended && c->at == c->end); lines--) {
        e = drop_line(c, m);
        c->line++;
    }
    return e;
}
