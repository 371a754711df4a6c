#include "valvebook/assign.h"

#include <stdlib.h>

#define FREE ((size_t)-1)

/*
 * Rows come in one at a time. Reduced costs, cost - u - v, are never below 0 and are 0 on
 * the pairs made so far, so the cheapest way to place a row and move others on is a
 * shortest path, as Dijkstra finds it.
 */
struct match {
    const int64_t *cost;
    size_t rows, cols;
    int64_t *u, *v;    // [rows], [cols] potentials
    int64_t *dist;     // [cols] length of the path to a column
    size_t *row_of;    // [cols] FREE while nobody has it
    size_t *from;      // [cols] the column before it on the path, FREE for none
    unsigned char *in; // [cols] its path is final
};

static void
drop(struct match *m)
{
    free(m->u);
    free(m->v);
    free(m->dist);
    free(m->row_of);
    free(m->from);
    free(m->in);
}

static enum vb_err
begin(struct match *m)
{
    m->u = calloc(m->rows, sizeof *m->u);
    m->v = calloc(m->cols, sizeof *m->v);
    m->dist = calloc(m->cols, sizeof *m->dist);
    m->row_of = calloc(m->cols, sizeof *m->row_of);
    m->from = calloc(m->cols, sizeof *m->from);
    m->in = calloc(m->cols, sizeof *m->in);
    if (!m->u || !m->v || !m->dist || !m->row_of || !m->from || !m->in)
        return VB_EMEM;
    for (size_t j = 0; j < m->cols; j++)
        m->row_of[j] = FREE;
    return VB_OK;
}

static enum vb_err
check(const int64_t *cost, size_t rows, size_t cols)
{
    if (rows == 0 || cols < rows)
        return VB_EDOM;
    if (rows > SIZE_MAX / cols / sizeof *cost)
        return VB_ERANGE;
    for (size_t k = 0; k < rows * cols; k++) {
        if (cost[k] < 0)
            return VB_EDOM;
        if (cost[k] != VB_ASSIGN_NEVER && cost[k] > INT64_MAX / 8 / (int64_t)rows)
            return VB_ERANGE;
    }
    return VB_OK;
}

/* Paths that go on from a row, which the path has reached at length `so_far`. */
static void
relax(struct match *m, size_t row, size_t by, int64_t so_far)
{
    for (size_t j = 0; j < m->cols; j++) {
        int64_t c = m->cost[row * m->cols + j];
        if (m->in[j] || c == VB_ASSIGN_NEVER)
            continue;
        int64_t d = so_far + (c - m->u[row] - m->v[j]);
        if (d < m->dist[j]) {
            m->dist[j] = d;
            m->from[j] = by;
        }
    }
}

/* The nearest column whose path is not final yet, the first of several; FREE if none can
 * be reached. */
static size_t
nearest(const struct match *m)
{
    size_t best = FREE;
    for (size_t j = 0; j < m->cols; j++)
        if (!m->in[j] && m->dist[j] < VB_ASSIGN_NEVER &&
            (best == FREE || m->dist[j] < m->dist[best]))
            best = j;
    return best;
}

/* Keep reduced costs at 0 or above: everything within the length of the path moves. */
static void
shift_potentials(struct match *m, size_t row, int64_t length)
{
    m->u[row] += length;
    for (size_t j = 0; j < m->cols; j++)
        if (m->in[j]) {
            m->u[m->row_of[j]] += length - m->dist[j];
            m->v[j] -= length - m->dist[j];
        }
}

static enum vb_err
place(struct match *m, size_t row)
{
    for (size_t j = 0; j < m->cols; j++) {
        m->dist[j] = VB_ASSIGN_NEVER;
        m->from[j] = FREE;
        m->in[j] = 0;
    }
    relax(m, row, FREE, 0);
    size_t end = nearest(m);
    while (end != FREE && m->row_of[end] != FREE) {
        m->in[end] = 1;
        relax(m, m->row_of[end], end, m->dist[end]);
        end = nearest(m);
    }
    if (end == FREE)
        return VB_EUNKNOWN;
    shift_potentials(m, row, m->dist[end]);
    for (; m->from[end] != FREE; end = m->from[end])
        m->row_of[end] = m->row_of[m->from[end]];
    m->row_of[end] = row;
    return VB_OK;
}

enum vb_err
vb_assign(const int64_t *cost, size_t rows, size_t cols, size_t *column, int64_t *total)
{
    struct match m = {.cost = cost, .rows = rows, .cols = cols};
    enum vb_err e = check(cost, rows, cols);
    if (e)
        return e;
    int64_t sum = 0;
    e = begin(&m);
    for (size_t i = 0; !e && i < rows; i++)
        e = place(&m, i);
    for (size_t j = 0; !e && j < cols; j++)
        if (m.row_of[j] != FREE) {
            column[m.row_of[j]] = j;
            sum += cost[m.row_of[j] * cols + j];
        }
    if (!e && total)
        *total = sum;
    drop(&m);
    return e;
}
