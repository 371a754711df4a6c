#include "book_impl.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* SQLite says of its journal that it cannot open the database file, and not why. */
static void
say(struct vb_book *b, int code, const char *text, struct vb_msg *m)
{
    int why = code == SQLITE_CANTOPEN ? sqlite3_system_errno(b->db) : 0;
    vb_msg_at(m, b->path, 0, NULL);
    if (why)
        vb_msg_set(m, "this file or its journal cannot be opened: %s", strerror(why));
    else
        vb_msg_set(m, "%s", text);
}

enum vb_err
db_fail(struct vb_book *b, struct vb_msg *m)
{
    b->code = sqlite3_errcode(b->db);
    say(b, b->code, sqlite3_errmsg(b->db), m);
    return b->code == SQLITE_NOMEM ? VB_EMEM : VB_EDB;
}

enum vb_err
db_failed(struct vb_book *b, int code, struct vb_msg *m)
{
    b->code = code;
    say(b, code, sqlite3_errstr(code), m);
    return VB_EDB;
}

enum vb_err
db_damaged(struct vb_book *b, struct vb_msg *m)
{
    return db_failed(b, SQLITE_CORRUPT, m);
}

enum vb_err
db_exec(struct vb_book *b, const char *sql, struct vb_msg *m)
{
    return sqlite3_exec(b->db, sql, NULL, NULL, NULL) == SQLITE_OK ? VB_OK
                                                                   : db_fail(b, m);
}

enum vb_err
db_prepare(struct vb_book *b, const char *sql, sqlite3_stmt **s, struct vb_msg *m)
{
    return sqlite3_prepare_v2(b->db, sql, -1, s, NULL) == SQLITE_OK ? VB_OK
                                                                    : db_fail(b, m);
}

enum vb_err
db_run(struct vb_book *b, sqlite3_stmt *s, struct vb_msg *m)
{
    int rc = sqlite3_step(s);
    enum vb_err e = rc == SQLITE_DONE ? VB_OK : db_fail(b, m);
    sqlite3_reset(s);
    return e;
}

enum vb_err
db_ended(struct vb_book *b, sqlite3_stmt *s, int rc, enum vb_err e, struct vb_msg *m)
{
    if (!e && rc != SQLITE_DONE)
        e = db_fail(b, m);
    sqlite3_reset(s);
    return e;
}

void
db_text(sqlite3_stmt *s, int i, const char *text)
{
    sqlite3_bind_text(s, i, text, -1, SQLITE_STATIC);
}

const char *
db_word(sqlite3_stmt *s, int i)
{
    const char *t = (const char *)sqlite3_column_text(s, i);
    return t ? t : "";
}

double
db_number(sqlite3_stmt *s, int i)
{
    return sqlite3_column_type(s, i) == SQLITE_NULL ? NAN : sqlite3_column_double(s, i);
}

int
list_room(void *list, size_t n, size_t *size, size_t member)
{
    void *p;
    if (n < *size)
        return 1;
    memcpy(&p, list, sizeof p);
    size_t more = *size ? 2 * *size : 64;
    if (!(p = realloc(p, more * member)))
        return 0;
    memcpy(list, &p, sizeof p);
    *size = more;
    return 1;
}

/*
 * EXTRA syncs the directory once the journal is gone. Without that a power cut may bring the
 * journal back, and it would take back a load that has ended well. Only a load goes back to
 * pages that it has seen.
 */
static enum vb_err
set_up(struct vb_book *b, enum vb_book_mode mode, struct vb_msg *m)
{
    static const char *const sql[] = {
        [VB_BOOK_READ] = "PRAGMA query_only=1; PRAGMA cache_size=-4000",
        [VB_BOOK_CHECK] = "PRAGMA query_only=1; PRAGMA cache_size=-4000",
        [VB_BOOK_UPDATE] = "PRAGMA cache_size=-4000; PRAGMA synchronous=EXTRA",
        [VB_BOOK_WRITE] = "PRAGMA page_size=16384; PRAGMA cache_size=-12000;"
                          " PRAGMA synchronous=EXTRA"};
    return db_exec(b, sql[mode], m);
}

