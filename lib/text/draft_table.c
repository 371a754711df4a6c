/*
 * Where the table begins in the sheet, and what stands above it, under its heading and
 * between its rows.
 */
#include <stdio.h>
#include <string.h>

#include "draft.h"
#include "valvebook/date.h"

#define HEADING_WITHIN 64 // records in which valve-tidy itself looks for the heading

static int
is_number(struct vb_text t)
{
    static const struct draft_shape point = {.decimal = '.', .group = ','};
    static const struct draft_shape comma = {.decimal = ',', .group = '.'};
    struct vb_text rest;
    double x;
    return draft_number(&point, t, &x, &rest) || draft_number(&comma, t, &x, &rest);
}

/* What parts a key from its value in one cell, "Engine: HC-2"; NULL if nothing does. */
static const char *
parting(struct vb_text t)
{
    const char *colon = t.n ? memchr(t.s, ':', t.n) : NULL;
    return colon || !t.n ? colon : memchr(t.s, '=', t.n);
}

static int
rate_cell(struct vb_text t)
{
    struct draft_head h;
    t = vb_text_trim(t);
    if (!t.n)
        return 0;
    if (draft_is_date(t))
        return -3;
    if (is_number(t))
        return -2;
    const char *colon = parting(t);
    if (t.n > 60 || (colon && colon + 1 < t.s + t.n))
        return 0;
    draft_words(t, &h);
    if (h.unknown > 2)
        return 0;
    if (h.flags & ~(unsigned)(D_SIDE | D_IN | D_LETTER_C | D_LETTER_F | D_NO))
        return 3;
    return h.flags & D_SIDE ? 1 : 0;
}

/* Rows of the same width with numbers in them make a heading of the row above. */
static int
rate_below(const struct draft_sample *s, size_t at)
{
    int bonus = 0;
    for (size_t i = at + 1; i < s->n && i <= at + 5; i++) {
        int numbers = 0;
        for (size_t k = 0; k < s->row[i].n && !numbers; k++)
            numbers = is_number(s->row[i].cell[k]);
        bonus += s->row[i].n == s->row[at].n && numbers;
    }
    return bonus;
}

static int
rate_row(const struct draft_sample *s, size_t at)
{
    const struct draft_row *r = &s->row[at];
    size_t filled = 0;
    int score = 0;
    for (size_t i = 0; i < r->n && score < 1000; i++) {
        filled += vb_text_trim(r->cell[i]).n > 0;
        score += rate_cell(r->cell[i]);
    }
    if (filled * 2 < r->n)
        score -= 4;
    return score < 1 ? score : score + rate_below(s, at);
}

size_t
draft_heading(const struct draft_sample *s, int *score)
{
    size_t best = NO_ROW;
    *score = 0;
    for (size_t i = 0; i < s->n && i < 200; i++) {
        int now = rate_row(s, i);
        if (now > *score) {
            *score = now;
            best = i;
        }
    }
    return best;
}

static int
same_row(const struct draft_row *a, const struct draft_row *b)
{
    for (size_t i = 0; i < a->n && i < b->n; i++)
        if (!vb_text_eq(vb_text_trim(a->cell[i]), vb_text_trim(b->cell[i])))
            return 0;
    return a->n == b->n;
}

int
draft_is_data(const struct draft *d, size_t row)
{
    const struct draft_row *r = &d->sample.row[row];
    return row >= d->first && !r->total &&
           (d->heading == NO_ROW || !same_row(r, &d->sample.row[d->heading]));
}

static int
is_total_word(struct vb_text t)
{
    static const char *const words[] = {
        "total",        "totals",  "sum",     "sums",   "summe",      "gesamt",
        "mean",         "average", "avg",     "mittel", "mittelwert", "minimum",
        "maximum",      "min",     "max",     "median", "schnitt",    "subtotal",
        "durchschnitt", "std.dev", "average:"};
    char key[24];
    size_t n = 0;
    while (n < t.n && n < sizeof key && t.s[n] != ' ' && t.s[n] != ':')
        n++;
    if (n == 0 || n >= sizeof key)
        return 0;
    vb_heading_norm((struct vb_text){t.s, n}, key, sizeof key);
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcmp(words[i], key) == 0)
            return 1;
    return 0;
}

