/*
 * A table for the book, whatever its bytes are: taken or refused, and taken once more it
 * says nothing new. What was taken passes the book's own check and, dumped, makes the same book.
 * Of the first byte bit 0 says that corrections are wanted, bits 1 and 2 leave out these two.
 */
#include <string.h>
#include <unistd.h>

#include "fuzz.h"
#include "valvebook/book.h"
#include "valvebook/book_check.h"
#include "valvebook/fleet.h"

static const char *const before[] = {
    "family,side,key,value,unit\nfour,,cylinders,4,\nfour,I,valves,1,\nfour,E,valves,2,\n"
    "four,I,lash_min,0.1,mm\nfour,E,lash_max,0.6,mm\nfour,,relash_interval,300,h\n",
    "engine,family\nHC-1,four\nHC-2,four\n",
    "gauge,kind,resolution,unit,u,valid_until\ndti-1,dial,0.01,mm,0.02,\n",
    "engine,date,meter,meter_unit,event,part,at,build\nHC-1,2026-03-01,40,h,build,,,B2\n",
    "engine,date,meter,meter_unit,quantity,at,found,left,unit,u,temp_c,gauge,by,note,"
    "source,"
    "line\nHC-1,2026-01-01,10,h,lash,1I,0.25,0.3,mm,,20,dti-1,ab,,s.csv,2\n"
    "HC-1,2026-02-01,30,h,lash,1I,0.28,,mm,,20,dti-1,ab,,s.csv,3\n"
    "HC-1,2026-03-09,50,h,lash,1E1,0.28,,mm,0.01,20,,ab,,s.csv,4\n",
};
#define N_BEFORE (sizeof before / sizeof *before)

static const char *const tables[] = {"families", "engines", "events", "gauges",
                                     "plan",     "lobes",   "shims",  "trials",
                                     "history",  "readings"};
#define N_TABLES (sizeof tables / sizeof *tables)
static char table_path[N_TABLES][80]; // of their dumps

static char dir[64], path[N_BEFORE + 1][80], book[80], second[80];
static char *fresh; // [n_fresh] the book before
static size_t n_fresh;

static void
clear(void)
{
    for (size_t i = 0; i <= N_BEFORE; i++)
        unlink(path[i]);
    for (size_t i = 0; i < N_TABLES; i++)
        unlink(table_path[i]);
    unlink(book);
    unlink(second);
    rmdir(dir);
}

static void
write_file(const char *name, const void *s, size_t n)
{
    FILE *f = fopen(name, "wb");
    MUST(f && fwrite(s, 1, n, f) == n && !fclose(f));
}

static void
begin(void)
{
    if (dir[0])
        return;
    snprintf(dir, sizeof dir, "/dev/shm/valvebook-fuzz.XXXXXX");
    if (!mkdtemp(dir)) {
        snprintf(dir, sizeof dir, "/tmp/valvebook-fuzz.XXXXXX");
        MUST(mkdtemp(dir));
    }
    for (size_t i = 0; i <= N_BEFORE; i++) {
        snprintf(path[i], sizeof path[i], "%s/%zu.csv", dir, i);
        if (i < N_BEFORE)
            write_file(path[i], before[i], strlen(before[i]));
    }
    snprintf(book, sizeof book, "%s/s.db", dir);
    snprintf(second, sizeof second, "%s/t.db", dir);
    for (size_t i = 0; i < N_TABLES; i++)
        snprintf(table_path[i], sizeof table_path[i], "%s/%s.csv", dir, tables[i]);
    atexit(clear);
}

/* What was withdrawn elsewhere is needed here, what was corrected does not fit, or facts
 * contradict. */
static int at_odds;

static void
tell(void *arg, const struct vb_msg *m)
{
    (void)arg;
    MUST(m->text[0]);
    at_odds |= strstr(m->text, "was withdrawn elsewhere, but") != NULL ||
               strstr(m->text, " elsewhere: ") != NULL ||
               strstr(m->text, "from several books") != NULL;
}

static enum vb_err
load(struct vb_book *b, size_t from, size_t to, int correct)
{
    struct vb_load l = {
        .as_of = "2026-11-01", .no_end = 1, .correct = correct, .tell = tell};
    struct vb_msg m = {0};
    char *paths[N_BEFORE + 1];
    for (size_t i = from; i < to; i++)
        paths[i - from] = path[i];
    enum vb_err e = vb_book_load(b, &l, paths, to - from, &m);
    MUST(e == VB_OK || m.text[0]);
    return e;
}

