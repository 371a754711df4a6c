/* Pieces of drawings: by hand, and ticks by what is promised of them. */
#include "suite.h"
#include "valvebook/svg.h"

#include <float.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

static struct vb_out out;

static const char *
written(void)
{
    out.buf[out.n] = 0;
    out.n = 0;
    return out.buf;
}

START_TEST(axes_are_straight)
{
    const struct vb_axis right = {100, 300, 40, 240}, up = {0.1, 0.5, 200, 0};
    ck_assert_double_eq_tol(vb_axis_at(&right, 100), 40, 1e-12);
    ck_assert_double_eq_tol(vb_axis_at(&right, 300), 240, 1e-12);
    ck_assert_double_eq_tol(vb_axis_at(&right, 150), 90, 1e-12);
    ck_assert_double_eq_tol(vb_axis_at(&right, 320), 260, 1e-12);
    ck_assert_double_eq_tol(vb_axis_at(&up, 0.2), 150, 1e-12);
}
END_TEST

struct scale {
    double lo, hi;
    size_t most;
    const char *ticks;
};

/* By hand: the smallest of 1, 2, 5 times a power of ten that is not too many. */
static const struct scale scales[] = {
    {0, 10, 11, "0 1 2 3 4 5 6 7 8 9 10"},
    {0, 10, 10, "0 2 4 6 8 10"},
    {0, 10, 5, "0 5 10"},
    {0, 10, 2, "0 10"},
    {0.13, 0.31, 5, "0.15 0.20 0.25 0.30"},
    {0.13, 0.31, 4, "0.15 0.20 0.25 0.30"},
    {0.13, 0.31, 3, "0.2 0.3"},
    {-0.1, 0.1, 5, "-0.10 -0.05 0.00 0.05 0.10"},
    {11803, 19487, 5, "12000 14000 16000 18000"},
    {278.2, 283.4, 5, "279 280 281 282 283"},
    {1, 9, 2, "5"},
    {123456, 123457, 3, "123456.0 123456.5 123457.0"},
    {0.1499, 0.1501, 4, "0.1499 0.1500 0.1501"},
};

START_TEST(ticks_are_round)
{
    const struct scale *s = &scales[_i];
    struct vb_ticks t;
    char text[256] = "";
    ck_assert_int_eq(vb_ticks(s->lo, s->hi, s->most, &t), VB_OK);
    for (size_t i = 0; i < t.n; i++) {
        size_t k = strlen(text);
        snprintf(text + k, sizeof text - k, "%s%.*f", i ? " " : "", t.decimals,
                 t.tick[i] + 0.0);
    }
    ck_assert_str_eq(text, s->ticks);
}
END_TEST

static unsigned long long lcg = 1;

/* Knuth's MMIX generator. */
static double
uniform(void)
{
    lcg = lcg * 6364136223846793005ULL + 1442695040888963407ULL;
    return (double)(lcg >> 11) / 9007199254740992.0;
}

/* How many multiples of a step lie in lo..hi; near ones are not asked about. */
static double
multiples(double lo, double hi, double step)
{
    return floor(hi / step * (1 + DBL_EPSILON)) - ceil(lo / step * (1 - DBL_EPSILON)) + 1;
}

/* Few enough, inside, as far apart as can be read from their decimals, and with the next
 * smaller step there would be too many. */
START_TEST(ticks_keep_their_promise)
{
    for (int round = 0; round < 20000; round++) {
        double size = pow(10, -9 + 18 * uniform());
        double lo = (uniform() - 0.5) * size * pow(10, 4 * uniform());
        double hi = lo + size * (0.01 + uniform());
        size_t most = 2 + (size_t)(uniform() * (VB_TICKS_MAX - 1));
        struct vb_ticks t;
        ck_assert_int_eq(vb_ticks(lo, hi, most, &t), VB_OK);
        if (t.n > most)
            ck_abort_msg("%g..%g: %zu ticks, not %zu", lo, hi, t.n, most);
        for (size_t i = 0; i < t.n; i++)
            if (!(t.tick[i] >= lo - 1e-9 * (hi - lo) &&
                  t.tick[i] <= hi + 1e-9 * (hi - lo)))
                ck_abort_msg("%g is not in %g..%g", t.tick[i], lo, hi);
        if (t.n < 2)
            continue;
        double step = t.tick[1] - t.tick[0], power = pow(10, floor(log10(step * 1.0001)));
        int digit = (int)lround(step / power);
        if ((digit != 1 && digit != 2 && digit != 5) ||
            fabs(step / power - digit) > 1e-3 || pow(10, -t.decimals) > step * 1.0001)
            ck_abort_msg("%g..%g: step %g, %d decimals", lo, hi, step, t.decimals);
        double smaller = digit == 5 ? 2 * power : digit == 2 ? power : power / 2;
        if (multiples(lo, hi, smaller) <= (double)most)
            ck_abort_msg("%g..%g, %zu at most: %g would do", lo, hi, most, smaller);
    }
}
END_TEST

/* Steps of 0.2 give three ticks by rounding, one too many; those of 0.5 give none. */
START_TEST(a_scale_between_two_ticks)
{
    struct vb_ticks t = {.n = 77};
    ck_assert_int_eq(vb_ticks(7.0000000000000009, 7.4000000000000012, 2, &t), VB_OK);
    ck_assert_uint_eq(t.n, 0);
    ck_assert_int_eq(vb_ticks(7, 7.4000000000000012, 2, &t), VB_OK);
    ck_assert_uint_eq(t.n, 1);
    ck_assert_double_eq(t.tick[0], 7);
}
END_TEST

