#ifndef VALVEBOOK_LOAD_IMPL_H
#define VALVEBOOK_LOAD_IMPL_H

/* What comes in: tables and their rows, their history, what is withdrawn, what waits. */
#include "book_impl.h"

/* load.c */
struct feed {
    struct vb_csv *csv; // NULL: rows that stand in the book are looked at
    const struct table_def *def;
    size_t from[MAX_COLS]; // the file's column for each of the table's, or NO_CELL
    size_t n_cols;         // of the file
    struct vb_row row;
    unsigned long long passed; // rows that were withdrawn once and are passed over
};

struct loader {
    struct vb_book *b;
    struct vb_load *l;
    struct vb_msg *m;
    struct correction *pending; // pending.c
    int history_came;           // a history is in, and not yet settled
    int past_came;              // with rows that were not there
    int history_comes;          // there is a table history to be loaded still
    int merges;                 // there is one, or was
    unsigned long long passed;  // rows of the table that is being loaded
    int waits;                  // a row may wait for others that are still to come
    struct deferred *deferred, *deferred_last; // deferred.c
    size_t n_deferred;
};

/* A row that is refused: where it stood, and itself; of a reading that came over a pipe its
 * engine, and where it stood in the export. */
struct refused {
    const char *file;
    unsigned long long line;
    struct vb_text raw, engine, source, line_there;
};
/* into the rejects; what there is to say of it is left in m, to be told or not */
void load_reject(struct loader *ld, const struct refused *at, const char *column,
                 const char *why, struct vb_msg *m);
void load_refuse_at(struct loader *ld, const struct refused *at, const char *column,
                    const char *fmt, ...) __attribute__((format(printf, 4, 5)));

void load_refuse(struct loader *ld, const struct feed *f, const char *column,
                 const char *fmt, ...) __attribute__((format(printf, 4, 5)));
/* the cell of one of the table's columns; blank if the file has no such column */
static inline struct vb_text
feed_cell(const struct feed *f, size_t col)
{
    size_t i = f->from[col];
    return i == NO_CELL ? (struct vb_text){NULL, 0} : f->row.cell[i];
}
struct refused feed_at(const struct feed *f);
/* the next row that can be read; the others are refused. VB_EEND at the end */
enum vb_err load_next(struct loader *ld, struct feed *f);

/* small.c: tables of a few hundred rows.  reading.c: millions of rows */
enum vb_err small_load(struct loader *ld, struct feed *f);
enum vb_err reading_load(struct loader *ld, struct feed *f);
/* small.c: a row that has been checked goes into the book, or meets the one that is there;
 * stands is room for as many cells */
enum vb_err small_put(struct loader *ld, const struct feed *f, char cell[][MAX_CELL],
                      char stands[][MAX_CELL]);
/* deferred.c: a row that does not go with the book, to be looked at again by deferred_settle;
 * not so many that memory gives out */
int deferred_room(const struct loader *ld);
enum vb_err deferred_add(struct loader *ld, const struct feed *f, char cell[][MAX_CELL]);
enum vb_err deferred_settle(struct loader *ld);
void deferred_free(struct loader *ld);
/* rows.c: a new row, and a row no more */
enum vb_err small_insert(struct vb_book *b, const struct table_def *def,
                         char cell[][MAX_CELL], struct vb_msg *m);
enum vb_err small_remove(struct vb_book *b, const struct table_def *def,
                         char cell[][MAX_CELL], struct vb_msg *m);

/* withdraw.c: what the history says of a row that comes in (here = 0: of its key alone).
 * The other cells become what they became in it. */
enum fate { FATE_NONE, FATE_STANDS, FATE_CHANGED, FATE_WITHDRAWN };
enum vb_err small_fate(struct vb_book *b, const struct table_def *def,
                       char cell[][MAX_CELL], int here, enum fate *out, struct vb_msg *m);
/* a row that was given to be withdrawn; stands is room for as many cells */
enum vb_err withdraw_row(struct loader *ld, const struct feed *f, char cell[][MAX_CELL],
                         char stands[][MAX_CELL]);
/* a row comes in that was withdrawn: what it knows is kept */
enum vb_err withdrawn_arrives(struct loader *ld, const struct table_def *def,
                              char cell[][MAX_CELL]);
/* why: [WHY_MAX] a row is still needed, "" if it is not */
enum vb_err row_needed(struct vb_book *b, const struct table_def *def,
                       char cell[][MAX_CELL], char *why, struct vb_msg *m);
struct past;
/* take a row away; cell has all of it. seq of p: 0 to keep it in the history here */
enum vb_err row_take_away(struct loader *ld, const struct table_def *def,
                          char cell[][MAX_CELL], const struct refused *at,
                          const struct past *p);
/* does a query of one name give a row? */
enum vb_err row_is_there(struct vb_book *b, const char *sql, const char *name, int *yes,
                         struct vb_msg *m);
/* elsewhere.c: a row that was withdrawn here was corrected in another book, and stands again as
 * it was */
