#ifndef VALVEBOOK_UTF8_H
#define VALVEBOOK_UTF8_H

#include <stddef.h>

/* vb_utf8_at - length of the valid UTF-8 sequence at s [n], n >= 1; 0 if there is none.
 * Source: RFC 3629. */
static inline size_t
vb_utf8_at(const char *text, size_t n)
{
    const unsigned char *s = (const unsigned char *)text;
    if (s[0] < 0x80)
        return 1;
    size_t len = s[0] >= 0xf0 ? 4 : s[0] >= 0xe0 ? 3 : 2;
    if (s[0] < 0xc2 || s[0] > 0xf4 || n < len)
        return 0;
    for (size_t i = 1; i < len; i++)
        if ((s[i] & 0xc0) != 0x80)
            return 0;
    if ((s[0] == 0xe0 && s[1] < 0xa0) || (s[0] == 0xed && s[1] > 0x9f) ||
        (s[0] == 0xf0 && s[1] < 0x90) || (s[0] == 0xf4 && s[1] > 0x8f))
        return 0;
    return len;
}

/*
 * vb_utf8_next - the next character of a text as it can be shown to people.
 *   s      where to read; moved on behind the character
 *   end    where the text ends
 *   ch     out: its bytes: those in the text, "?" for a control character (C0 and C1, DEL,
 *          the separators of lines and paragraphs, and what turns the direction of
 *          writing included), U+FFFD for a byte that is no UTF-8
 * Returns how many bytes it has, 0 at the end.
 */
size_t vb_utf8_next(const char **s, const char *end, const char **ch);

/* vb_utf8_ok - is [n] all valid UTF-8? */
int vb_utf8_ok(const char *s, size_t n);

#endif
