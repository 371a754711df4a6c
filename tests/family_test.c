#include "suite.h"
#include "valvebook/family.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#define COUNT(a) (sizeof(a) / sizeof *(a))

static const struct vb_fact *
fact(const char *key)
{
    const struct vb_fact *f = vb_fact_find(key, strlen(key));
    ck_assert_msg(f != NULL, "no fact '%s'", key);
    return f;
}

/* --- facts that hold: converted to mm, Cel, h, km, d
 * ------------------------------------ */

struct good {
    const char *key, *side, *value, *unit;
    double number; // NaN for a word
    enum vb_dim dim;
};

static const struct good good[] = {
    {"cylinders", "", "6", "", 6, VB_DIM_NONE},
    {"cylinders", "", "1", "", 1, VB_DIM_NONE},
    {"cylinders", "", "99", "", 99, VB_DIM_NONE},
    {"valves", "I", "2", "", 2, VB_DIM_NONE},
    {"valves", "E", "9", "", 9, VB_DIM_NONE},
    {"lash_min", "I", "0.15", "mm", 0.15, VB_DIM_LENGTH},
    {"lash_max", "E", "0.010", "in", 0.254, VB_DIM_LENGTH},   // 25.4 mm an inch
    {"lash_target", "E", "8", "thou", 0.2032, VB_DIM_LENGTH}, // 0.0254 mm each
    {"lash_target", "I", "0", "mm", 0, VB_DIM_LENGTH},
    {"lash_growth", "", "0.7", "um/Cel", 0.0007, VB_DIM_GROWTH},
    {"lash_growth", "E", "-0.001", "mm/Cel", -0.001, VB_DIM_GROWTH},
    {"ratio", "", "1.5", "", 1.5, VB_DIM_NONE}, // no whole number, unlike a count
    {"ratio", "I", "0.2", "", 0.2, VB_DIM_NONE},
    {"seat_limit", "I", "1.2", "mm", 1.2, VB_DIM_LENGTH},
    {"relash_interval", "", "500", "h", 500, VB_DIM_TIME},
    {"relash_interval", "", "40000", "km", 40000, VB_DIM_DISTANCE},
    {"relash_interval", "", "25000", "mi", 40233.6,
     VB_DIM_DISTANCE}, // 1.609344 km a mile
    {"relash_days", "", "26", "weeks", 182, VB_DIM_DAYS},
    {"screw_pitch", "", "0.75", "mm", 0.75, VB_DIM_LENGTH},
    {"numbered_from", "", "free_end", "", NAN, VB_DIM_NONE},
    {"numbered_from", "", "drive_end", "", NAN, VB_DIM_NONE},
    {"firing_order", "", "1-3-4-2", "", NAN, VB_DIM_NONE},
    {"firing_order", "", "1", "", NAN, VB_DIM_NONE},
    {"firing_order", "", "1-2@405", "", NAN, VB_DIM_NONE},
    {"firing_order", "", "1-8-4-3-6-5-7-2", "", NAN, VB_DIM_NONE},
    {"firing_order", "", "1-12-5-8-3-10-6-7-2-11-4-9", "", NAN, VB_DIM_NONE},
    {"adjuster", "", "shim", "", NAN, VB_DIM_NONE},
    {"read_at", "", "lobe", "", NAN, VB_DIM_NONE},
    {"read_at", "E", "tip", "", NAN, VB_DIM_NONE},
    {"lift_at", "", "lobe", "", NAN, VB_DIM_NONE},
    {"lift_at", "I", "tip", "", NAN, VB_DIM_NONE},
    {"screw_on", "", "pushrod", "", NAN, VB_DIM_NONE},
    {"screw_on", "", "stud", "", NAN, VB_DIM_NONE},
    {"screw_on", "", "pivot", "", NAN, VB_DIM_NONE},
    // angles: BDC is 180 after overlap TDC for an inlet, 180 before for an exhaust; cam
    // degrees count twice
    {"opens", "I", "12 BTDC", "", -12, VB_DIM_ANGLE},
    {"opens", "I", "-12", "deg", -12, VB_DIM_ANGLE},
    {"opens", "I", "-12 deg", "", -12, VB_DIM_ANGLE},
    {"opens", "I", "-6", "deg_cam", -12, VB_DIM_ANGLE},
    {"opens", "I", "6 cam deg BTDC", "", -12, VB_DIM_ANGLE},
    {"opens", "E", "50 BBDC", "deg", -230, VB_DIM_ANGLE},
    {"closes", "I", "45\xc2\xb0 ABDC", "", 225, VB_DIM_ANGLE},
    {"closes", "I", "22.5 abdc", "deg_cam", 225, VB_DIM_ANGLE},
    {"closes", "I", "225 deg", "", 225, VB_DIM_ANGLE},
    {"closes", "E", "8 a.t.d.c.", "", 8, VB_DIM_ANGLE},
    {"closes", "E", "360", "deg", 360, VB_DIM_ANGLE},
    {"opens", "E", "180 BBDC", "", -360, VB_DIM_ANGLE},
    {"checking_lift", "", "1", "mm", 1, VB_DIM_LENGTH},
    {"checking_lift", "E", "50", "thou", 1.27, VB_DIM_LENGTH},
    {"checking_lift", "I", "0.01", "mm", 0.01, VB_DIM_LENGTH},
    {"timing_tolerance", "", "2", "deg", 2, VB_DIM_ANGLE},
    {"timing_tolerance", "", "1", "deg_cam", 2, VB_DIM_ANGLE},
    {"sprocket_limit", "", "3 deg", "", 3, VB_DIM_ANGLE},
    {"sprocket_limit", "", "0", "deg", 0, VB_DIM_ANGLE},
    {"crank_teeth", "", "33", "", 33, VB_DIM_NONE},
    {"cam_teeth", "", "66", "", 66, VB_DIM_NONE},
    {"lobe", "I", "in 270 10.2", "", NAN, VB_DIM_NONE},
    {"lobe", "E", "123456789-123456789-123456789-123456789-123456789-123456789-123", "",
     NAN, VB_DIM_NONE}, // 63 bytes
    {"banks", "", "A:1-2-3 B:4-5-6", "", NAN, VB_DIM_NONE},
    {"banks", "", "R:1-3-5-99 L:2-4", "", NAN, VB_DIM_NONE},
    {"banks", "", "F:1", "", NAN, VB_DIM_NONE},
    {"cam_for", "", "side", "", NAN, VB_DIM_NONE},
    {"cam_for", "", "engine", "", NAN, VB_DIM_NONE},
    {"shim_min", "", "2.0", "mm", 2, VB_DIM_LENGTH},
    {"shim_max", "E", "0.125", "in", 3.175, VB_DIM_LENGTH}, // 25.4 mm an inch
    {"shim_fits", "", "both", "", NAN, VB_DIM_NONE},
    {"shim_fits", "", "side", "", NAN, VB_DIM_NONE},
    {"shim_step", "I", "25", "um", 0.025, VB_DIM_LENGTH},
    {"shim_step", "", "0.001", "mm", 0.001, VB_DIM_LENGTH},
};

