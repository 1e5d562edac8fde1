//! The seal of a measurement: one hash over everything that was made of a swing, kept beside it. A database's pages carry no check of
//! their own; with it, a figure that is altered on the disk is seen.
use crate::error::StudyError;
use rusqlite::types::ValueRef;
use rusqlite::{Connection, Row, params};
use sha2::{Digest as _, Sha256};

/// What is sealed, table by table: in an order that follows from names alone, and by words instead of the numbers they have in
/// this catalogue, so that a catalogue made anew has the same seals.
const SEALED: [&str; 4] = [
    "SELECT failed, feet, plates, hand, body_weight_n, body_weight_from, rate_hz, samples, start_s, conditioning, stops, doubts,
     notes, figures FROM measurement WHERE basis = ?1 AND swing = ?2",
    "SELECT m.name, f.value, f.u, f.by_weight, f.by_weight_u, f.at_s, l.text, f.led_share, f.estimated, t.text, a.text
     FROM metric m CROSS JOIN figure f ON f.metric = m.id AND f.basis = ?1 AND f.swing = ?2
     LEFT JOIN phrase l ON l.id = f.led_by LEFT JOIN phrase t ON t.id = f.touched LEFT JOIN phrase a ON a.id = f.absent
     ORDER BY m.name",
    "SELECT event, time_s, u_s, source, method, seen FROM event WHERE basis = ?1 AND swing = ?2 ORDER BY event",
    "SELECT number, code, severity, plate, from_s, to_s, seen, remedy FROM finding WHERE basis = ?1 AND swing = ?2
     ORDER BY number",
];

/// The seal of what is kept of a swing on a basis now.
pub(crate) fn of(db: &Connection, basis: i64, swing: i64) -> Result<String, StudyError> {
    let mut sum = Sha256::new();
    for ask in SEALED {
        let mut ask = db.prepare_cached(ask)?;
        let columns = ask.column_count();
        let mut rows = ask.query(params![basis, swing])?;
        while let Some(row) = rows.next()? {
            for column in 0..columns {
                add(&mut sum, row, column)?;
            }
        }
        sum.update(b"end of table");
    }
    Ok(crate::keep::hex(&sum.finalize()))
}

/// A value with its kind and, where its length may vary, its length, so that no two rows read alike.
fn add(sum: &mut Sha256, row: &Row<'_>, column: usize) -> Result<(), StudyError> {
    match row.get_ref(column)? {
        ValueRef::Null => sum.update(b"n"),
        ValueRef::Integer(v) => {
            sum.update(b"i");
            sum.update(v.to_be_bytes());
        }
        ValueRef::Real(v) => {
            sum.update(b"r");
            sum.update(v.to_bits().to_be_bytes());
        }
        ValueRef::Text(bytes) | ValueRef::Blob(bytes) => {
            sum.update(b"t");
            sum.update((bytes.len() as u64).to_be_bytes());
            sum.update(bytes);
        }
    }
    Ok(())
}

/// Seals what was just written of a swing, in the same change.
pub(crate) fn put(db: &Connection, basis: i64, swing: i64) -> Result<(), StudyError> {
    let seal = of(db, basis, swing)?;
    db.prepare_cached("UPDATE measurement SET seal = ?3 WHERE basis = ?1 AND swing = ?2")?
        .execute(params![basis, swing, seal])?;
    Ok(())
}

/// Measurements, as basis and swing, whose rows are not those that were sealed.
pub(crate) fn broken(db: &Connection) -> Result<Vec<(i64, i64)>, StudyError> {
    let mut ask = db.prepare("SELECT basis, swing, seal FROM measurement ORDER BY basis, swing")?;
    let mut rows = ask.query([])?;
    let mut broken = Vec::new();
    while let Some(row) = rows.next()? {
        let (basis, swing, seal): (i64, i64, Option<String>) = (row.get(0)?, row.get(1)?, row.get(2)?);
        if seal.as_deref() != Some(of(db, basis, swing)?.as_str()) {
            broken.push((basis, swing));
        }
    }
    Ok(broken)
}
