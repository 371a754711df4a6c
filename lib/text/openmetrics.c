#include "valvebook/openmetrics.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "valvebook/alert.h"
#include "valvebook/number.h"
#include "valvebook/utf8.h"

struct metrics {
    const struct vb_dues *d;
    struct vb_due_wish w;
    struct vb_out *o;
};

static void
family(struct vb_out *o, const char *name, const char *unit, const char *help)
{
    const char *text[] = {"# TYPE ",
                          name,
                          " gauge\n",
                          unit ? "# UNIT " : "",
                          unit ? name : "",
                          unit ? " " : "",
                          unit ? unit : "",
                          unit ? "\n" : "",
                          "# HELP ",
                          name,
                          " ",
                          help,
                          "\n"};
    for (size_t i = 0; i < sizeof text / sizeof *text; i++)
        vb_out_text(o, text[i]);
}

/* name="value", escaped; what is no UTF-8 becomes U+FFFD. */
static void
label(struct vb_out *o, const char *before, const char *name, const char *value)
{
    vb_out_text(o, before);
    vb_out_text(o, name);
    vb_out_text(o, "=\"");
    for (size_t n; *value; value += n) {
        n = vb_utf8_at(value, strlen(value));
        if (*value == '\n')
            vb_out_text(o, "\\n");
        else if (*value == '"' || *value == '\\')
            vb_out_text(o, *value == '"' ? "\\\"" : "\\\\");
        else
            vb_out_bytes(o, n ? value : "\xef\xbf\xbd", n ? n : 3);
        n += n == 0;
    }
    vb_out_text(o, "\"");
}

static void
number(struct vb_out *o, double x)
{
    char text[VB_NUM_MAX];
    vb_double_format(round(x * 1e6) / 1e6 + 0.0, text);
    vb_out_text(o, " ");
    vb_out_text(o, text);
    vb_out_text(o, "\n");
}

static void
alone(struct vb_out *o, const char *name, double x)
{
    vb_out_text(o, name);
    number(o, x);
}

/* One sample of a line of the list; NaN: there is none. */
static void
sample(const struct metrics *m, const char *name, const struct vb_due *d, double x)
{
    char at[VB_AT_MAX];
    if (!isfinite(x))
        return;
    vb_due_at(d, at);
    vb_out_text(m->o, name);
    label(m->o, "{", "engine", m->d->unit[d->unit].name);
    label(m->o, ",", "kind", vb_due_kind_name(d->kind));
    label(m->o, ",", "valve", at);
    vb_out_text(m->o, "}");
    number(m->o, x);
}

static enum vb_alert_level
level_of(const struct metrics *m, const struct vb_due *d)
{
    return vb_alert_level(&m->d->unit[d->unit], d, &m->w, 0);
}

static void
counts(const struct metrics *m)
{
    static const char name[] = "valvebook_due_lines";
    static const enum vb_alert_level level[] = {VB_ALERT_NONE, VB_ALERT_DUE,
                                                VB_ALERT_OVER};
    family(m->o, name, NULL,
           "Lines of the due list: over, due (may be so by now, or look) or later.");
    for (int k = 0; k < VB_DUE_COUNT; k++)
        for (size_t l = 0; l < sizeof level / sizeof *level; l++) {
            double n = 0;
            for (size_t i = 0; i < m->d->n; i++)
                n +=
                    (int)m->d->due[i].kind == k && level_of(m, &m->d->due[i]) == level[l];
            vb_out_text(m->o, name);
            label(m->o, "{", "kind", vb_due_kind_name((enum vb_due_kind)k));
            label(m->o, ",", "level", l ? vb_alert_level_name(level[l]) : "later");
            vb_out_text(m->o, "}");
            number(m->o, n);
        }
}

static void
lefts(const struct metrics *m, const char *name, const char *unit, const char *meter_unit)
{
    family(m->o, name, unit, "Meter left to the early bound, from the last reading.");
    for (size_t i = 0; i < m->d->n; i++) {
        const struct vb_due *d = &m->d->due[i];
        const struct vb_due_unit *u = &m->d->unit[d->unit];
        if (strcmp(u->meter_unit, meter_unit) == 0)
            sample(m, name, d, d->due_running - u->last_running);
    }
}

static void
days_and_over(const struct metrics *m)
{
    static const char days[] = "valvebook_due_days", over[] = "valvebook_due_over";
    family(m->o, days, "days", "Days from as_of to the early bound; below 0 where past.");
    for (size_t i = 0; i < m->d->n; i++)
        sample(m, days, &m->d->due[i],
               vb_alert_day(m->d->due[i].due_day) - vb_alert_day(m->w.as_of));
    family(m->o, over, NULL, "1 where a limit is passed or the planned time is over.");
    for (size_t i = 0; i < m->d->n; i++)
        sample(m, over, &m->d->due[i], level_of(m, &m->d->due[i]) == VB_ALERT_OVER);
}

void
vb_openmetrics_due(const struct vb_dues *d, double as_of, struct vb_out *o)
{
    static const char last[] = "valvebook_last_visit_timestamp_seconds";
    struct metrics m = {
        d, {.as_of = as_of, .within_days = NAN, .within_h = NAN, .within_km = NAN}, o};
    family(o, "valvebook_as_of_timestamp_seconds", "seconds",
           "The day that is looked at.");
    alone(o, "valvebook_as_of_timestamp_seconds", round(as_of * 86400));
    family(o, "valvebook_engines", NULL, "Engines in service.");
    alone(o, "valvebook_engines", (double)d->in_service);
    family(o, last, "seconds", "The newest visit of an engine in service.");
    if (d->visited)
        alone(o, last, round(d->newest * 86400));
    counts(&m);
    days_and_over(&m);
    lefts(&m, "valvebook_due_left_hours", "hours", "h");
    lefts(&m, "valvebook_due_left_kilometers", "kilometers", "km");
    vb_out_text(o, "# EOF\n");
}
