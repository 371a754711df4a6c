/*
 * What is thought of a valve when its family, its neighbours and its past are considered.
 * Expected numbers: tests/r/state.R, R 4.2.2, or by hand where it says so. The valves scatter
 * by less than the rounding of a reading leaves, so that readings are `scale` times those of
 * the script, and with them all lengths, variances of them and rates.
 */
#include <check.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "suite.h"
#include "valvebook/fleet.h"
#include "valvebook/quantity.h"

#define X      6  // the cylinder that is looked at; 1 to 5 are the base
#define VISITS 16 // at 0, 100, 200 ... h

static double scale;
static struct vb_family family;
static struct vb_visit visit[VISITS];
static struct vb_event event[1];
static struct vb_lash lash[64];
static struct vb_engine engine;
static struct vb_fleet fleet;
static struct vb_state st;
static const struct vb_life *life; // that st speaks of

static void
begin(const char *name)
{
    engine = (struct vb_engine){.name = name,
                                .family = &family,
                                .family_name = "depot6",
                                .meter_unit = "h",
                                .visit = visit,
                                .n_visits = VISITS,
                                .event = event,
                                .lash = lash};
}

static void
setup(void)
{
    scale = 4;
    vb_family_init(&family);
    memset(event, 0, sizeof event);
    memset(&fleet, 0, sizeof fleet);
    for (int i = 0; i < VISITS; i++)
        visit[i] =
            (struct vb_visit){.day = 100 + 10 * i, .meter = 100 * i, .running = 100 * i};
    begin("D-1");
}

static void
teardown(void)
{
    vb_fleet_clear(&fleet);
}

static void
put(int cyl, size_t at, double found, double left, double u)
{
    lash[engine.n_lash++] =
        (struct vb_lash){at, {cyl, 'E', 0}, scale * found, scale * left, u, NAN};
}

/* Left at the first visit, found at those behind it. */
static void
series(int cyl, const double *y, size_t n)
{
    put(cyl, 0, NAN, y[0], NAN);
    for (size_t i = 1; i < n; i++)
        put(cyl, i, y[i], NAN, NAN);
}

#define COUNT(...)       (sizeof((const double[]){__VA_ARGS__}) / sizeof(double))
#define SERIES(cyl, ...) series(cyl, (const double[]){__VA_ARGS__}, COUNT(__VA_ARGS__))

static void
base_1(void)
{
    SERIES(1, 0.40, 0.385, 0.372, 0.361);
    lash[engine.n_lash - 1].left = scale * 0.40;
    put(1, 4, 0.388, NAN, NAN);
}

static void
base_3(void)
{
    SERIES(3, 0.40, 0.379, 0.365, 0.342, 0.327);
}

/* Five valves; the first is set once in between. */
static void
base(void)
{
    base_1();
    SERIES(2, 0.40, 0.391, 0.374, 0.369, 0.350);
    base_3();
    SERIES(4, 0.40, 0.388, 0.381, 0.366, 0.361);
    SERIES(5, 0.40, 0.383, 0.359, 0.350, 0.329);
}

static void
add(void)
{
    ck_assert_int_eq(vb_fleet_add(&fleet, &engine, 1000), VB_OK);
}

/* The newest life of this cylinder of the first engine. */
static void
look(int cyl)
{
    size_t at = fleet.lives.n;
    for (size_t i = 0; i < fleet.lives.n; i++)
        if (fleet.lives.life[i].engine == 0 && fleet.lives.life[i].valve.cyl == cyl)
            at = i;
    ck_assert_uint_lt(at, fleet.lives.n);
    life = &fleet.lives.life[at];
    vb_fleet_state(&fleet, at, &st);
}

static void
judge(int cyl)
{
    add();
    ck_assert_int_eq(vb_fleet_pool(&fleet), VB_OK);
    look(cyl);
}

static void
same(double got, double want)
{
    ck_assert_double_eq_tol(got, want, 1e-9 * fabs(want));
}

static void
rates(double own, double own_se, double est, double est_se)
{
    same(st.own, scale * own);
    same(sqrt(st.own_var), scale * own_se);
    same(st.rate, scale * est);
    same(sqrt(st.var), scale * est_se);
}

static void
step(double off, double sd, double p)
{
    same(st.off, scale * off);
    same(st.off_sd, scale * sd);
    same(st.step.t, off / sd);
    same(vb_step_p(&st.step), p);
}

/* --- rates -------------------------------------------------------------------------- */

START_TEST(two_readings_borrow)
{
    base();
    SERIES(X, 0.40, 0.37);
    judge(X);
    same(vb_fleet_group(&fleet, life)->s2, scale * scale * 7.88363636363639e-06);
    ck_assert_double_eq(vb_fleet_group(&fleet, life)->pool.df, 15);
    rates(-0.0003, 3.97080252937272e-05, -0.000221165233811616, 2.81131344836062e-05);
    same(st.lead, scale * (-0.0003 + 0.000141932535050865));
    ck_assert_int_eq(st.way, -1);
    step(-0.0158067464949135, 0.00562264471416253, 0.0131571581949169);
    ck_assert_str_eq(st.hint, "");
}
END_TEST

/* Closing 0.1 mm a visit it would read less than 0 at the fourth, which nobody can: no step, and
 * no reading looser of late. Of a valve that hardly closed it is a step. */
START_TEST(no_gap_is_no_step_looser)
{
    scale = 1;
    base();
    SERIES(X, 0.40, 0.30, 0.21, 0.10, 0);
    lash[engine.n_lash - 1].visit = 7;
    judge(X);
    ck_assert(life->no_gap && isnan(st.step.t) && isnan(st.off) && !st.step.step);
    ck_assert_int_eq(st.slow, 0);
    ck_assert_str_eq(st.hint, "closes faster than the others: seat or stem?");
    vb_fleet_clear(&fleet);
    for (size_t i = engine.n_lash - 4; i < engine.n_lash - 1; i++)
        lash[i].found = 0.39;
    judge(X);
    ck_assert(life->no_gap && st.step.t < 0 && st.step.step);
}
END_TEST

