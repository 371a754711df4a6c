/* Engines with their readings, one at a time, for what shows them. */
#include "book_impl.h"

enum vb_err
vb_book_engines(struct vb_book *b, const struct vb_fleet *f, const size_t *unit, size_t n,
                const char *as_of, vb_book_take *take, void *arg, struct vb_msg *m)
{
    struct query *q = NULL;
    const struct vb_engine *en;
    enum vb_err e = db_exec(b, "BEGIN", m); // one state of the book, whoever loads
    if (!e)
        e = query_open(b, as_of, &q, m);
    for (size_t i = 0; !e && i < n; i++) {
        e = query_engine(q, &f->unit[unit[i]], &en);
        if (!e)
            e = take(arg, unit[i], en);
    }
    query_close(q);
    if (!sqlite3_get_autocommit(b->db))
        sqlite3_exec(b->db, "ROLLBACK", NULL, NULL, NULL);
    return e;
}
