#include "suite.h"
#include "valvebook/valve.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <check.h>

#include "valvebook/quantity.h"

#define COUNT(a) (int)(sizeof(a) / sizeof *(a))

/* --- names ---------------------------------------------------------------------------
 */

static const struct {
    const char *name;
    const char *spelt[16];
} names[] = {
    {"1I",
     {"1I", "1i", "i1", "1 inlet", "Inlet 1", "IN1", "1-I", "1_I", "1.I", "cyl 1 I",
      "C1 IN", "Cylinder 1 Intake", "#1 intake", "no. 1 inl", "int 1", "Zyl. 1 in"}},
    {"4E",
     {"4E", "ex 4", "EX4", "4 exh", "exhaust 4", "cyl4ex", "E cyl 4", "4/E", "04E"}},
    {"12I", {"12I", "IN 12", "12 inlet"}},
    {"99E", {"99E"}},
    {"3E2",
     {"3E2", "3 E 2", "3-E-2", "3e2", "cyl 3 exhaust 2", "Cylinder 3 Exhaust valve 2",
      "E3 2", "exhaust 2 cyl 3", "valve 2 exhaust cylinder 3", "ex2 c3"}},
    {"1E2", {"Cylinder 1 Exhaust 2", "cyl.1 ex.2", "cyl 1 ex cyl 2"}},
    {"12I2", {"12I2", "12 inlet 2", "In 2 cyl 12"}},
    {"1I1", {"1I1", "1 IN 1"}},
};

START_TEST(a_valve_has_many_spellings)
{
    char out[VB_VALVE_MAX];
    for (int k = 0; k < 16 && names[_i].spelt[k]; k++) {
        const char *s = names[_i].spelt[k];
        struct vb_valve v;
        ck_assert_msg(!vb_valve_parse(s, strlen(s), &v), "'%s'", s);
        ck_assert_uint_eq(vb_valve_format(v, out), strlen(out));
        ck_assert_msg(strcmp(out, names[_i].name) == 0, "'%s' became %s", s, out);
    }
}
END_TEST

START_TEST(no_valve)
{
    static const char *const bad[] = {"",
                                      "1",
                                      "I",
                                      "inlet",
                                      "cyl 1",
                                      "0I",
                                      "100I",
                                      "1234E",
                                      "1A",
                                      "1IE",
                                      "in ex",
                                      "1{",
                                      "1 superexhaust",
                                      "1I10",
                                      "1I0",
                                      "I1I",
                                      "1 2 I",
                                      "1I2E",
                                      "1I 2 3",
                                      "x1I",
                                      "1I!",
                                      "1I,",
                                      "valve",
                                      "#",
                                      "EI",
                                      "9999999999999999999I",
                                      "\xc3\xa9",
                                      "1\xc2\xb0I"};
    for (int i = 0; i < COUNT(bad); i++) {
        struct vb_valve v = {77, 'x', 7};
        ck_assert_msg(vb_valve_parse(bad[i], strlen(bad[i]), &v) == VB_ESYNTAX, "'%s'",
                      bad[i]);
        ck_assert(v.cyl == 77 && v.side == 'x' && v.index == 7);
    }
    struct vb_valve v = {77, 'x', 7};
    ck_assert_int_eq(vb_valve_parse("1I\0", 3, &v), VB_ESYNTAX);
    ck_assert_int_eq(v.cyl, 77);
}
END_TEST

START_TEST(parts_of_a_name)
{
    static const struct {
        const char *text;
        struct vb_valve v;
    } t[] = {{"3", {3, 0, 0}},    {"cyl 3", {3, 0, 0}}, {"inlet", {0, 'I', 0}},
             {"EX", {0, 'E', 0}}, {"E2", {0, 'E', 2}},  {"ex valve 1", {0, 'E', 1}},
             {"3E", {3, 'E', 0}}, {"3E2", {3, 'E', 2}}, {"E cyl 2", {2, 'E', 0}},
             {"12", {12, 0, 0}}};
    for (int i = 0; i < COUNT(t); i++) {
        struct vb_valve v;
        ck_assert_msg(!vb_valve_part(t[i].text, strlen(t[i].text), &v), "'%s'",
                      t[i].text);
        ck_assert_msg(v.cyl == t[i].v.cyl && v.side == t[i].v.side &&
                          v.index == t[i].v.index,
                      "'%s': %d %d %d", t[i].text, v.cyl, v.side, v.index);
    }
    static const char *const bad[] = {"",    "0",   "x",  "100", "E10",
                                      "1 2", "cyl", "E0", "IE"};
    for (int i = 0; i < COUNT(bad); i++) {
        struct vb_valve v = {77, 'x', 7};
        ck_assert_msg(vb_valve_part(bad[i], strlen(bad[i]), &v) == VB_ESYNTAX, "'%s'",
                      bad[i]);
        ck_assert_int_eq(v.cyl, 77);
    }
}
END_TEST

