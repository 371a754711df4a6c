#include "valvebook/life_report.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/digits.h"

#define COUNT(a) (sizeof(a) / sizeof *(a))
#define TOLD     0.05 // a trend is told apart from none, two-sided

// clang-format off
static const struct vb_field summary_fields[] = {
    {"family", "family", 0, 0}, {"side", "side", 0, 0}, {"figure", "figure", 0, 0},
    {"value", "value", 1, 0}, {"lo", "from", 1, 0}, {"hi", "to", 1, 0}, {"unit", "unit", 0, 0},
    {"n", "n", 1, 0}, {"says", "what it says", 0, 0},
};

static const struct vb_field mcf_fields[] = {
    {"family", "family", 0, 0}, {"side", "side", 0, 0}, {"part", "part", 0, 0},
    {"unit", "unit", 0, 0}, {"age", "age", 1, 0}, {"at_risk", "engines", 1, 0},
    {"replaced", "replaced", 1, 0}, {"mcf", "an engine", 1, 4}, {"se", "\xc2\xb1 se", 1, 4},
    {"se_poisson", "if alone", 1, 4}, {"lo", "from", 1, 4}, {"hi", "to", 1, 4},
};

static const struct vb_field weibull_fields[] = {
    {"family", "family", 0, 0}, {"side", "side", 0, 0}, {"life", "life of", 0, 0},
    {"unit", "unit", 0, 0}, {"exact", "ended", 1, 0}, {"interval", "between", 1, 0},
    {"left", "before", 1, 0}, {"right", "running", 1, 0}, {"left_out", "left out", 1, 0},
    {"shape", "shape", 1, 2}, {"shape_lo", "from", 1, 2}, {"shape_hi", "to", 1, 2},
    {"scale", "scale", 1, 0}, {"scale_lo", "from", 1, 0}, {"scale_hi", "to", 1, 0},
    {"b1", "B1", 1, 0}, {"b1_lo", "from", 1, 0}, {"b1_hi", "to", 1, 0}, {"b10", "B10", 1, 0},
    {"b10_lo", "from", 1, 0}, {"b10_hi", "to", 1, 0}, {"loglik", NULL, 1, 0},
    {"why", "why not", 0, 0},
};

static const struct vb_field trend_fields[] = {
    {"family", "family", 0, 0}, {"side", "side", 0, 0}, {"part", "part", 0, 0},
    {"unit", "unit", 0, 0}, {"engines", "engines", 1, 0}, {"replaced", "replaced", 1, 0},
    {"shape", "shape", 1, 2}, {"shape_lo", "from", 1, 2}, {"shape_hi", "to", 1, 2},
    {"shape_lo_robust", NULL, 1, 2}, {"shape_hi_robust", NULL, 1, 2},
    {"scale", "scale", 1, 0}, {"scale_lo", "from", 1, 0}, {"scale_hi", "to", 1, 0},
    {"laplace", "Laplace", 1, 2}, {"laplace_p", "p", 1, 4}, {"chi2", "chi2", 1, 2},
    {"df", "df", 1, 0}, {"chi2_p", "p", 1, 4}, {"way", "way", 0, 0}, {"why", "why not", 0, 0},
};

static const struct vb_field interval_fields[] = {
    {"family", "family", 0, 0}, {"side", "side", 0, 0}, {"unit", "unit", 0, 0},
    {"risk", "risk", 1, 4}, {"interval", "interval", 1, 0},
    {"interval_sure", "if rates were known", 1, 0}, {"present", "present", 1, 0},
    {"present_risk", "its risk", 1, 4}, {"per_1000", "visits in 1000", 1, 2},
    {"per_year", "visits a year", 1, 1}, {"engines", "engines", 1, 0},
    {"valves", "valves", 1, 0}, {"rates", "rates", 1, 0}, {"settings", "settings", 1, 0},
    {"longest", "longest seen", 1, 0}, {"why", "mind", 0, 0},
};
// clang-format on

int
vb_life_what_parse(const char *s, enum vb_life_what *out)
{
    static const char *const names[] = {[VB_LIFE_MCF] = "mcf",
                                        [VB_LIFE_WEIBULL] = "weibull",
                                        [VB_LIFE_TREND] = "trend",
                                        [VB_LIFE_INTERVAL] = "interval"};
    for (size_t i = VB_LIFE_MCF; i < COUNT(names); i++)
        if (strcmp(s, names[i]) == 0) {
            *out = (enum vb_life_what)i;
            return 1;
        }
    return 0;
}

