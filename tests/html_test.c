#include "suite.h"
#include "valvebook/html.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

/* Less than VB_OUT_SIZE bytes stay in the buffer, where they can be looked at. */
static struct vb_out out;

static const char *
written(void)
{
    if (out.n >= VB_OUT_SIZE)
        ck_abort_msg("the buffer is full");
    out.buf[out.n] = 0;
    out.n = 0;
    return out.buf;
}

static const char *
text_of(const char *s, size_t n)
{
    vb_html_text(&out, s, n);
    return written();
}

#define BAD "\xef\xbf\xbd"

struct turned {
    const char *s;
    size_t n;
    const char *html;
};
#define TURNED(s, html)                                                                  \
    {                                                                                    \
        s, sizeof(s) - 1, html                                                           \
    }

/* By hand, from what the header says. */
static const struct turned turned[] = {
    TURNED("", ""),
    TURNED("HC-1", "HC-1"),
    TURNED("<script>alert('x')</script>",
           "&lt;script&gt;alert(&#39;x&#39;)&lt;/script&gt;"),
    TURNED("\" onload=\"x", "&quot; onload=&quot;x"),
    TURNED("a && b &lt; &#0;", "a &amp;&amp; b &amp;lt; &amp;#0;"),
    TURNED("]]>--><!--", "]]&gt;--&gt;&lt;!--"),
    TURNED("=cmd|'/C calc'!A0", "=cmd|&#39;/C calc&#39;!A0"),
    TURNED("a\0b\0", "a" BAD "b" BAD),
    TURNED("\x1b[2J\a\b\x7f", BAD "[2J" BAD BAD BAD),
    TURNED("a\tb\r\nc\fd", "a b  c" BAD "d"),
    TURNED("\xc2\x80\xc2\x85\xc2\x9f\xc2\xa0", BAD BAD BAD "\xc2\xa0"),
    TURNED("a\xe2\x80\xa8z\xe2\x80\xa9y", "a z y"),
    TURNED("\xe2\x80\xaa\xe2\x80\xae\xe2\x81\xa6\xe2\x81\xa9", BAD BAD BAD BAD),
    TURNED("\xe2\x80\xa9\xe2\x80\xaf\xe2\x81\xa5\xe2\x81\xaa",
           " \xe2\x80\xaf\xe2\x81\xa5\xe2\x81\xaa"),         // beside the marks
    TURNED("\xd8\x9c\xe2\x80\x8e\xe2\x80\x8f", BAD BAD BAD), // weak marks of direction
    TURNED("H\xc2\xad"
           "C\xe2\x80\x8b-\xe2\x81\xa0"
           "1\xef\xbb\xbf\xf3\xa0\x81\xbf",
           "H" BAD "C" BAD "-" BAD "1" BAD BAD), // nobody would see them
    TURNED(
        "\xe2\x80\x8a\xe2\x80\x8c\xe2\x80\x8d\xe2\x80\x90\xef\xbb\xbe\xf3\xa0\x82\x80",
        "\xe2\x80\x8a\xe2\x80\x8c\xe2\x80\x8d\xe2\x80\x90\xef\xbb\xbe\xf3\xa0\x82\x80"),
    TURNED("\xef\xb7\x8f\xef\xb7\x90\xef\xb7\xaf\xef\xb7\xb0",
           "\xef\xb7\x8f" BAD BAD "\xef\xb7\xb0"),
    TURNED("\xef\xbf\xbd\xef\xbf\xbe\xef\xbf\xbf", BAD BAD BAD),
    TURNED("\xf0\x9f\xbf\xbd\xf0\x9f\xbf\xbe\xf4\x8f\xbf\xbf",
           "\xf0\x9f\xbf\xbd" BAD BAD),
    TURNED("Pr\xc3\xbc"
           "fstand \xe2\x84\x96 7 \xf0\x9f\x94\xa7",
           "Pr\xc3\xbc"
           "fstand \xe2\x84\x96 7 \xf0\x9f\x94\xa7"),
    /* Unicode 15.0, tables 3-8 to 3-11 */
    TURNED("\xc0\xaf\xe0\x80\xbf\xf0\x81\x82\x41", BAD BAD BAD BAD BAD BAD BAD BAD "A"),
    TURNED("\xed\xa0\x80\xed\xbf\xbf\xed\xaf\x41", BAD BAD BAD BAD BAD BAD BAD BAD "A"),
    TURNED("\xf4\x91\x92\x93\xff\x41\x80\xbf\x42", BAD BAD BAD BAD BAD "A" BAD BAD "B"),
    TURNED("\xe1\x80\xe2\xf0\x91\x92\xf1\xbf\x41", BAD BAD BAD BAD "A"),
    /* and a sequence that the end cuts off */
    TURNED("a\xf1\x80\x80", "a" BAD),
    TURNED("\xc3", BAD),
    {"\xc3\xbc", 1, BAD}, // what stands behind the end is not looked at
    {"\xe2\x80\xa8", 2, BAD},
};

