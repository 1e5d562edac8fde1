//! One event a name out of many candidates, and what there is to say when they disagree.
use super::types::{Event, Events, Name, Source, hypotenuse};
use mechanics::finding::{self, Finding};

/// Candidates further apart than this many combined standard uncertainties disagree.
const APART: f64 = 3.0;
/// Address and finish are held, not passed: people mark them anywhere within this, s. Common practice, no source.
const HELD_S: f64 = 0.3;

/// Chooses the most trusted candidate of each name; of equally trusted ones the most certain, then the first.
///
/// Sentences tell times of the recording, which begins at `start_s`.
pub(super) fn choose(mut found: Vec<Event>, start_s: f64, out: &mut Events, findings: &mut Vec<Finding>) {
    found.sort_by(|a, b| {
        (a.name, a.source)
            .cmp(&(b.name, b.source))
            .then(a.u_s.total_cmp(&b.u_s))
            .then(a.time_s.total_cmp(&b.time_s))
    });
    for event in found {
        if out.get(event.name).is_none() {
            out.chosen.push(event);
        } else {
            out.others.push(event);
        }
    }
    drop_misplaced_estimates(out);
    disagreements(out, start_s, findings);
    order(out, start_s, findings);
    for event in out.chosen.iter().filter(|e| e.source == Source::Estimate) {
        let seen = format!("{}, {}", event.name.name(), event.seen);
        findings.push(
            Finding::new(&finding::EVENT_ESTIMATED, seen)
                .during(event.time_s - 1.96 * event.u_s, event.time_s + 1.96 * event.u_s),
        );
    }
}

/// An estimate that contradicts what is known is worth nothing.
fn drop_misplaced_estimates(out: &mut Events) {
    let known: Vec<(Name, f64)> =
        out.chosen.iter().filter(|e| e.source != Source::Estimate).map(|e| (e.name, e.time_s)).collect();
    let fits = |e: &Event| {
        e.source != Source::Estimate
            || known.iter().all(|(name, t)| if *name < e.name { *t < e.time_s } else { *t > e.time_s })
    };
    let misplaced: Vec<Name> = out.chosen.iter().filter(|e| !fits(e)).map(|e| e.name).collect();
    out.chosen.retain(fits);
    out.absent
        .extend(misplaced.into_iter().map(|n| (n, "the estimate contradicts an event that is known".into())));
}

fn disagreements(out: &Events, start_s: f64, findings: &mut Vec<Finding>) {
    for other in out.others.iter().filter(|e| e.source != Source::Estimate) {
        let Some(chosen) = out.get(other.name) else { continue };
        // Who placed it by hand has seen the others and settled it.
        if chosen.source == Source::Hand {
            continue;
        }
        let apart = (chosen.time_s - other.time_s).abs();
        let held = if matches!(other.name, Name::Address | Name::Finish) { HELD_S } else { 0.0 };
        if apart > APART * hypotenuse(chosen.u_s, other.u_s) + held {
            let seen = format!(
                "{}: {} says {:.3} s, {} says {:.3} s; the first is used",
                chosen.name.name(),
                told(chosen),
                chosen.time_s + start_s,
                told(other),
                other.time_s + start_s
            );
            let (from, to) = (chosen.time_s.min(other.time_s), chosen.time_s.max(other.time_s));
            findings.push(Finding::new(&finding::EVENTS_DISAGREE, seen).during(from, to));
        }
    }
}

fn order(out: &Events, start_s: f64, findings: &mut Vec<Finding>) {
    for pair in out.chosen.windows(2) {
        let [a, b] = pair else { continue };
        if b.time_s <= a.time_s {
            let seen = format!(
                "{} ({}) at {:.3} s is not before {} ({}) at {:.3} s",
                a.name.name(),
                told(a),
                a.time_s + start_s,
                b.name.name(),
                told(b),
                b.time_s + start_s
            );
            findings.push(Finding::new(&finding::EVENTS_OUT_OF_ORDER, seen).during(b.time_s, a.time_s));
        }
    }
}

/// "file (\"Impact\")".
fn told(event: &Event) -> String {
    format!("{}, {}", event.source.name(), event.seen)
}
