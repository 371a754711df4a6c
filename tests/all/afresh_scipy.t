# Random cases, computed by the library and again by numpy and scipy, which print the relative
# difference of every figure of every case. SEED and CASES may be set.
. tests/tap.sh
seed=${SEED:-1986}
cases=${CASES:-200}

python=
for p in python3 /usr/bin/python3; do
    if [ -z "$python" ] && "$p" -c 'import numpy, scipy.stats' >/dev/null 2>&1; then
        python=$p
    fi
done
if [ -z "$python" ]; then
    skip "random cases agree with scipy" "no python3 with scipy"
    done_testing
    exit 0
fi

cat >"$work/afresh.py" <<'END'
import sys
from math import inf, isfinite, isnan, nan, sqrt

import numpy as np
import scipy
from scipy import optimize, stats


def parse(cells):
    k = {}
    for cell in cells:
        name, values = cell.split("=")
        v = np.array([float(x) for x in values.split()])
        k[name] = v if len(v) > 1 else v[0]
    return k


def difference(a, b, scale):
    """Relative to the larger of the two, or to scale; 9e99 where only one has a value."""
    a, b = np.atleast_1d(a).astype(float), np.atleast_1d(b).astype(float)
    if a.shape != b.shape:
        return 9e99
    worst = 0
    for x, y in zip(a, b):
        if x == y or (isnan(x) and isnan(y)):
            continue
        if not (isfinite(x) and isfinite(y)):
            return 9e99
        worst = max(worst, abs(x - y) / max(abs(x), abs(y), scale))
    return worst


# --- one slope, one intercept an interval: columns of a design, by lstsq

class Fit:
    """Meters are taken about their mean, so that the columns are far from parallel."""

    def __init__(self, interval, meter, lash, w):
        self.about, self.unit = np.mean(meter), max(np.ptp(meter), 1)
        self.levels = sorted(set(interval))
        root = np.sqrt(w)
        x = np.array([self.row(*r) for r in zip(interval, meter)])
        self.x = x * root[:, None]
        self.beta, _, self.rank, _ = np.linalg.lstsq(self.x, lash * root, rcond=1e-10)
        self.whole = self.rank == self.x.shape[1]
        self.sse = np.sum((lash * root - self.x @ self.beta) ** 2)
        self.df = len(lash) - self.x.shape[1]
        self.rate = self.beta[-1] / self.unit if self.whole else nan
        if self.whole:
            self.cov = np.linalg.pinv(self.x, rcond=1e-12)
            self.cov = self.cov @ self.cov.T

    def row(self, interval, meter):
        return [float(interval == i) for i in self.levels] + [(meter - self.about) / self.unit]

    def level(self, interval, meter):
        row = np.array(self.row(interval, meter))
        return row @ self.beta, row @ self.cov @ row


def root(f, lo, hi):
    return optimize.brentq(f, lo, hi, xtol=1e-13, rtol=4 * np.finfo(float).eps)


def t_quantile(p, df):
    """By the distribution function: t.ppf of scipy 1.10 stops at eight digits."""
    return root(lambda t: stats.t.sf(t, df) - (1 - p), 0, 1e4)


def crossing(k, fit):
    last, s2 = k["interval"][-1], fit.sse / fit.df
    level = lambda m: fit.level(last, m)[0]
    now, start = level(k["from"]), k["from"]
    if now < k["tight"]:
        return 1, 1, start, start
    if now > k["loose"]:
        return 2, 1, start, start
    t = t_quantile(k["p"], fit.df)
    closes = fit.rate < 0
    limit = k["tight"] if closes else k["loose"]
    se_rate = sqrt(s2 * fit.cov[-1, -1]) / fit.unit
    if isnan(limit) or abs(fit.rate) <= t * se_rate:
        return 0, 0, inf, inf
    sign = 1 if closes else -1
    room = lambda m: sign * (level(m) - limit)
    bound_room = lambda m: room(m) - t * sqrt(s2 * fit.level(last, m)[1])
    far = 1000
    while room(start + far) >= 0:
        far *= 2
    expected = root(room, start, start + far)
    early = start if bound_room(start) <= 0 else root(bound_room, start, expected)
    return (1 if closes else 2), 0, expected, early


