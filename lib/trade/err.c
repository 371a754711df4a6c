#include "valvebook/err.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "valvebook/utf8.h"

/* Bytes of controls, and those that are no UTF-8, become question marks. */
static void
plain(char *s, size_t n)
{
    for (size_t i = 0, len; i < n; i += len) {
        len = vb_utf8_at(s + i, n - i);
        if (len && !vb_utf8_control(s + i, len))
            continue;
        len += len == 0;
        memset(s + i, '?', len);
    }
}

/* A text that was cut to fit must not end in half a letter. */
static void
fit(char *s, size_t size)
{
    size_t n = strlen(s);
    if (n + 1 == size)
        s[n = vb_utf8_whole(s, n)] = 0;
    plain(s, n);
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
    fit(m->text, sizeof m->text);
}

void
vb_msg_at(struct vb_msg *m, const char *file, unsigned long long line, const char *column)
{
    if (!m)
        return;
    snprintf(m->file, sizeof m->file, "%s", file ? file : "");
    snprintf(m->column, sizeof m->column, "%s", column ? column : "");
    m->line = line;
    fit(m->file, sizeof m->file);
    fit(m->column, sizeof m->column);
}

void
vb_msg_clear(struct vb_msg *m)
{
    if (m)
        memset(m, 0, sizeof *m);
}

const char *
vb_quote(const char *s, size_t n, char *out, size_t size)
{
    size_t room = size - 1;
    size_t take = n <= room ? n : vb_utf8_whole(s, room - 3);
    if (take) // of no text there may be no place
        memcpy(out, s, take);
    plain(out, take);
    memcpy(out + take, "...", take < n ? 4 : 0);
    if (take == n)
        out[take] = 0;
    return out;
}
