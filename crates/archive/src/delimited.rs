//! Tables that people write or other instruments export: manifests and outcomes. Delimiter, decimal comma and encoding are
//! found; every error has its file, line and column.
use crate::error::StudyError;

/// A table with a head.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Name of the file.
    pub name: String,
    /// The head, as written, trimmed.
    pub head: Vec<String>,
    /// Rows that hold anything.
    pub rows: Vec<Row>,
    /// True where numbers are written with a decimal comma.
    pub decimal_comma: bool,
}

/// A row: as many cells as the head, trimmed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// Line in the file, from 1.
    pub line: u64,
    /// Cells.
    pub cells: Vec<String>,
}

/// Words are compared by their letters and digits alone, whatever the case: "Club Speed" is "club_speed".
pub fn word(text: &str) -> String {
    text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

impl Sheet {
    /// Reads a table.
    ///
    /// Errors: nothing in it, a head that repeats a name, a row with more cells than the head.
    pub fn parse(name: &str, bytes: &[u8]) -> Result<Self, StudyError> {
        let fault = |line: Option<u64>, why: String| StudyError::Sheet {
            file: name.to_string(),
            line,
            column: None,
            why,
        };
        let text = text_of(bytes);
        let delimiter = delimiter(text.lines().find(|l| !l.trim().is_empty()).unwrap_or_default());
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(delimiter)
            .has_headers(false)
            .flexible(true)
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        let mut head: Option<Vec<String>> = None;
        let mut rows = Vec::new();
        for record in reader.records() {
            let record = record.map_err(|e| fault(e.position().map(csv::Position::line), e.to_string()))?;
            let line = record.position().map_or(0, |at| line_of(&text, at));
            let mut cells: Vec<String> = record.iter().map(str::to_string).collect();
            if cells.iter().all(String::is_empty) {
                continue;
            }
            let Some(head) = &head else {
                while cells.last().is_some_and(String::is_empty) {
                    cells.pop();
                }
                head = Some(cells);
                continue;
            };
            let wide = cells.len();
            if cells.iter().skip(head.len()).any(|c| !c.is_empty()) {
                let why = format!("has {wide} cells, the head has {}", head.len());
                return Err(fault(Some(line), why));
            }
            cells.resize(head.len(), String::new());
            rows.push(Row { line, cells });
        }
        let Some(head) = head else { return Err(fault(None, "there is nothing in it".into())) };
        for (k, one) in head.iter().enumerate() {
            if !one.is_empty() && head.iter().take(k).any(|other| other.eq_ignore_ascii_case(one)) {
                return Err(fault(Some(1), format!("two columns are called \"{one}\"")));
            }
        }
        let comma = delimiter != b',' && rows.iter().flat_map(|r| &r.cells).any(|c| is_comma_number(c));
        Ok(Self { name: name.to_string(), head, rows, decimal_comma: comma })
    }

    /// The first column that has one of these names.
    pub fn column(&self, names: &[&str]) -> Option<usize> {
        self.head.iter().position(|h| names.contains(&word(h).as_str()))
    }

    /// A cell; empty where there is none.
    pub fn cell<'a>(&self, row: &'a Row, column: usize) -> &'a str {
        row.cells.get(column).map_or("", String::as_str)
    }

    /// A number; `None` for a cell without one.
    ///
    /// Errors: words; a decimal point in a table that writes decimal commas, which may be either.
    pub fn number(&self, row: &Row, column: usize) -> Result<Option<f64>, StudyError> {
        let cell = self.cell(row, column);
        if is_nothing(cell) {
            return Ok(None);
        }
        let plain = cell.replace('\u{2212}', "-");
        if self.decimal_comma && plain.contains('.') {
            let why = format!("\"{cell}\" has a decimal point, other cells of this file have decimal commas");
            return Err(self.fault(row, column, why));
        }
        let plain = if self.decimal_comma { plain.replacen(',', ".", 1) } else { plain };
        match plain.parse::<f64>() {
            Ok(value) if value.is_finite() => Ok(Some(value)),
            _ => Err(self.fault(row, column, format!("\"{cell}\" is no number"))),
        }
    }

    /// An error at a cell.
    pub fn fault(&self, row: &Row, column: usize, why: impl Into<String>) -> StudyError {
        StudyError::Sheet {
            file: self.name.clone(),
            line: Some(row.line),
            column: self.head.get(column).cloned(),
            why: why.into(),
        }
    }

    /// An error of a whole column.
    pub fn fault_of(&self, column: usize, why: impl Into<String>) -> StudyError {
        let column = self.head.get(column).cloned();
        StudyError::Sheet { file: self.name.clone(), line: None, column, why: why.into() }
    }
}

/// The line of a record; empty lines before it are counted as its own by the reader.
fn line_of(text: &str, at: &csv::Position) -> u64 {
    let rest = text.as_bytes().get(at.byte() as usize..).unwrap_or_default();
    let blank = rest.iter().take_while(|b| matches!(b, b'\r' | b'\n'));
    at.line() + blank.filter(|b| **b == b'\n').count() as u64
}

