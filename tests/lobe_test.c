#include "valvebook/lobe.h"

#include <float.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>
#include <gsl/gsl_cdf.h>

#include "closed_cams.h"

/* One cam of each curve, none symmetrical, with and without a dwell at the top. */
static const struct closed_cam cams[CURVES] = {
    {HARMONIC, 8.5, 62, 4, 55}, {CYCLOIDAL, 8.5, 70, 2, 64}, {POLY_345, 8.5, 72, 0, 66}};

#define LASHES   10
#define LASH(i)  (0.05 + 0.05 * (i)) // mm
#define RATIO    1.4
#define CHECKING 1.0

/* --- the closed forms themselves --------------------------------------------------- */

/* Basic curves run from 0 to 1 and stand still at both ends; half way at half lift. */
START_TEST(curves_are_the_handbooks)
{
    const double least = 10 * (double)LDBL_EPSILON; // some machines have no longer double
    for (enum curve c = 0; c < CURVES; c++) {
        ck_assert_double_eq_tol((double)curve_at(c, 0), 0, least);
        ck_assert_double_eq_tol((double)curve_at(c, 0.5L), 0.5, least);
        ck_assert_double_eq_tol((double)curve_at(c, 1), 1, least);
        ck_assert(curve_at(c, 1e-5L) < 1e-9L && 1 - curve_at(c, 1 - 1e-5L) < 1e-9L);
        for (int i = 0; i <= 100; i++) {
            double s = i / 100.0;
            ck_assert_double_eq_tol((double)curve_at(c, curve_inverse(c, s)), s, 1e-15);
        }
    }
    // 10 x^3 - 15 x^4 + 6 x^5 is the distribution function of a beta (3, 3) variate
    for (int i = 1; i < 20; i++)
        ck_assert_double_eq_tol(curve_inverse(POLY_345, i / 20.0),
                                gsl_cdf_beta_Pinv(i / 20.0, 3, 3), 1e-10);
}
END_TEST

/* --- events under lash ------------------------------------------------------------- */

/* Largest error, cam degrees, over both flanks and ten lash values; < 0: not solved. */
static double
worst_error(const struct closed_cam *c, double step, double shift, double checking)
{
    struct vb_lobe *l = closed_lobe(c, step, shift);
    const struct vb_train t = {l, RATIO, checking, 0};
    double worst = l ? 0 : -1;
    for (int i = 0; l && i < LASHES; i++) {
        struct vb_lobe_events v, exact = closed_events(c, RATIO, LASH(i), checking);
        if (vb_lobe_solve(&t, LASH(i), &v, NULL))
            worst = -1;
        else if (worst >= 0)
            worst = fmax(worst, fmax(fabs(v.up - exact.up), fabs(v.down - exact.down)));
    }
    vb_lobe_free(l);
    return worst;
}

static double
worst_of_shifts(const struct closed_cam *c, double step, double checking)
{
    double worst = 0;
    for (double shift = 0; shift < 1; shift += 0.25) {
        double w = worst_error(c, step, shift, checking);
        worst = w < 0 || worst < 0 ? -1 : fmax(worst, w);
    }
    return worst;
}

/* A profile every tenth of a degree: 1e-6 degrees, also of the crank, which turns twice. */
START_TEST(closed_forms_to_a_millionth)
{
    const double checking[] = {0.1, 0.5, 1.27, 5};
    for (int h = 0; h < 4; h++) {
        double w = worst_of_shifts(&cams[_i], 0.1, checking[h]);
        ck_assert_msg(w >= 0 && 2 * w < 1e-6, "curve %d at %g mm: %.2g", _i, checking[h],
                      w);
    }
}
END_TEST

/*
 * How coarse may it be? Bounds for checking lifts of 0.5 mm and more; the figures stand
 * in docs/methods.md. The spline is of third order there: half the step, an eighth.
 */
