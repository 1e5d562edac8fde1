"""Two groups of 20 curves of 101 nodes, 10,000 rearrangements, two-sided, stretches weighed: spm1d's non-parametric test of two groups
beside our bench `curves` (of evidence), in one run, one thread each.

    "$(scripts/venv)" benches/peers/curves.py

That both find the same is checked by checks/curves_peer.py.
"""

import os
import sys
import time
import warnings
from pathlib import Path

import numpy as np

warnings.filterwarnings("ignore")
os.environ.setdefault("MPLBACKEND", "Agg")
sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent / "checks"))
import spm1d  # noqa: E402
from speed import benches, show  # noqa: E402


def curves(rng, lift):
    """Sums of a dozen steps, as the bench has them."""
    noise = rng.random((20, 113)) - 0.5
    return lift + np.lib.stride_tricks.sliding_window_view(noise, 13, axis=1).sum(axis=2)


rng = np.random.default_rng(7)
a, b = curves(rng, 1.5), curves(rng, 0.0)
np.random.seed(1)
times = []
for _ in range(3):
    start = time.perf_counter()
    found = spm1d.stats.nonparam.ttest2(a, b).inference(0.05, two_tailed=True, iterations=10_000)
    times.append(time.perf_counter() - start)
peer = sorted(times)[1]
ours = benches("evidence", "curves")
print(f"spm1d {spm1d.__version__}, {len(found.clusters)} stretches found: {show(peer)} (median of 3)")
for row, seconds in ours.items():
    print(f"{row:45} {show(seconds):>9}  {peer / seconds:8.0f} x as fast as spm1d's two groups")
one, two = ours["two_groups_hundred_thousand/1"], ours["two_groups_hundred_thousand/2"]
print(f"two threads beside one, 100,000 rearrangements: {one / two:.2f} x")
