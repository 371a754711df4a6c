/*
 * bench_data - writes a seeded export of many readings, one row a valve, as a fleet's
 * spreadsheet would give it:  bench_data ROWS SEED > export.csv
 * 2 million rows are about 105 MB. With a third argument it writes the engines instead.
 */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define VISITS 40 // of an engine
#define VALVES 12 // six cylinders, inlet and exhaust

static uint64_t state;

/* splitmix64 (Steele, Lea & Flood 2014) */
static uint64_t
draw(void)
{
    uint64_t z = (state += UINT64_C(0x9e3779b97f4a7c15));
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

static unsigned
below(unsigned n)
{
    return (unsigned)(draw() % n);
}

static void
visit(unsigned long engine, unsigned v, double hours, unsigned long rows)
{
    static const char *const fitters[] = {"m.k", "j.or", "a.vance"};
    unsigned month = 1 + v % 4 * 3, year = 2015 + v / 4, day = 1 + below(28),
             temp = 60 + below(20);
    const char *fitter = fitters[below(3)];
    for (unsigned i = 0; i < VALVES && i < rows; i++) {
        char left[8] = "";
        if (below(3) == 0)
            snprintf(left, sizeof left, "0.0%u", 120 + below(30));
        printf("GX-%05lu,%02u.%02u.%u,%.1f,%u%c,0.0%u,%s,%u,%s\n", engine, day, month,
               year, hours, i / 2 + 1, i % 2 ? 'E' : 'I',
               80 + below(120) + 100 * (i % 2 == 0 ? 1 : 0), left, temp, fitter);
    }
}

int
main(int argc, char **argv)
{
    unsigned long rows = argc > 1 ? strtoul(argv[1], NULL, 10) : 0;
    state = argc > 2 ? strtoull(argv[2], NULL, 10) : 1;
    unsigned long engines = (rows + VISITS * VALVES - 1) / (VISITS * VALVES), done = 0;
    puts(argc > 3 ? "engine,family"
                  : "Engine,Date,Hours,Valve,Found (in),Left (in),Temp F,Fitter");
    for (unsigned long e = 1; e <= engines; e++) {
        double hours = 1000;
        if (argc > 3)
            printf("GX-%05lu,six\n", e);
        for (unsigned v = 0; argc <= 3 && v < VISITS && done < rows; v++, done += VALVES)
            visit(e, v, hours += 200 + below(2000) / 10.0, rows - done);
    }
    return fflush(stdout) || ferror(stdout) ? 2 : 0;
}
