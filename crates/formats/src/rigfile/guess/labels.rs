//! Which channels belong together: names such as "p1_Fx", "Fx1", "F1X", "RGRF_X" taken apart.
use std::collections::BTreeMap;

/// Channels of one plate or foot, by what their names say. Indices into the recording's channels.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Group {
    /// What the names have in common beside the quantity: "1", "R", or nothing.
    pub key: String,
    pub force: [Option<usize>; 3],
    pub moment: [Option<usize>; 3],
    pub piezo: [Option<usize>; 8],
    pub cop: [Option<usize>; 3],
    pub free: Option<usize>,
}

/// What a complete group can be used as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    Six,
    Piezo,
    Reduced,
}

impl Group {
    /// Six components before reduced ones (they say more), raw piezo channels last (they need lengths).
    pub fn kind(&self) -> Option<Kind> {
        let force = self.force.iter().all(Option::is_some);
        match () {
            () if force && self.moment.iter().all(Option::is_some) => Some(Kind::Six),
            () if force && self.cop.iter().flatten().count() >= 2 => Some(Kind::Reduced),
            () if self.piezo.iter().all(Option::is_some) => Some(Kind::Piezo),
            () => None,
        }
    }
    fn first(&self) -> usize {
        let all = self.force.iter().chain(&self.moment).chain(&self.piezo).chain(&self.cop);
        all.flatten().copied().min().unwrap_or(usize::MAX)
    }
}

#[derive(Clone, Copy)]
enum Part {
    Force(usize),
    Moment(usize),
    Piezo(usize),
    Cop(usize),
    Free,
}

const PIEZO: [&str; 8] = ["FX12", "FX34", "FY14", "FY23", "FZ1", "FZ2", "FZ3", "FZ4"];
/// The part that a stem and an axis (0, 1, 2) stand for.
type PartOf = fn(usize) -> Part;

/// Stem, what it stands for, and whether letters may stand between stem and axis ("GRFNET_X"); digits always may.
const STEMS: [(&str, PartOf, bool); 13] = [
    ("GRF", Part::Force, true),
    ("FORCE", Part::Force, true),
    ("F", Part::Force, false),
    ("MOMENT", Part::Moment, true),
    ("TORQUE", Part::Moment, true),
    ("M", Part::Moment, false),
    ("COP", Part::Cop, true),
    ("COFP", Part::Cop, true),
    ("CENTEROFPRESSURE", Part::Cop, true),
    ("A", Part::Cop, false),
    ("P", Part::Cop, false),
    ("FREEMOMENT", |_| Part::Free, false),
    ("FREETORQUE", |_| Part::Free, false),
];
const AXES: [char; 3] = ['X', 'Y', 'Z'];
/// Keys that mean a sum over the feet.
const SUMS: [&str; 6] = ["NET", "SUM", "TOTAL", "ALL", "TOT", "COMBINED"];

/// Every way to read a label: part and key.
fn readings(label: &str) -> Vec<(Part, String)> {
    let plain: String = label.chars().filter(char::is_ascii_alphanumeric).collect::<String>().to_uppercase();
    let mut out = Vec::new();
    for (index, name) in PIEZO.iter().enumerate() {
        if let Some(key) = plain.strip_suffix(name).or_else(|| plain.strip_prefix(name)) {
            out.push((Part::Piezo(index), key.to_owned()));
        }
    }
    if let Some(key) = plain.strip_suffix("TZ").or_else(|| plain.strip_prefix("TZ")) {
        out.push((Part::Free, key.to_owned()));
    }
    for (stem, part, letters) in STEMS {
        for (axis, letter) in AXES.into_iter().enumerate() {
            let name = format!("{stem}{letter}");
            if let Some(key) = plain.strip_suffix(&name).or_else(|| plain.strip_prefix(&name)) {
                out.push((part(axis), key.to_owned()));
            } else if let Some(key) = plain.strip_suffix(letter).and_then(|p| p.strip_prefix(stem))
                && !key.is_empty()
                && (letters || key.chars().all(|c| c.is_ascii_digit()))
            {
                out.push((part(axis), key.to_owned()));
            }
        }
    }
    out
}

