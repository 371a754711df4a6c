/* The engines of a book all at once. */
#include <stdlib.h>
#include <string.h>

#include "book_impl.h"

/* Groups and families go over to the fleet, which outlives the blocks. */
static void
take_whole(struct vb_fleet *out, struct vb_fleet *whole)
{
    out->group = whole->group;
    out->n_groups = whole->n_groups;
    out->family = whole->family;
    out->n_families = whole->n_families;
    *whole = (struct vb_fleet){0};
}

enum vb_err
fleet_and(struct vb_book *b, const struct vb_scope *scope, const char *as_of,
          enum vb_err (*also)(void *arg), void *arg, struct vb_fleet *out,
          struct vb_msg *m)
{
    struct vb_blocks *s = NULL;
    struct vb_block *block = NULL;
    memset(out, 0, sizeof *out);
    enum vb_err e = blocks_open(b, scope, as_of, 0, &s, m);
    while (!e && !(e = vb_blocks_next(s, &block)) && block)
        e = vb_fleet_join(out, &block->fleet);
    if (!e)
        take_whole(out, vb_blocks_whole(s));
    if (!e && also)
        e = also(arg);
    vb_blocks_close(s);
    if (e)
        vb_fleet_clear(out);
    return e;
}

enum vb_err
vb_book_fleet(struct vb_book *b, const struct vb_scope *scope, const char *as_of,
              struct vb_fleet *out, struct vb_msg *m)
{
    return fleet_and(b, scope, as_of, NULL, NULL, out, m);
}
