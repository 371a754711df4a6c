/*
 * sites - make calls fail by where they are made, to be preloaded into a program.
 *   VB_SITE         "kind n here" or "kind n ever": where the program itself has got to, as
 *                   its own frames on the stack say, is a site. All calls of this kind at
 *                   the n-th site that is seen fail, counted from 1; with "ever" all later ones
 *                   do too. For n there may stand what VB_SITE_PICK gave, which is the
 *                   same site in every run, whatever a second thread is doing
 *   VB_SITE_COUNT   a file that receives how many sites there were, when the program ends
 *   VB_SITE_PICK    a file that receives one line for each site that is reached by a call
 *                   that no site picked before was reached by: through them, every call that
 *                   can hand a failure up hands one up, and few runs do it
 *   VB_SITE_SEEN    a file that keeps the calls that were picked, for the next run
 *   VB_SITE_SAY     if set, the stack of the site is printed when it fails first, as addr2line
 *                   takes it
 * Kinds: alloc (malloc, calloc, realloc), query (the calls of SQLite that prepare, step and
 * run), column (its texts and blobs that are not NULL), system (files, processes, threads,
 * the clock).
 * A loop that allocates a thousand times is one site, and so is all that a library allocates
 * inside one call: each way out of the program is walked by few runs (fault.c counts calls).
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <execinfo.h>
#include <fcntl.h>
#include <link.h>
#include <pthread.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/types.h>
#include <time.h>
#include <unistd.h>

#include <sqlite3.h>

enum { MAX_SITES = 1 << 16, MAX_FRAMES = 64 };
enum kind { ALLOC, QUERY, COLUMN, SYSTEM, N_KINDS };
static const char *const names[N_KINDS] = {"alloc", "query", "column", "system"};
static int on, what = -1, ever, picking, n_sites, nth;
static uint64_t sites[MAX_SITES], chosen_by_name, chosen;
static uint64_t picks[MAX_SITES];
static uint64_t calls[MAX_SITES];
static int n_picks, n_calls;
static const ElfW(Sym) * symbols;
static size_t n_symbols;
static const char *names_of_symbols;
static uintptr_t base, text_begin, text_end;
static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static __thread int inside;

extern void *__libc_malloc(size_t);
extern void *__libc_calloc(size_t, size_t);
extern void *__libc_realloc(void *, size_t);

/* The program is the first object. */
static int
find_text(struct dl_phdr_info *info, size_t size, void *none)
{
    (void)size, (void)none;
    base = info->dlpi_addr;
    for (int i = 0; i < info->dlpi_phnum; i++) {
        const ElfW(Phdr) *p = &info->dlpi_phdr[i];
        if (p->p_type == PT_LOAD && (p->p_flags & PF_X)) {
            text_begin = info->dlpi_addr + p->p_vaddr;
            text_end = text_begin + p->p_memsz;
        }
    }
    return 1;
}

/* The program's functions; without them a call is named by its place in the program. */
static void
find_symbols(void)
{
    struct stat st;
    int fd = open("/proc/self/exe", O_RDONLY);
    const char *file = MAP_FAILED;
    if (fd >= 0 && syscall(SYS_fstat, fd, &st) == 0)
        file = mmap(NULL, (size_t)st.st_size, PROT_READ, MAP_PRIVATE, fd, 0);
    close(fd);
    if (file == MAP_FAILED)
        return;
    const ElfW(Ehdr) *head = (const void *)file;
    const ElfW(Shdr) *part = (const void *)(file + head->e_shoff);
    for (int i = 0; i < head->e_shnum; i++) {
        if (part[i].sh_type != SHT_SYMTAB)
            continue;
        symbols = (const void *)(file + part[i].sh_offset);
        n_symbols = part[i].sh_size / sizeof *symbols;
        names_of_symbols = file + part[part[i].sh_link].sh_offset;
    }
}

static uint64_t
mix(uint64_t h, uint64_t x)
{
    return (h ^ x) * 0x100000001b3;
}

/* What a call of a function of the library is called in every program; never 0. */
static uint64_t
name_call(uintptr_t pc)
{
    uint64_t h = 0xcbf29ce484222325;
    for (size_t i = 0; i < n_symbols; i++) {
        if (pc < symbols[i].st_value || pc - symbols[i].st_value >= symbols[i].st_size)
            continue;
        for (const char *s = names_of_symbols + symbols[i].st_name; *s; s++)
            h = mix(h, (unsigned char)*s);
        return mix(mix(h, symbols[i].st_size), pc - symbols[i].st_value) | 1;
    }
    return mix(h, pc) | 1;
}

/* Is a call new? It is not from now on. */
static int
new_call(uint64_t call)
{
    size_t i = (size_t)(call >> 48);
    while (calls[i] && calls[i] != call)
        i = (i + 1) % MAX_SITES;
    if (calls[i] || n_calls == MAX_SITES - 1)
        return 0;
    calls[i] = call;
    n_calls++;
    return 1;
}

