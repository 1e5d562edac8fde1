//! Measuring again what a change has made out of date, and saying exactly what came out otherwise.
use crate::error::StudyError;
use crate::keep;
use crate::log::{About, note};
use crate::recipe::{Basis, Mark};
use crate::store::{Kept, put_in, series_of};
use crate::study::Study;
use crate::wanted::Wanted;
use rayon::prelude::*;
use rusqlite::params;
use serde::Serialize;
use std::collections::BTreeMap;
use swing::events::{Name, name_of};
use swing::metrics::catalogue;

/// A swing that was measured again.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Again {
    /// The swing.
    pub swing: i64,
    /// Figures that came out otherwise, in the order of the catalogue.
    pub changed: Vec<Changed>,
    /// Figures that came out the same.
    pub same: usize,
    /// Why it could not be measured; what was there before stays.
    pub failed: Option<String>,
}

/// A figure that came out otherwise.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Changed {
    /// Metric.
    pub metric: &'static str,
    /// Its name for people.
    pub label: &'static str,
    /// SI unit.
    pub unit: &'static str,
    /// Before; `None`: absent.
    pub before: Option<f64>,
    /// After.
    pub after: Option<f64>,
}

/// Values and standard uncertainties by metric.
type Values = BTreeMap<String, (Option<f64>, Option<f64>)>;

