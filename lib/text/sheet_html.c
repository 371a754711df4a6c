/* A setting sheet as a page for paper: black on white, nothing is said by colour. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "sheet_impl.h"
#include "valvebook/digits.h"
#include "valvebook/html.h"
#include "valvebook/sheet.h"

static const char style[] =
    "@page { size: A4 portrait; margin: 11mm 12mm }\n"
    "* { box-sizing: border-box }\n"
    "body { margin: 1rem auto; padding: 0 1rem; max-width: 52rem; color: #000;\n"
    "  background: #fff; font: 9pt/1.3 system-ui, sans-serif;\n"
    "  font-variant-numeric: tabular-nums }\n"
    "header { display: flex; justify-content: space-between; align-items: baseline;\n"
    "  gap: 2rem; border-bottom: 2pt solid; padding-bottom: 1mm }\n"
    "h1 { font-size: 17pt; line-height: 1.1; margin: 0; overflow-wrap: anywhere }\n"
    "header p { margin: 0; text-align: right }\n"
    ".hand { display: flex; gap: 6mm; margin: 3mm 0 2mm }\n"
    ".hand span { flex: 1; border-bottom: .6pt solid; font-size: 8pt }\n"
    ".shims { border: 1pt solid; padding: 1mm 2mm; margin: 2mm 0 }\n"
    ".shims p { margin: 0 }\n"
    "table { border-collapse: collapse; width: 100% }\n"
    "thead { display: table-header-group }\n"
    "th { font-size: 7.5pt; font-weight: 600; text-align: left; vertical-align: bottom;\n"
    "  border-bottom: 1pt solid; padding: .5mm .9mm }\n"
    "td { padding: .55mm .9mm; border-bottom: .4pt solid #777; vertical-align: middle "
    "}\n"
    "tbody { border-bottom: 1.6pt solid; break-inside: avoid }\n"
    "td.do, th.do { padding-left: 2.5mm }\n"
    "td.do { width: 100% }\n"
    "td.at { font-weight: 600; vertical-align: top; border-right: .4pt solid #777;\n"
    "  line-height: 1.2; white-space: nowrap }\n"
    "td.at small, small { font-size: 8pt; font-weight: 400 }\n"
    ".n { text-align: right; white-space: nowrap }\n"
    ".v, .to { font-weight: 700 }\n"
    "small { display: block; line-height: 1.15 }\n"
    ".wide td.n { font-size: 8pt }\n"
    "td.w { width: 17mm }\n"
    "td.w i { display: block; border: .8pt solid; height: 4.6mm; min-width: 16mm }\n"
    ".notes, .care { font-size: 8pt; margin: 2mm 0 0 }\n"
    ".notes p { margin: 0 }\n"
    ".care { border: 1.6pt solid; padding: 1mm 2mm; break-inside: avoid }\n"
    "@media print { body { margin: 0; padding: 0; max-width: none } }\n";

static void
paragraph(void *out, const char *text)
{
    vb_html_put(out, "<p>%s</p>\n", text);
}

static void
top(const struct vb_sheet *s, struct vb_out *o)
{
    char count[WORDS], meter[48] = "";
    if (!isnan(s->meter))
        snprintf(meter, sizeof meter, ", %.10g %s", s->meter, s->unit->meter_unit);
    vb_html_put(o, "<header><h1>%s</h1><p>%s<br>\n", s->unit->name, s->unit->family_name);
    vb_html_put(o, "%s %s%s", s->wish.plan ? "plan of" : "setting of", s->date, meter);
    if (*words_newest(s))
        vb_html_put(o, ", read %s", words_newest(s));
    vb_html_put(o, "<br>%s</p></header>\n", words_count(s, count, sizeof count));
    if (!s->wish.plan)
        vb_out_text(o, "<div class=\"hand\"><span>set by</span><span>engine at "
                       "(\xc2\xb0"
                       "C)</span><span>gauge</span><span>meter</span></div>\n");
}

struct boxed {
    struct vb_out *out;
    int open;
};

static void
in_box(void *arg, const char *text)
{
    struct boxed *b = arg;
    if (!b->open)
        vb_out_text(b->out, "<div class=\"shims\">\n");
    b->open = 1;
    paragraph(b->out, text);
}

static void
shims(const struct vb_sheet *s, enum vb_length length, struct vb_out *o)
{
    struct boxed b = {o, 0};
    words_shims(s, length, in_box, &b);
    if (b.open)
        vb_out_text(o, "</div>\n");
}

static void
cell(struct vb_out *o, enum vb_length length, double mm)
{
    char text[VB_LENGTH_TEXT];
    vb_html_put(o, "<td class=\"n\">%s</td>",
                isnan(mm) ? "" : vb_length_print(length, mm, text));
}

/* In two lines, since it is the task that wants room: "1 fires," and "6 rocks". */
static void
at_tdc(const char *text, struct vb_out *o)
{
    size_t end = strlen(text), n = strcspn(text, ",:");
    n += n < end;
    vb_html_text(o, text, n);
    if (n < end)
        vb_out_text(o, "<br>");
    vb_html_text(o, text + n, end - n);
}

