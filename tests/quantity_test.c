/* What is read where, and how places are written down. By hand, from quantity.h. */
#include "suite.h"
#include "valvebook/quantity.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(a) (int)(sizeof(a) / sizeof *(a))

static const struct {
    const char *quantity, *at, *want; // NULL: no place of that quantity
} places[] = {
    {"lash", "ex 2 cyl 1", "1E2"},
    {"lash", "1", NULL},
    {"lash", "", NULL},
    {"leakdown", "cyl 4", "4"},
    {"leakdown", "4I", NULL},
    {"leakdown", "I", NULL},
    {"leakdown", "", NULL},
    {"leakdown", "left", NULL},
    {"checking_lift", "", ""},
    {"checking_lift", "in", "I"},
    {"checking_lift", "3", "3"},
    {"checking_lift", "3E2", "3E2"},
    {"checking_lift", "left", NULL},
    {"sprocket_step", "AI", "AI"},
    {"sprocket_step", "a-e_9Z", "a-e_9Z"},
    {"sprocket_step", "twelve_bytes", "twelve_bytes"},
    {"sprocket_step", "thirteen_byte", NULL},
    {"sprocket_step", "", NULL},
    // before and behind the digits, the capitals and the small letters
    {"sprocket_step", "A/", NULL},
    {"sprocket_step", "A:", NULL},
    {"sprocket_step", "A@", NULL},
    {"sprocket_step", "A[", NULL},
    {"sprocket_step", "A`", NULL},
    {"sprocket_step", "A{", NULL},
    {"sprocket_step", "A I", NULL},
};

START_TEST(a_place_is_read)
{
    const char *name = places[_i].quantity, *s = places[_i].at;
    const struct vb_quantity *q = vb_quantity_find(name, strlen(name));
    char out[VB_AT_MAX] = "untouched";
    ck_assert_ptr_nonnull(q);
    enum vb_err e = vb_quantity_at(q, s, strlen(s), out);
    ck_assert_msg(e == (places[_i].want ? VB_OK : VB_ESYNTAX), "%s at '%s'", name, s);
    if (places[_i].want)
        ck_assert_str_eq(out, places[_i].want);
}
END_TEST

/* The blank part, all there is, has no word. */
START_TEST(parts_are_named)
{
    char words[512];
    ck_assert_int_eq(
        strncmp(vb_part_words(words, sizeof words), "engine, head, seat", 18), 0);
    ck_assert_ptr_null(strstr(words, ", ,"));
    ck_assert_int_eq(
        strncmp(vb_quantity_words(words, sizeof words), "lash, opens, closes", 19), 0);
    vb_quantity_words(words, 8); // what does not fit is cut
    ck_assert_str_eq(words, "lash, o");
}
END_TEST

static const struct vb_quantity *
named(const char *name)
{
    return vb_quantity_find(name, strlen(name));
}

/* As the book writes them, and not in other words that mean the same. */
START_TEST(places_in_normal_form)
{
    struct vb_valve v = {0};
    ck_assert(vb_quantity_place(named("lash"), "3E2", &v));
    ck_assert(v.cyl == 3 && v.side == 'E' && v.index == 2);
    ck_assert(!vb_quantity_place(named("lash"), "3e2", &v));
    ck_assert(!vb_quantity_place(named("lash"), "3", &v));
    ck_assert(vb_quantity_place(named("compression"), "3", &v));
    ck_assert(!vb_quantity_place(named("compression"), "03", &v));
    ck_assert(!vb_quantity_place(named("compression"), "3E2", &v));
}
END_TEST

/* Lash is from 0 to 5 mm, an angle from -360 to 360 degrees. */
START_TEST(credible_values)
{
    const struct vb_quantity *lash = named("lash"), *opens = named("opens");
    ck_assert(vb_quantity_credible(lash, 0) && vb_quantity_credible(lash, 5));
    ck_assert(!vb_quantity_credible(lash, 5.001) && !vb_quantity_credible(lash, -0.001));
    ck_assert(vb_quantity_credible(opens, -360) && vb_quantity_credible(opens, 360));
    ck_assert(!vb_quantity_credible(opens, -360.1) && !vb_quantity_credible(opens, 361));
    ck_assert(vb_quantity_credible(lash, NAN) && !vb_quantity_credible(lash, INFINITY));
}
END_TEST

int
main(void)
{
    Suite *s = suite_create("quantity");
    TCase *t = tcase_create("places");
    tcase_add_loop_test(t, a_place_is_read, 0, COUNT(places));
    tcase_add_test(t, parts_are_named);
    tcase_add_test(t, places_in_normal_form);
    tcase_add_test(t, credible_values);
    suite_add_tcase(s, t);
    return run_suite(s);
}
