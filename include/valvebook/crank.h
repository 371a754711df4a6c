#ifndef VALVEBOOK_CRANK_H
#define VALVEBOOK_CRANK_H

#include "valvebook/banks.h"
#include "valvebook/err.h"

/*
 * In which order valves are set: at which positions of the crank which valves are closed.
 * Four strokes, one crank. Crank positions are degrees after the firing TDC of cylinder 1,
 * 0 to 720.
 */

#define VB_FIRING_TEXT 300 // bytes that hold an order of 99 cylinders and its NUL

/*
 * vb_firing - the cylinders in the order in which they fire; each from 1 to n once.
 *   deg      crank position at which each of them fires; ascending, the first 0
 *   stated   how many are stated by the text: none, and they are 720/n apart, or n - 1
 */
struct vb_firing {
    int cyl[VB_CYL_MAX];
    double deg[VB_CYL_MAX];
    int n, stated;
};

/*
 * vb_firing_parse - read "1-3-4-2", cylinders that fire evenly, or "1-2@405", where the
 * crank degrees behind the firing TDC of the first stand at each of the others.
 *   out   begins with cylinder 1, whichever the text begins with; untouched on failure
 * Errors: VB_ESYNTAX  not every number from 1 on once, or more than VB_CYL_MAX; degrees at
 *                     some of the others only or at the first, not whole, not ascending,
 *                     or from 720 on
 */
enum vb_err vb_firing_parse(const char *s, struct vb_firing *out);

/* vb_firing_deg - the crank position at which a cylinder fires; NaN if it has none. */
double vb_firing_deg(const struct vb_firing *f, int cyl);

/*
 * vb_firing_companion - the cylinder that fires one turn later: at the firing TDC of the
 * one the other's valves rock, at overlap TDC. 0 if there is none, as in an odd number.
 */
int vb_firing_companion(const struct vb_firing *f, int cyl);

/* How far from the events of vb_opening_wide a valve must be to be set, crank degrees
 * (common practice). */
#define VB_SET_MARGIN 30.0

/* vb_opening - when a valve is off its seat: nominal events at checking lift, crank
 * degrees from its own cylinder's overlap TDC, -360 to 360. */
struct vb_opening {
    double opens, closes;
};

/*
 * vb_opening_assumed - what is taken where nobody has stated events: an inlet opens 60
 * BTDC and closes 90 ABDC, an exhaust opens 90 BBDC and closes 60 ATDC. With
 * VB_SET_MARGIN that gives what every workshop does: both valves at firing TDC, an
 * exhaust until a quarter turn past its overlap, an inlet from a quarter turn before.
 *   side   0 inlet, 1 exhaust
 * Source: common practice, wider than the events of any case in the reference data.
 */
struct vb_opening vb_opening_assumed(int side);

/*
 * vb_opening_wide - stated events, each no nearer to the middle than the assumed one; the
 * assumed ones where either is NaN. At a checking lift of 1 mm a lobe's clearance ramp
 * begins a good deal earlier and ends later than VB_SET_MARGIN: to state events must not
 * set a valve where nobody would set it without.
 */
struct vb_opening vb_opening_wide(struct vb_opening stated, int side);

/*
 * vb_closed_by - how many crank degrees from its nearer event a closed valve is.
 *   after   crank degrees after the firing TDC of its cylinder, any sign
 * Returns below 0 while it is open; NaN if an event or after is not finite.
 */
double vb_closed_by(struct vb_opening o, double after);

/* Ways to go through an engine. */
enum vb_order {
    VB_ORDER_CYLINDERS, // one after another as they fire, both valves at firing TDC
    VB_ORDER_TWO,       // fewest positions; two as a rule, one turn apart
    VB_ORDER_OPPOSITE,  // the same as CYLINDERS, found by the companion whose valves rock
};

/*
 * vb_crank_stop - a position of the crank at which valves are set.
 *   deg       crank position, NaN where the firing order is unknown
 *   firing    cylinder at its firing TDC, 0 if none
 *   rocking   cylinder at its overlap TDC, 0 if none
 */
struct vb_crank_stop {
    double deg;
    int firing, rocking;
};

/*
 * vb_crank_order - the positions, in the order in which the crank comes to them, and the
 * first of them at which each valve may be set.
 *   at      [cylinder][side] index into stop, -1: at none
 *   by      [cylinder][side] how far the valve is from its nearer event there, crank deg
 */
struct vb_crank_order {
    struct vb_crank_stop stop[2 * VB_CYL_MAX];
    int n;
    int at[VB_CYL_MAX + 1][2];
    double by[VB_CYL_MAX + 1][2];
};

/*
 * vb_crank_order_make - find the positions.
 *   o        [2] inlet, exhaust; finite, see vb_opening_assumed
 *   margin   crank degrees, >= 0; a valve may be set where vb_closed_by is not less
 *   out      filled whole
 * CYLINDERS and OPPOSITE stop at each cylinder's firing TDC. TWO stops at TDCs only: the
 * firing TDC of cylinder 1 first, one turn on if that does for all the others, else the
 * fewest that do.
 * Errors: VB_EDOM      an argument not as above, or no cylinder
 *         VB_EUNKNOWN  OPPOSITE where some cylinder has no companion
 * Cost:   O(n^2) time for each position, no allocation.
 * Source: common practice; TWO gives the sequence of TM 5-3805-258-24-1 p. 4-28. Points
 *         that meet all intervals: greedy by their ends.
 */
enum vb_err vb_crank_order_make(const struct vb_firing *f, const struct vb_opening *o,
                                double margin, enum vb_order way,
                                struct vb_crank_order *out);

#endif
