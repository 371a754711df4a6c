#ifndef SUITE_H
#define SUITE_H

#include <check.h>
#include <stdlib.h>

/* Run a suite, and with what status main ends. */
static inline int
run_suite(Suite *s)
{
    SRunner *r = srunner_create(s);
    srunner_run_all(r, CK_ENV);
    int failed = srunner_ntests_failed(r);
    srunner_free(r);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}

#endif
