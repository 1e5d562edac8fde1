//! "Is it a real change?": two choices of swings compared, metric by metric. All differences are B minus A: from A to B.
//!
//! The rule of the verdicts is written out in docs/evidence/change.md; [`evidence::change`] decides by it.
mod rows;
mod side;
#[cfg(test)]
mod tests;
mod text;
mod words;

pub use evidence::change::Pairing;
pub use evidence::many::Control;
pub use rows::{Detected, Limits, Model, OfPlayer, Row, Size};
pub use side::SideView;

use super::table::Table;
use super::{Answer, LeftOut, Numbers, Setting};
use evidence::Spread;
use evidence::change::{Design, How, Judged, Verdict, change, judged};
use evidence::many::adjusted;
use serde::Serialize;
use side::Sides;

/// Metrics that are looked at where none is named: how hard the ground pushes in each direction and turns, when two of these
/// peak, how long the parts last, and where the weight is. A metric of each kind, so that few are looked at at once.
///
/// Source: ours; the accounts and their peaks as in docs/metrics.md.
pub const USUAL: [&str; 12] = [
    "up.net.most",
    "up.lead.most",
    "target.net.most",
    "target.net.least",
    "toe.net.most",
    "turn.net-cop.most",
    "up.net.most.before-impact",
    "turn.net-cop.most.before-impact",
    "lasts.downswing",
    "tempo",
    "at.top.lead-share",
    "cop.net.target.extent",
];

/// How it is done. No hidden default.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked {
    /// What is paired.
    pub pairing: Pairing,
    /// Which promise is kept when many metrics are looked at.
    pub control: Control,
    /// Probability of chance under which a change may be called clear.
    pub alpha: f64,
    /// Level of intervals.
    pub level: f64,
    /// Resamples of the intervals.
    pub resamples: usize,
    /// Up to so many rearrangements are gone through; beyond, so many are drawn.
    pub permutations: usize,
    /// Seed of chance.
    pub seed: u64,
}

/// The numbers of a comparison.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ChangeNumbers {
    /// How the sides lie to each other: "one player", "one player, swings paired in order", "two players", "paired players", "two groups".
    pub design: &'static str,
    /// What varies freely: "swing", "pair of swings", "player".
    pub unit: &'static str,
    /// The first side.
    pub a: SideView,
    /// The second side.
    pub b: SideView,
    /// Metrics whose probabilities were adjusted together.
    pub looked_at: usize,
    /// "Holm" or "Benjamini–Hochberg".
    pub control: &'static str,
    /// Probability under which a change may be called clear.
    pub alpha: f64,
    /// Level of intervals.
    pub level: f64,
    /// How many metrics have each verdict.
    pub verdicts: Verdicts,
    /// Metric by metric.
    pub metrics: Vec<Row>,
}

/// How many metrics have each verdict.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Verdicts {
    /// Changed clearly.
    pub clear: usize,
    /// Differs between these days; how far days differ by themselves is not known.
    pub between_days: usize,
    /// The witnesses do not agree.
    pub unclear: usize,
    /// No more than noise.
    pub within_noise: usize,
    /// Too few values for any answer.
    pub cannot_be_told: usize,
}

impl Numbers for ChangeNumbers {
    const SCHEMA: &'static str = "underfoot.change/1";
    fn text(&self) -> String {
        text::text(self)
    }
}

/// True where the question is about one player, or two: then other days of players tell how far days differ ([`compared`]).
pub fn about_swings(a: &Table, b: &Table, pairing: Pairing) -> bool {
    let who = |t: &Table| -> Vec<String> { t.swings.iter().map(|s| s.player.clone()).collect() };
    !side::chosen(&who(a), &who(b), pairing).design.of_subjects()
}