/* A table on its way, and in which form. */
struct rows {
    struct vb_table *t;
    int people; // a table for people
};

/* Twelve digits where a program reads it, the field's decimals where people do. */
static void
number(const struct rows *r, double x)
{
    char text[40] = "";
    if (r->people) {
        vb_table_number(r->t, x);
        return;
    }
    if (isfinite(x))
        snprintf(text, sizeof text, "%.12g", x);
    vb_table_text(r->t, text);
}

static void
numbers(const struct rows *r, const double *x, size_t n)
{
    for (size_t i = 0; i < n; i++)
        number(r, x[i]);
}

/* A probability: to people one that four decimals cannot show is not none at all. */
static void
probability(const struct rows *r, double p)
{
    if (r->people && p < 0.00005)
        vb_table_text(r->t, "<0.0001");
    else
        number(r, p);
}

/* Figures known to u, in a table with as many decimals as that asks for. */
static void
figures(const struct rows *r, const double *x, size_t n, double u)
{
    if (r->people)
        vb_table_figures(r->t, x, n, u);
    else
        numbers(r, x, n);
}

/* The nearer bound says how well it is known. */
static double
nearer(const struct vb_bounds *b)
{
    return fmin(b->value - b->lo, b->hi - b->value);
}

/* A figure of any size: three digits where people read it, and these decimals. */
static void
figure(const struct rows *r, double x, int decimals)
{
    char text[40] = "";
    if (!r->people) {
        number(r, x);
        return;
    }
    int digits = x != 0 && isfinite(x) ? decimals + 1 + (int)floor(log10(fabs(x))) : 0;
    if (isfinite(x) && fabs(x) >= 100)
        snprintf(text, sizeof text, "%.*f", decimals, x);
    else if (isfinite(x))
        snprintf(text, sizeof text, "%.*g", digits > 3 ? digits : 3, x);
    vb_table_text(r->t, text);
}

/* A figure alone in words: two digits of it at least. */
static const char *
said(double x, int usual, char *out)
{
    return vb_digits_pair(x, NAN, usual, out);
}

static const char *
side_name(char side)
{
    return side == 'I' ? "I" : side == 'E' ? "E" : "";
}

static const char *
life_name(const struct vb_family_life *l, const struct vb_life_fit *f)
{
    return f->setting ? "setting" : l->service->wish.part;
}

static void
begin(const struct rows *r, const struct vb_family_life *l, char side)
{
    vb_table_text(r->t, l->family);
    vb_table_text(r->t, side_name(side));
}

static void
bounds(const struct rows *r, enum vb_err e, const struct vb_bounds *b)
{
    const double none[] = {NAN, NAN, NAN}, x[] = {b->value, b->lo, b->hi};
    figures(r, e ? none : x, 3, e ? NAN : nearer(b));
}

/* --- replacements ------------------------------------------------------------------- */

static void
mcf_rows(const struct rows *r, const struct vb_family_life *l)
{
    const struct vb_service *s = l->service;
    for (size_t i = 0; i < l->n_steps; i++) {
        const struct vb_mcf_step *m = &l->step[i];
        int one = s->engines < 2; // one engine shows no scatter between engines
        const double x[] = {m->age, (double)m->at_risk, m->count};
        const double y[] = {m->mcf, one ? NAN : m->se, m->se_poisson, one ? NAN : m->lo,
                            one ? NAN : m->hi};
        begin(r, l, s->wish.side);
        vb_table_text(r->t, s->wish.part);
        vb_table_text(r->t, l->unit);
        numbers(r, x, COUNT(x));
        figures(r, y, COUNT(y), one ? m->se_poisson : m->se);
    }
}

/*
 * Laplace's test compares an engine with itself; the shape also compares older engines with
 * younger ones, which may differ in more than their age.
 */
