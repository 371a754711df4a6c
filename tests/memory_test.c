/*
 * Single computations of which each request for memory is refused once: they say so, leave
 * what they would have filled as it was, and keep nothing. What they say when they get
 * their memory is in their own suites; how many requests they make follows from the source.
 */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include "refuse.h"
#include "suite.h"

#include "closed_cams.h"
#include "valvebook/alert.h"
#include "valvebook/assign.h"
#include "valvebook/cams.h"
#include "valvebook/change.h"
#include "valvebook/course.h"
#include "valvebook/digest.h"
#include "valvebook/forecast.h"
#include "valvebook/gauge.h"
#include "valvebook/gauge_u.h"
#include "valvebook/mcf.h"
#include "valvebook/news.h"
#include "valvebook/powerlaw.h"
#include "valvebook/relash.h"
#include "valvebook/service.h"
#include "valvebook/shift.h"
#include "valvebook/shims.h"
#include "valvebook/start.h"

#define SAME 77.0 // what was there before

/* --- lists --------------------------------------------------------------------------- */

static char name_a[] = "A";

/* The list grows at the 1st and the 65th; each has a name of its own. */
static enum vb_err
remember_65(void)
{
    struct vb_alerts l = {0};
    const struct vb_alert a = {.engine = name_a, .kind = "lash"};
    enum vb_err e = VB_OK;
    for (size_t i = 0; !e && i < 65; i++)
        e = vb_alerts_add(&l, &a);
    enough();
    for (size_t i = 0; i < l.n; i++) // none of them half added
        ck_assert_str_eq(l.alert[i].engine, name_a);
    vb_alerts_clear(&l);
    return e;
}

START_TEST(alerts)
{
    ck_assert_int_eq(refuse_each(remember_65), 67);
}
END_TEST

/* Nine names of one point each, and 257 points of the last. */
static enum vb_err
take_profiles(void)
{
    struct vb_profiles p = {0};
    enum vb_err e = VB_OK;
    char name[16];
    for (int i = 0; !e && i < 9 + 256; i++) {
        snprintf(name, sizeof name, "L%d", i < 9 ? i : 8);
        e = vb_profiles_add(&p, name, (struct vb_lobe_point){i, 1}, 0.001);
    }
    vb_profiles_clear(&p);
    return e;
}

START_TEST(profiles)
{
    ck_assert_int_eq(refuse_each(take_profiles), 2 + 9 + 1);
}
END_TEST

static enum vb_err
take_spans(void)
{
    struct vb_spans s = {0};
    struct vb_sets t = {0};
    const struct vb_set set = {0.3, NAN, NAN, 0, 1};
    enum vb_err e = VB_OK;
    for (int i = 0; !e && i < 33; i++)
        e = vb_spans_add(&s, i, i + 1);
    for (int i = 0; !e && i < 33; i++)
        e = vb_sets_add(&t, &set);
    free(s.span);
    free(t.set);
    return e;
}

START_TEST(spans)
{
    ck_assert_int_eq(refuse_each(take_spans), 4);
}
END_TEST

/* --- statistics ---------------------------------------------------------------------- */

static const double rising[] = {1, 3, 2, 4, 6};
static const double days[] = {0, 10, 20, 30, 40};

static enum vb_err
trend(void)
{
    struct vb_trend t = {.s = (int)SAME};
    enum vb_err e = vb_mann_kendall(rising, 5, &t);
    enough();
    ck_assert((t.s == (int)SAME) == (e != VB_OK));
    return e;
}

static enum vb_err
pace(void)
{
    double p = SAME;
    enum vb_err e = vb_pace(days, rising, 5, &p);
    enough();
    ck_assert((p == SAME) == (e != VB_OK));
    return e;
}

static enum vb_err
segments(void)
{
    const struct vb_point p[] = {{.obs = {0, 0.4, 1, 0}}, {.obs = {100, 0.3, 1, 0}}};
    struct vb_segment s[2];
    size_t n = 77;
    enum vb_err e = vb_course_segments(p, 2, NAN, s, &n);
    enough();
    ck_assert_uint_eq(n, e ? 77 : 1);
    return e;
}

/* Three parts, two people, two trials. */
static struct vb_study_reading reading[12];

static void
fill_study(void)
{
    for (size_t i = 0; i < 12; i++)
        reading[i] = (struct vb_study_reading){i / 4, i / 2 % 2, i % 2,
                                               (double)(i / 4) + 0.01 * (double)(i % 3)};
}

static enum vb_err
study(void)
{
    struct vb_study s = {.parts = 77};
    enum vb_err e = vb_study_crossed(reading, 12, &s, NULL);
    enough();
    ck_assert_uint_eq(s.parts, e ? 77 : 3);
    return e;
}

static enum vb_err
shape(void)
{
    struct vb_study_shape s = {.parts = 77};
    enum vb_err e = vb_study_shape(reading, 12, &s);
    enough();
    ck_assert_uint_eq(s.parts, e ? 77 : 3);
    return e;
}

