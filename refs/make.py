"""Makes the reference outputs in this folder from public libraries. Run by hand:

    python refs/make.py [NAME...]    # needs numpy and scipy of checks/requirements.txt, `change` more; all files where none is named

Last digits may differ from one processor to the next.

The tests compare with the stored files and need no Python.
"""

import sys
from pathlib import Path

import numpy
import scipy
from scipy import integrate, interpolate, optimize, signal, stats

HERE = Path(__file__).parent
LENGTH = 160
KINDS = {"low": "lowpass", "high": "highpass", "pass": "bandpass"}

# order, kind, cut-offs in Hz, rate in Hz
CASES = [
    (1, "low", [50.0], 1000.0),
    (2, "low", [10.0], 1000.0),
    (3, "low", [35.0], 1000.0),
    (4, "low", [50.0], 1000.0),
    (4, "low", [6.0], 100.0),
    (9, "low", [90.0], 1000.0),
    (1, "high", [5.0], 500.0),
    (4, "high", [2.0], 500.0),
    (5, "high", [80.0], 500.0),
    (1, "pass", [20.0, 60.0], 1000.0),
    (2, "pass", [0.5, 6.0], 100.0),
    (3, "pass", [10.0, 400.0], 1000.0),
    (4, "pass", [45.0, 55.0], 500.0),
]


def column(length):
    """A ramp with noise from an integer generator: the same bits in any language."""
    s, out = 12345, []
    for k in range(length):
        s = (1103515245 * s + 12345) % 2**31
        out.append(100.0 * (s / 2**31 - 0.5) + 700.0 + 0.5 * k)
    return out


def numbers(values):
    return f"[{', '.join(repr(float(v)) for v in values)}]"


def write(name, lines):
    made = f"# Made by refs/make.py with numpy {numpy.__version__} and scipy {scipy.__version__}."
    (HERE / name).write_text("\n".join([made, *lines]) + "\n")


def calculus():
    x, step = column(40), 0.002
    fit = stats.linregress([step * k for k in range(40)], x)
    write("calculus.toml", [
        "# Of column(40) of that script.",
        f"step = {step}",
        f"cumulative = {numbers(integrate.cumulative_trapezoid(x, dx=step, initial=0))}",
        f"derivative = {numbers(numpy.gradient(x, step))}",
        f"slope = {float(fit.slope)!r}",
        f"intercept = {float(fit.intercept)!r}",
        f"slope_error = {float(fit.stderr)!r}",
        f"r2 = {float(fit.rvalue**2)!r}",
    ])


def noise_gain():
    gains = []
    for order, kind, hz, rate in CASES:
        sos = signal.butter(order, hz if kind == "pass" else hz[0], KINDS[kind], fs=rate, output="sos")
        _, h = signal.freqz_sos(sos, worN=2**18, whole=True)
        gains.append(numpy.sqrt(numpy.mean(numpy.abs(h) ** 4)))
    write("noise_gain.toml", [
        "# Root of the mean of |H|^4 around the circle, for the cases of butterworth.toml in its order.",
        f"gain = {numbers(gains)}",
    ])


def periodic():
    x, rate, hz = column(90), 1000.0, [50.0, 130.0]
    turn = 2 * numpy.pi * numpy.outer(numpy.arange(90) / rate, hz)
    basis = numpy.column_stack([numpy.ones(90), numpy.sin(turn), numpy.cos(turn)])
    (level, *weights), squares, _, _ = numpy.linalg.lstsq(basis, x)
    write("periodic.toml", [
        "# Of column(90) of that script: a level and two sines, the weights of their sines, then of their cosines.",
        f"rate_hz = {rate}",
        f"frequency_hz = {numbers(hz)}",
        f"level = {float(level)!r}",
        f"weights = {numbers(weights)}",
        f"residual = {float(numpy.sqrt(squares[0] / 85))!r}",
    ])


def resample():
    lines = [
        "# Of column(length) of that script. Default window; where up is not 1, the weights that meet one new place are",
        "# scaled to sum to 1 and handed over as window, so that a level has no ripple.",
    ]
    for length, up, down in [(60, 3, 2), (60, 2, 3), (61, 1, 4), (40, 5, 1), (50, 147, 160), (7, 10, 3), (2, 3, 1), (90, 1, 60)]:
        window = ("kaiser", 5.0)
        if up > 1:
            window = signal.firwin(20 * max(up, down) + 1, 1 / max(up, down), window=window)
            for phase in range(up):
                window[phase::up] /= up * window[phase::up].sum()
        y = signal.resample_poly(column(length), up, down, window=window, padtype="line")
        lines += ["", "[[case]]", f"length = {length}", f"up = {up}", f"down = {down}", f"output = {numbers(y)}"]
    write("resample.toml", lines)


