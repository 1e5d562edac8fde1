//! Plates whose load comes out downward because the description says so.
use super::Place;
use super::hand::away;
use super::pendulum::pendulum;
use super::reading::{self, Reading};
use crate::address::find_address;
use mechanics::finding::{self, Finding};
use mechanics::wrench::{PlateWrench, wrenches};
use mechanics::{Frame, Hand, Measures, Plate, Recording, Rig, Sensing};

/// Pulled down by more than any offset that is not larger than the load itself, N.
const PULLS_N: f64 = 100.0;

/// A load moves; an offset does not, N.
const MOVES_N: f64 = 50.0;

/// Plates that are pulled up under load although their description settles whose force they hold: `force`, or z, is
/// stated the wrong way round, or the vertical channel alone has the wrong sign. Where nothing is stated the force was
/// turned already.
pub(super) fn check(at: &Place, plates: &[PlateWrench], hand: Hand, findings: &mut Vec<Finding>) {
    let Place { recording, rig, frame } = *at;
    let pulled: Vec<(usize, f64, f64)> = plates.iter().filter_map(|p| pulled(p, rig)).collect();
    if pulled.is_empty() {
        return;
    }
    let which: Vec<usize> = pulled.iter().map(|p| p.0).collect();
    let ways: [Way; 3] = [&force_turned, &|p, _| z_turned(p, rig), &|p, _| vertical_turned(p, recording)];
    let read = |way: &Way| {
        let mut out = rig.clone();
        let mut lines = Vec::new();
        for k in &which {
            let reading = way(rig.plates.get(*k)?, rig)?;
            lines.push((*k, reading.lines));
            out.plates[*k] = reading.plate;
        }
        Some((out, lines))
    };
    // The first that neither standing nor the direction of turn speaks against.
    let fits = |(other, _): &(Rig, Vec<(usize, String)>)| !contradicted(recording, other, frame, hand);
    let best = ways.iter().filter_map(read).find(fits).or_else(|| read(&ways[0]));
    for (k, low, high) in pulled {
        let word = reading::force_word(is_turned(rig.plates.get(k)));
        let seen = format!(
            "between {low:.1} and {high:.1} N with force = \"{word}\"; turned over it would press like a foot"
        );
        let mut found = Finding::new(&finding::VERTICAL_REVERSED, seen).on_plate(k);
        if let Some(line) = best.as_ref().and_then(|(_, lines)| lines.iter().find(|l| l.0 == k)) {
            let text = reading::blocks(recording, rig, std::slice::from_ref(line));
            found = found.with_remedy(format!("State in a rig file, in place of what is stated now:{text}"));
        }
        findings.push(found);
    }
}

/// The plate and its range of vertical force, N, where it is pulled.
fn pulled(plate: &PlateWrench, rig: &Rig) -> Option<(usize, f64, f64)> {
    rig.plates.get(plate.plate).filter(|p| p.measures != Measures::BySign)?;
    let vertical: Vec<f64> = plate.wrench.force_n.iter().map(|f| f.z).collect();
    let mut scratch = Vec::new();
    let mut at = |q: f64| signal::stats::quantile(&vertical, q, &mut scratch);
    let (low, high) = (at(0.01), at(0.99));
    let pulled = low < -PULLS_N && high - low > MOVES_N && high <= 2.5 * rig.load_floor_n;
    pulled.then_some((plate.plate, low, high))
}

/// A way to read a plate so that it presses.
type Way<'a> = &'a dyn Fn(&Plate, &Rig) -> Option<Reading>;

fn is_turned(plate: Option<&Plate>) -> bool {
    plate.is_some_and(|p| p.measures == Measures::OnPlate)
}

fn force_turned(plate: &Plate, _: &Rig) -> Option<Reading> {
    let turned = !is_turned(Some(plate));
    let measures = if turned { Measures::OnPlate } else { Measures::OnPlayer };
    let lines = format!("force = \"{}\"", reading::force_word(turned));
    Some(Reading { plate: Plate { measures, ..plate.clone() }, lines })
}

/// The other z, with the force as it is stated.
fn z_turned(plate: &Plate, rig: &Rig) -> Option<Reading> {
    reading::other(plate, rig.up.unit(), !is_turned(Some(plate)))
}

/// Only the plate's own vertical component, as its sensors give it.
fn vertical_turned(plate: &Plate, recording: &Recording) -> Option<Reading> {
    let mut out = plate.sensing.clone();
    if let Sensing::Linear { columns, .. } = &mut out {
        columns.iter_mut().for_each(|c| c[2] = -c[2]);
    }
    let columns = reading::about_surface(&out)?;
    reading::with_columns(plate, recording, columns, is_turned(Some(plate)))
}

/// True where quiet standing reads as the force on the plate, or the player turns away from the target.
fn contradicted(recording: &Recording, rig: &Rig, frame: &Frame, hand: Hand) -> bool {
    let plates = wrenches(recording, rig, frame).value;
    let rate_hz = recording.analog.rate_hz;
    let address = find_address(&plates, rate_hz);
    let Some(net) = reading::net_of(&plates, rig) else { return false };
    pendulum(&net, rate_hz).is_some_and(|seen| seen.reads_as_action())
        || address.is_some_and(|address| away(&net, &address, hand).is_some())
}

/// True where a plate's load comes out downward: what it reads while pulled is no offset.
pub(super) fn is_reversed(plate: usize, findings: &[Finding]) -> bool {
    findings.iter().any(|f| f.kind == &finding::VERTICAL_REVERSED && f.plate == Some(plate))
}