START_TEST(data_become_text)
{
    const struct turned *t = &turned[_i];
    ck_assert_str_eq(text_of(t->s, t->n), t->html);
}
END_TEST

/* A decoder of another make: the definition in bits, and the bans of RFC 3629. */
static int
is_utf8(const unsigned char *s, size_t n)
{
    static const uint32_t least[] = {0, 0x80, 0x800, 0x10000};
    for (size_t i = 0; i < n;) {
        size_t more = 0;
        uint32_t c = s[i];
        if (c >= 0x80) {
            while (more < 4 && c & (0x40u >> more))
                more++;
            if (more < 1 || more > 3)
                return 0;
            c &= 0x3fu >> more;
        }
        if (i + more >= n)
            return 0;
        for (size_t k = 1; k <= more; k++) {
            if (s[i + k] >> 6 != 2)
                return 0;
            c = c << 6 | (s[i + k] & 0x3fu);
        }
        if (c < least[more] || c > 0x10ffff || (c >= 0xd800 && c <= 0xdfff))
            return 0;
        i += more + 1;
    }
    return 1;
}

/* Does nothing that means something to a parser come through? No ck_assert inside: each
 * costs a write, and there are millions of them. */
static int
harmless(const char *html)
{
    static const char *const known[] = {"&amp;", "&lt;", "&gt;", "&quot;", "&#39;"};
    for (const char *p = html; *p; p++) {
        int is_known = *p != '&';
        for (size_t i = 0; !is_known && i < sizeof known / sizeof *known; i++)
            is_known = strncmp(p, known[i], strlen(known[i])) == 0;
        if (!is_known || (unsigned char)*p < 0x20 || *p == 0x7f || strchr("<>\"'", *p))
            return 0;
    }
    return is_utf8((const unsigned char *)html, strlen(html));
}

START_TEST(all_pairs_of_bytes_are_harmless)
{
    for (unsigned i = 0; i < 0x10000; i++) {
        const char s[] = {(char)(i >> 8), (char)i};
        if (!harmless(text_of(s, 2)))
            ck_abort_msg("%02x %02x: %s", i >> 8, i & 0xff, out.buf);
    }
}
END_TEST

/* Bytes that hit leading and following ones often; a fixed sequence (Knuth's MMIX). */
START_TEST(any_bytes_are_harmless)
{
    uint64_t r = 1;
    char s[64];
    for (int round = 0; round < 20000; round++) {
        for (size_t i = 0; i < sizeof s; i++) {
            r = r * 6364136223846793005u + 1442695040888963407u;
            s[i] = (char)(r >> 56);
            if (r >> 40 & 1)
                s[i] = (char)(0x80 | (s[i] & 0x3f));
        }
        const char *html = text_of(s, sizeof s);
        if (!harmless(html) || strlen(html) < vb_html_width(s, sizeof s))
            ck_abort_msg("round %d: %s", round, html);
    }
}
END_TEST

START_TEST(sound_text_stays_as_it_is)
{
    for (uint32_t c = 0x100; c < 0x110000; c++) {
        if ((c >= 0xd800 && c <= 0xdfff) || (c >= 0xfdd0 && c <= 0xfdef) ||
            (c & 0xfffe) == 0xfffe || (c >= 0x2028 && c <= 0x202e) ||
            (c >= 0x2066 && c <= 0x2069) || c == 0x61c || c == 0x200b || c == 0x200e ||
            c == 0x200f || c == 0x2060 || c == 0xfeff || (c >= 0xe0000 && c <= 0xe007f))
            continue;
        char s[5] = {0};
        if (c < 0x800)
            s[0] = (char)(0xc0 | c >> 6), s[1] = (char)(0x80 | (c & 0x3f));
        else if (c < 0x10000)
            s[0] = (char)(0xe0 | c >> 12), s[1] = (char)(0x80 | (c >> 6 & 0x3f)),
            s[2] = (char)(0x80 | (c & 0x3f));
        else
            s[0] = (char)(0xf0 | c >> 18), s[1] = (char)(0x80 | (c >> 12 & 0x3f)),
            s[2] = (char)(0x80 | (c >> 6 & 0x3f)), s[3] = (char)(0x80 | (c & 0x3f));
        if (strcmp(text_of(s, strlen(s)), s) != 0 || vb_html_width(s, strlen(s)) != 1)
            ck_abort_msg("U+%04X", c);
    }
}
END_TEST

