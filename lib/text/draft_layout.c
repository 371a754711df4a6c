/*
 * How the rows stand in the sheet: remarks between them, rows that end early, and cells that
 * were merged. Each of these settings can hide a slip, so all of them ask to be looked at.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "draft.h"

static int
begins(const struct draft_row *r, const char *mark)
{
    struct vb_text t = r->n ? vb_text_trim(r->cell[0]) : (struct vb_text){NULL, 0};
    return t.n >= strlen(mark) && memcmp(t.s, mark, strlen(mark)) == 0;
}

/* A row that might be one of the table: "#7" may be an engine, "#3E" a valve. */
static int
is_like_data(const struct draft *d, const struct draft_row *r)
{
    struct vb_valve v;
    struct vb_text first = vb_text_trim(r->cell[0]), rest;
    double x;
    if (!vb_valve_part(first.s, first.n, &v))
        return 1;
    for (size_t i = 1; i < r->n; i++)
        if (draft_is_date(r->cell[i]) || draft_number(&d->shape, r->cell[i], &x, &rest))
            return 1;
    return 0;
}

static void
drop_rows(struct draft *d, const char *mark)
{
    struct draft_sample *s = &d->sample;
    size_t to = d->first;
    for (size_t r = d->first; r < s->n; r++) {
        if (begins(&s->row[r], mark))
            free(s->row[r].cell);
        else
            s->row[to++] = s->row[r];
    }
    s->n = to;
}

/* Lines above the heading need no mark. */
void
draft_remarks(struct draft *d)
{
    static const char *const marks[] = {"#", "//", "%", "!", "*", ";"};
    const struct draft_sample *s = &d->sample;
    for (size_t k = 0; k < sizeof marks / sizeof *marks; k++) {
        size_t all = 0, alike = 0;
        if (*marks[k] == d->shape.delim ||
            (d->heading != NO_ROW && begins(&s->row[d->heading], marks[k])))
            continue;
        for (size_t r = d->first; r < s->n; r++)
            if (begins(&s->row[r], marks[k])) {
                all++;
                alike += is_like_data(d, &s->row[r]) ? 1 : 0;
            }
        if (all == alike || all * 3 > s->n - d->first)
            continue;
        snprintf(d->remark.value, sizeof d->remark.value, "%s", marks[k]);
        snprintf(d->remark.why, sizeof d->remark.why,
                 "CHECK: %zu line%s with it in front will be passed over%s", all,
                 all == 1 ? "" : "s",
                 alike ? ", some of them like rows of the table" : "");
        drop_rows(d, marks[k]);
        return;
    }
}

static struct vb_text
cell_of(const struct draft_row *r, size_t i)
{
    return i < r->n ? vb_text_trim(r->cell[i]) : (struct vb_text){NULL, 0};
}

/* Does every cell of a row look like its column? Not so where one was lost before it. */
static int
is_in_place(const struct draft *d, const struct draft_row *r)
{
    struct vb_text rest;
    struct vb_valve v;
    size_t sure = 0;
    double x;
    for (size_t i = 0; i < r->n; i++) {
        struct vb_text t = cell_of(r, i);
        int number = draft_number(&d->shape, t, &x, &rest), date = draft_is_date(t);
        int part = t.n && !vb_valve_part(t.s, t.n, &v), ok = 1;
        if (vb_missing(t.s, t.n))
            continue;
        switch (d->col[i].means) {
        case VB_MEANS_DATE: ok = date; break;
        case VB_MEANS_READING: // an angle may have words
            ok = !date && (number || d->col[i].stats.numbers == 0);
            break;
        case VB_MEANS_METER:
        case VB_MEANS_TEMP: ok = number && !date; break;
        case VB_MEANS_VALVE:
        case VB_MEANS_CYLINDER:
        case VB_MEANS_SIDE: ok = part; break;
        default: continue;
        }
        if (!ok)
            return 0;
        sure++;
    }
    return sure > 0;
}

