#include "valvebook/news.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "search.h"

/* A line under the name of its alert. */
struct named {
    struct vb_alert name;
    size_t due;
};

/* The run: lines and old alerts in one order, so that they can be merged. */
struct run {
    const struct vb_dues *d;
    const struct vb_alert_fate *fate;
    const struct vb_alert_wish *w;
    double as_of;
    struct named *line;
    size_t n_lines;
    struct vb_alert *old;
    size_t n_old;
    struct vb_news *out;
};

static int
by_name(const void *a, const void *b)
{
    const struct named *x = a, *y = b;
    int c = vb_alert_order(&x->name, &y->name);
    return c ? c : (x->due > y->due) - (x->due < y->due);
}

static const struct vb_due_unit *
unit_of(const struct run *r, const struct vb_due *d)
{
    return &r->d->unit[d->unit];
}

static void
name_lines(struct run *r)
{
    size_t n = 0;
    for (size_t i = 0; i < r->d->n; i++) {
        const struct vb_due *d = &r->d->due[i];
        vb_alert_name(unit_of(r, d), d, &r->line[i].name);
        r->line[i].due = i;
    }
    if (r->d->n)
        qsort(r->line, r->d->n, sizeof *r->line, by_name);
    for (size_t i = 0; i < r->d->n; i++) // of two lines with one name the more urgent
        if (!n || vb_alert_order(&r->line[n - 1].name, &r->line[i].name) != 0)
            r->line[n++] = r->line[i];
    r->n_lines = n;
}

static int
same_day(double a, double b)
{
    return a == b || (isnan(a) && isnan(b));
}

static double
not_behind(double day, double as_of)
{
    return day > as_of ? as_of : day;
}

static void
take_old(struct run *r, const struct vb_alerts *old)
{
    for (size_t i = 0; i < old->n; i++) {
        struct vb_alert *a = &r->old[i];
        *a = old->alert[i];
        a->first_day = not_behind(a->first_day, r->as_of);
        a->said_day = not_behind(a->said_day, r->as_of);
        a->gone_day = not_behind(a->gone_day, r->as_of);
        r->out->changed |= !same_day(a->said_day, old->alert[i].said_day) ||
                           !same_day(a->gone_day, old->alert[i].gone_day);
    }
    r->n_old = old->n;
}

/* Somebody did something, so that what got better is better. */
static int
done_since(const struct vb_alert_fate *f, const struct vb_alert *a)
{
    return !f->known || f->ended || !f->lives_on || f->set_day > a->set_day ||
           (isnan(a->set_day) && !isnan(f->set_day));
}

/* What an alert falls to, and when; d is its line, NULL if that is gone. */
static void
fall(const struct run *r, const struct vb_alert_fate *f, const struct vb_due *d,
     struct vb_alert *a)
{
    enum vb_alert_level keeps =
        d ? vb_alert_level(unit_of(r, d), d, &r->w->due, VB_ALERT_SLACK) : VB_ALERT_NONE;
    if (keeps >= a->level) {
        a->gone_day = NAN;
        return;
    }
    if (isnan(a->gone_day))
        a->gone_day = r->as_of;
    int farther = d && a->level < VB_ALERT_OVER;
    if (farther || done_since(f, a) || r->as_of - a->gone_day >= r->w->settle) {
        a->level = keeps;
        a->gone_day = NAN;
    }
}

/* The bound of an alert that is not yet due moved up by more than the slack. */
static int
moved_up(const struct run *r, const struct vb_due *d, const struct vb_alert *a)
{
    double days = VB_ALERT_SLACK * r->w->due.within_days;
    double meter =
        VB_ALERT_SLACK * vb_due_within_meter(&r->w->due, unit_of(r, d)->meter_unit);
    return a->level == VB_ALERT_SOON &&
           (vb_alert_day(a->due_day) - vb_alert_day(d->due_day) > days ||
            a->due_running - d->due_running > meter);
}

static int
is_quiet(const struct run *r, const struct vb_alert *a)
{
    return a->acked != VB_ALERT_NONE && a->level <= a->acked &&
           r->as_of <= a->acked_until;
}

