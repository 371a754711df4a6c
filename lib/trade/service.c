/* The scale of an engine's ages, and who was watched on it. */
#include "service_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/meter.h"
#include "valvebook/quantity.h"

/* Room for one more; NULL when out of memory. */
static void *
grow(void *list, size_t n, size_t *size, size_t member)
{
    if (n < *size)
        return list;
    size_t more = *size ? 2 * *size : 32;
    void *p = realloc(list, more * member);
    if (p)
        *size = more;
    return p;
}

enum vb_err
vb_spans_add(struct vb_spans *s, double lo, double hi)
{
    struct vb_span *p = grow(s->span, s->n, &s->size, sizeof *p);
    if (!p)
        return VB_EMEM;
    s->span = p;
    p[s->n++] = (struct vb_span){lo, hi};
    return VB_OK;
}

enum vb_err
vb_sets_add(struct vb_sets *s, const struct vb_set *set)
{
    struct vb_set *p = grow(s->set, s->n, &s->size, sizeof *p);
    if (!p)
        return VB_EMEM;
    s->set = p;
    p[s->n++] = *set;
    return VB_OK;
}

/* --- the scale ---------------------------------------------------------------------- */

static int
by_day(const void *a, const void *b)
{
    const struct mark *x = a, *y = b;
    if (x->day != y->day)
        return x->day < y->day ? -1 : 1;
    return (x->running > y->running) - (x->running < y->running);
}

static enum vb_err
find_marks(struct service_view *v)
{
    const struct vb_engine *e = v->e;
    v->mark = malloc((e->n_visits + e->n_events + 1) * sizeof *v->mark);
    if (!v->mark)
        return VB_EMEM;
    for (size_t i = 0; i < e->n_visits; i++)
        if (!isnan(e->visit[i].running))
            v->mark[v->n_marks++] =
                (struct mark){floor(e->visit[i].day), e->visit[i].running};
    for (size_t i = 0; i < e->n_events; i++)
        if (!isnan(v->r[i].running))
            v->mark[v->n_marks++] =
                (struct mark){floor(e->event[i].day), v->r[i].running};
    if (v->n_marks)
        qsort(v->mark, v->n_marks, sizeof *v->mark, by_day);
    return VB_OK;
}

/* The running meter on a day, NaN before the first record and after the last. */
static double
running_on(const struct service_view *v, double day)
{
    size_t i = 0;
    day = floor(day);
    while (i < v->n_marks && v->mark[i].day < day)
        i++;
    if (i == v->n_marks)
        return NAN;
    if (v->mark[i].day == day)
        return v->mark[i].running;
    if (i == 0)
        return NAN;
    const struct mark *a = &v->mark[i - 1], *b = a + 1;
    return a->running + (b->running - a->running) * (day - a->day) / (b->day - a->day);
}

double
service_position(const struct service_view *v, size_t event)
{
    const struct vb_event *ev = &v->e->event[event];
    if (v->s->wish.days)
        return floor(ev->day);
    return isnan(v->r[event].running) ? running_on(v, ev->day) : v->r[event].running;
}

static double
first_day(const struct service_view *v)
{
    double d = INFINITY;
    if (v->e->n_visits)
        d = floor(v->e->visit[0].day);
    if (v->e->n_events)
        d = fmin(d, floor(v->e->event[0].day));
    return isinf(d) ? NAN : d;
}

/* The first record of the meter not before a day. */
static const struct mark *
mark_from(const struct service_view *v, double day)
{
    for (size_t i = 0; i < v->n_marks; i++)
        if (v->mark[i].day >= day)
            return &v->mark[i];
    return NULL;
}

static void
find_start(struct service_view *v)
{
    double day = floor(v->e->in_service), known = running_on(v, day);
    const struct mark *m = mark_from(v, isnan(day) ? -INFINITY : day);
    double most =
        strcmp(v->e->meter_unit, "km") == 0 ? VB_METER_KM_A_DAY : VB_METER_H_A_DAY;
    int shown = v->n_marks && v->mark[0].day < day; // before it came into service
    v->is_new = !isnan(day) && (isnan(known) ? !shown : known == 0) &&
                (!m || m->running <= most * (m->day - day + 1));
    if (v->s->wish.days)
        v->start = isnan(day) ? first_day(v) : day;
    else
        v->start = v->is_new ? 0 : !isnan(known) ? known : m ? m->running : NAN;
}

