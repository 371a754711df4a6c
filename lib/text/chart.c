#include "valvebook/chart.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "valvebook/date.h"
#include "valvebook/html.h"
#include "valvebook/svg.h"

/* One size: on a telephone it fills the width, and its text is still 12 pixels high. */
#define WIDTH     340
#define HEIGHT    240
#define LEFT      46
#define RIGHT     288
#define TOP       40
#define BOTTOM    196
#define ROWS      2   // of labels above the plot
#define ROW       13  // from one to the next
#define LETTER    7.0 // mean width of a letter, to keep labels apart
#define SAMPLES   24  // of a bound, which is curved
#define SHORT_RUN 150 // days within which ticks are told apart by their day
#define LABELS    24
#define BESIDE    30 // room that a limit's name and figure take

/* Room that a label takes. */
struct place {
    double from, to;
    int row;
};

/* A chart while it is drawn. */
struct drawing {
    struct vb_out *o;
    const struct vb_chart *c;
    size_t id;
    struct vb_axis x, y;
    struct vb_ticks x_ticks, y_ticks; // of x: the meter as shown
    struct place taken[LABELS];
    size_t n_taken;
};

static void
stretch(double v, double *lo, double *hi)
{
    if (isfinite(v)) {
        *lo = fmin(*lo, v);
        *hi = fmax(*hi, v);
    }
}

/* The drawn value of the forecast, or of its early bound. 0 if it cannot be told. */
static int
forecast_at(const struct vb_chart *c, double x, int bound, double *y)
{
    double level, se, lower, upper;
    if (vb_line_level(c->line, x, &level, &se) ||
        vb_line_bounds(c->line, x, c->confidence, &lower, &upper))
        return 0;
    *y = !bound ? level : bound * c->sign < 0 ? lower : upper;
    *y *= c->sign;
    return 1;
}

static void
find_range(const struct vb_chart *c, struct vb_axis *x, struct vb_axis *y)
{
    double x_lo = INFINITY, x_hi = -INFINITY, y_lo = INFINITY, y_hi = -INFINITY, v;
    for (size_t i = 0; i < c->n_points; i++) {
        const struct vb_chart_point *p = &c->point[i];
        stretch(p->x, &x_lo, &x_hi);
        stretch(p->y, &y_lo, &y_hi);
        stretch(p->y - p->u, &y_lo, &y_hi);
        stretch(p->y + p->u, &y_lo, &y_hi);
    }
    stretch(c->until, &x_lo, &x_hi);
    stretch(c->lower, &y_lo, &y_hi);
    stretch(c->upper, &y_lo, &y_hi);
    if (c->line && forecast_at(c, c->until, 0, &v))
        stretch(v, &y_lo, &y_hi);
    double dx = x_hi - x_lo, dy = y_hi - y_lo;
    dx = dx > 0 ? 0.03 * dx : fmax(1, 0.01 * fabs(x_lo));
    dy = dy > 0 ? 0.05 * dy : 0.01;
    *x = (struct vb_axis){x_lo - dx, x_hi + dx, LEFT, RIGHT};
    *y = (struct vb_axis){y_lo - dy, y_hi + dy, BOTTOM, TOP};
}

static double
x_at(const struct drawing *d, double x)
{
    return vb_axis_at(&d->x, x);
}

static double
y_at(const struct drawing *d, double y)
{
    return vb_axis_at(&d->y, y);
}

/* Months, or days where months are too coarse. */
static void
date_label(const struct drawing *d, double x, char *out, size_t size)
{
    const struct vb_chart *c = d->c;
    char iso[VB_DATE_MAX];
    double from = c->day(c->day_arg, c->point[0].x), to = c->day(c->day_arg, c->until);
    int coarse = !(to - from < SHORT_RUN);
    out[0] = 0;
    double day = c->day(c->day_arg, x);
    if (!isnan(day) && !vb_date_iso(day + 1e-6, iso))
        snprintf(out, size, coarse ? "%.7s" : "%.5s", coarse ? iso : iso + 5);
}

