#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "suite.h"
#include "valvebook/shift.h"

/* --- against R --------------------------------------------------------------------- */

struct one {
    double y, own;
    long t1, t2;
    double u1, u2;
};

struct r_case {
    const char *name;
    size_t n;
    struct one x[6];
    double w[6], mean, u, chi2, p;
    size_t odd;
};

/* Printed by tests/r/timing.R, R version 4.2.2 Patched (2022-11-10 r83330). */
static const struct r_case r_cases[] = {
    {
        .name = "a TDC for each cylinder and visit",
        .n = 4,
        .x = {{1.2, 0.3, 11, 21, 0.2, 0.15},
              {1.5, 0.2, 11, 21, 0.2, 0.15},
              {0.4, 0.25, 12, 22, 0.35, 0.3},
              {0.9, 0.4, 12, 22, 0.35, 0.3}},
        .w = {0.227863207488532, 0.512692216849198, 0.186566885869498,
              0.0728776897927725},
        .mean = 1.18269084942133,
        .u = 0.258442261820849,
        .chi2 = 3.97940156384023,
        .p = 0.263696996656079,
        .odd = 4,
    },
    {
        .name = "one TDC for the whole second visit",
        .n = 5,
        .x = {{-2.1, 0.2, 1, 9, 0.25, 0.5},
              {-1.7, 0.2, 1, 9, 0.25, 0.5},
              {-2.6, 0.3, 2, 9, 0.25, 0.5},
              {-1.9, 0.15, 2, 9, 0.25, 0.5},
              {-2.2, 0.2, 3, 9, 0.4, 0.5}},
        .w = {0.205141273532317, 0.205141273532315, 0.0840951804542416, 0.336380721816965,
              0.169241550664161},
        .mean = -2.00963909151722,
        .u = 0.532774164288052,
        .chi2 = 6.69389849824979,
        .p = 0.152975886879361,
        .odd = 5,
    },
    {
        .name =
            "one TDC for both readings of a valve, one as first here and second there",
        .n = 4,
        .x = {{0.5, 0.2, 5, 5, 0.4, 0.4},
              {-0.2, 0.3, 6, 7, 0.1, 0.3},
              {0.9, 0.25, 7, 8, 0.3, 0.2},
              {0.1, 0.2, 0, 0, 0.2, 0.1}},
        .w = {0.447505129436417, 0.177587636966866, 0.17601606495831, 0.198891168638407},
        .mean = 0.366538612651155,
        .u = 0.133791648384556,
        .chi2 = 3.39289300213908,
        .p = 0.334921517319177,
        .odd = 4,
    },
    {
        .name = "one odd valve; its |t| is 8.39, that of the other of its cylinder 8.22",
        .n = 6,
        .x = {{0.1, 0.25, 0, 1, 0, 1.5},
              {-0.2, 0.25, 0, 1, 0, 1.5},
              {0.15, 0.25, 0, 2, 0, 1.5},
              {3.1, 0.25, 0, 2, 0, 1.5},
              {0.0, 0.25, 0, 3, 0, 1.5},
              {0.05, 0.25, 0, 3, 0, 1.5}},
        .w = {1 / 6.0, 1 / 6.0, 1 / 6.0, 1 / 6.0, 1 / 6.0, 1 / 6.0},
        .mean = 0.533333333333334,
        .u = 0.872018730685682,
        .chi2 = 71.1448401826485,
        .p = 5.9198305922183e-14,
        .odd = 3,
    },
    {
        .name = "a well read valve is odd: its |t| is 4.39, the next 3.19",
        .n = 4,
        .x = {{-0.23, 0.1, 0, 0, 0, 0},
              {0.78, 0.25, 0, 0, 0, 0},
              {0.12, 0.3, 0, 0, 0, 0},
              {0.53, 0.2, 0, 0, 0, 0}},
        .w = {0.657414170927684, 0.10518626734843, 0.0730460189919649, 0.164353542731921},
        .mean = 0.0267129291453616,
        .u = 0.0810810810810811,
        .chi2 = 22.0983564645727,
        .p = 6.22282925921296e-05,
        .odd = 0,
    },
    {
        .name = "a coarse one is: 5.36, then 1.66",
        .n = 4,
        .x = {{5.5, 1, 0, 0, 0, 0},
              {0.18, 0.05, 0, 0, 0, 0},
              {0, 0.1, 0, 0, 0, 0},
              {0.05, 0.2, 0, 0, 0, 0}},
        .w = {0.00190114068441065, 0.760456273764259, 0.190114068441065,
              0.0475285171102662},
        .mean = 0.149714828897338,
        .u = 0.0436020720196947,
        .chi2 = 31.4824572243346,
        .p = 6.72722890852665e-07,
        .odd = 0,
    },
    {
        .name = "a precise one is, 3.81, for all that a coarse one lies far off, 3.28",
        .n = 4,
        .x = {{-3.4, 1, 0, 0, 0, 0},
              {-0.26, 0.05, 0, 0, 0, 0},
              {0, 0.05, 0, 0, 0, 0},
              {0.01, 0.1, 0, 0, 0, 0}},
        .w = {0.00110987791342952, 0.443951165371809, 0.443951165371809,
              0.110987791342952},
        .mean = -0.118091009988901,
        .u = 0.0333148302326385,
        .chi2 = 26.0451165371809,
        .p = 9.33219502620807e-06,
        .odd = 1,
    },
    {
        .name = "one valve",
        .n = 1,
        .x = {{1.2, 0.3, 11, 21, 0.2, 0.15}},
        .w = {1},
        .mean = 1.2,
        .u = 0.390512483795333,
        .chi2 = 0,
        .p = NAN,
        .odd = 1,
    },
};

