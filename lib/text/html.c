#include "valvebook/html.h"

#include <assert.h>
#include <math.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "valvebook/utf8.h"

#define REPLACEMENT "\xef\xbf\xbd"
#define ELLIPSIS    "\xe2\x80\xa6"

/* The code point at s, UINT32_MAX if there is none; *used: the bytes it, or the maximal
 * subpart of one, takes. */
static uint32_t
code_point(const char *s, size_t n, size_t *used)
{
    size_t len;
    *used = vb_utf8_part(s, n, &len);
    if (*used != len)
        return UINT32_MAX;
    uint32_t c = (unsigned char)s[0] & (len == 1 ? 0x7fu : 0x7fu >> len);
    for (size_t i = 1; i < len; i++)
        c = c << 6 | (s[i] & 0x3fu);
    return c;
}

/* Is it nothing to show, or harm to what stands around it? */
static int
unfit(uint32_t c, const char *s, size_t n)
{
    return c == UINT32_MAX || vb_utf8_control(s, n) || (c >= 0xfdd0 && c <= 0xfdef) ||
           (c & 0xfffe) == 0xfffe;
}

static const char *
instead_of(uint32_t c, const char *s, size_t n)
{
    switch (c) {
    case '&': return "&amp;";
    case '<': return "&lt;";
    case '>': return "&gt;";
    case '"': return "&quot;";
    case '\'': return "&#39;";
    case '\t':
    case '\n':
    case '\r':
    case 0x2028:
    case 0x2029: return " ";
    default: return unfit(c, s, n) ? REPLACEMENT : NULL;
    }
}

/* Up to `most` characters; returns the bytes they take. */
static size_t
write_some(struct vb_out *o, const char *s, size_t n, size_t most)
{
    size_t at = 0, plain = 0, used; // s[plain..at) is waiting to be written as it is
    for (; at < n && most > 0; at += used, most--) {
        uint32_t c = code_point(s + at, n - at, &used);
        const char *other = instead_of(c, s + at, used);
        if (!other)
            continue;
        vb_out_bytes(o, s + plain, at - plain);
        vb_out_text(o, other);
        plain = at + used;
    }
    vb_out_bytes(o, s + plain, at - plain);
    return at;
}

void
vb_html_text(struct vb_out *o, const char *s, size_t n)
{
    write_some(o, s, n, SIZE_MAX);
}

size_t
vb_html_width(const char *s, size_t n)
{
    size_t width = 0, used;
    for (size_t at = 0; at < n; at += used, width++)
        code_point(s + at, n - at, &used);
    return width;
}

int
vb_html_cut(struct vb_out *o, const char *s, size_t n, size_t most)
{
    assert(most >= 1); // GCOVR_EXCL_BR_LINE: a program that asks so is wrong
    if (vb_html_width(s, n) <= most) {
        vb_html_text(o, s, n);
        return 0;
    }
    write_some(o, s, n, most - 1);
    vb_out_text(o, ELLIPSIS);
    return 1;
}

static void
put_number(struct vb_out *o, int decimals, double x)
{
    char text[64];
    assert(isfinite(x)); // GCOVR_EXCL_BR_LINE: likewise
    snprintf(text, sizeof text, "%.*f", decimals, x);
    const char *digits = text + (text[0] == '-');
    vb_out_text(o, strspn(digits, "0.") == strlen(digits) ? digits : text);
}

/* One directive behind its %; returns what stands behind it. */
static const char *
put_one(struct vb_out *o, const char *f, va_list *ap)
{
    char text[32];
    int decimals = 6;
    if (*f == '.' && f[1] == '*') {
        decimals = va_arg(*ap, int);
        f += 2;
    } else if (*f == '.') {
        decimals = f[1] - '0';
        f += 2;
    }
    if (*f == 's') {
        const char *s = va_arg(*ap, const char *);
        vb_html_text(o, s, strlen(s));
    } else if (*f == 'f') {
        put_number(o, decimals, va_arg(*ap, double));
    } else if (*f == 'd') {
        snprintf(text, sizeof text, "%d", va_arg(*ap, int));
        vb_out_text(o, text);
    } else if (*f == 'z') { // of %zu
        snprintf(text, sizeof text, "%zu", va_arg(*ap, size_t));
        vb_out_text(o, text);
        f++;
    } else {
        assert(*f == '%'); // GCOVR_EXCL_BR_LINE: likewise
        vb_out_text(o, "%");
    }
    return f + 1;
}

void
vb_html_put(struct vb_out *o, const char *fmt, ...)
{
    va_list ap;
    va_start(ap, fmt);
    for (const char *f = fmt, *p; *f; f = put_one(o, p + 1, &ap)) {
        p = strchr(f, '%');
        if (!p) {
            vb_out_text(o, f);
            break;
        }
        vb_out_bytes(o, f, (size_t)(p - f));
    }
    va_end(ap);
}

void
vb_html_begin(struct vb_out *o, const char *title, const char *style)
{
    vb_out_text(o,
                "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"UTF-8\">\n"
                "<meta name=\"viewport\" content=\"width=device-width, "
                "initial-scale=1\">\n");
    vb_html_put(o, "<title>%s</title>\n", title);
    if (style) {
        vb_out_text(o, "<style>\n");
        vb_out_text(o, style);
        vb_out_text(o, "</style>\n");
    }
    vb_out_text(o, "</head>\n<body>\n");
}

void
vb_html_end(struct vb_out *o)
{
    vb_out_text(o, "</body>\n</html>\n");
}
