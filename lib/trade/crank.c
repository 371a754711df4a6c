#include "valvebook/crank.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define TURN     360.0
#define CYCLE    720.0
#define ROUNDING 1e-9 // crank degrees: 720/7 has no end

/* Digits only; steps over them. -1 for anything else, and for more than most. */
static int
digits(const char **s, int most)
{
    int v = **s >= '0' && **s <= '9' ? 0 : -1;
    while (**s >= '0' && **s <= '9' && v <= most)
        v = 10 * v + (*(*s)++ - '0');
    return v <= most ? v : -1;
}

/* Cylinder 1 first, and its firing TDC at 0. */
static void
begin_with_one(struct vb_firing *f)
{
    struct vb_firing was = *f;
    int one = 0;
    while (was.cyl[one] != 1)
        one++;
    for (int i = 0; i < f->n; i++) {
        int k = (one + i) % f->n;
        f->cyl[i] = was.cyl[k];
        f->deg[i] = was.deg[k] - was.deg[one] + (k < one ? CYCLE : 0);
    }
}

/* The degrees of the newest cylinder, steps over them; 1 if they go on from the last. The
 * first has none: it is what they count from. */
static int
take_degrees(const char **s, struct vb_firing *f)
{
    int i = f->n - 1;
    ++*s;
    f->deg[i] = digits(s, (int)CYCLE - 1);
    f->stated++;
    return i > 0 && f->deg[i] > f->deg[i - 1];
}

enum vb_err
vb_firing_parse(const char *s, struct vb_firing *out)
{
    struct vb_firing f = {.n = 0};
    char seen[VB_CYL_MAX + 1] = {0};
    for (;; s++) {
        int c = digits(&s, VB_CYL_MAX);
        if (c < 1 || seen[c])
            return VB_ESYNTAX;
        seen[c] = 1;
        f.cyl[f.n++] = c;
        if (*s == '@' && !take_degrees(&s, &f))
            return VB_ESYNTAX;
        if (*s != '-')
            break;
    }
    if (*s || memchr(seen + 1, 0, (size_t)f.n) || (f.stated && f.stated < f.n - 1))
        return VB_ESYNTAX;
    begin_with_one(&f);
    for (int i = 0; i < f.n && !f.stated; i++)
        f.deg[i] = i * CYCLE / f.n;
    *out = f;
    return VB_OK;
}

double
vb_firing_deg(const struct vb_firing *f, int cyl)
{
    for (int i = 0; i < f->n; i++)
        if (f->cyl[i] == cyl)
            return f->deg[i];
    return NAN;
}

/* Into 0 <= x < 720; a hair below 720 is 0. */
static double
in_cycle(double x)
{
    x = fmod(x, CYCLE);
    if (x < 0)
        x += CYCLE;
    return x > CYCLE - ROUNDING ? 0 : x;
}

/* The cylinder that fires at a position of the crank, 0 if none does. */
static int
fires_at(const struct vb_firing *f, double deg)
{
    for (int i = 0; i < f->n; i++)
        if (in_cycle(deg - f->deg[i] + ROUNDING / 2) < ROUNDING)
            return f->cyl[i];
    return 0;
}

int
vb_firing_companion(const struct vb_firing *f, int cyl)
{
    double deg = vb_firing_deg(f, cyl);
    return isnan(deg) ? 0 : fires_at(f, deg + TURN);
}

struct vb_opening
vb_opening_assumed(int side)
{
    return side ? (struct vb_opening){-270, 60} : (struct vb_opening){-60, 270};
}

struct vb_opening
vb_opening_wide(struct vb_opening stated, int side)
{
    struct vb_opening o = vb_opening_assumed(side);
    if (isnan(stated.opens) || isnan(stated.closes))
        return o;
    return (struct vb_opening){fmin(stated.opens, o.opens),
                               fmax(stated.closes, o.closes)};
}

double
vb_closed_by(struct vb_opening o, double after)
{
    double open_for = in_cycle(o.closes - o.opens);
    double since = in_cycle(after + TURN - o.opens); // firing TDC is a turn from overlap
    if (isnan(open_for) || isnan(since))
        return NAN;
    if (since < open_for)
        return -fmin(since, open_for - since);
    return fmin(since - open_for, CYCLE - since);
}

/*
 * What is being planned.
 *   tdc   [n] TDCs of all cylinders, firing and overlap, ascending: the positions that are
 *         marked on an engine. The first is 0.
 */
struct plan {
    const struct vb_firing *f;
    const struct vb_opening *o;
    double margin;
    double tdc[2 * VB_CYL_MAX];
    int n;
};

static int
ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void
find_tdcs(struct plan *p)
{
    double all[2 * VB_CYL_MAX];
    size_t n = 2 * (size_t)p->f->n;
    for (size_t i = 0; i < n; i++)
        all[i] = in_cycle(p->f->deg[i / 2] + (i % 2 ? TURN : 0));
    qsort(all, n, sizeof *all, ascending);
    for (size_t i = 0; i < n; i++)
        if (!p->n || all[i] > p->tdc[p->n - 1] + ROUNDING)
            p->tdc[p->n++] = all[i];
}

