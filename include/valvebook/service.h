#ifndef VALVEBOOK_SERVICE_H
#define VALVEBOOK_SERVICE_H

#include <stddef.h>

#include "valvebook/engine.h"
#include "valvebook/err.h"
#include "valvebook/mcf.h"
#include "valvebook/relash.h"
#include "valvebook/weibull.h"

/*
 * What happened to a kind of part in the engines of a family: who was watched, what was
 * replaced, how long parts and settings lasted. Expected sizes: some thousand engines, tens
 * of events and visits each; one engine is looked at at a time.
 */

/*
 * vb_service_wish - what is asked.
 *   part    replaced parts of this name
 *   side    'I' or 'E': only what sits there; 0: both
 *   days    ages in days, else in the unit of the engine's meter
 *   as_of   day that the book was looked at
 */
struct vb_service_wish {
    const char *part;
    char side;
    int days;
    double as_of;
};

/* vb_renewed - what vb_event leaves out: running meter, NaN if not known, and the part. */
struct vb_renewed {
    double running;
    char part[16];
};

struct vb_spans {
    struct vb_span *span;
    size_t n, size;
};

/*
 * vb_service - what was gathered of a family.
 *   watch, replaced   for vb_mcf_fit and vb_power_fit; one engine after the other
 *   engines      that were watched;  late  after age 0;  left  before the end
 *   unplaced     engines of which nothing says where on the scale they were
 *   lost         replacements that could not be placed, or that nobody watched
 *   part, setting   lives of the wished part, and of settings, by side (0 inlet, 1 exhaust):
 *                until the lash was outside its limits
 *   unborn       lives left out, by side: parts in place when their engine came are of unknown
 *                age
 *   set          how valves were set, by side; meter units whatever the scale. Its s2 is in
 *                units of the variance of a reading of weight 1
 *   one_a_valve  such parts sit at every valve
 *   unknown_places   engines of which nobody says how many such parts they have
 */
struct vb_service {
    struct vb_service_wish wish;
    struct vb_watch *watch;
    size_t n_watches, watches_size;
    struct vb_replaced *replaced;
    size_t n_replaced, replaced_size;
    size_t engines, late, left, unplaced, lost, unborn[2], unknown_places;
    double count; // replaced parts
    int one_a_valve;
    struct vb_spans part[2], setting[2];
    struct vb_sets {
        struct vb_set *set;
        size_t n, size;
    } set[2];
};

/*
 * vb_service_add - add one engine.
 *   e   visits, events in order of day, lash in order of valve and visit
 *   r   [e->n_events] to each event
 * Age 0 is where the engine was new or was last built: an event `build`, of a head or the
 * whole engine at least, begins a new watch, and so does a replaced head for what sits in
 * it. An engine is new on the day it came into service unless its meter shows otherwise; else
 * the first watch begins late, at the first meter on record, or, by days, at the first day on
 * record. The watch ends with the event `end`, with the last meter on record or, by days,
 * with as_of. A replaced part counts once for each place it was replaced at.
 * A life of a part runs from one event to the next that renewed it. It ended where the part
 * itself was replaced, and is still running where the engine or head was built, left, or is
 * looked at last.
 * A life of a setting runs from a lash left inside its limits to the visit that finds it
 * outside, and ended between that visit and the one before; set anew, or renewed, while
 * inside it is right-censored at the last visit that found it so.
 * Where an event has no meter, that of a visit of its day is taken, or else one between the
 * records before and after it, in proportion to days.
 * Errors: VB_EMEM
 * Cost:   O(visits + events + places x events).
 */
enum vb_err vb_service_add(struct vb_service *s, const struct vb_engine *e,
                           const struct vb_renewed *r);

void vb_service_clear(struct vb_service *s);

/* vb_spans_add - append; VB_EMEM.  vb_sets_add likewise. */
enum vb_err vb_spans_add(struct vb_spans *s, double lo, double hi);
enum vb_err vb_sets_add(struct vb_sets *s, const struct vb_set *set);

/* vb_setting_lives - the lives of settings of one engine, which vb_service_add calls. */
enum vb_err vb_setting_lives(struct vb_service *s, const struct vb_engine *e);

#endif
