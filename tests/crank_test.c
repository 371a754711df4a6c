#include "draw.h"
#include "suite.h"
#include "valvebook/crank.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#define COUNT(a) (sizeof(a) / sizeof *(a))

/* The example of valvebook(7), Signs: near the textbook cases of SOURCES, Cam timing. */
static const struct vb_opening usual[2] = {{-12, 225}, {-230, 8}};

static struct vb_firing
firing(const char *s)
{
    struct vb_firing f;
    ck_assert_msg(vb_firing_parse(s, &f) == VB_OK, "%s", s);
    return f;
}

/* --- firing orders ----------------------------------------------------------------- */

struct order_case {
    const char *text;
    int n, cyl[8];
};

static const struct order_case orders[] = {
    {"1", 1, {1}},           {"1-3-4-2", 4, {1, 3, 4, 2}},
    {"2-1-3", 3, {1, 3, 2}}, // turned until 1 is first
    {"3-2-1", 3, {1, 3, 2}}, {"1-5-3-6-2-4", 6, {1, 5, 3, 6, 2, 4}},
};

START_TEST(an_order_is_read)
{
    const struct order_case *c = &orders[_i];
    struct vb_firing f = firing(c->text);
    ck_assert_int_eq(f.n, c->n);
    for (int i = 0; i < c->n; i++)
        ck_assert_int_eq(f.cyl[i], c->cyl[i]);
}
END_TEST

static const char *const no_orders[] = {
    "",
    "1-",
    "-1",
    "1-3",
    "1-1-2",
    "0-1",
    "1--2",
    "1-2 ",
    "1,2",
    "1-2-2",
    "x",
    "100",
    "1000",
    "1@0-2",
    "1@0",
    "1-2@",
    "1-2@0",
    "1-2@720",
    "1-2@4050",
    "1-2@40.5",
    "1-2@x",
    "1-2@405-",
    "1-2@405@405",
    "1-2@-45",
    "1-2@180-3",
    "1-2-3@360",
    "@0-1",
    "1-3@180-2@180",
    "1-3@360-2@180",
    "1-2@99999999999999999999",
};

START_TEST(no_order_is_refused)
{
    struct vb_firing f = {.n = 77};
    ck_assert_int_eq(vb_firing_parse(no_orders[_i], &f), VB_ESYNTAX);
    ck_assert_int_eq(f.n, 77);
}
END_TEST

/* 720/4 = 180 from one to the next. */
START_TEST(firing_positions)
{
    struct vb_firing f = firing("1-3-4-2"), odd = firing("1-2-3");
    const double deg[] = {0, 540, 180, 360};
    const int companion[] = {4, 3, 2, 1};
    for (int c = 1; c <= 4; c++) {
        ck_assert_double_eq(vb_firing_deg(&f, c), deg[c - 1]);
        ck_assert_int_eq(vb_firing_companion(&f, c), companion[c - 1]);
    }
    ck_assert(isnan(vb_firing_deg(&f, 5)));
    ck_assert_int_eq(vb_firing_companion(&f, 5), 0);
    ck_assert_double_eq(vb_firing_deg(&odd, 3), 480);
    ck_assert_int_eq(vb_firing_companion(&odd, 1), 0);
}
END_TEST

/*
 * A V-twin of 45 degrees on one crankpin, whose second cylinder fires 360 + 45 degrees behind
 * the first, counted from either; and a 90 degree V4 with the crankpins half a turn apart.
 */
START_TEST(uneven_firing)
{
    struct vb_firing f = firing("1-2@405"), turned = firing("2-1@315"),
                     four = firing("1-3@90-2@360-4@450");
    ck_assert_double_eq(vb_firing_deg(&f, 1), 0);
    ck_assert_double_eq(vb_firing_deg(&f, 2), 405);
    ck_assert_int_eq(f.stated, 1);
    ck_assert_int_eq(turned.cyl[0], 1);
    ck_assert_double_eq(vb_firing_deg(&turned, 1), 0);
    ck_assert_double_eq(vb_firing_deg(&turned, 2), 405);
    ck_assert_int_eq(vb_firing_companion(&f, 1), 0);
    ck_assert_int_eq(vb_firing_companion(&f, 2), 0);
    ck_assert_double_eq(vb_firing_deg(&four, 4), 450);
    const int companion[] = {2, 1, 4, 3};
    for (int c = 1; c <= 4; c++)
        ck_assert_int_eq(vb_firing_companion(&four, c), companion[c - 1]);
}
END_TEST

