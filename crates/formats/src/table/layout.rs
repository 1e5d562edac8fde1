//! What a rig file may state about a table; everything left out is guessed.
use serde::Deserialize;

/// The `[table]` section of a rig file.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TableLayout {
    /// What stands between two cells.
    pub delimiter: Option<Delimiter>,
    /// The decimal mark.
    pub decimal: Option<Decimal>,
    /// Line of the column names, counted from 1; 0 where there are none.
    pub header_line: Option<usize>,
    /// Whether a row of units stands under the names.
    pub unit_row: Option<bool>,
    /// Time column: its name, or its number counted from 1. `0` or `"none"`: there is none.
    pub time: Option<Column>,
    /// Unit of the time column: s, ms, us, min.
    pub time_unit: Option<String>,
    /// Samples a second; used where there is no time column, and against it where there is one.
    pub rate_hz: Option<f64>,
}

/// A column by name or by number (from 1).
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Column {
    /// By name.
    Name(String),
    /// By number, counted from 1.
    Number(usize),
}

impl std::fmt::Display for Column {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Name(name) => f.write_str(name),
            Self::Number(number) => write!(f, "{number}"),
        }
    }
}

impl<'de> Deserialize<'de> for Column {
    fn deserialize<D: serde::Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
        struct Visitor;
        impl serde::de::Visitor<'_> for Visitor {
            type Value = Column;
            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str("a name in quotes, or a number counted from 1")
            }
            fn visit_str<E: serde::de::Error>(self, text: &str) -> Result<Column, E> {
                Ok(Column::Name(text.to_owned()))
            }
            fn visit_i64<E: serde::de::Error>(self, number: i64) -> Result<Column, E> {
                usize::try_from(number).map(Column::Number).map_err(|_| {
                    E::custom(format!("{number} is not a number of a channel; they count from 1"))
                })
            }
        }
        input.deserialize_any(Visitor)
    }
}

/// What stands between two cells.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Delimiter {
    /// One tab.
    #[serde(alias = "\t")]
    Tab,
    /// One comma.
    #[serde(alias = ",")]
    Comma,
    /// One semicolon.
    #[serde(alias = ";")]
    Semicolon,
    /// One vertical bar.
    #[serde(alias = "|")]
    Pipe,
    /// Any run of spaces and tabs.
    #[serde(alias = " ")]
    Space,
}

impl Delimiter {
    /// All, in the order in which they are tried.
    pub const ALL: [Self; 5] = [Self::Tab, Self::Semicolon, Self::Comma, Self::Pipe, Self::Space];

    /// The byte between two cells.
    pub fn byte(self) -> u8 {
        match self {
            Self::Tab => b'\t',
            Self::Comma => b',',
            Self::Semicolon => b';',
            Self::Pipe => b'|',
            Self::Space => b' ',
        }
    }
    /// "tab-separated"…
    pub fn words(self) -> &'static str {
        match self {
            Self::Tab => "tab-separated",
            Self::Comma => "comma-separated",
            Self::Semicolon => "semicolon-separated",
            Self::Pipe => "separated by vertical bars",
            Self::Space => "separated by spaces",
        }
    }
}

/// The decimal mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Decimal {
    /// 1.5
    #[serde(alias = ".")]
    Point,
    /// 1,5
    #[serde(alias = ",")]
    Comma,
}

impl Decimal {
    /// The byte.
    pub fn byte(self) -> u8 {
        match self {
            Self::Point => b'.',
            Self::Comma => b',',
        }
    }
    /// "decimal point"…
    pub fn words(self) -> &'static str {
        match self {
            Self::Point => "decimal point",
            Self::Comma => "decimal comma",
        }
    }
}
