//! A rig file that says what a rig says: so that a recording turned into a table keeps its plates.
use super::conditioning::ConditioningEntry;
use super::schema::{
    AxesWord, Foot, Force, Matrix, Piezo, PlateEntry, Reduced, RigFile, Six, TargetEntry, TriggerEntry,
    TriggerWord,
};
use crate::table::Column;
use glam::DVec3;
use mechanics::plate::{Foothold, ReducedAxes, piezo8_columns};
use mechanics::{Measures, Plate, Recording, Rig, Sensing, Target, TriggerKind};

/// Describes a rig by the labels of a recording's channels.
///
/// `turned[k]` says, for a plate whose channels' meaning was found from their sign ([`Measures::BySign`]), whether they
/// hold the force on the plate. Reading the result over the same channels gives the same plates.
pub fn of_rig(rig: &Rig, recording: &Recording, turned: &[bool]) -> RigFile {
    let label = |channel: usize| {
        let known = recording.analog.channels.get(channel).map(|c| c.label.clone());
        known.map_or(Column::Number(channel + 1), Column::Name)
    };
    let name = |plate: usize| {
        rig.plates.get(plate).map_or(Column::Number(plate + 1), |p| Column::Name(p.name.clone()))
    };
    RigFile {
        name: Some(rig.name.clone()),
        up: Some(rig.up),
        target: rig.target.map(|target| match target {
            Target::Axis(axis) => TargetEntry::Axis(axis),
            Target::Vector(v) => TargetEntry::Vector(v.to_array()),
            Target::FromTo(from, to) => TargetEntry::FromTo { from: name(from), to: name(to) },
        }),
        origin_m: rig.origin_m.map(|o| o.to_array()),
        load_floor_n: Some(rig.load_floor_n),
        plate: (0..rig.plates.len())
            .map(|k| entry(&rig.plates[k], turned.get(k).copied().unwrap_or(false), &label))
            .collect(),
        trigger: rig.trigger.as_ref().map(|t| TriggerEntry {
            channel: label(t.channel),
            level: t.level,
            marks: t.marks.clone(),
            kind: (t.kind == TriggerKind::Sound).then_some(TriggerWord::Sound),
            distance_m: t.distance_m,
        }),
        conditioning: ConditioningEntry::of(&rig.conditioning),
        ..RigFile::default()
    }
}

fn entry(plate: &Plate, turned: bool, label: &dyn Fn(usize) -> Column) -> PlateEntry {
    let mut entry = PlateEntry {
        name: Some(plate.name.clone()),
        corners_m: Some(plate.corners_m.map(|c| c.to_array())),
        force: Some(match plate.measures {
            Measures::OnPlate => Force::OnPlate,
            Measures::OnPlayer => Force::OnPlayer,
            Measures::BySign if turned => Force::OnPlate,
            Measures::BySign => Force::OnPlayer,
        }),
        cover_mm: (plate.cover_m != 0.0).then_some(plate.cover_m * 1e3),
        foot: plate.foot.map(|foot| match foot {
            Foothold::Lead => Foot::Lead,
            Foothold::Trail => Foot::Trail,
            Foothold::Left => Foot::Left,
            Foothold::Right => Foot::Right,
            Foothold::Both => Foot::Both,
        }),
        force_unit: Some("N".into()),
        moment_unit: Some("N·m".into()),
        ..PlateEntry::default()
    };
    match &plate.sensing {
        Sensing::Linear { channels, columns, origin_m } => {
            let names: Vec<Column> = channels.iter().map(|&c| label(c)).collect();
            linear(&mut entry, &names, columns, *origin_m);
        }
        Sensing::Reduced { force, force_gain, centre, centre_gain, free_moment, free_moment_gain, axes } => {
            entry.force_unit = unit_of(force_gain[0], &FORCE).map(str::to_string);
            entry.moment_unit = unit_of(*free_moment_gain, &MOMENT).map(str::to_string);
            entry.reduced = Some(Reduced {
                force: force.map(label),
                cop: centre.map(|c| c.map_or(Column::Name("-".into()), label)).to_vec(),
                free_moment: free_moment.map(label),
                axes: match axes {
                    ReducedAxes::Plate => AxesWord::Plate,
                    ReducedAxes::Lab => AxesWord::Lab,
                },
                cop_unit: unit_of(*centre_gain, &LENGTH).map(str::to_string),
            });
        }
    }
    entry
}

