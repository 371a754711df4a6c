/*
 * Taking readings back: found and left one by one, since the halves of a reading may have
 * come from two sheets. A reading of which neither stands is gone, and so is a visit
 * without readings. What else was known of it stays in the history under the column
 * "from".
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "reading_impl.h"

#define HALVES 2 // of N_VALUES: found and left

/* --- what is known of a reading beside its halves ------------------------------------ */

/* A reading with its visit and origin. */
#define WHOLE_READING                                                                    \
    "SELECT reading, visit, found, left, u, temp_c, meter, meter_unit, gauge, by, note," \
    " source, line"                                                                      \
    " FROM visits JOIN places JOIN reading ON reading = visit << 16 | place JOIN "       \
    "origins"                                                                            \
    " USING(origin) WHERE engine = ? AND date = ? AND quantity = ? AND at = ?"
enum {
    W_READING,
    W_VISIT,
    W_VALUES,
    W_METER = W_VALUES + N_VALUES,
    W_UNIT,
    W_GAUGE,
    W_SOURCE = 11
};

/* u, temp_c, meter and its unit as one, gauge, by, note, and source and line as one:
 * FROM_CELLS of them. */
enum { F_U, F_TEMP, F_METER = FROM_METER, F_GAUGE, F_BY, F_NOTE, F_SOURCE };

#define METER_MAX (VB_NUM_MAX + 8)

static void
join_meter(double meter, const char *unit, char *out)
{
    char text[VB_NUM_MAX];
    vb_double_format(meter, text);
    snprintf(out, METER_MAX, "%s%s%s", text, *text && *unit ? " " : "",
             *text ? unit : "");
}

/* *unit: "" if an older version has kept it. 0 if there is no figure. */
static int
split_meter(const char *cell, double *meter, const char **unit)
{
    size_t n = strcspn(cell, " ");
    *unit = cell[n] ? cell + n + 1 : "";
    return !vb_double_parse(cell, n, meter);
}

/* number: u, temp_c and meter. */
static void
join_from(const double *number, const char *unit, const char *const *part,
          const char *line, char *out, size_t size)
{
    char text[3][METER_MAX], source[2 * MAX_CELL] = "";
    const char *last[2] = {part[3], line};
    const char *cell[FROM_CELLS] = {text[0], text[1], text[2], part[0],
                                    part[1], part[2], source};
    for (int i = 0; i < F_METER; i++)
        vb_double_format(number[i], text[i]);
    join_meter(number[F_METER], unit, text[F_METER]);
    if (*part[3] || *line)
        cells_join(last, 2, source, sizeof source);
    cells_join(cell, FROM_CELLS, out, size);
}

static enum vb_err
from_of_row(sqlite3_stmt *s, char *out, size_t size)
{
    static const int columns[3] = {W_VALUES + 2, W_VALUES + 3, W_METER};
    double number[3];
    char line[24] = "";
    const char *part[4], *unit = (const char *)sqlite3_column_text(s, W_UNIT);
    if (!unit)
        return VB_EMEM;
    for (int i = 0; i < 3; i++)
        number[i] = sqlite3_column_type(s, columns[i]) == SQLITE_NULL
                        ? NAN
                        : sqlite3_column_double(s, columns[i]);
    for (int i = 0; i < 4; i++)
        if (!(part[i] = (const char *)sqlite3_column_text(s, W_GAUGE + i)))
            return VB_EMEM;
    if (sqlite3_column_type(s, W_SOURCE + 1) != SQLITE_NULL)
        snprintf(line, sizeof line, "%lld",
                 (long long)sqlite3_column_int64(s, W_SOURCE + 1));
    join_from(number, unit, part, line, out, size);
    return VB_OK;
}

static void
key_with(char k[][MAX_CELL], const char *column, char *out, size_t size)
{
    const char *cell[N_KEY] = {k[0], k[1], k[2], k[3], column};
    cells_join(cell, N_KEY, out, size);
}

/* Stands on the reading; *rc is SQLITE_DONE if there is none. */
static enum vb_err
find_whole(struct vb_book *b, char k[][MAX_CELL], sqlite3_stmt **s, int *rc,
           struct vb_msg *m)
{
    enum vb_err e = db_prepare(b, WHOLE_READING, s, m);
    for (int i = 0; !e && i < 4; i++)
        db_text(*s, i + 1, k[i]);
    *rc = e ? SQLITE_DONE : sqlite3_step(*s);
    return !e && *rc != SQLITE_ROW && *rc != SQLITE_DONE ? db_fail(b, m) : e;
}

