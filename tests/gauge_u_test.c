#include "suite.h"
#include "valvebook/gauge_u.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

/* R works by QR, we by means: they agree to rounding, not to the bit. */
static void
near_r(double got, double want, const char *what)
{
    double gap = fabs(got - want);
    ck_assert_msg(gap <= 1e-11 * fabs(want), "%s: %.15g, R has %.15g", what, got, want);
}

/* --- the step of a display --------------------------------------------------------- */

static double
step_of(const char *const *text, size_t n)
{
    struct vb_dec v[8];
    double step = -1;
    for (size_t i = 0; i < n; i++)
        ck_assert_int_eq(vb_dec_parse(text[i], strlen(text[i]), '.', 0, &v[i]), VB_OK);
    return vb_gauge_step(v, n, &step) ? NAN : step;
}

#define STEP(want, ...)                                                                  \
    do {                                                                                 \
        const char *const text[] = {__VA_ARGS__};                                        \
        ck_assert_double_eq(step_of(text, sizeof text / sizeof *text), want);            \
    } while (0)

/* By hand: the greatest common divisor of the differences, to the last bit. */
START_TEST(steps)
{
    STEP(0.01, "0.21", "0.25", "0.3", "0.32");
    STEP(0.05, "0.20", "0.25", "0.35");
    STEP(0.02, "0.21", "0.25", "0.31"); // no two are 0.02 apart
    STEP(0.0254, "0.2032", "0.2286", "0.254");
    STEP(0.1, "-0.1", "0.2", "0");
    STEP(99.99, "100", "0.01", "1e2");
    STEP(0.01, "100", "0.01", "0");
    STEP(200, "1e3", "1200", "800");
    STEP(0, "0.25", "0.250", "0.25");
    STEP(0, "7");
}
END_TEST

START_TEST(steps_out_of_reach)
{
    const char *const far[] = {"100000", "0.0000000000000001"};
    const struct vb_dec most[] = {{INT64_C(999999999999999999), 0},
                                  {-INT64_C(999999999999999999), 0}};
    const struct vb_dec ends[] = {{INT64_C(9000000000000000000), 0},
                                  {-INT64_C(9000000000000000000), 0}};
    double step = 7;
    ck_assert(isnan(step_of(far, 2)));
    ck_assert_int_eq(vb_gauge_step(most, 2, &step), VB_OK);
    ck_assert_double_eq(step, 1999999999999999998.0);
    step = 7;
    ck_assert_int_eq(vb_gauge_step(ends, 2, &step), VB_ERANGE);
    // from 223372036854775808 down to -9e18 is one more than fits, 2^63
    const struct vb_dec apart[] = {{INT64_C(223372036854775808), 0}, {-9, -18}};
    ck_assert_int_eq(vb_gauge_step(apart, 2, &step), VB_ERANGE);
    ck_assert_double_eq(step, 7);
}
END_TEST

/* --- studies ----------------------------------------------------------------------- */

struct study {
    size_t n;
    struct vb_study_reading r[100];
};

static void
read_aiag(struct study *s)
{
    FILE *f = fopen("fixtures/reference/aiag_grr.csv", "r");
    ck_assert_msg(f != NULL, "run from the root of the repository");
    char line[80], person;
    ck_assert_ptr_nonnull(fgets(line, sizeof line, f));
    for (s->n = 0; s->n < 100 && fgets(line, sizeof line, f); s->n++) {
        struct vb_study_reading *r = &s->r[s->n];
        ck_assert_int_eq(
            sscanf(line, "%zu,\"%c\",%zu,%lf", &r->part, &person, &r->trial, &r->value),
            4);
        r->person = (size_t)person;
    }
    fclose(f);
}

static void
lay_out(struct study *s, const double *y, size_t parts, size_t people, size_t trials)
{
    s->n = 0;
    for (size_t i = 1; i <= parts; i++)
        for (size_t j = 1; j <= people; j++)
            for (size_t k = 1; k <= trials; k++)
                s->r[s->n++] = (struct vb_study_reading){i, j, k, *y++};
}

/* Invented; tests/r/gauge_u.R has the same numbers. */
static const double lash[] = {0.21, 0.22, 0.21, 0.2,  0.21, 0.21, 0.26, 0.25,
                              0.26, 0.24, 0.25, 0.25, 0.31, 0.31, 0.32, 0.28,
                              0.29, 0.27, 0.36, 0.37, 0.36, 0.31, 0.3,  0.31};
static const double flat[] = {0.25, 0.29, 0.28, 0.26, 0.27, 0.24,
                              0.24, 0.28, 0.26, 0.29, 0.25, 0.27};

enum which { AIAG, LASH, FLAT, EVEN };

