/* What --check makes of SQLite's words, and of numbers that another machine has computed. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "../lib/book/audit_impl.h"
#include "../lib/book/kept_impl.h"
#include "suite.h"

/* The rows that come of these lines, which one table is asked for. */
static void
says(const char *const *line, size_t n, const char *want)
{
    struct vb_check c = {0};
    struct audit a = {.c = &c};
    char *text = NULL;
    size_t size = 0;
    int page = 0;
    ck_assert_int_eq(vb_out_memory(&c.out), VB_OK);
    for (size_t i = 0; i < n; i++)
        audit_words(&a, "visits", line[i], &page);
    ck_assert_int_eq(vb_out_take(c.out, &text, &size), VB_OK);
    ck_assert_str_eq(text, want);
    free(text);
}

/* As SQLite 3.37 to 3.54 word them: src/btree.c and src/pragma.c */
static const struct {
    const char *line, *want;
} words[] = {
    {"On tree page 25 cell 3: Rowid 36 out of order",
     "visits,,,page 25 of the file is damaged (Rowid 36 out of order)\n"},
    {"Tree 10 page 25 cell 3: Rowid 36 out of order",
     "visits,,,page 25 of the file is damaged (Rowid 36 out of order)\n"},
    {"Page 7: btreeInitPage() returns error code 11",
     "visits,,,page 7 of the file is damaged (btreeInitPage() returns error code 11)\n"},
    {"Tree 7 page 7: btreeInitPage() returns error code 11",
     "visits,,,page 7 of the file is damaged (btreeInitPage() returns error code 11)\n"},
    {"Page 7: unable to get the page. error code=266",
     "visits,,,page 7 of the file cannot be read from the disk\n"},
    {"failed to get page 7",
     "visits,,,page 7 of the file cannot be read from the disk\n"},
    {"Page 7 is never used",
     "visits,,,page 7 of the file is used by nothing: rows may be lost\n"},
    {"Page 7: never used",
     "visits,,,page 7 of the file is used by nothing: rows may be lost\n"},
    {"2nd reference to page 7", "visits,,,page 7 of the file is used twice\n"},
    {"invalid page number 70000", "visits,,,damaged (invalid page number 70000)\n"},
    {"row 12 missing from index sqlite_autoindex_visits_1",
     "visits,,,row 12 is missing from the index sqlite_autoindex_visits_1\n"},
    {"wrong # of entries in index sqlite_autoindex_visits_1",
     "visits,,,the index sqlite_autoindex_visits_1 has not as many rows as the table\n"},
    {"non-unique entry in index sqlite_autoindex_visits_1",
     "visits,,,two rows have the same key in the index sqlite_autoindex_visits_1\n"},
    {"row not in PRIMARY KEY order for events",
     "visits,,,damaged (row not in PRIMARY KEY order for events)\n"},
    {"database disk image is malformed",
     "visits,,,cannot be read to its end: database disk image is malformed\n"},
};

START_TEST(plain_words)
{
    says(&words[_i].line, 1, words[_i].want);
}
END_TEST

START_TEST(a_page_is_told_once_in_a_row)
{
    static const char *const line[] = {"Page 7: a", "On tree page 7 cell 2: b",
                                       "On tree page 8 cell 0: c"};
    says(line, 3,
         "visits,,,page 7 of the file is damaged (a)\n"
         "visits,,,page 8 of the file is damaged (c)\n");
}
END_TEST

START_TEST(what_an_index_lost_with_a_page_is_not_told_again)
{
    static const char *const line[] = {
        "Tree 10 page 10: btreeInitPage() returns error code 11",
        "wrong # of entries in index sqlite_autoindex_visits_1"};
    says(line, 2,
         "visits,,,page 10 of the file is damaged (btreeInitPage() returns error code "
         "11)\n");
}
END_TEST

/* An engine with two lives, the second with a corner on either side, as bytes. */
struct two {
    struct vb_unit_now unit;
    struct vb_life life[2];
    struct vb_corner corner[2];
    struct bytes sums, kept;
};

static void
make(struct two *t)
{
    struct vb_fleet f = {.unit = &t->unit, .n_units = 1};
    f.lives =
        (struct vb_lives){.life = t->life, .n = 2, .corner = t->corner, .n_corners = 2};
    ck_assert_int_eq(kept_put(&f, &t->sums, &t->kept), VB_OK);
}

static void
begin(struct two *t)
{
    memset(t, 0, sizeof *t);
    strcpy(t->unit.meter_unit, "h");
    t->unit.pace = 1.5;
    t->unit.set_day = NAN;
    for (int i = 0; i < 2; i++) {
        t->life[i].valve = (struct vb_valve){i + 1, 'E', 0};
        t->life[i].wear.n = 5;
        t->life[i].wear.rate = -1e-3;
        t->life[i].wear.now = 0.25;
    }
    t->life[1].n_looser = t->life[1].n_tighter = 1;
    t->corner[0] = t->corner[1] = (struct vb_corner){.n = 3, .sum = 0.125};
    make(t);
}

