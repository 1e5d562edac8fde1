//! Series of all swings as one long table: the swing, then one row a sample.
use super::analysed::analysed;
use super::field::{Cell, Field, Kind};
use super::look::Look;
use super::rows::{Format, Rows};
use super::words;
use super::{NotWritten, Tell};
use crate::error::StudyError;
use crate::wanted::Wanted;
use rayon::prelude::*;
use std::path::Path;
use view::Convention;
use view::series::Column;

/// Name of the table.
pub const NAME: &str = "series";
/// For people.
pub const TITLE: &str = "Series";
/// What one row is.
pub const WHAT: &str =
    "One row a swing and sample: forces, centres of pressure and turn, in the player's components.";

/// Writes the table; gives its columns, how many rows it has, and which swings have none.
pub fn write(
    look: &Look,
    path: &Path,
    format: Format,
    tell: &mut Tell<'_>,
) -> Result<(Vec<Field>, u64, Vec<NotWritten>), StudyError> {
    let (mut out, mut fields, mut count, mut missing) = (None, Vec::new(), 0, Vec::new());
    let (root, basis) = (look.study.root.as_path(), &look.manner.basis);
    let of = |w: &Wanted| -> Result<Vec<Column>, String> {
        let (_, swing) = analysed(root, w, basis)?;
        Ok(view::series::columns(&swing, Convention::USUAL))
    };
    for hand in look.swings.chunks(4 * rayon::current_num_threads()) {
        let worked: Vec<_> = hand.par_iter().with_max_len(1).map(of).collect();
        for (wanted, columns) in hand.iter().zip(worked) {
            tell();
            let columns = match columns {
                Ok(columns) => columns,
                Err(why) => {
                    missing.push(NotWritten { swing: wanted.swing, why });
                    continue;
                }
            };
            if out.is_none() {
                fields = described(look, &columns);
                out = Some(Rows::new(path, format, &fields, &words::about_file(&look.manner))?);
            }
            let Some(rows) = out.as_mut() else { continue };
            let samples = columns.first().map_or(0, |c| c.values.len());
            let mut cells = Vec::with_capacity(columns.len() + 1);
            for k in 0..samples {
                cells.clear();
                cells.push(Cell::Integer(wanted.swing));
                cells
                    .extend(columns.iter().map(|c| c.values.get(k).map_or(Cell::Null, |v| Cell::number(*v))));
                rows.put(&cells)?;
            }
            count += samples as u64;
        }
    }
    if let Some(rows) = out {
        rows.finish()?;
    }
    Ok((fields, count, missing))
}

fn described(look: &Look, columns: &[Column]) -> Vec<Field> {
    let swing =
        Field { name: "swing".into(), kind: Kind::Integer, unit: String::new(), what: "Swing".into() };
    let of = |c: &Column| Field {
        name: c.name.clone(),
        kind: Kind::Number,
        unit: c.unit.into(),
        what: words::without_label(&look.manner, &c.what),
    };
    std::iter::once(swing).chain(columns.iter().map(of)).collect()
}
