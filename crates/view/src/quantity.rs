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
}
