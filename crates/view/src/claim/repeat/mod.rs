//! How far a player's figure wanders by itself: `underfoot repeat`.
mod numbers;
mod precision;
mod said;
#[cfg(test)]
mod tests;

pub use numbers::{DayMost, Enough, FormRow, Forms, MeanRow, MeasureRepeat, Repeat, Row, Unlike};
pub use precision::Precision;
pub(super) use said::capital;

use super::players::{Player, absent, caveats, counted, has, has_true_zero, players, values};
use super::span::Span;
use super::table::{Column, Table};
use super::{Answer, LeftOut, Numbers as _};
use crate::quantity::count;
use evidence::Spread;
use evidence::repeatability::{
    Form, Levels, Means, Redrawn, Unlike as UnlikeScatter, crossed, icc, levels, nested,
};
use signal::stats;

/// What is asked. No hidden default.
#[derive(Clone, Debug, PartialEq)]
pub struct RepeatHow {
    /// Level of every interval, 0.95 for instance.
    pub level: f64,
    /// Seed of chance.
    pub seed: u64,
    /// How often mean squares are redrawn for the interval of an intraclass correlation.
    pub draws: usize,
    /// Rows of players or sessions beside what holds for all.
    pub by: By,
    /// All six forms of the intraclass correlation.
    pub forms: bool,
    /// How near a mean is to come.
    pub precision: Option<Precision>,
}

/// What has a row of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// Nothing.
    All,
    /// Every player.
    Player,
    /// Every session.
    Session,
}

/// Numbers of swings for which the error of a mean is shown.
pub const SHOWN: [usize; 6] = [1, 2, 3, 5, 10, 20];

/// How far figures wander by themselves, for every measure of a table.
///
/// Measures that no session has two values of are left out, and said. Source: docs/evidence/repeatability.md.
pub fn repeat(table: &Table, how: &RepeatHow, spread: &impl Spread) -> Answer<Repeat> {
    let found = spread
        .each(table.columns.len(), |k| table.columns.get(k).and_then(|column| of_column(table, column, how)));
    let measures: Vec<MeasureRepeat> = found.iter().flatten().cloned().collect();
    let mut left_out = absent(&table.columns, table.columns.len() > 1);
    for (column, _) in table.columns.iter().zip(&found).filter(|(_, found)| found.is_none()) {
        left_out.push(LeftOut {
            what: column.measure.label.clone(),
            why: "no session has two swings with a value".into(),
        });
    }
    let used = |row: usize| table.columns.iter().any(|c| has(c, row));
    let counted = counted(table, used);
    let mut minded = said::caveats(&measures, &counted, how);
    minded.extend(caveats(table, &table.columns));
    Answer {
        schema: Repeat::SCHEMA,
        question: said::question(table, &measures),
        verdict: said::verdict(&measures, &counted, how),
        counted,
        left_out,
        method: said::method(&measures, how),
        settings: said::settings(how),
        caveats: minded,
        numbers: Repeat { level: how.level, measures },
    }
}

