#include <stdio.h>
#include <string.h>

#include "draft.h"
#include "valvebook/date.h"

/* Where two orders read the same cells, the one that stands first is preferred. */
static const struct order {
    const char *text;
    const char *rival; // day and month the other way round; points are not used so
    const char *first; // the year in front: 25-03-02 may be of 2025 or of 2002
} orders[] = {
    {"Y-M-D", NULL, NULL},       {"Y/M/D", NULL, NULL},    {"Y.M.D", NULL, NULL},
    {"D.M.Y", NULL, NULL},       {"D.M.y", NULL, "y.M.D"}, {"D/M/Y", "M/D/Y", NULL},
    {"D/M/y", "M/D/y", "y/M/D"}, {"D-M-Y", "M-D-Y", NULL}, {"D-M-y", "M-D-y", "y-M-D"},
    {"M.D.Y", NULL, NULL},       {"M.D.y", NULL, NULL},    {"M/D/Y", NULL, NULL},
    {"M/D/y", NULL, NULL},       {"M-D-Y", NULL, NULL},    {"M-D-y", NULL, NULL},
    {"D. M Y", NULL, NULL},      {"M D, Y", NULL, NULL},   {"D M y", NULL, NULL},
    {"M D Y", NULL, NULL},       {"Y. M. D.", NULL, NULL}, {"D M, Y", NULL, NULL},
    {"y/M/D", NULL, NULL},       {"y-M-D", NULL, NULL},    {"D M Y", NULL, NULL},
    {"YMD", NULL, NULL},         {"serial", NULL, NULL},
};
#define N_ORDERS  (sizeof orders / sizeof *orders)
#define N_PRINTED (N_ORDERS - 2) // the last two are plain numbers

int
draft_is_date(struct vb_text t)
{
    char iso[VB_DATE_MAX];
    for (size_t i = 0; i < N_PRINTED; i++)
        if (!vb_date_parse(t.s, t.n, orders[i].text, iso))
            return 1;
    return 0;
}

int
draft_date_may_be(struct vb_text t, const char *iso)
{
    char day[VB_DATE_MAX];
    for (size_t i = 0; i < N_PRINTED; i++)
        if (!vb_date_parse(t.s, t.n, orders[i].text, day) && memcmp(day, iso, 10) == 0)
            return 1;
    return 0;
}

/* How many cells an order fits, and how often the dates run backwards under it. */
static size_t
fits(const struct vb_text *cell, size_t n, const char *order, size_t *back)
{
    char iso[VB_DATE_MAX] = "", last[VB_DATE_MAX] = "";
    size_t count = 0;
    *back = 0;
    for (size_t i = 0; i < n; i++) {
        if (vb_date_parse(cell[i].s, cell[i].n, order, iso))
            continue;
        count++;
        *back += strcmp(iso, last) < 0;
        memcpy(last, iso, sizeof last);
    }
    return count;
}

/* Days from the earliest to the latest of the dates under an order. */
static double
span(const struct vb_text *cell, size_t n, const char *order)
{
    char iso[VB_DATE_MAX];
    double day, low = 0, high = 0;
    int any = 0;
    for (size_t i = 0; i < n; i++) {
        if (vb_date_parse(cell[i].s, cell[i].n, order, iso) || vb_date_days(iso, &day))
            continue;
        low = any && low < day ? low : day;
        high = any && high > day ? high : day;
        any = 1;
    }
    return high - low;
}

static void
doubt(const struct vb_text *cell, size_t n, const char *a, const char *b, const char *but,
      char *why, size_t size)
{
    size_t len = strlen(why);
    char q[40] = "";
    for (size_t i = 0; i < n && !*q; i++)
        if (cell[i].n)
            vb_quote(cell[i].s, cell[i].n, q, sizeof q);
    snprintf(why + len, size - len, "; UNCERTAIN: '%s' fits %s and %s%s: check", q, a, b,
             but);
}

/* 03/04/2025: nothing in the cell says which is the month; their sequence may. */
static const char *
settle_month(const struct vb_text *cell, size_t n, const struct order *o, size_t count,
             size_t back, char *why, size_t size)
{
    size_t rival_back = 0;
    size_t rival = o->rival ? fits(cell, n, o->rival, &rival_back) : 0;
    if (rival < count)
        return o->text;
    int swap = rival_back == 0 && back > 0;
    doubt(cell, n, o->text, o->rival,
          swap                          ? ", but only the latter runs forward"
          : rival_back > 0 && back == 0 ? ", but only the former runs forward"
                                        : "",
          why, size);
    return swap ? o->rival : o->text;
}

/* 25-03-02: visits lie closer together in the right order than in the wrong one, where days
 * are years. With points the day is first wherever nothing speaks against it. */
static const char *
settle_year(const struct vb_text *cell, size_t n, const struct order *o, const char *pick,
            size_t count, char *why, size_t size)
{
    size_t back;
    if (!o->first || fits(cell, n, o->first, &back) < count)
        return pick;
    double here = span(cell, n, pick), there = span(cell, n, o->first);
    if (there > here || (there == here && strchr(pick, '.')))
        return pick;
    doubt(cell, n, pick, o->first,
          there < here ? ", but by the latter the dates lie closer together" : "", why,
          size);
    return there < here ? o->first : pick;
}

const char *
draft_date_order(const struct vb_text *cell, size_t n, char *why, size_t size)
{
    const struct order *best = NULL;
    size_t most = 0, best_back = 0, filled = 0;
    for (size_t i = 0; i < N_ORDERS; i++) {
        size_t back, count = fits(cell, n, orders[i].text, &back);
        if (count > most) {
            most = count;
            best = &orders[i];
            best_back = back;
        }
    }
    for (size_t i = 0; i < n; i++)
        filled += vb_text_trim(cell[i]).n > 0;
    if (!best) {
        snprintf(why, size, "%s",
                 filled
                     ? "CHECK: no order of a date fits these cells, they will be refused"
                     : "CHECK: the cells are blank, no order can be told");
        return NULL;
    }
    if (most == filled)
        snprintf(why, size, "all %zu dates fit", most);
    else
        snprintf(why, size, "CHECK: %zu of %zu dates fit, the others will be refused",
                 most, filled);
    const char *pick = settle_month(cell, n, best, most, best_back, why, size);
    return settle_year(cell, n, best, pick, most, why, size);
}