START_TEST(a_good_fact_is_taken)
{
    const struct good *g = &good[_i];
    double x = -77;
    enum vb_dim dim = VB_DIM_STIFF;
    struct vb_msg m = {0};
    enum vb_err e = vb_fact_check(fact(g->key), g->side, g->value, g->unit, &x, &dim, &m);
    ck_assert_msg(e == VB_OK, "%s %s %s: %s", g->key, g->value, g->unit, m.text);
    if (isnan(g->number))
        ck_assert(isnan(x));
    else // conversions are exact in decimals: one rounding to double
        ck_assert(fabs(x - g->number) <= 1e-15 * fabs(g->number));
    ck_assert_int_eq(dim, g->dim);
    ck_assert_int_eq(
        vb_fact_check(fact(g->key), g->side, g->value, g->unit, &x, NULL, NULL), VB_OK);
}
END_TEST

/* --- facts that do not hold
 * --------------------------------------------------------------- */

struct bad {
    const char *key, *side, *value, *unit;
    enum vb_err err;
    const char *text;
};

static const struct bad bad[] = {
    {"cylinders", "", "0", "", VB_ERANGE, "cylinders 0 is out of reason"},
    {"cylinders", "", "100", "", VB_ERANGE, "cylinders 100 is out of reason"},
    {"cylinders", "", "-4", "", VB_ERANGE, "cylinders -4 is out of reason"},
    {"cylinders", "", "4.5", "", VB_ERANGE, "cylinders 4.5 is out of reason"},
    {"cylinders", "", "four", "", VB_ESYNTAX, "bad number 'four'"},
    {"cylinders", "", "", "", VB_ESYNTAX, "bad number ''"},
    {"cylinders", "I", "4", "", VB_ESYNTAX,
     "cylinders is said of the engine, not of 'I'"},
    {"cylinders", "", "4", "mm", VB_EUNIT, "unit 'mm' does not fit cylinders"},
    {"valves", "", "2", "", VB_ESYNTAX, "valves is said of side I or E, not of ''"},
    {"valves", "X", "2", "", VB_ESYNTAX, "valves is said of side I or E, not of 'X'"},
    {"valves", "I", "10", "", VB_ERANGE, "valves 10 is out of reason"},
    {"valves", "I", "0", "", VB_ERANGE, "valves 0 is out of reason"},
    {"lash_min", "I", "0.2", "", VB_EUNIT, "no unit for lash_min"},
    {"lash_min", "I", "0.2", "deg", VB_EUNIT, "unit 'deg' does not fit lash_min"},
    {"lash_min", "I", "0.2", "furlong", VB_EUNIT, "unit 'furlong' does not fit lash_min"},
    {"lash_min", "I", "-0.01", "mm", VB_ERANGE, "lash_min -0.01 is out of reason"},
    {"lash_min", "I", "0.2", "in", VB_ERANGE, "lash_min 0.2 is out of reason"}, // 5.08 mm
    {"lash_min", "I", "0.12345678901234567", "in", VB_ERANGE,
     "lash_min 0.12345678901234567 is out of reason"},
    {"lash_max", "i", "0.2", "mm", VB_ESYNTAX,
     "lash_max is said of side I or E, not of 'i'"},
    {"ratio", "B", "1.5", "", VB_ESYNTAX, "ratio is said of side I or E, not of 'B'"},
    {"ratio", "", "5.1", "", VB_ERANGE, "ratio 5.1 is out of reason"},
    {"relash_interval", "", "500", "d", VB_EUNIT,
     "unit 'd' does not fit relash_interval"},
    {"relash_interval", "", "500", "", VB_EUNIT, "no unit for relash_interval"},
    {"relash_days", "", "26", "h", VB_EUNIT, "unit 'h' does not fit relash_days"},
    {"adjuster", "", "shims", "", VB_ESYNTAX,
     "adjuster is one of 'screw shim hydraulic', not 'shims'"},
    {"adjuster", "", "him", "", VB_ESYNTAX,
     "adjuster is one of 'screw shim hydraulic', not 'him'"},
    {"adjuster", "", "screw shim", "", VB_ESYNTAX,
     "adjuster is one of 'screw shim hydraulic', not 'screw shim'"},
    {"adjuster", "", "", "", VB_ESYNTAX,
     "adjuster is one of 'screw shim hydraulic', not ''"},
    {"adjuster", "", "shim", "mm", VB_EUNIT, "adjuster has no unit"},
    {"firing_order", "", "", "", VB_ESYNTAX,
     "firing_order is like 1-3-4-2 or 1-2@405, not ''"},
    {"firing_order", "", "1-2@720", "", VB_ESYNTAX,
     "firing_order is like 1-3-4-2 or 1-2@405, not '1-2@720'"},
    {"firing_order", "", "1-3-4-2-", "", VB_ESYNTAX,
     "firing_order is like 1-3-4-2 or 1-2@405, not '1-3-4-2-'"},
    {"firing_order", "", "-1-3-4-2", "", VB_ESYNTAX,
     "firing_order is like 1-3-4-2 or 1-2@405, not '-1-3-4-2'"},
    {"firing_order", "", "1--3-2", "", VB_ESYNTAX,
     "firing_order is like 1-3-4-2 or 1-2@405, not '1--3-2'"},
    {"firing_order", "", "1-3-3-2", "", VB_ESYNTAX,
     "firing_order is like 1-3-4-2 or 1-2@405, not '1-3-3-2'"},
    {"firing_order", "", "1-3-5-2", "", VB_ESYNTAX,
     "firing_order is like 1-3-4-2 or 1-2@405, not '1-3-5-2'"},
    {"firing_order", "", "0-1-2", "", VB_ESYNTAX,
     "firing_order is like 1-3-4-2 or 1-2@405, not '0-1-2'"},
    {"firing_order", "", "2-100-1", "", VB_ESYNTAX,
     "firing_order is like 1-3-4-2 or 1-2@405, not '2-100-1'"},
    {"firing_order", "", "1, 3, 4, 2", "", VB_ESYNTAX,
     "firing_order is like 1-3-4-2 or 1-2@405, not '1, 3, 4, 2'"},
    {"firing_order", "", "1- 2", "", VB_ESYNTAX,
     "firing_order is like 1-3-4-2 or 1-2@405, not '1- 2'"},
    {"opens", "I", "12", "", VB_EUNIT, "no unit for opens"},
    {"opens", "I", "12 deg", "deg_cam", VB_EUNIT, "unit 'deg_cam' does not fit opens"},
    {"opens", "I", "12 BTDC", "mm", VB_EUNIT, "unit 'mm' does not fit opens"},
    {"opens", "I", "12", "league", VB_EUNIT, "unit 'league' does not fit opens"},
    {"opens", "", "12 BTDC", "", VB_ESYNTAX, "opens is said of side I or E, not of ''"},
    {"opens", "I", "early", "deg", VB_ESYNTAX, "bad angle 'early'"},
    {"opens", "I", "", "deg", VB_ESYNTAX, "bad angle ''"},
    {"opens", "I", "12 mm", "", VB_ESYNTAX, "bad angle '12 mm'"},
    {"opens", "I", "12 BTDC or so", "", VB_ESYNTAX, "bad angle '12 BTDC or so'"},
    {"closes", "I", "361", "deg", VB_ERANGE, "closes 361 is out of reason"},
    {"closes", "E", "180.5", "deg_cam", VB_ERANGE, "closes 180.5 is out of reason"},
    {"timing_tolerance", "", "-1", "deg", VB_ERANGE,
     "timing_tolerance -1 is out of reason"},
    {"timing_tolerance", "", "46", "deg", VB_ERANGE,
     "timing_tolerance 46 is out of reason"},
    {"timing_tolerance", "", "2 BBDC", "", VB_ESYNTAX, "bad angle '2 BBDC'"},
    {"timing_tolerance", "I", "2", "deg", VB_ESYNTAX,
     "timing_tolerance is said of the engine, not of 'I'"},
    {"checking_lift", "", "0", "mm", VB_ERANGE, "checking_lift 0 is out of reason"},
    {"checking_lift", "", "1", "", VB_EUNIT, "no unit for checking_lift"},
    {"crank_teeth", "", "4", "", VB_ERANGE, "crank_teeth 4 is out of reason"},
    {"cam_teeth", "", "33.5", "", VB_ERANGE, "cam_teeth 33.5 is out of reason"},
    {"lobe", "", "race", "", VB_ESYNTAX, "lobe is said of side I or E, not of ''"},
    {"lobe", "I", "", "", VB_ESYNTAX, "lobe is a name of 1 to 63 bytes, not ''"},
    {"lobe", "I", "a\tb", "", VB_ESYNTAX, "lobe is a name of 1 to 63 bytes, not 'a?b'"},
    {"lobe", "E", "123456789-123456789-123456789-123456789-123456789-123456789-1234", "",
     VB_ESYNTAX,
     "lobe is a name of 1 to 63 bytes, not '123456789-123456789-123456789-123456789-'"},
    {"lobe", "I", "race", "mm", VB_EUNIT, "lobe has no unit"},
    {"cam_for", "", "both", "", VB_ESYNTAX,
     "cam_for is one of 'side bank engine', not 'both'"},
    {"cam_for", "I", "bank", "", VB_ESYNTAX, "cam_for is said of the engine, not of 'I'"},
    {"banks", "", "A:1-2 A:3", "", VB_ESYNTAX,
     "banks is like A:1-2-3 B:4-5-6, not 'A:1-2 A:3'"},
    {"banks", "", "A:1-2 B:2", "", VB_ESYNTAX,
     "banks is like A:1-2-3 B:4-5-6, not 'A:1-2 B:2'"},
    {"banks", "", "I:1-2", "", VB_ESYNTAX, "banks is like A:1-2-3 B:4-5-6, not 'I:1-2'"},
    {"banks", "", "B:1-2 E:3", "", VB_ESYNTAX,
     "banks is like A:1-2-3 B:4-5-6, not 'B:1-2 E:3'"},
    {"banks", "", "a:1", "", VB_ESYNTAX, "banks is like A:1-2-3 B:4-5-6, not 'a:1'"},
    {"banks", "", "A:", "", VB_ESYNTAX, "banks is like A:1-2-3 B:4-5-6, not 'A:'"},
    {"banks", "", "A1-2", "", VB_ESYNTAX, "banks is like A:1-2-3 B:4-5-6, not 'A1-2'"},
    {"banks", "", "A:1-", "", VB_ESYNTAX, "banks is like A:1-2-3 B:4-5-6, not 'A:1-'"},
    {"banks", "", "A:1 ", "", VB_ESYNTAX, "banks is like A:1-2-3 B:4-5-6, not 'A:1 '"},
    {"banks", "", "A:1  B:2", "", VB_ESYNTAX,
     "banks is like A:1-2-3 B:4-5-6, not 'A:1  B:2'"},
    {"banks", "", "A:0", "", VB_ESYNTAX, "banks is like A:1-2-3 B:4-5-6, not 'A:0'"},
    {"banks", "", "A:100", "", VB_ESYNTAX, "banks is like A:1-2-3 B:4-5-6, not 'A:100'"},
    {"banks", "", "A:1000", "", VB_ESYNTAX,
     "banks is like A:1-2-3 B:4-5-6, not 'A:1000'"},
    {"banks", "", "A:1:2", "", VB_ESYNTAX, "banks is like A:1-2-3 B:4-5-6, not 'A:1:2'"},
    {"adjuster", "", "scr", "", VB_ESYNTAX,
     "adjuster is one of 'screw shim hydraulic', not 'scr'"},
    {"lobe", "I", "a\x7f", "", VB_ESYNTAX, "lobe is a name of 1 to 63 bytes, not 'a?'"},
    {"firing_order", "", "1-x", "", VB_ESYNTAX,
     "firing_order is like 1-3-4-2 or 1-2@405, not '1-x'"},
    {"banks", "", "", "", VB_ESYNTAX, "banks is like A:1-2-3 B:4-5-6, not ''"},
    {"shim_min", "", "0", "mm", VB_ERANGE, "shim_min 0 is out of reason"},
    {"shim_max", "", "10.1", "mm", VB_ERANGE, "shim_max 10.1 is out of reason"},
    {"shim_fits", "", "I", "", VB_ESYNTAX, "shim_fits is one of 'both side', not 'I'"},
    {"shim_fits", "E", "side", "", VB_ESYNTAX,
     "shim_fits is said of the engine, not of 'E'"},
    {"shim_step", "", "0", "mm", VB_ERANGE, "shim_step 0 is out of reason"},
    {"shim_step", "", "0.025", "", VB_EUNIT, "no unit for shim_step"},
};

