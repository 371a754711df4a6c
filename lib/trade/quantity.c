#include "valvebook/quantity.h"

#include <stdio.h>
#include <string.h>

#include "valvebook/valve.h"

// The largest credible values are common practice, set wide: they catch a slipped
// decimal point or a wrong unit, not a bad engine.
// clang-format off
static const struct vb_quantity table[] = {
    {"lash", VB_DIM_LENGTH, VB_AT_VALVE, 0, 5, "gap in the closed valve's train"},
    {"opens", VB_DIM_ANGLE, VB_AT_VALVE, 1, 360, "crank angle at checking lift, going up"},
    {"closes", VB_DIM_ANGLE, VB_AT_VALVE, 1, 360, "crank angle at checking lift, coming down"},
    {"lift_tdc", VB_DIM_LENGTH, VB_AT_VALVE, 0, 20, "valve lift at overlap TDC"},
    {"checking_lift", VB_DIM_LENGTH, VB_AT_PART, 0, 10, "lift at which opens and closes are read"},
    {"stop_before", VB_DIM_ANGLE, VB_AT_CYLINDER, 1, 360,
     "degree wheel at the piston stop, before TDC"},
    {"stop_after", VB_DIM_ANGLE, VB_AT_CYLINDER, 1, 360,
     "degree wheel at the piston stop, after TDC"},
    {"shim", VB_DIM_LENGTH, VB_AT_VALVE, 0, 10, "thickness of the shim in place"},
    {"stem_height", VB_DIM_LENGTH, VB_AT_VALVE, 0, 200, "stem above the head's face"},
    {"recess", VB_DIM_LENGTH, VB_AT_VALVE, 1, 20, "valve head below the head's face"},
    {"leakdown", VB_DIM_PERCENT, VB_AT_CYLINDER, 0, 100, "leak-down"},
    {"compression", VB_DIM_PRESSURE, VB_AT_CYLINDER, 0, 20000, "compression pressure"},
    {"spring_load", VB_DIM_FORCE, VB_AT_VALVE, 0, 20000, "spring load at fitted length"},
    {"lobe_lift", VB_DIM_LENGTH, VB_AT_VALVE, 0, 30, "lift of the cam lobe"},
    {"injector_lash", VB_DIM_LENGTH, VB_AT_CYLINDER, 0, 5,
     "gap in the train of a unit injector or pump"},
    {"brake_lash", VB_DIM_LENGTH, VB_AT_CYLINDER, 0, 10, "gap in the train of the engine brake"},
    {"bridge_gap", VB_DIM_LENGTH, VB_AT_VALVE, 0, 5, "gap of a bridge at its second valve"},
    {"sprocket_step", VB_DIM_ANGLE, VB_AT_CAM, 1, 360, "alignment of the sprocket on its cam"},
};

static const struct part {
    const char *name;
    int renews;
} parts[] = {
    {"", VB_RENEWS_LASH | VB_RENEWS_SEAT | VB_RENEWS_DRIVE | VB_RENEWS_TIMING},
    {"engine", VB_RENEWS_LASH | VB_RENEWS_SEAT | VB_RENEWS_DRIVE | VB_RENEWS_TIMING},
    {"head", VB_RENEWS_LASH | VB_RENEWS_SEAT | VB_RENEWS_TIMING},
    {"seat", VB_RENEWS_LASH | VB_RENEWS_SEAT},
    {"valve", VB_RENEWS_LASH | VB_RENEWS_SEAT},
    {"cam", VB_RENEWS_LASH | VB_RENEWS_TIMING},
    {"follower", VB_RENEWS_LASH},
    {"tip", VB_RENEWS_LASH},
    {"rocker", VB_RENEWS_LASH},
    {"adjuster", VB_RENEWS_LASH},
    {"pushrod", VB_RENEWS_LASH},
    {"guide", 0},
    {"spring", 0},
    {"chain", VB_RENEWS_DRIVE | VB_RENEWS_TIMING},
    {"belt", VB_RENEWS_DRIVE | VB_RENEWS_TIMING},
    {"gear", VB_RENEWS_DRIVE | VB_RENEWS_TIMING},
    {"sprocket", VB_RENEWS_DRIVE | VB_RENEWS_TIMING},
    {"piston", 0},
    {"bottom_end", 0},
};
// clang-format on

const struct vb_quantity *
vb_quantity_find(const char *s, size_t n)
{
    for (size_t i = 0; i < sizeof table / sizeof *table; i++)
        if (strlen(table[i].name) == n && memcmp(table[i].name, s, n) == 0)
            return &table[i];
    return NULL;
}

const struct vb_quantity *
vb_quantity_all(size_t *n)
{
    *n = sizeof table / sizeof *table;
    return table;
}

static void
add_word(char *out, size_t size, const char *word)
{
    size_t n = strlen(out);
    if (*word)
        snprintf(out + n, size - n, "%s%s", n ? ", " : "", word);
}

const char *
vb_quantity_words(char *out, size_t size)
{
    out[0] = 0;
    for (size_t i = 0; i < sizeof table / sizeof *table; i++)
        add_word(out, size, table[i].name);
    return out;
}

const char *
vb_part_words(char *out, size_t size)
{
    out[0] = 0;
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        add_word(out, size, parts[i].name);
    return out;
}

static enum vb_err
short_word(const char *s, size_t n, char *out)
{
    if (n == 0 || n > 12)
        return VB_ESYNTAX;
    for (size_t i = 0; i < n; i++) {
        char c = s[i];
        if (!((c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') ||
              (c >= 'a' && c <= 'z') || c == '-' || c == '_'))
            return VB_ESYNTAX;
        out[i] = c;
    }
    out[n] = 0;
    return VB_OK;
}

enum vb_err
vb_quantity_at(const struct vb_quantity *q, const char *s, size_t n, char *out)
{
    struct vb_valve v;
    switch (q->at) {
    case VB_AT_VALVE:
        if (vb_valve_parse(s, n, &v))
            return VB_ESYNTAX;
        vb_valve_format(v, out);
        return VB_OK;
    case VB_AT_CYLINDER:
        if (vb_valve_part(s, n, &v) || !v.cyl || v.side)
            return VB_ESYNTAX;
        vb_valve_format(v, out);
        return VB_OK;
    case VB_AT_CAM: return short_word(s, n, out);
    default: // VB_AT_PART
        if (n && vb_valve_part(s, n, &v))
            return VB_ESYNTAX;
        out[n ? vb_valve_format(v, out) : 0] = 0;
        return VB_OK;
    }
}

int
vb_part_renews(const char *s, size_t n)
{
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        if (strlen(parts[i].name) == n && memcmp(parts[i].name, s, n) == 0)
            return parts[i].renews;
    return -1;
}

int
vb_quantity_place(const struct vb_quantity *q, const char *at, struct vb_valve *v)
{
    char normal[VB_AT_MAX];
    if (q->at != VB_AT_VALVE)
        return !vb_quantity_at(q, at, strlen(at), normal) && strcmp(normal, at) == 0;
    if (vb_valve_parse(at, strlen(at), v))
        return 0;
    vb_valve_format(*v, normal);
    return strcmp(normal, at) == 0;
}
