#include "valvebook/gauge_report.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "valvebook/digits.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))
#define TEXT(n)                                                                          \
    {                                                                                    \
        n, NULL, 0, 0                                                                    \
    }
#define NUMBER(n)                                                                        \
    {                                                                                    \
        n, NULL, 1, 0                                                                    \
    }

// clang-format off
static const struct vb_field gauge_fields[] = {
    TEXT("gauge"), NUMBER("parts"), NUMBER("people"), NUMBER("trials"), NUMBER("readings"),
    TEXT("model"), NUMBER("p"),
    NUMBER("sd_repeat"), NUMBER("sd_people"), NUMBER("sd_interaction"), NUMBER("sd_gauge"),
    NUMBER("sd_part"), NUMBER("sd_total"),
    NUMBER("share_repeat"), NUMBER("share_people"), NUMBER("share_interaction"),
    NUMBER("share_gauge"), NUMBER("share_part"), NUMBER("share_total"),
    NUMBER("study_repeat"), NUMBER("study_people"), NUMBER("study_interaction"),
    NUMBER("study_gauge"), NUMBER("study_part"), NUMBER("study_total"),
    NUMBER("categories"), NUMBER("resolution"), NUMBER("u_resolution"), TEXT("basis"),
    NUMBER("u"), NUMBER("df"), NUMBER("expanded"), NUMBER("tolerance_pct"), TEXT("why"),
    TEXT("verdict"),
};

static const struct vb_field pair_fields[] = {
    TEXT("first"), TEXT("second"), NUMBER("parts"), NUMBER("readings_first"),
    NUMBER("readings_second"), NUMBER("mean"), NUMBER("mean_lo"), NUMBER("mean_hi"),
    NUMBER("sd"), NUMBER("lower"), NUMBER("lower_lo"), NUMBER("lower_hi"), NUMBER("upper"),
    NUMBER("upper_lo"), NUMBER("upper_hi"), NUMBER("t"), NUMBER("df"), NUMBER("p"),
    TEXT("reads_more"),
};

static const struct vb_field row_fields[] = {
    TEXT("gauge"), TEXT("kind"), NUMBER("resolution"), TEXT("unit"), NUMBER("u"),
    TEXT("valid_until"),
};
// clang-format on

#define TOLD_APART 0.05 // two-sided, for "reads more"

/* --- words ------------------------------------------------------------------------- */

static void say(struct vb_out *o, const char *fmt, ...)
    __attribute__((format(printf, 2, 3)));

static void
say(struct vb_out *o, const char *fmt, ...)
{
    char text[512];
    va_list ap;
    va_start(ap, fmt);
    vsnprintf(text, sizeof text, fmt, ap);
    va_end(ap);
    vb_out_text(o, text);
}

/* A name as it may be shown on a terminal. */
static const char *
shown(const char *name, char q[80])
{
    return vb_quote(name, strlen(name), q, 80);
}

static const char *
plural(size_t n)
{
    return n == 1 ? "" : "s";
}

static void
model_words(const struct vb_study *s, char *out, size_t size)
{
    if (s->pooled)
        snprintf(out, size, "p %.3g is above %.2f: counted as repeatability", s->p,
                 VB_STUDY_POOL_P);
    else
        snprintf(out, size, "p %.3g: people differ more on some parts than on others",
                 s->p);
}

static const char *
category_words(double categories)
{
    if (isinf(categories))
        return "the parts differ and the gauge shows no scatter at all";
    return categories < 2   ? "the gauge cannot tell these parts apart"
           : categories < 3 ? "tells small from large, no more"
           : categories < 5 ? "enough to sort the parts, too coarse to follow wear"
                            : "fit to follow the parts one by one";
}

