/*
 * Two numbers that belong together. Of feeler blades they say that the gap lies between the one
 * that goes and the one that does not; or the first was found, and the second left.
 */
#include <math.h>
#include <string.h>

#include "tidy_impl.h"

/*
 * Everywhere between them alike. Middle, u = (no-go - go) / sqrt(12) (JCGM 100:2008, 4.3.7
 * and F.2.2.1). The columns may be one.
 */
static int
between(struct vb_tidy *t, size_t go_col, size_t nogo_col, const struct value *go,
        const struct value *nogo, struct value *v)
{
    double width = vb_dec_double(nogo->dec) - vb_dec_double(go->dec);
    if (!(width > 0)) {
        tidy_refuse(t, nogo_col, "the no-go blade is not thicker than the one that goes");
        return 0;
    }
    if (vb_dec_add(go->dec, nogo->dec, &v->dec) ||
        vb_dec_mul(v->dec, (struct vb_dec){5, 1}, &v->dec)) {
        tidy_refuse(t, go_col, "number out of range");
        return 0;
    }
    v->present = 1;
    v->half = width / 2;
    v->u = width / sqrt(12);
    return 1;
}

int
cell_pair(struct vb_tidy *t, const struct slot *s, const struct vb_quantity *q, char side,
          struct value *v)
{
    struct value go = {0}, nogo = {0};
    if (s->go == NO_COL || s->nogo == NO_COL) {
        tidy_refuse(t, s->go == NO_COL ? s->nogo : s->go, "one half of a go/no-go pair");
        return 0;
    }
    if (!cell_one(t, s->go, q, side, &go) || !cell_one(t, s->nogo, q, side, &nogo))
        return 0;
    if (!go.present && !nogo.present)
        return 1;
    if (go.present != nogo.present) {
        tidy_refuse(t, go.present ? s->nogo : s->go,
                    "one half of a go/no-go pair is missing");
        return 0;
    }
    return between(t, s->go, s->nogo, &go, &nogo, v);
}

/* What stands behind a number; 0 if there is none. */
static int
behind(const struct vb_tidy *t, struct vb_text s, struct vb_text *rest)
{
    struct vb_dec d;
    size_t used;
    s = vb_text_trim(s);
    if (vb_dec_prefix(s.s, s.n, t->r->decimal, t->r->group, &d, &used))
        return 0;
    *rest = vb_text_trim((struct vb_text){s.s + used, s.n - used});
    return 1;
}

/* A unit behind the second is that of both. */
static const struct vb_unit *
unit_behind(const struct vb_tidy *t, struct vb_text s, const struct vb_unit *unit)
{
    struct vb_text rest;
    const struct vb_unit *own =
        behind(t, s, &rest) && rest.n ? vb_unit_find(rest.s, rest.n) : NULL;
    return own ? own : unit;
}

static int
torn(const struct vb_tidy *t, struct vb_text a, struct vb_text b,
     const struct vb_quantity *q, const struct vb_unit *unit)
{
    struct vb_text x, y;
    struct vb_centre c;
    if (!behind(t, a, &x) || !behind(t, b, &y))
        return 0;
    if (q->dim == VB_DIM_ANGLE) {
        int of_a = !vb_centre_parse(x.s, x.n, &c), of_b = !vb_centre_parse(y.s, y.n, &c);
        if (of_a != of_b)
            return of_a ? 2 : 1;
    }
    const struct vb_unit *own = x.n ? vb_unit_find(x.s, x.n) : NULL;
    return own && !y.n && own != unit ? 2 : 0;
}

int
cell_torn(const struct vb_tidy *t, struct vb_text s, const struct vb_quantity *q,
          const struct vb_unit *unit)
{
    size_t n, at = vb_bar_find(s, &n);
    struct vb_text found = {s.s, at}, left = {s.s + at + n, s.n - at - n};
    return n ? torn(t, found, left, q, unit) : 0;
}

int
cell_blades(struct vb_tidy *t, size_t col, struct vb_text s, const struct vb_unit *unit,
            const struct vb_quantity *q, struct value *v)
{
    struct value go = {0}, nogo = {0};
    const char *bar = memchr(s.s, '/', s.n);
    char text[80];
    if (!bar) // no blade is negative
        bar = memchr(s.s + 1, '-', s.n - 1);
    if (!bar) {
        tidy_refuse(t, col, "no two blades, as in 0.25/0.30: '%s'",
                    vb_quote(s.s, s.n, text, sizeof text));
        return 0;
    }
    size_t first = (size_t)(bar - s.s);
    struct vb_text a = vb_text_trim((struct vb_text){s.s, first});
    struct vb_text b = vb_text_trim((struct vb_text){bar + 1, s.n - first - 1});
    if (torn(t, a, b, q, unit))
        return cell_bad(t, col, "the two numbers do not say the same unit:", s);
    unit = unit_behind(t, b, unit);
    if (!cell_number(t, col, a, unit, q->dim, &go) ||
        !cell_number(t, col, b, unit, q->dim, &nogo))
        return 0;
    if (go.dec.mant < 0) {
        tidy_refuse(t, col, "a blade cannot be negative");
        return 0;
    }
    return between(t, col, col, &go, &nogo, v);
}

size_t
vb_bar_find(struct vb_text s, size_t *n)
{
    static const char *const bars[] = {"/", "->", "\xe2\x86\x92"};
    for (size_t i = 0; i < s.n; i++)
        for (size_t k = 0; k < sizeof bars / sizeof *bars; k++) {
            *n = strlen(bars[k]);
            if (s.n - i >= *n && memcmp(s.s + i, bars[k], *n) == 0)
                return i;
        }
    *n = 0;
    return s.n;
}

struct vb_text
cell_half(const struct vb_tidy *t, struct vb_text s, int half,
          const struct vb_unit **unit)
{
    size_t n, at = vb_bar_find(s, &n);
    struct vb_text found = {s.s, at}, left = {s.s + at + n, s.n - at - n};
    if (n)
        *unit = unit_behind(t, vb_text_trim(left), *unit);
    return vb_text_trim(half == 1 ? found : left);
}
