#include "valvebook/family_life.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void
fit_life(const struct vb_spans *p, struct vb_life_fit *out)
{
    struct vb_msg m = {0};
    for (size_t i = 0; i < p->n; i++)
        out->n[vb_span_kind(&p->span[i])]++;
    out->fits = !vb_weibull_fit(p->span, p->n, &out->w, &m);
    snprintf(out->why, sizeof out->why, "%s", out->fits ? "" : m.text);
}

static void
fit_lives(const struct vb_service *s, struct vb_family_life *l)
{
    for (int setting = 0; setting < 2; setting++)
        for (int side = 0; side < 2; side++) {
            char name = side ? 'E' : 'I';
            const struct vb_spans *p = setting ? &s->setting[side] : &s->part[side];
            if (s->wish.side && s->wish.side != name)
                continue;
            if (!setting && !s->one_a_valve && side)
                continue;
            struct vb_life_fit *f = &l->fit[l->n_fits++];
            *f = (struct vb_life_fit){.side = name, .setting = setting};
            if (!setting && !s->one_a_valve)
                f->side = 0;
            f->unborn = setting ? 0 : s->unborn[side];
            fit_life(p, f);
            if (!setting && p->n == 0 && s->unknown_places)
                snprintf(f->why, sizeof f->why,
                         "the family does not say how many valves there are");
            else if (p->n == 0)
                snprintf(f->why, sizeof f->why,
                         setting ? "no setting was followed" : "no part of known age");
        }
}

static int
by_from(const void *a, const void *b)
{
    const struct vb_watch *x = a, *y = b;
    return (x->from > y->from) - (x->from < y->from);
}

/* Ages that nobody watched: what was replaced at those is not counted. */
static enum vb_err
find_ages(const struct vb_service *s, struct vb_family_life *l)
{
    double last = l->n_steps ? l->step[l->n_steps - 1].age : -INFINITY, upto;
    struct vb_watch *w = malloc((s->n_watches + 1) * sizeof *w);
    if (!w)
        return VB_EMEM;
    if (s->n_watches) {
        memcpy(w, s->watch, s->n_watches * sizeof *w);
        qsort(w, s->n_watches, sizeof *w, by_from);
        l->first_age = upto = w[0].from;
    }
    for (size_t i = 0; i < s->n_watches && isnan(l->gap[0]); i++) {
        if (w[i].from > upto && w[i].from < last) {
            l->gap[0] = upto;
            l->gap[1] = w[i].from;
        }
        upto = fmax(upto, w[i].to);
    }
    free(w);
    return VB_OK;
}

static enum vb_err
fit_trend(const struct vb_service *s, struct vb_family_life *l)
{
    struct vb_msg m = {0};
    enum vb_err e = vb_power_fit(s->watch, s->n_watches, s->engines, s->replaced,
                                 s->n_replaced, &l->trend, &m);
    l->has_trend = !e;
    if (e == VB_EDOM)
        snprintf(l->trend_why, sizeof l->trend_why, "%s", m.text);
    return e == VB_EDOM ? VB_OK : e;
}

enum vb_err
vb_family_life_replaced(const char *family, const char *meter_unit,
                        const struct vb_service *s, struct vb_family_life *out)
{
    struct vb_family_life l = {
        .family = family, .service = s, .first_age = NAN, .gap = {NAN, NAN}};
    snprintf(l.unit, sizeof l.unit, "%s", s->wish.days ? "d" : meter_unit);
    snprintf(l.meter_unit, sizeof l.meter_unit, "%s", meter_unit);
    enum vb_err e = vb_mcf_fit(s->watch, s->n_watches, s->engines, s->replaced,
                               s->n_replaced, VB_LIFE_CONFIDENCE, &l.step, &l.n_steps);
    if (!e)
        e = find_ages(s, &l);
    if (e) {
        free(l.step);
        return e;
    }
    *out = l;
    return VB_OK;
}

enum vb_err
vb_family_life_fit(const struct vb_fleet *f, const char *family,
                   const struct vb_family *facts, const char *meter_unit,
                   const struct vb_service *s, double risk, struct vb_family_life *out)
{
    struct vb_family_life l;
    enum vb_err e = vb_family_life_replaced(family, meter_unit, s, &l);
    if (e)
        return e;
    e = vb_relash_advise(f, family, facts, meter_unit, s, risk, &l.relash);
    if (!e)
        e = fit_trend(s, &l);
    if (e) {
        vb_family_life_clear(&l);
        return e;
    }
    fit_lives(s, &l);
    *out = l;
    return VB_OK;
}

void
vb_family_life_clear(struct vb_family_life *l)
{
    free(l->step);
    memset(l, 0, sizeof *l);
}
