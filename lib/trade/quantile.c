#include "valvebook/quantile.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdint.h>
#include <string.h>

/* Beyond this t and normal agree to ten digits; far beyond, GSL's t quantile is lost. */
#define NORMAL_DF 1e10
#define SLOTS     16

struct asked {
    double p, df, t;
};

static double
quantile(double p, double df)
{
    return df > NORMAL_DF ? gsl_cdf_ugaussian_Pinv(p) : gsl_cdf_tdist_Pinv(p, df);
}

static struct asked *
slot(double p, double df)
{
    static _Thread_local struct asked asked[SLOTS];
    uint64_t a, b;
    memcpy(&a, &p, sizeof a);
    memcpy(&b, &df, sizeof b);
    return &asked[((a ^ b * UINT64_C(0x9e3779b97f4a7c15)) *
                   UINT64_C(0xd1342543de82ef95)) >>
                  60];
}

double
vb_t_quantile(double p, double df)
{
    if (!(p > 0 && p < 1 && df > 0))
        return NAN;
    struct asked *s = slot(p, df);
    if (s->p != p || s->df != df) // p is never 0 where something was asked
        *s = (struct asked){p, df, quantile(p, df)};
    return s->t;
}