#define R_CASES (int)(sizeof r_cases / sizeof *r_cases)

/*
 * A shift as vb_shift_split would give it: lash explains 0.1 i of the phase with
 * uncertainty 0.05 (a part of own), and 0.2 i of the duration.
 */
static struct vb_shift
shift_of(const struct one *x, size_t i)
{
    double lash = 0.1 * (double)i;
    struct vb_shift s = {.how = VB_SPLIT_PROFILE,
                         .drive = x->y,
                         .u_own = x->own,
                         .lash_phase = lash,
                         .u_lash_phase = 0.05,
                         .phase = x->y + lash,
                         .lash_duration = 2 * lash,
                         .u_lash_duration = 0.3,
                         .rest = 0.2,
                         .duration = 2 * lash + 0.2,
                         .u_duration = 0.4,
                         .u_rest = 0.5,
                         .tdc = {x->t1, x->t2},
                         .u_tdc = {x->u1, x->u2}};
    return s;
}

static void
shifts_of(const struct one *x, size_t n, struct vb_shift *s)
{
    for (size_t i = 0; i < n; i++)
        s[i] = shift_of(&x[i], i);
}

START_TEST(r_is_met)
{
    const struct r_case *c = &r_cases[_i];
    struct vb_shift s[6];
    struct vb_cam_shift p;
    shifts_of(c->x, c->n, s);
    ck_assert_int_eq(vb_cam_pool(s, c->n, &p), VB_OK);
    ck_assert_uint_eq(p.n, c->n);
    ck_assert_uint_eq(p.n_profile, c->n);
    ck_assert_double_eq_tol(p.drive, c->mean, 1e-12);
    ck_assert_double_eq_tol(p.chi2, c->chi2, 1e-10 * (1 + c->chi2));
    if (isnan(c->p))
        ck_assert(isnan(p.p));
    else
        ck_assert_double_eq_tol(p.p, c->p, 1e-10 * (c->p + 1e-4));
    // Birge: sqrt(chi2 / df), where p is below 5 %
    double raised = c->p < 0.05 ? sqrt(c->chi2 / ((double)c->n - 1)) : 1;
    ck_assert_double_eq_tol(p.raised, raised, 1e-12 * raised);
    ck_assert_double_eq_tol(p.u_drive, raised * c->u, 1e-12 * raised);
    ck_assert_uint_eq(p.odd, c->odd);
    double lash = 0, lash2 = 0;
    for (size_t i = 0; i < c->n; i++) {
        lash += c->w[i] * 0.1 * (double)i;
        lash2 += c->w[i] * c->w[i] * 0.05 * 0.05;
    }
    ck_assert_double_eq_tol(p.lash_phase, lash, 1e-12);
    ck_assert_double_eq_tol(p.phase, lash + c->mean, 1e-12);
    ck_assert_double_eq_tol(p.u_lash_phase, sqrt(lash2), 1e-12);
    ck_assert_double_eq_tol(p.u_phase, raised * sqrt(c->u * c->u - lash2),
                            1e-11 * raised);
    ck_assert(p.k == 2);
    ck_assert_int_eq(p.beyond, fabs(c->mean) > 2 * raised * c->u);
}
END_TEST

