#ifndef VALVEBOOK_FLEET_H
#define VALVEBOOK_FLEET_H

#include <stddef.h>

#include "valvebook/engine.h"
#include "valvebook/err.h"
#include "valvebook/forecast.h"
#include "valvebook/life.h"
#include "valvebook/wear.h"

/* vb_group - the valves of one family and side. */
struct vb_group {
    const char *family;
    int side; // 0 inlet, 1 exhaust
    struct vb_pool pool;
    double s2; // residual variance shared by them, NaN if nothing is known
};

/*
 * vb_unit_now - an engine as far as lists need it: its last visit, its pace, what is
 * unread. (One engine is a unit of the fleet.)
 *   pace        meter units a day, NaN if unknown
 *   offset      running meter less shown meter at the last visit
 *   set_day     last visit with an as-left reading: set, or confirmed; NaN if never
 */
struct vb_unit_now {
    char *name;
    const char *family_name;
    const struct vb_family *family;
    char meter_unit[8];
    size_t n_visits;
    int ended; // out of the fleet: nothing of it is due
    double last_day, last_running, offset, pace;
    double set_day, set_running;
    char set_date[VB_DAY_TEXT], build[32];
    char unread[256]; // valves without a reading in their present life
    size_t n_unread;
    double plan_day, plan_running; // next plan row and the running meter behind it; NaN
    char plan_label[48];
};

struct vb_family_kept {
    char *name;
    struct vb_family facts;
};

/* vb_fleet - everything that was computed of a book. */
struct vb_fleet {
    struct vb_unit_now *unit;
    size_t n_units, units_size;
    struct vb_lives lives;
    struct vb_group *group;
    size_t n_groups;
    struct vb_family_kept **family;
    size_t n_families;
};

/* vb_fleet_add - compute one engine and add it. as_of: day. Errors: VB_EMEM, VB_EDOM. */
enum vb_err vb_fleet_add(struct vb_fleet *f, const struct vb_engine *e, double as_of);

/* vb_fleet_family - the facts kept under a name, made empty if there are none (*made =
 * 1); NULL when out of memory. Valid until vb_fleet_clear. */
struct vb_family_kept *vb_fleet_family(struct vb_fleet *f, const char *name, int *made);

/*
 * vb_fleet_pool - pool residual variances by family and side. To be called once, when all
 * engines are in; the lives are then in order of engine, valve and number.
 */
enum vb_err vb_fleet_pool(struct vb_fleet *f);

/* vb_fleet_group - the group of a life; never NULL after vb_fleet_pool. */
const struct vb_group *vb_fleet_group(const struct vb_fleet *f, const struct vb_life *l);

/*
 * vb_rate - a life's rate with its standard error from the pooled variance.
 *   rate, se   mm per 1000 h or km; se NaN if nothing is known of the scatter
 *   df         of the pool
 *   way        -1 closing, 1 opening, 0 not told apart from standing still (two-sided 95
 * %) Returns 0 if the life has no rate of its own.
 */
struct vb_rate {
    double rate, se, df;
    int way;
};
int vb_fleet_rate(const struct vb_fleet *f, const struct vb_life *l, struct vb_rate *out);

/* vb_fleet_keep - drop the lives and the units of all engines but this one; to be called
 * after vb_fleet_pool, so that scatter stays that of the family. */
void vb_fleet_keep(struct vb_fleet *f, const char *engine);

void vb_fleet_clear(struct vb_fleet *f);

#endif
