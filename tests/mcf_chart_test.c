/* The stair of replacements, its places by hand. */
#include "suite.h"
#include "valvebook/mcf_chart.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

static struct vb_out out;
static struct vb_watch watch[] = {{0, 0, 100}, {1, 0, 100}};
static struct vb_replaced replaced[] = {{0, 40, 1}, {0, 80, 1}};
static struct vb_service service;
static struct vb_family_life life;

static const char *
chart(size_t engines, const char *family)
{
    out.n = 0;
    service = (struct vb_service){.wish = {"seat", 0, 1, 0},
                                  .watch = watch,
                                  .n_watches = engines,
                                  .engines = engines,
                                  .count = 2};
    life = (struct vb_family_life){
        .family = family, .unit = "d", .service = &service, .first_age = 0};
    ck_assert_int_eq(
        vb_mcf_fit(watch, engines, engines, replaced, 2, 0.95, &life.step, &life.n_steps),
        VB_OK);
    ck_assert_int_eq(vb_mcf_chart(&out, 7, &life), VB_OK);
    free(life.step);
    out.buf[out.n] = 0;
    return out.buf;
}

/* 0 to 100 days on 46 to 330, 0 to 2 seats on 200 to 24: 40 days are at 159.6, 80 at 273.2, one
 * seat is at 112. */
START_TEST(one_engine_by_hand)
{
    const char *s = chart(1, "two");
    ck_assert_ptr_nonnull(
        strstr(s, "<path class=\"fit\" d=\"M46.0 200.0L159.6 200.0L159.6 112.0"
                  "L273.2 112.0L273.2 24.0L330.0 24.0\"/>"));
    ck_assert_ptr_null(strstr(s, "\"band\""));
    ck_assert_ptr_nonnull(strstr(s, "two: seats replaced an engine"));
    ck_assert_ptr_nonnull(strstr(s,
                                 "2 replaced in 1 engines; from the age of 0 to 80 d an "
                                 "engine has 2.00 on average"));
    ck_assert_str_eq(s + strlen(s) - 7, "</svg>\n");
}
END_TEST

/* With two engines half as many, and a band: closed, its lower edge there and its upper back. */
START_TEST(two_engines_have_a_band)
{
    const char *s = chart(2, "two"), *band = strstr(s, "<path class=\"band\" d=\"M");
    double xy[9][2];
    ck_assert_ptr_nonnull(band);
    char *p = strchr(band, 'M');
    for (int i = 0; i < 8; i++) {
        ck_assert(*p == (i ? 'L' : 'M'));
        xy[i][0] = strtod(p + 1, &p);
        xy[i][1] = strtod(p, &p);
    }
    ck_assert(strncmp(p, "Z\"/>", 4) == 0);
    for (int i = 0; i < 4;
         i++) { // edge and back: one age, the upper bound above the lower
        ck_assert(xy[i][0] == xy[7 - i][0]);
        ck_assert_double_lt(xy[7 - i][1], xy[i][1]);
    }
    ck_assert(xy[0][0] == 159.6 && xy[3][0] == 330);
    ck_assert_double_eq_tol(xy[4][1], 24, 1e-9); // the greatest bound is the top
}
END_TEST

START_TEST(data_stay_data)
{
    const char *s = chart(1, "<b>&\"");
    ck_assert_ptr_null(strstr(s, "<b>"));
    ck_assert_ptr_nonnull(strstr(s, "&lt;b&gt;&amp;"));
}
END_TEST

START_TEST(nothing_to_draw)
{
    chart(1, "two");
    out.n = 0;
    life.n_steps = 0;
    ck_assert_int_eq(vb_mcf_chart(&out, 7, &life), VB_EDOM);
    ck_assert_uint_eq(out.n, 0);
}
END_TEST

/* Ages that no scale tells apart, and a bound without an end. */
START_TEST(no_scale)
{
    struct vb_mcf_step step = {0};
    chart(1, "two");
    life.step = &step;
    life.n_steps = 1;
    step.age = life.first_age = 100;
    step.mcf = 1;
    out.n = 0;
    ck_assert_int_eq(vb_mcf_chart(&out, 7, &life), VB_EDOM);
    life.first_age = 0;
    service.engines = 2;
    step.hi = INFINITY;
    ck_assert_int_eq(vb_mcf_chart(&out, 7, &life), VB_EDOM);
    ck_assert_uint_eq(out.n, 0);
    service.engines = 1; // which needs no bound
    ck_assert_int_eq(vb_mcf_chart(&out, 7, &life), VB_OK);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("mcf_chart");
    TCase *c = tcase_create("mcf_chart");
    tcase_add_test(c, one_engine_by_hand);
    tcase_add_test(c, two_engines_have_a_band);
    tcase_add_test(c, data_stay_data);
    tcase_add_test(c, nothing_to_draw);
    tcase_add_test(c, no_scale);
    suite_add_tcase(s, c);
    return run_suite(s);
}
