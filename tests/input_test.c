#include "suite.h"
#include "valvebook/input.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <check.h>
#include <zlib.h>

static char path[64];

static void
make_path(void)
{
    strcpy(path, "/tmp/valvebook-input-test.XXXXXX");
    int fd = mkstemp(path);
    ck_assert_int_ge(fd, 0);
    close(fd);
}

static void
drop_path(void)
{
    unlink(path);
}

static void
write_file(const void *bytes, size_t n)
{
    FILE *f = fopen(path, "wb");
    ck_assert_ptr_nonnull(f);
    ck_assert_uint_eq(fwrite(bytes, 1, n, f), n);
    ck_assert_int_eq(fclose(f), 0);
}

static void
write_gz(const char *text, size_t n, const char *mode)
{
    gzFile g = gzopen(path, mode);
    ck_assert_ptr_nonnull(g);
    ck_assert_int_eq(gzwrite(g, text, (unsigned)n), (int)n);
    ck_assert_int_eq(gzclose(g), Z_OK);
}

/* Read to the end, `size` bytes at a time; text receives what came before it, too. */
static enum vb_err
read_all(const char *encoding, size_t size, char *text, size_t room, struct vb_msg *m)
{
    struct vb_input *in;
    size_t n = 0, got = 1;
    enum vb_err e = VB_OK;
    ck_assert_int_eq(vb_input_open(path, encoding, &in, m), VB_OK);
    ck_assert_str_eq(vb_input_name(in), path);
    while (!e && got > 0 && n + size < room) {
        got = 0;
        e = vb_input_read(in, text + n, size, &got, m);
        n += got;
    }
    text[n] = 0;
    vb_input_close(in);
    return e;
}

static void
reads(const char *encoding, const char *want)
{
    char text[256];
    struct vb_msg m = {0};
    for (size_t size = 4; size < 60; size++) {
        ck_assert_int_eq(read_all(encoding, size, text, sizeof text, &m), VB_OK);
        ck_assert_str_eq(text, want);
    }
}

START_TEST(gzip_is_unpacked)
{
    write_gz("\xef\xbb\xbf"
             "a,b\n",
             7, "wb");
    reads("", "a,b\n");
    write_gz("c,\"d\"\n", 6, "ab"); // a second member
    reads("", "a,b\nc,\"d\"\n");
    write_gz("\xb0", 1, "wb");
    reads("ISO-8859-1", "\xc2\xb0");
    write_gz("", 0, "wb");
    reads("", "");
}
END_TEST

START_TEST(what_is_not_gzip_is_read_as_it_is)
{
    write_file("a,b\n", 4);
    reads("", "a,b\n");
    write_file("\x1f", 1); // half of gzip's magic
    reads("", "\x1f");
    write_file("\x1fzz", 3);
    reads("", "\x1fzz");
    write_file("", 0);
    reads("", "");
    reads("UTF-16LE", "");
}
END_TEST

/* Cut anywhere: an error, always, and nothing that the whole file has not. */
START_TEST(gzip_cut_short)
{
    static const char whole[] = "one,1\ntwo,2\nthree,3\n";
    static char zipped[4096];
    char text[256];
    struct vb_msg m;
    write_gz(whole, sizeof whole - 1, "wb");
    FILE *f = fopen(path, "rb");
    ck_assert_ptr_nonnull(f);
    size_t n = fread(zipped, 1, sizeof zipped, f);
    fclose(f);
    for (size_t keep = 2; keep < n; keep++) {
        for (size_t size = 1; size < 40; size += 12) {
            vb_msg_clear(&m);
            write_file(zipped, keep);
            ck_assert_int_eq(read_all("", size, text, sizeof text, &m), VB_EIO);
            ck_assert_str_eq(m.text, "gzip data end too early");
            ck_assert_str_eq(m.file, path);
            ck_assert(strncmp(text, whole, strlen(text)) == 0);
        }
    }
    zipped[n - 6] ^= 1; // in the sum that gzip keeps
    write_file(zipped, n);
    ck_assert_int_eq(read_all("", 64, text, sizeof text, &m), VB_EIO);
    ck_assert_str_eq(m.text, "damaged gzip data");
}
END_TEST

/* What begins like a mark of an encoding and goes on otherwise. */
START_TEST(no_byte_order_mark)
{
    static const char *const whole[] = {"\xef\xbc\x81", "\xef\xbb\xbe", "\xff-", "\xfe-"};
    for (int i = 0; i < 4; i++) {
        write_file(whole[i], strlen(whole[i]));
        reads("", whole[i]);
    }
}
END_TEST

/* A surrogate without its other half, however little room there is for what stands for it. */
START_TEST(half_a_pair)
{
    write_file("a\0b\0\0\xd8"
               "c\0\xfc\0d\0",
               12);
    reads("UTF-16LE", "ab\xef\xbf\xbd"
                      "c\xc3\xbc"
                      "d");
}
END_TEST

START_TEST(cut_short_while_it_is_decoded)
{
    char text[256], zipped[64];
    struct vb_msg m;
    write_gz("one,1\ntwo,2\nthree,3\n", 20, "wb");
    FILE *f = fopen(path, "rb");
    size_t n = fread(zipped, 1, sizeof zipped, f);
    fclose(f);
    write_file(zipped, n - 9);
    ck_assert_int_eq(read_all("ISO-8859-1", 16, text, sizeof text, &m), VB_EIO);
    ck_assert_str_eq(m.text, "gzip data end too early");
}
END_TEST

START_TEST(what_cannot_be_opened)
{
    struct vb_input *in = NULL;
    struct vb_msg m = {0};
    ck_assert_int_eq(vb_input_open("/tmp", "", &in, &m), VB_EIO);
    ck_assert_str_eq(m.text, "Is a directory");
    ck_assert_str_eq(m.file, "/tmp");
    ck_assert_int_eq(vb_input_open("/nowhere/at all", "", &in, &m), VB_EIO);
    ck_assert_str_eq(m.text, "No such file or directory");
    ck_assert_int_eq(vb_input_open(path, "KLINGON", &in, &m), VB_EUNKNOWN);
    ck_assert_str_eq(m.text, "unknown encoding 'KLINGON'");
    ck_assert_int_eq(vb_input_memory("", 0, 1, "KLINGON", &in, NULL), VB_EUNKNOWN);
    ck_assert_ptr_null(in);
    vb_input_close(NULL);
}
END_TEST

static Suite *
input_suite(void)
{
    Suite *s = suite_create("input");
    TCase *t = tcase_create("files");
    tcase_add_checked_fixture(t, make_path, drop_path);
    tcase_add_test(t, gzip_is_unpacked);
    tcase_add_test(t, what_is_not_gzip_is_read_as_it_is);
    tcase_add_test(t, gzip_cut_short);
    tcase_add_test(t, no_byte_order_mark);
    tcase_add_test(t, half_a_pair);
    tcase_add_test(t, cut_short_while_it_is_decoded);
    tcase_add_test(t, what_cannot_be_opened);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(input_suite());
}
