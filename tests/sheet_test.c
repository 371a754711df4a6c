#include "suite.h"
#include "valvebook/sheet.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <check.h>

/* An engine of one cylinder, its sheet with one row, made by hand to be changed. */
static struct vb_family family;
static struct vb_unit_now unit;
static struct vb_sheet_row row[3];
static struct vb_sheet sheet;
static enum vb_length length;
static char name[] = "HC-1", family_name[] = "one";

static void
setup(void)
{
    vb_family_init(&family);
    unit = (struct vb_unit_now){.name = name,
                                .family_name = family_name,
                                .family = &family,
                                .meter_unit = "h",
                                .plan_day = NAN,
                                .plan_running = NAN};
    for (int i = 0; i < 3; i++)
        row[i] = (struct vb_sheet_row){.valve = {i + 1, 'I', 0},
                                       .stop = 0,
                                       .found = 0.2,
                                       .u = 0.01,
                                       .date = "2026-02-01",
                                       .target = 0.25,
                                       .lo = 0.2,
                                       .hi = 0.3,
                                       .todo = VB_TODO_LEAVE,
                                       .by = NAN,
                                       .due = NAN,
                                       .turns = NAN,
                                       .shim = NAN,
                                       .after = NAN,
                                       .reads = NAN,
                                       .temp_c = NAN};
    sheet = (struct vb_sheet){.unit = &unit,
                              .wish = {.date = "2026-02-01", .order = VB_ORDER_CYLINDERS},
                              .date = "2026-02-01",
                              .meter = 500,
                              .df = {INFINITY, INFINITY},
                              .row = row,
                              .n = 1};
    length = VB_LENGTH_MM;
    sheet.crank.n = 1;
    sheet.crank.stop[0] = (struct vb_crank_stop){0, 1, 0};
}

/* Is it in the sheet of this form? The sheet is shown where that is not as wanted. */
static int
is_in(enum vb_format f, int html, const char *what, int wanted)
{
    struct vb_out *o;
    char *s;
    size_t n;
    ck_assert_int_eq(vb_out_memory(&o), VB_OK);
    if (html)
        vb_report_sheet_html(&sheet, length, o);
    else
        ck_assert_int_eq(vb_report_sheet(&sheet, length, f, o), VB_OK);
    ck_assert_int_eq(vb_out_take(o, &s, &n), VB_OK);
    for (char *p = s; (p = strchr(p, '\n'));) // sentences are broken into lines
        *p = ' ';
    int found = strstr(s, what) != NULL;
    if (found != wanted)
        fprintf(stderr, "%s\n", s);
    free(s);
    return found;
}

#define PEOPLE(what) ck_assert(is_in(VB_FORMAT_TABLE, 0, what, 1))
#define DATA(what)   ck_assert(is_in(VB_FORMAT_CSV, 0, what, 1))
#define PAGE(what)   ck_assert(is_in(VB_FORMAT_CSV, 1, what, 1))

START_TEST(tasks)
{
    row[0].todo = VB_TODO_SCREW, row[0].turns = -0.05;
    DATA(",out,");
    PEOPLE("out 0.05 turn, 18\xc2\xb0");
    row[0].turns = 0.25;
    PEOPLE("in 0.25 turn, 90\xc2\xb0");
    row[0].todo = VB_TODO_BY, row[0].by = 0.05;
    PEOPLE("tighten by 0.050 mm");
    PEOPLE("the family does not state with what lash is set");
    row[0].by = -0.05;
    PEOPLE("loosen by 0.050 mm");
    row[0].todo = VB_TODO_MEASURE;
    PEOPLE("measure shim, 0.050 thinner");
    row[0].by = 0.05;
    PEOPLE("measure shim, 0.050 thicker");
    DATA("no shim on record");
    row[0].shim_known = VB_SHIM_CHANGED;
    DATA("set since its shim was noted");
    row[0].todo = VB_TODO_READ, row[0].found = NAN;
    PEOPLE("read it");
    DATA("not read in its present life");
    row[0].todo = VB_TODO_NO_TARGET;
    PEOPLE("cannot be set");
    DATA(",none,");
    DATA("the family states no lash_target");
    PEOPLE("0 to set, 0 to leave, 1 that cannot be set");
}
END_TEST

