#define _GNU_SOURCE // F_SETPIPE_SZ, where there is one
#include "valvebook/out.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <zlib.h>

#include "valvebook/utf8.h"

/*
 * A file opened where standard output or standard error was closed would receive what is
 * meant for those: move it out of the way.
 */
static int
open_high(const char *path)
{
    int fd = open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
    if (fd < 0 || fd > STDERR_FILENO)
        return fd;
    int high = fcntl(fd, F_DUPFD_CLOEXEC, STDERR_FILENO + 1);
    close(fd);
    return high;
}

enum vb_err
vb_out_open(const char *path, struct vb_out **out, struct vb_msg *m)
{
    struct vb_out *o = calloc(1, sizeof *o);
    if (!o)
        return VB_EMEM;
    o->is_stdout = strcmp(path, "-") == 0;
    o->first = 1;
    o->fd = STDOUT_FILENO;
    o->name = strdup(o->is_stdout ? "stdout" : path);
    if (!o->name) {
        free(o);
        return VB_EMEM;
    }
    if (!o->is_stdout)
        o->fd = open_high(path);
    if (o->fd < 0) {
        vb_msg_at(m, o->name, 0, NULL);
        vb_msg_set(m, "%s", strerror(errno));
        free(o->name);
        free(o);
        return VB_EIO;
    }
    *out = o;
    return VB_OK;
}

static int
is_same(const struct stat *a, const struct stat *b)
{
    return a->st_dev == b->st_dev && a->st_ino == b->st_ino;
}

/* Is a file that is read, "-": standard input, the one that stands there? */
static int
is_that(const char *read, const struct stat *there)
{
    struct stat st;
    int rc = strcmp(read, "-") == 0 ? fstat(STDIN_FILENO, &st) : stat(read, &st);
    return !rc && is_same(&st, there);
}

enum vb_err
vb_out_apart(const char *path, const char *one, char *const *more, size_t n,
             struct vb_out **out, struct vb_msg *m)
{
    struct stat there;
    int lost = 0;
    if (strcmp(path, "-") != 0 && !stat(path, &there) && S_ISREG(there.st_mode)) {
        lost = is_that(one, &there);
        for (size_t i = 0; !lost && i < n; i++)
            lost = is_that(more[i], &there);
    }
    if (!lost)
        return vb_out_open(path, out, m);
    vb_msg_at(m, path, 0, NULL);
    vb_msg_set(m, "this file is read, and would be lost if it were written");
    return VB_ECONFLICT;
}

int
vb_out_is_stdout(const struct vb_out *o)
{
    struct stat st, out;
    int plain = !fstat(o->fd, &st) && (S_ISREG(st.st_mode) || S_ISFIFO(st.st_mode));
    return plain && !fstat(STDOUT_FILENO, &out) && is_same(&st, &out);
}

enum vb_err
vb_out_memory(struct vb_out **out)
{
    struct vb_out *o = calloc(1, sizeof *o);
    if (!o)
        return VB_EMEM;
    o->fd = -1;
    o->first = 1;
    *out = o;
    return VB_OK;
}

enum vb_err
vb_out_later(const char *dir, struct vb_out **out)
{
    struct vb_out *o = NULL;
    enum vb_err e = vb_out_memory(&o);
    if (e)
        return e;
    o->is_stdout = 1;
    o->held_in = dir && *dir ? dir : "/tmp";
    if (!(o->name = strdup("stdout"))) {
        free(o);
        return VB_EMEM;
    }
    *out = o;
    return VB_OK;
}

/* Bytes and a NUL behind them. */
static void
remember(struct vb_out *o)
{
    size_t need = o->mem_n + o->n + 1;
    if (need > o->mem_size) {
        size_t size = need < SIZE_MAX / 2 ? 2 * need : need;
        char *p = realloc(o->mem, size);
        if (!p) {
            o->failed = ENOMEM;
            return;
        }
        o->mem = p;
        o->mem_size = size;
    }
    memcpy(o->mem + o->mem_n, o->buf, o->n);
    o->mem_n += o->n;
    o->mem[o->mem_n] = 0;
}

static void
write_all(struct vb_out *o, const char *s, size_t n)
{
    size_t done = 0;
    while (!o->failed && done < n) {
        ssize_t k = write(o->fd, s + done, n - done);
        if (k >= 0)
            done += (size_t)k;
        else if (errno != EINTR)
            o->failed = errno;
    }
}

/* A file that goes when it is closed. */
static void
open_held(struct vb_out *o)
{
    char path[PATH_MAX];
    int n = snprintf(path, sizeof path, "%s/valvebook.XXXXXX", o->held_in);
    if (n < 0 || (size_t)n >= sizeof path)
        o->failed = ENAMETOOLONG;
    else if ((o->fd = mkstemp(path)) < 0)
        o->failed = errno;
    else
        unlink(path);
}

/* What is held is too much for memory. */
static void
move_to_file(struct vb_out *o)
{
    open_held(o);
    write_all(o, o->mem, o->mem_n);
    o->in_file = 1;
    free(o->mem);
    o->mem = NULL;
    o->mem_n = o->mem_size = 0;
}

