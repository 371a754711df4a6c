#include "suite.h"
#include "valvebook/csv.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>
#include <zlib.h>

#define COUNT(a) (int)(sizeof(a) / sizeof *(a))
#define LOG_MAX  4096

/* --- what a reader saw, as text ------------------------------------------------------
 */

struct log {
    char s[LOG_MAX];
    size_t n;
};

static void
put(struct log *l, const char *s, size_t n)
{
    ck_assert_uint_lt(l->n + n, LOG_MAX);
    memcpy(l->s + l->n, s, n);
    l->n += n;
    l->s[l->n] = 0;
}

static void
put_text(struct log *l, const char *s)
{
    put(l, s, strlen(s));
}

/* Bytes that cannot be seen are written as C has them. */
static void
put_seen(struct log *l, struct vb_text t)
{
    char hex[8];
    for (size_t i = 0; i < t.n; i++) {
        unsigned char c = (unsigned char)t.s[i];
        if (c == '\n')
            put_text(l, "\\n");
        else if (c == '\r')
            put_text(l, "\\r");
        else if (c >= 0x20 && c < 0x7f)
            put(l, t.s + i, 1);
        else {
            snprintf(hex, sizeof hex, "<%02x>", c);
            put_text(l, hex);
        }
    }
}

/*
 * A record is written LINE[cell][cell], with +N behind the line where it spans N; one
 * that cannot be read LINE!why|as it stood|.
 */
static void
put_record(struct log *l, enum vb_err e, const struct vb_row *row, const struct vb_msg *m)
{
    char num[64];
    snprintf(num, sizeof num, "%llu", row->line);
    put_text(l, num);
    if (row->lines != 1) {
        snprintf(num, sizeof num, "+%llu", row->lines);
        put_text(l, num);
    }
    if (e) {
        ck_assert_uint_eq(m->line, row->line);
        put_text(l, "!");
        put_text(l, m->text);
        if (row->bad) {
            snprintf(num, sizeof num, " in %zu", row->bad);
            put_text(l, num);
        }
        put_text(l, "|");
        put_seen(l, row->raw);
        put_text(l, "|\n");
        return;
    }
    for (size_t i = 0; i < row->n; i++) {
        put_text(l, "[");
        put_seen(l, row->cell[i]);
        put_text(l, "]");
    }
    put_text(l, "\n");
}

static void
read_all(struct vb_input *in, char delim, struct log *l)
{
    struct vb_csv *c;
    struct vb_row row = {0};
    struct vb_msg m = {0};
    enum vb_err e;
    l->n = 0;
    l->s[0] = 0;
    ck_assert_int_eq(vb_csv_new(in, delim, &c), VB_OK);
    while (!(e = vb_csv_next(c, &row, &m)) || e == VB_ESYNTAX)
        put_record(l, e, &row, &m);
    if (e != VB_EEND)
        put_text(l, m.text);
    else
        ck_assert_int_eq(vb_csv_next(c, &row, &m), VB_EEND); // and stays at the end
    vb_csv_free(c);
}

/* --- a table of edge cases -----------------------------------------------------------
 */

#define T(s) s, sizeof(s) - 1

#define NOT_UTF8 "not UTF-8; state the encoding of the file"

