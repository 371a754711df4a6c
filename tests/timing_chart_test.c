/* The timing chart: angles are found again at places that a straight scale gives. */
#include "suite.h"
#include "valvebook/timing_chart.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

#include "valvebook/chart.h"

static struct vb_out out;
static const char *svg;
static const struct vb_timing_span none = {NAN, NAN};

static void
draw(const struct vb_timing_cam *cam, size_t n)
{
    ck_assert_int_eq(vb_timing_chart_write(&out, 3, "t", "d", cam, n), VB_OK);
    out.buf[out.n] = 0;
    out.n = 0;
    svg = out.buf;
}

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

/* The scale as the upright lines at -270 and 270 give it. */
static double
x_of(double angle)
{
    double a, b;
    ck_assert_int_eq(sscanf(piece("<line class=\"grid\" x1=\"", 0), "%lf", &a), 1);
    ck_assert_int_eq(sscanf(piece("<line class=\"grid\" x1=\"", 3), "%lf", &b), 1);
    return a + (angle + 270) / 540 * (b - a);
}

/* The i-th bar of a class reaches from angle to angle; a tenth is written. */
static double
bar_is(const char *class, int i, double from, double to)
{
    char begins[64];
    double x, y, w;
    snprintf(begins, sizeof begins, "<rect class=\"%s\" ", class);
    const char *p = piece(begins, i);
    ck_assert_ptr_nonnull(p);
    ck_assert_int_eq(sscanf(p, "x=\"%lf\" y=\"%lf\" width=\"%lf\"", &x, &y, &w), 3);
    ck_assert_double_eq_tol(x, x_of(from), 0.15);
    ck_assert_double_eq_tol(x + w, x_of(to), 0.2);
    return y;
}

/* Inlet opens 12 BTDC and closes 45 ABDC, exhaust opens 50 BBDC and closes 8 ATDC: the
 * example of valvebook(7). */
START_TEST(bars_are_where_the_scale_has_them)
{
    const struct vb_timing_cam cam[] = {
        {"I", {-12, 225}, {-8, 229}, {-11, 226}},
        {"<E>", {-230, 8}, none, none},
    };
    draw(cam, 2);
    ck_assert_int_eq(count("<rect class=\"now\""), 2);
    ck_assert_int_eq(count("<rect class=\"last\""), 1);
    double y0 = bar_is("now", 0, -12, 225), y1 = bar_is("last", 0, -8, 229);
    double y2 = bar_is("now", 1, -230, 8);
    ck_assert(y0 < y1 && y1 < y2);
    ck_assert_int_eq(count("<line class=\"nominal\""), 3);
    ck_assert_ptr_nonnull(strstr(svg, ">&lt;E&gt;</text>"));
    ck_assert_ptr_nonnull(strstr(svg, ">overlap</text>"));
    ck_assert_ptr_nonnull(strstr(svg, ">-270</text>"));
}
END_TEST

/* Beyond 360 it goes on at -360, and the other way round; an end of the drawing is none of
 * the cam's. */
START_TEST(what_leaves_at_one_end_enters_at_the_other)
{
    const struct vb_timing_cam cam[] = {{"I", {300, 400}, {-400, -300}, {300, 400}}};
    draw(cam, 1);
    ck_assert_int_eq(count("<rect class=\"now\""), 2);
    bar_is("now", 0, -360, -320);
    bar_is("now", 1, 300, 360);
    ck_assert_int_eq(count("<rect class=\"last\""), 2);
    bar_is("last", 0, -360, -300);
    bar_is("last", 1, 320, 360);
    ck_assert_int_eq(count("<line class=\"nominal\""), 4); // two lines, two uprights
}
END_TEST

START_TEST(nothing_known_is_nothing_drawn)
{
    const struct vb_timing_cam cam[] = {{"I", none, {NAN, 10}, {10, NAN}}};
    draw(cam, 1);
    ck_assert_int_eq(count("<rect "), 0);
    ck_assert_int_eq(count("<line class=\"nominal\""), 0);
}
END_TEST

START_TEST(spans_that_cannot_be_are_refused)
{
    const struct vb_timing_span bad[] = {{10, 10},   {20, 10},    {-721, -700},
                                         {700, 721}, {-361, 361}, {-INFINITY, 0}};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        for (int k = 0; k < 3; k++) {
            struct vb_timing_cam cam = {"I", none, none, none};
            *(k == 0 ? &cam.now : k == 1 ? &cam.last : &cam.nominal) = bad[i];
            ck_assert_int_eq(vb_timing_chart_write(&out, 1, "t", "d", &cam, 1), VB_EDOM);
        }
    ck_assert_int_eq(vb_timing_chart_write(&out, 1, "t", "d", NULL, 0), VB_EDOM);
    ck_assert_uint_eq(out.n, 0);
}
END_TEST

START_TEST(every_class_has_a_rule)
{
    const struct vb_timing_cam cam[] = {{"I", {-12, 225}, {-8, 229}, {-11, 226}}};
    draw(cam, 1);
    for (const char *p = svg; (p = strstr(p, "class=\"")); p++) {
        char name[32], rule[40];
        ck_assert_int_eq(sscanf(p, "class=\"%31[a-z-]", name), 1);
        snprintf(rule, sizeof rule, ".%s {", name);
        ck_assert_msg(strstr(vb_chart_style, rule) != NULL, "no rule for %s", name);
    }
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("timing_chart");
    TCase *c = tcase_create("timing_chart");
    tcase_add_test(c, bars_are_where_the_scale_has_them);
    tcase_add_test(c, what_leaves_at_one_end_enters_at_the_other);
    tcase_add_test(c, nothing_known_is_nothing_drawn);
    tcase_add_test(c, spans_that_cannot_be_are_refused);
    tcase_add_test(c, every_class_has_a_rule);
    suite_add_tcase(s, c);
    return run_suite(s);
}
