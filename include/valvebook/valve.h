#ifndef VALVEBOOK_VALVE_H
#define VALVEBOOK_VALVE_H

#include <stddef.h>

#include "valvebook/err.h"
#include "valvebook/number.h"

#define VB_VALVE_MAX 16 // bytes that hold any valve name and its NUL

/* vb_valve - 3E2 is cylinder 3, exhaust, second valve of that side. */
struct vb_valve {
    int cyl;   // 1..99, 0 while unknown
    char side; // 'I' inlet, 'E' exhaust, 0 while unknown
    int index; // 1..9 where a side has more than one valve, else 0
};

/*
 * vb_valve_parse - read a whole valve name as people write it: "1I", "3E2", "ex 4",
 * "cyl 2 inlet", "Cylinder 1 Exhaust 2", "3-E-2".  One number is the cylinder.
 *   s, n    [n] bytes
 *   out     all three members set; untouched on failure
 * Errors: VB_ESYNTAX  no such name, or the cylinder or side is missing
 */
enum vb_err vb_valve_parse(const char *s, size_t n, struct vb_valve *out);

/*
 * vb_valve_part - the same, but any part may be missing ("E2", "inlet", "3"): missing
 * members are 0.  "E2" names exhaust, index 2 here, since the cylinder stands elsewhere;
 * a number alone is the cylinder.
 */
enum vb_err vb_valve_part(const char *s, size_t n, struct vb_valve *out);

/* vb_valve_format - write "3E2" into out [VB_VALVE_MAX]; returns the length. */
size_t vb_valve_format(struct vb_valve v, char *out);

/* vb_valve_same - the same cylinder, side and index. */
int vb_valve_same(struct vb_valve a, struct vb_valve b);

/* vb_valve_order - below 0, 0 or above: by cylinder, inlet before exhaust, by index. */
int vb_valve_order(struct vb_valve a, struct vb_valve b);

/* vb_side_parse - 'I' or 'E' for a side's name or abbreviation, 0 for anything else. */
char vb_side_parse(const char *s, size_t n);

/*
 * vb_angle_parse - read a crank angle: a signed number, or one with a dead centre
 * ("12 BTDC", "45 deg ABDC", "8 atdc", "50 BBDC").
 *   mark    decimal mark
 *   side    'I' or 'E': bottom dead centre is +180 for an inlet, -180 for an exhaust
 *           valve, counted from gas-exchange TDC; 0 if unknown
 *   cam     nonzero if the number is in cam degrees: it is doubled, unless a unit behind it
 *           says that it is of the crank
 *   out     degrees of the crank, relative to gas-exchange TDC, positive after it
 * Errors: VB_ESYNTAX  not an angle
 *         VB_EUNKNOWN bottom dead centre without a side
 *         VB_ERANGE   outside -360..360
 */
enum vb_err vb_angle_parse(const char *s, size_t n, char mark, char side, int cam,
                           struct vb_dec *out);

/*
 * vb_centre - where the angles of a column count from if a cell does not say it.
 *   sign      -1 before, +1 after a dead centre, 0: nothing is said, so from gas-exchange
 *             TDC and positive after it
 *   bottom    it is the bottom one
 *   cam       degrees of the cam
 *   crank     degrees of the crank, and it says so
 *   unclear   a dead centre is named, but not so that anybody knows how a number counts
 *   no_minus  so it is with a number below 0: -12 before TDC may be before or after it
 */
struct vb_centre {
    int sign, bottom, cam, crank, unclear, no_minus;
};

/* vb_centre_parse - "BTDC", "deg ABDC", "cam deg ATDC". Errors: VB_ESYNTAX */
enum vb_err vb_centre_parse(const char *s, size_t n, struct vb_centre *out);

/*
 * vb_angle_parse_from - as vb_angle_parse; a number without a dead centre counts from `bare`,
 * which may be NULL.
 * Errors: VB_EDOM  such a number, and bare is unclear, or has no_minus and it is below 0
 */
enum vb_err vb_angle_parse_from(const char *s, size_t n, char mark, char side, int cam,
                                const struct vb_centre *bare, struct vb_dec *out);

#endif
