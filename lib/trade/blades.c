#include "valvebook/blades.h"

#include <string.h>

static enum vb_err
number(const char *s, size_t n, struct vb_dec *out)
{
    enum vb_err e = vb_dec_parse(s, n, '.', 0, out);
    return e == VB_ESYNTAX ? vb_dec_parse(s, n, ',', 0, out) : e;
}

static enum vb_err
width_of(struct vb_blades b, struct vb_dec *width)
{
    return vb_dec_add(b.nogo, (struct vb_dec){-b.go.mant, b.go.scale}, width);
}

enum vb_err
vb_blades_parse(const char *s, size_t n, struct vb_blades *out)
{
    struct vb_blades b;
    struct vb_dec width;
    const char *bar = n ? memchr(s, '/', n) : NULL;
    size_t first = bar ? (size_t)(bar - s) : n;
    enum vb_err e = number(s, first, &b.go);
    if (!e && bar)
        e = number(bar + 1, n - first - 1, &b.nogo);
    else
        b.nogo = b.go;
    if (!e && bar && !(e = width_of(b, &width)) && (width.mant <= 0 || b.go.mant < 0))
        e = VB_EDOM;
    if (!e)
        *out = b;
    return e;
}

int
vb_blades_is_pair(struct vb_blades b)
{
    return b.go.mant != b.nogo.mant || b.go.scale != b.nogo.scale;
}

size_t
vb_blades_format(struct vb_blades b, char *out)
{
    size_t n = vb_dec_format(b.go, out);
    if (!vb_blades_is_pair(b))
        return n;
    out[n++] = '/';
    return n + vb_dec_format(b.nogo, out + n);
}

enum vb_err
vb_blades_convert(const struct vb_unit *u, struct vb_blades b, struct vb_blades *out)
{
    struct vb_blades c;
    enum vb_err e = vb_unit_convert(u, b.go, &c.go);
    if (!e)
        e = vb_unit_convert(u, b.nogo, &c.nogo);
    if (!e)
        *out = c;
    return e;
}

enum vb_err
vb_blades_middle(struct vb_blades b, struct vb_dec *middle, struct vb_dec *width)
{
    struct vb_dec sum, half, w = {0, 0};
    enum vb_err e = VB_OK;
    if (!vb_blades_is_pair(b)) {
        *middle = b.go;
        *width = w;
        return VB_OK;
    }
    e = vb_dec_add(b.go, b.nogo, &sum);
    if (!e)
        e = vb_dec_mul(sum, (struct vb_dec){5, 1}, &half);
    if (!e)
        e = width_of(b, &w);
    if (e)
        return e;
    *middle = half;
    *width = w;
    return VB_OK;
}
