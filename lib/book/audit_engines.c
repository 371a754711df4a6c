/* Meters of engines, by the loader's own rules, and what was said of alerts. */
#include "audit_impl.h"

#include <string.h>

#include "valvebook/alert.h"
#include "valvebook/date.h"

/* A date that is none has been told already. */
static enum vb_err
check_meter(struct audit *a, void *arg, sqlite3_stmt *row)
{
    struct meter_faults f = {0, ""};
    const char *engine = db_word(row, 0), *cell[] = {engine, "", "", ""};
    char key[KEY_TEXT];
    (void)arg;
    enum vb_err e = facts_meter(a->b, engine, &f, a->m);
    if (e || !f.n)
        return e == VB_ESYNTAX ? VB_OK : e;
    cells_join(cell, 4, key, sizeof key);
    if (f.n > 1)
        audit_tell(a, "readings", key, "meter", "%s; %zu more of this engine", f.why,
                   f.n - 1);
    else
        audit_tell(a, "readings", key, "meter", "%s", f.why);
    return VB_OK;
}

enum vb_err
audit_meters(struct audit *a, enum audit_table table)
{
    (void)table;
    return audit_each(a, "SELECT engine FROM engines ORDER BY engine", check_meter, NULL);
}

/* Days of an alert may be blank, and lie ahead of today. */
static void
check_day(struct audit *a, const char *key, const char *column, const char *date)
{
    char iso[VB_DATE_MAX];
    if (*date && (vb_date_parse(date, strlen(date), "", iso) || strcmp(iso, date) != 0))
        audit_tell(a, "alerts", key, column, "bad date '%.40s'", date);
}

static void
check_level(struct audit *a, const char *key, const char *column, const char *level)
{
    if (!vb_alert_level_parse(level))
        audit_tell(a, "alerts", key, column, "unknown level '%.40s'", level);
}

/* Its engine may be gone: that it is cleared has not been said yet. */
static enum vb_err
check_alert(struct audit *a, void *arg, sqlite3_stmt *row)
{
    static const char *const days[] = {"first_said", "last_said", "gone_since",
                                       "acked_until"};
    const char *cell[4];
    char key[KEY_TEXT];
    (void)arg;
    for (int i = 0; i < 4; i++)
        cell[i] = db_word(row, i);
    cells_join(cell, 4, key, sizeof key);
    check_level(a, key, "level", db_word(row, 4));
    if (*db_word(row, 5)) // it was acknowledged
        check_level(a, key, "acked", db_word(row, 5));
    for (int i = 0; i < 4; i++)
        check_day(a, key, days[i], db_word(row, 6 + i));
    return VB_OK;
}

static enum vb_err
check_told(struct audit *a, void *arg, sqlite3_stmt *row)
{
    (void)arg;
    if (sqlite3_column_int(row, 0) != 1)
        audit_tell(a, "alerts_told", "", "one", "%d rows where there is one",
                   sqlite3_column_int(row, 0));
    return VB_OK;
}

enum vb_err
audit_alerts(struct audit *a, enum audit_table table)
{
    (void)table;
    enum vb_err e =
        audit_each(a,
                   "SELECT engine, kind, at, life, level, acked, first_said, last_said,"
                   " gone_since, acked_until FROM alerts ORDER BY engine, kind, at, life",
                   check_alert, NULL);
    return e ? e : audit_each(a, "SELECT count(*) FROM alerts_told", check_told, NULL);
}
