#ifndef VALVEBOOK_BOOK_IMPL_H
#define VALVEBOOK_BOOK_IMPL_H

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

/* fleet.c: vb_book_fleet, and what else is asked of the same state of the book; also: NULL */
enum vb_err fleet_and(struct vb_book *b, const struct vb_scope *scope, const char *as_of,
                      enum vb_err (*also)(void *arg), void *arg, struct vb_fleet *out,
                      struct vb_msg *m);

/* blocks.c: vb_blocks_open; judged = 0: nobody looks at the states, and there are none */
enum vb_err blocks_open(struct vb_book *b, const struct vb_scope *scope,
                        const char *as_of, int judged, struct vb_blocks **out,
                        struct vb_msg *m);

#endif
