#include <stdio.h>
#include <string.h>

#include "draft.h"
#include "valvebook/date.h"

/* Where two orders read the same cells, the one that stands first is preferred. */
static const struct order {
    const char *text;
    const char *rival; // day and month the other way round; points are not used so
} orders[] = {
    {"Y-M-D", NULL},    {"Y/M/D", NULL},    {"Y.M.D", NULL},    {"D.M.Y", NULL},
    {"D.M.y", NULL},    {"D/M/Y", "M/D/Y"}, {"D/M/y", "M/D/y"}, {"D-M-Y", "M-D-Y"},
    {"D-M-y", "M-D-y"}, {"M.D.Y", NULL},    {"M.D.y", NULL},    {"M/D/Y", NULL},
    {"M/D/y", NULL},    {"M-D-Y", NULL},    {"M-D-y", NULL},    {"D M Y", NULL},
    {"YMD", NULL},      {"serial", NULL},
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

/* 03/04/2025: nothing in the cell says which is the month; their sequence may. */
static const char *
settle(const struct vb_text *cell, size_t n, const struct order *o, size_t count,
       size_t back, char *why, size_t size)
{
    size_t rival_back = 0, len = strlen(why);
    size_t rival = o->rival ? fits(cell, n, o->rival, &rival_back) : 0;
    char q[40] = "";
    if (rival < count)
        return o->text;
    for (size_t i = 0; i < n && !*q; i++)
        if (cell[i].n)
            vb_quote(cell[i].s, cell[i].n, q, sizeof q);
    int swap = rival_back == 0 && back > 0;
    const char *pick = swap ? o->rival : o->text;
    snprintf(why + len, size - len, "; UNCERTAIN: '%s' fits %s and %s%s: check", q,
             o->text, o->rival,
             swap                          ? ", but only the latter runs forward"
             : rival_back > 0 && back == 0 ? ", but only the former runs forward"
                                           : "");
    return pick;
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
    return settle(cell, n, best, most, best_back, why, size);
}
