/*
 * shim_cases - draws random engines with their shims, lets the library choose, and prints
 * what went in and what came out, for another program to solve afresh:
 * shim_cases SEED COUNT
 * One JSON object an engine; lengths in 0.0001 mm; null where there is none.
 */
#include <stdio.h>
#include <stdlib.h>

#include "../draw.h"
#include "valvebook/shims.h"

#define MAX_VALVES 48
#define MAX_STOCK  12

static int64_t
between(int64_t lo, int64_t hi)
{
    return lo + (int64_t)(draw() % (uint64_t)(hi - lo + 1));
}

struct engine {
    struct vb_shim_valve valve[MAX_VALVES];
    struct vb_shim_stock stock[MAX_STOCK];
    struct vb_shim_choice choice[MAX_VALVES];
    struct vb_shim_total total;
    size_t n, n_stock;
};

/* Inlets and exhausts with windows of their own; now and then a limit is not stated. */
static void
draw_valve(struct vb_shim_valve *v, int exhaust, int64_t grade, int orders)
{
    int64_t target = exhaust ? 2500 : 2000, half = between(400, 1200);
    *v = (struct vb_shim_valve){.present = 25000 + grade * between(-12, 12),
                                .found = between(800, 3800),
                                .target = target,
                                .lo = target - half,
                                .hi = target + half,
                                .order_min = VB_SHIM_NONE,
                                .order_max = VB_SHIM_NONE,
                                .order_step = VB_SHIM_NONE};
    if (draw() % 20 == 0)
        *(draw() % 2 ? &v->lo : &v->hi) = VB_SHIM_NONE;
    if (orders) {
        v->order_min = 25000 - grade * 16;
        v->order_max = 25000 + grade * 16;
        v->order_step = grade + grade * (int64_t)(draw() % 2);
    }
}

static void
draw_engine(struct engine *e)
{
    int64_t grade = between(100, 500);
    int orders = draw() % 4 != 0, own_side = draw() % 2 == 0;
    e->n = (size_t)between(1, MAX_VALVES);
    e->n_stock = (size_t)between(0, MAX_STOCK);
    for (size_t i = 0; i < e->n; i++)
        draw_valve(&e->valve[i], i % 2, grade, orders);
    for (size_t i = 0; i < e->n; i++) {
        e->valve[i].side = i % 2 ? 'E' : 'I';
        e->valve[i].own_side = own_side;
    }
    for (size_t k = 0; k < e->n_stock; k++)
        e->stock[k] = (struct vb_shim_stock){25000 + grade * between(-14, 14),
                                             (size_t)between(0, 3), "IE"[draw() % 3]};
}

static void
put(const char *before, int64_t x)
{
    if (x == VB_SHIM_NONE)
        printf("%snull", before);
    else
        printf("%s%lld", before, (long long)x);
}

static void
print_engine(const struct engine *e)
{
    printf("{\"valves\":[");
    for (size_t i = 0; i < e->n; i++) {
        const struct vb_shim_valve *v = &e->valve[i];
        const int64_t x[] = {v->present, v->found,     v->target,    v->lo,
                             v->hi,      v->order_min, v->order_max, v->order_step};
        printf("%s", i ? "," : "");
        for (size_t k = 0; k < sizeof x / sizeof *x; k++)
            put(k ? "," : "[", x[k]);
        printf(",\"%c\",%d]", v->side, v->own_side);
    }
    printf("],\"stock\":[");
    for (size_t k = 0; k < e->n_stock; k++)
        printf("%s[%lld,%zu,\"%.1s\"]", k ? "," : "", (long long)e->stock[k].thickness,
               e->stock[k].count, &e->stock[k].side);
    printf("],\"chosen\":[");
    for (size_t i = 0; i < e->n; i++) {
        const struct vb_shim_choice *c = &e->choice[i];
        printf("%s[%d,%zu", i ? "," : "", (int)c->source, c->from);
        put(",", c->thickness);
        printf("]");
    }
    const struct vb_shim_total *t = &e->total;
    printf("],\"total\":[%lld,%lld,%lld,%lld]}\n", (long long)t->unserved,
           (long long)t->bought, (long long)t->off, (long long)t->moved);
}

int
main(int argc, char **argv)
{
    static struct engine e;
    if (argc != 3) {
        fputs("usage: shim_cases seed count\n", stderr);
        return 2;
    }
    state = strtoull(argv[1], NULL, 10);
    for (unsigned long i = strtoul(argv[2], NULL, 10); i > 0; i--) {
        draw_engine(&e);
        if (vb_shims_choose(e.valve, e.n, e.stock, e.n_stock, e.choice, &e.total)) {
            fputs("shim_cases: vb_shims_choose failed\n", stderr);
            return 2;
        }
        print_engine(&e);
    }
    return fflush(stdout) || ferror(stdout) ? 2 : 0;
}
