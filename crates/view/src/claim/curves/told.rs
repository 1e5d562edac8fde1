//! The numbers of an answer from what was computed.
use super::case::Case;
use super::numbers::{
    AccountOf, CurveNumbers, EventOf, NumberOf, SetOf, StretchOf, TestOf, UnitOf, WarpOf, WayOf,
};
use super::words::direction;
use super::{Asking, Cutting, degrees, letter, rearrangements};
use evidence::curves::bands::Bands;
use evidence::curves::{By, Cluster, CurveTest};
use signal::stats;
use std::collections::BTreeSet;
use swing::events::Name;

impl Case<'_> {
    pub(super) fn numbers(&self, test: Option<&CurveTest>) -> CurveNumbers {
        let nodes = self.how.nodes;
        let percent: Vec<f64> = (0..nodes).map(|k| self.percent(k as f64)).collect();
        let seconds = percent.iter().map(|p| self.way.seconds(*p)).collect();
        let event = |(e, share): (&Name, &f64)| EventOf { event: e.name(), percent: 100.0 * share };
        let sets = self.cut.sets.iter().zip(&self.who.sets).zip(self.bands).enumerate();
        let set = |(k, ((s, units), b)): (usize, ((&Cutting, &Vec<super::Unit>), &Bands))| {
            let times = || s.curves.iter().map(|c| c.duration_s);
            let players: BTreeSet<&str> = s.curves.iter().map(|c| c.of.player.as_str()).collect();
            let warp = |c: &super::cut::Curve| WarpOf {
                swing: c.of.swing,
                events_percent: c.inner.iter().map(|s| 100.0 * s).collect(),
                moved_s: c.moved_s,
            };
            SetOf {
                letter: letter(k),
                named: s.of.named.clone(),
                players: players.len(),
                swings: s.curves.len(),
                duration_s: [
                    stats::mean(&times().collect::<Vec<_>>()),
                    times().fold(f64::NAN, f64::min),
                    times().fold(f64::NAN, f64::max),
                ],
                mean: b.mean.clone(),
                deviation: b.deviation.clone(),
                of_mean: b.of_mean.clone(),
                of_whole: b.of_whole.clone(),
                of_single: b.of_single.clone(),
                defined: b.defined.clone(),
                units: units
                    .iter()
                    .map(|u| UnitOf {
                        name: u.name.clone(),
                        swings: u.swings,
                        number: u.number,
                        values: u.values.clone(),
                    })
                    .collect(),
                warps: if self.cut.registered { s.curves.iter().map(warp).collect() } else { Vec::new() },
            }
        };
        let number = self.column().map(|c| {
            let all: Vec<f64> = self.who.sets.iter().flatten().map(|u| u.number).collect();
            NumberOf {
                id: c.measure.id.clone(),
                label: c.measure.label.clone(),
                unit: c.measure.unit.clone(),
                mean: stats::mean(&all),
                deviation: stats::standard_deviation(&all),
            }
        });
        let point = self.cut.sets.first().filter(|_| self.is_turn()).map(|s| s.of.point.clone());
        let mut out = CurveNumbers {
            outcome: "described",
            account: AccountOf {
                id: self.account().map_or("", |a| a.id),
                label: self.label(),
                unit: self.unit().to_string(),
                point,
            },
            way: WayOf {
                from: self.cut.from.name(),
                to: self.cut.to.name(),
                percent,
                anchor: self.way.anchor.name(),
                seconds,
                duration_s: self.way.duration_s,
                events: self.cut.inner.iter().zip(&self.cut.shares).map(event).collect(),
                registered: self.cut.registered,
            },
            counted: self.noun(),
            level_percent: self.level(),
            sets: sets.map(set).collect(),
            number,
            test: None,
        };
        out.test = test.map(|t| self.test(t, &out));
        out.outcome = match (self.asking, test) {
            (Asking::Shape, _) => "described",
            (_, None) => "cannot be told",
            (_, Some(t)) if least(t) > self.how.alpha => "cannot be told",
            (Asking::Along(_), Some(t)) if !t.clusters.is_empty() => "follow",
            (_, Some(t)) if !t.clusters.is_empty() => "differ",
            _ => "no difference seen",
        };
        out
    }

    fn test(&self, t: &CurveTest, numbers: &CurveNumbers) -> TestOf {
        let per = self.column().map_or(String::new(), |c| {
            if c.measure.unit.is_empty() { String::new() } else { format!(" per {}", c.measure.unit) }
        });
        let finite = |v: f64| if v.is_finite() { v } else { f64::NAN };
        let fwhm = match t.by {
            By::Field(field) => self.percent(field.fwhm),
            By::Permutation { .. } => f64::NAN,
        };
        let looked = rearrangements(t.by);
        TestOf {
            name: self.name,
            method: if looked.is_some() { "permutation" } else { "field" },
            degrees: degrees(t.kind),
            statistic: t.statistic.clone(),
            threshold: finite(t.threshold),
            p: t.p,
            alpha: t.rule.alpha,
            difference: t.estimate.clone(),
            difference_unit: format!("{}{per}", self.unit()),
            would_pass: t.se.iter().map(|s| finite(t.threshold * s)).collect(),
            stretches: t.clusters.iter().map(|c| self.stretch(c, t, numbers)).collect(),
            not_tested: t
                .left_out()
                .iter()
                .map(|s| [self.percent(s.start as f64), self.percent(s.end.saturating_sub(1) as f64)])
                .collect(),
            smoothness_percent: fwhm,
            rearrangements: looked.map(|(n, _)| n),
            exact: looked.map(|(_, exact)| exact),
        }
    }

    fn stretch(&self, c: &Cluster, t: &CurveTest, numbers: &CurveNumbers) -> StretchOf {
        let (from, to) = (self.percent(c.from), self.percent(c.to));
        let first = c.from.ceil().min(c.peak as f64) as usize;
        let last = c.to.floor().max(c.peak as f64) as usize;
        let inside = |curve: &[f64]| {
            let here: Vec<f64> = curve.iter().copied().skip(first).take(last + 1 - first).collect();
            stats::mean(&here)
        };
        // Where the difference is largest, which need not be where it is surest.
        let size = |q: &usize| t.estimate.get(*q).map_or(f64::NAN, |v| v.abs());
        let within = first..last + 1;
        let largest = within.filter(|q| size(q).is_finite()).max_by(|a, b| size(a).total_cmp(&size(b)));
        let largest = largest.unwrap_or(c.peak);
        let at = |of: &[f64]| of.get(largest).copied().unwrap_or(f64::NAN);
        let (difference, half) = (at(&t.estimate), t.threshold * at(&t.se));
        let direction = match (self.account(), numbers.sets.as_slice(), &numbers.number) {
            (Some(account), [only], Some(number)) => {
                let (mean, slope) = (inside(&only.mean), inside(&t.estimate) * number.deviation);
                let way = direction(account, [mean + slope, mean - slope], "", "with less");
                format!("with more {} {way}", number.label)
            }
            (Some(account), [a, b], None) => {
                format!(
                    "in B {}",
                    direction(account, [inside(&b.mean), inside(&a.mean)], "than in A", "in A")
                )
            }
            (_, sets, _) => {
                let here = |s: &SetOf| s.mean.get(c.peak).copied().unwrap_or(f64::NAN);
                let by = |a: &&SetOf, b: &&SetOf| here(a).total_cmp(&here(b));
                let name = |s: Option<&SetOf>| s.map_or(String::new(), |s| s.letter.clone());
                let most = name(sets.iter().max_by(by));
                format!("it is greatest in {most}, least in {}", name(sets.iter().min_by(by)))
            }
        };
        StretchOf {
            from_percent: from,
            to_percent: to,
            from_s: self.way.seconds(from),
            to_s: self.way.seconds(to),
            place: self.way.stretch(from, to),
            direction,
            peak_percent: self.percent(c.peak as f64),
            peak_statistic: c.peak_statistic,
            largest_percent: if difference.is_finite() { self.percent(largest as f64) } else { f64::NAN },
            largest: difference,
            largest_interval: [difference - half, difference + half],
            p: c.p,
        }
    }
}

/// The least p that any rearrangement could get; 0 by field.
fn least(t: &CurveTest) -> f64 {
    match t.by {
        By::Permutation { least_p, .. } => least_p,
        By::Field(_) => 0.0,
    }
}
