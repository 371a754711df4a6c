/*
 * What the book knows of cams, engine by engine, for lib/trade. Books of lash alone are
 * told by their places and cost nothing; of the others every reading of the engines that
 * were asked for is looked at.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "book_impl.h"
#include "valvebook/cams.h"
#include "valvebook/date.h"
#include "valvebook/utf8.h"

struct query {
    struct vb_book *b;
    struct vb_msg *m;
    const char *as_of;
    const struct vb_cam_wish *w;
    struct vb_cam_list *out;
    struct vb_profiles profiles;
    struct gauges *gauges;
    struct vb_family family;
    char family_name[MAX_CELL]; // that family is of
    struct vb_cam_engine e;
    struct vb_visit *visit;
    sqlite3_int64 *id;
    struct vb_cam_reading *reading;
    struct vb_cam_event *event;
    size_t visits_size, ids_size, readings_size, events_size;
    sqlite3_stmt *engines, *visits, *events, *timed, *readings;
    int oom;
};

/* None of these columns may be NULL: SQLite had no room for one that is. */
static const char *
text(struct query *q, sqlite3_stmt *s, int i)
{
    const char *t = (const char *)sqlite3_column_text(s, i);
    q->oom |= !t;
    return t ? t : "";
}

static enum vb_err
read_visits(struct query *q)
{
    int rc = SQLITE_DONE;
    size_t n = 0;
    enum vb_err e = VB_OK;
    db_text(q->visits, 1, q->e.name);
    db_text(q->visits, 2, q->as_of);
    while ((rc = sqlite3_step(q->visits)) == SQLITE_ROW) {
        if (!list_room(&q->visit, n, &q->visits_size, sizeof *q->visit) ||
            !list_room(&q->id, n, &q->ids_size, sizeof *q->id)) {
            e = VB_EMEM;
            break;
        }
        struct vb_visit *v = &q->visit[n];
        memset(v, 0, sizeof *v);
        q->id[n++] = sqlite3_column_int64(q->visits, 0);
        snprintf(v->date, sizeof v->date, "%s", text(q, q->visits, 1));
        v->meter = v->running = NAN;
        vb_date_days(v->date, &v->day);
    }
    q->e.visit = q->visit;
    q->e.n_visits = n;
    return db_ended(q->b, q->visits, rc, e, q->m);
}

/* date, event, part, at, build, item, faces: 0 if it places no cam and says none */
static int
take_event(struct query *q, struct vb_cam_event *ev)
{
    sqlite3_stmt *s = q->events;
    const char *part = text(q, s, 2), *at = text(q, s, 3), *faces = text(q, s, 6);
    int renews = vb_part_renews(part, strlen(part));
    memset(ev, 0, sizeof *ev);
    ev->fit = strcmp(text(q, s, 1), "fit") == 0;
    if (!ev->fit && (renews < 0 || !(renews & VB_RENEWS_TIMING)))
        return 0;
    if (vb_cam_place_parse(at, strlen(at), &ev->place))
        vb_valve_part(at, strlen(at), &ev->at); // the loader lets nothing else in
    snprintf(ev->date, sizeof ev->date, "%s", text(q, s, 0));
    vb_date_days(ev->date, &ev->day);
    vb_utf8_copy(ev->build, sizeof ev->build, text(q, s, 4));
    snprintf(ev->item, sizeof ev->item, "%s", text(q, s, 5));
    ev->reversed = *faces ? strcmp(faces, "reversed") == 0 : -1;
    return 1;
}

static enum vb_err
read_events(struct query *q)
{
    int rc = SQLITE_DONE;
    size_t n = 0;
    enum vb_err e = VB_OK;
    db_text(q->events, 1, q->e.name);
    db_text(q->events, 2, q->as_of);
    while (!e && (rc = sqlite3_step(q->events)) == SQLITE_ROW) {
        const char *event = text(q, q->events, 1);
        if (strcmp(event, "end") == 0 || strcmp(event, "meter") == 0)
            continue;
        if (!list_room(&q->event, n, &q->events_size, sizeof *q->event))
            e = VB_EMEM;
        else
            n += take_event(q, &q->event[n]) != 0;
    }
    q->e.event = q->event;
    q->e.n_events = n;
    return db_ended(q->b, q->events, rc, e, q->m);
}

