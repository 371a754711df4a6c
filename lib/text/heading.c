/* What a heading of an export says beside its name: its unit. */
#include <ctype.h>
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

size_t
vb_heading_tail(struct vb_text t, const struct vb_unit **unit)
{
    for (size_t i = 1; i < t.n; i++) {
        int begins = strchr(" ,_", t.s[i - 1]) && t.s[i] != ' ';
        int more = t.s[i] == '0' || t.s[i] == '1' || memchr(t.s + i, ' ', t.n - i);
        if (begins && more && (*unit = vb_unit_find(t.s + i, t.n - i)))
            return i;
    }
    return t.n;
}

/*
 * "lash mm", "Temp °C": a unit behind the last blank; or all of "1/100 mm" and "cam deg", whose
 * last word alone would say something else. One letter may be anything and "in" is an inlet
 * valve as often as an inch, so those count only in brackets.
 */
static const struct vb_unit *
trailing_unit(struct vb_text t)
{
    const struct vb_unit *tail;
    if (vb_heading_tail(t, &tail) < t.n)
        return tail;
    size_t i = t.n;
    while (i > 0 && !strchr(" /,_", t.s[i - 1]))
        i--;
    size_t n = t.n - i;
    if (i == 0 || n < 2 || (n == 2 && (t.s[i] | 32) == 'i' && (t.s[i + 1] | 32) == 'n'))
        return NULL;
    return vb_unit_find(t.s + i, n);
}

static const struct vb_unit *
any_unit(struct vb_text t)
{
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

const struct vb_unit *
vb_heading_unit(struct vb_text t)
{
    t = vb_text_trim(t);
    const struct vb_unit *u = any_unit(t);
    return u && u->dim == VB_DIM_LENGTH && vb_heading_doubt(t) ? NULL : u;
}

/* Where a number ends that begins at t.s[i] and at no other sign before; i if there is none. */
static size_t
number_end(struct vb_text t, size_t i)
{
    size_t k = i;
    if (i > 0 && (isalnum((unsigned char)t.s[i - 1]) || strchr(".,/", t.s[i - 1])))
        return i;
    while (k < t.n &&
           (isdigit((unsigned char)t.s[k]) ||
            (strchr(".,", t.s[k]) && k + 1 < t.n && isdigit((unsigned char)t.s[k + 1]))))
        k++;
    return k;
}

/* "3 IN" is an inlet valve of cylinder 3; no cam lifts by a whole inch. */
static int
is_lift(struct vb_text number, struct vb_text word)
{
    const struct vb_unit *u = vb_unit_find(word.s, word.n), *inch = vb_unit_find("in", 2);
    int decimals = memchr(number.s, '.', number.n) || memchr(number.s, ',', number.n);
    return u && u->dim == VB_DIM_LENGTH && (u != inch || decimals);
}

struct vb_text
vb_heading_lift(struct vb_text t)
{
    for (size_t i = 0; i < t.n; i++) {
        size_t end = number_end(t, i), from = end, k;
        while (from < t.n && t.s[from] == ' ')
            from++;
        for (k = from; k < t.n && !strchr(" )],;/_", t.s[k]);)
            k++;
        if (end > i && k > from &&
            is_lift((struct vb_text){t.s + i, end - i},
                    (struct vb_text){t.s + from, k - from}))
            return (struct vb_text){t.s + i, k - i};
        i = end > i ? end - 1 : i;
    }
    return (struct vb_text){t.s, 0};
}