START_TEST(one_reading_has_the_familys_rate)
{
    base();
    SERIES(X, 0.40);
    judge(X);
    ck_assert_double_nan(st.own);
    same(st.rate, scale * -0.000141932535050865);
    same(sqrt(st.var), scale * 3.98081158238205e-05);
    ck_assert_int_eq(st.way, -1);
    ck_assert_double_nan(st.lead);
    ck_assert_double_nan(vb_step_p(&st.step));
    ck_assert_double_nan(st.off);
    ck_assert_double_nan(st.neighbours);
}
END_TEST

/* Read without a meter only: it belongs to the family, and nothing can be said of it. */
START_TEST(never_read_with_a_meter)
{
    base();
    visit[VISITS - 1].running = NAN;
    put(X, VISITS - 1, 0.3, NAN, NAN);
    judge(X);
    ck_assert(life->wear.n == 0 && life->no_meter == 1);
    ck_assert_double_nan(st.own);
    ck_assert_double_nan(st.off);
    ck_assert(!st.has_verdict && isnan(vb_fleet_lash_u(&fleet, life)));
}
END_TEST

/* Found at 0.38 and set to 0.41 at one visit, by a gauge of 0.02: what counts is what was
 * left. */
START_TEST(set_at_the_last_visit)
{
    base();
    put(X, 0, NAN, 0.40, 0.02);
    put(X, 1, 0.39, NAN, 0.02);
    put(X, 2, 0.38, 0.41, 0.02);
    judge(X);
    ck_assert(life->newest.lash == scale * 0.38 && life->wear.now == scale * 0.41);
    same(vb_fleet_lash_u(&fleet, life),
         sqrt(vb_fleet_group(&fleet, life)->s2) * 0.02 / VB_U_REFERENCE);
}
END_TEST

/* Left at 0.41 at a visit where nobody wrote down how it was found: the newest that can be
 * tested is of the visit before. */
START_TEST(only_left_at_the_last_visit)
{
    base();
    put(X, 0, NAN, 0.40, NAN);
    put(X, 1, 0.39, NAN, NAN);
    put(X, 2, NAN, 0.41, 0.02);
    judge(X);
    ck_assert(life->newest.meter == 100 && life->wear.now_meter == 200);
    same(vb_fleet_lash_u(&fleet, life),
         sqrt(vb_fleet_group(&fleet, life)->s2) * 0.02 / VB_U_REFERENCE);
}
END_TEST

/* A neighbour that was read once has no rate to be compared with. */
START_TEST(a_neighbour_without_a_rate)
{
    base();
    judge(1);
    double among_five = st.neighbours;
    ck_assert(!isnan(among_five));
    vb_fleet_clear(&fleet);
    begin("D-1");
    base();
    SERIES(X, 0.40);
    judge(1);
    same(st.neighbours, among_five);
}
END_TEST

/* What cannot be reckoned is left out, and the rest stands. */
START_TEST(numbers_out_of_reason)
{
    base();
    SERIES(X, 0.40, 0.39, 0.38, 0.37);
    judge(X);
    size_t at = (size_t)(life - fleet.lives.life);
    struct vb_life *l = &fleet.lives.life[at];
    double lash_was = l->newest.lash, rate_was = l->wear.rate;
    ck_assert(!isnan(st.off) && !isnan(st.neighbours));
    l->newest.lash = INFINITY; // no step of it
    vb_fleet_state(&fleet, at, &st);
    ck_assert_double_nan(st.off);
    ck_assert_double_nan(vb_step_p(&st.step));
    ck_assert(!isnan(st.neighbours));
    l->newest.lash = lash_was;
    l->wear.rate = INFINITY; // no comparison with its neighbours
    vb_fleet_state(&fleet, at, &st);
    ck_assert(isnan(st.neighbours) && !st.odd);
    l->wear.rate = rate_was;
    fleet.group[l->group].var[0] = 0; // no family
    vb_fleet_state(&fleet, at, &st);
    ck_assert(st.rate == st.own && st.own == rate_was);
    ck_assert_double_nan(st.lead);
    ck_assert_double_nan(st.neighbours);
}
END_TEST

/* In its last life it was read once: there is no rate to be faster than. */
START_TEST(a_last_life_without_a_rate)
{
    base();
    put(X, 0, NAN, 0.40, NAN);
    put(X, 1, NAN, 0.40, NAN);
    for (size_t i = 2; i < 6; i++)
        put(X, i, 0.40 - 0.01 * (double)i, NAN, NAN);
    event[0] = (struct vb_event){.day = 105, .renews = VB_RENEWS_LASH, .at = {X, 'E', 0}};
    engine.n_events = 1;
    judge(X);
    ck_assert(life->number == 1 && life->wear.n == 5);
    ck_assert_double_nan(st.vs_last);
}
END_TEST

/* 0.3 mm in 1000 h before the event and 0.05 since; the others scatter by hundredths. */
START_TEST(slower_than_before)
{
    base();
    put(X, 0, NAN, 0.40, NAN);
    for (size_t i = 1; i < 5; i++)
        put(X, i, 0.40 - 0.03 * (double)i, NAN, NAN);
    put(X, 5, NAN, 0.40, NAN);
    for (size_t i = 6; i < 11; i++)
        put(X, i, 0.40 - 0.005 * (double)(i - 5), NAN, NAN);
    event[0] = (struct vb_event){.day = 145, .renews = VB_RENEWS_LASH, .at = {X, 'E', 0}};
    engine.n_events = 1;
    judge(X);
    same(st.vs_last, scale * 2.5e-4);
    ck_assert_ptr_nonnull(strstr(st.hint, "slower than in the last build"));
}
END_TEST

