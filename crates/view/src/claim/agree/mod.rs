//! Whether two ways of recording the same swings agree: `underfoot agree`.
mod numbers;
mod said;
#[cfg(test)]
mod tests;

pub use numbers::{Agree, AtSize, Dot, MeasureAgree, Size, TrendView};

use super::players::{caveats, has};
use super::table::{Column, SwingOf, Table};
use super::{Answer, Counted, LeftOut, Numbers as _};
use crate::quantity::{COVERAGE, count};
use evidence::agreement::{Agreement, Trend, agreement, repeated};
use evidence::repeatability::nested;
use std::collections::{BTreeMap, BTreeSet};

/// What is asked. No hidden default.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AgreeHow {
    /// Level of every interval; what grows is claimed at 1 − level.
    pub level: f64,
    /// What makes two rows a pair.
    pub pairing: Pairing,
}

/// What makes two rows a pair.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pairing {
    /// The same player, day and number of the swing, recorded twice.
    SameSwing,
    /// The same recording, looked at in two ways.
    SameRecording,
}

/// Whether two tables of the same measures agree, pair by pair.
///
/// Errors: no pair at all, with what it would take. Source: docs/evidence/agreement.md.
pub fn agree(
    first: &Table,
    second: &Table,
    names: [&str; 2],
    how: &AgreeHow,
) -> Result<Answer<Agree>, String> {
    let (pairs, mut left_out) = paired(first, second, how.pairing);
    if pairs.is_empty() {
        return Err(no_pairs(first, second, how.pairing));
    }
    let mut measures = Vec::new();
    for (a, b) in first.columns.iter().zip(&second.columns) {
        match of_measure(first, second, a, b, &pairs, how) {
            Some(found) => measures.push(found),
            None => left_out.push(LeftOut {
                what: a.measure.label.clone(),
                why: "fewer than three pairs have both values, or nothing varies".into(),
            }),
        }
    }
    let swings = |of: &dyn Fn(&SwingOf) -> String| -> usize {
        pairs.iter().filter_map(|(a, _)| first.swings.get(*a)).map(of).collect::<BTreeSet<_>>().len()
    };
    let counted = Counted {
        players: swings(&|s| s.player.clone()),
        sessions: swings(&|s| s.session.to_string()),
        swings: pairs.len(),
    };
    let numbers = Agree { level: how.level, first: names[0].into(), second: names[1].into(), measures };
    let mut minded = said::caveats(&numbers, &counted, how);
    for told in [first, second].into_iter().flat_map(|t| caveats(t, &t.columns)) {
        if !minded.contains(&told) {
            minded.push(told);
        }
    }
    Ok(Answer {
        schema: Agree::SCHEMA,
        question: said::question(first, &numbers, how),
        verdict: said::verdict(&numbers, &counted),
        counted,
        left_out,
        method: said::method(&numbers, &counted),
        settings: said::settings(how),
        caveats: minded,
        numbers,
    })
}

/// What tells a swing that was recorded twice.
fn key(swing: &SwingOf) -> Option<(String, String, i64)> {
    Some((swing.player.clone(), swing.date.clone()?, swing.number))
}

/// Rows that belong together, and what has no partner.
fn paired(first: &Table, second: &Table, pairing: Pairing) -> (Vec<(usize, usize)>, Vec<LeftOut>) {
    let mut left_out = Vec::new();
    let mut leave = |n: usize, why: &str| {
        if n > 0 {
            left_out.push(LeftOut { what: count(n, "swing"), why: why.into() });
        }
    };
    if pairing == Pairing::SameRecording {
        let places: BTreeMap<i64, usize> =
            second.swings.iter().enumerate().map(|(k, s)| (s.swing, k)).collect();
        let both = first.swings.iter().enumerate();
        let pairs: Vec<(usize, usize)> =
            both.filter_map(|(k, s)| Some((k, *places.get(&s.swing)?))).collect();
        leave(first.swings.len() - pairs.len(), "not looked at in both ways");
        return (pairs, left_out);
    }
    let mut places: BTreeMap<(String, String, i64), Vec<usize>> = BTreeMap::new();
    for (k, swing) in second.swings.iter().enumerate() {
        if let Some(key) = key(swing) {
            places.entry(key).or_default().push(k);
        }
    }
    let mut pairs = Vec::new();
    let (mut alone, mut undated, mut many) = (0, 0, 0);
    let mut seen: BTreeMap<(String, String, i64), usize> = BTreeMap::new();
    for key in first.swings.iter().filter_map(key) {
        *seen.entry(key).or_default() += 1;
    }
    for (k, swing) in first.swings.iter().enumerate() {
        let Some(key) = key(swing) else {
            undated += 1;
            continue;
        };
        let twice = seen.get(&key).is_some_and(|n| *n > 1);
        match places.get(&key).map(Vec::as_slice) {
            None => alone += 1,
            Some([other]) if !twice => {
                // A recording is no witness of itself.
                if second.swings.get(*other).is_some_and(|s| s.swing != swing.swing) {
                    pairs.push((k, *other));
                } else {
                    alone += 1;
                }
            }
            Some(_) => many += 1,
        }
    }
    leave(alone, "no recording of the same player, day and number on the other side");
    leave(undated, "their session has no day");
    leave(many, "several recordings have the same player, day and number");
    (pairs, left_out)
}

