//! The rows: one pass over the bytes, one push a cell, nothing allocated for a cell.
use super::error::TableError;
use super::guess::Shape;
use super::{number, text};

/// Columns of numbers, and what was odd on the way.
pub(crate) struct Rows {
    /// One a column, of equal length; NaN for a gap.
    pub columns: Vec<Vec<f64>>,
    /// Line of the first row; rows are consecutive lines unless `odd_lines` says otherwise.
    pub lines: Lines,
    /// Cells without a number, the first of them (line, column), and how many of each column.
    pub gaps: usize,
    pub first_gap: Option<(usize, usize)>,
    pub gaps_of: Vec<usize>,
    /// Lines that hold no row (comments, closing remarks): how many, and the first with its text.
    pub skipped: usize,
    pub first_skipped: Option<(usize, String)>,
    /// The last line is cut short: it was left out.
    pub cut: Option<usize>,
}

/// Line numbers of rows: the first, and the rows after which the count jumps.
pub(crate) struct Lines {
    first: usize,
    /// (row, line) wherever a row is not on the line after the row before it.
    jumps: Vec<(usize, usize)>,
}

impl Lines {
    /// Line of a row.
    pub fn of(&self, row: usize) -> usize {
        match self.jumps.partition_point(|(r, _)| *r <= row) {
            0 => self.first + row,
            n => self.jumps[n - 1].1 + (row - self.jumps[n - 1].0),
        }
    }
}

/// Bytes of memory that one byte of the file may become: a row of bare delimiters makes 8.
const CELLS_A_BYTE: usize = 2;

/// Reads all rows from the first one to the end of the text.
pub(crate) fn rows(bytes: &[u8], shape: &Shape) -> Result<Rows, TableError> {
    let width = shape.names.len();
    let (delimiter, decimal) = (shape.delimiter.byte(), shape.decimal.byte());
    let spaces = delimiter == b' ';
    let body = bytes.len().saturating_sub(shape.first_byte);
    let first_end = bytes[shape.first_byte..].iter().position(|b| matches!(b, b'\n' | b'\r')).unwrap_or(body);
    let guess = body / first_end.max(width) + 1;
    let mut out = Rows {
        columns: (0..width).map(|_| Vec::with_capacity(guess)).collect(),
        lines: Lines { first: shape.first_line, jumps: Vec::new() },
        gaps: 0,
        first_gap: None,
        gaps_of: vec![0; width],
        skipped: 0,
        first_skipped: None,
        cut: None,
    };
    let mut at = shape.first_byte;
    let mut line = shape.first_line;
    let mut row = 0;
    while at < bytes.len() {
        let start = at;
        if is_comment(&bytes[at..]) {
            let end =
                at + bytes[at..].iter().position(|b| matches!(b, b'\n' | b'\r')).unwrap_or(bytes.len() - at);
            out.skip(line, &bytes[start..end]);
            at = past_line_end(bytes, end);
            line += 1;
            continue;
        }
        let mut column = 0;
        let mut numbers = 0;
        let mut extra_lines = 0;
        let mut gaps_here = 0;
        // One cell a turn. `at` stands on the first byte of the cell.
        let ended = loop {
            while bytes.get(at) == Some(&b' ') || (spaces && bytes.get(at) == Some(&b'\t')) {
                at += 1;
            }
            if spaces && column > 0 && matches!(bytes.get(at), None | Some(b'\n' | b'\r')) {
                break bytes.get(at).copied();
            }
            let mut value = f64::NAN;
            let mut end = at;
            if let Some((read, used)) = number::leading(&bytes[at..], decimal) {
                end = at + used;
                while bytes.get(end) == Some(&b' ') && !spaces {
                    end += 1;
                }
                value = read;
            }
            let stop = bytes.get(end).copied();
            let clean = match stop {
                None | Some(b'\n' | b'\r') => true,
                Some(b) => b == delimiter || (spaces && b == b'\t'),
            };
            if !clean || value.is_nan() || value.is_infinite() {
                let (cell_end, inside) = slow_end(bytes, at, delimiter, spaces);
                value = number::whole(&bytes[at..cell_end], decimal).unwrap_or(f64::NAN);
                end = cell_end;
                extra_lines += inside;
            }
            if value.is_nan() {
                // The empty cell after a closing delimiter is no gap.
                let closing =
                    at == end && column >= width && matches!(bytes.get(end), None | Some(b'\n' | b'\r'));
                if closing {
                    at = end;
                    break bytes.get(at).copied();
                }
                gaps_here += 1;
            } else {
                numbers += 1;
            }
            match out.columns.get_mut(column) {
                Some(samples) => samples.push(value),
                None if value.is_nan() && number::trim(&bytes[at..end]).is_empty() => gaps_here -= 1,
                None => return Err(ragged(bytes, start, line, shape)),
            }
            column += 1;
            at = end;
            match bytes.get(at) {
                None | Some(b'\n' | b'\r') => break bytes.get(at).copied(),
                Some(_) => at += 1,
            }
        };
        let end = at;
        at = past_line_end(bytes, at);
        let text = &bytes[start..end];
        let short = column < width;
        let remark = numbers == 0 && (short || spaces_only(text));
        let cut_off = ended.is_none() && short;
        if remark || cut_off {
            for samples in &mut out.columns {
                samples.truncate(row);
            }
            if !remark {
                out.cut = Some(line);
            } else if !spaces_only(text) {
                out.skip(line, text);
            }
        } else {
            if out.lines.of(row) != line {
                out.lines.jumps.push((row, line));
            }
            if short || gaps_here > 0 {
                fill(&mut out, row, line);
                if row.saturating_mul(width) > bytes.len().saturating_mul(CELLS_A_BYTE).saturating_add(4096) {
                    let column = shape.names.get(column).cloned().unwrap_or_default();
                    return Err(TableError::RowsMissing { line, column });
                }
            }
            row += 1;
        }
        line += 1 + extra_lines;
    }
    Ok(out)
}

