#include "suite.h"
#include "valvebook/number.h"

#include <float.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#define COUNT(a) (int)(sizeof(a) / sizeof *(a))

static void
dec_is(struct vb_dec got, int64_t mant, int scale, const char *what)
{
    ck_assert_msg(got.mant == mant && got.scale == scale, "'%s': got %lld e-%d", what,
                  (long long)got.mant, got.scale);
}

/* --- reading ----------------------------------------------------------------------- */

static const struct good {
    const char *text;
    char mark, group;
    int64_t mant;
    int scale;
} good[] = {
    {"0", '.', 0, 0, 0},
    {"12", '.', 0, 12, 0},
    {"0.28", '.', 0, 28, 2},
    {"0.280", '.', 0, 280, 3}, // the zero says how finely it was read
    {".004", '.', 0, 4, 3},
    {"4.", '.', 0, 4, 0},
    {"-0.10", '.', 0, -10, 2},
    {"+.004", '.', 0, 4, 3},
    {"-0", '.', 0, 0, 0},
    {" \t0.15\t ", '.', 0, 15, 2},
    {"0,10", ',', 0, 10, 2},
    {",5", ',', 0, 5, 1},
    {"-0,10", ',', 0, -10, 2},
    {"007", '.', 0, 7, 0},
    {"1e-2", '.', 0, 1, 2},
    {"1.5E+3", '.', 0, 15, -2},
    {"2,5e1", ',', 0, 25, 0},
    {"0e99", '.', 0, 0, 0},
    {"0e-2", '.', 0, 0, 2},
    {"0e-19", '.', 0, 0, 0},
    {"1e18", '.', 0, 1, -18},
    {"1e-18", '.', 0, 1, 18},
    {"12345678901234567", '.', 0, INT64_C(12345678901234567), 0},
    {"-99999999999999999", '.', 0, INT64_C(-99999999999999999), 0},
    {"0.12345678901234567", '.', 0, INT64_C(12345678901234567), 17},
    {"1234567890123456.7", '.', 0, INT64_C(12345678901234567), 1},
    {"000000000000000000000042", '.', 0, 42, 0}, // leading zeros are no digits
    {"0.000000000000000001", '.', 0, 1, 18},
    {"1,234", '.', ',', 1234, 0},
    {"1,234,567.25", '.', ',', 123456725, 2},
    {"12.345,6", ',', '.', 123456, 1},
    {"123'456", '.', '\'', 123456, 0},
    {"1 234", '.', ' ', 1234, 0},
    {"-1.234", ',', '.', -1234, 0},
    {"1234", '.', ',', 1234, 0}, // groups are allowed, not demanded
    {"0.123", '.', ',', 123, 3},
};

START_TEST(a_number_is_read_as_written)
{
    const struct good *g = &good[_i];
    struct vb_dec d = {77, 7};
    size_t n = strlen(g->text), used = 0;
    ck_assert_msg(!vb_dec_parse(g->text, n, g->mark, g->group, &d), "'%s'", g->text);
    dec_is(d, g->mant, g->scale, g->text);

    // What stands behind it is left alone, and counted.
    char more[64];
    snprintf(more, sizeof more, "%smm", g->text);
    ck_assert_int_eq(vb_dec_parse(more, n + 2, g->mark, g->group, &d), VB_ESYNTAX);
    dec_is(d, g->mant, g->scale, "untouched");
    ck_assert_int_eq(vb_dec_prefix(more, n + 2, g->mark, g->group, &d, &used), VB_OK);
    dec_is(d, g->mant, g->scale, more);
    while (n > 0 && strchr(" \t", g->text[n - 1]))
        n--;
    ck_assert_uint_eq(used, n);
}
END_TEST

