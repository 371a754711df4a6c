/*
 * vfs - a file layer around SQLite's own, in which one call of a kind fails: to be preloaded
 * into a program that opens its book with sqlite3_open_v2; nth.h says how it is told which.
 * Kinds, by what SQLite asks for, and the code it gets:
 *   open     CANTOPEN                 delete   IOERR_DELETE
 *   gone     IOERR_DIR_FSYNC: removed, but its directory could not be synced
 *   access   IOERR_ACCESS             path     CANTOPEN_FULLPATH
 *   read     IOERR_READ               short    IOERR_SHORT_READ: half of it, then zeros
 *   write    IOERR_WRITE              full     FULL: the first half was written
 *   truncate IOERR_TRUNCATE           sync     IOERR_FSYNC
 *   size     IOERR_FSTAT              close    IOERR_CLOSE: but closed
 *   lock     IOERR_LOCK               busy     BUSY, for a lock
 *   unlock   IOERR_UNLOCK             reserved IOERR_CHECKRESERVEDLOCK
 *   control  IOERR, for anything told to the file
 * and of a book with a write-ahead log
 *   map      IOERR_SHMMAP             shmlock  IOERR_SHMLOCK
 *   shmbusy  BUSY, for such a lock    unmap    IOERR_SHMMAP: but unmapped
 * and
 *   die      the program ends before a write, as if it had been killed
 * Nobody sleeps: SQLite counts what it wanted to wait for a lock and not the time.
 *   VB_FAULT_CACHE  how many pages of the book are kept in memory, whatever the program asks
 *                   for: what does not fit is written before its time, as in a large load
 */
#define _GNU_SOURCE
#include <sqlite3.h>

enum kind {
    OPEN,
    DELETE,
    GONE,
    ACCESS,
    PATH,
    READ,
    SHORT,
    WRITE,
    FULL,
    TRUNCATE,
    SYNC,
    SIZE,
    CLOSE,
    LOCK,
    BUSY,
    UNLOCK,
    RESERVED,
    CONTROL,
    MAP,
    SHMLOCK,
    SHMBUSY,
    UNMAP,
    DIE,
    N_KINDS
};
static const char *const names[N_KINDS] = {
    "open",     "delete",   "gone", "access",  "path",    "read",  "short", "write",
    "full",     "truncate", "sync", "size",    "close",   "lock",  "busy",  "unlock",
    "reserved", "control",  "map",  "shmlock", "shmbusy", "unmap", "die"};

#include "nth.h"

struct file {
    sqlite3_file base;
    sqlite3_file *real; // right behind
};

static sqlite3_vfs *real_vfs;
static int cache; // pages; 0: what the program asks for

static sqlite3_file *
real(sqlite3_file *f)
{
    return ((struct file *)f)->real;
}

static int
close_file(sqlite3_file *f)
{
    int rc = real(f)->pMethods->xClose(real(f));
    return fails(CLOSE) ? SQLITE_IOERR_CLOSE : rc;
}

static int
read_file(sqlite3_file *f, void *to, int n, sqlite3_int64 at)
{
    if (fails(READ))
        return SQLITE_IOERR_READ;
    int rc = real(f)->pMethods->xRead(real(f), to, n, at);
    if (!fails(SHORT))
        return rc;
    memset((char *)to + n / 2, 0, (size_t)(n - n / 2));
    return SQLITE_IOERR_SHORT_READ;
}

static int
write_file(sqlite3_file *f, const void *from, int n, sqlite3_int64 at)
{
    if (fails(DIE))
        _exit(137);
    if (fails(WRITE))
        return SQLITE_IOERR_WRITE;
    if (!fails(FULL))
        return real(f)->pMethods->xWrite(real(f), from, n, at);
    real(f)->pMethods->xWrite(real(f), from, n / 2, at);
    return SQLITE_FULL;
}

/* name PARAMS is passed on with ARGS unless this call is one that fails, with CODE. */
#define PASS(name, method, kind, code, params, args)                                     \
    static int name params                                                               \
    {                                                                                    \
        return fails(kind) ? code : real(f)->pMethods->method args;                      \
    }

PASS(truncate_file, xTruncate, TRUNCATE, SQLITE_IOERR_TRUNCATE,
     (sqlite3_file * f, sqlite3_int64 n), (real(f), n))
PASS(sync_file, xSync, SYNC, SQLITE_IOERR_FSYNC, (sqlite3_file * f, int flags),
     (real(f), flags))
PASS(file_size, xFileSize, SIZE, SQLITE_IOERR_FSTAT, (sqlite3_file * f, sqlite3_int64 *n),
     (real(f), n))
PASS(unlock_file, xUnlock, UNLOCK, SQLITE_IOERR_UNLOCK, (sqlite3_file * f, int level),
     (real(f), level))
PASS(check_reserved, xCheckReservedLock, RESERVED, SQLITE_IOERR_CHECKRESERVEDLOCK,
     (sqlite3_file * f, int *is), (real(f), is))
PASS(map_shm, xShmMap, MAP, SQLITE_IOERR_SHMMAP,
     (sqlite3_file * f, int page, int size, int extend, void volatile **to),
     (real(f), page, size, extend, to))

static int
lock_file(sqlite3_file *f, int level)
{
    if (fails(LOCK))
        return SQLITE_IOERR_LOCK;
    return fails(BUSY) ? SQLITE_BUSY : real(f)->pMethods->xLock(real(f), level);
}

