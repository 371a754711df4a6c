#ifndef VALVEBOOK_TIMING_CHART_H
#define VALVEBOOK_TIMING_CHART_H

#include <stddef.h>

#include "valvebook/err.h"
#include "valvebook/out.h"

/* Where cams open and close over the two turns of a cycle, as SVG in a page of HTML. */

/* vb_timing_span - crank degrees relative to gas-exchange (overlap) TDC, opens < closes;
 * NaN: not known. */
struct vb_timing_span {
    double opens, closes;
};

/*
 * vb_timing_cam - one cam.
 *   name    data, as people call it
 *   now     in this build;  last  in the one before;  nominal  as it should be
 */
struct vb_timing_cam {
    const char *name;
    struct vb_timing_span now, last, nominal;
};

/*
 * vb_timing_chart_write - one block a cam, over 720 degrees from firing TDC to firing TDC: a
 * filled bar for this build, an outlined one for the last, a thin line for nominal. What
 * reaches beyond an end goes on at the other.
 *   id            unlike that of any other drawing of the page
 *   title, desc   data: what it is and what can be seen in it
 *   cam, n        [n], n >= 1
 * Errors: VB_EDOM  n = 0, or a span that does not open before it closes, is longer than
 *                  720 degrees or lies outside -720..720 (nothing written)
 * Its classes are in vb_chart_style (chart.h).
 */
enum vb_err vb_timing_chart_write(struct vb_out *o, size_t id, const char *title,
                                  const char *desc, const struct vb_timing_cam *cam,
                                  size_t n);

#endif
