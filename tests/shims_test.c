#include "draw.h"
#include "suite.h"
#include "valvebook/shims.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#define NONE VB_SHIM_NONE

START_TEST(units_are_tenths_of_a_micrometre)
{
    ck_assert_int_eq(vb_shim_units(2.525), 25250);
    ck_assert_int_eq(vb_shim_units(0.1016), 1016); // 4 thou
    ck_assert_int_eq(vb_shim_units(-0.00005), -1); // half away from 0
    ck_assert_int_eq(vb_shim_units(NAN), NONE);
    ck_assert_int_eq(vb_shim_units(20.00006), NONE);
    ck_assert_int_eq(vb_shim_units(INFINITY), NONE);
    ck_assert_double_eq(vb_shim_mm(25250), 2.525);
    ck_assert(isnan(vb_shim_mm(NONE)));
}
END_TEST

/* Limits 0.15 to 0.35 mm, target 0.25, nothing can be bought. */
static struct vb_shim_valve
valve(int64_t present, int64_t found)
{
    return (struct vb_shim_valve){present, found, 2500, 1500, 3500, 0,
                                  NONE,    NONE,  NONE, 0,    0};
}

static struct vb_shim_valve
orders(struct vb_shim_valve v, int64_t min, int64_t max, int64_t step)
{
    v.order_min = min;
    v.order_max = max;
    v.order_step = step;
    return v;
}

/*
 * By hand: 2.500 reads 0.18 and wants 2.430; 2.450 reads 0.30 and wants 2.500. Each gets
 * the other's shim: 0.23 and 0.25, off by 0.02 in all.
 */
START_TEST(two_valves_swap)
{
    const struct vb_shim_valve v[] = {valve(25000, 1800), valve(24500, 3000)};
    struct vb_shim_choice c[2];
    struct vb_shim_total t;
    ck_assert_int_eq(vb_shims_choose(v, 2, NULL, 0, c, &t), VB_OK);
    ck_assert_int_eq(c[0].source, VB_SHIM_SWAP);
    ck_assert_uint_eq(c[0].from, 1);
    ck_assert_int_eq(c[0].wanted, 24300);
    ck_assert_int_eq(c[0].thickness, 24500);
    ck_assert_int_eq(c[0].after, 2300);
    ck_assert_uint_eq(c[0].fits, 2);
    ck_assert_int_eq(c[1].source, VB_SHIM_SWAP);
    ck_assert_int_eq(c[1].after, 2500);
    ck_assert(t.unserved == 0 && t.bought == 0 && t.off == 200 && t.moved == 2);
}
END_TEST

/*
 * The same two, inlet and exhaust: where shims fit one side only neither gets the other's. 2.500
 * leaves 0.18 and 2.450 0.30, inside both, off by 0.07 and 0.05. A shelf helps its own side: 2.430
 * for exhausts is no use to the inlet; one that says no side is.
 */
START_TEST(sides_keep_to_themselves)
{
    struct vb_shim_valve v[] = {valve(25000, 1800), valve(24500, 3000)};
    struct vb_shim_stock shelf = {24300, 1, 'E'};
    struct vb_shim_choice c[2];
    struct vb_shim_total t;
    v[0].side = 'I', v[1].side = 'E';
    ck_assert_int_eq(vb_shims_choose(v, 2, NULL, 0, c, &t), VB_OK);
    ck_assert_int_eq(c[0].source, VB_SHIM_SWAP); // nobody said that they fit one side
    v[0].own_side = v[1].own_side = 1;
    ck_assert_int_eq(vb_shims_choose(v, 2, &shelf, 1, c, &t), VB_OK);
    ck_assert(c[0].source == VB_SHIM_OWN && c[1].source == VB_SHIM_OWN);
    ck_assert(t.unserved == 0 && t.off == 700 + 500 && t.moved == 0);
    ck_assert_uint_eq(c[0].fits, 1); // the two of exhausts would land
    ck_assert_uint_eq(c[1].fits, 2);
    for (int i = 0; i < 2; i++) {
        shelf.side = i ? 'I' : 0;
        ck_assert_int_eq(vb_shims_choose(v, 2, &shelf, 1, c, &t), VB_OK);
        ck_assert(c[0].source == VB_SHIM_SHELF && c[1].source == VB_SHIM_OWN);
        ck_assert(t.off == 500 && t.moved == 1);
        ck_assert_uint_eq(c[0].fits, 2);
    }
    v[0].own_side = 0; // it may go to the exhaust, and that one's not to the inlet
    for (int i = 0; i < 2; i++) {
        v[0].side = i ? 0 : 'I'; // a valve that says no side takes what there is
        ck_assert_int_eq(vb_shims_choose(v, 2, &shelf, 1, c, &t), VB_OK);
        ck_assert(c[0].source == VB_SHIM_SHELF && c[1].source == VB_SHIM_SWAP);
        ck_assert(t.off == 0 && t.moved == 2);
    }
}
END_TEST

