/* Loading the table readings: millions of rows, one pass, flat memory. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "reading_impl.h"

enum vb_err
reader_flush(struct reader *r)
{
    struct batch *full = r->batch;
    if (!full->n && !full->n_visits)
        return VB_OK;
    for (size_t i = 0; i < r->visit.n_seen; i++)
        r->in_batch[r->visit.seen[i]] = FLUSHED;
    enum vb_err e =
        writer_give(&r->writer, full, r->m); // from here on the spare one is idle
    r->batch = r->spare;
    r->spare = full;
    r->batch->n = r->batch->n_visits = 0;
    return e;
}

enum vb_err
reader_sync(struct reader *r)
{
    enum vb_err e = reader_flush(r);
    return e ? e : writer_wait(&r->writer, r->m);
}

static int
refuse_cell(struct reader *r, size_t col, const char *what)
{
    char q[64];
    struct vb_text t = feed_cell(r->f, col);
    load_refuse(r->ld, r->f, r->f->def->col[col].name, "%s '%s'", what,
                vb_quote(t.s, t.n, q, sizeof q));
    return 0;
}

/* A blank cell has nothing to show. */
static int
refuse_row(struct reader *r, size_t col, const char *what)
{
    load_refuse(r->ld, r->f, r->f->def->col[col].name, "%s", what);
    return 0;
}

static int
take_number(struct reader *r, size_t col, const struct vb_unit *unit, double *v)
{
    struct vb_text t = feed_cell(r->f, col);
    struct vb_dec d;
    *v = NAN;
    if (!t.n)
        return 1;
    enum vb_err e = vb_dec_parse(t.s, t.n, '.', 0, &d);
    if (e == VB_ERANGE && !unit && !vb_double_parse(t.s, t.n, v))
        return 1;
    if (!e && unit)
        e = vb_unit_convert(unit, d, &d);
    if (e)
        return refuse_cell(r, col, "bad number");
    *v = vb_dec_double(d);
    return 1;
}

static int
refuse_quantity(struct reader *r, struct vb_text t)
{
    char q[40], words[VB_WORDS_MAX];
    load_refuse(r->ld, r->f, "quantity", "unknown quantity '%s'; known are %s",
                vb_quote(t.s, t.n, q, sizeof q), vb_quantity_words(words, sizeof words));
    return 0;
}

/* A sheet may name valves as another family does: without an index, or with one. */
static int
refuse_valve(struct reader *r, struct vb_valve v)
{
    struct vb_valve other = {v.cyl, v.side, v.index ? 0 : 1};
    const char *why = "this family has no valve";
    if (v.index < 2 && vb_family_has(r->engine->family, other))
        why = v.index ? "this family has one valve a side: no index in"
                      : "which valve of its side? An index is missing in";
    return refuse_cell(r, R_AT, why);
}

/* What is read, and where; 0 after it has been refused. */
static int
take_quantity(struct reader *r, enum vb_err *e)
{
    struct vb_text q = feed_cell(r->f, R_QUANTITY), at = feed_cell(r->f, R_AT);
    struct reading_now *now = &r->now;
    struct vb_valve v;
    if (!now->quantity || !vb_text_is(q, now->quantity->name))
        now->quantity = vb_quantity_find(q.s, q.n);
    if (!now->quantity)
        return refuse_quantity(r, q);
    int valve = now->quantity->at == VB_AT_VALVE;
    if (!valve && vb_quantity_at(now->quantity, at.s, at.n, now->at))
        return refuse_cell(r, R_AT, "bad place");
    if (valve && vb_valve_parse(at.s, at.n, &v))
        return refuse_cell(r, R_AT, "unknown valve");
    if (valve && !r->ld->l->withdraw && !vb_family_has(r->engine->family, v))
        return refuse_valve(r, v);
    if (valve)
        vb_valve_format(v, now->at);
    *e = place_of(r, now->quantity, valve ? &v : NULL, now->at, &now->in.place);
    return !*e;
}

