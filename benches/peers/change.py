"""Two sets of 20 values: BCa interval of the difference of means with 10,000 resamples, and labels drawn 20,000 times: scipy, vectorised,
beside our bench `change` (of evidence), in one run.

    "$(scripts/venv)" benches/peers/change.py

That both find the same is checked by crates/evidence/tests/change_peers.rs and checks/change_peer.py.
"""

import sys
from pathlib import Path

import numpy as np
import scipy
from scipy import stats

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent / "checks"))
from speed import benches, median_s, show  # noqa: E402


def mean_difference(b, a, axis=-1):
    return np.mean(b, axis=axis) - np.mean(a, axis=axis)


rng = np.random.default_rng(7)
a, b = rng.normal(5.0, 3.0, 20), rng.normal(7.0, 3.0, 20)
peers = {
    "bca_of_a_mean_difference": lambda: stats.bootstrap(
        (b, a), mean_difference, n_resamples=10_000, vectorized=True, method="BCa", rng=np.random.default_rng(1)),
    "permutation_of_two_groups": lambda: stats.permutation_test(
        (b, a), mean_difference, n_resamples=20_000, vectorized=True, rng=np.random.default_rng(1)),
}
ours = benches("evidence", "change")
for row, work in peers.items():
    peer, one = median_s(work), ours[f"{row}/1"]
    print(f"{row:35} {show(one):>9}  scipy {scipy.__version__}: {show(peer):>9}, {peer / one:.1f} x")
for row in ("bca_of_a_mean_difference", "bca_hundred_thousand", "permutation_of_two_groups", "permutation_two_hundred_thousand"):
    print(f"{row:35} two threads beside one: {ours[f'{row}/1'] / ours[f'{row}/2']:.2f} x")
