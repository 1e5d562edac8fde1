//! Units as exports write them, and column names that carry one.

/// What a unit measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quantity {
    /// Newtons.
    Force,
    /// Newton metres.
    Moment,
    /// Metres.
    Length,
    /// Seconds.
    Time,
    /// Anything else that is known to be a unit: volts, degrees, counts…
    Other,
}

/// A unit: what it measures and how many SI units one of it is (1 for [`Quantity::Other`]).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// What it measures.
    pub quantity: Quantity,
    /// N, N·m, m or s in one unit.
    pub factor: f64,
}

/// Pound-force and inch, exact by definition (NIST SP 811).
const POUND_FORCE: f64 = 4.4482216152605;
const INCH: f64 = 0.0254;
const FOOT: f64 = 0.3048;
/// Kilogram-force: the standard gravity times a kilogram, exact by definition.
const KILOGRAM_FORCE: f64 = 9.80665;

/// Reads a unit, whatever its case, brackets, spaces and multiplication mark. `None` where it is not known.
pub fn parse(text: &str) -> Option<Unit> {
    let plain: String = text
        .trim()
        .trim_matches(['[', ']', '(', ')', '{', '}'])
        .chars()
        .filter(|c| !matches!(c, ' ' | '\u{b7}' | '.' | '*' | '-' | '\u{d7}' | '\u{22c5}' | '\u{2219}' | '_'))
        .map(|c| if c == '\u{3bc}' || c == '\u{b5}' { 'u' } else { c.to_ascii_lowercase() })
        .collect();
    use Quantity as Q;
    let unit = |quantity, factor| Some(Unit { quantity, factor });
    match plain.as_str() {
        "n" | "nt" | "newton" | "newtons" => unit(Q::Force, 1.0),
        "kn" | "kilonewton" | "kilonewtons" => unit(Q::Force, 1000.0),
        "mn" => unit(Q::Force, 0.001),
        "lbf" | "lb" | "lbs" => unit(Q::Force, POUND_FORCE),
        "kgf" | "kp" => unit(Q::Force, KILOGRAM_FORCE),
        "nm" | "ntm" | "newtonmeter" | "newtonmeters" | "newtonmetre" | "newtonmetres" => {
            unit(Q::Moment, 1.0)
        }
        "nmm" | "ntmm" | "newtonmillimeter" | "newtonmillimetre" => unit(Q::Moment, 0.001),
        "ncm" => unit(Q::Moment, 0.01),
        "knm" => unit(Q::Moment, 1000.0),
        "knmm" => unit(Q::Moment, 1.0),
        "kgfm" | "kpm" => unit(Q::Moment, KILOGRAM_FORCE),
        "kgfcm" | "kpcm" => unit(Q::Moment, KILOGRAM_FORCE * 0.01),
        "kgfmm" | "kpmm" => unit(Q::Moment, KILOGRAM_FORCE * 0.001),
        "lbfin" | "inlbf" | "inlb" | "lbin" => unit(Q::Moment, POUND_FORCE * INCH),
        "lbfft" | "ftlbf" | "ftlb" | "lbft" => unit(Q::Moment, POUND_FORCE * FOOT),
        "m" | "meter" | "meters" | "metre" | "metres" => unit(Q::Length, 1.0),
        "cm" => unit(Q::Length, 0.01),
        "mm" | "millimeter" | "millimeters" | "millimetre" | "millimetres" => unit(Q::Length, 0.001),
        "in" | "inch" | "inches" => unit(Q::Length, INCH),
        "ft" | "feet" => unit(Q::Length, FOOT),
        "s" | "sec" | "secs" | "second" | "seconds" => unit(Q::Time, 1.0),
        "ms" | "msec" | "millisecond" | "milliseconds" => unit(Q::Time, 0.001),
        "us" | "usec" | "microsecond" | "microseconds" => unit(Q::Time, 1e-6),
        "min" | "minute" | "minutes" => unit(Q::Time, 60.0),
        "v" | "mv" | "uv" | "volt" | "volts" | "v/v" | "mv/v" | "deg" | "degree" | "degrees" | "\u{b0}"
        | "rad" | "hz" | "g" | "m/s" | "mm/s" | "m/s^2" | "m/s2" | "m/s\u{b2}" | "%" | "bit" | "bits"
        | "count" | "counts" | "frame" | "frames" | "#" | "au" | "w" | "j" | "kg" | "deg/s" | "rad/s"
        | "\u{b0}/s" | "pa" | "kpa" | "bw" | "%bw" | "1" => unit(Q::Other, 1.0),
        _ => None,
    }
}

