//! "Where along the swing do they differ?": whole curves of an account, from one event to another, of one choice of swings (its mean
//! and how far swings lie apart), of several (do they differ), or beside a number (do they follow it).
//!
//! Differences are B minus A: from A to B, as everywhere. The rules are written out in docs/evidence/curves.md.
mod case;
pub(super) mod cut;
mod method;
mod mind;
mod numbers;
#[cfg(test)]
mod tests;
mod text;
mod told;
mod units;
mod verdict;
pub(super) mod words;

pub use evidence::curves::Tails;
pub use numbers::{
    AccountOf, CurveNumbers, EventOf, NumberOf, SetOf, StretchOf, TestOf, UnitOf, WarpOf, WayOf,
};

use super::players::verb;
use super::table::{Table, Traces};
use super::{Answer, Counted, LeftOut, Numbers, Setting};
use crate::quantity::count;
use case::Case;
use cut::{Cut, Cutting, cut};
use evidence::Spread;
use evidence::curves::bands::{Bands, bands};
use evidence::curves::{By, Comparison, CurveTest, Kind, NoTest, Rule, SIGNS_NEED, by_field, by_permutation};
use evidence::permutation::Permutation;
use signal::stats;
use std::collections::BTreeSet;
use swing::events::Name;
use units::{Unit, Units, units};
use words::Way;

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub enum Asking<'a> {
    /// What does a mean curve look like, and how far do others lie from it? One choice.
    Shape,
    /// Do choices differ? Two or more. The same players are compared with themselves where the choices allow it.
    Differ,
    /// The same, of players who are in every choice, even where few are.
    Paired,
    /// Do curves follow the first column of a table? One choice.
    Along(&'a Table),
}

/// Whether events between the ends are laid over one another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Register {
    /// Time is stretched evenly.
    Even,
    /// Events between the two that every swing has are laid where they are on the mean.
    Landmarks,
}

/// What a test is decided by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// Rearrangements.
    Permutation,
    /// Random field theory.
    Field,
}

/// How it is done. No hidden default.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct How {
    /// First event; otherwise takeaway.
    pub from: Option<Name>,
    /// Last event; otherwise impact where every swing has it, else finish.
    pub to: Option<Name>,
    /// Whether estimated events are taken.
    pub estimates: bool,
    /// Nodes of a curve.
    pub nodes: usize,
    /// Whether events on the way are laid over one another.
    pub register: Register,
    /// What the test is decided by.
    pub method: Method,
    /// Level of the test; bands hold with one minus it.
    pub alpha: f64,
    /// Which way counts: B above A only, or both ways.
    pub tails: Tails,
    /// Up to so many rearrangements are gone through; beyond, so many are drawn.
    pub permutations: usize,
    /// Seed of chance.
    pub seed: u64,
}

/// Why there is no answer at all.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoCurves {
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub remedy: String,
}

impl std::fmt::Display for NoCurves {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        f.write_str(&self.what)
    }
}

impl std::error::Error for NoCurves {}

/// Nodes that a curve may have.
const NODES: std::ops::RangeInclusive<usize> = 11..=2001;

/// Asks curves of choices of swings, all of one account, in one unit.
///
/// Errors: as many choices as the question does not take, a swing in two of them, settings out of range, events that no swing has.
/// Where there are too few for an answer there is one that says so.
pub fn curves(
    sets: &[Traces],
    asking: Asking,
    how: &How,
    hands: &impl Spread,
) -> Result<Answer<CurveNumbers>, NoCurves> {
    fitting(sets, asking, how)?;
    let mut cut = cut(sets, how)?;
    let column = match asking {
        Asking::Along(table) => table.columns.first().map(|c| (table, c)),
        _ => None,
    };
    let number = |swing: i64| {
        column
            .and_then(|(table, c)| {
                let row = table.swings.iter().position(|s| s.swing == swing)?;
                c.values.get(row).copied()
            })
            .unwrap_or(f64::NAN)
    };
    let mut who = units(&mut cut, matches!(asking, Asking::Paired), number);
    if let Some((_, c)) = column {
        let noun = if who.players { "player" } else { "swing" };
        for set in &mut who.sets {
            let before = set.len();
            set.retain(|u| u.number.is_finite());
            if set.len() < before {
                let why = format!("no {} is known of every swing", c.measure.label);
                who.left_out.push(LeftOut { what: count(before - set.len(), noun), why });
            }
        }
    }
    let rule = Rule { alpha: how.alpha, tails: how.tails };
    let permutation = Permutation { most: how.permutations, seed: how.seed };
    let (name, tested) = test(&who, asking, how.method, rule, &permutation, hands);
    let all: Vec<Bands> =
        who.sets.iter().map(|s| bands(&rows(s), 1.0 - how.alpha, Some(&permutation), hands)).collect();
    let duration: Vec<f64> = cut.sets.iter().flat_map(|s| s.curves.iter().map(|c| c.duration_s)).collect();
    let way = Way::of(&cut, stats::mean(&duration));
    let case = Case { asking, how, cut: &cut, who: &who, bands: &all, way: &way, name };
    let numbers = case.numbers(tested.as_ref().and_then(|t| t.as_ref().ok()));
    let mut left_out = left_out(&cut);
    left_out.extend(who.left_out.iter().cloned());
    Ok(Answer {
        schema: CurveNumbers::SCHEMA,
        question: case.question(),
        verdict: case.verdict(&numbers, tested.as_ref()),
        counted: counted(&cut),
        left_out,
        method: case.method(tested.as_ref().and_then(|t| t.as_ref().ok())),
        settings: settings(&cut, how),
        caveats: case.caveats(&numbers, tested.as_ref().and_then(|t| t.as_ref().ok())),
        numbers,
    })
}

