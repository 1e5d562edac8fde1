"""`Recording → measured swing` as a practised NumPy and SciPy user would write it: whole columns, no loop over samples,
all instants and all errors of the rig at once. The peer that `scripts/bench` times, and whose figures it compares with
ours first.

Two plates of TYPE 2, right-handed player, target +x of the laboratory, z up, all samples loaded, events marked in the
file: the peer does what this recording asks for and no more. Formulas: docs/signs.md, docs/metrics.md,
docs/uncertainty.md; Winter 2009 for the cut-off of two passes; Linthorne 2001 for the centre of mass.

Left out here, though ours does them: remedies and words of findings, competing peaks and what noise lifts, the doubt
of stillness at rest, blame of causes. A peer that did them would be slower.
"""

import json
import sys

import ezc3d
import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from scipy import integrate, ndimage, signal

FLOOR_N = 20.0
G = 9.80665
BUDGET = {
    "force_gain": 0.006, "moment_gain": 0.01, "crosstalk": 0.006, "zero_n": 1.2, "zero_nm": 0.3,
    "position_m": 0.002, "height_m": 0.003, "angle_rad": 0.005, "skew_s": 0.0005,
}
EVENTS = ("address", "takeaway", "top", "impact", "finish")


def read(path):
    """What the other side has in memory before its clock starts."""
    c3d = ezc3d.c3d(str(path))
    rate = c3d["parameters"]["ANALOG"]["RATE"]["value"][0]
    analog = np.array(c3d["data"]["analogs"][0][:12])
    analog[[3, 4, 5, 9, 10, 11]] /= 1000.0  # N·mm → N·m
    platform = c3d["parameters"]["FORCE_PLATFORM"]
    corners = np.moveaxis(platform["CORNERS"]["value"], [2, 1, 0], [0, 1, 2]) / 1000.0
    origins = platform["ORIGIN"]["value"].T / 1000.0
    event = c3d["parameters"]["EVENT"]
    labels = [str(label).strip().lower() for label in event["LABELS"]["value"]]
    minutes, seconds = np.asarray(event["TIMES"]["value"])
    times = dict(zip(labels, 60.0 * minutes + seconds))
    # A mark of the file is good for half a frame of the markers either way; without markers, half a sample.
    frame_s = 1.0 / c3d["parameters"]["POINT"]["RATE"]["value"][0] if c3d["parameters"]["POINT"]["USED"]["value"][0] else 1.0 / rate
    mass = float(c3d["parameters"]["PROCESSING"]["BODYMASS"]["value"][0])
    return {"rate": float(rate), "analog": analog, "corners": corners, "origins": origins, "events": times, "mass": mass, "mark_u_s": frame_s / 2 / np.sqrt(3)}


def skew_matrix(v):
    return np.array([[0, -v[2], v[1]], [v[2], 0, -v[0]], [-v[1], v[0], 0]])


def plate_axes(corners):
    x = corners[0] - corners[1]
    z = np.cross(x, corners[0] - corners[3])
    x, z = x / np.linalg.norm(x), z / np.linalg.norm(z)
    return np.stack([x, np.cross(z, x), z], axis=1)


def cop(w):
    """Place on z = 0 and free moment of a wrench about the origin; NaN under the load floor."""
    up = np.where(w[2] >= FLOOR_N, w[2], np.nan)
    x, y = -w[4] / up, w[3] / up
    return x, y, w[5] - x * w[1] + y * w[0]


def accounts(lead, trail, points):
    """Every curve that metrics read, by id, of wrenches (6, …). `points`: stance centre and the plates' centres."""
    net = lead + trail
    lx, ly, lt = cop(lead)
    tx, ty, tt = cop(trail)
    nx, ny, nt = cop(net)
    out = {}
    for name, w in (("net", net), ("lead", lead), ("trail", trail)):
        out[f"target.{name}"], out[f"toe.{name}"], out[f"up.{name}"] = w[0], -w[1], w[2]
    for along in ("up", "target", "toe"):
        n, l, t = (out[f"{along}.{who}"] for who in ("net", "lead", "trail"))
        out[f"opposition.{along}"] = (np.abs(l) + np.abs(t) - np.abs(n)) / 2
    out["lead-share"] = lead[2] / net[2]
    out["turn.net-cop"] = nt
    turn = lambda w, x, y: w[5] - x * w[1] + y * w[0]
    mid = ((lx + tx) / 2, (ly + ty) / 2)
    out["turn.mid-cop"] = turn(net, *mid)
    out["turn.rig-centre"] = net[5]
    for name in ("stance", "lead-plate", "trail-plate"):
        out[f"turn.{name}"] = turn(net, *points[name])
    out["free-moment.lead"], out["free-moment.trail"] = lt, tt
    # A foot under the floor is booked at the other foot's centre of pressure.
    px, py, qx, qy, pt, qt = lx, ly, tx, ty, lt, tt
    lead_off, trail_off = np.isnan(lx), np.isnan(tx)
    if lead_off.any() or trail_off.any():
        px, py = np.where(lead_off, tx, lx), np.where(lead_off, ty, ly)
        qx, qy = np.where(trail_off, lx, tx), np.where(trail_off, ly, ty)
        pt, qt = np.where(lead_off, turn(lead, px, py), lt), np.where(trail_off, turn(trail, qx, qy), tt)
    out["entry.free-lead"], out["entry.free-trail"] = pt, qt
    out["entry.couple-toe"] = (px - qx) * (lead[1] - trail[1]) / 2
    out["entry.couple-target"] = (qy - py) * (lead[0] - trail[0]) / 2
    out["entry.offset.net-cop"] = ((px + qx) / 2 - nx) * net[1] - ((py + qy) / 2 - ny) * net[0]
    out["turn-of-lead.net-cop"], out["turn-of-trail.net-cop"] = turn(lead, nx, ny), turn(trail, nx, ny)
    for name, x, y in (("net", nx, ny), ("lead", lx, ly), ("trail", tx, ty)):
        out[f"cop.{name}.target"], out[f"cop.{name}.toe"] = x, -y
    return out


