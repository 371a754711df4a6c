#include "valvebook/family.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "valvebook/guard.h"

// clang-format off
#define NEVER  VB_SIDE_NEVER
#define MAY    VB_SIDE_MAY
#define MUST   VB_SIDE_MUST
#define NONE   VB_DIM_NONE
#define MM     VB_DIM_LENGTH
#define GROWTH VB_DIM_GROWTH
#define HOURS  VB_DIM_TIME
#define KM     VB_DIM_DISTANCE
#define DAYS   VB_DIM_DAYS
static const struct vb_fact table[VB_FACT_COUNT] = {
    [VB_FACT_CYLINDERS] = {"cylinders", NEVER, NONE, NONE, NULL, 1, 99, "number of cylinders"},
    [VB_FACT_VALVES] = {"valves", MUST, NONE, NONE, NULL, 1, 9,
        "valves of this side in a cylinder"},
    [VB_FACT_NUMBERED_FROM] = {"numbered_from", NEVER, NONE, NONE, "free_end drive_end", 0, 0,
        "end that cylinder 1 stands at"},
    [VB_FACT_FIRING_ORDER] = {"firing_order", NEVER, NONE, NONE, "", 0, 0,
        "cylinders in the order in which they fire, 1-3-4-2"},
    [VB_FACT_ADJUSTER] = {"adjuster", NEVER, NONE, NONE, "screw shim hydraulic", 0, 0,
        "what sets the lash"},
    [VB_FACT_LASH_MIN] = {"lash_min", MUST, MM, NONE, NULL, 0, 5, "tight limit, cold"},
    [VB_FACT_LASH_MAX] = {"lash_max", MUST, MM, NONE, NULL, 0, 5, "loose limit, cold"},
    [VB_FACT_LASH_TARGET] = {"lash_target", MUST, MM, NONE, NULL, 0, 5, "lash to set, cold"},
    [VB_FACT_LASH_GROWTH] = {"lash_growth", MAY, GROWTH, NONE, NULL, -0.1, 0.1,
        "lash gained a degree above 20 Cel"},
    [VB_FACT_LASH_STACK] = {"lash_stack", MAY, NONE, NONE, "+", 0, 0,
        "lengths that make lash_growth, +120x21.5 -98x11.7: mm x 1e-6/Cel"},
    [VB_FACT_RATIO] = {"ratio", MAY, NONE, NONE, NULL, 0.2, 5, "valve lift over lobe lift"},
    [VB_FACT_READ_AT] = {"read_at", MAY, NONE, NONE, "tip lobe", 0, 0, "where lash is read"},
    [VB_FACT_SEAT_LIMIT] = {"seat_limit", MUST, MM, NONE, NULL, 0, 20,
        "total closing a seat may take"},
    [VB_FACT_RELASH_INTERVAL] = {"relash_interval", NEVER, HOURS, KM, NULL, 0, 1e7,
        "planned meter between settings"},
    [VB_FACT_RELASH_DAYS] = {"relash_days", NEVER, DAYS, NONE, NULL, 1, 10000,
        "planned time between settings"},
    [VB_FACT_SCREW_PITCH] = {"screw_pitch", MAY, MM, NONE, NULL, 0.1, 5,
        "pitch of the adjusting screw"},
    [VB_FACT_SCREW_ON] = {"screw_on", MAY, NONE, NONE, "valve pushrod", 0, 0,
        "side of the rocker that carries the screw"},
};
// clang-format on

const struct vb_fact *
vb_fact_find(const char *key, size_t n)
{
    for (size_t i = 0; i < VB_FACT_COUNT; i++)
        if (strlen(table[i].key) == n && memcmp(table[i].key, key, n) == 0)
            return &table[i];
    return NULL;
}

const struct vb_fact *
vb_fact_all(size_t *n)
{
    *n = VB_FACT_COUNT;
    return table;
}

/* "1-3-4-2": every cylinder named once, from 1 upwards without a gap. */
static int
is_firing_order(const char *s)
{
    int seen[100] = {0}, count = 0, most = 0;
    while (*s) {
        char *end;
        long v = strtol(s, &end, 10);
        if (end == s || *s < '0' || *s > '9' || v < 1 || v > 99 || seen[v]++)
            return 0;
        count++;
        most = v > most ? (int)v : most;
        if (*end && *end != '-')
            return 0;
        s = *end ? end + 1 : end;
        if (*end && !*s)
            return 0;
    }
    return count > 0 && count == most;
}

static int
is_word_of(const char *list, const char *w)
{
    size_t n = strlen(w);
    if (strchr(w, ' '))
        return 0;
    for (const char *p = list; n && (p = strstr(p, w)); p += n)
        if ((p == list || p[-1] == ' ') && (p[n] == ' ' || !p[n]))
            return 1;
    return 0;
}

