/*
 * Banks in headings: "A1 IN" beside "B1 IN", "Left intake 1" beside "Right intake 1". Such an A is
 * no Auslass, such a left is not what was left, and which cylinder is meant only people know.
 */
#include <string.h>

#include "draft.h"
#include "valvebook/utf8.h"

static const char *const pairs[][2] = {
    {"a", "b"},          {"l", "r"},        {"lh", "rh"},       {"left", "right"},
    {"links", "rechts"}, {"front", "rear"}, {"vorn", "hinten"}, {"port", "starboard"},
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