def windows(column, length):
    """Mean and sample variance of every window."""
    around = column - column.mean()
    s = np.concatenate([[0.0], np.cumsum(around)])
    q = np.concatenate([[0.0], np.cumsum(around * around)])
    m = (s[length:] - s[:-length]) / length
    return m + column.mean(), ((q[length:] - q[:-length]) - length * m * m) / (length - 1)


def quietest(column, length, least=-np.inf, most=np.inf):
    if length > len(column):
        return None
    mean, variance = windows(column, length)
    variance = np.where((mean >= least) & (mean <= most), variance, np.inf)
    k = int(np.argmin(variance))
    return (k, mean[k], variance[k]) if np.isfinite(variance[k]) else None


def white_noise(columns):
    third = np.abs(np.diff(columns, 3, axis=-1))
    return np.median(third, axis=-1) / (0.674489750196081702 * np.sqrt(20.0))


class Rig:
    """Axes, transforms and first-order errors of a rig: matrices made once a measurement."""

    def __init__(self, recording):
        corners = recording["corners"]
        self.centres = corners.mean(axis=1)
        origin = self.centres.mean(axis=0)
        self.centres = self.centres - origin
        self.to_golf, self.to_local = [], []
        self.matrices = []
        for c, o, centre in zip(corners, recording["origins"], self.centres):
            axes = plate_axes(c)
            arm = skew_matrix(centre - axes @ o)
            zero = np.zeros((3, 3))
            self.matrices.append(np.block([[axes, zero], [arm @ axes, axes]]))
            golf = np.block([[axes, zero], [skew_matrix(centre) @ axes, axes]])
            self.to_golf.append(golf)
            self.to_local.append(np.linalg.inv(golf))
        self.sources()

    def sources(self):
        """Per plate: what each source adds to its golf wrench: a matrix on the wrench, a constant, a share of its rate."""
        b = BUDGET
        local, constants, rates, owners, moves = [], [], [], [], []

        def add(plate, matrix=None, constant=None, rate=0.0, move=(0.0, 0.0)):
            owners.append(plate)
            local.append(np.zeros((6, 6)) if matrix is None else matrix)
            constants.append(np.zeros(6) if constant is None else constant)
            rates.append(rate)
            moves.append(move)

        for plate in range(2):
            axes = self.to_golf[plate][:3, :3]
            for c in range(6):
                m = np.zeros((6, 6))
                m[c, c] = b["force_gain"] if c < 3 else b["moment_gain"]
                add(plate, m)
                z = np.zeros(6)
                z[c] = b["zero_n"] if c < 3 else b["zero_nm"]
                add(plate, constant=z)
                for f in range(6):
                    share = b["crosstalk"] if (c < 3) == (f < 3) else b["crosstalk"] * 0.1 if f < 3 else 0.0
                    if c != f and share:
                        m = np.zeros((6, 6))
                        m[c, f] = share
                        add(plate, m)
            up = skew_matrix(axes.T @ np.array([0, 0, 1.0]))
            zero = np.zeros((3, 3))
            add(plate, np.block([[zero, zero], [up * b["height_m"], zero]]))
            add(plate, np.block([[up, zero], [zero, up]]) * b["angle_rad"])
            if plate > 0:
                add(plate, rate=-b["skew_s"])
            for along in range(2):
                add(plate, move=tuple(b["position_m"] * (k == along) for k in range(2)))
        self.owners, self.moves = np.array(owners), np.array(moves)
        n = len(owners)
        self.linear, self.constant = np.zeros((2, n, 6, 6)), np.zeros((2, n, 6))
        self.rate = np.zeros((2, n))
        self.shift = np.zeros((2, n, 2))
        for p in range(2):
            mine = self.owners == p
            self.linear[p][mine] = self.to_golf[p] @ np.array(local)[mine] @ self.to_local[p]
            self.constant[p][mine] = np.array(constants)[mine] @ self.to_golf[p].T
            self.rate[p][mine] = np.array(rates)[mine]
            # The origin is the mean of the two centres, and moves with them.
            self.shift[p] = self.moves * (np.where(mine, 1.0, 0.0) - 0.5)[:, None]
            for s in range(n):
                self.linear[p][s, 3:, :3] += skew_matrix(np.array([*self.shift[p][s], 0.0]))

    def changed(self, plate, w, rate, weight, noise):
        """What each source, then each component's noise, adds to a plate's wrench: (sources + 12, 6, …)."""
        flat = np.tensordot(self.linear[plate], w, axes=(2, 0))
        flat += self.constant[plate][:, :, None] * weight
        flat += self.rate[plate][:, None, None] * rate
        noisy = np.zeros((12, 6) + w.shape[1:])
        noisy[6 * plate : 6 * plate + 6] = (self.to_golf[plate].T * noise[plate][:, None])[:, :, None]
        return np.concatenate([flat, noisy])


