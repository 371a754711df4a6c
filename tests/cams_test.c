/*
 * From readings to rows of cams: which TDC, checking lift, lash, build and cam a reading
 * belongs to, and what follows. Expected values by hand; profiles are exact harmonic cams
 * (closed_cams.h) in steps of 0.1 degrees.
 */
#include "cam_engine.h"
#include "suite.h"

/* --- top dead centre ---------------------------------------------------------------- */

START_TEST(tdc_is_taken_out_of_both_angles)
{
    events(0, "1I", LEFT, -11, 226, 0.5);
    stop(0, "1", -31, 33, 0.5); // the wheel shows 1 at TDC
    compute();
    const struct vb_cam_row *r = the("I", VB_AGAINST_NOTHING);
    near(r->fig.centre, 106.5, 1e-12);
    near(r->fig.duration, 237, 1e-12);
    // 0.5^2 / 2 of the angles and 0.5^2 / 2 of the stop
    near(r->fig.u_centre, 0.5, 1e-12);
}
END_TEST

START_TEST(without_its_own_stop_the_lowest_cylinder_counts)
{
    events(0, "3I", LEFT, -12, 225, 0.5);
    stop(0, "4", -28, 32, 0.5); // 2
    stop(0, "2", -29, 31, 0.5); // 1
    stop(0, "5", -27, 33, 0.5); // 3
    compute();
    near(the("I", VB_AGAINST_NOTHING)->fig.centre, 105.5, 1e-12);
    reading[2].at.cyl = reading[3].at.cyl = 3; // its own
    compute();
    near(the("I", VB_AGAINST_NOTHING)->fig.centre, 104.5, 1e-12);
}
END_TEST

START_TEST(one_stop_is_one_error_and_two_are_two)
{
    events(0, "1I", FOUND, -12, 225, 0.2);
    events(0, "2I", FOUND, -12, 225, 0.2);
    stop(0, "1", -30, 30, 0.5);
    compute();
    // angles 0.02 / 2, TDC 0.125 in common
    near(the("I", VB_AGAINST_NOTHING)->fig.u_centre, sqrt(0.01 + 0.125), 1e-12);
    stop(0, "2", -30, 30, 0.5);
    compute();
    near(the("I", VB_AGAINST_NOTHING)->fig.u_centre, sqrt(0.01 + 0.0625), 1e-12);
}
END_TEST

START_TEST(found_and_left_of_a_visit_share_their_tdc)
{
    events(0, "1I", FOUND, -12, 225, 0.2);
    reading[0].value[LEFT] = -10;
    reading[1].value[LEFT] = 227;
    happens(100, ""); // a rebuild in between
    compute();
    const struct vb_cam_row *r = the("I", VB_AGAINST_LAST);
    near(r->shift.phase, 2, 1e-12);
    near(r->shift.u_phase, 0.2, 1e-12); // both angles, both states: sqrt(0.04 / 2 * 2)
}
END_TEST

/* --- checking lift and lash --------------------------------------------------------- */

START_TEST(what_is_stated_of_fewest_valves_counts)
{
    profile("in", &harmonic, 1e-6);
    strcpy(family.lobe[0], "in");
    exact(0, "2I1", LEFT, &harmonic, 0.2, 1, 105);
    take(0, VB_CAM_LASH, "2I1", LEFT, 0.2, NAN);
    take(0, VB_CAM_CHECKING_LIFT, "", FOUND, 1.4, NAN);
    take(0, VB_CAM_CHECKING_LIFT, "2", FOUND, 1.3, NAN);
    take(0, VB_CAM_CHECKING_LIFT, "2I", FOUND, 1.0, NAN);
    take(0, VB_CAM_CHECKING_LIFT, "E", FOUND, 1.2, NAN);
    family.lash_target[0] = 0.2;
    exact(1, "2I1", LEFT, &harmonic, 0.2, 1, 105); // to have its nominal events
    family.opens[0] = reading[7].value[LEFT];
    family.closes[0] = reading[8].value[LEFT];
    engine.n_readings = 7;
    compute();
    near(the("I", VB_AGAINST_NOMINAL)->shift.duration, 0, 1e-9);
    near(the("I", VB_AGAINST_NOMINAL)->shift.rest, 0, 1e-9);
}
END_TEST

