#include "valvebook/length.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "valvebook/digits.h"

static const struct {
    const char *option, *name;
    double mm;    // in one of it
    int decimals; // usual
} units[] = {
    [VB_LENGTH_MM] = {"mm", "mm", 1, 3},
    [VB_LENGTH_IN] = {"in", "inch", 25.4, 4},
    [VB_LENGTH_THOU] = {"thou", "thou", 0.0254, 1},
};

int
vb_length_parse(const char *s, enum vb_length *out)
{
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if (strcmp(s, units[i].option) == 0) {
            *out = (enum vb_length)i;
            return 1;
        }
    return 0;
}

const char *
vb_length_name(enum vb_length l)
{
    return units[l].name;
}

int
vb_length_decimals(enum vb_length l)
{
    return units[l].decimals;
}

double
vb_length_of(enum vb_length l, double mm)
{
    return mm / units[l].mm;
}

const char *
vb_length_print(enum vb_length l, double mm, char *out)
{
    double x = vb_length_of(l, mm);
    int decimals = units[l].decimals;
    if (fabs(x) < 0.5 * pow(10, -decimals))
        decimals = vb_digits(x, NAN, decimals);
    return vb_digits_print(x, decimals, out, VB_LENGTH_TEXT);
}

const char *
vb_length_with_unit(enum vb_length l, double mm, char *out)
{
    vb_length_print(l, mm, out);
    size_t n = strlen(out);
    snprintf(out + n, VB_LENGTH_TEXT - n, " %s", units[l].name);
    return out;
}
