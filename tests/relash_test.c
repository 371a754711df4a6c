#include "suite.h"
#include "valvebook/relash.h"

#include <check.h>
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define RATES 8

static const double rate[RATES] = {-1.31e-4, -0.92e-4, -1.55e-4, -1.12e-4,
                                   -1.78e-4, -0.71e-4, -1.24e-4, -1.4e-4};
static const double se[RATES] = {0.2e-4, 0.25e-4, 0.15e-4, 0.3e-4,
                                 0.2e-4, 0.2e-4,  0.35e-4, 0.15e-4};

static struct vb_relash_side
sure(double tight, double level, double sd, int valves, double mu, double tau,
     double sd_mu)
{
    struct vb_relash_side s = {
        .tight = tight, .level = level, .var = sd * sd, .valves = valves};
    vb_belief_sure(mu, tau * tau, &s.rates);
    s.rates.node[0].var_mu = sd_mu * sd_mu;
    return s;
}

static struct vb_relash_side
from_rates(size_t n, int valves)
{
    struct vb_relash_side s = {
        .tight = 0.2, .level = 0.4, .var = 0.012 * 0.012, .valves = valves};
    double var[RATES];
    for (size_t i = 0; i < RATES; i++)
        var[i] = se[i] * se[i];
    ck_assert_int_eq(vb_belief_fit(rate, var, n, &s.rates), VB_OK);
    return s;
}

/* The cases of tests/r/relash.R, in its order. */
static size_t
sides_of(int i, struct vb_relash_side *s)
{
    const struct vb_relash_side inlet = sure(0.1, 0.252, 0.014, 6, -6e-5, 1.5e-5, 4e-6);
    const struct vb_relash_side doubt = sure(0.2, 0.398, 0.015, 6, -1.2e-4, 2.5e-5, 6e-6);
    switch (i) {
    case 0: s[0] = sure(0.2, 0.398, 0.015, 6, -1.2e-4, 2.5e-5, 0); return 1;
    case 1: s[0] = doubt; return 1;
    case 2: s[0] = sure(0.2, 0.398, 0.003, 6, -1.2e-4, 1e-5, 9e-5); return 1;
    case 3: s[0] = inlet, s[1] = doubt; return 2;
    case 4: s[0] = from_rates(RATES, 6); return 1;
    case 5: s[0] = from_rates(3, 4); return 1;
    default: s[0] = inlet, s[1] = from_rates(RATES, 6); return 2;
    }
}

/* R 4.2.2, tests/r/relash.R: risks in 500 and 1200 h, gap of a risk of 1 %. Three rates leave
 * tau so open that the rule of 32 nodes is good to four digits. */
static const struct {
    const char *name;
    double risk500, risk1200, gap;
} want[] = {
    {"known", 4.727551683e-12, 0.2819302079, 958.70954},
    {"doubt", 8.505307569e-12, 0.2929743171, 949.590255},
    {"wide", 0.001913128572, 0.3616988536, 574.981258},
    {"sides", 8.58058069e-12, 0.2942388221, 949.547699},
    {"rates", 0.0003783901347, 0.4671195841, 720.739914},
    {"three", 0.01774903408, 0.3848622031, 405.124577},
    {"both", 0.0003783901348, 0.4680726328, 720.739883},
};

START_TEST(integrate_is_met)
{
    struct vb_relash_side s[2];
    size_t n = sides_of(_i, s);
    double risk, gap;
    ck_assert_int_eq(vb_relash_risk(s, n, 500, &risk), VB_OK);
    ck_assert_double_eq_tol(risk, want[_i].risk500, 1e-8 + 1e-4 * want[_i].risk500);
    ck_assert_int_eq(vb_relash_risk(s, n, 1200, &risk), VB_OK);
    ck_assert_double_eq_tol(risk, want[_i].risk1200, 1e-5);
    ck_assert_int_eq(vb_relash_gap(s, n, 0.01, 1e6, &gap), VB_OK);
    ck_assert_double_eq_tol(gap, want[_i].gap, 1e-4 * want[_i].gap);
    ck_assert_int_eq(vb_relash_risk(s, n, gap, &risk), VB_OK);
    ck_assert_double_eq_tol(risk, 0.01, 1e-8);
    ck_assert_double_le(risk, 0.01); // within it, not beyond
}
END_TEST

