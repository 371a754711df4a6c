#include "valvebook/teeth.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define TEETH_MOST 1000 // more than any wheel has: no count of teeth

// common practice; they say where to look, not what it is
static const struct words {
    const char *name;
    const char *late, *early;
} words[VB_CAUSE_COUNT] = {
    [VB_CAUSE_NONE] = {"none", "nothing beyond the measuring error",
                       "nothing beyond the measuring error"},
    [VB_CAUSE_LASH] = {"lash", "lash explains it", "lash explains it"},
    [VB_CAUSE_WEAR] = {"wear", "a little late: wear or stretch of the drive", ""},
    [VB_CAUSE_EARLY] = {"early", "", "a little early: a new drive, or set so"},
    [VB_CAUSE_TEETH] = {"teeth", "retarded", "advanced"},
    [VB_CAUSE_SLIP] = {"slip", "late by no whole tooth: look at key and sprocket",
                       "early by no whole tooth: look at key and sprocket"},
    [VB_CAUSE_UNSURE] = {"unsure", "late; the readings are too coarse to count teeth",
                         "early; the readings are too coarse to count teeth"},
    [VB_CAUSE_APART] = {"apart", "", ""}, // cam_words.c says by how much
};

double
vb_tooth_crank(int crank_teeth)
{
    return crank_teeth < 1 ? NAN : 360.0 / crank_teeth;
}

double
vb_tooth_cam(int cam_teeth)
{
    return cam_teeth < 1 ? NAN : 720.0 / cam_teeth;
}

static int
usable(const double *x, size_t n, const struct vb_drive *d)
{
    for (size_t i = 0; i < n; i++)
        if (!isfinite(x[i]))
            return 0;
    if (d->crank_teeth < 0 || d->cam_teeth < 0)
        return 0;
    return isnan(d->wear_limit) || (d->wear_limit > 0 && isfinite(d->wear_limit));
}

/* Try one kind of tooth; keep the nearer of two that both fit. */
static void
try_tooth(double drive, double error, double tooth, int at_cam, struct vb_cause_found *f)
{
    if (isnan(tooth) || error >= tooth / 2)
        return;
    double j = round(drive / tooth), off = drive - j * tooth;
    if (j == 0 || fabs(j) > TEETH_MOST || fabs(off) > error)
        return;
    if (f->cause == VB_CAUSE_TEETH && fabs(off) >= fabs(f->off))
        return;
    f->cause = VB_CAUSE_TEETH;
    f->teeth = (int)j;
    f->tooth = tooth;
    f->at_cam = at_cam;
    f->off = off;
}

/* The finer of the two teeth; NaN if neither is known. */
static double
finest(double crank, double cam)
{
    return fmin(crank, cam);
}

static void
without_teeth(double drive, double error, struct vb_cause_found *f)
{
    if (fabs(drive) <= f->limit)
        f->cause = drive > 0 ? VB_CAUSE_WEAR : VB_CAUSE_EARLY;
    else if (error >= f->tooth / 2)
        f->cause = VB_CAUSE_UNSURE;
    else
        f->cause = VB_CAUSE_SLIP;
}

enum vb_err
vb_cause_find(double phase, double u_phase, double drive, double u_drive, double k,
              const struct vb_drive *d, struct vb_cause_found *out)
{
    const double x[] = {phase, u_phase, drive, u_drive, k};
    if (!usable(x, 5, d) || !(u_phase > 0) || !(u_drive > 0) || !(k > 0))
        return VB_EDOM;
    double crank = vb_tooth_crank(d->crank_teeth), cam = vb_tooth_cam(d->cam_teeth);
    double error = VB_TEETH_K * u_drive; // in counting teeth
    struct vb_cause_found f = {.tooth = finest(crank, cam), .off = drive};
    f.limit = d->wear_limit;
    if (isnan(f.limit))
        f.limit = isnan(f.tooth) ? VB_WEAR_LIMIT : f.tooth / 2;
    if (fabs(drive) <= k * u_drive) {
        f.cause = fabs(phase) > k * u_phase ? VB_CAUSE_LASH : VB_CAUSE_NONE;
    } else {
        try_tooth(drive, error, crank, 0, &f);
        try_tooth(drive, error, cam, 1, &f);
        if (f.cause != VB_CAUSE_TEETH)
            without_teeth(drive, error, &f);
    }
    *out = f;
    return VB_OK;
}

const char *
vb_cause_name(enum vb_cause c)
{
    return words[c].name;
}

static const char *
how_many(int teeth, char *out, size_t size)
{
    static const char *const number[] = {"", "one tooth", "two teeth", "three teeth"};
    int n = abs(teeth);
    if (n >= 1 && n <= 3)
        return number[n];
    snprintf(out, size, "%d teeth", n);
    return out;
}

const char *
vb_cause_says(const struct vb_cause_found *f, char *out, size_t size)
{
    const struct words *w = &words[f->cause];
    int late = f->cause == VB_CAUSE_TEETH ? f->teeth > 0 : f->off > 0;
    const char *way = late ? w->late : w->early;
    char count[32];
    if (f->cause == VB_CAUSE_TEETH)
        snprintf(out, size, "%s %s%s", how_many(f->teeth, count, sizeof count), way,
                 f->at_cam ? " at the cam" : "");
    else
        snprintf(out, size, "%s", way);
    return out;
}

const char *
vb_rest_says(double rest)
{
    return rest > 0
               ? "open longer than lash explains: checking lift, ratio, another lobe, a "
                 "misreading"
               : "open shorter than lash explains: lobe or follower worn, checking lift";
}
