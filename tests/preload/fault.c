/*
 * fault - make one call of a kind fail, to be preloaded into a program; nth.h says how it is
 * told which.
 * Kinds: alloc (malloc, calloc, realloc: ENOMEM), read (read, pread64: EIO), write
 * (write, pwrite64: ENOSPC), sync (fsync, fdatasync: EIO), open (EMFILE), remove (unlink,
 * rename: EIO), half (read, pread64, write, pwrite64: half of the bytes, and no error).
 * What the C library calls inside itself is not seen; stdio ends in write() of its own.
 */
#define _GNU_SOURCE
#include <errno.h>
#include <stdarg.h>
#include <sys/types.h>

enum kind { ALLOC, READ, WRITE, SYNC, OPEN, REMOVE, HALF, N_KINDS };
static const char *const names[N_KINDS] = {"alloc", "read",   "write", "sync",
                                           "open",  "remove", "half"};

#include "nth.h"

extern void *__libc_malloc(size_t);
extern void *__libc_calloc(size_t, size_t);
extern void *__libc_realloc(void *, size_t);

void *
malloc(size_t n)
{
    if (!fails(ALLOC))
        return __libc_malloc(n);
    errno = ENOMEM;
    return NULL;
}

void *
calloc(size_t n, size_t size)
{
    if (!fails(ALLOC))
        return __libc_calloc(n, size);
    errno = ENOMEM;
    return NULL;
}

void *
realloc(void *p, size_t n)
{
    if (!fails(ALLOC))
        return __libc_realloc(p, n);
    errno = ENOMEM;
    return NULL;
}

#define FAIL(kind, error)                                                                \
    if (fails(kind)) {                                                                   \
        errno = error;                                                                   \
        return -1;                                                                       \
    }

/* At least one byte of n. */
static size_t
some(size_t n)
{
    return fails(HALF) ? n - n / 2 : n;
}

ssize_t
read(int fd, void *buf, size_t n)
{
    NEXT(read)
    FAIL(READ, EIO)
    return next(fd, buf, some(n));
}

ssize_t
pread64(int fd, void *buf, size_t n, off64_t at)
{
    NEXT(pread64)
    FAIL(READ, EIO)
    return next(fd, buf, some(n), at);
}

/* Messages are let through, or nobody would hear of it. */
ssize_t
write(int fd, const void *buf, size_t n)
{
    NEXT(write)
    if (fd != STDERR_FILENO)
        FAIL(WRITE, ENOSPC)
    return next(fd, buf, some(n));
}

ssize_t
pwrite64(int fd, const void *buf, size_t n, off64_t at)
{
    NEXT(pwrite64)
    FAIL(WRITE, ENOSPC)
    return next(fd, buf, some(n), at);
}

int
fsync(int fd)
{
    NEXT(fsync)
    FAIL(SYNC, EIO)
    return next(fd);
}

int
fdatasync(int fd)
{
    NEXT(fdatasync)
    FAIL(SYNC, EIO)
    return next(fd);
}

#define OPEN_AS(name)                                                                    \
    int name(const char *path, int flags, ...)                                           \
    {                                                                                    \
        NEXT(name)                                                                       \
        va_list ap;                                                                      \
        va_start(ap, flags);                                                             \
        mode_t mode = va_arg(ap, mode_t);                                                \
        va_end(ap);                                                                      \
        FAIL(OPEN, EMFILE)                                                               \
        return next(path, flags, mode);                                                  \
    }
OPEN_AS(open)
OPEN_AS(open64)

int
unlink(const char *path)
{
    NEXT(unlink)
    FAIL(REMOVE, EIO)
    return next(path);
}

int
rename(const char *from, const char *to)
{
    NEXT(rename)
    FAIL(REMOVE, EIO)
    return next(from, to);
}
