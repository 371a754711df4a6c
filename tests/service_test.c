#include "suite.h"
#include "valvebook/service.h"

#include <check.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/quantity.h"

/* Everything here is worked out by hand. An engine of two cylinders, one inlet and one exhaust
 * valve each, run 2 h a day where nothing else is said. */

static struct vb_family family;
static struct vb_visit visit[10];
static struct vb_event event[10];
static struct vb_renewed renewed[10];
static struct vb_lash lash[40];
static struct vb_engine engine;
static struct vb_service s;

static void
begin(void)
{
    vb_family_init(&family);
    family.cylinders = 2;
    family.valves[0] = family.valves[1] = 1;
    family.lash_min[1] = 0.2;
    family.lash_max[1] = 0.6;
    engine = (struct vb_engine){.name = "D-1",
                                .family = &family,
                                .family_name = "two",
                                .meter_unit = "h",
                                .in_service = NAN,
                                .visit = visit,
                                .event = event,
                                .lash = lash};
    memset(&s, 0, sizeof s);
    s.wish = (struct vb_service_wish){"seat", 0, 0, 1000};
}

static void
end(void)
{
    vb_service_clear(&s);
}

static void
add_visit(double day, double running)
{
    visit[engine.n_visits++] =
        (struct vb_visit){.day = day, .meter = running, .running = running};
}

/* at: "" , "1E", "E", "2" as in the table events */
static void
add_event(double day, double running, enum vb_event_kind kind, const char *part,
          const char *at)
{
    struct vb_event *ev = &event[engine.n_events];
    *ev = (struct vb_event){.day = day, .kind = kind};
    if (kind == VB_EVENT_BUILD || kind == VB_EVENT_REPLACE)
        ev->renews = vb_part_renews(part, strlen(part));
    if (*at)
        ck_assert_int_eq(vb_valve_part(at, strlen(at), &ev->at), VB_OK);
    renewed[engine.n_events].running = running;
    strncat(memset(renewed[engine.n_events].part, 0, 16), part, 15);
    engine.n_events++;
}

static void
replace(double day, double running, const char *at)
{
    add_event(day, running, VB_EVENT_REPLACE, "seat", at);
}

static void
add(void)
{
    ck_assert_int_eq(vb_service_add(&s, &engine, renewed), VB_OK);
}

static void
watch_is(size_t i, size_t of, double from, double to)
{
    ck_assert_uint_lt(i, s.n_watches);
    ck_assert_uint_eq(s.watch[i].engine, of);
    ck_assert_double_eq_tol(s.watch[i].from, from, 1e-9);
    ck_assert_double_eq_tol(s.watch[i].to, to, 1e-9);
}

static void
replaced_is(size_t i, size_t of, double age, double count)
{
    ck_assert_uint_lt(i, s.n_replaced);
    ck_assert_uint_eq(s.replaced[i].watch, of);
    ck_assert_double_eq_tol(s.replaced[i].age, age, 1e-9);
    ck_assert_double_eq(s.replaced[i].count, count);
}

static void
span_is(const struct vb_spans *p, size_t i, double lo, double hi)
{
    ck_assert_uint_lt(i, p->n);
    ck_assert_double_eq_tol(p->span[i].lo, lo, 1e-9);
    if (isinf(hi))
        ck_assert(isinf(p->span[i].hi));
    else
        ck_assert_double_eq_tol(p->span[i].hi, hi, 1e-9);
}

/* --- the scale ----------------------------------------------------------------------- */

/*
 * It came with 100 h on the meter: it is late, and its seats have no age. Day 50 lies between
 * 100 h on day 0 and 300 h on day 100: 200 h. Day 150 has a meter of its own. Day 300 is
 * after the last meter on record, day -1 before the first.
 */
