#include "valvebook/err.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static void
plain(char *s)
{
    for (; *s; s++)
        if ((unsigned char)*s < 0x20 || *s == 0x7f)
            *s = '?';
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
    for (size_t i = 0; i < take; i++) {
        unsigned char c = (unsigned char)s[i];
        out[i] = (char)(c < 0x20 || c == 0x7f ? '?' : c);
    }
    if (take < n)
        memcpy(out + take, "...", 4);
    else
        out[take] = 0;
    return out;
}
