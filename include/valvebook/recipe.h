#ifndef VALVEBOOK_RECIPE_H
#define VALVEBOOK_RECIPE_H

#include <stddef.h>

#include "valvebook/csv.h"
#include "valvebook/err.h"
#include "valvebook/quantity.h"
#include "valvebook/unit.h"
#include "valvebook/valve.h"

/* What a column, or a constant, means. READING covers every quantity. */
enum vb_means {
    VB_MEANS_IGNORE,
    VB_MEANS_ENGINE,
    VB_MEANS_DATE,
    VB_MEANS_METER,
    VB_MEANS_METER_UNIT,
    VB_MEANS_QUANTITY,
    VB_MEANS_VALVE,
    VB_MEANS_BANK,
    VB_MEANS_CYLINDER,
    VB_MEANS_SIDE,
    VB_MEANS_INDEX,
    VB_MEANS_STATE,
    VB_MEANS_UNIT,
    VB_MEANS_TEMP,
    VB_MEANS_U,
    VB_MEANS_GAUGE,
    VB_MEANS_BY,
    VB_MEANS_NOTE,
    VB_MEANS_READING,
    VB_MEANS_COUNT,
};

/* BOTH: two blades in one cell, 0.25/0.30; STATES: as found and as left in one */
enum vb_pair { VB_PAIR_NONE, VB_PAIR_GO, VB_PAIR_NOGO, VB_PAIR_BOTH, VB_PAIR_STATES };

/* vb_recipe_col - one column of the export, by its heading or its number. */
struct vb_recipe_col {
    char *name;    // heading, blanks squeezed, or "" when number is set
    size_t number; // from 1; 0 when known by heading
    enum vb_means means;
    const struct vb_quantity *quantity; // NULL: the row says
    const struct vb_unit *unit;         // NULL: cell, row or heading says
    struct vb_centre centre;            // of angles; sign 0: cell or heading says
    struct vb_valve at;                 // parts that the row does not say
    int has_at;
    char place[VB_AT_MAX]; // `at` of quantities that are not read at a valve
    char state;            // 'f' found, 'l' left, 0: the row says, found if it does not
    enum vb_pair pair;
    char *format; // order of a date
};

/* vb_state_word - a word of the shop for found or left. */
struct vb_state_word {
    char *word;
    char state;
};

/* vb_cell_word - a word in the cells of a column, by its heading or its number, and the cell that
 * it stands for. */
struct vb_cell_word {
    char *column;
    size_t number;
    char *word, *as;
};

#define VB_ORDER_MAX  128
#define VB_REMARK_MAX 9
#define VB_COLS_MAX   2048 // of a recipe, and of the export that it reads

/* vb_recipe - how one kind of export is to be read. */
struct vb_recipe {
    struct vb_recipe_col *col;
    size_t n_cols;
    struct vb_state_word *word;
    size_t n_words;
    struct vb_cell_word *cell_word;
    size_t n_cell_words;
    char **totals; // rows whose first filled cell is one of these are passed over
    size_t n_totals;
    char *constant[VB_MEANS_COUNT];
    unsigned long stated;       // bit by meaning: the command line states the constant
    char remark[VB_REMARK_MAX]; // lines that begin so are passed over; "": none are
    unsigned long merged;       // bit by meaning: a blank cell takes what stands above it
    char *checking_lift;        // with its unit; NULL: readings say it
    char *encoding;
    char delim, decimal, group;
    int has_skip;
    unsigned long long skip;
    int heading;    // 0: bare columns
    int units_row;  // 1: the row under the heading says the units
    int short_rows; // 1: cells missing at the end of a row are blank
    double agree;   // mm by which a value given twice may differ beyond rounding
    struct vb_valve order[VB_ORDER_MAX];
    size_t n_order;
    char passes[2]; // 'f', 'l'
    size_t n_passes;
};

/*
 * vb_recipe_read - read a recipe: CSV with the columns column, means, unit, at, state,
 * format, value and, if anybody wrote one, why.
 *   in    stream, closed by this call in every case
 *   out   takes the recipe; free with vb_recipe_free
 * Errors: VB_ESYNTAX  a row that says nothing sensible; m names line and column
 *         VB_EIO, VB_EMEM
 */
enum vb_err vb_recipe_read(struct vb_input *in, struct vb_recipe **out, struct vb_msg *m);

/* vb_recipe_set - one setting or constant, as on the command line, in UTF-8. */
enum vb_err vb_recipe_set(struct vb_recipe *r, const char *name, const char *value,
                          struct vb_msg *m);

void vb_recipe_free(struct vb_recipe *r);

/* vb_means_name - the word for a meaning in a recipe. */
const char *vb_means_name(enum vb_means m);

/* vb_state_find - 'f', 'l', or 0 for a word; the recipe's words first, then common ones.
 */
char vb_state_find(const struct vb_recipe *r, struct vb_text word);

/* vb_heading_norm - lower case, blanks and line ends squeezed to one blank:
 * out [size], cut to fit; returns the length. */
size_t vb_heading_norm(struct vb_text t, char *out, size_t size);

/* vb_heading_unit - the unit in brackets or behind the last blank of a heading
 * ("EX found [mm]", "lash (thou)", "Temp °C"), NULL if there is none, or in doubt. */
const struct vb_unit *vb_heading_unit(struct vb_text heading);

/* vb_heading_doubt - does a heading name a part or a multiple of a unit of length that is none of
 * the book's, or two such units: "0.1 mm", "mm x 100", "tenths of mm", "thou/mm"? */
int vb_heading_doubt(struct vb_text heading);

/* vb_heading_tail - where a unit of several words or of a fraction begins at the end of a heading
 * ("1/100 mm", "cam deg"); its length if there is none, and *unit is undefined then. */
size_t vb_heading_tail(struct vb_text heading, const struct vb_unit **unit);

/* vb_heading_lift - the lift that the heading of an event names: "0.05 mm" of "IVO @ 0.05 mm"; no
 * bytes if there is none. */
struct vb_text vb_heading_lift(struct vb_text heading);

/* vb_heading_centre - the dead centre that the angles below a heading count from, in brackets or
 * at its end: "IVO (BTDC)", "IVC deg ABDC". Unclear where one is named in another way, as in
 * "IVO (- BTDC)", or two are; before one, numbers have to be without a minus. */
struct vb_centre vb_heading_centre(struct vb_text heading);

#endif
