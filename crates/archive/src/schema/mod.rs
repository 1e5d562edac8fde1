//! The layout of the catalogue, step by step. A step that has once been released is never changed.
use crate::error::StudyError;
use rusqlite::{Connection, TransactionBehavior};

/// Every step, in order; the version of a catalogue is how many of them it has had.
pub const STEPS: [&str; 2] = [include_str!("0001_catalogue.sql"), include_str!("0002_outcomes.sql")];

/// The version this program writes.
pub const VERSION: i64 = STEPS.len() as i64;

/// The version of a catalogue.
pub fn version(db: &Connection) -> Result<i64, StudyError> {
    Ok(db.query_row("PRAGMA user_version", [], |row| row.get(0))?)
}

/// Brings a catalogue up to [`VERSION`], each step in one transaction: killed at any instant, it has had a whole number of them.
///
/// Errors: [`StudyError::Newer`] for a catalogue of a newer program, which is left alone.
pub fn migrate(db: &mut Connection) -> Result<i64, StudyError> {
    let found = version(db)?;
    if found > VERSION {
        return Err(StudyError::Newer { found, known: VERSION });
    }
    migrate_to(db, VERSION)?;
    Ok(found)
}

/// Takes the steps up to a version, one of this program's or older.
pub(crate) fn migrate_to(db: &mut Connection, to: i64) -> Result<(), StudyError> {
    let found = version(db)?;
    for step in found..to.min(VERSION) {
        let transaction = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        // Another program may have taken the step while this one waited.
        if version(&transaction)? == step {
            if let Some(text) = usize::try_from(step).ok().and_then(|k| STEPS.get(k)) {
                transaction.execute_batch(text)?;
            }
            transaction.pragma_update(None, "user_version", step + 1)?;
        }
        transaction.commit()?;
    }
    Ok(())
}
