#ifndef VALVEBOOK_TESTS_FUZZ_H
#define VALVEBOOK_TESTS_FUZZ_H

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

/*
 * Each file here but replay.c is one harness: bytes in, and what must hold of anything that
 * comes in. docs/reliability.md says how long each was run.
 */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* Ends the run; the fuzzer then keeps the bytes. */
#define MUST(what)                                                                       \
    do {                                                                                 \
        if (!(what)) {                                                                   \
            fprintf(stderr, "%s:%d: not so: %s\n", __FILE__, __LINE__, #what);           \
            abort();                                                                     \
        }                                                                                \
    } while (0)

#endif
