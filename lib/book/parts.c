/*
 * The cells of a row that are not of its key, as the history has them: one after the other,
 * called part here, beside the cells of the whole row. A blank says nothing.
 */
#include "load_impl.h"

#include <string.h>

/* Cells that are not of the key, one after the other. */
size_t
small_others(const struct table_def *def)
{
    size_t n = 0;
    for (size_t i = 0; i < def->n_cols; i++)
        n += !def->col[i].key;
    return n;
}

int
small_compatible(const struct table_def *def, char cell[][MAX_CELL],
                 char part[][MAX_CELL])
{
    size_t k = 0;
    for (size_t i = 0; i < def->n_cols; i++) {
        if (def->col[i].key)
            continue;
        if (*cell[i] && *part[k] && strcmp(cell[i], part[k]) != 0)
            return 0;
        k++;
    }
    return 1;
}

void
small_put_parts(const struct table_def *def, char part[][MAX_CELL], char cell[][MAX_CELL])
{
    size_t k = 0;
    for (size_t i = 0; i < def->n_cols; i++) {
        if (def->col[i].key)
            continue;
        if (*part[k])
            memcpy(cell[i], part[k], MAX_CELL);
        k++;
    }
}

int
small_says_all(const struct table_def *def, char cell[][MAX_CELL], char part[][MAX_CELL])
{
    size_t k = 0;
    for (size_t i = 0; i < def->n_cols; i++) {
        if (def->col[i].key)
            continue;
        if (*part[k] && strcmp(part[k], cell[i]) != 0)
            return 0;
        k++;
    }
    return 1;
}

/* A cell that was blank before was filled with the correction: here it may be filled already. */
enum vb_err
small_become(const struct table_def *def, const char *old, const char *now,
             char part[][MAX_CELL], char cell[][MAX_CELL], int *does)
{
    size_t n = small_others(def);
    char(*after)[MAX_CELL] = part + n;
    enum vb_err e = cells_split(old, part, n);
    if (!e)
        e = cells_split(now, after, n);
    for (size_t k = 0; !e && k < n; k++)
        if (!*part[k])
            memcpy(part[k], after[k], MAX_CELL);
    *does = !e && small_compatible(def, cell, part);
    if (*does)
        small_put_parts(def, after, cell);
    return e;
}
