#include "valvebook/meter.h"

#include <math.h>

double
vb_meter_running(const struct vb_swap *swap, size_t n, double day, double meter)
{
    double offset = 0;
    for (size_t i = 0; i < n && floor(swap[i].day) <= floor(day); i++) {
        int same_day = floor(swap[i].day) == floor(day);
        if (same_day && fabs(meter - swap[i].last) < fabs(meter - swap[i].first))
            break;
        offset += swap[i].last - swap[i].first;
    }
    return meter + offset;
}

double
vb_meter_offset(const struct vb_swap *swap, size_t n, double day)
{
    double offset = 0;
    for (size_t i = 0; i < n && floor(swap[i].day) <= floor(day); i++)
        offset += swap[i].last - swap[i].first;
    return offset;
}

#define ROUNDING 1e-6 // sums of figures with a few decimals

double
vb_meter_most(double from_day, double to_day, int km)
{
    double days = floor(to_day) - floor(from_day) + 1;
    return days * (km ? VB_METER_KM_A_DAY : VB_METER_H_A_DAY) + VB_METER_MORE;
}

/* 9999.9 and 99999 are followed by 0 time and again, and so may 10000 be written. */
static int
counter_end(double last)
{
    for (double end = 1e3; end <= 1e9; end *= 10)
        for (double tail = 0.01; tail <= 1; tail *= 10)
            if (fabs(last - end) < ROUNDING || fabs(last - (end - tail)) < ROUNDING)
                return 1;
    return 0;
}

/* On the day of a swap the figure is one of the old meter or one of the new. */
static enum vb_clash
on_day_of_swap(const struct vb_mark *swap, const struct vb_mark *m)
{
    double most = vb_meter_most(m->day, m->day, m->km);
    double to_last = swap->meter - m->meter, from_first = m->meter - swap->first;
    if ((to_last >= -ROUNDING && to_last <= most) ||
        (from_first >= -ROUNDING && from_first <= most))
        return VB_CLASH_NONE;
    return VB_CLASH_SWAP;
}

enum vb_clash
vb_meter_pair(const struct vb_mark *a, const struct vb_mark *b)
{
    int same_day = floor(a->day) == floor(b->day);
    int swaps = (a->kind == VB_MARK_SWAP) + (b->kind == VB_MARK_SWAP);
    int any_order = same_day && (a->kind != VB_MARK_VISIT || b->kind != VB_MARK_VISIT);
    double gain = b->running - a->running;
    if (a->km != b->km)
        return VB_CLASH_UNIT;
    if (swaps == 2 && fabs(a->meter - b->meter) < ROUNDING && !counter_end(a->meter))
        return VB_CLASH_TWICE;
    if (same_day && swaps == 1)
        return a->kind == VB_MARK_SWAP ? on_day_of_swap(a, b) : on_day_of_swap(b, a);
    if (any_order)
        gain = fabs(gain);
    if (gain < -ROUNDING)
        return VB_CLASH_BACK;
    return gain > vb_meter_most(a->day, b->day, a->km) ? VB_CLASH_FAST : VB_CLASH_NONE;
}

enum vb_clash
vb_meter_check(const struct vb_mark *visit, const struct vb_mark *before,
               const struct vb_mark *event, size_t n, const struct vb_mark **with)
{
    enum vb_clash c = VB_CLASH_NONE;
    const struct vb_mark *other = before;
    size_t i = 0;
    for (; i < n && floor(event[i].day) < floor(visit->day); i++)
        if (!before || event[i].day > before->day)
            other = &event[i];
    if (other)
        c = vb_meter_pair(other, visit);
    for (int behind = 0; !c && !behind && i < n; i++) {
        other = &event[i];
        behind = floor(other->day) > floor(visit->day);
        c = vb_meter_pair(visit, other);
    }
    if (c)
        *with = other;
    return c;
}
