/* Charts: what was put in is found again, at places that a straight scale gives. */
#include "suite.h"
#include "valvebook/chart.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

static struct vb_out out;
static struct vb_chart chart;
static struct vb_line line;
static const char *svg;

/* 0.40 left, then found at 0.38, 0.36, 0.34, every 100 h. */
static struct vb_chart_point point[] = {{1000, 0.40, NAN, 1},
                                        {1100, 0.38, 0.02, 0},
                                        {1200, 0.36, NAN, 0},
                                        {1300, 0.34, 0, 0}};
static struct vb_segment segment[] = {{1000, 1300, 0.40, 0.34, 0, 4}};
static struct vb_chart_event event[8];

static void
setup(void)
{
    chart = (struct vb_chart){.title = "t",
                              .desc = "d",
                              .unit = "h",
                              .point = point,
                              .n_points = 4,
                              .segment = segment,
                              .n_segments = 1,
                              .event = event,
                              .lower = 0.20,
                              .upper = 0.50,
                              .lower_name = "tight",
                              .upper_name = "loose",
                              .sign = 1,
                              .confidence = 0.95,
                              .now = 1300,
                              .until = 1300,
                              .early = NAN,
                              .expected = NAN};
    line = (struct vb_line){.ybar = 0.37,
                            .mbar = 1150,
                            .w = 4,
                            .rate = -2e-4,
                            .var_rate = 1e-9,
                            .s2 = 1e-4,
                            .df = 12};
    memset(event, 0, sizeof event);
}

static void
draw(void)
{
    ck_assert_int_eq(vb_chart_write(&out, 1, &chart), VB_OK);
    out.buf[out.n] = 0;
    out.n = 0;
    svg = out.buf;
}

/* The i-th piece that begins like this, behind its beginning; NULL if there is none. */
static const char *
piece(const char *begins, int i)
{
    const char *p = strstr(svg, begins);
    for (; p && i > 0; i--)
        p = strstr(p + 1, begins);
    return p ? p + strlen(begins) : NULL;
}

static int
count(const char *begins)
{
    int n = 0;
    while (piece(begins, n))
        n++;
    return n;
}

static void
found_at(int i, double *x, double *y)
{
    const char *p = piece("<circle class=\"found\" ", i);
    ck_assert_ptr_nonnull(p);
    ck_assert_int_eq(sscanf(p, "cx=\"%lf\" cy=\"%lf\"", x, y), 2);
}

static void
line_at(const char *class, int i, double *x0, double *y0, double *x1, double *y1)
{
    char begins[64];
    snprintf(begins, sizeof begins, "<line class=\"%s\" ", class);
    const char *p = piece(begins, i);
    ck_assert_ptr_nonnull(p);
    ck_assert_int_eq(
        sscanf(p, "x1=\"%lf\" y1=\"%lf\" x2=\"%lf\" y2=\"%lf\"", x0, y0, x1, y1), 4);
}

/* First and last place of a path. */
static void
path_at(const char *class, double *x0, double *y0, double *x1, double *y1)
{
    char begins[64];
    snprintf(begins, sizeof begins, "<path class=\"%s\" d=\"", class);
    const char *p = piece(begins, 0), *end = p ? strchr(p, '"') : NULL;
    ck_assert_ptr_nonnull(end);
    ck_assert_int_eq(sscanf(p, "M%lf %lf", x0, y0), 2);
    while (*end != 'L')
        end--;
    ck_assert_int_eq(sscanf(end, "L%lf %lf", x1, y1), 2);
}

/* Coordinates are written to a tenth. */
static void
near(double got, double want)
{
    ck_assert_double_eq_tol(got, want, 0.11);
}

/* The same, where the scale is stretched from two written coordinates. */
static void
about(double got, double want)
{
    ck_assert_double_eq_tol(got, want, 0.5);
}

/* The scale as two points give it. */
static double
x_of(double running)
{
    double x1, x2, y;
    found_at(0, &x1, &y), found_at(2, &x2, &y);
    return x1 + (running - 1100) / 200 * (x2 - x1);
}

