#include "valvebook/unit.h"

#include <string.h>

// clang-format off
#define ONE {1, 0}
static const struct vb_unit units[] = {
    {"mm", VB_DIM_LENGTH, ONE, {0, 0}},
    {"um", VB_DIM_LENGTH, {1, 3}, {0, 0}},
    {"1/100mm", VB_DIM_LENGTH, {1, 2}, {0, 0}},
    {"cm", VB_DIM_LENGTH, {10, 0}, {0, 0}},
    {"m", VB_DIM_LENGTH, {1000, 0}, {0, 0}},
    {"[in_i]", VB_DIM_LENGTH, {254, 1}, {0, 0}},
    {"[mil_i]", VB_DIM_LENGTH, {254, 4}, {0, 0}},
    {"deg", VB_DIM_ANGLE, ONE, {0, 0}},
    {"deg_cam", VB_DIM_ANGLE, {2, 0}, {0, 0}},
    {"Cel", VB_DIM_TEMP, ONE, {0, 0}},
    {"[degF]", VB_DIM_TEMP, {5, 0}, {-32, 0}},
    {"K", VB_DIM_TEMP, ONE, {-27315, 2}},
    {"h", VB_DIM_TIME, ONE, {0, 0}},
    {"km", VB_DIM_DISTANCE, ONE, {0, 0}},
    {"[mi_i]", VB_DIM_DISTANCE, {1609344, 6}, {0, 0}},
    {"d", VB_DIM_DAYS, ONE, {0, 0}},
    {"wk", VB_DIM_DAYS, {7, 0}, {0, 0}},
    {"kPa", VB_DIM_PRESSURE, ONE, {0, 0}},
    {"bar", VB_DIM_PRESSURE, {100, 0}, {0, 0}},
    {"MPa", VB_DIM_PRESSURE, {1000, 0}, {0, 0}},
    {"N", VB_DIM_FORCE, ONE, {0, 0}},
    {"kgf", VB_DIM_FORCE, {980665, 5}, {0, 0}},
    {"[lbf_av]", VB_DIM_FORCE, {INT64_C(44482216152605), 13}, {0, 0}},
    {"%", VB_DIM_PERCENT, ONE, {0, 0}},
    {"mm/Cel", VB_DIM_GROWTH, ONE, {0, 0}},
    {"um/Cel", VB_DIM_GROWTH, {1, 3}, {0, 0}},
};

/* Spellings, lower case, without blanks; the index is into the table above. */
static const struct spelling {
    const char *text;
    const char *unit;
} spellings[] = {
    {"mm", "mm"}, {"millimetre", "mm"}, {"millimetres", "mm"}, {"millimeter", "mm"},
    {"millimeters", "mm"}, {"um", "um"}, {"\xc2\xb5m", "um"}, {"\xce\xbcm", "um"},
    {"micron", "um"}, {"microns", "um"}, {"micrometre", "um"}, {"micrometer", "um"},
    {"1/100mm", "1/100mm"}, {"0.01mm", "1/100mm"},
    {"0,01mm", "1/100mm"}, {"hundertstel", "1/100mm"}, {"hundertstelmm", "1/100mm"},
    {"1/1000mm", "um"}, {"1/1000in", "[mil_i]"}, {"1/1000inch", "[mil_i]"},
    {"0.001in", "[mil_i]"}, {"1/1000\"", "[mil_i]"},
    {"cm", "cm"}, {"m", "m"}, {"in", "[in_i]"}, {"in.", "[in_i]"}, {"inch", "[in_i]"},
    {"inches", "[in_i]"}, {"\"", "[in_i]"}, {"\xe2\x80\xb3", "[in_i]"},
    {"\xe2\x80\x9d", "[in_i]"}, {"''", "[in_i]"}, {"zoll", "[in_i]"}, {"[in_i]", "[in_i]"},
    {"thou", "[mil_i]"}, {"mil", "[mil_i]"}, {"mils", "[mil_i]"}, {"[mil_i]", "[mil_i]"},
    {"thousandths", "[mil_i]"}, {"thousandth", "[mil_i]"},
    {"deg", "deg"}, {"deg.", "deg"}, {"degree", "deg"}, {"degrees", "deg"},
    {"\xc2\xb0", "deg"}, {"\xc2\xba", "deg"}, {"crankdeg", "deg"}, {"degcrank", "deg"},
    {"\xc2\xb0""ca", "deg"}, {"degca", "deg"}, {"\xc2\xb0kw", "deg"},
    {"crankdegrees", "deg"}, {"\xc2\xb0""crank", "deg"},
    {"deg_cam", "deg_cam"}, {"camdeg", "deg_cam"}, {"degcam", "deg_cam"},
    {"camdegrees", "deg_cam"}, {"\xc2\xb0""cam", "deg_cam"}, {"\xc2\xb0nw", "deg_cam"},
    {"cel", "Cel"}, {"c", "Cel"}, {"\xc2\xb0""c", "Cel"}, {"\xc2\xba""c", "Cel"},
    {"degc", "Cel"}, {"celsius", "Cel"}, {"\xe2\x84\x83", "Cel"},
    {"[degf]", "[degF]"}, {"f", "[degF]"}, {"\xc2\xb0""f", "[degF]"},
    {"\xc2\xba""f", "[degF]"}, {"degf", "[degF]"}, {"fahrenheit", "[degF]"},
    {"\xe2\x84\x89", "[degF]"}, {"k", "K"}, {"kelvin", "K"},
    {"h", "h"}, {"hr", "h"}, {"hrs", "h"}, {"hour", "h"}, {"hours", "h"}, {"std", "h"},
    {"enginehours", "h"}, {"bh", "h"},
    {"km", "km"}, {"kilometre", "km"}, {"kilometres", "km"}, {"kilometer", "km"},
    {"kilometers", "km"}, {"mi", "[mi_i]"}, {"mile", "[mi_i]"}, {"miles", "[mi_i]"},
    {"[mi_i]", "[mi_i]"}, {"d", "d"}, {"day", "d"}, {"days", "d"}, {"wk", "wk"},
    {"week", "wk"}, {"weeks", "wk"}, {"kpa", "kPa"}, {"bar", "bar"}, {"mpa", "MPa"},
    {"n", "N"}, {"newton", "N"}, {"kgf", "kgf"}, {"kp", "kgf"}, {"lbf", "[lbf_av]"},
    {"lbs", "[lbf_av]"}, {"lb", "[lbf_av]"}, {"[lbf_av]", "[lbf_av]"}, {"%", "%"},
    {"percent", "%"}, {"mm/cel", "mm/Cel"}, {"mm/\xc2\xb0""c", "mm/Cel"},
    {"mm/c", "mm/Cel"}, {"mm/k", "mm/Cel"}, {"um/cel", "um/Cel"}, {"um/k", "um/Cel"},
    {"\xc2\xb5m/\xc2\xb0""c", "um/Cel"}, {"um/c", "um/Cel"},
};
// clang-format on

