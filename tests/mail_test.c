/*
 * Parts of a message by the letter of the RFCs. Whole messages are read back by another
 * program's parser in tests/mail.t.
 */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../lib/text/mail_impl.h"
#include "suite.h"
#include "valvebook/hash.h"
#include "valvebook/mail.h"
#include "valvebook/utf8.h"

static struct writer w;
static char *got;
static size_t got_n;

static void
setup(void)
{
    vb_out_close(w.out, NULL); // what an earlier round has left
    free(got);
    w = (struct writer){NULL, "\r\n", 0};
    got = NULL;
    ck_assert_int_eq(vb_out_memory(&w.out), VB_OK);
}

static void
teardown(void)
{
    vb_out_close(w.out, NULL);
    free(got);
}

static const char *
taken(void)
{
    ck_assert_int_eq(vb_out_take(w.out, &got, &got_n), VB_OK);
    w.out = NULL;
    return got;
}

/* RFC 4648, section 10 */
START_TEST(base64)
{
    const char *const in[] = {"", "f", "fo", "foo", "foob", "fooba", "foobar"};
    const char *const out[] = {"",         "Zg==",     "Zm8=",    "Zm9v",
                               "Zm9vYg==", "Zm9vYmE=", "Zm9vYmFy"};
    body_base64(&w, in[_i], strlen(in[_i]));
    ck_assert_str_eq(taken(), out[_i]);
}
END_TEST

/* 57 bytes are a line of 76; one more begins the next */
START_TEST(base64_lines)
{
    char zeros[115] = "";
    body_base64(&w, zeros, 57u * (unsigned)_i + 1);
    taken();
    ck_assert_uint_eq(got_n, 78u * (unsigned)_i + 4);
    for (int i = 0; i < _i; i++)
        ck_assert_mem_eq(got + 78 * i + 76, "\r\n", 2);
}
END_TEST

START_TEST(base64_whole_lines)
{
    char zeros[114] = "";
    body_base64(&w, zeros, 114);
    taken();
    ck_assert_uint_eq(got_n, 76 + 2 + 76);
}
END_TEST

START_TEST(quoted_printable)
{
    static const struct {
        const char *in, *out;
    } c[] = {
        {"", ""},
        {"a=b", "a=3Db"},
        {"\xc2\xb1", "=C2=B1"},
        {"a\nb\n", "a\r\nb\r\n"},
        {"a \nb\t", "a=20\r\nb=09"},
        {"a b", "a b"},
        {".\n..\n", "=2E\r\n..\r\n"},
        {"From x\nfrom x\n From x\nFromx", "=46rom x\r\nfrom x\r\n From x\r\nFromx"},
        {"a\rb", "a=0Db"},
        {"\x7f\x01", "=7F=01"},
        // RFC 2045, section 6.7, but for the capital letters in its escapes
        {"Now's the time for all folk to come to the aid of their country.",
         "Now's the time for all folk to come to the aid of their country."},
    };
    body_quoted(&w, c[_i].in, strlen(c[_i].in));
    ck_assert_str_eq(taken(), c[_i].out);
}
END_TEST

/* Lines of every length around 76, ending in what is one or three characters. */
START_TEST(quoted_printable_lines)
{
    char in[96], *line;
    for (size_t n = 70; n < 85; n++) {
        memset(in, 'x', n);
        strcpy(in + n, _i == 0 ? "" : _i == 1 ? "=" : "\n");
        setup();
        body_quoted(&w, in, strlen(in));
        taken();
        size_t longest = 0, i = 0;
        for (line = got; line[i]; line += i + (line[i] ? 2 : 0)) {
            i = strcspn(line, "\r");
            longest = i > longest ? i : longest;
        }
        size_t width = n + (_i == 1 ? 3 : 0); // a soft break takes one of the 76
        ck_assert_uint_eq(longest, width <= 76 ? width : _i == 1 && n < 76 ? n + 1 : 76);
    }
}
END_TEST

START_TEST(from_behind_a_soft_break)
{
    char in[90];
    memset(in, 'x', 75);
    strcpy(in + 75, _i ? "." : "From x");
    body_quoted(&w, in, strlen(in));
    ck_assert_str_eq(taken() + 75, _i ? "." : "=\r\n=46rom x");
}
END_TEST