START_TEST(a_bad_fact_is_named)
{
    const struct bad *b = &bad[_i];
    double x = -77;
    enum vb_dim dim = VB_DIM_STIFF;
    struct vb_msg m = {0};
    ck_assert_int_eq(
        vb_fact_check(fact(b->key), b->side, b->value, b->unit, &x, &dim, &m), b->err);
    ck_assert_str_eq(m.text, b->text);
    ck_assert_msg(x == -77 && dim == VB_DIM_STIFF, "touched on failure");
    ck_assert_int_eq(
        vb_fact_check(fact(b->key), b->side, b->value, b->unit, &x, NULL, NULL), b->err);
}
END_TEST

START_TEST(facts_are_found_by_their_whole_name)
{
    size_t n;
    const struct vb_fact *all = vb_fact_all(&n);
    ck_assert_uint_eq(n, VB_FACT_COUNT);
    for (size_t i = 0; i < n; i++) {
        ck_assert_ptr_eq(vb_fact_find(all[i].key, strlen(all[i].key)), &all[i]);
        ck_assert_ptr_null(vb_fact_find(all[i].key, strlen(all[i].key) - 1));
        ck_assert_msg(all[i].says && *all[i].says, "%s says nothing", all[i].key);
    }
    ck_assert_ptr_null(vb_fact_find("bore", 4));
    ck_assert_ptr_null(vb_fact_find("", 0));
}
END_TEST

