//! Stretches in which a plate has no value: what bridges them, and whether they are bridged.
use mechanics::Finding;
use mechanics::finding::GAP_IN_SIGNAL;
use mechanics::wrench::PlateWrench;
use std::ops::Range;

/// Longer gaps are not drawn over: a downswing lasts a quarter of a second, s. Common practice, no source.
const LONGEST_S: f64 = 0.1;

/// Works out how the gaps of each plate can be bridged, as recorded.
pub(super) fn remedies(plates: &[PlateWrench], rate_hz: f64, findings: &mut [Finding]) {
    for found in findings.iter_mut().filter(|f| f.kind == &GAP_IN_SIGNAL) {
        let Some(plate) = plates.iter().find(|p| Some(p.plate) == found.plate) else { continue };
        let gaps = gaps(plate);
        let samples = plate.wrench.len();
        // At either end nothing says how it goes on.
        let inside: Vec<&Range<usize>> = gaps.iter().filter(|g| g.start > 0 && g.end < samples).collect();
        let longest = inside.iter().map(|g| g.len()).max().unwrap_or(0);
        found.seen.push_str(&format!(", in {}", crate::about::count(gaps.len(), "gap")));
        if longest > 0 && longest as f64 <= LONGEST_S * rate_hz {
            let ends =
                if inside.len() < gaps.len() { " A gap at the beginning or the end stays open." } else { "" };
            found.remedy_here = Some(format!(
                "Bridge with --bridge {} (the longest gap lasts {:.1} ms): the values there are then drawn, not \
                 measured. Or export the recording again.{ends}",
                milliseconds(longest, rate_hz),
                1e3 * longest as f64 / rate_hz
            ));
        }
    }
}

/// Takes away what was said of gaps that have been bridged since.
pub(super) fn bridged(plates: &[PlateWrench], findings: &mut Vec<Finding>) {
    let whole = |found: &Finding| plates.iter().any(|p| Some(p.plate) == found.plate && gaps(p).is_empty());
    findings.retain(|f| f.kind != &GAP_IN_SIGNAL || !whole(f));
}

/// Whole milliseconds that reach over so many samples.
fn milliseconds(samples: usize, rate_hz: f64) -> u32 {
    let reaches = |ms: u32| (f64::from(ms) / 1000.0 * rate_hz).floor() as usize >= samples;
    let least = (1e3 * samples as f64 / rate_hz).floor() as u32;
    (least..).find(|ms| reaches(*ms)).unwrap_or(least)
}

fn gaps(plate: &PlateWrench) -> Vec<Range<usize>> {
    let mut out: Vec<Range<usize>> = Vec::new();
    for (k, (force, moment)) in plate.wrench.force_n.iter().zip(&plate.wrench.moment_nm).enumerate() {
        if force.is_finite() && moment.is_finite() {
            continue;
        }
        match out.last_mut().filter(|gap| gap.end == k) {
            Some(gap) => gap.end = k + 1,
            None => out.push(k..k + 1),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn milliseconds_reach() {
        for rate_hz in [250.0, 300.0, 480.0, 1000.0, 1200.0, 2000.0] {
            for samples in 1..100 {
                let ms = milliseconds(samples, rate_hz);
                assert!((f64::from(ms) / 1000.0 * rate_hz).floor() as usize >= samples);
                assert!(
                    f64::from(ms) < 1e3 * samples as f64 / rate_hz + 1.001,
                    "{samples} at {rate_hz}: {ms}"
                );
            }
        }
    }
}
