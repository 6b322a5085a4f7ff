"""Fits this project's space-charge law with scipy.optimize.least_squares.

Reads {"sections": [{"va": [...], "vg": [...], "ia": [...], "sigma": [...]}, ...],
"priors": {name: [mean, sd]}, "start": {...}} and prints the optimum: shared x, w0,
spread, kvb; ln_p, ln_mu, phi of each section; and the sum of squares."""
import json
import sys

import numpy as np
from scipy.optimize import least_squares

SHARED = ["x", "w0", "spread", "kvb"]
OWN = ["ln_p", "ln_mu", "phi"]
question = json.load(sys.stdin)
sections = [{k: np.array(v) for k, v in s.items()} for s in question["sections"]]
names = SHARED + [f"{name}{i}" for i in range(len(sections)) for name in OWN]


def law(p, i, va, vg):
    mu = np.exp(p[f"ln_mu{i}"])
    w = p["w0"] + p["spread"] / mu * va
    u = vg * va / np.sqrt(va**2 + p["kvb"]) + p[f"phi{i}"] + va / mu
    return np.exp(p[f"ln_p{i}"]) * (w * np.logaddexp(0.0, u / w)) ** p["x"]


def residuals(vector):
    p = dict(zip(names, vector))
    parts = [(law(p, i, s["va"], s["vg"]) - s["ia"]) / s["sigma"] for i, s in enumerate(sections)]
    for name, value in p.items():
        prior = question["priors"].get(name.rstrip("0123456789") if name not in SHARED else name)
        if prior:
            parts.append([(value - prior[0]) / prior[1]])
    return np.concatenate(parts)


start = [question["start"][n if n in SHARED else n.rstrip("0123456789")] for n in names]
fit = least_squares(residuals, start, x_scale="jac", xtol=1e-13, ftol=1e-13, gtol=1e-13, max_nfev=2000)
json.dump({**dict(zip(names, fit.x)), "chi2": 2.0 * fit.cost}, sys.stdout)