static void
field(const char *s, int phrase)
{
    head_begin(&w, "To");
    head_text(&w, s, phrase);
    head_end(&w);
    taken();
}

START_TEST(names)
{
    static const struct {
        const char *in, *out;
    } c[] = {
        {"Kurt Weber", "To: Kurt Weber\r\n"},
        {"O'Neil", "To: O'Neil\r\n"},
        {"Weber, Kurt", "To: \"Weber, Kurt\"\r\n"},
        {"K. (Pit) Weber", "To: \"K. (Pit) Weber\"\r\n"},
        {"a \"b\" c\\d", "To: \"a \\\"b\\\" c\\\\d\"\r\n"},
        // RFC 2047, section 8, has Keith_Moore and Keld_J=F8rn_Simonsen in this way
        {"Keld J\xc3\xb8rn Simonsen", "To: =?UTF-8?Q?Keld_J=C3=B8rn_Simonsen?=\r\n"},
        {"=?utf-8?q?x?=", "To: =?UTF-8?Q?=3D=3Futf-8=3Fq=3Fx=3F=3D?=\r\n"},
        {"a  b", "To: =?UTF-8?Q?a__b?=\r\n"},
        {" a", "To: =?UTF-8?Q?_a?=\r\n"},
        {"a ", "To: =?UTF-8?Q?a_?=\r\n"},
        {"a\r\nBcc: x", "To: =?UTF-8?Q?a=3F=3FBcc=3A_x?=\r\n"},
        {"\xc2\x85\xe2\x80\xa8z\xff", "To: =?UTF-8?Q?=3F=3Fz=EF=BF=BD?=\r\n"},
    };
    field(c[_i].in, 1);
    ck_assert_str_eq(got, c[_i].out);
}
END_TEST

START_TEST(a_subject_needs_no_quotes)
{
    field("shop: 2 new (HC-1, 3E1)", 0);
    ck_assert_str_eq(got, "To: shop: 2 new (HC-1, 3E1)\r\n");
}
END_TEST

/* Texts of every length: lines are short, and nothing but encoded words and folds. */
START_TEST(folds)
{
    static const char *const unit[] = {"abc ", "x", "\xc3\xbc", "\xf0\x9f\x94\xa7 ",
                                       "ab ",  "a "};
    char text[1000] = "z";
    for (int i = 0; i < 180; i++) {
        strcat(text, unit[_i]);
        setup();
        field(text, 1);
        for (char *line = got; *line; line += strcspn(line, "\r") + 2) {
            ck_assert_uint_le(strcspn(line, "\r"), 76);
            ck_assert(line == got || (line[0] == ' ' && line[1] > ' '));
            for (char *word = strstr(line, "=?");
                 word && word < line + strcspn(line, "\r");
                 word = strstr(word + 2, "=?U"))
                ck_assert_uint_le(strcspn(word, " \r"), 75);
        }
    }
}
END_TEST

/* The same behind names of every length. */
START_TEST(folds_anywhere)
{
    char name[76] = "";
    head_begin(&w, memset(name, 'N', (size_t)_i));
    head_text(&w, "\xf0\x9f\x94\xa7\xf0\x9f\x94\xa7", 0);
    taken();
    ck_assert_uint_le(strcspn(got, "\r"), 76);
    ck_assert_ptr_nonnull(strstr(got, "=?UTF-8?Q?=F0=9F=94=A7"));
    setup();
    head_begin(&w, name);
    head_text(&w, "abc def", 0);
    taken();
    ck_assert_uint_le(strcspn(got, "\r"), 76);
    ck_assert_uint_eq(strlen(got), (size_t)_i + 9 + (_i > 67 ? 2 : 0)); // : abc def
}
END_TEST