START_TEST(a_lash_that_was_not_set_holds_on)
{
    profile("in", &harmonic, 1e-6);
    strcpy(family.lobe[0], "in");
    exact(0, "1I", LEFT, &harmonic, 0.2, 1, 105);
    take(0, VB_CAM_LASH, "1I", FOUND, 0.2, 0.01);
    exact(1, "1I", FOUND, &harmonic, 0.3, 1, 105);
    take(1, VB_CAM_LASH, "1I", FOUND, 0.3, 0.01);
    compute();
    const struct vb_cam_row *r = the("I", VB_AGAINST_TIMED);
    ck_assert_int_eq(r->plain, 0);
    near(r->shift.drive, 0, 1e-4);
    reading[2].value[LEFT] = 0.25; // set after all
    compute();
    struct vb_lobe_events a = closed_events(&harmonic, 1, 0.25, 1),
                          b = closed_events(&harmonic, 1, 0.3, 1);
    near(the("I", VB_AGAINST_TIMED)->shift.lash_phase, b.up + b.down - a.up - a.down,
         1e-6);
    // as found nothing was left: that lash is not known
    reading[5].value[FOUND] = NAN;
    reading[5].value[LEFT] = 0.3;
    compute();
    ck_assert_int_eq(the("I", VB_AGAINST_TIMED)->plain, 1);
}
END_TEST

/* u of the lash part: lash and checking lift in squares on both flanks, once for each. */
START_TEST(lash_at_the_lobe_is_brought_to_the_tip)
{
    profile("in", &harmonic, 1e-6);
    strcpy(family.lobe[0], "in");
    family.read_at_lobe[0] = 1;
    family.ratio[0] = 1.5;
    events(0, "1I", LEFT, -12, 225, 0.25);
    take(0, VB_CAM_LASH, "1I", LEFT, 0.2, 0.02); // 0.3, 0.03 at the tip
    events(1, "1I", FOUND, -12, 225, 0.25);
    take(1, VB_CAM_LASH, "1I", FOUND, 0.3, 0.02); // 0.45
    compute();
    const struct vb_cam_row *r = the("I", VB_AGAINST_TIMED);
    struct vb_lobe_events a = closed_events(&harmonic, 1.5, 0.3, 1),
                          b = closed_events(&harmonic, 1.5, 0.45, 1);
    near(r->shift.lash_phase, b.up + b.down - a.up - a.down, 1e-5);
    // slopes of the exact cam by a small step, mm a crank degree
    double d = 1e-6, u2 = 0.03 * 0.03 + VB_U_REFERENCE * VB_U_REFERENCE, sum = 0;
    for (int i = 0; i < 2; i++) {
        double g = i ? 0.45 : 0.3;
        struct vb_lobe_events e = closed_events(&harmonic, 1.5, g, 1),
                              f = closed_events(&harmonic, 1.5, g + d, 1);
        double both =
            (f.up - e.up + f.down - e.down) / d; // (1/s_up + 1/s_down) / 2 x 2 / 2
        sum += both * both * u2;
    }
    near(r->shift.u_lash_phase, sqrt(sum), 1e-4);
}
END_TEST

START_TEST(the_step_of_a_profile_is_an_uncertainty)
{
    double u[2];
    for (int i = 0; i < 2; i++) {
        teardown();
        setup();
        profile("in", &harmonic, i ? 0.1 : 1e-6);
        strcpy(family.lobe[0], "in");
        events(0, "1I", LEFT, -12, 225, 0.25);
        take(0, VB_CAM_LASH, "1I", LEFT, 0.2, 0.01);
        events(1, "1I", FOUND, -12, 225, 0.25);
        take(1, VB_CAM_LASH, "1I", FOUND, 0.3, 0.01);
        compute();
        u[i] = the("I", VB_AGAINST_TIMED)->shift.u_lash_phase;
    }
    ck_assert_double_gt(u[1], u[0] + 0.1); // 0.1 / sqrt(12) mm over about 0.1 mm a degree
}
END_TEST

