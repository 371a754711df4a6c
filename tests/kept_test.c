/* What comes back from the table fresh is what was computed, to the last bit. */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "../lib/book/kept_impl.h"
#include "suite.h"

static const char *const tables[] = {
    "family,side,key,value,unit\nsix,,cylinders,2,\nsix,I,valves,1,\nsix,E,valves,2,\n"
    "six,E,lash_growth,0.0003,mm/Cel\n",
    "engine,family\nK-1,six\nK-2,six\n",
    "engine,date,event,part,at,build\nK-1,2025-05-02,build,,,B2\n"
    "K-2,2025-06-15,replace,valve,1I,\n",
};

static void
tell(void *arg, const struct vb_msg *m)
{
    (void)arg;
    ck_abort_msg("refused: %s", m->text);
}

/* Thirds have no end in binary: every bit of the sums is taken. */
static void
write_readings(FILE *f)
{
    static const char *const at[] = {"1I", "1E1", "1E2", "2I", "2E2"};
    fputs("engine,date,meter,meter_unit,quantity,at,found,left,unit,u,temp_c\n", f);
    for (int e = 1; e <= 2; e++)
        for (int v = 1; v <= 9; v++)
            for (int i = 0; i < 5; i++)
                fprintf(f, "K-%d,2025-0%d-10,%d.%d,h,lash,%s,0.%d,%s,mm,%s,%d\n", e, v,
                        33 * v, (7 * v + e) % 10, at[i], 300 - 7 * v + v * i % 5,
                        v % 3 ? "" : "0.31", v % 2 ? "0.007" : "", 15 + v);
}

static void
load(const char *dir, struct vb_book **b)
{
    char path[4][64], db[64];
    char *paths[4];
    struct vb_load l = {.as_of = "2026-01-01", .no_end = 1, .tell = tell};
    for (int i = 0; i < 4; i++) {
        snprintf(path[i], sizeof path[i], "%s/%d.csv", dir, i);
        paths[i] = path[i];
        FILE *f = fopen(path[i], "w");
        ck_assert_ptr_nonnull(f);
        if (i < 3)
            fputs(tables[i], f);
        else
            write_readings(f);
        ck_assert_int_eq(fclose(f), 0);
    }
    snprintf(db, sizeof db, "%s/s.db", dir);
    ck_assert_int_eq(vb_book_open(db, VB_BOOK_WRITE, b, NULL), VB_OK);
    ck_assert_int_eq(vb_book_load(*b, &l, paths, 4, NULL), VB_OK);
    ck_assert_int_eq(vb_book_close(*b, NULL), VB_OK);
    ck_assert_int_eq(vb_book_open(db, VB_BOOK_READ, b, NULL), VB_OK);
    for (int i = 0; i < 4; i++)
        unlink(path[i]);
}

static void
same_members(const struct member *m, size_t n, const void *a, const void *b)
{
    for (size_t i = 0; i < n; i++) {
        const char *x = (const char *)a + m[i].at, *y = (const char *)b + m[i].at;
        if (m[i].kind == AS_TEXT)
            ck_assert_str_eq(x, y);
        else if (m[i].kind != AS_REAL || !isnan(*(const double *)(const void *)x))
            ck_assert_msg(memcmp(x, y, m[i].size) == 0, "%s differs", m[i].name);
        else
            ck_assert_double_nan(*(const double *)(const void *)y);
    }
}

static void
same_fleet(const struct vb_fleet *a, const struct vb_fleet *b)
{
    ck_assert_uint_eq(a->n_units, b->n_units);
    ck_assert_uint_eq(a->lives.n, b->lives.n);
    ck_assert_uint_eq(a->lives.n_corners, b->lives.n_corners);
    for (size_t i = 0; i < a->n_units; i++) {
        ck_assert_str_eq(a->unit[i].name, b->unit[i].name);
        same_members(unit_members, n_unit_members, &a->unit[i], &b->unit[i]);
    }
    for (size_t i = 0; i < a->lives.n; i++) {
        const struct vb_life *x = &a->lives.life[i], *y = &b->lives.life[i];
        ck_assert(vb_valve_same(x->valve, y->valve));
        ck_assert_uint_eq(x->engine, y->engine);
        ck_assert_uint_eq(x->corner_at, y->corner_at);
        ck_assert_uint_eq(x->n_looser, y->n_looser);
        ck_assert_uint_eq(x->n_tighter, y->n_tighter);
        ck_assert_uint_eq(x->group, y->group);
        ck_assert_uint_eq(x->member, y->member);
        same_members(life_members, n_life_members, x, y);
    }
    for (size_t i = 0; i < a->lives.n_corners; i++) {
        ck_assert_uint_eq(a->lives.corner[i].n, b->lives.corner[i].n);
        ck_assert_mem_eq(&a->lives.corner[i].sum, &b->lives.corner[i].sum,
                         sizeof(double));
    }
}