static const char *
cut_to(const char *s, size_t most, int want)
{
    ck_assert_int_eq(vb_html_cut(&out, s, strlen(s), most), want);
    return written();
}

START_TEST(long_names_are_cut)
{
    ck_assert_str_eq(cut_to("HC-1", 4, 0), "HC-1");
    ck_assert_str_eq(cut_to("HC-12", 4, 1), "HC-\xe2\x80\xa6");
    ck_assert_str_eq(cut_to("HC", 1, 1), "\xe2\x80\xa6");
    ck_assert_str_eq(cut_to("H", 1, 0), "H");
    ck_assert_str_eq(cut_to("", 1, 0), "");
    ck_assert_str_eq(cut_to("<<<<", 4, 0), "&lt;&lt;&lt;&lt;");
    ck_assert_str_eq(cut_to("<<<<<", 4, 1), "&lt;&lt;&lt;\xe2\x80\xa6");
    ck_assert_str_eq(cut_to("\xc3\xbc\xc3\xb6\xc3\xa4", 3, 0),
                     "\xc3\xbc\xc3\xb6\xc3\xa4");
    ck_assert_str_eq(cut_to("\xc3\xbc\xc3\xb6\xc3\xa4", 2, 1), "\xc3\xbc\xe2\x80\xa6");
    ck_assert_str_eq(cut_to("\xf1\x80\x80\x41\x41", 2, 1), BAD "\xe2\x80\xa6");
}
END_TEST

START_TEST(width_counts_characters)
{
    char name[3000];
    memset(name, 'x', sizeof name);
    ck_assert_uint_eq(vb_html_width(name, sizeof name), 3000);
    ck_assert_uint_eq(vb_html_width(name, 0), 0);
    ck_assert_uint_eq(vb_html_width("\xc3\xbc<\xf0\x9f\x94\xa7", 7), 3);
    ck_assert_int_eq(vb_html_cut(&out, name, sizeof name, 40), 1);
    ck_assert_uint_eq(strlen(written()), 39 + 3);
}
END_TEST

START_TEST(put_writes_markup_and_data)
{
    vb_html_put(&out, "<a title=\"%s\">%s</a> 100 %%", "\"<&>\"", "x");
    ck_assert_str_eq(written(), "<a title=\"&quot;&lt;&amp;&gt;&quot;\">x</a> 100 %");
    vb_html_put(&out, "%d %zu %f|%.0f|%.2f|%.*f", -7, (size_t)18, 0.5, 2.5, -1.005, 1,
                1.25);
    ck_assert_str_eq(written(), "-7 18 0.500000|2|-1.00|1.2"); // half to even, as printf
    vb_html_put(&out, "%.1f %.2f %.3f %.0f", -0.04, -0.0, -0.001, -0.5);
    ck_assert_str_eq(written(), "0.0 0.00 -0.001 0");
    vb_html_put(&out, "%s", "");
    ck_assert_str_eq(written(), "");
    vb_html_put(&out, "plain");
    ck_assert_str_eq(written(), "plain");
}
END_TEST

START_TEST(a_page_is_whole)
{
    vb_html_begin(&out, "</title><script>", "p { margin: 0 }\n");
    vb_html_end(&out);
    ck_assert_str_eq(
        written(),
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"UTF-8\">\n"
        "<meta name=\"viewport\" content=\"width=device-width, "
        "initial-scale=1\">\n<title>&lt;/title&gt;&lt;script&gt;</title>\n"
        "<style>\np { margin: 0 }\n</style>\n</head>\n<body>\n</body>\n</html>\n");
    vb_html_begin(&out, "x", NULL);
    ck_assert_ptr_null(strstr(written(), "style"));
}
END_TEST

static Suite *
html_suite(void)
{
    Suite *s = suite_create("html");
    TCase *t = tcase_create("text");
    tcase_set_timeout(t, 60);
    tcase_add_loop_test(t, data_become_text, 0, sizeof turned / sizeof *turned);
    tcase_add_test(t, all_pairs_of_bytes_are_harmless);
    tcase_add_test(t, any_bytes_are_harmless);
    tcase_add_test(t, sound_text_stays_as_it_is);
    tcase_add_test(t, long_names_are_cut);
    tcase_add_test(t, width_counts_characters);
    suite_add_tcase(s, t);
    t = tcase_create("page");
    tcase_add_test(t, put_writes_markup_and_data);
    tcase_add_test(t, a_page_is_whole);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(html_suite());
}
