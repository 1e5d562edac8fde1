//! Channels that never change, plates that stop reading, and plates that are copies of each other.
use mechanics::finding::{self, Finding};
use mechanics::wrench::PlateWrench;
use mechanics::{Recording, Rig, Sensing};
use std::ops::Range;

/// A plate whose force moves by so much carries a foot now and then, N; or whose moment does, N·m.
const MOVES_N: f64 = 60.0;
const MOVES_NM: f64 = 15.0;

/// A plate that holds one reading for so long does not read, s and samples.
const HELD_S: f64 = 0.04;
const HELD: usize = 8;

/// More than an empty plate reads, N.
const LOADED_N: f64 = 60.0;

/// So many times the steps beside it is the fall of a load that was cut off.
const ABRUPT: f64 = 6.0;

/// Looks at every plate, as recorded.
pub(super) fn check(recording: &Recording, rig: &Rig, plates: &[PlateWrench], findings: &mut Vec<Finding>) {
    let copies = copies(recording, rig);
    for (a, b) in &copies {
        let name = |k: usize| rig.plates.get(k).map_or("", |p| p.name.as_str());
        let seen = format!("plates {} and {} are alike in every sample", name(*a), name(*b));
        findings.push(Finding::new(&finding::PLATES_COPIED, seen).on_plate(*b));
    }
    for (k, plate) in rig.plates.iter().enumerate() {
        let told = dead(recording, &plate.sensing);
        if !told.is_empty() {
            let seen = format!("{} from the first sample to the last", told.join(", "));
            findings.push(Finding::new(&finding::CHANNEL_DEAD, seen).on_plate(k));
        }
    }
    for plate in plates {
        let Some(of_rig) = rig.plates.get(plate.plate) else { continue };
        let held: Vec<Range<usize>> = stretches(recording, &of_rig.sensing, recording.analog.rate_hz)
            .into_iter()
            .filter(|held| {
                lost(plate, held) || (frozen(plate, held) && goes_on(recording, plates, plate, rig, held))
            })
            .collect();
        let (Some(first), Some(last)) = (held.first(), held.last()) else { continue };
        let at = |k: usize| k as f64 / recording.analog.rate_hz;
        let samples: usize = held.iter().map(Range::len).sum();
        let seen = format!(
            "all its channels hold one value for {samples} samples{}",
            if held.len() > 1 { format!(", in {} stretches", held.len()) } else { String::new() }
        );
        let found = Finding::new(&finding::PLATE_HELD, seen).on_plate(plate.plate);
        findings.push(found.during(at(first.start), at(last.end - 1)));
    }
}

/// True where a plate does not read what it carries, so that its levels early and late say nothing of drift.
pub(super) fn unread(plate: usize, findings: &[Finding]) -> bool {
    let kinds = [&finding::CHANNEL_DEAD, &finding::PLATE_HELD, &finding::PLATES_COPIED];
    findings.iter().any(|f| kinds.contains(&f.kind) && f.plate == Some(plate))
}

/// Channels that should move when the plate is loaded, with what one unit is in N and N·m.
fn moving(sensing: &Sensing) -> Vec<(usize, f64, f64)> {
    let size = |c: &[f64]| c.iter().map(|v| v * v).sum::<f64>().sqrt();
    match sensing {
        Sensing::Linear { channels, columns, .. } => {
            let sized = columns.iter().map(|c| (size(&c[..3]), size(&c[3..])));
            channels.iter().zip(sized).map(|(k, (n, nm))| (*k, n, nm)).filter(|c| c.1 + c.2 > 0.0).collect()
        }
        // A column of free moments, or of heights, that is all zero is only missing.
        Sensing::Reduced { force, force_gain, .. } => {
            force.iter().zip(force_gain).map(|(k, gain)| (*k, gain.abs(), 0.0)).collect()
        }
    }
}

/// Labels and values of channels that never change while others of the plate move as under a foot.
fn dead(recording: &Recording, sensing: &Sensing) -> Vec<String> {
    let mut told = Vec::new();
    let mut loaded = false;
    for (k, newton, newton_metre) in moving(sensing) {
        let Some(channel) = recording.analog.channels.get(k) else { continue };
        let Some((low, high)) = signal::stats::extent(&channel.samples) else { continue };
        loaded |= (high - low) * newton > MOVES_N || (high - low) * newton_metre > MOVES_NM;
        if high <= low && channel.samples.len() > HELD {
            told.push(
                format!("{} reads {low} {}", channel.label, channel.unit.trim()).trim_end().to_string(),
            );
        }
    }
    if loaded { told } else { Vec::new() }
}

