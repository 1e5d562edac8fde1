//! Whether one figure goes with another, between players and within them: `underfoot relate`.
mod numbers;
mod said;
mod scatter;
#[cfg(test)]
mod tests;

pub use evidence::many::Control;
pub use numbers::{BetweenView, Found, Pair, Point, Relate, WithinView};

use super::players::{Player, absent, caveats, counted, has, players};
use super::table::{Column, Table};
use super::{Answer, LeftOut, Numbers as _};
use evidence::Spread;
use evidence::association::{Between, Within, between, slopes_differ, within};
use evidence::bootstrap::Bootstrap;
use evidence::many::adjusted;
use evidence::permutation::Permutation;
use signal::{line, stats, student};

/// What is asked. No hidden default.
#[derive(Clone, Debug, PartialEq)]
pub struct RelateHow {
    /// Level of every interval; an association is claimed at 1 − level.
    pub level: f64,
    /// Seed of chance.
    pub seed: u64,
    /// How often players are drawn again.
    pub resamples: usize,
    /// Up to so many orders are gone through; beyond, so many are drawn.
    pub permutations: usize,
    /// Which promise is kept over all that is looked at.
    pub control: Control,
    /// A player's days as one heap: what changes from day to day is then part of *within*.
    pub across_days: bool,
}

/// Whether the first column of a table goes with each of the others.
///
/// Undefined: parts for which there are too few players or swings are absent, and said. Source: docs/evidence/association.md.
pub fn relate(table: &Table, how: &RelateHow, spread: &impl Spread) -> Answer<Relate> {
    let [y, xs @ ..] = table.columns.as_slice() else {
        return answer(table, Vec::new(), Vec::new(), how);
    };
    let mut pairs: Vec<Pair> = xs.iter().map(|x| pair(table, y, x, how, spread)).collect();
    let p: Vec<f64> = pairs
        .iter()
        .flat_map(|pair| [pair.between.as_ref().map(|b| b.p), pair.within.as_ref().map(|w| w.p)])
        .map(|p| p.unwrap_or(f64::NAN))
        .collect();
    let mut adjusted = adjusted(&p, how.control).into_iter();
    for pair in &mut pairs {
        let (outer, inner) = (adjusted.next().unwrap_or(f64::NAN), adjusted.next().unwrap_or(f64::NAN));
        if let Some(part) = &mut pair.between {
            part.p_adjusted = outer;
            part.found = found(outer, part.slope.value, how.level);
        }
        if let Some(part) = &mut pair.within {
            part.p_adjusted = inner;
            part.found = found(inner, part.slope.value, how.level);
        }
    }
    let left_out = pairs
        .iter()
        .filter(|p| p.between.is_none() && p.within.is_none())
        .map(|p| LeftOut {
            what: p.label.clone(),
            why: "too few swings have both figures, or one of them does not vary".into(),
        })
        .collect();
    answer(table, pairs, left_out, how)
}

fn found(p: f64, slope: f64, level: f64) -> Found {
    match (p <= 1.0 - level, slope > 0.0) {
        (true, true) => Found::More,
        (true, false) => Found::Less,
        (false, _) => Found::NotSeen,
    }
}

fn answer(table: &Table, pairs: Vec<Pair>, mut left: Vec<LeftOut>, how: &RelateHow) -> Answer<Relate> {
    let y = table.columns.first();
    let used =
        |row: usize| y.is_some_and(|y| has(y, row)) && table.columns.iter().skip(1).any(|x| has(x, row));
    let counted = counted(table, used);
    let mut left_out = absent(&table.columns, true);
    left_out.append(&mut left);
    let numbers = Relate {
        level: how.level,
        measure: y.map_or(String::new(), |y| y.measure.id.clone()),
        label: y.map_or(String::new(), |y| y.measure.label.clone()),
        unit: y.map_or(String::new(), |y| y.measure.unit.clone()),
        looked_at: pairs
            .iter()
            .map(|p| usize::from(p.between.is_some()) + usize::from(p.within.is_some()))
            .sum(),
        pairs,
    };
    let mut minded = said::caveats(&numbers, &counted, how);
    minded.extend(caveats(table, &table.columns));
    Answer {
        schema: Relate::SCHEMA,
        question: said::question(table, &numbers),
        verdict: said::verdict(&numbers, &counted),
        counted,
        left_out,
        method: said::method(&numbers, how),
        settings: said::settings(how),
        caveats: minded,
        numbers,
    }
}

/// A session (0 for all days) and a club.
type Cell<'a> = (i64, &'a str);