static void
end(struct two *t)
{
    free(t->sums.at);
    free(t->kept.at);
}

static struct two one, other;

/* Both pieces after something of the other was changed. */
static void
compare(int sums, int kept)
{
    make(&other);
    ck_assert_int_eq(kept_near_sums(&one.sums, &other.sums), sums);
    ck_assert_int_eq(kept_near(&one.kept, &other.kept), kept);
    ck_assert_int_eq(kept_near_sums(&other.sums, &one.sums), sums);
    ck_assert_int_eq(kept_near(&other.kept, &one.kept), kept);
}

START_TEST(the_last_digits_are_let_go)
{
    compare(1, 1);
    other.life[1].wear.rate *= 1 + 1e-12;
    other.unit.pace *= 1 - 1e-12;
    other.corner[1].sum += 1e-13;
    other.life[0].closed = 1e-15; // 0 in the one
    compare(1, 1);
    ck_assert(memcmp(one.kept.at, other.kept.at, one.kept.n) != 0);
}
END_TEST

START_TEST(a_number_is_not)
{
    switch (_i) {
    case 0:
        other.life[1].wear.rate *= 1.001;
        compare(0, 0);
        break;
    case 1:
        other.life[0].wear.now += 0.01;
        compare(1, 0);
        break;
    case 2:
        other.unit.pace = NAN;
        compare(1, 0);
        break;
    case 3:
        other.unit.set_day = 20000;
        compare(1, 0);
        break;
    case 4:
        other.life[0].wear.n = 6;
        compare(0, 0);
        break;
    case 5:
        strcpy(other.unit.meter_unit, "km");
        compare(0, 0);
        break;
    case 6:
        other.life[1].valve.cyl = 3;
        compare(1, 0);
        break;
    case 7:
        other.corner[0].sum = 0.126;
        compare(1, 0);
        break;
    case 8:
        other.corner[1].n = 4;
        compare(1, 0);
        break;
    case 9:
        other.life[1].n_looser = 0;
        compare(1, 0);
        break;
    case 10:
        other.life[1].n_tighter = 0;
        compare(1, 0);
        break;
    default: other.unit.n_unread = 1; compare(1, 0);
    }
}
END_TEST

/* Whole in itself, but with fewer lives, or with bytes behind the last. */
START_TEST(too_little_and_too_much)
{
    struct vb_fleet f = {.unit = &other.unit, .n_units = 1};
    f.lives = (struct vb_lives){.life = other.life, .n = 1};
    ck_assert_int_eq(kept_put(&f, &other.sums, &other.kept), VB_OK);
    ck_assert(!kept_near_sums(&one.sums, &other.sums) &&
              !kept_near(&one.kept, &other.kept));
    make(&other);
    bytes_put(&other.sums, 0);
    bytes_put(&other.kept, 0);
    ck_assert(!kept_near_sums(&one.sums, &other.sums) &&
              !kept_near(&one.kept, &other.kept));
    ck_assert(!kept_near_sums(&other.sums, &one.sums) &&
              !kept_near(&other.kept, &one.kept));
}
END_TEST

/* Cut anywhere, nothing is read behind the end. */
START_TEST(cut)
{
    for (size_t n = REAL_BYTES; n < one.kept.n; n++) {
        struct bytes part = {.at = malloc(n), .n = n};
        memcpy(part.at, one.kept.at, n);
        ck_assert(!kept_near(&part, &one.kept) && !kept_near(&one.kept, &part));
        if (n < one.sums.n) {
            memcpy(part.at, one.sums.at, n);
            ck_assert(!kept_near_sums(&part, &one.sums) &&
                      !kept_near_sums(&one.sums, &part));
        }
        free(part.at);
    }
}
END_TEST

static void
set_up(void)
{
    begin(&one);
    begin(&other);
}

static void
tear_down(void)
{
    end(&one);
    end(&other);
}

static Suite *
audit_suite(void)
{
    Suite *s = suite_create("audit");
    TCase *w = tcase_create("words"), *k = tcase_create("kept");
    tcase_add_loop_test(w, plain_words, 0, (int)(sizeof words / sizeof *words));
    tcase_add_test(w, a_page_is_told_once_in_a_row);
    tcase_add_test(w, what_an_index_lost_with_a_page_is_not_told_again);
    tcase_add_checked_fixture(k, set_up, tear_down);
    tcase_add_test(k, the_last_digits_are_let_go);
    tcase_add_loop_test(k, a_number_is_not, 0, 12);
    tcase_add_test(k, too_little_and_too_much);
    tcase_add_test(k, cut);
    suite_add_tcase(s, w);
    suite_add_tcase(s, k);
    return s;
}

int
main(void)
{
    return run_suite(audit_suite());
}
