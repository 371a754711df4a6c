/* Whether the figures of an engine's meter go together: those of its visits and those of
 * its events. */
#include "book_impl.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/date.h"

/* date, meter, meter_unit; the running meter follows from the swaps. */
static enum vb_err
take_mark(sqlite3_stmt *s, const struct swaps *sw, struct vb_mark *k)
{
    const char *date = (const char *)sqlite3_column_text(s, 0);
    const char *unit = (const char *)sqlite3_column_text(s, 2);
    if (!date || !unit)
        return VB_EMEM;
    enum vb_err e = vb_date_days(date, &k->day);
    k->meter = sqlite3_column_double(s, 1);
    k->km = strcmp(unit, "km") == 0;
    k->running = vb_meter_running(sw->swap, sw->n, k->day, k->meter);
    return e;
}

/* event, at: what a swap is beyond that. What the old meter showed last is of the old. */
static enum vb_err
take_event(sqlite3_stmt *s, const struct swaps *sw, struct vb_mark *k)
{
    const char *event = (const char *)sqlite3_column_text(s, 3);
    const char *first = (const char *)sqlite3_column_text(s, 4);
    if (!event || !first)
        return VB_EMEM;
    k->kind = strcmp(event, "meter") == 0 ? VB_MARK_SWAP : VB_MARK_EVENT;
    if (k->kind == VB_MARK_EVENT)
        return VB_OK;
    if (*first)
        vb_double_parse(first, strlen(first), &k->first);
    k->running = k->meter;
    size_t i = 0;
    while (i < sw->n && sw->swap[i].day < k->day) { // GCOVR_EXCL_BR_LINE: k is among them
        k->running += sw->swap[i].last - sw->swap[i].first;
        i++;
    }
    return VB_OK;
}

enum vb_err
facts_marks(struct vb_book *b, const char *engine, const struct swaps *sw,
            struct marks *out, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    int rc = SQLITE_DONE;
    enum vb_err e = db_prepare(b,
                               "SELECT date, meter, meter_unit, event, at FROM events"
                               " WHERE engine = ? AND meter NOT NULL ORDER BY date",
                               &s, m);
    if (e)
        return e;
    db_text(s, 1, engine);
    out->n = 0;
    while (!e && (rc = sqlite3_step(s)) == SQLITE_ROW) {
        struct vb_mark *p = realloc(out->mark, (out->n + 1) * sizeof *p), k = {0};
        if (!p) {
            e = VB_EMEM;
            break;
        }
        out->mark = p;
        e = take_mark(s, sw, &k);
        if (!e)
            e = take_event(s, sw, &k);
        if (!e)
            p[out->n++] = k;
    }
    if (!e && rc != SQLITE_DONE)
        e = db_fail(b, m);
    sqlite3_finalize(s);
    return e;
}

static void
day_text(double day, char *out, size_t size)
{
    char date[VB_DATE_MAX] = "?";
    int minute = (int)lround((day - floor(day)) * 1440);
    vb_date_iso(floor(day), date);
    if (minute > 0)
        snprintf(out, size, "%sT%02d:%02d", date, minute / 60, minute % 60);
    else
        snprintf(out, size, "%s", date);
}

/* "310 h on 2025-06-15": of a swap the meter that was read on the side looked at. */
static void
figure(const struct vb_mark *k, int later, char *out, size_t size)
{
    char date[24], num[VB_NUM_MAX];
    const char *which = k->kind == VB_MARK_VISIT   ? ""
                        : k->kind == VB_MARK_EVENT ? " (an event)"
                        : later                    ? " (the old meter's last)"
                                                   : " (the new meter's first)";
    day_text(k->day, date, sizeof date);
    vb_double_format(k->kind == VB_MARK_SWAP && !later ? k->first : k->meter, num);
    snprintf(out, size, "%s %s on %s%s", num, k->km ? "km" : "h", date, which);
}

/* A reading of the day of a swap is of one of the two meters. */
static void
swap_text(const struct vb_mark *swap, const struct vb_mark *k, char *out, size_t size)
{
    char last[VB_NUM_MAX], first[VB_NUM_MAX], mine[96];
    vb_double_format(swap->meter, last);
    vb_double_format(swap->first, first);
    figure(k, 1, mine, sizeof mine);
    snprintf(out, size,
             "%s, when the old meter stopped at %s and the new one began at %s", mine,
             last, first);
}