/* Every order of 99 cylinders fits into a family. */
START_TEST(the_longest_order)
{
    char text[VB_FIRING_TEXT];
    size_t k = 0;
    for (int c = 1; c <= VB_CYL_MAX; c++)
        k += (size_t)snprintf(text + k, sizeof text - k, "%s%d", c > 1 ? "-" : "", c);
    ck_assert_uint_eq(k, 9 + 90 * 2 + 98);
    struct vb_firing f = firing(text);
    ck_assert_int_eq(f.n, VB_CYL_MAX);
}
END_TEST

/* --- is it closed? ----------------------------------------------------------------- */

struct closed_case {
    struct vb_opening o;
    double after, by;
};

/*
 * By hand on a line of degrees after firing TDC: an inlet that opens 12 BTDC and closes
 * 45 ABDC is open from 348 to 585, an exhaust from 130 to 368.
 */
static const struct closed_case closed_cases[] = {
    {{-12, 225}, 0, 135},    // 720 - 585
    {{-12, 225}, 720, 135},  // a cycle later
    {{-12, 225}, -720, 135}, // and before
    {{-12, 225}, 300, 48},       {{-12, 225}, 348, -0.0}, {{-12, 225}, 360, -12},
    {{-12, 225}, 466.5, -118.5}, // half of 237
    {{-12, 225}, 585, 0},        {{-12, 225}, 600, 15},   {{-230, 8}, 0, 130},
    {{-230, 8}, 90, 40},         {{-230, 8}, 180, -50},   {{-230, 8}, 400, 32},
    {{-230, 8}, -10, 140},
};

START_TEST(closed_by_hand)
{
    const struct closed_case *c = &closed_cases[_i];
    ck_assert_double_eq_tol(vb_closed_by(c->o, c->after), c->by, 1e-9);
}
END_TEST

/* By hand: the wider of each, whole where one is not known. */
START_TEST(stated_events_only_widen)
{
    const struct {
        struct vb_opening stated, inlet;
    } cases[] = {
        {{-12, 225}, {-60, 270}}, {{-75, 225}, {-75, 270}}, {{-12, 280}, {-60, 280}},
        {{NAN, 280}, {-60, 270}}, {{-75, NAN}, {-60, 270}},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct vb_opening o = vb_opening_wide(cases[i].stated, 0);
        ck_assert_double_eq(o.opens, cases[i].inlet.opens);
        ck_assert_double_eq(o.closes, cases[i].inlet.closes);
    }
    struct vb_opening e = vb_opening_wide((struct vb_opening){-230, 70}, 1);
    ck_assert(e.opens == -270 && e.closes == 70);
}
END_TEST

START_TEST(an_unknown_event_is_no_answer)
{
    ck_assert(isnan(vb_closed_by((struct vb_opening){NAN, 225}, 0)));
    ck_assert(isnan(vb_closed_by((struct vb_opening){-12, NAN}, 0)));
    ck_assert(isnan(vb_closed_by((struct vb_opening){-12, 225}, INFINITY)));
    // a hair below a whole cycle is rounding: it never opens, 100 after it would
    ck_assert_double_eq_tol(vb_closed_by((struct vb_opening){10, 10 - 1e-10}, -250), 100,
                            1e-9);
}
END_TEST

/* The reference cases, SOURCES.md, Cam timing, lie within what is assumed. */
START_TEST(assumed_events_are_wider)
{
    const double io[] = {6, 20}, ic[] = {35, 35}, eo[] = {38, 35}, ec[] = {5, 10};
    struct vb_opening in = vb_opening_assumed(0), ex = vb_opening_assumed(1);
    for (int i = 0; i < 2; i++) {
        ck_assert(in.opens < -io[i] && in.closes > 180 + ic[i]);
        ck_assert(ex.opens < -180 - eo[i] && ex.closes > ec[i]);
    }
    ck_assert(in.opens < -28 && ex.closes > 45); // TM 9-8000
}
END_TEST

/* --- sequences --------------------------------------------------------------------- */

/* What is set at each stop: position, firing, rocking, inlets and exhausts by cylinder. */
struct seq_stop {
    double deg;
    int firing, rocking;
    const char *inlet, *exhaust;
};

