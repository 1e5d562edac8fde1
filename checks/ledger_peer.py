"""The pipeline from file to feet, beside ezc3d: force and centre of pressure of each foot in laboratory axes, of every
measured C3D file that ezc3d can read; and our Parquet, CSV and JSON read by pandas, pyarrow and the standard library.

Where the two must differ, the reason is written here and the comparison is left out, not loosened:
- TYPE 3 with positive ORIGIN z: ezc3d turns the whole vector and mirrors the centre of pressure; markers side with us.
- corners exchanged: ezc3d takes them as written.
- corners that are not an exact rectangle: axes from two edges (ezc3d) or from the means of opposite edges (us).
"""

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import ezc3d
import numpy as np
import pandas
import pyarrow.parquet

# file: (target, force tolerance N, compare centres of pressure, plates left out)
FILES = {
    "jump_two_plates_type4.c3d": ("+x", 1e-3, True, ()),
    "jump-markers-two-plates.c3d": ("+y", 1e-3, True, ()),
    "standing_two_plates_type2.c3d": ("+x", 1e-3, True, ()),
    "standing_three_plates_type2_dec_real.c3d": ("+y", 1e-3, True, ()),
    "standing_two_plates_type3.c3d": ("+x", 0.5, False, ()),
    "gait_two_plates_type2_2000hz.c3d": ("+x", 1e-3, True, ()),
    "gait_two_plates_type4_metres.c3d": ("+x", 1e-3, True, ()),
    "gait_two_plates_type2_intel_int.c3d": ("+y", 2.0, False, ()),
    "quiet-stance.c3d": ("+y", 1e-3, False, ()),
    "drop-jump-two-plates.c3d": ("+y", 1e-3, False, (2,)),
}
LOADED_N = 50.0


def run(*words):
    done = subprocess.run([os.environ["UNDERFOOT_BIN"], *map(str, words)], capture_output=True, text=True)
    if done.returncode not in (0, 1):
        sys.exit(f"ledger_peer: {words} ended with {done.returncode}\n{done.stderr}")
    return done.stdout


def compare(path, target, tolerance_n, with_cop, left_out, folder):
    out = folder / "series.parquet"
    run("series", path, "--target", target, "--hand", "right", "--frame", "lab", "-o", out)
    page = json.loads(run("ledger", path, "--target", target, "--hand", "right", "--json"))
    table = pyarrow.parquet.read_table(out)
    assert b"underfoot" in table.schema.metadata, "the file carries its convention"
    assert table.schema.field("lead_x_n").metadata[b"unit"] == b"N"
    ours = {name: table[name].to_numpy(zero_copy_only=False) for name in table.column_names}
    read = ezc3d.c3d(str(path), extract_forceplat_data=True)
    metres = 1.0 if read["parameters"]["POINT"]["UNITS"]["value"][:1] == ["m"] else 1e-3
    plates = read["data"]["platform"]
    sides = {"lead": page["lead_plates"], "trail": page["trail_plates"], "net": page["both_plates"]}
    compared = 0
    for side, numbers in sides.items():
        if not numbers or any(n in left_out for n in numbers):
            continue
        theirs = sum(plates[n - 1]["force"] for n in numbers)
        mine = np.stack([ours[f"{side}_{axis}_n"] for axis in "xyz"])
        worst = float(np.nanmax(np.abs(mine - theirs)))
        assert worst <= tolerance_n, f"{path.name} {side}: force differs by {worst} N"
        compared += 1
        if with_cop and len(numbers) == 1:
            loaded = np.abs(theirs[2]) > LOADED_N
            cop = np.stack([ours[f"{side}_cop_{axis}_m"] for axis in "xy"])
            there = plates[numbers[0] - 1]["center_of_pressure"][:2] * metres
            worst = float(np.nanmax(np.abs(cop - there)[:, loaded]))
            assert worst < 2e-4, f"{path.name} {side}: centre of pressure differs by {worst * 1e3} mm"
            compared += 1
    print(f"{path.name}: {compared} comparisons")
    return compared


def formats(path, folder):
    """The same numbers in three formats, by readers that are not ours; empty where not defined."""
    for ending in ("csv", "json", "parquet"):
        run("series", path, "--target", "+x", "--hand", "right", "-o", folder / f"series.{ending}")
    table = pandas.read_csv(folder / "series.csv")
    other = pandas.read_parquet(folder / "series.parquet")
    data = json.loads((folder / "series.json").read_text())["data"]
    about = json.loads((folder / "series.csv-metadata.json").read_text())
    assert [c["name"] for c in about["tableSchema"]["columns"]] == list(table.columns) == list(other.columns)
    for name in table.columns:
        third = np.array([np.nan if v is None else v for v in data[name]], dtype=float)
        np.testing.assert_array_equal(table[name].to_numpy(dtype=float), other[name].to_numpy())
        np.testing.assert_array_equal(third, other[name].to_numpy())
    parts = [c for c in table.columns if c.startswith(("turn_free", "turn_couple", "turn_offset"))]
    if table["turn_free_lead_nm"].notna().any():
        left = (table[parts].sum(axis=1, skipna=False) - table["turn_nm"]).abs().max()
        assert left < 1e-9 * 1000, f"entries miss the net by {left} N·m"
    else:
        feet = [c for c in table.columns if c.startswith(("lead_", "trail_"))]
        assert table[feet].isna().all(axis=None), "one plate has no feet"
    print(f"{path.name}: CSV, JSON and Parquet hold the same {len(table.columns)} columns")


def main():
    folder = Path(os.environ["UNDERFOOT_RECORDINGS"])
    here = [(folder / name, *how) for name, how in FILES.items() if (folder / name).is_file()]
    absent = [name for name in FILES if not (folder / name).is_file()]
    if absent:
        print("skipped, not among the recordings here: " + ", ".join(absent))
    if not here:
        sys.exit(77)
    with tempfile.TemporaryDirectory() as scratch:
        total = sum(compare(*case, Path(scratch)) for case in here)
        for path, *_ in here:
            formats(path, Path(scratch))
    assert total >= len(here)
    print(f"{total} comparisons agree")


if __name__ == "__main__":
    main()