def gaps():
    x = numpy.array(column(60))
    # A step and a level stretch, where the derivative is set to zero, beside the ramp.
    x[20:30] = 640.0
    missing = [1, 8, 9, 10, 19, 22, 30, 31, 40, 42, 58]
    known = [k for k in range(60) if k not in missing]
    filled = interpolate.PchipInterpolator(known, x[known])(missing)
    write("gaps.toml", [
        "# column(60) of that script with 640 at places 20 to 29.",
        f"missing = {missing}",
        f"filled = {numbers(filled)}",
    ])


def student():
    lines = ["# Quantiles of Student's t; infinite degrees of freedom are the normal distribution's."]
    for degrees in [1.0, 2.0, 2.5, 5.0, 16.0, 16.7, 50.0, 101.0, 199.5, 999.0, 1001.0, 1e5, 1e8]:
        for p in [0.5, 0.6, 0.8413447460685429, 0.95, 0.975, 0.995, 0.9999, 1e-6, 0.03]:
            lines += ["", "[[case]]", f"degrees = {degrees!r}", f"p = {p!r}", f"t = {float(stats.t.ppf(p, degrees))!r}"]
    for p in [0.6, 0.975, 0.995, 1e-6]:
        lines += ["", "[[case]]", "degrees = inf", f"p = {p!r}", f"t = {float(stats.norm.ppf(p))!r}"]
    write("student.toml", lines)


def limit(t, degrees, p):
    """The noncentrality with share p below t. Far out the library gives NaN, so the bracket grows from where it is defined."""
    off = lambda delta: stats.nct.cdf(t, degrees, delta) - p
    side = 1.0 if off(t) > 0.0 else -1.0
    near, far = t, t + side
    while off(far) * side > 0.0:
        near, far = far, far + side
    return optimize.brentq(off, near, far, xtol=1e-13, rtol=1e-13)


def noncentral():
    lines = ["# Shares of the noncentral t below and above a value, and the noncentralities that leave 2.5 % above and below it."]
    for degrees in [1.0, 2.0, 4.5, 9.0, 14.0, 38.0, 98.0, 1000.0]:
        for t, delta in [(0.5, 0.5), (2.0, 0.0), (2.1, 3.0), (-1.0, 0.8), (3.147984, 1.0), (6.0, 9.0), (12.0, 4.0)]:
            below, above = stats.nct.cdf(t, degrees, delta), stats.nct.sf(t, degrees, delta)
            low, high = (limit(t, degrees, p) for p in (0.975, 0.025))
            named = {"degrees": degrees, "t": t, "noncentrality": delta, "below": below, "above": above, "low": low, "high": high}
            lines += ["", "[[case]]", *(f"{name} = {float(value)!r}" for name, value in named.items())]
    write("noncentral.toml", lines)


def butterworth():
    lines = [
        f"# Made by refs/make.py with scipy {scipy.__version__}: butter(output='sos') and sosfiltfilt.",
        "# The input is column() of that script.",
        f"length = {LENGTH}",
    ]
    for order, kind, hz, rate in CASES:
        sos = signal.butter(order, hz if kind == "pass" else hz[0], KINDS[kind], fs=rate, output="sos")
        ntaps = 2 * len(sos) + 1 - min((sos[:, 2] == 0).sum(), (sos[:, 5] == 0).sum())
        y = signal.sosfiltfilt(sos, column(LENGTH))
        lines += [
            "",
            "[[case]]",
            f"order = {order}",
            f'kind = "{kind}"',
            f"cut_off_hz = {hz}",
            f"rate_hz = {rate}",
            f"pad = {3 * ntaps}",
            f"output = [{', '.join(repr(float(v)) for v in y)}]",
        ]
    (HERE / "butterworth.toml").write_text("\n".join(lines) + "\n")


def conditioned():
    """A plate's six channels low-passed, forces and moments apart, then its centre of pressure and free moment."""
    rate, up = 1000.0, numpy.array(column(LENGTH))
    fx = 0.1 * up[::-1]
    channels = [fx, 0.2 * fx - 0.05 * up, up, 0.1 * up + 0.3 * fx, -0.05 * up, 0.02 * up[::-1]]
    out = []
    for k, x in enumerate(channels):
        order, hz = (2, 50.0) if k < 3 else (3, 20.0)
        # The cut-off is that of both passes together: Winter, Biomechanics and Motor Control of Human Movement.
        warped = numpy.tan(numpy.pi * hz / rate) / (2**0.5 - 1) ** (1 / (2 * order))
        one_pass = numpy.arctan(warped) * rate / numpy.pi
        out.append(signal.sosfiltfilt(signal.butter(order, one_pass, fs=rate, output="sos"), x))
    f, m = out[:3], out[3:]
    cop_x, cop_y = -m[1] / f[2], m[0] / f[2]
    write("conditioned.toml", [
        "# Six channels made of column(160) of that script; forces at 50 Hz of order 2, moments at 20 Hz of order 3, both ways.",
        *(f"{name} = {numbers(v)}" for name, v in zip(["fx", "fy", "fz", "mx", "my", "mz"], out)),
        f"cop_x = {numbers(cop_x)}",
        f"cop_y = {numbers(cop_y)}",
        f"free = {numbers(m[2] - cop_x * f[1] + cop_y * f[0])}",
    ])


