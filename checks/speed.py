"""Times us beside public peers in one run and prints ratios. Run by scripts/bench.

Ours are the divan benches `decode_c3d` (of formats), `ledger` (of swing), `filter` (of signal) and `measure` (of simulate). The peers are
ezc3d, which reads an invented file of the same shape (ten_seconds.py), NumPy, which does the arithmetic of
`Recording → Ledger` (numpy_ledger.py), scipy, which filters, and both together on the whole of `measure`
(benches/peers/measure.py). Before anything is timed, the peers' results are
compared with each other and, where a built program is at hand (UNDERFOOT_BIN), with ours.
"""

import csv
import json
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import ezc3d
import numpy as np
import scipy
import scipy.signal

import numpy_ledger
import ten_seconds

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "benches" / "peers"))
import measure as numpy_measure

FLOOR_N = 20.0
KEEP_MEMORY = ("MALLOC_TRIM_THRESHOLD_", "MALLOC_MMAP_THRESHOLD_")  # set for the peers by scripts/bench
UNITS = {"ps": 1e-12, "ns": 1e-9, "µs": 1e-6, "μs": 1e-6, "ms": 1e-3, "s": 1.0}
TIME = r"([\d.]+) (ps|ns|µs|μs|ms|s)"
ROW = re.compile(rf"^([\s│├╰─]*)(\S.*?)\s+{TIME}\s+│ {TIME}\s+│ {TIME}\s+│")

# Linux counts the launching process's own peak as the child's, so the launcher must be small.
LAUNCH = """
import os, sys
quiet = [(os.POSIX_SPAWN_OPEN, fd, os.devnull, os.O_WRONLY, 0) for fd in (1, 2)]
_, status, usage = os.wait4(os.posix_spawn(sys.argv[1], sys.argv[1:], os.environ, file_actions=quiet), 0)
print(os.waitstatus_to_exitcode(status), usage.ru_maxrss)
"""


def median_s(work, seconds=2.0):
    """Median time of a call, after one call to warm up, over about this long."""
    work()
    times, end = [], time.perf_counter() + seconds
    while time.perf_counter() < end or len(times) < 5:
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def show(seconds):
    for unit, size in (("s", 1.0), ("ms", 1e-3), ("µs", 1e-6)):
        if seconds >= size:
            return f"{seconds / size:.3g} {unit}"
    return f"{seconds * 1e9:.3g} ns"


def benches(package, bench, keep_memory=False):
    """Median of each row of a divan bench, by the row's path.

    `keep_memory`: let the C library keep what is freed, as a process that analyses one file after another does in
    effect. Otherwise each repetition also pays for fresh pages of the system, as the first analysis does.
    """
    command = ["cargo", "bench", "--quiet", "--package", package, "--bench", bench]
    environment = {k: v for k, v in os.environ.items() if keep_memory or k not in KEEP_MEMORY}
    done = subprocess.run(command, env=environment, stdout=subprocess.PIPE, text=True)
    if done.returncode != 0:
        sys.exit(f"speed: {' '.join(command)} failed with exit code {done.returncode}")
    rows, path = {}, []
    for line in done.stdout.splitlines():
        name = re.match(r"^([\s│├╰─]*)([^\s│├╰─].*?)(?:\s{2,}|$)", line)
        if not name or name[2].startswith("Timer"):
            continue
        depth = len(name[1]) // 3
        path[depth:] = [name[2]]
        if row := ROW.match(line):
            rows["/".join(path[1:])] = float(row[7]) * UNITS[row[8]]
    if not rows:
        sys.exit(f"speed: no row of {bench} was understood:\n{done.stdout}")
    return rows


