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