// clang-format off
static const struct edge {
    const char *name;
    const char *bytes;
    size_t n;
    const char *want;
    char delim;           // 0: comma
    const char *encoding; // NULL: none stated
} edges[] = {
    // RFC 4180, section 2, rules 1 to 7
    {"rule 1", T("aaa,bbb\r\nzzz,yyy\r\n"), "1[aaa][bbb]\n2[zzz][yyy]\n", 0, NULL},
    {"rule 2: no final newline", T("aaa,bbb\r\nzzz,yyy"),
     "1[aaa][bbb]\n2[zzz][yyy]\n", 0, NULL},
    {"rule 4: blanks are kept", T(" a , b\t\n"), "1[ a ][ b<09>]\n", 0, NULL},
    {"rule 5", T("\"aaa\",\"bbb\"\n"), "1[aaa][bbb]\n", 0, NULL},
    {"rule 6", T("\"a,a\",\"b\r\nbb\",c\r\nz,y,x\r\n"),
     "1+2[a,a][b\\r\\nbb][c]\n3[z][y][x]\n", 0, NULL},
    {"rule 7", T("\"b\"\"bb\",\"\"\"\"\n"), "1[b\"bb][\"]\n", 0, NULL},
    // ends of line
    {"LF", T("a,b\nc,d\n"), "1[a][b]\n2[c][d]\n", 0, NULL},
    {"CR alone", T("a,b\rc,d\r"), "1[a][b]\n2[c][d]\n", 0, NULL},
    {"CR alone, quoted", T("\"a\rb\",c\rd,e"), "1+2[a\\rb][c]\n3[d][e]\n", 0, NULL},
    {"LF in quotes", T("x,\"1\n\n2\"\ny,z\n"), "1+3[x][1\\n\\n2]\n4[y][z]\n", 0, NULL},
    {"mixed", T("a\r\nb\nc\r\n"), "1[a]\n2[b]\n3[c]\n", 0, NULL},
    {"two CR before LF", T("a,b\r\r\nc,\r\r\n"), "1[a][b]\n2[c][]\n", 0, NULL},
    {"quoted, two CR before LF", T("a,\"b\"\r\r\nc,d\n"), "1[a][b]\n2[c][d]\n", 0, NULL},
    {"CR at the very end", T("a,b\nc,d\r"), "1[a][b]\n2[c][d]\n", 0, NULL},
    {"CR inside a cell", T("a\rb,c\n"), "1[a\\rb][c]\n", 0, NULL},
    {"CR beside a quoted cell", T("a\rb,\"c\"\nd\n"),
     "1!carriage return outside quotes|a\\rb,\"c\"|\n2[d]\n", 0, NULL},
    {"CR behind a quoted cell", T("\"a\"\rb,c\nd\n"),
     "1!carriage return outside quotes|\"a\"\\rb,c|\n2[d]\n", 0, NULL},
    // nothing
    {"empty", T(""), "", 0, NULL},
    {"newlines only", T("\n\r\n\n"), "", 0, NULL},
    {"empty lines", T("\na\n\n\r\nb\n\n"), "2[a]\n5[b]\n", 0, NULL},
    {"empty lines of CR", T("a\r\rb\r"), "1[a]\n3[b]\n", 0, NULL},
    {"a blank is no empty line", T("a\n \nb"), "1[a]\n2[ ]\n3[b]\n", 0, NULL},
    {"empty cells", T(",\n,,\na,,b\n"), "1[][]\n2[][][]\n3[a][][b]\n", 0, NULL},
    {"trailing delimiter", T("a,b,\n"), "1[a][b][]\n", 0, NULL},
    {"trailing delimiter at the end", T("a,"), "1[a][]\n", 0, NULL},
    {"trailing delimiter, quoted", T("\"a\",\n\"b\","), "1[a][]\n2[b][]\n", 0, NULL},
    {"empty in quotes", T("\"\"\n\"\",\"\"\n"), "1[]\n2[][]\n", 0, NULL},
    {"empty in quotes at the end", T("a\n\"\""), "1[a]\n2[]\n", 0, NULL},
    {"one byte", T("a"), "1[a]\n", 0, NULL},
    {"one delimiter", T(","), "1[][]\n", 0, NULL},
    // quotes
    {"quote inside a cell", T("4\",5\"6,\"7\"\n"), "1[4\"][5\"6][7]\n", 0, NULL},
    {"quote behind a blank", T("a, \"b\"\n"), "1[a][ \"b\"]\n", 0, NULL},
    {"inch marks", T(".004\",.006\"\n1,2\n"), "1[.004\"][.006\"]\n2[1][2]\n", 0, NULL},
    {"quoted last cell, no newline", T("a,\"b\""), "1[a][b]\n", 0, NULL},
    {"doubled quote at the end", T("\"a\"\"\"\n"), "1[a\"]\n", 0, NULL},
    {"unclosed costs one line", T("a,b\n\"c,d\ne,f\ng,h\n"),
     "1[a][b]\n2!unclosed quote|\"c,d|\n3[e][f]\n4[g][h]\n", 0, NULL},
    {"unclosed in the last line", T("a\nb,\"c"),
     "1[a]\n2!unclosed quote|b,\"c|\n", 0, NULL},
    {"unclosed with doubled quotes", T("\"a\"\"\nb\n"),
     "1!unclosed quote|\"a\"\"|\n2[b]\n", 0, NULL},
    {"unclosed, CR LF", T("\"c,d\r\ne,f\r\n"),
     "1!unclosed quote|\"c,d|\n2[e][f]\n", 0, NULL},
    {"a lone quote", T("\""), "1!unclosed quote|\"|\n", 0, NULL},
    {"text behind a quote", T("\"a\"b,c\nd\n"),
     "1!text behind a closing quote|\"a\"b,c|\n2[d]\n", 0, NULL},
    {"a blank behind a quote", T("\"a\" ,c\nd\n"),
     "1!text behind a closing quote|\"a\" ,c|\n2[d]\n", 0, NULL},
    {"two quotes opened by mistake", T("\"a,1\nb,2\n\"c,3\nd,4\n"),
     "1!text behind a closing quote|\"a,1|\n2[b][2]\n"
     "3!unclosed quote|\"c,3|\n4[d][4]\n", 0, NULL},
    // other delimiters
    {"semicolon", T("a;\"b;c\";d,e\n"), "1[a][b;c][d,e]\n", ';', NULL},
    {"tab", T("a\t\tb\n\"c\td\"\t\n"), "1[a][][b]\n2[c<09>d][]\n", '\t', NULL},
    {"pipe", T("a|b,c|\n"), "1[a][b,c][]\n", '|', NULL},
    // bytes
    {"byte order mark", T("\xef\xbb\xbf" "a,b\n"), "1[a][b]\n", 0, NULL},
    {"byte order mark and quote", T("\xef\xbb\xbf\"a\",b\n"), "1[a][b]\n", 0, NULL},
    {"byte order mark alone", T("\xef\xbb\xbf"), "", 0, NULL},
    {"half a byte order mark", T("\xef\xbb"), "1!" NOT_UTF8 "|<ef><bb>|\n", 0, NULL},
    {"the mark is stronger than what was asked for", T("\xef\xbb\xbf\xc3\xa9\n"),
     "1[<c3><a9>]\n", 0, "WINDOWS-1252"},
    {"UTF-8", T("\xc2\xb0,\xe2\x82\xac,\xf0\x9f\x98\x80\n"),
     "1[<c2><b0>][<e2><82><ac>][<f0><9f><98><80>]\n", 0, NULL},
    {"UTF-8 by name", T("\xc2\xb0,\xb0\n"),
     "1!" NOT_UTF8 " in 1|<c2><b0>,<b0>|\n", 0, "utf-8"},
    {"UTF-16LE, mark", T("\xff\xfe" "a\0,\0\xb0\0\n\0b\0"),
     "1[a][<c2><b0>]\n2[b]\n", 0, NULL},
    {"UTF-16BE, mark", T("\xfe\xff\0a\0,\0\xb0\0\n\0b"),
     "1[a][<c2><b0>]\n2[b]\n", 0, NULL},
    {"UTF-16LE by name", T("a\0,\0\xac\x20\n\0"), "1[a][<e2><82><ac>]\n", 0, "UTF-16LE"},
    {"UTF-16BE by name", T("\0a\0,\x20\xac\0\n"), "1[a][<e2><82><ac>]\n", 0, "UTF-16BE"},
    {"UTF-16LE, a pair", T("\xff\xfe\x3d\xd8\x00\xde,\0x\0"),
     "1[<f0><9f><98><80>][x]\n", 0, NULL},
    {"UTF-16LE, half a pair costs one character", T("\xff\xfe" "a\0\x00\xde" "b\0,\0c\0"),
     "1[a<ef><bf><bd>b][c]\n", 0, NULL},
    {"UTF-16BE, half a pair costs one character", T("\xfe\xff\0a\xde\x00\0b\0,\0c"),
     "1[a<ef><bf><bd>b][c]\n", 0, NULL},
    {"UTF-16LE, odd length", T("\xff\xfe" "a\0b"), "1[a<ef><bf><bd>]\n", 0, NULL},
    {"windows-1252", T("\xd6l,\x80,\xb0\x43\n"),
     "1[<c3><96>l][<e2><82><ac>][<c2><b0>C]\n", 0, "WINDOWS-1252"},
    {"a byte windows-1252 has not", T("a\x81z,b\n"),
     "1[a<ef><bf><bd>z][b]\n", 0, "WINDOWS-1252"},
    {"NUL", T("a,b\nc,d\0e\nf,g\n"),
     "1[a][b]\n2!NUL byte in 1|c,d<00>e|\n3[f][g]\n", 0, NULL},
    {"NUL in quotes", T("\"a\",\"b\0\"\nc\n"),
     "1!NUL byte in 1|\"a\",\"b<00>\"|\n2[c]\n", 0, NULL},
    {"NUL far behind", T("0123456789,abcdefghij\0\nc\n"),
     "1!NUL byte in 1|0123456789,abcdefghij<00>|\n2[c]\n", 0, NULL},
    {"a 1 behind a NUL", T("\0\1\1\1\1\1\1\1,\n"),
     "1!NUL byte|<00><01><01><01><01><01><01><01>,|\n", 0, NULL},
    {"no NUL though it borrows", T("\1\1\1\1\1\1\1\1\n"),
     "1[<01><01><01><01><01><01><01><01>]\n", 0, NULL},
    {"not UTF-8", T("a,\xb0\nb\n"), "1!" NOT_UTF8 " in 1|a,<b0>|\n2[b]\n", 0, NULL},
    {"not UTF-8, quoted", T("\"\xff\",b\nc\n"),
     "1!" NOT_UTF8 "|\"<ff>\",b|\n2[c]\n", 0, NULL},
    {"overlong slash", T("\xc0\xaf\n"), "1!" NOT_UTF8 "|<c0><af>|\n", 0, NULL},
    {"overlong, three bytes", T("\xe0\x80\xaf\n"),
     "1!" NOT_UTF8 "|<e0><80><af>|\n", 0, NULL},
    {"a surrogate", T("\xed\xa0\x80\n"), "1!" NOT_UTF8 "|<ed><a0><80>|\n", 0, NULL},
    {"beyond U+10FFFF", T("\xf4\x90\x80\x80\n"),
     "1!" NOT_UTF8 "|<f4><90><80><80>|\n", 0, NULL},
    {"cut short by a comma", T("\xe2\x82,\xac\n"),
     "1!" NOT_UTF8 "|<e2><82>,<ac>|\n", 0, NULL},
};
// clang-format on

