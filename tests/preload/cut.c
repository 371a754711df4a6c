/*
 * cut - the power fails: to be preloaded into a program that keeps an SQLite book.
 *   VB_CUT        "n seed": before the n-th change of the file (write, truncation, sync,
 *                 removal; counted from 1) the program is gone, and of what it changed since the
 *                 last sync each sector of 512 bytes is there or is as it was, by lot; likewise the
 *                 length of a file, a file that was made, and one that was removed, until their
 *                 directory was synced. n = 0: that happens when the program has ended.
 *   VB_CUT_FILE   the book; its journal has the same name and more
 *   VB_CUT_COUNT  a file that receives how many changes there were, if the program ended
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "../draw.h"

#define SECTOR  512
#define FILES   8
#define FDS     256
#define SECTORS 65536 // between two syncs

struct sector {
    off64_t at;
    ssize_t n; // bytes that were there
    unsigned char old[SECTOR];
};

struct file {
    char path[512];
    int made, removed;     // and the directory not synced since
    off64_t length;        // at the last sync
    struct sector *sector; // changed since
    size_t n;
    unsigned char *ghost; // what was removed
    size_t ghost_n;
};

static struct file file[FILES];
static size_t n_files;
static struct file *of[FDS]; // by descriptor
static long nth = -1, count;
static const char *book;

#define NEXT(name)                                                                       \
    static __typeof__(&name) next;                                                       \
    if (!next) {                                                                         \
        void *p = dlsym(RTLD_NEXT, #name);                                               \
        memcpy(&next, &p, sizeof next);                                                  \
    }

static ssize_t
true_pwrite(int fd, const void *buf, size_t n, off64_t at)
{
    static ssize_t (*next)(int, const void *, size_t, off64_t);
    if (!next) {
        void *p = dlsym(RTLD_NEXT, "pwrite64");
        memcpy(&next, &p, sizeof next);
    }
    return next(fd, buf, n, at);
}

static int
lot(void)
{
    return (int)(draw() >> 40 & 1);
}

static void
lose(struct file *f)
{
    int fd = open(f->path, O_RDWR);
    for (size_t i = 0; fd >= 0 && i < f->n; i++) {
        static const unsigned char zero[SECTOR];
        struct sector *s = &f->sector[i];
        if (lot() && true_pwrite(fd, s->n > 0 ? s->old : zero, SECTOR, s->at) < 0)
            abort();
    }
    if (fd >= 0 && f->length >= 0 && lseek64(fd, 0, SEEK_END) > f->length && lot() &&
        ftruncate64(fd, f->length))
        abort();
    if (fd >= 0)
        close(fd);
    if (f->made && lot())
        unlink(f->path);
    if (!f->removed || !f->ghost || !lot())
        return;
    fd = open(f->path, O_RDWR | O_CREAT | O_TRUNC, 0644);
    if (fd >= 0 && true_pwrite(fd, f->ghost, f->ghost_n, 0) < 0)
        abort();
}

static void
cut(void)
{
    nth = -1; // nothing that follows counts
    for (size_t i = 0; i < n_files; i++)
        lose(&file[i]);
}

/* One more change; before the n-th the power is gone. */
static void
change(void)
{
    if (nth < 0 || ++count != nth)
        return;
    cut();
    _exit(137);
}

__attribute__((constructor)) static void
begin(void)
{
    const char *s = getenv("VB_CUT");
    unsigned long seed = 0;
    book = getenv("VB_CUT_FILE");
    if (s && book && sscanf(s, "%ld %lu", &nth, &seed) == 2)
        state = seed;
}

__attribute__((destructor)) static void
end(void)
{
    const char *path = getenv("VB_CUT_COUNT");
    if (nth < 0)
        return;
    if (nth == 0)
        cut();
    nth = -1;
    FILE *f = path ? fopen(path, "w") : NULL;
    if (f) {
        fprintf(f, "%ld\n", count);
        fclose(f);
    }
}