static const char *
source_words(const struct vb_gauge_said *s)
{
    const double *v = vb_study_used(&s->study)->var;
    if (s->coarse)
        return s->by_blades ? "; its blades are wider apart than one hand scatters"
                            : "; its step is wider than the scatter of one hand";
    if (!(v[VB_VAR_GAUGE] > 0))
        return "";
    return v[VB_VAR_PEOPLE] + v[VB_VAR_INTERACTION] > v[VB_VAR_REPEAT]
               ? ", most of that between people: agree on one way to read"
               : ", most of that in one hand: the mean of several readings helps";
}

/* One line or two; the second is "" where there is none. */
static void
verdict(const struct vb_gauge_said *s, char line[2][160])
{
    line[0][0] = line[1][0] = 0;
    if (s->basis < VB_BASIS_CROSSED) {
        static const char *const words[] = {
            "no two readings differ: nothing can be said",
            "nothing was read twice: u is the resolution alone, a lower bound",
            "people may differ: u is repeatability alone, a lower bound"};
        int blades = s->basis == VB_BASIS_STEP && s->by_blades;
        snprintf(line[0], sizeof line[0], "%s",
                 blades ? "nothing was read twice: u is the width of the blades alone, a "
                          "lower bound"
                        : words[s->basis]);
        return;
    }
    const struct vb_study_model *m = vb_study_used(&s->study);
    if (isinf(m->categories))
        snprintf(line[0], sizeof line[0], "%s", category_words(m->categories));
    else
        snprintf(line[0], sizeof line[0], "%.0f distinct categor%s: %s", m->categories,
                 m->categories > 1 ? "ies" : "y", category_words(m->categories));
    if (isfinite(m->study_pct[VB_VAR_GAUGE]))
        snprintf(line[1], sizeof line[1], "the gauge makes %.1f %% of the spread%s",
                 m->study_pct[VB_VAR_GAUGE], source_words(s));
}

/* --- one gauge --------------------------------------------------------------------- */

static double
tolerance_pct(const struct vb_gauge_result *g, const struct vb_gauge_said *s)
{
    return isnan(g->tolerance) ? NAN : vb_tolerance_pct(s->u.u, g->tolerance);
}

static void
components(struct vb_table *t, const struct vb_gauge_said *s)
{
    const struct vb_study_model *m = s->crossed ? vb_study_used(&s->study) : NULL;
    int absent = !m || s->study.pooled;
    double within = s->within_df > 0 ? sqrt(s->within) : NAN;
    for (int i = 0; i < VB_VAR_COUNT; i++)
        if (m && (i != VB_VAR_INTERACTION || !absent))
            vb_table_number(t, sqrt(m->var[i]));
        else
            vb_table_number(t, i == VB_VAR_REPEAT ? within : NAN);
    for (int i = 0; i < VB_VAR_COUNT; i++)
        vb_table_number(t, !m || (i == VB_VAR_INTERACTION && absent) ? NAN
                                                                     : m->share_pct[i]);
    for (int i = 0; i < VB_VAR_COUNT; i++)
        vb_table_number(t, !m || (i == VB_VAR_INTERACTION && absent) ? NAN
                                                                     : m->study_pct[i]);
    vb_table_number(t, m ? m->categories : NAN);
}

static void
gauge_row(struct vb_table *t, const struct vb_gauge_result *g,
          const struct vb_gauge_said *s)
{
    char why[256], line[2][160], both[324];
    snprintf(why, sizeof why, "%s", s->why);
    if (s->crossed)
        model_words(&s->study, why, sizeof why);
    verdict(s, line);
    snprintf(both, sizeof both, "%s%s%s", line[0], line[1][0] ? "; " : "", line[1]);
    vb_table_text(t, g->trials->gauge[s->gauge]);
    vb_table_number(t, (double)s->shape.parts);
    vb_table_number(t, (double)s->shape.people);
    vb_table_number(t, (double)s->shape.trials);
    vb_table_number(t, (double)s->readings);
    vb_table_text(t, !s->crossed ? "" : s->study.pooled ? "without" : "with");
    vb_table_number(t, s->crossed ? s->study.p : NAN);
    components(t, s);
    vb_table_number(t, s->step);
    vb_table_number(t, s->u_step);
    vb_table_text(t, vb_basis_name(s->basis));
    vb_table_number(t, s->u.u);
    vb_table_number(t, s->u.df);
    vb_table_number(t, s->u.expanded);
    vb_table_number(t, tolerance_pct(g, s));
    vb_table_text(t, why);
    vb_table_text(t, both);
}

