#include "valvebook/timing_report.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(a) (sizeof(a) / sizeof *(a))
#define PM       "\xc2\xb1"
#define TEXT(n)                                                                          \
    {                                                                                    \
        n, NULL, 0, 0                                                                    \
    }
#define NUMBER(n)                                                                        \
    {                                                                                    \
        n, NULL, 1, 0                                                                    \
    }

// clang-format off
static const struct vb_field all_fields[] = {
    TEXT("engine"), TEXT("family"), TEXT("at"), TEXT("build"), TEXT("since"), TEXT("date"),
    TEXT("state"), NUMBER("n"),
    NUMBER("centre"), NUMBER("centre_u"), NUMBER("duration"), NUMBER("duration_u"),
    NUMBER("overlap"), NUMBER("overlap_u"), NUMBER("separation"), NUMBER("separation_u"),
    NUMBER("advance"), NUMBER("advance_u"),
    TEXT("against"), TEXT("reference"), TEXT("reference_date"), NUMBER("n_shift"),
    NUMBER("shift"), NUMBER("shift_u"), NUMBER("lash"), NUMBER("lash_u"),
    NUMBER("drive"), NUMBER("drive_u"), NUMBER("longer"), NUMBER("longer_u"),
    NUMBER("rest"), NUMBER("rest_u"), NUMBER("limit"), TEXT("verdict"), TEXT("split"),
    TEXT("cause"), NUMBER("teeth"), TEXT("odd"), TEXT("hint"),
};

static const struct vb_field moved_fields[] = {
    {"engine", "engine", 0, 0}, {"at", "cam", 0, 0}, {"build", "build", 0, 0},
    {"date", "read", 0, 0}, {"state", "as", 0, 0}, {"against", "against", 0, 0},
    {"reference", "of", 0, 0}, {"n_shift", "valves", 1, 0},
    {"shift", "later deg", 1, 2}, {"shift_u", PM, 1, 2},
    {"lash", "by lash", 1, 2}, {"lash_u", PM, 1, 2},
    {"drive", "by drive", 1, 2}, {"drive_u", PM, 1, 2},
    {"longer", "longer deg", 1, 2}, {"longer_u", PM, 1, 2},
    {"limit", "limit deg", 1, 1}, {"verdict", "is", 0, 0}, {"hint", "hint", 0, 0},
};

static const struct vb_field stands_fields[] = {
    {"engine", "engine", 0, 0}, {"at", "cam", 0, 0}, {"build", "build", 0, 0},
    {"since", "since", 0, 0}, {"date", "read", 0, 0}, {"state", "as", 0, 0},
    {"n", "valves", 1, 0},
    {"centre", "centre deg", 1, 1}, {"centre_u", PM, 1, 1},
    {"duration", "duration deg", 1, 1}, {"duration_u", PM, 1, 1},
    {"overlap", "overlap deg", 1, 1}, {"overlap_u", PM, 1, 1},
    {"separation", "separation cam deg", 1, 1}, {"separation_u", PM, 1, 1},
    {"advance", "advance deg", 1, 1}, {"advance_u", PM, 1, 1},
};
// clang-format on

static const char *
state_name(const struct vb_cam_row *r)
{
    return r->left ? "left" : "found";
}

static const char *
verdict_name(const struct vb_cam_row *r)
{
    static const char *const names[] = {
        [VB_VERDICT_CLOSE] = "close", [VB_VERDICT_IN] = "in", [VB_VERDICT_OUT] = "out"};
    return r->has_verdict ? names[r->verdict.verdict] : "";
}

static void
figures(struct vb_table *t, const struct vb_cam_figures *f)
{
    vb_table_pair(t, f->centre, f->u_centre);
    vb_table_pair(t, f->duration, f->u_duration);
    vb_table_pair(t, f->overlap, f->u_overlap);
    vb_table_pair(t, f->separation, f->u_separation);
    vb_table_pair(t, f->advance, f->u_advance);
}

/* The shift of a row and its parts; NaN where it has none. */
struct parts {
    double shift[2], lash[2], drive[2], longer[2], rest[2];
};

static struct parts
parts_of(const struct vb_cam_row *r)
{
    const struct vb_cam_shift *s = &r->shift;
    struct parts p = {{NAN, NAN}, {NAN, NAN}, {NAN, NAN}, {NAN, NAN}, {NAN, NAN}};
    if (!r->n_shift)
        return p;
    p = (struct parts){.shift = {s->phase, s->u_phase},
                       .lash = {s->lash_phase, s->u_lash_phase},
                       .drive = {s->drive, s->u_drive},
                       .longer = {s->duration, s->u_duration},
                       .rest = {s->rest, s->u_rest}};
    if (r->by_lift) // its duration is the profile's
        p.longer[0] = p.longer[1] = p.rest[0] = p.rest[1] = NAN;
    if (isnan(p.lash[0]))
        p.lash[1] = NAN;
    return p;
}

static const char *
split_name(const struct vb_cam_row *r)
{
    return !r->n_shift || !r->has_cause ? "" : r->plain ? "plain" : "profile";
}

