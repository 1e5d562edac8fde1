//! Units in which other instruments give speeds, lengths, angles and spin, and their exact factors to SI.

/// What kind of quantity a unit is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dimension {
    /// Speed, m/s.
    Speed,
    /// Length, m.
    Length,
    /// Angle, rad.
    Angle,
    /// Angular velocity, rad/s.
    Turning,
    /// Time, s.
    Time,
    /// A ratio, 1.
    One,
}

impl Dimension {
    /// Its SI unit.
    pub fn si(self) -> &'static str {
        match self {
            Self::Speed => "m/s",
            Self::Length => "m",
            Self::Angle => "rad",
            Self::Turning => "rad/s",
            Self::Time => "s",
            Self::One => "1",
        }
    }

    /// The units that fit it, for an error.
    pub fn units(self) -> String {
        let fitting = UNITS.iter().filter(|u| u.dimension == self).map(|u| u.symbol);
        fitting.collect::<Vec<_>>().join(", ")
    }
}

/// A unit: a value times `times` over `over` is SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// As it is written back.
    pub symbol: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    times: f64,
    over: f64,
    also: &'static [&'static str],
}

impl Unit {
    /// In SI.
    pub fn si(&self, value: f64) -> f64 {
        value * self.times / self.over
    }
}

/// The units that are known.
///
/// Source: international yard and pound agreement of 1959 (1 yd = 0.9144 m; 1 ft = yd/3, 1 in = yd/36, 1 mile = 1760 yd);
/// SI Brochure, 9th edition (degree, minute, hour); nautical mile of 1852 m, International Hydrographic Conference 1929.
pub const UNITS: &[Unit] = &[
    unit("m/s", Dimension::Speed, 1.0, 1.0, &["mps"]),
    unit("mph", Dimension::Speed, 0.447_04, 1.0, &["mi/h", "miles/h", "miles per hour"]),
    unit("km/h", Dimension::Speed, 5.0, 18.0, &["kmh", "kph", "kmph", "km/hr"]),
    unit("kn", Dimension::Speed, 463.0, 900.0, &["kt", "kts", "knot", "knots"]),
    unit("ft/s", Dimension::Speed, 0.3048, 1.0, &["fps"]),
    unit("m", Dimension::Length, 1.0, 1.0, &["metre", "metres", "meter", "meters"]),
    unit("yd", Dimension::Length, 0.9144, 1.0, &["yds", "yard", "yards"]),
    unit("ft", Dimension::Length, 0.3048, 1.0, &["foot", "feet"]),
    unit("in", Dimension::Length, 0.0254, 1.0, &["inch", "inches"]),
    unit("cm", Dimension::Length, 1.0, 100.0, &[]),
    unit("mm", Dimension::Length, 1.0, 1000.0, &[]),
    unit("deg", Dimension::Angle, std::f64::consts::PI, 180.0, &["°", "degs", "degree", "degrees"]),
    unit("rad", Dimension::Angle, 1.0, 1.0, &[]),
    unit("rpm", Dimension::Turning, std::f64::consts::PI, 30.0, &["r/min", "rev/min"]),
    unit("rad/s", Dimension::Turning, 1.0, 1.0, &[]),
    unit("deg/s", Dimension::Turning, std::f64::consts::PI, 180.0, &["°/s"]),
    unit("s", Dimension::Time, 1.0, 1.0, &["sec", "second", "seconds"]),
    unit("ms", Dimension::Time, 1.0, 1000.0, &[]),
    unit("1", Dimension::One, 1.0, 1.0, &[]),
    unit("%", Dimension::One, 1.0, 100.0, &["percent"]),
];

const fn unit(
    symbol: &'static str,
    dimension: Dimension,
    times: f64,
    over: f64,
    also: &'static [&'static str],
) -> Unit {
    Unit { symbol, dimension, times, over, also }
}

/// The unit of a word, whatever the case: "mph", "KM/H", "yards", "°".
pub fn called(text: &str) -> Option<&'static Unit> {
    let word = text.trim().to_lowercase();
    UNITS.iter().find(|u| u.symbol == word || u.also.contains(&word.as_str()))
}

/// Every unit there is, for an error.
pub fn known() -> String {
    UNITS.iter().map(|u| u.symbol).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;

    /// Exact by definition: international yard and pound agreement 1959 (yard 0.9144 m, foot a third, inch a
    /// thirty-sixth, mile 1760 yards, hence 1 mph = 1760 × 0.9144 / 3600 = 0.44704 m/s); nautical mile 1852 m (IHC 1929);
    /// SI Brochure 9th ed. table 8 (1° = π/180 rad, 1 min = 60 s, 1 h = 3600 s).
    #[test]
    fn factors_are_those_of_the_definitions() {
        let si = |value: f64, unit: &str| called(unit).unwrap().si(value);
        let pi = std::f64::consts::PI;
        for (value, unit, expected) in [
            (1.0, "mph", 1760.0 * 0.9144 / 3600.0),
            (100.0, "mph", 44.704),
            (3.6, "km/h", 1.0),
            (90.0, "km/h", 25.0),
            (1.0, "kn", 1852.0 / 3600.0),
            (1.0, "ft/s", 0.9144 / 3.0),
            (250.0, "yd", 228.6),
            (3.0, "ft", 0.9144),
            (36.0, "in", 0.9144),
            (100.0, "cm", 1.0),
            (1000.0, "mm", 1.0),
            (180.0, "deg", pi),
            (60.0, "rpm", 2.0 * pi),
            (360.0, "deg/s", 2.0 * pi),
            (250.0, "ms", 0.25),
            (50.0, "%", 0.5),
            (1.48, "1", 1.48),
        ] {
            let is = si(value, unit);
            assert!(
                (is - expected).abs() <= 4.0 * f64::EPSILON * expected,
                "{value} {unit}: {is}, {expected}"
            );
        }
    }

    #[test]
    fn units_are_known_by_every_usual_name_and_by_no_other() {
        let symbol = |text: &str| called(text).map(|u| u.symbol);
        assert_eq!(symbol(" MPH "), Some("mph"));
        assert_eq!(symbol("Yards"), Some("yd"));
        assert_eq!(symbol("°"), Some("deg"));
        assert_eq!((symbol("furlong"), symbol(""), symbol("mp")), (None, None, None));
        let mut names: Vec<&str> =
            UNITS.iter().flat_map(|u| u.also.iter().copied().chain([u.symbol])).collect();
        names.sort_unstable();
        assert!(names.array_windows().all(|[a, b]| a != b), "a name means one unit");
        assert_eq!(Dimension::Turning.units(), "rpm, rad/s, deg/s");
    }
}
