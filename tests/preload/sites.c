/*
 * sites - make allocations fail by where they are asked for, to be preloaded into a program.
 *   VB_SITE         "n here" or "n ever": where the program itself has got to, as its own
 *                   frames on the stack say, is a site. All allocations of the n-th site that
 *                   is seen fail, counted from 1; with "ever" all later ones do too
 *   VB_SITE_COUNT   a file that receives how many sites there were, when the program ends
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
#include <unistd.h>

enum { MAX_SITES = 1 << 16, MAX_FRAMES = 64 };
static int on, ever, n_sites, nth;
static uint64_t sites[MAX_SITES], chosen;
static uintptr_t text_begin, text_end;
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
    for (int i = 0; i < info->dlpi_phnum; i++) {
        const ElfW(Phdr) *p = &info->dlpi_phdr[i];
        if (p->p_type == PT_LOAD && (p->p_flags & PF_X)) {
            text_begin = info->dlpi_addr + p->p_vaddr;
            text_end = text_begin + p->p_memsz;
        }
    }
    return 1;
}

__attribute__((constructor)) static void
begin(void)
{
    void *frame[4];
    char mode[16] = "";
    const char *s = getenv("VB_SITE");
    if (!s || sscanf(s, "%d %15s", &nth, mode) != 2)
        return;
    ever = strcmp(mode, "ever") == 0;
    dl_iterate_phdr(find_text, NULL);
    backtrace(frame, 4); // loads what it needs
    on = 1;
}

/* The program's own frames; never 0. */
static uint64_t
here(void)
{
    void *frame[MAX_FRAMES];
    uint64_t h = 0xcbf29ce484222325;
    int n = backtrace(frame, MAX_FRAMES);
    for (int i = 0; i < n; i++) {
        uintptr_t pc = (uintptr_t)frame[i];
        if (pc >= text_begin && pc < text_end)
            h = (h ^ (pc - text_begin)) * 0x100000001b3;
    }
    return h | 1;
}

/* Remembers a site; is it, or is what came before it, the one that fails? */
static int
judge(uint64_t site)
{
    size_t i = (size_t)(site >> 48);
    while (sites[i] && sites[i] != site)
        i = (i + 1) % MAX_SITES;
    if (!sites[i] && n_sites < MAX_SITES - 1) {
        sites[i] = site;
        if (++n_sites == nth)
            chosen = site;
    }
    return chosen && (ever || chosen == site);
}

static int
fails(void)
{
    if (!on || inside)
        return 0;
    inside = 1;
    uint64_t site = here();
    pthread_mutex_lock(&lock);
    int bad = judge(site);
    pthread_mutex_unlock(&lock);
    inside = 0;
    if (bad)
        errno = ENOMEM;
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

__attribute__((destructor)) static void
end(void)
{
    char text[32];
    const char *path = getenv("VB_SITE_COUNT");
    on = 0;
    int fd = path ? open(path, O_WRONLY | O_CREAT | O_TRUNC, 0666) : -1;
    if (fd < 0)
        return;
    int n = snprintf(text, sizeof text, "%d\n", n_sites);
    if (write(fd, text, (size_t)n) != n)
        abort();
    close(fd);
}

void *
malloc(size_t n)
{
    return fails() ? NULL : __libc_malloc(n);
}

void *
calloc(size_t n, size_t size)
{
    return fails() ? NULL : __libc_calloc(n, size);
}

void *
realloc(void *p, size_t n)
{
    return fails() ? NULL : __libc_realloc(p, n);
}
