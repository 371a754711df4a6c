/*
 * One cam that works inlet and exhaust. Expected values by hand, and the pooled shift by
 * tests/r/one_cam.py.
 */
#include "cam_engine.h"
#include "suite.h"

/* A push-rod engine: wheel read to 0.5 deg, TDC by a stop, nominal events of two sides. */
static void
pushrod(void)
{
    setup();
    family.cam_for = VB_CAM_FOR_BANK;
    family.crank_teeth = 21;
    nominal(0, -20, 230); // centre 105, open for 250
    nominal(1, -240, 16); // centre -112, open for 256
}

/* Both valves of a cylinder, so many degrees later than nominal. */
static void
stands(size_t v, int cyl, int state, double inlet, double exhaust)
{
    char at[2][VB_VALVE_MAX];
    for (int s = 0; s < 2; s++)
        vb_valve_format((struct vb_valve){cyl, s ? 'E' : 'I', 0}, at[s]);
    events(v, at[0], state, -20 + inlet, 230 + inlet, 0.4);
    events(v, at[1], state, -240 + exhaust, 16 + exhaust, 0.4);
}

/* --- both sides move alike ----------------------------------------------------------- */

/* Numbers printed by tests/r/one_cam.py, numpy 1.24.2. */
START_TEST(both_sides_are_pooled_for_the_drive)
{
    // four shifts from the timing: TDC of the first visit by one stop, of the second by two
    static const double later[4] = {0.9, 1.7, 1.4, 1.0}, u[4] = {0.4, 0.3, 0.5, 0.25};
    static const char *const at[4] = {"1I", "1E", "2I", "2E"};
    static const double opens[2] = {-20, -240}, closes[2] = {230, 16};
    for (int i = 0; i < 4; i++) {
        events(0, at[i], LEFT, opens[i % 2], closes[i % 2], u[i]);
        events(1, at[i], FOUND, opens[i % 2] + later[i], closes[i % 2] + later[i], u[i]);
    }
    stop(0, "1", -30, 30, 0.35);
    stop(1, "1", -30, 30, 0.35);
    stop(1, "2", -30, 30, 0.6);
    // visits come in order
    struct vb_cam_reading sorted[sizeof reading / sizeof *reading];
    size_t n = 0;
    for (size_t v = 0; v < 2; v++)
        for (size_t i = 0; i < engine.n_readings; i++)
            if (reading[i].visit == v)
                sorted[n++] = reading[i];
    memcpy(reading, sorted, n * sizeof *reading);
    compute();
    const struct vb_cam_row *in = the("I", VB_AGAINST_TIMED),
                            *ex = the("E", VB_AGAINST_TIMED);
    ck_assert_uint_eq(in->n_both, 4);
    ck_assert_int_eq(in->parted || ex->parted, 0);
    near(in->both.drive, 1.29889064067651, 1e-12);
    near(in->both.u_drive, 0.373642735119041, 1e-12);
    near(in->both.chi2, 3.38796388132435, 1e-12);
    near(in->apart, -0.361245468116869, 1e-12);
    near(ex->both.drive, in->both.drive, 1e-15);
    near(ex->both.u_drive, in->both.u_drive, 1e-15);
    near(ex->apart, in->apart, 1e-15);
    // the row's own figures stay those of its side
    ck_assert_uint_eq(in->n_shift, 2);
    near(in->shift.drive, 1.06986564299424, 1e-12);
    near(ex->shift.drive, 1.43111111111111, 1e-12);
}
END_TEST

/* A tooth of 21 is 360 / 21 = 17.14 degrees. */
START_TEST(a_tooth_is_one_of_both_sides)
{
    stands(0, 1, LEFT, 0, 0);
    stop(0, "1", -30, 30, 0.3);
    stands(1, 1, FOUND, 17.0, 17.3);
    stop(1, "1", -30, 30, 0.3);
    compute();
    for (int s = 0; s < 2; s++) {
        const struct vb_cam_row *r = the(s ? "E" : "I", VB_AGAINST_TIMED);
        ck_assert_int_eq(r->cause.cause, VB_CAUSE_TEETH);
        // u: each side (0.4^2/2 * 2) = 0.16, their mean 0.08; stops 0.045 each: sqrt(0.17)
        ck_assert_str_eq(r->hint, "one tooth retarded; both sides of the cam "
                                  "17.15 \xc2\xb1 0.41 deg later");
        ck_assert_int_eq(r->alarm, 1);
    }
}
END_TEST

