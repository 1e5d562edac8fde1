//! Rows into a file, one after the other: delimited text, or Parquet in batches. Memory does not grow with the rows.
use super::field::{Cell, Field, Kind, number};
use crate::error::StudyError;
use arrow_array::builder::{
    BooleanBuilder, Date32Builder, Float64Builder, Int64Builder, StringBuilder, TimestampMillisecondBuilder,
};
use arrow_array::{ArrayRef, RecordBatch};
use arrow_schema::{DataType, Schema, TimeUnit};
use parquet::arrow::ArrowWriter;
use parquet::basic::{Compression, Encoding, ZstdLevel};
use parquet::file::properties::WriterProperties;
use std::collections::HashMap;
use std::fs::File;
use std::io::BufWriter;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The format of a table's file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// Commas, UTF-8, a row of names, line feeds; quoted where needed.
    Csv,
    /// Parquet, with unit and meaning on every column.
    Parquet,
}

impl Format {
    /// Ending of its files.
    pub fn ending(self) -> &'static str {
        match self {
            Self::Csv => "csv",
            Self::Parquet => "parquet",
        }
    }
}

/// A file that takes rows.
pub struct Rows {
    path: PathBuf,
    kind: Writer,
}

enum Writer {
    Csv(Box<csv::Writer<BufWriter<File>>>),
    Parquet(Box<Batches>),
}

struct Batches {
    writer: ArrowWriter<BufWriter<File>>,
    schema: Arc<Schema>,
    columns: Vec<Builder>,
    waiting: usize,
}

/// Rows that are gathered before they are written, and rows of one stretch of a Parquet file.
const BATCH: usize = 1 << 14;
const STRETCH: usize = 1 << 18;

impl Rows {
    /// A new file; `about` is written into it where the format has a place.
    pub fn new(path: &Path, format: Format, fields: &[Field], about: &str) -> Result<Self, StudyError> {
        let file = BufWriter::new(File::create(path).map_err(StudyError::io("write", path))?);
        let kind = match format {
            Format::Csv => {
                let mut writer =
                    csv::WriterBuilder::new().terminator(csv::Terminator::Any(b'\n')).from_writer(file);
                writer.write_record(fields.iter().map(|f| f.name.as_str())).map_err(|e| torn(path, e))?;
                Writer::Csv(Box::new(writer))
            }
            Format::Parquet => Writer::Parquet(Box::new(batches(file, path, fields, about)?)),
        };
        Ok(Self { path: path.to_path_buf(), kind })
    }

