//! From an original's bytes to the rows that are kept of it. Nothing here knows the catalogue.
use crate::columnar;
use crate::keep;
use crate::recipe::{Basis, Recipe};
use formats::rigfile::RigFile;
use formats::{Read, ReadError};
use mechanics::finding::Severity;
use mechanics::{Checked, Finding};
use swing::analyse::WeightSource;
use swing::metrics::Measured;
use swing::{Measurement, SwingError};
use view::Convention;
use view::series::SeriesFacts;

/// What was made of a recording.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Made {
    /// Why nothing could be measured.
    pub failed: Option<String>,
    /// True where nobody says where the plates are.
    pub needs_rig: bool,
    /// What figures rest on; `None` where nothing could be measured.
    pub facts: Option<Facts>,
    /// The chosen events, in order.
    pub events: Vec<EventRow>,
    /// Findings in the order in which they were made.
    pub findings: Vec<FindingRow>,
    /// Every metric of the catalogue, in its order; empty where nothing could be measured.
    pub figures: Vec<FigureRow>,
    /// Series as a Parquet file, where asked for.
    pub series: Option<Vec<u8>>,
    /// SHA-256 of that file.
    pub series_hash: Option<String>,
    /// Why there is no such file though it was asked for: a fault of this program.
    pub no_series: Option<String>,
}

/// What the figures of a swing rest on.
#[derive(Clone, Debug, PartialEq)]
pub struct Facts {
    /// True where each foot has its own accounts.
    pub two_feet: bool,
    /// Plates that carried a foot.
    pub plates: usize,
    /// "right" or "left".
    pub hand: &'static str,
    /// N, where known.
    pub body_weight_n: Option<f64>,
    /// How it is known.
    pub body_weight_from: Option<&'static str>,
    /// Samples a second.
    pub rate_hz: f64,
    /// Samples.
    pub samples: usize,
    /// Time of the first sample, s.
    pub start_s: f64,
    /// What was done to the plates, in words.
    pub conditioning: String,
}

/// An event, in the recording's own time.
#[derive(Clone, Debug, PartialEq)]
pub struct EventRow {
    /// "address"…
    pub event: &'static str,
    /// s.
    pub time_s: f64,
    /// Standard uncertainty, s.
    pub u_s: f64,
    /// "hand", "file", "trigger"…
    pub source: &'static str,
    /// Method and version.
    pub method: &'static str,
    /// What it was seen by.
    pub seen: String,
}

/// A finding.
#[derive(Clone, Debug, PartialEq)]
pub struct FindingRow {
    /// Code.
    pub code: &'static str,
    /// "stop", "doubt" or "note".
    pub severity: &'static str,
    /// Plate, from 1.
    pub plate: Option<usize>,
    /// From and to, s.
    pub span_s: Option<(f64, f64)>,
    /// What was seen.
    pub seen: String,
    /// What to do.
    pub remedy: String,
}

/// One metric.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FigureRow {
    /// SI; `None` where absent.
    pub value: Option<f64>,
    /// Standard uncertainty, SI.
    pub u: Option<f64>,
    /// Over body weight, with its standard uncertainty.
    pub by_weight: Option<(f64, f64)>,
    /// When, s of the recording.
    pub at_s: Option<f64>,
    /// What leads the uncertainty, with its share.
    pub led_by: Option<(&'static str, f64)>,
    /// True where it rests on an estimated event.
    pub estimated: bool,
    /// Codes of findings that put it in doubt, joined by spaces.
    pub touched: String,
    /// Why it is absent.
    pub absent: Option<String>,
}

/// Reads and measures a recording.
///
/// Errors: bytes that are no recording, or a rig that does not fit them. A recording that cannot be measured is no error:
/// it says why, and a better rig may mend it.
pub fn make(
    name: &str,
    bytes: &[u8],
    rig: Option<&RigFile>,
    recipe: &Recipe,
    basis: &Basis,
    series: bool,
) -> Result<Made, ReadError> {
    let Checked { value: read, findings } = formats::read(name, bytes, rig)?;
    Ok(measured(&read, findings, recipe, basis, series))
}

