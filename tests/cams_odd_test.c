/*
 * Cams of which something is missing, too much or out of reason: what can be said is said,
 * the rest is refused by name. Expected values by hand, as in cams_test.c.
 */
#include "cam_engine.h"
#include "suite.h"

/* A profile that holds the valve open for 12 crank degrees at most. */
static const struct closed_cam needle = {HARMONIC, 8.5, 3, 0, 3};

static int
told(const char *text)
{
    int n = 0;
    for (size_t i = 0; i < list.n_refused; i++)
        n += strcmp(list.refused[i].text, text) == 0;
    return n;
}

/* --- too much ------------------------------------------------------------------------ */

/* 64 of 66 valves are pooled, and 64 of 66 cylinders; the last two would be 8 late. */
START_TEST(more_valves_than_a_cam_is_pooled_over)
{
    char banks[300] = "A:1", at[16];
    for (int cyl = 2; cyl <= 66; cyl++)
        snprintf(banks + strlen(banks), sizeof banks - strlen(banks), "-%d", cyl);
    ck_assert_int_eq(vb_banks_parse(strcat(banks, " B:67"), &family.banks), VB_OK);
    nominal(0, -12, 225);
    for (int cyl = 1; cyl <= 66; cyl++) {
        double late = cyl > 64 ? 8 : 0;
        snprintf(at, sizeof at, "%dI", cyl);
        events(0, at, LEFT, -12 + late, 225 + late, 0.2);
        snprintf(at, sizeof at, "%dE", cyl);
        events(0, at, LEFT, -230 - late, 8 - late, 0.2);
    }
    events(0, "67I", LEFT, -12, 225, 0.2);
    compute();
    const struct vb_cam_row *r = the("AI", VB_AGAINST_NOMINAL);
    ck_assert(r->n == 66 && r->n_shift == 64);
    near(r->fig.centre, 106.5, 1e-9);
    near(r->fig.overlap, 20, 1e-9);
    near(r->fig.separation, (106.5 + 111) / 2, 1e-9);
    near(r->shift.drive, 0, 1e-9);
    const struct vb_cam_row *b = the("AI", VB_AGAINST_BANK);
    ck_assert_uint_eq(b->n_shift, 65);
    near(b->shift.drive, 0, 1e-9);
}
END_TEST

/* u of 1e-6 beside 0.2: no mean of the two, of the cam or against the other bank. */
START_TEST(uncertainties_too_unlike)
{
    ck_assert_int_eq(vb_banks_parse("A:1-2 B:3", &family.banks), VB_OK);
    nominal(0, -12, 225);
    events(0, "1I", LEFT, -12, 225, 0.2);
    events(0, "2I", LEFT, -12, 225, 1e-6);
    events(0, "3I", LEFT, -12, 225, 0.2);
    compute();
    ck_assert_int_eq(told("HC-1 day 100 AI: the uncertainties of its valves are too "
                          "unlike for one mean"),
                     1);
    ck_assert_uint_eq(the("AI", VB_AGAINST_NOMINAL)->n_shift, 0);
    ck_assert_uint_eq(the("BI", VB_AGAINST_NOMINAL)->n_shift, 1);
    ck_assert_ptr_null(row("AI", VB_AGAINST_BANK));
}
END_TEST

/* Found and left share their TDC, so only the angles and the lash are uncertain, and these
 * angles are not: no cause can be looked for, and everything else is there. */
START_TEST(an_angle_that_claims_to_be_exact)
{
    profile("in", &harmonic, 0.1);
    strcpy(family.lobe[0], "in");
    exact(0, "1I", FOUND, &harmonic, 0.2, 1, 105);
    struct vb_lobe_events b = closed_events(&harmonic, 1, 0.3, 1),
                          a = closed_events(&harmonic, 1, 0.2, 1);
    double origin = a.up + a.down - 105;
    reading[0].value[LEFT] = 2 * b.up - origin;
    reading[1].value[LEFT] = 2 * b.down - origin;
    reading[0].u = reading[1].u = 1e-12;
    happens(100, ""); // a rebuild in between
    take(0, VB_CAM_LASH, "1I", FOUND, 0.2, 0.01)->value[LEFT] = 0.3;
    compute();
    const struct vb_cam_row *r = the("I", VB_AGAINST_LAST);
    ck_assert_uint_eq(r->n_shift, 1);
    near(r->shift.drive, 0, 1e-4);
    ck_assert(!r->has_cause);
}
END_TEST