/* The order of the valves changes nothing but which index is odd. */
START_TEST(order_does_not_matter)
{
    const struct r_case *c = &r_cases[_i];
    struct vb_shift s[6], back[6];
    struct vb_cam_shift p, q;
    shifts_of(c->x, c->n, s);
    for (size_t i = 0; i < c->n; i++)
        back[i] = s[c->n - 1 - i];
    ck_assert_int_eq(vb_cam_pool(s, c->n, &p), VB_OK);
    ck_assert_int_eq(vb_cam_pool(back, c->n, &q), VB_OK);
    ck_assert_double_eq_tol(p.drive, q.drive, 1e-12);
    ck_assert_double_eq_tol(p.u_phase, q.u_phase, 1e-12);
    ck_assert_double_eq_tol(p.rest, q.rest, 1e-12);
    ck_assert(p.odd == c->n ? q.odd == c->n : q.odd == c->n - 1 - p.odd);
}
END_TEST

/* --- by hand ----------------------------------------------------------------------- */

/* An error in common is not averaged away: own / sqrt(n), TDC in full. */
START_TEST(common_error_stays)
{
    struct one x[6];
    for (int i = 0; i < 6; i++)
        x[i] = (struct one){1, 0.3, 0, 4, 0, 0.2};
    struct vb_shift s[6];
    struct vb_cam_shift p;
    for (size_t n = 1; n <= 6; n++) {
        shifts_of(x, n, s);
        ck_assert_int_eq(vb_cam_pool(s, n, &p), VB_OK);
        ck_assert_double_eq_tol(p.u_drive, sqrt(0.09 / (double)n + 0.04), 1e-12);
    }
    for (size_t i = 0; i < 6; i++)
        s[i].tdc[1] = (long)i + 1; // six TDCs: now it is
    ck_assert_int_eq(vb_cam_pool(s, 6, &p), VB_OK);
    ck_assert_double_eq_tol(p.u_drive, sqrt(0.13 / 6), 1e-12);
    for (size_t i = 0; i < 6; i++)
        s[i].tdc[1] = 0; // and so it is where nobody says that they share one
    ck_assert_int_eq(vb_cam_pool(s, 6, &p), VB_OK);
    ck_assert_double_eq_tol(p.u_drive, sqrt(0.13 / 6), 1e-12);
}
END_TEST

/* Durations: weights 1 / u_rest^2 = 4 : 1, so means are (4 a + b) / 5. */
START_TEST(durations_by_hand)
{
    struct one x[2] = {{0, 0.2, 0, 0, 0, 0}, {0, 0.2, 0, 0, 0, 0}};
    struct vb_shift s[2];
    struct vb_cam_shift p;
    shifts_of(x, 2, s);
    s[0].u_rest = 0.5;
    s[1].u_rest = 1;
    s[0].duration = -2, s[0].lash_duration = -1.5, s[0].rest = -0.5;
    s[1].duration = -7, s[1].lash_duration = -4, s[1].rest = -3;
    s[0].u_duration = 0.4, s[1].u_duration = 0.8;
    s[0].u_lash_duration = 0.3, s[1].u_lash_duration = 0.6;
    ck_assert_int_eq(vb_cam_pool(s, 2, &p), VB_OK);
    ck_assert_double_eq_tol(p.duration, -3, 1e-12);
    ck_assert_double_eq_tol(p.lash_duration, -2, 1e-12);
    ck_assert_double_eq_tol(p.rest, -1, 1e-12);
    ck_assert_double_eq_tol(p.u_rest, sqrt(1 / 5.0), 1e-12);
    ck_assert_double_eq_tol(p.u_duration, hypot(0.8 * 0.4, 0.2 * 0.8), 1e-12);
    ck_assert_double_eq_tol(p.u_lash_duration, hypot(0.8 * 0.3, 0.2 * 0.6), 1e-12);
    ck_assert(p.rest_beyond); // 1 > 2 sqrt(0.2)
    ck_assert(!p.beyond && !p.phase_beyond);
    s[0].rest = 0; // mean -0.6
    ck_assert_int_eq(vb_cam_pool(s, 2, &p), VB_OK);
    ck_assert(!p.rest_beyond);
}
END_TEST

