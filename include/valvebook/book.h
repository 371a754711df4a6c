#ifndef VALVEBOOK_BOOK_H
#define VALVEBOOK_BOOK_H

#include <stddef.h>

#include "valvebook/cams.h"
#include "valvebook/err.h"
#include "valvebook/fleet.h"
#include "valvebook/out.h"
#include "valvebook/setting.h"
#include "valvebook/tidy.h"

/*
 * vb_book - one SQLite file that keeps every reading. Loading is one transaction: a
 * process that dies in the middle leaves the book as it was.
 */
struct vb_book;

enum vb_book_mode {
    VB_BOOK_READ,   // it must exist
    VB_BOOK_WRITE,  // made if it is not there, brought up to this version's schema
    VB_BOOK_UPDATE, // the same, but it must exist
    VB_BOOK_CHECK,  // as to read, but it may be of an older version
};

/*
 * vb_book_open - open a book; free with vb_book_close.
 * Errors: VB_EIO       no such file
 *         VB_EUNKNOWN  the file is no book, or was written by a newer version
 *         VB_EDB       SQLite says no (m has its words)
 *         VB_EMEM
 */
enum vb_err vb_book_open(const char *path, enum vb_book_mode mode, struct vb_book **out,
                         struct vb_msg *m);

/* vb_book_give_up - before nothing is loaded after all: a book that vb_book_open has made goes. */
void vb_book_give_up(struct vb_book *b);

/* vb_book_close - close and free; NULL is allowed. Errors: VB_EDB. */
enum vb_err vb_book_close(struct vb_book *b, struct vb_msg *m);

/*
 * vb_book_clock - can this be today? A clock that lost its time says a day on which the book
 * had not seen what it has: two visits or more that are later than the day after.
 * Errors: VB_ECONFLICT, with words in m, if it cannot;  VB_EDB
 */
enum vb_err vb_book_clock(struct vb_book *b, const char *today, struct vb_msg *m);

/*
 * vb_load - how tables are to be loaded.
 *   as_of     YYYY-MM-DD; a row dated later is refused
 *   correct   a differing value replaces the old one, which goes to the history
 *   withdraw  the rows are taken out of the book, and go to the history, instead
 *   no_end    readings need no end row
 *   rejects   receives refused rows whole; NULL: none
 *   tell      is called for every refused row, and, when all is loaded, for each table of
 *             which rows are passed over since they were withdrawn once
 *   refused   out: how many rows were refused
 */
struct vb_load {
    const char *as_of;
    int correct, withdraw, no_end;
    struct vb_out *rejects;
    vb_tell *tell;
    void *arg;
    unsigned long long refused;
};

/*
 * vb_book_load - load tables, each recognised by its heading, all in one transaction and
 * in the order in which they depend on each other, whatever the order of the paths. path,
 * n   [n] file names, "-" for standard input; n >= 1 The same row twice is one row. A row
 * that says something else under the same key is refused by name unless correct is set.
 * Errors: VB_EIO, VB_ESYNTAX (no such table, or a missing or wrong end row), VB_EDB,
 * VB_EMEM; nothing is kept then
 */
enum vb_err vb_book_load(struct vb_book *b, struct vb_load *l, char *const *path,
                         size_t n, struct vb_msg *m);

/*
 * vb_book_dump - write a table in its canonical order.
 * Errors: VB_EUNKNOWN  no such table;  VB_EDB
 */
enum vb_err vb_book_dump(struct vb_book *b, const char *table, struct vb_out *out,
                         struct vb_msg *m);

/*
 * vb_scope - which engines are meant: those that are all that is stated.
 *   engine, family, site   NULL: any; a site of "" is that of engines that have none
 */
struct vb_scope {
    const char *engine, *family, *site;
};

