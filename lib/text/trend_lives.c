/* The page's section on parts that were replaced, by family. */
#include "trend_impl.h"

#include <math.h>

#include "valvebook/digits.h"
#include "valvebook/html.h"
#include "valvebook/mcf_chart.h"

/* A family of which nothing was replaced has no chart. */
static enum vb_err
page_life(struct vb_trend_report *t, const struct vb_family_life *l)
{
    const struct vb_service *s = l->service;
    const struct vb_mcf_step *last = &l->step[l->n_steps - 1];
    int decimals =
        vb_digits(last->mcf, fmin(last->mcf - last->lo, last->hi - last->mcf), 2);
    vb_html_put(t->o,
                "<figure class=\"replaced\">\n<h3>%s: %ss replaced an engine</h3>\n",
                l->family, s->wish.part);
    enum vb_err e = vb_mcf_chart(t->o, ++t->n_drawings, l);
    vb_html_put(
        t->o,
        "<figcaption>%.0f replaced in %zu engines; by the age of %.*f %s an engine "
        "has had %.*f on average",
        s->count, s->engines, vb_digits(last->age, NAN, 0), last->age, l->unit, decimals,
        last->mcf);
    if (s->engines > 1)
        vb_html_put(t->o, ", between %.*f and %.*f (95 %%)", decimals, last->lo, decimals,
                    last->hi);
    vb_out_text(t->o, ".</figcaption>\n</figure>\n");
    return e == VB_EDOM ? VB_OK : e; // ages too close for a scale: the words must do
}

enum vb_err
page_lives(struct vb_trend_report *t)
{
    enum vb_err e = VB_OK;
    int any = 0;
    for (size_t i = 0; !e && i < t->w->n_lives; i++) {
        if (!t->w->lives[i].n_steps)
            continue;
        if (!any++)
            vb_out_text(t->o, "<section>\n<h2 class=\"replaced\">Parts "
                              "replaced</h2>\n<div class=\"charts\">\n");
        e = page_life(t, &t->w->lives[i]);
    }
    if (any)
        vb_out_text(t->o, "</div>\n</section>\n");
    return e;
}