/* --- arriving ---------------------------------------------------------------------- */

static void
key_of_row(struct reader *r, char key[][MAX_CELL])
{
    struct vb_text d = feed_cell(r->f, R_DATE);
    snprintf(key[0], MAX_CELL, "%s", r->engine->name);
    vb_date_parse(d.s, d.n, "", key[1]);
    snprintf(key[2], MAX_CELL, "%s", r->now.quantity->name);
    snprintf(key[3], MAX_CELL, "%s", r->now.at);
}

enum vb_err
visit_withdrawn(struct reader *r, const char *date, int *some)
{
    char from[KEY_MAX], to[KEY_MAX];
    const char *key[] = {r->engine->name, date, ""};
    sqlite3_stmt *s = NULL;
    *some = 0;
    if (!r->withdrawn)
        return VB_OK;
    enum vb_err e = reader_sync(r);
    if (!e)
        e = db_prepare(r->b,
                       "SELECT 1 FROM history WHERE \"table\" = 'readings' AND key >= ?1"
                       " AND key < ?2 AND new = '' LIMIT 1",
                       &s, r->m);
    if (e)
        return e;
    size_t n = cells_join(key, 3, from, sizeof from); // ends in a comma
    memcpy(to, from, n + 1);
    to[n - 1] = ',' + 1;
    db_text(s, 1, from);
    db_text(s, 2, to);
    int rc = sqlite3_step(s);
    *some = rc == SQLITE_ROW;
    if (rc != SQLITE_ROW && rc != SQLITE_DONE)
        e = db_fail(r->b, r->m);
    sqlite3_finalize(s);
    return e;
}

/* A half that was withdrawn says nothing; taken in again, it says so in the history. */
static enum vb_err
filter_half(struct reader *r, int i, double *v, int *dropped)
{
    char key[KEY_MAX], mine[VB_NUM_MAX], now[VB_NUM_MAX];
    reading_key(r, reading_columns[i], key, sizeof key);
    vb_double_format(*v, mine);
    memcpy(now, mine, sizeof now);
    enum vb_err e = history_latest(r->b, "readings", key, now, VB_NUM_MAX, r->m);
    if (e || now[0])
        return e;
    if (r->ld->l->correct && !r->visit.ok)
        return VB_OK; // it will be refused
    if (r->ld->l->correct)
        return history_add(r->b, "readings", key, "", mine, r->m);
    *v = NAN;
    *dropped = 1;
    return VB_OK;
}

static void
text_cell(struct reader *r, size_t col, char *out, size_t size)
{
    struct vb_text t = feed_cell(r->f, col);
    snprintf(out, size, "%.*s", (int)(t.n < size ? t.n : size - 1), t.n ? t.s : "");
}

/* A figure of the row's visit becomes what it was corrected to. */
static enum vb_err
as_corrected(struct reader *r, double *meter)
{
    char date[VB_DATE_MAX] = "";
    struct vb_text d = feed_cell(r->f, R_DATE);
    vb_date_parse(d.s, d.n, "", date);
    return latest_meter(r, date, meter);
}

/* What a withdrawn row knows is kept with what others knew of the same reading. */
static enum vb_err
widen_from(struct reader *r)
{
    static const size_t column[4] = {R_GAUGE, R_BY, R_NOTE, R_SOURCE};
    char key[KEY_MAX], part[4][MAX_CELL], line[24], text[4 * MAX_CELL];
    const char *cell[4] = {part[0], part[1], part[2], part[3]}, *unit;
    double number[3] = {r->now.in.v[2], r->now.in.v[3]};
    (void)meter_of_row(r->f, &number[F_METER], &unit); // not to be read: not known
    enum vb_err e = as_corrected(r, &number[F_METER]);
    if (e)
        return e;
    for (int i = 0; i < 4; i++)
        text_cell(r, column[i], part[i], MAX_CELL);
    text_cell(r, R_LINE, line, sizeof line);
    join_from(number, unit, cell, line, text, sizeof text);
    reading_key(r, "from", key, sizeof key);
    const struct past p = {"readings", key, text, "", 0};
    return history_widen(r->b, &p, r->m);
}

/* The meter of the row and that of `from`, each as it was corrected since. */
static enum vb_err
same_meter(struct reader *r, const char *from, const char *mine, int *same)
{
    const char *unit, *had;
    double here, then;
    *same = !split_meter(from, &then, &had) || !split_meter(mine, &here, &unit);
    if (*same) // one of them has none
        return VB_OK;
    enum vb_err e = here == then ? VB_OK : as_corrected(r, &here);
    if (!e && here != then)
        e = as_corrected(r, &then);
    *same = here == then && (!*had || strcmp(unit, had) == 0);
    return e;
}

