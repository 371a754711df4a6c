#ifndef VALVEBOOK_BOOK_IMPL_H
#define VALVEBOOK_BOOK_IMPL_H

#include <pthread.h>
#include <sqlite3.h>

#include "valvebook/book.h"
#include "valvebook/cam_place.h"
#include "valvebook/csv.h"
#include "valvebook/engine.h"
#include "valvebook/family.h"
#include "valvebook/meter.h"
#include "valvebook/number.h"

#define MAX_COLS 16
#define MAX_CELL 4096 // bytes of a whole row of a small table, cells joined
#define NO_CELL  ((size_t)-1)
#define BUSY_MS  60000 // how long another process is waited for

/* How many engines a change concerns. */
enum stale_scope { STALE_ENGINE, STALE_FAMILY, STALE_ALL, STALE_COUNT };

struct vb_book {
    sqlite3 *db;
    char *path;
    enum vb_book_mode mode;
    int made;                         // by this process: there was no file
    int older;                        // than this version: to be checked only
    int code;                         // SQLite's, of the last failure
    sqlite3_stmt *stale[STALE_COUNT]; // stale.c: made when first needed
    sqlite3_stmt *swaps;              // facts.c: likewise
};

/* schema.c */
enum vb_err schema_open(struct vb_book *b, enum vb_book_mode mode, struct vb_msg *m);
/* code, if not NULL, receives the SQLite code of what failed */
enum vb_err schema_upgrade(sqlite3 *db, const char *const *steps, int n, int *code);
/* an empty database becomes a book of today */
enum vb_err schema_make(sqlite3 *db);

/* book.c: a load has failed: take a book away that was made for it and is empty still */
void book_discard(struct vb_book *b);
/* after BEGIN: is the file still there that was opened? */
enum vb_err book_stands(struct vb_book *b, struct vb_msg *m);
/* A second connection, to read what the first reads, which has begun a transaction. It does
 * not wait: whoever writes may be waiting for the first. NULL if there is none to be had, or
 * the book has a write-ahead log: the two might see two states of it. */
struct vb_book *book_again(struct vb_book *b);
/* errors come with SQLite's own words in m */
enum vb_err db_fail(struct vb_book *b, struct vb_msg *m);
/* the same of a code that SQLite has forgotten since */
enum vb_err db_failed(struct vb_book *b, int code, struct vb_msg *m);
/* SQLite sees no harm in a number, but it is none that a book has */
enum vb_err db_damaged(struct vb_book *b, struct vb_msg *m);
enum vb_err db_exec(struct vb_book *b, const char *sql, struct vb_msg *m);
enum vb_err db_prepare(struct vb_book *b, const char *sql, sqlite3_stmt **s,
                       struct vb_msg *m);
/* one step and reset of a statement that gives no rows */
enum vb_err db_run(struct vb_book *b, sqlite3_stmt *s, struct vb_msg *m);
/* behind the rows of a statement, the last step of which gave rc: e, or why they ended too soon;
 * resets it */
enum vb_err db_ended(struct vb_book *b, sqlite3_stmt *s, int rc, enum vb_err e,
                     struct vb_msg *m);
/* Not copied, and so nothing that could fail: text stays until the statement is reset. */
void db_text(sqlite3_stmt *s, int i, const char *text);
/* A column: text, "" for NULL and where SQLite had no room for it, in which case the next
 * step of the statement fails; a number, NaN for NULL. */
const char *db_word(sqlite3_stmt *s, int i);
double db_number(sqlite3_stmt *s, int i);
/* Room for member n of the list whose pointer is at *list; 0 when out of memory. */
int list_room(void *list, size_t n, size_t *size, size_t member);

/* tables.c: what the small tables look like */
enum cell_kind { CELL_TEXT, CELL_NUMBER, CELL_DATE, CELL_BLADES };

struct column {
    const char *name;
    enum cell_kind kind;
    int key;    // part of what names a row
    int needed; // must not be blank
};

struct table_def {
    const char *name; // of the tidy table and in the database
    int rank;         // tables are loaded in this order
    size_t n_cols;
    struct column col[MAX_COLS];
    const char *order; // of a dump
};

const struct table_def *table_find(const char *name);
/* the table whose columns these are; NULL and a message if there is none */
const struct table_def *table_recognise(const struct vb_row *heading, size_t *from,
                                        struct vb_msg *m);

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
/* small.c: a new row, and a row no more */
enum vb_err small_insert(struct vb_book *b, const struct table_def *def,
                         char cell[][MAX_CELL], struct vb_msg *m);
