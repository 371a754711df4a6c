#ifndef VALVEBOOK_TIDY_IMPL_H
#define VALVEBOOK_TIDY_IMPL_H

#include <string.h>

#include "plain.h"
#include "valvebook/csv.h"
#include "valvebook/date.h"
#include "valvebook/number.h"
#include "valvebook/recipe.h"
#include "valvebook/tidy.h"

#define NO_COL ((size_t)-1)

/* slot - the cells that together say one value of one place. */
struct slot {
    size_t n, col[2]; // the same value once, or in two units
    int half[2];      // 0: the whole cell; 1, 2: what was found, or left, in "0.25/0.30"
    size_t go, nogo;
};

enum { SLOT_FOUND, SLOT_LEFT, SLOT_ROW, N_SLOTS };

/* place - what the columns say of one quantity at one valve. */
struct place {
    const struct vb_recipe_col *rc; // quantity and valve, as far as the recipe says
    struct slot slot[N_SLOTS];
};

/* plan - a recipe laid on the heading of one export. */
struct plan {
    const struct vb_recipe_col **rc; // [n_cols], NULL for a column without a heading
    const struct vb_unit **unit;     // [n_cols] that heading, units row or recipe say
    struct vb_centre *centre;        // [n_cols] likewise, of angles
    char **name;                     // [n_cols] heading as written
    char **norm;                     // [n_cols] heading squeezed
    struct vb_text *cell;            // [n_cols] a row to which cells were added
    struct vb_text *said;            // [n_cols] a row with words of the shop put in
    unsigned char *taught;           // [n_cols] 1: has such words; 2: in this row too
    size_t n_cols;
    size_t field[VB_MEANS_COUNT];
    struct place *place;
    size_t n_places;
};

/* value - one number, in the book's unit. */
struct value {
    int present;
    struct vb_dec dec;
    double half; // half of its last written digit, book's unit
    double u;    // standard uncertainty, 0 if not known
};

/* context - what a row says of all its readings. */
struct context {
    struct vb_text engine, gauge, by, note;
    char date[VB_DATE_MAX];
    char meter[VB_NUM_MAX];
    const char *meter_unit;
    char temp[VB_NUM_MAX];
    double u;
    enum vb_dim u_dim; // what kind of readings u is of
    struct value lift; // the checking lift that the recipe states
    int timed;         // the row gave timing, which needs that lift
    struct vb_valve valve;
    struct vb_text place; // as written, for what is not read at a valve
    char state;
    const struct vb_quantity *quantity;
    const struct vb_unit *unit;
};

/* A cell that was worked out last time need not be worked out again. Its column is part of
 * it: the same text may stand in for a blank cell, and then has no heading with a unit. */
struct memo {
    char key[40];
    size_t n, col;
    int set;
};

/* Cells in a row that seldom change, as they were written last; n is 0 as soon as one of
 * them is another. */
struct piece {
    char text[512];
    size_t n;
};

struct merged; // merged.c

#define SECTIONS_LABELS 2 // engine and date
#define SECTIONS_SAID   8
#define SECTIONS_VALUE  96

/* sections - what lines between the rows say against reading on; sections.c. */
struct sections {
    char said[SECTIONS_LABELS][SECTIONS_SAID]
             [SECTIONS_VALUE]; // by labels above the heading
    size_t n_said[SECTIONS_LABELS];
    unsigned long long line[SECTIONS_LABELS]; // of the first of them
    int same[SECTIONS_LABELS];                // one says what the recipe says
    unsigned long long ends; // line below which rows are refused; 0: none
    enum vb_means means;     // that it says; IGNORE: a heading
    char value[SECTIONS_VALUE];
};

struct vb_tidy {
    const struct vb_recipe *r;
    struct vb_out *out, *rejects;
    vb_tell *tell;
    void *arg;
    unsigned long long readings, refused;
    unsigned long long remarks; // in this export
    char *source;
    struct vb_csv *csv;
    struct plan plan;
    struct vb_row row;
    struct context cx;
    struct memo engine_memo, date_memo, meter_memo, meter_unit_memo, temp_memo;
    struct memo gauge_memo, by_memo, note_memo;
    struct merged *merged; // NULL: no cells are
    struct sections sections;
    struct plain_row plain;
    struct piece head, tail; // engine to meter_unit; gauge to source
    char why[512];           // reasons against this row so far
    int more;                // they have no room for all
    char why_column[64];     // of the first
    const char *file;
};

/* Against the row that is being read: note it, tell it. col may be NO_COL. */
void tidy_refuse(struct vb_tidy *t, size_t col, const char *fmt, ...)
    __attribute__((format(printf, 3, 4)));
/* Send the row to the rejects if anything was said against it. */
void tidy_settle(struct vb_tidy *t);

/* Behind the remarks, if this record, read with e, is one. */
enum vb_err tidy_past_remarks(struct vb_tidy *t, struct vb_row *row, enum vb_err e,
                              struct vb_msg *m);

/* The next record that is no remark. */
static inline enum vb_err
tidy_next(struct vb_tidy *t, struct vb_row *row, struct vb_msg *m)
{
    enum vb_err e = vb_csv_next(t->csv, row, m);
    if (t->r->remark[0])
        e = tidy_past_remarks(t, row, e, m);
    return e ? e : plain_cells(&t->plain, row);
}

