//! Where players and swings stand among others: `underfoot cohort`. The rules are written out in docs/evidence/cohort.md.
mod curve;
mod numbers;
mod place;
mod said;
mod strata;
#[cfg(test)]
mod tests;
pub(in crate::claim) mod way;

pub use curve::{BandOf, CurveCohort, CurveHow, CurvePlaced, cohort_curve};
pub use numbers::{Centile, Cohort, MeasureCohort, Placed, Standing, StratumRow};
pub use strata::{By, HANDICAPS};
pub use way::Ends;

use super::players::{absent, caveats, counted, has};
use super::span::digits;
use super::table::{Column, Table};
use super::{Answer, LeftOut, Numbers as _};
use crate::quantity::count;
use evidence::Spread;
use evidence::bootstrap::Bootstrap;
use evidence::cohort::centile::{self, needed};
use signal::stats;
use std::collections::{BTreeMap, BTreeSet};
use strata::{Key, strata, words};

/// Centiles that are shown, per cent.
pub const SHOWN: [u8; 7] = [5, 10, 25, 50, 75, 90, 95];

/// What a reference is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Of {
    /// The mean of each player's swings.
    Means,
    /// Single swings, every player counting the same.
    Swings,
}

/// What is asked. No hidden default.
#[derive(Clone, Debug, PartialEq)]
pub struct CohortHow {
    /// What swings are set apart by.
    pub by: Vec<By>,
    /// What the reference is made of; `None`: single swings where single swings are placed, else means.
    pub of: Option<Of>,
    /// Place every swing by itself, not a player's together.
    pub each: bool,
    /// A column that is there to set swings apart, and is not asked about.
    pub aside: Option<String>,
    /// Level of every interval, 0.95 for instance.
    pub level: f64,
    /// Probability of chance under which something is called unusual.
    pub alpha: f64,
    /// How often players are drawn anew for the intervals of single swings.
    pub resamples: usize,
    /// Seed of chance.
    pub seed: u64,
}

/// The units of each stratum: of each how many swings it has, and its values. A unit is a player, or a swing where the reference is one
/// player's own.
type Units<'a> = BTreeMap<&'a Key, Vec<(usize, Vec<f64>)>>;

/// How a reference is counted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Counting {
    /// What it is made of.
    pub of: Of,
    /// True where all swings, those to be placed as well, are of one player: then every swing counts by itself.
    pub own: bool,
    /// Probability of chance under which something is called unusual.
    pub alpha: f64,
}

/// Fewer other players are no cohort: nobody is placed among them. Source: common practice, no source.
const LEAST_OTHERS: usize = 3;

/// Reference values by stratum, and where some swings or players stand in them.
///
/// `placed`: swings to be placed, with the same columns; their players (where the reference is one player's own: they
/// themselves) are left out of the reference that they are placed in. Source: docs/evidence/cohort.md.
pub fn cohort(
    table: &Table,
    placed: Option<&Table>,
    how: &CohortHow,
    spread: &impl Spread,
) -> Answer<Cohort> {
    let (keys, mut left_out) = strata(table, &how.by);
    let players: BTreeSet<&str> = table.swings.iter().map(|s| s.player.as_str()).collect();
    let counting = Counting {
        of: how.of.unwrap_or_else(|| place::single(placed, how)),
        own: players.len() == 1
            && placed.is_none_or(|p| p.swings.iter().all(|s| players.contains(s.player.as_str()))),
        alpha: how.alpha,
    };
    let shown: Vec<&Column> =
        table.columns.iter().filter(|c| how.aside.as_ref() != Some(&c.measure.id)).collect();
    let measures: Vec<MeasureCohort> =
        shown.iter().map(|column| of_column(table, column, &keys, counting, how, spread)).collect();
    let placed_rows = placed.map_or(Vec::new(), |p| place::place(table, p, &keys, &shown, counting, how));
    let used = |row: usize| keys.get(row).is_some_and(Option::is_some) && shown.iter().any(|c| has(c, row));
    let others = placed.and_then(|p| place::no_others(table, p, counting));
    let counted = counted(table, used);
    let owned: Vec<Column> = shown.iter().map(|c| (*c).clone()).collect();
    left_out.extend(absent(&owned, owned.len() > 1));
    if let Some(p) = placed {
        left_out.extend(place::left_out(p, &placed_rows, counting, how));
    }
    let numbers = Cohort {
        level: how.level,
        of: if counting.of == Of::Means && !counting.own { "means of players" } else { "single swings" },
        unit: if counting.own { "swing" } else { "player" },
        looked_at: placed_rows.iter().flat_map(|p| &p.standings).filter(|s| !s.p.is_nan()).count(),
        measures,
        placed: placed_rows,
    };
    let mut minded = said::caveats(&numbers, counting);
    minded.extend(caveats(&apart(table, &how.by), &owned));
    Answer {
        schema: Cohort::SCHEMA,
        question: said::question(table, &numbers, placed, how),
        verdict: others.unwrap_or_else(|| said::verdict(&numbers, counting)),
        counted,
        left_out,
        method: said::method(&numbers, counting),
        settings: said::settings(&numbers, how),
        caveats: minded,
        numbers,
    }
}

