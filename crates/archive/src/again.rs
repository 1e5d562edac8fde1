//! Measuring again what a change has made out of date, and saying exactly what came out otherwise.
use crate::error::StudyError;
use crate::log::{About, Change, note};
use crate::recipe::{Basis, Mark, Recipe};
use crate::store::{Kept, place_series, put_in};
use crate::study::Study;
use crate::wanted::Wanted;
use rayon::prelude::*;
use rusqlite::{Connection, OptionalExtension as _, params};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use swing::events::{Name, name_of};
use swing::metrics::catalogue;

/// Says, in the change that makes swings out of date, that they are: what a crash leaves is finished later.
pub(crate) fn behind(change: &Connection) -> Result<(), StudyError> {
    change.execute("INSERT OR IGNORE INTO pending VALUES ('catch-up')", [])?;
    Ok(())
}

/// A swing that was measured again.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Again {
    /// The swing.
    pub swing: i64,
    /// Figures that came out otherwise, in the order of the catalogue.
    pub changed: Vec<Changed>,
    /// Figures that came out the same.
    pub same: usize,
    /// Why it could not be measured. It has no figures then, but for an [`unread`](Self::unread) one.
    pub failed: Option<String>,
    /// True where its original is gone or damaged: what was measured of it before stays, and stays out of date.
    pub unread: bool,
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
    /// Its standard uncertainty.
    pub u_before: Option<f64>,
    /// After.
    pub after: Option<f64>,
    /// Its standard uncertainty.
    pub u_after: Option<f64>,
}

impl Changed {
    /// True where the value itself is another: it came or went, or moved by more than a thousandth of its uncertainty. Otherwise
    /// only the uncertainty changed, or the last digits.
    pub fn moved(&self) -> bool {
        let u = self.u_before.unwrap_or(0.0).max(self.u_after.unwrap_or(0.0));
        match (self.before, self.after) {
            (Some(a), Some(b)) => (a - b).abs() > 1e-3 * u,
            _ => self.before.is_some() != self.after.is_some(),
        }
    }
}

