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

/*
 * vb_meter_offset - what the running meter has more than the one that an engine shows on a
 * day: sum over swaps up to and with that day of (last - first). O(n).
 */
double vb_meter_offset(const struct vb_swap *swap, size_t n, double day);

#define VB_METER_H_A_DAY  24.0   // a day has no more
#define VB_METER_KM_A_DAY 3000.0 // common practice: two drivers, day and night
#define VB_METER_MORE     1.0    // h or km: figures are rounded

enum vb_mark_kind { VB_MARK_VISIT, VB_MARK_EVENT, VB_MARK_SWAP };

/*
 * vb_mark - a figure of the meter that somebody wrote down.
 *   day       days since 1970-01-01
 *   meter     as shown; of a swap what the old meter showed last
 *   first     of a swap what the new one began with
 *   running   vb_meter_running of the figure
 *   km        1 km, 0 h
 */
struct vb_mark {
    enum vb_mark_kind kind;
    double day, meter, first, running;
    int km;
};

/* What is wrong between two figures. */
enum vb_clash {
    VB_CLASH_NONE,
    VB_CLASH_BACK,  // the meter runs backwards
    VB_CLASH_FAST,  // more than a day has hours
    VB_CLASH_SWAP,  // a reading of the day of a swap that neither meter can have shown
    VB_CLASH_UNIT,  // h and km
    VB_CLASH_TWICE, // one swap under two dates
};

/*
 * vb_meter_most - how far a meter can run from one day to another, whole days at both
 * ends: a day's most x (days between + 1) + VB_METER_MORE.
 */
double vb_meter_most(double from_day, double to_day, int km);

/*
 * vb_meter_pair - can a meter show both?
 *   a, b   b not on an earlier day; of two visits b is the later, of one day too. A visit
 *          and an event of one day may have been in either order.
 * Two swaps with the same last figure are one that was entered twice, unless that is the
 * end of a counter: all nines, or 1 and zeros.
 * Cost: O(1), no allocation.
 */
enum vb_clash vb_meter_pair(const struct vb_mark *a, const struct vb_mark *b);

/*
 * vb_meter_check - can a visit stand between what is known?
 *   before     the visit before it, NULL if there is none
 *   event, n   [n] events with a figure, in order of day
 *   with       out: the figure that it does not go with; untouched if there is none
 * The visit or the event just before it, all events of its day and the first behind it
 * are looked at.
 * Cost: O(n), no allocation.
 */
enum vb_clash vb_meter_check(const struct vb_mark *visit, const struct vb_mark *before,
                             const struct vb_mark *event, size_t n,
                             const struct vb_mark **with);

#endif