static const char *
way_of(const struct vb_power *p)
{
    struct vb_bounds b;
    double var = fmax(p->var_shape, p->robust_shape); // fmax passes over NaN
    if (p->p_laplace < TOLD)
        return p->laplace > 0 ? "more often" : "less often";
    if (vb_log_bounds(p->shape, var, VB_LIFE_CONFIDENCE, &b) || (b.lo <= 1 && b.hi >= 1))
        return "steady";
    return b.lo > 1 ? "more often in older engines" : "less often in older engines";
}

static const char *
way_words(const struct vb_power *p)
{
    const char *way = way_of(p);
    return strcmp(way, "more often") == 0   ? "replaced more often as an engine ages"
           : strcmp(way, "less often") == 0 ? "replaced less often as an engine ages"
           : strcmp(way, "steady") == 0     ? "steady: no trend with age is shown"
           : p->shape > 1 ? "more often in older engines, not shown within one"
                          : "less often in older engines, not shown within one";
}

static void
trend_rows(const struct rows *r, const struct vb_family_life *l)
{
    const struct vb_power *p = &l->trend;
    struct vb_bounds shape, robust, scale;
    enum vb_err no = l->has_trend ? VB_OK : VB_EDOM;
    begin(r, l, l->service->wish.side);
    vb_table_text(r->t, l->service->wish.part);
    vb_table_text(r->t, l->unit);
    number(r, (double)l->service->engines);
    number(r, l->service->count);
    bounds(r, no ? no : vb_log_bounds(p->shape, p->var_shape, VB_LIFE_CONFIDENCE, &shape),
           &shape);
    enum vb_err e =
        no ? no : vb_log_bounds(p->shape, p->robust_shape, VB_LIFE_CONFIDENCE, &robust);
    number(r, e ? NAN : robust.lo);
    number(r, e ? NAN : robust.hi);
    bounds(r, no ? no : vb_log_bounds(p->scale, p->var_scale, VB_LIFE_CONFIDENCE, &scale),
           &scale);
    number(r, no ? NAN : p->laplace);
    probability(r, no ? NAN : p->p_laplace);
    number(r, no ? NAN : p->chi2);
    number(r, no ? NAN : p->df);
    probability(r, no ? NAN : p->p_chi2);
    vb_table_text(r->t, no ? "" : way_of(p));
    vb_table_text(r->t, l->trend_why);
}

/* --- lives -------------------------------------------------------------------------- */

static void
weibull_rows(const struct rows *r, const struct vb_family_life *l)
{
    for (size_t i = 0; i < l->n_fits; i++) {
        const struct vb_life_fit *f = &l->fit[i];
        struct vb_bounds b = {NAN, NAN, NAN};
        enum vb_err no = f->fits ? VB_OK : VB_EDOM;
        begin(r, l, f->side);
        vb_table_text(r->t, life_name(l, f));
        vb_table_text(r->t, l->unit);
        number(r, (double)f->n[VB_SPAN_EXACT]);
        number(r, (double)f->n[VB_SPAN_INTERVAL]);
        number(r, (double)f->n[VB_SPAN_LEFT]);
        number(r, (double)f->n[VB_SPAN_RIGHT]);
        number(r, (double)f->unborn);
        bounds(r, no ? no : vb_weibull_shape(&f->w, VB_LIFE_CONFIDENCE, &b), &b);
        bounds(r, no ? no : vb_weibull_scale(&f->w, VB_LIFE_CONFIDENCE, &b), &b);
        bounds(r, no ? no : vb_weibull_life(&f->w, 0.01, VB_LIFE_CONFIDENCE, &b), &b);
        bounds(r, no ? no : vb_weibull_life(&f->w, 0.1, VB_LIFE_CONFIDENCE, &b), &b);
        number(r, no ? NAN : f->w.loglik);
        vb_table_text(r->t, f->why);
    }
}

/* --- the interval --------------------------------------------------------------------- */

static void
interval_rows(const struct rows *r, const struct vb_family_life *l)
{
    const struct vb_relash_advice *a = &l->relash;
    const double x[] = {a->risk,         a->gap,      a->sure_gap, a->present,
                        a->present_risk, a->per_1000, a->per_year};
    const double n[] = {(double)a->engines, (double)a->valves, (double)a->rates,
                        (double)a->settings};
    begin(r, l, l->service->wish.side);
    vb_table_text(r->t, l->meter_unit);
    for (size_t i = 0; i < COUNT(x); i++)
        figures(r, &x[i], 1, NAN);
    numbers(r, n, COUNT(n));
    figures(r, &a->longest, 1, NAN);
    vb_table_text(r->t, a->why);
}

