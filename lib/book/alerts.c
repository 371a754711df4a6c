/* Expected sizes: some tens of alerts, thousands at most. */
#include "valvebook/alerts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "alerts_impl.h"

/* Columns of the table, in its order. */
enum {
    A_ENGINE,
    A_KIND,
    A_AT,
    A_LIFE,
    A_LEVEL,
    A_DUE_DAY,
    A_DUE_RUNNING,
    A_FIRST,
    A_LAST,
    A_GONE,
    A_SET_DAY,
    A_ACKED,
    A_UNTIL,
    A_FOUND,
};

/* No text of these tables is NULL, but there may be no memory for it. */
static int
texts_there(sqlite3_stmt *s)
{
    for (int i = 0; i < sqlite3_column_count(s); i++)
        if (i < A_DUE_DAY || (i > A_DUE_RUNNING && i != A_SET_DAY))
            if (!sqlite3_column_text(s, i))
                return 0;
    return 1;
}

static const char *
text(sqlite3_stmt *s, int i)
{
    return (const char *)sqlite3_column_text(s, i);
}

/* Blank is no day. */
static double
day(sqlite3_stmt *s, int i)
{
    double d;
    return vb_date_days(text(s, i), &d) ? NAN : d;
}

/* The day as it is kept; "" for none. */
static const char *
day_text(double d, char *iso)
{
    if (isnan(d) || vb_date_iso(d, iso)) // GCOVR_EXCL_BR_LINE: d was a date before
        iso[0] = 0;
    return iso;
}

static void
bind_number(sqlite3_stmt *s, int i, double x)
{
    if (isfinite(x))
        sqlite3_bind_double(s, i, x);
    else
        sqlite3_bind_null(s, i);
}

static enum vb_err
take(sqlite3_stmt *s, struct vb_alerts *out)
{
    char engine[512];
    struct vb_alert a = {.engine = engine};
    if (!texts_there(s))
        return VB_EMEM;
    snprintf(engine, sizeof engine, "%s", text(s, A_ENGINE));
    snprintf(a.kind, sizeof a.kind, "%s", text(s, A_KIND));
    snprintf(a.at, sizeof a.at, "%s", text(s, A_AT));
    snprintf(a.life, sizeof a.life, "%s", text(s, A_LIFE));
    a.level = vb_alert_level_parse(text(s, A_LEVEL));
    a.found = (unsigned)sqlite3_column_int64(s, A_FOUND);
    a.due_day = db_number(s, A_DUE_DAY);
    a.due_running = db_number(s, A_DUE_RUNNING);
    a.first_day = day(s, A_FIRST);
    a.said_day = day(s, A_LAST);
    a.gone_day = day(s, A_GONE);
    a.set_day = db_number(s, A_SET_DAY);
    a.acked = vb_alert_level_parse(text(s, A_ACKED));
    a.acked_until = day(s, A_UNTIL);
    if (a.acked && isnan(a.acked_until))
        a.acked_until = INFINITY;
    return vb_alerts_add(out, &a);
}

enum vb_err
vb_alerts_told(struct vb_book *b, struct vb_told *told, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e = db_prepare(b, "SELECT runs, as_of FROM alerts_told", &s, m);
    if (e)
        return e;
    int rc = sqlite3_step(s);
    const char *as_of = rc == SQLITE_ROW ? text(s, 1) : NULL;
    if (as_of) {
        told->runs = sqlite3_column_int64(s, 0);
        snprintf(told->as_of, sizeof told->as_of, "%s", as_of);
    } else {
        e = rc == SQLITE_ROW ? VB_EMEM : db_fail(b, m);
    }
    sqlite3_finalize(s);
    return e;
}

enum vb_err
alerts_reader(struct vb_book *b, const struct vb_scope *scope, sqlite3_stmt **s,
              struct vb_msg *m)
{
    enum vb_err e = db_prepare(
        b,
        "SELECT * FROM alerts AS a WHERE engine > ? AND engine <= ? AND NOT EXISTS"
        " (SELECT 1 FROM engines AS e WHERE e.engine = a.engine AND NOT (" IN_SCOPE(
            "e.") ")) ORDER BY engine, kind, at, life",
        s, m);
    if (!e)
        scope_bind(*s, scope);
    return e;
}

