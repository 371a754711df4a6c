/*
 * The visit a reading belongs to. Rows of one visit stand together, and exports run
 * forward in time, so nearly always the visit is that of the row before, or a new one
 * behind the newest of its engine: neither needs a query.
 */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "reading_impl.h"

static void refuse_visit(struct reader *r, const char *column, const char *fmt, ...)
    __attribute__((format(printf, 3, 4)));

static void
refuse_visit(struct reader *r, const char *column, const char *fmt, ...)
{
    va_list ap;
    va_start(ap, fmt);
    vsnprintf(r->visit.why, sizeof r->visit.why, fmt, ap);
    va_end(ap);
    snprintf(r->visit.column, sizeof r->visit.column, "%s", column);
    r->visit.ok = 0;
}

enum vb_err
visit_refuse(struct reader *r)
{
    struct visit_now *v = &r->visit;
    const struct refused at = feed_at(r->f);
    load_reject(r->ld, &at, v->column, v->why, &v->newest);
    if (!v->refused++)
        r->ld->l->tell(r->ld->l->arg, &v->newest);
    return VB_OK;
}

/* One slip of the meter is a reason for all rows of a visit; the first has told it. */
void
visit_count(struct reader *r)
{
    struct visit_now *v = &r->visit;
    unsigned long long more = v->refused > 1 ? v->refused - 1 : 0;
    v->refused = 0;
    if (more > 1) {
        v->newest.column[0] = 0;
        vb_msg_set(&v->newest, "%llu more rows of this visit are refused for that", more);
    }
    if (more)
        r->ld->l->tell(r->ld->l->arg, &v->newest);
}

enum meter_fault
meter_of_row(const struct feed *f, double *meter, const char **unit)
{
    struct vb_text t = feed_cell(f, R_METER), u = feed_cell(f, R_METER_UNIT);
    struct vb_dec d;
    *meter = NAN;
    *unit = "";
    if (!t.n)
        return METER_GOOD;
    const struct vb_unit *h = vb_unit_of(VB_DIM_TIME);
    const struct vb_unit *has = vb_text_is(u, h->name) ? h : vb_unit_find(u.s, u.n);
    if (!has || (has->dim != VB_DIM_TIME && has->dim != VB_DIM_DISTANCE))
        return METER_NO_UNIT;
    if (vb_dec_parse(t.s, t.n, '.', 0, &d) || d.mant < 0 || vb_unit_convert(has, d, &d))
        return METER_NO_NUMBER;
    *meter = vb_dec_double(d);
    *unit = vb_unit_of(has->dim)->name;
    return METER_GOOD;
}

/* A meter in the book's unit; NaN if blank. 0 if it is not one. */
static int
take_meter(struct reader *r, double *meter, const char **unit)
{
    struct vb_text t = feed_cell(r->f, R_METER), u = feed_cell(r->f, R_METER_UNIT);
    enum meter_fault fault = meter_of_row(r->f, meter, unit);
    if (fault == METER_NO_UNIT)
        refuse_visit(r, "meter_unit", "a meter runs in h or km, not '%.*s'",
                     (int)(u.n > 20 ? 20 : u.n), u.n ? u.s : "");
    if (fault == METER_NO_NUMBER)
        refuse_visit(r, "meter", "bad number '%.*s'", (int)(t.n > 40 ? 40 : t.n), t.s);
    if (fault)
        return 0;
    if (isnan(*meter))
        return 1;
    if (r->engine->meter_unit[0] && strcmp(*unit, r->engine->meter_unit) != 0) {
        refuse_visit(r, "meter_unit", "this engine's meter runs in %s, not in %s",
                     r->engine->meter_unit, *unit);
        return 0;
    }
    return 1;
}