START_TEST(in_every_chunk_size)
{
    const struct edge *x = &edges[_i];
    for (size_t chunk = 1; chunk <= x->n + 1; chunk++) {
        struct vb_input *in;
        struct vb_msg m = {0};
        struct log l;
        ck_assert_int_eq(vb_input_memory(x->bytes, x->n, chunk, x->encoding, &in, &m),
                         VB_OK);
        read_all(in, x->delim ? x->delim : ',', &l);
        ck_assert_msg(strcmp(l.s, x->want) == 0, "%s, chunks of %zu:\n%s", x->name, chunk,
                      l.s);
    }
}
END_TEST

/*
 * The first line is read whole before anything else happens. Behind one, a record can be
 * cut anywhere, and must come out as it does when nothing is cut.
 */
START_TEST(behind_a_line_in_every_chunk_size)
{
    const struct edge *x = &edges[_i];
    char bytes[256];
    struct log whole = {0};
    if (x->encoding || (x->n > 0 && strchr("\xef\xff\xfe", x->bytes[0])))
        return; // a mark is one only at the beginning
    memcpy(bytes,
           memchr(x->bytes, '\r', x->n) && !memchr(x->bytes, '\n', x->n) ? "p\r" : "p\n",
           2);
    ck_assert_uint_lt(x->n, sizeof bytes - 2);
    memcpy(bytes + 2, x->bytes, x->n);
    for (size_t chunk = x->n + 2; chunk > 0; chunk--) {
        struct vb_input *in;
        struct vb_msg m = {0};
        struct log l;
        ck_assert_int_eq(vb_input_memory(bytes, x->n + 2, chunk, "", &in, &m), VB_OK);
        read_all(in, x->delim ? x->delim : ',', &l);
        if (chunk == x->n + 2)
            whole = l;
        ck_assert_msg(strcmp(l.s, whole.s) == 0, "%s, chunks of %zu:\n%s", x->name, chunk,
                      l.s);
    }
    // As many records as without the line, and that line.
    size_t n = 0;
    for (const char *p = x->want; (p = strchr(p, '\n')); p++)
        n++;
    for (const char *p = whole.s; (p = strchr(p, '\n')); p++)
        n--;
    ck_assert_uint_eq(n, (size_t)-1);
}
END_TEST

