#include "suite.h"
#include "valvebook/pipe.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <check.h>

#include "valvebook/date.h"

static char big[1 << 20]; // more than a pipe holds

/* What the next call says instead of being made: the linker puts these where lib/ calls
 * poll, write and waitpid (--wrap). 0: it is made. */
static int poll_says, write_says, wait_says;

int __real_poll(struct pollfd *p, nfds_t n, int ms);
ssize_t __real_write(int fd, const void *s, size_t n);
pid_t __real_waitpid(pid_t pid, int *status, int how);
int __wrap_poll(struct pollfd *p, nfds_t n, int ms);
ssize_t __wrap_write(int fd, const void *s, size_t n);
pid_t __wrap_waitpid(pid_t pid, int *status, int how);

static int
fails(int *says)
{
    if (!*says)
        return 0;
    errno = *says;
    *says = 0;
    return 1;
}

int
__wrap_poll(struct pollfd *p, nfds_t n, int ms)
{
    return fails(&poll_says) ? -1 : __real_poll(p, n, ms);
}

ssize_t
__wrap_write(int fd, const void *s, size_t n)
{
    return fails(&write_says) ? -1 : __real_write(fd, s, n);
}

pid_t
__wrap_waitpid(pid_t pid, int *status, int how)
{
    return fails(&wait_says) ? -1 : __real_waitpid(pid, status, how);
}

static enum vb_err
ran(const char *command, size_t n, unsigned timeout_s, struct vb_msg *m)
{
    vb_msg_clear(m);
    memset(big, 'x', sizeof big);
    return vb_pipe_to(command, big, n, timeout_s, m);
}

/* What a command does, and what is said of it; NULL: all is well. */
static const struct {
    const char *command;
    size_t n;
    unsigned timeout_s;
    const char *why;
} cases[] = {
    {"test $(wc -c) -eq 1048576", 1 << 20, 20, NULL},
    {"test $(wc -c) -eq 1048576", 1 << 20, 0, NULL},
    {"test $(wc -c) -eq 0", 0, 20, NULL},
    {"sleep 0.2; cat >/dev/null", 1 << 20, 20, NULL}, // the pipe is full for a while
    {"exit 3", 10, 20, "the command ended with status 3"},
    {"no-such-command-anywhere 2>/dev/null", 10, 20,
     "the command ended with status 127: is it there?"},
    {"kill -TERM $$", 10, 20, "the command was killed by signal 15"},
    {"head -c 10 >/dev/null", 1 << 20, 20,
     "the command ended without reading all of its input"},
    {"exec <&-; exit 0", 1 << 20, 20,
     "the command ended without reading all of its input"},
    {"exit 0", 10, 20, "the command ended without reading all of its input"},
    {"cat >/dev/null", 10, 0, NULL},
    {"read -r line <&- || true", 10, 20,
     "the command ended without reading all of its input"},
    {"sleep 0.2; cat >/dev/null", 10, 20, NULL},
    {"exec 3<&0; (sleep 0.2; cat <&3 >/dev/null) & exit 0", 10, 20, NULL},
    {"sleep 30", 1 << 20, 1, "the command took more than 1 s and was ended"},
    {"trap '' TERM; exec sleep 30", 10, 1,
     "the command took more than 1 s and was ended"},
};

START_TEST(commands)
{
    struct vb_msg m;
    enum vb_err e = ran(cases[_i].command, cases[_i].n, cases[_i].timeout_s, &m);
    ck_assert_int_eq(e, cases[_i].why ? VB_EIO : VB_OK);
    if (cases[_i].why)
        ck_assert_str_eq(m.text, cases[_i].why);
}
END_TEST

/* After the time, and the grace of two seconds at most, it is over, and so is what the shell
 * left behind: nobody holds the other end of a pipe any more. */
START_TEST(nobody_waits_longer)
{
    struct vb_msg m;
    double from = 0, to = 0;
    int held[2];
    ck_assert_int_eq(pipe(held), 0);
    ck_assert_int_eq(vb_date_now(&from), VB_OK);
    ck_assert_int_eq(
        ran("(trap '' TERM; sleep 30 <&- >&- 2>&-) & cat >/dev/null; sleep 30", 10, 1,
            &m),
        VB_EIO);
    ck_assert_str_eq(m.text, "the command took more than 1 s and was ended");
    ck_assert_int_eq(vb_date_now(&to), VB_OK);
    ck_assert((to - from) * 86400 < 8);
    close(held[1]);
    struct pollfd p = {.fd = held[0], .events = POLLIN};
    ck_assert_int_eq(poll(&p, 1, 3000), 1);
    ck_assert(p.revents & POLLHUP);
}
END_TEST

