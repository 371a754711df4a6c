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
