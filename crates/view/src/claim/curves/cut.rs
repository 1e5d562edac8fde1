//! Recordings cut between two events and brought to the same nodes.
use super::{How, NoCurves, Register};
use crate::claim::LeftOut;
use crate::claim::table::{SwingOf, Trace, Traces};
use crate::quantity::count;
use evidence::curves::{Warp, between, mean_shares};
use std::collections::BTreeMap;
use swing::events::Name;

/// A swing's curve.
#[derive(Clone, Debug)]
pub(in crate::claim) struct Curve<'a> {
    /// Whose it is.
    pub of: &'a SwingOf,
    /// A value a node; NaN where not defined.
    pub values: Vec<f64>,
    /// Time between the two events, s.
    pub duration_s: f64,
    /// Where its inner events lie, as shares of that time: those of [`Cut::inner`].
    pub inner: Vec<f64>,
    /// The largest move of registration, s; 0 where nothing was moved.
    pub moved_s: f64,
}

/// The curves of one choice of swings.
#[derive(Clone, Debug)]
pub(in crate::claim) struct Cutting<'a> {
    /// The choice.
    pub of: &'a Traces,
    /// Its curves, in its order.
    pub curves: Vec<Curve<'a>>,
    /// Swings without the events, and why.
    pub left_out: Vec<LeftOut>,
}

/// All choices, cut alike.
#[derive(Clone, Debug)]
pub(in crate::claim) struct Cut<'a> {
    pub from: Name,
    pub to: Name,
    /// Why they are not cut from takeaway to impact although nothing else was asked for.
    pub why: Option<String>,
    /// Events between the two that every swing has.
    pub inner: Vec<Name>,
    /// Where these lie on the mean, as shares.
    pub shares: Vec<f64>,
    /// True where every curve's inner events were laid there.
    pub registered: bool,
    /// Swings in which an event that was used is an estimate.
    pub estimated: usize,
    pub sets: Vec<Cutting<'a>>,
}

/// When an event was, s; `None` where it was not seen, or is an estimate and these are not wanted.
fn seen(trace: &Trace, event: Name, estimates: bool) -> Option<f64> {
    let k = event as usize;
    let wanted = estimates || trace.estimated.get(k) == Some(&false);
    trace.events_s.get(k).copied().filter(|t| wanted && t.is_finite())
}

/// Why an event is missing.
fn missing(trace: &Trace, event: Name) -> String {
    let known = trace.events_s.get(event as usize).is_some_and(|t| t.is_finite());
    if known {
        format!("{} is only an estimate", event.name())
    } else {
        format!("no {} was found", event.name())
    }
}

/// The two events, and why they are not the usual ones.
fn ends(sets: &[Traces], how: &How) -> (Name, Name, Option<String>) {
    let from = how.from.unwrap_or(Name::Takeaway);
    if let Some(to) = how.to {
        return (from, to, None);
    }
    let begun = || sets.iter().flat_map(|s| &s.traces).filter(|t| seen(t, from, how.estimates).is_some());
    let without = begun().filter(|t| seen(t, Name::Impact, how.estimates).is_none()).count();
    if without == 0 {
        return (from, Name::Impact, None);
    }
    let estimates = begun().filter(|t| t.estimated.get(Name::Impact as usize) == Some(&true)).count();
    let only = if estimates > 0 && !how.estimates { " (an estimate is not taken for it)" } else { "" };
    let why = format!(
        "{} of {} have no impact{only}, so curves run to the finish; --to-event impact leaves those out",
        without,
        count(begun().count(), "swing")
    );
    (from, Name::Finish, Some(why))
}

/// Cuts every choice between the same two events. Errors: events not in order; a choice of which no swing has both.
pub(in crate::claim) fn cut<'a>(sets: &'a [Traces], how: &How) -> Result<Cut<'a>, NoCurves> {
    let (from, to, why) = ends(sets, how);
    if from >= to {
        return Err(NoCurves {
            what: format!("{} does not come before {}", from.name(), to.name()),
            remedy: "state an earlier --from-event, or a later --to-event".into(),
        });
    }
    let whole = |t: &Trace| {
        Some((seen(t, from, how.estimates)?, seen(t, to, how.estimates)?)).filter(|(from, to)| from < to)
    };
    let between_them = Name::ALL.into_iter().filter(|e| *e > from && *e < to);
    let kept = || sets.iter().flat_map(|s| &s.traces).filter(|t| whole(t).is_some());
    let inner: Vec<Name> =
        between_them.filter(|e| kept().all(|t| seen(t, *e, how.estimates).is_some())).collect();
    let shares_of = |t: &Trace, (from_s, to_s): (f64, f64)| -> Vec<f64> {
        let share =
            |e: &Name| seen(t, *e, how.estimates).map_or(f64::NAN, |s| (s - from_s) / (to_s - from_s));
        inner.iter().map(share).collect()
    };
    let in_order = |shares: &[f64]| mean_shares(&[shares.to_vec()]).is_some();
    let placed: Vec<Vec<f64>> = kept()
        .filter_map(|t| whole(t).map(|ends| shares_of(t, ends)))
        .filter(|shares| in_order(shares))
        .collect();
    let shares = mean_shares(&placed).unwrap_or_default();
    let registered = how.register == Register::Landmarks && !shares.is_empty();
    let used =
        |t: &Trace| [from, to].iter().chain(&inner).any(|e| t.estimated.get(*e as usize) == Some(&true));
    let estimated = kept().filter(|t| used(t)).count();
    let cutting = |of: &'a Traces| -> Cutting<'a> {
        let mut reasons: BTreeMap<String, usize> = BTreeMap::new();
        let mut curves = Vec::new();
        for (swing, trace) in of.swings.iter().zip(&of.traces) {
            let Some(ends) = whole(trace) else {
                let gone = [from, to].into_iter().find(|e| seen(trace, *e, how.estimates).is_none());
                let why = gone.map_or("its events are not in order".into(), |e| missing(trace, e));
                *reasons.entry(why).or_default() += 1;
                continue;
            };
            let own = shares_of(trace, ends);
            if !own.is_empty() && !in_order(&own) {
                *reasons.entry("its events are not in order".into()).or_default() += 1;
                continue;
            }
            let warp = if registered { Warp::between(&shares, &own) } else { None };
            let at = (trace.rate_hz, trace.start_s);
            let duration_s = ends.1 - ends.0;
            curves.push(Curve {
                of: swing,
                values: between(&trace.values, at, ends, how.nodes, warp.as_ref()),
                duration_s,
                inner: own,
                moved_s: warp.map_or(0.0, |w| w.size(how.nodes) * duration_s),
            });
        }
        let left_out = reasons.into_iter().map(|(why, n)| LeftOut { what: count(n, "swing"), why }).collect();
        Cutting { of, curves, left_out }
    };
    let sets: Vec<Cutting<'a>> = sets.iter().map(cutting).collect();
    if let Some(none) = sets.iter().find(|s| s.curves.is_empty()) {
        let why = none.left_out.first().map_or(String::new(), |l| format!(": {}", l.why));
        return Err(NoCurves {
            what: format!(
                "no swing of {} can be cut from {} to {}{why}",
                none.of.named,
                from.name(),
                to.name()
            ),
            remedy: "choose other events with --from-event and --to-event; place them with `underfoot event`; --estimates takes estimates \
                     for them"
                .into(),
        });
    }
    Ok(Cut { from, to, why, inner, shares, registered, estimated, sets })
}