/* Every name there can be is read back as it was written. */
START_TEST(a_name_reads_back)
{
    char out[VB_VALVE_MAX];
    for (int cyl = 1; cyl <= 99; cyl++)
        for (int side = 0; side < 2; side++)
            for (int index = 0; index <= 9; index++) {
                struct vb_valve v, w = {cyl, side ? 'E' : 'I', index};
                size_t n = vb_valve_format(w, out);
                if (vb_valve_parse(out, n, &v) || v.cyl != cyl || v.side != w.side ||
                    v.index != index)
                    ck_abort_msg("%s", out);
            }
}
END_TEST

START_TEST(sides)
{
    static const char *const in[] = {"I",      "in",  "IN.", "inl",  "Inlet",
                                     "intake", " i ", "int", "\tin", "in\t"};
    static const char *const ex[] = {"E", "ex", "Ex.", "exh", "EXHAUST", "e "};
    static const char *const no[] = {"",     "A",   "inn",   "1I",
                                     "both", "cyl", "valve", "in ex"};
    for (int i = 0; i < COUNT(in); i++)
        ck_assert_msg(vb_side_parse(in[i], strlen(in[i])) == 'I', "'%s'", in[i]);
    for (int i = 0; i < COUNT(ex); i++)
        ck_assert_msg(vb_side_parse(ex[i], strlen(ex[i])) == 'E', "'%s'", ex[i]);
    for (int i = 0; i < COUNT(no); i++)
        ck_assert_msg(vb_side_parse(no[i], strlen(no[i])) == 0, "'%s'", no[i]);
}
END_TEST

START_TEST(places)
{
    static const struct {
        const char *quantity, *text, *at;
    } t[] = {{"lash", "cyl 2 inlet", "2I"},
             {"compression", "cyl 3", "3"},
             {"leakdown", "12", "12"},
             {"sprocket_step", "A-I", "A-I"},
             {"compression", "3E", NULL},
             {"compression", "E", NULL},
             {"compression", "0", NULL},
             {"lash", "2", NULL},
             {"lash", "", NULL},
             {"sprocket_step", "", NULL},
             {"sprocket_step", "a b", NULL},
             {"sprocket_step", "abcdefghijklm", NULL}};
    for (int i = 0; i < COUNT(t); i++) {
        char out[VB_AT_MAX] = "untouched";
        const struct vb_quantity *q =
            vb_quantity_find(t[i].quantity, strlen(t[i].quantity));
        ck_assert_ptr_nonnull(q);
        enum vb_err e = vb_quantity_at(q, t[i].text, strlen(t[i].text), out);
        ck_assert_msg(e == (t[i].at ? VB_OK : VB_ESYNTAX), "'%s'", t[i].text);
        if (t[i].at)
            ck_assert_str_eq(out, t[i].at);
    }
    ck_assert(!vb_quantity_find("las", 3));
    ck_assert(!vb_quantity_find("lashes", 6));
    ck_assert(!vb_quantity_find("Lash", 4));
}
END_TEST

/* --- angles --------------------------------------------------------------------------
 */

static double
angle(const char *s, char side)
{
    struct vb_dec d = {0, 0};
    ck_assert_msg(!vb_angle_parse(s, strlen(s), '.', side, 0, &d), "'%s'", s);
    return vb_dec_double(d);
}

/*
 * Published cam cases (crank degrees): WAEC examination report Auto220Mq2, which prints
 * an exhaust duration of 223 and an overlap of 11; the SI textbook case; TM 9-8000
 * figs. 2-54 and 2-55, which print an inlet duration of 279 and an overlap of 73.
 */
START_TEST(published_cams)
{
    double io = angle("6 BTDC", 'I'), ic = angle("35 ABDC", 'I');
    double eo = angle("38 BBDC", 'E'), ec = angle("5 ATDC", 'E');
    ck_assert(io == -6 && ic == 215 && eo == -218 && ec == 5);
    ck_assert(ic - io == 221 && ec - eo == 223 && ec - io == 11);
    ck_assert((io + ic) / 2 == 104.5 && (eo + ec) / 2 == -106.5);

    io = angle("20 BTDC", 'I'), ic = angle("35 ABDC", 'I');
    eo = angle("35 BBDC", 'E'), ec = angle("10 ATDC", 'E');
    ck_assert(ic - io == 235 && ec - eo == 225 && ec - io == 30);
    ck_assert((io + ic) / 2 == 97.5 && (eo + ec) / 2 == -102.5);

    io = angle("28 BTDC", 'I'), ec = angle("45 ATDC", 'E');
    ck_assert(ec - io == 73);
    ck_assert(io + 279 - 180 == 71); // what the duration leaves for closing, ABDC
    ck_assert(angle("71 ABDC", 'I') - io == 279);
}
END_TEST

