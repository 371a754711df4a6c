/* Numbers that stand for places and origins, kept in memory so that rows need not ask. */
#include <stdlib.h>
#include <string.h>

#include "reading_impl.h"

#define CYLS    100
#define INDICES 10

static uint16_t *
valve_slot(struct reader *r, const struct vb_quantity *q, const struct vb_valve *v)
{
    size_t n;
    size_t k = (size_t)(q - vb_quantity_all(&n));
    k = (k * CYLS + (size_t)v->cyl) * 2 + (v->side == 'E');
    return &r->valve_place[k * INDICES + (size_t)v->index];
}

static void
learn(struct reader *r, sqlite3_int64 id, const char *quantity, const char *at)
{
    struct vb_valve v;
    const struct vb_quantity *q = vb_quantity_find(quantity, strlen(quantity));
    if (q && q->at == VB_AT_VALVE && !vb_valve_parse(at, strlen(at), &v))
        *valve_slot(r, q, &v) = (uint16_t)id;
}

enum vb_err
places_read(struct reader *r)
{
    size_t n;
    sqlite3_stmt *s = NULL;
    vb_quantity_all(&n);
    r->valve_place = calloc(n * CYLS * 2 * INDICES, sizeof *r->valve_place);
    r->in_batch = calloc(PLACE_MAX, sizeof *r->in_batch);
    if (!r->valve_place || !r->in_batch)
        return VB_EMEM;
    enum vb_err e = db_prepare(r->b, "SELECT place, quantity, at FROM places", &s, r->m);
    if (e)
        return e;
    int rc;
    while (!e && (rc = sqlite3_step(s)) == SQLITE_ROW) {
        sqlite3_int64 place = sqlite3_column_int64(s, 0);
        if (place <= 0 || place >= PLACE_MAX)
            e = db_damaged(r->b, r->m);
        else
            learn(r, place, db_word(s, 1), db_word(s, 2));
    }
    if (!e && rc != SQLITE_DONE)
        e = db_fail(r->b, r->m);
    sqlite3_finalize(s);
    return e;
}

static enum vb_err
ask_place(struct reader *r, const char *quantity, const char *at, sqlite3_int64 *id)
{
    enum vb_err e = reader_sync(r);
    if (e)
        return e;
    db_text(r->find_place, 1, quantity);
    db_text(r->find_place, 2, at);
    int rc = sqlite3_step(r->find_place);
    if (rc == SQLITE_ROW)
        *id = sqlite3_column_int64(r->find_place, 0);
    sqlite3_reset(r->find_place);
    if (rc == SQLITE_ROW)
        return VB_OK;
    db_text(r->add_place, 1, quantity);
    db_text(r->add_place, 2, at);
    e = rc == SQLITE_DONE ? db_run(r->b, r->add_place, r->m) : db_fail(r->b, r->m);
    if (!e && (*id = sqlite3_last_insert_rowid(r->b->db)) >= PLACE_MAX) {
        vb_msg_set(r->m, "more places than a book can hold");
        e = VB_ERANGE;
    }
    return e;
}

enum vb_err
place_of(struct reader *r, const struct vb_quantity *q, const struct vb_valve *v,
         const char *at, sqlite3_int64 *id)
{
    uint16_t *known = v ? valve_slot(r, q, v) : NULL;
    if (known && *known) {
        *id = *known;
        return VB_OK;
    }
    enum vb_err e = ask_place(r, q->name, at, id);
    if (!e && known)
        *known = (uint16_t)*id;
    return e;
}

static enum vb_err
ask_origin(struct reader *r, sqlite3_stmt *s, const struct vb_text *part, int *rc)
{
    for (int i = 0; i < 4; i++)
        sqlite3_bind_text(s, i + 1, part[i].n ? part[i].s : "", (int)part[i].n,
                          SQLITE_STATIC);
    *rc = sqlite3_step(s);
    return *rc == SQLITE_ROW || *rc == SQLITE_DONE ? VB_OK : db_fail(r->b, r->m);
}

enum vb_err
origin_id(struct reader *r, const struct vb_text *part, sqlite3_int64 *id)
{
    int rc;
    enum vb_err e = reader_sync(r);
    if (!e)
        e = ask_origin(r, r->find_origin, part, &rc);
    if (!e && rc == SQLITE_ROW)
        *id = sqlite3_column_int64(r->find_origin, 0);
    sqlite3_reset(r->find_origin);
    if (e || rc == SQLITE_ROW)
        return e;
    e = ask_origin(r, r->add_origin, part, &rc);
    sqlite3_reset(r->add_origin);
    if (!e)
        *id = sqlite3_last_insert_rowid(r->b->db);
    return e;
}

static int
same_cells(const struct origin_now *o, const struct vb_text *part, size_t n)
{
    const char *p = o->cells;
    if (n != o->n)
        return 0;
    for (int i = 0; i < 4; i++) {
        if (part[i].n && memcmp(p, part[i].s, part[i].n) != 0)
            return 0;
        p += part[i].n;
        if (*p++ != '\x1f')
            return 0;
    }
    return 1;
}

static void
remember(struct reader *r, const struct vb_text *part, size_t n, sqlite3_int64 id)
{
    struct origin_now *o = &r->origin[r->origin_next++ % ORIGINS];
    char *p = o->cells;
    for (int i = 0; i < 4; i++) {
        if (part[i].n)
            memcpy(p, part[i].s, part[i].n);
        p += part[i].n;
        *p++ = '\x1f';
    }
    o->n = n;
    o->id = id;
}

enum vb_err
origin_of_row(struct reader *r, sqlite3_int64 *id)
{
    struct vb_text part[] = {feed_cell(r->f, R_SOURCE), feed_cell(r->f, R_GAUGE),
                             feed_cell(r->f, R_BY), feed_cell(r->f, R_NOTE)};
    size_t n = 4 + part[0].n + part[1].n + part[2].n + part[3].n;
    for (size_t i = 0; i < ORIGINS; i++)
        if (same_cells(&r->origin[i], part, n)) {
            *id = r->origin[i].id;
            return VB_OK;
        }
    enum vb_err e = origin_id(r, part, id);
    if (!e && n <= sizeof r->origin[0].cells)
        remember(r, part, n, *id);
    return e;
}
