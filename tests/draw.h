#ifndef DRAW_H
#define DRAW_H

#include <math.h>
#include <stdint.h>

/* Seeded numbers, the same on every machine: set `state` first. */
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

/* Uniform between 0 and 1, never either. */
static inline double
draw_unit(void)
{
    return ((double)(draw() >> 11) + 0.5) / 9007199254740992.0;
}

/* Standard normal (Box & Muller 1958). */
static inline double
draw_gauss(void)
{
    double r = sqrt(-2 * log(draw_unit()));
    return r * cos(6.283185307179586 * draw_unit());
}

#endif