static void
get_study(enum which which, struct study *s)
{
    if (which == AIAG)
        read_aiag(s);
    else if (which == FLAT)
        lay_out(s, flat, 3, 2, 2);
    else
        lay_out(s, lash, 4, 2, 3);
    if (which != EVEN)
        return;
    double mean[2] = {0, 0};
    for (size_t i = 0; i < s->n; i++)
        mean[s->r[i].person - 1] += s->r[i].value / 12;
    for (size_t i = 0; i < s->n; i++)
        s->r[i].value += s->r[i].person == 2 ? mean[0] - mean[1] : 0;
}

/* Printed by tests/r/gauge_u.R, R version 4.2.2 Patched (2022-11-10 r83330). */
static const struct {
    const char *name;
    enum which which;
    double step, u, df, expanded;
} in_r[] = {
    {"aiag", AIAG, 0, 0.302371522322905, 5.91836494332947, 0.777270742896959},
    {"aiag fine", AIAG, 0.01, 0.302371522322905, 5.91836494332947, 0.777270742896959},
    {"lash", LASH, 0, 0.0242097317438899, 2.45070848948848, 0.10416606837435},
    {"lash coarse", LASH, 0.5, 0.146211414663075, 3260.29473529694, 0.286675542376604},
    {"flat", FLAT, 0, 0.019737865470545, 8, 0.0455155993951803},
    {"flat coarse", FLAT, 0.5, 0.144337567297406, 22877.4057021934, 0.282911401638421},
    {"even", EVEN, 0, 0.0172669669643556, 3.64089883563388, 0.0549511952191693},
};

#define CASES (int)(sizeof in_r / sizeof *in_r)

START_TEST(satterthwaite_is_met)
{
    struct study d;
    struct vb_study s;
    struct vb_u u;
    get_study(in_r[_i].which, &d);
    ck_assert_int_eq(vb_study_crossed(d.r, d.n, &s, NULL), VB_OK);
    ck_assert_int_eq(vb_study_u(&s, in_r[_i].step, 0.95, &u), VB_OK);
    near_r(u.u, in_r[_i].u, in_r[_i].name);
    near_r(u.df, in_r[_i].df, in_r[_i].name);
    near_r(u.expanded, in_r[_i].expanded, in_r[_i].name);
}
END_TEST

/* The same by components: repeatability, or the step where that is more, and the rest. */
START_TEST(u_is_the_sum_of_components)
{
    struct study d;
    struct vb_study s;
    struct vb_u u;
    get_study(in_r[_i].which, &d);
    ck_assert_int_eq(vb_study_crossed(d.r, d.n, &s, NULL), VB_OK);
    for (double step = 0; step < 2; step += 0.0625) {
        const double *v = vb_study_used(&s)->var;
        double want = fmax(v[VB_VAR_REPEAT], step * step / 12) + v[VB_VAR_PEOPLE] +
                      v[VB_VAR_INTERACTION];
        ck_assert_int_eq(vb_study_u(&s, step, 0.95, &u), VB_OK);
        ck_assert_double_eq_tol(u.u, sqrt(want), 1e-14);
    }
}
END_TEST

START_TEST(u_refuses)
{
    struct study d;
    struct vb_study s;
    struct vb_u u = {1, 2, 3, 4};
    get_study(LASH, &d);
    ck_assert_int_eq(vb_study_crossed(d.r, d.n, &s, NULL), VB_OK);
    ck_assert_int_eq(vb_study_u(&s, -1, 0.95, &u), VB_EDOM);
    ck_assert_int_eq(vb_study_u(&s, NAN, 0.95, &u), VB_EDOM);
    ck_assert_int_eq(vb_study_u(&s, 0, 1, &u), VB_EDOM);
    ck_assert_int_eq(vb_repeat_u(NAN, 4, 0, 0.95, &u), VB_EDOM);
    ck_assert_int_eq(vb_repeat_u(-1, 4, 0, 0.95, &u), VB_EDOM);
    ck_assert_int_eq(vb_repeat_u(1, 0, 0, 0.95, &u), VB_EDOM);
    ck_assert_int_eq(vb_repeat_u(1, 4, INFINITY, 0.95, &u), VB_EDOM);
    ck_assert(u.u == 1 && u.df == 2 && u.k == 3 && u.expanded == 4);
}
END_TEST

/* --- less than a study ------------------------------------------------------------- */

