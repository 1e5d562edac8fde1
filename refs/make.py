"""Makes the reference outputs in this folder from public libraries. Run by hand:

    python refs/make.py [NAME...]    # needs numpy and scipy of checks/requirements.txt; all files where none is named

Last digits may differ from one processor to the next.

The tests compare with the stored files and need no Python.
"""

import sys
from pathlib import Path

import numpy
import scipy
from scipy import integrate, signal, stats

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


FILES = {"butterworth": butterworth, "calculus": calculus, "noise_gain": noise_gain, "periodic": periodic}

if __name__ == "__main__":
    for name in sys.argv[1:] or FILES:
        FILES[name]()