/* One valve, all known: the quantile of a normal, solved by hand for its gap. */
START_TEST(one_valve_closed_form)
{
    const struct vb_relash_side s = sure(0.2, 0.4, 0.015, 1, -1.2e-4, 2.5e-5, 0);
    double gap, z = gsl_cdf_ugaussian_Pinv(0.01);
    ck_assert_int_eq(vb_relash_gap(&s, 1, 0.01, 1e6, &gap), VB_OK);
    double left = 0.2 - 0.4 + 1.2e-4 * gap,
           sd = sqrt(0.015 * 0.015 + pow(2.5e-5 * gap, 2));
    ck_assert_double_eq_tol(left / sd, z, 1e-6);
    // nothing scatters: the very meter at which it is there
    const struct vb_relash_side exact = sure(0.2, 0.4, 0, 6, -1e-4, 0, 0);
    ck_assert_int_eq(vb_relash_gap(&exact, 1, 0.01, 1e6, &gap), VB_OK);
    ck_assert_double_eq_tol(gap, 2000, 1e-4);
    // only mu is in doubt: all valves pass together, however many there are
    const struct vb_relash_side together = sure(0.2, 0.4, 0, 6, -1e-4, 0, 1e-5);
    ck_assert_int_eq(vb_relash_gap(&together, 1, 0.01, 1e6, &gap), VB_OK);
    ck_assert_double_eq_tol(gap, 0.2 / (1e-4 - z * 1e-5), 1e-3);
}
END_TEST

/* More valves, more doubt, a tighter limit or a smaller risk make it shorter. */
START_TEST(what_makes_it_shorter)
{
    const struct vb_relash_side s[] = {sure(0.2, 0.4, 0.015, 6, -1.2e-4, 2.5e-5, 5e-6),
                                       sure(0.2, 0.4, 0.015, 7, -1.2e-4, 2.5e-5, 5e-6),
                                       sure(0.21, 0.4, 0.015, 6, -1.2e-4, 2.5e-5, 5e-6),
                                       sure(0.2, 0.39, 0.015, 6, -1.2e-4, 2.5e-5, 5e-6),
                                       sure(0.2, 0.4, 0.02, 6, -1.2e-4, 2.5e-5, 5e-6),
                                       sure(0.2, 0.4, 0.015, 6, -1.3e-4, 2.5e-5, 5e-6),
                                       sure(0.2, 0.4, 0.015, 6, -1.2e-4, 3e-5, 5e-6),
                                       sure(0.2, 0.4, 0.015, 6, -1.2e-4, 2.5e-5, 9e-6)};
    double base, gap;
    ck_assert_int_eq(vb_relash_gap(s, 1, 0.01, 1e6, &base), VB_OK);
    for (size_t i = 1; i < sizeof s / sizeof *s; i++) {
        ck_assert_int_eq(vb_relash_gap(&s[i], 1, 0.01, 1e6, &gap), VB_OK);
        ck_assert_double_lt(gap, base);
    }
    ck_assert_int_eq(vb_relash_gap(s, 1, 0.005, 1e6, &gap), VB_OK);
    ck_assert_double_lt(gap, base);
}
END_TEST

/* Valves that open, none that moves, settings all over the place. */
START_TEST(no_such_gap)
{
    const struct vb_relash_side opens = sure(0.2, 0.4, 0.015, 6, 1e-4, 0, 0);
    const struct vb_relash_side wild = sure(0.2, 0.22, 0.015, 6, -1e-4, 0, 0);
    double gap;
    ck_assert_int_eq(vb_relash_gap(&opens, 1, 0.01, 1e6, &gap), VB_OK);
    ck_assert(gap == 1e6);
    ck_assert_int_eq(vb_relash_gap(&wild, 1, 0.01, 1e6, &gap), VB_OK);
    ck_assert(gap == 0);
    // nothing moves
    const struct vb_relash_side still = sure(0.2, 0.4, 0.015, 6, 0, 0, 0);
    ck_assert_int_eq(vb_relash_gap(&still, 1, 0.01, 1e6, &gap), VB_OK);
    ck_assert(gap == 1e6);
}
END_TEST

/* Set on the limit itself half are beyond it at once; nine in ten when they have closed by
 * 1.2815515655 standard deviations, as R's qnorm(0.9) has it. */
START_TEST(set_on_the_limit)
{
    const struct vb_relash_side s = sure(0.2, 0.2, 0.02, 1, -1e-4, 0, 0);
    double gap;
    ck_assert_int_eq(vb_relash_gap(&s, 1, 0.9, 1e6, &gap), VB_OK);
    ck_assert_double_eq_tol(gap, 1.2815515655446 * 0.02 / 1e-4, 1e-4);
}
END_TEST