fn of_column(table: &Table, column: &Column, how: &RepeatHow) -> Option<MeasureRepeat> {
    let players = players(table, |row| has(column, row));
    let data = values(&players, column);
    let of = levels(&data)?;
    let level = how.level;
    let sizes: Vec<f64> = data.iter().flatten().map(|s| s.len() as f64).collect();
    let usual = (stats::median(&sizes, &mut Vec::new()) as usize).max(1);
    let pooled: Vec<Vec<f64>> = data.iter().map(|s| s.concat()).collect();
    let one_way = nested(&pooled).map_or(evidence::Interval::NONE, |n| n.icc(level));
    let several = of.subjects > 1;
    let known = of.knows_occasions();
    let redrawn = Redrawn { draws: how.draws, seed: how.seed, level };
    let (day, between) = (of.between_occasions(level), of.between_subjects(level));
    let variation = of.variation(level);
    let true_zero = has_true_zero(column);
    Some(MeasureRepeat {
        measure: column.measure.id.clone(),
        label: column.measure.label.clone(),
        unit: column.measure.unit.clone(),
        players: of.subjects,
        sessions: of.occasions,
        swings: of.values,
        mean: of.mean,
        sem: of.repeats(level).sd.into(),
        degrees: of.repeat.degrees,
        day: known.then(|| day.sd.into()),
        day_is_cut: known && day.is_cut(),
        day_most: day_most(&players, &data),
        between: several.then(|| between.sd.into()),
        between_is_cut: several && between.is_cut(),
        icc: several.then(|| if known { of.icc(&redrawn) } else { one_way }.into()),
        icc_one_way: several.then(|| one_way.into()),
        cv_percent: (true_zero && !variation.value.is_nan()).then(|| Span::from(variation).times(100.0)),
        no_cv: if !true_zero {
            Some("0 does not mean that there is nothing of it")
        } else if variation.value.is_nan() {
            Some("values lie on both sides of 0, or near it")
        } else {
            None
        },
        means: SHOWN.iter().map(|n| mean_row(&of, *n, level)).collect(),
        usual: mean_row(&of, usual, level),
        unlike: UnlikeScatter::of(&data).and_then(|found| unlike(&players, &data, found)),
        enough: how.precision.as_ref().and_then(|p| enough(&of, p.of(&column.measure)?, usual, level)),
        fits: how.precision.as_ref().is_some_and(|p| p.of(&column.measure).is_some()),
        forms: (how.forms && several).then(|| forms(&pooled, level)).flatten(),
        rows: rows(&players, &data, how),
        digits: super::span::digits(&column.measure, of.repeat.value.sqrt()),
        signed: column.measure.signed,
    })
}

fn mean_row(of: &Levels, swings: usize, level: f64) -> MeanRow {
    let apart = |one_occasion: bool| -> Span {
        of.detectable(Means { first: swings, second: swings, one_occasion }, level).into()
    };
    let known = of.knows_occasions();
    MeanRow {
        swings,
        error_that_day: of.error_on_occasion(swings, level).into(),
        error_any_day: known.then(|| of.error_of_mean(swings, level).into()),
        change_one_day: apart(true),
        change_two_days: known.then(|| apart(false)),
    }
}

/// How many swings bring the mean to `wanted` or nearer, half the width of its interval.
fn enough(of: &Levels, wanted: f64, usual: usize, level: f64) -> Option<Enough> {
    use evidence::repeatability::repeats_for;
    let z = signal::student::quantile(0.5 * (1.0 + level), f64::INFINITY);
    let error = wanted / z;
    let (sem, day) = (of.repeats(level).sd, of.between_occasions(level).sd);
    // What days add stays; swings must bring the rest.
    let rest = (error * error - day.value * day.value).max(0.0).sqrt();
    let with_days = of.knows_occasions();
    let session = of.error_of_mean(usual, level).value;
    Some(Enough {
        precision: wanted,
        that_day: repeats_for(sem.value, error)?,
        that_day_low: repeats_for(sem.low, error)?,
        that_day_high: repeats_for(sem.high, error)?,
        any_day: if with_days { repeats_for(sem.value, rest) } else { None },
        days_known: with_days,
        sessions: if with_days { repeats_for(session, error) } else { None },
        swings_a_session: usual,
    })
}

/// Who moves most from day to day, where it is more than all others together.
fn day_most(players: &[Player<'_>], data: &[Vec<Vec<f64>>]) -> Option<DayMost> {
    let own: Vec<(usize, f64)> = data
        .iter()
        .enumerate()
        .filter(|(_, sessions)| sessions.len() > 1)
        .filter_map(|(k, sessions)| {
            let of = levels(std::slice::from_ref(sessions))?.occasion;
            Some((k, of.value * of.degrees))
        })
        .collect();
    let (most, squares) = own.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1))?;
    let share = squares / own.iter().map(|o| o.1).sum::<f64>();
    if own.len() < 3 || share <= 0.5 {
        return None;
    }
    let others: Vec<Vec<Vec<f64>>> =
        data.iter().enumerate().filter(|(k, _)| *k != most).map(|(_, d)| d.clone()).collect();
    let without = levels(&others)?.between_occasions(0.95).sd.value;
    Some(DayMost { player: players.get(most)?.alias.to_string(), share, without })
}

