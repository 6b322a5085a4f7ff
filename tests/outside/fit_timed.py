"""Fits this project's space-charge law with scipy.optimize.least_squares and an analytic
Jacobian, and says how long it took.

Reads what fit.py reads, with "runs", and prints the middle of so many runs (seconds), the
sum of squares and the number of evaluations. Tolerances are scipy's own."""
import json
import sys
import time

import numpy as np
import scipy
from scipy.optimize import least_squares

SHARED = ["x", "w0", "spread", "kvb"]
OWN = ["ln_p", "ln_mu", "phi"]
question = json.load(sys.stdin)
sections = [{k: np.array(v) for k, v in s.items()} for s in question["sections"]]
names = SHARED + [f"{name}{i}" for i in range(len(sections)) for name in OWN]
rows = [len(s["ia"]) for s in sections]
held = [(k, *question["priors"][n.rstrip("0123456789") if n not in SHARED else n])
        for k, n in enumerate(names) if (n.rstrip("0123456789") if n not in SHARED else n) in question["priors"]]


def parts(vector, i, slopes):
    x, w0, spread, kvb = vector[:4]
    ln_p, ln_mu, phi = vector[4 + 3 * i : 7 + 3 * i]
    va, vg = sections[i]["va"], sections[i]["vg"]
    per_mu = np.exp(-ln_mu)
    # Kept positive as this project's law is: a step may try anything.
    w = np.maximum(w0 + spread * per_mu * va, 1e-3)
    root = np.sqrt(np.maximum(va * va + kvb, 0.25 * va * va))
    z = (vg * va / root + phi + va * per_mu) / w
    bend = np.logaddexp(0.0, z)
    e = np.maximum(w * bend, 1e-300)
    current = np.exp(ln_p) * e**x
    if not slopes:
        return current
    steep = 1.0 / (1.0 + np.exp(-z))
    by_e = x * current / e
    by_u, by_w = by_e * steep, by_e * (bend - z * steep)
    by_own = [current, -(by_u + by_w * spread) * va * per_mu, by_u]
    by_shared = [current * np.log(e), by_w, by_w * va * per_mu, -0.5 * by_u * vg * va / root**3]
    return by_shared, by_own


def residuals(vector):
    out = np.empty(sum(rows) + len(held))
    at = 0
    for i, s in enumerate(sections):
        out[at : at + rows[i]] = (parts(vector, i, False) - s["ia"]) / s["sigma"]
        at += rows[i]
    for k, mean, sd in held:
        out[at] = (vector[k] - mean) / sd
        at += 1
    return out


def jacobian(vector):
    out = np.zeros((sum(rows) + len(held), len(names)))
    at = 0
    for i, s in enumerate(sections):
        by_shared, by_own = parts(vector, i, True)
        block = out[at : at + rows[i]]
        for k, by in enumerate(by_shared):
            block[:, k] = by / s["sigma"]
        for k, by in enumerate(by_own):
            block[:, 4 + 3 * i + k] = by / s["sigma"]
        at += rows[i]
    for k, _, sd in held:
        out[at, k] = 1.0 / sd
        at += 1
    return out


start = np.array([question["start"][n if n in SHARED else n.rstrip("0123456789")] for n in names])
# The Jacobian is what it says it is.
step = 1e-6 * np.maximum(np.abs(start), 1e-2)
for k in range(len(names)):
    up, down = start.copy(), start.copy()
    up[k] += step[k]
    down[k] -= step[k]
    slope = (residuals(up) - residuals(down)) / (2 * step[k])
    assert np.allclose(slope, jacobian(start)[:, k], rtol=1e-4, atol=1e-4 * np.abs(slope).max()), names[k]
took = []
for _ in range(question["runs"]):
    begun = time.perf_counter()
    fit = least_squares(residuals, start, jac=jacobian, x_scale="jac")
    took.append(time.perf_counter() - begun)
took.sort()
json.dump({"seconds": took[len(took) // 2], "chi2": 2.0 * fit.cost, "evaluations": int(fit.nfev),
           "scipy": scipy.__version__}, sys.stdout)
