#include "suite.h"
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

/* Four decimals of a probability; what they cannot show is not none at all. */
START_TEST(probabilities)
{
    life.trend.p_laplace = 0.00006, life.trend.p_chi2 = 0.00004;
    says(VB_LIFE_TREND, " 0.0001 ", 1);
    says(VB_LIFE_TREND, "<0.0001", 1);
    life.trend.p_chi2 = 0.00005;
    says(VB_LIFE_TREND, "<0.0001", 0);
    life.trend.p_laplace = 1e-300;
    says(VB_LIFE_TREND, "<0.0001", 1);
    life.has_trend = 0;
    says(VB_LIFE_TREND, "<", 0);
}
END_TEST

START_TEST(nothing_replaced)
{
    life.n_steps = 0;
    SAYS("none was replaced");
    SILENT("shape of their trend");
    service.engines = 0;
    SAYS("no engine has a meter on record: by --time days it may have an age");
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

/* Engines that live for hours: two digits are left of every figure. */
START_TEST(short_lives)
{
    life.relash.sure_gap = 0.4, life.relash.present = 2.5, life.relash.gap = 0.3;
    life.relash.per_1000 = -0.004, life.relash.per_year = -0.04, life.relash.engines = 1;
    life.relash.present_risk = 0.00002, life.relash.longest = 1.25;
    life.first_age = 0.25, step.age = 6;
    life.gap[0] = 2, life.gap[1] = 3.5;
    SAYS("from the age of 0.25 to 6.0 h; 2 of 2 engines watched at the last, none from "
         "2.0 "
         "to 3.5 h");
    SAYS("; 0.40 h if rates were known; saves 0.0040 visits an engine in 1000 h, 0.040 a "
         "year of 1 engine");
    SAYS("passes its tight limit in 2.5 h");
    says(VB_LIFE_INTERVAL,
         "0.0100      0.30                 0.40      2.5  0.000020         -0.0040       "
         "  "
         "-0.040        1",
         1);
    life.relash.sure_gap = 700, life.relash.present = 600, life.relash.gap = 500;
    says(VB_LIFE_INTERVAL, "       500                  700      600  ", 1);
}
END_TEST

/* As well as the nearer bound is known. The scale is 0.4 h, its logarithm has a standard error
 * of 0.2: 0.4 * exp(-+1.96 * 0.2) = 0.270 and 0.592, so 0.13 away. Of 12.34 with 12.28 as the
 * nearer bound, 0.060 away, three decimals count, without zeros behind. */
START_TEST(bounds_say_how_many_digits)
{
    life.trend.scale = 0.4, life.trend.var_scale = 0.04;
    says(VB_LIFE_TREND, "   0.40  0.27  0.59  ", 1);
    life.trend.scale = 4000, life.trend.var_scale = 0.04;
    says(VB_LIFE_TREND, "   4000  2703  5920  ", 1);
    step.mcf = 12.34, step.lo = 12.28, step.hi = 12.405;
    SAYS("  12.34  12.28  12.405  ");
    step.mcf = 123.4, step.lo = 123.1, step.hi = 123.9;
    SAYS("  123.40  123.10  123.90  ");
    step.mcf = 123.4, step.lo = 100, step.hi = 150;
    SAYS("  123    100   150  ");
    step.mcf = 0, step.lo = 0, step.hi = 3;
    SAYS("  0      0     3  ");
}
END_TEST

/* One replaced of 50,000 engines: 0.00002 an engine, and as much is its error. */
START_TEST(many_engines)
{
    step.mcf = step.se = step.se_poisson = 0.00002;
    step.lo = 0.0000028, step.hi = 0.000142;
    says(VB_LIFE_MCF, "  0.000020  0.000020  0.000020  0.000003  0.000142", 1);
    service.engines = 1;
    says(VB_LIFE_MCF, "  0.000020        0.000020", 1);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("life_words");
    TCase *t = tcase_create("words");
    tcase_add_checked_fixture(t, setup, NULL);
    tcase_add_test(t, trends);
    tcase_add_test(t, probabilities);
    tcase_add_test(t, nothing_replaced);
    tcase_add_test(t, the_riskiest_first);
    tcase_add_test(t, no_band_of_one_engine);
    tcase_add_test(t, advice);
    tcase_add_test(t, short_lives);
    tcase_add_test(t, bounds_say_how_many_digits);
    tcase_add_test(t, many_engines);
    suite_add_tcase(s, t);
    return run_suite(s);
}
