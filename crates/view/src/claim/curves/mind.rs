//! What a reader must mind.
use super::case::Case;
use super::numbers::CurveNumbers;
use super::words::the;
use super::{Asking, Cutting, Method, Register};
use crate::claim::players::{listed, verb};
use crate::quantity::{count, plain};
use evidence::curves::{By, CurveTest};
use signal::stats;
use std::collections::BTreeSet;
use swing::events::Name;
use swing::metrics::Unit;

/// Mean places of an event that are told as apart, ms. Ours.
const APART_MS: f64 = 10.0;
/// Scatter so many times another is no longer alike. Ours.
const UNEVEN: f64 = 2.0;
/// Fewer are few. Ours.
const FEW: usize = 5;

impl Case<'_> {
    pub(super) fn caveats(&self, numbers: &CurveNumbers, test: Option<&CurveTest>) -> Vec<String> {
        let mut all = self.of_events();
        all.extend(self.of_whom());
        all.extend(self.of_recordings());
        if let Some(test) = test {
            all.extend(self.of_test(numbers, test));
        }
        all
    }

    /// Where curves were cut, and what time does to them.
    fn of_events(&self) -> Vec<String> {
        let mut all: Vec<String> = self.cut.why.iter().cloned().collect();
        if self.cut.estimated > 0 {
            all.push(format!(
                "In {} an event is an estimate: what is there at which time is as unsure.",
                count(self.cut.estimated, "swing")
            ));
        }
        if self.cut.registered {
            all.push(
                "Registered: differences in timing were taken out of the curves; they stand under \"moved by\" (in --json, swing by \
                 swing)."
                    .into(),
            );
        } else if self.how.register == Register::Landmarks {
            all.push(format!(
                "Not registered: no event between {} is known in every swing.",
                self.way.ends().replace(" to ", " and ")
            ));
        } else if let Some((event, ms)) = self.apart().filter(|(_, ms)| *ms >= APART_MS) {
            all.push(format!(
                "On the means of the choices {} comes {} ms apart: a difference in timing also shows as one in height beside it; \
                 --register takes it out.",
                the(&[event]),
                plain(ms, 0)
            ));
        }
        all
    }

    /// Who speaks here.
    fn of_whom(&self) -> Vec<String> {
        let mut all = Vec::new();
        let of = self.cut.sets.iter().flat_map(|s| s.curves.iter().map(|c| c.of.player.clone()));
        let players: Vec<String> = of.collect::<BTreeSet<String>>().into_iter().collect();
        if !self.who.players && !matches!(self.asking, Asking::Shape) {
            let swings = match players.as_slice() {
                [_] => "one player's swings are counted",
                _ => "the swings of one player each are counted",
            };
            all.push(format!("It speaks of {} only: {swings}.", listed(&players)));
        }
        if self.days() {
            all.push(
                "The choices are different sessions: that days differ by themselves would look the same, and how far days lie apart is \
                 not taken off here (`underfoot repeat` tells it of metrics)."
                    .into(),
            );
        }
        if self.column().is_some() && self.who.players {
            all.push("Between players: it says nothing of what a player's own swings do.".into());
        }
        all
    }

    /// What was recorded how.
    fn of_recordings(&self) -> Vec<String> {
        let mut all = Vec::new();
        let stale: usize = self.cut.sets.iter().map(|s| s.of.stale).sum();
        if stale > 0 {
            let which = verb(stale, "swing", "is", "are");
            all.push(format!("{which} out of date; `underfoot study rebuild --changed` measures again."));
        }
        let swings = || self.cut.sets.iter().flat_map(|s| s.curves.iter().map(|c| c.of));
        let rigs: BTreeSet<&str> = swings().map(|s| s.rig.as_str()).collect();
        if rigs.len() > 1 {
            all.push(format!(
                "{} rigs are in it; what one of them measures differently does not cancel (`underfoot agree`).",
                rigs.len()
            ));
        }
        let feet: BTreeSet<Option<u8>> = swings().map(|s| s.feet).collect();
        let collapsed = self.cut.sets.iter().all(|s| s.of.collapse);
        if feet.contains(&Some(1)) && feet.contains(&Some(2)) && !collapsed {
            all.push(
                "Swings on one plate stand beside swings with a plate for each foot; --collapse measures all as on one plate.".into(),
            );
        }
        let of_set = |s: &Cutting| s.curves.iter().map(|c| c.of.club.as_str()).collect::<BTreeSet<_>>().len();
        if self.cut.sets.iter().any(|s| of_set(s) > 1) {
            let clubs: BTreeSet<&str> = swings().map(|s| s.club.as_str()).collect();
            let named = |c: &&str| if c.is_empty() { "not stated".to_string() } else { (*c).to_string() };
            all.push(format!(
                "Several clubs are in one choice ({}): what differs between them is in it; --club keeps to one.",
                listed(&clubs.iter().map(named).collect::<Vec<_>>())
            ));
        }
        if self.account().is_some_and(|a| a.unit == Unit::Metre) {
            all.push("The centre of pressure is told from the rig's centre: where a player stood on it counts too.".into());
        }
        all
    }

    /// What the test supposes, and what it did not look at.
    fn of_test(&self, numbers: &CurveNumbers, test: &CurveTest) -> Vec<String> {
        let mut all = Vec::new();
        let stretch = |[a, b]: &[f64; 2]| {
            let (from, to) = (plain(*a, 0), plain(*b, 0));
            if from == to { format!("{from} %") } else { format!("{from} to {to} %") }
        };
        let gaps: Vec<String> = numbers.test.iter().flat_map(|t| &t.not_tested).map(stretch).collect();
        let nodes = test.statistic.len();
        let out = nodes - test.tested.iter().map(std::ops::Range::len).sum::<usize>();
        if out > 0 {
            let why =
                if test.without_scatter == out { "nothing scatters" } else { "not every curve is defined" };
            all.push(format!("Not looked at: {} ({out} of {nodes} nodes), where {why}.", listed(&gaps)));
        }
        if matches!(test.by, By::Field(_)) {
            all.push("By field it is supposed that scatter is nearly normal and smooth; permutation supposes neither.".into());
        }
        if matches!(self.name, "F of choices" | "Student's t") && self.uneven() > UNEVEN {
            all.push(format!(
                "One choice scatters {} times as much as another, and this test takes scatter as alike: what it finds may be that.",
                plain(self.uneven(), 1)
            ));
        }
        let fewest = self.who.sets.iter().map(Vec::len).min().unwrap_or(0);
        if self.how.method == Method::Permutation && fewest < FEW {
            all.push(format!("Few {}s: only large differences can be seen.", self.noun()));
        }
        all
    }

    /// The event whose mean place differs most between the choices, and by how much, ms.
    fn apart(&self) -> Option<(Name, f64)> {
        let places = |k: usize| -> Vec<f64> {
            self.cut
                .sets
                .iter()
                .map(|s| {
                    stats::mean(&s.curves.iter().filter_map(|c| c.inner.get(k).copied()).collect::<Vec<_>>())
                })
                .collect()
        };
        let width = |k: usize| {
            let all = places(k);
            let ends = stats::extent(&all);
            ends.map_or(0.0, |(low, high)| 1e3 * (high - low) * self.way.duration_s)
        };
        let all = self.cut.inner.iter().enumerate().map(|(k, e)| (*e, width(k)));
        all.max_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// How many times as much the widest choice scatters as the narrowest, by the middle of each one's deviations along the curve.
    fn uneven(&self) -> f64 {
        let middle: Vec<f64> = self
            .bands
            .iter()
            .map(|b| {
                let mut all: Vec<f64> = b.deviation.iter().copied().filter(|v| v.is_finite()).collect();
                all.sort_by(f64::total_cmp);
                all.get(all.len() / 2).copied().unwrap_or(f64::NAN)
            })
            .collect();
        stats::extent(&middle).map_or(f64::NAN, |(low, high)| high / low)
    }
}
