#ifndef VALVEBOOK_DRAFT_H
#define VALVEBOOK_DRAFT_H

#include <stddef.h>

#include "valvebook/csv.h"
#include "valvebook/quantity.h"
#include "valvebook/recipe.h"
#include "valvebook/unit.h"

/*
 * Guessing a recipe: draft_shape.c looks at bytes and numbers, draft_words.c at the words
 * of one heading, draft_group.c at a row above it, draft_table.c for where the table begins,
 * draft_banks.c at words of banks, draft_columns.c at all columns together,
 * draft_cells.c at what headings leave open,
 * draft_place.c at valves and states, draft_units.c at units, draft_lift.c at
 * the lift of events, draft_layout.c at how rows
 * stand, and draft.c writes.
 */
#define DRAFT_BYTES (256 * 1024) // of the export that are looked at
#define DRAFT_ROWS  2000
#define DRAFT_COLS  1000
#define DRAFT_WHY   400
#define NO_ROW      ((size_t)-1)

/* draft_row - one record, copied. */
struct draft_row {
    struct vb_text *cell; // [n], one block with the bytes of the cells
    size_t n;
    unsigned long long line;
    size_t record; // records above it, unreadable ones included
    int total;
};

struct draft_sample {
    struct draft_row *row;
    size_t n, size;
};

struct draft_shape {
    const char *encoding, *delim_word;
    char delim, decimal, group;
    char why_encoding[DRAFT_WHY], why_delim[DRAFT_WHY];
    char why_decimal[DRAFT_WHY], why_group[DRAFT_WHY];
};

/* What the words of one heading speak of. */
enum {
    D_ENGINE = 1 << 0,
    D_VEHICLE = 1 << 1,
    D_DATE = 1 << 2,
    D_METER = 1 << 3,
    D_CYL = 1 << 4,
    D_VALVE = 1 << 5,
    D_PLACE = 1 << 6,
    D_SIDECOL = 1 << 7,
    D_SIDE = 1 << 8, // I, EX, Auslass ...
    D_STATECOL = 1 << 9,
    D_FOUND = 1 << 10,
    D_LEFT = 1 << 11,
    D_QUANTCOL = 1 << 12,
    D_QUANTITY = 1 << 13,
    D_VALUE = 1 << 14,
    D_UNIT = 1 << 15,
    D_TEMP = 1 << 16,
    D_U = 1 << 17,
    D_GAUGE = 1 << 18,
    D_BY = 1 << 19,
    D_NOTE = 1 << 20,
    D_GO = 1 << 21,
    D_OTHER = 1 << 22, // a limit, an average, a time of day
    D_IN = 1 << 23,    // "in": inlet or inch
    D_SOLL = 1 << 24,
    D_BEFORE_DC = 1 << 25,
    D_AFTER_DC = 1 << 26,
    D_NO = 1 << 27,
    D_DC = 1 << 28, // a dead centre
    D_LETTER_C = 1 << 29,
    D_LETTER_F = 1 << 30,
};
#define D_BANK (1U << 31) // a column of banks; the last bit, which no int has

/* draft_head - one heading, taken apart. */
struct draft_head {
    unsigned flags;
    char word[32]; // the word that said most
    const struct vb_quantity *quantity;
    const struct vb_unit *unit;
    char side;  // 'I', 'E'; shared by languages: 'e' for E, 'a' A, 'w' EV, 'v' AV
    char state; // 'f', 'l'
    enum vb_pair pair;
    size_t n_num;
    int num[2];
    char before[2]; // what stood before the number: 'C' cylinder, 'S' side, 0
    size_t unknown; // words that are in no list
    int lift, lobe, stop, check;
    int both, hot;  // found and left; read on a warm engine
    int doubt;      // nobody knows of which unit of length, as of "0.1 mm"
    char named[24]; // the lift at which an event is read, as the heading has it
};

/* draft_stats - what the cells of one column look like. */
struct draft_stats {
    size_t filled, numbers, fractions, dates, valves, parts, cyls, sides, states, units;
    size_t own_unit, auslass;
    size_t pairs, falling, arrows; // two numbers: 9/10, 10/9 or 9/-, 9 -> 10
    double sum;                    // of the magnitudes without a unit of their own
    size_t summed, below;          // of these, below 0
    struct vb_text odd_number;
    struct vb_text odd, odd_state; // the first cell that is no valve, no state
};