/// Pairs (x, y) of each player's cells: swings of one session with one club, or of all days with one club.
fn cells(
    table: &Table,
    players: &[Player<'_>],
    y: &Column,
    x: &Column,
    across: bool,
) -> Vec<Vec<Vec<(f64, f64)>>> {
    let of = |player: &Player<'_>| {
        let mut cells: Vec<(Cell<'_>, Vec<(f64, f64)>)> = Vec::new();
        for session in &player.sessions {
            for row in &session.rows {
                let club = table.swings.get(*row).map_or("", |s| s.club.as_str());
                let key = (if across { 0 } else { session.number }, club);
                let (Some(a), Some(b)) = (x.values.get(*row), y.values.get(*row)) else { continue };
                match cells.iter_mut().find(|(k, _)| *k == key) {
                    Some((_, pairs)) => pairs.push((*a, *b)),
                    None => cells.push((key, vec![(*a, *b)])),
                }
            }
        }
        cells.into_iter().map(|(_, pairs)| pairs).collect()
    };
    players.iter().map(of).collect()
}

fn pair(table: &Table, y: &Column, x: &Column, how: &RelateHow, spread: &impl Spread) -> Pair {
    let players = players(table, |row| has(x, row) && has(y, row));
    let cells = cells(table, &players, y, x, how.across_days);
    let whole: Vec<Vec<(f64, f64)>> = cells.iter().map(|c| c.concat()).collect();
    let bootstrap = Bootstrap { resamples: how.resamples, seed: how.seed, level: how.level };
    let permutation = Permutation { most: how.permutations, seed: how.seed };
    let outer = between(&whole, &bootstrap, &permutation, spread);
    let inner = within(&cells, &bootstrap, spread);
    let apart = match (&outer, &inner) {
        (Some(o), Some(i)) => Some(
            slopes_differ(
                (o.slope.value, o.slope_error, o.linear.degrees),
                (i.slope.value, i.slope_error, i.degrees),
                how.level,
            )
            .into(),
        ),
        _ => None,
    };
    let points = points(&players, &whole, &cells);
    let xs: Vec<f64> = whole.iter().flatten().map(|p| p.0).collect();
    let means: Vec<f64> = points.iter().map(|p| p.x).collect();
    let scatter =
        if means.len() > 3 { stats::standard_deviation(&means) } else { stats::standard_deviation(&xs) };
    Pair {
        measure: x.measure.id.clone(),
        label: x.measure.label.clone(),
        unit: x.measure.unit.clone(),
        step: step(scatter),
        between: outer.as_ref().map(|b| between_view(b, how)),
        within: inner.as_ref().map(within_view),
        slopes_differ: apart,
        points,
        x_values: xs,
        y_values: whole.iter().flatten().map(|p| p.1).collect(),
        x_digits: x.measure.decimals,
        y_digits: y.measure.decimals,
    }
}

/// A round amount of x, about as large as its scatter: slopes are told for it.
fn step(scatter: f64) -> f64 {
    if !(scatter > 0.0 && scatter.is_finite()) {
        return 1.0;
    }
    let power = signal::math::log10(scatter).round();
    signal::math::powf(10.0, power)
}

fn between_view(of: &Between, how: &RelateHow) -> BetweenView {
    // A correlation that would just have been seen.
    let t = student::quantile(0.5 * (1.0 + how.level), of.linear.degrees);
    BetweenView {
        players: of.subjects,
        r: of.linear.r.into(),
        rank: of.rank.r.into(),
        p: of.linear.p,
        p_rank: of.rank.p,
        p_rank_exact: of.permuted.exact,
        p_adjusted: f64::NAN,
        slope: of.slope.into(),
        slope_again: of.slope_again.into(),
        intercept: of.intercept,
        least_seen: t / (t * t + of.linear.degrees).sqrt(),
        found: Found::NotSeen,
    }
}

fn within_view(of: &Within) -> WithinView {
    WithinView {
        players: of.subjects,
        cells: of.occasions,
        swings: of.pairs,
        r: of.linear.r.into(),
        degrees: of.linear.degrees,
        p: of.p,
        p_of_swings: of.linear.p,
        p_adjusted: f64::NAN,
        slope: of.slope.into(),
        slope_of_swings: of.slope_of_pairs.into(),
        slope_again: of.slope_again.into(),
        rising: of.rising.0,
        sloped: of.rising.1,
        found: Found::NotSeen,
    }
}

/// A player's means and own line.
fn points(players: &[Player<'_>], whole: &[Vec<(f64, f64)>], cells: &[Vec<Vec<(f64, f64)>>]) -> Vec<Point> {
    let mean = |of: &[f64]| stats::mean(of);
    players
        .iter()
        .zip(whole)
        .zip(cells)
        .map(|((player, pairs), cells)| {
            let (x, y): (Vec<f64>, Vec<f64>) = pairs.iter().copied().unzip();
            // Swings about the means of their cells.
            let moved = cells.iter().flat_map(|cell| {
                let n = cell.len() as f64;
                let (mx, my) =
                    (cell.iter().map(|p| p.0).sum::<f64>() / n, cell.iter().map(|p| p.1).sum::<f64>() / n);
                cell.iter().map(move |(a, b)| (a - mx, b - my))
            });
            let moved: Vec<(f64, f64)> = moved.collect();
            let own = line::fit(moved.iter().copied()).map_or(f64::NAN, |l| l.slope);
            Point {
                player: player.alias.to_string(),
                swings: pairs.len(),
                x: mean(&x),
                y: mean(&y),
                slope: if pairs.len() > 2 { own } else { f64::NAN },
                x_scatter: stats::standard_deviation(&x),
            }
        })
        .collect()
}