static void
draw_scales(const struct drawing *d)
{
    char text[48];
    for (size_t i = 0; i < d->y_ticks.n; i++) {
        double y = y_at(d, d->y_ticks.tick[i]);
        snprintf(text, sizeof text, "%.*f", d->y_ticks.decimals,
                 d->y_ticks.tick[i] + 0.0);
        vb_svg_line(d->o, "grid", LEFT, y, RIGHT, y);
        vb_svg_text(d->o, "tick", VB_ANCHOR_END, LEFT - 5, y + 4, text);
    }
    double taken = 0; // by the date before: one without room is left out
    for (size_t i = 0; i < d->x_ticks.n; i++) {
        double running = d->x_ticks.tick[i] + d->c->offset, x = x_at(d, running);
        snprintf(text, sizeof text, "%.*f", d->x_ticks.decimals,
                 d->x_ticks.tick[i] + 0.0);
        vb_svg_line(d->o, "axis", x, BOTTOM, x, BOTTOM + 4);
        vb_svg_text(d->o, "tick", VB_ANCHOR_MIDDLE, x, BOTTOM + 16, text);
        if (!d->c->day)
            continue;
        date_label(d, running, text, sizeof text);
        double half = LETTER * (double)strlen(text) / 2;
        if (!text[0] || x - half < taken)
            continue;
        vb_svg_text(d->o, "tick", VB_ANCHOR_MIDDLE, x, BOTTOM + 31, text);
        taken = x + half + LETTER / 2;
    }
    vb_svg_line(d->o, "axis", LEFT, BOTTOM, RIGHT, BOTTOM);
    vb_svg_text(d->o, "tick", VB_ANCHOR_END, LEFT - 5, TOP - 8, "mm");
    vb_svg_text(d->o, "tick", VB_ANCHOR_START, 2, BOTTOM + 16, d->c->unit);
}

/* Its name and figure stand beside it: outside of the window, unless that is outside of
 * the plot as well. */
static void
draw_limit(const struct drawing *d, double limit, const char *name, int is_upper)
{
    char text[32];
    if (isnan(limit))
        return;
    double y = y_at(d, limit);
    int above = is_upper ? y > TOP + BESIDE : y > BOTTOM - BESIDE;
    double at = above ? y - 17 : y + 12;
    snprintf(text, sizeof text, "%.3f", limit);
    vb_svg_line(d->o, "limit", LEFT, y, RIGHT, y);
    vb_svg_text(d->o, "limit-name", VB_ANCHOR_START, RIGHT + 4, at, name);
    vb_svg_text(d->o, "limit-name", VB_ANCHOR_START, RIGHT + 4, at + 13, text);
}

static int
is_free(const struct drawing *d, double from, double to, int row)
{
    for (size_t i = 0; i < d->n_taken; i++)
        if (d->taken[i].row == row && d->taken[i].from < to && from < d->taken[i].to)
            return 0;
    return d->n_taken < LABELS;
}

/* Above the plot, in the first row that has room for it; a label without room is left to
 * the words beside the chart. */
static void
put_label(struct drawing *d, const char *class, double x, const char *text)
{
    double half = LETTER * (double)vb_html_width(text, strlen(text)) / 2;
    double at = fmin(fmax(x, LEFT + half), RIGHT - half);
    double from = at - half - LETTER / 2, to = at + half + LETTER / 2;
    for (int row = 0; *text && row < ROWS; row++)
        if (is_free(d, from, to, row)) {
            vb_svg_text(d->o, class, VB_ANCHOR_MIDDLE, at, TOP - 6 - ROW * row, text);
            d->taken[d->n_taken++] = (struct place){from, to, row};
            return;
        }
}

/* The newest first: where there is no room for all, they matter more. */
static void
draw_events(struct drawing *d)
{
    for (size_t i = d->c->n_events; i > 0; i--) {
        const struct vb_chart_event *ev = &d->c->event[i - 1];
        double x = x_at(d, ev->x);
        if (x < LEFT || x > RIGHT)
            continue;
        vb_svg_line(d->o, ev->planned ? "event planned" : "event", x, TOP - 3, x, BOTTOM);
        put_label(d, "event-name", x, ev->label);
    }
}

/* Is there such a meter, within what is drawn? */
static int
in_sight(const struct drawing *d, double x)
{
    return isfinite(x) && x <= d->c->until;
}

static void
draw_due(struct drawing *d)
{
    if (!in_sight(d, d->c->early))
        return;
    double x = x_at(d, d->c->early);
    vb_svg_line(d->o, "due", x, TOP - 3, x, BOTTOM);
    put_label(d, "due-name", x, d->c->due);
}

static size_t
sample(const struct drawing *d, int bound, double from, double (*xy)[2], size_t n)
{
    size_t k = 0;
    for (size_t i = 0; i < n; i++) {
        double y, x = from + (d->c->until - from) * (double)i / (double)(n - 1);
        if (forecast_at(d->c, x, bound, &y)) {
            xy[k][0] = x_at(d, x);
            xy[k++][1] = y_at(d, y);
        }
    }
    return k;
}

