# Expected numbers of tests/relash_test.c. Run: python3 tests/r/relash_likeliest.py
# Mean and scatter of rates where their restricted likelihood is greatest; the gap with a risk of
# 1 % if they were known, and with the doubt about them, by nested integration over mu and tau.
import numpy as np
import scipy
from scipy import integrate, optimize, stats

TIGHT, LEVEL, VAR, VALVES = 0.2, 0.4, 0.012**2, 6


def mu_at(r, v, tau):
    w = 1 / (v + tau**2)
    return np.sum(w * r) / np.sum(w)


def log_like(r, v, tau):
    w = 1 / (v + tau**2)
    return (np.sum(np.log(w)) - np.log(np.sum(w)) - np.sum(w * (r - mu_at(r, v, tau)) ** 2)) / 2


def likeliest(r, v):
    grid = np.linspace(0, 5 * np.std(r), 20001)
    i = int(np.argmax([log_like(r, v, t) for t in grid]))
    if i == 0:
        return 0.0
    best = optimize.minimize_scalar(lambda t: -log_like(r, v, t), method="bounded",
                                    bounds=(grid[i - 1], grid[i + 1]), options={"xatol": 1e-13})
    return best.x


def given(mu, tau, gap):  # all valves inside
    return stats.norm.sf((TIGHT - LEVEL - mu * gap) / np.sqrt(VAR + (tau * gap) ** 2)) ** VALVES


def doubtful(r, v, gap):
    root = np.sqrt(1 / np.mean(1 / v))  # flat in asinh(tau / root)
    x = np.linspace(0, 12, 4001)
    like = np.array([log_like(r, v, root * np.sinh(y)) for y in x])
    like = np.exp(like - like.max())
    u = np.linspace(-8, 8, 801)
    inside = []
    for y in x:
        tau = root * np.sinh(y)
        sd = np.sqrt(1 / np.sum(1 / (v + tau**2)))
        inside.append(integrate.simpson(stats.norm.pdf(u) * given(mu_at(r, v, tau) + sd * u, tau, gap), u))
    return integrate.simpson(like * np.array(inside), x) / integrate.simpson(like, x)


def gap_of(inside):
    return optimize.brentq(lambda g: 1 - inside(g) - 0.01, 20, 3000, xtol=1e-7)


few = np.array([-1.31, -0.92, -1.55, -1.12, -1.78, -0.71, -1.24, -1.4]) * 1e-4
few_se = np.array([0.2, 0.25, 0.15, 0.3, 0.2, 0.2, 0.35, 0.15]) * 1e-4
alike = np.array([-1.01, -1.0, -0.99]) * 1e-4
# 24 valves, of which six that are far from the others were read often: estimates by moments,
# which go by how often, come out wide
far = np.array([-1.2 + 0.04 * (i - 8.5) for i in range(18)] + [-2.0, -1.9, -1.8, -0.6, -0.5, -0.4]) * 1e-4
far_se = np.array([0.08] * 18 + [0.02] * 6) * 1e-4
print("# scipy", scipy.__version__)
for name, r, se in (("few", few, few_se), ("alike", alike, np.full(3, 2e-5)), ("far", far, far_se)):
    v = se**2
    tau = likeliest(r, v)
    mu = mu_at(r, v, tau)
    w = 1 / v
    q = np.sum(w * (r - np.sum(w * r) / np.sum(w)) ** 2)
    moments = max(0, (q - len(r) + 1) / (np.sum(w) - np.sum(w**2) / np.sum(w))) ** 0.5
    known = gap_of(lambda g: given(mu, tau, g))
    print('{"%s", %.9g, %.9g, %.9g, %.7g},' % (name, mu, tau, known, gap_of(lambda g: doubtful(r, v, g))),
          "// by moments %.4g, %.5g" % (moments, gap_of(lambda g: given(mu_at(r, v, moments), moments, g))))
