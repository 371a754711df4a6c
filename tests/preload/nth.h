/*
 * nth - the n-th call of a kind fails: what the preloaded libraries share. Whoever includes it
 * has an array names[] of N_KINDS kinds, and asks fails() at each call.
 *   VB_FAULT        "kind n once" or "kind n ever": the n-th call of this kind that the
 *                   program makes, counted from 1, fails; with "ever" all later ones too
 *   VB_FAULT_COUNT  a file that receives how many calls there were, when the program ends
 */
#include <dlfcn.h>
#include <fcntl.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static int on, what = -1, ever;
static long nth;
static atomic_long count;

__attribute__((constructor)) static void
begin(void)
{
    char kind[16] = "", mode[16] = "";
    const char *s = getenv("VB_FAULT");
    if (!s || sscanf(s, "%15s %ld %15s", kind, &nth, mode) != 3)
        return;
    for (int i = 0; i < N_KINDS; i++)
        if (strcmp(kind, names[i]) == 0)
            what = i;
    ever = strcmp(mode, "ever") == 0;
    on = what >= 0;
}

/* Is this call one that fails? */
static int
fails(int kind)
{
    if (!on || kind != what)
        return 0;
    long n = atomic_fetch_add(&count, 1) + 1;
    return ever ? n >= nth : n == nth;
}

static int (*their_main)(int, char **, char **);

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

/* The program's own end is spared: what counts coverage writes its files in the program's
 * destructors, which run before ours, but behind whatever main() leaves to atexit(). */
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
    const char *path = getenv("VB_FAULT_COUNT");
    on = 0;
    int fd = path ? open(path, O_WRONLY | O_CREAT | O_TRUNC, 0666) : -1;
    if (fd < 0)
        return;
    int n = snprintf(text, sizeof text, "%ld\n", atomic_load(&count));
    if (write(fd, text, (size_t)n) != n)
        abort();
    close(fd);
}

/* The function behind ours; a program cannot do without it. */
#define NEXT(name)                                                                       \
    static __typeof__(&name) next;                                                       \
    if (!next) {                                                                         \
        void *p = dlsym(RTLD_NEXT, #name);                                               \
        memcpy(&next, &p, sizeof next);                                                  \
    }