/* A program that leaves out blank cells at the end does so in every row. */
static void
find_short(struct draft *d)
{
    size_t cut = 0;
    for (size_t r = d->first; r < d->sample.n; r++) {
        const struct draft_row *row = &d->sample.row[r];
        if (!draft_is_data(d, r) || row->n < 2)
            continue;
        if (!cell_of(row, row->n - 1).n)
            return;
        if (row->n < d->n_cols && !is_in_place(d, row))
            return;
        cut += row->n < d->n_cols;
    }
    if (!cut)
        return;
    snprintf(d->short_rows.value, sizeof d->short_rows.value, "yes");
    snprintf(d->short_rows.why, sizeof d->short_rows.why,
             "CHECK: %zu row%s shorter than the heading, with a filled cell at the end: "
             "what is missing is taken for blank",
             cut, cut == 1 ? "" : "s");
}

static int
has_reading(const struct draft *d, const struct draft_row *r)
{
    for (size_t i = 0; i < d->n_cols; i++)
        if (d->col[i].means == VB_MEANS_READING && cell_of(r, i).n)
            return 1;
    return 0;
}

static size_t
column_of(const struct draft *d, enum vb_means means)
{
    size_t i = 0;
    while (i < d->n_cols && d->col[i].means != means)
        i++;
    return i < d->n_cols ? i : NO_ROW;
}

/* Rows with a reading in which a column is blank; 0 if too few, or the first of them, is. */
static size_t
blanks(const struct draft *d, size_t col)
{
    size_t blank = 0, filled = 0;
    for (size_t r = d->first; r < d->sample.n; r++) {
        const struct draft_row *row = &d->sample.row[r];
        if (!draft_is_data(d, r) || !has_reading(d, row))
            continue;
        if (cell_of(row, col).n)
            filled++;
        else if (filled)
            blank++;
        else
            return 0;
    }
    return blank * 2 >= filled ? blank : 0;
}

/* Filled only where a block begins: where its engine or date is. */
static int
goes_with_blocks(const struct draft *d, size_t col)
{
    size_t engine = column_of(d, VB_MEANS_ENGINE), date = column_of(d, VB_MEANS_DATE);
    size_t keys = 0, filled = 0;
    for (size_t r = d->first; r < d->sample.n; r++) {
        const struct draft_row *row = &d->sample.row[r];
        int key = cell_of(row, engine).n || cell_of(row, date).n;
        int own = cell_of(row, col).n > 0;
        if (!draft_is_data(d, r) || !has_reading(d, row))
            continue;
        if (own && !key)
            return 0;
        keys += key ? 1 : 0;
        filled += own ? 1 : 0;
    }
    return filled * 2 >= keys;
}

/* Without these no reading has a name; of the others a blank cell may be just that. */
static int
is_needed(enum vb_means m)
{
    return m == VB_MEANS_ENGINE || m == VB_MEANS_DATE || m == VB_MEANS_VALVE ||
           m == VB_MEANS_BANK || m == VB_MEANS_CYLINDER || m == VB_MEANS_SIDE ||
           m == VB_MEANS_STATE || m == VB_MEANS_QUANTITY;
}

static void
find_merged(struct draft *d)
{
    size_t most = 0, len = 0, n;
    int blocks = 0;
    for (int m = VB_MEANS_ENGINE; m < VB_MEANS_NOTE; m++) {
        size_t col = column_of(d, (enum vb_means)m);
        if (col == NO_ROW || !(n = blanks(d, col)) ||
            (!is_needed((enum vb_means)m) && !(blocks && goes_with_blocks(d, col))))
            continue;
        blocks |= m == VB_MEANS_ENGINE || m == VB_MEANS_DATE;
        most = n > most ? n : most;
        // all of them together take 90 bytes
        len += (size_t)snprintf(d->merged.value + len, sizeof d->merged.value - len,
                                "%s%s", len ? " " : "", vb_means_name((enum vb_means)m));
    }
    if (len)
        snprintf(d->merged.why, sizeof d->merged.why,
                 "CHECK: blank in up to %zu row%s with readings: what stands above is "
                 "taken for them",
                 most, most == 1 ? "" : "s");
}

void
draft_layout(struct draft *d)
{
    find_short(d);
    find_merged(d);
}
