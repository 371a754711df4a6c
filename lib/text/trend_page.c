/* The page: what is worst in words, all engines, and what stands around the charts. */
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "trend_impl.h"
#include "valvebook/date.h"
#include "valvebook/digits.h"
#include "valvebook/html.h"
#include "valvebook/table.h"
#include "valvebook/valve.h"

#define NAME 40 // characters of a name in a heading or a list; a title has 80

/* One column of text, charts side by side as the width allows, nothing wider than the
 * screen. Printed, no chart and no line of a table is cut in two. */
static const char page_style[] =
    "* { box-sizing: border-box; }\n"
    "body { margin: 0 auto; padding: 1rem; max-width: 90rem; background: var(--paper);\n"
    "  color: var(--ink); font: 1rem/1.45 system-ui, sans-serif; overflow-wrap: "
    "anywhere; }\n"
    "h1 { font-size: 1.4rem; margin: 0 0 0.3rem; }\n"
    "h2 { font-size: 1.2rem; margin: 2rem 0 0.4rem; padding-top: 0.6rem;\n"
    "  border-top: 2px solid var(--ink); }\n"
    "h3 { font-size: 1rem; margin: 0 0 0.3rem; }\n"
    "p { margin: 0.3rem 0; max-width: 60rem; }\n"
    ".soft { color: var(--soft); }\n"
    ".worst { margin-top: 1rem; padding: 0.7rem 1rem; background: var(--card);\n"
    "  border: 2px solid var(--limit); border-left-width: 10px; }\n"
    ".worst h2 { margin: 0; padding: 0; border: 0; font-size: 1.25rem; }\n"
    ".fleet, .dues { margin: 0.6rem 0; padding: 0; list-style: none; counter-reset: n; "
    "}\n"
    ".fleet li, .dues li { padding: 0.45rem 0; border-top: 1px solid var(--rule); }\n"
    ".fleet li { display: grid; gap: 0 1rem; counter-increment: n;\n"
    "  grid-template-columns: 2rem 1fr; }\n"
    ".fleet li::before { content: counter(n) \".\"; color: var(--soft); text-align: "
    "right; }\n"
    ".fleet li > * { grid-column: 2; }\n"
    ".who { font-weight: bold; }\n"
    "time { white-space: nowrap; }\n"
    ".charts { display: grid; gap: 1rem; margin: 1rem 0;\n"
    "  grid-template-columns: repeat(auto-fill, minmax(min(24rem, 100%), 1fr)); }\n"
    "figure { margin: 0; padding: 0.7rem; background: var(--card);\n"
    "  border: 1px solid var(--rule); }\n"
    "figcaption { font-size: 0.9rem; margin-top: 0.4rem; }\n"
    "figcaption ul { margin: 0.2rem 0; padding-left: 1.1rem; }\n"
    ".wide { overflow-x: auto; }\n"
    "table { border-collapse: collapse; font-size: 0.9rem; margin: 0.6rem 0;\n"
    "  font-variant-numeric: tabular-nums; }\n"
    "caption { text-align: left; padding: 0.3rem 0; font-weight: bold; }\n"
    "th, td { padding: 0.2rem 0.5rem; text-align: left; vertical-align: top;\n"
    "  border-bottom: 1px solid var(--rule); white-space: nowrap; }\n"
    "thead th { vertical-align: bottom; white-space: normal; }\n"
    "th, td { overflow-wrap: normal; }\n"
    ".num { text-align: right; }\n"
    "footer { margin-top: 2rem; border-top: 2px solid var(--ink); font-size: 0.9rem; }\n"
    "@media (min-width: 60rem) {\n"
    "  .fleet li { grid-template-columns: 2rem 10rem 12rem 21rem 1fr; }\n"
    "  .fleet li > * { grid-column: auto; }\n"
    "  .fleet li > .who { grid-column: 2; }\n"
    "}\n"
    "@media (max-width: 30rem) {\n"
    "  body { padding: 0.6rem; }\n"
    "  th, td { padding: 0.2rem 0.3rem; }\n"
    "}\n"
    "@page { size: A4; margin: 14mm; }\n"
    "@media print {\n"
    "  body { max-width: none; padding: 0; font-size: 10pt; background: none; }\n"
    "  figcaption, table { font-size: 8.5pt; }\n"
    "  .charts { grid-template-columns: 1fr 1fr; }\n"
    "  figure, tr, .worst, .fleet li, .dues li { break-inside: avoid; }\n"
    "  h2, h3, caption { break-after: avoid; }\n"
    "  thead { display: table-header-group; break-after: avoid; }\n"
    "  tbody tr:nth-child(-n+3) { break-before: avoid; }\n"
    "  .wide { overflow: visible; }\n"
    "}\n";