/* quantity, at, found, left, u, origin, source, line */
static enum vb_err
take_reading(struct query *q, size_t visit, struct vb_cam_reading *r, int *ok)
{
    sqlite3_stmt *s = q->readings;
    const char *at = text(q, s, 1), *source = text(q, s, 6);
    memset(r, 0, sizeof *r);
    r->what = vb_cam_what_find(text(q, s, 0));
    *ok = r->what != VB_CAM_WHATS;
    r->visit = visit;
    r->value[0] = db_number(s, 2);
    r->value[1] = db_number(s, 3);
    r->u = db_number(s, 4);
    snprintf(r->place, sizeof r->place, "%s", at);
    if (r->what != VB_CAM_STEP && *at && vb_valve_part(at, strlen(at), &r->at))
        *ok = 0; // the loader lets no other names in
    if (*source)
        snprintf(r->from, sizeof r->from, "%.*s:%lld", vb_utf8_fit(source, 50), source,
                 (long long)sqlite3_column_int64(s, 7));
    if (!isnan(r->u) || !q->gauges)
        return VB_OK;
    int length = r->what == VB_CAM_LASH || r->what == VB_CAM_LIFT_TDC ||
                 r->what == VB_CAM_CHECKING_LIFT;
    return gauges_u(q->gauges, sqlite3_column_int64(s, 5),
                    length ? VB_DIM_LENGTH : VB_DIM_ANGLE, &r->u, q->m);
}

/* Is there anything of cams in this visit? Most have lash alone. */
static enum vb_err
has_timing(struct query *q, sqlite3_int64 visit, int *has)
{
    sqlite3_bind_int64(q->timed, 1, visit);
    int rc = sqlite3_step(q->timed);
    *has = rc == SQLITE_ROW;
    sqlite3_reset(q->timed);
    return rc == SQLITE_ROW || rc == SQLITE_DONE ? VB_OK : db_fail(q->b, q->m);
}

static enum vb_err
read_visit(struct query *q, size_t visit)
{
    int rc = SQLITE_DONE, has = 0, ok;
    enum vb_err e = has_timing(q, q->id[visit], &has);
    if (e || !has)
        return e;
    sqlite3_bind_int64(q->readings, 1, q->id[visit]);
    while (!e && (rc = sqlite3_step(q->readings)) == SQLITE_ROW) {
        size_t n = q->e.n_readings;
        if (!list_room(&q->reading, n, &q->readings_size, sizeof *q->reading)) {
            e = VB_EMEM;
            break;
        }
        e = take_reading(q, visit, &q->reading[n], &ok);
        q->e.n_readings += !e && ok;
    }
    q->e.reading = q->reading;
    return db_ended(q->b, q->readings, rc, e, q->m);
}

static enum vb_err
read_engine(struct query *q)
{
    const char *family = text(q, q->engines, 1);
    enum vb_err e = VB_OK;
    q->e.name = text(q, q->engines, 0); // valid until engines is stepped again
    if (strcmp(q->family_name, family) != 0) {
        snprintf(q->family_name, sizeof q->family_name, "%s", family);
        e = facts_family(q->b, family, &q->family, q->m);
    }
    q->e.family = &q->family;
    q->e.family_name = q->family_name;
    q->e.n_readings = 0;
    if (!e)
        e = read_visits(q);
    for (size_t i = 0; !e && i < q->e.n_visits; i++)
        e = read_visit(q, i);
    if (e || !q->e.n_readings)
        return e;
    e = read_events(q);
    return e ? e : vb_cams_add(q->out, &q->e, &q->profiles, q->w);
}

/* lobe, cam_deg, lift, unit; the last digit of a lift is that of its shortest decimal. */
static enum vb_err
take_point(struct query *q, sqlite3_stmt *s)
{
    char num[VB_NUM_MAX];
    const char *name = text(q, s, 0), *unit = text(q, s, 3);
    const struct vb_unit *u = vb_unit_find(unit, strlen(unit));
    double lift = db_number(s, 2);
    struct vb_dec d;
    size_t n = vb_double_format(lift, num);
    if (strlen(name) >= VB_LOBE_NAME || !u || vb_dec_parse(num, n, '.', 0, &d))
        return VB_OK; // nothing can name it, or the loader let it in with no length
    double mm = vb_dec_double(u->factor);
    const struct vb_lobe_point p = {db_number(s, 1), lift * mm};
    return vb_profiles_add(&q->profiles, name, p, pow(10, -d.scale) * mm);
}

static enum vb_err
read_profiles(struct query *q)
{
    sqlite3_stmt *s = NULL;
    int rc = SQLITE_DONE;
    enum vb_err e = db_prepare(
        q->b, "SELECT lobe, cam_deg, lift, unit FROM lobes ORDER BY lobe, cam_deg", &s,
        q->m);
    while (!e && (rc = sqlite3_step(s)) == SQLITE_ROW)
        e = take_point(q, s);
    e = db_ended(q->b, s, rc, e, q->m);
    sqlite3_finalize(s);
    return e;
}