class Instants:
    """Accounts of some readings with the contributions of every source: parts[id] is (sources + 12 noises, readings)."""

    def __init__(self, rig, readings, noise, points, moved):
        (lead, lead_rate), (trail, trail_rate), weight, quieter = readings
        self.value = accounts(lead, trail, points)
        d_lead = rig.changed(0, lead, lead_rate, weight, noise)
        d_trail = rig.changed(1, trail, trail_rate, weight, noise)
        sources = len(rig.owners)
        d_lead[sources:] *= quieter
        d_trail[sources:] *= quieter
        # Central differences of two hundredths of the errors.
        e = 0.01
        shifted = lambda sign: {k: tuple(points[k][i] + sign * e * moved[k][:, i, None] for i in range(2)) for k in points}
        l, t = np.moveaxis(d_lead, 1, 0), np.moveaxis(d_trail, 1, 0)
        plus = accounts(lead[:, None] + e * l, trail[:, None] + e * t, shifted(1.0))
        minus = accounts(lead[:, None] - e * l, trail[:, None] - e * t, shifted(-1.0))
        self.parts = {k: (plus[k] - minus[k]) / (2 * e) for k in plus}


def sampled(wrench, k):
    last = wrench.shape[1] - 1
    before, after = np.maximum(k - 1, 0), np.minimum(k + 1, last)
    return wrench[:, k], (wrench[:, after] - wrench[:, before]) / (after - before)


def vertex(curve, k, half):
    """Vertex of the least-squares parabola about a sample, samples, and its second derivative."""
    if k < half or k + half >= len(curve):
        return float(k), np.nan
    x = np.arange(-half, half + 1.0)
    y = curve[k - half : k + half + 1]
    even = x * x - np.mean(x * x)
    slope, bend = x @ y / (x @ x), even @ y / (even @ even)
    at = -slope / (2 * bend) if bend else np.nan
    return (k + at, 2 * bend) if bend and abs(at) <= half else (float(k), np.nan)


def findings(recording, raw, plates, rate, rig):
    """What a careful reader would look for; counts of what is wrong."""
    analog = recording["analog"]
    found = []
    low, high = analog.min(axis=1), analog.max(axis=1)
    # Limits: runs at an extreme.
    for column, extreme in [(c, e) for c, l, h in zip(analog, low, high) for e in (l, h)]:
        at = np.flatnonzero(column == extreme)
        if len(at) >= 5 and np.max(np.bincount(np.cumsum(np.diff(at, prepend=at[0]) != 1))) >= 5:
            found.append("clipped")
    # Noise and hum in the quietest half second.
    half = int(round(0.5 * rate))
    t = np.arange(half) / rate
    for w in raw:
        k, _, _ = quietest(w[2], half)
        quiet = w[:3, k : k + half]
        if white_noise(quiet[2]) > 7.0:
            found.append("noise")
        for hz in (50.0, 60.0):
            basis = np.stack([np.ones(half), np.sin(2 * np.pi * hz * t), np.cos(2 * np.pi * hz * t)], axis=1)
            fit, *_ = np.linalg.lstsq(basis, quiet.T, rcond=None)
            if np.hypot(fit[1], fit[2]).max() > 1.5:
                found.append("hum")
    # Jumps that the slopes beside them do not explain.
    m = 4
    c = analog
    step = c[:, m + 1 : -m] - c[:, m : -m - 1]
    left, right = c[:, m : -m - 1] - c[:, : -2 * m - 1], c[:, 2 * m + 1 :] - c[:, m + 1 : -m]
    jump = step - (left + right) / (2 * m)
    jump /= np.median(np.abs(jump), axis=1, keepdims=True) / 0.6745
    squares = (jump**2).reshape(2, 6, -1).sum(axis=1)
    whole = np.sqrt(squares.sum(axis=0))
    near = ndimage.maximum_filter(whole, footprint=np.arange(17) != 8)
    if np.any((whole > 12) & (squares > 25).all(axis=0) & (whole > 2.5 * near)):
        found.append("dropped")
    # Centres of pressure off the plate and at its edge; units by where they lie.
    for w, centre, corners in zip(plates, rig.centres, recording["corners"]):
        x, y, _ = cop(w)
        half_x, half_y = np.ptp(corners[:, 0]) / 2, np.ptp(corners[:, 1]) / 2
        dx, dy = np.abs(x - centre[0]) - half_x, np.abs(y - centre[1]) - half_y
        loaded = w[2] > 100.0
        out = np.maximum(dx, dy)
        if np.count_nonzero(out[loaded] > 0.005) > 0.01 * np.count_nonzero(loaded):
            found.append("off plate")
        for d in (dx, dy):
            if np.count_nonzero(d[loaded] > -0.04) > 0.2 * np.count_nonzero(loaded):
                found.append("edge")
        if np.count_nonzero(np.hypot(x - centre[0], y - centre[1]) < 0.02) > 0.95 * len(x):
            found.append("moment units")
    # The standing pendulum.
    lead, trail = plates
    net = lead + trail
    length = int(round(1.5 * rate))
    found_quiet = quietest(net[2], length, 150.0)
    if found_quiet and np.sqrt(found_quiet[2]) < 0.05 * found_quiet[1]:
        k = found_quiet[0]
        x, y, _ = cop(net)
        sos = signal.butter(2, [0.5, 6.0], "band", fs=rate, output="sos")
        f = signal.sosfiltfilt(sos, np.stack([net[0], net[1], x, y]))[:, k : k + length]
        r = np.corrcoef(f)
        if min(r[0, 2], r[1, 3]) > 0.35:
            found.append("action")
    # Plates out of step: the sum follows the rate of the passing of weight.
    k, mean, _ = quietest(net[2], half, 150.0)
    for band in ((1.0, 6.0), (3.0, 12.0)):
        sos = signal.butter(2, band, "band", fs=rate, output="sos")
        both = np.stack([net[2], (lead[2] - trail[2]) / 2])[:, : k + 2 * half]
        total, passing = signal.sosfiltfilt(sos, both)
        speed = np.gradient(passing, 1 / rate)
        r = speed @ total / np.sqrt((speed @ speed) * (total @ total))
        if abs(r) > 0.7 and abs(speed @ total / (speed @ speed)) > 0.005:
            found.append("late")
    return found