/// Compares two choices of swings that were asked for the same measures. `around`: other swings of the study, which tell how
/// far the days of a player differ; for questions about one player.
pub fn compared(
    a: &Table,
    b: &Table,
    around: Option<&Table>,
    asked: &Asked,
    spread: &impl Spread,
) -> Answer<ChangeNumbers> {
    let sides = Sides::of(a, b, around, asked.pairing);
    let how = How {
        level: asked.level,
        resamples: asked.resamples,
        permutations: asked.permutations,
        seed: asked.seed,
    };
    let mut found = Vec::new();
    let mut days_of = std::collections::BTreeMap::new();
    let (mut one_sided, mut days_from) = (Vec::new(), None);
    for (k, (of_a, of_b)) in a.columns.iter().zip(&b.columns).enumerate() {
        let values = sides.values(of_a, of_b);
        let missing = [(&values.0, of_a, "A"), (&values.1, of_b, "B")]
            .into_iter()
            .find(|(side, _, _)| side.iter().all(|v| v.value.is_nan()));
        if let Some((_, column, name)) = missing {
            let why = column.absent.first().map_or("it is not defined there", |l| l.why.as_str());
            one_sided.push((of_a.measure.label.clone(), format!("no swing of {name} has it: {why}")));
            continue;
        }
        let days = sides.days(k);
        days_from = days_from.max(days.as_ref().map(|d| (d.players, d.days)));
        let known = days.as_ref().map(|d| &d.known);
        let one = change(&values.0, &values.1, &sides.chosen, known, &how, spread);
        if let Some(alias) = days.as_ref().and_then(|d| d.most).filter(|_| one.detectable.of_occasions > 0.0)
        {
            *days_of.entry(alias).or_insert(0_usize) += 1;
        }
        found.push((k, one));
    }
    // What cannot be told whatever the values are is not looked at.
    let open = |p: &evidence::permutation::Permuted| if p.least > asked.alpha { f64::NAN } else { p.p };
    let p: Vec<f64> = found.iter().map(|(_, c)| open(&c.permuted)).collect();
    let together = adjusted(&p, asked.control);
    let looked_at = p.iter().filter(|v| !v.is_nan()).count();
    let judged: Vec<Judged> =
        found.iter().zip(&together).map(|((_, c), p)| judged(c, *p, asked.alpha)).collect();
    let least = words::least(&found, asked, looked_at);
    let case = words::Case { sides: &sides, asked, looked_at, least, days_from, days_of };
    let metrics: Vec<Row> = found
        .iter()
        .zip(&together)
        .zip(&judged)
        .filter_map(|(((k, c), p), verdict)| {
            let (of_a, of_b) = (a.columns.get(*k)?, b.columns.get(*k)?);
            let mut row = rows::row(of_a, of_b, c, *p, verdict, &sides);
            row.said = words::said(&row, c, verdict, &case);
            Some(row)
        })
        .collect();
    let mut verdicts = Verdicts::default();
    for one in &judged {
        *match one.verdict {
            Verdict::Clear => &mut verdicts.clear,
            Verdict::BetweenDays => &mut verdicts.between_days,
            Verdict::Unclear => &mut verdicts.unclear,
            Verdict::WithinNoise => &mut verdicts.within_noise,
            Verdict::CannotBeTold => &mut verdicts.cannot_be_told,
        } += 1;
    }
    let numbers = ChangeNumbers {
        design: design_word(sides.chosen.design),
        unit: unit_word(sides.chosen.design),
        a: sides.view(a, 0),
        b: sides.view(b, 1),
        looked_at,
        control: control_word(asked.control),
        alpha: asked.alpha,
        level: asked.level,
        verdicts,
        metrics,
    };
    Answer {
        schema: ChangeNumbers::SCHEMA,
        question: words::question(&numbers, &sides),
        verdict: words::verdict(&numbers, &case),
        counted: sides.counted(),
        left_out: left_out(&sides, a, b, one_sided),
        method: words::method(&numbers, &found.iter().map(|f| &f.1).collect::<Vec<_>>(), &case),
        settings: settings(asked, a),
        caveats: words::caveats(&numbers, &found.iter().map(|f| &f.1).collect::<Vec<_>>(), &case, a, b),
        numbers,
    }
}

fn design_word(design: Design) -> &'static str {
    match design {
        Design::OneSubject => "one player",
        Design::OneSubjectInOrder => "one player, swings paired in order",
        Design::TwoSubjects => "two players",
        Design::PairedSubjects => "paired players",
        Design::TwoGroups => "two groups",
    }
}

fn unit_word(design: Design) -> &'static str {
    match design {
        Design::OneSubject | Design::TwoSubjects => "swing",
        Design::OneSubjectInOrder => "pair of swings",
        Design::PairedSubjects | Design::TwoGroups => "player",
    }
}

fn control_word(control: Control) -> &'static str {
    match control {
        Control::Holm => "Holm",
        Control::BenjaminiHochberg => "Benjamini–Hochberg",
    }
}

fn settings(asked: &Asked, a: &Table) -> Vec<Setting> {
    let control = match asked.control {
        Control::Holm => "holm",
        Control::BenjaminiHochberg => "bh",
    };
    let pair = match asked.pairing {
        Pairing::ByData => "by data",
        Pairing::Subjects => "players",
        Pairing::Order => "order",
    };
    vec![
        Setting::of("pair", pair),
        Setting::of("control", control),
        Setting::of("alpha", asked.alpha),
        Setting::of("level", asked.level),
        Setting::of("resamples", asked.resamples),
        Setting::of("permutations", asked.permutations),
        Setting::of("seed", asked.seed),
        Setting::of("about", &a.point),
        Setting::of("collapse", if a.collapse { "yes" } else { "no" }),
    ]
}

fn left_out(sides: &Sides<'_>, a: &Table, b: &Table, one_sided: Vec<(String, String)>) -> Vec<LeftOut> {
    let mut out = sides.left_out();
    let reason = |all: &mut Vec<(String, Vec<String>)>, label: String, why: String| match all
        .iter_mut()
        .find(|(known, _)| *known == why)
    {
        Some((_, labels)) => labels.push(label),
        None => all.push((why, vec![label])),
    };
    let mut whole = Vec::new();
    for (label, why) in one_sided {
        reason(&mut whole, label, why);
    }
    for (why, labels) in whole {
        out.push(LeftOut { what: words::named_metrics(&labels), why });
    }
    // Swings that lack a metric which others of their side have.
    let mut partly = Vec::new();
    for (table, name) in [(a, "A"), (b, "B")] {
        for column in &table.columns {
            if column.values.iter().all(|v| v.is_nan()) {
                continue;
            }
            for absent in &column.absent {
                let why = format!("{} of {name}: {}", absent.what, absent.why);
                reason(&mut partly, column.measure.label.clone(), why);
            }
        }
    }
    for (why, labels) in partly {
        let (what, why) = why.split_once(": ").unwrap_or((&why, ""));
        out.push(LeftOut { what: format!("{what} in {}", words::named_metrics(&labels)), why: why.into() });
    }
    out
}