START_TEST(coarse_tables)
{
    const double step[] = {5, 2, 1, 0.5, 0.2}, bound[] = {0.03, 1e-3, 1e-4, 2e-5, 1e-6};
    for (int i = 0; i < 5; i++) {
        double w = worst_of_shifts(&cams[_i], step[i], 0.5);
        ck_assert_msg(w >= 0 && w < bound[i], "curve %d step %g: %.2g", _i, step[i], w);
    }
    double order = log2(worst_of_shifts(&cams[_i], 0.2, CHECKING) /
                        worst_of_shifts(&cams[_i], 0.1, CHECKING));
    ck_assert_msg(fabs(order - 3) < 0.3, "order %g", order);
}
END_TEST

/* The slopes: what a little more lash does to the exact events, crank degrees a mm. */
START_TEST(slopes_move_the_events)
{
    const double dg = 1e-5;
    struct vb_lobe *l = closed_lobe(&cams[_i], 0.1, 0.3);
    const struct vb_train t = {l, RATIO, CHECKING, 0};
    for (int i = 0; i < LASHES; i++) {
        struct vb_lobe_events v, a = closed_events(&cams[_i], RATIO, LASH(i), CHECKING);
        struct vb_lobe_events b = closed_events(&cams[_i], RATIO, LASH(i) + dg, CHECKING);
        ck_assert_int_eq(vb_lobe_solve(&t, LASH(i), &v, NULL), VB_OK);
        ck_assert(v.up_slope > 0 && v.down_slope < 0);
        double up = 2 * (b.up - a.up) / dg, down = 2 * (b.down - a.down) / dg;
        ck_assert_double_eq_tol(1 / v.up_slope, up, 1e-3 * fabs(up));
        ck_assert_double_eq_tol(1 / v.down_slope, down, 1e-3 * fabs(down));
    }
    vb_lobe_free(l);
}
END_TEST

/* Level, not its parts, decides: ratio, lash and checking lift enter as (h + g) / r. */
START_TEST(lash_and_checking_lift_add_up)
{
    struct vb_lobe *l = closed_lobe(&cams[_i], 1, 0);
    struct vb_lobe_events a, b, c;
    const struct vb_train t = {l, 1.5, 1.0, 0}, u = {l, 1.5, 1.25, 0},
                          w = {l, 0.75, 0.5, 0};
    ck_assert_int_eq(vb_lobe_solve(&t, 0.5, &a, NULL), VB_OK);
    ck_assert_int_eq(vb_lobe_solve(&u, 0.25, &b, NULL), VB_OK);
    ck_assert_int_eq(vb_lobe_solve(&w, 0.25, &c, NULL), VB_OK);
    ck_assert(a.up == b.up && a.down == b.down && a.up == c.up && a.down == c.down);
    ck_assert_double_eq_tol(a.up_slope, 2 * c.up_slope, 1e-12);
    vb_lobe_free(l);
}
END_TEST

/* A point of the table on the level itself, at either end of a step. */
START_TEST(level_on_a_point)
{
    const struct vb_lobe_point p[] = {{-40, 0}, {-30, 1}, {-20, 3}, {-10, 5}, {0, 6},
                                      {10, 5},  {20, 3},  {30, 1},  {40, 0}};
    struct vb_lobe *l;
    struct vb_lobe_events v;
    ck_assert_int_eq(vb_lobe_new(p, 9, 0, &l, NULL), VB_OK);
    for (int lift = 1; lift <= 5; lift += 2) {
        const struct vb_train t = {l, 1, lift, 0};
        double at = lift == 1 ? 30 : lift == 3 ? 20 : 10;
        ck_assert_int_eq(vb_lobe_solve(&t, 0, &v, NULL), VB_OK);
        ck_assert_double_eq_tol(v.up, -at, 1e-9);
        ck_assert_double_eq_tol(v.down, at, 1e-9);
    }
    vb_lobe_free(l);
}
END_TEST

/* 0.1 + 0.321 is the double behind 0.421, which is the last lift of this profile; rounding
 * puts the spline above both there. The valve shuts where the profile ends. */
