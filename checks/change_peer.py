"""Whether a difference is real, by libraries that are not ours: `underfoot compare` on a made-up study beside scipy
(permutation_test, bootstrap BCa, t intervals) and statsmodels (MixedLM, multipletests), all on the figures that `underfoot
values` gives. pingouin's effect sizes are stored in refs/change.toml; here d is worked out.
"""

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import scipy
import statsmodels.api
from scipy import stats
from statsmodels.stats.multitest import multipletests

# Shown in the units in which they are kept, with --absolute.
METRICS = ["up.net.most", "target.net.most", "turn.net-cop.most", "lasts.downswing"]
PLAYERS, SWINGS = 8, 4
RESAMPLES = 200_000
DAYS = ["2026-05-11", "2026-06-15"]


def run(*words):
    done = subprocess.run([os.environ["UNDERFOOT_BIN"], *map(str, words)], capture_output=True, text=True)
    if done.returncode not in (0, 1):
        sys.exit(f"change_peer: {words} ended with {done.returncode}\n{done.stderr}")
    return done.stdout


def study(folder):
    """Players who differ in mass and style, each on two days; the first of them has more swings."""
    at = folder / "study"
    run("study", "new", at)
    for player in range(PLAYERS):
        run("player", "add", f"P{player}", "--hand", "right", "--study", at)
        for day, date in enumerate(DAYS):
            name = folder / f"{player}-{day}"
            run("simulate", "-o", name, "--swings", SWINGS + 3 * (player == 0), "--seed", 10 * player + day, "--rate", 500,
                "--mass", 60 + 4 * player, "--style", ["early", "late"][player % 2], "--format", "c3d")
            run("import", name, "--player", f"P{player}", "--date", date, "--target=+x", "--study", at)
    return at


def values(at):
    """Player, day and value of every swing, by metric."""
    out = {}
    for metric in METRICS:
        rows = json.loads(run("values", metric, "--json", "--study", at))["values"]
        out[metric] = [(r["player"], r["date"], r["session"], r["value"]) for r in rows]
    return out


def compared(at, *words):
    # So many resamples that what is left of either side's own chance is small even where few values leave gaps.
    told = json.loads(run("compare", *words, "--metric", ",".join(METRICS), "--resamples", RESAMPLES, "--absolute", "--json", "--study", at))
    assert told["schema"] == "underfoot.change/1"
    return told["numbers"]["metrics"]


def near(ours, theirs, by, what):
    if not abs(ours - theirs) <= by:
        sys.exit(f"change_peer: {what}: {ours}, theirs {theirs}")


def mean_difference(b, a, axis=-1):
    return np.mean(b, axis=axis) - np.mean(a, axis=axis)


def beside(row, a, b, paired, scale):
    """One metric of a comparison beside scipy."""
    what = f"{row['metric']}, {'paired' if paired else 'two groups'}"
    tiny = 1e-9 * scale
    near(row["mean_a"], np.mean(a), tiny, f"{what}: mean of A")
    near(row["difference"]["value"], np.mean(b) - np.mean(a), tiny, f"{what}: difference")
    kind = "samples" if paired else "independent"
    # To either side by the size of the difference; scipy's two-sided rule doubles a tail.
    size = lambda b, a, axis: np.abs(mean_difference(b, a, axis))
    if row["exact"]:
        theirs = stats.permutation_test((b, a), size, permutation_type=kind, n_resamples=np.inf, alternative="greater", vectorized=True)
        near(row["p"], theirs.pvalue, 1e-12, f"{what}: p")
    else:
        theirs = stats.permutation_test((b, a), size, permutation_type=kind, n_resamples=20_000, alternative="greater",
                                        vectorized=True, batch=5_000, rng=np.random.default_rng(3))
        near(row["p"], theirs.pvalue, 4 * np.sqrt(2 * max(theirs.pvalue, 1e-4) / 20_000), f"{what}: p, drawn")
    data = (np.array(b) - np.array(a),) if paired else (b, a)
    theirs = stats.bootstrap(data, np.mean if paired else mean_difference, n_resamples=RESAMPLES, batch=20_000, method="BCa",
                             vectorized=True, rng=np.random.default_rng(5))
    for end in ("low", "high"):
        near(row["difference"][end], getattr(theirs.confidence_interval, end), 0.05 * theirs.standard_error, f"{what}: {end}")
    if paired:
        test = stats.ttest_rel(b, a)
        d = np.mean(data[0]) / np.sqrt((np.var(a, ddof=1) + np.var(b, ddof=1)) / 2)
        near(row["g_of_changes"]["d"], np.mean(data[0]) / np.std(data[0], ddof=1), 1e-9, f"{what}: d_z")
    else:
        test = stats.ttest_ind(b, a, equal_var=False)
        pooled = ((len(a) - 1) * np.var(a, ddof=1) + (len(b) - 1) * np.var(b, ddof=1)) / (len(a) + len(b) - 2)
        d = (np.mean(b) - np.mean(a)) / np.sqrt(pooled)
    near(row["g"]["d"], d, 1e-9, f"{what}: d")
    return test


