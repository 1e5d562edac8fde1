//! Swings as rows, what was measured of them as columns.
use super::{Ask, Looking, Tell};
use crate::error::StudyError;
use crate::select::Selection;
use crate::study::{Look, Study};
use crate::values::Now;
use std::collections::BTreeMap;
use swing::metrics::Metric;
use view::claim::LeftOut;
use view::claim::table::{Column, Measure, Reading, Scale, SwingOf, Table, reading};
use view::quantity::count;
use view::study::Stored;

impl Study {
    /// A table of chosen swings. Swings that have not been looked at in the way asked for are measured now, and kept.
    pub fn table(
        &self,
        selection: &Selection,
        asked: &[Ask],
        looking: &Looking,
        tell: &mut Tell<'_>,
    ) -> Result<Table, StudyError> {
        let (usual, look) = self.usual_basis()?;
        let now = if looking.basis == look {
            Now { basis: usual, measured_now: 0, failed: BTreeMap::new() }
        } else {
            self.looked_at(&looking.basis, selection, tell)?
        };
        let look = self.read()?;
        let swings: Vec<SwingOf> =
            self.rows(&look, selection, now.basis)?.into_iter().map(|(swing, _)| swing).collect();
        let numbers: Vec<i64> = swings.iter().map(|s| s.swing).collect();
        let stale = self.stale_among(now.basis, Some(&numbers), false)?.len();
        let mut columns = Vec::with_capacity(asked.len());
        for ask in asked {
            columns.push(match ask {
                Ask::Metric(metric) => self.measured(&look, metric, &numbers, &now, looking.scale)?,
                Ask::Outcome(name) => self.outcome(&look, name, &numbers)?,
            });
        }
        Ok(Table {
            named: selection.words(),
            swings,
            columns,
            stale,
            point: view::words::about(&looking.basis.about),
            collapse: looking.basis.collapse,
        })
    }

    fn measured(
        &self,
        look: &Look<'_>,
        metric: &'static Metric,
        swings: &[i64],
        now: &Now,
        scale: Scale,
    ) -> Result<Column, StudyError> {
        let found = self.column(look, metric, now.basis, swings)?;
        let how = reading(metric.unit, scale);
        let (mut values, mut u) = (Vec::with_capacity(swings.len()), Vec::with_capacity(swings.len()));
        let (mut absent, mut doubted, mut estimated) = (Reasons::default(), 0, 0);
        for swing in swings {
            let stored = found.binary_search_by_key(swing, |(s, _)| *s).ok().and_then(|k| found.get(k));
            let failed = now.failed.get(swing);
            let (value, sure) = match stored.filter(|_| failed.is_none()) {
                Some((_, stored)) => {
                    let (value, sure) = read(stored, how);
                    if value.is_nan() {
                        let no_weight = stored.value.is_some().then_some("no body weight is known");
                        absent
                            .add(stored.absent.as_deref().or(no_weight).unwrap_or("it is not defined there"));
                    } else {
                        doubted += usize::from(!stored.touched_by.is_empty());
                        estimated += usize::from(stored.estimated);
                    }
                    (value, sure)
                }
                None => {
                    absent.add(failed.map_or("the recording could not be measured", String::as_str));
                    (f64::NAN, f64::NAN)
                }
            };
            values.push(value);
            u.push(sure);
        }
        let measure = Measure {
            id: metric.id.clone(),
            label: metric.label.clone(),
            unit: how.unit.to_string(),
            decimals: how.decimals,
            signed: !metric.sign.is_empty(),
            metric: Some(metric),
        };
        Ok(Column { measure, values, u, absent: absent.told(), doubted, estimated })
    }

    fn outcome(&self, look: &Look<'_>, name: &str, swings: &[i64]) -> Result<Column, StudyError> {
        let mut ask = look.prepare("SELECT value, unit FROM outcome WHERE swing = ?1 AND name = ?2")?;
        let (mut values, mut absent, mut unit) =
            (Vec::with_capacity(swings.len()), Reasons::default(), String::new());
        for swing in swings {
            use rusqlite::OptionalExtension as _;
            let found: Option<(f64, String)> =
                ask.query_row(rusqlite::params![swing, name], |r| Ok((r.get(0)?, r.get(1)?))).optional()?;
            match found {
                Some((value, its)) => {
                    values.push(value);
                    unit = its;
                }
                None => {
                    values.push(f64::NAN);
                    absent.add("no such outcome was given");
                }
            }
        }
        let unit = if unit == "1" { String::new() } else { unit };
        let measure = Measure {
            id: Ask::Outcome(name.to_string()).id(),
            label: name.replace('-', " "),
            unit,
            decimals: 2,
            signed: false,
            metric: None,
        };
        let u = vec![f64::NAN; values.len()];
        Ok(Column { measure, values, u, absent: absent.told(), doubted: 0, estimated: 0 })
    }
}

/// A stored figure as it is read, with its standard uncertainty.
fn read(stored: &Stored, how: Reading) -> (f64, f64) {
    let (value, u) = if how.by_weight {
        stored.by_weight.map_or((f64::NAN, f64::NAN), |both| both)
    } else {
        (stored.value.unwrap_or(f64::NAN), stored.u.unwrap_or(f64::NAN))
    };
    (how.factor * value, how.factor * u)
}

/// Reasons and how often each was given.
#[derive(Default)]
pub(super) struct Reasons(BTreeMap<String, usize>);

impl Reasons {
    pub(super) fn add(&mut self, why: &str) {
        *self.0.entry(why.to_string()).or_default() += 1;
    }

    /// The most common first.
    pub(super) fn told(self) -> Vec<LeftOut> {
        let mut all: Vec<(String, usize)> = self.0.into_iter().collect();
        all.sort_by_key(|(_, n)| std::cmp::Reverse(*n));
        all.into_iter().map(|(why, n)| LeftOut { what: count(n, "swing"), why }).collect()
    }
}
