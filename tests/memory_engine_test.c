/*
 * Whole engines of which each request for memory is refused once: what is worked out of them
 * either comes out or says that there was none, and keeps nothing.
 */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include "refuse.h"
#include "suite.h"

#include "closed_cams.h"
#include "valvebook/cams.h"
#include "valvebook/doubt.h"
#include "valvebook/due.h"
#include "valvebook/family_life.h"
#include "valvebook/fleet.h"
#include "valvebook/quantity.h"
#include "valvebook/service.h"
#include "valvebook/setting.h"
#include "valvebook/start.h"

#define CYLINDERS 6
#define VISITS    5 // every 10 days and 100 h

static struct vb_family family;
static struct vb_visit visit[VISITS];
static struct vb_event event[2];
static struct vb_renewed renewed[2];
static struct vb_lash lash[2 * CYLINDERS * (VISITS + 1)];
static struct vb_engine engine;
static struct vb_fleet fleet; // of that engine, pooled

/* Each closes at a rate of its own, with some scatter, and is set once more in between. */
static void
add_valve(int cyl, char side)
{
    for (size_t i = 0; i < VISITS; i++) {
        double found = 0.4 - 0.01 * cyl * (double)(i % 3) - 0.002 * (double)(i % 2);
        double left = i % 3 == 0 ? 0.4 : NAN;
        if (cyl == CYLINDERS && i == VISITS - 1)
            found += 0.15; // a step: look at it
        lash[engine.n_lash++] = (struct vb_lash){
            i, {cyl, side, 0}, i ? found - 0.03 * (i == 3) : NAN, left, NAN, NAN};
    }
}

static void
setup(void)
{
    vb_start();
    vb_family_init(&family);
    family.cylinders = CYLINDERS;
    family.valves[0] = family.valves[1] = 1;
    family.adjuster = VB_ADJUSTER_SHIM;
    for (int s = 0; s < 2; s++) {
        family.lash_min[s] = 0.33;
        family.lash_max[s] = 0.45;
        family.lash_target[s] = 0.4;
        family.seat_limit[s] = 0.5;
    }
    family.relash = 150;
    family.relash_dim = VB_DIM_TIME;
    for (int i = 0; i < VISITS; i++) {
        visit[i] =
            (struct vb_visit){.day = 100 + 10 * i, .meter = 100 * i, .running = 100 * i};
        snprintf(visit[i].date, sizeof visit[i].date, "2026-01-%02d", 1 + i);
    }
    event[0] = (struct vb_event){.day = 115, .kind = VB_EVENT_REPLACE, .at = {1, 'E', 0}};
    event[0].renews = VB_RENEWS_LASH | VB_RENEWS_SEAT;
    event[1] = event[0];
    event[1].day = 125;
    event[1].at.cyl = 2;
    renewed[0] = (struct vb_renewed){150, "seat"};
    renewed[1] = (struct vb_renewed){250, "seat"};
    engine = (struct vb_engine){.name = "D-1",
                                .family = &family,
                                .family_name = "six",
                                .meter_unit = "h",
                                .in_service = 100,
                                .visit = visit,
                                .n_visits = VISITS,
                                .event = event,
                                .n_events = 2,
                                .lash = lash};
    for (int cyl = 1; cyl <= CYLINDERS; cyl++) {
        add_valve(cyl, 'I');
        add_valve(cyl, 'E');
    }
    ck_assert_int_eq(vb_fleet_add(&fleet, &engine, 1000), VB_OK);
    ck_assert_int_eq(vb_fleet_pool(&fleet), VB_OK);
}

static void
teardown(void)
{
    vb_fleet_clear(&fleet);
}

/* --- fleets -------------------------------------------------------------------------- */