/// Who scatters least and most, where players scatter unlike.
fn unlike(players: &[Player<'_>], data: &[Vec<Vec<f64>>], found: UnlikeScatter) -> Option<Unlike> {
    let mut own: Vec<(String, f64)> = players
        .iter()
        .zip(data)
        .filter_map(|(p, sessions)| {
            let of = levels(std::slice::from_ref(sessions))?;
            (of.repeat.degrees >= 2.0).then(|| (p.alias.to_string(), of.repeat.value.sqrt()))
        })
        .collect();
    own.sort_by(|a, b| a.1.total_cmp(&b.1));
    let (least, most) = (own.first()?.clone(), own.last()?.clone());
    Some(Unlike {
        f: found.f,
        p: found.p,
        least: least.0,
        least_sem: least.1,
        most: most.0,
        most_sem: most.1,
    })
}

/// The six coefficients of the first swings of every player, as many as all have.
fn forms(pooled: &[Vec<f64>], level: f64) -> Option<Forms> {
    let with: Vec<&Vec<f64>> = pooled.iter().filter(|p| p.len() > 1).collect();
    let k = with.iter().map(|p| p.len()).min()?;
    let rows: Vec<Vec<f64>> = with.iter().map(|p| p.iter().take(k).copied().collect()).collect();
    let of = crossed(&rows)?;
    let rows = Form::ALL
        .map(|form| FormRow {
            shrout_fleiss: form.names().0,
            mcgraw_wong: form.names().1,
            icc: icc(&of, form, level).into(),
        })
        .to_vec();
    Some(Forms { swings: k, players: of.n, left_out: pooled.len() - with.len(), rows })
}

fn rows(players: &[Player<'_>], data: &[Vec<Vec<f64>>], how: &RepeatHow) -> Vec<Row> {
    let row = |player: &Player<'_>, session: Option<usize>, sessions: &[Vec<f64>]| {
        let of = levels(&[sessions.to_vec()]);
        let swings = sessions.iter().map(Vec::len).sum();
        let at = session.and_then(|k| player.sessions.get(k));
        Row {
            player: player.alias.to_string(),
            session: at.map(|s| s.number),
            date: at.and_then(|s| s.date.map(str::to_string)),
            sessions: sessions.len(),
            swings,
            mean: stats::mean(&sessions.concat()),
            sem: of.map_or(Span::NONE, |of| of.repeats(how.level).sd.into()),
            cv_percent: of.map_or(f64::NAN, |of| 100.0 * of.variation(how.level).value),
            change_one_day: of.map_or(Span::NONE, |of| {
                of.detectable(Means { first: 1, second: 1, one_occasion: true }, how.level).into()
            }),
        }
    };
    match how.by {
        By::All => Vec::new(),
        By::Player => players.iter().zip(data).map(|(p, d)| row(p, None, d)).collect(),
        By::Session => players
            .iter()
            .zip(data)
            .flat_map(|(p, d)| {
                d.iter()
                    .enumerate()
                    .map(|(k, s)| row(p, Some(k), std::slice::from_ref(s)))
                    .collect::<Vec<_>>()
            })
            .collect(),
    }
}

/// "12 swings", as a table has it.
fn rests(of: &MeasureRepeat) -> String {
    format!(
        "{} · {} · {}",
        count(of.players, "player"),
        count(of.sessions, "session"),
        count(of.swings, "swing")
    )
}
