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
        let stale = self.stale_among(basis, None, false)?.len() as i64;
        let made_otherwise = self.made_otherwise()?;
        let count = |ask: &str| look.query_row(ask, [], |r| r.get::<_, i64>(0));
        let (first_day, last_day) =
            look.query_row("SELECT min(date), max(date) FROM session", [], |r| Ok((r.get(0)?, r.get(1)?)))?;
        // One pass over the measurements; a sum over none is NULL.
        let [two_feet, one_plate, failed, with_stops, with_doubts] = look.query_row(
            "SELECT total(feet = 2), total(feet = 1), total(feet IS NULL), total(stops > 0), total(doubts > 0)
             FROM measurement WHERE basis = ?1",
            [basis],
            |r| {
                let mut counts = [0; 5];
                for (k, count) in counts.iter_mut().enumerate() {
                    *count = r.get::<_, f64>(k)? as i64;
                }
                Ok(counts)
            },
        )?;
        Ok(Info {
            players: count("SELECT count(*) FROM player")?,
            rigs: count("SELECT count(*) FROM rig")?,
            sessions: count("SELECT count(*) FROM session")?,
            swings: count("SELECT count(*) FROM swing")?,
            two_feet,
            one_plate,
            failed,
            with_stops,
            with_doubts,
            first_day,
            last_day,
            original_bytes: count("SELECT coalesce(sum(bytes), 0) FROM swing")?,
            stale,
            made_otherwise,
        })
    }
}