/*
 * Decimals of a column of figures in mm: two digits of each. One that is a millionth of the
 * largest is what rounding left where a variance was nothing.
 */
static int
decimals_of(const double *x, size_t n)
{
    double largest = 0;
    int most = 4;
    for (size_t i = 0; i < n; i++)
        largest = fmax(largest, x[i]); // fmax passes over NaN
    for (size_t i = 0; i < n; i++) {
        int need = x[i] > 1e-6 * largest ? vb_digits(x[i], NAN, 4) : 4;
        most = need > most ? need : most;
    }
    return most;
}

static int
section_decimals(const struct vb_gauge_said *s)
{
    double mm[VB_VAR_COUNT + 5] = {sqrt(s->within), s->step, s->u_step, s->u.u,
                                   s->u.expanded};
    for (int i = 0; s->crossed && i < VB_VAR_COUNT; i++)
        if (i != VB_VAR_INTERACTION || !s->study.pooled)
            mm[5 + i] = sqrt(vb_study_used(&s->study)->var[i]);
    return decimals_of(mm, COUNT(mm));
}

static void
component_lines(struct vb_out *o, const struct vb_study *s, int decimals)
{
    static const char *const names[VB_VAR_COUNT] = {"repeatability",  "person to person",
                                                    "person by part", "gauge in all",
                                                    "part to part",   "total"};
    const struct vb_study_model *m = vb_study_used(s);
    say(o, "  %-18s %9s  %13s  %10s\n", "source", "sd mm", "% of variance", "% of study");
    for (int i = 0; i < VB_VAR_COUNT; i++)
        if (i == VB_VAR_INTERACTION && s->pooled)
            say(o, "  %-18s %9s  %13s  %10s\n", names[i], "-", "-", "-");
        else if (isnan(m->share_pct[i]))
            say(o, "  %-18s %9.*f  %13s  %10s\n", names[i], decimals, sqrt(m->var[i]),
                "-", "-");
        else
            say(o, "  %-18s %9.*f  %13.1f  %10.1f\n", names[i], decimals, sqrt(m->var[i]),
                m->share_pct[i], m->study_pct[i]);
}

static void
step_line(struct vb_out *o, const struct vb_gauge_said *s, int decimals)
{
    if (isnan(s->step))
        return;
    say(o, "  %-18s %9.*f  ", "resolution mm", decimals, s->step);
    if (s->by_blades)
        say(o, "widest of %zu pair%s of blades", s->blades, plural(s->blades));
    else
        say(o, "step of the readings");
    say(o, "; u of it %.*f\n", decimals, s->u_step);
}

static void
u_lines(struct vb_out *o, const struct vb_gauge_result *g, const struct vb_gauge_said *s,
        int decimals)
{
    step_line(o, s, decimals);
    if (s->basis == VB_BASIS_NONE)
        return;
    say(o, "  %-18s %9.*f  one reading by one person", "u mm", decimals, s->u.u);
    if (isfinite(s->u.df))
        say(o, ", %.1f degrees of freedom", s->u.df);
    vb_out_text(o, "\n");
    if (!isnan(s->u.expanded))
        say(o, "  %-18s %9.*f  %.0f %% of readings are out by less, bias apart\n",
            "expanded mm", decimals, s->u.expanded, 100 * VB_GAUGE_CONFIDENCE);
    if (!isnan(g->tolerance))
        say(o, "  %-18s %9.1f  taken by six u, of %.4f mm\n", "tolerance %",
            tolerance_pct(g, s), g->tolerance);
}