def agree(path, columns, about):
    """Our program's columns against NumPy's, within 1e-6 of each column's scale."""
    program = os.environ.get("UNDERFOOT_BIN", "")
    if not program or not Path(program).exists():
        print("agreement with our program: skipped, UNDERFOOT_BIN names no built program")
        return
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "series.csv"
        options = ["--target", "+x", "--hand", "right", "--about", about, "--raw", "--format", "csv", "-o", out]
        subprocess.run([program, "series", path, *options], check=True)
        with open(out, newline="") as text:
            rows = csv.reader(line for line in text if not line.startswith("#"))
            names = next(rows)
            table = np.array([[float(v or "nan") for v in row] for row in rows])
    worst = 0.0
    for name, theirs in columns.items():
        if name not in names:
            sys.exit(f"speed: our series has no column {name}")
        ours = table[:, names.index(name)]
        scale = max(1.0, float(np.nanmax(np.abs(theirs))))
        if not np.array_equal(np.isnan(ours), np.isnan(theirs)):
            sys.exit(f"speed: {name} is not defined in the same samples for us and NumPy")
        worst = max(worst, float(np.nanmax(np.abs(ours - theirs))) / scale)
    print(f"agreement of our columns with NumPy's, about {about}: within {worst:.1e} of scale")
    if worst > 1e-6:
        sys.exit("speed: the two do not compute the same thing; times would mean nothing")


def measured(folder):
    """The peer of `measure` on the bench's own recording: held against our figures first, then its median time."""
    path = (folder / "three-seconds.c3d").resolve()
    command = ["cargo", "bench", "--quiet", "--package", "simulate", "--bench", "measure"]
    subprocess.run(command, env=os.environ | {"UNDERFOOT_BENCH_FILE": str(path)}, check=True)
    recording = numpy_measure.read(path)
    program = os.environ.get("UNDERFOOT_BIN", "")
    if program and Path(program).exists():
        options = ["--target", "+x", "--hand", "right", "--low-pass", "50", "--zero", "found", "--json"]
        page = json.loads(subprocess.run([program, "measure", path, *options], check=True, stdout=subprocess.PIPE).stdout)
        held, compared, bad, _ = numpy_measure.agree(recording, page)
        print(f"measure: {held} figures and {compared} of their uncertainties held against NumPy's, {len(bad)} differ")
        if bad:
            sys.exit("speed: the two do not measure the same swing:\n" + "\n".join(map(str, bad)))
    else:
        print("measure: not compared, UNDERFOOT_BIN names no built program")
    return median_s(lambda: numpy_measure.measure(recording))


def peak_memory(folder):
    """Peak resident memory of our program, in times the size of the file that it reads (mapped pages count)."""
    program = os.environ.get("UNDERFOOT_BIN", "")
    if not program or not Path(program).exists():
        print("peak memory: skipped, UNDERFOOT_BIN names no built program")
        return
    path = folder / "five-minutes.c3d"
    size = path.write_bytes(ten_seconds.build(seconds=300))
    environment = {k: v for k, v in os.environ.items() if k not in KEEP_MEMORY}
    for command in (["inspect", str(path)], ["ledger", str(path), "--target", "+x", "--hand", "right"]):
        done = subprocess.run(
            [sys.executable, "-c", LAUNCH, program, *command], env=environment, stdout=subprocess.PIPE, text=True, check=True
        )
        code, kib = map(int, done.stdout.split())
        if code not in (0, 1):  # 1: done, with findings
            sys.exit(f"speed: underfoot {command[0]} failed on {path}")
        peak = kib * 1024
        print(f"peak memory of {command[0]} on {size / 1e6:.0f} MB: {peak / size:.2f} times the file")
    path.unlink()


