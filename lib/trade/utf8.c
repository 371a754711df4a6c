#include "valvebook/utf8.h"

#include <stdint.h>
#include <string.h>

int
vb_utf8_control(const char *s, size_t len)
{
    const unsigned char *b = (const unsigned char *)s;
    if (len == 1)
        return b[0] < 0x20 || b[0] == 0x7f;
    if (len == 2)
        return (b[0] == 0xc2 && (b[1] < 0xa0 || b[1] == 0xad)) ||
               (b[0] == 0xd8 && b[1] == 0x9c);
    if (len == 4)
        return b[0] == 0xf3 && b[1] == 0xa0 && b[2] <= 0x81;
    if (b[0] == 0xe2 && b[1] == 0x80)
        return b[2] == 0x8b || b[2] == 0x8e || b[2] == 0x8f ||
               (b[2] >= 0xa8 && b[2] <= 0xae);
    if (b[0] == 0xe2 && b[1] == 0x81)
        return b[2] == 0xa0 || (b[2] >= 0xa6 && b[2] <= 0xa9);
    return b[0] == 0xef && b[1] == 0xbb && b[2] == 0xbf;
}

size_t
vb_utf8_next(const char **s, const char *end, const char **ch)
{
    if (*s >= end)
        return 0;
    size_t len = vb_utf8_at(*s, (size_t)(end - *s));
    *ch = *s;
    *s += len ? len : 1;
    if (!len) {
        *ch = "\xef\xbf\xbd";
        return 3;
    }
    if (!vb_utf8_control(*ch, len))
        return len;
    *ch = "?";
    return 1;
}

/* First and last of letters that take no cell of a terminal, as they stand above, below or
 * within the one before them: accents, points of Hebrew, Arabic and Thai, joiners, the latter
 * jamo, variation selectors. */
static const uint32_t no_cell[][2] = {
    {0x300, 0x36f},   {0x483, 0x489},   {0x591, 0x5bd},   {0x64b, 0x65f},
    {0xe31, 0xe31},   {0xe34, 0xe3a},   {0xe47, 0xe4e},   {0x1160, 0x11ff},
    {0x1ab0, 0x1ace}, {0x1dc0, 0x1dff}, {0x200c, 0x200d}, {0x20d0, 0x20f0},
    {0x302a, 0x302d}, {0x3099, 0x309a}, {0xfe00, 0xfe0f}, {0xfe20, 0xfe2f},
};

/* And of those that take two: the scripts of East Asia, forms of full width, pictures. */
static const uint32_t two_cells[][2] = {
    {0x1100, 0x115f},   {0x231a, 0x231b},   {0x23e9, 0x23ec},   {0x2e80, 0x2e99},
    {0x2e9b, 0x2ef3},   {0x2f00, 0x2fd5},   {0x2ff0, 0x2ffb},   {0x3000, 0x303e},
    {0x3041, 0x3096},   {0x3099, 0x30ff},   {0x3105, 0x312f},   {0x3131, 0x318e},
    {0x3190, 0x31e3},   {0x31f0, 0x321e},   {0x3220, 0x3247},   {0x3250, 0x4dbf},
    {0x4e00, 0xa48c},   {0xa490, 0xa4c6},   {0xa960, 0xa97c},   {0xac00, 0xd7a3},
    {0xf900, 0xfaff},   {0xfe30, 0xfe52},   {0xff01, 0xff60},   {0xffe0, 0xffe6},
    {0x1f300, 0x1f320}, {0x1f345, 0x1f37c}, {0x1f3a0, 0x1f3ca}, {0x1f400, 0x1f43e},
    {0x1f442, 0x1f4fc}, {0x1f500, 0x1f53d}, {0x1f5fb, 0x1f64f}, {0x1f680, 0x1f6c5},
    {0x1f910, 0x1f93a}, {0x1f947, 0x1f9ff}, {0x20000, 0x3fffd},
};

static int
is_among(const uint32_t (*range)[2], size_t n, uint32_t c)
{
    for (size_t i = 0; i < n; i++)
        if (c >= range[i][0] && c <= range[i][1])
            return 1;
    return 0;
}

size_t
vb_utf8_cells(const char *ch, size_t len)
{
    uint32_t c = (unsigned char)*ch & (len == 1 ? 0x7fu : 0x7fu >> len);
    for (size_t i = 1; i < len; i++)
        c = c << 6 | (ch[i] & 0x3fu);
    if (c < no_cell[0][0])
        return 1;
    if (is_among(no_cell, sizeof no_cell / sizeof *no_cell, c))
        return 0;
    return is_among(two_cells, sizeof two_cells / sizeof *two_cells, c) ? 2 : 1;
}

size_t
vb_utf8_width(const char *s, size_t n)
{
    const char *end = s + n, *ch;
    size_t width = 0;
    for (size_t len; (len = vb_utf8_next(&s, end, &ch));)
        width += vb_utf8_cells(ch, len);
    return width;
}

int
vb_utf8_ok(const char *s, size_t n)
{
    for (size_t i = 0, len; i < n; i += len)
        if (!(len = vb_utf8_at(s + i, n - i)))
            return 0;
    return 1;
}

size_t
vb_utf8_whole(const char *s, size_t n)
{
    size_t tail = 0, len;
    while (tail < 3 && tail < n && ((unsigned char)s[n - 1 - tail] & 0xc0) == 0x80)
        tail++;
    if (tail == n)
        return n;
    size_t part = vb_utf8_part(s + n - 1 - tail, tail + 1, &len);
    return part == tail + 1 && part < len ? n - part : n;
}

int
vb_utf8_fit(const char *s, size_t most)
{
    return (int)vb_utf8_whole(s, strnlen(s, most));
}

void
vb_utf8_copy(char *out, size_t size, const char *s)
{
    size_t n = strnlen(s, size);
    if (n == size)
        n = vb_utf8_whole(s, size - 1);
    memcpy(out, s, n);
    out[n] = 0;
}