static const struct wrong {
    const char *text;
    char mark, group;
    enum vb_err err;
} wrong[] = {
    {"", '.', 0, VB_ESYNTAX},
    {" ", '.', 0, VB_ESYNTAX},
    {"+", '.', 0, VB_ESYNTAX},
    {"-", '.', 0, VB_ESYNTAX},
    {".", '.', 0, VB_ESYNTAX},
    {"-.", '.', 0, VB_ESYNTAX},
    {"+-1", '.', 0, VB_ESYNTAX},
    {"- 1", '.', 0, VB_ESYNTAX},
    {"1e", '.', 0, VB_ESYNTAX},
    {"1e+", '.', 0, VB_ESYNTAX},
    {"e5", '.', 0, VB_ESYNTAX},
    {"1e5.0", '.', 0, VB_ESYNTAX},
    {"0x10", '.', 0, VB_ESYNTAX},
    {"nan", '.', 0, VB_ESYNTAX},
    {"inf", '.', 0, VB_ESYNTAX},
    {"1.2.3", '.', 0, VB_ESYNTAX},
    {"1..2", '.', 0, VB_ESYNTAX},
    {"0,1O", ',', 0, VB_ESYNTAX}, // a letter O
    {"0,1", '.', 0, VB_ESYNTAX},
    {"0.1", ',', 0, VB_ESYNTAX},
    {"1 2", '.', 0, VB_ESYNTAX},
    {"0.1\n", '.', 0, VB_ESYNTAX},
    {"\xc2\xbd", '.', 0, VB_ESYNTAX}, // one half, as a sign
    {"0.1\xef\xbf\xbd", '.', 0, VB_ESYNTAX},
    {"1,23", '.', ',', VB_ESYNTAX},
    {"1,2345", '.', ',', VB_ESYNTAX},
    {"1,23,456", '.', ',', VB_ESYNTAX},
    {"1234,567", '.', ',', VB_ESYNTAX},
    {"1,,234", '.', ',', VB_ESYNTAX},
    {",234", '.', ',', VB_ESYNTAX},
    {"1,234,", '.', ',', VB_ESYNTAX},
    {"1,234,56", '.', ',', VB_ESYNTAX},
    {"1,23.4", '.', ',', VB_ESYNTAX},
    {"123456789012345678", '.', 0, VB_ERANGE},
    {"0.123456789012345678", '.', 0, VB_ERANGE},
    {"1234567890123456.78", '.', 0, VB_ERANGE},
    {"0.0000000000000000001", '.', 0, VB_ERANGE},
    {"1e19", '.', 0, VB_ERANGE},
    {"1e-19", '.', 0, VB_ERANGE},
    {"0.1e-18", '.', 0, VB_ERANGE},
    {"1e999999999999", '.', 0, VB_ERANGE},
};

START_TEST(a_wrong_number_is_refused)
{
    const struct wrong *w = &wrong[_i];
    struct vb_dec d = {77, 7};
    enum vb_err e = vb_dec_parse(w->text, strlen(w->text), w->mark, w->group, &d);
    ck_assert_msg(e == w->err, "'%s': %d", w->text, (int)e);
    dec_is(d, 77, 7, "untouched");
}
END_TEST

START_TEST(a_nul_byte_is_no_part_of_a_number)
{
    struct vb_dec d = {77, 7};
    ck_assert_int_eq(vb_dec_parse("0.1\0", 4, '.', 0, &d), VB_ESYNTAX);
    ck_assert_int_eq(vb_dec_parse("\0", 1, '.', 0, &d), VB_ESYNTAX);
    dec_is(d, 77, 7, "untouched");
}
END_TEST

START_TEST(a_prefix_ends_where_the_number_does)
{
    static const struct {
        const char *text;
        size_t used;
        int64_t mant;
        int scale;
    } t[] = {{"4 thou", 1, 4, 0},    {" 0.10 mm", 5, 10, 2}, {"12BTDC", 2, 12, 0},
             {"1e", 1, 1, 0},        {"1e-", 1, 1, 0},       {"0.5in", 3, 5, 1},
             {"1.2.3", 3, 12, 1},    {".004\"", 4, 4, 3},    {"2exhaust", 1, 2, 0},
             {"2e1xhaust", 3, 2, -1}};
    for (int i = 0; i < COUNT(t); i++) {
        struct vb_dec d;
        size_t used = 99;
        ck_assert_int_eq(vb_dec_prefix(t[i].text, strlen(t[i].text), '.', 0, &d, &used),
                         VB_OK);
        ck_assert_msg(used == t[i].used, "'%s' used %zu", t[i].text, used);
        dec_is(d, t[i].mant, t[i].scale, t[i].text);
    }
}
END_TEST

