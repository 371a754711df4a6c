#ifndef VALVEBOOK_TEST_CLOSED_CAMS_H
#define VALVEBOOK_TEST_CLOSED_CAMS_H

#include <math.h>
#include <stdlib.h>

#include "valvebook/lobe.h"

/*
 * Cams in closed form, for tests only: rise, a dwell about 0 and fall by one of the basic
 * curves s(x) of lift over x = angle / angle of the flank (Rothbart, Cam Design Handbook,
 * McGraw-Hill 2004: simple harmonic, cycloidal, 3-4-5 polynomial):
 *     (1 - cos pi x) / 2,   x - sin(2 pi x) / (2 pi),   10 x^3 - 15 x^4 + 6 x^5
 * Their events are exact without any spline: the harmonic curve is inverted by acos, the
 * others by bisection and Newton's steps on s itself in long double.
 */
enum curve { HARMONIC, CYCLOIDAL, POLY_345, CURVES };

struct closed_cam {
    enum curve curve;
    double lift;              // mm
    double rise, dwell, fall; // cam degrees
};

static inline long double
curve_at(enum curve c, long double x)
{
    const long double pi = acosl(-1);
    switch (c) {
    case HARMONIC: return (1 - cosl(pi * x)) / 2;
    case CYCLOIDAL: return x - sinl(2 * pi * x) / (2 * pi);
    default: return x * x * x * (10 + x * (6 * x - 15));
    }
}

static inline long double
curve_slope(enum curve c, long double x)
{
    const long double pi = acosl(-1);
    switch (c) {
    case HARMONIC: return pi * sinl(pi * x) / 2;
    case CYCLOIDAL: return 1 - cosl(2 * pi * x);
    default: return 30 * x * x * (1 - x) * (1 - x);
    }
}

static inline double
curve_inverse(enum curve c, double s)
{
    if (c == HARMONIC)
        return acos(1 - 2 * s) / acos(-1);
    long double lo = 0, hi = 1;
    for (int i = 0; i < 20; i++) {
        long double mid = (lo + hi) / 2;
        if (curve_at(c, mid) < s)
            lo = mid;
        else
            hi = mid;
    }
    long double x = (lo + hi) / 2;
    for (int i = 0; i < 3 && curve_slope(c, x) > 1e-6L; i++)
        x -= (curve_at(c, x) - s) / curve_slope(c, x);
    return (double)x;
}

static inline double
closed_lift(const struct closed_cam *c, double cam_deg)
{
    double off = fabs(cam_deg) - c->dwell / 2;
    double flank = cam_deg < 0 ? c->rise : c->fall;
    if (off <= 0)
        return c->lift;
    return off >= flank ? 0 : c->lift * (double)curve_at(c->curve, 1 - off / flank);
}

/* Where the valve passes checking lift under lash, cam degrees. */
static inline struct vb_lobe_events
closed_events(const struct closed_cam *c, double ratio, double lash, double checking)
{
    double x = curve_inverse(c->curve, (checking + lash) / ratio / c->lift);
    return (struct vb_lobe_events){.up = -c->dwell / 2 - c->rise * (1 - x),
                                   .down = c->dwell / 2 + c->fall * (1 - x)};
}

/*
 * The profile in steps, from 10 degrees before the rise to 10 behind the fall; free with
 * free(). shift moves the table's points along the curve, in steps.
 */
static inline struct vb_lobe_point *
closed_table(const struct closed_cam *c, double step, double shift, size_t *n)
{
    double from = -c->dwell / 2 - c->rise - 10, to = c->dwell / 2 + c->fall + 10;
    *n = (size_t)((to - from) / step) + 1;
    struct vb_lobe_point *p = malloc(*n * sizeof *p);
    for (size_t i = 0; p && i < *n; i++) {
        p[i].cam_deg = from + ((double)i + shift) * step;
        p[i].lift = closed_lift(c, p[i].cam_deg);
    }
    return p;
}

static inline struct vb_lobe *
closed_lobe(const struct closed_cam *c, double step, double shift)
{
    size_t n;
    struct vb_lobe *l = NULL;
    struct vb_lobe_point *p = closed_table(c, step, shift, &n);
    if (!p || vb_lobe_new(p, n, 0, &l, NULL))
        l = NULL;
    free(p);
    return l;
}

#endif