/* SQLite has one name that is no file. */
static int
open_file(const char *path, sqlite3 **db, int flags)
{
    return sqlite3_open_v2(strcmp(path, ":memory:") == 0 ? "./:memory:" : path, db, flags,
                           NULL);
}

/*
 * One connection, used by one thread at a time: SQLite needs no mutex around it and no
 * count of its memory. References are checked by the loader itself, which can name the
 * row that is wrong; SQLite's own check of each of millions of readings would take a
 * third of the loading time (docs/performance.md) to find what cannot be there.
 */
static enum vb_err
open_db(struct vb_book *b, enum vb_book_mode mode, struct vb_msg *m)
{
    /* A reader may have to roll back what a killed loader left, so it may write too. */
    int flags = SQLITE_OPEN_READWRITE | (mode == VB_BOOK_WRITE ? SQLITE_OPEN_CREATE : 0);
    sqlite3_config(SQLITE_CONFIG_MULTITHREAD);
    sqlite3_config(SQLITE_CONFIG_MEMSTATUS, 0);
    sqlite3_config(SQLITE_CONFIG_URI, 0); // a name is the name of a file, "file:" or not
    if (sqlite3_libversion_number() < 3037000) { // GCOVR_EXCL_BR_LINE: no old one here
        vb_msg_at(m, b->path, 0, NULL);
        vb_msg_set(m, "SQLite %s is too old, 3.37 is needed", sqlite3_libversion());
        return VB_EDB;
    }
    if (open_file(b->path, &b->db, flags) != SQLITE_OK)
        return b->db ? db_fail(b, m) : VB_EMEM;
    sqlite3_busy_timeout(b->db, BUSY_MS);
    /* those of the book are for other programs (schema.c) */
    sqlite3_db_config(b->db, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, NULL);
    return set_up(b, mode, m);
}

static int
is_empty(struct vb_book *b)
{
    static const char *const sql[] = {
        "SELECT count(*) FROM sqlite_schema",
        "SELECT (SELECT count(*) FROM families) + (SELECT count(*) FROM engines) +"
        " (SELECT count(*) FROM gauges) + (SELECT count(*) FROM lobes) + (SELECT count(*)"
        " FROM shims) + (SELECT count(*) FROM trials) + (SELECT count(*) FROM history)"};
    int empty = 0;
    for (size_t i = 0; !empty && i < sizeof sql / sizeof *sql; i++) {
        sqlite3_stmt *s = NULL;
        if (!sqlite3_prepare_v2(b->db, sql[i], -1, &s, NULL) &&
            sqlite3_step(s) == SQLITE_ROW)
            empty = sqlite3_column_int64(s, 0) == 0;
        sqlite3_finalize(s);
    }
    return empty;
}

/* Is there nothing at all in the file? */
static int
is_blank(struct vb_book *b)
{
    struct stat st;
    return stat(b->path, &st) == 0 && st.st_size == 0;
}

/*
 * Whoever has opened the file meanwhile waits for the lock, and finds by book_stands that
 * what it has is no book any more. Where no journal can be opened nobody can write.
 */
void
book_discard(struct vb_book *b)
{
    if (!b->made || !b->db)
        return;
    sqlite3_busy_timeout(b->db, 0); // whoever holds it wants it
    int rc = sqlite3_exec(b->db, "BEGIN EXCLUSIVE", NULL, NULL, NULL);
    int empty = rc == SQLITE_CANTOPEN ? is_blank(b) : rc == SQLITE_OK && is_empty(b);
    if (empty && !book_stands(b, NULL))
        unlink(b->path);
    sqlite3_exec(b->db, "ROLLBACK", NULL, NULL, NULL);
}

void
vb_book_give_up(struct vb_book *b)
{
    book_discard(b);
}