START_TEST(came_used)
{
    add_visit(0, 100);
    add_visit(100, 300);
    add_visit(200, 500);
    replace(-1, NAN, "1E");
    replace(50, NAN, "1E");
    replace(150, 390, "2E");
    replace(200, NAN, "1I");
    replace(300, NAN, "1E");
    add();
    ck_assert(s.engines == 1 && s.late == 1 && s.left == 0 && s.unplaced == 0);
    ck_assert(s.n_watches == 1 && s.n_replaced == 3 && s.lost == 2);
    watch_is(0, 0, 100, 500);
    replaced_is(0, 0, 200, 1);
    replaced_is(1, 0, 390, 1);
    replaced_is(2, 0, 500, 1);
    // lives that began with an event: 1E at 200, which ended after 500; 2E at 390; 1I at 500
    ck_assert(s.part[1].n == 2 && s.part[0].n == 0);
    span_is(&s.part[1], 0, 300, INFINITY);
    span_is(&s.part[1], 1, 110, INFINITY);
}
END_TEST

/* New on day 0, though its meter was first read on day 100: all from 0. */
START_TEST(came_new)
{
    engine.in_service = 0;
    add_visit(100, 200);
    add_visit(200, 400);
    replace(150, NAN, "1E");
    replace(180, 360, "1E");
    add();
    ck_assert(s.late == 0 && s.unborn[0] + s.unborn[1] == 0 && s.lost == 0);
    watch_is(0, 0, 0, 400);
    replaced_is(0, 0, 300, 1);
    replaced_is(1, 0, 360, 1);
    ck_assert(s.part[1].n == 4 && s.part[0].n == 2);
    span_is(&s.part[1], 0, 300, 300);
    span_is(&s.part[1], 1, 60, 60);
    span_is(&s.part[1], 2, 40, INFINITY);
    span_is(&s.part[1], 3, 400, INFINITY);
    span_is(&s.part[0], 0, 400, INFINITY);
}
END_TEST

/* What speaks against new: a meter on that day or before, or more than there are hours. */
START_TEST(not_new)
{
    static const struct {
        double in_service, day, running, from;
        int is_new;
    } cases[] = {{0, 0, 0, 0, 1},    {0, 0, 5, 5, 0},      {10, 0, 0, 100, 0},
                 {0, 10, 264, 0, 1}, {0, 10, 265, 265, 0}, {NAN, 0, 0, 0, 0}};
    engine.in_service = cases[_i].in_service;
    add_visit(cases[_i].day, cases[_i].running);
    add_visit(20, 600 + (cases[_i].in_service == 10 ? -400 : 0));
    add();
    watch_is(0, 0, cases[_i].from, engine.in_service == 10 ? 200 : 600);
    ck_assert_uint_eq(s.unborn[0] + s.unborn[1], cases[_i].is_new ? 0 : 4);
}
END_TEST

/* What a meter may run in a day when it is loaded, 3000 km, it may have run since it was new:
 * in eleven days, both ends counted, 33,000. */
START_TEST(new_in_km)
{
    engine.in_service = 0;
    strcpy(engine.meter_unit, "km");
    add_visit(10, 33000 + _i);
    add_visit(20, 40000);
    add();
    watch_is(0, 0, _i ? 33001 : 0, 40000);
}
END_TEST

/* Its meter was read before it came into service, and never since: it is not new, and nothing
 * says at which age it came. */
START_TEST(read_before_service)
{
    engine.in_service = 10;
    add_visit(0, 500);
    add();
    ck_assert(s.n_watches == 0 && s.unplaced == 1);
    ck_assert_uint_eq(s.unborn[0] + s.unborn[1], 4);
}
END_TEST

/* What the old meter showed last is a record as good as a visit: 280 h on day 100, so that day
 * 150 lies midway to 500 h on day 200. */
START_TEST(swap_is_a_record)
{
    add_visit(0, 100);
    add_event(100, 280, VB_EVENT_METER, "", "");
    replace(150, NAN, "1E");
    add_visit(200, 500);
    add();
    replaced_is(0, 0, 390, 1);
}
END_TEST

/* By days: from the day it came into service, or the first day on record, to as_of. */
START_TEST(by_days)
{
    s.wish.days = 1;
    engine.in_service = 100;
    replace(90, NAN, "2E");
    replace(250.6, NAN, "1E");
    add();
    watch_is(0, 0, 0, 900);
    replaced_is(0, 0, 150, 1);
    ck_assert_uint_eq(s.lost, 1); // before it came into service
    engine.in_service = NAN;
    add();
    watch_is(1, 1, 0, 910);
    replaced_is(1, 1, 160, 1);
    ck_assert_uint_eq(s.lost, 2); // on its first day it is not yet at risk
    ck_assert_uint_eq(s.unborn[0] + s.unborn[1],
                      4); // the second time all four were there before
}
END_TEST

