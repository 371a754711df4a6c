#ifndef VALVEBOOK_CSV_H
#define VALVEBOOK_CSV_H

#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include "valvebook/err.h"
#include "valvebook/input.h"

/* vb_text - [n] bytes, not NUL-terminated. */
struct vb_text {
    const char *s;
    size_t n;
};

static inline int
vb_text_eq(struct vb_text a, struct vb_text b)
{
    return a.n == b.n && (a.n == 0 || memcmp(a.s, b.s, a.n) == 0);
}

static inline int
vb_text_is(struct vb_text a, const char *s)
{
    return a.n == strlen(s) && (a.n == 0 || memcmp(a.s, s, a.n) == 0);
}

/* vb_text_trim - without the blanks around it. */
static inline struct vb_text
vb_text_trim(struct vb_text a)
{
    while (a.n > 0 && (*a.s == ' ' || *a.s == '\t'))
        a.s++, a.n--;
    while (a.n > 0 && (a.s[a.n - 1] == ' ' || a.s[a.n - 1] == '\t'))
        a.n--;
    return a;
}

/*
 * vb_row - one record.
 *   cell, n   its cells, unquoted; valid until the next call
 *   raw       the record as it stood, without its end of line
 *   line      physical line it begins on, from 1;  lines  how many it spans
 *   bad       number of the cell that is to blame, from 0, where a call failed
 */
struct vb_row {
    const struct vb_text *cell;
    size_t n;
    struct vb_text raw;
    unsigned long long line;
    unsigned long long lines;
    size_t bad;
};

/* What is said of a row with other cells than its heading: how many it has, and wants. */
#define VB_CELLS_WANTED "%zu cell%s where the heading has %zu"
#define VB_CELLS(n)     (n), (n) == 1 ? "" : "s"

/* vb_csv - a reader of delimited text as RFC 4180 has it. */
struct vb_csv;

#define VB_CELL_MAX   65536         // bytes in one cell
#define VB_RECORD_MAX (4096 * 1024) // bytes in one record, its end of line included

/*
 * vb_csv_new - read records from a stream; takes the stream and closes it when freed.
 *   delim   one byte: ',' ';' '\t' '|' ...
 * Lines end in LF, CR LF, or CR alone where the first line does. Empty lines are passed
 * over. A quote opens a cell only as its first byte, so  .004"  is an inch mark.
 * Errors: VB_EMEM (the stream is closed then too)
 */
enum vb_err vb_csv_new(struct vb_input *in, char delim, struct vb_csv **out);

/*
 * vb_csv_next - the next record.
 * Errors: VB_EEND     there are no more
 *         VB_ESYNTAX  this record cannot be read: row->raw, ->line and ->bad say which,
 *                     m says why, and the next call goes on behind it. A quote that is
 *                     never closed costs one physical line, not the rest of the file.
 *         VB_EIO      the stream failed; nothing more can be read
 *         VB_EMEM
 * Cost:   memory for one record, at most VB_RECORD_MAX.
 */
enum vb_err vb_csv_next(struct vb_csv *c, struct vb_row *row, struct vb_msg *m);

/*
 * vb_csv_split - give back all but the first line of the record just read, because it
 * does not fit: most likely its quote was opened by mistake. row becomes that first line.
 * Only after a record with lines > 1.
 */
void vb_csv_split(struct vb_csv *c, struct vb_row *row);

/* vb_csv_skip - pass over whole physical lines, whatever they hold. */
enum vb_err vb_csv_skip(struct vb_csv *c, unsigned long long lines, struct vb_msg *m);

/*
 * vb_csv_sum - keep a CRC-32 of the bytes; to be called before the first record.
 * vb_csv_crc - CRC-32 of all bytes before the record just read.
 */
void vb_csv_sum(struct vb_csv *c);
uint32_t vb_csv_crc(struct vb_csv *c, const struct vb_row *row);

/*
 * vb_csv_other_mark - are the cells of this heading separated by something else than
 * commas? Says so in m and returns 1.
 */
int vb_csv_other_mark(const struct vb_row *heading, struct vb_msg *m);

const char *vb_csv_name(const struct vb_csv *c);
void vb_csv_free(struct vb_csv *c);

#endif
