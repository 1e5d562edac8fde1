"""How well figures repeat, go together and can be planned with, by libraries that are not ours: pingouin (intraclass_corr, rm_corr),
scipy (pearsonr, spearmanr, linregress) and statsmodels (MixedLM, TTestPower, TTestIndPower) beside `underfoot repeat`, `relate` and
`plan`.

The numbers are seeded random ones. They come into a study as outcomes of simulated swings, so that the whole way is checked: table,
study, question, answer.
"""

import csv
import json
import math
import os
import subprocess
import sys
import tempfile
import warnings
from pathlib import Path

import numpy as np
import pandas as pd
import pingouin
import scipy
import statsmodels
import statsmodels.formula.api as smf
from scipy import stats
from statsmodels.stats.power import TTestIndPower, TTestPower

warnings.filterwarnings("ignore")
pingouin.options["round"] = None
for kind in ("round.column.CI95%", "round.column.CI95", "round.column.CI"):
    pingouin.options[kind] = None

# Swings of each session of each player.
SIZES = [[3, 4], [5, 3], [3, 3], [4, 6], [3, 5], [6, 3], [3, 4]]
held, failures = 0, []


def run(*words):
    done = subprocess.run([os.environ["UNDERFOOT_BIN"], *map(str, words)], capture_output=True, text=True)
    if done.returncode not in (0, 1):
        sys.exit(f"repeat_peer: {words} ended with {done.returncode}\n{done.stderr}")
    return done.stdout


def near(what, ours, theirs, by=1e-6):
    global held
    held += 1
    if not abs(ours - theirs) <= by * max(1.0, abs(theirs)):
        failures.append(f"{what}: {ours}, not {theirs}")


def study(folder):
    """Players with two sessions each, of uneven numbers of swings."""
    at = folder / "study"
    run("study", "new", at)
    for player, sizes in enumerate(SIZES):
        run("player", "add", f"P{player}", "--hand", "right", "--study", at)
        for day, swings in enumerate(sizes):
            name = folder / f"{player}-{day}"
            run("simulate", "-o", name, "--swings", swings, "--seed", 10 * player + day, "--rate", 500, "--format", "c3d")
            run("import", name, "--player", f"P{player}", "--date", f"2026-05-{day + 1:02}", "--target=+x", "--study", at)
    return at


def outcomes(at, folder):
    """Two numbers for every swing, and a third for three swings of every session."""
    rng = np.random.default_rng(2026)
    swings = json.loads(run("list", "--json", "--limit", 0, "--study", at))["swings"]
    swings.sort(key=lambda s: s["swing"])
    rows, own, days = [], {}, {}
    for s in swings:
        a, b = own.setdefault(s["player"], rng.normal(size=2))
        c, d, e = days.setdefault(s["session"], rng.normal(size=3))
        x = 40 + 3 * a + 1.5 * c + 2 * rng.normal()
        y = 60 + 3 * (0.7 * a + 0.7 * b) + 1.5 * d - 0.4 * (x - 40 - 3 * a) + 2 * rng.normal()
        z = 30 + 4 * b + 2 * e + 1.5 * rng.normal() if s["number"] <= 3 else math.nan
        rows.append((s["swing"], s["player"], s["session"], float(x), float(y), float(z)))
    frame = pd.DataFrame(rows, columns=["swing", "player", "session", "x", "y", "z"])
    table = folder / "numbers.csv"
    with open(table, "w", newline="") as out:
        write = csv.writer(out)
        write.writerow(["swing", "first (m/s)", "second (m/s)", "third (m/s)"])
        for r in rows:
            write.writerow([r[0], repr(r[3]), repr(r[4]), "" if math.isnan(r[5]) else repr(r[5])])
    run("outcomes", table, "--by", "swing", "--study", at)
    return frame


def repeatability(at, frame):
    told = json.loads(run("repeat", "--metric", "outcome.first,outcome.third", "--forms", "--json", "--study", at))
    assert told["schema"] == "underfoot.repeat/1"
    first, third = told["numbers"]["measures"]
    # The first swings of every player, as many as all have.
    forms = first["forms"]
    few = frame.groupby("player").head(forms["swings"]).copy()
    few["trial"] = few.groupby("player").cumcount()
    theirs = pingouin.intraclass_corr(few, targets="player", raters="trial", ratings="x")
    interval = [c for c in theirs.columns if c.startswith("CI95")][0]
    for ours, (_, row) in zip(forms["rows"], theirs.iterrows()):
        near(f"{ours['shrout_fleiss']}", ours["icc"]["value"], row["ICC"])
        low, high = row[interval]
        # pingouin rounds the limits to two decimals.
        near(f"{ours['shrout_fleiss']} low", ours["icc"]["low"], low, 0.0051)
        near(f"{ours['shrout_fleiss']} high", ours["icc"]["high"], high, 0.0051)
    # Uneven numbers: the mean square within sessions.
    fit = smf.ols("x ~ C(session)", frame).fit()
    near("scatter of swings", first["sem"]["value"], math.sqrt(fit.mse_resid))
    # Even numbers: the components of the restricted likelihood are those of the analysis of variance.
    even = frame.dropna()
    model = smf.mixedlm("z ~ 1", even, groups="player", vc_formula={"day": "0 + C(session)"}, re_formula="1")
    fit = model.fit(reml=True, method=["lbfgs", "powell"])
    near("swings, even", third["sem"]["value"], math.sqrt(fit.scale), 1e-3)
    near("days, even", third["day"]["value"], math.sqrt(fit.vcomp[0]), 1e-2)
    near("players, even", third["between"]["value"], math.sqrt(fit.cov_re.iloc[0, 0]), 1e-2)