static enum vb_err
within(void)
{
    double var = SAME, df = SAME;
    enum vb_err e = vb_study_within(reading, 12, &var, &df);
    enough();
    ck_assert((df == SAME) == (e != VB_OK));
    return e;
}

START_TEST(samples)
{
    fill_study();
    ck_assert_int_eq(refuse_each(trend), 1);
    ck_assert_int_eq(refuse_each(pace), 1);
    ck_assert_int_eq(refuse_each(segments), 1);
    ck_assert_int_eq(refuse_each(shape), 2);
    ck_assert_int_eq(refuse_each(study), 3);
    ck_assert_int_eq(refuse_each(within), 1);
}
END_TEST

/* --- replacements and intervals ------------------------------------------------------ */

static const struct vb_watch watch[] = {{0, 0, 1000}, {1, 0, 800}};
static const struct vb_replaced replaced[] = {{0, 300, 1}, {1, 500, 1}, {0, 700, 1}};

static enum vb_err
mean_function(void)
{
    struct vb_mcf_step *s = NULL;
    size_t n = 77;
    enum vb_err e = vb_mcf_fit(watch, 2, 2, replaced, 3, 0.95, &s, &n);
    enough();
    ck_assert_uint_eq(n, e ? 77 : 3);
    ck_assert((s == NULL) == (e != VB_OK));
    free(s);
    return e;
}

static enum vb_err
power(void)
{
    struct vb_power p = {.shape = SAME};
    enum vb_err e = vb_power_fit(watch, 2, 2, replaced, 3, &p, NULL);
    enough();
    ck_assert((p.shape == SAME) == (e != VB_OK));
    return e;
}

static enum vb_err
belief(void)
{
    const double rate[] = {-1e-4, -2e-4, -3e-4}, var[] = {1e-10, 1e-10, 1e-10};
    struct vb_belief b = {.n = 77};
    enum vb_err e = vb_belief_fit(rate, var, 3, &b);
    enough();
    ck_assert((b.n == 77) == (e != VB_OK));
    return e;
}

static enum vb_err
interval(void)
{
    struct vb_relash_side s = {.tight = 0.2, .level = 0.4, .var = 1e-4, .valves = 4};
    double gap = SAME;
    vb_belief_sure(-1e-4, 1e-10, &s.rates);
    enum vb_err e = vb_relash_gap(&s, 1, 0.01, 1e6, &gap);
    enough();
    ck_assert((gap == SAME) == (e != VB_OK));
    return e;
}

START_TEST(ages)
{
    ck_assert_int_eq(refuse_each(mean_function), 4);
    ck_assert_int_eq(refuse_each(power), 3);
    ck_assert_int_eq(refuse_each(belief), 1);
    ck_assert_int_eq(refuse_each(interval), 1);
}
END_TEST

/* --- shims --------------------------------------------------------------------------- */

static enum vb_err
assign(void)
{
    const int64_t cost[] = {1, 2, 2, 1};
    size_t column[2] = {77, 77};
    enum vb_err e = vb_assign(cost, 2, 2, column, NULL);
    enough();
    ck_assert_uint_eq(column[0], e ? 77 : 0);
    return e;
}

static enum vb_err
choose(void)
{
    const struct vb_shim_valve v = {.present = 2500,
                                    .found = 100,
                                    .target = 200,
                                    .lo = 150,
                                    .hi = 250,
                                    .order_min = VB_SHIM_NONE,
                                    .order_max = VB_SHIM_NONE,
                                    .order_step = VB_SHIM_NONE};
    const struct vb_shim_stock stock = {2400, 1, 0};
    struct vb_shim_choice c = {.thickness = 77};
    struct vb_shim_total t = {.moved = 77};
    enum vb_err e = vb_shims_choose(&v, 1, &stock, 1, &c, &t);
    enough();
    ck_assert_int_eq(c.thickness, e ? 77 : 2400);
    ck_assert_int_eq(t.moved, e ? 77 : 1);
    return e;
}

START_TEST(shims)
{
    ck_assert_int_eq(refuse_each(assign), 6);
    ck_assert_int_eq(refuse_each(choose), 4 + 6);
}
END_TEST

/* --- cams ---------------------------------------------------------------------------- */

static const struct closed_cam harmonic = {HARMONIC, 8.5, 60, 0, 70};
static struct vb_lobe_point *table;
static size_t table_n;
static struct vb_lobe *lobe;
static struct vb_shift shift[2];
static const struct vb_timing_read read_now[] = {{{-12, 228}, 0.2, NAN, 0, 1, 0.3},
                                                 {{-11, 229}, 0.2, NAN, 0, 1, 0.3}};

static void
begin_cams(void)
{
    const struct vb_timing_read nominal = {{-10, 230}, 0, NAN, 0, 0, 0};
    vb_start();
    table = closed_table(&harmonic, 1, 0, &table_n);
    ck_assert_ptr_nonnull(table);
    ck_assert_int_eq(vb_lobe_new(table, table_n, 0, &lobe, NULL), VB_OK);
    for (int i = 0; i < 2; i++)
        ck_assert_int_eq(vb_shift_split(&nominal, &read_now[i], NULL, &shift[i], NULL),
                         VB_OK);
}

