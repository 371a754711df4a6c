#include "book_impl.h"

#include <stdio.h>
#include <string.h>

#include "valvebook/quantity.h"

static void
put_column(struct vb_out *out, sqlite3_stmt *s, int i)
{
    char num[VB_NUM_MAX];
    switch (sqlite3_column_type(s, i)) {
    case SQLITE_NULL: vb_out_cell(out, "", 0); break;
    case SQLITE_FLOAT:
        vb_out_cell(out, num, vb_double_format(sqlite3_column_double(s, i), num));
        break;
    default: {
        const char *t = (const char *)sqlite3_column_text(s, i);
        vb_out_cell(out, t ? t : "", (size_t)sqlite3_column_bytes(s, i));
    }
    }
}

/* The view has no unit: the quantity says it. */
static void
put_unit(struct vb_out *out, sqlite3_stmt *s)
{
    const char *name = (const char *)sqlite3_column_text(s, 4);
    const struct vb_quantity *q = name ? vb_quantity_find(name, strlen(name)) : NULL;
    const struct vb_unit *u = q ? vb_unit_of(q->dim) : NULL;
    vb_out_cell(out, u ? u->name : "", u ? strlen(u->name) : 0);
}

static void
put_end(struct vb_out *out, unsigned long long rows)
{
    char count[24], crc[16];
    snprintf(count, sizeof count, "%llu", rows);
    snprintf(crc, sizeof crc, "%08lx", (unsigned long)vb_out_crc(out));
    const char *const row[] = {"", "", "", "", "end", "",  count, "",
                               "", "", "", "", "",    crc, "",    ""};
    vb_out_words(out, row, 16);
}

enum vb_err
vb_book_dump(struct vb_book *b, const char *table, struct vb_out *out, struct vb_msg *m)
{
    char sql[512];
    const struct table_def *def = table_find(table);
    sqlite3_stmt *s = NULL;
    if (!def) {
        vb_msg_at(m, b->path, 0, NULL);
        vb_msg_set(m,
                   "no table '%.40s'; there are families, engines, events, gauges, plan, "
                   "lobes, shims, trials, history and readings",
                   table);
        return VB_EUNKNOWN;
    }
    int readings = strcmp(table, "readings") == 0;
    snprintf(sql, sizeof sql, "SELECT * FROM %s ORDER BY %s", def->name, def->order);
    enum vb_err e = db_prepare(b, sql, &s, m);
    if (e)
        return e;
    for (size_t i = 0; i < def->n_cols; i++)
        vb_out_cell(out, def->col[i].name, strlen(def->col[i].name));
    vb_out_end(out);
    int rc, n = sqlite3_column_count(s);
    unsigned long long rows = 0;
    for (; (rc = sqlite3_step(s)) == SQLITE_ROW; rows++) {
        for (int i = 0; i < n; i++) {
            if (readings && i == 8)
                put_unit(out, s);
            put_column(out, s, i);
        }
        vb_out_end(out);
    }
    if (rc != SQLITE_DONE)
        e = db_fail(b, m);
    else if (readings)
        put_end(out, rows);
    sqlite3_finalize(s);
    return e;
}
