/* What is thought of a row: cause, verdict, hint, alarm, rank. */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "cams_impl.h"
#include "valvebook/digits.h"

const char *
vb_cam_against_name(enum vb_cam_against a)
{
    static const char *const names[] = {"",           "nominal", "timed",
                                        "last build", "bank",    "mark"};
    return names[a];
}

static void hint(struct vb_cam_row *r, const char *fmt, ...)
    __attribute__((format(printf, 2, 3)));

/* One more hint behind those that are there. */
static void
hint(struct vb_cam_row *r, const char *fmt, ...)
{
    size_t k = strlen(r->hint);
    va_list ap;
    k += (size_t)snprintf(r->hint + k, sizeof r->hint - k, "%s", k ? "; " : "");
    if (k >= sizeof r->hint)
        return;
    va_start(ap, fmt);
    vsnprintf(r->hint + k, sizeof r->hint - k, fmt, ap);
    va_end(ap);
}

/* The shift that tells of the drive: of both sides where one cam works them. */
static const struct vb_cam_shift *
moved(const struct vb_cam_row *r)
{
    return r->n_both ? &r->both : &r->shift;
}

/* A right cam may stand off its nominal place by the tolerance (k = 2): what is within asks
 * for no cause, and a tooth is one wherever in there the cam stood before. */
static void
find_cause(const struct cams *c, struct vb_cam_row *r)
{
    const struct vb_family *f = c->e->family;
    const struct vb_drive d = {f->crank_teeth, f->cam_teeth, NAN};
    const struct vb_cam_shift *s = moved(r);
    int nominal = r->against == VB_AGAINST_NOMINAL && !isnan(f->timing_tolerance);
    double t = nominal ? f->timing_tolerance / 2 : 0;
    r->has_cause = !vb_cause_find(s->phase, hypot(s->u_phase, t), s->drive,
                                  hypot(s->u_drive, t), s->k, &d, &r->cause);
    if (r->has_cause && r->parted) {
        r->cause.cause = VB_CAUSE_APART;
        r->cause.teeth = 0;
    }
}

static void
find_verdict(const struct cams *c, struct vb_cam_row *r)
{
    r->limit = r->against == VB_AGAINST_NOMINAL ? c->e->family->timing_tolerance
               : r->against == VB_AGAINST_MARK  ? c->e->family->sprocket_limit
                                                : NAN;
    if (isnan(r->limit))
        return;
    r->has_verdict = !vb_guard_judge(r->shift.drive, r->shift.u_drive, INFINITY,
                                     -r->limit, r->limit, VB_GUARD_RISK, &r->verdict);
}

static void
say_mix(struct vb_cam_row *r)
{
    if (r->mix == VB_CAM_SIDES)
        hint(r, "shows the events of cam %s: inlet and exhaust exchanged?", r->other);
    else if (r->mix == VB_CAM_BANKS)
        hint(r, "shows the events of cam %s: banks exchanged?", r->other);
    else if (r->mix == VB_CAM_STRANGER)
        hint(r, "its duration is that of no cam of this engine");
}

/*
 * A cam that was timed by its lift at TDC has the duration of its profile. Where the
 * nominal events are of another one, half of the difference stands in its shift.
 */
static void
say_profile(struct vb_cam_row *r)
{
    const struct vb_cam_shift *s = &r->shift;
    double x = r->plain ? s->duration : s->rest;
    if (r->against == VB_AGAINST_NOMINAL && fabs(x) > s->k * M_SQRT2 * VB_U_WHEEL)
        hint(r,
             "its profile is %.1f deg %s than nominal: one of them is wrong, and this "
             "shift "
             "by up to half of that",
             fabs(x), x > 0 ? "longer" : "shorter");
}

/* What lash does not explain of a duration; without a profile it is lash, as a rule, and of a
 * lobe's lift that of the check. */
static void
say_duration(const struct cams *c, struct vb_cam_row *r)
{
    int at_lobe = c->e->family->lift_at_lobe[r->cam.side == 'E'];
    const struct vb_cam_shift *s = &r->shift;
    if (r->by_lift)
        say_profile(r);
    if (r->by_lift || isnan(s->duration) || r->mix != VB_CAM_OWN)
        return;
    int far = fabs(s->duration) > s->k * s->u_duration;
    if (r->plain ? far && s->not_lash : s->rest_beyond)
        hint(r, "%s (%+.*f deg)", vb_rest_says(s->rest), vb_digits(s->rest, NAN, 1),
             s->rest);
    else if (r->plain && far)
        hint(r, "duration %+.*f deg: %s", vb_digits(s->duration, NAN, 1), s->duration,
             at_lobe ? "checking lift, most likely"
                     : "lash, most likely (no profile, or lash not read)");
}

