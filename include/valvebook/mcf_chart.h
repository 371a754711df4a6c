#ifndef VALVEBOOK_MCF_CHART_H
#define VALVEBOOK_MCF_CHART_H

#include <stddef.h>

#include "valvebook/err.h"
#include "valvebook/family_life.h"
#include "valvebook/out.h"

/*
 * vb_mcf_chart - parts replaced an engine over its age, as SVG in a page of HTML: a stair from
 * the first age that was watched, and the band of its bounds where there is more than one
 * engine. Classes: fit, band, axis, grid, tick, as in other charts.
 *   id   unlike that of any other drawing of the page
 *   l    with a step at least
 * Errors: VB_EDOM  nothing was replaced, or ages too close to be told apart (nothing is
 *                  written);  VB_EMEM
 */
enum vb_err vb_mcf_chart(struct vb_out *o, size_t id, const struct vb_family_life *l);

#endif