/*
 * With another meter it is not what was withdrawn, and to pass it over would lose it without
 * a word. Nor can it simply come in: in a book that got the two the other way round it would
 * have gone again.
 */
static enum vb_err
refuse_other_meter(struct reader *r, int *other)
{
    char key[KEY_MAX], text[4 * MAX_CELL] = "", part[FROM_CELLS][MAX_CELL];
    char mine[METER_MAX];
    const char *unit;
    double here;
    int same = 1;
    (void)meter_of_row(r->f, &here, &unit); // not to be read: nothing to compare
    join_meter(here, unit, mine);
    reading_key(r, "from", key, sizeof key);
    enum vb_err e = history_last(r->b, "readings", key, text, sizeof text, r->m);
    if (!e && *text)
        e = cells_split(text, part, FROM_CELLS);
    if (!e && *text)
        e = same_meter(r, part[F_METER], mine, &same);
    *other = !e && !same;
    if (*other)
        load_refuse(r->ld, r->f, "meter",
                    "%s here, %s when this reading was withdrawn (--correct takes it in)",
                    mine, part[F_METER]);
    return e == VB_ESYNTAX ? VB_OK : e; // nothing that this version has written
}

/* Which halves of the reading the book has. */
static enum vb_err
halves_standing(struct reader *r, int *has)
{
    char key[N_KEY][MAX_CELL], text[VB_NUM_MAX];
    enum vb_err e = VB_OK;
    key_of_row(r, key);
    for (int i = 0; !e && i < HALVES; i++) {
        snprintf(key[4], MAX_CELL, "%s", reading_columns[i]);
        e = reading_get(r->b, key, text, r->m);
        has[i] = !e && text[0];
    }
    return e;
}

/* Of a reading that stands the meter is its visit's, which is looked at there. A half that
 * another value has taken the place of is not missed. */
enum vb_err
leave_withdrawn(struct reader *r, int *gone)
{
    int dropped[HALVES] = {0}, has[HALVES] = {0}, other = 0, missing = 0;
    double *v = r->now.in.v;
    *gone = 0;
    enum vb_err e = reader_sync(r);
    for (int i = 0; !e && i < HALVES; i++)
        if (!isnan(v[i]))
            e = filter_half(r, i, &v[i], &dropped[i]);
    if (e || (!dropped[0] && !dropped[1]))
        return e;
    e = halves_standing(r, has);
    if (!e && !((has[0] || has[1]) && r->visit.ok && !r->visit.late))
        e = refuse_other_meter(r, &other);
    for (int i = 0; i < HALVES; i++)
        missing |= dropped[i] && !has[i];
    r->ld->passed += missing && !other;
    *gone = other || (isnan(v[0]) && isnan(v[1]));
    return e || other || !*gone ? e : widen_from(r);
}

/* --- given to be withdrawn --------------------------------------------------------- */

/* *stands: as the row says. *ok = 0 after it was refused; a half may have gone before. */
static enum vb_err
check_cell(struct reader *r, int i, char key[][MAX_CELL], int *stands, int *ok)
{
    char joined[KEY_MAX], mine[VB_NUM_MAX], now[VB_NUM_MAX], book[VB_NUM_MAX];
    vb_double_format(r->now.in.v[i], mine);
    memcpy(now, mine, sizeof now);
    snprintf(key[4], MAX_CELL, "%s", reading_columns[i]);
    reading_key(r, reading_columns[i], joined, sizeof joined);
    enum vb_err e = reading_get(r->b, key, book, r->m);
    *stands = !e && strcmp(mine, book) == 0;
    if (e || *stands)
        return e;
    if (i < HALVES)
        e = history_latest(r->b, "readings", joined, now, VB_NUM_MAX, r->m);
    if (e || !now[0])
        return e;
    *ok = 0;
    load_refuse(r->ld, r->f, reading_columns[i], "%s %s of %s: %s here, %s in the book",
                r->now.quantity->name, r->now.at, r->engine->name, mine,
                book[0] ? book : "nothing");
    return VB_OK;
}

static enum vb_err
withdraw_half(struct reader *r, int i, char key[][MAX_CELL])
{
    char joined[KEY_MAX], text[VB_NUM_MAX];
    vb_double_format(r->now.in.v[i], text);
    reading_key(r, reading_columns[i], joined, sizeof joined);
    snprintf(key[4], MAX_CELL, "%s", reading_columns[i]);
    enum vb_err e = history_add(r->b, "readings", joined, text, "", r->m);
    return e ? e : reading_unset(r->b, key, r->m);
}

