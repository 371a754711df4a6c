/* What placed a cam, and which cam it is. Engines have a handful of such events. */
#include <math.h>
#include <string.h>

#include "cams_impl.h"

static int
concerns(const struct cams *c, const struct vb_cam_event *ev, struct vb_cam_place cam)
{
    const struct vb_family *f = c->e->family;
    int cyl = ev->at.cyl;
    const struct vb_cam_place at = {0, ev->at.side};
    return vb_cam_is_one(f->cam_for, ev->place, cam) &&
           vb_cam_is_one(f->cam_for, at, cam) &&
           (!cyl || f->cam_for == VB_CAM_FOR_ENGINE || f->banks.of[cyl] == cam.bank);
}

/* Is the event behind what was read on that day? */
static int
later(const struct vb_cam_event *ev, double day, int inclusive)
{
    return inclusive ? floor(ev->day) > floor(day) : floor(ev->day) >= floor(day);
}

int
cams_build(const struct cams *c, struct vb_cam_place cam, double day, int inclusive)
{
    int n = 0;
    double last = -HUGE_VAL; // several parts of one day place a cam once
    for (size_t i = 0; i < c->e->n_events; i++) {
        const struct vb_cam_event *ev = &c->e->event[i];
        if (!concerns(c, ev, cam) || later(ev, day, inclusive))
            continue;
        n += floor(ev->day) != last;
        last = floor(ev->day);
    }
    return n;
}

const struct vb_cam_event *
cams_placing(const struct cams *c, struct vb_cam_place cam, int number)
{
    for (size_t i = 0; i < c->e->n_events && number > 0; i++)
        if (concerns(c, &c->e->event[i], cam) &&
            cams_build(c, cam, c->e->event[i].day, 1) == number)
            return &c->e->event[i];
    return NULL;
}

const char *
cams_build_name(const struct cams *c, struct vb_cam_place cam, int number)
{
    const char *name = "";
    for (size_t i = 0; i < c->e->n_events; i++) {
        const struct vb_cam_event *ev = &c->e->event[i];
        if (ev->build[0] && concerns(c, ev, cam) &&
            cams_build(c, cam, ev->day, 1) <= number)
            name = ev->build;
    }
    return name;
}

/* The latest that names the place; of one day the one that names it most closely. */
static const struct vb_cam_event *
fitted(const struct cams *c, struct vb_cam_place cam, double day, int inclusive,
       int says_item)
{
    const struct vb_cam_event *best = NULL;
    int close = 0;
    for (size_t i = 0; i < c->e->n_events; i++) {
        const struct vb_cam_event *ev = &c->e->event[i];
        if (!ev->fit || (says_item ? !ev->item[0] : ev->reversed < 0) ||
            !concerns(c, ev, cam) || later(ev, day, inclusive))
            continue;
        // of one cam with two sides the other one may be named
        int k = (ev->place.bank && ev->place.bank == cam.bank) +
                (ev->place.side && ev->place.side == cam.side);
        if (best && floor(ev->day) == floor(best->day) && k < close)
            continue;
        best = ev;
        close = k;
    }
    return best;
}

const char *
cams_item(const struct cams *c, struct vb_cam_place cam, double day, int inclusive)
{
    const struct vb_cam_event *ev = fitted(c, cam, day, inclusive, 1);
    return ev ? ev->item : "";
}

const char *
cams_lobe_name(const struct cams *c, struct vb_cam_place cam, double day, int inclusive,
               int *own)
{
    const struct vb_cam_event *ev = fitted(c, cam, day, inclusive, 1);
    int has = ev && cams_has_profile(c, ev->item);
    int elsewhere = ev && ev->place.side && ev->place.side != cam.side;
    *own = has && !elsewhere;
    return !has ? c->e->family->lobe[cam.side == 'E'] : elsewhere ? "" : ev->item;
}

int
cams_reversed(const struct cams *c, struct vb_cam_place cam, double day, int inclusive)
{
    const struct vb_cam_event *ev = fitted(c, cam, day, inclusive, 0);
    return ev && ev->reversed;
}
