#include "valvebook/life_report.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

/* A family of two engines with one replacement, made by hand to be changed. */
static struct vb_service service;
static struct vb_mcf_step step;
static struct vb_family_life life;

static void
setup(void)
{
    memset(&service, 0, sizeof service);
    service.engines = 2;
    service.count = 1;
    service.wish.part = "valve";
    step = (struct vb_mcf_step){.age = 500, .at_risk = 2, .count = 1, .mcf = 0.5};
    memset(&life, 0, sizeof life);
    life.family = "two";
    snprintf(life.unit, sizeof life.unit, "h");
    snprintf(life.meter_unit, sizeof life.meter_unit, "h");
    life.service = &service;
    life.step = &step, life.n_steps = 1;
    life.gap[0] = life.gap[1] = NAN;
    life.has_trend = 1;
    life.trend = (struct vb_power){.count = 12,
                                   .engines = 2,
                                   .shape = 1,
                                   .var_shape = 0.01,
                                   .robust_shape = NAN,
                                   .p_laplace = 0.5,
                                   .laplace = 0.1};
    life.relash = (struct vb_relash_advice){.risk = 0.01,
                                            .gap = 500,
                                            .sure_gap = 700,
                                            .present = 600,
                                            .present_risk = 0.005,
                                            .per_1000 = NAN,
                                            .per_year = NAN};
}

static void
says(enum vb_life_what what, const char *words, int yes)
{
    struct vb_out *o;
    char *s;
    size_t n;
    ck_assert_int_eq(vb_out_memory(&o), VB_OK);
    ck_assert_int_eq(vb_report_life(&life, 1, what, VB_FORMAT_TABLE, o), VB_OK);
    ck_assert_int_eq(vb_out_take(o, &s, &n), VB_OK);
    ck_assert_msg((strstr(s, words) != NULL) == yes, "%s: %s", words, s);
    free(s);
}

#define SAYS(words)   says(VB_LIFE_SUMMARY, words, 1)
#define SILENT(words) says(VB_LIFE_SUMMARY, words, 0)

/* Laplace's test tells at 0.05; the shape where its 95 % interval leaves out 1. With a variance
 * of 0.01 and a shape of 1.5 the interval of its logarithm is +- 1.96 * 0.1 / 1.5. */
START_TEST(trends)
{
    SAYS("steady: no trend with age is shown");
    life.trend.shape = 1.5;
    SAYS("more often in older engines, not shown within one");
    life.trend.shape = 0.5;
    SAYS("less often in older engines, not shown within one");
    life.trend.robust_shape = 0.5; // the wider of two: nothing is shown
    SAYS("steady: no trend with age is shown");
    life.trend.p_laplace = 0.01;
    SAYS("replaced more often as an engine ages");
    life.trend.laplace = -3;
    SAYS("replaced less often as an engine ages");
    life.trend.p_laplace = 0.5, life.trend.var_shape = NAN, life.trend.robust_shape = NAN;
    SAYS("steady: no trend with age is shown");
    life.has_trend = 0;
    snprintf(life.trend_why, sizeof life.trend_why, "too few to tell");
    SAYS("too few to tell");
}
END_TEST

START_TEST(nothing_replaced)
{
    life.n_steps = 0;
    SAYS("none was replaced");
    SILENT("shape of their trend");
    service.engines = 0;
    SAYS("no engine has a meter on record: by days it may have an age");
    service.wish.days = 1;
    SAYS("no engine has a day on record");
    service.lost = 3;
    SAYS("their age is not known, or nobody watched");
}
END_TEST

/* The first words of the lines of a table that begin with a family. */
START_TEST(the_riskiest_first)
{
    static const char *const names[] = {"none", "much", "also", "less"};
    static const double risks[] = {NAN, 0.5, 0.01, 0.01};
    struct vb_family_life all[4];
    struct vb_out *o;
    char *s;
    size_t n, at[4];
    for (int i = 0; i < 4; i++) {
        all[i] = life;
        all[i].family = names[i];
        all[i].relash.present_risk = risks[i];
    }
    ck_assert_int_eq(vb_out_memory(&o), VB_OK);
    ck_assert_int_eq(vb_report_life(all, 4, VB_LIFE_TREND, VB_FORMAT_TABLE, o), VB_OK);
    ck_assert_int_eq(vb_out_take(o, &s, &n), VB_OK);
    for (int i = 0; i < 4; i++) {
        char line[16];
        snprintf(line, sizeof line, "\n%s ", names[i]);
        ck_assert_ptr_nonnull(strstr(s, line));
        at[i] = (size_t)(strstr(s, line) - s);
    }
    free(s);
    ck_assert(at[1] < at[2] && at[2] < at[3] && at[3] < at[0]);
}
END_TEST

/* A band needs two engines. */
START_TEST(no_band_of_one_engine)
{
    step.lo = 0.125, step.hi = 1.75;
    SAYS("0.125");
    SAYS("1.75");
    service.engines = 1;
    SILENT("0.125");
    SILENT("1.75");
}
END_TEST

START_TEST(advice)
{
    SAYS("longest re-lash interval");
    SAYS("1 % risk an engine; 700 h if rates were known");
    SILENT("visits an engine");
    SILENT("too long");
    life.relash.per_1000 = -0.25;
    SAYS("saves 0.25 visits an engine in 1000 h");
    SILENT("a year");
    life.relash.per_year = -1.5, life.relash.engines = 1;
    SAYS("saves 0.25 visits an engine in 1000 h, 1.5 a year of 1 engine");
    SILENT("1 engines");
    life.relash.engines = 3, life.relash.per_1000 = 0.5;
    SAYS("costs 0.50 visits an engine in 1000 h, 1.5 a year of 3 engines");
    life.relash.present_risk = 0.02;
    SAYS("passes its tight limit in 600 h: too long");
    snprintf(life.relash.why, sizeof life.relash.why, "extrapolated");
    SAYS("; extrapolated");
    life.relash.gap = NAN;
    SILENT("if rates were known");
    SAYS("extrapolated");
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("life_words");
    TCase *t = tcase_create("words");
    tcase_add_checked_fixture(t, setup, NULL);
    tcase_add_test(t, trends);
    tcase_add_test(t, nothing_replaced);
    tcase_add_test(t, the_riskiest_first);
    tcase_add_test(t, no_band_of_one_engine);
    tcase_add_test(t, advice);
    suite_add_tcase(s, t);
    SRunner *r = srunner_create(s);
    srunner_run_all(r, CK_ENV);
    int failed = srunner_ntests_failed(r);
    srunner_free(r);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
