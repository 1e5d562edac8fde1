//! Plates whose load comes out downward because the description says so.
use super::reading;
use mechanics::finding::{self, Finding};
use mechanics::wrench::PlateWrench;
use mechanics::{Measures, Recording, Rig};

/// Pulled down by more than any offset that is not larger than the load itself, N.
const PULLS_N: f64 = 100.0;

/// A load moves; an offset does not, N.
const MOVES_N: f64 = 50.0;

/// A plate that is pulled up under load although its description settles whose force it holds: `force`, or z, is stated
/// the wrong way round. Where nothing is stated the force was turned already.
pub(super) fn check(recording: &Recording, rig: &Rig, plates: &[PlateWrench], findings: &mut Vec<Finding>) {
    for plate in plates {
        let Some(of_rig) = rig.plates.get(plate.plate).filter(|p| p.measures != Measures::BySign) else {
            continue;
        };
        let vertical: Vec<f64> = plate.wrench.force_n.iter().map(|f| f.z).collect();
        let mut scratch = Vec::new();
        let mut at = |q: f64| signal::stats::quantile(&vertical, q, &mut scratch);
        let (low, high) = (at(0.01), at(0.99));
        let pulled = low < -PULLS_N && high - low > MOVES_N && high <= 2.5 * rig.load_floor_n;
        if !pulled {
            continue;
        }
        let turned = of_rig.measures == Measures::OnPlate;
        let (now, other) = (reading::force_word(turned), reading::force_word(!turned));
        let seen = format!(
            "between {low:.1} and {high:.1} N with force = \"{now}\"; turned over it would press like a foot"
        );
        let lines = [(plate.plate, format!("force = \"{other}\""))];
        let remedy = format!(
            "State in a rig file, in place of the force stated now. If horizontal forces then read as the force on the \
             plate (Q303), z was reversed too: its lines say so. If the player then turns away from the target (Q332), \
             the vertical channel alone is reversed: turn its sign in the export instead.{}",
            reading::blocks(recording, rig, &lines)
        );
        findings
            .push(Finding::new(&finding::VERTICAL_REVERSED, seen).on_plate(plate.plate).with_remedy(remedy));
    }
}

/// True where a plate's load comes out downward: what it reads while pulled is no offset.
pub(super) fn is_reversed(plate: usize, findings: &[Finding]) -> bool {
    findings.iter().any(|f| f.kind == &finding::VERTICAL_REVERSED && f.plate == Some(plate))
}
