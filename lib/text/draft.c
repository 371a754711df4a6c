#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "draft.h"
#include "valvebook/tidy.h"

#define ORDER_LEN (VB_ORDER_MAX * 5) // "64E " and to spare

/* The first bytes of an export, unpacked; *cut when there are more. */
static enum vb_err
read_raw(const char *path, char *raw, size_t *n, int *cut, struct vb_msg *m)
{
    struct vb_input *in;
    size_t got = 1;
    enum vb_err e = vb_input_open(path, "", &in, m);
    if (e)
        return e;
    for (*n = 0; !e && got && *n < DRAFT_BYTES; *n += got)
        e = vb_input_read(in, raw + *n, DRAFT_BYTES - *n, &got, m);
    *cut = *n == DRAFT_BYTES;
    vb_input_close(in);
    return e;
}

static int
has_number(const struct draft *d, const struct draft_row *r)
{
    struct vb_text rest;
    double x;
    for (size_t i = 0; i < r->n; i++)
        if (draft_number(&d->shape, r->cell[i], &x, &rest) && !draft_is_date(r->cell[i]))
            return 1;
    return 0;
}

/* Without a heading the table begins with the first row that has numbers. */
static void
find_first(struct draft *d)
{
    int score;
    d->heading = draft_heading(&d->sample, &score);
    d->first = d->heading == NO_ROW ? 0 : d->heading + 1;
    while (d->heading == NO_ROW && d->first + 1 < d->sample.n &&
           !has_number(d, &d->sample.row[d->first]))
        d->first++;
}

/* A heading names its column unless it is blank, looks like a number, or is shared. */
static void
name_column(struct draft *d, size_t i, const struct draft_row *r)
{
    char norm[256], other[256];
    struct draft_col *c = &d->col[i];
    c->head = d->heading == NO_ROW ? (struct vb_text){"", 0} : vb_text_trim(r->cell[i]);
    vb_heading_norm(c->head, norm, sizeof norm);
    if (!*norm || *norm == '#')
        c->number = i + 1;
    for (size_t k = 0; k < i && !c->number; k++) {
        vb_heading_norm(d->col[k].head, other, sizeof other);
        if (strcmp(norm, other) == 0)
            c->number = i + 1, d->col[k].number = k + 1;
    }
}

static enum vb_err
lay_columns(struct draft *d)
{
    const struct draft_row *r =
        &d->sample.row[d->heading == NO_ROW ? d->first : d->heading];
    d->n_cols = r->n;
    d->col = calloc(d->n_cols + 1, sizeof *d->col);
    d->scratch = calloc(d->sample.n, sizeof *d->scratch);
    if (!d->col || !d->scratch)
        return VB_EMEM;
    for (size_t i = 0; i < d->n_cols; i++)
        name_column(d, i, r);
    return VB_OK;
}

static enum vb_err
guess(struct draft *d, const char *raw, size_t n, int cut, struct vb_msg *m)
{
    enum vb_err e = draft_shape(raw, n, cut, d);
    if (e)
        return e;
    vb_msg_set(m, n ? "nothing in it looks like a table of readings" : "empty");
    if (d->sample.n == 0)
        return VB_ESYNTAX;
    find_first(d);
    if ((e = lay_columns(d)))
        return e;
    draft_totals(&d->sample);
    draft_units_row(d);
    draft_remarks(d);
    draft_preamble(d);
    if ((e = draft_columns(d, m)))
        return e;
    draft_layout(d);
    return VB_OK;
}

static void
put(struct vb_out *o, const char *const *cell)
{
    vb_out_words(o, cell, 8);
}

static void
put_setting(struct vb_out *o, const char *name, const char *value, const char *why)
{
    put(o, (const char *const[]){"", name, "", "", "", "", value, why});
}

