/*
 * Exports that hold more than one table: another heading between the rows, or a line as
 * "Engine: HC-2" where the recipe states one engine for all. What stands below such a line is
 * of another engine, day, valve or unit than the recipe would make of it, and is refused.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "draft.h"
#include "tidy_impl.h"

#define KEYS_MAX 4 // words of a label, "Engine serial no."

static const enum vb_means labelled[SECTIONS_LABELS] = {VB_MEANS_ENGINE, VB_MEANS_DATE};

/* Is t made of these words alone, with a word that is not one of the last? */
static int
is_made_of(struct vb_text t, const char *const *words)
{
    static const char *const more[] = {"no", "nr",    "number", "nummer",
                                       "id", "name",  "of",     "serial",
                                       "sn", "visit", "serie",  NULL};
    char norm[64], *save = NULL;
    int named = 0, n = 0;
    vb_heading_norm(t, norm, sizeof norm);
    for (char *w = strtok_r(norm, " .#:=/*-", &save); w;
         w = strtok_r(NULL, " .#:=/*-", &save)) {
        size_t i = 0, k = 0;
        while (words[i] && strcmp(words[i], w) != 0)
            i++;
        while (more[k] && strcmp(more[k], w) != 0)
            k++;
        if ((!words[i] && !more[k]) || ++n > KEYS_MAX)
            return 0;
        named |= words[i] != NULL;
    }
    return named;
}

/* The label of an engine or a day, or neither: SECTIONS_LABELS. */
static int
label_of(struct vb_text t)
{
    static const char *const engine[] = {
        "engine",   "eng",  "motor",   "motornr",  "motornummer", "moteur",
        "aggregat", "car",  "truck",   "bus",      "vehicle",     "fahrzeug",
        "fzg",      "lkw",  "machine", "maschine", "asset",       "genset",
        "vessel",   "ship", "boat",    "ferry",    NULL};
    static const char *const day[] = {"date", "dated", "datum", "day", "tag", NULL};
    return t.n >= 40               ? SECTIONS_LABELS
           : is_made_of(t, engine) ? 0
           : is_made_of(t, day)    ? 1
                                   : 2;
}

/* What cell i of a row labels, and the value behind it, from "Engine: HC-2" or from two cells
 * side by side. */
static int
label_at(const struct vb_row *row, size_t i, struct vb_text *value)
{
    struct vb_text key = vb_text_trim(row->cell[i]);
    const char *mark = key.n ? memchr(key.s, ':', key.n) : NULL;
    if (!mark && key.n)
        mark = memchr(key.s, '=', key.n);
    *value = (struct vb_text){NULL, 0};
    if (mark) {
        size_t n = (size_t)(mark - key.s);
        *value = vb_text_trim((struct vb_text){mark + 1, key.n - n - 1});
        key.n = n;
    }
    int label = label_of(key);
    for (size_t k = i + 1; label < SECTIONS_LABELS && !value->n && k < row->n; k++)
        *value = vb_text_trim(row->cell[k]);
    // a heading of columns labels nothing, nor does a day that is none
    if (!value->n || label_of(*value) < SECTIONS_LABELS ||
        (label == 1 && !draft_is_date(*value)))
        return SECTIONS_LABELS;
    return label;
}

/* Does this value say the same as the constant of the recipe? */
static int
is_constant(const struct vb_tidy *t, int label, struct vb_text value)
{
    const char *c = t->r->constant[labelled[label]];
    char q[SECTIONS_VALUE];
    vb_quote(value.s, value.n, q, sizeof q);
    return c && (strcmp(q, c) == 0 || (label == 1 && draft_date_may_be(value, c)));
}

static int
is_known(const struct vb_tidy *t, int label, struct vb_text value)
{
    const struct sections *p = &t->sections;
    char q[SECTIONS_VALUE];
    vb_quote(value.s, value.n, q, sizeof q);
    for (size_t i = 0; i < p->n_said[label]; i++)
        if (strcmp(p->said[label][i], q) == 0)
            return 1;
    return is_constant(t, label, value);
}