static int
take_values(struct reader *r)
{
    struct vb_text u = feed_cell(r->f, R_UNIT);
    struct incoming *in = &r->now.in;
    const struct vb_quantity *q = r->now.quantity;
    const struct vb_unit *own = vb_unit_of(q->dim), *unit = own;
    if (!vb_text_is(u, own->name))
        unit = vb_unit_find(u.s, u.n);
    if (!unit || unit->dim != own->dim)
        return u.n ? refuse_cell(r, R_UNIT, "unit does not fit:")
                   : refuse_row(r, R_UNIT, "no unit");
    if (unit == own)
        unit = NULL; // nothing to convert
    if (!take_number(r, R_FOUND, unit, &in->v[0]) ||
        !take_number(r, R_LEFT, unit, &in->v[1]) ||
        !take_number(r, R_U, unit, &in->v[2]) || !take_number(r, R_TEMP, NULL, &in->v[3]))
        return 0;
    if (isnan(in->v[0]) && isnan(in->v[1]))
        return refuse_row(r, R_FOUND, "neither found nor left is filled");
    for (size_t i = 0; i < 2; i++)
        if (!vb_quantity_credible(q, in->v[i]))
            return refuse_cell(r, i ? R_LEFT : R_FOUND, "no credible value");
    return in->v[2] <= 0 ? refuse_cell(r, R_U, "an uncertainty is above zero, not") : 1;
}

/* Two halves of one reading within a visit that is still in memory. */
static int
merge_in_batch(struct incoming *to, const struct incoming *from)
{
    for (int i = 0; i < N_VALUES; i++)
        if (!isnan(from->v[i]) && !isnan(to->v[i]) && from->v[i] != to->v[i])
            return 0;
    if (from->origin != to->origin)
        return 0;
    for (int i = 0; i < N_VALUES; i++)
        if (isnan(to->v[i]))
            to->v[i] = from->v[i];
    to->line = line_of_two(to->line, from->line);
    return 1;
}

/*
 * Rows of a visit that was not in the book before go into the batch unseen, unless this
 * very load brought the same place already.
 */
static enum vb_err
put(struct reader *r)
{
    struct visit_now *v = &r->visit;
    uint16_t *at = &r->in_batch[r->now.in.place];
    if (!v->fresh || v->n_seen == VISIT_MAX) {
        v->fresh = 0;
        return row_meet(r);
    }
    if (*at && *at != FLUSHED && merge_in_batch(&r->batch->row[*at - 1], &r->now.in))
        return VB_OK;
    if (*at)
        return row_meet(r);
    if (r->batch->n == BATCH) {
        enum vb_err e = reader_flush(r);
        if (e)
            return e;
    }
    r->engine->changed = 1;
    r->batch->row[r->batch->n++] = r->now.in;
    *at = (uint16_t)r->batch->n;
    v->seen[v->n_seen++] = (uint16_t)r->now.in.place;
    return VB_OK;
}

static int
take_line(struct reader *r)
{
    struct vb_text line = feed_cell(r->f, R_LINE);
    struct vb_dec d = {0, 0};
    if (line.n && (vb_dec_parse(line.s, line.n, '.', 0, &d) || d.scale || d.mant < 0))
        return refuse_cell(r, R_LINE, "bad number");
    r->now.in.line = line.n ? d.mant : -1;
    return 1;
}

/* Bytes of what a reading comes with. Quotes are doubled in a cell of the history and, in
 * the source, which is joined with the line first, twice. */
static size_t
texts_length(const struct feed *f, int quoted)
{
    static const size_t column[] = {R_GAUGE, R_BY, R_NOTE, R_SOURCE};
    size_t n = 0;
    for (size_t i = 0; i < sizeof column / sizeof *column; i++) {
        struct vb_text t = feed_cell(f, column[i]);
        n += t.n;
        for (size_t k = 0; quoted && k < t.n; k++)
            if (t.s[k] == '"')
                n += column[i] == R_SOURCE ? 3 : 1;
    }
    return n;
}