static void
flush(struct vb_out *o)
{
    if (o->fd < 0) {
        if (!o->failed)
            remember(o);
        if (!o->failed && o->held_in && o->mem_n > VB_OUT_HELD)
            move_to_file(o);
        o->n = 0;
        return;
    }
    o->crc = (uint32_t)crc32(o->crc, (const unsigned char *)o->buf, (unsigned)o->n);
    write_all(o, o->buf, o->n);
    o->n = 0;
}

/* What was held goes to standard output. Returns where something is wrong, if it is. */
static const char *
pour(struct vb_out *o)
{
    int held = o->fd;
    ssize_t n = 0;
    const char *where = o->in_file ? o->held_in : o->name;
    o->fd = STDOUT_FILENO;
    if (held < 0) {
        write_all(o, o->mem, o->mem_n);
        return where;
    }
    if (!o->failed && lseek(held, 0, SEEK_SET) < 0)
        o->failed = errno;
    while (!o->failed && (n = read(held, o->buf, sizeof o->buf)) != 0) {
        if (n < 0 && errno != EINTR)
            o->failed = errno;
        where = n > 0 ? o->name : o->held_in;
        write_all(o, o->buf, n > 0 ? (size_t)n : 0);
    }
    close(held);
    return o->failed ? where : o->name;
}

void
vb_out_bytes(struct vb_out *o, const char *s, size_t n)
{
    while (n > VB_OUT_SIZE - o->n) {
        size_t part = VB_OUT_SIZE - o->n;
        memcpy(o->buf + o->n, s, part);
        o->n += part;
        s += part;
        n -= part;
        flush(o);
    }
    if (n)
        memcpy(o->buf + o->n, s, n);
    o->n += n;
}

void
vb_out_at_once(struct vb_out *o, const char *s, size_t n)
{
    flush(o);
#ifdef F_SETPIPE_SZ
    struct stat st;
    if (n <= INT_MAX && !fstat(o->fd, &st) && S_ISFIFO(st.st_mode))
        (void)fcntl(o->fd, F_SETPIPE_SZ, (int)n);
#endif
    write_all(o, s, n);
}

void
vb_out_text(struct vb_out *o, const char *s)
{
    vb_out_bytes(o, s, strlen(s));
}

size_t
vb_out_shown(struct vb_out *o, const char *s, size_t n)
{
    const char *end = s + n, *ch;
    size_t width = 0;
    for (size_t k; (k = vb_utf8_next(&s, end, &ch)); width += vb_utf8_cells(ch, k))
        vb_out_bytes(o, ch, k);
    return width;
}

static int
needs_quotes(const char *s, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (s[i] == ',' || s[i] == '"' || s[i] == '\n' || s[i] == '\r')
            return 1;
    return n > 0 && (s[0] == ' ' || s[n - 1] == ' ');
}

void
vb_out_cell(struct vb_out *o, const char *s, size_t n)
{
    if (!o->first)
        vb_out_bytes(o, ",", 1);
    o->first = 0;
    if (!needs_quotes(s, n)) {
        vb_out_bytes(o, s, n);
        return;
    }
    vb_out_bytes(o, "\"", 1);
    for (const char *q; n > 0 && (q = memchr(s, '"', n));) {
        size_t upto = (size_t)(q - s) + 1;
        vb_out_bytes(o, s, upto);
        vb_out_bytes(o, "\"", 1);
        s += upto;
        n -= upto;
    }
    vb_out_bytes(o, s, n);
    vb_out_bytes(o, "\"", 1);
}

void
vb_out_words(struct vb_out *o, const char *const *cell, size_t n)
{
    for (size_t i = 0; i < n; i++)
        vb_out_cell(o, cell[i], strlen(cell[i]));
    vb_out_end(o);
}

void
vb_out_end(struct vb_out *o)
{
    vb_out_bytes(o, "\n", 1);
    o->first = 1;
}

uint32_t
vb_out_crc(struct vb_out *o)
{
    flush(o);
    return o->crc;
}

enum vb_err
vb_out_take(struct vb_out *o, char **s, size_t *n)
{
    flush(o);
    enum vb_err e = o->failed ? VB_EMEM : VB_OK;
    if (!e) {
        *s = o->mem;
        *n = o->mem_n;
        o->mem = NULL;
    }
    vb_out_close(o, NULL);
    return e;
}

enum vb_err
vb_out_close(struct vb_out *o, struct vb_msg *m)
{
    if (!o)
        return VB_OK;
    if (o->fd < 0 && !o->held_in) {
        free(o->mem);
        free(o);
        return VB_OK;
    }
    flush(o);
    const char *where = o->held_in ? pour(o) : o->name;
    if (close(o->fd) && !o->failed)
        o->failed = errno;
    enum vb_err e = o->failed ? VB_EIO : VB_OK;
    if (e) {
        vb_msg_at(m, where, 0, NULL);
        vb_msg_set(m, "%s", strerror(o->failed));
    }
    free(o->name);
    free(o->mem);
    free(o);
    return e;
}

void
vb_out_drop(struct vb_out *o)
{
    if (!o)
        return;
    if (o->fd >= 0)
        close(o->fd);
    free(o->name);
    free(o->mem);
    free(o);
}
