//! A study at a glance.
use crate::error::StudyError;
use crate::study::Study;
use serde::Serialize;

/// What is in a study.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Info {
    /// Players.
    pub players: i64,
    /// Rigs.
    pub rigs: i64,
    /// Sessions.
    pub sessions: i64,
    /// Swings.
    pub swings: i64,
    /// Swings with accounts for each foot.
    pub two_feet: i64,
    /// Swings with net accounts only.
    pub one_plate: i64,
    /// Swings that could be read but not measured.
    pub failed: i64,
    /// Swings with a finding of severity stop.
    pub with_stops: i64,
    /// Swings with a finding of severity doubt.
    pub with_doubts: i64,
    /// First day of a session.
    pub first_day: Option<String>,
    /// Last day.
    pub last_day: Option<String>,
    /// Bytes of the originals.
    pub original_bytes: i64,
    /// Swings whose measurement is out of date.
    pub stale: i64,
    /// Measurements made by other methods than this program's.
    pub made_otherwise: i64,
}

impl Study {
    /// What is in it, as of one instant.
    pub fn info(&self) -> Result<Info, StudyError> {
        let (basis, _) = self.usual_basis()?;
        let look = self.read()?;
        let stale = self.stale(basis, false)?.len() as i64;
        let made_otherwise = self.made_otherwise()?;
        let count = |ask: &str| look.query_row(ask, [], |r| r.get::<_, i64>(0));
        let measured =
            |what: &str| count(&format!("SELECT count(*) FROM measurement WHERE basis = {basis} AND {what}"));
        let (first_day, last_day) =
            look.query_row("SELECT min(date), max(date) FROM session", [], |r| Ok((r.get(0)?, r.get(1)?)))?;
        Ok(Info {
            players: count("SELECT count(*) FROM player")?,
            rigs: count("SELECT count(*) FROM rig")?,
            sessions: count("SELECT count(*) FROM session")?,
            swings: count("SELECT count(*) FROM swing")?,
            two_feet: measured("feet = 2")?,
            one_plate: measured("feet = 1")?,
            failed: measured("failed IS NOT NULL")?,
            with_stops: measured("stops > 0")?,
            with_doubts: measured("doubts > 0")?,
            first_day,
            last_day,
            original_bytes: count("SELECT coalesce(sum(bytes), 0) FROM swing")?,
            stale,
            made_otherwise,
        })
    }
}