/* Nearer by 0.0002 mm in all is nearer, though two shims are moved for it. */
START_TEST(deviation_goes_before_moves)
{
    const struct vb_shim_valve v[] = {valve(25000, 2501), valve(25001, 2499)};
    struct vb_shim_choice c[2];
    struct vb_shim_total t;
    ck_assert_int_eq(vb_shims_choose(v, 2, NULL, 0, c, &t), VB_OK);
    ck_assert(t.off == 0 && t.moved == 2);
}
END_TEST

/* A shim on the shelf is used once; identical shims are not swapped. */
START_TEST(stock_is_counted)
{
    const struct vb_shim_valve v[] = {valve(25000, 500), valve(25000, 500),
                                      valve(25000, 2500), valve(25000, 2500)};
    const struct vb_shim_stock one[] = {{23000, 1, 0}},
                               two[] = {{9, 5, 0}, {23000, 2, 0}};
    struct vb_shim_choice c[4];
    struct vb_shim_total t;
    ck_assert_int_eq(vb_shims_choose(v, 4, one, 1, c, &t), VB_OK);
    ck_assert_int_eq(t.unserved, 1);
    ck_assert((c[0].source == VB_SHIM_SHELF) + (c[1].source == VB_SHIM_SHELF) == 1);
    ck_assert((c[0].source == VB_SHIM_UNSERVED) + (c[1].source == VB_SHIM_UNSERVED) == 1);
    ck_assert(c[2].source == VB_SHIM_OWN && c[3].source == VB_SHIM_OWN);
    ck_assert_uint_eq(c[0].fits, 1);
    int none = c[0].source == VB_SHIM_UNSERVED ? 0 : 1;
    ck_assert(c[none].thickness == NONE && c[none].after == NONE);
    ck_assert_int_eq(c[none].wanted, 23000);
    ck_assert_int_eq(vb_shims_choose(v, 4, two, 2, c, &t), VB_OK);
    ck_assert(t.unserved == 0 && t.off == 0 && t.moved == 2);
    ck_assert(c[0].source == VB_SHIM_SHELF && c[0].from == 1 && c[1].from == 1);
}
END_TEST

/* Nothing is bought while something in hand will do, however badly. */
START_TEST(buying_comes_last)
{
    const struct vb_shim_valve v[] = {orders(valve(25000, 1500), 20000, 30000, 250)};
    const struct vb_shim_valve out[] = {orders(valve(25000, 1499), 20000, 30000, 250)};
    struct vb_shim_choice c;
    struct vb_shim_total t;
    ck_assert_int_eq(vb_shims_choose(v, 1, NULL, 0, &c, &t), VB_OK);
    ck_assert(c.source == VB_SHIM_OWN && c.after == 1500 && t.off == 1000);
    ck_assert_int_eq(vb_shims_choose(out, 1, NULL, 0, &c, &t), VB_OK); // wants 2.3999
    ck_assert(c.source == VB_SHIM_BUY && c.thickness == 24000 && c.after == 2499);
    ck_assert(t.bought == 1 && t.off == 1 && c.fits == 0);
}
END_TEST

