#ifndef VALVEBOOK_FINITE_H
#define VALVEBOOK_FINITE_H

#include <math.h>
#include <stddef.h>

/* all_finite - are n numbers neither infinite nor NaN? */
static inline int
all_finite(const double *x, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (!isfinite(x[i]))
            return 0;
    return 1;
}

#endif
