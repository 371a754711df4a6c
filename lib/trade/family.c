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
#define ANGLE  VB_DIM_ANGLE
static const struct vb_fact table[VB_FACT_COUNT] = {
    [VB_FACT_CYLINDERS] = {"cylinders", NEVER, NONE, NONE, NULL, 1, 99, "number of cylinders"},
    [VB_FACT_VALVES] = {"valves", MUST, NONE, NONE, NULL, 1, 9,
        "valves of this side in a cylinder"},
    [VB_FACT_NUMBERED_FROM] = {"numbered_from", NEVER, NONE, NONE, "free_end drive_end", 0, 0,
        "end that cylinder 1 stands at"},
    [VB_FACT_FIRING_ORDER] = {"firing_order", NEVER, NONE, NONE, "", 0, 0,
        "cylinders in the order in which they fire, 1-3-4-2, or 1-2@405 where not evenly"},
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
    [VB_FACT_SCREW_ON] = {"screw_on", MAY, NONE, NONE, "valve pushrod stud pivot", 0, 0,
        "what carries the screw: side of the rocker, its stud, a follower's pivot"},
    [VB_FACT_OPENS] = {"opens", MUST, ANGLE, NONE, NULL, -360, 360,
        "nominal opening at checking lift, crank angle"},
    [VB_FACT_CLOSES] = {"closes", MUST, ANGLE, NONE, NULL, -360, 360,
        "nominal closing at checking lift, crank angle"},
    [VB_FACT_CHECKING_LIFT] = {"checking_lift", MAY, MM, NONE, NULL, 0.01, 10,
        "lift at which opens and closes are read"},
    [VB_FACT_LIFT_AT] = {"lift_at", MAY, NONE, NONE, "tip lobe", 0, 0,
        "where that lift is read, and lift at TDC"},
    [VB_FACT_LOBE] = {"lobe", MUST, NONE, NONE, "*", 0, 0,
        "profile of this side in the table lobes"},
    [VB_FACT_TIMING_TOLERANCE] = {"timing_tolerance", NEVER, ANGLE, NONE, NULL, 0, 45,
        "how far a cam may stand from its nominal timing"},
    [VB_FACT_BANKS] = {"banks", NEVER, NONE, NONE, ":", 0, 0,
        "cylinders of each bank, A:1-2-3 B:4-5-6"},
    [VB_FACT_CAM_FOR] = {"cam_for", NEVER, NONE, NONE, "side bank engine", 0, 0,
        "what one cam works: a side, both sides of a bank, all of the engine"},
    [VB_FACT_CRANK_TEETH] = {"crank_teeth", NEVER, NONE, NONE, NULL, 5, 400,
        "teeth of the crank's sprocket, gear or pulley"},
    [VB_FACT_CAM_TEETH] = {"cam_teeth", NEVER, NONE, NONE, NULL, 5, 400,
        "teeth of the cam's sprocket, gear or pulley"},
    [VB_FACT_SPROCKET_LIMIT] = {"sprocket_limit", NEVER, ANGLE, NONE, NULL, 0, 45,
        "how far a sprocket may stand off its mark"},
    [VB_FACT_SHIM_MIN] = {"shim_min", MAY, MM, NONE, NULL, 0.1, 10,
        "thinnest shim that can be bought"},
    [VB_FACT_SHIM_MAX] = {"shim_max", MAY, MM, NONE, NULL, 0.1, 10,
        "thickest shim that can be bought"},
    [VB_FACT_SHIM_STEP] = {"shim_step", MAY, MM, NONE, NULL, 0.001, 1,
        "step from one such shim to the next"},
    [VB_FACT_SHIM_FITS] = {"shim_fits", NEVER, NONE, NONE, "both side", 0, 0,
        "whether shims fit both sides, or the one that they are of"},
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

/* An order that a struct can hold. */
static int
is_firing_order(const char *s)
{
    struct vb_firing f;
    return strlen(s) < VB_FIRING_TEXT && !vb_firing_parse(s, &f);
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

/* A name that a struct can hold, without control characters. */
static int
is_name(const char *s)
{
    size_t n = strlen(s);
    for (size_t i = 0; i < n; i++)
        if ((unsigned char)s[i] < 0x20 || s[i] == 0x7f)
            return 0;
    return n > 0 && n < VB_LOBE_NAME;
}

/* How a word is checked, and what it is like where no list of words says it. */
static int
is_word(const struct vb_fact *f, const char *value, const char **like)
{
    double g;
    struct vb_banks b;
    switch (*f->words) {
    case '+': *like = "like +120x21.5 -98x11.7"; return !vb_stack_growth(value, &g);
    case ':': *like = "like A:1-2-3 B:4-5-6"; return !vb_banks_parse(value, &b);
    case '*': *like = "a name of 1 to 63 bytes"; return is_name(value);
    case 0: *like = "like 1-3-4-2 or 1-2@405"; return is_firing_order(value);
    default: return is_word_of(f->words, value);
    }
}

static enum vb_err
check_word(const struct vb_fact *f, const char *value, const char *unit, struct vb_msg *m)
{
    const char *like = NULL;
    int ok = is_word(f, value, &like);
    if (*unit) {
        vb_msg_set(m, "%s has no unit", f->key);
        return VB_EUNIT;
    }
    if (ok)
        return VB_OK;
    if (like)
        vb_msg_set(m, "%s is %s, not '%.40s'", f->key, like, value);
    else
        vb_msg_set(m, "%s is one of '%s', not '%.40s'", f->key, f->words, value);
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

/* What stands behind the number of an angle: nothing, a dead centre, or a unit first. */
enum tail { TAIL_NONE, TAIL_CENTRE, TAIL_UNIT };

static enum tail
tail_of(const char *value)
{
    struct vb_dec d;
    size_t used;
    if (vb_dec_prefix(value, strlen(value), '.', 0, &d, &used))
        return TAIL_NONE;
    value += used + strspn(value + used, " \t");
    return !*value ? TAIL_NONE : strchr("AaBb", *value) ? TAIL_CENTRE : TAIL_UNIT;
}

static enum vb_err
check_angle(const struct vb_fact *f, char side, const char *value, const char *unit,
            double *out, enum vb_dim *dim, struct vb_msg *m)
{
    struct vb_dec d;
    const struct vb_unit *u = *unit ? vb_unit_find(unit, strlen(unit)) : NULL;
    enum tail tail = tail_of(value);
    enum vb_err e =
        vb_angle_parse(value, strlen(value), '.', side, u && u->factor.mant == 2, &d);
    if (e && e != VB_ERANGE) {
        vb_msg_set(m, "bad angle '%.40s'", value);
        return VB_ESYNTAX;
    }
    if ((*unit && (!u || u->dim != VB_DIM_ANGLE || tail == TAIL_UNIT)) ||
        (!*unit && tail == TAIL_NONE)) {
        vb_msg_set(m, *unit ? "unit '%.20s' does not fit %s" : "no unit%.0s for %s", unit,
                   f->key);
        return VB_EUNIT;
    }
    double x = e ? INFINITY : vb_dec_double(d);
    if (x < f->lo || x > f->hi) {
        vb_msg_set(m, "%s %.40s is out of reason", f->key, value);
        return VB_ERANGE;
    }
    *out = x;
    if (dim)
        *dim = VB_DIM_ANGLE;
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
    if (f->dim == VB_DIM_ANGLE)
        return check_angle(f, *side, value, unit, out, dim, m);
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
    f->relash = f->relash_days = f->timing_tolerance = f->sprocket_limit = NAN;
    for (int s = 0; s < 2; s++) {
        f->lash_min[s] = f->lash_max[s] = f->lash_target[s] = f->seat_limit[s] = NAN;
        f->opens[s] = f->closes[s] = f->checking_lift[s] = NAN;
        f->screw_pitch[s] = f->shim_min[s] = f->shim_max[s] = f->shim_step[s] = NAN;
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

static void
set_words(int *pair, const char *side, int is)
{
    if (*side != 'E')
        pair[0] = is;
    if (*side != 'I')
        pair[1] = is;
}

static enum vb_adjuster
adjuster_of(const char *word)
{
    return strcmp(word, "screw") == 0  ? VB_ADJUSTER_SCREW
           : strcmp(word, "shim") == 0 ? VB_ADJUSTER_SHIM
                                       : VB_ADJUSTER_HYDRAULIC;
}

static enum vb_screw_on
screw_on(const char *word)
{
    return strcmp(word, "valve") == 0     ? VB_SCREW_VALVE
           : strcmp(word, "pushrod") == 0 ? VB_SCREW_PUSHROD
           : strcmp(word, "stud") == 0    ? VB_SCREW_STUD
                                          : VB_SCREW_PIVOT;
}

static enum vb_cam_for
cam_for(const char *word)
{
    return strcmp(word, "bank") == 0     ? VB_CAM_FOR_BANK
           : strcmp(word, "engine") == 0 ? VB_CAM_FOR_ENGINE
                                         : VB_CAM_FOR_SIDE;
}

static void
set_adjuster(struct vb_family *f, enum vb_fact_id id, const char *side, const char *value,
             double x)
{
    switch (id) {
    case VB_FACT_ADJUSTER: f->adjuster = adjuster_of(value); break;
    case VB_FACT_SCREW_PITCH: set_both(f->screw_pitch, side, x); break;
    case VB_FACT_SCREW_ON:
        if (*side != 'E')
            f->screw_on[0] = screw_on(value);
        if (*side != 'I')
            f->screw_on[1] = screw_on(value);
        break;
    case VB_FACT_SHIM_MIN: set_both(f->shim_min, side, x); break;
    case VB_FACT_SHIM_MAX: set_both(f->shim_max, side, x); break;
    case VB_FACT_SHIM_STEP: set_both(f->shim_step, side, x); break;
    case VB_FACT_SHIM_FITS:
        f->shim_fits = strcmp(value, "side") == 0 ? VB_SHIM_FITS_SIDE : VB_SHIM_FITS_BOTH;
        break;
    default: break;
    }
}

static void
set_timing(struct vb_family *f, enum vb_fact_id id, const char *side, const char *value,
           double x)
{
    int s = *side == 'E';
    switch (id) {
    case VB_FACT_OPENS: f->opens[s] = x; break;
    case VB_FACT_CLOSES: f->closes[s] = x; break;
    case VB_FACT_CHECKING_LIFT: set_both(f->checking_lift, side, x); break;
    case VB_FACT_LIFT_AT:
        set_words(f->lift_at_lobe, side, strcmp(value, "lobe") == 0);
        break;
    case VB_FACT_LOBE: snprintf(f->lobe[s], sizeof f->lobe[s], "%s", value); break;
    case VB_FACT_TIMING_TOLERANCE: f->timing_tolerance = x; break;
    case VB_FACT_BANKS: vb_banks_parse(value, &f->banks); break;
    case VB_FACT_CAM_FOR: f->cam_for = cam_for(value); break;
    case VB_FACT_CRANK_TEETH: f->crank_teeth = (int)x; break;
    case VB_FACT_CAM_TEETH: f->cam_teeth = (int)x; break;
    case VB_FACT_SPROCKET_LIMIT: f->sprocket_limit = x; break;
    default: set_adjuster(f, id, side, value, x);
    }
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
        vb_stack_growth(value, &x); // it is one
        set_both(f->lash_growth, side, x);
        break;
    case VB_FACT_RATIO: set_both(f->ratio, side, x); break;
    case VB_FACT_SEAT_LIMIT: f->seat_limit[s] = x; break;
    case VB_FACT_READ_AT:
        set_words(f->read_at_lobe, side, strcmp(value, "lobe") == 0);
        break;
    case VB_FACT_RELASH_INTERVAL: f->relash = x, f->relash_dim = dim; break;
    case VB_FACT_RELASH_DAYS: f->relash_days = x; break;
    case VB_FACT_FIRING_ORDER:
        snprintf(f->firing_order, sizeof f->firing_order, "%s", value);
        break;
    default: set_timing(f, (enum vb_fact_id)(fact - table), side, value, x); break;
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
