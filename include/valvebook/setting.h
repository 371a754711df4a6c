#ifndef VALVEBOOK_SETTING_H
#define VALVEBOOK_SETTING_H

#include <stddef.h>

#include "valvebook/crank.h"
#include "valvebook/engine.h"
#include "valvebook/err.h"
#include "valvebook/fleet.h"
#include "valvebook/guard.h"
#include "valvebook/shims.h"
#include "valvebook/valve.h"

/* Tonight's setting: what is to be done to each valve of an engine. Lengths in mm. */

/*
 * vb_screw - how far an adjusting screw is turned.
 *     turns = (found - target) / (pitch k)
 *   pitch    mm a turn, > 0;   k   see vb_screw_k, not 0
 *   turns    out: above 0 in, below 0 out.  Degrees are 360 times that.
 * Errors: VB_EDOM (turns untouched)
 * Source: common practice; M8x1: 0.04 mm is 0.04 turn, 14.4 degrees.
 */
enum vb_err vb_screw(double found, double target, double pitch, double k, double *turns);

/*
 * vb_screw_k - how far the gap at the valve tip closes when the screw goes in by 1.
 *     valve 1, push-rod ratio, stud 1 + ratio, pivot 1 - ratio
 *   ratio   valve lift over lobe lift, > 0
 * Below 0 for the usual pivot: the follower's end sinks with the screw, and the gap opens.
 * Source: the lever; a straight line through pivot, cam or push-rod, and tip, one of them
 * moved by the screw and another held.
 */
double vb_screw_k(enum vb_screw_on on, double ratio);

/* vb_screw_assumed - does it matter where the screw is, and has nobody said? */
int vb_screw_assumed(const struct vb_family *f, int side);

/*
 * vb_gauge_shows - what is read where the lash at reference is so much: the inverse of
 * vb_lash_reference (life.h).
 *   temp_c   Cel, NaN for 20
 */
double vb_gauge_shows(const struct vb_family *f, int side, double lash, double temp_c);

/*
 * vb_set_reading - lash and shim of one valve at one visit; NaN for what was not read.
 *   found, left, u    lash as it was read
 */
struct vb_set_reading {
    struct vb_valve valve;
    double day;
    char date[VB_DAY_TEXT];
    double found, left, u, temp_c;
    double shim_found, shim_left;
};

/*
 * vb_set_readings - of one engine, in order of valve, then of day. Free r with free().
 *   date, meter, unit   its newest visit at which anything was read; "" and NaN for none
 */
struct vb_set_readings {
    struct vb_set_reading *r;
    size_t n, size;
    char date[VB_DAY_TEXT], meter_unit[8];
    double meter;
};

/* Why it is not known which shim a valve has. */
enum vb_shim_known {
    VB_SHIM_KNOWN,
    VB_SHIM_NEVER,   // never read in its present life
    VB_SHIM_CHANGED, // the valve was set later and nobody wrote down with which shim
};

/*
 * vb_shim_present - which shim a valve has.
 *   r, n    its readings, in order of day
 *   since   date of the event that began its present life, "" for none
 *   mm      out: NaN unless KNOWN
 * A shim as left counts only where a lash as left was read with it: without one, the
 * sheet that says so was not carried out.
 */
enum vb_shim_known vb_shim_present(const struct vb_set_reading *r, size_t n,
                                   const char *since, double *mm);

enum vb_todo {
    VB_TODO_LEAVE,     // inside its guard-banded window, or at its target
    VB_TODO_SCREW,     // turns
    VB_TODO_SHIM,      // choice: another shim
    VB_TODO_KEEP,      // choice: no shim of the pool is nearer than its own
    VB_TODO_BY,        // close or open it by so much: nobody stated with what
    VB_TODO_MEASURE,   // its shim is not known
    VB_TODO_READ,      // not read in its present life
    VB_TODO_NO_TARGET, // nobody stated what to set
    VB_TODO_UNSERVED,  // no shim lands inside its limits
};