/*
 * vb_book_fleet - compute what the book knows of its engines.
 *   scope    whose; NULL for all
 *   as_of    YYYY-MM-DD; nothing later is looked at
 *   out      pooled; free with vb_fleet_clear. Scatter is pooled over all engines of a
 *            family even where only one engine, or those of a site, are wanted.
 * What was computed is kept in the book, and taken from there as long as nothing of its
 * engine, its family or any gauge has changed; the result is the same to the last bit. It
 * is written only if that can be done at once: a book that cannot be written or is locked
 * is read all the same.
 * Errors: VB_EUNKNOWN  no engine is meant;  VB_EDB, VB_EMEM
 */
enum vb_err vb_book_fleet(struct vb_book *b, const struct vb_scope *scope,
                          const char *as_of, struct vb_fleet *out, struct vb_msg *m);

/*
 * vb_blocks - the same a few engines at a time, in order of their names, with what is
 * thought of each life, in the memory of a few engines (and 16 bytes a life).
 *   fleet   units and lives of the block; groups and families are those of the whole
 *   state   [fleet.lives.n]
 * vb_blocks_open - arguments and errors as vb_book_fleet; as_of, m and what scope names must
 *     live until the close.
 *     One state of the book is read from here to the close, and a load that ends meanwhile
 *     waits: whoever prints prints behind the close.
 * vb_blocks_next - the next block, good until the next call; NULL behind the last.
 * vb_blocks_whole - groups and families.
 * vb_blocks_close - keep what was computed, and end; NULL is allowed.
 */
struct vb_block {
    struct vb_fleet fleet;
    struct vb_state *state;
    size_t state_size;
};
struct vb_blocks;
enum vb_err vb_blocks_open(struct vb_book *b, const struct vb_scope *scope,
                           const char *as_of, struct vb_blocks **out, struct vb_msg *m);
enum vb_err vb_blocks_next(struct vb_blocks *s, struct vb_block **out);
struct vb_fleet *vb_blocks_whole(struct vb_blocks *s);
void vb_blocks_close(struct vb_blocks *s);

/*
 * vb_book_setting - one engine, as vb_book_fleet has it, and its lash and shims at every visit,
 * by one state of the book.
 *   as_of   YYYY-MM-DD; nothing later is looked at
 *   fleet   free with vb_fleet_clear
 *   out     free out->r with free(); empty where nothing was read
 * A reading without an uncertainty has that of its gauge.
 * Errors: VB_EUNKNOWN  no such engine;  VB_EDB, VB_EMEM (out untouched, fleet empty)
 */
enum vb_err vb_book_setting(struct vb_book *b, const char *engine, const char *as_of,
                            struct vb_fleet *fleet, struct vb_set_readings *out,
                            struct vb_msg *m);

/*
 * vb_book_cams - work out what the book knows of its engines' cams.
 *   scope    whose; NULL for all
 *   as_of    YYYY-MM-DD; nothing later is looked at
 *   out      in order of engine; free with vb_cam_list_clear
 * Between vb_blocks_open and vb_blocks_close the state of the book is that of the blocks.
 * Errors: VB_EUNKNOWN  no engine is meant;  VB_EDB, VB_EMEM, VB_EDOM
 */
enum vb_err vb_book_cams(struct vb_book *b, const struct vb_scope *scope,
                         const char *as_of, const struct vb_cam_wish *w,
                         struct vb_cam_list *out, struct vb_msg *m);

/* Receives an engine; whatever is not VB_OK ends the reading and is handed on. */
typedef enum vb_err vb_book_take(void *arg, size_t unit, const struct vb_engine *e);

/*
 * vb_book_engines - hand out engines with all their readings, one at a time.
 *   f         what vb_book_fleet made of the book
 *   unit, n   [n] which of f->unit, in the order wanted
 *   as_of     as it was for vb_book_fleet
 *   take      is called for each; the engine is valid during the call only
 * One state of the book is read, but it may be a later one than f has: whoever needs both
 * compares.
 * Errors: VB_EDB, VB_EMEM, and what take returned
 * Cost: the memory of one engine.
 */
enum vb_err vb_book_engines(struct vb_book *b, const struct vb_fleet *f,
                            const size_t *unit, size_t n, const char *as_of,
                            vb_book_take *take, void *arg, struct vb_msg *m);

#endif