/* Present shim 2.500, wanted 2.450 (25000 and 24500 units of 0.1 um). */
START_TEST(shims)
{
    row[0].todo = VB_TODO_SHIM, row[0].shim = 2.5;
    row[0].choice = (struct vb_shim_choice){.source = VB_SHIM_SHELF,
                                            .thickness = vb_shim_units(2.45),
                                            .wanted = vb_shim_units(2.45)};
    PEOPLE("2.500 \xe2\x86\x92 2.450, stock");
    PEOPLE("Fetch from stock: 1 x 2.450 mm");
    PEOPLE("Left over: 1 x 2.500 mm");
    row[0].choice.source = VB_SHIM_BUY;
    PEOPLE("Buy: 1 x 2.450 mm");
    sheet.n = 2;
    row[1] = row[0], row[1].valve.cyl = 2;
    PEOPLE("Buy: 2 x 2.450 mm");
    row[1].choice.source = VB_SHIM_SWAP, row[1].from = row[0].valve;
    row[1].choice.thickness = vb_shim_units(2.5), row[1].shim = 2.6;
    PEOPLE("2.600 \xe2\x86\x92 2.500, of 1I");
    PEOPLE("Left over: 1 x 2.600 mm");
    row[1].todo = VB_TODO_KEEP;
    PEOPLE("keep 2.600");
    DATA(",keep,");
    row[1].todo = VB_TODO_UNSERVED;
    PEOPLE("2I cannot be set: it wants a shim of 2.450 mm; none at hand or to be ordered "
           "lands inside");
    row[1].choice.fits = 1;
    PEOPLE(
        "2I cannot be set: it wants a shim of 2.450 mm; the only one that lands inside "
        "its limits");
    row[1].choice.fits = 3;
    PEOPLE("2I cannot be set: it wants a shim of 2.450 mm; the 3 that land inside its "
           "limits serve");
}
END_TEST

START_TEST(windows)
{
    PEOPLE("0.200-0.300");
    row[0].hi = NAN;
    PEOPLE("from 0.200");
    row[0].lo = NAN, row[0].hi = 0.3;
    PEOPLE("up to 0.300");
    row[0].has_verdict = 1, row[0].verdict.verdict = VB_VERDICT_CLOSE;
    DATA(",close,");
    row[0].verdict.verdict = VB_VERDICT_OUT;
    DATA(",out,leave");
    row[0].verdict.verdict = VB_VERDICT_IN;
    DATA(",in,leave");
    row[0].date[0] = 0;
    DATA(",forecast,");
}
END_TEST

START_TEST(positions)
{
    sheet.has_firing = 1;
    snprintf(family.firing_order, sizeof family.firing_order, "1-2");
    PEOPLE("1 fires");
    sheet.firing.n = 2;
    PEOPLE("each at its firing TDC (order 1-2, taken to fire");
    PEOPLE("evenly, 360\u00b0 apart)");
    sheet.firing.stated = 1;
    PEOPLE("each at its firing TDC (order 1-2)");
    sheet.firing.n = 1, sheet.firing.stated = 0;
    PEOPLE("each at its firing TDC (order 1-2)");
    sheet.crank.stop[0].rocking = 2;
    PEOPLE("1 fires, 2 rocks");
    sheet.wish.order = VB_ORDER_OPPOSITE;
    PEOPLE("2 rocks: set 1");
    sheet.wish.order = VB_ORDER_TWO, sheet.crank.stop[0].firing = 0;
    PEOPLE("2 rocks");
    sheet.assumed[0] = 1;
    PEOPLE("those of the inlet are not stated");
    sheet.assumed[1] = 1;
    PEOPLE("those are not stated");
    sheet.assumed[0] = 0;
    PEOPLE("those of the exhaust are not stated");
    row[0].stop = -1;
    PEOPLE("nowhere closed");
    PAGE("nowhere closed");
    DATA("HC-1,2026-02-01,500,h,,,,,1I");
    sheet.has_firing = 0;
    PEOPLE("No firing order is stated");
}
END_TEST

START_TEST(plans)
{
    sheet.wish.plan = 1;
    PEOPLE("HC-1 (one), to plan 2026-02-01, 500 h");
    PEOPLE("Expected at 500 h, by the meter's pace.");
    PAGE("plan of 2026-02-01, 500 h");
    unit.plan_running = 510;
    PEOPLE("Expected at 500 h, when the next planned event is over.");
    snprintf(unit.plan_label, sizeof unit.plan_label, "round 3");
    PEOPLE("when the next planned event 'round 3' is over.");
    row[0].due = 505;
    PEOPLE("leave, due by 505 h");
    DATA("may reach a limit before the next planned event is over");
    PEOPLE("Due: may reach a limit before the next planned event is over.");
    unit.plan_running = NAN;
    DATA(",may have reached a limit by now");
    PEOPLE("Due: may have reached a limit by now.");
    unit.plan_running = 510;
    sheet.meter = NAN;
    PEOPLE("HC-1 (one), to plan 2026-02-01: 0 to set");
    PAGE("plan of 2026-02-01");
    DATA("HC-1,2026-02-01,,,1,");
}
END_TEST

