#include "valvebook/letter.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "letter_impl.h"
#include "valvebook/date.h"
#include "valvebook/digits.h"
#include "valvebook/table.h"
#include "valvebook/utf8.h"

#define NAME_WIDTH 24 // of engines; a longer name is shown whole and moves its line

const char *const letter_group[VB_NEWS_COUNT] = {"new", "worse", "still", "cleared"};

void
letter_book(const struct vb_letter *l, const char **name, size_t *n)
{
    const char *slash = strrchr(l->book, '/');
    *name = slash && slash[1] ? slash + 1 : l->book;
    const char *dot = strrchr(*name, '.');
    *n = dot && dot > *name ? (size_t)(dot - *name) : strlen(*name);
}

const char *
letter_site(const struct vb_letter *l)
{
    return !l->site ? "" : *l->site ? l->site : "engines without a site";
}

/* The book, and the site behind a comma. */
static void
whose(const struct vb_letter *l, struct vb_out *o)
{
    const char *name, *site = letter_site(l);
    size_t n;
    letter_book(l, &name, &n);
    vb_out_shown(o, name, n);
    vb_out_text(o, *site ? ", " : "");
    vb_out_shown(o, site, strlen(site));
}

void
letter_day(double day, char *out)
{
    if (isnan(day) || vb_date_iso(vb_alert_day(day), out))
        out[0] = 0;
}

/* printf at *n, which never passes the end of out [LETTER_WHEN]. */
static void add(char *out, size_t *n, const char *fmt, ...)
    __attribute__((format(printf, 3, 4)));

static void
add(char *out, size_t *n, const char *fmt, ...)
{
    va_list ap;
    va_start(ap, fmt);
    int k = vsnprintf(out + *n, LETTER_WHEN - *n, fmt, ap);
    va_end(ap);
    size_t end = *n + (size_t)(k < 0 ? LETTER_WHEN : k); // GCOVR_EXCL_BR_LINE: it cannot
    *n = end < LETTER_WHEN ? end : LETTER_WHEN - 1;
}

/* "due 2026-11-04 or at 12044 h, 41 h left" */
static void
due_words(const struct vb_letter *l, const struct vb_due *d, char *out, size_t *n)
{
    const struct vb_due_unit *u = &l->d->unit[d->unit];
    double meter = d->due_running - u->offset, left = d->due_running - u->last_running;
    int decimals = vb_digits(meter, vb_due_meter_u(d), 0);
    const char *is = left > -0.5 * pow(10, -decimals) ? "left" : "past";
    char date[VB_DATE_MAX];
    letter_day(d->due_day, date);
    add(out, n, "due %s", date);
    if (isfinite(meter))
        add(out, n, "%s%.*f %s, %.*f %s %s", date[0] ? " or at " : "at ", decimals, meter,
            u->meter_unit, decimals, fabs(left), u->meter_unit, is);
}

void
letter_when(const struct vb_letter *l, const struct vb_news_item *it, char *out)
{
    char first[VB_DATE_MAX], gone[VB_DATE_MAX];
    int cleared = it->kind == VB_NEWS_CLEARED;
    size_t n = 0;
    letter_day(it->now.first_day, first);
    letter_day(it->now.gone_day, gone);
    out[0] = 0;
    if (!cleared && it->due != VB_NEWS_NO_DUE)
        due_words(l, &l->d->due[it->due], out, &n);
    if (!cleared && gone[0])
        add(out, &n, "%sbetter since %s", n ? "; " : "", gone);
    if (it->kind == VB_NEWS_WORSE && it->was != it->now.level)
        add(out, &n, "; was %s", vb_alert_level_name(it->was));
    if (it->more)
        add(out, &n, "; more is found than was");
    if (it->kind != VB_NEWS_NEW)
        add(out, &n, "%ssaid first %s", n ? "; " : "", first);
}

