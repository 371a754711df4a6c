#include "book_impl.h"

#include <stdio.h>
#include <string.h>

#define APPLICATION_ID 0x76624f4b // "vbOK"

/* valve-book itself says what of fresh is stale (stale.c), and has no triggers run. */
#define FORGET(event, table)                                                             \
    "CREATE TRIGGER " table "_" event " AFTER " event " ON " table                       \
    " BEGIN DELETE FROM fresh; END;"
#define FORGET_AT(table)                                                                 \
    FORGET("insert", table) FORGET("update", table) FORGET("delete", table)

/*
 * Each step brings a book from one version to the next and is never changed once it has
 * been released. Version = number of steps taken = PRAGMA user_version.
 *
 * Expected sizes: some hundreds of engines, tens of visits each, 8 to 48 readings a
 * visit, and some hundred places (a quantity at a valve) in all. What names a reading is
 * packed into its rowid, visit * 65536 + place: readings of a visit are neighbours on
 * disk, no second index has to be kept, and appending is the cheapest insert SQLite has.
 */
static const char *const steps[] = {
    "CREATE TABLE families(family TEXT NOT NULL, side TEXT NOT NULL, key TEXT NOT NULL,"
    " value TEXT NOT NULL, unit TEXT NOT NULL, PRIMARY KEY(family, side, key))"
    " STRICT, WITHOUT ROWID;"
    "CREATE TABLE engines(engine TEXT PRIMARY KEY NOT NULL, family TEXT NOT NULL,"
    " in_service TEXT NOT NULL, site TEXT NOT NULL, note TEXT NOT NULL) STRICT, WITHOUT "
    "ROWID;"
    "CREATE TABLE events(engine TEXT NOT NULL REFERENCES engines, date TEXT NOT NULL,"
    " meter REAL, meter_unit TEXT NOT NULL, event TEXT NOT NULL, part TEXT NOT NULL,"
    " at TEXT NOT NULL, build TEXT NOT NULL, note TEXT NOT NULL,"
    " PRIMARY KEY(engine, date, event, part, at)) STRICT, WITHOUT ROWID;"
    "CREATE TABLE gauges(gauge TEXT PRIMARY KEY NOT NULL, kind TEXT NOT NULL, resolution "
    "REAL,"
    " unit TEXT NOT NULL, u REAL, valid_until TEXT NOT NULL) STRICT, WITHOUT ROWID;"
    "CREATE TABLE plan(engine TEXT NOT NULL REFERENCES engines, date TEXT NOT NULL,"
    " meter_gain REAL, label TEXT NOT NULL, PRIMARY KEY(engine, date, label))"
    " STRICT, WITHOUT ROWID;"
    "CREATE TABLE lobes(lobe TEXT NOT NULL, cam_deg REAL NOT NULL, lift REAL NOT NULL,"
    " unit TEXT NOT NULL, PRIMARY KEY(lobe, cam_deg)) STRICT, WITHOUT ROWID;"
    "CREATE TABLE shims(thickness REAL NOT NULL, unit TEXT NOT NULL, count REAL NOT NULL,"
    " PRIMARY KEY(thickness, unit)) STRICT, WITHOUT ROWID;"
    "CREATE TABLE trials(gauge TEXT NOT NULL, part TEXT NOT NULL, by TEXT NOT NULL,"
    " trial REAL NOT NULL, value REAL NOT NULL, unit TEXT NOT NULL,"
    " PRIMARY KEY(gauge, part, by, trial)) STRICT, WITHOUT ROWID;"
    "CREATE TABLE visits(visit INTEGER PRIMARY KEY, engine TEXT NOT NULL REFERENCES "
    "engines,"
    " date TEXT NOT NULL, meter REAL, meter_unit TEXT NOT NULL, UNIQUE(engine, date)) "
    "STRICT;"
    "CREATE TABLE origins(origin INTEGER PRIMARY KEY, source TEXT NOT NULL,"
    " gauge TEXT NOT NULL, by TEXT NOT NULL, note TEXT NOT NULL,"
    " UNIQUE(source, gauge, by, note)) STRICT;"
    "CREATE TABLE places(place INTEGER PRIMARY KEY, quantity TEXT NOT NULL, at TEXT NOT "
    "NULL,"
    " UNIQUE(quantity, at)) STRICT;"
    "CREATE TABLE reading(reading INTEGER PRIMARY KEY,"
    " found REAL, left REAL, u REAL, temp_c REAL,"
    " origin INTEGER NOT NULL REFERENCES origins, line INTEGER) STRICT;"
    "CREATE TABLE history(\"table\" TEXT NOT NULL, key TEXT NOT NULL, seq REAL NOT NULL,"
    " old TEXT NOT NULL, new TEXT NOT NULL, PRIMARY KEY(\"table\", key, seq))"
    " STRICT, WITHOUT ROWID;"
    "CREATE VIEW readings AS SELECT engine, date, meter, meter_unit, quantity, at, "
    "found, left,"
    " u, temp_c, gauge, by, note, source, line FROM visits"
    " JOIN reading ON reading.reading BETWEEN visits.visit << 16 AND (visits.visit << "
    "16) + 65535"
    " JOIN places ON places.place = reading & 65535 JOIN origins USING(origin);",

    /* The engines of which something computed is kept (kept.c). The tables of it, units and
     * lives, are no longer made: the last step would drop them, and leave holes. */
    "CREATE TABLE fresh(engine TEXT PRIMARY KEY NOT NULL REFERENCES engines,"
    " version TEXT NOT NULL, newest TEXT NOT NULL) STRICT, WITHOUT ROWID;",

    /* Which cam was fitted, and which way it faces. What was corrected before had four
     * cells beside its key; it has six now. */
    "ALTER TABLE events ADD COLUMN item TEXT NOT NULL DEFAULT '';"
    "ALTER TABLE events ADD COLUMN faces TEXT NOT NULL DEFAULT '';"
    "UPDATE history SET old = old || ',,', new = new || ',,' WHERE \"table\" = "
    "'events';",

    /* What was said of alerts (alerts.c). runs counts how often that was changed. */
    "CREATE TABLE alerts(engine TEXT NOT NULL REFERENCES engines, kind TEXT NOT NULL,"
    " at TEXT NOT NULL, life TEXT NOT NULL, level TEXT NOT NULL, due_day REAL,"
    " due_running REAL, first_said TEXT NOT NULL, last_said TEXT NOT NULL,"
    " gone_since TEXT NOT NULL, set_day REAL, acked TEXT NOT NULL, acked_until TEXT"
    " NOT NULL, PRIMARY KEY(engine, kind, at, life)) STRICT, WITHOUT ROWID;"
    "CREATE TABLE alerts_told(one INTEGER PRIMARY KEY CHECK(one = 1), runs INTEGER NOT"
    " NULL, as_of TEXT NOT NULL) STRICT;"
    "INSERT INTO alerts_told VALUES(1, 0, '');",
    /* A trial may be a pair of blades, "0.25/0.3": numbers stay what they are. */
    "ALTER TABLE trials RENAME TO trials_before;"
    "CREATE TABLE trials(gauge TEXT NOT NULL, part TEXT NOT NULL, by TEXT NOT NULL,"
    " trial REAL NOT NULL, value ANY NOT NULL, unit TEXT NOT NULL,"
    " PRIMARY KEY(gauge, part, by, trial)) STRICT, WITHOUT ROWID;"
    "INSERT INTO trials SELECT * FROM trials_before;"
    "DROP TABLE trials_before;",
    /* What was computed of an engine, in one piece: with a column a number, reading took
     * most of the time of a list. */
    "DROP TABLE IF EXISTS lives; DROP TABLE IF EXISTS units; DROP TABLE IF EXISTS fresh;"
    "CREATE TABLE fresh(engine TEXT PRIMARY KEY NOT NULL REFERENCES engines, version TEXT"
    " NOT NULL, newest TEXT NOT NULL, kept BLOB NOT NULL) STRICT;",
    /* What families share is summed up before anything is said of an engine: from a piece
     * of its own, which the index has without the long one. */
    "DROP TABLE fresh;"
    "CREATE TABLE fresh(engine TEXT PRIMARY KEY NOT NULL REFERENCES engines, version TEXT"
    " NOT NULL, newest TEXT NOT NULL, sums BLOB NOT NULL, kept BLOB NOT NULL) STRICT;"
    "CREATE INDEX fresh_sums ON fresh(engine, version, newest, sums);",
    /* When another program writes rows of which something is kept, lists compute it afresh.
     * What was kept until now may be of rows that were written so. */
    "DELETE FROM fresh;" FORGET_AT("families") FORGET_AT("engines") FORGET_AT("events")
        FORGET_AT("gauges") FORGET_AT("visits") FORGET_AT("origins") FORGET_AT("places")
            FORGET_AT("reading"),
    /* What an alert that asks for a look has found. Of those that stand nobody knows. */
    "ALTER TABLE alerts ADD COLUMN found INTEGER NOT NULL DEFAULT 0;",
};