/// The same key for "P1", "PLATE1", "1"; for "R" and "RIGHT".
fn plain_key(key: &str) -> String {
    let digits = key.trim_start_matches(|c: char| c.is_ascii_alphabetic());
    let letters = &key[..key.len() - digits.len()];
    let plate = ["P", "FP", "PF", "PLATE", "FORCEPLATE", "PLATFORM", "FORCEPLATFORM", ""].contains(&letters);
    match key {
        "RIGHT" => "R".into(),
        "LEFT" => "L".into(),
        _ if plate && !digits.is_empty() => digits.into(),
        _ => key.into(),
    }
}

/// The complete groups among the labels, in the order of their first channels.
pub(crate) fn groups(labels: &[&str]) -> Vec<Group> {
    let mut by_key: BTreeMap<String, Group> = BTreeMap::new();
    for (index, label) in labels.iter().enumerate() {
        for (part, key) in readings(label) {
            let key = plain_key(&key);
            let group = by_key.entry(key.clone()).or_default();
            group.key = key;
            let place = match part {
                Part::Force(k) => &mut group.force[k],
                Part::Moment(k) => &mut group.moment[k],
                Part::Piezo(k) => &mut group.piezo[k],
                Part::Cop(k) => &mut group.cop[k],
                Part::Free => &mut group.free,
            };
            place.get_or_insert(index);
        }
    }
    let mut complete: Vec<Group> = by_key.into_values().filter(|g| g.kind().is_some()).collect();
    if complete.iter().any(|g| !SUMS.contains(&g.key.as_str())) {
        complete.retain(|g| !SUMS.contains(&g.key.as_str()));
    }
    complete.sort_by_key(Group::first);
    complete
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(labels: &[&str]) -> Vec<(String, Kind)> {
        groups(labels).into_iter().map(|g| (g.key.clone(), g.kind().unwrap())).collect()
    }

    #[test]
    fn names_of_many_habits_are_grouped() {
        let six = |f: &dyn Fn(&str) -> String| ["Fx", "Fy", "Fz", "Mx", "My", "Mz"].map(f).to_vec();
        let check = |labels: Vec<String>, key: &str| {
            let labels: Vec<&str> = labels.iter().map(String::as_str).collect();
            assert_eq!(found(&labels), [(key.to_owned(), Kind::Six)], "{labels:?}");
        };
        check(six(&|c| format!("p1_{c}")), "1");
        check(six(&|c| format!("{c}2")), "2");
        check(six(&|c| format!("F1{}", &c[1..]).replace('F', &c[..1])), "1");
        check(six(&|c| format!("Plate 3 {c}")), "3");
        check(six(&|c| format!("Left.{c}")), "L");
        check(six(&|c| c.to_owned()), "");
    }

    #[test]
    fn piezo_channels_are_not_taken_for_plates_of_their_own() {
        let raw = ["Fx12", "Fx34", "Fy14", "Fy23", "Fz1", "Fz2", "Fz3", "Fz4"];
        assert_eq!(found(&raw), [(String::new(), Kind::Piezo)]);
        let two: Vec<String> =
            ["P1", "P2"].iter().flat_map(|p| raw.iter().map(move |r| format!("{p}_{r}"))).collect();
        let two: Vec<&str> = two.iter().map(String::as_str).collect();
        assert_eq!(found(&two), [("1".to_owned(), Kind::Piezo), ("2".to_owned(), Kind::Piezo)]);
    }

    #[test]
    fn feet_are_found_and_their_sum_is_left_out() {
        let mut labels = Vec::new();
        for (side, after) in [("R", ""), ("L", ""), ("", "NET")] {
            for axis in ["X", "Y", "Z"] {
                labels.push(format!("{side}GRF{after}_{axis}"));
                labels.push(format!("{side}COP{after}_{axis}"));
            }
        }
        let labels: Vec<&str> = labels.iter().map(String::as_str).collect();
        assert_eq!(found(&labels), [("R".to_owned(), Kind::Reduced), ("L".to_owned(), Kind::Reduced)]);
    }
}
