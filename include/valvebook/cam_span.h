#ifndef VALVEBOOK_CAM_SPAN_H
#define VALVEBOOK_CAM_SPAN_H

#include "valvebook/cams.h"
#include "valvebook/timing.h"

/*
 * Opening and closing of a cam, for pictures: rows of cams have its centre and its
 * duration. Crank degrees; both NaN where the row does not say them.
 */

/* vb_cam_span_now - where the cam of a row stands.
 *     opens = centre - duration / 2,  closes = centre + duration / 2 */
struct vb_events vb_cam_span_now(const struct vb_cam_row *r);

/* vb_cam_span_reference - where that stands which the row holds it against: the same, less
 * the shift of the centre and of the duration, of the valves that both have. NaN against a
 * bank or a mark too. */
struct vb_events vb_cam_span_reference(const struct vb_cam_row *r);

#endif
