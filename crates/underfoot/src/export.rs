//! Series to files: CSV with its machine-readable description, Parquet, JSON. A file is whole or it is not there.
use crate::fail::Fail;
use serde_json::{Value, json};
use std::io::Write as _;
use std::path::{Path, PathBuf};
use view::series::{Column, SeriesFacts};

/// Writes a whole file or nothing: a temporary file beside it, then one rename.
pub fn whole_file(path: &Path, bytes: &[u8]) -> Result<(), Fail> {
    let folder = match path.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    };
    let cannot = |e: &dyn std::fmt::Display| {
        Fail::input(format!("cannot write {}: {e}", path.display()))
            .fix("check that the folder exists, that you may write there, and that the disk has room")
    };
    let mut file =
        tempfile::Builder::new().prefix(".underfoot-").tempfile_in(folder).map_err(|e| cannot(&e))?;
    file.write_all(bytes).and_then(|()| file.as_file().sync_all()).map_err(|e| cannot(&e))?;
    readable_by_all(file.path());
    file.persist(path).map_err(|e| cannot(&e.error))?;
    Ok(())
}

/// Refuses to write over what is being read.
pub fn not_over(output: &Path, inputs: &[&Path]) -> Result<(), Fail> {
    let Ok(there) = output.canonicalize() else { return Ok(()) };
    if inputs.iter().any(|i| i.canonicalize().is_ok_and(|i| i == there)) {
        return Err(Fail::usage(format!(
            "{} is what is being read; it is not written over",
            output.display()
        ))
        .fix("choose another name for the result"));
    }
    Ok(())
}

/// Temporary files are private; a result is an ordinary file.
fn readable_by_all(path: &Path) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        // Failing only leaves the file more private than it need be.
        let _ = std::fs::set_permissions(path, std::fs::Permissions::from_mode(0o644));
    }
    #[cfg(not(unix))]
    let _ = path;
}

/// One row a sample; numbers as short as they can be and still read back the same; empty where not defined.
pub fn csv(columns: &[Column]) -> Vec<u8> {
    let rows = columns.first().map_or(0, |c| c.values.len());
    let mut out = Vec::with_capacity(rows * columns.len() * 12);
    out.extend(columns.iter().map(|c| c.name.as_str()).collect::<Vec<_>>().join(",").bytes());
    out.push(b'\n');
    for k in 0..rows {
        for (i, column) in columns.iter().enumerate() {
            if i > 0 {
                out.push(b',');
            }
            let value = column.values[k];
            if value.is_finite() {
                // Writing to memory does not fail.
                let _ = write!(out, "{value}");
            }
        }
        out.push(b'\n');
    }
    out
}

/// The description beside a CSV: convention, units and meaning of every column.
///
/// Source: W3C Recommendation "Metadata Vocabulary for Tabular Data" (2015): `NAME.csv-metadata.json`.
pub fn csv_metadata(file: &Path, columns: &[Column], facts: &SeriesFacts) -> Value {
    let url = file.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let described: Vec<Value> = columns
        .iter()
        .map(|c| {
            json!({ "name": c.name, "titles": c.name, "datatype": "double", "null": "",
                    "dc:description": c.what, "schema:unitText": c.unit })
        })
        .collect();
    json!({
        "@context": ["http://www.w3.org/ns/csvw", { "@language": "en" }],
        "url": url,
        "dc:title": format!("Series of {}", facts.recording),
        "dc:description": facts.convention_words,
        "underfoot:facts": facts,
        "tableSchema": { "columns": described }
    })
}

/// Where the description of a CSV goes.
pub fn csv_metadata_path(file: &Path) -> PathBuf {
    let mut name = file.as_os_str().to_owned();
    name.push("-metadata.json");
    PathBuf::from(name)
}

/// Columns as named arrays, null where not defined, with units and convention.
pub fn json(columns: &[Column], facts: &SeriesFacts) -> Value {
    let data: serde_json::Map<String, Value> =
        columns.iter().map(|c| (c.name.clone(), json!(c.values))).collect();
    json!({ "facts": facts, "columns": columns, "data": data })
}