static const char *const kind_words[] = {
    [VB_DUE_LASH] = "lash leaves its window",
    [VB_DUE_SEAT] = "seat reaches its limit",
    [VB_DUE_CHECK] = "look again",
    [VB_DUE_TIMING] = "its timing",
    [VB_DUE_INTERVAL] = "setting by plan",
    [VB_DUE_UNREAD] = "valves never read",
};

static void
put_name(struct vb_out *o, const char *name)
{
    vb_html_cut(o, name, strlen(name), NAME);
}

/* Words with their dates marked, so that none is torn at the end of a line. */
void
page_words(struct vb_out *o, const char *s)
{
    size_t n = strlen(s), plain = 0;
    for (size_t i = 0; i + 10 <= n; i++) {
        char date[VB_DATE_MAX];
        if ((i && isalnum((unsigned char)s[i - 1])) ||
            isalnum((unsigned char)s[i + 10]) || vb_date_parse(s + i, 10, "", date))
            continue;
        vb_html_text(o, s + plain, i - plain);
        vb_html_put(o, "<time>%s</time>", date);
        plain = i += 10;
    }
    vb_html_text(o, s + plain, n - plain);
}

static void
put_day(struct vb_out *o, const char *before, double day)
{
    char date[VB_DATE_MAX];
    trend_date(day, date);
    vb_html_put(o, "%s<time>%s</time>", before, date);
}

/* "in 12 days", "today", "13 days ago" */
static void
put_distance(const struct vb_trend_report *t, double day)
{
    double days = floor(day + 1e-6) - floor(t->w->within.as_of + 1e-6);
    const char *plural = fabs(days) == 1 ? "" : "s";
    if (days == 0)
        vb_out_text(t->o, "today");
    else if (days > 0)
        vb_html_put(t->o, "in %.0f day%s", days, plural);
    else
        vb_html_put(t->o, "%.0f day%s ago", -days, plural);
}

static void
put_meter(const struct vb_trend_report *t, const struct vb_due *d)
{
    const struct vb_unit_now *u = &t->f->unit[d->engine];
    double left = d->due_running - u->last_running, at = d->due_running - u->offset;
    int decimals = vb_digits(at, vb_due_meter_u(d), 0);
    vb_html_put(t->o, "at %.*f %s, ", decimals, at, u->meter_unit);
    if (left < -0.5 * pow(10, -decimals))
        vb_html_put(t->o, "%.*f %s over", decimals, -left, u->meter_unit);
    else
        vb_html_put(t->o, "%.*f %s left", decimals, fmax(0, left), u->meter_unit);
}