/* --- large ones ------------------------------------------------------------------------
 */

/* before, then n bytes c, then after; the caller frees */
static char *
padded(const char *before, char c, size_t n, const char *after, size_t *len)
{
    size_t a = strlen(before), z = strlen(after);
    char *s = malloc(a + n + z);
    ck_assert_ptr_nonnull(s);
    memcpy(s, before, a);
    memset(s + a, c, n);
    memcpy(s + a + n, after, z);
    *len = a + n + z;
    return s;
}

static struct vb_csv *
from_memory(const char *s, size_t n, size_t chunk)
{
    struct vb_input *in;
    struct vb_csv *c;
    struct vb_msg m = {0};
    ck_assert_int_eq(vb_input_memory(s, n, chunk, "", &in, &m), VB_OK);
    ck_assert_int_eq(vb_csv_new(in, ',', &c), VB_OK);
    return c;
}

static const size_t chunks[] = {1021, 65536, (size_t)-1};

START_TEST(a_cell_has_a_limit)
{
    for (int k = 0; k < 6; k++) {
        size_t n, cell = VB_CELL_MAX + (size_t)(k & 1);
        char *s =
            padded(k & 2 ? "a,\"" : "a,", 'x', cell, k & 2 ? "\"\nb,c\n" : "\nb,c\n", &n);
        struct vb_csv *c = from_memory(s, n, chunks[k / 2]);
        struct vb_row row = {0};
        struct vb_msg m = {0};
        enum vb_err e = vb_csv_next(c, &row, &m);
        ck_assert_int_eq(e, k & 1 ? VB_ESYNTAX : VB_OK);
        if (e) {
            ck_assert_str_eq(m.text, "cell longer than 65536 bytes");
            ck_assert_uint_eq(row.bad, 1);
        } else {
            ck_assert_uint_eq(row.cell[1].n, VB_CELL_MAX);
        }
        ck_assert_uint_eq(row.raw.n, cell + (k & 2 ? 4 : 2));
        ck_assert_int_eq(vb_csv_next(c, &row, &m), VB_OK);
        ck_assert(row.line == 2 && vb_text_is(row.cell[1], "c"));
        ck_assert_int_eq(vb_csv_next(c, &row, &m), VB_EEND);
        vb_csv_free(c);
        free(s);
    }
}
END_TEST

