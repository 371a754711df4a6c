#ifndef VALVEBOOK_NEWS_H
#define VALVEBOOK_NEWS_H

#include <stddef.h>

#include "valvebook/alert.h"
#include "valvebook/due.h"
#include "valvebook/err.h"
#include "valvebook/fleet.h"

/*
 * vb_alert_wish - when to speak.
 *   due      as_of, and the horizon in within_days, within_h and within_km
 *   remind   days after which what still stands is said again; NaN: never
 *   settle   days for which a line must be gone or better before that counts
 */
struct vb_alert_wish {
    struct vb_due_wish due;
    double remind, settle;
};

enum vb_news_kind {
    VB_NEWS_NEW,
    VB_NEWS_WORSE, // the level rose, the day or meter moved up by more than the slack, or
                   // more is found than was
    VB_NEWS_STILL,
    VB_NEWS_CLEARED,
    VB_NEWS_COUNT,
};

#define VB_NEWS_NO_DUE ((size_t)-1)

/*
 * vb_news_item - one alert and what is to be done about it.
 *   due    its line in the list; VB_NEWS_NO_DUE if that is gone
 *   now    the alert as it is to be remembered if nothing is said; a cleared one as it was
 *   told   the same if something is
 *   was    the level before, NONE of a new one
 *   more   its line has found what it had not when it was looked at before
 *   quiet  acknowledged, and nothing more is found: it stands, and is not said
 */
struct vb_news_item {
    enum vb_news_kind kind;
    size_t due;
    struct vb_alert now, told; // .engine borrowed: valid as long as list and old alerts
    enum vb_alert_level was;
    int more, quiet;
};

/*
 * vb_news - the answer of a run, for some engines or all.
 *   item    [n] new, worse, still and cleared ones, each in the order of the list, and
 *           behind them those whose line is gone, by name
 *   count   [VB_NEWS_COUNT] of those that are not quiet;  quiet  of the others
 *   say     there is reason to speak: something is new, worse or cleared, a reminder is
 *           due, or an acknowledgement has run out
 *   changed something is to be remembered, whether or not another engine is a reason to
 *           speak
 */
struct vb_news {
    struct vb_news_item *item;
    size_t n, count[VB_NEWS_COUNT], quiet;
    int say, changed;
};

/*
 * vb_alert_fate - what has become of an alert that is remembered. Zeros: its engine is not
 * in the fleet.
 *   known, ended   the engine is there, and out of service
 *   lives_on       the life that the alert is about has not ended
 *   set_day        last setting of the engine, NaN: none
 */
struct vb_alert_fate {
    int known, ended, lives_on;
    double set_day;
};

/*
 * vb_alert_fates - those of the alerts about engines of a block of the fleet.
 *   old    in vb_alert_order;  fate  [old->n], the others are left as they are
 */
void vb_alert_fates(const struct vb_fleet *block, const struct vb_alerts *old,
                    struct vb_alert_fate *fate);

/*
 * vb_alert_news - what is new, worse or cleared since the last time, and what to remember.
 *   d      the due list of some engines, whole and sorted, with `old` as its wish's alerts
 *   old    what was remembered of them and of engines that are gone, sorted; the days in it
 *          that lie behind as_of count as as_of
 *   fate   [old->n] of each
 *   out    free with vb_news_clear
 * A level rises at once. It falls, and an alert is cleared,
 *   - at once, if the line's early bound has moved farther away than the slack;
 *   - at once, if the line is better or gone and the engine was set since, the life is
 *     over, or the engine has left the fleet;
 *   - else, when the line has been better or gone for `settle` days.
 * Only a cleared alert is said; one whose level falls is kept in mind, so that it is
 * worse when it rises again. An acknowledgement holds up to its level and its day: what
 * rises above is said, and what still stands behind its day is said once more.
 * Errors: VB_EMEM
 * Cost:   O((n + m) log (n + m)) for n alerts and m lines.
 * Owns: out->item; borrows the names.
 * Source: docs/methods.md, Alerts (common practice: a dead band and a hold time).
 */
enum vb_err vb_alert_news(const struct vb_dues *d, const struct vb_alerts *old,
                          const struct vb_alert_fate *fate, const struct vb_alert_wish *w,
                          struct vb_news *out);

void vb_news_clear(struct vb_news *n);

#endif