/* It left: by days on that day, by the meter at the last on record until then. */
START_TEST(left_the_fleet)
{
    add_visit(0, 0);
    add_visit(100, 200);
    add_event(120, NAN, VB_EVENT_END, "", "");
    add_visit(150, 290); // somebody else's by then
    add();
    ck_assert_uint_eq(s.left, 1);
    watch_is(0, 0, 0, 200);
    s.wish.days = 1;
    add();
    watch_is(1, 1, 0, 120);
    event[0].day = 100;
    renewed[0].running = 210; // what the meter showed when it left
    s.wish.days = 0;
    add();
    watch_is(2, 2, 0, 210);
}
END_TEST

/* Nothing says where on the scale it is. */
START_TEST(unplaced)
{
    replace(50, NAN, "1E");
    add();
    ck_assert(s.engines == 0 && s.unplaced == 1 && s.lost == 1 && s.n_watches == 0);
    s.wish.days = 1;
    add(); // by days it is, from its first event, on which it is not yet at risk
    ck_assert(s.engines == 1 && s.unplaced == 1 && s.lost == 2 && s.n_watches == 1);
    watch_is(0, 0, 0, 950);
}
END_TEST

/* --- builds ------------------------------------------------------------------------------ */

/*
 * Built at 300 h: a second watch from age 0. A seat replaced on that very day belongs to the
 * first. What a build renews has an age from there on.
 */
START_TEST(built_anew)
{
    add_visit(0, 100);
    add_visit(300, 700);
    add_event(100, 300, VB_EVENT_BUILD, "", "");
    replace(100, 300, "1E");
    replace(200, 500, "1E");
    add();
    ck_assert(s.engines == 1 && s.n_watches == 2 && s.n_replaced == 2 && s.lost == 0);
    watch_is(0, 0, 100, 300);
    watch_is(1, 0, 0, 400);
    replaced_is(0, 0, 300, 1);
    replaced_is(1, 1, 200, 1);
    ck_assert(s.part[1].n == 3 && s.part[0].n == 2);
    span_is(&s.part[1], 0, 200, 200);      // 1E from the build
    span_is(&s.part[1], 1, 200, INFINITY); // and from its replacement
    span_is(&s.part[1], 2, 400, INFINITY); // 2E from the build
}
END_TEST

/* New, then built: lives are right-censored there, but where the seat itself was replaced. */
START_TEST(built_while_running)
{
    engine.in_service = 0;
    add_visit(0, 0);
    add_visit(300, 600);
    add_event(100, NAN, VB_EVENT_BUILD, "", "");
    replace(100, NAN, "2E");
    add();
    ck_assert(s.part[1].n == 4 && s.part[0].n == 4);
    span_is(&s.part[1], 0, 200, INFINITY);
    span_is(&s.part[1], 1, 400, INFINITY);
    span_is(&s.part[1], 2, 200, 200);
    span_is(&s.part[1], 3, 400, INFINITY);
    span_is(&s.part[0], 0, 200, INFINITY);
}
END_TEST

/* What renews seats otherwise: a head does, a valve, a cam and the head of one cylinder do
 * not begin a new watch; the last ends the lives there. */