/*
 * A valve is set because it may be beyond a limit. 0.1559 with a band of 0.0110 is 0.0059
 * from it, so its own shim would leave it as doubtful as it was; to buy is right. At
 * 0.1610 it is inside for certain, and at 0.1609 it is not.
 */
START_TEST(buying_goes_before_a_landing_in_doubt)
{
    struct vb_shim_valve v = orders(valve(28000, 1559), 20000, 32000, 500);
    struct vb_shim_choice c;
    struct vb_shim_total t;
    v.band = 110;
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_OK);
    ck_assert(c.source == VB_SHIM_BUY && c.thickness == 27000 && c.after == 2559);
    ck_assert(t.close == 0 && t.bought == 1);
    v.found = 1609;
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_OK);
    ck_assert_int_eq(c.source, VB_SHIM_BUY);
    v.found = 1610;
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_OK);
    ck_assert_int_eq(c.source, VB_SHIM_OWN);
    v.found = 3391; // 0.0109 from the loose limit
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_OK);
    ck_assert(c.source == VB_SHIM_BUY && c.thickness == 29000 && c.after == 2391);
    v = valve(28000, 1559); // nothing to be had: close is better than unserved
    v.band = 110;
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_OK);
    ck_assert(c.source == VB_SHIM_OWN && t.close == 1 && t.unserved == 0);
    v.band = -1;
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_EDOM);
}
END_TEST

/* The nearest grade of 0.20 mm steps lands 0.0060 from the limit, the next one inside. */
START_TEST(a_grade_in_doubt_is_not_bought)
{
    struct vb_shim_valve v = orders(valve(25000, 1000), 20440, 30000, 2000);
    struct vb_shim_choice c;
    struct vb_shim_total t;
    v.lo = 2000; // wants 2.350; 2.244 gives 0.356, 2.444 gives 0.156
    v.hi = 3620;
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_OK);
    ck_assert_int_eq(c.after, 3560);
    v.band = 110;
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_OK);
    ck_assert(c.after == 3560 && t.close == 1); // no other lands
    v.order_step = 1000;                        // 2.344 gives 0.256
    v.target = 3100; // wants 2.290, half a step nearer to 2.244
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_OK);
    ck_assert(c.after == 2560 && t.close == 0);
}
END_TEST

/* Who sets to a limit means it: what lies between the target and the other one is near. */
START_TEST(a_target_at_a_limit_is_kept)
{
    struct vb_shim_valve v = orders(valve(25000, 3400), 20000, 30000, 100);
    struct vb_shim_choice c;
    struct vb_shim_total t;
    v.band = 300;
    v.target = 3500;
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_OK);
    ck_assert(c.source == VB_SHIM_OWN && t.close == 0);
    v.target = 1500;
    v.found = 1600;
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_OK);
    ck_assert_int_eq(t.close + t.bought, 0);
}
END_TEST

struct buy_case {
    int64_t found, min, max, step, thickness; // NONE: cannot be served
};

/* One valve with a shim of 2.500 that reads tight; the nearest grade by hand. */
static const struct buy_case buys[] = {
    {1000, 20000, 30000, 250, 23500},  // wants 2.3500
    {1120, 20000, 30000, 250, 23500},  // wants 2.3620: 2.350 by 12, 2.375 by 13
    {1125, 20000, 30000, 250, 23500},  // half way: the thinner, so looser
    {1126, 20000, 30000, 250, 23750},  // wants 2.3626
    {1000, 24000, 30000, 250, 24000},  // the thinnest there is: 0.20
    {1000, 24500, 30000, 250, 24500},  // 0.15, on the limit
    {1000, 24501, 30000, 250, NONE},   // 0.1499
    {1000, 20000, 22500, 2500, 22500}, // 0.35, on the other limit
    {1000, 20000, 22499, 2499, NONE},  // 0.3501
    {1000, 20000, 30000, 2490, NONE},  // 2.249 gives 0.351, 2.498 gives 0.102
    {1000, NONE, NONE, NONE, NONE},
};