def adjusted(rows, what):
    theirs = multipletests([r["p"] for r in rows], method="holm")[1]
    for row, p in zip(rows, theirs):
        near(row["p_adjusted"], p, 1e-12, f"{what}: {row['metric']}, Holm")


def modelled(row, swings, in_b, what):
    """A mixed model of single swings."""
    y = np.array([value for *_, value in swings])
    who = np.array([player for player, *_ in swings])
    x = statsmodels.api.add_constant(np.array([float(in_b(s)) for s in swings]))
    fit = statsmodels.api.MixedLM(y / y.std(), x, groups=who).fit(reml=True, method="powell", ftol=1e-14)
    near(row["model"]["difference"]["value"], fit.fe_params[1] * y.std(), 1e-4 * row["model"]["se"], f"{what}: model")
    near(row["model"]["within_sd"], np.sqrt(fit.scale) * y.std(), 2e-4 * row["model"]["within_sd"], f"{what}: within")
    near(row["model"]["between_sd"] ** 2, fit.cov_re[0, 0] * y.std() ** 2, 2e-3 * y.var(), f"{what}: between")


def main():
    with tempfile.TemporaryDirectory() as folder:
        at = study(Path(folder))
        known = values(at)
        checked = 0

        rows = compared(at, f"to={DAYS[0]}", f"from={DAYS[1]}")
        for row in rows:
            swings = known[row["metric"]]
            means = lambda day: [np.mean([v for p, d, _, v in swings if p == f"P{k}" and d == day]) for k in range(PLAYERS)]
            a, b = means(DAYS[0]), means(DAYS[1])
            test = beside(row, a, b, True, max(map(abs, a)))
            half = (test.confidence_interval().high - test.confidence_interval().low) / 2
            near(row["detectable"]["size"], half, 1e-9 * half, f"{row['metric']}: detectable, paired")
            modelled(row, swings, lambda s: s[1] == DAYS[1], f"{row['metric']}, paired")
            checked += 1
        adjusted(rows, "paired")

        one, other = [f"P{k}" for k in (0, 2, 4, 6)], [f"P{k}" for k in (1, 3, 5, 7)]
        rows = compared(at, f"player={','.join(one)}", f"player={','.join(other)}")
        for row in rows:
            swings = known[row["metric"]]
            means = lambda names: [np.mean([v for p, _, _, v in swings if p == name]) for name in names]
            a, b = means(one), means(other)
            test = beside(row, a, b, False, max(map(abs, a)))
            half = (test.confidence_interval().high - test.confidence_interval().low) / 2
            near(row["detectable"]["size"], half, 1e-8 * half, f"{row['metric']}: detectable, groups")
            near(row["detectable"]["degrees"], test.df, 1e-8 * test.df, f"{row['metric']}: degrees, groups")
            modelled(row, swings, lambda s: s[0] in other, f"{row['metric']}, groups")
            checked += 1
        adjusted(rows, "groups")

        rows = compared(at, f"player=P0 to={DAYS[0]}", f"player=P0 from={DAYS[1]}")
        for row in rows:
            swings = known[row["metric"]]
            of = lambda day: [v for p, d, _, v in swings if p == "P0" and d == day]
            a, b = of(DAYS[0]), of(DAYS[1])
            beside(row, a, b, False, max(map(abs, a)))
            # The scatter of days from the other seven: that of their changes about the mean change, halved, less the swings' share.
            changes = [np.mean([v for p, d, _, v in swings if p == f"P{k}" and d == DAYS[1]])
                       - np.mean([v for p, d, _, v in swings if p == f"P{k}" and d == DAYS[0]]) for k in range(1, PLAYERS)]
            within = np.mean([np.var([v for p, d, _, v in swings if p == f"P{k}" and d == day], ddof=1)
                              for k in range(1, PLAYERS) for day in DAYS])
            # The player's own two sessions add their swings to the scatter within.
            own = [np.var(a, ddof=1), np.var(b, ddof=1)]
            ours_within = (within * 7 * 2 * (SWINGS - 1) + sum((len(s) - 1) * v for s, v in zip((a, b), own))) / (
                7 * 2 * (SWINGS - 1) + len(a) + len(b) - 2)
            days = max(0.0, np.var(changes, ddof=1) / 2 - ours_within / SWINGS)
            near(row["detectable"]["of_days"], np.sqrt(2 * days), 1e-6 * np.sqrt(np.var(changes)), f"{row['metric']}: days")
            pooled = np.mean(own)
            near(row["detectable"]["of_units"], np.sqrt(pooled * (1 / len(a) + 1 / len(b))), 1e-9 * max(map(abs, a)), f"{row['metric']}: swings")
            checked += 1
        adjusted(rows, "one player")
    print(f"change: {checked} metrics of three comparisons as scipy {scipy.__version__} and statsmodels {statsmodels.__version__} have them")


if __name__ == "__main__":
    main()