START_TEST(parameters)
{
    static const struct {
        const char *in, *out;
    } c[] = {
        {"due.csv", "To:; filename=\"due.csv\"\r\n"},
        {"my due.csv", "To:; filename=\"my due.csv\"\r\n"},
        {"a\"b", "To:;\r\n filename*0*=UTF-8''a%22b\r\n"},
        {"0123456789 0123456789 0123456789 0123456789 0123456789 1",
         "To:; filename=\"0123456789 0123456789 0123456789 0123456789 0123456789 "
         "1\"\r\n"},
        {"0123456789 0123456789 0123456789 0123456789 0123456789 12", // lines of 76
         "To:;\r\n filename*0*=UTF-8''0123456789%200123456789%200123456789%200123456789"
         "%20012;\r\n filename*1*=3456789%2012\r\n"},
        // the value of RFC 2231, section 4.1, in UTF-8
        {"This is even more ***fun*** isn't it!\xc2\xa0",
         // 74 characters; with %27 and its semicolon it would have 77
         "To:;\r\n filename*0*=UTF-8''This%20is%20even%20more%20%2A%2A%2Afun%2A%2A%2A"
         "%20isn;\r\n filename*1*=%27t%20it!%C2%A0\r\n"},
    };
    head_begin(&w, "To");
    head_parameter(&w, "filename", c[_i].in);
    head_end(&w);
    ck_assert_str_eq(taken(), c[_i].out);
}
END_TEST

#define X60 "xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx"

START_TEST(addresses)
{
    static const struct {
        const char *in, *name, *addr; // addr NULL: refused
    } c[] = {
        {"a@b", "", "a@b"},
        {" planner@depot.example.org ", "", "planner@depot.example.org"},
        {"<a@b>", "", "a@b"},
        {"Kurt Weber <k.weber+due@b-c.example>", "Kurt Weber", "k.weber+due@b-c.example"},
        {"Weber, Kurt<a@b>", "Weber, Kurt", "a@b"},
        {"\"Weber, \\\"K\\\" \\\\\" <a@b>", "Weber, \"K\" \\", "a@b"},
        {"a <b> <c@d>", "a <b>", "c@d"},
        {"\xc3\x9c <a@b>", "\xc3\x9c", "a@b"},
        {"\" <a@b>", "\"", "a@b"},
        {"\"a\\\" <a@b>", "a\\", "a@b"}, // a backslash that quotes nothing
        {"a^b{c}~@b", "", "a^b{c}~@b"},
        {"a@b^c", "", NULL},
        {"a@b{c", "", NULL},
        {"\"\" <a@b>", "", "a@b"},
        {X60 "1234@b", "", X60 "1234@b"},
        {X60 "12345@b", "", NULL},
        {"a@" X60 "123", "", "a@" X60 "123"},
        {"a@" X60 "1234", "", NULL},
        {"", "", NULL},
        {"a", "", NULL},
        {"@b", "", NULL},
        {"a@", "", NULL},
        {"a@b@c", "", NULL},
        {"a b@c", "", NULL},
        {".a@b", "", NULL},
        {"a.@b", "", NULL},
        {"a..c@b", "", NULL},
        {"\"a\"@b", "", NULL},
        {"a@-b", "", NULL},
        {"a@b-", "", NULL},
        {"a@b..c", "", NULL},
        {"a@.b", "", NULL},
        {"a@b.", "", NULL},
        {"a@[127.0.0.1]", "", NULL},
        {"\xc3\xbc@b", "", NULL},
        {"a@\xc3\xbc", "", NULL},
        {"a@b, c@d", "", NULL},
        {"x <a@b> y", "", NULL},
        {"x <a@b", "", NULL},
        {"x <a@bc", "", NULL},
        {"a@b>", "", NULL},
        {"<>", "", NULL},
        {">", "", NULL},
        {"<", "", NULL},
        {"x\r\nBcc: e@f <a@b>", "", NULL},
        {"x\n<a@b>", "", NULL},
        {"x <a@b\r\n>", "", NULL},
        {"\x7f <a@b>", "", NULL},
        {"\xff <a@b>", "", NULL},
    };
    struct vb_mailbox b = {"?", "?"};
    struct vb_msg m = {0};
    enum vb_err e = vb_mailbox_parse(c[_i].in, &b, &m);
    if (!c[_i].addr) {
        ck_assert_msg(e == VB_ESYNTAX, "%s", c[_i].in);
        ck_assert_str_eq(b.addr, "?");
        ck_assert_str_eq(b.name, "?");
        ck_assert(m.text[0] && !strpbrk(m.text, "\r\n"));
        return;
    }
    ck_assert_msg(e == VB_OK, "%s: %s", c[_i].in, m.text);
    ck_assert_str_eq(b.name, c[_i].name);
    ck_assert_str_eq(b.addr, c[_i].addr);
}
END_TEST

