#include "suite.h"
#include "valvebook/unit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#define COUNT(a) (int)(sizeof(a) / sizeof *(a))

static struct vb_dec
dec(const char *text)
{
    struct vb_dec d = {0, 0};
    ck_assert_msg(!vb_dec_parse(text, strlen(text), '.', 0, &d), "'%s'", text);
    return d;
}

/* text in `unit`, converted and written */
static const char *
converted(const char *text, const char *unit)
{
    static char out[VB_NUM_MAX];
    struct vb_dec d;
    const struct vb_unit *u = vb_unit_find(unit, strlen(unit));
    ck_assert_msg(u != NULL, "unit '%s'", unit);
    ck_assert_msg(!vb_unit_convert(u, dec(text), &d), "%s %s", text, unit);
    vb_dec_format(d, out);
    return out;
}

/* --- factors -------------------------------------------------------------------------
 */

/*
 * 1 in = 25.4 mm, 1 mi = 1.609344 km exactly, 68 degF = 20 Cel: Debian `units` and UCUM
 * essence 2.2. 1 lbf = 4.448 221 615 2605 N, 1 kgf = 9.806 65 N, 1 bar = 100 kPa: NIST SP
 * 811 (2008), appendix B.8. 0 Cel = 273.15 K, 212 degF = 100 Cel, -40 degF = -40 Cel:
 * by definition of the scales. Cam degrees times 2 are crank degrees.
 */
static const struct {
    const char *value, *unit, *book;
} factors[] = {
    {"0.28", "mm", "0.28"},
    {"1", "[in_i]", "25.4"},
    {"0.004", "[in_i]", "0.1016"},
    {"1", "[mil_i]", "0.0254"},
    {"12", "thou", "0.3048"},
    {"280", "um", "0.28"},
    {"1.5", "cm", "15"},
    {"0.028", "m", "28"},
    {"-12", "deg", "-12"},
    {"52.25", "deg_cam", "104.5"},
    {"20", "Cel", "20"},
    {"68", "[degF]", "20"},
    {"212", "[degF]", "100"},
    {"32", "[degF]", "0"},
    {"-40", "[degF]", "-40"},
    {"70", "[degF]", "21.1111"}, // 190/9 = 21.11111...
    {"69", "[degF]", "20.5556"}, // 185/9 = 20.55555...
    {"31", "[degF]", "-0.5556"}, // -5/9
    {"31.9", "[degF]", "-0.0556"},
    {"0.5", "[degF]", "-17.5"},
    {"293.15", "K", "20"},
    {"0", "K", "-273.15"},
    {"412.5", "h", "412.5"},
    {"120500", "km", "120500"},
    {"1", "[mi_i]", "1.609344"},
    {"1000", "mi", "1609.344"},
    {"9", "d", "9"},
    {"3", "wk", "21"},
    {"1", "kPa", "1"},
    {"12.5", "bar", "1250"},
    {"1.25", "MPa", "1250"},
    {"250", "N", "250"},
    {"10", "kgf", "98.0665"},
    {"1", "[lbf_av]", "4.4482216152605"},
    {"3.5", "%", "3.5"},
    {"0.0012", "mm/Cel", "0.0012"},
    {"1.2", "um/Cel", "0.0012"},
};

START_TEST(a_unit_has_its_factor)
{
    ck_assert_str_eq(converted(factors[_i].value, factors[_i].unit), factors[_i].book);
}
END_TEST

/*
 * Lash and recess as TM 5-3895-385-23-2 and TM 9-2815-256-24 print them. Both print the
 * lash limits in mm as well, to three digits. The slips of the second manual and of TM
 * 10-4320-307-24 must not come out.
 */
static const struct {
    const char *inch;
    const char *mm;
    double printed; // 0: inch only
    int slip;
} lash[] = {
    {"0.006", "0.1524", 0.152, 0}, {"0.015", "0.381", 0.381, 0},
    {"0.030", "0.762", 0.762, 0},  {"0.024", "0.6096", 0, 0},
    {"0.064", "1.6256", 0, 0},     {"0.048", "1.2192", 0, 0},
    {"0.089", "2.2606", 0, 0},     {"0.044", "1.1176", 1.11, 1},
    {"0.068", "1.7272", 1.72, 1},  {"0.011", "0.2794", 0.028, 1},
    {"0.023", "0.5842", 0.058, 1},
};

START_TEST(printed_limits)
{
    const char *mm = converted(lash[_i].inch, "in");
    ck_assert_str_eq(mm, lash[_i].mm);
    if (lash[_i].printed > 0) {
        // Half of the last printed digit, or of the second where only two are printed.
        double half = lash[_i].printed > 1 ? 0.005 : 0.0005;
        int agrees = fabs(strtod(mm, NULL) - lash[_i].printed) <= half;
        ck_assert_int_eq(agrees, !lash[_i].slip);
    }
}
END_TEST