START_TEST(u_of_both_angles_counts)
{
    take(0, VB_CAM_OPENS, "1I", LEFT, -12, 0.3);
    take(0, VB_CAM_CLOSES, "1I", LEFT, 225, 0.4);
    compute();
    near(the("I", VB_AGAINST_NOTHING)->fig.u_duration, 0.5, 1e-12); // 0.3, 0.4, 0.5
}
END_TEST

/* --- figures ------------------------------------------------------------------------ */

START_TEST(overlap_is_the_mean_of_cylinders)
{
    // overlaps 20 and 10, separations 105 and 100
    events(0, "1I1", LEFT, -12, 228, 0.3);
    events(0, "1I2", LEFT, -8, 232, 0.3);
    events(0, "1E", LEFT, -220, 10, 0.4);
    events(0, "2I1", LEFT, -8, 208, 0.3);
    events(0, "2I2", LEFT, -8, 208, 0.3);
    events(0, "2E", LEFT, -202, 2, 0.4);
    events(0, "3E", LEFT, -240, -20, 0.4); // its inlets were not read
    stop(0, "1", -30, 30, 0.6);
    compute();
    const struct vb_cam_figures *f = &the("I", VB_AGAINST_NOTHING)->fig;
    near(f->overlap, 15, 1e-12);
    near(f->separation, (107.5 + 100) / 2, 1e-12);
    near(f->advance, ((107.5 - 110) + 0) / 2, 1e-12);
    // of a cylinder: inlets 0.3^2 / 2 = 0.045, exhaust 0.16
    near(f->u_overlap, sqrt(0.205 / 2), 1e-12);
    near(f->u_separation, sqrt((0.045 + 0.16) / 8 / 2), 1e-12);
    near(f->u_advance, sqrt((0.045 + 0.16) / 8 / 2 + 0.18), 1e-12);
    near(the("E", VB_AGAINST_NOTHING)->fig.overlap, 15, 1e-12);
    stop(0, "2", -30, 30, 0.6); // two determinations: half the variance
    compute();
    near(the("I", VB_AGAINST_NOTHING)->fig.u_advance, sqrt(0.205 / 16 + 0.09), 1e-12);
}
END_TEST

START_TEST(found_goes_with_found_and_left_with_left)
{
    events(0, "1I", FOUND, -12, 225, 0.3);
    reading[0].value[LEFT] = -10;
    reading[1].value[LEFT] = 227;
    events(0, "1E", FOUND, -230, 8, 0.3);
    compute();
    ck_assert(isnan(the("I", VB_AGAINST_NOTHING)->fig.overlap));
    near(the("E", VB_AGAINST_NOTHING)->fig.overlap, 20, 1e-12);
}
END_TEST

/* --- lift at TDC -------------------------------------------------------------------- */

/* Lift of the harmonic cam under a lash at overlap TDC, its centre standing at 100. */
static double
lift_at_tdc(double lash)
{
    struct vb_lobe_events a = closed_events(&harmonic, 1, 0.2, 1);
    return closed_lift(&harmonic, (a.up + a.down - 100) / 2) - lash;
}