/* What is asked beside a fleet is asked of the same state of the book: nobody writes meanwhile. */
static enum vb_err
somebody_writes(void *path)
{
    sqlite3 *other = NULL;
    ck_assert_int_eq(sqlite3_open(path, &other), SQLITE_OK);
    ck_assert_int_eq(
        sqlite3_exec(other, "UPDATE engines SET site = 'x'", NULL, NULL, NULL),
        SQLITE_BUSY);
    ck_assert_int_eq(sqlite3_close(other), SQLITE_OK);
    return VB_EUNKNOWN; // and that is what comes of it
}

START_TEST(one_state_of_the_book)
{
    char dir[] = "/tmp/valvebook-kept.XXXXXX", db[64];
    struct vb_book *b = NULL;
    struct vb_fleet f;
    ck_assert_ptr_nonnull(mkdtemp(dir));
    load(dir, &b);
    snprintf(db, sizeof db, "%s/s.db", dir);
    for (int kept = 0; kept < 2; kept++) {
        ck_assert_int_eq(fleet_and(b, NULL, "2026-01-01", somebody_writes, db, &f, NULL),
                         VB_EUNKNOWN);
        ck_assert_uint_eq(f.n_units, 0);
    }
    ck_assert_int_eq(vb_book_close(b, NULL), VB_OK);
    unlink(db);
    ck_assert_int_eq(rmdir(dir), 0);
}
END_TEST

START_TEST(what_is_kept_comes_back)
{
    char dir[] = "/tmp/valvebook-kept.XXXXXX", db[64];
    struct vb_book *b = NULL;
    struct vb_fleet computed, kept;
    ck_assert_ptr_nonnull(mkdtemp(dir));
    load(dir, &b);
    ck_assert_int_eq(vb_book_fleet(b, NULL, "2026-01-01", &computed, NULL), VB_OK);
    ck_assert_int_eq(vb_book_fleet(b, NULL, "2026-01-01", &kept, NULL), VB_OK);
    ck_assert_uint_eq(computed.lives.n, 16); // 10 valves, 5 renewed in K-1, 1 in K-2
    ck_assert_uint_gt(computed.lives.n_corners, 10);
    same_fleet(&computed, &kept);
    vb_fleet_clear(&computed);
    vb_fleet_clear(&kept);
    /* whoever only reads still cannot write */
    ck_assert_int_eq(db_exec(b, "DELETE FROM fresh", NULL), VB_EDB);
    ck_assert_int_eq(vb_book_close(b, NULL), VB_OK);
    snprintf(db, sizeof db, "%s/s.db", dir);
    unlink(db);
    ck_assert_int_eq(rmdir(dir), 0);
}
END_TEST

/* A second connection reads the same file or none: whoever has put another in its place is
 * noticed, and a writer who waits for the first is not waited for. */
START_TEST(a_second_reader)
{
    char dir[] = "/tmp/valvebook-kept.XXXXXX", db[64], away[64];
    struct vb_book *b = NULL, *second, *other = NULL;
    sqlite3 *writer = NULL;
    ck_assert_ptr_nonnull(mkdtemp(dir));
    load(dir, &b);
    snprintf(db, sizeof db, "%s/s.db", dir);
    snprintf(away, sizeof away, "%s/away.db", dir);
    ck_assert_int_eq(db_exec(b, "BEGIN; SELECT count(*) FROM engines", NULL), VB_OK);
    ck_assert_ptr_nonnull(second = book_again(b));
    ck_assert_int_eq(db_exec(second, "SELECT count(*) FROM engines", NULL), VB_OK);
    ck_assert_int_eq(vb_book_close(second, NULL), VB_OK);

    ck_assert_int_eq(sqlite3_open(db, &writer), SQLITE_OK);
    ck_assert_int_eq(sqlite3_exec(writer, "BEGIN; DELETE FROM fresh", 0, 0, 0),
                     SQLITE_OK);
    ck_assert_int_eq(sqlite3_exec(writer, "COMMIT", 0, 0, 0),
                     SQLITE_BUSY); // it waits now
    ck_assert_ptr_null(book_again(b));
    ck_assert_int_eq(sqlite3_exec(writer, "ROLLBACK", 0, 0, 0), SQLITE_OK);
    ck_assert_int_eq(sqlite3_close(writer), SQLITE_OK);
    ck_assert_ptr_nonnull(second = book_again(b));
    ck_assert_int_eq(vb_book_close(second, NULL), VB_OK);

    ck_assert_int_eq(rename(db, away), 0);
    ck_assert_ptr_null(book_again(b));
    ck_assert_int_eq(vb_book_open(db, VB_BOOK_WRITE, &other, NULL), VB_OK);
    ck_assert_ptr_null(book_again(b));
    ck_assert_int_eq(vb_book_close(other, NULL), VB_OK);
    ck_assert_int_eq(vb_book_close(b, NULL), VB_OK);
    unlink(db);
    unlink(away);
    ck_assert_int_eq(rmdir(dir), 0);
}
END_TEST