/* --- writing ----------------------------------------------------------------------- */

START_TEST(a_decimal_is_written_plainly)
{
    static const struct {
        struct vb_dec d;
        const char *text;
    } t[] = {
        {{0, 0}, "0"},
        {{0, 5}, "0"},
        {{1016, 4}, "0.1016"},
        {{-1016, 4}, "-0.1016"},
        {{280, 3}, "0.28"},
        {{10, -18}, "10000000000000000000"},
        {{1500, 3}, "1.5"},
        {{2000, 3}, "2"},
        {{12, -3}, "12000"},
        {{1, 18}, "0.000000000000000001"},
        {{1, -18}, "1000000000000000000"},
        {{INT64_C(999999999999999999), 18}, "0.999999999999999999"},
        {{INT64_C(-999999999999999999), 0}, "-999999999999999999"},
        {{INT64_C(999999999999999999), -12}, "999999999999999999000000000000"},
        // 36 digits do not fit into VB_NUM_MAX
        {{INT64_C(999999999999999999), -18}, "999999999999999999e18"},
    };
    char out[VB_NUM_MAX];
    for (int i = 0; i < COUNT(t); i++) {
        size_t n = vb_dec_format(t[i].d, out);
        ck_assert_str_eq(out, t[i].text);
        ck_assert_uint_eq(n, strlen(out));
    }
}
END_TEST

static unsigned long long lcg = 20240611;

/* Knuth's MMIX generator. */
static uint64_t
bits(void)
{
    lcg = lcg * 6364136223846793005ULL + 1442695040888963407ULL;
    uint64_t high = lcg >> 32;
    lcg = lcg * 6364136223846793005ULL + 1442695040888963407ULL;
    return high << 32 | lcg >> 32;
}

/* Written and read back it is the same number: equal mantissas once the scales are. */
START_TEST(what_is_written_reads_back)
{
    char out[VB_NUM_MAX], mark;
    for (int i = 0; i < 5000; i++) {
        int digits = 1 + (int)(bits() % 17), scale = (int)(bits() % 31) - 12;
        int64_t m = (int64_t)(bits() % (uint64_t)pow(10, digits));
        struct vb_dec d = {bits() & 1 ? m : -m, scale}, back;
        size_t n = vb_dec_format(d, out);
        ck_assert_uint_lt(n, VB_NUM_MAX);
        ck_assert_msg(strtod(out, NULL) == vb_dec_double(d), "%s", out);
        // strtod rounds from the text itself: the mark is no part of the agreement
        mark = ',';
        char *point = strchr(out, '.');
        if (point)
            *point = mark;
        enum vb_err e = vb_dec_parse(out, n, mark, 0, &back);
        if (e == VB_ERANGE && scale < 0)
            continue; // 18 digits and more once the zeros are written
        ck_assert_msg(!e, "'%s'", out);
        struct vb_dec minus = {-back.mant, back.scale}, sum = {1, 0};
        ck_assert_int_eq(vb_dec_add(d, minus, &sum), VB_OK);
        ck_assert_msg(sum.mant == 0, "%s", out);
    }
}
END_TEST

