//! Curves: one quantity of chosen swings over their whole recordings, analysed anew from the originals.
use super::table::Reasons;
use super::{Looking, Tell};
use crate::error::StudyError;
use crate::export::analysed::analysed;
use crate::select::Selection;
use crate::study::Study;
use rayon::prelude::*;
use rusqlite::params;
use swing::Swing;
use view::Convention;
use view::claim::table::{Account, Reading, Trace, Traces, reading};

/// The events of a swing, in the order in which a trace holds them.
const EVENTS: [&str; 5] = ["address", "takeaway", "top", "impact", "finish"];

impl Study {
    /// Curves of chosen swings. Events are those of the usual measurement: they do not depend on the way to look.
    ///
    /// Swings that have no such quantity are left out, with the reason.
    pub fn traces(
        &self,
        selection: &Selection,
        account: Account,
        looking: &Looking,
        tell: &mut Tell<'_>,
    ) -> Result<Traces, StudyError> {
        let (usual, _) = self.usual_basis()?;
        let look = self.read()?;
        let rows = self.rows(&look, selection, usual)?;
        let numbers: Vec<i64> = rows.iter().map(|(swing, _)| swing.swing).collect();
        let stale = self.stale_among(usual, Some(&numbers), false)?.len();
        let wanted = if numbers.is_empty() { Vec::new() } else { self.wanted(Some(&numbers))? };
        let mut events =
            look.prepare("SELECT event, time_s, source FROM event WHERE basis = ?1 AND swing = ?2")?;
        let (mut swings, mut traces, mut absent) = (Vec::new(), Vec::new(), Reasons::default());
        let how = reading(account.unit, looking.scale);
        let root = self.root.as_path();
        let mut done = 0;
        for hand in rows.chunks(16 * rayon::current_num_threads()) {
            let worked: Vec<Result<Trace, String>> = hand
                .par_iter()
                .with_max_len(1)
                .map(|(of, weight_n)| {
                    let place = wanted.binary_search_by_key(&of.swing, |w| w.swing).ok();
                    let wanted = place.and_then(|k| wanted.get(k)).ok_or("it is no longer in the study")?;
                    let (_, swing) = analysed(root, wanted, &looking.basis)?;
                    trace(&swing, account, how, *weight_n)
                })
                .collect();
            for ((of, _), worked) in hand.iter().zip(worked) {
                done += 1;
                tell(done, rows.len());
                match worked {
                    Err(why) => absent.add(&why),
                    Ok(mut trace) => {
                        let mut found = events.query(params![usual, of.swing])?;
                        while let Some(row) = found.next()? {
                            let (event, time_s, source): (String, f64, String) =
                                (row.get(0)?, row.get(1)?, row.get(2)?);
                            let place = EVENTS.iter().position(|e| *e == event);
                            if let Some((at, estimate)) = place
                                .and_then(|k| Some((trace.events_s.get_mut(k)?, trace.estimated.get_mut(k)?)))
                            {
                                *at = time_s;
                                *estimate = source == swing::events::Source::Estimate.name();
                            }
                        }
                        swings.push(of.clone());
                        traces.push(trace);
                    }
                }
            }
        }
        Ok(Traces {
            named: selection.words(),
            account,
            unit: how.unit.to_string(),
            swings,
            traces,
            absent: absent.told(),
            stale,
            point: view::words::about(&looking.basis.about),
            collapse: looking.basis.collapse,
        })
    }
}

/// The quantity of a swing, without its events.
fn trace(swing: &Swing, account: Account, how: Reading, weight_n: Option<f64>) -> Result<Trace, String> {
    if account.two_feet && swing.series.feet.is_none() {
        return Err("it needs a plate for each foot".into());
    }
    let columns = view::series::columns(swing, Convention::USUAL);
    let column = columns.into_iter().find(|c| c.name == account.column);
    let mut values = column.ok_or_else(|| format!("there is no series {}", account.column))?.values;
    let factor = if how.by_weight {
        let weight_n = weight_n.filter(|w| *w > 0.0).ok_or("no body weight is known")?;
        how.factor / weight_n
    } else {
        how.factor
    };
    values.iter_mut().for_each(|v| *v *= factor);
    Ok(Trace {
        rate_hz: swing.rate_hz,
        start_s: swing.start_s,
        values,
        events_s: [f64::NAN; 5],
        estimated: [false; 5],
    })
}