static const char *
clash_words(enum vb_clash c, const struct vb_mark *a, const struct vb_mark *b, char *fast,
            size_t size)
{
    int visits = a->kind == VB_MARK_VISIT && b->kind == VB_MARK_VISIT;
    switch (c) { // GCOVR_EXCL_BR_LINE: a swap has words of its own, nothing none
    case VB_CLASH_BACK:
        return visits ? "the meter runs backwards, and no meter event lies between"
                      : "the meter runs backwards";
    case VB_CLASH_FAST:
        snprintf(fast, size, "more than %.0f %s a day",
                 a->km ? VB_METER_KM_A_DAY : VB_METER_H_A_DAY, a->km ? "km" : "h");
        return fast;
    case VB_CLASH_UNIT: return "an engine has one meter, in h or in km";
    case VB_CLASH_TWICE: return "one swap under two dates?";
    default: return "";
    }
}

void
clash_text(enum vb_clash c, const struct vb_mark *a, const struct vb_mark *b, char *out,
           size_t size)
{
    char fast[40], first[96], second[96];
    const struct vb_mark *early = b->day < a->day ? b : a, *late = early == a ? b : a;
    if (c == VB_CLASH_SWAP) {
        swap_text(a->kind == VB_MARK_SWAP ? a : b, a->kind == VB_MARK_SWAP ? b : a, out,
                  size);
        return;
    }
    if (early->day == late->day && early->kind == VB_MARK_VISIT) // events come second
        early = b, late = a;
    figure(late, 1, first, sizeof first);
    figure(early, c == VB_CLASH_TWICE, second, sizeof second);
    snprintf(out, size, "%s %s %s: %s", first, early->day < late->day ? "after" : "and",
             second, clash_words(c, a, b, fast, sizeof fast));
}

static void
count(struct meter_faults *f, enum vb_clash c, const struct vb_mark *a,
      const struct vb_mark *b)
{
    if (!f->n++)
        clash_text(c, a, b, f->why, sizeof f->why);
}

static void
check_events(const struct marks *k, struct meter_faults *f)
{
    for (size_t i = 0; i < k->n; i++)
        for (size_t j = i + 1; j < k->n; j++) {
            enum vb_clash c = vb_meter_pair(&k->mark[i], &k->mark[j]);
            if (c && (j == i + 1 || c == VB_CLASH_TWICE))
                count(f, c, &k->mark[i], &k->mark[j]);
        }
}

static enum vb_err
check_visits(struct vb_book *b, const char *engine, const struct swaps *sw,
             const struct marks *k, struct meter_faults *f, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    struct vb_mark v[2] = {{0}, {0}};
    const struct vb_mark *before = NULL, *with = NULL;
    int rc = SQLITE_DONE, now = 0;
    enum vb_err e = db_prepare(b,
                               "SELECT date, meter, meter_unit FROM visits"
                               " WHERE engine = ? AND meter NOT NULL ORDER BY date",
                               &s, m);
    if (e)
        return e;
    db_text(s, 1, engine);
    while ((rc = sqlite3_step(s)) == SQLITE_ROW) {
        if ((e = take_mark(s, sw, &v[now])))
            break;
        enum vb_clash c = vb_meter_check(&v[now], before, k->mark, k->n, &with);
        if (c)
            count(f, c, with == before ? before : &v[now],
                  with == before ? &v[now] : with);
        before = &v[now];
        now = !now;
    }
    if (!e && rc != SQLITE_DONE)
        e = db_fail(b, m);
    sqlite3_finalize(s);
    return e;
}

enum vb_err
facts_meter(struct vb_book *b, const char *engine, struct meter_faults *out,
            struct vb_msg *m)
{
    struct swaps sw = {NULL, 0};
    struct marks k = {NULL, 0};
    struct meter_faults f = {0, ""};
    enum vb_err e = facts_swaps(b, engine, &sw, m);
    if (!e)
        e = facts_marks(b, engine, &sw, &k, m);
    if (!e)
        e = check_visits(b, engine, &sw, &k, &f, m);
    if (!e)
        check_events(&k, &f);
    free(k.mark);
    free(sw.swap);
    if (!e)
        *out = f;
    return e;
}