/// Cells that say that there is nothing.
pub fn is_nothing(cell: &str) -> bool {
    matches!(cell.to_ascii_lowercase().as_str(), "" | "-" | "–" | "—" | "na" | "n/a" | "nan" | "null")
}

/// UTF-8, UTF-16 with its mark, or, where bytes are neither, one byte a letter (ISO 8859-1).
fn text_of(bytes: &[u8]) -> String {
    let wide = |bytes: &[u8], of: fn([u8; 2]) -> u16| {
        let units: Vec<u16> = bytes.as_chunks::<2>().0.iter().map(|pair| of(*pair)).collect();
        String::from_utf16_lossy(&units)
    };
    match bytes {
        [0xEF, 0xBB, 0xBF, rest @ ..] => String::from_utf8_lossy(rest).into_owned(),
        [0xFF, 0xFE, rest @ ..] => wide(rest, u16::from_le_bytes),
        [0xFE, 0xFF, rest @ ..] => wide(rest, u16::from_be_bytes),
        _ => match std::str::from_utf8(bytes) {
            Ok(text) => text.to_string(),
            Err(_) => bytes.iter().map(|b| char::from(*b)).collect(),
        },
    }
}

/// The most frequent of tab, semicolon and comma outside quotes; a comma where none is there.
fn delimiter(head: &str) -> u8 {
    let mut counts = [(b'\t', 0), (b';', 0), (b',', 0)];
    let mut quoted = false;
    for byte in head.bytes() {
        quoted ^= byte == b'"';
        if let Some((_, n)) = counts.iter_mut().find(|(d, _)| *d == byte && !quoted) {
            *n += 1;
        }
    }
    let most = counts.iter().map(|(_, n)| *n).max().unwrap_or(0);
    counts.iter().find(|(_, n)| *n == most && most > 0).map_or(b',', |(d, _)| *d)
}

/// "12,5": digits, one comma, digits.
fn is_comma_number(cell: &str) -> bool {
    let digits = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    let cell = cell.trim_start_matches(['-', '+', '\u{2212}']);
    cell.split_once(',').is_some_and(|(a, b)| digits(a) && digits(b))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;

    fn numbers(text: &[u8]) -> Vec<Option<f64>> {
        let sheet = Sheet::parse("t.csv", text).unwrap();
        let column = sheet.column(&["carry"]).unwrap();
        sheet.rows.iter().map(|r| sheet.number(r, column).unwrap()).collect()
    }

    #[test]
    fn delimiters_marks_and_commas_are_found() {
        assert_eq!(numbers(b"file,Carry\na,12.5\nb,\n"), [Some(12.5), None]);
        assert_eq!(numbers("\u{feff}file;CARRY \na;12,5\nb;-0,25\n".as_bytes()), [Some(12.5), Some(-0.25)]);
        assert_eq!(numbers(b"file\tcarry\r\na\t12\r\n"), [Some(12.0)]);
        let wide: Vec<u8> = [0xFF, 0xFE]
            .into_iter()
            .chain("file\tcarry\na\t7,5\n".encode_utf16().flat_map(u16::to_le_bytes))
            .collect();
        assert_eq!(numbers(&wide), [Some(7.5)]);
        let latin = Sheet::parse("t.csv", b"launch (\xb0)\n1\n").unwrap();
        assert_eq!(latin.head, ["launch (°)"]);
        assert_eq!(numbers("carry\n\u{2212}3\nn/a\n".as_bytes()), [Some(-3.0), None]);
    }

    #[test]
    fn what_may_be_either_is_refused_with_its_place() {
        let sheet = Sheet::parse("t.csv", b"file;carry\na;1,5\nb;2.5\n").unwrap();
        let why = sheet.number(&sheet.rows[1], 1).unwrap_err().to_string();
        assert!(why.starts_with("t.csv, line 3, column \"carry\": \"2.5\" has a decimal point"), "{why}");
        let sheet = Sheet::parse("t.csv", b"file,carry\na,\"1,5\"\n").unwrap();
        let why = sheet.number(&sheet.rows[0], 1).unwrap_err().to_string();
        assert_eq!(why, "t.csv, line 2, column \"carry\": \"1,5\" is no number");
    }

    #[test]
    fn odd_tables_say_what_is_odd() {
        let why = |bytes: &[u8]| Sheet::parse("t.csv", bytes).unwrap_err().to_string();
        assert_eq!(why(b"\n\n"), "t.csv: there is nothing in it");
        assert_eq!(why(b"a,A\n1,2\n"), "t.csv, line 1: two columns are called \"A\"");
        assert!(Sheet::parse("t.csv", b"#,%,a\n1,2,3\n").is_ok(), "signs are names too");
        assert_eq!(why(b"a,b\n\n1,2,3\n"), "t.csv, line 3: has 3 cells, the head has 2");
    }
}