START_TEST(the_nearest_grade_is_bought)
{
    const struct buy_case *b = &buys[_i];
    struct vb_shim_valve v = orders(valve(25000, b->found), b->min, b->max, b->step);
    struct vb_shim_choice c;
    struct vb_shim_total t;
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_OK);
    ck_assert_int_eq(c.thickness, b->thickness);
    ck_assert_int_eq(c.source, b->thickness == NONE ? VB_SHIM_UNSERVED : VB_SHIM_BUY);
}
END_TEST

/* Without limits everything lands; a target outside the limits is not followed there. */
START_TEST(limits_may_be_missing_or_odd)
{
    struct vb_shim_valve v = valve(25000, 500);
    struct vb_shim_choice c;
    struct vb_shim_total t;
    v.hi = NONE; // 0.05 is tight, and no shim would do
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_OK);
    ck_assert_int_eq(c.source, VB_SHIM_UNSERVED);
    v.lo = v.hi = NONE;
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_OK);
    ck_assert_int_eq(c.source, VB_SHIM_OWN);
    v = orders(valve(25000, 500), 20000, 30000, 100);
    v.target = 4000; // wants 2.150, the loose limit allows no less than 2.200
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_OK);
    ck_assert_int_eq(c.thickness, 22000);
    v.target = 1000; // wants 2.450, the tight limit allows no more than 2.400
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_OK);
    ck_assert_int_eq(c.thickness, 24000);
}
END_TEST

START_TEST(wrong_arguments)
{
    struct vb_shim_valve good = valve(25000, 1000), v;
    struct vb_shim_stock bad = {-1, 1, 0};
    struct vb_shim_choice c = {.from = 77};
    struct vb_shim_total t = {.off = 77};
    ck_assert_int_eq(vb_shims_choose(&good, 0, NULL, 0, &c, &t), VB_EDOM);
    ck_assert_int_eq(vb_shims_choose(&good, 1000, NULL, 0, &c, &t), VB_ERANGE);
    ck_assert_int_eq(vb_shims_choose(&good, 1, &bad, 1, &c, &t), VB_ERANGE);
    v = good, v.present = NONE;
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_EDOM);
    v = good, v.target = NONE;
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_EDOM);
    v = good, v.present = -1;
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_EDOM);
    v = good, v.lo = 3501;
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_EDOM);
    v = orders(good, 1, 2, 0);
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_EDOM);
    v = orders(good, NONE, 2, 1);
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_EDOM);
    v = orders(good, 1, -2, 1);
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_EDOM);
    bad.thickness = VB_SHIM_MOST + 1;
    ck_assert_int_eq(vb_shims_choose(&good, 1, &bad, 1, &c, &t), VB_ERANGE);
    v = good, v.found = VB_SHIM_MOST + 1;
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_ERANGE);
    v = good, v.hi = VB_SHIM_MOST + 1;
    ck_assert_int_eq(vb_shims_choose(&v, 1, NULL, 0, &c, &t), VB_ERANGE);
    ck_assert(c.from == 77 && t.off == 77);
}
END_TEST

/* The most valves there can be, far off: the weights hold. */
START_TEST(nothing_overflows)
{
    static struct vb_shim_valve v[VB_SHIM_VALVES];
    static struct vb_shim_choice c[VB_SHIM_VALVES];
    struct vb_shim_total t;
    for (size_t i = 0; i < VB_SHIM_VALVES; i++) {
        v[i] = orders((struct vb_shim_valve){0}, 0, 0, 1);
        v[i].present = v[i].found = VB_SHIM_MOST;
        v[i].target = -VB_SHIM_MOST;
        v[i].lo = v[i].hi = NONE;
        if (i % 2)
            v[i].lo = v[i].hi = -VB_SHIM_MOST; // wants 60 mm, which nobody has
        if (i % 2)
            v[i].order_step = NONE;
    }
    ck_assert_int_eq(vb_shims_choose(v, VB_SHIM_VALVES, NULL, 0, c, &t), VB_OK);
    ck_assert_int_eq(t.unserved, 499);
    ck_assert_int_eq(t.bought, 0);
    ck_assert_int_eq(t.off, 500 * (INT64_C(60) - 20) * VB_SHIM_PER_MM);
}
END_TEST

