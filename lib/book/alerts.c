/* Expected sizes: some tens of alerts, thousands at most. */
#include "valvebook/alerts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "book_impl.h"

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

static enum vb_err
read_told(struct vb_book *b, struct vb_told *told, struct vb_msg *m)
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

static enum vb_err
read_all(struct vb_book *b, struct vb_alerts *out, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    int rc = SQLITE_DONE;
    enum vb_err e =
        db_prepare(b, "SELECT * FROM alerts ORDER BY engine, kind, at, life", &s, m);
    while (!e && (rc = sqlite3_step(s)) == SQLITE_ROW)
        e = take(s, out);
    if (!e && rc != SQLITE_DONE)
        e = db_fail(b, m);
    sqlite3_finalize(s);
    return e;
}

static enum vb_err
end(struct vb_book *b, enum vb_err e, struct vb_msg *m)
{
    if (!e)
        e = db_exec(b, "COMMIT", m);
    if (e && !sqlite3_get_autocommit(b->db))
        sqlite3_exec(b->db, "ROLLBACK", NULL, NULL, NULL);
    return e;
}

enum vb_err
vb_alerts_read(struct vb_book *b, struct vb_alerts *out, struct vb_told *told,
               struct vb_msg *m)
{
    struct vb_alerts all = {0};
    enum vb_err e = db_exec(b, "BEGIN", m);
    if (e)
        return e;
    e = read_told(b, told, m);
    if (!e)
        e = read_all(b, &all, m);
    e = end(b, e, m);
    if (e)
        vb_alerts_clear(&all);
    else
        *out = all;
    return e;
}

/* All but the acknowledgement, which is not a run's to change. */
static enum vb_err
write_alert(struct vb_book *b, sqlite3_stmt *s, const struct vb_alert *a,
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
    return db_run(b, s, m);
}

/* A statement of which the first four parameters name an alert. */
static enum vb_err
run_on(struct vb_book *b, sqlite3_stmt *s, const struct vb_alert *a, struct vb_msg *m)
{
    const char *words[] = {a->engine, a->kind, a->at, a->life};
    for (int i = 0; i < 4; i++)
        db_text(s, i + 1, words[i]);
    return db_run(b, s, m);
}

static enum vb_err
write_all(struct vb_book *b, const struct vb_news *news, struct vb_msg *m)
{
    sqlite3_stmt *put = NULL, *drop = NULL;
    enum vb_err e =
        db_prepare(b,
                   "INSERT INTO alerts VALUES(?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10,"
                   " ?11, '', '') ON CONFLICT DO UPDATE SET level = ?5, due_day = ?6,"
                   " due_running = ?7, first_said = ?8, last_said = ?9, gone_since = ?10,"
                   " set_day = ?11",
                   &put, m);
    if (!e)
        e = db_prepare(b,
                       "DELETE FROM alerts WHERE engine = ? AND kind = ? AND at = ?"
                       " AND life = ?",
                       &drop, m);
    for (size_t i = 0; !e && i < news->n; i++)
        e = news->item[i].kind == VB_NEWS_CLEARED
                ? run_on(b, drop, &news->item[i].now, m)
                : write_alert(b, put, &news->item[i].now, m);
    sqlite3_finalize(put);
    sqlite3_finalize(drop);
    return e;
}

static enum vb_err
count_run(struct vb_book *b, const char *as_of, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e =
        db_prepare(b, "UPDATE alerts_told SET runs = runs + 1, as_of = ?", &s, m);
    if (e)
        return e;
    db_text(s, 1, as_of);
    e = db_run(b, s, m);
    sqlite3_finalize(s);
    return e;
}

enum vb_err
vb_alerts_keep(struct vb_book *b, const struct vb_news *news, const struct vb_told *told,
               const char *as_of, struct vb_msg *m)
{
    struct vb_told now;
    sqlite3_busy_timeout(b->db, VB_ALERTS_WAIT_MS);
    enum vb_err e = db_exec(b, "BEGIN IMMEDIATE", m);
    if (!e) {
        e = read_told(b, &now, m);
        if (!e && now.runs != told->runs) {
            vb_msg_at(m, b->path, 0, NULL);
            vb_msg_set(m, "what was said of alerts has been changed by somebody else");
            e = VB_ECONFLICT;
        }
        if (!e)
            e = write_all(b, news, m);
        if (!e)
            e = count_run(b, as_of, m);
        e = end(b, e, m);
    }
    sqlite3_busy_timeout(b->db, BUSY_MS);
    return e;
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
        e = run_on(b, s, &l->alert[i], m);
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
    e = read_all(b, &all, m);
    if (!e)
        e = ack_all(b, &all, selection, until, &count, m);
    e = end(b, e, m);
    vb_alerts_clear(&all);
    if (!e)
        *n = count;
    return e;
}
