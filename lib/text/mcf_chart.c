#include "valvebook/mcf_chart.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/digits.h"
#include "valvebook/svg.h"
#include "valvebook/utf8.h"

/* One size: on a telephone it fills the width, and its text is still 12 pixels high. */
#define WIDTH  340
#define HEIGHT 240
#define LEFT   46
#define RIGHT  330
#define TOP    24
#define BOTTOM 200

struct drawing {
    struct vb_out *o;
    const struct vb_family_life *l;
    struct vb_axis x, y;
    struct vb_ticks x_ticks, y_ticks;
    int has_band;
};

static double
x_at(const struct drawing *d, double age)
{
    return vb_axis_at(&d->x, age);
}

static double
y_at(const struct drawing *d, double n)
{
    return vb_axis_at(&d->y, n);
}

static void
draw_scales(const struct drawing *d)
{
    char text[32];
    for (size_t i = 0; i < d->y_ticks.n; i++) {
        double y = y_at(d, d->y_ticks.tick[i]);
        snprintf(text, sizeof text, "%.*f", d->y_ticks.decimals, d->y_ticks.tick[i]);
        vb_svg_line(d->o, "grid", LEFT, y, RIGHT, y);
        vb_svg_text(d->o, "tick", VB_ANCHOR_END, LEFT - 5, y + 4, text);
    }
    for (size_t i = 0; i < d->x_ticks.n; i++) {
        double x = x_at(d, d->x_ticks.tick[i]);
        snprintf(text, sizeof text, "%.*f", d->x_ticks.decimals, d->x_ticks.tick[i]);
        vb_svg_line(d->o, "axis", x, BOTTOM, x, BOTTOM + 4);
        vb_svg_text(d->o, "tick", VB_ANCHOR_MIDDLE, x, BOTTOM + 16, text);
    }
    vb_svg_line(d->o, "axis", LEFT, BOTTOM, RIGHT, BOTTOM);
    vb_svg_text(d->o, "tick", VB_ANCHOR_START, 2, BOTTOM + 16, d->l->unit);
}

enum which { MCF, LO, HI };

static double
value(const struct vb_mcf_step *s, enum which which)
{
    return which == MCF ? s->mcf : which == LO ? s->lo : s->hi;
}

/* A stair from the first step on, two places a step. Returns how many. */
static size_t
stair(const struct drawing *d, enum which which, double last, double (*xy)[2])
{
    size_t n = 0;
    for (size_t i = 0; i < d->l->n_steps; i++) {
        const struct vb_mcf_step *s = &d->l->step[i];
        double upto = i + 1 < d->l->n_steps ? s[1].age : last;
        for (int end = 0; end < 2; end++, n++) {
            xy[n][0] = x_at(d, end ? upto : s->age);
            xy[n][1] = y_at(d, value(s, which));
        }
    }
    return n;
}

/* An edge as it is walked back. */
static void
turn(double (*xy)[2], size_t n)
{
    for (size_t i = 0; i < n / 2; i++)
        for (int k = 0; k < 2; k++) {
            double keep = xy[i][k];
            xy[i][k] = xy[n - 1 - i][k];
            xy[n - 1 - i][k] = keep;
        }
}

static enum vb_err
draw_stair(const struct drawing *d)
{
    double(*xy)[2] = malloc((4 * d->l->n_steps + 2) * sizeof *xy);
    if (!xy)
        return VB_EMEM;
    if (d->has_band) {
        size_t n = stair(d, LO, d->x.hi, xy), m = stair(d, HI, d->x.hi, xy + n);
        turn(xy + n, m);
        vb_svg_path(d->o, "band", (const double(*)[2])xy, n + m, 1);
    }
    xy[0][0] = x_at(d, d->x.lo);
    xy[0][1] = xy[1][1] = y_at(d, 0);
    xy[1][0] = x_at(d, d->l->step[0].age);
    size_t n = 2 + stair(d, MCF, d->x.hi, xy + 2);
    vb_svg_path(d->o, "fit", (const double(*)[2])xy, n, 0);
    free(xy);
    return VB_OK;
}

/* Ages from the first that was watched to the last at which anybody was. */
static void
find_range(struct drawing *d)
{
    const struct vb_service *s = d->l->service;
    double top = 0, end = -INFINITY;
    for (size_t i = 0; i < d->l->n_steps; i++)
        top = fmax(top, d->has_band ? d->l->step[i].hi : d->l->step[i].mcf);
    for (size_t i = 0; i < s->n_watches; i++)
        end = fmax(end, s->watch[i].to);
    d->x = (struct vb_axis){d->l->first_age, end, LEFT, RIGHT};
    d->y = (struct vb_axis){0, top, BOTTOM, TOP};
}

enum vb_err
vb_mcf_chart(struct vb_out *o, size_t id, const struct vb_family_life *l)
{
    struct drawing d = {.o = o, .l = l};
    char title[128], desc[480], figure[VB_DIGITS_PAIR];
    char from[VB_DIGITS_PAIR], to[VB_DIGITS_PAIR];
    if (!l->n_steps)
        return VB_EDOM;
    const struct vb_mcf_step *last = &l->step[l->n_steps - 1];
    d.has_band = l->service->engines > 1;
    find_range(&d);
    if (vb_ticks(d.x.lo, d.x.hi, 6, &d.x_ticks) ||
        vb_ticks(d.y.lo, d.y.hi, 6, &d.y_ticks))
        return VB_EDOM;
    snprintf(title, sizeof title, "%.*s: %ss replaced an engine",
             vb_utf8_fit(l->family, 60), l->family, l->service->wish.part);
    snprintf(desc, sizeof desc,
             "%.0f replaced in %zu engines; from the age of %s to %s %s an engine "
             "has %s on average",
             l->service->count, l->service->engines,
             vb_digits_pair(l->first_age, NAN, 0, from),
             vb_digits_pair(last->age, NAN, 0, to), l->unit,
             vb_digits_pair(last->mcf, NAN, 2, figure));
    vb_svg_begin(o, id, WIDTH, HEIGHT, title, desc);
    draw_scales(&d);
    enum vb_err e = draw_stair(&d);
    vb_svg_end(o);
    return e;
}
