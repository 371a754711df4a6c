#include "valvebook/pipe.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdint.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define GRACE_MS 2000 // between SIGTERM and SIGKILL
#define LOOK_MS  10   // how often it is looked whether the command has ended

static int64_t
now_ms(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (int64_t)t.tv_sec * 1000 + t.tv_nsec / 1000000;
}

/* A descriptor that is none of the standard ones, whichever of those are closed: what is
 * meant for them must not run into the message. */
static int
high(int fd)
{
    int h = fcntl(fd, F_DUPFD_CLOEXEC, STDERR_FILENO + 1);
    close(fd);
    return h;
}

static int
open_pipe(int end[2])
{
    if (pipe(end))
        return 0;
    end[0] = high(end[0]);
    end[1] = high(end[1]);
    if (end[0] >= 0 && end[1] >= 0)
        return 1;
    close(end[0]);
    close(end[1]);
    errno = EMFILE; // all that high() can fail by, and what closing has changed
    return 0;
}

/* The command, in a process group of its own, so that all of it can be ended. */
static pid_t
start(const char *command, int in)
{
    pid_t pid = fork();
    if (pid > 0)
        setpgid(pid, pid);
    if (pid) // GCOVR_EXCL_BR_LINE: what a child counts is gone with exec
        return pid;
    setpgid(0, 0);
    signal(SIGPIPE, SIG_DFL);
    signal(SIGXFSZ, SIG_DFL);                   // which vb_start ignores
    if (dup2(in, STDIN_FILENO) == STDIN_FILENO) // GCOVR_EXCL_BR_LINE: in a child
        execl("/bin/sh", "sh", "-c", command, (char *)NULL);
    _exit(127);
}

/* Milliseconds that are left, -1 for no end. */
static int
left(int64_t end)
{
    int64_t ms = end - now_ms();
    return end < 0 ? -1 : ms < 0 ? 0 : (int)ms;
}

/* How much of it the command has taken in time. */
static size_t
feed(int fd, const char *s, size_t n, int64_t end)
{
    size_t done = 0;
    fcntl(fd, F_SETFL, O_NONBLOCK);
    while (done < n) {
        struct pollfd p = {.fd = fd, .events = POLLOUT};
        int ready = poll(&p, 1, left(end));
        if (ready == 0 || (ready < 0 && errno != EINTR))
            break;
        ssize_t k = write(fd, s + done, n - done);
        if (k > 0)
            done += (size_t)k;
        else if (errno != EAGAIN && errno != EINTR)
            break;
    }
    return done;
}

/* Has it taken all of that out of the pipe? What is in there while nobody holds the other end is
 * read by nobody. Whether it was in time is asked elsewhere. */
static int
drained(int fd, int64_t end)
{
    struct pollfd p = {.fd = fd};
    int gone = 0, unread = 0;
    while (ioctl(fd, FIONREAD, &unread) == 0 && unread && left(end) != 0) {
        if (gone)
            return 0;
        gone = poll(&p, 1, LOOK_MS) > 0;
    }
    return 1;
}

/* Its status, if it ends in time; -1 if somebody else has that already. */
static int
ended(pid_t pid, int64_t end, int *status)
{
    struct timespec pause = {0, LOOK_MS * 1000000L};
    for (;;) {
        pid_t got = waitpid(pid, status, end < 0 ? 0 : WNOHANG);
        if (got == pid || (got < 0 && errno != EINTR))
            return got == pid ? 1 : -1;
        if (got == 0 && left(end) == 0)
            return 0;
        if (got == 0)
            nanosleep(&pause, NULL);
    }
}

/* All of the group get the same time to end, also those that the shell leaves behind. */
static void
stop(pid_t pid)
{
    struct timespec pause = {0, LOOK_MS * 1000000L};
    int64_t end = now_ms() + GRACE_MS;
    int status;
    kill(-pid, SIGTERM);
    int gone = ended(pid, end, &status);
    while (gone && left(end) > 0 && kill(-pid, 0) == 0)
        nanosleep(&pause, NULL);
    kill(-pid, SIGKILL);
    if (!gone)
        ended(pid, -1, &status);
}

static enum vb_err
judge(int status, int whole, struct vb_msg *m)
{
    if (WIFSIGNALED(status))
        vb_msg_set(m, "the command was killed by signal %d", WTERMSIG(status));
    else if (WEXITSTATUS(status) == 127)
        vb_msg_set(m, "the command ended with status 127: is it there?");
    else if (WEXITSTATUS(status))
        vb_msg_set(m, "the command ended with status %d", WEXITSTATUS(status));
    else if (!whole)
        vb_msg_set(m, "the command ended without reading all of its input");
    else
        return VB_OK;
    return VB_EIO;
}

static enum vb_err
run(const char *command, int end[2], const char *s, size_t n, unsigned timeout_s,
    struct vb_msg *m)
{
    int status = 0;
    int64_t last = timeout_s ? now_ms() + INT64_C(1000) * timeout_s : -1;
    pid_t pid = start(command, end[0]);
    int why = errno;
    close(end[0]);
    if (pid < 0) {
        close(end[1]);
        vb_msg_set(m, "the command cannot be started: %s", strerror(why));
        return VB_EIO;
    }
    int whole = feed(end[1], s, n, last) == n && drained(end[1], last);
    close(end[1]);
    int how = ended(pid, last, &status);
    if (how > 0)
        return judge(status, whole, m);
    stop(pid);
    if (how < 0)
        vb_msg_set(m, "nobody knows how the command ended");
    else
        vb_msg_set(m, "the command took more than %u s and was ended", timeout_s);
    return VB_EIO;
}

enum vb_err
vb_pipe_to(const char *command, const char *s, size_t n, unsigned timeout_s,
           struct vb_msg *m)
{
    struct sigaction pipe_was, child_was, act = {.sa_handler = SIG_IGN};
    int end[2];
    if (!open_pipe(end)) {
        vb_msg_set(m, "no pipe: %s", strerror(errno));
        return VB_EIO;
    }
    sigaction(SIGPIPE, &act,
              &pipe_was); // a command that does not read is no reason to die
    act.sa_handler = SIG_DFL;
    sigaction(SIGCHLD, &act, &child_was); // where it is ignored there is no status
    enum vb_err e = run(command, end, s, n, timeout_s, m);
    sigaction(SIGPIPE, &pipe_was, NULL);
    sigaction(SIGCHLD, &child_was, NULL);
    return e;
}