static void
draw_forecast(const struct drawing *d)
{
    const struct vb_chart *c = d->c;
    double xy[SAMPLES + 2][2], from = c->line ? fmax(c->line->mbar, c->from) : NAN;
    if (!(c->until > from))
        return;
    if (c->way && c->until > c->now &&
        sample(d, c->way, c->now, xy, SAMPLES) == SAMPLES) {
        double back[2][2];
        vb_svg_path(d->o, "bound", (const double(*)[2])xy, SAMPLES, 0);
        sample(d, 0, c->now, back, 2); // known where the bound is
        memcpy(xy[SAMPLES], back[1], sizeof back[1]);
        memcpy(xy[SAMPLES + 1], back[0], sizeof back[0]);
        vb_svg_path(d->o, "band", (const double(*)[2])xy, SAMPLES + 2, 1);
    }
    if (sample(d, 0, from, xy, 2) == 2)
        vb_svg_path(d->o, "forecast", (const double(*)[2])xy, 2, 0);
}

static void
draw_lines(const struct drawing *d)
{
    vb_svg_clip_begin(d->o, d->id, LEFT, TOP - 3, RIGHT - LEFT, BOTTOM - TOP + 3);
    draw_forecast(d);
    for (size_t i = 0; i < d->c->n_segments; i++) {
        const struct vb_segment *s = &d->c->segment[i];
        vb_svg_line(d->o, "fit", x_at(d, s->from), y_at(d, s->at_from), x_at(d, s->to),
                    y_at(d, s->at_to));
    }
    vb_svg_clip_end(d->o);
}

static void
draw_points(const struct drawing *d)
{
    for (size_t i = 0; i < d->c->n_points; i++) {
        const struct vb_chart_point *p = &d->c->point[i];
        if (p->u > 0)
            vb_svg_bar(d->o, p->left ? "u left" : "u", x_at(d, p->x),
                       y_at(d, p->y - p->u), y_at(d, p->y + p->u));
    }
    for (size_t i = 0; i < d->c->n_points; i++) {
        const struct vb_chart_point *p = &d->c->point[i];
        if (p->left)
            vb_svg_mark(d->o, VB_MARK_DIAMOND, "left", x_at(d, p->x), y_at(d, p->y), 4.2);
        else
            vb_svg_mark(d->o, VB_MARK_DISC, "found", x_at(d, p->x), y_at(d, p->y), 3);
    }
}

static void
draw_crossings(const struct drawing *d)
{
    const struct vb_chart *c = d->c;
    if (in_sight(d, c->expected))
        vb_svg_mark(d->o, VB_MARK_CROSS, "cross", x_at(d, c->expected), y_at(d, c->at),
                    5);
    if (in_sight(d, c->early))
        vb_svg_mark(d->o, VB_MARK_DOWN, "early", x_at(d, c->early), y_at(d, c->at) - 5.5,
                    5.5);
}

enum vb_err
vb_chart_write(struct vb_out *o, size_t id, const struct vb_chart *c)
{
    struct drawing d = {.o = o, .c = c, .id = id};
    if (!c->n_points)
        return VB_EDOM;
    find_range(c, &d.x, &d.y);
    if (vb_ticks(d.x.lo - c->offset, d.x.hi - c->offset, 5, &d.x_ticks) ||
        vb_ticks(d.y.lo, d.y.hi, 7, &d.y_ticks))
        return VB_EDOM;
    vb_svg_begin(o, id, WIDTH, HEIGHT, c->title, c->desc);
    draw_scales(&d);
    draw_limit(&d, c->lower, c->lower_name, 0);
    draw_limit(&d, c->upper, c->upper_name, 1);
    draw_due(&d);
    draw_events(&d);
    draw_lines(&d);
    draw_points(&d);
    draw_crossings(&d);
    vb_svg_end(o);
    return VB_OK;
}

/* A key has a drawing of its own, 32 by 16, and words behind it. */
static void
key_begin(struct vb_out *o)
{
    vb_out_text(o,
                "<li><svg class=\"key\" viewBox=\"0 0 32 16\" aria-hidden=\"true\">\n");
}

static void
key_end(struct vb_out *o, const char *says)
{
    vb_html_put(o, "</svg> %s</li>\n", says);
}

static void
key_line(struct vb_out *o, const char *class, const char *says)
{
    key_begin(o);
    vb_svg_line(o, class, 1, 8, 31, 8);
    key_end(o, says);
}

static void
key_upright(struct vb_out *o, const char *class, const char *says)
{
    key_begin(o);
    vb_svg_line(o, class, 16, 0, 16, 16);
    key_end(o, says);
}

