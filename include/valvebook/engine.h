#ifndef VALVEBOOK_ENGINE_H
#define VALVEBOOK_ENGINE_H

#include <stddef.h>

#include "valvebook/family.h"
#include "valvebook/valve.h"

#define VB_DAY_TEXT 17 // an ISO date, with a time if there is one, and NUL

/* vb_visit - one occasion on which the engine was measured. */
struct vb_visit {
    double day;     // days since 1970-01-01
    double meter;   // as shown, h or km; NaN if nobody wrote it down
    double running; // with swaps of the meter taken out; NaN likewise
    char date[VB_DAY_TEXT];
};

enum vb_event_kind {
    VB_EVENT_BUILD,
    VB_EVENT_REPLACE,
    VB_EVENT_FIT, // which cam is where; renews nothing
    VB_EVENT_METER,
    VB_EVENT_END
};

/* vb_event - something was renewed. */
struct vb_event {
    double day;
    enum vb_event_kind kind;
    int renews;         // sum of VB_RENEWS bits
    struct vb_valve at; // members 0: all of them
    char bank;          // of a bank's own cam or drive; 0: all of them
    char build[32];
    char date[VB_DAY_TEXT];
};

/* vb_lash - one lash reading; NaN for what was not read. */
struct vb_lash {
    size_t visit; // index
    struct vb_valve valve;
    double found, left, u, temp_c;
};

/* vb_plan - a planned race or service. */
struct vb_plan {
    double day;
    double gain; // meter it will add
    char date[VB_DAY_TEXT];
    char label[48];
};

/* vb_engine - all that the methods need of one engine, in order of day. */
struct vb_engine {
    const char *name;
    const struct vb_family *family;
    const char *family_name;
    char meter_unit[8];
    double in_service; // day, NaN if not stated
    double offset;     // running meter less the one it shows now
    struct vb_visit *visit;
    size_t n_visits;
    struct vb_event *event;
    size_t n_events;
    struct vb_lash *lash; // in order of valve, then of visit
    size_t n_lash;
    struct vb_plan *plan;
    size_t n_plan;
};

#endif
