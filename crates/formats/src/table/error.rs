//! What can make a table unreadable.

/// Why a table could not be read. Lines count from 1, columns by name.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TableError {
    /// No bytes, or nothing but blank lines.
    #[error("the file is empty; export the recording again")]
    Empty,
    /// Not text.
    #[error(
        "byte {offset} is zero: this is not a text table; give the text export of the recording, or a C3D file"
    )]
    Binary {
        /// Where the first zero byte lies.
        offset: usize,
    },
    /// No line looks like a row of numbers.
    #[error(
        "no row of numbers in the first {lines} lines; state `delimiter`, `decimal` and `header_line` in the [table] section of a rig file"
    )]
    NoNumbers {
        /// How many lines were looked at.
        lines: usize,
    },
    /// The layout names a header line that the file does not have.
    #[error(
        "line {line} cannot be the header: {why}; correct `header_line` in the [table] section of the rig file"
    )]
    HeaderLine {
        /// The line stated.
        line: usize,
        /// What is there instead.
        why: String,
    },
    /// A row has cells beyond the last column.
    #[error(
        "line {line} has {cells} cells but the table has {columns} columns (the last is \"{last}\"); is the decimal mark also the delimiter? State `delimiter` and `decimal` in the [table] section of a rig file"
    )]
    Ragged {
        /// The line.
        line: usize,
        /// Cells in it.
        cells: usize,
        /// Columns of the table.
        columns: usize,
        /// Name of the last column.
        last: String,
    },
    /// Rows are mostly missing, so the columns cannot be trusted.
    #[error("line {line}: row after row ends before column \"{column}\"; export the recording again")]
    RowsMissing {
        /// The line at which reading stopped.
        line: usize,
        /// First column without a cell in it.
        column: String,
    },
    /// The layout names a time column that the table does not have.
    #[error("there is no time column \"{wanted}\"{hint}; the columns are: {columns}")]
    TimeColumn {
        /// The name stated.
        wanted: String,
        /// A near name, in words, or nothing.
        hint: String,
        /// The names there are.
        columns: String,
    },
    /// A unit of time that is not known.
    #[error("\"{unit}\" is not a unit of time; use s, ms, us or min for `time_unit`")]
    TimeUnit {
        /// The unit stated.
        unit: String,
    },
    /// A sampling rate that cannot be one.
    #[error(
        "rate_hz = {rate_hz} cannot be a sampling rate; state samples a second, more than 0 and no more than ten million"
    )]
    Rate {
        /// The rate stated.
        rate_hz: f64,
    },
}