START_TEST(what_begins_anew)
{
    static const struct {
        enum vb_event_kind kind;
        const char *part, *at;
        size_t watches, lives; // of exhaust seats
        char bank, side;
    } cases[] = {
        {VB_EVENT_BUILD, "", "", 2, 4, 0, 0},
        {VB_EVENT_BUILD, "engine", "", 2, 4, 0, 0},
        {VB_EVENT_BUILD, "head", "", 2, 4, 0, 0},
        {VB_EVENT_REPLACE, "head", "", 2, 4, 0, 0},
        {VB_EVENT_BUILD, "seat", "", 2, 4, 0, 0},
        {VB_EVENT_REPLACE, "head", "1", 1, 3, 0, 0},
        {VB_EVENT_REPLACE, "valve", "", 1, 2, 0, 0},
        {VB_EVENT_BUILD, "cam", "", 1, 2, 0, 0},
        {VB_EVENT_REPLACE, "piston", "", 1, 2, 0, 0},
        {VB_EVENT_BUILD, "head", "E", 1, 4, 0, 0},
        {VB_EVENT_BUILD, "head", "E", 2, 4, 0, 'E'}, // all that is asked for
        {VB_EVENT_BUILD, "head", "I", 1, 2, 0, 'E'},
        {VB_EVENT_BUILD, "head", "", 1, 3, 'A', 0}, // of one bank
    };
    engine.in_service = 0;
    add_visit(0, 0);
    add_visit(300, 600);
    add_event(100, NAN, cases[_i].kind, cases[_i].part, cases[_i].at);
    event[0].bank = cases[_i].bank;
    family.banks.of[1] = 'A';
    family.banks.of[2] = 'B';
    s.wish.side = cases[_i].side;
    add();
    ck_assert_uint_eq(s.n_watches, cases[_i].watches);
    ck_assert_uint_eq(s.part[1].n, cases[_i].lives);
    ck_assert_uint_eq(s.n_replaced, 0);
}
END_TEST

/* The second exhaust valve of every cylinder is not all there is: those beside it live on. */
START_TEST(one_index_of_all)
{
    family.valves[1] = 2;
    engine.in_service = 0;
    add_visit(0, 0);
    add_visit(300, 600);
    add_event(100, NAN, VB_EVENT_BUILD, "seat", "E2");
    ck_assert(event[0].at.cyl == 0 && event[0].at.index == 2);
    s.wish.side = 'E';
    add();
    ck_assert_uint_eq(s.n_watches, 1);
    ck_assert_uint_eq(s.part[1].n, 6);
}
END_TEST

/* With a head come guides; rockers do not. What was replaced itself ended on that day,
 * whatever came with it. */
START_TEST(head_with_other_parts)
{
    engine.in_service = 0;
    add_visit(0, 0);
    add_visit(300, 600);
    add_event(100, NAN, VB_EVENT_REPLACE, "guide", "1E");
    add_event(100, NAN, VB_EVENT_REPLACE, "head", "");
    s.wish.part = "guide";
    add();
    ck_assert(s.n_watches == 2 && s.part[1].n == 4 && s.n_replaced == 1);
    span_is(&s.part[1], 0, 200, 200);
    span_is(&s.part[1], 2, 200, INFINITY);
    s.wish.part = "rocker";
    add();
    ck_assert(s.n_watches == 3 && s.part[1].n == 6);
}
END_TEST

/* What comes with a head: what sits in it. */
START_TEST(what_sits_in_a_head)
{
    static const struct {
        const char *part;
        size_t watches;
    } cases[] = {{"seat", 2},     {"valve", 2},  {"guide", 2},    {"spring", 2},
                 {"follower", 1}, {"rocker", 1}, {"adjuster", 1}, {"pushrod", 1},
                 {"tip", 1},      {"chain", 1}};
    add_visit(0, 0);
    add_visit(300, 600);
    add_event(100, NAN, VB_EVENT_REPLACE, "head", "");
    s.wish.part = cases[_i].part;
    add();
    ck_assert_uint_eq(s.n_watches, cases[_i].watches);
}
END_TEST

/* Of two inlet valves a cylinder the second got a seat: the first's is as old as before. */
START_TEST(one_of_two_valves)
{
    family.valves[0] = 2;
    engine.in_service = 0;
    add_visit(0, 0);
    add_visit(100, 200);
    replace(50, NAN, "1I2");
    add();
    ck_assert_uint_eq(s.part[0].n, 5);
    span_is(&s.part[0], 0, 200, INFINITY);
    span_is(&s.part[0], 1, 100, 100);
    span_is(&s.part[0], 2, 100, INFINITY);
}
END_TEST

/* A part of which the engine has one: renewed with what is of one side, one cylinder, one
 * valve or one bank, since nobody says where it sits. */
