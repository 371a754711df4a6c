#define _GNU_SOURCE // F_SETPIPE_SZ, where there is one
#include "valvebook/input.h"

#include <errno.h>
#include <fcntl.h>
#include <iconv.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

#include <zlib.h>

#include "valvebook/utf8.h"

#define CHUNK 65536
#define PIPE  (1 << 20)

struct vb_input {
    char *name;
    gzFile gz;
    const char *mem; // memory streams
    size_t mem_n, mem_chunk;
    iconv_t cd; // (iconv_t)-1 while bytes are UTF-8 already
    char *raw;  // undecoded bytes [CHUNK], with decoding or while the BOM is looked for
    size_t raw_at, raw_n;
    size_t step; // bytes to pass over where the encoding is broken
    int begun;
    int ended;
};

static enum vb_err
blame(struct vb_input *in, struct vb_msg *m, const char *what)
{
    vb_msg_at(m, in->name, 0, NULL);
    vb_msg_set(m, "%s", what);
    return VB_EIO;
}

static enum vb_err
read_gz(struct vb_input *in, char *buf, size_t size, size_t *got, struct vb_msg *m)
{
    errno = 0;
    int n = gzread(in->gz, buf, (unsigned)size);
    int code = Z_OK, why = errno;
    gzerror(in->gz, &code);
    if (n < 0 || (n == 0 && code == Z_BUF_ERROR))
        return blame(in, m,
                     code == Z_ERRNO       ? strerror(why)
                     : code == Z_BUF_ERROR ? "gzip data end too early"
                     : code == Z_MEM_ERROR ? "out of memory"
                                           : "damaged gzip data");
    *got = (size_t)n;
    return VB_OK;
}

static enum vb_err
read_bytes(struct vb_input *in, char *buf, size_t size, size_t *got, struct vb_msg *m)
{
    if (in->gz)
        return read_gz(in, buf, size, got, m);
    size_t n = in->mem_n < in->mem_chunk ? in->mem_n : in->mem_chunk;
    *got = n < size ? n : size;
    memcpy(buf, in->mem, *got);
    in->mem += *got;
    in->mem_n -= *got;
    return VB_OK;
}

/* Half of a two-byte unit would put every one behind it out of step. */
static size_t
step_of(const char *encoding)
{
    if (strncasecmp(encoding, "UTF-16", 6) == 0 || strncasecmp(encoding, "UCS-2", 5) == 0)
        return 2;
    if (strncasecmp(encoding, "UTF-32", 6) == 0 || strncasecmp(encoding, "UCS-4", 5) == 0)
        return 4;
    return 1;
}

static enum vb_err
set_decoder(struct vb_input *in, const char *encoding, struct vb_msg *m)
{
    if (in->cd != (iconv_t)-1)
        iconv_close(in->cd);
    in->step = step_of(encoding);
    in->cd = iconv_open("UTF-8", encoding);
    if (in->cd != (iconv_t)-1)
        return VB_OK;
    if (errno != EINVAL)
        return blame(in, m, strerror(errno));
    vb_msg_at(m, in->name, 0, NULL);
    vb_msg_set(m, "unknown encoding '%s'", encoding);
    return VB_EUNKNOWN;
}

/* The first bytes decide: a byte order mark is stronger than what was asked for. */
static enum vb_err
begin(struct vb_input *in, struct vb_msg *m)
{
    const char *enc = NULL;
    const unsigned char *b = (unsigned char *)in->raw;
    in->begun = 1;
    while (in->raw_n < 3 && !in->ended) {
        size_t got;
        enum vb_err e = read_bytes(in, in->raw + in->raw_n, CHUNK - in->raw_n, &got, m);
        if (e)
            return e;
        in->raw_n += got;
        in->ended = got == 0;
    }
    if (in->raw_n >= 3 && b[0] == 0xef && b[1] == 0xbb && b[2] == 0xbf)
        in->raw_at = 3, enc = "";
    else if (in->raw_n >= 2 && b[0] == 0xff && b[1] == 0xfe)
        in->raw_at = 2, enc = "UTF-16LE";
    else if (in->raw_n >= 2 && b[0] == 0xfe && b[1] == 0xff)
        in->raw_at = 2, enc = "UTF-16BE";
    if (!enc)
        return VB_OK;
    if (*enc)
        return set_decoder(in, enc, m);
    if (in->cd != (iconv_t)-1)
        iconv_close(in->cd);
    in->cd = (iconv_t)-1;
    return VB_OK;
}

static enum vb_err
refill(struct vb_input *in, struct vb_msg *m)
{
    size_t got;
    memmove(in->raw, in->raw + in->raw_at, in->raw_n - in->raw_at);
    in->raw_n -= in->raw_at;
    in->raw_at = 0;
    enum vb_err e = read_bytes(in, in->raw + in->raw_n, CHUNK - in->raw_n, &got, m);
    if (!e) {
        in->raw_n += got;
        in->ended = got == 0;
    }
    return e;
}

static char *
put_replacement(char *out, char *end)
{
    if (end - out < 3)
        return NULL;
    memcpy(out, "\xef\xbf\xbd", 3);
    return out + 3;
}