/* So many and so far off that what is close finds no place any more; the rest holds. */
START_TEST(what_is_close_gives_way)
{
    static struct vb_shim_valve v[VB_SHIM_VALVES];
    static struct vb_shim_choice c[VB_SHIM_VALVES];
    struct vb_shim_total t;
    for (size_t i = 0; i < VB_SHIM_VALVES; i++) {
        v[i] = orders(valve(25000, i % 2 ? 1559 : 500), 20000, 25000, 500);
        v[i].band = 110;
        v[i].lo = i % 2 ? 1500 : 1501;
        v[i].hi = NONE;
    }
    ck_assert_int_eq(vb_shims_choose(v, VB_SHIM_VALVES, NULL, 0, c, &t), VB_OK);
    ck_assert(t.unserved == 0 && t.bought == 500 && t.close == 499);
}
END_TEST

/* --- against all choices there are ------------------------------------------------- */

static int64_t
between(int64_t lo, int64_t hi)
{
    return lo + (int64_t)(draw() % (uint64_t)(hi - lo + 1));
}

static int
less(struct vb_shim_total a, struct vb_shim_total b)
{
    if (a.unserved != b.unserved)
        return a.unserved < b.unserved;
    if (a.close != b.close)
        return a.close < b.close;
    if (a.bought != b.bought)
        return a.bought < b.bought;
    if (a.off != b.off)
        return a.off < b.off;
    return a.moved < b.moved;
}

/*
 * Every valve takes each shim of the pool, each grade that can be bought, or nothing: all
 * combinations in which no shim of the pool is used twice and all that is fitted lands.
 */
static struct vb_shim_total
by_force(const struct vb_shim_valve *v, size_t n, const int64_t *pool,
         const char *pool_side, size_t n_pool, int64_t min, size_t grades, int64_t step)
{
    struct vb_shim_total best = {.unserved = 99};
    size_t options = n_pool + grades + 1, ways = 1;
    for (size_t i = 0; i < n; i++)
        ways *= options;
    for (size_t w = 0; w < ways; w++) {
        struct vb_shim_total t = {0};
        size_t rest = w, taken = 0;
        int ok = 1;
        for (size_t i = 0; ok && i < n; i++, rest /= options) {
            size_t k = rest % options;
            if (k == options - 1) {
                t.unserved++;
                continue;
            }
            int64_t new = k < n_pool ? pool[k] : min + (int64_t)(k - n_pool) * step;
            int64_t after = v[i].found + v[i].present - new;
            ok = after >= v[i].lo && after <= v[i].hi &&
                 !(k < n_pool && taken >> k & 1) &&
                 !(k < n_pool && pool_side[k] && pool_side[k] != v[i].side);
            taken |= k < n_pool ? (size_t)1 << k : 0;
            t.close += (after < v[i].target && after < v[i].lo + v[i].band) ||
                       (after > v[i].target && after > v[i].hi - v[i].band);
            t.bought += k >= n_pool;
            t.off += llabs(after - v[i].target);
            t.moved += k != i;
        }
        if (ok && less(t, best))
            best = t;
    }
    return best;
}