/* 17 of them, so that the list of engines grows once more; the family's facts are kept. */
static enum vb_err
compute_fleet(void)
{
    struct vb_fleet f = {0};
    int made;
    enum vb_err e = vb_fleet_family(&f, "six", &made) ? VB_OK : VB_EMEM;
    for (int i = 0; !e && i < 17; i++)
        e = vb_fleet_add(&f, &engine, 1000);
    if (!e)
        e = vb_fleet_pool(&f);
    vb_fleet_clear(&f);
    return e;
}

/* As kept.c gives it back: one engine's unit and lives. */
static enum vb_err
take_fleet(void)
{
    struct vb_fleet f = {0};
    enum vb_err e = VB_OK;
    for (int i = 0; !e && i < 17; i++)
        e = vb_fleet_take(&f, &engine, 1000, &fleet.unit[0]);
    vb_fleet_clear(&f);
    return e;
}

static enum vb_err
find_points(void)
{
    struct vb_lives l = {0};
    struct vb_points p = {0};
    enum vb_err e = VB_OK;
    for (size_t i = 0; !e && i < 5; i++)
        e = vb_lives_points(&engine, i, &l, &p);
    vb_points_clear(&p);
    vb_lives_clear(&l);
    return e;
}

START_TEST(fleets)
{
    ck_assert_int_gt(refuse_each(compute_fleet), 17 * 3);
    ck_assert_int_gt(refuse_each(take_fleet), 17);
    ck_assert_int_gt(refuse_each(find_points), 5);
}
END_TEST

/* --- lists --------------------------------------------------------------------------- */

static struct vb_cam_list cam_list;
static struct vb_due_wish due_wish;

static enum vb_err
list_due(void)
{
    struct vb_dues d = {0};
    enum vb_err e = vb_due_list(&fleet, &due_wish, &d);
    vb_dues_clear(&d);
    return e;
}

static enum vb_err
list_doubts(void)
{
    struct vb_doubts d = {0};
    for (size_t i = 0; i < fleet.n_families; i++)
        fleet.family[i]->seen = (struct vb_family_seen){0};
    vb_fleet_see(&fleet);
    enum vb_err e = vb_fleet_doubts(&fleet, &d);
    free(d.doubt);
    return e;
}

/* Nine that state an interval in h, where meters run in km, and no limits; the first has
 * limits of its inlet valves that clash. Each has an engine. */
static void
add_bare_families(void)
{
    char name[16];
    int made;
    struct vb_engine e = engine;
    strcpy(e.meter_unit, "km");
    for (int i = 0; i < 9; i++) {
        snprintf(name, sizeof name, "six%d", i);
        struct vb_family_kept *k = vb_fleet_family(&fleet, name, &made);
        ck_assert_ptr_nonnull(k);
        vb_family_init(&k->facts);
        k->facts.relash = 150;
        k->facts.relash_dim = VB_DIM_TIME;
        if (i == 0) {
            k->facts.lash_min[0] = 0.3;
            k->facts.lash_max[0] = 0.2;
        }
        e.family = &k->facts;
        e.family_name = k->name;
        ck_assert_int_eq(vb_fleet_add(&fleet, &e, 1000), VB_OK);
    }
}