/* A line longer than a record may be: refused once, and its rest is not a record. */
START_TEST(a_record_has_a_limit)
{
    static const struct {
        const char *before, *after, *why;
        size_t n;
    } t[] = {
        {"a,b\nc,", ",d,e\nf,g\n", "record longer than 4194303 bytes", VB_RECORD_MAX},
        {"a,b\nc,", ",d,e\nf,g\n", "record longer than 4194303 bytes", 2 * VB_RECORD_MAX},
        {"a,b\nc,", "\nf,g\n", "record longer than 4194303 bytes", VB_RECORD_MAX - 2},
        {"a,b\nc,", "\nf,g\n", "cell longer than 65536 bytes", VB_RECORD_MAX - 3},
        {"a,b\n\"", "\",x\nf,g\n", "unclosed quote", VB_RECORD_MAX},
        {"a,b\n\"\",", "\nf,g\n", "record longer than 4194303 bytes", VB_RECORD_MAX},
        {"a,b\n\"\"x", "\nf,g\n", "text behind a closing quote", VB_RECORD_MAX},
    };
    for (int i = 0; i < COUNT(t); i++) {
        size_t n;
        char *s = padded(t[i].before, 'x', t[i].n, t[i].after, &n);
        for (int k = 0; k < COUNT(chunks); k++) {
            struct vb_csv *c = from_memory(s, n, chunks[k]);
            struct vb_row row = {0};
            struct vb_msg m = {0};
            ck_assert_int_eq(vb_csv_next(c, &row, &m), VB_OK);
            ck_assert_int_eq(vb_csv_next(c, &row, &m), VB_ESYNTAX);
            ck_assert_msg(strcmp(m.text, t[i].why) == 0, "case %d: %s", i, m.text);
            ck_assert_uint_le(row.raw.n, VB_RECORD_MAX);
            ck_assert_uint_eq(row.line, 2);
            ck_assert_msg(!vb_csv_next(c, &row, &m), "case %d, %d: %s", i, k, m.text);
            ck_assert_uint_eq(row.line, 3);
            ck_assert(vb_text_is(row.cell[0], "f") && vb_text_is(row.cell[1], "g"));
            ck_assert_int_eq(vb_csv_next(c, &row, &m), VB_EEND);
            vb_csv_free(c);
        }
        free(s);
    }
}
END_TEST