/* --- spellings -----------------------------------------------------------------------
 */

static const struct {
    const char *name;
    enum vb_dim dim;
    const char *spelt[16];
} spelt[] = {
    {"mm", VB_DIM_LENGTH, {"mm", "MM", " mm ", "millimetre", "Millimeters"}},
    {"um", VB_DIM_LENGTH, {"um", "\xc2\xb5m", "\xce\xbcm", "micron", "microns"}},
    {"cm", VB_DIM_LENGTH, {"cm"}},
    {"m", VB_DIM_LENGTH, {"m"}},
    {"[in_i]",
     VB_DIM_LENGTH,
     {"[in_i]", "in", "in.", "IN", "inch", "Inches", "\"", "''", "\xe2\x80\xb3",
      "\xe2\x80\x9d", "Zoll"}},
    {"[mil_i]", VB_DIM_LENGTH, {"[mil_i]", "thou", "Thou", "mil", "mils", "thousandths"}},
    {"[mil_i]", VB_DIM_LENGTH, {"1/1000 in", "1/1000\"", "0.001 in", "1/1000 inch"}},
    {"1/100mm",
     VB_DIM_LENGTH,
     {"1/100mm", "1/100 mm", "0,01 mm", "0.01 mm", "Hundertstel"}},
    {"deg",
     VB_DIM_ANGLE,
     {"deg", "deg.", "degrees", "\xc2\xb0", "crank deg", "\xc2\xb0 CA"}},
    {"deg_cam", VB_DIM_ANGLE, {"deg_cam", "cam deg", "\xc2\xb0 cam", "\xc2\xb0NW"}},
    {"Cel",
     VB_DIM_TEMP,
     {"Cel", "C",
      "\xc2\xb0"
      "C",
      "deg C", "celsius", "\xe2\x84\x83"}},
    {"[degF]",
     VB_DIM_TEMP,
     {"[degF]", "F",
      "\xc2\xb0"
      "F",
      "deg F", "\xe2\x84\x89"}},
    {"K", VB_DIM_TEMP, {"K", "kelvin"}},
    {"h", VB_DIM_TIME, {"h", "hr", "hrs", "Hours", "engine hours", "Std"}},
    {"km", VB_DIM_DISTANCE, {"km", "KM", "kilometers"}},
    {"[mi_i]", VB_DIM_DISTANCE, {"[mi_i]", "mi", "mile", "Miles"}},
    {"d", VB_DIM_DAYS, {"d", "day", "days"}},
    {"wk", VB_DIM_DAYS, {"wk", "weeks"}},
    {"kPa", VB_DIM_PRESSURE, {"kPa", "kpa"}},
    {"bar", VB_DIM_PRESSURE, {"bar"}},
    {"MPa", VB_DIM_PRESSURE, {"MPa"}},
    {"N", VB_DIM_FORCE, {"N", "newton"}},
    {"kgf", VB_DIM_FORCE, {"kgf", "kp"}},
    {"[lbf_av]", VB_DIM_FORCE, {"[lbf_av]", "lbf", "lb", "lbs"}},
    {"%", VB_DIM_PERCENT, {"%", "percent"}},
    {"mm/Cel",
     VB_DIM_GROWTH,
     {"mm/Cel",
      "mm/\xc2\xb0"
      "C",
      "mm/K"}},
    {"um/Cel",
     VB_DIM_GROWTH,
     {"um/Cel",
      "\xc2\xb5m/\xc2\xb0"
      "C",
      "um/K"}},
};

START_TEST(a_unit_has_many_spellings)
{
    for (int k = 0; k < 16 && spelt[_i].spelt[k]; k++) {
        const char *s = spelt[_i].spelt[k];
        const struct vb_unit *u = vb_unit_find(s, strlen(s));
        ck_assert_msg(u != NULL, "'%s'", s);
        ck_assert_str_eq(u->name, spelt[_i].name);
        ck_assert_int_eq(u->dim, spelt[_i].dim);
    }
}
END_TEST

START_TEST(nobody_writes_it_so)
{
    static const char *const none[] = {
        "",         " ",
        "furlong",  "mmm",
        "i",        "in_i",
        "[in]",     "mm mm",
        "inn",      "\xc2",
        "psi",      "0",
        "deg_camm", "a word much longer than any unit has"};
    for (int i = 0; i < COUNT(none); i++)
        ck_assert_msg(!vb_unit_find(none[i], strlen(none[i])), "'%s'", none[i]);
    ck_assert(!vb_unit_find("mm\0", 3));
    ck_assert(vb_unit_find("mmm", 2) != NULL); // length counts, not the end of the text
}
END_TEST