static double
y_of(double lash)
{
    double y1, y2, x;
    found_at(0, &x, &y1), found_at(2, &x, &y2);
    return y1 + (lash - 0.38) / (0.34 - 0.38) * (y2 - y1);
}

START_TEST(readings_are_where_the_scale_has_them)
{
    double x, y, x1, y1;
    draw();
    ck_assert_int_eq(count("<circle class=\"found\""), 3);
    ck_assert_int_eq(count("<polygon class=\"left\""), 1);
    found_at(1, &x, &y);
    near(x, x_of(1200)), near(y, y_of(0.36));
    ck_assert_double_gt(x_of(1300), x_of(1100) + 50);
    ck_assert_double_gt(y_of(0.34), y_of(0.38) + 5); // y goes down
    line_at("limit", 0, &x, &y, &x1, &y1);
    about(y, y_of(0.20)), near(y, y1);
    line_at("limit", 1, &x, &y, &x1, &y1);
    about(y, y_of(0.50));
    ck_assert_ptr_nonnull(strstr(svg, ">tight</text>"));
    ck_assert_ptr_nonnull(strstr(svg, ">0.200</text>"));
    ck_assert_ptr_nonnull(strstr(svg, ">0.500</text>"));
}
END_TEST

/* u = 0 has no bar, nor has one that is not stated. */
START_TEST(error_bars_are_twice_u)
{
    double x, y0, y1;
    draw();
    ck_assert_int_eq(count("<path class=\"u\""), 1);
    ck_assert_int_eq(
        sscanf(piece("<path class=\"u\" d=\"", 0), "M%lf %lfV%lf", &x, &y0, &y1), 3);
    near(x, x_of(1100)), near(y0, y_of(0.36)), near(y1, y_of(0.40));
    point[0].u = 0.01;
    draw();
    point[0].u = NAN;
    ck_assert_int_eq(count("<path class=\"u left\""), 1);
}
END_TEST

START_TEST(fitted_lines_are_drawn)
{
    double x0, y0, x1, y1;
    draw();
    ck_assert_int_eq(count("<line class=\"fit\""), 1);
    line_at("fit", 0, &x0, &y0, &x1, &y1);
    near(x0, x_of(1000)), near(y0, y_of(0.40)), near(x1, x_of(1300)),
        near(y1, y_of(0.34));
    ck_assert_int_eq(count("<path class=\"forecast\""), 0);
}
END_TEST

/* From the mean of its interval on, where it meets the fitted line, to `until`: there 0.37 -
 * 2e-4 x 450 = 0.28; its bound begins at the newest reading. */
START_TEST(a_forecast_goes_on_from_the_mean)
{
    double x0, y0, x1, y1, lower, upper;
    chart.line = &line;
    chart.way = -1;
    chart.until = 1600;
    draw();
    path_at("forecast", &x0, &y0, &x1, &y1);
    about(x0, x_of(1150)), near(y0, y_of(0.37));
    about(x1, x_of(1600)), about(y1, y_of(0.28));
    path_at("bound", &x0, &y0, &x1, &y1);
    ck_assert_int_eq(vb_line_bounds(&line, 1300, 0.95, &lower, &upper), VB_OK);
    near(x0, x_of(1300)), about(y0, y_of(lower));
    ck_assert_int_eq(vb_line_bounds(&line, 1600, 0.95, &lower, &upper), VB_OK);
    about(x1, x_of(1600));
    about(y1, y_of(lower));
    chart.way = 1;
    draw();
    path_at("bound", &x0, &y0, &x1, &y1);
    about(y1, y_of(upper));
    chart.way = 0;
    draw();
    ck_assert_int_eq(count("<path class=\"bound\""), 0);
    ck_assert_int_eq(count("<path class=\"forecast\""), 1);
}
END_TEST

/* A seat's line falls, what is drawn rises: the early bound is the upper one then. */
START_TEST(a_sign_turns_the_forecast_round)
{
    double x0, y0, x1, y1, lower, upper;
    line.ybar = -0.37;
    chart.line = &line;
    chart.sign = -1;
    chart.way = 1;
    chart.until = 1600;
    draw();
    path_at("forecast", &x0, &y0, &x1, &y1);
    near(y0, y_of(0.37)), about(y1, y_of(0.46));
    ck_assert_int_eq(vb_line_bounds(&line, 1600, 0.95, &lower, &upper), VB_OK);
    path_at("bound", &x0, &y0, &x1, &y1);
    about(y1, y_of(-lower));
}
END_TEST

