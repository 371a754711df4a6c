/*
 * fault - make one call of a kind fail, to be preloaded into a program.
 *   VB_FAULT        "kind n once" or "kind n ever": the n-th call of this kind that the
 *                   program makes, counted from 1, fails; with "ever" all later ones too
 *   VB_FAULT_COUNT  a file that receives how many calls there were, when the program ends
 * Kinds: alloc (malloc, calloc, realloc: ENOMEM), read (read, pread64: EIO), write
 * (write, pwrite64: ENOSPC), sync (fsync, fdatasync: EIO), open (EMFILE), remove (unlink,
 * rename: EIO).
 * What the C library calls inside itself is not seen; stdio ends in write() of its own.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

enum kind { ALLOC, READ, WRITE, SYNC, OPEN, REMOVE, N_KINDS };
static const char *const names[N_KINDS] = {"alloc", "read", "write",
                                           "sync",  "open", "remove"};

static int on, what = -1, ever;
static long nth;
static atomic_long count;

extern void *__libc_malloc(size_t);
extern void *__libc_calloc(size_t, size_t);
extern void *__libc_realloc(void *, size_t);

__attribute__((constructor)) static void
begin(void)
{
    char kind[16] = "", mode[16] = "";
    const char *s = getenv("VB_FAULT");
    if (!s || sscanf(s, "%15s %ld %15s", kind, &nth, mode) != 3)
        return;
    for (int i = 0; i < N_KINDS; i++)
        if (strcmp(kind, names[i]) == 0)
            what = i;
    ever = strcmp(mode, "ever") == 0;
    on = what >= 0;
}

/* Is this call one that fails? */
static int
fails(enum kind k)
{
    if (!on || (int)k != what)
        return 0;
    long n = atomic_fetch_add(&count, 1) + 1;
    return ever ? n >= nth : n == nth;
}

static int (*their_main)(int, char **, char **);

static void
spare(void)
{
    on = 0;
}

static int
our_main(int argc, char **argv, char **envp)
{
    atexit(spare);
    return their_main(argc, argv, envp);
}

/* The program's own end is spared: what counts coverage writes its files in the program's
 * destructors, which run before ours, but behind whatever main() leaves to atexit(). */
int
__libc_start_main(int (*start)(int, char **, char **), int argc, char **argv,
                  void (*init)(void), void (*fini)(void), void (*rtld_fini)(void),
                  void *stack_end)
{
    static __typeof__(&__libc_start_main) next;
    void *p = dlsym(RTLD_NEXT, "__libc_start_main");
    memcpy(&next, &p, sizeof next);
    their_main = start;
    return next(our_main, argc, argv, init, fini, rtld_fini, stack_end);
}

__attribute__((destructor)) static void
end(void)
{
    char text[32];
    const char *path = getenv("VB_FAULT_COUNT");
    on = 0;
    int fd = path ? open(path, O_WRONLY | O_CREAT | O_TRUNC, 0666) : -1;
    if (fd < 0)
        return;
    int n = snprintf(text, sizeof text, "%ld\n", atomic_load(&count));
    if (write(fd, text, (size_t)n) != n)
        abort();
    close(fd);
}

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

/* The function behind ours; a program cannot do without it. */
#define NEXT(name)                                                                       \
    static __typeof__(&name) next;                                                       \
    if (!next) {                                                                         \
        void *p = dlsym(RTLD_NEXT, #name);                                               \
        memcpy(&next, &p, sizeof next);                                                  \
    }

#define FAIL(kind, error)                                                                \
    if (fails(kind)) {                                                                   \
        errno = error;                                                                   \
        return -1;                                                                       \
    }

ssize_t
read(int fd, void *buf, size_t n)
{
    NEXT(read)
    FAIL(READ, EIO)
    return next(fd, buf, n);
}

ssize_t
pread64(int fd, void *buf, size_t n, off64_t at)
{
    NEXT(pread64)
    FAIL(READ, EIO)
    return next(fd, buf, n, at);
}

/* Messages are let through, or nobody would hear of it. */
ssize_t
write(int fd, const void *buf, size_t n)
{
    NEXT(write)
    if (fd != STDERR_FILENO)
        FAIL(WRITE, ENOSPC)
    return next(fd, buf, n);
}

ssize_t
pwrite64(int fd, const void *buf, size_t n, off64_t at)
{
    NEXT(pwrite64)
    FAIL(WRITE, ENOSPC)
    return next(fd, buf, n, at);
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
