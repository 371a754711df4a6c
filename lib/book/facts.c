/* What the book knows of families and meters, as structs of lib/trade. */
#include "book_impl.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/cam_place.h"
#include "valvebook/date.h"
#include "valvebook/quantity.h"

/* s: side, key, value and unit of each fact, that of the engine before those of a side. It is
 * finalized. */
static enum vb_err
take_facts(struct vb_book *b, sqlite3_stmt *s, struct vb_family *out, struct vb_msg *m)
{
    enum vb_err e = VB_OK;
    int rc;
    vb_family_init(out);
    while ((rc = sqlite3_step(s)) == SQLITE_ROW) {
        const char *side = db_word(s, 0), *key = db_word(s, 1);
        const char *value = db_word(s, 2), *unit = db_word(s, 3);
        const struct vb_fact *f = vb_fact_find(key, strlen(key));
        double x;
        enum vb_dim dim;
        if (f && !vb_fact_check(f, side, value, unit, &x, &dim, NULL))
            vb_family_set(out, f, side, value, x, dim);
    }
    if (rc != SQLITE_DONE)
        e = db_fail(b, m);
    sqlite3_finalize(s);
    return e;
}

enum vb_err
facts_family(struct vb_book *b, const char *family, struct vb_family *out,
             struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e = db_prepare(b,
                               "SELECT side, key, value, unit FROM families WHERE"
                               " family = ? ORDER BY side, key",
                               &s, m);
    if (e)
        return e;
    db_text(s, 1, family);
    return take_facts(b, s, out, m);
}

enum vb_err
facts_family_with(struct vb_book *b, char fact[][MAX_CELL], const char *value,
                  struct vb_family *out, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e = db_prepare(b,
                               "SELECT side, key, value, unit FROM families WHERE family"
                               " = ?1 AND NOT (side = ?2 AND key = ?3)"
                               " UNION ALL SELECT ?2, ?3, ?4, ?5 ORDER BY side, key",
                               &s, m);
    if (e)
        return e;
    for (int i = 0; i < 5; i++)
        db_text(s, i + 1, i == 3 ? value : fact[i]);
    return take_facts(b, s, out, m);
}

/* row: a family, and the side on which it states one thing twice, NULL if it is looked at. */
static enum vb_err
look_at_family(struct vb_book *b, sqlite3_stmt *row, facts_tell *tell, void *arg,
               struct vb_msg *m)
{
    struct vb_family facts;
    struct vb_msg clash = {0};
    const char *key[] = {db_word(row, 0), db_word(row, 1), "lash_growth"};
    if (sqlite3_column_type(row, 1) != SQLITE_NULL) {
        tell(arg, key, 3, "key", "lash_stack is stated too, which says the same");
        return VB_OK;
    }
    enum vb_err e = facts_family(b, key[0], &facts, m);
    if (!e && vb_family_clashes(&facts, &clash))
        tell(arg, key, 1, "value", clash.text);
    return e;
}

enum vb_err
facts_disagree(struct vb_book *b, facts_tell *tell, void *arg, struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    int rc = SQLITE_DONE;
    enum vb_err e = db_prepare(
        b,
        "SELECT DISTINCT family, NULL, 0 FROM families UNION ALL SELECT family, side, 1"
        " FROM (SELECT family, side FROM families WHERE key = 'lash_growth' INTERSECT"
        " SELECT family, side FROM families WHERE key = 'lash_stack') ORDER BY 3, 1, 2",
        &s, m);
    while (!e && (rc = sqlite3_step(s)) == SQLITE_ROW)
        e = look_at_family(b, s, tell, arg, m);
    if (!e && rc != SQLITE_DONE)
        e = db_fail(b, m);
    sqlite3_finalize(s);
    return e;
}

