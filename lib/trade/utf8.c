#include "valvebook/utf8.h"

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

size_t
vb_utf8_width(const char *s)
{
    const char *end = s + strlen(s), *ch;
    size_t width = 0;
    while (vb_utf8_next(&s, end, &ch))
        width++;
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

void
vb_utf8_copy(char *out, size_t size, const char *s)
{
    size_t n = strnlen(s, size);
    if (n == size)
        n = vb_utf8_whole(s, size - 1);
    memcpy(out, s, n);
    out[n] = 0;
}