START_TEST(level_beside_the_last_point)
{
    const struct vb_lobe_point p[] = {{-92, 0},    {-69, 0.5},  {-46, 2},
                                      {-23, 4},    {0, 7},      {23, 4.585},
                                      {46, 2.476}, {69, 1.251}, {92, 0.421}};
    struct vb_lobe *l;
    struct vb_lobe_events v;
    double lift;
    ck_assert_int_eq(vb_lobe_new(p, 9, 0, &l, NULL), VB_OK);
    const struct vb_train t = {l, 1, 0.1, 0};
    ck_assert_int_eq(vb_lobe_lift(l, 92, &lift, NULL), VB_OK);
    ck_assert(lift > 0.1 + 0.321 && 0.1 + 0.321 > 0.421); // or this tests nothing
    ck_assert_int_eq(vb_lobe_solve(&t, 0.321, &v, NULL), VB_OK);
    ck_assert_double_eq_tol(v.down, 92, 1e-9);
    ck_assert(v.up > -92 && v.up < -69 && v.down_slope < 0);
    vb_lobe_free(l);
}
END_TEST

/* The cam turned round: flanks change places, so the events are those of the mirror. */
START_TEST(reversed_cam)
{
    size_t n;
    struct vb_lobe_point *p = closed_table(&cams[_i], 1, 0.4, &n);
    struct vb_lobe *l, *back;
    ck_assert_int_eq(vb_lobe_new(p, n, 0, &l, NULL), VB_OK);
    ck_assert_int_eq(vb_lobe_new(p, n, 1, &back, NULL), VB_OK);
    const struct vb_train t = {l, RATIO, CHECKING, 0}, r = {back, RATIO, CHECKING, 0};
    struct vb_lobe_events a, b;
    ck_assert_int_eq(vb_lobe_solve(&t, 0.2, &a, NULL), VB_OK);
    ck_assert_int_eq(vb_lobe_solve(&r, 0.2, &b, NULL), VB_OK);
    ck_assert_double_eq_tol(b.up, -a.down, 1e-9);
    ck_assert_double_eq_tol(b.down, -a.up, 1e-9);
    ck_assert_double_eq_tol(b.up_slope, -a.down_slope, 1e-9);
    double at, at_back;
    ck_assert_double_eq_tol(vb_lobe_top(l, &at), cams[_i].lift, 0.01);
    ck_assert(vb_lobe_top(back, &at_back) == vb_lobe_top(l, NULL));
    // the first of the points that have it, as the cam turns: a dwell of 4 from -2
    double first = cams[_i].dwell > 2 ? -1.6 : 0,
           first_back = cams[_i].dwell > 2 ? -1.4 : 0;
    ck_assert_double_eq_tol(at, first, cams[_i].dwell > 2 ? 1e-9 : 1);
    ck_assert_double_eq_tol(at_back, first_back, cams[_i].dwell > 2 ? 1e-9 : 1);
    vb_lobe_free(l);
    vb_lobe_free(back);
    free(p);
}
END_TEST

START_TEST(lift_of_the_profile)
{
    struct vb_lobe *l = closed_lobe(&cams[_i], 0.5, 0);
    const struct closed_cam *c = &cams[_i];
    double lift = 7, slope = 7;
    for (double x = -80; x <= 60; x += 0.37) {
        if (vb_lobe_lift(l, x, &lift, &slope))
            continue; // outside
        ck_assert_double_eq_tol(lift, closed_lift(c, x), 1e-3);
        double by_hand = (closed_lift(c, x + 0.01) - closed_lift(c, x - 0.01)) / 0.02;
        ck_assert_double_eq_tol(slope, by_hand, 6e-3);
        double same;
        ck_assert_int_eq(vb_lobe_lift(l, x, &same, NULL), VB_OK);
        ck_assert(same == lift);
    }
    lift = slope = 7;
    ck_assert_int_eq(vb_lobe_lift(l, 200, &lift, &slope), VB_EDOM);
    ck_assert_int_eq(vb_lobe_lift(l, -200, &lift, &slope), VB_EDOM);
    ck_assert_int_eq(vb_lobe_lift(l, NAN, &lift, &slope), VB_EDOM);
    ck_assert(lift == 7 && slope == 7);
    vb_lobe_free(l);
}
END_TEST