/* A number alone counts from where its column says; a cell that says it itself does not. */
START_TEST(a_column_has_a_dead_centre)
{
    struct vb_centre c = {0}, no = {.unclear = 1};
    struct vb_dec d = {7, 0};
    ck_assert_int_eq(vb_centre_parse("deg ABDC", 8, &c), VB_OK);
    ck_assert(c.sign == 1 && c.bottom == 1 && c.cam == 0);
    ck_assert_int_eq(vb_angle_parse_from("45", 2, '.', 'I', 0, &c, &d), VB_OK);
    ck_assert(vb_dec_double(d) == 225);
    ck_assert_int_eq(vb_angle_parse_from("12 BTDC", 7, '.', 'I', 0, &c, &d), VB_OK);
    ck_assert(vb_dec_double(d) == -12);
    ck_assert_int_eq(vb_angle_parse_from("45", 2, '.', 0, 0, &c, &d), VB_EUNKNOWN);
    ck_assert_int_eq(vb_centre_parse("cam deg btdc", 12, &c), VB_OK);
    ck_assert(c.sign == -1 && c.bottom == 0 && c.cam == 1);
    ck_assert_int_eq(vb_angle_parse_from("-6", 2, '.', 0, 0, &c, &d), VB_OK);
    ck_assert(vb_dec_double(d) == 12);
    c.no_minus = 1;
    ck_assert_int_eq(vb_angle_parse_from("-6", 2, '.', 0, 0, &c, &d), VB_EDOM);
    ck_assert_int_eq(vb_angle_parse_from("6", 1, '.', 0, 0, &no, &d), VB_EDOM);
    ck_assert(vb_dec_double(d) == 12);
    ck_assert_int_eq(vb_centre_parse("deg", 3, &c), VB_ESYNTAX);
    ck_assert_int_eq(vb_centre_parse("12 BTDC", 7, &c), VB_ESYNTAX);
    ck_assert_int_eq(vb_centre_parse("", 0, &c), VB_ESYNTAX);
}
END_TEST

static const struct {
    const char *text;
    char mark, side;
    int cam;
    int64_t tenths;
} angles[] = {
    {"12", '.', 0, 0, 120},
    {"-12.5", '.', 0, 0, -125},
    {"-12,5", ',', 0, 0, -125},
    {"12 BTDC", '.', 0, 0, -120},
    {"12 btdc", '.', 0, 0, -120},
    {"12BTDC", '.', 0, 0, -120},
    {"12\xc2\xb0 BTDC", '.', 0, 0, -120},
    {"12 deg BTDC", '.', 0, 0, -120},
    {"12 deg. B.T.D.C.", '.', 0, 0, -120},
    {"12 before TDC", '.', 0, 0, -120},
    {"12\tbefore\tTDC", '.', 0, 0, -120},
    {"12 degrees before top dead centre", '.', 0, 0, -120},
    {"12 BTC", '.', 0, 0, -120},
    {"8 atdc", '.', 'E', 0, 80},
    {"8 ATC", '.', 'E', 0, 80},
    {"0 ATDC", '.', 0, 0, 0},
    {"45\xc2\xb0 ABDC", '.', 'I', 0, 2250},
    {"45 ABC", '.', 'I', 0, 2250},
    {"45 after BDC", '.', 'I', 0, 2250},
    {"45 ABDC", '.', 'E', 0, -1350},
    {"50 BBDC", '.', 'E', 0, -2300},
    {"50 BBC", '.', 'E', 0, -2300},
    {"50 BBDC", '.', 'I', 0, 1300},
    {"12,5 BTDC", ',', 0, 0, -125},
    {"6", '.', 0, 1, 120},
    {"6 cam deg", '.', 0, 0, 120},
    {"6 cam deg BTDC", '.', 0, 0, -120},
    {"22.5 ABDC", '.', 'I', 1, 2250}, // the number is doubled, the dead centre is not
    {"-4 BTDC", '.', 0, 0, 40},       // as late cams are written
    {"360", '.', 0, 0, 3600},
    {"-360", '.', 0, 0, -3600},
    {"180 ABDC", '.', 'I', 0, 3600},
};