START_TEST(a_tooth_may_be_an_early_one)
{
    stands(0, 1, LEFT, 0, 0);
    stop(0, "1", -30, 30, 0.3);
    stands(1, 1, FOUND, -17.0, -17.3);
    stop(1, "1", -30, 30, 0.3);
    compute();
    ck_assert_str_eq(the("I", VB_AGAINST_TIMED)->hint,
                     "one tooth advanced; both sides of the cam "
                     "17.15 \xc2\xb1 0.41 deg earlier");
}
END_TEST

/* Of 66 valves the 64 first count, a row's own before the others: u is 0.4 / sqrt(2 * 64). */
START_TEST(a_cam_of_very_many_valves)
{
    ck_assert_int_eq(VB_CAM_VALVES, 64);
    for (int cyl = 1; cyl <= 33; cyl++)
        stands(0, cyl, LEFT, 1, 1.1);
    compute();
    const struct vb_cam_row *in = the("I", VB_AGAINST_NOMINAL),
                            *ex = the("E", VB_AGAINST_NOMINAL);
    ck_assert_uint_eq(in->n_both, 64);
    ck_assert_uint_eq(ex->n_both, 64);
    near(in->both.drive, (33 * 1 + 31 * 1.1) / 64, 1e-12);
    near(ex->both.drive, (31 * 1 + 33 * 1.1) / 64, 1e-12);
    near(in->both.u_drive, hypot(0.0353553390593, 1), 1e-9); // TDC not checked: 1 deg
}
END_TEST

/* 0.38 is within twice the 0.22 of a side; the 0.37 of both are beyond twice their 0.17. */
START_TEST(together_they_see_what_neither_sees)
{
    for (int cyl = 1; cyl <= 4; cyl++)
        stands(0, cyl, LEFT, 0, 0);
    take(0, VB_CAM_STOP_BEFORE, "1", FOUND, -30, 0.1);
    take(0, VB_CAM_STOP_AFTER, "1", FOUND, 30, 0.1);
    for (int cyl = 1; cyl <= 4; cyl++)
        stands(1, cyl, FOUND, 0.38, 0.36);
    stop(1, "1", -30, 30, 0.1);
    compute();
    const struct vb_cam_row *r = the("I", VB_AGAINST_TIMED);
    // a side: sqrt(0.16 / 4 + 0.01) = 0.2236; both: sqrt(0.16 / 8 + 0.01) = 0.1732
    near(r->shift.u_drive, 0.223607, 1e-6);
    near(r->both.u_drive, 0.173205, 1e-6);
    ck_assert_int_eq(r->shift.beyond, 0);
    ck_assert_int_eq(r->both.beyond, 1);
    ck_assert_int_eq(r->cause.cause, VB_CAUSE_WEAR);
    ck_assert_int_eq(r->alarm, 1);
    family.cam_for = VB_CAM_FOR_SIDE;
    compute();
    r = the("I", VB_AGAINST_TIMED);
    ck_assert_uint_eq(r->n_both, 0);
    ck_assert_int_eq(r->cause.cause, VB_CAUSE_NONE);
    ck_assert_int_eq(r->alarm, 0);
}
END_TEST

/* --- they do not ---------------------------------------------------------------------- */

/* Another grind: both centres 4 degrees nearer to each other, which no drive does. */
START_TEST(no_drive_parts_the_sides)
{
    stands(0, 1, LEFT, -4, 4);
    stop(0, "1", -30, 30, 0.3);
    compute();
    for (int s = 0; s < 2; s++) {
        const struct vb_cam_row *r = the(s ? "E" : "I", VB_AGAINST_NOMINAL);
        near(r->apart, -8, 1e-12);
        ck_assert_int_eq(r->parted, 1);
        ck_assert_int_eq(r->cause.cause, VB_CAUSE_APART);
        ck_assert_int_eq(r->mix, VB_CAM_OWN);
        ck_assert_int_eq(r->alarm, 1);
        ck_assert_str_eq(
            r->hint,
            "inlet shifted 8.0 deg earlier than exhaust, on one cam: not the drive; "
            "another grind, a lobe, lash, a misreading");
    }
    family.lift_at_lobe[0] = family.lift_at_lobe[1] = 1; // which knows nothing of lash
    compute();
    ck_assert(strstr(the("I", VB_AGAINST_NOMINAL)->hint, "another grind, a lobe, a mis"));
    wish.each_valve = 1;
    compute();
    ck_assert_int_eq(the("1I", VB_AGAINST_NOMINAL)->cause.cause, VB_CAUSE_APART);
    ck_assert_int_eq(the("1E", VB_AGAINST_NOMINAL)->cause.cause, VB_CAUSE_APART);
    ck_assert_uint_eq(the("1E", VB_AGAINST_NOMINAL)->n_both, 0);
    wish.each_valve = 0;
    family.cam_for = VB_CAM_FOR_SIDE; // two cams may do so
    compute();
    ck_assert_int_eq(the("I", VB_AGAINST_NOMINAL)->cause.cause, VB_CAUSE_EARLY);
    ck_assert_int_eq(the("E", VB_AGAINST_NOMINAL)->cause.cause, VB_CAUSE_WEAR);
}
END_TEST

