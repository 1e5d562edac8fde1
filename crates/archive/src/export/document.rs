//! Everything as one JSON document: players, in them sessions, in them swings with all that was made of them. Written swing by
//! swing.
use super::field::{Cell, Field};
use super::look::Look;
use super::tables::{Table, table};
use super::words;
use crate::error::StudyError;
use serde_json::{Value, json};
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;

type Out = BufWriter<File>;

/// What hangs below what.
const BELOW: &[(&str, &[&str])] = &[
    ("players", &["identity", "sessions"]),
    ("sessions", &["swings"]),
    ("swings", &["events", "findings", "figures", "outcomes", "tags"]),
];

/// Writes the document; gives how many rows it holds.
pub fn write(look: &Look, path: &Path) -> Result<u64, StudyError> {
    let file = File::create(path).map_err(StudyError::io("write", path))?;
    let mut out = BufWriter::new(file);
    let cannot = |e| StudyError::io("write", path)(e);
    let head = json!({ "format": "underfoot.study/1", "study": words::name(&look.manner), "conventions": words::conventions(&look.manner) });
    let text = serde_json::to_string(&head).map_err(|e| StudyError::Bug(e.to_string()))?;
    out.write_all(text.strip_suffix('}').unwrap_or(&text).as_bytes()).map_err(cannot)?;
    let about: Vec<Value> = look.tables().map(|t| columns(t, look.bare())).collect();
    write!(out, ",\n\"tables\": {}", Value::from(about)).map_err(cannot)?;
    let mut count = 0;
    for name in ["metrics", "rigs", "players", "changes"] {
        let Some(table) = table(name).filter(|t| look.gives(t)) else { continue };
        write!(out, ",\n\"{name}\": ").map_err(cannot)?;
        count += list(look, table, None, path, &mut out)?;
    }
    out.write_all(b"\n}\n").map_err(cannot)?;
    let file = out.into_inner().map_err(|e| cannot(e.into_error()))?;
    file.sync_all().map_err(cannot)?;
    Ok(count)
}

fn columns(table: &Table, bare: bool) -> Value {
    let of =
        |f: &Field| json!({ "name": f.name, "type": f.kind.name(), "unit": f.unit, "description": f.what });
    let fields: Vec<Value> = table.fields(bare).iter().map(of).collect();
    json!({ "name": table.name, "description": table.what, "columns": fields })
}

/// Rows as objects, each with what hangs below it.
fn list(look: &Look, of: &Table, within: Option<i64>, path: &Path, out: &mut Out) -> Result<u64, StudyError> {
    let fields = of.fields(look.bare());
    let below: Vec<&Table> = BELOW
        .iter()
        .filter(|(name, _)| *name == of.name)
        .flat_map(|(_, tables)| tables.iter())
        .filter_map(|name| table(name).filter(|t| look.gives(t)))
        .collect();
    let cannot = |e| StudyError::io("write", path)(e);
    let mut count = 0;
    out.write_all(b"[").map_err(cannot)?;
    let mut first = true;
    look.each_row(of, within, |id, cells| {
        let before = if std::mem::take(&mut first) { "\n" } else { ",\n" };
        object(before, &fields, cells, out).map_err(cannot)?;
        count += 1;
        for child in &below {
            write!(out, ", \"{}\": ", child.name).map_err(cannot)?;
            count += list(look, child, Some(id), path, out)?;
        }
        out.write_all(b"}").map_err(cannot)
    })?;
    out.write_all(b"]").map_err(cannot)?;
    Ok(count)
}

/// An object that is not closed yet.
fn object(before: &str, fields: &[Field], cells: &[Cell<'_>], out: &mut Out) -> std::io::Result<()> {
    out.write_all(before.as_bytes())?;
    for (k, (field, cell)) in fields.iter().zip(cells).enumerate() {
        let value = match cell {
            Cell::Null => Value::Null,
            Cell::Text(text) => Value::from(text.as_ref()),
            Cell::Integer(n) => Value::from(*n),
            Cell::Number(v) => Value::from(*v),
            Cell::Boolean(b) => Value::from(*b),
        };
        write!(out, "{}\"{}\": {value}", if k == 0 { "{" } else { ", " }, field.name)?;
    }
    Ok(())
}
