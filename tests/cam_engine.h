#ifndef VALVEBOOK_TEST_CAM_ENGINE_H
#define VALVEBOOK_TEST_CAM_ENGINE_H

/* An engine whose cams are timed, filled by hand: what the tests of cams.h begin with. */
#include "valvebook/cams.h"

#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "closed_cams.h"
#include "valvebook/life.h"

#define FOUND 0
#define LEFT  1

static struct vb_family family;
static struct vb_visit visit[6];
static struct vb_cam_reading reading[320];
static struct vb_cam_event event[8];
static struct vb_cam_engine engine;
static struct vb_profiles profiles;
static struct vb_cam_list list;
static struct vb_cam_wish wish;

static inline void
setup(void)
{
    vb_family_init(&family);
    memset(reading, 0, sizeof reading);
    memset(event, 0, sizeof event);
    memset(&list, 0, sizeof list);
    memset(&profiles, 0, sizeof profiles);
    wish = (struct vb_cam_wish){0, 0};
    for (int i = 0; i < 6; i++) {
        visit[i] = (struct vb_visit){.day = 100 + 10 * i};
        snprintf(visit[i].date, sizeof visit[i].date, "day %d", 100 + 10 * i);
    }
    family.checking_lift[0] = family.checking_lift[1] = 1;
    engine = (struct vb_cam_engine){.name = "HC-1",
                                    .family_name = "four",
                                    .family = &family,
                                    .visit = visit,
                                    .n_visits = 6,
                                    .reading = reading,
                                    .event = event};
}

static inline void
teardown(void)
{
    vb_cam_list_clear(&list);
    vb_profiles_clear(&profiles);
}

static inline void
compute(void)
{
    vb_cam_list_clear(&list);
    ck_assert_int_eq(vb_cams_add(&list, &engine, &profiles, &wish), VB_OK);
}

static inline struct vb_cam_reading *
take(size_t v, enum vb_cam_what what, const char *at, int state, double x, double u)
{
    struct vb_cam_reading *r = &reading[engine.n_readings++];
    *r = (struct vb_cam_reading){.what = what, .visit = v, .value = {NAN, NAN}, .u = u};
    r->value[state] = x;
    snprintf(r->place, sizeof r->place, "%s", at);
    if (*at && what != VB_CAM_STEP)
        ck_assert_int_eq(vb_valve_part(at, strlen(at), &r->at), VB_OK);
    return r;
}

static inline void
events(size_t v, const char *at, int state, double opens, double closes, double u)
{
    take(v, VB_CAM_OPENS, at, state, opens, u);
    take(v, VB_CAM_CLOSES, at, state, closes, u);
}

static inline void
stop(size_t v, const char *cyl, double before, double after, double u)
{
    take(v, VB_CAM_STOP_BEFORE, cyl, FOUND, before, u);
    take(v, VB_CAM_STOP_AFTER, cyl, FOUND, after, u);
}

static inline struct vb_cam_event *
happens(double day, const char *bank_side)
{
    struct vb_cam_event *ev = &event[engine.n_events++];
    *ev = (struct vb_cam_event){.day = day, .reversed = -1};
    snprintf(ev->date, sizeof ev->date, "day %.0f", day);
    ck_assert_int_eq(vb_cam_place_parse(bank_side, strlen(bank_side), &ev->place), VB_OK);
    return ev;
}

static inline void
fits(double day, const char *at, const char *item, int reversed)
{
    struct vb_cam_event *ev = happens(day, at);
    ev->fit = 1;
    ev->reversed = reversed;
    snprintf(ev->item, sizeof ev->item, "%s", item);
}

static inline void
nominal(int side, double opens, double closes)
{
    family.opens[side] = opens;
    family.closes[side] = closes;
}

static inline const struct vb_cam_row *
row(const char *at, enum vb_cam_against a)
{
    for (size_t i = 0; i < list.n; i++)
        if (strcmp(list.row[i].at, at) == 0 && list.row[i].against == a)
            return &list.row[i];
    return NULL;
}

/* The row must be there. */
static inline const struct vb_cam_row *
the(const char *at, enum vb_cam_against a)
{
    const struct vb_cam_row *r = row(at, a);
    ck_assert_msg(r != NULL, "no row %s against '%s'", at, vb_cam_against_name(a));
    return r;
}

#define near(got, want, tol) ck_assert_double_eq_tol(got, want, tol)

static const struct closed_cam harmonic = {HARMONIC, 8.5, 60, 0, 70};

static inline void
profile(const char *name, const struct closed_cam *c, double step)
{
    size_t n;
    struct vb_lobe_point *p = closed_table(c, 0.1, 0, &n);
    for (size_t i = 0; i < n; i++)
        ck_assert_int_eq(vb_profiles_add(&profiles, name, p[i], step), VB_OK);
    free(p);
}

/* Events of an exact cam about a centre that it has under 0.2 mm at 1 mm. */
static inline void
exact(size_t v, const char *at, int state, const struct closed_cam *c, double lash,
      double lift, double centre)
{
    struct vb_lobe_events a = closed_events(c, 1, 0.2, 1),
                          b = closed_events(c, 1, lash, lift);
    double origin = a.up + a.down - centre;
    events(v, at, state, 2 * b.up - origin, 2 * b.down - origin, 0.25);
}

#endif
