//! How numbers are written: sign always shown, true minus, "—" for what is not defined.

/// A signed figure with a stated number of decimals: "+12.4", "−0.3", "—" for NaN. Zero carries no sign.
pub fn signed(value: f64, decimals: usize) -> String {
    if value.is_nan() {
        return "—".into();
    }
    let size = format!("{:.decimals$}", value.abs());
    if size.chars().all(|c| c == '0' || c == '.') {
        return size;
    }
    format!("{}{size}", if value < 0.0 { '−' } else { '+' })
}

/// An unsigned figure (times, lengths): "0.480", "−0.020" where it is negative, "—" for NaN.
pub fn plain(value: f64, decimals: usize) -> String {
    if value.is_nan() {
        return "—".into();
    }
    let text = signed(value, decimals);
    text.strip_prefix('+').map_or(text.clone(), str::to_string)
}

/// A share of a whole, in percent: "+27 %", "—" where the whole is nothing.
pub fn percent(part: f64, whole: f64) -> String {
    let share = 100.0 * part / whole;
    if share.is_finite() { format!("{} %", signed(share, 0)) } else { "—".into() }
}

/// "1 swing", "3 swings".
pub fn count(n: usize, one: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") }
}

/// What is printed after ±: the half width of a 95 % interval, from a standard uncertainty.
///
/// Source: JCGM 100:2008 (GUM), 6.2 and G.3: coverage factor 1.96 for a normal error of well-known size.
pub const COVERAGE: f64 = 1.96;

/// Decimals that go with an uncertainty: two digits of it where it begins with 1 or 2, else one; at most six, and none
/// where it is not defined or nothing. Source: JCGM 100:2008 (GUM), 7.2.6 (at most two digits).
pub fn decimals(plus_minus: f64) -> usize {
    if !(plus_minus > 0.0 && plus_minus.is_finite()) {
        return 0;
    }
    for decimals in 0..=6 {
        let scaled = plus_minus * [1.0, 10.0, 1e2, 1e3, 1e4, 1e5, 1e6][decimals];
        // Three and more stand as one digit; one and two need another.
        if scaled >= 2.95 {
            return decimals;
        }
    }
    6
}

/// A signed figure and its ±, digits to match: ("−21.4", "0.9"); ("—", "—") for NaN; a value without uncertainty
/// keeps `fallback` decimals and gets "—".
pub fn with_plus_minus(value: f64, plus_minus: f64, fallback: usize) -> (String, String) {
    if value.is_nan() {
        return ("—".into(), "—".into());
    }
    if !(plus_minus > 0.0 && plus_minus.is_finite()) {
        return (signed(value, fallback), "—".into());
    }
    let digits = decimals(plus_minus);
    (signed(value, digits), format!("{plus_minus:.digits$}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_read_as_a_person_writes_them() {
        assert_eq!(signed(12.35, 1), "+12.3");
        assert_eq!(signed(-0.26, 1), "−0.3");
        assert_eq!(signed(-0.04, 1), "0.0");
        assert_eq!(signed(f64::NAN, 1), "—");
        assert_eq!(plain(1.5, 3), "1.500");
        assert_eq!(percent(-3.0, 12.0), "−25 %");
        assert_eq!(percent(1.0, 0.0), "—");
    }

    /// As in the GUM (7.2.2: 100.021 47 g with 0.35 mg), and ours.
    #[test]
    fn digits_follow_the_uncertainty() {
        let pair = |v: f64, u: f64| with_plus_minus(v, u, 1);
        assert_eq!(pair(-21.4321, 0.93), ("−21.4".into(), "0.9".into()));
        assert_eq!(pair(68.2344, 1.87), ("+68.2".into(), "1.9".into()));
        assert_eq!(pair(1234.6, 12.3), ("+1235".into(), "12".into()));
        assert_eq!(pair(100.021_47, 0.000_36), ("+100.0215".into(), "0.0004".into()));
        assert_eq!(pair(5.0, 0.0), ("+5.0".into(), "—".into()));
        assert_eq!(pair(f64::NAN, 1.0), ("—".into(), "—".into()));
        assert_eq!((decimals(0.0149), decimals(0.3), decimals(0.96), decimals(2.96)), (3, 1, 1, 0));
    }
}
