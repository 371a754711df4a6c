/* Spans of cams, by hand. */
#include "suite.h"
#include "valvebook/cam_span.h"

#include <math.h>
#include <stdlib.h>

#include <check.h>

static struct vb_cam_row row;

static void
setup(void)
{
    row = (struct vb_cam_row){.fig = {.centre = 106.5, .duration = 237},
                              .against = VB_AGAINST_LAST,
                              .n_shift = 4,
                              .shift = {.phase = 2, .duration = -1}};
}

/* 12 BTDC to 45 ABDC: centre 106.5, duration 237. Before it stood 2 degrees earlier and was
 * open 1 degree longer: centre 104.5, duration 238, -14.5 to 223.5. */
START_TEST(now_and_before)
{
    struct vb_events now = vb_cam_span_now(&row), was = vb_cam_span_reference(&row);
    ck_assert_double_eq_tol(now.opens, -12, 1e-12);
    ck_assert_double_eq_tol(now.closes, 225, 1e-12);
    ck_assert_double_eq_tol(vb_centre(now), row.fig.centre, 1e-12);
    ck_assert_double_eq_tol(vb_duration(now), row.fig.duration, 1e-12);
    ck_assert_double_eq_tol(was.opens, -14.5, 1e-12);
    ck_assert_double_eq_tol(was.closes, 223.5, 1e-12);
}
END_TEST

START_TEST(what_is_not_known)
{
    static const enum vb_cam_against has[] = {VB_AGAINST_NOMINAL, VB_AGAINST_TIMED,
                                              VB_AGAINST_LAST};
    static const enum vb_cam_against not [] = {VB_AGAINST_NOTHING, VB_AGAINST_BANK,
                                               VB_AGAINST_MARK};
    for (int i = 0; i < 3; i++) {
        row.against = has[i];
        ck_assert(!isnan(vb_cam_span_reference(&row).opens));
        row.against = not [i];
        ck_assert(isnan(vb_cam_span_reference(&row).opens));
    }
    row.against = VB_AGAINST_LAST;
    row.n_shift = 0;
    ck_assert(isnan(vb_cam_span_reference(&row).closes));
    row.n_shift = 4;
    row.fig.duration = NAN;
    ck_assert(isnan(vb_cam_span_now(&row).opens) && isnan(vb_cam_span_now(&row).closes));
    ck_assert(isnan(vb_cam_span_reference(&row).opens));
    setup();
    row.shift.phase = NAN;
    ck_assert(isnan(vb_cam_span_reference(&row).opens));
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("cam_span");
    TCase *c = tcase_create("cam_span");
    tcase_add_checked_fixture(c, setup, NULL);
    tcase_add_test(c, now_and_before);
    tcase_add_test(c, what_is_not_known);
    suite_add_tcase(s, c);
    return run_suite(s);
}
