#include "valvebook/crank.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#define TURN     360.0
#define CYCLE    720.0
#define ROUNDING 1e-9 // crank degrees: 720/7 has no end

/* Digits only; steps over them. 0 for anything else. */
static int
cylinder(const char **s)
{
    int v = 0;
    while (**s >= '0' && **s <= '9' && v <= VB_CYL_MAX)
        v = 10 * v + (*(*s)++ - '0');
    return v <= VB_CYL_MAX ? v : 0;
}

static void
begin_with_one(struct vb_firing *f)
{
    struct vb_firing was = *f;
    int one = 0;
    while (was.cyl[one] != 1)
        one++;
    for (int i = 0; i < f->n; i++)
        f->cyl[i] = was.cyl[(one + i) % f->n];
}

enum vb_err
vb_firing_parse(const char *s, struct vb_firing *out)
{
    struct vb_firing f = {.n = 0};
    char seen[VB_CYL_MAX + 1] = {0};
    for (;; s++) {
        int c = cylinder(&s);
        if (!c || seen[c])
            return VB_ESYNTAX;
        seen[c] = 1;
        f.cyl[f.n++] = c;
        if (*s != '-')
            break;
    }
    if (*s || memchr(seen + 1, 0, (size_t)f.n))
        return VB_ESYNTAX;
    begin_with_one(&f);
    *out = f;
    return VB_OK;
}

static int
index_of(const struct vb_firing *f, int cyl)
{
    for (int i = 0; i < f->n; i++)
        if (f->cyl[i] == cyl)
            return i;
    return -1;
}

double
vb_firing_deg(const struct vb_firing *f, int cyl)
{
    int i = index_of(f, cyl);
    return i < 0 ? NAN : i * CYCLE / f->n;
}

int
vb_firing_companion(const struct vb_firing *f, int cyl)
{
    int i = index_of(f, cyl);
    return i < 0 || f->n % 2 ? 0 : f->cyl[(i + f->n / 2) % f->n];
}

struct vb_opening
vb_opening_assumed(int side)
{
    return side ? (struct vb_opening){-270, 60} : (struct vb_opening){-60, 270};
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

/* TDCs of all cylinders, firing and overlap: the positions that are marked on an engine.
 */
static int
tdcs(const struct vb_firing *f)
{
    return f->n % 2 ? 2 * f->n : f->n;
}

static struct vb_crank_stop
stop_at(const struct vb_firing *f, int tdc)
{
    int step = tdcs(f) / f->n; // TDCs from one firing to the next
    int over = (tdc + tdcs(f) / 2) % tdcs(f);
    return (struct vb_crank_stop){
        .deg = tdc * CYCLE / tdcs(f),
        .firing = tdc % step ? 0 : f->cyl[tdc / step],
        .rocking = over % step ? 0 : f->cyl[over / step],
    };
}

/* What is being planned. */
struct plan {
    const struct vb_firing *f;
    const struct vb_opening *o;
    double margin;
};

static double
closed_by(const struct plan *p, int cyl, int side, double deg)
{
    return vb_closed_by(p->o[side], deg - vb_firing_deg(p->f, cyl));
}

static int
may_set(const struct plan *p, int cyl, int side, int tdc)
{
    double deg = tdc * CYCLE / tdcs(p->f);
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
    int n = tdcs(p->f), best = 0;
    for (int v = 0; v < 2 * p->f->n; v++) {
        int cyl = v / 2 + 1, last = n - 1;
        if (done[v])
            continue;
        while (last > 0 && !may_set(p, cyl, v % 2, last))
            last--;
        if (last > 0 && (!best || last < best))
            best = last;
    }
    return best;
}

/* Mark what can be set there; returns how many are left, those that never can be not
 * counted. */
static int
mark(const struct plan *p, int tdc, char *done)
{
    int left = 0;
    for (int v = 0; v < 2 * p->f->n; v++) {
        done[v] |= (char)may_set(p, v / 2 + 1, v % 2, tdc);
        int ever = done[v];
        for (int k = 0; !ever && k < tdcs(p->f); k++)
            ever = may_set(p, v / 2 + 1, v % 2, k);
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
    if (left && !mark(p, tdcs(p->f) / 2, turn_on)) {
        out->stop[out->n++] = stop_at(p->f, tdcs(p->f) / 2);
        return;
    }
    while (left) { // one of them at least can be set at the next
        int tdc = next_needed(p, done);
        left = mark(p, tdc, done);
        out->stop[out->n++] = stop_at(p->f, tdc);
    }
}

static void
firing_stops(const struct plan *p, struct vb_crank_order *out)
{
    int step = tdcs(p->f) / p->f->n;
    for (int i = 0; i < p->f->n; i++)
        out->stop[out->n++] = stop_at(p->f, i * step);
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
    const struct plan p = {f, o, margin};
    if (f->n < 1 || f->n > VB_CYL_MAX || !(margin >= 0) || !isfinite(margin))
        return VB_EDOM;
    for (int s = 0; s < 2; s++)
        if (!isfinite(o[s].opens) || !isfinite(o[s].closes))
            return VB_EDOM;
    if (way == VB_ORDER_OPPOSITE && f->n % 2)
        return VB_EUNKNOWN;
    memset(out, 0, sizeof *out);
    if (way == VB_ORDER_TWO)
        fewest_stops(&p, out);
    else
        firing_stops(&p, out);
    place(&p, way, out);
    return VB_OK;
}
