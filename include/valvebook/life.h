#ifndef VALVEBOOK_LIFE_H
#define VALVEBOOK_LIFE_H

#include <stddef.h>

#include "valvebook/engine.h"
#include "valvebook/err.h"
#include "valvebook/residual.h"
#include "valvebook/wear.h"

#define VB_REFERENCE_CEL 20.0 // ISO 1
#define VB_U_REFERENCE   0.01 // mm, what a dial indicator reads to (common practice)
/* mm, what is left of a reading to a hundredth of a millimetre that is rounded and nothing else:
 * 0.01 / sqrt(12), rectangular distribution (JCGM 100:2008 4.3.7, F.2.2.1) */
#define VB_U_ROUNDED (VB_U_REFERENCE / 3.4641016151377544)

/*
 * vb_lash_reference - lash at the valve tip and at 20 Cel.
 *     tip = reading x ratio if it was read at the lobe;  lash_20 = tip - g (T - 20)
 *   reading   mm, as read;  temp_c  Cel, NaN if not written down: taken as 20
 *   side      0 inlet, 1 exhaust
 * Returns mm. Source: ISO 1 for the temperature; growth g from the family.
 */
double vb_lash_reference(const struct vb_family *f, int side, double reading,
                         double temp_c);

/* vb_lash_u - the standard uncertainty of a reading, mm, as one of the lash at the tip. */
double vb_lash_u(const struct vb_family *f, int side, double u);

/*
 * vb_life - one valve from the event that renewed its lash train to the next.
 *   wear       what its readings say; wear.n = 0 if none could be used
 *   closed     mm the seat has closed since the seat itself was renewed, this life and
 *              those before it that only renewed other parts; positive
 *   closed_v   its variance in units of s2: each interval with two readings or more adds
 *              1/w of its first and of its last; 0 if there is none
 *   closed_over  meter from first to last reading, summed over the intervals of this life:
 *              over so much its readings say both how far the seat closed and how fast
 *   read_meter   running, where it was read last
 *   no_gap     the tested reading is 0: the valve may be held open, nobody knows how far
 *   with_u     readings whose uncertainty is stated
 *   no_temp    readings without a temperature, where the family's growth is not 0
 *   no_meter   readings that could not be used for want of a meter
 *   unplaced   1 if the newest reading is one of these, and unplaced_lash what it read, mm
 */
struct vb_life {
    struct vb_valve valve;
    size_t engine; // index, for the caller
    int number;    // 0 before the first event that concerns this valve
    int current;   // no later event has ended it
    char build[32];
    char since[VB_DAY_TEXT]; // date of the event that began it, "" for none
    struct vb_wear wear;
    double closed;
    double closed_v;
    double closed_over;
    double first_meter; // running
    double read_meter;
    int no_gap;
    size_t no_temp, no_meter, with_u;
    int unplaced;
    double unplaced_lash;
    struct vb_wear
        before; // without the newest reading; n = 0 if that opened its interval
    struct vb_obs newest;
    struct vb_wear before2; // without the newest two, likewise
    struct vb_obs second;   // the newest but one
    // corners of its one-step residuals (residual.h) in vb_lives.corner: of those looser
    // than predicted, and behind them of those tighter
    size_t corner_at, n_looser, n_tighter;
    size_t group, member; // set by vb_fleet_pool
};

/* A growing list; free with vb_lives_clear. */
struct vb_lives {
    struct vb_life *life;
    size_t n, size;
    struct vb_corner *corner;
    size_t n_corners, corners_size;
};

void vb_lives_clear(struct vb_lives *l);

/*
 * vb_lives_add - append the lives of all valves of an engine that were ever read.
 *   index   becomes .engine of each
 * A reading whose uncertainty u is known gets the weight (VB_U_REFERENCE / u)^2 with
 * u at the tip, one without gets 1: it is taken to be as good as a dial indicator.
 * An as-left reading that differs from the as-found one opens an interval; the readings
 * after it belong to it. A reading of 0 says that the lash is 0 at most: behind another in its
 * interval it says nothing more, and is no point of the fit. On the day of an event the found
 * reading belongs to the old life and the left reading to the new one.
 * Errors: VB_EMEM, VB_EDOM (a number that is not finite)
 * Cost:   O(readings + readings of a valve x events).
 */
enum vb_err vb_lives_add(const struct vb_engine *e, size_t index, struct vb_lives *out);

/*
 * vb_point - one reading as the fit of its life takes it.
 *   life        index into the lives
 *   visit       index into the engine's visits
 *   left        read after setting: it opened its interval; else it is as found
 *   untouched   as found, and read the same when it was left, in the same life
 *   u           mm, NaN if nobody stated it
 */
struct vb_point {
    size_t life, visit;
    int left, untouched;
    double u;
    struct vb_obs obs;
};

/* A growing list; free with vb_points_clear. */
struct vb_points {
    struct vb_point *point;
    size_t n, size;
};

void vb_points_clear(struct vb_points *p);

/*
 * vb_lives_points - vb_lives_add, and the readings behind each life: those of life i stand
 * together, lives[i].wear.n of them, in the order in which they were fitted.
 * Errors: as vb_lives_add
 */
enum vb_err vb_lives_points(const struct vb_engine *e, size_t index, struct vb_lives *out,
                            struct vb_points *points);

/*
 * vb_life_number - which life a valve is in on a day: the number of events so far that
 * renewed what the mask names, for this valve.
 *   inclusive   events of that very day count
 */
int vb_life_number(const struct vb_engine *e, struct vb_valve v, double day,
                   int inclusive, int renews);

/* vb_life_build - the name of the build that began the life of the lash that a valve is in at
 * the end of a day; "" for the first life, or where the event has no name. */
const char *vb_life_build(const struct vb_engine *e, struct vb_valve v, double day);

#endif