/* Against the C library: the nearest double of the same text. */
START_TEST(nearest_double)
{
    char text[48];
    for (int i = 0; i < 20000; i++) {
        int digits = 1 + (int)(bits() % 17), scale = (int)(bits() % 37) - 18;
        int64_t m = (int64_t)(bits() % (uint64_t)pow(10, digits));
        struct vb_dec d = {bits() & 1 ? m : -m, scale};
        snprintf(text, sizeof text, "%llde%d", (long long)d.mant, -scale);
        double got = vb_dec_double(d);
        if (got != strtod(text, NULL))
            ck_abort_msg("%s: %.17g", text, got);
    }
    ck_assert(vb_dec_double((struct vb_dec){1016, 4}) == 0.1016);
    ck_assert(vb_dec_double((struct vb_dec){-5, -2}) == -500);
}
END_TEST

START_TEST(half_of_the_last_digit)
{
    ck_assert(vb_dec_half((struct vb_dec){28, 2}) == 0.005);
    ck_assert(vb_dec_half((struct vb_dec){280, 3}) == 0.0005);
    ck_assert(vb_dec_half((struct vb_dec){7, 0}) == 0.5);
    ck_assert(vb_dec_half((struct vb_dec){7, -2}) == 50);
}
END_TEST

/* --- sums and products ---------------------------------------------------------------
 */

START_TEST(products_and_sums_are_exact)
{
    const int64_t big = INT64_C(999999999999999999);
    struct vb_dec d = {77, 7};
    // 0.004 in = 0.1016 mm; the doubles give 0.10159999999999999
    ck_assert_int_eq(vb_dec_mul((struct vb_dec){4, 3}, (struct vb_dec){254, 1}, &d),
                     VB_OK);
    dec_is(d, 1016, 4, "0.004 * 25.4");
    ck_assert_int_eq(vb_dec_mul((struct vb_dec){-3, 1}, (struct vb_dec){0, 9}, &d),
                     VB_OK);
    ck_assert(d.mant == 0);
    ck_assert_int_eq(vb_dec_add((struct vb_dec){1, 1}, (struct vb_dec){2, 1}, &d), VB_OK);
    dec_is(d, 3, 1, "0.1 + 0.2");
    ck_assert_int_eq(vb_dec_add((struct vb_dec){5, 0}, (struct vb_dec){-25, 2}, &d),
                     VB_OK);
    dec_is(d, 475, 2, "5 - 0.25");
    ck_assert_int_eq(vb_dec_add((struct vb_dec){-25, 2}, (struct vb_dec){5, 0}, &d),
                     VB_OK);
    dec_is(d, 475, 2, "-0.25 + 5");
    // Zeros that make too long a product are dropped, digits never.
    ck_assert_int_eq(vb_dec_mul((struct vb_dec){INT64_C(100000000000), 11},
                                (struct vb_dec){big, 9}, &d),
                     VB_OK);
    dec_is(d, big, 9, "1 * big");
    ck_assert_int_eq(vb_dec_mul((struct vb_dec){INT64_C(-500000000000000000), 0},
                                (struct vb_dec){20, 0}, &d),
                     VB_OK);
    dec_is(d, INT64_C(-100000000000000000), -2, "-5e17 * 20");
    d = (struct vb_dec){77, 7};
    ck_assert_int_eq(vb_dec_mul((struct vb_dec){big, 0}, (struct vb_dec){3, 0}, &d),
                     VB_ERANGE);
    ck_assert_int_eq(vb_dec_mul((struct vb_dec){-big, 0}, (struct vb_dec){3, 0}, &d),
                     VB_ERANGE);
    ck_assert_int_eq(vb_dec_mul((struct vb_dec){1, 18}, (struct vb_dec){1, 1}, &d),
                     VB_ERANGE);
    ck_assert_int_eq(vb_dec_mul((struct vb_dec){1, -18}, (struct vb_dec){1, -1}, &d),
                     VB_ERANGE);
    ck_assert_int_eq(vb_dec_add((struct vb_dec){big, 0}, (struct vb_dec){1, 1}, &d),
                     VB_ERANGE);
    ck_assert_int_eq(vb_dec_add((struct vb_dec){1, 18}, (struct vb_dec){1, -18}, &d),
                     VB_ERANGE);
    dec_is(d, 77, 7, "untouched");
    ck_assert_int_eq(vb_dec_add((struct vb_dec){big, 0}, (struct vb_dec){-1, 0}, &d),
                     VB_OK);
    dec_is(d, big - 1, 0, "big - 1");
}
END_TEST

