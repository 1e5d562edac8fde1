//! Decimal numbers straight from bytes, with a point or a comma.

/// Powers of ten that a double holds exactly.
const EXACT: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
    1e19, 1e20, 1e21, 1e22,
];

/// Longest number that is copied to the stack for the exact reader; longer ones are not numbers of a recording.
const LONGEST: usize = 128;

/// Reads the number at the start of `bytes`: its value and how many bytes it took; `None` where there is none.
///
/// Sign (`+`, `-`, the true minus U+2212), digits, the decimal mark, digits, an exponent. The value is the
/// nearest double. Short numbers take one exact multiplication or division (Clinger 1990, "How to read floating
/// point numbers accurately", fast path); the others go through the standard library.
pub(crate) fn leading(bytes: &[u8], decimal: u8) -> Option<(f64, usize)> {
    let mut at = 0;
    let negative = match bytes {
        [b'-', ..] => {
            at = 1;
            true
        }
        [0xE2, 0x88, 0x92, ..] => {
            at = 3;
            true
        }
        [b'+', ..] => {
            at = 1;
            false
        }
        _ => false,
    };
    let from = at;
    let mut mantissa: u64 = 0;
    let mut digits = 0usize;
    while let Some(d) = digit(bytes, at) {
        mantissa = mantissa.wrapping_mul(10).wrapping_add(d);
        digits += 1;
        at += 1;
    }
    let mut scale: i32 = 0;
    // A comma with no digit after it is a delimiter's business, not a decimal mark.
    if bytes.get(at) == Some(&decimal) && (digit(bytes, at + 1).is_some() || (decimal == b'.' && digits > 0))
    {
        at += 1;
        let start = at;
        while let Some(d) = digit(bytes, at) {
            mantissa = mantissa.wrapping_mul(10).wrapping_add(d);
            digits += 1;
            at += 1;
        }
        scale = -i32::try_from(at - start).ok()?;
    }
    if digits == 0 {
        return None;
    }
    if matches!(bytes.get(at), Some(b'e' | b'E')) {
        let mut end = at + 1;
        let down = bytes.get(end) == Some(&b'-');
        if matches!(bytes.get(end), Some(b'+' | b'-')) {
            end += 1;
        }
        let mut exponent: i32 = 0;
        let first = end;
        while let Some(d) = digit(bytes, end) {
            exponent = exponent.saturating_mul(10).saturating_add(d as i32);
            end += 1;
        }
        if end > first {
            scale = scale.saturating_add(if down { -exponent } else { exponent });
            at = end;
        }
    }
    // Up to 19 digits cannot have wrapped a u64 (10^19 < 2^64).
    let size = scale.unsigned_abs() as usize;
    if digits <= 19 && mantissa <= (1 << 53) && size < EXACT.len() {
        let whole = mantissa as f64;
        let value = if scale < 0 { whole / EXACT[size] } else { whole * EXACT[size] };
        return Some((if negative { -value } else { value }, at));
    }
    let value = exact(bytes.get(from..at)?, decimal)?;
    Some((if negative { -value } else { value }, at))
}

#[inline]
fn digit(bytes: &[u8], at: usize) -> Option<u64> {
    let d = bytes.get(at)?.wrapping_sub(b'0');
    (d < 10).then_some(u64::from(d))
}

/// The nearest double by the standard library, from an unsigned number.
fn exact(number: &[u8], decimal: u8) -> Option<f64> {
    let mut copy = [0u8; LONGEST];
    let copy = copy.get_mut(..number.len())?;
    for (to, from) in copy.iter_mut().zip(number) {
        *to = if *from == decimal { b'.' } else { *from };
    }
    std::str::from_utf8(copy).ok()?.parse().ok()
}

/// The number that fills the whole cell, spaces around it aside.
pub(crate) fn whole(cell: &[u8], decimal: u8) -> Option<f64> {
    let cell = trim(cell);
    match leading(cell, decimal) {
        Some((value, used)) if used == cell.len() && value.is_finite() => Some(value),
        _ => None,
    }
}

