"""Lays out the measured recordings that the package biomdp (MIT, (c) 2025 Jose L. L. Elvira) carries.

    python checks/recordings.py FOLDER

The tests look recordings up by name in the folder that UNDERFOOT_RECORDINGS names. Where no such folder stands
beside the clone, scripts/test makes one with this. The package's files are found by what they hold (sha256), not
by name; its tables are tab-separated reports, of which the rows are kept and the columns named by plate.
"""

import hashlib
import importlib.util
import shutil
import sys
from pathlib import Path

# our name: (sha256 of the package's file, sha256 of ours)
FILES = {
    "drop-jump-two-plates.c3d": (
        "8150c860cc595802e0398d7d023136d628832be40cab90b68ec2e9b18efafdc0",
        "8150c860cc595802e0398d7d023136d628832be40cab90b68ec2e9b18efafdc0",
    ),
    "drop-jump-two-plates.csv": (
        "73990fc2979b5501ea9cfb3303a4b4330bc32a75c21c9f51b30a5f26c84ba3c3",
        "85419e76da67adc56af233e0cfba42175f626e8df4620b557cc7a7bc59356435",
    ),
    "jump-markers-two-plates.c3d": (
        "4c1b6573d8d4e14e0809daf39dc09ffd9615a2f7adbd42e1bba97528a5580d65",
        "4c1b6573d8d4e14e0809daf39dc09ffd9615a2f7adbd42e1bba97528a5580d65",
    ),
    "quiet-stance.c3d": (
        "8590cf779fc1f14f579c70f7dd972f02823c35ed524040cd5bbe64322e95bea2",
        "8590cf779fc1f14f579c70f7dd972f02823c35ed524040cd5bbe64322e95bea2",
    ),
    "quiet-stance.csv": (
        "1f3111f262fe0fadc7c81152bf51640bde1e89f37809ac4f5e588d2542ae6d21",
        "1599429a872674ff9599cc84ac9af4745e7d00abe2bb24adb3de8d9bc7633502",
    ),
}


def sha256(data):
    return hashlib.sha256(data).hexdigest()


def table(report):
    """A tab-separated report as a comma-separated table: names, units, rows."""
    rows = [line.split("\t") for line in report.decode("ascii").splitlines()]
    names = next(i for i, row in enumerate(rows) if row[0] == "abs time")
    head, plate, seen = ["time"], 1, set()
    for name in rows[names][1:]:
        if name in seen:  # the columns of the next plate begin
            plate, seen = plate + 1, set()
        seen.add(name)
        head.append(f"p{plate}_{name}")
    units = [unit.replace(" ", "") for unit in rows[names + 1]]
    return "".join(",".join(row) + "\n" for row in [head, units, *rows[names + 2 :]]).encode()


def main(folder):
    spec = importlib.util.find_spec("biomdp")  # found, not imported
    if spec is None or not spec.submodule_search_locations:
        sys.exit("recordings: the package biomdp is not installed; see checks/requirements.txt")
    package = Path(spec.submodule_search_locations[0])
    carried = {}
    for path in sorted(package.rglob("*")):
        if path.suffix in {".c3d", ".txt"}:
            carried[sha256(path.read_bytes())] = path

    folder.mkdir(parents=True, exist_ok=True)
    for name, (theirs, ours) in FILES.items():
        target = folder / name
        if target.exists() and sha256(target.read_bytes()) == ours:
            continue
        source = carried.get(theirs)
        if source is None:
            sys.exit(f"recordings: biomdp holds no file with sha256 {theirs} for {name}; is its version pinned?")
        part = target.with_name(name + ".part")
        if source.suffix == ".txt":
            part.write_bytes(table(source.read_bytes()))
        else:
            shutil.copyfile(source, part)
        if sha256(part.read_bytes()) != ours:
            sys.exit(f"recordings: {name} came out with another sha256 than expected")
        part.replace(target)
    print(f"recordings: {len(FILES)} measured recordings of biomdp stand in {folder}")


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    main(Path(sys.argv[1]))
