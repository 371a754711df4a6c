#ifndef VALVEBOOK_SVG_H
#define VALVEBOOK_SVG_H

#include <stddef.h>

#include "valvebook/err.h"
#include "valvebook/out.h"

/*
 * Pieces of drawings, as SVG that stands in a page of HTML. Coordinates are those of the
 * drawing, y down, and finite; a class is markup and names a rule of the page's style;
 * titles, descriptions and texts are data (html.h).
 */

/*
 * vb_axis - a straight scale: lo falls on at_lo, hi on at_hi. lo < hi.
 * vb_axis_at - where a value falls; outside lo..hi it falls outside.
 */
struct vb_axis {
    double lo, hi, at_lo, at_hi;
};
double vb_axis_at(const struct vb_axis *a, double value);

/*
 * vb_ticks - round values for a scale, one step apart: 1, 2 or 5 times a power of ten, the
 * smallest such step that gives no more than `most` of them.
 *   lo, hi    finite, lo < hi;  most  2..VB_TICKS_MAX
 *   out       tick [n], ascending, within lo..hi; decimals they need to be told apart
 * Errors: VB_EDOM  not as above, or a scale so small beside its values that a double cannot
 *                  tell ticks apart (out untouched)
 * Source: Heckbert, Nice numbers for graph labels, Graphics Gems (1990), here with a
 *         promise on how many.
 */
#define VB_TICKS_MAX 12
struct vb_ticks {
    double tick[VB_TICKS_MAX];
    size_t n;
    int decimals;
};
enum vb_err vb_ticks(double lo, double hi, size_t most, struct vb_ticks *out);

/*
 * vb_svg_begin - a drawing that a reader of the screen takes as one picture.
 *   id             unlike that of any other drawing of the page
 *   width, height  of its coordinates; the page decides how large it is shown
 *   title, desc    what it is, and what can be seen in it
 * vb_svg_end - the end of it.
 */
void vb_svg_begin(struct vb_out *o, size_t id, double width, double height,
                  const char *title, const char *desc);
void vb_svg_end(struct vb_out *o);

/* Shapes that can be told apart without colours. */
enum vb_mark {
    VB_MARK_DISC,
    VB_MARK_DIAMOND,
    VB_MARK_SQUARE,
    VB_MARK_DOWN, // a triangle on its tip
    VB_MARK_CROSS,
};

/* vb_svg_mark - a shape around a place, r from its middle to its rim. */
void vb_svg_mark(struct vb_out *o, enum vb_mark mark, const char *class, double x,
                 double y, double r);

/* vb_svg_bar - an error bar from y0 to y1 with short ends. */
void vb_svg_bar(struct vb_out *o, const char *class, double x, double y0, double y1);

void vb_svg_line(struct vb_out *o, const char *class, double x0, double y0, double x1,
                 double y1);

/* vb_svg_rect - w and h are not below 0. */
void vb_svg_rect(struct vb_out *o, const char *class, double x, double y, double w,
                 double h);

/* vb_svg_path - straight from place to place. xy [n] pairs; closed: an area. n >= 2. */
void vb_svg_path(struct vb_out *o, const char *class, const double (*xy)[2], size_t n,
                 int closed);

/* vb_svg_text - which end of the text stands at x. */
enum vb_anchor { VB_ANCHOR_START, VB_ANCHOR_MIDDLE, VB_ANCHOR_END };
void vb_svg_text(struct vb_out *o, const char *class, enum vb_anchor anchor, double x,
                 double y, const char *text);

/*
 * vb_svg_clip_begin - until vb_svg_clip_end only what lies in this rectangle is seen.
 *   id   of the drawing; one such rectangle a drawing
 */
void vb_svg_clip_begin(struct vb_out *o, size_t id, double x, double y, double w,
                       double h);
void vb_svg_clip_end(struct vb_out *o);

#endif