/* Set on the very limit, closing for certain and fast, so that no gap that a double can hold is
 * short enough: there is none. */
START_TEST(closes_at_once)
{
    const double mu[] = {-1e-5, -1, -30};
    for (int i = 0; i < 3; i++) {
        const struct vb_relash_side s = sure(0.2, 0.2, 0, 1, mu[i], 0, 0);
        double gap = 77;
        ck_assert_int_eq(vb_relash_gap(&s, 1, 0.01, 1e6, &gap), VB_OK);
        ck_assert_double_ge(gap, 0);
        ck_assert_double_le(gap, 1e-300);
    }
}
END_TEST

/*
 * Rates that are known exactly, or nearly so: the rate of a further valve is Student's t with
 * n - 1 degrees of freedom about the mean, scale sd sqrt(1 + 1/n) (the prediction interval of
 * a normal sample). One valve without any scatter of setting shows it.
 */
START_TEST(exact_rates_give_students_t)
{
    double var[RATES], mean = 0, ss = 0, risk;
    size_t n = (size_t)_i;
    struct vb_relash_side s = {.tight = 0.2, .level = 0.4, .var = 0, .valves = 1};
    for (size_t i = 0; i < n; i++) {
        var[i] = 1e-16;
        mean += rate[i] / (double)n;
    }
    for (size_t i = 0; i < n; i++)
        ss += (rate[i] - mean) * (rate[i] - mean);
    double scale = sqrt(ss / (double)(n - 1) * (1 + 1 / (double)n));
    ck_assert_int_eq(vb_belief_fit(rate, var, n, &s.rates), VB_OK);
    for (double gap = 600; gap < 2500; gap *= 1.5) {
        double t = ((0.2 - 0.4) / gap - mean) / scale;
        ck_assert_int_eq(vb_relash_risk(&s, 1, gap, &risk), VB_OK);
        ck_assert_double_eq_tol(risk, gsl_cdf_tdist_P(t, (double)(n - 1)), 2e-3);
    }
}
END_TEST

/*
 * 24 valves, of which six that are far from the others were read often. By moments (a weight a
 * reading) they scatter by 6.9e-5, and as if that were known the gap would be 603 h, less than
 * with the doubt.
 */
#define FAR 24
static size_t
far_rates(double *r, double *v)
{
    static const double six[] = {-2.0, -1.9, -1.8, -0.6, -0.5, -0.4};
    for (int i = 0; i < FAR; i++) {
        r[i] = 1e-4 * (i < 18 ? -1.2 + 0.04 * (i - 8.5) : six[i - 18]);
        v[i] = i < 18 ? 0.64e-10 : 0.04e-10;
    }
    return FAR;
}

static size_t
rates_of(int i, double *r, double *v)
{
    for (size_t k = 0; k < RATES; k++) {
        r[k] = i ? 1e-4 * (0.01 * (double)k - 1.01) : rate[k];
        v[k] = i ? 4e-10 : se[k] * se[k];
    }
    return i == 2 ? far_rates(r, v) : i ? 3 : RATES;
}

/* scipy 1.10.1, tests/r/relash_likeliest.py: mu, tau, gaps of a risk of 1 % if they were known,
 * and with the doubt (of three valves that are alike to within four digits, as above). */
static const struct {
    double mu, tau, known, doubtful;
} likeliest[] = {
    {-0.00012763294, 2.88284016e-05, 906.168879, 720.7399},
    {-0.0001, 0, 1647.93186, 630.1949},
    {-0.00012, 4.06071204e-05, 810.332305, 762.1879},
};

START_TEST(likeliest_is_met)
{
    double r[FAR], v[FAR], gap;
    size_t n = rates_of(_i, r, v);
    struct vb_relash_side s = {
        .tight = 0.2, .level = 0.4, .var = 0.012 * 0.012, .valves = 6};
    ck_assert_int_eq(vb_belief_likeliest(r, v, n, &s.rates), VB_OK);
    ck_assert_uint_eq(s.rates.n, 1);
    ck_assert_double_eq_tol(s.rates.node[0].mu, likeliest[_i].mu, 1e-12);
    ck_assert_double_eq_tol(sqrt(s.rates.node[0].tau2), likeliest[_i].tau, 1e-11);
    ck_assert(s.rates.node[0].var_mu == 0 && s.rates.node[0].weight == 1);
    ck_assert_int_eq(vb_relash_gap(&s, 1, 0.01, 1e6, &gap), VB_OK);
    ck_assert_double_eq_tol(gap, likeliest[_i].known, 1e-3);
    ck_assert_int_eq(vb_belief_fit(r, v, n, &s.rates), VB_OK);
    ck_assert_int_eq(vb_relash_gap(&s, 1, 0.01, 1e6, &gap), VB_OK);
    ck_assert_double_eq_tol(gap, likeliest[_i].doubtful, 1e-4 * likeliest[_i].doubtful);
}
END_TEST

