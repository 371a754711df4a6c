#include "suite.h"
#include "valvebook/gauge.h"

#include <float.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

/* R works by QR, we by means: they agree to rounding, not to the bit. */
static void
near_r(double got, double want, const char *name, const char *what)
{
    double gap = fabs(got - want);
    ck_assert_msg(gap <= 1e-12 * fabs(want), "%s %s: %.15g, R has %.15g", name, what, got,
                  want);
}

/* A published figure: half a unit of its last digit. */
#define PRINTED(got, want, last) ck_assert_double_eq_tol((got), (want), 0.5001 * (last))

/* --- crossed studies --------------------------------------------------------------- */

#define MAX_READINGS 100

struct study {
    const char *name;
    size_t n;
    struct vb_study_reading r[MAX_READINGS];
};

/* 10 parts x 3 people x 3 trials of the AIAG manual; people are 'A', 'B', 'C'. */
static void
read_aiag(struct study *s)
{
    FILE *f = fopen("fixtures/reference/aiag_grr.csv", "r");
    ck_assert_msg(f != NULL, "run from the root of the repository");
    char line[80], person;
    ck_assert_ptr_nonnull(fgets(line, sizeof line, f));
    s->n = 0;
    while (s->n < MAX_READINGS && fgets(line, sizeof line, f)) {
        struct vb_study_reading *r = &s->r[s->n++];
        ck_assert_int_eq(
            sscanf(line, "%zu,\"%c\",%zu,%lf", &r->part, &person, &r->trial, &r->value),
            4);
        r->person = (size_t)person;
    }
    fclose(f);
    ck_assert_uint_eq(s->n, 90);
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

/* Invented; tests/r/gauge.R has the same numbers. */
static const double lash[] = {0.21, 0.22, 0.21, 0.2,  0.21, 0.21, 0.26, 0.25,
                              0.26, 0.24, 0.25, 0.25, 0.31, 0.31, 0.32, 0.28,
                              0.29, 0.27, 0.36, 0.37, 0.36, 0.31, 0.3,  0.31};
static const double flat[] = {0.25, 0.29, 0.28, 0.26, 0.27, 0.24,
                              0.24, 0.28, 0.26, 0.29, 0.25, 0.27};

static void
get_study(int which, struct study *s)
{
    static const char *const name[] = {"aiag", "lash", "flat"};
    s->name = name[which];
    if (which == 0)
        read_aiag(s);
    else if (which == 1)
        lay_out(s, lash, 4, 2, 3);
    else
        lay_out(s, flat, 3, 2, 2);
}

/*
 * Printed by tests/r/gauge.R, R version 4.2.2 Patched (2022-11-10 r83330): sums of
 * squares and df of part, people, interaction and repeat; f, p, pooled ss and df;
 * categories with and without the term.
 */
static const double in_r[][14] = {
    {88.3619344444445, 3.16726222222222, 0.35898222222222, 2.75893333333333, 9, 2, 18, 60,
     0.4337210301351, 0.974106404329047, 3.11791555555555, 78, 4.71104944605145,
     4.87504136267811},
    {0.0529666666666666, 0.00426666666666667, 0.00243333333333332, 0.000666666666666664,
     3, 1, 3, 16, 19.4666666666667, 1.37346718331787e-05, 0.00309999999999999, 19,
     3.09512177966613, 3.39756730313817},
    {0.00035, 3.33333333333333e-05, 0.000216666666666667, 0.0029, 2, 1, 2, 6,
     0.224137931034482, 0.805606432465853, 0.00311666666666666, 8, 0.262612865719448, 0},
};

/* By the same script: components and their share of study, with and without the term. */
static const double var_in_r[][2][VB_VAR_COUNT] = {
    {{0.0459822222222222, 0.0521229218106996, 0, 0.0981051440329218, 1.0886721399177,
      1.18677728395062},
     {0.0399732763532763, 0.0514552611585945, 0, 0.0914285375118708, 1.08644660441068,
      1.17787514192255}},
    {{4.16666666666665e-05, 0.000287962962962964, 0.000256481481481481,
      0.000586111111111111, 0.0028074074074074, 0.00339351851851852},
     {0.000163157894736842, 0.000341959064327486, 0, 0.000505116959064328,
      0.00291539961013645, 0.00342051656920078}},
    {{0.000483333333333333, 0, 0, 0.000483333333333333, 1.66666666666667e-05, 0.0005},
     {0.000389583333333333, 0, 0, 0.000389583333333333, 0, 0.000389583333333333}},
};
static const double study_in_r[][2][VB_VAR_COUNT] = {
    {{19.6838644434699, 20.9570313877391, 0, 28.7515509845223, 95.7775981949037, 100},
     {18.4219349658524, 20.9009133684344, 0, 27.8606508811423, 96.0405337994282, 100}},
    {{11.0807528272968, 29.1301824693182, 27.4917822274389, 41.5589786202253,
      90.9552158814636, 100},
     {21.8402797640335, 31.618496205739, 0, 38.4282073805633, 92.3215731967151, 100}},
    {{98.3192080250175, 0, 0, 98.3192080250175, 18.2574185835058, 100},
     {100, 0, 0, 100, 0, 100}},
};

#define STUDIES (int)(sizeof in_r / sizeof *in_r)

START_TEST(aov_is_met)
{
    const double *e = in_r[_i];
    struct study d;
    struct vb_study s;
    get_study(_i, &d);
    ck_assert_int_eq(vb_study_crossed(d.r, d.n, &s, NULL), VB_OK);
    const struct vb_study_sum *row[] = {&s.with.part, &s.with.people, &s.with.interaction,
                                        &s.with.repeat};
    for (int i = 0; i < 4; i++) {
        near_r(row[i]->ss, e[i], d.name, "ss");
        ck_assert(row[i]->df == e[4 + i]);
        ck_assert(row[i]->ms == row[i]->ss / row[i]->df);
    }
    near_r(s.f, e[8], d.name, "f");
    near_r(s.p, e[9], d.name, "p");
    ck_assert_int_eq(s.pooled, e[9] > 0.25);
    near_r(s.without.repeat.ss, e[10], d.name, "pooled ss");
    ck_assert(s.without.repeat.df == e[11]);
    ck_assert(s.without.interaction.df == 0 && isnan(s.without.interaction.ms));
    ck_assert(s.without.part.ss == s.with.part.ss);
    ck_assert_ptr_eq(vb_study_used(&s), s.pooled ? &s.without : &s.with);
    for (int k = 0; k < 2; k++) {
        const struct vb_study_model *m = k ? &s.without : &s.with;
        for (int i = 0; i < VB_VAR_COUNT; i++) {
            double share = study_in_r[_i][k][i];
            near_r(m->var[i], var_in_r[_i][k][i], d.name, "var");
            near_r(m->study_pct[i], share, d.name, "study");
            near_r(m->share_pct[i], share * share / 100, d.name, "share");
        }
        ck_assert(m->categories == fmax(1, floor(e[12 + k])));
    }
}
END_TEST

/* The figures of the AIAG manual (SOURCES: sums with the term, the rest pooled). */
START_TEST(aiag_manual_is_met)
{
    struct study d;
    struct vb_study s;
    get_study(0, &d);
    ck_assert_int_eq(vb_study_crossed(d.r, d.n, &s, NULL), VB_OK);
    ck_assert(s.parts == 10 && s.people == 3 && s.trials == 3);
    PRINTED(s.with.part.ss, 88.3619, 1e-4);
    PRINTED(s.with.people.ss, 3.1673, 1e-4);
    PRINTED(s.with.interaction.ss, 0.3590, 1e-4);
    PRINTED(s.with.repeat.ss, 2.7589, 1e-4);
    ck_assert_int_eq(s.pooled, 1);
    const struct vb_study_model *m = vb_study_used(&s);
    PRINTED(m->var[VB_VAR_REPEAT], 0.03997, 1e-5);
    PRINTED(m->var[VB_VAR_PEOPLE], 0.05146, 1e-5);
    PRINTED(m->var[VB_VAR_GAUGE], 0.09143, 1e-5);
    PRINTED(m->var[VB_VAR_PART], 1.08645, 1e-5);
    PRINTED(m->share_pct[VB_VAR_GAUGE], 7.76, 1e-2);
    PRINTED(m->study_pct[VB_VAR_GAUGE], 27.86, 1e-2);
    ck_assert(m->categories == 4);
}
END_TEST

/* Knuth's MMIX generator. */
static size_t
below(size_t n)
{
    static unsigned long long lcg = 20240401;
    lcg = lcg * 6364136223846793005ULL + 1442695040888963407ULL;
    return (size_t)(lcg >> 33) % n;
}

static void
shuffle(struct study *s)
{
    for (size_t i = s->n - 1; i > 0; i--) {
        size_t j = below(i + 1);
        struct vb_study_reading t = s->r[i];
        s->r[i] = s->r[j];
        s->r[j] = t;
    }
}

START_TEST(order_of_rows_changes_no_bit)
{
    struct study d;
    struct vb_study a, b;
    memset(&a, 0, sizeof a);
    memset(&b, 0, sizeof b);
    get_study(_i, &d);
    ck_assert_int_eq(vb_study_crossed(d.r, d.n, &a, NULL), VB_OK);
    for (int k = 0; k < 20; k++) {
        shuffle(&d);
        ck_assert_int_eq(vb_study_crossed(d.r, d.n, &b, NULL), VB_OK);
        ck_assert_mem_eq(&a, &b, sizeof a);
    }
}
END_TEST

/* Trials within a cell carry no meaning: numbered anew, they change rounding at most. */
START_TEST(constants_and_names_change_nothing)
{
    struct study d;
    struct vb_study a, b;
    get_study(_i, &d);
    ck_assert_int_eq(vb_study_crossed(d.r, d.n, &a, NULL), VB_OK);
    for (size_t i = 0; i < d.n; i++) {
        d.r[i].value += 4;
        d.r[i].part = 5000 - 7 * d.r[i].part;
        d.r[i].person = SIZE_MAX - d.r[i].person;
        d.r[i].trial = 100 - d.r[i].trial;
    }
    ck_assert_int_eq(vb_study_crossed(d.r, d.n, &b, NULL), VB_OK);
    for (int i = 0; i < VB_VAR_COUNT; i++) {
        // Adding 4 rounds each reading to 4e-16, and readings differ by 0.01 at least.
        double tol = 1e-12 * a.with.var[VB_VAR_TOTAL];
        ck_assert_double_eq_tol(a.with.var[i], b.with.var[i], tol);
        ck_assert_double_eq_tol(a.without.var[i], b.without.var[i], tol);
    }
    ck_assert_double_eq_tol(a.p, b.p, 1e-9);
}
END_TEST

/* The four sums of squares make up the whole, and parts and people trade places. */
START_TEST(sums_add_up)
{
    struct study d;
    struct vb_study a, b;
    double mean = 0, ss = 0;
    get_study(_i, &d);
    ck_assert_int_eq(vb_study_crossed(d.r, d.n, &a, NULL), VB_OK);
    for (size_t i = 0; i < d.n; i++)
        mean += d.r[i].value / (double)d.n;
    for (size_t i = 0; i < d.n; i++) {
        size_t t = d.r[i].part;
        ss += pow(d.r[i].value - mean, 2);
        d.r[i].part = d.r[i].person;
        d.r[i].person = t;
    }
    const struct vb_study_model *m = &a.with;
    double parts = m->part.ss + m->people.ss + m->interaction.ss + m->repeat.ss;
    ck_assert_double_eq_tol(parts, ss, 1e-12 * ss);
    ck_assert_int_eq(vb_study_crossed(d.r, d.n, &b, NULL), VB_OK);
    ck_assert_double_eq_tol(b.with.part.ss, m->people.ss, 1e-12 * ss);
    ck_assert_double_eq_tol(b.with.people.ss, m->part.ss, 1e-12 * ss);
    ck_assert_double_eq_tol(b.f, a.f, 1e-11 * a.f);
}
END_TEST

/* By chance p is anything from 0 to 1; the AIAG manual pools above 0.25. */
START_TEST(pooled_above_a_quarter)
{
    int near = 0;
    for (int k = 0; k < 500; k++) {
        struct study d = {0};
        struct vb_study s;
        double y[12];
        for (int i = 0; i < 12; i++)
            y[i] = (double)below(1000);
        lay_out(&d, y, 3, 2, 2);
        ck_assert_int_eq(vb_study_crossed(d.r, d.n, &s, NULL), VB_OK);
        ck_assert_int_eq(s.pooled, s.p > 0.25);
        near += fabs(s.p - 0.25) < 0.05;
    }
    ck_assert_int_ge(near, 20);
}
END_TEST

/* A coarse gauge shows the same number again and again. */
START_TEST(gauge_without_scatter)
{
    const double same[] = {0.3, 0.3, 0.3, 0.3, 0.3, 0.3, 0.3, 0.3, 0.3, 0.3, 0.3, 0.3};
    const double parts[] = {0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.7, 0.7, 0.7, 0.7, 0.7, 0.7};
    const double steps[] = {0.1, 0.1, 0.1, 0.2, 0.2, 0.2, 0.7, 0.7, 0.7, 0.8, 0.8, 0.8};
    const double cross[] = {0.1, 0.1, 0.1, 0.2, 0.2, 0.2, 0.7, 0.7, 0.7, 0.7, 0.7, 0.7};
    struct study d = {0};
    struct vb_study s;
    lay_out(&d, same, 2, 2, 3);
    ck_assert_int_eq(vb_study_crossed(d.r, d.n, &s, NULL), VB_OK);
    ck_assert(s.with.var[VB_VAR_TOTAL] == 0 && isnan(s.with.share_pct[VB_VAR_GAUGE]));
    ck_assert(isnan(s.f) && s.p == 1 && s.pooled && s.with.categories == 1);

    lay_out(&d, parts, 2, 2, 3);
    ck_assert_int_eq(vb_study_crossed(d.r, d.n, &s, NULL), VB_OK);
    ck_assert_double_eq_tol(s.without.var[VB_VAR_PART], 0.18, 1e-15); // 0.6^2 / 2
    ck_assert(s.without.var[VB_VAR_GAUGE] == 0 && isinf(s.without.categories));
    ck_assert(s.without.study_pct[VB_VAR_PART] == 100);

    // One person reads 0.1 more throughout: no interaction, but for rounding of 1e-17.
    lay_out(&d, steps, 2, 2, 3);
    ck_assert_int_eq(vb_study_crossed(d.r, d.n, &s, NULL), VB_OK);
    ck_assert(s.p == 1 && s.pooled && s.with.interaction.ss == 0);
    ck_assert_double_eq_tol(s.without.var[VB_VAR_PEOPLE], 0.005, 1e-15);

    lay_out(&d, cross, 2, 2, 3);
    ck_assert_int_eq(vb_study_crossed(d.r, d.n, &s, NULL), VB_OK);
    ck_assert(isinf(s.f) && s.p == 0 && !s.pooled);
    ck_assert_double_eq_tol(s.with.var[VB_VAR_INTERACTION], 0.0025, 1e-15);

    // Small against the readings, but far above their rounding of 1e-14.
    for (size_t i = 0; i < d.n; i++)
        d.r[i].value = 100 + 1e-9 * flat[i];
    ck_assert_int_eq(vb_study_crossed(d.r, d.n, &s, NULL), VB_OK);
    ck_assert(s.with.repeat.ss > 0 && s.with.interaction.ss > 0);
}
END_TEST

static void
refused(const struct vb_study_reading *r, size_t n, const char *says)
{
    struct vb_study s = {.parts = 77, .p = 5};
    struct vb_msg m = {.text = ""};
    ck_assert_int_eq(vb_study_crossed(r, n, &s, &m), VB_EDOM);
    ck_assert_str_eq(m.text, says);
    ck_assert_int_eq(vb_study_crossed(r, n, &s, NULL), VB_EDOM);
    ck_assert(s.parts == 77 && s.p == 5);
}

START_TEST(study_names_the_culprit)
{
    struct study d;
    get_study(2, &d);
    refused(d.r, 0, "no readings");
    refused(d.r, 4, "only one part, at least two are needed");
    refused(d.r, 11, "part 3, person 2, trial 2 is missing");
    refused(d.r + 1, 11, "part 1, person 1, trial 1 is missing");
    d.r[6].person = 3; // part 2, person 2, trial 1 becomes person 3
    shuffle(&d);
    refused(d.r, 12, "part 1, person 3, trial 1 is missing");
    get_study(2, &d);
    d.r[8].trial = 3;
    refused(d.r, 12, "part 1, person 1, trial 3 is missing");
    get_study(2, &d);
    d.r[3] = d.r[9];
    shuffle(&d);
    refused(d.r, 12, "part 3, person 1, trial 2 is there twice");
    const double bad[] = {NAN, INFINITY, -INFINITY};
    for (int i = 0; i < 3; i++) {
        get_study(2, &d);
        d.r[7].value = bad[i];
        shuffle(&d);
        refused(d.r, 12, "part 2, person 2, trial 2 has no number");
    }
    get_study(2, &d);
    d.r[7].value = 1e200;
    refused(d.r, 12, "values too large for their squares, or too many");
}
END_TEST

START_TEST(study_wants_two_of_each)
{
    struct study d = {0};
    struct vb_study s;
    lay_out(&d, flat, 6, 1, 2);
    refused(d.r, 12, "only one person, at least two are needed");
    lay_out(&d, flat, 6, 2, 1);
    refused(d.r, 12, "only one trial, at least two are needed");
    ck_assert_int_eq(vb_study_crossed(d.r, SIZE_MAX, &s, NULL), VB_EMEM);
}
END_TEST

/* Interaction and repeats of 1.2e308 mm2 each: each is a number, their sum is none. */
START_TEST(squares_beyond_all_numbers)
{
    const double a = 3.87e153;
    const double y[] = {2 * a, 0, 0, -2 * a, 0, -2 * a, 2 * a, 0};
    struct study d = {0};
    lay_out(&d, y, 2, 2, 2);
    refused(d.r, 8, "values too large for their squares, or too many");
}
END_TEST

/* --- two gauges -------------------------------------------------------------------- */

/* Invented; tests/r/gauge.R has the same numbers. */
static const double dial[] = {0.213, 0.305, 0.287, 0.241, 0.336, 0.298,
                              0.254, 0.312, 0.229, 0.271, 0.344, 0.262};
static const double blade[] = {0.22, 0.3,  0.3,  0.25, 0.33, 0.31,
                               0.26, 0.32, 0.24, 0.27, 0.36, 0.26};
/* Bland & Altman (1986), peak flow, l/min, first readings by two meters. */
static const double large[] = {494, 395, 516, 434, 476, 557, 413, 442, 650,
                               433, 417, 656, 267, 478, 178, 423, 427};
static const double mini[] = {512, 430, 520, 428, 500, 600, 364, 380, 658,
                              445, 432, 626, 260, 477, 259, 350, 451};

struct agree_case {
    const char *name;
    const double *a, *b;
    size_t n;
    double confidence;
};

static const struct agree_case agree_cases[] = {
    {"gauges 95", dial, blade, 12, 0.95},
    {"gauges 99", dial, blade, 12, 0.99},
    {"peak flow", large, mini, 17, 0.95},
};

/*
 * Printed by tests/r/gauge.R (t.test, and the limits by their definition): mean, sd, lo,
 * hi, confidence limits of mean, lo and hi, t, p.
 */
static const double agree_want[][12] = {
    {-0.00566666666666667, 0.007389591369356, -0.0201502657506044, 0.00881693241727109,
     -0.0103617890245156, -0.000971544308817756, -0.028410770387974, -0.0118897611132348,
     0.000556427779901496, 0.0170774370546407, -2.65642688090316, 0.0223287042159243},
    {-0.00566666666666667, 0.007389591369356, -0.0201502657506044, 0.00881693241727109,
     -0.012291946052764, 0.000958612719430678, -0.0318066501686242, -0.00849388133258466,
     -0.00283945200074868, 0.0204733168352909, -2.65642688090316, 0.0223287042159243},
    {-2.11764705882353, 38.7651298736074, -78.097301611094, 73.8620074934469,
     -22.0488376966452, 17.8135435789981, -112.853377909195, -43.341225312993,
     39.1059311953459, 108.618083791548, -0.225235476568145, 0.824647673530377},
};

#define AGREE_CASES (int)(sizeof agree_cases / sizeof *agree_cases)

START_TEST(t_test_is_met)
{
    const struct agree_case *c = &agree_cases[_i];
    const double *want = agree_want[_i];
    struct vb_agree g;
    ck_assert_int_eq(vb_gauges_agree(c->a, c->b, c->n, c->confidence, &g), VB_OK);
    const double got[] = {g.mean,       g.sd,       g.lo,       g.hi,       g.mean_ci[0],
                          g.mean_ci[1], g.lo_ci[0], g.lo_ci[1], g.hi_ci[0], g.hi_ci[1]};
    // A reading of 0.3 is rounded to 6e-17, 1e-14 of sd.
    for (size_t i = 0; i < 10; i++)
        ck_assert_msg(fabs(got[i] - want[i]) <= 1e-12 * want[1],
                      "%s %zu: %.15g, R has %.15g", c->name, i, got[i], want[i]);
    near_r(g.t, want[10], c->name, "t");
    near_r(g.p, want[11], c->name, "p");
    ck_assert_uint_eq(g.n, c->n);
    ck_assert(g.df == (double)(c->n - 1));
}
END_TEST

/* The paper prints a mean difference of -2.1 and a standard deviation of 38.8 l/min. */
START_TEST(bland_and_altman_are_met)
{
    struct vb_agree g;
    ck_assert_int_eq(vb_gauges_agree(large, mini, 17, 0.95, &g), VB_OK);
    PRINTED(g.mean, -2.1, 0.1);
    PRINTED(g.sd, 38.8, 0.1);
}
END_TEST

/* Exchanged gauges change signs and nothing else; a constant shifts what it must. */
START_TEST(agreement_is_symmetric)
{
    const struct agree_case *c = &agree_cases[_i];
    struct vb_agree a, b;
    double up[17];
    ck_assert_int_eq(vb_gauges_agree(c->a, c->b, c->n, 0.95, &a), VB_OK);
    ck_assert_int_eq(vb_gauges_agree(c->b, c->a, c->n, 0.95, &b), VB_OK);
    ck_assert(a.mean == -b.mean && a.sd == b.sd && a.lo == -b.hi && a.hi == -b.lo);
    ck_assert(a.t == -b.t && a.p == b.p && a.lo_ci[0] == -b.hi_ci[1]);
    for (size_t i = 0; i < c->n; i++)
        up[i] = c->a[i] + 2;
    ck_assert_int_eq(vb_gauges_agree(up, c->b, c->n, 0.95, &b), VB_OK);
    ck_assert_double_eq_tol(b.mean, a.mean + 2, 1e-14 * 3);
    ck_assert_double_eq_tol(b.sd, a.sd, 1e-12 * a.sd);
}
END_TEST

START_TEST(gauges_that_never_differ)
{
    const double a[] = {0.25, 0.5, 0.75}, b[] = {0.125, 0.375, 0.625};
    const double tenth[] = {0.1, 0.1, 0.1}, none[] = {0, 0, 0}; // 3 x 0.1 is not 0.3
    struct vb_agree g;
    ck_assert_int_eq(vb_gauges_agree(tenth, none, 3, 0.95, &g), VB_OK);
    ck_assert(g.mean == 0.1 && g.sd == 0 && g.t == INFINITY && g.p == 0);
    ck_assert_int_eq(vb_gauges_agree(a, a, 3, 0.95, &g), VB_OK);
    ck_assert(g.mean == 0 && g.sd == 0 && g.t == 0 && g.p == 1 && g.hi_ci[1] == 0);
    ck_assert_int_eq(vb_gauges_agree(b, a, 3, 0.95, &g), VB_OK);
    ck_assert(g.mean == -0.125 && g.sd == 0 && g.t == -INFINITY && g.p == 0);
}
END_TEST

START_TEST(agreement_refuses)
{
    const double a[] = {0.25, 0.5, 0.75}, bad[] = {1, NAN, 1}, inf[] = {1, 1, INFINITY};
    const double huge[] = {1e200, -1e200, 1};
    const double p[] = {0, 1, -0.1, 1.1, NAN};
    struct vb_agree g = {.n = 77};
    for (size_t i = 0; i < sizeof p / sizeof *p; i++)
        ck_assert_int_eq(vb_gauges_agree(a, a, 3, p[i], &g), VB_EDOM);
    ck_assert_int_eq(vb_gauges_agree(a, a, 1, 0.95, &g), VB_EDOM);
    ck_assert_int_eq(vb_gauges_agree(a, a, 0, 0.95, &g), VB_EDOM);
    ck_assert_int_eq(vb_gauges_agree(a, bad, 3, 0.95, &g), VB_EDOM);
    ck_assert_int_eq(vb_gauges_agree(inf, a, 3, 0.95, &g), VB_EDOM);
    ck_assert_int_eq(vb_gauges_agree(inf, inf, 3, 0.95, &g), VB_EDOM);
    ck_assert_int_eq(vb_gauges_agree(huge, a, 3, 0.95, &g), VB_EDOM);
    ck_assert_uint_eq(g.n, 77);
}
END_TEST

/* --- standard uncertainties -------------------------------------------------------- */

/* JCGM 100:2008 4.3.7: half width a, u = a / sqrt(3). */
START_TEST(rectangular_distributions)
{
    double u = 7, y = 8;
    ck_assert_int_eq(vb_u_resolution(0.01, &u), VB_OK);
    ck_assert_double_eq_tol(u, 0.005 / sqrt(3), 1e-17);
    // F.2.2.1: "a standard uncertainty of u = 0.29 delta x".
    ck_assert_int_eq(vb_u_resolution(1, &u), VB_OK);
    PRINTED(u, 0.29, 1e-2);
    ck_assert_int_eq(vb_u_resolution(0, &u), VB_OK);
    ck_assert(u == 0);
    // TM 5-3820-233-12/1: the 0.011 in blade passes, the 0.013 in blade does not; in mm.
    ck_assert_int_eq(vb_u_go_nogo(0.2794, 0.3302, &y, &u), VB_OK);
    ck_assert_double_eq_tol(y, 0.3048, 1e-15);
    ck_assert_double_eq_tol(u, 0.0254 / sqrt(3), 1e-15);
}
END_TEST

START_TEST(rectangular_refuses)
{
    double u = 7, y = 8;
    ck_assert_int_eq(vb_u_resolution(-0.01, &u), VB_EDOM);
    ck_assert_int_eq(vb_u_resolution(NAN, &u), VB_EDOM);
    ck_assert_int_eq(vb_u_resolution(INFINITY, &u), VB_EDOM);
    ck_assert_int_eq(vb_u_go_nogo(0.3, 0.3, &y, &u), VB_EDOM);
    ck_assert_int_eq(vb_u_go_nogo(0.3, 0.2, &y, &u), VB_EDOM);
    ck_assert_int_eq(vb_u_go_nogo(NAN, 0.2, &y, &u), VB_EDOM);
    ck_assert_int_eq(vb_u_go_nogo(0.1, NAN, &y, &u), VB_EDOM);
    ck_assert_int_eq(vb_u_go_nogo(0.1, INFINITY, &y, &u), VB_EDOM);
    ck_assert_int_eq(vb_u_go_nogo(-INFINITY, 0.1, &y, &u), VB_EDOM);
    ck_assert_int_eq(vb_u_go_nogo(-1e308, 1e308, &y, &u), VB_EDOM);
    ck_assert(u == 7 && y == 8);
}
END_TEST

/*
 * JCGM 100:2008 example H.1, end gauge of 50 mm, nm. The components are from memory; they
 * give back the sums of the example: 9.7 nm with 25.6 degrees of freedom for the
 * comparison, 32 nm with 16, t 2.92, 93 nm. The example goes on with what it has rounded,
 * 9.7 and 32; with all digits U99 is 92.488, as tests/r/gauge.R prints.
 */
START_TEST(gum_h1_is_met)
{
    const double du[] = {5.8, 3.9, 6.7}, ddf[] = {24, 5, 8};
    const double u[] = {25, 5.8, 3.9, 6.7, 2.9, 16.6}, df[] = {18, 24, 5, 8, 50, 2};
    struct vb_u d, c;
    ck_assert_int_eq(vb_u_combine(du, ddf, 3, 0.99, &d), VB_OK);
    PRINTED(d.u, 9.7, 0.1);
    PRINTED(d.df * pow(9.7 / d.u, 4), 25.6, 0.1);
    ck_assert_int_eq(vb_u_combine(u, df, 6, 0.99, &c), VB_OK);
    PRINTED(c.u, 32, 1);
    ck_assert(floor(c.df) == 16);
    PRINTED(c.k, 2.92, 1e-2);
    PRINTED(c.k * round(c.u), 93, 1);
    near_r(c.u, 31.6655964731442, "H.1", "u");
    near_r(c.df, 16.7529983300131, "H.1", "df");
    near_r(c.k, 2.9207816224251, "H.1", "k");
    near_r(c.expanded, 92.4882922418885, "H.1", "U99");

    // Adding up in two steps is the same.
    const double u2[] = {25, d.u, 2.9, 16.6}, df2[] = {18, d.df, 50, 2};
    ck_assert_int_eq(vb_u_combine(u2, df2, 4, 0.95, &d), VB_OK);
    near_r(d.u, c.u, "H.1", "u in two steps");
    near_r(d.df, c.df, "H.1", "df in two steps");
    near_r(d.k, 2.11990529922125, "H.1", "k95");
    near_r(d.expanded, 67.1280657664202, "H.1", "U95");
}
END_TEST

/* One component is itself; df from its own; the normal where nothing limits it. */
START_TEST(single_and_exact_components)
{
    const double u[] = {0.003, 0.004, 0}, inf[] = {INFINITY, INFINITY, 5};
    const double one[] = {1, 1, 1}, twelve[] = {12};
    struct vb_u c;
    ck_assert_int_eq(vb_u_combine(u, NULL, 2, 0.95, &c), VB_OK);
    ck_assert_double_eq_tol(c.u, 0.005, 1e-17);
    ck_assert(isinf(c.df));
    near_r(c.k, 1.95996398454005, "normal", "k95");
    ck_assert_int_eq(vb_u_combine(u, inf, 3, 0.99, &c), VB_OK);
    ck_assert(isinf(c.df));
    near_r(c.k, 2.5758293035489, "normal", "k99");
    ck_assert_int_eq(vb_u_combine(u, twelve, 1, 0.95, &c), VB_OK);
    near_r(c.df, 12, "single", "df");
    near_r(c.k, 2.17881282966723, "single", "k"); // R qt(0.975, 12)
    // Two alike with one degree each have two together; a single one keeps its one.
    const double twice[] = {0.003, 0.003};
    ck_assert_int_eq(vb_u_combine(twice, one, 2, 0.95, &c), VB_OK);
    near_r(c.df, 2, "twice", "df");
    near_r(c.k, 4.30265272974946, "twice", "k"); // R qt(0.975, 2)
    ck_assert_int_eq(vb_u_combine(u, one, 1, 0.95, &c), VB_OK);
    near_r(c.k, 12.7062047361747, "one", "k"); // R qt(0.975, 1)
    // A trace of something ill known: 1e300 degrees of freedom are infinitely many.
    const double trace[] = {0.003, 3e-78};
    ck_assert_int_eq(vb_u_combine(trace, (double[]){INFINITY, 1}, 2, 0.95, &c), VB_OK);
    ck_assert(c.df > 1e299);
    near_r(c.k, 1.95996398454005, "trace", "k");
    ck_assert_int_eq(vb_u_combine(u + 2, one, 1, 0.95, &c), VB_OK);
    ck_assert(c.u == 0 && c.expanded == 0 && isinf(c.df));
}
END_TEST

START_TEST(combine_refuses)
{
    const double u[] = {0.003, 0.004}, df[] = {5, 6}, few[] = {5, 0.9}, none[] = {5, NAN};
    const double bad[] = {NAN, INFINITY, -0.001, 1e200};
    const double p[] = {0, 1, -0.1, 1.1, NAN};
    struct vb_u c = {.k = 7};
    for (size_t i = 0; i < sizeof p / sizeof *p; i++)
        ck_assert_int_eq(vb_u_combine(u, df, 2, p[i], &c), VB_EDOM);
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        const double v[] = {0.003, bad[i]};
        ck_assert_int_eq(vb_u_combine(v, df, 2, 0.95, &c), VB_EDOM);
        ck_assert_int_eq(vb_u_combine(v, NULL, 2, 0.95, &c), VB_EDOM);
    }
    ck_assert_int_eq(vb_u_combine(u, few, 2, 0.95, &c), VB_EDOM);
    ck_assert_int_eq(vb_u_combine(u, none, 2, 0.95, &c), VB_EDOM);
    ck_assert_int_eq(vb_u_combine(u, df, 0, 0.95, &c), VB_EDOM);
    ck_assert(c.k == 7);
}
END_TEST

