"""A C3D file to time readers with: invented, ten seconds, two plates of TYPE 2, 2 kHz, 40 markers at 200 Hz.

Float data, Intel order, written by the byte layout of the C3D user guide (header, parameter records, frames).
"""

import struct

import numpy as np

SECONDS, POINT_HZ, ANALOG_HZ, MARKERS = 10, 200, 2000, 40
DEPTH_M = 0.04  # sensor origin below the surface
# Two plates side by side along x, corners by quadrant of axes whose z points down.
CORNERS_MM = np.array(
    [
        [(x + 600, 0, 0), (x, 0, 0), (x, 400, 0), (x + 600, 400, 0)]
        for x in (0.0, 605.0)
    ]
)


def channels(seconds=SECONDS):
    """Twelve channels, N and N·mm: reaction in plate axes, moments about the sensor origins. Invented, seeded."""
    t = np.arange(seconds * ANALOG_HZ) / ANALOG_HZ
    noise = np.random.default_rng(7).standard_normal
    columns = []
    for sign in (-1.0, 1.0):
        shift = 0.5 + 0.35 * sign * np.sin(2 * np.pi * 0.4 * t)
        force = np.stack(
            [
                60 * sign * np.sin(2 * np.pi * 0.9 * t),
                40 * sign * np.cos(2 * np.pi * 0.7 * t),
                -800 * shift,
            ]
        ) + 0.5 * noise((3, t.size))
        cop = np.stack([0.05 * np.sin(2 * np.pi * 0.3 * t), 0.08 * np.cos(2 * np.pi * 0.5 * t), np.full_like(t, -DEPTH_M)])
        moment = np.cross(cop.T, force.T).T + 0.02 * noise((3, t.size))
        moment[2] += 6 * sign * np.sin(2 * np.pi * 0.6 * t)
        columns += [*force, *(1000 * moment)]
    return np.array(columns, dtype=np.float32)


def parameter(group, name, kind, dims, data):
    body = struct.pack("<bB", kind, len(dims)) + bytes(dims) + data + b"\0"
    return struct.pack("<bb", len(name), group) + name.encode() + struct.pack("<H", len(body) + 2) + body


def text(group, name, values, width):
    data = "".join(v.ljust(width) for v in values).encode()
    return parameter(group, name, -1, [width, len(values)], data)


def int16(group, name, values, dims=()):
    return parameter(group, name, 2, list(dims), struct.pack(f"<{len(values)}H", *values))


def float32(group, name, values, dims=()):
    return parameter(group, name, 4, list(dims), struct.pack(f"<{len(values)}f", *values))


def build(seconds=SECONDS):
    """The file's bytes."""
    analog = channels(seconds)
    frames, per_frame, count = seconds * POINT_HZ, ANALOG_HZ // POINT_HZ, len(analog)

    def group(number, name):
        return struct.pack("<bb", len(name), -number) + name.encode() + struct.pack("<HB", 3, 0)

    labels = [f"{axis}{plate}" for plate in (1, 2) for axis in ("Fx", "Fy", "Fz", "Mx", "My", "Mz")]
    units = (["N"] * 3 + ["Nmm"] * 3) * 2

    def records(data_start):
        return b"".join(
            [
                group(1, "POINT"),
                int16(1, "USED", [MARKERS]),
                int16(1, "FRAMES", [frames]),
                int16(1, "DATA_START", [data_start]),
                float32(1, "SCALE", [-0.1]),
                float32(1, "RATE", [POINT_HZ]),
                text(1, "LABELS", [f"M{k:03}" for k in range(MARKERS)], 4),
                text(1, "DESCRIPTIONS", [f"invented {k}" for k in range(MARKERS)], 12),
                text(1, "UNITS", ["mm"], 2),
                group(2, "ANALOG"),
                int16(2, "USED", [count]),
                float32(2, "RATE", [ANALOG_HZ]),
                float32(2, "GEN_SCALE", [1.0]),
                float32(2, "SCALE", [1.0] * count, [count]),
                int16(2, "OFFSET", [0] * count, [count]),
                text(2, "LABELS", labels, 4),
                text(2, "DESCRIPTIONS", labels, 4),
                text(2, "UNITS", units, 4),
                group(3, "FORCE_PLATFORM"),
                int16(3, "USED", [2]),
                int16(3, "TYPE", [2, 2], [2]),
                int16(3, "ZERO", [0, 0], [2]),
                float32(3, "CORNERS", CORNERS_MM.ravel(), [3, 4, 2]),
                float32(3, "ORIGIN", [0, 0, -1000 * DEPTH_M] * 2, [3, 2]),
                int16(3, "CHANNEL", range(1, 13), [6, 2]),
                b"\0\0",
            ]
        )

    blocks = -(-(len(records(0)) + 4) // 512)
    data_start = 2 + blocks
    parameters = struct.pack("<BBBB", 1, 0x50, blocks, 84) + records(data_start)
    header = struct.pack("<BBHHHHHfHHf", 2, 0x50, MARKERS, count * per_frame, 1, frames, 0, -0.1, data_start, per_frame, POINT_HZ)

    t = np.arange(frames) / POINT_HZ
    points = np.zeros((frames, MARKERS, 4), dtype=np.float32)
    for k in range(MARKERS):
        points[:, k, 0] = 600 + 300 * np.sin(2 * np.pi * 0.4 * t + k)
        points[:, k, 1] = 200 + 20 * np.cos(2 * np.pi * 0.4 * t + k)
        points[:, k, 2] = 40 * k
    samples = analog.T.reshape(frames, per_frame * count)
    data = np.hstack([points.reshape(frames, -1), samples]).astype("<f4")
    return header.ljust(512, b"\0") + parameters.ljust(512 * blocks, b"\0") + data.tobytes()