static void
read_calls(void)
{
    uint64_t call;
    const char *path = getenv("VB_SITE_SEEN");
    int fd = path ? open(path, O_RDONLY) : -1;
    if (fd < 0)
        return;
    while (read(fd, &call, sizeof call) == sizeof call)
        new_call(call);
    close(fd);
}

__attribute__((constructor)) static void
begin(void)
{
    void *frame[4];
    char kind[16] = "", which[24] = "", mode[16] = "";
    const char *s = getenv("VB_SITE");
    if (!s || sscanf(s, "%15s %23s %15s", kind, which, mode) != 3)
        return;
    if (*which == 'x')
        chosen_by_name = strtoull(which + 1, NULL, 16);
    else
        nth = atoi(which);
    picking = getenv("VB_SITE_PICK") != NULL;
    if (picking) {
        find_symbols();
        read_calls();
    }
    for (int i = 0; i < N_KINDS; i++)
        if (strcmp(kind, names[i]) == 0)
            what = i;
    ever = strcmp(mode, "ever") == 0;
    dl_iterate_phdr(find_text, NULL);
    backtrace(frame, 4); // loads what it needs
    on = what >= 0;
}

/* The program's own frames, told from where it begins; gives how many. */
static int
own_frames(uintptr_t *pc)
{
    void *frame[MAX_FRAMES];
    int n = backtrace(frame, MAX_FRAMES), n_own = 0;
    for (int i = 0; i < n; i++)
        if ((uintptr_t)frame[i] >= text_begin && (uintptr_t)frame[i] < text_end)
            pc[n_own++] = (uintptr_t)frame[i] - base;
    return n_own;
}

/* Never 0. */
static uint64_t
site_of(const uintptr_t *pc, int n)
{
    uint64_t h = 0xcbf29ce484222325;
    for (int i = 0; i < n; i++)
        h = mix(h, pc[i]);
    return h | 1;
}

static void
say(void)
{
    void *frame[MAX_FRAMES];
    if (getenv("VB_SITE_SAY"))
        backtrace_symbols_fd(frame, backtrace(frame, MAX_FRAMES), STDERR_FILENO);
}

static void
pick(uint64_t site, const uintptr_t *pc, int n)
{
    int any = 0;
    for (int i = 0; i < n; i++)
        any += new_call(name_call(pc[i]));
    if (any)
        picks[n_picks++] = site;
}

/* Remembers a site; is it, or is what came before it, the one that fails? */
static int
judge(const uintptr_t *pc, int n)
{
    uint64_t site = site_of(pc, n);
    size_t i = (size_t)(site >> 48);
    while (sites[i] && sites[i] != site)
        i = (i + 1) % MAX_SITES;
    if (!sites[i] && n_sites < MAX_SITES - 1) {
        sites[i] = site;
        if (picking)
            pick(site, pc, n);
        if (++n_sites == nth || site == chosen_by_name) {
            chosen = site;
            say();
        }
    }
    return chosen && (ever || chosen == site);
}

static int
fails(enum kind k)
{
    if (!on || (int)k != what || inside)
        return 0;
    inside = 1;
    uintptr_t pc[MAX_FRAMES];
    int n = own_frames(pc);
    pthread_mutex_lock(&lock);
    int bad = judge(pc, n);
    pthread_mutex_unlock(&lock);
    inside = 0;
    if (bad)
        errno = k == SYSTEM ? EAGAIN : ENOMEM;
    return bad;
}

static int (*their_main)(int, char **, char **);

/* Behind main() nothing fails: what counts coverage writes its files there. */
static void
spare(void)
{
    on = 0;
}

static int
our_main(int argc, char **argv, char **envp)
{
    atexit(spare);
    return their_main(argc, argv, envp);
}

int
__libc_start_main(int (*start)(int, char **, char **), int argc, char **argv,
                  void (*init)(void), void (*fini)(void), void (*rtld_fini)(void),
                  void *stack_end)
{
    static __typeof__(&__libc_start_main) next;
    void *p = dlsym(RTLD_NEXT, "__libc_start_main");
    memcpy(&next, &p, sizeof next);
    their_main = start;
    return next(our_main, argc, argv, init, fini, rtld_fini, stack_end);
}

static int
open_named(const char *name)
{
    const char *path = getenv(name);
    return path ? open(path, O_WRONLY | O_CREAT | O_TRUNC, 0666) : -1;
}

static void
put(int fd, const void *bytes, size_t n)
{
    if (write(fd, bytes, n) != (ssize_t)n)
        abort();
}

static void
say_picks(void)
{
    char text[32];
    int fd = open_named("VB_SITE_PICK");
    for (int i = 0; fd >= 0 && i < n_picks; i++)
        put(fd, text,
            (size_t)snprintf(text, sizeof text, "x%016jx\n", (uintmax_t)picks[i]));
    close(fd);
    fd = open_named("VB_SITE_SEEN");
    for (int i = 0; fd >= 0 && i < MAX_SITES; i++)
        if (calls[i])
            put(fd, calls + i, sizeof *calls);
    close(fd);
}

__attribute__((destructor)) static void
end(void)
{
    char text[32];
    on = 0;
    int fd = open_named("VB_SITE_COUNT");
    if (fd >= 0)
        put(fd, text, (size_t)snprintf(text, sizeof text, "%d\n", n_sites));
    close(fd);
    if (picking)
        say_picks();
}