static void
gauge_section(struct vb_out *o, const struct vb_gauge_result *g,
              const struct vb_gauge_said *s)
{
    char q[80], words[160], line[2][160];
    const struct vb_study_shape *h = &s->shape;
    int decimals = section_decimals(s);
    say(o, "Gauge %s: %zu part%s, %zu %s, %zu trial%s, %zu reading%s\n",
        shown(g->trials->gauge[s->gauge], q), h->parts, plural(h->parts), h->people,
        h->people == 1 ? "person" : "people", h->trials, plural(h->trials), s->readings,
        plural(s->readings));
    if (s->crossed) {
        component_lines(o, &s->study, decimals);
        model_words(&s->study, words, sizeof words);
        say(o, "  %-18s %s\n", "interaction", words);
    } else {
        say(o, "  %-18s %s\n", "no crossed study", s->why);
    }
    if (!s->crossed && s->within_df > 0)
        say(o, "  %-18s %9.*f  %.0f degree%s of freedom\n", "repeatability mm", decimals,
            sqrt(s->within), s->within_df, s->within_df > 1 ? "s" : "");
    u_lines(o, g, s, decimals);
    verdict(s, line);
    for (int i = 0; i < 2; i++)
        if (line[i][0])
            say(o, "  %-18s %s\n", i ? "" : "verdict", line[i]);
}

/* --- two gauges -------------------------------------------------------------------- */

/* The gauge that reads more, NULL if the readings do not say. */
static const char *
reads_more(const struct vb_gauge_result *g, const struct vb_gauge_pair *p)
{
    if (!(p->agree.p < TOLD_APART))
        return NULL;
    return g->trials->gauge[p->agree.mean > 0 ? p->first : p->second];
}

static void
pair_row(struct vb_table *t, const struct vb_gauge_result *g,
         const struct vb_gauge_pair *p)
{
    const struct vb_agree *a = &p->agree;
    const double number[] = {(double)a->n,
                             (double)p->n_first,
                             (double)p->n_second,
                             a->mean,
                             a->mean_ci[0],
                             a->mean_ci[1],
                             a->sd,
                             a->lo,
                             a->lo_ci[0],
                             a->lo_ci[1],
                             a->hi,
                             a->hi_ci[0],
                             a->hi_ci[1],
                             a->t,
                             a->df,
                             a->p};
    const char *more = reads_more(g, p);
    vb_table_text(t, g->trials->gauge[p->first]);
    vb_table_text(t, g->trials->gauge[p->second]);
    for (size_t i = 0; i < COUNT(number); i++)
        vb_table_number(t, number[i]);
    vb_table_text(t, more ? more : "");
}

static void
between(struct vb_out *o, const char *label, double x, const double ci[2], int decimals)
{
    say(o, "  %-18s %9.*f  %.*f to %.*f\n", label, decimals, x, decimals, ci[0], decimals,
        ci[1]);
}

static void
pair_section(struct vb_out *o, const struct vb_gauge_result *g,
             const struct vb_gauge_pair *p)
{
    char q[80], r[80];
    const struct vb_agree *a = &p->agree;
    const double known[] = {a->sd, a->mean_ci[1] - a->mean, a->lo_ci[1] - a->lo,
                            a->hi_ci[1] - a->hi};
    int decimals = decimals_of(known, COUNT(known));
    const char *first = shown(g->trials->gauge[p->first], q);
    const char *second = shown(g->trials->gauge[p->second], r);
    say(o, "Gauges %s and %s: %zu parts, %zu and %zu readings\n", first, second, a->n,
        p->n_first, p->n_second);
    say(o, "  %-18s %9s  %.0f %% confidence\n", "first less second", "mm",
        100 * VB_GAUGE_CONFIDENCE);
    between(o, "mean", a->mean, a->mean_ci, decimals);
    say(o, "  %-18s %9.*f\n", "standard deviation", decimals, a->sd);
    between(o, "lower limit", a->lo, a->lo_ci, decimals);
    between(o, "upper limit", a->hi, a->hi_ci, decimals);
    say(o, "  %-18s %9.2f  %.0f degrees of freedom, p %.3g\n", "paired t", a->t, a->df,
        a->p);
    if (reads_more(g, p))
        say(o, "  %-18s %s reads more than %s, by %.*f mm\n", "verdict",
            a->mean > 0 ? first : second, a->mean > 0 ? second : first, decimals,
            fabs(a->mean));
    else
        say(o, "  %-18s neither is shown to read more\n", "verdict");
    say(o, "  %-18s 95 %% of differences lie between the limits\n", "");
    if (p->n_first > a->n || p->n_second > a->n)
        say(o, "  %-18s of means over the readings of a part; single ones differ more\n",
            "");
}

