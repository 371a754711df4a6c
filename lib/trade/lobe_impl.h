#ifndef VALVEBOOK_LOBE_IMPL_H
#define VALVEBOOK_LOBE_IMPL_H

#include <stddef.h>

#include <gsl/gsl_interp.h>

/*
 * vb_lobe - a profile; made and freed by lobe.c, solved by lobe_events.c.
 *   x, y   [n] cam degrees, rising, and lift, mm
 *   top    index of the greatest lift, the first of them
 */
struct vb_lobe {
    size_t n, top;
    double *x, *y;
    gsl_interp *spline;
};

#endif
