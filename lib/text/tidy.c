#include "valvebook/tidy.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tidy_impl.h"

static const char *const readings_heading[] = {
    "engine", "date", "meter",  "meter_unit", "quantity", "at",   "found",  "left",
    "unit",   "u",    "temp_c", "gauge",      "by",       "note", "source", "line"};
static const char *const rejects_heading[] = {"source", "line", "column", "reason",
                                              "row"};

enum vb_err
vb_tidy_new(const struct vb_recipe *r, struct vb_out *out, struct vb_out *rejects,
            vb_tell *tell, void *arg, struct vb_tidy **t)
{
    struct vb_tidy *n = calloc(1, sizeof *n);
    if (!n)
        return VB_EMEM;
    n->r = r;
    if (merged_new(n)) {
        free(n);
        return VB_EMEM;
    }
    n->out = out;
    n->rejects = rejects;
    n->tell = tell;
    n->arg = arg;
    vb_out_words(out, readings_heading,
                 sizeof readings_heading / sizeof *readings_heading);
    if (rejects)
        vb_out_words(rejects, rejects_heading,
                     sizeof rejects_heading / sizeof *rejects_heading);
    *t = n;
    return VB_OK;
}

void
vb_tidy_free(struct vb_tidy *t)
{
    if (!t)
        return;
    plan_clear(&t->plan);
    merged_free(t);
    plain_free(&t->plain);
    free(t);
}

unsigned long long
vb_tidy_refused(const struct vb_tidy *t)
{
    return t->refused;
}

/* Whole ones, and that there are more. */
static void
add_reason(struct vb_tidy *t, const char *text)
{
    static const char more[] = "; ...";
    size_t used = strlen(t->why), room = sizeof t->why - used - sizeof more;
    if (t->more)
        return;
    t->more = used && strlen(text) + 2 > room;
    snprintf(t->why + used, sizeof t->why - used, "%s%s", used && !t->more ? "; " : "",
             t->more ? more : text);
}

void
tidy_refuse(struct vb_tidy *t, size_t col, const char *fmt, ...)
{
    struct vb_msg m = {0};
    char text[sizeof m.text];
    va_list ap;
    va_start(ap, fmt);
    vsnprintf(text, sizeof text, fmt, ap);
    va_end(ap);
    // a bad cell may stand behind the last heading, NO_COL behind all
    const char *name = col < t->plan.n_cols ? t->plan.name[col] : "";
    vb_msg_at(&m, t->file, t->row.line, name);
    vb_msg_set(&m, "%s", text);
    t->tell(t->arg, &m);
    if (!t->why[0])
        memcpy(t->why_column, m.column, sizeof t->why_column);
    add_reason(t, m.text);
}

void
tidy_settle(struct vb_tidy *t)
{
    char num[24];
    if (!t->why[0])
        return;
    t->refused++;
    if (t->rejects) {
        snprintf(num, sizeof num, "%llu", t->row.line);
        vb_out_cell(t->rejects, t->source, strlen(t->source));
        vb_out_cell(t->rejects, num, strlen(num));
        vb_out_cell(t->rejects, t->why_column, strlen(t->why_column));
        vb_out_cell(t->rejects, t->why, strlen(t->why));
        vb_out_cell(t->rejects, t->row.raw.s, t->row.raw.n);
        vb_out_end(t->rejects);
    }
    t->why[0] = 0;
    t->more = 0;
}

static void
put(struct vb_out *o, const char *s)
{
    vb_out_plain(o, s, strlen(s));
}

static void
put_value(struct vb_out *o, const struct value *v)
{
    char num[VB_NUM_MAX];
    vb_out_plain(o, num, v->present ? vb_dec_format(v->dec, num) : 0);
}

static void
put_number(struct vb_out *o, unsigned long long v)
{
    char buf[24], *p = buf + sizeof buf;
    do
        *--p = (char)('0' + v % 10);
    while ((v /= 10) > 0);
    vb_out_plain(o, p, (size_t)(buf + sizeof buf - p));
}

/* The uncertainty of a row: that of the wider of its two values, or what the row says of
 * readings of this kind, if that is more: a hand adds to what blades leave open. */
static void
put_u(struct vb_out *o, const struct value *found, const struct value *left, double row_u)
{
    char num[VB_NUM_MAX] = "";
    double u = found->present ? found->u : 0;
    if (left->present && left->u > u)
        u = left->u;
    if (row_u > u)
        u = row_u;
    if (u > 0)
        snprintf(num, sizeof num, "%.6g", u);
    put(o, num);
}