/* The cell of a position beside all of its rows. */
static void
position(const struct vb_sheet *s, size_t i, struct vb_out *o)
{
    char text[WORDS];
    size_t n = 1;
    int stop = s->row[i].stop;
    while (i + n < s->n && s->row[i + n].stop == stop)
        n++;
    vb_html_put(o, "<tbody><tr><td class=\"at\" rowspan=\"%zu\">", n);
    words_stop(s, stop, text, sizeof text);
    if (stop >= 0 && !isnan(s->crank.stop[stop].deg)) {
        vb_html_put(o, "%.0f\xc2\xb0<small>", s->crank.stop[stop].deg);
        at_tdc(text, o);
        vb_out_text(o, "</small></td>");
    } else {
        vb_html_put(o, "%s</td>", text);
    }
}

/* With its date where that is not the newest, which stands above. */
static void
found(const struct vb_sheet *s, const struct vb_sheet_row *r, enum vb_length l,
      struct vb_out *o)
{
    int usual = vb_length_decimals(l), decimals = usual;
    for (size_t i = 0; i < s->n; i++) {
        int need = vb_digits(vb_length_of(l, s->row[i].found),
                             vb_length_of(l, s->row[i].u), usual);
        decimals = need > decimals ? need : decimals;
    }
    vb_out_text(o, "<td class=\"n\">");
    if (!isnan(r->found))
        vb_html_put(o, "%.*f", decimals, vb_length_of(l, r->found));
    if (!isnan(r->u))
        vb_html_put(o, " \xc2\xb1 %.*f", decimals, vb_length_of(l, r->u));
    if (*r->date && strcmp(r->date, words_newest(s)) != 0)
        vb_html_put(o, "<small>%s</small>", r->date);
    vb_out_text(o, "</td>");
}

static void
row(const struct vb_sheet *s, const struct vb_sheet_row *r, enum vb_length length,
    struct vb_out *o)
{
    char text[WORDS];
    int leave = r->todo == VB_TODO_LEAVE || r->todo == VB_TODO_KEEP;
    vb_valve_format(r->valve, text);
    vb_html_put(o, "<td class=\"v\">%s</td>", text);
    found(s, r, length, o);
    cell(o, length, r->target);
    vb_html_put(o, "<td class=\"n\">%s</td>", words_window(r, length, text, sizeof text));
    const char *is = words_verdict(r);
    vb_html_put(o, "<td class=\"%s\">%s</td>", strcmp(is, "out") ? "" : "to",
                strcmp(is, "out") ? is : "OUT");
    vb_html_put(o, "<td class=\"%s\">%s", leave ? "do" : "do to",
                words_task(s, r, length, text, sizeof text));
    vb_out_text(o, "</td>");
    cell(o, length, r->reads);
    if (!s->wish.plan)
        vb_out_text(o, "<td class=\"w\"><i></i></td>");
    vb_out_text(o, "</tr>\n");
}

static void
headings(const struct vb_sheet *s, enum vb_length length, struct vb_out *o)
{
    const char *unit = vb_length_name(length);
    vb_html_put(o,
                "<thead><tr><th>crank</th><th>valve</th><th class=\"n\">%s<br>%s</th>"
                "<th class=\"n\">target<br>%s</th><th class=\"n\">window<br>%s</th>"
                "<th>is</th><th class=\"do\">do",
                s->wish.plan ? "expected" : "found", unit, unit, unit);
    if (words_has_shims(s))
        vb_out_text(o, "<br>shims in mm");
    vb_html_put(o, "</th><th class=\"n\">then<br>reads<br>%s</th>", unit);
    if (!s->wish.plan)
        vb_html_put(o, "<th>left<br>%s</th>", unit);
    vb_out_text(o, "</tr></thead>\n");
}

static void
table(const struct vb_sheet *s, enum vb_length length, struct vb_out *o)
{
    vb_out_text(o, length == VB_LENGTH_IN ? "<table class=\"wide\">\n" : "<table>\n");
    headings(s, length, o);
    for (size_t i = 0; i < s->n; i++) {
        if (i == 0 || s->row[i - 1].stop != s->row[i].stop)
            position(s, i, o);
        else
            vb_out_text(o, "<tr>");
        row(s, &s->row[i], length, o);
        if (i + 1 == s->n || s->row[i + 1].stop != s->row[i].stop)
            vb_out_text(o, "</tbody>\n");
    }
    vb_out_text(o, "</table>\n");
}

void
vb_report_sheet_html(const struct vb_sheet *s, enum vb_length length, struct vb_out *o)
{
    vb_html_begin(o, s->unit->name, style);
    top(s, o);
    shims(s, length, o);
    table(s, length, o);
    vb_out_text(o, "<div class=\"notes\">\n");
    words_notes(s, length, paragraph, o);
    vb_html_put(o, "</div>\n<p class=\"care\">%s</p>\n", vb_cautions);
    vb_html_end(o);
}
