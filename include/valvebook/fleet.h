#ifndef VALVEBOOK_FLEET_H
#define VALVEBOOK_FLEET_H

#include <stddef.h>

#include "valvebook/change.h"
#include "valvebook/engine.h"
#include "valvebook/err.h"
#include "valvebook/family_rate.h"
#include "valvebook/forecast.h"
#include "valvebook/guard.h"
#include "valvebook/life.h"
#include "valvebook/tail.h"
#include "valvebook/wear.h"

/*
 * vb_group - the lives of one family and side whose meters run in one unit: rates per hour
 * and per kilometre have nothing to say to each other.
 *   s2          residual variance of a reading of weight 1, shared by them; NaN if nothing
 *               is known, else not below floor_u^2
 *   floor_u     mm, VB_U_REFERENCE where most readings state their u, since their weights
 *               are (VB_U_REFERENCE / u)^2; else VB_U_ROUNDED: readings that agree to the
 *               last digit were rounded all the same
 *   pool, tail  SSE and df of all lives; when settled, each life bounded by vb_tail_cut
 *   bound       the variance that does so, INFINITY where no life goes beyond
 *   rate, var   [n] rates of their own, mm per unit of meter, and their variances
 *   all         the family's rate from all of them
 *   readings, with_u   how many were counted, and how many of them state their u
 *   next        of rate and var: that of the life that is placed next
 *   over        [n_over] of rate and var, in order: those that no life is placed at
 *   marked      of rate and var: as far as that is settled
 */
struct vb_passed {
    size_t from, to; // behind the last
};
struct vb_group {
    const char *family;
    char meter_unit[8];
    int side; // 0 inlet, 1 exhaust
    struct vb_pool pool;
    struct vb_tail tail;
    double s2, floor_u, bound;
    double *rate, *var;
    size_t n, size, next;
    struct vb_passed *over;
    size_t n_over, over_size, over_next, marked;
    size_t readings, with_u;
    struct vb_family_rate all;
};

#define VB_NO_MEMBER ((size_t)-1)

/*
 * vb_unit_now - an engine as far as lists need it: its last visit, its pace, what is
 * unread. (One engine is a unit of the fleet.)
 *   read_day    the last visit; NaN if it was never read
 *   last_day, last_running, last_meter   the last visit of which the meter is known, its running
 *               meter, and what the meter showed
 *   pace        meter units a day, NaN if unknown
 *   offset      running meter less the one it shows now, which may have been swapped since
 *   set_day     last visit with an as-left reading: set, or confirmed; NaN if never
 *   round_day   the last visit that left a valve in its present life as it is, and at which,
 *               or in the seven days before, half of the engine's valves or more were read in
 *               theirs: one that is set in between does not put off the others. Where there is
 *               no such visit, the last that left one so; NaN if never
 *   round_running   its running meter; where that was not written down (round_unread), the
 *               last one known by then, NaN for none
 */
#define VB_RENEWED_BUILD 2 // all of them with the build
struct vb_unit_now {
    char *name;
    const char *family_name;
    const struct vb_family *family;
    char meter_unit[8];
    size_t n_visits;
    int ended; // 1 out of the fleet: nothing of it is due; 2 and read after that
    double read_day, last_day, last_running, last_meter, offset, pace;
    double set_day, round_day, round_running;
    int round_unread;
    char set_date[VB_DAY_TEXT], round_date[VB_DAY_TEXT], build[32];
    char unread[256]; // valves without a reading in their present life
    size_t n_unread;
    int renewed; // some of them have begun a life since the first, or VB_RENEWED_BUILD
    double plan_day,
        plan_running; // next plan row and the running meter behind it, or NaN
    char plan_label[48];
};

/*
 * vb_family_seen - what the engines in service of a family are like (doubt.h).
 *   engines   how many
 *   read      [0 inlet, 1 exhaust] a valve of that side has been read in its present life
 *   other     engines whose meter has another unit than the family's relash_interval; the
 *             first one's name, cut to fit, and its unit
 *   late      engines that have left the fleet and were read after that; the first one's name
 */
struct vb_family_seen {
    size_t engines, other, late;
    int read[2];
    char other_name[44], other_unit[8], late_name[44];
};

struct vb_family_kept {
    char *name;
    struct vb_family facts;
    struct vb_family_seen seen;
};

/* vb_fleet - everything that was computed of a book. */
struct vb_fleet {
    struct vb_unit_now *unit;
    size_t n_units, units_size;
    struct vb_lives lives;
    struct vb_group *group;
    size_t n_groups;
    struct vb_family_kept **family; // by name
    size_t n_families;
};

/* vb_fleet_add - compute one engine and add it. as_of: day. Errors: VB_EMEM, VB_EDOM. */
enum vb_err vb_fleet_add(struct vb_fleet *f, const struct vb_engine *e, double as_of);

/* vb_fleet_family - the facts kept under a name, made empty if there are none (*made =
 * 1); NULL when out of memory. Valid until vb_fleet_clear. Families stand by name, in
 * whatever order they came: what is said of them must not depend on what was kept. */
struct vb_family_kept *vb_fleet_family(struct vb_fleet *f, const char *name, int *made);

/*
 * vb_life_sum - what a life brings to what its family shares.
 *   side   0 inlet, 1 exhaust;  meter_unit  of its engine
 *   the others as in vb_wear and vb_life
 */
