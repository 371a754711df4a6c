/* Angles, valves and numbers: what is read is in range, and reads the same when written. */
#include <math.h>
#include <string.h>

#include "fuzz.h"
#include "valvebook/number.h"
#include "valvebook/valve.h"

static void
numbers(const char *s, size_t n, char mark, char group)
{
    struct vb_dec d;
    char text[VB_NUM_MAX];
    double x, y;
    if (!vb_dec_parse(s, n, mark, group, &d)) {
        size_t len = vb_dec_format(d, text);
        MUST(len == strlen(text) && len < VB_NUM_MAX);
        MUST(vb_double_parse(text, len, &x) == VB_OK && x == vb_dec_double(d));
        MUST(isfinite(vb_dec_double(d)) && vb_dec_half(d) > 0);
    }
    if (!vb_double_parse(s, n, &x)) {
        size_t len = vb_double_format(x, text);
        MUST(len == strlen(text) && len < VB_NUM_MAX);
        MUST(vb_double_parse(text, len, &y) == VB_OK && x == y);
    }
}

static void
valves(const char *s, size_t n)
{
    struct vb_valve v, again;
    char text[VB_VALVE_MAX];
    if (vb_valve_parse(s, n, &v))
        return;
    vb_valve_format(v, text);
    MUST(vb_valve_parse(text, strlen(text), &again) == VB_OK);
    MUST(vb_valve_same(v, again));
}

int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct vb_dec deg;
    if (size < 2)
        return 0;
    const char *s = (const char *)data + 1;
    size_t n = size - 1;
    char mark = data[0] & 1 ? ',' : '.',
         group = data[0] & 2 ? (mark == ',' ? '.' : ',') : 0;
    char side = data[0] & 4 ? 'E' : 'I';
    if (!vb_angle_parse(s, n, mark, side, data[0] & 8, &deg))
        MUST(vb_dec_double(deg) >= -360 && vb_dec_double(deg) <= 360);
    numbers(s, n, mark, group);
    valves(s, n);
    return 0;
}
