#include "valvebook/lock.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define LOOK_MS 50

struct vb_lock {
    int fd;
};

static enum vb_err
fail(const char *path, struct vb_msg *m)
{
    vb_msg_at(m, path, 0, NULL);
    vb_msg_set(m, "%s", strerror(errno));
    return VB_EIO;
}

static char *
beside(const char *path, const char *suffix)
{
    char *real = realpath(path, NULL);
    size_t n = real ? strlen(real) + strlen(suffix) + 1 : 0;
    char *name = real ? malloc(n) : NULL;
    if (name)
        snprintf(name, n, "%s%s", real, suffix);
    free(real);
    return name;
}

/* None of the standard descriptors, even where one of those is closed: nothing is to be
 * printed into the file. Nor one that a link leads to: where others may write beside the
 * book, it would be made wherever they want. */
static int
open_high(const char *name)
{
    int fd = open(name, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0666);
    if (fd < 0 || fd > STDERR_FILENO)
        return fd;
    int high = fcntl(fd, F_DUPFD_CLOEXEC, STDERR_FILENO + 1);
    close(fd);
    return high;
}

/* 1 if it is ours, 0 if somebody else has it, -1 if there are no locks. */
static int
grab(int fd)
{
    struct flock whole = {.l_type = F_WRLCK, .l_whence = SEEK_SET};
    if (fcntl(fd, F_SETLK, &whole) == 0)
        return 1;
    return errno == EACCES || errno == EAGAIN || errno == EINTR ? 0 : -1;
}

static enum vb_err
wait_for(int fd, const char *name, int wait_s, struct vb_msg *m)
{
    struct timespec pause = {0, LOOK_MS * 1000000L}, t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    time_t end = t.tv_sec + wait_s;
    for (;;) {
        int got = grab(fd);
        if (got > 0)
            return VB_OK;
        if (got < 0)
            return fail(name, m);
        clock_gettime(CLOCK_MONOTONIC, &t);
        if (wait_s >= 0 && t.tv_sec >= end)
            return VB_ECONFLICT;
        nanosleep(&pause, NULL);
    }
}

enum vb_err
vb_lock_take(const char *path, const char *suffix, int wait_s, struct vb_lock **out,
             struct vb_msg *m)
{
    char *name = beside(path, suffix);
    if (!name)
        return errno == ENOMEM ? VB_EMEM : fail(path, m);
    struct vb_lock *l = malloc(sizeof *l);
    enum vb_err e = l ? VB_OK : VB_EMEM;
    if (!e && (l->fd = open_high(name)) < 0)
        e = fail(name, m);
    if (!e && (e = wait_for(l->fd, name, wait_s, m)))
        close(l->fd);
    free(name);
    if (e)
        free(l);
    else
        *out = l;
    return e;
}

void
vb_lock_drop(struct vb_lock *l)
{
    if (!l)
        return;
    close(l->fd);
    free(l);
}
