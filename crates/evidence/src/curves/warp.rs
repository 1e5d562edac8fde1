//! Landmark registration: time is stretched, piece by piece and never turned back, so that events of every curve lie where
//! the set has them on the mean.
//!
//! Source: KneipGasser1992 (landmarks), RamsaySilverman2005 ch. 7; the curve between landmarks FritschCarlson1980 with the slopes of
//! FritschButland1984 (monotone cubic).

/// A monotone map of shares of the time between the first and the last instant: from the set's to a curve's own.
#[derive(Clone, Debug, PartialEq)]
pub struct Warp {
    /// Where the set has the events, 0 and 1 at the ends.
    set: Vec<f64>,
    /// Where the curve has them.
    own: Vec<f64>,
    slopes: Vec<f64>,
}

/// Where events lie on the mean of a set of curves.
///
/// Shape: one row a curve, each with the same events as shares of its time. Undefined: `None` where a row has not as many, or not
/// in order strictly between 0 and 1.
pub fn mean_shares(rows: &[Vec<f64>]) -> Option<Vec<f64>> {
    let count = rows.first()?.len();
    if !rows.iter().all(|r| r.len() == count && in_order(r)) {
        return None;
    }
    Some((0..count).map(|k| rows.iter().filter_map(|r| r.get(k)).sum::<f64>() / rows.len() as f64).collect())
}

fn in_order(shares: &[f64]) -> bool {
    let mut before = 0.0;
    shares.iter().all(|s| {
        let later = *s > before && *s < 1.0;
        before = *s;
        later
    })
}

impl Warp {
    /// From events as the set has them to those of a curve. Undefined: `None` where they are not as many, or not in order strictly
    /// between 0 and 1.
    pub fn between(set: &[f64], own: &[f64]) -> Option<Self> {
        if set.len() != own.len() || !in_order(set) || !in_order(own) {
            return None;
        }
        let ended = |inner: &[f64]| [&[0.0], inner, &[1.0]].concat();
        let (set, own) = (ended(set), ended(own));
        let slopes = slopes(&set, &own);
        Some(Self { set, own, slopes })
    }

    /// The curve's own share for a share of the set's time; ends stay ends.
    pub fn at(&self, share: f64) -> f64 {
        let piece =
            self.set.windows(2).position(|w| share <= w[1]).unwrap_or(self.set.len().saturating_sub(2));
        let get = |of: &[f64], k: usize| of.get(k).copied().unwrap_or(f64::NAN);
        let (x0, x1) = (get(&self.set, piece), get(&self.set, piece + 1));
        let (y0, y1) = (get(&self.own, piece), get(&self.own, piece + 1));
        let (width, rise) = (x1 - x0, y1 - y0);
        let (start, end) = (width * get(&self.slopes, piece), width * get(&self.slopes, piece + 1));
        // Hermite's cubic on 0..=1.
        let t = ((share - x0) / width).clamp(0.0, 1.0);
        y0 + t * (start + t * (3.0 * rise - 2.0 * start - end + t * (start + end - 2.0 * rise)))
    }

    /// How far it moves time: the largest distance from an even stretch, as a share of the time, over so many nodes.
    pub fn size(&self, nodes: usize) -> f64 {
        let last = nodes.saturating_sub(1).max(1) as f64;
        (0..nodes).map(|k| (self.at(k as f64 / last) - k as f64 / last).abs()).fold(0.0, f64::max)
    }
}

