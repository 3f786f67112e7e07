#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Terms of a positive pulse by SciPy, for comparison: reads lines "time value", prints
low high rise10 rise50 rise90 fall90 fall50 fall10 width50 overshoot.
State levels: modes of the lower and upper half of a histogram of 100 bins (scipy.stats.binned_statistic), each the mean
of the mode's bin and its neighbours. Instants: where scipy.interpolate.interp1d passes the level, by
scipy.optimize.brentq. Width at half height: scipy.signal.peak_widths."""
import sys
import numpy as np
from scipy import interpolate, optimize, signal, stats

t, x = np.loadtxt(sys.argv[1], unpack=True)
count, edges, which = stats.binned_statistic(x, x, "count", bins=100)
which = np.minimum(which - 1, 99)


def mode(first, last):
    best = first + int(np.argmax(count[first:last]))
    near = [b for b in (best - 1, best, best + 1) if first <= b < last]
    return x[np.isin(which, near)].mean()


low, high = mode(0, 50), mode(50, 100)
line = interpolate.interp1d(t, x)
p10, p50, p90 = (low + f * (high - low) for f in (0.1, 0.5, 0.9))


def crossing(level, i):
    return optimize.brentq(lambda s: float(line(s)) - level, t[i], t[i + 1], xtol=1e-15)


up, down = (lambda v: np.flatnonzero((x[:-1] < v) & (x[1:] >= v))), (lambda v: np.flatnonzero((x[:-1] >= v) & (x[1:] < v)))
r50, f50 = up(p50)[0], down(p50)[-1]
r10, r90 = up(p10)[up(p10) <= r50][-1], up(p90)[up(p90) >= r50][0]
f90, f10 = down(p90)[down(p90) <= f50][-1], down(p10)[down(p10) >= f50][0]
peak = np.array([int(np.argmax(x))])
prominence = (np.array([x.max() - (2 * p50 - x.max())]), np.array([0]), np.array([len(x) - 1]))
width = signal.peak_widths(x, peak, rel_height=0.5, prominence_data=prominence)[0][0] * (t[1] - t[0])
print(*("%.12g" % v for v in (low, high, crossing(p10, r10), crossing(p50, r50), crossing(p90, r90), crossing(p90, f90),
                               crossing(p50, f50), crossing(p10, f10), width, (x.max() - high) / (high - low))))