START_TEST(one_an_engine_renewed_somewhere)
{
    static const char *const at[] = {"E", "1", "1E2", ""};
    family.valves[1] = 2;
    s.wish.part = "cam";
    engine.in_service = 0;
    add_visit(0, 0);
    add_visit(300, 600);
    add_event(100, NAN, VB_EVENT_REPLACE, "cam", at[_i]);
    event[0].bank = _i == 3 ? 'A' : 0;
    add();
    ck_assert_uint_eq(s.part[0].n, 2);
    span_is(&s.part[0], 0, 200, 200);
    span_is(&s.part[0], 1, 400, INFINITY);
}
END_TEST

/* Built again after the last reading, or without any reading, or before it came. */
START_TEST(built_out_of_sight)
{
    engine.in_service = 0;
    add_visit(0, 0);
    add_visit(100, 200);
    add_event(150, NAN, VB_EVENT_BUILD, "", "");
    add();
    ck_assert_uint_eq(s.n_watches, 1);
    watch_is(0, 0, 0, 200); // up to the last meter
    end();
    begin();
    add_event(150, NAN, VB_EVENT_BUILD, "", "");
    add();
    ck_assert(s.n_watches == 0 && s.unplaced == 1);
    end();
    begin();
    s.wish.days = 1;
    engine.in_service = 200;
    add_event(150, NAN, VB_EVENT_BUILD, "", "");
    add();
    ck_assert_uint_eq(s.n_watches, 1);
    watch_is(0, 0, 0, 800);
}
END_TEST

/* New, and without a meter since: its seats were replaced at no known age. */
START_TEST(replaced_without_a_meter)
{
    engine.in_service = 0;
    replace(50, NAN, "1E");
    add();
    ck_assert(s.part[1].n == 0 && s.unborn[1] > 0);
}
END_TEST

/* Its first reading is of the day it came, its second never: seats that are replaced later ran
 * up to 0 h and no further. */
START_TEST(replaced_after_no_hours)
{
    engine.in_service = 0;
    add_visit(0, 0);
    replace(50, NAN, "1E");
    add();
    ck_assert_uint_eq(s.part[1].n, 0);
}
END_TEST

/* Cylinders are stated and valves are not, or the other way round. */
START_TEST(half_known_number)
{
    family.valves[0] = family.valves[1] = 0;
    add_visit(0, 0);
    add_visit(100, 200);
    replace(50, NAN, "");
    add();
    ck_assert_double_eq(s.count, 1);
    family.valves[1] = 2; // 2 x 2 exhaust seats, and one inlet seat a cylinder
    add();
    ck_assert_double_eq(s.count, 1 + 6);
    family.valves[0] = 2;
    family.valves[1] = 0;
    add();
    ck_assert_double_eq(s.count, 7 + 6);
    family.cylinders = 0;
    add();
    ck_assert_double_eq(s.count, 13 + 1);
}
END_TEST

/* What was replaced when it had left the fleet is no end of a life there. */
START_TEST(replaced_after_it_left)
{
    engine.in_service = 0;
    add_visit(0, 0);
    add_visit(100, 200);
    add_event(100, NAN, VB_EVENT_END, "", "");
    replace(150, 250, "1E");
    add();
    ck_assert(s.n_replaced == 0 && s.part[1].n == 2);
    span_is(&s.part[1], 0, 200, INFINITY);
    span_is(&s.part[1], 1, 200, INFINITY);
}
END_TEST

/* Set where nobody read the meter: how it was set is known, how long it lasts is not. */
START_TEST(set_without_a_meter)
{
    add_visit(0, NAN);
    add_visit(100, 200);
    lash[0] = (struct vb_lash){0, {1, 'E', 0}, NAN, 0.4, NAN, NAN};
    lash[1] = (struct vb_lash){1, {1, 'E', 0}, 0.1, NAN, NAN, NAN};
    engine.n_lash = 2;
    add();
    ck_assert(s.set[1].n == 1 && s.setting[1].n == 0);
}
END_TEST

