#include <string.h>

#include "valvebook/guard.h"
#include "valvebook/number.h"

#define LINKS 16

/* One "+120x21.5"; returns the bytes it takes, 0 if it is none. */
static size_t
one_link(const char *s, struct vb_link *out)
{
    struct vb_dec length, alpha;
    size_t n = strlen(s), a, b;
    if (*s != '+' && *s != '-')
        return 0;
    if (vb_dec_prefix(s + 1, n - 1, '.', 0, &length, &a) || s[1 + a] != 'x')
        return 0;
    if (vb_dec_prefix(s + 2 + a, n - 2 - a, '.', 0, &alpha, &b))
        return 0;
    *out = (struct vb_link){vb_dec_double(length), 1e-6 * vb_dec_double(alpha),
                            *s == '+' ? 1 : -1};
    return 2 + a + b;
}

enum vb_err
vb_stack_growth(const char *text, double *g)
{
    struct vb_link link[LINKS];
    size_t n = 0;
    while (*text) {
        size_t used = *text == ' ' ? 1 : 0;
        if (!used && (n == LINKS || !(used = one_link(text, &link[n++]))))
            return VB_ESYNTAX;
        text += used;
    }
    return n ? vb_growth(link, n, g) : VB_ESYNTAX;
}