enum vb_err withdrawn_returns(struct loader *ld, const struct past *p);
/* a row was corrected: what its history knows is put into its blanks */
enum vb_err row_fill(struct loader *ld, const struct table_def *def, const char *key);
/* a row was taken in again: what the one that was withdrawn knew is put into its blanks */
enum vb_err row_rejoin(struct loader *ld, const struct table_def *def, const char *key);
/* do to this book what the history says was withdrawn, or taken in again */
enum vb_err withdraw_settle(struct loader *ld);
/* when all is loaded: rows that were taken in again know what any of them knew */
enum vb_err withdraw_rejoin(struct loader *ld);
/* withdraw_reading.c: the same for the cell of a reading with this key in the history */
enum vb_err reading_settle(struct vb_book *b, const char *key, struct vb_msg *m);
/* a reading of which nothing is left goes, and its visit if that was all; own: withdrawn
 * here, not elsewhere */
enum vb_err reading_tidy(struct vb_book *b, const char *key, int own, struct vb_msg *m);
/* one that was taken in again knows what any of its rows knew */
enum vb_err reading_rejoin(struct vb_book *b, const char *key, struct vb_msg *m);

/* check.c: what a row of a small table must satisfy; 0 after it has been refused */
int small_check(struct loader *ld, const struct feed *f, char cell[][MAX_CELL],
                enum vb_err *e);
/* past_check.c: a row of the history, likewise */
int past_check(struct loader *ld, const struct feed *f, char cell[][MAX_CELL],
               enum vb_err *e);
/* *why: [WHY_MAX] what keeps a row from being as the history would have it, or "" */
enum vb_err past_fits(struct loader *ld, const struct table_def *def,
                      char cell[][MAX_CELL], char *why);
/* once a history is in: families whose facts contradict each other are told */
enum vb_err past_agrees(struct loader *ld);
/* does a new fact go with the others of its family? *why: [WHY_MAX] "", or what is wrong with
 * *column */
enum vb_err family_fits(struct vb_book *b, char cell[][MAX_CELL], const char **column,
                        char *why, struct vb_msg *m);

/* strand.c: *why [WHY_MAX], "" where all readings and events keep their places: a row of
 * families or engines takes one from a reading or an event that had it */
enum vb_err row_strands(struct vb_book *b, const struct table_def *def,
                        char cell[][MAX_CELL], char *why, struct vb_msg *m);
/* the same if a fact is withdrawn */
enum vb_err fact_strands(struct vb_book *b, char cell[][MAX_CELL], char *why,
                         struct vb_msg *m);

#define JOINED_MAX (2 * MAX_CELL + MAX_COLS) // bytes of the cells of a row, joined

/* parts.c: how many cells of a row are not of its key */
size_t small_others(const struct table_def *def);
/* does a row say nothing that contradicts the other cells in part? */
int small_compatible(const struct table_def *def, char cell[][MAX_CELL],
                     char part[][MAX_CELL]);
/* what part says is put into the other cells; blanks say nothing */
void small_put_parts(const struct table_def *def, char part[][MAX_CELL],
                     char cell[][MAX_CELL]);
/* does a row say all that part says? */
int small_says_all(const struct table_def *def, char cell[][MAX_CELL],
                   char part[][MAX_CELL]);
/* what a row becomes by a correction; *does = 0 if it says something else than old. part:
 * room for 2 x MAX_COLS. VB_ESYNTAX if these are no cells of this table */
enum vb_err small_become(const struct table_def *def, const char *old, const char *now,
                         char part[][MAX_CELL], char cell[][MAX_CELL], int *does);

/* history.c: cells of a row are joined as one CSV record */
size_t cells_join(const char *const *cell, size_t n, char *out, size_t size);
/* VB_ESYNTAX if it is not one record of n cells. An empty text is one blank cell. */
enum vb_err cells_split(const char *joined, char cell[][MAX_CELL], size_t n);
enum vb_err history_has(struct vb_book *b, const char *table, const char *key,
                        const char *const *cell, const char *const *now, size_t n,
                        int *has, struct vb_msg *m);
enum vb_err history_add(struct vb_book *b, const char *table, const char *key,
                        const char *old, const char *now, struct vb_msg *m);
/* A row of the history. seq is its number among those of its key, 0: not known yet. */
#define PAST_KNOWN (-1.0) // for seq: what the history has already
struct past {
    const char *table, *key, *old, *now;
    double seq;
};
/* do two rows of the history under one number, there and p, contradict each other? */
enum vb_err past_contradicts(struct loader *ld, const struct past *there,
                             const struct past *p, int *yes);
/* does what p made of its row lead, by the history here, to what stands here? */
enum vb_err past_settled(struct loader *ld, const struct past *p, int *yes);
/* A row says p->now. Where the history leads away from that, it leads back to it. */
enum vb_err history_hold(struct vb_book *b, const struct past *p, struct vb_msg *m);
/* A row was corrected. Where the history led away from what it says now, since that had been
 * withdrawn or corrected once, it leads back to it. */
enum vb_err history_correct(struct vb_book *b, const struct past *p, struct vb_msg *m);
/* the engine whose meter a change concerns, as many bytes as a cell; "" if it is none */
enum vb_err history_meter(const struct past *p, char *engine);
/* what a row of another table would become; *does = 0 if nothing would. cell: room for
 * 3 x MAX_COLS */
