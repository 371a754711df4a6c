/*
 * cases - draws random cases, computes them with the library and prints what went in and
 * what came out, for another program to compute afresh:  cases SEED COUNT
 * One CSV line a case and kind: "number,kind,name=values,name=values ..." with several
 * values parted by spaces, all %.17g; nan where there is none.
 */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include "cases.h"
#include "valvebook/change.h"
#include "valvebook/family_rate.h"
#include "valvebook/forecast.h"
#include "valvebook/gauge.h"
#include "valvebook/residual.h"
#include "valvebook/wear.h"

#define MAX_OBS   36      // 6 intervals of 6
#define MAX_STUDY (8 * 9) // 8 parts, 3 people, 3 trials
#define MAX_N     20

/* --- one slope, one intercept an interval ------------------------------------------ */

/*
 * Intervals follow each other, some numbers left out; one in three begins at the meter
 * where the one before it ended. Now and then a reading is repeated at the same meter,
 * but not before two meters have been seen in one interval.
 */
static size_t
draw_obs(struct vb_obs *o)
{
    size_t n = 0, interval = 0, intervals = between(2, 6);
    int weighted = one_in(2), sloped = 0;
    double m = uniform(0, 20000), rate = uniform(-6e-5, 3e-5), sd = uniform(5e-4, 6e-3);
    for (size_t j = 0; j < intervals; j++, interval += between(1, 4) / 4 + 1) {
        size_t k = one_in(4) ? 1 : between(1, 6);
        double set = uniform(0.2, 0.4), begin;
        m += one_in(3) ? 0 : uniform(1, 900);
        begin = m;
        for (size_t i = 0; i < k; i++, n++) {
            if (i > 0 && !(sloped && one_in(8)))
                m += uniform(40, 1000);
            sloped |= m > begin;
            o[n].w = weighted ? uniform(0.2, 8) : 1;
            o[n].meter = m;
            o[n].lash = set + rate * (m - begin) + gauss(sd / sqrt(o[n].w));
            o[n].interval = interval;
        }
    }
    return n;
}

static void
put_obs(const struct vb_obs *o, size_t n)
{
    double x[4][MAX_OBS];
    for (size_t i = 0; i < n; i++) {
        x[0][i] = (double)o[i].interval;
        x[1][i] = o[i].meter;
        x[2][i] = o[i].lash;
        x[3][i] = o[i].w;
    }
    put("interval", x[0], n);
    put("meter", x[1], n);
    put("lash", x[2], n);
    put("w", x[3], n);
}

/*
 * Where forecasts begin, and the limits: now and then before the mean of the last
 * interval, between limits that the level may have left by then.
 */
static void
draw_window(const struct vb_wear *f, double *from, double *tight, double *loose)
{
    *from = f->now_meter + (one_in(2) ? 0 : uniform(0, 2000));
    *tight = uniform(0.05, 0.3);
    *loose = *tight + uniform(0.05, 0.4);
    if (one_in(5)) {
        double back = uniform(500, 8000), rate = isnan(f->rate) ? 0 : f->rate;
        *from = f->last_mbar - back;
        *tight = f->last_ybar - rate * back - uniform(0, 0.15);
        *loose = *tight + uniform(0.15, 0.3);
    }
    if (one_in(6))
        *(one_in(2) ? tight : loose) = NAN;
}

/* Level and crossings; nan where there is no rate, or no residual variance. */
static void
put_forecast(const struct vb_wear *f)
{
    static const double confidence[] = {0.9, 0.95, 0.99};
    double from, tight, loose, at = f->last_mbar + uniform(-2000, 8000);
    double p = confidence[between(0, 2)], level = NAN, se = NAN;
    struct vb_crossing c = {.expected = NAN, .early = NAN};
    int known = f->df >= 1 && !isnan(f->rate);
    draw_window(f, &from, &tight, &loose);
    if (known) {
        double s2 = f->sse / (double)f->df;
        const struct vb_line l = {.ybar = f->last_ybar,
                                  .mbar = f->last_mbar,
                                  .w = f->last_w,
                                  .rate = f->rate,
                                  .var_rate = s2 / f->sxx,
                                  .s2 = s2,
                                  .df = (double)f->df};
        must(vb_line_level(&l, at, &level, &se), "vb_line_level");
        must(vb_line_cross(&l, from, tight, loose, p, &c), "vb_line_cross");
    }
    put1("from", from);
    put1("at", at);
    put1("tight", tight);
    put1("loose", loose);
    put1("p", p);
    put1("level", level);
    put1("se", se);
    put1("way", known ? (double)c.way : NAN);
    put1("out_now", known ? (double)c.out_now : NAN);
    put1("expected", c.expected);
    put1("early", c.early);
}