enum vb_err small_remove(struct vb_book *b, const struct table_def *def,
                         char cell[][MAX_CELL], struct vb_msg *m);

/* withdraw.c: what the history says of a row that comes in (here = 0: of its key alone).
 * The other cells become what they became in it. */
enum fate { FATE_NONE, FATE_STANDS, FATE_CHANGED, FATE_WITHDRAWN };
enum vb_err small_fate(struct vb_book *b, const struct table_def *def,
                       char cell[][MAX_CELL], int here, enum fate *out, struct vb_msg *m);
/* the row with this key of the history, if there is one. cell: room for 2 x MAX_COLS.
 * VB_ESYNTAX if that is no key of this table */
enum vb_err small_by_key(struct vb_book *b, const struct table_def *def, const char *key,
                         char cell[][MAX_CELL], int *has, struct vb_msg *m);
/* a row that was given to be withdrawn; stands is room for as many cells */
enum vb_err withdraw_row(struct loader *ld, const struct feed *f, char cell[][MAX_CELL],
                         char stands[][MAX_CELL]);
/* a row comes in that was withdrawn: what it knows is kept */
enum vb_err withdrawn_arrives(struct loader *ld, const struct table_def *def,
                              char cell[][MAX_CELL]);
/* a row that was withdrawn here was corrected in another book, and stands again as it was */
struct past;
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

/* small.c: canonical cells of the row with this key; *has = 0 if there is none */
enum vb_err small_get(struct vb_book *b, const struct table_def *def,
                      char cell[][MAX_CELL], int *has, struct vb_msg *m);
enum vb_err small_set(struct vb_book *b, const struct table_def *def,
                      char cell[][MAX_CELL], struct vb_msg *m);
/* the text of column i; 0 where SQLite had no room for it */
int small_read(sqlite3_stmt *s, int i, const struct column *c, char *out);
/* the canonical form of a cell. Returns what is wrong with it, or NULL. */
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

/* scope.c: a condition of a row of engines, e before its columns ("e." or ""); other parameters
 * of the statement have names too. Its values; NULL for all. */
#define IN_SCOPE(e)                                                                      \
    "(:engine IS NULL OR " e "engine = :engine) AND (:family IS NULL OR " e              \
    "family = :family) AND (:site IS NULL OR " e "site = :site)"
void scope_bind(sqlite3_stmt *s, const struct vb_scope *scope);
/* VB_EUNKNOWN and m: no engine is meant */
enum vb_err scope_check(struct vb_book *b, const struct vb_scope *scope,
                        struct vb_msg *m);

/* facts.c */
struct swaps {
    struct vb_swap *swap;
    size_t n;
};
enum vb_err facts_family(struct vb_book *b, const char *family, struct vb_family *out,
                         struct vb_msg *m);
/* the same if a row of families said value; "": if it were not there */
enum vb_err facts_family_with(struct vb_book *b, char fact[][MAX_CELL], const char *value,
                              struct vb_family *out, struct vb_msg *m);
/* each family whose facts contradict each other, and each fact that says what another one says
 * already. key: [n] the family, or of that fact */
typedef void facts_tell(void *arg, const char *const *key, size_t n, const char *column,
                        const char *text);
enum vb_err facts_disagree(struct vb_book *b, facts_tell *tell, void *arg,
                           struct vb_msg *m);
/* the family of an engine. VB_EUNKNOWN and m: no such engine */
enum vb_err facts_engine(struct vb_book *b, const char *engine, char *family, size_t size,
                         struct vb_msg *m);
/* where an event happened: a valve or part of one, or a bank and side of cams */
void facts_place(const char *at, struct vb_event *ev);
/* where one cam works more than a side: what happened to it, or to its drive, happened to all of
 * that */
void facts_one_cam(const struct vb_family *f, const char *part, struct vb_event *ev);
/* is it one or more cams that an event names? */
int facts_of_cams(const char *event, const char *part, const char *at,
                  struct vb_cam_place *out);
/* has a family not what an event names? what: [LACKS_MAX] "valve '4E'" */
#define LACKS_MAX 64
int facts_lacks(const struct vb_family *f, const char *event, const char *part,
                const char *at, char *what);
enum vb_err facts_swaps(struct vb_book *b, const char *engine, struct swaps *s,
                        struct vb_msg *m);

