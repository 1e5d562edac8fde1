//! The description of a folder of tables: `datapackage.json` for machines, `README.md` and `signs.md` for people.
//!
//! Source: Data Package standard 2.0 (datapackage.org): Data Package, Data Resource, Table Dialect, Table Schema.
use super::field::Field;
use super::look::Look;
use super::tables::Table;
use super::{Written, place, words};
use crate::error::StudyError;
use crate::keep;
use crate::log::PROGRAM;
use rusqlite::OptionalExtension as _;
use serde_json::{Map, Value, json};
use std::path::Path;

const PACKAGE: &str = "https://datapackage.org/profiles/2.0/datapackage.json";
const RESOURCE: &str = "https://datapackage.org/profiles/2.0/dataresource.json";

/// Writes the description beside the files.
pub fn describe(look: &Look, files: &[Written], folder: &Path) -> Result<(), StudyError> {
    let mut resources = Vec::with_capacity(files.len());
    for file in files {
        resources.push(resource(file, files, folder)?);
    }
    let mut package = Map::new();
    package.insert("$schema".into(), PACKAGE.into());
    package.insert("name".into(), slug(words::name(&look.manner)).into());
    package.insert("title".into(), words::name(&look.manner).into());
    package.insert("description".into(), description(look).into());
    if let Some(at) = created(look)? {
        package.insert("created".into(), at.into());
    }
    package.insert("sources".into(), json!([{ "title": "Recordings of force plates, kept in a study" }]));
    package.insert("keywords".into(), json!(["golf", "force plates", "ground reaction"]));
    package.insert("conventions".into(), words::conventions(&look.manner));
    package.insert("resources".into(), resources.into());
    let text = serde_json::to_string_pretty(&package).map_err(|e| StudyError::Bug(e.to_string()))?;
    place::put(&folder.join("datapackage.json"), (text + "\n").as_bytes())?;
    place::put(&folder.join("signs.md"), words::SIGNS.as_bytes())?;
    place::put(&folder.join("README.md"), readme(look, files).as_bytes())
}

/// When the study was last changed: the same as long as it is. Without identity no time is told.
fn created(look: &Look) -> Result<Option<String>, StudyError> {
    if look.bare() {
        return Ok(None);
    }
    let ask = "SELECT at FROM change ORDER BY id DESC LIMIT 1";
    Ok(look.study.db.query_row(ask, [], |r| r.get(0)).optional()?)
}

fn description(look: &Look) -> String {
    format!(
        "Golf swings on force plates, out of a study kept with {PROGRAM}. SI units. Signs: {}. Turn about {}. {}.",
        view::Convention::USUAL.sentence(),
        words::about(&look.manner),
        words::plus_minus()
    )
}

/// A resource: its name is the table's, with the format where the same table is there twice.
fn resource(file: &Written, files: &[Written], folder: &Path) -> Result<Value, StudyError> {
    let path = folder.join(&file.path);
    let bytes = std::fs::metadata(&path).map_err(StudyError::io("read", &path))?.len();
    let twice = files.iter().filter(|f| f.name == file.name).count() > 1 && file.format != "csv";
    let name = if twice { format!("{}-{}", file.name, file.format) } else { file.name.clone() };
    let mut out = Map::new();
    out.insert("$schema".into(), RESOURCE.into());
    out.insert("name".into(), name.into());
    out.insert("path".into(), file.path.as_str().into());
    if !file.fields.is_empty() {
        out.insert("type".into(), "table".into());
    }
    out.insert("title".into(), file.title.as_str().into());
    out.insert("description".into(), file.what.as_str().into());
    if !file.format.is_empty() {
        out.insert("format".into(), file.format.as_str().into());
    }
    match file.format.as_str() {
        "csv" if !file.fields.is_empty() => {
            out.insert("mediatype".into(), "text/csv".into());
            out.insert("encoding".into(), "utf-8".into());
            let dialect = json!({ "delimiter": ",", "lineTerminator": "\n", "quoteChar": "\"", "doubleQuote": true,
                                  "header": true });
            out.insert("dialect".into(), dialect);
        }
        "parquet" => {
            out.insert("mediatype".into(), "application/vnd.apache.parquet".into());
        }
        _ => {}
    }
    out.insert("bytes".into(), bytes.into());
    out.insert("hash".into(), format!("sha256:{}", keep::hash_file(&path)?).into());
    if !file.fields.is_empty() {
        out.insert("schema".into(), schema(file, files));
    }
    Ok(out.into())
}

fn schema(file: &Written, files: &[Written]) -> Value {
    let fields: Vec<Value> = file.fields.iter().map(|f| field(f, file.table)).collect();
    let mut out = Map::new();
    out.insert("fields".into(), fields.into());
    out.insert("missingValues".into(), json!([""]));
    let has = |columns: &[&str]| columns.iter().all(|c| file.fields.iter().any(|f| f.name == *c));
    let Some(table) = file.table else {
        out.insert("primaryKey".into(), json!(["swing", "time_s"]));
        out.insert("foreignKeys".into(), json!([refers(&["swing"], "swings")]));
        return out.into();
    };
    out.insert("primaryKey".into(), json!(table.key));
    let there = |name: &str| files.iter().any(|f| f.name == name);
    let keys: Vec<Value> = table
        .refers
        .iter()
        .filter(|(columns, to)| has(columns) && there(to))
        .map(|(columns, to)| refers(columns, to))
        .collect();
    if !keys.is_empty() {
        out.insert("foreignKeys".into(), keys.into());
    }
    out.into()
}

