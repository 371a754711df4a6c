#include "suite.h"
#include "valvebook/table.h"

#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <check.h>

#include "valvebook/tool.h"

static const struct vb_field fields[] = {{"name", "name", 0, 0}, {"x", "x mm", 1, 2}};

/* A table of one row, as it comes out; free() it. */
static char *
one_row(enum vb_format f, const char *name, double x)
{
    struct vb_out *o;
    struct vb_table *t;
    char *s;
    size_t n;
    ck_assert_int_eq(vb_out_memory(&o), VB_OK);
    ck_assert_int_eq(vb_table_new(o, f, fields, 2, &t), VB_OK);
    vb_table_text(t, name);
    vb_table_number(t, x);
    ck_assert_int_eq(vb_table_part(t, ""), VB_OK);
    ck_assert_int_eq(vb_out_take(o, &s, &n), VB_OK);
    return s;
}

/* What people see of a name, and how many cells of a terminal that takes: two of what
 * East_Asian_Width says is W or F, none of a mark that stands by itself. By hand. */
static const struct {
    const char *name, *shown;
    int width;
} names[] = {
    {"HC-1", "HC-1", 4},
    {"a\tb\x7f"
     "c\x1b[2J",
     "a?b?c?[2J", 9},
    {"a\xc2\x80"
     "b\xc2\x9b"
     "2J\xc2\x9f",
     "a?b?2J?", 7},                                              // U+0080, CSI, U+009F
    {"\xc2\xa0\xc3\xbc\xc2\xb5", "\xc2\xa0\xc3\xbc\xc2\xb5", 3}, // U+00A0 on is text
    {"\xe2\x80\xa8x\xe2\x80\xae"
     "y",
     "?x?y", 4}, // LINE SEPARATOR, RLO
    {"\xef\xbb\xbfHC\xe2\x80\x8b-\xe2\x80\x8f\xc2\xad"
     "1\xd8\x9c\xe2\x81\xa0",
     "?HC?-??1??",
     10}, // a byte order mark, a blank of no width, RLM, SHY, ALM, WORD JOINER
    {"HC\xf3\xa0\x81\x81-1", "HC?-1", 5}, // TAG LATIN CAPITAL LETTER A
    {"\xd9\x85\xe2\x80\x8c\xd9\x86", "\xd9\x85\xe2\x80\x8c\xd9\x86",
     2}, // a joiner is text
    {"\xe6\xa9\x9f\xf0\x9f\x94\xa7", "\xe6\xa9\x9f\xf0\x9f\x94\xa7", 4},
    {"Gru\xcc\x88n 1", "Gru\xcc\x88n 1", 6},                     // u and U+0308
    {"\xef\xbc\xa1\xef\xbd\xb1", "\xef\xbc\xa1\xef\xbd\xb1", 3}, // of full and half width
    {"\xed\x95\x9c\xe1\x84\x92\xe1\x85\xa1", "\xed\x95\x9c\xe1\x84\x92\xe1\x85\xa1",
     4},                                                         // jamo
    {"\xe3\x81\x8b\xe3\x82\x99", "\xe3\x81\x8b\xe3\x82\x99", 2}, // ka and its mark
    {"\xc3x", "\xef\xbf\xbdx", 2},                               // half a sequence
};

START_TEST(a_terminal_gets_no_controls)
{
    char want[128];
    int width = names[_i].width, pad = width > 4 ? width : 4;
    char *s = one_row(VB_FORMAT_TABLE, names[_i].name, 1.5);
    const char *line = strchr(s, '\n');
    ck_assert_ptr_nonnull(line);
    snprintf(want, sizeof want, "\n%s%*s  1.50\n", names[_i].shown, pad - width, "");
    ck_assert_msg(strcmp(line, want) == 0, "%s instead of %s", line, want);
    free(s);
}
END_TEST

/* RFC 8259, 7: quotation mark, reverse solidus and below U+0020 are escaped. */
START_TEST(json_escapes)
{
    char *s = one_row(VB_FORMAT_JSON, "a\"b\\c\n\x01", NAN);
    ck_assert_str_eq(s, "{\"name\":\"a\\\"b\\\\c\\u000a\\u0001\",\"x\":null}\n");
    free(s);
}
END_TEST

/* A spreadsheet runs what begins with = + - @ and turns what looks like a number into one. */
START_TEST(sheets_are_guarded)
{
    static const struct {
        const char *name, *cell;
    } c[] = {{"=1+1", "'=1+1"},
             {"+1", "'+1"},
             {"-1", "'-1"},
             {"@A1", "'@A1"},
             {".5", "'.5"},
             {",5", "',5"},
             {"0012", "'0012"},
             {"3E1", "'3E1"},
             {"HC-1", "HC-1"},
             {"", ""},
             {".", "."},
             {",x", ",x"},
             {"12-3", "'12-3"},
             {"5/7", "'5/7"},
             {"1:30", "'1:30"},
             {"50%", "'50%"},
             {"2026-11-01", "2026-11-01"},
             {"2026-11-1", "'2026-11-1"},
             {"12-3b", "12-3b"},
             {"3/", "'3/"}};
    for (size_t i = 0; i < sizeof c / sizeof *c; i++) {
        char want[64];
        int quoted = strchr(c[i].cell, ',') != NULL;
        char *s = one_row(VB_FORMAT_SHEET, c[i].name, 1.5);
        snprintf(want, sizeof want, "\xef\xbb\xbfname,x\r\n%s%s%s,1.5\r\n",
                 quoted ? "\"" : "", c[i].cell, quoted ? "\"" : "");
        ck_assert_str_eq(s, want);
        free(s);
    }
}
END_TEST