void *
malloc(size_t n)
{
    return fails(ALLOC) ? NULL : __libc_malloc(n);
}

void *
calloc(size_t n, size_t size)
{
    return fails(ALLOC) ? NULL : __libc_calloc(n, size);
}

void *
realloc(void *p, size_t n)
{
    return fails(ALLOC) ? NULL : __libc_realloc(p, n);
}

/* The function behind ours; a program cannot do without it. */
#define NEXT(name)                                                                       \
    static __typeof__(&name) next;                                                       \
    if (!next) {                                                                         \
        void *p = dlsym(RTLD_NEXT, #name);                                               \
        memcpy(&next, &p, sizeof next);                                                  \
    }

/* RETURNS name(PARAMS) fails with BAD; ARGS are the names of the parameters. */
#define SHIM(kind, returns, bad, name, params, args)                                     \
    returns name params                                                                  \
    {                                                                                    \
        NEXT(name)                                                                       \
        return fails(kind) ? bad : next args;                                            \
    }

SHIM(QUERY, int, SQLITE_NOMEM, sqlite3_prepare_v2,
     (sqlite3 * db, const char *sql, int n, sqlite3_stmt **s, const char **tail),
     (db, sql, n, s, tail))
SHIM(QUERY, int, SQLITE_IOERR, sqlite3_exec,
     (sqlite3 * db, const char *sql, int (*f)(void *, int, char **, char **), void *of,
      char **m),
     (db, sql, f, of, m))

/* Where there is no room for a column, the statement fails when it is stepped on. A column
 * that was given stays until then. */
static __thread sqlite3_stmt *cramped;
static __thread struct {
    sqlite3_stmt *s;
    uint64_t columns;
} given[64];

static uint64_t *
columns_of(sqlite3_stmt *s)
{
    size_t i = 0;
    while (i + 1 < sizeof given / sizeof *given && given[i].s && given[i].s != s)
        i++;
    if (given[i].s != s)
        given[i].s = s, given[i].columns = 0;
    return &given[i].columns;
}

static int
cramps(sqlite3_stmt *s, int i)
{
    uint64_t bit = (uint64_t)1 << (i & 63), *columns = columns_of(s);
    if (sqlite3_column_type(s, i) == SQLITE_NULL || (*columns & bit))
        return 0;
    if (!fails(COLUMN)) {
        *columns |= bit;
        return 0;
    }
    cramped = s;
    return 1;
}

const unsigned char *
sqlite3_column_text(sqlite3_stmt *s, int i)
{
    NEXT(sqlite3_column_text)
    return cramps(s, i) ? NULL : next(s, i);
}

const void *
sqlite3_column_blob(sqlite3_stmt *s, int i)
{
    NEXT(sqlite3_column_blob)
    return cramps(s, i) ? NULL : next(s, i);
}

int
sqlite3_reset(sqlite3_stmt *s)
{
    NEXT(sqlite3_reset)
    *columns_of(s) = 0;
    int rc = next(s);
    if (s != cramped)
        return rc;
    cramped = NULL;
    return SQLITE_NOMEM;
}

int
sqlite3_finalize(sqlite3_stmt *s)
{
    NEXT(sqlite3_finalize)
    *columns_of(s) = 0;
    int rc = next(s);
    if (!s || s != cramped)
        return rc;
    cramped = NULL;
    return SQLITE_NOMEM;
}

int
sqlite3_step(sqlite3_stmt *s)
{
    NEXT(sqlite3_step)
    *columns_of(s) = 0;
    if (s == cramped)
        return SQLITE_NOMEM;
    return fails(QUERY) ? SQLITE_IOERR : next(s);
}

SHIM(SYSTEM, time_t, (time_t)-1, time, (time_t * t), (t))
SHIM(SYSTEM, struct tm *, NULL, localtime_r, (const time_t *t, struct tm *tm), (t, tm))
SHIM(SYSTEM, int, -1, fstat, (int fd, struct stat *st), (fd, st))
SHIM(SYSTEM, int, -1, dup, (int fd), (fd))
SHIM(SYSTEM, int, -1, pipe, (int fd[2]), (fd))
SHIM(SYSTEM, pid_t, -1, fork, (void), ())
SHIM(SYSTEM, pid_t, -1, waitpid, (pid_t pid, int *how, int flags), (pid, how, flags))
SHIM(SYSTEM, int, -1, fclose, (FILE * f), (f))
SHIM(SYSTEM, FILE *, NULL, fopen, (const char *path, const char *mode), (path, mode))
SHIM(SYSTEM, FILE *, NULL, fdopen, (int fd, const char *mode), (fd, mode))
SHIM(SYSTEM, char *, NULL, realpath, (const char *path, char *to), (path, to))
SHIM(SYSTEM, int, -1, gethostname, (char *name, size_t n), (name, n))
SHIM(SYSTEM, int, EAGAIN, pthread_create,
     (pthread_t * t, const pthread_attr_t *how, void *(*f)(void *), void *of),
     (t, how, f, of))
