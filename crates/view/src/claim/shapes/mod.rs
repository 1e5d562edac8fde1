//! Are there kinds of swings? Groups of whole curves: `underfoot shapes`. The rules are written out in docs/evidence/cohort.md.
mod features;
mod numbers;
mod said;
#[cfg(test)]
pub(in crate::claim) mod tests;

pub use features::PeakOf;
pub use numbers::{CriterionOf, FarthestOf, GroupOf, MemberOf, Shapes};

use super::cohort::Ends;
use super::cohort::way::{Alike, PlayersCurves, alike, by_player, caveats, counted, settings};
use super::curves::{AccountOf, NoCurves};
use super::table::Traces;
use super::{Answer, LeftOut, Numbers as _, Setting};
use crate::quantity::count;
use evidence::Spread;
use evidence::cohort::components::{Components, components};
use evidence::cohort::groups::{Grouping, Groups, Outcome, groups};
use evidence::cohort::k_means::nearest;
use signal::stats;

/// What is asked. No hidden default.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShapesHow {
    /// Between which events.
    pub ends: Ends,
    /// Let the level and the size of curves count too, not their shape alone.
    pub with_size: bool,
    /// Up to so many groups.
    pub most: usize,
    /// The mean adjusted Rand index from which groups are reported.
    pub stable: f64,
    /// Even clouds that groups and the valleys between them are held against.
    pub references: usize,
    /// How often players are drawn anew.
    pub resamples: usize,
    /// Seed of chance.
    pub seed: u64,
}

/// Share of what varies that the components must hold. Source: common practice, no source.
const HELD: f64 = 0.95;

/// Members that a group has at least. Source: ours.
const LEAST: usize = 3;

/// Random beginnings of a search for groups. Source: common practice, no source.
const STARTS: usize = 10;

/// Who is grouped.
struct Unit {
    name: String,
    swings: Vec<i64>,
    /// In the account's unit.
    curve: Vec<f64>,
    /// A curve a swing, where the unit is a player.
    own: Vec<Vec<f64>>,
}