struct seq_case {
    const char *order;
    enum vb_order way;
    int assumed; // no events stated
    int n;
    struct seq_stop stop[8];
};

/*
 * 1-3-4-2, TWO: TM 5-3805-258-24-1 p. 4-28 (SOURCES.md): at TDC no. 1 inlet 1, 2 and
 * exhaust 1, 3; one turn on inlet 3, 4 and exhaust 2, 4.
 * The others by hand, as above. For 1-5-3-6-2-4 and, without events, 1-8-4-3-6-5-7-2 the
 * sequences are those of common practice (from memory).
 */
static const struct seq_case sequences[] = {
    {"1-3-4-2", VB_ORDER_TWO, 0, 2, {{0, 1, 4, "1 2", "1 3"}, {360, 4, 1, "3 4", "2 4"}}},
    {"1-3-4-2", VB_ORDER_TWO, 1, 2, {{0, 1, 4, "1 2", "1 3"}, {360, 4, 1, "3 4", "2 4"}}},
    {"4-2-1-3", VB_ORDER_TWO, 0, 2, {{0, 1, 4, "1 2", "1 3"}, {360, 4, 1, "3 4", "2 4"}}},
    {"1-2-4-3", VB_ORDER_TWO, 0, 2, {{0, 1, 4, "1 3", "1 2"}, {360, 4, 1, "2 4", "3 4"}}},
    {"1-3-4-2",
     VB_ORDER_CYLINDERS,
     0,
     4,
     {{0, 1, 4, "1", "1"},
      {180, 3, 2, "3", "3"},
      {360, 4, 1, "4", "4"},
      {540, 2, 3, "2", "2"}}},
    {"1-3-4-2",
     VB_ORDER_OPPOSITE,
     1,
     4,
     {{0, 1, 4, "1", "1"},
      {180, 3, 2, "3", "3"},
      {360, 4, 1, "4", "4"},
      {540, 2, 3, "2", "2"}}},
    // 240 apart: at 0, 2 is 120 after its overlap TDC and 3 is 120 before; one turn on, 2
    // is 240 before and 3 is 240 after
    {"1-2-3", VB_ORDER_TWO, 0, 2, {{0, 1, 0, "1 3", "1 2"}, {360, 0, 1, "2", "3"}}},
    {"1-3-2", VB_ORDER_TWO, 1, 2, {{0, 1, 0, "1 2", "1 3"}, {360, 0, 1, "3", "2"}}},
    {"1-2-3",
     VB_ORDER_CYLINDERS,
     0,
     3,
     {{0, 1, 0, "1", "1"}, {240, 2, 0, "2", "2"}, {480, 3, 0, "3", "3"}}},
    // 120 apart
    {"1-5-3-6-2-4",
     VB_ORDER_TWO,
     0,
     2,
     {{0, 1, 6, "1 2 4", "1 3 5"}, {360, 6, 1, "3 5 6", "2 4 6"}}},
    {"1-5-3-6-2-4",
     VB_ORDER_TWO,
     1,
     2,
     {{0, 1, 6, "1 2 4", "1 3 5"}, {360, 6, 1, "3 5 6", "2 4 6"}}},
    {"1-5-3-6-2-4",
     VB_ORDER_OPPOSITE,
     0,
     6,
     {{0, 1, 6, "1", "1"},
      {120, 5, 2, "5", "5"},
      {240, 3, 4, "3", "3"},
      {360, 6, 1, "6", "6"},
      {480, 2, 5, "2", "2"},
      {600, 4, 3, "4", "4"}}},
    // 90 apart; with these events inlet 8 has been shut for 45 and exhaust 2 opens in 40
    {"1-8-4-3-6-5-7-2",
     VB_ORDER_TWO,
     0,
     2,
     {{0, 1, 6, "1 2 5 7 8", "1 2 3 4 8"}, {360, 6, 1, "3 4 6", "5 6 7"}}},
    {"1-8-4-3-6-5-7-2",
     VB_ORDER_TWO,
     1,
     2,
     {{0, 1, 6, "1 2 5 7", "1 3 4 8"}, {360, 6, 1, "3 4 6 8", "2 5 6 7"}}},
    {"1-8-4-3-6-5-7-2",
     VB_ORDER_CYLINDERS,
     1,
     8,
     {{0, 1, 6, "1", "1"},
      {90, 8, 5, "8", "8"},
      {180, 4, 7, "4", "4"},
      {270, 3, 2, "3", "3"},
      {360, 6, 1, "6", "6"},
      {450, 5, 8, "5", "5"},
      {540, 7, 4, "7", "7"},
      {630, 2, 3, "2", "2"}}},
    {"1", VB_ORDER_TWO, 0, 1, {{0, 1, 0, "1", "1"}}},
    {"1-2", VB_ORDER_TWO, 0, 2, {{0, 1, 2, "1", "1"}, {360, 2, 1, "2", "2"}}},
    // a V-twin: at 0, 2 is 315 behind its firing TDC and inlet 2 opens in 33; at 360 it is 45
    // before it, and exhaust 2 opens in 175
    {"1-2@405", VB_ORDER_CYLINDERS, 0, 2, {{0, 1, 0, "1", "1"}, {405, 2, 0, "2", "2"}}},
    {"1-2@405", VB_ORDER_TWO, 0, 2, {{0, 1, 0, "1 2", "1"}, {360, 0, 1, "", "2"}}},
    // crankpins half a turn apart: at 0, 2 is 540 behind its firing TDC and exhaust 2 has been
    // shut for 172; at 360 it is 180 behind it, where exhaust 2 is open and inlet 2 opens in 168
    {"1-2@180", VB_ORDER_TWO, 0, 2, {{0, 1, 0, "1", "1 2"}, {360, 0, 1, "2", ""}}},
    {"1-3@90-2@360-4@450",
     VB_ORDER_OPPOSITE,
     0,
     4,
     {{0, 1, 2, "1", "1"},
      {90, 3, 4, "3", "3"},
      {360, 2, 1, "2", "2"},
      {450, 4, 3, "4", "4"}}},
};

