#include "suite.h"
#include "valvebook/mcf.h"

#include <check.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define ENGINES 41
#define SEATS   48
#define AGES    46

static struct vb_watch watch[ENGINES];
static struct vb_replaced seat[SEATS];
static double want[AGES][8];

/*
 * fixtures/reference/valveseat_data.csv: 41 diesel engines (R survival::valveSeat; Nelson &
 * Doganaksoy 1989; Nelson 1995): id, days, 1 a seat replaced or 0 the end of observation.
 */
static void
read_data(void)
{
    FILE *f = fopen("fixtures/reference/valveseat_data.csv", "r");
    char line[80];
    size_t n = 0, k = 0;
    int last = 0;
    ck_assert_msg(f != NULL, "run from the root of the repository");
    ck_assert_ptr_nonnull(fgets(line, sizeof line, f));
    while (fgets(line, sizeof line, f)) {
        int id, days, status;
        ck_assert_int_eq(sscanf(line, "%d,%d,%d", &id, &days, &status), 3);
        n += id != last;
        last = id;
        ck_assert(n <= ENGINES && k <= SEATS);
        watch[n - 1].engine = n - 1;
        watch[n - 1].from = 0;
        if (status == 0)
            watch[n - 1].to = days;
        else
            seat[k++] = (struct vb_replaced){n - 1, days, 1};
    }
    fclose(f);
    ck_assert(n == ENGINES && k == SEATS);
}

/* fixtures/reference/valveseat_mcf.csv: survfit of R survival and the formulas by hand. */
static void
read_want(void)
{
    FILE *f = fopen("fixtures/reference/valveseat_mcf.csv", "r");
    char line[200];
    size_t n = 0;
    ck_assert_msg(f != NULL, "run from the root of the repository");
    ck_assert_ptr_nonnull(fgets(line, sizeof line, f));
    while (n < AGES && fgets(line, sizeof line, f)) {
        char *p = line;
        for (int i = 0; i < 8; i++)
            want[n][i] = strtod(p, &p), p++;
        n++;
    }
    fclose(f);
    ck_assert_uint_eq(n, AGES);
}

static void
read_files(void)
{
    read_data();
    read_want();
}

static struct vb_mcf_step *
fit(const struct vb_watch *w, size_t n, size_t engines, const struct vb_replaced *r,
    size_t k, size_t *steps)
{
    struct vb_mcf_step *s = NULL;
    ck_assert_int_eq(vb_mcf_fit(w, n, engines, r, k, 0.95, &s, steps), VB_OK);
    return s;
}

/* time, n_at_risk, n_event, dbar, mcf, se_poisson, se_lawless_nadeau, all to 9 digits; the
 * file has 13 decimals. Bounds by their formula. */
START_TEST(valve_seats)
{
    size_t n;
    struct vb_mcf_step *s = fit(watch, ENGINES, ENGINES, seat, SEATS, &n);
    ck_assert_uint_eq(n, AGES);
    for (size_t i = 0; i < n; i++) {
        const double *w = want[i];
        ck_assert(s[i].age == w[0] && (double)s[i].at_risk == w[1] && s[i].count == w[2]);
        ck_assert_double_eq_tol(s[i].mcf, w[4], 1e-9 * w[4]);
        ck_assert_double_eq_tol(s[i].se_poisson, w[5], 1e-9 * w[5]);
        ck_assert_double_eq_tol(s[i].se, w[6], 1e-9 * w[6]);
        double wide = exp(1.959963984540054 * fmax(w[5], w[6]) / w[4]); // qnorm(0.975)
        ck_assert_double_eq_tol(s[i].lo, w[4] / wide, 1e-9);
        ck_assert_double_eq_tol(s[i].hi, w[4] * wide, 1e-9);
    }
    free(s);
}
END_TEST