/// The table as if what sets strata apart were alike: within a stratum it is.
fn apart(table: &Table, by: &[By]) -> Table {
    let mut alike = table.clone();
    for swing in &mut alike.swings {
        for b in by {
            match b {
                By::Club => swing.club.clear(),
                By::Plates => swing.feet = Some(2),
                _ => {}
            }
        }
    }
    alike
}

/// The units of a column: rows that `keep` accepts.
fn units<'a>(
    table: &Table,
    column: &Column,
    keys: &'a [Option<Key>],
    counting: Counting,
    keep: impl Fn(usize) -> bool,
) -> Units<'a> {
    let mut all: BTreeMap<&Key, BTreeMap<&str, Vec<f64>>> = BTreeMap::new();
    let rows = table.swings.iter().zip(keys).zip(&column.values).enumerate();
    for (row, ((swing, key), value)) in rows.filter(|(row, (_, v))| v.is_finite() && keep(*row)) {
        if let Some(key) = key {
            let _ = row;
            all.entry(key).or_default().entry(&swing.player).or_default().push(*value);
        }
    }
    let of_player = |values: Vec<f64>| -> Vec<(usize, Vec<f64>)> {
        if counting.own {
            return values.into_iter().map(|v| (1, vec![v])).collect();
        }
        let swings = values.len();
        match counting.of {
            Of::Means => vec![(swings, vec![stats::mean(&values)])],
            Of::Swings => vec![(swings, values)],
        }
    };
    all.into_iter().map(|(k, players)| (k, players.into_values().flat_map(of_player).collect())).collect()
}

fn of_column(
    table: &Table,
    column: &Column,
    keys: &[Option<Key>],
    counting: Counting,
    how: &CohortHow,
    spread: &impl Spread,
) -> MeasureCohort {
    let reference = units(table, column, keys, counting, |_| true);
    let shares = SHOWN.map(|p| f64::from(p) / 100.0);
    let row = |(key, units): (&&Key, &Vec<(usize, Vec<f64>)>)| {
        let values: Vec<Vec<f64>> = units.iter().map(|(_, v)| v.clone()).collect();
        let single: Vec<f64> = values.iter().map(|v| stats::mean(v)).collect();
        let repeats = values.iter().any(|v| v.len() > 1);
        let centiles = if repeats {
            let draws = Bootstrap { resamples: how.resamples, seed: how.seed, level: how.level };
            centile::of_repeats(&values, &shares, &draws, spread)
        } else {
            centile::centiles(&single, &shares, how.level)
        };
        StratumRow {
            stratum: words(key),
            units: units.len(),
            swings: units.iter().map(|(n, _)| n).sum(),
            mean: stats::mean(&single),
            sd: stats::standard_deviation(&values.concat()),
            centiles: SHOWN
                .iter()
                .zip(&centiles)
                .map(|(percent, c)| Centile {
                    percent: *percent,
                    at: c.at.into(),
                    needs: needed(c.share, how.level).unwrap_or(0),
                })
                .collect(),
        }
    };
    let rows: Vec<StratumRow> = reference.iter().map(row).collect();
    let scatter: Vec<f64> = rows.iter().map(|r| r.sd).filter(|s| *s > 0.0).collect();
    let smallest = scatter.iter().copied().fold(f64::NAN, f64::min);
    MeasureCohort {
        measure: column.measure.id.clone(),
        label: column.measure.label.clone(),
        unit: column.measure.unit.clone(),
        rows,
        digits: digits(&column.measure, smallest),
        signed: column.measure.signed,
    }
}

/// "3 swings are of no stratum" and the like, for swings that were to be placed.
fn told(n: usize, why: &str) -> Option<LeftOut> {
    (n > 0).then(|| LeftOut { what: format!("{} to be placed", count(n, "swing")), why: why.into() })
}