START_TEST(crossings_are_drawn_as_far_as_they_are_in_sight)
{
    double x, y, x1;
    chart.line = &line;
    chart.until = 1800;
    chart.early = 1700;
    chart.expected = 1800;
    chart.at = 0.20;
    strcpy(chart.due, "due 2026-01-01");
    draw();
    line_at("due", 0, &x, &y, &x1, &y);
    about(x, x_of(1700));
    ck_assert_int_eq(count("<polygon class=\"early\""), 1);
    ck_assert_int_eq(count("<path class=\"cross\""), 1);
    ck_assert_ptr_nonnull(strstr(svg, ">due 2026-01-01</text>"));
    chart.until = 1750;
    draw();
    ck_assert_int_eq(count("<polygon class=\"early\""), 1);
    ck_assert_int_eq(count("<path class=\"cross\""), 0);
    chart.until = 1650;
    draw();
    ck_assert_int_eq(count("<polygon class=\"early\"") + count("<line class=\"due\""), 0);
    ck_assert_ptr_null(strstr(svg, "2026-01-01"));
}
END_TEST

static void
happens(size_t i, double x, int planned, const char *label)
{
    event[i].x = x;
    event[i].planned = planned;
    snprintf(event[i].label, sizeof event[i].label, "%s", label);
    chart.n_events = i + 1;
}

/* Two rows: of three labels on one spot the newest two are shown, and all three lines. What
 * lies outside of the scale is not drawn. */
START_TEST(events_are_marked)
{
    double x, y, x1, y1;
    happens(0, 500, 0, "B0");
    happens(1, 1100, 0, "first build");
    happens(2, 1101, 0, "second build");
    happens(3, 1102, 0, "<third>");
    happens(4, 1290, 1, "race");
    draw();
    ck_assert_int_eq(count("<line class=\"event\""), 3);
    ck_assert_int_eq(count("<line class=\"event planned\""), 1);
    line_at("event", 2, &x, &y, &x1, &y1);
    near(x, x_of(1100)), near(x, x1);
    ck_assert_ptr_nonnull(strstr(svg, ">&lt;third&gt;</text>"));
    ck_assert_ptr_nonnull(strstr(svg, ">second build</text>"));
    ck_assert_ptr_null(strstr(svg, "first build"));
    ck_assert_ptr_null(strstr(svg, "B0"));
    ck_assert_ptr_nonnull(strstr(svg, ">race</text>"));
}
END_TEST

static double
day(const void *arg, double x)
{
    return *(const double *)arg + (x - 1000) / 10;
}

/* The meter was swapped at 900: it shows 100 to 400 now. Day 0 is 1970-01-01. */
START_TEST(scales_have_the_meter_as_shown_and_dates)
{
    double first = 365;
    chart.offset = 900;
    draw();
    ck_assert_ptr_nonnull(strstr(svg, ">200</text>"));
    ck_assert_ptr_null(strstr(svg, ">1100</text>"));
    ck_assert_ptr_null(strstr(svg, ">1971"));
    chart.day = day;
    chart.day_arg = &first;
    draw(); // 30 days: told apart by the day; 200 is 1100 running, 10 days behind new year
    ck_assert_ptr_nonnull(strstr(svg, ">01-11</text>"));
    chart.until = 1300 + 9000;
    draw(); // 930 days: by the month; 4000 shown is 390 days behind new year
    ck_assert_ptr_nonnull(strstr(svg, ">1972-01</text>"));
    first = NAN;
    draw();
    ck_assert_ptr_null(strstr(svg, ">1972"));
}
END_TEST

