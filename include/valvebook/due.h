#ifndef VALVEBOOK_DUE_H
#define VALVEBOOK_DUE_H

#include <stddef.h>

#include "valvebook/cams.h"
#include "valvebook/err.h"
#include "valvebook/fleet.h"

/* Why something is due. */
enum vb_due_kind {
    VB_DUE_LASH,     // a valve will leave its lash window
    VB_DUE_SEAT,     // a seat will have closed as far as the family allows
    VB_DUE_CHECK,    // a reading or a rate that is not like the others
    VB_DUE_TIMING,   // a cam that does not stand where it should, or has moved
    VB_DUE_INTERVAL, // the planned time between settings is over
    VB_DUE_UNREAD,   // valves without a reading in their present life
    VB_DUE_COUNT,
};

#define VB_DUE_LIFE 32

/*
 * What a line that asks for a look has found. Bits are kept in books (alerts): their meaning
 * never changes. From RANK on they are the more the worse it is: one for each step up in
 * vb_cam_rank, up to six; one for each tooth of a cam, and for each valve never read, up to
 * eight (vb_found_so_many).
 */
enum vb_found {
    VB_FOUND_STEP_TIGHTER = 1 << 0,
    VB_FOUND_STEP_LOOSER = 1 << 1,
    VB_FOUND_LATELY_TIGHTER = 1 << 2,
    VB_FOUND_LATELY_LOOSER = 1 << 3,
    VB_FOUND_AHEAD_CLOSING = 1 << 4,
    VB_FOUND_AHEAD_OPENING = 1 << 5,
    VB_FOUND_FASTER = 1 << 6,
    VB_FOUND_SLOWER = 1 << 7,
    VB_FOUND_RANK = 1 << 8,
    VB_FOUND_TOOTH = 1 << 16,
    VB_FOUND_UNREAD = 1 << 24,
};

/* vb_found_so_many - n bits from one on, eight at most. */
unsigned vb_found_so_many(enum vb_found from, size_t n);

/*
 * vb_due - one line of the list.
 *   look           of an interval: nobody knows when it began, so that somebody must look
 *   unit           index into vb_dues.unit
 *   engine         its engine's place in the fleet
 *   at             valve, all members 0 where the whole engine or a cam is meant
 *   cam            place of a cam, "" where something else is meant
 *   life           tells the life that the line is about from those before and after it:
 *                  the date of the event that began it or, where the whole engine or a cam
 *                  is meant, the name of its build; "" where there was no event
 *   found          of check, timing and unread what was found, a bit each of enum vb_found; 0
 *                  of others
 *   now            it is so already
 *   due_running    early bound: running meter at which it may be so; NaN if only a date
 *   expected_running   NaN where there is no forecast
 *   due_day, expected_day   days since 1970-01-01; NaN where the meter's pace is unknown
 *   reason         one sentence, numbers with their uncertainty and count
 */
struct vb_due {
    enum vb_due_kind kind;
    int look;
    size_t unit, engine;
    struct vb_valve at;
    char cam[VB_AT_MAX], life[VB_DUE_LIFE];
    unsigned found;
    int now;
    double due_running, expected_running;
    double due_day, expected_day;
    char *reason;
};

/* vb_due_unit - what is said of the engine of a line; members as in vb_unit_now. */
struct vb_due_unit {
    char *name;
    char meter_unit[8];
    double read_day, last_running, offset, set_day;
};

/*
 * vb_dues - a list that needs nothing else; free with vb_dues_clear.
 *   unit      [n_units] engines that have a line, each once
 *   engines, in_service, lives   of the whole fleet that was looked at
 *   visited, newest   how many of those in service were ever read, and the day of the newest
 *             of their visits where one was
 */
struct vb_dues {
    struct vb_due *due;
    size_t n, size;
    struct vb_due_unit *unit;
    size_t n_units, units_size;
    size_t engines, in_service, lives, visited;
    double newest;
};
void vb_dues_clear(struct vb_dues *d);

struct vb_alerts;

/*
 * vb_due_wish - what to list.
 *   as_of       day
 *   within_days, within_h, within_km   only what comes within any of these; NaN for no bound.
 *               Those of the meter are for engines whose meter runs in that unit
 *   before_plan only what comes before the end of the engine's next planned event
 *   confidence  one-sided, of the early bound
 *   cams        what is known of the engines' cams, listed without past builds and by
 *               cam (cams.h), in order of engine; NULL: nothing of them is listed
 *   alerts      sorted; list what has a level, VB_ALERT_SLACK farther out than the bounds,
 *               and what one of these is about (alert.h). NULL: the bounds decide
 */
struct vb_due_wish {
    double as_of;
    double within_days, within_h, within_km;
    int before_plan;
    double confidence;
    const struct vb_cam_list *cams;
    const struct vb_alerts *alerts;
};

/*
 * vb_due_list - everything that is due in a pooled fleet, most urgent first: lash and
 * seats past their limit, then by due date, then what has no date; names break ties.
 * vb_due_add - the lines of a block of it, in no order; vb_due_sort puts them in order
 * when all have come.
 *   st    [lives] what is thought of each
 *   out   zeros at first
 * Errors: VB_EMEM
 * Source: docs/methods.md, Forecast.
 */
enum vb_err vb_due_list(const struct vb_fleet *f, const struct vb_due_wish *w,
                        struct vb_dues *out);
enum vb_err vb_due_add(const struct vb_fleet *f, const struct vb_state *st,
                       const struct vb_due_wish *w, struct vb_dues *out);
enum vb_err vb_due_sort(struct vb_dues *out);

/* vb_due_span - read "30d", "6wk", "50h" or "5000km" into the wish; 0 if it is none. */
int vb_due_span(const char *s, struct vb_due_wish *w);

/* vb_due_within - is there a bound?  vb_due_within_meter - that of engines with such a meter. */
int vb_due_within(const struct vb_due_wish *w);
double vb_due_within_meter(const struct vb_due_wish *w, const char *meter_unit);

/*
 * vb_due_rate - a rate in words: "closing 5.50 +- 0.40 mm/1000 h (12 readings)", the sign
 * as U+00B1; what it has of its family is said, and where there is none.
 *   st    of this life;  out  [size], 128 are enough
 */
void vb_due_rate(const struct vb_fleet *f, const struct vb_life *l,
                 const struct vb_state *st, char *out, size_t size);

/*
 * vb_due_meter_u - how well the meters of a line are known, as vb_digits asks for it: whole
 * ones do, unless the early bound and the expected meter lie less than half a unit apart.
 * NaN where less than a thousandth lies between them.
 */
double vb_due_meter_u(const struct vb_due *d);

const char *vb_due_kind_name(enum vb_due_kind k);

/* vb_due_at - the valve or the cam as text, "" for the whole engine: out [VB_AT_MAX]. */
void vb_due_at(const struct vb_due *d, char *out);

#endif