fn no_pairs(first: &Table, second: &Table, pairing: Pairing) -> String {
    match pairing {
        Pairing::SameRecording => format!(
            "no swing of {} has a plate for each foot: there is nothing to put together as one",
            first.named
        ),
        Pairing::SameSwing => format!(
            "no swing was recorded on both sides ({}; {}): a pair is two recordings of the same player, day and number of the swing",
            first.named, second.named
        ),
    }
}

fn of_measure(
    first: &Table,
    second: &Table,
    a: &Column,
    b: &Column,
    pairs: &[(usize, usize)],
    how: &AgreeHow,
) -> Option<MeasureAgree> {
    // Pairs with both values, player by player.
    let mut players: Vec<(String, Vec<(f64, f64)>)> = Vec::new();
    for (k, l) in pairs.iter().filter(|(k, l)| has(a, *k) && has(b, *l)) {
        let (Some(swing), Some(x), Some(y)) = (first.swings.get(*k), a.values.get(*k), b.values.get(*l))
        else {
            continue;
        };
        match players.last_mut() {
            Some((alias, own)) if *alias == swing.player => own.push((*x, *y)),
            _ => players.push((swing.player.clone(), vec![(*x, *y)])),
        }
    }
    let groups: Vec<Vec<(f64, f64)>> = players.iter().map(|p| p.1.clone()).collect();
    let by_player = groups.len() >= 3;
    let found = if by_player {
        repeated(&groups, how.level)?
    } else {
        let (x, y): (Vec<f64>, Vec<f64>) = groups.concat().into_iter().unzip();
        agreement(&x, &y, how.level)?
    };
    let sem = swing_to_swing(&[(first, a), (second, b)]);
    let dots = players
        .iter()
        .enumerate()
        .flat_map(|(k, (_, own))| {
            own.iter().map(move |(x, y)| Dot { player: k, size: 0.5 * (x + y), difference: x - y })
        })
        .collect();
    let scatter = if found.sd > 0.0 { found.sd } else { f64::NAN };
    Some(MeasureAgree {
        measure: a.measure.id.clone(),
        label: a.measure.label.clone(),
        unit: a.measure.unit.clone(),
        pairs: found.pairs,
        players: groups.len(),
        by_player,
        bias: found.bias.into(),
        sd: found.sd,
        lower: found.lower.into(),
        upper: found.upper.into(),
        largest: found.largest_plausible(),
        sem,
        one_swing: COVERAGE * sem,
        size: size(found.largest_plausible(), COVERAGE * sem, found.sizes),
        sizes: found.sizes,
        bias_trend: trend(&found.bias_trend),
        scatter_trend: trend(&found.scatter_trend),
        at_least: at(&found, found.sizes.0),
        at_most: at(&found, found.sizes.1),
        names: players.into_iter().map(|p| p.0).collect(),
        dots,
        digits: super::span::digits(&a.measure, scatter),
        decimals: a.measure.decimals,
    })
}

/// Scatter of swings about the mean of their session, both sides together; NaN where no session has two.
fn swing_to_swing(sides: &[(&Table, &Column)]) -> f64 {
    let mut groups: BTreeMap<(usize, i64, &str), Vec<f64>> = BTreeMap::new();
    for (side, (table, column)) in sides.iter().enumerate() {
        for (swing, value) in table.swings.iter().zip(&column.values) {
            groups.entry((side, swing.session, swing.club.as_str())).or_default().push(*value);
        }
    }
    let groups: Vec<Vec<f64>> = groups.into_values().collect();
    nested(&groups).map_or(f64::NAN, |of| of.within.sqrt())
}

/// A disagreement beside what one swing scatters by: up to a third of it is small, up to all of it of its size. Ours.
fn size(largest: f64, one_swing: f64, sizes: (f64, f64)) -> Size {
    if largest <= 1e-9 * sizes.0.abs().max(sizes.1.abs()) {
        return Size::Same;
    }
    match largest / one_swing {
        share if share.is_nan() => Size::NotKnown,
        share if share <= 1.0 / 3.0 => Size::Small,
        share if share <= 1.0 => Size::OfTheSize,
        _ => Size::Larger,
    }
}

fn trend(of: &Trend) -> TrendView {
    TrendView { slope: of.slope.into(), intercept: of.intercept, p: of.p }
}

fn at(found: &Agreement, size: f64) -> AtSize {
    let (lower, upper) = found.limits_at(size);
    AtSize { size, lower, upper }
}
