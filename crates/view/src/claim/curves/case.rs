//! A question about curves with everything that its sentences are made from.
use super::cut::Cut;
use super::units::Units;
use super::words::Way;
use super::{Asking, Cutting, How, letter};
use crate::claim::players::listed;
use crate::claim::table::{Account, Column};
use evidence::curves::bands::Bands;
use std::collections::BTreeSet;
use swing::metrics::Unit;

/// Everything that sentences are made from.
pub(super) struct Case<'a> {
    pub asking: Asking<'a>,
    pub how: &'a How,
    pub cut: &'a Cut<'a>,
    pub who: &'a Units,
    pub bands: &'a [Bands],
    pub way: &'a Way,
    pub name: &'static str,
}

impl Case<'_> {
    pub(super) fn account(&self) -> Option<&Account> {
        self.cut.sets.first().map(|s| &s.of.account)
    }

    pub(super) fn label(&self) -> &'static str {
        self.account().map_or("", |a| a.label)
    }

    pub(super) fn unit(&self) -> &str {
        self.cut.sets.first().map_or("", |s| s.of.unit.as_str())
    }

    pub(super) fn noun(&self) -> &'static str {
        if self.who.players { "player" } else { "swing" }
    }

    pub(super) fn is_turn(&self) -> bool {
        self.account().is_some_and(|a| {
            a.unit == Unit::NewtonMetre && (a.id.starts_with("turn") || a.id == "entry.offset")
        })
    }

    /// The column that curves are asked to follow.
    pub(super) fn column(&self) -> Option<&Column> {
        match self.asking {
            Asking::Along(table) => table.columns.first(),
            _ => None,
        }
    }

    pub(super) fn percent(&self, node: f64) -> f64 {
        100.0 * node / self.how.nodes.saturating_sub(1).max(1) as f64
    }

    /// Level of bands and intervals, %.
    pub(super) fn level(&self) -> f64 {
        100.0 * (1.0 - self.how.alpha)
    }

    /// True where the choices are different sessions of one player.
    pub(super) fn days(&self) -> bool {
        let all = || self.cut.sets.iter().flat_map(|s| s.curves.iter().map(|c| c.of));
        let players: BTreeSet<&str> = all().map(|s| s.player.as_str()).collect();
        let of_set = |s: &Cutting| s.curves.iter().map(|c| c.of.session).collect::<BTreeSet<_>>().len();
        let apart: usize = self.cut.sets.iter().map(of_set).sum();
        let sessions: BTreeSet<i64> = all().map(|s| s.session).collect();
        !self.who.players && players.len() == 1 && self.cut.sets.len() > 1 && sessions.len() == apart
    }

    /// "Does net force up differ between A (alder in session 3) and B (…), anywhere from takeaway to impact?"
    pub(super) fn question(&self) -> String {
        let named: Vec<String> = self
            .cut
            .sets
            .iter()
            .enumerate()
            .map(|(k, s)| {
                if self.cut.sets.len() == 1 {
                    s.of.named.clone()
                } else {
                    format!("{} ({})", letter(k), s.of.named)
                }
            })
            .collect();
        let (label, ends, all) = (self.label(), self.way.ends(), listed(&named));
        match self.asking {
            Asking::Shape => format!("How does {label} go from {ends} ({all})?"),
            Asking::Differ | Asking::Paired if self.who.paired => {
                format!("Does {label} of the same players differ between {all}, anywhere from {ends}?")
            }
            Asking::Differ | Asking::Paired => {
                format!("Does {label} differ between {all}, anywhere from {ends}?")
            }
            Asking::Along(_) => {
                let number = self.column().map_or("", |c| c.measure.label.as_str());
                format!("Does {label} follow {number}, anywhere from {ends} ({all})?")
            }
        }
    }
}
