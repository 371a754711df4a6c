"""How often does the early bound of a seat hold? docs/methods.md, Forecast.
Run: python3 tests/r/seat.py (written with numpy 1.24.2)
Valves of rates N(-0.1, tau2) mm a unit of meter, read to 0.02 mm in j intervals of n readings over
one unit each; scatter, mu and tau2 known. Closed so far is the sum of first less last, the rate
borrows from the family. As far on as `far` times what has been run the bound lies at
    closed + rate x + 1.645 sqrt(variance),
without and with the covariance of the two. Prints the least and the greatest share of seats, over
all designs, that are closed no farther than that. Numbers are invented.
"""
import numpy as np

rng = np.random.default_rng(1)
MU, S, SEATS = -0.1, 0.02, 20000


def shares(j, n, tau, far):
    m = np.linspace(0, 1, n)
    r = rng.normal(MU, tau, SEATS)
    y = rng.normal(0, S, (SEATS, j, n)) + r[:, None, None] * m
    own = ((y @ (m - m.mean())).sum(1)) / (j * ((m - m.mean()) ** 2).sum())
    own_var = S * S / (j * ((m - m.mean()) ** 2).sum())
    var = 1 / (1 / own_var + 1 / tau**2)
    rate = var * (own / own_var + MU / tau**2)
    moved, over, x = (y[:, :, -1] - y[:, :, 0]).sum(1), j, j * far
    true = r * (over + x)
    apart = 2 * j * S * S + var * x * x
    for v in (apart, apart + 2 * var * x * over):
        yield np.mean(moved + rate * x - 1.6448536 * np.sqrt(v) < true)


all_of = [
    list(shares(j, n, tau, far))
    for j, n in ((1, 2), (1, 5), (1, 10), (3, 2), (10, 2), (5, 3))
    for tau in (0.02, 0.1)
    for far in (0.3, 1, 3)
]
for name, k in (("without", 0), ("with", 1)):
    got = [a[k] for a in all_of]
    print(name, "%.3f %.3f" % (min(got), max(got)))