/*
 * Write n cells and keep the bytes they came to. Of long ones the buffer may have written
 * some to the file already, and hold the end of them just where they began.
 */
static void
put_piece(struct vb_out *o, struct piece *p, const struct vb_text *cell, size_t n)
{
    size_t at = o->n, length = 0;
    for (size_t i = 0; i < n; i++) {
        vb_out_cell(o, cell[i].s, cell[i].n);
        length += cell[i].n;
    }
    p->n = 0;
    if (length <= sizeof p->text && o->n > at && o->n - at <= sizeof p->text) {
        p->n = o->n - at;
        memcpy(p->text, o->buf + at, p->n);
    }
}

/* The same bytes as last time; 0 if they are not known, or may not fit. */
static int
put_again(struct vb_out *o, const struct piece *p)
{
    if (!p->n || o->n + p->n > VB_OUT_SIZE)
        return 0;
    memcpy(o->buf + o->n, p->text, p->n);
    o->n += p->n;
    o->first = 0;
    return 1;
}

static struct vb_text
text_of(const char *s)
{
    return (struct vb_text){s, strlen(s)};
}

static void
put_head(struct vb_tidy *t)
{
    const struct context *cx = &t->cx;
    if (put_again(t->out, &t->head))
        return;
    const struct vb_text head[] = {cx->engine, text_of(cx->date), text_of(cx->meter),
                                   text_of(cx->meter_unit)};
    put_piece(t->out, &t->head, head, 4);
}

static void
put_tail(struct vb_tidy *t)
{
    const struct context *cx = &t->cx;
    if (put_again(t->out, &t->tail))
        return;
    const struct vb_text tail[] = {cx->gauge, cx->by, cx->note, text_of(t->source)};
    put_piece(t->out, &t->tail, tail, 4);
}

void
tidy_emit(struct vb_tidy *t, const struct vb_quantity *q, const char *at,
          const struct value *found, const struct value *left)
{
    struct vb_out *o = t->out;
    const struct context *cx = &t->cx;
    if (!found->present && !left->present)
        return;
    put_head(t);
    put(o, q->name);
    put(o, at);
    put_value(o, found);
    put_value(o, left);
    put(o, vb_unit_of(q->dim)->name);
    put_u(o, found, left, cx->u_dim == q->dim ? cx->u : 0);
    put(o, cx->temp);
    put_tail(t);
    put_number(o, t->row.line);
    vb_out_end(o);
    t->readings++;
    if (t->cx.lift.present)
        t->cx.timed |= strcmp(q->name, "opens") == 0 || strcmp(q->name, "closes") == 0 ||
                       strcmp(q->name, "lift_tdc") == 0;
}

/* Does the row itself state a checking lift, be it one that was refused? */
static int
has_lift(const struct vb_tidy *t)
{
    for (size_t i = 0; i < t->plan.n_places; i++) {
        const struct place *p = &t->plan.place[i];
        const struct vb_quantity *q = p->rc->quantity ? p->rc->quantity : t->cx.quantity;
        if (q && strcmp(q->name, "checking_lift") == 0 && !cell_is_silent(t, p))
            return 1;
    }
    return 0;
}

/* Where the row itself states no checking lift, the recipe's is that of all it names. */
void
tidy_lift(struct vb_tidy *t)
{
    const struct value none = {0};
    char at[VB_VALVE_MAX];
    if (!t->cx.timed || has_lift(t))
        return;
    struct vb_valve v = t->cx.valve;
    if (!v.side) // it is that of a column
        v.index = 0;
    vb_valve_format(v, at);
    tidy_emit(t, vb_quantity_find("checking_lift", 13), at, &t->cx.lift, &none);
}

