/* What was gathered of every family, and what follows from it. */
#include <stdlib.h>
#include <string.h>

#include "valvebook/book_life.h"

enum vb_err
vb_book_family_lives(struct vb_book *b, const struct vb_fleet *f,
                     const struct vb_lives_wish *w, struct vb_family_lives *out,
                     struct vb_msg *m)
{
    memset(out, 0, sizeof *out);
    struct vb_services *s = &out->services;
    enum vb_err e = vb_book_services(b, w, s, m);
    if (!e && !(out->life = calloc(s->n + 1, sizeof *out->life)))
        e = VB_EMEM;
    for (size_t i = 0; !e && i < s->n; i++) {
        struct vb_family_service *of = &s->of[i];
        struct vb_family_life *l = &out->life[i];
        e = w->replaced_only
                ? vb_family_life_replaced(of->family, of->meter_unit, &of->service, l)
                : vb_family_life_fit(f, of->family, &of->facts, of->meter_unit,
                                     &of->service, w->risk, l);
        out->n += !e;
    }
    if (e)
        vb_family_lives_clear(out);
    return e;
}

void
vb_family_lives_clear(struct vb_family_lives *l)
{
    while (l->n > 0)
        vb_family_life_clear(&l->life[--l->n]);
    free(l->life);
    vb_services_clear(&l->services);
    memset(l, 0, sizeof *l);
}