/// Where an event is placed by hand: s of the recording, and how closely (a standard uncertainty, s; `None`: the usual). `None`: it is
/// taken back.
pub type Place = Option<(f64, Option<f64>)>;

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
        let failed = kept.made.failed.clone();
        let mut again = Again { swing, changed: Vec::new(), same: 0, failed, unread: false };
        for (k, metric) in catalogue().iter().enumerate() {
            let was = before.get(&metric.id).copied().unwrap_or((None, None));
            let is = kept.made.figures.get(k).map_or((None, None), |f| (f.value, f.u));
            if was == is {
                again.same += 1;
            } else {
                let unit = metric.unit.symbol();
                let ((before, u_before), (after, u_after)) = (was, is);
                let (metric, label) = (metric.id.as_str(), metric.label.as_str());
                again.changed.push(Changed { metric, label, unit, before, u_before, after, u_after });
            }
        }
        Ok(again)
    }

    /// Measures swings again and keeps the results, some in one change. `tell` hears of each once it is kept; not of one that
    /// another program has meanwhile deleted, or made to be measured with something else.
    ///
    /// One that cannot be measured with what is stated now (a rig that does not fit it) has a result that says so, without
    /// figures: those of before were of something else. Where the original itself cannot be read, they stay.
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
            let (mut told, mut unread) = (Vec::with_capacity(hand.len()), Vec::new());
            for (wanted, made) in hand.iter().zip(made) {
                match made {
                    Ok(made) => {
                        let one = Kept { wanted: wanted.clone(), basis: look.clone(), made };
                        told.push(self.compare(basis, &one)?);
                        kept.push(one);
                    }
                    Err(why) => {
                        let swing = wanted.swing;
                        unread.push(swing);
                        let failed = Some(why);
                        told.push(Again { swing, changed: Vec::new(), same: 0, failed, unread: true });
                    }
                }
            }
            let kept = self.keep_results(basis, kept)?;
            told.retain(|a| unread.contains(&a.swing) || kept.contains(&a.swing));
            told.into_iter().for_each(&mut tell);
        }
        Ok(())
    }

    /// Measures again what is out of date as swings are usually looked at, and gives what came out. In other ways they are
    /// measured again when they are asked for: [`values_on`](Self::values_on).
    pub fn catch_up(&self, methods: bool) -> Result<Vec<Again>, StudyError> {
        let (basis, look) = self.usual_basis()?;
        let mut told = Vec::new();
        let mut tried = BTreeSet::new();
        // What another program has changed meanwhile is looked at once more.
        loop {
            let mut stale = self.stale(basis, methods)?;
            stale.retain(|w| !tried.contains(&w.swing));
            if stale.is_empty() {
                break;
            }
            self.measure_again(basis, &look, &stale, |again| {
                tried.insert(again.swing);
                told.push(again);
            })?;
        }
        self.caught_up(&tried)?;
        Ok(told)
    }

    /// Takes down the mark that something is out of date, unless something is that was not tried.
    fn caught_up(&self, tried: &BTreeSet<i64>) -> Result<(), StudyError> {
        if !self.is_behind()? {
            return Ok(());
        }
        let change = self.write()?;
        let (basis, _) = self.usual_basis()?;
        if self.stale(basis, false)?.iter().any(|w| !tried.contains(&w.swing)) {
            return Ok(());
        }
        change.execute("DELETE FROM pending WHERE what = 'catch-up'", [])?;
        Ok(change.commit()?)
    }

    /// Whether a change has made swings out of date that are not measured again yet.
    pub fn is_behind(&self) -> Result<bool, StudyError> {
        Ok(self.db.prepare_cached("SELECT 1 FROM pending WHERE what = 'catch-up'")?.exists([])?)
    }

    /// Finishes what an edit has begun whose program ended before everything that depends on it was measured again: where that
    /// is little, since a study is to open quickly.
    pub(crate) fn finish_little(&self) -> Result<(), StudyError> {
        const LITTLE: usize = 200;
        if !self.is_behind()? {
            return Ok(());
        }
        let (basis, _) = self.usual_basis()?;
        if self.stale_among(basis, None, false)?.len() <= LITTLE {
            self.catch_up(false)?;
        }
        Ok(())
    }

    /// Places an event by hand, or takes it back (`None`): the mark, the new measurement and the log in one change.
    ///
    /// Errors: a word that is no event, a time outside the recording, an order that cannot be.
    pub fn mark(&self, swing: i64, event: &str, place: Place) -> Result<Again, StudyError> {
        self.mark_all(swing, &[(event, place)])
    }

    /// The same for several events at once, so that two can be moved past where the other was.
    pub fn mark_all(&self, swing: i64, places: &[(&str, Place)]) -> Result<Again, StudyError> {
        let mut marks = self.marks_of(Some(&[swing]))?.remove(&swing).unwrap_or_default();
        let before = marks.clone();
        for (event, place) in places {
            let Some(name) = name_of(event) else {
                let why = format!("\"{event}\" is no event: address, takeaway, top, impact or finish");
                return Err(StudyError::Refused(why));
            };
            marks.retain(|m| m.event != name.name());
            if let Some((time_s, u_s)) = *place {
                self.inside(swing, time_s)?;
                marks.push(Mark { event: name.name().to_string(), time_s, u_s });
            }
        }
        self.set_marks(swing, "event set", &before, marks)
    }

    /// Takes back the last change of a swing's marks that has not been taken back; `None` where there is none.
    pub fn undo_mark(&self, swing: i64) -> Result<Option<Again>, StudyError> {
        let mut done: Vec<Change> = Vec::new();
        for change in self.changes_of_swing(swing)? {
            match change.what.as_str() {
                "event set" => done.push(change),
                "event set undone" => drop(done.pop()),
                _ => {}
            }
        }
        let Some(last) = done.pop() else { return Ok(None) };
        let read = |text: Option<String>| -> Result<Vec<Mark>, StudyError> {
            serde_json::from_str(text.as_deref().unwrap_or("[]"))
                .map_err(|e| StudyError::Damaged(e.to_string()))
        };
        let before = self.marks_of(Some(&[swing]))?.remove(&swing).unwrap_or_default();
        self.set_marks(swing, "event set undone", &before, read(last.before)?).map(Some)
    }

    /// The marks of a swing as they are to be, its new measurement and the row of the log: one change. `before`: the marks
    /// this was decided on; where another program has moved one since, nothing is done.
    fn set_marks(
        &self,
        swing: i64,
        what: &str,
        before: &[Mark],
        mut marks: Vec<Mark>,
    ) -> Result<Again, StudyError> {
        let (basis, look) = self.usual_basis()?;
        let found = self.wanted(Some(&[swing]))?.into_iter().next();
        let mut wanted = found.ok_or_else(|| StudyError::unknown("swing", swing.to_string()))?;
        marks.sort_by(|a, b| a.time_s.total_cmp(&b.time_s).then_with(|| a.event.cmp(&b.event)));
        in_order(&marks)?;
        if marks == wanted.recipe.marks {
            // That is how it is already: nothing is measured, and nothing is logged.
            let same = catalogue().len();
            return Ok(Again { swing, changed: Vec::new(), same, failed: None, unread: false });
        }
        wanted.recipe.marks = marks;
        let made = wanted.measure(&self.root, &look, self.settings.series).map_err(StudyError::Refused)?;
        let kept = Kept { wanted, basis: look, made };
        let again = self.compare(basis, &kept)?;

        let placing = self.placing()?;
        place_series(&self.root, std::slice::from_ref(&kept))?;
        let change = self.write()?;
        if self.marks_of(Some(&[swing]))?.remove(&swing).unwrap_or_default() != before {
            let why = "another program has just moved an event of this swing; look again";
            return Err(StudyError::Refused(why.into()));
        }
        let marks = kept.wanted.recipe.marks.clone();
        let with_marks =
            |w: Wanted| Wanted { recipe: Recipe { marks: marks.clone(), ..w.recipe.clone() }, ..w };
        let now = self.wanted(Some(&[swing]))?.into_iter().next().map(with_marks);
        if !now.is_some_and(|now| now.same(&kept.wanted)) {
            let why = "another program has just changed what this swing is measured with; try again";
            return Err(StudyError::Refused(why.into()));
        }
        change.execute("DELETE FROM mark WHERE swing = ?1", [swing])?;
        for m in &kept.wanted.recipe.marks {
            let row = params![swing, m.event, m.time_s, m.u_s];
            change.execute("INSERT INTO mark VALUES (?1, ?2, ?3, ?4)", row)?;
        }
        put_in(&change, basis, std::slice::from_ref(&kept))?;
        let session = kept.wanted.session;
        let player: i64 =
            change.query_row("SELECT player FROM session WHERE id = ?1", [session], |r| r.get(0))?;
        let about = About { player: Some(player), session: Some(session), swing: Some(swing) };
        let text = |marks: &[Mark]| serde_json::to_string(marks).map_err(|e| StudyError::Bug(e.to_string()));
        note(&change, what, about, Some(&text(before)?), Some(&text(&kept.wanted.recipe.marks)?))?;
        change.commit()?;
        drop(placing);
        self.finish_removals()?;
        Ok(again)
    }

    fn inside(&self, swing: i64, time_s: f64) -> Result<(), StudyError> {
        let (basis, _) = self.usual_basis()?;
        let ask = "SELECT start_s, samples / rate_hz FROM measurement WHERE basis = ?1 AND swing = ?2";
        let found: Option<(Option<f64>, Option<f64>)> =
            self.db.query_row(ask, params![basis, swing], |r| Ok((r.get(0)?, r.get(1)?))).optional()?;
        let (start_s, lasts_s) = found.ok_or_else(|| StudyError::unknown("swing", swing.to_string()))?;
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

/// An event as it is kept.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EventKept {
    /// "address", "takeaway", "top", "impact" or "finish".
    pub event: String,
    /// s of the recording.
    pub time_s: f64,
    /// Standard uncertainty, s.
    pub u_s: f64,
    /// Where it comes from.
    pub source: String,
    /// Method and version.
    pub method: String,
    /// What it was seen by.
    pub seen: String,
}

impl Study {
    /// The chosen events of a swing as usually looked at, in order of time.
    pub fn events_of(&self, swing: i64) -> Result<Vec<EventKept>, StudyError> {
        let (basis, _) = self.usual_basis()?;
        if self.wanted(Some(&[swing]))?.is_empty() {
            return Err(StudyError::unknown("swing", swing.to_string()));
        }
        let mut ask = self.db.prepare_cached(
            "SELECT event, time_s, u_s, source, method, seen FROM event WHERE basis = ?1 AND swing = ?2
             ORDER BY time_s, event",
        )?;
        let rows = ask.query_map(params![basis, swing], |r| {
            Ok(EventKept {
                event: r.get(0)?,
                time_s: r.get(1)?,
                u_s: r.get(2)?,
                source: r.get(3)?,
                method: r.get(4)?,
                seen: r.get(5)?,
            })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
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