/* "30 days or 50 h or 5000 km" */
void
letter_horizon(const struct vb_letter *l, char *out, size_t size)
{
    const struct vb_due_wish *w = &l->w->due;
    const double span[] = {w->within_days, w->within_h, w->within_km};
    static const char *const units[] = {"days", "h", "km"};
    size_t n = 0;
    out[0] = 0;
    for (int i = 0; i < 3; i++)
        if (!isnan(span[i]))
            n += (size_t)snprintf(out + n, size - n, "%s%.10g %s", n ? " or " : "",
                                  span[i], units[i]);
}

/* "2 new, 1 worse, 1 cleared" */
void
letter_counts(const struct vb_letter *l, int still, char *out, size_t size)
{
    size_t n = 0;
    out[0] = 0;
    for (int i = 0; i < VB_NEWS_COUNT; i++)
        if (l->news->count[i] && (still || i != VB_NEWS_STILL))
            n += (size_t)snprintf(out + n, size - n, "%s%zu %s", n ? ", " : "",
                                  l->news->count[i], letter_group[i]);
}

static void
padded(struct vb_out *o, const char *s, size_t width)
{
    for (size_t n = vb_out_shown(o, s, strlen(s)); n < width; n++)
        vb_out_bytes(o, " ", 1);
    vb_out_text(o, "  ");
}

/* The most urgent of what is new or worse, else of what still stands; NULL if nothing does. */
static const struct vb_news_item *
foremost(const struct vb_letter *l)
{
    const struct vb_news_item *best = NULL;
    for (size_t i = 0; i < l->news->n; i++) {
        const struct vb_news_item *it = &l->news->item[i];
        if (it->quiet || it->kind == VB_NEWS_CLEARED)
            continue;
        if (!best || (it->kind != VB_NEWS_STILL && it->due < best->due))
            best = it;
    }
    return best;
}

void
vb_letter_subject(const struct vb_letter *l, struct vb_out *o)
{
    char counts[120];
    const struct vb_news_item *it = foremost(l);
    whose(l, o);
    letter_counts(l, 0, counts, sizeof counts);
    if (!counts[0])
        letter_counts(l, 1, counts, sizeof counts);
    vb_out_text(o, ": ");
    vb_out_text(o, counts);
    if (!it)
        return;
    vb_out_text(o, " - ");
    vb_out_shown(o, it->now.engine, strlen(it->now.engine));
    const char *words[] = {it->now.kind, it->now.at, vb_alert_level_name(it->now.level)};
    for (size_t k = 0; k < 3; k++) {
        vb_out_text(o, words[k][0] ? " " : "");
        vb_out_text(o, words[k]);
    }
}

void
vb_letter_file(const struct vb_letter *l, struct vb_out *o)
{
    const char *name;
    size_t n;
    letter_book(l, &name, &n);
    vb_out_shown(o, name, n);
    vb_out_text(o, "-due-");
    vb_out_bytes(o, l->as_of, strnlen(l->as_of, 10));
    vb_out_text(o, ".csv");
}

static size_t
name_width(const struct vb_letter *l)
{
    size_t widest = 0;
    for (size_t i = 0; i < l->news->n; i++) {
        const char *name = l->news->item[i].now.engine;
        size_t width = vb_utf8_width(name, strlen(name));
        if (!l->news->item[i].quiet && width <= NAME_WIDTH && width > widest)
            widest = width;
    }
    return widest;
}

static void
item(const struct vb_letter *l, const struct vb_news_item *it, size_t width,
     struct vb_out *o)
{
    char when[LETTER_WHEN];
    letter_when(l, it, when);
    vb_out_text(o, "  ");
    padded(o, vb_alert_level_name(it->now.level), 4);
    padded(o, it->now.engine, width);
    padded(o, it->now.kind, 8);
    padded(o, it->now.at, 4);
    vb_out_text(o, when);
    vb_out_text(o, "\n");
    if (it->due == VB_NEWS_NO_DUE || it->kind == VB_NEWS_CLEARED)
        return;
    vb_out_text(o, "        ");
    vb_out_shown(o, l->d->due[it->due].reason, strlen(l->d->due[it->due].reason));
    vb_out_text(o, "\n");
}