START_TEST(likeliest_refuses)
{
    const double r[] = {1e-4, 2e-4, 3e-4}, one[] = {1, 1, 1}, bad[] = {1, 0, 1};
    const double none[] = {1e-4, NAN, 2e-4}, far[] = {1e200, -1e200, 0};
    struct vb_belief b = {.n = 77};
    ck_assert_int_eq(vb_belief_likeliest(r, one, 2, &b), VB_EDOM);
    ck_assert_int_eq(vb_belief_likeliest(r, bad, 3, &b), VB_EDOM);
    ck_assert_int_eq(vb_belief_likeliest(none, one, 3, &b), VB_EDOM);
    ck_assert_int_eq(vb_belief_likeliest(far, one, 3, &b), VB_EDOM);
    ck_assert_uint_eq(b.n, 77);
}
END_TEST

/* Weights add up to 1; a unit scales all; order means nothing. */
START_TEST(belief_properties)
{
    double r[RATES], v[RATES], v0[RATES], sum = 0;
    struct vb_belief a, b;
    for (size_t i = 0; i < RATES; i++) {
        v0[i] = se[i] * se[i];
        r[(3 * i + 1) % RATES] = 1e3 * rate[i];
        v[(3 * i + 1) % RATES] = 1e6 * v0[i];
    }
    ck_assert_int_eq(vb_belief_fit(rate, v0, RATES, &a), VB_OK);
    ck_assert_int_eq(vb_belief_fit(r, v, RATES, &b), VB_OK);
    for (size_t i = 0; i < a.n; i++) {
        sum += a.node[i].weight;
        ck_assert_double_eq_tol(b.node[i].weight, a.node[i].weight, 1e-9);
        ck_assert_double_eq_tol(b.node[i].mu, 1e3 * a.node[i].mu, 1e-10);
        ck_assert_double_eq_tol(b.node[i].tau2, 1e6 * a.node[i].tau2, 1e-10);
        ck_assert_double_eq_tol(b.node[i].var_mu, 1e6 * a.node[i].var_mu, 1e-10);
    }
    ck_assert_double_eq_tol(sum, 1, 1e-12);
    ck_assert_int_eq(vb_belief_fit(rate, v0, 2, &a), VB_EDOM);
    v0[1] = 0;
    ck_assert_int_eq(vb_belief_fit(rate, v0, RATES, &a), VB_EDOM);
    v0[1] = NAN;
    ck_assert_int_eq(vb_belief_fit(rate, v0, RATES, &a), VB_EDOM);
    const double none[] = {1e-4, NAN, 2e-4}, far[] = {1e200, -1e200, 0},
                 one[] = {1, 1, 1};
    ck_assert_int_eq(vb_belief_fit(none, one, 3, &a), VB_EDOM);
    ck_assert_int_eq(vb_belief_fit(far, one, 3, &a), VB_EDOM);
}
END_TEST

/*
 * By hand. Left 1 2 3 4 5: mean 3, A = 2.5, with the doubt about the mean 3. Each is found at
 * left - 0.1 h, less what the reading erred: with mu = -0.1 and gaps of 10 the change beyond
 * mu is d. d = 0: c = 0, and 3 + s2. d = -0.2 (left - 3): cov = -0.5, c = 0.5: 3 + s2 - 1.
 * s2 = 0.3: c is at most that, 3 - 0.3.
 */
