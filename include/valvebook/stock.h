#ifndef VALVEBOOK_STOCK_H
#define VALVEBOOK_STOCK_H

#include <stddef.h>

#include "valvebook/err.h"
#include "valvebook/shims.h"
#include "valvebook/tidy.h"

#define VB_STOCK_MOST 10000 // shims of one thickness

/*
 * vb_stock - the table shims: what lies on the shelf.
 *   shim      [n] by thickness, then side, none twice
 *   refused   rows that were not taken
 */
struct vb_stock {
    struct vb_shim_stock *shim;
    size_t n, size;
    unsigned long long refused;
};

/*
 * vb_stock_read - read the table from a file, "-" for standard input.
 *   tell   is called for every row that is refused; arg is its first argument
 *   out    free with vb_stock_clear
 * The column side may be left out, or be blank: such shims fit either.
 * The same thickness and side twice is refused unless the counts agree, which is one row. A
 * thickness is rounded to 0.0001 mm.
 * Errors: VB_EIO, VB_ESYNTAX (a heading that is not that of shims), VB_EMEM; m says why
 *         (out untouched)
 */
enum vb_err vb_stock_read(const char *path, vb_tell *tell, void *arg,
                          struct vb_stock *out, struct vb_msg *m);

/* vb_stock_clear - free what vb_stock_read filled; zeros are allowed. */
void vb_stock_clear(struct vb_stock *s);

#endif
