//! The time column: which it is, when it starts, how fast it runs, where it stumbles.
use super::error::TableError;
use super::guess::Shape;
use super::layout::{Column, TableLayout};
use super::read::Rows;
use super::unit::{self, Quantity};
use crate::rigfile::words::{nearest, quoted_list};
use mechanics::Analog;
use mechanics::finding::{
    FILE_RATE_MISSING, Finding, RIG_CONTRADICTS_FILE, TABLE_RATE_FROM_PREAMBLE, TIME_NOT_UNIFORM,
    UNITS_ASSUMED,
};

/// Clock of a table.
pub(crate) struct Clock {
    /// Index of the time column, if there is one.
    pub column: Option<usize>,
    pub rate_hz: f64,
    pub start_s: f64,
}

/// Reads the clock from a stated or guessed time column, a stated rate, or a line of the preamble.
pub(crate) fn clock(
    shape: &Shape,
    rows: &Rows,
    layout: &TableLayout,
    findings: &mut Vec<Finding>,
) -> Result<Clock, TableError> {
    if let Some(rate_hz) = layout.rate_hz
        && !Analog::is_rate(rate_hz)
    {
        return Err(TableError::Rate { rate_hz });
    }
    let column = match &layout.time {
        Some(wanted) => stated(wanted, shape)?,
        None => guessed(shape, rows),
    };
    let mut clock = Clock { column, rate_hz: f64::NAN, start_s: 0.0 };
    if let Some(index) = column {
        let times = &rows.columns[index];
        let factor = seconds(shape, index, times, layout, findings)?;
        if let Some(pace) = pace(times, factor) {
            clock.rate_hz = if Analog::is_rate(pace.rate_hz) { pace.rate_hz } else { f64::NAN };
            report_stumbles(times, factor, &pace, rows, findings);
        }
        clock.start_s = times.first().copied().filter(|t| t.is_finite()).map_or(0.0, |t| t * factor);
    }
    if let Some(stated_hz) = layout.rate_hz {
        if (clock.rate_hz / stated_hz - 1.0).abs() > 0.01 {
            findings.push(Finding::new(
                &RIG_CONTRADICTS_FILE,
                format!(
                    "the time column runs at {} Hz, the rig states rate_hz = {stated_hz}; the rig was followed",
                    clock.rate_hz
                ),
            ));
        }
        clock.rate_hz = stated_hz;
    }
    if clock.rate_hz.is_nan()
        && let Some((line, rate_hz)) = in_preamble(&shape.preamble).filter(|(_, hz)| Analog::is_rate(*hz))
    {
        clock.rate_hz = rate_hz;
        findings.push(Finding::new(
            &TABLE_RATE_FROM_PREAMBLE,
            format!("{rate_hz} Hz, from the line \"{}\"", line.trim()),
        ));
    }
    if clock.rate_hz.is_nan() {
        findings.push(Finding::new(
            &FILE_RATE_MISSING,
            format!("no time column among {} and no rate", quoted_list(&shape.names, 12)),
        ));
    }
    Ok(clock)
}

fn stated(wanted: &Column, shape: &Shape) -> Result<Option<usize>, TableError> {
    let found = match wanted {
        Column::Number(0) => return Ok(None),
        Column::Name(name) if name.eq_ignore_ascii_case("none") => return Ok(None),
        Column::Number(number) => Some(number - 1).filter(|n| *n < shape.names.len()),
        Column::Name(name) => {
            let same = |a: &str, b: &str| a.trim().eq_ignore_ascii_case(b.trim());
            let bare = unit::split(name).0;
            shape
                .names
                .iter()
                .position(|n| same(n, name))
                .or_else(|| shape.names.iter().position(|n| same(n, bare)))
        }
    };
    found.map(Some).ok_or_else(|| TableError::TimeColumn {
        wanted: wanted.to_string(),
        hint: nearest(&wanted.to_string(), shape.names.iter().map(String::as_str))
            .map_or_else(String::new, |n| format!("; did you mean \"{n}\"?")),
        columns: quoted_list(&shape.names, 40),
    })
}

/// Names that mean time in the languages in which exports are seen (common practice, no source).
const TIME_NAMES: [&str; 17] = [
    "time",
    "t",
    "zeit",
    "temps",
    "tiempo",
    "tempo",
    "tid",
    "seconds",
    "secs",
    "sec",
    "s",
    "ms",
    "timestamp",
    "time stamp",
    "elapsed",
    "elapsed time",
    "abs time",
];