/* 140 valves of a side that all move alike but the first: it is held against 128 of them. */
START_TEST(more_neighbours_than_are_looked_at)
{
    static struct vb_lash many[140 * 3];
    begin("D-1");
    engine.lash = many;
    for (int k = 0; k < 140; k++)
        for (size_t i = 0; i < 3; i++) {
            double moved = (k ? 0.01 : 0.02) * (double)i + (i == 1 ? 0.001 : 0);
            many[engine.n_lash++] = (struct vb_lash){
                i, {1 + k / 2, 'E', 1 + k % 2}, 0.4 - moved, NAN, NAN, NAN};
        }
    add();
    ck_assert_int_eq(vb_fleet_pool(&fleet), VB_OK);
    vb_fleet_state(&fleet, 0, &st);
    double var = fleet.group[0].s2 / 20000; // 100 h before the mean, and behind
    ck_assert_double_eq_tol(st.neighbours, -1e-4 / sqrt(var + var / 128), 1e-6);
}
END_TEST

/* Readings of another family, and of the inlet side of its own, are nobody's help. */
START_TEST(alone_it_keeps_its_own)
{
    base_1();
    add();
    begin("D-2");
    engine.family_name = "depot7";
    base();
    add();
    begin("D-3");
    base();
    for (size_t i = 0; i < engine.n_lash; i++)
        lash[i].valve.side = 'I';
    judge(1);
    rates(-0.00012909090909091, 5.19588733317692e-06, -0.00012909090909091,
          5.19588733317692e-06);
    ck_assert_double_nan(st.lead);
    ck_assert_int_eq(st.stands_out, 0);
}
END_TEST

/* One reading and no other valve with a rate: nothing can be said. */
START_TEST(nothing_is_made_of_nothing)
{
    family.lash_min[1] = 0.45;
    SERIES(X, 0.40);
    judge(X);
    ck_assert_double_nan(st.own);
    ck_assert_double_nan(st.rate);
    ck_assert_int_eq(st.way, 0);
    ck_assert_int_eq(st.has_verdict, 0); // no scatter, so no guard band
    ck_assert_str_eq(st.hint, "");
}
END_TEST

/* 0.3684 is 3.096 standard deviations from the others, 0.3694 is 2.918. */
START_TEST(far_out_keeps_its_own)
{
    base();
    SERIES(X, 0.40, 0.3684);
    judge(X);
    ck_assert_int_eq(st.stands_out, 1);
    rates(-0.000316, 3.97080252937272e-05, -0.000316, 3.97080252937272e-05);
    ck_assert_str_eq(st.hint, "closes faster than the others: seat or stem?");
}
END_TEST

START_TEST(not_so_far_out_borrows)
{
    base();
    SERIES(X, 0.40, 0.3694);
    judge(X);
    ck_assert_int_eq(st.stands_out, 0);
    rates(-0.000306, 3.97080252937272e-05, -0.000224172786268521, 2.81131344836062e-05);
}
END_TEST

/*
 * 5.46 standard deviations, but from one other: which of the two is odd, nobody knows,
 * and one is no family to borrow from.
 */
START_TEST(from_one_other_nobody_stands_out)
{
    base_1();
    base_3();
    judge(1);
    ck_assert_int_eq(st.stands_out, 0);
    rates(-0.00012909090909091, 7.93048308638718e-06, -0.00012909090909091,
          7.93048308638718e-06);
}
END_TEST

/* It stands out, but because it wears less than the others: nothing to look for. */
START_TEST(wearing_less_is_no_hint)
{
    base();
    SERIES(X, 0.40, 0.399, 0.398, 0.396, 0.395, 0.394, 0.393, 0.392, 0.3905);
    judge(X);
    ck_assert_int_eq(st.stands_out, 1);
    ck_assert_int_eq(st.odd, 0); // R: qt(1 - 0.00135, 22) = 3.38; qnorm would be 3.00
    same(st.own, scale * -1.18333333333334e-05);
    same(st.neighbours, 3.23043486356623);
    ck_assert_double_gt(st.lead, 0);
    ck_assert_int_eq(st.way, -1);
    ck_assert_str_eq(st.hint, "");
}
END_TEST

/* lm: |t| = 4.347 and 4.186 at df = 2, where the 97.5 % point is 4.303. */
START_TEST(a_way_is_two_sided)
{
    const double y[] = {0.370, 0.369};
    for (int i = 0; i < 2; i++) {
        SERIES(X, 0.40, 0.39, 0.388, y[i]);
        judge(X);
        ck_assert_int_eq(st.way, i ? 0 : -1);
        vb_fleet_clear(&fleet);
        begin("D-1");
    }
}
END_TEST

/* --- uncertainty of readings -------------------------------------------------------- */

START_TEST(stated_uncertainties_weigh)
{
    const double u[] = {NAN, 0.02, 0.005, 0.008};
    base();
    SERIES(X, 0.40, 0.385, 0.372, 0.350);
    for (size_t i = 0; i < 4; i++)
        lash[engine.n_lash - 4 + i].u = u[i];
    judge(X);
    same(vb_fleet_group(&fleet, life)->s2, scale * scale * 9.57269267567616e-06);
    rates(-0.000163570287539936, 1.29105023353435e-05, -0.000161491139806338,
          1.22738490779711e-05);
    step(-0.00797152124620748, 0.00318919495855653, 0.0236961313672181);
    family.lash_min[1] = scale * 0.2;
    look(X);
    same(st.verdict.band, scale * 0.0043058423345231);
}
END_TEST

/* Four valves that scatter by 0.001 mm, read to u = 0.02 mm at the first visits. */
static void
quiet(size_t with_u)
{
    for (int cyl = 1; cyl <= 4; cyl++) {
        SERIES(cyl, 0.40, 0.386 + cyl / 1000.0, 0.37, 0.356);
        for (size_t i = 0; i < with_u; i++)
            lash[engine.n_lash - 4 + i].u = 0.02;
    }
}

START_TEST(scatter_is_not_below_u)
{
    scale = 1;
    quiet(3);
    judge(1);
    same(vb_fleet_group(&fleet, life)->s2, 1e-4); // 0.01 mm, squared
    rates(-0.000148709677419355, 6.72021505032247e-05, -0.000150645161290322,
          3.36010752516124e-05);
    step(0.00057333333333337, 0.0170098010962308, 0.974052526937117);
}
END_TEST