enum vb_err
book_stands(struct vb_book *b, struct vb_msg *m)
{
    int moved = 0;
    if (sqlite3_file_control(b->db, "main", SQLITE_FCNTL_HAS_MOVED, &moved) ==
            SQLITE_OK &&
        !moved)
        return VB_OK;
    vb_msg_at(m, b->path, 0, NULL);
    vb_msg_set(m, "was removed by another process; load once more");
    return VB_EDB;
}

/* Can there be a file in the directory of this name? errno says why not. */
static int
can_be_made(const char *path)
{
    const char *slash = strrchr(path, '/');
    char *dir = !slash ? strdup(".") : strndup(path, (size_t)(slash - path) + 1);
    int can = dir && access(dir, W_OK | X_OK) == 0;
    free(dir);
    return can;
}

/* Why there can be no book of this name, where SQLite would only say that it cannot open it;
 * NULL: nothing is against it. */
static const char *
why_not(const char *path, enum vb_book_mode mode)
{
    struct stat st;
    if (!*path)
        return "the name of the book is empty";
    if (stat(path, &st))
        return mode == VB_BOOK_WRITE && errno == ENOENT && can_be_made(path)
                   ? NULL
                   : strerror(errno);
    if (S_ISDIR(st.st_mode))
        return strerror(EISDIR);
    return access(path, R_OK) ? strerror(errno) : NULL;
}

enum vb_err
vb_book_open(const char *path, enum vb_book_mode mode, struct vb_book **out,
             struct vb_msg *m)
{
    const char *why = why_not(path, mode);
    if (why) {
        vb_msg_at(m, path, 0, NULL);
        vb_msg_set(m, "%s", why);
        return VB_EIO;
    }
    struct vb_book *b = calloc(1, sizeof *b);
    if (!b || !(b->path = strdup(path))) {
        free(b);
        return VB_EMEM;
    }
    b->mode = mode;
    b->made = access(path, F_OK) != 0;
    enum vb_err e = open_db(b, mode, m);
    if (!e)
        e = schema_open(b, mode, m);
    if (e) {
        book_discard(b);
        vb_book_close(b, NULL);
        return e;
    }
    *out = b;
    return VB_OK;
}

/* With a write-ahead log others write while one reads, and each reader has a state of its own. */
static int
has_log(struct vb_book *b)
{
    sqlite3_stmt *s = NULL;
    int has = db_prepare(b, "PRAGMA journal_mode", &s, NULL) != VB_OK ||
              sqlite3_step(s) != SQLITE_ROW || strcmp(db_word(s, 0), "wal") == 0;
    sqlite3_finalize(s);
    return has;
}

struct vb_book *
book_again(struct vb_book *b)
{
    struct vb_book *second = calloc(1, sizeof *second);
    if (!second || !(second->path = strdup(b->path))) {
        free(second);
        return NULL;
    }
    if (open_file(b->path, &second->db, SQLITE_OPEN_READONLY) == SQLITE_OK &&
        db_exec(second,
                "PRAGMA query_only=1; PRAGMA cache_size=-1000; BEGIN;"
                " SELECT count(*) FROM sqlite_schema",
                NULL) == VB_OK &&
        !has_log(second) && !book_stands(second, NULL) &&
        !book_stands(b, NULL)) // the same file, then
        return second;
    vb_book_close(second, NULL);
    return NULL;
}

enum vb_err
vb_book_close(struct vb_book *b, struct vb_msg *m)
{
    enum vb_err e = VB_OK;
    if (!b)
        return VB_OK;
    for (size_t i = 0; i < STALE_COUNT; i++)
        sqlite3_finalize(b->stale[i]);
    sqlite3_finalize(b->swaps);
    if (sqlite3_close(b->db) != SQLITE_OK) { // GCOVR_EXCL_BR_LINE: no statement is left
        e = db_fail(b, m);
        sqlite3_close_v2(b->db);
    }
    free(b->path);
    free(b);
    return e;
}
