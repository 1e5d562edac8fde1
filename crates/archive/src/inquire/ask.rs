//! What is asked for: metrics of the catalogue, and outcomes that other instruments gave.
use crate::condition::metric_called;
use crate::error::StudyError;
use crate::people::near;
use crate::study::Study;
use swing::metrics::{Metric, catalogue};

/// A column that is asked for.
#[derive(Clone, Debug, PartialEq)]
pub enum Ask {
    /// A metric.
    Metric(&'static Metric),
    /// An outcome, by the name under which it is kept ("clubhead-speed").
    Outcome(String),
}

/// How an outcome is asked for.
pub const OUTCOME: &str = "outcome.";

impl Ask {
    /// "up.net.most", "outcome.clubhead-speed".
    pub fn id(&self) -> String {
        match self {
            Self::Metric(metric) => metric.id.clone(),
            Self::Outcome(name) => format!("{OUTCOME}{name}"),
        }
    }
}

/// Metrics by their ids, all that begin alike ("up.lead.*"), and outcomes ("outcome.clubhead-speed"), each once, in the order
/// in which they are named.
///
/// Errors: a metric that is not in the catalogue, or an outcome that no swing of the study has, with the nearest.
pub fn asked(study: &Study, words: &[String]) -> Result<Vec<Ask>, StudyError> {
    let mut all: Vec<Ask> = Vec::new();
    let mut add = |ask: Ask| {
        if !all.contains(&ask) {
            all.push(ask);
        }
    };
    for word in words.iter().map(|w| w.trim()).filter(|w| !w.is_empty()) {
        if let Some(name) = word.strip_prefix(OUTCOME) {
            let known = study.outcome_names()?;
            let found = known.iter().find(|k| k.eq_ignore_ascii_case(name));
            let found = found.ok_or_else(|| near("outcome", name, known.iter().map(String::as_str)))?;
            add(Ask::Outcome(found.clone()));
        } else if let Some(start) = word.strip_suffix('*') {
            let start = start.to_lowercase();
            let found: Vec<&'static Metric> =
                catalogue().iter().filter(|m| m.id.starts_with(&start)).collect();
            if found.is_empty() {
                return Err(near("metric", &start, catalogue().iter().map(|m| m.id.as_str())));
            }
            found.into_iter().for_each(|m| add(Ask::Metric(m)));
        } else {
            add(Ask::Metric(metric_called(word)?));
        }
    }
    Ok(all)
}

impl Study {
    /// Names of the outcomes that some swing has, in order.
    pub fn outcome_names(&self) -> Result<Vec<String>, StudyError> {
        let mut ask = self.db.prepare_cached("SELECT DISTINCT name FROM outcome ORDER BY name")?;
        Ok(ask.query_map([], |r| r.get(0))?.collect::<Result<_, _>>()?)
    }
}
