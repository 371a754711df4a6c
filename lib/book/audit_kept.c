/*
 * What lists keep for themselves (table fresh) against what the readings give today. Only an
 * entry that a list would take is looked at. Another machine may have computed it: the last
 * digits are let go.
 */
#include "audit_impl.h"
#include "kept_impl.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/date.h"

#define ALL_DAYS "2199-12-31" // the last that there is: who kept an entry had seen all

struct kept_audit {
    struct audit *a;
    struct query *q;
    struct vb_fleet families, one;
    struct engine_read r;
    struct bytes sums, kept;
    double as_of;
};

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
piece_is(sqlite3_stmt *row, int i, const struct bytes *now)
{
    const struct bytes was = {.n = (size_t)sqlite3_column_bytes(row, i),
                              .at = (void *)(uintptr_t)sqlite3_column_blob(row, i)};
    if (was.n == now->n && memcmp(was.at, now->at, was.n) == 0)
        return 1;
    return i == K_SUMS ? kept_near_sums(&was, now) : kept_near(&was, now);
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
    if (!e && (!piece_is(row, K_SUMS, &k->sums) || !piece_is(row, K_KEPT, &k->kept)))
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
