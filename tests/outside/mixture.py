"""Mixture, k-means and adjusted Rand index by scikit-learn, from the start that is given."""
import json
import sys

import numpy as np
from sklearn.cluster import KMeans
from sklearn.metrics import adjusted_rand_score
from sklearn.mixture import GaussianMixture

q = json.load(sys.stdin)
x = np.array(q["rows"])
means = np.array(q["means"])
k, d = means.shape
mixture = GaussianMixture(
    k, covariance_type="full", tol=1e-10, reg_covar=q["ridge"], max_iter=5000,
    weights_init=np.full(k, 1 / k), means_init=means, precisions_init=np.stack([np.eye(d)] * k),
).fit(x)
answer = {
    "log_likelihood": float(mixture.score(x) * len(x)),
    "responsibilities": mixture.predict_proba(x).tolist(),
    "inertia": float(KMeans(q["groups"], n_init=20, random_state=0, tol=0).fit(x).inertia_),
    "rand": float(adjusted_rand_score(q["truth"], q["other"])),
}
json.dump(answer, sys.stdout)
