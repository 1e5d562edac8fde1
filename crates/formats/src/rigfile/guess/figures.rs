//! What the numbers of a group say: which axis is loaded, with which sign, in which unit, and whose force it reads as.
use super::labels::{Group, Kind};
use crate::table::unit::{self, Quantity};
use mechanics::Recording;
use signal::filter::{Band, ShortRuns, butterworth, zero_phase};
use signal::quiet::{Search, quietest};
use signal::stats::mean;

/// What was seen in one group.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Figures {
    /// 0, 1, 2: the force channel with the largest mean.
    pub vertical: usize,
    /// Mean vertical force where loaded, N, with the sign of the channel.
    pub load_n: f64,
    /// Unit to state for forces, where the recording's own is missing or cannot be.
    pub force_unit: Option<&'static str>,
    /// The same for moments and the centre of pressure.
    pub moment_unit: Option<&'static str>,
    pub cop_unit: Option<&'static str>,
    /// Depth of the moments' origin under the surface, mm, where moments and centre of pressure tell.
    pub at_surface: Option<bool>,
    /// Correlation of horizontal force and centre of pressure in standing, as the axes stand.
    pub pendulum: Option<(f64, f64)>,
}

/// A standing person weighs between these, N. Common practice, no source.
const PERSON_N: std::ops::Range<f64> = 150.0..2500.0;

pub(crate) fn figures(recording: &Recording, group: &Group, kind: Kind) -> Option<Figures> {
    let channel = |index: usize| recording.analog.channels.get(index);
    let force = forces(recording, group, kind)?;
    let means = force.each_ref().map(|f| mean(f));
    let vertical = (0..3).max_by(|a, b| size(means[*a]).total_cmp(&size(means[*b])))?;
    let highest = force[vertical].iter().copied().filter(|v| v.is_finite()).map(f64::abs).fold(0.0, f64::max);
    let loaded: Vec<usize> =
        (0..force[vertical].len()).filter(|r| force[vertical][*r].abs() > 0.2 * highest).collect();
    let pick = |samples: &[f64]| loaded.iter().map(|r| samples[*r]).collect::<Vec<f64>>();
    let raw_load = mean(&pick(&force[vertical]));
    let first = match kind {
        Kind::Piezo => group.piezo[0],
        Kind::Six | Kind::Reduced => group.force[0],
    };
    let stated = |index: Option<usize>, quantity| {
        index
            .and_then(channel)
            .and_then(|c| unit::parse(&c.unit))
            .filter(|u| u.quantity == quantity)
            .map(|u| u.factor)
    };
    // The unit that makes the load a person's, unless the stated one does.
    let stated_force = stated(first, Quantity::Force);
    let fits = |factor: f64| PERSON_N.contains(&(raw_load.abs() * factor));
    let force_unit = match stated_force {
        Some(factor) if fits(factor) || ![1.0, 1000.0, 0.001].into_iter().any(fits) => None,
        Some(_) | None => {
            [("N", 1.0), ("kN", 1000.0), ("mN", 0.001)].into_iter().find(|u| fits(u.1)).map(|u| u.0)
        }
    };
    let newton = force_unit.and_then(unit::parse).map(|u| u.factor).or(stated_force).unwrap_or(1.0);
    let normal = force[vertical].iter().map(|v| v * newton).collect::<Vec<f64>>();
    let (along, across) = ((vertical + 1) % 3, (vertical + 2) % 3);
    let samples = |index: Option<usize>| index.and_then(channel).map(|c| c.samples.as_slice());
    // Lever arms as the moments have them, in the moments' unit a newton: they must be within a plate.
    let moments = (samples(group.moment[along]), samples(group.moment[across]));
    let mut moment_unit = None;
    let mut lever = None;
    if let (Kind::Six, (Some(ma), Some(mb))) = (kind, moments) {
        let arm =
            |m: &[f64], sign: f64| m.iter().zip(&normal).map(|(m, n)| sign * m / n).collect::<Vec<f64>>();
        let (a, b) = (arm(mb, -1.0), arm(ma, 1.0));
        let reach = typical(&pick(&a)).max(typical(&pick(&b)));
        let stated = stated(group.moment[along], Quantity::Moment);
        let fits = |factor: f64| reach * factor < 2.0;
        moment_unit = match stated {
            Some(factor) if fits(factor) => None,
            _ => [("Nm", 1.0), ("Nmm", 0.001)].into_iter().find(|u| fits(u.1)).map(|u| u.0),
        };
        let metre = moment_unit.and_then(unit::parse).map(|u| u.factor).or(stated).unwrap_or(1.0);
        lever = Some((
            a.iter().map(|v| v * metre).collect::<Vec<_>>(),
            b.iter().map(|v| v * metre).collect::<Vec<_>>(),
        ));
    }
    if kind == Kind::Piezo {
        // Without the sensors' distances only the sign is right, which is all that a correlation asks for.
        let z: Vec<&[f64]> = group.piezo[4..].iter().filter_map(|p| samples(*p)).collect();
        if let [z1, z2, z3, z4] = z.as_slice() {
            let arm = |f: &dyn Fn(usize) -> f64| {
                (0..normal.len()).map(|r| f(r) * newton / normal[r]).collect::<Vec<f64>>()
            };
            lever = Some((arm(&|r| z1[r] - z2[r] - z3[r] + z4[r]), arm(&|r| z1[r] + z2[r] - z3[r] - z4[r])));
        }
    }
    let mut cop_unit = None;
    let mut touch = None;
    if let (Some(a), Some(b)) = (samples(group.cop[along]), samples(group.cop[across])) {
        let reach = typical(&pick(a)).max(typical(&pick(b)));
        let stated = stated(group.cop[along], Quantity::Length);
        cop_unit = match stated {
            Some(_) => None,
            None if reach < 3.0 => Some("m"),
            None if reach < 30.0 => Some("cm"),
            None => Some("mm"),
        };
        let metre = cop_unit.and_then(unit::parse).map(|u| u.factor).or(stated).unwrap_or(1.0);
        touch = Some((
            a.iter().map(|v| v * metre).collect::<Vec<_>>(),
            b.iter().map(|v| v * metre).collect::<Vec<_>>(),
        ));
    }
    // Where the recording holds both, the moments are about the surface when −My/Fz is its centre of pressure.
    let at_surface = match (&lever, &touch) {
        (Some((a, _)), Some((x, _))) => {
            let apart: Vec<f64> = loaded.iter().map(|r| (a[*r] - x[*r]).abs()).collect();
            Some(typical(&apart) < 1e-4)
        }
        _ => None,
    };
    let place = touch.or(lever);
    let pendulum = place.and_then(|(a, b)| {
        let columns = [&force[along], &a, &force[across], &b];
        standing(&normal, columns.map(|c| c.as_slice()), recording.analog.rate_hz)
    });
    let load_n = raw_load * newton;
    Some(Figures { vertical, load_n, force_unit, moment_unit, cop_unit, at_surface, pendulum })
}