def one_step(k):
    cells = [k[name] for name in ("interval", "meter", "lash", "w")]
    interval, meter, lash, w = cells
    q = np.full(len(lash), nan)
    for i in range(1, len(lash)):
        fit = Fit(*(x[:i] for x in cells))
        if interval[i] in interval[:i] and fit.whole:
            level, v = fit.level(interval[i], meter[i])
            q[i] = (lash[i] - level) / sqrt(1 / w[i] + v)
    return q


def wear(k):
    fit = Fit(k["interval"], k["meter"], k["lash"], k["w"])
    sxx = 0.0
    for i in fit.levels:
        m, w = k["meter"][k["interval"] == i], k["w"][k["interval"] == i]
        sxx += np.sum(w * (m - np.average(m - m[0], weights=w) - m[0]) ** 2)
    out = dict(rate=fit.rate, sse=fit.sse if fit.df > 0 else 0, df=fit.df, sxx=sxx,
               residual=one_step(k))
    out["residual_ss"] = out["sse"]
    out["level"] = out["se"] = nan
    forecast = nan, nan, nan, nan
    if fit.df > 0 and fit.whole:
        out["level"], v = fit.level(k["interval"][-1], k["at"])
        out["se"] = sqrt(fit.sse / fit.df * v)
        forecast = crossing(k, fit)
    out.update(zip(("way", "out_now", "expected", "early"), forecast))
    return out


# --- the rates of a family: DerSimonian and Laird (1986)

def dersimonian_laird(y, v):
    y, v = y[~np.isnan(y)], v[~np.isnan(y)]
    k = len(y)
    if k == 0:
        return dict(k=0, q=0, df=0, tau2=nan, mu=nan, var_mu=inf, i2=0)
    if k == 1:
        return dict(k=1, q=0, df=0, tau2=0, mu=y[0], var_mu=v[0], i2=0)
    w = 1 / v
    q = np.sum(w * (y - np.average(y, weights=w)) ** 2)
    tau2 = max(0, (q - (k - 1)) / (np.sum(w) - np.sum(w**2) / np.sum(w)))
    w = 1 / (v + tau2)
    return dict(k=k, q=q, df=k - 1, tau2=tau2, mu=np.average(y, weights=w),
                var_mu=1 / np.sum(w), i2=max(0, (q - (k - 1)) / q))


def family(k):
    y, v = k["rates"], k["vars"]
    out = dersimonian_laird(y, v)
    rows = []
    for i in range(len(y)):
        f = dersimonian_laird(np.delete(y, i), np.delete(v, i))
        known = [(x, u) for x, u in ((y[i], v[i]), (f["mu"], f["tau2"] + f["var_mu"]))
                 if not isnan(x)]
        precision = sum(1 / u for _, u in known)
        rows.append((f["mu"], f["tau2"], f["var_mu"],
                     sum(x / u for x, u in known) / precision, 1 / precision))
    names = "mu_without", "tau2_without", "var_mu_without", "post", "post_var"
    out.update(zip(names, np.array(rows).T))
    return out


# --- a crossed study: how far each term moves the fitted values

def fitted(y, *columns):
    x = np.hstack([np.ones((len(y), 1))] + list(columns))
    return x @ np.linalg.lstsq(x, y, rcond=1e-10)[0]


def study(k):
    y, of = k["value"] - np.mean(k["value"]), lambda x: np.unique(x, return_inverse=True)[1]
    part, person = np.eye(8)[of(k["part"])], np.eye(3)[of(k["person"])]
    part, person = part[:, part.any(axis=0)], person[:, person.any(axis=0)]
    a, b = part.shape[1], person.shape[1]
    r = len(y) // (a * b)
    both = (part[:, :, None] * person[:, None, :]).reshape(len(y), a * b)
    fits = [fitted(y), fitted(y, part), fitted(y, part, person), fitted(y, both), y]
    ss = np.sum(np.diff(fits, axis=0) ** 2, axis=1)
    df = np.array([a - 1, b - 1, (a - 1) * (b - 1), a * b * (r - 1)])
    ms = ss / df
    pooled_ss = np.sum((y - fits[2]) ** 2)
    pooled = pooled_ss / (df[2] + df[3])
    out = dict(ss=ss, df=df, ms=ms, f=ms[2] / ms[3], pf=stats.f.sf(ms[2] / ms[3], df[2], df[3]),
               pooled_ss=pooled_ss, pooled_df=df[2] + df[3])
    for name, against, e in ("var_with", ms[2], ms[3]), ("var_without", pooled, pooled):
        v = [e, max(0, (ms[1] - against) / (a * r)), max(0, (against - e) / r)]
        v += [sum(v), max(0, (ms[0] - against) / (b * r))]
        out[name] = v + [v[3] + v[4]]
    return out


