//! Columns as Parquet.
use arrow_array::{ArrayRef, Float64Array, RecordBatch};
use arrow_schema::{DataType, Field, Schema};
use parquet::arrow::ArrowWriter;
use parquet::basic::{Compression, Encoding, ZstdLevel};
use parquet::file::properties::WriterProperties;
use std::collections::HashMap;
use std::sync::Arc;
use view::series::{Column, SeriesFacts};

/// A Parquet file of a swing's series: doubles, null where not defined; unit and meaning on each column, convention on the
/// file. The same columns give the same bytes.
///
/// Errors: the writer's words; with columns of equal length it has none to say.
pub fn series(columns: &[Column], facts: &SeriesFacts) -> Result<Vec<u8>, String> {
    let fields: Vec<Field> = columns
        .iter()
        .map(|c| {
            let about = [("unit", c.unit.to_string()), ("description", c.what.clone())];
            let metadata: HashMap<String, String> =
                about.into_iter().map(|(k, v)| (k.to_string(), v)).collect();
            Field::new(&c.name, DataType::Float64, true).with_metadata(metadata)
        })
        .collect();
    let facts_text = serde_json::to_string(facts).map_err(|e| e.to_string())?;
    let metadata = HashMap::from([("underfoot".to_string(), facts_text)]);
    let schema = Arc::new(Schema::new_with_metadata(fields, metadata));
    let arrays: Vec<ArrayRef> = columns
        .iter()
        .map(|c| {
            let values = c.values.iter().map(|v| v.is_finite().then_some(*v));
            Arc::new(Float64Array::from_iter(values)) as ArrayRef
        })
        .collect();
    let batch = RecordBatch::try_new(schema.clone(), arrays).map_err(|e| e.to_string())?;
    write(schema, &batch)
}

/// One batch as a Parquet file.
///
/// Bytes of doubles are set apart by their place (BYTE_STREAM_SPLIT) before they are compressed: measured columns are
/// noise in their low bytes, and alike in their high ones.
pub fn write(schema: Arc<Schema>, batch: &RecordBatch) -> Result<Vec<u8>, String> {
    let level = ZstdLevel::try_new(1).map_err(|e| e.to_string())?;
    let mut properties =
        WriterProperties::builder().set_compression(Compression::ZSTD(level)).set_dictionary_enabled(false);
    for field in schema.fields().iter().filter(|f| f.data_type() == &DataType::Float64) {
        properties =
            properties.set_column_encoding(field.name().as_str().into(), Encoding::BYTE_STREAM_SPLIT);
    }
    let mut out = Vec::new();
    let mut writer =
        ArrowWriter::try_new(&mut out, schema, Some(properties.build())).map_err(|e| e.to_string())?;
    writer.write(batch).map_err(|e| e.to_string())?;
    writer.close().map_err(|e| e.to_string())?;
    Ok(out)
}