/* Moved by 0.6 this way and that: not the drive, which stands where it stood; each side is
 * within twice sqrt(0.16 + 2 * 0.01), 0.4243, and 1.2 is beyond twice the 0.566 of their
 * difference, which TDC goes out of. */
START_TEST(parted_and_not_moved)
{
    stands(0, 1, LEFT, 0, 0);
    stop(0, "1", -30, 30, 0.1 * M_SQRT2);
    stands(1, 1, FOUND, 0.6, -0.6);
    stop(1, "1", -30, 30, 0.1 * M_SQRT2);
    compute();
    const struct vb_cam_row *r = the("I", VB_AGAINST_TIMED);
    near(r->both.drive, 0, 1e-12);
    near(r->apart, 1.2, 1e-12);
    ck_assert_int_eq(r->parted, 1);
    ck_assert_int_eq(r->alarm, 1);
    near(vb_cam_rank(r), 4.00141421356, 1e-9); // 4: the cause; 0.6 is 1.414 times its u
    reading[6].value[FOUND] = -20 + 0.5;       // 1.1
    reading[7].value[FOUND] = 230 + 0.5;
    compute();
    ck_assert_int_eq(the("I", VB_AGAINST_TIMED)->parted, 0);
    ck_assert_int_eq(the("I", VB_AGAINST_TIMED)->alarm, 0);
}
END_TEST

/* Their difference has u sqrt(2) 0.4 / sqrt(2) = 0.4, TDC goes out: 0.8 is the end of it;
 * against nominal with a tolerance of 2 it is 2 sqrt(0.16 + 1) = 2.154. */
START_TEST(so_far_apart_they_may_be)
{
    stands(0, 1, LEFT, 0.79, 0);
    compute();
    ck_assert_int_eq(the("I", VB_AGAINST_NOMINAL)->parted, 0);
    reading[0].value[LEFT] = -20 + 0.81;
    reading[1].value[LEFT] = 230 + 0.81;
    compute();
    ck_assert_int_eq(the("I", VB_AGAINST_NOMINAL)->parted, 1);
    family.timing_tolerance = 2;
    reading[0].value[LEFT] = -20 + 2.15;
    reading[1].value[LEFT] = 230 + 2.15;
    compute();
    ck_assert_int_eq(the("E", VB_AGAINST_NOMINAL)->parted, 0);
    reading[0].value[LEFT] = -20 + 2.16;
    reading[1].value[LEFT] = 230 + 2.16;
    compute();
    ck_assert_int_eq(the("E", VB_AGAINST_NOMINAL)->parted, 1);
}
END_TEST

/* The other side was read at another visit: nothing can be said of both. */
START_TEST(sides_are_held_together_at_one_visit)
{
    events(0, "1I", LEFT, -16, 234, 0.4);
    events(1, "1E", LEFT, -244, 12, 0.4);
    compute();
    ck_assert_int_eq(the("I", VB_AGAINST_NOMINAL)->parted, 0);
    ck_assert_uint_eq(the("I", VB_AGAINST_NOMINAL)->n_both, 0);
    ck_assert_int_eq(the("I", VB_AGAINST_NOMINAL)->cause.cause, VB_CAUSE_WEAR);
}
END_TEST