START_TEST(a_lift_times_a_cam)
{
    profile("in", &harmonic, 1e-6);
    strcpy(family.lobe[0], "in");
    take(0, VB_CAM_LIFT_TDC, "1I", LEFT, lift_at_tdc(0.2), 0.01);
    take(0, VB_CAM_LASH, "1I", LEFT, 0.2, 0.01);
    stop(0, "1", -30, 30, 0.5);
    take(1, VB_CAM_LIFT_TDC, "1I", FOUND, lift_at_tdc(0.2) + 0.03, 0.01);
    take(1, VB_CAM_LASH, "1I", FOUND, 0.2, 0.01);
    stop(1, "1", -30, 30, 0.5);
    compute();
    const struct vb_cam_row *r = the("I", VB_AGAINST_TIMED);
    struct vb_lobe_events a = closed_events(&harmonic, 1, 0.2, 1);
    double t = (a.up + a.down - 100) / 2, d = 1e-6;
    double slope = (closed_lift(&harmonic, t + d) - closed_lift(&harmonic, t)) / d / 2;
    near(r->shift.drive, -0.03 / slope, 0.01);
    // a lift is known to the dial and the lash; twice, and two TDCs of 0.125; the slope
    // changes by a few per cent on the way
    near(r->shift.u_drive, sqrt(2 * 2e-4 / slope / slope + 0.25), 0.01);
    ck_assert_int_eq(r->by_lift, 1);
    ck_assert(isnan(r->fig.duration) && isnan(r->fig.overlap));
}
END_TEST

START_TEST(events_and_lift_are_compared_by_phase_alone)
{
    profile("in", &harmonic, 1e-6);
    strcpy(family.lobe[0], "in");
    take(0, VB_CAM_LIFT_TDC, "1I", LEFT, lift_at_tdc(0.2), 0.01);
    take(0, VB_CAM_LASH, "1I", LEFT, 0.2, 0.01);
    exact(1, "1I", FOUND, &harmonic, 0.2, 1, 103);
    take(1, VB_CAM_LASH, "1I", FOUND, 0.2, 0.01);
    compute();
    const struct vb_cam_row *r = the("I", VB_AGAINST_TIMED);
    near(r->shift.drive, 3, 0.001);
    ck_assert_int_eq(r->by_lift, 1);
    ck_assert(!isnan(r->fig.duration));
    take(0, VB_CAM_LIFT_TDC, "1E", LEFT, 0.5, 0.01); // overlap of lifts is the profile's
    take(0, VB_CAM_LASH, "1E", LEFT, 0.2, 0.01);
    struct vb_cam_reading r5 = reading[5], r6 = reading[6];
    for (size_t i = 6; i > 3; i--)
        reading[i] = reading[i - 2]; // readings come in order of visit
    reading[2] = r5;
    reading[3] = r6;
    strcpy(family.lobe[1], "in");
    compute();
    const struct vb_cam_row *e = the("E", VB_AGAINST_NOTHING);
    ck_assert(isnan(e->fig.overlap) && !isnan(e->fig.separation));
}
END_TEST

/* --- builds and which cam ----------------------------------------------------------- */

static void
two_banks(void)
{
    ck_assert_int_eq(vb_banks_parse("A:1 B:2", &family.banks), VB_OK);
    for (size_t v = 0; v < 3; v++) {
        events(v, "1I", LEFT, -12 + 2.0 * (double)v, 225 + 2.0 * (double)v, 0.2);
        events(v, "2I", LEFT, -12 + 2.0 * (double)v, 225 + 2.0 * (double)v, 0.2);
    }
}

START_TEST(an_event_places_the_cams_it_names)
{
    static const struct {
        const char *at;
        int cyl;
        const char *a,
            *b; // dates of what is before the newest build; NULL: no such build
    } of[] = {{"", 0, "day 110", "day 110"}, {"A", 0, "day 110", NULL},
              {"BI", 0, NULL, "day 110"},    {"E", 0, NULL, NULL},
              {"", 2, NULL, "day 110"},      {"I", 0, "day 110", "day 110"}};
    for (size_t i = 0; i < sizeof of / sizeof *of; i++) {
        teardown();
        setup();
        two_banks();
        happens(115, of[i].at)->at.cyl = of[i].cyl;
        happens(115.4, of[i].at)->at.cyl = of[i].cyl; // the same day: once
        compute();
        const struct vb_cam_row *a = row("AI", VB_AGAINST_LAST);
        const struct vb_cam_row *b = row("BI", VB_AGAINST_LAST);
        ck_assert_msg(!a == !of[i].a && !b == !of[i].b, "'%s' %d", of[i].at, of[i].cyl);
        if (a) {
            ck_assert_str_eq(a->reference_date, of[i].a);
            ck_assert_str_eq(a->since, "day 115");
            ck_assert_int_eq(a->number, 1);
            near(a->shift.phase, 2, 1e-12);
        }
    }
}
END_TEST

