#include <string.h>

#include "valvebook/unit.h"
#include "valvebook/valve.h"

/* A dead centre: which way from it the number counts, and whether it is the bottom. */
struct centre {
    const char *text;
    int sign;
    int bottom;
};

// BTC and BBC name the same points without the word "dead" (common practice)
static const struct centre centres[] = {
    {"BTDC", -1, 0},      {"BTC", -1, 0},
    {"BEFORETDC", -1, 0}, {"BEFORETOPDEADCENTRE", -1, 0},
    {"ATDC", 1, 0},       {"ATC", 1, 0},
    {"AFTERTDC", 1, 0},   {"AFTERTOPDEADCENTRE", 1, 0},
    {"BBDC", -1, 1},      {"BBC", -1, 1},
    {"BEFOREBDC", -1, 1}, {"BEFOREBOTTOMDEADCENTRE", -1, 1},
    {"ABDC", 1, 1},       {"ABC", 1, 1},
    {"AFTERBDC", 1, 1},   {"AFTERBOTTOMDEADCENTRE", 1, 1},
};

/* Capital letters only: "45 b.t.d.c." and "45 BTDC" are one. -1: something else in it. */
static int
letters(const char *s, size_t n, char *out, size_t size)
{
    size_t k = 0;
    for (size_t i = 0; i < n; i++) {
        char c = s[i];
        if (c == ' ' || c == '\t' || c == '.')
            continue;
        if (c >= 'a' && c <= 'z')
            c = (char)(c - ('a' - 'A'));
        if (c < 'A' || c > 'Z' || k + 1 >= size)
            return -1;
        out[k++] = c;
    }
    out[k] = 0;
    return (int)k;
}

static const struct centre *
find_centre(const char *s, size_t n)
{
    char key[32];
    if (letters(s, n, key, sizeof key) <= 0)
        return NULL;
    for (size_t i = 0; i < sizeof centres / sizeof *centres; i++)
        if (strcmp(centres[i].text, key) == 0)
            return &centres[i];
    return NULL;
}

/*
 * Step over a unit between the number and the dead centre: "45 deg ABDC", "45° ABDC". No
 * spelling is longer than 16 bytes; a cell may have 65536.
 */
static size_t
skip_degrees(const char *s, size_t n, struct vb_centre *r)
{
    for (size_t len = n < 24 ? n : 24; len > 0; len--) {
        const struct vb_unit *u = vb_unit_find(s, len);
        if (!u || u->dim != VB_DIM_ANGLE)
            continue;
        r->cam = u->factor.mant == 2;
        r->crank = !r->cam;
        return len;
    }
    return 0;
}

static enum vb_err
from_overlap(struct vb_dec *d, const struct vb_centre *c, char side)
{
    if (c->sign < 0)
        d->mant = -d->mant;
    if (!c->bottom)
        return VB_OK;
    if (!side)
        return VB_EUNKNOWN;
    return vb_dec_add(*d, (struct vb_dec){side == 'I' ? 180 : -180, 0}, d);
}

/* What stands behind a number: a unit, a dead centre, both or nothing, which is sign 0. */
static enum vb_err
behind(const char *s, size_t n, struct vb_centre *out)
{
    struct vb_centre r = {0};
    size_t unit = skip_degrees(s, n, &r);
    s += unit, n -= unit;
    while (n > 0 && (*s == ' ' || *s == '\t'))
        s++, n--;
    const struct centre *c = n > 0 ? find_centre(s, n) : NULL;
    if (n > 0 && !c)
        return VB_ESYNTAX;
    if (c) {
        r.sign = c->sign;
        r.bottom = c->bottom;
    }
    *out = r;
    return VB_OK;
}

enum vb_err
vb_centre_parse(const char *s, size_t n, struct vb_centre *out)
{
    struct vb_centre c;
    if (behind(s, n, &c) || !c.sign)
        return VB_ESYNTAX;
    *out = c;
    return VB_OK;
}

enum vb_err
vb_angle_parse(const char *s, size_t n, char mark, char side, int cam, struct vb_dec *out)
{
    return vb_angle_parse_from(s, n, mark, side, cam, NULL, out);
}

enum vb_err
vb_angle_parse_from(const char *s, size_t n, char mark, char side, int cam,
                    const struct vb_centre *bare, struct vb_dec *out)
{
    struct vb_dec d;
    size_t used;
    struct vb_centre c;
    enum vb_err e = vb_dec_prefix(s, n, mark, 0, &d, &used);
    if (!e)
        e = behind(s + used, n - used, &c);
    if (e)
        return e;
    cam = c.cam || (!c.crank && (cam || (bare && bare->cam)));
    if (!c.sign && bare && (bare->unclear || (bare->no_minus && d.mant < 0)))
        return VB_EDOM;
    if (!c.sign && bare)
        c = *bare;
    if (cam) // 17 digits have room for it
        vb_dec_mul(d, (struct vb_dec){2, 0}, &d);
    e = from_overlap(&d, &c, side);
    if (e)
        return e;
    double deg = vb_dec_double(d);
    if (deg < -360 || deg > 360)
        return VB_ERANGE;
    *out = d;
    return VB_OK;
}
