//! The numbers of `underfoot plan`, and the tables they make.
use super::{COUNTS, curve};
use crate::claim::Numbers;
use crate::claim::span::{Span, with_unit};
use crate::quantity::plain;
use crate::table::{Align, Table};
use serde::Serialize;

/// How many swings and players would show a change.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Plan {
    /// A change is claimed falsely so often.
    pub alpha: f64,
    /// A change is to be seen so often.
    pub power: f64,
    /// Level of the intervals of the noise.
    pub level: f64,
    /// In the order asked for.
    pub measures: Vec<MeasurePlan>,
}

/// Plans for one measure.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MeasurePlan {
    /// Id of the metric or outcome.
    pub measure: String,
    /// Its name.
    pub label: String,
    /// Unit; empty for plain numbers.
    pub unit: String,
    /// Scatter from swing to swing of a session.
    pub swing: Span,
    /// From day to day of a player; null where not known.
    pub day: Option<Span>,
    /// Between players; null with one player.
    pub between: Option<Span>,
    /// Swings of a session where days or players are counted.
    pub swings: usize,
    /// The changes that are to be seen.
    pub changes: Vec<f64>,
    /// Where they come from.
    pub changes_are: &'static str,
    /// Number of the change that curves and trials are of, from 0.
    pub told: usize,
    /// Ways to compare.
    pub designs: Vec<DesignPlan>,
    /// Decimals that go with the scatter.
    #[serde(skip)]
    pub digits: usize,
}

/// A way to compare.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DesignPlan {
    /// one-player-one-day, one-player-two-days, one-player-days, same-players, two-groups.
    pub design: &'static str,
    /// What is counted.
    pub counts: &'static str,
    /// With fewer, the permutation tests can claim nothing.
    pub least: usize,
    /// For each change.
    pub needed: Vec<Needed>,
    /// Power over the count, for the change that is told.
    pub curve: Vec<CurvePoint>,
    /// The plan for that change, tried.
    pub tried: Option<Tried>,
}

/// How many it takes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Needed {
    /// The change.
    pub change: f64,
    /// The count; null where none is enough.
    pub count: Option<usize>,
    /// Were the noise as small as its interval allows.
    pub low: Option<usize>,
    /// Were it as large.
    pub high: Option<usize>,
}

/// A point of a curve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct CurvePoint {
    /// Count.
    pub count: usize,
    /// Chance of seeing the change.
    pub power: f64,
    /// True where it was tried, false where it is by formula.
    pub tried: bool,
}

/// A plan that was tried.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Tried {
    /// Count.
    pub count: usize,
    /// Chance of seeing the change by formula.
    pub formula: f64,
    /// Share of trials in which it was seen.
    pub power: Span,
    /// Trials.
    pub trials: usize,
}

impl Numbers for Plan {
    const SCHEMA: &'static str = "underfoot.plan/1";

    fn text(&self) -> String {
        let mut out = String::new();
        for (k, of) in self.measures.iter().enumerate() {
            out.push_str(&of.needs());
            if k == 0 {
                out.push_str(&of.powers());
                out.push_str(&curve::text(of));
            }
        }
        out
    }
}

/// "14 (12 to 17)", "no number (60 at best)".
pub(super) fn count_text(of: &Needed) -> String {
    let some = |n: Option<usize>| n.map_or("∞".to_string(), |n| n.to_string());
    match (of.count, of.low, of.high) {
        (Some(n), low, high) => format!("{n} ({} to {})", some(low), some(high)),
        (None, Some(low), _) => format!("none ({low} at best)"),
        (None, None, _) => "none".into(),
    }
}

impl MeasurePlan {
    /// The change that is told.
    pub(super) fn change(&self) -> f64 {
        self.changes.get(self.told).copied().unwrap_or(f64::NAN)
    }

    fn needs(&self) -> String {
        use Align::{Left, Right};
        let digits = self.digits;
        let sd =
            |span: &Span| format!("{} ({})", plain(span.value, digits), span.limits(&|v| plain(v, digits)));
        let mut out = format!("  {}: scatter of swings {}", self.label, sd(&self.swing));
        if let Some(day) = &self.day {
            out.push_str(&format!(", of days {}", sd(day)));
        }
        if let Some(between) = &self.between {
            out.push_str(&format!(", of players {}", sd(between)));
        }
        let mut table = Table::new(&[Left, Right, Right, Right]);
        let changes: Vec<String> = self.changes.iter().map(|c| plain(*c, digits)).collect();
        let head = with_unit("to see a change of,", &self.unit);
        let head = if self.unit.is_empty() { "to see a change of".to_string() } else { head };
        table.row(std::iter::once(head).chain(changes));
        table.rule();
        for design in &self.designs {
            let cells = design.needed.iter().map(count_text);
            table.row(std::iter::once(self.row_name(design)).chain(cells));
        }
        let head = crate::claim::wrapped(&with_unit(&out, &self.unit), "  ", "  ");
        format!("{head}\n{}\n", table.text())
    }

    fn row_name(&self, design: &DesignPlan) -> String {
        let of = crate::quantity::count(self.swings, "swing");
        match design.design {
            "one-player-one-day" => "one player, one day: swings a side".into(),
            "one-player-two-days" => "one player, two days: swings a day".into(),
            "one-player-days" => format!("one player: days a side, of {of}"),
            "same-players" => format!("before and after: players, of {of}"),
            _ => format!("two groups: players in each, of {of}"),
        }
    }

    /// Power over the count, and what trying gave.
    fn powers(&self) -> String {
        use Align::{Left, Right};
        let mut columns = vec![Left];
        columns.extend([Right; COUNTS.len()]);
        let mut table = Table::new(&columns);
        let counts = COUNTS.iter().map(usize::to_string);
        table.row(std::iter::once("chance of seeing it, with".to_string()).chain(counts));
        table.rule();
        for (k, design) in self.designs.iter().enumerate() {
            let cells = design.curve.iter().map(|p| plain(p.power, 2));
            let name = format!("{} {}", curve::mark(k), short(design));
            table.row(std::iter::once(name).chain(cells));
        }
        let change = with_unit(&plain(self.change(), self.digits), &self.unit);
        let mut out = format!("  {}, a change of {change}\n{}", self.label, table.text());
        let tried: Vec<String> = self
            .designs
            .iter()
            .enumerate()
            .filter_map(|(k, d)| {
                let t = d.tried?;
                Some(format!(
                    "{} {} {}: {} ({}), by formula {}",
                    curve::mark(k),
                    t.count,
                    d.counts,
                    plain(t.power.value, 2),
                    t.power.limits(&|v| plain(v, 2)),
                    plain(t.formula, 2)
                ))
            })
            .collect();
        if !tried.is_empty() {
            let line = format!("tried: {}", tried.join(" · "));
            out.push_str(&crate::claim::wrapped(&line, "  ", "  "));
            out.push('\n');
        }
        out + "\n"
    }
}

fn short(design: &DesignPlan) -> &'static str {
    match design.design {
        "one-player-one-day" => "one day, swings a side",
        "one-player-two-days" => "two days, swings a day",
        "one-player-days" => "days a side",
        "same-players" => "before and after, players",
        _ => "two groups, players in each",
    }
}
