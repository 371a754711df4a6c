/*
 * Cam timing held against worlds whose truth is known: cams in closed form, read with a
 * degree wheel, a piston stop and a gauge that err, compared by way of a measured profile.
 * Seeded: splitmix64 and Box-Muller, so every run is the same. VB_ALL=1 runs ten times as
 * many. Figures are printed.
 */
#include <check.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include "closed_cams.h"
#include "draw.h"
#include "suite.h"
#include "valvebook/gauge.h"
#include "valvebook/shift.h"
#include "valvebook/stop.h"
#include "valvebook/teeth.h"

#define CASES 2000 // of each kind; in lots that share a cam
#define LOT   20
#define TOOTH (360.0 / 33)

static double
between(double lo, double hi)
{
    return lo + (hi - lo) * draw_unit();
}

static double
to_step(double x, double step)
{
    return step * round(x / step);
}

static int
many(int n)
{
    return getenv("VB_ALL") ? 10 * n : n;
}

/* --- the world --------------------------------------------------------------------- */

/* How readings err: normally, or by rounding to the marks of wheel and gauge. */
enum errors { NORMAL, MARKS };
static const char *const errors_name[] = {"normal errors", "rounded to the marks"};

#define WHEEL_U      0.25 // deg
#define LASH_U       0.01 // mm
#define WHEEL_STEP   0.5
#define LASH_STEP    0.02
#define PROFILE_STEP 0.001 // mm

struct world {
    enum errors errors;
    struct closed_cam cam;
    struct vb_train train; // with the measured profile
    double lash_u, wheel_u;
    long tdcs; // determinations so far
};

/* The profile as somebody measured it, every degree. */
static struct vb_lobe *
measured(const struct closed_cam *c)
{
    size_t n;
    struct vb_lobe *l = NULL;
    struct vb_lobe_point *p = closed_table(c, 1, draw_unit(), &n);
    for (size_t i = 0; i < n; i++)
        p[i].lift = to_step(p[i].lift, PROFILE_STEP);
    ck_assert_int_eq(vb_lobe_new(p, n, 0, &l, NULL), VB_OK);
    free(p);
    return l;
}

static void
new_cam(struct world *w, enum errors errors)
{
    w->errors = errors;
    w->cam = (struct closed_cam){(enum curve)(3 * draw_unit()), between(7, 11),
                                 between(55, 75), between(0, 4), between(55, 75)};
    double ratio = between(1, 1.6), checking = between(0.5, 1.3);
    w->train = (struct vb_train){measured(&w->cam), ratio, checking, 0};
    ck_assert_int_eq(vb_u_resolution(PROFILE_STEP, &w->train.u_lift), VB_OK);
    w->lash_u = LASH_U;
    w->wheel_u = WHEEL_U;
    if (errors == MARKS) {
        ck_assert_int_eq(vb_u_resolution(LASH_STEP, &w->lash_u), VB_OK);
        ck_assert_int_eq(vb_u_resolution(WHEEL_STEP, &w->wheel_u), VB_OK);
    }
}

static void
drop_cam(struct world *w)
{
    vb_lobe_free((struct vb_lobe *)w->train.lobe);
}

/* wheel - as clamped for one cylinder: what it truly shows at TDC, and what was found. */
struct wheel {
    double shows;
    struct vb_tdc found;
    long number;
};

static double
on_wheel(const struct world *w, double angle)
{
    return w->errors == NORMAL ? angle + WHEEL_U * draw_gauss()
                               : to_step(angle, WHEEL_STEP);
}

static struct wheel
clamp_wheel(struct world *w)
{
    struct wheel k = {.shows = between(-3, 3), .number = ++w->tdcs};
    double stop = between(25, 60);
    double before = on_wheel(w, k.shows - stop), after = on_wheel(w, k.shows + stop);
    ck_assert_int_eq(vb_tdc_from_stop(before, after, w->wheel_u, &k.found, NULL), VB_OK);
    return k;
}

/* Events of the exact cam, its nose `nose` after overlap TDC, as they are read. */
static struct vb_timing_read
read_events(const struct world *w, const struct wheel *k, double nose, double lash)
{
    struct vb_lobe_events v =
        closed_events(&w->cam, w->train.ratio, lash, w->train.checking_lift);
    double opens = on_wheel(w, 2 * v.up + nose + k->shows);
    double closes = on_wheel(w, 2 * v.down + nose + k->shows);
    double seen =
        w->errors == NORMAL ? lash + LASH_U * draw_gauss() : to_step(lash, LASH_STEP);
    return (struct vb_timing_read){
        .e = {vb_tdc_taken_out(opens, &k->found), vb_tdc_taken_out(closes, &k->found)},
        .u = w->wheel_u,
        .lash = seen,
        .u_lash = w->lash_u,
        .tdc = k->number,
        .u_tdc = k->found.u};
}

/* --- one valve --------------------------------------------------------------------- */

enum kind { PURE_LASH, PURE_DRIVE, MIX };
static const char *const kind_name[] = {"lash only", "drive only", "both"};