/* All of it must fit into one cell of the history, should the reading be withdrawn, beside
 * three numbers, a line and their quotes. */
static int
texts_fit(struct reader *r)
{
    size_t room = MAX_CELL - 4 * VB_NUM_MAX - 32;
    if (texts_length(r->f, 0) < room / 4 || texts_length(r->f, 1) < room)
        return 1;
    load_refuse(r->ld, r->f, NULL, "gauge, by, note and source are longer than %d bytes",
                MAX_CELL);
    return 0;
}

static enum vb_err
take_row(struct reader *r)
{
    int gone = 0;
    enum vb_err e = visit_of_row(r);
    if (e)
        return e;
    if (!r->visit.ok && !r->visit.withdrawn)
        return visit_refuse(r);
    if (!take_quantity(r, &e) || !take_values(r) || !take_line(r))
        return e;
    if (r->ld->l->withdraw)
        return row_withdraw(r);
    if (!texts_fit(r))
        return VB_OK;
    int again = r->ld->l->correct; // it is taken in again, unless it is refused
    if (again && r->visit.ok && (e = visit_settle(r)))
        return e;
    if (r->visit.withdrawn && ((e = leave_withdrawn(r, &gone)) || gone))
        return e;
    if (!again && r->visit.ok && (e = visit_settle(r)))
        return e;
    if (!r->visit.ok)
        return visit_refuse(r);
    r->now.in.visit = r->visit.id;
    e = origin_of_row(r, &r->now.in.origin);
    if (!e)
        e = put(r);
    r->visit.kept = 1;
    return e;
}

static enum vb_err
broken(struct reader *r, const char *why)
{
    vb_msg_at(r->m, vb_csv_name(r->f->csv), r->f->row.line, NULL);
    vb_msg_set(r->m, "%s; nothing was loaded", why);
    return VB_ESYNTAX;
}

/* The last row says how many there were and what they summed up to. */
static enum vb_err
check_end(struct reader *r)
{
    struct vb_row after = {0};
    char want[16];
    unsigned long long rows = 0;
    struct vb_text n = feed_cell(r->f, R_FOUND), crc = feed_cell(r->f, R_NOTE);
    struct vb_dec d = {-1, 0};
    uint32_t sum = vb_csv_crc(r->f->csv, &r->f->row);
    if (!vb_dec_parse(n.s, n.n, '.', 0, &d) && !d.scale && d.mant >= 0)
        rows = (unsigned long long)d.mant;
    if (d.mant < 0 || rows != r->rows)
        return broken(r, "the end row counts other rows than there are");
    snprintf(want, sizeof want, "%08lx", (unsigned long)sum);
    if (!vb_text_is(crc, want))
        return broken(r, "the end row's checksum is another: the stream was changed");
    if (vb_csv_next(r->f->csv, &after, r->m) != VB_EEND)
        return broken(r, "rows behind the end row");
    return VB_OK;
}

static enum vb_err
take_rows(struct reader *r)
{
    enum vb_err e;
    while (!(e = load_next(r->ld, r->f))) {
        if (vb_text_is(feed_cell(r->f, R_QUANTITY), "end") && !r->ld->l->no_end)
            return check_end(r);
        if (vb_text_is(feed_cell(r->f, R_QUANTITY), "end"))
            continue; // a stream that was filtered on its way: its end row no longer fits
        r->rows++;
        if ((e = take_row(r)))
            return e;
    }
    if (e != VB_EEND)
        return e;
    return r->ld->l->no_end
               ? VB_OK
               : broken(r, "no end row: the stream was cut short (--no-end for a "
                           "table made by hand)");
}

