#ifndef VALVEBOOK_SHEET_IMPL_H
#define VALVEBOOK_SHEET_IMPL_H

#include <stddef.h>

#include "valvebook/length.h"
#include "valvebook/setting.h"

/*
 * sheet_words.c, sheet_shims.c: what tables and pages say alike. Each writes into out [size]
 * and returns it; UTF-8. Lengths are in the unit that is asked for, each with its name, but
 * for shims: these are in mm, and in a sentence in that unit behind it.
 */
#define WORDS 192

/* "leave", "in", "out", "swap", "keep", "tighten", "loosen", "measure", "read", "none" */
const char *words_do(const struct vb_sheet_row *r);
/* where the shim that goes in comes from: "", "own", "stock", "buy", or a valve */
const char *words_from(const struct vb_sheet_row *r, char *out, size_t size);
/* "leave, due by 282 h", "in 0.04 turn, 14°", "2.500 -> 2.450, of 3E1" with an arrow: that
 * shims are in mm stands above it */
const char *words_task(const struct vb_sheet *s, const struct vb_sheet_row *r,
                       enum vb_length length, char *out, size_t size);
/* why nothing can be done, or why not more; "" if nothing need be said */
const char *words_why(const struct vb_sheet *s, const struct vb_sheet_row *r,
                      enum vb_length length, char *out, size_t size);
/* of a valve that no shim serves: which it wants, and why there is none */
void words_unserved(const struct vb_sheet_row *r, enum vb_length length, char *out,
                    size_t size);
/* does its shim come from the other side, and has nobody said that it fits? */
int words_other_side(const struct vb_sheet *s, const struct vb_sheet_row *r);
/* "1 fires, 4 rocks" */
const char *words_stop(const struct vb_sheet *s, int stop, char *out, size_t size);
/* "0.150-0.350", the unit stands above it; "" if nobody stated a limit */
const char *words_window(const struct vb_sheet_row *r, enum vb_length length, char *out,
                         size_t size);
/* does a task name a shim, or by how much it is to differ? */
int words_has_shims(const struct vb_sheet *s);
/* "in", "out", "close", "" */
const char *words_verdict(const struct vb_sheet_row *r);
/* "2026-11-01", "forecast", "" */
const char *words_read(const struct vb_sheet_row *r, char *out, size_t size);
/* date of the newest reading on the sheet; "" if all is forecast. Lives as long as it */
const char *words_newest(const struct vb_sheet *s);
/* "9 to set, 7 to leave" */
const char *words_count(const struct vb_sheet *s, char *out, size_t size);

/* The sentences above and below the rows, one call each: what the numbers mean, and which
 * shims to fetch, to buy and to put away. */
typedef void words_say(void *arg, const char *text);
void words_notes(const struct vb_sheet *s, enum vb_length length, words_say *say,
                 void *arg);
void words_fits(const struct vb_sheet *s, words_say *say, void *arg);
void words_shims(const struct vb_sheet *s, enum vb_length length, words_say *say,
                 void *arg);

#endif