/* A row with a date is a visit, whatever its first word. */
void
draft_totals(struct draft_sample *s)
{
    for (size_t i = 0; i < s->n; i++) {
        struct vb_text first = {NULL, 0};
        int dated = 0;
        for (size_t k = 0; k < s->row[i].n; k++) {
            struct vb_text t = vb_text_trim(s->row[i].cell[k]);
            first = first.n ? first : t;
            dated |= draft_is_date(t);
        }
        s->row[i].total = !dated && is_total_word(first);
    }
}

static const struct vb_unit *
unit_of_cell(struct vb_text t)
{
    const struct vb_unit *u = vb_unit_find(t.s, t.n);
    return u ? u : vb_heading_unit(t);
}

/* "mm", "[h]", "TT.MM.JJJJ" under the headings: units, no numbers, and few other words.
 */
void
draft_units_row(struct draft *d)
{
    size_t units = 0, words = 0;
    if (d->heading == NO_ROW || d->heading + 1 >= d->sample.n)
        return;
    const struct draft_row *r = &d->sample.row[d->heading + 1];
    for (size_t i = 0; i < r->n; i++) {
        struct vb_text t = vb_text_trim(r->cell[i]);
        if (t.n && (is_number(t) || draft_is_date(t)))
            return;
        units += t.n && unit_of_cell(t);
        words += t.n && !unit_of_cell(t);
    }
    if (units == 0 || words > units)
        return;
    d->units_row = 1;
    d->first = d->heading + 2;
    for (size_t i = 0; i < r->n && i < d->n_cols; i++)
        d->col[i].row_unit = unit_of_cell(vb_text_trim(r->cell[i]));
}

/* valve-tidy takes the first row in which every column of the recipe has its heading. */
static int
passes_for_heading(const struct draft *d, const struct draft_row *r)
{
    char want[256], have[256];
    for (size_t i = 0; i < d->n_cols; i++) {
        int found = 0;
        if (d->col[i].silent)
            continue;
        vb_heading_norm(d->col[i].head, want, sizeof want);
        found = d->col[i].number && d->col[i].number <= r->n;
        for (size_t k = 0; !d->col[i].number && k < r->n && !found; k++) {
            vb_heading_norm(r->cell[k], have, sizeof have);
            found = strcmp(want, have) == 0;
        }
        if (!found)
            return 0;
    }
    return 1;
}

size_t
draft_skip(const struct draft *d)
{
    const struct draft_sample *s = &d->sample;
    size_t at = d->heading == NO_ROW ? d->first : d->heading;
    if (at == 0 || at >= s->n)
        return 0;
    int needed = d->heading == NO_ROW || s->row[at].record >= HEADING_WITHIN;
    for (size_t i = 0; i < at && !needed; i++)
        needed = passes_for_heading(d, &s->row[i]);
    return needed ? (size_t)s->row[at].line - 1 : 0;
}

/* A key and its value, from "Engine: HC-2" or from two cells side by side. */
static int
key_value(const struct draft_row *r, size_t i, struct vb_text *key, struct vb_text *value)
{
    struct vb_text t = vb_text_trim(r->cell[i]);
    const char *colon = parting(t);
    *key = t;
    *value = (struct vb_text){NULL, 0};
    if (colon) {
        key->n = (size_t)(colon - t.s);
        *value = vb_text_trim((struct vb_text){colon + 1, t.n - key->n - 1});
    }
    for (size_t k = i + 1; k < r->n && !value->n; k++)
        *value = vb_text_trim(r->cell[k]);
    *key = vb_text_trim(*key);
    return key->n > 0 && key->n < 40 && value->n > 0 && value->n < 80;
}