/// The columns of the other table have the same names, but for the version of a rig.
fn refers(columns: &[&str], to: &str) -> Value {
    let there: Vec<&str> = columns.iter().map(|c| if *c == "rig_version" { "version" } else { *c }).collect();
    json!({ "fields": columns, "reference": { "resource": to, "fields": there } })
}

fn field(f: &Field, table: Option<&Table>) -> Value {
    let mut out = Map::new();
    out.insert("name".into(), f.name.as_str().into());
    out.insert("type".into(), f.kind.name().into());
    out.insert("title".into(), f.name.replace('_', " ").into());
    out.insert("description".into(), f.what.as_str().into());
    if !f.unit.is_empty() {
        out.insert("unit".into(), f.unit.as_str().into());
    }
    if table.is_some_and(|t| t.key.contains(&f.name.as_str())) {
        out.insert("constraints".into(), json!({ "required": true }));
    }
    out.into()
}

/// Lower case letters, digits and hyphens.
fn slug(name: &str) -> String {
    let mut out = String::new();
    for c in name.to_lowercase().chars() {
        match c {
            c if c.is_ascii_alphanumeric() => out.push(c),
            _ if !out.ends_with('-') && !out.is_empty() => out.push('-'),
            _ => {}
        }
    }
    let name = out.trim_end_matches('-');
    if name.is_empty() { "study".into() } else { name.into() }
}

fn readme(look: &Look, files: &[Written]) -> String {
    let mut out = format!("# {}\n\n", words::name(&look.manner));
    out.push_str(&format!(
        "{} golf swings on force plates, out of a study kept with {PROGRAM}; what measured each stands in `swings`. \
         `datapackage.json` describes every file for machines \
         (Data Package 2.0); `signs.md` has frames, signs and formulas.\n\n## Files\n\n| file | rows | |\n| --- | --- | --- |\n",
        look.swings.len()
    ));
    let mut tables: Vec<&Written> = Vec::new();
    for file in files.iter().filter(|f| !f.fields.is_empty()) {
        if !tables.iter().any(|t| t.name == file.name) {
            tables.push(file);
            out.push_str(&format!("| `{}` | {} | {} |\n", file.path, file.rows, file.what));
        }
    }
    if files.iter().any(|f| f.format == "parquet" && f.table.is_some()) {
        out.push_str("\nEvery table is there as Parquet as well, with the same columns.\n");
    }
    let others = files.iter().filter(|f| f.fields.is_empty()).count();
    if others > 0 {
        out.push_str(&format!("\n{others} recordings lie as they came under `{}/`.\n", keep::ORIGINALS));
    }
    out.push_str(START);
    out.push_str("\n## What every number means\n\n");
    let about = words::about(&look.manner);
    let facts = [
        "Units are SI, stated for every column below, or in every row in a column `unit`.".to_string(),
        format!("Signs: {}.", view::Convention::USUAL.sentence()),
        format!("Turn is about {about}."),
        format!("Uncertainty: {}.", words::plus_minus()),
        format!("Empty: {}.", words::EMPTY),
        format!("Times: {}.", words::TIME),
        format!("Unloaded feet: {}.", view::series::UNLOADED),
        "One plate and two: a swing with both feet on one plate has net accounts only (`swings.accounts`); what is \
         compared across both must be net."
            .into(),
        "Estimates: top and impact that are only estimated from force serve no figure unless the study lets them; such \
         figures are marked in `figures.estimated`."
            .into(),
    ];
    facts.iter().for_each(|fact| out.push_str(&format!("- {fact}\n")));
    out.push_str(&format!("\n## Who can be known\n\n{}.\n", capital(words::identity(&look.manner))));
    out.push_str(
        "\n## Licence\n\nNone is stated: before you publish this, add `licenses` to `datapackage.json`.\n",
    );
    out.push_str("\n## Columns\n");
    for file in tables {
        out.push_str(&format!("\n### {}\n\n| column | unit | |\n| --- | --- | --- |\n", file.name));
        for f in &file.fields {
            out.push_str(&format!("| `{}` | {} | {} |\n", f.name, f.unit, f.what.replace('|', "\\|")));
        }
    }
    out
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |c| c.to_uppercase().chain(letters).collect())
}

const START: &str = r#"
## To begin with

```python
import pandas
swings = pandas.read_csv("swings.csv")
figures = pandas.read_csv("figures.csv")
wide = figures.pivot(index="swing", columns="metric", values="value")
```

```r
swings <- read.csv("swings.csv")
figures <- read.csv("figures.csv")
turn <- merge(subset(figures, metric == "turn.net-cop.most"), swings, by = "swing")
```
"#;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_packages_are_plain() {
        assert_eq!(slug("Müller's  Bay 2"), "m-ller-s-bay-2");
        assert_eq!(slug("???"), "study");
    }
}
