/* What is said of a gauge in words, for figures that no study of a few readings gives. */
#include "suite.h"
#include "valvebook/gauge_report.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

static char name[] = "dial", *names[] = {name};
static struct vb_trials trials = {.gauge = names, .n_gauges = 1};
static struct vb_gauge_said said;
static char *text;

static void
setup(void)
{
    said = (struct vb_gauge_said){.shape = {5, 2, 2, 1, {0}},
                                  .readings = 20,
                                  .crossed = 1,
                                  .basis = VB_BASIS_CROSSED,
                                  .step = NAN,
                                  .u_step = NAN,
                                  .u = {0.01, INFINITY, 1.96, 0.0196}};
    said.study.with.study_pct[VB_VAR_GAUGE] = 25;
    said.study.with.var[VB_VAR_GAUGE] = 3;
    text = NULL;
}

static void
teardown(void)
{
    free(text);
}

/* The table, whole. */
static void
print(void)
{
    const struct vb_gauge_result g = {.trials = &trials, .said = &said, .tolerance = NAN};
    struct vb_out *o;
    size_t n;
    free(text);
    ck_assert_int_eq(vb_out_memory(&o), VB_OK);
    ck_assert_int_eq(vb_report_gauges(&g, VB_FORMAT_TABLE, o), VB_OK);
    ck_assert_int_eq(vb_out_take(o, &text, &n), VB_OK);
}

/* Fewer than 2 tell nothing apart; 5 are what the AIAG manual asks for. */
static const struct {
    double categories;
    const char *words;
} counts[] = {
    {1, "1 distinct category: the gauge cannot tell these parts apart\n"},
    {2, "2 distinct categories: tells small from large, no more\n"},
    {3, "3 distinct categories: enough to sort the parts, too coarse to follow wear\n"},
    {4, "4 distinct categories: enough to sort the parts, too coarse to follow wear\n"},
    {5, "5 distinct categories: fit to follow the parts one by one\n"},
};

START_TEST(categories)
{
    said.study.with.categories = counts[_i].categories;
    print();
    ck_assert_ptr_nonnull(strstr(text, counts[_i].words));
}
END_TEST

START_TEST(where_the_scatter_is_from)
{
    double *v = said.study.with.var;
    v[VB_VAR_PEOPLE] = 1;
    v[VB_VAR_INTERACTION] = 1;
    v[VB_VAR_REPEAT] = 1;
    print();
    ck_assert_ptr_nonnull(strstr(text,
                                 "25.0 % of the spread, most of that between people: "
                                 "agree on one way to read\n"));
    v[VB_VAR_REPEAT] = 2;
    print();
    ck_assert_ptr_nonnull(strstr(text, "25.0 % of the spread, most of that in one hand: "
                                       "the mean of several readings helps\n"));
    v[VB_VAR_GAUGE] = 0;
    print();
    ck_assert_ptr_nonnull(strstr(text, "25.0 % of the spread\n"));
}
END_TEST

START_TEST(one_degree_of_freedom)
{
    said.crossed = 0;
    said.basis = VB_BASIS_REPEAT;
    said.within = 0.0004;
    said.within_df = 1;
    print();
    ck_assert_ptr_nonnull(strstr(text, "0.0200  1 degree of freedom\n"));
    said.within_df = 2;
    print();
    ck_assert_ptr_nonnull(strstr(text, "0.0200  2 degrees of freedom\n"));
}
END_TEST

/* One hand scatters by 0.00003 mm, the parts by 0.02: six decimals for the whole column. What
 * is left of a person's variance after subtracting, 1e-21, is nothing. */
START_TEST(a_fine_gauge)
{
    double *v = said.study.with.var;
    v[VB_VAR_REPEAT] = v[VB_VAR_GAUGE] = 9e-10;
    v[VB_VAR_PEOPLE] = 1e-21;
    v[VB_VAR_PART] = v[VB_VAR_TOTAL] = 0.0004;
    said.step = 0.00005, said.u_step = 0.0000144;
    said.u.u = 0.00003, said.u.expanded = 0.0000588;
    print();
    ck_assert_ptr_nonnull(strstr(text, "  repeatability       0.000030  "));
    ck_assert_ptr_nonnull(strstr(text, "  person to person    0.000000  "));
    ck_assert_ptr_nonnull(strstr(text, "  part to part        0.020000  "));
    ck_assert_ptr_nonnull(strstr(text, "  resolution mm       0.000050  "));
    ck_assert_ptr_nonnull(strstr(text, "; u of it 0.000014\n"));
    ck_assert_ptr_nonnull(strstr(text, "  u mm                0.000030  "));
    ck_assert_ptr_nonnull(strstr(text, "  expanded mm         0.000059  "));
    said.crossed = 0, said.basis = VB_BASIS_REPEAT;
    said.within = 9e-10, said.within_df = 2;
    print();
    ck_assert_ptr_nonnull(strstr(text, "0.000030  2 degrees of freedom\n"));
}
END_TEST

/* A variance that was not asked for, of people by parts, decides nothing. */
START_TEST(what_is_not_shown_needs_no_digits)
{
    double *v = said.study.without.var;
    said.study.pooled = 1;
    v[VB_VAR_REPEAT] = v[VB_VAR_GAUGE] = v[VB_VAR_TOTAL] = 0.0004;
    v[VB_VAR_INTERACTION] = 1e-10;
    print();
    ck_assert_ptr_nonnull(strstr(text, "  repeatability         0.0200  "));
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("gauge_report");
    TCase *t = tcase_create("gauge_report");
    tcase_add_checked_fixture(t, setup, teardown);
    tcase_add_loop_test(t, categories, 0, sizeof counts / sizeof *counts);
    tcase_add_test(t, where_the_scatter_is_from);
    tcase_add_test(t, one_degree_of_freedom);
    tcase_add_test(t, a_fine_gauge);
    tcase_add_test(t, what_is_not_shown_needs_no_digits);
    suite_add_tcase(s, t);
    return run_suite(s);
}
