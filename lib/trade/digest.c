#include "valvebook/digest.h"

#include <stdlib.h>
#include <string.h>

#include "due_impl.h"

#define MORE 2048 // that may come before the least urgent are dropped

/*
 * A line, an alert, or both.
 *   due, unit   the line; of an alert without one the engine's name is in unit
 *   item        said: the alert is written out
 *   sheet       the line is in the sheet
 */
struct vb_digest_entry {
    struct vb_due due;
    struct vb_due_unit unit; // owns the name
    struct vb_news_item item;
    int line, said, sheet;
};

static void
free_entry(struct vb_digest_entry *e)
{
    free(e->due.reason);
    free(e->unit.name);
}

/* Lines as they are in the list, then what has none, by name. */
static int
by_urgency(const void *a, const void *b)
{
    const struct vb_digest_entry *x = a, *y = b;
    if (x->line != y->line)
        return y->line - x->line;
    if (x->line)
        return due_order(x->unit.name, &x->due, y->unit.name, &y->due);
    return vb_alert_order(&x->item.now, &y->item.now);
}

/* Drop what is neither written out nor in the sheet. */
static void
cut(struct vb_digest *g)
{
    size_t kind[VB_NEWS_COUNT] = {0}, sheet = 0, kept = 0;
    if (g->n)
        qsort(g->entry, g->n, sizeof *g->entry, by_urgency);
    for (size_t i = 0; i < g->n; i++) {
        struct vb_digest_entry *e = &g->entry[i];
        size_t most = e->item.kind == VB_NEWS_STILL ? VB_DIGEST_STILL : VB_DIGEST_MOST;
        e->said = e->said && kind[e->item.kind]++ < most;
        e->sheet = e->sheet && sheet++ < VB_DIGEST_SHEET;
        if (e->said || e->sheet)
            g->entry[kept++] = *e;
        else
            free_entry(e);
    }
    g->n = kept;
    g->full = kept + MORE;
}

static enum vb_err
room(struct vb_digest *g)
{
    if (g->n && g->n >= g->full)
        cut(g);
    if (g->n < g->size)
        return VB_OK;
    size_t size = g->size ? g->size + g->size / 2 : 64;
    struct vb_digest_entry *p = realloc(g->entry, size * sizeof *p);
    if (!p)
        return VB_EMEM;
    g->entry = p;
    g->size = size;
    return VB_OK;
}

/* A copy that owns its words. */
static enum vb_err
put(struct vb_digest *g, const struct vb_digest_entry *from)
{
    enum vb_err e = room(g);
    if (e)
        return e;
    struct vb_digest_entry *own = &g->entry[g->n];
    *own = *from;
    own->unit.name = strdup(from->unit.name);
    own->due.reason = from->line ? strdup(from->due.reason) : NULL;
    if (!own->unit.name || (from->line && !own->due.reason)) {
        free_entry(own);
        return VB_EMEM;
    }
    own->item.now.engine = own->item.told.engine = own->unit.name;
    g->n++;
    return VB_OK;
}

/* The alert of each line, NULL where it has none: [d->n]. */
static const struct vb_news_item **
alerts_of_lines(const struct vb_dues *d, const struct vb_news *news)
{
    const struct vb_news_item **of = calloc(d->n + 1, sizeof *of);
    for (size_t i = 0; of && i < news->n; i++)
        if (news->item[i].due != VB_NEWS_NO_DUE)
            of[news->item[i].due] = &news->item[i];
    return of;
}

static enum vb_err
add_line(struct vb_digest *g, const struct vb_dues *d, size_t i,
         const struct vb_news_item *it, const struct vb_alert_wish *w)
{
    struct vb_digest_entry e = {.due = d->due[i], .unit = d->unit[d->due[i].unit]};
    e.line = 1;
    if (it)
        e.item = *it;
    e.said = it && !it->quiet;
    e.sheet = (it && it->kind != VB_NEWS_CLEARED) ||
              vb_alert_level(&e.unit, &e.due, &w->due, 0) != VB_ALERT_NONE;
    g->sheet += (size_t)e.sheet;
    return e.said || e.sheet ? put(g, &e) : VB_OK;
}

static enum vb_err
add_gone(struct vb_digest *g, const struct vb_news_item *it)
{
    struct vb_digest_entry e = {.unit = {.name = it->now.engine}, .item = *it, .said = 1};
    return it->quiet ? VB_OK : put(g, &e);
}

static void
count(struct vb_digest *g, const struct vb_dues *d, const struct vb_news *news)
{
    for (int k = 0; k < VB_NEWS_COUNT; k++)
        g->news.count[k] += news->count[k];
    g->news.quiet += news->quiet;
    g->news.say |= news->say;
    g->news.changed |= news->changed;
    g->dues.engines += d->engines;
    g->dues.in_service += d->in_service;
    g->dues.lives += d->lives;
}

enum vb_err
vb_digest_add(struct vb_digest *g, const struct vb_dues *d, const struct vb_news *news,
              const struct vb_alert_wish *w)
{
    const struct vb_news_item **of = alerts_of_lines(d, news);
    enum vb_err e = of ? VB_OK : VB_EMEM;
    count(g, d, news);
    for (size_t i = 0; !e && i < d->n; i++)
        e = add_line(g, d, i, of[i], w);
    for (size_t i = 0; !e && i < news->n; i++)
        if (news->item[i].due == VB_NEWS_NO_DUE)
            e = add_gone(g, &news->item[i]);
    free(of);
    return e;
}

/* Lines and units leave the entries, which are in order. */
static void
give_lines(struct vb_digest *g)
{
    for (; g->dues.n < g->n && g->entry[g->dues.n].line; g->dues.n++) {
        struct vb_digest_entry *e = &g->entry[g->dues.n];
        e->due.unit = e->item.due = g->dues.n;
        g->dues.due[g->dues.n] = e->due;
        g->dues.unit[g->dues.n] = e->unit;
    }
    g->dues.n_units = g->dues.n;
}

enum vb_err
vb_digest_end(struct vb_digest *g)
{
    cut(g);
    g->dues.due = malloc((g->n + 1) * sizeof *g->dues.due);
    g->dues.unit = malloc((g->n + 1) * sizeof *g->dues.unit);
    g->news.item = malloc((g->n + 1) * sizeof *g->news.item);
    if (!g->dues.due || !g->dues.unit || !g->news.item)
        return VB_EMEM;
    give_lines(g);
    for (int k = 0; k < VB_NEWS_COUNT; k++)
        for (size_t i = 0; i < g->n; i++)
            if (g->entry[i].said && (int)g->entry[i].item.kind == k)
                g->news.item[g->news.n++] = g->entry[i].item;
    return VB_OK;
}

void
vb_digest_clear(struct vb_digest *g)
{
    for (size_t i = g->dues.n; i < g->n; i++) // before it, the lines have the words
        free_entry(&g->entry[i]);
    free(g->entry);
    vb_news_clear(&g->news);
    vb_dues_clear(&g->dues);
    *g = (struct vb_digest){0};
}
