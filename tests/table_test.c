/* Numbers of a table for programs: six decimals, no zeros behind, no exponent. */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "suite.h"
#include "valvebook/table.h"

static const struct vb_field field[] = {{"x", "x", 1, 2}};

/* The cell that x becomes, without its heading and end of line. */
static void
cell(double x, enum vb_format format, char *out, size_t size)
{
    struct vb_out *o;
    struct vb_table *t;
    char *s;
    size_t n;
    ck_assert_int_eq(vb_out_memory(&o), VB_OK);
    ck_assert_int_eq(vb_table_new(o, format, field, 1, &t), VB_OK);
    vb_table_number(t, x);
    ck_assert_int_eq(vb_table_part(t, ""), VB_OK);
    ck_assert_int_eq(vb_out_take(o, &s, &n), VB_OK);
    ck_assert_uint_ge(n, 3);
    ck_assert_uint_lt(n - 2, size);
    ck_assert_int_eq(memcmp(s, "x\n", 2), 0);
    snprintf(out, size, "%.*s", (int)(n - 3), s + 2);
    free(s);
}

START_TEST(by_hand)
{
    static const struct {
        double x;
        const char *want;
    } c[] = {
        {0, "0"},
        {-0.0, "0"},
        {-4e-7, "0"},
        {5e-7, "0.000001"},
        {-5e-7, "-0.000001"},
        {0.25, "0.25"},
        {-12.5, "-12.5"},
        {1000, "1000"},
        {0.1 + 0.2, "0.3"},
        {123456.654321, "123456.654321"},
        {999999999.999999, "999999999.999999"},
        {1e9, "1000000000"},
        {1234567890.125, "1234567890.125"},
        {1234567890.1234567, "1234567890.123457"},
        {99999999999.5, "99999999999.5"},
        {1e15, "1000000000000000"},
        {-1e17, "-100000000000000000"},
        {1e300, "1e+300"},
        {NAN, ""},
        {INFINITY, ""},
    };
    char got[400];
    for (size_t i = 0; i < sizeof c / sizeof *c; i++) {
        cell(c[i].x, VB_FORMAT_CSV, got, sizeof got);
        ck_assert_str_eq(got, c[i].want);
    }
}
END_TEST

/* printf with 15 digits of the value rounded to six decimals. */
START_TEST(as_printf)
{
    char got[400], want[64];
    srand(42);
    for (int i = 0; i < 20000; i++) {
        double size = pow(10, -5 + 14 * (rand() / (RAND_MAX + 1.0)));
        double x = size * (2 * (rand() / (RAND_MAX + 1.0)) - 1);
        double six = round(x * 1e6) / 1e6;
        snprintf(want, sizeof want, "%.15g", six);
        if (strchr(want, 'e')) {
            snprintf(want, sizeof want, "%.6f", six);
            for (size_t n = strlen(want);
                 n > 0 && strchr(".0", want[n - 1]) && strchr(want, '.'); n--)
                want[n - 1] = 0;
        }
        if (six == 0)
            snprintf(want, sizeof want, "0");
        cell(x, VB_FORMAT_CSV, got, sizeof got);
        ck_assert_msg(strcmp(got, want) == 0, "%.17g: %s, by printf %s", x, got, want);
    }
}
END_TEST

static const struct vb_field pair_field[] = {
    {"a", "a", 0, 0}, {"x", "x", 1, 2}, {"u", "u", 1, 2}, {"n", "n", 1, 1}};

static char *
pairs(enum vb_format format)
{
    static const double x[][2] = {
        {5.8412, 0.342}, {-0.0031, 0.0002}, {-1e-17, 0}, {NAN, NAN}, {12, NAN}};
    struct vb_out *o;
    struct vb_table *t;
    char *s;
    size_t n;
    ck_assert_int_eq(vb_out_memory(&o), VB_OK);
    ck_assert_int_eq(vb_table_new(o, format, pair_field, 4, &t), VB_OK);
    for (size_t i = 0; i < sizeof x / sizeof *x; i++) {
        vb_table_text(t, "A");
        vb_table_pair(t, x[i][0], x[i][1]);
        vb_table_number(t, 0.25);
    }
    ck_assert_int_eq(vb_table_part(t, ""), VB_OK);
    ck_assert_int_eq(vb_out_take(o, &s, &n), VB_OK);
    return s;
}