/* --- the family
 * ----------------------------------------------------------------------------- */

static void
say(struct vb_family *f, const char *key, const char *side, const char *value,
    const char *unit)
{
    double x;
    enum vb_dim dim;
    ck_assert_int_eq(vb_fact_check(fact(key), side, value, unit, &x, &dim, NULL), VB_OK);
    vb_family_set(f, fact(key), side, value, x, dim);
}

START_TEST(nothing_said_is_nothing_known)
{
    struct vb_family f;
    memset(&f, 0x55, sizeof f);
    vb_family_init(&f);
    ck_assert_int_eq(f.cylinders, 0);
    ck_assert(isnan(f.relash) && isnan(f.relash_days));
    ck_assert_str_eq(f.firing_order, "");
    for (int s = 0; s < 2; s++) {
        ck_assert_int_eq(f.valves[s], 0);
        ck_assert(isnan(f.lash_min[s]) && isnan(f.lash_max[s]) &&
                  isnan(f.lash_target[s]));
        ck_assert(isnan(f.seat_limit[s]));
        ck_assert(f.lash_growth[s] == 0 && f.ratio[s] == 1 && f.read_at_lobe[s] == 0);
        ck_assert(isnan(f.opens[s]) && isnan(f.closes[s]) && isnan(f.checking_lift[s]));
        ck_assert_str_eq(f.lobe[s], "");
    }
    ck_assert(isnan(f.timing_tolerance) && isnan(f.sprocket_limit));
    ck_assert(f.crank_teeth == 0 && f.cam_teeth == 0);
    ck_assert(f.adjuster == VB_ADJUSTER_UNKNOWN && !f.screw_on[0]);
    ck_assert(isnan(f.screw_pitch[0]) && isnan(f.shim_min[1]) && isnan(f.shim_max[0]) &&
              isnan(f.shim_step[1]));
    char list[27];
    ck_assert_int_eq(vb_banks_list(&f.banks, list), 0);
    ck_assert_str_eq(list, "");
}
END_TEST

