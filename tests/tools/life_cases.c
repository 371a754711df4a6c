/*
 * life_cases - draws random cases of the life of a fleet, computes them with the library and
 * prints what went in and what came out, for R to compute afresh:  life_cases SEED COUNT
 * One CSV line a case and kind: "number,kind,name=values,name=values ..." with several values
 * parted by spaces, all %.17g; nan where there is none.
 */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include "cases.h"
#include "valvebook/mcf.h"
#include "valvebook/powerlaw.h"
#include "valvebook/relash.h"
#include "valvebook/weibull.h"

#define MOST 60

/*
 * A life seen exactly, cut off, between two visits, or past its end at the first one; drawn
 * again where there is no fit.
 */
static struct vb_span
draw_span(double shape, double scale, size_t kind)
{
    double t = scale * pow(-log(uniform(0, 1)), 1 / shape);
    double gap = scale * uniform(0.05, 0.6), visit = gap * floor(t / gap);
    double cut = scale * uniform(0.2, 1.6);
    if (kind == 0)
        return (struct vb_span){t, t};
    if (kind == 1)
        return t < cut ? (struct vb_span){t, t} : (struct vb_span){cut, INFINITY};
    return visit < cut ? (struct vb_span){visit, visit + gap}
                       : (struct vb_span){gap * ceil(cut / gap), INFINITY};
}

static void
weibull_case(void)
{
    struct vb_span p[MOST];
    struct vb_weibull w;
    size_t n, kinds = between(1, 3);
    double lo[MOST], hi[MOST];
    do {
        double shape = exp(uniform(-0.7, 1.8)), scale = exp(uniform(3, 10));
        n = between(6, MOST);
        for (size_t i = 0; i < n; i++)
            p[i] = draw_span(shape, scale, kinds == 3 ? between(0, 2) : kinds);
    } while (vb_weibull_fit(p, n, &w, NULL));
    for (size_t i = 0; i < n; i++) {
        lo[i] = p[i].lo;
        hi[i] = isinf(p[i].hi) ? NAN : p[i].hi;
    }
    struct vb_bounds b1, b10;
    must(vb_weibull_life(&w, 0.01, 0.95, &b1), "vb_weibull_life");
    must(vb_weibull_life(&w, 0.1, 0.9, &b10), "vb_weibull_life");
    put("lo", lo, n);
    put("hi", hi, n);
    put1("shape", w.shape);
    put1("scale", w.scale);
    put1("loglik", w.loglik);
    put1("se_shape", sqrt(w.var_shape));
    put1("se_scale", sqrt(w.var_scale));
    put("b1", (double[]){b1.value, b1.lo, b1.hi}, 3);
    put("b10", (double[]){b10.value, b10.lo, b10.hi}, 3);
}

/* Engines that come late and leave early, some with a second build; ages with ties. */
static size_t
draw_fleet(struct vb_watch *w, size_t *engines, struct vb_replaced *r, size_t *k)
{
    size_t n = 0;
    *engines = between(2, 12);
    *k = 0;
    for (size_t e = 0; e < *engines; e++)
        for (size_t builds = between(1, 4) == 1 ? 2 : 1; builds > 0; builds--, n++) {
            double from = between(1, 2) == 1 ? 0 : floor(uniform(0, 400));
            w[n] = (struct vb_watch){e, from, from + floor(uniform(100, 900))};
            for (size_t i = between(0, 3); i > 0; i--)
                r[(*k)++] =
                    (struct vb_replaced){n, 10 * ceil(uniform(w[n].from, w[n].to) / 10),
                                         (double)between(1, 2)};
            for (size_t i = 0; i < *k; i++) // rounding must not carry them over the end
                if (r[i].watch == n && r[i].age > w[n].to)
                    r[i].age = w[n].to;
        }
    return n;
}

static void
put_fleet(const struct vb_watch *w, size_t n, const struct vb_replaced *r, size_t k)
{
    double x[6][MOST];
    for (size_t i = 0; i < n; i++) {
        x[0][i] = (double)w[i].engine;
        x[1][i] = w[i].from;
        x[2][i] = w[i].to;
    }
    for (size_t i = 0; i < k; i++) {
        x[3][i] = (double)r[i].watch;
        x[4][i] = r[i].age;
        x[5][i] = r[i].count;
    }
    put("engine", x[0], n);
    put("from", x[1], n);
    put("to", x[2], n);
    put("watch", x[3], k);
    put("age", x[4], k);
    put("count", x[5], k);
}

static void
fleet_case(void)
{
    struct vb_watch w[MOST];
    struct vb_replaced r[MOST * 3];
    struct vb_power p;
    struct vb_mcf_step *s = NULL;
    size_t n, k, engines, steps;
    double x[4][MOST * 3];
    do
        n = draw_fleet(w, &engines, r, &k);
    while (k < 3 || k > MOST || vb_power_fit(w, n, engines, r, k, &p, NULL));
    must(vb_mcf_fit(w, n, engines, r, k, 0.95, &s, &steps), "vb_mcf_fit");
    for (size_t i = 0; i < steps; i++) {
        x[0][i] = s[i].age;
        x[1][i] = s[i].mcf;
        x[2][i] = s[i].se;
        x[3][i] = s[i].se_poisson;
    }
    free(s);
    put_fleet(w, n, r, k);
    put("step", x[0], steps);
    put("mcf", x[1], steps);
    put("se", x[2], steps);
    put("se_poisson", x[3], steps);
    put1("power_shape", p.shape);
    put1("power_scale", p.scale);
    put1("power_se", sqrt(p.var_shape));
    put1("laplace", p.laplace);
    put1("chi2", p.chi2);
    put1("p_chi2", p.p_chi2);
}

static void
relash_case(void)
{
    double rate[12], var[12], risk, gap, mu = -exp(uniform(-10, -8.5));
    double tau = -mu * uniform(0.05, 0.4);
    size_t n = between(4, 12);
    struct vb_relash_side s = {.tight = 0.2,
                               .level = uniform(0.35, 0.45),
                               .var = pow(uniform(0.005, 0.02), 2),
                               .valves = (int)between(1, 12)};
    for (size_t i = 0; i < n; i++) {
        double se = tau * exp(uniform(-2, 1));
        rate[i] = mu + gauss(tau) + gauss(se);
        var[i] = se * se;
    }
    must(vb_belief_fit(rate, var, n, &s.rates), "vb_belief_fit");
    must(vb_relash_gap(&s, 1, 0.02, 1e6, &gap), "vb_relash_gap");
    double at = gap * uniform(0.8, 1.5);
    must(vb_relash_risk(&s, 1, at, &risk), "vb_relash_risk");
    put("rates", rate, n);
    put("vars", var, n);
    put1("tight", s.tight);
    put1("level", s.level);
    put1("var", s.var);
    put1("valves", s.valves);
    put1("gap", at);
    put1("risk", risk);
}

int
main(int argc, char **argv)
{
    static const struct {
        const char *name;
        void (*print)(void);
    } kind[] = {
        {"weibull", weibull_case}, {"fleet", fleet_case}, {"relash", relash_case}};
    if (argc != 3) {
        fputs("usage: life_cases seed count\n", stderr);
        return 2;
    }
    state = strtoull(argv[1], NULL, 10);
    unsigned long count = strtoul(argv[2], NULL, 10);
    for (unsigned long i = 1; i <= count; i++)
        for (size_t k = 0; k < sizeof kind / sizeof *kind; k++) {
            printf("%lu,%s", i, kind[k].name);
            kind[k].print();
            putchar('\n');
        }
    return fflush(stdout) || ferror(stdout) ? 2 : 0;
}
