#ifndef VALVEBOOK_COURSE_H
#define VALVEBOOK_COURSE_H

#include <stddef.h>

#include "valvebook/engine.h"
#include "valvebook/err.h"
#include "valvebook/fleet.h"
#include "valvebook/forecast.h"
#include "valvebook/life.h"

/* How the lash of a valve and the closing of its seat went, and where they go on to: what
 * lists are made from and charts show. Lash in mm at reference, meters running. */

/*
 * vb_seat_line - how far the seat has closed, as a line that falls from 0 at a new seat: at
 * the newest reading -closed with the variance s2 closed_v, and on at the same rate. It says
 * nothing of what lies before: its mbar is where it would be known best, closed_over before
 * the newest reading.
 * Returns 0 if there is none: as vb_fleet_line, or no interval has two readings.
 */
int vb_seat_line(const struct vb_fleet *f, const struct vb_life *l,
                 const struct vb_state *st, struct vb_line *out);

/*
 * vb_segment - the fitted line of one interval: the slope of its life, its own intercept.
 *   from, to        meters of its first and its last reading
 *   at_from, at_to  the line there, mm
 *   first, n        its readings
 */
struct vb_segment {
    double from, to, at_from, at_to;
    size_t first, n;
};

/*
 * vb_course_segments - of a life's points (vb_lives_points).
 *   point    [n] of one life
 *   rate     its own, mm per unit of meter; NaN: none, and then the lines are level
 *   out      [n] room;  n_out  how many there are
 * Errors: VB_EDOM  as vb_wear_fit (n_out untouched)
 * Source: vb_wear_fit, whose means of an interval these lines go through.
 */
enum vb_err vb_course_segments(const struct vb_point *point, size_t n, double rate,
                               struct vb_segment *out, size_t *n_out);

/*
 * vb_course_closing - how far the seat had closed at each reading.
 *     closed_k = what earlier lives left + sum over intervals before of (first - last)
 *                + first of this interval - y_k
 *   l        the life
 *   point    [n] its points; n = l->wear.n
 *   closed   out: [n] mm, positive; the last is l->closed, to rounding
 *   v        out: [n] its variance in units of s2, 1/w of first and last summed over
 *            intervals; the last is l->closed_v
 * Cost: O(n) time, no allocation.
 */
void vb_course_closing(const struct vb_life *l, const struct vb_point *point, size_t n,
                       double *closed, double *v);

/*
 * vb_course_meter - where the running meter stood, or will stand, on a day: likewise.
 * Returns NaN before the first visit, and where the pace is not known.
 */
double vb_course_meter(const struct vb_engine *e, const struct vb_unit_now *u,
                       double day);

/*
 * vb_course_day - the day on which the meter stood there, or will stand: between visits on
 * a straight line, behind the last one at the engine's pace.
 *   e    visits;  u  of the same engine
 * Returns NaN before the first visit, and where the pace is not known.
 */
double vb_course_day(const struct vb_engine *e, const struct vb_unit_now *u,
                     double running);

/* vb_course_shown - what the meter showed at the visit with this running meter, which may have
 * been swapped since; NaN if there is none. */
double vb_course_shown(const struct vb_engine *e, double running);

#endif