/* Events brought from one lash to another are those of the exact cam there. */
START_TEST(relash)
{
    struct vb_lobe *l = closed_lobe(&cams[_i], 0.1, 0);
    const struct vb_train t = {l, RATIO, CHECKING, 0};
    for (int i = 0; i < LASHES; i++) {
        struct vb_lobe_events a = closed_events(&cams[_i], RATIO, 0.25, CHECKING);
        struct vb_lobe_events b = closed_events(&cams[_i], RATIO, LASH(i), CHECKING);
        const struct vb_events e = {2 * a.up + 105, 2 * a.down + 105};
        struct vb_events to;
        ck_assert_int_eq(vb_lobe_relash(&t, e, 0.25, LASH(i), &to, NULL), VB_OK);
        ck_assert_double_eq_tol(to.opens, 2 * b.up + 105, 2e-6);
        ck_assert_double_eq_tol(to.closes, 2 * b.down + 105, 2e-6);
    }
    struct vb_events same = {7, 8};
    struct vb_msg m = {0};
    ck_assert_int_eq(vb_lobe_relash(&t, (struct vb_events){0, 200}, 0.2, 99, &same, &m),
                     VB_EDOM);
    ck_assert(same.opens == 7 && same.closes == 8 && strstr(m.text, "not reached"));
    vb_lobe_free(l);
}
END_TEST

/* --- lift at overlap TDC ----------------------------------------------------------- */

/*
 * The nose stands `nose` crank degrees after overlap TDC, so the profile's own place there
 * is -nose / 2 and the valve's lift follows from the closed form.
 */
START_TEST(lift_at_tdc)
{
    const struct closed_cam *c = &cams[_i];
    struct vb_lobe *l = closed_lobe(c, 0.1, 0);
    const struct vb_train t = {l, RATIO, CHECKING, 0};
    for (int k = 0; k < 20; k++) {
        char side = k % 2 ? 'E' : 'I';
        double nose = (side == 'I' ? 1 : -1) * (85 + k), lash = 0.2;
        double lift = RATIO * closed_lift(c, -nose / 2) - lash;
        struct vb_lobe_events at = closed_events(c, RATIO, 0.3, CHECKING);
        struct vb_lift_timing r, up, gap;
        ck_assert_int_eq(vb_lobe_at_tdc(&t, side, lash, 0.01, lift, 0.02, 0.3, &r, NULL),
                         VB_OK);
        ck_assert_double_eq_tol(r.cam_deg, -nose / 2, 1e-6);
        ck_assert_double_eq_tol(r.events.opens, 2 * at.up + nose, 2e-6);
        ck_assert_double_eq_tol(r.events.closes, 2 * at.down + nose, 2e-6);
        ck_assert(side == 'I' ? r.slope > 0 : r.slope < 0);
        // GUM (10) numerically, small steps scaled up
        vb_lobe_at_tdc(&t, side, lash, 0, lift + 2e-5, 0, 0.3, &up, NULL);
        vb_lobe_at_tdc(&t, side, lash + 1e-5, 0, lift, 0, 0.3, &gap, NULL);
        double u = 1000 * hypot(up.events.opens - r.events.opens,
                                gap.events.opens - r.events.opens);
        ck_assert_double_eq_tol(r.u, u, 2e-3 * u);
        // the profile's own error acts like the lift's, times the ratio
        const struct vb_train rough = {l, RATIO, CHECKING, 0.02 / RATIO};
        ck_assert_int_eq(
            vb_lobe_at_tdc(&rough, side, lash, 0.01, lift, 0, 0.3, &up, NULL), VB_OK);
        ck_assert_double_eq_tol(up.u, r.u, 1e-12);
    }
    vb_lobe_free(l);
}
END_TEST