static Suite *
gauge_suite(void)
{
    Suite *s = suite_create("gauge");
    TCase *t = tcase_create("study");
    tcase_add_loop_test(t, aov_is_met, 0, STUDIES);
    tcase_add_test(t, aiag_manual_is_met);
    tcase_add_loop_test(t, order_of_rows_changes_no_bit, 0, STUDIES);
    tcase_add_loop_test(t, constants_and_names_change_nothing, 0, STUDIES);
    tcase_add_loop_test(t, sums_add_up, 0, STUDIES);
    tcase_add_test(t, pooled_above_a_quarter);
    tcase_add_test(t, gauge_without_scatter);
    tcase_add_test(t, study_names_the_culprit);
    tcase_add_test(t, study_wants_two_of_each);
    tcase_add_test(t, squares_beyond_all_numbers);
    suite_add_tcase(s, t);

    t = tcase_create("two gauges");
    tcase_add_loop_test(t, t_test_is_met, 0, AGREE_CASES);
    tcase_add_test(t, bland_and_altman_are_met);
    tcase_add_loop_test(t, agreement_is_symmetric, 0, AGREE_CASES);
    tcase_add_test(t, gauges_that_never_differ);
    tcase_add_test(t, agreement_refuses);
    suite_add_tcase(s, t);

    t = tcase_create("uncertainty");
    tcase_add_test(t, rectangular_distributions);
    tcase_add_test(t, rectangular_refuses);
    tcase_add_test(t, gum_h1_is_met);
    tcase_add_test(t, single_and_exact_components);
    tcase_add_test(t, combine_refuses);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(gauge_suite());
}