/* By hand: 0.01 mm / sqrt(12), and not sqrt(1.4466e-6) = 0.0012 mm. */
START_TEST(scatter_is_not_below_rounding)
{
    scale = 1;
    quiet(0);
    judge(1);
    ck_assert_double_eq_tol(vb_fleet_lash_u(&fleet, life), 0.0028867513459481, 1e-15);
    vb_fleet_clear(&fleet);
    begin("D-1");
    for (int cyl = 1; cyl <= 4; cyl++) // to the last digit
        SERIES(cyl, 0.40, 0.39, 0.38, 0.37);
    SERIES(X, 0.40, 0.39, 0.38, 2.29);
    judge(X);
    ck_assert(st.step.step && st.off > 1.9);
    // by its own line: 3 readings about 100 h, Sxx 20000 h2, and 200 h on
    ck_assert_double_eq_tol(st.off_sd, 0.0028867513459481 * sqrt(1 / 3.0 + 2 + 1), 2e-6);
}
END_TEST

START_TEST(half_with_u_are_not_most)
{
    quiet(2);
    judge(1);
    same(vb_fleet_group(&fleet, life)->s2, scale * scale * 1.44662921348315e-06);
    rates(-0.000148426966292135, 8.0633146597794e-06, -0.000150280898876404,
          4.0316573298897e-06);
}
END_TEST

/* --- verdict ------------------------------------------------------------------------ */

/*
 * By hand: 0.37 mm, u = s = sqrt(7.8836e-6) mm, t(0.95, 15) = 1.7530504, so the band is
 * 1.7530504 x 0.0028078 = 0.0049222 mm; limits a hair on either side of it.
 */
START_TEST(verdicts_have_a_guard_band)
{
    const double band = 0.00492218217368882, hair = 1e-9, y = 0.37;
    const struct {
        double min, max;
        enum vb_verdict is;
    } k[] = {{y - band - hair, NAN, VB_VERDICT_IN},
             {y - band + hair, NAN, VB_VERDICT_CLOSE},
             {y + band - hair, NAN, VB_VERDICT_CLOSE},
             {y + band + hair, NAN, VB_VERDICT_OUT},
             {0.2, y + band + hair, VB_VERDICT_IN},
             {0.2, y + band - hair, VB_VERDICT_CLOSE},
             {0.2, y - band + hair, VB_VERDICT_CLOSE},
             {NAN, y - band - hair, VB_VERDICT_OUT}};
    base();
    SERIES(X, 0.40, 0.37);
    judge(X);
    ck_assert_int_eq(st.has_verdict, 0); // nobody has stated a limit
    for (size_t i = 0; i < sizeof k / sizeof *k; i++) {
        family.lash_min[1] = scale * k[i].min;
        family.lash_max[1] = scale * k[i].max;
        look(X);
        ck_assert_int_eq(st.has_verdict, 1);
        ck_assert_int_eq(st.verdict.verdict, k[i].is);
    }
}
END_TEST

/* --- changes ------------------------------------------------------------------------ */

START_TEST(the_newest_reading_steps)
{
    base();
    SERIES(X, 0.40, 0.39, 0.37, 0.30);
    judge(X);
    step(-0.0571201765570123, 0.00479042066270785, 2.25617326261017e-09);
    ck_assert_int_eq(st.step.step, 1);
    ck_assert_ptr_eq(strstr(st.hint, "step, tighter: "), st.hint);
}
END_TEST

/* Set anew at 200 h: the level is that of the last interval, the rate that of both. */
START_TEST(a_step_behind_a_setting)
{
    base();
    SERIES(X, 0.40, 0.385, 0.371);
    lash[engine.n_lash - 1].left = scale * 0.40;
    put(X, 3, 0.386, NAN, NAN);
    put(X, 4, 0.34, NAN, NAN);
    judge(X);
    rates(-0.0002225, 2.71144149543466e-05, -0.000194152227570874, 2.18085127406142e-05);
    step(-0.0314459872731084, 0.00395679053513638, 3.99283264356204e-07);
    ck_assert_int_eq(st.step.step, 1);
}
END_TEST

/* p = 0.189 of the newest by itself, 0.00025 of the newest two. */
START_TEST(the_newest_two_step_together)
{
    base();
    SERIES(X, 0.40, 0.385, 0.372, 0.337, 0.3175);
    judge(X);
    step(-0.0233169825617539, 0.0049840013842278, 0.000251771888668394);
    ck_assert_int_eq(st.step.step, 1);
    ck_assert_str_eq(st.hint, "step, tighter: bent valve, lock nut or misreading?");
}
END_TEST

/* Both tests see it: the newest reading is the one that is named. */
START_TEST(one_reading_is_enough)
{
    base();
    SERIES(X, 0.40, 0.385, 0.372, 0.33, 0.20);
    judge(X);
    step(-0.123382673552366, 0.00646439362965578, 6.41616659133597e-13);
    ck_assert_int_eq(st.step.step, 1);
}
END_TEST

/* Six valves of one engine, the first n of which read 0.1 mm looser at the fifth visit, one
 * of them at the sixth. Others of the family say what scatter is. */
static void
together(int n, int later)
{
    const double y[] = {0.40, 0.388, 0.374, 0.362, 0.349};
    for (int c = 1; c <= X; c++) {
        series(c, y, 4);
        put(c, c == later ? 5 : 4, y[4] + (c <= n ? 0.1 : 0), NAN, NAN);
    }
    add();
    const char *others[] = {"D-2", "D-3", "D-4"};
    for (int i = 0; i < 3; i++) {
        begin(others[i]);
        base();
        if (i < 2)
            add();
    }
    judge(1);
}