enum vb_err
row_withdraw(struct reader *r)
{
    char key[N_KEY][MAX_CELL] = {{0}}, from[KEY_MAX];
    int stands[N_VALUES] = {0}, ok = 1;
    enum vb_err e = reader_sync(r);
    key_of_row(r, key);
    for (int i = 0; !e && ok && i < N_VALUES; i++)
        if (!isnan(r->now.in.v[i]) && (i < HALVES || stands[0] || stands[1]))
            e = check_cell(r, i, key, &stands[i], &ok);
    if (e || !ok || (!stands[0] && !stands[1]))
        return e;
    if (!r->visit.ok)
        return visit_refuse(r);
    for (int i = 0; !e && i < HALVES; i++)
        if (stands[i])
            e = withdraw_half(r, i, key);
    reading_key(r, "from", from, sizeof from);
    return e ? e : reading_tidy(r->b, from, 1, r->m);
}

/* --- withdrawn elsewhere ----------------------------------------------------------- */

enum vb_err
reading_settle(struct vb_book *b, const char *key, struct vb_msg *m)
{
    char k[N_KEY][MAX_CELL], stands[VB_NUM_MAX], now[VB_NUM_MAX];
    enum vb_err e = cells_split(key, k, N_KEY);
    if (!e)
        e = reading_get(b, k, stands, m);
    if (e || !stands[0])
        return e == VB_ESYNTAX ? VB_OK : e; // no key of a reading, or nothing stands
    memcpy(now, stands, sizeof now);
    e = history_latest(b, "readings", key, now, VB_NUM_MAX, m);
    if (e || strcmp(now, stands) == 0)
        return e;
    return now[0] ? reading_set(b, k, now, m) : reading_unset(b, k, m);
}

/* --- what is left of a reading ------------------------------------------------------ */

static enum vb_err
delete_reading(struct vb_book *b, sqlite3_int64 reading, sqlite3_int64 visit,
               struct vb_msg *m)
{
    char sql[256];
    snprintf(sql, sizeof sql,
             "DELETE FROM reading WHERE reading = %lld; DELETE FROM visits WHERE visit ="
             " %lld AND NOT EXISTS(SELECT 1 FROM reading WHERE reading BETWEEN %lld AND"
             " %lld)",
             (long long)reading, (long long)visit, (long long)(visit << 16),
             (long long)((visit << 16) + 65535));
    return db_exec(b, sql, m);
}

enum vb_err
reading_tidy(struct vb_book *b, const char *key, int own, struct vb_msg *m)
{
    char k[N_KEY][MAX_CELL], from[KEY_MAX], text[4 * MAX_CELL];
    sqlite3_stmt *s = NULL;
    int rc;
    enum vb_err e = cells_split(key, k, N_KEY);
    if (e)
        return e == VB_ESYNTAX ? VB_OK : e;
    e = find_whole(b, k, &s, &rc, m);
    int over = !e && rc == SQLITE_ROW &&
               sqlite3_column_type(s, W_VALUES) == SQLITE_NULL &&
               sqlite3_column_type(s, W_VALUES + 1) == SQLITE_NULL;
    sqlite3_int64 reading = over ? sqlite3_column_int64(s, W_READING) : 0;
    sqlite3_int64 visit = over ? sqlite3_column_int64(s, W_VISIT) : 0;
    if (over)
        e = from_of_row(s, text, sizeof text);
    sqlite3_finalize(s);
    if (e || !over)
        return e;
    key_with(k, "from", from, sizeof from);
    const struct past p = {"readings", from, text, "", 0};
    e = own ? history_add(b, "readings", from, text, "", m) : history_widen(b, &p, m);
    return e ? e : delete_reading(b, reading, visit, m);
}

/* --- taken in again ------------------------------------------------------------------ */

/* The origin with these parts. */
static enum vb_err
origin_of(struct vb_book *b, char part[][MAX_CELL], const char *source, sqlite3_int64 *id,
          struct vb_msg *m)
{
    static const char *const sql[] = {
        "INSERT OR IGNORE INTO origins(source, gauge, by, note) VALUES(?, ?, ?, ?)",
        "SELECT origin FROM origins WHERE source = ? AND gauge = ? AND by = ? AND note = "
        "?"};
    enum vb_err e = VB_OK;
    for (int i = 0; !e && i < 2; i++) {
        sqlite3_stmt *s = NULL;
        if ((e = db_prepare(b, sql[i], &s, m)))
            return e;
        db_text(s, 1, source);
        for (int k = 0; k < 3; k++)
            db_text(s, 2 + k, part[F_GAUGE + k]);
        int rc = sqlite3_step(s);
        if (rc == SQLITE_ROW)
            *id = sqlite3_column_int64(s, 0);
        else if (rc != SQLITE_DONE)
            e = db_fail(b, m);
        sqlite3_finalize(s);
    }
    return e;
}