/* Of 0.0002 two digits are 0.00020: five decimals for both columns, and for them alone. */
START_TEST(a_column_has_one_number_of_decimals)
{
    char *s = pairs(VB_FORMAT_TABLE);
    ck_assert_str_eq(s, "a         x        u    n\n"
                        "A   5.84120  0.34200  0.2\n"
                        "A  -0.00310  0.00020  0.2\n"
                        "A   0.00000  0.00000  0.2\n"
                        "A                     0.2\n"
                        "A  12.00000           0.2\n");
    free(s);
}
END_TEST

START_TEST(programs_get_what_they_got)
{
    char *s = pairs(VB_FORMAT_CSV);
    ck_assert_str_eq(s, "a,x,u,n\nA,5.8412,0.342,0.25\nA,-0.0031,0.0002,0.25\n"
                        "A,0,0,0.25\nA,,,0.25\nA,12,,0.25\n");
    free(s);
}
END_TEST

/* 0.00000064 has one digit in six decimals; two it has in eight. So has its figure; others have
 * six, and so has what is no uncertainty at all. */
START_TEST(programs_get_two_digits_as_well)
{
    static const double x[][2] = {
        {-0.00003184123, 0.00000064}, {0.25, 0.0000123456}, {1e-8, 1e-17}, {1e-8, NAN},
        {123456789.123, 2e-8},        {1e15, 2e-8},         {NAN, 2e-8}};
    struct vb_out *o;
    struct vb_table *t;
    char *s;
    size_t n;
    ck_assert_int_eq(vb_out_memory(&o), VB_OK);
    ck_assert_int_eq(vb_table_new(o, VB_FORMAT_CSV, pair_field + 1, 2, &t), VB_OK);
    for (size_t i = 0; i < sizeof x / sizeof *x; i++)
        vb_table_pair(t, x[i][0], x[i][1]);
    ck_assert_int_eq(vb_table_part(t, ""), VB_OK);
    ck_assert_int_eq(vb_out_take(o, &s, &n), VB_OK);
    ck_assert_str_eq(s, "x,u\n-0.00003184,0.00000064\n0.25,0.000012\n0,0\n0,\n"
                        "123456789.123,0.00000002\n1000000000000000,0.00000002\n"
                        ",0.00000002\n");
    free(s);
}
END_TEST

/* As many as the neediest row wants, where that is not the first, or not the last. */
START_TEST(figures_with_bounds)
{
    static const struct vb_field three[] = {
        {"x", "x", 1, 0}, {"lo", "lo", 1, 0}, {"hi", "hi", 1, 0}};
    struct vb_out *o;
    struct vb_table *t;
    char *s;
    size_t n;
    ck_assert_int_eq(vb_out_memory(&o), VB_OK);
    ck_assert_int_eq(vb_table_new(o, VB_FORMAT_TABLE, three, 3, &t), VB_OK);
    vb_table_figures(t, (const double[]){1234, 900, 1800}, 3, 334);
    vb_table_figures(t, (const double[]){0.4, 0.1, 12}, 3, 0.3);
    vb_table_figures(t, (const double[]){7, 3, 20}, 3, 4);
    ck_assert_int_eq(vb_table_part(t, ""), VB_OK);
    ck_assert_int_eq(vb_out_take(o, &s, &n), VB_OK);
    ck_assert_str_eq(s, "      x      lo       hi\n"
                        "1234.00  900.00  1800.00\n"
                        "   0.40    0.10    12.00\n"
                        "   7.00    3.00    20.00\n");
    free(s);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("table");
    TCase *t = tcase_create("numbers");
    tcase_add_test(t, by_hand);
    tcase_add_test(t, as_printf);
    tcase_add_test(t, a_column_has_one_number_of_decimals);
    tcase_add_test(t, programs_get_what_they_got);
    tcase_add_test(t, programs_get_two_digits_as_well);
    tcase_add_test(t, figures_with_bounds);
    suite_add_tcase(s, t);
    return run_suite(s);
}