size_t
letter_items(const struct vb_letter *l, enum vb_news_kind kind, letter_write *write,
             size_t width, struct vb_out *o)
{
    size_t n = 0;
    for (size_t i = 0; i < l->news->n; i++) {
        const struct vb_news_item *it = &l->news->item[i];
        if (it->kind != kind || it->quiet)
            continue;
        write(l, it, width, o);
        n++;
    }
    return l->news->count[kind] - n;
}

static void
group(const struct vb_letter *l, enum vb_news_kind kind, size_t width, struct vb_out *o)
{
    char more[80];
    if (!l->news->count[kind])
        return;
    vb_out_text(o, "\n");
    for (const char *s = letter_group[kind]; *s; s++) {
        char c = (char)(*s - 'a' + 'A');
        vb_out_bytes(o, &c, 1);
    }
    vb_out_text(o, "\n");
    size_t n = letter_items(l, kind, item, width, o);
    if (!n)
        return;
    snprintf(more, sizeof more, "  " LETTER_MORE "\n", n);
    vb_out_text(o, more);
}

void
letter_meanings(const struct vb_letter *l, char *out, size_t size)
{
    char horizon[80];
    letter_horizon(l, horizon, sizeof horizon);
    snprintf(out, size,
             "over: a limit is passed, or the planned time is over. due: it may be so by "
             "now, or somebody must look. soon: it may be so within %s.",
             horizon);
}

/* Lines of at most 78 cells. */
static void
wrapped(struct vb_out *o, const char *s)
{
    size_t col = 0;
    while (*s) {
        size_t n = strcspn(s, " ");
        if (col && col + 1 + vb_utf8_width(s, n) > 78) {
            vb_out_text(o, "\n");
            col = 0;
        } else if (col) {
            vb_out_text(o, " ");
            col++;
        }
        col += vb_out_shown(o, s, n);
        s += n + (s[n] == ' ');
    }
    vb_out_text(o, "\n");
}

/* An empty group is no all-clear where nothing could be in it. */
static void
doubts(const struct vb_letter *l, struct vb_out *o)
{
    char text[512];
    if (!l->doubts || !l->doubts->n)
        return;
    vb_out_text(o, "\n" LETTER_DOUBTS "\n");
    for (size_t i = 0; i < l->doubts->n; i++) {
        const struct vb_doubt *d = &l->doubts->doubt[i];
        snprintf(text, sizeof text, "family %s: %s", d->family, d->text);
        wrapped(o, text);
    }
}

void
vb_letter_text(const struct vb_letter *l, struct vb_out *o)
{
    char text[320];
    size_t width = name_width(l);
    whose(l, o);
    vb_out_text(o, " as of ");
    vb_out_text(o, l->as_of);
    vb_out_text(o, ": ");
    letter_counts(l, 1, text, sizeof text);
    vb_out_text(o, text);
    if (l->news->quiet) {
        snprintf(text, sizeof text, "; %zu acknowledged, not listed", l->news->quiet);
        vb_out_text(o, text);
    }
    vb_out_text(o, "\n");
    for (int i = 0; i < VB_NEWS_COUNT; i++)
        group(l, (enum vb_news_kind)i, width, o);
    doubts(l, o);
    vb_out_text(o, "\n");
    if (l->sheet > VB_DIGEST_SHEET) {
        snprintf(text, sizeof text, LETTER_SHEET, VB_DIGEST_SHEET, l->sheet);
        wrapped(o, text);
    }
    letter_meanings(l, text, sizeof text);
    wrapped(o, text);
    wrapped(o, LETTER_ACK);
    vb_out_text(o, "    " LETTER_COMMAND "\n");
    vb_out_text(o, vb_cautions);
}