/* Blanks are filled from what is known, and where it came from is the least of all. */
static enum vb_err
fill_reading(struct vb_book *b, sqlite3_int64 reading, char part[][MAX_CELL],
             struct vb_msg *m)
{
    char last[2][MAX_CELL] = {"", ""};
    double x;
    sqlite3_int64 origin = 0;
    sqlite3_stmt *s = NULL;
    enum vb_err e = *part[F_SOURCE] ? cells_split(part[F_SOURCE], last, 2) : VB_OK;
    if (!e)
        e = origin_of(b, part, last[0], &origin, m);
    if (!e)
        e = db_prepare(b,
                       "UPDATE reading SET u = coalesce(u, ?), temp_c = coalesce(temp_c,"
                       " ?), origin = ?, line = ? WHERE reading = ?",
                       &s, m);
    if (e)
        return e == VB_ESYNTAX ? VB_OK : e;
    for (int i = F_U; i <= F_TEMP; i++)
        if (!vb_double_parse(part[i], strlen(part[i]), &x))
            sqlite3_bind_double(s, i + 1, x);
    sqlite3_bind_int64(s, 3, origin);
    if (!vb_double_parse(last[1], strlen(last[1]), &x))
        sqlite3_bind_int64(s, 4, (sqlite3_int64)x);
    sqlite3_bind_int64(s, 5, reading);
    e = db_run(b, s, m);
    sqlite3_finalize(s);
    return e;
}

/* Does a half that stands say what was withdrawn once? */
static enum vb_err
was_withdrawn(struct vb_book *b, char k[][MAX_CELL], sqlite3_stmt *row, int *yes,
              struct vb_msg *m)
{
    char key[KEY_MAX], text[VB_NUM_MAX];
    enum vb_err e = VB_OK;
    *yes = 0;
    for (int i = 0; !e && !*yes && i < HALVES; i++) {
        if (sqlite3_column_type(row, W_VALUES + i) == SQLITE_NULL)
            continue;
        vb_double_format(sqlite3_column_double(row, W_VALUES + i), text);
        key_with(k, reading_columns[i], key, sizeof key);
        const struct past p = {"readings", key, text, "", 0};
        e = history_knows(b, &p, yes, m);
    }
    return e;
}

/* The meter is the visit's. */
static int
knows_all(char now[][MAX_CELL], char all[][MAX_CELL])
{
    for (int i = 0; i < FROM_CELLS; i++)
        if (i != F_METER && strcmp(now[i], all[i]) != 0)
            return 0;
    return 1;
}

enum vb_err
reading_rejoin(struct vb_book *b, const char *key, struct vb_msg *m)
{
    char k[N_KEY][MAX_CELL], text[4 * MAX_CELL];
    char now[FROM_CELLS][MAX_CELL], all[FROM_CELLS][MAX_CELL];
    sqlite3_stmt *s = NULL;
    int rc, again = 0;
    enum vb_err e = cells_split(key, k, N_KEY);
    if (e || strcmp(k[4], "from") != 0)
        return e == VB_ESYNTAX ? VB_OK : e;
    e = find_whole(b, k, &s, &rc, m);
    if (!e && rc == SQLITE_ROW)
        e = was_withdrawn(b, k, s, &again, m);
    sqlite3_int64 reading = again ? sqlite3_column_int64(s, W_READING) : 0;
    if (!e && again)
        e = from_of_row(s, text, sizeof text);
    sqlite3_finalize(s);
    if (e || !again)
        return e;
    const struct past p = {"readings", key, text, "", 0};
    if ((e = cells_split(text, now, FROM_CELLS)))
        return e == VB_ESYNTAX ? VB_OK : e; // longer than readings may be by now
    e = history_widen(b, &p, m);
    if (!e)
        e = history_last(b, "readings", key, text, sizeof text, m);
    if (!e)
        e = cells_split(text, all, FROM_CELLS);
    if (e || knows_all(now, all))
        return e == VB_ESYNTAX ? VB_OK : e; // nothing that this version has written
    e = fill_reading(b, reading, all, m);
    return e ? e : stale(b, STALE_ENGINE, k[0], m);
}
