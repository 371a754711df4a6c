/*
 * Whether two pieces of what was kept of an engine (kept.c) say the same. One may have been
 * computed on another machine, whose last digits differ.
 */
#include "kept_impl.h"

#include <math.h>
#include <string.h>

#define NEAR    1e-6 // relative
#define NOTHING 1e-9 // absolute

static int
near_real(double x, double y)
{
    return x == y || (isnan(x) && isnan(y)) ||
           fabs(x - y) <= NOTHING + NEAR * fmax(fabs(x), fabs(y));
}

/* x and y: whole structs of these members. */
static int
near_members(const struct member *m, size_t n, const void *x, const void *y)
{
    for (size_t i = 0; i < n; i++) {
        const char *at = (const char *)x + m[i].at, *bt = (const char *)y + m[i].at;
        int same = m[i].kind == AS_REAL ? near_real(*(const double *)(const void *)at,
                                                    *(const double *)(const void *)bt)
                                        : memcmp(at, bt, m[i].size) == 0;
        if (!same)
            return 0;
    }
    return 1;
}

/* Its sum stands behind it. */
static struct view
content(const struct bytes *b)
{
    return (struct view){b->at, b->at + b->n - REAL_BYTES};
}

static int
same_numbers(struct view *x, struct view *y, size_t n, uint64_t *last)
{
    uint64_t other;
    for (size_t i = 0; i < n; i++)
        if (!bytes_get(x, last) || !bytes_get(y, &other) || *last != other)
            return 0;
    return 1;
}

int
kept_near_sums(const struct bytes *a, const struct bytes *b)
{
    struct view x = content(a), y = content(b);
    uint64_t lives;
    if (!same_numbers(&x, &y, 1, &lives))
        return 0;
    for (; lives > 0; lives--) {
        struct vb_life_sum s = {0}, t = {0};
        if (!members_get(sum_members, n_sum_members, &x, &s) ||
            !members_get(sum_members, n_sum_members, &y, &t) ||
            !near_members(sum_members, n_sum_members, &s, &t))
            return 0;
    }
    return x.at == x.end && y.at == y.end;
}

static int
near_corners(struct view *x, struct view *y)
{
    uint64_t looser, tighter, n;
    double p, q;
    if (!same_numbers(x, y, 1, &looser) || !same_numbers(x, y, 1, &tighter))
        return 0;
    for (uint64_t i = 0; i < looser + tighter; i++)
        if (!same_numbers(x, y, 1, &n) || !bytes_get_reals(x, &p, 1) ||
            !bytes_get_reals(y, &q, 1) || !near_real(p, q))
            return 0;
    return 1;
}

static int
near_lives(struct view *x, struct view *y, uint64_t lives)
{
    uint64_t valve;
    for (; lives > 0; lives--) {
        struct vb_life l = {0}, k = {0};
        if (!same_numbers(x, y, 3, &valve) ||
            !members_get(life_members, n_life_members, x, &l) ||
            !members_get(life_members, n_life_members, y, &k) ||
            !near_members(life_members, n_life_members, &l, &k) || !near_corners(x, y))
            return 0;
    }
    return x->at == x->end && y->at == y->end;
}

int
kept_near(const struct bytes *a, const struct bytes *b)
{
    struct view x = content(a), y = content(b);
    uint64_t lives;
    struct vb_unit_now u = {0}, v = {0};
    return same_numbers(&x, &y, 1, &lives) &&
           members_get(unit_members, n_unit_members, &x, &u) &&
           members_get(unit_members, n_unit_members, &y, &v) &&
           near_members(unit_members, n_unit_members, &u, &v) &&
           near_lives(&x, &y, lives);
}