/* On both sides of 10^9 and 10^18; worked out with Python's integers. */
static const struct {
    char op;
    struct vb_dec a, b;
    enum vb_err e;
    struct vb_dec want;
} wide[] = {
    {'*', {3, 0}, {-2000000000, 0}, VB_OK, {-6000000000, 0}},
    {'*', {999999999999999999, 9}, {-1000000000, 0}, VB_OK, {-999999999999999999, 0}},
    {'*', {123456789012345000, 9}, {-200000000000, 4}, VB_OK, {-246913578024690000, 2}},
    {'*', {999999999, 0}, {999999999, 0}, VB_OK, {999999998000000001, 0}},
    {'*', {1000000000, 0}, {999999999, 0}, VB_OK, {999999999000000000, 0}},
    {'*', {1000000001, 0}, {999999999, 1}, VB_OK, {999999999999999999, 1}},
    {'*', {1000000001, 0}, {1000000001, 0}, VB_ERANGE, {0, 0}},
    {'*', {976562500000000000, 18}, {1024, 0}, VB_OK, {100000000000000000, 14}},
    {'*', {-976562500000000000, 18}, {1048576, 3}, VB_OK, {-102400000000000000, 14}},
    {'*',
     {390625000000000000, 10},
     {-256000000000000000, 10},
     VB_OK,
     {-100000000000000000, 2}},
    {'*', {123456789123456789, 17}, {987654321, 2}, VB_ERANGE, {0, 0}},
    {'+', {999999999999999999, 18}, {1, 0}, VB_ERANGE, {0, 0}},
    {'+', {-999999999999999999, 18}, {1, 0}, VB_OK, {1, 18}},
    {'+', {1, 18}, {-1, 0}, VB_OK, {-999999999999999999, 18}},
    {'+', {-1, 18}, {1, 0}, VB_OK, {999999999999999999, 18}},
    {'+', {999999999999999999, 0}, {-1, -18}, VB_OK, {-1, 0}},
    {'+', {-999999999999999999, 0}, {1, -18}, VB_OK, {1, 0}},
    {'+', {-500000000000000000, 18}, {15, 1}, VB_OK, {100000000000000000, 17}},
    {'+', {500000000000000000, 18}, {-15, 1}, VB_OK, {-100000000000000000, 17}},
    {'+', {999999999999999990, 0}, {10, 0}, VB_OK, {100000000000000000, -1}},
    {'+', {-999999999999999990, 0}, {-10, 0}, VB_OK, {-100000000000000000, -1}},
    {'+', {999999999999999990, 0}, {11, 0}, VB_ERANGE, {0, 0}},
    {'+', {-250000000000000000, 18}, {12500, 4}, VB_OK, {100000000000000000, 17}},
};

START_TEST(long_products_and_sums_are_exact)
{
    struct vb_dec d = {0, 0};
    enum vb_err e = wide[_i].op == '*' ? vb_dec_mul(wide[_i].a, wide[_i].b, &d)
                                       : vb_dec_add(wide[_i].a, wide[_i].b, &d);
    ck_assert_int_eq(e, wide[_i].e);
    dec_is(d, wide[_i].want.mant, wide[_i].want.scale, "wide");
}
END_TEST

/* --- doubles -------------------------------------------------------------------------
 */

START_TEST(a_double_is_written_shortly)
{
    static const struct {
        double x;
        const char *text;
    } t[] = {{0, "0"},
             {0.1, "0.1"},
             {0.1016, "0.1016"},
             {-0.25, "-0.25"},
             {1e-5, "0.00001"},
             {100, "100"},
             {1e17, "100000000000000000"},
             {1e22, "1e+22"},
             {NAN, ""},
             {INFINITY, ""},
             {0.1 + 0.2, "0.30000000000000004"},
             {1.0 / 3, "0.3333333333333333"}};
    char out[VB_NUM_MAX];
    for (int i = 0; i < COUNT(t); i++) {
        ck_assert_uint_eq(vb_double_format(t[i].x, out), strlen(t[i].text));
        ck_assert_str_eq(out, t[i].text);
    }
}
END_TEST