static void
put_const(struct draft *d, enum vb_means means, struct vb_text v, unsigned long long line)
{
    struct draft_const *c = &d->constant[means];
    if (c->value[0])
        return;
    vb_quote(v.s, v.n, c->value, sizeof c->value);
    snprintf(c->why, sizeof c->why,
             "line %llu above the heading says so; another export of this kind needs "
             "--set %s=...",
             line, vb_means_name(means));
}

static void
const_date(struct draft *d, struct vb_text v, unsigned long long line)
{
    char iso[VB_DATE_MAX], why[DRAFT_WHY];
    const char *order = draft_date_order(&v, 1, why, sizeof why);
    if (!order || strcmp(order, "serial") == 0 || d->constant[VB_MEANS_DATE].value[0] ||
        vb_date_parse(v.s, v.n, order, iso))
        return;
    put_const(d, VB_MEANS_DATE, (struct vb_text){iso, strlen(iso)}, line);
    struct draft_const *c = &d->constant[VB_MEANS_DATE];
    size_t n = strlen(c->why);
    const char *doubt = strstr(why, "; UNCERTAIN");
    snprintf(c->why + n, sizeof c->why - n, "; read as %s%s", order, doubt ? doubt : "");
}

/* A meter or a temperature, with the unit that the value or its key states. */
static void
const_number(struct draft *d, enum vb_means means, const struct draft_head *h,
             struct vb_text v, unsigned long long line)
{
    struct vb_text rest;
    double x;
    if (!draft_number(&d->shape, v, &x, &rest))
        return;
    const struct vb_unit *u = rest.n ? vb_unit_find(rest.s, rest.n) : h->unit;
    int temp = means == VB_MEANS_TEMP;
    if (!u || (temp ? u->dim != VB_DIM_TEMP
                    : u->dim != VB_DIM_TIME && u->dim != VB_DIM_DISTANCE))
        return;
    char text[96];
    v.n = rest.n ? (size_t)(rest.s - v.s) : v.n;
    snprintf(text, sizeof text, "%.*s%s%s", (int)v.n, v.s, temp ? " " : "",
             temp ? u->name : "");
    put_const(d, means, vb_text_trim((struct vb_text){text, strlen(text)}), line);
    if (!temp)
        put_const(d, VB_MEANS_METER_UNIT, (struct vb_text){u->name, strlen(u->name)},
                  line);
}

static void
take_const(struct draft *d, const struct draft_head *h, struct vb_text v,
           unsigned long long line)
{
    const struct vb_unit *u = unit_of_cell(v);
    unsigned f = h->flags;
    if (f & (D_OTHER | D_NOTE | D_QUANTITY))
        return;
    if (f & D_BY)
        put_const(d, VB_MEANS_BY, v, line);
    else if (f & D_DATE)
        const_date(d, v, line);
    else if (f & D_TEMP)
        const_number(d, VB_MEANS_TEMP, h, v, line);
    else if (f & D_METER)
        const_number(d, VB_MEANS_METER, h, v, line);
    else if (f & D_GAUGE)
        put_const(d, VB_MEANS_GAUGE, v, line);
    else if ((f & (D_UNIT | D_VALUE)) && u && u->dim == VB_DIM_LENGTH)
        put_const(d, VB_MEANS_UNIT, (struct vb_text){u->name, strlen(u->name)}, line);
    else if (f & (D_ENGINE | D_UNIT))
        put_const(d, VB_MEANS_ENGINE, v, line);
    else if ((f & D_VEHICLE) && !d->constant[VB_MEANS_ENGINE].value[0])
        put_const(d, VB_MEANS_ENGINE, v, line);
}

void
draft_preamble(struct draft *d)
{
    struct draft_head h;
    struct vb_text key, value;
    for (size_t r = 0; d->heading != NO_ROW && r < d->heading && r < 200; r++)
        for (size_t i = 0; i < d->sample.row[r].n; i++) {
            if (!key_value(&d->sample.row[r], i, &key, &value))
                continue;
            draft_words(key, &h);
            if (h.flags && h.unknown <= 1 && rate_cell(value) < 3)
                take_const(d, &h, value, d->sample.row[r].line);
        }
}
