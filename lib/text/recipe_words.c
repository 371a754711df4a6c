/*
 * Words of the shop: what a cell says that is neither a number nor a name of the book. "B1" is
 * cylinder 5, "rear exh" is E2, "cold" is 20 Cel, and "ok" no reading, or one between two blades.
 */
#include <stdlib.h>
#include <string.h>

#include "recipe_impl.h"
#include "tidy_impl.h"

#define WORD_MAX 80 // bytes of a word

enum vb_err
recipe_state_word(struct vb_recipe *r, char state, struct vb_text word)
{
    struct vb_state_word *p = realloc(r->word, (r->n_words + 1) * sizeof *p);
    if (!p)
        return VB_EMEM;
    r->word = p;
    if (!(p[r->n_words].word = recipe_copy(word)))
        return VB_EMEM;
    p[r->n_words++].state = state;
    return VB_OK;
}

/* Can such a column have cells that say this part of a valve? */
static int
part_fits(enum vb_means means, struct vb_text at)
{
    struct vb_valve v;
    if (vb_valve_part(at.s, at.n, &v))
        return 0;
    return means == VB_MEANS_CYLINDER ? v.cyl && !v.side
           : means == VB_MEANS_SIDE   ? v.side && !v.cyl
                                      : v.cyl || v.side;
}

/* What a word stands for; no text where it cannot stand for anything. */
static struct vb_text
stands_for(enum vb_means means, struct vb_text at, struct vb_text format)
{
    static const struct vb_text nothing = {NULL, 0}, missing = {"-", 1};
    switch (means) {
    case VB_MEANS_VALVE:
    case VB_MEANS_CYLINDER:
    case VB_MEANS_SIDE: return !format.n && part_fits(means, at) ? at : nothing;
    case VB_MEANS_TEMP:
    case VB_MEANS_METER:
    case VB_MEANS_READING: return at.n ? nothing : format.n ? format : missing;
    default: return nothing;
    }
}

static int
is_number(struct vb_text t)
{
    struct vb_dec d;
    size_t point = 0, comma = 0;
    int bad = vb_dec_prefix(t.s, t.n, '.', 0, &d, &point) ||
              vb_dec_prefix(t.s, t.n, ',', 0, &d, &comma);
    return !bad && (point == t.n || comma == t.n);
}

/* Letter case and runs of blanks make no other word. */
static size_t
norm_of(struct vb_text t, char *out, size_t size)
{
    return t.n < size ? vb_heading_norm(t, out, size) : 0;
}

enum vb_err
recipe_cell_word(struct vb_recipe *r, const struct vb_recipe_col *c, struct vb_text word,
                 struct vb_text at, struct vb_text format, struct vb_msg *m)
{
    struct vb_text as = stands_for(c->means, at, format);
    char norm[WORD_MAX];
    size_t n = norm_of(word, norm, sizeof norm);
    if (!n)
        return recipe_say(m, "too long a word:", word);
    if (is_number(word) && !at.n) // cylinders may be counted from the other end
        return recipe_say(m, "a word of the shop is no number, as is", word);
    if (!as.n)
        return recipe_say(m,
                          "what it stands for belongs into 'at' of a valve, cylinder or "
                          "side, and into 'format' of a reading, temp or meter: the word",
                          word);
    struct vb_cell_word *p = realloc(r->cell_word, (r->n_cell_words + 1) * sizeof *p);
    if (!p)
        return VB_EMEM;
    r->cell_word = p;
    p += r->n_cell_words;
    *p = (struct vb_cell_word){recipe_copy((struct vb_text){c->name, strlen(c->name)}),
                               c->number, recipe_copy((struct vb_text){norm, n}),
                               recipe_copy(as)};
    r->n_cell_words++;
    return p->column && p->word && p->as ? VB_OK : VB_EMEM;
}

