//! One metric of many swings, and what the swings have in common: the ground on which they can be compared.
use crate::error::StudyError;
use crate::list::{STORED, stored};
use crate::recipe::Basis;
use crate::select::{Selection, from};
use crate::study::Study;
use crate::wanted::within;
use rusqlite::{Connection, OptionalExtension as _, params_from_iter};
use serde::Serialize;
use std::collections::BTreeMap;
use swing::metrics::{Metric, catalogue};
use view::study::{Reading, Stored, ValueRow, ValuesView, figure};

/// What chosen swings support, and what all of them have.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Ground {
    /// Swings with both feet on one plate: net accounts only.
    pub one: usize,
    /// Swings with a plate for each foot.
    pub two: usize,
    /// Swings that could not be measured.
    pub nothing: usize,
    /// Ids of the metrics that every one of them has a value of, in the order of the catalogue; swings that could not be
    /// measured left aside.
    pub metrics: Vec<&'static str>,
}

/// How swings stand after they were looked at in a way.
pub(crate) struct Now {
    /// The row of the way.
    pub basis: i64,
    /// Swings measured just now.
    pub measured_now: usize,
    /// Swings that could not be, with the reason.
    pub failed: BTreeMap<i64, String>,
}

impl Study {
    /// What chosen swings have in common, as recorded.
    ///
    /// A metric is left at the first swing that is without it, so that the cost is that of the metrics all have.
    pub fn common_ground(&self, selection: &Selection) -> Result<Ground, StudyError> {
        let (basis, _) = self.usual_basis()?;
        let look = self.read()?;
        let condition = selection.condition(self, basis)?;
        let mut ask = look.prepare(&format!(
            "SELECT w.id, m.feet {} WHERE {} ORDER BY w.id",
            from(basis),
            condition.text
        ))?;
        let mut rows = ask.query(params_from_iter(condition.values.iter()))?;
        let (mut ground, mut measured) = (Ground::default(), Vec::<i64>::new());
        while let Some(row) = rows.next()? {
            match row.get::<_, Option<u8>>(1)? {
                None => ground.nothing += 1,
                Some(feet) => {
                    *(if feet == 2 { &mut ground.two } else { &mut ground.one }) += 1;
                    measured.push(row.get(0)?);
                }
            }
        }
        let list = serde_json::to_string(&measured).map_err(|e| StudyError::Bug(e.to_string()))?;
        let mut lacks = look.prepare(&format!(
            "SELECT EXISTS (SELECT 1 FROM json_each(?2) c LEFT JOIN figure f
             ON f.metric = ?1 AND f.basis = {basis} AND f.swing = c.value WHERE f.value IS NULL)"
        ))?;
        for metric in catalogue().iter().filter(|_| !measured.is_empty()) {
            let number = self.metric_number(&metric.id)?;
            if !lacks.query_row(rusqlite::params![number, list], |r| r.get::<_, bool>(0))? {
                ground.metrics.push(&metric.id);
            }
        }
        Ok(ground)
    }

    /// One metric of the swings chosen, by player, day, session and number; as they are looked at unless another way is
    /// asked for.
    pub fn values_of(
        &self,
        metric: &'static Metric,
        selection: &Selection,
    ) -> Result<ValuesView, StudyError> {
        let (basis, look) = self.usual_basis()?;
        let rows = self.value_rows(metric, selection, basis)?;
        let swings: Vec<i64> = rows.iter().map(|r| r.swing).collect();
        let stale = self.stale_among(basis, Some(&swings), false)?.len();
        Ok(ValuesView::of(metric, Reading { stale, ..reading(&look) }, rows))
    }

    /// The same on another basis: plates put together, or about another point. Swings that have not been looked at in this
    /// way, or with something else, are measured now and kept; `tell` hears how many of how many are done.
    pub fn values_on(
        &self,
        look: &Basis,
        metric: &'static Metric,
        selection: &Selection,
        mut tell: impl FnMut(usize, usize),
    ) -> Result<ValuesView, StudyError> {
        let Now { basis, measured_now, mut failed } = self.looked_at(look, selection, &mut tell)?;
        let mut rows = self.value_rows(metric, selection, basis)?;
        // What was measured before with something else is not what was asked for.
        for row in &mut rows {
            if let Some(why) = failed.remove(&row.swing) {
                row.figure = figure(metric, Stored { absent: Some(why), ..Stored::default() });
            }
        }
        Ok(ValuesView::of(metric, Reading { measured_now, ..reading(look) }, rows))
    }

    /// Measures chosen swings that have not been looked at in a way, or with something else; `tell` hears how many of how many
    /// are done.
    pub(crate) fn looked_at(
        &self,
        look: &Basis,
        selection: &Selection,
        tell: &mut dyn FnMut(usize, usize),
    ) -> Result<Now, StudyError> {
        let basis = self.basis_id(look)?;
        let chosen = self.chosen(selection)?;
        let due = self.stale_among(basis, Some(&chosen), false)?;
        let (mut measured_now, mut failed) = (0, BTreeMap::new());
        if !due.is_empty() {
            let mut done = 0;
            self.measure_again(basis, look, &self.wanted(Some(&due))?, |again| {
                done += 1;
                match again.failed {
                    Some(why) => drop(failed.insert(again.swing, why)),
                    None => measured_now += 1,
                }
                tell(done, due.len());
            })?;
        }
        Ok(Now { basis, measured_now, failed })
    }

    /// Chosen on the usual basis, read on any. The figures of many swings are read in one stretch, as they lie, and joined
    /// here: looking each of them up takes several times as long.
    fn value_rows(
        &self,
        metric: &'static Metric,
        selection: &Selection,
        basis: i64,
    ) -> Result<Vec<ValueRow>, StudyError> {
        let (usual, _) = self.usual_basis()?;
        let look = self.read()?;
        let condition = selection.condition(self, usual)?;
        let mut ask = look.prepare(&format!(
            "SELECT w.id, p.alias, s.id, s.date, w.club, m.feet {} WHERE {}
             ORDER BY p.alias_key, s.date, s.id, w.number",
            from(usual),
            condition.text
        ))?;
        let rows = ask.query_map(params_from_iter(condition.values.iter()), |r| {
            Ok(ValueRow {
                swing: r.get(0)?,
                player: r.get(1)?,
                session: r.get(2)?,
                date: r.get(3)?,
                club: r.get(4)?,
                feet: r.get(5)?,
                figure: figure(metric, Stored::default()),
            })
        })?;
        let mut rows: Vec<ValueRow> = rows.collect::<Result<_, _>>()?;
        let swings: Vec<i64> = rows.iter().map(|r| r.swing).collect();
        let figures = self.column(&look, metric, basis, &swings)?;
        let mut failed = look.prepare("SELECT failed FROM measurement WHERE basis = ?1 AND swing = ?2")?;
        for row in &mut rows {
            let found = figures.binary_search_by_key(&row.swing, |(swing, _)| *swing);
            match found.ok().and_then(|k| figures.get(k)) {
                Some((_, stored)) => row.figure = figure(metric, stored.clone()),
                None => {
                    let why = failed.query_row([basis, row.swing], |r| r.get(0)).optional()?;
                    row.figure.absent = why.flatten();
                }
            }
        }
        Ok(rows)
    }

    /// A metric of swings, by their numbers.
    pub(crate) fn column(
        &self,
        look: &Connection,
        metric: &Metric,
        basis: i64,
        swings: &[i64],
    ) -> Result<Vec<(i64, Stored)>, StudyError> {
        /// A stretch is read whole where at least one in so many of its swings is wanted.
        const ONE_IN: i64 = 3;
        let number = self.metric_number(&metric.id)?;
        let (first, last) = (swings.iter().min().unwrap_or(&0), swings.iter().max().unwrap_or(&0));
        let these = if (last - first) / ONE_IN < swings.len() as i64 {
            format!("WHERE f.swing BETWEEN {first} AND {last}")
        } else {
            within("f.swing", Some(swings))
        };
        let mut ask = look.prepare(&format!(
            "SELECT f.swing, {STORED} FROM figure f {these} AND f.metric = {number} AND f.basis = {basis} ORDER BY f.swing"
        ))?;
        let rows = ask.query_map([], |r| Ok((r.get(0)?, stored(r, 1)?)))?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}

fn reading(look: &Basis) -> Reading {
    Reading {
        about: look.about.to_string(),
        collapse: look.collapse,
        point: view::words::about(&look.about),
        ..Reading::default()
    }
}