/* A quote that is never closed costs one line of a file that is longer than a record. */
START_TEST(an_unclosed_quote_does_not_swallow_a_long_file)
{
    enum { LINES = 700000 };
    char *s = malloc(8 * LINES + 8), *p = s;
    ck_assert_ptr_nonnull(s);
    p = memcpy(p, "\"oops,1\n", 8);
    for (int i = 0; i < LINES; i++)
        memcpy(p += 8, i % 2 ? "abcd,12\n" : "efg,3.4\n", 8);
    struct vb_csv *c = from_memory(s, 8 * (LINES + 1), (size_t)-1);
    struct vb_row row = {0};
    struct vb_msg m = {0};
    ck_assert_int_eq(vb_csv_next(c, &row, &m), VB_ESYNTAX);
    ck_assert_str_eq(m.text, "unclosed quote");
    ck_assert(vb_text_is(row.raw, "\"oops,1"));
    unsigned long long rows = 0;
    while (!vb_csv_next(c, &row, &m))
        rows++;
    ck_assert_uint_eq(rows, LINES);
    ck_assert_uint_eq(row.line, LINES + 1);
    vb_csv_free(c);
    free(s);
}
END_TEST

/* More records than one buffer holds, in chunks that end anywhere. */
START_TEST(records_across_buffers)
{
    enum { N = 40000 };
    char *s = malloc(N * 32), *p = s;
    ck_assert_ptr_nonnull(s);
    for (int i = 0; i < N; i++)
        p += sprintf(p, i % 7 ? "%d,mm,%d\r\n" : "%d,\"m\n\"\"m\",%d\r\n", i, i * 3);
    for (int k = 0; k < COUNT(chunks); k++) {
        struct vb_csv *c = from_memory(s, (size_t)(p - s), chunks[k]);
        struct vb_row row = {0};
        struct vb_msg m = {0};
        char a[16], b[16];
        for (int i = 0; i < N; i++) {
            enum vb_err e = vb_csv_next(c, &row, &m);
            sprintf(a, "%d", i);
            sprintf(b, "%d", i * 3);
            if (e || row.n != 3 || !vb_text_is(row.cell[0], a) ||
                !vb_text_is(row.cell[1], i % 7 ? "mm" : "m\n\"m") ||
                !vb_text_is(row.cell[2], b) ||
                row.line != (unsigned)(1 + i + (i + 6) / 7))
                ck_abort_msg("row %d: %d %s", i, (int)e, m.text);
        }
        ck_assert_int_eq(vb_csv_next(c, &row, &m), VB_EEND);
        vb_csv_free(c);
    }
    free(s);
}
END_TEST

/* --- split, skip, sum ------------------------------------------------------------------
 */

START_TEST(a_record_can_be_given_back)
{
    const char *s = "a,b\r\n\"c,1\r\nd,2\r\ne,\"\r\nf,3\r\n";
    for (size_t chunk = 1; chunk < 40; chunk++) {
        struct vb_csv *c = from_memory(s, strlen(s), chunk);
        struct vb_row row = {0};
        struct vb_msg m = {0};
        ck_assert_int_eq(vb_csv_next(c, &row, &m), VB_OK);
        ck_assert_int_eq(vb_csv_next(c, &row, &m), VB_OK);
        ck_assert(row.line == 2 && row.lines == 3 && row.n == 1);
        vb_csv_split(c, &row);
        ck_assert(row.line == 2 && row.lines == 1 && row.n == 0);
        ck_assert(vb_text_is(row.raw, "\"c,1"));
        ck_assert_int_eq(vb_csv_next(c, &row, &m), VB_OK);
        ck_assert(row.line == 3 && vb_text_is(row.cell[0], "d"));
        ck_assert_int_eq(vb_csv_next(c, &row, &m), VB_ESYNTAX);
        ck_assert(row.line == 4 && vb_text_is(row.raw, "e,\""));
        ck_assert_int_eq(vb_csv_next(c, &row, &m), VB_OK);
        ck_assert(row.line == 5 && vb_text_is(row.cell[1], "3"));
        vb_csv_free(c);
    }
}
END_TEST