static void
put_residuals(const struct vb_obs *o, size_t n)
{
    double q[MAX_OBS], sum = 0;
    struct vb_run run = {0};
    for (size_t i = 0; i < n; i++) {
        if (vb_run_next(&run, &o[i], &q[i]))
            sum += q[i] * q[i];
        else
            q[i] = NAN;
    }
    put("residual", q, n);
    put1("residual_ss", sum);
}

static void
wear_case(void)
{
    struct vb_obs o[MAX_OBS];
    struct vb_wear f;
    size_t n = draw_obs(o);
    must(vb_wear_fit(o, n, &f), "vb_wear_fit");
    put_obs(o, n);
    put1("rate", f.rate);
    put1("sse", f.sse);
    put1("df", (double)f.df);
    put1("sxx", f.sxx);
    put_forecast(&f);
    put_residuals(o, n);
}

/* --- the rates of a family --------------------------------------------------------- */

/* Each valve's rate from the others': mean, variances and what they make of its own. */
static void
put_posteriors(const double *rate, const double *var, size_t n)
{
    double mu[MAX_N], tau2[MAX_N], var_mu[MAX_N], post[MAX_N], post_var[MAX_N];
    for (size_t i = 0; i < n; i++) {
        struct vb_family_rate f;
        must(vb_family_rate_without(rate, var, n, i, &f), "vb_family_rate_without");
        must(vb_family_rate_posterior(&f, rate[i], var[i], &post[i], &post_var[i]),
             "vb_family_rate_posterior");
        mu[i] = f.mu;
        tau2[i] = f.tau2;
        var_mu[i] = f.var_mu;
    }
    put("mu_without", mu, n);
    put("tau2_without", tau2, n);
    put("var_mu_without", var_mu, n);
    put("post", post, n);
    put("post_var", post_var, n);
}

/* One family in four has a valve without a rate; one in three scatters by noise alone. */
static void
family_case(void)
{
    size_t n = between(2, 12), none = one_in(4) ? between(0, n - 1) : n;
    double rate[MAX_N], var[MAX_N], mu = uniform(-5e-5, 5e-5);
    double tau = one_in(3) ? 0 : uniform(1e-6, 2e-5);
    struct vb_family_rate f;
    for (size_t i = 0; i < n; i++) {
        double sd = exp(uniform(log(1e-6), log(2e-5)));
        var[i] = sd * sd;
        rate[i] = i == none ? NAN : mu + gauss(tau) + gauss(sd);
    }
    must(vb_family_rate_fit(rate, var, n, &f), "vb_family_rate_fit");
    put("rates", rate, n);
    put("vars", var, n);
    put1("k", (double)f.k);
    put1("q", f.q);
    put1("df", f.df);
    put1("tau2", f.tau2);
    put1("mu", f.mu);
    put1("var_mu", f.var_mu);
    put1("i2", f.i2);
    put_posteriors(rate, var, n);
}

/* --- a crossed study --------------------------------------------------------------- */

static size_t
draw_study(struct vb_study_reading *r)
{
    size_t parts = between(3, 8), people = between(2, 3), trials = between(2, 3), n = 0;
    double both = one_in(2) ? 0 : 0.01, person[3];
    for (size_t j = 0; j < people; j++)
        person[j] = gauss(0.004);
    for (size_t i = 0; i < parts; i++) {
        double part = 0.3 + gauss(0.03);
        for (size_t j = 0; j < people; j++) {
            double cell = part + person[j] + gauss(both);
            for (size_t k = 0; k < trials; k++)
                r[n++] = (struct vb_study_reading){3 * i, j, k + 1, cell + gauss(0.006)};
        }
    }
    for (size_t i = n; i > 1; i--) {
        size_t j = between(0, i - 1);
        struct vb_study_reading t = r[i - 1];
        r[i - 1] = r[j];
        r[j] = t;
    }
    return n;
}

