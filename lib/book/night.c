/* Expected sizes: some tens of alerts on a night, tens of thousands on the first. */
#include "alerts_impl.h"
#include "kept_impl.h"

#include <stdlib.h>
#include <string.h>

struct vb_night {
    struct vb_book *b;
    const struct vb_scope *scope;
    const struct vb_alert_wish *w;
    struct vb_msg *m;
    struct vb_digest *digest;
    struct vb_cam_list cams;
    sqlite3_stmt *old;
    char *after; // the last engine of the blocks before
    struct spool *spool;
    struct bytes noted;
};

/* One alert as it is put aside, the name of its engine behind it. */
struct noted {
    enum vb_news_kind kind;
    struct vb_alert told;                  // if something is said
    double said_day, due_day, due_running; // if nothing is
};

/* Some engines and what is said of them. */
struct part {
    struct vb_alerts old;
    struct vb_alert_fate *fate; // [old.n]
    struct vb_dues dues;
    struct vb_news news;
};

static void
free_part(struct part *p)
{
    vb_alerts_clear(&p->old);
    free(p->fate);
    vb_dues_clear(&p->dues);
    vb_news_clear(&p->news);
}

static enum vb_err
note(struct vb_night *n, const struct vb_news_item *it)
{
    const struct noted what = {.kind = it->kind,
                               .told = it->told,
                               .said_day = it->now.said_day,
                               .due_day = it->now.due_day,
                               .due_running = it->now.due_running};
    n->noted.n = 0;
    enum vb_err e = bytes_put_all(&n->noted, &what, sizeof what);
    if (!e)
        e = bytes_put_all(&n->noted, it->now.engine, strlen(it->now.engine) + 1);
    return e ? e : spool_put(n->spool, n->noted.at, n->noted.n, n->m);
}

/* What is remembered of the engines up to the last of the block; NULL: of all others. */
static enum vb_err
read_old(struct vb_night *n, const struct vb_block *block, struct vb_alerts *old)
{
    const struct vb_fleet *f = block ? &block->fleet : NULL;
    char *last = f ? strdup(f->unit[f->n_units - 1].name) : NULL;
    if (f && !last)
        return VB_EMEM;
    enum vb_err e =
        alerts_between(n->b, n->old, n->after ? n->after : "", last, old, n->m);
    free(n->after);
    n->after = last;
    return e;
}

static enum vb_err
find_due(const struct vb_night *n, struct vb_block *block, struct part *p)
{
    struct vb_due_wish due = n->w->due;
    due.alerts = &p->old;
    due.cams = &n->cams;
    vb_alert_fates(&block->fleet, &p->old, p->fate);
    enum vb_err e = vb_due_add(&block->fleet, block->state, &due, &p->dues);
    return e ? e : vb_due_sort(&p->dues);
}

/* A block; NULL: engines that are remembered and gone, behind the last. */
static enum vb_err
add_block(struct vb_night *n, struct vb_block *block)
{
    struct part p = {0};
    enum vb_err e = read_old(n, block, &p.old);
    if (!e && !(p.fate = calloc(p.old.n + 1, sizeof *p.fate)))
        e = VB_EMEM;
    if (!e && block)
        e = find_due(n, block, &p);
    if (!e)
        e = vb_alert_news(&p.dues, &p.old, p.fate, n->w, &p.news);
    for (size_t i = 0; !e && i < p.news.n; i++)
        e = note(n, &p.news.item[i]);
    if (!e)
        e = vb_digest_add(n->digest, &p.dues, &p.news, n->w);
    free_part(&p);
    return e;
}

static enum vb_err
look(struct vb_night *n, const char *as_of, struct vb_doubts *doubts)
{
    struct vb_blocks *blocks = NULL;
    struct vb_block *block = NULL;
    const struct vb_cam_wish by_cam = {0};
    enum vb_err e = vb_blocks_open(n->b, n->scope, as_of, &blocks, n->m);
    if (!e)
        e = alerts_reader(n->b, n->scope, &n->old, n->m);
    if (!e)
        e = vb_book_cams(n->b, n->scope, as_of, &by_cam, &n->cams, n->m);
    while (!e && !(e = vb_blocks_next(blocks, &block)) && block) {
        vb_fleet_see(&block->fleet);
        e = add_block(n, block);
    }
    if (!e)
        e = add_block(n, NULL);
    if (!e)
        e = vb_fleet_doubts(vb_blocks_whole(blocks), doubts);
    sqlite3_finalize(n->old);
    vb_blocks_close(blocks);
    vb_cam_list_clear(&n->cams);
    return e ? e : vb_digest_end(n->digest);
}