/// The plainest entry that says the same: six components, a piezo plate, else the matrix itself.
fn linear(entry: &mut PlateEntry, names: &[Column], columns: &[[f64; 6]], origin_m: DVec3) {
    entry.origin_m = Some(origin_m.to_array());
    if let ([fx, fy, fz, mx, my, mz], Some((force, moment))) = (names, six_units(columns)) {
        let [fx, fy, fz, mx, my, mz] = [fx, fy, fz, mx, my, mz].map(Column::clone);
        entry.six = Some(Six { fx, fy, fz, mx, my, mz });
        entry.force_unit = Some(force.into());
        entry.moment_unit = Some(moment.into());
        return;
    }
    let level = origin_m.x == 0.0 && origin_m.y == 0.0;
    if let ([fx12, fx34, fy14, fy23, fz1, fz2, fz3, fz4], Some((unit, half_x_m, half_y_m)), true) =
        (names, piezo_halves(columns), level)
    {
        let [fx12, fx34, fy14, fy23, fz1, fz2, fz3, fz4] =
            [fx12, fx34, fy14, fy23, fz1, fz2, fz3, fz4].map(Column::clone);
        let (half_x_mm, half_y_mm) = (half_x_m * 1e3, half_y_m * 1e3);
        entry.piezo =
            Some(Piezo { fx12, fx34, fy14, fy23, fz1, fz2, fz3, fz4, half_x_mm, half_y_mm, depth_mm: None });
        entry.force_unit = Some(unit.into());
        entry.moment_unit = None;
        return;
    }
    let rows = (0..6).map(|row| columns.iter().map(|c| c[row]).collect()).collect();
    entry.matrix = Some(Matrix { channels: names.to_vec(), rows });
}

const FORCE: [(f64, &str); 2] = [(1.0, "N"), (1000.0, "kN")];
const MOMENT: [(f64, &str); 2] = [(1.0, "N·m"), (0.001, "N·mm")];
const LENGTH: [(f64, &str); 3] = [(1.0, "m"), (0.001, "mm"), (0.01, "cm")];

fn unit_of(gain: f64, units: &[(f64, &'static str)]) -> Option<&'static str> {
    units.iter().find(|(size, _)| *size == gain).map(|(_, name)| *name)
}

fn six_units(columns: &[[f64; 6]]) -> Option<(&'static str, &'static str)> {
    let [first, _, _, fourth, _, _] = columns else { return None };
    let (force, moment) = (first[0], fourth[3]);
    let plain = (0..6).all(|k| {
        let size = if k < 3 { force } else { moment };
        (0..6).all(|row| columns[k][row] == if row == k { size } else { 0.0 })
    });
    Some((unit_of(force, &FORCE)?, unit_of(moment, &MOMENT)?)).filter(|_| plain)
}

fn piezo_halves(columns: &[[f64; 6]]) -> Option<(&'static str, f64, f64)> {
    let [fx12, _, fy14, ..] = columns else { return None };
    let unit = fx12[0];
    let (a_m, b_m) = (fy14[5] / unit, -fx12[5] / unit);
    let plain = columns.len() == 8
        && piezo8_columns(a_m, b_m)
            .iter()
            .zip(columns)
            .all(|(want, is)| want.iter().zip(is).all(|(w, i)| (w * unit - i).abs() <= 1e-12 * unit.abs()));
    Some((unit_of(unit, &FORCE)?, a_m, b_m)).filter(|_| plain)
}