/* One as found, the other as left: between them somebody may have turned the cam. */
START_TEST(sides_are_held_together_in_one_state)
{
    events(0, "1I", LEFT, -16, 234, 0.4);
    events(0, "1E", FOUND, -244, 12, 0.4);
    compute();
    ck_assert_int_eq(the("I", VB_AGAINST_NOMINAL)->parted, 0);
    ck_assert_int_eq(the("E", VB_AGAINST_NOMINAL)->parted, 0);
}
END_TEST

/* The exhaust was not read when the inlet was timed: of the shift since then it knows nothing,
 * of that against nominal it does. */
START_TEST(a_side_that_was_not_read_before)
{
    events(0, "1I", LEFT, -20, 230, 0.4);
    stands(1, 1, FOUND, 1, 1);
    compute();
    ck_assert_uint_eq(the("I", VB_AGAINST_TIMED)->n_both, 0);
    ck_assert_uint_eq(the("E", VB_AGAINST_NOMINAL)->n_both, 2);
    ck_assert(row("E", VB_AGAINST_TIMED) == NULL);
}
END_TEST

/* An exhaust read, as it says, to a millionth of a degree beside a TDC to a fifth has no mean
 * with others; the inlet keeps its own. */
START_TEST(a_side_that_cannot_be_pooled)
{
    events(0, "1I", LEFT, -19, 231, 0.4);
    events(0, "1E", LEFT, -239, 17, 1e-6);
    stop(0, "1", -30, 30, 0.3);
    compute();
    ck_assert_uint_eq(the("I", VB_AGAINST_NOMINAL)->n_shift, 1);
    near(the("I", VB_AGAINST_NOMINAL)->shift.drive, 1, 1e-12);
    ck_assert_uint_eq(the("I", VB_AGAINST_NOMINAL)->n_both, 0);
    ck_assert_int_eq(the("I", VB_AGAINST_NOMINAL)->parted, 0);
    ck_assert_uint_ge(list.n_refused, 1);
    for (size_t i = 0; i < list.n_refused; i++)
        ck_assert(strstr(list.refused[i].text, " E: the uncertainties of its valves"));
}
END_TEST

/* Each side shows the nominal events of the other. */
START_TEST(one_cam_is_not_exchanged_with_itself)
{
    nominal(0, -16, 234);
    nominal(1, -240, 22);
    events(0, "1I", LEFT, -22, 240, 0.3);
    events(0, "1E", LEFT, -234, 16, 0.3);
    stop(0, "1", -30, 30, 0.3);
    family.cam_for = VB_CAM_FOR_SIDE;
    compute();
    ck_assert_int_eq(the("I", VB_AGAINST_NOMINAL)->mix, VB_CAM_SIDES);
    family.cam_for = VB_CAM_FOR_BANK;
    compute();
    ck_assert_int_eq(the("I", VB_AGAINST_NOMINAL)->mix, VB_CAM_OWN);
    ck_assert_int_eq(the("E", VB_AGAINST_NOMINAL)->mix, VB_CAM_OWN);
}
END_TEST

/* Read at the lobe a duration has no lash in it: 12 degrees more are those of another grind, 3
 * may come of the checking lift. */
START_TEST(lift_of_the_lobe_tells_a_grind_without_a_profile)
{
    events(0, "1I", LEFT, -26, 236, 0.4);
    compute();
    ck_assert_int_eq(the("I", VB_AGAINST_NOMINAL)->mix, VB_CAM_OWN);
    ck_assert_str_eq(
        the("I", VB_AGAINST_NOMINAL)->hint,
        "duration +12.0 deg: lash, most likely (no profile, or lash not read)");
    family.lift_at_lobe[0] = 1;
    compute();
    ck_assert_int_eq(the("I", VB_AGAINST_NOMINAL)->mix, VB_CAM_STRANGER);
    ck_assert_str_eq(the("I", VB_AGAINST_NOMINAL)->hint,
                     "its duration is that of no cam of this engine");
    take(0, VB_CAM_CHECKING_LIFT, "1I", FOUND, 1.2, 0.01); // another lift and no profile
    compute();
    ck_assert_int_eq(the("I", VB_AGAINST_NOMINAL)->mix, VB_CAM_OWN);
    engine.n_readings--;
    reading[0].value[LEFT] = -21.5;
    reading[1].value[LEFT] = 231.5;
    compute();
    ck_assert_int_eq(the("I", VB_AGAINST_NOMINAL)->mix, VB_CAM_OWN);
    ck_assert_str_eq(the("I", VB_AGAINST_NOMINAL)->hint,
                     "duration +3.0 deg: checking lift, most likely");
}
END_TEST