/* A month has seven characters of at least 6 units. */
START_TEST(dates_below_the_scale_do_not_touch)
{
    double first = 365;
    int some = 0;
    chart.day = day;
    chart.day_arg = &first;
    for (chart.until = 2900; chart.until < 30000; chart.until += 137) {
        double x, y, last = -100;
        draw();
        for (int i = 0; i < count("text-anchor=\"middle\" "); i++) {
            const char *p = piece("text-anchor=\"middle\" ", i);
            ck_assert_int_eq(sscanf(p, "x=\"%lf\" y=\"%lf\">", &x, &y), 2);
            if (!strstr(p, "-") || strstr(p, "-") > strstr(p, "</text>"))
                continue;
            if (x - last < 42)
                ck_abort_msg("until %g: dates at %g and %g", chart.until, last, x);
            last = x;
            some++;
        }
    }
    ck_assert_int_gt(some, 300);
}
END_TEST

START_TEST(limits_that_nobody_states_are_not_drawn)
{
    chart.lower = NAN;
    draw();
    ck_assert_int_eq(count("<line class=\"limit\""), 1);
    ck_assert_ptr_null(strstr(svg, "tight"));
    chart.upper = NAN;
    draw();
    ck_assert_int_eq(count("<line class=\"limit\""), 0);
    chart.n_points = 1; // no width and no height
    draw();
    ck_assert_int_eq(count("<polygon class=\"left\""), 1);
}
END_TEST

START_TEST(nothing_is_no_chart)
{
    chart.n_points = 0;
    ck_assert_int_eq(vb_chart_write(&out, 1, &chart), VB_EDOM);
    chart.n_points = 4;
    point[3].y = 1e300; // no ticks for that beside 0.2
    chart.lower = -1e308, chart.upper = 1.7e308;
    ck_assert_int_eq(vb_chart_write(&out, 1, &chart), VB_EDOM);
    point[3].y = 0.34;
    ck_assert_uint_eq(out.n, 0);
}
END_TEST

/* Every class that is drawn has a rule, so that nothing is left to the default. */
START_TEST(every_class_has_a_rule)
{
    chart.line = &line;
    chart.way = -1;
    chart.until = 1800;
    chart.early = 1700;
    chart.expected = 1750;
    strcpy(chart.due, "due");
    point[0].u = 0.01;
    happens(0, 1100, 0, "B1");
    happens(1, 1500, 1, "race");
    draw();
    point[0].u = NAN;
    for (const char *p = svg; (p = strstr(p, "class=\"")); p++) {
        char name[32], rule[40];
        ck_assert_int_eq(sscanf(p, "class=\"%31[a-z-]", name), 1);
        snprintf(rule, sizeof rule, ".%s {", name);
        ck_assert_msg(strstr(vb_chart_style, rule) != NULL, "no rule for %s", name);
    }
}
END_TEST

/* What is drawn of what is to come. */
static int
ahead(void)
{
    draw();
    return count("<path class=\"bound\"") + count("<path class=\"band\"") +
           count("<path class=\"forecast\"");
}

/* A level without the bounds about it is no forecast. */
START_TEST(a_forecast_that_cannot_be_told_is_not_drawn)
{
    chart.line = &line;
    chart.way = -1;
    chart.until = 1400;
    ck_assert_int_eq(ahead(), 3);
    chart.confidence = 1.5;
    ck_assert_int_eq(ahead(), 0);
    ck_assert_int_eq(count("<circle class=\"found\""), 3);
    chart.confidence = 0.95;
    line.w = 0;
    ck_assert_int_eq(ahead(), 0);
    line.w = 4;
    chart.until = 1150; // no further than the middle of what is known
    ck_assert_int_eq(ahead(), 0);
}
END_TEST

/* Up to today there is a line, and no bound of what is to come. */
START_TEST(nothing_ahead_has_no_bound)
{
    chart.line = &line;
    chart.way = -1;
    draw();
    ck_assert_int_eq(count("<path class=\"bound\""), 0);
    ck_assert_int_eq(count("<path class=\"forecast\""), 1);
}
END_TEST