START_TEST(the_book_keeps_one_unit_a_dimension)
{
    static const struct {
        enum vb_dim dim;
        const char *name;
    } t[] = {{VB_DIM_LENGTH, "mm"},    {VB_DIM_ANGLE, "deg"},   {VB_DIM_TEMP, "Cel"},
             {VB_DIM_TIME, "h"},       {VB_DIM_DISTANCE, "km"}, {VB_DIM_DAYS, "d"},
             {VB_DIM_PRESSURE, "kPa"}, {VB_DIM_FORCE, "N"},     {VB_DIM_PERCENT, "%"},
             {VB_DIM_GROWTH, "mm/Cel"}};
    for (int i = 0; i < COUNT(t); i++) {
        ck_assert_str_eq(vb_unit_of(t[i].dim)->name, t[i].name);
        ck_assert_str_eq(converted("1.25", t[i].name), "1.25");
    }
    ck_assert(!vb_unit_of(VB_DIM_NONE));
}
END_TEST

START_TEST(what_does_not_fit_is_refused)
{
    struct vb_dec d = {77, 7};
    const struct vb_unit *in = vb_unit_find("in", 2), *f = vb_unit_find("F", 1);
    struct vb_dec many = {INT64_C(12345678901234567), 0};
    ck_assert_int_eq(vb_unit_convert(in, many, &d), VB_ERANGE);
    ck_assert_int_eq(vb_unit_convert(f, many, &d), VB_ERANGE);
    ck_assert_int_eq(vb_unit_convert(in, (struct vb_dec){1, 18}, &d), VB_ERANGE);
    many.mant = -many.mant;
    ck_assert_int_eq(vb_unit_convert(f, many, &d), VB_ERANGE);
    ck_assert_int_eq(vb_unit_convert(f, (struct vb_dec){1, 18}, &d), VB_ERANGE);
    ck_assert(d.mant == 77 && d.scale == 7);
}
END_TEST

/* Every whole degree: nearest 0.0001 Cel, against the formula in doubles. */
START_TEST(fahrenheit_is_rounded)
{
    const struct vb_unit *f = vb_unit_find("F", 1);
    for (int t = -459; t <= 800; t++) {
        struct vb_dec d;
        ck_assert_int_eq(vb_unit_convert(f, (struct vb_dec){t, 0}, &d), VB_OK);
        double want = (t - 32) / 1.8, got = vb_dec_double(d);
        ck_assert_double_eq_tol(got, want, 0.00005 * (1 + 1e-9));
    }
}
END_TEST

/* --- missing -------------------------------------------------------------------------
 */

START_TEST(not_measured)
{
    static const char *const yes[] = {"",     " ",   "\t",   "-",         "--",  "?",
                                      "n/a",  "N/A", "NA",   "na",        "NaN", "null",
                                      "none", "nil", ".",    "*",         " - ", "None",
                                      "-\t",  "---", "----", " -------- "};
    static const char *const no[] = {"0",   "0.0",   "-1",  "x",      "no",
                                     "nul", "nones", "- 1", "..",     "+",
                                     "n",   "1-",    "?0",  "-----1", "--- -"};
    for (int i = 0; i < COUNT(yes); i++)
        ck_assert_msg(vb_missing(yes[i], strlen(yes[i])), "'%s'", yes[i]);
    for (int i = 0; i < COUNT(no); i++)
        ck_assert_msg(!vb_missing(no[i], strlen(no[i])), "'%s'", no[i]);
    ck_assert(vb_missing(NULL, 0));
    ck_assert(!vb_missing("\0", 1));
}
END_TEST

static Suite *
unit_suite(void)
{
    Suite *s = suite_create("unit");
    TCase *t = tcase_create("factors");
    tcase_add_loop_test(t, a_unit_has_its_factor, 0, COUNT(factors));
    tcase_add_loop_test(t, printed_limits, 0, COUNT(lash));
    tcase_add_test(t, fahrenheit_is_rounded);
    tcase_add_test(t, what_does_not_fit_is_refused);
    suite_add_tcase(s, t);

    t = tcase_create("spellings");
    tcase_add_loop_test(t, a_unit_has_many_spellings, 0, COUNT(spelt));
    tcase_add_test(t, nobody_writes_it_so);
    tcase_add_test(t, the_book_keeps_one_unit_a_dimension);
    tcase_add_test(t, not_measured);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(unit_suite());
}