START_TEST(due_lists)
{
    struct vb_cam_unit cams[2] = {{fleet.unit[0].name, NULL, 3}, {NULL, NULL, 1}};
    struct vb_cam_row row = {.at = "I", .alarm = 1, .hint = "loose"};
    char elsewhere[] = "Z-9";
    cams[1].name = elsewhere;
    cam_list = (struct vb_cam_list){.engine = cams, .n_engines = 2, .row = &row, .n = 1};
    due_wish = (struct vb_due_wish){1000, NAN, NAN, NAN, 0, 0.95, &cam_list, NULL};
    // states, places of engines, keys; the list, its engines, a name and a reason
    ck_assert_int_ge(refuse_each(list_due), 7);
    // kinds one by one: each is the first line there is
    for (int s = 0; s < 2; s++)
        family.lash_min[s] = family.lash_max[s] = NAN; // no lash
    ck_assert_int_ge(refuse_each(list_due), 7);
    for (int s = 0; s < 2; s++)
        family.seat_limit[s] = NAN;
    fleet.lives.life[0].newest.lash = 5; // a step
    ck_assert_int_ge(refuse_each(list_due), 7);
    for (size_t i = 0; i < fleet.lives.n; i++)
        fleet.lives.life[i].current = 0; // no check
    ck_assert_int_ge(refuse_each(list_due), 7);
    family.relash = NAN;
    fleet.unit[0].n_unread = 1;
    ck_assert_int_ge(refuse_each(list_due), 7);
    fleet.unit[0].n_unread = 0; // only what is said of cams
    ck_assert_int_ge(refuse_each(list_due), 7);
    cams[0].refused = 0;
    ck_assert_int_ge(refuse_each(list_due), 7);
    row.alarm = 0;
    ck_assert_int_eq(refuse_each(list_due), 3);
}
END_TEST

START_TEST(doubts)
{
    ck_assert_int_eq(refuse_each(list_doubts), 0); // the family of the engine is not kept
    add_bare_families();
    ck_assert_int_eq(refuse_each(list_doubts),
                     3); // 1 + 9 + 9 of them: room for 8, 16, 32
    fleet.family[0]->facts.lash_min[0] = NAN;
    ck_assert_int_eq(refuse_each(list_doubts), 3); // 9 + 9
}
END_TEST

/* --- setting sheets ------------------------------------------------------------------ */

static const struct vb_shim_stock stock[] = {{2400, 2, 0}, {2450, 2, 0}};
static struct vb_set_readings set_readings;

static enum vb_err
make_sheet(void)
{
    struct vb_sheet_wish w = {.date = "2026-02-01",
                              .as_of = 1000,
                              .order = VB_ORDER_CYLINDERS,
                              .all = 1,
                              .stock = stock,
                              .n_stock = 2};
    struct vb_sheet s = {0};
    enum vb_err e = vb_sheet_make(&fleet, &set_readings, &w, &s, NULL);
    vb_sheet_clear(&s);
    return e;
}

START_TEST(sheets)
{
    struct vb_set_reading r[CYLINDERS];
    for (int i = 0; i < CYLINDERS; i++) {
        r[i] = (struct vb_set_reading){
            {i + 1, 'I', 0}, 140, "2026-01-05", 0.35, NAN, NAN, NAN, 2.4, NAN};
    }
    set_readings = (struct vb_set_readings){.r = r, .n = CYLINDERS, .meter = 400};
    // the rows; the valves, choices and rows of shims; four requests for the pool of shims
    // and six for the assignment
    ck_assert_int_eq(refuse_each(make_sheet), 1 + 3 + 4 + 6);
    family.cylinders = 17; // 34 valves: the list of rows grows once more
    ck_assert_int_eq(refuse_each(make_sheet), 2 + 3 + 4 + 6);
}
END_TEST

/* --- lives --------------------------------------------------------------------------- */

static enum vb_err
serve(void)
{
    struct vb_service s = {.wish = {"seat", 0, 0, 1000}};
    struct vb_family_life l;
    enum vb_err e = VB_OK;
    for (int i = 0; !e && i < 17; i++)
        e = vb_service_add(&s, &engine, renewed);
    if (!e)
        e = vb_family_life_fit(&fleet, "six", &family, "h", &s, 0.01, &l);
    enough();
    if (!e) {
        ck_assert_double_gt(l.relash.gap, 0); // there is one
        vb_family_life_clear(&l);
    }
    vb_service_clear(&s);
    return e;
}

