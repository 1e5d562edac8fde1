//! The verdict on a difference. The rule is written out in docs/evidence/change.md; what is decided here is what stands there.
use super::Change;

/// What can be said of a difference.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// More than noise, by all three witnesses.
    Clear,
    /// By all three witnesses more than values of one occasion scatter; but the sides are of other occasions, and how far occasions
    /// of a subject differ by themselves is not known. Whether the subject changed cannot be told.
    BetweenDays,
    /// The witnesses do not agree.
    Unclear,
    /// No more than noise: the interval holds 0, and the difference is under what would have stood out.
    WithinNoise,
    /// So few values that no answer could have come out.
    CannotBeTold,
}

/// A verdict and what its witnesses say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Judged {
    /// What can be said.
    pub verdict: Verdict,
    /// The interval leaves out 0.
    pub interval_leaves_out_zero: bool,
    /// Chance alone rarely gives as much: the (adjusted) probability is at most alpha.
    pub improbable: bool,
    /// The difference is greater than what would have stood out.
    pub stands_out: bool,
}

/// Judges a difference by its interval, its probability (adjusted for how many are looked at), and what would have stood out.
///
/// Source: ours (docs/evidence/change.md).
pub fn judged(change: &Change, p_adjusted: f64, alpha: f64) -> Judged {
    let d = &change.difference;
    let interval_leaves_out_zero = d.low > 0.0 || d.high < 0.0;
    let improbable = p_adjusted <= alpha;
    let stands_out = d.value.abs() > change.detectable.size;
    let defined = [d.value, d.low, d.high, p_adjusted, change.detectable.size].iter().all(|v| v.is_finite());
    let verdict = if !defined || change.permuted.least > alpha {
        Verdict::CannotBeTold
    } else if interval_leaves_out_zero && improbable && stands_out {
        // Values scatter within occasions; that says nothing of how far occasions lie apart.
        if change.detectable.of_occasions.is_nan() { Verdict::BetweenDays } else { Verdict::Clear }
    } else if !interval_leaves_out_zero && !stands_out {
        Verdict::WithinNoise
    } else {
        Verdict::Unclear
    };
    Judged { verdict, interval_leaves_out_zero, improbable, stands_out }
}
