"""Cohorts and shapes of a small invented study by the program, beside numpy and scipy on the figures and curves that it gives out itself:
centiles with their limits, where a swing stands among others and how far off it is, bands of curves, depth pair by pair, and
what principal components hold.

What takes heavier libraries (scikit-fda, scikit-learn) was made once: refs/make_cohort.py.
"""

import itertools
import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from scipy import stats

PLAYERS, SWINGS = 14, 2
STYLES = ["early", "late", "pivot", "press"]
METRIC = "up.net.most"


def run(*words):
    done = subprocess.run([os.environ["UNDERFOOT_BIN"], *map(str, words)], capture_output=True, text=True)
    if done.returncode != 0:
        sys.exit(f"cohort_peer: {words} ended with {done.returncode}\n{done.stderr}")
    return done.stdout


def asked(study, *words):
    return json.loads(run(*words, "--study", study, "--json"))


def made(folder):
    """Players of four styles and of many masses, two swings each."""
    at = folder / "study"
    run("study", "new", at)
    for k in range(PLAYERS):
        run("simulate", "-o", folder / f"p{k}", "--swings", SWINGS, "--seed", 100 + k, "--style", STYLES[k % 4],
            "--mass", 55 + 3 * k, "--plates", "two", "--format", "c3d")
        run("player", "add", f"P{k:02}", "--hand", "right", "--study", at)
        run("session", "add", f"P{k:02}", "--date", "2026-05-12", "--target", "+x", "--study", at)
        run("import", folder / f"p{k}", "--session", k + 1, "--study", at)
    return at


def means(rows):
    players = sorted({player for player, _, _ in rows})
    return {p: np.mean([v for player, _, v in rows if player == p]) for p in players}


def limits(ordered, share):
    """As scipy has them; none where one of them is not within the sample."""
    found = stats.quantile_test(ordered, q=0.0, p=share).confidence_interval(0.95)
    return (np.nan, np.nan) if np.isnan([found.low, found.high]).any() else (found.low, found.high)


def same(what, ours, theirs, by=1e-9):
    ours, theirs = (np.array([np.nan if v is None else v for v in np.ravel(x)], dtype=float) for x in (ours, theirs))
    np.testing.assert_allclose(ours, theirs, rtol=by, atol=by, err_msg=what)


def centiles(study, rows):
    told = asked(study, "cohort", "--metric", METRIC)["numbers"]["measures"][0]["rows"][0]
    ordered = np.sort(list(means(rows).values()))
    for c in told["centiles"]:
        low, high = limits(ordered, c["percent"] / 100)
        value = np.nan if np.isnan(low) else np.quantile(ordered, c["percent"] / 100)
        same(f"centile {c['percent']}", [c["value"], c["low"], c["high"]], [value, low, high])
    assert sum(c["value"] is not None for c in told["centiles"]) == 3, "of 14 players"


def standings(study, rows):
    """A single swing among single swings of the others, each player with the same weight; a player among players."""
    for place, single in ((f"swing={rows[5][1]}", True), (f"player={rows[5][0]}", False)):
        told = asked(study, "cohort", "--metric", METRIC, "--place", place)["numbers"]["placed"][0]["standings"][0]
        player = rows[5][0]
        value = rows[5][2] if single else means(rows)[player]
        others = {p: [v for q, _, v in rows if q == p] for p in means(rows) if p != player}
        if not single:
            others = {p: [np.mean(v)] for p, v in others.items()}
        n = len(others)
        below = sum(np.mean(np.array(v) < value) + 0.5 * np.mean(np.array(v) == value) for v in others.values())
        low = stats.beta.ppf(0.025, below, n - below + 1) if below > 0 else 0.0
        high = stats.beta.ppf(0.975, below + 1, n - below) if below < n else 1.0
        same("standing", [told["percent"][k] for k in ("value", "low", "high")], [100 * below / n, 100 * low, 100 * high], 1e-7)
        middle = np.mean([np.mean(v) for v in others.values()])
        scatter = np.sqrt(sum(np.mean((np.array(v) - middle) ** 2) for v in others.values()) / (n - 1))
        t = (value - middle) / (scatter * np.sqrt(1 + 1 / n))
        same("distance", [told["t"], told["p"]], [t, 2 * stats.t.sf(abs(t), n - 1)], 1e-8)
        assert told["units"] == n and told["p_adjusted"] == told["p"], "one figure was looked at"


def curves(study):
    told = asked(study, "cohort", "--curve", "up.net", "--to-event", "finish", "--place", "player=P03")["numbers"]
    units = asked(study, "curves", "up.net", "--to-event", "finish")["numbers"]["sets"][0]["units"]
    rows = np.array([[np.nan if v is None else v for v in u["values"]] for u in units])
    assert rows.shape == (PLAYERS, 101) and not np.isnan(rows).any(), rows.shape
    for band in told["bands"]:
        share = band["percent"] / 100
        low, high = zip(*(limits(np.sort(c), share) for c in rows.T))
        value = np.where(np.isnan(low), np.nan, np.quantile(rows, share, axis=0))
        for name, theirs in (("value", value), ("low", low), ("high", high)):
            same(f"band {band['percent']} {name}", band[name], theirs)
    # Depth: at each node, of all pairs of others, those that hold it between them.
    at = [u["name"] for u in units].index("P03")
    others = np.delete(rows, at, axis=0)
    held = [(np.minimum(a, b) <= rows[at]) & (rows[at] <= np.maximum(a, b)) for a, b in itertools.combinations(others, 2)]
    same("depth", told["placed"][0]["depth"], np.mean(held))
    return rows


def components(study, rows):
    """Shape alone: each curve over its own mean and standard deviation; trapezoidal weights."""
    told = asked(study, "shapes", "up.net", "--to-event", "finish", "--references", 40, "--resamples", 20)["numbers"]
    scaled = (rows - rows.mean(axis=1, keepdims=True)) / rows.std(axis=1, ddof=1, keepdims=True)
    weight = np.full(rows.shape[1], 1 / (rows.shape[1] - 1))
    weight[[0, -1]] /= 2
    centred = (scaled - scaled.mean(axis=0)) * np.sqrt(weight)
    variances = np.linalg.svd(centred, compute_uv=False) ** 2
    kept = int(np.searchsorted(np.cumsum(variances) / variances.sum(), 0.95)) + 1
    same("what components hold", told["components_percent"], (100 * variances / variances.sum())[:kept], 1e-8)
    # Within one group lies all that the components hold.
    if not told["aside"]:
        same("scatter within one group", told["criteria"][0]["log_within"], np.log(variances[:kept].sum()), 1e-8)


def main():
    with tempfile.TemporaryDirectory() as folder:
        study = made(Path(folder))
        values = asked(study, "values", METRIC)["values"]
        rows = [(v["player"], v["swing"], v["body_value"]) for v in values]
        assert len(rows) == PLAYERS * SWINGS
        centiles(study, rows)
        standings(study, rows)
        components(study, curves(study))
        print(f"cohorts and shapes of {PLAYERS} invented players: as by numpy {np.__version__} and scipy")


if __name__ == "__main__":
    main()