/// The three forces in the channels' unit; for raw piezo channels their sums.
fn forces(recording: &Recording, group: &Group, kind: Kind) -> Option<[Vec<f64>; 3]> {
    let samples = |index: Option<usize>| Some(recording.analog.channels.get(index?)?.samples.as_slice());
    let sum = |parts: &[Option<usize>]| -> Option<Vec<f64>> {
        let mut out = samples(*parts.first()?)?.to_vec();
        for part in &parts[1..] {
            for (o, v) in out.iter_mut().zip(samples(*part)?) {
                *o += v;
            }
        }
        Some(out)
    };
    match kind {
        Kind::Piezo => Some([sum(&group.piezo[..2])?, sum(&group.piezo[2..4])?, sum(&group.piezo[4..])?]),
        Kind::Six | Kind::Reduced => {
            Some([sum(&group.force[..1])?, sum(&group.force[1..2])?, sum(&group.force[2..])?])
        }
    }
}

fn size(value: f64) -> f64 {
    if value.is_nan() { 0.0 } else { value.abs() }
}

/// Median size; 0 for nothing.
fn typical(values: &[f64]) -> f64 {
    let mut sizes: Vec<f64> = values.iter().map(|v| v.abs()).filter(|v| v.is_finite()).collect();
    if sizes.is_empty() {
        return 0.0;
    }
    let middle = sizes.len() / 2;
    *sizes.select_nth_unstable_by(middle, f64::total_cmp).1
}

/// Correlations (first axis, second axis) of force and centre of pressure, 0.5 to 6 Hz, over the quietest loaded
/// 1.5 s. Negative for a reaction: a standing body is pushed back over its centre of pressure.
/// Source: Winter 1995, Gait & Posture 3:193-214 (from memory).
fn standing(normal: &[f64], columns: [&[f64]; 4], rate_hz: f64) -> Option<(f64, f64)> {
    if !(14.0..1e6).contains(&rate_hz) {
        return None;
    }
    let upright: Vec<f64> = normal.iter().map(|v| v.abs()).collect();
    let length = (1.5 * rate_hz).round() as usize;
    let search = Search { within: 0..upright.len(), length, lowest_mean: 100.0, highest_mean: f64::INFINITY };
    let window = quietest(&upright, &search)?;
    if window.variance.sqrt() > 0.05 * window.mean {
        return None;
    }
    let reach = (4.0 * rate_hz) as usize;
    let loaded = |r: &usize| upright[*r] > 100.0;
    let from = (0..window.start).rev().take(reach).take_while(loaded).last().unwrap_or(window.start);
    let to = (window.end..upright.len()).take(reach).take_while(loaded).last().map_or(window.end, |r| r + 1);
    let sections = butterworth(2, Band::Pass(0.5, 6.0), rate_hz).ok()?;
    let mut scratch = Vec::new();
    let [fa, a, fb, b] = columns.map(|column| {
        let mut cut = column.get(from..to).unwrap_or_default().to_vec();
        zero_phase(&sections, &mut cut, ShortRuns::Drop, &mut scratch);
        cut.get(window.start - from..window.end - from).unwrap_or_default().to_vec()
    });
    let (first, second) = (correlation(&fa, &a), correlation(&fb, &b));
    (first.is_finite() && second.is_finite()).then_some((first, second))
}

fn correlation(a: &[f64], b: &[f64]) -> f64 {
    let (ma, mb) = (mean(a), mean(b));
    let (mut ab, mut aa, mut bb) = (0.0, 0.0, 0.0);
    for (a, b) in a.iter().zip(b) {
        ab += (a - ma) * (b - mb);
        aa += (a - ma) * (a - ma);
        bb += (b - mb) * (b - mb);
    }
    ab / (aa * bb).sqrt()
}