/* Into the batch: its number is known before SQLite has seen it. */
static enum vb_err
insert_visit(struct reader *r, const char *date, double meter, const char *unit)
{
    if (r->batch->n_visits == BATCH) { // of one reading each
        enum vb_err e = reader_flush(r);
        if (e)
            return e;
    }
    struct incoming_visit *v = &r->batch->visit[r->batch->n_visits++];
    v->visit = r->visit.id = r->next_visit++;
    v->meter = meter;
    v->meter_unit = unit;
    v->engine = r->engine->name;
    v->engine_n = r->engine->n;
    memcpy(v->date, date, strlen(date) + 1);
    r->visit.fresh = r->visit.made = r->engine->changed = 1;
    return VB_OK;
}

enum vb_err
latest_meter(struct reader *r, const char *date, double *meter)
{
    char key[KEY_MAX], text[VB_NUM_MAX];
    const char *keys[N_KEY] = {r->engine->name, date, "", "", "meter"};
    if (!r->corrected || isnan(*meter))
        return VB_OK;
    enum vb_err e = reader_sync(r);
    cells_join(keys, N_KEY, key, sizeof key);
    vb_double_format(*meter, text);
    if (!e)
        e = history_latest(r->b, "readings", key, text, VB_NUM_MAX, r->m);
    if (!e)
        (void)vb_double_parse(text, strlen(text), meter);
    return e;
}

/* Between visits that are there already: it must go with those on either side. */
static enum vb_err
squeeze_in(struct reader *r, const char *date, double meter, const char *unit)
{
    struct meter_faults before, after;
    enum vb_err e = reader_sync(r);
    if (!e)
        e = facts_meter(r->b, r->engine->name, &before, r->m);
    if (!e)
        e = insert_visit(r, date, meter, unit);
    if (!e)
        e = reader_sync(r);
    if (!e)
        e = facts_meter(r->b, r->engine->name, &after, r->m);
    if (e || after.n <= before.n)
        return e;
    char sql[64];
    snprintf(sql, sizeof sql, "DELETE FROM visits WHERE visit = %lld",
             (long long)r->visit.id);
    refuse_visit(r, "meter", "%s", after.why);
    r->visit.made = 0;
    return db_exec(r->b, sql, r->m);
}

/* Behind the newest visit: only that one, and events, have to be looked at. */
static enum vb_err
append_visit(struct reader *r, const char *date, double meter, const char *unit)
{
    struct engine_known *en = r->engine;
    const struct vb_mark *before = en->last.km < 0 ? NULL : &en->last, *with = NULL;
    struct vb_mark now;
    double day = 0;
    if (en->unknown) { // its newest visit has no meter: look at them all
        enum vb_err e = squeeze_in(r, date, meter, unit);
        return e ? e : engine_refresh(r, r->engine);
    }
    if (!isnan(meter)) {
        (void)vb_date_days(date, &day); // it was read before
        engine_mark(en, day, meter, unit, &now);
        enum vb_clash c =
            vb_meter_check(&now, before, en->marks.mark, en->marks.n, &with);
        if (c) {
            char why[WHY_MAX];
            clash_text(c, with == before ? before : &now, with == before ? &now : with,
                       why, sizeof why);
            refuse_visit(r, "meter", "%s", why);
            return VB_OK;
        }
        en->last = now;
    }
    enum vb_err e = insert_visit(r, date, meter, unit);
    snprintf(en->newest, sizeof en->newest, "%s", date);
    if (*unit)
        snprintf(en->meter_unit, sizeof en->meter_unit, "%s", unit);
    return e;
}

static enum vb_err
set_meter(struct reader *r, sqlite3_int64 id, double meter, const char *unit)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e = db_prepare(
        r->b, "UPDATE visits SET meter = ?, meter_unit = ? WHERE visit = ?", &s, r->m);
    if (e)
        return e;
    r->engine->changed = 1;
    sqlite3_bind_double(s, 1, meter);
    db_text(s, 2, unit);
    sqlite3_bind_int64(s, 3, id);
    e = db_run(r->b, s, r->m);
    sqlite3_finalize(s);
    return e;
}