START_TEST(builds_are_told_apart)
{
    wish.all = 1;
    two_banks();
    strcpy(happens(105, "")->build, "B1");
    happens(115, "A"); // a chain: still build B1
    compute();
    ck_assert_uint_eq(list.n, 6); // AI: 3 builds; BI: 2, one of them timed twice
    const char *const build[] = {"", "B1", "B1", "", "B1"};
    size_t k = 0;
    for (size_t i = 0; i < list.n; i++)
        if (list.row[i].against == VB_AGAINST_LAST || list.row[i].number == 0)
            ck_assert_str_eq(list.row[i].build, build[k++]);
    ck_assert_uint_eq(k, 5);
    for (size_t i = 0; i < list.n; i++)
        ck_assert_str_eq(list.row[i].hint[0] == 'p' ? "placed anew" : "", "");
}
END_TEST

START_TEST(the_newest_and_closest_word_on_a_cam_counts)
{
    ck_assert_int_eq(vb_banks_parse("A:1 B:2", &family.banks), VB_OK);
    events(0, "1I", LEFT, -12, 225, 0.2);
    fits(90, "AI", "C-1", -1);
    fits(90, "A", "C-2", -1); // of one day the closer one
    fits(90, "", "C-3", 1);   // faces: nobody else says
    events(1, "1I", LEFT, -12, 225, 0.2);
    fits(105, "", "C-4", -1); // a later one counts, however wide
    compute();
    ck_assert_str_eq(the("AI", VB_AGAINST_LAST)->hint, "another cam: C-4, before C-1");
    // "reversed" holds on: both ways of a flawed profile are tried, and told once
    struct vb_lobe_point dent = {0, 1};
    vb_profiles_add(&profiles, "bad", dent, 0.01);
    strcpy(family.lobe[0], "bad");
    compute();
    ck_assert_uint_eq(list.n_refused, 1);
    ck_assert(profiles.profile[0].tried[1] && !profiles.profile[0].tried[0]);
    fits(106, "AI", "", 0);
    compute();
    ck_assert(profiles.profile[0].tried[0]);
    ck_assert_uint_eq(list.n_refused, 0);
}
END_TEST

START_TEST(unlike_lobes_are_not_split)
{
    static const struct closed_cam other = {HARMONIC, 8.5, 66, 0, 60};
    profile("in", &harmonic, 1e-6);
    profile("C-2", &other, 1e-6);
    strcpy(family.lobe[0], "in");
    exact(0, "1I", LEFT, &harmonic, 0.2, 1, 105);
    take(0, VB_CAM_LASH, "1I", LEFT, 0.2, 0.01);
    exact(1, "1I", LEFT, &other, 0.3, 1, 105);
    take(1, VB_CAM_LASH, "1I", LEFT, 0.3, 0.01);
    fits(105, "I", "C-2", -1);
    compute();
    ck_assert_int_eq(the("I", VB_AGAINST_LAST)->plain, 1);
}
END_TEST

/* --- what is thought of it ---------------------------------------------------------- */

START_TEST(a_cam_of_the_same_duration_is_no_exchange)
{
    nominal(0, -12, 225);
    nominal(1, -228, 9); // 237 degrees too
    family.timing_tolerance = 2;
    events(0, "1I", LEFT, -20, 217, 0.2); // 8 early
    compute();
    const struct vb_cam_row *r = the("I", VB_AGAINST_NOMINAL);
    ck_assert_int_eq(r->mix, VB_CAM_OWN);
    ck_assert_str_eq(r->hint, "early by no whole tooth: look at key and sprocket");
}
END_TEST