enum vb_err
facts_engine(struct vb_book *b, const char *engine, char *family, size_t size,
             struct vb_msg *m)
{
    sqlite3_stmt *s = NULL;
    enum vb_err e = db_prepare(b, "SELECT family FROM engines WHERE engine = ?", &s, m);
    if (e)
        return e;
    db_text(s, 1, engine);
    int rc = sqlite3_step(s);
    const char *of = rc == SQLITE_ROW ? (const char *)sqlite3_column_text(s, 0) : NULL;
    if (of)
        snprintf(family, size, "%s", of);
    else
        e = rc == SQLITE_DONE ? VB_EUNKNOWN : db_fail(b, m);
    sqlite3_finalize(s);
    if (e == VB_EUNKNOWN) {
        vb_msg_at(m, b->path, 0, NULL);
        vb_msg_set(m, "unknown engine '%.60s'", engine);
    }
    return e;
}

void
facts_place(const char *at, struct vb_event *ev)
{
    struct vb_cam_place cam;
    if (!vb_valve_part(at, strlen(at), &ev->at) ||
        vb_cam_place_parse(at, strlen(at), &cam))
        return; // the loader lets nothing else in
    ev->at.side = cam.side;
    ev->bank = cam.bank;
}

/* Parts that a bank, or a cam, has for itself. */
static int
of_a_cam(const char *part)
{
    int renews = vb_part_renews(part, strlen(part));
    return strcmp(part, "cam") == 0 || renews == (VB_RENEWS_DRIVE | VB_RENEWS_TIMING);
}

void
facts_one_cam(const struct vb_family *f, const char *part, struct vb_event *ev)
{
    if (f->cam_for == VB_CAM_FOR_SIDE || !of_a_cam(part))
        return;
    if (ev->at.cyl)
        ev->bank = f->banks.of[ev->at.cyl];
    if (f->cam_for == VB_CAM_FOR_ENGINE)
        ev->bank = 0;
    ev->at = (struct vb_valve){0};
}

int
facts_of_cams(const char *event, const char *part, const char *at,
              struct vb_cam_place *out)
{
    return (strcmp(event, "fit") == 0 || of_a_cam(part)) &&
           !vb_cam_place_parse(at, strlen(at), out);
}

int
facts_lacks(const struct vb_family *f, const char *event, const char *part,
            const char *at, char *what)
{
    struct vb_cam_place cam;
    struct vb_valve v;
    char banks[27];
    size_t n = strlen(at);
    if (!n || strcmp(event, "meter") == 0) // it is a figure there
        return 0;
    if (facts_of_cams(event, part, at, &cam)) {
        vb_banks_list(&f->banks, banks);
        snprintf(what, LACKS_MAX, "bank '%c'", cam.bank);
        return cam.bank && !strchr(banks, cam.bank);
    }
    if (vb_valve_parse(at, n, &v) && vb_valve_part(at, n, &v))
        return 0;
    snprintf(what, LACKS_MAX, "%s '%.40s'", v.side ? "valve" : "cylinder", at);
    return !vb_family_has_part(f, v);
}

static enum vb_err
take_swap(sqlite3_stmt *s, struct swaps *out)
{
    struct vb_swap *p = realloc(out->swap, (out->n + 1) * sizeof *p);
    if (!p)
        return VB_EMEM;
    out->swap = p;
    p += out->n++;
    *p = (struct vb_swap){0, sqlite3_column_double(s, 1), 0};
    const char *first = db_word(s, 2);
    if (*first)
        vb_double_parse(first, strlen(first), &p->first);
    vb_date_days(db_word(s, 0), &p->day);
    return VB_OK;
}

/* `meter` is what the old meter showed last, `at` what the new one began with. */
enum vb_err
facts_swaps(struct vb_book *b, const char *engine, struct swaps *out, struct vb_msg *m)
{
    enum vb_err e = b->swaps
                        ? VB_OK
                        : db_prepare(b,
                                     "SELECT date, meter, at FROM events WHERE engine = ?"
                                     " AND event = 'meter' ORDER BY date",
                                     &b->swaps, m);
    int rc = SQLITE_DONE;
    out->n = 0;
    if (e)
        return e;
    db_text(b->swaps, 1, engine);
    while (!e && (rc = sqlite3_step(b->swaps)) == SQLITE_ROW)
        e = take_swap(b->swaps, out);
    if (!e && rc != SQLITE_DONE)
        e = db_fail(b, m);
    sqlite3_reset(b->swaps);
    return e;
}
