/* Bodies: quoted-printable for what people may want to read as it is, base64 for tables. */
#include <stdio.h>
#include <string.h>

#include "mail_impl.h"

#define LINE 76 // RFC 2045, a soft line break included

/* Must this byte of a text be written as =XX? What would end a message in a pipe (a lone
 * dot) or is quoted in a mailbox file ("From ") is, so that nobody changes it. */
static int
must_quote(const char *s, size_t n, size_t i, size_t col)
{
    unsigned char c = (unsigned char)s[i];
    int last = i + 1 == n || s[i + 1] == '\n';
    if (c == ' ' || c == '\t')
        return last;
    if (c < 0x20 || c >= 0x7f || c == '=')
        return 1;
    if (col > 0)
        return 0;
    return (c == '.' && last) ||
           (c == 'F' && n - i >= 5 && memcmp(s + i, "From ", 5) == 0);
}

void
body_quoted(struct writer *w, const char *s, size_t n)
{
    char one[4];
    w->col = 0;
    for (size_t i = 0; i < n; i++) {
        if (s[i] == '\n') {
            vb_out_text(w->out, w->eol);
            w->col = 0;
            continue;
        }
        size_t k = must_quote(s, n, i, w->col) ? 3 : 1;
        int ends = i + 1 == n || s[i + 1] == '\n';
        if (w->col + k > (ends ? LINE : LINE - 1u)) {
            vb_out_text(w->out, "=");
            vb_out_text(w->out, w->eol);
            w->col = 0;
            k = must_quote(s, n, i, 0) ? 3 : 1;
        }
        snprintf(one, sizeof one, k == 3 ? "=%02X" : "%c", (unsigned)(unsigned char)s[i]);
        vb_out_bytes(w->out, one, k);
        w->col += k;
    }
}

void
body_base64(struct writer *w, const char *s, size_t n)
{
    static const char digit[] =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    w->col = 0;
    for (size_t i = 0; i < n; i += 3) {
        size_t k = n - i < 3 ? n - i : 3;
        unsigned v = 0;
        for (size_t j = 0; j < 3; j++)
            v = v << 8 | (j < k ? (unsigned char)s[i + j] : 0u);
        char four[4] = {digit[v >> 18], digit[v >> 12 & 63],
                        k > 1 ? digit[v >> 6 & 63] : '=', k > 2 ? digit[v & 63] : '='};
        vb_out_bytes(w->out, four, 4);
        w->col += 4;
        if (w->col == LINE && i + k < n) {
            vb_out_text(w->out, w->eol);
            w->col = 0;
        }
    }
}
