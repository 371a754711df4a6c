/* A date that is read is one: read again it is itself, and its day number is its date. */
#include <math.h>
#include <string.h>

#include "fuzz.h"
#include "valvebook/date.h"

int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const char *const orders[] = {"",      "Y-M-D", "D.M.Y", "M/D/y",
                                         "D/M/Y", "y.M.D", "serial"};
    char date[VB_DATE_MAX], again[VB_DATE_MAX], day[VB_DATE_MAX];
    double days;
    if (!size)
        return 0;
    const char *order = orders[data[0] % (sizeof orders / sizeof *orders)];
    if (vb_date_parse((const char *)data + 1, size - 1, order, date))
        return 0;
    MUST(strlen(date) == 10 || strlen(date) == 16);
    MUST(vb_date_parse(date, strlen(date), "", again) == VB_OK);
    MUST(strcmp(date, again) == 0);
    MUST(vb_date_days(date, &days) == VB_OK);
    MUST(vb_date_iso(floor(days), day) == VB_OK);
    MUST(strncmp(date, day, 10) == 0);
    return 0;
}
