#include "draw.h"
#include "suite.h"
#include "valvebook/assign.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#define X VB_ASSIGN_NEVER

struct known {
    size_t rows, cols;
    int64_t cost[16];
    int64_t total;
    size_t column[4];
};

static const struct known cases[] = {
    {1, 1, {7}, 7, {0}},
    {1, 3, {7, 5, 6}, 5, {1}},
    // the example of scipy.optimize.linear_sum_assignment's page: 5, columns 1 0 2
    {3, 3, {4, 1, 3, 2, 0, 5, 3, 2, 2}, 5, {1, 0, 2}},
    // by hand: greedy takes 1 and then must pay 100
    {2, 2, {1, 2, 3, 100}, 5, {1, 0}},
    {2, 3, {1, 2, 9, 1, 9, 9}, 3, {1, 0}},
    // three rows want column 0; only what may be is taken
    {3, 3, {1, X, 5, 1, 7, X, 1, X, X}, 13, {2, 1, 0}},
    {2, 2, {X, 1, X, 0}, 0, {0, 0}}, // no answer, below
};

START_TEST(known_answers)
{
    const struct known *c = &cases[_i];
    size_t column[4];
    int64_t total = -1;
    ck_assert_int_eq(vb_assign(c->cost, c->rows, c->cols, column, &total), VB_OK);
    ck_assert_int_eq(total, c->total);
    for (size_t i = 0; i < c->rows; i++)
        ck_assert_uint_eq(column[i], c->column[i]);
}
END_TEST

START_TEST(no_answer_is_said)
{
    const struct known *c = &cases[6];
    size_t column[2] = {77, 77};
    int64_t total = -1, below[] = {-1}, most[] = {INT64_MAX / 8, INT64_MAX / 8 + 1};
    ck_assert_int_eq(vb_assign(c->cost, 2, 2, column, &total), VB_EUNKNOWN);
    ck_assert_int_eq(vb_assign(c->cost, 0, 2, column, &total), VB_EDOM);
    ck_assert_int_eq(vb_assign(c->cost, 2, 1, column, &total), VB_EDOM);
    ck_assert_int_eq(vb_assign(below, 1, 1, column, &total), VB_EDOM);
    ck_assert_int_eq(vb_assign(most, 1, 2, column, &total), VB_ERANGE);
    ck_assert_int_eq(vb_assign(most, SIZE_MAX / 16, SIZE_MAX / 16, column, &total),
                     VB_ERANGE);
    ck_assert_int_eq(total, -1);
    ck_assert_uint_eq(column[0], 77);
    ck_assert_int_eq(vb_assign(most, 1, 1, column, NULL), VB_OK);
}
END_TEST

/* --- against all ways there are ---------------------------------------------------- */

/* The least sum over all ways, -1 if there is none: counts in base `cols`. */
static int64_t
by_force(const int64_t *cost, size_t rows, size_t cols)
{
    int64_t best = -1;
    size_t ways = 1;
    for (size_t i = 0; i < rows; i++)
        ways *= cols;
    for (size_t w = 0; w < ways; w++) {
        size_t rest = w, taken = 0;
        int64_t sum = 0;
        int ok = 1;
        for (size_t i = 0; ok && i < rows; i++, rest /= cols) {
            size_t j = rest % cols;
            int64_t c = cost[i * cols + j];
            ok = !(taken >> j & 1) && c != X;
            taken |= (size_t)1 << j;
            sum += ok ? c : 0;
        }
        if (ok && (best < 0 || sum < best))
            best = sum;
    }
    return best;
}

START_TEST(nothing_costs_less)
{
    int64_t cost[4 * 6], total;
    size_t column[4], answers = 0, none = 0;
    state = 2026;
    for (int round = 0; round < 2000; round++) {
        size_t rows = 1 + draw() % 4, cols = rows + draw() % 3;
        uint64_t most =
            round % 2 ? 5 : (uint64_t)INT64_MAX / 8 / rows; // with ties, and large
        for (size_t k = 0; k < rows * cols; k++)
            cost[k] = draw() % 3 ? (int64_t)(draw() % (most + 1)) : X;
        int64_t best = by_force(cost, rows, cols);
        enum vb_err e = vb_assign(cost, rows, cols, column, &total);
        ck_assert_int_eq(e, best < 0 ? VB_EUNKNOWN : VB_OK);
        none += e != 0;
        if (e)
            continue;
        answers++;
        ck_assert_int_eq(total, best);
        int64_t sum = 0;
        size_t taken = 0;
        for (size_t i = 0; i < rows; i++) { // the columns are what the total says
            ck_assert_uint_lt(column[i], cols);
            ck_assert(!(taken >> column[i] & 1));
            taken |= (size_t)1 << column[i];
            sum += cost[i * cols + column[i]];
        }
        ck_assert_int_eq(sum, total);
    }
    ck_assert(answers > 500 && none > 100);
}
END_TEST

/* What is added to a whole row or column moves the total and nothing else. */
START_TEST(whole_rows_move_the_total)
{
    static int64_t cost[60 * 90], moved[60 * 90];
    size_t column[60];
    int64_t total, other, added = 0;
    state = 7;
    for (size_t k = 0; k < 60 * 90; k++)
        moved[k] = cost[k] = (int64_t)(draw() % 100000);
    for (size_t i = 0; i < 60; i++) {
        int64_t by = (int64_t)(draw() % 1000000);
        added += by;
        for (size_t j = 0; j < 90; j++)
            moved[i * 90 + j] += by;
    }
    ck_assert_int_eq(vb_assign(cost, 60, 90, column, &total), VB_OK);
    ck_assert_int_eq(vb_assign(moved, 60, 90, column, &other), VB_OK);
    ck_assert_int_eq(other, total + added);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("assign");
    TCase *t = tcase_create("assign");
    tcase_add_loop_test(t, known_answers, 0, 6);
    tcase_add_test(t, no_answer_is_said);
    tcase_add_test(t, nothing_costs_less);
    tcase_add_test(t, whole_rows_move_the_total);
    suite_add_tcase(s, t);
    return run_suite(s);
}