/* Of two valves that differ nobody knows which is odd; of three somebody does. */
START_TEST(odd_one_out)
{
    struct one x[3] = {
        {0, 0.1, 0, 0, 0, 0}, {2, 0.1, 0, 0, 0, 0}, {0.1, 0.1, 0, 0, 0, 0}};
    struct vb_shift s[3];
    struct vb_cam_shift p;
    shifts_of(x, 3, s);
    ck_assert_int_eq(vb_cam_pool(s, 2, &p), VB_OK);
    ck_assert(p.odd == 2 && p.p < 1e-9 && p.raised > 14);
    ck_assert_int_eq(vb_cam_pool(s, 3, &p), VB_OK);
    ck_assert_uint_eq(p.odd, 1);
    x[1].y = 0.45; // chi2 11.7 with 2: p 0.3 %, raised but none is called odd
    shifts_of(x, 3, s);
    ck_assert_int_eq(vb_cam_pool(s, 3, &p), VB_OK);
    ck_assert(p.raised > 2 && p.odd == 3 && p.p > 0.0027);
}
END_TEST

/* 2 u of the phase is 2 sqrt(.3^2 - .05^2) = 0.59, of the drive 0.6. */
START_TEST(beyond_by_hand)
{
    const struct {
        double drive, phase;
        int beyond, phase_beyond;
    } x[] = {{0.59, 0.58, 0, 0},   {0.61, 0.58, 1, 0}, {0.59, 0.595, 0, 1},
             {-0.59, -0.58, 0, 0}, {-0.61, 0, 1, 0},   {0, -0.595, 0, 1}};
    for (size_t i = 0; i < sizeof x / sizeof *x; i++) {
        const struct one one = {x[i].drive, 0.3, 0, 0, 0, 0};
        struct vb_shift s = shift_of(&one, 0);
        struct vb_cam_shift p;
        s.phase = x[i].phase;
        ck_assert_int_eq(vb_cam_pool(&s, 1, &p), VB_OK);
        ck_assert_int_eq(p.beyond, x[i].beyond);
        ck_assert_int_eq(p.phase_beyond, x[i].phase_beyond);
    }
}
END_TEST

/* Valves with and without a profile together: the lash part is not said. */
START_TEST(mixed_splits)
{
    struct one x[3] = {
        {1, 0.1, 0, 0, 0, 0}, {1.1, 0.1, 0, 0, 0, 0}, {0.9, 0.1, 0, 0, 0, 0}};
    struct vb_shift s[3];
    struct vb_cam_shift p;
    shifts_of(x, 3, s);
    s[1].how = VB_SPLIT_PLAIN;
    s[1].phase = s[1].drive;
    s[1].lash_phase = s[1].u_lash_phase = NAN;
    s[1].lash_duration = s[1].u_lash_duration = NAN;
    ck_assert_int_eq(vb_cam_pool(s, 3, &p), VB_OK);
    ck_assert_uint_eq(p.n_profile, 2);
    ck_assert_double_eq_tol(p.drive, 1, 1e-12);
    ck_assert_double_eq_tol(p.phase, 1 + 0.2 / 3, 1e-12); // 0, none, 0.2
    ck_assert(isnan(p.lash_phase) && isnan(p.u_lash_phase));
    ck_assert(isnan(p.lash_duration) && isnan(p.u_lash_duration));
    ck_assert(p.u_phase > 0.9 * p.u_drive && p.u_phase <= p.u_drive);
}
END_TEST