START_TEST(facts_go_to_their_side)
{
    struct vb_family f;
    vb_family_init(&f);
    say(&f, "cylinders", "", "4", "");
    say(&f, "valves", "I", "2", "");
    say(&f, "valves", "E", "1", "");
    say(&f, "lash_min", "I", "0.15", "mm");
    say(&f, "lash_max", "E", "0.3", "mm");
    say(&f, "lash_target", "E", "0.25", "mm");
    say(&f, "seat_limit", "I", "1.5", "mm");
    say(&f, "relash_interval", "", "30000", "km");
    say(&f, "relash_days", "", "365", "d");
    say(&f, "firing_order", "", "1-3-4-2", "");
    ck_assert_int_eq(f.cylinders, 4);
    ck_assert(f.valves[0] == 2 && f.valves[1] == 1);
    ck_assert(f.lash_min[0] == 0.15 && isnan(f.lash_min[1]));
    ck_assert(isnan(f.lash_max[0]) && f.lash_max[1] == 0.3);
    ck_assert(isnan(f.lash_target[0]) && f.lash_target[1] == 0.25);
    ck_assert(f.seat_limit[0] == 1.5 && isnan(f.seat_limit[1]));
    ck_assert(f.relash == 30000 && f.relash_dim == VB_DIM_DISTANCE &&
              f.relash_days == 365);
    ck_assert_str_eq(f.firing_order, "1-3-4-2");
}
END_TEST

