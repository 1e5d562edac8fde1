"""Compares what we read from every measured C3D file with two public libraries: ezc3d (channels, force, moment and centre
of pressure of every plate) and c3d (channels).

    UNDERFOOT_RECORDINGS=FOLDER python checks/c3d_peer.py

Where a library is known to be wrong the reason stands in the tables below, and the comparison that remains is made. Our
side is the example `dump_c3d` of the crate formats, built on demand. Exit: 0 agreement, 77 nothing to compare, 1 not.
"""

import csv
import io
import json
import os
import subprocess
import sys
import warnings
from pathlib import Path

import c3d
import ezc3d
import numpy as np

ROOT = Path(__file__).resolve().parent.parent
LOADED_N = 50.0
MIN_FRAMES = 20  # of a plate under load, for its centre of pressure to be compared

# ezc3d 1.7.2 cannot read these, or reads no plate from them.
NOT_BY_EZC3D = {
    "gait_two_plates_type2_mips_real.c3d": "it does not read MIPS files",
    "gait_one_plate_type1_yup.c3d": "it reads no channels where ANALOG:RATE is missing",
}

# ezc3d turns the sign of the whole ORIGIN where z > 0. For TYPE 3 that also turns the distances between the sensors, which
# are lengths, so its moments are wrong; forces are compared all the same.
FORCES_ONLY = {
    "standing_two_plates_type3.c3d": "it turns the sensor distances of TYPE 3",
    "drop-jump-two-plates.c3d": "it turns the sensor distances of TYPE 3",
    "quiet-stance.c3d": "it turns the sensor distances of TYPE 3",
}
# ezc3d takes the plate's axes from the two edges at corner 1, we from the means of opposite edges.
AXES_N = {"standing_two_plates_type3.c3d": 0.5, "gait_two_plates_type2_intel_int.c3d": 2e-5}
# Corners 3 and 4 of plate 2 are exchanged in the file; ezc3d takes them as they are, so its axes mean nothing.
CORNERS_EXCHANGED = {("drop-jump-two-plates.c3d", 1)}


def dump(path, what):
    tool = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")) / "debug" / "examples" / "dump_c3d"
    if what == "facts" or not tool.exists():
        build = ["cargo", "build", "--quiet", "--package", "formats", "--example", "dump_c3d"]
        subprocess.run(build, cwd=ROOT, check=True)
    out = subprocess.run([tool, path, what], check=True, capture_output=True).stdout
    if what == "facts":
        return json.loads(out)
    rows = csv.reader(io.StringIO(out.decode()))
    return np.array([[float(v) for v in row] for row in rows])


def channels_by_c3d(path):
    """Analog values by the package c3d: one column a channel."""
    with warnings.catch_warnings(), open(path, "rb") as handle:
        warnings.simplefilter("ignore")
        frames = [analog for _, _, analog in c3d.Reader(handle).read_frames(copy=True)]
    return np.concatenate(frames, axis=1).T


class Ledger:
    """Differences, said as they come."""

    def __init__(self):
        self.bad = 0
        self.made = 0

    def compare(self, what, ours, theirs, tolerance):
        self.made += 1
        if ours.shape != theirs.shape:
            self.bad += 1
            print(f"  DIFFERENT {what}: {ours.shape} against {theirs.shape}")
            return
        worst = float(np.nanmax(np.abs(ours - theirs))) if ours.size else 0.0
        same_gaps = bool((np.isnan(ours) == np.isnan(theirs)).all())
        fine = worst <= tolerance and same_gaps
        self.bad += not fine
        print(f"  {'agrees' if fine else 'DIFFERENT'} {what}: {worst:.2e} (at most {tolerance:.0e})")


def plates(ledger, name, facts, path, platforms):
    values = dump(path, "plates")
    for index, (plate, theirs) in enumerate(zip(facts["plates"], platforms)):
        label = f"plate {plate['name']}"
        axes = np.array(plate["axes"]).T  # columns are the plate's axes in the laboratory
        centre = np.array(plate["centre_m"])
        force, moment = values[:, 6 * index : 6 * index + 3], values[:, 6 * index + 3 : 6 * index + 6]
        if (name, index) in CORNERS_EXCHANGED:
            # What is left of the comparison: the length of the force, whatever the axes.
            ledger.compare(f"{label} |vertical force|, N", abs(force[:, 2]), abs(theirs["force"][2]), 1e-9)
            continue
        lab = force @ axes.T
        tolerance = AXES_N.get(name, 1e-9)
        ledger.compare(f"{label} force, N", lab, theirs["force"].T, tolerance)
        if name in FORCES_ONLY:
            continue
        metres = {"mm": 1e-3, "m": 1.0}[theirs["unit_position"]]
        newton_metres = {"Nmm": 1e-3, "Nm": 1.0}[theirs["unit_moment"]]
        ledger.compare(f"{label} moment, N·m", moment @ axes.T, theirs["moment"].T * newton_metres, tolerance)
        loaded = abs(force[:, 2]) > LOADED_N
        if loaded.sum() < MIN_FRAMES:
            continue
        fz = force[loaded, 2]
        cop = np.column_stack([-moment[loaded, 1] / fz, moment[loaded, 0] / fz, 0 * fz]) @ axes.T + centre
        ledger.compare(f"{label} centre of pressure, m", cop, theirs["center_of_pressure"].T[loaded] * metres, 2e-3 * tolerance)


def main():
    folder = Path(os.environ.get("UNDERFOOT_RECORDINGS", ROOT.parent / "shared" / "data" / "real"))
    files = sorted(folder.glob("*.c3d"))
    if not files:
        print(f"skipped: no C3D file in {folder}")
        return 77
    ledger = Ledger()
    for path in files:
        name = path.name
        facts = dump(path, "facts")
        ours = dump(path, "channels")
        size = np.abs(ours).max(axis=0).max()
        print(f"{name}: {facts['format']}, {ours.shape[1]} channels, {len(facts['plates'])} plates")
        ledger.compare("channels, c3d", ours, channels_by_c3d(path), 1e-12 * size)
        if name in NOT_BY_EZC3D:
            print(f"  not compared with ezc3d: {NOT_BY_EZC3D[name]}")
            continue
        peer = ezc3d.c3d(str(path), extract_forceplat_data=True)
        ledger.compare("channels, ezc3d", ours, peer["data"]["analogs"][0].T, 1e-12 * size)
        if name in FORCES_ONLY:
            print(f"  forces alone: {FORCES_ONLY[name]}")
        plates(ledger, name, facts, path, peer["data"]["platform"])
    print(f"{ledger.made} comparisons of {len(files)} files, {ledger.bad} differ")
    return int(ledger.bad > 0)


if __name__ == "__main__":
    sys.exit(main())