/* All readings of one place in this row. A bad cell costs that value only. */
static void
take_place(struct vb_tidy *t, const struct place *p)
{
    struct value v[N_SLOTS] = {{0}};
    char at[VB_AT_MAX], side;
    const struct vb_quantity *q = p->rc->quantity ? p->rc->quantity : t->cx.quantity;
    if (!q) {
        tidy_refuse(t, t->plan.field[VB_MEANS_QUANTITY], "no quantity");
        return;
    }
    if (!cell_valve(t, p, q, at, &side))
        return;
    for (int i = 0; i < N_SLOTS; i++)
        if (!cell_slot(t, &p->slot[i], q, side, &v[i]))
            v[i].present = 0;
    if (v[SLOT_ROW].present) {
        struct value *to = &v[t->cx.state == 'l' ? SLOT_LEFT : SLOT_FOUND];
        if (to->present) {
            tidy_refuse(t, p->slot[SLOT_ROW].col[0],
                        "a second value for the same reading");
            return;
        }
        *to = v[SLOT_ROW];
    }
    tidy_emit(t, q, at, &v[SLOT_FOUND], &v[SLOT_LEFT]);
}

static int
is_total(const struct vb_tidy *t)
{
    struct vb_text s = {NULL, 0};
    for (size_t i = 0; i < t->row.n && !s.n; i++)
        s = vb_text_trim(t->row.cell[i]);
    for (size_t i = 0; i < t->r->n_totals; i++)
        if (vb_text_is(s, t->r->totals[i]))
            return 1;
    return 0;
}

static int
is_blank(const struct vb_tidy *t)
{
    for (size_t i = 0; i < t->row.n; i++)
        if (vb_text_trim(t->row.cell[i]).n)
            return 0;
    return 1;
}

/* Blank cells for those that are missing at the end of a row. */
static void
lengthen(struct vb_tidy *t)
{
    struct plan *p = &t->plan;
    for (size_t i = 0; i < p->n_cols; i++)
        p->cell[i] = i < t->row.n ? t->row.cell[i] : (struct vb_text){"", 0};
    t->row.cell = p->cell;
    t->row.n = p->n_cols;
}

/* Cells under no heading are allowed only when they are blank. */
static int
fits(struct vb_tidy *t)
{
    const struct plan *p = &t->plan;
    if (t->row.n < p->n_cols && t->r->short_rows)
        lengthen(t);
    if (t->row.n < p->n_cols) {
        tidy_refuse(t, NO_COL, VB_CELLS_WANTED, VB_CELLS(t->row.n), p->n_cols);
        return 0;
    }
    for (size_t i = 0; i < t->row.n; i++) {
        if ((i < p->n_cols && p->rc[i]) || !t->row.cell[i].n ||
            !vb_text_trim(t->row.cell[i]).n)
            continue;
        if (i < p->n_cols)
            tidy_refuse(t, NO_COL, "cell %zu stands under no heading", i + 1);
        else
            tidy_refuse(t, NO_COL, VB_CELLS_WANTED, VB_CELLS(t->row.n), p->n_cols);
        return 0;
    }
    return 1;
}

/* Rows that say nothing of their own. */
static int
is_passed_over(struct vb_tidy *t)
{
    int heading = t->r->heading && plan_is_heading(&t->plan, &t->row);
    if (heading && t->sections.means == VB_MEANS_IGNORE)
        t->sections.ends = 0; // the first table goes on
    if (heading || (!vb_text_trim(t->row.cell[0]).n && is_blank(t))) {
        merged_gap(t);
        return 1;
    }
    if (!t->r->n_totals || !is_total(t))
        return 0;
    merged_lose(t, 0);
    return 1;
}

/* A row as it is read: with what words of the shop stand for. Rows below it that take its cells
 * take them as they were written. */
static int
take_said(struct vb_tidy *t)
{
    const struct vb_text *written = t->row.cell;
    int ok = words_put(t) && cell_context(t);
    for (size_t i = 0; ok && i < t->plan.n_places; i++)
        take_place(t, &t->plan.place[i]);
    if (ok)
        tidy_lift(t);
    t->row.cell = written;
    return ok;
}

static enum vb_err
take_row(struct vb_tidy *t)
{
    enum vb_err e = VB_OK;
    int fit = 0;
    unsigned long long before = t->readings;
    if (is_passed_over(t))
        return VB_OK;
    if (t->sections.ends) {
        sections_refuse(t);
        merged_lose(t, 1);
    } else if (t->row.lines > 1 && t->row.n != t->plan.n_cols) {
        vb_csv_split(t->csv, &t->row);
        tidy_refuse(t, NO_COL, "unclosed quote");
        merged_lose(t, 1);
    } else if ((fit = fits(t)) && (!t->merged || merged_fill(t)) && take_said(t)) {
        e = t->merged ? merged_keep(t) : VB_OK;
    } else {
        merged_lose(t, !fit);
    }
    if (!t->sections.ends && (t->why[0] || t->readings == before))
        sections_look(t, &t->row, t->why[0] != 0);
    tidy_settle(t);
    return e;
}

