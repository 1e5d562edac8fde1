//! Days as they are kept: ISO 8601, so that text order is the calendar's.
use crate::error::StudyError;

/// Reads a day: `2026-05-12` or `20260512`.
pub fn day(text: &str) -> Result<String, StudyError> {
    let digits = text.len() == 8 && text.bytes().all(|b| b.is_ascii_digit());
    let written = match (digits, text.get(..4), text.get(4..6), text.get(6..)) {
        (true, Some(y), Some(m), Some(d)) => format!("{y}-{m}-{d}"),
        _ => text.trim().to_string(),
    };
    written
        .parse::<jiff::civil::Date>()
        .map(|d| d.to_string())
        .map_err(|_| StudyError::Refused(format!("\"{text}\" is no day; write it as 2026-05-12")))
}

/// Today, in the machine's time zone.
pub fn today() -> String {
    #[allow(clippy::disallowed_methods)] // above the line: the archive may look at the clock
    let now = jiff::Timestamp::now();
    now.to_zoned_datetime(jiff::tz::TimeZone::system()).date().to_string()
}

/// The day on which a file was last changed, in the machine's time zone; `None` where the file does not say.
pub fn of_file(path: &std::path::Path) -> Option<String> {
    let modified = std::fs::metadata(path).and_then(|m| m.modified()).ok()?;
    let at = jiff::Timestamp::try_from(modified).ok()?;
    Some(at.to_zoned_datetime(jiff::tz::TimeZone::system()).date().to_string())
}

/// The year of a day.
pub fn year(day: &str) -> Option<i64> {
    day.get(..4)?.parse().ok()
}
