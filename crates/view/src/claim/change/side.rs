//! The two sides: whose swings they are, which count, and what of them the mathematics needs.
use super::super::table::{Column, SwingOf, Table};
use super::super::{Counted, LeftOut};
use crate::quantity::count;
use evidence::change::{Chosen, Occasions, Pairing, Value, between_occasions, design, occasions};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// A side of the comparison.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SideView {
    /// The choice in words.
    pub named: String,
    /// Players that count.
    pub players: usize,
    /// Their sessions.
    pub sessions: usize,
    /// Their swings.
    pub swings: usize,
    /// First day, where known.
    pub from: Option<String>,
    /// Last day, where known.
    pub to: Option<String>,
    /// Rigs, in order; empty where none is stated.
    pub rigs: Vec<String>,
    /// Swings with both feet on one plate.
    pub on_one_plate: usize,
}

/// Both sides, with numbers for players, sessions and rigs.
pub(super) struct Sides<'a> {
    pub chosen: Chosen,
    pub players: Vec<String>,
    a: Vec<&'a SwingOf>,
    b: Vec<&'a SwingOf>,
    around: Option<&'a Table>,
    tables: [&'a Table; 2],
    rigs: Vec<String>,
    occasions: Vec<(String, String, i64)>,
}

/// How far days of a player differ, and what tells it.
pub(super) struct Days<'a> {
    pub known: Occasions,
    /// Days that tell it.
    pub days: usize,
    /// Players they are of.
    pub players: usize,
    /// The one of several players whose days make more than half of it.
    pub most: Option<&'a str>,
}

/// A player's day; the session where no day is known. Two sessions of a day are one occasion.
fn occasion(of: &SwingOf) -> (String, String, i64) {
    match &of.date {
        Some(date) => (of.player.clone(), date.clone(), 0),
        None => (of.player.clone(), String::new(), of.session),
    }
}

fn in_order<'a>(of: impl Iterator<Item = &'a str>) -> Vec<String> {
    of.collect::<BTreeSet<&str>>().into_iter().map(str::to_string).collect()
}

fn number(of: &[String], name: &str) -> usize {
    of.binary_search_by(|known| known.as_str().cmp(name)).unwrap_or(usize::MAX)
}

/// The design that players make.
pub(super) fn chosen(a: &[String], b: &[String], pairing: Pairing) -> Chosen {
    let players = in_order(a.iter().chain(b).map(String::as_str));
    let numbers = |side: &[String]| side.iter().map(|p| number(&players, p)).collect::<Vec<_>>();
    design(&numbers(a), &numbers(b), pairing)
}

impl<'a> Sides<'a> {
    pub fn of(a: &'a Table, b: &'a Table, around: Option<&'a Table>, pairing: Pairing) -> Self {
        let all = || a.swings.iter().chain(&b.swings);
        let players = in_order(all().map(|s| s.player.as_str()));
        let rigs = in_order(all().map(|s| s.rig.as_str()));
        let occasions = all().map(occasion).collect::<BTreeSet<_>>().into_iter().collect();
        let numbers = |t: &Table| t.swings.iter().map(|s| number(&players, &s.player)).collect::<Vec<_>>();
        let chosen = design(&numbers(a), &numbers(b), pairing);
        Self {
            chosen,
            a: a.swings.iter().collect(),
            b: b.swings.iter().collect(),
            around,
            tables: [a, b],
            players,
            rigs,
            occasions,
        }
    }

    /// The values of a measure on both sides.
    pub fn values(&self, a: &Column, b: &Column) -> (Vec<Value>, Vec<Value>) {
        let of = |swings: &[&SwingOf], column: &Column| {
            swings
                .iter()
                .zip(column.values.iter().zip(&column.u))
                .map(|(swing, (value, u))| Value {
                    subject: number(&self.players, &swing.player),
                    occasion: self.occasions.binary_search(&occasion(swing)).unwrap_or(usize::MAX),
                    instrument: number(&self.rigs, &swing.rig),
                    value: *value,
                    u: *u,
                })
                .filter(|v| self.chosen.keeps(v.subject))
                .collect()
        };
        (of(&self.a, a), of(&self.b, b))
    }