struct tdc_refusal {
    double lash, u_lash, lift, u_lift, to_lash;
    const char *says;
};

static const struct tdc_refusal tdc_refusals[] = {
    {0.2, 0, 0, 0, 0.2, "shut"},
    {0.2, 0, -0.1, 0, 0.2, "shut"},
    {0.2, 0, NAN, 0, 0.2, "shut"},
    {0.2, 0, 11.69, 0, 0.2, "changes by only"}, // 11.7 is the top
    {0.2, 0, 12, 0, 0.2, "not reached"},
    {0.2, 0, 2, 0, 13, "not reached"},
    {-0.1, 0, 2, 0, 0.2, "lash -0.1"},
    {NAN, 0, 2, 0, 0.2, "lash nan"},
    {0.2, 0, 2, 0, NAN, "lash nan"},
    {0.2, -1, 2, 0, 0.2, "uncertainties"},
    {0.2, 0, 2, NAN, 0.2, "uncertainties"},
    {0.2, INFINITY, 2, 0, 0.2, "uncertainties"},
    {0.2, 0, 2, INFINITY, 0.2, "uncertainties"},
};

#define TDC_REFUSALS (int)(sizeof tdc_refusals / sizeof *tdc_refusals)

START_TEST(lift_at_tdc_refuses)
{
    const struct tdc_refusal *r = &tdc_refusals[_i];
    struct vb_lobe *l = closed_lobe(&cams[CYCLOIDAL], 1, 0);
    const struct vb_train t = {l, RATIO, CHECKING, 0};
    for (int k = 0; k < 2; k++) {
        struct vb_lift_timing out = {.cam_deg = 7};
        struct vb_msg m = {0};
        ck_assert_int_eq(vb_lobe_at_tdc(&t, k ? 'E' : 'I', r->lash, r->u_lash, r->lift,
                                        r->u_lift, r->to_lash, &out, &m),
                         VB_EDOM);
        ck_assert_msg(strstr(m.text, r->says) != NULL, "%s", m.text);
        ck_assert(out.cam_deg == 7 && !strstr(m.text, "only -"));
    }
    vb_lobe_free(l);
}
END_TEST

/* --- profiles refused -------------------------------------------------------------- */

struct bad_profile {
    const char *says;
    size_t n;
    double lift[11]; // every 10 degrees from -50
};

static const struct bad_profile bad_profiles[] = {
    {"0 points", 0, {0}},
    {"8 points, fewer than 9", 8, {0, 1, 2, 3, 2, 1, 0, 0}},
    {"does not fall", 11, {0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10}},      // only rises
    {"does not rise", 11, {10, 9, 8, 7, 6, 5, 4, 3, 2, 1, 0}},      // half a lobe
    {"does not rise", 11, {5, 5, 5, 5, 5, 5, 5, 5, 5, 5, 5}},       // no lobe
    {"does not rise", 11, {0, 0, 0.01, 0.02, 0, 0, 0, 0, 0, 0, 0}}, // run-out
    {"does not fall", 11, {0, 1, 2, 3, 4, 5, 6, 6, 6, 6, 5.99}},
    {"does not rise: lift 5 at its first point, 5.01 at most",
     11,
     {5, 5, 5, 5, 5.01, 5, 5, 4, 3, 2, 1}},
    {"does not fall: lift 0 at its last point, 0.02 at most",
     11,
     {-1, -0.9, -0.7, -0.3, 0.02, 0.02, 0.02, 0.02, 0.01, 0.01, 0}},
    {"falls at cam_deg -30, before the top at -10",
     11,
     {0, 1, 0.5, 4, 5, 4, 3, 2, 1, 0, 0}},
    {"falls at cam_deg -20", 11, {0, 1, 2, 1.9, 4, 5, 4, 3, 2, 1, 0}},
    {"rises after cam_deg 20", 11, {0, 1, 2, 3, 4, 5, 4, 2, 2.5, 1, 0}},
    {"falls at cam_deg -30", 11, {0, 3, 0, 3, 6, 8, 6, 4, 2, 1, 0}}, // two lobes
    {"rises after cam_deg 30", 11, {0, 2, 4, 6, 8, 7, 5, 3, 0, 3, 0}},
    {"falls at cam_deg -40", 11, {0, -0.5, -1, 3, 6, 8, 6, 4, 2, 1, 0}}, // sign slips
    {"point 1 has no", 11, {NAN, 1, 2, 3, 4, 5, 4, 3, 2, 1, 0}},
    {"point 4 has no", 11, {0, 1, 2, NAN, 4, 5, 4, 3, 2, 1, 0}},
    {"point 11 has no", 11, {0, 1, 2, 3, 4, 5, 4, 3, 2, 1, INFINITY}},
};

