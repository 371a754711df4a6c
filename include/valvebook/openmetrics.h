#ifndef VALVEBOOK_OPENMETRICS_H
#define VALVEBOOK_OPENMETRICS_H

#include "valvebook/due.h"
#include "valvebook/out.h"

/*
 * vb_openmetrics_due - a due list as metrics for monitoring: the day it is of, how many
 * engines there are, when one of them was last read, how many lines of each kind and level,
 * and for each line the days and the meter that are left, and whether it is over.
 *   as_of   days since 1970-01-01
 * Source: OpenMetrics 1.0.0, text format.
 */
void vb_openmetrics_due(const struct vb_dues *d, double as_of, struct vb_out *o);

#endif