    /// How far days of a player differ in the measure of this number: days of one player with one club on one rig, on the
    /// same side of the question, in order. With how many days of how many players tell it.
    pub fn days(&self, measure: usize) -> Option<Days<'a>> {
        if self.chosen.design.of_subjects() {
            return None;
        }
        let numbers = |t: &Table| t.swings.iter().map(|s| s.swing).collect::<BTreeSet<i64>>();
        let [in_a, in_b] = self.tables.map(numbers);
        let [a, b] = self.tables;
        let mut cells: BTreeMap<_, BTreeMap<_, Vec<f64>>> = BTreeMap::new();
        for (table, side) in [(a, 'a'), (b, 'b')].into_iter().chain(self.around.map(|t| (t, '-'))) {
            let Some(column) = table.columns.get(measure) else { continue };
            for (s, value) in table.swings.iter().zip(&column.values).filter(|(_, v)| !v.is_nan()) {
                if side == '-' && (in_a.contains(&s.swing) || in_b.contains(&s.swing)) {
                    continue;
                }
                let cell = (s.player.as_str(), s.club.to_lowercase(), s.rig.as_str(), s.feet, side);
                cells.entry(cell).or_default().entry(occasion(s)).or_default().push(*value);
            }
        }
        let several = || cells.iter().filter(|(_, days)| days.len() > 1);
        let players = several().map(|(cell, _)| cell.0).collect::<BTreeSet<&str>>().len();
        let days = several().flat_map(|(_, s)| s.keys()).collect::<BTreeSet<_>>().len();
        let mut squares: BTreeMap<&str, f64> = BTreeMap::new();
        for (cell, days) in several() {
            *squares.entry(cell.0).or_default() +=
                between_occasions(&days.values().cloned().collect::<Vec<_>>());
        }
        let all: f64 = squares.values().sum();
        let most = squares.iter().find(|(_, own)| players > 1 && **own > 0.5 * all).map(|(alias, _)| *alias);
        let cells: Vec<Vec<Vec<f64>>> =
            cells.into_values().map(|days| days.into_values().collect()).collect();
        Some(Days { known: occasions(&cells)?, days, players, most })
    }

    fn kept(&self, side: usize) -> impl Iterator<Item = &'a SwingOf> {
        let swings = if side == 0 { &self.a } else { &self.b };
        swings.iter().copied().filter(|s| self.chosen.keeps(number(&self.players, &s.player)))
    }

    /// Clubs of the swings that count on a side, in order.
    pub fn clubs(&self, side: usize) -> Vec<String> {
        in_order(self.kept(side).map(|s| s.club.as_str()))
    }

    /// True where swings are left out of both sides.
    pub fn leaves_out(&self) -> bool {
        !self.chosen.on_one_side.is_empty() || !self.chosen.on_both_sides.is_empty()
    }

    /// Aliases of the players that count on a side, in order.
    pub fn names(&self, side: usize) -> Vec<String> {
        in_order(self.kept(side).map(|s| s.player.as_str()))
    }

    pub fn view(&self, table: &Table, side: usize) -> SideView {
        let days: BTreeSet<&String> = self.kept(side).filter_map(|s| s.date.as_ref()).collect();
        SideView {
            named: table.named.clone(),
            players: self.names(side).len(),
            sessions: self.kept(side).map(|s| s.session).collect::<BTreeSet<_>>().len(),
            swings: self.kept(side).count(),
            from: days.first().map(|d| d.to_string()),
            to: days.last().map(|d| d.to_string()),
            rigs: in_order(self.kept(side).map(|s| s.rig.as_str()).filter(|r| !r.is_empty())),
            on_one_plate: self.kept(side).filter(|s| s.feet == Some(1)).count(),
        }
    }

    pub fn counted(&self) -> Counted {
        let all = || self.kept(0).chain(self.kept(1));
        Counted {
            players: all().map(|s| &s.player).collect::<BTreeSet<_>>().len(),
            sessions: all().map(|s| s.session).collect::<BTreeSet<_>>().len(),
            swings: all().count(),
        }
    }

    pub fn left_out(&self) -> Vec<LeftOut> {
        let told = |of: &[usize], why: &str| {
            let names: Vec<&str> = of.iter().filter_map(|k| Some(self.players.get(*k)?.as_str())).collect();
            let listed = match names.as_slice() {
                all if all.len() <= 6 => all.join(", "),
                [first, second, third, rest @ ..] => {
                    format!("{first}, {second}, {third} and {} others", rest.len())
                }
                _ => String::new(),
            };
            LeftOut { what: format!("{} ({listed})", count(of.len(), "player")), why: why.into() }
        };
        let mut out = Vec::new();
        if !self.chosen.on_one_side.is_empty() {
            let why = "with swings on one side only, so that there is nothing to compare them with";
            out.push(told(&self.chosen.on_one_side, why));
        }
        if !self.chosen.on_both_sides.is_empty() {
            out.push(told(
                &self.chosen.on_both_sides,
                "with swings on both sides of a question about two groups",
            ));
        }
        out
    }
}