/* --- a cam at one visit ------------------------------------------------------------ */

/* Of equal readings with TDCs in pairs: plain means; u by hand. */
START_TEST(mean_by_hand)
{
    const struct vb_timing_read r[] = {{{-12, 225}, 0.4, NAN, NAN, 1, 0.3},
                                       {{-11, 225}, 0.4, NAN, NAN, 1, 0.3},
                                       {{-13, 224}, 0.4, NAN, NAN, 2, 0.3},
                                       {{-12, 226}, 0.4, NAN, NAN, 2, 0.3}};
    struct vb_cam_mean c;
    ck_assert_int_eq(vb_cam_mean_of(r, 4, &c, NULL), VB_OK);
    ck_assert_uint_eq(c.n, 4);
    ck_assert_double_eq_tol(c.centre, (106.5 + 107 + 105.5 + 107) / 4, 1e-12);
    ck_assert_double_eq_tol(c.duration, (237 + 236 + 237 + 238) / 4.0, 1e-12);
    ck_assert_double_eq_tol(c.u_centre, sqrt(0.08 / 4 + 0.09 / 2), 1e-12);
    ck_assert_double_eq_tol(c.u_duration, sqrt(0.32 / 4), 1e-12);
    struct vb_timing_read one = r[0];
    one.u = 0.2; // four times the weight in the duration
    const struct vb_timing_read pair[] = {one, {{-10, 232}, 0.4, NAN, NAN, 5, 0.3}};
    ck_assert_int_eq(vb_cam_mean_of(pair, 2, &c, NULL), VB_OK);
    ck_assert_double_eq_tol(c.duration, (4 * 237 + 242) / 5.0, 1e-12);
    ck_assert_double_eq_tol(c.u_duration, sqrt(1 / (1 / 0.08 + 1 / 0.32)), 1e-12);
}
END_TEST

START_TEST(mean_of_many)
{
    static struct vb_timing_read r[VB_CAM_VALVES];
    struct vb_cam_mean c;
    for (size_t i = 0; i < VB_CAM_VALVES; i++)
        r[i] = (struct vb_timing_read){{-12, 225}, 0.4, NAN, NAN, 1, 0.3};
    ck_assert_int_eq(vb_cam_mean_of(r, VB_CAM_VALVES, &c, NULL), VB_OK);
    ck_assert_double_eq_tol(c.centre, 106.5, 1e-10);
    ck_assert_double_eq_tol(c.u_centre, sqrt(0.08 / VB_CAM_VALVES + 0.09), 1e-10);
}
END_TEST

START_TEST(mean_refuses)
{
    struct vb_timing_read r[2] = {{{-12, 225}, 0.4, NAN, NAN, 1, 0.3},
                                  {{-11, 225}, 0.4, NAN, NAN, 1, 0.3}};
    const struct vb_timing_read good = r[1];
    struct vb_cam_mean c = {.centre = 77};
    struct vb_msg m = {0};
    ck_assert_int_eq(vb_cam_mean_of(r, 0, &c, &m), VB_EDOM);
    ck_assert_int_eq(vb_cam_mean_of(r, VB_CAM_VALVES + 1, &c, &m), VB_EDOM);
    const double bad[] = {-0.1, NAN, INFINITY, 0};
    for (int i = 0; i < 4; i++) {
        r[1] = good;
        r[1].u = bad[i];
        ck_assert_int_eq(vb_cam_mean_of(r, 2, &c, &m), VB_EDOM);
        ck_assert(strstr(m.text, "uncertainties"));
        r[1] = good;
        r[1].u_tdc = bad[i];
        ck_assert_int_eq(vb_cam_mean_of(r, 2, &c, &m), i < 3 ? VB_EDOM : VB_OK);
        if (i < 3)
            ck_assert(c.centre == 77);
    }
    r[0].u = r[1].u = 1.4e-154; // weights that are finite, and their sum is not
    r[0].u_tdc = r[1].u_tdc = 0;
    c.centre = 77;
    ck_assert_int_eq(vb_cam_mean_of(r, 2, &c, &m), VB_EDOM);
    ck_assert(c.centre == 77);
    r[0].u = 0.4;
    r[1] = good;
    r[1].e.closes = -50;
    ck_assert_int_eq(vb_cam_mean_of(r, 2, &c, &m), VB_ERANGE);
    ck_assert(strstr(m.text, "not after") && c.centre == 77);
}
END_TEST