static void
all_row(struct vb_table *t, const struct vb_cam_list *l, const struct vb_cam_row *r)
{
    struct parts p = parts_of(r);
    vb_table_text(t, l->engine[r->engine].name);
    vb_table_text(t, l->engine[r->engine].family);
    vb_table_text(t, r->at);
    vb_table_text(t, r->build);
    vb_table_text(t, r->since);
    vb_table_text(t, r->date);
    vb_table_text(t, state_name(r));
    vb_table_number(t, r->n ? (double)r->n : NAN);
    figures(t, &r->fig);
    vb_table_text(t, vb_cam_against_name(r->against));
    vb_table_text(t, r->reference);
    vb_table_text(t, r->reference_date);
    vb_table_number(t, r->against == VB_AGAINST_MARK ? NAN : (double)r->n_shift);
    vb_table_pair(t, p.shift[0], p.shift[1]);
    vb_table_pair(t, p.lash[0], p.lash[1]);
    vb_table_pair(t, p.drive[0], p.drive[1]);
    vb_table_pair(t, p.longer[0], p.longer[1]);
    vb_table_pair(t, p.rest[0], p.rest[1]);
    vb_table_number(t, r->limit);
    vb_table_text(t, verdict_name(r));
    vb_table_text(t, split_name(r));
    vb_table_text(t, r->has_cause ? vb_cause_name(r->cause.cause) : "");
    vb_table_number(t, r->has_cause && r->cause.teeth ? (double)r->cause.teeth : NAN);
    vb_table_text(t, r->odd);
    vb_table_text(t, r->hint);
}

static void
moved_row(struct vb_table *t, const struct vb_cam_list *l, const struct vb_cam_row *r)
{
    struct parts p = parts_of(r);
    char of[64];
    snprintf(of, sizeof of, "%s%s%s", r->reference,
             r->reference[0] && r->reference_date[0] ? " " : "", r->reference_date);
    vb_table_text(t, l->engine[r->engine].name);
    vb_table_text(t, r->at);
    vb_table_text(t, r->build);
    vb_table_text(t, r->date);
    vb_table_text(t, state_name(r));
    vb_table_text(t, vb_cam_against_name(r->against));
    vb_table_text(t, of);
    vb_table_number(t, r->against == VB_AGAINST_MARK ? NAN : (double)r->n_shift);
    vb_table_pair(t, p.shift[0], p.shift[1]);
    vb_table_pair(t, p.lash[0], p.lash[1]);
    vb_table_pair(t, p.drive[0], p.drive[1]);
    vb_table_pair(t, p.longer[0], p.longer[1]);
    vb_table_figures(t, &r->limit, 1, NAN);
    vb_table_text(t, verdict_name(r));
    vb_table_text(t, r->hint);
}

static void
stands_row(struct vb_table *t, const struct vb_cam_list *l, const struct vb_cam_row *r)
{
    vb_table_text(t, l->engine[r->engine].name);
    vb_table_text(t, r->at);
    vb_table_text(t, r->build);
    vb_table_text(t, r->since);
    vb_table_text(t, r->date);
    vb_table_text(t, state_name(r));
    vb_table_number(t, (double)r->n);
    figures(t, &r->fig);
}

/* qsort has no argument for the list, so what decides is copied beside each row. */
struct ranked {
    double rank;
    size_t index;
};

static int
by_rank(const void *a, const void *b)
{
    const struct ranked *x = a, *y = b;
    if (x->rank != y->rank)
        return x->rank > y->rank ? -1 : 1;
    return (x->index > y->index) - (x->index < y->index);
}

static enum vb_err
moved_table(const struct vb_cam_list *l, struct vb_out *out)
{
    struct vb_table *t;
    struct ranked *k = malloc((l->n + 1) * sizeof *k);
    size_t n = 0;
    enum vb_err e =
        k ? vb_table_new(out, VB_FORMAT_TABLE, moved_fields, COUNT(moved_fields), &t)
          : VB_EMEM;
    for (size_t i = 0; !e && i < l->n; i++)
        if (l->row[i].against != VB_AGAINST_NOTHING)
            k[n++] = (struct ranked){vb_cam_rank(&l->row[i]), i};
    if (!e)
        qsort(k, n, sizeof *k, by_rank);
    for (size_t i = 0; !e && i < n; i++)
        moved_row(t, l, &l->row[k[i].index]);
    free(k);
    return e ? e
             : vb_table_part(t, l->n ? "nothing to hold these cams against"
                                     : "no cam has been timed yet");
}

/* Does this row say once more where the cam of the one before stands? */
static int
again(const struct vb_cam_row *r, const struct vb_cam_row *before)
{
    return before && before->engine == r->engine && before->number == r->number &&
           before->left == r->left && strcmp(before->at, r->at) == 0 &&
           strcmp(before->date, r->date) == 0;
}

static enum vb_err
stands_table(const struct vb_cam_list *l, struct vb_out *out)
{
    struct vb_table *t;
    const struct vb_cam_row *before = NULL;
    enum vb_err e =
        vb_table_new(out, VB_FORMAT_TABLE, stands_fields, COUNT(stands_fields), &t);
    if (e)
        return e;
    for (size_t i = 0; i < l->n; i++) {
        const struct vb_cam_row *r = &l->row[i];
        if (isnan(r->fig.centre) || again(r, before))
            continue;
        stands_row(t, l, r);
        before = r;
    }
    return vb_table_end(t, "");
}

enum vb_err
vb_report_timing(const struct vb_cam_list *l, enum vb_format format, struct vb_out *out)
{
    struct vb_table *t;
    if (vb_format_auto(format) == VB_FORMAT_TABLE) {
        enum vb_err e = moved_table(l, out);
        vb_out_text(out, "\n");
        return e ? e : stands_table(l, out);
    }
    enum vb_err e = vb_table_new(out, format, all_fields, COUNT(all_fields), &t);
    for (size_t i = 0; !e && i < l->n; i++)
        all_row(t, l, &l->row[i]);
    return e ? e : vb_table_end(t, "");
}
