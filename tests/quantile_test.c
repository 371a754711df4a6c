/* Student's t: percentage points as printed, and that asking again gives the same. */
#include <check.h>
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdlib.h>

#include "suite.h"
#include "valvebook/quantile.h"

/* NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2, critical values of Student's t
 * distribution, three decimals. */
START_TEST(as_printed)
{
    static const struct {
        double p, df, t;
    } c[] = {
        {0.90, 1, 3.078},    {0.95, 1, 6.314},     {0.975, 1, 12.706},
        {0.99, 1, 31.821},   {0.90, 5, 1.476},     {0.95, 5, 2.015},
        {0.975, 5, 2.571},   {0.995, 5, 4.032},    {0.90, 10, 1.372},
        {0.95, 10, 1.812},   {0.975, 10, 2.228},   {0.999, 10, 4.144},
        {0.90, 30, 1.310},   {0.95, 30, 1.697},    {0.975, 30, 2.042},
        {0.99, 30, 2.457},   {0.90, 100, 1.290},   {0.95, 100, 1.660},
        {0.975, 100, 1.984}, {0.995, 100, 2.626},  {0.90, 1e12, 1.282},
        {0.95, 1e12, 1.645}, {0.975, 1e15, 1.960}, {0.995, 1e300, 2.576},
    };
    for (size_t i = 0; i < sizeof c / sizeof *c; i++) {
        ck_assert_double_eq_tol(vb_t_quantile(c[i].p, c[i].df), c[i].t, 6e-4);
        ck_assert_double_eq_tol(vb_t_quantile(1 - c[i].p, c[i].df), -c[i].t, 6e-4);
    }
}
END_TEST

/* Far more than are remembered, in changing order: each is what GSL says. */
START_TEST(whatever_was_asked_before)
{
    srand(42);
    for (int i = 0; i < 20000; i++) {
        double p = 0.5 + 0.01 * (rand() % 49), df = 1 + rand() % 40;
        ck_assert_double_eq(vb_t_quantile(p, df), gsl_cdf_tdist_Pinv(p, df));
    }
}
END_TEST

START_TEST(nothing)
{
    static const double bad[][2] = {{0, 0}, {-0.0, 0}, {0, 5},   {1, 5},    {-1, 5},
                                    {2, 5}, {NAN, 5},  {0.9, 0}, {0.9, -1}, {0.9, NAN}};
    for (int again = 0; again < 2; again++)
        for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
            ck_assert_double_nan(vb_t_quantile(bad[i][0], bad[i][1]));
    ck_assert_double_eq(vb_t_quantile(0.5, 3), 0);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("quantile");
    TCase *t = tcase_create("t");
    tcase_add_test(t, as_printed);
    tcase_add_test(t, whatever_was_asked_before);
    tcase_add_test(t, nothing);
    suite_add_tcase(s, t);
    return run_suite(s);
}