/*
 * vb_sheet_row - one valve.
 *   stop        index of the position, -1 where its nominal events leave none
 *   found, u    lash at reference and its standard uncertainty; NaN if not read
 *   date        when it was read; "" for a forecast
 *   lo, hi      limits, NaN if not stated;  verdict  if has_verdict
 *   by          found - target: to be closed by, below 0 to be opened by
 *   due         LEAVE, KEEP: running meter at which it may reach a limit (the early bound of
 *               valve-due), if that is before the next planned event is over or, without
 *               one, before the day of the sheet by the meter's pace; else NaN
 *   turns       SCREW;  shim  present one, NaN if not known;  choice, from: SHIM, KEEP,
 *               UNSERVED
 *   to          the valve that gets its shim, cyl 0 for none
 *   after       lash at reference it should have then;  reads  what the gauge shows then
 *   temp_c      of the reading, if it is of the sheet's own visit, else NaN
 *   no_gap      it read 0 and is not to stay so: it may be held open, nobody knows how far, and
 *               found, by and what follows from them are at the loose end
 */
struct vb_sheet_row {
    struct vb_valve valve;
    int stop;
    double found, u;
    char date[VB_DAY_TEXT];
    double target, lo, hi;
    int has_verdict;
    struct vb_guard verdict;
    enum vb_todo todo;
    double by, due, turns, shim;
    enum vb_shim_known shim_known;
    struct vb_shim_choice choice;
    struct vb_valve from, to;
    double after, reads, temp_c;
    int no_gap;
};

/*
 * vb_sheet_wish - what is asked for.
 *   date, as_of   the day of the sheet, as text and as a number
 *   order         how to go through the engine
 *   all           set what is inside its window too
 *   plan          before the head is opened: lash as it is expected at the meter behind
 *                 the next planned event, or without one at the pace's on the day
 *   stock         [n_stock] shims on the shelf
 */
struct vb_sheet_wish {
    const char *date;
    double as_of;
    enum vb_order order;
    int all, plan;
    const struct vb_shim_stock *stock;
    size_t n_stock;
};

/*
 * vb_sheet - one engine's sheet; rows in order of position, then of valve.
 *   unit            the engine
 *   date            visit that the settings will belong to: the newest if it was on the
 *                   day of the sheet, else that day
 *   meter           shown then, NaN if not known, as at a visit that is only to come;
 *                   planned: of the forecast
 *   crank           positions
 *   firing          if has_firing, else one cylinder goes after another by number
 *   assumed         [side] its events are vb_opening_assumed's
 *   df              [side] degrees of freedom of the uncertainties; infinite where nothing
 *                   is known of the scatter: a reading is taken to be as good as it
 *                   states, or as a dial indicator
 *   total           of the shims
 */
struct vb_sheet {
    const struct vb_unit_now *unit;
    struct vb_sheet_wish wish;
    char date[VB_DAY_TEXT];
    double meter;
    struct vb_crank_order crank;
    struct vb_firing firing;
    int has_firing, assumed[2];
    double df[2];
    struct vb_sheet_row *row;
    size_t n;
    struct vb_shim_total total;
};

/*
 * vb_sheet_make - fill a sheet; free with vb_sheet_clear.
 *   f   pooled, with one engine alone; it must outlive the sheet, as must the
 *       wish's pointers
 *   m   says why there is none
 * Errors: VB_EUNKNOWN  hydraulic adjusters; nothing was read; the engine has left the
 *                      fleet; the order that is asked for needs a firing order, or a
 *                      number of cylinders that is even
 *         VB_EDOM      the firing order does not have the family's number of cylinders
 *         VB_EMEM
 */
enum vb_err vb_sheet_make(const struct vb_fleet *f, const struct vb_set_readings *r,
                          const struct vb_sheet_wish *w, struct vb_sheet *out,
                          struct vb_msg *m);

void vb_sheet_clear(struct vb_sheet *s);

#endif