START_TEST(adjusters_go_to_their_side)
{
    struct vb_family f;
    vb_family_init(&f);
    say(&f, "adjuster", "", "screw", "");
    ck_assert_int_eq(f.adjuster, VB_ADJUSTER_SCREW);
    say(&f, "adjuster", "", "shim", "");
    ck_assert_int_eq(f.adjuster, VB_ADJUSTER_SHIM);
    say(&f, "adjuster", "", "hydraulic", "");
    ck_assert_int_eq(f.adjuster, VB_ADJUSTER_HYDRAULIC);
    say(&f, "screw_pitch", "", "1", "mm");
    say(&f, "screw_pitch", "E", "0.75", "mm");
    ck_assert(f.screw_pitch[0] == 1 && f.screw_pitch[1] == 0.75);
    say(&f, "screw_on", "", "pushrod", "");
    say(&f, "screw_on", "I", "valve", "");
    ck_assert(f.screw_on[0] == VB_SCREW_VALVE && f.screw_on[1] == VB_SCREW_PUSHROD);
    say(&f, "screw_on", "E", "stud", "");
    ck_assert(f.screw_on[0] == VB_SCREW_VALVE && f.screw_on[1] == VB_SCREW_STUD);
    say(&f, "screw_on", "", "pivot", "");
    ck_assert(f.screw_on[0] == VB_SCREW_PIVOT && f.screw_on[1] == VB_SCREW_PIVOT);
    say(&f, "shim_min", "", "2", "mm");
    say(&f, "shim_max", "", "3", "mm");
    say(&f, "shim_step", "", "0.05", "mm");
    say(&f, "shim_step", "E", "0.025", "mm");
    ck_assert_int_eq(f.shim_fits, VB_SHIM_FITS_UNKNOWN);
    say(&f, "shim_fits", "", "side", "");
    ck_assert_int_eq(f.shim_fits, VB_SHIM_FITS_SIDE);
    say(&f, "shim_fits", "", "both", "");
    ck_assert_int_eq(f.shim_fits, VB_SHIM_FITS_BOTH);
    ck_assert(f.shim_min[0] == 2 && f.shim_min[1] == 2 && f.shim_max[1] == 3);
    ck_assert(f.shim_step[0] == 0.05 && f.shim_step[1] == 0.025);
    say(&f, "read_at", "E", "lobe", "");
    ck_assert(!f.read_at_lobe[0] && f.read_at_lobe[1]);
    say(&f, "read_at", "E", "tip", "");
    ck_assert(!f.read_at_lobe[0] && !f.read_at_lobe[1]);
    say(&f, "lift_at", "", "lobe", "");
    say(&f, "lift_at", "I", "tip", "");
    ck_assert(!f.lift_at_lobe[0] && f.lift_at_lobe[1]);
}
END_TEST

