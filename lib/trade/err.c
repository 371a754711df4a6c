#include "valvebook/err.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* Is it a control, or one of the two bytes of one (U+0080 to U+009F: C2 80 to C2 9F)? */
static int
is_control(const char *s, size_t i, size_t n)
{
    const unsigned char *b = (const unsigned char *)s;
    if (b[i] < 0x20 || b[i] == 0x7f)
        return 1;
    if (b[i] == 0xc2)
        return i + 1 < n && b[i + 1] >= 0x80 && b[i + 1] <= 0x9f;
    return i > 0 && b[i - 1] == 0xc2 && b[i] >= 0x80 && b[i] <= 0x9f;
}

static void
plain(char *s)
{
    size_t n = strlen(s);
    for (size_t i = 0; i < n; i++)
        if (is_control(s, i, n)) {
            int two = (unsigned char)s[i] == 0xc2;
            s[i] = '?';
            if (two)
                s[++i] = '?';
        }
}

void
vb_msg_set(struct vb_msg *m, const char *fmt, ...)
{
    if (!m)
        return;
    va_list ap;
    va_start(ap, fmt);
    vsnprintf(m->text, sizeof m->text, fmt, ap);
    va_end(ap);
    plain(m->text);
}

void
vb_msg_at(struct vb_msg *m, const char *file, unsigned long long line, const char *column)
{
    if (!m)
        return;
    snprintf(m->file, sizeof m->file, "%s", file ? file : "");
    snprintf(m->column, sizeof m->column, "%s", column ? column : "");
    m->line = line;
    plain(m->file);
    plain(m->column);
}

void
vb_msg_clear(struct vb_msg *m)
{
    if (m)
        memset(m, 0, sizeof *m);
}

/* A cut must not leave half a UTF-8 sequence behind: step back over its tail bytes. */
const char *
vb_quote(const char *s, size_t n, char *out, size_t size)
{
    size_t room = size - 1;
    size_t take = n <= room ? n : room - 3;
    if (take < n)
        while (take > 0 && ((unsigned char)s[take] & 0xc0) == 0x80)
            take--;
    for (size_t i = 0; i < take; i++)
        out[i] = is_control(s, i, take) ? '?' : s[i];
    if (take < n)
        memcpy(out + take, "...", 4);
    else
        out[take] = 0;
    return out;
}