enum vb_err history_becomes(struct vb_book *b, const struct past *p,
                            char cell[][MAX_CELL], int *does, struct vb_msg *m);
/* a correction: carry it out if the old value still stands; *done tells. Unchecked. */
enum vb_err history_apply(struct vb_book *b, const struct past *p, int *done,
                          struct vb_msg *m);
/* two books may have withdrawn one row of which one knew more: keep what either knew in
 * the newest such row of the key, of which there is one made if there is none */
enum vb_err history_widen(struct vb_book *b, const struct past *p, struct vb_msg *m);
/* was this withdrawn once? Cells as they stand there */
enum vb_err history_knows(struct vb_book *b, const struct past *p, int *yes,
                          struct vb_msg *m);
/* what was withdrawn last under a key, "" if nothing was */
enum vb_err history_last(struct vb_book *b, const char *table, const char *key, char *out,
                         size_t size, struct vb_msg *m);
/* the same for a row that comes in under a number that is there; *done = 0 if the two
 * contradict each other */
enum vb_err history_unite(struct vb_book *b, const struct past *there,
                          const struct past *p, int *done, struct vb_msg *m);
/* keep a row that another book has numbered */
enum vb_err history_insert(struct vb_book *b, const struct past *p, struct vb_msg *m);
/* what became of a cell, or of the cells of a row, that once said this; text is in and out.
 * since: by rows of the history behind one, of its table and key */
enum vb_err history_since(struct vb_book *b, const struct past *row, char *text,
                          size_t size, struct vb_msg *m);
enum vb_err history_latest(struct vb_book *b, const char *table, const char *key,
                           char *text, size_t size, struct vb_msg *m);
/* the same for all corrections of readings: an old value may have come in behind one */
enum vb_err history_replay(struct vb_book *b, struct vb_msg *m);

/* rows.c: canonical cells of the row with this key; *has = 0 if there is none */
enum vb_err small_get(struct vb_book *b, const struct table_def *def,
                      char cell[][MAX_CELL], int *has, struct vb_msg *m);
enum vb_err small_set(struct vb_book *b, const struct table_def *def,
                      char cell[][MAX_CELL], struct vb_msg *m);
/* the row with this key of the history, if there is one. cell: room for 2 x MAX_COLS.
 * VB_ESYNTAX if that is no key of this table */
enum vb_err small_by_key(struct vb_book *b, const struct table_def *def, const char *key,
                         char cell[][MAX_CELL], int *has, struct vb_msg *m);
/* the text of column i; 0 where SQLite had no room for it */
int small_read(sqlite3_stmt *s, int i, const struct column *c, char *out);
/* small.c: the canonical form of a cell. Returns what is wrong with it, or NULL. */
const char *small_cell(const struct column *c, struct vb_text t, char *out);
/* cells of a row of the wanted kind (key or not), joined */
size_t small_join(const struct table_def *def, char cell[][MAX_CELL], int key, char *out,
                  size_t size);
/*
 * meet.c: the cell that a key names, as text. A key is engine, date, quantity, at and the
 * column: found, left, u, temp_c, or meter, which belongs to the visit, so that quantity
 * and at are blank.
 */
#define N_VALUES   4
#define N_KEY      5
#define FROM_CELLS 7 // of a withdrawn reading: withdraw_reading.c
#define FROM_METER 2 // of them: a figure and its unit, "100 h"; once it had no unit
enum vb_err reading_get(struct vb_book *b, char key[][MAX_CELL], char *text,
                        struct vb_msg *m);
enum vb_err reading_set(struct vb_book *b, char key[][MAX_CELL], const char *text,
                        struct vb_msg *m);
enum vb_err reading_unset(struct vb_book *b, char key[][MAX_CELL], struct vb_msg *m);
extern const char *const reading_columns[N_VALUES];

/* pending.c: a change of a meter's figures is made between begin and end, which takes it
 * back and says why (WHY_MAX bytes, else "") if fewer figures go together than before */
enum vb_err meter_begin(struct vb_book *b, const char *engine,
                        struct meter_faults *before, struct vb_msg *m);
enum vb_err meter_end(struct vb_book *b, const char *engine,
                      const struct meter_faults *before, char *why, struct vb_msg *m);
/* small_insert, small_set or small_remove, the same way where it is an event's figure */
typedef enum vb_err row_write(struct vb_book *b, const struct table_def *def,
                              char cell[][MAX_CELL], struct vb_msg *m);
enum vb_err small_write(struct vb_book *b, const struct table_def *def,
                        char cell[][MAX_CELL], row_write *write, char *why,
                        struct vb_msg *m);
/* a correction that was taken back is tried again when all is loaded */
enum vb_err pending_add(struct loader *ld, const struct refused *at, const char *column,
                        const char *engine, const struct past *p);
/* does one of this row wait? */
int pending_waits(const struct loader *ld, const char *table, const char *key);
enum vb_err pending_settle(struct loader *ld);
void pending_free(struct loader *ld);

#endif