/* plan.c */
enum vb_err plan_find(struct vb_tidy *t, struct vb_msg *m);
int plan_is_heading(const struct plan *p, const struct vb_row *row);
void plan_clear(struct plan *p);

/* The constant of a field; blank if there is none. */
static inline struct vb_text
cell_constant(const struct vb_tidy *t, enum vb_means means)
{
    const char *c = t->r->constant[means];
    return (struct vb_text){c, c ? strlen(c) : 0};
}

/* The cell of a field, or its constant (*col = NO_COL); blank if there is neither. */
static inline struct vb_text
cell_field(const struct vb_tidy *t, enum vb_means means, size_t *col)
{
    *col = t->plan.field[means];
    if (*col < t->row.n) {
        struct vb_text s = vb_text_trim(t->row.cell[*col]);
        if (s.n || !t->r->constant[means])
            return s;
        *col = NO_COL;
    }
    return cell_constant(t, means);
}

/* cell_bad - refuse a cell by what is wrong and what it holds; returns 0. */
int cell_bad(struct vb_tidy *t, size_t col, const char *what, struct vb_text s);

/* cell.c; these return 0 after they have refused the cell */
int cell_number(struct vb_tidy *t, size_t col, struct vb_text s,
                const struct vb_unit *unit, enum vb_dim dim, struct value *v);
int cell_one(struct vb_tidy *t, size_t col, const struct vb_quantity *q, char side,
             struct value *v);
int cell_slot(struct vb_tidy *t, const struct slot *s, const struct vb_quantity *q,
              char side, struct value *v);
int cell_context(struct vb_tidy *t);
/* cell_valve.c */
int cell_take_valve(struct vb_tidy *t);
int cell_is_silent(const struct vb_tidy *t, const struct place *p);
int cell_valve(struct vb_tidy *t, const struct place *p, const struct vb_quantity *q,
               char *at, char *side);

/* cell_blades.c: two columns, or two numbers in one cell */
int cell_pair(struct vb_tidy *t, const struct slot *s, const struct vb_quantity *q,
              char side, struct value *v);
int cell_blades(struct vb_tidy *t, size_t col, struct vb_text s,
                const struct vb_unit *unit, const struct vb_quantity *q, struct value *v);

/* What was found (half 1) or left (2) in a cell of both; a unit behind the second is that of both.
 * Where there is one number it was found. */
struct vb_text cell_half(const struct vb_tidy *t, struct vb_text s, int half,
                         const struct vb_unit **unit);

/* Which of two numbers in a cell (1, 2) lacks a unit or a dead centre that the other one has and
 * the column has not, as in "0.45 mm -> 18" in a column of thou or in "12 BTDC/10"; 0: neither. */
int cell_torn(const struct vb_tidy *t, struct vb_text s, const struct vb_quantity *q,
              const struct vb_unit *unit);

/* tidy.c */
void tidy_emit(struct vb_tidy *t, const struct vb_quantity *q, const char *at,
               const struct value *found, const struct value *left);

void tidy_lift(struct vb_tidy *t);

/* recipe_words.c: find the columns of the words; returns a word that has none. */
const char *words_bind(struct vb_tidy *t);
/* The column whose cells a bank stands before; NO_COL: nothing says banks, or no column can. */
size_t words_bank(const struct vb_tidy *t);
/* Put what they stand for into the row; 0 if it was refused. */
int words_put(struct vb_tidy *t);

/* merged.c; begin, fill, keep and end are for where cells are merged, the others do nothing
 * where none are */
enum vb_err merged_new(struct vb_tidy *t);
void merged_free(struct vb_tidy *t);
/* In another export nothing stands above. */
void merged_forget(struct vb_tidy *t);
/* A row was read, or a blank one, or a heading once more. */
void merged_begin(struct vb_tidy *t);
void merged_gap(struct vb_tidy *t);
/* Fill the blank cells of a row as wide as its heading; 0 if one must not be filled, or
 * if the row may be a remark. */
int merged_fill(struct vb_tidy *t);
/* The row was taken; it was not: what it says is not passed down, all of it if its cells
 * may stand in wrong columns. */
enum vb_err merged_keep(struct vb_tidy *t);
void merged_lose(struct vb_tidy *t, int all);
void merged_end(struct vb_tidy *t);
/* A remark: a row that was not taken, or, before the rows, nothing at all. */
void merged_pass(struct vb_tidy *t, const struct vb_row *row);

/* sections.c: note what a line above the heading says; 0 if the recipe says the same */
void sections_above(struct vb_tidy *t, const struct vb_row *row);
enum vb_err sections_agree(struct vb_tidy *t, struct vb_msg *m);
/* Look at a line that was refused, or is a remark, between the rows; refuse one below it. */
void sections_look(struct vb_tidy *t, const struct vb_row *row, int is_row);
void sections_refuse(struct vb_tidy *t);

/* order.c */
enum vb_err tidy_order(struct vb_tidy *t, struct vb_msg *m);

#endif