static int
pragma_int(sqlite3 *db, const char *name, int *v)
{
    char sql[64];
    sqlite3_stmt *s = NULL;
    snprintf(sql, sizeof sql, "PRAGMA %s", name);
    int rc = sqlite3_prepare_v2(db, sql, -1, &s, NULL);
    if (rc == SQLITE_OK && (rc = sqlite3_step(s)) == SQLITE_ROW) {
        *v = sqlite3_column_int(s, 0);
        rc = SQLITE_OK;
    }
    sqlite3_finalize(s);
    return rc;
}

/* All missing steps in one transaction: a book is never between two versions. */
enum vb_err
schema_upgrade(sqlite3 *db, const char *const *step, int n, int *code)
{
    char sql[96];
    int has = 0;
    int rc = sqlite3_exec(db, "BEGIN IMMEDIATE", NULL, NULL, NULL);
    if (rc == SQLITE_OK)
        rc = pragma_int(db, "user_version", &has); // another process may have been faster
    for (int i = has; rc == SQLITE_OK && i < n; i++)
        rc = sqlite3_exec(db, step[i], NULL, NULL, NULL);
    snprintf(sql, sizeof sql, "PRAGMA application_id=%d; PRAGMA user_version=%d",
             APPLICATION_ID, has > n ? has : n);
    if (rc == SQLITE_OK)
        rc = sqlite3_exec(db, sql, NULL, NULL, NULL);
    if (rc == SQLITE_OK)
        rc = sqlite3_exec(db, "COMMIT", NULL, NULL, NULL);
    if (rc != SQLITE_OK && code)
        *code = rc; // which the rollback makes SQLite forget
    if (rc != SQLITE_OK && !sqlite3_get_autocommit(db))
        sqlite3_exec(db, "ROLLBACK", NULL, NULL, NULL);
    return rc == SQLITE_OK ? VB_OK : VB_EDB;
}

