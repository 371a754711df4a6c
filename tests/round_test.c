/*
 * When an engine was last set as a whole. Eight valves, visits by hand: a row says which of
 * the valves, one a column, were found (f), left (l) or not looked at (.).
 */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "suite.h"
#include "valvebook/fleet.h"

#define VALVES 8
#define MOST   6

struct row {
    double day, running;
    const char *valve; // [VALVES]
};

static const struct {
    const char *why;
    struct row row[MOST]; // to the first without valves
    double set, round, running;
} cases[] = {
    {"never read", {{0, 0, NULL}}, NAN, NAN, NAN},
    {"found only", {{10, 100, "ffffffff"}}, NAN, NAN, NAN},
    {"set as a whole", {{10, 100, "llllllll"}}, 10, 10, 100},
    {"all looked at, one set", {{10, 100, "fffflfff"}}, 10, 10, 100},
    {"one set behind it", {{10, 100, "llllllll"}, {50, 300, "...l...."}}, 50, 10, 100},
    {"half of them behind it",
     {{10, 100, "llllllll"}, {50, 300, "llll...."}},
     50,
     50,
     300},
    {"less than half", {{10, 100, "llllllll"}, {50, 300, "lll....."}}, 50, 10, 100},
    {"all found, none left behind it",
     {{10, 100, "llllllll"}, {50, 300, "ffffffff"}},
     10,
     10,
     100},
    {"a bank a day",
     {{10, 100, "llllllll"}, {50, 300, "lll....."}, {51, 301, "...ll..."}},
     51,
     51,
     301},
    {"found on one day, set within the week",
     {{10, 100, "llllllll"}, {50, 300, "ffffffff"}, {57, 305, "l......."}},
     57,
     57,
     305},
    {"and later",
     {{10, 100, "llllllll"}, {50, 300, "ffffffff"}, {57.1, 305, "l......."}},
     57.1,
     10,
     100},
    {"the same valves twice in the week are not more valves",
     {{10, 100, "llllllll"},
      {50, 300, "ll......"},
      {51, 301, "ll......"},
      {52, 302, "ll......"}},
     52,
     10,
     100},
    {"a valve a week, never half",
     {{10, 100, "l......."},
      {20, 150, ".l......"},
      {30, 200, "..l....."},
      {40, 300, "...l...."}},
     40,
     40,
     300},
    {"without a meter: the last one known by then",
     {{10, 100, "llllllll"},
      {40, 250, "ffffffff"},
      {50, NAN, "llllllll"},
      {60, 400, "ffffffff"}},
     50,
     50,
     250},
    {"and none is known", {{10, NAN, "llllllll"}, {60, 400, "ffffffff"}}, 10, 10, NAN},
    {"what was read later is not in its week",
     {{10, 100, "llllllll"}, {50, 300, "l......."}, {51, 301, "ffffffff"}},
     50,
     10,
     100},
};

/* In order of valve, then of visit. */
static size_t
readings(const struct row *row, size_t n, struct vb_lash *out)
{
    size_t k = 0;
    for (int i = 0; i < VALVES; i++)
        for (size_t j = 0; j < n; j++)
            if (row[j].valve[i] != '.')
                out[k++] = (struct vb_lash){j,
                                            {i / 2 + 1, i % 2 ? 'E' : 'I', 0},
                                            row[j].valve[i] == 'f' ? 0.2 : NAN,
                                            row[j].valve[i] == 'l' ? 0.2 : NAN,
                                            NAN,
                                            NAN};
    return k;
}

START_TEST(the_last_round)
{
    static char name[] = "K-1";
    struct vb_family family;
    struct vb_visit visit[MOST];
    struct vb_lash lash[MOST * VALVES];
    struct vb_fleet f = {0};
    size_t n = 0;
    for (; n < MOST && cases[_i].row[n].valve; n++) {
        const struct row *r = &cases[_i].row[n];
        visit[n] =
            (struct vb_visit){.day = r->day, .meter = r->running, .running = r->running};
        snprintf(visit[n].date, sizeof visit[n].date, "day %g", r->day);
    }
    vb_family_init(&family);
    struct vb_engine e = {.name = name,
                          .family = &family,
                          .family_name = "four",
                          .meter_unit = "h",
                          .in_service = NAN,
                          .visit = visit,
                          .n_visits = n,
                          .lash = lash,
                          .n_lash = readings(cases[_i].row, n, lash)};
    ck_assert_int_eq(vb_fleet_add(&f, &e, 100), VB_OK);
    const struct vb_unit_now *u = &f.unit[0];
    const double got[] = {u->set_day, u->round_day, u->round_running};
    const double want[] = {cases[_i].set, cases[_i].round, cases[_i].running};
    char date[24] = "";
    for (int i = 0; i < 3; i++)
        ck_assert_msg(got[i] == want[i] || (isnan(got[i]) && isnan(want[i])),
                      "%s: %g, not %g", cases[_i].why, got[i], want[i]);
    if (!isnan(want[1]))
        snprintf(date, sizeof date, "day %g", want[1]);
    ck_assert_str_eq(u->round_date, date);
    vb_fleet_clear(&f);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("round");
    TCase *t = tcase_create("round");
    tcase_add_loop_test(t, the_last_round, 0, sizeof cases / sizeof *cases);
    suite_add_tcase(s, t);
    return run_suite(s);
}
