/* Decimals for people. All expected values are worked out by hand; one is the GUM's own. */
#include "suite.h"
#include "valvebook/digits.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#define COUNT(a) (int)(sizeof(a) / sizeof *(a))
#define PM       " \xc2\xb1 "

static const struct {
    double x, u;
    int usual, want;
} decimals[] = {
    {10.05762, 0.027, 0, 3}, // GUM 7.2.6: 10.058 ohm with 27 milliohm
    {5.8412, 0.342, 2, 2},   // 0.34
    {5.8412, 0.0342, 2, 3},  // 0.034
    {0.003, 0.0002, 2, 5},   // 0.00020
    {0.003, 0.000204, 2, 5},
    {1234.5, 12.3, 0, 0}, // 12
    {1234.5, 12.3, 2, 2}, // never less than usual
    {1234.5, 1.23, 0, 1}, // 1.2
    {1234.5, 1e30, 2, 2},
    {1, 0.0994, 0, 3}, // 0.099
    {1, 0.0996, 0, 2}, // becomes 0.10
    {1, 0.996, 0, 1},  // becomes 1.0
    {1, 9.96, 0, 0},   // becomes 10
    {-5, 0.012, 0, 3}, // a sign moves nothing
    {0, 0.012, 2, 3},  // nothing, but known to so much
    {1, 1e-5, 2, 6},
    {1, 2e-8, 2, 9},
    {1, 2e-9, 2, 9}, // 0.0000000020 would be ten: one digit is left
    {0.003, 0, 2, 4},
    {0.003, NAN, 2, 4}, // unknown: two digits of the figure, 0.0030
    {0.003, INFINITY, 2, 4},
    {0.0996, NAN, 2, 2},
    {0.36, NAN, 2, 2},
    {36, NAN, 2, 2},
    {-0.0042, NAN, 1, 4},
    {0, NAN, 2, 2}, // nothing to be shown
    {0, 0, 3, 3},
    {1e-17, 1e-18, 2, 2}, // what rounding left of nothing
    {0.2, 1e-17, 2, 2},
    {0.2, 5e-10, 2, 2}, // zeros at nine decimals
    {NAN, NAN, 2, 2},
    {NAN, 0.012, 2, 3},
    {INFINITY, NAN, 2, 2},
    {DBL_MAX, DBL_MIN, 0, 0},
};

START_TEST(by_hand)
{
    int got = vb_digits(decimals[_i].x, decimals[_i].u, decimals[_i].usual);
    ck_assert_msg(got == decimals[_i].want, "%g +- %g, usual %d: %d, not %d",
                  decimals[_i].x, decimals[_i].u, decimals[_i].usual, got,
                  decimals[_i].want);
}
END_TEST

static const struct {
    double x, u;
    int usual;
    const char *want;
} pairs[] = {
    {10.05762, 0.027, 0, "10.058" PM "0.027"}, // GUM 7.2.6
    {5.8412, 0.342, 2, "5.84" PM "0.34"},
    {0.0031, 0.0002, 2, "0.00310" PM "0.00020"},
    {0.7, 0.996, 2, "0.70" PM "1.00"}, // usual decimals stay
    {123.456, 45.6, 2, "123.46" PM "45.60"},
    {-0.0004, 0.012, 2, "0.000" PM "0.012"}, // no minus before a zero
    {-0.0026, 0.012, 2, "-0.003" PM "0.012"},
    {0.2, 0, 2, "0.20" PM "0"}, // not 0.00, which could be anything below 0.005
    {0.2, 1e-17, 2, "0.20" PM "0"},
    {0.0031, 0, 2, "0.0031" PM "0"},
    {0, 0, 2, "0.00" PM "0"},
    {0.2, NAN, 2, "0.20"},
    {0.0031, NAN, 2, "0.0031"},
    {0.0031, INFINITY, 2, "0.0031"},
    {600, NAN, 0, "600"},
    {2.5, NAN, 0, "2.5"},
    {0.4, NAN, 0, "0.40"},
    {-1e300, 1e300, 2, "-1e+300" PM "1e+300"}, // no digits are cut off
};

START_TEST(in_words)
{
    char got[VB_DIGITS_PAIR];
    ck_assert_ptr_eq(vb_digits_pair(pairs[_i].x, pairs[_i].u, pairs[_i].usual, got), got);
    ck_assert_str_eq(got, pairs[_i].want);
}
END_TEST

/* The longest there can be fits. */
START_TEST(fits)
{
    char got[VB_DIGITS_PAIR];
    vb_digits_pair(-1.2345678e28, 9.9999e-9, 0, got);
    ck_assert_uint_lt(strlen(got), sizeof got);
    vb_digits_pair(-DBL_MAX, DBL_MAX, 9, got);
    ck_assert_str_eq(got, "-1.79769e+308" PM "1.79769e+308");
}
END_TEST

/* Whatever the numbers: the uncertainty that is printed reads back as its two digits. */
START_TEST(two_digits_read_back)
{
    char got[VB_DIGITS_PAIR];
    double u = 1e-8 * pow(1.02, _i); // up to about 4
    vb_digits_pair(3, u, 0, got);
    const char *mark = strstr(got, PM);
    ck_assert_ptr_nonnull(mark);
    double back = strtod(mark + strlen(PM), NULL);
    ck_assert_msg(fabs(back - u) <= 0.051 * u, "%.9g printed as %s", u, got);
    ck_assert_uint_eq(strcspn(got, " ") - (strchr(got, '.') ? 2 : 1),
                      strlen(mark + strlen(PM)) - (strchr(mark, '.') ? 2 : 1));
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("digits");
    TCase *t = tcase_create("digits");
    tcase_add_loop_test(t, by_hand, 0, COUNT(decimals));
    tcase_add_loop_test(t, in_words, 0, COUNT(pairs));
    tcase_add_test(t, fits);
    tcase_add_loop_test(t, two_digits_read_back, 0, 1000);
    suite_add_tcase(s, t);
    return run_suite(s);
}