/*
 * Decode what is there. A bad byte (or unit of two) becomes U+FFFD, which no number or
 * name contains, so the cell is refused by name further on; an incomplete sequence waits
 * for more bytes.
 */
static enum vb_err
decode(struct vb_input *in, char *buf, size_t size, size_t *got, struct vb_msg *m)
{
    char *out = buf, *end = buf + size;
    while (out == buf) {
        char *from = in->raw + in->raw_at;
        size_t left = in->raw_n - in->raw_at, room = (size_t)(end - out);
        errno = 0;
        size_t r = left ? iconv(in->cd, &from, &left, &out, &room) : 0;
        in->raw_at = in->raw_n - left;
        int bad = r == (size_t)-1 && (errno == EILSEQ || (errno == EINVAL && in->ended));
        if (bad && left) { // GCOVR_EXCL_BR_LINE: iconv leaves what it refuses
            char *next = put_replacement(out, end);
            if (!next)
                break;
            out = next;
            in->raw_at += left < in->step ? left : in->step;
        } else if (out == buf) {
            if (in->ended)
                break;
            enum vb_err e = refill(in, m);
            if (e)
                return e;
        }
    }
    *got = (size_t)(out - buf);
    return VB_OK;
}

enum vb_err
vb_input_read(struct vb_input *in, char *buf, size_t size, size_t *got, struct vb_msg *m)
{
    enum vb_err e = in->begun ? VB_OK : begin(in, m);
    if (e)
        return e;
    if (in->cd != (iconv_t)-1)
        return decode(in, buf, size, got, m);
    size_t left = in->raw_n - in->raw_at;
    if (!left) {
        if (in->ended) {
            *got = 0;
            return VB_OK;
        }
        return read_bytes(in, buf, size, got, m);
    }
    *got = left < size ? left : size;
    memcpy(buf, in->raw + in->raw_at, *got);
    in->raw_at += *got;
    return VB_OK;
}

/* It goes into tables: what is no UTF-8 in it is a question mark, as in messages. */
static char *
name_of(const char *path)
{
    char *name = strdup(path);
    size_t n = name ? strlen(name) : 0;
    for (size_t i = 0, len; i < n; i += len) {
        len = vb_utf8_at(name + i, n - i);
        if (len == 0)
            name[i] = '?', len = 1;
    }
    return name;
}

static enum vb_err
make(const char *name, const char *encoding, struct vb_input **out, struct vb_msg *m)
{
    struct vb_input *in = calloc(1, sizeof *in);
    if (!in)
        return VB_EMEM;
    in->cd = (iconv_t)-1;
    in->name = name_of(name);
    in->raw = malloc(CHUNK);
    if (!in->name || !in->raw) {
        vb_input_close(in);
        return VB_EMEM;
    }
    int utf8 = !encoding || !*encoding || strcasecmp(encoding, "UTF-8") == 0 ||
               strcasecmp(encoding, "UTF8") == 0;
    enum vb_err e = utf8 ? VB_OK : set_decoder(in, encoding, m);
    if (e) {
        vb_input_close(in);
        return e;
    }
    *out = in;
    return VB_OK;
}

/* The wider a pipe, the seldomer either end waits for the other. Best effort. */
static void
widen(int fd, const struct stat *st)
{
#ifdef F_SETPIPE_SZ
    if (S_ISFIFO(st->st_mode))
        (void)fcntl(fd, F_SETPIPE_SZ, PIPE);
#else
    (void)fd, (void)st;
#endif
}

enum vb_err
vb_input_open(const char *path, const char *encoding, struct vb_input **out,
              struct vb_msg *m)
{
    struct vb_input *in;
    struct stat st;
    int is_stdin = strcmp(path, "-") == 0;
    enum vb_err e = make(is_stdin ? "stdin" : path, encoding, &in, m);
    if (e)
        return e;
    int fd = is_stdin ? dup(STDIN_FILENO) : open(path, O_RDONLY | O_CLOEXEC);
    const char *why = NULL;
    if (fd < 0 || fstat(fd, &st))
        why = strerror(errno);
    else if (S_ISDIR(st.st_mode))
        why = strerror(EISDIR);
    else if (!(in->gz = gzdopen(fd, "rb")))
        why = "out of memory";
    if (why) {
        e = blame(in, m, why);
        if (fd >= 0)
            close(fd);
        vb_input_close(in);
        return e;
    }
    widen(fd, &st);
    gzbuffer(in->gz, CHUNK / 2);
    *out = in;
    return VB_OK;
}

enum vb_err
vb_input_memory(const char *bytes, size_t n, size_t chunk, const char *encoding,
                struct vb_input **out, struct vb_msg *m)
{
    struct vb_input *in;
    enum vb_err e = make("memory", encoding, &in, m);
    if (e)
        return e;
    in->mem = bytes;
    in->mem_n = n;
    in->mem_chunk = chunk ? chunk : 1;
    *out = in;
    return VB_OK;
}

const char *
vb_input_name(const struct vb_input *in)
{
    return in->name;
}

void
vb_input_close(struct vb_input *in)
{
    if (!in)
        return;
    if (in->gz)
        gzclose(in->gz);
    if (in->cd != (iconv_t)-1)
        iconv_close(in->cd);
    free(in->raw);
    free(in->name);
    free(in);
}
