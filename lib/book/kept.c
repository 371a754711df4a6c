/*
 * What vb_fleet_add made of an engine, kept in the table fresh, so that lists over a large
 * book do not read every reading again: how many lives, the members of the unit, and of
 * each life its valve, its members and its residuals; behind them their sum, since SQLite
 * does not notice what a disk has changed. Expected sizes: some thousand
 * engines, 8 to 48 lives each, tens of residuals a life.
 */
#include "book_impl.h"

#include <stdlib.h>
#include <string.h>

#define SUM_BYTES 8

static enum vb_err
get_residuals(struct view *from, struct vb_lives *l, struct vb_life *life, int *whole)
{
    uint64_t n;
    *whole = bytes_get(from, &n) && n <= (uint64_t)(from->end - from->at) / REAL_BYTES;
    if (!*whole)
        return VB_OK;
    if (l->n_res + n > l->res_size) {
        size_t size = 2 * (l->n_res + (size_t)n);
        double *p = realloc(l->res, size * sizeof *p);
        if (!p)
            return VB_EMEM;
        l->res = p;
        l->res_size = size;
    }
    life->res_at = l->n_res;
    life->n_res = (size_t)n;
    *whole = bytes_get_reals(from, l->res + l->n_res, (size_t)n);
    l->n_res += (size_t)n;
    return VB_OK;
}

static int
get_valve(struct view *from, struct vb_valve *v)
{
    uint64_t cyl, side, index;
    if (!bytes_get(from, &cyl) || !bytes_get(from, &side) || !bytes_get(from, &index))
        return 0;
    *v = (struct vb_valve){(int)cyl, (char)side, (int)index};
    return 1;
}

static enum vb_err
get_life(struct view *from, struct vb_lives *l, int *whole)
{
    if (!list_room(&l->life, l->n, &l->size, sizeof *l->life))
        return VB_EMEM;
    struct vb_life *life = memset(&l->life[l->n++], 0, sizeof *life);
    *whole = get_valve(from, &life->valve) &&
             members_get(life_members, n_life_members, from, life);
    return *whole ? get_residuals(from, l, life, whole) : VB_OK;
}

/* The content before the sum; 0 where it is not what was written. */
static int
get_whole(const unsigned char *bytes, size_t n, struct view *content)
{
    if (n < SUM_BYTES)
        return 0;
    *content = (struct view){bytes, bytes + n - SUM_BYTES};
    uint64_t sum = 0;
    for (int k = 0; k < SUM_BYTES; k++)
        sum |= (uint64_t)content->end[k] << 8 * k;
    return sum == bytes_sum(bytes, n - SUM_BYTES);
}

enum vb_err
kept_take(const void *bytes, size_t n, const struct vb_engine *e, double as_of,
          struct vb_lives *own, struct vb_fleet *f, int *has)
{
    struct view from;
    struct vb_unit_now unit = {0};
    uint64_t lives = 0;
    enum vb_err err = VB_OK;
    own->n = own->n_res = 0;
    *has = get_whole(bytes, n, &from) && bytes_get(&from, &lives) &&
           members_get(unit_members, n_unit_members, &from, &unit);
    for (; !err && *has && lives > 0; lives--)
        err = get_life(&from, own, has);
    *has = *has && from.at == from.end;
    return err || !*has ? err : vb_fleet_take(f, e, as_of, &unit, own);
}

void
kept_one_zero(struct vb_fleet *f)
{
    size_t last = f->n_units - 1;
    members_one_zero(unit_members, n_unit_members, &f->unit[last]);
    for (size_t i = f->lives.n; i > 0 && f->lives.life[i - 1].engine == last; i--)
        members_one_zero(life_members, n_life_members, &f->lives.life[i - 1]);
}