/* A visit without a figure gets one, or a figure is corrected. */
static enum vb_err
change_meter(struct reader *r, const struct past *p, double meter, const char *unit)
{
    struct meter_faults before;
    const char *engine = r->engine->name;
    char why[WHY_MAX];
    enum vb_err e = meter_begin(r->b, engine, &before, r->m);
    if (!e && *p->old)
        e = history_correct(r->b, p, r->m);
    if (!e)
        e = set_meter(r, r->visit.id, meter, unit);
    if (!e)
        e = meter_end(r->b, engine, &before, why, r->m);
    if (!e && why[0] && *p->old) {
        const struct refused at = feed_at(r->f);
        e = pending_add(r->ld, &at, "meter", engine, p);
        return e ? e : engine_reread(r, r->engine);
    }
    if (!e && why[0])
        refuse_visit(r, "meter", "%s", why);
    return e ? e : engine_refresh(r, r->engine);
}

/* The meter of a visit that the book knows with another figure, or without one. */
static enum vb_err
meter_differs(struct reader *r, const char *date, double has, double meter,
              const char *unit)
{
    char key[KEY_MAX], old[VB_NUM_MAX] = "", now[VB_NUM_MAX];
    const char *keys[N_KEY] = {r->engine->name, date, "", "", "meter"}, *mine = now,
               *book = old;
    int seen = 0;
    enum vb_err e = isnan(has) ? latest_meter(r, date, &meter) : VB_OK;
    vb_double_format(meter, now);
    if (!isnan(has))
        vb_double_format(has, old);
    cells_join(keys, N_KEY, key, sizeof key);
    if (!e && !isnan(has) && !r->ld->l->correct)
        e = history_has(r->b, "readings", key, &mine, &book, 1, &seen, r->m);
    if (e || seen)
        return e;
    if (!isnan(has) && !r->ld->l->correct) {
        refuse_visit(r, "meter", "%s here, %s in the book for this visit", now, old);
        return VB_OK;
    }
    const struct past p = {"readings", key, old, now, 0};
    return change_meter(r, &p, meter, unit);
}

/* *has: NaN if it is not there or has no meter; *rc: SQLITE_ROW or SQLITE_DONE */
static enum vb_err
look_up(struct reader *r, const char *date, double *has, int *rc)
{
    *has = NAN;
    enum vb_err e = reader_sync(r);
    if (e)
        return e;
    db_text(r->find_visit, 1, r->engine->name);
    db_text(r->find_visit, 2, date);
    *rc = sqlite3_step(r->find_visit);
    if (*rc == SQLITE_ROW) {
        r->visit.id = sqlite3_column_int64(r->find_visit, 0);
        if (sqlite3_column_type(r->find_visit, 1) != SQLITE_NULL)
            *has = sqlite3_column_double(r->find_visit, 1);
    }
    e = *rc == SQLITE_ROW || *rc == SQLITE_DONE ? VB_OK : db_fail(r->b, r->m);
    sqlite3_reset(r->find_visit);
    return e;
}

/* The visit of a row that is to be withdrawn must be as it is said to be. */
static enum vb_err
compare_visit(struct reader *r, const char *date, double meter)
{
    char here[VB_NUM_MAX], book[VB_NUM_MAX] = "none";
    double has;
    int rc;
    enum vb_err e = look_up(r, date, &has, &rc);
    if (e || rc == SQLITE_DONE || isnan(meter) || meter == has)
        return e;
    vb_double_format(meter, here);
    if (!isnan(has))
        vb_double_format(has, book);
    refuse_visit(r, "meter", "%s here, %s in the book for this visit", here, book);
    return VB_OK;
}

static enum vb_err
find_visit(struct reader *r, const char *date, double meter, const char *unit)
{
    double has;
    int rc;
    enum vb_err e = look_up(r, date, &has, &rc);
    if (e)
        return e;
    if (rc == SQLITE_DONE) {
        e = latest_meter(r, date, &meter);
        return e ? e : squeeze_in(r, date, meter, unit);
    }
    struct visit_now *v = &r->visit;
    v->late = !isnan(meter) && meter != has;
    v->has = has;
    v->meter = meter;
    v->meter_unit = unit;
    memcpy(v->date, date, strlen(date) + 1);
    return VB_OK;
}