/* --- too little ---------------------------------------------------------------------- */

START_TEST(a_fellow_of_other_cylinders)
{
    events(0, "1I", LEFT, -12, 225, 0.3);
    events(0, "2E", LEFT, -230, 8, 0.3);
    compute();
    const struct vb_cam_figures *f = &the("I", VB_AGAINST_NOTHING)->fig;
    near(f->centre, 106.5, 1e-12);
    ck_assert(isnan(f->overlap) && isnan(f->separation) && isnan(f->advance));
}
END_TEST

/* An exhaust cam of which nothing is known but its angles. */
START_TEST(a_fellow_without_any_certainty)
{
    events(0, "1I", LEFT, -12, 225, 0.3);
    events(0, "1E", LEFT, -230, 8, INFINITY);
    compute();
    ck_assert(isnan(the("I", VB_AGAINST_NOTHING)->fig.overlap));
    ck_assert(isnan(the("E", VB_AGAINST_NOTHING)->fig.centre));
}
END_TEST

START_TEST(a_fellow_timed_by_lift)
{
    profile("ex", &harmonic, 1e-6);
    strcpy(family.lobe[1], "ex");
    events(0, "1I", LEFT, -12, 225, 0.3);
    take(0, VB_CAM_LIFT_TDC, "1E", LEFT, 0.5, 0.01);
    take(0, VB_CAM_LASH, "1E", LEFT, 0.2, 0.01);
    compute();
    const struct vb_cam_figures *f = &the("I", VB_AGAINST_NOTHING)->fig;
    ck_assert(isnan(f->overlap) && !isnan(f->separation)); // overlap is the profile's
}
END_TEST

START_TEST(another_valve_is_no_comparison)
{
    events(0, "1I", LEFT, -12, 225, 0.2);
    events(1, "2I", FOUND, -12, 225, 0.2);
    compute();
    const struct vb_cam_row *r = the("I", VB_AGAINST_TIMED);
    ck_assert_uint_eq(r->n_shift, 0);
    ck_assert_str_eq(r->hint,
                     "not comparable: other valves, or another checking lift and "
                     "no profile");
    ck_assert_double_eq(vb_cam_rank(r), 0);
}
END_TEST

/* What the profile cannot do under 9 mm of lash is compared as it was read, if the checking
 * lift is the same. */
START_TEST(a_lash_that_the_lobe_does_not_reach)
{
    profile("in", &harmonic, 1e-6);
    strcpy(family.lobe[0], "in");
    events(0, "1I", LEFT, -12, 225, 0.2);
    take(0, VB_CAM_LASH, "1I", LEFT, 0.2, 0.01);
    events(1, "1I", FOUND, -10, 227, 0.2);
    take(1, VB_CAM_LASH, "1I", FOUND, 9, 0.01);
    compute();
    const struct vb_cam_row *r = the("I", VB_AGAINST_TIMED);
    ck_assert(r->n_shift == 1 && r->plain);
    near(r->shift.drive, 2, 1e-12);
    ck_assert_int_eq(told("HC-1 day 110 1I: lobe lift 10 is not reached: 8.5 at most"),
                     1);
    take(1, VB_CAM_CHECKING_LIFT, "1I", FOUND, 1.2, 0.01);
    compute();
    ck_assert_uint_eq(the("I", VB_AGAINST_TIMED)->n_shift, 0);
}
END_TEST

/* Both readings claim to be exact, and neither way of comparing them can be believed. */
START_TEST(two_exact_readings)
{
    for (int known = 0; known < 2; known++) {
        teardown();
        setup();
        for (size_t v = 0; v < 2; v++) {
            int state = v ? FOUND : LEFT;
            events(v, "1I", state, -12, 225, 0);
            take(v, VB_CAM_LASH, "1I", state, 0.2, 0.01);
        }
        if (known) {
            profile("in", &harmonic, 1e-6);
            strcpy(family.lobe[0], "in");
        }
        compute();
        ck_assert_uint_eq(the("I", VB_AGAINST_TIMED)->n_shift, 0);
        ck_assert_uint_ge(list.n_refused, 1);
    }
}
END_TEST

