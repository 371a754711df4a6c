#ifndef VALVEBOOK_SHIMS_H
#define VALVEBOOK_SHIMS_H

#include <stddef.h>
#include <stdint.h>

#include "valvebook/err.h"

/*
 * Which valve gets which shim. Lengths are whole numbers of VB_SHIM_PER_MM to the mm, so
 * that nothing hangs on a rounding.
 */
#define VB_SHIM_PER_MM 10000
#define VB_SHIM_MOST   (20 * VB_SHIM_PER_MM)
#define VB_SHIM_VALVES 999

/* vb_shim_units - mm in those units, rounded to the nearest; VB_SHIM_NONE for NaN and for
 * what lies beyond VB_SHIM_MOST. */
#define VB_SHIM_NONE INT64_MIN
int64_t vb_shim_units(double mm);
double vb_shim_mm(int64_t units); // NaN for VB_SHIM_NONE

/*
 * vb_shim_valve - a valve that is to be set.
 *   present          the shim in it, >= 0
 *   found, target    lash
 *   lo, hi           limits of the lash, VB_SHIM_NONE for one that nobody has stated
 *   band             nearer to a limit than this nobody can say on which side of it the
 *                    lash is, >= 0
 *   order_min, order_max, order_step   shims that can be bought, from order_min on in
 *                    steps; order_step VB_SHIM_NONE where none can
 *   side             'I', 'E', or 0 where that is no matter
 *   own_side         the shim in it fits that side only
 */
struct vb_shim_valve {
    int64_t present, found, target, lo, hi, band;
    int64_t order_min, order_max, order_step;
    char side;
    int own_side;
};

/* vb_shim_stock - so many shims of a thickness on the shelf.  side  that they fit, 0: either */
struct vb_shim_stock {
    int64_t thickness;
    size_t count;
    char side;
};

enum vb_shim_source {
    VB_SHIM_UNSERVED, // nothing lands inside its limits
    VB_SHIM_OWN,      // the one it has is the best
    VB_SHIM_SWAP,     // the one that another valve had
    VB_SHIM_SHELF,    // from stock
    VB_SHIM_BUY,
};

/*
 * vb_shim_choice - what a valve gets.
 *   from        SWAP: index of the valve; SHELF: index into the stock
 *   thickness   of the new shim;  after  the lash it gives
 *   wanted      the thickness that would give the target: present + found - target
 *   fits        how many shims of the pool that fit it, of other kinds than BUY, would have
 *               landed inside its limits
 */
struct vb_shim_choice {
    enum vb_shim_source source;
    size_t from;
    int64_t thickness, after, wanted;
    size_t fits;
};

/* vb_shim_total - how good a choice is: the first that differs decides, less is better.
 *   close  valves that land within their band of a limit, and beyond the target towards it
 *   off    sum of |lash after - target|;  moved  valves that do not keep their shim */
struct vb_shim_total {
    int64_t unserved, close, bought, off, moved;
};

/*
 * vb_shims_choose - give every valve a shim out of one pool: those taken out of these
 * valves, the stock, and what can be bought. What fits another side is not given.
 *     lash after = present + found - new
 *   valve    [n] n >= 1;  stock  [n_stock], may be NULL for none
 *   choice   out: [n];  total  out
 * All valves land inside their limits if that can be; else as many as can. Among those
 * choices the one with the fewest that land too close to a limit to say, since a valve is
 * set to be inside for certain; then the fewest bought; then the least sum of deviations
 * from target; then the fewest shims moved. With so many valves, so far off, that all this
 * does not go into one number, what is close is not looked at.
 * Of two orderable shims equally near the target the thinner
 * is taken: tight is worse than loose.
 * Errors: VB_EDOM    n = 0; a thickness or lash missing, a band below 0, or a limit below
 *                    the other
 *         VB_ERANGE  more than VB_SHIM_VALVES valves, or a length beyond VB_SHIM_MOST
 *         VB_EMEM                                               (results untouched)
 * Cost:   O(n^2 m) time, O(n m) memory, m = n + shims of the stock that fit somewhere.
 * Source: assignment problem (assign.h).
 */
enum vb_err vb_shims_choose(const struct vb_shim_valve *valve, size_t n,
                            const struct vb_shim_stock *stock, size_t n_stock,
                            struct vb_shim_choice *choice, struct vb_shim_total *total);

#endif
