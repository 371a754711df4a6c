#include "valvebook/ical.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "valvebook/alert.h"
#include "valvebook/date.h"
#include "valvebook/digits.h"
#include "valvebook/hash.h"
#include "valvebook/table.h"
#include "valvebook/utf8.h"

#define LINE  75 // octets, without its end
#define TEXT  1600
#define STAMP 32 // 20261101T061500Z

/* A line of content, folded between characters. */
static void
line(struct vb_out *o, const char *name, const char *value)
{
    size_t col = strlen(name) + 1, n;
    vb_out_text(o, name);
    vb_out_text(o, ":");
    for (; *value; value += n, col += n) {
        n = vb_utf8_at(value, strlen(value));
        n += n == 0;
        if (col + n > LINE) {
            vb_out_text(o, "\r\n ");
            col = 1;
        }
        vb_out_bytes(o, value, n);
    }
    vb_out_text(o, "\r\n");
}

/* Append data to a TEXT value, as far as there is room for a whole character. */
static void
add(char *text, size_t *at, const char *s)
{
    const char *end = s + strlen(s), *ch;
    for (size_t n; (n = vb_utf8_next(&s, end, &ch)) && *at + n + 2 < TEXT;) {
        if (strchr("\\;,", *ch))
            text[(*at)++] = '\\';
        memcpy(text + *at, ch, n);
        *at += n;
    }
    text[*at] = 0;
}

static void
add_end(char *text, size_t *at)
{
    if (*at + 2 < TEXT) { // GCOVR_EXCL_BR_LINE: a reason and the cautions have room
        text[(*at)++] = '\\';
        text[(*at)++] = 'n';
    }
    text[*at] = 0;
}

/* "" for a day that is no date. */
static void
date_of(double day, char *out)
{
    char iso[VB_DATE_MAX];
    out[0] = 0;
    if (vb_date_iso(day, iso))
        return;
    snprintf(out, STAMP, "%.4s%.2s%.2s", iso, iso + 5, iso + 8);
}

static void
stamp(double as_of, char *out)
{
    char date[STAMP];
    int minutes = (int)lround((as_of - floor(as_of)) * 1440);
    date_of(as_of, date);
    snprintf(out, STAMP, "%.8sT%02d%02d00Z", date, minutes / 60 % 24, minutes % 60);
}

static void
stamps(struct vb_out *o, double as_of)
{
    char text[STAMP], number[24];
    stamp(as_of, text);
    line(o, "DTSTAMP", text);
    line(o, "LAST-MODIFIED", text);
    snprintf(number, sizeof number, "%lld", (long long)fmax(0, round(as_of * 1440)));
    line(o, "SEQUENCE", number);
}

static void
uid(struct vb_out *o, const char *engine, const char *kind, const char *at,
    const char *life)
{
    char text[80];
    uint64_t h = vb_hash_text(vb_hash_text(VB_HASH_BEGIN, engine), kind);
    h = vb_hash_text(vb_hash_text(h, at), life);
    snprintf(text, sizeof text, "%s-%016" PRIx64 "@valvebook", kind, h);
    line(o, "UID", text);
}

/* "by 2026-11-04 or at 12044 h", nothing if neither is known */
static void
add_when(char *text, size_t *at, const char *word, double day, double meter, double u,
         const char *unit)
{
    char one[80], date[VB_DATE_MAX];
    int has_day = !isnan(day) && !vb_date_iso(vb_alert_day(day), date);
    if (!has_day && !isfinite(meter))
        return;
    add(text, at, word);
    if (has_day) {
        add(text, at, " ");
        add(text, at, date);
    }
    if (isfinite(meter)) {
        snprintf(one, sizeof one, "%s at %.*f %s", has_day ? " or" : "",
                 vb_digits(meter, u, 0), meter, unit);
        add(text, at, one);
    }
    add_end(text, at);
}

static void
describe(struct vb_out *o, const struct vb_due_unit *u, const struct vb_due *d)
{
    char text[TEXT] = "";
    size_t at = 0;
    add_when(text, &at, "due", d->due_day, d->due_running - u->offset, vb_due_meter_u(d),
             u->meter_unit);
    add_when(text, &at, "expected", d->expected_day, d->expected_running - u->offset,
             vb_due_meter_u(d), u->meter_unit);
    add(text, &at, d->reason);
    add_end(text, &at);
    for (const char *s = vb_cautions; *s; s++) {
        size_t n = strcspn(s, "\n");
        char part[120];
        snprintf(part, sizeof part, "%.*s", (int)n, s);
        add(text, &at, part);
        s += n;
        add_end(text, &at);
    }
    line(o, "DESCRIPTION", text);
}

static void
event(struct vb_out *o, const struct vb_due_unit *u, const struct vb_due *d, double as_of)
{
    const char *engine = u->name, *kind = vb_due_kind_name(d->kind);
    const struct vb_due_wish w = {
        .as_of = as_of, .within_days = NAN, .within_h = NAN, .within_km = NAN};
    char at[VB_AT_MAX], date[STAMP], text[TEXT];
    double day = fmax(vb_alert_day(d->due_day), floor(as_of));
    size_t n = 0;
    vb_due_at(d, at);
    line(o, "BEGIN", "VEVENT");
    uid(o, engine, kind, at, d->life);
    stamps(o, as_of);
    date_of(day, date);
    line(o, "DTSTART;VALUE=DATE", date);
    date_of(day + 1, date);
    if (date[0]) // not behind the last day that there is
        line(o, "DTEND;VALUE=DATE", date);
    add(text, &n, engine);
    const char *words[] = {kind, at,
                           vb_alert_level(u, d, &w, 0) == VB_ALERT_OVER ? "over" : "due"};
    for (size_t i = 0; i < 3; i++) {
        add(text, &n, words[i][0] ? " " : "");
        add(text, &n, words[i]);
    }
    line(o, "SUMMARY", text);
    describe(o, u, d);
    line(o, "CATEGORIES", kind);
    line(o, "TRANSP", "TRANSPARENT");
    line(o, "END", "VEVENT");
}

static void
nothing(struct vb_out *o, double as_of)
{
    char date[STAMP];
    line(o, "BEGIN", "VJOURNAL");
    uid(o, "", "nothing", "", "");
    stamps(o, as_of);
    date_of(as_of, date);
    line(o, "DTSTART;VALUE=DATE", date);
    line(o, "SUMMARY", "nothing is due");
    line(o, "END", "VJOURNAL");
}

void
vb_ical_due(const struct vb_dues *d, double as_of, struct vb_out *o)
{
    char iso[VB_DATE_MAX];
    size_t n = 0;
    line(o, "BEGIN", "VCALENDAR");
    line(o, "VERSION", "2.0");
    line(o, "PRODID", "-//valvebook//valve-due//EN");
    line(o, "CALSCALE", "GREGORIAN");
    for (size_t i = 0; i < d->n; i++) {
        double day = vb_alert_day(d->due[i].due_day);
        if (isnan(day) || vb_date_iso(day + 1, iso))
            continue;
        event(o, &d->unit[d->due[i].unit], &d->due[i], as_of);
        n++;
    }
    if (!n)
        nothing(o, as_of);
    line(o, "END", "VCALENDAR");
}
