#ifndef VALVEBOOK_FORECAST_H
#define VALVEBOOK_FORECAST_H

#include <stddef.h>

#include "valvebook/err.h"

/*
 * vb_line - where a valve stands and how it moves, as far as is known.
 *   ybar, mbar   mean lash (mm) and mean meter of the last interval
 *   w            sum of its weights
 *   rate         mm per unit of meter;  var_rate  its variance
 *   s2           residual variance, mm2;  df  its degrees of freedom, > 0, whole or not
 */
struct vb_line {
    double ybar, mbar, w;
    double rate, var_rate;
    double s2, df;
};

/*
 * vb_line_level - the expected lash at a meter, and its standard error.
 *     L(m) = ybar + rate (m - mbar),  var = s2 / w + var_rate (m - mbar)^2
 * Errors: VB_EDOM  a member, the meter or a result that is not finite, w or df not above
 *                  0, a variance below 0 (level, se untouched)
 */
enum vb_err vb_line_level(const struct vb_line *l, double meter, double *level,
                          double *se);

/*
 * vb_line_bounds - one-sided bounds of the expected lash at a meter: where each meets a
 * limit, vb_line_cross says early.
 *     L(m) - t_p(df) se,  L(m) + t_p(df) se
 *   p   one-sided confidence, 0.95 as a rule
 * Errors: VB_EDOM  as vb_line_level; p below 0.5, 1 or more, or NaN; a bound not finite
 *                  (lower, upper untouched)
 * Cost:   O(1) time, no allocation.  Owns: nothing.
 * Source: R predict(lm, interval = "confidence", level = 2 p - 1).
 */
enum vb_err vb_line_bounds(const struct vb_line *l, double meter, double p, double *lower,
                           double *upper);

/* Which way a line runs out of its window. */
enum vb_way {
    VB_WAY_NONE = 0, // nothing is forecast: the rate does not differ from zero, or
                     // nobody has stated the limit it moves towards
    VB_WAY_TIGHT,    // closes towards the tight limit
    VB_WAY_LOOSE,    // opens towards the loose limit
};

/*
 * vb_crossing - when a limit is reached.
 *   way        which limit
 *   expected   meter at which L(m) = limit, not before `from`; +inf if way is NONE
 *   early      first meter, not before `from`, at which the one-sided bound meets the
 *              limit; `from` itself if it has met it already; never after expected
 *   out_now    the level itself is outside a limit at `from`: then expected and early
 *              are `from`, and way names that limit, whichever way the line moves. A
 *              bound that is outside while the level is not gives early = from only. A
 *              level on the limit is inside.
 */
struct vb_crossing {
    enum vb_way way;
    double expected;
    double early;
    int out_now;
};

/*
 * vb_line_cross - expected and early crossing of the tight and the loose limit.
 *   from    meter of the newest reading: forecasts begin here
 *   tight, loose   limits, mm; NaN for a limit nobody has stated
 *   p       one-sided confidence, 0.95 as a rule
 *   out     filled whole
 * The rate counts as different from zero when |rate| exceeds the one-sided p-quantile of
 * t times its standard error; otherwise way is NONE unless the level itself is outside.
 * The bound moves with the rate: closing, L(m) - t se(m) against the tight limit;
 * opening, L(m) + t se(m) against the loose one; the other limit cannot be met.
 * Bound = limit is a quadratic in m, solved in closed form.
 * Errors: VB_EDOM  as vb_line_level; p below 0.5, 1 or more, or NaN; from not finite, a
 *                  limit infinite, tight above loose (out untouched)
 * Cost:   O(1) time, no allocation.  Owns: nothing.
 * Source: Fieller (1954); R: uniroot() on predict(lm, interval = "confidence") bounds.
 */
enum vb_err vb_line_cross(const struct vb_line *l, double from, double tight,
                          double loose, double p, struct vb_crossing *out);

/*
 * vb_pace - how fast a meter runs: Theil-Sen slope, the median of all pairwise slopes.
 *   day, meter   [n] days (any epoch) and meter, in any order; pairs on one day are
 *                left out
 *   slope        out: meter units a day
 * Errors: VB_EDOM  fewer than two different days, or a number or the slope not finite
 *         VB_EMEM  no memory for n (n - 1) / 2 slopes             (slope untouched)
 * Cost:   O(n^2) time and memory.
 * Source: Sen (1968); EPA 530/R-09-007 example 17-6.
 */
enum vb_err vb_pace(const double *day, const double *meter, size_t n, double *slope);

#endif
