/* Cells of a row joined as one record of CSV, and taken apart again. */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "../lib/book/load_impl.h"
#include "suite.h"

static const char *const cells[] = {"HC-1",          "",           "1,5",
                                    "say \"tight\"", "two\nlines", " x"};
static const char joined[] = "HC-1,,\"1,5\",\"say \"\"tight\"\"\",\"two\nlines\", x";
enum { N = sizeof cells / sizeof *cells };

START_TEST(joined_and_split)
{
    char text[128], (*part)[MAX_CELL] = malloc(N * sizeof *part);
    ck_assert_ptr_nonnull(part);
    ck_assert_uint_eq(cells_join(cells, N, text, sizeof text), sizeof joined - 1);
    ck_assert_str_eq(text, joined); // as RFC 4180 has it
    ck_assert_int_eq(cells_split(text, part, N), VB_OK);
    for (int i = 0; i < N; i++)
        ck_assert_str_eq(part[i], cells[i]);
    ck_assert_int_eq(cells_split(text, part, N - 1), VB_ESYNTAX);
    ck_assert_int_eq(cells_split("", part, 2), VB_ESYNTAX);
    free(part);
}
END_TEST

START_TEST(one_cell)
{
    static const char *const one[] = {"", "a", "a,b"};
    static const char *const want[] = {"\"\"", "a", "\"a,b\""};
    char text[16], part[1][MAX_CELL];
    for (int i = 0; i < 3; i++) {
        cells_join(&one[i], 1, text, sizeof text);
        ck_assert_str_eq(text, want[i]);
        ck_assert_int_eq(cells_split(text, part, 1), VB_OK);
        ck_assert_str_eq(part[0], one[i]);
    }
    ck_assert_int_eq(cells_split("", part, 1), VB_OK);
    ck_assert_str_eq(part[0], "");
    ck_assert_int_eq(cells_split("a,b", part, 1), VB_ESYNTAX);
}
END_TEST

/* What has no room is cut: never a byte behind it, and always an end. */
START_TEST(in_too_small_a_room)
{
    for (size_t size = 1; size < sizeof joined + 2; size++) {
        char *text = malloc(size); // of just this length: a byte behind it is seen
        ck_assert_ptr_nonnull(text);
        size_t n = cells_join(cells, N, text, size);
        ck_assert_uint_lt(n, size);
        ck_assert_uint_eq(strlen(text), n);
        free(text);
    }
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("cells");
    TCase *t = tcase_create("cells");
    tcase_add_test(t, joined_and_split);
    tcase_add_test(t, one_cell);
    tcase_add_test(t, in_too_small_a_room);
    suite_add_tcase(s, t);
    return run_suite(s);
}
