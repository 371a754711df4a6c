/*
 * Which dead centre the angles of a column count from, as its heading says it.
 */
#include <string.h>

#include "valvebook/recipe.h"

static int
ends_word(char c)
{
    return strchr(" \t/,_()[]", c) != NULL;
}

/* BTDC, BDC: a dead centre from which a bare number cannot count as it is. */
static int
names_one(const char *s, size_t n)
{
    struct vb_centre c;
    return !vb_centre_parse(s, n, &c) ||
           (n == 3 && (s[0] | 32) == 'b' && (s[1] | 32) == 'd' && (s[2] | 32) == 'c');
}

/* How many words name one, and whether the heading itself ends in one. */
static size_t
count_names(struct vb_text t)
{
    size_t names = 0;
    for (size_t i = 0, j; i < t.n; i = j + 1) {
        for (j = i; j < t.n && !ends_word(t.s[j]) && !strchr("+-=", t.s[j]);)
            j++;
        names += j > i && names_one(t.s + i, j - i);
    }
    return names;
}

static int
in_brackets(struct vb_text t, struct vb_centre *c)
{
    for (size_t i = 0; i < t.n; i++) {
        if (t.s[i] != '(' && t.s[i] != '[')
            continue;
        const char *close = memchr(t.s + i, t.s[i] == '(' ? ')' : ']', t.n - i);
        if (close && !vb_centre_parse(t.s + i + 1, (size_t)(close - t.s) - i - 1, c))
            return 1;
    }
    return 0;
}

/* "IVO BTDC (deg)" without its brackets. */
static struct vb_text
without_unit(struct vb_text t)
{
    size_t i = t.n;
    if (!t.n || !strchr(")]", t.s[t.n - 1]))
        return t;
    while (i > 0 && !strchr("([", t.s[i - 1]))
        i--;
    const struct vb_unit *u = i ? vb_unit_find(t.s + i, t.n - 1 - i) : NULL;
    return u && u->dim == VB_DIM_ANGLE ? vb_text_trim((struct vb_text){t.s, i - 1}) : t;
}

/* "IVO deg BTDC", "IVO before TDC"; not "IVO - BTDC", where the sign may be one. */
static int
at_end(struct vb_text t, struct vb_centre *c)
{
    t = without_unit(t);
    for (size_t i = 1; i < t.n; i++) {
        size_t k = i;
        if (!ends_word(t.s[i - 1]) || vb_centre_parse(t.s + i, t.n - i, c))
            continue;
        while (k > 0 && strchr(" \t", t.s[k - 1]))
            k--;
        return k == 0 || !strchr("+-=", t.s[k - 1]);
    }
    return 0;
}

struct vb_centre
vb_heading_centre(struct vb_text t)
{
    struct vb_centre c = {0};
    t = vb_text_trim(t);
    size_t names = t.n ? count_names(t) : 0;
    int said =
        t.n && (!vb_centre_parse(t.s, t.n, &c) || in_brackets(t, &c) || at_end(t, &c));
    if (said && names <= 1) {
        c.no_minus = c.sign < 0;
        return c;
    }
    return (struct vb_centre){.unclear = names > 0};
}