def change():
    """Two sets of values by four libraries. Needs pingouin 0.7.0 and statsmodels 0.15.0 as well."""
    import pingouin
    import statsmodels.api
    import statsmodels.stats.multitest

    rng = numpy.random.default_rng(20260512)
    lines = [f"# And with pingouin {pingouin.__version__} and statsmodels {statsmodels.__version__}, on values of numpy's generator, seed 20260512."]
    for n, m, paired, shift in [(8, 8, False, 1.0), (5, 9, False, -1.2), (20, 20, False, 0.7), (9, 9, True, 0.8), (12, 12, True, -0.4)]:
        first = numpy.round(rng.normal(10.0, 2.0, n), 3)
        second = numpy.round((0.6 * (first - 10.0) if paired else 0.0) + rng.normal(10.0 + shift, 1.6, m), 3)
        test = pingouin.ttest(second, first, paired=paired, correction=not paired)
        size = {kind: pingouin.compute_effsize(second, first, paired=paired, eftype=kind) for kind in ("cohen", "hedges")}
        mean = lambda b, a, axis=-1: numpy.mean(b, axis=axis) - numpy.mean(a, axis=axis)
        exact = float("nan")
        if n + m < 20 or paired:
            # To either side by the size of the difference: scipy's own two-sided rule doubles a tail instead.
            exact = stats.permutation_test(
                (second, first), lambda b, a, axis: numpy.abs(mean(b, a, axis)), n_resamples=numpy.inf,
                permutation_type="samples" if paired else "independent", alternative="greater", vectorized=True).pvalue
        drawn = stats.bootstrap(
            (second - first,) if paired else (second, first), numpy.mean if paired else mean, n_resamples=200_000, batch=20_000,
            vectorized=True, method="BCa", confidence_level=0.9, rng=numpy.random.default_rng(7))
        named = {
            "t": test["T"].iloc[0], "degrees": test["dof"].iloc[0], "p": test["p_val"].iloc[0], "cohen": size["cohen"],
            "hedges_nearly": size["hedges"], "exact": exact, "bca_low": drawn.confidence_interval.low,
            "bca_high": drawn.confidence_interval.high, "bca_se": drawn.standard_error,
        }
        lines += ["", "[[sets]]", f"paired = {str(paired).lower()}", f"first = {numbers(first)}", f"second = {numbers(second)}"]
        lines += [f"{name} = {float(value)!r}" for name, value in named.items()]
    for subjects, most, within in [(8, 6, False), (8, 6, True), (14, 3, False), (5, 12, True)]:
        counts = rng.integers(1, most + 1, subjects)
        who = numpy.repeat(numpy.arange(subjects), counts)
        side = rng.integers(0, 2, len(who)) if within else (who % 2)
        number = numpy.round(rng.normal(0.0, 1.0, len(who)), 3)
        y = numpy.round(100.0 + rng.normal(0.0, 3.0, subjects)[who] + 1.5 * side - 0.7 * number + rng.normal(0.0, 2.0, len(who)), 3)
        design = statsmodels.api.add_constant(numpy.column_stack([side, number]).astype(float))
        fit = statsmodels.api.MixedLM(y, design, groups=who).fit(reml=True, method="powell", ftol=1e-15)
        # Of the estimates when the variances are known, as every textbook has it; theirs mixes in how unsure the variances are.
        v = fit.scale * numpy.eye(len(y)) + fit.cov_re[0, 0] * (who[:, None] == who)
        errors = numpy.sqrt(numpy.diag(numpy.linalg.inv(design.T @ numpy.linalg.solve(v, design))))
        lines += ["", "[[mixed]]", f"subjects = {[int(k) for k in who]}", f"side = {numbers(side)}", f"number = {numbers(number)}"]
        lines += [f"values = {numbers(y)}", f"estimates = {numbers(fit.fe_params)}", f"errors = {numbers(errors)}"]
        lines += [f"between = {float(fit.cov_re[0, 0])!r}", f"within = {float(fit.scale)!r}"]
    p = numpy.round(rng.uniform(0.0, 0.2, 11) ** 2, 6)
    lines += ["", "[adjusted]", f"p = {numbers(p)}"]
    for name, method in [("holm", "holm"), ("benjamini_hochberg", "fdr_bh")]:
        lines += [f"{name} = {numbers(statsmodels.stats.multitest.multipletests(p, method=method)[1])}"]
    write("change.toml", lines)


MAKERS = [butterworth, calculus, change, conditioned, gaps, noise_gain, noncentral, periodic, resample, student]
FILES = {maker.__name__: maker for maker in MAKERS}

if __name__ == "__main__":
    for name in sys.argv[1:] or FILES:
        FILES[name]()