static void
end_cams(void)
{
    vb_lobe_free(lobe);
    free(table);
}

static enum vb_err
make_lobe(void)
{
    struct vb_lobe *l = NULL;
    enum vb_err e = vb_lobe_new(table, table_n, 0, &l, NULL);
    enough();
    ck_assert((l == NULL) == (e != VB_OK));
    vb_lobe_free(l);
    return e;
}

static enum vb_err
solve_lobe(void)
{
    const struct vb_train t = {lobe, 1, 1, 0};
    struct vb_lobe_events v = {.up = SAME};
    enum vb_err e = vb_lobe_solve(&t, 0.2, &v, NULL);
    enough();
    ck_assert((v.up == SAME) == (e != VB_OK));
    return e;
}

static enum vb_err
pool(void)
{
    struct vb_cam_shift s = {.n = 77};
    enum vb_err e = vb_cam_pool(shift, 2, &s);
    enough();
    ck_assert_uint_eq(s.n, e ? 77 : 2);
    return e;
}

static enum vb_err
mean(void)
{
    struct vb_cam_mean s = {.n = 77};
    enum vb_err e = vb_cam_mean_of(read_now, 2, &s, NULL);
    enough();
    ck_assert_uint_eq(s.n, e ? 77 : 2);
    return e;
}

static enum vb_err
banks(void)
{
    struct vb_bank b = {.k = SAME};
    enum vb_err e = vb_bank_compare(shift, 1, shift + 1, 1, &b);
    enough();
    ck_assert((b.k == SAME) == (e != VB_OK));
    return e;
}

START_TEST(cams)
{
    ck_assert_int_eq(refuse_each(make_lobe), 4);
    ck_assert_int_eq(refuse_each(solve_lobe), 2);
    ck_assert_int_eq(refuse_each(pool), 1);
    ck_assert_int_eq(refuse_each(mean), 1);
    ck_assert_int_eq(refuse_each(banks), 2);
}
END_TEST

/* --- what is said -------------------------------------------------------------------- */

static enum vb_err
news(void)
{
    struct vb_due_unit unit = {.name = name_a, .meter_unit = "h", .set_day = NAN};
    struct vb_due due = {.kind = VB_DUE_UNREAD, .now = 1};
    const struct vb_dues dues = {.due = &due, .n = 1, .unit = &unit, .n_units = 1};
    const struct vb_alerts none = {0};
    const struct vb_alert_wish w = {
        .due = {1000, 20, NAN, NAN, 0, 0.95, NULL, NULL}, .remind = NAN, .settle = 3};
    struct vb_news out = {.n = 77};
    enum vb_err e = vb_alert_news(&dues, &none, NULL, &w, &out);
    enough();
    ck_assert_uint_eq(out.n, e ? 77 : 1);
    if (!e)
        vb_news_clear(&out);
    return e;
}

START_TEST(said)
{
    ck_assert_int_eq(refuse_each(news), 3);
}
END_TEST

/* A line and an alert without one: which is which, room, two names and a reason; then the
 * lines, their engines and the items. */
static enum vb_err
digest(void)
{
    char reason[] = "unread";
    struct vb_due_unit unit = {.name = name_a, .meter_unit = "h", .set_day = NAN};
    struct vb_due due = {.kind = VB_DUE_UNREAD, .now = 1, .reason = reason};
    struct vb_news_item item[] = {
        {.kind = VB_NEWS_NEW, .now = {.engine = name_a}},
        {.kind = VB_NEWS_CLEARED, .due = VB_NEWS_NO_DUE, .now = {.engine = name_a}}};
    const struct vb_dues dues = {.due = &due, .n = 1, .unit = &unit, .n_units = 1};
    const struct vb_news told = {.item = item, .n = 2, .count = {1, 0, 0, 1}};
    const struct vb_alert_wish w = {.due = {1000, 20, NAN, NAN, 0, 0.95, NULL, NULL}};
    struct vb_digest g = {0};
    enum vb_err e = vb_digest_add(&g, &dues, &told, &w);
    if (!e)
        e = vb_digest_end(&g);
    enough();
    vb_digest_clear(&g);
    return e;
}

START_TEST(digests)
{
    ck_assert_int_eq(refuse_each(digest), 8);
}
END_TEST

static Suite *
memory_suite(void)
{
    Suite *s = suite_create("memory");
    TCase *t = tcase_create("computations");
    tcase_add_test(t, alerts);
    tcase_add_test(t, profiles);
    tcase_add_test(t, spans);
    tcase_add_test(t, samples);
    tcase_add_test(t, ages);
    tcase_add_test(t, shims);
    tcase_add_test(t, said);
    tcase_add_test(t, digests);
    suite_add_tcase(s, t);

    t = tcase_create("cams");
    tcase_add_checked_fixture(t, begin_cams, end_cams);
    tcase_add_test(t, cams);
    suite_add_tcase(s, t);
    return s;
}

int
main(void)
{
    return run_suite(memory_suite());
}
