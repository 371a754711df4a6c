#ifndef VALVEBOOK_FAMILY_LIFE_H
#define VALVEBOOK_FAMILY_LIFE_H

#include <stddef.h>

#include "valvebook/err.h"
#include "valvebook/fleet.h"
#include "valvebook/mcf.h"
#include "valvebook/powerlaw.h"
#include "valvebook/relash.h"
#include "valvebook/service.h"
#include "valvebook/weibull.h"

#define VB_LIFE_CONFIDENCE 0.95
#define VB_RELASH_RISK     0.01
#define VB_RELASH_MOST     1e6 // meter; no longer interval is of interest
#define VB_YEAR_DAYS       365.25

/*
 * vb_life_fit - a Weibull life, or why there is none.
 *   side   'I' or 'E', 0 for a part that has none;  setting   of a setting, else of a part
 *   n      lives of each kind, by enum vb_span_kind
 *   unborn   parts left out since their age is not known
 */
struct vb_life_fit {
    char side;
    int setting;
    size_t n[4], unborn;
    int fits;
    struct vb_weibull w;
    char why[256];
};

/*
 * vb_relash_advice - how long lash may go unset. NaN where something cannot be said.
 *   risk         that was asked for: that any valve of an engine is beyond its tight limit
 *                before it is set again
 *   gap          the longest that meets it, the doubt about mu and tau2 included
 *   sure_gap     the same if mu and tau2 were known to be what is likeliest
 *   present      what the family states: relash_interval or, by the pace of its engines,
 *                relash_days, whichever ends first;  present_risk   of that
 *   valves, rates, settings   what it rests on;  longest   gap after which a setting was
 *                found again: what lies beyond is extrapolated
 *   per_1000     visits an engine in 1000 h or km, with gap less with present; below 0: saved
 *   per_year     visits a year of all engines of the family that are still in the fleet and
 *                whose pace is known, likewise
 *   engines      how many those are
 *   why          why there is no gap, or what to mind; "" if nothing
 */
struct vb_relash_advice {
    double risk, gap, sure_gap, present, present_risk;
    int valves;
    size_t rates, settings;
    double longest, per_1000, per_year;
    size_t engines;
    char why[256];
};

/*
 * vb_family_life - what is known of the life of a family.
 *   unit         of ages and lives: h, km or d;  meter_unit   of gaps
 *   service      borrowed
 *   step         [n_steps] mean cumulative function; owned
 *   first_age    no engine was watched before it: replacements are counted from there
 *   gap          the first ages between first_age and the last step at which no engine was
 *                watched, or NaN
 *   has_trend    there is a power law; else trend_why says why not
 *   fit          [n_fits] of the part and of settings, inlet before exhaust
 */
struct vb_family_life {
    const char *family;
    char unit[8], meter_unit[8];
    const struct vb_service *service;
    struct vb_mcf_step *step;
    size_t n_steps;
    double first_age, gap[2];
    int has_trend;
    struct vb_power trend;
    char trend_why[256];
    struct vb_life_fit fit[4];
    size_t n_fits;
    struct vb_relash_advice relash;
};

/*
 * vb_family_life_fit - everything above, from what was gathered.
 *   f            pooled: rates and scatter of the family, paces of its engines
 *   family       its name, borrowed;  meter_unit   h or km, "" if no meter was read
 *   facts        of the family
 *   s            borrowed until the result is cleared
 *   risk         above 0, below 1
 * Errors: VB_EMEM; VB_EDOM  risk not as above. What cannot be said is no error: why.
 */
enum vb_err vb_family_life_fit(const struct vb_fleet *f, const char *family,
                               const struct vb_family *facts, const char *meter_unit,
                               const struct vb_service *s, double risk,
                               struct vb_family_life *out);

/* vb_family_life_replaced - the replacements alone: step, first_age and gap; the other
 * members are empty. Errors: VB_EMEM */
enum vb_err vb_family_life_replaced(const char *family, const char *meter_unit,
                                    const struct vb_service *s,
                                    struct vb_family_life *out);

void vb_family_life_clear(struct vb_family_life *l);

/* vb_relash_advise - the advice alone: the last member. Errors: VB_EMEM, VB_EDOM */
enum vb_err vb_relash_advise(const struct vb_fleet *f, const char *family,
                             const struct vb_family *facts, const char *meter_unit,
                             const struct vb_service *s, double risk,
                             struct vb_relash_advice *out);

#endif