/* --- the summary ---------------------------------------------------------------------- */

static void row(const struct rows *r, const struct vb_family_life *l, char side,
                const char *name, const struct vb_bounds *b, const char *unit, double n,
                const char *fmt, ...) __attribute__((format(printf, 8, 9)));

static void
row(const struct rows *r, const struct vb_family_life *l, char side, const char *name,
    const struct vb_bounds *b, const char *unit, double n, const char *fmt, ...)
{
    char says[512];
    double u = nearer(b);
    int decimals = isfinite(u) && u != 0 ? vb_digits(b->value, u, 0) : 0;
    va_list ap;
    va_start(ap, fmt);
    vsnprintf(says, sizeof says, fmt, ap);
    va_end(ap);
    begin(r, l, side);
    vb_table_text(r->t, name);
    figure(r, b->value, decimals);
    figure(r, b->lo, decimals);
    figure(r, b->hi, decimals);
    vb_table_text(r->t, unit);
    number(r, n);
    vb_table_text(r->t, says);
}

static void
summary_replaced(const struct rows *r, const struct vb_family_life *l)
{
    const struct vb_service *s = l->service;
    const struct vb_mcf_step *last = l->n_steps ? &l->step[l->n_steps - 1] : NULL;
    struct vb_bounds b = {NAN, NAN, NAN};
    char name[64], gap[192] = "", from[VB_DIGITS_PAIR], to[VB_DIGITS_PAIR];
    if (!isnan(l->gap[0]))
        snprintf(gap, sizeof gap, ", none from %s to %s %s", said(l->gap[0], 0, from),
                 said(l->gap[1], 0, to), l->unit);
    snprintf(name, sizeof name, "%ss replaced an engine", s->wish.part);
    if (last)
        b = (struct vb_bounds){last->mcf, s->engines > 1 ? last->lo : NAN,
                               s->engines > 1 ? last->hi : NAN};
    if (last)
        row(r, l, s->wish.side, name, &b, "", s->count,
            "from the age of %s to %s %s; %zu of %zu engines watched at the last%s",
            said(l->first_age, 0, from), said(last->age, 0, to), l->unit, last->at_risk,
            s->engines, gap);
    else
        row(r, l, s->wish.side, name, &b, "", s->count, "%s",
            s->engines ? "none was replaced"
            : s->wish.days
                ? "no engine has a day on record"
                : "no engine has a meter on record: by --time days it may have an age");
    if (s->lost)
        row(r, l, s->wish.side, "replacements left out",
            &(struct vb_bounds){(double)s->lost, NAN, NAN}, "", (double)s->lost,
            "their age is not known, or nobody watched");
    if (!last)
        return;
    struct vb_bounds shape = {NAN, NAN, NAN};
    if (l->has_trend)
        vb_log_bounds(l->trend.shape, l->trend.var_shape, VB_LIFE_CONFIDENCE, &shape);
    row(r, l, s->wish.side, "shape of their trend", &shape, "", s->count, "%s",
        l->has_trend ? way_words(&l->trend) : l->trend_why);
}

static void
summary_lives(const struct rows *r, const struct vb_family_life *l)
{
    for (size_t i = 0; i < l->n_fits; i++) {
        const struct vb_life_fit *f = &l->fit[i];
        struct vb_bounds b = {NAN, NAN, NAN};
        size_t ended = f->n[VB_SPAN_EXACT] + f->n[VB_SPAN_INTERVAL] + f->n[VB_SPAN_LEFT];
        size_t n = ended + f->n[VB_SPAN_RIGHT];
        char name[64], out[64] = "";
        snprintf(name, sizeof name, "B10 life of a %s", life_name(l, f));
        if (f->unborn)
            snprintf(out, sizeof out, "; %zu of unknown age left out", f->unborn);
        if (f->fits)
            vb_weibull_life(&f->w, 0.1, VB_LIFE_CONFIDENCE, &b);
        if (f->fits)
            row(r, l, f->side, name, &b, l->unit, (double)n,
                "by then one in ten has ended; %zu had, shape %.2f%s", ended, f->w.shape,
                out);
        else
            row(r, l, f->side, name, &b, l->unit, (double)n, "%s%s", f->why, out);
    }
}

