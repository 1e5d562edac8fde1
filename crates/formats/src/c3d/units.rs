//! Unit texts as they are found in files.
//!
//! Factors are the exact definitions (1 lbf = 4.4482216152605 N, 1 in = 0.0254 m, 1 kgf = 9.80665 N).

/// What a unit text measures, with the factor to SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Unit {
    /// Metres per unit.
    Length(f64),
    /// Newtons per unit.
    Force(f64),
    /// Newton metres per unit.
    Moment(f64),
    /// Nothing mechanical, or not understood (V, bits, empty).
    Unknown,
}

/// Reads a unit text. Spaces, dots, stars and case do not matter; "nt" is an old form of N; texts may be cut off
/// ("mete").
pub fn unit(text: &str) -> Unit {
    let drop = |c: &char| !matches!(c, ' ' | '.' | '*' | '·' | '⋅' | '-' | '_' | '(' | ')' | '[' | ']');
    let text: String = text.trim().chars().filter(drop).flat_map(char::to_lowercase).collect();
    if let Some(metres) = length(&text) {
        return Unit::Length(metres);
    }
    if let Some(newtons) = force(&text) {
        return Unit::Force(newtons);
    }
    // A moment is a force and a length in either order, with or without the old "nt".
    for cut in text.char_indices().map(|(at, _)| at).skip(1) {
        let (a, b) = text.split_at(cut);
        let pair = force(a).zip(length(b)).or_else(|| length(a).filter(|_| a != "m").zip(force(b)));
        if let Some((x, y)) = pair {
            return Unit::Moment(x * y);
        }
    }
    Unit::Unknown
}

fn length(text: &str) -> Option<f64> {
    Some(match text {
        "m" | "mete" | "meter" | "meters" | "metre" | "metres" => 1.0,
        "mm" | "millimeter" | "millimeters" | "millimetre" | "millimetres" | "mill" => 1e-3,
        "cm" | "centimeter" | "centimeters" | "centimetre" | "centimetres" | "cent" => 1e-2,
        "dm" => 0.1,
        "in" | "inch" | "inches" => 0.0254,
        "ft" | "foot" | "feet" => 0.3048,
        _ => return None,
    })
}

fn force(text: &str) -> Option<f64> {
    Some(match text {
        "n" | "nt" | "newton" | "newtons" => 1.0,
        "kn" | "kilonewton" | "kilonewtons" => 1e3,
        "lbf" | "lb" | "lbs" => 4.448_221_615_260_5,
        "kgf" | "kp" => 9.806_65,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_from_real_files() {
        let near = |a: Unit, b: Unit| match (a, b) {
            (Unit::Length(a), Unit::Length(b))
            | (Unit::Force(a), Unit::Force(b))
            | (Unit::Moment(a), Unit::Moment(b)) => (a / b - 1.0).abs() < 1e-12,
            (a, b) => a == b,
        };
        let cases = [
            ("N", Unit::Force(1.0)),
            ("nt", Unit::Force(1.0)),
            ("kN", Unit::Force(1e3)),
            ("Nmm", Unit::Moment(1e-3)),
            ("ntmm", Unit::Moment(1e-3)),
            ("N.mm", Unit::Moment(1e-3)),
            ("N*mm", Unit::Moment(1e-3)),
            ("Nm", Unit::Moment(1.0)),
            ("N·m", Unit::Moment(1.0)),
            ("N m", Unit::Moment(1.0)),
            ("Ncm", Unit::Moment(1e-2)),
            ("kNm", Unit::Moment(1e3)),
            ("ft lbf", Unit::Moment(1.355_817_948_331_4)),
            ("mm", Unit::Length(1e-3)),
            ("mete", Unit::Length(1.0)),
            ("V", Unit::Unknown),
            ("mV", Unit::Unknown),
            ("d.u.", Unit::Unknown),
            ("", Unit::Unknown),
        ];
        for (text, want) in cases {
            assert!(near(unit(text), want), "{text}: {:?}", unit(text));
        }
    }
}