/* Built before its meter was first read: nothing has an age until it is built again. */
START_TEST(built_unread)
{
    add_event(-10, NAN, VB_EVENT_BUILD, "", "");
    add_visit(0, 100);
    add_visit(300, 700);
    replace(50, NAN, "1E");
    add_event(100, NAN, VB_EVENT_BUILD, "", "");
    replace(200, NAN, "1E");
    add();
    ck_assert(s.n_watches == 1 && s.lost == 1);
    watch_is(0, 0, 0, 400);
    replaced_is(0, 0, 200, 1);
}
END_TEST

/* --- how many ---------------------------------------------------------------------------- */

/* Two cylinders of one inlet and two exhaust valves. */
START_TEST(places_count)
{
    static const struct {
        const char *part, *at;
        char side;
        double count;
    } cases[] = {{"seat", "1E2", 0, 1}, {"seat", "1E", 0, 2},  {"seat", "E", 0, 4},
                 {"seat", "1", 0, 3},   {"seat", "", 0, 6},    {"seat", "", 'I', 2},
                 {"seat", "2", 'E', 2}, {"seat", "E", 'I', 0}, {"seat", "E", 'E', 4},
                 {"cam", "", 0, 1},     {"cam", "E", 0, 1},    {"cam", "I", 'E', 0},
                 {"chain", "", 0, 1}};
    family.valves[1] = 2;
    s.wish.part = cases[_i].part;
    s.wish.side = cases[_i].side;
    add_visit(0, 100);
    add_visit(100, 300);
    add_event(50, NAN, VB_EVENT_REPLACE, cases[_i].part, cases[_i].at);
    add();
    ck_assert_double_eq(s.count, cases[_i].count);
    ck_assert_uint_eq(s.lost, 0);
}
END_TEST

/* Where the family does not say how many there are an event counts one, and there are no
 * lives, since nobody knows how many are running. */
START_TEST(unknown_number)
{
    family.cylinders = family.valves[0] = family.valves[1] = 0;
    engine.in_service = 0;
    add_visit(0, 0);
    add_visit(100, 200);
    replace(50, NAN, "");
    replace(60, NAN, "3E");
    add();
    ck_assert(s.count == 2 && s.part[0].n == 0 && s.part[1].n == 0);
    ck_assert_uint_eq(s.unknown_places, 2);
}
END_TEST

/* A part that the engine has one of: its lives do not depend on valves. */
START_TEST(one_an_engine)
{
    s.wish.part = "chain";
    family.cylinders = 0;
    engine.in_service = 0;
    add_visit(0, 0);
    add_visit(300, 600);
    add_event(100, NAN, VB_EVENT_REPLACE, "chain", "");
    add();
    ck_assert(s.part[0].n == 2 && s.part[1].n == 0 && s.one_a_valve == 0);
    span_is(&s.part[0], 0, 200, 200);
    span_is(&s.part[0], 1, 400, INFINITY);
}
END_TEST

/* Several engines: indices go on. */
START_TEST(engines_in_turn)
{
    add_visit(0, 100);
    add_visit(100, 300);
    replace(50, NAN, "1E");
    add();
    add();
    ck_assert(s.engines == 2 && s.count == 2);
    watch_is(1, 1, 100, 300);
    replaced_is(1, 1, 200, 1);
}
END_TEST

/* --- settings ------------------------------------------------------------------------------ */

static void
read_1e(size_t v, double found, double left)
{
    lash[engine.n_lash++] = (struct vb_lash){v, {1, 'E', 0}, found, left, NAN, NAN};
}

static void
visits(size_t n)
{
    for (size_t i = 0; i < n; i++)
        add_visit(100.0 * (double)i, 200.0 * (double)i);
}

/* Set at 0, inside at 200 and 400, outside at 600: it ended between 400 and 600. */
START_TEST(ended_between_visits)
{
    visits(4);
    read_1e(0, NAN, 0.4);
    read_1e(1, 0.35, NAN);
    read_1e(2, 0.25, 0.25); // left as found: nobody touched it
    read_1e(3, 0.19, NAN);
    add();
    ck_assert_uint_eq(s.setting[1].n, 1);
    span_is(&s.setting[1], 0, 400, 600);
    ck_assert_uint_eq(s.set[1].n, 1);
    const struct vb_set *set = &s.set[1].set[0];
    ck_assert(set->left == 0.4 && set->found == 0.35 && set->gap == 200);
    ck_assert(set->seen == 600 && set->s2 == 1);
    s.wish.days = 1;
    add();
    span_is(&s.setting[1], 1, 200, 300);
    ck_assert(s.set[1].set[1].gap == 200); // rates are by the meter all the same
}
END_TEST