/* The same at another lift: 2.5 mm where 1 mm is nominal, and no lash in either. */
START_TEST(lift_of_the_lobe_at_another_lift)
{
    const struct vb_lobe_events at1 = closed_events(&harmonic, 1, 0, 1),
                                there = closed_events(&harmonic, 1, 0, 2.5);
    double origin = at1.up + at1.down - 105; // crank degrees, of twice those of the cam
    nominal(0, 2 * at1.up - origin, 2 * at1.down - origin);
    profile("race", &harmonic, 1e-6);
    strcpy(family.lobe[0], "race");
    family.lift_at_lobe[0] = 1;
    take(0, VB_CAM_CHECKING_LIFT, "1I", FOUND, 2.5, 0.01);
    events(0, "1I", LEFT, 2 * there.up - origin + 2, 2 * there.down - origin + 2, 0.1);
    compute();
    const struct vb_cam_row *r = the("I", VB_AGAINST_NOMINAL);
    ck_assert_int_eq(r->plain, 0);
    near(r->shift.drive, 2, 1e-6);
    near(r->shift.rest, 0, 1e-3);
    ck_assert_int_eq(r->mix, VB_CAM_OWN);
    reading[1].value[LEFT] -= 9; // 18 degrees longer than this profile is
    reading[2].value[LEFT] += 9;
    compute();
    ck_assert_int_eq(the("I", VB_AGAINST_NOMINAL)->mix, VB_CAM_STRANGER);
}
END_TEST

/* --- events and banks ------------------------------------------------------------------ */

static const char *
since(const char *at)
{
    return the(at, VB_AGAINST_NOMINAL)->since;
}

START_TEST(what_is_said_of_a_side_is_said_of_the_cam)
{
    stands(1, 1, LEFT, 0, 0);
    happens(105, "I");
    compute();
    ck_assert_str_eq(since("I"), "day 105");
    ck_assert_str_eq(since("E"), "day 105");
    fits(106, "E", "C-7", 0);
    compute();
    ck_assert_str_eq(since("I"), "day 106");
    family.cam_for = VB_CAM_FOR_SIDE;
    compute();
    ck_assert_str_eq(since("I"), "day 105");
    ck_assert_str_eq(since("E"), "day 106");
}
END_TEST

START_TEST(one_cam_of_all_banks)
{
    ck_assert_int_eq(vb_banks_parse("A:1 B:2", &family.banks), VB_OK);
    stands(1, 1, LEFT, 1, 1);
    stands(1, 2, LEFT, 1, 1);
    happens(105, "A");
    compute();
    ck_assert_str_eq(since("AE"), "day 105");
    ck_assert_str_eq(since("BE"), "");
    ck_assert_uint_eq(the("AI", VB_AGAINST_NOMINAL)->n_both, 2);
    the("AI", VB_AGAINST_BANK);
    family.cam_for = VB_CAM_FOR_ENGINE;
    compute();
    ck_assert_str_eq(since("BE"), "day 105");
    ck_assert_uint_eq(the("AI", VB_AGAINST_NOMINAL)->n_both, 4);
    ck_assert(row("AI", VB_AGAINST_BANK) == NULL);
    // a part of one cylinder says it of them all
    event[0].place = (struct vb_cam_place){0, 0};
    event[0].at.cyl = 2;
    compute();
    ck_assert_str_eq(since("AI"), "day 105");
    family.cam_for = VB_CAM_FOR_BANK;
    compute();
    ck_assert_str_eq(since("AI"), "");
    ck_assert_str_eq(since("BI"), "day 105");
}
END_TEST

/* A valve of one bank is held against the other side, whichever bank that is of, and not
 * against its own side elsewhere. */
START_TEST(a_valve_is_held_against_the_other_side)
{
    ck_assert_int_eq(vb_banks_parse("A:1 B:2", &family.banks), VB_OK);
    family.cam_for = VB_CAM_FOR_ENGINE;
    wish.each_valve = 1;
    stands(0, 1, LEFT, 0, 0);
    stands(0, 2, LEFT, 4, 0);
    compute();
    near(the("1I", VB_AGAINST_NOMINAL)->apart, 0, 1e-12);
    near(the("2I", VB_AGAINST_NOMINAL)->apart, 4, 1e-12);
    near(the("1E", VB_AGAINST_NOMINAL)->apart, 2, 1e-12); // of the mean of both inlets
}
END_TEST