/* One cause for all of them is likelier than four. */
START_TEST(most_valves_step_at_once)
{
    const struct {
        int n, later;
        const char *want;
    } k[] = {
        {4, 0,
         "step, looser, with 4 of 6 valves: a setting not written down, another engine "
         "or gauge?"},
        {3, 0, "step, looser: lock nut, carbon under the seat or misreading?"},
        {4, 2,
         "step, looser, with 3 of 5 valves: a setting not written down, another engine "
         "or gauge?"},
        {3, 2, "step, looser: lock nut, carbon under the seat or misreading?"},
    };
    for (size_t i = 0; i < sizeof k / sizeof *k; i++) {
        together(k[i].n, k[i].later);
        ck_assert_int_eq(st.step.step, 1);
        ck_assert_str_eq(st.hint, k[i].want);
        vb_fleet_clear(&fleet);
        begin("D-1");
    }
    together(4, 0);
    look(5);
    ck_assert_int_eq(st.step.step, 0);
    ck_assert_str_eq(st.hint, "");
}
END_TEST

/* What is left is no step: the reading found at that visit is what is tested. */
START_TEST(a_setting_is_no_step)
{
    base();
    SERIES(X, 0.40, 0.385, 0.371);
    lash[engine.n_lash - 1].left = scale * 0.25;
    judge(X);
    ck_assert_int_eq(st.step.step, 0);
    ck_assert_double_gt(vb_step_p(&st.step), 0.5); // 0.014 after 0.015 mm
    ck_assert_double_lt(fabs(st.off), scale * 0.01);
}
END_TEST

/* The line goes on from the newest reading, or from the mean of its interval. */
static void
goes_on_from(double lash_mean, double meter, double w)
{
    struct vb_line line;
    ck_assert_int_eq(vb_fleet_line(&fleet, life, &st, &line), 1);
    same(line.ybar, scale * lash_mean);
    same(line.mbar, meter);
    same(line.w, w);
    same(line.rate, st.rate);
}

/* Towards the limit it moves to, a valve that stepped stands where it was read. */
START_TEST(a_step_ahead_moves_the_line)
{
    base();
    SERIES(X, 0.40, 0.39, 0.37, 0.30);
    judge(X);
    ck_assert_int_eq(st.step.step, 1);
    goes_on_from(0.30, 300, 1);
    vb_fleet_clear(&fleet);
    begin("D-1");
    base();
    SERIES(X, 0.40, 0.385, 0.371, 0.357, 0.383);
    judge(X);
    ck_assert_int_eq(st.step.step, 1);
    ck_assert_double_gt(st.step.t, 0);
    ck_assert_double_lt(st.rate, 0);
    goes_on_from((0.40 + 0.385 + 0.371 + 0.357 + 0.383) / 5, 200, 5);
}
END_TEST

/* Set at that visit, it stands where it was left. */
START_TEST(a_step_that_was_set_right)
{
    base();
    SERIES(X, 0.40, 0.39, 0.37, 0.30);
    lash[engine.n_lash - 1].left = scale * 0.40;
    judge(X);
    ck_assert_int_eq(st.step.step, 1);
    goes_on_from(0.40, 300, 1);
}
END_TEST

/* The same readings as below: with eleven they lean, with five they do not. */
START_TEST(a_slow_change_moves_the_line)
{
    const double y[] = {0.40,  0.386, 0.377, 0.364, 0.352, 0.337,
                        0.323, 0.306, 0.290, 0.270, 0.249};
    base();
    series(X, y, 11);
    judge(X);
    ck_assert_int_eq(st.slow, -1);
    goes_on_from(0.249, 1000, 1);
    vb_fleet_clear(&fleet);
    begin("D-1");
    base();
    series(X, y, 5);
    judge(X);
    ck_assert_int_eq(st.slow, 0);
    goes_on_from(1.879 / 5, 200, 5); // 0.40 + 0.386 + 0.377 + 0.364 + 0.352
}
END_TEST

/* The sum of the lower side ends at 4.429 with ten readings, beyond 5 with eleven. */
START_TEST(a_slow_change_adds_up)
{
    const double y[] = {0.40,  0.386, 0.377, 0.364, 0.352, 0.337,
                        0.323, 0.306, 0.290, 0.270, 0.249};
    const double q[] = {0.00204124145231929,  -0.00036514837167001, -0.000316227766016803,
                        -0.00234622290176398, -0.00243975018237135, -0.0046916846400739,
                        -0.00507092552837103, -0.00842749828079054};
    for (size_t n = 10; n <= 11; n++) {
        base();
        series(X, y, n);
        judge(X);
        struct vb_corner c[16];
        struct vb_run run = {0};
        double got[16];
        size_t n_got = 0;
        for (size_t i = 0; i < n; i++) {
            const struct vb_obs o = {100 * (double)i, scale * y[i], 1, 0};
            n_got += vb_run_next(&run, &o, &got[n_got]) ? 1u : 0u;
        }
        ck_assert_uint_eq(n_got, n - 2);
        for (size_t i = 0; i < 8; i++)
            same(got[i], scale * q[i]);
        ck_assert_uint_eq(life->n_tighter, vb_cusum_corners(got, n_got, -1, c));
        for (size_t i = 0; i < life->n_tighter; i++)
            same(fleet.lives.corner[life->corner_at + life->n_looser + i].sum, c[i].sum);
        ck_assert_int_eq(st.slow, n == 10 ? 0 : -1);
        vb_fleet_clear(&fleet);
        begin("D-1");
    }
}
END_TEST

/* What the CUSUM says of these residuals, in standard deviations. */
static int
slow(const double *z)
{
    double q[6], sd = sqrt(vb_fleet_group(&fleet, life)->s2);
    static struct vb_corner corner[12];
    struct vb_corner *own = fleet.lives.corner;
    struct vb_life *l = &fleet.lives.life[life - fleet.lives.life];
    for (size_t i = 0; i < 6; i++)
        q[i] = z[i] * sd;
    fleet.lives.corner = corner;
    l->corner_at = 0;
    l->n_looser = vb_cusum_corners(q, 6, 1, corner);
    l->n_tighter = vb_cusum_corners(q, 6, -1, corner + l->n_looser);
    look(X);
    fleet.lives.corner = own;
    return st.slow;
}