/* Somebody has given the book a write-ahead log: then a load can end between the two. */
START_TEST(no_second_reader_beside_a_log)
{
    char dir[] = "/tmp/valvebook-kept.XXXXXX", db[64];
    struct vb_book *b = NULL;
    sqlite3 *writer = NULL;
    ck_assert_ptr_nonnull(mkdtemp(dir));
    load(dir, &b);
    snprintf(db, sizeof db, "%s/s.db", dir);
    ck_assert_int_eq(sqlite3_open(db, &writer), SQLITE_OK);
    ck_assert_int_eq(sqlite3_exec(writer, "PRAGMA journal_mode = WAL", 0, 0, 0),
                     SQLITE_OK);
    ck_assert_int_eq(db_exec(b, "BEGIN; SELECT count(*) FROM engines", NULL), VB_OK);
    ck_assert_int_eq(sqlite3_exec(writer, "DELETE FROM visits", 0, 0, 0), SQLITE_OK);
    ck_assert_ptr_null(book_again(b));
    ck_assert_int_eq(vb_book_close(b, NULL), VB_OK);
    ck_assert_int_eq(sqlite3_close(writer), SQLITE_OK);
    unlink(db);
    ck_assert_int_eq(rmdir(dir), 0);
}
END_TEST

/* Cams are listed as they were when the blocks were opened, whoever has written since. */
START_TEST(cams_of_the_state_of_the_blocks)
{
    char dir[] = "/tmp/valvebook-kept.XXXXXX", db[64];
    struct vb_book *b = NULL;
    struct vb_blocks *blocks = NULL;
    struct vb_block *block = NULL;
    struct vb_cam_list cams;
    const struct vb_cam_wish by_cam = {0};
    const struct vb_scope k1 = {.engine = "K-1"};
    sqlite3 *writer = NULL;
    ck_assert_ptr_nonnull(mkdtemp(dir));
    load(dir, &b);
    snprintf(db, sizeof db, "%s/s.db", dir);
    ck_assert_int_eq(sqlite3_open(db, &writer), SQLITE_OK);
    ck_assert_int_eq(sqlite3_exec(writer, "PRAGMA journal_mode = WAL", 0, 0, 0),
                     SQLITE_OK);
    ck_assert_int_eq(vb_blocks_open(b, NULL, "2026-01-01", &blocks, NULL), VB_OK);
    ck_assert_int_eq(
        sqlite3_exec(writer, "DELETE FROM engines WHERE engine = 'K-1'", 0, 0, 0),
        SQLITE_OK);
    ck_assert_int_eq(vb_book_cams(b, &k1, "2026-01-01", &by_cam, &cams, NULL), VB_OK);
    vb_cam_list_clear(&cams);
    ck_assert_int_eq(vb_blocks_next(blocks, &block), VB_OK);
    ck_assert_ptr_nonnull(block);
    ck_assert_uint_eq(block->fleet.n_units, 2);
    vb_blocks_close(blocks);
    ck_assert_int_eq(vb_book_cams(b, &k1, "2026-01-01", &by_cam, &cams, NULL),
                     VB_EUNKNOWN);
    ck_assert_int_eq(vb_book_close(b, NULL), VB_OK);
    ck_assert_int_eq(sqlite3_close(writer), SQLITE_OK);
    unlink(db);
    ck_assert_int_eq(rmdir(dir), 0);
}
END_TEST

/* The bytes kept of K-1: 0 the sums, 1 the rest. */
static struct bytes
kept_bytes(struct vb_book *b, int piece)
{
    struct bytes all = {0};
    sqlite3_stmt *s = NULL;
    ck_assert_int_eq(db_prepare(b,
                                piece == 0
                                    ? "SELECT sums FROM fresh WHERE engine = 'K-1'"
                                    : "SELECT kept FROM fresh WHERE engine = 'K-1'",
                                &s, NULL),
                     VB_OK);
    ck_assert_int_eq(sqlite3_step(s), SQLITE_ROW);
    all.n = (size_t)sqlite3_column_bytes(s, 0);
    all.at = malloc(all.n);
    ck_assert_ptr_nonnull(all.at);
    memcpy(all.at, sqlite3_column_blob(s, 0), all.n);
    sqlite3_finalize(s);
    return all;
}

