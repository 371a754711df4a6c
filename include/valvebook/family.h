#ifndef VALVEBOOK_FAMILY_H
#define VALVEBOOK_FAMILY_H

#include <stddef.h>

#include "valvebook/banks.h"
#include "valvebook/crank.h"
#include "valvebook/err.h"
#include "valvebook/unit.h"
#include "valvebook/valve.h"

/* Facts that can be stated of a family of engines. The order is that of the table. */
enum vb_fact_id {
    VB_FACT_CYLINDERS,
    VB_FACT_VALVES,
    VB_FACT_NUMBERED_FROM,
    VB_FACT_FIRING_ORDER,
    VB_FACT_ADJUSTER,
    VB_FACT_LASH_MIN,
    VB_FACT_LASH_MAX,
    VB_FACT_LASH_TARGET,
    VB_FACT_LASH_GROWTH,
    VB_FACT_LASH_STACK,
    VB_FACT_RATIO,
    VB_FACT_READ_AT,
    VB_FACT_SEAT_LIMIT,
    VB_FACT_RELASH_INTERVAL,
    VB_FACT_RELASH_DAYS,
    VB_FACT_SCREW_PITCH,
    VB_FACT_SCREW_ON,
    VB_FACT_OPENS,
    VB_FACT_CLOSES,
    VB_FACT_CHECKING_LIFT,
    VB_FACT_LIFT_AT,
    VB_FACT_LOBE,
    VB_FACT_TIMING_TOLERANCE,
    VB_FACT_BANKS,
    VB_FACT_CAM_FOR,
    VB_FACT_CRANK_TEETH,
    VB_FACT_CAM_TEETH,
    VB_FACT_SPROCKET_LIMIT,
    VB_FACT_SHIM_MIN,
    VB_FACT_SHIM_MAX,
    VB_FACT_SHIM_STEP,
    VB_FACT_SHIM_FITS,
    VB_FACT_COUNT,
};

#define VB_LOBE_NAME 64 // bytes that hold the name of a lobe and its NUL

/* Whether a fact is said of a side. */
enum vb_sided { VB_SIDE_NEVER, VB_SIDE_MAY, VB_SIDE_MUST };

/* vb_fact - one row of the table of facts. */
struct vb_fact {
    const char *key;
    enum vb_sided sided;
    enum vb_dim dim;    // NONE: a plain number, or a word if words is not NULL
    enum vb_dim dim_or; // a second dimension that will do (h or km), else NONE
    // the words that are allowed, separated by blanks; or one of "" a firing order,
    // "+" a stack of lengths, ":" banks, "*" a name
    const char *words;
    double lo, hi; // allowed range, in the book's unit
    const char *says;
};

/* vb_fact_find - by key; NULL if nobody knows it.  vb_fact_all - the whole table. */
const struct vb_fact *vb_fact_find(const char *key, size_t n);
const struct vb_fact *vb_fact_all(size_t *n);

/*
 * vb_fact_check - is this a value of this fact? Converts numbers to the book's unit.
 * An angle may be written in any way that vb_angle_parse takes ("12 BTDC"); its unit may
 * then be blank, of a bare number it may not.
 *   side    "" , "I" or "E"
 *   out     out: the number, NaN for a word; untouched on failure
 *   dim     out: the dimension the unit had; may be NULL
 * Errors: VB_ESYNTAX, VB_EUNIT, VB_ERANGE; m says why
 */
enum vb_err vb_fact_check(const struct vb_fact *f, const char *side, const char *value,
                          const char *unit, double *out, enum vb_dim *dim,
                          struct vb_msg *m);

/* What sets the lash. */
enum vb_adjuster {
    VB_ADJUSTER_UNKNOWN,
    VB_ADJUSTER_SCREW,
    VB_ADJUSTER_SHIM,
    VB_ADJUSTER_HYDRAULIC,
};

/* Where the adjusting screw is. */
enum vb_screw_on {
    VB_SCREW_UNKNOWN, // taken to be on the valve's side
    VB_SCREW_VALVE,
    VB_SCREW_PUSHROD,
    VB_SCREW_STUD,  // a nut that carries the rocker's pivot between push-rod and valve
    VB_SCREW_PIVOT, // under the end of a follower whose cam lies between it and the valve
};

/* What a shim of one side fits. */
enum vb_shim_fits {
    VB_SHIM_FITS_UNKNOWN, // taken to be both
    VB_SHIM_FITS_BOTH,
    VB_SHIM_FITS_SIDE, // its own side alone, as where the diameters differ
};

/* What one cam works. */
enum vb_cam_for {
    VB_CAM_FOR_SIDE,   // the valves of a side, in each bank
    VB_CAM_FOR_BANK,   // both sides of a bank
    VB_CAM_FOR_ENGINE, // all there are
};

/*
 * vb_family - the facts of one family, by side (0 inlet, 1 exhaust), in the book's
 * units; NaN where nobody said anything.
 */
struct vb_family {
    int cylinders; // 0 unknown
    int valves[2]; // a cylinder and side, 0 unknown
    double lash_min[2], lash_max[2], lash_target[2];
    double lash_growth[2]; // mm/Cel, 0 if not stated
    double ratio[2];       // 1 if not stated
    int read_at_lobe[2];
    double seat_limit[2];
    double relash; // h or km
    enum vb_dim relash_dim;
    double relash_days;
    char firing_order[VB_FIRING_TEXT];
    double opens[2], closes[2]; // nominal events, crank deg from overlap TDC
    double checking_lift[2];    // mm
    int lift_at_lobe[2];        // it and lift at TDC, without lash; else at the valve
    char lobe[2][VB_LOBE_NAME]; // profile of table lobes, "" if not stated
    double timing_tolerance;    // crank deg
    struct vb_banks banks;
    enum vb_cam_for cam_for;
    int crank_teeth, cam_teeth; // 0 unknown
    double sprocket_limit;      // deg
    enum vb_adjuster adjuster;
    double screw_pitch[2]; // mm
    enum vb_screw_on screw_on[2];
    double shim_min[2], shim_max[2], shim_step[2]; // mm, the shims that can be bought
    enum vb_shim_fits shim_fits;
};

void vb_family_init(struct vb_family *f);

/* vb_family_set - take one fact that vb_fact_check has let through. */
void vb_family_set(struct vb_family *f, const struct vb_fact *fact, const char *side,
                   const char *value, double number, enum vb_dim dim);

/*
 * vb_family_has - can an engine of this family have this valve? Unknown numbers of
 * cylinders or valves allow anything. With one valve a side the index must be absent,
 * with more it must be there.
 */
int vb_family_has(const struct vb_family *f, struct vb_valve v);

/*
 * vb_family_has_part - can an engine of this family have something of this place? Like
 * vb_family_has, but members that are 0 mean all of them.
 */
int vb_family_has_part(const struct vb_family *f, struct vb_valve v);

/*
 * vb_family_clashes - facts that contradict each other: a lower limit above the upper one
 * (lash, shims), a lash_target outside its limits.
 *   m   the first of them in words; untouched if there is none, may be NULL
 * Returns how many there are. O(1).
 */
size_t vb_family_clashes(const struct vb_family *f, struct vb_msg *m);

#endif
