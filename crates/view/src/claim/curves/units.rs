//! Who is counted: players, each with the mean of their curves, or the swings of one player; and who is compared with whom.
use super::cut::{Curve, Cut};
use crate::claim::LeftOut;
use crate::quantity::count;
use evidence::curves::bands::averaged;
use std::collections::BTreeSet;

/// One that is counted.
#[derive(Clone, Debug)]
pub(super) struct Unit {
    /// A player's alias, or "swing 7".
    pub name: String,
    /// Swings behind it.
    pub swings: usize,
    /// A value a node; NaN where a swing of it has none.
    pub values: Vec<f64>,
    /// The number it goes with, where one was asked for; NaN otherwise.
    pub number: f64,
}

/// All who are counted, choice by choice.
#[derive(Clone, Debug)]
pub(super) struct Units {
    /// True where players are counted.
    pub players: bool,
    /// True where every choice has the same players, in the same order.
    pub paired: bool,
    pub sets: Vec<Vec<Unit>>,
    /// Players who could not take part, and why.
    pub left_out: Vec<LeftOut>,
}

fn names(curves: &[Curve]) -> BTreeSet<String> {
    curves.iter().map(|c| c.of.player.clone()).collect()
}

/// Players where a choice has several, or pairs are wanted; else swings. `number`: of a swing.
///
/// The same players in every choice are compared with themselves, which takes out how players differ; others are left out.
/// Where more are in each choice alone than in all, there are groups, and those in several choices are left out. Where only one
/// is in all, it is that player's swings that are compared. Curves of those left out are taken out of the cut.
pub(super) fn units(cut: &mut Cut, wanted: bool, number: impl Fn(i64) -> f64) -> Units {
    let of_sets: Vec<BTreeSet<String>> = cut.sets.iter().map(|s| names(&s.curves)).collect();
    let all: BTreeSet<&String> = of_sets.iter().flatten().collect();
    let mut players = wanted || of_sets.iter().any(|s| s.len() > 1);
    let (mut paired, mut left_out) = (false, Vec::new());
    if players && of_sets.len() > 1 {
        let times = |name: &&&String| of_sets.iter().filter(|s| s.contains(**name)).count();
        let common: BTreeSet<String> =
            all.iter().filter(|n| times(n) == of_sets.len()).map(|n| (*n).clone()).collect();
        paired = wanted || of_sets.iter().any(|s| s.len() - common.len() <= common.len());
        let kept: BTreeSet<String> = if paired {
            common
        } else {
            all.iter().filter(|n| times(n) == 1).map(|n| (*n).clone()).collect()
        };
        let gone = all.len() - kept.len();
        if gone > 0 {
            let why = if paired { "not in every choice" } else { "in more than one choice" };
            left_out.push(LeftOut { what: count(gone, "player"), why: why.into() });
        }
        for set in &mut cut.sets {
            set.curves.retain(|c| kept.contains(&c.of.player));
        }
        if paired && kept.len() == 1 {
            (players, paired) = (false, false);
        }
    }
    let of_set = |curves: &[Curve]| -> Vec<Unit> {
        if !players {
            let unit = |c: &Curve| Unit {
                name: format!("swing {}", c.of.swing),
                swings: 1,
                values: c.values.clone(),
                number: number(c.of.swing),
            };
            return curves.iter().map(unit).collect();
        }
        let all: Vec<String> = names(curves).into_iter().collect();
        let which: Vec<usize> =
            curves.iter().map(|c| all.binary_search(&c.of.player).unwrap_or(usize::MAX)).collect();
        // The number is averaged as a node more.
        let with_number = |c: &Curve| [c.values.as_slice(), &[number(c.of.swing)]].concat();
        let rows: Vec<Vec<f64>> = curves.iter().map(with_number).collect();
        let mut found = averaged(&rows, &which);
        found.sort_by_key(|(k, _)| *k);
        let unit = |(k, mut values): (usize, Vec<f64>)| Unit {
            name: all.get(k).cloned().unwrap_or_default(),
            swings: which.iter().filter(|w| **w == k).count(),
            number: values.pop().unwrap_or(f64::NAN),
            values,
        };
        found.into_iter().map(unit).collect()
    };
    let sets = cut.sets.iter().map(|s| of_set(&s.curves)).collect();
    Units { players, paired, sets, left_out }
}