/* By hand, k = 0.5 and h = 5: 5 x (1.51 - 0.5) = 5.05, and 5 x (1.49 - 0.5) = 4.95. */
START_TEST(residuals_add_up)
{
    base();
    SERIES(X, 0.40, 0.386, 0.372, 0.358, 0.344, 0.33, 0.316, 0.302);
    judge(X);
    ck_assert_int_eq(slow((const double[]){0, 1.51, 1.51, 1.51, 1.51, 1.51}), 1);
    ck_assert_str_eq(st.hint, "reads looser of late than its rate says");
    ck_assert_int_eq(slow((const double[]){0, 1.49, 1.49, 1.49, 1.49, 1.49}), 0);
    ck_assert_int_eq(slow((const double[]){0, -1.51, -1.51, -1.51, -1.51, -1.51}), -1);
    ck_assert_str_eq(st.hint, "reads tighter of late than its rate says");
    // it forgets what is below 0: 5.05 although -3 came first
    ck_assert_int_eq(slow((const double[]){-3, 1.51, 1.51, 1.51, 1.51, 1.51}), 1);
    double s2 = fleet.group[life->group].s2;
    fleet.group[life->group].s2 = 0; // no scale to measure them by
    look(X);
    ck_assert_int_eq(st.slow, 0);
    fleet.group[life->group].s2 = s2;
    // beyond 5 after the fifth, 4.5 after the sixth: it did not stay there
    ck_assert_int_eq(slow((const double[]){1.6, 1.6, 1.6, 1.6, 1.6, -0.5}), 0);
}
END_TEST

/* --- others ------------------------------------------------------------------------- */

static void
two_elsewhere(void)
{
    begin("D-2");
    SERIES(1, 0.40, 0.37, 0.34);
    SERIES(2, 0.40, 0.36, 0.325);
}

/* The family has two valves elsewhere; neighbours are those of the same engine. */
START_TEST(neighbours_are_of_one_engine)
{
    base();
    SERIES(X, 0.40, 0.35, 0.31, 0.26, 0.22);
    add();
    two_elsewhere();
    judge(X);
    same(st.neighbours, -7.55269611720183);
    ck_assert_int_eq(st.odd, 1);
    ck_assert_int_eq(st.stands_out, 1); // -3.449 from the family
    ck_assert_str_eq(st.hint, "closes faster than the others: seat or stem?");
    look(1);
    ck_assert_int_eq(st.odd, 0);
}
END_TEST

/* Count the whole family, and mark which engines will be placed: bits of wanted. */
static void
count_for(uint64_t wanted, struct vb_fleet *counted)
{
    struct vb_life_sum sum;
    for (size_t i = 0; i < fleet.lives.n; i++) {
        const struct vb_life *l = &fleet.lives.life[i];
        vb_life_sum_of(&fleet.unit[l->engine], l, &sum);
        ck_assert_int_eq(vb_fleet_count(counted, fleet.unit[0].family_name, &sum), VB_OK);
        if (i + 1 == fleet.lives.n || l[1].engine != l->engine)
            ck_assert_int_eq(vb_fleet_mark(counted, (int)(wanted >> l->engine & 1)),
                             VB_OK);
    }
    ck_assert_int_eq(vb_fleet_settle(counted), VB_OK);
}

/* The lives of these engines alone, in the groups of all: [block.lives.n] of them, and which
 * of the whole fleet they are. */
static void
take_some(uint64_t wanted, const struct vb_fleet *counted, struct vb_fleet *block,
          size_t *from)
{
    *block = fleet;
    block->group = counted->group;
    block->n_groups = counted->n_groups;
    block->lives.n = 0;
    block->lives.life = calloc(fleet.lives.n, sizeof *block->lives.life);
    ck_assert_ptr_nonnull(block->lives.life);
    for (size_t i = 0; i < fleet.lives.n; i++)
        if (wanted >> fleet.lives.life[i].engine & 1) {
            from[block->lives.n] = i;
            block->lives.life[block->lives.n++] = fleet.lives.life[i];
        }
}

/* Some engines in a block, the family counted before, are judged as in the whole. */
START_TEST(a_block_is_judged_as_the_whole)
{
    unsigned wanted = (unsigned)_i;
    struct vb_fleet counted = {0}, block;
    size_t from[64];
    base();
    SERIES(X, 0.40, 0.35, 0.31, 0.26, 0.22);
    add();
    two_elsewhere();
    add();
    begin("D-3");
    SERIES(1, 0.40, 0.38, 0.34, 0.33);
    add();
    begin("D-4");
    SERIES(2, 0.40, 0.39, 0.36, 0.33);
    judge(X);
    ck_assert_uint_eq(fleet.n_units, 4);
    count_for(wanted, &counted);
    take_some(wanted, &counted, &block, from);
    for (size_t i = 0; i < block.lives.n; i++) {
        struct vb_life *l = &block.lives.life[i];
        struct vb_state whole, own;
        ck_assert_int_eq(vb_fleet_place(&counted, &block.unit[l->engine], l), VB_OK);
        ck_assert_uint_eq(l->member, fleet.lives.life[from[i]].member);
        vb_fleet_state(&fleet, from[i], &whole);
        vb_fleet_state(&block, i, &own);
        ck_assert_double_eq(own.rate, whole.rate);
        ck_assert_double_eq(own.var, whole.var);
        ck_assert_str_eq(own.hint, whole.hint);
        ck_assert(own.neighbours == whole.neighbours ||
                  (isnan(own.neighbours) && isnan(whole.neighbours)));
    }
    free(block.lives.life);
    vb_fleet_clear(&counted);
}
END_TEST

/* Every other engine of many, so that those that are passed over stand in many runs. */
START_TEST(every_other_engine_is_placed)
{
    struct vb_fleet counted = {0}, block;
    size_t from[64];
    uint64_t wanted = 0;
    for (size_t i = 0; i < 40; i++) {
        begin("D-1");
        SERIES(1, 0.40, 0.38 - 0.001 * (double)i, 0.35);
        add();
        wanted |= (uint64_t)(i % 2) << i;
    }
    ck_assert_int_eq(vb_fleet_pool(&fleet), VB_OK);
    count_for(wanted, &counted);
    for (size_t i = 0; i < 40; i++)
        ck_assert_uint_eq(fleet.lives.life[i].member, i);
    take_some(wanted, &counted, &block, from);
    ck_assert_uint_eq(block.lives.n, 20);
    for (size_t i = 0; i < block.lives.n; i++) {
        struct vb_life *l = &block.lives.life[i];
        ck_assert_int_eq(vb_fleet_place(&counted, &block.unit[l->engine], l), VB_OK);
        ck_assert_uint_eq(l->member, 2 * i + 1);
    }
    free(block.lives.life);
    vb_fleet_clear(&counted);
}
END_TEST