/* marks.c: figures of a meter, of events in order of date */
struct marks {
    struct vb_mark *mark;
    size_t n;
};
enum vb_err facts_marks(struct vb_book *b, const char *engine, const struct swaps *sw,
                        struct marks *out, struct vb_msg *m);
/* how many figures of an engine's meter do not go with those before, and the first such
 * pair in words, "" for none */
#define WHY_MAX 224
struct meter_faults {
    size_t n;
    char why[WHY_MAX];
};
enum vb_err facts_meter(struct vb_book *b, const char *engine, struct meter_faults *out,
                        struct vb_msg *m);
void clash_text(enum vb_clash c, const struct vb_mark *a, const struct vb_mark *b,
                char *out, size_t size);

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

/* query.c: readings of engines, one at a time, within a transaction of the caller's */
struct engine_read {
    struct vb_engine e;
    size_t visits_size, events_size, lash_size, plan_size;
    char *name; // its own, NUL behind it
    size_t name_size;
};
struct query;
enum vb_err query_open(struct vb_book *b, const char *as_of, struct query **out,
                       struct vb_msg *m);
/* whose readings are meant; k must live as long */
enum vb_err query_name(struct engine_read *r, const char *name,
                       const struct vb_family_kept *k);
/* its plan alone, or all there is of it */
enum vb_err query_plan(struct query *q, struct engine_read *r);
enum vb_err query_read(struct query *q, struct engine_read *r);
void query_free(struct engine_read *r);
/* *out is valid until the next call; it borrows from u */
enum vb_err query_engine(struct query *q, const struct vb_unit_now *u,
                         const struct vb_engine **out);
void query_close(struct query *q);

/* relay.c: jobs on their way to a second thread and back, in order. The connection to the
 * book stays with the first; the second may have one of its own. Set work and job, the rest
 * zeros; relay_stop must end it. */
#define RELAY 4
struct relay {
    void (*work)(void *job);
    void *job[RELAY];
    size_t given, done, taken; // of the jobs so far
    int stop, running, alone;
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t more, ready;
};
/* the job that is given next; NULL where one must be taken before */
void *relay_room(struct relay *r);
void relay_give(struct relay *r);
/* the oldest that was given, when it is done; NULL: there is none. It is the caller's until
 * the next relay_room */
void *relay_take(struct relay *r);
/* the same without waiting: NULL too where it is not done */
void *relay_ready(struct relay *r);
void relay_stop(struct relay *r);

/*
 * stale.c: what was kept of engines (kept.c) is not to be used again. name is the engine
 * or the family; NULL for all. Whoever changes what vb_book_fleet reads calls this in the
 * same transaction.
 */
enum vb_err stale(struct vb_book *b, enum stale_scope scope, const char *name,
                  struct vb_msg *m);
/* the same after a row of a small table was added or changed */
enum vb_err stale_row(struct vb_book *b, const struct table_def *def,
                      char cell[][MAX_CELL], struct vb_msg *m);
/* is anything kept that could become stale? */
enum vb_err stale_possible(struct vb_book *b, int *possible, struct vb_msg *m);

/* gauges.c: how well a gauge reads, for readings without an uncertainty of their own */
struct gauges;
/* *out = NULL where no gauge states anything; free with gauges_free */
enum vb_err gauges_read(struct vb_book *b, struct gauges **out, struct vb_msg *m);
/* mm or deg, of the gauge of an origin; NaN if nothing is stated for readings of dim */
enum vb_err gauges_u(struct gauges *g, sqlite3_int64 origin, enum vb_dim dim, double *u,
                     struct vb_msg *m);
void gauges_free(struct gauges *g);

/* The rowid of a reading is visit * 65536 + place. */
#define PLACE_MAX 65536
#define VISIT_TOP (INT64_MAX >> 16)

/* lash.c: readings of lash, within a transaction of the caller's. gauges are the caller's and
 * must live as long; NULL where none states anything. */
struct lash_reader;
enum vb_err lash_open(struct vb_book *b, struct gauges *gauges, struct lash_reader **out,
                      struct vb_msg *m);
/* those of an engine, by valve and visit. visit: [n] numbers of its visits by day, of which a
 * reading's own is the index; *lash: [*size], grows. */
enum vb_err lash_read(struct lash_reader *r, const sqlite3_int64 *visit, size_t n,
                      struct vb_lash **lash, size_t *n_lash, size_t *size,
                      struct vb_msg *m);
void lash_close(struct lash_reader *r);

/* afresh.c: engines of which nothing is kept. They are computed into the temporary table
 * `computed`, whose columns are those of fresh; newest is NULL where something of the engine
 * is later than as_of. Within a transaction of the caller's. */
