//! The numbers of `underfoot shapes`, and the tables they make.
use super::PeakOf;
use crate::claim::curves::{AccountOf, WayOf};
use crate::claim::{Numbers, wrapped};
use crate::plot::{self, Axes, Points};
use crate::quantity::{plain, signed};
use crate::table::{Align, Table};
use evidence::cohort::groups::Criterion;
use serde::Serialize;

/// Groups of curves, or why there are none.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Shapes {
    /// "groups", "one group", "no stable groups", "cannot be told".
    pub outcome: &'static str,
    /// The quantity.
    pub account: AccountOf,
    /// From where to where.
    pub way: WayOf,
    /// What is counted: "player"; "swing" where all swings are of one player.
    pub unit: &'static str,
    /// How many.
    pub units: usize,
    /// "shape alone": level and size were taken out; or "curves as they are".
    pub compared: &'static str,
    /// Share of what varies that each component holds which curves were compared by, %.
    pub components_percent: Vec<f64>,
    /// The gap statistic of every number of groups looked at.
    pub criteria: Vec<CriterionOf>,
    /// The number it chose; 0 with too few.
    pub chosen: usize,
    /// The number of groups with a valley between any two; 1 where there is none.
    pub apart: usize,
    /// How often one even cloud shows so deep a valley (of the shallowest one); null where not asked.
    pub valley_p: f64,
    /// Mean adjusted Rand index of groups of players drawn anew; null where not asked.
    pub agreement: f64,
    /// From where groups are reported.
    pub stable_from: f64,
    /// The groups, the largest first; everybody where there is one; none where there are no stable ones.
    pub groups: Vec<GroupOf>,
    /// Where the first two lie farthest apart.
    pub farthest: Option<FarthestOf>,
    /// Those who are like hardly any other, and were set aside.
    pub aside: Vec<String>,
    /// Decimals that are shown.
    #[serde(skip)]
    pub(super) digits: usize,
}

/// The gap statistic of a number of groups.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct CriterionOf {
    /// How many groups.
    pub groups: usize,
    /// Logarithm of the squared distances within groups.
    pub log_within: f64,
    /// The same of even clouds, on average.
    pub expected: f64,
    /// By how much curves lie closer.
    pub gap: f64,
    /// Its standard error.
    pub error: f64,
}

impl From<&Criterion> for CriterionOf {
    fn from(of: &Criterion) -> Self {
        Self {
            groups: of.groups,
            log_within: of.log_within,
            expected: of.expected,
            gap: of.gap,
            error: of.error,
        }
    }
}

/// A group.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct GroupOf {
    /// Its letter.
    pub letter: char,
    /// Its mean curve in words.
    pub words: String,
    /// The member nearest to all others.
    pub typical: String,
    /// How far it came again when players were drawn anew (mean Jaccard index); null where not asked.
    pub recovered: f64,
    /// Who is in it.
    pub members: Vec<MemberOf>,
    /// Peaks and lows of the mean curve.
    pub peaks: Vec<PeakOf>,
    /// Mean curve of the members.
    pub mean: Vec<f64>,
    /// Standard deviation between them.
    pub deviation: Vec<f64>,
}

/// A member of a group.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MemberOf {
    /// A player's alias, or "swing 7".
    pub name: String,
    /// Numbers of the swings.
    pub swings: Vec<i64>,
    /// How many of them, each by itself, are nearest to this group; null where not asked.
    pub swings_alike: Option<usize>,
    /// In how many of the resamples it fell into this group, %; null where not asked.
    pub certainty_percent: f64,
}

/// Where two groups lie farthest apart.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FarthestOf {
    /// Where, %.
    pub percent: f64,
    /// The same in words.
    pub instant: String,
    /// Their means there.
    pub values: [f64; 2],
    /// Their distance over the scatter within groups.
    pub times_scatter: f64,
}

impl Numbers for Shapes {
    const SCHEMA: &'static str = "underfoot.shapes/1";

    fn text(&self) -> String {
        let mut out = String::new();
        if !self.groups.is_empty() {
            out.push_str(&format!("{}, {}\n", self.account.label, self.account.unit));
            out.push_str(&self.table());
            out.push('\n');
            out.push_str(&self.drawn());
            out.push('\n');
        }
        if self.groups.len() > 1 {
            for g in &self.groups {
                out.push_str(&Self::members(g));
                out.push('\n');
            }
            out.push('\n');
        }
        if !self.criteria.is_empty() {
            out.push_str("how many groups (gap statistic)\n");
            out.push_str(&self.gaps());
            out.push('\n');
        }
        out
    }
}

