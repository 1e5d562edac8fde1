//! Guesses of top and impact, for recordings in which nothing shows them. They are labelled as such, and
//! [`super::Events::known`] never returns them.
//!
//! **Facts used, from memory and common practice; plausible ranges, not truths.** Lead vertical force peaks 40 to
//! 110 ms before impact in skilled players, later and even after impact in others. A downswing takes 0.23 to 0.30 s,
//! longer in others. Backswing over downswing is about 3 (Grober & Cholewicki, citing counts of video frames: 21/7,
//! 24/8, 30/10), somewhat less or more in others.
use super::accounts::Accounts;
use super::file::event;
use super::types::{Event, Landmark, Name, Source, hypotenuse};

/// Impact after the peak of the vertical force, s, with its standard uncertainty.
const AFTER_PEAK_S: (f64, f64) = (0.065, 0.045);
/// Length of the downswing, s, with its standard uncertainty.
const DOWNSWING_S: (f64, f64) = (0.275, 0.035);
/// Top as a share of the way from takeaway to impact (a ratio of 3 is 0.75), with its standard uncertainty.
const TOP_SHARE: (f64, f64) = (0.75, 0.025);

/// Estimates of what `known` does not hold. Impact ("before-impact-peak@1"): from the peak of the lead foot's
/// vertical force, on one plate of the net's; from a known top ("downswing@1"). Top ("tempo@1"): from takeaway and
/// impact; without a takeaway ("downswing@1") from impact.
pub(super) fn candidates(
    known: &[Event],
    landmarks: &[Landmark],
    accounts: &Accounts,
    found: &mut Vec<Event>,
) {
    let of = |name| known.iter().filter(|e| e.name == name).min_by_key(|e| e.source);
    let impact = match (of(Name::Impact), of(Name::Top)) {
        (Some(impact), _) => Some((impact.time_s, impact.u_s)),
        (None, Some(top)) => {
            let at = (top.time_s + DOWNSWING_S.0, hypotenuse(top.u_s, DOWNSWING_S.1));
            let seen = format!("a usual downswing after the top, {:.3} s", DOWNSWING_S.0);
            found.push(event(Name::Impact, at, Source::Estimate, "downswing@1", seen));
            Some(at)
        }
        (None, None) => {
            let name = if accounts.split_n.is_some() { "lead-up-most" } else { "net-up-most" };
            landmarks.iter().find(|l| l.name == name).map(|peak| {
                let at = (peak.time_s + AFTER_PEAK_S.0, hypotenuse(peak.u_s, AFTER_PEAK_S.1));
                let seen = format!("{:.3} s after {name}", AFTER_PEAK_S.0);
                found.push(event(Name::Impact, at, Source::Estimate, "before-impact-peak@1", seen));
                at
            })
        }
    };
    let Some((impact_s, impact_u)) = impact else { return };
    if of(Name::Top).is_some() {
        return;
    }
    let (at, method, seen) = match of(Name::Takeaway) {
        Some(takeaway) if takeaway.time_s < impact_s => {
            let (share, share_u) = TOP_SHARE;
            let whole = impact_s - takeaway.time_s;
            let ends = hypotenuse(share * impact_u, (1.0 - share) * takeaway.u_s);
            let at = (takeaway.time_s + share * whole, hypotenuse(ends, share_u * whole));
            (at, "tempo@1", "three parts of the way from takeaway to impact".to_string())
        }
        _ => {
            let at = (impact_s - DOWNSWING_S.0, hypotenuse(impact_u, DOWNSWING_S.1));
            (at, "downswing@1", format!("a usual downswing before impact, {:.3} s", DOWNSWING_S.0))
        }
    };
    found.push(event(Name::Top, at, Source::Estimate, method, seen));
}
