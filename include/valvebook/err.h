#ifndef VALVEBOOK_ERR_H
#define VALVEBOOK_ERR_H

#include <stddef.h>

/*
 * Every function that can fail returns one of these; VB_OK is 0. Results travel
 * through pointer arguments and stay untouched on failure.
 */
enum vb_err {
    VB_OK = 0,
    VB_EDOM,      // an argument outside what the formula is defined for
    VB_ESYNTAX,   // text that cannot be read as what it should be
    VB_EUNIT,     // unknown unit, or a unit of another dimension
    VB_ERANGE,    // a number or text too large to hold
    VB_EMEM,      // out of memory
    VB_EIO,       // reading or writing failed
    VB_EDB,       // SQLite refused
    VB_ECONFLICT, // differs from what is already there
    VB_EUNKNOWN,  // a name nobody has stated
    VB_EEND,      // no more rows
};

/*
 * vb_msg - who is to blame, filled by functions that can name a culprit.
 *   file    name of the input as the user gave it, "" if none
 *   line    physical line, counted from 1, 0 if none
 *   column  heading of the column, "" if none
 *   text    what is wrong: lower case, no full stop
 * All members are NUL-terminated and cut to fit, between letters; bytes of controls (see
 * vb_utf8_control) and bytes that are no UTF-8 become '?', so that a cell cannot forge
 * terminal output and a log can take any message.
 */
struct vb_msg {
    char file[256];
    unsigned long long line;
    char column[64];
    char text[256];
    char there[128]; // where a row that came over a pipe stood at first, or ""
};

/*
 * vb_msg_set - write a formatted text into m->text (m may be NULL: nothing happens).
 * vb_msg_at - state the place.  vb_msg_clear - empty it.
 * Returns nothing and cannot fail; too long a text is cut.
 */
void vb_msg_set(struct vb_msg *m, const char *fmt, ...)
    __attribute__((format(printf, 2, 3)));
void vb_msg_at(struct vb_msg *m, const char *file, unsigned long long line,
               const char *column);
void vb_msg_clear(struct vb_msg *m);

/*
 * vb_quote - copy data for quoting in a message: bytes of controls and bytes that are no
 * UTF-8 become '?', long data is cut between letters and ends in "...".
 *   s, n   [n] bytes, any content
 *   out    [size] receives a NUL-terminated text; size >= 8
 * Returns out.
 */
const char *vb_quote(const char *s, size_t n, char *out, size_t size);

#endif