void
recipe_words_free(struct vb_recipe *r)
{
    for (size_t i = 0; i < r->n_words; i++)
        free(r->word[i].word);
    for (size_t i = 0; i < r->n_cell_words; i++) {
        free(r->cell_word[i].column);
        free(r->cell_word[i].word);
        free(r->cell_word[i].as);
    }
    free(r->word);
    free(r->cell_word);
}

/* --- in an export ------------------------------------------------------------------------- */

static int
is_of(const struct plan *p, const struct vb_cell_word *w, size_t col)
{
    return w->number ? w->number == col + 1 : strcmp(w->column, p->norm[col]) == 0;
}

const char *
words_bind(struct vb_tidy *t)
{
    struct plan *p = &t->plan;
    for (size_t k = 0; k < t->r->n_cell_words; k++) {
        int somewhere = 0;
        for (size_t i = 0; i < p->n_cols; i++)
            if (p->rc[i] && is_of(p, &t->r->cell_word[k], i)) {
                p->taught[i] = 1;
                somewhere = 1;
            }
        if (!somewhere)
            return t->r->cell_word[k].word;
    }
    return NULL;
}

static const char *
word_of(const struct vb_tidy *t, size_t col, struct vb_text cell)
{
    char norm[WORD_MAX];
    size_t n = norm_of(cell, norm, sizeof norm);
    for (size_t k = 0; n && k < t->r->n_cell_words; k++)
        if (is_of(&t->plan, &t->r->cell_word[k], col) &&
            strcmp(norm, t->r->cell_word[k].word) == 0)
            return t->r->cell_word[k].as;
    return NULL;
}

/*
 * The cylinders of every bank may count from 1: only a word says which one it is. A dash says that
 * there are no banks, a blank nothing at all.
 */
static int
take_bank(struct vb_tidy *t, size_t col)
{
    size_t bank_col;
    char both[WORD_MAX];
    struct vb_text bank = cell_field(t, VB_MEANS_BANK, &bank_col);
    struct vb_text cell = vb_text_trim(t->row.cell[col]);
    size_t n = bank.n + 1 + cell.n;
    if (!cell.n || (bank.n && vb_missing(bank.s, bank.n)))
        return 1;
    if (!bank.n)
        return cell_bad(t, bank_col, "no bank, for", cell);
    if (n >= sizeof both)
        return cell_bad(t, col, "the recipe has no word for", cell);
    memcpy(both, bank.s, bank.n);
    both[bank.n] = ' ';
    memcpy(both + bank.n + 1, cell.s, cell.n);
    const char *as = word_of(t, col, (struct vb_text){both, n});
    if (!as)
        return cell_bad(t, col, "the recipe has no word for", (struct vb_text){both, n});
    t->plan.said[col] = (struct vb_text){as, strlen(as)};
    return 1;
}

size_t
words_bank(const struct vb_tidy *t)
{
    const size_t *field = t->plan.field;
    if (field[VB_MEANS_BANK] == NO_COL && !t->r->constant[VB_MEANS_BANK])
        return NO_COL;
    return field[VB_MEANS_CYLINDER] != NO_COL ? field[VB_MEANS_CYLINDER]
                                              : field[VB_MEANS_VALVE];
}

int
words_put(struct vb_tidy *t)
{
    struct plan *p = &t->plan;
    size_t banked = words_bank(t);
    if (!t->r->n_cell_words && banked == NO_COL)
        return 1;
    for (size_t i = 0; i < p->n_cols; i++) {
        p->said[i] = t->row.cell[i];
        const char *as =
            p->taught[i] ? word_of(t, i, vb_text_trim(t->row.cell[i])) : NULL;
        if (as)
            p->said[i] = (struct vb_text){as, strlen(as)};
        if (p->taught[i])
            p->taught[i] = as ? 2 : 1;
    }
    int ok = banked == NO_COL || take_bank(t, banked);
    t->row.cell = p->said;
    return ok;
}
