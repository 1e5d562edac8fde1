//! Text out of bytes: which encoding, where the lines end.
use std::borrow::Cow;

/// How the characters are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8 or plain ASCII.
    Utf8,
    /// Two bytes a character, low byte first.
    Utf16Le,
    /// Two bytes a character, high byte first.
    Utf16Be,
    /// One byte a character.
    Latin1,
}

impl Encoding {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Utf8 => "UTF-8",
            Self::Utf16Le | Self::Utf16Be => "UTF-16",
            Self::Latin1 => "Latin-1",
        }
    }
}

/// The file as bytes in which every delimiter, digit and line end is one ASCII byte, without a byte order mark.
/// Only UTF-16 is copied.
pub(crate) fn ascii_compatible(bytes: &[u8]) -> (Cow<'_, [u8]>, Encoding) {
    match bytes {
        [0xEF, 0xBB, 0xBF, rest @ ..] => (Cow::Borrowed(rest), encoding_of(rest)),
        [0xFF, 0xFE, rest @ ..] => (Cow::Owned(utf16(rest, u16::from_le_bytes)), Encoding::Utf16Le),
        [0xFE, 0xFF, rest @ ..] => (Cow::Owned(utf16(rest, u16::from_be_bytes)), Encoding::Utf16Be),
        _ => match unmarked_utf16(bytes) {
            Some(Encoding::Utf16Le) => (Cow::Owned(utf16(bytes, u16::from_le_bytes)), Encoding::Utf16Le),
            Some(_) => (Cow::Owned(utf16(bytes, u16::from_be_bytes)), Encoding::Utf16Be),
            None => (Cow::Borrowed(bytes), encoding_of(bytes)),
        },
    }
}

/// Latin-1 where the head is not UTF-8 (a character cut at the end of the head does not count).
fn encoding_of(bytes: &[u8]) -> Encoding {
    let head = bytes.get(..64 * 1024).unwrap_or(bytes);
    match std::str::from_utf8(head) {
        Err(e) if e.error_len().is_some() => Encoding::Latin1,
        _ => Encoding::Utf8,
    }
}

/// UTF-16 without a mark: in mostly ASCII text every second byte is zero.
fn unmarked_utf16(bytes: &[u8]) -> Option<Encoding> {
    let head = bytes.get(..512).unwrap_or(bytes);
    if head.len() < 8 {
        return None;
    }
    let zeros = |from: usize| head.iter().skip(from).step_by(2).filter(|b| **b == 0).count();
    let (even, odd) = (zeros(0), zeros(1));
    let most = head.len() / 2 * 4 / 5;
    match () {
        () if odd >= most && even == 0 => Some(Encoding::Utf16Le),
        () if even >= most && odd == 0 => Some(Encoding::Utf16Be),
        () => None,
    }
}

fn utf16(bytes: &[u8], pair: fn([u8; 2]) -> u16) -> Vec<u8> {
    let units = bytes.chunks_exact(2).map(|c| pair([c[0], c[1]]));
    let mut text = String::with_capacity(bytes.len() / 2);
    text.extend(char::decode_utf16(units).map(|c| c.unwrap_or(char::REPLACEMENT_CHARACTER)));
    text.into_bytes()
}

/// A label or unit as text: UTF-8, or one byte a character.
pub(crate) fn words(bytes: &[u8]) -> String {
    match std::str::from_utf8(bytes) {
        Ok(text) => text.to_owned(),
        Err(_) => bytes.iter().map(|b| char::from(*b)).collect(),
    }
}

/// One line: its number (from 1), where it starts, and its bytes without the line end.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Line<'a> {
    pub number: usize,
    pub start: usize,
    pub bytes: &'a [u8],
}

/// A quoted cell that spans lines is believed when it closes within so many bytes.
const QUOTE_REACH: usize = 4096;

/// The first `most` lines. A line end inside quotes does not end the line.
pub(crate) fn head(bytes: &[u8], most: usize) -> Vec<Line<'_>> {
    let mut lines = Vec::new();
    let (mut at, mut number) = (0, 1);
    while at < bytes.len() && lines.len() < most {
        let (end, next, passed) = line_end(bytes, at);
        lines.push(Line { number, start: at, bytes: &bytes[at..end] });
        number += passed;
        at = next;
    }
    lines
}

/// End of the line that starts at `at`, start of the next one, and how many line ends were passed.
fn line_end(bytes: &[u8], at: usize) -> (usize, usize, usize) {
    let (mut i, mut passed) = (at, 1);
    while let Some(b) = bytes.get(i) {
        match b {
            b'\n' => return (i, i + 1, passed),
            b'\r' => return (i, i + 1 + usize::from(bytes.get(i + 1) == Some(&b'\n')), passed),
            b'"' => {
                if let Some((close, inside)) = quote_end(bytes, i) {
                    passed += inside;
                    i = close;
                }
                i += 1;
            }
            _ => i += 1,
        }
    }
    (bytes.len(), bytes.len(), passed)
}

/// Where the quote opened at `open` closes, and how many line ends lie inside; `None` where it does not close near.
pub(crate) fn quote_end(bytes: &[u8], open: usize) -> Option<(usize, usize)> {
    let mut inside = 0;
    let mut i = open + 1;
    let last = bytes.len().min(open + QUOTE_REACH);
    while i < last {
        match bytes[i] {
            b'"' if bytes.get(i + 1) == Some(&b'"') => i += 1,
            b'"' => return Some((i, inside)),
            b'\n' => inside += 1,
            b'\r' if bytes.get(i + 1) != Some(&b'\n') => inside += 1,
            _ => {}
        }
        i += 1;
    }
    None
}

/// The cells of one line.
pub(crate) fn cells(line: &[u8], delimiter: u8) -> Vec<&[u8]> {
    let mut out = Vec::new();
    let mut at = 0;
    if delimiter == b' ' {
        loop {
            while matches!(line.get(at), Some(b' ' | b'\t')) {
                at += 1;
            }
            if at >= line.len() {
                return out;
            }
            let end = cell_end(line, at, |b| b == b' ' || b == b'\t');
            out.push(&line[at..end]);
            at = end;
        }
    }
    loop {
        let end = cell_end(line, at, |b| b == delimiter);
        out.push(&line[at..end]);
        if end >= line.len() {
            return out;
        }
        at = end + 1;
    }
}

/// End of the cell that starts at `at`; delimiters inside quotes do not count.
fn cell_end(line: &[u8], at: usize, ends: impl Fn(u8) -> bool) -> usize {
    let mut i = at;
    while matches!(line.get(i), Some(b) if *b == b' ' && !ends(*b)) {
        i += 1;
    }
    if line.get(i) == Some(&b'"')
        && let Some((close, _)) = quote_end(line, i)
    {
        i = close + 1;
    }
    while let Some(b) = line.get(i) {
        if ends(*b) {
            return i;
        }
        i += 1;
    }
    line.len()
}

/// A label cell as text: trimmed, quotes taken off, doubled quotes made single, line ends made spaces.
pub(crate) fn label(cell: &[u8]) -> String {
    let text = words(super::number::trim(cell));
    let text = if cell.contains(&b'"') { text.replace("\"\"", "\"") } else { text };
    if text.contains(['\n', '\r']) { text.split_whitespace().collect::<Vec<_>>().join(" ") } else { text }
}