START_TEST(no_choice_is_better)
{
    size_t seen[5] = {0}; // unserved, bought, swapped, close, hindered by sides
    state = 1986;
    for (int round = 0; round < 3000; round++) {
        size_t n = 1 + draw() % 3, n_stock = draw() % 3, n_pool = n;
        size_t grades = draw() % 4;
        int64_t step = between(100, 400), min = 25000 - between(0, 3) * step, pool[8];
        char side[8] = {0};
        int own = draw() % 2 == 0; // the shims fit their own side only
        struct vb_shim_valve v[3];
        struct vb_shim_stock stock[2];
        struct vb_shim_choice c[3];
        struct vb_shim_total t;
        for (size_t i = 0; i < n; i++) {
            v[i] = valve(pool[i] = 25000 + 250 * between(-3, 3), between(500, 4500));
            if (grades)
                v[i] = orders(v[i], min, min + (int64_t)(grades - 1) * step, step);
            v[i].side = draw() % 2 ? 'I' : 'E';
            v[i].own_side = own;
            side[i] = own ? v[i].side : 0;
            v[i].band = 300 * between(0, 4); // 0.12 mm: nothing but the target is inside
        }
        for (size_t k = 0; k < n_stock; k++) {
            stock[k] = (struct vb_shim_stock){25000 + 250 * between(-5, 5), draw() % 3,
                                              "IE"[draw() % 3]};
            for (size_t q = 0; q < stock[k].count; q++) {
                side[n_pool] = stock[k].side;
                pool[n_pool++] = stock[k].thickness;
            }
        }
        struct vb_shim_total best = by_force(v, n, pool, side, n_pool, min, grades, step);
        struct vb_shim_total any =
            by_force(v, n, pool, (const char[8]){0}, n_pool, min, grades, step);
        ck_assert_int_eq(vb_shims_choose(v, n, stock, n_stock, c, &t), VB_OK);
        ck_assert_int_eq(t.unserved, best.unserved);
        ck_assert_int_eq(t.close, best.close);
        ck_assert_int_eq(t.bought, best.bought);
        ck_assert_int_eq(t.off, best.off);
        ck_assert_int_eq(t.moved, best.moved);
        for (size_t i = 0; i < n; i++)
            if (c[i].source != VB_SHIM_UNSERVED) {
                ck_assert_int_eq(c[i].after, v[i].found + v[i].present - c[i].thickness);
                ck_assert(c[i].after >= v[i].lo && c[i].after <= v[i].hi);
                char from = c[i].source == VB_SHIM_SWAP    ? side[c[i].from]
                            : c[i].source == VB_SHIM_SHELF ? stock[c[i].from].side
                                                           : 0;
                ck_assert(!from || from == v[i].side);
            }
        seen[0] += t.unserved > 0;
        seen[1] += t.bought > 0;
        seen[2] += t.moved > t.bought;
        seen[3] += t.close > 0;
        seen[4] += less(any, t) ? 1u : 0u;
    }
    for (int i = 0; i < 5; i++)
        ck_assert_uint_gt(seen[i], 200); // or half of it was not tried
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("shims");
    TCase *t = tcase_create("shims");
    tcase_add_test(t, units_are_tenths_of_a_micrometre);
    tcase_add_test(t, two_valves_swap);
    tcase_add_test(t, sides_keep_to_themselves);
    tcase_add_test(t, deviation_goes_before_moves);
    tcase_add_test(t, stock_is_counted);
    tcase_add_test(t, buying_comes_last);
    tcase_add_test(t, buying_goes_before_a_landing_in_doubt);
    tcase_add_test(t, a_grade_in_doubt_is_not_bought);
    tcase_add_test(t, a_target_at_a_limit_is_kept);
    tcase_add_test(t, what_is_close_gives_way);
    tcase_add_loop_test(t, the_nearest_grade_is_bought, 0,
                        (int)(sizeof buys / sizeof *buys));
    tcase_add_test(t, limits_may_be_missing_or_odd);
    tcase_add_test(t, wrong_arguments);
    tcase_add_test(t, nothing_overflows);
    tcase_add_test(t, no_choice_is_better);
    suite_add_tcase(s, t);
    return run_suite(s);
}