/* These bytes, with their sum behind them, taken for such a piece: are they whole? */
static int
is_whole(const unsigned char *at, size_t n, int piece)
{
    const struct vb_family six = {.cylinders = 2};
    const struct vb_engine en = {.name = "K-1", .family = &six};
    struct vb_fleet f = {0};
    struct bytes sealed = {0};
    if (n) {
        sealed.at = malloc(n); // of just this length: a look behind it is seen
        sealed.n = sealed.size = n;
        ck_assert_ptr_nonnull(sealed.at);
        memcpy(sealed.at, at, n);
    }
    bytes_put_sum(&sealed);
    ck_assert_int_eq(sealed.failed, 0);
    ck_assert_int_eq(kept_whole(sealed.at, sealed.n), 1);
    enum vb_err e = piece == 0 ? kept_count(sealed.at, sealed.n, "six", &f)
                               : kept_take(sealed.at, sealed.n, &en, 20454, &f);
    ck_assert(e == VB_OK || e == VB_EDB);
    ck_assert_uint_eq(f.n_units, e == VB_OK && piece ? 1 : 0);
    vb_fleet_clear(&f);
    free(sealed.at);
    return e == VB_OK;
}

/* A sum that is right does not make them whole: none of what is there is taken. */
START_TEST(bytes_that_end_too_soon_are_not_taken)
{
    char dir[] = "/tmp/valvebook-kept.XXXXXX", db[64];
    struct vb_book *b = NULL;
    struct vb_fleet computed;
    ck_assert_ptr_nonnull(mkdtemp(dir));
    load(dir, &b);
    ck_assert_int_eq(vb_book_fleet(b, NULL, "2026-01-01", &computed, NULL), VB_OK);
    vb_fleet_clear(&computed);
    for (int piece = 0; piece < 2; piece++) {
        struct bytes all = kept_bytes(b, piece);
        size_t n = all.n - 8; // the sum
        ck_assert_uint_gt(n, 100);
        ck_assert_int_eq(is_whole(all.at, n, piece), 1);
        for (size_t i = 0; i < n; i++)
            ck_assert_msg(!is_whole(all.at, i, piece), "%zu of %zu bytes", i, n);
        ck_assert_msg(!is_whole(all.at, n + 1, piece), "a byte more is whole");
        free(all.at);
    }
    ck_assert_int_eq(vb_book_close(b, NULL), VB_OK);
    snprintf(db, sizeof db, "%s/s.db", dir);
    unlink(db);
    ck_assert_int_eq(rmdir(dir), 0);
}
END_TEST

/* Each byte tells by its top bit that another follows. */
START_TEST(whole_numbers_in_bytes)
{
    static const uint64_t some[] = {0, 1, 127, 128, 300, UINT64_C(1) << 35, UINT64_MAX};
    static const size_t length[] = {1, 1, 1, 2, 2, 6, 10}; // 7 bits each
    for (size_t i = 0; i < sizeof some / sizeof *some; i++) {
        struct bytes to = {0};
        uint64_t v = 7;
        bytes_put(&to, some[i]);
        ck_assert_uint_eq(to.n, length[i]);
        struct view from = {to.at, to.at + to.n}, cut = {to.at, to.at + to.n - 1};
        ck_assert_int_eq(bytes_get(&from, &v), 1);
        ck_assert(v == some[i] && from.at == from.end);
        ck_assert_int_eq(bytes_get(&cut, &v), 0);
        free(to.at);
    }
    unsigned char endless[16];
    memset(endless, 0x80, sizeof endless);
    struct view from = {endless, endless + sizeof endless};
    uint64_t v;
    ck_assert_int_eq(bytes_get(&from, &v), 0);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("kept");
    TCase *t = tcase_create("kept");
    tcase_add_test(t, one_state_of_the_book);
    tcase_add_test(t, what_is_kept_comes_back);
    tcase_add_test(t, a_second_reader);
    tcase_add_test(t, no_second_reader_beside_a_log);
    tcase_add_test(t, cams_of_the_state_of_the_blocks);
    tcase_add_test(t, bytes_that_end_too_soon_are_not_taken);
    tcase_add_test(t, whole_numbers_in_bytes);
    suite_add_tcase(s, t);
    return run_suite(s);
}