static const char *
listed(const struct vb_crank_order *o, int cylinders, int stop, int side)
{
    static char out[256];
    size_t k = 0;
    out[0] = 0;
    for (int c = 1; c <= cylinders; c++)
        if (o->at[c][side] == stop)
            k += (size_t)snprintf(out + k, sizeof out - k, "%s%d", k ? " " : "", c);
    return out;
}

START_TEST(sequences_by_hand)
{
    const struct seq_case *c = &sequences[_i];
    const struct vb_opening assumed[2] = {vb_opening_assumed(0), vb_opening_assumed(1)};
    struct vb_firing f = firing(c->order);
    struct vb_crank_order o;
    ck_assert_int_eq(
        vb_crank_order_make(&f, c->assumed ? assumed : usual, VB_SET_MARGIN, c->way, &o),
        VB_OK);
    ck_assert_int_eq(o.n, c->n);
    for (int i = 0; i < o.n; i++) {
        ck_assert_double_eq_tol(o.stop[i].deg, c->stop[i].deg, 1e-9);
        ck_assert_int_eq(o.stop[i].firing, c->stop[i].firing);
        ck_assert_int_eq(o.stop[i].rocking, c->stop[i].rocking);
        ck_assert_str_eq(listed(&o, f.n, i, 0), c->stop[i].inlet);
        ck_assert_str_eq(listed(&o, f.n, i, 1), c->stop[i].exhaust);
    }
}
END_TEST

/* At 0, by the cases of closed_by_hand: 135 and 130. */
START_TEST(margins_are_told)
{
    struct vb_firing f = firing("1-3-4-2");
    struct vb_crank_order o;
    ck_assert_int_eq(vb_crank_order_make(&f, usual, 0, VB_ORDER_TWO, &o), VB_OK);
    ck_assert_double_eq_tol(o.by[1][0], 135, 1e-9);
    ck_assert_double_eq_tol(o.by[1][1], 130, 1e-9);
    ck_assert_double_eq_tol(o.by[2][0], 168, 1e-9); // 180 after firing TDC, opens at 348
    ck_assert_double_eq_tol(o.by[3][1], 172, 1e-9); // 180 after overlap, shut since 8
}
END_TEST

