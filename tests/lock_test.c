#include "suite.h"
#include "valvebook/lock.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <check.h>

/* What fcntl says instead of a lock being set; the linker puts this where lib/ calls it
 * (--wrap). 0: nothing. */
static int lock_says;

int __real_fcntl(int fd, int what, ...);
int __wrap_fcntl(int fd, int what, void *how);
// as glibc names it for files of 64 bits, and where it has widened a time_t of 32
int __wrap_fcntl64(int fd, int what, void *how);
int __wrap___fcntl_time64(int fd, int what, void *how);

int
__wrap_fcntl(int fd, int what, void *how)
{
    if (what != F_SETLK || !lock_says)
        return __real_fcntl(fd, what, how);
    errno = lock_says;
    lock_says = 0;
    return -1;
}

int
__wrap_fcntl64(int fd, int what, void *how)
{
    return __wrap_fcntl(fd, what, how);
}

int
__wrap___fcntl_time64(int fd, int what, void *how)
{
    return __wrap_fcntl(fd, what, how);
}

static char dir[] = "/tmp/valvebook-lock.XXXXXX", file[64], name[80];

static void
setup(void)
{
    memcpy(dir + strlen(dir) - 6, "XXXXXX", 6);
    ck_assert_ptr_nonnull(mkdtemp(dir));
    snprintf(file, sizeof file, "%s/book", dir);
    snprintf(name, sizeof name, "%s-lock", file);
    close(open(file, O_CREAT | O_WRONLY, 0666));
}

static void
teardown(void)
{
    unlink(name);
    rmdir(name);
    unlink(file);
    rmdir(dir);
}

/* What another process gets that waits so long. */
static enum vb_err
other(int wait_s)
{
    struct vb_lock *l;
    int status;
    pid_t pid = fork();
    if (pid == 0)
        _exit((int)vb_lock_take(file, "-lock", wait_s, &l, NULL));
    ck_assert(waitpid(pid, &status, 0) == pid && WIFEXITED(status));
    return (enum vb_err)WEXITSTATUS(status);
}

START_TEST(one_at_a_time)
{
    struct vb_lock *l = NULL;
    ck_assert_int_eq(vb_lock_take(file, "-lock", 0, &l, NULL), VB_OK);
    ck_assert_int_eq(other(0), VB_ECONFLICT);
    ck_assert_int_eq(other(1), VB_ECONFLICT);
    vb_lock_drop(l);
    ck_assert_int_eq(other(0), VB_OK);
    ck_assert_int_eq(other(-1), VB_OK);
    vb_lock_drop(NULL);
}
END_TEST

/* It ends with whoever has it, however that ends; then who waits gets it. */
START_TEST(waiting_ends)
{
    int ready[2];
    struct timespec pause = {0, 200000000};
    char c;
    struct vb_lock *l = NULL;
    ck_assert_int_eq(pipe(ready), 0);
    pid_t pid = fork();
    if (pid == 0) {
        if (vb_lock_take(file, "-lock", 0, &l, NULL) || write(ready[1], "x", 1) != 1)
            _exit(1);
        nanosleep(&pause, NULL);
        raise(SIGKILL);
    }
    ck_assert_int_eq(read(ready[0], &c, 1), 1);
    ck_assert_int_eq(vb_lock_take(file, "-lock", 0, &l, NULL), VB_ECONFLICT);
    ck_assert_int_eq(vb_lock_take(file, "-lock", _i ? 20 : -1, &l, NULL), VB_OK);
    vb_lock_drop(l);
    waitpid(pid, NULL, 0);
}
END_TEST

