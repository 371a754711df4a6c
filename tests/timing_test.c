#include "suite.h"
#include "valvebook/timing.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

/* --- published --------------------------------------------------------------------- */

/*
 * io: inlet opens BTDC, ic: closes ABDC, eo: exhaust opens BBDC, ec: closes ATDC; then
 * what is printed or follows by hand. NaN: not in the source.
 */
struct published {
    const char *source;
    double io, ic, eo, ec;
    double inlet_dur, exhaust_dur, overlap, inlet_centre, exhaust_centre, separation;
};

static const struct published published[] = {
    {"WAEC examination report, Auto220Mq2", 6, 35, 38, 5, 221, 223, 11, 104.5, 106.5,
     105.5},
    {"spark ignition textbook case", 20, 35, 35, 10, 235, 225, 30, 97.5, 102.5, 100},
    // inlet 279 and overlap 73 are printed; 279 - 180 - 28 = 71. Its exhaust is not.
    {"TM 9-8000 figs 2-54, 2-55", 28, 71, NAN, 45, 279, NAN, 73, 111.5, NAN, NAN},
};

#define PUBLISHED (int)(sizeof published / sizeof *published)

static void
equal_or_unknown(double x, double expected)
{
    if (!isnan(expected))
        ck_assert(x == expected); // whole and half degrees: exact
}

START_TEST(published_cases)
{
    const struct published *c = &published[_i];
    double eo = isnan(c->eo) ? 50 : c->eo; // any exhaust opening will do for the third
    struct vb_events inlet = {-c->io, 180 + c->ic}, exhaust = {-180 - eo, c->ec};
    struct vb_timing t;
    ck_assert_int_eq(vb_timing_of(inlet, exhaust, 0.5, 0.3, &t, NULL), VB_OK);
    equal_or_unknown(t.inlet_duration, c->inlet_dur);
    equal_or_unknown(t.exhaust_duration, c->exhaust_dur);
    equal_or_unknown(t.overlap, c->overlap);
    equal_or_unknown(t.inlet_centre, c->inlet_centre);
    equal_or_unknown(-t.exhaust_centre, c->exhaust_centre); // said BTDC
    equal_or_unknown(t.separation, c->separation);
    // common practice: advance is separation less inlet centre
    equal_or_unknown(t.advance, c->separation - c->inlet_centre);
    ck_assert(vb_duration(inlet) == t.inlet_duration);
    ck_assert(vb_centre(exhaust) == t.exhaust_centre);
}
END_TEST

/* --- properties -------------------------------------------------------------------- */

/*
 * Both cams turned by d: advance falls by d, centres grow by it, the rest stays. One cam
 * turned: separation by half a crank degree, which is what a cam degree is.
 */
START_TEST(turning_the_cams)
{
    const struct vb_events i = {-12, 225}, e = {-230, 8};
    struct vb_timing a, b, c;
    ck_assert_int_eq(vb_timing_of(i, e, 0, 0, &a, NULL), VB_OK);
    for (double d = -20; d <= 20; d += 0.5) {
        const struct vb_events id = {i.opens + d, i.closes + d};
        const struct vb_events ed = {e.opens + d, e.closes + d};
        ck_assert_int_eq(vb_timing_of(id, ed, 0, 0, &b, NULL), VB_OK);
        ck_assert(b.advance == a.advance - d && b.separation == a.separation);
        ck_assert(b.inlet_centre == a.inlet_centre + d && b.overlap == a.overlap);
        ck_assert(b.exhaust_centre == a.exhaust_centre + d);
        ck_assert_int_eq(vb_timing_of(id, e, 0, 0, &c, NULL), VB_OK);
        ck_assert(c.separation == a.separation + d / 2 && c.overlap == a.overlap - d);
        ck_assert(c.inlet_duration == a.inlet_duration);
    }
}
END_TEST

/*
 * JCGM 100:2008 (10), (13), numerically: move one input by its u, square what the result
 * does. TDC moves all four angles at once.
 */
START_TEST(uncertainties)
{
    const double u = 0.5, u_tdc = 0.25;
    double angle[4] = {-12, 225, -230, 8};
    struct vb_timing at, to;
    ck_assert_int_eq(vb_timing_of((struct vb_events){angle[0], angle[1]},
                                  (struct vb_events){angle[2], angle[3]}, u, u_tdc, &at,
                                  NULL),
                     VB_OK);
    double dur2 = 0, centre2 = 0, overlap2 = 0, sep2 = 0, adv2 = 0;
    for (int i = 0; i < 5; i++) {
        double x[4];
        for (int j = 0; j < 4; j++)
            x[j] = angle[j] + (i == j ? u : i == 4 ? u_tdc : 0);
        ck_assert_int_eq(vb_timing_of((struct vb_events){x[0], x[1]},
                                      (struct vb_events){x[2], x[3]}, u, u_tdc, &to,
                                      NULL),
                         VB_OK);
        dur2 += pow(to.inlet_duration - at.inlet_duration, 2);
        centre2 += pow(to.exhaust_centre - at.exhaust_centre, 2);
        overlap2 += pow(to.overlap - at.overlap, 2);
        sep2 += pow(to.separation - at.separation, 2);
        adv2 += pow(to.advance - at.advance, 2);
    }
    ck_assert_double_eq_tol(at.u_duration, sqrt(dur2), 1e-12);
    ck_assert_double_eq_tol(at.u_centre, sqrt(centre2), 1e-12);
    ck_assert_double_eq_tol(at.u_overlap, sqrt(overlap2), 1e-12);
    ck_assert_double_eq_tol(at.u_separation, sqrt(sep2), 1e-12);
    ck_assert_double_eq_tol(at.u_advance, sqrt(adv2), 1e-12);
}
END_TEST

