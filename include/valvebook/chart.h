#ifndef VALVEBOOK_CHART_H
#define VALVEBOOK_CHART_H

#include <stddef.h>

#include "valvebook/course.h"
#include "valvebook/err.h"
#include "valvebook/forecast.h"
#include "valvebook/out.h"

/* Pictures of what was read and what is expected, as SVG in a page of HTML. */

/* vb_chart_point - a reading. x: running meter; y, u: mm, u NaN if nobody stated it. */
struct vb_chart_point {
    double x, y, u;
    int left; // as left, else as found
};

#define VB_CHART_LABEL 16

/* vb_chart_event - something that happened to the engine, or is planned. */
struct vb_chart_event {
    double x;
    int planned;
    char label[VB_CHART_LABEL];
};

/*
 * vb_chart - a value over the meter.
 *   title, desc   what it is and what can be seen in it, in words
 *   unit          of the meter, h or km
 *   offset        running meter less the one the engine shows; the scale has the latter
 *   day, day_arg  on which day the meter stood there, NaN if unknown; NULL: no dates
 *   point         [n_points]; their x and y are finite
 *   segment       [n_segments] fitted lines;  event  [n_events] in order of x
 *   lower, upper  limits and what they are called; NaN: none
 *   line          forecast, drawn from its mbar on, and not before `from`; NULL: none
 *   sign          of the value drawn: y = sign x level of the line (a seat's line falls from
 *                 0, what is drawn is how far it has closed)
 *   way           which bound is the early one: -1 the lower, 1 the upper, as drawn; 0 none
 *   confidence    one-sided, of that bound
 *   now, until    newest reading, and how far the forecast is drawn, now <= until
 *   early, expected, at   crossings and the limit they meet; NaN: none. One that is beyond
 *                 `until` is not drawn
 *   due           a label for the early one, "" for none
 */
struct vb_chart {
    const char *title, *desc, *unit;
    double offset;
    double (*day)(const void *arg, double x);
    const void *day_arg;
    const struct vb_chart_point *point;
    size_t n_points;
    const struct vb_segment *segment;
    size_t n_segments;
    const struct vb_chart_event *event;
    size_t n_events;
    double lower, upper;
    const char *lower_name, *upper_name;
    const struct vb_line *line;
    double from;
    int sign, way;
    double confidence;
    double now, until;
    double early, expected, at;
    char due[VB_CHART_LABEL];
};

/*
 * vb_chart_write - draw it.
 *   id   unlike that of any other drawing of the page
 * Errors: VB_EDOM  no point, or a scale that cannot be divided (nothing written)
 */
enum vb_err vb_chart_write(struct vb_out *o, size_t id, const struct vb_chart *c);

/* vb_chart_legend - what marks and lines mean, for all charts of a page: a list. */
void vb_chart_legend(struct vb_out *o);

/*
 * vb_chart_style - CSS for pages with charts: colours as variables, light, dark and
 * printed, and the classes used in charts.
 */
extern const char vb_chart_style[];

#endif
