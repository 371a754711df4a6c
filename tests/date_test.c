#include "suite.h"
#include "valvebook/date.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <check.h>

static const struct {
    const char *text, *order, *iso; // iso NULL: refused
} dates[] = {
    {"2026-11-25", "", "2026-11-25"},
    {"  2026-11-25 ", NULL, "2026-11-25"},
    {"2026-11-25T08:30", "", "2026-11-25T08:30"},
    {"2026-11-25t08:30", "", "2026-11-25T08:30"},
    {"2026-11-25 8:30", "", "2026-11-25T08:30"},
    {"2026-11-25 08:30:59", "", "2026-11-25T08:30"},
    {"2026-11-25 08:30:60", "", "2026-11-25T08:30"}, // a leap second
    {"2026-11-25 00:00", "", "2026-11-25T00:00"},
    {"2026-11-25 23:59", "", "2026-11-25T23:59"},
    {"2026-11-25 08:30:61", "", NULL},
    {"2026-11-25 08:30:5", "", NULL},
    {"2026-11-25 08:30Z", "", NULL},
    {"2026-11-25 08:60", "", NULL},
    {"2026-11-25 08:3", "", NULL},
    {"2026-11-25 24:00", "", NULL},
    {"2026-11-25 x8:30", "", NULL},
    {"2026-11-25 08.30", "", NULL},
    {"2026-11-25 0830", "", NULL},
    {"2026-11-25 08", "", NULL},
    {"2026-11-25 123", "", NULL},
    {"2026-11-25_08:30", "", NULL},
    {"2024-02-29", "", "2024-02-29"},
    {"2026-02-29", "", NULL},
    {"2000-02-29", "", "2000-02-29"},
    {"1900-02-29", "", NULL},
    {"2100-02-29", "", NULL},
    {"2026-04-31", "", NULL},
    {"2026-00-10", "", NULL},
    {"2026-13-10", "", NULL},
    {"2026-01-00", "", NULL},
    {"2026-01-32", "", NULL},
    {"1900-01-01", "", "1900-01-01"},
    {"1899-12-31", "", NULL},
    {"2199-12-31", "", "2199-12-31"},
    {"2200-01-01", "", NULL},
    {"", "", NULL},
    {"   ", "", NULL},
    {"1.2.26", "D.M.y", "2026-02-01"},
    {"2/1/2026", "M/D/Y", "2026-02-01"},
    {"2/1", "M/D/Y", NULL},
    // a spreadsheet's days: 61 is 1 March 1900, 45658 is 1 January 2025
    {"61", "serial", "1900-03-01"},
    // half past seven is 0.3125 of a day; 0.520833333333336 is 12:30 but for rounding
    {"45658.3125", "serial", "2025-01-01T07:30"},
    {"45658,3125", "serial", "2025-01-01T07:30"},
    {"45658.520833333336", "serial", "2025-01-01T12:30"},
    {"45658.0", "serial", "2025-01-01T00:00"},
    {"45657.9999999", "serial", "2025-01-01T00:00"},
    {"45658.", "serial", NULL},
    {"45658.5x", "serial", NULL},
    {"45658.5.5", "serial", NULL},
    {"456581.5", "serial", NULL},
    // twelve hours a half day
    {"3/14/2025 7:30 AM", "M/D/Y", "2025-03-14T07:30"},
    {"3/14/2025, 7:30:15 PM", "M/D/Y", "2025-03-14T19:30"},
    {"2025-03-14 12:05 a.m.", "", "2025-03-14T00:05"},
    {"2025-03-14 12:05pm", "", "2025-03-14T12:05"},
    {"2025-03-14 13:05 PM", "", NULL},
    {"2025-03-14 0:05 AM", "", NULL},
    {"2025-03-14 7:30 XM", "", NULL},
    {"2025-03-14 7:30 P", "", NULL},
    {"2025-03-14 7:30 PMT", "", NULL},
    {"2025-03-14 7:30 UTC", "", NULL},
    {"2025-03-14,7:30", "", NULL},
    {"2025-03-14T07:30:15.250", "", "2025-03-14T07:30"},
    {"2025-03-14T07:30:15,5", "", "2025-03-14T07:30"},
    {"2025-03-14T07:30:15.", "", NULL},
    {"2025-03-14T07:30:15.250Z", "", NULL},
    // names of months
    {"02-Mar-25", "D-M-y", "2025-03-02"},
    {"2-MAR-2025", "D-M-Y", "2025-03-02"},
    {"2. M\xc3\xa4rz 2025", "D. M Y", "2025-03-02"},
    {"M\xc3\x84RZ 2, 2025", "M D, Y", "2025-03-02"},
    {"2 f\xc3\xa9vr. 2025", "D M Y", "2025-02-02"},
    {"2 ao\xc3\xbbt 2025 14:05", "D M Y", "2025-08-02T14:05"},
    {"July 4, 2025", "M D, Y", "2025-07-04"},
    {"30-Feb-25", "D-M-y", NULL},
    {"02-Mar-25", "y-M-D", NULL},
    {"2025-Mar-02", "", NULL}, // a tidy table has numbers
    {"2025-Mar-02", "Y-M-D", "2025-03-02"},
    {"2-marras-2025", "D-M-Y", NULL}, // Finnish, and November
    {"2-M-2025", "D-M-Y", NULL},
    {"2-Ma-2025", "D-M-Y", NULL},
    {"2-Septemberseptember-2025", "D-M-Y", NULL},
    {"2-M\xc3\xb6rz-2025", "D-M-Y", NULL},
    {"2-M\xc3", "D-M-Y", NULL},
    {"60", "serial", NULL},
    {"45658", "serial", "2025-01-01"},
    {"99999", "serial", "2173-10-13"}, // Python: date(1899, 12, 30) + timedelta(99999)
    {"123456", "serial", NULL},
    {"4", "serial", NULL},
    {"4565x", "serial", NULL},
};

