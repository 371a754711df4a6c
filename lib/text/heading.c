/* What a heading of an export says beside its name: its unit. */
#include <string.h>

#include "valvebook/recipe.h"

size_t
vb_heading_norm(struct vb_text t, char *out, size_t size)
{
    size_t k = 0;
    int gap = 0;
    for (size_t i = 0; i < t.n && k + 2 < size; i++) {
        char c = t.s[i];
        if (c == ' ' || c == '\t' || c == '\n' || c == '\r') {
            gap = k > 0;
            continue;
        }
        if (gap)
            out[k++] = ' ';
        gap = 0;
        out[k++] = (char)(c >= 'A' && c <= 'Z' ? c + ('a' - 'A') : c);
    }
    out[k] = 0;
    return k;
}

/* "Found 1/100 mm": what the last word alone says would be a hundred times as much. */
static const struct vb_unit *
trailing_fraction(struct vb_text t)
{
    for (size_t i = t.n; i > 1; i--) {
        int begins =
            strchr(" ,_", t.s[i - 2]) && (t.s[i - 1] == '0' || t.s[i - 1] == '1');
        const struct vb_unit *u = begins ? vb_unit_find(t.s + i - 1, t.n - i + 1) : NULL;
        if (u)
            return u;
    }
    return NULL;
}

/*
 * "lash mm", "Temp °C": a unit behind the last blank. One letter may be anything and "in"
 * is an inlet valve as often as an inch, so those count only in brackets.
 */
static const struct vb_unit *
trailing_unit(struct vb_text t)
{
    const struct vb_unit *fraction = trailing_fraction(t);
    if (fraction)
        return fraction;
    size_t i = t.n;
    while (i > 0 && !strchr(" /,_", t.s[i - 1]))
        i--;
    size_t n = t.n - i;
    if (i == 0 || n < 2 || (n == 2 && (t.s[i] | 32) == 'i' && (t.s[i + 1] | 32) == 'n'))
        return NULL;
    return vb_unit_find(t.s + i, n);
}

const struct vb_unit *
vb_heading_unit(struct vb_text t)
{
    t = vb_text_trim(t);
    for (size_t i = 0; i < t.n; i++) {
        if (t.s[i] != '(' && t.s[i] != '[')
            continue;
        const char *close = memchr(t.s + i, t.s[i] == '(' ? ')' : ']', t.n - i);
        if (!close)
            continue;
        size_t len = (size_t)(close - (t.s + i)) - 1;
        const struct vb_unit *u =
            vb_unit_find(t.s + i, len + 2); // "[in_i]" is a whole code
        if (!u)
            u = vb_unit_find(t.s + i + 1, len);
        if (u)
            return u;
    }
    return trailing_unit(t);
}
