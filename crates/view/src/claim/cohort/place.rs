//! Chosen swings or players, placed in the reference of their stratum.
use super::numbers::{Placed, Standing};
use super::strata::{Key, strata, words};
use super::{CohortHow, Counting, Of, told, units};
use crate::claim::LeftOut;
use crate::claim::span::Span;
use crate::claim::table::{Column, Table};
use crate::quantity::count;
use evidence::cohort::centile::standing;
use evidence::cohort::unusual::unusual;
use evidence::many::{Control, adjusted};
use signal::stats;
use std::collections::BTreeMap;

/// Single swings are placed among single swings: the mean of several scatters less.
pub(super) fn single(placed: Option<&Table>, how: &CohortHow) -> Of {
    let Some(table) = placed else { return Of::Means };
    let mut players: Vec<&str> = table.swings.iter().map(|s| s.player.as_str()).collect();
    players.sort_unstable();
    let one_each = players.windows(2).all(|w| w.first() != w.last());
    if how.each || one_each { Of::Swings } else { Of::Means }
}

/// What is placed together: rows of the table of placed swings.
fn together<'a>(placed: &'a Table, keys: &'a [Option<Key>], how: &CohortHow) -> Vec<(&'a Key, Vec<usize>)> {
    let mut all: BTreeMap<(&str, &Key, i64), Vec<usize>> = BTreeMap::new();
    for (row, (swing, key)) in placed.swings.iter().zip(keys).enumerate() {
        let apart = if how.each { row as i64 } else { 0 };
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
    for (key, rows) in together(placed, &own_keys, how) {
        let swings: Vec<i64> = rows.iter().filter_map(|r| placed.swings.get(*r)).map(|s| s.swing).collect();
        let Some(first) = rows.first().and_then(|r| placed.swings.get(*r)) else { continue };
        let who = match swings.as_slice() {
            [one] => format!("swing {one} of {}", first.player),
            many => format!("{} ({})", first.player, count(many.len(), "swing")),
        };
        // One player's own swings: without those that are placed. Else without the player.
        let others = |row: usize| {
            table.swings.get(row).is_some_and(|s| {
                if counting.own { !swings.contains(&s.swing) } else { s.player != first.player }
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
            let at = standing(&beside, value, how.level);
            let odd = unusual(&beside, value);
            Standing {
                measure: column.measure.id.clone(),
                label: column.measure.label.clone(),
                unit: column.measure.unit.clone(),
                value,
                units: at.n,
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
pub(super) fn left_out(placed: &Table, rows: &[Placed], how: &CohortHow) -> Vec<LeftOut> {
    let (_, without) = strata(placed, &how.by);
    let mut all: Vec<LeftOut> = without
        .into_iter()
        .map(|l| LeftOut { what: format!("to be placed: {}", l.what), why: l.why })
        .collect();
    let alone: usize =
        rows.iter().filter(|p| p.standings.iter().all(|s| s.units == 0)).map(|p| p.swings.len()).sum();
    all.extend(told(alone, "nobody else of their stratum is in the reference"));
    all
}