/* 135 degrees from its events at firing TDC and never more than (720 - 237) / 2. */
START_TEST(the_margin_is_kept)
{
    struct vb_firing f = firing("1-3-4-2");
    struct vb_crank_order o;
    ck_assert_int_eq(vb_crank_order_make(&f, usual, 135, VB_ORDER_CYLINDERS, &o), VB_OK);
    ck_assert_int_eq(o.at[1][0], 0);
    ck_assert_int_eq(o.at[1][1], -1); // 130 only
    ck_assert(isnan(o.by[1][1]));
    ck_assert_int_eq(vb_crank_order_make(&f, usual, 250, VB_ORDER_TWO, &o), VB_OK);
    ck_assert_int_eq(o.n, 1);
    for (int c = 1; c <= 4; c++)
        ck_assert(o.at[c][0] == -1 && o.at[c][1] == -1);
}
END_TEST

/*
 * Exhausts that are never closed for long enough do not spoil the inlets' one turn on:
 * inlet 4 could wait until 450, which does for all of them as well.
 */
START_TEST(what_can_never_be_set_counts_for_nothing)
{
    const struct vb_opening o[2] = {{-12, 225}, {-355, 355}};
    struct vb_firing f = firing("1-8-4-3-6-5-7-2");
    struct vb_crank_order p;
    ck_assert_int_eq(vb_crank_order_make(&f, o, 10, VB_ORDER_TWO, &p), VB_OK);
    ck_assert_int_eq(p.n, 2);
    ck_assert_double_eq(p.stop[1].deg, 360);
    ck_assert(p.at[1][1] == -1 && p.at[4][0] == 1);
}
END_TEST

START_TEST(wrong_arguments)
{
    struct vb_firing f = firing("1-2-3"), none = {.n = 0};
    const struct vb_opening lacks[2] = {{-12, 225}, {NAN, 8}},
                            half[2] = {{-12, NAN}, {-225, 12}};
    struct vb_firing many = {.n = VB_CYL_MAX + 1}, twin = firing("1-2@405");
    struct vb_crank_order o = {.n = 77};
    ck_assert_int_eq(vb_crank_order_make(&f, usual, 30, VB_ORDER_OPPOSITE, &o),
                     VB_EUNKNOWN);
    ck_assert_int_eq(vb_crank_order_make(&twin, usual, 30, VB_ORDER_OPPOSITE, &o),
                     VB_EUNKNOWN);
    ck_assert_int_eq(vb_crank_order_make(&none, usual, 30, VB_ORDER_TWO, &o), VB_EDOM);
    ck_assert_int_eq(vb_crank_order_make(&f, lacks, 30, VB_ORDER_TWO, &o), VB_EDOM);
    ck_assert_int_eq(vb_crank_order_make(&f, half, 30, VB_ORDER_TWO, &o), VB_EDOM);
    ck_assert_int_eq(vb_crank_order_make(&many, usual, 30, VB_ORDER_TWO, &o), VB_EDOM);
    ck_assert_int_eq(vb_crank_order_make(&f, usual, -1, VB_ORDER_TWO, &o), VB_EDOM);
    ck_assert_int_eq(vb_crank_order_make(&f, usual, NAN, VB_ORDER_TWO, &o), VB_EDOM);
    ck_assert_int_eq(vb_crank_order_make(&f, usual, INFINITY, VB_ORDER_TWO, &o), VB_EDOM);
    ck_assert_int_eq(o.n, 77);
}
END_TEST

/* --- the fewest positions, by trying all sets of TDCs ------------------------------ */

static double
between(double lo, double hi)
{
    return lo + (hi - lo) * (double)(draw() >> 11) / 9007199254740992.0;
}

/* Which valves may be set at a TDC, as bits, from the definition alone. */
static uint32_t
settable(const struct vb_firing *f, const struct vb_opening *o, double margin, double deg)
{
    uint32_t bits = 0;
    for (int i = 0; i < f->n; i++)
        for (int s = 0; s < 2; s++) {
            double over = deg - f->deg[i] - 360; // after its overlap TDC
            int open = 0;
            for (int turn = -3; turn <= 3; turn++)
                open |= over + 720 * turn > o[s].opens - margin + 1e-9 &&
                        over + 720 * turn < o[s].closes + margin - 1e-9;
            if (!open)
                bits |= 1u << (2 * i + s);
        }
    return bits;
}

