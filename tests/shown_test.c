#include "valvebook/table.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "valvebook/utf8.h"

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

/* What people see of a name; `shown` is as wide as the table makes it. */
static const struct {
    const char *name, *shown;
} names[] = {
    {"HC-1", "HC-1"},
    {"a\tb\x7f"
     "c\x1b[2J",
     "a?b?c?[2J"},
    {"a\xc2\x80"
     "b\xc2\x9b"
     "2J\xc2\x9f",
     "a?b?2J?"},                                              // U+0080, CSI, U+009F
    {"\xc2\xa0\xc3\xbc\xc2\xb5", "\xc2\xa0\xc3\xbc\xc2\xb5"}, // U+00A0 on is text
    {"\xe2\x80\xa8x\xe2\x80\xae"
     "y",
     "?x?y"}, // LINE SEPARATOR, RLO
    {"\xe6\xa9\x9f\xf0\x9f\x94\xa7", "\xe6\xa9\x9f\xf0\x9f\x94\xa7"},
    {"\xc3x", "\xef\xbf\xbdx"}, // half a sequence
};

START_TEST(a_terminal_gets_no_controls)
{
    char want[128];
    size_t width = vb_utf8_width(names[_i].shown), pad = width > 4 ? width : 4;
    char *s = one_row(VB_FORMAT_TABLE, names[_i].name, 1.5);
    const char *line = strchr(s, '\n');
    ck_assert_ptr_nonnull(line);
    snprintf(want, sizeof want, "\n%s%*s  1.50\n", names[_i].shown, (int)(pad - width),
             "");
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
    } c[] = {{"=1+1", "'=1+1"}, {"+1", "'+1"}, {"-1", "'-1"},     {"@A1", "'@A1"},
             {".5", "'.5"},     {",5", "',5"}, {"0012", "'0012"}, {"3E1", "'3E1"},
             {"HC-1", "HC-1"},  {"", ""},      {".", "."},        {",x", ",x"}};
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

int
main(void)
{
    Suite *s = suite_create("shown");
    TCase *t = tcase_create("forms");
    tcase_add_loop_test(t, a_terminal_gets_no_controls, 0, sizeof names / sizeof *names);
    tcase_add_test(t, json_escapes);
    tcase_add_test(t, sheets_are_guarded);
    tcase_add_test(t, numbers_by_form);
    suite_add_tcase(s, t);
    SRunner *r = srunner_create(s);
    srunner_run_all(r, CK_ENV);
    int failed = srunner_ntests_failed(r);
    srunner_free(r);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
