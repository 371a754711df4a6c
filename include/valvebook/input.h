#ifndef VALVEBOOK_INPUT_H
#define VALVEBOOK_INPUT_H

#include <stddef.h>

#include "valvebook/err.h"

/*
 * vb_input - a stream of UTF-8 bytes from a file, a pipe or memory. gzip is recognised by
 * its magic and unpacked; a byte order mark is taken off and decides the encoding;
 * otherwise the encoding is the one asked for, UTF-8 if none.
 */
struct vb_input;

/*
 * vb_input_open - open a file, or standard input for "-".
 *   encoding   any name iconv(3) knows, "" for UTF-8
 *   out        takes the new stream; free with vb_input_close
 * Errors: VB_EIO       cannot be opened, or is a directory
 *         VB_EUNKNOWN  no such encoding
 *         VB_EMEM
 */
enum vb_err vb_input_open(const char *path, const char *encoding, struct vb_input **out,
                          struct vb_msg *m);

/*
 * vb_input_memory - the same from [n] bytes, handed out `chunk` bytes at a time. The
 * caller keeps the bytes until the stream is closed.
 */
enum vb_err vb_input_memory(const char *bytes, size_t n, size_t chunk,
                            const char *encoding, struct vb_input **out,
                            struct vb_msg *m);

/*
 * vb_input_read - the next bytes, at most [size]; *got = 0 is the end of the stream.
 * Bytes that the encoding does not allow become U+FFFD only where iconv decodes (never
 * for UTF-8, which is handed on as it is).
 * Errors: VB_EIO  read error, truncated or damaged gzip data
 */
enum vb_err vb_input_read(struct vb_input *in, char *buf, size_t size, size_t *got,
                          struct vb_msg *m);

/* vb_input_name - the path as the user gave it, with a question mark for a byte that is no
 * UTF-8; valid until the stream is closed. */
const char *vb_input_name(const struct vb_input *in);

/* vb_input_close - close and free; NULL is allowed. */
void vb_input_close(struct vb_input *in);

#endif
