/* The reader of delimited text at its edges: lines of carriage returns only, cells beside a
 * NUL byte, lines passed over where there are none or where the stream breaks off. */
#include "suite.h"
#include "valvebook/csv.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <check.h>
#include <zlib.h>

static struct vb_csv *csv;
static struct vb_row row;
static struct vb_msg m;
static char path[64];

static void
setup(void)
{
    csv = NULL;
    path[0] = 0;
    vb_msg_clear(&m);
}

static void
teardown(void)
{
    vb_csv_free(csv);
    if (path[0])
        unlink(path);
}

static void
from(const char *s, size_t n)
{
    struct vb_input *in;
    vb_csv_free(csv);
    ck_assert_int_eq(vb_input_memory(s, n, 7, "", &in, &m), VB_OK);
    ck_assert_int_eq(vb_csv_new(in, ',', &csv), VB_OK);
}

static void
next(size_t n, const char *first)
{
    ck_assert_int_eq(vb_csv_next(csv, &row, &m), VB_OK);
    ck_assert_uint_eq(row.n, n);
    ck_assert(vb_text_is(row.cell[0], first));
}

/* A file of packed lines "0", "1" ..., of which so many bytes are left. */
static void
from_cut(size_t lines, double part)
{
    static char bytes[1 << 20];
    struct vb_input *in;
    strcpy(path, "/tmp/valvebook-csv-test.XXXXXX");
    close(mkstemp(path));
    gzFile g = gzopen(path, "wb");
    for (size_t i = 0; i < lines; i++)
        gzprintf(g, "%zu\n", i * 7919 % 10007);
    ck_assert_int_eq(gzclose(g), Z_OK);
    FILE *f = fopen(path, "rb");
    size_t n = fread(bytes, 1, sizeof bytes, f);
    fclose(f);
    f = fopen(path, "wb");
    fwrite(bytes, 1, (size_t)((double)n * part), f);
    fclose(f);
    ck_assert_int_eq(vb_input_open(path, "", &in, &m), VB_OK);
    ck_assert_int_eq(vb_csv_new(in, ',', &csv), VB_OK);
}

/* One before a line feed belongs to the end of line; of more of them nothing is left either. */
START_TEST(lines_of_carriage_returns)
{
    from("a\n\r\r\nb\r\r\n\r\nc\n", 13);
    next(1, "a");
    next(1, "");
    ck_assert_uint_eq(row.raw.n, 0);
    ck_assert_uint_eq(row.line, 2);
    next(1, "b");
    next(1, "c");
    ck_assert_uint_eq(row.line, 5);
    ck_assert_int_eq(vb_csv_next(csv, &row, &m), VB_EEND);
}
END_TEST

/* The cell that is to blame is the one that has it, not an empty one before it. */
START_TEST(a_cell_beside_a_nul)
{
    from(",x,a\0b\n", 7);
    ck_assert_int_eq(vb_csv_next(csv, &row, &m), VB_ESYNTAX);
    ck_assert_uint_eq(row.bad, 2);
    ck_assert_str_eq(m.text, "NUL byte");
}
END_TEST

START_TEST(more_lines_are_passed_over_than_there_are)
{
    from("abc", 3);
    ck_assert_int_eq(vb_csv_skip(csv, 5, &m), VB_OK);
    ck_assert_int_eq(vb_csv_next(csv, &row, &m), VB_EEND);
    from("abc", 3); // which is read to its end in search of an end of line
    ck_assert_int_eq(vb_csv_skip(csv, 1, &m), VB_OK);
    ck_assert_int_eq(vb_csv_next(csv, &row, &m), VB_EEND);
    from("a\nb\nc\n", 6);
    next(1, "a");
    ck_assert_int_eq(vb_csv_skip(csv, 1, &m), VB_OK);
    next(1, "c");
    ck_assert_uint_eq(row.line, 3);
}
END_TEST

/* Passing over fails like reading does. */
START_TEST(a_stream_that_breaks_off)
{
    from_cut(100000, 0.5);
    next(1, "0");
    ck_assert_int_eq(vb_csv_skip(csv, 100000, &m), VB_EIO);
    ck_assert_str_eq(m.text, "gzip data end too early");
    ck_assert_str_eq(m.file, path);
}
END_TEST

START_TEST(a_stream_that_breaks_off_at_once)
{
    from_cut(10, 0.4);
    ck_assert_int_eq(vb_csv_skip(csv, 1, &m), VB_EIO);
    ck_assert_str_eq(m.text, "gzip data end too early");
}
END_TEST

/* The first line of a record that was given back may be empty, and ends in LF, CR LF or CR. */
static const struct {
    const char *text, *first, *second;
} halves[] = {
    {"\"a\nb\",c\n", "\"a", "b\""},
    {"x\r\n\"a\r\nb\",c\r\n", "\"a", "b\""},
    {"x\r\"a\rb\",c\r", "\"a", "b\""},
};

START_TEST(halves_of_a_record)
{
    from(halves[_i].text, strlen(halves[_i].text));
    if (halves[_i].text[0] == 'x')
        next(1, "x");
    ck_assert_int_eq(vb_csv_next(csv, &row, &m), VB_OK);
    ck_assert_uint_eq(row.lines, 2);
    vb_csv_split(csv, &row);
    ck_assert(vb_text_is(row.raw, halves[_i].first));
    ck_assert_uint_eq(row.lines, 1);
    next(2, halves[_i].second);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("csv edges");
    TCase *t = tcase_create("csv edges");
    tcase_add_checked_fixture(t, setup, teardown);
    tcase_add_test(t, lines_of_carriage_returns);
    tcase_add_test(t, a_cell_beside_a_nul);
    tcase_add_test(t, more_lines_are_passed_over_than_there_are);
    tcase_add_test(t, a_stream_that_breaks_off);
    tcase_add_test(t, a_stream_that_breaks_off_at_once);
    tcase_add_loop_test(t, halves_of_a_record, 0, sizeof halves / sizeof *halves);
    suite_add_tcase(s, t);
    return run_suite(s);
}
