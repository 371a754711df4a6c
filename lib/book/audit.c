/* Is a book whole? What is looked at, one after the other, and how findings are told. */
#include "audit_impl.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "valvebook/date.h"

const char *const audit_tables[A_TABLES] = {
    "families", "engines", "events",      "gauges", "plan",    "lobes",
    "shims",    "trials",  "history",     "visits", "origins", "places",
    "reading",  "alerts",  "alerts_told", "fresh"};

static struct audit_kind *
kind_of(struct audit *a, const char *table, const char *column)
{
    struct audit_kind *k = a->kind;
    for (size_t i = 0; i < a->n_kinds; i++, k++)
        if (strcmp(k->table, table) == 0 && strcmp(k->column, column) == 0)
            return k;
    if (a->n_kinds == KINDS) // GCOVR_EXCL_BR_LINE: there are not so many columns
        return k - 1;
    a->n_kinds++;
    snprintf(k->table, sizeof k->table, "%s", table);
    snprintf(k->column, sizeof k->column, "%s", column);
    return k;
}

static void
put_row(struct audit *a, const char *table, const char *key, const char *column,
        const char *reason)
{
    const char *cell[] = {table, key, column, reason};
    vb_out_words(a->c->out, cell, 4);
}

void
audit_tell(struct audit *a, const char *table, const char *key, const char *column,
           const char *fmt, ...)
{
    char text[512], shown[512];
    va_list ap;
    struct audit_kind *k = kind_of(a, table, column);
    a->c->found++;
    if (k->n++ >= VB_CHECK_SHOWN)
        return;
    va_start(ap, fmt);
    vsnprintf(text, sizeof text, fmt, ap);
    va_end(ap);
    put_row(a, table, key, column, vb_quote(text, strlen(text), shown, sizeof shown));
}

enum vb_err
audit_each(struct audit *a, const char *sql, audit_row *each, void *arg)
{
    sqlite3_stmt *s = NULL;
    int rc = SQLITE_DONE;
    enum vb_err e = db_prepare(a->b, sql, &s, a->m);
    while (!e && (rc = sqlite3_step(s)) == SQLITE_ROW)
        e = each(a, arg, s);
    if (!e && rc != SQLITE_DONE)
        e = db_fail(a->b, a->m);
    sqlite3_finalize(s);
    return e;
}

void
audit_date(struct audit *a, const char *table, const char *key, const char *column,
           const char *date)
{
    char iso[VB_DATE_MAX];
    if (vb_date_parse(date, strlen(date), "", iso) || strcmp(date, iso) != 0)
        audit_tell(a, table, key, column, "bad date '%.40s'", date);
    else if (strncmp(date, a->c->as_of, 10) > 0)
        audit_tell(a, table, key, column, "%s is later than %s", date, a->c->as_of);
}

#define OWN       (BIT(A_FAMILIES) | BIT(A_ENGINES))
#define ROWS      (BIT(A_VISITS) | BIT(A_ORIGINS) | BIT(A_PLACES) | BIT(A_READING))
#define ALL_SMALL (BIT(A_VISITS) - 1)

/* What is looked at, of which table, and what that needs. */
static const struct look {
    enum vb_err (*run)(struct audit *a, enum audit_table table);
    enum audit_table table;
    const char *what;
    unsigned needs, counts; // tables that must be whole, whose rows are counted
} looks[] = {
    {audit_schema, A_TABLES, "the schema", 0, 0},
    {audit_file, A_TABLES, "the file", 0, 0},
    {audit_small, A_FAMILIES, "families", BIT(A_FAMILIES), 0},
    {audit_families, A_FAMILIES, "families", BIT(A_FAMILIES), 0},
    {audit_small, A_ENGINES, "engines", OWN, BIT(A_ENGINES)},
    {audit_small, A_EVENTS, "events", OWN | BIT(A_EVENTS), BIT(A_EVENTS)},
    {audit_small, A_GAUGES, "gauges", BIT(A_GAUGES), 0},
    {audit_small, A_PLAN, "plan", BIT(A_ENGINES) | BIT(A_PLAN), 0},
    {audit_small, A_LOBES, "lobes", BIT(A_LOBES), 0},
    {audit_small, A_SHIMS, "shims", BIT(A_SHIMS), 0},
    {audit_small, A_TRIALS, "trials", BIT(A_TRIALS), 0},
    {audit_small, A_HISTORY, "history", BIT(A_HISTORY), BIT(A_HISTORY)},
    {audit_places, A_PLACES, "places", BIT(A_PLACES), 0},
    {audit_readings, A_READING, "readings", OWN | ROWS, BIT(A_VISITS) | BIT(A_READING)},
    {audit_meters, A_VISITS, "meters", BIT(A_ENGINES) | BIT(A_EVENTS) | BIT(A_VISITS), 0},
    {audit_past, A_HISTORY, "corrections", ALL_SMALL | ROWS, 0},
    {audit_alerts, A_ALERTS, "alerts", BIT(A_ALERTS) | BIT(A_TOLD), 0},
    {audit_kept, A_FRESH, "kept",
     OWN | BIT(A_EVENTS) | BIT(A_GAUGES) | BIT(A_PLAN) | ROWS | BIT(A_FRESH),
     BIT(A_FRESH)},
};
#define N_LOOKS (sizeof looks / sizeof *looks)