enum vb_err
vb_night_look(struct vb_book *b, const struct vb_scope *scope,
              const struct vb_alert_wish *w, const char *as_of, struct vb_digest *digest,
              struct vb_doubts *doubts, struct vb_night **out, struct vb_msg *m)
{
    struct vb_night *n = calloc(1, sizeof *n);
    if (!n)
        return VB_EMEM;
    *n = (struct vb_night){.b = b, .scope = scope, .w = w, .m = m, .digest = digest};
    enum vb_err e = spool_open(&n->spool, m);
    if (!e)
        e = look(n, as_of, doubts);
    if (e)
        vb_night_close(n);
    else
        *out = n;
    return e;
}

static enum vb_err
write_noted(struct vb_night *n, int said, const void *bytes, sqlite3_stmt *put,
            sqlite3_stmt *drop, struct vb_msg *m)
{
    struct noted what;
    memcpy(&what, bytes, sizeof what);
    struct vb_alert *a = &what.told;
    a->engine = (char *)bytes + sizeof what;
    if (what.kind == VB_NEWS_CLEARED)
        return alerts_run_on(n->b, drop, a, m);
    if (!said) {
        a->said_day = what.said_day;
        a->due_day = what.due_day;
        a->due_running = what.due_running;
    }
    return alerts_write(n->b, put, a, m);
}

static enum vb_err
write_all(struct vb_night *n, int said, struct vb_msg *m)
{
    sqlite3_stmt *put = NULL, *drop = NULL;
    const void *bytes = NULL;
    size_t size;
    enum vb_err e =
        db_prepare(n->b,
                   "INSERT INTO alerts VALUES(?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10,"
                   " ?11, '', '', ?12) ON CONFLICT DO UPDATE SET level = ?5, due_day ="
                   " ?6, due_running = ?7, first_said = ?8, last_said = ?9, gone_since ="
                   " ?10, set_day = ?11, found = ?12",
                   &put, m);
    if (!e)
        e = db_prepare(n->b,
                       "DELETE FROM alerts WHERE engine = ? AND kind = ? AND at = ?"
                       " AND life = ?",
                       &drop, m);
    while (!e && !(e = spool_next(n->spool, &bytes, &size, m)) && bytes)
        e = write_noted(n, said, bytes, put, drop, m);
    sqlite3_finalize(put);
    sqlite3_finalize(drop);
    return e;
}

static enum vb_err
count_run(struct vb_book *b, const char *as_of, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e =
        db_prepare(b, "UPDATE alerts_told SET runs = runs + 1, as_of = ?", &s, m);
    if (e)
        return e;
    db_text(s, 1, as_of);
    e = db_run(b, s, m);
    sqlite3_finalize(s);
    return e;
}

enum vb_err
vb_night_keep(struct vb_night *n, int said, const struct vb_told *told, const char *as_of,
              struct vb_msg *m)
{
    struct vb_book *b = n->b;
    struct vb_told now;
    sqlite3_busy_timeout(b->db, VB_ALERTS_WAIT_MS);
    enum vb_err e = db_exec(b, "BEGIN IMMEDIATE", m);
    if (!e) {
        e = vb_alerts_told(b, &now, m);
        if (!e && now.runs != told->runs) {
            vb_msg_at(m, b->path, 0, NULL);
            vb_msg_set(m, "what was said of alerts has been changed by somebody else");
            e = VB_ECONFLICT;
        }
        if (!e)
            e = write_all(n, said, m);
        if (!e)
            e = count_run(b, as_of, m);
        e = alerts_end(b, e, m);
    }
    sqlite3_busy_timeout(b->db, BUSY_MS);
    return e;
}

void
vb_night_close(struct vb_night *n)
{
    if (!n)
        return;
    spool_close(n->spool);
    free(n->noted.at);
    free(n->after);
    free(n);
}