START_TEST(an_angle_is_read)
{
    struct vb_dec d = {0, 0};
    const char *s = angles[_i].text;
    enum vb_err e = vb_angle_parse(s, strlen(s), angles[_i].mark, angles[_i].side,
                                   angles[_i].cam, &d);
    ck_assert_msg(!e, "'%s': %d", s, (int)e);
    ck_assert_msg(vb_dec_double(d) * 10 == (double)angles[_i].tenths, "'%s': %g", s,
                  vb_dec_double(d));
}
END_TEST

START_TEST(no_angle)
{
    static const struct {
        const char *text;
        char side;
        enum vb_err err;
    } t[] = {
        {"", 'I', VB_ESYNTAX},
        {"BTDC", 'I', VB_ESYNTAX},
        {"12 XTDC", 'I', VB_ESYNTAX},
        {"12 BTDC 3", 'I', VB_ESYNTAX},
        {"12 mm", 'I', VB_ESYNTAX},
        {"12 C", 'I', VB_ESYNTAX},
        {"1O BTDC", 'I', VB_ESYNTAX},
        {"12 BTDC}", 'I', VB_ESYNTAX},
        {"12 BTDCBTDCBTDCBTDCBTDCBTDCBTDCBTDCBTDC", 'I', VB_ESYNTAX},
        {"12 deg deg", 'I', VB_ESYNTAX},
        {"50 BBDC", 0, VB_EUNKNOWN},
        {"45 ABDC", 0, VB_EUNKNOWN},
        {"361", 'I', VB_ERANGE},
        {"-360.1", 'I', VB_ERANGE},
        {"181 ABDC", 'I', VB_ERANGE},
        {"181 BBDC", 'E', VB_ERANGE},
        {"123456789012345678", 'I', VB_ERANGE},
    };
    for (int i = 0; i < COUNT(t); i++) {
        struct vb_dec d = {77, 7};
        enum vb_err e =
            vb_angle_parse(t[i].text, strlen(t[i].text), '.', t[i].side, 0, &d);
        ck_assert_msg(e == t[i].err, "'%s': %d", t[i].text, (int)e);
        ck_assert(d.mant == 77 && d.scale == 7);
    }
    struct vb_dec d = {77, 7};
    ck_assert_int_eq(vb_angle_parse("181", 3, '.', 'I', 1, &d), VB_ERANGE);
    ck_assert_int_eq(vb_angle_parse("99999999999999999", 17, '.', 'I', 1, &d), VB_ERANGE);
    ck_assert_int_eq(vb_angle_parse("12\0", 3, '.', 'I', 0, &d), VB_ESYNTAX);
    ck_assert(d.mant == 77);
}
END_TEST

/* A cell of blanks costs time in proportion to its length, not to the square of it. */
START_TEST(a_long_angle_is_refused_quickly)
{
    enum { LONG = 65536 };
    char *s = malloc(LONG);
    ck_assert_ptr_nonnull(s);
    memset(s, ' ', LONG);
    s[0] = '1';
    s[LONG - 1] = 'x';
    struct vb_dec d;
    clock_t start = clock();
    ck_assert_int_eq(vb_angle_parse(s, LONG, '.', 'I', 0, &d), VB_ESYNTAX);
    ck_assert_double_lt((double)(clock() - start) / CLOCKS_PER_SEC, 0.2);
    free(s);
}
END_TEST

/* Every pair of a list in order, both ways. */
START_TEST(valves_have_an_order)
{
    const struct vb_valve v[] = {
        {1, 'I', 1}, {1, 'I', 2}, {1, 'E', 1}, {2, 'I', 0}, {10, 'E', 0}};
    for (int i = 0; i < 5; i++)
        for (int k = 0; k < 5; k++) {
            int order = vb_valve_order(v[i], v[k]);
            ck_assert_int_eq((order > 0) - (order < 0), (i > k) - (i < k));
        }
}
END_TEST

static Suite *
valve_suite(void)
{
    Suite *s = suite_create("valve");
    TCase *t = tcase_create("names");
    tcase_add_loop_test(t, a_valve_has_many_spellings, 0, COUNT(names));
    tcase_add_test(t, valves_have_an_order);
    tcase_add_test(t, no_valve);
    tcase_add_test(t, parts_of_a_name);
    tcase_add_test(t, a_name_reads_back);
    tcase_add_test(t, sides);
    tcase_add_test(t, places);
    suite_add_tcase(s, t);

    t = tcase_create("angles");
    tcase_add_test(t, published_cams);
    tcase_add_test(t, a_column_has_a_dead_centre);
    tcase_add_loop_test(t, an_angle_is_read, 0, COUNT(angles));
    tcase_add_test(t, no_angle);
    tcase_add_test(t, a_long_angle_is_refused_quickly);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(valve_suite());
}
