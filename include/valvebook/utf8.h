#ifndef VALVEBOOK_UTF8_H
#define VALVEBOOK_UTF8_H

#include <stddef.h>

/*
 * vb_utf8_part - how many bytes at s [n], n >= 1, belong to one sequence as far as it is valid,
 * at least 1; *len: how long it would have to be, 0 where its first byte leads nothing.
 * Source: Unicode 15.0, table 3-7 (RFC 3629).
 */
static inline size_t
vb_utf8_part(const char *text, size_t n, size_t *len)
{
    const unsigned char *s = (const unsigned char *)text, c = s[0];
    *len = c < 0x80 ? 1 : c < 0xc2 || c > 0xf4 ? 0 : c >= 0xf0 ? 4 : c >= 0xe0 ? 3 : 2;
    if (*len < 2 || n < 2)
        return 1;
    unsigned char lo = c == 0xe0 ? 0xa0 : c == 0xf0 ? 0x90 : 0x80;
    unsigned char hi = c == 0xed ? 0x9f : c == 0xf4 ? 0x8f : 0xbf;
    if (s[1] < lo || s[1] > hi)
        return 1;
    size_t i = 2;
    while (i < *len && i < n && (s[i] & 0xc0) == 0x80)
        i++;
    return i;
}

/* vb_utf8_letter - a letter of ASCII, or a byte of what is not ASCII. */
static inline int
vb_utf8_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (unsigned char)c >= 0x80;
}

/* vb_utf8_at - length of the valid UTF-8 sequence at s [n], n >= 1; 0 if there is none. */
static inline size_t
vb_utf8_at(const char *s, size_t n)
{
    size_t len;
    return vb_utf8_part(s, n, &len) == len ? len : 0;
}

/*
 * vb_utf8_control - is this valid sequence one that is not to be shown as it is?
 *     C0, C1 and DEL; U+2028 and U+2029, which some programs take for an end of line
 *     what turns the direction of writing: U+061C, U+200E, U+200F, U+202A to U+202E, U+2066 to
 *     U+2069
 *     what nobody sees, so that two names look the same: U+00AD, U+200B, U+2060, U+FEFF (which
 *     exports that were put together have in their middle), tags (U+E0000 to U+E007F). Joiners
 *     (U+200C, U+200D) are letters of some scripts.
 */
int vb_utf8_control(const char *s, size_t len);

/*
 * vb_utf8_next - the next character of a text as it can be shown to people.
 *   s      where to read; moved on behind the character
 *   end    where the text ends
 *   ch     out: its bytes: those in the text, "?" for a control, U+FFFD for a byte that is no
 *          UTF-8
 * Returns how many bytes it has, 0 at the end.
 */
size_t vb_utf8_next(const char **s, const char *end, const char **ch);

/*
 * vb_utf8_cells - how many cells of a terminal a character of vb_utf8_next takes: 2 in the
 * scripts of East Asia and where it is a picture, 0 of an accent that stands by itself.
 * Source: general category and East_Asian_Width of Unicode 14.0, of the scripts and pictures
 * that names of engines are likely to have; of the others 1.
 */
size_t vb_utf8_cells(const char *ch, size_t len);

/* vb_utf8_width - the cells of a text [n] as vb_utf8_next gives it. */
size_t vb_utf8_width(const char *s, size_t n);

/*
 * vb_utf8_whole - how many of [n] bytes are left without the beginning of a character at their
 * end, of which the rest was cut off.
 */
size_t vb_utf8_whole(const char *s, size_t n);

/* vb_utf8_fit - how many bytes of s, at most so many, are whole characters: for "%.*s". */
int vb_utf8_fit(const char *s, size_t most);

/* vb_utf8_copy - as many whole characters of s as out [size], size >= 1, has room for. */
void vb_utf8_copy(char *out, size_t size, const char *s);

/* vb_utf8_ok - is [n] all valid UTF-8? */
int vb_utf8_ok(const char *s, size_t n);

#endif
