//! Units off by a thousand, or kilograms and pounds taken for newtons, which the unit text of a file cannot tell but
//! weight and statics can.
use super::Place;
use super::outside::beyond_m;
use super::reading::{about_surface, blocks, turned, with_columns};
use crate::analyse::PlateShadow;
use mechanics::finding::{self, Finding};
use mechanics::pressure::contact;
use mechanics::wrench::{PlateWrench, wrenches};
use mechanics::{Plate, Sensing};
use signal::quiet::{Search, quietest};

/// A person's weight, N: a child of 15 kg to anybody.
const PERSON_N: std::ops::Range<f64> = 150.0..2500.0;

/// Kilogram-force and pound-force, N. Exact by definition.
const KILOGRAM_N: f64 = 9.80665;
const POUND_N: f64 = 4.448_221_615_260_5;
const INCH_M: f64 = 0.0254;
const FOOT_M: f64 = 0.3048;

/// Without a mass, a person's weight in kilograms: no person weighs so little in newtons.
const PERSON_KG: std::ops::Range<f64> = 30.0..150.0;

/// A swing pushes no harder than this many times weight. Peaks of 1.5 to 2.2 are usual (from memory, literature).
const PUSHES: f64 = 3.0;

/// With a mass, the standing force in the right unit is within this share of the weight.
const WEIGHS: f64 = 0.1;

/// Forces by the weight of a person; moments by the place of the centre of pressure.
pub(super) fn check(
    at: &Place,
    plates: &[PlateWrench],
    rate_hz: f64,
    shadows: &[PlateShadow],
    mass_kg: Option<f64>,
    findings: &mut Vec<Finding>,
) {
    let Some(total) = Total::of(plates, rate_hz) else { return };
    if let Some((factor, level_n)) = total.thousand() {
        let (person, word) = (level_n * factor, if factor > 1.0 { "kN" } else { "N" });
        let seen = format!("{level_n:.3} N in the quietest half second; {person:.0} N would be a person");
        let found = Finding::new(&finding::FORCE_UNITS_ODD, seen);
        forces(at, plates, factor, word, found, findings);
    } else if let Some((factor, word, level_n)) = total.of_weight(mass_kg, at.newton()) {
        let seen = match mass_kg {
            Some(kg) => format!(
                "{level_n:.1} N in the quietest half second, and a mass of {kg:.1} kg, which weighs {:.0} N: \
                 the numbers fit {word}",
                kg * KILOGRAM_N
            ),
            None if factor < 1.0 => format!(
                "{level_n:.1} N in the quietest half second is no person; {:.0} N would be",
                level_n * factor
            ),
            None => format!(
                "{level_n:.1} N in the quietest half second, pushed to {:.1} N; in kgf that is {:.0} N, a person (in lbf \
                 {:.0} N: state --mass to settle it)",
                total.high_n,
                level_n * KILOGRAM_N,
                level_n * POUND_N
            ),
        };
        let found = Finding::new(&finding::FORCE_UNITS_WEIGHT, seen);
        forces(at, plates, factor, word, found, findings);
    } else {
        for (plate, _) in plates.iter().zip(shadows).filter(|(_, s)| s.loaded) {
            moments(at, plate, findings);
        }
    }
}

impl Place<'_> {
    /// N per unit of the force channels, where plates have six plain components.
    fn newton(&self) -> Option<f64> {
        self.rig.plates.iter().find_map(|p| six_plain(&p.sensing)).map(|six| six.0)
    }
}

/// The vertical force of all plates together.
struct Total {
    column: Vec<f64>,
    length: usize,
    low_n: f64,
    high_n: f64,
}

impl Total {
    /// `None` where there is nothing.
    fn of(plates: &[PlateWrench], rate_hz: f64) -> Option<Self> {
        let samples = plates.first()?.wrench.len();
        let mut column = vec![0.0; samples];
        for plate in plates {
            column.iter_mut().zip(&plate.wrench.force_n).for_each(|(sum, force)| *sum += force.z);
        }
        let (low_n, high_n) = signal::stats::extent(&column)?;
        let length = ((0.5 * rate_hz).round() as usize).min(samples / 4).max(2);
        Some(Self { column, length, low_n, high_n })
    }

    /// The level of the quietest interval with a mean in a range, N, where it is as still as a person and yet not as
    /// still as an empty plate's offset all along.
    fn standing(&self, means: std::ops::Range<f64>) -> Option<f64> {
        let search = Search {
            within: 0..self.column.len(),
            length: self.length,
            lowest_mean: means.start,
            highest_mean: means.end,
        };
        let found = quietest(&self.column, &search)?;
        let person =
            found.variance.sqrt() <= 0.03 * found.mean && self.high_n - self.low_n > 0.05 * found.mean;
        person.then_some(found.mean)
    }