static void
put_when(struct vb_trend_report *t, const struct vb_due *d)
{
    const struct vb_unit_now *u = &t->f->unit[d->engine];
    int has_day = !isnan(d->due_day), has_meter = !isnan(d->due_running);
    vb_out_text(t->o, "<strong>");
    if (has_day)
        put_day(t->o, "due by ", d->due_day);
    else
        vb_out_text(t->o, has_meter ? "due " : "due, no date known");
    if (has_day && has_meter)
        vb_out_text(t->o, ", ");
    if (has_meter)
        put_meter(t, d);
    vb_out_text(t->o, "</strong>");
    if (has_day) {
        vb_out_text(t->o, " (");
        put_distance(t, d->due_day);
        vb_out_text(t->o, ")");
    } else if (has_meter) {
        vb_out_text(t->o, " (no date: the meter's pace is not known)");
    }
    if (d->kind <= VB_DUE_SEAT && d->now)
        vb_out_text(t->o, ". Beyond its limit already");
    else if (d->kind <= VB_DUE_SEAT && !isnan(d->expected_running)) {
        double at = d->expected_running - u->offset;
        vb_html_put(t->o, ". Expected at %.*f %s", vb_digits(at, vb_due_meter_u(d), 0),
                    at, u->meter_unit);
        if (!isnan(d->expected_day))
            put_day(t->o, ", ", d->expected_day);
    }
    vb_out_text(t->o, ".");
}

static void
put_reason(struct vb_trend_report *t, const struct vb_due *d, const char *before,
           const char *behind)
{
    vb_out_text(t->o, before);
    page_words(t->o, d->reason);
    vb_out_text(t->o, behind);
}

/* What a line of the list is about: a valve, or the engine. */
static void
put_what(struct vb_trend_report *t, const struct vb_due *d)
{
    char at[VB_VALVE_MAX];
    vb_valve_format(d->at, at);
    if (d->at.cyl)
        vb_html_put(t->o, "<b>valve %s</b>: %s", at, kind_words[d->kind]);
    else if (d->cam[0])
        vb_html_put(t->o, "<b>cam %s</b>: %s", d->cam, kind_words[d->kind]);
    else
        vb_html_put(t->o, "<b>%s</b>", kind_words[d->kind]);
}

void
page_due(struct vb_trend_report *t, const struct vb_due *d)
{
    put_what(t, d);
    vb_out_text(t->o, ", ");
    put_when(t, d);
    put_reason(t, d, " ", ".");
}

/* The first line that speaks of a valve: of one that wears before one to be looked at. */
static const struct vb_due *
worst_valve(const struct vb_trend_report *t)
{
    const struct vb_due *check = NULL;
    for (size_t i = 0; i < t->all.n; i++) {
        const struct vb_due *d = &t->all.due[i];
        if (d->kind <= VB_DUE_SEAT)
            return d;
        if (d->kind == VB_DUE_CHECK && !check)
            check = d;
    }
    return check;
}

/* The other lines about the same valve that need attention. */
static void
put_more(struct vb_trend_report *t, const struct vb_due *worst)
{
    for (size_t i = 0; i < t->soon.n; i++) {
        const struct vb_due *d = &t->soon.due[i];
        if (d->kind == worst->kind || d->engine != worst->engine ||
            !vb_valve_same(d->at, worst->at))
            continue;
        vb_html_put(t->o, "<p>Also, %s: ", kind_words[d->kind]);
        put_when(t, d);
        put_reason(t, d, " ", ".</p>\n");
    }
}

/* Whoever reads no further has read which valve, when and why. */
static void
put_worst(struct vb_trend_report *t)
{
    const struct vb_due *d = worst_valve(t);
    char at[VB_VALVE_MAX], words[VALVE_WORDS];
    vb_out_text(t->o, "<section class=\"worst\">\n");
    if (!d) {
        vb_html_put(t->o, "<h2>Worst valve: none</h2>\n<p>%s.</p>\n</section>\n",
                    t->f->n_units == 0   ? "There is no engine in this book"
                    : t->f->lives.n == 0 ? "No valve has been read yet"
                                         : "No valve moves towards a limit");
        return;
    }
    vb_valve_format(d->at, at);
    trend_valve_words(d->at, words);
    vb_out_text(t->o, "<h2>Worst valve: engine ");
    put_name(t->o, t->f->unit[d->engine].name);
    vb_html_put(t->o, ", valve %s</h2>\n<p>%s, %s: ", at, words, kind_words[d->kind]);
    put_when(t, d);
    put_reason(t, d, "</p>\n<p>Why: ", ".</p>\n");
    put_more(t, d);
    vb_out_text(t->o, "</section>\n");
}

