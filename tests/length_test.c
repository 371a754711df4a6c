/* Lengths as a person is shown them: 1 in = 25.4 mm (NIST SP 811, B.8). By hand. */
#include "suite.h"
#include "valvebook/length.h"

#include <check.h>
#include <math.h>
#include <stdio.h>

static char text[VB_LENGTH_TEXT];

#define SHOWN(unit, mm, want)                                                            \
    ck_assert_str_eq(vb_length_print(VB_LENGTH_##unit, mm, text), want)

START_TEST(names)
{
    enum vb_length l = VB_LENGTH_MM;
    ck_assert(vb_length_parse("thou", &l) && l == VB_LENGTH_THOU);
    ck_assert(vb_length_parse("in", &l) && l == VB_LENGTH_IN);
    ck_assert(vb_length_parse("mm", &l) && l == VB_LENGTH_MM);
    ck_assert(!vb_length_parse("inch", &l) && !vb_length_parse("IN", &l));
    ck_assert(!vb_length_parse("", &l) && l == VB_LENGTH_MM);
    ck_assert_str_eq(vb_length_name(VB_LENGTH_MM), "mm");
    ck_assert_str_eq(vb_length_name(VB_LENGTH_IN), "inch");
    ck_assert_str_eq(vb_length_name(VB_LENGTH_THOU), "thou");
}
END_TEST

START_TEST(factors)
{
    ck_assert_double_eq(vb_length_of(VB_LENGTH_MM, 0.2), 0.2);
    ck_assert_double_eq(vb_length_of(VB_LENGTH_IN, 25.4), 1);
    ck_assert_double_eq_tol(vb_length_of(VB_LENGTH_THOU, 25.4), 1000, 1e-9);
    ck_assert(isnan(vb_length_of(VB_LENGTH_THOU, NAN)));
}
END_TEST

/* 0.05 / 25.4 = 0.0019685; 2.5 / 25.4 = 0.0984252; 0.001 / 25.4 = 0.00003937 */
START_TEST(figures)
{
    SHOWN(MM, 0.2032, "0.203");
    SHOWN(IN, 0.2032, "0.0080");
    SHOWN(THOU, 0.2032, "8.0");
    SHOWN(IN, 0.05, "0.0020");
    SHOWN(THOU, 0.05, "2.0");
    SHOWN(IN, 2.5, "0.0984");
    SHOWN(THOU, 2.5, "98.4");
    SHOWN(IN, -0.05, "-0.0020");
    SHOWN(MM, 0, "0.000");
    SHOWN(IN, 0, "0.0000");
    SHOWN(THOU, -0.0, "0.0");
    ck_assert_str_eq(vb_length_with_unit(VB_LENGTH_MM, 0.05, text), "0.050 mm");
    ck_assert_str_eq(vb_length_with_unit(VB_LENGTH_IN, 0.05, text), "0.0020 inch");
    ck_assert_str_eq(vb_length_with_unit(VB_LENGTH_THOU, 0.05, text), "2.0 thou");
}
END_TEST

/* What is not nothing is not shown as nothing. */
START_TEST(small_figures)
{
    SHOWN(MM, 0.001, "0.001");
    SHOWN(IN, 0.001, "0.000039");
    SHOWN(THOU, 0.001, "0.039");
    SHOWN(IN, 0.0013, "0.0001"); // 0.0000512
    SHOWN(MM, 0.0004, "0.00040");
}
END_TEST

/* What was stated in tenths of a thousandth comes out as it was stated. */
START_TEST(as_it_was_stated)
{
    char want[VB_LENGTH_TEXT];
    for (int tenths = 1; tenths <= 2000; tenths++) {
        double mm = tenths * 254 / 100000.0;
        snprintf(want, sizeof want, "%d.%d", tenths / 10, tenths % 10);
        ck_assert_str_eq(vb_length_print(VB_LENGTH_THOU, mm, text), want);
        snprintf(want, sizeof want, "0.%04d", tenths);
        ck_assert_str_eq(vb_length_print(VB_LENGTH_IN, mm, text), want);
    }
}
END_TEST

/* A number of any size, and no byte too many. */
START_TEST(a_huge_figure)
{
    vb_length_with_unit(VB_LENGTH_THOU, 1e300, text);
    ck_assert_str_eq(text, "3.93701e+301 thou");
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("length");
    TCase *t = tcase_create("length");
    tcase_add_test(t, names);
    tcase_add_test(t, factors);
    tcase_add_test(t, figures);
    tcase_add_test(t, small_figures);
    tcase_add_test(t, as_it_was_stated);
    tcase_add_test(t, a_huge_figure);
    suite_add_tcase(s, t);
    return run_suite(s);
}