/* Its own duration is 2.5 s off, which alone would pass; its place, 6 s off, does not. */
START_TEST(its_place_speaks_against_a_cam_too)
{
    nominal(0, -12, 225);
    nominal(1, -229.3, 10.3); // 239.6
    family.timing_tolerance = 2;
    events(0, "1I", LEFT, -19.3, 220.3, 0.2); // 239.6, 6 early
    stop(0, "1", -30, 30, 0.2);
    compute();
    ck_assert_int_eq(the("I", VB_AGAINST_NOMINAL)->mix, VB_CAM_SIDES);
    ck_assert_str_eq(the("I", VB_AGAINST_NOMINAL)->other, "E");
}
END_TEST

START_TEST(without_a_profile_a_duration_is_lash)
{
    nominal(0, -12, 225);
    nominal(1, -245, 15); // 260 degrees
    family.timing_tolerance = 2;
    events(0, "1I", LEFT, -6, 219, 0.2); // 225
    stop(0, "1", -30, 30, 0.2);
    compute();
    const struct vb_cam_row *r = the("I", VB_AGAINST_NOMINAL);
    ck_assert_str_eq(
        r->hint, "duration -12.0 deg: lash, most likely (no profile, or lash not read)");
    ck_assert(r->mix == VB_CAM_OWN && !r->alarm);
}
END_TEST

/* The same with a lash that was read, and is the nominal one: 0.01 mm off at most 4 degrees. Of
 * two valves one of which has no lash nobody knows. */
START_TEST(a_lash_that_is_right_is_not_blamed)
{
    nominal(0, -12, 225);
    family.lash_target[0] = 0.2;
    family.timing_tolerance = 2;
    events(0, "1I", LEFT, -6, 219, 0.2);
    take(0, VB_CAM_LASH, "1I", LEFT, 0.2, 0.01);
    stop(0, "1", -30, 30, 0.2);
    compute();
    ck_assert_str_eq(the("I", VB_AGAINST_NOMINAL)->hint,
                     "open shorter than lash explains: lobe or follower worn, checking "
                     "lift (-12.0 deg)");
    vb_cam_list_clear(&list);
    events(0, "2I", LEFT, -6, 219, 0.2);
    compute();
    ck_assert_str_eq(
        the("I", VB_AGAINST_NOMINAL)->hint,
        "duration -12.0 deg: lash, most likely (no profile, or lash not read)");
}
END_TEST

/* 0.02 degrees at either end, read to 0.005: small, but not nothing. */
START_TEST(a_duration_that_is_off_by_little)
{
    nominal(0, -12, 225);
    family.timing_tolerance = 2;
    events(0, "1I", LEFT, -11.98, 224.98, 0.005);
    stop(0, "1", -30, 30, 0.2);
    compute();
    ck_assert_str_eq(
        the("I", VB_AGAINST_NOMINAL)->hint,
        "duration -0.040 deg: lash, most likely (no profile, or lash not read)");
}
END_TEST

START_TEST(with_one_what_lash_does_not_explain_is_said)
{
    profile("in", &harmonic, 1e-6);
    strcpy(family.lobe[0], "in");
    exact(0, "1I", LEFT, &harmonic, 0.2, 1, 105);
    take(0, VB_CAM_LASH, "1I", LEFT, 0.2, 0.01);
    exact(1, "1I", FOUND, &harmonic, 0.3, 1, 105);
    take(1, VB_CAM_LASH, "1I", FOUND, 0.3, 0.01);
    reading[4].value[FOUND] -= 3; // closes 3 early: phase -1.5 too, within TDC's error
    compute();
    ck_assert_str_eq(
        the("I", VB_AGAINST_TIMED)->hint,
        "open shorter than lash explains: lobe or follower worn, checking lift"
        " (-3.0 deg)");
}
END_TEST