/* All that the book says from one table to another, in one text. */
static char *
dump_of(struct vb_book *b, size_t from, size_t to)
{
    struct vb_out *o;
    struct vb_msg m = {0};
    char *s;
    size_t n;
    MUST(vb_out_memory(&o) == VB_OK);
    for (size_t i = from; i < to; i++)
        MUST(vb_book_dump(b, tables[i], o, &m) == VB_OK);
    MUST(vb_out_take(o, &s, &n) == VB_OK);
    return s;
}

static char *
dump(struct vb_book *b)
{
    return dump_of(b, 0, N_TABLES);
}

/* The book finds no fault with itself. */
static void
check(void)
{
    struct vb_check c = {.as_of = "2026-11-01"};
    struct vb_book *b;
    struct vb_msg m = {0};
    char *s;
    size_t n;
    MUST(vb_out_memory(&c.out) == VB_OK);
    MUST(vb_book_open(book, VB_BOOK_CHECK, &b, &m) == VB_OK);
    MUST(vb_book_check(b, &c, &m) == VB_OK);
    MUST(vb_book_close(b, &m) == VB_OK);
    MUST(vb_out_take(c.out, &s, &n) == VB_OK);
    if (c.found)
        fputs(s, stderr);
    MUST(c.found == 0);
    free(s);
}

/* Another book made of the dumps of one says the same. */
static void
restore(struct vb_book *from, const char *said)
{
    struct vb_load l = {.as_of = "2026-11-01", .no_end = 1, .tell = tell};
    struct vb_book *b;
    struct vb_msg m = {0};
    char *paths[N_TABLES], *s;
    for (size_t i = 0; i < N_TABLES; i++) {
        paths[i] = table_path[i];
        s = dump_of(from, i, i + 1);
        write_file(paths[i], s, strlen(s));
        free(s);
    }
    unlink(second);
    MUST(vb_book_open(second, VB_BOOK_WRITE, &b, &m) == VB_OK);
    MUST(vb_book_load(b, &l, paths, N_TABLES, &m) == VB_OK);
    s = dump(b);
    MUST(strcmp(s, said) == 0);
    free(s);
    MUST(vb_book_close(b, &m) == VB_OK);
}

static void
lists(struct vb_book *b)
{
    struct vb_fleet f;
    struct vb_state st;
    struct vb_msg m = {0};
    if (vb_book_fleet(b, NULL, "2026-11-01", &f, &m))
        return;
    for (size_t i = 0; i < f.lives.n; i++)
        vb_fleet_state(&f, i, &st);
    vb_fleet_clear(&f);
}

/* The book with all of `before` in it, made once and then copied. */
static struct vb_book *
new_book(void)
{
    struct vb_book *b;
    struct vb_msg m = {0};
    if (fresh)
        write_file(book, fresh, n_fresh);
    MUST(vb_book_open(book, VB_BOOK_WRITE, &b, &m) == VB_OK);
    if (fresh)
        return b;
    MUST(load(b, 0, N_BEFORE, 0) == VB_OK);
    MUST(vb_book_close(b, &m) == VB_OK);
    FILE *f = fopen(book, "rb");
    MUST(f && (fresh = malloc(1 << 22)));
    n_fresh = fread(fresh, 1, 1 << 22, f);
    MUST(n_fresh > 0 && !fclose(f));
    return new_book();
}

int
LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct vb_book *b;
    struct vb_msg m = {0};
    if (!size)
        return 0;
    at_odds = 0;
    begin();
    b = new_book();
    write_file(path[N_BEFORE], data + 1, size - 1);
    char *old = dump(b);
    enum vb_err e = load(b, N_BEFORE, N_BEFORE + 1, data[0] & 1);
    char *now = dump(b);
    MUST(!e || strcmp(old, now) == 0);
    if (!e && !(data[0] & 1)) {
        MUST(load(b, N_BEFORE, N_BEFORE + 1, 0) == VB_OK);
        char *again = dump(b);
        MUST(strcmp(now, again) == 0);
        free(again);
    }
    lists(b);
    if (!e && !at_odds && !(data[0] & 2))
        check();
    if (!e && !(data[0] & 4))
        restore(b, now);
    free(old);
    free(now);
    MUST(vb_book_close(b, &m) == VB_OK);
    return 0;
}
