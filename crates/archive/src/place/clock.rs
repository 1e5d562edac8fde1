//! Days and times as names and tables write them.
use crate::date;
use jiff::civil::{Date, DateTime, Time};

/// A day: ISO, or as a format (`%d.%m.%Y`) says. Gives ISO.
pub fn day(text: &str, format: Option<&str>) -> Result<String, String> {
    match format {
        None => date::day(text).map_err(|e| e.to_string()),
        Some(format) => Date::strptime(format, text)
            .map(|d| d.to_string())
            .map_err(|e| format!("\"{text}\" is no day written as {format}: {e}")),
    }
}

/// A time of day: `14:03:10`, `14-03`, `140310`, `14:03:10.25`, or as a format says. Gives ISO.
pub fn time(text: &str, format: Option<&str>) -> Result<String, String> {
    let read = match format {
        Some(format) => Time::strptime(format, text).ok(),
        None => plain(text),
    };
    let as_format = format.map_or_else(|| "14:03:10".to_string(), str::to_string);
    read.map(|t| t.to_string()).ok_or_else(|| format!("\"{text}\" is no time written as {as_format}"))
}

fn plain(text: &str) -> Option<Time> {
    let text = text.trim().to_lowercase();
    if let Some(half) = text.strip_suffix("am").or(text.strip_suffix("pm")) {
        let time = plain(half)?;
        let hour = match (time.hour(), text.ends_with("pm")) {
            (12, afternoon) => 12 * i8::from(afternoon),
            (hour @ 1..=11, afternoon) => hour + 12 * i8::from(afternoon),
            _ => return None,
        };
        return Time::new(hour, time.minute(), time.second(), time.subsec_nanosecond()).ok();
    }
    let text = text.as_str();
    let (whole, fraction) = match text.rsplit_once(['.', ',']) {
        // A point may also stand between minutes and seconds.
        Some((whole, fraction)) if whole.contains(':') => (whole, Some(fraction)),
        _ => (text, None),
    };
    let digits: Vec<u8> = whole.bytes().filter(u8::is_ascii_digit).map(|b| b - b'0').collect();
    let apart = |c: char| c.is_ascii_digit() || "-_.:hm".contains(c.to_ascii_lowercase());
    if !whole.chars().all(apart) {
        return None;
    }
    let parts: Vec<&str> = whole.split(|c: char| !c.is_ascii_digit()).collect();
    let two = |k: usize| i8::try_from(10 * digits.get(k)? + digits.get(k + 1)?).ok();
    let (h, m, s) = match (parts.as_slice(), digits.len()) {
        ([_], 4) | ([_], 6) => (two(0)?, two(2)?, if digits.len() == 6 { two(4)? } else { 0 }),
        ([h, m], _) => (h.parse().ok()?, m.parse().ok()?, 0),
        ([h, m, s], _) => (h.parse().ok()?, m.parse().ok()?, s.parse().ok()?),
        _ => return None,
    };
    let nanos = match fraction {
        None => 0,
        Some(f) if !f.is_empty() && f.len() <= 9 && f.bytes().all(|b| b.is_ascii_digit()) => {
            format!("{f:0<9}").parse().ok()?
        }
        Some(_) => return None,
    };
    Time::new(h, m, s, nanos).ok()
}

/// A day and a time of day, whichever are there.
pub type Moment = (Option<String>, Option<String>);

/// A time of day with or without its day, as a format says, else in ISO (`2026-05-12T14:03:10`, a space will do).
pub fn moment(text: &str, format: Option<&str>) -> Result<Moment, String> {
    let text = text.trim();
    if let Some(format) = format {
        return match (DateTime::strptime(format, text), Time::strptime(format, text)) {
            (Ok(both), _) => Ok((Some(both.date().to_string()), Some(both.time().to_string()))),
            (_, Ok(time)) => Ok((None, Some(time.to_string()))),
            (Err(_), Err(e)) => Err(format!("\"{text}\" is no time written as {format}: {e}")),
        };
    }
    let text = text.trim_end_matches(['Z', 'z']);
    if let Ok(both) = text.parse::<DateTime>()
        && text.len() > 10
    {
        return Ok((Some(both.date().to_string()), Some(both.time().to_string())));
    }
    if let Some((day_text, time_text)) = text.split_once([' ', 'T'])
        && let (Ok(day), Ok(time)) = (day(day_text, None), time(time_text.trim(), None))
    {
        return Ok((Some(day), Some(time)));
    }
    match time(text, None) {
        Ok(time) => Ok((None, Some(time))),
        Err(_) => Err(format!("\"{text}\" is no time; write it as 14:03:10 or 2026-05-12T14:03:10")),
    }
}

/// Seconds between the beginning of 1970 and a moment that a clock showed, whatever its zone: for differences of clocks.
pub fn seconds(text: &str) -> Option<f64> {
    let both: DateTime = text.trim_end_matches(['Z', 'z']).parse().ok()?;
    let since = both.since(DateTime::constant(1970, 1, 1, 0, 0, 0, 0)).ok()?;
    since.total((jiff::Unit::Second, jiff::SpanRelativeTo::days_are_24_hours())).ok()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;

    #[test]
    fn times_are_read_as_people_write_them() {
        for (text, iso) in [
            ("14:03:10", "14:03:10"),
            ("14-03-10", "14:03:10"),
            ("140310", "14:03:10"),
            ("14h03", "14:03:00"),
            ("1403", "14:03:00"),
            ("9:05", "09:05:00"),
            ("14.03.10", "14:03:10"),
            ("14:03:10.25", "14:03:10.25"),
            ("2:03 PM", "14:03:00"),
            ("12:00:01 am", "00:00:01"),
            ("12:30 pm", "12:30:00"),
        ] {
            assert_eq!(time(text, None).unwrap(), iso, "{text}");
        }
        for text in ["25:00", "14:61", "two", "", "14", "1:2:3:4", "14:03 pm", "0:03 am"] {
            assert!(time(text, None).is_err(), "{text}");
        }
        assert_eq!(time("02-03 PM", Some("%I-%M %p")).unwrap(), "14:03:00");
    }

    #[test]
    fn a_moment_is_a_time_with_or_without_its_day() {
        let both = |d: &str, t: &str| Ok((Some(d.to_string()), Some(t.to_string())));
        assert_eq!(moment("2026-05-12T14:03:10Z", None), both("2026-05-12", "14:03:10"));
        assert_eq!(moment("20260512 14:03", None), both("2026-05-12", "14:03:00"));
        assert_eq!(moment("14:03", None), Ok((None, Some("14:03:00".into()))));
        assert!(moment("noon", None).is_err());
        // Which of 5 and 12 is the month is not guessed.
        assert!(moment("5/12/2026 2:03:10 PM", None).is_err());
        let said = moment("5/12/2026 2:03:10 PM", Some("%m/%d/%Y %I:%M:%S %p"));
        assert_eq!(said, both("2026-05-12", "14:03:10"));
        assert_eq!(moment("2.03 PM", Some("%I.%M %p")), Ok((None, Some("14:03:00".into()))));
    }

    /// 1 000 000 000 s of POSIX time is 2001-09-09T01:46:40Z.
    #[test]
    fn seconds_are_those_of_the_calendar() {
        assert_eq!(seconds("2001-09-09T01:46:40Z"), Some(1e9));
        assert_eq!(seconds("2001-09-09T01:46:40.5"), Some(1e9 + 0.5));
        assert_eq!(seconds("yesterday"), None);
    }
}
