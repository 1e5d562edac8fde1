//! Where the table lies in the text: delimiter, decimal mark, names, units, first row.
use super::error::TableError;
use super::layout::{Decimal, Delimiter, TableLayout};
use super::text::{self, Line};
use super::{number, unit};

/// Lines looked at before a table must have begun.
const HEAD_LINES: usize = 500;

/// What was understood of a table's shape.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    /// What stands between cells.
    pub delimiter: Delimiter,
    /// The decimal mark.
    pub decimal: Decimal,
    /// Line of the names, from 1; 0 where there are none.
    pub header_line: usize,
    /// Whether a row of units stands under the names.
    pub unit_row: bool,
    /// Names, one a column, without units.
    pub names: Vec<String>,
    /// Units, one a column; empty where not stated.
    pub units: Vec<String>,
    /// Lines before the names, as text.
    pub preamble: Vec<String>,
    /// Line number of the first row of numbers.
    pub first_line: usize,
    /// Byte at which it starts, in the text as decoded.
    pub(crate) first_byte: usize,
}

/// One way to read the head of the text, and the longest run of rows that it gives.
struct Reading {
    delimiter: Delimiter,
    decimal: Decimal,
    /// Index into the lines of the first row, and how many rows follow one another.
    first: usize,
    rows: usize,
    columns: usize,
    quality: i64,
    named: bool,
}

/// Finds the table in the text. What `layout` states is taken; the rest is chosen so that the longest run of
/// rows with the same number of cells, mostly numbers, comes out.
pub(crate) fn shape(text: &[u8], layout: &TableLayout) -> Result<Shape, TableError> {
    let lines =
        text::head(text, HEAD_LINES.max(layout.header_line.unwrap_or(0).saturating_add(50).min(100_000)));
    if lines.iter().all(|l| number::trim(l.bytes).is_empty()) {
        return Err(TableError::Empty);
    }
    let stated = stated_header(&lines, layout)?;
    let from = stated.map_or(0, |index| index + 1);
    let mut best: Option<Reading> = None;
    for delimiter in Delimiter::ALL {
        for decimal in [Decimal::Point, Decimal::Comma] {
            let fits = layout.delimiter.is_none_or(|d| d == delimiter)
                && layout.decimal.is_none_or(|d| d == decimal)
                && delimiter.byte() != decimal.byte();
            if fits
                && let Some(reading) = longest_run(&lines, from, stated, delimiter, decimal)
                && best.as_ref().is_none_or(|b| better(&reading, b))
            {
                best = Some(reading);
            }
        }
    }
    let reading = best.ok_or(TableError::NoNumbers { lines: lines.len() })?;
    Ok(describe(&lines, &reading, stated, layout))
}

/// Index of the stated header line; `None` where it is not stated or stated to be absent.
fn stated_header(lines: &[Line], layout: &TableLayout) -> Result<Option<usize>, TableError> {
    let Some(line) = layout.header_line.filter(|l| *l > 0) else { return Ok(None) };
    let fail = |why: String| Err(TableError::HeaderLine { line, why });
    match lines.iter().position(|l| l.number == line) {
        None => fail(format!("the file has {} lines there", lines.last().map_or(0, |l| l.number))),
        Some(index) if number::trim(lines[index].bytes).is_empty() => fail("it is blank".into()),
        Some(index) => Ok(Some(index)),
    }
}

/// True where `a` explains the text better than `b`, which was tried before it.
fn better(a: &Reading, b: &Reading) -> bool {
    // A reading that loses rows to another is wrong, unless the difference is a few odd lines.
    if a.rows * 10 < b.rows * 9 || b.rows * 10 < a.rows * 9 {
        return a.rows > b.rows;
    }
    let key = |r: &Reading| (r.named, r.columns > 1, r.quality);
    key(a) > key(b)
}

/// Cells that hold numbers, cells that hold no value, and cells in all, of a line without the empty cell after a closing delimiter.
fn count(line: &[u8], delimiter: Delimiter, decimal: Decimal) -> (usize, usize, usize) {
    let mut cells = text::cells(line, delimiter.byte());
    if cells.len() > 1 && cells.last().is_some_and(|c| number::trim(c).is_empty()) {
        cells.pop();
    }
    let numbers = cells.iter().filter(|c| number::whole(c, decimal.byte()).is_some()).count();
    let gaps = cells.iter().filter(|c| number::is_gap(c)).count();
    (numbers, gaps, cells.len())
}