def rest_of(force, weight, within, length):
    """The stillest window that carries the weight: start, spread."""
    window = [windows(f[within[0] : within[1]], length) for f in force]
    if window[0][0].size == 0:
        return None
    spread = np.sqrt(sum(v for _, v in window) * (length - 1) / length)
    ok = (np.abs(window[2][0] - weight) <= 0.02 * weight) & (spread <= 0.03 * weight)
    spread = np.where(ok, spread, np.inf)
    k = int(np.argmin(spread))
    return (within[0] + k, spread[k]) if np.isfinite(spread[k]) else None


def measure(recording):
    """Figures by id, each with its standard uncertainty, and what was found wrong."""
    rate, mark_u_s = recording["rate"], recording["mark_u_s"]
    rig = Rig(recording)
    # Channels to wrenches about the golf origin; trail and lead by where the plates lie.
    raw = [rig.matrices[p] @ recording["analog"][6 * p : 6 * p + 6] for p in range(2)]
    local = [rig.to_local[p] @ raw[p][:, :1024] for p in range(2)]
    noise = [white_noise(w) for w in local]
    # Conditioning: zero where a plate is empty for a while; low-pass of both passes together at 50 Hz.
    recorded, raw = raw, [w.copy() for w in raw]
    for w, n in zip(raw, noise):
        lightest = quietest(w[2], int(round(0.2 * rate)), most=100.0)
        if lightest is not None and np.sqrt(lightest[2]) <= 1.5 * n[2] + 0.5:
            w -= w[:, lightest[0] : lightest[0] + int(round(0.2 * rate))].mean(axis=1, keepdims=True)
    warped = np.tan(np.pi * 50.0 / rate) / (np.sqrt(2) - 1) ** 0.25
    sos = signal.butter(2, np.arctan(warped) * rate / np.pi, fs=rate, output="sos")
    lead, trail = signal.sosfiltfilt(sos, np.stack(raw), axis=-1)
    impulse = np.zeros(2048)
    impulse[1024] = 1.0
    left = np.linalg.norm(signal.sosfiltfilt(sos, impulse))
    noise = [n * left for n in noise]
    net = lead + trail
    samples = net.shape[1]

    # Address and stance.
    peak_up = int(np.argmax(net[2]))
    half_second = int(round(0.5 * rate))
    k, weight_n, _ = quietest(net[2, :peak_up], half_second, 150.0)
    address = slice(k, k + half_second)
    weight = recording["mass"] * G
    wrong = findings(recording, recorded, (lead, trail), rate, rig)

    feet = [np.array(cop(w)[:2]) for w in (lead, trail)]
    stood = [f[:, address].mean(axis=1) for f in feet]
    stance = (stood[0] + stood[1]) / 2
    points = {"stance": stance, "lead-plate": rig.centres[0][:2], "trail-plate": rig.centres[1][:2]}
    curves = accounts(lead, trail, points)

    # The mean reading over address: what its errors do to the stance centre.
    means = lambda w, s: (w[:, s].mean(axis=1)[:, None], ((w[:, s.stop - 1] - w[:, s.start]) * rate / (s.stop - s.start - 1))[:, None])
    none = {name: np.zeros((len(rig.owners) + 12, 2)) for name in points}
    at_address = Instants(rig, (means(lead, address), means(trail, address), 1.0, 1 / np.sqrt(half_second)), noise, points, none)
    moved = {"lead-plate": np.concatenate([rig.shift[0], np.zeros((12, 2))]), "trail-plate": np.concatenate([rig.shift[1], np.zeros((12, 2))])}
    foot = lambda who: np.stack([at_address.parts[f"cop.{who}.target"], -at_address.parts[f"cop.{who}.toe"]], axis=-1)[:, 0]
    moved["stance"] = (foot("lead") + foot("trail")) / 2

    # The body: rest, and perhaps a second one; Newton's second law and trapezoids.
    force = np.stack([net[0], -net[1], net[2]])
    lengths = [int(round(s * rate)) for s in (1.0, 0.5)]
    long, short = (rest_of(force, weight_n, (0, peak_up), n) for n in lengths)
    rest = slice(long[0], long[0] + lengths[0]) if long and long[1] <= 1.5 * short[1] else slice(short[0], short[0] + lengths[1])
    rest_n = force[:, rest].mean(axis=1)
    impulse_ns = integrate.cumulative_trapezoid(force - rest_n[:, None], dx=1 / rate, axis=1, initial=0)
    impulse_ns -= impulse_ns[:, rest].mean(axis=1)[:, None]
    second = rest_of(force, weight_n, (max(peak_up, rest.stop), samples), lengths[1])
    middle = lambda s: (s.start + s.stop - 1) / 2
    later = None
    if second:
        later = slice(second[0], second[0] + lengths[1])
        error_n = impulse_ns[:, later].mean(axis=1) / ((middle(later) - middle(rest)) / rate)
        if np.all(np.abs(error_n) <= 0.01 * weight_n):
            impulse_ns -= error_n[:, None] * (np.arange(samples) - middle(rest)) / rate
            rest_n = rest_n + error_n
        else:
            later = None
    mass = rest_n[2] / G
    velocity = impulse_ns / mass
    displacement = integrate.cumulative_trapezoid(velocity, dx=1 / rate, axis=1, initial=0)
    displacement -= displacement[:, rest].mean(axis=1)[:, None]
    power = mass * np.sum(((force - rest_n[:, None]) / mass + np.array([[0], [0], [G]])) * velocity, axis=0)
    for j, along in enumerate(("target", "toe", "up")):
        curves[f"body.velocity.{along}"], curves[f"body.displacement.{along}"] = velocity[j], displacement[j]
    curves["body.power"] = power

    # Events: as marked; beside them onset and settling by thresholds, and landmarks of running means.
    events = {name: recording["events"][name] for name in EVENTS}
    place = {name: t * rate for name, t in events.items()}
    begin, end = int(place["takeaway"]), min(int(np.ceil(place["finish"])) + 1, samples)
    quiet = np.stack([curves[c][address] for c in ("target.net", "toe.net", "turn.net-cop", "up.net")])
    moving = np.stack([curves[c] for c in ("target.net", "toe.net", "turn.net-cop", "up.net")])
    beyond = np.abs(moving - quiet.mean(axis=1)[:, None]) > 5 * quiet.std(axis=1, ddof=1)[:, None]
    onset = np.argmax(ndimage.minimum_filter1d(beyond.any(axis=0).astype(np.int8), 20))
    settled = samples - np.argmax(ndimage.minimum_filter1d(beyond.any(axis=0)[::-1].astype(np.int8), 20))
    share = curves["up.lead"] / curves["up.net"]
    tracks = np.stack([moving[0], moving[1], moving[2], moving[3], share] + [curves[f"{a}.{w}"] for a in ("up", "target", "toe") for w in ("lead", "trail")])
    smooth = ndimage.uniform_filter1d(tracks[:, begin:end], 31, axis=1)
    landmarks = np.concatenate([smooth.argmax(axis=1), smooth.argmin(axis=1)]) + begin
    crossings = np.flatnonzero(np.diff(np.sign(curves["up.lead"] - curves["up.trail"])))

    # Every instant that a figure needs, at once.
    accounted = [c for c in curves if not c.startswith(("cop.", "body.", "opposition", "turn-of", "entry.free", "entry.offset"))]
    peaks = {}
    half = int(round(0.008 * rate))
    for series in accounted + [c for c in curves if c.startswith(("opposition", "body."))]:
        part = curves[series][begin:end]
        for kind, k in (("most", int(np.nanargmax(part))), ("least", int(np.nanargmin(part)))):
            k += begin
            peaks[series, kind] = (k, *vertex(curves[series], k, half))
    wanted = [int(round(p)) for p in place.values()] + [k for k, _, _ in peaks.values()]
    wanted += [q for k, _, _ in peaks.values() for q in (max(k - half, 0), min(k + half, samples - 1))]
    phases = {"backswing": ("takeaway", "top"), "downswing": ("top", "impact"), "follow-through": ("impact", "finish")}
    nodes = {o: np.round(np.linspace(place[a], place[b], 17)).astype(int) for o, (a, b) in phases.items()}
    wanted += [k for n in nodes.values() for k in n]
    around = {}
    for o, (a, b) in phases.items():
        middles, apart = np.linspace(place[a], place[b], 17, retstep=True)
        around[o] = [np.round(np.clip(middles + s * apart / 2, place[a], place[b])).astype(int) for s in (-1, 1)]
    slopes = {}
    length = int(round(0.05 * rate))
    x = np.arange(length) - (length - 1) / 2
    for who in ("net", "lead", "trail"):
        fits = np.convolve(curves[f"up.{who}"][begin:end], x[::-1], "valid") / (x @ x)
        k = int(np.argmax(fits))
        slopes[who] = (k + begin, fits[k] * rate)
        wanted += [k + begin, k + begin + length - 1]
    unique = np.unique(np.array(wanted))
    index = {int(k): i for i, k in enumerate(unique)}
    (lead_at, lead_rate), (trail_at, trail_rate) = sampled(lead, unique), sampled(trail, unique)
    at = Instants(rig, ((lead_at, lead_rate * rate), (trail_at, trail_rate * rate), 1.0, 1.0), noise, points, moved)
    n_sources = len(rig.owners)
    part = lambda series, k: at.parts[series][:, index[k]]

    out = {}

    def put(name, value, parts=None, extra=0.0):
        u = np.sqrt((0.0 if parts is None else parts @ parts) + extra)
        out[name] = (value, u)

    def instant_var(curve, k):
        """What an instant that is not known any better costs."""
        slope = (curve[min(k + half, samples - 1)] - curve[max(k - half, 0)]) / (2 * half) * rate
        return (slope * mark_u_s) ** 2

    # Values at peaks and events, times.
    def value_at(name, series, when):
        if when in EVENTS:
            p = place[when]
            k = int(round(p))
            value = np.interp(p, np.arange(int(p), int(p) + 2), curves[series][int(p) : int(p) + 2])
            extra = instant_var(curves[series], k)
        else:
            k = peaks[when][0]
            value, extra = curves[series][k], 0.0
        put(name, value, part(series, k) if series in at.parts else None, extra)

    impact = events["impact"]
    for (series, kind), (k, p, bend) in peaks.items():
        own = f"{series}.{kind}"
        if series in at.parts:
            value_at(own, series, (series, kind))
        tilt = None
        if np.isfinite(bend) and series in at.parts:
            after, before = min(k + half, samples - 1), max(k - half, 0)
            tilt = (part(series, after) - part(series, before))[:n_sources] / (-2 * half * bend * rate)
        put(f"{own}.time", p / rate, tilt)
        put(f"{own}.before-impact", impact - p / rate, tilt)
    each = [f"{a}.{w}" for a in ("up", "target", "toe") for w in ("net", "lead", "trail")]
    entries = ["turn.net-cop", "entry.free-trail", "entry.free-lead", "entry.couple-toe", "entry.couple-target", "entry.offset.net-cop", "turn-of-lead.net-cop", "turn-of-trail.net-cop"]
    for name in EVENTS:
        for series in each + ["lead-share"] + entries:
            value_at(f"at.{name}.{series}", series, name)
        put(f"{name}.time", events[name], extra=mark_u_s**2)
    for a in ("up", "target", "toe"):
        for kind in ("most", "least"):
            for w in ("lead", "trail"):
                value_at(f"at.{a}.net.{kind}.{a}.{w}", f"{a}.{w}", (f"{a}.net", kind))
    value_at("at.up.net.most.lead-share", "lead-share", ("up.net", "most"))
    for kind in ("most", "least"):
        for series in entries[1:]:
            value_at(f"at.turn.net-cop.{kind}.{series}", series, ("turn.net-cop", kind))

    # Impulses and loading rates.
    step = 1 / rate
    for phase, (a, b) in phases.items():
        first, last = int(np.floor(place[a])), int(np.ceil(place[b]))
        grid = np.concatenate([[place[a]], np.arange(np.ceil(place[a]), np.floor(place[b]) + 1), [place[b]]])
        samples_at = np.arange(first, last + 1)
        weights = np.full(17, 1.0)
        weights[[0, -1]] = 0.5
        weights *= (place[b] - place[a]) * step / 16
        where = [index[int(k)] for k in nodes[phase]]
        for series in each + ["turn.net-cop"]:
            base = weight if series == "up.net" else 0.0
            kept = curves[series][first : last + 1] - base
            kinds = [("all", kept, np.ones(17))]
            if series.startswith("target"):
                # An error counts in a part as far as the force is surely on its side, about each node.
                u_node = np.sqrt(np.sum(at.parts[series][:, where] ** 2, axis=0))
                share = [np.clip(0.5 + kept[i - first : j - first + 1] / (2 * np.sqrt(3) * u), 0, 1).mean() for i, j, u in zip(*around[phase], u_node)]
                kinds += [("driving", np.maximum(kept, 0), np.array(share)), ("braking", np.minimum(kept, 0), 1 - np.array(share))]
            for kind, column, counts in kinds:
                value = integrate.trapezoid(np.interp(grid, samples_at, column), grid) * step
                parts = (at.parts[series][:n_sources][:, where] * counts) @ weights
                n2 = np.mean(np.sum(at.parts[series][n_sources:][:, where] ** 2, axis=0)) * (place[b] - place[a]) * step * step
                ends = [np.interp(place[e], samples_at, column) * mark_u_s for e in (a, b)]
                put(f"impulse.{phase}.{series}.{kind}", value, parts, n2 + ends[0] ** 2 + ends[1] ** 2)
        put(f"lasts.{phase}", events[b] - events[a], extra=2 * mark_u_s**2)
    for who, (k, slope) in slopes.items():
        d = (part(f"up.{who}", k + length - 1) - part(f"up.{who}", k))[:n_sources] / ((length - 1) * step)
        n2 = np.sum(part(f"up.{who}", k)[n_sources:] ** 2) * rate * rate / (x @ x)
        put(f"rate.up.{who}", slope, d, n2)
    put("lasts.movement", events["finish"] - events["takeaway"])
    put("tempo", (events["top"] - events["takeaway"]) / (impact - events["top"]))
    order = [("target.net", "turn.net-cop"), ("turn.net-cop", "up.net"), ("turn.net-cop", "up.lead"), ("target.net", "up.net"), ("target.net", "up.lead"), ("up.trail", "up.lead")]
    for a, b in order:
        put(f"gap.{a}.most.to.{b}.most", (peaks[b, "most"][1] - peaks[a, "most"][1]) / rate)
    for name, k in (("rig-centre", None), ("lead-plate", None), ("trail-plate", None)):
        k = peaks[f"turn.{name}", "most"][0]
        put(f"placement.{name}.target", -curves["toe.net"][k], part("toe.net", k))
        put(f"placement.{name}.toe", curves["target.net"][k], part("target.net", k))

    # Centres of pressure: places every 20 ms.
    block = int(round(0.02 * rate))
    count = (end - begin) // block
    tiles = lambda w: w[:, begin : begin + count * block].reshape(6, count, block)
    ends = lambda w: (tiles(w)[:, :, -1] - tiles(w)[:, :, 0]) * rate / (block - 1)
    places = Instants(rig, ((tiles(lead).mean(axis=2), ends(lead)), (tiles(trail).mean(axis=2), ends(trail)), 1.0, 1 / np.sqrt(block)), noise, points, moved)
    for who in ("net", "lead", "trail"):
        xy = np.stack([places.value[f"cop.{who}.{f}"] for f in ("target", "toe")])
        parts = np.stack([places.parts[f"cop.{who}.{f}"] for f in ("target", "toe")])
        d = np.diff(xy, axis=1)
        steps = np.hypot(*d)
        noise_var = np.sum(parts[:, n_sources:] ** 2, axis=(0, 1))
        true = np.sqrt(np.maximum(steps**2 - noise_var[1:] - noise_var[:-1], 0))
        along = np.einsum("fj,fsj->s", np.nan_to_num(d / steps), np.nan_to_num(np.diff(parts, axis=2)))
        put(f"cop.{who}.path", np.nansum(true), along, (0.25 * np.nansum(steps - true)) ** 2)
        for i, f in enumerate(("target", "toe")):
            hi, lo = int(np.nanargmax(xy[i])), int(np.nanargmin(xy[i]))
            put(f"cop.{who}.{f}.extent", xy[i, hi] - xy[i, lo], parts[i, :, hi] - parts[i, :, lo])
            k = int(np.nanargmax(d[i]))
            put(f"cop.{who}.{f}.speed", d[i, k] * rate / block, (parts[i, :, k + 1] - parts[i, :, k]) * rate / block)

    # The stance, and where the net cop lies in it.
    s = (stood[0] - stood[1]) * np.array([1, -1])
    ds = np.stack([at_address.parts[f"cop.lead.{f}"][:, 0] - at_address.parts[f"cop.trail.{f}"][:, 0] for f in ("target", "toe")])
    width = np.hypot(*s)
    put("stance.width", width, s @ ds / width)
    put("stance.angle", np.arctan2(s[1], s[0]), (s[0] * ds[1] - s[1] * ds[0]) / width**2)
    trail_at_address = np.stack([at_address.parts[f"cop.trail.{f}"][:, 0] for f in ("target", "toe")])
    for name in list(EVENTS) + ["target.net.most"]:
        if name in EVENTS:
            p = place[name]
            k = int(round(p))
            here = np.array([np.interp(p, [int(p), int(p) + 1], curves[f"cop.net.{f}"][int(p) : int(p) + 2]) for f in ("target", "toe")])
        else:
            k = peaks["target.net", "most"][0]
            here = np.array([curves[f"cop.net.{f}"][k] for f in ("target", "toe")])
        a = here - stood[1] * np.array([1, -1])
        value = a @ s / width**2
        da = np.stack([part(f"cop.net.{f}", k) for f in ("target", "toe")]) - trail_at_address
        run = sum(s[i] * curves[f"cop.net.{f}"] for i, f in enumerate(("target", "toe"))) / width**2
        extra = instant_var(run, k) if name in EVENTS else 0.0
        put(f"at.{name}.cop.between-feet", value, (s @ da + (a - 2 * value * s) @ ds) / width**2, extra)

    # Motion of the body at its peaks and at events: the rig's errors in what was gathered since the rest.
    from_k = int(round(middle(rest)))
    sums = [integrate.cumulative_trapezoid(w, dx=step, axis=1, initial=0) for w in (lead, trail)]
    at_rest = Instants(rig, (means(lead, rest), means(trail, rest), 1.0, 0.0), noise, points, none)
    axes = ("target", "toe", "up")
    ks = sorted({peaks[c, kind][0] for c in curves if c.startswith("body.") for kind in ("most", "least")} | {int(round(place[e])) for e in ("top", "impact")})
    grids = np.array([np.round(np.linspace(middle(rest), k, 9)) for k in ks]).astype(int)
    to_k = int(round(middle(later))) if later else None
    all_k = np.concatenate([grids.ravel(), [to_k] if later else []]).astype(int)
    duration = (all_k - from_k) * step
    gathered = [rig.changed(p, sums[p][:, all_k] - sums[p][:, [from_k]], w[:, all_k] - w[:, [from_k]], duration, noise) for p, w in enumerate((lead, trail))]
    total = (gathered[0] + gathered[1])[:n_sources][:, [0, 1, 2]] * np.array([1, -1, 1])[None, :, None]
    weight_parts = at_rest.parts["up.net"][:n_sources, 0]
    for j, along in enumerate(axes):
        if later:
            off = total[:, j, -1:] * (all_k - from_k) / (to_k - from_k)
        else:
            off = at_rest.parts[f"{along}.net"][:n_sources] * duration
        v = velocity[j, all_k]
        parts_v = (total[:, j] - off) / mass - np.outer(weight_parts, v) / at_rest.value["up.net"][0]
        parts_v = parts_v[:, : grids.size].reshape(n_sources, *grids.shape)
        simpson = np.full(9, 1.0)
        simpson[[0, -1]] = 0.5
        for i, k in enumerate(ks):
            parts_x = parts_v[:, i] @ simpson * (k - middle(rest)) / 8 * step
            for kind, parts in (("velocity", parts_v[:, i, -1]), ("displacement", parts_x)):
                series = f"body.{kind}.{along}"
                for m in ("most", "least"):
                    if peaks[series, m][0] == k:
                        put(f"{series}.{m}", curves[series][k], parts)
                for e in ("top", "impact"):
                    if int(round(place[e])) == k:
                        p = place[e]
                        put(f"at.{e}.{series}", np.interp(p, [int(p), int(p) + 1], curves[series][int(p) : int(p) + 2]), parts)
    for m in ("most", "least"):
        put(f"body.power.{m}", power[peaks["body.power", m][0]])
    # Shares of body weight beside every force, moment, impulse and rate.
    shares = {name: (value / weight, u / weight) for name, (value, u) in out.items() if name.startswith(("up", "target", "toe", "turn", "entry", "free", "at", "impulse", "rate", "oppo"))}
    return {"figures": out, "shares": shares, "findings": wrong, "address": (address.start / rate, address.stop / rate),
            "seen": (onset, settled, landmarks, crossings)}