enum vb_err
alerts_between(struct vb_book *b, sqlite3_stmt *s, const char *after, const char *upto,
               struct vb_alerts *out, struct vb_msg *m)
{
    int rc = SQLITE_DONE;
    enum vb_err e = VB_OK;
    db_text(s, 1, after);
    if (upto)
        db_text(s, 2, upto);
    else
        sqlite3_bind_zeroblob(s, 2, 0); // which is behind every text
    while (!e && (rc = sqlite3_step(s)) == SQLITE_ROW)
        e = take(s, out);
    return db_ended(b, s, rc, e, m);
}

static enum vb_err
read_all(struct vb_book *b, const struct vb_scope *scope, struct vb_alerts *out,
         struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e = alerts_reader(b, scope, &s, m);
    if (!e)
        e = alerts_between(b, s, "", NULL, out, m);
    sqlite3_finalize(s);
    return e;
}

enum vb_err
vb_alerts_read(struct vb_book *b, const struct vb_scope *scope, struct vb_alerts *out,
               struct vb_msg *m)
{
    struct vb_alerts all = {0};
    enum vb_err e = scope_check(b, scope, m);
    if (!e)
        e = read_all(b, scope, &all, m);
    if (e)
        vb_alerts_clear(&all);
    else
        *out = all;
    return e;
}

enum vb_err
alerts_end(struct vb_book *b, enum vb_err e, struct vb_msg *m)
{
    if (!e)
        e = db_exec(b, "COMMIT", m);
    if (e && !sqlite3_get_autocommit(b->db))
        sqlite3_exec(b->db, "ROLLBACK", NULL, NULL, NULL);
    return e;
}

enum vb_err
alerts_write(struct vb_book *b, sqlite3_stmt *s, const struct vb_alert *a,
             struct vb_msg *m)
{
    char first[VB_DATE_MAX], last[VB_DATE_MAX], gone[VB_DATE_MAX];
    const char *words[] = {a->engine, a->kind, a->at, a->life,
                           vb_alert_level_name(a->level)};
    for (int i = A_ENGINE; i <= A_LEVEL; i++)
        db_text(s, i + 1, words[i]);
    bind_number(s, A_DUE_DAY + 1, a->due_day);
    bind_number(s, A_DUE_RUNNING + 1, a->due_running);
    db_text(s, A_FIRST + 1, day_text(a->first_day, first));
    db_text(s, A_LAST + 1, day_text(a->said_day, last));
    db_text(s, A_GONE + 1, day_text(a->gone_day, gone));
    bind_number(s, A_SET_DAY + 1, a->set_day);
    sqlite3_bind_int64(s, A_SET_DAY + 2, a->found);
    return db_run(b, s, m);
}

enum vb_err
alerts_run_on(struct vb_book *b, sqlite3_stmt *s, const struct vb_alert *a,
              struct vb_msg *m)
{
    const char *words[] = {a->engine, a->kind, a->at, a->life};
    for (int i = 0; i < 4; i++)
        db_text(s, i + 1, words[i]);
    return db_run(b, s, m);
}

static enum vb_err
ack_all(struct vb_book *b, const struct vb_alerts *l, const char *selection,
        const char *until, size_t *n, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e = db_prepare(b,
                               "UPDATE alerts SET acked = level, acked_until = ?5"
                               " WHERE engine = ?1 AND kind = ?2 AND at = ?3 AND"
                               " life = ?4",
                               &s, m);
    for (size_t i = 0; !e && i < l->n; i++) {
        if (!vb_alert_matches(&l->alert[i], selection))
            continue;
        db_text(s, 5, until ? until : "");
        e = alerts_run_on(b, s, &l->alert[i], m);
        ++*n;
    }
    sqlite3_finalize(s);
    return e;
}

enum vb_err
vb_alerts_ack(struct vb_book *b, const char *selection, const char *until, size_t *n,
              struct vb_msg *m)
{
    struct vb_alerts all = {0};
    size_t count = 0;
    enum vb_err e = db_exec(b, "BEGIN IMMEDIATE", m);
    if (e)
        return e;
    e = read_all(b, NULL, &all, m);
    if (!e)
        e = ack_all(b, &all, selection, until, &count, m);
    e = alerts_end(b, e, m);
    vb_alerts_clear(&all);
    if (!e)
        *n = count;
    return e;
}
