//! Whether the recording holds a movement that looks like a swing, and about where it begins and ends.
use super::accounts::{Account, Accounts};
use crate::analyse::Swing;
use std::ops::Range;

/// A movement between two rests. Blocks of [`Accounts`].
pub(super) struct Movement {
    /// The stillest stretch before it.
    pub(super) before: Range<usize>,
    /// The first block that is plainly under way.
    pub(super) begin: usize,
    /// The block of the largest vertical force.
    pub(super) peak: usize,
    /// The last block that is plainly under way; `None` where the recording ends before rest.
    pub(super) end: Option<usize>,
    /// Where another movement of this kind peaks, if one does.
    pub(super) another: Option<usize>,
}

/// Plainly under way: an account changes by this share of its largest change, and by this many times its largest
/// change at rest, over so many seconds.
const UNDER_WAY: f64 = 0.06;
const BEYOND_SWAY: f64 = 4.0;
const CHANGE_S: f64 = 0.15;
/// Length of the rest that is looked for, s, and how long before the largest force, s.
const REST_S: f64 = 0.3;
const BEFORE_S: f64 = 3.0;

/// Why there is none, in words for people.
pub(super) fn find(swing: &Swing, accounts: &Accounts) -> Result<Movement, String> {
    let weight = standing_n(swing).ok_or("nobody is seen to stand, and no body weight is known")?;
    let n = accounts.len();
    let up = &accounts.up_n;
    let peak = (0..n).max_by(|a, b| up[*a].total_cmp(&up[*b])).ok_or("the recording is empty")?;
    if up[peak] < LEAST_PEAK * weight {
        return Err(format!(
            "the vertical force never exceeds {:.0} % of the weight; a full swing exceeds {:.0} %",
            100.0 * up[peak] / weight,
            100.0 * LEAST_PEAK
        ));
    }
    if up[peak] > MOST_PEAK * weight {
        return Err(format!(
            "the vertical force reaches {:.0} % of the weight, more than a swing's",
            100.0 * up[peak] / weight
        ));
    }
    let rest = accounts.blocks(REST_S);
    let search = peak.saturating_sub(accounts.blocks(BEFORE_S))..peak;
    let before =
        still(accounts, search, rest, weight).ok_or("nobody stands still before the largest force")?;
    let begin = edge(accounts, &before, (before.start..peak).rev(), peak)
        .map(|k| k + 1)
        .ok_or("the largest force follows at once on rest")?;
    let end =
        (n > peak + rest).then(|| still(accounts, n - rest..n, rest, weight)).flatten().and_then(|rest| {
            let last = edge(accounts, &rest, peak + 1..rest.end, peak)?;
            Some(last - 1)
        });
    Ok(Movement { before, begin, peak, end, another: another(accounts, peak, weight) })
}

/// What the plates read while the player stands, N: a stated mass may be another's.
fn standing_n(swing: &Swing) -> Option<f64> {
    let stood = swing.address.as_ref().map(|a| a.vertical_n);
    stood.or(swing.body_weight_n.map(|w| w.newton)).filter(|w| *w > 0.0)
}

/// A full swing's largest vertical force, shares of body weight. Worsfold, Smith & Dyson 2007 and facts of the trade
/// put it at 1.2 to above 2; common practice, no source, for the bounds.
const LEAST_PEAK: f64 = 1.08;
const MOST_PEAK: f64 = 3.0;

/// The stillest stretch of `length` blocks: the least sum of variances, each against the account's own over
/// everything; standing on it is a person. `None` where it is not still.
fn still(accounts: &Accounts, within: Range<usize>, length: usize, weight: f64) -> Option<Range<usize>> {
    let scale: Vec<f64> = accounts.moving.iter().map(|a| variance(&a.values)).collect();
    let start = within.start;
    if within.len() < length || length < 8 {
        return None;
    }
    let mut best = (f64::INFINITY, start);
    // Every fourth block: a fiftieth of a second.
    for first in (start..=within.end - length).step_by(4) {
        let window = first..first + length;
        let stands = (mean(&accounts.up_n[window.clone()]) / weight - 1.0).abs() < 0.1;
        let sum: f64 = accounts
            .moving
            .iter()
            .zip(&scale)
            .map(|(a, s)| if *s > 0.0 { variance(&a.values[window.clone()]) / s } else { 0.0 })
            .sum();
        if stands && sum < best.0 {
            best = (sum, first);
        }
    }
    // Moving, the variances of a stretch are of the size of the whole's.
    (best.0 < 0.05 * accounts.moving.len() as f64).then_some(best.1..best.1 + length)
}

