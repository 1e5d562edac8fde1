//! Units off by a thousand, which the unit text of a file cannot tell but weight and statics can.
use super::outside::beyond_m;
use super::reading::{about_surface, blocks, turned, with_columns};
use crate::analyse::PlateShadow;
use mechanics::finding::{self, Finding};
use mechanics::pressure::contact;
use mechanics::wrench::{PlateWrench, wrenches};
use mechanics::{Frame, Plate, Recording, Rig, Sensing};
use signal::quiet::{Search, quietest};

/// A person's weight, N: a child of 15 kg to anybody.
const PERSON_N: std::ops::Range<f64> = 150.0..2500.0;

/// Forces by the weight of a person; moments by the place of the centre of pressure.
pub(super) fn check(
    recording: &Recording,
    rig: &Rig,
    frame: &Frame,
    plates: &[PlateWrench],
    rate_hz: f64,
    shadows: &[PlateShadow],
    findings: &mut Vec<Finding>,
) {
    let at = Place { recording, rig, frame };
    match force_factor(plates, rate_hz) {
        Some((factor, level_n)) => forces(&at, plates, factor, level_n, findings),
        None => {
            for (plate, _) in plates.iter().zip(shadows).filter(|(_, s)| s.loaded) {
                moments(&at, plate, findings);
            }
        }
    }
}

struct Place<'a> {
    recording: &'a Recording,
    rig: &'a Rig,
    frame: &'a Frame,
}

/// The factor that makes a person of what stands quietly on the plates, and its level as read, N; `None` where it is
/// one already, or where a thousandth or a thousand times it is none either.
fn force_factor(plates: &[PlateWrench], rate_hz: f64) -> Option<(f64, f64)> {
    let samples = plates.first()?.wrench.len();
    let mut total = vec![0.0; samples];
    for plate in plates {
        total.iter_mut().zip(&plate.wrench.force_n).for_each(|(sum, force)| *sum += force.z);
    }
    let (low, high) = signal::stats::extent(&total)?;
    let length = ((0.5 * rate_hz).round() as usize).min(samples / 4).max(2);
    // Nothing may reach a person's weight if forces are too small; everything must be far over it if too large.
    let factor = if high < PERSON_N.start / 3.0 {
        1000.0
    } else if high > 40.0 * PERSON_N.end {
        0.001
    } else {
        return None;
    };
    let (lowest_mean, highest_mean) = (PERSON_N.start / factor, PERSON_N.end / factor);
    let found = quietest(&total, &Search { within: 0..samples, length, lowest_mean, highest_mean })?;
    // Still as a person, and yet not as still as an empty plate's offset all along.
    let person = found.variance.sqrt() <= 0.03 * found.mean && high - low > 0.05 * found.mean;
    person.then_some((factor, found.mean))
}

fn forces(at: &Place, plates: &[PlateWrench], factor: f64, level_n: f64, findings: &mut Vec<Finding>) {
    // Moments went the same way where the centre of pressure, which is their ratio, is where it can be as it is:
    // on the plate, and not at its very centre all the time.
    let as_it_is =
        |p: &PlateWrench| inside_share(p, 0.0).is_none_or(|on| on > 0.9 && near_centre_share(p) < 0.95);
    let together = plates.iter().all(as_it_is);
    let moment = if together { factor } else { 1.0 };
    let lines: Vec<(usize, String)> = plates
        .iter()
        .filter_map(|p| Some((p.plate, lines(at, p.plate, factor, moment, findings)?)))
        .collect();
    let (person, word) = (level_n * factor, if factor > 1.0 { "kN" } else { "N" });
    let seen = format!("{level_n:.3} N in the quietest half second; {person:.0} N would be a person");
    let mut found = Finding::new(&finding::FORCE_UNITS_ODD, seen);
    if !lines.is_empty() {
        let text = blocks(at.recording, at.rig, &lines);
        found = found.with_remedy(format!("The channels are in {word}; state it in a rig file:{text}"));
    }
    findings.push(found);
}

fn moments(at: &Place, plate: &PlateWrench, findings: &mut Vec<Finding>) {
    let Some(inside) = inside_share(plate, 0.3) else { return };
    let (factor, seen) = if inside < 0.5 {
        (0.001, "most centres of pressure lie farther than 0.3 m outside the plate")
    } else if near_centre_share(plate) > 0.95 {
        (1000.0, "all centres of pressure lie at the plate's very centre")
    } else {
        return;
    };
    // The same plate with other moments: do its centres of pressure lie on it then?
    let Some(of_rig) = at.rig.plates.get(plate.plate) else { return };
    let mut rig = at.rig.clone();
    rig.plates = vec![scaled(of_rig, 1.0, factor)];
    let read = wrenches(at.recording, &rig, at.frame).value;
    let fits = read.first().and_then(|p| inside_share(p, 0.0)).is_some_and(|share| share > 0.95);
    if !fits {
        return;
    }
    let times = if factor < 1.0 { "a thousandth of the moment" } else { "a thousand times the moment" };
    let text = format!("{seen}; with {times} they lie on it");
    let mut found = Finding::new(&finding::MOMENT_UNITS_ODD, text).on_plate(plate.plate);
    if let Some(lines) = lines(at, plate.plate, 1.0, factor, findings) {
        let text = blocks(at.recording, at.rig, &[(plate.plate, lines)]);
        found = found.with_remedy(format!("State in a rig file:{text}"));
    }
    findings.push(found);
}

