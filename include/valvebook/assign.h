#ifndef VALVEBOOK_ASSIGN_H
#define VALVEBOOK_ASSIGN_H

#include <stddef.h>
#include <stdint.h>

#include "valvebook/err.h"

#define VB_ASSIGN_NEVER INT64_MAX // a pair that must not be

/*
 * vb_assign - give every row a column of its own so that the sum of costs is least.
 *   cost     [rows * cols] row by row; 0 to INT64_MAX / 8 / rows, or VB_ASSIGN_NEVER
 *   rows     >= 1;  cols  >= rows
 *   column   out: [rows] the column of each row
 *   total    out: the sum; may be NULL
 * Of several best answers always the same one.
 * Errors: VB_EDOM    rows = 0, fewer columns than rows, or a cost below 0
 *         VB_ERANGE  a cost above the bound, under which no sum can overflow
 *         VB_EUNKNOWN  no row can be left out, and not every one can have a column
 *         VB_EMEM                                               (results untouched)
 * Cost:   O(rows^2 cols) time, O(rows + cols) memory.   Owns: nothing.
 * Source: shortest augmenting paths with potentials (Kuhn 1955; Edmonds & Karp 1972;
 *         Tomizawa 1971); equals scipy.optimize.linear_sum_assignment in total.
 */
enum vb_err vb_assign(const int64_t *cost, size_t rows, size_t cols, size_t *column,
                      int64_t *total);

#endif