static void
put_engine_name(struct vb_trend_report *t, size_t unit)
{
    const struct vb_unit_now *u = &t->f->unit[unit];
    put_name(t->o, u->name);
    vb_out_text(t->o, " <span class=\"soft\">");
    put_name(t->o, u->family_name);
    vb_out_text(t->o, "</span>");
}

static void
put_fleet_cells(struct vb_trend_report *t, const struct vb_due *d)
{
    vb_out_text(t->o, "<span>");
    put_what(t, d);
    vb_out_text(t->o, "</span><span>");
    put_when(t, d);
    put_reason(t, d, "</span><span>", "</span>");
}

static const struct vb_due *
line_at(const struct vb_trend_report *t, size_t i)
{
    return i == NO_DUE ? NULL : &t->all.due[i];
}

/* Where the engine itself is due first, its worst valve is named all the same. */
static void
put_fleet_line(struct vb_trend_report *t, size_t unit)
{
    const struct vb_due *d = line_at(t, t->due_of_unit[unit]);
    const struct vb_due *v = line_at(t, t->due_of_its_valves[unit]);
    vb_out_text(t->o, "<li><span class=\"who\">");
    put_engine_name(t, unit);
    vb_out_text(t->o, "</span>");
    if (d)
        put_fleet_cells(t, d);
    else
        vb_out_text(t->o, "<span>nothing is due</span><span></span><span></span>");
    if (v && v != d) {
        vb_out_text(t->o, "<span class=\"who soft\">its worst valve</span>");
        put_fleet_cells(t, v);
    }
    vb_out_text(t->o, "</li>\n");
}

static enum vb_err
put_head(struct vb_trend_report *t)
{
    char title[120], book[80];
    size_t n = strlen(vb_chart_style);
    char *style = malloc(n + sizeof page_style);
    if (!style)
        return VB_EMEM;
    memcpy(style, vb_chart_style, n);
    memcpy(style + n, page_style, sizeof page_style);
    vb_quote(t->w->book, strlen(t->w->book), book, sizeof book);
    snprintf(title, sizeof title, "Valves, %.10s: %s", t->w->as_of, book);
    vb_html_begin(t->o, title, style);
    free(style);
    vb_html_put(t->o,
                "<header>\n<h1>Valves, as of %s</h1>\n<p class=\"soft\">Book %s</p>\n"
                "</header>\n<main>\n",
                t->w->as_of, t->w->book);
    return VB_OK;
}

enum vb_err
page_begin(struct vb_trend_report *t)
{
    enum vb_err e = put_head(t);
    if (e)
        return e;
    put_worst(t);
    vb_out_text(t->o, "<section>\n<h2>Engines, the most urgent first</h2>\n"
                      "<p>Due is the early bound, one-sided 95 %: the first meter at "
                      "which a limit may be met. Expected is as likely late as early. "
                      "A figure behind \xc2\xb1 is a standard error or uncertainty.</p>\n"
                      "<ol class=\"fleet\">\n");
    for (size_t i = 0; i < t->n_order; i++)
        put_fleet_line(t, t->order[i]);
    vb_out_text(t->o, "</ol>\n</section>\n");
    if (!t->n_shown)
        return VB_OK;
    vb_out_text(t->o, "<section>\n<h2>How to read the charts</h2>\n");
    vb_chart_legend(t->o);
    vb_out_text(t->o, "<p>Lash in mm at the valve tip and 20 \xc2\xb0"
                      "C. The scale below has the meter, and the date it stood there or "
                      "will stand.</p>\n</section>\n");
    return VB_OK;
}