/* All TDCs, in any order but 0 first; returns how many. */
static int
all_tdcs(const struct vb_firing *f, double *deg)
{
    int n = 0;
    for (int i = 0; i < 2 * f->n; i++) {
        double d = fmod(f->deg[i / 2] + i % 2 * 360, 720);
        int has = 0;
        for (int k = 0; k < n; k++)
            has |= fabs(deg[k] - d) < 1e-6;
        if (!has)
            deg[n++] = d;
    }
    return n;
}

/* The fewest TDCs that do for all that can be set at any; the first TDC is one of them
 * if `with_first`. */
static int
fewest(const struct vb_firing *f, const struct vb_opening *o, double margin,
       int with_first)
{
    double deg[16];
    int n = all_tdcs(f, deg), best = 99;
    uint32_t at[16], all = 0;
    for (int k = 0; k < n; k++)
        all |= at[k] = settable(f, o, margin, deg[k]);
    for (uint32_t set = 1; set < 1u << n; set++) {
        uint32_t has = 0;
        int size = 0;
        for (int k = 0; k < n; k++)
            if (set >> k & 1)
                has |= at[k], size++;
        if (has == all && size < best && (!with_first || (set & 1)))
            best = size;
    }
    return best;
}

static const char *const brute_orders[] = {"1",
                                           "1-2",
                                           "1-3-2",
                                           "1-3-4-2",
                                           "1-2-4-5-3",
                                           "1-5-3-6-2-4",
                                           "1-6-5-4-3-2",
                                           "1-2@405",
                                           "1-2@180",
                                           "1-3@90-2@360-4@450",
                                           "1-4@150-3@240-6@390-5@480-2@630"};

START_TEST(no_fewer_positions_do)
{
    struct vb_firing f = firing(brute_orders[_i]);
    state = 1986 + (uint64_t)_i;
    int more_than_two = 0;
    for (int round = 0; round < 300; round++) {
        struct vb_opening o[2] = {{between(-90, 20), between(150, 350)},
                                  {between(-350, -150), between(-20, 90)}};
        double margin = between(0, 150);
        struct vb_crank_order p;
        ck_assert_int_eq(vb_crank_order_make(&f, o, margin, VB_ORDER_TWO, &p), VB_OK);
        ck_assert_int_eq(p.n, fewest(&f, o, margin, 1));
        if (f.n % 2 == 0 &&
            !f.stated) // there all TDCs are alike: no better one to begin with
            ck_assert_int_eq(p.n, fewest(&f, o, margin, 0));
        more_than_two += p.n > 2;
        uint32_t all = 0;
        double tdc[16];
        int n = all_tdcs(&f, tdc);
        for (int k = 0; k < n; k++)
            all |= settable(&f, o, margin, tdc[k]);
        for (int i = 0; i < f.n; i++)
            for (int s = 0; s < 2; s++) {
                int stop = p.at[f.cyl[i]][s], can = all >> (2 * i + s) & 1;
                ck_assert_int_eq(stop >= 0, can);
                for (int k = 0; k < p.n && can; k++) { // the first that does for it
                    int does = settable(&f, o, margin, p.stop[k].deg) >> (2 * i + s) & 1;
                    ck_assert(k > stop || does == (k == stop));
                }
            }
    }
    ck_assert(f.n < 3 || more_than_two > 10); // or the hard part was not tried
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("crank");
    TCase *t = tcase_create("crank");
    tcase_add_loop_test(t, an_order_is_read, 0, COUNT(orders));
    tcase_add_loop_test(t, no_order_is_refused, 0, COUNT(no_orders));
    tcase_add_test(t, uneven_firing);
    tcase_add_test(t, the_longest_order);
    tcase_add_test(t, firing_positions);
    tcase_add_loop_test(t, closed_by_hand, 0, COUNT(closed_cases));
    tcase_add_test(t, stated_events_only_widen);
    tcase_add_test(t, an_unknown_event_is_no_answer);
    tcase_add_test(t, assumed_events_are_wider);
    tcase_add_loop_test(t, sequences_by_hand, 0, COUNT(sequences));
    tcase_add_test(t, margins_are_told);
    tcase_add_test(t, the_margin_is_kept);
    tcase_add_test(t, what_can_never_be_set_counts_for_nothing);
    tcase_add_test(t, wrong_arguments);
    tcase_add_loop_test(t, no_fewer_positions_do, 0, COUNT(brute_orders));
    suite_add_tcase(s, t);
    return run_suite(s);
}