/* Signals are as before: SIGPIPE ends who writes for nobody, a child's status is there. */
START_TEST(signals_are_put_back)
{
    struct vb_msg m;
    struct sigaction now;
    signal(SIGCHLD, SIG_IGN);
    ck_assert_int_eq(ran("cat >/dev/null", 10, 20, &m), VB_OK);
    sigaction(SIGCHLD, NULL, &now);
    ck_assert(now.sa_handler == SIG_IGN);
    sigaction(SIGPIPE, NULL, &now);
    ck_assert(now.sa_handler == SIG_DFL);
    signal(SIGCHLD, SIG_DFL);
}
END_TEST

/* A closed standard descriptor is not taken for the pipe. */
START_TEST(closed_descriptors)
{
    struct vb_msg m;
    close(STDIN_FILENO);
    ck_assert_int_eq(ran("test $(wc -c) -eq 10", 10, 20, &m), VB_OK);
    close(STDERR_FILENO);
    ck_assert_int_eq(ran("test $(wc -c) -eq 10", 10, 20, &m), VB_OK);
}
END_TEST

/* A signal on the way changes nothing. */
START_TEST(interrupted)
{
    struct vb_msg m;
    poll_says = wait_says = EINTR;
    write_says = _i ? EINTR : EAGAIN;
    ck_assert_int_eq(ran("test $(wc -c) -eq 1048576", 1 << 20, _i ? 20 : 0, &m), VB_OK);
    ck_assert_int_eq(poll_says + write_says + wait_says, 0);
}
END_TEST

/* What cannot be fed is not whole, whatever the command makes of it. */
START_TEST(no_feeding)
{
    struct vb_msg m;
    int *says = _i ? &poll_says : &write_says;
    *says = ENOMEM;
    ck_assert_int_eq(ran("test $(wc -c) -eq 0", 10, 20, &m), VB_EIO);
    ck_assert_str_eq(m.text, "the command ended without reading all of its input");
}
END_TEST

/* Its status is lost: it has not taken too long for that. */
START_TEST(no_status)
{
    struct vb_msg m;
    signal(SIGTERM, SIG_DFL); // not what Check does, in a command that has not begun yet
    wait_says = ECHILD;
    ck_assert_int_eq(ran("cat >/dev/null", 10, 0, &m), VB_EIO);
    ck_assert_str_eq(m.text, "nobody knows how the command ended");
}
END_TEST

/* So many descriptors more, and so many of the standard ones closed. */
static const struct {
    int more, closed;
} few[] = {{0, 0}, {2, 0}, {1, 2}};

START_TEST(no_descriptors)
{
    struct vb_msg m;
    struct rlimit was, now;
    int kept[2] = {dup(0), dup(1)}, a = dup(0), b = dup(0);
    close(a);
    close(b);
    ck_assert_int_eq(b, a + 1);
    getrlimit(RLIMIT_NOFILE, &was);
    now = was;
    now.rlim_cur = (rlim_t)(a + few[_i].more);
    for (int fd = 0; fd < few[_i].closed; fd++)
        close(fd);
    ck_assert_int_eq(setrlimit(RLIMIT_NOFILE, &now), 0);
    enum vb_err e = ran("cat >/dev/null", 10, 20, &m);
    int low = dup(STDERR_FILENO); // nothing was left open
    setrlimit(RLIMIT_NOFILE, &was);
    for (int fd = 0; fd < 2; fd++)
        dup2(kept[fd], fd);
    ck_assert_int_eq(e, VB_EIO);
    ck_assert_str_eq(m.text, "no pipe: Too many open files");
    ck_assert_int_eq(low, few[_i].closed ? 0 : few[_i].more ? a : -1);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("pipe");
    TCase *t = tcase_create("commands");
    tcase_set_timeout(t, 60);
    tcase_add_loop_test(t, commands, 0, sizeof cases / sizeof *cases);
    tcase_add_test(t, nobody_waits_longer);
    tcase_add_test(t, signals_are_put_back);
    tcase_add_test(t, closed_descriptors);
    tcase_add_loop_test(t, interrupted, 0, 2);
    tcase_add_loop_test(t, no_feeding, 0, 2);
    tcase_add_test(t, no_status);
    tcase_add_loop_test(t, no_descriptors, 0, sizeof few / sizeof *few);
    suite_add_tcase(s, t);
    return run_suite(s);
}
