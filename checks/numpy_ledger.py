"""`Recording → Ledger` as a practised NumPy user would write it: whole columns, no loop over samples, no copy that
is not needed. The peer that `scripts/bench` times, and whose columns it compares with ours first.

Right-handed player, target +x of the laboratory, z up; formulas of Zatsiorsky 2002 ch. 1 and of statics.
"""

import numpy as np


def plate_matrix(corners_m, origin_m, centre_m):
    """6×6: channels (N, N·m, plate axes, about the sensor origin) → wrench about `centre_m`, laboratory axes."""
    x = corners_m[0] - corners_m[1]
    z = np.cross(x, corners_m[0] - corners_m[3])
    axes = np.stack([x / np.linalg.norm(x), np.zeros(3), z / np.linalg.norm(z)], axis=1)
    axes[:, 1] = np.cross(axes[:, 2], axes[:, 0])
    a, b, c = corners_m.mean(axis=0) - axes @ origin_m - centre_m
    arm = np.array([[0, -c, b], [c, 0, -a], [-b, a, 0]])
    return np.block([[axes, np.zeros((3, 3))], [arm @ axes, axes]])


def contact(w, floor_n):
    """Centre of pressure x, y and free moment on z = 0; NaN under the load floor."""
    up = np.where(w[2] >= floor_n, w[2], np.nan)
    x = -w[4] / up
    y = w[3] / up
    return x, y, w[5] - x * w[1] + y * w[0]


def ledger(analog, matrices, floor_n, about):
    """All columns of a two-plate recording about a fixed point, or about the net centre of pressure for `None`.

    `analog`: 12 × samples. `matrices`: of the trail and the lead plate.
    """
    trail = matrices[0] @ analog[:6]
    lead = matrices[1] @ analog[6:]
    net = lead + trail
    lead_x, lead_y, lead_t = contact(lead, floor_n)
    trail_x, trail_y, trail_t = contact(trail, floor_n)
    net_x, net_y, net_t = contact(net, floor_n)
    point_x, point_y = (net_x, net_y) if about is None else about

    # A foot under the floor is booked at the other foot's centre of pressure, both at the point in flight.
    lead_off, trail_off = np.isnan(lead_x), np.isnan(trail_x)
    some_off = lead_off.any() or trail_off.any()
    px, py, qx, qy, pt, qt = lead_x, lead_y, trail_x, trail_y, lead_t, trail_t
    if some_off:
        px = np.where(lead_off, np.where(trail_off, point_x, trail_x), lead_x)
        py = np.where(lead_off, np.where(trail_off, point_y, trail_y), lead_y)
        qx, qy = np.where(trail_off, px, trail_x), np.where(trail_off, py, trail_y)
        pt = np.where(lead_off, lead[5] - px * lead[1] + py * lead[0], lead_t)
        qt = np.where(trail_off, trail[5] - qx * trail[1] + qy * trail[0], trail_t)

    offset = ((px + qx) / 2 - point_x) * net[1] - ((py + qy) / 2 - point_y) * net[0]
    columns = {
        "turn_nm": net[5] - point_x * net[1] + point_y * net[0],
        "turn_lead_nm": lead[5] - point_x * lead[1] + point_y * lead[0],
        "turn_trail_nm": trail[5] - point_x * trail[1] + point_y * trail[0],
        "turn_free_lead_nm": pt,
        "turn_free_trail_nm": qt,
        "turn_couple_toe_nm": (px - qx) * ((lead[1] - trail[1]) / 2),
        "turn_couple_target_nm": (qy - py) * ((lead[0] - trail[0]) / 2),
        "turn_offset_nm": offset,
    }
    for name, w, x, y, t in (
        ("lead", lead, lead_x, lead_y, lead_t),
        ("trail", trail, trail_x, trail_y, trail_t),
        ("net", net, net_x, net_y, net_t),
    ):
        columns[f"{name}_target_n"] = w[0]
        columns[f"{name}_toe_n"] = -w[1]
        columns[f"{name}_up_n"] = w[2]
        columns[f"{name}_cop_target_m"] = x
        columns[f"{name}_cop_toe_m"] = -y
        if name != "net":
            columns[f"{name}_free_moment_nm"] = t
    return columns
