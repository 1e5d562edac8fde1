//! What a column is: its name, its kind, its unit and its meaning, once for every format.
use std::borrow::Cow;

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Text.
    Text,
    /// Whole numbers.
    Integer,
    /// Numbers.
    Number,
    /// True or false.
    Boolean,
    /// Days, ISO 8601.
    Date,
    /// Instants, ISO 8601 in UTC.
    Instant,
}

impl Kind {
    /// Its name in a Table Schema. Source: Data Package standard 2.0, Table Schema, field types.
    pub fn name(self) -> &'static str {
        match self {
            Self::Text => "string",
            Self::Integer => "integer",
            Self::Number => "number",
            Self::Boolean => "boolean",
            Self::Date => "date",
            Self::Instant => "datetime",
        }
    }
}

/// A column of an export.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Field {
    /// Name.
    pub name: String,
    /// What it holds.
    pub kind: Kind,
    /// Unit; empty where there is none.
    pub unit: String,
    /// Meaning, in one line.
    pub what: String,
}

/// A value on its way out. Text without a letter is no value.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell<'a> {
    /// No value.
    Null,
    /// Text, a day or an instant.
    Text(Cow<'a, str>),
    /// A whole number.
    Integer(i64),
    /// A number that is finite.
    Number(f64),
    /// True or false.
    Boolean(bool),
}

impl Cell<'_> {
    /// A number; what is not finite is not defined, and no value.
    pub fn number(value: f64) -> Self {
        if value.is_finite() { Self::Number(value) } else { Self::Null }
    }
}

/// A number as short as it can be and still read back the same: "0.5", "1.3E-17".
pub fn number(value: f64) -> String {
    format!("{value:?}").replace('e', "E")
}

/// How a column is told where nobody is to be known by it.
#[derive(Clone, Copy, Debug)]
pub enum Bare {
    /// As it is.
    Same,
    /// Not at all.
    Out,
    /// Something else instead, in SQL.
    Instead(&'static str),
    /// What is left of a text after everything that a person may have written is taken off.
    Through(fn(&str) -> Option<String>),
}

/// A column of a table of the study.
#[derive(Clone, Copy, Debug)]
pub struct Column {
    /// Name.
    pub name: &'static str,
    /// What it holds.
    pub kind: Kind,
    /// Unit; empty where there is none.
    pub unit: &'static str,
    /// Where it comes from, in SQL.
    pub from: &'static str,
    /// Meaning, in one line.
    pub what: &'static str,
    /// Without identity.
    pub bare: Bare,
}

/// A column of text.
pub const fn text(name: &'static str, from: &'static str, what: &'static str) -> Column {
    Column { name, kind: Kind::Text, unit: "", from, what, bare: Bare::Same }
}

/// A column of a kind.
pub const fn of(kind: Kind, name: &'static str, from: &'static str, what: &'static str) -> Column {
    Column { name, kind, unit: "", from, what, bare: Bare::Same }
}

/// A column of numbers with a unit.
pub const fn measured(
    name: &'static str,
    unit: &'static str,
    from: &'static str,
    what: &'static str,
) -> Column {
    Column { name, kind: Kind::Number, unit, from, what, bare: Bare::Same }
}

impl Column {
    /// Left out without identity.
    pub const fn named(self) -> Self {
        Self { bare: Bare::Out, ..self }
    }
    /// Something else without identity.
    pub const fn or(self, sql: &'static str) -> Self {
        Self { bare: Bare::Instead(sql), ..self }
    }
    /// Only what is known to name nobody, without identity.
    pub const fn through(self, keep: fn(&str) -> Option<String>) -> Self {
        Self { bare: Bare::Through(keep), ..self }
    }
    /// As every format sees it.
    pub fn field(&self) -> Field {
        Field { name: self.name.into(), kind: self.kind, unit: self.unit.into(), what: self.what.into() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_read_back_the_same() {
        for value in [0.1 + 0.2, 1.3e-17, -4.9e300, 1000.0, f64::MIN_POSITIVE] {
            assert_eq!(number(value).parse::<f64>().map(f64::to_bits), Ok(value.to_bits()));
        }
        assert_eq!((number(0.5), number(1.3e-17)), ("0.5".into(), "1.3E-17".into()));
        assert_eq!(Cell::number(f64::NAN), Cell::Null);
    }
}