/// Groups of curves, or why there are none.
///
/// Errors: as `underfoot curves` has them.
pub fn shapes(traces: &Traces, how: &ShapesHow, spread: &impl Spread) -> Result<Answer<Shapes>, NoCurves> {
    let sets = std::slice::from_ref(traces);
    let of = alike(sets, &how.ends)?;
    let Some(reference) = of.cut.sets.first() else {
        return Err(NoCurves { what: "no choice of swings".into(), remedy: String::new() });
    };
    let players = by_player(&reference.curves);
    let own = players.len() == 1;
    let mut units: Vec<Unit> =
        if own { swings_of(players) } else { players.into_iter().map(player).collect() };
    let all = units.len();
    // What is scaled, and so what is compared, lacks nothing of what it is scaled by.
    units.retain(|u| scaled(&u.curve, how).is_some());
    let mut left_out = of.left_out.clone();
    left_out.extend(traces.absent.clone());
    if units.len() < all {
        let noun = if own { "swing" } else { "player" };
        left_out.push(LeftOut {
            what: count(all - units.len(), noun),
            why: "the curve is level throughout".into(),
        });
    }
    let rows: Vec<Vec<f64>> = units.iter().filter_map(|u| scaled(&u.curve, how)).collect();
    let at: Vec<f64> = of.shown.percent.iter().map(|p| p / 100.0).collect();
    let found = components(&rows, &at);
    let few = found.as_ref().map_or(0, |c| c.leading(HELD));
    let scores: Vec<Vec<f64>> =
        found.iter().flat_map(|c| &c.scores).map(|s| s.iter().take(few).copied().collect()).collect();
    let grouping = Grouping {
        most: how.most,
        least: LEAST,
        references: how.references,
        starts: STARTS,
        resamples: how.resamples,
        alpha: 0.05,
        stable: how.stable,
        seed: how.seed,
    };
    let grouped = groups(&scores, &grouping, spread);
    let parts = match grouped.outcome {
        Outcome::Groups => grouped.labels.iter().flatten().max().map_or(0, |most| most + 1),
        Outcome::One => 1,
        Outcome::TooFew | Outcome::Unstable => 0,
    };
    let label = |k: usize| match grouped.outcome {
        Outcome::One => (!grouped.aside.contains(&k)).then_some(0),
        _ => grouped.labels.get(k).copied().flatten(),
    };
    let labels: Vec<Option<usize>> = (0..units.len()).map(label).collect();
    let alike_swings = found.as_ref().map(|c| own_swings(&units, &labels, parts, c, few, how));
    let of_group = |g: usize| group(g, &units, &labels, &grouped, alike_swings.as_deref(), &of, how);
    let mut told: Vec<GroupOf> = (0..parts).map(of_group).collect();
    features::words(&mut told, traces.account.id, &of.way);
    let numbers = Shapes {
        account: AccountOf {
            id: traces.account.id,
            label: traces.account.label,
            unit: traces.unit.clone(),
            point: traces.account.id.starts_with("turn").then(|| traces.point.clone()),
        },
        unit: if own { "swing" } else { "player" },
        units: units.len(),
        compared: if how.with_size { "curves as they are" } else { "shape alone" },
        outcome: match grouped.outcome {
            Outcome::TooFew => "cannot be told",
            Outcome::One => "one group",
            Outcome::Unstable => "no stable groups",
            Outcome::Groups => "groups",
        },
        chosen: grouped.chosen,
        apart: grouped.apart,
        valley_p: grouped.valley,
        agreement: grouped.agreement,
        stable_from: how.stable,
        components_percent: found
            .as_ref()
            .map_or(Vec::new(), |c| c.variances.iter().take(few).map(|v| 100.0 * v / c.total).collect()),
        criteria: grouped.criteria.iter().map(CriterionOf::from).collect(),
        farthest: farthest(&told, &units, &labels, &of),
        groups: told,
        aside: grouped.aside.iter().filter_map(|k| units.get(*k)).map(|u| u.name.clone()).collect(),
        digits: digits(&units),
        way: of.shown.clone(),
    };
    let mut minded = said::caveats(&numbers);
    minded.extend(caveats(&of, &how.ends));
    let mut chosen = said::settings(how);
    chosen.extend(settings(&of, &how.ends));
    Ok(Answer {
        schema: Shapes::SCHEMA,
        question: said::question(traces, &numbers),
        verdict: said::verdict(&numbers),
        counted: counted(&reference.curves),
        left_out,
        method: said::method(&numbers),
        settings: chosen,
        caveats: minded,
        numbers,
    })
}

fn player(of: PlayersCurves) -> Unit {
    Unit { curve: of.mean(), name: of.alias, swings: of.swings, own: of.curves }
}

fn swings_of(players: Vec<PlayersCurves>) -> Vec<Unit> {
    let unit = |(swing, curve): (i64, Vec<f64>)| Unit {
        name: format!("swing {swing}"),
        swings: vec![swing],
        curve,
        own: Vec::new(),
    };
    players.into_iter().flat_map(|p| p.swings.into_iter().zip(p.curves)).map(unit).collect()
}

/// A curve as it is compared: less its mean along the way, over its standard deviation about that, unless its size is to count.
fn scaled(curve: &[f64], how: &ShapesHow) -> Option<Vec<f64>> {
    if how.with_size {
        return curve.iter().any(|v| v.is_finite()).then(|| curve.to_vec());
    }
    let (mean, deviation) = (stats::mean(curve), stats::standard_deviation(curve));
    (deviation > 0.0).then(|| curve.iter().map(|v| (v - mean) / deviation).collect())
}

/// Of each unit, how many of its swings are nearest to its own group; `None` where there is one group, or the unit is in none.
fn own_swings(
    units: &[Unit],
    labels: &[Option<usize>],
    parts: usize,
    found: &Components,
    few: usize,
    how: &ShapesHow,
) -> Vec<Option<usize>> {
    let short = |scores: Vec<f64>| -> Vec<f64> { scores.into_iter().take(few).collect() };
    let centre = |g: usize| -> Vec<f64> {
        let own: Vec<&Vec<f64>> =
            labels.iter().zip(&found.scores).filter(|(l, _)| **l == Some(g)).map(|(_, s)| s).collect();
        (0..few)
            .map(|j| stats::mean(&own.iter().filter_map(|s| s.get(j).copied()).collect::<Vec<_>>()))
            .collect()
    };
    let centres: Vec<Vec<f64>> = (0..parts).map(centre).collect();
    let of = |(unit, label): (&Unit, &Option<usize>)| {
        let group = label.filter(|_| parts > 1 && !unit.own.is_empty())?;
        let near = |curve: &Vec<f64>| {
            let scores = short(found.scores_of(&scaled(curve, how)?));
            scores.iter().all(|s| s.is_finite()).then(|| nearest(&scores, &centres).0)
        };
        Some(unit.own.iter().filter(|c| near(c) == Some(group)).count())
    };
    units.iter().zip(labels).map(of).collect()
}