START_TEST(reads)
{
    family.read_at_lobe[1] = 1;
    PEOPLE("Then reads: what the gauge shows after setting, at the lobe where it is read "
           "there.");
    family.lash_growth[1] = 0.001, row[0].temp_c = 35;
    PEOPLE("at the lobe where it is read there, at the 35 \xc2\xb0"
           "C of the readings.");
    family.read_at_lobe[1] = 0;
    PEOPLE("after setting, at the 35 \xc2\xb0"
           "C of the readings.");
    family.lash_growth[1] = 0, family.lash_growth[0] = 0.001;
    PEOPLE("at the 35 \xc2\xb0"
           "C of the readings.");
    sheet.df[0] = 12;
    PEOPLE("(inlet 12 degrees of freedom)");
    sheet.df[1] = 7;
    PEOPLE("(inlet 12, exhaust 7 degrees of freedom)");
}
END_TEST

/* A name of a book must not move the cursor of whoever prints its sheet. */
START_TEST(names_are_shown)
{
    char bad[] = "a\x1b[2Jb\xc2\x9b"
                 "c";
    unit.name = bad;
    PEOPLE("a?[2Jb?c (one)");
}
END_TEST

/* A name longer than a line stays whole. */
START_TEST(a_long_name)
{
    char longer[121], words[128];
    memset(longer, 'x', sizeof longer - 1);
    longer[120] = 0;
    unit.name = longer;
    snprintf(words, sizeof words, "%s (one)", longer);
    PEOPLE(words);
}
END_TEST

/* Nobody knows the angle, or has read a valve. */
START_TEST(not_known)
{
    PAGE(">0\xc2\xb0<small>");
    PAGE(", read 2026-02-01");
    sheet.crank.stop[0].deg = NAN;
    row[0].date[0] = 0;
    ck_assert(!is_in(VB_FORMAT_CSV, 1, "\xc2\xb0<small>", 0));
    ck_assert(!is_in(VB_FORMAT_CSV, 1, ", read ", 0));
}
END_TEST

/* 0.2032 mm are 0.0080 inch, 0.254 mm 0.0100 and 0.01 mm 0.00039, which has two digits with
 * five decimals. Programs get mm whatever is said. */
START_TEST(lengths)
{
    row[0].todo = VB_TODO_BY, row[0].by = 0.0508;
    row[0].found = 0.254, row[0].target = 0.2032, row[0].reads = 0.2032;
    row[0].lo = 0.1524;
    PEOPLE("Lash in mm at");
    length = VB_LENGTH_IN;
    PEOPLE("Lash in inches at");
    PEOPLE("found inch   \xc2\xb1 inch  target inch  window inch ");
    PEOPLE("   0.01000  0.00039       0.0080  0.0060-0.0118 ");
    PEOPLE("tighten by 0.0020 inch           0.0080  _____");
    PEOPLE("then reads inch  left inch");
    PAGE("found<br>inch<");
    PAGE(">0.01000 \xc2\xb1 0.00039</td><td class=\"n\">0.0080</td>");
    PAGE(">left<br>inch<");
    DATA(",0.254,0.01,0.2032,0.1524,0.3,");
    length = VB_LENGTH_THOU;
    PEOPLE("Lash in thou (0.001 inch) at");
    PEOPLE("   10.00    0.39          8.0  6.0-11.8 ");
    PEOPLE("tighten by 2.0 thou              8.0  _____");
    PAGE(">10.00 \xc2\xb1 0.39</td><td class=\"n\">8.0</td>");
    row[0].hi = NAN, row[0].by = -0.001;
    PEOPLE("from 6.0 ");
    PEOPLE("loosen by 0.039 thou");
    ck_assert(!is_in(VB_FORMAT_TABLE, 0, "hims", 0));
}
END_TEST