def agree(recording, page):
    """Holds the peer's figures against ours (a page of `underfoot measure --json`); returns how many of how many agree.

    Values: within a millionth of what a figure of their unit can be. Times of peaks, which ours fits over wider windows
    where noise wants it: within 15 ms, or within ours ± on a plateau. Standard uncertainties of what is read at events, over phases, of the stance and
    of extents: within a hundredth of themselves.
    """
    made = measure(recording)
    ours = {m["id"]: m for m in page["metrics"] if m["value"] is not None}
    bad, held, compared = [], 0, 0
    scale = {"N": 700.0, "N·m": 50.0, "N·s": 100.0, "N·m·s": 10.0, "N/s": 5e3, "m": 0.3, "m/s": 0.5, "W": 300.0, "N·m/m": 100.0}
    for name, m in ours.items():
        if name not in made["figures"]:
            bad.append((name, "missing"))
            continue
        value, u = made["figures"][name]
        timed = m["unit"] == "s"
        allowed = max(0.015, m["plus_minus"] + 1 / recording["rate"]) if timed else 1e-6 * scale.get(m["unit"], 1.0)
        if not abs(value - m["value"]) <= allowed:
            bad.append((name, m["value"], float(value)))
        # What noise does to peaks, and the stillness at rest, is ours alone.
        words = name.split(".")
        at_event = words[0] == "at" and words[1] in EVENTS
        plain = at_event or words[0] in ("impulse", "stance") or words[-1] == "extent"
        if plain and "body" not in name:
            compared += 1
            if not abs(u - m["u"]) <= 0.01 * m["u"]:
                bad.append((name, "u", m["u"], float(u)))
        held += 1
    return held, compared, bad, made


if __name__ == "__main__":
    with open(sys.argv[2]) as text:
        held, compared, bad, made = agree(read(sys.argv[1]), json.load(text))
    print(f"{held} figures, {compared} uncertainties, {len(bad)} differ; findings: {made['findings']}")
    for line in bad:
        print(*line)
    sys.exit(1 if bad else 0)
