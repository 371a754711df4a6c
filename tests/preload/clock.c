/*
 * clock - the clock says something else: to be preloaded into a program.
 *   VB_CLOCK   seconds since 1970
 */
#include <stdlib.h>
#include <time.h>

time_t
time(time_t *t)
{
    const char *says = getenv("VB_CLOCK");
    time_t now = says ? (time_t)strtoll(says, NULL, 10) : 0;
    if (t)
        *t = now;
    return now;
}