static struct vb_crank_stop
stop_at(const struct vb_firing *f, double deg)
{
    return (struct vb_crank_stop){
        .deg = deg, .firing = fires_at(f, deg), .rocking = fires_at(f, deg + TURN)};
}

static double
closed_by(const struct plan *p, int cyl, int side, double deg)
{
    return vb_closed_by(p->o[side], deg - vb_firing_deg(p->f, cyl));
}

static int
may_set(const struct plan *p, int cyl, int side, double deg)
{
    return closed_by(p, cyl, side, deg) >= p->margin - ROUNDING;
}

/*
 * The next position after `from`, 0 if none is needed: of the valves that no position up
 * to there does for, the earliest last chance. A valve is closed for one stretch of the
 * cycle, so those that are open at the first position have one stretch behind it.
 */
static int
next_needed(const struct plan *p, const char *done)
{
    int best = 0;
    for (int v = 0; v < 2 * p->f->n; v++) {
        int cyl = v / 2 + 1, last = p->n - 1;
        if (done[v])
            continue;
        while (last > 0 && !may_set(p, cyl, v % 2, p->tdc[last]))
            last--;
        if (last > 0 && (!best || last < best))
            best = last;
    }
    return best;
}

/* Mark what can be set there; returns how many are left, those that never can be not
 * counted. */
static int
mark(const struct plan *p, double deg, char *done)
{
    int left = 0;
    for (int v = 0; v < 2 * p->f->n; v++) {
        done[v] |= (char)may_set(p, v / 2 + 1, v % 2, deg);
        int ever = done[v];
        for (int k = 0; !ever && k < p->n; k++)
            ever = may_set(p, v / 2 + 1, v % 2, p->tdc[k]);
        left += ever && !done[v];
    }
    return left;
}

static void
fewest_stops(const struct plan *p, struct vb_crank_order *out)
{
    char done[2 * VB_CYL_MAX] = {0}, turn_on[2 * VB_CYL_MAX];
    int left = mark(p, 0, done);
    out->stop[out->n++] = stop_at(p->f, 0);
    memcpy(turn_on, done, sizeof done);
    if (left && !mark(p, TURN, turn_on)) {
        out->stop[out->n++] = stop_at(p->f, TURN);
        return;
    }
    while (left) { // one of them at least can be set at the next
        double deg = p->tdc[next_needed(p, done)];
        left = mark(p, deg, done);
        out->stop[out->n++] = stop_at(p->f, deg);
    }
}

static void
firing_stops(const struct plan *p, struct vb_crank_order *out)
{
    for (int i = 0; i < p->f->n; i++)
        out->stop[out->n++] = stop_at(p->f, p->f->deg[i]);
}

/* Has every cylinder one whose valves rock while it fires? */
static int
all_have_companions(const struct vb_firing *f)
{
    int i = 0;
    while (i < f->n && vb_firing_companion(f, f->cyl[i]))
        i++;
    return i == f->n;
}

/* Each valve goes to the first stop that does for it, of the own cylinder only where
 * that is the way. */
static void
place(const struct plan *p, enum vb_order way, struct vb_crank_order *out)
{
    for (int v = 0; v < 2 * p->f->n; v++) {
        int cyl = v / 2 + 1, side = v % 2;
        out->at[cyl][side] = -1;
        out->by[cyl][side] = NAN;
        for (int i = 0; i < out->n && out->at[cyl][side] < 0; i++) {
            double by = closed_by(p, cyl, side, out->stop[i].deg);
            if (by < p->margin - ROUNDING ||
                (way != VB_ORDER_TWO && out->stop[i].firing != cyl))
                continue;
            out->at[cyl][side] = i;
            out->by[cyl][side] = by;
        }
    }
}

enum vb_err
vb_crank_order_make(const struct vb_firing *f, const struct vb_opening *o, double margin,
                    enum vb_order way, struct vb_crank_order *out)
{
    struct plan p = {.f = f, .o = o, .margin = margin};
    if (f->n < 1 || f->n > VB_CYL_MAX || !(margin >= 0) || !isfinite(margin))
        return VB_EDOM;
    for (int s = 0; s < 2; s++)
        if (!isfinite(o[s].opens) || !isfinite(o[s].closes))
            return VB_EDOM;
    if (way == VB_ORDER_OPPOSITE && !all_have_companions(f))
        return VB_EUNKNOWN;
    find_tdcs(&p);
    memset(out, 0, sizeof *out);
    if (way == VB_ORDER_TWO)
        fewest_stops(&p, out);
    else
        firing_stops(&p, out);
    place(&p, way, out);
    return VB_OK;
}