START_TEST(numbers_by_form)
{
    static const struct {
        double x;
        const char *csv, *table;
    } c[] = {{1.0 / 3, "0.333333", "0.33"},
             {-0.001, "-0.001", "0.00"},
             {-1e-9, "0", "0.00"},
             {12345678.5, "12345678.5", "12345678.50"}};
    for (size_t i = 0; i < sizeof c / sizeof *c; i++) {
        char want[64], *s = one_row(VB_FORMAT_CSV, "a", c[i].x);
        snprintf(want, sizeof want, "name,x\na,%s\n", c[i].csv);
        ck_assert_str_eq(s, want);
        free(s);
        s = one_row(VB_FORMAT_TABLE, "a", c[i].x);
        snprintf(want, sizeof want, " %s\n", c[i].table);
        ck_assert_ptr_nonnull(strstr(s, want));
        free(s);
    }
}
END_TEST

/* Too many digits for a person are fewer; a column that is not shown leaves no blanks. */
START_TEST(what_people_do_not_see)
{
    static const struct vb_field hidden[] = {{"name", "name", 0, 0}, {"x", NULL, 1, 0}};
    static const struct vb_field none[] = {{"name", NULL, 0, 0}, {"x", NULL, 1, 0}};
    char *s = one_row(VB_FORMAT_TABLE, "a", 1e80);
    ck_assert_ptr_nonnull(strstr(s, " 1e+80\n"));
    free(s);
    for (int i = 0; i < 2; i++) {
        struct vb_out *o;
        struct vb_table *t;
        size_t n;
        ck_assert_int_eq(vb_out_memory(&o), VB_OK);
        ck_assert_int_eq(vb_table_new(o, VB_FORMAT_TABLE, i ? none : hidden, 2, &t),
                         VB_OK);
        vb_table_text(t, "a");
        vb_table_number(t, 7);
        ck_assert_int_eq(vb_table_part(t, ""), VB_OK);
        ck_assert_int_eq(vb_out_take(o, &s, &n), VB_OK);
        ck_assert_str_eq(s, i ? "\n\n" : "name\na\n");
        free(s);
    }
    ck_assert_int_eq(vb_table_end(NULL, ""), VB_OK);
}
END_TEST

/* Whoever looks at a terminal gets a table, a pipe gets CSV. */
START_TEST(who_is_looking)
{
    int kept = dup(STDOUT_FILENO), master = posix_openpt(O_RDWR | O_NOCTTY), ends[2];
    ck_assert(master >= 0 && grantpt(master) == 0 && unlockpt(master) == 0);
    int slave = open(ptsname(master), O_RDWR | O_NOCTTY);
    ck_assert_int_ge(slave, 0);
    ck_assert_int_eq(pipe(ends), 0);
    dup2(slave, STDOUT_FILENO);
    enum vb_format terminal = vb_format_auto(VB_FORMAT_AUTO);
    enum vb_format asked = vb_format_auto(VB_FORMAT_JSON);
    dup2(ends[1], STDOUT_FILENO);
    enum vb_format piped = vb_format_auto(VB_FORMAT_AUTO);
    dup2(kept, STDOUT_FILENO);
    ck_assert_int_eq(terminal, VB_FORMAT_TABLE);
    ck_assert_int_eq(asked, VB_FORMAT_JSON);
    ck_assert_int_eq(piped, VB_FORMAT_CSV);
}
END_TEST

/* Where nothing says why, the kind of failure does. */
static const struct {
    enum vb_err err;
    const char *says;
} failures[] = {{VB_EMEM, "out of memory"},
                {VB_EIO, "read or write error"},
                {VB_EDB, "the book cannot be read or written"},
                {VB_ERANGE, "number out of range"},
                {VB_EDOM, "cannot go on"}};

START_TEST(failures_in_words)
{
    struct vb_tool tool = {.name = "valve-x", .usage = "valve-x book", .status = 1};
    struct vb_msg m = {0};
    char got[128] = "", want[128];
    int kept = dup(STDERR_FILENO), ends[2];
    ck_assert_int_eq(pipe(ends), 0);
    dup2(ends[1], STDERR_FILENO);
    vb_tool_fail(&tool, failures[_i].err, &m);
    int status = vb_tool_wrong(&tool, NULL, NULL);
    dup2(kept, STDERR_FILENO);
    ck_assert_int_gt(read(ends[0], got, sizeof got - 1), 0);
    snprintf(want, sizeof want, "valve-x: %s\nusage: valve-x book\n", failures[_i].says);
    ck_assert_str_eq(got, want);
    ck_assert_int_eq(tool.status, 2);
    ck_assert_int_eq(status, 2);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("shown");
    TCase *t = tcase_create("forms");
    tcase_add_loop_test(t, a_terminal_gets_no_controls, 0, sizeof names / sizeof *names);
    tcase_add_test(t, json_escapes);
    tcase_add_test(t, sheets_are_guarded);
    tcase_add_test(t, numbers_by_form);
    tcase_add_test(t, what_people_do_not_see);
    tcase_add_test(t, who_is_looking);
    tcase_add_loop_test(t, failures_in_words, 0, sizeof failures / sizeof *failures);
    suite_add_tcase(s, t);
    return run_suite(s);
}