void
sections_above(struct vb_tidy *t, const struct vb_row *row)
{
    struct sections *p = &t->sections;
    struct vb_text value;
    for (size_t i = 0; i < row->n; i++) {
        int k = label_at(row, i, &value);
        if (k == SECTIONS_LABELS || p->n_said[k] == SECTIONS_SAID)
            continue;
        p->same[k] |= is_constant(t, k, value);
        p->line[k] = p->n_said[k] ? p->line[k] : row->line;
        vb_quote(value.s, value.n, p->said[k][p->n_said[k]++], SECTIONS_VALUE);
    }
}

/* Who states an engine or a day with --set knows better than the sheet. */
enum vb_err
sections_agree(struct vb_tidy *t, struct vb_msg *m)
{
    const struct sections *p = &t->sections;
    for (int k = 0; k < SECTIONS_LABELS; k++) {
        enum vb_means means = labelled[k];
        if (!p->n_said[k] || p->same[k] || !t->r->constant[means] ||
            t->plan.field[means] != NO_COL || (t->r->stated >> means & 1))
            continue;
        vb_msg_at(m, t->file, p->line[k], NULL);
        vb_msg_set(m,
                   "the %s is '%.60s' here and '%.60s' in the recipe: state the right "
                   "one, as in "
                   "--set %s='%.60s'",
                   vb_means_name(means), p->said[k][0], t->r->constant[means],
                   vb_means_name(means), k == 0 ? p->said[k][0] : "YYYY-MM-DD");
        return VB_ESYNTAX;
    }
    return VB_OK;
}

/* How many cells of the row are headings of the table, and is one not that of its column? */
static size_t
count_headings(const struct vb_tidy *t, size_t *filled, size_t *own)
{
    const struct plan *p = &t->plan;
    char norm[256];
    size_t n = 0;
    *filled = *own = 0;
    for (size_t i = 0; i < t->row.n; i++) {
        size_t k = 0;
        if (!vb_heading_norm(t->row.cell[i], norm, sizeof norm))
            continue;
        while (k < p->n_cols && strcmp(p->norm[k], norm) != 0)
            k++;
        ++*filled;
        *own += i < p->n_cols && strcmp(p->norm[i], norm) == 0;
        n += k < p->n_cols;
    }
    return n;
}

/* A heading of other columns, of another order or unit: half of it at least is known. One
 * that merely lacks some says nothing else. */
static int
is_other_heading(const struct vb_tidy *t)
{
    size_t filled, own, n = count_headings(t, &filled, &own);
    return filled > own && (n >= 2 || own == 1) && 2 * n >= filled;
}

void
sections_look(struct vb_tidy *t, const struct vb_row *row, int is_row)
{
    struct sections *p = &t->sections;
    struct vb_text value;
    for (size_t i = 0; !p->ends && i < row->n; i++) {
        int k = label_at(row, i, &value);
        if (k == SECTIONS_LABELS || t->plan.field[labelled[k]] != NO_COL ||
            is_known(t, k, value))
            continue;
        p->ends = row->line;
        p->means = labelled[k];
        vb_quote(value.s, value.n, p->value, sizeof p->value);
    }
    if (!p->ends && is_row && t->r->heading && is_other_heading(t)) {
        p->ends = row->line;
        p->means = VB_MEANS_IGNORE;
    }
}

void
sections_refuse(struct vb_tidy *t)
{
    const struct sections *p = &t->sections;
    if (p->means == VB_MEANS_IGNORE)
        tidy_refuse(
            t, NO_COL,
            "below line %llu, which looks like another heading: cut the export there "
            "and read each part by a recipe of its own",
            p->ends);
    else
        tidy_refuse(
            t, NO_COL,
            "below line %llu, which says %s '%.60s': cut the export there and read each "
            "part by itself, with --set %s=...",
            p->ends, vb_means_name(p->means), p->value, vb_means_name(p->means));
}
