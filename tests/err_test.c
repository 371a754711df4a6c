/* What a message says of a place, and how foreign text is quoted in it. By hand. */
#include "suite.h"
#include "valvebook/err.h"

#include <check.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(a) (int)(sizeof(a) / sizeof *(a))

/* Controls are those below U+0020, U+007F, and U+0080 to U+009F (C2 80 to C2 9F); U+2028 and
 * U+202E (E2 80 A8, E2 80 AE) end a line or turn the writing round. */
static const struct {
    const char *raw, *plain;
} texts[] = {
    {"3E2: 0,31 mm", "3E2: 0,31 mm"},
    {"a\tb\x7f"
     "c",
     "a?b?c"},
    {"a\xc2\x80\xc2\x9f", "a????"},
    {"\xc2\xa0\xc2\xb5m", "\xc2\xa0\xc2\xb5m"}, // a blank and a micro sign
    {"\xc2", "?"},                              // half of one
    {"\xc2z", "?z"},
    {"\x80\x9f", "??"}, // halves without their first
    {"a\xe2\x80\xa8z\xe2\x80\xae", "a???z???"},
    {"a\xe2\x81\xa6z\xe2\x81\xa9", "a???z???"},
    {"\xe2\x80\x9cz\xe2\x80\x9d", "\xe2\x80\x9cz\xe2\x80\x9d"}, // quotation marks
    {"Gr\xfc\xdf"
     "e",
     "Gr??e"}, // Latin-1
    {"\xc3\x84", "\xc3\x84"},
};

START_TEST(controls_are_not_printed)
{
    struct vb_msg m;
    vb_msg_set(&m, "%s", texts[_i].raw);
    ck_assert_str_eq(m.text, texts[_i].plain);
    vb_msg_at(&m, texts[_i].raw, 17, texts[_i].raw);
    ck_assert_str_eq(m.file, texts[_i].plain);
    ck_assert_str_eq(m.column, texts[_i].plain);
    char out[32];
    ck_assert_str_eq(vb_quote(texts[_i].raw, strlen(texts[_i].raw), out, sizeof out),
                     texts[_i].plain);
}
END_TEST

/* Whatever the length, a letter of two, three or four bytes is there or is not. */
static const char *const letters[] = {"\xc3\xa9", "\xe6\xa9\x9f", "\xf0\x9f\x94\xa7"};

START_TEST(nothing_is_cut_within_a_letter)
{
    struct vb_msg m;
    const char *letter = letters[_i % 3];
    char text[400];
    size_t len = strlen(letter), n = (size_t)_i / 3;
    memset(text, 'x', n);
    for (; n + len < sizeof text; n += len)
        memcpy(text + n, letter, len);
    text[n] = 0;
    vb_msg_set(&m, "%s", text);
    vb_msg_at(&m, text, 1, text);
    const char *cut[] = {m.text, m.file, m.column};
    const size_t size[] = {sizeof m.text, sizeof m.file, sizeof m.column};
    for (int i = 0; i < 3; i++) {
        n = strlen(cut[i]);
        ck_assert_uint_eq((n - (size_t)_i / 3) % len, 0);
        ck_assert(n < size[i] && n + len >= size[i]);
        ck_assert_mem_eq(cut[i], text, n);
    }
}
END_TEST

START_TEST(a_place_may_be_unknown)
{
    struct vb_msg m;
    vb_msg_at(&m, "depot.csv", 3, NULL);
    ck_assert_str_eq(m.file, "depot.csv");
    ck_assert_str_eq(m.column, "");
    vb_msg_at(&m, NULL, 0, "lash");
    ck_assert_str_eq(m.file, "");
    ck_assert_uint_eq(m.line, 0);
    vb_msg_at(NULL, "depot.csv", 3, "lash"); // nobody wants to know
}
END_TEST

/* Room for seven bytes and a NUL: what is longer ends in three dots, at a whole letter. */
static const struct {
    const char *text, *quoted;
} quotes[] = {
    {"1234567", "1234567"},
    {"12345678", "1234..."},
    {"", ""},
    {"123\xc3\x84"
     "5678",
     "123..."},
    {"12\xe2\x80\xb3"
     "5678",
     "12..."},
    {"1\xe2\x80\xb3"
     "5678",
     "1\xe2\x80\xb3..."},
    {"\x80\x80\x80\x80\x80\x80\x80\x80", "????..."}, // tails without a head
};

START_TEST(a_quote_is_cut_between_letters)
{
    char out[8];
    vb_quote(quotes[_i].text, strlen(quotes[_i].text), out, sizeof out);
    ck_assert_str_eq(out, quotes[_i].quoted);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("err");
    TCase *t = tcase_create("messages");
    tcase_add_loop_test(t, controls_are_not_printed, 0, COUNT(texts));
    tcase_add_loop_test(t, nothing_is_cut_within_a_letter, 0, 12);
    tcase_add_test(t, a_place_may_be_unknown);
    tcase_add_loop_test(t, a_quote_is_cut_between_letters, 0, COUNT(quotes));
    suite_add_tcase(s, t);
    return run_suite(s);
}
