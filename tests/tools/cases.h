#ifndef CASES_H
#define CASES_H

/* What the programs share that draw random cases and print what went in and came out. */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include "valvebook/err.h"

/* The seed, and then what is drawn next. */
static uint64_t state;

/* splitmix64 (Steele, Lea & Flood 2014) */
static inline uint64_t
draw(void)
{
    uint64_t z = (state += UINT64_C(0x9e3779b97f4a7c15));
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

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
    return lo + (hi - lo) * ((double)(draw() >> 11) + 0.5) / 9007199254740992.0;
}

/* Box and Muller */
static inline double
gauss(double sd)
{
    double r = sd * sqrt(-2 * log(uniform(0, 1)));
    return r * cos(uniform(0, 6.283185307179586));
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