def association(at, frame):
    told = json.loads(run("relate", "outcome.second", "outcome.first", "--json", "--study", at))
    pair = told["numbers"]["pairs"][0]
    means = frame.groupby("player")[["x", "y"]].mean()
    r = stats.pearsonr(means.x, means.y)
    line = stats.linregress(means.x, means.y)
    between = pair["between"]
    near("r between", between["r"]["value"], r.statistic)
    near("p between", between["p"], r.pvalue)
    for side, theirs in zip(("low", "high"), r.confidence_interval()):
        near(f"r between, {side}", between["r"][side], theirs)
    near("slope between", between["slope"]["value"], line.slope)
    half = stats.t.ppf(0.975, len(means) - 2) * line.stderr
    near("slope between, high", between["slope"]["high"], line.slope + half)
    near("rank", between["rank"]["value"], stats.spearmanr(means.x, means.y).statistic)
    shuffled = stats.permutation_test(
        (means.x.values,),
        lambda x: stats.spearmanr(x, means.y.values).statistic,
        permutation_type="pairings",
        n_resamples=np.inf,
    )
    near("p of ranks", between["p_rank"], shuffled.pvalue)
    heap = json.loads(run("relate", "outcome.second", "outcome.first", "--across-days", "--json", "--study", at))
    for answer, unit in ((told, "session"), (heap, "player")):
        within = answer["numbers"]["pairs"][0]["within"]
        theirs = pingouin.rm_corr(frame, x="x", y="y", subject=unit)
        near(f"r within {unit}", within["r"]["value"], theirs["r"].iloc[0])
        near(f"degrees within {unit}", within["degrees"], theirs["dof"].iloc[0])
        near(f"p within {unit}", within["p_of_swings"], theirs["pval" if "pval" in theirs else "p_val"].iloc[0])
        low, high = theirs[[c for c in theirs.columns if c.startswith("CI95")][0]].iloc[0]
        near(f"r within {unit}, low", within["r"]["low"], low, 0.0051)
        near(f"r within {unit}, high", within["r"]["high"], high, 0.0051)
        fit = smf.ols(f"y ~ x + C({unit})", frame).fit()
        near(f"slope within {unit}", within["slope_of_swings"]["value"], fit.params["x"])
        near(f"slope within {unit}, low", within["slope_of_swings"]["low"], fit.conf_int().loc["x", 0])


def planning(at):
    told = json.loads(
        run("plan", "--metric", "outcome.first", "--change", "2.5 m/s", "--swings", 4, "--trials", 0, "--json", "--study", at)
    )
    of = told["numbers"]["measures"][0]
    swing, day, player = of["swing"]["value"], of["day"]["value"], of["between"]["value"]
    mean = day**2 + swing**2 / 4
    scatters = {
        "one-player-one-day": (TTestIndPower(), swing),
        "same-players": (TTestPower(), math.sqrt(2 * mean)),
        "two-groups": (TTestIndPower(), math.sqrt(player**2 + mean)),
    }
    for design in of["designs"]:
        if design["design"] not in scatters:
            continue
        test, sd = scatters[design["design"]]
        for point in design["curve"]:
            if point["count"] >= design["least"]:
                theirs = test.power(2.5 / sd, point["count"], 0.05)
                near(f"{design['design']}, {point['count']}", point["power"], float(theirs))
        theirs = max(design["least"], math.ceil(float(test.solve_power(2.5 / sd, power=0.8, alpha=0.05))))
        near(f"{design['design']}, needed", design["needed"][0]["count"], theirs, 0)


with tempfile.TemporaryDirectory() as folder:
    at = study(Path(folder))
    numbers = outcomes(at, Path(folder))
    repeatability(at, numbers)
    association(at, numbers)
    planning(at)
for failure in failures:
    print(failure)
print(
    f"repeat: {held} comparisons with pingouin {pingouin.__version__}, scipy {scipy.__version__} and statsmodels "
    f"{statsmodels.__version__}, {len(failures)} differ"
)
sys.exit(1 if failures else 0)
