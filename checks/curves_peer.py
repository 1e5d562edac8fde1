"""Tests of whole curves beside spm1d (GPL-3.0; run, never copied from), on every set of curves that it brings and that has a test both
have: statistic to a millionth, smoothness, threshold and where and how likely the stretches are to a thousandth. Permutation:
the same p and the same order statistic of the heights where both go through all rearrangements; to their scatter where they draw.

Two things are not as in spm1d, and there its threshold and stretches are asked for with ours put in its place:
- Welch: what spm1d calls unequal variances is the pooled statistic with other degrees, which is Welch's only where the groups are of
  one size. Its degrees come from an iteration that it ends early; ours are those that it heads for (within 1 %). Groups of other
  sizes are held to scipy, statistic and degrees.
- Repeated measures: with one curve a unit and set, spm1d says that its residuals are approximate, and so is its smoothness. Ours is
  that of what is left beside the means of sets and units.

The matrices reach us through crates/evidence/examples/curves.rs, which the tests build beside the program.
"""

import os
import subprocess
import sys
import warnings
from pathlib import Path

import numpy as np
import scipy.stats

warnings.filterwarnings("ignore")
os.environ.setdefault("MPLBACKEND", "Agg")
import spm1d  # noqa: E402

OURS = Path(os.environ["UNDERFOOT_BIN"]).parent / "examples" / "curves"
DATA = spm1d.data.uv1d
failures = []
held = 0


def ask(question, sets, alpha=0.05, tails="both", method="field", number=None):
    lines = [f"{question} {alpha} {tails} {method}"]
    for rows in sets:
        lines.append("set")
        lines += [" ".join(repr(float(v)) for v in row) for row in np.asarray(rows, float)]
    if number is not None:
        lines.append("number " + " ".join(repr(float(v)) for v in number))
    done = subprocess.run([OURS], input="\n".join(lines), capture_output=True, text=True)
    if done.returncode != 0:
        sys.exit(f"curves_peer: {question} ended with {done.returncode}: {done.stderr}")
    out = {"cluster": []}
    for line in done.stdout.splitlines():
        key, *values = line.split()
        values = np.array([float(v) for v in values])
        if key == "cluster":
            out["cluster"].append(values)
        else:
            out[key] = values if len(values) != 1 else values[0]
    return out


def near(what, ours, theirs, by, relative=False):
    global held
    held += 1
    ours, theirs = np.asarray(ours, float), np.asarray(theirs, float)
    far = np.abs(ours - theirs) / (1.0 + np.abs(theirs) if relative else 1.0)
    if ours.shape != theirs.shape or not np.all(far <= by):
        failures.append(f"{what}: ours {ours}, theirs {theirs}")


def columns(rows, labels):
    return [np.asarray(rows)[np.asarray(labels) == k] for k in np.unique(labels)]


def questions():
    """Name, question, sets, number, spm1d's test, one-sided as well as two-sided."""
    t = spm1d.stats
    for name in ("Random", "RandomRough", "SimulatedPataky2015a", "SimulatedPataky2015b"):
        rows, mu = getattr(DATA.t1, name)().get_data()
        yield name, "one-sample", [rows - mu], None, lambda rows=rows, mu=mu: t.ttest(rows, mu), True
    for name in ("PlantarArchAngle", "SimulatedTwoLocalMax", "SmallSampleLargePosNegEffects"):
        a, b = getattr(DATA.t2, name)().get_data()
        yield name, "two-groups", [a, b], None, lambda a=a, b=b: t.ttest2(a, b, equal_var=True), True
        yield name, "welch", [a, b], None, lambda a=a, b=b: t.ttest2(a, b, equal_var=False), True
    a, b = DATA.tpaired.PlantarArchAngle().get_data()
    yield "PlantarArchAngle", "pairs", [a, b], None, lambda: t.ttest_paired(a, b), True
    for name in ("SimulatedPataky2015c", "SpeedGRF"):
        rows, x = getattr(DATA.regress, name)().get_data()
        yield name, "regression", [rows], x, lambda rows=rows, x=x: t.regress(rows, x), True
    for name in ("SpeedGRFcategorical", "Weather"):
        rows, labels = getattr(DATA.anova1, name)().get_data()
        yield name, "groups", columns(rows, labels), None, lambda r=rows, l=labels: t.anova1(r, l, equal_var=True), False
    rows, labels, who = DATA.anova1rm.SpeedGRFcategoricalRM().get_data()
    order = np.lexsort((who, labels))
    sets = columns(np.asarray(rows)[order], np.asarray(labels)[order])
    yield "SpeedGRFcategoricalRM", "repeated", sets, None, lambda: t.anova1rm(rows, labels, who, equal_var=True), False


