/* Are the tables those that this version makes? What somebody has added does no harm. */
#include "audit_impl.h"

#include <string.h>

/* The columns of a table or view and their kinds; whose index it is. */
#define LOOKS_LIKE                                                                       \
    "SELECT type, name, tbl_name, coalesce((SELECT group_concat(name || ' ' || type ||"  \
    " ' ' || \"notnull\" || ' ' || pk) FROM pragma_table_info(s.name)), ''),"            \
    " coalesce((SELECT strict || wr FROM pragma_table_list(s.name)), '')"                \
    " FROM sqlite_schema s"

enum { S_TYPE, S_NAME, S_TABLE, S_LIKE, S_STRICT };

static void
damaged(struct audit *a, const char *table)
{
    for (size_t i = 0; i < A_TABLES; i++)
        if (strcmp(table, audit_tables[i]) == 0)
            a->damaged |= BIT(i);
}

/* want: a row of a new book; s stands on the same thing of this one, or there is none. */
static void
compare(struct audit *a, sqlite3_stmt *want, sqlite3_stmt *s, int there)
{
    const char *name = db_word(want, S_NAME), *type = db_word(want, S_TYPE);
    const char *table = db_word(want, S_TABLE);
    int same = there;
    for (int i = S_TABLE; same && i <= S_STRICT; i++)
        same = strcmp(db_word(want, i), db_word(s, i)) == 0;
    if (same)
        return;
    audit_tell(a, table, "", "", "the %s %s is %s", type, name,
               there ? "not as valve-book makes it" : "missing");
    if (strcmp(type, "trigger") != 0) // without it rows are what they are
        damaged(a, table);
}

static enum vb_err
compare_all(struct audit *a, sqlite3 *fresh)
{
    sqlite3_stmt *want = NULL, *s = NULL;
    int rc = SQLITE_DONE, there;
    enum vb_err e = db_prepare(a->b, LOOKS_LIKE " WHERE type = ? AND name = ?", &s, a->m);
    if (!e && sqlite3_prepare_v2(fresh, LOOKS_LIKE, -1, &want, NULL) != SQLITE_OK)
        e = VB_EMEM;
    while (!e && (rc = sqlite3_step(want)) == SQLITE_ROW) {
        db_text(s, 1, db_word(want, S_TYPE));
        db_text(s, 2, db_word(want, S_NAME));
        there = sqlite3_step(s);
        if (there == SQLITE_ROW || there == SQLITE_DONE)
            compare(a, want, s, there == SQLITE_ROW);
        if (sqlite3_reset(s)) // or it had no room for a text
            e = db_fail(a->b, a->m);
    }
    sqlite3_finalize(s);
    sqlite3_finalize(want);
    return !e && rc != SQLITE_DONE ? VB_EMEM : e;
}

enum vb_err
audit_schema(struct audit *a, enum audit_table table)
{
    sqlite3 *fresh = NULL;
    (void)table;
    enum vb_err e =
        sqlite3_open(":memory:", &fresh) == SQLITE_OK ? schema_make(fresh) : VB_EMEM;
    if (!e)
        e = compare_all(a, fresh);
    sqlite3_close(fresh);
    return e == VB_EDB && !a->b->code ? VB_EMEM : e;
}
