//! The unit in which people read a metric: forces in %BW, moments in N·m, lengths in cm, times in s.
use crate::quantity::COVERAGE;
use swing::analyse::STANDARD_GRAVITY;
use swing::metrics::{Figure, Unit};

/// A figure in a person's unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shown {
    /// Value.
    pub value: f64,
    /// Half width of the 95 % interval.
    pub plus_minus: f64,
    /// Decimals where there is no uncertainty to follow.
    pub decimals: usize,
    /// The unit.
    pub unit: &'static str,
}

/// Relative to the body: %BW, N·m/kg and the like; `None` for units that have no such figure or without a weight.
pub fn by_body(unit: Unit, figure: &Figure) -> Option<Shown> {
    let (value, u) = figure.by_weight?;
    let (factor, decimals, unit) = match unit {
        Unit::Newton => (100.0, 1, "%BW"),
        Unit::NewtonSecond => (100.0, 1, "%BW·s"),
        Unit::NewtonPerSecond => (100.0, 0, "%BW/s"),
        // Per newton of weight times g is per kilogram.
        Unit::NewtonMetre => (STANDARD_GRAVITY, 3, "N·m/kg"),
        Unit::NewtonMetreSecond => (STANDARD_GRAVITY, 3, "N·m·s/kg"),
        _ => return None,
    };
    Some(Shown { value: factor * value, plus_minus: COVERAGE * factor * u, decimals, unit })
}

/// As people read it: forces relative to the body where a weight is known, the rest in handy units.
pub fn shown(unit: Unit, figure: &Figure) -> Shown {
    let relative = matches!(unit, Unit::Newton | Unit::NewtonSecond | Unit::NewtonPerSecond);
    if let Some(body) = by_body(unit, figure).filter(|_| relative) {
        return body;
    }
    let (factor, decimals, name) = match unit {
        Unit::Metre => (100.0, 1, "cm"),
        Unit::NewtonMetrePerMetre => (0.01, 2, "N·m/cm"),
        Unit::Radian => (180.0 / std::f64::consts::PI, 1, "°"),
        Unit::Newton | Unit::NewtonMetre => (1.0, 1, unit.symbol()),
        Unit::Second => (1.0, 3, "s"),
        Unit::Share => (100.0, 1, "%"),
        Unit::One => (1.0, 3, ""),
        other => (1.0, 2, other.symbol()),
    };
    Shown { value: factor * figure.value, plus_minus: COVERAGE * factor * figure.u, decimals, unit: name }
}

/// A unit in which a person may give a value of a metric.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Way {
    /// As written.
    pub unit: &'static str,
    /// From it to SI, or, where `by_weight`, to a multiple of body weight.
    pub factor: f64,
    /// True where the figure over body weight is meant.
    pub by_weight: bool,
}

/// Units in which values of a metric may be given, SI first.
pub fn ways(unit: Unit) -> Vec<Way> {
    let si = |unit, factor| Way { unit, factor, by_weight: false };
    let body = |unit, factor| Way { unit, factor, by_weight: true };
    let per_kg = 1.0 / STANDARD_GRAVITY;
    match unit {
        Unit::Newton => vec![si("N", 1.0), si("kN", 1e3), body("%BW", 0.01), body("BW", 1.0)],
        Unit::NewtonSecond => vec![si("N·s", 1.0), body("%BW·s", 0.01), body("BW·s", 1.0)],
        Unit::NewtonPerSecond => {
            vec![si("N/s", 1.0), si("kN/s", 1e3), body("%BW/s", 0.01), body("BW/s", 1.0)]
        }
        Unit::NewtonMetre => vec![si("N·m", 1.0), body("N·m/kg", per_kg)],
        Unit::NewtonMetreSecond => vec![si("N·m·s", 1.0), body("N·m·s/kg", per_kg)],
        Unit::Metre => vec![si("m", 1.0), si("cm", 1e-2), si("mm", 1e-3)],
        Unit::MetrePerSecond => vec![si("m/s", 1.0), si("cm/s", 1e-2)],
        Unit::Watt => vec![si("W", 1.0), si("kW", 1e3)],
        Unit::Second => vec![si("s", 1.0), si("ms", 1e-3)],
        Unit::Radian => {
            let degree = std::f64::consts::PI / 180.0;
            vec![si("rad", 1.0), si("°", degree), si("deg", degree)]
        }
        Unit::NewtonMetrePerMetre => vec![si("N·m/m", 1.0), si("N·m/cm", 100.0)],
        Unit::Share => vec![si("1", 1.0), si("%", 0.01)],
        Unit::One => vec![si("1", 1.0)],
    }
}

/// The way a person means by a unit's name, whatever its dots, spaces and case; none stated is SI.
///
/// Errors: a unit that does not fit the metric, with those that do.
pub fn way(unit: Unit, written: &str) -> Result<Way, String> {
    let plain = |text: &str| -> String {
        let kept = text.chars().filter(|c| !c.is_whitespace() && !['·', '⋅', '*', '.'].contains(c));
        kept.flat_map(char::to_lowercase).collect()
    };
    let (asked, all) = (plain(written), ways(unit));
    let found = all.iter().find(|w| asked.is_empty() || plain(w.unit) == asked);
    found.copied().ok_or_else(|| {
        let fit: Vec<&str> = all.iter().map(|w| w.unit).filter(|w| *w != "1").collect();
        match fit.as_slice() {
            [] => format!("\"{}\" does not fit: it is a plain number, without a unit", written.trim()),
            _ => format!("\"{}\" does not fit; units that do: {}", written.trim(), fit.join(", ")),
        }
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;

    /// What is given in the unit that is shown is the figure again.
    #[test]
    fn what_is_shown_can_be_given() {
        let figure = Figure {
            value: 0.37,
            u: 0.01,
            by_weight: Some((0.53, 0.02)),
            at_s: None,
            sample: None,
            dominant: None,
            estimated: false,
            touched_by: Vec::new(),
        };
        for unit in [
            Unit::Newton,
            Unit::NewtonMetre,
            Unit::NewtonSecond,
            Unit::NewtonMetreSecond,
            Unit::NewtonPerSecond,
            Unit::Metre,
            Unit::MetrePerSecond,
            Unit::Watt,
            Unit::Second,
            Unit::Radian,
            Unit::NewtonMetrePerMetre,
            Unit::Share,
            Unit::One,
        ] {
            assert_eq!(way(unit, "").unwrap(), way(unit, unit.symbol()).unwrap(), "no unit is SI");
            for shown in [Some(shown(unit, &figure)), by_body(unit, &figure)].into_iter().flatten() {
                let way = way(unit, shown.unit).unwrap();
                let meant = if way.by_weight { 0.53 } else { 0.37 };
                assert!((way.factor * shown.value - meant).abs() < 1e-12, "{unit:?} {}", shown.unit);
            }
        }
    }

    #[test]
    fn units_are_read_however_they_are_typed() {
        for text in ["N·m", "Nm", "nm", "N*m", "N m", " N.m "] {
            assert_eq!(way(Unit::NewtonMetre, text).unwrap().unit, "N·m");
        }
        assert_eq!(way(Unit::Second, "ms").unwrap().factor, 1e-3);
        let why = way(Unit::Newton, "kg").unwrap_err();
        assert_eq!(why, "\"kg\" does not fit; units that do: N, kN, %BW, BW");
        assert!(way(Unit::One, "s").unwrap_err().contains("plain number"));
    }
}