/* One person of `lash`, and `lash` without its last reading; R as above. */
START_TEST(repeatability_is_met)
{
    struct study d, one = {0};
    struct vb_u u;
    double var, df;
    get_study(LASH, &d);
    for (size_t i = 0; i < d.n; i++)
        if (d.r[i].person == 1)
            one.r[one.n++] = d.r[i];
    ck_assert_int_eq(vb_study_within(one.r, one.n, &var, &df), VB_OK);
    ck_assert(df == 8);
    near_r(var, 3.33333333333331e-05, "one person");
    ck_assert_int_eq(vb_repeat_u(var, df, 0, 0.95, &u), VB_OK);
    near_r(u.expanded, 0.0133137210821251, "one person");
    ck_assert_int_eq(vb_study_within(d.r, d.n - 1, &var, &df), VB_OK);
    ck_assert(df == 15);
    near_r(var, 4.33333333333331e-05, "a reading less");
    ck_assert_int_eq(vb_repeat_u(var, df, 0, 0.95, &u), VB_OK);
    near_r(u.expanded, 0.0140309186143163, "a reading less");
    ck_assert_int_eq(vb_repeat_u(var, df, 0.24, 0.95, &u), VB_OK);
    ck_assert_double_eq_tol(u.u, 0.24 / sqrt(12), 1e-15);
}
END_TEST

START_TEST(nothing_to_repeat)
{
    const struct vb_study_reading once[] = {{1, 1, 1, 0.2}, {2, 1, 1, 0.3}};
    const struct vb_study_reading alike[] = {
        {1, 1, 1, 0.3}, {1, 1, 2, 0.3}, {1, 1, 3, 0.3}};
    const struct vb_study_reading bad[] = {{1, 1, 1, 0.3}, {1, 1, 2, INFINITY}};
    const struct vb_study_reading large[] = {{1, 1, 1, 1e200}, {1, 1, 2, -1e200}};
    double var = 7, df = 7;
    ck_assert_int_eq(vb_study_within(bad, 2, &var, &df), VB_EDOM);
    ck_assert_int_eq(vb_study_within(large, 2, &var, &df), VB_EDOM);
    ck_assert_int_eq(vb_study_within(once, 0, &var, &df), VB_EDOM);
    ck_assert_int_eq(vb_study_within(once, SIZE_MAX, &var, &df), VB_EMEM);
    ck_assert(var == 7 && df == 7);
    ck_assert_int_eq(vb_study_within(alike, 3, &var, &df), VB_OK);
    ck_assert(var == 0 && df == 2);
    ck_assert_int_eq(vb_study_within(once, 2, &var, &df), VB_OK);
    ck_assert(isnan(var) && df == 0);
}
END_TEST

START_TEST(shapes)
{
    struct vb_study_reading r[] = {{5, 2, 1, 0}, {3, 2, 1, 0}, {3, 4, 1, 0},
                                   {5, 4, 1, 0}, {5, 4, 2, 0}, {3, 4, 2, 0},
                                   {5, 2, 2, 0}, {3, 2, 2, 0}};
    struct vb_study_shape s;
    ck_assert_int_eq(vb_study_shape(r, 0, &s), VB_EDOM);
    ck_assert_int_eq(vb_study_shape(r, 8, &s), VB_OK);
    ck_assert(s.complete && s.parts == 2 && s.people == 2 && s.trials == 2);
    ck_assert_int_eq(vb_study_shape(r, 7, &s), VB_OK);
    ck_assert(!s.complete && s.gap.part == 3 && s.gap.person == 2 && s.gap.trial == 2);
    ck_assert_int_eq(vb_study_shape(r, 5, &s), VB_OK);
    ck_assert(!s.complete && s.gap.part == 3 && s.gap.person == 2 && s.gap.trial == 2);
    ck_assert_int_eq(vb_study_shape(r, 1, &s), VB_OK);
    ck_assert(s.complete && s.parts == 1);
}
END_TEST

/* --- tolerances -------------------------------------------------------------------- */

START_TEST(tolerances)
{
    double mm = 7;
    static const char *const bad[] = {
        "", "0.1", "mm", "0mm", "-1mm", "1deg", "1 mm 2", "x", "12345678901234567 in"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        ck_assert_int_eq(vb_tolerance_parse(bad[i], &mm), 0);
    ck_assert_double_eq(mm, 7);
    ck_assert_int_eq(vb_tolerance_parse("0.1mm", &mm), 1);
    ck_assert_double_eq(mm, 0.1);
    ck_assert_int_eq(vb_tolerance_parse("4 thou", &mm), 1);
    ck_assert_double_eq(mm, 0.1016);
    ck_assert_double_eq(vb_tolerance_pct(0.01, 0.24), 25);
}
END_TEST

int
main(void)
{
    Suite *suite = suite_create("gauge_u");
    TCase *c = tcase_create("u");
    tcase_add_test(c, steps);
    tcase_add_test(c, steps_out_of_reach);
    tcase_add_loop_test(c, satterthwaite_is_met, 0, CASES);
    tcase_add_loop_test(c, u_is_the_sum_of_components, 0, CASES);
    tcase_add_test(c, u_refuses);
    tcase_add_test(c, repeatability_is_met);
    tcase_add_test(c, nothing_to_repeat);
    tcase_add_test(c, shapes);
    tcase_add_test(c, tolerances);
    suite_add_tcase(suite, c);
    return run_suite(suite);
}