struct said {
    double angle, centre;
    const char *centre_from;
    double event;
    const char *event_from;
};

/* trade.md's examples of signs, and the centres of the WAEC case. */
static const struct said sayings[] = {
    {-12, 12, "BTDC", 12, "BTDC"},
    {225, 225, "ATDC", 45, "ABDC"},
    {-230, 230, "BTDC", 50, "BBDC"},
    {8, 8, "ATDC", 8, "ATDC"},
    {104.5, 104.5, "ATDC", 75.5, "BBDC"},
    {-106.5, 106.5, "BTDC", 73.5, "ABDC"},
    {0, 0, "ATDC", 0, "ATDC"},
    {180, 180, "ATDC", 0, "ABDC"},
    {-180, 180, "BTDC", 0, "ABDC"},
    {90, 90, "ATDC", 90, "ATDC"},
    {-90, 90, "BTDC", 90, "BTDC"},
    {90.5, 90.5, "ATDC", 89.5, "BBDC"},
    {170, 170, "ATDC", 10, "BBDC"},
    {-170, 170, "BTDC", 10, "ABDC"},
};

#define SAYINGS (int)(sizeof sayings / sizeof *sayings)

START_TEST(angles_are_said)
{
    const struct said *c = &sayings[_i];
    struct vb_angle_said a = vb_centre_said(c->angle), b = vb_event_said(c->angle);
    ck_assert(a.deg == c->centre && b.deg == c->event);
    ck_assert_str_eq(a.from, c->centre_from);
    ck_assert_str_eq(b.from, c->event_from);
}
END_TEST

/* --- refusals ---------------------------------------------------------------------- */

struct refusal {
    struct vb_events e;
    enum vb_err err;
    const char *says;
};

static const struct refusal refusals[] = {
    {{225, -12}, VB_ERANGE, "closes at -12, not after it opens at 225"}, // exchanged
    {{130, 8}, VB_ERANGE, "not after"},    // 50 BBDC counted as an inlet's
    {{-12, -135}, VB_ERANGE, "not after"}, // 45 ABDC counted as an exhaust's
    {{5, 5}, VB_ERANGE, "not after"},
    {{0, 19.9}, VB_ERANGE, "open for 19.9"},
    {{-220.1, 220}, VB_ERANGE, "open for 440.1"},
    {{-361, 0}, VB_ERANGE, "opens at -361"},
    {{0, 361}, VB_ERANGE, "closes at 361"},
    {{NAN, 225}, VB_EDOM, "no angle for opens"},
    {{-12, NAN}, VB_EDOM, "no angle for closes"},
    {{-INFINITY, 225}, VB_EDOM, "opens"},
};

#define REFUSALS (int)(sizeof refusals / sizeof *refusals)

START_TEST(events_refused)
{
    const struct refusal *c = &refusals[_i];
    const struct vb_events good = {-12, 225};
    struct vb_msg m = {0};
    struct vb_timing t = {.overlap = 77};
    ck_assert_int_eq(vb_events_check(c->e, &m), c->err);
    ck_assert_msg(strstr(m.text, c->says) != NULL, "%s", m.text);
    ck_assert_int_eq(vb_events_check(c->e, NULL), c->err);
    ck_assert_int_eq(vb_timing_of(c->e, good, 0.5, 0.5, &t, &m), c->err);
    ck_assert(strncmp(m.text, "inlet ", 6) == 0 && strstr(m.text, c->says));
    ck_assert_int_eq(vb_timing_of(good, c->e, 0.5, 0.5, &t, &m), c->err);
    ck_assert(strncmp(m.text, "exhaust ", 8) == 0 && strstr(m.text, c->says));
    ck_assert(t.overlap == 77);
}
END_TEST

START_TEST(events_let_through)
{
    const struct vb_events good[] = {{-12, 225},  {-230, 8}, {0, 20},
                                     {-220, 220}, {-360, 0}, {0, 360}};
    struct vb_msg m = {0};
    for (size_t i = 0; i < sizeof good / sizeof *good; i++)
        ck_assert_int_eq(vb_events_check(good[i], &m), VB_OK);
    ck_assert_str_eq(m.text, "");
    struct vb_timing t = {.overlap = 77};
    const double bad[] = {-0.1, NAN, INFINITY};
    for (int i = 0; i < 3; i++) {
        ck_assert_int_eq(vb_timing_of(good[0], good[1], bad[i], 0, &t, &m), VB_EDOM);
        ck_assert_int_eq(vb_timing_of(good[0], good[1], 0, bad[i], &t, &m), VB_EDOM);
    }
    ck_assert(t.overlap == 77);
}
END_TEST

static Suite *
timing_suite(void)
{
    Suite *s = suite_create("timing");
    TCase *t = tcase_create("timing");
    tcase_add_loop_test(t, published_cases, 0, PUBLISHED);
    tcase_add_test(t, turning_the_cams);
    tcase_add_test(t, uncertainties);
    tcase_add_loop_test(t, angles_are_said, 0, SAYINGS);
    tcase_add_loop_test(t, events_refused, 0, REFUSALS);
    tcase_add_test(t, events_let_through);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(timing_suite());
}