START_TEST(lines_can_be_skipped)
{
    const char *s = "say \"x\n\n\"y,\nA,B\n1,2";
    for (size_t chunk = 1; chunk < 24; chunk++) {
        for (unsigned long long skip = 0; skip <= 7; skip++) {
            struct vb_csv *c = from_memory(s, strlen(s), chunk);
            struct vb_row row = {0};
            struct vb_msg m = {0};
            ck_assert_int_eq(vb_csv_skip(c, skip, &m), VB_OK);
            enum vb_err e = vb_csv_next(c, &row, &m);
            // Lines 1, 4 and 5 are records, 2 is empty, 3 is not a record.
            enum vb_err want = skip >= 5                ? VB_EEND
                               : skip == 1 || skip == 2 ? VB_ESYNTAX
                                                        : VB_OK;
            ck_assert_int_eq(e, want);
            if (e != VB_EEND)
                ck_assert_uint_eq(row.line, skip == 0 ? 1 : skip == 1 ? 3 : skip + 1);
            vb_csv_free(c);
        }
    }
    struct vb_csv *c = from_memory("a\rb\rc", 5, 1);
    struct vb_row row = {0};
    struct vb_msg m = {0};
    ck_assert_int_eq(vb_csv_skip(c, 2, &m), VB_OK);
    ck_assert_int_eq(vb_csv_next(c, &row, &m), VB_OK);
    ck_assert(row.line == 3 && vb_text_is(row.cell[0], "c"));
    vb_csv_free(c);
}
END_TEST

/* Before every record, the sum is zlib's over all the bytes above it. */
START_TEST(bytes_are_summed)
{
    enum { N = 30000 };
    char *s = malloc(N * 40), *p = s;
    ck_assert_ptr_nonnull(s);
    for (int i = 0; i < N; i++)
        p += sprintf(p, i % 5 ? "%d,reading,%d\n" : "%d,\"two\nlines\",%d\n\n", i, i * 3);
    for (int k = 0; k < COUNT(chunks); k++) {
        struct vb_csv *c = from_memory(s, (size_t)(p - s), chunks[k]);
        struct vb_row row = {0};
        struct vb_msg m = {0};
        const char *at = s;
        vb_csv_sum(c);
        for (int i = 0; !vb_csv_next(c, &row, &m); i++) {
            at += i > 0 && (i - 1) % 5 == 0; // the empty line
            uint32_t want = 0;
            if (i % 997 == 0) {
                want = (uint32_t)crc32(0, (const unsigned char *)s, (unsigned)(at - s));
                ck_assert_uint_eq(vb_csv_crc(c, &row), want);
                ck_assert_uint_eq(vb_csv_crc(c, &row), want); // asking changes nothing
            }
            at += row.raw.n + 1;
        }
        vb_csv_free(c);
    }
    free(s);
}
END_TEST

static Suite *
csv_suite(void)
{
    Suite *s = suite_create("csv");
    TCase *t = tcase_create("edges");
    tcase_add_loop_test(t, in_every_chunk_size, 0, COUNT(edges));
    tcase_add_loop_test(t, behind_a_line_in_every_chunk_size, 0, COUNT(edges));
    suite_add_tcase(s, t);

    t = tcase_create("large");
    tcase_set_timeout(t, 60);
    tcase_add_test(t, a_cell_has_a_limit);
    tcase_add_test(t, a_record_has_a_limit);
    tcase_add_test(t, an_unclosed_quote_does_not_swallow_a_long_file);
    tcase_add_test(t, records_across_buffers);
    suite_add_tcase(s, t);

    t = tcase_create("lines");
    tcase_add_test(t, a_record_can_be_given_back);
    tcase_add_test(t, lines_can_be_skipped);
    tcase_add_test(t, bytes_are_summed);
    suite_add_tcase(s, t);

    return s;
}

int
main(void)
{
    return run_suite(csv_suite());
}