/* Two valves that were set once: what is known of the first ends where the second begins. */
static enum vb_err
serve_set_once(void)
{
    static struct vb_lash set[2];
    struct vb_engine e = engine;
    struct vb_service s = {.wish = {"seat", 0, 0, 1000}};
    set[0] = (struct vb_lash){0, {1, 'E', 0}, NAN, 0.4, NAN, NAN};
    set[1] = (struct vb_lash){0, {2, 'E', 0}, NAN, 0.4, NAN, NAN};
    e.lash = set;
    e.n_lash = 2;
    enum vb_err err = vb_service_add(&s, &e, renewed);
    vb_service_clear(&s);
    return err;
}

/* A valve that was set, and found beyond its limit at the next visit. */
static enum vb_err
serve_found_beyond(void)
{
    static struct vb_lash set[2];
    struct vb_engine e = engine;
    struct vb_service s = {.wish = {"seat", 0, 0, 1000}};
    set[0] = (struct vb_lash){3, {3, 'E', 0}, NAN, 0.4, NAN, NAN};
    set[1] = (struct vb_lash){4, {3, 'E', 0}, -9, 0.4, NAN, NAN};
    e.lash = set;
    e.n_lash = 2;
    enum vb_err err = vb_service_add(&s, &e, renewed);
    enough();
    ck_assert_uint_eq(s.setting[1].n, err ? s.setting[1].n : 1);
    vb_service_clear(&s);
    return err;
}

START_TEST(lives)
{
    family.lash_min[0] = family.lash_min[1] = -0.4; // that settings do not scatter to
    ck_assert_int_gt(refuse_each(serve), 17 * 3);
    ck_assert_int_gt(refuse_each(serve_set_once), 3);
    ck_assert_int_gt(refuse_each(serve_found_beyond), 3);
}
END_TEST

/* --- cams ---------------------------------------------------------------------------- */

static struct vb_cam_reading reading[64];
static struct vb_cam_event cam_event[1];
static struct vb_cam_engine timed;
static struct vb_lobe_point *table;
static size_t table_n;

static void
take(size_t v, enum vb_cam_what what, const char *at, double found)
{
    struct vb_cam_reading *r = &reading[timed.n_readings++];
    *r = (struct vb_cam_reading){
        .what = what, .visit = v, .value = {found, NAN}, .u = NAN};
    snprintf(r->place, sizeof r->place, "%s", at);
    ck_assert_int_eq(vb_valve_part(at, strlen(at), &r->at), VB_OK);
}

/* A harmonic cam about `centre`, read under a lash of 0.2 or 0.25 mm at 1 mm. */
static void
time_valve(size_t v, const char *at, double centre, double under)
{
    const struct closed_cam c = {HARMONIC, 8.5, 60, 0, 70};
    struct vb_lobe_events a = closed_events(&c, 1, 0.2, 1),
                          b = closed_events(&c, 1, under, 1);
    double origin = a.up + a.down - centre;
    take(v, VB_CAM_OPENS, at, 2 * b.up - origin);
    take(v, VB_CAM_CLOSES, at, 2 * b.down - origin);
    take(v, VB_CAM_LASH, at, under);
}

static void
begin_cams(void)
{
    const struct closed_cam c = {HARMONIC, 8.5, 60, 0, 70};
    setup();
    table = closed_table(&c, 1, 0, &table_n);
    ck_assert_ptr_nonnull(table);
    ck_assert_int_eq(vb_banks_parse("A:1-2-3 B:4-5-6", &family.banks), VB_OK);
    for (int s = 0; s < 2; s++) {
        family.opens[s] = s ? -225 : -12;
        family.closes[s] = s ? 12 : 225;
        family.checking_lift[s] = 1;
        family.lash_target[s] = 0.2;
    }
    strcpy(family.lobe[0], "in");
    strcpy(family.lobe[1], "nobody's");
    family.crank_teeth = 20;
    family.cam_teeth = 40;
    timed = (struct vb_cam_engine){.name = "D-1",
                                   .family_name = "six",
                                   .family = &family,
                                   .visit = visit,
                                   .n_visits = VISITS,
                                   .reading = reading,
                                   .event = cam_event,
                                   .n_events = 1};
    cam_event[0] = (struct vb_cam_event){.day = 115, .fit = 1, .reversed = 1};
    strcpy(cam_event[0].item, "in");
    strcpy(cam_event[0].build, "B1");
    for (size_t v = 0; v < 3; v++)
        for (int cyl = 1; cyl <= 4; cyl += 3)
            for (int s = 0; s < 2; s++) {
                char at[16];
                snprintf(at, sizeof at, "%d%c", cyl, s ? 'E' : 'I');
                time_valve(v, at, s ? -106 : 106, v ? 0.25 : 0.2);
            }
}

