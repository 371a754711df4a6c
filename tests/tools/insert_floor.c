/*
 * insert_floor - so many rows of a reading's columns from memory into one plain table, one
 * prepared INSERT each, one transaction, SQLite's defaults: the floor of keeping them.
 *   insert_floor BOOK ROWS
 */
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>

static int
fill(sqlite3 *db, long rows)
{
    sqlite3_stmt *s = NULL;
    if (sqlite3_prepare_v2(db, "INSERT INTO reading VALUES(?,?,?,?,?,?,?)", -1, &s, NULL))
        return 1;
    for (long i = 0; i < rows; i++) {
        sqlite3_bind_int64(s, 1, i / 12 << 16 | i % 12);
        sqlite3_bind_double(s, 2, 0.25 + (double)(i % 97) / 1000);
        if (i % 3 == 0)
            sqlite3_bind_double(s, 3, 0.3);
        else
            sqlite3_bind_null(s, 3);
        sqlite3_bind_double(s, 5, 21.1111);
        sqlite3_bind_int(s, 6, (int)(i / 12 % 3));
        sqlite3_bind_int64(s, 7, i);
        if (sqlite3_step(s) != SQLITE_DONE)
            return 1;
        sqlite3_reset(s);
    }
    return sqlite3_finalize(s);
}

int
main(int argc, char **argv)
{
    sqlite3 *db;
    if (argc != 3 || sqlite3_open(argv[1], &db))
        return 2;
    int bad = sqlite3_exec(
                  db,
                  "PRAGMA page_size=16384; PRAGMA cache_size=-12000; CREATE TABLE"
                  " reading(reading INTEGER PRIMARY KEY, found REAL, left REAL, u REAL,"
                  " temp_c REAL, origin INTEGER NOT NULL, line INTEGER) STRICT; BEGIN",
                  NULL, NULL, NULL) ||
              fill(db, strtol(argv[2], NULL, 10)) ||
              sqlite3_exec(db, "COMMIT", NULL, NULL, NULL);
    if (bad)
        fprintf(stderr, "insert_floor: %s\n", sqlite3_errmsg(db));
    return sqlite3_close(db) || bad ? 2 : 0;
}
