#define _GNU_SOURCE // F_SETPIPE_SZ
/* What is held back until the close reaches standard output whole, or not at all. */
#include <check.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "suite.h"
#include "valvebook/out.h"

#define NO_DIR "/no/such/folder"

/* read(2), of which the call with this number fails; 0: none does. */
static int fails_at;

ssize_t
read(int fd, void *buf, size_t n)
{
    if (fails_at && --fails_at == 0) {
        errno = EIO;
        return -1;
    }
    off_t at = lseek(fd, 0, SEEK_CUR);
    ssize_t got = pread(fd, buf, n, at);
    if (got > 0)
        lseek(fd, at + got, SEEK_SET);
    return got;
}

static char file[] = "/tmp/valvebook-out.XXXXXX";

/* Each test is a process of its own: its standard output is this file from here on. */
static void
setup(void)
{
    strcpy(file + strlen(file) - 6, "XXXXXX");
    int fd = mkstemp(file);
    ck_assert_int_ge(fd, 0);
    fflush(stdout);
    ck_assert_int_ge(dup2(fd, STDOUT_FILENO), 0);
    close(fd);
}

static void
teardown(void)
{
    unlink(file);
}

static size_t
size(void)
{
    struct stat st;
    ck_assert_int_eq(stat(file, &st), 0);
    return (size_t)st.st_size;
}

/* n lines of eight bytes: "0000041\n" */
static void
lines(struct vb_out *o, int n)
{
    char text[16];
    for (int i = 0; i < n; i++) {
        snprintf(text, sizeof text, "%07d\n", i);
        vb_out_text(o, text);
    }
}

static void
same_lines(int n)
{
    char text[16], want[16];
    FILE *f = fopen(file, "r");
    ck_assert_ptr_nonnull(f);
    for (int i = 0; i < n; i++) {
        snprintf(want, sizeof want, "%07d\n", i);
        ck_assert_ptr_nonnull(fgets(text, sizeof text, f));
        ck_assert_str_eq(text, want);
    }
    ck_assert_int_eq(fgetc(f), EOF);
    fclose(f);
}

static const int counts[] = {0, 1, 8192, VB_OUT_HELD / 8 - 1, VB_OUT_HELD / 8, 400000};

START_TEST(held_until_the_close)
{
    struct vb_out *o = NULL;
    ck_assert_int_eq(vb_out_later(NULL, &o), VB_OK);
    lines(o, counts[_i]);
    ck_assert_uint_eq(size(), 0);
    ck_assert_int_eq(vb_out_close(o, NULL), VB_OK);
    same_lines(counts[_i]);
}
END_TEST

START_TEST(dropped)
{
    struct vb_out *o = NULL;
    ck_assert_int_eq(vb_out_later(NULL, &o), VB_OK);
    lines(o, counts[_i]);
    vb_out_drop(o);
    ck_assert_uint_eq(size(), 0);
    vb_out_drop(NULL);
}
END_TEST

/* A few lines need no file; more say what is in the way, and nothing is half written. */
START_TEST(no_place_for_few)
{
    struct vb_out *o = NULL;
    struct vb_msg m = {0};
    ck_assert_int_eq(vb_out_later(NO_DIR, &o), VB_OK);
    lines(o, 1000);
    ck_assert_int_eq(vb_out_close(o, &m), VB_OK);
    same_lines(1000);
}
END_TEST

START_TEST(no_place_for_more)
{
    struct vb_out *o = NULL;
    struct vb_msg m = {0};
    ck_assert_int_eq(vb_out_later(NO_DIR, &o), VB_OK);
    lines(o, 400000);
    ck_assert_int_eq(vb_out_close(o, &m), VB_EIO);
    ck_assert_str_eq(m.file, NO_DIR);
    ck_assert_str_eq(m.text, "No such file or directory");
    ck_assert_uint_eq(size(), 0);
}
END_TEST

/* What cannot be read back is in the way wherever that happens. */
START_TEST(not_read_back)
{
    struct vb_out *o = NULL;
    struct vb_msg m = {0};
    ck_assert_int_eq(vb_out_later(NULL, &o), VB_OK);
    lines(o, 400000);
    fails_at = _i;
    ck_assert_int_eq(vb_out_close(o, &m), VB_EIO);
    ck_assert_str_eq(m.file, "/tmp");
    ck_assert_uint_eq(size(), (size_t)(_i - 1) * VB_OUT_SIZE);
}
END_TEST

#ifdef F_SETPIPE_SZ
/* A pipe that nobody reads yet takes a letter whole, where the system lets it be so wide. */
START_TEST(a_letter_into_a_pipe)
{
    static char letter[300000];
    struct vb_out *o = NULL;
    struct vb_msg m = {0};
    int end[2];
    ck_assert_int_eq(pipe(end), 0);
    int wide = fcntl(end[1], F_SETPIPE_SZ, (int)sizeof letter) >= (int)sizeof letter;
    ck_assert_int_ge(fcntl(end[1], F_SETPIPE_SZ, 4096), 4096);
    ck_assert_int_ge(dup2(end[1], STDOUT_FILENO), 0);
    ck_assert_int_eq(vb_out_open("-", &o, &m), VB_OK);
    memset(letter, 'x', sizeof letter);
    if (wide) // else it would wait for ever
        vb_out_at_once(o, letter, sizeof letter);
    ck_assert_int_eq(vb_out_close(o, &m), VB_OK);
    ck_assert(!wide || fcntl(end[0], F_GETPIPE_SZ) >= (int)sizeof letter);
    close(end[0]);
    close(end[1]);
}
END_TEST
#endif

/* Behind what was written before, and with what is wrong. */
START_TEST(at_once_into_a_file)
{
    struct vb_out *o = NULL;
    struct vb_msg m = {0};
    ck_assert_int_eq(vb_out_open("-", &o, &m), VB_OK);
    lines(o, 2);
    vb_out_at_once(o, "0000002\n", 8);
    ck_assert_uint_eq(size(), 24);
    ck_assert_int_eq(vb_out_close(o, &m), VB_OK);
    if (access("/dev/full", W_OK))
        return;
    ck_assert_int_eq(vb_out_open("/dev/full", &o, &m), VB_OK);
    vb_out_at_once(o, "x", 1);
    ck_assert_int_eq(vb_out_close(o, &m), VB_EIO);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("out");
    TCase *t = tcase_create("later");
    tcase_add_checked_fixture(t, setup, teardown);
    tcase_add_loop_test(t, held_until_the_close, 0, 6);
    tcase_add_loop_test(t, dropped, 0, 6);
    tcase_add_test(t, no_place_for_few);
    tcase_add_test(t, no_place_for_more);
    tcase_add_loop_test(t, not_read_back, 1, 4);
    tcase_add_test(t, at_once_into_a_file);
#ifdef F_SETPIPE_SZ
    tcase_add_test(t, a_letter_into_a_pipe);
#endif
    suite_add_tcase(s, t);
    return run_suite(s);
}