/* Outside at the first look; set anew while inside; not looked at since. */
START_TEST(other_ends)
{
    visits(5);
    read_1e(0, NAN, 0.4);
    read_1e(1, 0.61, 0.4); // too loose
    read_1e(2, 0.38, NAN);
    read_1e(3, 0.36, 0.41);
    read_1e(4, NAN, 0.4);
    add();
    ck_assert_uint_eq(s.setting[1].n, 2);
    span_is(&s.setting[1], 0, 0, 200);
    span_is(&s.setting[1], 1, 400, INFINITY); // of 200 h, inside when it was set at 600 h
    ck_assert_uint_eq(s.set[1].n, 4);
    ck_assert(s.set[1].set[1].found == 0.38 && s.set[1].set[1].seen == 400);
    ck_assert(isnan(s.set[1].set[2].found) && s.set[1].set[2].seen == 0);
    ck_assert(isnan(s.set[1].set[3].found));
}
END_TEST

/* Left outside its limits: no life, but a setting. An event that renews the lash train ends
 * what went on; the reading as found of that day belongs to the old life. */
START_TEST(renewed_in_between)
{
    visits(6);
    read_1e(0, NAN, 0.15);
    read_1e(1, 0.14, 0.4);
    read_1e(2, 0.35, NAN);
    read_1e(3, 0.34, 0.34); // on the day of the cam: of the new life though the same
    read_1e(4, 0.33, NAN);
    add_event(300, NAN, VB_EVENT_REPLACE, "cam", "");
    read_1e(5, 0.32, NAN);
    add();
    ck_assert_uint_eq(s.setting[1].n, 2);
    span_is(&s.setting[1], 0, 400, INFINITY); // 200 to 600, then the cam
    span_is(&s.setting[1], 1, 400, INFINITY); // 600 to 1000
    ck_assert_uint_eq(s.set[1].n, 3);
    event[0].day = 350; // between two visits
    add();
    ck_assert_uint_eq(s.setting[1].n, 3);
    span_is(&s.setting[1], 2, 400, INFINITY); // 200 to 600; what follows was never set
    ck_assert_uint_eq(s.set[1].n, 5);
    ck_assert(s.set[1].set[4].found == 0.35 && s.set[1].set[4].seen == 400);
}
END_TEST

/* Set at 200 h on the day of a cam, and looked at again in the evening, 2 h later: that found
 * the setting of the morning, and touched nothing. */
START_TEST(set_and_found_on_the_day_of_a_cam)
{
    add_visit(0, 0);
    add_visit(100.25, 200);
    add_visit(100.75, 202);
    add_visit(200, 400);
    read_1e(0, NAN, 0.4);
    read_1e(1, 0.35, 0.4);
    read_1e(2, 0.39, 0.39);
    read_1e(3, 0.37, NAN);
    add_event(100, NAN, VB_EVENT_REPLACE, "cam", "");
    add();
    ck_assert_uint_eq(s.set[1].n, 2);
    const struct vb_set *set = &s.set[1].set[1];
    ck_assert(set->left == 0.4 && set->found == 0.39 && set->gap == 2);
    ck_assert(set->seen == 200);
}
END_TEST

/* Left as it was found, but with another cam: that is a setting, be it the first or not. */
START_TEST(left_as_found_with_another_cam)
{
    if (_i)
        add_visit(0, 0);
    add_visit(100.25, 200);
    add_visit(200, 400);
    size_t day = (size_t)_i;
    if (_i)
        read_1e(0, NAN, 0.4);
    read_1e(day, 0.37, 0.37);
    read_1e(day + 1, 0.36, NAN);
    add_event(100, NAN, VB_EVENT_REPLACE, "cam", "");
    add();
    ck_assert_uint_eq(s.set[1].n, day + 1);
    const struct vb_set *set = &s.set[1].set[day];
    ck_assert(set->left == 0.37 && set->found == 0.36 && set->gap == 200);
}
END_TEST