/// Errors: see [`curves`].
fn fitting(sets: &[Traces], asking: Asking, how: &How) -> Result<(), NoCurves> {
    let fail = |what: String, remedy: &str| Err(NoCurves { what, remedy: remedy.into() });
    let one = matches!(asking, Asking::Shape | Asking::Along(_));
    match (one, sets.len()) {
        (true, 1) | (false, 2..) => {}
        (true, n) => return fail(format!("{n} choices of swings where there can be one"), "give one choice"),
        (false, n) => {
            return fail(
                format!("{} of swings where it takes two", count(n, "choice")),
                "give a second choice to compare with",
            );
        }
    }
    if !NODES.contains(&how.nodes) {
        return fail(
            format!("{} nodes", how.nodes),
            &format!("a curve has {} to {} nodes", NODES.start(), NODES.end()),
        );
    }
    if !(how.alpha > 0.0 && how.alpha <= 0.5) {
        return fail(format!("a level of {}", how.alpha), "a level lies between 0 and 0.5, usually 0.05");
    }
    let mut seen = BTreeSet::new();
    let twice: BTreeSet<i64> =
        sets.iter().flat_map(|s| &s.swings).map(|s| s.swing).filter(|n| !seen.insert(*n)).collect();
    if !twice.is_empty() {
        return fail(
            format!("{} in more than one choice", verb(twice.len(), "swing", "is", "are")),
            "make choices that do not overlap",
        );
    }
    Ok(())
}

fn rows(of: &[Unit]) -> Vec<Vec<f64>> {
    of.iter().map(|u| u.values.clone()).collect()
}

/// The test of a question with its name; `None` where nothing is tested.
fn test(
    who: &Units,
    asking: Asking,
    method: Method,
    rule: Rule,
    permutation: &Permutation,
    hands: &impl Spread,
) -> (&'static str, Option<Result<CurveTest, NoTest>>) {
    let sets: Vec<Vec<Vec<f64>>> = who.sets.iter().map(|s| rows(s)).collect();
    let each: Vec<&[Vec<f64>]> = sets.iter().map(Vec::as_slice).collect();
    let numbers: Vec<f64> = who.sets.iter().flatten().map(|u| u.number).collect();
    let (name, comparison) = match (asking, who.paired, each.as_slice()) {
        (Asking::Along(_), _, [rows]) => ("t of the slope", Comparison::Regression(rows, &numbers)),
        (Asking::Differ | Asking::Paired, true, [a, b]) => ("Student's t of pairs", Comparison::Pairs(b, a)),
        (Asking::Differ | Asking::Paired, true, all) => {
            ("F of choices of the same players", Comparison::Repeated(all))
        }
        (Asking::Differ | Asking::Paired, false, [a, b]) => {
            // Of few residuals there are too few different signs.
            let enough = method == Method::Field || a.len().min(b.len()) >= SIGNS_NEED;
            if enough {
                ("Welch's t", Comparison::Welch(b, a))
            } else {
                ("Student's t", Comparison::TwoGroups(b, a))
            }
        }
        (Asking::Differ | Asking::Paired, false, all) => ("F of choices", Comparison::Groups(all)),
        _ => return ("", None),
    };
    let tested = match method {
        Method::Field => by_field(&comparison, rule),
        Method::Permutation => by_permutation(&comparison, rule, permutation, hands),
    };
    (name, Some(tested))
}

fn counted(cut: &Cut) -> Counted {
    let all = || cut.sets.iter().flat_map(|s| s.curves.iter().map(|c| c.of));
    Counted {
        players: all().map(|s| s.player.as_str()).collect::<BTreeSet<_>>().len(),
        sessions: all().map(|s| s.session).collect::<BTreeSet<_>>().len(),
        swings: all().count(),
    }
}

fn left_out(cut: &Cut) -> Vec<LeftOut> {
    let several = cut.sets.len() > 1;
    let of_set = |(k, s): (usize, &Cutting)| -> Vec<LeftOut> {
        let what = |l: &LeftOut| {
            if several { format!("{} of {}", l.what, letter(k)) } else { l.what.clone() }
        };
        s.of.absent.iter().chain(&s.left_out).map(|l| LeftOut { what: what(l), why: l.why.clone() }).collect()
    };
    cut.sets.iter().enumerate().flat_map(of_set).collect()
}

/// "A", "B" … of a choice.
fn letter(k: usize) -> String {
    char::from_u32('A' as u32 + k as u32)
        .filter(|c| c.is_ascii_uppercase())
        .map_or(format!("{}", k + 1), String::from)
}

fn settings(cut: &Cut, how: &How) -> Vec<Setting> {
    vec![
        Setting::of("from", cut.from.name()),
        Setting::of("to", cut.to.name()),
        Setting::of("estimates", if how.estimates { "taken" } else { "not taken" }),
        Setting::of("nodes", how.nodes),
        Setting::of("register", if cut.registered { "landmarks" } else { "no" }),
        Setting::of("method", if how.method == Method::Field { "field" } else { "permutation" }),
        Setting::of("alpha", how.alpha),
        Setting::of("tails", if how.tails == Tails::Both { "both" } else { "above" }),
        Setting::of("permutations", how.permutations),
        Setting::of("seed", how.seed),
    ]
}

/// Degrees of freedom of a statistic.
fn degrees(kind: Kind) -> Vec<f64> {
    match kind {
        Kind::T(v) | Kind::ChiSquare(v) => vec![v],
        Kind::F(k, v) => vec![k, v],
    }
}

/// Rearrangements looked at, and whether these are all.
fn rearrangements(by: By) -> Option<(usize, bool)> {
    match by {
        By::Permutation { looked_at, exact, .. } => Some((looked_at, exact)),
        By::Field(_) => None,
    }
}