/* A remark is one line, whatever quotes are in it. */
static int
is_remark(const struct vb_tidy *t, const struct vb_row *row)
{
    const char *s = row->raw.s, *end = s + row->raw.n, *mark = t->r->remark;
    size_t n = strlen(mark);
    while (s < end && *s == ' ')
        s++;
    s += s < end && *s == '"';
    while (s < end && *s == ' ')
        s++;
    return (size_t)(end - s) >= n && memcmp(s, mark, n) == 0;
}

enum vb_err
tidy_past_remarks(struct vb_tidy *t, struct vb_row *row, enum vb_err e, struct vb_msg *m)
{
    while ((!e || e == VB_ESYNTAX) && is_remark(t, row)) {
        if (row->lines > 1)
            vb_csv_split(t->csv, row);
        t->remarks++;
        if (row == &t->row && !t->sections.ends)
            sections_look(t, row, 0);
        else if (row != &t->row)
            sections_above(t, row);
        merged_pass(t, row);
        e = vb_csv_next(t->csv, row, m);
    }
    return e;
}

/* Remarks are told once, not one by one. */
static void
tell_remarks(struct vb_tidy *t)
{
    struct vb_msg m = {0};
    if (!t->remarks)
        return;
    vb_msg_at(&m, t->file, 0, NULL);
    vb_msg_set(&m, "%llu remark%s passed over", t->remarks, t->remarks == 1 ? "" : "s");
    t->tell(t->arg, &m);
}

static enum vb_err
take_rows(struct vb_tidy *t, struct vb_msg *m)
{
    enum vb_err e;
    while ((e = tidy_next(t, &t->row, m)) != VB_EEND) {
        if (t->merged)
            merged_begin(t);
        if (e == VB_ESYNTAX) {
            tidy_refuse(t, t->row.n ? t->row.bad : NO_COL, "%s", m->text);
            tidy_settle(t);
            merged_lose(t, 1);
        } else if (e || (e = take_row(t))) {
            return e;
        }
        if (t->merged)
            merged_end(t);
    }
    return VB_OK;
}

static void
forget(struct vb_tidy *t)
{
    plan_clear(&t->plan);
    memset(&t->row, 0, sizeof t->row);
    memset(&t->cx, 0, sizeof t->cx);
    t->why[0] = 0;
    t->more = 0;
    t->remarks = 0;
    memset(&t->sections, 0, sizeof t->sections);
    merged_forget(t);
    struct memo *all[] = {&t->engine_memo,     &t->date_memo, &t->meter_memo,
                          &t->meter_unit_memo, &t->temp_memo, &t->gauge_memo,
                          &t->by_memo,         &t->note_memo};
    for (size_t i = 0; i < sizeof all / sizeof *all; i++)
        all[i]->set = 0;
}

enum vb_err
vb_tidy_input(struct vb_tidy *t, struct vb_input *in, struct vb_msg *m)
{
    forget(t);
    enum vb_err e = vb_csv_new(in, t->r->delim, &t->csv);
    if (e)
        return e;
    t->file = vb_csv_name(t->csv);
    const char *slash = strrchr(t->file, '/');
    t->source = strdup(slash ? slash + 1 : t->file);
    e = t->source ? plan_find(t, m) : VB_EMEM;
    if (!e)
        e = t->r->n_order ? tidy_order(t, m) : take_rows(t, m);
    tell_remarks(t);
    free(t->source);
    t->source = NULL;
    vb_csv_free(t->csv);
    t->csv = NULL;
    return e;
}

enum vb_err
vb_tidy_file(struct vb_tidy *t, const char *path, struct vb_msg *m)
{
    struct vb_input *in;
    enum vb_err e = vb_input_open(path, t->r->encoding, &in, m);
    return e ? e : vb_tidy_input(t, in, m);
}

void
vb_tidy_end(struct vb_tidy *t)
{
    char count[24], crc[16];
    snprintf(count, sizeof count, "%llu", t->readings);
    snprintf(crc, sizeof crc, "%08lx", (unsigned long)vb_out_crc(t->out));
    const char *const row[] = {"", "", "", "", "end", "",  count, "",
                               "", "", "", "", "",    crc, "",    ""};
    vb_out_words(t->out, row, 16);
}
