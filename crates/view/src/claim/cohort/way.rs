//! Curves of players, cut between the same two events: what placing a curve and looking for shapes have in common.
use crate::claim::curves::cut::{Curve, Cut, cut};
use crate::claim::curves::words::Way;
use crate::claim::curves::{EventOf, How, Method, NoCurves, Register, Tails, WayOf};
use crate::claim::players::verb;
use crate::claim::table::Traces;
use crate::claim::{Counted, LeftOut, Setting};
use crate::quantity::count;
use evidence::curves::bands::averaged;
use signal::stats;
use std::collections::BTreeSet;
use swing::events::Name;

/// Between which events curves are cut, and how. No hidden default.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ends {
    /// First event; otherwise takeaway.
    pub from: Option<Name>,
    /// Last event; otherwise impact where every swing has it, else finish.
    pub to: Option<Name>,
    /// Whether estimated events are taken.
    pub estimates: bool,
    /// Whether events on the way are laid over one another.
    pub register: Register,
    /// Nodes of a curve.
    pub nodes: usize,
}

/// Nodes that a curve may have: as for `underfoot curves`.
const NODES: std::ops::RangeInclusive<usize> = 11..=2001;

/// The most of a curve that may be missing, of all nodes. Source: common practice, no source.
const MISSING: f64 = 0.1;

/// Curves cut alike, and where along the swing their nodes are.
pub(in crate::claim) struct Alike<'a> {
    pub cut: Cut<'a>,
    pub way: Way,
    pub shown: WayOf,
    /// Swings left out, and why.
    pub left_out: Vec<LeftOut>,
}

/// Cuts choices of swings alike; a curve that lacks more than a tenth of its nodes is left out.
///
/// Errors: as `underfoot curves` has them.
pub(in crate::claim) fn alike<'a>(sets: &'a [Traces], ends: &Ends) -> Result<Alike<'a>, NoCurves> {
    if !NODES.contains(&ends.nodes) {
        return Err(NoCurves {
            what: format!("{} nodes are too few or too many", ends.nodes),
            remedy: format!("state --nodes from {} to {}", NODES.start(), NODES.end()),
        });
    }
    let how = How {
        from: ends.from,
        to: ends.to,
        estimates: ends.estimates,
        nodes: ends.nodes,
        register: ends.register,
        // Nothing is tested.
        method: Method::Permutation,
        alpha: 0.05,
        tails: Tails::Both,
        permutations: 0,
        seed: 1,
    };
    let mut cut = cut(sets, &how)?;
    let mut left_out: Vec<LeftOut> = cut.sets.iter().flat_map(|s| s.left_out.clone()).collect();
    let mut gaps = 0;
    for set in &mut cut.sets {
        let before = set.curves.len();
        let missing = |c: &Curve| c.values.iter().filter(|v| v.is_nan()).count() as f64;
        set.curves.retain(|c| missing(c) <= MISSING * ends.nodes as f64);
        gaps += before - set.curves.len();
    }
    if gaps > 0 {
        let why = "more than a tenth of the curve is not defined".into();
        left_out.push(LeftOut { what: count(gaps, "swing"), why });
    }
    let duration: Vec<f64> = cut.sets.iter().flat_map(|s| s.curves.iter().map(|c| c.duration_s)).collect();
    let way = Way::of(&cut, stats::mean(&duration));
    let percent: Vec<f64> = percents(ends.nodes);
    let shown = WayOf {
        from: cut.from.name(),
        to: cut.to.name(),
        anchor: way.anchor.name(),
        seconds: percent.iter().map(|p| way.seconds(*p)).collect(),
        duration_s: way.duration_s,
        events: cut
            .inner
            .iter()
            .zip(&cut.shares)
            .map(|(e, share)| EventOf { event: e.name(), percent: 100.0 * share })
            .collect(),
        registered: cut.registered,
        percent,
    };
    Ok(Alike { cut, way, shown, left_out })
}

/// Places of the nodes, %.
fn percents(nodes: usize) -> Vec<f64> {
    let last = nodes.saturating_sub(1).max(1) as f64;
    (0..nodes).map(|k| 100.0 * k as f64 / last).collect()
}

/// The curves of a player.
pub(in crate::claim) struct PlayersCurves {
    pub alias: String,
    /// Numbers of the swings.
    pub swings: Vec<i64>,
    /// A curve a swing.
    pub curves: Vec<Vec<f64>>,
}

impl PlayersCurves {
    /// Their mean; NaN at nodes that some of them lack.
    pub fn mean(&self) -> Vec<f64> {
        let found = averaged(&self.curves, &vec![0; self.curves.len()]);
        found.into_iter().next().map_or(Vec::new(), |(_, mean)| mean)
    }
}

/// Curves by player, players by name.
pub(in crate::claim) fn by_player(curves: &[Curve]) -> Vec<PlayersCurves> {
    let names: BTreeSet<&str> = curves.iter().map(|c| c.of.player.as_str()).collect();
    let of = |name: &str| {
        let own = || curves.iter().filter(|c| c.of.player == name);
        PlayersCurves {
            alias: name.to_string(),
            swings: own().map(|c| c.of.swing).collect(),
            curves: own().map(|c| c.values.clone()).collect(),
        }
    };
    names.into_iter().map(of).collect()
}

/// What curves rest on.
pub(in crate::claim) fn counted(curves: &[Curve]) -> Counted {
    Counted {
        players: curves.iter().map(|c| c.of.player.as_str()).collect::<BTreeSet<_>>().len(),
        sessions: curves.iter().map(|c| c.of.session).collect::<BTreeSet<_>>().len(),
        swings: curves.len(),
    }
}

/// What must be minded of curves whatever is asked.
pub(in crate::claim) fn caveats(of: &Alike, ends: &Ends) -> Vec<String> {
    let mut all: Vec<String> = of.cut.why.iter().map(|why| format!("{why}.")).collect();
    let stale: usize = of.cut.sets.iter().map(|s| s.of.stale).sum();
    if stale > 0 {
        all.push(format!(
            "{} out of date; `underfoot study rebuild --changed` measures again.",
            verb(stale, "swing", "is", "are")
        ));
    }
    if of.cut.estimated > 0 {
        all.push(format!(
            "In {} an event is an estimate: what is there at which time is as unsure.",
            count(of.cut.estimated, "swing")
        ));
    }
    if ends.register == Register::Landmarks && !of.cut.registered {
        all.push(format!(
            "Not registered: no event between {} and {} is known in every swing.",
            of.shown.from, of.shown.to
        ));
    }
    if of.cut.registered {
        all.push("Registered: differences in the timing of events were taken out of the curves.".into());
    }
    all
}

/// What was chosen of the cut.
pub(in crate::claim) fn settings(of: &Alike, ends: &Ends) -> Vec<Setting> {
    vec![
        Setting::of("from-event", of.shown.from),
        Setting::of("to-event", of.shown.to),
        Setting::of("nodes", ends.nodes),
        Setting::of("register", if of.cut.registered { "yes" } else { "no" }),
    ]
}
