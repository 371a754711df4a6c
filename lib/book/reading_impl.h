#ifndef VALVEBOOK_READING_IMPL_H
#define VALVEBOOK_READING_IMPL_H

#include <pthread.h>

#include "load_impl.h"
#include "valvebook/date.h"
#include "valvebook/quantity.h"

/* Columns of the table readings, in its order (tables.c). */
enum {
    R_ENGINE,
    R_DATE,
    R_METER,
    R_METER_UNIT,
    R_QUANTITY,
    R_AT,
    R_FOUND,
    R_LEFT,
    R_UNIT,
    R_U,
    R_TEMP,
    R_GAUGE,
    R_BY,
    R_NOTE,
    R_SOURCE,
    R_LINE,
};

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

#define KEY_MAX   512  // bytes of an engine, date, quantity and place, joined
#define VISIT_MAX 1024 // readings of one visit that are told apart in memory
#define FLUSHED   0xffff

/* An engine of the book, and its newest visit. */
struct engine_known {
    char *name;
    size_t n;
    const struct vb_family *family;
    struct swaps swaps;
    struct marks marks;       // figures of its events
    char newest[VB_DATE_MAX]; // date, "" if there was no visit
    int unknown;         // that visit has no figure: those before it must be looked at
    struct vb_mark last; // its newest figure, km -1 if there is none
    char meter_unit[8];
    int changed; // by this load: what was kept of it is stale
};

struct named_family {
    char *name;
    struct vb_family facts;
    struct named_family *next;
};

/* The thread that inserts. */
struct writer {
    struct vb_book *b;
    sqlite3_stmt *flush, *flush_visits, *top;
    struct incoming_now work; // valid while busy
    int busy, stop, running;
    enum vb_err err; // of the first batch that failed
    struct vb_msg msg;
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t wake, done;
};

/* The visit that the last row was about. */
struct visit_now {
    char cells[256]; // engine, date, meter, meter_unit as they stood
    size_t n;
    sqlite3_int64 id;
    int ok;
    char why[WHY_MAX], column[16]; // if not ok
    unsigned long long refused;    // rows, for that
    struct vb_msg newest;          // what there is to say of the last of them
    int withdrawn;                 // something of it was
    int fresh;                     // nothing of it was in the book before this load
    int made, kept;                // this row or one before it made it; brought a reading
    int late;                      // its meter differs from the book's, to be looked at
                                   // once a row of it is good
    char date[VB_DATE_MAX];
    double has, meter;
    const char *meter_unit;
    uint16_t seen[VISIT_MAX]; // places that this load brought
    size_t n_seen;
};

/* Origins used lately: fitters take turns within a sheet. */
#define ORIGINS 8
struct origin_now {
    char cells[256]; // source, gauge, by, note as they stood
    size_t n;
    sqlite3_int64 id;
};

/* The reading of the row. */
struct reading_now {
    struct incoming in;
    const struct vb_quantity *quantity;
    char at[VB_AT_MAX];
};

struct reader {
    struct loader *ld;
    struct feed *f;
    struct vb_book *b;
    struct vb_msg *m;
    struct writer writer;
    struct batch *batch, *spare;  // being filled; being written or idle
    struct engine_known *engines; // [n_engines] by name
    size_t n_engines;
    struct named_family *families;
    struct engine_known *engine; // of the row
    struct visit_now visit;
    struct reading_now now;
    struct origin_now origin[ORIGINS];
    size_t origin_next;
    sqlite3_int64 next_visit;
    uint16_t *valve_place; // [quantity][cyl][side][index], 0 while unknown
    uint16_t *in_batch;    // [PLACE_MAX] index + 1 in the batch of the visit's reading
    unsigned long long rows;
    int withdrawn; // some reading was once
    int corrected; // some meter was once: a figure that comes in may be an old one
    sqlite3_stmt *find_visit, *find_origin, *add_origin, *find_place, *add_place,
        *find_row, *update_row, *add_row;
};

/* reading.c: hand the batch on; and wait until the connection is ours */
enum vb_err reader_flush(struct reader *r);
enum vb_err reader_sync(struct reader *r);
/* writer.c */
enum vb_err writer_start(struct writer *w);
enum vb_err writer_give(struct writer *w, struct batch *b, struct vb_msg *m);
enum vb_err writer_wait(struct writer *w, struct vb_msg *m);
void writer_stop(struct writer *w);
/* engines.c */
enum vb_err engines_read(struct reader *r);
struct engine_known *engine_find(struct reader *r, struct vb_text name);
enum vb_err engine_refresh(struct reader *r, struct engine_known *en);
/* the same, its events too */
enum vb_err engine_reread(struct reader *r, struct engine_known *en);
/* a figure of its meter as it stands among the others */
void engine_mark(const struct engine_known *en, double day, double meter,
                 const char *unit, struct vb_mark *out);
/* what was kept of the engines that this load changed is stale */
enum vb_err engines_stale(struct reader *r);
void engines_free(struct reader *r);
/* visit.c: the meter of a row in the book's unit, NaN and "" if it is blank or at fault */
enum meter_fault { METER_GOOD, METER_NO_UNIT, METER_NO_NUMBER };
enum meter_fault meter_of_row(const struct feed *f, double *meter, const char **unit);
/* a figure that was corrected once is corrected as it comes in */
enum vb_err latest_meter(struct reader *r, const char *date, double *meter);
/* find or make the visit of the row; sets r->visit */
enum vb_err visit_of_row(struct reader *r);
/* a row of the visit is good: so is its meter, or the visit is refused */
enum vb_err visit_settle(struct reader *r);
/* refuse a row for its visit's sake */
enum vb_err visit_refuse(struct reader *r);
/* the rows of this visit are over: one of which every row was refused never was */
enum vb_err visit_leave(struct reader *r);
/* says how many rows of the visit were refused behind the first */
void visit_count(struct reader *r);
/* meet.c: the reading r->now, whose place in the book may be taken */
enum vb_err row_meet(struct reader *r);
/* the key of one cell of it in the history */
void reading_key(const struct reader *r, const char *column, char *out, size_t size);
/* withdraw_reading.c: was something of the engine's visit of this date withdrawn? */
enum vb_err visit_withdrawn(struct reader *r, const char *date, int *some);
/* the cells of r->now that were withdrawn are blanked; *gone if nothing is left */
enum vb_err leave_withdrawn(struct reader *r, int *gone);
/* r->now was given to be withdrawn */
enum vb_err row_withdraw(struct reader *r);
/* the smaller of two line numbers, of which -1 says nothing */
sqlite3_int64 line_of_two(sqlite3_int64 a, sqlite3_int64 b);
/* names.c: numbers that stand for names */
enum vb_err places_read(struct reader *r);
enum vb_err place_of(struct reader *r, const struct vb_quantity *q,
                     const struct vb_valve *v, const char *at, sqlite3_int64 *id);
enum vb_err origin_id(struct reader *r, const struct vb_text *part, sqlite3_int64 *id);
enum vb_err origin_of_row(struct reader *r, sqlite3_int64 *id);

#endif
