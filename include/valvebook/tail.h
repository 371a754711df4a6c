#ifndef VALVEBOOK_TAIL_H
#define VALVEBOOK_TAIL_H

#include "valvebook/err.h"
#include "valvebook/wear.h"

/*
 * vb_tail - how far single lives scatter, so that one slip of the pen does not become the
 * scatter of all valves of a family and side. A life's SSE counts at most as
 *     vb_tail_point(df) max(s2, VB_U_REFERENCE^2)
 * with the s2 that comes of it. There is exactly one such s2: sum min(SSE, point s) / sum df
 * is concave in s. A life of a family and side whose df are together no more than its own
 * point is never bounded. Scatter that a dial indicator alone could leave is no slip.
 * Source: Algorithm S of ISO 5725-5:1998 for lives of unlike df, with the upper 1e-4 point
 * instead of the upper tenth, beyond which an adjustment factor is 1.
 *
 * Lives are sorted into classes of SSE / point, 1/8 to 1/16 of it wide, so that nothing is
 * kept of each and their order does not matter; where the bound falls into a class, its
 * mean decides.
 *   low     SSE of those below the lowest class
 *   class   [VB_TAIL_CLASSES] NULL before one is in; free with free()
 */
#define VB_TAIL_CLASSES 192

struct vb_tail_class {
    double sse, point; // sums
};

struct vb_tail {
    double low;
    struct vb_tail_class *class;
};

/*
 * vb_tail_point - what chi-square with df >= 1 degrees of freedom exceeds once in 10,000.
 * Source: Wilson & Hilferty (1931), 7 % high at df = 1, 2 % at 5.
 */
double vb_tail_point(double df);

/* vb_tail_add - a life's SSE; nothing where df < 1. Errors: VB_EMEM. */
enum vb_err vb_tail_add(struct vb_tail *t, const struct vb_wear *w);

/*
 * vb_tail_cut - take from a pool what goes beyond the bounds.
 *   p   all that was added to t
 * Returns the variance s that bounds a life at vb_tail_point(df) s; INFINITY, and p as it
 * was, where none goes beyond.
 */
double vb_tail_cut(const struct vb_tail *t, struct vb_pool *p);

#endif