/* --- reports ----------------------------------------------------------------------- */

static void
gauge_sections(const struct vb_gauge_result *g, struct vb_out *o)
{
    for (size_t i = 0; i < g->trials->n_gauges; i++) {
        vb_out_text(o, i ? "\n" : "");
        gauge_section(o, g, &g->said[i]);
    }
    if (g->trials->n_gauges == 0)
        vb_out_text(o, "no trials\n");
    if (g->n_pairs == 1) {
        vb_out_text(o, "\n");
        pair_section(o, g, g->pair);
    } else if (g->n_pairs > 1) {
        say(o, "\n%zu pairs of gauges have read the same parts: --agree compares them\n",
            g->n_pairs);
    }
    vb_out_text(o, vb_cautions);
}

enum vb_err
vb_report_gauges(const struct vb_gauge_result *g, enum vb_format format,
                 struct vb_out *out)
{
    struct vb_table *t;
    if (vb_format_auto(format) == VB_FORMAT_TABLE) {
        gauge_sections(g, out);
        return VB_OK;
    }
    enum vb_err e = vb_table_new(out, format, gauge_fields, COUNT(gauge_fields), &t);
    if (e)
        return e;
    for (size_t i = 0; i < g->trials->n_gauges; i++)
        gauge_row(t, g, &g->said[i]);
    return vb_table_end(t, "");
}

enum vb_err
vb_report_gauge_pairs(const struct vb_gauge_result *g, enum vb_format format,
                      struct vb_out *out)
{
    struct vb_table *t;
    if (vb_format_auto(format) == VB_FORMAT_TABLE) {
        for (size_t i = 0; i < g->n_pairs; i++) {
            vb_out_text(out, i ? "\n" : "");
            pair_section(out, g, &g->pair[i]);
        }
        vb_out_text(out,
                    g->n_pairs ? "" : "no two gauges have read two of the same parts\n");
        vb_out_text(out, vb_cautions);
        return VB_OK;
    }
    enum vb_err e = vb_table_new(out, format, pair_fields, COUNT(pair_fields), &t);
    if (e)
        return e;
    for (size_t i = 0; i < g->n_pairs; i++)
        pair_row(t, g, &g->pair[i]);
    return vb_table_end(t, "");
}

/*
 * A u that is no more than a display's step says is left to the reader: the book has both.
 * The width of blades was stated, not guessed from what was shown.
 */
static double
u_to_emit(const struct vb_gauge_said *s)
{
    return s->basis >= VB_BASIS_REPEAT || s->by_blades ? s->u.u : NAN;
}

enum vb_err
vb_report_gauge_rows(const struct vb_gauge_result *g, struct vb_out *out)
{
    struct vb_table *t;
    enum vb_err e = vb_table_new(out, VB_FORMAT_CSV, row_fields, COUNT(row_fields), &t);
    if (e)
        return e;
    for (size_t i = 0; i < g->trials->n_gauges; i++) {
        const struct vb_gauge_said *s = &g->said[i];
        vb_table_text(t, g->trials->gauge[s->gauge]);
        vb_table_text(t, "");
        vb_table_number(t, s->step);
        vb_table_text(t, "mm");
        vb_table_number(t, u_to_emit(s));
        vb_table_text(t, "");
    }
    return vb_table_end(t, "");
}