struct vb_life_sum {
    char meter_unit[8];
    int side;
    size_t n, with_u;
    long df;
    double sse, sxx, rate;
};
void vb_life_sum_of(const struct vb_unit_now *u, const struct vb_life *l,
                    struct vb_life_sum *out);

/*
 * vb_fleet_count - bring a life to its group: scatter, rates.
 * vb_fleet_settle - when all are counted: the scatter, and the family's rate.
 * vb_fleet_mark - say of all that was counted since the last call whether it will be placed
 *     (wanted = 1, as what was never marked) or not (0).
 * vb_fleet_place - find the group of a life, and its rate there. To be called for all
 *     lives that will be placed, in the order in which they were counted.
 * A fleet may be counted whole and looked at a block at a time, its groups lent to each.
 *   family   must live as long as the fleet;  u  the engine of the life
 * Errors: VB_EMEM; place: VB_EDOM where nothing of its group was counted
 */
enum vb_err vb_fleet_count(struct vb_fleet *f, const char *family,
                           const struct vb_life_sum *l);
enum vb_err vb_fleet_mark(struct vb_fleet *f, int wanted);
enum vb_err vb_fleet_settle(struct vb_fleet *f);
enum vb_err vb_fleet_place(struct vb_fleet *f, const struct vb_unit_now *u,
                           struct vb_life *l);

/* vb_fleet_pool - count, settle and place all lives, in order of engine, valve and number.
 * To be called once, when all engines are in. */
enum vb_err vb_fleet_pool(struct vb_fleet *f);

/* vb_fleet_group - the group of a life; never NULL after vb_fleet_pool. */
const struct vb_group *vb_fleet_group(const struct vb_fleet *f, const struct vb_life *l);

/*
 * vb_state - what is thought of a life, everything considered. Rates in mm per unit of
 * meter; NaN where something cannot be said.
 *   own, own_var    the rate of its own readings
 *   rate, var       that rate, borrowing from the family (DerSimonian-Laird); the own one
 *                   where it stands out from the family, or where nobody else has a rate
 *   lead            own rate less that of the rest of its family
 *   stands_out      more than three standard deviations from the rest of its family
 *   way             -1 closing, 1 opening, 0 still: `rate` against 0, two-sided 95 %
 *   verdict         lash now against lash_min and lash_max with a guard band
 *   off, off_sd     mm, the newest reading less what was predicted without it (or, where
 *                   only both show a step, the mean of the newest two), and the standard
 *                   deviation of that; NaN if nothing was predicted
 *   step            the test of it, by a scatter without it; t = NaN likewise
 *   slow            the CUSUM of one-step residuals (k 0.5, h 5) stands beyond its limit:
 *                   -1 tighter, 1 looser than the rate says, 0 not
 *   neighbours      t of its own rate against the others of its engine and side
 *   odd             |neighbours| is beyond the 0.27 % point
 *   vs_last, vs_last_se   own rate less that of the life before at the same valve
 *   found           what there is to say, bits of enum vb_found (due.h);  hint  in words
 */
struct vb_state {
    double own, own_var, rate, var, lead;
    int stands_out, way;
    struct vb_guard verdict;
    int has_verdict;
    double off, off_sd;
    struct vb_step step;
    int slow;
    double neighbours;
    int odd;
    double vs_last, vs_last_se;
    unsigned found;
    char hint[240];
};

/* vb_fleet_state - of the life with this index, in a pooled fleet that has the other lives of
 * its engine. */
void vb_fleet_state(const struct vb_fleet *f, size_t life, struct vb_state *out);

/* vb_fleet_states - of all lives, [lives.n]; free with free(). NULL when out of memory. */
struct vb_state *vb_fleet_states(const struct vb_fleet *f);

/* vb_fleet_line - a life's line with its rate, the family's help included; 0 if there is
 * none. */
int vb_fleet_line(const struct vb_fleet *f, const struct vb_life *l,
                  const struct vb_state *st, struct vb_line *line);

/* vb_fleet_lash_u - standard uncertainty of a life's newest reading, mm: the group's scatter
 * at its weight, by which it is judged. NaN if nobody's scatter is known. */
double vb_fleet_lash_u(const struct vb_fleet *f, const struct vb_life *l);

/* vb_fleet_clear - free everything; vb_fleet_empty - drop units and lives, but keep their
 * room and all that was pooled. */
void vb_fleet_clear(struct vb_fleet *f);
void vb_fleet_empty(struct vb_fleet *f);

/* vb_fleet_join - move the units and lives of a block behind those of f. Errors: VB_EMEM. */
enum vb_err vb_fleet_join(struct vb_fleet *f, struct vb_fleet *block);

/*
 * vb_fleet_take - add an engine that vb_fleet_add computed before and somebody kept: its
 * unit, behind its lives, which stand in f->lives already under the number it gets.
 *   e       only its name, family and plan are looked at
 *   as_of   day, for the plan
 *   unit    as computed; name, family and plan are put in
 * Errors: VB_EMEM.   Owns: copies everything but the family, as vb_fleet_add does.
 */
enum vb_err vb_fleet_take(struct vb_fleet *f, const struct vb_engine *e, double as_of,
                          const struct vb_unit_now *unit);

#endif