/* The family says when the valve opens and under which lash it does not say. */
START_TEST(a_lobe_of_its_own_and_no_lash_target)
{
    profile("C-2", &harmonic, 1e-6);
    nominal(0, -12, 225);
    fits(50, "I", "C-2", 0);
    events(0, "1I", LEFT, -10, 227, 0.2);
    take(0, VB_CAM_LASH, "1I", LEFT, 0.2, 0.01);
    stop(0, "1", -30, 30, 0.2);
    compute();
    const struct vb_cam_row *r = the("I", VB_AGAINST_NOMINAL);
    ck_assert(r->plain);
    near(r->shift.drive, 2, 1e-12);
    near(r->shift.duration, 0, 1e-12);
}
END_TEST

/* With a profile and no lash beside the angles there is nothing to take out of them. */
START_TEST(a_lobe_and_no_lash)
{
    profile("in", &harmonic, 1e-6);
    strcpy(family.lobe[0], "in");
    family.lash_target[0] = 0.2;
    nominal(0, -12, 225);
    events(0, "1I", LEFT, -10, 227, 0.2);
    compute();
    const struct vb_cam_row *r = the("I", VB_AGAINST_NOMINAL);
    ck_assert(r->plain && r->mix == VB_CAM_OWN);
    near(r->shift.drive, 2, 1e-12);
}
END_TEST

START_TEST(quantities_of_cams)
{
    ck_assert_int_eq(vb_cam_what_find("opens"), VB_CAM_OPENS);
    ck_assert_int_eq(vb_cam_what_find("sprocket_step"), VB_CAM_STEP);
    ck_assert_int_eq(vb_cam_what_find("recess"), VB_CAM_WHATS);
}
END_TEST

/* It stands in the table of lobes by name only: told once, and it is no lobe of its own. */
START_TEST(a_cam_named_as_a_profile_that_is_not_there)
{
    strcpy(family.lobe[0], "gone");
    fits(50, "I", "gone", 0);
    events(0, "1I", LEFT, -12, 225, 0.2);
    events(1, "1I", FOUND, -12, 225, 0.2);
    compute();
    ck_assert_int_eq(
        told("HC-1: lobe 'gone': no profile of this name in the table lobes"), 1);
    ck_assert_uint_eq(list.n_refused, 1);
    ck_assert(the("I", VB_AGAINST_TIMED)->plain);
}
END_TEST

/* A profile of unknown steps is taken as it is. */
START_TEST(a_profile_of_unknown_steps)
{
    double u[2];
    for (int i = 0; i < 2; i++) {
        teardown();
        setup();
        profile("in", &harmonic, i ? NAN : 1e-9);
        strcpy(family.lobe[0], "in");
        for (size_t v = 0; v < 2; v++) {
            int state = v ? FOUND : LEFT;
            events(v, "1I", state, -12, 225, 0.25);
            take(v, VB_CAM_LASH, "1I", state, v ? 0.3 : 0.2, 0.01);
        }
        compute();
        u[i] = the("I", VB_AGAINST_TIMED)->shift.u_lash_phase;
    }
    near(u[1], u[0], 1e-9);
}
END_TEST

/* --- lift at TDC --------------------------------------------------------------------- */

START_TEST(a_lift_that_cannot_be_used)
{
    static const struct {
        double lift, lash, checking_lift;
        int profile;
        const char *why;
    } t[] = {
        {0.5, 0.2, 1, 0, "lift_tdc, and no profile to make degrees of it"},
        {0.5, NAN, 1, 1, "lift_tdc without the lash it was read with"},
        {0.5, 0.2, NAN, 1, "no checking lift stated, at this visit or by the family"},
        {9, 0.2, 1, 1, "lobe lift 9.2 is not reached: 8.5 at most"},
    };
    for (size_t i = 0; i < sizeof t / sizeof *t; i++) {
        char text[200];
        teardown();
        setup();
        profile("in", &harmonic, 1e-6);
        if (t[i].profile)
            strcpy(family.lobe[0], "in");
        family.checking_lift[0] = t[i].checking_lift;
        take(0, VB_CAM_LIFT_TDC, "1I", LEFT, t[i].lift, 0.01);
        strcpy(reading[0].from, "sheet 3, line 2");
        take(0, VB_CAM_LASH, "1I", LEFT, t[i].lash, 0.01);
        compute();
        snprintf(text, sizeof text, "HC-1 day 100 1I as left: %s (sheet 3, line 2)",
                 t[i].why);
        ck_assert_msg(told(text) == 1 && list.n == 0, "%s", text);
    }
}
END_TEST