/// Slopes at the knots: weighted harmonic mean of the pieces beside each; at the ends the parabola's, kept monotone.
fn slopes(x: &[f64], y: &[f64]) -> Vec<f64> {
    let pieces: Vec<(f64, f64)> = x
        .windows(2)
        .zip(y.windows(2))
        .map(|(x, y)| {
            let width = x[1] - x[0];
            (width, (y[1] - y[0]) / width)
        })
        .collect();
    let inner = |w: &[(f64, f64)]| {
        let ((h0, m0), (h1, m1)) = (w[0], w[1]);
        let (w0, w1) = (2.0 * h1 + h0, h1 + 2.0 * h0);
        // Events are in order, so every piece rises.
        (w0 + w1) / (w0 / m0 + w1 / m1)
    };
    let end = |first: Option<&(f64, f64)>, next: Option<&(f64, f64)>| match (first, next) {
        (Some((h0, m0)), Some((h1, m1))) => {
            (((2.0 * h0 + h1) * m0 - h0 * m1) / (h0 + h1)).clamp(0.0, 3.0 * m0)
        }
        (first, _) => first.map_or(f64::NAN, |(_, m)| *m),
    };
    let mut out = vec![end(pieces.first(), pieces.get(1))];
    out.extend(pieces.windows(2).map(inner));
    out.push(end(pieces.last(), pieces.len().checked_sub(2).and_then(|k| pieces.get(k))));
    out
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;
    use crate::curves::between;
    use signal::math::exp;

    #[test]
    fn where_events_agree_nothing_moves() {
        for own in [vec![], vec![0.4], vec![0.2, 0.75]] {
            let warp = Warp::between(&own, &own).unwrap();
            assert!(warp.size(101) < 1e-15, "{warp:?}");
        }
    }

    #[test]
    fn events_meet_and_time_never_turns_back() {
        let (set, own) = ([0.3, 0.5, 0.55, 0.9], [0.1, 0.62, 0.64, 0.8]);
        let warp = Warp::between(&set, &own).unwrap();
        for (s, o) in set.iter().zip(own) {
            assert!((warp.at(*s) - o).abs() < 1e-15);
        }
        let path: Vec<f64> = (0..=1000).map(|k| warp.at(f64::from(k) / 1000.0)).collect();
        assert!(path.windows(2).all(|w| w[1] > w[0]) && path[0] == 0.0 && path[1000] == 1.0);
        assert!(warp.size(1001) >= 0.2);
    }

    /// scipy 1.17.1: PchipInterpolator through (0 0) (0.3 0.1) (0.5 0.62) (0.55 0.64) (0.9 0.8) (1 1).
    #[test]
    fn as_scipy() {
        let warp = Warp::between(&[0.3, 0.5, 0.55, 0.9], &[0.1, 0.62, 0.64, 0.8]).unwrap();
        for (share, own) in SCIPY {
            assert!((warp.at(share) - own).abs() < 1e-12, "{share} {}", warp.at(share));
        }
    }
    const SCIPY: [(f64, f64); 5] = [
        (0.1, 0.012_081_410_483_966_4),
        (0.35, 0.193_103_360_205_067_21),
        (0.52, 0.629_379_062_142_584_9),
        (0.7, 0.692_594_651_567_024),
        (0.97, 0.927_665_263_157_894_8),
    ];

    /// Curves with a peak where each has it come to lie on one another, which evenly stretched they do not.
    #[test]
    fn shifted_curves_are_recovered() {
        let shape = |share: f64| {
            let d = (share - 0.6) / 0.08;
            exp(-d * d) + 0.3 * share
        };
        let peaks = [0.5, 0.58, 0.6, 0.66, 0.71];
        let set = mean_shares(&peaks.map(|p| vec![p])).unwrap();
        assert!((set[0] - 0.61).abs() < 1e-15);
        let (mut apart, mut plain) = (0.0_f64, 0.0_f64);
        let wanted: Vec<f64> =
            (0..101).map(|k| shape(Warp::between(&set, &[0.6]).unwrap().at(f64::from(k) / 100.0))).collect();
        for peak in peaks {
            // The recording whose time, put onto the set's, shows the shape with its peak at the set's place.
            let own = Warp::between(&set, &[peak]).unwrap();
            let inverse = |share: f64| {
                let (mut low, mut high) = (0.0, 1.0);
                for _ in 0..60 {
                    let middle = 0.5 * (low + high);
                    if own.at(middle) < share { low = middle } else { high = middle }
                }
                0.5 * (low + high)
            };
            let of_set = Warp::between(&set, &[0.6]).unwrap();
            let values: Vec<f64> =
                (0..=2000).map(|k| shape(of_set.at(inverse(f64::from(k) / 2000.0)))).collect();
            let got = |warp| between(&values, (1000.0, 0.0), (0.0, 2.0), 101, warp);
            let far = |got: Vec<f64>| got.iter().zip(&wanted).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            apart = apart.max(far(got(Some(&own))));
            plain = plain.max(far(got(None)));
        }
        assert!(apart < 1e-6 && plain > 0.5, "{apart} {plain}");
    }

    #[test]
    fn events_out_of_order_make_no_warp() {
        assert!(Warp::between(&[0.5], &[0.5, 0.6]).is_none() && Warp::between(&[0.5], &[1.0]).is_none());
        assert!(
            Warp::between(&[0.4, 0.4], &[0.4, 0.5]).is_none() && Warp::between(&[f64::NAN], &[0.5]).is_none()
        );
        assert!(mean_shares(&[]).is_none() && mean_shares(&[vec![0.5], vec![]]).is_none());
    }
}
