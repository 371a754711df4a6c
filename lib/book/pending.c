/*
 * Changes of a meter's figures, which must go together with those around them. A
 * correction that cannot stand alone waits for the end of the load: two figures of one
 * slip are corrected together or not at all.
 */
#include "load_impl.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A correction in the terms of the history, and the row it came from. */
struct correction {
    char *engine, *table, *key, *old, *now;
    double seq; // as another book numbered it or PAST_KNOWN, 0: of this load
    char *file, *raw, *column;
    unsigned long long line;
    struct correction *next;
};

enum vb_err
meter_begin(struct vb_book *b, const char *engine, struct meter_faults *before,
            struct vb_msg *m)
{
    enum vb_err e = facts_meter(b, engine, before, m);
    return e ? e : db_exec(b, "SAVEPOINT meter", m);
}

enum vb_err
meter_end(struct vb_book *b, const char *engine, const struct meter_faults *before,
          char *why, struct vb_msg *m)
{
    struct meter_faults after;
    enum vb_err e = facts_meter(b, engine, &after, m);
    why[0] = 0;
    if (!e && after.n > before->n) {
        memcpy(why, after.why, sizeof after.why);
        e = db_exec(b, "ROLLBACK TO meter", m);
    }
    return e ? e : db_exec(b, "RELEASE meter", m);
}

enum vb_err
small_write(struct vb_book *b, const struct table_def *def, char cell[][MAX_CELL],
            row_write *write, char *why, struct vb_msg *m)
{
    struct meter_faults before;
    int figure = strcmp(def->name, "events") == 0 && *cell[2];
    why[0] = 0;
    enum vb_err e = figure ? meter_begin(b, cell[0], &before, m) : VB_OK;
    if (!e)
        e = write(b, def, cell, m);
    return e || !figure ? e : meter_end(b, cell[0], &before, why, m);
}

static void
correction_free(struct correction *c)
{
    if (!c)
        return;
    char *part[] = {c->engine, c->table, c->key, c->old,
                    c->now,    c->file,  c->raw, c->column};
    for (size_t i = 0; i < sizeof part / sizeof *part; i++)
        free(part[i]);
    free(c);
}

static enum vb_err
carry_out(struct vb_book *b, const struct correction *c, struct vb_msg *m)
{
    int done = 0;
    const struct past p = {c->table, c->key, c->old, c->now, c->seq};
    enum vb_err e = c->seq > 0 ? history_insert(b, &p, m) : VB_OK;
    if (!e)
        e = history_apply(b, &p, &done, m);
    if (!e && done && c->seq == 0)
        e = *p.now ? history_correct(b, &p, m)
                   : history_add(b, p.table, p.key, p.old, p.now, m);
    return e;
}

static void
refuse_all(struct loader *ld, const char *engine, const char *why)
{
    for (const struct correction *c = ld->pending; c; c = c->next) {
        const struct refused at = {
            .file = c->file, .line = c->line, .raw = {c->raw, strlen(c->raw)}};
        if (strcmp(c->engine, engine) == 0)
            load_refuse_at(ld, &at, c->column, "%s%s",
                           !*c->now      ? "without this event: "
                           : c->seq != 0 ? "with this correction: "
                                         : "",
                           why);
    }
}

/* Those that wait for this engine wait no more. */
static void
drop(struct loader *ld, const char *engine)
{
    struct correction **at = &ld->pending;
    while (*at) {
        struct correction *c = *at;
        if (strcmp(c->engine, engine) != 0) {
            at = &c->next;
            continue;
        }
        *at = c->next;
        correction_free(c);
    }
}

/* All that wait for one engine, together; if that cannot be they go on waiting, or are
 * refused when everything is loaded. */
static enum vb_err
settle(struct loader *ld, const char *engine, int last)
{
    struct meter_faults before;
    char why[WHY_MAX] = "";
    enum vb_err e = meter_begin(ld->b, engine, &before, ld->m);
    for (const struct correction *c = ld->pending; !e && c; c = c->next)
        if (strcmp(c->engine, engine) == 0)
            e = carry_out(ld->b, c, ld->m);
    if (!e)
        e = meter_end(ld->b, engine, &before, why, ld->m);
    if (!e && why[0] && last)
        refuse_all(ld, engine, why);
    if (!e && (!why[0] || last))
        drop(ld, engine);
    return e;
}

enum vb_err
pending_add(struct loader *ld, const struct refused *at, const char *column,
            const char *engine, const struct past *p)
{
    struct correction *c = calloc(1, sizeof *c), **end = &ld->pending;
    int others = 0;
    if (!c)
        return VB_EMEM;
    *c = (struct correction){.engine = strdup(engine),
                             .table = strdup(p->table),
                             .key = strdup(p->key),
                             .old = strdup(p->old),
                             .now = strdup(p->now),
                             .seq = p->seq,
                             .file = strdup(at->file),
                             .raw = strndup(at->raw.n ? at->raw.s : "", at->raw.n),
                             .column = strdup(column),
                             .line = at->line};
    if (!c->engine || !c->table || !c->key || !c->old || !c->now || !c->file || !c->raw ||
        !c->column) {
        correction_free(c);
        return VB_EMEM;
    }
    for (; *end; end = &(*end)->next)
        others |= strcmp((*end)->engine, engine) == 0;
    *end = c;
    return others ? settle(ld, engine, 0) : VB_OK;
}

int
pending_waits(const struct loader *ld, const char *table, const char *key)
{
    for (const struct correction *c = ld->pending; c; c = c->next)
        if (strcmp(c->table, table) == 0 && strcmp(c->key, key) == 0)
            return 1;
    return 0;
}

enum vb_err
pending_settle(struct loader *ld)
{
    enum vb_err e = VB_OK;
    while (!e && ld->pending) {
        char *engine = strdup(ld->pending->engine);
        e = engine ? settle(ld, engine, 1) : VB_EMEM;
        free(engine);
    }
    return e;
}

void
pending_free(struct loader *ld)
{
    while (ld->pending) {
        struct correction *next = ld->pending->next;
        correction_free(ld->pending);
        ld->pending = next;
    }
}
