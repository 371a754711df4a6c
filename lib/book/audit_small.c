/* The rows of the small tables, by what the loader demands of a row that comes in. */
#include "audit_impl.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct small {
    struct audit *a;
    struct feed feed;
    struct vb_load load;
    struct loader ld;
    const struct table_def *def;
    enum audit_table table;
    char (*cell)[MAX_CELL]; // [MAX_COLS] of the row
    char key[KEY_TEXT];     // of the row, as the history has it
};

static void
on_refusal(void *arg, const struct vb_msg *m)
{
    struct small *s = arg;
    audit_tell(s->a, s->def->name, s->key, m->column, "%s", m->text);
}

/* Cells in the book's own form; 0 after something was told. */
static int
check_cells(struct small *s)
{
    static const struct column any = {"", CELL_TEXT, 0, 0};
    char was[MAX_CELL];
    int good = 1;
    for (size_t i = 0; i < s->def->n_cols; i++) {
        const struct column *c = &s->def->col[i];
        snprintf(was, sizeof was, "%s", s->cell[i]);
        const char *why = small_cell(*was || c->needed ? c : &any,
                                     (struct vb_text){was, strlen(was)}, s->cell[i]);
        if (!why && c->kind == CELL_DATE && strcmp(was, s->cell[i]) != 0)
            why = "bad date";
        if (why)
            audit_tell(s->a, s->def->name, s->key, c->name, "%s '%.40s'", why, was);
        good &= !why;
    }
    return good;
}

static enum vb_err
check_row(struct audit *a, void *arg, sqlite3_stmt *row)
{
    struct small *s = arg;
    enum vb_err e = VB_OK;
    for (size_t i = 0; i < s->def->n_cols; i++)
        if (!small_read(row, (int)i, &s->def->col[i], s->cell[i]))
            return VB_EMEM;
    small_join(s->def, s->cell, 1, s->key, sizeof s->key);
    a->rows[s->table]++;
    if (check_cells(s))
        (void)small_check(&s->ld, &s->feed, s->cell, &e);
    return e;
}

enum vb_err
audit_small(struct audit *a, enum audit_table table)
{
    char sql[160];
    struct small s = {.a = a, .table = table, .def = table_find(audit_tables[table])};
    s.feed.def = s.def;
    s.load = (struct vb_load){.as_of = a->c->as_of, .tell = on_refusal, .arg = &s};
    s.ld = (struct loader){.b = a->b, .l = &s.load, .m = a->m};
    if (!(s.cell = calloc(MAX_COLS, sizeof *s.cell)))
        return VB_EMEM;
    snprintf(sql, sizeof sql, "SELECT * FROM %s ORDER BY %s", s.def->name, s.def->order);
    enum vb_err e = audit_each(a, sql, check_row, &s);
    free(s.cell);
    return e;
}

static void
on_facts(void *arg, const char *const *key, size_t n, const char *column,
         const char *text)
{
    char joined[KEY_TEXT];
    cells_join(key, n, joined, sizeof joined);
    audit_tell(arg, "families", joined, column, "%s", text);
}

/* Facts of a family that contradict each other. */
enum vb_err
audit_families(struct audit *a, enum audit_table table)
{
    (void)table;
    return facts_disagree(a->b, on_facts, a, a->m);
}