/* Degrees that no valve is open for are no timing, whatever they were made from. */
START_TEST(a_profile_out_of_reason)
{
    profile("in", &needle, 1e-6);
    strcpy(family.lobe[0], "in");
    take(0, VB_CAM_LIFT_TDC, "1I", LEFT, 0.5, 0.01);
    take(0, VB_CAM_LASH, "1I", LEFT, 0.2, 0.01);
    events(0, "1E", LEFT, -230, 8, 0.3);
    compute();
    ck_assert_ptr_null(row("I", VB_AGAINST_NOTHING));
    ck_assert_uint_eq(list.n_refused, 1);
    ck_assert_ptr_nonnull(
        strstr(list.refused[0].text, "HC-1 day 100 1I as left: opens at"));
    near(the("E", VB_AGAINST_NOTHING)->fig.centre, -111, 1e-12);
}
END_TEST

/* A lift says nothing more where that cam was timed by events at that visit, so left; one as
 * found, of the other bank or of the other side does. */
START_TEST(lifts_beside_events)
{
    static const struct {
        int events_state;
        const char *events, *lift;
        int state;
        size_t rows;
    } t[] = {{LEFT, "1I", "2I", LEFT, 1},
             {LEFT, "1I", "2I", FOUND, 2},
             {FOUND, "1I", "2I", LEFT, 2},
             {LEFT, "1I", "3I", LEFT, 2},
             {LEFT, "1I", "1E", LEFT, 2}};
    for (size_t i = 0; i < sizeof t / sizeof *t; i++) {
        teardown();
        setup();
        wish.all = 1;
        wish.each_valve = 1;
        ck_assert_int_eq(vb_banks_parse("A:1-2 B:3", &family.banks), VB_OK);
        profile("in", &harmonic, 1e-6);
        strcpy(family.lobe[0], "in");
        strcpy(family.lobe[1], "in");
        happens(100, ""); // found and left belong to two builds
        events(0, t[i].events, t[i].events_state, -12, 225, 0.2);
        take(0, VB_CAM_LIFT_TDC, t[i].lift, t[i].state, 0.5, 0.01);
        take(0, VB_CAM_LASH, t[i].lift, t[i].state, 0.2, 0.01);
        compute();
        size_t timed = 0;
        for (size_t k = 0; k < list.n; k++)
            timed += list.row[k].against == VB_AGAINST_NOTHING ||
                     list.row[k].against == VB_AGAINST_LAST;
        ck_assert_msg(timed == t[i].rows, "%s: %zu rows", t[i].lift, timed);
    }
}
END_TEST

/* The exhaust cam has a profile out of reason: nobody takes it for a candidate, and the
 * inlet cam is judged all the same. */
START_TEST(a_candidate_out_of_reason)
{
    profile("C-9", &needle, 1e-6);
    nominal(0, -12, 225);
    nominal(1, -225, 12);
    family.lash_target[0] = family.lash_target[1] = 0.2;
    family.timing_tolerance = 2;
    fits(50, "E", "C-9", 0);
    events(0, "1I", LEFT, -12, 225, 0.2);
    compute();
    const struct vb_cam_row *r = the("I", VB_AGAINST_NOMINAL);
    ck_assert(r->n_shift == 1 && r->mix == VB_CAM_OWN && !r->alarm);
}
END_TEST

/* --- builds and order ---------------------------------------------------------------- */

START_TEST(an_event_of_one_side)
{
    for (size_t v = 0; v < 2; v++) {
        events(v, "1I", v ? FOUND : LEFT, -12, 225, 0.2);
        events(v, "1E", v ? FOUND : LEFT, -230, 8, 0.2);
    }
    happens(105, "")->at.side = 'E';
    compute();
    ck_assert_ptr_nonnull(row("I", VB_AGAINST_TIMED));
    ck_assert_ptr_null(row("I", VB_AGAINST_LAST));
    ck_assert_ptr_nonnull(row("E", VB_AGAINST_LAST));
    ck_assert_ptr_null(row("E", VB_AGAINST_TIMED));
}
END_TEST