/* A block that was not counted has no group, and no more rates than were counted. */
START_TEST(what_was_not_counted_has_no_place)
{
    base();
    SERIES(X, 0.40, 0.35, 0.31, 0.26, 0.22);
    add();
    judge(X);
    struct vb_fleet counted = {0};
    struct vb_unit_now unit = fleet.unit[0];
    struct vb_life l = fleet.lives.life[0];
    struct vb_life_sum sum;
    ck_assert_int_eq(vb_fleet_place(&counted, &unit, &l), VB_EDOM);
    vb_life_sum_of(&unit, &l, &sum);
    ck_assert_int_eq(vb_fleet_count(&counted, unit.family_name, &sum), VB_OK);
    ck_assert_int_eq(vb_fleet_settle(&counted), VB_OK);
    ck_assert_int_eq(vb_fleet_place(&counted, &unit, &l), VB_OK);
    ck_assert_uint_eq(l.member, 0);
    ck_assert_int_eq(vb_fleet_place(&counted, &unit, &l), VB_OK);
    ck_assert_uint_eq(l.member, VB_NO_MEMBER);
    strcpy(unit.meter_unit, "km");
    ck_assert_int_eq(vb_fleet_place(&counted, &unit, &l), VB_EDOM);
    strcpy(unit.meter_unit, "h");
    unit.family_name = "another";
    ck_assert_int_eq(vb_fleet_place(&counted, &unit, &l), VB_EDOM);
    vb_fleet_clear(&counted);
}
END_TEST

START_TEST(a_block_joins_a_fleet)
{
    struct vb_fleet empty = {0}, second = {0};
    base();
    add();
    size_t lives = fleet.lives.n;
    ck_assert_int_eq(vb_fleet_join(&fleet, &empty), VB_OK);
    ck_assert_uint_eq(fleet.n_units, 1);
    begin("D-2");
    base();
    ck_assert_int_eq(vb_fleet_add(&second, &engine, 1000), VB_OK);
    ck_assert_int_eq(vb_fleet_join(&fleet, &second), VB_OK);
    ck_assert_uint_eq(fleet.n_units, 2);
    ck_assert_str_eq(fleet.unit[1].name, "D-2");
    ck_assert_uint_eq(fleet.lives.n, 2 * lives);
    ck_assert_uint_eq(fleet.lives.life[lives].engine, 1);
    ck_assert_uint_eq(second.n_units, 0);
    vb_fleet_clear(&second);
}
END_TEST

/* Readings so near each other that their rate has no variance a computer can hold. */
START_TEST(a_rate_without_end_is_said)
{
    struct vb_fleet f = {0};
    struct vb_life_sum sum = {.meter_unit = "h",
                              .side = 0,
                              .n = 3,
                              .df = 1,
                              .sse = 1,
                              .sxx = 1e-320,
                              .rate = 1};
    ck_assert_int_eq(vb_fleet_count(&f, "six", &sum), VB_OK);
    sum.side = 1;
    ck_assert_int_eq(vb_fleet_count(&f, "six", &sum), VB_OK);
    ck_assert_int_eq(vb_fleet_settle(&f), VB_EDOM);
    vb_fleet_clear(&f);
}
END_TEST

/* Engines of one family whose meters run in hours and in kilometres: a valve that closes by
 * 0.1 mm in 400 h and one that does so in 400 km are not of one kind. */
START_TEST(hours_and_kilometres_are_apart)
{
    base();
    add();
    begin("K-1");
    strcpy(engine.meter_unit, "km");
    SERIES(1, 0.40, 0.39, 0.41, 0.40, 0.395);
    SERIES(2, 0.40, 0.40, 0.39, 0.405, 0.40);
    judge(1);
    ck_assert_uint_eq(fleet.n_groups, 2);
    ck_assert_str_eq(fleet.group[0].meter_unit, "h");
    ck_assert_str_eq(fleet.group[1].meter_unit, "km");
    ck_assert_uint_eq(fleet.group[0].n, 5);
    ck_assert_uint_eq(fleet.group[1].n, 2);
    double in_h = fleet.group[0].s2;
    struct vb_state alone;
    vb_fleet_state(&fleet, 1, &alone);
    vb_fleet_clear(&fleet);
    begin("D-1"); // without the others nothing of it changes
    base();
    add();
    ck_assert_int_eq(vb_fleet_pool(&fleet), VB_OK);
    vb_fleet_state(&fleet, 1, &st);
    ck_assert_double_eq(fleet.group[0].s2, in_h);
    ck_assert_double_eq(st.rate, alone.rate);
    ck_assert_double_eq(st.var, alone.var);
}
END_TEST

START_TEST(two_are_no_neighbourhood)
{
    base();
    add();
    two_elsewhere();
    SERIES(X, 0.40, 0.35, 0.31, 0.26, 0.22);
    judge(1);
    ck_assert(isfinite(st.neighbours)); // four others
    size_t last = fleet.lives.n - 1;
    vb_fleet_state(&fleet, last, &st);
    ck_assert_int_eq(fleet.lives.life[last].valve.cyl, X);
    ck_assert_double_nan(st.neighbours);
    ck_assert_int_eq(st.odd, 0);
}
END_TEST