/// Pairs of plates whose channels are the same, sample by sample, and move.
fn copies(recording: &Recording, rig: &Rig) -> Vec<(usize, usize)> {
    let columns = |k: usize| -> Vec<&[f64]> {
        let channels = rig.plates.get(k).map(|p| p.sensing.channels()).unwrap_or_default();
        channels
            .iter()
            .filter_map(|c| recording.analog.channels.get(*c))
            .map(|c| c.samples.as_slice())
            .collect()
    };
    let same = |a: &[f64], b: &[f64]| a.iter().zip(b).all(|(a, b)| a.to_bits() == b.to_bits());
    let moves = |k: usize| {
        let of = rig.plates.get(k).map(|p| moving(&p.sensing)).unwrap_or_default();
        of.iter().any(|(channel, newton, _)| {
            let samples = recording.analog.channels.get(*channel).map(|c| c.samples.as_slice());
            let extent = samples.and_then(signal::stats::extent);
            extent.is_some_and(|(low, high)| (high - low) * newton > MOVES_N)
        })
    };
    let mut out = Vec::new();
    for b in 1..rig.plates.len() {
        let of_b = columns(b);
        let copied = |a: &usize| {
            let of_a = columns(*a);
            of_a.len() == of_b.len() && !of_b.is_empty() && of_a.iter().zip(&of_b).all(|(a, b)| same(a, b))
        };
        if let Some(a) = (0..b).find(copied).filter(|_| moves(b)) {
            out.push((a, b));
        }
    }
    out
}

/// Stretches in which no channel of a plate changes.
fn stretches(recording: &Recording, sensing: &Sensing, rate_hz: f64) -> Vec<Range<usize>> {
    let columns: Vec<&[f64]> = moving(sensing)
        .iter()
        .filter_map(|(k, ..)| recording.analog.channels.get(*k))
        .map(|c| c.samples.as_slice())
        .collect();
    let least = HELD.max((HELD_S * rate_hz).ceil() as usize);
    let samples = columns.iter().map(|c| c.len()).min().unwrap_or(0);
    let same = |k: usize| columns.iter().all(|c| c[k].to_bits() == c[k - 1].to_bits() && c[k].is_finite());
    let mut out = Vec::new();
    let mut start = 0;
    for k in 1..=samples {
        if k < samples && same(k) {
            continue;
        }
        if k - start >= least {
            out.push(start..k);
        }
        start = k;
    }
    out
}

/// A load that is there in one sample and gone in the next, or the reverse: not as a foot leaves or strikes a plate,
/// which takes many samples.
fn lost(plate: &PlateWrench, held: &Range<usize>) -> bool {
    let force = &plate.wrench.force_n;
    let load = |k: usize| force.get(k).map_or(f64::NAN, |f| f.z);
    let inside = load(held.start);
    let cut = |edge: Option<usize>, step: isize| {
        let Some(edge) = edge.filter(|k| *k < force.len()) else { return false };
        let beside: Vec<f64> = (0..5).filter_map(|n| edge.checked_add_signed(step * n)).map(load).collect();
        let steps = beside.windows(2).map(|w| (w[1] - w[0]).abs()).fold(0.0, f64::max);
        let fall = (load(edge) - inside).abs();
        beside.len() == 5 && fall > LOADED_N.max(ABRUPT * steps)
    };
    cut(held.start.checked_sub(1), -1) || cut(Some(held.end), 1)
}

/// One and the same load throughout.
fn frozen(plate: &PlateWrench, held: &Range<usize>) -> bool {
    plate.wrench.force_n.get(held.start).is_some_and(|f| f.z.abs() > LOADED_N)
}

/// Something else goes on meanwhile: another plate that carries a foot changes.
fn goes_on(
    recording: &Recording,
    plates: &[PlateWrench],
    plate: &PlateWrench,
    rig: &Rig,
    held: &Range<usize>,
) -> bool {
    let changes = |other: &&PlateWrench| {
        let channels = rig.plates.get(other.plate).map(|p| p.sensing.channels()).unwrap_or_default();
        let own = rig.plates.get(plate.plate).map(|p| p.sensing.channels()).unwrap_or_default();
        channels.iter().filter(|c| !own.contains(c)).filter_map(|c| recording.analog.channels.get(*c)).any(
            |c| {
                let part = c.samples.get(held.clone()).unwrap_or_default();
                part.windows(2).filter(|w| w[0].to_bits() != w[1].to_bits()).count() * 2 > part.len()
            },
        )
    };
    plates.iter().filter(|p| p.plate != plate.plate).any(|p| changes(&p))
}
