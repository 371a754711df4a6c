#ifndef CASES_H
#define CASES_H

/* What the programs share that draw random cases and print what went in and came out. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "../draw.h"
#include "valvebook/err.h"

static inline size_t
between(size_t lo, size_t hi)
{
    return lo + (size_t)(draw() % (hi - lo + 1));
}

static inline int
one_in(size_t n)
{
    return between(1, n) == 1;
}

static inline double
uniform(double lo, double hi)
{
    return lo + (hi - lo) * draw_unit();
}

static inline double
gauss(double sd)
{
    return sd * draw_gauss();
}

static inline void
must(enum vb_err err, const char *what)
{
    if (err) {
        fprintf(stderr, "%s: error %d\n", what, (int)err);
        exit(2);
    }
}

static inline void
put(const char *name, const double *x, size_t n)
{
    printf(",%s=", name);
    for (size_t i = 0; i < n; i++) {
        if (i > 0)
            putchar(' ');
        if (isnan(x[i]))
            fputs("nan", stdout);
        else
            printf("%.17g", x[i]);
    }
}

static inline void
put1(const char *name, double x)
{
    put(name, &x, 1);
}

#endif