#define BAD_PROFILES (int)(sizeof bad_profiles / sizeof *bad_profiles)

static void
profile_refused(const struct vb_lobe_point *p, size_t n, const char *says)
{
    struct vb_lobe *l = (struct vb_lobe *)p; // anything, to be left alone
    struct vb_msg m = {0};
    ck_assert_int_eq(vb_lobe_new(p, n, 0, &l, &m), VB_EDOM);
    ck_assert_msg(strstr(m.text, says) != NULL, "'%s', not '%s'", m.text, says);
    ck_assert_int_eq(vb_lobe_new(p, n, 1, &l, NULL), VB_EDOM);
    ck_assert_ptr_eq(l, p);
}

START_TEST(profiles_refused)
{
    const struct bad_profile *b = &bad_profiles[_i];
    struct vb_lobe_point p[11];
    for (size_t i = 0; i < 11; i++)
        p[i] = (struct vb_lobe_point){-50 + 10.0 * (double)i, b->lift[i]};
    profile_refused(p, b->n, b->says);
}
END_TEST

START_TEST(angles_refused)
{
    size_t n;
    struct vb_lobe_point *p = closed_table(&cams[0], 10, 0, &n);
    double was = p[5].cam_deg;
    p[5].cam_deg = p[4].cam_deg;
    profile_refused(p, n, "cam_deg -34 after -34: not rising");
    p[5].cam_deg = p[4].cam_deg - 0.5;
    profile_refused(p, n, "cam_deg -34.5 after -34: not rising");
    p[5].cam_deg = NAN;
    profile_refused(p, n, "point 6 has no");
    p[5].cam_deg = was;
    p[n - 1].cam_deg = p[0].cam_deg + 360;
    profile_refused(p, n, "profile from -74 to 286: a turn and more");
    p[n - 1].cam_deg = p[0].cam_deg + 359.5;
    struct vb_lobe *l;
    ck_assert_int_eq(vb_lobe_new(p, n, 0, &l, NULL), VB_OK);
    vb_lobe_free(l);
    free(p);
    vb_lobe_free(NULL);
}
END_TEST

/*
 * A measured profile: a dial that reads to 0.01 mm, one step of jitter at the nose and on
 * the base circle. It is taken; a level amid the jitter is not.
 */