/* A PRAGMA comes here first, and goes no further if it is done. */
static int
control_file(sqlite3_file *f, int told, void *arg)
{
    char **pragma = arg;
    if (fails(CONTROL))
        return SQLITE_IOERR;
    if (told == SQLITE_FCNTL_PRAGMA && cache && strcmp(pragma[1], "cache_size") == 0)
        return SQLITE_OK;
    return real(f)->pMethods->xFileControl(real(f), told, arg);
}

static int
sector_size(sqlite3_file *f)
{
    return real(f)->pMethods->xSectorSize(real(f));
}

static int
device(sqlite3_file *f)
{
    return real(f)->pMethods->xDeviceCharacteristics(real(f));
}

/* What lets a lock go always does. */
static int
lock_shm(sqlite3_file *f, int at, int n, int flags)
{
    int locks = flags & SQLITE_SHM_LOCK;
    if (locks && fails(SHMLOCK))
        return SQLITE_IOERR_SHMLOCK;
    if (locks && fails(SHMBUSY))
        return SQLITE_BUSY;
    return real(f)->pMethods->xShmLock(real(f), at, n, flags);
}

static void
shm_barrier(sqlite3_file *f)
{
    real(f)->pMethods->xShmBarrier(real(f));
}

static int
unmap_shm(sqlite3_file *f, int remove)
{
    int rc = real(f)->pMethods->xShmUnmap(real(f), remove);
    return fails(UNMAP) ? SQLITE_IOERR_SHMMAP : rc;
}

/* Version 2 has no xFetch: books are not mapped. */
static const sqlite3_io_methods methods = {
    .iVersion = 2,
    .xClose = close_file,
    .xRead = read_file,
    .xWrite = write_file,
    .xTruncate = truncate_file,
    .xSync = sync_file,
    .xFileSize = file_size,
    .xLock = lock_file,
    .xUnlock = unlock_file,
    .xCheckReservedLock = check_reserved,
    .xFileControl = control_file,
    .xSectorSize = sector_size,
    .xDeviceCharacteristics = device,
    .xShmMap = map_shm,
    .xShmLock = lock_shm,
    .xShmBarrier = shm_barrier,
    .xShmUnmap = unmap_shm,
};

static int
open_file(sqlite3_vfs *v, const char *name, sqlite3_file *f, int flags, int *got)
{
    struct file *ours = (struct file *)f;
    (void)v;
    f->pMethods = NULL;
    if (fails(OPEN))
        return SQLITE_CANTOPEN;
    ours->real = (sqlite3_file *)(ours + 1);
    int rc = real_vfs->xOpen(real_vfs, name, ours->real, flags, got);
    if (ours->real->pMethods)
        f->pMethods = &methods;
    return rc;
}

static int
delete_file(sqlite3_vfs *v, const char *name, int sync)
{
    (void)v;
    if (fails(DELETE))
        return SQLITE_IOERR_DELETE;
    int rc = real_vfs->xDelete(real_vfs, name, sync);
    return fails(GONE) ? SQLITE_IOERR_DIR_FSYNC : rc;
}

static int
access_file(sqlite3_vfs *v, const char *name, int flags, int *is)
{
    (void)v;
    return fails(ACCESS) ? SQLITE_IOERR_ACCESS
                         : real_vfs->xAccess(real_vfs, name, flags, is);
}

static int
full_path(sqlite3_vfs *v, const char *name, int n, char *to)
{
    (void)v;
    return fails(PATH) ? SQLITE_CANTOPEN_FULLPATH
                       : real_vfs->xFullPathname(real_vfs, name, n, to);
}

static int
no_sleep(sqlite3_vfs *v, int us)
{
    (void)v;
    return us;
}

/* Once the program has configured SQLite, ours is the file layer that is used. */
static void
install(void)
{
    static sqlite3_vfs vfs;
    if (real_vfs)
        return;
    real_vfs = sqlite3_vfs_find(NULL);
    if (!real_vfs)
        abort();
    vfs = *real_vfs;
    vfs.zName = "fault";
    vfs.szOsFile = (int)sizeof(struct file) + real_vfs->szOsFile;
    vfs.xOpen = open_file;
    vfs.xDelete = delete_file;
    vfs.xAccess = access_file;
    vfs.xFullPathname = full_path;
    vfs.xSleep = no_sleep;
    if (sqlite3_vfs_register(&vfs, 1))
        abort();
}

/* Before the program has asked for anything, and without a fault. */
static void
shrink(sqlite3 *db)
{
    char sql[64];
    const char *pages = getenv("VB_FAULT_CACHE");
    int was_on = on;
    if (!pages)
        return;
    on = cache = 0;
    snprintf(sql, sizeof sql, "PRAGMA cache_size=%d", atoi(pages));
    if (sqlite3_exec(db, sql, NULL, NULL, NULL) != SQLITE_OK)
        abort();
    cache = atoi(pages);
    on = was_on;
}

int
sqlite3_open_v2(const char *path, sqlite3 **db, int flags, const char *vfs)
{
    NEXT(sqlite3_open_v2)
    install();
    int rc = next(path, db, flags, vfs);
    if (rc == SQLITE_OK)
        shrink(*db);
    return rc;
}