/* --- banks ------------------------------------------------------------------------- */

/* R, as above: both banks were counted from one wheel at the second visit. */
START_TEST(banks_against_r)
{
    const struct one other[] = {{0.3, 0.2, 1, 9, 0.25, 0.5},
                                {0.6, 0.25, 4, 9, 0.3, 0.5},
                                {-0.1, 0.3, 4, 9, 0.3, 0.5}};
    struct vb_shift a[6], b[3];
    struct vb_bank r, back;
    shifts_of(r_cases[1].x, 5, a);
    shifts_of(other, 3, b);
    ck_assert_int_eq(vb_bank_compare(a, 5, b, 3, &r), VB_OK);
    ck_assert_double_eq_tol(r.drive, -2.3154993738113, 1e-12);
    ck_assert_double_eq_tol(r.u_drive, 0.249354946299727, 1e-12);
    ck_assert(r.k == 2 && r.beyond);
    ck_assert_int_eq(vb_bank_compare(b, 3, a, 5, &back), VB_OK);
    ck_assert_double_eq_tol(back.drive, -r.drive, 1e-12);
    ck_assert_double_eq_tol(back.phase, -r.phase, 1e-12);
    ck_assert_double_eq_tol(back.u_phase, r.u_phase, 1e-12);
    struct vb_cam_shift pa, pb;
    ck_assert_int_eq(vb_cam_pool(a, 5, &pa), VB_OK);
    ck_assert_int_eq(vb_cam_pool(b, 3, &pb), VB_OK);
    ck_assert_double_eq_tol(r.phase, pa.phase - pb.phase, 1e-12);
    // phase lacks the lash's part of u
    double lash2 = pow(pa.u_lash_phase, 2) + pow(pb.u_lash_phase, 2);
    ck_assert_double_eq_tol(r.u_phase, sqrt(r.u_drive * r.u_drive - lash2), 1e-12);
}
END_TEST

/* One valve a bank, one wheel: its error goes out wholly. A difference within 2 u. */
START_TEST(banks_by_hand)
{
    const struct one a = {1.5, 0.3, 0, 9, 0, 0.8}, b = {0.6, 0.4, 0, 9, 0, 0.8};
    struct vb_shift sa = shift_of(&a, 0), sb = shift_of(&b, 0);
    struct vb_bank r;
    ck_assert_int_eq(vb_bank_compare(&sa, 1, &sb, 1, &r), VB_OK);
    ck_assert_double_eq_tol(r.drive, 0.9, 1e-12);
    ck_assert_double_eq_tol(r.u_drive, 0.5, 1e-12);
    ck_assert(!r.beyond);
    sa.drive = 1.7;
    ck_assert_int_eq(vb_bank_compare(&sa, 1, &sb, 1, &r), VB_OK);
    ck_assert(r.beyond);
    sb.tdc[1] = 8;
    ck_assert_int_eq(vb_bank_compare(&sa, 1, &sb, 1, &r), VB_OK);
    ck_assert_double_eq_tol(r.u_drive, sqrt(0.25 + 2 * 0.64), 1e-12);
    ck_assert(!r.beyond);
}
END_TEST

/*
 * Valves that scatter raise their cam's uncertainty by a factor, and what the cams share
 * by both. chi2 by hand: of own 0.1, about the mean, the common TDC adding nothing to it.
 */
START_TEST(banks_that_scatter)
{
    struct one xa[] = {{0, 0.1, 0, 9, 0, 0.8}, {0.6, 0.1, 0, 9, 0, 0.8}};
    struct one xb[] = {{1, 0.1, 0, 9, 0, 0.8}, {1.4, 0.1, 0, 9, 0, 0.8}};
    double ra = sqrt(2 * 0.09 / 0.01), rb = sqrt(2 * 0.04 / 0.01), var = 0.005 + 0.64;
    struct vb_shift a[2], b[2];
    struct vb_bank r;
    shifts_of(xa, 2, a);
    shifts_of(xb, 2, b);
    ck_assert_int_eq(vb_bank_compare(a, 2, b, 2, &r), VB_OK);
    double u2 = ra * ra * var + rb * rb * var - 2 * ra * rb * 0.64;
    ck_assert_double_eq_tol(r.drive, -0.9, 1e-12);
    ck_assert_double_eq_tol(r.u_drive, sqrt(u2), 1e-9);
}
END_TEST