static void
end_cams(void)
{
    free(table);
    teardown();
}

static int each_valve;
static size_t rows_before; // of other engines: which of the next asks for room

static enum vb_err
place_cams(void)
{
    struct vb_cam_list l = {
        .row = calloc(16, sizeof *l.row), .n = rows_before, .size = 16};
    struct vb_profiles p = {0};
    const struct vb_cam_wish w = {1, each_valve};
    enum vb_err e = l.row ? VB_OK : VB_EMEM;
    for (size_t i = 0; !e && i < table_n; i++)
        e = vb_profiles_add(&p, "in", table[i], 0.001);
    if (!e)
        e = vb_cams_add(&l, &timed, &p, &w);
    vb_cam_list_clear(&l);
    vb_profiles_clear(&p);
    return e;
}

/* Rows of marks alone: the 17th needs more room. */
static enum vb_err
mark_cams(void)
{
    struct vb_cam_list l = {0};
    struct vb_profiles p = {0};
    const struct vb_cam_wish w = {1, 0};
    enum vb_err e = vb_cams_add(&l, &timed, &p, &w);
    vb_cam_list_clear(&l);
    vb_profiles_clear(&p);
    return e;
}

START_TEST(marks)
{
    timed.n_readings = 0;
    for (size_t i = 0; i < 17; i++)
        take(i / 4, VB_CAM_STEP, "I", (double)i);
    // the engine and its two names, room for 16 rows and for 32
    ck_assert_int_eq(refuse_each(mark_cams), 3 + 2);
}
END_TEST

/* A profile that the table does not have is kept by its name, to be refused once. */
START_TEST(no_profiles)
{
    timed.n_readings = 2;
    timed.n_events = 0;
    strcpy(family.lobe[0], "nobody's");
    ck_assert_int_gt(refuse_each(mark_cams), 3 + 2);
}
END_TEST

START_TEST(cams)
{
    for (rows_before = 0; rows_before < 16; rows_before++)
        for (each_valve = 0; each_valve < 2; each_valve++)
            ck_assert_int_gt(refuse_each(place_cams), 50);
}
END_TEST

/* One cam for all of it: what both sides say together has to be kept somewhere. */
START_TEST(one_cam)
{
    long of_sides;
    rows_before = 0;
    each_valve = 0;
    of_sides = refuse_each(place_cams);
    family.cam_for = VB_CAM_FOR_ENGINE;
    ck_assert_int_gt(refuse_each(place_cams), of_sides);
}
END_TEST

static Suite *
engine_suite(void)
{
    Suite *s = suite_create("memory_engine");
    TCase *t = tcase_create("lash");
    tcase_add_checked_fixture(t, setup, teardown);
    tcase_set_timeout(t, 60);
    tcase_add_test(t, fleets);
    tcase_add_test(t, due_lists);
    tcase_add_test(t, doubts);
    tcase_add_test(t, sheets);
    tcase_add_test(t, lives);
    suite_add_tcase(s, t);

    t = tcase_create("cams");
    tcase_add_checked_fixture(t, begin_cams, end_cams);
    tcase_set_timeout(t, 60);
    tcase_add_test(t, cams);
    tcase_add_test(t, one_cam);
    tcase_add_test(t, marks);
    tcase_add_test(t, no_profiles);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(engine_suite());
}