/* What was said of a bank's end of it goes before what was said of the other's. */
START_TEST(a_bank_has_its_own_lobe)
{
    ck_assert_int_eq(vb_banks_parse("A:1 B:2", &family.banks), VB_OK);
    family.cam_for = VB_CAM_FOR_ENGINE;
    family.lash_target[0] = 0.2;
    profile("race", &harmonic, 1e-6);
    for (int cyl = 1; cyl <= 2; cyl++) {
        stands(1, cyl, LEFT, 0, 0);
        take(1, VB_CAM_LASH, cyl == 1 ? "1I" : "2I", LEFT, 0.2, 0.01);
    }
    for (int order = 0; order < 2; order++) {
        engine.n_events = 0;
        fits(105, order ? "B" : "A", order ? "C-9" : "race", 0);
        fits(105, order ? "A" : "B", order ? "race" : "C-9", 0);
        compute();
        ck_assert_int_eq(the("AI", VB_AGAINST_NOMINAL)->plain, 0);
        ck_assert_int_eq(the("BI", VB_AGAINST_NOMINAL)->plain, 1); // nobody knows C-9
    }
}
END_TEST

/* An item that names a profile, fitted to one side, has that side's lobe; of the other side's
 * nobody said, and the family's is of another cam. */
START_TEST(a_side_has_its_own_lobe)
{
    profile("race", &harmonic, 1e-6);
    strcpy(family.lobe[0], "race");
    strcpy(family.lobe[1], "race");
    family.lash_target[0] = family.lash_target[1] = 0.2;
    stands(1, 1, LEFT, 0, 0);
    take(1, VB_CAM_LASH, "1I", LEFT, 0.2, 0.01);
    take(1, VB_CAM_LASH, "1E", LEFT, 0.2, 0.01);
    compute();
    ck_assert_int_eq(the("I", VB_AGAINST_NOMINAL)->plain, 0);
    ck_assert_int_eq(the("E", VB_AGAINST_NOMINAL)->plain, 0);
    fits(105, "I", "race", 0);
    compute();
    ck_assert_int_eq(the("I", VB_AGAINST_NOMINAL)->plain, 0);
    ck_assert_int_eq(the("E", VB_AGAINST_NOMINAL)->plain, 1);
    fits(105, "E", "race", 0); // each side's own, of one day
    compute();
    ck_assert_int_eq(the("E", VB_AGAINST_NOMINAL)->plain, 0);
    fits(106, "", "C-9", -1); // no profile of that name: the family's
    compute();
    ck_assert_int_eq(the("E", VB_AGAINST_NOMINAL)->plain, 0);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("one_cam");
    TCase *t = tcase_create("one_cam");
    tcase_add_checked_fixture(t, pushrod, teardown);
    tcase_add_test(t, both_sides_are_pooled_for_the_drive);
    tcase_add_test(t, a_tooth_is_one_of_both_sides);
    tcase_add_test(t, a_tooth_may_be_an_early_one);
    tcase_add_test(t, a_cam_of_very_many_valves);
    tcase_add_test(t, together_they_see_what_neither_sees);
    tcase_add_test(t, no_drive_parts_the_sides);
    tcase_add_test(t, parted_and_not_moved);
    tcase_add_test(t, so_far_apart_they_may_be);
    tcase_add_test(t, sides_are_held_together_at_one_visit);
    tcase_add_test(t, sides_are_held_together_in_one_state);
    tcase_add_test(t, a_side_that_was_not_read_before);
    tcase_add_test(t, a_side_that_cannot_be_pooled);
    tcase_add_test(t, one_cam_is_not_exchanged_with_itself);
    tcase_add_test(t, lift_of_the_lobe_tells_a_grind_without_a_profile);
    tcase_add_test(t, lift_of_the_lobe_at_another_lift);
    tcase_add_test(t, what_is_said_of_a_side_is_said_of_the_cam);
    tcase_add_test(t, one_cam_of_all_banks);
    tcase_add_test(t, a_valve_is_held_against_the_other_side);
    tcase_add_test(t, a_bank_has_its_own_lobe);
    tcase_add_test(t, a_side_has_its_own_lobe);
    suite_add_tcase(s, t);
    return run_suite(s);
}