impl Rows {
    /// Books a line that holds no row.
    fn skip(&mut self, line: usize, text: &[u8]) {
        self.skipped += 1;
        self.first_skipped.get_or_insert_with(|| (line, text::words(&text[..text.len().min(80)])));
    }
}

/// The byte after the line end at `at`, if one stands there.
fn past_line_end(bytes: &[u8], at: usize) -> usize {
    match (bytes.get(at), bytes.get(at + 1)) {
        (Some(b'\r'), Some(b'\n')) => at + 2,
        (Some(_), _) => at + 1,
        (None, _) => at,
    }
}

/// Completes a short row with gaps and books all gaps of the row.
fn fill(out: &mut Rows, row: usize, line: usize) {
    for (column, samples) in out.columns.iter_mut().enumerate() {
        if samples.len() <= row {
            samples.push(f64::NAN);
        }
        if samples.last().is_some_and(|v| v.is_nan()) {
            out.gaps += 1;
            out.gaps_of[column] += 1;
            out.first_gap.get_or_insert((line, column));
        }
    }
}

/// End of a cell that is not a plain number, and line ends inside its quotes.
fn slow_end(bytes: &[u8], at: usize, delimiter: u8, spaces: bool) -> (usize, usize) {
    let mut i = at;
    let mut inside = 0;
    if bytes.get(i) == Some(&b'"')
        && let Some((close, lines)) = text::quote_end(bytes, i)
    {
        i = close + 1;
        inside = lines;
    }
    while let Some(b) = bytes.get(i) {
        if *b == delimiter || matches!(b, b'\n' | b'\r') || (spaces && *b == b'\t') {
            break;
        }
        i += 1;
    }
    (i, inside)
}

fn spaces_only(line: &[u8]) -> bool {
    number::trim(line).is_empty()
}

fn is_comment(line: &[u8]) -> bool {
    matches!(line, [b'#' | b'%', ..] | [b'/', b'/', ..])
}

fn ragged(bytes: &[u8], start: usize, line: usize, shape: &Shape) -> TableError {
    let row = text::head(&bytes[start..], 1);
    let cells = row.first().map_or(0, |l| text::cells(l.bytes, shape.delimiter.byte()).len());
    TableError::Ragged {
        line,
        cells,
        columns: shape.names.len(),
        last: shape.names.last().cloned().unwrap_or_default(),
    }
}