static enum vb_err
check_word(const struct vb_fact *f, const char *value, const char *unit, struct vb_msg *m)
{
    double g;
    int stack = strcmp(f->words, "+") == 0;
    int ok = stack       ? !vb_stack_growth(value, &g)
             : *f->words ? is_word_of(f->words, value)
                         : is_firing_order(value);
    if (*unit) {
        vb_msg_set(m, "%s has no unit", f->key);
        return VB_EUNIT;
    }
    if (ok)
        return VB_OK;
    if (stack)
        vb_msg_set(m, "%s is like +120x21.5 -98x11.7, not '%.40s'", f->key, value);
    else if (*f->words)
        vb_msg_set(m, "%s is one of '%s', not '%.40s'", f->key, f->words, value);
    else
        vb_msg_set(m, "%s is like 1-3-4-2, not '%.40s'", f->key, value);
    return VB_ESYNTAX;
}

static enum vb_err
check_number(const struct vb_fact *f, const char *value, const char *unit, double *out,
             enum vb_dim *dim, struct vb_msg *m)
{
    struct vb_dec d;
    const struct vb_unit *u = *unit ? vb_unit_find(unit, strlen(unit)) : NULL;
    if (vb_dec_parse(value, strlen(value), '.', 0, &d)) {
        vb_msg_set(m, "bad number '%.40s'", value);
        return VB_ESYNTAX;
    }
    enum vb_dim has = u ? u->dim : VB_DIM_NONE;
    int other = f->dim_or != VB_DIM_NONE && has == f->dim_or;
    if ((*unit && !u) || (has != f->dim && !other)) {
        vb_msg_set(m, *unit ? "unit '%.20s' does not fit %s" : "no unit%.0s for %s", unit,
                   f->key);
        return VB_EUNIT;
    }
    int too_long = u && vb_unit_convert(u, d, &d);
    double x = vb_dec_double(d);
    if (too_long || x < f->lo || x > f->hi ||
        (f->dim == VB_DIM_NONE && f->lo >= 1 && x != floor(x))) {
        vb_msg_set(m, "%s %.40s is out of reason", f->key, value);
        return VB_ERANGE;
    }
    *out = x;
    if (dim)
        *dim = has;
    return VB_OK;
}

enum vb_err
vb_fact_check(const struct vb_fact *f, const char *side, const char *value,
              const char *unit, double *out, enum vb_dim *dim, struct vb_msg *m)
{
    int has_side = strcmp(side, "I") == 0 || strcmp(side, "E") == 0;
    if ((*side && !has_side) || (has_side && f->sided == VB_SIDE_NEVER) ||
        (!has_side && f->sided == VB_SIDE_MUST)) {
        vb_msg_set(m, "%s is said %s, not of '%.20s'", f->key,
                   f->sided == VB_SIDE_NEVER ? "of the engine" : "of side I or E", side);
        return VB_ESYNTAX;
    }
    if (!f->words)
        return check_number(f, value, unit, out, dim, m);
    enum vb_err e = check_word(f, value, unit, m);
    if (e)
        return e;
    *out = NAN;
    if (dim)
        *dim = VB_DIM_NONE;
    return VB_OK;
}

void
vb_family_init(struct vb_family *f)
{
    memset(f, 0, sizeof *f);
    f->relash = f->relash_days = NAN;
    for (int s = 0; s < 2; s++) {
        f->lash_min[s] = f->lash_max[s] = f->lash_target[s] = f->seat_limit[s] = NAN;
        f->ratio[s] = 1;
    }
}

static void
set_both(double *pair, const char *side, double x)
{
    if (*side != 'E')
        pair[0] = x;
    if (*side != 'I')
        pair[1] = x;
}

void
vb_family_set(struct vb_family *f, const struct vb_fact *fact, const char *side,
              const char *value, double x, enum vb_dim dim)
{
    int s = *side == 'E';
    switch ((enum vb_fact_id)(fact - table)) {
    case VB_FACT_CYLINDERS: f->cylinders = (int)x; break;
    case VB_FACT_VALVES: f->valves[s] = (int)x; break;
    case VB_FACT_LASH_MIN: f->lash_min[s] = x; break;
    case VB_FACT_LASH_MAX: f->lash_max[s] = x; break;
    case VB_FACT_LASH_TARGET: f->lash_target[s] = x; break;
    case VB_FACT_LASH_GROWTH: set_both(f->lash_growth, side, x); break;
    case VB_FACT_LASH_STACK:
        if (!vb_stack_growth(value, &x))
            set_both(f->lash_growth, side, x);
        break;
    case VB_FACT_RATIO: set_both(f->ratio, side, x); break;
    case VB_FACT_SEAT_LIMIT: f->seat_limit[s] = x; break;
    case VB_FACT_READ_AT:
        for (int k = 0; k < 2; k++)
            if (!*side || k == s)
                f->read_at_lobe[k] = strcmp(value, "lobe") == 0;
        break;
    case VB_FACT_RELASH_INTERVAL: f->relash = x, f->relash_dim = dim; break;
    case VB_FACT_RELASH_DAYS: f->relash_days = x; break;
    case VB_FACT_FIRING_ORDER:
        snprintf(f->firing_order, sizeof f->firing_order, "%s", value);
        break;
    default: break;
    }
}

int
vb_family_has(const struct vb_family *f, struct vb_valve v)
{
    int most = f->valves[v.side == 'E'];
    if (f->cylinders && v.cyl > f->cylinders)
        return 0;
    if (most == 0)
        return 1;
    return most == 1 ? v.index == 0 : v.index >= 1 && v.index <= most;
}