/* draft_col - what is guessed of one column. */
struct draft_col {
    struct vb_text head;
    size_t number; // from 1 where its heading cannot name it, else 0
    struct draft_head words;
    struct draft_stats stats;
    enum vb_means means;
    int strength;
    const struct vb_quantity *quantity;
    const struct vb_unit *unit;
    const struct vb_unit *row_unit; // as the units row has it
    struct vb_valve at;
    char state;
    enum vb_pair pair;
    const char *format;
    const char *bank; // word of a bank in its heading, NULL if there is none
    int silent;       // nothing in it: no row in the recipe
    char why[DRAFT_WHY];
};

struct draft_const {
    char value[96];
    char why[DRAFT_WHY];
};

struct draft {
    struct draft_shape shape;
    struct draft_sample sample;
    size_t heading, first; // rows; heading is NO_ROW where there is none
    int units_row, ordered;
    struct draft_col *col;
    size_t n_cols;
    struct vb_text *scratch; // [sample.n]
    struct draft_const constant[VB_MEANS_COUNT];
    int has[VB_MEANS_COUNT];                             // a column says so
    double agree;                                        // mm
    struct draft_const remark, short_rows, merged, lift; // blank: no such setting
};

/* draft_shape.c */
enum vb_err draft_shape(const char *raw, size_t n, int cut, struct draft *d);
void draft_sample_clear(struct draft_sample *s);
/* draft_number - the number a cell begins with, and what follows it; 0 if it is none. */
int draft_number(const struct draft_shape *s, struct vb_text t, double *x,
                 struct vb_text *rest);

/* draft_thousands - 1 if the decimal mark in a cell stands where one of thousands would, -1 if
 * it cannot be one, 0 if there is none. */
int draft_thousands(const struct draft_shape *s, struct vb_text t);

/* draft_date.c */
int draft_is_date(struct vb_text t);
/* draft_date_may_be - does some order read t as the day of an ISO date? */
int draft_date_may_be(struct vb_text t, const char *iso);
/* draft_date_order - the order that fits most of the cells, NULL if none fits any. */
const char *draft_date_order(const struct vb_text *cell, size_t n, char *why,
                             size_t size);

/* draft_words.c */
void draft_words(struct vb_text heading, struct draft_head *h);
/* does a valve open or close there? */
int draft_is_event(const struct vb_quantity *q);

/* draft_table.c: where the table begins and what is above and below it */
size_t draft_heading(const struct draft_sample *s, int *score);
int draft_is_data(const struct draft *d, size_t row);
void draft_totals(struct draft_sample *s);
void draft_units_row(struct draft *d);
void draft_preamble(struct draft *d);
size_t draft_skip(const struct draft *d);

/* draft_columns.c */
enum vb_err draft_columns(struct draft *d, struct vb_msg *m);
/* draft_say - append to the reason of a column. */
void draft_say(struct draft_col *c, const char *fmt, ...)
    __attribute__((format(printf, 2, 3)));
/* that cells are no numbers, and that they ("") or "their rows " will be refused */
void draft_say_words(struct draft_col *c, const char *what);

/* draft_group.c: what stands above several columns belongs to each of them */
void draft_groups(struct draft *d);

/* draft_banks.c: a word for a bank is no side and no state */
void draft_banks(struct draft *d);
/* A column of banks is needed where cylinders count from 1 in each of them. */
void draft_bank_column(struct draft *d);

/* draft_cells.c */
void draft_from_cells(struct draft *d);
/* draft_mean - another meaning and reason than the one so far. */
void draft_mean(struct draft_col *c, enum vb_means means, int strength, const char *why);

/* draft_place.c */
void draft_places(struct draft *d);
void draft_ignore(struct draft_col *c, const char *why);

/* draft_layout.c */
void draft_remarks(struct draft *d);
void draft_layout(struct draft *d);

/* draft_units.c */
void draft_units(struct draft *d);
/* draft_lift.c */
void draft_lift(struct draft *d);

#endif