/* hits - how often the truth lay within twice the uncertainty. */
struct hits {
    int n, drive, lash_phase, lash_duration, rest;
};

static int
within(double found, double truth, double u)
{
    return fabs(found - truth) <= 2 * u;
}

static void
one_valve(struct world *w, enum kind kind, struct hits *h)
{
    double before = between(0.15, 0.35);
    double after = kind == PURE_DRIVE ? before : between(0.1, 0.5);
    double drive = kind == PURE_LASH ? 0 : between(-6, 6);
    struct wheel k1 = clamp_wheel(w), k2 = clamp_wheel(w);
    struct vb_timing_read from = read_events(w, &k1, 105, before);
    struct vb_timing_read to = read_events(w, &k2, 105 + drive, after);
    struct vb_shift s;
    ck_assert_int_eq(vb_shift_split(&from, &to, &w->train, &s, NULL), VB_OK);
    ck_assert_int_eq(s.how, VB_SPLIT_PROFILE);
    const struct vb_train *t = &w->train;
    struct vb_lobe_events a = closed_events(&w->cam, t->ratio, before, t->checking_lift);
    struct vb_lobe_events b = closed_events(&w->cam, t->ratio, after, t->checking_lift);
    double opens = 2 * (b.up - a.up), closes = 2 * (b.down - a.down);
    h->n++;
    h->drive += within(s.drive, drive, s.u_drive);
    h->lash_phase += within(s.lash_phase, (opens + closes) / 2, s.u_lash_phase);
    h->lash_duration += within(s.lash_duration, closes - opens, s.u_lash_duration);
    h->rest += within(s.rest, 0, s.u_rest);
}

/*
 * 95.45 % of normal errors lie within twice their uncertainty; less three standard
 * deviations of what chance does to a count.
 */
static void
enough(int hits, int n, double share, const char *what)
{
    double least = share - 3 * sqrt(share * (1 - share) / n);
    ck_assert_msg(hits >= least * n, "%s: %d of %d", what, hits, n);
}

#define TWO_U   0.9545
#define THREE_U 0.9973

START_TEST(valves)
{
    enum errors e = (enum errors)(_i / 3);
    enum kind kind = (enum kind)(_i % 3);
    struct world w = {0};
    struct hits h = {0};
    state = (uint64_t)(_i + 1) << 32;
    int n = many(CASES);
    while (h.n < n) {
        new_cam(&w, e);
        for (int i = 0; i < LOT; i++)
            one_valve(&w, kind, &h);
        drop_cam(&w);
    }
    printf("%s, %s, %d: within 2 u: drive %.1f %%, phase of lash %.1f, duration of lash "
           "%.1f, rest %.1f\n",
           kind_name[kind], errors_name[e], h.n, 100.0 * h.drive / h.n,
           100.0 * h.lash_phase / h.n, 100.0 * h.lash_duration / h.n,
           100.0 * h.rest / h.n);
    enough(h.drive, h.n, TWO_U, "drive");
    enough(h.lash_phase, h.n, TWO_U, "phase of lash");
    enough(h.lash_duration, h.n, TWO_U, "duration of lash");
    enough(h.rest, h.n, TWO_U, "rest");
}
END_TEST

/* --- one cam ----------------------------------------------------------------------- */

#define CYLS       4
#define CAM_VALVES (2 * CYLS)
#define CAMS       300

/*
 * Both visits of a bank: every cylinder's TDC found by itself, or that of the first alone
 * and the others counted from it.
 */
static void
one_bank(struct world *w, int one_wheel, const struct wheel *common, double drive,
         struct vb_shift *s)
{
    struct wheel k[2] = {common[0], common[1]};
    for (int i = 0; i < CAM_VALVES; i++) {
        if (!one_wheel && i % 2 == 0) {
            k[0] = clamp_wheel(w);
            k[1] = clamp_wheel(w);
        }
        struct vb_timing_read from = read_events(w, &k[0], 105, between(0.15, 0.35));
        struct vb_timing_read to = read_events(w, &k[1], 105 + drive, between(0.1, 0.5));
        ck_assert_int_eq(vb_shift_split(&from, &to, &w->train, &s[i], NULL), VB_OK);
    }
}

struct cam_hits {
    int n, drive, phase_adds, bank, raised, odd;
    int cause[VB_CAUSE_COUNT], teeth_right;
    double u, u_bank;
};