/// Measures a recording that has been read.
pub fn measured(
    read: &Read,
    mut findings: Vec<Finding>,
    recipe: &Recipe,
    basis: &Basis,
    series: bool,
) -> Made {
    let Read { recording, rig } = read;
    let settings = recipe.settings(basis, &rig.plates, recording.analog.start_s);
    let result = settings.and_then(|(how, what)| {
        let measured = swing::measure_into(recording, rig, &how, &what, &mut findings);
        measured.map_err(|error| words(&error))
    });
    let rows = findings.iter().map(finding).collect();
    let measured = match result {
        Ok(measured) => measured,
        Err(why) => {
            let needs_rig = rig.plates.is_empty();
            return Made { failed: Some(why), needs_rig, findings: rows, ..Made::default() };
        }
    };
    let file = || {
        let columns = view::series::columns(&measured.swing, Convention::USUAL);
        let facts = SeriesFacts::of(recording, rig, &measured.swing, Convention::USUAL);
        columnar::series(&columns, &facts)
    };
    let (series, no_series) = match series.then(file) {
        Some(Err(why)) => (None, Some(why)),
        Some(Ok(file)) => (Some(file), None),
        None => (None, None),
    };
    Made {
        failed: None,
        needs_rig: false,
        events: events(&measured),
        findings: rows,
        figures: measured.metrics.iter().map(figure).collect(),
        series_hash: series.as_deref().map(keep::hash),
        series,
        no_series,
        facts: Some(facts(&measured)),
    }
}

fn words(error: &SwingError) -> String {
    match error {
        SwingError::NoPlates => "it describes no force plate that can be read".into(),
        SwingError::NothingLoaded(peak) => {
            format!("no plate is ever loaded; the largest vertical force is {peak:.1} N")
        }
        SwingError::TargetUnusable(why) | SwingError::AboutUnavailable(why) => why.clone(),
    }
}

fn facts(measured: &Measurement) -> Facts {
    let swing = &measured.swing;
    let split = &swing.split;
    Facts {
        two_feet: swing.series.feet.is_some(),
        plates: split.lead.len() + split.trail.len() + split.both.len(),
        hand: match swing.player.hand {
            mechanics::Hand::Right => "right",
            mechanics::Hand::Left => "left",
        },
        body_weight_n: swing.body_weight_n.map(|w| w.newton),
        body_weight_from: swing.body_weight_n.map(|w| match w.from {
            WeightSource::Stated => "stated",
            WeightSource::Recording => "recording",
            WeightSource::Standing => "standing",
        }),
        rate_hz: swing.rate_hz,
        samples: swing.ledger.turn_nm.len(),
        start_s: swing.start_s,
        conditioning: view::words::conditioning(&swing.done),
    }
}

fn events(measured: &Measurement) -> Vec<EventRow> {
    let start_s = measured.swing.start_s;
    let row = |e: &swing::events::Event| EventRow {
        event: e.name.name(),
        time_s: e.time_s + start_s,
        u_s: e.u_s,
        source: e.source.name(),
        method: e.method,
        seen: e.seen.clone(),
    };
    measured.events.chosen.iter().map(row).collect()
}

fn finding(f: &Finding) -> FindingRow {
    FindingRow {
        code: f.kind.code,
        severity: match f.kind.severity {
            Severity::Stop => "stop",
            Severity::Doubt => "doubt",
            Severity::Note => "note",
        },
        plate: f.plate.map(|p| p + 1),
        span_s: f.span_s,
        seen: f.seen.clone(),
        remedy: f.remedy().to_string(),
    }
}

fn figure(m: &Measured) -> FigureRow {
    let finite = |v: f64| v.is_finite().then_some(v);
    match &m.figure {
        Err(absent) => FigureRow { absent: Some(absent.words()), ..FigureRow::default() },
        Ok(f) => FigureRow {
            value: finite(f.value),
            u: finite(f.u),
            by_weight: f.by_weight,
            at_s: f.at_s,
            led_by: f.dominant.map(|(leading, share)| (leading.words(), share)),
            estimated: f.estimated,
            touched: f.touched_by.join(" "),
            absent: finite(f.value).is_none().then(|| "it is not defined there".to_string()),
        },
    }
}
