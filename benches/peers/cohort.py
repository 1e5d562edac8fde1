"""Times cohort statistics beside NumPy, scipy and, where it is installed, scikit-fda, in one run:

    python benches/peers/cohort.py      # needs cargo; scikit-fda as in refs/make_cohort.py

Our figures are medians of `cargo bench -p evidence --bench cohort`, theirs medians of repeated calls on rows of the same kind.
What NumPy is given to do: quantiles of 10,000 × 101 values with the same order-statistic limits (one sort); ranks and the
formula of the modified band depth; a singular value decomposition.
"""

import re
import statistics
import subprocess
import time

import numpy as np
from scipy import stats

SHARES = [0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95]
UNITS = {"ns": 1e-9, "µs": 1e-6, "μs": 1e-6, "ms": 1e-3, "s": 1.0}


def curves(count):
    g = np.random.default_rng(1)
    return 10.0 * (g.random((count, 1)) - 0.5) + np.cumsum(g.random((count, 101)) - 0.5, axis=1)


def bands(rows):
    ordered = np.sort(rows, axis=0)
    n = len(rows)
    limits = [(stats.binom.ppf(0.025, n, p), stats.binom.ppf(0.975, n, p) + 1) for p in SHARES]
    return np.quantile(ordered, SHARES, axis=0), [ordered[[int(a) - 1, int(b) - 1]] for a, b in limits]


def depth(rows):
    n = len(rows)
    above, below = n - stats.rankdata(rows, "max", axis=0), stats.rankdata(rows, "min", axis=0) - 1
    pairs = n * (n - 1) / 2
    return (1 - (above * (above - 1) + below * (below - 1)) / 2 / pairs).mean(axis=1)


def components(rows):
    weight = np.full(101, 0.01)
    weight[[0, -1]] /= 2
    centred = (rows - rows.mean(axis=0)) * np.sqrt(weight)
    return np.linalg.svd(centred, full_matrices=False)


def median_s(work):
    work()
    times = []
    while sum(times) < 2.0 or len(times) < 3:
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def ours():
    """Median of each row of the bench, by "name count"."""
    done = subprocess.run(["cargo", "bench", "-q", "-p", "evidence", "--bench", "cohort"], capture_output=True, text=True,
                          check=True)
    found, name = {}, ""
    for line in done.stdout.splitlines():
        begins = re.match(r"[│ ]*[├╰]─ (\w+)", line)
        times = re.findall(r"([\d.]+) (ns|µs|μs|ms|s)\b", line)
        if begins and not times:
            name = begins[1]
        elif begins and name:
            value, unit = times[2]  # fastest, slowest, median, mean
            found[f"{name} {begins[1]}"] = float(value) * UNITS[unit]
    return found


def main():
    mine = ours()
    many, few = curves(10_000), curves(200)
    theirs = [("bands_one_thread 10000", "NumPy", lambda: bands(many)), ("bands_two_threads 10000", "NumPy", lambda: bands(many)),
              ("depth_one_thread 200", "scipy", lambda: depth(few)), ("depth_one_thread 10000", "scipy", lambda: depth(many)),
              ("components_one_thread 200", "NumPy", lambda: components(few)),
              ("components_one_thread 10000", "NumPy", lambda: components(many))]
    try:
        import skfda
        from skfda.exploratory.depth import ModifiedBandDepth
        from skfda.preprocessing.dim_reduction import FPCA
        grid = skfda.FDataGrid(few, np.linspace(0, 1, 101))
        theirs += [("depth_one_thread 200", "scikit-fda", lambda: ModifiedBandDepth()(grid)),
                   ("components_one_thread 200", "scikit-fda", lambda: FPCA(n_components=6).fit_transform(grid))]
    except ImportError:
        print("scikit-fda is not installed: not compared")
    for name, peer, work in theirs:
        took = median_s(work)
        print(f"{name:30} ours {1e3 * mine[name]:9.3f} ms   {peer:10} {1e3 * took:9.3f} ms   {took / mine[name]:6.1f} ×")
    for name in mine:
        if name.startswith("groups"):
            print(f"{name:30} ours {1e3 * mine[name]:9.3f} ms")


if __name__ == "__main__":
    main()