void
vb_chart_legend(struct vb_out *o)
{
    static const double bound[][2] = {{1, 4}, {31, 13}};
    static const double band[][2] = {{1, 3}, {31, 3}, {31, 13}, {1, 4}};
    vb_out_text(o, "<ul class=\"legend\">\n");
    key_begin(o);
    vb_svg_mark(o, VB_MARK_DISC, "found", 16, 8, 3.5);
    key_end(o, "as found");
    key_begin(o);
    vb_svg_mark(o, VB_MARK_DIAMOND, "left", 16, 8, 5);
    key_end(o, "as left, after setting");
    key_begin(o);
    vb_svg_bar(o, "u", 16, 1, 15);
    key_end(o, "\xc2\xb1 u, where the reading or its gauge states it");
    key_line(o, "fit", "fitted line of an interval: one slope, its own start");
    key_line(o, "forecast", "forecast");
    key_begin(o);
    vb_svg_path(o, "band", band, 4, 1);
    vb_svg_path(o, "bound", bound, 2, 0);
    key_end(o, "early bound, one-sided 95 %");
    key_line(o, "limit", "limit");
    key_begin(o);
    vb_svg_mark(o, VB_MARK_DOWN, "early", 16, 7, 6);
    key_end(o, "due: the early bound meets the limit");
    key_begin(o);
    vb_svg_mark(o, VB_MARK_CROSS, "cross", 16, 8, 6);
    key_end(o, "expected: the forecast meets it");
    key_upright(o, "event", "build, or part renewed");
    key_upright(o, "event planned", "planned");
    vb_out_text(o, "</ul>\n");
}

/* Nothing is told by its colour alone: found and left, fitted and forecast, limits and
 * bounds differ in shape, in fill or in their dashes. */
const char vb_chart_style[] =
    ":root {\n"
    "  --paper: #fcfbf8; --card: #ffffff; --ink: #20262e; --soft: #58626c;\n"
    "  --rule: #dedad0; --read: #0b5a8a; --set: #a34800; --limit: #9c1c2b;\n"
    "  --early: #6b2f8f; --event: #33632e;\n"
    "  color-scheme: light dark;\n"
    "}\n"
    "@media screen and (prefers-color-scheme: dark) {\n"
    "  :root {\n"
    "    --paper: #14181d; --card: #1b2027; --ink: #e9e6de; --soft: #a9b2bc;\n"
    "    --rule: #39414b; --read: #7cc0ea; --set: #f0a35c; --limit: #ff919b;\n"
    "    --early: #d3a5f2; --event: #9fce94;\n"
    "  }\n"
    "}\n"
    "svg { display: block; width: 100%; height: auto; }\n"
    "svg text { font: 12px system-ui, sans-serif; fill: var(--ink); }\n"
    "svg .tick { fill: var(--soft); }\n"
    "svg .limit-name { fill: var(--limit); }\n"
    "svg .event-name { fill: var(--event); }\n"
    "svg .due-name { fill: var(--early); font-weight: bold; }\n"
    ".grid { stroke: var(--rule); stroke-width: 0.7; }\n"
    ".axis { stroke: var(--soft); }\n"
    ".limit { stroke: var(--limit); stroke-width: 1.4; stroke-dasharray: 11 3; }\n"
    ".event { stroke: var(--event); stroke-dasharray: 4 3; }\n"
    ".planned { stroke-dasharray: 1 4; stroke-width: 1.6; stroke-linecap: round; }\n"
    ".due { stroke: var(--early); stroke-width: 0.8; }\n"
    ".fit { fill: none; stroke: var(--read); stroke-width: 1.8; }\n"
    ".forecast { fill: none; stroke: var(--read); stroke-width: 1.6; stroke-dasharray: 6 "
    "4; }\n"
    ".bound { fill: none; stroke: var(--early); stroke-width: 1.4; stroke-dasharray: 2 "
    "2; }\n"
    ".band { fill: var(--early); fill-opacity: 0.14; }\n"
    ".u { fill: none; stroke: var(--read); }\n"
    ".u.left { stroke: var(--set); }\n"
    ".found { fill: var(--read); }\n"
    "polygon.left { fill: var(--card); stroke: var(--set); stroke-width: 1.5; }\n"
    ".early { fill: var(--early); }\n"
    ".now { fill: var(--read); }\n"
    ".last { fill: none; stroke: var(--set); stroke-width: 1.4; }\n"
    ".nominal { stroke: var(--soft); stroke-width: 1.2; }\n"
    "svg .cam-name { font-weight: bold; }\n"
    ".cross { fill: none; stroke: var(--limit); stroke-width: 2.2; }\n"
    ".legend { list-style: none; margin: 0; padding: 0; display: flex; flex-wrap: wrap;\n"
    "  gap: 0.2rem 1.2rem; }\n"
    ".legend .key { display: inline-block; width: 32px; height: 16px; "
    "vertical-align: -3px; }\n";