START_TEST(timing_goes_to_its_side)
{
    struct vb_family f;
    char list[27];
    vb_family_init(&f);
    say(&f, "opens", "I", "12 BTDC", "");
    say(&f, "closes", "I", "45 ABDC", "");
    say(&f, "opens", "E", "50 BBDC", "");
    say(&f, "closes", "E", "8 ATDC", "");
    say(&f, "checking_lift", "", "1", "mm");
    say(&f, "checking_lift", "E", "1.27", "mm");
    say(&f, "lobe", "E", "exhaust", "");
    say(&f, "timing_tolerance", "", "2", "deg");
    say(&f, "sprocket_limit", "", "3", "deg");
    say(&f, "crank_teeth", "", "33", "");
    say(&f, "cam_teeth", "", "66", "");
    say(&f, "banks", "", "R:1-3-5 L:2-4-99", "");
    ck_assert_int_eq(f.cam_for, VB_CAM_FOR_SIDE); // as long as nobody says otherwise
    say(&f, "cam_for", "", "engine", "");
    ck_assert_int_eq(f.cam_for, VB_CAM_FOR_ENGINE);
    say(&f, "cam_for", "", "bank", "");
    ck_assert_int_eq(f.cam_for, VB_CAM_FOR_BANK);
    say(&f, "cam_for", "", "side", "");
    ck_assert_int_eq(f.cam_for, VB_CAM_FOR_SIDE);
    // valvebook(7), Signs: the four events of its example
    ck_assert(f.opens[0] == -12 && f.closes[0] == 225);
    ck_assert(f.opens[1] == -230 && f.closes[1] == 8);
    ck_assert(f.checking_lift[0] == 1 && f.checking_lift[1] == 1.27);
    ck_assert_str_eq(f.lobe[0], "");
    ck_assert_str_eq(f.lobe[1], "exhaust");
    ck_assert(f.timing_tolerance == 2 && f.sprocket_limit == 3);
    ck_assert(f.crank_teeth == 33 && f.cam_teeth == 66);
    ck_assert(f.banks.of[1] == 'R' && f.banks.of[5] == 'R' && f.banks.of[99] == 'L');
    ck_assert(f.banks.of[2] == 'L' && f.banks.of[6] == 0);
    ck_assert_int_eq(vb_banks_list(&f.banks, list), 2);
    ck_assert_str_eq(list, "LR");
}
END_TEST

START_TEST(a_fact_without_a_side_is_said_of_both)
{
    struct vb_family f;
    vb_family_init(&f);
    say(&f, "ratio", "", "1.6", "");
    say(&f, "lash_growth", "", "0.001", "mm/Cel");
    say(&f, "read_at", "", "lobe", "");
    ck_assert(f.ratio[0] == 1.6 && f.ratio[1] == 1.6);
    ck_assert(f.lash_growth[0] == 0.001 && f.lash_growth[1] == 0.001);
    ck_assert(f.read_at_lobe[0] && f.read_at_lobe[1]);
    say(&f, "ratio", "E", "1.5", "");
    say(&f, "lash_growth", "I", "0.002", "mm/Cel");
    say(&f, "read_at", "E", "tip", "");
    ck_assert(f.ratio[0] == 1.6 && f.ratio[1] == 1.5);
    ck_assert(f.lash_growth[0] == 0.002 && f.lash_growth[1] == 0.001);
    ck_assert(f.read_at_lobe[0] && !f.read_at_lobe[1]);
}
END_TEST

struct has {
    int cylinders, inlet, exhaust; // 0: nobody said
    struct vb_valve v;
    int want;
};

static const struct has has[] = {
    {4, 1, 1, {1, 'I', 0}, 1},  {4, 1, 1, {4, 'E', 0}, 1},  {4, 1, 1, {5, 'I', 0}, 0},
    {4, 1, 1, {1, 'I', 1}, 0},  {4, 1, 1, {1, 'E', 2}, 0},  {4, 2, 1, {1, 'I', 1}, 1},
    {4, 2, 1, {4, 'I', 2}, 1},  {4, 2, 1, {1, 'I', 0}, 0},  {4, 2, 1, {1, 'I', 3}, 0},
    {4, 2, 1, {1, 'E', 0}, 1},  {4, 2, 1, {1, 'E', 1}, 0},  {4, 2, 3, {1, 'E', 3}, 1},
    {4, 2, 3, {5, 'E', 3}, 0},  {0, 1, 1, {99, 'I', 0}, 1}, {0, 2, 2, {50, 'E', 2}, 1},
    {0, 2, 2, {50, 'E', 0}, 0}, {4, 0, 0, {4, 'I', 0}, 1},  {4, 0, 0, {4, 'I', 7}, 1},
    {4, 0, 1, {4, 'E', 2}, 0},  {4, 0, 0, {5, 'I', 7}, 0},  {0, 0, 0, {99, 'E', 9}, 1},
};