START_TEST(setting_by_hand)
{
    struct vb_set set[5];
    struct vb_setting s;
    for (int i = 0; i < 5; i++)
        set[i] = (struct vb_set){i + 1, i + 1 - 1, 10, 20 + i, 0.8};
    ck_assert_int_eq(vb_setting_fit(set, 5, -0.1, &s), VB_OK);
    ck_assert(s.n == 5 && s.longest == 24);
    ck_assert_double_eq_tol(s.mean, 3, 1e-14);
    ck_assert_double_eq_tol(s.var, 3.8, 1e-14);
    ck_assert_double_eq_tol(s.stays, 0.8, 1e-14);
    for (int i = 0; i < 5; i++)
        set[i].found = i + 1 - 1 - 0.2 * (i + 1 - 3);
    ck_assert_int_eq(vb_setting_fit(set, 5, -0.1, &s), VB_OK);
    ck_assert_double_eq_tol(s.var, 2.8, 1e-13);
    ck_assert_double_eq_tol(s.stays, 0.3, 1e-13);
    for (int i = 0; i < 5; i++)
        set[i].s2 = 0.3;
    ck_assert_int_eq(vb_setting_fit(set, 5, -0.1, &s), VB_OK);
    ck_assert_double_eq_tol(s.var, 2.7, 1e-13);
    ck_assert(s.stays == 0);
    set[4].found = NAN; // four are too few to tell
    ck_assert_int_eq(vb_setting_fit(set, 5, -0.1, &s), VB_OK);
    ck_assert_double_eq_tol(s.var, 3.3, 1e-13);
    ck_assert_int_eq(vb_setting_fit(set, 4, -0.1, &s), VB_EDOM);
    ck_assert_int_eq(vb_setting_fit(set, 5, NAN, &s), VB_EDOM);
    set[0].left = NAN;
    ck_assert_int_eq(vb_setting_fit(set, 5, -0.1, &s), VB_EDOM);
}
END_TEST

START_TEST(refused)
{
    struct vb_relash_side good = sure(0.2, 0.4, 0.015, 6, -1e-4, 2e-5, 1e-5), s;
    double x = 7;
    ck_assert_int_eq(vb_relash_risk(&good, 0, 100, &x), VB_EDOM);
    ck_assert_int_eq(vb_relash_risk(&good, 1, -1, &x), VB_EDOM);
    ck_assert_int_eq(vb_relash_risk(&good, 1, NAN, &x), VB_EDOM);
    ck_assert_int_eq(vb_relash_gap(&good, 1, 0, 1e6, &x), VB_EDOM);
    ck_assert_int_eq(vb_relash_gap(&good, 1, 1, 1e6, &x), VB_EDOM);
    ck_assert_int_eq(vb_relash_gap(&good, 1, 0.01, 0, &x), VB_EDOM);
    ck_assert_int_eq(vb_relash_gap(&good, 1, 0.01, INFINITY, &x), VB_EDOM);
    s = good, s.tight = NAN;
    ck_assert_int_eq(vb_relash_gap(&s, 1, 0.01, 1e6, &x), VB_EDOM);
    s = good, s.var = -1;
    ck_assert_int_eq(vb_relash_risk(&s, 1, 100, &x), VB_EDOM);
    s = good, s.valves = 0;
    ck_assert_int_eq(vb_relash_risk(&s, 1, 100, &x), VB_EDOM);
    s = good, s.rates.n = 0;
    ck_assert_int_eq(vb_relash_risk(&s, 1, 100, &x), VB_EDOM);
    s = good, s.rates.n = VB_BELIEF_NODES + 1;
    ck_assert_int_eq(vb_relash_risk(&s, 1, 100, &x), VB_EDOM);
    s = good, s.rates.node[0].weight = -1;
    ck_assert_int_eq(vb_relash_risk(&s, 1, 100, &x), VB_EDOM);
    s = good, s.rates.node[0].var_mu = -1;
    ck_assert_int_eq(vb_relash_risk(&s, 1, 100, &x), VB_EDOM);
    s = good, s.rates.node[0].mu = NAN;
    ck_assert_int_eq(vb_relash_risk(&s, 1, 100, &x), VB_EDOM);
    s = good, s.rates.node[0].tau2 = -1;
    ck_assert_int_eq(vb_relash_risk(&s, 1, 100, &x), VB_EDOM);
    ck_assert(x == 7);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("relash");
    TCase *c = tcase_create("relash");
    tcase_add_loop_test(c, integrate_is_met, 0, 7);
    tcase_add_test(c, one_valve_closed_form);
    tcase_add_test(c, what_makes_it_shorter);
    tcase_add_test(c, no_such_gap);
    tcase_add_test(c, set_on_the_limit);
    tcase_add_test(c, closes_at_once);
    tcase_add_loop_test(c, exact_rates_give_students_t, 3, RATES + 1);
    tcase_add_loop_test(c, likeliest_is_met, 0, 3);
    tcase_add_test(c, likeliest_refuses);
    tcase_add_test(c, belief_properties);
    tcase_add_test(c, setting_by_hand);
    tcase_add_test(c, refused);
    suite_add_tcase(s, c);
    return run_suite(s);
}
