/* Where a cam stands, and how with its fellow of the other side. */
#include <math.h>
#include <string.h>

#include "cams_impl.h"

/* sum - of a figure over cylinders, and of the TDCs that it was counted from. */
struct sum {
    double overlap, separation, advance;
    double overlap2, separation2, advance2; // of their uncertainties
    size_t n;
    long tdc[VB_CAM_VALVES];
    double u_tdc[VB_CAM_VALVES];
};

static double
square(double x)
{
    return x * x;
}

/* Mean events of a cylinder's valves; 0 if the set has none. u2: square of u of each. */
static int
cylinder(const struct set *s, int cyl, struct vb_events *e, double *u2,
         const struct timed **one)
{
    int n = 0;
    *e = (struct vb_events){0, 0};
    *u2 = 0;
    for (size_t i = 0; i < s->n; i++) {
        if (s->t[i].v.cyl != cyl)
            continue;
        n++;
        e->opens += s->t[i].r.e.opens;
        e->closes += s->t[i].r.e.closes;
        *u2 += square(s->t[i].r.u);
        *one = &s->t[i];
    }
    if (n) {
        e->opens /= n;
        e->closes /= n;
        *u2 /= n * n;
    }
    return n;
}

static void
add_cylinder(struct sum *sum, const struct set *in, const struct set *ex, int cyl)
{
    struct vb_events i, e;
    struct vb_timing t;
    double ui, ue;
    const struct timed *one = NULL;
    if (!cylinder(in, cyl, &i, &ui, &one) || !cylinder(ex, cyl, &e, &ue, &one) ||
        sum->n == VB_CAM_VALVES)
        return;
    // two different u enter as their mean square: each figure has both alike
    if (vb_timing_of(i, e, sqrt((ui + ue) / 2), 0, &t, NULL))
        return;
    sum->overlap += t.overlap;
    sum->separation += t.separation;
    sum->advance += t.advance;
    sum->overlap2 += square(t.u_overlap);
    sum->separation2 += square(t.u_separation);
    sum->advance2 += square(t.u_advance);
    sum->tdc[sum->n] = one->r.tdc;
    sum->u_tdc[sum->n++] = one->r.u_tdc;
}

/* Cylinders that were counted from one TDC share its error, which adds up. */
static double
tdc_squares(const struct sum *s)
{
    double all = 0;
    for (size_t i = 0; i < s->n; i++)
        for (size_t k = 0; k < s->n; k++)
            if (s->tdc[i] == s->tdc[k])
                all += s->u_tdc[i] * s->u_tdc[k];
    return all;
}

static void
pair(const struct set *in, const struct set *ex, struct vb_cam_figures *f)
{
    struct sum s = {0};
    for (int cyl = 1; cyl <= VB_CYL_MAX; cyl++)
        add_cylinder(&s, in, ex, cyl);
    if (!s.n)
        return;
    double n = (double)s.n;
    if (!in->t->by_lift && !ex->t->by_lift) {
        f->overlap = s.overlap / n;
        f->u_overlap = sqrt(s.overlap2) / n;
    }
    f->separation = s.separation / n;
    f->u_separation = sqrt(s.separation2) / n;
    f->advance = s.advance / n;
    f->u_advance = sqrt(s.advance2 + tdc_squares(&s)) / n;
}

enum vb_err
cams_figures(const struct set *own, const struct set *fellow, struct vb_cam_figures *f)
{
    struct vb_timing_read r[VB_CAM_VALVES];
    struct vb_cam_mean mean;
    size_t n = own->n < VB_CAM_VALVES ? own->n : VB_CAM_VALVES;
    for (size_t i = 0; i < n; i++)
        r[i] = own->t[i].r;
    enum vb_err e = vb_cam_mean_of(r, n, &mean, NULL);
    if (e)
        return e;
    f->centre = mean.centre;
    f->u_centre = mean.u_centre;
    if (!own->t->by_lift) {
        f->duration = mean.duration;
        f->u_duration = mean.u_duration;
    }
    if (fellow->n && own->t->cam.side == 'I')
        pair(own, fellow, f);
    else if (fellow->n)
        pair(fellow, own, f);
    return VB_OK;
}