static void
put_totals(struct vb_out *o, const struct draft *d)
{
    size_t given[16], n = 0;
    for (size_t r = 0; r < d->sample.n && n < 16; r++) {
        struct vb_text t = {NULL, 0};
        int known = 0;
        if (r < d->first || !d->sample.row[r].total)
            continue;
        for (size_t i = 0; i < d->sample.row[r].n && !t.n; i++)
            t = vb_text_trim(d->sample.row[r].cell[i]);
        for (size_t k = 0; k < n && !known; k++)
            known = vb_text_eq(t, d->scratch[given[k]]);
        if (known)
            continue;
        d->scratch[n] = t;
        given[n] = n;
        n++;
        char word[128], why[64];
        if (t.n >= sizeof word)
            continue;
        memcpy(word, t.s, t.n);
        word[t.n] = 0;
        snprintf(why, sizeof why, "line %llu is no reading of its own",
                 d->sample.row[r].line);
        put_setting(o, "totals", word, why);
    }
}

static const char *
mark_word(char mark)
{
    switch (mark) {
    case ',': return "comma";
    case ' ': return "space";
    case '\'': return "apostrophe";
    default: return "point";
    }
}

/* What no column and no line above the heading says has to come from the command line. */
static void
say_missing(const struct draft *d, char *why, size_t size)
{
    int engine = !d->has[VB_MEANS_ENGINE] && !d->constant[VB_MEANS_ENGINE].value[0];
    int date = !d->has[VB_MEANS_DATE] && !d->constant[VB_MEANS_DATE].value[0];
    size_t n = strlen(why);
    if (engine || date)
        snprintf(why + n, size - n, "; NEEDED, since nothing in the sheet says it:%s%s",
                 engine ? " --set engine=..." : "", date ? " --set date=..." : "");
}

static void
put_heading(struct vb_out *o, const struct draft *d)
{
    char why[DRAFT_WHY], num[24];
    size_t skip = draft_skip(d);
    if (d->heading == NO_ROW)
        snprintf(why, sizeof why, "no row looks like one");
    else
        snprintf(why, sizeof why, "line %llu looks like one",
                 d->sample.row[d->heading].line);
    say_missing(d, why, sizeof why);
    put_setting(o, "heading", d->heading == NO_ROW ? "no" : "yes", why);
    snprintf(num, sizeof num, "%zu", skip);
    if (skip)
        put_setting(o, "skip", num,
                    "the table would not be found below these lines otherwise");
    if (d->units_row)
        put_setting(o, "units_row", "yes", "the line under the heading holds units");
}

static void
put_layout(struct vb_out *o, const struct draft *d)
{
    const struct {
        const char *name;
        const struct draft_const *is;
    } all[] = {
        {"remark", &d->remark}, {"short_rows", &d->short_rows}, {"merged", &d->merged}};
    for (size_t i = 0; i < sizeof all / sizeof *all; i++)
        if (all[i].is->value[0])
            put_setting(o, all[i].name, all[i].is->value, all[i].is->why);
}

static void
put_settings(struct vb_out *o, const struct draft *d)
{
    const struct draft_shape *s = &d->shape;
    char num[32];
    put_setting(o, "encoding", s->encoding, s->why_encoding);
    put_setting(o, "delimiter", s->delim_word, s->why_delim);
    put_setting(o, "decimal", mark_word(s->decimal), s->why_decimal);
    if (s->group)
        put_setting(o, "group", mark_word(s->group), s->why_group);
    put_heading(o, d);
    put_totals(o, d);
    put_layout(o, d);
    snprintf(num, sizeof num, "%.4f", d->agree);
    if (d->agree > 0)
        put_setting(o, "agree", num,
                    "mm; a reading given in two units is rounded in the coarser one");
    if (d->lift.value[0])
        put_setting(o, "checking_lift", d->lift.value, d->lift.why);
    for (size_t i = VB_MEANS_ENGINE; i < VB_MEANS_READING; i++)
        if (d->constant[i].value[0] && !d->has[i] &&
            (i != VB_MEANS_METER_UNIT || !d->has[VB_MEANS_METER]))
            put_setting(o, vb_means_name((enum vb_means)i), d->constant[i].value,
                        d->constant[i].why);
}

