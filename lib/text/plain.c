/*
 * Signs that spreadsheets and word processors put in the place of plain ones: blanks that do
 * not break, dashes and apostrophes that were made prettier, digits of full width, and
 * ="0.15", which keeps a spreadsheet from making a number of a text.
 */
#include "plain.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

struct sign {
    const char *from;
    char to;
};

static const struct sign blanks[] = {
    {"\xc2\xa0", ' '},     // no-break space
    {"\xe2\x80\xaf", ' '}, // narrow no-break space
    {"\xe2\x80\x87", ' '}, // figure space
    {"\xe2\x80\x89", ' '}, // thin space
};

static const struct sign marks[] = {
    {"\xe2\x88\x92", '-'},  // minus
    {"\xe2\x80\x90", '-'},  // hyphen
    {"\xe2\x80\x91", '-'},  // no-break hyphen
    {"\xe2\x80\x92", '-'},  // figure dash
    {"\xe2\x80\x93", '-'},  // en dash
    {"\xe2\x80\x94", '-'},  // em dash
    {"\xe2\x80\x99", '\''}, // right single quotation mark
    {"\xef\xbc\x8d", '-'},  // hyphen, full stop and comma of full width
    {"\xef\xbc\x8e", '.'},  {"\xef\xbc\x8c", ','},
};

/* The sign that one of several bytes at s stands for; 0 if it stands for itself. */
static char
look_up(const struct sign *list, size_t count, const char *s, size_t n, size_t *len)
{
    for (size_t i = 0; i < count; i++) {
        *len = strlen(list[i].from);
        if (n >= *len && memcmp(list[i].from, s, *len) == 0)
            return list[i].to;
    }
    return 0;
}

static char
full_width(const char *s, size_t n)
{
    unsigned char last = n >= 3 ? (unsigned char)s[2] : 0;
    int digit = last >= 0x90 && last <= 0x99 && memcmp(s, "\xef\xbc", 2) == 0;
    return (char)(digit ? '0' + (last - 0x90) : 0);
}

/* Which of eight bytes are above 0x7f or an equals sign: their uppermost bits. A byte behind an
 * equals sign may be marked too. */
static uint64_t
odd_bytes(const char *s)
{
    uint64_t x, y, ones = UINT64_C(0x0101010101010101);
    memcpy(&x, s, sizeof x);
    y = x ^ ones * '=';
    return (x | ((y - ones) & ~y)) & ones << 7;
}

/* Nearly every record has none of the bytes that the signs begin with. */
static int
is_ascii(struct vb_text t)
{
    uint64_t odd = 0;
    if (t.n < 8)
        return 0; // too short to be worth it
    for (size_t i = 0; i + 8 < t.n; i += 8)
        odd |= odd_bytes(t.s + i);
    return !(odd | odd_bytes(t.s + t.n - 8));
}

static int
is_plain(struct vb_text t)
{
    return !t.n ||
           (!memchr(t.s, '=', t.n) && !memchr(t.s, 0xc2, t.n) && !memchr(t.s, 0xe2, t.n));
}

/* ="0.15" as a whole, and nothing else that begins so. */
static struct vb_text
unwrap(struct vb_text t)
{
    struct vb_text s = vb_text_trim(t);
    if (s.n < 3 || s.s[0] != '=' || s.s[1] != '"' || s.s[s.n - 1] != '"' ||
        memchr(s.s + 2, '"', s.n - 3))
        return t;
    return (struct vb_text){s.s + 2, s.n - 3};
}

static size_t
plain_cell(struct vb_text t, char *to)
{
    size_t n = 0, len;
    t = unwrap(t);
    for (size_t i = 0; i < t.n;) {
        char c = look_up(blanks, sizeof blanks / sizeof *blanks, t.s + i, t.n - i, &len);
        to[n++] = c ? c : t.s[i];
        i += c ? len : 1;
    }
    return n;
}

static enum vb_err
make_room(struct plain_row *p, const struct vb_row *row)
{
    size_t bytes = 1;
    for (size_t i = 0; i < row->n; i++)
        bytes += row->cell[i].n;
    if (p->text_size < bytes) {
        char *text = realloc(p->text, 2 * bytes);
        if (!text)
            return VB_EMEM;
        p->text = text;
        p->text_size = 2 * bytes;
    }
    if (p->cells_size < row->n) {
        struct vb_text *cell = realloc(p->cell, 2 * row->n * sizeof *cell);
        if (!cell)
            return VB_EMEM;
        p->cell = cell;
        p->cells_size = 2 * row->n;
    }
    return VB_OK;
}

enum vb_err
plain_cells(struct plain_row *p, struct vb_row *row)
{
    char *to;
    p->ascii = is_ascii(row->raw);
    if (p->ascii || is_plain(row->raw))
        return VB_OK;
    if (make_room(p, row))
        return VB_EMEM;
    to = p->text;
    for (size_t i = 0; i < row->n; i++) {
        size_t n = plain_cell(row->cell[i], to);
        p->cell[i] = (struct vb_text){to, n};
        to += n;
    }
    row->cell = p->cell;
    return VB_OK;
}

void
plain_free(struct plain_row *p)
{
    free(p->cell);
    free(p->text);
}

struct vb_text
plain_number(struct vb_text t, char *buf)
{
    size_t n = 0, len = 0;
    int high = 0;
    for (size_t i = 0; i < t.n; i++)
        high |= t.s[i] & 0x80;
    if (!high || t.n > PLAIN_MAX)
        return t;
    for (size_t i = 0; i < t.n;) {
        char c = look_up(marks, sizeof marks / sizeof *marks, t.s + i, t.n - i, &len);
        if (!c && (c = full_width(t.s + i, t.n - i)))
            len = 3;
        buf[n++] = c ? c : t.s[i];
        i += c ? len : 1;
    }
    return (struct vb_text){buf, n};
}
