#include "valvebook/timing_chart.h"

#include <math.h>
#include <stdio.h>

#include "valvebook/svg.h"

#define WIDTH 340
#define LEFT  14
#define RIGHT 326
#define TOP   34 // of the first block
#define BLOCK 50 // a cam: its name, and three bars below
#define BAR   9

static const struct vb_axis turns = {-360, 360, LEFT, RIGHT};

static double
at(double angle)
{
    return vb_axis_at(&turns, angle);
}

static int
is_known(const struct vb_timing_span *s)
{
    return !isnan(s->opens) && !isnan(s->closes);
}

static int
is_sound(const struct vb_timing_span *s)
{
    return !is_known(s) || (s->opens < s->closes && s->closes - s->opens <= 720 &&
                            s->opens >= -720 && s->closes <= 720);
}

/* The parts of a span that lie within -360..360, one turn of the cam around. */
static size_t
parts_of(const struct vb_timing_span *s, double (*part)[2])
{
    size_t n = 0;
    if (!is_known(s))
        return 0;
    for (int turn = -1; turn <= 1; turn++) {
        double from = fmax(-360, s->opens + 720 * turn);
        double to = fmin(360, s->closes + 720 * turn);
        if (from < to) {
            part[n][0] = at(from);
            part[n++][1] = at(to);
        }
    }
    return n;
}

static void
draw_bar(struct vb_out *o, const char *class, const struct vb_timing_span *s, double y)
{
    double part[3][2];
    size_t n = parts_of(s, part);
    for (size_t i = 0; i < n; i++)
        vb_svg_rect(o, class, part[i][0], y, part[i][1] - part[i][0], BAR);
}

/* A thin line with an upright at each end that is an event. */
static void
draw_nominal(struct vb_out *o, const struct vb_timing_span *s, double y)
{
    double part[3][2];
    size_t n = parts_of(s, part);
    for (size_t i = 0; i < n; i++) {
        vb_svg_line(o, "nominal", part[i][0], y, part[i][1], y);
        for (int end = 0; end < 2; end++)
            if (part[i][end] > LEFT && part[i][end] < RIGHT)
                vb_svg_line(o, "nominal", part[i][end], y - 4, part[i][end], y + 4);
    }
}

/* A word at an angle; at the ends it stays within the drawing. */
static void
put_word(struct vb_out *o, double angle, double y, const char *text)
{
    if (angle <= -360)
        vb_svg_text(o, "tick", VB_ANCHOR_START, 2, y, text);
    else if (angle >= 360)
        vb_svg_text(o, "tick", VB_ANCHOR_END, WIDTH - 2, y, text);
    else
        vb_svg_text(o, "tick", VB_ANCHOR_MIDDLE, at(angle), y, text);
}

static void
draw_turns(struct vb_out *o, double bottom)
{
    static const char *const dead[] = {"firing", "bottom", "overlap", "bottom", "firing"};
    char text[16];
    for (int i = 0; i < 9; i++) {
        double angle = -360 + 90 * i, x = at(angle);
        vb_svg_line(o, i % 2 ? "grid" : "axis", x, TOP - 6, x, bottom);
        snprintf(text, sizeof text, "%.0f", angle);
        put_word(o, angle, bottom + 14, text);
        if (i % 2 == 0)
            put_word(o, angle, TOP - 12, dead[i / 2]);
    }
}

enum vb_err
vb_timing_chart_write(struct vb_out *o, size_t id, const char *title, const char *desc,
                      const struct vb_timing_cam *cam, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (!is_sound(&cam[i].now) || !is_sound(&cam[i].last) ||
            !is_sound(&cam[i].nominal))
            return VB_EDOM;
    if (!n)
        return VB_EDOM;
    double bottom = TOP + BLOCK * (double)n;
    vb_svg_begin(o, id, WIDTH, bottom + 20, title, desc);
    draw_turns(o, bottom);
    for (size_t i = 0; i < n; i++) {
        double y = TOP + BLOCK * (double)i;
        vb_svg_text(o, "cam-name", VB_ANCHOR_START, LEFT + 3, y + 11, cam[i].name);
        draw_bar(o, "now", &cam[i].now, y + 15);
        draw_bar(o, "last", &cam[i].last, y + 27);
        draw_nominal(o, &cam[i].nominal, y + 43);
    }
    vb_svg_end(o);
    return VB_OK;
}