static void
same_double(double x)
{
    char out[VB_NUM_MAX];
    double back = 5;
    size_t n = vb_double_format(x, out);
    if (n >= VB_NUM_MAX || strtod(out, NULL) != x)
        ck_abort_msg("%a was written %s", x, out);
    if (vb_double_parse(out, n, &back) || back != x)
        ck_abort_msg("%s reads as %a", out, back);
}

/* Any bits, and numbers of the size that is measured. */
START_TEST(a_double_reads_back)
{
    for (int i = 0; i < 20000; i++) {
        double x;
        uint64_t b = bits();
        memcpy(&x, &b, sizeof x);
        if (isfinite(x) && fabs(x) >= DBL_MIN)
            same_double(x);
        same_double((double)(int64_t)bits() / 9.223372036854775808e18 *
                    pow(10, (int)(bits() % 12) - 6));
    }
    same_double(DBL_MAX);
    same_double(DBL_MIN);
    same_double(-DBL_MAX);
}
END_TEST

START_TEST(what_is_no_double_is_refused)
{
    static const struct {
        const char *text;
        enum vb_err err;
    } t[] = {{"", VB_ESYNTAX},
             {"nan", VB_ESYNTAX},
             {"inf", VB_ESYNTAX},
             {"0x1p3", VB_ESYNTAX},
             {"1,5", VB_ESYNTAX},
             {"1 2", VB_ESYNTAX},
             {"1e400", VB_ERANGE},
             {"-1e400", VB_ERANGE},
             {"123456789012345678x", VB_ERANGE},
             {"0.1234567890123456789012345678901234567890123456789012345678901234",
              VB_ERANGE}};
    double x = 5;
    for (int i = 0; i < COUNT(t); i++) {
        enum vb_err e = vb_double_parse(t[i].text, strlen(t[i].text), &x);
        ck_assert_msg(e == t[i].err, "'%s': %d", t[i].text, (int)e);
    }
    ck_assert(x == 5);
    ck_assert_int_eq(vb_double_parse(" 2.5 ", 5, &x), VB_OK);
    ck_assert(x == 2.5);
    ck_assert_int_eq(vb_double_parse("123456789012345678901", 21, &x), VB_OK);
    ck_assert(x == 123456789012345678901.0);
}
END_TEST

static Suite *
number_suite(void)
{
    Suite *s = suite_create("number");
    TCase *t = tcase_create("reading");
    tcase_add_loop_test(t, a_number_is_read_as_written, 0, COUNT(good));
    tcase_add_loop_test(t, a_wrong_number_is_refused, 0, COUNT(wrong));
    tcase_add_test(t, a_nul_byte_is_no_part_of_a_number);
    tcase_add_test(t, a_prefix_ends_where_the_number_does);
    suite_add_tcase(s, t);

    t = tcase_create("writing");
    tcase_add_test(t, a_decimal_is_written_plainly);
    tcase_add_test(t, what_is_written_reads_back);
    tcase_add_test(t, nearest_double);
    tcase_add_test(t, half_of_the_last_digit);
    suite_add_tcase(s, t);

    t = tcase_create("sums");
    tcase_add_test(t, products_and_sums_are_exact);
    tcase_add_loop_test(t, long_products_and_sums_are_exact, 0,
                        (int)(sizeof wide / sizeof *wide));
    suite_add_tcase(s, t);

    t = tcase_create("doubles");
    tcase_add_test(t, a_double_is_written_shortly);
    tcase_add_test(t, a_double_reads_back);
    tcase_add_test(t, what_is_no_double_is_refused);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(number_suite());
}