/* The file of this name, if it is the book or beside it. */
static struct file *
find(const char *path)
{
    size_t n = book ? strlen(book) : 0;
    const char *name = strrchr(path, '/');
    name = name ? name + 1 : path;
    if (nth < 0 || !n || strncmp(name, book, n) != 0 || strstr(name, "-alert"))
        return NULL;
    for (size_t i = 0; i < n_files; i++)
        if (strcmp(file[i].path, path) == 0)
            return &file[i];
    if (n_files == FILES)
        abort();
    struct file *f = &file[n_files++];
    snprintf(f->path, sizeof f->path, "%s", path);
    f->sector = malloc(SECTORS * sizeof *f->sector);
    f->length = -1;
    return f;
}

static int
opened(const char *path, int fd, int was_there)
{
    struct file *f = fd >= 0 && fd < FDS ? find(path) : NULL;
    if (fd >= 0 && fd < FDS)
        of[fd] = f;
    if (!f)
        return fd;
    if (f->length < 0 || !was_there)
        f->length = lseek64(fd, 0, SEEK_END);
    if (!was_there) {
        f->made = 1;
        f->removed = 0;
        f->n = 0;
    }
    return fd;
}

#define OPEN_AS(name)                                                                    \
    int name(const char *path, int flags, ...)                                           \
    {                                                                                    \
        NEXT(name)                                                                       \
        va_list ap;                                                                      \
        va_start(ap, flags);                                                             \
        mode_t mode = va_arg(ap, mode_t);                                                \
        va_end(ap);                                                                      \
        int was_there = access(path, F_OK) == 0;                                         \
        return opened(path, next(path, flags, mode), was_there);                         \
    }
OPEN_AS(open)
OPEN_AS(open64)

/* What stands where something will be written. */
static void
remember(struct file *f, int fd, off64_t at, off64_t end)
{
    for (at -= at % SECTOR; at < end; at += SECTOR) {
        size_t i = f->n;
        while (i > 0 && f->sector[i - 1].at != at)
            i--;
        if (i > 0)
            continue;
        if (f->n == SECTORS)
            abort();
        struct sector *s = &f->sector[f->n++];
        memset(s->old, 0, SECTOR);
        s->at = at;
        s->n = pread64(fd, s->old, SECTOR, at);
    }
}

ssize_t
pwrite64(int fd, const void *buf, size_t n, off64_t at)
{
    struct file *f = fd >= 0 && fd < FDS ? of[fd] : NULL;
    if (f && nth >= 0) {
        change();
        remember(f, fd, at, at + (off64_t)n);
    }
    return true_pwrite(fd, buf, n, at);
}

int
ftruncate64(int fd, off64_t length)
{
    NEXT(ftruncate64)
    struct file *f = fd >= 0 && fd < FDS ? of[fd] : NULL;
    if (f && nth >= 0) {
        change();
        remember(f, fd, length, lseek64(fd, 0, SEEK_END));
    }
    return next(fd, length);
}

static void
synced(int fd)
{
    struct stat st;
    struct file *f = fd >= 0 && fd < FDS ? of[fd] : NULL;
    if (nth < 0 || fstat(fd, &st))
        return;
    if (S_ISDIR(st.st_mode))
        for (size_t i = 0; i < n_files; i++)
            file[i].made = file[i].removed = 0;
    if (!f)
        return;
    f->n = 0;
    f->length = st.st_size;
}

int
fsync(int fd)
{
    NEXT(fsync)
    change();
    int rc = next(fd);
    synced(fd);
    return rc;
}

int
fdatasync(int fd)
{
    NEXT(fdatasync)
    change();
    int rc = next(fd);
    synced(fd);
    return rc;
}

int
unlink(const char *path)
{
    NEXT(unlink)
    struct file *f = find(path);
    int fd = f ? open(path, O_RDONLY) : -1;
    if (fd >= 0) {
        change();
        off64_t n = lseek64(fd, 0, SEEK_END);
        free(f->ghost);
        f->ghost = malloc((size_t)n + 1);
        f->ghost_n = n > 0 && pread64(fd, f->ghost, (size_t)n, 0) == n ? (size_t)n : 0;
        f->removed = !f->made; // neither there nor gone for sure: gone
        f->made = 0;
        f->n = 0;
        close(fd);
    }
    return next(path);
}