START_TEST(dates_are_read)
{
    char out[VB_DATE_MAX] = "untouched";
    enum vb_err e =
        vb_date_parse(dates[_i].text, strlen(dates[_i].text), dates[_i].order, out);
    if (dates[_i].iso)
        ck_assert_str_eq(out, dates[_i].iso);
    else
        ck_assert_int_eq(e, VB_ESYNTAX);
}
END_TEST

/* Counted one by one over the 300 years that are taken: the months' lengths are all. */
START_TEST(days_follow_each_other)
{
    static const int of_month[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    double want = -25567; // 1900-01-01: 70 years, 17 of them leap
    for (int y = 1900; y <= 2199; y++)
        for (int m = 1; m <= 12; m++) {
            int leap = y % 4 == 0 && (y % 100 != 0 || y % 400 == 0);
            for (int d = 1; d <= of_month[m - 1] + (m == 2 && leap); d++, want++) {
                char iso[40], back[VB_DATE_MAX];
                double days = NAN;
                snprintf(iso, sizeof iso, "%04d-%02d-%02d", y, m, d);
                ck_assert_int_eq(vb_date_days(iso, &days), VB_OK);
                ck_assert(days == want);
                ck_assert_int_eq(vb_date_iso(days < 84005 ? days + 0.999 : days, back),
                                 VB_OK);
                ck_assert_str_eq(back, iso);
            }
        }
    ck_assert(want == 84006);
}
END_TEST

START_TEST(days_outside)
{
    char out[VB_DATE_MAX] = "as before";
    const double none[] = {NAN, INFINITY, -INFINITY, -25567.5, 84005.5};
    for (size_t i = 0; i < sizeof none / sizeof *none; i++)
        ck_assert_int_eq(vb_date_iso(none[i], out), VB_EDOM);
    ck_assert_str_eq(out, "as before");
}
END_TEST

START_TEST(times_are_parts_of_days)
{
    static const struct {
        const char *iso;
        double days; // NaN: refused
    } c[] = {{"1970-01-01", 0},          {"1970-01-02T12:00", 1.5},
             {"1970-01-01 06:00", 0.25}, {"1970-01-01T24:00", NAN},
             {"1970-02-30", NAN},        {"", NAN},
             {"1970-01-01T12:00x", NAN}, {"soon", NAN},
             {"1970-01-01T12", NAN}};
    for (size_t i = 0; i < sizeof c / sizeof *c; i++) {
        double days = -1;
        enum vb_err e = vb_date_days(c[i].iso, &days);
        ck_assert_int_eq(e, isnan(c[i].days) ? VB_ESYNTAX : VB_OK);
        ck_assert(days == (isnan(c[i].days) ? -1 : c[i].days));
    }
}
END_TEST

START_TEST(the_clock)
{
    char today[VB_DATE_MAX];
    double now = 0, day = 0;
    ck_assert_int_eq(vb_date_now(&now), VB_OK);
    ck_assert_int_eq(vb_date_today(today), VB_OK);
    ck_assert_int_eq(vb_date_days(today, &day), VB_OK);
    ck_assert(fabs(now - day) < 2.5); // a day begins up to 14 h from that of UTC
}
END_TEST

/* The linker puts these where lib/ asks for the time (--wrap); the second one where glibc has
 * widened a time_t of 32 bits. */
static int told;
static time_t tells;
time_t __wrap_time(time_t *t);
time_t __wrap___time64(time_t *t);

time_t
__wrap_time(time_t *t)
{
    struct timespec now = {0};
    clock_gettime(CLOCK_REALTIME, &now);
    (void)t;
    return told ? tells : now.tv_sec;
}

time_t
__wrap___time64(time_t *t)
{
    return __wrap_time(t);
}

/* There is none, or it shows a year that no calendar has a number for. */
START_TEST(a_clock_that_has_stopped)
{
    char today[VB_DATE_MAX] = "as before";
    double now = 7;
    told = 1;
    tells = (time_t)-1;
    ck_assert_int_eq(vb_date_now(&now), VB_EIO);
    ck_assert_int_eq(vb_date_today(today), VB_EIO);
    tells = (time_t)300 * 366 * 86400; // behind the dates that there are
    ck_assert_int_eq(vb_date_today(today), VB_ERANGE);
    tells = (time_t)-80 * 366 * 86400; // before them
    ck_assert_int_eq(vb_date_today(today), VB_ERANGE);
    tells = (time_t)INT64_MAX;
    ck_assert_int_eq(vb_date_today(today), VB_EIO);
    ck_assert_str_eq(today, "as before");
    ck_assert(now == 7);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("date");
    TCase *t = tcase_create("dates");
    tcase_add_loop_test(t, dates_are_read, 0, sizeof dates / sizeof *dates);
    tcase_add_test(t, days_follow_each_other);
    tcase_add_test(t, days_outside);
    tcase_add_test(t, times_are_parts_of_days);
    tcase_add_test(t, the_clock);
    tcase_add_test(t, a_clock_that_has_stopped);
    suite_add_tcase(s, t);
    return run_suite(s);
}
