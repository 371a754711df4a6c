/* The tidy tables: columns, keys, and the order in which they depend on each other. */
#include "book_impl.h"

#include <string.h>

#define T(n)                                                                             \
    {                                                                                    \
        n, CELL_TEXT, 0, 0                                                               \
    }
#define N(n)                                                                             \
    {                                                                                    \
        n, CELL_NUMBER, 0, 0                                                             \
    }
#define D(n)                                                                             \
    {                                                                                    \
        n, CELL_DATE, 0, 0                                                               \
    }
#define TN(n)                                                                            \
    {                                                                                    \
        n, CELL_TEXT, 0, 1                                                               \
    }
#define NN(n)                                                                            \
    {                                                                                    \
        n, CELL_NUMBER, 0, 1                                                             \
    }
#define BN(n)                                                                            \
    {                                                                                    \
        n, CELL_BLADES, 0, 1                                                             \
    }
#define KT(n)                                                                            \
    {                                                                                    \
        n, CELL_TEXT, 1, 0                                                               \
    }
#define KTN(n)                                                                           \
    {                                                                                    \
        n, CELL_TEXT, 1, 1                                                               \
    }
#define KD(n)                                                                            \
    {                                                                                    \
        n, CELL_DATE, 1, 1                                                               \
    }
#define KN(n)                                                                            \
    {                                                                                    \
        n, CELL_NUMBER, 1, 1                                                             \
    }

// clang-format off
static const struct table_def tables[] = {
    {"families", 1, 5, {KTN("family"), KT("side"), KTN("key"), TN("value"), T("unit")},
     "family, side, key"},
    {"engines", 2, 5, {KTN("engine"), TN("family"), D("in_service"), T("site"), T("note")},
     "engine"},
    {"events", 3, 11, {KTN("engine"), KD("date"), N("meter"), T("meter_unit"), KTN("event"),
                      KT("part"), KT("at"), T("build"), T("note"), T("item"), T("faces")},
     "engine, date, event, part, at"},
    {"gauges", 4, 6, {KTN("gauge"), T("kind"), N("resolution"), T("unit"), N("u"),
                      D("valid_until")},
     "gauge"},
    {"plan", 5, 4, {KTN("engine"), KD("date"), N("meter_gain"), KT("label")},
     "engine, date, label"},
    {"lobes", 6, 4, {KTN("lobe"), KN("cam_deg"), NN("lift"), TN("unit")}, "lobe, cam_deg"},
    {"shims", 7, 3, {KN("thickness"), KTN("unit"), NN("count")}, "thickness, unit"},
    {"trials", 8, 6, {KTN("gauge"), KTN("part"), KTN("by"), KN("trial"), BN("value"), TN("unit")},
     "gauge, part, by, trial"},
    {"history", 9, 5, {KTN("table"), KTN("key"), KN("seq"), T("old"), T("new")},
     "\"table\", key, seq"},
    {"readings", 10, 16, {KTN("engine"), KD("date"), N("meter"), T("meter_unit"),
                          KTN("quantity"), KT("at"), N("found"), N("left"), T("unit"), N("u"),
                          N("temp_c"), T("gauge"), T("by"), T("note"), T("source"), N("line")},
     "engine, date, quantity, at"},
};
// clang-format on

const struct table_def *
table_find(const char *name)
{
    for (size_t i = 0; i < sizeof tables / sizeof *tables; i++)
        if (strcmp(tables[i].name, name) == 0)
            return &tables[i];
    return NULL;
}

static size_t
find_column(const struct table_def *t, struct vb_text name)
{
    for (size_t i = 0; i < t->n_cols; i++)
        if (vb_text_is(name, t->col[i].name))
            return i;
    return NO_CELL;
}

/* Twice the number of a table's columns that the heading has, and one if none is missing.
 */
static size_t
score(const struct table_def *t, const struct vb_row *h, const char **missing)
{
    int has[MAX_COLS] = {0};
    size_t known = 0;
    *missing = NULL;
    for (size_t i = 0; i < h->n; i++) {
        size_t k = find_column(t, vb_text_trim(h->cell[i]));
        known += k != NO_CELL && !has[k];
        if (k != NO_CELL)
            has[k] = 1;
    }
    for (size_t i = t->n_cols; i-- > 0;)
        if (t->col[i].needed && !has[i])
            *missing = t->col[i].name;
    return known ? 2 * known + !*missing : 0;
}

const struct table_def *
table_recognise(const struct vb_row *h, size_t *from, struct vb_msg *m)
{
    const struct table_def *best = NULL;
    const char *missing, *lacks = NULL;
    size_t most = 0;
    char q[64];
    for (size_t i = 0; i < sizeof tables / sizeof *tables; i++) {
        size_t has = score(&tables[i], h, &missing);
        if (has > most)
            best = &tables[i], most = has, lacks = missing;
    }
    if (!best) {
        if (!vb_csv_other_mark(h, m))
            vb_msg_set(
                m,
                "no table has a heading like this: '%s' is a column of none (names "
                "are in small letters; valve-tidy reads exports)",
                vb_quote(h->cell[0].s, h->cell[0].n, q, sizeof q));
        return NULL;
    }
    for (size_t i = 0; i < MAX_COLS; i++)
        from[i] = NO_CELL;
    for (size_t i = 0; i < h->n; i++) {
        struct vb_text name = vb_text_trim(h->cell[i]);
        size_t k = find_column(best, name);
        if (k == NO_CELL || from[k] != NO_CELL) {
            vb_msg_set(m, "%s column '%s' in table %s",
                       k == NO_CELL ? "unknown" : "repeated",
                       vb_quote(name.s, name.n, q, sizeof q), best->name);
            return NULL;
        }
        from[k] = i;
    }
    if (lacks)
        vb_msg_set(m, "column '%s' is missing in table %s", lacks, best->name);
    return lacks ? NULL : best;
}