/* What the drive cannot have done, or what both sides say of it together. */
static void
say_both(const struct cams *c, struct vb_cam_row *r)
{
    const int *at_lobe = c->e->family->lift_at_lobe;
    int lash = r->plain && !(at_lobe[0] && at_lobe[1]);
    char figure[VB_DIGITS_PAIR];
    if (r->parted)
        hint(r,
             "inlet shifted %.1f deg %s than exhaust, on one cam: not the drive; "
             "another grind, a lobe%s, a misreading",
             fabs(r->apart), r->apart > 0 ? "later" : "earlier", lash ? ", lash" : "");
    else if (r->n_both && r->cause.cause != VB_CAUSE_NONE)
        hint(r, "both sides of the cam %s deg %s",
             vb_digits_pair(fabs(r->both.drive), r->both.u_drive, 2, figure),
             r->both.drive > 0 ? "later" : "earlier");
}

static void
say_cause(struct vb_cam_row *r)
{
    char text[80];
    int one = r->has_cause && r->cause.cause != VB_CAUSE_NONE && !r->parted;
    if (one && r->mix <= VB_CAM_OWN)
        hint(r, "%s", vb_cause_says(&r->cause, text, sizeof text));
    else if (r->against == VB_AGAINST_BANK && r->shift.beyond)
        hint(r, "the banks do not stand alike");
    else if (r->against == VB_AGAINST_MARK && fabs(r->shift.drive) > r->limit)
        hint(r, "beyond its limit");
}

/*
 * More than a note: beyond what is stated, or moved beyond the measuring error where
 * nothing is stated that it could be held against.
 */
static int
is_alarm(const struct cams *c, const struct vb_cam_row *r)
{
    const struct vb_family *f = c->e->family;
    int s = r->cam.side == 'E';
    double far = fabs(r->shift.drive);
    if (!r->current || !r->n_shift)
        return 0;
    switch (r->against) {
    case VB_AGAINST_NOMINAL:
        return r->mix != VB_CAM_OWN || r->parted || r->cause.cause == VB_CAUSE_TEETH ||
               (isnan(r->limit) ? moved(r)->beyond : far > r->limit);
    case VB_AGAINST_TIMED: return moved(r)->beyond || r->parted;
    case VB_AGAINST_LAST:
        return r->shift.beyond && (isnan(f->opens[s]) || isnan(f->closes[s]));
    case VB_AGAINST_MARK: return far > r->limit;
    default: return 0;
    }
}

void
cams_judge(const struct cams *c, struct vb_cam_row *r)
{
    int of_cam = r->against != VB_AGAINST_BANK && r->against != VB_AGAINST_MARK;
    if (r->n_shift && of_cam)
        find_cause(c, r);
    if (r->n_shift) {
        find_verdict(c, r);
        say_mix(r);
        say_cause(r);
        say_both(c, r);
        say_duration(c, r);
        if (r->odd[0])
            hint(r, "%s contradicts the others", r->odd);
    }
    if (!r->current) {
        const struct vb_cam_event *ev =
            cams_placing(c, r->cam, cams_build(c, r->cam, HUGE_VAL, 1));
        if (!c->w->all)
            hint(r, "placed anew on %.10s and not timed since", ev->date);
    }
    r->alarm = is_alarm(c, r);
}

double
vb_cam_rank(const struct vb_cam_row *r)
{
    double k = 0;
    enum vb_cause cause = r->has_cause ? r->cause.cause : VB_CAUSE_NONE;
    if (r->mix != VB_CAM_OWN)
        k = 6;
    else if (cause == VB_CAUSE_TEETH)
        k = 5;
    else if (cause == VB_CAUSE_SLIP || cause == VB_CAUSE_UNSURE ||
             cause == VB_CAUSE_APART)
        k = 4;
    else if (r->has_verdict && r->verdict.verdict == VB_VERDICT_OUT)
        k = 3;
    else if (r->alarm)
        k = 2;
    else if (r->n_shift && r->shift.beyond)
        k = 1;
    if (!r->n_shift)
        return k;
    double times = fabs(r->shift.drive) / r->shift.u_drive; // in itself, what 999 is
    return k + fmin(times, 999) / 1000;
}
