"""Solves non-negative least-squares problems with scipy.optimize.nnls."""
import json
import sys

import numpy as np
from scipy.optimize import nnls

answers = []
for problem in json.load(sys.stdin):
    x, norm = nnls(np.array(problem["a"]), np.array(problem["b"]))
    answers.append({"x": x.tolist(), "norm": norm})
json.dump(answers, sys.stdout)
