//! Outcomes into the catalogue and out of it.
use super::{Given, Outcome, Replaced, Written};
use crate::error::StudyError;
use crate::log::{About, note};
use crate::study::Study;
use crate::wanted::within;
use rusqlite::{OptionalExtension as _, params};
use std::collections::{BTreeMap, BTreeSet};

impl Study {
    /// Writes outcomes of swings, in one change; a row of the log for every player they are of. What was there under the same
    /// name is replaced, and told.
    ///
    /// Errors: a swing that is not in the study.
    pub fn put_outcomes(&self, source: &str, rows: &[(i64, Vec<Given>)]) -> Result<Written, StudyError> {
        let mut written = Written::default();
        let mut of_player: BTreeMap<i64, BTreeSet<i64>> = BTreeMap::new();
        let change = self.write()?;
        for (swing, given) in rows.iter().filter(|(_, given)| !given.is_empty()) {
            let player: Option<i64> = change
                .prepare_cached(
                    "SELECT s.player FROM swing w JOIN session s ON s.id = w.session WHERE w.id = ?1",
                )?
                .query_row([swing], |r| r.get(0))
                .optional()?;
            let player = player.ok_or_else(|| StudyError::unknown("swing", swing.to_string()))?;
            of_player.entry(player).or_default().insert(*swing);
            for one in given {
                let before: Option<(f64, String)> = change
                    .prepare_cached("SELECT value, given FROM outcome WHERE swing = ?1 AND name = ?2")?
                    .query_row(params![swing, one.name], |r| Ok((r.get(0)?, r.get(1)?)))
                    .optional()?;
                match before {
                    None => written.new += 1,
                    Some((value, _)) if value == one.value => written.same += 1,
                    Some((_, before)) => written.replaced.push(Replaced {
                        swing: *swing,
                        name: one.name.clone(),
                        before,
                        after: one.given.clone(),
                    }),
                }
                change
                    .prepare_cached("INSERT OR REPLACE INTO outcome VALUES (?1, ?2, ?3, ?4, ?5, ?6)")?
                    .execute(params![swing, one.name, one.value, one.unit, one.given, source])?;
            }
        }
        written.swings = of_player.values().map(BTreeSet::len).sum();
        for (player, swings) in &of_player {
            let of_them: Vec<&Replaced> =
                written.replaced.iter().filter(|r| swings.contains(&r.swing)).collect();
            let text = |value: serde_json::Value| value.to_string();
            let before = (!of_them.is_empty()).then(|| text(serde_json::json!(of_them)));
            let after = text(serde_json::json!({ "source": source, "swings": swings }));
            let about = About { player: Some(*player), ..About::default() };
            note(&change, "outcomes written", about, before.as_deref(), Some(&after))?;
        }
        change.commit()?;
        Ok(written)
    }

    /// Outcomes of swings, by swing and name.
    pub fn outcomes_of(&self, swings: &[i64]) -> Result<Vec<Outcome>, StudyError> {
        let ask = format!(
            "SELECT swing, name, value, unit, given, source FROM outcome {} ORDER BY swing, name",
            within("swing", Some(swings))
        );
        let mut ask = self.db.prepare(&ask)?;
        let rows = ask.query_map([], |r| {
            Ok(Outcome {
                swing: r.get(0)?,
                name: r.get(1)?,
                value: r.get(2)?,
                unit: r.get(3)?,
                given: r.get(4)?,
                source: r.get(5)?,
            })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}