static void
put_column(struct vb_out *o, const struct draft_col *c)
{
    char number[24], at[VB_VALVE_MAX] = "";
    struct vb_text name = c->head;
    int reading = c->means == VB_MEANS_READING;
    const char *format = reading
                             ? (c->pair == VB_PAIR_GO       ? "go"
                                : c->pair == VB_PAIR_NOGO   ? "no-go"
                                : c->pair == VB_PAIR_BOTH   ? "go/no-go"
                                : c->pair == VB_PAIR_STATES ? "found/left"
                                                            : "")
                             : (c->means == VB_MEANS_DATE && c->format ? c->format : "");
    if (c->silent)
        return;
    if (c->number)
        name = (struct vb_text){
            number, (size_t)snprintf(number, sizeof number, "#%zu", c->number)};
    if (reading)
        vb_valve_format(c->at, at);
    const char *const cell[] = {reading && c->quantity ? c->quantity->name
                                                       : vb_means_name(c->means),
                                c->unit ? c->unit->name : "",
                                at,
                                !reading          ? ""
                                : c->state == 'f' ? "found"
                                : c->state == 'l' ? "left"
                                                  : "",
                                format,
                                "",
                                c->why};
    vb_out_cell(o, name.s, name.n);
    vb_out_words(o, cell, 7);
}

/* The words of a state column that valve-tidy does not know of itself, each once. */
static void
put_states(struct vb_out *o, const struct draft *d, size_t i)
{
    static const struct vb_recipe none = {0};
    size_t n = 0;
    for (size_t r = d->first; r < d->sample.n && n < 64; r++) {
        struct draft_head h;
        int known = 0;
        if (!draft_is_data(d, r) || i >= d->sample.row[r].n)
            continue;
        struct vb_text t = vb_text_trim(d->sample.row[r].cell[i]);
        for (size_t k = 0; k < n && !known; k++)
            known = vb_text_eq(t, d->scratch[k]);
        draft_words(t, &h);
        if (known || !t.n || t.n > 24 || vb_state_find(&none, t) || !h.state || h.unknown)
            continue;
        d->scratch[n++] = t;
        char word[32];
        memcpy(word, t.s, t.n);
        word[t.n] = 0;
        put(o, (const char *const[]){
                   "state", "state", "", "", h.state == 'f' ? "found" : "left", "", word,
                   h.flags & D_SOLL
                       ? "UNCERTAIN: it may be a target rather than what was left"
                       : "a word of the column of states"});
    }
}

/* Two valves a cylinder is the commonest engine, and found the commonest reading. */
static void
put_order(struct vb_out *o, const struct draft *d)
{
    char order[ORDER_LEN] = "", why[DRAFT_WHY];
    size_t n = 0, len = 0;
    for (size_t r = d->first; r < d->sample.n; r++)
        n += draft_is_data(d, r) ? 1 : 0;
    for (size_t i = 0; i < n && n <= VB_ORDER_MAX; i++)
        len += (size_t)snprintf(order + len, sizeof order - len, "%s%zu%c", i ? " " : "",
                                i / 2 + 1, i % 2 ? 'E' : 'I');
    if (!len)
        return;
    snprintf(
        why, sizeof why,
        "CHECK: %zu numbers%s, named by a guess at the order they were measured in; "
        "--set order=... names them rightly, --set passes='found left' takes two rounds",
        n, n % 2 ? " (ODD: one cylinder lacks a valve)" : "");
    say_missing(d, why, sizeof why);
    put_setting(o, "order", order, why);
}

static void
put_recipe(struct vb_out *o, const struct draft *d)
{
    put(o, (const char *const[]){"column", "means", "unit", "at", "state", "format",
                                 "value", "why"});
    put_settings(o, d);
    for (size_t i = 0; i < d->n_cols; i++) {
        put_column(o, &d->col[i]);
        if (d->col[i].means == VB_MEANS_STATE)
            put_states(o, d, i);
    }
    if (d->ordered)
        put_order(o, d);
}

enum vb_err
vb_draft(const char *path, struct vb_out *out, struct vb_msg *m)
{
    struct draft *d = calloc(1, sizeof *d);
    char *raw = malloc(DRAFT_BYTES);
    size_t n = 0;
    int cut = 0;
    enum vb_err e = d && raw ? read_raw(path, raw, &n, &cut, m) : VB_EMEM;
    if (!e) {
        vb_msg_at(m, strcmp(path, "-") ? path : "stdin", 0, NULL);
        e = guess(d, raw, n, cut, m);
    }
    if (!e) {
        vb_msg_clear(m);
        put_recipe(out, d);
    }
    if (d) {
        draft_sample_clear(&d->sample);
        free(d->col);
        free(d->scratch);
    }
    free(d);
    free(raw);
    return e;
}
