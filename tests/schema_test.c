#include "../lib/book/book_impl.h"
#include "suite.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <check.h>

static const char *const steps[] = {
    "CREATE TABLE a(x TEXT) STRICT; INSERT INTO a VALUES('one')",
    "ALTER TABLE a ADD COLUMN y TEXT; UPDATE a SET y = x || ' and two'",
};

static const char *const broken[] = {
    "CREATE TABLE a(x TEXT) STRICT; INSERT INTO a VALUES('one')",
    "ALTER TABLE a ADD COLUMN y TEXT; UPDATE a SET y = x; SELECT nonsense FROM nowhere",
};

static sqlite3 *
open_at(const char *path)
{
    sqlite3 *db = NULL;
    ck_assert_int_eq(sqlite3_open(path, &db), SQLITE_OK);
    sqlite3_busy_timeout(db, 10000);
    return db;
}

/* The first value of the first row as text, "" for none; -1 in sql that is wrong. */
static const char *
ask(sqlite3 *db, const char *sql)
{
    static char text[64];
    sqlite3_stmt *s = NULL;
    if (sqlite3_prepare_v2(db, sql, -1, &s, NULL) != SQLITE_OK)
        return "-1";
    text[0] = 0;
    if (sqlite3_step(s) == SQLITE_ROW)
        snprintf(text, sizeof text, "%s", (const char *)sqlite3_column_text(s, 0));
    sqlite3_finalize(s);
    return text;
}

static void
check_whole(sqlite3 *db)
{
    ck_assert_str_eq(ask(db, "PRAGMA user_version"), "2");
    ck_assert_str_eq(ask(db, "PRAGMA application_id"), "1986154315"); // "vbOK"
    ck_assert_str_eq(ask(db, "SELECT group_concat(x || ':' || y) FROM a"),
                     "one:one and two");
    ck_assert_int_eq(sqlite3_get_autocommit(db), 1);
}

START_TEST(from_nothing)
{
    sqlite3 *db = open_at(":memory:");
    ck_assert_int_eq(schema_upgrade(db, steps, 2, NULL), VB_OK);
    check_whole(db);
    ck_assert_int_eq(sqlite3_close(db), SQLITE_OK);
}
END_TEST

START_TEST(from_the_first_version)
{
    sqlite3 *db = open_at(":memory:");
    ck_assert_int_eq(schema_upgrade(db, steps, 1, NULL), VB_OK);
    ck_assert_str_eq(ask(db, "PRAGMA user_version"), "1");
    ck_assert_str_eq(ask(db, "SELECT x FROM a"), "one");
    ck_assert_str_eq(ask(db, "SELECT y FROM a"), "-1");
    ck_assert_int_eq(schema_upgrade(db, steps, 2, NULL), VB_OK);
    check_whole(db);
    ck_assert_int_eq(sqlite3_close(db), SQLITE_OK);
}
END_TEST

START_TEST(once_more_changes_nothing)
{
    sqlite3 *db = open_at(":memory:");
    ck_assert_int_eq(schema_upgrade(db, steps, 2, NULL), VB_OK);
    ck_assert_int_eq(schema_upgrade(db, steps, 2, NULL), VB_OK);
    check_whole(db);
    ck_assert_int_eq(schema_upgrade(db, steps, 1, NULL), VB_OK); // never downwards
    check_whole(db);
    ck_assert_int_eq(sqlite3_close(db), SQLITE_OK);
}
END_TEST

START_TEST(a_step_that_fails_leaves_the_version_before)
{
    sqlite3 *db = open_at(":memory:");
    ck_assert_int_eq(schema_upgrade(db, broken, 1, NULL), VB_OK);
    ck_assert_int_eq(schema_upgrade(db, broken, 2, NULL), VB_EDB);
    ck_assert_str_eq(ask(db, "PRAGMA user_version"), "1");
    ck_assert_str_eq(ask(db, "SELECT x FROM a"), "one");
    ck_assert_str_eq(ask(db, "SELECT y FROM a"), "-1");
    ck_assert_int_eq(sqlite3_get_autocommit(db), 1);
    ck_assert_int_eq(schema_upgrade(db, steps, 2, NULL), VB_OK); // and the way is free
    check_whole(db);
    ck_assert_int_eq(sqlite3_close(db), SQLITE_OK);
}
END_TEST

START_TEST(a_failure_on_the_way_from_nothing_leaves_nothing)
{
    sqlite3 *db = open_at(":memory:");
    ck_assert_int_eq(schema_upgrade(db, broken, 2, NULL), VB_EDB);
    ck_assert_str_eq(ask(db, "PRAGMA user_version"), "0");
    ck_assert_str_eq(ask(db, "PRAGMA application_id"), "0");
    ck_assert_str_eq(ask(db, "SELECT count(*) FROM sqlite_schema"), "0");
    ck_assert_int_eq(sqlite3_get_autocommit(db), 1);
    ck_assert_int_eq(sqlite3_close(db), SQLITE_OK);
}
END_TEST

/* Processes that all find version 0 or 1: each step is taken once. */
static void
race(const char *path, int n)
{
    int go[2];
    char c;
    ck_assert_int_eq(pipe(go), 0);
    for (int i = 0; i < n; i++) {
        if (fork() == 0) {
            close(go[1]);
            sqlite3 *db = open_at(path);
            while (read(go[0], &c, 1) > 0) // until the other end is closed
                continue;
            _exit(schema_upgrade(db, steps, 2, NULL) != VB_OK);
        }
    }
    close(go[1]);
    for (int i = 0; i < n; i++) {
        int status = -1;
        ck_assert_int_gt(wait(&status), 0);
        ck_assert_msg(WIFEXITED(status) && WEXITSTATUS(status) == 0, "a process failed");
    }
    close(go[0]);
}

START_TEST(two_processes_at_once)
{
    char dir[] = "/tmp/valvebook-schema.XXXXXX", path[64];
    ck_assert_ptr_nonnull(mkdtemp(dir));
    snprintf(path, sizeof path, "%s/s.db", dir);
    if (_i) {
        sqlite3 *db = open_at(path);
        ck_assert_int_eq(schema_upgrade(db, steps, 1, NULL), VB_OK);
        ck_assert_int_eq(sqlite3_close(db), SQLITE_OK);
    }
    race(path, 4);
    sqlite3 *db = open_at(path);
    check_whole(db);
    ck_assert_int_eq(sqlite3_close(db), SQLITE_OK);
    unlink(path);
    rmdir(dir);
}
END_TEST

static Suite *
schema_suite(void)
{
    Suite *s = suite_create("schema");
    TCase *t = tcase_create("upgrade");
    tcase_add_test(t, from_nothing);
    tcase_add_test(t, from_the_first_version);
    tcase_add_test(t, once_more_changes_nothing);
    tcase_add_test(t, a_step_that_fails_leaves_the_version_before);
    tcase_add_test(t, a_failure_on_the_way_from_nothing_leaves_nothing);
    tcase_add_loop_test(t, two_processes_at_once, 0, 2);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(schema_suite());
}