    /// The factor that makes a person of what stands quietly on the plates, and its level as read, N; `None` where it
    /// is one already, or where a thousandth or a thousand times it is none either.
    fn thousand(&self) -> Option<(f64, f64)> {
        // Nothing may reach a person's weight if forces are too small; everything must be far over it if too large.
        let factor = if self.high_n < PERSON_N.start / 3.0 {
            1000.0
        } else if self.high_n > 40.0 * PERSON_N.end {
            0.001
        } else {
            return None;
        };
        self.standing(PERSON_N.start / factor..PERSON_N.end / factor).map(|level_n| (factor, level_n))
    }

    /// The factor that makes the stated mass, or without one a person, of kilograms or pounds taken for newtons or the
    /// reverse; the unit's word; and the level as read, N. `newton`: of one unit, as stated.
    fn of_weight(&self, mass_kg: Option<f64>, newton: Option<f64>) -> Option<(f64, &'static str, f64)> {
        let Some(kg) = mass_kg.filter(|kg| *kg > 0.0) else {
            let stated = newton.filter(|n| close(*n, KILOGRAM_N) || close(*n, POUND_N));
            if let Some((newton, level_n)) =
                stated.and_then(|n| Some((n, self.standing(PERSON_N.end..PERSON_N.end * n)?)))
            {
                return (self.high_n < PUSHES * level_n).then_some((1.0 / newton, "N", level_n));
            }
            let level_n = self.standing(PERSON_KG)?;
            return (self.high_n < PUSHES * level_n).then_some((KILOGRAM_N, "kgf", level_n));
        };
        let units = [(KILOGRAM_N, "kgf"), (POUND_N, "lbf"), (1.0 / KILOGRAM_N, "N"), (1.0 / POUND_N, "N")];
        let weighs = |factor: f64| {
            let weight_n = kg * KILOGRAM_N / factor;
            let level_n = self.standing((1.0 - WEIGHS) * weight_n..(1.0 + WEIGHS) * weight_n)?;
            (self.high_n < PUSHES * level_n).then_some(level_n)
        };
        units.into_iter().find_map(|(factor, word)| Some((factor, word, weighs(factor)?)))
    }
}

fn forces(
    at: &Place,
    plates: &[PlateWrench],
    factor: f64,
    word: &str,
    mut found: Finding,
    findings: &mut Vec<Finding>,
) {
    let moment = moment_factor(at, plates, factor, word);
    let lines: Vec<(usize, String)> = plates
        .iter()
        .filter_map(|p| Some((p.plate, lines(at, p.plate, factor, moment, findings)?)))
        .collect();
    if !lines.is_empty() {
        let text = blocks(at.recording, at.rig, &lines);
        found = found.with_remedy(format!("The channels are in {word}; state it in a rig file:{text}"));
    }
    findings.push(found);
}

/// What the moments must be multiplied by where forces are by `factor`: the centre of pressure is their ratio, and is on
/// the plate, and not at its very centre all the time. They went the same way as the forces where that fits; else one
/// of the moment units that go with the force unit is tried.
fn moment_factor(at: &Place, plates: &[PlateWrench], factor: f64, word: &str) -> f64 {
    let as_it_is =
        |p: &PlateWrench| inside_share(p, 0.0).is_none_or(|on| on > 0.9 && near_centre_share(p) < 0.95);
    if plates.iter().all(as_it_is) {
        return factor;
    }
    let units: &[f64] = match word {
        "kgf" => &[KILOGRAM_N, KILOGRAM_N / 100.0, KILOGRAM_N / 1000.0],
        "lbf" => &[POUND_N * INCH_M, POUND_N * FOOT_M],
        _ => &[],
    };
    let now = plates.iter().find_map(|p| six_plain(&at.rig.plates.get(p.plate)?.sensing)).map(|six| six.1);
    let tried = now.into_iter().flat_map(|now| units.iter().map(move |unit| unit / now));
    let fits = |moment: &f64| {
        let mut rig = at.rig.clone();
        rig.plates = rig.plates.iter().map(|p| scaled(p, factor, *moment)).collect();
        wrenches(at.recording, &rig, at.frame).value.iter().all(as_it_is)
    };
    std::iter::once(1.0).chain(tried).find(fits).unwrap_or(1.0)
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
        let force_units = [("N", 1.0), ("kN", 1000.0), ("kgf", KILOGRAM_N), ("lbf", POUND_N)];
        let force_unit = force_units.into_iter().find(|u| close(newton, u.1));
        let moment_units = [
            ("Nmm", 0.001),
            ("Nm", 1.0),
            ("kNm", 1000.0),
            ("kgf·m", KILOGRAM_N),
            ("kgf·cm", KILOGRAM_N / 100.0),
            ("kgf·mm", KILOGRAM_N / 1000.0),
            ("lbf·in", POUND_N * INCH_M),
            ("lbf·ft", POUND_N * FOOT_M),
        ];
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