enum vb_err
visit_settle(struct reader *r)
{
    struct visit_now *v = &r->visit;
    if (!v->late)
        return VB_OK;
    v->late = 0;
    return meter_differs(r, v->date, v->has, v->meter, v->meter_unit);
}

static enum vb_err
resolve(struct reader *r)
{
    struct vb_text name = vb_text_trim(feed_cell(r->f, R_ENGINE)),
                   d = feed_cell(r->f, R_DATE);
    char date[VB_DATE_MAX];
    double meter;
    const char *unit;
    if (!r->engine || r->engine->n != name.n ||
        memcmp(r->engine->name, name.s, name.n) != 0)
        r->engine = engine_find(r, name);
    if (!r->engine) {
        refuse_visit(r, "engine", "unknown engine '%.*s'",
                     (int)(name.n > 60 ? 60 : name.n), name.n ? name.s : "");
        return VB_OK;
    }
    if (vb_date_parse(d.s, d.n, "", date)) {
        refuse_visit(r, "date", "bad date '%.*s'", (int)(d.n > 40 ? 40 : d.n),
                     d.n ? d.s : "");
        return VB_OK;
    }
    if (!r->ld->l->withdraw && strncmp(date, r->ld->l->as_of, 10) > 0) {
        refuse_visit(r, "date", "%s is later than %s", date, r->ld->l->as_of);
        return VB_OK;
    }
    enum vb_err e = visit_withdrawn(r, date, &r->visit.withdrawn);
    if (e || !take_meter(r, &meter, &unit))
        return e;
    if (r->ld->l->withdraw)
        return compare_visit(r, date, meter);
    if (strcmp(date, r->engine->newest) <= 0)
        return find_visit(r, date, meter, unit);
    e = latest_meter(r, date, &meter);
    return e ? e : append_visit(r, date, meter, unit);
}

/* The four cells lie behind each other; a separator keeps "ab|c" from "a|bc". */
static int
same_visit(const struct visit_now *v, const struct feed *f)
{
    size_t at = 0;
    for (size_t i = R_ENGINE; i <= R_METER_UNIT; i++) {
        struct vb_text t = feed_cell(f, i);
        if (at + t.n + 1 > v->n || v->cells[at + t.n] != '\x1f' ||
            (t.n && memcmp(v->cells + at, t.s, t.n) != 0))
            return 0;
        at += t.n + 1;
    }
    return at == v->n;
}

static void
keep_visit(struct visit_now *v, const struct feed *f)
{
    v->n = 0;
    for (size_t i = R_ENGINE; i <= R_METER_UNIT; i++) {
        struct vb_text t = feed_cell(f, i);
        if (v->n + t.n + 1 > sizeof v->cells) {
            v->n = 0; // too long to keep: every row looks its visit up
            return;
        }
        if (t.n)
            memcpy(v->cells + v->n, t.s, t.n);
        v->n += t.n;
        v->cells[v->n++] = '\x1f';
    }
}

enum vb_err
visit_leave(struct reader *r)
{
    char sql[64];
    if (!r->visit.made || r->visit.kept)
        return VB_OK;
    r->visit.made = 0;
    enum vb_err e = reader_sync(r);
    snprintf(sql, sizeof sql, "DELETE FROM visits WHERE visit = %lld",
             (long long)r->visit.id);
    if (!e)
        e = db_exec(r->b, sql, r->m);
    return e ? e : engine_refresh(r, r->engine);
}

enum vb_err
visit_of_row(struct reader *r)
{
    struct visit_now *v = &r->visit;
    if (same_visit(v, r->f))
        return VB_OK;
    visit_count(r);
    enum vb_err e = visit_leave(r);
    if (e)
        return e;
    keep_visit(v, r->f);
    for (size_t i = 0; i < v->n_seen; i++)
        r->in_batch[v->seen[i]] = 0;
    v->n_seen = 0;
    v->fresh = v->made = v->kept = v->withdrawn = v->late = 0;
    v->ok = 1;
    return resolve(r);
}
