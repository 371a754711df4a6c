/* The page: one engine after the other, and the foot. */
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

#define NAME 80

/* Lives of one engine, worst first. */
struct listed {
    size_t life, rank;
};

static int
by_rank(const void *a, const void *b)
{
    const struct listed *x = a, *y = b;
    if (x->rank != y->rank)
        return x->rank < y->rank ? -1 : 1;
    return (x->life > y->life) - (x->life < y->life);
}

static size_t
list_valves(const struct vb_trend_report *t, size_t unit, struct listed *out)
{
    size_t n = 0;
    for (size_t i = t->first_life[unit]; i < t->first_life[unit + 1]; i++)
        if (trend_in_use(t, i))
            out[n++] = (struct listed){i, t->due_of[i]};
    qsort(out, n, sizeof *out, by_rank);
    return n;
}

static void
put_facts(struct vb_trend_report *t, const struct vb_unit_now *u)
{
    char date[VB_DATE_MAX];
    trend_date(u->last_day, date);
    vb_html_put(t->o, "<p class=\"soft\">Family %s", u->family_name);
    if (!isnan(u->last_running))
        vb_html_put(t->o, "; %.*f %s on %s", vb_digits(u->last_meter, NAN, 0),
                    u->last_meter, u->meter_unit, date);
    if (u->pace > 0)
        vb_html_put(t->o, ", %.*f %s a day of late", vb_digits(u->pace, NAN, 1), u->pace,
                    u->meter_unit);
    if (u->build[0])
        vb_html_put(t->o, "; build %s", u->build);
    if (!isnan(u->set_day))
        vb_html_put(t->o, "; last set or confirmed %s", u->set_date);
    trend_date(u->plan_day, date);
    if (date[0])
        vb_html_put(t->o, "; planned: %s on %s", u->plan_label, date);
    vb_out_text(t->o, ".</p>\n");
}

static void
put_dues(struct vb_trend_report *t, size_t unit)
{
    size_t n = 0;
    for (size_t i = 0; i < t->soon.n; i++) {
        if (t->soon.due[i].engine != unit)
            continue;
        vb_out_text(t->o, n++ ? "<li>" : "<ul class=\"dues\">\n<li>");
        page_due(t, &t->soon.due[i]);
        vb_out_text(t->o, "</li>\n");
    }
    vb_out_text(t->o, n ? "</ul>\n" : "");
}

/* A figure and how well it is known; blank for what is not. */
static void
put_number(struct vb_trend_report *t, int decimals, double x, double u)
{
    vb_out_text(t->o, "<td class=\"num\">");
    if (isfinite(x))
        vb_html_put(t->o, "%.*f", decimals, x);
    if (isfinite(x) && isfinite(u))
        vb_html_put(t->o, " \xc2\xb1 %.*f", decimals, u);
    vb_out_text(t->o, "</td>");
}

static const char *
verdict_of(const struct vb_state *st)
{
    if (!st->has_verdict)
        return "";
    return st->verdict.verdict == VB_VERDICT_IN    ? "in"
           : st->verdict.verdict == VB_VERDICT_OUT ? "out"
           : st->verdict.at < 0                    ? "close to tight"
                                                   : "close to loose";
}

/* Decimals of its columns. */
struct decimals {
    int due, lash, rate;
};

static int
larger(int a, int b)
{
    return a > b ? a : b;
}

static struct decimals
decimals_of(const struct vb_trend_report *t, const struct listed *l, size_t n)
{
    struct decimals d = {0, 3, 2};
    for (size_t i = 0; i < n; i++) {
        const struct vb_life *life = &t->f->lives.life[l[i].life];
        struct vb_state st;
        vb_fleet_state(t->f, l[i].life, &st);
        if (l[i].rank != NO_DUE) {
            const struct vb_due *due = &t->all.due[l[i].rank];
            double at = due->due_running - t->f->unit[life->engine].offset;
            d.due = larger(d.due, vb_digits(at, vb_due_meter_u(due), 0));
        }
        d.lash =
            larger(d.lash, vb_digits(life->wear.now, vb_fleet_lash_u(t->f, life), 3));
        d.rate = larger(d.rate, vb_digits(1000 * st.rate, 1000 * sqrt(st.var), 2));
    }
    return d;
}

static void
put_row(struct vb_trend_report *t, const struct listed *l, struct decimals decimals)
{
    const struct vb_life *life = &t->f->lives.life[l->life];
    const struct vb_unit_now *u = &t->f->unit[life->engine];
    const struct vb_due *d = l->rank == NO_DUE ? NULL : &t->all.due[l->rank];
    struct vb_state st;
    char at[VB_VALVE_MAX], date[VB_DATE_MAX];
    vb_fleet_state(t->f, l->life, &st);
    vb_valve_format(life->valve, at);
    trend_date(d ? d->due_day : NAN, date);
    vb_html_put(t->o, "<tr><th scope=\"row\">%s</th><td>%s</td>", at, date);
    put_number(t, decimals.due, d ? d->due_running - u->offset : NAN, NAN);
    vb_html_put(t->o, "<td>%s</td>", d ? vb_due_kind_name(d->kind) : "");
    put_number(t, decimals.lash, life->wear.now, vb_fleet_lash_u(t->f, life));
    vb_html_put(t->o, "<td>%s</td>", verdict_of(&st));
    put_number(t, decimals.rate, 1000 * st.rate, 1000 * sqrt(st.var));
    put_number(t, 0, (double)life->wear.n, NAN);
    vb_out_text(t->o, "</tr>\n");
}