/// The cell without space, tabs, no-break spaces (UTF-8 and Latin-1) and one pair of double quotes around it.
pub(crate) fn trim(cell: &[u8]) -> &[u8] {
    let inner = blank(cell);
    match inner {
        [b'"', middle @ .., b'"'] => blank(middle),
        _ => inner,
    }
}

fn blank(mut cell: &[u8]) -> &[u8] {
    loop {
        cell = match cell {
            [b' ' | b'\t', rest @ ..] | [0xC2, 0xA0, rest @ ..] | [0xA0, rest @ ..] => rest,
            [rest @ .., b' ' | b'\t'] | [rest @ .., 0xC2, 0xA0] => rest,
            // A lone 0xA0 at the end is a Latin-1 no-break space unless it ends a UTF-8 letter ("à").
            [rest @ .., 0xA0] if rest.last().is_none_or(u8::is_ascii) => rest,
            _ => return cell,
        };
    }
}

/// True for the ways in which exports write "no value": nothing, dashes, NaN, NA, N/A, null, inf.
pub(crate) fn is_gap(cell: &[u8]) -> bool {
    let cell = trim(cell);
    let word = |w: &str| cell.eq_ignore_ascii_case(w.as_bytes());
    let dashes = cell.iter().all(|b| *b == b'-');
    dashes
        || [
            "nan",
            "na",
            "n/a",
            "null",
            "none",
            "inf",
            "+inf",
            "-inf",
            "-nan",
            "nan(ind)",
            "-nan(ind)",
            "#n/a",
            "?",
        ]
        .iter()
        .any(|w| word(w))
        || cell == "\u{2013}".as_bytes()
        || cell == "\u{2014}".as_bytes()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_equal_the_standard_library_bit_for_bit() {
        for text in [
            "0",
            "-0",
            "1",
            "+1",
            "0.1",
            "539.066061",
            "-1.633567",
            "1e22",
            "1e23",
            "1E-5",
            "4.9e-324",
            "1.7976931348623157e308",
            "123456789012345678901234567890",
            "0.30000000000000004",
            "9007199254740993",
            "9007199254740992.5",
            "5.",
            ".5",
            "00012.5",
            "1e-400",
            "2.2250738585072014e-308",
        ] {
            let want: f64 = text.parse().unwrap();
            let (got, used) = leading(text.as_bytes(), b'.').unwrap();
            assert_eq!(got.to_bits(), want.to_bits(), "{text}");
            assert_eq!(used, text.len(), "{text}");
            let comma = text.replace('.', ",");
            if !comma.ends_with(',') {
                assert_eq!(whole(comma.as_bytes(), b',').unwrap().to_bits(), want.to_bits(), "{comma}");
            }
        }
        assert_eq!(whole("\u{2212}2.5".as_bytes(), b'.'), Some(-2.5));
    }

    #[test]
    fn what_is_not_a_number_is_not_read_as_one() {
        for text in ["", "-", "e5", ".", "1.2.3", "12a", "0x10", "1e999", "N", "1,5", "--1"] {
            assert_eq!(whole(text.as_bytes(), b'.'), None, "{text}");
        }
        assert_eq!(leading(b"1,2", b'.'), Some((1.0, 1)));
        assert_eq!(leading(b"1e", b'.'), Some((1.0, 1)));
        assert_eq!(leading(b"1,", b','), Some((1.0, 1)));
    }

    #[test]
    fn gaps_are_known_by_their_words() {
        for text in ["", "  ", "-", "---", "NaN", "nan", "N/A", "\"\"", "\u{2014}", "Inf"] {
            assert!(is_gap(text.as_bytes()), "{text}");
        }
        assert!(!is_gap(b"left"));
        assert!(!is_gap(b"0"));
    }
}