START_TEST(a_duration_may_be_off_by_what_is_stated_or_usual)
{
    profile("in", &harmonic, 1e-6);
    strcpy(family.lobe[0], "in");
    family.lash_target[0] = 0.2;
    struct vb_lobe_events e = closed_events(&harmonic, 1, 0.2, 1);
    nominal(0, 2 * e.up, 2 * e.down);
    events(0, "1I", LEFT, 2 * e.up - 2, 2 * e.down + 2, 0.2); // 4 longer
    take(0, VB_CAM_LASH, "1I", LEFT, 0.2, 0.01);
    stop(0, "1", -30, 30, 0.2);
    compute(); // 5 degrees where nothing is stated
    ck_assert_int_eq(the("I", VB_AGAINST_NOMINAL)->mix, VB_CAM_OWN);
    family.timing_tolerance = 1;
    compute();
    ck_assert_int_eq(the("I", VB_AGAINST_NOMINAL)->mix, VB_CAM_STRANGER);
    ck_assert(the("I", VB_AGAINST_NOMINAL)->alarm);
}
END_TEST

START_TEST(a_tooth_may_be_one_of_the_cam)
{
    nominal(0, -12, 225);
    family.cam_teeth = 60; // 12 degrees
    events(0, "1I", LEFT, 0, 237, 0.2);
    stop(0, "1", -30, 30, 0.2);
    compute();
    ck_assert_str_eq(the("I", VB_AGAINST_NOMINAL)->hint, "one tooth retarded at the cam");
}
END_TEST

START_TEST(the_odd_valve_is_named)
{
    nominal(0, -12, 225);
    events(0, "1I", LEFT, -12, 225, 0.2);
    events(0, "2I", LEFT, -12, 225, 0.2);
    events(0, "3I", LEFT, -8, 229, 0.2);
    events(0, "4I", LEFT, -12, 225, 0.2);
    compute();
    const struct vb_cam_row *r = the("I", VB_AGAINST_NOMINAL);
    ck_assert_str_eq(r->odd, "3I");
    ck_assert_ptr_nonnull(strstr(r->hint, "3I contradicts the others"));
}
END_TEST

START_TEST(what_alarms)
{
    nominal(0, -12, 225);
    events(0, "1I", LEFT, -9, 228, 0.2); // 3 late, u of TDC 1: 3 > 2
    compute();
    ck_assert(the("I", VB_AGAINST_NOMINAL)->alarm); // no tolerance is stated
    family.timing_tolerance = 3.5;
    compute();
    ck_assert(!the("I", VB_AGAINST_NOMINAL)->alarm);
    family.timing_tolerance = 2.5;
    compute();
    ck_assert(the("I", VB_AGAINST_NOMINAL)->alarm);
    // a rebuild that moves the cam on purpose is none, as long as nominal says where to
    events(1, "1I", LEFT, -12, 225, 0.2);
    happens(105, "");
    compute();
    ck_assert(!the("I", VB_AGAINST_NOMINAL)->alarm && !the("I", VB_AGAINST_LAST)->alarm);
    reading[2].value[LEFT] -= 7;
    reading[3].value[LEFT] -= 7;
    family.timing_tolerance = 9;
    compute();
    ck_assert(!the("I", VB_AGAINST_NOMINAL)->alarm && !the("I", VB_AGAINST_LAST)->alarm);
    family.opens[0] = NAN;
    compute();
    ck_assert(the("I", VB_AGAINST_LAST)->alarm);
}
END_TEST

START_TEST(marks_are_not_mixed_up_with_other_readings)
{
    take(0, VB_CAM_STEP, "I", FOUND, 3, 0.5);
    take(1, VB_CAM_STEP, "left rear", FOUND, 1, NAN);
    take(2, VB_CAM_CHECKING_LIFT, "I", FOUND, 1, NAN);
    compute();
    ck_assert_uint_eq(list.n, 2);
    const struct vb_cam_row *i = the("I", VB_AGAINST_MARK);
    const struct vb_cam_row *rear = the("left rear", VB_AGAINST_MARK);
    ck_assert(i->shift.beyond && !rear->shift.beyond);
    ck_assert(rear->shift.u_drive == VB_U_WHEEL && !i->alarm);
    ck_assert_double_gt(vb_cam_rank(i), 1); // beyond its error
    ck_assert_double_lt(vb_cam_rank(rear), 1);
    family.sprocket_limit = 2;
    compute();
    ck_assert(the("I", VB_AGAINST_MARK)->alarm);
}
END_TEST