static void
one_cam(struct world *w, int one_wheel, int teeth, double drive, struct cam_hits *h)
{
    const struct vb_drive facts = {33, 66, NAN};
    const struct wheel common[] = {clamp_wheel(w), clamp_wheel(w)};
    double other = between(-3, 3);
    struct vb_shift a[CAM_VALVES], b[CAM_VALVES];
    struct vb_cam_shift c;
    struct vb_bank d;
    struct vb_cause_found f;
    one_bank(w, one_wheel, common, drive, a);
    one_bank(w, one_wheel, common, other, b);
    ck_assert_int_eq(vb_cam_pool(a, CAM_VALVES, &c), VB_OK);
    ck_assert_int_eq(vb_bank_compare(a, CAM_VALVES, b, CAM_VALVES, &d), VB_OK);
    ck_assert_int_eq(
        vb_cause_find(c.phase, c.u_phase, c.drive, c.u_drive, c.k, &facts, &f), VB_OK);
    h->n++;
    h->drive += within(c.drive, drive, c.u_drive);
    h->phase_adds += fabs(c.phase - c.lash_phase - c.drive) < 1e-9;
    h->bank += within(d.drive, drive - other, d.u_drive);
    h->raised += c.raised > 1;
    h->odd += c.odd < c.n;
    h->cause[f.cause]++;
    h->teeth_right += f.cause == VB_CAUSE_TEETH && f.teeth == teeth;
    h->u += c.u_drive;
    h->u_bank += d.u_drive;
}

static struct cam_hits
many_cams(enum errors e, int one_wheel, int teeth, double drive)
{
    struct world w = {0};
    struct cam_hits h = {0};
    int n = many(CAMS);
    while (h.n < n) {
        new_cam(&w, e);
        for (int i = 0; i < LOT; i++)
            one_cam(&w, one_wheel, teeth, drive, &h);
        drop_cam(&w);
    }
    return h;
}

START_TEST(cams_that_stand)
{
    enum errors e = (enum errors)(_i / 2);
    state = (uint64_t)(_i + 101) << 32;
    struct cam_hits h = many_cams(e, _i % 2, 0, 0);
    int said = h.n - h.cause[VB_CAUSE_NONE] - h.cause[VB_CAUSE_LASH];
    printf("cam of 8 valves at rest, %s, %s, %d: drive within 2 u (mean u %.2f) %.1f %%, "
           "banks %.1f (%.2f); said to have moved %.1f, by teeth %d; raised %.1f, odd "
           "%.2f\n",
           errors_name[e], _i % 2 ? "one TDC" : "TDC of each cylinder", h.n, h.u / h.n,
           100.0 * h.drive / h.n, 100.0 * h.bank / h.n, h.u_bank / h.n,
           100.0 * said / h.n, h.cause[VB_CAUSE_TEETH], 100.0 * h.raised / h.n,
           100.0 * h.odd / h.n);
    enough(h.drive, h.n, TWO_U, "drive");
    enough(h.bank, h.n, TWO_U, "banks");
    enough(h.n - said, h.n, TWO_U, "at rest");
    ck_assert_int_eq(h.phase_adds, h.n);
    ck_assert_int_eq(h.cause[VB_CAUSE_TEETH], 0);
    // 5 % and 0.27 % of normal errors; three standard deviations of the count on top
    ck_assert(h.raised <= 0.05 * h.n + 3 * sqrt(0.05 * h.n));
    ck_assert(h.odd <= 0.0027 * h.n + 3 * sqrt(0.0027 * h.n) + 1);
}
END_TEST

/* One tooth of 33, two, and either way: found as so many in so many of a hundred. */
START_TEST(cams_that_jumped)
{
    const int teeth[] = {1, -1, 2, -2};
    enum errors e = (enum errors)(_i / 4);
    int j = teeth[_i % 4];
    state = (uint64_t)(_i + 201) << 32;
    struct cam_hits h = many_cams(e, 0, j, j * TOOTH);
    printf("%+d teeth of 33, %s, %d: found so %.1f %%, as a slip %.1f\n", j,
           errors_name[e], h.n, 100.0 * h.teeth_right / h.n,
           100.0 * h.cause[VB_CAUSE_SLIP] / h.n);
    enough(h.teeth_right, h.n, THREE_U, "teeth");
    ck_assert_int_eq(h.cause[VB_CAUSE_TEETH], h.teeth_right);
    ck_assert_int_eq(h.cause[VB_CAUSE_TEETH] + h.cause[VB_CAUSE_SLIP], h.n);
}
END_TEST

/* Three degrees late, as a worn drive stands: said so nearly always, and never of teeth. */
START_TEST(cams_that_are_late)
{
    state = (uint64_t)(_i + 301) << 32;
    struct cam_hits h = many_cams((enum errors)_i, 0, 0, 3);
    printf("3 degrees late, %s, %d: said to be wear %.1f %%\n", errors_name[_i], h.n,
           100.0 * h.cause[VB_CAUSE_WEAR] / h.n);
    ck_assert(h.cause[VB_CAUSE_WEAR] >= 0.99 * h.n);
    ck_assert_int_eq(h.cause[VB_CAUSE_TEETH], 0);
}
END_TEST

static Suite *
sim_suite(void)
{
    Suite *s = suite_create("timing_sim");
    TCase *t = tcase_create("sim");
    tcase_set_timeout(t, 300);
    tcase_add_loop_test(t, valves, 0, 6);
    tcase_add_loop_test(t, cams_that_stand, 0, 4);
    tcase_add_loop_test(t, cams_that_jumped, 0, 8);
    tcase_add_loop_test(t, cams_that_are_late, 0, 2);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(sim_suite());
}