/*
 * The traps of that data: MCF(653) = 1.542688, robust se 0.311656. Two seats replaced on one
 * day are two: with one of each pair dropped the last value is 1.407186. An engine is at risk
 * at its own end: one ended at 653 days, which is one of the 9 at risk there.
 */
START_TEST(traps)
{
    size_t n, pairs = 0;
    struct vb_mcf_step *s = fit(watch, ENGINES, ENGINES, seat, SEATS, &n);
    ck_assert_double_eq_tol(s[n - 1].mcf, 1.542688, 5e-7);
    ck_assert_double_eq_tol(s[n - 1].se, 0.311656, 5e-7);
    ck_assert_uint_eq(s[n - 1].at_risk, 9);
    free(s);
    struct vb_replaced once[SEATS];
    size_t k = 0;
    for (size_t i = 0; i < SEATS; i++)
        if (i > 0 && seat[i].watch == seat[i - 1].watch && seat[i].age == seat[i - 1].age)
            pairs++;
        else
            once[k++] = seat[i];
    ck_assert_uint_eq(pairs, 2);
    s = fit(watch, ENGINES, ENGINES, once, k, &n);
    ck_assert_double_eq_tol(s[n - 1].mcf, 1.407186, 5e-7);
    free(s);
    size_t end_there = 0, go_on = 0;
    for (size_t i = 0; i < ENGINES; i++) {
        end_there += watch[i].to == 653;
        go_on += watch[i].to > 653;
    }
    ck_assert(end_there > 0 && end_there + go_on == 9);
}
END_TEST

/* A pair may come as two rows or as one row of two; rows in any order; engines too. */
START_TEST(rows_may_come_in_any_way)
{
    size_t n, m, k = 0;
    struct vb_mcf_step *s = fit(watch, ENGINES, ENGINES, seat, SEATS, &n);
    struct vb_replaced r[SEATS];
    struct vb_watch w[ENGINES];
    for (size_t i = 0; i < ENGINES; i++) {
        size_t j = (i * 17 + 5) % ENGINES;
        w[j] = watch[i];
        w[j].engine = j;
    }
    for (size_t i = SEATS; i-- > 0;) {
        struct vb_replaced x = {(seat[i].watch * 17 + 5) % ENGINES, seat[i].age, 1};
        if (k && r[k - 1].watch == x.watch && r[k - 1].age == x.age)
            r[k - 1].count++;
        else
            r[k++] = x;
    }
    ck_assert_uint_lt(k, SEATS);
    struct vb_mcf_step *t = fit(w, ENGINES, ENGINES, r, k, &m);
    ck_assert_uint_eq(n, m);
    for (size_t i = 0; i < n; i++) {
        ck_assert(s[i].age == t[i].age && s[i].count == t[i].count);
        ck_assert_double_eq_tol(s[i].mcf, t[i].mcf, 1e-13);
        ck_assert_double_eq_tol(s[i].se, t[i].se, 1e-13);
        ck_assert_double_eq_tol(s[i].se_poisson, t[i].se_poisson, 1e-13);
    }
    free(s);
    free(t);
}
END_TEST

/*
 * By hand: engine 0 from 0 to 10, engine 1 from 4 to 12, engine 0 built anew and again from 0
 * to 6. One replaced of engine 0 at 3: 2 at risk, its two builds; one of engine 1 at 5: 3 at
 * risk; one of engine 1 at 12, alone. MCF 1/2, 5/6, 11/6. Engine 0: (1 - 2/2)/2 = 0, then
 * - 2/3 / 3 = -2/9; engine 1: 0, then (1 - 1/3) / 3 = 2/9: se 0, sqrt(8)/9, the same.
 */
