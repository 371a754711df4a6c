#ifndef VALVEBOOK_OUT_H
#define VALVEBOOK_OUT_H

#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include "valvebook/csv.h"
#include "valvebook/err.h"

#define VB_OUT_SIZE 65536

/*
 * vb_out - buffered output of bytes and CSV cells. Errors are kept until vb_out_close,
 * which is the one place that has to look.
 */
struct vb_out {
    int fd;
    int is_stdout;
    int failed; // errno of the first write that failed
    char *name;
    const char
        *held_in; // nothing reaches standard output before the close; NULL: it does
    int in_file;  // what is held is, or was to be
    char *mem;    // what a stream into memory has kept
    size_t mem_n, mem_size;
    size_t n;
    uint32_t crc; // CRC-32 of everything written and flushed
    int first;    // the next cell is the first of its row
    char buf[VB_OUT_SIZE];
};

/*
 * vb_out_open - write to a file that is made anew, or to standard output for "-".
 * Errors: VB_EIO (m says why), VB_EMEM.  The caller owns *out: vb_out_close frees it.
 */
enum vb_err vb_out_open(const char *path, struct vb_out **out, struct vb_msg *m);

/*
 * vb_out_apart - the same of a file that is none of those that are read, under whatever name.
 *   one    a file that is read
 *   more   [n] others, "-" for standard input
 * Errors: VB_ECONFLICT  it is one of them, which would be lost; else as vb_out_open
 */
enum vb_err vb_out_apart(const char *path, const char *one, char *const *more, size_t n,
                         struct vb_out **out, struct vb_msg *m);

/*
 * vb_out_at_once - write bytes to a file or a pipe by one call of the system, into a pipe that is
 * made wide enough if the system lets it: whoever reads it then gets all of them or none, also
 * where this process is killed meanwhile. They are not summed up by vb_out_crc.
 */
void vb_out_at_once(struct vb_out *o, const char *s, size_t n);

/* vb_out_is_stdout - is the file or pipe that is written the one that standard output is, under
 * whatever name? */
int vb_out_is_stdout(const struct vb_out *o);

/*
 * vb_out_later - write to standard output, but only at the close: for whoever holds what
 * others wait for, and must not wait for a reader. VB_OUT_HELD bytes are held in memory,
 * more in a file without a name.
 *   dir   where that file is made, NULL or "" for /tmp; must live until the close
 * Errors: VB_EMEM
 */
#define VB_OUT_HELD 1048576
enum vb_err vb_out_later(const char *dir, struct vb_out **out);

/* vb_out_drop - free a stream that was opened with vb_out_later, unwritten; NULL is allowed. */
void vb_out_drop(struct vb_out *o);

/*
 * vb_out_memory - write into memory. Errors: VB_EMEM. vb_out_take or vb_out_close ends it.
 * vb_out_take - end it and hand over what was written, with a NUL behind.
 *   s, n    out: [n] bytes; free with free(); untouched on failure
 * Errors: VB_EMEM; o is freed then too
 */
enum vb_err vb_out_memory(struct vb_out **out);
enum vb_err vb_out_take(struct vb_out *o, char **s, size_t *n);

/* vb_out_bytes, vb_out_text - append as it is. */
void vb_out_bytes(struct vb_out *o, const char *s, size_t n);
void vb_out_text(struct vb_out *o, const char *s);

/* vb_out_shown - a text for people: control characters as "?", as vb_utf8_next gives them.
 * Returns how many cells of a terminal it takes. */
size_t vb_out_shown(struct vb_out *o, const char *s, size_t n);

/* vb_out_cell - one CSV cell: a comma before it if it is not the first, quoted as needed.
 */
void vb_out_cell(struct vb_out *o, const char *s, size_t n);
/* vb_out_plain - the same for a cell of at most 64 bytes known to need no quotes. */
static inline void
vb_out_plain(struct vb_out *o, const char *s, size_t n)
{
    if (o->n + 65 > VB_OUT_SIZE) {
        vb_out_cell(o, s, n);
        return;
    }
    o->buf[o->n] = ',';
    o->n += !o->first;
    o->first = 0;
    if (n)
        memcpy(o->buf + o->n, s, n);
    o->n += n;
}

/* vb_out_words - a row of cells; vb_out_end - end the row with LF. */
void vb_out_words(struct vb_out *o, const char *const *cell, size_t n);
void vb_out_end(struct vb_out *o);

/* vb_out_crc - CRC-32 (ISO 3309, as zlib has it) of all bytes so far. */
uint32_t vb_out_crc(struct vb_out *o);

/*
 * vb_out_close - flush, close and free; NULL is allowed.
 * Errors: VB_EIO  some byte did not reach the file; m names it and says why
 */
enum vb_err vb_out_close(struct vb_out *o, struct vb_msg *m);

#endif