START_TEST(pool_refuses)
{
    static struct vb_shift s[VB_CAM_VALVES + 1];
    const struct one x = {1, 0.3, 0, 4, 0, 0.2};
    for (size_t i = 0; i <= VB_CAM_VALVES; i++)
        s[i] = shift_of(&x, 1);
    struct vb_cam_shift p = {.drive = 77};
    struct vb_bank b = {.drive = 77};
    ck_assert_int_eq(vb_cam_pool(s, 0, &p), VB_EDOM);
    ck_assert_int_eq(vb_cam_pool(s, VB_CAM_VALVES + 1, &p), VB_EDOM);
    ck_assert_int_eq(vb_bank_compare(s, 0, s, 2, &b), VB_EDOM);
    ck_assert_int_eq(vb_bank_compare(s, 2, s, 0, &b), VB_EDOM);
    const double bad[] = {0, NAN, -1, INFINITY};
    for (int i = 0; i < 4; i++) {
        double *u[] = {&s[1].u_own, &s[1].u_rest};
        for (int k = 0; k < 2; k++) {
            double was = *u[k];
            *u[k] = bad[i];
            ck_assert_int_eq(vb_cam_pool(s, 3, &p), VB_EDOM);
            ck_assert_int_eq(vb_bank_compare(s, 1, s, 3, &b), VB_EDOM);
            *u[k] = was;
        }
    }
    for (int k = 0; k < 2; k++) {
        double was = s[1].u_tdc[k];
        s[1].u_tdc[k] = NAN;
        ck_assert_int_eq(vb_cam_pool(s, 3, &p), VB_EDOM);
        s[1].u_tdc[k] = was;
    }
    // what is its own drowns in what all share: no inverse
    for (int i = 0; i < 3; i++) {
        const double own[] = {1e-6, 1e-9, 1e-150};
        s[1].u_own = s[2].u_own = own[i];
        ck_assert_int_eq(vb_cam_pool(s, 3, &p), VB_EDOM);
    }
    s[1].u_own = s[2].u_own = 0.3;
    s[1].u_tdc[1] = 1e200;
    ck_assert_int_eq(vb_cam_pool(s, 3, &p), VB_EDOM);
    s[1].u_tdc[1] = 0.2;
    s[2].drive = NAN;
    ck_assert_int_eq(vb_cam_pool(s, 3, &p), VB_EDOM);
    ck_assert(p.drive == 77 && b.drive == 77);
    s[2].drive = 1;
    ck_assert_int_eq(vb_cam_pool(s, VB_CAM_VALVES, &p), VB_OK);
    ck_assert_double_eq_tol(p.u_drive, sqrt(0.09 / VB_CAM_VALVES + 0.04), 1e-10);
}
END_TEST

static Suite *
cam_pool_suite(void)
{
    Suite *s = suite_create("cam_pool");
    TCase *t = tcase_create("pool");
    tcase_add_loop_test(t, r_is_met, 0, R_CASES);
    tcase_add_loop_test(t, order_does_not_matter, 0, R_CASES);
    tcase_add_test(t, common_error_stays);
    tcase_add_test(t, durations_by_hand);
    tcase_add_test(t, odd_one_out);
    tcase_add_test(t, beyond_by_hand);
    tcase_add_test(t, mixed_splits);
    tcase_add_test(t, mean_by_hand);
    tcase_add_test(t, mean_of_many);
    tcase_add_test(t, mean_refuses);
    tcase_add_test(t, banks_against_r);
    tcase_add_test(t, banks_by_hand);
    tcase_add_test(t, banks_that_scatter);
    tcase_add_test(t, pool_refuses);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(cam_pool_suite());
}
