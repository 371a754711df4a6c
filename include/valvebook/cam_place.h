#ifndef VALVEBOOK_CAM_PLACE_H
#define VALVEBOOK_CAM_PLACE_H

#include <stddef.h>

#include "valvebook/banks.h"
#include "valvebook/err.h"
#include "valvebook/family.h"
#include "valvebook/valve.h"

#define VB_CAM_PLACE_MAX 3 // bytes that hold "AI" and its NUL

/*
 * vb_cam_place - where a cam is: a bank and the side of its valves. 0: any, which is one
 * cam for both sides, an engine without banks, or all cams of a bank.
 */
struct vb_cam_place {
    char bank; // as in vb_banks
    char side; // 'I', 'E'
};

/*
 * vb_cam_place_parse - read a place in any letter case: a bank's letter and a side, with
 * blanks, '-' or '_' between ("AI", "A-I", "a exh"), one of the two ("A", "inlet"), or
 * nothing.
 *   out     untouched on failure
 * Errors: VB_ESYNTAX
 */
enum vb_err vb_cam_place_parse(const char *s, size_t n, struct vb_cam_place *out);

/* vb_cam_place_format - write "AI" into out [VB_CAM_PLACE_MAX]; returns the length. */
size_t vb_cam_place_format(struct vb_cam_place p, char *out);

/* vb_cam_place_of - the cam that works a valve; bank 0 where the family states none. */
struct vb_cam_place vb_cam_place_of(const struct vb_banks *b, struct vb_valve v);

/*
 * vb_cam_is_one - does one cam work what stands in these two places? Members 0 of a, which an
 * event may leave out, mean all of them.
 */
int vb_cam_is_one(enum vb_cam_for f, struct vb_cam_place a, struct vb_cam_place b);

/* vb_cam_place_has - does the wider place (0: any) hold the narrower one? */
int vb_cam_place_has(struct vb_cam_place wide, struct vb_cam_place p);

#endif
