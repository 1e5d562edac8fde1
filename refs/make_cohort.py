"""Makes refs/cohort.toml from public libraries. Run by hand, in an environment of its own, since scikit-fda is heavy:

    pip install numpy==2.4.6 scipy==1.17.1 scikit-learn==1.9.1 scikit-fda==0.10.1 multimethod==1.12 diptest==0.12.0
    python refs/make_cohort.py

The libraries are run, never copied from (diptest is under the GPL, the others under BSD licences).
"""

import warnings
from importlib.metadata import version
from pathlib import Path

import diptest
import numpy as np
from scipy import signal, stats
from sklearn.cluster import KMeans
from sklearn.metrics import adjusted_rand_score

warnings.filterwarnings("ignore")
import skfda  # noqa: E402
from skfda.exploratory.depth import BandDepth, ModifiedBandDepth  # noqa: E402
from skfda.exploratory.depth.multivariate import SimplicialDepth  # noqa: E402
from skfda.exploratory.visualization import Boxplot  # noqa: E402
from skfda.preprocessing.dim_reduction import FPCA  # noqa: E402

class MeanOfNodes(ModifiedBandDepth):
    """The modified band depth as a plain mean over nodes, where the library integrates by Simpson's rule."""

    def __call__(self, grid, *, distribution=None):
        columns = grid.data_matrix[..., 0].T
        return np.mean([SimplicialDepth()(c.reshape(-1, 1)) for c in columns], axis=0)


LIBRARIES = ["numpy", "scipy", "scikit-learn", "scikit-fda", "diptest"]


def generator(seed):
    """Numbers in 0..1 from an integer generator: the same bits in any language."""
    s = seed
    while True:
        s = (1103515245 * s + 12345) % 2**31
        yield s / 2**31


def rows(seed, count, length):
    """Smooth rows, each about a level of its own: running sums of running sums of what the generator gives."""
    g, out = generator(seed), []
    for _ in range(count):
        a = b = 0.0
        level = 12.0 * (next(g) - 0.5)
        row = []
        for _ in range(length):
            a = 0.7 * a + next(g) - 0.5
            b = 0.9 * b + a
            row.append(level + b)
        out.append(row)
    return np.array(out)


def table(values):
    """Text of a list, or of a list of lists."""
    if np.ndim(values) == 2:
        return f"[{', '.join(table(v) for v in values)}]"
    return f"[{', '.join(repr(float(v)) for v in values)}]"


def ints(values):
    return f"[{', '.join(str(int(v)) for v in values)}]"


def main():
    lines = [f"# Made by refs/make_cohort.py with {', '.join(f'{n} {version(n)}' for n in LIBRARIES)}.", ""]

    for n in (6, 10, 13, 23, 36, 72, 100, 500):
        for p in (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95):
            found = stats.quantile_test(np.arange(1.0, n + 1), q=0.0, p=p).confidence_interval(0.95)
            # Where the sample holds only one of the limits, it holds no interval.
            low, high = (0, 0) if np.isnan([found.low, found.high]).any() else (found.low, found.high)
            lines += ["[[rank]]", f"n = {n}", f"share = {p}", f"low = {int(low)}", f"high = {int(high)}", ""]
    for hits, n in ((0, 7), (1, 7), (7, 7), (18, 23), (250, 1000), (1, 200)):
        for level in (0.9, 0.95):
            ci = stats.binomtest(hits, n).proportion_ci(level, method="exact")
            lines += ["[[exact]]", f"hits = {hits}", f"n = {n}", f"level = {level}",
                      f"low = {float(ci.low)!r}", f"high = {float(ci.high)!r}", ""]
    for seed, count, length in ((1, 12, 21), (2, 30, 101), (3, 9, 70)):
        data = rows(seed, count, length)
        grid = skfda.FDataGrid(data, np.arange(length, dtype=float))
        lines += ["[[depth]]", f"seed = {seed}", f"count = {count}", f"length = {length}",
                  f"modified = {table(MeanOfNodes()(grid))}", f"band = {table(BandDepth()(grid))}"]
        plot = Boxplot(grid, depth_method=MeanOfNodes(), factor=1.5)
        low, high = plot.central_envelope
        lines += [f"central_low = {table(np.ravel(low))}", f"central_high = {table(np.ravel(high))}",
                  f"median = {int(np.argmax(MeanOfNodes()(grid)))}", ""]
    for seed, count, length in ((4, 15, 41), (5, 60, 21)):
        data = rows(seed, count, length)
        at = np.linspace(0.0, 1.0, length)
        weight = np.full(length, at[1])
        weight[[0, -1]] /= 2
        found = FPCA(n_components=4, _weights=weight)
        scores = found.fit_transform(skfda.FDataGrid(data, at))
        lines += ["[[components]]", f"seed = {seed}", f"count = {count}", f"length = {length}",
                  f"variances = {table(found.explained_variance_)}", f"scores = {table(scores)}", ""]
    for seed, count, k in ((6, 40, 2), (7, 40, 3), (8, 60, 5)):
        data = rows(seed, count, 5)
        found = KMeans(k, n_init=200, random_state=1).fit(data)
        lines += ["[[k_means]]", f"seed = {seed}", f"count = {count}", f"k = {k}", f"within = {found.inertia_!r}", ""]
    g = generator(9)
    for k in range(6):
        one, other = ([int(next(g) * (2 + k)) for _ in range(30)] for _ in range(2))
        other = [a if next(g) < 0.6 else b for a, b in zip(one, other)]
        lines += ["[[rand]]", f"one = {ints(one)}", f"other = {ints(other)}",
                  f"index = {float(adjusted_rand_score(one, other))!r}", ""]
    for k in range(10):
        values = [next(g) for _ in range(8 + 5 * k)]
        values = [v + 1.5 * (v < 0.4) if k % 3 else round(4 * v) / 4 for v in values]
        lines += ["[[dip]]", f"values = {table(values)}", f"dip = {diptest.dipstat(np.array(values))!r}", ""]
    for seed in (10, 11, 12):
        row = rows(seed, 1, 80)[0]
        nodes, told = signal.find_peaks(row, prominence=0.1 * (row.max() - row.min()))
        lines += ["[[peaks]]", f"seed = {seed}", f"nodes = {ints(nodes)}", f"prominences = {table(told['prominences'])}", ""]
    (Path(__file__).parent / "cohort.toml").write_text("\n".join(lines))


if __name__ == "__main__":
    main()
