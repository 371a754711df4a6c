#ifndef VALVEBOOK_SEARCH_H
#define VALVEBOOK_SEARCH_H

#include <stddef.h>

/* first_not_before - where among n sorted things of so many bytes the first stands that does
 * not come before the key; n if all do. */
static inline size_t
first_not_before(const void *key, const void *base, size_t n, size_t size,
                 int (*before)(const void *thing, const void *key))
{
    size_t from = 0;
    while (from < n) {
        size_t mid = from + (n - from) / 2;
        if (before((const char *)base + mid * size, key))
            from = mid + 1;
        else
            n = mid;
    }
    return from;
}

#endif