def main():
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "target/bench")
    folder.mkdir(parents=True, exist_ok=True)
    path = (folder / "ten-seconds.c3d").resolve()
    data = ten_seconds.build()
    path.write_bytes(data)

    # The peers, and that they agree.
    analog = ten_seconds.channels().astype(float)
    analog[[3, 4, 5, 9, 10, 11]] /= 1000.0  # N·mm → N·m
    corners_m = ten_seconds.CORNERS_MM / 1000.0
    centre_m = corners_m.mean(axis=(0, 1))
    origin_m = np.array([0.0, 0.0, -ten_seconds.DEPTH_M])
    matrices = [numpy_ledger.plate_matrix(c, origin_m, centre_m) for c in corners_m]
    fixed = numpy_ledger.ledger(analog, matrices, FLOOR_N, (0.0, 0.0))
    plates = ezc3d.c3d(str(path), extract_forceplat_data=True)["data"]["platform"]
    for plate, foot in zip(plates, ("trail", "lead")):
        cop_m = plate["center_of_pressure"][0] / 1000.0 - centre_m[0]
        assert np.allclose(plate["force"][2], fixed[f"{foot}_up_n"], rtol=0, atol=1e-9)
        assert np.allclose(cop_m, fixed[f"{foot}_cop_target_m"], rtol=0, atol=1e-9)
        assert np.allclose(plate["Tz"][2] / 1000.0, fixed[f"{foot}_free_moment_nm"], rtol=0, atol=1e-9)
    agree(path, fixed, "rig-centre")

    peers = {
        "ezc3d, read": median_s(lambda: ezc3d.c3d(str(path))),
        "NumPy, Recording → Ledger": median_s(lambda: numpy_ledger.ledger(analog, matrices, FLOOR_N, None)),
    }
    # Order 2 each way; the cut-off only sets coefficients, not time.
    sections = scipy.signal.butter(2, 50.0, fs=2000.0, output="sos")
    peers["scipy, 12 columns"] = median_s(lambda: scipy.signal.sosfiltfilt(sections, analog, axis=1))
    peers["NumPy and SciPy, Recording → measured swing"] = measured(folder)
    decode = benches("formats", "decode_c3d")
    ledger = benches("swing", "ledger")
    warm = {f"{name}, memory kept": s for name, s in benches("swing", "ledger", keep_memory=True).items()}
    ledger |= warm
    filtered = benches("signal", "filter")
    whole_swing = benches("simulate", "measure")
    whole_swing |= {f"{name}, memory kept": s for name, s in benches("simulate", "measure", keep_memory=True).items()}

    print(f"\nthe recording: {len(data) / 1e6:.2f} MB, {analog.shape[1]} samples of {len(analog)} channels, 40 markers")
    print(f"python {sys.version.split()[0]}, numpy {np.__version__}, scipy {scipy.__version__}, ezc3d {ezc3d.__version__}, one thread\n")
    print("| what | median | ratio |\n|---|---|---|")
    for name, seconds in peers.items():
        print(f"| {name} | {show(seconds)} | 1 |")
    beside = {
        "decode": (decode, "ezc3d, read"),
        "analyse": (ledger, "NumPy, Recording → Ledger"),
        "arithmetic": (ledger, "NumPy, Recording → Ledger"),
        "twelve_columns": (filtered, "scipy, 12 columns"),
        "measure": (whole_swing, "NumPy and SciPy, Recording → measured swing"),
    }
    for row, (rows, peer) in beside.items():
        for name, seconds in rows.items():
            if re.split("[/,]", name)[0] == row:
                print(f"| ours, {name} | {show(seconds)} | {peers[peer] / seconds:.1f} × as fast as {peer} |")

    copy, read = pick(decode, "copy_of_the_bytes"), pick(decode, "decode", "Intel", "Float")
    print(f"\nreading a float Intel file takes {read / copy:.2f} times the copy of its bytes ({show(copy)})")
    both = peers["ezc3d, read"] + peers["NumPy, Recording → Ledger"]
    whole = read + pick(ledger, "analyse")
    print(f"file to ledger, {show(whole)}, is {both / whole:.1f} times as fast as ezc3d and NumPy together")
    peak_memory(folder)


def pick(rows, *words):
    """The row whose name holds all the words."""
    for name, seconds in rows.items():
        if all(word in name for word in words):
            return seconds
    sys.exit(f"speed: no row with {words} among {list(rows)}")


if __name__ == "__main__":
    main()
