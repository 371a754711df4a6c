/*
 * Banks in headings: "A1 IN" beside "B1 IN", "Left intake 1" beside "Right intake 1". Such an A is
 * no Auslass, such a left is not what was left, and which cylinder is meant only people know.
 */
#include <string.h>

#include "draft.h"
#include "valvebook/utf8.h"

static const char *const pairs[][2] = {
    {"a", "b"},
    {"l", "r"},
    {"lh", "rh"},
    {"left", "right"},
    {"links", "rechts"},
    {"front", "rear"},
    {"vorn", "hinten"},
    {"port", "starboard"},
    {"port", "stbd"},
    {"bb", "stb"},
    {"backbord", "steuerbord"},
};

/* Where a word stands in a heading of its own, letter case ignored; t.n if nowhere. */
static size_t
find_word(struct vb_text t, const char *word)
{
    char norm[16];
    size_t n = strlen(word);
    for (size_t i = 0; i < t.n; i++) {
        size_t k = i;
        while (k < t.n && vb_utf8_letter(t.s[k]))
            k++;
        if (k - i == n &&
            vb_heading_norm((struct vb_text){t.s + i, n}, norm, sizeof norm) &&
            strcmp(norm, word) == 0)
            return i;
        i = k > i ? k - 1 : i;
    }
    return t.n;
}

/* Do headings have the one word, and others the other? "Left/right" names a column of sides. */
static int
are_banks(const struct draft *d, const char *const *pair)
{
    int one = 0, other = 0;
    for (size_t i = 0; i < d->n_cols; i++) {
        struct vb_text t = d->col[i].head;
        int a = find_word(t, pair[0]) < t.n, b = find_word(t, pair[1]) < t.n;
        one |= a && !b;
        other |= b && !a;
    }
    return one && other;
}

/* The heading without the word of the bank. */
static void
take_out(struct draft_col *c, const char *word)
{
    char text[256];
    size_t at = find_word(c->head, word), n = c->head.n;
    if (at == n || n >= sizeof text)
        return;
    memcpy(text, c->head.s, n);
    memset(text + at, ' ', strlen(word));
    draft_words((struct vb_text){text, n}, &c->words);
    c->bank = word;
}

void
draft_banks(struct draft *d)
{
    for (size_t k = 0; k < sizeof pairs / sizeof *pairs; k++)
        for (size_t i = 0; are_banks(d, pairs[k]) && i < d->n_cols; i++) {
            take_out(&d->col[i], pairs[k][0]);
            take_out(&d->col[i], pairs[k][1]);
        }
}

static size_t
column_of(const struct draft *d, enum vb_means means)
{
    size_t i = 0;
    while (i < d->n_cols && d->col[i].means != means)
        i++;
    return i;
}

static struct vb_text
cell_of(const struct draft *d, size_t row, size_t col)
{
    const struct draft_row *r = &d->sample.row[row];
    return col < r->n ? vb_text_trim(r->cell[col]) : (struct vb_text){NULL, 0};
}

/* Is one cylinder named in two banks? A blank bank may be one of a merged cell. */
static int
begin_anew(const struct draft *d, size_t bank, size_t cyl)
{
    struct vb_text first[100] = {{NULL, 0}}, now = {NULL, 0};
    struct vb_valve v;
    for (size_t r = d->first; r < d->sample.n; r++) {
        struct vb_text b = cell_of(d, r, bank), c = cell_of(d, r, cyl);
        now = b.n ? b : now;
        if (!draft_is_data(d, r) || !now.n || vb_valve_part(c.s, c.n, &v) || !v.cyl)
            continue;
        struct vb_text *f = &first[v.cyl];
        if (f->n && (f->n != now.n || memcmp(f->s, now.s, now.n) != 0))
            return 1;
        *f = now;
    }
    return 0;
}

void
draft_bank_column(struct draft *d)
{
    size_t bank = column_of(d, VB_MEANS_BANK), cyl = column_of(d, VB_MEANS_CYLINDER);
    if (bank == d->n_cols)
        return;
    if (cyl == d->n_cols)
        cyl = column_of(d, VB_MEANS_VALVE);
    if (cyl < d->n_cols && begin_anew(d, bank, cyl)) {
        draft_say(&d->col[bank],
                  "NEEDED: cylinders count from 1 in each bank: add a word of "
                  "the shop for each, as in Cyl,cylinder,,5,,,B 1");
        return;
    }
    draft_ignore(&d->col[bank], "no cylinder is named in two banks");
    d->has[VB_MEANS_BANK] = 0;
}
