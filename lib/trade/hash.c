#include "valvebook/hash.h"

#include <string.h>

uint64_t
vb_hash(uint64_t h, const void *bytes, size_t n)
{
    const unsigned char *b = bytes;
    for (size_t i = 0; i < n; i++)
        h = (h ^ b[i]) * UINT64_C(0x100000001b3);
    return h;
}

uint64_t
vb_hash_text(uint64_t h, const char *s)
{
    return vb_hash(h, s, strlen(s) + 1);
}