START_TEST(a_family_has_its_valves_and_no_others)
{
    const struct has *h = &has[_i];
    struct vb_family f;
    char name[VB_VALVE_MAX];
    vb_family_init(&f);
    f.cylinders = h->cylinders;
    f.valves[0] = h->inlet;
    f.valves[1] = h->exhaust;
    vb_valve_format(h->v, name);
    ck_assert_msg(!vb_family_has(&f, h->v) == !h->want,
                  "%s of %d cylinders, %d + %d valves", name, h->cylinders, h->inlet,
                  h->exhaust);
}
END_TEST

/* --- what goes together ------------------------------------------------------------ */

START_TEST(limits_that_cross_are_told)
{
    struct vb_family f;
    struct vb_msg m = {0};
    vb_family_init(&f);
    ck_assert_uint_eq(vb_family_clashes(&f, &m), 0);
    f.lash_min[1] = 0.3;
    ck_assert_uint_eq(vb_family_clashes(&f, &m), 0);
    f.lash_max[1] = 0.3;
    f.lash_target[1] = 0.3;
    ck_assert_uint_eq(vb_family_clashes(&f, &m), 0);
    ck_assert_str_eq(m.text, "");
    f.lash_max[1] = 0.25;
    ck_assert_uint_eq(vb_family_clashes(&f, &m), 2);
    ck_assert_str_eq(m.text, "lash_min of side E is above lash_max: 0.3 and 0.25 mm");
    f.lash_max[1] = NAN;
    f.lash_target[1] = 0.29;
    ck_assert_uint_eq(vb_family_clashes(&f, NULL), 1);
    f.shim_min[0] = 3, f.shim_max[0] = 2;
    ck_assert_uint_eq(vb_family_clashes(&f, NULL), 2);
}
END_TEST

/* Four cylinders, one inlet and two exhausts each. */
static const struct {
    struct vb_valve v;
    int has;
} places[] = {
    {{0, 0, 2}, 1},   {{0, 0, 0}, 1},   {{4, 0, 0}, 1},   {{5, 0, 0}, 0},
    {{0, 'E', 0}, 1}, {{4, 'I', 0}, 1}, {{4, 'I', 1}, 0}, {{1, 'E', 0}, 1},
    {{1, 'E', 2}, 1}, {{1, 'E', 3}, 0}, {{5, 'E', 1}, 0}, {{0, 'E', 2}, 1},
    {{0, 'I', 1}, 0},
};

START_TEST(places_of_a_family)
{
    struct vb_family f;
    vb_family_init(&f);
    ck_assert_int_eq(vb_family_has_part(&f, places[_i].v), 1); // nothing is known of it
    f.cylinders = 4;
    f.valves[0] = 1, f.valves[1] = 2;
    ck_assert_int_eq(vb_family_has_part(&f, places[_i].v), places[_i].has);
}
END_TEST

/* Degrees make an order longer than one of 99 cylinders without. */
START_TEST(an_order_too_long_to_keep)
{
    char s[500] = "1";
    const struct vb_fact *f = vb_fact_find("firing_order", 12);
    double x;
    enum vb_dim dim;
    size_t n = 1;
    for (int cyl = 2; cyl <= _i; cyl++)
        n += (size_t)sprintf(s + n, "-%d@%d", cyl, 7 * cyl);
    ck_assert_int_eq(vb_fact_check(f, "", s, "", &x, &dim, NULL),
                     n < VB_FIRING_TEXT ? VB_OK : VB_ESYNTAX);
}
END_TEST

static TCase *
tcase_together(void)
{
    TCase *t = tcase_create("together");
    tcase_add_test(t, limits_that_cross_are_told);
    tcase_add_loop_test(t, places_of_a_family, 0, COUNT(places));
    return t;
}

static Suite *
family_suite(void)
{
    Suite *s = suite_create("family");
    TCase *t = tcase_create("facts");
    tcase_add_loop_test(t, a_good_fact_is_taken, 0, COUNT(good));
    tcase_add_loop_test(t, a_bad_fact_is_named, 0, COUNT(bad));
    tcase_add_test(t, facts_are_found_by_their_whole_name);
    tcase_add_loop_test(t, an_order_too_long_to_keep, 40, 50);
    suite_add_tcase(s, t);

    t = tcase_create("family");
    tcase_add_test(t, nothing_said_is_nothing_known);
    tcase_add_test(t, facts_go_to_their_side);
    tcase_add_test(t, timing_goes_to_its_side);
    tcase_add_test(t, adjusters_go_to_their_side);
    tcase_add_test(t, a_fact_without_a_side_is_said_of_both);
    tcase_add_loop_test(t, a_family_has_its_valves_and_no_others, 0, COUNT(has));
    suite_add_tcase(s, tcase_together());
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(family_suite());
}