/// Suffixes after an underscore that are read as a unit, in exactly this case.
const SUFFIXES: [&str; 15] =
    ["N", "kN", "Nm", "Nmm", "kNm", "N.m", "N.mm", "m", "cm", "mm", "s", "ms", "us", "V", "mV"];

/// A column name taken apart: `Fx[N]`, `Fx (N)`, `Fx / N`, `Fx_N` give (`Fx`, `N`); `Fx []` gives `Fx` and nothing.
/// A name without a unit comes back whole.
pub fn split(name: &str) -> (&str, &str) {
    let name = name.trim();
    for (open, close) in [('[', ']'), ('(', ')'), ('{', '}')] {
        if let Some(inner) = name.strip_suffix(close)
            && let Some(at) = inner.rfind(open)
        {
            let (label, unit) = (inner[..at].trim(), inner[at + open.len_utf8()..].trim());
            // Square brackets always hold a unit here; others hold one only where it is known: "Force (left)".
            if !label.is_empty() && (open == '[' || parse(unit).is_some()) {
                return (label, unit);
            }
        }
    }
    if let Some((label, unit)) = name.rsplit_once(" / ")
        && parse(unit).is_some()
        && !label.trim().is_empty()
    {
        return (label.trim(), unit.trim());
    }
    if let Some((label, unit)) = name.rsplit_once('_')
        && SUFFIXES.contains(&unit)
        && !label.is_empty()
    {
        return (label, unit);
    }
    (name, "")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_read_in_every_spelling() {
        for (text, quantity, factor) in [
            ("N", Quantity::Force, 1.0),
            ("nt", Quantity::Force, 1.0),
            ("[kN]", Quantity::Force, 1000.0),
            ("N\u{b7}m", Quantity::Moment, 1.0),
            ("N.mm", Quantity::Moment, 0.001),
            ("ntmm", Quantity::Moment, 0.001),
            ("(N m)", Quantity::Moment, 1.0),
            ("cm", Quantity::Length, 0.01),
            ("\u{b5}s", Quantity::Time, 1e-6),
            ("kgf·cm", Quantity::Moment, 0.0980665),
            ("ft-lbf", Quantity::Moment, 1.3558179483314004),
        ] {
            let unit = parse(text).unwrap();
            assert_eq!(unit.quantity, quantity, "{text}");
            assert!((unit.factor / factor - 1.0).abs() < 1e-15, "{text}: {}", unit.factor);
        }
        assert_eq!(parse("left"), None);
        assert_eq!(parse(""), None);
    }

    #[test]
    fn names_give_up_their_units() {
        for (name, label, unit) in [
            ("Fx[N]", "Fx", "N"),
            ("Fx (N)", "Fx", "N"),
            ("Fx / kN", "Fx", "kN"),
            ("p1_Fx_N", "p1_Fx", "N"),
            ("Fx []", "Fx", ""),
            ("Force (left)", "Force (left)", ""),
            ("RGRF_X", "RGRF_X", ""),
            ("_N", "_N", ""),
            ("[N]", "[N]", ""),
            (" plain ", "plain", ""),
        ] {
            assert_eq!(split(name), (label, unit), "{name}");
        }
    }
}