/// The first block of `walk`, from the peak toward rest, at which no account is under way, and none is for a tenth of
/// a second further. What counts is the change over [`CHANGE_S`] toward rest: sway is slower.
fn edge(
    accounts: &Accounts,
    rest: &Range<usize>,
    walk: impl Iterator<Item = usize>,
    peak: usize,
) -> Option<usize> {
    let lag = accounts.blocks(CHANGE_S);
    let n = accounts.len();
    let forward = rest.start < peak;
    let change = |a: &Account, k: usize| {
        let toward = if forward { k.saturating_sub(lag) } else { (k + lag).min(n - 1) };
        (a.values[k] - a.values[toward]).abs()
    };
    let span = if forward { rest.end..peak } else { peak..rest.start };
    let bound: Vec<f64> = accounts
        .moving
        .iter()
        .map(|a| {
            let most = span.clone().map(|k| change(a, k)).fold(0.0, f64::max);
            let still = rest.clone().map(|k| change(a, k)).fold(0.0, f64::max);
            (UNDER_WAY * most).max(BEYOND_SWAY * still)
        })
        .collect();
    let under_way = |k: usize| accounts.moving.iter().zip(&bound).any(|(a, b)| change(a, k) > *b);
    let calm = accounts.blocks(0.1);
    let mut run: Option<(usize, usize)> = None;
    for k in walk {
        run = match (under_way(k), run) {
            (true, _) => None,
            (false, None) => Some((k, 1)),
            (false, Some((first, count))) => Some((first, count + 1)),
        };
        if let Some((first, count)) = run
            && count >= calm
        {
            return Some(first);
        }
    }
    None
}

/// Where a second movement peaks: above 1.2 weights, a second and a half away, with half a second of standing
/// between.
fn another(accounts: &Accounts, peak: usize, weight: f64) -> Option<usize> {
    let (far, stand) = (accounts.blocks(1.5), accounts.blocks(0.5));
    let up = &accounts.up_n;
    let high = |k: &usize| up[*k] > 1.2 * weight && k.abs_diff(peak) >= far;
    (0..up.len()).filter(high).max_by(|a, b| up[*a].total_cmp(&up[*b])).filter(|other| {
        let (from, to) = (peak.min(*other), peak.max(*other));
        let mut run = 0;
        (from..to).any(|k| {
            run = if (up[k] / weight - 1.0).abs() < 0.08 { run + 1 } else { 0 };
            run >= stand
        })
    })
}

/// Why a movement is not a golf swing, in words; `None` where it looks like one.
///
/// The rule: the player stands on the plates throughout (never under a tenth of the weight); between begin and
/// largest force the load goes first toward the trail foot, then toward the lead foot, past where it began; and the
/// ground turns the player toward the target. Source: Ball & Best 2007, J Sports Sci 25:757-770: players of both
/// styles shift to the back foot in the backswing and forward in the early downswing. Bounds: common practice, no
/// source.
pub(super) fn unlike_a_swing(swing: &Swing, accounts: &Accounts, movement: &Movement) -> Option<String> {
    let weight = standing_n(swing)?;
    let last = movement.end.unwrap_or(accounts.len() - 1);
    let all = movement.before.start..last + 1;
    let least = accounts.up_n[all.clone()].iter().fold(f64::INFINITY, |a, b| a.min(*b));
    if least < 0.1 * weight {
        return Some("the player leaves the plates".into());
    }
    let way_s = (movement.peak - movement.begin) as f64 * accounts.step_s();
    if !(0.4..=2.5).contains(&way_s) {
        return Some(format!(
            "from the first movement to the largest force it is {way_s:.2} s; a swing takes 0.4 to 2.5 s"
        ));
    }
    // Load toward the lead foot: by share of the weight, or by the place of the net cop in stances of half a metre.
    let load: Vec<f64> = match &accounts.split_n {
        Some(split) => split.iter().zip(&accounts.up_n).map(|(s, u)| s / u / 2.0).collect(),
        None => accounts.cop_target_m.iter().map(|x| x / 0.5).collect(),
    };
    let start = mean(&load[movement.before.clone()]);
    let reach = (movement.peak + accounts.blocks(0.2)).min(load.len());
    let back = (movement.begin..movement.peak).min_by(|a, b| load[*a].total_cmp(&load[*b]))?;
    let forth = load[back..reach].iter().fold(f64::NEG_INFINITY, |a, b| a.max(*b));
    if start - load[back] < 0.05 || forth - load[back] < 0.15 {
        return Some("the load does not go to the trail foot and then to the lead foot".into());
    }
    let turn = accounts.moving.iter().find(|a| a.name == TURN)?;
    let rest = mean(&turn.values[movement.before.clone()]);
    let most = turn.values[back.saturating_sub(accounts.blocks(0.15))..reach]
        .iter()
        .fold(0.0_f64, |a, b| a.max(b - rest));
    if most < 0.012 * weight {
        return Some(format!("the ground turns the player toward the target by no more than {most:.0} N·m"));
    }
    None
}

/// The name of the account of turn.
const TURN: &str = "turn about the net cop";

fn mean(x: &[f64]) -> f64 {
    x.iter().sum::<f64>() / x.len() as f64
}

fn variance(x: &[f64]) -> f64 {
    let m = mean(x);
    x.iter().map(|v| (v - m) * (v - m)).sum::<f64>() / x.len() as f64
}
