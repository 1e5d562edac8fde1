//! Chosen swings or players, placed in the reference of their stratum.
use super::numbers::{Placed, Standing};
use super::strata::{Key, strata, words};
use super::{CohortHow, Counting, LEAST_OTHERS, Of, said, told, units};
use crate::claim::LeftOut;
use crate::claim::span::Span;
use crate::claim::table::{Column, Table};
use crate::quantity::count;
use evidence::cohort::centile::standing;
use evidence::cohort::unusual::unusual;
use evidence::many::{Control, adjusted};
use signal::stats;
use std::collections::{BTreeMap, BTreeSet};

/// Single swings are placed among single swings: the mean of several scatters less.
pub(super) fn single(placed: Option<&Table>, how: &CohortHow) -> Of {
    let Some(table) = placed else { return Of::Means };
    let mut players: Vec<&str> = table.swings.iter().map(|s| s.player.as_str()).collect();
    players.sort_unstable();
    let one_each = players.windows(2).all(|w| w.first() != w.last());
    if how.each || one_each { Of::Swings } else { Of::Means }
}

/// Why there is nobody to be placed among: a reference of one other player, or one whose swings are all to be placed.
pub(super) fn no_others(table: &Table, placed: &Table, counting: Counting) -> Option<String> {
    let players: BTreeSet<&str> = table.swings.iter().map(|s| s.player.as_str()).collect();
    let chosen: BTreeSet<i64> = placed.swings.iter().map(|s| s.swing).collect();
    let swings = table.swings.len();
    match (players.first(), players.len()) {
        (Some(alone), 1) if !counting.own => Some(said::alone(alone)),
        (Some(_), _) if counting.own && table.swings.iter().all(|s| chosen.contains(&s.swing)) => {
            Some(said::all_placed(swings))
        }
        _ => None,
    }
}

/// What is placed together: rows of the table of placed swings. Among single swings of one player a mean has no place: there
/// each swing is placed by itself.
fn together<'a>(placed: &'a Table, keys: &'a [Option<Key>], each: bool) -> Vec<(&'a Key, Vec<usize>)> {
    let mut all: BTreeMap<(&str, &Key, i64), Vec<usize>> = BTreeMap::new();
    for (row, (swing, key)) in placed.swings.iter().zip(keys).enumerate() {
        let apart = if each { row as i64 } else { 0 };
        if let Some(key) = key {
            all.entry((&swing.player, key, apart)).or_default().push(row);
        }
    }
    all.into_iter().map(|((_, key, _), rows)| (key, rows)).collect()
}

/// Where each of the placed stands, measure by measure.
pub(super) fn place(
    table: &Table,
    placed: &Table,
    keys: &[Option<Key>],
    shown: &[&Column],
    counting: Counting,
    how: &CohortHow,
) -> Vec<Placed> {
    let (own_keys, _) = strata(placed, &how.by);
    let mut all: Vec<Placed> = Vec::new();
    let chosen: BTreeSet<i64> = placed.swings.iter().map(|s| s.swing).collect();
    for (key, rows) in together(placed, &own_keys, how.each || counting.own) {
        let swings: Vec<i64> = rows.iter().filter_map(|r| placed.swings.get(*r)).map(|s| s.swing).collect();
        let Some(first) = rows.first().and_then(|r| placed.swings.get(*r)) else { continue };
        let who = match swings.as_slice() {
            [one] => format!("swing {one} of {}", first.player),
            many => format!("{} ({})", first.player, count(many.len(), "swing")),
        };
        // One player's own swings: without all that are placed. Else without the player.
        let others = |row: usize| {
            table.swings.get(row).is_some_and(|s| {
                if counting.own { !chosen.contains(&s.swing) } else { s.player != first.player }
            })
        };
        let of = |column: &&Column| {
            let mine = placed.columns.iter().find(|c| c.measure.id == column.measure.id);
            let values: Vec<f64> =
                rows.iter().filter_map(|r| mine?.values.get(*r).copied()).filter(|v| v.is_finite()).collect();
            let value = stats::mean(&values);
            let reference = units(table, column, keys, counting, others);
            let beside: Vec<Vec<f64>> =
                reference.get(key).map_or(Vec::new(), |u| u.iter().map(|(_, v)| v.clone()).collect());
            let enough = counting.own || beside.len() >= LEAST_OTHERS;
            let among: &[Vec<f64>] = if enough { &beside } else { &[] };
            let at = standing(among, value, how.level);
            let odd = unusual(among, value);
            Standing {
                measure: column.measure.id.clone(),
                label: column.measure.label.clone(),
                unit: column.measure.unit.clone(),
                value,
                units: beside.len(),
                percent: Span::from(at.share).times(100.0),
                all_below: at.n > 0 && at.at_or_above == 0.0,
                all_above: at.n > 0 && at.at_or_below == 0.0,
                t: odd.t,
                p: odd.p,
                p_adjusted: f64::NAN,
                by_rank: odd.by_rank,
                least_by_rank: odd.least,
                unusual: false,
                found: odd,
            }
        };
        let standings = shown.iter().map(of).collect();
        all.push(Placed { who, player: first.player.clone(), swings, stratum: words(key), standings });
    }
    judge(&mut all, how.alpha);
    all
}

/// Holm's rule over everything that was looked at.
fn judge(all: &mut [Placed], alpha: f64) {
    let p: Vec<f64> = all.iter().flat_map(|placed| placed.standings.iter().map(|s| s.p)).collect();
    let held = adjusted(&p, Control::Holm);
    for (s, p) in all.iter_mut().flat_map(|placed| &mut placed.standings).zip(held) {
        s.p_adjusted = p;
        s.unusual = s.found.is_so(p, alpha);
    }
}

/// Swings that could not be placed, and why.
pub(super) fn left_out(placed: &Table, rows: &[Placed], counting: Counting, how: &CohortHow) -> Vec<LeftOut> {
    let (_, without) = strata(placed, &how.by);
    let mut all: Vec<LeftOut> = without
        .into_iter()
        .map(|l| LeftOut { what: format!("to be placed: {}", l.what), why: l.why })
        .collect();
    let (least, why) = if counting.own {
        (1, "no other swing of their stratum is in the reference")
    } else {
        (LEAST_OTHERS, "fewer than 3 other players of their stratum are in the reference")
    };
    let alone: usize =
        rows.iter().filter(|p| p.standings.iter().all(|s| s.units < least)).map(|p| p.swings.len()).sum();
    all.extend(told(alone, why));
    all
}
