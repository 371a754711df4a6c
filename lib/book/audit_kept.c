/*
 * What lists keep for themselves (table fresh) against what the readings give today. Only an
 * entry that a list would take is looked at. Another machine may have computed it: the last
 * digits are let go.
 */
#include "audit_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/date.h"

#define ALL_DAYS "2199-12-31" // the last that there is: who kept an entry had seen all
#define NEAR     1e-6         // relative
#define NOTHING  1e-9         // absolute

struct kept_audit {
    struct audit *a;
    struct query *q;
    struct vb_fleet families, one;
    struct engine_read r;
    struct bytes sums, kept;
    double as_of;
};

/* --- two pieces of bytes ------------------------------------------------------------ */

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
    double p, q;
    for (size_t i = 0; i < n; i++) {
        const char *at = (const char *)x + m[i].at, *bt = (const char *)y + m[i].at;
        if (m[i].kind != AS_REAL) {
            if (memcmp(at, bt, m[i].size) != 0)
                return 0;
            continue;
        }
        for (size_t k = 0; k < m[i].size; k += sizeof p) {
            memcpy(&p, at + k, sizeof p);
            memcpy(&q, bt + k, sizeof q);
            if (!near_real(p, q))
                return 0;
        }
    }
    return 1;
}

static struct view
content(const void *bytes, size_t n)
{
    const unsigned char *at = bytes;
    return (struct view){at, at + n - REAL_BYTES}; // its sum stands behind it
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

static int
near_sums(struct view x, struct view y)
{
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

static int
near_kept(struct view x, struct view y)
{
    uint64_t lives;
    struct vb_unit_now u = {0}, v = {0};
    return same_numbers(&x, &y, 1, &lives) &&
           members_get(unit_members, n_unit_members, &x, &u) &&
           members_get(unit_members, n_unit_members, &y, &v) &&
           near_members(unit_members, n_unit_members, &u, &v) &&
           near_lives(&x, &y, lives);
}

/* --- an engine ---------------------------------------------------------------------- */

enum { K_ENGINE, K_FAMILY, K_NEWEST, K_SUMS, K_KEPT, K_IS_NEWEST };

static enum vb_err
compute(struct kept_audit *k, const char *engine, const char *family)
{
    int made;
    struct vb_family_kept *f = vb_fleet_family(&k->families, family, &made);
    enum vb_err e = f ? VB_OK : VB_EMEM;
    if (!e && made)
        e = facts_family(k->a->b, family, &f->facts, k->a->m);
    if (!e)
        e = query_name(&k->r, engine, f);
    if (!e)
        e = query_read(k->q, &k->r);
    vb_fleet_empty(&k->one);
    if (!e)
        e = vb_fleet_add(&k->one, &k->r.e, k->as_of);
    return e ? e : kept_put(&k->one, &k->sums, &k->kept);
}

static int
piece_is(sqlite3_stmt *row, int i, const struct bytes *now,
         int (*near)(struct view, struct view))
{
    const void *was = sqlite3_column_blob(row, i);
    size_t n = (size_t)sqlite3_column_bytes(row, i);
    return (n == now->n && memcmp(was, now->at, n) == 0) ||
           near(content(was, n), content(now->at, now->n));
}

static int
piece_whole(sqlite3_stmt *row, int i)
{
    const void *bytes = sqlite3_column_blob(row, i);
    return kept_whole(bytes, (size_t)sqlite3_column_bytes(row, i));
}

static enum vb_err
check_entry(struct audit *a, void *arg, sqlite3_stmt *row)
{
    struct kept_audit *k = arg;
    const char *engine = db_word(row, K_ENGINE);
    char key[KEY_TEXT];
    cells_join(&engine, 1, key, sizeof key);
    a->rows[A_FRESH]++;
    if (!piece_whole(row, K_SUMS) || !piece_whole(row, K_KEPT)) {
        audit_tell(a, "fresh", key, piece_whole(row, K_SUMS) ? "kept" : "sums",
                   "damaged; the next list computes it afresh");
        return VB_OK;
    }
    if (!sqlite3_column_int(row, K_IS_NEWEST)) {
        audit_tell(a, "fresh", key, "newest",
                   "not the newest date of this engine: '%.20s'", db_word(row, K_NEWEST));
        return VB_OK;
    }
    enum vb_err e = compute(k, engine, db_word(row, K_FAMILY));
    if (!e && (!piece_is(row, K_SUMS, &k->sums, near_sums) ||
               !piece_is(row, K_KEPT, &k->kept, near_kept)))
        audit_tell(a, "fresh", key, "kept", "not what the readings of this engine give");
    return e;
}

static enum vb_err
no_engine(struct audit *a, void *arg, sqlite3_stmt *row)
{
    const char *engine = db_word(row, K_ENGINE);
    char key[KEY_TEXT];
    (void)arg;
    cells_join(&engine, 1, key, sizeof key);
    audit_tell(a, "fresh", key, "engine", "unknown engine '%.60s'", engine);
    return VB_OK;
}

static enum vb_err
check_all(struct kept_audit *k)
{
    enum vb_err e = query_open(k->a->b, ALL_DAYS, &k->q, k->a->m);
    if (!e)
        e = audit_each(
            k->a,
            "SELECT engine FROM fresh WHERE engine NOT IN (SELECT engine FROM engines)"
            " ORDER BY engine",
            no_engine, NULL);
    return e ? e
             : audit_each(k->a,
                          "SELECT engine, family, newest, sums, kept, newest ="
                          " max(coalesce((SELECT max(date) FROM visits v WHERE v.engine "
                          "= f.engine), ''),"
                          " coalesce((SELECT max(date) FROM events v WHERE v.engine = "
                          "f.engine), ''))"
                          " FROM fresh f JOIN engines USING(engine) WHERE version = "
                          "'" KEPT_VERSION "' ORDER BY engine",
                          check_entry, k);
}

enum vb_err
audit_kept(struct audit *a, enum audit_table table)
{
    struct kept_audit k = {.a = a};
    (void)table;
    (void)vb_date_days(ALL_DAYS, &k.as_of);
    enum vb_err e = check_all(&k);
    query_close(k.q);
    query_free(&k.r);
    vb_fleet_clear(&k.one);
    vb_fleet_clear(&k.families);
    free(k.sums.at);
    free(k.kept.at);
    return e;
}