#define TIMING                                                                           \
    "'opens', 'closes', 'lift_tdc', 'stop_before', 'stop_after', 'sprocket_step'"
#define PLACES   "SELECT place FROM places WHERE quantity IN (" TIMING ")"
#define OF_VISIT "reading BETWEEN ?1 << 16 AND (?1 << 16) + 65535"

static enum vb_err
prepare(struct query *q)
{
    const struct {
        sqlite3_stmt **s;
        const char *sql;
    } all[] = {
        // one pass over all readings finds the engines that have something of cams
        {&q->engines,
         "SELECT engine, family FROM engines WHERE " IN_SCOPE(
             "") " AND (:engine NOT NULL OR engine IN"
                 " (SELECT engine FROM visits WHERE visit IN (SELECT reading >> 16"
                 " FROM reading WHERE (reading & 65535) IN (" PLACES "))))"
                 " ORDER BY engine"},
        {&q->visits, "SELECT visit, date FROM visits WHERE engine = ?1"
                     " AND date <= ?2 || '~' ORDER BY date"},
        {&q->events, "SELECT date, event, part, at, build, item, faces FROM events"
                     " WHERE engine = ?1 AND date <= ?2 || '~'"
                     " ORDER BY date, event, part, at"},
        {&q->timed, "SELECT 1 FROM reading WHERE " OF_VISIT " AND (reading & 65535) IN"
                    " (" PLACES ") LIMIT 1"},
        {&q->readings, "SELECT quantity, at, found, left, u, origin, source, line"
                       " FROM reading JOIN places ON places.place = (reading & 65535)"
                       " JOIN origins USING(origin) WHERE " OF_VISIT
                       " AND quantity IN (" TIMING ", 'lash', 'checking_lift')"
                       " ORDER BY quantity, at"},
    };
    enum vb_err e = gauges_read(q->b, &q->gauges, q->m);
    if (!e)
        e = read_profiles(q);
    for (size_t i = 0; !e && i < sizeof all / sizeof *all; i++)
        e = db_prepare(q->b, all[i].sql, all[i].s, q->m);
    return e;
}

/* Is there any place at all where something of cams is read? */
static enum vb_err
any_timing(struct query *q, int *any)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e = db_prepare(q->b, PLACES, &s, q->m);
    if (e)
        return e;
    int rc = sqlite3_step(s);
    *any = rc == SQLITE_ROW;
    if (!*any && rc != SQLITE_DONE)
        e = db_fail(q->b, q->m);
    sqlite3_finalize(s);
    return e;
}

static enum vb_err
read_all(struct query *q, const struct vb_scope *scope)
{
    int rc = SQLITE_DONE, any = 0;
    enum vb_err e = any_timing(q, &any);
    if (!e && any)
        e = prepare(q);
    if (e || !any)
        return e;
    scope_bind(q->engines, scope);
    while (!e && (rc = sqlite3_step(q->engines)) == SQLITE_ROW)
        e = read_engine(q);
    return db_ended(q->b, q->engines, rc, e, q->m);
}

static void
finish(struct query *q)
{
    sqlite3_stmt *all[] = {q->engines, q->visits, q->events, q->timed, q->readings};
    for (size_t i = 0; i < sizeof all / sizeof *all; i++)
        sqlite3_finalize(all[i]);
    gauges_free(q->gauges);
    vb_profiles_clear(&q->profiles);
    free(q->visit);
    free(q->id);
    free(q->reading);
    free(q->event);
}

enum vb_err
vb_book_cams(struct vb_book *b, const struct vb_scope *scope, const char *as_of,
             const struct vb_cam_wish *w, struct vb_cam_list *out, struct vb_msg *m)
{
    struct query q = {.b = b, .m = m, .as_of = as_of, .w = w, .out = out};
    memset(out, 0, sizeof *out);
    int alone = sqlite3_get_autocommit(b->db); // else vb_blocks_open has begun
    enum vb_err e = alone ? db_exec(b, "BEGIN", m) : VB_OK; // one state, whoever loads
    if (!e)
        e = scope_check(b, scope, m);
    if (!e)
        e = read_all(&q, scope);
    finish(&q);
    if (alone && !sqlite3_get_autocommit(b->db))
        sqlite3_exec(b->db, "ROLLBACK", NULL, NULL, NULL);
    if (e)
        vb_cam_list_clear(out);
    return e;
}