/* Time to say again what stands. */
static int
time_again(const struct run *r, const struct vb_alert *a)
{
    if (a->acked != VB_ALERT_NONE && a->level <= a->acked &&
        a->said_day <= a->acked_until)
        return 1; // it was quiet until now
    return r->as_of - a->said_day >= r->w->remind;
}

static struct vb_news_item *
new_item(struct run *r)
{
    return &r->out->item[r->out->n++];
}

static void
count_item(struct run *r, const struct vb_news_item *it)
{
    if (it->quiet)
        r->out->quiet++;
    else
        r->out->count[it->kind]++;
    r->out->say |= !it->quiet && it->kind != VB_NEWS_STILL;
}

/* What a check finds hangs on the readings of a whole family, and may come and go from night to
 * night: what it had found counts until somebody sets the engine. */
static unsigned
has_found(const struct vb_alert_fate *f, const struct vb_due *d, const struct vb_alert *a)
{
    int lasts = d->kind == VB_DUE_CHECK && !done_since(f, a);
    return d->found | (lasts ? a->found : 0);
}

/* An alert that stood; line: NULL if it is gone. */
static void
met(struct run *r, size_t j, const struct named *line)
{
    const struct vb_alert *old = &r->old[j];
    const struct vb_alert_fate *f = &r->fate[j];

    struct vb_news_item *it = new_item(r);
    const struct vb_due *d = line ? &r->d->due[line->due] : NULL;
    enum vb_alert_level raw =
        d ? vb_alert_level(unit_of(r, d), d, &r->w->due, 0) : VB_ALERT_NONE;
    *it = (struct vb_news_item){.kind = VB_NEWS_STILL,
                                .due = line ? line->due : VB_NEWS_NO_DUE,
                                .now = *old,
                                .was = old->level};
    if (raw > old->level) {
        it->kind = VB_NEWS_WORSE;
        it->now.level = raw;
        it->now.gone_day = NAN;
    } else {
        fall(r, f, d, &it->now);
    }
    if (it->now.level == VB_ALERT_NONE) {
        it->kind = VB_NEWS_CLEARED;
        it->now = *old;
        count_item(r, it);
        return;
    }
    if (d && it->kind == VB_NEWS_STILL && moved_up(r, d, &it->now))
        it->kind = VB_NEWS_WORSE;
    it->more = d && old->found && d->found & ~old->found;
    if (d)
        it->now.found = has_found(f, d, old);
    if (it->more)
        it->kind = VB_NEWS_WORSE;
    it->now.set_day = f->set_day; // without its engine it was cleared
    it->quiet = is_quiet(r, &it->now) && !it->more;
    count_item(r, it);
    r->out->say |= !it->quiet && time_again(r, &it->now);
}

static void
appeared(struct run *r, const struct named *line)
{
    const struct vb_due *d = &r->d->due[line->due];
    enum vb_alert_level level = vb_alert_level(unit_of(r, d), d, &r->w->due, 0);
    if (level == VB_ALERT_NONE)
        return;
    struct vb_news_item *it = new_item(r);
    *it = (struct vb_news_item){
        .kind = VB_NEWS_NEW, .due = line->due, .now = line->name, .was = VB_ALERT_NONE};
    it->now.level = level;
    it->now.found = d->found;
    it->now.first_day = r->as_of;
    it->now.said_day = NAN;
    it->now.gone_day = NAN;
    it->now.set_day = unit_of(r, d)->set_day;
    it->now.acked_until = NAN;
    count_item(r, it);
}

static void
merge(struct run *r)
{
    size_t i = 0, j = 0;
    while (i < r->n_lines || j < r->n_old) {
        int c = i == r->n_lines ? 1
                : j == r->n_old ? -1
                                : vb_alert_order(&r->line[i].name, &r->old[j]);
        if (c < 0)
            appeared(r, &r->line[i++]);
        else if (c > 0)
            met(r, j++, NULL);
        else
            met(r, j++, &r->line[i++]);
    }
}

