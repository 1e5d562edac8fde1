//! Names and labels as bytes, shown as text.
use std::fmt;

/// Text of a C3D file: kept byte for byte, since no encoding is stated; shown as UTF-8 where it is, else Latin-1.
#[derive(Clone, Default, PartialEq, Eq)]
pub struct Text(pub Vec<u8>);

impl Text {
    /// True where both are the same ignoring ASCII case.
    pub fn is(&self, name: &str) -> bool {
        self.0.eq_ignore_ascii_case(name.as_bytes())
    }
}

impl From<&str> for Text {
    fn from(text: &str) -> Self {
        Self(text.as_bytes().to_vec())
    }
}

impl fmt::Display for Text {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&shown(&self.0))
    }
}

impl fmt::Debug for Text {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(&shown(&self.0), f)
    }
}

/// Text without its padding: cut at the first NUL, spaces and control characters taken off both ends.
pub fn shown(bytes: &[u8]) -> String {
    let bytes = bytes.split(|&b| b == 0).next().unwrap_or_default();
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text.to_string(),
        Err(_) => bytes.iter().map(|&b| char::from(b)).collect(),
    };
    text.trim_matches(|c: char| c.is_whitespace() || c.is_control()).to_string()
}