/* Whether that what SQLite could not do is the fault of the file, and not of those beside us
 * or of the machine. */
static int
is_damage(const struct audit *a, enum vb_err e)
{
    int code = a->b->code & 0xff;
    return e == VB_EDB && (code == SQLITE_CORRUPT || code == SQLITE_NOTADB);
}

/* One state of the book. Between two a loader that waits can end. */
static enum vb_err
look(struct audit *a, const struct look *l)
{
    const char *table = l->table == A_TABLES ? "" : audit_tables[l->table];
    if (l->needs & a->damaged) {
        a->skipped |= 1U << (l - looks);
        return VB_OK;
    }
    enum vb_err e = db_exec(a->b, "BEGIN", a->m);
    if (e)
        return e;
    a->b->code = SQLITE_OK;
    e = l->run(a, l->table);
    a->seen |= l->counts;
    if (is_damage(a, e)) {
        audit_tell(a, table, "", "", "cannot be read to its end: %s", a->m->text);
        a->damaged |= l->table == A_TABLES ? ALL_TABLES : BIT(l->table);
        e = VB_OK;
    }
    if (!e && !sqlite3_get_autocommit(a->b->db))
        e = db_exec(a->b, "ROLLBACK", a->m);
    return e;
}

static void
put_rest(struct audit *a)
{
    char text[64];
    for (size_t i = 0; i < a->n_kinds; i++) {
        const struct audit_kind *k = &a->kind[i];
        if (k->n <= VB_CHECK_SHOWN)
            continue;
        snprintf(text, sizeof text, "and %llu more", k->n - VB_CHECK_SHOWN);
        put_row(a, k->table, "", k->column, text);
    }
}

/* ": engines 8, visits 107", of what was looked at; and what was not. */
static void
put_counts(const struct audit *a, char *text, size_t size)
{
    static const struct {
        enum audit_table table;
        const char *word;
    } count[] = {{A_ENGINES, "engines"}, {A_VISITS, "visits"},   {A_READING, "readings"},
                 {A_EVENTS, "events"},   {A_HISTORY, "history"}, {A_FRESH, "kept"}};
    const char *between = ": ";
    for (size_t i = 0; i < sizeof count / sizeof *count; i++) {
        if (!(a->seen & BIT(count[i].table)))
            continue;
        snprintf(text + strlen(text), size - strlen(text), "%s%s %llu", between,
                 count[i].word, a->rows[count[i].table]);
        between = ", ";
    }
    between = "; not looked at: ";
    for (size_t i = 0; i < N_LOOKS; i++) {
        if (!(a->skipped & 1U << i) || (i && looks[i].table == looks[i - 1].table))
            continue;
        snprintf(text + strlen(text), size - strlen(text), "%s%s", between,
                 looks[i].what);
        between = ", ";
    }
}

static void
put_end(struct audit *a)
{
    char text[640] = "nothing wrong";
    if (a->c->found)
        snprintf(text, sizeof text, "%llu finding%s", a->c->found,
                 a->c->found == 1 ? "" : "s");
    if (a->b->older)
        snprintf(text + strlen(text), sizeof text - strlen(text),
                 " in the file; this book is of an older version, and its rows are not "
                 "looked at");
    else
        put_counts(a, text, sizeof text);
    put_row(a, "end", "", "", text);
}

enum vb_err
vb_book_check(struct vb_book *b, struct vb_check *c, struct vb_msg *m)
{
    struct vb_msg own = {0};
    struct audit a = {.b = b, .c = c, .m = m ? m : &own};
    enum vb_err e = VB_OK;
    put_row(&a, "table", "key", "column", "reason");
    for (size_t i = 0; !e && i < N_LOOKS; i++)
        if (!b->older || looks[i].run == audit_file)
            e = look(&a, &looks[i]);
    if (e)
        return e;
    vb_msg_clear(m);
    put_rest(&a);
    put_end(&a);
    return VB_OK;
}