START_TEST(long_names)
{
    static char s[1100];
    struct vb_mailbox b;
    memset(s, 'n', 1024);
    strcpy(s + 1023, " <a@b>");
    ck_assert_int_eq(vb_mailbox_parse(s, &b, NULL), VB_OK);
    ck_assert_uint_eq(strlen(b.name), 1023);
    strcpy(s + 1023, "n <a@b>");
    ck_assert_int_eq(vb_mailbox_parse(s, &b, NULL), VB_ESYNTAX);
}
END_TEST

START_TEST(long_domains)
{
    char s[400] = "a@";
    struct vb_mailbox b;
    for (int i = 0; i < 51; i++)
        strcat(s, "abcd.");
    s[2 + 254] = 0;
    ck_assert_int_eq(vb_mailbox_parse(s, &b, NULL), VB_OK);
    strcat(s, "ab"); // 256
    ck_assert_int_eq(vb_mailbox_parse(s, &b, NULL), VB_ESYNTAX);
}
END_TEST

START_TEST(self)
{
    struct vb_mailbox me, again;
    vb_mailbox_self(&me);
    ck_assert_int_eq(vb_mailbox_parse(me.addr, &again, NULL), VB_OK);
}
END_TEST

/* Days of the week: date -ud @N of GNU coreutils 9.1, N = days * 86400. */
START_TEST(dates)
{
    static const struct {
        double days;
        const char *text;
    } c[] = {
        {0, "Date: Thu, 01 Jan 1970 00:00:00 +0000\n"},
        {20758, "Date: Sun, 01 Nov 2026 00:00:00 +0000\n"},
        {20758.999999, "Date: Mon, 02 Nov 2026 00:00:00 +0000\n"}, // 23:59:59.9
        {11016 + 86399 / 86400.0, "Date: Tue, 29 Feb 2000 23:59:59 +0000\n"},
        {-1, "Date: Wed, 31 Dec 1969 00:00:00 +0000\n"},
        {-0.25, "Date: Wed, 31 Dec 1969 18:00:00 +0000\n"},
        {84005, "Date: Tue, 31 Dec 2199 00:00:00 +0000\n"}, // the last
        {84005.5, NULL},
        {1e9, NULL},
        {0.0 / 0.0, NULL},
    };
    struct vb_mailbox a = {"", "a@b"};
    struct vb_mail mail = {&a, &a, 1, "s", c[_i].days, "1", "", "", "", "n", 0, "\n"};
    enum vb_err e = vb_mail_write(&mail, w.out);
    taken();
    if (!c[_i].text) {
        ck_assert_int_eq(e, VB_EDOM);
        return;
    }
    ck_assert_int_eq(e, VB_OK);
    ck_assert_msg(strncmp(got, c[_i].text, strlen(c[_i].text)) == 0, "%.60s", got);
}
END_TEST

/* http://www.isthe.com/chongo/tech/comp/fnv, test vectors of FNV-1a, 64 bits */
START_TEST(hashes)
{
    ck_assert_uint_eq(vb_hash(VB_HASH_BEGIN, "", 0), UINT64_C(0xcbf29ce484222325));
    ck_assert_uint_eq(vb_hash(VB_HASH_BEGIN, "a", 1), UINT64_C(0xaf63dc4c8601ec8c));
    ck_assert_uint_eq(vb_hash(VB_HASH_BEGIN, "foobar", 6), UINT64_C(0x85944171f73967e8));
    uint64_t h = vb_hash(VB_HASH_BEGIN, "foo", 3);
    ck_assert_uint_eq(vb_hash(h, "bar", 3), UINT64_C(0x85944171f73967e8));
    ck_assert_uint_eq(vb_hash_text(VB_HASH_BEGIN, "a"), vb_hash(VB_HASH_BEGIN, "a", 2));
}
END_TEST