static void
find_end(struct service_view *v)
{
    v->end_day = floor(v->s->wish.as_of);
    for (size_t i = 0; i < v->e->n_events; i++)
        if (v->e->event[i].kind == VB_EVENT_END) {
            v->end_day = floor(v->e->event[i].day);
            v->s->left++;
            break;
        }
    v->end = v->end_day;
    if (v->s->wish.days)
        return;
    v->end = NAN;
    for (size_t i = 0; i < v->n_marks && v->mark[i].day <= v->end_day; i++)
        v->end = v->mark[i].running;
}

/* --- watches and replacements --------------------------------------------------------- */

static enum vb_err
add_watch(struct service_view *v, double base, double start, double end)
{
    struct vb_service *s = v->s;
    struct vb_watch *p = grow(s->watch, s->n_watches, &s->watches_size, sizeof *p);
    if (!p)
        return VB_EMEM;
    s->watch = p;
    p[s->n_watches++] = (struct vb_watch){s->engines, start - base, end - base};
    return VB_OK;
}

/* Replacements after `start` and up to `end`, of the watch that was added last. */
static enum vb_err
add_replaced(struct service_view *v, double base, double start, double end,
             unsigned char *done)
{
    struct vb_service *s = v->s;
    for (size_t i = 0; i < v->e->n_events; i++) {
        double at = service_position(v, i);
        if (done[i] || !service_replaces(s, &v->e->event[i], &v->r[i]) || !(at > start) ||
            !(at <= end))
            continue;
        double n = service_count(s, v->e->family, &v->e->event[i]);
        struct vb_replaced *p =
            grow(s->replaced, s->n_replaced, &s->replaced_size, sizeof *p);
        if (!p)
            return VB_EMEM;
        s->replaced = p;
        p[s->n_replaced++] = (struct vb_replaced){s->n_watches - 1, at - base, n};
        s->count += n;
        done[i] = 1;
    }
    return VB_OK;
}

static enum vb_err
add_stretch(struct service_view *v, double base, double start, double end,
            unsigned char *done)
{
    if (!(start < end)) // also where one of them is not known
        return VB_OK;
    enum vb_err e = add_watch(v, base, start, end);
    return e ? e : add_replaced(v, base, start, end, done);
}

/* From start, or the last build, to the next build, or the end. */
static enum vb_err
add_watches(struct service_view *v)
{
    const struct vb_engine *e = v->e;
    size_t before = v->s->n_watches;
    double start = v->start, base = v->s->wish.days ? v->start : 0;
    unsigned char *done = calloc(e->n_events + 1, 1);
    enum vb_err err = done ? VB_OK : VB_EMEM;
    for (size_t i = 0; !err && i < e->n_events; i++) {
        double at = service_position(v, i);
        if (!service_begins_anew(v->s, &e->event[i], &v->r[i]) || at < start)
            continue;
        // built before the meter was first read: what follows has no age
        int unread = isnan(at) && v->n_marks && e->event[i].day < v->mark[0].day;
        err = add_stretch(v, base, start, unread ? NAN : fmin(at, v->end), done);
        start = base = at;
    }
    if (!err)
        err = add_stretch(v, base, start, v->end, done);
    for (size_t i = 0; !err && i < e->n_events; i++)
        v->s->lost += !done[i] && service_replaces(v->s, &e->event[i], &v->r[i]);
    free(done);
    if (v->s->n_watches > before) {
        v->s->late += v->s->watch[before].from > 0;
        v->s->engines++;
    } else {
        v->s->unplaced++;
    }
    return err;
}

enum vb_err
vb_service_add(struct vb_service *s, const struct vb_engine *e,
               const struct vb_renewed *r)
{
    struct service_view v = {.s = s, .e = e, .r = r};
    enum vb_err err = find_marks(&v);
    if (!err) {
        find_start(&v);
        find_end(&v);
        err = add_watches(&v);
    }
    if (!err)
        err = service_part_lives(&v);
    if (!err)
        err = vb_setting_lives(s, e);
    free(v.mark);
    return err;
}

void
vb_service_clear(struct vb_service *s)
{
    free(s->watch);
    free(s->replaced);
    for (int side = 0; side < 2; side++) {
        free(s->part[side].span);
        free(s->setting[side].span);
        free(s->set[side].set);
    }
    memset(s, 0, sizeof *s);
}