/* What is remembered of those that stand, should they be said. */
static void
if_said(const struct run *r, struct vb_news_item *it)
{
    it->told = it->now;
    if (it->kind == VB_NEWS_CLEARED || it->quiet)
        return;
    it->told.said_day = r->as_of;
    if (it->due == VB_NEWS_NO_DUE)
        return;
    it->told.due_day = r->d->due[it->due].due_day;
    it->told.due_running = r->d->due[it->due].due_running;
}

static void
remember(struct run *r)
{
    struct vb_news *o = r->out;
    for (size_t i = 0; i < o->n; i++)
        if_said(r, &o->item[i]);
    o->changed |= o->say;
    for (size_t i = 0, j = 0; !o->changed && i < o->n; i++) { // nothing new, nothing gone
        const struct vb_alert *a = &o->item[i].now, *b = &r->old[j++];
        o->changed = a->level != b->level || a->found != b->found ||
                     !same_day(a->gone_day, b->gone_day) ||
                     !same_day(a->set_day, b->set_day);
    }
}

static int
in_order(const void *a, const void *b)
{
    const struct vb_news_item *x = a, *y = b;
    if (x->kind != y->kind)
        return (int)x->kind - (int)y->kind;
    if (x->due != y->due)
        return x->due < y->due ? -1 : 1;
    return vb_alert_order(&x->now, &y->now);
}

enum vb_err
vb_alert_news(const struct vb_dues *d, const struct vb_alerts *old,
              const struct vb_alert_fate *fate, const struct vb_alert_wish *w,
              struct vb_news *out)
{
    struct vb_news news = {0};
    struct run r = {
        .d = d, .fate = fate, .w = w, .as_of = vb_alert_day(w->due.as_of), .out = &news};
    r.line = calloc(d->n + 1, sizeof *r.line);
    r.old = calloc(old->n + 1, sizeof *r.old);
    news.item = calloc(d->n + old->n + 1, sizeof *news.item);
    if (!r.line || !r.old || !news.item) {
        free(news.item);
        free(r.old);
        free(r.line);
        return VB_EMEM;
    }
    name_lines(&r);
    take_old(&r, old);
    merge(&r);
    remember(&r);
    if (news.n)
        qsort(news.item, news.n, sizeof *news.item, in_order);
    free(r.old);
    free(r.line);
    *out = news;
    return VB_OK;
}

/* Is the life that an alert is about still going on? */
static int
life_goes_on(const struct vb_life *life, size_t n, const struct vb_unit_now *u,
             const struct vb_alert *a)
{
    char at[VB_VALVE_MAX];
    if (!a->at[0] || strcmp(a->kind, vb_due_kind_name(VB_DUE_TIMING)) == 0)
        return strcmp(a->life, u->build) == 0;
    for (size_t i = 0; i < n; i++) {
        if (!life[i].current)
            continue;
        vb_valve_format(life[i].valve, at);
        if (strcmp(at, a->at) == 0 && strcmp(life[i].since, a->life) == 0)
            return 1;
    }
    return 0;
}

static int
alert_before(const void *thing, const void *engine)
{
    const struct vb_alert *a = thing;
    return strcmp(a->engine, engine) < 0;
}

void
vb_alert_fates(const struct vb_fleet *block, const struct vb_alerts *old,
               struct vb_alert_fate *fate)
{
    const struct vb_lives *l = &block->lives;
    size_t end = 0;
    for (size_t i = 0; i < block->n_units; i++) {
        const struct vb_unit_now *u = &block->unit[i];
        size_t k = first_not_before(u->name, old->alert, old->n, sizeof *old->alert,
                                    alert_before);
        size_t from = end;
        while (end < l->n && l->life[end].engine == i)
            end++;
        for (; k < old->n && strcmp(old->alert[k].engine, u->name) == 0; k++)
            fate[k] = (struct vb_alert_fate){
                1, u->ended, life_goes_on(l->life + from, end - from, u, &old->alert[k]),
                u->set_day};
    }
}

void
vb_news_clear(struct vb_news *n)
{
    free(n->item);
    *n = (struct vb_news){0};
}
