/* Which engines a list is about. */
#include <string.h>

#include "book_impl.h"

void
scope_bind(sqlite3_stmt *s, const struct vb_scope *scope)
{
    const struct vb_scope all = {0}, *of = scope ? scope : &all;
    const struct {
        const char *name, *text;
    } word[] = {{":engine", of->engine}, {":family", of->family}, {":site", of->site}};
    for (size_t i = 0; i < sizeof word / sizeof *word; i++)
        if (word[i].text)
            db_text(s, sqlite3_bind_parameter_index(s, word[i].name), word[i].text);
}

/* Why a known engine is not meant: it stands elsewhere than was said. */
static void
say_where(const struct vb_scope *scope, sqlite3_stmt *s, struct vb_msg *m)
{
    const char *family = db_word(s, 0), *site = db_word(s, 1);
    if (scope->family && strcmp(family, scope->family) != 0)
        vb_msg_set(m, "engine '%.60s' is of family '%.60s', not '%.60s'", scope->engine,
                   family, scope->family);
    else if (*site)
        vb_msg_set(m, "engine '%.60s' is at site '%.60s', not '%.60s'", scope->engine,
                   site, scope->site);
    else
        vb_msg_set(m, "engine '%.60s' has no site, and is not at '%.60s'", scope->engine,
                   scope->site);
}

static enum vb_err
say_engine(struct vb_book *b, const struct vb_scope *scope, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e =
        db_prepare(b, "SELECT family, site FROM engines WHERE engine = ?", &s, m);
    if (e)
        return e;
    db_text(s, 1, scope->engine);
    int rc = sqlite3_step(s);
    if (rc == SQLITE_ROW)
        say_where(scope, s, m);
    else if (rc == SQLITE_DONE)
        vb_msg_set(m, "unknown engine '%.60s'", scope->engine);
    else
        e = db_fail(b, m);
    sqlite3_finalize(s);
    return e ? e : VB_EUNKNOWN;
}

/* Nobody is meant: why. */
static enum vb_err
say_nobody(struct vb_book *b, const struct vb_scope *scope, struct vb_msg *m)
{
    vb_msg_at(m, b->path, 0, NULL);
    if (scope->engine)
        return say_engine(b, scope, m);
    if (scope->family && scope->site)
        vb_msg_set(m, "no engine of family '%.60s' is at site '%.60s'", scope->family,
                   scope->site);
    else if (scope->family)
        vb_msg_set(m, "no engine of family '%.60s'", scope->family);
    else
        vb_msg_set(m, "no engine is at site '%.60s'", scope->site);
    return VB_EUNKNOWN;
}

enum vb_err
scope_check(struct vb_book *b, const struct vb_scope *scope, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    if (!scope || (!scope->engine && !scope->family && !scope->site))
        return VB_OK; // of an empty book too
    enum vb_err e =
        db_prepare(b, "SELECT 1 FROM engines WHERE " IN_SCOPE("") " LIMIT 1", &s, m);
    if (e)
        return e;
    scope_bind(s, scope);
    int rc = sqlite3_step(s);
    sqlite3_finalize(s);
    if (rc == SQLITE_ROW)
        return VB_OK;
    return rc == SQLITE_DONE ? say_nobody(b, scope, m) : db_fail(b, m);
}
