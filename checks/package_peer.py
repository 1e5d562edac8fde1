"""What leaves a study, by readers that are not ours: a data package validated by frictionless (descriptor, types, keys, references,
sizes and hashes), the same figures by pandas, polars and pyarrow and by `underfoot measure` of the files themselves, and the
series in C3D files by ezc3d and c3d beside the series as CSV.

R is not part of these checks: it reads the same CSV and Parquet.
"""

import hashlib
import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import c3d
import ezc3d
import frictionless
import numpy as np
import pandas
import polars
import pyarrow.parquet

# The swings of the study: folder, plates, hand, target, kind of plate.
SESSIONS = [("two", "two", "+x", "2"), ("one", "one", "+x", "2"), ("matrix", "two", "+x", "4")]
SWINGS = 2
ALIAS = "ALDERMARK"
NOTE = "NOTEMARK"


def run(*words, code=0):
    done = subprocess.run([os.environ["UNDERFOOT_BIN"], *map(str, words)], capture_output=True, text=True)
    if done.returncode != code:
        sys.exit(f"package_peer: {words} ended with {done.returncode}\n{done.stderr}")
    return done.stdout


def study(folder):
    """Invented swings on two plates and on one, a session each, of one player."""
    at = folder / "study"
    run("study", "new", at)
    run("player", "add", ALIAS, "--hand", "right", "--note", NOTE, "--study", at)
    for number, (name, plates, target, kind) in enumerate(SESSIONS, 1):
        run("simulate", "-o", folder / name, "--swings", SWINGS, "--seed", number, "--plates", plates, "--type", kind,
            "--format", "c3d")
        day = f"2026-05-{10 + number}"
        run("session", "add", ALIAS, "--date", day, "--target", target, "--study", at)
        run("import", folder / name, "--session", number, "--study", at)
    return at


def described(package):
    """The description, and that it is true: sizes, hashes, units."""
    about = json.loads((package / "datapackage.json").read_text())
    for resource in about["resources"]:
        data = (package / resource["path"]).read_bytes()
        assert len(data) == resource["bytes"], resource["name"]
        assert f"sha256:{hashlib.sha256(data).hexdigest()}" == resource["hash"], resource["name"]
        fields = resource["schema"]["fields"]
        assert all(f["description"] for f in fields), resource["name"]
        in_rows = any(f["name"] == "unit" for f in fields)
        without = {f["name"] for f in fields if f["type"] == "number" and "unit" not in f}
        assert in_rows or without <= {"handicap"}, f"{resource['name']}: no unit for {without}"
    return about


def valid(package, about):
    """By frictionless: the tables that are CSV, with every key and reference."""
    tables = [r for r in about["resources"] if r["format"] == "csv"]
    only = frictionless.Package.from_descriptor({**about, "resources": tables}, basepath=str(package))
    report = only.validate()
    wrong = report.flatten(["title", "rowNumber", "fieldNumber", "message"])
    assert report.valid, f"{package.name}: {wrong[:5]}"
    rows = {task.name: task.stats.get("rows", 0) for task in report.tasks}
    count = len(SESSIONS) * SWINGS
    assert rows["swings"] == count and rows["sessions"] == len(SESSIONS), rows
    assert rows["figures"] == count * rows["metrics"], rows
    # And that it would have been seen: a figure of a swing that is not there.
    path = package / "figures.csv"
    kept = path.read_text()
    first = kept.splitlines()[1].split(",", 1)[1]
    path.write_text(kept + f"999,{first}\n")
    assert not only.validate().valid, "frictionless sees a broken reference"
    path.write_text(kept)
    print(f"{package.name}: {len(tables)} tables valid by frictionless {frictionless.__version__}")


def figures(package, folder):
    """One table, four readers and the command line."""
    by_pandas = pandas.read_csv(package / "figures.csv")
    by_arrow = pyarrow.parquet.read_table(package / "figures.parquet")
    by_polars = polars.read_csv(package / "figures.csv", infer_schema_length=None)
    also_polars = polars.read_parquet(package / "figures.parquet")
    numbers = ["value", "u", "plus_minus_95", "by_weight", "by_weight_u", "at_s", "led_share"]
    for name in numbers:
        one = by_pandas[name].to_numpy(dtype=float)
        for other in (
            by_arrow[name].to_pandas().to_numpy(dtype=float),
            by_polars[name].cast(polars.Float64).to_numpy(),
            also_polars[name].to_numpy(),
        ):
            np.testing.assert_array_equal(one, other)
    for name in ["metric", "unit", "absent", "touched_by", "led_by"]:
        one = ["" if pandas.isna(t) else t for t in by_pandas[name].tolist()]
        assert one == [t or "" for t in by_arrow[name].to_pylist()] == [t or "" for t in also_polars[name].to_list()]
    kept = {(row["swing"], row["metric"]): row for row in by_pandas.to_dict("records")}
    swings = pandas.read_csv(package / "swings.csv")
    compared = 0
    for swing, session, file in swings[["swing", "session", "file"]].itertuples(index=False):
        name, _, target, _ = SESSIONS[session - 1]
        page = json.loads(run("measure", folder / name / file, "--target", target, "--hand", "right", "--json"))
        for m in page["metrics"]:
            row = kept[swing, m["id"]]
            if m["value"] is None:
                assert np.isnan(row["value"]), (swing, m["id"])
                assert row["absent"] == m["absent"], (swing, m["id"])
                continue
            assert (row["value"], row["unit"]) == (m["value"], m["unit"]), (swing, m["id"])
            if m["u"] is not None:
                assert row["u"] == m["u"], (swing, m["id"])
                assert abs(row["plus_minus_95"] - m["plus_minus"]) <= 1e-12 * abs(m["plus_minus"]), (swing, m["id"])
            compared += 1
    assert compared > 100 * len(swings)
    plates = dict(zip(swings["swing"], swings["plates"]))
    assert sorted(plates.values()) == sorted(["two"] * 4 + ["one"] * 2), plates
    print(f"figures: {compared} values as `underfoot measure` gives them, by pandas, polars and pyarrow")