START_TEST(measured_profile)
{
    const double lift[] = {0,    0.01, 0.02, 0,    0.02, 0.30, 1.20, 2.60, 4.00,
                           5.10, 5.80, 6.05, 6.04, 6.06, 5.80, 5.10, 4.00, 2.60,
                           1.20, 0.30, 0.01, 0.02, 0.00, 0.02, 0};
    struct vb_lobe_point p[25];
    for (int i = 0; i < 25; i++)
        p[i] = (struct vb_lobe_point){5 * i - 60, lift[i]};
    struct vb_lobe *l;
    ck_assert_int_eq(vb_lobe_new(p, 25, 0, &l, NULL), VB_OK);
    struct vb_train t = {l, 1, 1, 0};
    struct vb_lobe_events v = {.up = 7};
    struct vb_msg m = {0};
    ck_assert_int_eq(vb_lobe_solve(&t, 0.2, &v, &m), VB_OK);
    ck_assert_double_eq_tol(v.up, -30, 1e-9);
    ck_assert_double_eq_tol(v.down, 30, 1e-9);
    const double level[] = {0.005, 0.01, 0.015, 6.045};
    for (int i = 0; i < 4; i++) {
        t.checking_lift = level[i];
        v.up = 7;
        ck_assert_int_eq(vb_lobe_solve(&t, 0, &v, &m), VB_EDOM);
        ck_assert(v.up == 7 && strstr(m.text, "more than twice"));
    }
    vb_lobe_free(l);
}
END_TEST

/*
 * A profile cut off on the flank knows nothing below; one with a step is flat half way,
 * and every one at the top. The same turned round.
 */
START_TEST(levels_refused)
{
    const struct vb_lobe_point p[] = {{-40, 1}, {-30, 2}, {-20, 3}, {-10, 5}, {0, 6},
                                      {10, 5},  {20, 5},  {30, 2},  {40, 1.5}};
    const struct {
        double level;
        const char *says;
    } x[] = {{0.5, "begins or ends above"},
             {1, "begins or ends above"},
             {1.2, "begins or ends above"},
             {1.5, "begins or ends above"},
             {6.01, "not reached: 6 at most"},
             {5, "flat"},
             {6, "flat"}};
    struct vb_lobe *l;
    ck_assert_int_eq(vb_lobe_new(p, 9, _i, &l, NULL), VB_OK);
    struct vb_lobe_events v = {.up = 7};
    for (size_t i = 0; i < sizeof x / sizeof *x; i++) {
        const struct vb_train t = {l, 1, x[i].level, 0};
        struct vb_msg m = {0};
        ck_assert_int_eq(vb_lobe_solve(&t, 0, &v, &m), VB_EDOM);
        ck_assert_msg(strstr(m.text, x[i].says), "%g: %s", x[i].level, m.text);
    }
    ck_assert(v.up == 7);
    vb_lobe_free(l);
}
END_TEST

/* What wobbles by less than a dial indicator may begin above a level that it then passes. */
START_TEST(a_wobble_about_the_level)
{
    struct vb_lobe_point p[] = {{-40, 1}, {-30, 0.996}, {-20, 3}, {-10, 5}, {0, 6},
                                {10, 5},  {20, 4},      {30, 2},  {40, 1.5}};
    struct vb_lobe_events v = {.up = 7};
    for (int falls = 0; falls < 2; falls++) {
        struct vb_lobe *l;
        struct vb_msg m = {0};
        p[8].lift = falls ? 0.5 : 1.5;
        ck_assert_int_eq(vb_lobe_new(p, 9, 0, &l, NULL), VB_OK);
        const struct vb_train t = {l, 1, 0.998, 0};
        ck_assert_int_eq(vb_lobe_solve(&t, 0, &v, &m), VB_EDOM);
        ck_assert_msg(strstr(m.text, falls ? "more than twice" : "begins or ends above"),
                      "%s", m.text);
        vb_lobe_free(l);
    }
    ck_assert(v.up == 7);
}
END_TEST

START_TEST(relash_refused)
{
    struct vb_lobe *l = closed_lobe(&cams[0], 5, 0);
    const struct vb_train t = {l, 1, 3, 0};
    struct vb_events e = {.opens = 7};
    ck_assert_int_eq(
        vb_lobe_relash(&t, (struct vb_events){-12, 225}, 1000, 0.2, &e, NULL), VB_EDOM);
    ck_assert_int_eq(
        vb_lobe_relash(&t, (struct vb_events){-12, 225}, 0.2, 1000, &e, NULL), VB_EDOM);
    ck_assert(e.opens == 7);
    vb_lobe_free(l);
}
END_TEST