/// A column whose name means time, or whose unit is one; in a table without names the first column, if it
/// rises in even steps that are not whole numbers (whole numbers may be a count).
fn guessed(shape: &Shape, rows: &Rows) -> Option<usize> {
    let rises = |c: usize| {
        let head: Vec<f64> = rows.columns[c].iter().copied().take(1000).filter(|v| v.is_finite()).collect();
        head.len() >= 2
            && head.windows(2).filter(|w| w[1] >= w[0]).count() * 10 >= (head.len() - 1) * 9
            && head[head.len() - 1] > head[0]
    };
    let by_name = |c: &usize| {
        let plain = shape.names[*c].to_lowercase();
        let plain = plain.trim_end_matches([':', '.']).trim();
        TIME_NAMES.contains(&plain)
            || plain.starts_with("time ")
            || plain.starts_with("time_")
            || plain.ends_with(" time")
            || plain.ends_with("_time")
    };
    let by_unit = |c: &usize| unit::parse(&shape.units[*c]).is_some_and(|u| u.quantity == Quantity::Time);
    let columns = || 0..shape.names.len();
    columns()
        .filter(by_name)
        .find(|c| rises(*c))
        .or_else(|| columns().filter(by_unit).find(|c| rises(*c)))
        .or_else(|| {
            (shape.header_line == 0
                && shape.names.len() > 1
                && rises(0)
                && steps_in_fractions(&rows.columns[0]))
            .then_some(0)
        })
}

fn steps_in_fractions(times: &[f64]) -> bool {
    let head = times.get(..times.len().min(1000)).unwrap_or_default();
    let (Some(first), Some(second), Some(last)) = (head.first(), head.get(1), head.last()) else {
        return false;
    };
    let step = (last - first) / (head.len() - 1) as f64;
    let even = head.windows(2).all(|w| ((w[1] - w[0]) - step).abs() <= 0.5 * step.abs());
    even && step > 0.0 && step < 0.5 && (second - first).fract() != 0.0
}

/// Seconds in one unit of the time column.
fn seconds(
    shape: &Shape,
    index: usize,
    times: &[f64],
    layout: &TableLayout,
    findings: &mut Vec<Finding>,
) -> Result<f64, TableError> {
    let time = |text: &str| unit::parse(text).filter(|u| u.quantity == Quantity::Time).map(|u| u.factor);
    if let Some(unit) = &layout.time_unit {
        return time(unit).ok_or_else(|| TableError::TimeUnit { unit: unit.clone() });
    }
    if let Some(factor) = time(&shape.units[index]).or_else(|| time(&shape.names[index])) {
        return Ok(factor);
    }
    // Not stated: seconds, unless that would be slower than anything recorded from a force plate.
    let step = median_step(times).unwrap_or(0.0);
    let (factor, words) = match step {
        s if s < 0.5 => return Ok(1.0),
        s if s < 200.0 => (1e-3, "milliseconds"),
        _ => (1e-6, "microseconds"),
    };
    findings.push(Finding::new(
        &UNITS_ASSUMED,
        format!(
            "column \"{}\" states no unit and rises by {step} a row: taken as {words}; state `time_unit` in the [table] section if that is wrong",
            shape.names[index]
        ),
    ));
    Ok(factor)
}

struct Pace {
    rate_hz: f64,
    /// Seconds between two values that the column can tell apart.
    resolution_s: f64,
}

fn median_step(times: &[f64]) -> Option<f64> {
    let mut steps: Vec<f64> = times.windows(2).map(|w| w[1] - w[0]).filter(|s| s.is_finite()).collect();
    if steps.is_empty() {
        return None;
    }
    let middle = steps.len() / 2;
    let (_, median, _) = steps.select_nth_unstable_by(middle, f64::total_cmp);
    Some(*median)
}

/// Smallest decimal place that the first values use, in the column's unit.
fn resolution(times: &[f64]) -> f64 {
    let mut step = 1.0;
    for _ in 0..9 {
        let on_grid = |t: &f64| ((t / step).round() * step - t).abs() <= 1e-6 * step;
        if times.iter().take(1000).filter(|t| t.is_finite()).all(on_grid) {
            break;
        }
        step /= 10.0;
    }
    step
}