START_TEST(a_build_of_one_bank)
{
    ck_assert_int_eq(vb_banks_parse("A:1 B:2", &family.banks), VB_OK);
    events(1, "1I", LEFT, -12, 225, 0.2);
    events(1, "2I", LEFT, -12, 225, 0.2);
    strcpy(happens(105, "A")->build, "B2");
    compute();
    ck_assert_str_eq(the("AI", VB_AGAINST_NOTHING)->build, "B2");
    ck_assert_str_eq(the("BI", VB_AGAINST_NOTHING)->build, "");
}
END_TEST

/* Of one day the event that names the place most closely, in whatever order they come. */
START_TEST(the_closer_word_may_come_later)
{
    ck_assert_int_eq(vb_banks_parse("A:1 B:2", &family.banks), VB_OK);
    events(0, "1I", LEFT, -12, 225, 0.2);
    events(1, "1I", LEFT, -12, 225, 0.2);
    fits(105, "A", "C-2", -1);
    fits(105, "AI", "C-1", -1);
    compute();
    ck_assert_str_eq(the("AI", VB_AGAINST_LAST)->hint,
                     "another cam: C-1, before not named");
}
END_TEST

START_TEST(three_banks_in_order)
{
    ck_assert_int_eq(vb_banks_parse("A:1 B:2 C:3", &family.banks), VB_OK);
    nominal(0, -12, 225);
    events(0, "1I", LEFT, -12, 225, 0.2);
    events(0, "2I", LEFT, -12, 225, 0.2);
    events(0, "3I", LEFT, -12, 225, 0.2);
    compute();
    const char *want[] = {"A bank B", "A bank C", "B bank C"};
    size_t n = 0;
    for (size_t i = 0; i < list.n; i++)
        if (list.row[i].against == VB_AGAINST_BANK) {
            char text[64];
            snprintf(text, sizeof text, "%c %s", list.row[i].cam.bank,
                     list.row[i].reference);
            ck_assert_uint_lt(n, 3);
            ck_assert_str_eq(text, want[n++]);
        }
    ck_assert_uint_eq(n, 3);
}
END_TEST

START_TEST(a_mark_read_twice)
{
    wish.all = 1;
    take(0, VB_CAM_STEP, "I", FOUND, 3, 0.5);
    take(1, VB_CAM_STEP, "I", FOUND, 2, 0.5);
    take(1, VB_CAM_STEP, "right rear", FOUND, 2, 0.5);
    take(1, VB_CAM_STEP, "left rear", FOUND, 2, 0.5);
    compute();
    ck_assert_uint_eq(list.n, 4);
    ck_assert_str_eq(list.row[0].date, "day 100");
    ck_assert_str_eq(list.row[1].date, "day 110");
    ck_assert_str_eq(list.row[2].at, "left rear");
    ck_assert_str_eq(list.row[3].at, "right rear");
}
END_TEST

/* --- words --------------------------------------------------------------------------- */

/* Names of 63 bytes leave no room for all that is to be said: what is said is cut. */
START_TEST(a_hint_is_cut)
{
    char a[VB_LOBE_NAME], b[VB_LOBE_NAME];
    memset(a, 'a', sizeof a);
    memset(b, 'b', sizeof b);
    a[sizeof a - 1] = b[sizeof b - 1] = 0;
    family.crank_teeth = 36; // 10 degrees
    fits(50, "I", a, 0);
    fits(105, "I", b, 0);
    profile("in", &harmonic, 1e-6);
    strcpy(family.lobe[0], "in");
    for (size_t v = 0; v < 2; v++) {
        stop(v, "1", -30, 30, 0.2);
        for (int cyl = 1; cyl <= 4; cyl++) {
            char at[16];
            double late = v ? 10 + 6.0 * (cyl == 3) : 0;
            snprintf(at, sizeof at, "%dI", cyl);
            events(v, at, LEFT, -12 + late, 230 + late - 20 * (double)v, 0.2);
            take(v, VB_CAM_LASH, at, LEFT, 0.2, 0.01);
        }
    }
    happens(120, "I");
    compute();
    const struct vb_cam_row *r = the("I", VB_AGAINST_LAST);
    ck_assert_uint_eq(strlen(r->hint), sizeof r->hint - 1);
    ck_assert_int_eq(strncmp(r->hint, "another cam: bbb", 16), 0);
    ck_assert_ptr_nonnull(strstr(r->hint, "aaa; "));
}
END_TEST