/* A new seat at 200 h: the reading left there begins the new life. */
START_TEST(a_build_is_held_against_the_last)
{
    base();
    SERIES(X, 0.40, 0.391, 0.378);
    lash[engine.n_lash - 1].left = scale * 0.40;
    put(X, 3, 0.375, NAN, NAN);
    put(X, 4, 0.345, NAN, NAN);
    event[0] = (struct vb_event){.day = visit[2].day,
                                 .kind = VB_EVENT_REPLACE,
                                 .renews = VB_RENEWS_LASH | VB_RENEWS_SEAT,
                                 .at = {X, 'E', 0}};
    engine.n_events = 1;
    judge(X);
    ck_assert_uint_eq(fleet.lives.n, 7);
    same(st.own, scale * -0.000275);
    same(st.vs_last, scale * -0.000165);
    same(st.vs_last_se, scale * 2.71258373454794e-05);
    step(-0.0134784015085742, 0.00531734961372623, 0.0220708592069726);
    ck_assert_ptr_nonnull(strstr(st.hint, "; faster than in the last build"));
    look(5);
    ck_assert_double_nan(st.vs_last); // the life before is another valve's
}
END_TEST

/* --- temperature -------------------------------------------------------------------- */

static void
state_fact(const char *key, const char *side, const char *value)
{
    const struct vb_fact *f = vb_fact_find(key, strlen(key));
    struct vb_msg m;
    double x;
    enum vb_dim dim;
    ck_assert_ptr_nonnull(f);
    ck_assert_int_eq(vb_fact_check(f, side, value, "", &x, &dim, &m), VB_OK);
    vb_family_set(&family, f, side, value, x, dim);
}

/*
 * Callister, Fundamentals of Materials Science and Engineering, table B.6: cast aluminium
 * 356.0 expands by 21.5e-6/Cel, steel 1020 by 11.7e-6/Cel. By hand: 120 x 21.5 - 98
 * x 11.7 = 1433.4, so 0.0014334 mm/Cel, and 60 Cel above 20 open the lash by 0.086004 mm.
 */
START_TEST(a_stack_takes_the_warmth_out)
{
    state_fact("lash_stack", "", "+120x21.5 -98x11.7");
    same(family.lash_growth[0], 0.0014334);
    same(family.lash_growth[1], 0.0014334);
    base();
    SERIES(X, 0.40, 0.37 + 0.086004 / scale);
    lash[engine.n_lash - 1].temp_c = 80;
    judge(X);
    same(life->wear.now, scale * 0.37);
    ck_assert_uint_eq(life->no_temp, 1); // the setting
    rates(-0.0003, 3.97080252937272e-05, -0.000221165233811616, 2.81131344836062e-05);
}
END_TEST

START_TEST(a_stack_may_be_of_a_side)
{
    state_fact("lash_stack", "E", "+120x21.5 -98x11.7");
    ck_assert_double_eq(family.lash_growth[0], 0);
    same(family.lash_growth[1], 0.0014334);
}
END_TEST

static TCase *
rate_cases(void)
{
    TCase *c = tcase_create("rates");
    tcase_add_test(c, two_readings_borrow);
    tcase_add_test(c, no_gap_is_no_step_looser);
    tcase_add_test(c, one_reading_has_the_familys_rate);
    tcase_add_test(c, never_read_with_a_meter);
    tcase_add_test(c, set_at_the_last_visit);
    tcase_add_test(c, only_left_at_the_last_visit);
    tcase_add_test(c, a_neighbour_without_a_rate);
    tcase_add_test(c, numbers_out_of_reason);
    tcase_add_test(c, a_last_life_without_a_rate);
    tcase_add_test(c, slower_than_before);
    tcase_add_test(c, more_neighbours_than_are_looked_at);
    tcase_add_test(c, alone_it_keeps_its_own);
    tcase_add_test(c, nothing_is_made_of_nothing);
    tcase_add_test(c, far_out_keeps_its_own);
    tcase_add_test(c, not_so_far_out_borrows);
    tcase_add_test(c, from_one_other_nobody_stands_out);
    tcase_add_test(c, wearing_less_is_no_hint);
    tcase_add_test(c, a_way_is_two_sided);
    tcase_add_test(c, stated_uncertainties_weigh);
    tcase_add_test(c, scatter_is_not_below_u);
    tcase_add_test(c, scatter_is_not_below_rounding);
    tcase_add_test(c, half_with_u_are_not_most);
    tcase_add_test(c, a_stack_takes_the_warmth_out);
    tcase_add_test(c, a_stack_may_be_of_a_side);
    return c;
}

static TCase *
change_cases(void)
{
    TCase *c = tcase_create("changes");
    tcase_add_test(c, verdicts_have_a_guard_band);
    tcase_add_test(c, the_newest_reading_steps);
    tcase_add_test(c, a_step_behind_a_setting);
    tcase_add_test(c, the_newest_two_step_together);
    tcase_add_test(c, one_reading_is_enough);
    tcase_add_test(c, most_valves_step_at_once);
    tcase_add_test(c, a_step_ahead_moves_the_line);
    tcase_add_test(c, a_step_that_was_set_right);
    tcase_add_test(c, a_slow_change_moves_the_line);
    tcase_add_test(c, a_setting_is_no_step);
    tcase_add_test(c, a_slow_change_adds_up);
    tcase_add_test(c, residuals_add_up);
    tcase_add_test(c, neighbours_are_of_one_engine);
    tcase_add_loop_test(c, a_block_is_judged_as_the_whole, 1, 16);
    tcase_add_test(c, every_other_engine_is_placed);
    tcase_add_test(c, what_was_not_counted_has_no_place);
    tcase_add_test(c, a_block_joins_a_fleet);
    tcase_add_test(c, a_rate_without_end_is_said);
    tcase_add_test(c, hours_and_kilometres_are_apart);
    tcase_add_test(c, two_are_no_neighbourhood);
    tcase_add_test(c, a_build_is_held_against_the_last);
    return c;
}

int
main(void)
{
    Suite *s = suite_create("state");
    TCase *cases[] = {rate_cases(), change_cases()};
    for (size_t i = 0; i < 2; i++) {
        tcase_add_checked_fixture(cases[i], setup, teardown);
        suite_add_tcase(s, cases[i]);
    }
    return run_suite(s);
}