START_TEST(late_entry_and_builds_by_hand)
{
    const struct vb_watch w[] = {{0, 0, 10}, {1, 4, 12}, {0, 0, 6}};
    const struct vb_replaced r[] = {{1, 12, 1}, {0, 3, 1}, {1, 5, 1}};
    const double mcf[] = {1.0 / 2, 5.0 / 6, 11.0 / 6}, risk[] = {2, 3, 1};
    const double se[] = {0, sqrt(8) / 9, sqrt(8) / 9};
    const double poisson[] = {1.0 / 4, 1.0 / 4 + 1.0 / 9, 1.0 / 4 + 1.0 / 9 + 1};
    size_t n;
    struct vb_mcf_step *s = fit(w, 3, 2, r, 3, &n);
    ck_assert_uint_eq(n, 3);
    for (size_t i = 0; i < n; i++) {
        ck_assert((double)s[i].at_risk == risk[i]);
        ck_assert_double_eq_tol(s[i].mcf, mcf[i], 1e-15);
        ck_assert_double_eq_tol(s[i].se, se[i], 1e-15);
        ck_assert_double_eq_tol(s[i].se_poisson, sqrt(poisson[i]), 1e-15);
    }
    free(s);
}
END_TEST

/* At its start an engine is not at risk, at its end it is. */
START_TEST(ends_of_a_watch)
{
    const struct vb_watch w[] = {{0, 0, 5}, {1, 5, 9}, {2, 0, 9}};
    const struct vb_replaced r[] = {{0, 5, 1}}, early[] = {{1, 5, 1}},
                             late[] = {{0, 5.01, 1}};
    size_t n;
    struct vb_mcf_step *s = fit(w, 3, 3, r, 1, &n), *kept = s;
    ck_assert_uint_eq(s[0].at_risk, 2);
    ck_assert_int_eq(vb_mcf_fit(w, 3, 3, early, 1, 0.95, &s, &n), VB_EDOM);
    ck_assert_int_eq(vb_mcf_fit(w, 3, 3, late, 1, 0.95, &s, &n), VB_EDOM);
    ck_assert(s == kept && n == 1);
    free(s);
}
END_TEST

START_TEST(refused)
{
    const struct vb_watch good = {0, 0, 5};
    const struct vb_replaced one = {0, 3, 1};
    const struct vb_watch bad_watch[] = {
        {1, 0, 5}, {0, 5, 5}, {0, 6, 5}, {0, NAN, 5}, {0, 0, INFINITY}};
    const struct vb_replaced bad_replaced[] = {{1, 3, 1}, {0, 0, 1},  {0, NAN, 1},
                                               {0, 3, 0}, {0, 3, -1}, {0, 3, NAN}};
    struct vb_mcf_step *s = NULL;
    size_t n = 7;
    for (size_t i = 0; i < sizeof bad_watch / sizeof *bad_watch; i++)
        ck_assert_int_eq(vb_mcf_fit(&bad_watch[i], 1, 1, &one, 1, 0.95, &s, &n), VB_EDOM);
    for (size_t i = 0; i < sizeof bad_replaced / sizeof *bad_replaced; i++)
        ck_assert_int_eq(vb_mcf_fit(&good, 1, 1, &bad_replaced[i], 1, 0.95, &s, &n),
                         VB_EDOM);
    ck_assert_int_eq(vb_mcf_fit(&good, 1, 1, &one, 1, 0, &s, &n), VB_EDOM);
    ck_assert_int_eq(vb_mcf_fit(&good, 1, 1, &one, 1, 1, &s, &n), VB_EDOM);
    ck_assert(s == NULL && n == 7);
    ck_assert_int_eq(vb_mcf_fit(&good, 1, 1, NULL, 0, 0.95, &s, &n), VB_OK);
    ck_assert(s == NULL && n == 0);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("mcf");
    TCase *c = tcase_create("mcf");
    tcase_add_checked_fixture(c, read_files, NULL);
    tcase_add_test(c, valve_seats);
    tcase_add_test(c, traps);
    tcase_add_test(c, rows_may_come_in_any_way);
    tcase_add_test(c, late_entry_and_builds_by_hand);
    tcase_add_test(c, ends_of_a_watch);
    tcase_add_test(c, refused);
    suite_add_tcase(s, c);
    return run_suite(s);
}
