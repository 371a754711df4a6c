/* csv_floor - a file through libcsv's parser and nothing else: the floor of reading CSV.
 *   csv_floor FILE   prints cells and records */
#include <csv.h>
#include <stdio.h>

static void
cell(void *s, size_t n, void *count)
{
    (void)s, (void)n;
    ++((unsigned long *)count)[0];
}

static void
record(int c, void *count)
{
    (void)c;
    ++((unsigned long *)count)[1];
}

int
main(int argc, char **argv)
{
    static char buf[65536];
    unsigned long count[2] = {0, 0};
    struct csv_parser p;
    size_t n;
    FILE *f = argc == 2 ? fopen(argv[1], "rb") : NULL;
    if (!f || csv_init(&p, CSV_STRICT | CSV_STRICT_FINI))
        return 2;
    while ((n = fread(buf, 1, sizeof buf, f)) > 0)
        if (csv_parse(&p, buf, n, cell, record, count) != n)
            return 2;
    csv_fini(&p, cell, record, count);
    csv_free(&p);
    printf("%lu cells, %lu records\n", count[0], count[1]);
    return fclose(f) ? 2 : 0;
}