/* Lash is taken to the tip and to 20 Cel, its stated u to the tip; a visit without a meter
 * tells nothing of gaps. Sides are kept apart, and one may be all that is wanted. */
START_TEST(as_it_is_meant)
{
    visits(3);
    visit[1].running = visit[1].meter = NAN;
    family.ratio[1] = 1.5;
    family.read_at_lobe[1] = 1;
    family.lash_growth[1] = 0.001;
    lash[0] = (struct vb_lash){0, {1, 'I', 0}, NAN, 0.2, NAN, NAN};
    lash[1] = (struct vb_lash){0, {1, 'E', 0}, NAN, 0.3, 0.02, 30};
    lash[2] = (struct vb_lash){1, {1, 'E', 0}, 0.29, NAN, NAN, 20};
    lash[3] = (struct vb_lash){2, {1, 'E', 0}, 0.28, NAN, NAN, 20};
    engine.n_lash = 4;
    add();
    ck_assert(s.set[0].n == 1 && s.set[1].n == 1);
    ck_assert_double_eq_tol(s.set[1].set[0].left, 0.44, 1e-12);
    ck_assert_double_eq_tol(s.set[1].set[0].found, 0.42, 1e-12);
    ck_assert_double_eq_tol(s.set[1].set[0].gap, 400, 1e-12);
    // u 0.02 mm at the lobe is 0.03 at the tip, and a reading of weight 1 has 0.01
    ck_assert_double_eq_tol(s.set[1].set[0].s2, 9, 1e-12);
    span_is(&s.setting[1], 0, 400, INFINITY);
    ck_assert_uint_eq(s.setting[0].n, 0); // no limits are stated
    s.wish.side = 'I';
    add();
    ck_assert(s.set[0].n == 2 && s.set[1].n == 1);
}
END_TEST

int
main(void)
{
    Suite *suite = suite_create("service");
    TCase *c = tcase_create("service");
    tcase_add_checked_fixture(c, begin, end);
    tcase_add_test(c, came_used);
    tcase_add_test(c, came_new);
    tcase_add_loop_test(c, not_new, 0, 6);
    tcase_add_loop_test(c, new_in_km, 0, 2);
    tcase_add_test(c, read_before_service);
    tcase_add_test(c, swap_is_a_record);
    tcase_add_test(c, by_days);
    tcase_add_test(c, left_the_fleet);
    tcase_add_test(c, unplaced);
    tcase_add_test(c, built_anew);
    tcase_add_test(c, built_while_running);
    tcase_add_loop_test(c, what_begins_anew, 0, 13);
    tcase_add_test(c, one_index_of_all);
    tcase_add_test(c, head_with_other_parts);
    tcase_add_loop_test(c, what_sits_in_a_head, 0, 10);
    tcase_add_test(c, one_of_two_valves);
    tcase_add_loop_test(c, one_an_engine_renewed_somewhere, 0, 4);
    tcase_add_test(c, built_out_of_sight);
    tcase_add_test(c, replaced_without_a_meter);
    tcase_add_test(c, replaced_after_no_hours);
    tcase_add_test(c, half_known_number);
    tcase_add_test(c, set_without_a_meter);
    tcase_add_test(c, replaced_after_it_left);
    tcase_add_test(c, built_unread);
    tcase_add_loop_test(c, places_count, 0, 13);
    tcase_add_test(c, unknown_number);
    tcase_add_test(c, one_an_engine);
    tcase_add_test(c, engines_in_turn);
    tcase_add_test(c, ended_between_visits);
    tcase_add_test(c, other_ends);
    tcase_add_test(c, renewed_in_between);
    tcase_add_test(c, set_and_found_on_the_day_of_a_cam);
    tcase_add_loop_test(c, left_as_found_with_another_cam, 0, 2);
    tcase_add_test(c, as_it_is_meant);
    suite_add_tcase(suite, c);
    return run_suite(suite);
}
