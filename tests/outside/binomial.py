"""Probability of at most so many in a binomial sample, by scipy."""

import json
import sys

from scipy.stats import binom

asked = json.load(sys.stdin)
json.dump([float(binom.cdf(one["accept"], one["sample"], one["p"])) for one in asked], sys.stdout)