/// Rate: from the median step first, then from the longest stretch without a break, end to end, since printed
/// times are rounded (at 120 Hz with three decimals the median step says 125). Rounded to the fewest decimals
/// that the printing allows.
fn pace(times: &[f64], factor: f64) -> Option<Pace> {
    let grain = resolution(times);
    let median = median_step(times)?;
    if times.len() < 2 {
        return None;
    }
    let finite = times.iter().filter(|t| t.is_finite());
    let span = finite.clone().next_back()? - finite.clone().next()?;
    // The printed grain may hide the step altogether (two equal times in a row): then the span speaks.
    let rough = if median > grain * 3.0 { median } else { span / (times.len() - 1) as f64 };
    if !(rough > 0.0 && rough.is_finite()) {
        return None;
    }
    let (from, to) = longest_even(times, rough, 0.25 * rough + 1.01 * grain);
    let (span, count) = (times.get(to)? - times.get(from)?, to - from);
    let step = if count > 0 && span > 0.0 { span / count as f64 } else { rough };
    let rate_hz = 1.0 / (step * factor);
    let tolerance = (grain / span.abs().max(step)).clamp(1e-6, 0.02);
    Some(Pace { rate_hz: round_within(rate_hz, tolerance), resolution_s: grain * factor })
}

/// The longest stretch (from, to) of rows in which every step is near `step`.
fn longest_even(times: &[f64], step: f64, allowed: f64) -> (usize, usize) {
    let (mut best, mut from) = ((0, 0), 0);
    for (i, pair) in times.windows(2).enumerate() {
        if (pair[1] - pair[0] - step).abs() > allowed || !(pair[1] - pair[0]).is_finite() {
            from = i + 1;
        } else if i + 1 - from > best.1 - best.0 {
            best = (from, i + 1);
        }
    }
    best
}

/// The number with the fewest decimals within a relative tolerance of `value`.
fn round_within(value: f64, tolerance: f64) -> f64 {
    let mut scale = 1.0;
    for _ in 0..7 {
        let rounded = (value * scale).round() / scale;
        if rounded > 0.0 && (rounded - value).abs() <= tolerance * value {
            return rounded;
        }
        scale *= 10.0;
    }
    value
}

fn report_stumbles(times: &[f64], factor: f64, pace: &Pace, rows: &Rows, findings: &mut Vec<Finding>) {
    let step = 1.0 / pace.rate_hz;
    let allowed = 0.25 * step + 1.01 * pace.resolution_s;
    let mut places = 0;
    let mut first = None;
    for (i, pair) in times.windows(2).enumerate() {
        let here = (pair[1] - pair[0]) * factor;
        if (here - step).abs() > allowed {
            places += 1;
            first.get_or_insert((i, here));
        }
    }
    let Some((row, here)) = first else { return };
    let begin = times.first().copied().unwrap_or(0.0);
    let (from, to) = ((times[row] - begin) * factor, (times[row + 1] - begin) * factor);
    findings.push(
        Finding::new(
            &TIME_NOT_UNIFORM,
            format!(
                "line {}: the time goes from {} to {} s, a step of {:.6} s where {:.6} s is expected ({places} such place{})",
                rows.lines.of(row + 1),
                tidy(times[row] * factor),
                tidy(times[row + 1] * factor),
                here,
                step,
                if places == 1 { "" } else { "s" },
            ),
        )
        .during(from, to),
    );
}

/// Nine decimals at most, without closing zeros.
fn tidy(seconds: f64) -> f64 {
    (seconds * 1e9).round() / 1e9
}

/// A line such as "Sampling rate: 1000 Hz" or "Frequency;1000".
fn in_preamble(lines: &[String]) -> Option<(&str, f64)> {
    lines.iter().find_map(|line| {
        let lower = line.to_lowercase();
        let speaks = ["rate", "frequency", "frequenz", "hz"].iter().any(|w| lower.contains(w));
        let mut numbers = lower
            .split(|c: char| !(c.is_ascii_digit() || c == '.'))
            .filter_map(|t| t.parse::<f64>().ok())
            .filter(|v| *v >= 1.0 && *v <= 1e6);
        match (speaks, numbers.next(), numbers.next()) {
            (true, Some(rate), None) => Some((line.as_str(), rate)),
            _ => None,
        }
    })
}