/// Share of the loaded samples whose centre of pressure lies on the plate, or within `margin_m` of it; loaded is a
/// twentieth of the plate's largest load. `None` where nothing is loaded.
fn inside_share(plate: &PlateWrench, margin_m: f64) -> Option<f64> {
    share(plate, |cop_m| beyond_m(&plate.surface, cop_m) <= margin_m)
}

/// Share of the loaded samples whose centre of pressure lies within the reach of shear at the depth of sensors.
fn near_centre_share(plate: &PlateWrench) -> f64 {
    share(plate, |cop_m| (cop_m - plate.surface.centre_m).length() < 0.02).unwrap_or(0.0)
}

fn share(plate: &PlateWrench, holds: impl Fn(glam::DVec3) -> bool) -> Option<f64> {
    let force = &plate.wrench.force_n;
    let most = force.iter().map(|f| f.z).filter(|z| z.is_finite()).fold(0.0, f64::max);
    let (mut loaded, mut so) = (0_usize, 0_usize);
    // A factor of a thousand shows in every seventh sample too.
    for (force, moment) in force.iter().zip(&plate.wrench.moment_nm).step_by(7) {
        let touch = contact(*force, *moment, &plate.surface, (most / 20.0).max(1e-9));
        if touch.cop_m.is_finite() {
            loaded += 1;
            so += usize::from(holds(touch.cop_m));
        }
    }
    (loaded > 0).then(|| so as f64 / loaded as f64)
}

/// The plate with forces and moments in other units.
fn scaled(plate: &Plate, force: f64, moment: f64) -> Plate {
    let mut out = plate.clone();
    match &mut out.sensing {
        Sensing::Linear { columns, .. } => {
            for column in columns {
                column[..3].iter_mut().for_each(|v| *v *= force);
                column[3..].iter_mut().for_each(|v| *v *= moment);
            }
        }
        Sensing::Reduced { force_gain, centre_gain, free_moment_gain, .. } => {
            force_gain.iter_mut().for_each(|v| *v *= force);
            *centre_gain *= moment / force;
            *free_moment_gain *= moment;
        }
    }
    out
}

/// Lines of a rig file that put the units right: the units alone where the plate has six plain components, else the
/// whole matrix. `None` for reduced plates.
fn lines(at: &Place, plate: usize, force: f64, moment: f64, findings: &[Finding]) -> Option<String> {
    let of_rig = at.rig.plates.get(plate)?;
    let scaled = scaled(of_rig, force, moment);
    if let Some((newton, newton_metre)) = six_plain(&scaled.sensing) {
        let force_unit = [("N", 1.0), ("kN", 1000.0)].into_iter().find(|u| close(newton, u.1));
        let moment_units = [("Nmm", 0.001), ("Nm", 1.0), ("kNm", 1000.0)];
        let moment_unit = moment_units.into_iter().find(|u| close(newton_metre, u.1));
        if let (Some((force_unit, _)), Some((moment_unit, _))) = (force_unit, moment_unit) {
            let force = if force == 1.0 { String::new() } else { format!("force_unit = \"{force_unit}\"\n") };
            return Some(format!("{force}moment_unit = \"{moment_unit}\""));
        }
    }
    let columns = about_surface(&scaled.sensing)?;
    Some(with_columns(of_rig, at.recording, columns, turned(plate, at.rig, findings))?.lines)
}

fn close(a: f64, b: f64) -> bool {
    (a / b - 1.0).abs() < 1e-6
}

/// N and N·m per channel unit where the six channels are the six components.
fn six_plain(sensing: &Sensing) -> Option<(f64, f64)> {
    let Sensing::Linear { columns, .. } = sensing else { return None };
    let [first, .., last] = columns.as_slice() else { return None };
    let (newton, newton_metre) = (first[0], last[5]);
    let plain = columns.len() == 6
        && columns.iter().enumerate().all(|(k, c)| {
            let own = if k < 3 { newton } else { newton_metre };
            c.iter().enumerate().all(|(row, v)| if row == k { close(*v, own) } else { *v == 0.0 })
        });
    plain.then_some((newton, newton_metre))
}
