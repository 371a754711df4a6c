#include "valvebook/guard.h"

#include <math.h>

#include "valvebook/life.h"
#include "valvebook/quantile.h"

static int
usable(double value, double u, double df, double lower, double upper, double risk)
{
    if (!isfinite(value) || !isfinite(u) || u < 0 || !(df > 0))
        return 0;
    if (isinf(lower) || isinf(upper) || (isnan(lower) && isnan(upper)) || lower > upper)
        return 0;
    return risk > 0 && risk <= 0.5;
}

/*
 * Room to the nearest limit, below 0 outside it, and which limit that is. A limit nobody
 * has stated, NaN, must not win.
 */
static double
room_left(double value, double lower, double upper, int *at)
{
    double below = value - lower, above = upper - value;
    *at = isnan(below) || above < below ? 1 : -1;
    return *at > 0 ? above : below;
}

enum vb_err
vb_guard_judge(double value, double u, double df, double lower, double upper, double risk,
               struct vb_guard *out)
{
    if (!usable(value, u, df, lower, upper, risk))
        return VB_EDOM;
    struct vb_guard r = {.verdict = VB_VERDICT_CLOSE};
    r.band = -vb_t_quantile(risk, df) * u;
    if (!isfinite(r.band))
        return VB_EDOM;
    double room = room_left(value, lower, upper, &r.at);
    if (room >= r.band) {
        r.verdict = VB_VERDICT_IN;
        r.at = 0;
    } else if (room < -r.band) {
        r.verdict = VB_VERDICT_OUT;
    }
    *out = r;
    return VB_OK;
}

enum vb_err
vb_growth(const struct vb_link *link, size_t n, double *g)
{
    if (n == 0)
        return VB_EDOM;
    double sum = 0;
    for (size_t i = 0; i < n; i++) {
        const struct vb_link *l = &link[i];
        if (!(l->length > 0) || !(fabs(l->alpha) <= VB_ALPHA_MAX))
            return VB_EDOM;
        if (l->sign != 1 && l->sign != -1)
            return VB_EDOM;
        sum += l->sign * l->length * l->alpha;
    }
    if (!isfinite(sum))
        return VB_EDOM;
    *g = sum;
    return VB_OK;
}

double
vb_growth_taken_out(double lash, double g, double temp_c)
{
    return isnan(temp_c) ? lash : lash - g * (temp_c - VB_REFERENCE_CEL);
}