START_TEST(what_cannot_be_locked)
{
    struct vb_msg m = {0};
    struct vb_lock *l = NULL;
    char gone[80];
    snprintf(gone, sizeof gone, "%s/gone", dir);
    ck_assert_int_eq(vb_lock_take(gone, "-lock", 0, &l, &m), VB_EIO);
    ck_assert_str_eq(m.text, strerror(ENOENT));
    mkdir(name, 0777); // a directory stands where the lock would
    ck_assert_int_eq(vb_lock_take(file, "-lock", 0, &l, &m), VB_EIO);
    ck_assert_str_eq(m.text, strerror(EISDIR));
    ck_assert_str_eq(m.file, name);
    ck_assert_ptr_null(l);
}
END_TEST

/* Some systems have another word for it, and a signal may come in between: both are tried
 * again. Where there are no locks there is nothing to wait for. */
/* Whoever may write beside the book must not choose what is made for its owner. */
START_TEST(no_link_is_followed)
{
    struct vb_msg m = {0};
    struct vb_lock *l = NULL;
    char gone[80];
    snprintf(gone, sizeof gone, "%s/gone", dir);
    ck_assert_int_eq(symlink(gone, name), 0);
    ck_assert_int_eq(vb_lock_take(file, "-lock", 0, &l, &m), VB_EIO);
    ck_assert_str_eq(m.text, strerror(ELOOP));
    ck_assert_str_eq(m.file, name);
    ck_assert_int_eq(access(gone, F_OK), -1);
    ck_assert_ptr_null(l);
}
END_TEST

START_TEST(other_words)
{
    static const int again[] = {EACCES, EAGAIN, EINTR};
    struct vb_msg m = {0};
    struct vb_lock *l = NULL;
    for (int i = 0; i < 3; i++) {
        lock_says = again[i];
        ck_assert_int_eq(vb_lock_take(file, "-lock", 9, &l, &m), VB_OK);
        ck_assert_int_eq(lock_says, 0);
        vb_lock_drop(l);
    }
    l = NULL;
    lock_says = ENOLCK;
    ck_assert_int_eq(vb_lock_take(file, "-lock", -1, &l, &m), VB_EIO);
    ck_assert_str_eq(m.text, strerror(ENOLCK));
    ck_assert_str_eq(m.file, name);
    ck_assert_ptr_null(l);
}
END_TEST

/* Nothing that is printed ends up in the lock's file; with no descriptor left there is none. */
START_TEST(closed_descriptors)
{
    struct vb_lock *l = NULL, *none = NULL;
    struct rlimit was, few;
    char c;
    int kept = dup(STDOUT_FILENO), next = dup(STDOUT_FILENO);
    close(next);
    getrlimit(RLIMIT_NOFILE, &was);
    few = was;
    few.rlim_cur = (rlim_t)next;
    close(STDOUT_FILENO);
    enum vb_err e = vb_lock_take(file, "-lock", 0, &l, NULL);
    ssize_t written = write(STDOUT_FILENO, "x", 1);
    vb_lock_drop(l);
    setrlimit(RLIMIT_NOFILE, &few); // 1 is free, and nothing above
    enum vb_err e_none = vb_lock_take(file, "-lock", 0, &none, NULL);
    setrlimit(RLIMIT_NOFILE, &was);
    dup2(kept, STDOUT_FILENO);
    ck_assert_int_eq(e, VB_OK);
    ck_assert_int_eq(written, -1);
    ck_assert_int_eq(e_none, VB_EIO);
    ck_assert_ptr_null(none);
    int fd = open(name, O_RDONLY);
    ck_assert_int_eq(read(fd, &c, 1), 0);
    close(fd);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("lock");
    TCase *t = tcase_create("locks");
    tcase_add_checked_fixture(t, setup, teardown);
    tcase_add_test(t, one_at_a_time);
    tcase_add_loop_test(t, waiting_ends, 0, 2);
    tcase_add_test(t, what_cannot_be_locked);
    tcase_add_test(t, no_link_is_followed);
    tcase_add_test(t, other_words);
    tcase_add_test(t, closed_descriptors);
    suite_add_tcase(s, t);
    return run_suite(s);
}
