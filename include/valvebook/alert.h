#ifndef VALVEBOOK_ALERT_H
#define VALVEBOOK_ALERT_H

#include <stddef.h>

#include "valvebook/due.h"
#include "valvebook/err.h"
#include "valvebook/fleet.h"
#include "valvebook/quantity.h"

/* How urgent a line of the due list is. */
enum vb_alert_level {
    VB_ALERT_NONE, // not within the horizon
    VB_ALERT_SOON, // its early bound lies within the horizon
    VB_ALERT_DUE,  // its early bound is reached; or somebody must look (check, timing,
                   // unread, no setting on record)
    VB_ALERT_OVER, // a limit is passed, or the planned time is over
};

#define VB_ALERT_LIFE  VB_DUE_LIFE
#define VB_ALERT_SLACK 0.25 // of the horizon, within which a level is kept

/*
 * vb_alert - what is remembered of an alert. Days are whole ones since 1970-01-01.
 *   engine, kind, at, life   name it: the line's engine, kind, vb_due_at and life
 *   level         at which it stands, never NONE; said at this level or a higher one
 *   found         what its line had found (due.h) when it was looked at last, of a check
 *                 also what it had before, until the engine is set; 0: nobody knows
 *   due_day, due_running     the early bound when it was said last; NaN if unknown
 *   first_day, said_day      when it was said first and last
 *   gone_day      since when its line has been gone or better; NaN: it is not
 *   set_day       the engine's last setting when it was looked at last; NaN: none
 *   acked         highest level that somebody has acknowledged; NONE: nobody has
 *   acked_until   last day of that; +inf: for as long as the alert stands
 */
struct vb_alert {
    char *engine;
    char kind[12], at[VB_AT_MAX], life[VB_ALERT_LIFE];
    enum vb_alert_level level;
    unsigned found;
    double due_day, due_running;
    double first_day, said_day, gone_day, set_day;
    enum vb_alert_level acked;
    double acked_until;
};

/* A growing list that owns the names of its engines; free with vb_alerts_clear. */
struct vb_alerts {
    struct vb_alert *alert;
    size_t n, size;
};

/* vb_alerts_add - append a copy. Errors: VB_EMEM */
enum vb_err vb_alerts_add(struct vb_alerts *l, const struct vb_alert *a);
void vb_alerts_clear(struct vb_alerts *l);

/* vb_alert_name - engine (borrowed), kind, place and life of a line; the rest is 0. */
void vb_alert_name(const struct vb_due_unit *u, const struct vb_due *d,
                   struct vb_alert *out);

/* vb_alerts_has - in a list in vb_alert_order. */
int vb_alerts_has(const struct vb_alerts *l, const struct vb_alert *name);

/* vb_alert_order - <0, 0 or >0 by what names two alerts. */
int vb_alert_order(const struct vb_alert *a, const struct vb_alert *b);

const char *vb_alert_level_name(enum vb_alert_level l);
/* vb_alert_level_parse - NONE for a word that is none. */
enum vb_alert_level vb_alert_level_parse(const char *s);

/*
 * vb_alert_level - of one line.
 *   slack   0; or VB_ALERT_SLACK for the bounds that a level is left by, which lie that
 *           part of the horizon farther out
 * A line is soon or due by its day or by its meter, whichever comes first. Days are whole
 * ones, as they are printed.
 */
enum vb_alert_level vb_alert_level(const struct vb_due_unit *u, const struct vb_due *d,
                                   const struct vb_due_wish *w, double slack);

/* vb_alert_day - the whole day that a day is printed as: rounding decides nothing. */
double vb_alert_day(double day);

/*
 * vb_alert_matches - is an alert meant by "ENGINE", "ENGINE/KIND", "ENGINE/KIND/VALVE" (or cam)?
 * An engine's name may have a slash in it.
 */
int vb_alert_matches(const struct vb_alert *a, const char *selection);

#endif