START_TEST(ticks_refuse)
{
    struct vb_ticks t = {.n = 77};
    const struct scale bad[] = {
        {1, 1, 5, ""},         {2, 1, 5, ""},
        {NAN, 1, 5, ""},       {0, INFINITY, 5, ""},
        {0, 1, 1, ""},         {0, 1, VB_TICKS_MAX + 1, ""},
        {1, 1 + 1e-14, 5, ""}, {-1e308, 1.1e308, 5, ""},
        {0, 1e-300, 5, ""},
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        ck_assert_int_eq(vb_ticks(bad[i].lo, bad[i].hi, bad[i].most, &t), VB_EDOM);
    ck_assert_uint_eq(t.n, 77);
}
END_TEST

START_TEST(a_drawing_has_a_name_and_a_description)
{
    vb_svg_begin(&out, 7, 340, 240, "Lash of <HC-1>", "Closing & tight.");
    vb_svg_end(&out);
    ck_assert_str_eq(
        written(),
        "<svg viewBox=\"0 0 340 240\" role=\"img\" aria-labelledby=\"t7 d7\">\n"
        "<title id=\"t7\">Lash of &lt;HC-1&gt;</title>\n"
        "<desc id=\"d7\">Closing &amp; tight.</desc>\n</svg>\n");
}
END_TEST

START_TEST(marks_have_their_own_shapes)
{
    static const char *const want[] = {
        "<circle class=\"f\" cx=\"10.0\" cy=\"20.0\" r=\"5.0\"/>\n",
        "<polygon class=\"f\" points=\"10.0,15.0 15.0,20.0 10.0,25.0 5.0,20.0\"/>\n",
        "<polygon class=\"f\" points=\"6.0,16.0 14.0,16.0 14.0,24.0 6.0,24.0\"/>\n",
        "<polygon class=\"f\" points=\"5.0,16.0 15.0,16.0 10.0,25.0\"/>\n",
        "<path class=\"f\" d=\"M6.0 16.0L14.0 24.0M6.0 24.0L14.0 16.0\"/>\n"};
    for (int i = VB_MARK_DISC; i <= VB_MARK_CROSS; i++) {
        vb_svg_mark(&out, (enum vb_mark)i, "f", 10, 20, 5);
        ck_assert_str_eq(written(), want[i]);
    }
}
END_TEST

START_TEST(pieces_are_where_they_should_be)
{
    const double xy[][2] = {{1, 2}, {3.25, -4}, {5, 6}};
    vb_svg_bar(&out, "u", 10, 30, 50);
    ck_assert_str_eq(
        written(),
        "<path class=\"u\" d=\"M10.0 30.0V50.0M7.5 30.0H12.5M7.5 50.0H12.5\"/>\n");
    vb_svg_line(&out, "l", 1, 2, 3, 4);
    ck_assert_str_eq(written(),
                     "<line class=\"l\" x1=\"1.0\" y1=\"2.0\" x2=\"3.0\" y2=\"4.0\"/>\n");
    vb_svg_rect(&out, "r", 1, 2, 3, 4);
    ck_assert_str_eq(written(), "<rect class=\"r\" x=\"1.0\" y=\"2.0\" width=\"3.0\" "
                                "height=\"4.0\"/>\n");
    vb_svg_path(&out, "p", xy, 3, 0);
    ck_assert_str_eq(written(), "<path class=\"p\" d=\"M1.0 2.0L3.2 -4.0L5.0 6.0\"/>\n");
    vb_svg_path(&out, "p", xy, 3, 1);
    ck_assert_str_eq(written(), "<path class=\"p\" d=\"M1.0 2.0L3.2 -4.0L5.0 6.0Z\"/>\n");
    vb_svg_text(&out, "t", VB_ANCHOR_END, 1, 2, "</text><script>");
    ck_assert_str_eq(written(),
                     "<text class=\"t\" text-anchor=\"end\" x=\"1.0\" y=\"2.0\">"
                     "&lt;/text&gt;&lt;script&gt;</text>\n");
    vb_svg_text(&out, "t", VB_ANCHOR_START, 0, 0, "a");
    ck_assert_ptr_nonnull(strstr(written(), "\"start\""));
    vb_svg_text(&out, "t", VB_ANCHOR_MIDDLE, 0, 0, "a");
    ck_assert_ptr_nonnull(strstr(written(), "\"middle\""));
    vb_svg_clip_begin(&out, 4, 1, 2, 3, 5);
    vb_svg_clip_end(&out);
    ck_assert_str_eq(written(), "<clipPath id=\"c4\"><rect x=\"1.0\" y=\"2.0\" "
                                "width=\"3.0\" height=\"5.0\"/></clipPath>\n"
                                "<g clip-path=\"url(#c4)\">\n</g>\n");
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("svg");
    TCase *c = tcase_create("svg");
    tcase_add_test(c, axes_are_straight);
    tcase_add_loop_test(c, ticks_are_round, 0, sizeof scales / sizeof *scales);
    tcase_add_test(c, ticks_keep_their_promise);
    tcase_add_test(c, a_scale_between_two_ticks);
    tcase_add_test(c, ticks_refuse);
    tcase_add_test(c, a_drawing_has_a_name_and_a_description);
    tcase_add_test(c, marks_have_their_own_shapes);
    tcase_add_test(c, pieces_are_where_they_should_be);
    suite_add_tcase(s, c);
    return run_suite(s);
}