def recordings(folder, series):
    """Channels and points of the C3D files beside the table of series, by two readers."""
    labels = {"lead_target_n": "LEAD_TARGET", "trail_toe_n": "TRAIL_TOE", "net_up_n": "NET_UP", "turn_nm": "TURN",
              "turn_free_lead_nm": "TURN_FREE_LEAD", "turn_couple_toe_nm": "TURN_COUPLE_TOE", "turn_offset_nm": "TURN_OFFSET"}
    compared = 0
    for swing, table in series.groupby("swing"):
        path = folder / f"swing-{swing:06}.c3d"
        read = ezc3d.c3d(str(path))
        names = read["parameters"]["ANALOG"]["LABELS"]["value"]
        units = dict(zip(names, read["parameters"]["ANALOG"]["UNITS"]["value"]))
        by_ezc3d = dict(zip(names, read["data"]["analogs"][0]))
        points = dict(zip(read["parameters"]["POINT"]["LABELS"]["value"], np.moveaxis(read["data"]["points"], 1, 0)))
        with open(path, "rb") as file:
            reader = c3d.Reader(file)
            frames = [analog for _, _, analog in reader.read_frames()]
            other = dict(zip((name.strip() for name in reader.analog_labels), np.concatenate(frames, axis=1)))
        for column, label in labels.items():
            truth = table[column].to_numpy(dtype=float)
            if np.isnan(truth).all():
                assert label not in by_ezc3d, f"{path.name}: one plate has no {label}"
                continue
            assert units[label] == ("N" if column.endswith("_n") else "Nm")
            for mine in (by_ezc3d[label], other[label]):
                # Floats of 24 bits.
                np.testing.assert_allclose(mine, truth, rtol=1e-6, atol=1e-5, equal_nan=True)
                compared += 1
        # The net centre of pressure in millimetres of the laboratory, whose x is the target here and whose −y are the toes,
        # from its own mean: the origins differ. A frame of markers stands at the first of its samples.
        place = points["NET_COP"][:2] / 1000 * [[1], [-1]]
        each = len(table) // place.shape[1]
        seen = table[["net_cop_target_m", "net_cop_toe_m"]].to_numpy(dtype=float).T[:, ::each]
        about_mean = lambda p: p - np.nanmean(p, axis=1, keepdims=True)
        np.testing.assert_allclose(about_mean(place), about_mean(seen), atol=1e-6, equal_nan=True)
    print(f"C3D: {compared} series as in the table, by ezc3d and c3d")


def unnamed(package):
    """Without identity neither alias, note, file nor day is anywhere."""
    for path in package.rglob("*"):
        if path.is_file():
            text = path.read_bytes().lower()
            for word in [ALIAS, NOTE, "alder-", "2026-"]:
                assert word.lower().encode() not in text, f"{path.name} holds {word}"
    sessions = pandas.read_csv(package / "sessions.csv")
    assert sessions["player"].tolist() == ["player-01"] * len(SESSIONS)
    assert sessions["day"].tolist() == list(range(len(SESSIONS)))


def main():
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        at = study(folder)
        out = lambda name, *words: run("export", folder / name, "--study", at, *words)
        out("package", "--series", "--parquet")
        out("unnamed", "--series", "--without-identity")
        out("series.csv", "--table", "series")
        out("c3d", "--format", "c3d")
        out("again", "--series", "--parquet")
        about = described(folder / "package")
        for path in (folder / "package").iterdir():
            assert path.read_bytes() == (folder / "again" / path.name).read_bytes(), f"{path.name} differs"
        valid(folder / "package", about)
        valid(folder / "unnamed", described(folder / "unnamed"))
        unnamed(folder / "unnamed")
        figures(folder / "package", folder)
        series = pandas.read_csv(folder / "series.csv")
        parquet = pandas.read_parquet(folder / "package" / "series.parquet")
        pandas.testing.assert_frame_equal(series, parquet, check_exact=True, check_dtype=False)
        recordings(folder / "c3d", series)


if __name__ == "__main__":
    main()
