/* Whether the day that the clock says can be true, by what the book has seen. */
#include <stdio.h>

#include "book_impl.h"
#include "valvebook/date.h"

#define SOME 2 // one visit may have got in under a wrong date

/* Whole days after today and one more, since zones differ. Engine by engine, whose visits the
 * index has by date, so that none of the others is looked at. */
static const char later_visits[] =
    "SELECT coalesce(sum(n), 0), max(newest) FROM (SELECT count(date) AS n,"
    " max(date) AS newest FROM engines, visits USING(engine)"
    " WHERE visits.date >= ? GROUP BY engine)";

enum vb_err
vb_book_clock(struct vb_book *b, const char *today, struct vb_msg *m)
{
    double day;
    char from[VB_DATE_MAX];
    sqlite3_stmt *s = NULL;
    if (vb_date_days(today, &day) || vb_date_iso(day + 2, from))
        return VB_OK; // the last days of the calendar: nothing is later
    enum vb_err e = db_prepare(b, later_visits, &s, m);
    if (e)
        return e;
    db_text(s, 1, from);
    if (sqlite3_step(s) != SQLITE_ROW) {
        e = db_fail(b, m);
    } else if (sqlite3_column_int64(s, 0) >= SOME) {
        vb_msg_at(m, b->path, 0, NULL);
        vb_msg_set(m,
                   "the clock says %.10s, but %lld visits are later, the last of %.10s:"
                   " is it wrong? (--as-of states another day)",
                   today, (long long)sqlite3_column_int64(s, 0), db_word(s, 1));
        e = VB_ECONFLICT;
    }
    sqlite3_finalize(s);
    return e;
}