START_TEST(the_further_the_more_suspicious)
{
    nominal(0, -12, 225);
    wish.each_valve = 1;
    events(0, "1I", LEFT, -11, 226, 0.2);
    events(0, "2I", LEFT, -11.5, 225.5, 0.2);
    compute();
    ck_assert_double_gt(vb_cam_rank(the("1I", VB_AGAINST_NOMINAL)),
                        vb_cam_rank(the("2I", VB_AGAINST_NOMINAL)));
}
END_TEST

/* Two engines of one list keep apart; the same refusal of both is told of both. */
START_TEST(engines_follow_each_other)
{
    take(0, VB_CAM_OPENS, "1I", LEFT, -12, NAN);
    ck_assert_int_eq(vb_cams_add(&list, &engine, &profiles, &wish), VB_OK);
    engine.name = "HC-2";
    take(0, VB_CAM_CLOSES, "1I", LEFT, 225, NAN);
    ck_assert_int_eq(vb_cams_add(&list, &engine, &profiles, &wish), VB_OK);
    ck_assert_uint_eq(list.n_engines, 2);
    ck_assert(list.engine[0].refused == 1 && list.engine[1].refused == 0);
    ck_assert_str_eq(list.refused[0].text,
                     "HC-1 day 100 1I as left: opens without closes");
    ck_assert(list.n == 1 && list.row[0].engine == 1);
}
END_TEST

static Suite *
cams_suite(void)
{
    Suite *s = suite_create("cams");
    TCase *t = tcase_create("reading");
    tcase_add_checked_fixture(t, setup, teardown);
    tcase_add_test(t, tdc_is_taken_out_of_both_angles);
    tcase_add_test(t, without_its_own_stop_the_lowest_cylinder_counts);
    tcase_add_test(t, one_stop_is_one_error_and_two_are_two);
    tcase_add_test(t, found_and_left_of_a_visit_share_their_tdc);
    tcase_add_test(t, what_is_stated_of_fewest_valves_counts);
    tcase_add_test(t, a_lash_that_was_not_set_holds_on);
    tcase_add_test(t, lash_at_the_lobe_is_brought_to_the_tip);
    tcase_add_test(t, the_step_of_a_profile_is_an_uncertainty);
    tcase_add_test(t, u_of_both_angles_counts);
    tcase_add_test(t, overlap_is_the_mean_of_cylinders);
    tcase_add_test(t, found_goes_with_found_and_left_with_left);
    tcase_add_test(t, a_lift_times_a_cam);
    tcase_add_test(t, events_and_lift_are_compared_by_phase_alone);
    suite_add_tcase(s, t);

    t = tcase_create("builds");
    tcase_add_checked_fixture(t, setup, teardown);
    tcase_add_test(t, an_event_places_the_cams_it_names);
    tcase_add_test(t, builds_are_told_apart);
    tcase_add_test(t, the_newest_and_closest_word_on_a_cam_counts);
    tcase_add_test(t, unlike_lobes_are_not_split);
    suite_add_tcase(s, t);

    t = tcase_create("words");
    tcase_add_checked_fixture(t, setup, teardown);
    tcase_add_test(t, a_cam_of_the_same_duration_is_no_exchange);
    tcase_add_test(t, its_place_speaks_against_a_cam_too);
    tcase_add_test(t, without_a_profile_a_duration_is_lash);
    tcase_add_test(t, a_lash_that_is_right_is_not_blamed);
    tcase_add_test(t, a_duration_that_is_off_by_little);
    tcase_add_test(t, with_one_what_lash_does_not_explain_is_said);
    tcase_add_test(t, a_duration_may_be_off_by_what_is_stated_or_usual);
    tcase_add_test(t, a_tooth_may_be_one_of_the_cam);
    tcase_add_test(t, the_odd_valve_is_named);
    tcase_add_test(t, what_alarms);
    tcase_add_test(t, marks_are_not_mixed_up_with_other_readings);
    tcase_add_test(t, the_further_the_more_suspicious);
    tcase_add_test(t, engines_follow_each_other);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(cams_suite());
}
