/*
 * Headings from which nobody knows in what unit of length the numbers below them are: "0.1 mm",
 * "mm x 100", "tenths of mm", "thou/mm".
 */
#include <string.h>

#include "valvebook/recipe.h"

#define WORDS_MAX 32

static int
is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static int
is_length(struct vb_text w)
{
    const struct vb_unit *u = w.n > 1 ? vb_unit_find(w.s, w.n) : NULL;
    return u && u->dim == VB_DIM_LENGTH;
}

/* "thou/mm" */
static int
is_two_units(struct vb_text w)
{
    const char *bar = memchr(w.s, '/', w.n);
    size_t n = bar ? (size_t)(bar - w.s) : 0;
    return bar && is_length((struct vb_text){w.s, n}) &&
           is_length((struct vb_text){bar + 1, w.n - n - 1});
}

/* Bytes of the sign of a multiplication; 0 if it does not begin with one. */
static size_t
times(struct vb_text w)
{
    return strchr("xX*", *w.s) ? 1 : w.n > 1 && memcmp(w.s, "\xc3\x97", 2) == 0 ? 2 : 0;
}

/* "x100", and "x 100", which is cut out as one word. */
static int
is_times(struct vb_text w)
{
    size_t n = times(w);
    while (n && n < w.n && w.s[n] == ' ')
        n++;
    return n && n < w.n && (is_digit(w.s[n]) || w.s[n] == '.');
}

/* What a unit behind it is a part or a multiple of. A whole number is that of a cylinder. */
static int
is_factor(struct vb_text w)
{
    static const char *const parts[] = {"tenth",   "hundredth",   "thousandth",
                                        "zehntel", "hundertstel", "tausendstel"};
    char norm[24];
    size_t k = *w.s == '0';
    if (w.n > k + 1 && (w.s[k] == '.' || w.s[k] == ',') && is_digit(w.s[k + 1]))
        return 1; // 0.1
    vb_heading_norm(w, norm, sizeof norm);
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        if (strncmp(norm, parts[i], strlen(parts[i])) == 0)
            return 1;
    return strncmp(norm, "1/10", 4) == 0 || is_times(w) || memchr(w.s, '^', w.n) != NULL;
}

static size_t
cut(struct vb_text t, struct vb_text *word)
{
    size_t n = 0;
    for (size_t i = 0, k; i < t.n && n < WORDS_MAX; i = k + 1) {
        for (k = i; k < t.n && !strchr(" \t\r\n_()[]", t.s[k]);)
            k++;
        struct vb_text *last = n ? &word[n - 1] : NULL;
        if (k > i && last && times(*last) == last->n && is_digit(t.s[i]))
            last->n = (size_t)(t.s + k - last->s);
        else if (k > i)
            word[n++] = (struct vb_text){t.s + i, k - i};
    }
    return n;
}

/* "of a mm" */
static int
is_joint(struct vb_text w)
{
    return vb_text_is(w, "of") || vb_text_is(w, "a") || vb_text_is(w, "an");
}

/* Does a factor stand before word[i], and is not with it one unit, as "1/100 mm" is? */
static int
has_factor(const struct vb_text *word, size_t i)
{
    const char *end = word[i].s + word[i].n;
    while (i > 0 && is_joint(word[i - 1]))
        i--;
    return i > 0 && is_factor(word[i - 1]) &&
           !vb_unit_find(word[i - 1].s, (size_t)(end - word[i - 1].s));
}

int
vb_heading_doubt(struct vb_text t)
{
    struct vb_text word[WORDS_MAX];
    const struct vb_unit *whole; // as of "x 1/100 mm"
    size_t n = t.n && vb_heading_tail(t, &whole) == t.n ? cut(t, word) : 0;
    for (size_t i = 0; i < n; i++)
        if (is_two_units(word[i]) ||
            (is_length(word[i]) &&
             (has_factor(word, i) || (i + 1 < n && is_times(word[i + 1])))))
            return 1;
    return 0;
}