impl Shapes {
    fn table(&self) -> String {
        let mut table = Table::new(&[
            Align::Left,
            Align::Right,
            Align::Right,
            Align::Left,
            Align::Right,
            Align::Right,
            Align::Left,
        ]);
        let several = self.groups.len() > 1;
        let heads = |a: &'static str| if several { a } else { "" };
        let own = self.unit == "swing";
        table.row([
            "",
            if own { "" } else { "players" },
            "swings",
            "most typical",
            heads("came again"),
            heads(if own { "" } else { "swings alike" }),
            "",
        ]);
        for g in &self.groups {
            let swings: usize = g.members.iter().map(|m| m.swings.len()).sum();
            let alike: Option<usize> = g.members.iter().map(|m| m.swings_alike).sum();
            table.row([
                if several { g.letter.to_string() } else { "all".into() },
                if own { String::new() } else { g.members.len().to_string() },
                swings.to_string(),
                g.typical.clone(),
                if several { plain(g.recovered, 2) } else { String::new() },
                alike.filter(|_| several).map_or(String::new(), |n| format!("{n} of {swings}")),
                String::new(),
            ]);
        }
        let mut out = table.text();
        for g in self.groups.iter().filter(|g| !g.words.is_empty()) {
            let lead = if several { format!("  {}  ", g.letter) } else { "  ".into() };
            out.push_str(&format!("{}\n", wrapped(&g.words, &lead, "     ")));
        }
        if let Some(f) = &self.farthest {
            let told = format!(
                "A and B lie farthest apart at {} % ({}): {} and {} {}, {} × the scatter within groups",
                plain(f.percent, 0),
                f.instant,
                signed(f.values[0], self.digits),
                signed(f.values[1], self.digits),
                self.account.unit,
                plain(f.times_scatter, 1)
            );
            out.push_str(&format!("{}\n", wrapped(&told, "  ", "  ")));
        }
        out
    }

    /// "A: ash, beech (5 of 6), …", who is not certain marked.
    fn members(of: &GroupOf) -> String {
        let told = |m: &MemberOf| {
            let mut notes = Vec::new();
            if let Some(alike) = m.swings_alike.filter(|n| *n < m.swings.len()) {
                notes.push(format!("{alike} of {} swings", m.swings.len()));
            }
            if m.certainty_percent < 90.0 {
                notes.push(format!("in {} % of resamples", plain(m.certainty_percent, 0)));
            }
            if notes.is_empty() { m.name.clone() } else { format!("{} ({})", m.name, notes.join(", ")) }
        };
        let all: Vec<String> = of.members.iter().map(told).collect();
        wrapped(&all.join(", "), &format!("  {}: ", of.letter), "     ")
    }

    fn gaps(&self) -> String {
        let mut table = Table::new(&[Align::Right, Align::Right, Align::Right, Align::Left]);
        table.row(["groups", "gap", "±", ""]);
        for c in &self.criteria {
            let note = match (c.groups == self.chosen, c.groups == self.apart) {
                (true, true) => "◂ chosen",
                (true, false) => "◂ chosen by the gap alone",
                (false, true) => "◂ left, where there is a valley between any two",
                _ => "",
            };
            table.row([c.groups.to_string(), plain(c.gap, 2), plain(c.error, 2), note.into()]);
        }
        table.text()
    }

    fn drawn(&self) -> String {
        let x = &self.way.percent;
        let mark = |g: &GroupOf| if self.groups.len() > 1 { g.letter } else { '•' };
        let sets: Vec<Points> = self.groups.iter().map(|g| Points { mark: mark(g), x, y: &g.mean }).collect();
        let upright: Vec<(f64, char)> = self.way.events.iter().map(|e| (e.percent, '┊')).collect();
        let name = format!("% of the way from {} to {}", self.way.from, self.way.to);
        let axes =
            Axes { width: 72, height: 16, x_name: &name, y_name: &self.account.unit, upright: &upright };
        let drawn = plot::text(&axes, &sets);
        let mut legend =
            vec![if self.groups.len() > 1 { "means of the groups" } else { "• mean" }.to_string()];
        if !self.way.events.is_empty() {
            legend.push(format!(
                "┊ {}",
                self.way.events.iter().map(|e| e.event).collect::<Vec<_>>().join(", ")
            ));
        }
        if drawn.is_empty() { drawn } else { format!("{drawn}    {}\n", legend.join("   ")) }
    }
}