static enum vb_err
prepare(struct reader *r)
{
    const struct {
        sqlite3_stmt **s;
        const char *sql;
    } all[] = {
        {&r->writer.flush,
         "INSERT OR ROLLBACK INTO reading(reading, found, left, u, temp_c, origin, line)"
         " SELECT * FROM incoming"},
        {&r->writer.flush_visits,
         "INSERT OR ROLLBACK INTO visits SELECT * FROM incoming_visits"},
        {&r->writer.top, "SELECT coalesce(max(reading), 0) FROM reading"},
        {&r->find_visit, "SELECT visit, meter FROM visits WHERE engine = ? AND date = ?"},
        {&r->find_origin,
         "SELECT origin FROM origins WHERE source = ? AND gauge = ? AND by = ?"
         " AND note = ?"},
        {&r->add_origin, "INSERT INTO origins(source, gauge, by, note) VALUES(?,?,?,?)"},
        {&r->find_place, "SELECT place FROM places WHERE quantity = ? AND at = ?"},
        {&r->add_place, "INSERT INTO places(quantity, at) VALUES(?,?)"},
        {&r->find_row,
         "SELECT found, left, u, temp_c, origin, line, source, gauge, by, note"
         " FROM reading JOIN origins USING(origin) WHERE reading = ?"},
        {&r->update_row,
         "UPDATE reading SET found = ?, left = ?, u = ?, temp_c = ?, origin = ?,"
         " line = ? WHERE reading = ?"},
        {&r->add_row, "INSERT INTO reading(reading, found, left, u, temp_c, origin, line)"
                      " VALUES(?,?,?,?,?,?,?)"},
    };
    enum vb_err e =
        incoming_register(r->b->db, &r->writer.work) ? db_fail(r->b, r->m) : VB_OK;
    for (size_t i = 0; !e && i < sizeof all / sizeof *all; i++)
        e = db_prepare(r->b, all[i].sql, all[i].s, r->m);
    return e;
}

static enum vb_err
begin(struct reader *r)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e = prepare(r);
    if (!e)
        e = places_read(r);
    if (!e)
        e = engines_read(r);
    if (!e)
        e = db_prepare(
            r->b,
            "SELECT coalesce(max(visit), 0) + 1, EXISTS(SELECT 1 FROM history"
            " WHERE \"table\" = 'readings' AND key LIKE '%,meter'), EXISTS(SELECT 1 FROM"
            " history WHERE \"table\" = 'readings' AND new = '') FROM visits",
            &s, r->m);
    if (!e && sqlite3_step(s) != SQLITE_ROW)
        e = db_fail(r->b, r->m);
    if (!e) {
        r->next_visit = sqlite3_column_int64(s, 0);
        r->corrected = sqlite3_column_int(s, 1);
        r->withdrawn = sqlite3_column_int(s, 2);
    }
    sqlite3_finalize(s);
    if (!e && r->next_visit > VISIT_TOP)
        e = db_damaged(r->b, r->m);
    r->writer.b = r->b;
    return e ? e : writer_start(&r->writer);
}

static void
finish(struct reader *r)
{
    writer_stop(&r->writer);
    sqlite3_stmt *all[] = {
        r->writer.flush, r->writer.flush_visits, r->writer.top, r->find_visit,
        r->find_origin,  r->add_origin,          r->find_place, r->add_place,
        r->find_row,     r->update_row,          r->add_row};
    for (size_t i = 0; i < sizeof all / sizeof *all; i++)
        sqlite3_finalize(all[i]);
    engines_free(r);
    free(r->valve_place);
    free(r->in_batch);
    free(r->batch);
    free(r->spare);
    free(r);
}

enum vb_err
reading_load(struct loader *ld, struct feed *f)
{
    struct reader *r = calloc(1, sizeof *r);
    if (!r)
        return VB_EMEM;
    r->ld = ld;
    r->f = f;
    r->b = ld->b;
    r->m = ld->m;
    r->batch = calloc(1, sizeof *r->batch);
    r->spare = calloc(1, sizeof *r->spare);
    enum vb_err e = r->batch && r->spare ? begin(r) : VB_EMEM;
    if (!e)
        e = take_rows(r);
    visit_count(r);
    if (!e)
        e = visit_leave(r);
    if (!e)
        e = reader_sync(r);
    if (!e)
        e = engines_stale(r);
    finish(r);
    return e;
}