struct afresh;
struct bytes;
enum vb_err afresh_open(struct vb_book *b, const char *as_of, struct query *q,
                        struct afresh **out, struct vb_msg *m);
/* compute one; it may take until afresh_wait */
enum vb_err afresh_give(struct afresh *a, const char *name,
                        const struct vb_family_kept *k);
enum vb_err afresh_wait(struct afresh *a);
/* the same at once; *sums and *kept are valid until the next call */
enum vb_err afresh_now(struct afresh *a, const char *name, const struct vb_family_kept *k,
                       const struct bytes **sums, const struct bytes **kept);
/* keep what was computed in fresh, if that can be done at once; ends the transaction */
void afresh_keep(struct afresh *a);
void afresh_close(struct afresh *a);

/* blocks.c: vb_blocks_open; judged = 0: nobody looks at the states, and there are none */
enum vb_err blocks_open(struct vb_book *b, const struct vb_scope *scope,
                        const char *as_of, int judged, struct vb_blocks **out,
                        struct vb_msg *m);

/* kept.c: what was computed of an engine, as bytes */
#define KEPT_VERSION                                                                     \
    VB_VERSION "/7" // other methods, or members (the number), compute afresh
/* of a fleet of one engine: what pooling needs of it, and all the rest */
enum vb_err kept_put(const struct vb_fleet *f, struct bytes *sums, struct bytes *kept);
/* are they still what was put? */
int kept_whole(const void *bytes, size_t n);
/* Count the lives of an engine of this family; bytes are whole. */
enum vb_err kept_count(const void *bytes, size_t n, const char *family,
                       struct vb_fleet *f);
/* Add an engine (name, family and plan in e). */
enum vb_err kept_take(const void *bytes, size_t n, const struct vb_engine *e,
                      double as_of, struct vb_fleet *f);

/* kept_near.c: do two whole pieces say the same, but for the last digits? */
int kept_near_sums(const struct bytes *a, const struct bytes *b);
int kept_near(const struct bytes *a, const struct bytes *b);

/* members.c: members of a struct as bytes */
enum member_kind { AS_INT, AS_LONG, AS_SIZE, AS_REAL, AS_TEXT };
struct member {
    const char *name;
    enum member_kind kind;
    size_t at, size; // in the struct
};
extern const struct member sum_members[], unit_members[], life_members[];
extern const size_t n_sum_members, n_unit_members, n_life_members;
/* bytes - a growing run of them; free at with free().  view - some that are read. */
struct bytes {
    unsigned char *at;
    size_t n, size;
    int failed; // out of memory
};
struct view {
    const unsigned char *at, *end;
};
/* the get functions return 0 where the bytes end too soon or do not fit */
#define REAL_BYTES 8
enum vb_err bytes_put_all(struct bytes *to, const void *bytes, size_t n);
void bytes_put(struct bytes *to, uint64_t v);
int bytes_get(struct view *from, uint64_t *v);
void bytes_put_real(struct bytes *to, double x);
int bytes_get_reals(struct view *from, double *x, size_t n);
/* that they are still what they were; no defence against anybody */
uint64_t bytes_sum(const unsigned char *at, size_t n);
void bytes_put_sum(struct bytes *to);
void members_put(const struct member *m, size_t n, const void *of, struct bytes *to);
int members_get(const struct member *m, size_t n, struct view *from, void *of);

/* incoming.c: rows on their way into the tables visits and reading; many at a time, since
 * each batch wakes a thread up */
#define BATCH 8192
struct incoming {
    sqlite3_int64 visit, place, origin, line; // line -1: blank
    double v[4];                              // found, left, u, temp_c; NaN: blank
};
struct incoming_visit {
    sqlite3_int64 visit;
    double meter;           // NaN: blank
    const char *meter_unit; // static
    const char *engine;     // lives as long as the load
    size_t engine_n;
    char date[17];
};
struct batch {
    struct incoming row[BATCH];
    size_t n;
    struct incoming_visit visit[BATCH];
    size_t n_visits;
};
/* What is to be inserted; set before each statement. */
struct incoming_now {
    const struct batch *batch;
    sqlite3_int64 top; // greatest number of a reading in the book
};
int incoming_register(sqlite3 *db, const struct incoming_now *now);
/* Has the last reading, which was just inserted, the number it was to have? */
int incoming_in(sqlite3 *db, const struct batch *b);

#endif