/* What the charts show of the newest reading, in figures, and of the valves without one. */
static void
put_table(struct vb_trend_report *t, const struct vb_unit_now *u, const struct listed *l,
          size_t n)
{
    char name[NAME];
    struct decimals decimals = decimals_of(t, l, n);
    vb_quote(u->name, strlen(u->name), name, sizeof name);
    vb_html_put(
        t->o,
        "<section class=\"wide\" tabindex=\"0\" aria-label=\"All valves of %s\">\n"
        "<table>\n<caption>All valves of %s</caption>\n<thead><tr>"
        "<th scope=\"col\">valve</th><th scope=\"col\">due by</th>",
        name, name);
    vb_html_put(t->o,
                "<th scope=\"col\" class=\"num\">at %s</th><th scope=\"col\">for</th>"
                "<th scope=\"col\" class=\"num\">lash \xc2\xb1 u, mm</th>"
                "<th scope=\"col\">is</th><th scope=\"col\" class=\"num\">"
                "rate \xc2\xb1 se, mm/1000 %s</th>"
                "<th scope=\"col\" class=\"num\">readings</th></tr></thead>\n<tbody>\n",
                u->meter_unit, u->meter_unit);
    for (size_t i = 0; i < n; i++)
        put_row(t, &l[i], decimals);
    vb_out_text(t->o, "</tbody>\n</table>\n</section>\n");
}

enum vb_err
page_engine(struct vb_trend_report *t, size_t unit, const struct vb_engine *e,
            const struct vb_points *points)
{
    const struct vb_unit_now *u = &t->f->unit[unit];
    size_t lives = t->first_life[unit + 1] - t->first_life[unit];
    struct listed *l = malloc((lives + 1) * sizeof *l);
    enum vb_err err = l ? VB_OK : VB_EMEM;
    if (err)
        return err;
    size_t n = list_valves(t, unit, l);
    vb_out_text(t->o, "<section>\n<h2>");
    vb_html_cut(t->o, u->name, strlen(u->name), NAME);
    vb_out_text(t->o, "</h2>\n");
    put_facts(t, u);
    put_dues(t, unit);
    vb_out_text(t->o, "<div class=\"charts\">\n");
    for (size_t i = 0; !err && i < n; i++)
        if (t->charted[l[i].life] == CHARTED) {
            struct shown_valve v = trend_valve(t, l[i].life, e, points);
            err = page_valve(&v);
        }
    if (!err)
        err = page_cams(t, unit);
    vb_out_text(t->o, "</div>\n");
    if (n)
        put_table(t, u, l, n);
    vb_out_text(t->o, "</section>\n");
    free(l);
    return err;
}

/* How much is behind it all. */
static void
put_counts(struct vb_trend_report *t)
{
    size_t ended = 0, valves = 0, readings = 0, with_u = 0, no_meter = 0, no_temp = 0;
    for (size_t i = 0; i < t->f->n_units; i++)
        ended += t->f->unit[i].ended ? 1u : 0u;
    for (size_t i = 0; i < t->f->lives.n; i++) {
        const struct vb_life *l = &t->f->lives.life[i];
        valves += trend_in_use(t, i) ? 1u : 0u;
        readings += l->wear.n;
        with_u += l->with_u;
        no_meter += l->no_meter;
        no_temp += l->no_temp;
    }
    vb_html_put(t->o, "<p>Book %s, as of %s. Engines: %zu (out of the fleet: %zu). ",
                t->w->book, t->w->as_of, t->f->n_units, ended);
    vb_html_put(
        t->o,
        "Valves in use: %zu. Lash readings: %zu (without a stated u: %zu; without a "
        "temperature, where it matters: %zu). Not used, for want of a meter: "
        "%zu.</p>\n",
        valves, readings, readings - with_u, no_temp, no_meter);
}

void
page_end(struct vb_trend_report *t)
{
    if (t->n_left_out)
        vb_html_put(t->o,
                    "<p>%zu more valves need attention and have no chart here; valve-due "
                    "lists them, valve-trend --engine shows them.</p>\n",
                    t->n_left_out);
    vb_out_text(t->o, "</main>\n<footer>\n");
    put_counts(t);
    vb_html_put(t->o, "<p>%s</p>\n</footer>\n", vb_cautions);
    vb_html_end(t->o);
}