/* It has moved since the last build, and half of its nominal events are stated: that is
 * nothing to hold it against. */
START_TEST(half_of_nominal_is_none)
{
    events(0, "1I", LEFT, -12, 225, 0.2);
    events(1, "1I", LEFT, -4, 233, 0.2);
    happens(105, "");
    nominal(0, -12, NAN);
    compute();
    ck_assert(the("I", VB_AGAINST_LAST)->alarm);
    nominal(0, -4, 233);
    compute();
    ck_assert(!the("I", VB_AGAINST_LAST)->alarm);
}
END_TEST

/* From what cannot be explained to what is no more than seen. */
START_TEST(what_is_suspected_most_comes_first)
{
    struct vb_cam_row r[9];
    for (int i = 0; i < 9; i++)
        r[i] = (struct vb_cam_row){.n_shift = 1, .shift = {.drive = 3, .u_drive = 1}};
    r[0].mix = VB_CAM_SIDES;
    r[1].cause.cause = VB_CAUSE_TEETH;
    r[2].cause.cause = VB_CAUSE_SLIP;
    r[3].cause.cause = VB_CAUSE_UNSURE;
    r[1].has_cause = r[2].has_cause = r[3].has_cause = 1;
    r[4].has_verdict = r[5].has_verdict = 1;
    r[4].verdict.verdict = VB_VERDICT_OUT;
    r[5].verdict.verdict = VB_VERDICT_IN;
    r[5].alarm = 1;
    r[6].shift.beyond = 1;
    r[8].n_shift = 0;
    r[8].mix = VB_CAM_STRANGER;
    const double want[] = {6.003, 5.003, 4.003, 4.003, 3.003, 2.003, 1.003, 0.003, 6};
    for (int i = 0; i < 9; i++)
        near(vb_cam_rank(&r[i]), want[i], 1e-12);
}
END_TEST

static Suite *
odd_suite(void)
{
    Suite *s = suite_create("cams_odd");
    TCase *t = tcase_create("reading");
    tcase_add_checked_fixture(t, setup, teardown);
    tcase_add_test(t, more_valves_than_a_cam_is_pooled_over);
    tcase_add_test(t, uncertainties_too_unlike);
    tcase_add_test(t, an_angle_that_claims_to_be_exact);
    tcase_add_test(t, a_fellow_of_other_cylinders);
    tcase_add_test(t, a_fellow_without_any_certainty);
    tcase_add_test(t, a_fellow_timed_by_lift);
    tcase_add_test(t, another_valve_is_no_comparison);
    tcase_add_test(t, a_lash_that_the_lobe_does_not_reach);
    tcase_add_test(t, two_exact_readings);
    tcase_add_test(t, a_lobe_of_its_own_and_no_lash_target);
    tcase_add_test(t, a_cam_named_as_a_profile_that_is_not_there);
    tcase_add_test(t, a_lobe_and_no_lash);
    tcase_add_test(t, quantities_of_cams);
    tcase_add_test(t, a_profile_of_unknown_steps);
    tcase_add_test(t, a_lift_that_cannot_be_used);
    tcase_add_test(t, a_profile_out_of_reason);
    tcase_add_test(t, lifts_beside_events);
    tcase_add_test(t, a_candidate_out_of_reason);
    suite_add_tcase(s, t);

    t = tcase_create("words");
    tcase_add_checked_fixture(t, setup, teardown);
    tcase_add_test(t, an_event_of_one_side);
    tcase_add_test(t, a_build_of_one_bank);
    tcase_add_test(t, the_closer_word_may_come_later);
    tcase_add_test(t, three_banks_in_order);
    tcase_add_test(t, a_mark_read_twice);
    tcase_add_test(t, a_hint_is_cut);
    tcase_add_test(t, half_of_nominal_is_none);
    tcase_add_test(t, what_is_suspected_most_comes_first);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(odd_suite());
}