static void
put_readings(const struct vb_study_reading *r, size_t n)
{
    double x[4][MAX_STUDY];
    for (size_t i = 0; i < n; i++) {
        x[0][i] = (double)r[i].part;
        x[1][i] = (double)r[i].person;
        x[2][i] = (double)r[i].trial;
        x[3][i] = r[i].value;
    }
    put("part", x[0], n);
    put("person", x[1], n);
    put("trial", x[2], n);
    put("value", x[3], n);
}

static void
study_case(void)
{
    struct vb_study_reading r[MAX_STUDY];
    struct vb_study s;
    size_t n = draw_study(r);
    must(vb_study_crossed(r, n, &s, NULL), "vb_study_crossed");
    const struct vb_study_model *m = &s.with;
    const double ss[] = {m->part.ss, m->people.ss, m->interaction.ss, m->repeat.ss};
    const double df[] = {m->part.df, m->people.df, m->interaction.df, m->repeat.df};
    const double ms[] = {m->part.ms, m->people.ms, m->interaction.ms, m->repeat.ms};
    put_readings(r, n);
    put("ss", ss, 4);
    put("df", df, 4);
    put("ms", ms, 4);
    put1("f", s.f);
    put1("pf", s.p);
    put1("pooled_ss", s.without.repeat.ss);
    put1("pooled_df", s.without.repeat.df);
    put("var_with", s.with.var, VB_VAR_COUNT);
    put("var_without", s.without.var, VB_VAR_COUNT);
}

/* --- two gauges -------------------------------------------------------------------- */

static void
gauges_case(void)
{
    size_t n = between(5, 20);
    double first[MAX_N], second[MAX_N], bias = gauss(0.004);
    double confidence = one_in(2) ? 0.95 : 0.99;
    struct vb_agree g;
    for (size_t i = 0; i < n; i++) {
        double lash = uniform(0.15, 0.5);
        first[i] = lash + gauss(0.003);
        second[i] = round(100 * (lash + bias + gauss(0.005))) / 100;
    }
    must(vb_gauges_agree(first, second, n, confidence, &g), "vb_gauges_agree");
    put("first", first, n);
    put("second", second, n);
    put1("confidence", confidence);
    put1("mean", g.mean);
    put1("sd", g.sd);
    put1("lo", g.lo);
    put1("hi", g.hi);
    put("mean_ci", g.mean_ci, 2);
    put("lo_ci", g.lo_ci, 2);
    put("hi_ci", g.hi_ci, 2);
    put1("t", g.t);
    put1("df", g.df);
    put1("pt", g.p);
}

/* --- a series ---------------------------------------------------------------------- */

/* Ties come from rounding, and days twice from steps of 0. */
static void
series_case(void)
{
    size_t n = between(4, MAX_N);
    double day[MAX_N], meter[MAX_N], x[MAX_N], pace, step = one_in(3) ? 0.01 : 0.002;
    double d = (double)between(0, 2000), m = uniform(0, 9000), drift = gauss(2e-3);
    struct vb_trend t;
    for (size_t i = 0; i < n; i++) {
        d += (double)(i == 1 ? between(1, 60) : one_in(6) ? 0 : between(1, 60));
        m += uniform(0, 300);
        day[i] = d;
        meter[i] = round(10 * m) / 10;
        x[i] = step * round((0.3 + drift * (double)i + gauss(0.008)) / step);
    }
    must(vb_pace(day, meter, n, &pace), "vb_pace");
    must(vb_mann_kendall(x, n, &t), "vb_mann_kendall");
    put("day", day, n);
    put("run", meter, n);
    put("x", x, n);
    put1("pace", pace);
    put1("s", (double)t.s);
    put1("var", t.var);
    put1("z", t.z);
    put1("pz", t.p);
}

int
main(int argc, char **argv)
{
    static const struct {
        const char *name;
        void (*print)(void);
    } kind[] = {{"wear", wear_case},
                {"family", family_case},
                {"study", study_case},
                {"gauges", gauges_case},
                {"series", series_case}};
    if (argc != 3) {
        fputs("usage: cases seed count\n", stderr);
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
