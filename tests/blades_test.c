#include "suite.h"
#include "valvebook/blades.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "valvebook/gauge.h"

static enum vb_err
parse(const char *s, struct vb_blades *b)
{
    return vb_blades_parse(s, strlen(s), b);
}

/* What is written, and the same in its shortest form. By hand. */
static const struct {
    const char *in, *out;
} written[] = {
    {"0.25/0.30", "0.25/0.3"}, {"0,25/0,30", "0.25/0.3"},
    {"0,25/0.30", "0.25/0.3"}, {" .004 / .006 ", "0.004/0.006"},
    {"0/0.05", "0/0.05"},      {"10/11", "10/11"},
    {"0.1/1", "0.1/1"},        {"0.250", "0.25"},
    {"0,25", "0.25"},          {"-1", "-1"},
};

START_TEST(both_blades_are_read)
{
    struct vb_blades b;
    char text[VB_BLADES_MAX];
    ck_assert_int_eq(parse(written[_i].in, &b), VB_OK);
    ck_assert_uint_eq(vb_blades_format(b, text), strlen(written[_i].out));
    ck_assert_str_eq(text, written[_i].out);
    ck_assert_int_eq(vb_blades_is_pair(b), strchr(written[_i].in, '/') != NULL);
}
END_TEST

static const struct {
    const char *in;
    enum vb_err e;
} refused[] = {
    {"0.30/0.25", VB_EDOM},
    {"0.30/0.30", VB_EDOM},
    {"0.3/0.30", VB_EDOM},
    {"-0.1/0.1", VB_EDOM},
    {"0.25/", VB_ESYNTAX},
    {"/0.30", VB_ESYNTAX},
    {"/", VB_ESYNTAX},
    {"", VB_ESYNTAX},
    {"0.2/0.3/0.4", VB_ESYNTAX},
    {"0.25/0.3x", VB_ESYNTAX},
    {"1,234.5", VB_ESYNTAX},
    {"0.25-0.30", VB_ESYNTAX},
    {"0.2/0.123456789012345678", VB_ERANGE},
    {"12345678901234567/0.000000000000000001", VB_ERANGE}, // no width
};

START_TEST(what_is_no_pair_is_refused)
{
    struct vb_blades b = {{7, 1}, {8, 1}};
    ck_assert_int_eq(parse(refused[_i].in, &b), refused[_i].e);
    ck_assert(b.go.mant == 7 && b.nogo.mant == 8);
}
END_TEST

/* TM 5-3820-233-12/1 p. 4: the 0.011 in blade passes, the 0.013 in blade does not. */
START_TEST(middle_and_width_are_exact)
{
    struct vb_blades b;
    struct vb_dec y, w;
    char text[VB_NUM_MAX];
    ck_assert_int_eq(parse("0.011/0.013", &b), VB_OK);
    ck_assert_int_eq(vb_blades_convert(vb_unit_find("in", 2), b, &b), VB_OK);
    ck_assert_int_eq(vb_blades_middle(b, &y, &w), VB_OK);
    vb_dec_format(y, text);
    ck_assert_str_eq(text, "0.3048");
    vb_dec_format(w, text);
    ck_assert_str_eq(text, "0.0508");
}
END_TEST

START_TEST(one_number_is_its_own_middle)
{
    struct vb_blades b;
    struct vb_dec y, w;
    ck_assert_int_eq(parse("0.25", &b), VB_OK);
    ck_assert_int_eq(vb_blades_middle(b, &y, &w), VB_OK);
    ck_assert(vb_dec_double(y) == 0.25 && w.mant == 0);
}
END_TEST

/*
 * JCGM 100:2008, 4.3.7, example 1: an expansion of 16.52e-6 that is out by no more than
 * 0.40e-6 has u = 0.23e-6, u^2 = 53.3e-15; here in 1e-6, as a pair from 16.12 to 16.92.
 */
START_TEST(gum_4_3_7_is_met)
{
    struct vb_blades b;
    struct vb_dec y, w;
    double u, mid, same;
    ck_assert_int_eq(parse("16.12/16.92", &b), VB_OK);
    ck_assert_int_eq(vb_blades_middle(b, &y, &w), VB_OK);
    ck_assert_int_eq(vb_u_resolution(vb_dec_double(w), &u), VB_OK);
    ck_assert(vb_dec_double(y) == 16.52);
    ck_assert_double_eq_tol(u, 0.23, 0.005);          // printed to two digits
    ck_assert_double_eq_tol(1e3 * u * u, 53.3, 0.05); // printed to three
    ck_assert_double_eq_tol(u, 0.40 / sqrt(3), 1e-15);
    ck_assert_int_eq(vb_u_go_nogo(16.12, 16.92, &mid, &same), VB_OK);
    ck_assert_double_eq_tol(u, same, 1e-14);
}
END_TEST

START_TEST(too_many_digits)
{
    struct vb_blades b, c = {{7, 1}, {8, 1}};
    struct vb_dec y = {7, 0}, w = {8, 0};
    ck_assert_int_eq(parse("0.12345678901234567/0.2", &b), VB_OK);
    ck_assert_int_eq(vb_blades_convert(vb_unit_find("in", 2), b, &c), VB_ERANGE);
    ck_assert(c.go.mant == 7 && c.nogo.mant == 8);
    b = (struct vb_blades){{1, 18}, {INT64_C(100000000000000003), 17}};
    ck_assert_int_eq(vb_blades_middle(b, &y, &w), VB_ERANGE);
    ck_assert(y.mant == 7 && w.mant == 8);
}
END_TEST

static Suite *
blades_suite(void)
{
    Suite *s = suite_create("blades");
    TCase *t = tcase_create("pairs");
    tcase_add_loop_test(t, both_blades_are_read, 0, sizeof written / sizeof *written);
    tcase_add_loop_test(t, what_is_no_pair_is_refused, 0,
                        sizeof refused / sizeof *refused);
    tcase_add_test(t, middle_and_width_are_exact);
    tcase_add_test(t, one_number_is_its_own_middle);
    tcase_add_test(t, gum_4_3_7_is_met);
    tcase_add_test(t, too_many_digits);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(blades_suite());
}
