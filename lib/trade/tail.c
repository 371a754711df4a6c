/* One life must not become the scatter of all: sums of squares by how far they go. */
#include "valvebook/tail.h"

#include <math.h>
#include <stdlib.h>

#include "valvebook/life.h"

#define NORMAL_POINT 3.7190164854556804 // exceeded once in 10,000
#define LEAST_POWER  -14                // 2^-14 mm2 lies below VB_U_REFERENCE^2
#define AN_OCTAVE    8

double
vb_tail_point(double df)
{
    double v = 2 / (9 * df), x = 1 - v + NORMAL_POINT * sqrt(v);
    return df * x * x * x;
}

/* Below 0: it is no slip, whatever the others are like. */
static long
class_of(double variance)
{
    int power;
    double m = frexp(variance, &power); // 0.5 <= m < 1
    long i = (power - 1L - LEAST_POWER) * AN_OCTAVE + (long)((2 * m - 1) * AN_OCTAVE);
    return !(variance > 0) ? -1 : i < VB_TAIL_CLASSES ? i : VB_TAIL_CLASSES - 1;
}

enum vb_err
vb_tail_add(struct vb_tail *t, const struct vb_wear *w)
{
    if (w->df < 1)
        return VB_OK;
    double point = vb_tail_point((double)w->df);
    long i = class_of(w->sse / point);
    if (i < 0) {
        t->low += w->sse;
        return VB_OK;
    }
    if (!t->class)
        t->class = calloc(VB_TAIL_CLASSES, sizeof *t->class);
    if (!t->class)
        return VB_EMEM;
    t->class[i].sse += w->sse;
    t->class[i].point += point;
    return VB_OK;
}

/* Do its lives, taken together, go beyond their bounds? */
static int
is_beyond(const struct vb_tail_class *c, double s)
{
    return c->sse > s * c->point;
}

/*
 * From the class that goes farthest downwards: bounding one makes s less as long as its mean
 * lies above s, and then the df that are left exceed its points, since the SSE that are left
 * contain its own.
 */
double
vb_tail_cut(const struct vb_tail *t, struct vb_pool *p)
{
    const double least = VB_U_REFERENCE * VB_U_REFERENCE;
    double up_to[VB_TAIL_CLASSES + 1] = {t->low}, points = 0;
    if (!t->class)
        return INFINITY;
    for (size_t i = 0; i < VB_TAIL_CLASSES; i++)
        up_to[i + 1] = up_to[i] + t->class[i].sse;
    size_t n = VB_TAIL_CLASSES;
    double s = fmax(up_to[n] / p->df, least);
    for (; n > 0 && (is_beyond(&t->class[n - 1], s) || !t->class[n - 1].point); n--) {
        points += t->class[n - 1].point;
        s = fmax(up_to[n - 1] / (p->df - points), least);
    }
    if (!(points > 0))
        return INFINITY;
    p->sse = up_to[n] + s * points;
    return s;
}
