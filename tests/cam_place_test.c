/* Places of cams: how they are written, and which of them hold which. By hand. */
#include "suite.h"
#include "valvebook/cam_place.h"

#include <check.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(a) (sizeof(a) / sizeof *(a))

static const struct {
    const char *text, *want; // NULL: no place
} written[] = {
    {"", ""},           {"I", "I"},   {"ex", "E"},  {"Inlet", "I"},  {"exh.", "E"},
    {"A", "A"},         {"ai", "AI"}, {"AE", "AE"}, {"A-I", "AI"},   {"b_exh", "BE"},
    {" L  in ", "LI"},  {"R", "R"},   {"z", "Z"},   {"CE", "CE"},    {"A-", NULL},
    {"AB", NULL},       {"A1", NULL}, {"II", NULL}, {"EI", NULL},    {"left", NULL},
    {"AIE", NULL},      {"1I", NULL}, {"-", NULL},  {"A I E", NULL}, {"\xc3\x84", NULL},
    {"\tA\tI\t", "AI"}, {"{", NULL},
};

START_TEST(a_place_is_read_and_written)
{
    struct vb_cam_place p = {'?', '?'};
    char out[VB_CAM_PLACE_MAX];
    enum vb_err e = vb_cam_place_parse(written[_i].text, strlen(written[_i].text), &p);
    ck_assert_msg((e == VB_OK) == (written[_i].want != NULL), "'%s'", written[_i].text);
    if (e) {
        ck_assert(e == VB_ESYNTAX && p.bank == '?' && p.side == '?');
        return;
    }
    ck_assert_uint_eq(vb_cam_place_format(p, out), strlen(written[_i].want));
    ck_assert_str_eq(out, written[_i].want);
}
END_TEST

START_TEST(a_valve_has_its_cam)
{
    struct vb_banks b = {{0}};
    struct vb_cam_place p = vb_cam_place_of(&b, (struct vb_valve){1, 'I', 2});
    ck_assert(p.bank == 0 && p.side == 'I');
    ck_assert_int_eq(vb_banks_parse("A:1-99 B:2", &b), VB_OK);
    p = vb_cam_place_of(&b, (struct vb_valve){99, 'E', 0});
    ck_assert(p.bank == 'A' && p.side == 'E');
    p = vb_cam_place_of(&b, (struct vb_valve){3, 'E', 0}); // of no bank
    ck_assert(p.bank == 0 && p.side == 'E');
    p = vb_cam_place_of(&b, (struct vb_valve){0, 'I', 0}); // of all cylinders
    ck_assert(p.bank == 0 && p.side == 'I');
    p = vb_cam_place_of(&b, (struct vb_valve){100, 'I', 0});
    ck_assert(p.bank == 0 && p.side == 'I');
}
END_TEST

START_TEST(the_wide_hold_the_narrow)
{
    const struct vb_cam_place all = {0, 0}, a = {'A', 0}, i = {0, 'I'}, ai = {'A', 'I'};
    const struct vb_cam_place be = {'B', 'E'};
    ck_assert(vb_cam_place_has(all, ai) && vb_cam_place_has(a, ai));
    ck_assert(vb_cam_place_has(i, ai) && vb_cam_place_has(ai, ai));
    ck_assert(vb_cam_place_has(all, be) && !vb_cam_place_has(a, be));
    ck_assert(!vb_cam_place_has(i, be) && !vb_cam_place_has(ai, be));
    ck_assert(!vb_cam_place_has(ai, a) && !vb_cam_place_has(ai, i));
    ck_assert(!vb_cam_place_has(ai, all));
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("cam_place");
    TCase *t = tcase_create("places");
    tcase_add_loop_test(t, a_place_is_read_and_written, 0, COUNT(written));
    tcase_add_test(t, a_valve_has_its_cam);
    tcase_add_test(t, the_wide_hold_the_narrow);
    suite_add_tcase(s, t);
    return run_suite(s);
}
