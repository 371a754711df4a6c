#ifndef VALVEBOOK_BOOK_CHECK_H
#define VALVEBOOK_BOOK_CHECK_H

#include "valvebook/book.h"

/*
 * vb_check - a look at a book that nothing is written to.
 *   as_of   YYYY-MM-DD; a date of the book that is later is a finding
 *   out     receives a row for each finding: table, key, column, reason; and behind the last
 *           a row of table "end" with what was counted, without which the look was cut short
 *   found   out: how many findings there were
 */
struct vb_check {
    const char *as_of;
    struct vb_out *out;
    unsigned long long found;
};

/*
 * vb_book_check - is the book, opened with VB_BOOK_CHECK, whole? Looked at are the pages of
 * the file, its tables and their indices, every row by what the loader demands of it, rows
 * that belong to each other, meters, the history, and what lists keep for themselves.
 * A table whose pages are damaged is looked at no further. No more than VB_CHECK_SHOWN
 * findings are written of a column of a table, then how many more there are.
 * Each of these looks at one state of the book; a loader may finish between two of them.
 * Errors: VB_EDB   locked, or the file cannot be read; damage is a finding;  VB_EMEM
 * Cost: O(readings) time; the memory of one engine, and some bytes an engine.
 */
#define VB_CHECK_SHOWN 20
enum vb_err vb_book_check(struct vb_book *b, struct vb_check *c, struct vb_msg *m);

#endif