/* 2.45 / 25.4 = 0.09646, 2.5 / 25.4 = 0.09843 */
START_TEST(lengths_of_shims)
{
    length = VB_LENGTH_IN;
    row[0].todo = VB_TODO_SHIM, row[0].shim = 2.5;
    row[0].choice = (struct vb_shim_choice){.source = VB_SHIM_BUY,
                                            .thickness = vb_shim_units(2.45),
                                            .wanted = vb_shim_units(2.45)};
    PEOPLE("Shims in mm, as most are stamped; compare with what is on yours.");
    PEOPLE("do, shims in mm ");
    PAGE(">do<br>shims in mm<");
    PEOPLE("2.500 \xe2\x86\x92 2.450, buy");
    PEOPLE("Buy: 1 x 2.450 mm (0.0965 inch)");
    length = VB_LENGTH_THOU;
    PEOPLE("Left over: 1 x 2.500 mm (98.4 thou)");
    row[0].todo = VB_TODO_UNSERVED;
    PEOPLE("1I cannot be set: it wants a shim of 2.450 mm (96.5 thou); none");
    DATA(",wants a shim of 2.450 mm; none");
    row[0].todo = VB_TODO_MEASURE, row[0].by = 0.05;
    PEOPLE("do, shims in mm ");
    PEOPLE("measure shim, 0.050 thicker");
    row[0].todo = VB_TODO_KEEP;
    PEOPLE("do, shims in mm ");
    length = VB_LENGTH_MM;
    PEOPLE("do, shims in mm ");
    ck_assert(!is_in(VB_FORMAT_TABLE, 0, "stamped", 0));
}
END_TEST

/* As many sizes as there is room for; of more valves than are served, none. */
START_TEST(many_shims)
{
    static struct vb_sheet_row many[VB_SHIM_VALVES + 1];
    for (int i = 0; i <= VB_SHIM_VALVES; i++) {
        many[i] = row[0];
        many[i].valve.cyl = i % 99 + 1;
        many[i].todo = VB_TODO_SHIM, many[i].shim = 2.5;
        many[i].choice =
            (struct vb_shim_choice){.source = VB_SHIM_BUY,
                                    .thickness = vb_shim_units(2 + 0.001 * i),
                                    .wanted = vb_shim_units(2 + 0.001 * i)};
    }
    sheet.row = many;
    sheet.n = VB_SHIM_VALVES;
    PEOPLE("Buy: 1 x 2.000 mm, 1 x 2.001 mm, 1 x 2.002 mm,");
    PEOPLE("Left over: 999 x 2.500 mm");
    sheet.n = VB_SHIM_VALVES + 1;
    ck_assert(!is_in(VB_FORMAT_TABLE, 0, "Buy:", 0));
}
END_TEST

/* What reads 0: one, one that cannot be set either, and more than there is room for. */
START_TEST(no_gaps)
{
    static struct vb_sheet_row many[80];
    ck_assert(is_in(VB_FORMAT_TABLE, 0, "no gap", 0) == 0);
    row[0].no_gap = 1, row[0].todo = VB_TODO_SCREW, row[0].turns = -0.2;
    PEOPLE("1I reads no gap: held open, perhaps, and nobody knows how far.");
    PAGE("1I reads no gap");
    DATA(",\"no gap: may be held open");
    row[0].todo = VB_TODO_BY, row[0].by = -0.2;
    DATA("the family does not state with what it is set; no gap: may be held open");
    for (int i = 0; i < 80; i++) {
        many[i] = row[0];
        many[i].valve.cyl = i + 1;
    }
    sheet.row = many;
    sheet.n = 2;
    PEOPLE("1I, 2I read no gap:");
    sheet.n = 80; // 9 names of 4 bytes with a comma, then of 5: 204 with the 43rd
    PEOPLE("42I, 43I and 37 more read no gap:");
}
END_TEST

/* A screw of a rocker that has a ratio, and nobody says which end it is at. */
START_TEST(where_the_screw_is)
{
    row[0].todo = VB_TODO_SCREW, row[0].turns = 0.05;
    ck_assert(is_in(VB_FORMAT_TABLE, 0, "screw_on", 0) == 0);
    family.ratio[0] = 1.5;
    PEOPLE("Turns: the family states a ratio and no screw_on.");
    DATA("no screw_on");
    row[0].todo = VB_TODO_LEAVE;
    ck_assert(is_in(VB_FORMAT_TABLE, 0, "screw_on", 0) == 0);
    row[0].todo = VB_TODO_SCREW;
    family.screw_on[0] = VB_SCREW_VALVE;
    ck_assert(is_in(VB_FORMAT_TABLE, 0, "screw_on", 0) == 0);
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("sheet");
    TCase *t = tcase_create("words");
    tcase_add_checked_fixture(t, setup, NULL);
    tcase_add_test(t, tasks);
    tcase_add_test(t, shims);
    tcase_add_test(t, windows);
    tcase_add_test(t, positions);
    tcase_add_test(t, plans);
    tcase_add_test(t, reads);
    tcase_add_test(t, names_are_shown);
    tcase_add_test(t, a_long_name);
    tcase_add_test(t, not_known);
    tcase_add_test(t, lengths);
    tcase_add_test(t, lengths_of_shims);
    tcase_add_test(t, many_shims);
    tcase_add_test(t, no_gaps);
    tcase_add_test(t, where_the_screw_is);
    suite_add_tcase(s, t);
    return run_suite(s);
}
