#ifndef VALVEBOOK_METER_H
#define VALVEBOOK_METER_H

#include <stddef.h>

/*
 * vb_swap - a meter that was swapped, reset or went round.
 *   day     when, days since 1970-01-01
 *   last    what the old meter showed last
 *   first   what the new one started from
 */
struct vb_swap {
    double day, last, first;
};

/*
 * vb_meter_running - what a meter would show had it never been swapped.
 *     running = meter + sum over swaps before the reading of (last - first)
 *   swap, n   [n] in order of day
 *   day       of the reading. On the day of a swap the reading belongs to the meter whose
 *             figure (last or first) it is nearer to.
 * Returns the running meter in the unit of the meter. O(n).
 */
double vb_meter_running(const struct vb_swap *swap, size_t n, double day, double meter);

#endif