enum vb_err
schema_make(sqlite3 *db)
{
    return schema_upgrade(db, steps, (int)(sizeof steps / sizeof *steps), NULL);
}

static enum vb_err
unknown(struct vb_book *b, struct vb_msg *m, const char *what)
{
    vb_msg_at(m, b->path, 0, NULL);
    vb_msg_set(m, "%s", what);
    return VB_EUNKNOWN;
}

enum vb_err
schema_open(struct vb_book *b, enum vb_book_mode mode, struct vb_msg *m)
{
    int id = 0, version = 0, objects = 0, code = SQLITE_OK;
    sqlite3_stmt *s = NULL;
    int want = (int)(sizeof steps / sizeof *steps);
    /* The tables are counted first: whoever makes this book meanwhile sets the id with
     * them. */
    enum vb_err e = db_prepare(b, "SELECT count(*) FROM sqlite_schema", &s, m);
    if (e)
        return e;
    if (sqlite3_step(s) == SQLITE_ROW)
        objects = sqlite3_column_int(s, 0);
    if (sqlite3_finalize(s) || pragma_int(b->db, "application_id", &id) ||
        pragma_int(b->db, "user_version", &version))
        return db_fail(b, m);
    if (id != APPLICATION_ID && (objects > 0 || mode != VB_BOOK_WRITE))
        return unknown(b, m, "this file is no valvebook");
    if (id == APPLICATION_ID && version < 1)
        return unknown(b, m, "this book says no version: was it changed by hand?");
    if (version > want)
        return unknown(b, m, "this book was written by a newer version of valvebook");
    b->older = version < want;
    if (version == want || mode == VB_BOOK_CHECK)
        return VB_OK;
    if (mode == VB_BOOK_READ)
        return unknown(
            b, m, "this book is of an older version; valve-book brings it up to date");
    return schema_upgrade(b->db, steps, want, &code) ? db_failed(b, code, m) : VB_OK;
}