/* RFC 3629: the edges of table 3-7 of the Unicode standard, and what lies beyond them */
START_TEST(utf8)
{
    static const struct {
        const char *s;
        size_t len;
    } c[] = {{"\x7f", 1},
             {"\xc2\x80", 2},
             {"\xdf\xbf", 2},
             {"\xe0\xa0\x80", 3},
             {"\xed\x9f\xbf", 3},
             {"\xee\x80\x80", 3},
             {"\xef\xbf\xbf", 3},
             {"\xf0\x90\x80\x80", 4},
             {"\xf4\x8f\xbf\xbf", 4},
             {"\x80", 0},
             {"\xc1\xbf", 0},
             {"\xc2", 0},
             {"\xc2\x7f", 0},
             {"\xe0\x9f\xbf", 0},
             {"\xed\xa0\x80", 0},
             {"\xe2\x82", 0},
             {"\xf0\x8f\xbf\xbf", 0},
             {"\xf4\x90\x80\x80", 0},
             {"\xf5\x80\x80\x80", 0}};
    ck_assert_uint_eq(vb_utf8_at(c[_i].s, strlen(c[_i].s)), c[_i].len);
    ck_assert_int_eq(vb_utf8_ok(c[_i].s, strlen(c[_i].s)), c[_i].len > 0);
}
END_TEST

START_TEST(shown)
{
    static const struct {
        const char *s, *shown;
    } c[] = {{"a\x01\n\x1f \x7f", "a??? ?"},
             {"\xc2\x80\xc2\x9f\xc2\xa0", "??\xc2\xa0"},
             {"\xe2\x80\xa7\xe2\x80\xa8\xe2\x80\xa9", "\xe2\x80\xa7??"},
             {"\xe2\x80\xaa\xe2\x80\xae\xe2\x80\xaf", "??\xe2\x80\xaf"},
             {"\xe2\x81\xa5\xe2\x81\xa6\xe2\x81\xa9\xe2\x81\xaa",
              "\xe2\x81\xa5??\xe2\x81\xaa"},
             {"\xe3\x80\xa8\xe3\x81\xa6\xf0\x9f\x94\xa7",
              "\xe3\x80\xa8\xe3\x81\xa6\xf0\x9f\x94\xa7"},
             {"\xffz\xc3", "\xef\xbf\xbdz\xef\xbf\xbd"}};
    const char *s = c[_i].s, *end = s + strlen(s), *ch;
    char text[64] = "";
    for (size_t n; (n = vb_utf8_next(&s, end, &ch));)
        strncat(text, ch, n);
    ck_assert_str_eq(text, c[_i].shown);
}
END_TEST

static Suite *
mail_suite(void)
{
    Suite *s = suite_create("mail");
    TCase *t = tcase_create("parts");
    tcase_add_checked_fixture(t, setup, teardown);
    tcase_add_loop_test(t, base64, 0, 7);
    tcase_add_loop_test(t, base64_lines, 0, 3);
    tcase_add_test(t, base64_whole_lines);
    tcase_add_loop_test(t, quoted_printable, 0, 11);
    tcase_add_loop_test(t, quoted_printable_lines, 0, 3);
    tcase_add_loop_test(t, from_behind_a_soft_break, 0, 2);
    tcase_add_loop_test(t, names, 0, 12);
    tcase_add_test(t, a_subject_needs_no_quotes);
    tcase_add_loop_test(t, folds, 0, 6);
    tcase_add_loop_test(t, folds_anywhere, 1, 75);
    tcase_add_loop_test(t, parameters, 0, 6);
    tcase_add_loop_test(t, dates, 0, 10);
    suite_add_tcase(s, t);
    t = tcase_create("texts");
    tcase_add_loop_test(t, addresses, 0, 49);
    tcase_add_test(t, long_names);
    tcase_add_test(t, long_domains);
    tcase_add_test(t, self);
    tcase_add_test(t, hashes);
    tcase_add_loop_test(t, utf8, 0, 19);
    tcase_add_loop_test(t, shown, 0, 7);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(mail_suite());
}