START_TEST(trains_refused)
{
    const double bad[] = {0, -1, NAN, INFINITY};
    struct vb_lobe *l = closed_lobe(&cams[0], 5, 0);
    struct vb_lobe_events v = {.up = 7};
    for (int i = 0; i < 4; i++) {
        const struct {
            struct vb_train t;
            double lash;
            const char *says;
        } x[] = {{{l, bad[i], 3, 0}, 0, "ratio"},
                 {{l, 1, bad[i], 0}, 0, "it has to be stated"},
                 {{l, 1, 3, bad[i]}, 0, "of the profile"},
                 {{l, 1, 3, 0}, bad[i], "lash"}};
        for (int k = 0; k < (i == 0 ? 2 : 4); k++) {
            struct vb_msg m = {0};
            ck_assert_int_eq(vb_lobe_solve(&x[k].t, x[k].lash, &v, &m), VB_EDOM);
            ck_assert_msg(strstr(m.text, x[k].says), "%s", m.text);
        }
    }
    ck_assert(v.up == 7);
    vb_lobe_free(l);
}
END_TEST

static TCase *
each_curve(const char *name)
{
    TCase *t = tcase_create(name);
    tcase_add_loop_test(t, closed_forms_to_a_millionth, 0, CURVES);
    tcase_add_loop_test(t, coarse_tables, 0, CURVES);
    tcase_add_loop_test(t, slopes_move_the_events, 0, CURVES);
    tcase_add_loop_test(t, lash_and_checking_lift_add_up, 0, CURVES);
    tcase_add_loop_test(t, reversed_cam, 0, CURVES);
    tcase_add_loop_test(t, lift_of_the_profile, 0, CURVES);
    tcase_add_loop_test(t, relash, 0, CURVES);
    tcase_add_loop_test(t, lift_at_tdc, 0, CURVES);
    return t;
}

static Suite *
lobe_suite(void)
{
    Suite *s = suite_create("lobe");
    suite_add_tcase(s, each_curve("closed forms"));
    TCase *t = tcase_create("profiles");
    tcase_add_test(t, curves_are_the_handbooks);
    tcase_add_test(t, level_on_a_point);
    tcase_add_test(t, level_beside_the_last_point);
    tcase_add_loop_test(t, lift_at_tdc_refuses, 0, TDC_REFUSALS);
    tcase_add_loop_test(t, profiles_refused, 0, BAD_PROFILES);
    tcase_add_test(t, angles_refused);
    tcase_add_test(t, measured_profile);
    tcase_add_loop_test(t, levels_refused, 0, 2);
    tcase_add_test(t, a_wobble_about_the_level);
    tcase_add_test(t, relash_refused);
    tcase_add_test(t, trains_refused);
    suite_add_tcase(s, t);
    return s;
}

/* VB_ALL=1: the errors of docs/methods.md, over steps and checking lifts. */
static void
print_errors(void)
{
    const double step[] = {10, 5, 2, 1, 0.5, 0.2, 0.1, 0.05};
    printf("cam degrees off, harmonic cycloidal 3-4-5, at 0.1 | 0.5 | 1.27 mm\n");
    for (size_t i = 0; i < sizeof step / sizeof *step; i++) {
        printf("%5g", step[i]);
        const double checking[] = {0.1, 0.5, 1.27};
        for (int h = 0; h < 3; h++) {
            printf(" |");
            for (int c = 0; c < CURVES; c++)
                printf(" %.1e", worst_of_shifts(&cams[c], step[i], checking[h]));
        }
        printf("\n");
    }
}

int
main(void)
{
    SRunner *sr = srunner_create(lobe_suite());
    srunner_run_all(sr, CK_NORMAL);
    int failed = srunner_ntests_failed(sr);
    srunner_free(sr);
    if (getenv("VB_ALL"))
        print_errors();
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
