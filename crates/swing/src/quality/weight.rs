//! The player's weight: whether it is one, whether it is the player's, whether it stays.
use crate::address::{ADDRESS_S, Address, STANDING_LEAST_N};
use crate::analyse::{STANDARD_GRAVITY, Swing, WeightSource};
use crate::condition::PlateDone;
use mechanics::finding::{self, Finding};
use signal::quiet::{Search, quietest};

/// Weight in the quiet interval against a person's, and against the mass stated.
pub(super) fn check(swing: &Swing, findings: &mut Vec<Finding>) {
    drifted_plates(swing, findings);
    match &swing.address {
        None => findings.push(Finding::new(
            &finding::NO_QUIET_STANCE,
            format!("no {ADDRESS_S} s in which the vertical force stays within 3 % of a person's weight"),
        )),
        Some(address) => {
            weight(swing, address, findings);
            // A plate that stopped reading is lighter late than early.
            if !swing.plates.iter().any(|p| super::dead::unread(p.plate, findings)) {
                drift(swing, address, findings);
            }
        }
    }
}

/// A change of an empty plate's reading by this much is drift, N and N·m. Common practice, no source.
const EMPTY_N: f64 = 5.0;
const EMPTY_NM: f64 = 2.0;

/// Plates that are empty early and late show their drift directly. One that was taken off is no news.
fn drifted_plates(swing: &Swing, findings: &mut Vec<Finding>) {
    let shown = |plate: usize| !super::dead::unread(plate, findings);
    let plates: Vec<&PlateDone> =
        swing.done.plates.iter().filter(|d| !d.drift_removed && shown(d.plate)).collect();
    for done in plates {
        let (Some((early, late)), Some(shadow)) =
            (&done.empty, swing.plates.iter().find(|s| s.plate == done.plate))
        else {
            continue;
        };
        let about =
            |level: &crate::condition::Level| level.moment_nm - shadow.surface.centre_m.cross(level.force_n);
        let (force, moment) = (late.force_n - early.force_n, about(late) - about(early));
        if force.abs().max_element() > EMPTY_N || moment.abs().max_element() > EMPTY_NM {
            let seen = format!(
                "empty, it reads ({:+.1}, {:+.1}, {:+.1}) N more late than early, and ({:+.2}, {:+.2}, {:+.2}) N·m",
                force.x, force.y, force.z, moment.x, moment.y, moment.z
            );
            let at = |k: usize| k as f64 / swing.rate_hz;
            let found = Finding::new(&finding::DRIFTED, seen).on_plate(done.plate);
            findings.push(found.during(at(early.samples.start), at(late.samples.end)).with_remedy(
                "Take it off with --drift remove; let the plates warm up before the next recording.",
            ));
        }
    }
}

/// Standing is still enough to weigh while the vertical force varies by less than this share of itself.
const STILL_SHARE: f64 = 0.012;

/// A change of weight by this share is no sway. Common practice, no source: a body that stands still for half a
/// second weighs itself to well under 1 %.
const DRIFT_SHARE: f64 = 0.015;

/// Weight before against weight after: a player weighs at the finish what they weigh at address.
fn drift(swing: &Swing, address: &Address, findings: &mut Vec<Finding>) {
    let net: Vec<f64> = swing.series.net.wrench.force_n.iter().map(|f| f.z).collect();
    let from = address.samples.end.max(net.len() / 2);
    let still = |mean: f64, sd: f64| sd <= STILL_SHARE * mean;
    if address.after_movement || !still(address.vertical_n, address.vertical_sd_n) {
        return;
    }
    let search = Search {
        within: from..net.len(),
        length: address.samples.len(),
        lowest_mean: STANDING_LEAST_N,
        highest_mean: f64::INFINITY,
    };
    let Some(late) = quietest(&net, &search).filter(|w| still(w.mean, w.variance.sqrt())) else { return };
    let change = late.mean / address.vertical_n - 1.0;
    if change.abs() > DRIFT_SHARE {
        let seen = format!(
            "standing {:.1} N early and {:.1} N late ({:+.1} %)",
            address.vertical_n,
            late.mean,
            100.0 * change
        );
        let at = |k: usize| k as f64 / swing.rate_hz;
        findings.push(Finding::new(&finding::DRIFTED, seen).during(at(address.samples.start), at(late.end)));
    }
}

/// Off by more than this no zero is, but a unit, a gain, a plate left out, or the mass. Common practice, no source.
const FAR_SHARE: f64 = 0.3;

fn weight(swing: &Swing, address: &Address, findings: &mut Vec<Finding>) {
    let net = &swing.series.net.wrench.force_n;
    let standing =
        crate::analyse::mean_over(net.get(address.samples.clone()).unwrap_or_default().iter().copied()).z;
    let span = (address.samples.start as f64 / swing.rate_hz, address.samples.end as f64 / swing.rate_hz);
    if !(STANDING_LEAST_N..=2500.0).contains(&standing) {
        findings.push(
            Finding::new(&finding::WEIGHT_ODD, format!("{standing:.1} N in the quiet interval"))
                .during(span.0, span.1),
        );
    }
    if let Some(weight) = swing.body_weight_n
        && weight.from != WeightSource::Standing
    {
        let share = standing / weight.newton - 1.0;
        if share.abs() > 0.02 {
            findings.push(
                Finding::new(
                    if share.abs() > FAR_SHARE { &finding::MASS_FAR } else { &finding::MASS_DISAGREES },
                    format!(
                        "standing {standing:.1} N is {:.1} kg; the mass stated is {:.1} kg ({:+.1} %)",
                        standing / STANDARD_GRAVITY,
                        weight.newton / STANDARD_GRAVITY,
                        share * 100.0
                    ),
                )
                .during(span.0, span.1),
            );
        }
    }
}