# --- two gauges, and a series

def gauges(k):
    d = k["first"] - k["second"]
    n, mean, sd = len(d), np.mean(d), np.std(d, ddof=1)
    t = stats.ttest_rel(k["first"], k["second"])
    ends = np.array([-1, 1]) * t_quantile((1 + k["confidence"]) / 2, n - 1)
    half = ends * sd * sqrt(1 / n + 1.96**2 / (2 * (n - 1)))
    lo, hi = mean - 1.96 * sd, mean + 1.96 * sd
    return dict(mean=mean, sd=sd, lo=lo, hi=hi, mean_ci=mean + ends * sd / sqrt(n),
                lo_ci=lo + half, hi_ci=hi + half, t=t.statistic, df=n - 1, pt=t.pvalue)


def series(k):
    x, n = k["x"], len(k["x"])
    s = sum(np.sum(np.sign(x[i + 1:] - x[i])) for i in range(n))
    t = np.unique(x, return_counts=True)[1]
    var = (n * (n - 1) * (2 * n + 5) - np.sum(t * (t - 1) * (2 * t + 5))) / 18
    z = 0 if s == 0 else np.sign(s) * (abs(s) - 1) / sqrt(var)
    return dict(pace=stats.theilslopes(k["run"], k["day"])[0], s=s, var=var, z=z,
                pz=2 * stats.norm.sf(abs(z)))


print("# numpy", np.__version__, "scipy", scipy.__version__)
for line in open(sys.argv[1]):
    number, kind, *cells = line.rstrip("\n").split(",")
    k = parse(cells)
    for name, fresh in globals()[kind](k).items():
        # One residual may be nearly 0: it is held against the largest of its case.
        near0 = name == "residual" and not np.all(np.isnan(k[name]))
        d = difference(k[name], fresh, np.nanmax(np.abs(k[name])) if near0 else 0)
        print(number, kind, name, np.size(fresh), "%.3g" % d)
END

run "$B/tests/cases" "$seed" "$cases"
is "cases are drawn" "$status $err" "0 "
printf '%s\n' "$out" >"$work/cases.csv"
run "$python" "$work/afresh.py" "$work/cases.csv"
is "scipy computes them afresh" "$status $err" "0 "
printf '%s\n' "$out" >"$work/differences"
sed -n 's/^#/# seed '"$seed"',/p' "$work/differences"

# within KIND FIGURE LIMIT: the figure is there in every case, and never differs by more
within() {
    awk -v kind="$1" -v figure="$2" -v limit="$3" -v cases="$cases" '
        $2 != kind || $3 != figure { next }
        { n++; values += $4 }
        $5 + 0 > largest + 0 { largest = $5; at = $1 }
        !($5 + 0 <= limit + 0) { bad++ }
        END {
            printf "largest difference %s (case %d), %d values in %d cases\n",
                largest + 0, at, values, n
            exit !(n == cases && values >= n && !bad)
        }' "$work/differences" >"$work/within"
    good=$?
    ok "$1 $2, seed $seed: $(cat "$work/within")" test "$good" -eq 0
}

for figure in rate sse df sxx level se way out_now residual residual_ss; do
    within wear "$figure" 1e-9
done
for figure in expected early; do
    within wear "$figure" 1e-8 # brentq goes as far as the rounding of its bound
done
for figure in k q df tau2 mu var_mu i2 mu_without tau2_without var_mu_without post post_var; do
    within family "$figure" 1e-9
done
for figure in ss df ms f pf pooled_ss pooled_df var_with var_without; do
    within study "$figure" 1e-9
done
for figure in mean sd lo hi mean_ci lo_ci hi_ci t df pt; do
    within gauges "$figure" 1e-9
done
for figure in pace s var z pz; do
    within series "$figure" 1e-9
done

done_testing