fn longest_run(
    lines: &[Line],
    from: usize,
    stated: Option<usize>,
    delimiter: Delimiter,
    decimal: Decimal,
) -> Option<Reading> {
    let mut best: Option<Reading> = None;
    let mut open: Option<Reading> = None;
    for (index, line) in lines.iter().enumerate().skip(from) {
        if number::trim(line.bytes).is_empty() {
            continue;
        }
        let (numbers, gaps, cells) = count(line.bytes, delimiter, decimal);
        // A cell of words among the numbers hints that the cells were cut in the wrong places.
        let quality = numbers as i64 - 2 * (cells - numbers - gaps) as i64;
        let is_row = numbers > 0 && (numbers + gaps) * 2 >= cells;
        match &mut open {
            // Rows may end early where their last cells are empty; the fullest row has all columns.
            Some(run)
                if is_row
                    && (run.columns == cells || (run.columns >= 4 && run.columns.abs_diff(cells) <= 1)) =>
            {
                run.rows += 1;
                run.quality += quality;
                run.columns = run.columns.max(cells);
            }
            _ => {
                best = longer(best, open.take());
                if is_row {
                    open = Some(Reading {
                        delimiter,
                        decimal,
                        first: index,
                        rows: 1,
                        columns: cells,
                        quality,
                        named: false,
                    });
                }
            }
        }
    }
    best = longer(best, open);
    best.map(|mut reading| {
        let header = stated.or_else(|| before(lines, reading.first));
        reading.named = header.is_some_and(|h| {
            let cells = header_cells(lines[h].bytes, delimiter);
            cells.len() == reading.columns
                && cells.iter().filter(|c| !c.is_empty()).count() * 2 >= cells.len()
        });
        reading
    })
}

fn longer(a: Option<Reading>, b: Option<Reading>) -> Option<Reading> {
    match (a, b) {
        (Some(a), Some(b)) => Some(if b.rows > a.rows { b } else { a }),
        (a, b) => a.or(b),
    }
}

/// The last line before `index` that is not blank.
fn before(lines: &[Line], index: usize) -> Option<usize> {
    (0..index).rev().find(|i| !number::trim(lines[*i].bytes).is_empty())
}

/// The cells of a line of names, without a comment mark before them and an empty cell after them.
fn header_cells(line: &[u8], delimiter: Delimiter) -> Vec<String> {
    let line = match line {
        [b'#' | b'%', rest @ ..] => rest,
        [b'/', b'/', rest @ ..] => rest,
        _ => line,
    };
    let mut cells: Vec<String> = text::cells(line, delimiter.byte()).into_iter().map(text::label).collect();
    if cells.len() > 1 && cells.last().is_some_and(String::is_empty) {
        cells.pop();
    }
    cells
}

/// True where the cells read as units: most of those not empty are known ones.
fn are_units(cells: &[String]) -> bool {
    let stated = cells.iter().filter(|c| !c.is_empty());
    let known = stated.clone().filter(|c| c.as_str() == "-" || unit::parse(c).is_some()).count();
    known > 0 && known * 2 > stated.count()
}

fn describe(lines: &[Line], reading: &Reading, stated: Option<usize>, layout: &TableLayout) -> Shape {
    let columns = reading.columns;
    let cells = |index: usize| header_cells(lines[index].bytes, reading.delimiter);
    // The names may be one short or long where the file is careless with its last delimiter.
    let wide =
        |c: &[String]| c.len() + 1 >= columns && c.len() <= columns + 1 && (columns > 1 || c.len() == 1);
    let above = before(lines, reading.first);
    let (mut header, mut units_at) = match stated {
        Some(index) => {
            let next = (index + 1..reading.first).find(|i| !number::trim(lines[*i].bytes).is_empty());
            let has = layout.unit_row.unwrap_or_else(|| next.is_some_and(|n| are_units(&cells(n))));
            (Some(index), next.filter(|_| has))
        }
        None if layout.header_line == Some(0) => (None, above.filter(|_| layout.unit_row == Some(true))),
        None => {
            let upper = above.and_then(|a| before(lines, a));
            let has = layout.unit_row.unwrap_or_else(|| {
                above.is_some_and(|a| are_units(&cells(a)) && wide(&cells(a)))
                    && upper.is_some_and(|u| wide(&cells(u)) && !are_units(&cells(u)))
            });
            if has { (upper, above) } else { (above.filter(|a| wide(&cells(a.to_owned()))), None) }
        }
    };
    // A row of numbers is no row of names (it belongs to a shorter run above).
    if stated.is_none()
        && let Some(index) = header
        && cells(index).iter().all(|c| number::whole(c.as_bytes(), reading.decimal.byte()).is_some())
    {
        header = None;
    }
    if header.is_none() && layout.unit_row.is_none() {
        units_at = None;
    }
    let raw = header.map(cells).unwrap_or_default();
    let columns = columns.max(raw.len().min(columns + 1));
    let stated_units = units_at.map(cells).unwrap_or_default();
    let mut names = Vec::with_capacity(columns);
    let mut units = Vec::with_capacity(columns);
    for column in 0..columns {
        let name = raw.get(column).map_or("", String::as_str);
        let (label, unit) = if units_at.is_some() {
            (name, stated_units.get(column).map_or("", String::as_str))
        } else {
            unit::split(name)
        };
        names.push(if label.is_empty() { format!("column {}", column + 1) } else { label.to_owned() });
        units.push(unit.trim_matches(['[', ']', '(', ')']).trim().to_owned());
    }
    // A dash in a row of units means "no unit".
    for unit in &mut units {
        if unit == "-" {
            unit.clear();
        }
    }
    let first = &lines[reading.first];
    Shape {
        delimiter: reading.delimiter,
        decimal: reading.decimal,
        header_line: header.map_or(0, |h| lines[h].number),
        unit_row: units_at.is_some(),
        names,
        units,
        preamble: lines[..header.or(units_at).unwrap_or(reading.first)]
            .iter()
            .map(|l| text::words(l.bytes))
            .collect(),
        first_line: first.number,
        first_byte: first.start,
    }
}