impl Study {
    /// Values and standard uncertainties of a swing on a basis, by metric.
    fn values(&self, basis: i64, swing: i64) -> Result<Values, StudyError> {
        let mut ask = self.db.prepare_cached(
            "SELECT m.name, f.value, f.u FROM metric m JOIN figure f ON f.metric = m.id AND f.basis = ?1 AND f.swing = ?2",
        )?;
        let rows = ask.query_map(params![basis, swing], |r| Ok((r.get(0)?, (r.get(1)?, r.get(2)?))))?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// What is different between what is kept of a swing and what was made of it just now.
    fn compare(&self, basis: i64, kept: &Kept) -> Result<Again, StudyError> {
        let swing = kept.wanted.swing;
        let before = self.values(basis, swing)?;
        let mut again = Again { swing, changed: Vec::new(), same: 0, failed: kept.made.failed.clone() };
        for (k, metric) in catalogue().iter().enumerate() {
            let was = before.get(&metric.id).copied().unwrap_or((None, None));
            let is = kept.made.figures.get(k).map_or((None, None), |f| (f.value, f.u));
            if was == is {
                again.same += 1;
            } else {
                let unit = metric.unit.symbol();
                let (before, after) = (was.0, is.0);
                again.changed.push(Changed { metric: &metric.id, label: &metric.label, unit, before, after });
            }
        }
        Ok(again)
    }

    /// Measures swings again and keeps the results, some in one change. `tell` hears of each once it is kept.
    pub fn measure_again(
        &self,
        basis: i64,
        look: &Basis,
        swings: &[Wanted],
        mut tell: impl FnMut(Again),
    ) -> Result<(), StudyError> {
        let series = self.settings.series && !look.collapse;
        let root = self.root.as_path();
        for hand in swings.chunks(16 * rayon::current_num_threads()) {
            let made: Vec<_> =
                hand.par_iter().with_max_len(1).map(|w| w.measure(root, look, series)).collect();
            let mut kept = Vec::with_capacity(hand.len());
            let mut told = Vec::with_capacity(hand.len());
            for (wanted, made) in hand.iter().zip(made) {
                match made {
                    Ok(made) => {
                        let one = Kept { wanted: wanted.clone(), made };
                        told.push(self.compare(basis, &one)?);
                        kept.push(one);
                    }
                    Err(why) => {
                        let swing = wanted.swing;
                        told.push(Again { swing, changed: Vec::new(), same: 0, failed: Some(why) });
                    }
                }
            }
            self.keep_results(basis, &kept)?;
            told.into_iter().for_each(&mut tell);
        }
        Ok(())
    }

    /// Measures again, on every basis that is in use, exactly what is out of date. Gives what came out otherwise on the usual basis.
    pub fn catch_up(&self, methods: bool) -> Result<Vec<Again>, StudyError> {
        let (usual, _) = self.usual_basis()?;
        let mut told = Vec::new();
        for (id, basis) in self.bases()? {
            let mut stale = self.stale(id, methods)?;
            if id != usual {
                // Other ways to look are measured when they are asked for; here only what they have is kept true.
                let mut ask = self.db.prepare("SELECT swing FROM measurement WHERE basis = ?1")?;
                let there: std::collections::BTreeSet<i64> =
                    ask.query_map([id], |r| r.get(0))?.collect::<Result<_, _>>()?;
                stale.retain(|w| there.contains(&w.swing));
            }
            self.measure_again(id, &basis, &stale, |again| {
                if id == usual {
                    told.push(again);
                }
            })?;
        }
        Ok(told)
    }

    /// Places an event by hand, or takes it back (`None`): the mark, the new measurement and the log in one change.
    ///
    /// Errors: a word that is no event, a time outside the recording, an order that cannot be.
    pub fn mark(
        &self,
        swing: i64,
        event: &str,
        place: Option<(f64, Option<f64>)>,
    ) -> Result<Again, StudyError> {
        let Some(name) = name_of(event) else {
            let why = format!("\"{event}\" is no event: address, takeaway, top, impact or finish");
            return Err(StudyError::Refused(why));
        };
        let (basis, look) = self.usual_basis()?;
        let found = self.wanted(Some(&[swing]))?.into_iter().next();
        let mut wanted = found.ok_or_else(|| StudyError::unknown("swing", swing.to_string()))?;
        let before = wanted.recipe.marks.clone();
        wanted.recipe.marks.retain(|m| m.event != name.name());
        if let Some((time_s, u_s)) = place {
            self.inside(basis, swing, time_s)?;
            wanted.recipe.marks.push(Mark { event: name.name().to_string(), time_s, u_s });
        }
        wanted.recipe.marks.sort_by(|a, b| a.time_s.total_cmp(&b.time_s).then_with(|| a.event.cmp(&b.event)));
        in_order(&wanted.recipe.marks)?;
        let series = self.settings.series;
        let made = wanted.measure(&self.root, &look, series).map_err(StudyError::Refused)?;
        let kept = Kept { wanted, made };
        let again = self.compare(basis, &kept)?;

        let placing = self.placing()?;
        if let Some((name, bytes)) = series_of(&kept)? {
            let place = keep::derived(&name);
            keep::put(&self.root, &place, bytes, false)?;
            keep::settle(&self.root, &[place])?;
        }
        let change = self.write()?;
        if self.marks_of(Some(&[swing]))?.remove(&swing).unwrap_or_default() != before {
            return Err(StudyError::Refused(
                "another program has just moved an event of this swing; look again".into(),
            ));
        }
        match place {
            Some((time_s, u_s)) => change.execute(
                "INSERT INTO mark VALUES (?1, ?2, ?3, ?4)
                 ON CONFLICT (swing, event) DO UPDATE SET time_s = excluded.time_s, u_s = excluded.u_s",
                params![swing, name.name(), time_s, u_s],
            )?,
            None => change
                .execute("DELETE FROM mark WHERE swing = ?1 AND event = ?2", params![swing, name.name()])?,
        };
        put_in(&change, basis, std::slice::from_ref(&kept))?;
        let player: i64 =
            change
                .query_row("SELECT player FROM session WHERE id = ?1", [kept.wanted.session], |r| r.get(0))?;
        let about = About { player: Some(player), session: Some(kept.wanted.session), swing: Some(swing) };
        let text = |marks: &[Mark]| serde_json::to_string(marks).map_err(|e| StudyError::Bug(e.to_string()));
        note(&change, "event set", about, Some(&text(&before)?), Some(&text(&kept.wanted.recipe.marks)?))?;
        change.commit()?;
        drop(placing);
        self.finish_removals()?;
        Ok(again)
    }

    fn inside(&self, basis: i64, swing: i64, time_s: f64) -> Result<(), StudyError> {
        let ask = "SELECT start_s, samples / rate_hz FROM measurement WHERE basis = ?1 AND swing = ?2";
        let (start_s, lasts_s): (Option<f64>, Option<f64>) =
            self.db.query_row(ask, params![basis, swing], |r| Ok((r.get(0)?, r.get(1)?)))?;
        let (Some(from), Some(lasts)) = (start_s, lasts_s) else {
            return Err(StudyError::Refused(
                "this swing could not be measured: it has no accounts to place an event in".into(),
            ));
        };
        if (from..=from + lasts).contains(&time_s) {
            return Ok(());
        }
        Err(StudyError::Refused(format!(
            "{time_s} s is outside the recording, which runs from {from:.3} to {:.3} s",
            from + lasts
        )))
    }
}

fn in_order(marks: &[Mark]) -> Result<(), StudyError> {
    let named: Vec<(Name, f64)> = marks.iter().filter_map(|m| Some((name_of(&m.event)?, m.time_s))).collect();
    for [a, b] in named.array_windows() {
        if a.0 >= b.0 || a.1 >= b.1 {
            let why = format!("{} would come before {}", a.0.name(), b.0.name());
            return Err(StudyError::Refused(format!(
                "{why}; the order is address, takeaway, top, impact, finish"
            )));
        }
    }
    Ok(())
}
