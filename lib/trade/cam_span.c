#include "valvebook/cam_span.h"

#include <math.h>

static struct vb_events
span(double centre, double duration)
{
    return (struct vb_events){centre - duration / 2, centre + duration / 2};
}

struct vb_events
vb_cam_span_now(const struct vb_cam_row *r)
{
    return span(r->fig.centre, r->fig.duration);
}

struct vb_events
vb_cam_span_reference(const struct vb_cam_row *r)
{
    if (!r->n_shift || (r->against != VB_AGAINST_NOMINAL &&
                        r->against != VB_AGAINST_TIMED && r->against != VB_AGAINST_LAST))
        return span(NAN, NAN);
    return span(r->fig.centre - r->shift.phase, r->fig.duration - r->shift.duration);
}