/* Every spelling's unit is in the table. */
static const struct vb_unit *
by_name(const char *name)
{
    size_t i = 0;
    while (strcmp(units[i].name, name) != 0)
        i++;
    return &units[i];
}

/* Lower case without blanks, so that "Deg C" and "degC" are one; 0 if too long. */
static size_t
squeeze(const char *s, size_t n, char *out, size_t size)
{
    size_t k = 0;
    for (size_t i = 0; i < n; i++) {
        char c = s[i];
        if (c == ' ' || c == '\t')
            continue;
        if (!c || k + 1 >= size)
            return 0;
        out[k++] = (char)(c >= 'A' && c <= 'Z' ? c + ('a' - 'A') : c);
    }
    out[k] = 0;
    return k;
}

const struct vb_unit *
vb_unit_find(const char *s, size_t n)
{
    char key[24];
    if (squeeze(s, n, key, sizeof key) == 0)
        return NULL;
    for (size_t i = 0; i < sizeof spellings / sizeof *spellings; i++)
        if (strcmp(spellings[i].text, key) == 0)
            return by_name(spellings[i].unit);
    return NULL;
}

const struct vb_unit *
vb_unit_of(enum vb_dim dim)
{
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if (units[i].dim == dim)
            return &units[i];
    return NULL;
}

/* Cel = (degF - 32) * 5 / 9 has no end in decimals: rounded half away at 0.0001. */
static enum vb_err
fahrenheit(struct vb_dec five_times, struct vb_dec *out)
{
    double scaled = vb_dec_double((struct vb_dec){five_times.mant, five_times.scale - 5});
    if (scaled > 9e15 || scaled < -9e15)
        return VB_ERANGE;
    int64_t q = (int64_t)scaled / 9, sign = q < 0 ? -1 : 1;
    *out = (struct vb_dec){(q + 5 * sign) / 10, 4};
    return VB_OK;
}

enum vb_err
vb_unit_convert(const struct vb_unit *from, struct vb_dec value, struct vb_dec *out)
{
    struct vb_dec d = value;
    enum vb_err e = VB_OK;
    if (from->offset.mant)
        e = vb_dec_add(value, from->offset, &d);
    if (!e && (from->factor.mant != 1 || from->factor.scale))
        e = vb_dec_mul(d, from->factor, &d);
    if (!e && from->dim == VB_DIM_TEMP && from->factor.mant == 5)
        e = fahrenheit(d, &d);
    if (!e)
        *out = d;
    return e;
}

int
vb_missing(const char *s, size_t n)
{
    static const char *const words[] = {"?",    "n/a",  "na",  "n.a.", "nan",
                                        "null", "none", "nil", ".",    "*"};
    char key[8];
    if (n > 0 && *s >= '0' && *s <= '9')
        return 0;
    while (n > 0 && (*s == ' ' || *s == '\t'))
        s++, n--;
    while (n > 0 && (s[n - 1] == ' ' || s[n - 1] == '\t'))
        n--;
    size_t dashes = 0;
    while (dashes < n && s[dashes] == '-')
        dashes++;
    if (dashes == n) // nothing, or a dash of any length
        return 1;
    if (n > 4 || squeeze(s, n, key, sizeof key) == 0)
        return 0;
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcmp(words[i], key) == 0)
            return 1;
    return 0;
}
