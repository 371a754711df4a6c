#include "valvebook/course.h"

#include <math.h>
#include <stdlib.h>

#define LEAST 1e-9 // of a variance: what rounding may leave of a difference

/*
 * How far a seat has closed is a sum over intervals of last less first: each adds the
 * scatter of two readings. From there it goes on at the valve's rate, which errs as the sum
 * does, since both come from the same readings: their covariance is that of the rate times
 * the meter D that the sum goes over, also where the rate borrows from the family. So, x
 * behind the newest reading, the variance is
 *     s2 v + var (x^2 + 2 x D) = (s2 v - var D^2) + var (x + D)^2,
 * that of a line known best D before it.
 */
int
vb_seat_line(const struct vb_fleet *f, const struct vb_life *l, const struct vb_state *st,
             struct vb_line *out)
{
    if (!(l->closed_v > 0) || !vb_fleet_line(f, l, st, out))
        return 0;
    double over = l->closed_over, shared = out->var_rate / out->s2 * over * over;
    out->ybar = -l->closed - out->rate * over;
    out->mbar = l->wear.now_meter - over;
    out->w = 1 / fmax(l->closed_v - shared, LEAST * l->closed_v);
    return 1;
}

/* Where the interval ends that begins with this point. */
static size_t
interval_end(const struct vb_point *point, size_t n, size_t first)
{
    size_t end = first + 1;
    while (end < n && point[end].obs.interval == point[first].obs.interval)
        end++;
    return end;
}

enum vb_err
vb_course_segments(const struct vb_point *point, size_t n, double rate,
                   struct vb_segment *out, size_t *n_out)
{
    enum vb_err e = VB_OK;
    size_t k = 0;
    double slope = isnan(rate) ? 0 : rate;
    struct vb_obs *obs = malloc((n + 1) * sizeof *obs);
    if (!obs)
        return VB_EMEM;
    for (size_t i = 0; i < n; i++)
        obs[i] = point[i].obs;
    for (size_t i = 0, end; i < n; i = end) {
        struct vb_wear w;
        end = interval_end(point, n, i);
        e = vb_wear_fit(obs + i, end - i, &w);
        if (e)
            break;
        double from = obs[i].meter, to = obs[end - 1].meter;
        out[k++] = (struct vb_segment){from,
                                       to,
                                       w.last_ybar + slope * (from - w.last_mbar),
                                       w.last_ybar + slope * (to - w.last_mbar),
                                       i,
                                       end - i};
    }
    free(obs);
    if (!e)
        *n_out = k;
    return e;
}

void
vb_course_closing(const struct vb_life *l, const struct vb_point *point, size_t n,
                  double *closed, double *v)
{
    double before = l->closed + l->wear.movement; // what earlier lives left
    double before_v = 0;
    for (size_t i = 0, end; i < n; i = end) {
        const struct vb_obs *first = &point[i].obs;
        end = interval_end(point, n, i);
        for (size_t k = i; k < end; k++) {
            closed[k] = before + first->lash - point[k].obs.lash;
            v[k] = before_v + (k > i ? 1 / first->w + 1 / point[k].obs.w : 0);
        }
        before = closed[end - 1];
        before_v = v[end - 1];
    }
    // Theirs is known now only; what rounding left of nothing is nothing.
    double carried = fmax(0, l->closed_v - before_v);
    for (size_t i = 0; i < n; i++)
        v[i] += carried;
}

/* From one visit to the next with a meter, straight; NaN where no two enclose x. by_day:
 * x is a day and a meter is wanted, else the other way round. */
static double
between_visits(const struct vb_engine *e, double x, int by_day)
{
    const struct vb_visit *a = NULL;
    for (size_t i = 0; i < e->n_visits; i++) {
        const struct vb_visit *b = &e->visit[i];
        if (isnan(b->running))
            continue;
        double x1 = by_day ? b->day : b->running, y1 = by_day ? b->running : b->day;
        if (x1 == x)
            return y1;
        double x0 = !a ? NAN : by_day ? a->day : a->running;
        if (x0 < x && x < x1) {
            double y0 = by_day ? a->running : a->day;
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0);
        }
        a = b;
    }
    return NAN;
}

double
vb_course_meter(const struct vb_engine *e, const struct vb_unit_now *u, double day)
{
    if (day > u->last_day)
        return u->pace > 0 ? u->last_running + (day - u->last_day) * u->pace : NAN;
    return between_visits(e, day, 1);
}

double
vb_course_day(const struct vb_engine *e, const struct vb_unit_now *u, double running)
{
    if (running > u->last_running)
        return u->pace > 0 ? u->last_day + (running - u->last_running) / u->pace : NAN;
    return between_visits(e, running, 0);
}

double
vb_course_shown(const struct vb_engine *e, double running)
{
    for (size_t i = e->n_visits; i > 0; i--)
        if (e->visit[i - 1].running == running)
            return e->visit[i - 1].meter;
    return NAN;
}
