/*
 * What was computed of an engine as bytes, kept in the table fresh, so that lists over a
 * large book do not read every reading again. In two pieces: `sums`, what each life brings
 * to what its family shares, which is read of all engines before anything is said of one;
 * and `kept`: how many lives, the members of the unit, and of each life its valve, its
 * members and the corners of its residuals. Behind each piece stands its sum, since SQLite
 * does not notice what a disk has changed. Expected sizes: some thousand engines, 8 to 48
 * lives each, four or five corners a life.
 */
#include "kept_impl.h"

#include <stdlib.h>
#include <string.h>

#define SUM_BYTES 8

static void
put_sums(const struct vb_unit_now *u, const struct vb_lives *l, struct bytes *to)
{
    bytes_put(to, l->n);
    for (size_t i = 0; i < l->n; i++) {
        struct vb_life_sum s;
        vb_life_sum_of(u, &l->life[i], &s);
        members_put(sum_members, n_sum_members, &s, to);
    }
    bytes_put_sum(to);
}

static void
put_life(struct bytes *to, const struct vb_lives *l, const struct vb_life *life)
{
    bytes_put(to, (uint64_t)life->valve.cyl);
    bytes_put(to, (uint64_t)life->valve.side);
    bytes_put(to, (uint64_t)life->valve.index);
    members_put(life_members, n_life_members, life, to);
    bytes_put(to, life->n_looser);
    bytes_put(to, life->n_tighter);
    for (size_t i = 0; i < life->n_looser + life->n_tighter; i++) {
        bytes_put(to, l->corner[life->corner_at + i].n);
        bytes_put_real(to, l->corner[life->corner_at + i].sum);
    }
}

enum vb_err
kept_put(const struct vb_fleet *f, struct bytes *sums, struct bytes *kept)
{
    sums->n = kept->n = 0;
    put_sums(&f->unit[0], &f->lives, sums);
    bytes_put(kept, f->lives.n);
    members_put(unit_members, n_unit_members, &f->unit[0], kept);
    for (size_t i = 0; i < f->lives.n; i++)
        put_life(kept, &f->lives, &f->lives.life[i]);
    bytes_put_sum(kept);
    return sums->failed || kept->failed ? VB_EMEM : VB_OK;
}

int
kept_whole(const void *bytes, size_t n)
{
    const unsigned char *at = bytes;
    uint64_t sum = 0;
    if (!at || n < SUM_BYTES) // SQLite had no room for them, or something cut them short
        return 0;
    for (int k = 0; k < SUM_BYTES; k++)
        sum |= (uint64_t)at[n - SUM_BYTES + (size_t)k] << 8 * k;
    return sum == bytes_sum(at, n - SUM_BYTES);
}

static struct view
content(const void *bytes, size_t n)
{
    const unsigned char *at = bytes;
    return (struct view){at, at + n - SUM_BYTES};
}

enum vb_err
kept_count(const void *bytes, size_t n, const char *family, struct vb_fleet *f)
{
    struct view from = content(bytes, n);
    uint64_t lives = 0;
    enum vb_err e = bytes_get(&from, &lives) ? VB_OK : VB_EDB;
    for (; !e && lives > 0; lives--) {
        struct vb_life_sum s;
        e = members_get(sum_members, n_sum_members, &from, &s)
                ? vb_fleet_count(f, family, &s)
                : VB_EDB;
    }
    return e || from.at == from.end ? e : VB_EDB;
}

static int
get_corner(struct view *from, struct vb_corner *c)
{
    uint64_t n;
    if (!bytes_get(from, &n))
        return 0;
    c->n = (size_t)n;
    return bytes_get_reals(from, &c->sum, 1);
}

static enum vb_err
get_corners(struct view *from, struct vb_lives *l, struct vb_life *life)
{
    uint64_t looser, tighter, most = (uint64_t)(from->end - from->at) / REAL_BYTES;
    if (!bytes_get(from, &looser) || !bytes_get(from, &tighter) || looser > most ||
        tighter > most)
        return VB_EDB;
    life->corner_at = l->n_corners;
    life->n_looser = (size_t)looser;
    life->n_tighter = (size_t)tighter;
    for (uint64_t i = 0; i < looser + tighter; i++) {
        if (!list_room(&l->corner, l->n_corners, &l->corners_size, sizeof *l->corner))
            return VB_EMEM;
        if (!get_corner(from, &l->corner[l->n_corners++]))
            return VB_EDB;
    }
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
get_life(struct view *from, size_t unit, struct vb_lives *l)
{
    if (!list_room(&l->life, l->n, &l->size, sizeof *l->life))
        return VB_EMEM;
    struct vb_life *life = memset(&l->life[l->n++], 0, sizeof *life);
    life->engine = unit;
    if (!get_valve(from, &life->valve) ||
        !members_get(life_members, n_life_members, from, life))
        return VB_EDB;
    return get_corners(from, l, life);
}

enum vb_err
kept_take(const void *bytes, size_t n, const struct vb_engine *e, double as_of,
          struct vb_fleet *f)
{
    struct view from = content(bytes, n);
    struct vb_unit_now unit = {0};
    uint64_t lives = 0;
    enum vb_err err = bytes_get(&from, &lives) &&
                              members_get(unit_members, n_unit_members, &from, &unit)
                          ? VB_OK
                          : VB_EDB;
    for (; !err && lives > 0; lives--)
        err = get_life(&from, f->n_units, &f->lives);
    if (!err && from.at != from.end)
        err = VB_EDB;
    return err ? err : vb_fleet_take(f, e, as_of, &unit);
}
