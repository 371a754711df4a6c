#ifndef VALVEBOOK_AUDIT_IMPL_H
#define VALVEBOOK_AUDIT_IMPL_H

#include "load_impl.h"
#include "valvebook/book_check.h"

/* Tables of the database, a bit each: in this order they are looked at. */
enum audit_table {
    A_FAMILIES,
    A_ENGINES,
    A_EVENTS,
    A_GAUGES,
    A_PLAN,
    A_LOBES,
    A_SHIMS,
    A_TRIALS,
    A_HISTORY,
    A_VISITS,
    A_ORIGINS,
    A_PLACES,
    A_READING,
    A_ALERTS,
    A_TOLD,
    A_FRESH,
    A_TABLES
};
#define BIT(table) (1U << (table))
#define ALL_TABLES (BIT(A_TABLES) - 1)
extern const char *const audit_tables[A_TABLES];

#define KINDS    192 // a kind of finding is a table and a column
#define KEY_TEXT (2 * MAX_CELL + MAX_COLS)

struct audit {
    struct vb_book *b;
    struct vb_check *c;
    struct vb_msg *m;
    unsigned damaged; // tables
    unsigned seen;    // whose rows were counted
    unsigned skipped; // looks that need one of them
    unsigned long long rows[A_TABLES];
    struct audit_kind {
        char table[32], column[64];
        unsigned long long n;
    } kind[KINDS];
    size_t n_kinds;
};

/* audit.c: a finding. key names a row as the history does; "" for none */
void audit_tell(struct audit *a, const char *table, const char *key, const char *column,
                const char *fmt, ...) __attribute__((format(printf, 5, 6)));
/* run each row of a statement that takes no parameters; it is finalized */
typedef enum vb_err audit_row(struct audit *a, void *arg, sqlite3_stmt *row);
enum vb_err audit_each(struct audit *a, const char *sql, audit_row *each, void *arg);
/* is this a date as the book writes them? Tells if not, or if it is later than as_of */
void audit_date(struct audit *a, const char *table, const char *key, const char *column,
                const char *date);

/* audit_file.c: pages, indices and types.  audit_schema.c: the tables themselves */
enum vb_err audit_file(struct audit *a, enum audit_table table);
enum vb_err audit_schema(struct audit *a, enum audit_table table);
/* audit_words.c: what SQLite's integrity_check says of a table, in plain words. last: the page
 * that was told last, in and out */
void audit_words(struct audit *a, const char *table, const char *line, int *last);
/* audit_small.c: one of the tables before the visits */
enum vb_err audit_small(struct audit *a, enum audit_table table);
enum vb_err audit_families(struct audit *a, enum audit_table table);
/* audit_readings.c: visits, places and readings */
enum vb_err audit_places(struct audit *a, enum audit_table table);
enum vb_err audit_readings(struct audit *a, enum audit_table table);
/* audit_engines.c: meters, and what belongs to an engine.  audit_past.c: the history */
enum vb_err audit_meters(struct audit *a, enum audit_table table);
enum vb_err audit_alerts(struct audit *a, enum audit_table table);
enum vb_err audit_past(struct audit *a, enum audit_table table);
/* audit_kept.c: what lists keep for themselves, against the readings */
enum vb_err audit_kept(struct audit *a, enum audit_table table);

#endif
