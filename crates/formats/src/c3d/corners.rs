//! Corners of a plate: are they in order, and which way does the plate face?
//!
//! Source: C3D user guide, FORCE_PLATFORM:CORNERS (quadrants of the plate's own axes). The repair of exchanged
//! corners is ours.
use glam::DVec3;

/// What a plate's four corners are, as written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Order {
    /// 1–2–3–4 runs round the outline.
    Round,
    /// Sides 2–3 and 4–1 cross: 1 and 2, or 3 and 4, are exchanged.
    Crossed34,
    /// Sides 1–2 and 3–4 cross: 2 and 3, or 1 and 4, are exchanged.
    Crossed23,
    /// They span no rectangle in any order.
    Degenerate,
}

/// The midpoints of a rectangle's diagonals coincide: which corners are opposite shows in whose midpoints do.
/// Surveyed corners are not exact, so a quarter of the plate's size is allowed.
pub(super) fn order([c1, c2, c3, c4]: &[DVec3; 4]) -> Order {
    if ![c1, c2, c3, c4].iter().all(|c| c.is_finite()) {
        return Order::Degenerate;
    }
    let miss = [
        (((c1 + c3) - (c2 + c4)).length(), Order::Round),
        (((c1 + c4) - (c2 + c3)).length(), Order::Crossed34),
        (((c1 + c2) - (c3 + c4)).length(), Order::Crossed23),
    ];
    let size = miss.iter().map(|m| m.0).fold(0.0, f64::max);
    let mut best = miss[0];
    for other in &miss[1..] {
        if other.0 < best.0 {
            best = *other;
        }
    }
    let corners = repaired(&[*c1, *c2, *c3, *c4], best.1)[0];
    let (x, y) = edges(&corners);
    let square = x.normalize_or_zero().cross(y.normalize_or_zero()).length();
    if best.0 > 0.25 * size || square < 0.5 || x.length() < MIN_EDGE_M || y.length() < MIN_EDGE_M {
        return Order::Degenerate;
    }
    best.1
}

/// Shorter edges belong to no plate, m.
const MIN_EDGE_M: f64 = 1e-3;

/// The single exchanges that put corners in order, the one that keeps more of corners 1 and 2 first.
pub(super) fn repaired(corners: &[DVec3; 4], order: Order) -> [[DVec3; 4]; 2] {
    let &[c1, c2, c3, c4] = corners;
    match order {
        Order::Round | Order::Degenerate => [*corners, *corners],
        Order::Crossed34 => [[c1, c2, c4, c3], [c2, c1, c3, c4]],
        Order::Crossed23 => [[c1, c3, c2, c4], [c4, c2, c3, c1]],
    }
}

/// Means of opposite edges along plate x and plate y.
fn edges(&[c1, c2, c3, c4]: &[DVec3; 4]) -> (DVec3, DVec3) {
    (((c1 - c2) + (c4 - c3)) / 2.0, ((c1 - c4) + (c2 - c3)) / 2.0)
}

/// The plate's own z axis; zero for degenerate corners.
pub(super) fn normal(corners: &[DVec3; 4]) -> DVec3 {
    let (x, y) = edges(corners);
    x.cross(y).normalize_or_zero()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn corners(flat: [[f64; 2]; 4]) -> [DVec3; 4] {
        flat.map(|[x, y]| DVec3::new(x, y, 0.0))
    }

    #[test]
    fn every_exchange_is_seen_and_undone() {
        let good = corners([[0.6, 0.4], [0.0, 0.4], [0.0, 0.0], [0.6, 0.0]]);
        assert_eq!(order(&good), Order::Round);
        for (i, j) in [(0, 1), (2, 3), (1, 2), (0, 3)] {
            let mut bad = good;
            bad.swap(i, j);
            let seen = order(&bad);
            assert!(matches!(seen, Order::Crossed34 | Order::Crossed23), "{i} {j}");
            assert!(repaired(&bad, seen).contains(&good), "{i} {j}");
        }
        // Exchanging opposite corners only turns the outline round; nothing crosses.
        let mut turned = good;
        turned.swap(0, 2);
        assert_eq!(order(&turned), Order::Round);
        assert!(normal(&turned).dot(normal(&good)) < 0.0);
    }

    #[test]
    fn what_spans_nothing_is_degenerate() {
        for flat in [
            [[0.0; 2]; 4],
            [[0.0, 0.0], [1.0, 0.0], [2.0, 0.0], [3.0, 0.0]],
            [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [f64::NAN, 1.0]],
            [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.5, 0.2]],
        ] {
            assert_eq!(order(&corners(flat)), Order::Degenerate, "{flat:?}");
        }
    }
}
