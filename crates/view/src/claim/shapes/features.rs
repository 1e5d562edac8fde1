//! What a curve looks like in plain words: how many peaks, to which side, where.
use super::numbers::GroupOf;
use crate::claim::curves::WayOf;
use crate::claim::curves::words::Way;
use crate::claim::players::listed;
use crate::quantity::plain;
use evidence::cohort::peaks::peaks;
use serde::Serialize;

/// The share of a curve's range by which a peak must stand out to be told. Source: ours.
pub const STANDS_OUT: f64 = 0.2;

/// A peak of a curve, upward or downward.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PeakOf {
    /// True for a peak, false for a low.
    pub up: bool,
    /// Where, %.
    pub percent: f64,
    /// The same in seconds from the anchor.
    pub seconds: f64,
    /// The curve there.
    pub value: f64,
    /// How far the curve goes back from it before it goes beyond it.
    pub prominence: f64,
}

/// Peaks and lows that stand out by a fifth of the curve's range, in order along it.
pub(super) fn of(curve: &[f64], way: &WayOf) -> Vec<PeakOf> {
    let turned: Vec<f64> = curve.iter().map(|v| -v).collect();
    let side = |up: bool, of: &[f64]| -> Vec<PeakOf> {
        let at = |of: &[f64], k: usize| of.get(k).copied().unwrap_or(f64::NAN);
        let one = |p: &evidence::cohort::peaks::Peak| PeakOf {
            up,
            percent: at(&way.percent, p.node),
            seconds: at(&way.seconds, p.node),
            value: if up { p.height } else { -p.height },
            prominence: p.prominence,
        };
        peaks(of, STANDS_OUT).iter().map(one).collect()
    };
    let mut all = side(true, curve);
    all.extend(side(false, &turned));
    all.sort_by(|a, b| a.percent.total_cmp(&b.percent));
    all
}

/// Gives groups their words: the side on which they have unlike numbers of peaks, else the one to which curves reach farther.
pub(super) fn words(groups: &mut [GroupOf], account: &str, way: &Way) {
    let number = |g: &GroupOf, up: bool| g.peaks.iter().filter(|p| p.up == up).count();
    let unlike = |up: bool| groups.windows(2).any(|w| matches!(w, [a, b] if number(a, up) != number(b, up)));
    let most = |pick: fn(f64, f64) -> f64| {
        groups.iter().flat_map(|g| &g.mean).copied().filter(|v| v.is_finite()).fold(0.0, pick)
    };
    // Peaks stand for themselves; of two unlike sides that of the greater values tells more.
    let farther_up = most(f64::max) >= -most(f64::min);
    let up = match (unlike(true), unlike(false)) {
        (true, false) => true,
        (false, true) => false,
        _ => farther_up,
    };
    for g in groups {
        let own: Vec<&PeakOf> = g.peaks.iter().filter(|p| p.up == up).collect();
        g.words = in_words(&own, up, account, way);
    }
}

/// "two peaks toward the heels, at 68 % and 88 % (0.36 and 0.14 s before impact)".
fn in_words(own: &[&PeakOf], up: bool, account: &str, way: &Way) -> String {
    let beyond = own.iter().all(|p| (p.value > 0.0) == up);
    let (one, many) = noun(up, beyond, account);
    let number = match own.len() {
        0 => format!("no {one} that stands out"),
        1 => format!("one {one}"),
        2 => format!("two {many}"),
        3 => format!("three {many}"),
        n => format!("{n} {many}"),
    };
    let places: Vec<String> = own.iter().map(|p| format!("{} %", plain(p.percent, 0))).collect();
    match own {
        [] => number,
        [only] => format!("{number} at {} ({})", places.concat(), way.instant(only.percent)),
        _ => {
            let instants: Vec<String> = own.iter().map(|p| way.instant(p.percent)).collect();
            format!("{number}, at {} ({})", listed(&places), together(&instants))
        }
    }
}

/// "0.36 and 0.14 s before impact": what instants have in common is said once.
fn together(instants: &[String]) -> String {
    let parts: Vec<(&str, &str)> = instants.iter().filter_map(|i| i.split_once(" s ")).collect();
    let same = parts.len() == instants.len()
        && parts.windows(2).all(|w| w.first().map(|p| p.1) == w.last().map(|p| p.1));
    match parts.first() {
        Some((_, tail)) if same => {
            let figures: Vec<String> = parts.iter().map(|(figure, _)| (*figure).to_string()).collect();
            format!("{} s {tail}", listed(&figures))
        }
        _ => listed(instants),
    }
}

/// "peak", "peak toward the heels", "low".
fn noun(up: bool, beyond_zero: bool, account: &str) -> (String, String) {
    let kind = account.split('.').next().unwrap_or(account);
    let side = match (kind, up, beyond_zero) {
        (_, _, false) | ("up", ..) => "",
        ("toe" | "cop-toe", true, _) => " toward the toes",
        ("toe" | "cop-toe", false, _) => " toward the heels",
        ("target" | "turn" | "entry" | "free-moment" | "cop-target", true, _) => " toward the target",
        ("target" | "turn" | "entry" | "free-moment" | "cop-target", false, _) => " away from the target",
        _ => "",
    };
    let word = if up || !side.is_empty() { "peak" } else { "low" };
    (format!("{word}{side}"), format!("{word}s{side}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn instants_say_once_what_they_share() {
        let of = |words: &[&str]| together(&words.iter().map(|w| w.to_string()).collect::<Vec<_>>());
        assert_eq!(of(&["0.36 s before impact", "0.14 s before impact"]), "0.36 and 0.14 s before impact");
        assert_eq!(of(&["0.36 s before impact", "at impact"]), "0.36 s before impact and at impact");
    }

    #[test]
    fn peaks_are_called_by_their_side() {
        assert_eq!(noun(false, true, "toe.net").1, "peaks toward the heels");
        assert_eq!(noun(true, true, "turn").0, "peak toward the target");
        assert_eq!(noun(false, true, "up.net").0, "low");
        assert_eq!(noun(false, false, "toe.net").0, "low");
    }
}
