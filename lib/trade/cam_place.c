#include "valvebook/cam_place.h"

#include <string.h>

/* The letter of a bank in capitals; 0 if it cannot be one. */
static char
bank_letter(char c)
{
    if (c >= 'a' && c <= 'z')
        c = (char)(c - ('a' - 'A'));
    return c >= 'A' && c <= 'Z' && c != 'I' && c != 'E' ? c : 0;
}

enum vb_err
vb_cam_place_parse(const char *s, size_t n, struct vb_cam_place *out)
{
    struct vb_cam_place p = {0, 0};
    while (n > 0 && (*s == ' ' || *s == '\t'))
        s++, n--;
    while (n > 0 && (s[n - 1] == ' ' || s[n - 1] == '\t'))
        n--;
    if (n && !(p.side = vb_side_parse(s, n))) {
        if (!(p.bank = bank_letter(*s)))
            return VB_ESYNTAX;
        s++, n--;
        size_t between = n;
        while (n > 0 && strchr(" \t-_", *s))
            s++, n--;
        if (n ? !(p.side = vb_side_parse(s, n)) : between)
            return VB_ESYNTAX;
    }
    *out = p;
    return VB_OK;
}

size_t
vb_cam_place_format(struct vb_cam_place p, char *out)
{
    size_t k = 0;
    if (p.bank)
        out[k++] = p.bank;
    if (p.side)
        out[k++] = p.side;
    out[k] = 0;
    return k;
}

struct vb_cam_place
vb_cam_place_of(const struct vb_banks *b, struct vb_valve v)
{
    return (struct vb_cam_place){v.cyl > 0 && v.cyl <= VB_CYL_MAX ? b->of[v.cyl] : 0,
                                 v.side};
}

int
vb_cam_place_has(struct vb_cam_place wide, struct vb_cam_place p)
{
    return (!wide.bank || wide.bank == p.bank) && (!wide.side || wide.side == p.side);
}

int
vb_cam_is_one(enum vb_cam_for f, struct vb_cam_place a, struct vb_cam_place b)
{
    if (f != VB_CAM_FOR_SIDE)
        a.side = 0;
    if (f == VB_CAM_FOR_ENGINE)
        a.bank = 0;
    return vb_cam_place_has(a, b);
}