static const char *
saves(const struct vb_relash_advice *a, const char *unit, char *out, size_t size)
{
    char figure[VB_DIGITS_PAIR];
    out[0] = 0;
    if (isfinite(a->per_1000))
        snprintf(out, size, "; %s %s visits an engine in 1000 %s",
                 a->per_1000 < 0 ? "saves" : "costs", said(fabs(a->per_1000), 2, figure),
                 unit);
    if (isfinite(a->per_1000) && isfinite(a->per_year)) {
        size_t k = strlen(out);
        snprintf(out + k, size - k, ", %s a year of %zu engine%s",
                 said(fabs(a->per_year), 1, figure), a->engines,
                 a->engines == 1 ? "" : "s");
    }
    return out;
}

static void
summary_interval(const struct rows *r, const struct vb_family_life *l)
{
    const struct vb_relash_advice *a = &l->relash;
    struct vb_bounds b = {a->gap, NAN, NAN}, now = {100 * a->present_risk, NAN, NAN};
    char text[256], length[VB_DIGITS_PAIR], side = l->service->wish.side;
    row(r, l, side, "longest re-lash interval", &b, l->meter_unit, (double)a->rates,
        isfinite(a->gap) ? "%s%.3g %% risk an engine; %s %s if rates were known%s%s%s"
                         : "%s",
        isfinite(a->gap) ? "" : a->why, 100 * a->risk, said(a->sure_gap, 0, length),
        l->meter_unit, saves(a, l->meter_unit, text, sizeof text), *a->why ? "; " : "",
        a->why);
    if (isfinite(a->present_risk))
        row(r, l, side, "risk of the present one", &now, "%", (double)a->rates,
            "that any valve of an engine passes its tight limit in %s %s%s",
            said(a->present, 0, length), l->meter_unit,
            a->present_risk > a->risk ? ": too long" : "");
}

static void
summary_rows(const struct rows *r, const struct vb_family_life *l)
{
    summary_replaced(r, l);
    summary_lives(r, l);
    summary_interval(r, l);
}

/* --- reports ------------------------------------------------------------------------ */

static int
by_risk(const void *a, const void *b)
{
    const struct vb_family_life *x = *(const struct vb_family_life *const *)a;
    const struct vb_family_life *y = *(const struct vb_family_life *const *)b;
    double p = isnan(x->relash.present_risk) ? -1 : x->relash.present_risk;
    double q = isnan(y->relash.present_risk) ? -1 : y->relash.present_risk;
    if (p != q)
        return p > q ? -1 : 1;
    return strcmp(x->family, y->family);
}

enum vb_err
vb_report_life(const struct vb_family_life *l, size_t n, enum vb_life_what what,
               enum vb_format format, struct vb_out *out)
{
    static const struct {
        const struct vb_field *field;
        size_t n;
        void (*rows)(const struct rows *, const struct vb_family_life *);
    } kinds[] = {
        [VB_LIFE_SUMMARY] = {summary_fields, COUNT(summary_fields), summary_rows},
        [VB_LIFE_MCF] = {mcf_fields, COUNT(mcf_fields), mcf_rows},
        [VB_LIFE_WEIBULL] = {weibull_fields, COUNT(weibull_fields), weibull_rows},
        [VB_LIFE_TREND] = {trend_fields, COUNT(trend_fields), trend_rows},
        [VB_LIFE_INTERVAL] = {interval_fields, COUNT(interval_fields), interval_rows}};
    struct rows r = {NULL, vb_format_auto(format) == VB_FORMAT_TABLE};
    const struct vb_family_life **order = malloc((n + 1) * sizeof *order);
    enum vb_err e =
        order ? vb_table_new(out, format, kinds[what].field, kinds[what].n, &r.t)
              : VB_EMEM;
    for (size_t i = 0; !e && i < n; i++)
        order[i] = &l[i];
    if (!e && r.people)
        qsort(order, n, sizeof *order, by_risk);
    for (size_t i = 0; !e && i < n; i++)
        kinds[what].rows(&r, order[i]);
    free(order);
    return e ? e
             : vb_table_end(r.t, what == VB_LIFE_MCF ? "nothing was replaced"
                                                     : "there is no engine in this book");
}