    /// Takes a row: one cell a field.
    pub fn put(&mut self, cells: &[Cell<'_>]) -> Result<(), StudyError> {
        match &mut self.kind {
            Writer::Csv(writer) => {
                for cell in cells {
                    let written = match cell {
                        Cell::Null => writer.write_field(""),
                        Cell::Text(text) => writer.write_field(text.as_ref()),
                        Cell::Integer(n) => writer.write_field(n.to_string()),
                        Cell::Number(v) => writer.write_field(number(*v)),
                        Cell::Boolean(b) => writer.write_field(if *b { "true" } else { "false" }),
                    };
                    written.map_err(|e| torn(&self.path, e))?;
                }
                writer.write_record(None::<&[u8]>).map_err(|e| torn(&self.path, e))
            }
            Writer::Parquet(batches) => {
                for (column, cell) in batches.columns.iter_mut().zip(cells) {
                    column.put(cell);
                }
                batches.waiting += 1;
                if batches.waiting == BATCH { batches.flush(&self.path) } else { Ok(()) }
            }
        }
    }

    /// Ends the file and flushes it to the disk.
    pub fn finish(self) -> Result<(), StudyError> {
        let path = self.path;
        let file = match self.kind {
            Writer::Csv(writer) => {
                writer.into_inner().map_err(|e| StudyError::io("write", &path)(e.into_error()))?
            }
            Writer::Parquet(mut batches) => {
                batches.flush(&path)?;
                batches.writer.into_inner().map_err(|e| broken(&path, e))?
            }
        };
        let file = file.into_inner().map_err(|e| StudyError::io("write", &path)(e.into_error()))?;
        file.sync_all().map_err(StudyError::io("flush", &path))
    }
}

fn torn(path: &Path, error: csv::Error) -> StudyError {
    match error.into_kind() {
        csv::ErrorKind::Io(e) => StudyError::io("write", path)(e),
        other => StudyError::Bug(format!("{}: {other:?}", path.display())),
    }
}

fn broken(path: &Path, error: parquet::errors::ParquetError) -> StudyError {
    let text = error.to_string();
    if let parquet::errors::ParquetError::External(inner) = error
        && let Ok(io) = inner.downcast::<std::io::Error>()
    {
        return StudyError::io("write", path)(*io);
    }
    StudyError::Bug(format!("{}: {text}", path.display()))
}

fn batches(file: BufWriter<File>, path: &Path, fields: &[Field], about: &str) -> Result<Batches, StudyError> {
    let described = |f: &Field| {
        let facts = [("unit", &f.unit), ("description", &f.what)];
        let told = facts.into_iter().filter(|(_, t)| !t.is_empty()).map(|(k, t)| (k.to_string(), t.clone()));
        arrow_schema::Field::new(&f.name, data_type(f.kind), true)
            .with_metadata(told.collect::<HashMap<String, String>>())
    };
    let about = HashMap::from([("underfoot".to_string(), about.to_string())]);
    let schema = Arc::new(Schema::new_with_metadata(fields.iter().map(described).collect::<Vec<_>>(), about));
    let level = ZstdLevel::try_new(1).map_err(|e| broken(path, e))?;
    let mut properties = WriterProperties::builder()
        .set_compression(Compression::ZSTD(level))
        .set_max_row_group_row_count(Some(STRETCH));
    // Bytes of doubles set apart by their place, as in the study's own files of series.
    for field in fields.iter().filter(|f| f.kind == Kind::Number) {
        let column: parquet::schema::types::ColumnPath = field.name.as_str().into();
        properties = properties
            .set_column_dictionary_enabled(column.clone(), false)
            .set_column_encoding(column, Encoding::BYTE_STREAM_SPLIT);
    }
    let writer =
        ArrowWriter::try_new(file, schema.clone(), Some(properties.build())).map_err(|e| broken(path, e))?;
    let columns = fields.iter().map(|f| Builder::of(f.kind)).collect();
    Ok(Batches { writer, schema, columns, waiting: 0 })
}

impl Batches {
    fn flush(&mut self, path: &Path) -> Result<(), StudyError> {
        if self.waiting == 0 {
            return Ok(());
        }
        self.waiting = 0;
        let arrays: Vec<ArrayRef> = self.columns.iter_mut().map(Builder::take).collect();
        let batch = RecordBatch::try_new(self.schema.clone(), arrays);
        let batch = batch.map_err(|e| StudyError::Bug(format!("{}: {e}", path.display())))?;
        self.writer.write(&batch).map_err(|e| broken(path, e))
    }
}

fn data_type(kind: Kind) -> DataType {
    match kind {
        Kind::Text => DataType::Utf8,
        Kind::Integer => DataType::Int64,
        Kind::Number => DataType::Float64,
        Kind::Boolean => DataType::Boolean,
        Kind::Date => DataType::Date32,
        Kind::Instant => DataType::Timestamp(TimeUnit::Millisecond, Some("UTC".into())),
    }
}

enum Builder {
    Text(StringBuilder),
    Integer(Int64Builder),
    Number(Float64Builder),
    Boolean(BooleanBuilder),
    Date(Date32Builder),
    Instant(TimestampMillisecondBuilder),
}

impl Builder {
    fn of(kind: Kind) -> Self {
        match kind {
            Kind::Text => Self::Text(StringBuilder::new()),
            Kind::Integer => Self::Integer(Int64Builder::new()),
            Kind::Number => Self::Number(Float64Builder::new()),
            Kind::Boolean => Self::Boolean(BooleanBuilder::new()),
            Kind::Date => Self::Date(Date32Builder::new()),
            Kind::Instant => Self::Instant(TimestampMillisecondBuilder::new().with_timezone("UTC")),
        }
    }

    /// A cell of another kind than the column's is no value.
    fn put(&mut self, cell: &Cell<'_>) {
        let text = if let Cell::Text(text) = cell { Some(text.as_ref()) } else { None };
        match self {
            Self::Text(b) => b.append_option(text),
            Self::Integer(b) => b.append_option(if let Cell::Integer(n) = cell { Some(*n) } else { None }),
            Self::Number(b) => b.append_option(if let Cell::Number(v) = cell { Some(*v) } else { None }),
            Self::Boolean(b) => b.append_option(if let Cell::Boolean(v) = cell { Some(*v) } else { None }),
            Self::Date(b) => b.append_option(text.and_then(days)),
            Self::Instant(b) => {
                let instant = text.and_then(|t| t.parse::<jiff::Timestamp>().ok());
                b.append_option(instant.map(|t| t.as_millisecond()));
            }
        }
    }

    fn take(&mut self) -> ArrayRef {
        match self {
            Self::Text(b) => Arc::new(b.finish()),
            Self::Integer(b) => Arc::new(b.finish()),
            Self::Number(b) => Arc::new(b.finish()),
            Self::Boolean(b) => Arc::new(b.finish()),
            Self::Date(b) => Arc::new(b.finish()),
            Self::Instant(b) => Arc::new(b.finish()),
        }
    }
}

/// Days since 1970-01-01.
fn days(text: &str) -> Option<i32> {
    let day: jiff::civil::Date = text.parse().ok()?;
    day.since(jiff::civil::date(1970, 1, 1)).ok().map(|span| span.get_days())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_count_from_1970() {
        // A leap day lies between; 2026-05-12 is 20,585 days after 1970-01-01 (`date -d 2026-05-12 +%s` / 86400).
        assert_eq!((days("1970-01-01"), days("2026-05-12"), days("Tuesday")), (Some(0), Some(20_585), None));
    }
}
