#ifndef VALVEBOOK_HASH_H
#define VALVEBOOK_HASH_H

#include <stddef.h>
#include <stdint.h>

#define VB_HASH_BEGIN UINT64_C(0xcbf29ce484222325)

/*
 * vb_hash - FNV-1a of 64 bits, for names that must come out the same every time. It keeps
 * nobody from making two texts of one hash.
 *   h      VB_HASH_BEGIN, or the hash of what stands before
 * Source: G. Fowler, L. C. Noll, K.-P. Vo, D. Eastlake, The FNV Non-Cryptographic Hash.
 */
uint64_t vb_hash(uint64_t h, const void *bytes, size_t n);

/* vb_hash_text - the same of a text and its NUL, so that texts do not run together. */
uint64_t vb_hash_text(uint64_t h, const char *s);

#endif
