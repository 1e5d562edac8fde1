//! Following a study that other programs change.
use crate::error::StudyError;
use crate::study::Study;
use std::time::{Duration, Instant};

/// How often it is looked whether another program has changed something. A look reads a few bytes of shared memory.
const BETWEEN: Duration = Duration::from_millis(10);

/// A number that is another one after every change that another handle has made.
pub fn data_version(study: &Study) -> Result<i64, StudyError> {
    Ok(study.db.prepare_cached("PRAGMA data_version")?.query_row([], |r| r.get(0))?)
}

impl Study {
    /// Waits until there is a change after one of them, whoever makes it; true as soon as there is, false after `most`.
    ///
    /// [`Study::changes_since`] then has it. Told within some 10 ms of the change.
    pub fn wait_for_change(&self, after: i64, most: Duration) -> Result<bool, StudyError> {
        let end = Instant::now() + most;
        loop {
            let version = data_version(self)?;
            let mut ask = self.db.prepare_cached("SELECT 1 FROM change WHERE id > ?1")?;
            if ask.exists([after])? {
                return Ok(true);
            }
            while data_version(self)? == version {
                let left = end.saturating_duration_since(Instant::now());
                if left.is_zero() {
                    return Ok(false);
                }
                std::thread::sleep(BETWEEN.min(left));
            }
        }
    }
}
