/*
 * bench_data - writes a seeded export of many readings, one row a valve, as a fleet's
 * spreadsheet would give it:
 *   bench_data ROWS SEED            the export; 2 million rows are about 100 MB
 *   bench_data ROWS SEED engines    its engines
 *   bench_data ROWS SEED more       one visit more of the first 84 engines: 1,008 readings
 * 40 visits an engine from 2015 to 2024, 12 valves. Lash closes by 0.1 to 0.5 thou a visit, is
 * read to 0.1 thou with an error of up to 0.3, and set to about 15 thou where 11 are read.
 */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../draw.h"

#define VISITS 40 // of an engine
#define VALVES 12 // six cylinders, inlet and exhaust
#define MORE   84 // engines with one visit more

static uint64_t seed;

static unsigned
below(unsigned n)
{
    return (unsigned)(draw() % n);
}

struct valve {
    int lash, wear; // 0.1 thou; a visit
};

/* One visit, at most `rows` valves of it; returns how many there were. */
static unsigned
visit(struct valve *valve, unsigned long engine, unsigned v, double hours,
      unsigned long rows, int written)
{
    static const char *const fitters[] = {"m.k", "j.or", "a.vance"};
    unsigned month = 1 + v % 4 * 3, year = 2015 + v / 4, day = 1 + below(28),
             temp = 60 + below(20), i;
    const char *fitter = fitters[below(3)];
    for (i = 0; i < VALVES && i < rows; i++) {
        char left[8] = "";
        valve[i].lash -= valve[i].wear;
        int found = valve[i].lash + (int)below(7) - 3;
        if (found < 110 || below(25) == 0) {
            valve[i].lash = 145 + (int)below(11);
            snprintf(left, sizeof left, "0.0%03d", valve[i].lash + (int)below(3) - 1);
        }
        if (!written)
            continue;
        printf("GX-%05lu,%02u.%02u.%u,%.1f,%u%c,0.0%03d,%s,%u,%s\n", engine, day, month,
               year, hours, i / 2 + 1, i % 2 ? 'E' : 'I', found, left, temp, fitter);
    }
    return i;
}

static void
engine(unsigned long e, unsigned long rows, int more)
{
    struct valve valve[VALVES];
    double hours = 1000;
    unsigned v;
    state =
        seed + e * UINT64_C(0xd1342543de82ef95); // an engine is the same in every file
    for (int i = 0; i < VALVES; i++)
        valve[i] = (struct valve){120 + (int)below(40), 1 + (int)below(5)};
    for (v = 0; v < VISITS && rows > 0; v++)
        rows -= visit(valve, e, v, hours += 200 + below(2000) / 10.0, rows, !more);
    if (more)
        visit(valve, e, VISITS, hours + 200, VALVES, 1);
}

int
main(int argc, char **argv)
{
    unsigned long rows = argc > 1 ? strtoul(argv[1], NULL, 10) : 0;
    const char *what = argc > 3 ? argv[3] : "";
    int engines_only = strcmp(what, "engines") == 0, more = strcmp(what, "more") == 0;
    seed = argc > 2 ? strtoull(argv[2], NULL, 10) : 1;
    unsigned long each = VISITS * VALVES, engines = (rows + each - 1) / each;
    if (more && engines > MORE)
        engines = MORE;
    puts(engines_only ? "engine,family"
                      : "Engine,Date,Hours,Valve,Found (in),Left (in),Temp F,Fitter");
    for (unsigned long e = 1; e <= engines; e++, rows -= rows < each ? rows : each) {
        if (engines_only)
            printf("GX-%05lu,six\n", e);
        else
            engine(e, rows < each ? rows : each, more);
    }
    return fflush(stdout) || ferror(stdout) ? 2 : 0;
}