fn group(
    g: usize,
    units: &[Unit],
    labels: &[Option<usize>],
    grouped: &Groups,
    alike_swings: Option<&[Option<usize>]>,
    of: &Alike,
    how: &ShapesHow,
) -> GroupOf {
    let members: Vec<MemberOf> = units
        .iter()
        .zip(labels)
        .enumerate()
        .filter(|(_, (_, label))| **label == Some(g))
        .map(|(k, (unit, _))| MemberOf {
            name: unit.name.clone(),
            swings: unit.swings.clone(),
            swings_alike: alike_swings.and_then(|a| a.get(k).copied().flatten()),
            certainty_percent: 100.0 * grouped.certainty.get(k).copied().unwrap_or(f64::NAN),
        })
        .collect();
    let own: Vec<&Unit> = units.iter().zip(labels).filter(|(_, l)| **l == Some(g)).map(|(u, _)| u).collect();
    let column = |q: usize| own.iter().filter_map(|u| u.curve.get(q).copied()).collect::<Vec<f64>>();
    let mean: Vec<f64> = (0..how.ends.nodes).map(|q| stats::mean(&column(q))).collect();
    GroupOf {
        letter: char::from(b'A'.saturating_add(u8::try_from(g).unwrap_or(25).min(25))),
        typical: grouped.medoids.get(g).and_then(|k| units.get(*k)).map_or(String::new(), |u| u.name.clone()),
        recovered: grouped.recovered.get(g).copied().unwrap_or(f64::NAN),
        deviation: (0..how.ends.nodes).map(|q| stats::standard_deviation(&column(q))).collect(),
        peaks: features::of(&mean, &of.shown),
        mean,
        members,
        words: String::new(),
    }
}

/// Where the first two groups' means lie farthest apart, beside the scatter within groups.
fn farthest(told: &[GroupOf], units: &[Unit], labels: &[Option<usize>], of: &Alike) -> Option<FarthestOf> {
    let [first, second, ..] = told else { return None };
    let within = |q: usize| {
        let off = units.iter().zip(labels).filter_map(|(u, l)| {
            let mean = told.get((*l)?)?.mean.get(q)?;
            Some(u.curve.get(q)? - mean)
        });
        stats::root_mean_square(&off.collect::<Vec<f64>>())
    };
    let apart = |q: usize| {
        let (a, b) = (first.mean.get(q)?, second.mean.get(q)?);
        let far = (a - b).abs() / within(q);
        far.is_finite().then_some((q, far, *a, *b))
    };
    let most = (0..of.shown.percent.len()).filter_map(apart).fold(
        None,
        |best: Option<(usize, f64, f64, f64)>, one| {
            if best.is_none_or(|b| one.1 > b.1) { Some(one) } else { best }
        },
    );
    let (q, times, a, b) = most?;
    let percent = of.shown.percent.get(q).copied()?;
    Some(FarthestOf { percent, instant: of.way.instant(percent), values: [a, b], times_scatter: times })
}

/// Decimals of figures in the account's unit: two digits of the usual scatter.
fn digits(units: &[Unit]) -> usize {
    let nodes = units.iter().map(|u| u.curve.len()).min().unwrap_or(0);
    let column = |q: usize| units.iter().filter_map(|u| u.curve.get(q).copied()).collect::<Vec<f64>>();
    let scatter: Vec<f64> = (0..nodes).map(|q| stats::standard_deviation(&column(q))).collect();
    let large = stats::quantile(&scatter, 0.75, &mut Vec::new());
    if large > 0.0 { crate::quantity::decimals(large / 3.0) } else { 1 }
}

/// A setting of the answer.
fn setting(name: &'static str, value: impl ToString) -> Setting {
    Setting::of(name, value)
}