/* One reading stands in the middle, a hundredth of its meter to each side, 1 h at least. */
START_TEST(one_reading_is_in_the_middle)
{
    double x, y, x0, x1, y0, y1;
    for (int i = 0; i < 2; i++) {
        struct vb_chart_point one = {i ? 1000 : 2, 0.40, NAN, 0};
        chart.point = &one;
        chart.n_points = 1;
        chart.n_segments = 0;
        chart.until = one.x;
        draw();
        found_at(0, &x, &y);
        line_at("limit", 0, &x0, &y0, &x1, &y1);
        near(x, (x0 + x1) / 2);
        ck_assert_ptr_nonnull(strstr(svg, i ? ">1010</text>" : ">3.0</text>"));
    }
}
END_TEST

static double
far_day(const void *arg, double running)
{
    (void)arg;
    return 1e9 + running;
}

START_TEST(days_that_are_no_dates_have_no_label)
{
    chart.day = far_day;
    draw();
    ck_assert_int_eq(count("<text class=\"date\""), 0);
    ck_assert_int_ge(count("<text class=\"tick\""), 4);
}
END_TEST

/* Of two names side by side both stand in the lowest row, whichever comes first; no name
 * takes no room, and what lies behind the end is not drawn. */
START_TEST(names_side_by_side)
{
    double y[2];
    chart.early = 1050;
    strcpy(chart.due, "due");
    event[0] = (struct vb_chart_event){.x = 1290, .label = "B2"};
    event[1] = (struct vb_chart_event){.x = 1040, .label = ""};
    event[2] = (struct vb_chart_event){.x = 5000, .label = "B3"};
    chart.n_events = 3;
    draw();
    ck_assert_int_eq(count("<line class=\"event\""), 2);
    ck_assert_int_eq(count("class=\"event-name\""), 1);
    ck_assert_ptr_null(strstr(svg, "B3"));
    ck_assert_int_eq(sscanf(strstr(piece("class=\"due-name\"", 0), " y="), " y=\"%lf", y),
                     1);
    ck_assert_int_eq(
        sscanf(strstr(piece("class=\"event-name\"", 0), " y="), " y=\"%lf", y + 1), 1);
    ck_assert(y[0] == y[1]);
}
END_TEST

/* Meters so far from what is shown that no digit of them is left. */
START_TEST(a_meter_without_digits_is_no_chart)
{
    chart.offset = 1e20;
    ck_assert_int_eq(vb_chart_write(&out, 1, &chart), VB_EDOM);
    ck_assert_uint_eq(out.n, 0);
}
END_TEST

START_TEST(the_legend_is_a_list)
{
    vb_chart_legend(&out);
    out.buf[out.n] = 0;
    out.n = 0;
    svg = out.buf;
    ck_assert_int_eq(count("<li>"), 11);
    ck_assert_int_eq(count("aria-hidden=\"true\""), 11);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("chart");
    TCase *c = tcase_create("chart");
    tcase_add_checked_fixture(c, setup, NULL);
    tcase_add_test(c, readings_are_where_the_scale_has_them);
    tcase_add_test(c, error_bars_are_twice_u);
    tcase_add_test(c, fitted_lines_are_drawn);
    tcase_add_test(c, a_forecast_goes_on_from_the_mean);
    tcase_add_test(c, a_sign_turns_the_forecast_round);
    tcase_add_test(c, crossings_are_drawn_as_far_as_they_are_in_sight);
    tcase_add_test(c, events_are_marked);
    tcase_add_test(c, scales_have_the_meter_as_shown_and_dates);
    tcase_add_test(c, dates_below_the_scale_do_not_touch);
    tcase_add_test(c, limits_that_nobody_states_are_not_drawn);
    tcase_add_test(c, nothing_is_no_chart);
    tcase_add_test(c, every_class_has_a_rule);
    tcase_add_test(c, a_forecast_that_cannot_be_told_is_not_drawn);
    tcase_add_test(c, nothing_ahead_has_no_bound);
    tcase_add_test(c, one_reading_is_in_the_middle);
    tcase_add_test(c, days_that_are_no_dates_have_no_label);
    tcase_add_test(c, names_side_by_side);
    tcase_add_test(c, a_meter_without_digits_is_no_chart);
    tcase_add_test(c, the_legend_is_a_list);
    suite_add_tcase(s, c);
    return run_suite(s);
}
