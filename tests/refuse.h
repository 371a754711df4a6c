#ifndef VALVEBOOK_TEST_REFUSE_H
#define VALVEBOOK_TEST_REFUSE_H

/*
 * Memory that is refused. The linker leads what the library asks for here (Makefile:
 * memory%), so that each place can be refused by itself.
 */
#include <check.h>
#include <gsl/gsl_integration.h>
#include <gsl/gsl_interp.h>
#include <gsl/gsl_roots.h>
#include <stddef.h>
#include <string.h>

#include "valvebook/err.h"

static long to_go;  // requests until the one that is refused; 0: none is
static int refused; // it was

static int
refuse(void)
{
    if (to_go == 0 || --to_go > 0)
        return 0;
    return refused = 1;
}

#define WRAP(type, name, parameters, arguments)                                          \
    type __real_##name parameters;                                                       \
    type __wrap_##name parameters;                                                       \
    type __wrap_##name parameters                                                        \
    {                                                                                    \
        return refuse() ? NULL : __real_##name arguments;                                \
    }

WRAP(void *, malloc, (size_t n), (n))
WRAP(void *, calloc, (size_t n, size_t size), (n, size))
WRAP(void *, realloc, (void *p, size_t n), (p, n))
WRAP(char *, strdup, (const char *s), (s))
WRAP(gsl_interp *, gsl_interp_alloc, (const gsl_interp_type *t, size_t n), (t, n))
WRAP(gsl_root_fsolver *, gsl_root_fsolver_alloc, (const gsl_root_fsolver_type *t), (t))
WRAP(gsl_integration_glfixed_table *, gsl_integration_glfixed_table_alloc, (size_t n),
     (n))

/* From here on everything is granted: what the suite itself asks for is not counted. */
static void
enough(void)
{
    to_go = 0;
}

/*
 * refuse_each - a call made again and again, each time with another of its requests
 * refused, until it gets all it asks for. The call frees what it was given, whatever it
 * returns, and says enough() before it asserts anything. Returns how many requests it makes.
 */
static long refuse_each(enum vb_err (*call)(void))
{
    for (long k = 1;; k++) {
        to_go = k;
        refused = 0;
        enum vb_err e = call();
        enough();
        ck_assert_msg(e == (refused ? VB_EMEM : VB_OK), "request %ld %s: error %d", k,
                      refused ? "refused" : "granted", (int)e);
        if (!refused)
            return k - 1;
    }
}

#endif
