#ifndef VALVEBOOK_SERVICE_IMPL_H
#define VALVEBOOK_SERVICE_IMPL_H

#include "valvebook/service.h"

struct mark {
    double day, running;
};

/* An engine on its way through vb_service_add. Positions are days or running meter. */
struct service_view {
    struct vb_service *s;
    const struct vb_engine *e;
    const struct vb_renewed *r;
    struct mark *mark; // days on which the meter is known
    size_t n_marks;
    int is_new;   // on the day it came into service
    double start; // position at which it came; NaN if not known
    double end;   // position at which it was seen last
    double end_day;
};

/* service.c: where an event lies; NaN if nothing says it */
double service_position(const struct service_view *v, size_t event);

/* part_life.c: does the event replace the wished part; renew it, alone or with others; renew
 * all there are of it; and how many places does it replace */
int service_replaces(const struct vb_service *s, const struct vb_event *ev,
                     const struct vb_renewed *r);
int service_begins_anew(const struct vb_service *s, const struct vb_event *ev,
                        const struct vb_renewed *r);
double service_count(const struct vb_service *s, const struct vb_family *f,
                     const struct vb_event *ev);
enum vb_err service_part_lives(struct service_view *v);

#endif
