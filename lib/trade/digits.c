#include "valvebook/digits.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SIGNIFICANT 2     // digits
#define NOTHING     5e-10 // what is no larger is zeros at VB_DIGITS_MOST

/* Is there anything to show of it? */
static int
shows(double x)
{
    return isfinite(x) && fabs(x) > NOTHING;
}

int
vb_digits(double x, double u, int usual)
{
    char text[32];
    double counts = shows(u) ? u : x;
    if (!shows(counts) || fabs(counts) >= pow(10, SIGNIFICANT - 1 - usual))
        return usual;
    // Printed, so that 0.0996 is seen to become 0.10
    snprintf(text, sizeof text, "%.*e", SIGNIFICANT - 1, counts);
    int decimals = SIGNIFICANT - 1 - (int)strtol(strchr(text, 'e') + 1, NULL, 10);
    return decimals > VB_DIGITS_MOST ? VB_DIGITS_MOST : decimals;
}

const char *
vb_digits_print(double x, int decimals, char *out, size_t size)
{
    size_t n = (size_t)snprintf(out, size, "%.*f", decimals, x);
    if (n >= size)
        snprintf(out, size, "%.6g", x);
    if (out[0] == '-' && strspn(out, "-0.") == strlen(out))
        memmove(out, out + 1, strlen(out));
    return out;
}

const char *
vb_digits_pair(double x, double u, int usual, char *out)
{
    char figure[VB_DIGITS_PAIR / 2 - 2], beside[VB_DIGITS_PAIR / 2 - 2];
    int decimals = vb_digits(x, u, usual);
    vb_digits_print(x, decimals, figure, sizeof figure);
    vb_digits_print(u, shows(u) ? decimals : 0, beside, sizeof beside);
    snprintf(out, VB_DIGITS_PAIR, isfinite(u) ? "%s \xc2\xb1 %s" : "%s", figure, beside);
    return out;
}