def by_field():
    for name, question, sets, number, test, sided in questions():
        by = 1e-3
        for alpha in (0.05, 0.01):
            for tails in ("both", "above") if sided else ("above",):
                what, theirs = f"{question} of {name}, {tails} at {alpha}", test()
                ours = ask(question, sets, alpha, tails, number=number)
                near(f"{what}: statistic", ours["statistic"], theirs.z, 1e-6, relative=True)
                if question == "repeated":
                    near(f"{what}: degrees", ours["degrees"], theirs.df, 1e-9)
                    theirs.fwhm, theirs.resels = ours["fwhm"], (1, (theirs.Q - 1) / ours["fwhm"])
                else:
                    near(f"{what}: smoothness", ours["fwhm"], theirs.fwhm, 1e-6, relative=True)
                if question == "welch":
                    near(f"{what}: degrees", ours["degrees"], theirs.df[1], 0.01 * theirs.df[1])
                    theirs.df = (1, ours["degrees"])
                found = theirs.inference(alpha, two_tailed=tails == "both") if sided else theirs.inference(alpha)
                near(f"{what}: threshold", ours["threshold"], found.zstar, by)
                clusters = [[*c.endpoints, c.P] for c in found.clusters]
                near(f"{what}: stretches", [c[:3] for c in ours["cluster"]], clusters, by)


def welch():
    rng = np.random.default_rng(5)
    for n, m, wide in ((6, 13, 3.0), (9, 7, 1.0), (2, 3, 2.0)):
        a, b = wide * rng.normal(size=(n, 40)).cumsum(axis=1), rng.normal(size=(m, 40)).cumsum(axis=1)
        theirs = scipy.stats.ttest_ind(a, b, equal_var=False)
        ours = ask("welch", [a, b])
        near(f"Welch of {n} and {m}: statistic", ours["statistic"], theirs.statistic, 1e-9, relative=True)
        # One node is a curve whose degrees are pooled over itself.
        for q in (0, 17, 39):
            alone = ask("welch", [a[:, [q]], b[:, [q]]])
            near(f"Welch of {n} and {m}: degrees", alone["degrees"], theirs.df[q], 1e-9, relative=True)
            near(f"Welch of {n} and {m}: p", alone["p"], theirs.pvalue[q], 1e-9)


def by_permutation():
    np.random.seed(0)  # spm1d draws from the global generator
    t = spm1d.stats.nonparam
    rows, _ = DATA.t1.Random().get_data()
    more, _ = DATA.t1.SimulatedPataky2015b().get_data()
    pairs = DATA.tpaired.PlantarArchAngle().get_data()
    small = DATA.t2.SmallSampleLargePosNegEffects().get_data()
    six = DATA.t2.SimulatedTwoLocalMax().get_data()
    exact = [
        ("one-sample of Random", "one-sample", [rows], t.ttest(rows, 0)),
        ("one-sample of SimulatedPataky2015b", "one-sample", [more], t.ttest(more, 0)),
        ("pairs of PlantarArchAngle", "pairs", pairs, t.ttest_paired(*pairs)),
        ("two groups of four", "two-groups", small, t.ttest2(*small)),
        ("two groups of six", "two-groups", six, t.ttest2(*six)),
        ("two groups of six, turned round", "two-groups", six[::-1], t.ttest2(*six[::-1])),
    ]
    for name, question, sets, theirs in exact:
        found = theirs.inference(0.05, two_tailed=False, iterations=-1)
        ours = ask(question, sets, tails="above", method="permutation 100000 1")
        heights = np.sort(np.asarray(found.PDF0).ravel())[::-1]
        near(f"{name}, all rearrangements: count", ours["looked-at"], [len(heights), 1], 0)
        near(f"{name}, all rearrangements: statistic", ours["statistic"], found.z, 1e-6, relative=True)
        near(f"{name}, all rearrangements: threshold", ours["threshold"], heights[int(0.05 * len(heights) + 1e-9)], 1e-6, relative=True)
        near(f"{name}, all rearrangements: p", ours["p"], np.mean(heights >= found.z.max() - 1e-9), 1e-9)
        # Its threshold lies between two order statistics, so its stretches and their mass are a little larger.
        by = max(2.0 / len(heights), 1e-3)
        near(f"{name}, all rearrangements: stretches", [c[2] for c in ours["cluster"]], [c.P for c in found.clusters], by)

    x_rows, x = DATA.regress.SimulatedPataky2015c().get_data()
    ten = DATA.t2.PlantarArchAngle().get_data()
    drawn = [
        ("regression of SimulatedPataky2015c", "regression", [x_rows], x, t.regress(x_rows, x)),
        ("two groups of PlantarArchAngle", "two-groups", ten, None, t.ttest2(*ten)),
    ]
    for name, question, sets, number, theirs in drawn:
        found = theirs.inference(0.05, two_tailed=False, iterations=2000)
        ours = ask(question, sets, tails="above", method="permutation 20000 1", number=number)
        heights = np.asarray(found.PDF0).ravel()
        p = np.mean(heights >= found.z.max() - 1e-9)
        scatter = 4 * np.sqrt(max(p, 1e-3) * (1 / 2000 + 1 / 20000))
        near(f"{name}, drawn: p", ours["p"], p, scatter)
        # The share of their heights beyond our threshold.
        near(f"{name}, drawn: threshold", np.mean(heights > ours["threshold"]), 0.05, 4 * np.sqrt(0.05 * 0.95 / 2000))


by_field()
welch()
by_permutation()
for failure in failures:
    print(failure)
print(f"curves: {held} comparisons with spm1d {spm1d.__version__} and scipy {scipy.__version__}, {len(failures)} differ")
sys.exit(1 if failures else 0)
