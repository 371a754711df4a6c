"""Expected numbers of tests/one_cam_test.c: the shift of one cam that works both sides.
Run: python3 tests/r/one_cam.py
Four valves, 1I 1E 2I 2E, timed twice; the angles of a valve known to u, so the shift of both
angles' mean has u^2 of its own. TDC: one stop at the first visit, which all four share, one a
cylinder at the second. Generalised least squares as in any textbook, by numpy; the sides apart
by a second unknown. Numbers are invented.
"""
import numpy as np

y = np.array([0.9, 1.7, 1.4, 1.0])
own = np.array([0.4, 0.3, 0.5, 0.25])  # sqrt(2 u^2 / 2), both visits alike
J = np.array([[-1, 1, 0], [-1, 1, 0], [-1, 0, 1], [-1, 0, 1]])
tdc = np.array([0.35, 0.35, 0.6]) / np.sqrt(2)  # a stop of two readings
V = np.diag(own**2) + J @ np.diag(tdc**2) @ J.T


def gls(y, V, X):
    P = np.linalg.inv(V)
    C = np.linalg.inv(X.T @ P @ X)
    b = C @ X.T @ P @ y
    r = y - X @ b
    return b, C, r @ P @ r, C @ X.T @ P


one = np.ones((4, 1))
b, C, chi2, _ = gls(y, V, one)
print("# numpy", np.__version__)
print("both %.15g u %.15g chi2 %.15g" % (b[0], np.sqrt(C[0, 0]), chi2))
inlet, exhaust = [0, 2], [1, 3]
w = np.zeros(4)
means = []
for side, sign in ((inlet, 1), (exhaust, -1)):
    m, _, _, g = gls(y[side], V[np.ix_(side, side)], one[side])
    means.append(m[0])
    w[side] = sign * g[0]
print("inlet %.15g exhaust %.15g" % tuple(means))
print("apart %.15g u %.15g" % (w @ y, np.sqrt(w @ V @ w)))
